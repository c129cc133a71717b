//! Whiteboards as they hang on decks: what they come to, against totals worked out by hand; and that no text is too odd.
//!
//! The boards are our own, in the manner of masters', triathlon and learn-to-swim squads: common practice, no source.

use lengthwise::authoring::board::{BoardOrder, BoardOutcome, make};
use lengthwise::diag::{Sources, has_errors};
use lengthwise::prepare::{self, PracticeRequest, WhoSwims};
use lengthwise::script::parse::parse;
use lengthwise::script::templates;
use lengthwise::units::swim::Pace;
use lengthwise::units::time::Seconds;
use lengthwise::whiteboard::context::BoardWater;
use proptest::prelude::*;

fn try_board(text: &str, pool: &str) -> BoardOutcome {
    let place = BoardWater::parse(pool).unwrap();
    let wanted = BoardOrder { text, name: "whiteboard", place, title: "Try", pack: None };
    // The boards are not those of somebody new to crawl.
    let hundred = Pace::new(Seconds::from_secs(115)).unwrap();
    let swimmer = Some(WhoSwims::Hundred(hundred));
    make(&wanted, &PracticeRequest { script: "try.yaml".into(), swimmer, ..PracticeRequest::default() }).unwrap()
}

/// A script that was written parses and has no error, and its plan is what the file's would be.
fn written(text: &str, pool: &str) -> BoardOutcome {
    let made = try_board(text, pool);
    let said: Vec<_> = made
        .diagnostics
        .iter()
        .map(|problem| (&problem.message, problem.span.map(|span| made.sources.slice(span))))
        .collect();
    let script = made.script.as_ref().unwrap_or_else(|| panic!("{text}: {said:?}"));
    assert!(!has_errors(&made.diagnostics), "{text}: {said:?}");
    let mut sources = Sources::new();
    let id = sources.add("try.yaml", script.as_str());
    let (parsed, problems) = parse(id, &sources);
    assert!(parsed.is_some() && problems.is_empty(), "{script}\n{problems:?}");
    made
}

#[test]
fn boards_of_real_decks() {
    // (board, pool, units swum in all)
    let boards = [
        // Masters.
        ("200 easy; 4x50 on 1:45 drill fist; 8x50 on 1:20 1.30-0.95; 100 easy", "25 m", 900), // 200+200+400+100
        ("400 ez fr + 8x50 kick on 2:00 + 4x100 pull w/ buoy & paddles on 2:30 + 200 ez", "25 m", 1400), // 400+400+400+200
        ("WU: 300 choice; 6x50 (25 drill fist/25 swim) r15; main: 10x100 on 2:30 steady; CD 200 easy", "25 m", 1800), // 300+300+1000+200
        ("3x(100 fr r15; 4x25 fast r20) 1:00 between rounds", "25 m", 600), // 3x(100+100)
        ("(50 bk + 50 br + 50 fr) x 4", "25 yd", 600),                      // 4x150
        ("200 easy, 8 x 25 fly r:20, 4x100 IM on 3:00, 200 loosen", "25 yd", 1000), // 200+200+400+200
        ("50-100-150-200-150-100-50 steady 20s rest", "25 m", 800),
        ("12x25 fast 30 sec rest\n200 ez choice", "25 m", 500), // 300+200
        ("300 as 100 free, 100 back, 100 kick; 6x50 r15 build", "25 m", 600), // 300+300
        ("5x200 p2:10-1:58 r30", "50 m", 1000),
        // Triathlon.
        (
            "Warm-up\n400 easy\n4x50 drill catch up r20\nMain\n3x400 pace 2:05 rest 30\n8x50 pull, paddles, r15\nCool down\n200 easy",
            "25 m",
            2400,
        ), // 400+200+1200+400+200
        ("1.5k steady; 500 buoy r30", "25 m", 2000),
        ("10x100 on 2:20 breathe 3; 1:00 rest; 400 timed; 200 easy", "25 m", 1600), // 1000+400+200
        ("2x(3x100 brisk on 2:20 + 200 easy rest :30)", "25 m", 1000),              // 2x(300+200)
        ("6x100 52/min r20; 4x50 rate 60 r20", "25 m", 800),                        // 600+200
        ("8x50 on 1'30\" 50-60/min; 8x25 tempo 1.10 r20", "25 m", 600),             // 400+200
        ("4x200 steady 10s per 50 rest second half 2s faster", "25 m", 800),
        // Learn to swim.
        (
            "4x25 easy r30 focus breathe out; 4x25 side kick r30; 6x25 r30 focus look down/long neck; 2x25 easy r30",
            "25 m",
            400,
        ), // 100+100+150+50
        ("4x25 kick with fins 45s rest; 4x25 swim; 2x50 (drill six kick switch/swim) r40; 50 easy", "25 m", 350), // 100+100+100+50
        ("3 rounds of: (25 push-and-kick drill r20, 25 swim r30) rest 1:00 between rounds", "25 m", 150),
        ("25 easy; 25 kick; 25 scull; 25 easy", "25 m", 100),
        ("2x15 easy", "15 m", 30),
        ("4x50 kick/swim 20\" rest", "25 m", 200),
        ("kick: 4x50 r20; pull 4x50 r20; swim 4x50 r20, bilateral, count", "25 m", 600),
        ("4x100 r20 at most 20 strokes; 6x33 easy r20", "33 m", 0), // refused below: 100 is not three lengths of 33
    ];
    for (board, pool, total) in boards.iter().filter(|(.., total)| *total > 0) {
        let made = written(board, pool);
        let plan = made.plan.as_ref().unwrap();
        assert_eq!(plan.distance, *total, "{board}\n{}", made.script.unwrap());
        assert_eq!(made.understood.iter().filter(|understood| understood.means.is_empty()).count(), 0);
    }
    assert!(boards.len() > 24 && try_board(boards.last().unwrap().0, "33 m").script.is_none());
}

