//! Thirty practices as a deck has seen them, in `tests/scripts/deck`, each with totals worked out by hand.
//!
//! All working is arithmetic on the script, the swimmer's stated points and the documented rules: a rest becomes the
//! predicted time and the rest, or the time's 90th percentile and 10 s, whichever is more, rounded up to 5 s. That percentile
//! lies z(0.9) = 1.2816 (standard normal tables) spreads of 5 % above an assumed time, 6.408 %, and of 3 % above one from
//! a profile, 3.845 %.
//!
//! Vera (`swimmers/steady.yaml`) takes 28.7 s for 25 m (19 strokes of 1.30 s, 4 s of wall), and of that 1.15 easily, 0.90 fast. Runa
//! (`swimmers/quick.yaml`) takes 19.0 s.

use lengthwise::diag::Code;
use lengthwise::plan::Plan;
use lengthwise::practice::Audience;
use lengthwise::prepare::{self, PracticeRequest, WhoSwims};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// One script with what it must come to.
struct Deck {
    name: &'static str,
    swimmer: Option<&'static str>,
    /// Repeats and distance (in the pool's unit) of all sets.
    total: (usize, u32),
    /// Of each set its repeats, its distance, and milliseconds from its first go to its last.
    sets: &'static [(usize, u32, i64)],
    /// Counted strokes, and breaths left and right, where worked out.
    strokes: Option<(u32, u32, u32)>,
}

const fn deck(
    name: &'static str,
    swimmer: Option<&'static str>,
    total: (usize, u32),
    sets: &'static [(usize, u32, i64)],
) -> Deck {
    Deck { name, swimmer, total, sets, strokes: None }
}

const fn counted(deck: Deck, strokes: (u32, u32, u32)) -> Deck {
    Deck { strokes: Some(strokes), ..deck }
}

const VERA: Option<&str> = Some("steady");
const RUNA: Option<&str> = Some("quick");

