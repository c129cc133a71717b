//! What is asked for of a next practice, and what comes of it.

use super::decide::Choices;
use super::focus::{AROUND, FocusWithDrill};
use super::parts::Distances;
use super::verdict::JudgedPair;
use crate::diag::{Diagnostic, Sources};
use crate::notebook::entry::LoggedPractice;
use crate::notebook::evidence;
use crate::pack::library::{Library, Role};
use crate::pack::speech::Speech;
use crate::plan::Plan;
use crate::practice::Practice;
use crate::script::parse::parse;
use crate::script::{Effort, PaceBase};
use crate::swimmer::fit::breaking::Breaking;
use crate::swimmer::{SwimStretch, Swimmer};
use crate::units::calendar::Day;
use crate::units::swim::PoolLength;
use std::fmt;

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub struct NextOrder<'a> {
    /// The swimmer's name in the notebook.
    pub name: &'a str,
    /// How they swim.
    pub swimmer: &'a Swimmer,
    /// Where their counts leave their line, if they tell.
    pub breaking: Option<&'a Breaking>,
    /// Their practices, the oldest first.
    pub practices: &'a [LoggedPractice],
    /// The day of the practice.
    pub today: Day,
    /// How long it may take, in minutes.
    pub minutes: u32,
    /// Where.
    pub pool: PoolLength,
    /// The pack whose drills and phrases are used.
    pub pack: &'a str,
    /// What that pack and those that it uses offer.
    pub library: &'a Library,
    /// The voice that says what has no recording.
    pub speech: Option<&'a Speech>,
    /// Two phrases that are being compared.
    pub compared: Option<&'a JudgedPair>,
    /// Whether the bound on the week's load is to be passed over.
    pub any_load: bool,
}

/// A next practice.
#[derive(Debug)]
pub struct NextPractice {
    /// The script.
    pub script: String,
    /// What was chosen, and why.
    pub choices: Choices,
    /// The reason in one sentence.
    pub reason: String,
    /// Why it is shorter than asked for, if it is.
    pub shorter: Option<String>,
    /// Its numbers.
    pub plan: Plan,
    /// What was found wrong with it; nothing, unless the swimmer is unlike all others.
    pub problems: Vec<Diagnostic>,
    /// The text that they point into.
    pub sources: Sources,
    /// The practice as it would be swum.
    pub practice: Practice,
}

/// Why there is none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoNext {
    /// The time is too short.
    TooShort(u32, u32),
    /// The load of the week is at its bound.
    Load {
        /// The load up to now.
        so_far: i64,
        /// The bound.
        most: i64,
        /// When the next week begins.
        monday: Day,
    },
    /// What hurts is nothing to swim with.
    Alarm(String),
    /// What was written cannot be planned: the pack lacks something.
    Unplanned(String),
}

impl fmt::Display for NoNext {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooShort(asked, enough) => {
                write!(f, "{asked} minutes are too short for a practice of this swimmer; {enough} are enough")
            }
            Self::Load { so_far, most, monday } => write!(
                f,
                "this week's load is {so_far}, and {most} is 110 % of the mean of the weeks before: too little is left for a \
                 practice; rest until {monday}, or pass over it with --any-load (the evidence for such a bound is weak)"
            ),
            Self::Alarm(pain) => write!(
                f,
                "the log has \"{pain}\": do not swim before a doctor has looked at it; when that is settled, `lengthwise log edit N --pain no` \
                 (N: see `log list`) lets the next practice be written"
            ),
            Self::Unplanned(why) => write!(f, "the script cannot be planned for this swimmer: {why}"),
        }
    }
}

impl std::error::Error for NoNext {}

/// The foci of a library that are gone around, each with the first drill that is for it.
pub fn around(library: &Library) -> Vec<FocusWithDrill> {
    let mut found: Vec<FocusWithDrill> = Vec::new();
    for (drill, phrase) in library.pairs() {
        if found.iter().all(|one| one.phrase != phrase) && library.entry(Role::Drill, drill).is_some() {
            found.push(FocusWithDrill { phrase: phrase.to_owned(), drill: Some(drill.to_owned()) });
        }
    }
    found.truncate(AROUND);
    found
}

/// The pack of the last practice in a pool whose script names one: what is for open water has little for a pool.
pub fn last_pack(practices: &[LoggedPractice]) -> Option<String> {
    let mut in_pools = practices.iter().rev().filter(|practice| evidence::pool(practice).is_some());
    in_pools.find_map(|practice| {
        let mut sources = Sources::new();
        let source = sources.add("script", practice.script.as_ref()?.text.as_str());
        Some(parse(source, &sources).0?.pack?.value)
    })
}

/// The pack for somebody who has none yet: for short repeats, or for tempos. Our choice.
pub fn usual_pack(swimmer: &Swimmer, pool: PoolLength) -> &'static str {
    if distances(swimmer, pool).slow { "first-lengths" } else { "tempo-range" }
}

/// How far the repeats of a swimmer are.
pub fn distances(swimmer: &Swimmer, pool: PoolLength) -> Distances {
    Distances::of(pool, swimmer.pace_of(PaceBase::Effort(Effort::Steady), SwimStretch::Length(pool)).as_f64())
}
