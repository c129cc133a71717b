//! A script with its packs, read once and laid out for any number of swimmers.

use super::fill::{self, Filled};
use super::planned::Planned;
use super::request::PracticeRequest;
use super::text::Unreadable;
use crate::diag::{Code, Diagnostic, SourceId, Sources, Span, Spanned, has_errors};
use crate::notebook::entry::ScriptCopy;
use crate::pack::library::{Library, PackEntry, Role, Spoken};
use crate::pack::load::{self, Search};
use crate::pack::speech::Speech;
use crate::plan::Plan;
use crate::practice::{self, Audience};
use crate::script::parse::parse_partly;
use crate::script::{Script, Water};
use crate::swimmer::Swimmer;
use crate::swimmer::lanes::{self, WrittenLanes};
use crate::swimmer::model::StrokeModel;
use crate::units::swim::{Pace, PoolLength};
use std::path::PathBuf;

/// A script and what it can be spoken with.
#[derive(Debug)]
pub struct Opened {
    pub(super) path: PathBuf,
    source: SourceId,
    pub(super) script: Option<Script>,
    /// The lanes that the script names, if it does.
    pub(super) lanes: Option<WrittenLanes>,
    search: Search,
    pub(super) library: Library,
    pub(super) audience: Audience,
    pub(super) speech: Option<Speech>,
    broken: BrokenParts,
    /// What is wrong with the script's text and with its packs, whoever swims it.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that problems point into.
    pub sources: Sources,
}

/// Which parts have errors, whoever swims.
#[derive(Clone, Copy, Debug)]
struct BrokenParts {
    /// The script's text.
    script: bool,
    /// Its packs.
    packs: bool,
}

/// What a swimmer has of their own in a practice that many swim.
#[derive(Clone, Copy, Debug, Default)]
pub struct Own<'a> {
    /// The pack whose recordings win.
    pub voice: Option<&'a Library>,
    /// Ids of phrases that take the place of the script's; none leaves those.
    pub focus: &'a [Spanned<String>],
    /// The files in which that stands.
    pub texts: &'a [PathBuf],
}

/// Puts problems into the order in which they are shown, each once.
pub(super) fn in_order(diagnostics: &mut Vec<Diagnostic>) {
    diagnostics.sort_by_key(|diagnostic| (diagnostic.severity(), diagnostic.span.is_none(), diagnostic.span));
    diagnostics.dedup();
}

impl Opened {
    /// Reads the script that a request names and its packs. `sources` holds what has been read already.
    ///
    /// # Errors
    /// Where the script cannot be read.
    pub fn open(request: &PracticeRequest, mut sources: Sources) -> Result<Self, Unreadable> {
        let (script, search) = request.open(&mut sources)?;
        Ok(Self::of(script, search, request, sources))
    }

    /// The same for a script that the notebook keeps and that lies nowhere: packs are looked for as for a file that `request` names.
    pub fn of_copy(copy: &ScriptCopy, request: &PracticeRequest, mut sources: Sources) -> Self {
        let script = sources.add(format!("{} (in the notebook)", copy.name), copy.text.as_str());
        let search = Search { script: Some(request.script.clone()), ..Search::default() };
        Self::of(script, search, request, sources)
    }

    /// The same for a script that has been read.
    pub(crate) fn of(script: SourceId, mut search: Search, request: &PracticeRequest, mut sources: Sources) -> Self {
        search.extra.clone_from(&request.packs);
        search.user.clone_from(&request.user_packs);
        search.voice.clone_from(&request.voice);
        let source = script;
        let (script, mut diagnostics) = parse_partly(source, &sources);
        let broken_script = has_errors(&diagnostics);
        let (library, found) = match &script {
            Some(script) => load::open(&search, script.pack.as_ref(), &mut sources),
            None => (Library::new(), Vec::new()),
        };
        let broken = BrokenParts { script: broken_script, packs: has_errors(&found) };
        diagnostics.extend(found);
        let (lanes, found) = script.as_ref().map_or((None, Vec::new()), lanes::of_script);
        diagnostics.extend(found);
        let (path, audience, speech) = (request.script.clone(), request.audience, request.speech.clone());
        Self { path, source, script, lanes, search, library, audience, speech, broken, diagnostics, sources }
    }

    /// Whether the script or its packs have errors, so that nobody can swim it.
    pub fn is_broken(&self) -> bool {
        has_errors(&self.diagnostics)
    }

    /// The script's text.
    pub fn text(&self) -> &str {
        self.sources.text(self.source)
    }

    /// The script as it was named.
    pub const fn path(&self) -> &PathBuf {
        &self.path
    }

