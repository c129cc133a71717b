//! Practices steered at any moment, on the real mixer and no device: what is heard is worked out here from the legs that
//! each command leaves, and from the samples.

use crate::stage::{HERTZ, LOUD, PRACTICE, Stage, practice, stage};
use lengthwise::conductor::command::{Command, CourseCommand, DeskCommand, Happened, Timing, Unit};
use lengthwise::conductor::situation::Activity;
use lengthwise::conductor::{Conductor, LaneScore, Score, Supply};
use lengthwise::mixer::Mixer;
use lengthwise::practice::Audience;
use lengthwise::prepare::Planned;
use lengthwise::timeline::segment::Bus;
use lengthwise::timeline::start::Start;
use lengthwise::timeline::{Cue, CueKind, Leg};
use lengthwise::units::frame::{OutputFrame, PracticeFrame};
use lengthwise::units::level::Decibels;
use lengthwise::units::time::{Seconds, Tempo};
use proptest::prelude::*;
use std::sync::Arc;

/// The largest block, and from a key to its effect: two blocks and 15 ms.
const BLOCK: u64 = 512;
pub const LATER: u64 = 2 * BLOCK + 120;
/// One command taken: the frame from which it is heard, the frame that comes in its place where time is left out, and the
/// legs that hold from then on.
pub struct Change {
    left: u64,
    pub frame: u64,
    pub command: Command,
    legs: Vec<Leg>,
}

#[derive(Default)]
pub struct Played {
    pub out: Vec<f32>,
    /// How far the practice came, in its own frames: pauses are in `out` and not in it.
    pub reached: u64,
    pub changes: Vec<Change>,
    pub refused: Vec<(Command, String)>,
    pub happened: Vec<Happened>,
    acknowledged: Vec<(u64, bool)>,
    pub missed: u32,
    /// Phases seen at the commands.
    phases: Vec<Activity>,
    pub finished: bool,
}

fn random(state: &mut u64) -> u64 {
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    *state >> 33
}

/// Frames of the practice that a command leaves out.
fn skipped(command: Command) -> u64 {
    match command {
        Command::Course(CourseCommand::Shift(by)) => at(by),
        _ => 0,
    }
}

/// One at the beginning of the practice.
pub fn conductor(stage: &Stage) -> Conductor<'_> {
    let Planned { practice, built, library, swimmer, .. } = &stage.planned;
    let lane = stage.lane.as_ref().map(|(lane, voice)| LaneScore { lane, voice });
    let score = Score { practice, strand: &built.strand, library, swimmer, lane };
    let supply = Supply::live(stage.bank.rate);
    Conductor::steered(&stage.timeline, &score, Arc::clone(&stage.bank), supply).unwrap()
}