#[test]
fn open_water_by_time_and_distance() {
    let made =
        written("10 min easy; 400 steady sight every 12 call every 100; 2x5 min r45 1.20; 5 min easy", "open water");
    let plan = made.plan.unwrap();
    // 10 + 2 x 5 + 5 min of swims, so longer than that, and rests of less than five minutes; 400 m takes under ten.
    let minutes = plan.duration.as_f64() / 60.0;
    assert!((25.0..40.0).contains(&minutes), "{minutes}");
    assert!(made.script.unwrap().contains("swim: 2 x 5 min"));
}

#[test]
fn problems_of_the_plan_are_marked_on_the_board() {
    // (board, the words marked)
    let boards = [
        ("200 easy; 8x50 on :30", "8x50 on :30"), // nobody is back in 30 s
        ("100 easy; 4x50 kick 1.20 r15", "1.20"), // legs have no tempo
        ("4x100 breathe 7 r20", "breathe 7"),     // breath held too long
        ("8x50 on 1:30 rest 15", "rest 15"),      // two ways to leave
    ];
    for (board, marked) in boards {
        let made = try_board(board, "25 m");
        assert!(made.script.is_none(), "{board}");
        let places: Vec<_> =
            made.diagnostics.iter().filter_map(|d| d.span.map(|span| made.sources.slice(span))).collect();
        assert!(places.contains(&marked), "{board}: {places:?} {:?}", made.diagnostics);
    }
}

#[test]
fn a_pack_is_chosen_that_has_the_names() {
    assert_eq!(written("4x50 drill fist r20", "25 m").pack, "first-lengths");
    assert_eq!(written("4x50 drill corkscrew r20; 100 focus chin in", "25 m").pack, "open-water");
}

#[test]
fn templates_have_no_problems() {
    let folder = tempfile::tempdir().unwrap();
    for template in templates::ALL {
        let path = folder.path().join("new.yaml");
        std::fs::write(&path, template.text).unwrap();
        let outcome = prepare::plan(&PracticeRequest { script: path, ..PracticeRequest::default() }).unwrap();
        assert_eq!(outcome.diagnostics, [], "{}", template.name);
        let plan = outcome.planned.unwrap().plan;
        assert!(plan.dropped.is_empty() && !plan.focus.is_empty(), "{}: {:?}", template.name, plan.dropped);
    }
}

/// One swim of a board, and the metres it comes to in a pool of 25 m.
fn swim() -> impl Strategy<Value = (String, u32)> {
    let how = prop::sample::select(vec![
        "",
        "easy",
        "kick fins",
        "pull paddles",
        "fr steady",
        "drill fist",
        "IM",
        "build",
        "breathe 3",
        "1.30",
        "1.40-1.20",
        "52/min",
        "pace 2:30",
        "focus soft hand",
        "count",
        "(kick/swim)",
    ]);
    let leave = prop::sample::select(vec!["r15", "rest 20", "30s rest", "rest :45", "1:00 rest", "r10 per 50", ""]);
    (2..6_u32, 1..5_u32, how, leave).prop_map(|(repeats, fifties, how, leave)| {
        let far = fifties * 50;
        (format!("{repeats}x{far} {how} {leave}"), repeats * far)
    })
}

/// A whole board and its metres.
fn board() -> impl Strategy<Value = (String, u32)> {
    let piece = prop_oneof![
        3 => swim(),
        1 => (2..4_u32, prop::collection::vec(swim(), 1..3)).prop_map(|(rounds, swims)| {
            let text = swims.iter().map(|(text, _)| text.as_str()).collect::<Vec<_>>().join(" + ");
            (format!("{rounds}x({text})"), rounds * swims.iter().map(|(_, far)| far).sum::<u32>())
        }),
        1 => Just(("rest 1:00".to_owned(), 0)),
    ];
    let sign = prop::sample::select(vec!["; ", "\n", " + "]);
    (prop::collection::vec(piece, 1..5), swim(), sign).prop_map(|(mut pieces, last, sign)| {
        pieces.push(last);
        let total = pieces.iter().map(|(_, far)| far).sum();
        (pieces.into_iter().map(|(text, _)| text).collect::<Vec<_>>().join(sign), total)
    })
}

proptest! {
    #![proptest_config(crate::cases::cases(16))]

    #[test]
    fn totals_survive_the_round((board, total) in board()) {
        let made = written(&board, "25 m");
        prop_assert_eq!(made.plan.unwrap().distance, total, "{}", board);
    }
}
