//! The plan: a practice in numbers, as a coach reads it before anyone gets wet.
//!
//! Totals are sums of the parts listed beside them; nothing here decides anything.

pub mod deck;
pub mod json;

use crate::practice::{Breaths, Practice, Repeat, Set, strokes};
use crate::script::Water;
use crate::swimmer::Swimmer;
use crate::timeline::built::{Built, Dropped, Track};
use crate::units::time::Seconds;
use std::sync::Arc;

/// A practice in numbers.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Its title.
    pub title: String,
    /// The pool, as written.
    pub pool: String,
    /// From the first sound to the last.
    pub duration: Seconds,
    /// Everything swum, in the pool's unit.
    pub distance: u32,
    /// The pool's unit in metres.
    pub unit_metres: f64,
    /// The sign of the pool's unit.
    pub unit: &'static str,
    /// Counted strokes; drills are not counted.
    pub strokes: u32,
    /// The sets.
    pub sets: Vec<SetPlan>,
    /// Counted strokes in which each phrase was in force, in order of first use.
    pub focus: Vec<FocusStrokes>,
    /// Breaths of the swims that have a pattern.
    pub breaths: Breaths,
    /// What was assumed of the swimmer.
    pub assumptions: Vec<String>,
    /// What is not heard.
    pub dropped: Vec<Dropped>,
    /// The texts that the built-in voice says.
    pub voiced: Vec<String>,
    /// The tracks for a player; empty for others. All times of the plan count as if it never paused.
    pub tracks: Vec<TrackPlan>,
}

/// One track in numbers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrackPlan {
    /// Its number, as in the name of its file.
    pub number: usize,
    /// Its title.
    pub title: String,
    /// Its set, from 0; none where nobody swims.
    pub set: Option<usize>,
    /// Its repeats within the set, from 0.
    pub repeats: std::ops::Range<usize>,
    /// When it begins.
    pub start: Seconds,
    /// How long it lasts.
    pub len: Seconds,
}

/// A focus and how long it is rehearsed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FocusStrokes {
    /// The phrase's id.
    pub phrase: Arc<str>,
    /// Its words.
    pub text: String,
    /// Counted strokes.
    pub strokes: u32,
}

/// One set in numbers.
#[derive(Clone, Debug)]
pub struct SetPlan {
    /// Its title.
    pub title: String,
    /// Its first go.
    pub start: Seconds,
    /// Its last predicted touch.
    pub end: Seconds,
    /// Distance in the pool's unit.
    pub distance: u32,
    /// Counted strokes.
    pub strokes: u32,
    /// Its repeats.
    pub repeats: Vec<RepeatPlan>,
}

/// One repeat in numbers.
#[derive(Clone, Debug)]
pub struct RepeatPlan {
    /// Which line of the set it belongs to.
    pub line: usize,
    /// The go.
    pub start: Seconds,
    /// Distance in the pool's unit.
    pub distance: u32,
    /// Whether the distance is an estimate, in a swim by time.
    pub estimated: bool,
    /// Lengths; none in open water.
    pub lengths: u32,
    /// The tempo heard, in seconds.
    pub tempo: Option<crate::units::time::Tempo>,
    /// Predicted strokes in a length.
    pub count: Option<f64>,
    /// Counted strokes of the whole repeat.
    pub strokes: u32,
    /// Predicted time; of a lane from the first go to the last touch.
    pub predicted: Seconds,
    /// Time to the next start, if one follows.
    pub send_off: Option<Seconds>,
    /// Predicted rest before it.
    pub rest: Option<Seconds>,
    /// The focus phrases in their order.
    pub focus: Vec<Arc<str>>,
}

impl Plan {
    /// Whether there are no walls: distances of swims by time are estimates then.
    pub fn in_open_water(&self) -> bool {
        self.sets.iter().flat_map(|set| &set.repeats).all(|repeat| repeat.lengths == 0)
    }

