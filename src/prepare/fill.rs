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
use crate::timeline::build::build;
use crate::timeline::built::Built;
use std::collections::BTreeSet;

/// The language that the built-in voice speaks.
const LANGUAGE: &str = "en";

/// A practice laid out, as far as it could be, and what was found wrong with it.
pub(crate) struct Filled {
    pub library: Library,
    /// Absent where there are errors.
    pub laid: Option<(Practice, Built)>,
    pub diagnostics: Vec<Diagnostic>,
}

/// Expands and lays out a script.
pub(crate) fn lay_out(
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
        let built = build(&practice, &library);
        if !say(&mut library, speech, &mut tried, unspoken(&practice, &built)) {
            diagnostics.extend(built.findings.diagnostics.iter().cloned());
            return Filled { library, laid: Some((practice, built)), diagnostics };
        }
    }
}

/// Has the built-in voice say texts that were never tried. Whether any of them was said.
pub(super) fn say(
    library: &mut Library,
    speech: Option<&Speech>,
    tried: &mut BTreeSet<String>,
    texts: BTreeSet<String>,
) -> bool {
    let Some(speech) = speech else { return false };
    let wanted: Vec<String> = texts.into_iter().filter(|text| tried.insert(text.clone())).collect();
    let mut news = false;
    for (text, recording) in wanted.iter().zip(speech.say(&wanted)) {
        if let Some(recording) = recording {
            library.voice(text, recording);
            news = true;
        }
    }
    news
}

/// What would be a tone, and the titles of sets, which are left out where nothing says them.
pub(super) fn unspoken(practice: &Practice, built: &Built) -> BTreeSet<String> {
    let titles = practice.sets().map(|set| &set.title).filter(|title| title.clip.is_none());
    titles.map(|title| title.text.clone()).chain(built.findings.unrecorded.iter().cloned()).collect()
}

/// Whether the pack that a script asks for is in the language of the built-in voice: in another, it would not be
/// understood.
pub(crate) fn in_its_language(library: &Library) -> bool {
    let language = library.packs().first().map(|pack| pack.language.to_lowercase()).unwrap_or_default();
    language.is_empty() || language.split(['-', '_']).next() == Some(LANGUAGE)
}
