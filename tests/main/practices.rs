//! The practices that come with the program, for three swimmers: what each is asked to swim, as a page that is held against the
//! program, and rows of it worked out by hand; and what a coach would look for in them.

use crate::cases::amount;
use lengthwise::pack::builtin;
use lengthwise::pack::library::Role;
use lengthwise::plan::Plan;
use lengthwise::practice::{Audience, Item, Leave, Line, Repeat};
use lengthwise::prepare::{self, Planned, PracticeRequest, WhoSwims};
use lengthwise::script::{Effort, Phase, Test};
use lengthwise::units::swim::Pace;
use lengthwise::units::time::Seconds;
use std::collections::BTreeSet;
use std::path::Path;

/// Three swimmers by their time for 100, swum steadily: somebody new to crawl, an improver, a master.
const SWIMMERS: [&str; 3] = ["2:55", "1:50", "1:19"];

fn planned(name: &str, hundred: &str, audience: Audience) -> Planned {
    let (minutes, seconds) = hundred.split_once(':').unwrap();
    let seconds = 60 * minutes.parse::<i64>().unwrap() + seconds.parse::<i64>().unwrap();
    let swimmer = Some(WhoSwims::Hundred(Pace::new(Seconds::from_secs(seconds)).unwrap()));
    let request = PracticeRequest { script: name.into(), swimmer, audience, ..PracticeRequest::default() };
    let outcome = prepare::plan(&request).unwrap();
    let told: Vec<_> = outcome.diagnostics.iter().map(|problem| &problem.message).collect();
    assert!(told.is_empty(), "{name} at {hundred}: {told:?}");
    outcome.planned.unwrap()
}

fn names() -> Vec<String> {
    let mut names: Vec<_> = builtin::scripts().map(|script| format!("{}/{}", script.pack, script.name)).collect();
    names.sort();
    names
}

/// Every swimmer; in the quick loop one, by turns.
fn swimmers(turn: usize) -> impl Iterator<Item = &'static str> {
    SWIMMERS.into_iter().skip(amount(turn % 3, 0)).step_by(amount(3, 1))
}

/// Every practice for every swimmer.
fn all() -> Vec<(String, &'static str, Planned)> {
    let each = |(turn, name): (usize, String)| {
        swimmers(turn).map(move |who| (name.clone(), who, planned(&name, who, Audience::Headphones)))
    };
    names().into_iter().enumerate().flat_map(each).collect()
}

/// Some values: one, two in turn, or the first and the last.
fn span<T: ToString>(values: &[T]) -> String {
    let values: Vec<_> = values.iter().map(ToString::to_string).collect();
    let (Some(first), Some(last)) = (values.first(), values.last()) else { return String::new() };
    let other = values.iter().find(|value| *value != first);
    match other {
        None => first.clone(),
        Some(other) if values.len() > 2 && values.iter().all(|value| [first, other].contains(&value)) => {
            format!("{first} or {other}")
        }
        Some(_) => format!("{first} to {last}"),
    }
}

/// To the whole second.
fn clock(time: Seconds) -> Seconds {
    Seconds::from_secs((time.nanos() + 500_000_000) / 1_000_000_000)
}

