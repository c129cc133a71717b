//! The arguments of `play`.

use super::reading::{LaneChoice, ScriptArgs};
use clap::Args as ClapArgs;
use std::path::PathBuf;

/// `play`
#[derive(Debug, ClapArgs)]
pub struct PlayArgs {
    /// What to read
    #[command(flatten)]
    pub input: ScriptArgs,
    /// Who shares the lane
    #[command(flatten)]
    pub lanes: LaneChoice,
    /// The sound output: its name, or a part that no other has; the system's default where not given
    #[arg(long, value_name = "NAME")]
    pub device: Option<String>,
    /// Frames that the output takes at a time, 16 to 65536; 2048 where not given. Fewer answer faster and break up sooner
    #[arg(long, value_name = "FRAMES", value_parser = clap::value_parser!(u32).range(16..=65_536))]
    pub buffer: Option<u32>,
    /// No screen: what happens is printed a line each
    #[arg(long)]
    pub no_screen: bool,
    /// Where what was swum is recorded, a new file or a folder; lengthwise/sessions among the user's state where not given
    #[arg(long, value_name = "FILE", conflicts_with = "no_record")]
    pub record: Option<PathBuf>,
    /// Record nothing
    #[arg(long)]
    pub no_record: bool,
    /// Without a device, as fast as can be: commands are lines of `TIME command` such as `1:05.25 touch`, TIME counted from
    /// the beginning of the sound, which goes on in a pause. Recorded only where --record says so
    #[arg(long, conflicts_with_all = ["device", "buffer"])]
    pub dry_run: bool,
    /// A dry run with the commands of a session record, at the frames at which they took effect
    #[arg(long, value_name = "RECORD", conflicts_with_all = ["device", "buffer", "rate"])]
    pub replay: Option<PathBuf>,
    /// Play a record again though it is of another script, of another version of this one, or of another swimmer
    #[arg(long, requires = "replay")]
    pub anyway: bool,
    /// A dry run's frames a second, 8000 to 192000; 44100 where not given
    #[arg(long, value_name = "HERTZ", requires = "dry_run", value_parser = clap::value_parser!(u32).range(8_000..=192_000))]
    pub rate: Option<u32>,
    /// A dry run's sound as a file
    #[arg(short, long, value_name = "FILE.wav")]
    pub output: Option<PathBuf>,
}
