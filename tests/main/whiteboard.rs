//! Whiteboards as they hang on decks: what they come to, against totals worked out by hand; and that no text is too odd.
//!
//! The boards are our own, in the manner of masters', triathlon and learn-to-swim squads: common practice, no source.

use crate::cases::amount;
use lengthwise::authoring::board::{BoardOrder, BoardOutcome, make};
use lengthwise::diag::{Code, Severity, Sources, has_errors};
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
        ("6x33 easy r20; 2x132 r20 at most 30 strokes", "33 m", 462), // 198+264
        // By repeat.
        ("200 ez; 8x50 odds kick evens swim r15; 6x100 1-3 steady 4-6 brisk on 2:30", "25 m", 1200), // 200+400+600
        ("3x(4x25 last one fast r20 + 100 easy r30)", "25 m", 600),                                  // 3x(100+100)
    ];
    for (board, pool, total) in boards.into_iter().step_by(amount(3, 1)) {
        let made = written(board, pool);
        let plan = made.plan.as_ref().unwrap();
        assert_eq!(plan.distance, total, "{board}\n{}", made.script.unwrap());
        assert_eq!(made.understood.iter().filter(|understood| understood.means.is_empty()).count(), 0);
    }
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
fn what_cannot_be_swum_is_marked_on_the_board_and_left_out() {
    // (board, the words marked, what is left in metres)
    let boards = [
        ("100 easy; 4x50 kick 1.20 r15", "1.20", 100),      // legs have no tempo
        ("4x100 breathe 7 r20; 50 easy", "breathe 7", 50),  // breath held too long
        ("8x50 on 1:30 rest 15; 2x50 r20", "rest 15", 100), // two ways to leave
        ("200 easy\n4x50 @ 1:30\n8x50 r20; 100 easy", "@", 700), // 200+400+100
        ("50 easy; 4x60 r10; 4x50 fits r10; 50 easy", "60", 100), // two of them
        ("50 easy; 4x50 fits r10, 100 kick + 50; 50 easy", "fits", 100), // and what follows on its line
        ("50 easy; 50 kick) r10; 50 easy", ")", 100),
        ("3x(50 kick\n50 fits) r10\n100 easy", "fits", 100), // rounds over two lines
    ];
    for (board, marked, left) in boards {
        let made = try_board(board, "25 m");
        let script = made.script.as_ref().unwrap();
        let places: Vec<_> =
            made.diagnostics.iter().filter_map(|d| d.span.map(|span| made.sources.slice(span))).collect();
        assert!(places.contains(&marked), "{board}: {places:?} {:?}", made.diagnostics);
        assert_eq!(made.plan.as_ref().unwrap().distance, left, "{board}\n{script}");
        // Each error is a comment, in the place of what it is about.
        let errors: Vec<_> = made.diagnostics.iter().filter(|d| d.severity() == Severity::Error).collect();
        let comments = script.replace("\n  # ", " ");
        assert!(errors.iter().all(|error| comments.contains(&format!("Left out: {}", error.message))), "{script}");
        assert_eq!(
            made.understood.iter().filter(|entry| entry.means == ["left out"]).count(),
            made.left_out,
            "{board}"
        );
        let mut sources = Sources::new();
        let id = sources.add("try.yaml", script.as_str());
        assert_eq!(parse(id, &sources).1, [], "{script}");
    }
    // In its place.
    let script = try_board("100 easy; 4x60 kick r10; 50 easy", "25 m").script.unwrap();
    let at = |text: &str| script.find(text).unwrap_or_else(|| panic!("no {text} in {script}"));
    assert!(at("swim: 100 m") < at("# 4x60 kick r10") && at("# Left out: 60 m is no whole") < at("swim: 50 m"));
    // Nothing is left of these.
    for board in ["4x50 kick 1.20 r15", "rest 1:00; 4x60 r10", "3x(50 kick\n200 easy"] {
        assert!(try_board(board, "25 m").script.is_none(), "{board}");
    }
}

