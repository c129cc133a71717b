//! What went wrong and must not be overlooked: one entry for each kind, so that a long fault does not bury the others. When
//! an entry has been seen is the screen's business.

use super::snapshot::Fault;

/// What can go wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FaultKind {
    /// Gos that nobody heard.
    Go,
    /// There was no sound for a while.
    Sound,
    /// The sound comes out elsewhere.
    Output,
    /// The record is not written any more.
    Record,
    /// The practice came behind the clock of the pool.
    Behind,
}

/// Everything that went wrong so far.
#[derive(Debug, Default)]
pub(super) struct Faults {
    last: u32,
    kept: Vec<(FaultKind, Fault)>,
    /// The number of the last one that was added to.
    amended: u32,
}

impl Faults {
    /// Adds one. It takes the place of the one before of its kind and counts as not seen.
    pub(super) fn add(&mut self, kind: FaultKind, short: &str, words: String) {
        self.last += 1;
        self.kept.retain(|(other, _)| *other != kind);
        self.kept.push((kind, Fault { number: self.last, short: short.to_owned(), words }));
    }

    /// Adds to what is told of the last one of a kind, once: how it came out.
    pub(super) fn amend(&mut self, kind: FaultKind, more: &str) {
        if let Some((_, fault)) = self.kept.iter_mut().find(|(other, _)| *other == kind)
            && self.amended < fault.number
        {
            fault.words.push_str(more);
            self.amended = fault.number;
        }
    }

    /// All of them, the oldest first.
    pub(super) fn all(&self) -> Vec<Fault> {
        self.kept.iter().map(|(_, fault)| fault.clone()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_kind_is_there_once_and_the_newest_is_last() {
        let mut faults = Faults::default();
        faults.add(FaultKind::Go, "go lost", "1 go".to_owned());
        faults.add(FaultKind::Record, "no record", "the disk is full".to_owned());
        faults.add(FaultKind::Go, "go lost", "2 gos".to_owned());
        faults.amend(FaultKind::Record, ", still");
        faults.amend(FaultKind::Record, ", twice");
        faults.amend(FaultKind::Behind, "nothing to add to");
        let all = faults.all();
        let told: Vec<_> = all.iter().map(|fault| (fault.number, fault.words.as_str())).collect();
        assert_eq!(told, [(2, "the disk is full, still"), (3, "2 gos")]);
    }
}
