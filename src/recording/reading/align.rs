//! Sounds laid beside a list of texts in reading order, by length and order alone: what costs least over the whole of it.
//!
//! A sound is a text, a part of one, the text before once more, or none; a text may be left out, and two neighbours may have been
//! read the other way round. Nothing here knows words.

use std::ops::Range;

/// Something between two silences.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadSound {
    /// Which file it is in.
    pub file: usize,
    /// From and to, in seconds.
    pub time: Range<f64>,
    /// Whether there are words in it, as far as that can be told.
    pub words: bool,
}

/// What is known of a text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ListedText {
    /// How long it takes at the usual pace, in seconds.
    pub usual: f64,
    /// Whether it has marks inside at which people pause.
    pub breaks: bool,
}

/// What became of a text.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LaidText {
    /// The sounds of each reading of it, in time order; none where it was left out.
    pub takes: Vec<Range<usize>>,
    /// Whether it was read in the place of its neighbour.
    pub swapped: bool,
    /// How much more the best reading of the whole costs in which this text is something else.
    pub margin: f64,
}

/// All sounds and all texts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Alignment {
    /// Of each text, in the order of the list.
    pub texts: Vec<LaidText>,
    /// Sounds with words in them that are no text.
    pub others: Vec<usize>,
    /// How many times the usual time this reader takes.
    pub pace: f64,
}

// Costs are logarithms of how much likelier the usual is. A text left out, or words that are none of the list, once in a hundred;
// two swapped the same; a text read again once in twenty. Chosen, then tried: see DEVELOPERS, "Recording".
const LEFT_OUT: f64 = 5.0;
const OTHER_WORDS: f64 = 5.0;
const OTHER_SOUND: f64 = 0.3;
const AGAIN: f64 = 3.0;
const SWAPPED: f64 = 5.0;
/// No sound is so unlike a text that this many of the others outweigh it.
const MOST: f64 = 14.0;
/// How far the logarithm of a length strays from that of its text, and by how many seconds beside it.
const STRAYS: (f64, f64) = (0.16, 0.05);
/// The most sounds that one text is made of.
const PARTS: usize = 5;
/// The longest silence within a text, in seconds.
const INSIDE: f64 = 1.3;
/// A cost that nothing reaches.
const NEVER: f64 = 1e12;

/// One step of an alignment: from so many texts and sounds done to so many.
#[derive(Clone, Copy, Debug, PartialEq)]
enum LayStep {
    LeaveOut,
    Other,
    Say(usize),
    Again(usize),
    Swap(usize, usize),
}

impl LayStep {
    const fn texts(self) -> usize {
        match self {
            Self::Other | Self::Again(_) => 0,
            Self::LeaveOut | Self::Say(_) => 1,
            Self::Swap(..) => 2,
        }
    }

    const fn sounds(self) -> usize {
        match self {
            Self::LeaveOut => 0,
            Self::Other => 1,
            Self::Say(parts) | Self::Again(parts) => parts,
            Self::Swap(first, second) => first + second,
        }
    }
}

struct Table<'a> {
    sounds: &'a [ReadSound],
    texts: &'a [ListedText],
    pace: f64,
}

/// Lays them side by side.
pub fn align(sounds: &[ReadSound], texts: &[ListedText]) -> Alignment {
    let at_pace = |pace| Table { sounds, texts, pace };
    let grid = (0..16).map(|step| 0.6 * libm::pow(1.075, f64::from(step)));
    let cost = |pace: f64| at_pace(pace).ahead().last().copied().unwrap_or(NEVER);
    let pace = grid
        .map(|pace| (cost(pace), pace))
        .fold((f64::INFINITY, 1.0), |best, one| if one.0 < best.0 { one } else { best })
        .1;
    let mut table = at_pace(pace);
    // Once more at the pace that this reader turns out to have.
    let mut ratios: Vec<f64> = table
        .path(&table.behind())
        .into_iter()
        .filter_map(|(text, sound, step)| match step {
            LayStep::Say(parts) => Some(table.lasts(sound..sound + parts) / table.texts.get(text)?.usual),
            _ => None,
        })
        .collect();
    ratios.sort_by(f64::total_cmp);
    table.pace = ratios.get(ratios.len() / 2).copied().unwrap_or(pace).clamp(0.5, 2.5);
    table.laid()
}

