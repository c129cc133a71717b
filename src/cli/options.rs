//! What the options of `render` come to, for one file, several, tracks and squads alike.

use super::args::{AudienceArg, CaptionsPlace, Form, Render};
use super::failure::Failure;
use crate::audio::exposure::Ears;
use crate::diag::shown::ShownPath;
use crate::disk::{Access, FolderForFiles};
use crate::prepare::Planned;
use crate::render::exposure::{self, Estimate};
use crate::render::target::{Target, UnfitTarget};
use crate::render::{NotRendered, Tally};
use crate::sink::file::is_stdout;
use crate::sink::mp3::UnfitMp3;
use crate::sink::output::Format;
use crate::units::time::SampleRate;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// The format asked for, WAV where none is.
pub(super) fn format(asked: Option<Form>) -> Format {
    match asked {
        None | Some(Form::Wav) => Format::Wav,
        Some(Form::Flac) => Format::Flac,
        Some(Form::Mp3) => Format::Mp3,
    }
}

/// The form of the files that are asked for.
pub(super) fn target(args: &Render, format: Format, rate: SampleRate) -> Result<Target, Failure> {
    Target::new(format, rate, args.mono, args.quality).map_err(|unfit| {
        Failure::Usage(match unfit {
            UnfitTarget::Mp3(UnfitMp3::Rate(_)) | UnfitTarget::FlacRate(_) => {
                format!("{unfit}: choose one with --rate, or another format")
            }
            UnfitTarget::Lossless(format) => format!("--quality is of MP3; {format} loses nothing"),
            UnfitTarget::Mp3(UnfitMp3::Kilobits { .. }) | UnfitTarget::NotBuiltIn(_) => unfit.to_string(),
        })
    })
}

/// Where captions are to be written, if they are.
pub(super) fn captions(args: &Render, output: &Path) -> Result<Option<PathBuf>, Failure> {
    let path = match args.captions() {
        CaptionsPlace::Nowhere => return Ok(None),
        CaptionsPlace::Beside if is_stdout(output) => {
            let message = "where the sound goes to standard output, captions need a name: --captions=FILE";
            return Err(Failure::Usage(message.to_owned()));
        }
        CaptionsPlace::Beside => output.with_extension("vtt"),
        CaptionsPlace::In(file) => file.to_owned(),
    };
    if path == output {
        return Err(Failure::Usage(format!("{} cannot be both the sound and its captions", path.shown())));
    }
    Ok(Some(path))
}

/// Makes the folder of many files.
pub(super) fn make_folder(folder: &Path, access: Access) -> Result<FolderForFiles, Failure> {
    FolderForFiles::make(folder, access)
        .map_err(|error| Failure::World(format!("cannot make the folder {}: {error}", folder.shown())))
}

/// What many practices end as: by the gravest reason, with `there` of them made or found, in words.
pub(super) fn verdict(tally: Tally, there: &str) -> Result<(), Failure> {
    match tally {
        Tally { stopped: 1.., .. } => Err(Failure::Interrupted(format!("interrupted; {there}"))),
        Tally { failed: 1.., .. } => Err(Failure::World(there.to_owned())),
        Tally { wrong: 1.., .. } => Err(Failure::Shown),
        _ => Ok(()),
    }
}

/// Why the exposure of what has been made cannot be given.
#[derive(Debug)]
pub(super) enum NoExposure {
    /// Nobody says how loud the player is.
    NoLevel,
    /// The practice could not be rendered for it.
    Rendering(NotRendered),
}

impl fmt::Display for NoExposure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoLevel => f.write_str(
                "the file is made, but its exposure is not known: give --max-level or the profile's `player`",
            ),
            Self::Rendering(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for NoExposure {}

/// The exposure, where it is asked for by a level.
pub(super) fn exposure(args: &Render, planned: &Planned, stop: &AtomicBool) -> Result<Option<Estimate>, NoExposure> {
    let ears = if args.sensitive_ears { Ears::Sensitive } else { Ears::Adult };
    match args.max_level.or(planned.swimmer.loudest) {
        _ if args.reading.audience == AudienceArg::Speaker => Ok(None),
        Some(loudest) => exposure::estimate(planned, loudest, ears, stop).map_err(NoExposure::Rendering),
        None if args.sensitive_ears => Err(NoExposure::NoLevel),
        None => Ok(None),
    }
}
