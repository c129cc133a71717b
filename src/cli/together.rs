//! A practice with lanes: which of them is meant, and how a lane stands in the plan.

use super::args::{AudienceArg, LaneChoice, ScriptArgs};
use super::failure::Failure;
use super::request::request;
use crate::diag::shown::Shown;
use crate::diag::{Severity, has_errors};
use crate::lane::{LaneSet, clock};
use crate::prepare::apart::{self, PreparedApart};
use crate::prepare::side_by_side;
use crate::prepare::together::{self, LanePlanned, LaneRequest, PreparedTogether};
use crate::prepare::{self, Prepared};
use crate::script::lane::{Circle, SwimShare};
use crate::timeline::strand::Strand;
use crate::units::time::Seconds;

/// Whether a practice is one for lanes: where they are named, or the script says who shares one and nobody else is to swim it.
pub fn is_for_lanes(choice: &LaneChoice, input: &ScriptArgs) -> bool {
    choice.lane.is_some()
        || choice.lane_name.is_some()
        || input.swimmer.is_none() && together::says_lanes(&request(input))
}

/// Plans a practice for the lanes that are meant.
pub fn prepared(choice: &LaneChoice, input: &ScriptArgs) -> Result<PreparedTogether, Failure> {
    let lanes = asked(choice, input)?;
    together::together(&request(input), &lanes).map_err(|error| Failure::world(&error))
}

/// Plans what one speaker says to all lanes that are meant.
pub fn for_one_speaker(choice: &LaneChoice, input: &ScriptArgs) -> Result<Prepared, Failure> {
    let lanes = asked(choice, input)?;
    side_by_side::for_one_speaker(&request(input), &lanes).map_err(|error| Failure::world(&error))
}

/// Plans what is heard of a practice: by whoever swims it, or at the speaker of its lanes.
pub fn for_whom_it_is(choice: &LaneChoice, input: &ScriptArgs) -> Result<Prepared, Failure> {
    if is_for_lanes(choice, input) {
        return for_one_speaker(choice, input);
    }
    prepare::plan(&request(input)).map_err(|error| Failure::world(&error))
}

fn asked(choice: &LaneChoice, input: &ScriptArgs) -> Result<LaneRequest, Failure> {
    if input.swimmer.is_some() {
        let message = "--swimmer is for one who swims alone: leave it out, or leave --lane out";
        return Err(Failure::Usage(message.to_owned()));
    }
    if input.reading.audience == AudienceArg::Player {
        let message = "players pause between tracks, each as long as it likes: a lane on one clock is one file, so leave --for player out";
        return Err(Failure::Usage(message.to_owned()));
    }
    Ok(LaneRequest { file: choice.lane.clone(), name: choice.lane_name.clone() })
}

/// Plans what one swimmer of a lane hears in their own ear.
pub fn one_of(choice: &LaneChoice, input: &ScriptArgs, name: &str) -> Result<Prepared, Failure> {
    let lanes = LaneRequest { file: choice.lane.clone(), name: choice.lane_name.clone() };
    let PreparedApart { swimmers, diagnostics, sources, .. } =
        apart::apart(&request(input), &lanes).map_err(|error| Failure::world(&error))?;
    if !has_errors(&diagnostics) && !swimmers.iter().any(|who| who.name == name) {
        let names: Vec<&str> = swimmers.iter().map(|who| who.name.as_str()).collect();
        let message = format!("{name} is not in the lane: --swimmer names one of {}", names.join(", "));
        return Err(Failure::Usage(message));
    }
    let planned = swimmers.into_iter().find(|who| who.name == name).map(|who| who.planned);
    Ok(Prepared { planned, diagnostics, sources })
}

/// Says that only one lane can be played at a time, where there are several.
pub fn only_one(prepared: &PreparedTogether) -> Result<(), Failure> {
    if prepared.lanes.len() < 2 {
        return Ok(());
    }
    let names: Vec<&str> = prepared.lanes.iter().map(|lane| lane.lane.name.as_str()).collect();
    let message = format!(
        "one lane is played at a time, steered by its swimmers' numbers, and there are {} ({}): say which with --lane-name; \
         `render --for speaker` makes one file that calls them all",
        names.len(),
        names.join(", ")
    );
    Err(Failure::Usage(message))
}

