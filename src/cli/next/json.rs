//! The choices with their reasons, for programs.

use crate::next::decide::Choices;
use crate::next::edge::{EdgeFinding, WhyLimit};
use crate::next::order::{NextOrder, NextPractice};
use crate::next::reason;
use crate::next::verdict::{JudgedPair, PairVerdict};
use serde_json::{Value, json};
use std::path::Path;

/// All of a next practice.
pub(super) fn of(next: &NextPractice, order: &NextOrder<'_>, file: Option<&Path>) -> Value {
    let choices = &next.choices;
    let edge = &choices.edge;
    let focus = choices.focus.as_ref().map(|chosen| {
        json!({
            "phrase": chosen.focus.phrase,
            "drill": chosen.focus.drill,
            "kept": chosen.kept,
            "why": reason::focus(choices, Some(&chosen.focus.phrase)),
        })
    });
    json!({
        "swimmer": order.name,
        "day": order.today.to_string(),
        "practices": order.practices.len(),
        "kind": choices.kind.word(),
        "shape": reason::shape(choices).map(|why| json!({ "kind": choices.shape.shape.word(), "why": why })),
        "change": choices.change.word(),
        "reason": next.reason,
        "cautions": reason::cautions(choices),
        "shorter": next.shorter,
        "minutes": next.plan.duration.as_f64() / 60.0,
        "metres": f64::from(next.plan.distance) * next.plan.unit_metres,
        "tempo": {
            "relaxed": choices.relaxed.as_f64(),
            "edge": edge.to.as_f64(),
            "own": choices.ease.own.as_f64(),
            "limit": limit(edge),
            "before": edge.from.map(|from| from.as_f64()),
            "counts": edge.counts,
            "relaxed-count": edge.relaxed,
            "why": reason::tempo(choices),
        },
        "focus": focus,
        "volume": choices.volume.map(|bound| json!({ "of-late": bound.of_late, "furthest": bound.furthest, "most": bound.most })),
        "breaths": { "right-more": choices.breaths.share(), "side": choices.side.map(|side| side.word()) },
        "load": choices.load.map(|load| json!({ "so-far": load.so_far, "most": load.most(), "effort": load.effort })),
        "compared": order.compared.map(|judged| compared(judged, choices)),
        "problems": next.problems.iter().map(|problem| problem.message.clone()).collect::<Vec<_>>(),
        "file": file.map(|file| file.to_string_lossy().into_owned()),
        "script": next.script,
    })
}

fn limit(edge: &EdgeFinding) -> Value {
    let tempo = edge.limit.tempo.as_f64();
    match edge.limit.why {
        WhyLimit::Model => json!({ "tempo": tempo, "by": "model" }),
        WhyLimit::Break { tempo: at, low, high } => {
            json!({ "tempo": tempo, "by": "break", "break": at, "low": low, "high": high })
        }
    }
}

fn compared(judged: &JudgedPair, choices: &Choices) -> Value {
    let verdict = match &judged.verdict {
        PairVerdict::Turns => json!("turns"),
        PairVerdict::Lower { phrase, by } => json!({ "lower": phrase, "by": [by.0, by.1] }),
        PairVerdict::Same { within } => json!({ "same": within }),
        PairVerdict::CannotTell { seen } => json!({ "cannot-tell": seen }),
    };
    let pair = &judged.pair;
    json!({
        "first": pair.first,
        "second": pair.second,
        "begun": pair.begun.to_string(),
        "practices": judged.after,
        "verdict": verdict,
        "why": reason::verdict(choices),
    })
}
