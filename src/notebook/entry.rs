//! What the notebook holds, as the rest of the program speaks of it: practices with their sets, repeats and what was
//! observed of them.

use super::lengths::LengthRuns;
use crate::diag::shown::is_harmful;
use crate::swimmer::fit::load::session_load;
use crate::units::calendar::{Day, TimeOfDay};
use std::fmt;

/// A name as it is looked for, in the database too: upper and lower case are alike in every alphabet. By way of upper case, so that
/// `ß` is `SS` and both forms of a Greek sigma are one. An accent that is a sign of its own behind its letter stays another.
pub fn folded(name: &str) -> String {
    name.to_uppercase().to_lowercase()
}

/// Whether two names are one swimmer's.
pub fn is_same_name(one: &str, other: &str) -> bool {
    one == other || folded(one) == folded(other)
}

/// The longest name, in letters.
pub const LONGEST_NAME: usize = 60;

/// Whether a text can be a swimmer's name: 1 to 60 letters, and none of them ends a line or cannot be seen.
pub fn is_name(text: &str) -> bool {
    (1..=LONGEST_NAME).contains(&text.chars().count()) && !text.contains(is_harmful)
}

/// A swimmer of the notebook.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NotedSwimmer {
    /// The name; upper and lower case are alike.
    pub name: String,
    /// The profile's YAML, if one was given.
    pub profile: Option<String>,
}

impl NotedSwimmer {
    /// Whether that is their name.
    pub fn is_called(&self, name: &str) -> bool {
        is_same_name(&self.name, name)
    }
}

/// A script as it was when it was swum.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScriptCopy {
    /// What it was called: its file's name, or `pack/name`.
    pub name: String,
    /// Its text.
    pub text: String,
}

/// A practice that was swum.
#[derive(Clone, Debug, PartialEq)]
pub struct LoggedPractice {
    /// Who swam.
    pub swimmer: String,
    /// What was swum, if it was a script.
    pub script: Option<ScriptCopy>,
    /// The title.
    pub title: String,
    /// The day, where the swimmer was.
    pub day: Day,
    /// When it began.
    pub begun: Option<TimeOfDay>,
    /// The pool, as scripts have it: `25 m`, `open water`.
    pub pool: String,
    /// How long it took, in minutes, 0 to 1440.
    pub minutes: Option<f64>,
    /// What was said of the whole.
    pub said: Impressions,
    /// SHA-256 of the session record that it was taken from, in hexadecimal.
    pub record: Option<String>,
    /// The sets, in order.
    pub sets: Vec<LoggedSet>,
}

/// How a practice felt.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Impressions {
    /// How good the stroke felt, 1 to 5.
    pub feel: Option<u8>,
    /// Session RPE, 0 to 10 (Foster 2001).
    pub effort: Option<u8>,
    /// Where it hurt; an empty text is the answer that nothing did.
    pub pain: Option<String>,
    /// Anything else.
    pub note: Option<String>,
    /// Whether it was said that the stroke fell apart nowhere. Where nobody said anything it is false.
    pub held: bool,
}

/// A set that was swum.
#[derive(Clone, Debug, PartialEq)]
pub struct LoggedSet {
    /// Which of the practice, from 1.
    pub number: u32,
    /// Its title.
    pub title: String,
    /// The repeat from which the stroke fell apart, from 1.
    pub apart: Option<u32>,
    /// Its repeats, all rounds through.
    pub repeats: Vec<LoggedRepeat>,
}

/// A repeat: what was planned, and what is known of how it went.
#[derive(Clone, Debug, PartialEq)]
pub struct LoggedRepeat {
    /// Which of the set, from 1, all rounds counted through.
    pub number: u32,
    /// In which round, from 1.
    pub round: u32,
    /// How far, in metres.
    pub metres: f64,
    /// How many lengths; 0 in open water.
    pub lengths: u32,
    /// What is swum, in words: `50 m kick`.
    pub swim: String,
    /// The lengths whose strokes tell of the whole stroke: crawl without gear, no drill. Only these feed the stroke model. All
    /// of a repeat in open water is length 1.
    pub plain: LengthRuns,
    /// Whether it was a timed swim.
    pub test: bool,
    /// The tempo that was heard, in seconds per stroke.
    pub tempo: Option<f64>,
    /// The time that was predicted, in seconds.
    pub predicted: Option<f64>,
    /// Breaths by the pattern, left and right.
    pub breaths: (u32, u32),
    /// Whether it was swum.
    pub state: SwimState,
    /// What was observed.
    pub observations: Vec<Observation>,
    /// Counted strokes that each focus phrase was in force for, by its id.
    pub rehearsed: Vec<(String, u32)>,
}

/// A value that somebody or something observed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// What.
    pub measure: Measure,
    /// Of which length, from 1; of the whole repeat where there is none.
    pub length: Option<u32>,
    /// In the unit of the measure.
    pub value: f64,
    /// How it is known.
    pub source: ValueSource,
}

