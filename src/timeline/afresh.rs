//! What is said to whoever comes to a start without what was said before it: where a set goes on in another track, after a
//! skip. Nothing of the start before is taken as known.

use super::beats::audible;
use super::before::is_asked;
use super::lay::Layer;
use super::place::Placed;
use super::schedule::{Sentence, about, sequence, worn, worn_at};
use super::speak::{Announcer, KnownDrills, Utterance, drills};
use super::start::Start;
use super::{CueKind, preview};
use crate::practice::{Practice, Set};
use crate::units::time::Seconds;
use std::sync::Arc;

/// Everything of a start within its set: which one it is, what is swum and how, its targets, its gear, its tempo.
pub(super) fn afresh(
    practice: &Practice,
    announcer: Announcer<'_>,
    (set, start, before): (&Set, &Start, Option<&Start>),
    known: &mut KnownDrills,
) -> Vec<Sentence> {
    let repeat = &start.repeat;
    let Some(line) = set.lines.get(repeat.line) else { return Vec::new() };
    let mut told: Vec<Utterance> = announcer.whereabouts(set, start.ordinal, is_asked(line)).into_iter().collect();
    told.extend(announcer.this_one(set, repeat, known));
    told.extend(
        repeat.tempo.filter(|_| audible(line, practice.audience)).map(|tempo| announcer.tempo(tempo, line.per_minute)),
    );
    told.extend((!line.paces.is_empty()).then(|| announcer.due(repeat.predicted)));
    told.extend(announcer.how(line, practice.audience.in_ear()));
    let worn_before = before.map_or(&[][..], |before| worn_at(practice, before));
    told.extend(announcer.gear(worn_before, worn(set, repeat.line)));
    told.retain(|said| !said.is_empty());
    let mut lines: Vec<Sentence> = told.into_iter().map(|said| (CueKind::Set, said)).collect();
    let tempo = repeat.tempo.filter(|_| audible(line, practice.audience));
    lines.extend(tempo.map(|tempo| (CueKind::Preview, preview::silent(tempo))));
    lines
}

impl Layer<'_> {
    /// What is to be said of a start, of its set where it opens it, by what has been swum: `before` is the last start that has
    /// begun, `known` the drills that have been explained, to which those of the start are added.
    pub fn afresh(&self, start: &Start, before: Option<&Start>, known: &mut KnownDrills) -> Vec<Placed> {
        let Some(set) = self.set(start) else { return Vec::new() };
        let lines = if start.opens {
            let first = start.set == 0;
            about(self.practice(), set, first, (before, known), self.announcer())
        } else {
            afresh(self.practice(), self.announcer(), (set, start, before), known)
        };
        sequence(lines, Seconds::ZERO).0
    }

    /// The drills of the set of a start: told with it, they are known.
    pub fn drills(&self, start: &Start) -> impl Iterator<Item = Arc<str>> {
        self.set(start).into_iter().flat_map(|set| &set.lines).flat_map(drills).map(|drill| Arc::clone(&drill.how.id))
    }
}
