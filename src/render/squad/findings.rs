//! What was found wrong while a squad's practices were made: the same thing once, with all whom it concerns.

use crate::diag::{Code, Diagnostic, Severity, Sources};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// A problem at a place of a text; its words may differ from swimmer to swimmer.
type ProblemPlace = (Severity, Code, Option<(String, u32, u32)>, Option<String>);

/// Everything that was found, gathered from all threads.
#[derive(Debug, Default)]
pub(super) struct Gathered(Mutex<BTreeMap<ProblemPlace, Gathering>>);

#[derive(Debug)]
struct Gathering {
    members: Vec<usize>,
    /// In the words said of the first of them.
    diagnostic: Diagnostic,
    sources: Arc<Sources>,
}

/// One problem, and whose it is.
#[derive(Clone, Debug)]
pub struct SquadFinding {
    /// The places in the roster of those whose it is, from 0.
    pub members: Vec<usize>,
    /// The problem, in the words that fit the first of them.
    pub diagnostic: Diagnostic,
    /// The texts that it points into.
    pub sources: Arc<Sources>,
}

/// Everything that was found: errors before cautions, then in the order of the texts.
pub type SquadFindings = Vec<SquadFinding>;

impl Gathered {
    /// Adds the problems of a member of the roster.
    pub fn add(&self, member: usize, diagnostics: &[Diagnostic], sources: &Arc<Sources>) {
        let mut gathered = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        for diagnostic in diagnostics {
            let place = diagnostic.span.map(|span| (sources.name(span.source).to_owned(), span.start, span.end));
            let words = place.is_none().then(|| diagnostic.message.clone());
            let found = gathered.entry((diagnostic.severity(), diagnostic.code, place, words)).or_insert_with(|| {
                Gathering { members: Vec::new(), diagnostic: diagnostic.clone(), sources: Arc::clone(sources) }
            });
            // Which thread comes first must not decide what is said.
            if found.members.first().is_some_and(|first| member < *first) {
                (found.diagnostic, found.sources) = (diagnostic.clone(), Arc::clone(sources));
            }
            let at = found.members.partition_point(|known| *known < member);
            if found.members.get(at) != Some(&member) {
                found.members.insert(at, member);
            }
        }
    }

    /// All of it.
    pub fn all(self) -> SquadFindings {
        let gathered = self.0.into_inner().unwrap_or_else(PoisonError::into_inner);
        let finding = |Gathering { members, diagnostic, sources }| SquadFinding { members, diagnostic, sources };
        let mut all: SquadFindings = gathered.into_values().map(finding).collect();
        // Side by side, what concerns the same swimmers; what concerns most of them first.
        all.sort_by(|a, b| {
            let order =
                |finding: &SquadFinding| (finding.diagnostic.severity(), std::cmp::Reverse(finding.members.len()));
            order(a).cmp(&order(b)).then_with(|| a.members.cmp(&b.members))
        });
        all
    }
}
