//! A pack as an honest coach would send it.

use crate::zip::wav;

pub fn manifest(version: u32) -> Vec<u8> {
    format!(
        "lengthwise-pack: 1\nversion: {version}\ntitle: Tuesday lane\nlanguage: en-GB\n\
         speaker: {{ voice: Mara Quist, made-with: a telephone, agreed: \"yes, on 3 May\" }}\nlicence: CC0\n\
         phrases:\n  look-down: {{ full: look down at the tiles, short: look down }}\n  long-neck: {{ full: long neck }}\n"
    )
    .into_bytes()
}

pub const SCRIPT: &str = "lengthwise: 1\ntitle: Tuesday\npool: 25 m\npractice:\n  - set: Easy\n    swim: 4 x 50 m on 1:40\n    focus: look-down\n";

pub fn files(version: u32) -> Vec<(&'static str, Vec<u8>)> {
    vec![
        ("pack.yaml", manifest(version)),
        ("tuesday.yaml", SCRIPT.as_bytes().to_vec()),
        ("clips/phrases/look-down.wav", wav(12_000, 210.0)),
        ("clips/phrases/look-down.short.wav", wav(6_000, 230.0)),
    ]
}
