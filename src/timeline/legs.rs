//! The timeline of a practice: schedule, voices in their windows, countdowns and beats, cut into legs.

use super::place::{GAP, Lean, Placed, Request, place};
use super::schedule::{SETTLE, Schedule, Start, audible, schedule};
use super::slice::slice;
use super::speak::{Announcer, Utterance};
use super::tracks::{self, TIMER, Track};
use super::under_way::{self, phrase_forms};
use super::{Beat, Cue, CueKind, Grid, Leg, LegKind, Part, Sound, SoundId, Timeline, beats, preview};
use crate::audio::synth;
use crate::diag::{Code, Diagnostic};
use crate::pack::library::{Library, Spoken};
use crate::practice::{Audience, FocusFrom, Line, Practice, Text};
use crate::script::Breathe;
use crate::units::time::{Seconds, Tempo, beat_time};
use std::collections::BTreeSet;

/// Before the first pip, no voice ends later than this.
pub(super) const HUSH: Seconds = Seconds::from_millis(200);
/// At the poolside the talk begins so long after the predicted touch, ends so long before the go, and is no talk at all
/// under so long.
const STAND: Seconds = Seconds::from_secs(3);
const TALK_ENDS: Seconds = Seconds::from_secs(8);
const TALK_AT_LEAST: Seconds = Seconds::from_secs(6);
/// "Go in ..." is said so many seconds before a go; each with its rank. Where a track of a player begins it is said
/// earlier: nobody can know how long the player has paused.
const TIMERS: [(i64, u8); 3] = [(10, 0), (20, 4), (60, 5)];
const TRACK_TIMERS: [(i64, u8); 3] = [(TIMER, 0), (30, 4), (60, 5)];

/// When a repeat starts and touches on the timeline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Swum {
    /// Which set, from 0.
    pub set: usize,
    /// Which repeat of the set, from 0.
    pub repeat: usize,
    /// When what belongs to it begins: the talk before a set, the countdown of another repeat, the join.
    pub from: Seconds,
    /// The go.
    pub go: Seconds,
    /// The predicted touch.
    pub touch: Seconds,
}

impl Built {
    /// Which of the tracks a repeat is in.
    pub fn track_of(&self, swum: &Swum) -> Option<usize> {
        self.tracks.iter().position(|track| track.set == Some(swum.set) && track.repeats.contains(&swum.repeat))
    }
}

impl Swum {
    /// The same on a clock that began earlier.
    pub(super) fn later(self, by: Seconds) -> Self {
        Self { from: self.from + by, go: self.go + by, touch: self.touch + by, ..self }
    }
}

/// A cue that found no room.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dropped {
    /// Where it would have been heard at the earliest.
    pub at: Seconds,
    /// What.
    pub id: String,
    /// The words.
    pub text: String,
}

/// A timeline with what a plan needs to know of it.
#[derive(Clone, Debug)]
pub struct Built {
    /// What is heard, and when.
    pub timeline: Timeline,
    /// Every repeat in order.
    pub swum: Vec<Swum>,
    /// For a player: the tracks, which the timeline has end to end. Empty for others.
    pub tracks: Vec<Track>,
    /// What is not heard.
    pub dropped: Vec<Dropped>,
    /// Cautions: drops, missing recordings.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that are heard as a tone, having no recording.
    pub unrecorded: BTreeSet<String>,
    /// The texts that the built-in voice says.
    pub voiced: BTreeSet<String>,
}

/// Builds the timeline of a practice.
pub fn build(practice: &Practice, library: &Library) -> Built {
    let announcer = Announcer::new(library);
    if practice.audience == Audience::Player {
        return tracks::build(practice, announcer);
    }
    let schedule = schedule(practice, announcer);
    let mut builder = Builder::new(practice, announcer);
    builder.lay(&schedule);
    let (legs, swum) = builder.cut(&schedule.starts, schedule.end, 0);
    builder.built(legs, swum, Vec::new())
}

/// What a rest that has begun leaves open.
#[derive(Clone, Debug, Default)]
pub(super) struct Bound {
    /// No voice begins before this.
    pub(super) floor: Seconds,
    /// What has been said already, each as often as it was.
    pub(super) said: Vec<(CueKind, String)>,
    /// Whether only the sounds that are known may be used: live, the bank is made.
    pub(super) closed: bool,
}

