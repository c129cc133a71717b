//! The first track: it says what it is, plays the beat and a phrase to set the level by, and tells the rules. Nobody
//! swims in it.

use super::super::beats::{self, audible};
use super::super::lay::{Layer, silent};
use super::super::place::Placed;
use super::super::schedule::{SETTLE, Sentence, rules, sequence, whose};
use super::super::slice::slice;
use super::super::speak::{Announcer, Utterance};
use super::super::{Cue, CueKind, Leg, LegKind, Sound};
use super::piece::SILENCE;
use crate::practice::{Practice, Text};
use crate::script::{BeatTrack, Water};
use crate::units::time::{Seconds, Tempo};

/// Beats before the phrase and after it.
const BEATS: u64 = 4;
/// Beats where no phrase is to be heard.
const ALONE: u64 = 8;

/// Lays it; returns its legs and how long it is. `tracks` are those to come.
pub(super) fn lay(
    practice: &Practice,
    announcer: Announcer<'_>,
    layer: &mut Layer<'_>,
    tracks: u32,
) -> (Vec<Leg>, Seconds) {
    let (mut cues, mut grids) = (Vec::new(), Vec::new());
    let say = |id: &str, text: &str| (CueKind::Say, announcer.say(id, text));
    let level = match practice.water {
        Water::Pool(_) => say("level-pool", "set the level; a whistle at the wall must still be heard"),
        Water::Open => say("level-open", "set the level; a call beside you must still be heard"),
    };
    let opening = whose(practice).into_iter().chain([say("level-and-start", "level and start"), level]);
    let mut at = talk(opening.collect(), SILENCE, layer, &mut cues);
    let phrase = phrase(practice);
    let len = phrase.map_or(Seconds::ZERO, |phrase| phrase.full.len);
    let mut voice = at;
    if let Some((tempo, track)) = first_beat(practice) {
        // As it will be heard in the water: the beat alone, the phrase over it, the beat alone.
        voice = at + tempo.strokes(BEATS);
        let count = if phrase.is_some() { tempo.first_at_or_after(voice + len - at) + BEATS } else { ALONE };
        grids.push(layer.beats(at, tempo, (0..count).filter_map(|k| sound(k, track))));
        at += tempo.strokes(count) + beats::LONGEST;
    } else {
        at += len;
    }
    if let Some(phrase) = phrase {
        let said = Utterance::of(&*phrase.id, [phrase.full.clone()]);
        cues.push(layer.speak(Placed { kind: CueKind::Phrase, at: voice, said }));
    }
    let mut lines =
        vec![(CueKind::Say, announcer.tracks_follow(tracks)), say("plays-on", "the next track plays by itself")];
    lines.extend(rules(practice, announcer));
    talk(lines, at + SETTLE, layer, &mut cues);
    let len = silent(&cues, &grids) + SILENCE;
    (slice(&[(Seconds::ZERO, LegKind::Talk)], len, cues, &grids), len)
}

/// Speaks lines from a moment on; returns when the last one ends.
fn talk(lines: Vec<Sentence>, from: Seconds, layer: &mut Layer<'_>, cues: &mut Vec<Cue>) -> Seconds {
    let (placed, until) = sequence(lines, from);
    cues.extend(placed.into_iter().map(|placed| layer.speak(placed)));
    until
}

/// The first phrase of the practice.
fn phrase(practice: &Practice) -> Option<&Text> {
    let repeats = practice.sets().flat_map(|set| set.repeats.iter().map(move |repeat| (set, repeat)));
    repeats.into_iter().find_map(|(set, repeat)| set.lines.get(repeat.line)?.focus.get(repeat.focus.first()?.phrase))
}

/// The first beat of the practice.
fn first_beat(practice: &Practice) -> Option<(Tempo, &BeatTrack)> {
    let repeats = practice.sets().flat_map(|set| set.repeats.iter().map(move |repeat| (set, repeat)));
    repeats.into_iter().find_map(|(set, repeat)| {
        let line = set.lines.get(repeat.line).filter(|line| audible(line, practice.audience))?;
        Some((repeat.tempo?, line.beats.as_ref()?))
    })
}

/// What sounds on a beat, as if each were a stroke.
fn sound(k: u64, track: &BeatTrack) -> Option<(u32, Sound)> {
    let k = u32::try_from(k).ok()?;
    let accent = track.accent.filter(|(every, _)| (k + 1).is_multiple_of((*every).max(1))).map(|(_, accent)| accent);
    let sound = accent.or_else(|| k.is_multiple_of(track.every.max(1)).then_some(track.sound))?;
    Some((k, Sound::Beat(sound)))
}
