//! What steering is tried on: a practice with everything in it, or a lane, planned and with clips that tell the mixer's faults.

use crate::plan::COUNTED;
use lengthwise::audio::bank::{Bank, BankClip};
use lengthwise::lane::Lane;
use lengthwise::pack::library::Library;
use lengthwise::practice::Audience;
use lengthwise::prepare::together::LanePlanned;
use lengthwise::prepare::{self, Planned, PracticeRequest, WhoSwims};
use lengthwise::timeline::Timeline;
use lengthwise::timeline::bank::sound_len;
use lengthwise::timeline::lane::{LaneVoice, with_calls};
use lengthwise::timeline::vocabulary::with_vocabulary;
use lengthwise::units::time::SampleRate;
use std::sync::Arc;

pub const HERTZ: u64 = 8_000;
/// Amplitude of every clip.
pub const LOUD: f32 = 0.08;

/// Everything that a course may meet: a talk, a ladder of tempos with send-offs, written rests with changes of focus,
/// joined swims, a test, a call, a last swim.
pub const PRACTICE: &str = "\
lengthwise: 1
title: Steered
pool: 25 m
pack: first-lengths
practice:
  - say: welcome
  - { set: Ladder, swim: 3 x 50 m on 1:30, tempo: { from: 1.30 s, to: 1.10 s }, focus: reach-forward }
  - { set: Rests, swim: 3 x 50 m, rest: 20 s, tempo: 1.20 s, breathe: every 3, focus: { phrases: [head-still, soft-hand], change: length, order: in turn } }
  - rest: 30 s
  - set: Joined
    rounds: 2
    do:
      - { swim: 25 m, tempo: 1.00 s, rest: 0 s }
      - { swim: 50 m, tempo: 1.20 s, rest: 15 s, call: every 20 strokes }
  - { set: Timed, swim: 100 m, test: time }
  - { set: Down, swim: 2 x 25 m on 1:00, effort: easy }
";

/// The same with all swims ending where they began, for those who stand there.
pub fn practice(audience: Audience) -> String {
    if audience == Audience::Speaker {
        PRACTICE.replace("25 m,", "50 m,").replace("2 x 25 m on 1:00", "2 x 50 m on 1:30")
    } else {
        PRACTICE.to_owned()
    }
}

pub struct Stage {
    pub planned: Planned,
    /// Where several share a lane.
    pub lane: Option<(Lane, LaneVoice)>,
    pub timeline: Timeline,
    pub bank: Arc<Bank>,
}

/// Clips that begin and end softly, so that a step in the output is the mixer's.
pub fn stage(yaml: &str, audience: Audience) -> Option<Stage> {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("a.yaml");
    std::fs::write(&script, yaml).unwrap();
    let profile = folder.path().join("p.yaml");
    std::fs::write(&profile, COUNTED).unwrap();
    let swimmer = Some(WhoSwims::Profile(profile));
    let request = PracticeRequest { script, swimmer, audience, ..PracticeRequest::default() };
    let planned = prepare::plan(&request).unwrap().planned?;
    let timeline = with_vocabulary(&planned.built, &planned.practice, &planned.library);
    Some(staged(planned, timeline, None))
}

/// A lane at its speaker.
pub fn stage_of_lane(LanePlanned { lane, voice, planned }: LanePlanned) -> Stage {
    let timeline = with_vocabulary(&planned.built, &planned.practice, &planned.library);
    let timeline = with_calls(timeline, (&lane, &voice), &planned.library);
    staged(planned, timeline, Some((lane, voice)))
}

fn staged(planned: Planned, timeline: Timeline, lane: Option<(Lane, LaneVoice)>) -> Stage {
    let bank = Arc::new(soft(&timeline, &planned.library));
    Stage { planned, lane, timeline, bank }
}

/// A clip as long as each of a timeline's sounds.
pub fn soft(timeline: &Timeline, library: &Library) -> Bank {
    let rate = SampleRate::new(HERTZ as u32).unwrap();
    let clip = |sound| {
        let frames = rate.frames(sound_len(sound, library).unwrap()).max(2) as usize;
        let soft = |i: usize| (i.min(frames - 1 - i) as f32 / 160.0).min(1.0);
        let wave = |i: usize| libm::cosf(i as f32 * std::f32::consts::TAU * 40.0 / HERTZ as f32);
        let sample = |i| (LOUD * 32_768.0 * soft(i) * wave(i)) as i16;
        BankClip { samples: (0..frames).map(sample).collect(), gain: 1.0, true_peak: 0.1 }
    };
    Bank { rate, clips: timeline.sounds.iter().map(clip).collect() }
}
