//! When every repeat starts, and what is said between sets: the skeleton on which everything else is hung.
//!
//! Within a set a start follows from the one before and never moves. Between sets the next start waits until
//! all that must be said has been said.

use super::beats::audible;
use super::before::phrases;
use super::place::{GAP, Placed};
use super::speak::{Announcer, KnownDrills, Utterance, drills};
use super::start::Start;
use super::{CueKind, preview, walls};
use crate::practice::{Audience, CLOCK, Company, Item, Practice, Set, Text};
use crate::script::{Gear, OpeningTalk, Water};
use crate::units::time::Seconds;
use std::sync::Arc;

/// Silence before the first word of a practice.
const LEAD_IN: Seconds = Seconds::from_secs(2);
/// After the touch, before anybody listens.
pub const SETTLE: Seconds = Seconds::from_secs(1);
/// Between two sentences of a talk.
const PAUSE: Seconds = Seconds::from_millis(450);
/// Between sets, the swimmer may come in late and still hear everything: so much after the 90th percentile.
const GATHER: Seconds = Seconds::from_secs(2);
/// From the end of a talk to the countdown: room for "go in ten" and the focus phrase.
pub(super) const READY: Seconds = Seconds::from_secs(8);

/// From a command to the go it leads to, where nothing but the phrase is said before: "go in ten", and the countdown with
/// room for a phrase; at the poolside a talk that can be heard.
const APPROACH: Seconds = Seconds::from_secs(10);
const PHRASE: Seconds = Seconds::from_secs(5);
const AT_THE_POOLSIDE: Seconds = Seconds::from_secs(15);
/// "Go in ten".
const TEN: Seconds = Seconds::from_secs(10);

/// All starts of a practice, and the closing words.
#[derive(Clone, Debug)]
pub struct Schedule {
    /// The starts, in order.
    pub starts: Vec<Start>,
    /// What is said after the last touch.
    pub closing: Vec<Placed>,
    /// When everything is over.
    pub end: Seconds,
}

/// What is said of a practice that others swim too.
#[derive(Clone, Copy, Default)]
pub(super) struct Besides<'b> {
    /// Before the first set, behind what holds of every practice.
    pub(super) welcome: &'b [Sentence],
    /// Behind what is said of each set.
    pub(super) sets: &'b [Vec<Sentence>],
}

impl<'b> Besides<'b> {
    pub(super) const fn welcome(welcome: &'b [Sentence]) -> Self {
        Self { welcome, sets: &[] }
    }
}

/// Lays out a practice.
pub fn schedule(practice: &Practice, announcer: Announcer<'_>) -> Schedule {
    schedule_on(practice, announcer, Besides::default(), &mut |_, earliest| earliest.ceil_to(CLOCK))
}

/// The same on a clock that others have too: `first_go` gives the first go of a set, counted from 0, for the earliest that
/// there can be.
pub(super) fn schedule_on(
    practice: &Practice,
    announcer: Announcer<'_>,
    besides: Besides<'_>,
    first_go: &mut dyn FnMut(usize, Seconds) -> Seconds,
) -> Schedule {
    let mut starts: Vec<Start> = Vec::new();
    let (mut says, mut standing): (Vec<&Text>, Option<Seconds>) = (Vec::new(), None);
    let mut set_index = 0;
    for item in &practice.items {
        match item {
            Item::Say(text) => says.push(text),
            Item::Rest(rest) => standing = Some(standing.unwrap_or(Seconds::ZERO) + *rest),
            Item::Set(set) => {
                let from = starts.last().map_or(LEAD_IN, |last| last.touch + last.repeat.uncertainty + GATHER);
                let says = std::mem::take(&mut says);
                let mut lines = opening(practice, set, (&says, besides.welcome), starts.last(), announcer);
                lines.extend(besides.sets.get(set_index).into_iter().flatten().cloned());
                let (talk, talked) = sequence(lines, from);
                let rested = starts.last().map_or(Seconds::ZERO, |last| rested(practice, last, set, standing));
                let mut go = first_go(set_index, (talked + ready(practice, set)).max(rested));
                if let Some(last) = starts.last_mut() {
                    last.after = go - last.go;
                }
                let first = starts.len();
                for (ordinal, repeat) in set.repeats.iter().enumerate() {
                    let start = Start::new(set_index, ordinal, repeat, go);
                    go += start.after;
                    starts.push(start);
                }
                if let Some(first) = starts.get_mut(first) {
                    (first.talk, first.standing) = (talk, standing.take());
                }
                set_index += 1;
            }
        }
    }
    let from = starts.last().map_or(LEAD_IN, |last| last.touch + last.repeat.uncertainty + GATHER + GATHER);
    let mut lines: Vec<Sentence> = says.into_iter().map(said).collect();
    lines.push((CueKind::Say, announcer.say("end", "that is the end")));
    let (closing, end) = sequence(lines, from);
    if let Some(last) = starts.last_mut() {
        last.after = last.touch - last.go;
    }
    Schedule { starts, closing, end: end + LEAD_IN }
}

