//! What a lane hears: all of it from one speaker, or each with sound of their own on one clock.
//!
//! The speaker's timeline has a strand for the lane's clock, on which everything is said, and one for each who leaves behind the
//! first: their call, and the go that is theirs. How close they may leave is the lane's matter, who is caught the simulation's.

use super::built::Built;
use super::lay::Layer;
use super::place::Placed;
use super::schedule::{Besides, Sentence, schedule_on};
use super::speak::{Announcer, Utterance};
use super::start::Start;
use super::strand::{Laid, Strand};
use super::{Cue, CueKind, Timeline};
use crate::lane::{Lane, first_of};
use crate::pack::library::Library;
use crate::practice::{CLOCK, Practice, Set};
use crate::units::time::Seconds;
use std::ops::Range;

/// A follower is called so long before their go.
pub const CALL_BEFORE: Seconds = Seconds::from_secs(2);
/// With a smaller gap the call is a number: a name would run into what the one in front hears.
pub(super) const NAMES_FROM: Seconds = Seconds::from_secs(4);

/// What is called in a lane: its name, if it has one that means something, and the names by which its swimmers are called.
#[derive(Clone, Debug)]
pub struct LaneVoice {
    /// The lane's name; none where it is the only one and was given none.
    pub lane: Option<String>,
    /// What each is called, in the order of leaving.
    pub names: Vec<String>,
}

impl LaneVoice {
    /// What somebody is called where they leave `gap` behind the one in front; none where that is by their number.
    fn name(&self, who: usize, gap: Seconds) -> Option<&str> {
        self.names.get(who).filter(|_| gap >= NAMES_FROM).map(String::as_str)
    }

    /// First names, where they tell the swimmers of a lane apart; else whole ones.
    pub fn of(lane: &Lane, named: bool) -> Self {
        let first = |name: &str| name.split_whitespace().next().unwrap_or_default().to_owned();
        let alike = |name: &str| lane.swimmers.iter().filter(|who| first(&who.name) == first(name)).count() > 1;
        let short = |name: &String| if alike(name) { name.clone() } else { first(name) };
        let names = lane.swimmers.iter().map(|who| short(&who.name)).collect();
        Self { lane: named.then(|| lane.name.clone()), names }
    }
}

/// The timeline of a speaker at the poolside. `practice` is the lane's as a whole, see [`together`](crate::lane::together).
pub fn speaker(lane: &Lane, voice: &LaneVoice, practice: &Practice, library: &Library) -> Built {
    let announcer = Announcer::new(library);
    let mut layer = Layer::new(practice, announcer);
    let said = |said: Utterance| (CueKind::Say, said);
    let mut welcome: Vec<Sentence> = voice.lane.iter().map(|name| said(announcer.lane(name))).collect();
    if lane.swimmers.len() > 1 {
        welcome.extend(announcer.order(&voice.names).map(said));
        welcome.extend(announcer.apart(lane.gap).map(said));
    }
    let clock =
        schedule_on(practice, announcer, Besides::welcome(&welcome), &mut |_, earliest| earliest.ceil_to(CLOCK));
    let strand = layer.lay_all(clock);
    let followers: Vec<Strand> =
        (1..lane.swimmers.len()).map(|who| follower(lane, voice, who, &strand, &mut layer)).collect();
    layer.built(strand, followers)
}

/// One of a lane who hears what is theirs alone.
#[derive(Clone, Copy, Debug)]
pub struct LaneEar<'a> {
    /// The lane.
    pub lane: &'a Lane,
    /// What is called in it.
    pub voice: &'a LaneVoice,
    /// Which of its swimmers, from 0 in the order of leaving.
    pub who: usize,
    /// What they swim.
    pub practice: &'a Practice,
    /// The words.
    pub library: &'a Library,
}

impl LaneEar<'_> {
    fn offset(&self) -> Seconds {
        self.lane.swimmers.get(self.who).map_or(Seconds::ZERO, |who| who.offset)
    }

    /// What is said of the lane before the first set.
    fn welcome(&self) -> Vec<Sentence> {
        let announcer = Announcer::new(self.library);
        let number = self.lane.swimmers.get(self.who).filter(|_| self.lane.swimmers.len() > 1).map(|who| who.number);
        let place = number.map(|number| announcer.place_in_lane(number, self.offset()));
        let lane = self.voice.lane.iter().map(|name| announcer.lane(name));
        lane.chain(place).map(|said| (CueKind::Say, said)).collect()
    }
}

