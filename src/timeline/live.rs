//! A practice under way, laid anew from what really happened: starts that have moved, repeats at another tempo, rests that
//! have begun. Pure; what a command does to the starts is the conductor's business.
//!
//! Where nothing has happened, the same comes out as in a file.

use super::legs::{Bound, Builder, HUSH, news};
use super::place::{GAP, Lean, Placed, Request, place};
use super::schedule::{READY, Schedule, Start, about, audible, schedule, sequence};
use super::slice::slice;
use super::speak::{Announcer, Utterance};
use super::under_way::phrase_forms;
use super::{Cue, CueKind, Grid, Leg, LegKind, Sound, Timeline};
use crate::pack::library::Library;
use crate::practice::{Audience, Item, Line, Practice, Repeat, Set, strokes};
use crate::script::{Breathe, CountOn};
use crate::units::swim::Side;
use crate::units::time::Seconds;

/// From a command to the go it leads to, where nothing but the phrase is said before: "go in ten", and the countdown with
/// room for a phrase; at the poolside a talk that can be heard.
const APPROACH: Seconds = Seconds::from_secs(10);
const PHRASE: Seconds = Seconds::from_secs(5);
const AT_THE_POOLSIDE: Seconds = Seconds::from_secs(15);

/// One start as it stands now.
#[derive(Clone, Debug)]
pub struct Stop {
    /// Its set, from 0.
    pub set: usize,
    /// Its place in the set, from 0.
    pub ordinal: usize,
    /// The repeat, as it is now expected.
    pub repeat: Repeat,
    /// The go.
    pub go: Seconds,
    /// The touch, expected or taken.
    pub touch: Seconds,
    /// What is said before it between sets, as placed now.
    pub talk: Vec<Placed>,
    /// Whether it is the first of its set.
    pub opens: bool,
    /// From this go to the next; for the last one to the touch.
    pub after: Seconds,
    /// The standing rest before it.
    pub standing: Option<Seconds>,
}

/// What is heard of one start, in absolute time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Laid {
    /// The talk or the rest before the go, and the countdown.
    pub before: Vec<Cue>,
    /// While swimming.
    pub under: Vec<Cue>,
    /// Its beats, as if no silence came after them.
    pub grids: Vec<Grid>,
}

/// What has begun when a practice is laid anew.
#[derive(Clone, Debug, Default)]
pub struct Begun {
    /// No new voice before this.
    pub floor: Seconds,
    /// When the last voice that goes on ends.
    pub spoken: Seconds,
    /// What has been said of the first start already.
    pub said: Vec<(CueKind, String)>,
}

/// A practice with all that can be said of it.
#[derive(Clone, Debug)]
pub struct Stage<'a> {
    practice: &'a Practice,
    announcer: Announcer<'a>,
    sets: Vec<&'a Set>,
    sounds: Vec<Sound>,
    /// The closing words from the last go.
    closing: Vec<Placed>,
    end: Seconds,
}

impl<'a> Stage<'a> {
    /// With the starts as they are planned. Nothing but `sounds` will be used: their bank is made.
    pub fn new(practice: &'a Practice, library: &'a Library, sounds: &[Sound]) -> (Self, Vec<Stop>) {
        let announcer = Announcer::new(library);
        let Schedule { starts, closing, end } = schedule(practice, announcer);
        let standing = standing(practice);
        let stop = |(index, start): (usize, &Start<'_>)| Stop {
            set: start.set_index,
            ordinal: start.ordinal,
            repeat: start.repeat.clone(),
            go: start.go,
            touch: start.touch,
            talk: start.talk.clone(),
            opens: start.opens,
            after: starts.get(index + 1).map_or(start.touch, |next| next.go) - start.go,
            standing: standing.get(start.set_index).copied().flatten().filter(|_| start.opens),
        };
        let stops: Vec<Stop> = starts.iter().enumerate().map(stop).collect();
        let last = stops.last().map_or(Seconds::ZERO, |last| last.go);
        let closing = closing.into_iter().map(|placed| Placed { at: placed.at - last, ..placed }).collect();
        let sets = practice.sets().collect();
        (Self { practice, announcer, sets, sounds: sounds.to_vec(), closing, end: end - last }, stops)
    }