/// What a swimmer is asked to swim on a line of a set, in its first round.
fn asked(line: &Line, repeats: &[&Repeat]) -> String {
    let far: Vec<_> = repeats.iter().map(|repeat| repeat.distance.count()).collect();
    let all_alike = far.iter().all(|one| *one == far[0]);
    let each = if repeats[0].estimated {
        format!("about {} m", far[0])
    } else if all_alike {
        format!("{} m", far[0])
    } else {
        far.iter().map(|one| format!("{one} m")).collect::<Vec<_>>().join(", ")
    };
    let mut cells = vec![if far.len() > 1 && all_alike { format!("{} × {each}", far.len()) } else { each }];
    let tempos: Vec<_> =
        line.tempos.iter().map(|tempo| format!("{}.{:02} s", tempo.centis() / 100, tempo.centis() % 100)).collect();
    let paces: Vec<_> = line.paces.iter().map(|pace| format!("{} per 100", clock(pace.per_hundred()))).collect();
    cells.extend([span(&tempos), span(&paces)].into_iter().filter(|cell| !cell.is_empty()));
    cells.extend(line.at_most.map(|most| format!("at most {most} strokes")));
    let swum: Vec<_> = repeats.iter().map(|repeat| clock(repeat.predicted)).collect();
    cells.push(format!("in {}", span(&swum)));
    let timed: Vec<_> = repeats.iter().filter_map(|repeat| Some((*repeat, repeat.interval?))).collect();
    // What follows a swim without a stop, or ends its time, starts by another rule.
    let timed: Vec<_> = timed.into_iter().filter(|(repeat, _)| !repeat.joins).collect();
    let timed = match (line.within, timed.as_slice()) {
        (Some(_), [others @ .., _]) => others.to_vec(),
        _ => timed,
    };
    if line.repeats > 1 && !timed.is_empty() {
        cells.push(format!("on {}", span(&timed.iter().map(|(_, interval)| *interval).collect::<Vec<_>>())));
        cells.push(format!(
            "rest {}",
            span(&timed.iter().map(|(repeat, interval)| clock(*interval - repeat.predicted)).collect::<Vec<_>>())
        ));
    }
    cells.join(", ")
}

/// The lines of a practice: what each is called, and what is asked.
fn lines(planned: &Planned) -> Vec<(String, String)> {
    let mut lines = Vec::new();
    for set in planned.practice.sets() {
        for (index, line) in set.lines.iter().enumerate() {
            let own = |repeat: &&Repeat| repeat.line == index && repeat.round == 0;
            let repeats: Vec<_> = set.repeats.iter().filter(own).collect();
            let rounds = if set.rounds > 1 { format!(", {} rounds", set.rounds) } else { String::new() };
            let title = if index == 0 { format!("{}{rounds}", set.title.text) } else { String::new() };
            lines.push((title, asked(line, &repeats)));
        }
    }
    lines
}

/// The page.
fn page() -> String {
    let mut text = "# The practices, for three swimmers\n\n\
        What each practice that comes with the program asks of somebody who swims 100 m steadily in 2:55, in 1:50, and in 1:19. A\n\
        test writes this page from the plans (`LENGTHWISE_BLESS=1 cargo test --test main practices`) and holds it against them.\n\
        *in* is the predicted time of each swim, *on* the time from one start to the next, *rest* what is left between.\n"
        .to_owned();
    for name in names() {
        let plans = SWIMMERS.map(|who| planned(&name, who, Audience::Headphones));
        let far = plans.each_ref().map(|planned| planned.plan.distance.to_string()).join(", ");
        text += &format!(
            "\n## {} (`{name}`): {far} m\n\n| set | {} |\n| --- | --- | --- | --- |\n",
            plans[0].plan.title,
            SWIMMERS.join(" | ")
        );
        let each = plans.each_ref().map(lines);
        for (index, (title, _)) in each[0].iter().enumerate() {
            text += &format!("| {title} | {} |\n", each.each_ref().map(|lines| lines[index].1.clone()).join(" | "));
        }
    }
    text
}

#[test]
fn the_page_of_practices_is_what_they_come_to() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("cue-packs/PRACTICES.md");
    let page = page();
    if std::env::var_os("LENGTHWISE_BLESS").is_some_and(|value| value == "1") {
        std::fs::write(&path, &page).unwrap();
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    for (line, (is, should)) in written.lines().zip(page.lines()).enumerate() {
        assert_eq!(is, should, "line {} of cue-packs/PRACTICES.md", line + 1);
    }
    assert_eq!(written, page);
}