/// A closed list of words, each with its name in the notebook, in tables and in JSON.
macro_rules! words {
    ($(#[$about:meta])* $name:ident: $($(#[$doc:meta])* $variant:ident = $word:literal),+ $(,)?) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$doc])* $variant),+ }

        impl $name {
            /// All, in their order.
            pub const ALL: &[Self] = &[$(Self::$variant),+];

            /// Its word.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }

            /// The one of that word.
            pub fn of(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|known| known.word() == word)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(self.word())
            }
        }
    };
}

words! {
    /// What is observed.
    Measure:
    /// Strokes of a length, or of a repeat in open water.
    Count = "count",
    /// Seconds per stroke.
    Tempo = "tempo",
    /// Seconds from the go to the touch, or of one length.
    Time = "time",
    /// Breaths to the left.
    BreathsLeft = "breaths-left",
    /// Breaths to the right.
    BreathsRight = "breaths-right",
}

words! {
    /// How a value is known.
    ValueSource:
    /// The swimmer counted.
    Counted = "counted",
    /// The swimmer read a clock.
    Clock = "clock",
    /// Keys were pressed at the touch, or at the strokes.
    Tapped = "tapped",
    /// A coach counted or timed.
    Coach = "coach",
    /// The swimmer thinks so. Kept, and fed to nothing.
    Guess = "guess",
}

words! {
    /// Whether a repeat was swum.
    SwimState:
    /// Nobody said.
    Unknown = "unknown",
    /// It was.
    Swum = "swum",
    /// Its go came and nobody swam.
    Missed = "missed",
    /// It was left out.
    Skipped = "skipped",
    /// Its go was not heard.
    Unheard = "unheard",
}

impl Measure {
    /// The values that can be true.
    pub const fn range(self) -> std::ops::RangeInclusive<f64> {
        match self {
            Self::Count => 1.0..=2_000.0,
            // As in scripts.
            Self::Tempo => 0.4..=2.5,
            Self::Time => 5.0..=86_400.0,
            Self::BreathsLeft | Self::BreathsRight => 0.0..=1_000.0,
        }
    }
}

impl LoggedRepeat {
    /// What was observed and proves something: all but guesses.
    pub fn proven(&self) -> impl Iterator<Item = &Observation> {
        self.observations.iter().filter(|observed| observed.source != ValueSource::Guess)
    }

    /// The last proven value of a measure, of a length or of the whole repeat.
    pub fn value(&self, measure: Measure, length: Option<u32>) -> Option<f64> {
        let of = |observed: &&Observation| observed.measure == measure && observed.length == length;
        self.proven().filter(of).last().map(|observed| observed.value)
    }

    /// Whether it was swum, or nobody said that it was not.
    pub const fn may_be_swum(&self) -> bool {
        matches!(self.state, SwimState::Unknown | SwimState::Swum)
    }
}

impl LoggedPractice {
    /// The repeats that were swum, or of which nobody said that they were not.
    pub fn swum(&self) -> impl Iterator<Item = &LoggedRepeat> {
        self.repeats().map(|(_, repeat)| repeat).filter(|repeat| repeat.may_be_swum())
    }

    /// Every repeat with its set.
    pub fn repeats(&self) -> impl Iterator<Item = (&LoggedSet, &LoggedRepeat)> {
        self.sets.iter().flat_map(|set| set.repeats.iter().map(move |repeat| (set, repeat)))
    }

    /// Session load: session RPE × minutes (Foster 2001).
    pub fn load(&self) -> Option<f64> {
        session_load(self.said.effort?.into(), self.minutes?)
    }

    /// Whether a set held, as far as somebody said where the stroke fell apart: who names one place, says that it was there alone.
    pub fn held(&self, set: &LoggedSet) -> Option<bool> {
        let told = self.said.held || self.sets.iter().any(|set| set.apart.is_some());
        told.then_some(set.apart.is_none())
    }

    /// Metres of what was swum or may have been.
    pub fn metres(&self) -> f64 {
        self.swum().map(|repeat| repeat.metres).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_alike_in_every_alphabet() {
        for (one, other) in
            [("ÉVA", "éva"), ("Ida", "iDA"), ("Groß", "GROSS"), ("ΟΔΥΣΣΕΥΣ", "Οδυσσευς"), ("Жанна", "жАННА")]
        {
            assert!(is_same_name(one, other), "{one} {other}");
        }
        assert!(!is_same_name("Eva", "Éva") && !is_same_name("Ida", "Ida B"));
    }

    #[test]
    fn words_are_those_of_the_tables() {
        // The tables refuse every other word, so a word that is missing there would be found by nobody else until it is used.
        let schema = include_str!("schema.sql");
        let all = |words: Vec<&str>| format!("IN ('{}')", words.join("', '"));
        for list in [
            all(Measure::ALL.iter().map(|word| word.word()).collect()),
            all(ValueSource::ALL.iter().map(|word| word.word()).collect()),
            all(SwimState::ALL.iter().map(|word| word.word()).collect()),
        ] {
            assert!(schema.contains(&list), "{list}");
        }
        assert_eq!((Measure::of("time"), Measure::of("Time")), (Some(Measure::Time), None));
    }
}
