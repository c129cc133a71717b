//! What several lanes on one clock hear from one speaker: one talk for all, and every start called.
//!
//! Whoever leaves when the first of all lanes do has the go after the pips. The others are called and leave on a tone, which is
//! heard once however many leave on it: by number where it is that number's turn in all lanes, else each by name. Whether lanes
//! keep one clock is `lane::side_by_side`'s matter, what one lane alone hears that of `timeline::lane`.

use super::built::Built;
use super::lane::{CALL_BEFORE, clock_starts};
use super::lay::Layer;
use super::place::{GAP, Placed};
use super::schedule::{Sentence, schedule_on};
use super::speak::{Announcer, Utterance};
use super::start::Start;
use super::strand::Strand;
use super::{Cue, CueKind};
use crate::audio::synth;
use crate::lane::{LaneStart, LanesOnOneClock, first_of};
use crate::pack::library::Library;
use crate::practice::{CLOCK, Practice};
use crate::units::time::Seconds;
use std::collections::BTreeMap;

/// A call that takes longer than the time from which calls begin ends so long before the go.
const CALL_ENDS: Seconds = Seconds::from_millis(300);

/// What lanes and their swimmers are called.
#[derive(Clone, Debug)]
pub struct LanesVoice {
    /// The name of each lane.
    pub lanes: Vec<String>,
    /// The gap of each.
    pub gaps: Vec<Seconds>,
    /// What each swimmer is called, in the order of leaving.
    pub names: Vec<String>,
}

/// Swimmers of several lanes who cannot be called: what is heard before them leaves too little time for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CallsCollide {
    /// The set, from 0.
    pub set: usize,
    /// Its start, from 0.
    pub start: usize,
    /// Who would be called, as places in the order of leaving.
    pub who: Vec<usize>,
    /// Who leaves before them.
    pub before: Vec<usize>,
    /// So long after those.
    pub after: Seconds,
    /// How long the call takes.
    pub call: Seconds,
}

/// The timeline of a speaker for several lanes, and every call for which there is no time: with any of them it is not to be
/// heard. `practice` is that of all lanes, see [`together`](crate::lane::together).
pub fn speaker_of_several(
    lanes: &LanesOnOneClock,
    voice: &LanesVoice,
    practice: &Practice,
    library: &Library,
) -> (Built, Vec<CallsCollide>) {
    let announcer = Announcer::new(library);
    let mut layer = Layer::new(practice, announcer);
    let welcome = welcome(lanes, voice, announcer);
    let clock = schedule_on(practice, announcer, &welcome, &mut |_, earliest| earliest.ceil_to(CLOCK));
    let strand = layer.lay_all(clock);
    let mut followers: Vec<Strand> = lanes.all.swimmers.iter().map(|_| Strand::default()).collect();
    let mut collide = Vec::new();
    for (ordinal, set) in lanes.all.sets.iter().enumerate() {
        let swum = set.starts.iter().enumerate().filter_map(|(index, start)| Some((index, start, first_of(start)?)));
        for ((index, start, first), clock) in swum.zip(clock_starts(&strand, ordinal)) {
            let calling = Calling { lanes, voice, start, first, clock };
            let (heard, found) = calling.heard(&mut layer);
            let place =
                |(who, before, after, call)| CallsCollide { set: ordinal, start: index, who, before, after, call };
            collide.extend(found.into_iter().map(place));
            calling.put(ordinal, heard, &mut followers);
        }
    }
    (layer.built(strand, followers), collide)
}

/// Who leaves when, lane by lane; how far apart once, where it is the same for all. Who has a lane for themselves leaves with the
/// first of the others, and needs neither.
fn welcome(lanes: &LanesOnOneClock, voice: &LanesVoice, announcer: Announcer<'_>) -> Vec<Sentence> {
    let of_lane = |lane: usize| {
        let (name, gap) = (voice.lanes.get(lane)?, *voice.gaps.get(lane)?);
        let own = voice.names.iter().zip(&lanes.lane_of).filter(|(_, of)| **of == lane);
        let own: Vec<String> = own.map(|(name, _)| name.clone()).collect();
        (own.len() > 1).then_some((name, gap, own))
    };
    let shared: Vec<(&String, Seconds, Vec<String>)> = (0..voice.lanes.len()).filter_map(of_lane).collect();
    let gap = shared.first().map(|(_, gap, _)| *gap);
    let one_gap = gap.filter(|gap| shared.iter().all(|(_, other, _)| other == gap));
    let mut said: Vec<Utterance> = Vec::new();
    for (name, gap, own) in shared {
        said.push(announcer.lane(name));
        said.extend(announcer.order(&own));
        said.extend(Some(gap).filter(|_| one_gap.is_none()).and_then(|gap| announcer.apart(gap)));
    }
    said.extend(one_gap.and_then(|gap| announcer.apart(gap)));
    said.into_iter().map(|said| (CueKind::Say, said)).collect()
}

