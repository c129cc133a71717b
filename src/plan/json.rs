//! The plan as JSON, for other programs. The records here are the format: fields are added, never renamed.

use super::{Plan, RepeatPlan, SetPlan, TrackPlan};
use crate::diag::shown::Shown;
use crate::diag::{Diagnostic, Severity, Sources};
use crate::lane::Lane;
use crate::units::time::Seconds;
use serde::Serialize;

#[derive(Serialize)]
struct PlanRecord<'a> {
    title: &'a str,
    pool: &'a str,
    duration_s: f64,
    distance_m: f64,
    strokes: u32,
    sets: Vec<SetRecord<'a>>,
    focus: Vec<FocusRecord<'a>>,
    breaths: BreathsRecord,
    assumptions: &'a [String],
    cautions: Vec<String>,
    dropped: Vec<DroppedRecord<'a>>,
    built_in_voice: &'a [String],
    diagnostics: Vec<DiagnosticRecord<'a>>,
    /// For a player only.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    tracks: Vec<TrackRecord<'a>>,
    /// Of a lane only.
    #[serde(skip_serializing_if = "Option::is_none")]
    lane: Option<LaneRecord<'a>>,
    /// Of several lanes each: the plan is then that of one speaker for all of them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    lanes: Vec<PlanRecord<'a>>,
    /// Why there is no such plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    no_one_speaker: Option<&'a str>,
}

#[derive(Serialize)]
struct LaneRecord<'a> {
    name: &'a str,
    gap_s: f64,
    /// In the order of leaving.
    swimmers: Vec<LaneSwimmerRecord<'a>>,
}

#[derive(Serialize)]
struct LaneSwimmerRecord<'a> {
    name: &'a str,
    /// After the first go of each start of the lane.
    offset_s: f64,
    swims: String,
}

#[derive(Serialize)]
struct TrackRecord<'a> {
    number: usize,
    title: &'a str,
    /// The set and the first and the last repeat, all from 1; absent where nobody swims.
    set: Option<usize>,
    repeats: Option<[usize; 2]>,
    start_s: f64,
    duration_s: f64,
}

#[derive(Serialize)]
struct SetRecord<'a> {
    title: &'a str,
    repeats: Vec<RepeatRecord<'a>>,
}

#[derive(Serialize)]
struct RepeatRecord<'a> {
    start_s: f64,
    distance_m: f64,
    lengths: u32,
    tempo_s: Option<f64>,
    count: Option<f64>,
    strokes: u32,
    predicted_s: f64,
    send_off_s: Option<f64>,
    rest_s: Option<f64>,
    focus: Vec<&'a str>,
}

#[derive(Serialize)]
struct FocusRecord<'a> {
    phrase: &'a str,
    strokes: u32,
}

#[derive(Serialize)]
struct BreathsRecord {
    left: u32,
    right: u32,
}

#[derive(Serialize)]
struct DroppedRecord<'a> {
    at_s: f64,
    id: &'a str,
    text: &'a str,
}

#[derive(Serialize)]
struct DiagnosticRecord<'a> {
    code: &'static str,
    severity: &'static str,
    message: &'a str,
    file: Option<&'a str>,
    line: Option<usize>,
    column: Option<usize>,
    hint: Option<&'a str>,
}

/// The plan with its diagnostics as one JSON object. `plan` is absent where the script has errors: then all its
/// fields but the diagnostics are empty. `lane` is whose plan it is, where that is a lane's.
pub fn plan(plan: Option<&Plan>, lane: Option<&Lane>, diagnostics: &[Diagnostic], sources: &Sources) -> Shown {
    Shown::json(&record(plan, lane, diagnostics, sources))
}

/// The plans of several lanes, and that of one speaker for all of them, or why there is none, as one JSON object.
pub fn lanes(
    lanes: &[(&Plan, &Lane)],
    one_speaker: Result<&Plan, &str>,
    diagnostics: &[Diagnostic],
    sources: &Sources,
) -> Shown {
    let all = record(one_speaker.ok(), None, diagnostics, sources);
    let each = lanes.iter().map(|(plan, lane)| record(Some(plan), Some(lane), &[], sources)).collect();
    Shown::json(&PlanRecord { lanes: each, no_one_speaker: one_speaker.err(), ..all })
}

