//! Every command and flag: the one source of help.

use crate::script::quantity::level;
use crate::units::level::SoundLevel;
use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Turns a written swim practice into sound that reaches the swimmer at the stroke where it matters.
#[derive(Debug, Parser)]
#[command(name = "lengthwise", version, max_term_width = 100, arg_required_else_help = true)]
#[command(after_help = "Examples:
  lengthwise check first-lengths/level-body
  lengthwise render first-lengths/level-body -o level-body.wav
  lengthwise check my-practice.yaml --swimmer ida.yaml --timeline

Exit codes: 0 ok, 1 the script or data has errors, 2 usage, 3 a file or device failed, 130 interrupted.
A practice aid, not medical advice: never swim alone; staff, whistle and alarm come first.")]
pub struct Args {
    /// Colour in messages
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    pub color: When,
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// When to use colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum When {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Begin a cue script: from a commented template, or from a whiteboard
    #[command(after_help = "Examples:
  lengthwise new tuesday.yaml                          a first practice with comments, to change as you like
  lengthwise new tuesday.yaml --template ladder
  lengthwise new tuesday.yaml --from \"200 easy; 4x50 on 1:45 drill fist; 6x50 r20 1.40-1.20; 100 easy\"
  lengthwise new - --from \"8x25 (kick/swim) r15\" --pool \"25 yd\"    the script on standard output
  lengthwise new tuesday.yaml --from - < board.txt     a whole board, a set a line
  lengthwise new --schema > lengthwise.schema.json     for an editor that completes and checks as you write

A whiteboard holds swims behind each other, separated by `;`, `+` or lines:
  how many and how far   200, 4x50, 50-100-50, 10 min, 3x(50 kick + 50 swim), 1:00 between rounds
  when to leave          on 1:30 (send-off), r15, rest 15, 15s rest, 10s per 50 rest
  how                    easy, steady, brisk, fast, build; free, back, breast, fly, im, choice; kick, pull, scull;
                         drill fist; fins, paddles, buoy, snorkel; 1.30, 1.40-1.20, 52/min (tempo); pace 2:05-1:50;
                         breathe 3; focus reach-forward; timed; (25 kick / 25 swim)
  headings               warm-up: main: cool-down: before a swim, or on a line of their own

What it understood is said line by line, and what it assumed. What it does not understand is an error: nothing is dropped.")]
    New(New),
    /// Say what is wrong with a cue script, or show its plan
    #[command(after_help = "Examples:
  lengthwise check level-body.yaml                     the plan as a table
  lengthwise check level-body.yaml --swimmer ida.yaml  for one swimmer
  lengthwise check first-lengths/level-body --json     a practice that comes with the program, as JSON
  lengthwise check level-body.yaml --timeline          every cue with its time, one a line, tab-separated:
                                                       onset and duration in seconds, kind, id, text
  lengthwise check level-body.yaml --for player        which track of a small player holds what
  lengthwise check --explain no-rest                   what a code means, with an example and the mended one
  lengthwise check --explain                           every code")]
    Check(Check),
    /// Make a sound file of a cue script
    #[command(after_help = "Examples:
  lengthwise render level-body.yaml                    writes level-body.wav here
  lengthwise render level-body.yaml -o pool/mine.wav --swimmer ida.yaml
  lengthwise render level-body.yaml --rate 48000 --mono
  lengthwise render level-body.yaml -o level-body.mp3 --captions
  lengthwise render level-body.yaml --player tracks    numbered tracks that a small player plays one after another
  lengthwise render level-body.yaml --split set -o mine.wav
                                                       \"mine 01 Easy start.wav\" and so on, without a gap
  lengthwise render monday.yaml friday.yaml --swimmer ida.yaml --swimmer bo.yaml -o week
                                                       four files in the folder week, side by side on all cores

The file is written beside its final name and renamed when it is complete. An existing file is replaced only if it is
this program's render of the same script, or with --force.")]
    Render(Render),
    /// Play a practice live, steered line by line
    #[command(after_help = format!("Examples:
  lengthwise play level-body.yaml --swimmer ida.yaml
  lengthwise play level-body.yaml --device head --buffer 1024
  lengthwise play level-body.yaml --no-screen < commands.txt
  echo \"1:05.25 touch\" | lengthwise play level-body.yaml --dry-run -o what-if.wav
                                                       what would happen, without a device and at once
  lengthwise play level-body.yaml --replay RECORD.jsonl -o as-it-was.wav

Keys, and the same as a line on standard input where there is no screen; at the end of that input it plays on:
{}
`faster 0.03`, `voice up 2` and the like take a number, in seconds or dB.

Where the sound goes away, the practice's clock goes on and the sound comes back at what is due.
The coach watches the water, not the screen. A whistle at the wall must still be heard.", crate::display::keys::help()))]
    Play(Play),
    /// List the sound outputs
    #[command(after_help = "Examples:
  lengthwise devices                                   what `play --device` can name
  lengthwise devices --json")]
    Devices(Devices),
    /// Print the manual page, or write a page for each command into a folder
    #[command(after_help = "Examples:
  lengthwise man | man -l -                            read it here
  lengthwise man ~/.local/share/man/man1               then `man lengthwise`, `man lengthwise-check`")]
    Man(Man),
    /// Print what a shell needs to complete commands and options
    #[command(after_help = "Examples:
  lengthwise completions bash > ~/.local/share/bash-completion/completions/lengthwise
  lengthwise completions fish > ~/.config/fish/completions/lengthwise.fish
  lengthwise completions zsh > ~/.zfunc/_lengthwise    a folder of your fpath")]
    Completions(Completions),
}

