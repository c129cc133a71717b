//! A swim while it is read: where each word goes, and what the words come to in keys and lengths:
//! `(25 kick / 25 swim)` is one length of each.

use crate::diag::{Code, Diagnostic, Span};
use crate::whiteboard::board::{BoardKey, Reach};
use crate::whiteboard::reader::BoardReader;

/// Keys that can differ from length to length.
pub(super) const PER_LENGTH: [&str; 5] = ["drill", "focus", "part", "stroke", "effort"];

/// Keys that say when the next repeat starts.
pub(super) const TIMES: [&str; 2] = ["rest", "send-off"];

/// The rest between repeats where the board gives neither rest nor send-off: common practice, no source.
pub(super) fn assumed_rest(reach: &Reach, span: Span) -> BoardKey {
    let seconds = match reach {
        Reach::Distances(each) => match each.iter().max().copied().unwrap_or(0) {
            0..=50 => 15,
            51..=100 => 20,
            _ => 30,
        },
        Reach::Minutes(_) => 60,
    };
    let value = if seconds < 60 { format!("{seconds} s") } else { "1:00".to_owned() };
    BoardKey { name: "rest", words: format!("rest {value}"), value, span, assumed: true }
}

/// The most lengths that the language tells apart in one repeat.
const MOST: u32 = 64;

/// A part of a repeat; the first one of a draft is what holds for all of it.
pub(super) struct RepeatPart {
    /// How far, if said.
    pub distance: Option<u32>,
    /// What is special.
    pub keys: Vec<BoardKey>,
    /// It began with a bracket.
    pub bracket: bool,
}

/// Some of the repeats of a swim, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Chosen {
    /// `odds`
    Odd,
    /// `evens`
    Even,
    /// `every 4th`: the fourth, the eighth ...
    Every(u32),
    /// `1-4`, `#3`
    From(u32, u32),
    /// `last 2`
    Last(u32),
    /// `others`: those that nothing has been said of.
    Others,
    /// `3 easy`: so many, then so many of the next group, until all are told.
    Count(u32),
    /// Those from one to another of so many, again and again.
    Turn {
        /// The first.
        from: u32,
        /// The last.
        to: u32,
        /// How many make a turn.
        of: u32,
    },
}

impl Chosen {
    /// Whether a repeat of so many is among them; of `others` and of a count that is not known here.
    pub(super) fn holds(self, repeat: u32, of: u32) -> bool {
        match self {
            Self::Odd => repeat % 2 == 1,
            Self::Even => repeat.is_multiple_of(2),
            Self::Every(n) => repeat.is_multiple_of(n),
            Self::From(first, last) => (first..=last).contains(&repeat),
            Self::Last(count) => repeat.saturating_add(count) > of,
            Self::Turn { from, to, of } => (from..=to).contains(&((repeat - 1) % of + 1)),
            Self::Others | Self::Count(_) => false,
        }
    }

    /// The highest number that the board names.
    pub(super) const fn highest(self) -> u32 {
        match self {
            Self::Odd | Self::Even | Self::Others | Self::Count(_) | Self::Turn { .. } => 1,
            Self::Every(n) | Self::From(_, n) | Self::Last(n) => n,
        }
    }
}

/// Some of the repeats, and what is said of them.
pub(super) struct RepeatGroup {
    /// The words that choose them.
    pub span: Span,
    /// Which.
    pub chosen: Vec<Chosen>,
    /// What is said of them alone.
    pub keys: Vec<BoardKey>,
    /// A bracket was closed behind it: no word behind them is for all.
    pub closed: bool,
}

/// What the words that come belong to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stage {
    /// A swim whose distance has not been read yet.
    BeforeDistance,
    /// A swim whose distance has been read: numbers are now something else.
    BehindDistance {
        /// How many repeats, those of a list counted too.
        repeats: u32,
    },
    /// Rounds, whose bracket is closed.
    BehindRounds {
        /// Each swim of the rounds has said when the next one starts.
        timed: bool,
    },
}

/// How the parts of a repeat are marked as parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Listing {
    /// By nothing, or by a bracket.
    Loose,
    /// After `as`: what follows are parts.
    Listed,
    /// After `alternate`: they come in turn until the repeat is full.
    InTurn,
}

/// What words are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// The whole swim.
    Whole,
    /// The part of a repeat that began last.
    Part,
    /// The repeats chosen last.
    Group,
}

/// A swim, or the words behind rounds, while it is read.
pub(super) struct Draft {
    /// What holds for all of it.
    pub keys: Vec<BoardKey>,
    /// What holds for all lengths first, then each part of a repeat.
    pub parts: Vec<RepeatPart>,
    /// What is said of some repeats alone.
    pub groups: Vec<RepeatGroup>,
    /// What the next words are for.
    pub place: Place,
    /// Inside brackets behind the distance.
    pub bracket: bool,
    /// How the parts are marked.
    pub listing: Listing,
    /// How long each part is, said once for all of them.
    pub by: Option<u32>,
    /// How far it has been read.
    pub stage: Stage,
}

