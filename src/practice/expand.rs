//! From a script to a practice: items in order, sets expanded into repeats, everything that cannot be reported.

use super::line::{self, Context};
use super::names::Names;
use super::{
    Audience, Company, FocusFrom, FocusPoint, Item, Line, Practice, Repeat, Set, calls, fill, focus, repeats, target,
};
use crate::diag::{Code, Diagnostic, Span, has_errors};
use crate::pack::library::{Library, Role};
use crate::script::{self, CallOut, PaceMarks, Remind, Script, Water};
use crate::swimmer::Swimmer;
use crate::units::time::LONGEST;

/// Makes a practice of a script. The practice is absent exactly where an error is among the diagnostics.
pub fn expand(
    script: &Script,
    library: &Library,
    swimmer: &Swimmer,
    audience: Audience,
) -> (Option<Practice>, Vec<Diagnostic>) {
    let mut diagnostics = Vec::new();
    if let Some(too_long) = longer_than_a_day(script) {
        return (None, vec![too_long]);
    }
    let context = Context { script, library, swimmer };
    let mut items = Vec::new();
    let by_the_wall = audience == Audience::Speaker && script.water.value != Water::Open;
    let mut far = false;
    for (ordinal, item) in script.practice.iter().enumerate() {
        match item {
            script::WrittenItem::Say(name) => {
                let mut names = Names { library, problems: &mut diagnostics };
                items.extend(names.text(Role::Say, name).map(Item::Say));
            }
            script::WrittenItem::Rest(rest) => items.push(Item::Rest(rest.value)),
            script::WrittenItem::Set(set) => {
                let expanded = expand_set((ordinal, set), &context, &mut diagnostics);
                if by_the_wall {
                    for found in set.swims.iter().flat_map(unheard) {
                        // What the set asks for is told once, not for each of its swims.
                        let told = |other: &Diagnostic| other.span == found.span && other.message == found.message;
                        if !diagnostics.iter().any(told) {
                            diagnostics.push(found);
                        }
                    }
                }
                if let Some(expanded) = expanded.as_ref().filter(|_| by_the_wall) {
                    diagnostics.extend(ends_far(set, expanded, &mut far));
                }
                items.extend(expanded.map(Item::Set));
            }
        }
    }
    if !script.practice.iter().any(|item| matches!(item, script::WrittenItem::Set(_))) {
        let hint = "add a set: `- set: Easy start` with `swim: 4 x 50 m on 1:30` below it";
        diagnostics.push(Diagnostic::at(Code::Empty, script.title.span, "this practice has no set").hint(hint));
    }
    let practice = Practice {
        title: script.title.value.clone(),
        water: script.water.value,
        settings: script.settings.clone(),
        audience,
        company: Company::default(),
        side: swimmer.side,
        name: swimmer
            .name
            .as_deref()
            .and_then(|name| library.name(name))
            .map(|(id, entry)| (format!("name-{id}"), entry.full.clone())),
        items,
    };
    (if has_errors(&diagnostics) { None } else { Some(practice) }, diagnostics)
}

/// What is wrong with a script that could be read in part only: names, distances and breathing of what is there.
/// Whatever depends on the rest of the script is left until it can be read.
pub fn check_partly(script: &Script, library: &Library, swimmer: &Swimmer) -> Vec<Diagnostic> {
    let mut problems = Vec::new();
    let context = Context { script, library, swimmer };
    for item in &script.practice {
        match item {
            script::WrittenItem::Say(name) => {
                Names { library, problems: &mut problems }.text(Role::Say, name);
            }
            script::WrittenItem::Rest(_) => {}
            script::WrittenItem::Set(set) => {
                set.swims.iter().for_each(|swim| line::check_alone(swim, &context, &mut problems));
            }
        }
    }
    problems
}

/// What a swim asks for that a speaker at the poolside cannot give: nobody hears it under water.
fn unheard(swim: &script::Swim) -> impl Iterator<Item = Diagnostic> {
    let call = swim.call.as_ref().map(|call| (&call.value, call.span));
    let called = |kind: fn(&CallOut) -> bool| call.filter(|(calls, _)| calls.iter().any(kind)).map(|(_, span)| span);
    let again = "`call: each repeat` is said before each go; or hear it in the ear: `--for headphones`";
    let ear = "hear it in the ear, `--for headphones`, or leave it out";
    let marks = swim.marks.filter(|marks| marks.value == PaceMarks::Walls).map(|marks| marks.span);
    let remind = swim.remind.filter(|remind| remind.value != Remind::Never).map(|remind| remind.span);
    let asked = [
        ("a call of the lengths", called(|call| *call == CallOut::Lengths), again),
        ("a call of the strokes", called(|call| matches!(call, CallOut::Strokes(_))), again),
        ("the mark of a wall", marks, ear),
        ("a reminder of the focus", remind, ear),
    ];
    asked.into_iter().filter_map(|(what, span, hint)| {
        let message = format!("{what} is not heard: a speaker at the poolside does not reach a head in the water");
        Some(Diagnostic::at(Code::CueDropped, span?, message).hint(hint))
    })
}

/// A speaker stands at one end: who stops at the other hears nothing, unless the script says that this is meant.
/// `far` is whether the swimmer waits at the far end, before the set and after it.
fn ends_far(written: &script::WrittenSet, set: &Set, far: &mut bool) -> Option<Diagnostic> {
    let mut found = None;
    for repeat in &set.repeats {
        *far ^= repeat.lengths.len() % 2 == 1;
        let swim = written.swims.get(repeat.line)?;
        let meant = swim.end_far.is_some_and(|far| far.value);
        if *far && !repeat.joins && !meant && found.is_none() {
            let message = "this swim stops at the far end, away from the speaker";
            let hint = "swim an even number of lengths, or say that it is meant: `end: far`";
            found = Some(Diagnostic::at(Code::Conflict, swim.span, message).hint(hint));
        }
    }
    found
}

