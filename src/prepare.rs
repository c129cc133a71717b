//! What every command begins with: a script found and read, its packs opened, its practice planned for a swimmer and filled
//! with the built-in voice, and made ready for a live session.
//!
//! Nothing is written here; files of a practice are `render`'s.

pub mod opened;
pub mod piece;
pub mod planned;
pub mod request;
pub mod text;

pub mod apart;
mod at_a_speaker;
mod fill;
pub mod lanes;
mod noted;
pub mod side_by_side;
pub mod swum;
pub mod together;

pub use planned::Planned;
pub(crate) use request::fnv1a;
pub use request::{KnownFrom, PracticeRequest, WhoSwims, identity, stem};
pub use text::Unreadable;

pub(crate) use fill::{Filled, in_its_language, lay_out};

use crate::diag::{Diagnostic, SourceId, Sources};
use crate::pack::load::Search;
use crate::swimmer::{Swimmer, profile};
use opened::{Opened, Own};
use std::path::PathBuf;

/// What came of a request: a practice unless there are errors, and every problem found on the way.
#[derive(Debug)]
pub struct Prepared {
    /// The practice, absent exactly where an error is among the problems.
    pub planned: Option<Planned>,
    /// Every problem of the script, the profile and the packs.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that the problems point into.
    pub sources: Sources,
}

/// Reads, checks and lays out a practice.
///
/// # Errors
/// Where a file cannot be read. What is wrong in a file that can be read is among the outcome's problems.
pub fn plan(request: &PracticeRequest) -> Result<Prepared, Unreadable> {
    let mut sources = Sources::new();
    let (script, search) = request.open(&mut sources)?;
    plan_source(script, search, request, sources)
}

/// The same for a script that has been read.
pub(crate) fn plan_source(
    script: SourceId,
    search: Search,
    request: &PracticeRequest,
    mut sources: Sources,
) -> Result<Prepared, Unreadable> {
    let path = match &request.swimmer {
        Some(WhoSwims::Profile(path)) => Some(path.clone()),
        // Whatever is called so goes first, and is told where it is no file.
        Some(WhoSwims::Named(name)) => Some(PathBuf::from(name)).filter(|path| path.exists()),
        Some(WhoSwims::Hundred(_)) | None => None,
    };
    let profile = match &path {
        Some(path) => Some(sources.add(path.to_string_lossy().into_owned(), text::read(path)?)),
        None => None,
    };
    let opened = Opened::of(script, search, request, sources);
    let (swimmer, found) = match (&request.swimmer, profile) {
        (_, Some(profile)) => profile::parse(profile, &opened.sources),
        (Some(WhoSwims::Hundred(hundred)), _) => opened.who_swims(*hundred),
        (Some(WhoSwims::Named(name)), _) => noted::named(request.known.as_ref(), name, opened.pool())?,
        _ => {
            let known = noted::only(request.known.as_ref(), opened.pool())?;
            (Some(known.unwrap_or_else(Swimmer::assumed)), Vec::new())
        }
    };
    let own = Own { texts: path.as_slice(), ..Own::default() };
    let (planned, diagnostics) = opened.plan(swimmer.as_ref(), own, found);
    Ok(Prepared { planned, diagnostics, sources: opened.sources })
}

#[cfg(test)]
#[cfg(feature = "speech")]
mod tests {
    use super::*;
    use crate::diag::Code;
    use crate::pack::speech::Speech;
    use std::fs;
    use std::path::{Path, PathBuf};

    const PACK: &str = "lengthwise-pack: 1\ntitle: Mine\nlanguage: en-GB\nspeaker: { voice: Ada, made-with: a phone, agreed: yes }\nlicence: MIT\n\
        phrases:\n  tall-spine: { full: tall spine in the water, short: tall }\nsays:\n  hello: Good to see you\n";
    const SCRIPT: &str = "lengthwise: 1\ntitle: Own words\npool: 25 m\npractice:\n  - say: hello\n  - set: Slow 50s, 1:05 each\n    \
        swim: 3 x 50 m on 1:35\n    focus: { phrases: [tall-spine], change: repeat }\n";

    fn folder(language: &str) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("pack.yaml"), PACK.replace("en-GB", language)).unwrap();
        fs::write(folder.path().join("own.yaml"), SCRIPT).unwrap();
        folder
    }

    fn outcome(folder: &Path, speech: Option<Speech>) -> (Planned, Vec<Diagnostic>) {
        let script: PathBuf = folder.join("own.yaml");
        let outcome = plan(&PracticeRequest { script, speech, ..PracticeRequest::default() }).unwrap();
        (outcome.planned.unwrap_or_else(|| panic!("{:?}", outcome.diagnostics)), outcome.diagnostics)
    }

    fn unheard(diagnostics: &[Diagnostic]) -> usize {
        diagnostics.iter().filter(|d| d.code == Code::NoRecording).count()
    }

    #[test]
    fn every_text_is_spoken_titles_too_and_lasts_as_long_as_it_sounds() {
        let folder = folder("en-GB");
        let speech = Speech::new(Some(folder.path().join("cache")));
        let (planned, diagnostics) = outcome(folder.path(), Some(speech.clone()));
        assert_eq!(unheard(&diagnostics), 0, "{diagnostics:?}");
        let voiced: Vec<&str> = planned.built.findings.voiced.iter().map(String::as_str).collect();
        assert_eq!(voiced, ["Good to see you", "Slow 50s, 1:05 each", "tall spine in the water"]);
        let timeline = &planned.built.timeline;
        assert!(!timeline.sounds.contains(&crate::timeline::Sound::Placeholder));
        let mut ends = crate::units::time::Seconds::ZERO;
        for leg in &timeline.legs {
            for cue in leg.cues.iter().filter(|cue| cue.kind.is_voice()) {
                assert!(leg.origin + cue.at >= ends, "{} overlaps", cue.text);
                ends = leg.origin + cue.at + cue.len;
            }
        }
        let title =
            timeline.legs.iter().flat_map(|leg| &leg.cues).find(|cue| cue.text == "Slow 50s, 1:05 each").unwrap();
        assert_eq!(title.len, planned.library.text("Slow 50s, 1:05 each").len);
        // From the cache the same plan comes.
        assert_eq!(outcome(folder.path(), Some(speech)).0.built.timeline, *timeline);
    }

    #[test]
    fn without_the_voice_each_text_is_reported() {
        let folder = folder("en-GB");
        let (planned, diagnostics) = outcome(folder.path(), None);
        assert_eq!((unheard(&diagnostics), planned.built.findings.voiced.len()), (2, 0));
        assert_eq!(planned.built.findings.unrecorded.len(), 2);
    }

    #[test]
    fn other_languages_are_left_to_their_speakers() {
        let folder = folder("fi");
        let (_, diagnostics) = outcome(folder.path(), Some(Speech::new(None)));
        assert_eq!(unheard(&diagnostics), 2);
    }
}