/// Plays with commands at frames, in blocks of random sizes, until it is over or `most` frames have passed.
pub fn play(stage: &Stage, commands: &[(u64, Command)], mut blocks: u64, most: u64) -> Played {
    let rate = stage.bank.rate;
    let mut conductor = conductor(stage);
    let (mut mixer, controls) = Mixer::new(rate);
    let mut played = Played::default();
    let mut commands = commands.iter().copied().peekable();
    let mut out = vec![0.0; 2 * BLOCK as usize];
    // Frames put out while the practice stood still, frames of it that were left out and that came again, and from when on
    // a command after that can be heard.
    let (mut stood, mut left_out, mut back, mut entry) = (0, 0, 0, 0);
    let change =
        |conductor: &mut Conductor<'_>, played: &mut Played, (pressed, command): (u64, Command), at, output| {
            played.phases.push(conductor.situation(PracticeFrame::new(pressed)).phase);
            let timing = Timing {
                pressed: PracticeFrame::new(pressed),
                practice: PracticeFrame::new(at),
                output: OutputFrame::new(output),
            };
            match conductor.command(command, timing) {
                Ok(_) => {
                    let legs = conductor.legs().to_vec();
                    played.changes.push(Change { left: at, frame: at + skipped(command), command, legs });
                    true
                }
                Err(refused) => {
                    assert!(!refused.0.is_empty());
                    played.refused.push((command, refused.0));
                    false
                }
            }
        };
    while mixer.position().number() < most && !conductor.over(mixer.position()) {
        conductor.pump(&controls, mixer.position());
        let block = 1 + random(&mut blocks) % BLOCK;
        while let Some((pressed, command)) = commands.next_if(|(at, _)| *at < mixer.position().number() + block) {
            // What is pressed in a time that is left out can be heard behind it, wherever the blocks fall.
            let at = (pressed + LATER).max(entry);
            let output = at + stood + back - left_out;
            let taken = change(&mut conductor, &mut played, (pressed, command), at, output);
            if taken && skipped(command) > 0 {
                (left_out, entry) = (left_out + skipped(command), at + skipped(command) + 2 * BLOCK);
            }
            if taken && command == Command::Desk(DeskCommand::Pause) {
                let resume = at + stood + back - left_out + 80 + 4_000;
                let before = conductor.legs().to_vec();
                let command = Command::Desk(DeskCommand::Resume);
                assert!(change(&mut conductor, &mut played, (pressed, command), resume, resume));
                // Out of a countdown it goes back to before it.
                let legs = conductor.legs().to_vec();
                if legs != before {
                    let (left, frame) = ((at + 80).max(entry), crate::steering::at(legs[0].origin));
                    let command = Command::Course(CourseCommand::Shift(Seconds::ZERO));
                    played.changes.push(Change { left, frame, command, legs });
                    back += left - frame;
                }
                stood += 4_000;
            }
        }
        conductor.pump(&controls, mixer.position());
        let block = &mut out[..2 * block as usize];
        mixer.render(block);
        played.out.extend(block.iter().step_by(2));
        played.happened.extend(std::iter::from_fn(|| conductor.happened()));
        played
            .acknowledged
            .extend(std::iter::from_fn(|| conductor.acknowledged()).map(|a| (a.effect.number(), a.late)));
    }
    // Only a tempo that nobody has planned has no words in the bank.
    assert!(conductor.unsayable().all(|id| id == "tempo"), "{:?}", conductor.unsayable().collect::<Vec<_>>());
    (played.finished, played.reached) = (conductor.over(mixer.position()), mixer.position().number());
    conductor.pump(&controls, mixer.position());
    played.happened.extend(std::iter::from_fn(|| conductor.happened()));
    played.acknowledged.extend(std::iter::from_fn(|| conductor.acknowledged()).map(|a| (a.effect.number(), a.late)));
    played.missed = controls.figures.missed();
    played
}

/// A frame by this file's own arithmetic: the nearest one, half up.
pub fn frame(num: i128, den: i128) -> u64 {
    let (num, den) = (num * i128::from(HERTZ), den * 1_000_000_000);
    (2 * num + den).div_euclid(2 * den) as u64
}

pub fn at(time: Seconds) -> u64 {
    frame(i128::from(time.nanos()), 1)
}

/// A cue that was heard.
#[derive(Clone, Debug)]
pub struct Heard {
    pub kind: CueKind,
    pub id: String,
    pub text: String,
    pub from: u64,
    pub until: u64,
    /// Whether no command cut it off.
    whole: bool,
}

/// What was heard, from the legs that held and when.
pub fn heard(stage: &Stage, played: &Played) -> (Vec<Heard>, Vec<u64>) {
    let turns = |change: &&Change| {
        !matches!(
            change.command,
            Command::Desk(DeskCommand::Pause)
                | Command::Desk(DeskCommand::Resume)
                | Command::Desk(DeskCommand::Level(..))
                | Command::Desk(DeskCommand::Mute(_))
        )
    };
    let changes: Vec<_> = played.changes.iter().filter(turns).collect();
    let pieces =
        std::iter::once((0, 0, &stage.timeline.legs)).chain(changes.iter().map(|c| (c.left, c.frame, &c.legs)));
    let pieces: Vec<_> = pieces.collect();
    let absolute = |leg: &Leg, cue: &Cue| at(leg.origin + cue.at);
    let (mut cues, mut beats): (Vec<Heard>, Vec<u64>) = (Vec::new(), Vec::new());
    for (index, (_, from, legs)) in pieces.iter().enumerate() {
        let later = &pieces[index + 1..];
        let until = later.first().map_or(u64::MAX, |(left, ..)| *left);
        for leg in legs.iter() {
            for cue in &leg.cues {
                let begin = absolute(leg, cue);
                if begin < *from || begin >= until {
                    continue;
                }
                let own_end = at(leg.origin + cue.at + cue.len);
                let mut end = own_end;
                for (cut, _, legs) in later {
                    let goes_on = legs.iter().any(|leg| {
                        leg.cues.iter().any(|c| c.kind == cue.kind && c.id == cue.id && absolute(leg, c) == begin)
                    });
                    if *cut < end && !goes_on {
                        end = cut + 80;
                    }
                }
                cues.push(Heard {
                    kind: cue.kind,
                    id: cue.id.clone(),
                    text: cue.text.clone(),
                    from: begin,
                    until: end,
                    whole: end == own_end,
                });
            }
            for grid in &leg.grids {
                let (num, den) = (i128::from(grid.tempo.num()), i128::from(grid.tempo.den()));
                let origin = i128::from((leg.origin + grid.origin).nanos());
                let on = grid.beats.iter().map(|b| frame(origin * den + i128::from(b.k) * num * 1_000_000_000, den));
                beats.extend(on.filter(|on| (*from..until).contains(on)));
            }
        }
    }
    cues.sort_by_key(|cue| cue.from);
    beats.sort();
    (cues, beats)
}

