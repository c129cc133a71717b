//! What is said before a go: "go in ten", the focus phrase, what is new in this repeat. Each with its window and rank.
//!
//! Nothing is left out here for lack of time: a window that is empty finds no room. So the same list serves a plan, a
//! practice under way, and the vocabulary that steering may need.

use super::CueKind;
use super::beats::audible;
use super::place::{GAP, Lean, VoiceRequest};
use super::preview;
use super::speak::{Announcer, Utterance};
use super::start::Start;
use super::under_way::{JOINED, phrase_forms};
use crate::diag::Span;
use crate::practice::{Audience, Company, FocusFrom, FocusPoint, Line, Practice, Repeat, Set, Text};
use crate::script::{Breathe, CallOut, Water};
use crate::units::swim::Side;
use crate::units::time::{Seconds, Tempo};
use std::sync::Arc;

/// Before the first pip, no voice ends later than this.
pub(super) const HUSH: Seconds = Seconds::from_millis(200);
/// At the poolside the talk ends so long before the go, and with less than this there is none.
const TALK_ENDS: Seconds = Seconds::from_secs(8);
const TALK_AT_LEAST: Seconds = Seconds::from_secs(6);
/// "Go in fifteen" comes so many seconds before the first go of a track.
pub(super) const TRACK_TIMER: i64 = 15;
/// "Go in ..." is said so many seconds before a go; each with its rank. Where a track of a player begins it is said
/// earlier: nobody can know how long the player has paused.
const TIMERS: [(i64, u8); 3] = [(10, 0), (20, 4), (60, 5)];
const TRACK_TIMERS: [(i64, u8); 3] = [(TRACK_TIMER, 0), (30, 4), (60, 5)];

/// So many swims that follow without a stop are named before the first of them.
const FOLLOWING: usize = 3;
/// The rank of what is new in a repeat: what it is, and what is to be held in it.
const NEWS: u8 = 2;

/// A start with its set, and the one before it in the practice.
#[derive(Clone, Copy)]
pub(super) struct Approach<'s, 'p> {
    pub(super) start: &'s Start,
    pub(super) set: &'p Set,
    pub(super) line: &'p Line,
    pub(super) before: Option<&'s Start>,
}