impl Table<'_> {
    const fn width(&self) -> usize {
        self.sounds.len() + 1
    }

    const fn place(&self, text: usize, sound: usize) -> usize {
        text * self.width() + sound
    }

    fn lasts(&self, sounds: Range<usize>) -> f64 {
        let part = self.sounds.get(sounds).unwrap_or_default();
        part.first().zip(part.last()).map_or(0.0, |(first, last)| last.time.end - first.time.start)
    }

    /// What it costs that these sounds are this text.
    fn says(&self, text: usize, sounds: Range<usize>) -> f64 {
        let (Some(text), Some(part)) = (self.texts.get(text), self.sounds.get(sounds.clone())) else { return NEVER };
        if part.iter().all(|sound| !sound.words) {
            return NEVER;
        }
        let mut cost = 0.5 * part.iter().filter(|sound| !sound.words).count() as f64;
        for (one, next) in part.iter().zip(part.iter().skip(1)) {
            let gap = next.time.start - one.time.end;
            if gap > INSIDE || one.file != next.file {
                return NEVER;
            }
            let (free, each, once) = if text.breaks { (0.9, 4.0, 0.0) } else { (0.35, 6.0, 1.0) };
            cost += once + (gap - free).max(0.0) * each;
        }
        let (lasts, usual) = (self.lasts(sounds), self.pace * text.usual);
        let strays = STRAYS.0 * STRAYS.0 + (STRAYS.1 / usual) * (STRAYS.1 / usual);
        let apart = libm::log(lasts.max(0.01) / usual.max(0.01));
        (cost + apart * apart / strays / 2.0).min(MOST)
    }

    /// Every step from a place, with its cost.
    fn steps(&self, text: usize, sound: usize, each: &mut dyn FnMut(LayStep, f64)) {
        if text < self.texts.len() {
            each(LayStep::LeaveOut, LEFT_OUT);
        }
        if let Some(heard) = self.sounds.get(sound) {
            each(LayStep::Other, if heard.words { OTHER_WORDS } else { OTHER_SOUND });
        }
        let most = PARTS.min(self.sounds.len() - sound);
        for parts in 1..=most {
            let group = sound..sound + parts;
            if text < self.texts.len() {
                each(LayStep::Say(parts), self.says(text, group.clone()));
            }
            if text > 0 {
                each(LayStep::Again(parts), AGAIN + self.says(text - 1, group.clone()));
            }
            if text + 1 < self.texts.len() {
                let first = self.says(text + 1, group.clone());
                for more in (1..=PARTS.min(self.sounds.len() - group.end)).filter(|_| first < MOST) {
                    let second = self.says(text, group.end..group.end + more);
                    each(LayStep::Swap(parts, more), SWAPPED + first + second);
                }
            }
        }
    }

    /// The least that it costs to reach each place.
    fn ahead(&self) -> Vec<f64> {
        let mut costs = vec![NEVER; (self.texts.len() + 1) * self.width()];
        if let Some(first) = costs.first_mut() {
            *first = 0.0;
        }
        for text in 0..=self.texts.len() {
            for sound in 0..=self.sounds.len() {
                let here = costs.get(self.place(text, sound)).copied().unwrap_or(NEVER);
                self.steps(text, sound, &mut |step, cost| {
                    if let Some(there) = costs.get_mut(self.place(text + step.texts(), sound + step.sounds())) {
                        *there = there.min(here + cost);
                    }
                });
            }
        }
        costs
    }

    /// The least that it costs to reach the end from each place, and the step that does.
    fn behind(&self) -> Vec<(f64, Option<LayStep>)> {
        let mut costs = vec![(NEVER, None); (self.texts.len() + 1) * self.width()];
        if let Some(last) = costs.last_mut() {
            *last = (0.0, None);
        }
        for text in (0..=self.texts.len()).rev() {
            for sound in (0..=self.sounds.len()).rev() {
                let mut best = costs.get(self.place(text, sound)).copied().unwrap_or((NEVER, None));
                self.steps(text, sound, &mut |step, cost| {
                    let there = costs.get(self.place(text + step.texts(), sound + step.sounds()));
                    if let Some((rest, _)) = there.filter(|(rest, _)| rest + cost < best.0) {
                        best = (rest + cost, Some(step));
                    }
                });
                if let Some(here) = costs.get_mut(self.place(text, sound)) {
                    *here = best;
                }
            }
        }
        costs
    }

    /// The steps that cost least, each with its place; `behind` is what it costs from each place on.
    fn path(&self, behind: &[(f64, Option<LayStep>)]) -> Vec<(usize, usize, LayStep)> {
        let (mut text, mut sound, mut found) = (0, 0, Vec::new());
        while let Some((_, Some(step))) = behind.get(self.place(text, sound)) {
            found.push((text, sound, *step));
            (text, sound) = (text + step.texts(), sound + step.sounds());
        }
        found
    }

    fn laid(&self) -> Alignment {
        let (ahead, behind) = (self.ahead(), self.behind());
        let mut laid =
            Alignment { texts: vec![LaidText::default(); self.texts.len()], others: Vec::new(), pace: self.pace };
        // What each text is in the reading that costs least: its first take.
        let mut first = vec![None; self.texts.len()];
        for (text, sound, step) in self.path(&behind) {
            if matches!(step, LayStep::Other) && self.sounds.get(sound).is_some_and(|sound| sound.words) {
                laid.others.push(sound);
            }
            let swapped = matches!(step, LayStep::Swap(..));
            let again = matches!(step, LayStep::Again(_)).then(|| (text - 1, sound..sound + step.sounds()));
            for (text, take) in said(text, sound, step).into_iter().flatten().chain(again) {
                if let Some(laid) = laid.texts.get_mut(text) {
                    laid.takes.push(take.clone());
                    laid.swapped |= swapped;
                }
                if let Some(first @ None) = first.get_mut(text) {
                    *first = Some(take);
                }
            }
        }
        let best = ahead.last().copied().unwrap_or(0.0);
        let mut others = vec![NEVER; self.texts.len()];
        for text in 0..=self.texts.len() {
            for sound in 0..=self.sounds.len() {
                let here = ahead.get(self.place(text, sound)).copied().unwrap_or(NEVER);
                self.steps(text, sound, &mut |step, cost| {
                    let Some((rest, _)) = behind.get(self.place(text + step.texts(), sound + step.sounds())) else {
                        return;
                    };
                    let through = here + cost + rest;
                    let says = said(text, sound, step);
                    for (at, other) in others.iter_mut().enumerate().skip(text).take(step.texts()) {
                        let take = says.iter().flatten().find(|(said, _)| *said == at).map(|(_, take)| take);
                        if take != first.get(at).and_then(Option::as_ref) {
                            *other = other.min(through);
                        }
                    }
                });
            }
        }
        for (laid, other) in laid.texts.iter_mut().zip(others) {
            laid.margin = other - best;
        }
        laid
    }
}

