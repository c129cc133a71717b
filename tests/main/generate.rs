//! Scripts nobody thought of: random practices written as YAML, with what they must come to counted beside them. Most
//! can be swum; some have errors, which is part of the language too.

use proptest::prelude::*;
use proptest::sample::select;
use std::fmt::Write;

/// One random script with what is known of it without reading it.
#[derive(Clone, Debug)]
pub struct Generated {
    /// The YAML.
    pub yaml: String,
    /// The profile's YAML; none for the assumed swimmer.
    pub profile: Option<String>,
    /// `countdown`, in seconds.
    pub countdown: i64,
    /// One traverse in the pool's unit.
    pub pool: u32,
    /// The sets in their order.
    pub sets: Vec<Known>,
}

/// What a set must come to.
#[derive(Clone, Debug)]
pub struct Known {
    /// Each repeat in the order swum.
    pub repeats: Vec<Swum>,
    /// Seconds of standing rest written before it.
    pub standing: i64,
}

/// One repeat as written.
#[derive(Clone, Copy, Debug)]
pub struct Swum {
    /// Lengths.
    pub lengths: u32,
    /// When the next one starts, in seconds: after the start, or after the touch.
    pub leave: Leave,
}

/// See [`Swum::leave`].
#[derive(Clone, Copy, Debug)]
pub enum Leave {
    /// `on`
    SendOff(i64),
    /// `rest`
    Rest(i64),
}

#[derive(Clone, Debug)]
struct Swim {
    repeats: u32,
    lengths: u32,
    leave: Leave,
    shorthand: bool,
    manner: String,
    tail: String,
}

