use super::*;
use crate::diag::{Code, Sources};
use crate::script::parse::parse;
use crate::whiteboard::board::Board;
use crate::whiteboard::context::{BoardContext, BoardWater, KnownName};
use crate::whiteboard::write::{Heading, write};
use proptest::prelude::*;

fn known(pool: &str) -> BoardContext {
    let name = |id: &str, texts: &[&str]| KnownName {
        id: id.into(),
        texts: texts.iter().map(|text| (*text).into()).collect(),
    };
    BoardContext {
        water: BoardWater::parse(pool).unwrap(),
        drills: vec![name("fist", &[]), name("catch-up", &[]), name("six-kick-switch", &[])],
        phrases: vec![name("soft-hand", &["soft hand, no splash"]), name("look-down", &["look down at the tiles"])],
    }
}

fn reading(text: &str, pool: &str) -> (Option<Board>, Vec<crate::diag::Diagnostic>, Sources) {
    let mut sources = Sources::new();
    let id = sources.add("board", text);
    let (board, problems) = read::read(id, &sources, &known(pool));
    (board, problems, sources)
}

/// What was understood, in words.
fn means(text: &str) -> String {
    let (board, problems, sources) = reading(text, "25 m");
    let Some(board) = board else { return format!("{problems:?}") };
    let told = explain::explain(&board, &known("25 m").water, &sources);
    told.into_iter().flat_map(|told| told.means).collect::<Vec<_>>().join(" | ")
}

#[test]
fn spellings_mean_the_same() {
    let same = [
        (
            &[
                "4x50 r15",
                "4 X 50m rest 15s",
                "4×50 15s rest",
                "4*50 :15 rest",
                "4 x 50 m, 15\" rest",
                "4x50 ri:15",
                "4x50 15 sec. rest",
            ][..],
            "4 x 50 m, rest 15 s",
        ),
        (
            &[
                "4x50 on 1:30",
                "4x50 off 1:30",
                "4x50 on the 1:30",
                "4x50 on 90s",
                "4x50 on 1'30\"",
                "4x50 on 1 min 30 s",
            ],
            "4 x 50 m, starting every 1:30",
        ),
        (&["200 ez", "200 easy", "200m easy.", "easy 200", "200 (easy)"], "200 m, easy"),
        (&["100 fr", "100 free", "100 front crawl", "100 freestyle"], "100 m, crawl"),
        (&["100 drill catch-up", "100 catch up drill", "100 drill: catchup", "100 Catch-Up"], "100 m, catch up drill"),
        (&["100 pull buoy", "100 pull w/ buoy", "100 pull, with buoy", "pull 100 buoy"], "100 m, pull, buoy"),
        (
            &["4x25 1.30-0.95 r20", "4x25 tempo 1.30 to .95 r20", "4x25 r20 1.30s–0.95s"],
            "4 x 25 m, rest 20 s, tempo 1.30 to 0.95 s a stroke",
        ),
        (&["50 52/min", "50 52 spm", "50 rate 52", "50 52 strokes a minute"], "50 m, tempo 52 strokes a minute"),
        (&["100 pace 1:50", "100 p1:50", "100 p 1:50/100"], "100 m, pace 1:50 per 100 m"),
        (&["100 b3", "100 breathe every 3", "100 breathing 3 strokes", "100 bilateral"], "100 m, breathe every 3"),
        (
            &["100 focus soft hand", "100 focus: soft-hand", "100 focus on soft hand no splash"],
            "100 m, focus soft-hand",
        ),
        (
            &[
                "3x(50 kick r10 + 50 r10)",
                "3 x [50 kick r10; 50 r10]",
                "(50 kick r10, 50 r10) x 3",
                "3 rounds of: (50 kick r10\n50 r10)",
            ],
            "3 rounds, of |   50 m, kick, rest 10 s |   50 m, rest 10 s",
        ),
        (
            &[
                "2x100 r20 (25 kick/75 swim)",
                "2x100: 25 kick / 75 swim r20",
                "2x100 as 25 kick, 75 swim, r20",
                "2x100 25 kick/75 swim r20",
            ],
            "2 x 100 m, rest 20 s; its lengths: kick, then 3 swim",
        ),
        (&["rest 1:00; 50", "1:00 rest; 50", "r60; 50", "1 min rest; 50"], "rest at the wall for 1:00 | 50 m"),
        (
            &[
                "8x50 r20 1-4 easy 5-8 brisk",
                "8x50: 1–4 easy, 5–8 brisk, r20",
                "8 x 50 m rest 20 (#1-4 easy / #5-8 brisk)",
                "8x50 first 4 easy, last four brisk r20",
                "8x50 r20, numbers 5-8 brisk + others easy",
                "8x50 (1-4: easy, 5-8: brisk) 20s rest",
            ],
            "8 x 50 m, rest 20 s: one after another |   4 x 50 m, easy |   4 x 50 m, brisk",
        ),
        (
            &[
                "6x50 r20 odds easy evens fast",
                "6x50 evens fast, odd ones easy, r20",
                "6x50 every 2nd fast others easy r20",
            ],
            "6 x 50 m, rest 20 s: 3 times |   50 m, easy |   50 m, fast",
        ),
        (&["main: 50 easy", "MS 50 easy", "Main set: 50 easy", "main:50 easy", "Main\n50 easy"], "50 m, easy; main"),
    ];
    let mut wrong = Vec::new();
    for (spellings, expected) in same {
        let found = spellings.iter().map(|text| (*text, means(text)));
        wrong.extend(found.filter(|(_, found)| found != expected));
    }
    assert_eq!(wrong, [], "read in another way");
    assert_eq!(means("100 fins paddles"), "100 m, fins and paddles");
}

