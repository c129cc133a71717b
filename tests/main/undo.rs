//! Commands that are taken back, over practices nobody thought of: from then on everything is as if they had never been
//! keyed. Two runs are held against each other, one with what is taken back and one without; no answer is written here.

use crate::anything::anything;
use crate::plan::{Planned, library};
use crate::stage::HERTZ;
use crate::steering::{LATER, at, frame};
use crate::whole::plan;
use lengthwise::audio::bank::{Bank, BankClip};
use lengthwise::conductor::command::{Command, CourseCommand, Timing, Unit};
use lengthwise::conductor::{Conductor, Score, Supply};
use lengthwise::mixer::{Mixer, QUANTUM};
use lengthwise::swimmer::Swimmer;
use lengthwise::timeline::vocabulary::with_vocabulary;
use lengthwise::timeline::{CueKind, Leg};
use lengthwise::units::frame::{OutputFrame, PracticeFrame};
use lengthwise::units::time::{SampleRate, Tempo};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Frames at a time: less than the mixer knows ahead.
const BLOCK: u64 = 4 * HERTZ;

/// A command, and after how many frames it is taken back, if it is.
#[derive(Clone, Copy, Debug)]
struct Step {
    pressed: u64,
    command: CourseCommand,
    undo: Option<u64>,
}

/// What is due from an undo on.
struct Due {
    command: CourseCommand,
    came: Came,
    /// From when on the command was heard, and the undo.
    keyed: u64,
    from: u64,
    /// From the command on; all else from the undo on.
    gos_since: Vec<u64>,
    gos: Vec<u64>,
    pips: Vec<u64>,
    beats: Vec<u64>,
    voices: Vec<(u64, String)>,
}

fn due(legs: &[Leg], command: CourseCommand, came: Came, keyed: u64, from: u64) -> Due {
    let (gos_since, gos, pips, beats, voices) = (Vec::new(), Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let mut due = Due { command, came, keyed, from, gos_since, gos, pips, beats, voices };
    for leg in legs {
        for cue in &leg.cues {
            let on = at(leg.origin + cue.at);
            match cue.kind {
                CueKind::Go if on >= keyed => due.gos_since.push(on),
                _ if on < from => {}
                CueKind::Pip => due.pips.push(on),
                _ => due.voices.push((on, format!("{:?} {}", cue.kind, cue.id))),
            }
        }
        for grid in &leg.grids {
            let (num, den) = (i128::from(grid.tempo.num()), i128::from(grid.tempo.den()));
            let origin = i128::from((leg.origin + grid.origin).nanos()) * den;
            let on = grid.beats.iter().map(|b| frame(origin + i128::from(b.k) * num * 1_000_000_000, den));
            due.beats.extend(on.filter(|on| *on >= from));
        }
    }
    due.gos_since.sort_unstable();
    due.gos = due.gos_since.iter().copied().filter(|go| *go >= from).collect();
    due.voices.sort();
    due
}

/// What came of a command and its undo.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Came {
    /// It was taken, and taken back.
    Undone,
    /// It was taken, and could not be taken back.
    Refused,
    /// It was refused, or left out.
    Nothing,
}

/// Plays the steps; without those that are taken back where they are `left_out`.
fn run(planned: &Planned, steps: &[Step], left_out: bool) -> Vec<Due> {
    let (library, swimmer) = (library(), Swimmer::assumed());
    let timeline = with_vocabulary(&planned.built, &planned.practice, library);
    // What is due is in the legs: what it sounds like does not matter here, and silence is mixed fastest.
    let rate = SampleRate::new(HERTZ as u32).unwrap();
    let clip = |_| BankClip { samples: vec![1, 1].into(), gain: 1.0, true_peak: 0.1 };
    let bank = Arc::new(Bank { rate, clips: timeline.sounds.iter().map(clip).collect() });
    let score =
        Score { practice: &planned.practice, strand: &planned.built.strand, library, swimmer: &swimmer, lane: None };
    let mut conductor = Conductor::steered(&timeline, &score, bank, Supply::live(rate)).unwrap();
    let (mut mixer, controls) = Mixer::new(rate);
    let mut after = Vec::new();
    let advance = |conductor: &mut Conductor<'_>, mixer: &mut Mixer, until: u64| {
        while mixer.position().number() + QUANTUM as u64 <= until {
            conductor.pump(&controls, mixer.position());
            mixer.receive();
            let block = mixer.position().number() + BLOCK;
            while mixer.position().number() + QUANTUM as u64 <= until.min(block) {
                let left = until.min(block) - mixer.position().number();
                mixer.pull(left / QUANTUM as u64);
            }
        }
        conductor.pump(&controls, mixer.position());
    };
    let ask = |conductor: &mut Conductor<'_>, command: CourseCommand, pressed: u64| {
        let effect = pressed + LATER;
        let timing = Timing {
            pressed: PracticeFrame::new(pressed),
            practice: PracticeFrame::new(effect),
            output: OutputFrame::new(effect),
        };
        conductor.command(Command::Course(command), timing).is_ok()
    };
    for step in steps {
        advance(&mut conductor, &mut mixer, step.pressed);
        let taken = !(left_out && step.undo.is_some()) && ask(&mut conductor, step.command, step.pressed);
        let Some(later) = step.undo else { continue };
        let pressed = step.pressed + later;
        advance(&mut conductor, &mut mixer, pressed);
        // A command that was refused has nothing that could be taken back: an undo would take the one before.
        let came = match taken {
            true if ask(&mut conductor, CourseCommand::Undo, pressed) => Came::Undone,
            true => Came::Refused,
            false => Came::Nothing,
        };
        after.push(due(conductor.legs(), step.command, came, step.pressed + LATER, pressed + LATER));
    }
    after
}

