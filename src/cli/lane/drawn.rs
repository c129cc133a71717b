//! The report of a lane as a page for a browser: its words are those of the text.

use super::advice::lines;
use super::page::{about, cells, found, notes, swum};
use super::report::{LaneReport, LanesReport};
use crate::page::lane::{LanePart, LanePartSet, LanesPage};
use crate::page::typed::DecimalMark;

/// The page.
pub(super) fn drawn<'r>(report: &'r LanesReport<'r>, decimals: DecimalMark) -> LanesPage<'r> {
    let lanes = report.lanes.iter().map(|lane| part(lane, report)).collect();
    LanesPage { title: report.title, lanes, found: found(report), decimals }
}

fn part<'r>(report: &'r LaneReport<'r>, all: &'r LanesReport<'r>) -> LanePart<'r> {
    let lane = report.lane;
    let sets = lane.sets.iter().zip(report.outcomes).enumerate().map(|(index, (set, outcome))| {
        let own = lane.swimmers.first().and_then(|leader| leader.practice.sets().nth(index));
        LanePartSet {
            title: &set.title,
            what: own.map_or_else(String::new, |own| swum(own, set)),
            go: all.goes.get(index).copied().unwrap_or_default(),
            rows: cells(report, outcome, index),
            notes: notes(report, all, index),
            starts: &outcome.predicted,
        }
    });
    LanePart {
        name: &lane.name,
        about: about(report),
        pool: lane.pool.metres(),
        swimmers: lane.swimmers.iter().map(|swimmer| swimmer.name.as_str()).collect(),
        sets: sets.collect(),
        advice: lines(report, all),
    }
}
