//! Scripts of the whole language that nobody thought of: random practices in pools and open water, with what they must come
//! to counted beside them. The plain language has a generator of its own in `generate`.

use proptest::prelude::*;
use proptest::sample::select;
use std::fmt::Write;

/// One random script with what is known of it without reading it.
#[derive(Clone, Debug)]
pub struct Anything {
    /// The YAML.
    pub yaml: String,
    /// Whether it is for a speaker at the poolside.
    pub speaker: bool,
    /// `gear-change`, in seconds.
    pub gear_change: i64,
    /// Every repeat of each set, in the order swum.
    pub sets: Vec<Vec<Known>>,
}

/// One repeat as written.
#[derive(Clone, Debug)]
pub struct Known {
    /// How far, if that is written.
    pub metres: Option<u32>,
    /// How long, in seconds, if that is written instead.
    pub seconds: Option<i64>,
    /// When the next one starts.
    pub leave: Leave,
    /// The gear, as written.
    pub gear: &'static str,
    /// Whether nothing is to be heard.
    pub test: bool,
    /// Whether a beat track is named, and which.
    pub beats: Option<&'static str>,
    /// `sight`, `call`
    pub every: [Option<u32>; 2],
    /// Whether a round ends with it, and a rest of the set follows.
    pub between: Option<i64>,
}

/// When the next repeat starts.
#[derive(Clone, Copy, Debug)]
pub enum Leave {
    /// So many seconds after this start.
    SendOff(i64),
    /// So many seconds after the touch.
    Rest(i64),
    /// So many seconds for each unit of distance, written for 50 of them.
    Per(i64),
    /// At the touch.
    Join,
}

/// A swim of a list.
#[derive(Clone, Debug)]
struct Swim {
    what: String,
    keys: String,
    repeats: Vec<Known>,
}

