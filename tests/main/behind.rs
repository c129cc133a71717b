//! A practice that finds itself behind the pool's clock in the countdown to a go, where nothing else can be left out.

use crate::cases::amount;
use crate::stage::{HERTZ, PRACTICE, Stage, stage};
use crate::steering::{LATER, at, check, conductor, heard, play};
use lengthwise::conductor::command::{Command, CourseCommand};
use lengthwise::practice::Audience;
use lengthwise::timeline::CueKind;
use lengthwise::units::frame::PracticeFrame;
use lengthwise::units::time::Seconds;

/// The moments of a countdown, a tenth of a second apart, at which so much may be left out; counted in milliseconds to the go.
fn places(stage: &Stage, go: u64, countdown: u64, behind: u64) -> Vec<u64> {
    let conductor = conductor(stage);
    let by = Seconds::from_millis(behind as i64);
    let moments = (0..countdown).step_by(100).map(|since| countdown - since);
    moments.filter(|left| conductor.may_shift(PracticeFrame::new(go - left * HERTZ / 1000), by)).collect()
}

#[test]
fn what_is_lost_in_a_countdown_is_made_good_before_its_go() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let countdown = stage.planned.practice.settings.countdown.nanos() as u64 / 1_000_000;
    let second = stage.planned.built.strand.starts.iter().find(|start| (start.set, start.ordinal) == (0, 1)).unwrap();
    let go = at(second.go);
    // So little is not worth an uneven countdown.
    assert_eq!(places(&stage, go, countdown, 60), Vec::<u64>::new());
    for behind in [100, 300, 700, 1_200, 2_500] {
        let places = places(&stage, go, countdown, behind);
        // The last second is always heard as it is.
        assert!(places.iter().all(|left| *left >= behind + 1000), "{behind} ms: {places:?}");
        // Until then there is a place in every second.
        for second in (behind + 1000).div_ceil(1000)..countdown / 1000 {
            let within = second * 1000..(second + 1) * 1000;
            assert!(places.iter().any(|left| within.contains(left)), "{behind} ms, {within:?} before it: {places:?}");
        }
        for left in places.into_iter().step_by(amount(5, 1)) {
            let from = go - left * HERTZ / 1000;
            let shift = Command::Course(CourseCommand::Shift(Seconds::from_millis(behind as i64)));
            let played = play(&stage, &[(from - LATER, shift)], left, go + 20 * HERTZ);
            assert_eq!(played.changes.len(), 1);
            check(&stage, &played);
            let (cues, _) = heard(&stage, &played);
            assert!(cues.iter().any(|cue| cue.kind == CueKind::Go && cue.from == go), "{behind} ms, {left} before it");
            let pips = cues
                .iter()
                .filter(|cue| cue.kind == CueKind::Pip && cue.from + countdown / 1000 * HERTZ >= go && cue.from < go);
            let most = countdown as usize / 1000;
            let least = if behind < 750 { most } else { most - (behind as usize).div_ceil(1000) };
            assert!((least..=most).contains(&pips.count()), "{behind} ms, {left} before it: a pip is missing");
        }
    }
}
