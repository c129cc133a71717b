//! Levels, loudness and pitch from text.

use crate::diag::Code;
use crate::script::quantity::scan::Scan;
use crate::script::quantity::{Misread, Read};
use crate::units::level::{Decibels, Lufs, SoundLevel};
use std::ops::RangeInclusive;

/// A level: `-6 dB`, `+3 dB`, `0 dB`. `what` names it in messages ("a beat level").
pub fn decibels(text: &str, what: &str, allowed: RangeInclusive<f64>) -> Read<Decibels> {
    signed(text, what, "dB", &allowed).map(Decibels::of)
}

/// A loudness: `-16 LUFS`.
pub fn lufs(text: &str, what: &str, allowed: RangeInclusive<f64>) -> Read<Lufs> {
    signed(text, what, "LUFS", &allowed).map(Lufs::of)
}

/// A sound level at the ear: `94 dBA`, 40 to 130.
pub fn sound_level(text: &str, what: &str) -> Read<SoundLevel> {
    let dba = signed(text, what, "dBA", &(40.0..=130.0))?;
    SoundLevel::new(dba).ok_or_else(|| Misread::new(Code::OutOfRange, text, format!("{what} is out of range")))
}

/// A pitch in whole hertz: `900 Hz`.
pub fn hertz(text: &str, what: &str, allowed: RangeInclusive<u32>) -> Read<u32> {
    let mut scan = Scan::new(text);
    let number = scan.need(what, "900 Hz")?;
    unit(&mut scan, what, "Hz", text)?;
    let found = number.whole().and_then(|whole| u32::try_from(whole).ok());
    found.filter(|found| allowed.contains(found)).ok_or_else(|| {
        let (low, high) = (allowed.start(), allowed.end());
        let message = format!("{what} of `{}`; {low} to {high} Hz in whole Hz is allowed", shown(text));
        Misread::new(if found.is_none() { Code::BadValue } else { Code::OutOfRange }, text, message)
    })
}

/// A number with an optional sign (a typographic minus counts) and its unit.
fn signed(text: &str, what: &str, sign: &'static str, allowed: &RangeInclusive<f64>) -> Read<f64> {
    let mut scan = Scan::new(text);
    let negative = scan.sign(&['-', '−', '–', '+']).is_some_and(|found| found != '+');
    let number = scan.need(what, &format!("-6 {sign}"))?;
    unit(&mut scan, what, sign, text)?;
    let found = if negative { -number.as_f64() } else { number.as_f64() };
    if allowed.contains(&found) {
        // "-0 dB" is 0 dB.
        return Ok(found + 0.0);
    }
    let (low, high) = (allowed.start(), allowed.end());
    let message = format!("{what} of `{}`; {low} to {high} {sign} is allowed", shown(text));
    let fault = Misread::new(Code::OutOfRange, text, message);
    Err(if allowed.contains(&-found) { fault.hint(format!("`{} {sign}`?", -found)) } else { fault })
}

/// The unit, which must end the text.
fn unit(scan: &mut Scan<'_>, what: &str, sign: &'static str, text: &str) -> Read<()> {
    if scan.done() {
        let found = shown(text);
        let message = format!("{what} needs a unit; found `{found}`");
        return Err(Misread::new(Code::UnitMissing, text, message).hint(format!("`{found} {sign}`?")));
    }
    if scan.word(&[sign.to_lowercase().as_str()]).is_none() {
        return Err(scan.strange(what, &format!("`{sign}`")));
    }
    scan.end(what)
}

fn shown(text: &str) -> String {
    crate::diag::crop(text.trim())
}