#[derive(Clone, Debug)]
enum Item {
    Say(&'static str),
    Rest(i64),
    Set { title: &'static str, head: String, rounds: u32, swims: Vec<Swim> },
}

/// Phrases with a short form, without one, long, and recorded.
const PHRASES: [&str; 8] =
    ["reach-forward", "head-still", "breathe-out", "soft-hand", "quick", "endless", "no-short", "long-short"];

/// The manifest of the pack that these scripts lie in: the shipped phrases, and some that are hard to place.
pub const PACK: &str = "\
lengthwise-pack: 1
title: Odd phrases
language: en-GB
speaker: { voice: nobody, made-with: nothing, agreed: nobody speaks }
licence: MIT
uses: [first-lengths]
phrases:
  quick: { full: quick, short: now }
  endless: { full: one two three four five six seven eight nine ten eleven, short: one two three }
  no-short: { full: a phrase without a short form }
  long-short: { full: long, short: a short form longer than it should be }
";

fn timing(lengths: u32, pool: u32) -> impl Strategy<Value = Leave> {
    // The slowest length is a drill: about 1.7 s a metre for the swimmers below. A share of the send-offs is too short,
    // and one lies so near the touch at a tempo that beats would run into the countdown.
    let enough = i64::from(lengths * (pool * 2 + 6));
    let near = i64::from(lengths * pool * 11 / 10);
    prop_oneof![
        4 => (1_i64..90).prop_map(Leave::Rest),
        4 => (0_i64..60).prop_map(move |more| Leave::SendOff((enough + more).max(5))),
        2 => (0_i64..8).prop_map(move |more| Leave::SendOff((near + more).max(5))),
        1 => (2_i64..10).prop_map(move |part| Leave::SendOff((enough * part / 10).max(5))),
    ]
}

fn clock(seconds: i64) -> String {
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

fn tempo(repeats: u32) -> BoxedStrategy<String> {
    let one = prop_oneof![
        (80_u32..170).prop_map(|c| format!("tempo: {}.{:02} s", c / 100, c % 100)),
        (10_000_000_000_u64..16_000_000_000).prop_map(|t| format!(
            "tempo: {}.{:010} s",
            t / 10_000_000_000,
            t % 10_000_000_000
        )),
        (360_u32..700).prop_map(|r| format!("tempo: {}.{} /min", r / 10, r % 10)),
        (80_u32..170, 80_u32..170).prop_map(move |(a, b)| match repeats {
            1 => format!("tempo: [{a}0 ms]"),
            _ => format!("tempo: [{a}0 ms, {b}0 ms]"),
        }),
    ];
    if repeats < 2 {
        return one.boxed();
    }
    let range = prop_oneof![
        (110_u32..170, 80_u32..109).prop_map(|(a, b)| format!("tempo: {{ from: {a}0 ms, to: {b}0 ms }}")),
        (36_u32..50, 51_u32..70).prop_map(|(a, b)| format!("tempo: {{ from: {a} /min, to: {b} /min }}")),
        (120_u32..150, 2_u32..6).prop_map(move |(a, step)| {
            format!("tempo: {{ from: {a}0 ms, to: {}0 ms, step: {step}0 ms }}", a - step * (repeats - 1))
        }),
    ];
    prop_oneof![one, range].boxed()
}

fn manner(repeats: u32) -> BoxedStrategy<String> {
    let beats = prop_oneof![
        2 => Just(String::new()),
        3 => select(vec!["plain", "thirds", "sparse", "long", "each-stroke", "none"]).prop_map(|name| format!(", beats: {name}")),
    ];
    let breathe = prop_oneof![
        2 => Just(String::new()),
        1 => select(vec![2, 3, 4]).prop_map(|n| format!(", breathe: every {n}")),
    ];
    let target = prop_oneof![
        2 => Just(String::new()),
        1 => (15_u32..40).prop_map(|most| format!(", strokes: {{ at-most: {most} }}")),
        1 => (0_u32..3).prop_map(|more| format!(", strokes: {{ at-most: predicted + {more} }}")),
    ];
    let effort = select(vec!["easy", "steady", "brisk", "fast", "build"]).prop_map(|word| format!("effort: {word}"));
    let drill = select(vec!["fist", "catch-up", "side-kick"]).prop_map(|word| format!("drill: {word}"));
    let pace = prop_oneof![
        (95_i64..170).prop_map(|t| format!("pace: {}", clock(t))),
        (130_i64..170, 95_i64..129).prop_map(move |(a, b)| match repeats {
            1 => format!("pace: {}", clock(a)),
            _ => format!("pace: {{ from: {}, to: {} }}", clock(a), clock(b)),
        }),
    ];
    prop_oneof![
        5 => (tempo(repeats), beats, breathe.clone(), target).prop_map(|(a, b, c, d)| a + &b + &c + &d),
        2 => (effort, breathe).prop_map(|(a, b)| a + &b),
        1 => drill.clone(),
        1 => (drill, tempo(repeats)).prop_map(|(a, b)| format!("{a}, {b}")),
        1 => pace,
        1 => Just("effort: easy, beats: none".to_owned()),
    ]
    .boxed()
}

fn focus() -> impl Strategy<Value = String> {
    let phrases = proptest::sample::subsequence(PHRASES.to_vec(), 1..5).prop_shuffle();
    let change = prop_oneof![
        4 => select(vec!["length", "repeat", "round", "set"]).prop_map(str::to_owned),
        3 => (4_u32..60).prop_map(|n| format!("{n} strokes")),
    ];
    let order = select(vec!["in turn", "blocked", "shuffled"]);
    prop_oneof![
        1 => Just(String::new()),
        1 => select(PHRASES.to_vec()).prop_map(|one| format!(", focus: {one}")),
        1 => phrases.clone().prop_map(|some| format!(", focus: [{}]", some.join(", "))),
        6 => (phrases, change, order).prop_map(|(some, change, order)| {
            format!(", focus: {{ phrases: [{}], change: {change}, order: {order} }}", some.join(", "))
        }),
    ]
}

fn swim(pool: u32) -> impl Strategy<Value = Swim> {
    (1_u32..6, prop_oneof![3 => 1_u32..5, 1 => 5_u32..17]).prop_flat_map(move |(repeats, lengths)| {
        (timing(lengths, pool), any::<bool>(), manner(repeats), focus())
            .prop_map(move |(leave, shorthand, manner, tail)| Swim { repeats, lengths, leave, shorthand, manner, tail })
    })
}

fn item(pool: u32) -> impl Strategy<Value = Item> {
    let title = select(vec!["Easy start", "Steady beat", "Nobody recorded this title", "Easy end"]);
    let phase = select(vec!["", ", phase: warm-up", ", phase: build", ", phase: main", ", phase: cool-down"]);
    let set =
        (title, phase, prop_oneof![3 => Just(1_u32), 1 => 2_u32..4], prop::collection::vec(swim(pool), 1..4), focus())
            .prop_map(|(title, phase, rounds, swims, shared)| {
                // A focus of the set runs on through the swims that have none.
                let listed = rounds > 1 || swims.len() > 1;
                let head = if listed { format!("{phase}{shared}") } else { phase.to_owned() };
                Item::Set { title, head, rounds, swims }
            });
    prop_oneof![
        1 => select(vec!["welcome", "half-way", "last-part"]).prop_map(Item::Say),
        1 => (1_i64..200).prop_map(Item::Rest),
        6 => set,
    ]
}

fn profile() -> impl Strategy<Value = Option<String>> {
    let points = (100_u32..140, 14_u32..24, 75_u32..99, 0_u32..6, 0_u32..6, 0_u32..6, any::<bool>());
    prop_oneof![
        1 => Just(None),
        1 => points.prop_map(|(slow, few, quick, more, wall, glide, left)| {
            let side = if left { "left" } else { "right" };
            Some(format!(
                "lengthwise-profile: 1\npool: 25 m\nwall: {wall}500 ms\nglide: {} m\nside: {side}\nstroke:\n  \
                 - {{ tempo: {slow}0 ms, count: {few} }}\n  - {{ tempo: {quick}0 ms, count: {} }}\n",
                glide + 1,
                few + more,
            ))
        }),
    ]
}

/// A random script.
pub fn script() -> impl Strategy<Value = Generated> {
    let pool = select(vec![(25_u32, "m"), (25, "m"), (50, "m"), (25, "yd"), (33, "m"), (12, "m"), (100, "yd")]);
    let settings = (3_i64..=10, any::<u32>());
    (pool, settings, profile()).prop_flat_map(|((pool, unit), (countdown, seed), profile)| {
        prop::collection::vec(item(pool), 1..6)
            .prop_map(move |items| write(&items, (pool, unit), (countdown, seed), profile.clone()))
    })
}

fn write(
    items: &[Item],
    (pool, unit): (u32, &str),
    (countdown, seed): (i64, u32),
    profile: Option<String>,
) -> Generated {
    let mut yaml = format!(
        "lengthwise: 1\ntitle: Anything\npool: {pool} {unit}\nsettings: {{ countdown: {countdown} s, seed: {seed} }}\n\
         beats:\n  plain: {{ sound: tick }}\n  thirds: {{ sound: wood, accent: {{ every: 3, sound: bell }} }}\n  \
         sparse: {{ sound: low, every: 3 strokes, accent: {{ every: 4, level: 3 dB }} }}\n  \
         long: {{ sound: high, length: 200 ms }}\npractice:\n"
    );
    let (mut sets, mut standing) = (Vec::new(), 0);
    for item in items {
        match item {
            Item::Say(id) => writeln!(yaml, "  - say: {id}").unwrap(),
            Item::Rest(seconds) => {
                standing += seconds;
                writeln!(yaml, "  - rest: {seconds} s").unwrap();
            }
            Item::Set { title, head, rounds, swims } => {
                if let ([swim], 1) = (swims.as_slice(), rounds) {
                    writeln!(yaml, "  - {{ set: {title}{head}, {} }}", swim.write(pool, unit)).unwrap();
                } else {
                    let lines: Vec<_> =
                        swims.iter().map(|swim| format!("      {{ {} }}", swim.write(pool, unit))).collect();
                    let lines = lines.join(",\n");
                    writeln!(yaml, "  - {{ set: {title}{head}, rounds: {rounds}, do: [\n{lines} ] }}").unwrap();
                }
                let round = swims.iter().flat_map(|swim| {
                    std::iter::repeat_n(Swum { lengths: swim.lengths, leave: swim.leave }, swim.repeats as usize)
                });
                let repeats = (0..*rounds).flat_map(|_| round.clone()).collect();
                sets.push(Known { repeats, standing: std::mem::take(&mut standing) });
            }
        }
    }
    Generated { yaml, profile, countdown, pool, sets }
}

impl Swim {
    fn write(&self, pool: u32, unit: &str) -> String {
        let Self { repeats, lengths, leave, shorthand, manner, tail } = self;
        let times = if *repeats > 1 { format!("{repeats} x ") } else { String::new() };
        let (on, key) = match leave {
            Leave::SendOff(time) if *shorthand => (format!(" on {}", clock(*time)), String::new()),
            Leave::SendOff(time) => (String::new(), format!(", send-off: {time} s")),
            Leave::Rest(time) => (String::new(), format!(", rest: {time} s")),
        };
        format!("swim: {times}{} {unit}{on}{key}, {manner}{tail}", lengths * pool)
    }
}
