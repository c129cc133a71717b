//! The practices that come with the program: nothing to complain of, as long and as far as promised, and the one for open
//! water stroke by stroke.

use lengthwise::pack::builtin;
use lengthwise::practice::Audience;
use lengthwise::prepare::{self, Planned, PracticeRequest, WhoSwims};
use lengthwise::timeline::dump::dump;
use lengthwise::units::swim::Pace;
use lengthwise::units::time::Seconds;

/// The plan of one that comes with the program, which must be without any complaint and lose nothing.
fn planned(name: &str, audience: Audience) -> Planned {
    planned_for(name, None, audience)
}

/// The same for a swimmer.
fn planned_for(name: &str, swimmer: Option<WhoSwims>, audience: Audience) -> Planned {
    let request = PracticeRequest { script: name.into(), swimmer, audience, ..PracticeRequest::default() };
    let outcome = prepare::plan(&request).unwrap();
    let told: Vec<_> = outcome.diagnostics.iter().map(|d| format!("{}: {}", d.code.word(), d.message)).collect();
    assert!(told.is_empty(), "{name} ({audience:?}): {told:#?}");
    let planned = outcome.planned.unwrap();
    assert!(planned.plan.dropped.is_empty(), "{name} ({audience:?}): {:?}", planned.plan.dropped);
    planned
}

#[test]
fn shipped_practices_are_as_long_and_as_far_as_promised() {
    // What the packs promise: minutes and metres, for the assumed swimmer or for one of 1:55 for 100 m.
    let improver = || Some(WhoSwims::Hundred(Pace::new(Seconds::from_secs(115)).unwrap()));
    let promised = [
        ("first-lengths/breathing-out", None, 40.0..=43.0, 600..=850),
        ("first-lengths/first-hundreds", None, 40.0..=43.0, 600..=850),
        ("first-lengths/level-body", None, 41.0..=44.0, 600..=850),
        ("open-water/both-sides", improver(), 48.0..=53.0, 1650..=1950),
        ("open-water/quick-then-settle", improver(), 50.0..=54.0, 2000..=2500),
        ("tempo-range/all-together", improver(), 46.0..=51.0, 1600..=1750),
        ("tempo-range/even-pace", improver(), 44.0..=49.0, 1700..=1850),
        ("tempo-range/find-the-count", improver(), 45.0..=50.0, 1500..=1650),
        ("tempo-range/keep-it-quick", improver(), 45.0..=50.0, 1500..=1650),
        ("tempo-range/up-and-back", improver(), 43.0..=48.0, 1500..=1650),
    ];
    let mut shipped: Vec<_> = builtin::scripts().map(|script| format!("{}/{}", script.pack, script.name)).collect();
    shipped.sort();
    assert_eq!(shipped, promised.each_ref().map(|(name, ..)| name.to_string()), "a practice without a promise");
    for (name, swimmer, minutes, metres) in promised {
        for audience in [Audience::Headphones, Audience::Speaker] {
            let plan = planned_for(name, swimmer.clone(), audience).plan;
            let lasts = plan.duration.as_f64() / 60.0;
            assert!(minutes.contains(&lasts), "{name} ({audience:?}) lasts {lasts:.1} min");
            assert!(metres.contains(&plan.distance), "{name} is {} m", plan.distance);
        }
    }
}

#[test]
fn shipped_practices_suit_a_player_and_every_word_is_recorded() {
    for script in builtin::scripts() {
        let planned = planned(&format!("{}/{}", script.pack, script.name), Audience::Player);
        let tracks = &planned.plan.tracks;
        assert!(tracks.len() > planned.plan.sets.len(), "{}: {tracks:?}", script.name);
        for track in tracks {
            // A single swim cannot be cut: its opening and the rest behind it come on top.
            let repeats = track.set.map_or(&[][..], |set| &planned.plan.sets[set].repeats[track.repeats.clone()]);
            let swum = repeats.iter().map(|repeat| repeat.predicted.as_f64()).fold(0.0, f64::max);
            let most = if repeats.len() == 1 { f64::max(720.0, swum + 180.0) } else { 720.0 };
            assert!(track.len.as_f64() <= most, "{}: a track of {:?}", script.name, track.len);
        }
    }
}

/// A line of the dump: seconds from the practice's beginning, kind, id.
type Row = (f64, String, String);

fn rows(planned: &Planned) -> Vec<Row> {
    let row = |line: &str| {
        let cells: Vec<_> = line.split('\t').collect();
        (cells[0].parse().unwrap(), cells[2].to_owned(), cells[3].to_owned())
    };
    dump(&planned.built.timeline, &planned.library).lines().map(row).collect()
}

