//! Any bytes as a bundle, or as the recipe of one. What must hold of it is in `open`.

#![no_main]

#[path = "../open.rs"]
mod open;
#[path = "../../kit/zip.rs"]
mod zip;

/// Decoders of sound panic on some files, and the program catches that; the fuzzer would stop there.
fn forgive_decoders() {
    let strict = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        let file = panic.location().map_or("", |place| place.file());
        if !["symphonia", "rodio", "lewton", "claxon"].iter().any(|name| file.contains(name)) {
            strict(panic);
        }
    }));
}

libfuzzer_sys::fuzz_target!(init: forgive_decoders(), |bytes: &[u8]| {
    open::bundle(bytes);
});