/// The rules that hold whatever was commanded.
pub fn check(stage: &Stage, played: &Played) {
    assert_eq!(played.missed, 0, "events missed");
    assert!(played.acknowledged.iter().all(|(_, late)| !late));
    let countdown = at(stage.planned.practice.settings.countdown);
    let (cues, beats) = heard(stage, played);
    let reached = played.reached;
    // Every go is told, and nothing but goes. A joined swim begins without one.
    let told = played.happened.iter().filter_map(|happened| match happened {
        Happened::Go { at: go, .. } => Some(at(*go)),
        _ => None,
    });
    let told: Vec<u64> = told.collect();
    assert!(told.is_sorted());
    let goes: Vec<u64> =
        cues.iter().filter(|cue| cue.kind == CueKind::Go && cue.from < reached).map(|c| c.from).collect();
    for go in goes.iter().filter(|go| **go + 2 * BLOCK < reached) {
        assert!(
            told.contains(go) || played.changes.iter().any(|c| c.frame <= *go + 1 && *go < c.frame + 2 * BLOCK),
            "a go at {go} was not told"
        );
    }
    // The countdown is whole, but for what lies before a command in it.
    let changed = |range: std::ops::Range<u64>| played.changes.iter().any(|c| range.contains(&c.frame));
    for go in &goes {
        let mut pips: Vec<u64> = cues
            .iter()
            .filter(|c| c.kind == CueKind::Pip && (go - countdown..*go).contains(&c.from))
            .map(|c| c.from)
            .collect();
        // Those of a countdown that was paused come again.
        pips.dedup();
        let expected: Vec<u64> = (1..=countdown / HERTZ).rev().map(|left| go - left * HERTZ).collect();
        if !changed(go - countdown..*go) {
            assert_eq!(pips, expected, "before the go at {go}");
        } else {
            assert!(pips.iter().all(|pip| expected.contains(pip)) || pips.len() <= expected.len());
        }
        // Before it there is silence, once the last command is over.
        let since = played.changes.iter().map(|c| c.frame).filter(|f| *f <= *go).max().unwrap_or(0) + 80;
        let quiet = (go - countdown).max(since)..*go;
        let beat = beats.iter().find(|beat| quiet.contains(*beat));
        assert_eq!(beat, None, "a beat in the countdown to {go}");
        let voice = cues.iter().find(|c| c.kind.is_voice() && c.from < quiet.end && c.until > quiet.start);
        assert!(voice.is_none() || quiet.is_empty(), "{voice:?} in the countdown to {go}");
    }
    // No two voices at once.
    let voices: Vec<&Heard> = cues.iter().filter(|cue| cue.kind.is_voice()).collect();
    for pair in voices.windows(2) {
        assert!(pair[0].until <= pair[1].from, "{:?} over {:?}", pair[0], pair[1]);
    }
    // No beat twice.
    for pair in beats.windows(2) {
        assert!(pair[1] - pair[0] >= at(Seconds::from_millis(250)), "two beats at {} and {}", pair[0], pair[1]);
    }
    phrases_once(stage, played, &cues, &goes);
    no_click(played);
}