fn any_step() -> impl Strategy<Value = (CourseCommand, bool)> {
    let undoable = prop_oneof![
        4 => Just(CourseCommand::Touch),
        3 => Just(CourseCommand::Hold),
        4 => Just(CourseCommand::Release),
        2 => Just(CourseCommand::Next(Unit::Repeat)),
        1 => Just(CourseCommand::Next(Unit::Set)),
        2 => Just(CourseCommand::Back(Unit::Repeat)),
        1 => Just(CourseCommand::Back(Unit::Set)),
        3 => (-4_i32..5).prop_map(CourseCommand::Tempo),
        1 => (100_u64..140).prop_map(|to| CourseCommand::TempoTo(Tempo::from_centis(to))),
    ];
    prop_oneof![4 => (undoable, any::<bool>()), 1 => Just((CourseCommand::Again, false))]
}

/// Gaps between keys, and between a key and its undo: mostly short, as people correct themselves.
fn steps() -> impl Strategy<Value = Vec<Step>> {
    let gap = prop_oneof![3 => 2_000_u64..10 * HERTZ, 2 => 10 * HERTZ..90 * HERTZ];
    let undo = prop_oneof![4 => 2_000_u64..6 * HERTZ, 1 => 6 * HERTZ..40 * HERTZ];
    (0_u64..400 * HERTZ, prop::collection::vec((gap, any_step(), undo), 1..9)).prop_map(|(begin, steps)| {
        let mut now = begin;
        let step = |(gap, (command, undone), undo): (u64, (CourseCommand, bool), u64)| {
            let pressed = now + gap;
            now = pressed + if undone { undo } else { 0 } + LATER;
            Step { pressed, command, undo: undone.then_some(undo) }
        };
        steps.into_iter().map(step).collect()
    })
}

/// From an undo on, the run with it is the run without the command.
fn same(with: &Due, without: &Due, countdown: u64) -> Result<bool, TestCaseError> {
    // A go that was due between key and undo, or whose countdown had begun, cannot come as if nothing had been keyed: it
    // comes with a whole countdown, and what follows it follows it.
    let (go, was) = (with.gos.first(), without.gos.first());
    if go != was {
        let unheard = without.gos_since.iter().any(|go| (with.keyed..with.from + countdown + HERTZ).contains(go));
        prop_assert!(unheard, "a go at {go:?} that was at {was:?}");
        prop_assert!(go.is_some_and(|go| *go >= with.from + countdown), "a countdown that is not whole");
        return Ok(false);
    }
    prop_assert_eq!(&with.gos, &without.gos);
    prop_assert_eq!(&with.pips, &without.pips);
    // Beats that would come right behind one of the course that is left are left out.
    let spaced = with.from + 3 * HERTZ;
    let later = |beats: &[u64]| beats.iter().copied().filter(|on| *on >= spaced).collect::<Vec<_>>();
    prop_assert_eq!(later(&with.beats), later(&without.beats));
    prop_assert!(with.beats.iter().all(|on| without.beats.contains(on)));
    // What was said in between is not said again; behind the next go all is alike.
    let next = with.gos.first().copied().unwrap_or(with.from);
    let later = |due: &Due| due.voices.iter().filter(|(on, _)| *on > next).cloned().collect::<Vec<_>>();
    if !with.gos.is_empty() {
        prop_assert_eq!(later(with), later(without));
    }
    Ok(true)
}

/// How often each command was taken back, and what came of it.
#[derive(Default, Debug)]
struct Tally {
    same: u32,
    moved: u32,
    refused: u32,
}

#[test]
fn what_is_taken_back_was_never_keyed() {
    let tally = RefCell::new(BTreeMap::<String, Tally>::new());
    let count = |command: CourseCommand, of: fn(&mut Tally) -> &mut u32| {
        let name = format!("{command:?}");
        let kind = name.split('(').next().unwrap().to_owned();
        *of(tally.borrow_mut().entry(kind).or_default()) += 1;
    };
    let config = crate::cases::cases(30);
    let cases = config.cases;
    let tried = TestRunner::new(config).run(&(anything(), steps()), |(practice, steps)| {
        let Some(planned) = plan(&practice)? else { return Ok(()) };
        let countdown = at(planned.practice.settings.countdown);
        let (with, without) = (run(&planned, &steps, false), run(&planned, &steps, true));
        prop_assert_eq!(with.len(), without.len());
        for (with, without) in with.iter().zip(&without) {
            if with.came == Came::Refused {
                // A go has been given since: from here on the runs differ.
                count(with.command, |tally| &mut tally.refused);
                break;
            }
            if with.came == Came::Nothing {
                continue;
            }
            if !same(with, without, countdown)? {
                // A go had to move, and what follows has moved with it.
                count(with.command, |tally| &mut tally.moved);
                break;
            }
            count(with.command, |tally| &mut tally.same);
        }
        Ok(())
    });
    println!("{:#?}", tally.borrow());
    tried.unwrap();
    let tally = tally.borrow();
    // Two of five scripts can be planned, and a command or two of each run are taken back.
    let same: u32 = tally.values().map(|tally| tally.same).sum();
    assert!(same * 6 >= cases, "only {same} commands were taken back in {cases} cases");
    let never = |kind: &&str| tally.get(*kind).is_none_or(|tally| tally.same == 0);
    let never = ["Touch", "Hold", "Release", "Next", "Back", "Tempo"].into_iter().find(never);
    assert!(never.is_none() || cases < 300, "{never:?} was never taken back: {tally:?}");
}
