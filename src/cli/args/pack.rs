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
  lengthwise pack bundle my-voice                      writes my-voice-v1.zip here
  lengthwise pack bundle my-voice -o /mnt/stick/my-voice.zip
  lengthwise pack bundle my-voice --raise              after a change: version 2, my-voice-v2.zip

The file is a plain ZIP with one folder in it: pack.yaml, the scripts beside it, the recordings of its texts, and
SHA256SUMS. What else lies in the pack's folder is left out and listed. The same pack gives the same bytes. A pack with
an error in it is not put into a file.")]
    Bundle(Bundle),
    /// Take in a pack from such a file
    #[command(after_help = "Examples:
  lengthwise pack open my-voice-v1.zip                 into your own folder of packs, ~/.local/share/lengthwise/packs
  lengthwise pack open my-voice-v1.zip --into club     into club/my-voice
  lengthwise render tuesday.yaml --voice-from my-voice

Everything in the file is checked before anything is put in place. A pack never gives way to an older one, nor to
another of the same version unless you say --replace. One that gives way is kept whole in the hidden folder .before.")]
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
    /// The file to write; NAME-vN.zip here where not given
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Raise the version in the pack's manifest by one first
    #[arg(long)]
    pub raise: bool,
    /// The summary as JSON
    #[arg(long)]
    pub json: bool,
}

/// `pack open`
#[derive(Debug, ClapArgs)]
pub struct Open {
    /// The file
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The folder to put the pack's folder into; your own folder of packs where not given
    #[arg(long, value_name = "DIR")]
    pub into: Option<PathBuf>,
    /// Let a pack of the same version with other content give way; it is kept
    #[arg(long)]
    pub replace: bool,
    /// The summary as JSON
    #[arg(long)]
    pub json: bool,
}
