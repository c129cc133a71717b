//! Any text as a squad's roster, in each of its forms. What must hold of it is in `feed`.

#![no_main]

#[path = "../feed.rs"]
#[allow(dead_code, reason = "each target feeds one kind")]
mod feed;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    feed::roster(bytes);
});
