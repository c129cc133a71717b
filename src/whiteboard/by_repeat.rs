//! Repeats of one swim that differ: `8x50 1-4 easy 5-8 brisk`, `odds kick evens swim`. They become swims of their own, in
//! rounds where they come in turn. What leaves two readings is asked back.

use crate::diag::{Code, Diagnostic, Span};
use crate::whiteboard::board::{BoardItem, BoardKey, BoardSwim, Reach};
use crate::whiteboard::draft::{Chosen, RepeatGroup, TIMES, assumed_rest};
use crate::whiteboard::reader::BoardReader;

/// The most swims that one entry is written out into.
const MOST_SWIMS: usize = 64;

/// A swim whose repeats differ, as it was read.
pub(super) struct Differing {
    /// What holds for all repeats.
    pub keys: Vec<BoardKey>,
    /// What each length is.
    pub lengths: Vec<Vec<BoardKey>>,
    /// The lengths were named without distances.
    pub each_length: bool,
    /// What some repeats are.
    pub groups: Vec<RepeatGroup>,
}

/// One repeat on its way to a swim.
#[derive(Clone, PartialEq, Eq)]
struct One {
    far: u32,
    /// Keys and values, sorted.
    own: Vec<(&'static str, String)>,
    /// The group whose range or list runs over this repeat and others.
    runs: Option<usize>,
}

impl BoardReader<'_> {
    /// The swims of repeats that differ, in rounds where they come in turn; nothing where something is asked back.
    pub(super) fn by_repeat(
        &mut self,
        mut differing: Differing,
        (repeats, reach): (u32, &Reach),
        span: Span,
    ) -> Option<BoardItem> {
        let Reach::Distances(each) = reach else {
            self.fault(span, "repeats by time that differ", "write each as a swim: `2x5 min easy; 2x5 min brisk`");
            return None;
        };
        let count = if each.len() > 1 { each.len() } else { repeats as usize };
        if count > MOST_SWIMS * 8 {
            let message = format!("{count} repeats that differ; at most {} are told apart", MOST_SWIMS * 8);
            self.problems.push(Diagnostic::at(Code::OutOfRange, span, message).hint("split the set"));
            return None;
        }
        let before = self.problems.len();
        self.loose_ends(&mut differing.groups, &mut differing.keys);
        self.counted_turns(&mut differing.groups, count as u32, span);
        if self.problems.len() > before {
            return None;
        }
        let of = self.which_group(&differing.groups, count as u32);
        self.starts(&mut differing, &of, reach, span);
        let ones = self.ones(&differing.groups, &of, |index| each.get(index).or(each.first()).copied().unwrap_or(0));
        let groups_say = |of: &Vec<usize>, name: &str| {
            of.iter()
                .filter_map(|group| differing.groups.get(*group))
                .any(|group| group.keys.iter().any(|key| key.name == name))
        };
        // "kick odds, swim evens": what all repeats say themselves was not meant for all.
        let unused: Vec<_> = differing.keys.iter().filter(|key| of.iter().all(|of| groups_say(of, key.name))).collect();
        for key in unused {
            let message = format!("`{}` holds for none of the repeats", key.words);
            self.fault(key.span, message, "what a repeat is stands behind it: `odds easy evens fast`");
        }
        if let Some(range) = differing.keys.iter().find(|key| key.value.starts_with("{ from")) {
            let message = format!("{} runs over all repeats, but they differ", range.words);
            self.fault(range.span, message, "write each as a swim, with a range of its own");
        }
        let (rounds, runs) = folded(&ones);
        self.whole_ranges(&differing.groups, &of, &runs);
        if runs.len() > MOST_SWIMS {
            let message = format!("these come to {} swims; at most {MOST_SWIMS} are written out", runs.len());
            self.problems.push(Diagnostic::at(Code::OutOfRange, span, message).hint("split the set"));
        }
        if self.problems.len() > before {
            return None;
        }
        let mut at = 0;
        let swims = runs.into_iter().map(|(times, one)| {
            let index = at;
            at += times;
            BoardSwim {
                span,
                repeats: times as u32,
                reach: Reach::Distances(vec![one.far]),
                keys: keys_of(&differing.groups, of.get(index).map_or(&[], Vec::as_slice)),
                lengths: differing.lengths.clone(),
                each_length: differing.each_length,
            }
        });
        let swims = swims.collect();
        let whole = Some((repeats, reach.clone()));
        Some(BoardItem::Rounds { count: rounds as u32, between: None, shared: differing.keys, swims, whole })
    }

