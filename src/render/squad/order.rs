//! The files of one practice in a swimmer's folder: what they are called, what they are made of, and the making.

use super::note::Note;
use super::print::{self, Hashes};
use crate::prepare::Planned;
use crate::render::file::{self, Failed, Made};
use crate::render::player::{self, MadeFile};
use crate::sink::file::Replace;
use crate::sink::output::Format;
use crate::sink::spec::Spec;
use crate::timeline::bank::{BankError, Stock};
use crate::timeline::captions::{self, webvtt};
use crate::units::time::SampleRate;
use std::path::Path;
use std::sync::atomic::AtomicBool;

/// The swimmer's folder itself, as a place in it.
pub(super) const HERE: &str = ".";

/// What is wanted of every swimmer.
#[derive(Clone, Debug)]
pub struct Wanted<'a> {
    /// The folder in which each swimmer has one.
    pub folder: &'a Path,
    /// Tracks for a player instead of one file.
    pub player: bool,
    /// The spoken words beside each file too.
    pub captions: bool,
    /// The format of the files.
    pub format: Format,
    /// Frames a second.
    pub rate: SampleRate,
    /// One channel instead of two.
    pub mono: bool,
    /// Kilobits a second of MP3, where not the usual ones.
    pub kilobits: Option<u32>,
    /// Whether all is made again, in place of whatever has the names.
    pub force: bool,
}

/// Where a practice goes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place<'a> {
    /// The swimmer's folder.
    pub folder: &'a Path,
    /// Its file, or the folder of its tracks, as seen from there.
    pub output: &'a str,
    /// The two together.
    pub path: &'a Path,
}

/// What was made of a practice.
#[derive(Clone, Debug, PartialEq)]
pub enum Files {
    /// One file.
    One(Made),
    /// Tracks.
    Tracks(Vec<MadeFile>),
}

/// Files that are wanted.
pub(super) enum Order<'a> {
    /// One file, perhaps with captions; `known` are those that were made last.
    One { wanted: Box<file::Wanted<'a>>, output: &'a str, known: Vec<String>, force: bool },
    /// Tracks. `prefix` leads to them from the swimmer's folder.
    Tracks { wanted: player::Wanted<'a>, prefix: String },
}

impl<'a> Order<'a> {
    /// What is wanted of a practice; `note` is what was made before.
    pub fn of(wanted: &Wanted<'_>, identity: &str, place: &Place<'a>, note: Option<&Note>) -> Self {
        let Wanted { format, rate, mono, kilobits, force, .. } = *wanted;
        let (identity, known) = (identity.to_owned(), note.map(|note| note.files(place.output)));
        if wanted.player {
            let prefix = if place.output == HERE { String::new() } else { format!("{}/", place.output) };
            let inside = |name: &String| name.strip_prefix(&prefix).map(str::to_owned);
            let known = known.map(|known| known.iter().filter_map(inside).collect());
            let wanted = player::Wanted { folder: place.path, format, rate, mono, kilobits, force, identity, known };
            return Self::Tracks { wanted, prefix };
        }
        let captions = wanted.captions.then(|| (place.path.with_extension("vtt"), Replace::Never));
        let (output, replace) = (place.path, Replace::Never);
        let wanted = file::Wanted { output, format, rate, mono, replace, kilobits, captions, identity };
        Self::One { wanted: Box::new(wanted), output: place.output, known: known.unwrap_or_default(), force }
    }

    /// The sound files by their names in the swimmer's folder.
    fn files(&self, planned: &Planned) -> Vec<(String, Spec)> {
        match self {
            Self::One { wanted, output, .. } => vec![((*output).to_owned(), file::spec(planned, wanted, 1))],
            Self::Tracks { wanted, prefix } => {
                let orders = player::orders(planned, wanted).into_iter();
                orders.map(|order| (format!("{prefix}{}", order.name), order.spec)).collect()
            }
        }
    }

    /// All files by their names in the swimmer's folder.
    pub fn names(&self, planned: &Planned) -> Vec<String> {
        let mut names: Vec<String> = self.files(planned).into_iter().map(|(name, _)| name).collect();
        names.extend(match self {
            Self::One { wanted, .. } => {
                wanted.captions.as_ref().and_then(|(path, _)| Some(path.file_name()?.to_string_lossy().into_owned()))
            }
            Self::Tracks { prefix, .. } => Some(format!("{prefix}{}", player::listed(planned))),
        });
        names
    }

    /// What they are made of.
    ///
    /// # Errors
    /// Where a recording cannot be read.
    pub fn print(&self, planned: &Planned, hashes: &Hashes) -> Result<String, BankError> {
        let (format, captions) = match self {
            Self::One { wanted, .. } => {
                let text = wanted.captions.as_ref().map(|_| webvtt(&planned.built.timeline, &wanted.identity));
                (wanted.format, text)
            }
            // A playlist says nothing that the tracks do not say of themselves.
            Self::Tracks { wanted, .. } => (wanted.format, None),
        };
        print::of(planned, format, &self.files(planned), captions.as_deref(), hashes)
    }

    /// Makes them.
    ///
    /// # Errors
    /// See [`Failed`]; what was there is as it was then.
    pub fn make(&self, planned: &Planned, stock: &Stock, stop: &AtomicBool) -> Result<Files, Failed> {
        match self {
            Self::One { wanted, known, force, .. } => {
                // What is noted as ours is ours, however it looks by now.
                let may = |path: &Path, identity: &str| {
                    let noted = path.file_name().is_some_and(|name| known.iter().any(|known| name == known.as_str()));
                    file::may_replace(path, identity, *force || noted)
                };
                let mut wanted = file::Wanted::clone(wanted);
                wanted.replace = may(wanted.output, &wanted.identity)?;
                if let Some((path, replace)) = &mut wanted.captions {
                    *replace = may(path, &captions::note(&wanted.identity))?;
                }
                file::render_among(planned, wanted, stock, stop).map(Files::One)
            }
            Self::Tracks { wanted, .. } => player::render_among(planned, wanted, stock, stop).map(Files::Tracks),
        }
    }
}
