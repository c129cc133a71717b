//! What is said while somebody swims: short forms of the focus, sides, counts. Each in a window of its own.

use super::CueKind;
use super::place::{Lean, VoiceRequest};
use super::speak::{Announcer, Utterance};
use super::start::Start;
use crate::pack::library::Spoken;
use crate::practice::calls::{self, LengthCall};
use crate::practice::strokes::{self, CountedStroke, push_off, tempo_at};
use crate::practice::{FocusFrom, FocusPoint, Line, Practice, Text, breath};
use crate::script::{Breathe, CallOut, CountOn, Remind};
use crate::units::swim::Side;
use crate::units::time::Seconds;

/// A short form comes so long after the predicted push-off, in the glide.
const GLIDE: Seconds = Seconds::from_secs(2);
/// The end of a swim by time is told so long after it, when the last call is over.
const AFTER: Seconds = Seconds::from_millis(100);
/// A reminder that is due by time may wait so long for other words.
const REMINDER: Seconds = Seconds::from_secs(15);
/// After a join it comes from the first of these on, and begins before the second.
pub(super) const JOINED: (Seconds, Seconds) = (Seconds::from_millis(300), Seconds::from_secs(4));

/// What is to be said during a repeat, in absolute time; `end` is when voices must be silent again.
pub fn requests(
    practice: &Practice,
    start: &Start,
    line: &Line,
    end: Option<Seconds>,
    announcer: Announcer<'_>,
) -> Vec<VoiceRequest> {
    let counted = strokes::counted(&start.repeat);
    let swim = UnderWay { start, line, counted: &counted, end, announcer };
    // What is swum comes before what to notice.
    let mut requests = swim.turns();
    requests.extend(swim.focus());
    requests.extend(swim.sides(practice));
    requests.extend(swim.count());
    requests.extend(swim.calls());
    requests.extend(swim.over());
    requests.extend(swim.lengths());
    requests.extend(swim.reminders());
    requests
}

/// What may come to be said beyond the requests of a repeat as planned: any phrase of its line, again, in either form;
/// counts and sides of a faster tempo, which takes more strokes.
pub fn possible<'a>(start: &Start, line: &'a Line, announcer: Announcer<'a>) -> impl Iterator<Item = Utterance> + 'a {
    let most = strokes::counted(&start.repeat).len() * 3 / 2;
    let calls = of_strokes(line).into_iter().flat_map(move |every| counts(every, 0..most));
    let sides = matches!(line.breathe, Some(Breathe::Sides { .. })).then_some([Side::Left, Side::Right]);
    let phrases = line.focus.iter().flat_map(|phrase| phrase_forms(phrase, true));
    let calls = calls.map(move |(number, _)| announcer.call(number));
    phrases.chain(calls).chain(sides.into_iter().flatten().map(move |side| announcer.side(side)))
}

/// Every how many strokes the count is called, if it is.
fn of_strokes(line: &Line) -> Option<u32> {
    line.calls.iter().find_map(|call| if let CallOut::Strokes(every) = call { Some(*every) } else { None })
}

/// The strokes on which the count is called, each with its number from 1.
fn counts<T>(every: u32, strokes: impl IntoIterator<Item = T>) -> impl Iterator<Item = (u32, T)> {
    (1..).zip(strokes).filter(move |(number, _): &(u32, T)| number.is_multiple_of(every.max(1)))
}

/// The forms in which a phrase may be said: whole before a go, short under way.
pub fn phrase_forms(phrase: &Text, whole: bool) -> Vec<Utterance> {
    let utterance = |spoken: &Spoken| Utterance::of(&*phrase.id, [spoken.clone()]);
    let short = phrase.short.as_ref().map(utterance);
    let full = utterance(&phrase.full);
    if whole { std::iter::once(full).chain(short).collect() } else { vec![short.unwrap_or(full)] }
}

struct UnderWay<'a> {
    start: &'a Start,
    line: &'a Line,
    counted: &'a [CountedStroke],
    end: Option<Seconds>,
    announcer: Announcer<'a>,
}

