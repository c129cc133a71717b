//! The report of a lane as text: a table for each set, then what would work better.

use super::advice::{lines, percent, time};
use super::chart::{chart, choice};
use super::report::{LaneReport, LanesReport};
use crate::cli::columns::columns;
use crate::diag::shown::{Shown, printable};
use crate::lane::LaneSet;
use crate::lane::clock::marks;
use crate::lane::simulate::{Catch, SetOutcome};
use crate::plan::deck::describe;
use crate::practice::{Leave, Set};
use crate::script::lane::{Circle, SwimShare};
use crate::units::time::Seconds;

/// Where somebody is caught is told as the wall within so many metres of it.
const AT_THE_WALL: f64 = 3.0;
/// A lane that is done so many seconds before the last one is told.
const WAITS: f64 = 30.0;
/// Catches less likely than this are left to the figures.
const WORTH_TELLING: f64 = 0.01;

/// The page.
pub(super) fn page(report: &LanesReport<'_>) -> Shown {
    let mut page = Shown::default();
    for (index, lane) in report.lanes.iter().enumerate() {
        if index > 0 {
            page.push("\n");
        }
        of_lane(&mut page, lane, report);
    }
    page.push(format!(
        "\n{}\nA coach watches the water, not the screen; lifeguards and the pool's rules decide.\n",
        found(report)
    ));
    page
}

fn of_lane(page: &mut Shown, report: &LaneReport<'_>, all: &LanesReport<'_>) {
    let lane = report.lane;
    page.push(Shown::heading(&format!("{} · lane {}", printable(all.title), printable(&lane.name))));
    page.push(format!(" · {}\n", about(report)));
    for (index, set) in lane.sets.iter().enumerate() {
        let go = all.goes.get(index).copied().unwrap_or_default();
        let (Some(outcome), Some(leader)) = (report.outcomes.get(index), lane.swimmers.first()) else { continue };
        let what = leader.practice.sets().nth(index).map_or_else(String::new, |own| swum(own, set));
        page.push("\n");
        page.push(Shown::heading(&format!("{:>6}  {}", go.to_string(), printable(&set.title))));
        page.push(format!(" · {what}\n"));
        rows(page, report, outcome, index);
        for note in notes(report, all, index) {
            page.push(format!("        {note}\n"));
        }
    }
    picture(page, report);
    let advice = lines(report, all);
    page.push("\n");
    page.push(Shown::heading("Advice"));
    if advice.is_empty() {
        page.push(" · leave it as it is\n");
    } else {
        page.push("\n");
        advice.iter().for_each(|line| page.push(format!("  {}\n", printable(line))));
    }
}

/// The pool, how many swim, how far apart, and which way round.
pub(super) fn about(report: &LaneReport<'_>) -> String {
    let lane = report.lane;
    let circle = Circle::ALL.iter().find(|(_, circle)| *circle == lane.circle).map_or("", |(word, _)| word);
    let swimmers = match lane.swimmers.len() {
        1 => "1 swimmer".to_owned(),
        count => format!("{count} swimmers, {:.0} s apart", lane.gap.as_f64()),
    };
    format!("{} pool · {swimmers} · {circle}", lane.pool.distance())
}

/// How the figures were found.
pub(super) fn found(report: &LanesReport<'_>) -> String {
    format!(
        "{} runs of each set, seed {}: rest is the mean and what one in ten is below; caught is in how many runs somebody comes \
         up to the feet in front.",
        report.runs, report.seed
    )
}

/// The start that shows most, drawn small.
fn picture(page: &mut Shown, report: &LaneReport<'_>) {
    let lane = report.lane;
    let Some((set, index)) = choice(report) else { return };
    let start = report.outcomes.get(set).and_then(|outcome| outcome.predicted.get(index));
    let (Some(start), Some(plan)) = (start, lane.sets.get(set)) else { return };
    if lane.swimmers.len() < 2 {
        return;
    }
    let len = time(start.last_touch() - start.at);
    let ring = if start.swims.iter().flatten().any(|swim| swim.contact.is_some()) { "; * is a catch" } else { "" };
    page.push("\n");
    page.push(Shown::faint(&format!(
        "        {}, repeat {}, as predicted: the far wall above, {len} to the right{ring}\n",
        printable(&plan.title),
        index + 1
    )));
    chart(start, lane.pool.metres()).iter().for_each(|line| page.push(format!("        |{line}\n")));
}

/// What is swum, line by line, each with the interval of the lane.
pub(super) fn swum(own: &Set, set: &LaneSet) -> String {
    let line = |(index, line)| {
        // The last one may wait for the time to be over.
        let before_last = set.starts.iter().take(set.starts.len().saturating_sub(1).max(1));
        let own = before_last.filter(|start| start.line == index);
        let intervals: Vec<Seconds> = own.filter_map(|start| start.after).collect();
        let on = match (intervals.iter().min(), intervals.iter().max()) {
            (Some(least), Some(most)) if least == most => format!(" on {}", time(least.as_f64())),
            (Some(least), Some(most)) => format!(" on {} to {}", time(least.as_f64()), time(most.as_f64())),
            _ => String::new(),
        };
        describe(line) + &on
    };
    let lines: Vec<String> = own.lines.iter().enumerate().map(line).collect();
    let rounds = if own.rounds > 1 { format!("{} rounds of ", own.rounds) } else { String::new() };
    format!("{rounds}{}", lines.join(" + "))
}

