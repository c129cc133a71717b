//! What several lanes on one clock hear from one speaker: one talk for all, and every start called.
//!
//! Whoever leaves when the first of all lanes do has the go after the pips. The others are called and leave on a tone, which is
//! heard once however many leave on it: by number where it is that number's turn in all lanes, else each by name. In a set whose lanes
//! leave at times of their own nothing else is said: the first of a lane have a call and pips, everybody else a call. What has no
//! room goes in this order ([`CalledAs`]): pips, names, calls; never a tone. Whether lanes keep one clock is
//! `lane::side_by_side`'s matter, what one lane alone hears that of `timeline::lane`.

use super::before::HUSH;
use super::built::Built;
use super::lane::{CALL_BEFORE, NAMES_FROM, clock_starts};
use super::lay::Layer;
use super::place::{GAP, Placed};
use super::schedule::{Besides, Sentence, schedule_on};
use super::speak::{Announcer, Utterance};
use super::strand::Strand;
use super::{Cue, CueKind};
use crate::audio::synth;
use crate::lane::{LaneGo, LanesOnOneClock, first_of, together};
use crate::pack::library::Library;
use crate::practice::{CLOCK, Practice, Set};
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

/// How a go is heard, the fullest way first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CalledAs {
    /// As it is meant: a call, and pips where somebody leads.
    Whole,
    /// A call without pips.
    NoPips,
    /// The lane alone is called.
    NoName,
    /// There is a tone and nothing else.
    NotCalled,
}

/// A go that is heard in less than the whole way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LessCalled {
    /// The set, from 0.
    pub set: usize,
    /// When, on the practice's clock.
    pub go: Seconds,
    /// Who leaves on it, as places in the order of leaving.
    pub who: Vec<usize>,
    /// What is left.
    pub called: CalledAs,
}

/// The timeline of a speaker for several lanes, and every go that is heard in less than the whole way. `practice` is theirs.
pub fn speaker_of_several(
    lanes: &LanesOnOneClock,
    voice: &LanesVoice,
    practice: &Practice,
    library: &Library,
) -> (Built, Vec<LessCalled>) {
    let announcer = Announcer::new(library);
    let mut layer = Layer::new(practice, announcer);
    let (welcome, shares) = (welcome(lanes, voice, announcer), shares(lanes, voice, practice, announcer));
    let besides = Besides { welcome: &welcome, sets: &shares };
    let clock = schedule_on(practice, announcer, besides, &mut |_, earliest| earliest.ceil_to(CLOCK));
    layer.only_call(lanes.apart.clone());
    let strand = layer.lay_all(clock);
    let mut followers: Vec<Strand> = lanes.all.swimmers.iter().map(|_| Strand::default()).collect();
    let mut less = Vec::new();
    for (ordinal, gos) in lanes.gos.iter().enumerate() {
        let mut calling = Calling::of(lanes, voice, ordinal, &strand);
        for (go, leave) in calling.together(gos) {
            let who: Vec<usize> = leave.iter().map(|go| go.who).collect();
            let (heard, called) = calling.heard(&mut layer, go, &leave);
            if called > CalledAs::Whole {
                less.push(LessCalled { set: ordinal, go, who, called });
            }
            let mut heard = Some(heard);
            for own in leave {
                let set = lanes.all.swimmers.get(own.who).and_then(|who| who.practice.sets().nth(ordinal));
                if let Some((set, strand)) = set.zip(followers.get_mut(own.who)) {
                    strand.put((set, ordinal), own.swims(), go, heard.take().unwrap_or_default());
                }
            }
        }
    }
    (layer.built(strand, followers), less)
}

/// What each lane swims of a set where that is not what is said of it to all.
fn shares(
    lanes: &LanesOnOneClock,
    voice: &LanesVoice,
    practice: &Practice,
    announcer: Announcer<'_>,
) -> Vec<Vec<Sentence>> {
    let own: Vec<Option<Practice>> = lanes.lanes.iter().map(together).collect();
    let of_set = |(ordinal, set): (usize, &Set)| {
        let lane = |(own, name): (&Option<Practice>, &String)| {
            announcer.lane_swims(name, own.as_ref()?.sets().nth(ordinal)?, set)
        };
        own.iter().zip(&voice.lanes).filter_map(lane).map(|said| (CueKind::Set, said)).collect()
    };
    practice.sets().enumerate().map(of_set).collect()
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

/// A set being called.
struct Calling<'c> {
    lanes: &'c LanesOnOneClock,
    voice: &'c LanesVoice,
    /// The first go of the set, on which its lanes begin.
    begins: Seconds,
    /// The gos that have their pips and their tone already.
    told: Vec<Seconds>,
    /// Whether lanes leave at times of their own.
    apart: bool,
    /// The go before.
    before: Option<Seconds>,
}

impl<'c> Calling<'c> {
    fn of(lanes: &'c LanesOnOneClock, voice: &'c LanesVoice, set: usize, clock: &Strand) -> Self {
        let starts = lanes.all.sets.get(set).map_or(&[][..], |set| &set.starts);
        let offset = |who: usize| lanes.all.swimmers.get(who).map_or(Seconds::ZERO, |who| who.offset);
        let first = starts.iter().find_map(|start| Some(start.at + offset(first_of(start)?)));
        let apart = lanes.apart.get(set) == Some(&true);
        let told: Vec<Seconds> = clock_starts(clock, set).map(|start| start.go).collect();
        let begins = told.first().zip(first).map_or(Seconds::ZERO, |(go, first)| *go - first);
        let told = told.into_iter().take(if apart { 1 } else { usize::MAX }).collect();
        Self { lanes, voice, begins, told, apart, before: None }
    }