/// Which strokes of a swim carry marks or calls of this kind: `first` is the moment of stroke 1, `strokes` how many.
fn strokes_of(rows: &[Row], kind: &str, (first, tempo, strokes): (f64, f64, u32)) -> Vec<u32> {
    let until = first + tempo * (f64::from(strokes) - 0.5);
    let within = rows.iter().filter(|(at, found, _)| found == kind && *at > first - tempo / 2.0 && *at < until);
    within
        .map(|(at, ..)| {
            let stroke = (at - first) / tempo + 1.0;
            assert!((stroke - stroke.round()).abs() < 1e-6, "{kind} at {at} lies on no stroke");
            stroke.round() as u32
        })
        .collect()
}

fn every(n: u32, strokes: u32) -> Vec<u32> {
    (n..=strokes).step_by(n as usize).collect()
}

/// By hand, for `Quick then settle`. The swims with a pattern: 4 min, four times 1 min and 4 min, 10 min.
/// - 240 s at 1.20 s: 200 strokes, from the go.
/// - 60 s at 0.90 s: strokes at 0 ... 59.4 s, 67 of them; the next beat is at 60.3 s, where the grid of 1.20 s begins.
/// - 240 s less 0.3 at 1.20 s: 199.75, so 200 strokes.
/// - 600 s at 1.20 s: 500 strokes.
#[test]
fn quick_then_settle_is_balanced_and_marked_on_the_right_strokes() {
    let planned = planned("open-water/quick-then-settle", Audience::Headphones);
    let rows = rows(&planned);
    let repeats: Vec<_> = planned.plan.sets.iter().flat_map(|set| &set.repeats).collect();
    let go = |index: usize| repeats[index].start.as_f64();
    // The easy swims at both ends have no pattern. (go, tempo, strokes, sight, call)
    let mut swims = vec![(go(1), 1.20, 200, 12, None)];
    for round in 0..4 {
        swims.push((go(2 + 2 * round), 0.90, 67, 8, None));
        swims.push((go(3 + 2 * round) + 0.3, 1.20, 200, 12, Some(50)));
    }
    swims.push((go(10), 1.20, 500, 16, Some(100)));
    assert_eq!(repeats.len(), 12);
    for (first, tempo, strokes, sight, call) in swims {
        let place = (first, tempo, strokes);
        assert_eq!(strokes_of(&rows, "sight", place), every(sight, strokes), "looks ahead from {first}");
        // A call may wait up to two strokes for another voice; none has to here but for a change of focus.
        let called: Vec<_> = rows
            .iter()
            .filter(|(at, kind, _)| kind == "call" && *at >= first && *at < first + tempo * f64::from(strokes))
            .map(|(at, _, id)| (((at - first) / tempo + 1e-6).floor() as u32 + 1, id.clone()))
            .collect();
        let expected = call.map_or_else(Vec::new, |n| every(n, strokes));
        assert_eq!(called.len(), expected.len(), "calls from {first}: {called:?}");
        for ((stroke, id), wanted) in called.iter().zip(expected) {
            assert_eq!(*id, format!("call-{wanted}"));
            assert!((wanted..=wanted + 2).contains(stroke), "{id} on stroke {stroke}");
        }
    }
    // Right on even strokes, left on odd ones, never two strokes running: with an odd number to each side the two are
    // alike. 25 each: 2 ... 24 and 27 ... 49, 12 and 12, four times in 200 and ten times in 500. 33 each: 2 ... 32 and 35
    // ... 65, 16 and 16. Every third of 200: 66, in turn, 33 and 33. 48 + 4 x (16 + 33) + 120 = 364.
    assert_eq!((planned.plan.breaths.right, planned.plan.breaths.left), (364, 364));
    assert_eq!(planned.plan.sets[1].strokes, 200);
    assert_eq!(planned.plan.sets[2].strokes, 4 * (67 + 200));
    assert_eq!(planned.plan.sets[3].strokes, 500);
    // Of these, a mark is heard for each but those on which a look ahead falls. In 500 with 25 each and a look every 16:
    // right on even strokes of the first 25 of 50, left on odd ones, and looks fall on even strokes only: of 16, 32 ...
    // 496 those within 2 ... 24 of their 50, which are 16, 64, 112, 160, 208, 224 (24), 256 (6), 272 (22), 304 (4), 320
    // (20), 352 (2), 368 (18), 416 (16), 464 (14): 14 of 240.
    let steady = (go(10), 1.20, 500);
    assert_eq!(strokes_of(&rows, "breath", steady).len(), 240 - 14);
    let sides = |side: &str| {
        let of = |row: &&Row| row.1 == "breath" && row.2 == side && row.0 >= steady.0;
        rows.iter().filter(of).count()
    };
    assert_eq!((sides("right"), sides("left")), (120 - 14, 120));
}