/// The table of a set.
fn rows(page: &mut Shown, report: &LaneReport<'_>, outcome: &SetOutcome, set: usize) {
    for (index, line) in columns(&cells(report, outcome, set)).into_iter().enumerate() {
        let line = format!("        {line}\n");
        page.push(if index == 0 { Shown::faint(&line) } else { line.into() });
    }
}

/// Its cells: the head, then a row for each swimmer.
pub(super) fn cells(report: &LaneReport<'_>, outcome: &SetOutcome, set: usize) -> Vec<[String; 6]> {
    let lane = report.lane;
    let mut rows: Vec<[String; 6]> = vec![["", "leaves", "touches", "rest", "late", "caught"].map(str::to_owned)];
    for (place, (swimmer, found)) in lane.swimmers.iter().zip(&outcome.swimmers).enumerate() {
        let offset = report.figures.offset(place);
        let share = if swimmer.share == SwimShare::Whole { String::new() } else { format!(" ({})", swimmer.share) };
        let rest = match (found.rest, found.worst_rest) {
            (Some(rest), Some(worst)) => format!("{rest:.0} s ({worst:.0})"),
            _ => "-".to_owned(),
        };
        let catches = outcome.catches.iter().filter(|catch| catch.behind == place && catch.chance >= WORTH_TELLING);
        let told: Vec<String> = catches.map(|catch| caught(catch, report, set)).collect();
        rows.push([
            format!("{} {}{share}", swimmer.number, printable(&swimmer.name)),
            format!("{offset:.0} s"),
            time(offset + found.time),
            rest,
            if found.late > 0.0 { percent(found.late) } else { "-".to_owned() },
            if told.is_empty() { "-".to_owned() } else { told.join("; ") },
        ]);
    }
    rows
}

/// `12 % behind Ida (repeat 3, 75 m)`.
fn caught(catch: &Catch, report: &LaneReport<'_>, set: usize) -> String {
    let lane = report.lane;
    let front = lane.swimmers.get(catch.front).map_or("", |front| front.name.as_str());
    let (pool, unit) = (lane.pool.metres(), lane.pool.unit());
    let from_wall = libm::fabs(catch.metre - pool * libm::round(catch.metre / pool));
    let place = if catch.metre < AT_THE_WALL {
        "pushing off".to_owned()
    } else {
        let near = if from_wall <= AT_THE_WALL { " at the wall" } else { "" };
        format!("{:.0} {}{near}", libm::round(catch.metre / unit.metres()), unit.sign())
    };
    let starts = lane.sets.get(set).map_or(0, |set| set.starts.len());
    let repeat = if starts > 1 { format!("repeat {}, ", catch.start + 1) } else { String::new() };
    format!("{} behind {} ({repeat}{place})", percent(catch.chance), printable(front))
}

/// What holds for the whole lane in a set.
pub(super) fn notes(report: &LaneReport<'_>, all: &LanesReport<'_>, index: usize) -> Vec<String> {
    let (Some(set), Some(outcome)) = (report.lane.sets.get(index), report.outcomes.get(index)) else {
        return Vec::new();
    };
    let go = all.goes.get(index).copied().unwrap_or_default();
    let mut notes = Vec::new();
    let after: Vec<Seconds> = set.starts.iter().filter_map(|start| start.after).collect();
    let within = after.get(..after.len().saturating_sub(1)).unwrap_or_default();
    if let Some(first) = within.first().filter(|first| within.iter().all(|after| after == *first)) {
        let marks: Vec<String> = marks(go, *first).iter().map(|mark| clock_mark(*mark)).collect();
        let shown = marks.get(..marks.len().min(set.starts.len())).unwrap_or_default();
        notes.push(format!("the leader leaves on the {}", shown.join(" ")));
    }
    let over = |report: &LaneReport<'_>| report.lane.set_len(index);
    let longest = all.lanes.iter().map(over).max().unwrap_or_default();
    let waits = (longest - over(report)).as_f64();
    if waits >= WAITS {
        notes.push(format!("done {} before the last lane", time(waits)));
    }
    if let Some(len) = outcome.talk_len {
        notes.push(match outcome.talk {
            all if all > 0.95 => format!("talk reaches everybody, {len:.0} s each rest"),
            some if some > 0.05 => format!("talk reaches everybody in {} of the rests", percent(some)),
            _ => "no talk reaches everybody: from the last touch to the leader's go there is no time".to_owned(),
        });
    }
    let leader = report.lane.swimmers.first().and_then(|leader| leader.practice.sets().nth(index));
    let sent = leader.is_some_and(|own| own.lines.iter().any(|line| matches!(line.leave, Leave::SendOff(_))));
    if let Some(quickest) = report.advice.send_offs.get(index).copied().flatten().filter(|_| sent) {
        let now = set.starts.iter().take(set.starts.len().saturating_sub(1)).filter_map(|start| start.after).min();
        if now.is_some_and(|now| quickest < now.as_f64() - 0.5) {
            notes.push(format!("on {} everybody would still rest {} s", time(quickest), all.rest));
        }
    }
    notes
}

/// A second of the pace clock as it is called: the top is 60.
fn clock_mark(second: u32) -> String {
    if second == 0 { "60".to_owned() } else { format!("{second:02}") }
}