/// Before a go with time enough its phrase is heard, and once unless it was asked for again.
fn phrases_once(stage: &Stage, played: &Played, cues: &[Heard], goes: &[u64]) {
    let planned = &stage.planned;
    for go in goes {
        let find = played.happened.iter().find_map(|happened| match happened {
            Happened::Go { set, repeat, at: time } if at(*time) == *go => Some((*set, *repeat)),
            _ => None,
        });
        let Some((set, repeat)) = find else { continue };
        let set = planned.practice.sets().nth(set).unwrap();
        let swim = &set.repeats[repeat];
        let Some(phrase) = swim.focus.first().and_then(|focus| set.lines[swim.line].focus.get(focus.phrase)) else {
            continue;
        };
        let before = goes.iter().rev().find(|other| *other < go).copied().unwrap_or(0);
        let touch = played.happened.iter().filter_map(|happened| match happened {
            Happened::Touch { at: time, .. } => Some(at(*time)),
            _ => None,
        });
        let touch = touch.filter(|touch| touch < go).max().unwrap_or(0);
        let command = played.changes.iter().map(|c| c.frame).filter(|frame| frame < go).max().unwrap_or(0);
        let since = before.max(touch).max(command);
        // What a command cut off has not been said.
        let said = |c: &&Heard| c.kind == CueKind::Phrase && c.id == *phrase.id && c.whole;
        // What leads up to another start after a skip is said anew.
        let skips = played.changes.iter().filter(|c| {
            matches!(c.command, Command::Course(CourseCommand::Next(_)) | Command::Course(CourseCommand::Back(_)))
        });
        let skip = skips.map(|c| c.frame).filter(|frame| frame < go).max().unwrap_or(0);
        // At the poolside a second phrase and "go in ten" come between it and the go.
        let window = go.saturating_sub(20 * HERTZ).max(skip);
        let count = cues.iter().filter(said).filter(|c| (window..*go).contains(&c.from)).count();
        let again = played
            .changes
            .iter()
            .any(|c| c.command == Command::Course(CourseCommand::Again) && (before..*go).contains(&c.frame));
        assert!(again || count <= 1, "{} said {count} times before the go at {go}", phrase.id);
        if go - since > 45 * HERTZ {
            assert!(count >= 1, "{} not said before the go at {go}", phrase.id);
        }
    }
}

/// The largest step from one sample to the next: what a clip, a 10 ms fade and the ducking allow, four at a time.
pub fn no_click(played: &Played) {
    let slope = std::f32::consts::TAU * 40.0 / HERTZ as f32 + 1.0 / 160.0 + 1.0 / 80.0 + 1.0 / 720.0;
    let allowed = 4.0 * LOUD * slope * 2.0_f32.max(1.0);
    let steps = played.out.windows(2).map(|pair| (pair[1] - pair[0]).abs());
    let (place, worst) = steps.enumerate().fold((0, 0.0), |top, step| if step.1 > top.1 { step } else { top });
    assert!(worst <= allowed, "a step of {worst} at {place}, {allowed} allowed");
}

fn any_command() -> impl Strategy<Value = Command> {
    prop_oneof![
        6 => Just(Command::Course(CourseCommand::Touch)),
        2 => Just(Command::Course(CourseCommand::Hold)),
        3 => Just(Command::Course(CourseCommand::Release)),
        1 => Just(Command::Course(CourseCommand::Next(Unit::Repeat))),
        1 => Just(Command::Course(CourseCommand::Next(Unit::Set))),
        1 => Just(Command::Course(CourseCommand::Back(Unit::Repeat))),
        1 => Just(Command::Course(CourseCommand::Back(Unit::Set))),
        4 => (-8_i32..9).prop_map(|by| Command::Course(CourseCommand::Tempo(by))),
        1 => (95_u64..145).prop_map(|to| Command::Course(CourseCommand::TempoTo(Tempo::from_centis(to)))),
        3 => Just(Command::Course(CourseCommand::Again)),
        3 => Just(Command::Course(CourseCommand::Undo)),
        2 => (40_i64..25_000).prop_map(|by| Command::Course(CourseCommand::Shift(Seconds::from_millis(by)))),
        1 => Just(Command::Desk(DeskCommand::Pause)),
        1 => (-12.0..4.0).prop_map(|db| Command::Desk(DeskCommand::Level(Bus::Beats, Decibels::of(db)))),
        1 => any::<bool>().prop_map(|muted| Command::Desk(DeskCommand::Mute(muted))),
    ]
}