fn record<'a>(
    plan: Option<&'a Plan>,
    lane: Option<&'a Lane>,
    diagnostics: &'a [Diagnostic],
    sources: &'a Sources,
) -> PlanRecord<'a> {
    let cautions =
        diagnostics.iter().filter(|d| d.severity() == Severity::Caution).map(|d| d.message.clone()).collect();
    let unit = plan.map_or(1.0, |plan| plan.unit_metres);
    PlanRecord {
        title: plan.map_or("", |plan| &plan.title),
        pool: plan.map_or("", |plan| &plan.pool),
        duration_s: plan.map_or(0.0, |plan| plan.duration.as_f64()),
        distance_m: metres(plan.map_or(0, |plan| plan.distance), unit),
        strokes: plan.map_or(0, |plan| plan.strokes),
        sets: plan.map_or_else(Vec::new, |plan| plan.sets.iter().map(|set| set_record(set, unit)).collect()),
        focus: plan.map_or_else(Vec::new, |plan| {
            plan.focus.iter().map(|focus| FocusRecord { phrase: &focus.phrase, strokes: focus.strokes }).collect()
        }),
        breaths: plan.map_or(BreathsRecord { left: 0, right: 0 }, |plan| BreathsRecord {
            left: plan.breaths.left,
            right: plan.breaths.right,
        }),
        assumptions: plan.map_or(&[], |plan| &plan.assumptions),
        cautions,
        dropped: plan.map_or_else(Vec::new, |plan| {
            plan.dropped.iter().map(|d| DroppedRecord { at_s: d.at.as_f64(), id: &d.id, text: &d.text }).collect()
        }),
        built_in_voice: plan.map_or(&[], |plan| &plan.voiced),
        diagnostics: diagnostics.iter().map(|d| diagnostic_record(d, sources)).collect(),
        tracks: plan.map_or_else(Vec::new, |plan| plan.tracks.iter().map(track_record).collect()),
        lane: lane.map(lane_record),
        lanes: Vec::new(),
        no_one_speaker: None,
    }
}

fn lane_record(lane: &Lane) -> LaneRecord<'_> {
    let swimmers = lane.swimmers.iter().map(|who| LaneSwimmerRecord {
        name: &who.name,
        offset_s: who.offset.as_f64(),
        swims: who.share.to_string(),
    });
    LaneRecord { name: &lane.name, gap_s: lane.gap.as_f64(), swimmers: swimmers.collect() }
}

fn track_record(track: &TrackPlan) -> TrackRecord<'_> {
    TrackRecord {
        number: track.number,
        title: &track.title,
        set: track.set.map(|set| set + 1),
        repeats: track.set.map(|_| [track.repeats.start + 1, track.repeats.end]),
        start_s: track.start.as_f64(),
        duration_s: track.len.as_f64(),
    }
}

fn set_record(set: &SetPlan, unit: f64) -> SetRecord<'_> {
    SetRecord { title: &set.title, repeats: set.repeats.iter().map(|repeat| repeat_record(repeat, unit)).collect() }
}

fn repeat_record(repeat: &RepeatPlan, unit: f64) -> RepeatRecord<'_> {
    RepeatRecord {
        start_s: repeat.start.as_f64(),
        distance_m: metres(repeat.distance, unit),
        lengths: repeat.lengths,
        tempo_s: repeat.tempo.map(|tempo| tempo.as_f64()),
        count: repeat.count.map(|count| libm::round(count * 10.0) / 10.0),
        strokes: repeat.strokes,
        predicted_s: repeat.predicted.as_f64(),
        send_off_s: repeat.send_off.map(Seconds::as_f64),
        rest_s: repeat.rest.map(Seconds::as_f64),
        focus: repeat.focus.iter().map(AsRef::as_ref).collect(),
    }
}

/// A problem as in the plan's `diagnostics`.
pub fn problem(diagnostic: &Diagnostic, sources: &Sources) -> serde_json::Value {
    #[expect(clippy::expect_used, reason = "its keys are texts, and every value in it has a form in JSON")]
    serde_json::to_value(diagnostic_record(diagnostic, sources)).expect("a record of texts and numbers")
}

fn diagnostic_record<'a>(diagnostic: &'a Diagnostic, sources: &'a Sources) -> DiagnosticRecord<'a> {
    let place = diagnostic.span.map(|span| sources.place(span));
    DiagnosticRecord {
        code: diagnostic.code.word(),
        severity: diagnostic.severity().word(),
        message: &diagnostic.message,
        file: diagnostic.span.map(|span| sources.name(span.source)),
        line: place.map(|(line, _)| line),
        column: place.map(|(_, column)| column),
        hint: diagnostic.hint.as_deref(),
    }
}

/// Metres to the millimetre, so that yards do not trail digits.
fn metres(count: u32, unit: f64) -> f64 {
    libm::round(f64::from(count) * unit * 1000.0) / 1000.0
}