pub(super) struct Builder<'a> {
    practice: &'a Practice,
    announcer: Announcer<'a>,
    pub(super) sounds: Vec<Sound>,
    /// In absolute time until they are cut into legs.
    pub(super) cues: Vec<Cue>,
    grids: Vec<Grid>,
    dropped: Vec<Dropped>,
    diagnostics: Vec<Diagnostic>,
    /// Texts without recording that have been told.
    unrecorded: BTreeSet<String>,
    voiced: BTreeSet<String>,
    /// When the last voice so far ends.
    pub(super) spoken: Seconds,
    /// What holds of a practice under way.
    pub(super) bound: Bound,
    /// Behind a time in messages, where it does not count from the beginning of the practice.
    clock: String,
}

fn intern(sounds: &mut Vec<Sound>, sound: Sound) -> SoundId {
    let place = sounds.iter().position(|known| *known == sound).unwrap_or_else(|| {
        sounds.push(sound);
        sounds.len() - 1
    });
    SoundId(u16::try_from(place).unwrap_or(u16::MAX))
}

impl<'a> Builder<'a> {
    pub(super) fn new(practice: &'a Practice, announcer: Announcer<'a>) -> Self {
        Self {
            practice,
            announcer,
            sounds: Vec::new(),
            cues: Vec::new(),
            grids: Vec::new(),
            dropped: Vec::new(),
            diagnostics: Vec::new(),
            unrecorded: BTreeSet::new(),
            voiced: BTreeSet::new(),
            spoken: Seconds::ZERO,
            bound: Bound::default(),
            clock: String::new(),
        }
    }

    /// From here on times count from 0 again, and messages say of what: " of track 2".
    pub(super) fn restart(&mut self, clock: String) {
        (self.spoken, self.clock) = (Seconds::ZERO, clock);
    }

    /// Everything of a schedule. [`cut`](Self::cut) makes legs of it.
    pub(super) fn lay(&mut self, schedule: &Schedule<'_>) {
        let mut before: Option<&Start<'_>> = None;
        for (index, start) in schedule.starts.iter().enumerate() {
            let next = schedule.starts.get(index + 1);
            if !start.repeat.joined {
                self.before(start, before);
                self.countdown(start.go);
            }
            let talk = next.map_or(&schedule.closing, |next| &next.talk);
            self.under_way(start, next, talk.first());
            before = Some(start);
        }
        for placed in &schedule.closing {
            self.speak(placed.clone());
        }
    }

    /// Everything heard in the talk or the rest before a go, but for the countdown.
    pub(super) fn before(&mut self, start: &Start<'_>, before: Option<&Start<'_>>) {
        let quiet = start.go - self.practice.settings.countdown;
        let talked = start.talk.last().map(|last| last.at + last.said.len());
        let touched = before.map_or(Seconds::ZERO, |before| before.touch);
        let speaker = self.practice.audience == Audience::Speaker;
        // At the poolside nobody hears anything before they stand; in the ear it may come a little early.
        let settle = if speaker && talked.is_none() { STAND } else { SETTLE };
        // A phrase that came with the last strokes may still be heard.
        let free = (talked.unwrap_or(touched) + settle).max(self.spoken + GAP).max(self.bound.floor);
        for placed in &start.talk {
            self.put(placed.clone(), start);
        }
        let mut requests: Vec<Request> = Vec::new();
        for (seconds, rank) in if start.begins_track { TRACK_TIMERS } else { TIMERS } {
            let at = start.go - Seconds::from_secs(seconds);
            if at >= free {
                let forms = vec![if speaker { self.announcer.echo(seconds) } else { self.announcer.timer(seconds) }];
                let (kind, lean) = (CueKind::Timer, Lean::Early);
                requests.push(Request { kind, rank, forms, earliest: at, latest: at, end: quiet, lean, asked: None });
            }
        }
        if start.begins_track {
            let end = start.go - Seconds::from_secs(TIMER) - GAP;
            let forms = vec![tracks::in_place(self.practice, self.announcer)];
            let (kind, lean) = (CueKind::Say, Lean::Late);
            requests.push(Request { kind, rank: 0, forms, earliest: free, latest: end, end, lean, asked: None });
        }
        let end = if speaker { (start.go - TALK_ENDS).min(quiet - HUSH) } else { quiet - HUSH };
        let rest = |kind, rank, forms, asked| {
            let lean = Lean::Late;
            Request { kind, rank, forms, earliest: free, latest: end, end, lean, asked }
        };
        if speaker && end - free < TALK_AT_LEAST {
            // Under six seconds of talk there is no room to be heard in: numbers and signals only.
        } else {
            for phrase in self.phrases(start, speaker) {
                requests.push(rest(CueKind::Phrase, 1, phrase_forms(phrase, true), Some(phrase.span)));
            }
        }
        // At the beginning of a track all of it has been said in the talk.
        if let Some(before) = before.filter(|_| !start.opens && !start.begins_track) {
            let news = news(self.practice, self.announcer, start, before);
            requests.extend(news.into_iter().map(|(rank, said)| rest(CueKind::Set, rank, vec![said], None)));
            if let Some(tempo) = start.repeat.tempo.filter(|_| start.repeat.tempo != before.repeat.tempo)
                && self.line(start).is_some_and(|line| audible(line, self.practice.audience))
            {
                requests.push(rest(CueKind::Preview, 6, vec![preview::silent(tempo)], None));
            }
        }
        let (placed, dropped) = place(self.open(requests), &start.talk);
        placed.into_iter().for_each(|placed| self.put(placed, start));
        self.drop(dropped);
    }