/// What is to be said before a go, in absolute time; nobody listens before `free`.
pub(super) fn requests(
    practice: &Practice,
    announcer: Announcer<'_>,
    approach: Approach<'_, '_>,
    free: Seconds,
) -> Vec<VoiceRequest> {
    let Approach { start, set, line, before } = approach;
    let quiet = start.go - practice.settings.countdown;
    let speaker = practice.audience == Audience::Speaker;
    let mut requests: Vec<VoiceRequest> = Vec::new();
    for (seconds, rank) in if start.begins_track { TRACK_TIMERS } else { TIMERS } {
        let at = start.go - Seconds::from_secs(seconds);
        let forms = vec![if speaker { announcer.echo(seconds) } else { announcer.timer(seconds) }];
        let (kind, lean) = (CueKind::Timer, Lean::Early);
        requests.push(VoiceRequest {
            kind,
            rank,
            forms,
            earliest: at.max(free),
            latest: at,
            end: quiet,
            lean,
            asked: None,
            turn: None,
        });
    }
    if let Some((before, pause)) =
        before.filter(|_| !start.opens).and_then(|before| Some((before, before.repeat.regroup?)))
    {
        let (forms, asked) = (announcer.regroup(pause), set.lines.get(before.repeat.line).map(|line| line.span));
        let (kind, lean) = (CueKind::Set, Lean::Early);
        requests.push(VoiceRequest {
            kind,
            rank: 1,
            forms,
            earliest: free,
            latest: quiet,
            end: quiet - HUSH,
            lean,
            asked,
            turn: None,
        });
    }
    if let Some(leader) = &start.leader {
        let (kind, lean, forms) = (CueKind::Say, Lean::Late, vec![leader.clone()]);
        let end = quiet - HUSH;
        let request =
            VoiceRequest { kind, rank: 0, forms, earliest: free, latest: end, end, lean, asked: None, turn: None };
        requests.push(request);
    }
    if start.begins_track {
        let end = start.go - Seconds::from_secs(TRACK_TIMER) - GAP;
        let forms = vec![in_place(practice, announcer)];
        let (kind, lean) = (CueKind::Say, Lean::Late);
        let request =
            VoiceRequest { kind, rank: 0, forms, earliest: free, latest: end, end, lean, asked: None, turn: None };
        requests.push(request);
    }
    // With little rest at the poolside the number and the phrase take turns, and they may come nearer to the go.
    let little = speaker && start.talk.is_empty() && start.go - TALK_ENDS - free < TALK_AT_LEAST;
    let together = practice.company == Company::Together;
    let end = if speaker && !little { (start.go - TALK_ENDS).min(quiet - HUSH) } else { quiet - HUSH };
    let rest = |kind, rank, forms, asked| {
        let lean = Lean::Late;
        VoiceRequest { kind, rank, forms, earliest: free, latest: end, end, lean, asked, turn: None }
    };
    let first = requests.len();
    if !little || together || is_phrases_turn(approach) {
        // Each goes as late as it can: the last one first, so that they are heard in the order in which they are swum.
        for phrase in phrases(&start.repeat, line, speaker).into_iter().rev() {
            let request = rest(CueKind::Phrase, 1, phrase_forms(phrase, true), Some(phrase.span));
            // While some of a lane still come in, the others are not talked to: it is told that there is no room.
            let end = if little && together { free } else { request.end };
            requests.push(VoiceRequest { end, ..request });
        }
    }
    if let Some(side) = first_side(practice, start, line) {
        requests.push(rest(CueKind::Set, NEWS, vec![announcer.side(side)], Some(line.span)));
    }
    // Without a phrase to begin with, the last word of the talk would be of a later length.
    if (start.opens || start.begins_track) && phrases(&start.repeat, line, false).is_empty() {
        let forms = announcer.in_turn(line, &start.repeat);
        requests.extend((!forms.is_empty()).then(|| rest(CueKind::Set, NEWS, forms, None)));
    }
    if let Some(reading) = together.then(|| announcer.clock_reading(start.go)).flatten() {
        requests.push(rest(CueKind::Timer, 6, vec![reading], None));
    }
    // At the beginning of a track, and after a skip, all of it has been said in the talk.
    if let Some(before) = before.filter(|_| !start.opens && !start.begins_track && start.talk.is_empty()) {
        let mut news: Vec<VoiceRequest> = news(practice, announcer, set, start, before)
            .into_iter()
            .map(|(rank, forms)| rest(CueKind::Set, rank, forms, must_be_told(rank, line)))
            .collect();
        if let Some(tempo) = new_tempo(practice.audience, set, start, before) {
            // At the poolside the beat goes on where it is heard: which repeat it is comes first.
            let rank = if speaker { 8 } else { 6 };
            let which = usize::from(announcer.whereabouts(set, start.ordinal, is_asked(line)).is_some());
            news.insert(which, rest(CueKind::Preview, rank, vec![preview::silent(tempo)], None));
        }
        // Each goes as late as it can: the last one first, so that they are heard in the order in which they stand.
        requests.extend(news.into_iter().rev());
    }
    // Which repeat, what is swum, what is to be held in it, the phrase last.
    for (turn, request) in requests.iter_mut().skip(first).rev().enumerate() {
        request.turn = Some(turn);
    }
    requests
}