const DECKS: [Deck; 30] = [
    // 7 x 60 s; 9 x 105 s. 400 + 8 x 50 + 10 x 100 + 200.
    deck("masters-send-offs", RUNA, (20, 2000), &[(1, 400, 0), (8, 400, 420_000), (10, 1000, 945_000), (1, 200, 0)]),
    // At 1:20 per 100. 100: 80 + 10 = 90, but 80 x 1.03845 + 10 = 93.1, so 95. 200: 160 + 20 = 180 (176.2). 300: 240 + 30 =
    // 270 (259.2). 400: 320 + 40 = 360 (342.3). 95 + 180 + 270 + 360 + 270 + 180 = 1355.
    deck("masters-pyramid", RUNA, (7, 1600), &[(7, 1600, 1_355_000)]),
    // A round is 3 x 100 s to its last go, swum in 76 s; 76 + 60 = 136, so 140. 3 x 300 + 2 x 140 = 1180.
    deck("masters-descending", RUNA, (13, 1400), &[(1, 200, 0), (12, 1200, 1_180_000)]),
    // 3 x 120 s; 7 x 60 s.
    deck("masters-medley", RUNA, (13, 900), &[(4, 400, 360_000), (8, 400, 420_000), (1, 100, 0)]),
    // 2 x 270 s; 9 x 50 s. 500 + 900 + 500 + 200 yd.
    deck("masters-yards", RUNA, (15, 2100), &[(1, 500, 0), (3, 900, 540_000), (10, 500, 450_000), (1, 200, 0)]),
    // 3 x 90, 90 + 30 for the gear, 3 x 60, 60 + 30 for the gear, 3 x 60: 840.
    deck("masters-kick-pull-swim", RUNA, (12, 600), &[(12, 600, 840_000)]),
    // 25 m at 0.80 s: 3 + 18 x 0.80 = 17.4. 75 m at 1.00 s: 57.0. 17.4 + 57 + 20 = 94.4, so 95 from go to go; the last
    // 75 m begin 17.4 s into the fourth: 3 x 95 + 17.4.
    deck("masters-quick-first", RUNA, (8, 400), &[(8, 400, 302_400)]),
    // The halves keep the whole: 160 + 30 = 190 (176.2). 3 x 190.
    deck("masters-second-half", RUNA, (4, 800), &[(4, 800, 570_000)]),
    // 3 x 140 s. The lengths begin at 0, 28.7, 57.4 and 86.1 s; their strokes after 4 s of wall, at 1.30 s, are beats 4 to
    // 22, 26 to 44, 48 to 66 and 70 to 88: 19 each, 16 lengths. Every third: 6 breaths, 3 to each side.
    counted(deck("tri-counted-hundreds", VERA, (4, 400), &[(4, 400, 420_000)]), (304, 48, 48)),
    // 50 m fast: 0.90 x 57.4 = 51.66. 150 m: 172.2; 51.66 + 172.2 + 30 = 253.9, so 255. 5 x 255 + 51.66.
    deck("tri-turnover", VERA, (12, 1200), &[(12, 1200, 1_326_660)]),
    // 5 x 105 s; 3 x 210 s. 400 + 600 + 800 + 400.
    deck("tri-long-course", RUNA, (12, 2200), &[(1, 400, 0), (6, 600, 525_000), (4, 800, 630_000), (1, 400, 0)]),
    // 3 x 80 s. Easily 50 m take 66.01 s: 86 with the rest (80.2), so 90; 3 x 90.
    deck("tri-two-trials", VERA, (10, 1000), &[(4, 200, 240_000), (1, 400, 0), (1, 200, 0), (4, 200, 270_000)]),
    // 5 x 140 s. Strokes and breaths as in the counted hundreds: 24 lengths of 19 with 3 breaths to each side. A look
    // that falls on a breath is heard alone, but the breath counts.
    counted(deck("tri-look-ahead", VERA, (6, 600), &[(6, 600, 700_000)]), (456, 72, 72)),
    // Easily 33.0 s; 63.0 with the rest, so 65. 7 x 65.
    deck("learn-first-lengths", VERA, (8, 200), &[(8, 200, 455_000)]),
    // A drill takes 1.25 x 33.005 = 41.256 s: 74.3 for the two, 94.3 with the rest, so 95. 5 x 95.
    deck("learn-drill-and-swim", VERA, (6, 300), &[(6, 300, 475_000)]),
    // Kick takes 1.6 x 33.005 = 52.8 s, with fins 0.7 of it, 37.0: 67.0, so 70; 5 x 70. Swum easily 65; 3 x 65.
    deck("learn-kick-with-fins", VERA, (10, 250), &[(6, 150, 350_000), (4, 100, 195_000)]),
    // 9 x 60 s.
    deck("learn-small-pool", VERA, (10, 200), &[(10, 200, 540_000)]),
    // 4 x 60 + 4 x 50 + 3 x 60 s.
    deck("learn-three-strokes", VERA, (12, 300), &[(12, 300, 620_000)]),
    // Kick 52.8 + 20, so 75. Scull 2.5 x 33.005 = 82.5, + 20, so 105. Swim 28.7 + 30, so 60. 3 x 240 + 75 + 105 = 900.
    deck("learn-rounds", VERA, (12, 300), &[(12, 300, 900_000)]),
    // 2 x 210 s; 2 x 210 s; 3 x 55 s.
    deck("squad-medley", RUNA, (10, 1200), &[(3, 400, 420_000), (3, 600, 420_000), (4, 200, 165_000)]),
    // 3 x 40 s in a round; from its last go 0.90 x 19 + 60 = 77.1, so 80. 4 x 120 + 3 x 80 = 720.
    deck("squad-sprint", RUNA, (16, 400), &[(16, 400, 720_000)]),
    // 3 x 360 s.
    deck("squad-ladder", RUNA, (4, 1000), &[(4, 1000, 1_080_000)]),
    // A round is 90 + 50 + 45 = 185 s; 5 x 185 - 45 = 880.
    deck("squad-three-send-offs", RUNA, (15, 1000), &[(15, 1000, 880_000)]),
    // 7 x 60 s. Beats 3 to 18 and 22 to 37 are strokes: 16 a length. Breaths on 3, 6, 9, 12, 15, the first to the right:
    // 3 right and 2 left a length, 16 lengths.
    counted(deck("squad-counts", RUNA, (8, 400), &[(8, 400, 420_000)]), (256, 32, 48)),
    // 50 m: 45 m in 36 strokes of 1.25 m, 39 s. 800 m: 624 + 60 = 684 (658.0), so 685. 2 x 685.
    deck("squad-long-course", RUNA, (3, 2400), &[(3, 2400, 1_370_000)]),
    // 20 m take 19 x 1.30 = 24.7 s. Easily 600 s lead to 600 x 20 / (24.7 x 1.15) = 422 m, told as 420; 300 s at 1.30 s to
    // 242.9 m, told as 240. 300 + 60 s, twice.
    deck("open-by-time", VERA, (4, 1140), &[(1, 420, 0), (3, 720, 720_000)]),
    // 760 m are 722 strokes, 938.6 s; + 120 = 1058.6 (1008.7), so 1060. No walls: every beat is a stroke.
    counted(deck("open-course", VERA, (2, 1520), &[(2, 1520, 1_060_000)]), (1444, 0, 0)),
    // 1200 s are 1000 strokes. In 40: right on 2, 4 ... 20; 21 would be too soon for the other hand, so left on 23 ... 39:
    // 10 and 9, 25 times. At 1.20 s a stroke is s(1/1.20) = 1.0128 m long (the line through 20/19 m at 1.30 s and 20/22 m
    // at 1.00 s): 1012.8 m, told as 1010.
    counted(deck("open-sides", VERA, (1, 1010), &[(1, 1010, 0)]), (1000, 225, 250)),
    // 380 strokes, 494 s; + 45 = 539 (535.7), so 540. 3 x 540.
    counted(deck("open-distance", VERA, (4, 1600), &[(4, 1600, 1_620_000)]), (1520, 0, 0)),
    // 120 + 360 + 60 = 540 s; 2 x 540 + 120. s(1/0.95) = 0.87635 m: 120 s are 110.7 m, told as 110; 360 s at 1.20 s are
    // 303.8 m, told as 300.
    deck("open-starts", VERA, (6, 1230), &[(6, 1230, 1_200_000)]),
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scripts/deck")
}