/// Rows of the page, worked out by hand. For the swimmer of 1:50, and likewise for the others:
/// - A length of 25 m takes a quarter of 100, 27.5 s: 4 s of wall and 23.5 s of strokes. There are 25 + 0.14 x (110 - 150) =
///   19.4 of them (documented: 25 for 2:30, 0.14 more or fewer a second), so the usual tempo is 23.5 / 19.4 = 1.211 s. Of 2:55:
///   43.75 - 4 = 39.75 s, 28.5 strokes, 1.395 s. Of 1:19: 19.75 - 4 = 15.75 s, 15.06 strokes, 1.046 s.
/// - Easy takes 1.15 of that time, brisk 0.95, a drill of `time` 1.25 so much of easy; the critical pace is the brisk one, to
///   the whole second: 1:44.5 less what the rounded tempo takes from it, so 1:44; 2:46.25, so 2:46; 1:15.05, so 1:15.
/// - From start to start: time and rest, or the 90th percentile of the time (1.2816 x 5 % = 6.408 % more; standard normal
///   tables) and 10 s, whichever is more, rounded up to 5 s.
/// - In a time given by `for`, n swims end (n - 1) starts and one swim after the first start.
const BY_HAND: [(&str, &str, &str, &str); 15] = [
    // 50 m: 87.5 s. + 20 = 107.5; x 1.06408 + 10 = 103.1: 110. In 480 s: 3 x 110 + 87.5 = 417.5, a fifth ends at 527.5.
    ("tempo-range/even-pace", "Find the pace", "2:55", "4 × 50 m, 2:55 per 100, in 1:28, on 1:50, rest 0:23"),
    // 55 s. + 20 = 75; 68.5: 75. In 480 s: 5 x 75 + 55 = 430, then 505.
    ("tempo-range/even-pace", "Find the pace", "1:50", "6 × 50 m, 1:50 per 100, in 0:55, on 1:15, rest 0:20"),
    // 39.5 s. + 20 = 59.5; 52.0: 60. In 480 s: 7 x 60 + 39.5 = 459.5, then 519.5.
    ("tempo-range/even-pace", "Find the pace", "1:19", "8 × 50 m, 1:19 per 100, in 0:40, on 1:00, rest 0:21"),
    // 1:44 + 3 = 107 s. + 20 = 127; 123.9: 130. In 600 s: 3 x 130 + 107 = 497, then 627.
    ("tempo-range/even-pace", "Even hundreds", "1:50", "4 × 100 m, 1:47 per 100, in 1:47, on 2:10, rest 0:23"),
    // 166 s. + 30 = 196; 186.6: 200. In 420 s: 200 + 166 = 366, then 566.
    ("tempo-range/even-pace", "Home on the clock", "2:55", "2 × 100 m, 2:46 per 100, in 2:46, on 3:20, rest 0:34"),
    // 4 x 110 s.
    ("tempo-range/even-pace", "One long swim", "1:50", "400 m, 1:50 per 100, in 7:20"),
    // Easy 50 m: 1.15 x 87.5 = 100.6 s. + 20 = 120.6, x 1.06408 + 10 = 117.1: 125. In 425 s: 2 x 125 + 100.6 = 350.6, then 475.6.
    ("tempo-range/all-together", "Easy start", "2:55", "3 × 50 m, in 1:41, on 2:05, rest 0:24"),
    // 63.25 s. + 20 = 83.25; 77.3: 85. In 425 s: 4 x 85 + 63.25 = 403.25, then 488.
    ("tempo-range/all-together", "Easy start", "1:50", "5 × 50 m, in 1:03, on 1:25, rest 0:22"),
    // 45.4 s. + 20 = 65.4; 58.3: 70. In 425 s: 5 x 70 + 45.4 = 395.4, then 465.4.
    ("tempo-range/all-together", "Easy start", "1:19", "6 × 50 m, in 0:45, on 1:10, rest 0:25"),
    // At the usual tempo the steady pace: as in `Find the pace`, 6 in 480 s.
    ("tempo-range/all-together", "On the beat", "1:50", "6 × 50 m, 1.21 s, in 0:55, on 1:15, rest 0:20"),
    // 1:44 + 3 = 107 s for 100 m. + 30 = 137; 123.9: 140.
    ("tempo-range/keep-it-quick", "Quicker half", "1:50", "2 × 100 m, 1:47 per 100, in 1:47, on 2:20, rest 0:33"),
    // 1.15 x 43.75 = 50.3 s for 25 m. + 30 = 80.3; 63.5: 85.
    ("first-lengths/level-body", "Easy start", "2:55", "4 × 25 m, in 0:50, on 1:25, rest 0:35"),
    // 1.15 x 19.75 = 22.7 s. + 30 = 52.7; 34.2: 55.
    ("first-lengths/level-body", "Easy start", "1:19", "4 × 25 m, in 0:23, on 0:55, rest 0:32"),
    // 100 m at 1:50. + 20 = 130; 127.05: 130. In 585 s: 3 x 130 + 110 = 500, then 630.
    ("open-water/both-sides", "A side for each length", "1:50", "4 × 100 m, in 1:50, on 2:10, rest 0:20"),
    // By the clock, and without walls: 200 strokes of 20 m / 19.4 = 1.03 m, a little less at 1.20 s: 206 m, told as 210.
    ("open-water/quick-then-settle", "Right and left", "1:50", "about 210 m, 1.20 s, in 4:00"),
];

