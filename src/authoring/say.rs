//! One text of a pack, found by its id or its words, to be heard as the swimmer hears it.
//!
//! How it gets to a device is `session/audition`; a file of it is rendered like any other.

use crate::audio::bank::Bank;
use crate::audio::voice::HeardThrough;
use crate::diag::nearest;
use crate::pack::library::{Library, Role, Spoken};
use crate::pack::shelf::{HeardFrom, NoPack, OpenedPack, PackLine, Shelf};
use crate::pack::speech::Speech;
use crate::prepare::in_its_language;
use crate::render::NotRendered;
use crate::render::inputs::spare;
use crate::script::Settings;
use crate::session::audition;
use crate::sink::file::Replace;
use crate::sink::output::{self, Format};
use crate::sink::spec::{Spec, Tags};
use crate::sink::{self, RenderError};
use crate::timeline::bank::{self, BankError, BankSettings};
use crate::timeline::{Sound, Timeline};
use crate::units::time::SampleRate;
use std::fmt;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// Who says a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum By {
    /// A recording of this pack.
    Pack(String),
    /// The built-in voice, for lack of a recording.
    BuiltIn,
    /// Nobody: a tone stands for it.
    Tone,
}

/// A text found.
#[derive(Debug)]
pub struct Said {
    /// Its id.
    pub id: String,
    /// The pack that has the text.
    pub pack: String,
    /// The words.
    pub text: String,
    /// Who says them.
    pub by: By,
    sound: Sound,
    library: Library,
}

/// There is nothing to say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotSaid {
    /// No such pack.
    Pack(NoPack),
    /// No such text in the pack, or in any; those near it.
    Text(String, Option<String>, Vec<String>),
    /// It has no short form.
    NoShort(String),
}

impl fmt::Display for NotSaid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pack(error) => error.fmt(f),
            Self::NoShort(id) => write!(f, "`{id}` has no short form; focus phrases and drills may have one"),
            Self::Text(wanted, pack, near) => {
                match pack {
                    Some(pack) => write!(f, "the pack `{pack}` has no text `{wanted}`, neither as an id nor as words")?,
                    None => write!(f, "no pack has a text `{wanted}`, neither as an id nor as words")?,
                }
                match (near.as_slice(), pack) {
                    ([], Some(pack)) => write!(f, "; `lengthwise pack show {pack}` lists them"),
                    ([], None) => f.write_str("; `lengthwise pack show PACK` lists them"),
                    (near, _) => write!(f, "; did you mean `{}`?", near.join("` or `")),
                }
            }
        }
    }
}

impl std::error::Error for NotSaid {}

/// Finds a text in a pack, or in the first of all packs that has it. What has no recording is said by the built-in voice.
///
/// # Errors
/// Where there is no such pack or text.
pub fn find(
    wanted: &str,
    short: bool,
    pack: Option<&str>,
    shelf: &Shelf,
    speech: Option<&Speech>,
) -> Result<Said, NotSaid> {
    let names = match pack {
        Some(pack) => vec![pack.to_owned()],
        None => shelf.list().into_iter().filter(|standing| !standing.hidden).map(|standing| standing.name).collect(),
    };
    let mut known: Vec<String> = Vec::new();
    for name in names {
        let opened = shelf.open(&name).map_err(NotSaid::Pack)?;
        match entry(&opened, wanted) {
            Some(line) => return said(line, short, &opened, speech),
            None => known.extend(opened.lines.iter().flat_map(|line| [line.id.clone(), line.text.clone()])),
        }
    }
    // An id and a text may both be near: the nearest of each.
    let (ids, texts): (Vec<&str>, Vec<&str>) = known.iter().map(String::as_str).partition(|name| !name.contains(' '));
    let near = [nearest(wanted, ids), nearest(wanted, texts)].into_iter().flatten().map(str::to_owned).collect();
    Err(NotSaid::Text(wanted.to_owned(), pack.map(str::to_owned), near))
}

/// The whole form of the entry that is meant: by its id, else by its words or those of its short form.
fn entry<'o>(opened: &'o OpenedPack, wanted: &str) -> Option<&'o PackLine> {
    let whole =
        |id: &str, role: Role| opened.lines.iter().find(|line| !line.short && line.id == id && line.role == role);
    let by_id = opened.lines.iter().find(|line| line.id == wanted);
    let by_words = || opened.lines.iter().find(|line| line.text.eq_ignore_ascii_case(wanted.trim()));
    by_id.or_else(by_words).and_then(|line| whole(&line.id, line.role))
}

