//! Any text as a squad's roster, in each of its forms, or as the notebook's tables or a sheet. What must hold of it is in `feed`
//! and in `tables`.

#![no_main]

#[path = "../feed.rs"]
#[allow(dead_code, reason = "each target feeds one kind")]
mod feed;
#[path = "../tables.rs"]
mod tables;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    tables::roster_or_tables(bytes);
});