    /// Without what has been said already, and what cannot be said with the sounds there are.
    fn open(&mut self, requests: Vec<Request>) -> Vec<Request> {
        let Bound { floor, said, closed } = &mut self.bound;
        let unsaid = |request: &Request| {
            let known = |(kind, id): &(CueKind, String)| {
                *kind == request.kind && request.forms.first().is_some_and(|form| form.id == *id)
            };
            said.iter().position(known).map(|place| said.remove(place)).is_none()
        };
        let mut requests: Vec<Request> = requests.into_iter().filter(unsaid).collect();
        for request in requests.iter_mut().filter(|_| *closed) {
            request.earliest = request.earliest.max(*floor);
            let known = |spoken: &Spoken| self.sounds.contains(&spoken.clip.map_or(Sound::Placeholder, Sound::Clip));
            request.forms.retain(|form| form.id == "preview" || form.parts.iter().all(|(_, spoken)| known(spoken)));
        }
        requests
    }

    /// The phrases said before a go: the one it begins with; at the poolside all of the repeat, since none can come later.
    fn phrases<'b>(&self, start: &Start<'b>, all: bool) -> Vec<&'b Text> {
        let mut phrases: Vec<&Text> = Vec::new();
        for focus in start.repeat.focus.iter().take(if all { usize::MAX } else { 1 }) {
            phrases
                .extend(self.phrase_at(start, Some(focus)).filter(|phrase| !phrases.iter().any(|p| p.id == phrase.id)));
        }
        phrases
    }

    pub(super) fn line<'b>(&self, start: &Start<'b>) -> Option<&'b Line> {
        start.set.lines.get(start.repeat.line)
    }

    pub(super) fn countdown(&mut self, go: Seconds) {
        let count = self.practice.settings.countdown.nanos() / Seconds::from_secs(1).nanos();
        for left in (1..=count).rev() {
            self.signal(CueKind::Pip, go - Seconds::from_secs(left), synth::PIP, Sound::Pip, format!("pip-{left}"));
        }
        self.signal(CueKind::Go, go, synth::GO, Sound::Go, "go".into());
    }

    fn signal(&mut self, kind: CueKind, at: Seconds, len: Seconds, sound: Sound, id: String) {
        let sound = intern(&mut self.sounds, sound);
        self.cues.push(Cue {
            kind,
            at,
            len,
            id,
            text: String::new(),
            parts: vec![Part { after: Seconds::ZERO, sound }],
        });
    }

    /// Everything heard while swimming, up to the first words of the talk that follows, if one does.
    fn under_way(&mut self, start: &Start<'_>, next: Option<&Start<'_>>, talk: Option<&Placed>) {
        let quiet = match next {
            Some(next) if !start.repeat.joins => Some(next.go - self.practice.settings.countdown),
            // Nothing is heard during a test, the end of a word that began before the join neither.
            Some(next) if self.line(next).is_some_and(|line| line.test.is_some()) => Some(next.go),
            _ => None,
        };
        let Some(line) = self.line(start) else { return };
        if audible(line, self.practice.audience) {
            let grid = self.grid(start, quiet);
            self.grids.extend(grid);
        }
        self.words(start, quiet, talk);
    }

    /// The beats of a repeat, up to the silence before the next go.
    pub(super) fn grid(&mut self, start: &Start<'_>, quiet: Option<Seconds>) -> Option<Grid> {
        let (sounds, practice) = (&mut self.sounds, self.practice);
        let place = (start.ordinal, practice.side);
        beats::grid(start, place, practice.water, quiet, &mut |sound| intern(sounds, sound))
    }

    /// What is said under way.
    pub(super) fn words(&mut self, start: &Start<'_>, quiet: Option<Seconds>, talk: Option<&Placed>) {
        let Some(line) = self.line(start) else { return };
        if self.practice.audience.in_ear() && line.test.is_none() {
            let ends = [quiet.map(|quiet| quiet - HUSH), talk.map(|talk| talk.at - GAP)];
            let end = ends.into_iter().flatten().min();
            let mut requests = under_way::requests(self.practice, start, end, self.announcer);
            for request in &mut requests {
                request.earliest = request.earliest.max(self.spoken + GAP);
            }
            let (placed, dropped) = place(self.open(requests), &[]);
            placed.into_iter().for_each(|placed| self.speak(placed));
            self.drop(dropped);
        }
    }

    fn phrase_at<'b>(&self, start: &Start<'b>, focus: Option<&FocusFrom>) -> Option<&'b Text> {
        start.set.lines.get(start.repeat.line)?.focus.get(focus?.phrase)
    }

    /// Speaks what was placed; a preview is beats.
    pub(super) fn put(&mut self, placed: Placed, start: &Start<'_>) {
        if placed.kind == CueKind::Preview { self.preview(placed.at, start) } else { self.speak(placed) }
    }

    fn preview(&mut self, at: Seconds, start: &Start<'_>) {
        let Some((tempo, track)) =
            start.repeat.tempo.zip(start.set.lines.get(start.repeat.line).and_then(|line| line.beats.as_ref()))
        else {
            return;
        };
        let sound = intern(&mut self.sounds, Sound::Beat(track.sound));
        let parts = (0..preview::BEATS).map(|k| Part { after: tempo.strokes(k), sound }).collect();
        let len = preview::silent(tempo).len();
        self.cues.push(Cue { kind: CueKind::Preview, at, len, id: "preview".into(), text: String::new(), parts });
    }

    pub(super) fn speak(&mut self, placed: Placed) {
        let (text, len) = (placed.said.text(), placed.said.len());
        self.spoken = self.spoken.max(placed.at + len);
        let mut part = |(after, spoken): &(Seconds, Spoken)| {
            let sound = match spoken.clip {
                Some(clip) => {
                    if self.announcer.is_voiced(spoken) {
                        self.voiced.insert(spoken.text.clone());
                    }
                    Sound::Clip(clip)
                }
                None => {
                    if self.unrecorded.insert(spoken.text.clone()) {
                        let message = format!("no recording for \"{}\": a tone will be heard", spoken.text);
                        let hint = "record it into the pack, or say it in words that have recordings";
                        self.diagnostics.push(Diagnostic::whole(Code::NoRecording, message).hint(hint));
                    }
                    Sound::Placeholder
                }
            };
            Part { after: *after, sound: intern(&mut self.sounds, sound) }
        };
        let parts = placed.said.parts.iter().map(&mut part).collect();
        self.cues.push(Cue { kind: placed.kind, at: placed.at, len, id: placed.said.id, text, parts });
    }

    fn drop(&mut self, requests: Vec<Request>) {
        for request in requests {
            let (Some(span), Some(form)) = (request.asked, request.forms.first()) else { continue };
            let shortest = request.forms.iter().map(Utterance::len).min().unwrap_or_default();
            let room = (request.end - request.earliest).max(Seconds::ZERO);
            let (text, at) = (form.text(), request.earliest);
            let message = format!(
                "\"{text}\" is not heard at {at}{}: it needs {:.1} s, {:.1} s are free",
                self.clock,
                shortest.as_f64(),
                room.as_f64()
            );
            let hint = "allow more rest, change the focus less often, or give the phrase a short form";
            self.diagnostics.push(Diagnostic::at(Code::CueDropped, span, message).hint(hint));
            self.dropped.push(Dropped { at, id: form.id.clone(), text });
        }
    }

    /// When everything laid so far has died away.
    pub(super) fn silent(&self) -> Seconds {
        let last = |grid: &Grid| {
            let last = grid.beats.last()?;
            Some(beat_time(grid.origin, u64::from(last.k), grid.tempo) + beats::LONGEST)
        };
        let cues = self.cues.iter().map(|cue| cue.at + cue.len);
        cues.chain(self.grids.iter().filter_map(last)).max().unwrap_or_default()
    }

    /// Plain beats that belong to no repeat.
    pub(super) fn beat(&mut self, origin: Seconds, tempo: Tempo, sounds: impl Iterator<Item = (u32, Sound)>) {
        let place = |(k, sound)| Beat { k, kind: CueKind::Beat, sound: intern(&mut self.sounds, sound) };
        let beats = sounds.map(place).collect();
        self.grids.push(Grid { origin, tempo, beats });
    }

    /// Cuts what was laid, in absolute time, into legs; the repeats count on from `first`.
    pub(super) fn cut(&mut self, starts: &[Start<'_>], end: Seconds, first: usize) -> (Vec<Leg>, Vec<Swum>) {
        let mut bounds: Vec<(Seconds, LegKind)> = vec![(Seconds::ZERO, LegKind::Talk)];
        for (index, start) in starts.iter().enumerate() {
            let repeat = u32::try_from(first + index).unwrap_or(u32::MAX);
            let last = index + 1 == starts.len();
            bounds.push((start.go, LegKind::Swim { repeat }));
            if !start.repeat.joins {
                bounds.push((start.touch, if last { LegKind::Talk } else { LegKind::Rest }));
            }
        }
        let (cues, laid) = (std::mem::take(&mut self.cues), std::mem::take(&mut self.grids));
        let legs = slice(&bounds, end, cues, &laid);
        let countdown = self.practice.settings.countdown;
        let swum = starts.iter().map(|start| Swum {
            set: start.set_index,
            repeat: start.ordinal,
            from: match start.talk.first() {
                Some(talk) => talk.at,
                None if start.repeat.joined => start.go,
                None => start.go - countdown,
            },
            go: start.go,
            touch: start.touch,
        });
        (legs, swum.collect())
    }

    /// What came of it.
    pub(super) fn built(self, legs: Vec<Leg>, swum: Vec<Swum>, tracks: Vec<Track>) -> Built {
        let timeline = Timeline { legs, sounds: self.sounds, ducking: self.practice.settings.ducking };
        Built {
            timeline,
            swum,
            tracks,
            dropped: self.dropped,
            diagnostics: self.diagnostics,
            unrecorded: self.unrecorded,
            voiced: self.voiced,
        }
    }

    /// What found no room so far.
    pub(super) fn dropped_mut(&mut self) -> &mut [Dropped] {
        &mut self.dropped
    }
}