/// From the end of a talk to the first go of a set. At the poolside the phrases of the first repeat come before "go in ten".
fn ready(practice: &Practice, set: &Set) -> Seconds {
    if practice.audience.in_ear() {
        return READY + practice.settings.countdown;
    }
    let first = set.repeats.first().and_then(|first| Some(phrases(first, set.lines.get(first.line)?, true)));
    let told: Seconds = first.into_iter().flatten().map(|phrase| phrase.full.len + GAP).sum();
    (SETTLE + told + TEN).max(AT_THE_POOLSIDE).max(READY + practice.settings.countdown)
}

/// When the swimmer may start into the next set at the earliest: after the interval and the standing rest that are
/// written, with time to change the gear.
pub(super) fn rested(practice: &Practice, last: &Start, set: &Set, standing: Option<Seconds>) -> Seconds {
    let interval = last.repeat.interval.map_or(last.go, |interval| last.go + interval);
    let rested = standing.map_or(interval, |standing| interval.max(last.touch + standing));
    let same = worn(set, 0) == worn_at(practice, last);
    if same { rested } else { rested + practice.settings.gear_change }
}

/// A sentence of a talk.
pub(super) type Sentence = (CueKind, Utterance);

/// A text that the script names.
pub(super) fn said(text: &Text) -> Sentence {
    (CueKind::Say, Utterance::of(&*text.id, [text.full.clone()]))
}

/// Everything said before the first go of a set, in order.
fn opening(
    practice: &Practice,
    set: &Set,
    (says, welcome): (&[&Text], &[Sentence]),
    before: Option<&Start>,
    announcer: Announcer<'_>,
) -> Vec<Sentence> {
    let first = before.is_none();
    let mut lines: Vec<Sentence> = says.iter().map(|text| said(text)).collect();
    if first {
        lines.splice(0..0, whose(practice));
        lines.extend(rules(practice, announcer));
        lines.extend(welcome.iter().cloned());
    }
    lines.extend(about(practice, set, first, (before, &mut explained_before(practice, set)), announcer));
    lines
}

/// The drills of the sets before one: told with those, they are known.
pub(super) fn explained_before(practice: &Practice, set: &Set) -> KnownDrills {
    let earlier = practice.sets().take_while(|other| !std::ptr::eq(*other, set)).flat_map(|set| &set.lines);
    earlier.flat_map(drills).map(|drill| Arc::clone(&drill.how.id)).collect()
}

/// Whose practice it is, where that is recorded.
pub(super) fn whose(practice: &Practice) -> Option<Sentence> {
    practice.name.as_ref().map(|(id, name)| (CueKind::Say, Utterance::of(&**id, [name.clone()])))
}

/// The words of care, where no pack has them.
const CARE: &str = "staff, whistle and alarm come first";
const OPEN_CARE: &str = "ears open, a companion near, turn back when cold";