impl UnderWay<'_> {
    /// A wish with a window from the repeat's start.
    fn wish(&self, kind: CueKind, rank: u8, forms: Vec<Utterance>, (from, to): (Seconds, Seconds)) -> VoiceRequest {
        let (earliest, latest) = (self.start.go + from, self.start.go + to.max(from));
        let end = self.end.unwrap_or(latest + self.start.repeat.predicted);
        VoiceRequest {
            kind,
            rank,
            forms,
            earliest,
            latest,
            end,
            lean: Lean::Early,
            asked: Some(self.line.span),
            turn: None,
        }
    }

    /// In the glide of a length, at the latest 40 % into it.
    fn glide(&self, length: u32) -> (Seconds, Seconds) {
        let begins = push_off(&self.start.repeat, length);
        let time = self.start.repeat.lengths.get(length as usize).map_or(Seconds::ZERO, |length| length.time);
        (begins + GLIDE, begins + time.scaled(2, 5))
    }

    /// At a counted stroke, or within two strokes of it.
    fn at(&self, stroke: &CountedStroke) -> (Seconds, Seconds) {
        let spare = tempo_at(&self.start.repeat, stroke).map_or(Seconds::ZERO, |tempo| tempo.strokes(2));
        // Never after the touch or the join: the next count begins there.
        (stroke.at, (stroke.at + spare).min(self.start.repeat.predicted))
    }

    fn focus(&self) -> Vec<VoiceRequest> {
        let wish = |focus: &FocusFrom| {
            let phrase = self.line.focus.get(focus.phrase)?;
            let window = match focus.from {
                // Before a go the phrase has been said; a joined swim has no such moment.
                FocusPoint::Length(0) if self.start.repeat.joined => JOINED,
                FocusPoint::Length(0) => return None,
                FocusPoint::Length(length) => self.glide(length),
                FocusPoint::Stroke(stroke) => self.at(self.counted.get(stroke as usize)?),
            };
            let request = self.wish(CueKind::Phrase, 1, phrase_forms(phrase, false), window);
            // Behind what is new at a join.
            let turn = (focus.from == FocusPoint::Length(0)).then_some(usize::MAX);
            Some(VoiceRequest { asked: Some(phrase.span), turn, ..request })
        };
        self.start.repeat.focus.iter().filter_map(wish).collect()
    }

    /// "Swim": in the glide of a length that is not like the one before.
    fn turns(&self) -> Vec<VoiceRequest> {
        let wish = |length| {
            let said = vec![self.announcer.turns_to(self.line, length)?];
            let request = self.wish(CueKind::Set, 1, said, self.glide(length));
            Some(VoiceRequest { asked: None, ..request })
        };
        (1..self.start.repeat.count_lengths()).filter_map(wish).collect()
    }

    /// "Breathe right": where the pattern itself does not say it.
    fn sides(&self, practice: &Practice) -> Vec<VoiceRequest> {
        let Some(breathe) = self.line.breathe else { return Vec::new() };
        let breaths = breath::breaths(self.counted, breathe, self.start.ordinal, practice.side);
        let say = |side| vec![self.announcer.side(side)];
        match breathe {
            Breathe::ByLength => (1..self.start.repeat.count_lengths())
                .map(|length| {
                    let side = if length % 2 == 1 { practice.side.other() } else { practice.side };
                    self.wish(CueKind::Say, 2, say(side), self.glide(length))
                })
                .collect(),
            Breathe::Sides { .. } => breath::changes(&breaths)
                // Said on the stroke before, so that the head turns in time.
                .filter_map(|change| Some((change.side, self.counted.get(change.stroke.saturating_sub(2))?)))
                .map(|(side, stroke)| self.wish(CueKind::Say, 2, say(side), self.at(stroke)))
                .collect(),
            Breathe::Every(..) | Breathe::ByRepeat => Vec::new(),
        }
    }

    /// "Time is up": nobody feels when so many minutes are over.
    fn over(&self) -> Option<VoiceRequest> {
        let repeat = &self.start.repeat;
        let (said, at) = (vec![self.announcer.say("time-up", "time is up")], repeat.predicted + AFTER);
        (repeat.estimated && !repeat.joins).then(|| self.wish(CueKind::Say, 5, said, (at, at + GLIDE)))
    }

    /// "Count this one", in the glide of the last length.
    fn count(&self) -> Option<VoiceRequest> {
        let last = self.start.repeat.count_lengths().checked_sub(1).filter(|last| *last > 0)?;
        let said = || vec![self.announcer.say("count-this-one", "count this one")];
        (self.line.count == Some(CountOn::LastLength)).then(|| self.wish(CueKind::Set, 3, said(), self.glide(last)))
    }

    /// How many lengths are left, where half is, the last one: as long as that is surely true, and no sooner than a slow swimmer
    /// has turned.
    fn lengths(&self) -> Vec<VoiceRequest> {
        if !self.line.calls.contains(&CallOut::Lengths) {
            return Vec::new();
        }
        let repeat = &self.start.repeat;
        let sure = |(length, _): &(u32, LengthCall)| calls::is_sure(repeat, push_off(repeat, *length));
        let wish = |(length, call)| {
            let begins = push_off(repeat, length);
            let (glide, latest) = self.glide(length);
            let turned = glide.max(begins + calls::may_be_off(repeat, begins));
            self.wish(CueKind::Call, 4, vec![self.announcer.length_call(call)], (turned, latest))
        };
        calls::of(repeat).filter(sure).map(wish).collect()
    }

    /// A focus that has not changed for some time, again in its short form. Anything else goes before it, and it is no loss.
    fn reminders(&self) -> Vec<VoiceRequest> {
        let repeat = &self.start.repeat;
        let by_strokes = repeat.focus.iter().any(|focus| matches!(focus.from, FocusPoint::Stroke(_)));
        match self.line.remind {
            Remind::Lengths(every) if !by_strokes => self.reminders_by_lengths(every),
            Remind::Time(every) if !by_strokes => self.reminders_by_time(every),
            Remind::Lengths(_) | Remind::Time(_) | Remind::Never => Vec::new(),
        }
    }

    /// Not where the swim is nearly over: it would be the last thing heard of it.
    fn reminders_by_time(&self, every: Seconds) -> Vec<VoiceRequest> {
        let repeat = &self.start.repeat;
        let phrase = repeat.focus.last().and_then(|focus| self.line.focus.get(focus.phrase));
        let until = repeat.predicted - every.scaled(1, 2);
        let due = std::iter::successors(Some(every), |at| Some(*at + every)).take_while(|at| *at <= until);
        let wish = |(at, phrase)| {
            let request = self.wish(CueKind::Phrase, 8, phrase_forms(phrase, false), (at, at + REMINDER));
            VoiceRequest { asked: None, ..request }
        };
        due.filter_map(|at| Some((at, phrase?))).map(wish).collect()
    }

    fn reminders_by_lengths(&self, every: u32) -> Vec<VoiceRequest> {
        let repeat = &self.start.repeat;
        let wish = |length: u32| {
            let begun = |focus: &&FocusFrom| matches!(focus.from, FocusPoint::Length(first) if first <= length);
            let focus = repeat.focus.iter().rev().find(begun)?;
            let FocusPoint::Length(since) = focus.from else { return None };
            let due = length > since && (length - since).is_multiple_of(every.max(1));
            let phrase = self.line.focus.get(focus.phrase).filter(|_| due)?;
            let request = self.wish(CueKind::Phrase, 8, phrase_forms(phrase, false), self.glide(length));
            Some(VoiceRequest { asked: None, ..request })
        };
        (1..repeat.count_lengths()).filter_map(wish).collect()
    }

    /// The stroke count, on its stroke.
    fn calls(&self) -> Vec<VoiceRequest> {
        let Some(every) = of_strokes(self.line) else { return Vec::new() };
        let call = |(number, stroke)| self.wish(CueKind::Call, 4, vec![self.announcer.call(number)], self.at(stroke));
        counts(every, self.counted).map(call).collect()
    }
}
