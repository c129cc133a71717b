//! What is expected of a stretch, by hand.

use super::*;
use crate::units::swim::Distance;

fn pool(count: u32, unit: PoolUnit) -> SwimStretch {
    SwimStretch::Length(PoolLength::new(Distance::new(count, unit).unwrap()).unwrap())
}

/// Somebody counted: 19 strokes at 1.30 s and 22 at 1.00 s in 25 m, 4 s and 5 m of each length without strokes.
fn counted() -> Swimmer {
    let model = StrokeModel::through(25.0, &[(1.30, 19.0), (1.00, 22.0)], 4.0, 5.0).unwrap();
    Swimmer { model, usual: Tempo::from_centis(130), ..Swimmer::assumed() }
}

#[test]
fn nobody_in_particular_is_new_to_crawl() {
    // A quarter of 2:30; 25 strokes in the 33.5 s after the wall.
    let swimmer = Swimmer::assumed();
    let steady = swimmer.predict(pool(25, PoolUnit::Metre), &How::crawl(SpeedTarget::Effort(Effort::Steady)));
    assert_eq!((steady.time, swimmer.usual), (Seconds::from_millis(37_500), Tempo::from_centis(134)));
    assert!((steady.count.unwrap() - 25.0).abs() < 0.01);
}

#[test]
fn predictions_by_hand() {
    let swimmer = counted();
    let m25 = pool(25, PoolUnit::Metre);
    // 4.0 s + 19 × 1.30 s = 28.7 s at the stated point, by arithmetic.
    let at = swimmer.predict(m25, &How::crawl(SpeedTarget::Tempo(Tempo::from_centis(130))));
    assert_eq!(at.time, Seconds::from_millis(28_700));
    assert!((at.count.unwrap() - 19.0).abs() < 1e-9);
    // easy = 1.15 × 28.7 = 33.005 s; drill = 1.25 × that = 41.256 s.
    assert_eq!(swimmer.predict(m25, &How::crawl(SpeedTarget::Effort(Effort::Easy))).time, Seconds::from_millis(33_005));
    let easy = How::crawl(SpeedTarget::Effort(Effort::Fast));
    assert_eq!(
        swimmer.predict(m25, &How { drill: Some(DrillMovement::of(BodyPart::Swim)), ..easy }).time,
        Seconds::from_millis(41_256)
    );
    // Kick 1.6, scull 2.5 of easy; breaststroke 1.25 of the same effort, without a count.
    assert_eq!(swimmer.predict(m25, &How { part: BodyPart::Kick, ..easy }).time, Seconds::from_millis(52_808));
    assert_eq!(swimmer.predict(m25, &How { part: BodyPart::Scull, ..easy }).time, Seconds::from_millis(82_513));
    let breast =
        swimmer.predict(m25, &How { stroke: Stroke::Breast, ..How::crawl(SpeedTarget::Effort(Effort::Steady)) });
    assert_eq!((breast.time, breast.count), (Seconds::from_millis(35_875), None));
    // 2:00 per 100 is 30 s in 25.
    let pace = swimmer.predict(m25, &How::crawl(SpeedTarget::Pace(Pace::new(Seconds::from_secs(120)).unwrap())));
    assert_eq!(pace.time, Seconds::from_secs(30));
    // The expected tempo at that time reproduces the time.
    let back = swimmer.model.length_time(25.0, pace.tempo.unwrap().as_f64());
    assert!((back - 30.0).abs() < 0.05, "{back}");
}

#[test]
fn open_water_has_no_walls() {
    let swimmer = counted();
    // 20 m in 19 strokes at 1.30 s, so 1000 m takes 950 strokes, 1235 s; half of that time leads to 500 m.
    let how = How::crawl(SpeedTarget::Tempo(Tempo::from_centis(130)));
    let kilometre = swimmer.predict(SwimStretch::Open(1000.0), &how);
    assert_eq!(kilometre.time, Seconds::from_secs(1235));
    assert!((kilometre.count.unwrap() - 950.0).abs() < 1e-6);
    assert!((swimmer.reach(Seconds::from_millis(617_500), &how) - 500.0).abs() < 1e-6);
}