/// What holds of every practice: care, lateness, changes of focus.
pub(super) fn rules(practice: &Practice, announcer: Announcer<'_>) -> Vec<Sentence> {
    if practice.settings.opening == OpeningTalk::Short {
        let care =
            [Some(("intro-care", CARE)), (practice.water == Water::Open).then_some(("open-water-care", OPEN_CARE))];
        return care.into_iter().flatten().map(|(id, text)| (CueKind::Say, announcer.say(id, text))).collect();
    }
    let late = "up to five seconds late: touch and leave; later: take the next go";
    let mut rules = vec![("intro-care", CARE)];
    if practice.company != Company::Alone {
        // Whoever leaves late in a lane leaves on top of the next one.
        rules.push(("intro-late-lane", "late at the wall: let the others go and leave last"));
    } else if practice.water != Water::Open {
        rules.push(("intro-late", late));
    } else {
        // There is no wall to touch.
        rules.push(("intro-late-open", "up to five seconds late: turn and go; later: take the next go"));
        rules.push(("open-water-care", OPEN_CARE));
    }
    if practice.changes_focus() && practice.audience.in_ear() {
        rules.push(("intro-focus", "change your focus when you hear it"));
    }
    rules.into_iter().map(|(id, text)| (CueKind::Say, announcer.say(id, text))).collect()
}

/// What a set is, without "next" where it stands `alone`; `before` is the start before it, `known` the drills that have been
/// explained, to which its own are added.
pub(super) fn about(
    practice: &Practice,
    set: &Set,
    alone: bool,
    (before, known): (Option<&Start>, &mut KnownDrills),
    announcer: Announcer<'_>,
) -> Vec<Sentence> {
    let worn_before = before.map_or(&[][..], |before| worn_at(practice, before));
    let about = announcer.set(practice, set, alone, known).into_iter().chain(announcer.gear(worn_before, worn(set, 0)));
    let mut lines: Vec<Sentence> = about.map(|utterance| (CueKind::Set, utterance)).collect();
    if walls::begin_with(practice, set) {
        lines.push((CueKind::Set, announcer.say("marks-walls", "you are due at each wall when you hear this")));
        lines.push((CueKind::Wall, walls::shown()));
    }
    if let Some(tempo) = set.repeats.first().and_then(|repeat| repeat.tempo)
        && set.lines.first().is_some_and(|line| audible(line, practice.audience))
    {
        lines.push((CueKind::Preview, preview::silent(tempo)));
    }
    lines
}

/// What is worn in a line.
pub fn worn(set: &Set, line: usize) -> &[Gear] {
    set.lines.get(line).map_or(&[], |line| &line.gear)
}

/// What is worn in a start.
pub(super) fn worn_at<'p>(practice: &'p Practice, start: &Start) -> &'p [Gear] {
    practice.sets().nth(start.set).map_or(&[], |set| worn(set, start.repeat.line))
}

/// Speaks lines one after another; returns them placed and when the last one ends.
pub(super) fn sequence(lines: Vec<Sentence>, from: Seconds) -> (Vec<Placed>, Seconds) {
    let mut at = from;
    let mut place = |(kind, said): Sentence| {
        let placed = Placed { kind, at, said };
        at += placed.said.len() + PAUSE.max(GAP);
        placed
    };
    let placed: Vec<Placed> = lines.into_iter().map(&mut place).collect();
    (placed, at)
}

/// Under way, the earliest go to which everything that comes before one still fits; nobody listens before `free`.
pub fn earliest_go(practice: &Practice, free: Seconds, talked: Option<Seconds>) -> Seconds {
    let countdown = practice.settings.countdown;
    let approach = match practice.audience {
        Audience::Speaker => AT_THE_POOLSIDE.max(countdown + PHRASE),
        Audience::Headphones | Audience::Player => APPROACH.max(countdown + PHRASE),
    };
    let ready = if practice.audience.in_ear() { READY + countdown } else { AT_THE_POOLSIDE.max(READY + countdown) };
    let talked = talked.map(|talked| talked + ready);
    talked.unwrap_or(free).max(free + approach)
}