/// Which texts a step says for the first time, with which sounds.
fn said(text: usize, sound: usize, step: LayStep) -> [Option<(usize, Range<usize>)>; 2] {
    match step {
        LayStep::LeaveOut | LayStep::Other | LayStep::Again(_) => [None, None],
        LayStep::Say(parts) => [Some((text, sound..sound + parts)), None],
        LayStep::Swap(one, two) => [Some((text + 1, sound..sound + one)), Some((text, sound + one..sound + one + two))],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sounds of these lengths in seconds with silences of 1.5 s between them; negative ones are knocks.
    fn read(lengths: &[f64]) -> Vec<ReadSound> {
        let mut at = 0.0;
        let sound = |length: &f64| {
            let from = at + 1.5;
            at = from + length.abs();
            ReadSound { file: 0, time: from..at, words: *length > 0.0 }
        };
        lengths.iter().map(sound).collect()
    }

    fn laid(lengths: &[f64], texts: &[f64]) -> Alignment {
        let texts: Vec<ListedText> = texts.iter().map(|usual| ListedText { usual: *usual, breaks: false }).collect();
        align(&read(lengths), &texts)
    }

    fn takes(laid: &Alignment) -> Vec<Vec<usize>> {
        laid.texts.iter().map(|text| text.takes.iter().map(|take| take.start).collect()).collect()
    }

    const TEXTS: [f64; 6] = [1.0, 2.0, 0.6, 1.4, 3.0, 0.8];

    #[test]
    fn what_was_read_as_listed_is_found_at_any_pace() {
        for pace in [0.7, 1.0, 1.4] {
            let found = laid(&TEXTS.map(|usual| usual * pace), &TEXTS);
            assert_eq!(takes(&found), [[0], [1], [2], [3], [4], [5]], "{pace}");
            assert!((found.pace / pace - 1.0).abs() < 0.02 && found.others.is_empty(), "{pace}: {found:?}");
            assert!(found.texts.iter().all(|text| text.margin > 4.0 && !text.swapped), "{found:?}");
        }
    }

    #[test]
    fn slips_of_a_reader_are_found() {
        let found = laid(&[1.0, 2.0, 1.4, 3.0, 0.8], &TEXTS);
        assert_eq!(takes(&found), [vec![0], vec![1], vec![], vec![2], vec![3], vec![4]], "one left out");
        let found = laid(&[1.0, 2.0, 1.95, 0.6, 1.4, 3.0, 0.8], &TEXTS);
        assert_eq!(takes(&found), [vec![0], vec![1, 2], vec![3], vec![4], vec![5], vec![6]], "one read twice");
        let found = laid(&[1.0, 2.0, 0.6, 3.0, 1.4, 0.8], &TEXTS);
        assert_eq!(takes(&found), [[0], [1], [2], [4], [3], [5]], "two swapped");
        assert_eq!(
            found.texts.iter().map(|text| text.swapped).collect::<Vec<_>>(),
            [false, false, false, true, true, false]
        );
        let found = laid(&[-0.3, 1.0, -0.2, 2.0, 0.6, 1.4, -0.5, 3.0, 0.8, -0.1], &TEXTS);
        assert_eq!(takes(&found), [[1], [3], [4], [5], [7], [8]], "knocks and coughs");
        let found = laid(&[1.0, 2.0, 0.6, 6.0, 1.4, 3.0, 0.8], &TEXTS);
        assert_eq!((takes(&found)[3].clone(), found.others), (vec![4], vec![3]), "words of none");
    }

    #[test]
    fn what_is_as_long_as_its_neighbour_is_in_doubt_when_one_is_missing() {
        let found = laid(&[1.0, 1.0, 3.0], &[1.0, 1.0, 1.0, 3.0]);
        let margins: Vec<f64> = found.texts.iter().map(|text| text.margin).collect();
        assert!(margins[..3].iter().all(|margin| *margin < 0.5) && margins[3] > 4.0, "{margins:?}");
    }

    #[test]
    fn parts_of_one_text_are_put_together_and_those_of_two_files_never() {
        let mut sounds = read(&[1.0, 0.9, 0.9, 2.0]);
        sounds[2].time = sounds[1].time.end + 0.5..sounds[1].time.end + 1.4;
        let texts = [(1.0, false), (2.3, true), (2.0, false)].map(|(usual, breaks)| ListedText { usual, breaks });
        let found = align(&sounds, &texts);
        let places = |text: &LaidText| text.takes.iter().map(|take| (take.start, take.end)).collect::<Vec<_>>();
        assert_eq!(found.texts.iter().map(places).collect::<Vec<_>>(), [[(0, 1)], [(1, 3)], [(3, 4)]]);
        for sound in &mut sounds[2..] {
            sound.file = 1;
        }
        assert!(align(&sounds, &texts).texts[1].takes.iter().all(|take| take.len() == 1));
        assert_eq!(align(&[], &texts).texts.len(), 3);
        assert_eq!(align(&sounds, &[]).others, [0, 1, 2, 3]);
    }
}