proptest! {
    #![proptest_config(crate::cases::cases(4))]

    #[test]
    fn any_commands_at_any_frames_keep_the_rules(
        commands in prop::collection::vec((1_u64..400 * HERTZ, any_command()), 1..14),
        seeds in any::<[u64; 2]>(),
        speaker in prop::bool::weighted(0.25),
    ) {
        let audience = if speaker { Audience::Speaker } else { Audience::Headphones };
        let stage = stage(&practice(audience), audience).unwrap();
        let mut commands = commands;
        commands.sort_by_key(|(frame, _)| *frame);
        let most = 700 * HERTZ;
        let played = play(&stage, &commands, seeds[0], most);
        check(&stage, &played);
        // The same commands on the same frames: the same samples, whatever the blocks.
        let again = play(&stage, &commands, seeds[1], most);
        let same = played.out.len().min(again.out.len());
        prop_assert!(played.out[..same] == again.out[..same]);
    }
}

/// A rest before a joined swim: the swim has been laid, at a tempo that no longer holds.
#[test]
fn two_nudges_in_a_rest_keep_joined_beats_apart() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let course = |at, command| (at, Command::Course(command));
    let commands = [
        course(1, CourseCommand::Next(Unit::Repeat)),
        course(1_524_801, CourseCommand::Touch),
        course(2_641_123, CourseCommand::Touch),
        course(2_648_671, CourseCommand::Tempo(-2)),
        course(2_648_671, CourseCommand::Tempo(7)),
    ];
    let played = play(&stage, &commands, 0, 700 * HERTZ);
    assert_eq!(played.changes.len(), commands.len());
    check(&stage, &played);
}

/// Without a command the longer list of sounds changes nothing, and laying anew gives what a file has.
#[test]
fn a_practice_laid_again_is_the_file() {
    for audience in [Audience::Headphones, Audience::Speaker] {
        let stage = stage(&practice(audience), audience).unwrap();
        assert_eq!(stage.timeline.legs, stage.planned.built.timeline.legs);
        let plain = play(&stage, &[], 1, u64::MAX);
        assert!(plain.finished);
        check(&stage, &plain);
        let starts = &stage.planned.built.strand.starts;
        let begins = |start: &Start| {
            let (set, repeat, at) = (start.set, start.ordinal, start.go);
            // A swim that goes on without a stop has no go.
            if start.repeat.joined { Happened::Joined { set, repeat, at } } else { Happened::Go { set, repeat, at } }
        };
        let goes = starts.iter().map(begins);
        assert_eq!(plain.happened, goes.collect::<Vec<_>>());
        // A hold in the first talk, released at once: the schedule has room for both, so that not a sample moves.
        let nothing = play(
            &stage,
            &[
                (3 * HERTZ, Command::Course(CourseCommand::Hold)),
                (3 * HERTZ + 1, Command::Course(CourseCommand::Release)),
            ],
            2,
            u64::MAX,
        );
        assert_eq!(nothing.changes.len(), 2);
        let differs = plain.out.iter().zip(&nothing.out).position(|(a, b)| a != b);
        assert_eq!((differs, nothing.missed), (None, 0));
    }
}

/// Who pauses in a countdown and goes on at once: the practice goes back to before it, and the course from there is in the mixer
/// before it does.
#[test]
fn a_countdown_that_comes_again_has_all_its_pips() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let go = at(stage.planned.built.strand.starts[2].go);
    let commands = [
        // From here on the rest is a leg of its own, behind the frame to which the practice goes back.
        (go - 31_999, Command::Course(CourseCommand::Touch)),
        (go - 23_837, Command::Desk(DeskCommand::Pause)),
    ];
    for blocks in 0..8 {
        let played = play(&stage, &commands, blocks, go + 40 * HERTZ);
        check(&stage, &played);
        // The pip 3 s before the go has been heard when it stands still, and comes again 3 s before the go.
        let stood = played.changes.iter().map(|change| change.left - change.frame).sum::<u64>() + 4_000;
        let loud = |from: u64| played.out[from as usize..][..2 * LATER as usize].iter().any(|x| x.abs() > 0.01);
        assert!(loud(go - 3 * HERTZ) && loud(go - 3 * HERTZ + stood), "blocks {blocks}");
    }
}
