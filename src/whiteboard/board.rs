//! A board that was understood, all but what had to be left out: its entries, their swims, and the keys of the language that its words came to.

use crate::diag::{Diagnostic, Span};
use crate::script::Phase;

/// The order in which a script has its keys; a swim's distance and send-off stand before them.
const ORDER: [&str; 21] = [
    "rounds",
    "between-rounds",
    "send-off",
    "part",
    "stroke",
    "drill",
    "effort",
    "gear",
    "rest",
    "pace",
    "tempo",
    "focus",
    "breathe",
    "strokes",
    "count",
    "test",
    "second-half",
    "sight",
    "call",
    "beats",
    "lengths",
];

/// A board that was understood, but for the entries that are left out.
#[derive(Clone, Debug, PartialEq)]
pub struct Board {
    /// What is done, in order.
    pub entries: Vec<BoardEntry>,
    /// Ids of the drills named.
    pub drills: Vec<String>,
    /// Ids of the phrases named.
    pub phrases: Vec<String>,
}

/// One entry of a board.
#[derive(Clone, Debug, PartialEq)]
pub struct BoardEntry {
    /// Where it stands.
    pub span: Span,
    /// Its part of the practice.
    pub phase: Option<Phase>,
    /// The phase is a guess: the first or last swim, and easy.
    pub guessed: bool,
    /// What it is.
    pub item: BoardItem,
}

/// What an entry of a board is.
#[derive(Clone, Debug, PartialEq)]
pub enum BoardItem {
    /// Nothing that a script can have, and why not; it stands there as a comment.
    LeftOut(Vec<Diagnostic>),
    /// A rest at the wall; the key is `rest`.
    Rest(BoardKey),
    /// One swim.
    Swim(BoardSwim),
    /// `3x(...)`
    Rounds {
        /// How often, 1 to 100.
        count: u32,
        /// The rest between two rounds; the key is `between-rounds`.
        between: Option<BoardKey>,
        /// What holds for every swim that does not have its own.
        shared: Vec<BoardKey>,
        /// The swims of one round.
        swims: Vec<BoardSwim>,
        /// The board has one swim, whose repeats differ: how many and how far.
        whole: Option<(u32, Reach)>,
    },
}

/// Repeats of a distance and everything said of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoardSwim {
    /// Where it stands.
    pub span: Span,
    /// How many, 1 to 1,000,000; those of a list of distances are counted by the list.
    pub repeats: u32,
    /// How far each.
    pub reach: Reach,
    /// Keys of the language with their values, in no order.
    pub keys: Vec<BoardKey>,
    /// What each length is, in turn; empty where all are alike.
    pub lengths: Vec<Vec<BoardKey>>,
    /// The board named the lengths without distances: one each was assumed.
    pub each_length: bool,
}

/// How far a repeat goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reach {
    /// In the water's unit: one distance, or one for each repeat.
    Distances(Vec<u32>),
    /// Whole minutes.
    Minutes(u32),
}

/// A key of the language that a board's words came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoardKey {
    /// The key, such as `send-off`.
    pub name: &'static str,
    /// Its value as YAML.
    pub value: String,
    /// What it means in words.
    pub words: String,
    /// The board's words for it; for an assumption, the swim it was made for.
    pub span: Span,
    /// Not on the board.
    pub assumed: bool,
}

impl BoardSwim {
    /// The same with keys that hold where it has none of its own.
    #[must_use]
    pub(super) fn with(&self, shared: &[BoardKey]) -> Self {
        let mut swim = self.clone();
        swim.keys.extend(shared.iter().filter(|key| self.key(key.name).is_none()).cloned());
        swim
    }

    /// The value of a key.
    pub fn key(&self, name: &str) -> Option<&BoardKey> {
        self.keys.iter().find(|key| key.name == name)
    }
}

impl BoardEntry {
    /// Leaves the entry out for a problem; others may have been found before.
    pub(super) fn leave_out(&mut self, problem: Diagnostic) {
        match &mut self.item {
            BoardItem::LeftOut(problems) if problems.contains(&problem) => {}
            BoardItem::LeftOut(problems) => problems.push(problem),
            item => *item = BoardItem::LeftOut(vec![problem]),
        }
    }
}

impl Board {
    /// Whether there is anything to swim.
    pub fn has_swims(&self) -> bool {
        self.entries.iter().any(|entry| matches!(entry.item, BoardItem::Swim(_) | BoardItem::Rounds { .. }))
    }

    /// How many entries are left out.
    pub fn left_out(&self) -> usize {
        self.entries.iter().filter(|entry| matches!(entry.item, BoardItem::LeftOut(_))).count()
    }

    /// Leaves out the entry in which a problem lies; false where it lies in none.
    pub fn leave_out(&mut self, problem: &Diagnostic) -> bool {
        let holds = |entry: &&mut BoardEntry| problem.span.is_some_and(|span| entry.span.holds(span));
        let entry = self.entries.iter_mut().find(holds);
        entry.map(|entry| entry.leave_out(problem.clone())).is_some()
    }

    /// Units of distance swum in all; time is not counted.
    pub fn distance(&self) -> u64 {
        let of = |swim: &BoardSwim| match &swim.reach {
            Reach::Distances(each) if each.len() > 1 => each.iter().map(|one| u64::from(*one)).sum(),
            Reach::Distances(each) => {
                each.iter().map(|one| u64::from(*one).saturating_mul(u64::from(swim.repeats))).sum()
            }
            Reach::Minutes(_) => 0,
        };
        let entries = self.entries.iter().map(|entry| match &entry.item {
            BoardItem::Rest(_) | BoardItem::LeftOut(_) => 0,
            BoardItem::Swim(swim) => of(swim),
            BoardItem::Rounds { count, swims, .. } => {
                u64::from(*count).saturating_mul(swims.iter().map(of).fold(0, u64::saturating_add))
            }
        });
        entries.fold(0, u64::saturating_add)
    }
}

/// Keys in the order of a script.
pub(super) fn sorted(keys: &[BoardKey]) -> Vec<&BoardKey> {
    let mut keys: Vec<_> = keys.iter().collect();
    keys.sort_by_key(|key| ORDER.iter().position(|name| *name == key.name));
    keys
}
