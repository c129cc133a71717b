//! What a skip leaves unsaid is said where it is needed: of the start that is skipped to, and of the drills that nobody has
//! explained yet with the next set that has them.

use super::steered::Steered;
use crate::practice::CLOCK;
use crate::timeline::CueKind;
use crate::timeline::place::Placed;
use crate::timeline::speak::KnownDrills;
use crate::units::time::Seconds;

/// Whether a line of a talk is about its set: the others are texts of the script and rules of the practice.
const fn about_the_set(line: &Placed) -> bool {
    matches!(line.kind, CueKind::Set | CueKind::Wall | CueKind::Preview)
}

/// When the last line of a talk ends.
fn end(talk: &[Placed]) -> Option<Seconds> {
    talk.last().map(|last| last.at + last.said.len())
}

impl Steered<'_> {
    /// The drills that have been explained: those of the sets of which a go has been heard.
    pub(super) fn known(&self, now: Seconds) -> KnownDrills {
        let gone =
            self.strand.starts.iter().zip(&self.recorded).filter(|(start, recorded)| **recorded && start.go <= now);
        gone.flat_map(|(start, _)| self.layer.drills(start)).collect()
    }

    /// What is said of a start to a swimmer who has not heard what came before it.
    pub(super) fn about(&self, target: usize, known: &mut KnownDrills, now: Seconds) -> Vec<Placed> {
        let swum = self.strand.at(now).0.and_then(|begun| self.start(begun));
        self.plan.get(target).map_or_else(Vec::new, |start| self.layer.afresh(start, swum, known))
    }

    /// The talks behind a start as they were planned, whatever has been moved, cut or spoken of them; longer where a drill has
    /// to be explained that a skipped set would have explained. The go comes later by as much.
    pub(super) fn restore_talks(&mut self, target: usize, mut known: KnownDrills) {
        let mut planned: KnownDrills =
            self.plan.iter().take(target + 1).flat_map(|start| self.layer.drills(start)).collect();
        for index in target + 1..self.strand.starts.len() {
            let Some(plan) = self.plan.get(index) else { break };
            let (mut talk, mut longer) = (plan.talk.clone(), Seconds::ZERO);
            if plan.opens {
                let missed = self.layer.drills(plan).any(|drill| planned.contains(&drill) && !known.contains(&drill));
                if missed && let Some((told, late)) = self.explain(index, &mut known) {
                    (talk, longer) = (told, late);
                }
                known.extend(self.layer.drills(plan));
                planned.extend(self.layer.drills(plan));
            }
            let before = self.start(index).map_or(Seconds::ZERO, |start| start.later);
            if let Some(last) = self.strand.starts.get_mut(index - 1) {
                last.after += longer - before;
            }
            if let Some(start) = self.strand.starts.get_mut(index) {
                (start.talk, start.go, start.later) = (talk, plan.go + longer, longer);
            }
        }
    }

    /// The talk of a set with its drills explained, on the clock of the plan; and by how much its go comes later.
    fn explain(&self, index: usize, known: &mut KnownDrills) -> Option<(Vec<Placed>, Seconds)> {
        let plan = self.plan.get(index)?;
        let before = index.checked_sub(1).and_then(|before| self.plan.get(before));
        let about = self.layer.afresh(plan, before, known);
        let lines: Vec<_> = plan.talk.iter().filter(|line| !about_the_set(line)).cloned().chain(about).collect();
        let (told, _) = self.layer.talk(&lines, plan.talk.first()?.at);
        let late = (end(&told)? - end(&plan.talk)?).max(Seconds::ZERO).ceil_to(CLOCK);
        Some((told, late))
    }
}