/// The first gos of the sets, as whoever leaves without an offset has them, so early that everybody has heard what is said to them
/// and has rested. The lanes' sets are the same ones.
pub fn first_gos(ears: &[LaneEar<'_>]) -> Vec<Seconds> {
    let sets = ears.iter().map(|ear| ear.practice.sets().count()).max().unwrap_or(0);
    let mut gos = vec![Seconds::ZERO; sets];
    // Each time at least one set more has its go for good: it follows from those before it.
    loop {
        let mut moved = false;
        for ear in ears {
            let (offset, announcer) = (ear.offset(), Announcer::new(ear.library));
            schedule_on(ear.practice, announcer, Besides::welcome(&ear.welcome()), &mut |set, earliest| {
                let Some(go) = gos.get_mut(set) else { return earliest };
                if *go + offset < earliest {
                    (*go, moved) = ((earliest - offset).ceil_to(CLOCK), true);
                }
                *go + offset
            });
        }
        if !moved {
            return gos;
        }
    }
}

/// The timeline of one of a lane, on the clock that all of them have.
pub fn own(ear: LaneEar<'_>, first_gos: &[Seconds]) -> Built {
    let announcer = Announcer::new(ear.library);
    let mut layer = Layer::new(ear.practice, announcer);
    let offset = ear.offset();
    let clock = schedule_on(ear.practice, announcer, Besides::welcome(&ear.welcome()), &mut |set, earliest| {
        first_gos.get(set).map_or(earliest, |go| *go + offset)
    });
    let strand = layer.lay_all(clock);
    layer.built(strand, Vec::new())
}

/// The starts of one who does not always leave first, with their calls and gos. Where they do leave first, the clock's go is theirs.
fn follower(lane: &Lane, voice: &LaneVoice, who: usize, clock: &Strand, layer: &mut Layer<'_>) -> Strand {
    let mut strand = Strand::default();
    let Some(own) = lane.swimmers.get(who) else { return strand };
    for (ordinal, (laid, set)) in lane.sets.iter().zip(own.practice.sets()).enumerate() {
        let swum = laid.starts.iter().filter_map(|start| Some((start, first_of(start)?)));
        for ((start, first), clock) in swum.zip(clock_starts(clock, ordinal)) {
            let before = lane.swimmers.get(first).map_or(Seconds::ZERO, |first| first.offset);
            let go = clock.go + own.offset - before;
            let called = (first != who).then(|| call(layer, (lane, voice), who, lane.gap, go));
            if let Some(swim) = start.swims.get(who).cloned().flatten() {
                strand.put((set, ordinal), swim, go, called.unwrap_or_default());
            }
        }
    }
    strand
}

/// The call of one who leaves `gap` behind the one in front, and their go.
pub fn call(layer: &mut Layer<'_>, of: (&Lane, &LaneVoice), who: usize, gap: Seconds, go: Seconds) -> Vec<Cue> {
    let (lane, voice) = of;
    let Some(swimmer) = lane.swimmers.get(who) else { return Vec::new() };
    let said = layer.announcer().start_call(voice.name(who, gap), swimmer.number);
    let call = layer.speak(Placed { kind: CueKind::Say, at: go - CALL_BEFORE, said });
    vec![call, layer.go(go)]
}

/// The call of somebody who leads, where that was to be another.
pub fn lead_call(layer: &Layer<'_>, (lane, voice): (&Lane, &LaneVoice), who: usize) -> Option<Utterance> {
    let number = lane.swimmers.get(who)?.number;
    Some(layer.announcer().start_call(voice.names.get(who).map(String::as_str), number))
}

/// A timeline with all that steering may come to need of a lane: the calls of each by name and by number, the first of them too,
/// and every reading of the pace clock.
pub fn with_calls(mut timeline: Timeline, (lane, voice): (&Lane, &LaneVoice), library: &Library) -> Timeline {
    let announcer = Announcer::new(library);
    let calls = lane.swimmers.iter().enumerate().flat_map(|(who, swimmer)| {
        let name = voice.names.get(who).map(String::as_str);
        [announcer.start_call(name, swimmer.number), announcer.start_call(None, swimmer.number)]
    });
    let readings = (0..60).filter_map(|second| announcer.clock_reading(Seconds::from_secs(second)));
    timeline.learn(calls.chain(readings).flat_map(|said| said.sounds().collect::<Vec<_>>()));
    timeline
}

/// The starts of a set that the lane's clock has a go for.
pub(super) fn clock_starts(clock: &Strand, set: usize) -> impl Iterator<Item = &Start> {
    clock.starts.iter().filter(move |start| start.set == set && !start.repeat.joined)
}

impl Strand {
    /// Adds what somebody swims from one go on, repeats of a set and which that is, with what is heard of the go.
    pub(super) fn put(&mut self, (set, ordinal): (&Set, usize), swim: Range<usize>, go: Seconds, heard: Vec<Cue>) {
        let (mut at, mut heard) = (go, heard);
        for (place, repeat) in set.repeats.iter().enumerate().skip(swim.start).take(swim.len()) {
            let start = Start::new(ordinal, place, repeat, at);
            at += start.after;
            self.starts.push(start);
            self.laid.push(Laid { before: std::mem::take(&mut heard), ..Laid::default() });
        }
    }
}
