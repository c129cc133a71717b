//! The beats of one repeat: one grid from the go, through the turns, to a little after the predicted touch.

use super::{Beat, CueKind, Grid, Sound, SoundId};
use crate::practice::Line;
use crate::practice::strokes::{self, Stroke};
use crate::script::{BeatTrack, Breathe};
use crate::timeline::schedule::Start;
use crate::units::time::{Seconds, Tempo};

/// How long beats go on after the predicted touch: two beats, or a tenth of the last length if half the rest allows.
pub fn margin(tempo: Tempo, length: Seconds, rest: Option<Seconds>) -> Seconds {
    let tenth = length.scaled(1, 10);
    let spare = rest.map_or(tenth, |rest| tenth.min(rest.scaled(1, 2)));
    tempo.strokes(2).max(spare)
}

/// The grid of a repeat, if it is heard. `quiet` is when silence must begin, in absolute time; the grid's origin is the
/// absolute time of the go.
pub fn grid(
    start: &Start<'_>,
    wall: Seconds,
    quiet: Option<Seconds>,
    intern: &mut impl FnMut(Sound) -> SoundId,
) -> Option<Grid> {
    let repeat = start.repeat;
    let line: &Line = start.set.lines.get(repeat.line)?;
    let (tempo, track) = (repeat.tempo?, line.beats.as_ref()?);
    let rest = repeat.interval.map(|interval| interval - repeat.predicted);
    let after = start.touch + margin(tempo, repeat.length.time, rest);
    let end = quiet.map_or(after, |quiet| after.min(quiet)) - start.go;
    let counted = strokes::counted(repeat, wall);
    let mut next = counted.iter().peekable();
    let mut beats = Vec::new();
    // The last beat must have died away before the silence: beats are at most 200 ms long.
    for k in 0..tempo.first_at_or_after(end - Seconds::from_millis(200)) as u32 {
        let stroke = next.next_if(|stroke| stroke.k == k).copied();
        if let Some((kind, sound)) = mark(k, stroke, track, line.breathe) {
            beats.push(Beat { k, kind, sound: intern(sound) });
        }
    }
    Some(Grid { origin: start.go, tempo, beats })
}

/// What one beat of the grid sounds like: breath before accent before plain, one sound each.
fn mark(k: u32, stroke: Option<Stroke>, track: &BeatTrack, breathe: Option<Breathe>) -> Option<(CueKind, Sound)> {
    let on = |n: u32| stroke.is_some_and(|stroke| stroke.number.is_multiple_of(n.max(1)));
    if let Some(Breathe::Every(n)) = breathe
        && on(n)
    {
        return Some((CueKind::Breath, Sound::Breath));
    }
    match track.accent {
        Some((n, accent)) if on(n) => Some((CueKind::Beat, Sound::Beat(accent))),
        _ => k.is_multiple_of(track.every.max(1)).then_some((CueKind::Beat, Sound::Beat(track.sound))),
    }
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
        let at = |k, number| mark(k, Some(Stroke { k, length: 0, number }), &track, Some(Breathe::Every(6)));
        assert_eq!(at(4, 1), Some((CueKind::Beat, Sound::Beat(plain))));
        assert_eq!(at(5, 2), None);
        assert_eq!(at(6, 3), Some((CueKind::Beat, Sound::Beat(accent))));
        assert_eq!(at(9, 6), Some((CueKind::Breath, Sound::Breath)));
        assert_eq!(mark(0, None, &track, Some(Breathe::Every(6))), Some((CueKind::Beat, Sound::Beat(plain))));
    }
}
