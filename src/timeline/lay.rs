//! Laying starts: the voices in their windows, countdowns, beats. One way for a plan, for a track of a player, and for a
//! practice under way.
//!
//! A layer works for one listener; whose starts it lays is all one to it. What there is to say comes from `before` and
//! `under_way`, when the starts are from the schedule or from the conductor.

use super::beats::{self, audible};
use super::before::{self, Approach, HUSH};
use super::built::{Built, Dropped, Findings};
use super::place::{GAP, Lean, Placed, VoiceRequest, place};
use super::schedule::{SETTLE, Schedule, sequence};
use super::speak::{Announcer, Utterance, sound_of};
use super::start::Start;
use super::strand::{Laid, LastWords, Strand, end_of, legs};
use super::under_way::{self, phrase_forms};
use super::{Beat, Cue, CueKind, CuePart, Grid, Sound, SoundId, Timeline, preview, walls};
use crate::audio::synth;
use crate::diag::{Code, Diagnostic, Span};
use crate::pack::library::{Library, Spoken};
use crate::practice::{Audience, Company, Line, Practice, Set};
use crate::units::time::{Seconds, Tempo, beat_time};

/// At the poolside the talk begins so long after the predicted touch.
pub const STAND: Seconds = Seconds::from_secs(3);

/// What has begun when starts are laid again; by default nothing has.
#[derive(Clone, Debug, Default)]
pub struct SoFar {
    /// No new voice before this.
    pub floor: Seconds,
    /// When the last voice that goes on ends.
    pub spoken: Seconds,
    /// What has been said of the first start already, each as often as it was.
    pub said: Vec<(CueKind, String)>,
}

/// Every sound in use, each with a number of its own.
#[derive(Clone, Debug)]
struct Sounds {
    all: Vec<Sound>,
    /// Whether these are all there can be: live, the bank is made.
    closed: bool,
}

impl Sounds {
    /// The number of a sound; none for a new one where there can be no more.
    fn id(&mut self, sound: Sound) -> Option<SoundId> {
        let known = self.all.iter().position(|other| *other == sound);
        let place = known.or_else(|| {
            self.all.extend(Some(sound).filter(|_| !self.closed));
            self.all.len().checked_sub(1).filter(|_| !self.closed)
        })?;
        #[expect(clippy::expect_used, reason = "each takes memory of its own long before that")]
        Some(SoundId(u32::try_from(place).expect("there are fewer than 2^32 different sounds")))
    }
}

/// Lays the starts of one practice for one listener.
#[derive(Clone, Debug)]
pub struct Layer<'a> {
    practice: &'a Practice,
    announcer: Announcer<'a>,
    sets: Vec<&'a Set>,
    sounds: Sounds,
    findings: Findings,
    /// When the last voice so far ends.
    spoken: Seconds,
    begun: SoFar,
    /// Of which sets the first start alone is laid with what comes before its go: the others are called.
    called: Vec<bool>,
    /// Follows a time in messages, where it does not count from the beginning of the practice.
    clock: String,
}

impl<'a> Layer<'a> {
    /// For a practice that is being planned: any sound may come to be used.
    pub(super) fn new(practice: &'a Practice, announcer: Announcer<'a>) -> Self {
        let sets = practice.sets().collect();
        let sounds = Sounds { all: Vec::new(), closed: false };
        let (findings, spoken, begun, clock) = (Findings::default(), Seconds::ZERO, SoFar::default(), String::new());
        Self { practice, announcer, sets, sounds, findings, spoken, begun, called: Vec::new(), clock }
    }

    /// For a practice under way: nothing but `sounds` can be heard, their bank is made.
    pub fn under_way(practice: &'a Practice, library: &'a Library, sounds: &[Sound]) -> Self {
        let layer = Self::new(practice, Announcer::new(library));
        Self { sounds: Sounds { all: sounds.to_vec(), closed: true }, ..layer }
    }

    /// Of these sets only the first start has talk and pips; what is heard of the others is laid elsewhere.
    pub(super) fn only_call(&mut self, sets: Vec<bool>) {
        self.called = sets;
    }

