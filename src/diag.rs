//! Diagnostics: what is wrong with a script or a pack, where, and how to mend it.
//!
//! A mistake of the user is data, not an `Err`: every stage returns what it could make and what it found.
//! Failures of the world (files, devices) are not here; each module that meets them has its own error type.

pub mod explain;
pub mod render;
pub mod shown;
pub mod source;

pub use source::{SourceId, Sources, Span, Spanned};

/// How much a diagnostic matters: only errors stop a render.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Nothing can be made of the script until this is mended.
    Error,
    /// It works, but not as well, or not as safely, as it could.
    Caution,
}

impl Severity {
    /// The word printed for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Caution => "caution",
        }
    }
}

macro_rules! codes {
    ($($variant:ident $word:literal $severity:ident $doc:literal;)+) => {
        /// What kind of problem a diagnostic is about. The word is stable: scripts and editors may match on it.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code { $(#[doc = $doc] $variant,)+ }

        impl Code {
            /// Every code, in the order of the documentation.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// The code as printed, such as `unknown-key`.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }

            /// Whether this code is an error or a caution.
            pub const fn severity(self) -> Severity {
                match self { $(Self::$variant => Severity::$severity,)+ }
            }

            /// One sentence on what the code means.
            pub const fn about(self) -> &'static str {
                match self { $(Self::$variant => $doc,)+ }
            }
        }
    };
}

codes! {
    Yaml "yaml" Error "The text is not well-formed YAML, or uses more of it than a script may.";
    Version "version" Error "The first key must be `lengthwise: 1` (`lengthwise-pack: 1` in a pack's manifest).";
    DuplicateKey "duplicate-key" Error "A key is given twice in the same map.";
    UnknownKey "unknown-key" Error "A key that the language does not have in this place.";
    MissingKey "missing-key" Error "A key that must be given is absent.";
    WrongShape "wrong-shape" Error "A list, a map or a text stands where another shape is needed.";
    BadValue "bad-value" Error "A value cannot be read.";
    UnitMissing "unit-missing" Error "A number stands where its unit matters.";
    OutOfRange "out-of-range" Error "A value is outside the range that makes sense.";
    UnknownName "unknown-name" Error "A phrase, drill, beat track, pack or recording that is not known.";
    Conflict "conflict" Error "Two keys that exclude each other are both given.";
    RangeDisagrees "range-disagrees" Error "The parts of a range do not fit each other or its set.";
    NotWholeLengths "not-whole-lengths" Error "A distance that is no whole number of pool lengths.";
    NoRest "no-rest" Error "Repeats follow each other with neither a rest nor a send-off.";
    SendOffTooShort "send-off-too-short" Error "The swimmer cannot be back before the next start.";
    TooLong "too-long" Error "The practice is longer than a day.";
    PackBroken "pack-broken" Error "A cue pack cannot be used.";
    Empty "empty" Error "There is nothing to swim.";
    BreathPattern "breath-pattern" Error "A breathing pattern that asks for too long without breath.";
    BreathCare "breath-care" Caution "A breathing pattern that many swimmers find hard.";
    LittleRest "little-rest" Caution "Less than five seconds of predicted rest.";
    GapClose "gap-close" Caution "Swimmers of a lane leave so close together that one may run into the next.";
    MuchRest "much-rest" Caution "Far more rest than was written, or than anybody would take.";
    TargetBeyond "target-beyond" Caution "A target beyond what is known of the swimmer.";
    StepTooSmall "step-too-small" Caution "Steps of tempo too small to be heard.";
    CallUnsure "call-unsure" Caution "Lengths are not called where the swimmer may be on another one.";
    FocusUncertain "focus-uncertain" Caution "The focus would change where the swimmer may be on another length.";
    PhraseTooLong "phrase-too-long" Caution "A focus phrase is spoken for longer than it should be.";
    NoRecording "no-recording" Caution "A text has no recording and will be heard as a tone.";
    RecordingUnread "recording-unread" Caution "A recording cannot be used; its text is heard as if it had none.";
    CueDropped "cue-dropped" Caution "Something to be said has no room and will not be heard.";
    FocusUnheard "focus-unheard" Caution "A focus change that never comes, or cannot be heard.";
}

/// One problem, at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// What kind of problem.
    pub code: Code,
    /// One line: what was found and what is allowed. Lower case, no full stop.
    pub message: String,
    /// Where, if it has a place in a text.
    pub span: Option<Span>,
    /// Other places that belong to it, each with a word on why.
    pub labels: Vec<(Span, String)>,
    /// How to mend it.
    pub hint: Option<String>,
}

impl Diagnostic {
    /// A problem at a place.
    pub fn at(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self { code, message: message.into(), span: Some(span), labels: Vec::new(), hint: None }
    }

    /// A problem of the whole, with no one place.
    pub fn whole(code: Code, message: impl Into<String>) -> Self {
        Self { code, message: message.into(), span: None, labels: Vec::new(), hint: None }
    }

    /// The same with the way to mend it.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// The same with another place that belongs to it.
    #[must_use]
    pub fn label(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push((span, text.into()));
        self
    }

    /// Error or caution.
    pub const fn severity(&self) -> Severity {
        self.code.severity()
    }
}

/// Whether any of them is an error.
pub fn has_errors(diagnostics: &[Diagnostic]) -> bool {
    diagnostics.iter().any(|d| d.severity() == Severity::Error)
}

/// A text short enough for a message.
pub fn crop(text: &str) -> String {
    const LONGEST: usize = 40;
    let mut chars = text.chars();
    let head: String = chars.by_ref().take(LONGEST).collect();
    if chars.next().is_some() { head + "…" } else { head }
}

/// The name among `known` that `found` most likely meant, if one is near enough.
pub fn nearest<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    /// No name is longer; comparing letters takes time with each of them.
    const LONGEST: usize = 100;
    if found.len() > LONGEST {
        return None;
    }
    let found = found.to_lowercase();
    let score = |name: &str| strsim::jaro_winkler(&found, name);
    known
        .into_iter()
        .map(|name| (score(name), name))
        .filter(|(score, _)| *score >= 0.8)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_misses_are_found() {
        assert_eq!(nearest("temp", ["tempo", "rest", "send-off"]), Some("tempo"));
        assert_eq!(nearest("sendoff", ["tempo", "rest", "send-off"]), Some("send-off"));
        assert_eq!(nearest("xyz", ["tempo", "rest"]), None);
    }

    #[test]
    fn code_words_are_unique() {
        let mut words: Vec<_> = Code::ALL.iter().map(|code| code.word()).collect();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), Code::ALL.len());
    }
}
