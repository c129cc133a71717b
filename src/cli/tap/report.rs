//! What was tapped, for people and for programs.

use crate::diag::shown::Shown;
use crate::tapping::{Tap, TapKey, TappedLength, TappedSwim, Tapping, words};
use crate::units::swim::Side;
use serde::Serialize;

/// For people: a line each length, and below it what is to be said of it.
pub fn text(swim: &TappedSwim, film_speed: f64) -> Shown {
    if swim.lengths.is_empty() {
        return Shown::from("nothing was tapped\n");
    }
    let mut text = Shown::default();
    let walls = swim.lengths.iter().any(|length| length.closed);
    for (number, length) in (1..).zip(&swim.lengths) {
        text.push(Shown::heading(&format!("length {number}")) + format!(": {}\n", line(length)));
        let open = (walls && !length.closed).then(|| "no wall was tapped at its end: it may not be whole".to_owned());
        let odd = length.tempo.and_then(|tempo| words::odd_tempo(tempo.seconds));
        let doubts = length.doubts.iter().map(words::doubt);
        let more = length.drift.as_ref().map(words::drift).into_iter().chain(words::breaths(&length.breaths));
        for said in doubts.chain(more).chain(open).chain(odd) {
            text.push(format!("    {said}\n"));
        }
    }
    if swim.lengths.len() > 1 {
        let count = swim.count().map_or(String::new(), |count| format!("{count} strokes a length, "));
        let tempo = swim.tempo().map_or("no tempo".to_owned(), |tempo| format!("{tempo:.2} s"));
        text.push(format!("on the whole: {count}{tempo} (medians)\n"));
    }
    text.push(Shown::faint(&format!("{}\n", words::own_error(film_speed))));
    text
}

fn line(length: &TappedLength) -> String {
    let mut parts = vec![words::count(length)];
    if let Some(tempo) = &length.tempo {
        parts.extend([words::tempo(tempo), words::rate(tempo.seconds)]);
    }
    parts.extend(length.last.map(|last| format!("last five {last:.2} s")));
    parts.extend(length.time.map(|time| format!("{time:.2} s from wall to wall")));
    parts.join(", ")
}

/// For programs; seconds are to a tenth of a millisecond.
pub fn json(tapping: &Tapping, swim: &TappedSwim, film_speed: f64) -> Shown {
    let whole: Vec<u32> = swim.whole().map(|(number, _)| number).collect();
    let lengths = (1..).zip(&swim.lengths);
    Shown::json(&SwimRecord {
        film_speed,
        tempo_s: swim.tempo().map(short),
        count: swim.count(),
        lengths: lengths.map(|(number, length)| LengthRecord::of(number, length, whole.contains(&number))).collect(),
        taps: tapping.taps().map(TapRecord::of).collect(),
    })
}

fn short(seconds: f64) -> f64 {
    (seconds * 1e4).round() / 1e4
}

#[derive(Serialize)]
struct SwimRecord {
    film_speed: f64,
    tempo_s: Option<f64>,
    count: Option<f64>,
    lengths: Vec<LengthRecord>,
    taps: Vec<TapRecord>,
}

#[derive(Serialize)]
struct LengthRecord {
    length: u32,
    whole: bool,
    tapped: u32,
    likely: Option<u32>,
    count: Option<u32>,
    doubts: Vec<String>,
    tempo_s: Option<f64>,
    within_s: Option<f64>,
    median_s: Option<f64>,
    spread_s: Option<f64>,
    strokes_a_minute: Option<f64>,
    last_five_s: Option<f64>,
    drift: Option<DriftRecord>,
    breaths: TappedBreathsRecord,
    time_s: Option<f64>,
}

#[derive(Serialize)]
struct DriftRecord {
    first_half_s: f64,
    second_half_s: f64,
    within_s: f64,
    seen: bool,
}

#[derive(Serialize)]
struct TappedBreathsRecord {
    left: u32,
    right: u32,
    unsaid: u32,
    every: Option<u32>,
}

#[derive(Serialize)]
struct TapRecord {
    at_s: f64,
    key: &'static str,
}

impl LengthRecord {
    fn of(number: u32, length: &TappedLength, whole: bool) -> Self {
        let tempo = length.tempo;
        Self {
            length: number,
            whole,
            tapped: length.tapped,
            likely: length.likely,
            count: length.count,
            doubts: length.doubts.iter().map(words::doubt).collect(),
            tempo_s: tempo.map(|tempo| short(tempo.seconds)),
            within_s: tempo.and_then(|tempo| tempo.within).map(short),
            median_s: tempo.map(|tempo| short(tempo.median)),
            spread_s: tempo.and_then(|tempo| tempo.spread).map(short),
            strokes_a_minute: tempo.map(|tempo| short(60.0 / tempo.seconds)),
            last_five_s: length.last.map(short),
            drift: length.drift.map(|drift| DriftRecord {
                first_half_s: short(drift.first),
                second_half_s: short(drift.second),
                within_s: short(drift.within),
                seen: drift.is_seen(),
            }),
            breaths: TappedBreathsRecord {
                left: length.breaths.left,
                right: length.breaths.right,
                unsaid: length.breaths.unsaid,
                every: length.breaths.every.map(|(every, ..)| every),
            },
            time_s: length.time.map(short),
        }
    }
}

impl TapRecord {
    fn of(tap: Tap) -> Self {
        let key = match tap.key {
            TapKey::Stroke | TapKey::Anew | TapKey::Undo => "stroke",
            TapKey::Breath(None) => "breath",
            TapKey::Breath(Some(Side::Left)) => "left",
            TapKey::Breath(Some(Side::Right)) => "right",
            TapKey::Wall => "wall",
        };
        Self { at_s: short(tap.at.as_f64()), key }
    }
}