    /// The plan of a practice and its timeline.
    pub fn of(practice: &Practice, built: &Built, swimmer: &Swimmer) -> Self {
        let mut focus: Vec<FocusStrokes> = Vec::new();
        let starts = &built.strand.starts;
        let mut swum = starts.iter().enumerate();
        let mut sets = Vec::new();
        for set in practice.sets() {
            let mut repeats: Vec<RepeatPlan> = Vec::new();
            for (repeat, (index, start)) in set.repeats.iter().zip(swum.by_ref()) {
                // Across two tracks nobody knows the interval: the player pauses as it likes.
                let next = starts.get(index + 1).filter(|next| built.track_of(start) == built.track_of(next));
                let send_off = next.map(|next| next.go - start.go);
                let strokes = rehearse(set, repeat, &mut focus);
                let predicted = repeat.predicted + repeat.behind;
                repeats.push(RepeatPlan {
                    line: repeat.line,
                    start: start.go,
                    distance: repeat.distance.count(),
                    estimated: repeat.estimated,
                    lengths: if practice.water == Water::Open { 0 } else { repeat.count_lengths() },
                    tempo: repeat.tempo,
                    count: counts(repeat),
                    strokes,
                    predicted,
                    send_off,
                    // Where some of a lane are still under way at the next go, there is none for all.
                    rest: send_off.map(|send_off| (send_off - predicted).max(Seconds::ZERO)),
                    focus: phrases(set, repeat),
                });
            }
            sets.push(SetPlan {
                title: set.title.text.clone(),
                start: repeats.first().map_or(Seconds::ZERO, |repeat| repeat.start),
                end: repeats.last().map_or(Seconds::ZERO, |repeat| repeat.start + repeat.predicted),
                distance: repeats.iter().map(|repeat| repeat.distance).sum(),
                strokes: repeats.iter().map(|repeat| repeat.strokes).sum(),
                repeats,
            });
        }
        let unit = practice.unit();
        Self {
            title: practice.title.clone(),
            pool: match practice.water {
                Water::Pool(pool) => pool.to_string(),
                Water::Open => "open water".into(),
            },
            duration: built.timeline.len(),
            distance: sets.iter().map(|set| set.distance).sum(),
            unit_metres: unit.metres(),
            unit: unit.sign(),
            strokes: sets.iter().map(|set| set.strokes).sum(),
            sets,
            focus,
            breaths: Breaths::of_practice(practice),
            assumptions: swimmer.assumptions.clone(),
            dropped: built.findings.dropped.clone(),
            voiced: built.findings.voiced.iter().cloned().collect(),
            tracks: tracks(built),
        }
    }
}

fn tracks(built: &Built) -> Vec<TrackPlan> {
    let plan = |(number, track): (usize, &Track)| TrackPlan {
        number,
        title: track.title.clone(),
        set: track.set,
        repeats: track.repeats.clone(),
        start: track.begins,
        len: track.len,
    };
    built.tracks.iter().enumerate().map(plan).collect()
}

/// Adds a repeat's counted strokes to the phrases in force and returns how many they were.
#[expect(clippy::expect_used, reason = "a day at the fastest tempo has 216,000 strokes")]
fn rehearse(set: &Set, repeat: &Repeat, focus: &mut Vec<FocusStrokes>) -> u32 {
    let Some(line) = set.lines.get(repeat.line) else { return 0 };
    for phrase in repeat.focus.iter().filter_map(|from| line.focus.get(from.phrase)) {
        if !focus.iter().any(|known| known.phrase == phrase.id) {
            focus.push(FocusStrokes { phrase: phrase.id.clone(), text: phrase.full.text.clone(), strokes: 0 });
        }
    }
    for (phrase, strokes) in strokes::rehearsed(repeat) {
        let phrase = line.focus.get(phrase).map(|phrase| &phrase.id);
        if let Some(known) = focus.iter_mut().find(|known| phrase == Some(&known.phrase)) {
            known.strokes += strokes;
        }
    }
    u32::try_from(strokes::counted(repeat).len()).expect("under a day of strokes")
}

/// The mean count of the lengths whose strokes can be counted.
fn counts(repeat: &Repeat) -> Option<f64> {
    let counts: Vec<f64> = repeat.lengths.iter().filter_map(|length| length.count).collect();
    (!counts.is_empty()).then(|| counts.iter().sum::<f64>() / counts.len() as f64)
}

fn phrases(set: &Set, repeat: &Repeat) -> Vec<Arc<str>> {
    let line = set.lines.get(repeat.line);
    repeat.focus.iter().filter_map(|from| Some(line?.focus.get(from.phrase)?.id.clone())).collect()
}