/// What a pool may have: its length in its unit, and the sign; nothing in open water.
type Water = Option<(u32, &'static str)>;

/// Distances (or a time, or a course), as written and for each repeat.
type Far = (String, Vec<(Option<u32>, Option<i64>)>);

fn far(water: Water) -> BoxedStrategy<Far> {
    let (unit, sign) = water.unwrap_or((25, "m"));
    let plain = (1_u32..4, 1_u32..9).prop_map(move |(repeats, lengths)| {
        (format!("swim: {repeats} x {} {sign}", lengths * unit), vec![(Some(lengths * unit), None); repeats as usize])
    });
    let list = prop::collection::vec(1_u32..7, 2..5).prop_map(move |lengths| {
        let each: Vec<u32> = lengths.iter().map(|lengths| lengths * unit).collect();
        let written: Vec<String> = each.iter().map(u32::to_string).collect();
        let known = each.iter().map(|metres| (Some(*metres), None)).collect();
        (format!("swim: \"[{}] {sign}\"", written.join(", ")), known)
    });
    if water.is_some() {
        return prop_oneof![2 => plain, 1 => list].boxed();
    }
    let time = (1_u32..4, 20_i64..400).prop_map(|(repeats, seconds)| {
        (format!("swim: {repeats} x {seconds} s"), vec![(None, Some(seconds)); repeats as usize])
    });
    let course = (50_u32..300, 1_u32..4)
        .prop_map(|(lap, laps)| (format!("course: {{ lap: {lap} m, laps: {laps} }}"), vec![(Some(lap * laps), None)]));
    prop_oneof![1 => plain, 1 => list, 2 => time, 1 => course].boxed()
}

/// How it is swum, and whether it may have beats, marks and a second half.
fn manner(pool: bool, repeats: usize) -> BoxedStrategy<(String, bool)> {
    let tempo = prop_oneof![
        2 => (80_u32..170).prop_map(|c| format!("tempo: {c}0 ms")),
        1 => (360_u32..700).prop_map(|r| format!("tempo: {}.{} /min", r / 10, r % 10)),
        1 => (10_000_000_000_u64..16_000_000_000)
            .prop_map(|t| format!("tempo: {}.{:010} s", t / 10_000_000_000, t % 10_000_000_000)),
        1 => (120_u32..170, 80_u32..110).prop_map(move |(a, b)| match repeats {
            1 => format!("tempo: {a}0 ms"),
            _ => format!("tempo: {{ from: {a}0 ms, to: {b}0 ms }}"),
        }),
    ];
    let stroke =
        select(vec!["", ", stroke: crawl", ", stroke: back", ", part: pull", ", part: swim", ", stroke: breast"]);
    let lengths = if pool {
        select(vec![
            "",
            "",
            "",
            ", lengths: [{ drill: fist }, { focus: soft-hand }]",
            ", lengths: [{ effort: easy }, { effort: fast, focus: head-still }, { stroke: back }]",
            ", lengths: [{ part: kick }, { part: pull, focus: breathe-out }]",
        ])
    } else {
        select(vec![""])
    };
    let half = select(vec!["", ", second-half: 2 s faster", ", second-half: 1 s slower"]);
    let effort = select(vec!["easy", "steady", "brisk", "fast", "build"]);
    let without =
        select(vec!["part: kick", "part: scull", "stroke: medley", "stroke: fly", "stroke: choice", "drill: fist"]);
    prop_oneof![
        6 => (tempo, stroke.clone(), lengths.clone()).prop_map(|(a, b, c)| (format!("{a}{b}{c}"), true)),
        1 => (effort, stroke, lengths).prop_map(|(a, b, c)| (format!("effort: {a}{b}{c}"), false)),
        1 => (95_u32..170, half).prop_map(|(p, half)| (format!("pace: {p} s{half}"), false)),
        1 => without.prop_map(|w| (w.to_owned(), false)),
    ]
    .boxed()
}

fn breathe(pool: bool) -> BoxedStrategy<String> {
    let sides = (2_u32..40, 2_u32..40).prop_map(|(r, l)| format!(", breathe: {{ right: {r}, left: {l} }}"));
    let mut forms =
        vec!["", ", breathe: every 2", ", breathe: every 3", ", breathe: every 3 left", ", breathe: every 4 right"];
    forms.push(", breathe: by repeat");
    if pool {
        forms.push(", breathe: by length");
    }
    prop_oneof![3 => select(forms).prop_map(str::to_owned), 2 => sides].boxed()
}

fn focus(pool: bool) -> BoxedStrategy<String> {
    let phrases =
        proptest::sample::subsequence(vec!["reach-forward", "head-still", "quick", "no-short", "long-short"], 1..4);
    let mut changes = vec!["repeat", "round", "set", "7 strokes", "20 strokes", "45 strokes"];
    if pool {
        changes.push("length");
    }
    let order = select(vec!["in turn", "blocked", "shuffled"]);
    prop_oneof![
        1 => Just(String::new()),
        3 => (phrases, select(changes), order).prop_map(|(some, change, order)| {
            format!(", focus: {{ phrases: [{}], change: {change}, order: {order} }}", some.join(", "))
        }),
    ]
    .boxed()
}

fn leave() -> impl Strategy<Value = (Leave, String)> {
    prop_oneof![
        2 => (0_i64..300).prop_map(|more| (Leave::SendOff(900 + more), format!(", send-off: {} s", 900 + more))),
        3 => (1_i64..90).prop_map(|rest| (Leave::Rest(rest), format!(", rest: {rest} s"))),
        1 => (1_i64..20).prop_map(|rest| (Leave::Per(rest), format!(", rest: {rest} s per 50 UNIT"))),
        3 => Just((Leave::Join, ", rest: 0 s".to_owned())),
    ]
}

fn swim(water: Water) -> impl Strategy<Value = Swim> {
    let pool = water.is_some();
    far(water).prop_flat_map(move |(what, each)| {
        let marks = (prop::option::of(4_u32..20), prop::option::of(20_u32..60));
        let extra = if pool {
            select(vec!["", "", ", count: last length", ", count: each length", ", strokes: { at-most: 20 }"])
        } else {
            select(vec![""])
        };
        let beats = prop_oneof![
            1 => Just(None),
            3 => select(vec!["plain", "thirds", "sparse", "none"]).prop_map(Some),
        ];
        let gear = select(vec!["", "", "", "fins", "buoy, paddles", "none"]);
        let test = prop_oneof![6 => Just(""), 1 => select(vec!["time", "count"])];
        let manner = manner(pool, each.len());
        (leave(), manner, (breathe(pool), focus(pool)), (marks, extra), beats, gear, test).prop_map(
            move |((leave, rest), (mut keys, beat), (breathe, focus), ((sight, call), extra), beats, gear, test)| {
                let sign = water.map_or("m", |(_, sign)| sign);
                let strokes = !["part: kick", "part: scull"].contains(&keys.as_str());
                let (sight, call) = if strokes { (sight, call) } else { (None, None) };
                let beats = beats.filter(|beats| beat && (test.is_empty() || *beats == "none"));
                if let Some((length, _)) = water.filter(|_| keys.contains("second-half"))
                    && each.iter().any(|(metres, _)| metres.unwrap_or(0) / length % 2 == 1)
                {
                    keys.truncate(keys.find(", second-half").unwrap_or(keys.len()));
                }
                keys.push_str(&rest.replace("UNIT", sign));
                keys.push_str(&breathe);
                // What a length's own strokes decide would clash with a change by strokes: that is an error of its own.
                keys.push_str(&focus);
                let option =
                    |name: &str, n: Option<u32>| n.map_or_else(String::new, |n| format!(", {name}: every {n} strokes"));
                keys.push_str(&(option("sight", sight) + &option("call", call)));
                if strokes {
                    keys.push_str(extra);
                }
                if let Some(beats) = beats {
                    write!(keys, ", beats: {beats}").unwrap();
                }
                if !gear.is_empty() {
                    write!(keys, ", gear: {}", if gear == "none" { "none".into() } else { format!("[{gear}]") })
                        .unwrap();
                }
                if !test.is_empty() {
                    write!(keys, ", test: {test}").unwrap();
                }
                if pool {
                    keys.push_str(", end: far");
                }
                let known = |(metres, seconds): &(Option<u32>, Option<i64>)| Known {
                    metres: *metres,
                    seconds: *seconds,
                    leave,
                    gear: if gear == "none" { "" } else { gear },
                    test: !test.is_empty(),
                    beats,
                    every: [sight, call],
                    between: None,
                };
                Swim { what: what.clone(), keys, repeats: each.iter().map(known).collect() }
            },
        )
    })
}

/// A random script.
pub fn anything() -> impl Strategy<Value = Anything> {
    let water = prop_oneof![
        3 => select(vec![(25_u32, "m"), (50, "m"), (25, "yd"), (20, "yd")]).prop_map(Some),
        2 => Just(None),
    ];
    (water, any::<bool>(), 0_i64..60).prop_flat_map(|(water, speaker, gear_change)| {
        let set = (1_usize..4, prop::option::of(1_i64..120), prop::collection::vec(swim(water), 1..4));
        prop::collection::vec(set, 1..4).prop_map(move |sets| write(&sets, water, speaker, gear_change))
    })
}

fn write(sets: &[(usize, Option<i64>, Vec<Swim>)], water: Water, speaker: bool, gear_change: i64) -> Anything {
    let pool = water.map_or("open water".to_owned(), |(length, sign)| format!("{length} {sign}"));
    let mut yaml = format!(
        "lengthwise: 1\ntitle: Anything\npool: {pool}\nsettings: {{ gear-change: {gear_change} s }}\nbeats:\n  plain: {{ sound: tick }}\n  \
         thirds: {{ sound: wood, accent: {{ every: 3, sound: bell }} }}\n  \
         sparse: {{ sound: low, every: 3 strokes, accent: {{ every: 4, sound: high }} }}\npractice:\n"
    );
    let mut known = Vec::new();
    for (rounds, between, swims) in sets {
        let between = between.filter(|_| *rounds > 1);
        let list: Vec<_> = swims.iter().map(|swim| format!("      {{ {}, {} }}", swim.what, swim.keys)).collect();
        let rest = between.map_or_else(String::new, |rest| format!(", between-rounds: {rest} s"));
        writeln!(yaml, "  - {{ set: Anything, rounds: {rounds}{rest}, do: [\n{} ] }}", list.join(",\n")).unwrap();
        let mut round: Vec<Known> = swims.iter().flat_map(|swim| swim.repeats.clone()).collect();
        if let Some(last) = round.last_mut() {
            last.between = between;
        }
        let mut all: Vec<Known> = (0..*rounds).flat_map(|_| round.clone()).collect();
        if let Some(last) = all.last_mut() {
            last.between = None;
        }
        known.push(all);
    }
    Anything { yaml, speaker, gear_change, sets: known }
}
