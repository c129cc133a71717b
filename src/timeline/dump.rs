//! The timeline as text: one cue a line, tab-separated, in the order heard.

use super::{Leg, Sound, Timeline, bank};
use crate::audio::synth;
use crate::script::Timbre;
use crate::units::time::{Decimal, Seconds, beat_time};
use std::fmt::Write;

/// One line of the dump.
struct Row<'a> {
    at: Seconds,
    len: Seconds,
    kind: &'static str,
    id: &'a str,
    text: &'a str,
}

/// Onset and duration in seconds with nine decimals, kind, id, text.
pub fn dump(timeline: &Timeline) -> String {
    let mut out = String::new();
    for leg in &timeline.legs {
        let mut rows: Vec<Row<'_>> = rows(leg, timeline).collect();
        rows.sort_by_key(|row| row.at);
        for row in rows {
            // Writing to a String cannot fail.
            let _ = writeln!(out, "{}\t{}\t{}\t{}\t{}", Decimal(row.at), Decimal(row.len), row.kind, row.id, row.text);
        }
    }
    out
}

fn rows<'a>(leg: &'a Leg, timeline: &'a Timeline) -> impl Iterator<Item = Row<'a>> {
    let cues = leg.cues.iter().map(|cue| Row {
        at: leg.origin + cue.at,
        len: cue.len,
        kind: cue.kind.word(),
        id: &cue.id,
        text: &cue.text,
    });
    let beats = leg.grids.iter().flat_map(move |grid| {
        grid.beats.iter().map(move |beat| {
            let sound = timeline.sounds.get(usize::from(beat.sound.0));
            let at = beat_time(leg.origin + grid.origin, u64::from(beat.k), grid.tempo);
            Row {
                at,
                len: sound.map_or(Seconds::ZERO, length),
                kind: beat.kind.word(),
                id: sound.map_or("", name),
                text: "",
            }
        })
    });
    cues.chain(beats)
}

/// How long a synthesised sound lasts; recordings know their own length.
pub fn length(sound: &Sound) -> Seconds {
    match sound {
        Sound::Beat(beat) => bank::beat_len(beat),
        Sound::Breath => synth::BREATH,
        Sound::Pip => synth::PIP,
        Sound::Go => synth::GO,
        Sound::Placeholder => synth::PLACEHOLDER,
        Sound::Clip(_) => Seconds::ZERO,
    }
}

fn name(sound: &Sound) -> &'static str {
    match sound {
        Sound::Beat(beat) => Timbre::ALL.iter().find(|(_, timbre)| *timbre == beat.timbre).map_or("", |(word, _)| word),
        Sound::Breath => "breath",
        Sound::Pip => "pip",
        Sound::Go => "go",
        Sound::Clip(_) => "recording",
        Sound::Placeholder => "tone",
    }
}