#[test]
fn a_send_off_that_would_be_missed_is_written_with_the_problem() {
    // Nobody is back in 30 s.
    let made = try_board("200 easy; 8x50 on :30", "25 m");
    let script = made.script.unwrap();
    let problem = made.diagnostics.iter().find(|problem| problem.code == Code::SendOffTooShort).unwrap();
    assert_eq!(made.sources.slice(problem.span.unwrap()), "8x50 on :30");
    assert!(script.contains("send-off: 30 s") && script.contains(&format!("    # {}", problem.message)), "{script}");
    assert_eq!(made.left_out, 0);
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

/// Efforts of the repeats of a swim: how a board says them, and each in turn.
fn efforts() -> impl Strategy<Value = (String, Vec<&'static str>)> {
    let effort = || prop::sample::select(vec!["easy", "steady", "brisk", "fast"]);
    (2..13_usize, effort(), effort(), effort(), 0..5_usize, 1..12_usize, any::<bool>()).prop_map(
        |(count, a, b, c, kind, at, comma)| {
            let at = 1 + at % (count - 1);
            let all = 1..=count;
            let (said, each): (Vec<String>, Vec<_>) = match kind {
                0 => (
                    vec![format!("odds {a}"), format!("evens {b}")],
                    all.map(|repeat| if repeat % 2 == 1 { a } else { b }).collect(),
                ),
                1 => (
                    vec![format!("first {at} {a}"), format!("last {} {b}", count - at)],
                    all.map(|repeat| if repeat <= at { a } else { b }).collect(),
                ),
                2 => {
                    let every = at.max(2);
                    let each = all.map(|repeat| if repeat % every == 0 { b } else { a });
                    (vec![format!("every {every}th {b}"), format!("others {a}")], each.collect())
                }
                3 => {
                    let each = all.map(|repeat| {
                        if repeat == 1 {
                            a
                        } else if repeat == count {
                            b
                        } else {
                            c
                        }
                    });
                    (vec![format!("#1 {a}"), format!("#{count} {b}"), format!("others {c}")], each.collect())
                }
                _ => {
                    let each = all.map(|repeat| if repeat == at { a } else { "steady" });
                    (vec![format!("#{at} {a}")], each.collect())
                }
            };
            // `others` of nobody is asked back.
            let each = if kind == 3 && count == 2 { vec![a, b] } else { each };
            let said = if kind == 3 && count == 2 { said[..2].to_vec() } else { said };
            (format!("{count}x50 {} r20", said.join(if comma { ", " } else { " " })), each)
        },
    )
}

proptest! {
    #![proptest_config(crate::cases::cases(16))]

    #[test]
    fn repeats_that_differ_are_swum_in_their_order((board, each) in efforts()) {
        let made = written(&board, "25 m");
        let plan = made.plan.unwrap();
        let repeats: Vec<_> = plan.sets.iter().flat_map(|set| &set.repeats).collect();
        prop_assert_eq!(repeats.len(), each.len(), "{}\n{}", board, made.script.unwrap());
        for (repeat, effort) in repeats.iter().zip(&each) {
            // Of 57.5 s for 50 m at 1:55; the factors of the efforts are documented.
            let factor = match *effort { "easy" => 1.15, "brisk" => 0.95, "fast" => 0.90, _ => 1.0 };
            let predicted = repeat.predicted.as_f64();
            prop_assert!((predicted - 57.5 * factor).abs() < 0.1, "{}: {} of {:?}", board, predicted, each);
        }
    }
}

proptest! {
    #![proptest_config(crate::cases::cases(8))]

    #[test]
    fn totals_survive_the_round((board, total) in board()) {
        let made = written(&board, "25 m");
        prop_assert_eq!(made.plan.unwrap().distance, total, "{}", board);
    }
}