#[test]
fn a_stated_pace_wins_and_anchors() {
    let mut swimmer = counted();
    swimmer.paces = vec![(Effort::Easy, Pace::new(Seconds::from_secs(138)).unwrap())];
    let m25 = pool(25, PoolUnit::Metre);
    assert_eq!(swimmer.predict(m25, &How::crawl(SpeedTarget::Effort(Effort::Easy))).time, Seconds::from_millis(34_500));
    assert_eq!(
        swimmer.predict(m25, &How::crawl(SpeedTarget::Effort(Effort::Steady))).time,
        Seconds::from_millis(30_000)
    );
    // The same pace per 100 m in 25 yd: 34.5 × 0.9144.
    let yards = swimmer.predict(pool(25, PoolUnit::Yard), &How::crawl(SpeedTarget::Effort(Effort::Easy))).time;
    assert_eq!(yards, Seconds::from_millis(31_547));
}

#[test]
fn paces_are_per_hundred_of_the_unit_that_is_swum() {
    // Stated in a pool of metres, swum in yards: 138 s for 100 m are 126.19 s for 100 yd, 110 s are 100.58 s.
    let mut swimmer = counted();
    let pace = |secs| Pace::new(Seconds::from_secs(secs)).unwrap();
    (swimmer.paces, swimmer.critical) = (vec![(Effort::Easy, pace(138))], Some(pace(110)));
    let yards = pool(25, PoolUnit::Yard);
    assert_eq!(swimmer.pace_of(PaceBase::Effort(Effort::Easy), yards), Seconds::from_secs(126));
    assert_eq!(swimmer.pace_of(PaceBase::Critical, yards), Seconds::from_secs(101));
    assert_eq!(swimmer.pace_of(PaceBase::Critical, pool(25, PoolUnit::Metre)), Seconds::from_secs(110));
    // What a script asks for is for 100 of its own pool: a quarter of 1:40 in 25 yd.
    let asked = How::crawl(SpeedTarget::Pace(pace(100)));
    assert_eq!(swimmer.predict(yards, &asked).time, Seconds::from_secs(25));
}

#[test]
fn stated_times_of_drill_and_kick_are_theirs() {
    let pace = |secs| Pace::new(Seconds::from_secs(secs));
    let swimmer = Swimmer { drill: pace(180), kick: pace(220), ..counted() };
    let m25 = pool(25, PoolUnit::Metre);
    let easy = How::crawl(SpeedTarget::Effort(Effort::Easy));
    // A quarter of 3:00, a quarter of 3:40; with fins 0.7 of it; a drill that takes twice easy, 2 / 1.25 of 45 s.
    assert_eq!(
        swimmer.predict(m25, &How { drill: Some(DrillMovement::of(BodyPart::Swim)), ..easy }).time,
        Seconds::from_secs(45)
    );
    let kick = How { part: BodyPart::Kick, ..easy };
    assert_eq!(swimmer.predict(m25, &kick).time, Seconds::from_secs(55));
    assert_eq!(swimmer.predict(m25, &How { fins: true, ..kick }).time, Seconds::from_millis(38_500));
    let slow = Some(DrillMovement { part: BodyPart::Swim, time: 200 });
    assert_eq!(swimmer.predict(m25, &How { drill: slow, ..easy }).time, Seconds::from_secs(72));
    // Kicked as a drill and kicked as a part are one.
    let drilled = How { drill: Some(DrillMovement::of(BodyPart::Kick)), ..easy };
    assert_eq!(swimmer.predict(m25, &drilled), swimmer.predict(m25, &kick));
    let scull = How { part: BodyPart::Scull, ..easy };
    let drilled = How { drill: Some(DrillMovement::of(BodyPart::Scull)), ..easy };
    assert_eq!(swimmer.predict(m25, &drilled), swimmer.predict(m25, &scull));
}

#[test]
fn ninetieth_percentile() {
    // 5 % of 100 s is 5 s; z(0.9) = 1.2816 (standard normal tables).
    assert_eq!(counted().uncertainty(Seconds::from_secs(100)), Seconds::from_millis(6_408));
}