    /// The practice.
    pub fn practice(&self) -> &'a Practice {
        self.practice
    }

    /// The line of a start.
    pub fn line(&self, stop: &Stop) -> Option<&'a Line> {
        self.sets.get(stop.set)?.lines.get(stop.repeat.line)
    }

    fn start<'b>(&'b self, stop: &'b Stop) -> Option<Start<'b>> {
        Some(Start {
            set_index: stop.set,
            set: self.sets.get(stop.set)?,
            repeat: &stop.repeat,
            go: stop.go,
            touch: stop.touch,
            talk: stop.talk.clone(),
            opens: stop.opens,
            ordinal: stop.ordinal,
            begins_track: false,
        })
    }

    fn builder(&self) -> Builder<'a> {
        let mut builder = Builder::new(self.practice, self.announcer);
        builder.sounds.clone_from(&self.sounds);
        builder.bound.closed = true;
        builder
    }

    /// Lays everything from one start on. Of a start that is held only the talk is, and nothing after it.
    pub fn lay(&self, stops: &[Stop], from: usize, held: Option<usize>, begun: Begun) -> Vec<Laid> {
        let mut builder = self.builder();
        builder.spoken = begun.spoken;
        builder.bound = Bound { floor: begun.floor, said: begun.said, closed: true };
        let mut laid = Vec::new();
        for (index, stop) in stops.iter().enumerate().skip(from) {
            let Some(start) = self.start(stop) else { break };
            let before = index.checked_sub(1).and_then(|before| self.start(stops.get(before)?));
            let mut own = Laid::default();
            if held == Some(index) {
                start.talk.iter().for_each(|placed| builder.put(placed.clone(), &start));
                own.before = std::mem::take(&mut builder.cues);
                laid.push(own);
                break;
            }
            if !start.repeat.joined {
                builder.before(&start, before.as_ref());
                builder.countdown(start.go);
                own.before = std::mem::take(&mut builder.cues);
            }
            builder.bound.said.clear();
            let next = stops.get(index + 1);
            let closing = self.closing_from(stop.go);
            let talk = next.map_or(&closing, |next| &next.talk).first();
            let quiet = self.quiet(stop, next.filter(|_| held != Some(index + 1)));
            builder.words(&start, quiet, talk);
            own.under = std::mem::take(&mut builder.cues);
            if self.line(stop).is_some_and(|line| audible(line, self.practice.audience)) {
                own.grids = builder.grid(&start, None).into_iter().collect();
            }
            laid.push(own);
        }
        laid
    }

    fn closing_from(&self, go: Seconds) -> Vec<Placed> {
        self.closing.iter().map(|placed| Placed { at: placed.at + go, ..placed.clone() }).collect()
    }

    /// When silence begins after a start: before the next countdown, or before a test that follows without a stop.
    pub fn quiet(&self, stop: &Stop, next: Option<&Stop>) -> Option<Seconds> {
        let next = next?;
        if !stop.repeat.joins {
            return Some(next.go - self.practice.settings.countdown);
        }
        self.line(next).is_some_and(|line| line.test.is_some()).then_some(next.go)
    }

    /// The closing words and the end, after the last go.
    pub fn closing(&self, last: Seconds) -> (Vec<Cue>, Seconds) {
        let mut builder = self.builder();
        self.closing_from(last).into_iter().for_each(|placed| builder.speak(placed));
        (builder.cues, self.end + last)
    }

    /// Lines of a talk one after another from a moment on; and when the last one ends.
    pub fn talk(&self, lines: &[Placed], from: Seconds) -> (Vec<Placed>, Option<Seconds>) {
        let lines: Vec<_> = lines.iter().map(|placed| (placed.kind, placed.said.clone())).collect();
        let spoken = !lines.is_empty();
        let (placed, end) = sequence(lines, from);
        (placed, spoken.then_some(end))
    }

    /// The earliest go to which everything that comes before one still fits.
    pub fn earliest_go(&self, free: Seconds, talked: Option<Seconds>) -> Seconds {
        let countdown = self.practice.settings.countdown;
        let approach = match self.practice.audience {
            Audience::Speaker => AT_THE_POOLSIDE.max(countdown + PHRASE),
            Audience::Headphones | Audience::Player => APPROACH.max(countdown + PHRASE),
        };
        let talked = talked.map(|talked| talked + READY + countdown);
        talked.unwrap_or(free).max(free + approach)
    }

    /// The phrase in force once more, between `from` and `end`, beside what is busy; whole where it fits and may be.
    pub fn again(
        &self,
        stop: &Stop,
        phrase: usize,
        whole: bool,
        window: (Seconds, Seconds),
        busy: &[Cue],
    ) -> Option<Cue> {
        let phrase = self.line(stop)?.focus.get(phrase)?;
        let forms = phrase_forms(phrase, whole);
        let (earliest, end) = window;
        let (kind, lean) = (CueKind::Phrase, Lean::Early);
        let request = Request { kind, rank: 0, forms, earliest, latest: end, end, lean, asked: None };
        // Only how long they take matters of those that are placed already.
        let busy: Vec<Placed> = busy.iter().map(taken).collect();
        let (placed, _) = place(vec![request], &busy);
        let mut builder = self.builder();
        placed.into_iter().for_each(|placed| builder.speak(placed));
        builder.cues.pop()
    }

    /// The latest end of a voice before a go.
    pub fn hush(&self, go: Seconds) -> Seconds {
        go - self.practice.settings.countdown - HUSH
    }

    /// Legs that begin at `bounds`, of what is given in absolute time.
    pub fn legs(bounds: &[(Seconds, LegKind)], end: Seconds, cues: Vec<Cue>, grids: &[Grid]) -> Vec<Leg> {
        slice(bounds, end, cues, grids)
    }

    /// The first of the two voices must end so long before the second begins.
    pub const GAP: Seconds = GAP;
}

