//! What the options of `render` come to, for one file, several, tracks and squads alike.

use super::Failure;
use super::args::{Form, Heard, Render};
use crate::audio::exposure::Ears;
use crate::prepare::Planned;
use crate::render::exposure::{self, Estimate};
use crate::render::file;
use crate::sink::file::Replace;
use crate::sink::mp3;
use crate::sink::output::Format;
use crate::timeline::captions;
use crate::units::time::SampleRate;
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

/// Whether this build can write the format as asked for; the kilobits of MP3.
pub(super) fn kilobits(args: &Render, format: Format, rate: SampleRate) -> Result<Option<u32>, Failure> {
    if !format.is_built_in() {
        let message = format!("this build cannot write {format}: it was made without the feature `mp3`");
        return Err(Failure::Usage(message));
    }
    match (format, args.quality) {
        (Format::Mp3, asked) => mp3::kilobits(rate, asked).map(Some).map_err(|error| match error {
            mp3::Unfit::Rate(_) => Failure::Usage(format!("{error}: choose one with --rate, or another format")),
            mp3::Unfit::Kilobits { .. } => Failure::Usage(error.to_string()),
        }),
        (_, None) => Ok(None),
        (_, Some(_)) => Err(Failure::Usage(format!("--quality is of MP3; {format} loses nothing"))),
    }
}

/// Where captions are to be written, if they are.
pub(super) fn captions(args: &Render, output: &Path, identity: &str) -> Result<Option<(PathBuf, Replace)>, Failure> {
    let Some(asked) = &args.captions else { return Ok(None) };
    let path = asked.clone().unwrap_or_else(|| output.with_extension("vtt"));
    if path == output {
        return Err(Failure::Usage(format!("{} cannot be both the sound and its captions", path.display())));
    }
    let replace = may_replace(&path, &captions::note(identity), args.force)?;
    Ok(Some((path, replace)))
}

/// The exposure, where it is asked for by a level.
pub(super) fn exposure(args: &Render, planned: &Planned, stop: &AtomicBool) -> Result<Option<Estimate>, String> {
    let ears = if args.sensitive_ears { Ears::Sensitive } else { Ears::Adult };
    match args.max_level.or(planned.swimmer.loudest) {
        _ if args.reading.audience == Heard::Speaker => Ok(None),
        Some(loudest) => exposure::estimate(planned, loudest, ears, stop).map_err(|error| error.to_string()),
        None if args.sensitive_ears => {
            Err("the file is made, but its exposure is not known: give --max-level or the profile's `player`"
                .to_owned())
        }
        None => Ok(None),
    }
}

/// A file of that name gives way only to a render of the same script, or to force.
pub(super) fn may_replace(output: &Path, identity: &str, force: bool) -> Result<Replace, Failure> {
    file::may_replace(output, identity, force).map_err(|error| Failure::world(&error))
}
