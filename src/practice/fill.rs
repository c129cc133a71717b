//! The repeats of a set, and how many there are of a swim that fills a time: as many as end within it, so that all of a squad
//! finish together. How each is predicted and timed is `repeats`' business.

use super::line::Context;
use super::{CLOCK, Line, Repeat, repeats};
use crate::diag::{Code, Diagnostic};
use crate::units::time::Seconds;

/// Every repeat of a set in the order swum, each with its successor's start. Lines that fill a time come with as many
/// repeats as there could be, and keep those that fit in every round; at least one is swum.
pub fn repeats(
    (lines, rounds): (&mut [Line], u32),
    between: Option<Seconds>,
    context: &Context<'_>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<Repeat> {
    for line in lines.iter_mut().filter(|line| line.within.is_some()) {
        let mut alone = repeats::predict(line, 0, 0, context);
        repeats::time(&mut alone, std::slice::from_ref(line), None, context.script.settings.gear_change);
        let fits = line.within.map_or(0, |within| fitting(alone.iter(), within));
        keep(line, fits.max(1));
    }
    loop {
        let mut all = Vec::new();
        for round in 0..rounds {
            for (index, line) in lines.iter().enumerate() {
                all.extend(repeats::predict(line, index, round, context));
            }
        }
        repeats::time(&mut all, lines, between, context.script.settings.gear_change);
        // Who swims into a line without a stop starts it off the clock, which can take a few seconds more.
        let over = (0..).zip(lines.iter()).find_map(|(index, line)| {
            let within = line.within.filter(|_| line.repeats > 1)?;
            let own = |round| all.iter().filter(move |repeat: &&Repeat| repeat.line == index && repeat.round == round);
            let fits = (0..rounds).map(|round| fitting(own(round), within)).min()?;
            (fits < line.repeats).then_some((index, fits.max(1)))
        });
        match over.and_then(|(index, fits)| Some((lines.get_mut(index)?, fits))) {
            Some((line, fits)) => keep(line, fits),
            None => {
                diagnostics.extend(lines.iter().enumerate().filter_map(|(index, line)| too_long(index, line, &all)));
                wait(&mut all, lines);
                return all;
            }
        }
    }
}

/// How many of these end within a time, counted from the first start.
fn fitting<'a>(repeats: impl Iterator<Item = &'a Repeat>, within: Seconds) -> u32 {
    let mut start = Seconds::ZERO;
    let mut ends = |repeat: &Repeat| {
        let end = start + repeat.predicted;
        start += repeat.interval.unwrap_or(repeat.predicted);
        end
    };
    (0..)
        .zip(repeats)
        .take_while(|(_, repeat)| ends(repeat) <= within)
        .map(|(index, _)| index + 1_u32)
        .last()
        .unwrap_or(0)
}

fn keep(line: &mut Line, count: u32) {
    line.repeats = count;
    line.tempos.truncate(count as usize);
    line.paces.truncate(count as usize);
}

/// The time that a line fills is over before anything follows it, for whoever swims.
fn wait(all: &mut [Repeat], lines: &[Line]) {
    let mut before = Seconds::ZERO;
    let following: Vec<_> = all.iter().skip(1).map(|next| Some((next.line, next.round))).chain([None]).collect();
    for (repeat, next) in all.iter_mut().zip(following) {
        let Some(within) = lines.get(repeat.line).and_then(|line| line.within) else { continue };
        if next == Some((repeat.line, repeat.round)) {
            before += repeat.interval.unwrap_or(repeat.predicted);
            continue;
        }
        let left = (within - std::mem::take(&mut before)).ceil_to(CLOCK);
        if let Some(interval) = repeat.interval.filter(|interval| *interval < left && !repeat.joins) {
            // Live too: the squad waits for the clock, not for the touch.
            (repeat.interval, repeat.rest) = (Some(interval.max(left)), None);
        }
    }
}

/// Reports a time that not even one repeat fits into.
fn too_long(index: usize, line: &Line, all: &[Repeat]) -> Option<Diagnostic> {
    let within = line.within?;
    let longest = all.iter().filter(|repeat| repeat.line == index).map(|repeat| repeat.predicted).max()?;
    (longest > within).then(|| {
        let message = format!(
            "one repeat is predicted to take {longest}, more than the {within} to fill; it is swum all the same"
        );
        Diagnostic::at(Code::LittleRest, line.span, message).hint("swim a shorter distance, or give more time")
    })
}
