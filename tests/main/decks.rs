//! Lines as coaches write them on a deck, each with what it comes to: what a script then has, or the question that is asked back.
//! Nothing is read wrongly in silence.
//!
//! The ways of writing are common practice, no source; what each should come to was decided by hand.

use crate::cases::amount;
use lengthwise::authoring::board::{BoardOrder, make};
use lengthwise::prepare::{PracticeRequest, WhoSwims};
use lengthwise::units::swim::Pace;
use lengthwise::units::time::Seconds;
use lengthwise::whiteboard::context::BoardWater;

/// What a line comes to.
enum Came {
    /// The practice of the script, its lines one after another, without titles and comments.
    To(&'static str),
    /// The first question, and the others if there are any.
    Asked(&'static [&'static str]),
}

use Came::{Asked, To};

/// In a pool of 25 m, for a swimmer of 1:35 for 100 m.
const LINES: &[(&str, Came)] = &[
    ("200 swim 100 kick 100 pull", Asked(&["these are several swims, or the parts of one"])),
    ("warm up 400 easy", To("phase: warm-up | swim: 400 m | effort: easy")),
    ("w/u 300", To("phase: warm-up | swim: 300 m")),
    ("WU 400 choice", To("phase: warm-up | swim: 400 m | stroke: choice")),
    (
        "warm-up: 200 swim, 200 kick, 200 pull",
        To("phase: warm-up | swim: 200 m | part: swim | swim: 200 m | part: kick | swim: 200 m | part: pull"),
    ),
    ("c/d 200", To("phase: cool-down | swim: 200 m")),
    ("CD 100 easy", To("phase: cool-down | swim: 100 m | effort: easy")),
    ("cool down 200 choice", To("phase: cool-down | swim: 200 m | stroke: choice")),
    ("warm down 4x50 easy r10", To("phase: cool-down | swim: 4 x 50 m | effort: easy | rest: 10 s")),
    ("swim down 200", To("phase: cool-down | swim: 200 m")),
    ("8x50 on 1:00", To("swim: 8 x 50 m | send-off: 1:00")),
    ("8 x 50 @ 1:15", Asked(&["`@` has two meanings: send-off or pace?"])),
    ("8x50@1:15", Asked(&["`@` has two meanings: send-off or pace?"])),
    ("8x50 @ 60", Asked(&["`@` has two meanings: send-off or pace?"])),
    ("8x25 on 45", To("swim: 8 x 25 m | send-off: 45 s")),
    ("6x100 on 1:45", To("swim: 6 x 100 m | send-off: 1:45")),
    ("6x100 on 2 min", To("swim: 6 x 100 m | send-off: 2:00")),
    ("6x100 on 2'", To("swim: 6 x 100 m | send-off: 2:00")),
    ("6x100 on 1'45\"", To("swim: 6 x 100 m | send-off: 1:45")),
    ("6x100 on 1'45", To("swim: 6 x 100 m | send-off: 1:45")),
    ("4x50 r15", To("swim: 4 x 50 m | rest: 15 s")),
    ("4x50 rest 15s", To("swim: 4 x 50 m | rest: 15 s")),
    ("4x50 15\" rest", To("swim: 4 x 50 m | rest: 15 s")),
    ("4x50 w/ 15s rest", To("swim: 4 x 50 m | rest: 15 s")),
    ("4x50, 15 sec rest", To("swim: 4 x 50 m | rest: 15 s")),
    ("4x50 +15", Asked(&["`+15` is too short for a swim"])),
    ("4x50 :15 rest", To("swim: 4 x 50 m | rest: 15 s")),
    ("4x50 RI 15", To("swim: 4 x 50 m | rest: 15 s")),
    ("4x50 RI :15", To("swim: 4 x 50 m | rest: 15 s")),
    ("4x50 with 15 seconds rest", To("swim: 4 x 50 m | rest: 15 s")),
    (
        "4x(50 fast 50 easy) r20",
        Asked(&[
            "these are several swims, or the parts of one",
            "a rest behind rounds: between the rounds, or after each swim?",
        ]),
    ),
    (
        "4x(50 fast on 1:00 + 50 easy on 1:30)",
        To(
            "rounds: 4 | do: | - swim: 50 m | send-off: 1:00 | effort: fast | - swim: 50 m | send-off: 1:30 | effort: easy",
        ),
    ),
    ("3x(4x50 on 1:10) 1 min rest", To("rounds: 3 | between-rounds: 1:00 | do: | - swim: 4 x 50 m | send-off: 1:10")),
    ("3x(4x50 on 1:10) r60", To("rounds: 3 | between-rounds: 1:00 | do: | - swim: 4 x 50 m | send-off: 1:10")),
    ("2x{4x25 r15 100 easy r30}", Asked(&["another swim begins here"])),
    ("3 x [100 swim, 50 kick] r20", Asked(&["a rest behind rounds: between the rounds, or after each swim?"])),
    ("3 rounds: 100 swim on 2:20, 50 kick on 1:30", Asked(&["which swims belong to the rounds is not marked"])),
    ("100-200-300-200-100 r20", To("swim: [100 m, 200 m, 300 m, 200 m, 100 m] | rest: 20 s")),
    ("100 200 300 200 100 r20", To("swim: [100 m, 200 m, 300 m, 200 m, 100 m] | rest: 20 s")),
    ("50/100/150/200 r15", To("swim: [50 m, 100 m, 150 m, 200 m] | rest: 15 s")),
    ("25-50-75-100 on 30s per 25", Asked(&["a send-off that goes by distance"])),
    ("ladder 50 100 150 200 r20", To("swim: [50 m, 100 m, 150 m, 200 m] | rest: 20 s")),
    ("pyramid 50-100-150-100-50 r20", To("swim: [50 m, 100 m, 150 m, 100 m, 50 m] | rest: 20 s")),
    ("50, 100, 150, 200 r20", To("swim: [50 m, 100 m, 150 m, 200 m] | rest: 20 s")),
    ("100 up to 400 by 100 r30", To("swim: [100 m, 200 m, 300 m, 400 m] | rest: 30 s")),
    ("8x50 odds drill evens swim r20", Asked(&["which drill?"])),
    (
        "8x50 odd kick / even swim r20",
        To("rounds: 4 | rest: 20 s | do: | - swim: 50 m | part: kick | - swim: 50 m | part: swim"),
    ),
    (
        "8x50 (odds fast, evens easy) r20",
        To("rounds: 4 | rest: 20 s | do: | - swim: 50 m | effort: fast | - swim: 50 m | effort: easy"),
    ),
    (
        "8x50 1–4 easy 5–8 brisk r20",
        To("rounds: 1 | rest: 20 s | do: | - swim: 4 x 50 m | effort: easy | - swim: 4 x 50 m | effort: brisk"),
    ),
    (
        "8x50 #1-4 easy, #5-8 fast r15",
        To("rounds: 1 | rest: 15 s | do: | - swim: 4 x 50 m | effort: easy | - swim: 4 x 50 m | effort: fast"),
    ),
    (
        "8x50 r20 1-4 easy 5-8 brisk",
        To("rounds: 1 | rest: 20 s | do: | - swim: 4 x 50 m | effort: easy | - swim: 4 x 50 m | effort: brisk"),
    ),
    ("12x25 every 4th fast r20", To("rounds: 3 | rest: 20 s | do: | - swim: 3 x 25 m | - swim: 25 m | effort: fast")),
    ("4x100 IM r30", To("swim: 4 x 100 m | stroke: medley | rest: 30 s")),
    ("100 IM", To("swim: 100 m | stroke: medley")),
    ("200 IM order r20", Asked(&["`order` is not known"])),
    ("4x50 IM order r20", Asked(&["`order` is not known"])),
    ("8x25 IM order (2 of each) r20", Asked(&["`order` is not known"])),
    ("4x50 fly/back/breast/free r20", Asked(&["4 parts in turn do not fit a repeat of 2 lengths"])),
    ("400 IM", To("swim: 400 m | stroke: medley")),
    ("8x100 broken at 50 for 10 s r30", Asked(&["`broken` does not say where it is broken"])),
    ("200 broken 4x50 r10", Asked(&["`broken` does not say where it is broken"])),
    ("6x50 descend r20", Asked(&["`descend` does not say from what to what"])),
    ("6x50 desc 1-3, 4-6 r20", Asked(&["`desc` does not say from what to what"])),
    ("6x50 descend 1-3 r20", Asked(&["`descend` does not say from what to what"])),
    ("400 negative split", Asked(&["`negative` does not say by how much"])),
    ("4x200 neg split r30", Asked(&["`neg` does not say by how much"])),
    ("200 n/s", Asked(&["`negative-split` does not say by how much"])),
    ("8x50 build r20", To("swim: 8 x 50 m | effort: build | rest: 20 s")),
    ("4x100 descend on 2:00", Asked(&["`descend` does not say from what to what"])),
    ("as 200 pull 100 swim", Asked(&["`as` stands behind the whole distance"])),
    (
        "400 as 200 pull 200 swim",
        To(
            "swim: 400 m | lengths: | - { part: pull } | - { part: pull } | - { part: pull } | - { part: pull } | - { part: pull } | - { part: pull } | - { part: pull } | - { part: pull } | - { part: swim } | - { part: swim } | - { part: swim } | - { part: swim } | - { part: swim } | - { part: swim } | - { part: swim } | - { part: swim }",
        ),
    ),
    ("300 as 100 kick 100 drill 100 swim", Asked(&["which drill?"])),
    ("200 kick/swim by 25", To("swim: 200 m | lengths: [{ part: kick }, { part: swim }]")),
    ("200 kick/swim by 25s", To("swim: 200 m | lengths: [{ part: kick }, { part: swim }]")),
    ("400 alternate 50 drill 50 swim", Asked(&["which drill?"])),
    ("4x100 25 drill 75 swim r20", Asked(&["which drill?"])),
    ("4x100 (25 drill/75 swim) r20", Asked(&["which drill?"])),
    ("4x50 kick with board r20", To("swim: 4 x 50 m | part: kick | gear: [board] | rest: 20 s")),
    ("4x50 kick w/ board r20", To("swim: 4 x 50 m | part: kick | gear: [board] | rest: 20 s")),
    ("200 kick no board", To("swim: 200 m | part: kick")),
    ("4x100 pull with buoy r20", To("swim: 4 x 100 m | part: pull | gear: [buoy] | rest: 20 s")),
    ("4x100 pull w/ buoy and paddles r20", To("swim: 4 x 100 m | part: pull | gear: [buoy, paddles] | rest: 20 s")),
    ("400 pull, buoy", To("swim: 400 m | part: pull | gear: [buoy]")),
    ("4x50 fins r20", To("swim: 4 x 50 m | gear: [fins] | rest: 20 s")),
    ("8x25 fist drill r15", To("swim: 8 x 25 m | drill: fist | rest: 15 s")),
    ("8x25 drill: fist r15", To("swim: 8 x 25 m | drill: fist | rest: 15 s")),
    ("6x50 drill/swim r20", Asked(&["which drill?"])),
    ("4 lengths easy", To("swim: 100 m | effort: easy")),
    ("10 lengths", To("swim: 250 m")),
    ("6 x 2 lengths r20", To("swim: 6 x 50 m | rest: 20 s")),
    ("2x400 steady r1:00", To("swim: 2 x 400 m | effort: steady | rest: 1:00")),
    ("400 steady @ 1:50 pace", To("swim: 400 m | effort: steady | pace: 1:50")),
    ("10x100 at CSS r15", To("swim: 10 x 100 m | rest: 15 s | pace: critical")),
    ("10x100 on 1:50 hold 1:35", Asked(&["`hold` has two meanings: the time of each repeat or a pace"])),
    ("5x200 p2:10-1:58 r30", To("swim: 5 x 200 m | rest: 30 s | pace: { from: 2:10, to: 1:58 }")),
    ("4x25 sprint r45", To("swim: 4 x 25 m | effort: fast | rest: 45 s")),
    ("4x25 max effort r60", To("swim: 4 x 25 m | effort: fast | rest: 1:00")),
    ("500 free breathe 3/5/7 by 50", Asked(&["a swim has one way to breathe"])),
    ("300 bilateral", To("swim: 300 m | breathe: every 3")),
    ("400 every 3rd length breast", Asked(&["`every` goes by repeat, and this swim has one, or by length"])),
    ("200 easy 4x50 r15", Asked(&["another swim begins here"])),
    (
        "200 easy, 4x50 fast r15, 100 easy",
        To(
            "phase: warm-up | swim: 200 m | effort: easy | swim: 4 x 50 m | effort: fast | rest: 15 s | phase: cool-down | swim: 100 m | effort: easy",
        ),
    ),
    ("3 min easy", Asked(&["a swim by time is for open water"])),
    (
        "8x50: 1-4 easy 5-8 brisk",
        To("rounds: 1 | rest: 15 s | do: | - swim: 4 x 50 m | effort: easy | - swim: 4 x 50 m | effort: brisk"),
    ),
    (
        "8x50 odds easy evens fast on 1:10",
        To("rounds: 4 | send-off: 1:10 | do: | - swim: 50 m | effort: easy | - swim: 50 m | effort: fast"),
    ),
    (
        "8x50 odds: drill fist, evens: swim, r20",
        To("rounds: 4 | rest: 20 s | do: | - swim: 50 m | drill: fist | - swim: 50 m | part: swim"),
    ),
    (
        "7x50 odds easy evens fast r20",
        To(
            "rounds: 1 | rest: 20 s | do: | - swim: 50 m | effort: easy | - swim: 50 m | effort: fast | - swim: 50 m | effort: easy | - swim: 50 m | effort: fast | - swim: 50 m | effort: easy | - swim: 50 m | effort: fast | - swim: 50 m | effort: easy",
        ),
    ),
    (
        "9x50 every third kick with fins r20",
        To("rounds: 3 | rest: 20 s | do: | - swim: 2 x 50 m | - swim: 50 m | part: kick | gear: [fins]"),
    ),
    (
        "8x50 first 4 easy last 4 fast r20",
        To("rounds: 1 | rest: 20 s | do: | - swim: 4 x 50 m | effort: easy | - swim: 4 x 50 m | effort: fast"),
    ),
    (
        "4x100 on 2:20, last one fast",
        To("rounds: 1 | send-off: 2:20 | do: | - swim: 3 x 100 m | - swim: 100 m | effort: fast"),
    ),
    (
        "6x50 #1 easy, #2-5 steady, #6 fast r15",
        To(
            "rounds: 1 | rest: 15 s | do: | - swim: 50 m | effort: easy | - swim: 4 x 50 m | effort: steady | - swim: 50 m | effort: fast",
        ),
    ),
    (
        "6x50 1st easy 6th fast others steady r15",
        To(
            "rounds: 1 | rest: 15 s | do: | - swim: 50 m | effort: easy | - swim: 4 x 50 m | effort: steady | - swim: 50 m | effort: fast",
        ),
    ),
    (
        "8x50 1-2 and 5-6 pull, 3-4 and 7-8 swim r20",
        To("rounds: 2 | rest: 20 s | do: | - swim: 2 x 50 m | part: pull | - swim: 2 x 50 m | part: swim"),
    ),
    (
        "8x50 1-4 on 1:10 5-8 on 1:00",
        To("rounds: 1 | do: | - swim: 4 x 50 m | send-off: 1:10 | - swim: 4 x 50 m | send-off: 1:00"),
    ),
    (
        "8x50 r20 1-4 1.30-1.20 5-8 1.20-1.10",
        To(
            "rounds: 1 | rest: 20 s | do: | - swim: 4 x 50 m | tempo: { from: 1.30 s, to: 1.20 s } | - swim: 4 x 50 m | tempo: { from: 1.20 s, to: 1.10 s }",
        ),
    ),
    (
        "50-100-150-100-50 evens pull r20",
        To(
            "rounds: 1 | rest: 20 s | do: | - swim: 50 m | - swim: 100 m | part: pull | - swim: 150 m | - swim: 100 m | part: pull | - swim: 50 m",
        ),
    ),
    (
        "2x(4x50 odds easy evens fast r15; 100 easy r30)",
        To(
            "rounds: 2 | do: | - swim: 50 m | effort: easy | rest: 15 s | - swim: 50 m | effort: fast | rest: 15 s | - swim: 50 m | effort: easy | rest: 15 s | - swim: 50 m | effort: fast | rest: 15 s | - swim: 100 m | effort: easy | rest: 30 s",
        ),
    ),
    (
        "12x25 3 easy 1 fast r15",
        To("rounds: 3 | rest: 15 s | do: | - swim: 3 x 25 m | effort: easy | - swim: 25 m | effort: fast"),
    ),
    (
        "12x50 (4 easy, 4 steady, 4 fast) r15",
        To(
            "rounds: 1 | rest: 15 s | do: | - swim: 4 x 50 m | effort: easy | - swim: 4 x 50 m | effort: steady | - swim: 4 x 50 m | effort: fast",
        ),
    ),
    (
        "16x25 as 4 fly 4 back 4 breast 4 free r15",
        To(
            "rounds: 1 | rest: 15 s | do: | - swim: 4 x 25 m | stroke: fly | - swim: 4 x 25 m | stroke: back | - swim: 4 x 25 m | stroke: breast | - swim: 4 x 25 m | stroke: crawl",
        ),
    ),
    (
        "8x50 #1,3 and 5 easy others fast r20",
        To(
            "rounds: 1 | rest: 20 s | do: | - swim: 50 m | effort: easy | - swim: 50 m | effort: fast | - swim: 50 m | effort: easy | - swim: 50 m | effort: fast | - swim: 50 m | effort: easy | - swim: 3 x 50 m | effort: fast",
        ),
    ),
    ("6x50 1 easy 2 steady 3 fast r15", Asked(&["numbers of repeats, or how many of each?"])),
    ("8x50 3 easy 2 fast r15", Asked(&["these make 5 repeats, the swim has 8"])),
    ("8x50 2 fast r15", Asked(&["how many, or which of the repeats?"])),
    ("8x50 2-4-6-8 fast r20", Asked(&["these repeats have two readings"])),
    ("8x50 kick odds, swim evens r15", Asked(&["what these repeats are is not said"])),
    ("8x50 easy odds fast evens brisk r15", Asked(&["`easy` holds for none of the repeats"])),
    ("8x50 odds easy evens fast, fins, r20", Asked(&["`fins`: for these repeats alone, or for all?"])),
    ("8x50 1-4 on 1:10 5-8 easy", Asked(&["some repeats have this, and the others neither rest nor send-off"])),
    ("8x50 1-4 easy 4-8 fast r20", Asked(&["repeat 4 is said twice: easy, then fast"])),
    ("4x50 5-8 fast r20", Asked(&["there is no repeat 8: the swim has 4"])),
    (
        "8x50 odds 1.30-1.10 evens easy r20",
        Asked(&["tempo 1.30 to 1.10 s a stroke runs over repeats that do not follow each other"]),
    ),
    (
        "8x50 1.30-1.10 odds pull evens swim r20",
        Asked(&["tempo 1.30 to 1.10 s a stroke runs over all repeats, but they differ"]),
    ),
    ("8x50 every other fast r20", Asked(&["`every other` leaves open which: the odd or the even ones"])),
    ("4x100 last 25 fast r20", Asked(&["goes by length, not by repeat"])),
    ("4x100 every 4th length kick r20", Asked(&["goes by length, not by repeat"])),
    ("8x50 alternate easy and fast r20", Asked(&["`alternate` goes by length or by repeat"])),
    ("400 odds easy evens fast", Asked(&["`odds` goes by repeat, and this swim has one"])),
    ("8x50 4-1 easy r20", Asked(&["these repeats run backwards"])),
    ("8x50 #4-1 easy r20", Asked(&["these repeats run backwards"])),
    (
        "8x25 underwater r30",
        Asked(&["`underwater` is not written here: swimmers faint from held breath without warning"]),
    ),
    ("4x50 hypoxic r30", Asked(&["`hypoxic` is not written here: swimmers faint from held breath without warning"])),
    ("3x(50 fast + 50 easy) on 2:30", Asked(&["a send-off behind rounds: of each swim, or of each round?"])),
];

