//! The beats of one repeat: one grid from the go, through the turns, to a little after the predicted touch.

use super::start::Start;
use super::{Beat, CueKind, Grid, Sound, SoundId};
use crate::practice::{Audience, Line, Practice, Repeat, breath, strokes};
use crate::script::{BeatTrack, Water};
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
    // A swim by time is over when its time is.
    if repeat.estimated {
        return tempo.strokes(2);
    }
    let rest = repeat.interval.map(|interval| interval - repeat.predicted);
    let last = repeat.lengths.last().map_or(repeat.predicted, |length| length.time);
    margin(tempo, last, rest)
}

/// Whether beats of a line are heard: from the poolside only those that the script asks for by name.
pub fn audible(line: &Line, audience: Audience) -> bool {
    line.beats.is_some() && (audience.in_ear() || line.beats_asked)
}

/// Every sound that may stand on a beat of a line, whatever its tempo comes to.
pub fn palette(line: &Line, water: Water) -> Vec<Sound> {
    let Some(track) = line.beats.as_ref() else { return Vec::new() };
    let accent = track.accent.map(|(_, accent)| Sound::Beat(accent));
    let sides = if water == Water::Open { &[Some(Side::Left), Some(Side::Right)][..] } else { &[None] };
    let breaths = sides.iter().copied().filter(|_| line.breathe.is_some()).map(Sound::Breath);
    let marks = accent.into_iter().chain(line.sight.map(|_| Sound::Sight)).chain(breaths);
    std::iter::once(Sound::Beat(track.sound)).chain(marks).collect()
}

/// The grid of a repeat in absolute time, if it has one, as if no silence came after it. `id` numbers a sound; a beat whose
/// sound cannot be had is left out.
pub fn grid(
    start: &Start,
    line: &Line,
    practice: &Practice,
    id: &mut impl FnMut(Sound) -> Option<SoundId>,
) -> Option<Grid> {
    let repeat = &start.repeat;
    let (tempo, track) = (repeat.tempo?, line.beats.as_ref()?);
    let counted = strokes::counted(repeat);
    let breaths =
        line.breathe.map_or_else(Vec::new, |breathe| breath::breaths(&counted, breathe, start.ordinal, practice.side));
    let sided = practice.water == Water::Open;
    // Where there are sides to hear: unbroken swims only, since after a turn nobody knows which hand comes first.
    let breath_at = |index: usize| {
        let found = breaths.binary_search_by_key(&index, |breath| breath.stroke).ok().and_then(|at| breaths.get(at))?;
        Some(Sound::Breath(sided.then_some(found.side)))
    };
    let origin = start.go + repeat.offset;
    let mut next = counted.iter().enumerate().peekable();
    let mut beats = Vec::new();
    for k in 0..end_of_grid(start, tempo) {
        let stroke = next.next_if(|(_, stroke)| stroke.k == k);
        let marks = stroke.map(|(index, stroke)| Marks {
            sight: line.sight.is_some_and(|n| (index as u32 + 1).is_multiple_of(n.max(1))),
            breath: breath_at(index),
            number: stroke.number,
        });
        if let Some((kind, sound)) = mark(k, marks, track) {
            beats.extend(id(sound).map(|sound| Beat { k, kind, sound }));
        }
    }
    Some(Grid { origin, tempo, beats })
}

/// The end of a grid: before a join the beats stop where the next grid begins; else they go on for a margin and have
/// died away by its end.
fn end_of_grid(start: &Start, tempo: Tempo) -> u32 {
    let repeat = &start.repeat;
    let end = if repeat.joins { start.touch } else { start.touch + margin_of(repeat, tempo) - LONGEST };
    let strokes = tempo.first_at_or_after(end - start.go - repeat.offset);
    #[expect(clippy::expect_used, reason = "a day at the fastest tempo has 216,000 strokes")]
    u32::try_from(strokes).expect("a repeat lasts at most a day")
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