impl Draft {
    /// A swim; or what stands behind rounds.
    pub fn new(stage: Stage) -> Self {
        let base = RepeatPart { distance: None, keys: Vec::new(), bracket: false };
        Self {
            keys: Vec::new(),
            parts: vec![base],
            groups: Vec::new(),
            place: Place::Whole,
            bracket: false,
            listing: Listing::Loose,
            by: None,
            stage,
        }
    }

    /// Whether the words stand behind rounds.
    pub const fn is_rounds(&self) -> bool {
        matches!(self.stage, Stage::BehindRounds { .. })
    }

    /// Whether what comes is one of several parts, so that a comma or a plus does not end the swim.
    pub fn takes_parts(&self) -> bool {
        self.bracket || self.listing != Listing::Loose
    }

    /// Whether it has been said when the next repeat starts.
    pub fn is_timed(&self) -> bool {
        self.keys.iter().any(|key| TIMES.contains(&key.name))
    }

    /// Another part of the repeat begins.
    pub fn part(&mut self, distance: Option<u32>, bracket: bool) {
        self.parts.push(RepeatPart { distance, keys: Vec::new(), bracket });
        self.place = Place::Part;
    }

    /// Words for some repeats begin; two choices side by side are one.
    pub fn choose(&mut self, chosen: Chosen, span: Span) {
        self.place = Place::Group;
        match self.groups.last_mut() {
            Some(last) if last.keys.is_empty() => {
                last.chosen.push(chosen);
                last.span = last.span.to(span);
            }
            _ => self.groups.push(RepeatGroup { span, chosen: vec![chosen], keys: Vec::new(), closed: false }),
        }
    }

    /// A bracket closes.
    pub fn close(&mut self) {
        (self.bracket, self.place) = (false, Place::Whole);
        if let Some(last) = self.groups.last_mut() {
            last.closed = true;
        }
    }

    /// Puts a key where it belongs; one that contradicts another is a problem.
    pub fn put(&mut self, reader: &mut BoardReader<'_>, key: BoardKey) {
        let part = match self.place {
            Place::Whole => self.parts.first_mut(),
            Place::Part => self.parts.last_mut(),
            Place::Group => None,
        };
        let keys = match (part, self.groups.last_mut(), self.place) {
            (_, Some(group), Place::Group) => &mut group.keys,
            (Some(part), ..) if PER_LENGTH.contains(&key.name) => &mut part.keys,
            _ => &mut self.keys,
        };
        match keys.iter_mut().find(|other| other.name == key.name) {
            None => keys.push(key),
            Some(other) if other.value == key.value => {}
            Some(other) if key.name == "gear" => {
                if !other.value.split(", ").any(|worn| worn == key.value) {
                    other.value = format!("{}, {}", other.value, key.value);
                    other.words = format!("{} and {}", other.words, key.value);
                }
            }
            Some(other) => {
                let message = format!("`{}` is said twice: {}, then {}", key.name, other.words, key.words);
                let problem = Diagnostic::at(Code::Conflict, key.span, message).label(other.span, "first here");
                reader
                    .problems
                    .push(problem.hint("leave one out; parts of a repeat are written `(25 kick / 25 swim)`"));
            }
        }
    }

    /// The keys and lengths of a swim; whether the lengths were named without distances.
    pub fn into_swim(
        self,
        reader: &mut BoardReader<'_>,
        (repeats, reach): (u32, &Reach),
        span: Span,
    ) -> (Vec<BoardKey>, Vec<Vec<BoardKey>>, bool) {
        let Self { mut keys, parts, by, listing, .. } = self;
        let mut parts = parts.into_iter();
        let base = parts.next().map_or_else(Vec::new, |base| base.keys);
        let mut parts: Vec<_> = parts.collect();
        let named = parts.iter().filter(|part| part.distance.is_some()).count();
        // "(easy)" is only a word in brackets, and "kick / swim" has its first part before the stroke.
        if let ([only], 0) = (parts.as_mut_slice(), named)
            && only.bracket
        {
            keys.extend(base.into_iter().filter(|key| !only.keys.iter().any(|other| other.name == key.name)));
            keys.append(&mut only.keys);
            return (keys, Vec::new(), false);
        }
        let bracketed = parts.iter().any(|part| part.bracket);
        if named == 0 && !parts.is_empty() && !bracketed {
            parts.insert(0, RepeatPart { distance: None, keys: base, bracket: false });
        } else {
            keys.extend(base);
        }
        if parts.is_empty() {
            return (keys, Vec::new(), false);
        }
        // `200 swim 100 kick 100 pull`: with nothing that holds them together these may be swims of their own.
        let joined = bracketed || listing != Listing::Loose || repeats > 1 || by.is_some();
        let sum = || parts.iter().filter_map(|part| part.distance).fold(0, u32::saturating_add);
        if !joined
            && named == parts.len()
            && let Reach::Distances(each) = reach
            && let [whole] = each.as_slice()
            && sum() == *whole
        {
            let message = "these are several swims, or the parts of one";
            let hint = format!("put `;` between swims; parts of one are written `{whole} as ...`");
            reader.fault(span, message, hint);
            return (keys, Vec::new(), false);
        }
        if let Some(by) = by {
            parts.iter_mut().for_each(|part| part.distance = part.distance.or(Some(by)));
        }
        let named = if by.is_some() { parts.len() } else { named };
        let lengths = lengths(reader, &parts, (named, listing == Listing::InTurn || by.is_some()), reach, span)
            .unwrap_or_default();
        (keys, lengths, named == 0)
    }