    /// The practice.
    pub fn practice(&self) -> &'a Practice {
        self.practice
    }

    /// What makes words of facts.
    pub(super) fn announcer(&self) -> Announcer<'a> {
        self.announcer
    }

    /// The set of a start.
    pub fn set(&self, start: &Start) -> Option<&'a Set> {
        self.sets.get(start.set).copied()
    }

    /// The line of a start.
    pub fn line(&self, start: &Start) -> Option<&'a Line> {
        self.set(start)?.lines.get(start.repeat.line)
    }

    /// From here on times count from 0 again, and messages say of what: " of track 2".
    pub(super) fn restart(&mut self, clock: String) {
        (self.spoken, self.clock) = (Seconds::ZERO, clock);
    }

    /// Everything of a schedule.
    pub(super) fn lay_all(&mut self, schedule: Schedule) -> Strand {
        let Schedule { starts, closing, end } = schedule;
        let last = starts.last().map_or(Seconds::ZERO, |last| last.go);
        let laid = self.lay_each(&starts, 0, None, closing.first());
        let cues = closing.into_iter().map(|placed| self.speak(placed));
        let cues = cues.map(|cue| Cue { at: cue.at - last, ..cue }).collect();
        let countdown = self.practice.settings.countdown;
        Strand { starts, laid, closing: LastWords { cues, end: end - last }, countdown, ..Strand::default() }
    }

    /// Lays everything of a strand from one start on. Of a start that is held only the talk is, and nothing after it.
    pub fn lay(&mut self, strand: &Strand, from: usize, begun: SoFar) -> Vec<Laid> {
        (self.spoken, self.begun) = (begun.spoken, begun);
        // Of a practice under way only this is asked for; the rest would grow with every command.
        self.findings = Findings { unsayable: std::mem::take(&mut self.findings.unsayable), ..Findings::default() };
        let last = strand.starts.last().map_or(Seconds::ZERO, |last| last.go);
        let talk = strand.closing.cues.first().map(|cue| taken(cue, last));
        self.lay_each(&strand.starts, from, strand.held, talk.as_ref())
    }

    fn lay_each(&mut self, starts: &[Start], from: usize, held: Option<usize>, closing: Option<&Placed>) -> Vec<Laid> {
        let mut laid = Vec::new();
        for (index, start) in starts.iter().enumerate().skip(from) {
            let Some((set, line)) = self.set(start).zip(self.line(start)) else { break };
            let mut own = Laid::default();
            if held == Some(index) {
                own.before = self.put_all(start.talk.clone(), start, line);
                laid.push(own);
                break;
            }
            let before = index.checked_sub(1).and_then(|before| starts.get(before));
            let approach = Approach { start, set, line, before };
            let called = !start.opens && self.called.get(start.set) == Some(&true);
            if !start.repeat.joined && !called {
                own.before = self.before(approach);
                own.before.extend(self.countdown(start.go));
            }
            self.begun.said.clear();
            let next = starts.get(index + 1);
            let talk = next.map_or(closing, |next| next.talk.first());
            if audible(line, self.practice.audience) {
                own.grids = self.grid(start, line).into_iter().collect();
            }
            let quiet = self.quiet(start, next.filter(|_| held != Some(index + 1)));
            own.under = self.words(approach, quiet, talk);
            own.under.extend(self.walls(start, line, quiet));
            own.under.sort_by_key(|cue| cue.at);
            laid.push(own);
        }
        laid
    }

    /// When silence begins after a start: before the next countdown, or before a test that follows without a stop.
    fn quiet(&self, start: &Start, next: Option<&Start>) -> Option<Seconds> {
        let next = next?;
        if !start.repeat.joins {
            return Some(next.go - self.practice.settings.countdown);
        }
        // Nothing is heard during a test, the end of a word that began before the join neither.
        self.line(next).is_some_and(|line| line.test.is_some()).then_some(next.go)
    }

    /// Everything heard in the talk or the rest before a go, but for the countdown.
    fn before(&mut self, approach: Approach<'_, '_>) -> Vec<Cue> {
        let Approach { start, line, before, .. } = approach;
        let talked = start.talk.last().map(|last| last.at + last.said.len());
        let touched = before.map_or(Seconds::ZERO, |before| before.touch);
        // At the poolside nobody hears anything before they stand; in the ear it may come a little early.
        let stands = self.practice.audience == Audience::Speaker && talked.is_none();
        let settle = if stands { STAND } else { SETTLE };
        // A phrase that came with the last strokes may still be heard.
        let free = (talked.unwrap_or(touched) + settle).max(self.spoken + GAP).max(self.begun.floor);
        let mut cues = self.put_all(start.talk.clone(), start, line);
        let requests = before::requests(self.practice, self.announcer, approach, free);
        let requests = self.open(requests);
        let (mut placed, mut dropped) = place(requests.clone(), &start.talk);
        if dropped.iter().any(before::is_news) {
            // What was heard before the last go gives way to what was not.
            (placed, dropped) = place(before::known_last(requests, approach), &start.talk);
        }
        cues.extend(self.put_all(placed, start, line));
        self.drop(dropped);
        cues
    }

    /// Without what has been said already, and what cannot be said with the sounds there are.
    fn open(&mut self, requests: Vec<VoiceRequest>) -> Vec<VoiceRequest> {
        let said = &mut self.begun.said;
        let unsaid = |request: &VoiceRequest| {
            let known = |(kind, id): &(CueKind, String)| {
                *kind == request.kind && request.forms.first().is_some_and(|form| form.id == *id)
            };
            said.iter().position(known).map(|place| said.remove(place)).is_none()
        };
        let mut requests: Vec<VoiceRequest> = requests.into_iter().filter(unsaid).collect();
        if self.sounds.closed {
            for request in requests.iter_mut().filter(|request| request.kind != CueKind::Preview) {
                request.earliest = request.earliest.max(self.begun.floor);
                let known = |form: &Utterance| form.sounds().all(|sound| self.sounds.all.contains(&sound));
                let unknown = request.forms.iter().filter(|form| !known(form));
                self.findings.unsayable.extend(unknown.map(|form| form.id.clone()));
                request.forms.retain(known);
            }
        }
        requests
    }

    /// The pips before a go, and its tone.
    pub(super) fn countdown(&mut self, go: Seconds) -> Vec<Cue> {
        let count = self.practice.settings.countdown.nanos() / Seconds::from_secs(1).nanos();
        let pip = |left| (go - Seconds::from_secs(left), Sound::Pip, format!("pip-{left}"));
        let mut cues: Vec<Cue> = (1..=count).rev().map(pip).map(|pip| self.signal(CueKind::Pip, pip)).collect();
        cues.push(self.go(go));
        cues
    }

    /// The tone on which somebody leaves.
    pub(super) fn go(&mut self, at: Seconds) -> Cue {
        self.signal(CueKind::Go, (at, Sound::Go, "go".to_owned()))
    }

    fn signal(&mut self, kind: CueKind, (at, sound, id): (Seconds, Sound, String)) -> Cue {
        let len = if kind == CueKind::Go { synth::GO } else { synth::PIP };
        let parts = self.sounds.id(sound).map(|sound| CuePart { after: Seconds::ZERO, sound });
        Cue { kind, at, len, id, text: String::new(), parts: parts.into_iter().collect() }
    }

    /// The beats of a repeat, as if no silence came after them.
    fn grid(&mut self, start: &Start, line: &Line) -> Option<Grid> {
        let sounds = &mut self.sounds;
        beats::grid(start, line, self.practice, &mut |sound| sounds.id(sound))
    }

    /// What is said while swimming, up to the first words of the talk that follows, if one does.
    fn words(&mut self, approach: Approach<'_, '_>, quiet: Option<Seconds>, talk: Option<&Placed>) -> Vec<Cue> {
        let Approach { start, line, .. } = approach;
        if !self.practice.audience.in_ear() || line.test.is_some() {
            return Vec::new();
        }
        let ends = [quiet.map(|quiet| quiet - HUSH), talk.map(|talk| talk.at - GAP)];
        let end = ends.into_iter().flatten().min();
        let mut requests = under_way::requests(self.practice, start, line, end, self.announcer);
        requests.extend(before::at_join(self.practice, self.announcer, approach));
        for request in &mut requests {
            request.end = end.map_or(request.end, |end| request.end.min(end));
            request.earliest = request.earliest.max(self.spoken + GAP);
        }
        let (placed, dropped) = place(self.open(requests), &[]);
        let cues = placed.into_iter().map(|placed| self.speak(placed)).collect();
        self.drop(dropped);
        cues
    }

    /// The marks of the walls of a repeat, each when it is due.
    fn walls(&mut self, start: &Start, line: &Line, quiet: Option<Seconds>) -> Vec<Cue> {
        let mut marks = Vec::new();
        for (number, at, free) in walls::due(start, line, self.practice.audience, quiet) {
            let id = format!("wall-{number}");
            if free {
                marks.extend(self.mark(id, at));
            } else {
                self.silent_wall(id, at, line);
            }
        }
        marks
    }

    /// A wall that is due in the silence before the next go has no mark.
    fn silent_wall(&mut self, id: String, at: Seconds, line: &Line) {
        let text = "the mark of the last wall".to_owned();
        let message = format!("{text} is not heard at {at}{}: it is due in the countdown to the next go", self.clock);
        let hint = "leave more time between the starts, or leave the marks out: `marks: none`";
        self.tell(line.span, &text, message, hint);
        self.findings.dropped.push(Dropped { at, id, text });
    }

    /// Once for each text in its place: the list of what is not heard has every time.
    fn tell(&mut self, span: Span, text: &str, message: String, hint: &str) {
        let known = |told: &Diagnostic| {
            told.code == Code::CueDropped && told.span == Some(span) && told.message.starts_with(text)
        };
        if !self.findings.diagnostics.iter().any(known) {
            self.findings.diagnostics.push(Diagnostic::at(Code::CueDropped, span, message).hint(hint));
        }
    }

    /// The mark of a wall, if it can be heard.
    fn mark(&mut self, id: String, at: Seconds) -> Option<Cue> {
        let parts = vec![CuePart { after: Seconds::ZERO, sound: self.sounds.id(Sound::Wall)? }];
        Some(Cue { kind: CueKind::Wall, at, len: synth::WALL, id, text: String::new(), parts })
    }

    /// Speaks what was placed; a preview is beats, and a mark is shown as it will be heard.
    fn put_all(&mut self, placed: Vec<Placed>, start: &Start, line: &Line) -> Vec<Cue> {
        let put = |placed: Placed| match placed.kind {
            CueKind::Preview => self.preview(placed.at, start, line),
            CueKind::Wall => self.mark(placed.said.id, placed.at),
            _ => Some(self.speak(placed)),
        };
        placed.into_iter().filter_map(put).collect()
    }

    fn preview(&mut self, at: Seconds, start: &Start, line: &Line) -> Option<Cue> {
        let (tempo, track) = (start.repeat.tempo?, line.beats.as_ref()?);
        let sound = self.sounds.id(Sound::Beat(track.sound))?;
        let parts = (0..preview::BEATS).map(|k| CuePart { after: tempo.strokes(k), sound }).collect();
        let len = preview::silent(tempo).len();
        Some(Cue { kind: CueKind::Preview, at, len, id: "preview".into(), text: String::new(), parts })
    }

    /// A placed text as a cue.
    pub(super) fn speak(&mut self, placed: Placed) -> Cue {
        let (text, len) = (placed.said.text(), placed.said.len());
        self.spoken = self.spoken.max(placed.at + len);
        let mut parts = Vec::with_capacity(placed.said.parts.len());
        for (after, spoken) in &placed.said.parts {
            self.findings.heard(spoken, self.announcer.is_voiced(spoken));
            parts.extend(self.sounds.id(sound_of(spoken)).map(|sound| CuePart { after: *after, sound }));
        }
        Cue { kind: placed.kind, at: placed.at, len, id: placed.said.id, text, parts }
    }

    fn drop(&mut self, requests: Vec<VoiceRequest>) {
        for request in requests {
            let (Some(span), Some(form)) = (request.asked, request.forms.first()) else { continue };
            let shortest = request.forms.iter().map(Utterance::len).min().unwrap_or(form.len());
            let room = (request.end - request.earliest).max(Seconds::ZERO);
            let (text, at) = (form.text(), request.earliest);
            let (needs, room) = (shortest.as_f64(), room.as_f64());
            let free = if needs > room { "are free" } else { "are all there is, and other words come first" };
            // The rest of a lane is what it has from the last touch on.
            let crowded = self.practice.company == Company::Together && room == 0.0;
            let why = if crowded {
                "between the last touch of the lane and the words before the go there are under 6 s".to_owned()
            } else {
                format!("it needs {needs:.1} s, {room:.1} s {free}")
            };
            let message = format!("\"{text}\" is not heard at {at}{}: {why}", self.clock);
            let hint = match request.kind {
                CueKind::Phrase => "allow more rest, change the focus less often, or give the phrase a short form",
                _ => "allow more rest, or ask for less in this swim",
            };
            self.tell(span, &format!("\"{text}\" is not heard"), message, hint);
            self.findings.dropped.push(Dropped { at, id: form.id.clone(), text });
        }
    }

    /// Plain beats that belong to no repeat.
    pub(super) fn beats(&mut self, origin: Seconds, tempo: Tempo, sounds: impl Iterator<Item = (u32, Sound)>) -> Grid {
        let beat = |(k, sound)| Some(Beat { k, kind: CueKind::Beat, sound: self.sounds.id(sound)? });
        Grid { origin, tempo, beats: sounds.filter_map(beat).collect() }
    }

    /// The phrase in force again, between the two ends of `window`, beside what is busy; whole where it fits and may be.
    pub fn again(
        &mut self,
        start: &Start,
        phrase: usize,
        whole: bool,
        window: (Seconds, Seconds),
        busy: &[Cue],
    ) -> Option<Cue> {
        let forms = phrase_forms(self.line(start)?.focus.get(phrase)?, whole);
        let (earliest, end) = window;
        let (kind, lean) = (CueKind::Phrase, Lean::Early);
        let request = VoiceRequest { kind, rank: 0, forms, earliest, latest: end, end, lean, asked: None, turn: None };
        let busy: Vec<Placed> = busy.iter().map(|cue| taken(cue, Seconds::ZERO)).collect();
        let (placed, _) = place(vec![request], &busy);
        placed.into_iter().next().map(|placed| self.speak(placed))
    }

    /// Lines of a talk one after another from a moment on; and when the last one ends, if there are any.
    pub fn talk(&self, lines: &[Placed], from: Seconds) -> (Vec<Placed>, Option<Seconds>) {
        let lines: Vec<_> = lines.iter().map(|placed| (placed.kind, placed.said.clone())).collect();
        let spoken = !lines.is_empty();
        let (placed, end) = sequence(lines, from);
        (placed, spoken.then_some(end))
    }

    /// The latest end of a voice before a go.
    pub fn hush(&self, go: Seconds) -> Seconds {
        go - self.practice.settings.countdown - HUSH
    }

    /// The ids of what could not be said for lack of a sound.
    pub fn unsayable(&self) -> impl Iterator<Item = &str> {
        self.findings.unsayable.iter().map(String::as_str)
    }

    /// What found no room so far.
    pub(super) fn dropped_mut(&mut self) -> &mut [Dropped] {
        &mut self.findings.dropped
    }

    /// What was laid, as one timeline: the practice's strand, and those of who leaves behind the first.
    pub(super) fn built(self, strand: Strand, followers: Vec<Strand>) -> Built {
        let strands: Vec<&Strand> = std::iter::once(&strand).chain(&followers).collect();
        let (legs, _) = legs(&strands, Seconds::ZERO);
        let ducking = self.practice.settings.ducking;
        let (sounds, findings) = self.finish();
        Built { timeline: Timeline { legs, sounds, ducking }, strand, followers, tracks: Vec::new(), findings }
    }

    /// The sounds used, and what else came of it.
    pub(super) fn finish(self) -> (Vec<Sound>, Findings) {
        (self.sounds.all, self.findings)
    }
}

/// Where a cue stands, for placing others beside it: only how long it takes matters.
fn taken(cue: &Cue, origin: Seconds) -> Placed {
    let spoken = Spoken { text: String::new(), clip: None, len: cue.len };
    Placed { kind: cue.kind, at: cue.at + origin, said: Utterance::of(cue.id.clone(), [spoken]) }
}

/// When everything laid has died away.
pub(super) fn silent<'c>(
    cues: impl IntoIterator<Item = &'c Cue>,
    grids: impl IntoIterator<Item = &'c Grid>,
) -> Seconds {
    let last = |grid: &Grid| {
        let last = grid.beats.last()?;
        Some(beat_time(grid.origin, u64::from(last.k), grid.tempo) + beats::LONGEST)
    };
    let cues = cues.into_iter().map(end_of);
    cues.chain(grids.into_iter().filter_map(last)).max().unwrap_or(Seconds::ZERO)
}