/// Who leaves when in a lane, and where the pace clock stands then.
pub fn table(lane: &LanePlanned) -> Shown {
    let LanePlanned { lane, planned, .. } = lane;
    let way = Circle::ALL.iter().find(|(_, circle)| *circle == lane.circle).map_or("", |(word, _)| word);
    let mut text = Shown::heading(&format!("Lane {}", lane.name));
    let apart = if lane.swimmers.len() > 1 { format!(" · {} s apart", lane.gap.as_f64()) } else { String::new() };
    text.push(format!("{apart} · {way} · swim: from the first go to the last touch, rest: while all stand\n"));
    let widest = lane.swimmers.iter().map(|who| unicode_width::UnicodeWidthStr::width(who.name.as_str())).max();
    for who in &lane.swimmers {
        let blank = widest.unwrap_or(0) - unicode_width::UnicodeWidthStr::width(who.name.as_str());
        let leaves = if who.number == 1 { "leads".to_owned() } else { format!("+{} s", who.offset.as_f64()) };
        let share = if who.share == SwimShare::Whole { String::new() } else { format!(" · swims {}", who.share) };
        text.push(format!("{:>7}  {}{:blank$}  {leaves}{share}\n", who.number, who.name, ""));
    }
    for (set, plan) in lane.sets.iter().zip(&planned.plan.sets) {
        text.push(format!("{:>7}  {}: {}\n", "clock", plan.title, readings(set, plan.start)));
    }
    text.push("\n");
    text
}

/// Why one speaker cannot call all lanes, where that is so.
pub fn refusal(prepared: &Prepared) -> &str {
    let why = prepared.diagnostics.iter().find(|problem| problem.severity() == Severity::Error);
    why.map_or("not as they are", |problem| problem.message.as_str())
}

/// What one speaker for all lanes comes to, beside what each lane alone has: where the pace clock stands, or why it cannot be.
pub fn at_one_speaker(prepared: &Prepared, lanes: &[LanePlanned]) -> Shown {
    let mut text = Shown::heading("All lanes at one speaker");
    let Some(planned) = &prepared.planned else {
        text.push(format!(": {}\n", refusal(prepared)));
        return text;
    };
    text.push(format!(" · {} · `--timeline` shows every word\n", planned.plan.duration));
    for (ordinal, plan) in planned.plan.sets.iter().enumerate() {
        // The first of each lane come before all others.
        let gos = |strand: &Strand| {
            let own = strand.starts.iter().filter(|start| start.set == ordinal && !start.repeat.joined);
            own.map(|start| start.go).collect::<Vec<_>>()
        };
        let own: Vec<Vec<Seconds>> = planned.built.followers.iter().take(lanes.len()).map(gos).collect();
        if own.iter().any(|gos| own.iter().any(|other| gos.iter().zip(other).any(|(one, other)| one != other))) {
            for (lane, gos) in lanes.iter().zip(own) {
                text.push(format!("{:>7}  {}, lane {}: {}\n", "clock", plan.title, lane.lane.name, at(&gos)));
            }
            continue;
        }
        let starts = planned.built.strand.starts.iter().filter(|start| start.set == ordinal && !start.repeat.joined);
        let gos: Vec<Seconds> = starts.map(|start| start.go).collect();
        text.push(format!("{:>7}  {}: {}\n", "clock", plan.title, at(&gos)));
    }
    text
}

/// Where the pace clock stands at gos: until the readings come again, where they are evenly apart.
fn at(gos: &[Seconds]) -> String {
    let first = gos.first().copied().unwrap_or_default();
    let mut steps = gos.windows(2).filter_map(|pair| Some(*pair.get(1)? - *pair.first()?));
    let step = steps.next();
    let even = step.filter(|step| steps.all(|other| other == *step));
    let marks = match even {
        Some(step) => clock::marks(first, step),
        None => gos.iter().flat_map(|go| clock::marks(*go, Seconds::ZERO)).collect(),
    };
    listed(&marks, gos.len())
}

/// So many readings of the pace clock are listed; more are no help.
const MOST_READINGS: usize = 12;

/// Where the pace clock stands at the starts of a set, if it stood at the top when the sound began.
fn readings(set: &LaneSet, first: Seconds) -> String {
    let mut intervals = set.starts.iter().rev().skip(1).map(|start| start.after);
    let interval = intervals.next().flatten();
    let even = interval.filter(|first| intervals.all(|other| other == Some(*first)));
    let marks = match even {
        Some(interval) => clock::marks(first, interval),
        None => set.starts.iter().flat_map(|start| clock::marks(first + start.at, Seconds::ZERO)).collect(),
    };
    listed(&marks, set.starts.len())
}

fn listed(marks: &[u32], starts: usize) -> String {
    let more = if marks.len() > MOST_READINGS { " ..." } else { "" };
    let shown = marks.iter().take(starts.min(MOST_READINGS));
    let shown: Vec<String> = shown.map(|mark| if *mark == 0 { "60".to_owned() } else { mark.to_string() }).collect();
    shown.join(" ") + more
}