/// What to read.
#[derive(Debug, ClapArgs)]
pub struct Input {
    /// A cue script: a YAML file, or PACK/NAME of one that comes with the program
    #[arg(value_name = "SCRIPT")]
    pub script: PathBuf,
    /// The swimmer's profile; without it an adult new to crawl is assumed, and every assumption named
    #[arg(long, value_name = "FILE")]
    pub swimmer: Option<PathBuf>,
    /// How it is read
    #[command(flatten)]
    pub reading: Reading,
}

/// How scripts are read: with which packs and voices, for whose ears.
#[derive(Clone, Debug, ClapArgs)]
pub struct Reading {
    /// A folder that holds cue packs, searched after the script's own; may be given again
    #[arg(long, value_name = "DIR")]
    pub packs: Vec<PathBuf>,
    /// What it is heard through: a speaker at the poolside does not reach a head in the water
    #[arg(long = "for", value_name = "WHAT", default_value = "headphones")]
    pub audience: Heard,
    /// The pack whose recordings win wherever it has one, such as your own voice: its name, or its folder
    #[arg(long, value_name = "PACK")]
    pub voice_from: Option<String>,
    /// Leave what has no recording to a tone; without it the built-in voice says it
    #[arg(long)]
    pub no_speech: bool,
}

/// Where a render is split.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Split {
    /// Before the first word said of each set
    Set,
    /// And before the countdown of each repeat
    Repeat,
}

/// What a practice is heard through.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Heard {
    /// In the ear, all the time
    Headphones,
    /// At the wall: phrases before the go, no beats while swimming unless the script names them
    Speaker,
    /// In the ear, from a small player: tracks that stand alone, played one after another
    Player,
}