#[test]
fn rows_of_the_page_are_worked_out_by_hand() {
    let mut wrong = Vec::new();
    for (name, title, who, expected) in BY_HAND {
        let lines = lines(&planned(name, who, Audience::Headphones));
        let (_, found) = lines.iter().find(|(found, _)| found.starts_with(title)).unwrap();
        if found != expected {
            wrong.push(format!("{name}, {title}, {who}: {found}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_tempos_of_three_swimmers_by_hand() {
    // Usual 1.395, 1.211 and 1.046 s, as above; the script adds 0.15 s to begin with, takes steps of 0.05 s, and ends 0.20 s below.
    for (who, usual) in [("2:55", 1.395), ("1:50", 1.211), ("1:19", 1.046)] {
        let planned = planned("tempo-range/find-the-count", who, Audience::Headphones);
        let set = planned.practice.sets().find(|set| set.title.text == "Down the tempos").unwrap();
        let found: Vec<f64> = set.repeats.iter().map(|repeat| repeat.tempo.unwrap().as_f64()).collect();
        let expected: Vec<f64> = (0..8).map(|step| usual + 0.15 - 0.05 * f64::from(step)).collect();
        assert!(found.iter().zip(&expected).all(|(a, b)| (a - b).abs() < 1e-6), "{who}: {found:?}");
        assert_eq!(found.len(), 8);
    }
}

#[test]
fn every_practice_fits_an_hour_and_loses_nothing() {
    for (script, name) in names().into_iter().enumerate() {
        for (turn, audience) in [Audience::Headphones, Audience::Speaker, Audience::Player].into_iter().enumerate() {
            for who in swimmers(script + turn) {
                let plan = planned(&name, who, audience).plan;
                let minutes = plan.duration.as_f64() / 60.0;
                // Tracks for a player have the opening of each besides.
                let most = if audience == Audience::Player { 70.0 } else { 61.0 };
                assert!((27.0..=most).contains(&minutes), "{name} at {who} ({audience:?}): {minutes:.1} min");
                assert!(plan.dropped.is_empty(), "{name} at {who} ({audience:?}): {:?}", plan.dropped);
                assert!(plan.voiced.is_empty(), "{name} at {who} ({audience:?}): {:?}", plan.voiced);
            }
        }
    }
}

#[test]
fn practices_are_built_as_a_coach_builds_them() {
    for (name, who, planned) in all() {
        let sets: Vec<_> = planned.practice.sets().collect();
        let all: u32 = planned.plan.distance;
        // Easily in, easily out. How much is common practice, no source.
        let (first, last) = (sets[0], sets.last().unwrap());
        assert!(first.phase == Some(Phase::WarmUp), "{name}");
        assert!(first.lines.iter().all(|line| line.effort == Some(Effort::Easy)), "{name}");
        assert!(last.lines.last().unwrap().effort == Some(Effort::Easy), "{name}");
        let warm = planned.plan.sets[0].distance;
        assert!(10 * warm >= all && 3 * warm <= all + 100, "{name} at {who}: {warm} m of {all} m to warm up");
        // Nobody remembers more than three phrases, or more than three numbers.
        let phrases: BTreeSet<_> = sets
            .iter()
            .flat_map(|set| &set.lines)
            .flat_map(|line| &line.focus)
            .map(|text| text.id.to_string())
            .collect();
        assert!((1..=3).contains(&phrases.len()), "{name}: {phrases:?}");
        let counted = |line: &Line| line.count.is_some() || line.test.is_some();
        let counts: usize =
            sets.iter().map(|set| set.repeats.iter().filter(|repeat| counted(&set.lines[repeat.line])).count()).sum();
        // In open water there are no lengths to count.
        let least = usize::from(planned.plan.pool != "open water");
        assert!((least..=3).contains(&counts), "{name} at {who}: {counts} numbers to remember");
        // Of a beat is spoken where there is one.
        for line in sets.iter().flat_map(|set| &set.lines) {
            let beat = !line.tempos.is_empty() && line.beats.is_some() && line.test != Some(Test::Count);
            let speaks = line.focus.iter().find(|text| text.full.text.contains("beat"));
            assert!(beat || speaks.is_none(), "{name}: {speaks:?} without a beat");
        }
        // What asks for a stop stands where one is.
        for pair in planned.practice.items.windows(2) {
            if let [Item::Set(set), Item::Say(_) | Item::Rest(_)] = pair {
                assert!(
                    set.lines
                        .last()
                        .is_some_and(|line| line.leave != Leave::Rest(lengthwise::script::Rest::Fixed(Seconds::ZERO))),
                    "{name}"
                );
            }
        }
    }
}

#[test]
fn nobody_waits_long_at_the_wall() {
    // Between two swims of a set, also where a time runs out: under two minutes. Common practice, no source.
    for (name, who, planned) in all() {
        for set in planned.practice.sets() {
            for repeat in &set.repeats {
                let waits = repeat.interval.map_or(0.0, |interval| (interval - repeat.predicted).as_f64());
                assert!(waits < 120.0, "{name} at {who}, {}: waits {waits:.0} s", set.title.text);
            }
        }
    }
}

#[test]
fn half_is_said_where_half_is() {
    let mut said = 0;
    for (name, who, planned) in all() {
        let cues = planned
            .built
            .timeline
            .legs
            .iter()
            .flat_map(|leg| leg.cues.iter().map(move |cue| (leg.origin + cue.at, cue)));
        for (at, cue) in cues.filter(|(_, cue)| cue.text.contains("half of it")) {
            let share = at.as_f64() / planned.plan.duration.as_f64();
            assert!((0.40..=0.60).contains(&share), "{name} at {who}: {} % at `{}`", (100.0 * share).round(), cue.text);
            said += 1;
        }
    }
    assert!(said >= amount(1, 3) * 5, "{said}");
}

#[test]
fn a_lane_of_mixed_speed_goes_on_and_ends_together() {
    // Paces between the master and the novice; each has an own practice, all hear one clock.
    let hundreds = (79..=175).step_by(6).map(|seconds| format!("{}:{:02}", seconds / 60, seconds % 60));
    let plans: Vec<_> =
        hundreds.map(|who| planned("tempo-range/all-together", &who, Audience::Headphones).plan).collect();
    let own = SWIMMERS.map(|who| planned("tempo-range/all-together", who, Audience::Headphones).plan);
    let spread = |plans: &[Plan], of: &dyn Fn(&Plan) -> f64| {
        let all: Vec<_> = plans.iter().map(of).collect();
        all.iter().copied().fold(f64::MIN, f64::max) - all.iter().copied().fold(f64::MAX, f64::min)
    };
    for set in 0..3 {
        let starts = |plan: &Plan| plan.sets[set].start.as_f64();
        // What is announced differs by a few words, the clock goes by 5 s, and a part keeps its last rest, up to 25 s and what
        // it is rounded by.
        assert!(spread(&own, &starts) <= 15.0, "set {set} of the three");
        assert!(spread(&plans, &starts) <= 45.0, "set {set}: {}", spread(&plans, &starts));
        for line in 1..=plans[0].sets[set].repeats.last().unwrap().line {
            let begins = |plan: &Plan| {
                let first = plan.sets[set].repeats.iter().find(|repeat| repeat.line == line).unwrap();
                (first.start - plan.sets[set].start).as_f64()
            };
            assert!(spread(&own, &begins) < 1e-9, "part {line} of set {set}");
            assert!(spread(&plans, &begins) <= 45.0, "part {line} of set {set}: {}", spread(&plans, &begins));
        }
    }
    // The last part lasts 4 min for all: nobody swims any longer, and nobody is done a whole swim and its rest before.
    for plan in plans.iter().chain(&own) {
        let repeats = &plan.sets[2].repeats;
        let first = repeats.iter().find(|repeat| repeat.line == 2).unwrap();
        let last = repeats.last().unwrap();
        let ends = (last.start + last.predicted - first.start).as_f64();
        let another = (last.predicted.as_f64() * 1.06408 + 10.0).max(last.predicted.as_f64() + 15.0) + 5.0;
        assert!(ends <= 240.0 && ends + another > 240.0, "ends after {ends} s");
    }
}

#[test]
fn phrases_are_short_positive_and_in_one_piece() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("cue-packs");
    let mut phrases = 0;
    for pack in ["first-lengths", "tempo-range", "open-water"] {
        let manifest = std::fs::read_to_string(folder.join(pack).join("pack.yaml")).unwrap();
        let library = planned(
            &format!("{pack}/{}", builtin::scripts().find(|script| script.pack == pack).unwrap().name),
            "1:50",
            Audience::Headphones,
        )
        .library;
        for (id, entry) in library.of(Role::Phrase).filter(|(id, _)| manifest.contains(&format!("\n  {id}: "))) {
            let words = |text: &str| text.split_whitespace().count();
            let full = &entry.full.text;
            let short = &entry.short.as_ref().unwrap_or_else(|| panic!("{id} has no short form")).text;
            assert!(words(full) <= 5 && words(short) <= 3, "{id}: {full} / {short}");
            let negative = ["no", "not", "never", "don't", "without", "stop"];
            assert!(full.split(|c: char| !c.is_alphabetic()).all(|word| !negative.contains(&word)), "{id}: {full}");
            phrases += 1;
        }
        // Who moves in a way that makes breathing rare, or strains something, hears what to do about it.
        for (id, entry) in library.of(Role::Drill).filter(|(id, _)| manifest.contains(&format!("\n  {id}: "))) {
            let care: &[(&str, &str)] = &[
                ("side-kick", "as often as you like"),
                ("six-kick-switch", "as often as you like"),
                ("one-arm", "as often as you like"),
                ("push-and-kick", "when you like"),
                ("long-dog", "when you like"),
                ("front-scull", "when you like"),
                ("middle-scull", "when you like"),
                ("six-three-six", "as you need it"),
                ("thumb-to-armpit", "shoulder"),
                ("other-side", "as often as you like"),
                ("low-look", "as often as you like"),
                ("head-up", "neck"),
                ("eyes-closed", "with someone watching"),
                ("corkscrew", "dizzy"),
                ("straight-arms", "shoulder"),
                ("roll-kick", "as often as you like"),
                ("short-turn", "nobody close behind"),
            ];
            if let Some((_, words)) = care.iter().find(|(drill, _)| *drill == id) {
                assert!(entry.full.text.contains(words), "{id}: {}", entry.full.text);
            }
        }
    }
    assert_eq!(phrases, 22 + 24 + 25);
}
