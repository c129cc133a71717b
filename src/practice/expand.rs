//! From a script to a practice: items in order, sets expanded into repeats, everything that cannot be reported.

use super::line::{self, Context};
use super::{Item, Practice, Repeat, Set, focus, line::text};
use crate::diag::{Code, Diagnostic, Span, has_errors};
use crate::pack::library::{Library, Role, Spoken};
use crate::script::{self, Script};
use crate::swimmer::Swimmer;
use crate::units::time::Seconds;

/// Makes a practice of a script. The practice is absent exactly where an error is among the diagnostics.
pub fn expand(script: &Script, library: &Library, swimmer: &Swimmer) -> (Option<Practice>, Vec<Diagnostic>) {
    let mut diagnostics = Vec::new();
    if let Some(too_long) = longer_than_a_day(script) {
        return (None, vec![too_long]);
    }
    let context = Context { script, library, swimmer };
    let wall = Seconds::from_estimate(swimmer.model.wall());
    let mut items = Vec::new();
    for (ordinal, item) in script.practice.iter().enumerate() {
        match item {
            script::Item::Say(name) => items.extend(text(Role::Say, name, library, &mut diagnostics).map(Item::Say)),
            script::Item::Rest(rest) => items.push(Item::Rest(rest.value)),
            script::Item::Set(set) => {
                items.extend(expand_set((ordinal, set), wall, &context, &mut diagnostics).map(Item::Set))
            }
        }
    }
    if !script.practice.iter().any(|item| matches!(item, script::Item::Set(_))) {
        let hint = "add a set: `- set: Easy start` with `swim: 4 x 50 m on 1:30` below it";
        diagnostics.push(Diagnostic::at(Code::Empty, script.title.span, "this practice has no set").hint(hint));
    }
    let practice = Practice {
        title: script.title.value.clone(),
        pool: script.pool.value,
        settings: script.settings.clone(),
        wall,
        items,
    };
    (if has_errors(&diagnostics) { None } else { Some(practice) }, diagnostics)
}

/// Found by arithmetic, before a single repeat is made.
fn longer_than_a_day(script: &Script) -> Option<Diagnostic> {
    let mut total = 0.0;
    let mut longest: Option<(f64, Span)> = None;
    for item in &script.practice {
        let (time, span) = match item {
            script::Item::Say(_) => continue,
            script::Item::Rest(rest) => (rest.value.as_f64(), rest.span),
            script::Item::Set(set) => {
                (set.swims.iter().map(|swim| line::at_least(swim, set.rounds.value)).sum(), set.title.span)
            }
        };
        total += time;
        if longest.is_none_or(|(most, _)| time > most) {
            longest = Some((time, span));
        }
    }
    let (most, span) = longest.filter(|_| total > line::day())?;
    let hours = |seconds: f64| seconds / 3600.0;
    let message = format!(
        "the practice lasts at least {:.0} h, most of it here ({:.0} h); at most 24 h",
        hours(total),
        hours(most)
    );
    Some(Diagnostic::at(Code::TooLong, span, message).hint("swim fewer repeats, or split it into several scripts"))
}

fn expand_set(
    (ordinal, set): (usize, &script::Set),
    wall: Seconds,
    context: &Context<'_>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<Set> {
    let rounds = set.rounds.value;
    let last = set.swims.len().saturating_sub(1);
    let lines: Option<Vec<_>> = set
        .swims
        .iter()
        .enumerate()
        .map(|(index, swim)| line::check(swim, index < last || rounds > 1, context, diagnostics))
        .collect::<Vec<_>>()
        .into_iter()
        .collect();
    let lines = lines?;
    let mut repeats: Vec<Repeat> = Vec::new();
    for round in 0..rounds {
        for (index, line) in lines.iter().enumerate() {
            repeats.extend(line::repeats(line, index, round, context));
        }
    }
    for (index, line) in lines.iter().enumerate() {
        let own: Vec<Repeat> = repeats.iter().filter(|r| r.line == index && r.round == 0).cloned().collect();
        diagnostics.extend(line::check_send_off(line, &own, context.swimmer));
    }
    lay_focus((ordinal, set), &mut repeats, wall, context, diagnostics);
    let title = match context.library.by_text(Role::Title, &set.title.value) {
        Some((_, entry)) => entry.full.clone(),
        None => Spoken { clip: None, ..Spoken::unrecorded(set.title.value.clone()) },
    };
    Some(Set { title, span: set.title.span, phase: set.phase, rounds, lines, repeats })
}

/// Lays each focus over the repeats that share it: a focus written at the set runs on through all its swims.
fn lay_focus(
    (ordinal, set): (usize, &script::Set),
    repeats: &mut [Repeat],
    wall: Seconds,
    context: &Context<'_>,
    diagnostics: &mut Vec<Diagnostic>,
) {
    let mut done: Vec<Span> = Vec::new();
    for focus in set.swims.iter().filter_map(|swim| swim.focus.as_ref()) {
        if done.contains(&focus.span) {
            continue;
        }
        done.push(focus.span);
        let shares = |repeat: &Repeat| {
            set.swims.get(repeat.line).and_then(|swim| swim.focus.as_ref()).is_some_and(|f| f.span == focus.span)
        };
        let mut sharing: Vec<&mut Repeat> = repeats.iter_mut().filter(|repeat| shares(repeat)).collect();
        // Each focus has a shuffle of its own, and keeps it when a text above it changes.
        let seed = context.script.settings.seed.wrapping_add(((ordinal as u64) << 16) + done.len() as u64);
        diagnostics.extend(focus::assign(&focus.value, focus.span, &mut sharing, wall, seed));
    }
}
