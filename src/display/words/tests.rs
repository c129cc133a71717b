use super::*;
use crate::conductor::situation::{ComingStart, LanePlace, Situation};
use crate::session::snapshot::Fault;
use crate::units::time::Tempo;

fn at(millis: i64, phase: Activity, go: i64, touch: i64, next: i64) -> Snapshot {
    let time = |secs: i64| (secs > 0).then(|| Seconds::from_secs(secs));
    let situation =
        Situation { phase, go: time(go), predicted_touch: time(touch), next_go: time(next), ..Situation::default() };
    let total = Seconds::from_secs(600);
    Snapshot { elapsed: Seconds::from_millis(millis), total, situation, ..Snapshot::default() }
}

#[test]
fn a_lane_reads_whose_turn_it_is() {
    let place = |number, go: i64, due: i64| LanePlace {
        number,
        whereabouts: if due > 0 {
            SwimmerIs::Swims { go: Seconds::from_secs(go), due: Seconds::from_secs(due) }
        } else {
            SwimmerIs::Wall
        },
        split: None,
        next_go: Some(Seconds::from_secs(if due > 0 { 140 } else { go })),
        owes_touch: false,
    };
    let mut lane = at(63_200, Activity::Swim, 60, 118, 140);
    lane.situation.lane = vec![place(1, 60, 118), place(2, 65, 0), place(3, 70, 0)];
    assert_eq!(time(&lane), Wide { text: "2 in 2".to_owned(), widest: "0 in 00".to_owned() });
    // All are away, or the next start is nobody's own.
    lane.situation.lane = vec![place(1, 60, 118), place(2, 140, 0)];
    assert_eq!(time(&lane).text, "swim 0:03");
}

#[test]
fn the_time_is_the_one_that_matters() {
    for (snapshot, expected) in [
        (at(100_000, Activity::Swim, 60, 118, 140), "swim 0:40"),
        (at(139_999, Activity::Rest, 60, 118, 140), "go in 1"),
        (at(118_000, Activity::Rest, 60, 118, 140), "go in 22"),
        (at(118_000, Activity::Rest, 60, 118, 240), "go in 2:02"),
        (at(130_500, Activity::Hold, 60, 118, 0), "rest 0:12"),
        (at(20_000, Activity::Talk, 0, 0, 61), "go in 41"),
        (at(540_000, Activity::Talk, 0, 0, 0), "ends in 1:00"),
        (at(600_900, Activity::Over, 60, 118, 0), "done 10:00"),
    ] {
        let time = time(&snapshot);
        assert_eq!(time.text, expected, "{:?}", snapshot.situation);
        assert!(time.widest.len() >= time.text.len());
    }
}

#[test]
fn the_pace_clock_is_the_pools_where_somebody_has_set_it() {
    let mut snapshot = at(118_000, Activity::Rest, 60, 118, 140);
    let mut front = Front::default();
    let next = Seconds::from_secs(140);
    assert_eq!(reading(&snapshot, front, next), ":20");
    // Set 12.2 s before the session's 100 s; the practice has stood still for 30 s since it began.
    snapshot.clock = Seconds::from_secs(148);
    front.top = Some(Seconds::from_millis(87_800));
    // Arithmetic: 148 - 87.8 + 22 = 82.2.
    assert_eq!(reading(&snapshot, front, next), ":22");
    assert!(coming(&snapshot, front).is_none(), "of no practice there is nothing to tell");
}

#[test]
fn the_next_start_is_told_as_it_is() {
    let first = |snapshot: &Snapshot| go(snapshot, Front::default()).first().map(|wide| wide.text.clone());
    let mut snapshot = at(100_000, Activity::Swim, 60, 118, 140);
    assert_eq!(first(&snapshot).unwrap(), "go in 40 on :20");
    snapshot.situation.held = true;
    assert_eq!(first(&snapshot).unwrap(), "held: g lets go");
    snapshot.paused = true;
    assert_eq!(first(&snapshot).unwrap(), "paused: space goes on");
    let mut snapshot = at(100_000, Activity::Swim, 60, 118, 0);
    assert_eq!(first(&snapshot).unwrap(), "the last one");
    snapshot.situation.coming = Some(ComingStart { set: 0, repeat: 1, go: None, joined: true });
    assert_eq!(first(&snapshot).unwrap(), "straight on");
}

#[test]
fn what_went_wrong_is_told_until_it_is_seen() {
    let fault = |number, short: &str| Fault { number, short: short.into(), words: format!("{short} at 1:00") };
    let mut snapshot = Snapshot { faults: vec![fault(1, "no record"), fault(4, "go lost")], ..Snapshot::default() };
    let mut front = Front::default();
    let told = alarm(&snapshot, front).unwrap();
    assert_eq!(told.short, "go lost");
    assert_eq!(told.lines, ["[enter] go lost at 1:00", "no record at 1:00"]);
    front.seen = 1;
    assert_eq!(alarm(&snapshot, front).unwrap().lines.len(), 1);
    front.seen = 4;
    assert_eq!(alarm(&snapshot, front), None);
    // No sound is told as long as there is none, and a question comes before everything.
    snapshot.device = DeviceState::Lost { since: Seconds::from_secs(60), why: "it was unplugged".into() };
    assert_eq!(alarm(&snapshot, front).unwrap().short, "no sound");
    snapshot.doubt = Some(AskedTouch { split: Seconds::from_secs(3), number: None });
    assert_eq!(alarm(&snapshot, front).unwrap().short, "touch at 0:03?");
    front.over = Over::Stop;
    assert_eq!(alarm(&snapshot, front).unwrap().short, "stop?");
}

#[test]
fn rest_is_counted_from_the_true_touch() {
    let mut snapshot = at(125_000, Activity::Hold, 60, 118, 0);
    snapshot.situation.touched = Some(Seconds::from_millis(61_300));
    assert_eq!(time(&snapshot).text, "rest 0:03");
    assert_eq!(touch(&snapshot).unwrap(), "touch 1:01.3, +3.3 s on expected");
    snapshot.situation.touched = None;
    assert_eq!(touch(&snapshot).unwrap(), "touch expected 0:58.0, none taken");
}

#[test]
fn tempo_is_reported_in_both_readings() {
    let mut snapshot = Snapshot::default();
    snapshot.situation.tempo = Some(Tempo::from_centis(110));
    snapshot.situation.nudge = -2;
    // Arithmetic: 60 / 1.10.
    assert_eq!(tempo(&snapshot).unwrap(), "tempo 1.10 s, 54.5 /min (0.02 s faster)");
}

#[test]
fn levels_are_of_full_scale() {
    assert_eq!(level(0.0), ("silent".to_owned(), 0.0));
    assert_eq!(level(1.0).1, 1.0);
    assert_eq!(level(0.5).0, "-6 dB");
    assert_eq!(level(f32::NAN).1, 0.0);
}

#[test]
fn trouble_is_reported() {
    let mut snapshot = Snapshot { missed_blocks: 1, missed_cues: 2, ..Snapshot::default() };
    assert_eq!(missed(&snapshot).unwrap(), "missed 1 block and 2 cues");
    snapshot.behind = Some(Seconds::from_millis(3_140));
    assert_eq!(missed(&snapshot).unwrap(), "3.1 s behind, missed 1 block and 2 cues");
    snapshot.device = DeviceState::Lost { since: Seconds::from_secs(724), why: "it was unplugged".into() };
    assert_eq!(device(&snapshot), ("NO SOUND since 12:04: it was unplugged".to_owned(), false));
}
