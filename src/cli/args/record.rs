//! The arguments of `record`.

use super::pack::Shelves;
use clap::{Args as ClapArgs, ValueEnum};

/// `record`
#[derive(Debug, ClapArgs)]
pub struct Record {
    /// The pack: its folder, or the name of one in the user's folder
    #[arg(value_name = "PACK")]
    pub pack: String,
    /// Every text of the pack without a recording of its own, whether a script uses it or not
    #[arg(long)]
    pub all: bool,
    /// These ids, separated by commas, whether recorded or not; a phrase's short form is ID.short
    #[arg(long, value_name = "IDS", value_delimiter = ',', conflicts_with_all = ["all", "again"])]
    pub only: Vec<String>,
    /// Texts that have a recording of their own too
    #[arg(long)]
    pub again: bool,
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