/// What is new where a swim follows another without a stop: it comes early in the first length, since there was no rest
/// to say it in.
/// A new tempo and the looks ahead are heard in the beats, and which repeat it is can wait for the wall.
pub(super) fn at_join(practice: &Practice, announcer: Announcer<'_>, approach: Approach<'_, '_>) -> Vec<VoiceRequest> {
    let Approach { start, set, line, before } = approach;
    let Some(before) = before.filter(|_| start.repeat.joined && !start.opens) else { return Vec::new() };
    let first = start.repeat.lengths.first().map_or(Seconds::ZERO, |length| length.time);
    let (earliest, latest) = (start.go + JOINED.0, start.go + JOINED.1.max(first.scaled(2, 5)));
    let request = |(turn, (rank, forms))| VoiceRequest {
        kind: CueKind::Set,
        rank,
        forms,
        earliest,
        latest,
        end: start.touch,
        lean: Lean::Early,
        asked: must_be_told(rank, line),
        turn: Some(turn),
    };
    let news = news(practice, announcer, set, start, before).into_iter();
    let waits = |said: &Utterance| said.id == "tempo" || said.id.starts_with("sight-");
    let told = |(rank, forms): &(u8, Vec<Utterance>)| *rank == NEWS && forms.first().is_some_and(|said| !waits(said));
    news.filter(told).enumerate().map(request).collect()
}

/// Whether this is what a swim is, or what is to be held in it.
pub(super) fn is_news(request: &VoiceRequest) -> bool {
    request.kind == CueKind::Set && request.rank == NEWS
}

/// The same wishes, with a phrase that the repeat before began with, too, behind what is new. It is no loss: it is known.
pub(super) fn known_last(mut requests: Vec<VoiceRequest>, approach: Approach<'_, '_>) -> Vec<VoiceRequest> {
    let Approach { start, set, before, .. } = approach;
    let Some(before) = before.filter(|_| !start.opens && !start.begins_track) else { return requests };
    let Some(line) = set.lines.get(before.repeat.line) else { return requests };
    let known = phrases(&before.repeat, line, false);
    for request in requests.iter_mut().filter(|request| request.kind == CueKind::Phrase) {
        if request.forms.first().is_some_and(|form| known.iter().any(|phrase| *phrase.id == *form.id)) {
            (request.rank, request.asked) = (NEWS + 1, None);
        }
    }
    requests
}

/// Where what has no room is told: what a swim is and what is to be held in it must not go in silence, unlike which repeat it is.
fn must_be_told(rank: u8, line: &Line) -> Option<Span> {
    (rank == NEWS).then_some(line.span)
}

/// The phrases said before a go: the one it begins with; at the poolside all of the repeat, since none can come later.
pub(super) fn phrases<'p>(repeat: &Repeat, line: &'p Line, all: bool) -> Vec<&'p Text> {
    let mut phrases: Vec<&Text> = Vec::new();
    // What a later length begins with is said there.
    let begun = |focus: &&FocusFrom| all || focus.from == FocusPoint::Length(0);
    for focus in repeat.focus.iter().filter(begun) {
        let phrase = line.focus.get(focus.phrase);
        phrases.extend(phrase.filter(|phrase| !phrases.iter().any(|other| other.id == phrase.id)));
    }
    phrases
}

/// Whether a phrase is said where there is room for it or for which repeat it is: with each other repeat, and where it is new.
fn is_phrases_turn(approach: Approach<'_, '_>) -> bool {
    let Approach { start, set, line, before } = approach;
    let Some((before, before_line)) = before.and_then(|before| Some((before, set.lines.get(before.repeat.line)?)))
    else {
        return true;
    };
    let ids = |phrases: Vec<&Text>| phrases.into_iter().map(|text| Arc::clone(&text.id)).collect::<Vec<_>>();
    start.ordinal.is_multiple_of(2)
        || ids(phrases(&start.repeat, line, true)) != ids(phrases(&before.repeat, before_line, true))
}

/// The tempo of a repeat where its beat is another one than that of the repeat before, or where there was none to be heard. The
/// same beat written in the other unit is nothing new.
fn new_tempo(audience: Audience, set: &Set, start: &Start, before: &Start) -> Option<Tempo> {
    let heard = |start: &Start| {
        let line = set.lines.get(start.repeat.line)?;
        start.repeat.tempo.filter(|_| audible(line, audience))
    };
    heard(start).filter(|tempo| heard(before) != Some(*tempo))
}

