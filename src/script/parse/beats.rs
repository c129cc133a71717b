//! Beat tracks of a script or a pack.

use crate::diag::{Code, Diagnostic, Spanned};
use crate::script::quantity::{count, level, time};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::Node;
use crate::script::{BeatSound, BeatTrack, Timbre};
use crate::units::level::Decibels;
use crate::units::time::Seconds;

/// The map under `beats`: a track for each name.
pub(super) fn parse_beat_tracks(node: &Node, problems: &mut Problems) -> Vec<(Spanned<String>, BeatTrack)> {
    let Some(pairs) = tree::pairs(node, "`beats`", problems) else { return Vec::new() };
    let mut tracks = Vec::new();
    for (name, node) in pairs {
        let good = match tree::parse_id(&name.value, "beats") {
            Err(fault) => {
                let problem = Diagnostic::at(fault.code, name.span, fault.message);
                problems.push(fault.hint.into_iter().fold(problem, Diagnostic::hint));
                false
            }
            Ok(id) if id == "none" => {
                let message = "`none` means no beats; a track needs another name";
                problems.push(Diagnostic::at(Code::BadValue, name.span, message));
                false
            }
            Ok(_) => true,
        };
        if let (Some(track), true) = (parse_beat_track(node, problems), good) {
            tracks.push((name.clone(), track));
        }
    }
    tracks
}

/// One beat track: `{ sound: wood, every: stroke, accent: { every: 3, sound: bell } }`. Also for manifests.
pub fn parse_beat_track(node: &Node, problems: &mut Problems) -> Option<BeatTrack> {
    const KEYS: &[&str] = &["sound", "pitch", "length", "level", "every", "accent"];
    let fields = Fields::of(node, "a beat track", KEYS, problems)?;
    let timbre = fields.require("sound", "sound: wood", problems);
    let timbre = timbre.and_then(|node| timbre_of(node, problems));
    let rest = sound_keys(&fields, problems);
    let every = fields.read("every", |text| count::strokes(text, "`every`", 1..=8), problems);
    let sound = timbre.map(|timbre| BeatSound { timbre, pitch: rest.0, length: rest.1, level: rest.2 });
    let accent = fields.get("accent").map(|node| accent(node, sound, problems));
    let sound = sound?;
    let accent = match accent {
        Some(accent) => Some(accent?),
        None => None,
    };
    Some(BeatTrack { sound, every: every.map_or(1, |found| found.value), accent })
}

/// What the accent does not say is as in the plain sound; it must say something.
fn accent(node: &Node, plain: Option<BeatSound>, problems: &mut Problems) -> Option<(u32, BeatSound)> {
    const KEYS: &[&str] = &["every", "sound", "pitch", "length", "level"];
    let fields = Fields::of(node, "an accent", KEYS, problems)?;
    let every = fields.require("every", "every: 3", problems);
    let every = every
        .and_then(|node| tree::read(node, "every", |text| count::nth(text, "an accent's `every`", 2..=16), problems));
    let timbre = fields.get("sound").map(|node| timbre_of(node, problems));
    let (pitch, length, level) = sound_keys(&fields, problems);
    let says = ["sound", "pitch", "length", "level"].iter().any(|key| fields.get(key).is_some());
    if !says {
        fields.lacks("a `sound`, `pitch`, `length` or `level` of its own", "sound: bell", problems);
    }
    let plain = plain?;
    let timbre = match timbre {
        Some(timbre) => timbre?,
        None => plain.timbre,
    };
    // Another timbre brings its own pitch and length.
    let same = timbre == plain.timbre;
    let sound = BeatSound {
        timbre,
        pitch: pitch.or(plain.pitch.filter(|_| same)),
        length: length.or(plain.length.filter(|_| same)),
        level: if fields.get("level").is_some() { level } else { plain.level },
    };
    Some((every?.value, sound))
}

fn timbre_of(node: &Node, problems: &mut Problems) -> Option<Timbre> {
    tree::read(node, "sound", |text| tree::pick(text, "sound", &Timbre::ALL), problems).map(|found| found.value)
}

/// `pitch`, `length` and `level`, each where given.
fn sound_keys(fields: &Fields<'_>, problems: &mut Problems) -> (Option<u32>, Option<Seconds>, Decibels) {
    let lengths = Seconds::from_millis(20)..=Seconds::from_millis(200);
    let pitch = fields.read("pitch", |text| level::hertz(text, "a pitch", 200..=4000), problems);
    let length = fields.read("length", |text| time::duration(text, "a beat's length", lengths.clone()), problems);
    let level = fields.read("level", |text| level::decibels(text, "a beat's level", -40.0..=6.0), problems);
    (pitch.map(|found| found.value), length.map(|found| found.value), level.map_or(Decibels::ZERO, |found| found.value))
}
