//! The script of a practice: as a coach would write it, with a comment at each choice.

use super::decide::Choices;
use super::edge;
use super::fit::Extent;
use super::manuscript::Manuscript;
use super::parts::{PartKind, PracticePart};
use super::reason;
use super::sets::set;
use super::sore::Aside;
use super::state::PracticeKind;
use crate::diag::shown::printable;
use crate::units::swim::Side;

/// The whole script. `sides` are the sides on which the parts begin.
pub fn script(of: &Manuscript<'_>, parts: &[PracticePart], sides: &[Side]) -> String {
    let mut text = String::new();
    for line in wrapped(&reason::sentence(of.choices, &of.words)) {
        text.push_str(&format!("# {line}\n"));
    }
    for line in reason::shape(of.choices).iter().chain(&reason::verdict(of.choices)) {
        wrapped(line).iter().for_each(|line| text.push_str(&format!("# {line}\n")));
    }
    let from = match of.practices {
        0 => "the first practice of all".to_owned(),
        1 => "from 1 practice of the notebook".to_owned(),
        count => format!("from {count} practices of the notebook"),
    };
    text.push_str(&format!("# For {} on {}, {from}. It is yours to change.\n", printable(of.swimmer), of.day));
    if let Some(Extent { seconds, metres }) = of.extent {
        let late = reason::volume(of.choices);
        text.push_str(&format!("# About {:.0} minutes, {metres:.0} m{late}.\n", seconds / 60.0));
    }
    for caution in reason::cautions(of.choices) {
        wrapped(&caution).iter().for_each(|line| text.push_str(&format!("# {line}\n")));
    }
    text.push_str(&format!("lengthwise: 1\ntitle: {}\npool: {}\npack: {}\n", quoted(&title(of)), of.pool, of.pack));
    if of.practices >= KNOWS_THE_REST {
        text.push_str("settings: { opening: short }\n");
    }
    text.push_str("practice:\n");
    for (part, side) in parts.iter().zip(sides).filter(|(part, _)| part.is_swum()) {
        for line in comment(of, part).iter().flat_map(|comment| wrapped(comment)) {
            text.push_str(&format!("  # {line}\n"));
        }
        text.push_str(&set(of, part, *side));
        text.push('\n');
    }
    match of.closing {
        Some(closing) => text.push_str(&format!("  - say: {closing}\n")),
        None => text.truncate(text.trim_end().len()),
    }
    if !text.ends_with('\n') {
        text.push('\n');
    }
    text
}

/// After so many practices a swimmer knows what the opening says. Our choice.
const KNOWS_THE_REST: usize = 3;
/// The width of comments.
const WIDTH: usize = 110;

fn wrapped(text: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let full =
            lines.last().is_some_and(|line| !line.is_empty() && line.chars().count() + word.chars().count() >= WIDTH);
        if full {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

/// A text that YAML may take for something else stands in quotes.
fn quoted(text: &str) -> String {
    let plain =
        text.chars().all(|c| c.is_alphanumeric() || c == ' ' || c == '\'') && text.starts_with(char::is_alphabetic);
    if plain { text.to_owned() } else { format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"")) }
}

fn title(of: &Manuscript<'_>) -> String {
    let focus = of.words.0.as_deref().map(capital);
    match of.choices.kind {
        PracticeKind::Baseline => "Find the count".to_owned(),
        PracticeKind::Return => "Back in the water".to_owned(),
        PracticeKind::Easier => "An easier day".to_owned(),
        PracticeKind::Sore => "Nothing that hurts".to_owned(),
        PracticeKind::Ordinary => focus.unwrap_or_else(|| "Up to the edge".to_owned()),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What a coach would say of a part.
fn comment(of: &Manuscript<'_>, part: &PracticePart) -> Option<String> {
    let Choices { edge, relaxed, kind, side, .. } = of.choices;
    let seconds = |tempo: crate::units::time::Tempo| format!("{:.2} s", tempo.as_f64());
    let is_set = |wanted| part.kind == wanted;
    if is_set(PartKind::Start) {
        let breathing = side.map(|side| {
            format!("The easy swims breathe {0}: over four weeks the {0} side has had fewer breaths.", side.word())
        });
        let kept =
            of.words.1.as_ref().map(|words| format!("\"{}\" stays alive here: it has waited longest.", capital(words)));
        let both: Vec<String> = kept.into_iter().chain(breathing).collect();
        return (!both.is_empty()).then(|| both.join(" "));
    }
    match (part.kind, kind) {
        (PartKind::Drill, _) => Some(reason::focus(of.choices, of.words.0.as_deref())),
        (PartKind::Relaxed, PracticeKind::Easier) => {
            Some(format!("The one tempo of the day, {}, without effort.", seconds(*relaxed)))
        }
        (PartKind::Relaxed, _) => Some(format!(
            "The tempo without effort, {}. The count of the last length is what the quicker ones are held against.",
            seconds(*relaxed)
        )),
        (PartKind::Ladder, _) => {
            let (_, step) = edge::ladder(edge.to, part.count);
            Some(format!(
                "Up to the edge at {} in steps of {:.2} s, each of which can be heard.",
                seconds(edge.to),
                step
            ))
        }
        (PartKind::Edge, _) => Some(reason::tempo(of.choices)),
        (PartKind::Fade, _) => Some("Less of the drill: what it gave is kept over a longer swim.".to_owned()),
        (PartKind::Build, _) => Some(
            "The same stroke easy, brisk and fast; each of them to the one side and then to the other.".to_owned(),
        ),
        (PartKind::Pace, _) => Some(
            "From the steady to the brisk pace. A soft tone marks when each wall is due: come in on it, neither sooner nor later."
                .to_owned(),
        ),
        (PartKind::Long, _) => {
            Some("Long, and steady enough to say a sentence at the wall. The focus comes back every two lengths.".to_owned())
        }
        (PartKind::Unbeaten, PracticeKind::Easier) => Some("Nothing to hold on to, and nothing to prove.".to_owned()),
        (PartKind::Unbeaten, _) => Some("The beat is gone: what has stayed of it?".to_owned()),
        (PartKind::Timed, PracticeKind::Return) => {
            Some("The same distance as ever, as evenly as you can: where are you after the time away?".to_owned())
        }
        (PartKind::Timed, _) => Some("As evenly as you can; the time goes into the log.".to_owned()),
        (PartKind::Spared, _) => Some(
            match of.spared.aside {
                Some(Aside::BackKick) => {
                    "Legs alone, on your back, the arms at rest beside you: no board, which would hold the shoulder up. Then any stroke."
                }
                Some(Aside::Kick(_)) => "Something for the legs that asks nothing of the arms, then any stroke. Leave out what hurts.",
                Some(Aside::Scull(_)) => "Hands alone, the legs rest; then any stroke. Leave out what hurts.",
                None => "Any stroke.",
            }
            .to_owned(),
        ),
        (PartKind::Free, _) => Some("Any stroke that does not hurt, another one when you like. Stop if one does.".to_owned()),
        _ => None,
    }
}