fn taken(cue: &Cue) -> Placed {
    let spoken = crate::pack::library::Spoken { text: String::new(), clip: None, len: cue.len };
    Placed { kind: cue.kind, at: cue.at, said: Utterance::of(cue.id.clone(), [spoken]) }
}

/// The standing rest before each set.
fn standing(practice: &Practice) -> Vec<Option<Seconds>> {
    let (mut all, mut now) = (Vec::new(), None);
    for item in &practice.items {
        match item {
            Item::Say(_) => {}
            Item::Rest(rest) => now = Some(now.unwrap_or(Seconds::ZERO) + *rest),
            Item::Set(_) => all.push(now.take()),
        }
    }
    all
}

/// The same timeline with every sound that steering may come to need: its own keep their places, so that without a command
/// the same is heard.
pub fn with_every_sound(timeline: &Timeline, practice: &Practice, library: &Library) -> Timeline {
    let mut timeline = timeline.clone();
    let announcer = Announcer::new(library);
    let mut sounds = vec![Sound::Pip, Sound::Go];
    let mut said: Vec<Utterance> = Vec::new();
    for seconds in [10, 20, 60] {
        let echoes = practice.audience == Audience::Speaker;
        said.push(if echoes { announcer.echo(seconds) } else { announcer.timer(seconds) });
    }
    let (_, stops) = Stage::new(practice, library, &[]);
    let (stage, _) = Stage::new(practice, library, &timeline.sounds);
    for (index, stop) in stops.iter().enumerate() {
        let Some((start, line)) = stage.start(stop).zip(stage.line(stop)) else { continue };
        said.extend(line.focus.iter().flat_map(|phrase| phrase_forms(phrase, true)));
        let before = index.checked_sub(1).and_then(|before| stage.start(stops.get(before)?));
        if let Some(before) = before.as_ref().filter(|_| !start.opens) {
            said.extend(news(practice, announcer, &start, before).into_iter().map(|(_, said)| said));
        }
        if start.opens {
            said.extend(about(practice, start.set, index == 0, before.as_ref(), announcer).into_iter().map(|l| l.1));
            said.extend(start.talk.iter().map(|placed| placed.said.clone()));
        }
        if line.count == Some(CountOn::LastLength) {
            said.push(announcer.say("count-this-one", "count this one"));
        }
        if matches!(line.breathe, Some(Breathe::ByLength | Breathe::ByRepeat | Breathe::Sides { .. })) {
            said.extend([Side::Left, Side::Right].map(|side| announcer.side(side)));
        }
        if let Some(every) = line.call {
            // A faster tempo takes more strokes than were planned.
            let most = strokes::counted(start.repeat).len() as u32 * 3 / 2;
            said.extend((1..=most).filter(|n| n.is_multiple_of(every.max(1))).map(|n| announcer.call(n)));
        }
        if let Some(track) = line.beats.as_ref() {
            sounds.push(Sound::Beat(track.sound));
            sounds.extend(track.accent.map(|(_, accent)| Sound::Beat(accent)));
            sounds.extend(line.sight.map(|_| Sound::Sight));
            let sides = [None, Some(Side::Left), Some(Side::Right)];
            sounds.extend(sides.into_iter().filter(|_| line.breathe.is_some()).map(Sound::Breath));
        }
    }
    for utterance in said.iter().filter(|said| said.id != "preview") {
        let sound =
            |(_, spoken): &(Seconds, crate::pack::library::Spoken)| spoken.clip.map_or(Sound::Placeholder, Sound::Clip);
        sounds.extend(utterance.parts.iter().map(sound));
    }
    for sound in sounds {
        if !timeline.sounds.contains(&sound) {
            timeline.sounds.push(sound);
        }
    }
    timeline
}