/// The code of the first problem, what it marks, and a part of its message or hint.
#[test]
fn what_is_not_understood_is_marked() {
    let boards = [
        ("200 easy; 4x50 @ 1:30", Code::BadValue, "@", "send-off or pace"),
        ("4x50 @1:30", Code::BadValue, "@", "on 1:30"),
        ("200 eazy", Code::UnknownName, "eazy", "`easy`"),
        ("über 4x50 drill fits", Code::UnknownName, "über", "understood"),
        ("4x50 drill fits r10", Code::UnknownName, "fits", "`fist`"),
        ("4x50 drill r10", Code::BadValue, "drill", "which drill"),
        ("4x50 focus soft-hnd", Code::UnknownName, "soft-hnd", "`soft-hand`"),
        ("4x50 on 130", Code::UnitMissing, "130", "`2:10`"),
        ("4x50 1:20", Code::BadValue, "1:20", "of what"),
        ("4x50 15s", Code::BadValue, "15s", "for what"),
        ("4x60 r10", Code::NotWholeLengths, "60", "`50` or `75`"),
        ("100 yd easy", Code::BadValue, "100 yd", "--pool"),
        ("4x50 easy fast", Code::Conflict, "fast", "twice"),
        ("100 r10 rest 20", Code::Conflict, "rest 20", "twice"),
        ("100 (25 kick / 50 swim)", Code::BadValue, "100 (25 kick / 50 swim)", "75 m"),
        ("4x25 kick/swim", Code::BadValue, "4x25 kick/swim", "rounds"),
        ("200 easy 100 kick", Code::BadValue, "200 easy 100 kick", "`;`"),
        ("4x50 easy 4x50 kick", Code::BadValue, "4", "another swim"),
        ("3x(50 kick", Code::BadValue, "(", "never closed"),
        ("50 kick)", Code::BadValue, ")", "closes none"),
        ("2x(3x(50))", Code::BadValue, "3", "within rounds"),
        ("2x4x50", Code::BadValue, "2x4", "twice"),
        ("3x(50 kick + 50) rest 1:00", Code::BadValue, "rest 1:00", "between the rounds"),
        ("3 rounds 50 kick", Code::BadValue, "3 rounds", "brackets"),
        ("8x50 descend 1-4 r10", Code::BadValue, "descend", "pace 2:05-1:50"),
        ("4x25 underwater", Code::BadValue, "underwater", "faint"),
        ("4x25 hypoxic 5", Code::BadValue, "hypoxic", "faint"),
        ("4x50, 80% r10", Code::BadValue, "%", "percent"),
        ("4x50 1.5 tempo", Code::BadValue, "", ""),
        ("4x50 3.30", Code::OutOfRange, "3.30", "0.4 to 2.5"),
        ("rest 1:00", Code::Empty, "", "no swim"),
        ("", Code::Empty, "", "no swim"),
        ("easy", Code::BadValue, "", "distance"),
        ("10:00 easy", Code::BadValue, "10:00", "`10 min`"),
        ("12345678901 easy", Code::OutOfRange, "12345678901", "digits"),
        ("4x50 (easy", Code::BadValue, "", "closed"),
        ("200x(50)", Code::OutOfRange, "200", "1 to 100"),
        ("4x50 pace 1:5", Code::BadValue, "1:5", "two digits"),
    ];
    let mut wrong = Vec::new();
    for (text, code, marked, part) in boards {
        let (board, problems, sources) = reading(text, "25 m");
        assert!(board.is_none_or(|board| board.left_out() == 1) && !problems.is_empty(), "{text}");
        if part.is_empty() {
            continue;
        }
        let found = &problems[0];
        let said = format!("{} {}", found.message, found.hint.as_deref().unwrap_or(""));
        let place = sources.slice(found.span.unwrap());
        if (found.code, place) != (code, marked) || !said.contains(part) {
            wrong.push(format!("{text}: {:?} `{place}` {said}", found.code));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_problem_is_reported_at_once() {
    let (_, problems, sources) = reading("200 eazy; 4x50 @ 1:30; 4x60; 50 drill fits; 50 descend 1-4", "25 m");
    let marked: Vec<_> = problems.iter().map(|problem| sources.slice(problem.span.unwrap())).collect();
    assert_eq!(marked, ["eazy", "@", "60", "fits", "descend"]);
}

#[test]
fn assumptions_are_said_and_written() {
    let (board, _, sources) = reading("200 easy; 8x50 kick/swim; 100 ez", "25 m");
    let board = board.unwrap();
    let told = explain::explain(&board, &known("25 m").water, &sources);
    let assumed: Vec<_> = told.iter().map(|told| told.assumed.join("; ")).collect();
    assert_eq!(
        assumed,
        [
            "warm-up, as it is first and easy",
            "rest 15 s between, as the board gives none; one length of each, as the board gives no distances",
            "cool-down, as it is last and easy"
        ]
    );
    let script = write(&board, &known("25 m"), Heading { title: "A \"b\" \u{7}", pack: "p" }, &sources).text;
    assert_eq!(script.matches("# assumed").count(), 4, "{script}");
    assert!(script.contains(r#"title: "A \"b\" \u0007""#), "{script}");
    assert_eq!(board.distance(), 700);
}

/// Words and signs that boards have, in any order.
fn soup() -> impl Strategy<Value = String> {
    let words = "200 4x 50 25 x ( ) [ ; , + / - : @ on 1:30 :45 r15 rest 15s 1.30 0.95 52/min spm pace p easy fast kick pull \
                 drill fist catch up focus soft hand odds evens every 4th #1-2 last first others breathe 3 between rounds second half faster as w/ & min m yd k IM timed \
                 sight call every at most strokes main wu \n % ü";
    let words: Vec<&str> = words.split(' ').collect();
    prop::collection::vec(prop::sample::select(words), 0..24).prop_map(|words| words.join(" "))
}

fn holds(text: &str, pool: &str) -> Result<(), TestCaseError> {
    let (board, problems, mut sources) = reading(text, pool);
    prop_assert!(board.is_some() || !problems.is_empty());
    for problem in &problems {
        let span = problem.span.unwrap();
        prop_assert!(text.get(span.start as usize..span.end as usize).is_some(), "{:?}", problem);
        prop_assert!(problem.message.len() < 2000);
    }
    let Some(board) = board else { return Ok(()) };
    prop_assert_eq!(board.left_out() > 0, !problems.is_empty());
    let title = text.replace('\n', " ");
    let written = write(&board, &known(pool), Heading { title: &title, pack: "first-lengths" }, &sources);
    let id = sources.add("script", written.text.clone());
    let (script, problems) = parse(id, &sources);
    // What the language itself refuses (legs with a tempo, a far too long rest) comes back to the board's words.
    prop_assert!(script.is_some() || !problems.is_empty());
    let broken = [Code::Yaml, Code::UnknownKey, Code::WrongShape, Code::DuplicateKey, Code::UnitMissing, Code::Version];
    for problem in problems {
        prop_assert!(!broken.contains(&problem.code), "{:?}\n{}", problem, written.text);
        let back = written.back(problem.clone(), id);
        prop_assert!(back.span.is_some_and(|span| span.source != id), "{:?}", problem);
    }
    Ok(())
}

#[test]
fn numbers_of_repeats_may_be_anything() {
    for text in ["2x500 last 4294967295 fast", "4x50 first 4000000000 fast", "4x50 #0 fast", "4x50 #4294967295-1 fast"]
    {
        for pool in ["25 m", "open water"] {
            let (board, problems, _) = reading(text, pool);
            assert!(board.is_none() && !problems.is_empty(), "{text} in {pool}");
        }
    }
}

proptest! {
    #![proptest_config(crate::cases::cases(64))]

    #[test]
    fn any_text_is_read(text in "\\PC{0,80}|[ -~\\n]{0,80}") {
        holds(&text, "25 m")?;
    }

    #[test]
    fn any_words_are_read(text in soup(), pool in prop::sample::select(vec!["25 m", "25 yd", "open water"])) {
        holds(&text, pool)?;
    }
}