/// `check`
#[derive(Debug, ClapArgs)]
pub struct Check {
    /// A cue script: a YAML file, or PACK/NAME of one that comes with the program; absent with `--explain`
    #[arg(value_name = "SCRIPT")]
    pub script: Option<PathBuf>,
    /// The swimmer's profile; without it an adult new to crawl is assumed, and every assumption named
    #[arg(long, value_name = "FILE")]
    pub swimmer: Option<PathBuf>,
    /// How it is read
    #[command(flatten)]
    pub reading: Reading,
    /// Say what a code such as `no-rest` means, with an example and the mended one; without CODE: list every code
    #[arg(long, value_name = "CODE", num_args = 0..=1, default_missing_value = "", conflicts_with_all = ["script", "swimmer", "packs", "voice_from", "no_speech", "timeline", "json"])]
    pub explain: Option<String>,
    /// Every cue, one a line, tab-separated
    #[arg(long, conflicts_with = "json")]
    pub timeline: bool,
    /// The plan and all problems as JSON
    #[arg(long)]
    pub json: bool,
}

/// `render`
#[derive(Debug, ClapArgs)]
pub struct Render {
    /// Cue scripts: YAML files, or PACK/NAME of those that come with the program
    #[arg(value_name = "SCRIPT", required = true)]
    pub scripts: Vec<PathBuf>,
    /// The swimmer's profile; given again, every script is made for each of them
    #[arg(long = "swimmer", value_name = "FILE")]
    pub swimmers: Vec<PathBuf>,
    /// How it is read
    #[command(flatten)]
    pub reading: Reading,
    /// Estimate the sound exposure: the level that a full-scale sine has at the ear at the volume in use, such as "94 dBA";
    /// the profile's `player: { loudest: 94 dBA }` where not given
    #[arg(long, value_name = "LEVEL", value_parser = sound_level)]
    pub max_level: Option<SoundLevel>,
    /// Hold the exposure against the weekly allowance of children and sensitive ears
    #[arg(long)]
    pub sensitive_ears: bool,
    /// Where to write; the script's name here where not given; its ending tells the format. Of several: their folder
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// The format, where the output's name does not tell it; WAV where nothing does
    #[arg(long, value_name = "FORMAT")]
    pub format: Option<Form>,
    /// Kilobits a second of MP3: 64, 80, 96, 112, 128, 160, 192, 224, 256 or 320; 128 where not given
    #[arg(long, value_name = "KBIT/S")]
    pub quality: Option<u32>,
    /// The spoken words too, as WebVTT: beside the output, its name with .vtt, where no FILE is given
    #[arg(long, value_name = "FILE", num_args = 0..=1, require_equals = true)]
    pub captions: Option<Option<PathBuf>>,
    /// Make numbered tracks for a small player, with a playlist, in this folder: each stands alone, whatever the player pauses
    #[arg(long, value_name = "DIR", conflicts_with_all = ["output", "split", "captions"])]
    pub player: Option<PathBuf>,
    /// Make a file of each part; end to end they are the single file. With -o DIR: in a folder
    #[arg(long, value_name = "PART", conflicts_with = "captions")]
    pub split: Option<Split>,
    /// Frames a second, 8000 to 192000
    #[arg(long, value_name = "HERTZ", default_value_t = 44_100, value_parser = clap::value_parser!(u32).range(8_000..=192_000))]
    pub rate: u32,
    /// One channel instead of two
    #[arg(long)]
    pub mono: bool,
    /// Replace whatever the output's name holds
    #[arg(long)]
    pub force: bool,
    /// The summary as JSON
    #[arg(long)]
    pub json: bool,
}

/// The formats of sound files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// Plays everywhere, 10 MB a minute; a marker at each repeat
    Wav,
    /// The same samples in a tenth of the room or less, with tags and chapters
    Flac,
    /// For small players: 1 MB a minute, gapless, with tags and chapters
    Mp3,
}

impl Check {
    /// What to read, if anything.
    pub fn input(&self) -> Option<Input> {
        let (swimmer, reading) = (self.swimmer.clone(), self.reading.clone());
        self.script.clone().map(|script| Input { script, swimmer, reading })
    }
}