/// Here not all that is new has room. Touching five seconds before the next start leaves time for a new phrase or for the
/// distance, not for both.
const TIGHT: [(&str, Audience); 1] = [("squad-three-send-offs", Audience::Speaker)];

/// The plan of one script, which must have neither errors nor cautions, but for what has no room where little rest is written.
fn plan(deck: &Deck, audience: Audience) -> Plan {
    let script = folder().join(deck.name).with_extension("yaml");
    let profile = |name| WhoSwims::Profile(folder().join("swimmers").join(name).with_extension("yaml"));
    let swimmer = deck.swimmer.map(profile);
    let outcome = prepare::plan(&PracticeRequest { script, swimmer, audience, ..PracticeRequest::default() }).unwrap();
    let is_tight = TIGHT.contains(&(deck.name, audience));
    let (tight, told): (Vec<_>, Vec<_>) =
        outcome.diagnostics.iter().partition(|d| is_tight && d.code == Code::CueDropped);
    assert_eq!(tight.is_empty(), !is_tight, "{} ({audience:?})", deck.name);
    let told: Vec<_> = told.iter().map(|d| format!("{}: {}", d.code.word(), d.message)).collect();
    assert!(told.is_empty(), "{} ({audience:?}): {told:#?}", deck.name);
    outcome.planned.unwrap().plan
}

#[test]
fn thirty_practices_come_to_what_was_worked_out_by_hand() {
    for deck in &DECKS {
        let plan = plan(deck, Audience::Headphones);
        let sets: Vec<_> = plan
            .sets
            .iter()
            .map(|set| {
                let (first, last) = (set.repeats.first().unwrap(), set.repeats.last().unwrap());
                (set.repeats.len(), set.distance, (last.start - first.start).nanos() / 1_000_000)
            })
            .collect();
        assert_eq!(sets, deck.sets, "sets of {}", deck.name);
        let repeats: usize = plan.sets.iter().map(|set| set.repeats.len()).sum();
        assert_eq!((repeats, plan.distance), deck.total, "totals of {}", deck.name);
        if let Some((strokes, left, right)) = deck.strokes {
            let found = (plan.strokes, plan.breaths.left, plan.breaths.right);
            assert_eq!(found, (strokes, left, right), "strokes and breaths of {}", deck.name);
        }
    }
}

#[test]
fn a_speaker_moves_no_start_within_a_set() {
    for deck in &DECKS {
        let plans = [Audience::Headphones, Audience::Speaker].map(|audience| plan(deck, audience));
        let [ear, wall] = plans.each_ref().map(|plan| {
            let gos = |set: &lengthwise::plan::SetPlan| {
                set.repeats.iter().map(|repeat| repeat.start - set.start).collect::<Vec<_>>()
            };
            plan.sets.iter().map(gos).collect::<Vec<_>>()
        });
        assert_eq!(ear, wall, "{}", deck.name);
    }
}

#[test]
fn every_script_of_the_deck_is_worked_out() {
    let entries = std::fs::read_dir(folder()).unwrap().map(|entry| entry.unwrap().path());
    let scripts = entries.filter(|path| path.extension().is_some_and(|ending| ending == "yaml"));
    let scripts: BTreeSet<_> = scripts.map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned()).collect();
    let known: BTreeSet<_> = DECKS.iter().map(|deck| deck.name.to_owned()).collect();
    assert_eq!(scripts, known);
}
