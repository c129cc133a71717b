//! Any text as a cue script, through everything up to the timeline. What must hold of it is in `feed`.

#![no_main]

#[path = "../feed.rs"]
#[allow(dead_code, reason = "each target feeds one kind")]
mod feed;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    feed::script(bytes);
});
