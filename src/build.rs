//! Rebuilds when a pack gains or loses a file: the macro that puts packs into the binary is not told of it.

fn main() {
    println!("cargo::rerun-if-changed=cue-packs");
}
