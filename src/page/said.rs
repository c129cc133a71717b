//! What is said and signalled, in the order heard, a line each.

use super::span::Millis;
use super::typed::typed;
use crate::prepare::Planned;
use crate::timeline::{Cue, CueKind};
use crate::units::time::Seconds;
use maud::{Markup, html};

/// One cue of the whole practice, and its place among all of them.
#[derive(Clone, Copy, Debug)]
pub struct PageCue<'p> {
    /// Its number from 0: what is lit in the list and in the drawing has the same.
    pub number: usize,
    /// When it begins.
    pub at: Seconds,
    /// What it is.
    pub cue: &'p Cue,
}

/// Every cue in the order heard; beats are not among them.
pub fn cues(planned: &Planned) -> impl Iterator<Item = PageCue<'_>> {
    let legs = planned.built.timeline.legs.iter();
    let cues = legs.flat_map(|leg| leg.cues.iter().map(move |cue| (leg.origin + cue.at, cue)));
    cues.enumerate().map(|(number, (at, cue))| PageCue { number, at, cue })
}

/// The list, by sets.
pub fn said(planned: &Planned) -> Markup {
    let plan = &planned.plan;
    let listed: Vec<PageCue<'_>> = cues(planned).filter(|cue| is_listed(cue.cue)).collect();
    // The talk before a set is announced stands with it: it begins behind the last touch of the one before.
    let mut rest = listed.as_slice();
    let mut take = |until: Option<Seconds>| {
        let count = rest.partition_point(|cue| until.is_none_or(|until| cue.at < until));
        let (these, those) = rest.split_at(count);
        rest = those;
        these
    };
    let mut parts = Vec::new();
    for (set, next) in plan.sets.iter().zip(plan.sets.iter().skip(1).map(Some).chain([None])) {
        parts.push((set.title.as_str(), take(next.map(|_| set.end))));
    }
    html! {
        @for (title, cues) in parts {
            details open {
                summary { h3 { (typed(title)) } }
                ol { @for cue in cues { (item(cue)) } }
            }
        }
    }
}

fn is_listed(cue: &Cue) -> bool {
    cue.kind == CueKind::Go || cue.kind.is_voice()
}

fn item(PageCue { number, at, cue }: &PageCue<'_>) -> Markup {
    html! {
        li data-cue=(number) class=(cue.kind.word()) {
            button type="button" data-to=(Millis::from(*at)) { (at) }
            " "
            @if cue.kind == CueKind::Go { strong { "go" } } @else { q { (typed(&cue.text)) } }
        }
    }
}