/// One start of all lanes, being called.
struct Calling<'c> {
    lanes: &'c LanesOnOneClock,
    voice: &'c LanesVoice,
    start: &'c LaneStart,
    /// Whose go the clock's is.
    first: usize,
    clock: &'c Start,
}

/// Who would be called, who leaves before them, how long before, and how long the call takes.
type TooClose = (Vec<usize>, Vec<usize>, Seconds, Seconds);

impl Calling<'_> {
    /// Who leaves when.
    fn gos(&self) -> BTreeMap<Seconds, Vec<usize>> {
        let offset = |who: usize| self.lanes.all.swimmers.get(who).map_or(Seconds::ZERO, |who| who.offset);
        let mut gos: BTreeMap<Seconds, Vec<usize>> = BTreeMap::new();
        for who in self.swims() {
            gos.entry(self.clock.go + offset(who) - offset(self.first)).or_default().push(who);
        }
        gos
    }

    fn swims(&self) -> impl Iterator<Item = usize> {
        self.start.swims.iter().enumerate().filter_map(|(who, swim)| swim.is_some().then_some(who))
    }

    /// The calls and the tones of all who do not leave with the first, by the first of those who leave on each; and what has no
    /// time.
    fn heard(&self, layer: &mut Layer<'_>) -> (BTreeMap<usize, Vec<Cue>>, Vec<TooClose>) {
        let (mut heard, mut found) = (BTreeMap::new(), Vec::new());
        let mut before: Option<(Seconds, Vec<usize>)> = None;
        for (go, who) in self.gos() {
            if let Some((earlier, whose)) = &before {
                let said = self.call(&who, layer.announcer());
                let len = said.len();
                let at = (go - CALL_BEFORE).min(go - CALL_ENDS - len).max(*earlier + synth::GO + GAP);
                if at + len + GAP > go {
                    found.push((who.clone(), whose.clone(), go - *earlier, len));
                }
                let call = layer.speak(Placed { kind: CueKind::Say, at, said });
                heard.extend(who.first().map(|first| (*first, vec![call, layer.go(go)])));
            }
            before = Some((go, who));
        }
        (heard, found)
    }

    /// What those are called who leave together.
    fn call(&self, who: &[usize], announcer: Announcer<'_>) -> Utterance {
        let number = |who: &usize| self.lanes.all.swimmers.get(*who).map_or(0, |who| who.number);
        let numbers: Vec<u32> = who.iter().map(number).collect();
        let first = numbers.first().copied().unwrap_or(0);
        let of_all = self.lanes.all.swimmers.iter().filter(|swimmer| swimmer.number == first).count();
        // Nobody of that number waits, or leaves at another time.
        if who.len() == of_all && numbers.iter().all(|number| *number == first) {
            return announcer.start_call(None, first);
        }
        let one = |who: &usize| {
            let name = self.voice.names.get(*who).map(String::as_str);
            let lane = self.lanes.lane_of.get(*who).and_then(|lane| self.voice.lanes.get(*lane)).map(String::as_str);
            announcer.call_in_lane(name, lane.unwrap_or_default(), number(who))
        };
        Utterance::all("start-by-name", who.iter().map(one))
    }

    /// Enters what each swims of this start.
    fn put(&self, set: usize, mut heard: BTreeMap<usize, Vec<Cue>>, followers: &mut [Strand]) {
        for (go, who) in self.gos() {
            for who in who {
                let own = self.lanes.all.swimmers.get(who).and_then(|who| who.practice.sets().nth(set));
                if let Some((set_of, strand)) = own.zip(followers.get_mut(who)) {
                    strand.put(set_of, set, (self.start, who), go, heard.remove(&who).unwrap_or_default());
                }
            }
        }
    }
}