    /// What holds for all swims of rounds, and the rest between them.
    pub fn into_shared(self, reader: &mut BoardReader<'_>, count: u32) -> (Vec<BoardKey>, Option<BoardKey>) {
        let Self { mut keys, parts, .. } = self;
        if parts.len() > 1 {
            let span = reader.here();
            reader.fault(span, "parts of a repeat behind rounds", "write them behind the distance they belong to");
        }
        keys.extend(parts.into_iter().next().map_or_else(Vec::new, |base| base.keys));
        let at = keys.iter().position(|key| key.name == "between-rounds");
        let between = at.map(|at| keys.remove(at));
        if let Some(between) = between.as_ref().filter(|_| count < 2) {
            reader.fault(between.span, "a rest between rounds, but there is one round", "say how many: `3x(...)`");
        }
        (keys, between)
    }
}

/// Each length's own keys.
fn lengths(
    reader: &mut BoardReader<'_>,
    parts: &[RepeatPart],
    (named, in_turn): (usize, bool),
    reach: &Reach,
    span: Span,
) -> Option<Vec<Vec<BoardKey>>> {
    let sign = reader.known.water.unit.sign();
    let (Reach::Distances(each), Some(pool)) = (reach, reader.known.water.length) else {
        reader.fault(
            span,
            "parts of a swim are lengths of a pool",
            "write each part as a swim: `100 easy; 300 steady`",
        );
        return None;
    };
    let [repeat] = each.as_slice() else {
        reader.fault(span, "parts of a repeat need repeats of one distance", "write them as rounds");
        return None;
    };
    let own = |part: &RepeatPart| {
        let mut keys: Vec<BoardKey> = part.keys.iter().filter(|key| PER_LENGTH.contains(&key.name)).cloned().collect();
        if keys.is_empty() {
            // The language wants a word for each length.
            keys.push(BoardKey { name: "part", value: "swim".into(), words: "swim".into(), span, assumed: false });
        }
        keys
    };
    if named == 0 {
        let count = parts.len();
        if !((repeat / pool) as usize).is_multiple_of(count) {
            let message = format!("{count} parts in turn do not fit a repeat of {} lengths", repeat / pool);
            let hint = format!("write rounds, such as `2x({pool} kick + {pool} swim)`, or each part with its distance");
            reader.fault(span, message, hint);
            return None;
        }
        return Some(parts.iter().map(own).collect());
    }
    if named < parts.len() {
        reader.fault(span, "some parts have a distance, others none", "write `(25 kick / 25 swim)`");
        return None;
    }
    let sum: u32 = parts.iter().filter_map(|part| part.distance).fold(0, u32::saturating_add);
    if sum != *repeat && !(in_turn && sum > 0 && repeat.is_multiple_of(sum)) {
        let message = format!("the parts make {sum} {sign}, the repeat is {repeat} {sign}");
        reader.fault(span, message, "mend the parts; if another swim begins, put `;` before it");
        return None;
    }
    if sum / pool > MOST {
        reader.fault(
            span,
            format!("parts over {} lengths; at most {MOST} are allowed", sum / pool),
            "write them as rounds",
        );
        return None;
    }
    let times = |part: &RepeatPart| (part.distance.unwrap_or(0) / pool) as usize;
    Some(parts.iter().flat_map(|part| std::iter::repeat_n(own(part), times(part))).collect())
}

/// A key from the board.
pub(super) fn key(name: &'static str, value: impl Into<String>, words: impl Into<String>, span: Span) -> BoardKey {
    BoardKey { name, value: value.into(), words: words.into(), span, assumed: false }
}