/// The side on which a repeat begins to breathe, where it changes.
fn first_side(practice: &Practice, start: &Start, line: &Line) -> Option<Side> {
    let other = match line.breathe? {
        // Each of a lane has their own.
        Breathe::ByLength | Breathe::ByRepeat if practice.company == Company::Together => return None,
        Breathe::ByLength => false,
        Breathe::ByRepeat => start.ordinal % 2 == 1,
        // Its strokes are counted from the right.
        Breathe::Sides { .. } => return Some(Side::Right),
        Breathe::Every(..) => return None,
    };
    Some(if other { practice.side.other() } else { practice.side })
}

/// What is new within a set: another line, another tempo, another time to be back in, which repeat it is; each with its rank and its
/// forms.
pub(super) fn news(
    practice: &Practice,
    announcer: Announcer<'_>,
    set: &Set,
    start: &Start,
    before: &Start,
) -> Vec<(u8, Vec<Utterance>)> {
    let (now, then) = (&start.repeat, &before.repeat);
    let Some(line) = set.lines.get(now.line) else { return Vec::new() };
    let mut news = Vec::new();
    if let Some(before) = set.lines.get(then.line).filter(|_| now.line != then.line) {
        let turned = announcer.turn_to(line, before);
        // Two lines of the same distances in turn: the last of one may be another than the first of the other.
        if now.distance != then.distance && turned.iter().all(|said| said.id != "swim") {
            news.push((2, vec![announcer.far(now.distance)]));
        }
        news.extend(turned.into_iter().map(|said| (2, vec![said])));
        let breathe = line.breathe.filter(|breathe| before.breathe != Some(*breathe));
        let in_ear = practice.audience.in_ear();
        news.extend(breathe.map(|breathe| (2, vec![announcer.breathe(breathe, in_ear)])));
        news.extend(announcer.asked_anew(line, before, in_ear).into_iter().map(|said| (2, vec![said])));
        news.extend(announcer.gear(&before.gear, &line.gear).into_iter().map(|said| (2, vec![said])));
    } else if now.distance != then.distance {
        news.push((2, vec![announcer.far(now.distance)]));
    }
    if now.joins && !now.joined {
        // At the poolside there is no other moment to name what follows; in a later round it is known.
        let known = !practice.audience.in_ear() && now.round > 0;
        news.push((if known { 3 } else { 2 }, vec![announcer.say("straight-on", "straight on, no stop")]));
        let follow = set.repeats.iter().skip(start.ordinal + 1).take_while(|repeat| repeat.joined);
        let follow = follow.take(if practice.audience.in_ear() || known { 0 } else { FOLLOWING });
        let mut last = line;
        for line in follow.filter_map(|repeat| set.lines.get(repeat.line)) {
            news.push((2, vec![announcer.goes_on_as(line, last)]));
            last = line;
        }
    }
    let parts = announcer.in_turn(line, now);
    news.extend((!parts.is_empty()).then_some((2, parts)));
    if let Some(tempo) = new_tempo(practice.audience, set, start, before) {
        news.push((2, vec![announcer.tempo(tempo, line.per_minute)]));
    }
    if !line.paces.is_empty() && (now.line != then.line || now.predicted != then.predicted) {
        news.push((2, vec![announcer.due(now.predicted)]));
    }
    // Where the script asks which repeat it is, that is told as what is to be held in it is.
    let asked = is_asked(line);
    if let Some(said) = announcer.whereabouts(set, start.ordinal, asked) {
        let rank = match said.id.as_str() {
            _ if asked => NEWS,
            // Nothing gives way to a number.
            "which" => 7,
            _ => 3,
        };
        news.insert(0, (rank, vec![said]));
    }
    news
}

/// Whether the script asks which repeat it is.
pub(super) fn is_asked(line: &Line) -> bool {
    line.calls.contains(&CallOut::EachRepeat)
}

/// Where to be at the first go of a track.
pub(super) fn in_place(practice: &Practice, announcer: Announcer<'_>) -> Utterance {
    match practice.water {
        Water::Pool(_) => announcer.say("at-the-wall", "at the wall"),
        Water::Open => announcer.say("at-the-start", "at the start"),
    }
}
