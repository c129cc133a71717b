//! The arguments of `record`.

use super::pack::{Shelves, WantedTexts};
use clap::{Args as ClapArgs, ValueEnum};
use std::path::PathBuf;

/// `record`
#[derive(Debug, ClapArgs)]
pub struct Record {
    /// The pack: its folder, or the name of one in the user's folder
    #[arg(value_name = "PACK")]
    pub pack: String,
    /// Which of its texts
    #[command(flatten)]
    pub wanted: WantedTexts,
    /// What was read into a telephone, in place of a microphone: one long take, or many files with any names
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with_all = ["microphone", "list"])]
    pub from: Vec<PathBuf>,
    /// With --from: ask nothing where every text was read once, in order, and every length fits
    #[arg(long, requires = "from")]
    pub yes: bool,
    /// The microphone: its name, or a part that no other has; the system's default where not given
    #[arg(long, value_name = "NAME")]
    pub microphone: Option<String>,
    /// The sound output for playing takes back; the system's default where not given
    #[arg(long, value_name = "NAME")]
    pub device: Option<String>,
    /// Do not play takes back
    #[arg(long)]
    pub no_playback: bool,
    /// The format of recordings
    #[arg(long, value_name = "FORMAT", default_value = "wav")]
    pub format: TakeForm,
    /// No screen: what happens is printed a line each
    #[arg(long)]
    pub no_screen: bool,
    /// Only list what would be recorded
    #[arg(long)]
    pub list: bool,
    /// Where packs are looked for
    #[command(flatten)]
    pub shelves: Shelves,
}

/// The formats of recordings: both one channel, 24 bits, at the microphone's rate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TakeForm {
    /// Opens everywhere
    Wav,
    /// The same samples in about half the room
    Flac,
}