/// The practice of a script, its lines one after another.
fn compact(script: &str) -> String {
    let (_, practice) = script.split_once("practice:\n").unwrap();
    let lines = practice.lines().map(|line| line.split("   #").next().unwrap().trim());
    let lines = lines.filter(|line| !(line.is_empty() || line.starts_with('#') || line.starts_with("- set:")));
    lines.collect::<Vec<_>>().join(" | ")
}

#[test]
fn lines_of_a_deck_are_read_right_or_asked_back() {
    assert!(LINES.len() >= 100);
    let mut wrong = Vec::new();
    for (line, came) in LINES.iter().step_by(amount(5, 1)) {
        let place = BoardWater::parse("25 m").unwrap();
        let order = BoardOrder { text: line, name: "whiteboard", place, title: "Deck", pack: None };
        let swimmer = Some(WhoSwims::Hundred(Pace::new(Seconds::from_secs(95)).unwrap()));
        let request = PracticeRequest { script: "deck.yaml".into(), swimmer, ..PracticeRequest::default() };
        let made = make(&order, &request).unwrap();
        let asked: Vec<&str> = made.diagnostics.iter().map(|problem| problem.message.as_str()).collect();
        let right = match came {
            To(practice) => made.script.as_deref().map(compact).as_deref() == Some(practice),
            Asked(questions) => {
                let ways_out = made.diagnostics.iter().all(|problem| problem.hint.is_some() && problem.span.is_some());
                made.script.is_none() && asked == *questions && ways_out
            }
        };
        if !right {
            wrong.push(format!("{line}: {:?} {asked:?}", made.script.as_deref().map(compact)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
