//! `tap`: strokes tapped along with a swimmer, on a screen or as lines of times, and what becomes of them.

mod notes;
mod profile;
mod report;

use super::args::{CountsOf, TapArgs};
use super::ask::ask;
use super::failure::Failure;
use super::ui::{self, Ui};
use crate::display::look::Look;
use crate::display::{Screen, ScreenEnd, taps};
use crate::tapping::{TappedSwim, Tapping, parse, words};
use std::io::{self, IsTerminal, Read};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// The most that is read of standard input: days of taps.
const MOST_READ: u64 = 4 << 20;
/// Wrong lines that are told.
const MOST_TOLD: usize = 20;
/// How often a count is asked for that is not understood.
const MOST_ASKED: usize = 3;

/// Runs the command.
pub fn run(args: &TapArgs, ui: &mut Ui) -> Result<(), Failure> {
    let mut tapping = Tapping::new(args.film_speed);
    let variable = |name: &str| std::env::var(name).ok();
    let watched = io::stdin().is_terminal() && ui.is_watched();
    let place = if args.log { Some(notes::place(args, watched, ui)?) } else { None };
    let interrupted = if !args.no_screen && watched && Look::can_place(variable) {
        let stop = Arc::new(AtomicBool::new(false));
        ui::stop_on_signals(&stop)?;
        let screen = Screen::open(Look::of(ui.colors_messages(), variable), ui.messages())
            .map_err(|error| Failure::world(&error))?;
        matches!(taps::run(screen, "Tapping strokes", &mut tapping, &stop), ScreenEnd::Interrupted)
    } else {
        read(&mut tapping, ui)?;
        false
    };
    let mut swim = tapping.swim();
    // Where somebody wants to get away nothing is asked.
    settle(&mut swim, args.counts, watched && !interrupted, ui);
    if args.json {
        ui.result(report::json(&tapping, &swim, args.film_speed))?;
    } else if !args.tempo_for_play {
        ui.result(report::text(&swim, args.film_speed))?;
    }
    if interrupted {
        return Err(Failure::Interrupted("interrupted; what was tapped is above".to_owned()));
    }
    if let Some(place) = place {
        notes::keep(args, place, &swim, ui)?;
    }
    if let Some(path) = &args.profile {
        profile::keep(args, path, &swim, watched, ui)?;
    }
    if args.tempo_for_play {
        let line = for_play(&swim).map_err(Failure::Usage)?;
        ui.result(format!("{line}\n"))?;
    }
    Ok(())
}

/// Takes taps from standard input.
fn read(tapping: &mut Tapping, ui: &mut Ui) -> Result<(), Failure> {
    let mut bytes = Vec::new();
    let failed = |error| Failure::World(format!("cannot read taps from standard input: {error}"));
    let read = io::stdin().lock().take(MOST_READ + 1).read_to_end(&mut bytes).map_err(failed)?;
    if read as u64 > MOST_READ {
        return Err(Failure::World("more than 4 MB on standard input: that is no list of taps".to_owned()));
    }
    let text = String::from_utf8(bytes)
        .map_err(|_| Failure::World("the taps on standard input are not UTF-8 text".to_owned()))?;
    match parse(&text) {
        Ok(taps) => {
            for tap in taps {
                tapping.hear(tap);
            }
            Ok(())
        }
        Err(wrong) => {
            for line in wrong.iter().take(MOST_TOLD) {
                ui.error(&line.to_string());
            }
            if wrong.len() > MOST_TOLD {
                ui.message(format!("{} more\n", wrong.len() - MOST_TOLD));
            }
            Err(Failure::Shown)
        }
    }
}

/// Settles the counts that are in doubt, by the option or by asking.
fn settle(swim: &mut TappedSwim, counts: Option<CountsOf>, can_ask: bool, ui: &mut Ui) {
    for (number, length) in (1..).zip(&mut swim.lengths) {
        let Some(question) = words::question(length) else { continue };
        let answer = match counts {
            Some(CountsOf::Tapped) => Some(length.tapped),
            // A pause leaves nothing likely: it stays open.
            Some(CountsOf::Likely) => length.likely,
            None if can_ask => {
                for doubt in &length.doubts {
                    ui.message(format!("length {number}: {}\n", words::doubt(doubt)));
                }
                asked(&format!("Length {number}: {question} Type the count; empty leaves it open"), ui)
            }
            None => None,
        };
        if let Some(count) = answer {
            length.settle(count);
        }
    }
}

/// A count, or none where it is left open.
fn asked(question: &str, ui: &mut Ui) -> Option<u32> {
    for _ in 0..MOST_ASKED {
        let answer = ask(ui, question).ok().filter(|answer| !answer.is_empty())?;
        match answer.parse() {
            Ok(count) if (1..=2_000).contains(&count) => return Some(count),
            _ => ui.message("a count is a whole number from 1 to 2000\n"),
        }
    }
    None
}

/// The line that gives `play` the tempo.
fn for_play(swim: &TappedSwim) -> Result<String, String> {
    let Some(tempo) = swim.tempo() else { return Err("no tempo: tap at least two strokes".to_owned()) };
    if !(0.4..=2.5).contains(&tempo) {
        return Err(format!("a tempo of {tempo:.2} s: `play` takes 0.40 to 2.50 s"));
    }
    Ok(format!("tempo {tempo:.2}"))
}
