//! The beats of one repeat: one grid from the go, through the turns, to a little after the predicted touch.

use super::{Beat, CueKind, Grid, Sound, SoundId};
use crate::practice::{Line, Repeat, breath, strokes};
use crate::script::{BeatTrack, Water};
use crate::timeline::schedule::Start;
use crate::units::swim::Side;
use crate::units::time::{Seconds, Tempo};

/// The longest that a beat may sound.
pub const LONGEST: Seconds = Seconds::from_millis(200);

/// How long beats go on after the predicted touch: two beats, or a tenth of the last length if half the rest allows.
pub fn margin(tempo: Tempo, length: Seconds, rest: Option<Seconds>) -> Seconds {
    let tenth = length.scaled(1, 10);
    let spare = rest.map_or(tenth, |rest| tenth.min(rest.scaled(1, 2)));
    tempo.strokes(2).max(spare)
}

/// The same for a repeat.
pub fn margin_of(repeat: &Repeat, tempo: Tempo) -> Seconds {
    let rest = repeat.interval.map(|interval| interval - repeat.predicted);
    let last = repeat.lengths.last().map_or(repeat.predicted, |length| length.time);
    margin(tempo, last, rest)
}

/// The grid of a repeat, if it is heard. `quiet` is when silence must begin, in absolute time; the grid's origin is
/// absolute too. `ordinal` is the repeat's place in its set, `side` that of a first breath where the script does not say.
pub fn grid(
    start: &Start<'_>,
    (ordinal, side): (usize, Side),
    water: Water,
    quiet: Option<Seconds>,
    intern: &mut impl FnMut(Sound) -> SoundId,
) -> Option<Grid> {
    let repeat = start.repeat;
    let line: &Line = start.set.lines.get(repeat.line)?;
    let (tempo, track) = (repeat.tempo?, line.beats.as_ref()?);
    let counted = strokes::counted(repeat);
    let breaths = line.breathe.map_or_else(Vec::new, |breathe| breath::breaths(&counted, breathe, ordinal, side));
    let sided = water == Water::Open;
    // Where there are sides to hear: unbroken swims only, since after a turn nobody knows which hand comes first.
    let breath_at = |index: usize| {
        let found = breaths.binary_search_by_key(&index, |breath| breath.stroke).ok().and_then(|at| breaths.get(at))?;
        Some(Sound::Breath(sided.then_some(found.side)))
    };
    let origin = start.go + repeat.offset;
    let mut next = counted.iter().enumerate().peekable();
    let mut beats = Vec::new();
    for k in 0..last_beat(start, tempo, quiet) {
        let stroke = next.next_if(|(_, stroke)| stroke.k == k);
        let marks = stroke.map(|(index, stroke)| Marks {
            sight: line.sight.is_some_and(|n| (index as u32 + 1).is_multiple_of(n.max(1))),
            breath: breath_at(index),
            number: stroke.number,
        });
        if let Some((kind, sound)) = mark(k, marks, track) {
            beats.push(Beat { k, kind, sound: intern(sound) });
        }
    }
    Some(Grid { origin, tempo, beats })
}

/// The end of a grid: before a join the beats stop where the next grid begins; else they go on for a margin, but have
/// died away before the silence.
fn last_beat(start: &Start<'_>, tempo: Tempo, quiet: Option<Seconds>) -> u32 {
    let repeat = start.repeat;
    let origin = start.go + repeat.offset;
    let end = if repeat.joins {
        start.touch
    } else {
        let after = start.touch + margin_of(repeat, tempo);
        quiet.map_or(after, |quiet| after.min(quiet)) - LONGEST
    };
    tempo.first_at_or_after(end - origin) as u32
}

/// What falls on one counted stroke.
#[derive(Clone, Copy, Debug)]
struct Marks {
    sight: bool,
    breath: Option<Sound>,
    number: u32,
}

/// What one beat of the grid sounds like: one sound for one stroke, sight before breath before accent before plain.
fn mark(k: u32, stroke: Option<Marks>, track: &BeatTrack) -> Option<(CueKind, Sound)> {
    if let Some(marks) = stroke {
        if marks.sight {
            return Some((CueKind::Sight, Sound::Sight));
        }
        if let Some(breath) = marks.breath {
            return Some((CueKind::Breath, breath));
        }
        if let Some((_, accent)) = track.accent.filter(|(n, _)| marks.number.is_multiple_of((*n).max(1))) {
            return Some((CueKind::Beat, Sound::Beat(accent)));
        }
    }
    k.is_multiple_of(track.every.max(1)).then_some((CueKind::Beat, Sound::Beat(track.sound)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::{BeatSound, Timbre};
    use crate::units::level::Decibels;

    #[test]
    fn margins_by_hand() {
        let tempo = Tempo::from_centis(110);
        let secs = Seconds::from_secs;
        // Two beats (2.2 s) beat a tenth of 20 s; a tenth of 40 s (4 s) beats two beats; half of 5 s of rest caps it.
        assert_eq!(margin(tempo, secs(20), Some(secs(30))), Seconds::from_millis(2_200));
        assert_eq!(margin(tempo, secs(40), Some(secs(30))), secs(4));
        assert_eq!(margin(tempo, secs(40), Some(secs(5))), Seconds::from_millis(2_500));
    }

    #[test]
    fn one_stroke_one_sound() {
        let sound = |timbre| BeatSound { timbre, pitch: None, length: None, level: Decibels::ZERO };
        let (plain, accent) = (sound(Timbre::Wood), sound(Timbre::Bell));
        let track = BeatTrack { sound: plain, every: 2, accent: Some((3, accent)) };
        let breath = |number: u32| number.is_multiple_of(6).then_some(Sound::Breath(None));
        let at = |k, number| mark(k, Some(Marks { sight: number == 12, breath: breath(number), number }), &track);
        assert_eq!(at(4, 1), Some((CueKind::Beat, Sound::Beat(plain))));
        assert_eq!(at(5, 2), None);
        assert_eq!(at(6, 3), Some((CueKind::Beat, Sound::Beat(accent))));
        assert_eq!(at(9, 6), Some((CueKind::Breath, Sound::Breath(None))));
        assert_eq!(at(15, 12), Some((CueKind::Sight, Sound::Sight)));
        assert_eq!(mark(0, None, &track), Some((CueKind::Beat, Sound::Beat(plain))));
    }
}