    /// Opens a pack whose recordings shall win, found as the script's own packs are; `asked` is where it is named.
    pub fn voice(&self, name: &str, asked: Span, sources: &mut Sources) -> (Option<Library>, Vec<Diagnostic>) {
        let (voice, mut found) = load::voice(&self.search, name, sources);
        for problem in &mut found {
            problem.span.get_or_insert(asked);
        }
        (voice, found)
    }

    /// The pool of this script, or the assumed one in open water.
    pub(super) fn pool(&self) -> PoolLength {
        match self.script.as_ref().map(|script| script.water.value) {
            Some(Water::Pool(pool)) => pool,
            Some(Water::Open) | None => StrokeModel::assumed_pool(),
        }
    }

    /// The swimmer who takes so long for 100 of this script's pool, or of the assumed one's in open water.
    pub(crate) fn who_swims(&self, hundred: Pace) -> (Option<Swimmer>, Vec<Diagnostic>) {
        let pool = self.pool();
        let swimmer = Swimmer::of_hundred(hundred, pool);
        let time = hundred.per_hundred();
        let message = format!("{time} for 100 in a pool of {pool} leaves no time for strokes between its walls");
        let problem = || Diagnostic::whole(Code::OutOfRange, message).hint("give a profile with --swimmer");
        let problems = if swimmer.is_none() { vec![problem()] } else { Vec::new() };
        (swimmer, problems)
    }

    /// Lays the practice out for a swimmer; for nobody where theirs could not be read, as `found` says. Gives the practice
    /// unless there are errors, and every problem of script, packs and swimmer.
    pub fn plan(
        &self,
        swimmer: Option<&Swimmer>,
        own: Own<'_>,
        found: Vec<Diagnostic>,
    ) -> (Option<Planned>, Vec<Diagnostic>) {
        let mut diagnostics = self.diagnostics.clone();
        diagnostics.extend(found);
        let Some(script) = &self.script else { return (None, diagnostics) };
        let changed = (!own.focus.is_empty()).then(|| script.with_focus(own.focus));
        let script = changed.as_ref().unwrap_or(script);
        let library = self.spoken_with(own);
        // Even with a broken profile or pack the script's own mistakes are reported, against the assumed swimmer.
        let whom = swimmer.cloned().unwrap_or_else(Swimmer::assumed);
        let Filled { library, laid, diagnostics: mut found } =
            if !self.broken.script && swimmer.is_some() && !has_errors(&diagnostics) {
                fill::lay_out(script, library, &whom, self.audience, self.speech.as_ref())
            } else {
                let diagnostics = if self.broken.script {
                    practice::check_partly(script, &library, &whom)
                } else {
                    practice::expand(script, &library, &whom, self.audience).1
                };
                Filled { library, laid: None, diagnostics }
            };
        if self.broken.packs {
            // Where a pack is missing, so is every name in it: one message says it all.
            found.retain(|diagnostic| diagnostic.code != Code::UnknownName);
        }
        diagnostics.extend(found);
        let planned = laid.filter(|_| swimmer.is_some() && !has_errors(&diagnostics)).map(|(practice, built)| {
            let plan = Plan::of(&practice, &built, &whom);
            let texts = own.texts.iter().chain(&self.search.script).cloned().collect();
            Planned { practice, library, built, plan, swimmer: whom, texts }
        });
        if let Some(planned) = &planned {
            diagnostics.retain(|diagnostic| !heard_elsewhere(diagnostic, own.focus, &planned.plan));
        }
        in_order(&mut diagnostics);
        (planned, diagnostics)
    }

    /// The library as a swimmer hears it.
    pub(super) fn spoken_with(&self, own: Own<'_>) -> Library {
        let mut library = self.library.clone();
        if let Some(voice) = own.voice {
            // A phrase of their own may still have to be recorded.
            for id in own.focus {
                if let Some(entry) = voice.entry(Role::Phrase, &id.value)
                    && library.entry(Role::Phrase, &id.value).is_none()
                {
                    let text = |spoken: &Spoken| Spoken::unrecorded(&*spoken.text);
                    let entry = PackEntry { full: text(&entry.full), short: entry.short.as_ref().map(text) };
                    library.add(Role::Phrase, &*id.value, entry);
                }
            }
            library.speak_with(voice.clone());
        }
        library
    }
}

/// Whether a phrase of one's own that finds no place in one set has one in another.
fn heard_elsewhere(diagnostic: &Diagnostic, own: &[Spanned<String>], plan: &Plan) -> bool {
    let mut named = own.iter().filter(|id| diagnostic.span == Some(id.span));
    diagnostic.code == Code::FocusUnheard && named.any(|id| plan.focus.iter().any(|focus| *focus.phrase == id.value))
}
