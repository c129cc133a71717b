//! The timeline as text: one cue a line, tab-separated, in the order heard.

use super::built::Built;
use super::{Leg, Sound, Timeline, bank};
use crate::pack::library::Library;
use crate::script::Timbre;
use crate::units::time::{Decimal, Seconds, beat_time};
use std::fmt::Write;

/// One line of the dump.
struct DumpLine<'a> {
    at: Seconds,
    len: Seconds,
    kind: &'static str,
    id: &'a str,
    text: &'a str,
}

/// Onset and duration in seconds with nine decimals, kind, id, text.
pub fn dump(timeline: &Timeline, library: &Library) -> String {
    let mut out = String::new();
    for leg in &timeline.legs {
        let mut rows: Vec<DumpLine<'_>> = rows(leg, timeline, library).collect();
        rows.sort_by_key(|row| row.at);
        for row in rows {
            // Writing to a String cannot fail.
            let _ = writeln!(out, "{}\t{}\t{}\t{}\t{}", Decimal(row.at), Decimal(row.len), row.kind, row.id, row.text);
        }
    }
    out
}

/// The same track by track, each on a clock of its own behind a line of kind `track` with its number and its title.
pub fn dump_tracks(built: &Built, library: &Library) -> String {
    let mut out = String::new();
    for (number, track) in built.tracks.iter().enumerate() {
        let (begins, len) = (Decimal(Seconds::ZERO), Decimal(track.len));
        let _ = writeln!(out, "{begins}\t{len}\ttrack\t{number:02}\t{}", track.title);
        out.push_str(&dump(&built.timeline.part(track.legs.clone()), library));
    }
    out
}

fn rows<'a>(leg: &'a Leg, timeline: &'a Timeline, library: &'a Library) -> impl Iterator<Item = DumpLine<'a>> {
    let cues = leg.cues.iter().map(|cue| DumpLine {
        at: leg.origin + cue.at,
        len: cue.len,
        kind: cue.kind.word(),
        id: &cue.id,
        text: &cue.text,
    });
    let beats = leg.grids.iter().flat_map(move |grid| {
        grid.beats.iter().map(move |beat| {
            let sound = timeline.sounds.get(beat.sound.index());
            let at = beat_time(leg.origin + grid.origin, u64::from(beat.k), grid.tempo);
            DumpLine {
                at,
                len: sound.and_then(|sound| bank::sound_len(sound, library)).unwrap_or(Seconds::ZERO),
                kind: beat.kind.word(),
                id: sound.map_or("", name),
                text: "",
            }
        })
    });
    cues.chain(beats)
}

fn name(sound: &Sound) -> &'static str {
    match sound {
        Sound::Beat(beat) => Timbre::ALL.iter().find(|(_, timbre)| *timbre == beat.timbre).map_or("", |(word, _)| word),
        Sound::Breath(side) => side.map_or("breath", |side| side.word()),
        Sound::Sight => "sight",
        Sound::Wall => "wall",
        Sound::Pip => "pip",
        Sound::Go => "go",
        Sound::Clip(_) => "recording",
        Sound::Placeholder => "tone",
    }
}
