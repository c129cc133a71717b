//! Lowering: a leg in exact time becomes a segment in frames. Pure; the only place where a practice is rounded to a rate.
//!
//! Beats go through [`onset`] from the exact origin of their grid, everything else through [`SampleRate::frames`] of its
//! absolute time, so no rounding ever adds up. What is heard when was decided before (`timeline`); when a segment is
//! handed to the mixer is the conductor's job.

use crate::audio::bank::Bank;
use crate::timeline::segment::{Bus, DuckPoint, Event, Segment};
use crate::timeline::{Leg, SoundId, Timeline};
use crate::units::level::Decibels;
use crate::units::time::{SampleRate, Seconds, onset};
use std::ops::Range;
use std::sync::Arc;

/// How long before a voice the beats begin to step back. Long enough not to click, short enough to spare the beat before.
pub const ATTACK: Seconds = Seconds::from_millis(90);
/// How long after a voice the beats take to come back.
const RELEASE: Seconds = Seconds::from_millis(250);
/// Pauses between voices up to this long stay ducked: beats that swell for a moment draw the ear away from the words.
const BRIDGE: Seconds = Seconds::from_millis(600);

/// What lowering needs besides the leg itself.
#[derive(Clone, Debug)]
pub struct Lowering {
    bank: Arc<Bank>,
    /// The fader of each sound, and how it lies between left and right.
    routes: Box<[(Bus, [f32; 2])]>,
    ducked: f32,
}

/// A bank that was not made for the timeline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BankMismatch {
    /// Sounds that the timeline names.
    pub sounds: usize,
    /// Clips that the bank holds.
    pub clips: usize,
}

impl std::fmt::Display for BankMismatch {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { sounds, clips } = self;
        write!(
            f,
            "the timeline names {sounds} sounds but the bank holds {clips} clips; build the bank from this timeline"
        )
    }
}

impl std::error::Error for BankMismatch {}

impl Lowering {
    /// For a timeline with the bank built from its list of sounds.
    ///
    /// # Errors
    /// Where the bank has another number of clips than the timeline has sounds.
    pub fn new(timeline: &Timeline, bank: Arc<Bank>) -> Result<Self, BankMismatch> {
        if timeline.sounds.len() != bank.clips.len() {
            return Err(BankMismatch { sounds: timeline.sounds.len(), clips: bank.clips.len() });
        }
        // The depth counts however it is signed: "12 dB" and "-12 dB" of ducking both mean softer beats.
        let ducked = Decibels::of(-timeline.ducking.db().abs()).gain().factor();
        Ok(Self { bank, routes: timeline.sounds.iter().map(|sound| (sound.bus(), sound.pan())).collect(), ducked })
    }

    /// The rate that is lowered to.
    pub fn rate(&self) -> SampleRate {
        self.bank.rate
    }

    /// The frames during which a leg's voice cues sound when the leg begins at `origin`, sorted by their start.
    pub fn voices(&self, leg: &Leg, origin: Seconds) -> Vec<Range<u64>> {
        let mut spans: Vec<_> = leg
            .cues
            .iter()
            .filter(|cue| cue.kind.is_voice())
            .flat_map(|cue| cue.parts.iter().map(|part| (cue.at + part.after, part.sound)))
            .filter_map(|(at, sound)| {
                let start = self.rate().frames(origin + at);
                let clip = self.bank.clips.get(sound.index())?;
                Some(start..start + clip.samples.len() as u64)
            })
            .collect();
        spans.sort_by_key(|span| (span.start, span.end));
        spans
    }

    /// Lowers one leg that begins at `origin`. Events take the ids `first_id`, `first_id + 1`, … in the order of time;
    /// at equal times cues come before beats.
    ///
    /// `voices` are the spans of [`voices`](Self::voices) of the whole practice, or at least of everything within a
    /// second of the leg, sorted: the beats must step back before a voice that opens the next leg.
    pub fn segment(&self, leg: &Leg, origin: Seconds, epoch: u32, first_id: u32, voices: &[Range<u64>]) -> Segment {
        let rate = self.rate();
        let start = rate.frames(origin);
        let cues = leg
            .cues
            .iter()
            .flat_map(|cue| cue.parts.iter().map(move |part| (rate.frames(origin + cue.at + part.after), part.sound)));
        let beats = leg.grids.iter().flat_map(|grid| {
            grid.beats
                .iter()
                .map(move |beat| (onset(origin + grid.origin, u64::from(beat.k), grid.tempo, rate), beat.sound))
        });
        let mut sounds: Vec<(u64, SoundId)> = cues.chain(beats).filter(|(frame, _)| *frame >= start).collect();
        sounds.sort_by_key(|(frame, _)| *frame);
        let events = (first_id..).zip(sounds).filter_map(|(id, (frame, sound))| {
            let (bus, gain) = *self.routes.get(sound.index())?;
            Some(Event { frame, id, clip: sound.0, offset: 0, gain, bus })
        });
        let end = rate.frames(origin + leg.len);
        Segment {
            epoch,
            start,
            events: events.collect(),
            duck: duck(voices, start..end, self.ducked, rate).into(),
            bank: Arc::clone(&self.bank),
        }
    }
}