    /// Words behind the last group: a time to start is for all repeats, anything that no other group says could be.
    fn loose_ends(&mut self, groups: &mut [RepeatGroup], all: &mut Vec<BoardKey>) {
        let Some((last, others)) = groups.split_last_mut() else { return };
        let said = |name: &str| others.iter().any(|group| group.keys.iter().any(|key| key.name == name));
        if !last.closed && !TIMES.iter().any(|name| said(name)) && !all.iter().any(|key| TIMES.contains(&key.name)) {
            let (times, keys) = last.keys.drain(..).partition(|key| TIMES.contains(&key.name));
            last.keys = keys;
            all.extend::<Vec<_>>(times);
        }
        for group in others.iter().chain(std::iter::once(&*last)).filter(|group| group.keys.is_empty()) {
            self.problems.push(
                Diagnostic::at(Code::BadValue, group.span, "what these repeats are is not said")
                    .hint("it stands behind them: `odds easy evens fast`"),
            );
        }
        if last.closed {
            return;
        }
        for (before, key) in last.keys.iter().zip(last.keys.iter().skip(1)) {
            // "kick with fins" belongs together.
            let belongs = key.span == before.span || (key.name == "gear" && ["part", "gear"].contains(&before.name));
            if !(said(key.name) || TIMES.contains(&key.name) || belongs) {
                let message = format!("`{}`: for these repeats alone, or for all?", key.words);
                let hint = "for all: put it before the first of the repeats; for these alone: put brackets around, `(odds easy, evens fast)`";
                self.problems.push(Diagnostic::at(Code::BadValue, key.span, message).hint(hint));
            }
        }
    }

    /// `3 easy 1 fast`: as many as are counted, in turn.
    fn counted_turns(&mut self, groups: &mut [RepeatGroup], count: u32, span: Span) {
        let counted = |group: &RepeatGroup| match group.chosen.as_slice() {
            [Chosen::Count(count)] => Some(*count),
            _ => None,
        };
        if !groups.iter().flat_map(|group| &group.chosen).any(|chosen| matches!(chosen, Chosen::Count(_))) {
            return;
        }
        let counts: Option<Vec<u32>> = groups.iter().map(counted).collect();
        let Some(counts) = counts.filter(|counts| counts.len() > 1) else {
            let hint = "`#3 fast` is the third, `last 3 fast` the last three, `3 easy 1 fast` three and one in turn";
            return self.fault(span, "how many, or which of the repeats?", hint);
        };
        let sum: u32 = counts.iter().fold(0, |sum, count| sum.saturating_add(*count));
        if (1..).zip(&counts).all(|(number, count)| number == *count) && count.is_multiple_of(counts.len() as u32) {
            let hint = "write `#1 easy #2 fast`, or counts such as `2 easy 2 fast`";
            return self.fault(span, "numbers of repeats, or how many of each?", hint);
        }
        if sum == 0 || !count.is_multiple_of(sum) {
            let message = format!("these make {sum} repeats, the swim has {count}");
            return self.fault(span, message, "mend how many, or write which: `1-4 easy 5-8 fast`");
        }
        let mut before = 0;
        for (group, count) in groups.iter_mut().zip(counts) {
            group.chosen = vec![Chosen::Turn { from: before + 1, to: before + count, of: sum }];
            before += count;
        }
    }

    /// Of each repeat the groups that it is in.
    fn which_group(&mut self, groups: &[RepeatGroup], count: u32) -> Vec<Vec<usize>> {
        let mut of: Vec<Vec<usize>> = vec![Vec::new(); count as usize];
        for (index, group) in groups.iter().enumerate() {
            let beyond = group.chosen.iter().find(|chosen| chosen.highest() > count);
            if let Some(beyond) = beyond {
                let message = format!("there is no repeat {}: the swim has {count}", beyond.highest());
                self.fault(group.span, message, "mend how many there are, or which are meant");
            }
            let mut any = false;
            for (repeat, of) in of.iter_mut().enumerate() {
                let others = group.chosen.contains(&Chosen::Others) && of.is_empty();
                if others || group.chosen.iter().any(|chosen| chosen.holds(repeat as u32 + 1, count)) {
                    of.push(index);
                    any = true;
                }
            }
            if !any && beyond.is_none() {
                self.fault(group.span, "these are none of the repeats", "leave them out");
            }
        }
        of
    }

