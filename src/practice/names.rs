//! Names of a script looked up in the packs, with the nearest name where one is unknown.

use super::{Drill, LengthKind, Text};
use crate::diag::{Code, Diagnostic, Span, Spanned, nearest};
use crate::pack::library::{Library, Role, Spoken};
use crate::script::{BeatSound, BeatTrack, Script, Swim, Timbre};
use crate::units::level::Decibels;
use crate::units::time::Seconds;

/// How long a focus phrase and its short form may last.
const PHRASE_AT_MOST: [Seconds; 2] = [Seconds::from_millis(2500), Seconds::from_secs(1)];

/// Looks names up and collects what is wrong with them.
pub struct Names<'a> {
    /// Where to look.
    pub library: &'a Library,
    /// What was found wrong.
    pub problems: &'a mut Vec<Diagnostic>,
}

impl Names<'_> {
    /// The text that a script names.
    pub fn text(&mut self, role: Role, name: &Spanned<String>) -> Option<Text> {
        let slug = name.value.trim().to_lowercase().replace(' ', "-");
        let Some((id, entry)) = self.library.of(role).find(|(id, _)| *id == slug) else {
            self.unknown(role, name, &slug);
            return None;
        };
        if role == Role::Phrase {
            for (form, most) in [Some(&entry.full), entry.short.as_ref()].into_iter().zip(PHRASE_AT_MOST) {
                self.problems.extend(form.and_then(|form| phrase_too_long(form, most, name.span)));
            }
        }
        Some(Text { id: id.into(), full: entry.full.clone(), short: entry.short.clone(), span: name.span })
    }

    /// The drill that a script names.
    pub fn drill(&mut self, name: &Spanned<String>) -> Option<Drill> {
        let how = self.text(Role::Drill, name)?;
        let movement = self.library.movement(&how.id);
        Some(Drill { how, movement })
    }

    fn unknown(&mut self, role: Role, name: &Spanned<String>, slug: &str) {
        let kind = match role {
            Role::Phrase => "focus phrase",
            Role::Drill => "drill",
            Role::Say => "text to say",
            Role::Title => "title",
            Role::Word => "word",
            Role::Name => "name",
        };
        let known: Vec<&str> = self.library.of(role).map(|(id, _)| id).collect();
        let problem = Diagnostic::at(Code::UnknownName, name.span, format!("unknown {kind} `{}`", name.value));
        self.problems.push(problem.hint(suggestion(slug, &known)));
    }
}

/// What a person may have meant.
fn suggestion(found: &str, known: &[&str]) -> String {
    match nearest(found, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if known.is_empty() => "the packs in use have none".into(),
        None if known.len() <= 8 => format!("known: {}", known.join(", ")),
        None => format!("known: {} and {} more", known[..8].join(", "), known.len() - 8),
    }
}

fn phrase_too_long(form: &Spoken, most: Seconds, span: Span) -> Option<Diagnostic> {
    (form.clip.is_some() && form.len > most).then(|| {
        let message = format!("\"{}\" lasts {:.1} s; at most {:.1} s", form.text, form.len.as_f64(), most.as_f64());
        Diagnostic::at(Code::PhraseTooLong, span, message).hint("say it in fewer words, or record it more briskly")
    })
}

/// Everything that a swim names.
pub struct Named {
    /// The drill.
    pub drill: Option<Drill>,
    /// The focus phrases, those of `kinds` last.
    pub focus: Vec<Text>,
    /// What its lengths are.
    pub kinds: Vec<LengthKind>,
    /// The beat track.
    pub beats: Option<BeatTrack>,
}

impl Named {
    /// Looks up the names of a swim, each by itself.
    pub fn of(swim: &Swim, script: &Script, library: &Library, problems: &mut Vec<Diagnostic>) -> Self {
        let mut names = Names { library, problems };
        let drill = swim.drill.as_ref().and_then(|drill| names.drill(drill));
        let phrases = swim.focus.iter().flat_map(|focus| &focus.value.phrases);
        let mut focus: Vec<_> = phrases.filter_map(|phrase| names.text(Role::Phrase, phrase)).collect();
        let mut kinds = Vec::with_capacity(swim.lengths.len());
        for length in &swim.lengths {
            let phrase = length.focus.as_ref().and_then(|phrase| names.text(Role::Phrase, phrase));
            focus.extend(phrase.clone());
            kinds.push(LengthKind {
                drill: length.drill.as_ref().and_then(|drill| names.drill(drill)),
                focus: phrase.map(|_| focus.len() - 1),
                part: length.part.map(|part| part.value),
                stroke: length.stroke.map(|stroke| stroke.value),
                effort: length.effort.map(|effort| effort.value),
            });
        }
        Self { drill, focus, kinds, beats: beats(swim, script, library, problems) }
    }
}

/// The beat track of a swim: the one named, else plain wood where there is a tempo.
fn beats(swim: &Swim, script: &Script, library: &Library, problems: &mut Vec<Diagnostic>) -> Option<BeatTrack> {
    let sound = BeatSound { timbre: Timbre::Wood, pitch: None, length: None, level: Decibels::ZERO };
    let plain = BeatTrack { sound, every: 1, accent: None };
    let Some(name) = &swim.beats else { return swim.tempo.as_ref().map(|_| plain) };
    if name.value == "none" {
        return None;
    }
    let own = script.beats.iter().find(|(known, _)| known.value == name.value).map(|(_, track)| track);
    let found = own.or_else(|| library.beats(&name.value));
    if found.is_none() {
        let known = script.beats.iter().map(|(known, _)| known.value.as_str());
        let known: Vec<&str> = known.chain(library.beat_names()).chain(["none"]).collect();
        let problem = Diagnostic::at(Code::UnknownName, name.span, format!("unknown beat track `{}`", name.value));
        problems.push(problem.hint(suggestion(&name.value, &known)));
    }
    found.cloned()
}