impl Render {
    /// What is to be made: each script for each swimmer.
    pub fn inputs(&self) -> Vec<Input> {
        let swimmers: Vec<_> = match self.swimmers.as_slice() {
            [] => vec![None],
            some => some.iter().cloned().map(Some).collect(),
        };
        let input = |script: &PathBuf, swimmer: &Option<PathBuf>| Input {
            script: script.clone(),
            swimmer: swimmer.clone(),
            reading: self.reading.clone(),
        };
        self.scripts.iter().flat_map(|script| swimmers.iter().map(move |swimmer| input(script, swimmer))).collect()
    }
}

/// `play`
#[derive(Debug, ClapArgs)]
pub struct Play {
    /// What to read
    #[command(flatten)]
    pub input: Input,
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
    /// A dry run's frames a second, 8000 to 192000; 44100 where not given
    #[arg(long, value_name = "HERTZ", requires = "dry_run", value_parser = clap::value_parser!(u32).range(8_000..=192_000))]
    pub rate: Option<u32>,
    /// A dry run's sound as a file
    #[arg(short, long, value_name = "FILE.wav")]
    pub output: Option<PathBuf>,
}

/// `devices`
#[derive(Debug, ClapArgs)]
pub struct Devices {
    /// The outputs as JSON
    #[arg(long)]
    pub json: bool,
}

/// `man`
#[derive(Debug, ClapArgs)]
pub struct Man {
    /// Where to write lengthwise.1 and a page for each command; the folder is made if need be
    #[arg(value_name = "DIR")]
    pub folder: Option<PathBuf>,
}

/// `completions`
#[derive(Debug, ClapArgs)]
pub struct Completions {
    /// Which shell
    #[arg(value_name = "SHELL")]
    pub shell: Shell,
}

/// The shells that can be completed for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Shell {
    /// bash
    Bash,
    /// Elvish
    Elvish,
    /// fish
    Fish,
    /// PowerShell
    Powershell,
    /// zsh
    Zsh,
}

/// `new`
#[derive(Debug, ClapArgs)]
pub struct New {
    /// The script to write, such as tuesday.yaml; `-` writes it to standard output
    #[arg(value_name = "NAME.yaml", required_unless_present = "schema")]
    pub name: Option<PathBuf>,
    /// Instead of a script: the JSON Schema of scripts on standard output, for editors
    #[arg(long, conflicts_with_all = ["name", "template", "from"])]
    pub schema: bool,
    /// Which template
    #[arg(long, value_name = "TEMPLATE", default_value = "first-practice", conflicts_with = "from")]
    pub template: Template,
    /// Read a whiteboard: its text, or `-` for standard input
    #[arg(long, value_name = "TEXT", allow_hyphen_values = true)]
    pub from: Option<String>,
    /// Where the whiteboard is swum: 25 m where not given; also "25 yd", "50 m", "open water"
    #[arg(long, value_name = "POOL", requires = "from")]
    pub pool: Option<String>,
    /// The title of the whiteboard's practice
    #[arg(long, value_name = "TITLE", requires = "from")]
    pub title: Option<String>,
    /// The cue pack whose drills and phrases the whiteboard names; the first built-in one that has them where not given
    #[arg(long, value_name = "NAME", requires = "from")]
    pub pack: Option<String>,
    /// The swimmer for whom the whiteboard is tried; an adult new to crawl where not given
    #[arg(long, value_name = "FILE", requires = "from")]
    pub swimmer: Option<PathBuf>,
    /// A folder that holds cue packs; may be given again
    #[arg(long, value_name = "DIR", requires = "from")]
    pub packs: Vec<PathBuf>,
}

/// What a new script begins as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Template {
    /// Drill, focus and a first beat
    FirstPractice,
    /// Distances and tempos up and down
    Ladder,
    /// A timed swim, then send-offs
    TimedSet,
    /// By time, both sides, looking ahead
    OpenWater,
}

fn sound_level(text: &str) -> Result<SoundLevel, String> {
    level::sound_level(text, "the loudest level").map_err(|fault| match fault.hint {
        Some(hint) => format!("{}; {hint}", fault.message),
        None => fault.message,
    })
}