fn said(line: &PackLine, short: bool, opened: &OpenedPack, speech: Option<&Speech>) -> Result<Said, NotSaid> {
    let of_form = |line: &&PackLine| line.short;
    let same = opened.lines.iter().filter(|other| other.role == line.role && other.id == line.id);
    let line = if short { same.clone().find(of_form).ok_or_else(|| NotSaid::NoShort(line.id.clone()))? } else { line };
    let mut library = opened.library.clone();
    let (by, spoken) = match &line.source {
        HeardFrom::Own(_) => (By::Pack(opened.name.clone()), form(&library, line)),
        HeardFrom::Borrowed(pack, _) => (By::Pack(pack.clone()), form(&library, line)),
        HeardFrom::Broken(_) | HeardFrom::Missing => {
            let texts = [line.text.clone()];
            let speech = speech.filter(|_| in_its_language(&library));
            match speech.and_then(|speech| speech.say(&texts).pop().flatten()) {
                Some(recording) => {
                    library.voice(&line.text, recording);
                    (By::BuiltIn, Some(library.text(&line.text)))
                }
                None => (By::Tone, None),
            }
        }
    };
    let sound = spoken.and_then(|spoken| spoken.clip).map_or(Sound::Placeholder, Sound::Clip);
    let (id, pack, text) = (line.id.clone(), opened.name.clone(), line.text.clone());
    Ok(Said { id, pack, text, by, sound, library })
}

fn form(library: &Library, line: &PackLine) -> Option<Spoken> {
    let entry = library.entry(line.role, &line.id)?;
    if line.short { entry.short.clone() } else { Some(entry.full.clone()) }
}

/// How the bank of a practice without settings of its own is made.
pub fn settings(output: HeardThrough) -> BankSettings {
    BankSettings::of(&Settings::default(), output)
}

impl Said {
    /// The clip, as a practice would have it.
    ///
    /// # Errors
    /// Where the recording cannot be read or decoded.
    pub fn bank(&self, rate: SampleRate, output: HeardThrough) -> Result<Bank, BankError> {
        bank::build(&[self.sound], &self.library, rate, &settings(output))
    }

    /// Writes it as a sound file that is whole or not there.
    ///
    /// # Errors
    /// Where the recording cannot be used, or the file not be written.
    pub fn write(&self, path: &Path, replace: Replace, output: HeardThrough) -> Result<(), NotRendered> {
        spare(self.library.files(), [path])?;
        let rate = SampleRate::CD;
        let bank = Arc::new(self.bank(rate, output).map_err(NotRendered::Recording)?);
        let timeline: Timeline = audition::of(&self.text, &bank);
        let tags = Tags { title: self.text.clone(), ..Tags::default() };
        let spec = Spec { tags, ..Spec::plain(rate, sink::frames(&timeline, rate)) };
        let mut file = output::FileOutput::create(path, Format::Wav, &spec, replace).map_err(NotRendered::File)?;
        let rendered = sink::render(&timeline, &bank, &mut file, &mut |_, _| {}, &AtomicBool::new(false));
        rendered.map_err(|error: RenderError<_>| NotRendered::of(error, NotRendered::File))?;
        file.finish().map_err(NotRendered::File)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(wanted: &str, short: bool, pack: Option<&str>) -> Result<(String, String, By), String> {
        find(wanted, short, pack, &Shelf::default(), None)
            .map(|said| (said.pack, said.text, said.by))
            .map_err(|error| error.to_string())
    }

    #[test]
    fn texts_are_found_by_id_and_by_words() {
        let first =
            |text: &str| Ok(("first-lengths".to_owned(), text.to_owned(), By::Pack("first-lengths".to_owned())));
        assert_eq!(found("look-down", false, None), first("look down at the tiles"));
        assert_eq!(found("Look down at the TILES", false, Some("first-lengths")), first("look down at the tiles"));
        assert_eq!(found("look down", false, None), first("look down at the tiles"));
        assert_eq!(found("look-down", true, None), first("look down"));
        assert_eq!(found("fist", true, None), first("fist"));
        assert_eq!(
            found("go-in-10", true, None),
            Err("`go-in-10` has no short form; focus phrases and drills may have one".to_owned())
        );
        let near = found("look-donw", false, None).unwrap_err();
        assert!(near.contains("did you mean `look-down`"), "{near}");
        let none = found("xyzzy qq", false, Some("tempo-range")).unwrap_err();
        assert!(none.contains("`tempo-range` has no text") && none.contains("pack show tempo-range"), "{none}");
        assert!(found("go-in-10", false, Some("anouncer")).unwrap_err().contains("`announcer`"));
    }
}
