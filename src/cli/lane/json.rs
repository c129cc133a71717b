//! The report of lanes as a record for programs. Times are in seconds, distances in metres, chances in shares of the runs.

use super::advice::lines;
use super::report::{LaneReport, LanesReport};
use crate::diag::shown::Shown;
use crate::lane::clock::marks;
use crate::lane::simulate::{Catch, SetOutcome};
use crate::script::lane::Circle;
use crate::units::time::Seconds;
use serde::Serialize;

#[derive(Serialize)]
struct SimulatedLanes<'a> {
    title: &'a str,
    runs: u32,
    seed: u64,
    wanted_rest_s: u32,
    lanes: Vec<SimulatedLane<'a>>,
}

#[derive(Serialize)]
struct SimulatedLane<'a> {
    lane: &'a str,
    pool: String,
    circle: &'static str,
    gap_s: f64,
    swimmers: Vec<SwimmerLine<'a>>,
    sets: Vec<SetLine<'a>>,
    advised_order: Vec<&'a str>,
    advised_gap_s: f64,
    advice: Vec<String>,
}

#[derive(Serialize)]
struct SwimmerLine<'a> {
    number: u32,
    name: &'a str,
    swims: String,
    offset_s: f64,
}

#[derive(Serialize)]
struct SetLine<'a> {
    title: &'a str,
    first_go_s: f64,
    starts: Vec<StartLine>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pace_clock: Vec<u32>,
    swimmers: Vec<OutcomeLine<'a>>,
    catches: Vec<CatchLine<'a>>,
    talk_reaches_all: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    talk_s: Option<f64>,
    standing_at_a_turn: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    quickest_send_off_s: Option<f64>,
}

#[derive(Serialize)]
struct StartLine {
    at_s: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    after_s: Option<f64>,
    touches_s: Vec<Option<f64>>,
}

#[derive(Serialize)]
struct OutcomeLine<'a> {
    name: &'a str,
    time_s: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    rest_s: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    worst_rest_s: Option<f64>,
    late: f64,
    caught: f64,
}

#[derive(Serialize)]
struct CatchLine<'a> {
    behind: &'a str,
    front: &'a str,
    chance: f64,
    start: usize,
    metre: f64,
}

/// To a hundredth: what chance draws is not finer.
fn rounded(value: f64) -> f64 {
    libm::round(value * 100.0) / 100.0
}

/// The record.
pub(super) fn json(report: &LanesReport<'_>) -> Shown {
    Shown::json(&SimulatedLanes {
        title: report.title,
        runs: report.runs,
        seed: report.seed,
        wanted_rest_s: report.rest,
        lanes: report.lanes.iter().map(|lane| of_lane(lane, report)).collect(),
    })
}

fn of_lane<'a>(report: &'a LaneReport<'_>, all: &LanesReport<'_>) -> SimulatedLane<'a> {
    let lane = report.lane;
    let name = |place: usize| lane.swimmers.get(place).map_or("", |swimmer| swimmer.name.as_str());
    let sets = lane.sets.iter().zip(report.outcomes).enumerate().map(|(index, (set, outcome))| {
        let go = all.goes.get(index).copied().unwrap_or_default();
        let after: Vec<Seconds> = set.starts.iter().filter_map(|start| start.after).collect();
        let even = after.first().filter(|first| after.iter().all(|after| after == *first));
        SetLine {
            title: &set.title,
            first_go_s: go.as_f64(),
            starts: starts(set.starts.iter().map(|start| (start.at, start.after)), outcome),
            pace_clock: even.map_or_else(Vec::new, |after| marks(go, *after)),
            swimmers: outcomes(outcome, &name),
            catches: outcome.catches.iter().map(|catch| of_catch(catch, &name)).collect(),
            talk_reaches_all: rounded(outcome.talk),
            talk_s: outcome.talk_len.map(rounded),
            standing_at_a_turn: outcome.standing,
            quickest_send_off_s: report.advice.send_offs.get(index).copied().flatten(),
        }
    });
    SimulatedLane {
        lane: &lane.name,
        pool: lane.pool.distance().to_string(),
        circle: Circle::ALL.iter().find(|(_, circle)| *circle == lane.circle).map_or("", |(word, _)| word),
        gap_s: lane.gap.as_f64(),
        swimmers: lane
            .swimmers
            .iter()
            .map(|swimmer| SwimmerLine {
                number: swimmer.number,
                name: &swimmer.name,
                swims: swimmer.share.to_string(),
                offset_s: swimmer.offset.as_f64(),
            })
            .collect(),
        sets: sets.collect(),
        advised_order: report.advice.order.iter().map(|place| name(*place)).collect(),
        advised_gap_s: report.advice.gap,
        advice: lines(report, all),
    }
}

fn starts(starts: impl Iterator<Item = (Seconds, Option<Seconds>)>, outcome: &SetOutcome) -> Vec<StartLine> {
    let line = |((at, after), run): ((Seconds, Option<Seconds>), &crate::lane::run::StartRun)| StartLine {
        at_s: at.as_f64(),
        after_s: after.map(Seconds::as_f64),
        touches_s: run.swims.iter().map(|swim| swim.map(|swim| rounded(swim.touch))).collect(),
    };
    starts.zip(&outcome.predicted).map(line).collect()
}

fn outcomes<'a>(outcome: &SetOutcome, name: &impl Fn(usize) -> &'a str) -> Vec<OutcomeLine<'a>> {
    let line = |(place, found): (usize, &crate::lane::simulate::SwimmerOutcome)| OutcomeLine {
        name: name(place),
        time_s: rounded(found.time),
        rest_s: found.rest.map(rounded),
        worst_rest_s: found.worst_rest,
        late: rounded(found.late),
        caught: rounded(found.caught),
    };
    outcome.swimmers.iter().enumerate().map(line).collect()
}

fn of_catch<'a>(catch: &Catch, name: &impl Fn(usize) -> &'a str) -> CatchLine<'a> {
    CatchLine {
        behind: name(catch.behind),
        front: name(catch.front),
        chance: rounded(catch.chance),
        start: catch.start + 1,
        metre: rounded(catch.metre),
    }
}