    /// Who leaves when.
    fn together<'g>(&self, gos: &'g [LaneGo]) -> BTreeMap<Seconds, Vec<&'g LaneGo>> {
        let mut all: BTreeMap<Seconds, Vec<&LaneGo>> = BTreeMap::new();
        for go in gos {
            all.entry(self.begins + go.at).or_default().push(go);
        }
        all
    }

    /// The call and the tone of those who leave on one go, the pips where somebody leads; nothing where all that is told already.
    fn heard(&mut self, layer: &mut Layer<'_>, go: Seconds, who: &[&LaneGo]) -> (Vec<Cue>, CalledAs) {
        let before = self.before.replace(go);
        if self.told.contains(&go) {
            return (Vec::new(), CalledAs::Whole);
        }
        let free = before.map_or(Seconds::ZERO, |before| before + synth::GO + GAP);
        let leads = self.apart && who.iter().any(|go| go.leads);
        let quiet = go - layer.practice().settings.countdown - HUSH;
        // Where the one in front leaves so shortly before, a name would run into what they hear.
        let near = before.is_some_and(|before| go - before < NAMES_FROM);
        let whole: Vec<Utterance> = if near { Vec::new() } else { self.names(who, layer.announcer()) };
        let all: Vec<usize> = who.iter().map(|go| go.who).collect();
        let number = self.number(&all, layer.announcer());
        let lane = number.clone().unwrap_or_else(|| self.of_lanes(&all, layer.announcer()));
        let with_pips = |said: &Utterance| Some(quiet - said.len()).filter(|at| *at >= free);
        let without = |said: &Utterance| {
            let at = (go - CALL_BEFORE).min(go - CALL_ENDS - said.len()).max(free);
            Some(at).filter(|at| *at + said.len() + GAP <= go)
        };
        let fullest: Vec<&Utterance> = number.iter().chain(&whole).collect();
        // Names alone do not go before pips: whoever leads a lane hears which.
        let with_lane = fullest.len().saturating_sub(usize::from(!whole.is_empty()));
        let piped = || {
            let mut piped = fullest.iter().take(with_lane);
            piped.find_map(|said| Some((with_pips(said)?, (*said).clone(), CalledAs::Whole)))
        };
        let short = if number.is_some() || near { CalledAs::Whole } else { CalledAs::NoName };
        let less = if leads { CalledAs::NoPips } else { CalledAs::Whole };
        let named = || fullest.iter().find_map(|said| Some((without(said)?, (*said).clone(), less)));
        let called = || Some((without(&lane)?, lane.clone(), less.max(short)));
        let found = Some(()).filter(|()| leads).and_then(|()| piped()).or_else(named).or_else(called);
        let Some((at, said, called)) = found else { return (vec![layer.go(go)], CalledAs::NotCalled) };
        let mut cues = vec![layer.speak(Placed { kind: CueKind::Say, at, said })];
        if leads && called == CalledAs::Whole {
            cues.extend(layer.countdown(go));
        } else {
            cues.push(layer.go(go));
        }
        (cues, called)
    }

    /// The number that leaves, where everybody of it does: nobody of that number waits, or leaves at another time.
    fn number(&self, who: &[usize], announcer: Announcer<'_>) -> Option<Utterance> {
        let number = |who: &usize| self.lanes.all.swimmers.get(*who).map_or(0, |who| who.number);
        let first = who.first().map(number)?;
        let of_all = self.lanes.all.swimmers.iter().filter(|swimmer| swimmer.number == first).count();
        let all = who.len() == of_all && who.iter().all(|who| number(who) == first);
        all.then(|| announcer.start_call(None, first))
    }

    /// What those are called who leave together, the longest first.
    fn names(&self, who: &[&LaneGo], announcer: Announcer<'_>) -> Vec<Utterance> {
        let one = |go: &&LaneGo, with_lane: bool, last: bool| {
            let name = self.voice.names.get(go.who).map(String::as_str);
            let number = self.lanes.all.swimmers.get(go.who).map_or(0, |who| who.number);
            let call = announcer.call_in_lane(name, self.lane(go.who), number, with_lane);
            if last && go.last && go.leads { call.then([announcer.word("last-one", "last one")]) } else { call }
        };
        let all = |with_lane: bool, last: bool| {
            Utterance::all("start-by-name", who.iter().map(|go| one(go, with_lane, last)))
        };
        if self.apart { vec![all(true, true), all(true, false), all(false, false)] } else { vec![all(false, false)] }
    }

    /// The lanes alone.
    fn of_lanes(&self, who: &[usize], announcer: Announcer<'_>) -> Utterance {
        let mut lanes: Vec<&str> = who.iter().map(|who| self.lane(*who)).collect();
        lanes.dedup();
        announcer.call_of_lanes(&lanes)
    }

    fn lane(&self, who: usize) -> &'c str {
        let lane = self.lanes.lane_of.get(who).and_then(|lane| self.voice.lanes.get(*lane));
        lane.map_or("", String::as_str)
    }
}