    /// Where no repeat says when the next one starts, a rest is assumed; where only some do, it is asked back.
    fn starts(&mut self, differing: &mut Differing, of: &[Vec<usize>], reach: &Reach, span: Span) {
        if differing.keys.iter().any(|key| TIMES.contains(&key.name)) {
            return;
        }
        let timed = |group: &RepeatGroup| group.keys.iter().find(|key| TIMES.contains(&key.name)).map(|key| key.span);
        let times: Vec<Option<Span>> = differing.groups.iter().map(timed).collect();
        match times.iter().flatten().next() {
            None => differing.keys.push(assumed_rest(reach, span)),
            Some(first) => {
                let is_timed = |of: &Vec<usize>| of.iter().any(|group| times.get(*group).is_some_and(Option::is_some));
                if !of.iter().all(is_timed) {
                    let hint = "write it before the first of the repeats, for all; or one for each of them";
                    self.fault(*first, "some repeats have this, and the others neither rest nor send-off", hint);
                }
            }
        }
    }

    /// Every repeat with its own keys; two that contradict each other are a problem.
    fn ones(&mut self, groups: &[RepeatGroup], of: &[Vec<usize>], far: impl Fn(usize) -> u32) -> Vec<One> {
        let mut ones = Vec::with_capacity(of.len());
        for (index, of) in of.iter().enumerate() {
            let mut own: Vec<&BoardKey> = Vec::new();
            let mut runs = None;
            for (group, key) in of
                .iter()
                .filter_map(|g| Some((*g, groups.get(*g)?)))
                .flat_map(|(g, group)| group.keys.iter().map(move |key| (g, key)))
            {
                match own.iter().find(|other| other.name == key.name) {
                    Some(other) if other.value != key.value => {
                        let message =
                            format!("repeat {} is said twice: {}, then {}", index + 1, other.words, key.words);
                        let problem = Diagnostic::at(Code::Conflict, key.span, message).label(other.span, "first here");
                        self.problems.push(problem.hint("say each repeat once"));
                    }
                    Some(_) => {}
                    None => own.push(key),
                }
                if runs_on(key) {
                    runs = Some(group);
                }
            }
            let mut own: Vec<_> = own.into_iter().map(|key| (key.name, key.value.clone())).collect();
            own.sort_unstable();
            ones.push(One { far: far(index), own, runs });
        }
        ones
    }

    /// A range runs over the repeats of one swim, a list of phrases on through rounds: neither must be torn into several.
    fn whole_ranges(&mut self, groups: &[RepeatGroup], of: &[Vec<usize>], runs: &[(usize, One)]) {
        for (index, group) in groups.iter().enumerate() {
            let Some(key) = group.keys.iter().find(|key| runs_on(key)) else { continue };
            let mut swims = runs.iter().filter(|(_, one)| one.runs == Some(index)).map(|(times, _)| *times);
            let swum = of.iter().filter(|of| of.contains(&index)).count();
            let one = swims.next().filter(|_| swims.next().is_none());
            if one.is_none_or(|times| key.name != "focus" && times != swum) {
                let message = format!("{} runs over repeats that do not follow each other", key.words);
                self.fault(key.span, message, "write each as a swim, with a value of its own");
            }
        }
    }
}

/// Whether the value is one that runs on from repeat to repeat.
fn runs_on(key: &BoardKey) -> bool {
    key.value.starts_with("{ from") || (key.name == "focus" && key.value.starts_with('['))
}

/// The keys of some groups, each once.
fn keys_of(groups: &[RepeatGroup], of: &[usize]) -> Vec<BoardKey> {
    let mut keys: Vec<BoardKey> = Vec::new();
    for key in of.iter().filter_map(|group| groups.get(*group)).flat_map(|group| &group.keys) {
        if keys.iter().all(|other| other.name != key.name) {
            keys.push(key.clone());
        }
    }
    keys
}

/// How many rounds the repeats make, and the runs of equal ones in the first round.
fn folded(ones: &[One]) -> (usize, Vec<(usize, One)>) {
    let turns = |period: &usize| {
        ones.len().is_multiple_of(*period)
            && ones.iter().zip(ones.iter().skip(*period)).all(|(one, later)| one == later)
    };
    // All alike is one swim of many repeats.
    let period = (2..ones.len()).find(turns).unwrap_or(ones.len());
    let period = if turns(&1) { ones.len() } else { period };
    let mut runs: Vec<(usize, One)> = Vec::new();
    for one in ones.iter().take(period) {
        match runs.last_mut() {
            Some((times, last)) if last == one => *times += 1,
            _ => runs.push((1, one.clone())),
        }
    }
    (ones.len() / period.max(1), runs)
}
