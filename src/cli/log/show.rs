//! `log show`: one practice, set by set, and what was kept of it in a line.

use super::kept::{far, kept};
use super::record;
use crate::cli::args::ShowPractice;
use crate::cli::failure::Failure;
use crate::cli::notebook::existing;
use crate::cli::ui::Ui;
use crate::diag::shown::{Shown, printable};
use crate::notebook::OpenFor;
use crate::notebook::entry::{LoggedPractice, LoggedRepeat, LoggedSet, Measure, Observation, SwimState, ValueSource};
use crate::notebook::place::counted;
use crate::units::time::Seconds;

/// Runs the command.
pub(super) fn run(args: &ShowPractice, ui: &mut Ui) -> Result<(), Failure> {
    let notebook = existing(&args.notebook, OpenFor::Reading)?;
    let found = kept(&notebook, args.number)?;
    let text = if args.json { Shown::json(&record::practice(&found)) } else { page(&found.1) };
    Ok(ui.result(text)?)
}

/// The whole of a practice.
pub(super) fn page(practice: &LoggedPractice) -> Shown {
    let LoggedPractice { swimmer, title, day, begun, pool, .. } = practice;
    let mut page = Shown::heading(&printable(title));
    page.push(format!("\n{} · {day}", printable(swimmer)));
    page.extend(begun.map(|begun| format!(" {begun}")));
    let pool_shown = printable(pool);
    let water = if pool == "open water" { pool.clone() } else { format!("{pool_shown} pool") };
    page.push(format!(" · {water} · {}\n", far(practice.metres(), pool)));
    for set in &practice.sets {
        page.push(Shown::heading(&format!("{:>3}  {}", set.number, printable(&set.title))));
        page.push(format!(" · {}\n", swims(set)));
        for line in lines(set) {
            page.push(format!("     {line}\n"));
        }
    }
    let said = said(practice);
    if !said.is_empty() {
        page.push(format!("{said}\n"));
    }
    // A note has lines of its own: they are set in, so that none looks like one of ours.
    let note = practice.said.note.as_ref().map(|note| note.lines().map(printable).collect::<Vec<_>>().join("\n      "));
    page.extend(note.map(|note| format!("note: {note}\n")));
    page
}

/// What a set is: `8 repeats: 50 m easy`.
pub(super) fn swims(set: &LoggedSet) -> String {
    let mut kinds: Vec<&str> = Vec::new();
    for repeat in &set.repeats {
        if !kinds.contains(&repeat.swim.as_str()) {
            kinds.push(&repeat.swim);
        }
    }
    let rounds = set.repeats.iter().map(|repeat| repeat.round).max().unwrap_or(1);
    let rounds = if rounds > 1 { format!(" in {rounds} rounds") } else { String::new() };
    format!("{}{rounds}: {}", counted(set.repeats.len(), "repeat"), printable(&kinds.join(", ")))
}

/// What is known of a set beyond its plan.
fn lines(set: &LoggedSet) -> Vec<String> {
    let mut lines = Vec::new();
    for (state, word) in
        [(SwimState::Missed, "missed"), (SwimState::Skipped, "left out"), (SwimState::Unheard, "go not heard")]
    {
        let of: Vec<String> =
            set.repeats.iter().filter(|repeat| repeat.state == state).map(|repeat| repeat.number.to_string()).collect();
        if !of.is_empty() {
            lines.push(format!("{word}: {}", of.join(", ")));
        }
    }
    lines.extend(set.apart.map(|repeat| format!("fell apart from repeat {repeat} on")));
    lines.extend(set.repeats.iter().filter_map(observed));
    lines
}

/// What was observed of a repeat.
fn observed(repeat: &LoggedRepeat) -> Option<String> {
    let values: Vec<String> = repeat.observations.iter().map(|observed| value(repeat, observed)).collect();
    let tempo = repeat.tempo.map_or_else(String::new, |tempo| format!(", beat {tempo:.2} s"));
    (!values.is_empty()).then(|| format!("{}{tempo}: {}", repeat.number, values.join(", ")))
}

fn value(repeat: &LoggedRepeat, observed: &Observation) -> String {
    let value = match observed.measure {
        Measure::Count => counted_strokes(observed.value),
        Measure::Tempo => format!("{:.2} s a stroke", observed.value),
        Measure::Time => clock(observed.value),
        Measure::BreathsLeft => format!("{:.0} breaths left", observed.value),
        Measure::BreathsRight => format!("{:.0} breaths right", observed.value),
    };
    let length = match observed.length {
        Some(length) if repeat.lengths > 1 => format!(" in length {length}"),
        _ => String::new(),
    };
    let source = match observed.source {
        ValueSource::Counted | ValueSource::Clock => String::new(),
        other => format!(" ({other})"),
    };
    format!("{value}{length}{source}")
}

fn counted_strokes(count: f64) -> String {
    counted(count as usize, "stroke")
}

/// A time to the tenth of a second.
fn clock(seconds: f64) -> String {
    Seconds::from_millis(libm::round(seconds * 10.0) as i64 * 100).to_string()
}

/// `42 min · feel 4 · effort 6 · nothing hurt`
fn said(practice: &LoggedPractice) -> String {
    let said = &practice.said;
    let parts = [
        practice.minutes.map(|minutes| format!("{minutes:.0} min")),
        said.feel.map(|feel| format!("feel {feel}")),
        said.effort.map(|effort| format!("effort {effort}")),
        practice.load().map(|load| format!("load {load:.0}")),
        said.held.then(|| "the stroke held".to_owned()),
        said.pain
            .as_ref()
            .map(|pain| if pain.is_empty() { "nothing hurt".into() } else { format!("pain: {}", printable(pain)) }),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" · ")
}

/// What there is beyond the plan, in a line: `7 of 8 repeats swum · 2 counts · 1 time · feel 4`.
pub(super) fn brief(practice: &LoggedPractice) -> String {
    let all = practice.repeats().count();
    let of = |state: SwimState| practice.repeats().filter(|(_, repeat)| repeat.state == state).count();
    let swum = of(SwimState::Swum);
    let observed = |measure: Measure| {
        practice.repeats().flat_map(|(_, repeat)| &repeat.observations).filter(|value| value.measure == measure).count()
    };
    let mut parts = Vec::new();
    match swum {
        0 => {}
        swum if swum == all => parts.push(format!("all {} swum", counted(all, "repeat"))),
        swum => parts.push(format!("{swum} of {} known to be swum", counted(all, "repeat"))),
    }
    for (number, word) in [
        (of(SwimState::Missed), "missed"),
        (of(SwimState::Skipped), "left out"),
        (of(SwimState::Unheard), "with a go that was not heard"),
    ] {
        parts.extend((number > 0).then(|| format!("{number} {word}")));
    }
    for (measure, word) in [(Measure::Count, "count"), (Measure::Time, "time")] {
        parts.extend(Some(observed(measure)).filter(|number| *number > 0).map(|number| counted(number, word)));
    }
    for set in &practice.sets {
        parts.extend(set.apart.map(|repeat| format!("fell apart from {}.{repeat} on", set.number)));
    }
    parts.extend(Some(said(practice)).filter(|said| !said.is_empty()));
    if parts.is_empty() { "nothing observed".to_owned() } else { parts.join(" · ") }
}
