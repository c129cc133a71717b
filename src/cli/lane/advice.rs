//! Advice in one line each.

use super::report::{LaneReport, LanesReport};
use crate::lane::Lane;
use crate::lane::search::Advice;
use crate::script::lane::SwimShare;
use crate::units::time::Seconds;

/// A time as a board has it: `1:45`, `50 s`.
pub(super) fn time(seconds: f64) -> String {
    let whole = Seconds::from_secs(libm::round(seconds) as i64);
    if seconds < 59.5 { format!("{:.0} s", libm::round(seconds)) } else { whole.to_string() }
}

pub(super) fn percent(share: f64) -> String {
    match libm::round(share * 100.0) {
        0.0 if share > 0.0 => "under 1 %".to_owned(),
        whole => format!("{whole:.0} %"),
    }
}

fn name(lane: &Lane, place: usize) -> &str {
    lane.swimmers.get(place).map_or("", |swimmer| swimmer.name.as_str())
}

/// One line a piece of advice.
pub(super) fn lines(report: &LaneReport<'_>, all: &LanesReport<'_>) -> Vec<String> {
    report.advice.advice.iter().map(|advice| line(advice, report, all)).collect()
}

fn line(advice: &Advice, report: &LaneReport<'_>, all: &LanesReport<'_>) -> String {
    let lane = report.lane;
    let title = |set: usize| lane.sets.get(set).map_or("", |set| set.title.as_str());
    match advice {
        Advice::Leave { order, gap, chance } => {
            let order = order.as_ref().map(|order| order_in_words(lane, order));
            let gap = gap.map(|gap| format!("{gap:.0} s apart"));
            let what: Vec<String> = order.into_iter().chain(gap).collect();
            format!("{}: caught at most in {} of runs, now {}", what.join(", "), percent(chance.1), percent(chance.0))
        }
        Advice::OtherLane { who, chance } => format!(
            "{} suits another lane: without them caught at most in {} of runs, now {}",
            name(lane, *who),
            percent(chance.1),
            percent(chance.0)
        ),
        Advice::SendOff { set, send_off, instead } => {
            let instead = instead.map_or(String::new(), |(who, share, metres)| {
                let unit = lane.pool.unit();
                let metres = libm::round(metres / unit.metres());
                let what = match share {
                    SwimShare::Distance { .. } => format!("{metres:.0}s"),
                    SwimShare::Repeats { .. } | SwimShare::Whole => share.to_string(),
                };
                format!(", or {} swims {what}", name(lane, who))
            });
            let (title, rest) = (title(*set), all.rest);
            format!("{title}: on {}{instead}: as predicted everybody rests {rest} s or more", time(*send_off))
        }
        Advice::TooFull { set, standing } => format!(
            "{}: {standing} stand at the wall while somebody turns: too full to stop safely; open another lane",
            title(*set)
        ),
    }
}

/// `swap Bo and Ida`, or the whole order.
fn order_in_words(lane: &Lane, order: &[usize]) -> String {
    let moved: Vec<usize> =
        order.iter().enumerate().filter(|(place, who)| place != *who).map(|(_, who)| *who).collect();
    match moved.as_slice() {
        [a, b] => format!("swap {} and {}", name(lane, *b), name(lane, *a)),
        _ => {
            let names: Vec<&str> = order.iter().map(|place| name(lane, *place)).collect();
            format!("leave in this order: {}", names.join(", "))
        }
    }
}
