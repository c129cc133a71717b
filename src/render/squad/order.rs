//! The files of one practice in a swimmer's folder: what they are called, what they are made of, and the making.

use super::note::Note;
use super::print::{self, Hashes};
use crate::prepare::Planned;
use crate::render::file::{self, FileOrder};
use crate::render::made::{NotRendered, PracticeFiles};
use crate::render::player::{self, PlayerOrder};
use crate::render::target::Target;
use crate::sink::spec::Spec;
use crate::timeline::bank::{BankError, Stock};
use crate::timeline::captions::webvtt;
use std::path::Path;
use std::sync::atomic::AtomicBool;

/// The swimmer's folder itself, as a place in it.
pub(super) const HERE: &str = ".";

/// What is wanted of every swimmer.
#[derive(Clone, Debug)]
pub struct SquadOrder<'a> {
    /// The folder in which each swimmer has one.
    pub folder: &'a Path,
    /// Tracks for a player instead of one file.
    pub player: bool,
    /// The spoken words beside each file too.
    pub captions: bool,
    /// The form of the files.
    pub target: Target,
    /// Whether all is made again, in place of whatever has the names.
    pub force: bool,
}

/// Where a practice goes.
#[derive(Clone, Copy, Debug)]
pub(super) struct PracticePlace<'a> {
    /// The swimmer's folder.
    pub folder: &'a Path,
    /// Its file, or the folder of its tracks, as seen from there.
    pub output: &'a str,
    /// The two together.
    pub path: &'a Path,
}

/// The files of one practice, as they are wanted.
pub(super) enum PracticeOrder<'a> {
    /// One file, perhaps with captions; `known` are those that were made last.
    One { order: Box<FileOrder<'a>>, output: &'a str, known: Vec<String>, force: bool },
    /// Tracks. `prefix` leads to them from the swimmer's folder.
    Tracks { order: PlayerOrder<'a>, prefix: String },
}

impl<'a> PracticeOrder<'a> {
    /// What is wanted of a practice; `note` is what was made before.
    pub fn of(squad: &SquadOrder<'_>, identity: &str, place: &PracticePlace<'a>, note: Option<&Note>) -> Self {
        let SquadOrder { target, force, .. } = *squad;
        let (identity, known) = (identity.to_owned(), note.map(|note| note.files(place.output)));
        if squad.player {
            let prefix = if place.output == HERE { String::new() } else { format!("{}/", place.output) };
            let inside = |name: &String| name.strip_prefix(&prefix).map(str::to_owned);
            let known = known.map(|known| known.iter().filter_map(inside).collect());
            let order = PlayerOrder { folder: place.path, target, force, identity, known };
            return Self::Tracks { order, prefix };
        }
        let captions = squad.captions.then(|| place.path.with_extension("vtt"));
        let order = FileOrder::new(place.path, target, identity, captions);
        // Without a note nothing is known to be ours.
        Self::One { order: Box::new(order), output: place.output, known: known.unwrap_or_default(), force }
    }

    /// The sound files by their names in the swimmer's folder.
    fn files(&self, planned: &Planned) -> Vec<(String, Spec)> {
        match self {
            Self::One { order, output, .. } => vec![((*output).to_owned(), file::spec(planned, order, 1))],
            Self::Tracks { order, prefix } => {
                let tracks = player::orders(planned, order).into_iter();
                tracks.map(|track| (format!("{prefix}{}", track.name), track.spec)).collect()
            }
        }
    }

    /// All files by their names in the swimmer's folder.
    pub fn names(&self, planned: &Planned) -> Vec<String> {
        let mut names: Vec<String> = self.files(planned).into_iter().map(|(name, _)| name).collect();
        names.extend(match self {
            Self::One { order, .. } => {
                order.captions().and_then(Path::file_name).map(|name| name.to_string_lossy().into_owned())
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
            Self::One { order, .. } => {
                let text = order.captions().map(|_| webvtt(&planned.built.timeline, &order.identity));
                (order.target.format, text)
            }
            // A playlist says nothing that the tracks do not say of themselves.
            Self::Tracks { order, .. } => (order.target.format, None),
        };
        print::of(planned, format, &self.files(planned), captions.as_deref(), hashes)
    }

    /// Makes them.
    ///
    /// # Errors
    /// See [`NotRendered`]; what was there is as it was then.
    pub fn make(&self, planned: &Planned, stock: &Stock, stop: &AtomicBool) -> Result<PracticeFiles, NotRendered> {
        match self {
            Self::One { order, known, force, .. } => {
                // What is noted as ours is ours, however it looks by now.
                let noted =
                    |path: &Path| path.file_name().is_some_and(|name| known.iter().any(|known| name == known.as_str()));
                let mut order = FileOrder::clone(order);
                order.settle(|path| *force || noted(path))?;
                file::render_among(planned, order, stock, stop).map(PracticeFiles::One)
            }
            Self::Tracks { order, .. } => player::render_among(planned, order, stock, stop).map(PracticeFiles::Tracks),
        }
    }
}