/// The ducking curve within `range` around voices sorted by start: down ahead of each, up after it, neighbours bridged.
///
/// The same voices give the same curve on both sides of a border between two ranges.
fn duck(voices: &[Range<u64>], range: Range<u64>, ducked: f32, rate: SampleRate) -> Vec<DuckPoint> {
    let [attack, release, bridge] = [ATTACK, RELEASE, BRIDGE].map(|time| rate.frames(time));
    let mut spans: Vec<Range<u64>> = Vec::new();
    for voice in voices {
        match spans.last_mut() {
            Some(span) if voice.start <= span.end + bridge => span.end = span.end.max(voice.end),
            _ => spans.push(voice.clone()),
        }
    }
    let mut points = Vec::new();
    for Range { start, end } in spans {
        points.extend(start.checked_sub(attack).map(|frame| DuckPoint { frame, gain: 1.0 }));
        points.extend([start, end].map(|frame| DuckPoint { frame, gain: ducked }));
        points.push(DuckPoint { frame: end + release, gain: 1.0 });
    }
    // Only the corners that shape the range: the last at or before its start to the first at or after its end.
    let first = points.partition_point(|point| point.frame <= range.start).saturating_sub(1);
    let last = points.partition_point(|point| point.frame < range.end).saturating_add(1).min(points.len());
    let kept = points.get(first..last).unwrap_or_default().to_vec();
    if kept.iter().all(|point| point.gain == 1.0) { Vec::new() } else { kept }
}

#[cfg(test)]
#[expect(clippy::single_range_in_vec_init, reason = "one voice is one range")]
mod tests {
    use super::*;
    use crate::audio::bank::BankClip;
    use crate::timeline::{Beat, Cue, CueKind, CuePart, Grid, LegKind, Sound};
    use crate::units::time::Tempo;

    const DUCKED: f32 = 0.25;

    fn bank(lengths: &[usize]) -> Arc<Bank> {
        let clip = |frames: &usize| BankClip { samples: vec![1; *frames].into(), gain: 1.0, true_peak: 1.0 };
        Arc::new(Bank { rate: SampleRate::new(8000).unwrap(), clips: lengths.iter().map(clip).collect() })
    }

    fn corners(voices: &[Range<u64>], range: Range<u64>) -> Vec<(u64, f32)> {
        let rate = SampleRate::new(8000).unwrap();
        duck(voices, range, DUCKED, rate).iter().map(|point| (point.frame, point.gain)).collect()
    }

    fn timeline() -> Timeline {
        let cue = |kind, millis, sound| Cue {
            kind,
            at: Seconds::from_millis(millis),
            len: Seconds::ZERO,
            id: String::new(),
            text: String::new(),
            parts: vec![CuePart { after: Seconds::ZERO, sound: SoundId(sound) }],
        };
        let beat = |k| Beat { k, kind: CueKind::Beat, sound: SoundId(0) };
        let grid = Grid {
            origin: Seconds::from_millis(-500),
            tempo: Tempo::from_ratio(1, 1).unwrap(),
            beats: (1..4).map(beat).collect(),
        };
        let leg = Leg {
            kind: LegKind::Rest,
            origin: Seconds::from_secs(10),
            len: Seconds::from_secs(5),
            cues: vec![cue(CueKind::Phrase, 1500, 1), cue(CueKind::Pip, 2000, 2)],
            grids: vec![grid],
        };
        Timeline {
            legs: vec![leg],
            sounds: vec![Sound::Breath(None), Sound::Placeholder, Sound::Pip],
            ducking: Decibels::of(12.0),
        }
    }

    #[test]
    fn events_are_sorted_and_numbered() {
        let timeline = timeline();
        let lowering = Lowering::new(&timeline, bank(&[10, 8000, 10])).unwrap();
        let leg = &timeline.legs[0];
        let voices = lowering.voices(leg, leg.origin);
        assert_eq!(voices, [92_000..100_000]);
        let segment = lowering.segment(leg, leg.origin, 3, 40, &voices);
        let events: Vec<_> = segment.events.iter().map(|event| (event.frame, event.id, event.clip)).collect();
        // Beats at 10.5, 11.5 and 12.5 s, the phrase with the second of them, the pip at 12 s.
        assert_eq!(events, [(84_000, 40, 0), (92_000, 41, 1), (92_000, 42, 0), (96_000, 43, 2), (100_000, 44, 0)]);
        assert_eq!((segment.start, segment.epoch), (80_000, 3));
        assert_eq!(segment.duck.iter().map(|p| p.frame).collect::<Vec<_>>(), [91_280, 92_000, 100_000, 102_000]);
        assert!((segment.duck[1].gain - 0.251_188_6).abs() < 1e-6);
    }

    #[test]
    fn a_foreign_bank_is_refused() {
        let error = Lowering::new(&timeline(), bank(&[1])).unwrap_err();
        assert!(error.to_string().contains("3 sounds") && error.to_string().contains("1 clips"));
    }

    #[test]
    fn neighbours_are_bridged() {
        // 600 ms at 8 kHz are 4,800 frames.
        assert_eq!(
            corners(&[10_000..12_000, 16_800..18_000], 0..80_000),
            [(9_280, 1.0), (10_000, DUCKED), (18_000, DUCKED), (20_000, 1.0)]
        );
        assert_eq!(corners(&[10_000..12_000, 16_801..18_000], 0..80_000).len(), 8);
    }

    #[test]
    fn a_voice_in_the_next_leg_ducks_the_end_of_this_one() {
        let voices = [40_100..50_000];
        assert_eq!(corners(&voices, 0..40_000), [(39_380, 1.0), (40_100, DUCKED)]);
        assert_eq!(corners(&voices, 40_000..80_000)[..2], [(39_380, 1.0), (40_100, DUCKED)]);
        assert_eq!(corners(&voices, 60_000..80_000), []);
    }

    #[test]
    fn a_voice_at_the_very_start_is_ducked_from_the_start() {
        assert_eq!(corners(&[100..8_000], 0..80_000)[0], (100, DUCKED));
    }
}
