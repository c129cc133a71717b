//! A practice expanded and laid out, with the built-in voice for what has no recording.
//!
//! What is said depends on how long everything takes, and that on what is said: a practice is laid out, what lacks a
//! recording is spoken, and it is laid out again, until nothing is new. Each round speaks texts that were never tried.

use crate::diag::{Diagnostic, has_errors};
use crate::pack::library::Library;
use crate::pack::speech::Speech;
use crate::practice::{self, Audience, Practice};
use crate::script::Script;
use crate::swimmer::Swimmer;
use crate::timeline::legs::{self, Built};
use std::collections::BTreeSet;

/// The language that the built-in voice speaks.
const LANGUAGE: &str = "en";

/// A practice laid out, as far as it could be, and what was found wrong with it.
pub(super) struct Filled {
    pub library: Library,
    /// Absent where there are errors.
    pub laid: Option<(Practice, Built)>,
    pub diagnostics: Vec<Diagnostic>,
}

/// Expands and lays out a script.
pub(super) fn lay_out(
    script: &Script,
    mut library: Library,
    swimmer: &Swimmer,
    audience: Audience,
    speech: Option<&Speech>,
) -> Filled {
    let speech = speech.filter(|_| in_its_language(&library));
    let mut tried = BTreeSet::new();
    loop {
        let (practice, mut diagnostics) = practice::expand(script, &library, swimmer, audience);
        let Some(practice) = practice.filter(|_| !has_errors(&diagnostics)) else {
            return Filled { library, laid: None, diagnostics };
        };
        let built = legs::build(&practice, &library);
        let wanted: Vec<String> = match speech {
            Some(_) => unspoken(&practice, &built).into_iter().filter(|text| tried.insert(text.clone())).collect(),
            None => Vec::new(),
        };
        let said = speech.map_or_else(Vec::new, |speech| speech.say(&wanted));
        let mut news = false;
        for (text, recording) in wanted.iter().zip(said) {
            if let Some(recording) = recording {
                library.voice(text, recording);
                news = true;
            }
        }
        if !news {
            diagnostics.extend(built.diagnostics.iter().cloned());
            return Filled { library, laid: Some((practice, built)), diagnostics };
        }
    }
}

/// What would be a tone, and the titles of sets, which are left out where nothing says them.
fn unspoken(practice: &Practice, built: &Built) -> BTreeSet<String> {
    let titles = practice.sets().map(|set| &set.title).filter(|title| title.clip.is_none());
    titles.map(|title| title.text.clone()).chain(built.unrecorded.iter().cloned()).collect()
}

/// Whether the pack that a script asks for is in the language of the built-in voice: in another, it would not be
/// understood.
pub(super) fn in_its_language(library: &Library) -> bool {
    let language = library.packs().first().map(|pack| pack.language.to_lowercase()).unwrap_or_default();
    language.is_empty() || language.split(['-', '_']).next() == Some(LANGUAGE)
}

#[cfg(test)]
#[cfg(feature = "speech")]
mod tests {
    use super::super::{Request, plan};
    use super::*;
    use crate::diag::Code;
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

    fn outcome(folder: &Path, speech: Option<Speech>) -> (super::super::Planned, Vec<Diagnostic>) {
        let script: PathBuf = folder.join("own.yaml");
        let outcome = plan(&Request { script, speech, ..Request::default() }).unwrap();
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
        let voiced: Vec<&str> = planned.built.voiced.iter().map(String::as_str).collect();
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
    fn without_the_voice_each_text_is_told() {
        let folder = folder("en-GB");
        let (planned, diagnostics) = outcome(folder.path(), None);
        assert_eq!((unheard(&diagnostics), planned.built.voiced.len()), (2, 0));
        assert_eq!(planned.built.unrecorded.len(), 2);
    }

    #[test]
    fn other_languages_are_left_to_their_speakers() {
        let folder = folder("fi");
        let (_, diagnostics) = outcome(folder.path(), Some(Speech::new(None)));
        assert_eq!(unheard(&diagnostics), 2);
    }
}
