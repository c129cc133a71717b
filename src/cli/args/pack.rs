//! What `pack` and its commands are told.

use clap::{Args as ClapArgs, Subcommand};
use std::path::PathBuf;

/// `pack`
#[derive(Debug, ClapArgs)]
#[command(
    arg_required_else_help = true,
    after_help = "Examples:
  lengthwise pack new my-voice
  lengthwise pack check my-voice
  lengthwise pack bundle my-voice
  lengthwise pack open my-voice-v1.zip"
)]
pub struct Pack {
    /// What to do
    #[command(subcommand)]
    pub command: PackCommand,
}

/// The commands of `pack`.
#[derive(Debug, Subcommand)]
pub enum PackCommand {
    /// Begin a cue pack: whose voice, and that the speaker agreed
    #[command(after_help = "Examples:
  lengthwise pack new my-voice                         asks what it has to know")]
    New(NewPack),
    /// List the cue packs there are
    #[command(after_help = "Examples:
  lengthwise pack list
  lengthwise pack list --packs club --json")]
    List(List),
    /// Show a pack's texts, recordings and scripts
    #[command(after_help = "Examples:
  lengthwise pack show first-lengths")]
    Show(Show),
    /// Check every script and every recording of a pack
    #[command(after_help = "Examples:
  lengthwise pack check my-voice")]
    Check(CheckPack),
    /// Hear a text as the swimmer will
    #[command(after_help = "Examples:
  lengthwise pack say reach-forward")]
    Say(Say),
    /// Put a pack into one file, to pass on
    #[command(after_help = "Examples:
  lengthwise pack bundle my-voice                      writes my-voice-v1.zip here")]
    Bundle(Bundle),
    /// Take in a pack from such a file
    #[command(after_help = "Examples:
  lengthwise pack open my-voice-v1.zip")]
    Open(Open),
}

/// `pack new`
#[derive(Debug, ClapArgs)]
pub struct NewPack {
    /// The folder to make; its name is the pack's
    #[arg(value_name = "NAME")]
    pub folder: PathBuf,
}

/// `pack list`
#[derive(Debug, ClapArgs)]
pub struct List {
    /// A folder that holds cue packs; may be given again
    #[arg(long, value_name = "DIR")]
    pub packs: Vec<PathBuf>,
}

/// `pack show`
#[derive(Debug, ClapArgs)]
pub struct Show {
    /// The pack: its name, or its folder
    #[arg(value_name = "PACK")]
    pub pack: String,
}

/// `pack check`
#[derive(Debug, ClapArgs)]
pub struct CheckPack {
    /// The pack: its name, or its folder
    #[arg(value_name = "PACK")]
    pub pack: String,
}

/// `pack say`
#[derive(Debug, ClapArgs)]
pub struct Say {
    /// The text: its id, or its words
    #[arg(value_name = "PHRASE")]
    pub phrase: String,
}

/// `pack bundle`
#[derive(Debug, ClapArgs)]
pub struct Bundle {
    /// The pack's folder
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
}

/// `pack open`
#[derive(Debug, ClapArgs)]
pub struct Open {
    /// The file
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
}