/// What is new within a set: another line, another tempo, another round, the last repeat; each with its rank.
pub(super) fn news(
    practice: &Practice,
    announcer: Announcer<'_>,
    start: &Start<'_>,
    before: &Start<'_>,
) -> Vec<(u8, Utterance)> {
    let (now, then) = (start.repeat, before.repeat);
    let Some(line) = start.set.lines.get(start.repeat.line) else { return Vec::new() };
    let mut news = Vec::new();
    if let Some(before) = start.set.lines.get(then.line).filter(|_| now.line != then.line) {
        news.extend(announcer.turn_to(line, before).into_iter().map(|said| (2, said)));
        news.extend(announcer.gear(&before.gear, &line.gear).into_iter().map(|said| (2, said)));
    } else if now.distance != then.distance {
        news.push((2, announcer.far(now.distance)));
    }
    if let Some(tempo) = now.tempo.filter(|_| now.tempo != then.tempo) {
        news.push((2, announcer.tempo(tempo, line.per_minute)));
    }
    if let (Some(Breathe::ByRepeat), true) = (line.breathe, practice.audience.in_ear()) {
        let side = if start.ordinal % 2 == 1 { practice.side.other() } else { practice.side };
        news.push((2, announcer.side(side)));
    }
    let is_last = start.ordinal + 1 == start.set.repeats.len();
    if now.round != then.round && start.set.lines.len() > 1 {
        let last = now.round + 1 == start.set.rounds;
        let id = if last { "last-round".to_owned() } else { format!("round-{}", now.round + 1) };
        news.push((3, announcer.say(&id, &id.replace('-', " "))));
    } else if is_last {
        news.push((3, announcer.say("last-one", "last one")));
    }
    news
}