/// Found by arithmetic, before a single repeat is made.
fn longer_than_a_day(script: &Script) -> Option<Diagnostic> {
    let mut total = 0.0;
    let mut longest: Option<(f64, Span)> = None;
    for item in &script.practice {
        let (time, span) = match item {
            script::WrittenItem::Say(_) => continue,
            script::WrittenItem::Rest(rest) => (rest.value.as_f64(), rest.span),
            script::WrittenItem::Set(set) => {
                (set.swims.iter().map(|swim| line::at_least(swim, set.rounds.value)).sum(), set.title.span)
            }
        };
        total += time;
        if longest.is_none_or(|(most, _)| time > most) {
            longest = Some((time, span));
        }
    }
    let (most, span) = longest.filter(|_| total > LONGEST.as_f64())?;
    let hours = |seconds: f64| seconds / 3600.0;
    let message = format!(
        "the practice lasts at least {:.0} h, most of it here ({:.0} h); at most 24 h",
        hours(total),
        hours(most)
    );
    Some(Diagnostic::at(Code::TooLong, span, message).hint("swim fewer repeats, or split it into several scripts"))
}

fn expand_set(
    (ordinal, set): (usize, &script::WrittenSet),
    context: &Context<'_>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<Set> {
    let rounds = set.rounds.value;
    let last = set.swims.len().saturating_sub(1);
    let follows = |index| index < last || (rounds > 1 && set.between_rounds.is_none());
    let check = |(index, swim)| line::check(swim, follows(index), context, diagnostics);
    // All lines are checked before the first bad one ends it.
    let lines: Vec<_> = set.swims.iter().enumerate().map(check).collect();
    let mut lines = lines.into_iter().collect::<Option<Vec<_>>>()?;
    let between = set.between_rounds.map(|between| between.value);
    let mut all = fill::repeats((&mut lines, rounds), between, context, diagnostics);
    for (index, (line, swim)) in lines.iter_mut().zip(&set.swims).enumerate() {
        let Some(target) = swim.strokes else { continue };
        line.at_most = line::at_most(target.value, all.iter().filter(|repeat| repeat.line == index));
        if line.at_most.is_none() {
            let message = "no strokes are predicted here: a drill and this stroke have no count to follow";
            let problem = Diagnostic::at(Code::Conflict, target.span, message);
            diagnostics.push(problem.hint("write a number: `strokes: { at-most: 19 }`"));
        }
    }
    for (index, line) in lines.iter().enumerate() {
        let own: Vec<&Repeat> = all.iter().filter(|repeat| repeat.line == index).collect();
        diagnostics.extend(repeats::check_send_off(line, &own, context));
    }
    for (index, (line, swim)) in lines.iter().zip(&set.swims).enumerate() {
        let own = || all.iter().filter(|repeat| repeat.line == index);
        diagnostics.extend(target::beyond(line, swim, own(), context));
        diagnostics.extend(target::much_rest(line, own(), context));
        let called =
            swim.call.as_ref().and_then(|call| calls::unsure(line, own(), context.swimmer.called(), call.span));
        diagnostics.extend(called);
    }
    lay_focus((ordinal, set), &mut all, context, diagnostics);
    for repeat in &mut all {
        if let Some(line) = lines.get(repeat.line) {
            focus_of_kinds(repeat, line);
        }
    }
    let title = match context.library.by_text(Role::Title, &set.title.value) {
        Some((_, entry)) => entry.full.clone(),
        None => context.library.text(&set.title.value),
    };
    Some(Set { title, span: set.title.span, phase: set.phase, rounds, lines, repeats: all })
}

/// Lays the phrases of `lengths` over those of the swim: each is in force on its own lengths.
fn focus_of_kinds(repeat: &mut Repeat, line: &Line) {
    let kinds = &line.kinds;
    if kinds.iter().all(|kind| kind.focus.is_none()) {
        return;
    }
    let base = |length: u32, focus: &[FocusFrom]| {
        let begun = |from: FocusPoint| matches!(from, FocusPoint::Length(first) if first <= length);
        focus.iter().rev().find(|focus| begun(focus.from)).map(|focus| focus.phrase)
    };
    let mut laid: Vec<FocusFrom> = Vec::new();
    for (length, kind) in (0..repeat.count_lengths()).zip(kinds.iter().cycle()) {
        let phrase = kind.focus.or_else(|| base(length, &repeat.focus));
        // A length that names the phrase of the one before does not change it.
        let id = |phrase: usize| line.focus.get(phrase).map(|text| &text.id);
        if let Some(phrase) = phrase.filter(|phrase| laid.last().is_none_or(|last| id(last.phrase) != id(*phrase))) {
            laid.push(FocusFrom { from: FocusPoint::Length(length), phrase });
        }
    }
    repeat.focus = laid;
}

/// Lays each focus over the repeats that share it: a focus written at the set runs on through all its swims.
fn lay_focus(
    (ordinal, set): (usize, &script::WrittenSet),
    repeats: &mut [Repeat],
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
        diagnostics.extend(focus::assign(&focus.value, focus.span, &mut sharing, seed));
    }
}
