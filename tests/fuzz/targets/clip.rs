//! Any bytes as a recording. What must hold of it is in `feed`.

#![no_main]

#[path = "../feed.rs"]
#[allow(dead_code, reason = "each target feeds one kind")]
mod feed;

use lengthwise::messages::is_unheard;
use std::panic;

libfuzzer_sys::fuzz_target!(
    init: {
        // The fuzzer ends at every panic. Those of foreign decoders the program expects and catches.
        let ends = panic::take_hook();
        panic::set_hook(Box::new(move |info| {
            if !is_unheard() {
                ends(info);
            }
        }));
    },
    |bytes: &[u8]| {
        feed::clip(bytes);
    }
);
