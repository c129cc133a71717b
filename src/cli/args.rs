//! Every command and flag: the one source of help. The commands with many of them have files of their own.

mod lane;
mod log;
mod new;
mod next;
mod pack;
mod page;
mod play;
mod reading;
mod record;
mod render;
mod review;
mod tap;

use crate::display::key_tables::{KEYS, LANE_KEYS};
use crate::prepare::WhoSwims;
use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
pub use lane::LaneArgs;
pub use log::{
    AnswerArgs, BackupNotebook, EditPractice, ExportTables, ImportTables, Keep, ListPractices, Log, LogCommand,
    MakeSheet, NoteSwimmer, NotebookArg, RemovePractice, ShowPractice, TakeSheet, UndoChange, WrittenDay,
};
pub use new::{New, TemplateName};
pub use next::Next;
pub use pack::{
    Bundle, CheckPack, List, NewPack, OpenArgs, Pack, PackCommand, ReadingSheet, Say, Shelves, Show, SpeakTexts,
    WantedTexts,
};
pub use page::PageArgs;
pub use play::PlayArgs;
pub use reading::{AudienceArg, LaneChoice, Reading, ScriptArgs};
pub use record::{Record, TakeForm};
pub use render::{CaptionsPlace, Form, Render, SplitAt};
pub use review::{ReviewArgs, ReviewTopic};
use std::path::PathBuf;
pub use tap::{CountsOf, TapArgs};

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
    pub command: Verb,
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
pub enum Verb {
    /// Begin a cue script, from a commented template or a whiteboard, or a swimmer's profile
    #[command(after_help = "Examples:
  lengthwise new tuesday.yaml                          a first practice with comments, to change as you like
  lengthwise new tuesday.yaml --template ladder
  lengthwise new tuesday.yaml --from \"200 easy; 4x50 on 1:45 drill fist; 6x50 r20 1.40-1.20; 100 easy\"
  lengthwise new - --from \"8x25 (kick/swim) r15\" --pool \"25 yd\"    the script on standard output
  lengthwise new tuesday.yaml --from - < board.txt     a whole board, a set a line
  lengthwise new ida.yaml --profile --hundred 1:50     a swimmer, for --swimmer; on a terminal it asks
  lengthwise new --schema > lengthwise.schema.json     for an editor that completes and checks as you write

A whiteboard holds swims behind each other, separated by `;`, `+` or lines:
  how many and how far   200, 4x50, 50-100-50, 10 min, 3x(50 kick + 50 swim), 1:00 between rounds
  when to leave          on 1:30 (send-off), r15, rest 15, 15s rest, 10s per 50 rest
  how                    easy, steady, brisk, fast, build; free, back, breast, fly, im, choice; kick, pull, scull;
                         drill fist; fins, paddles, buoy, snorkel; 1.30, 1.40-1.20, 52/min (tempo); pace 2:05-1:50;
                         breathe 3; focus reach-forward; timed; (25 kick / 25 swim)
  some repeats           8x50 odds easy evens fast; 8x50 1-4 easy 5-8 brisk; 12x25 every 4th fast; 12x25 3 easy 1 fast
  headings               warm-up: main: cool-down: before a swim, or on a line of their own

What it understood is said line by line, and what it assumed. What it cannot read, or nobody could swim, stands in the script
as a comment with the problem; then the command ends with 1.")]
    New(New),
    /// Say what is wrong with a cue script, or show its plan
    #[command(after_help = "Examples:
  lengthwise check level-body.yaml                     the plan as a table
  lengthwise check level-body.yaml --swimmer 1:50      for somebody who swims 100 in 1:50
  lengthwise check level-body.yaml --swimmer ida.yaml  for one swimmer
  lengthwise check first-lengths/level-body --json     a practice that comes with the program, as JSON
  lengthwise check level-body.yaml --timeline          every cue with its time, one a line, tab-separated:
                                                       onset and duration in seconds, kind, id, text
  lengthwise check level-body.yaml --for player        which track of a small player holds what
  lengthwise check monday.yaml --lane lanes.csv        for a lane: who leaves when, what its speaker says
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
  lengthwise render monday.yaml --roster squad.csv --player players
                                                       a folder for each swimmer of the squad, at their tempos
  lengthwise render monday.yaml --lane lanes.csv --for speaker
                                                       one speaker that calls every start of a lane
  lengthwise render monday.yaml --lane lanes.csv --lane-files pool
                                                       or a file for each of its swimmers, on one clock

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
  lengthwise play monday.yaml --lane lanes.csv         a lane at its speaker, its swimmers' touches keyed one by one

Keys, and the same as a line on standard input where there is no screen; at the end of that input it plays on:
{}
`faster 0.03`, `voice up 2` and the like take a number, in seconds or dB. `tempo 1.08` sets a tempo by its value.

Of a lane, whose swimmers have the numbers 1 to 8 in the planned order of leaving; what changes who leaves when holds
from the next start on:
{}

Where the sound goes away, the practice's clock goes on and the sound comes back at what is due.
The coach watches the water, not the screen. A whistle at the wall must still be heard.", crate::display::keys::help(KEYS), crate::display::keys::help(LANE_KEYS)))]
    Play(PlayArgs),
    /// Make a page of a practice: to look at, to listen to, to print
    #[command(after_help = "Examples:
  lengthwise page level-body.yaml                      writes level-body.html here, for any browser
  lengthwise page level-body.yaml --swimmer ida.yaml -o ida.html
  lengthwise page monday.yaml --roster squad.csv -o pages
                                                       a page for each swimmer of the squad
  lengthwise page level-body.yaml --sound              with the practice in it: play, seek, see what is said

The page is one file that fetches nothing. What it prints is the deck sheet: a page or two, large, black on white.
Keys where it has sound: space plays and stops, arrows move by 5 s, [ and ] by a start, + and - and 0 zoom.")]
    Page(PageArgs),
    /// Simulate a group in one lane or several: who is caught, who rests how long, and what would work better
    #[command(after_help = "Examples:
  lengthwise lane three-lanes.yaml                     a script that says under `lane` who swims where
  lengthwise lane monday.yaml --lane lanes.csv         any script; the swimmers and their lanes from a roster
  lengthwise lane monday.yaml --lane lanes.csv --rest 15
  lengthwise lane monday.yaml --lane lanes.csv --picture lanes.svg
  lengthwise lane monday.yaml --lane lanes.csv --page lanes.html
  lengthwise lane monday.yaml --lane lanes.csv --json

The leader leaves on the send-off, the others a gap behind each other. Times are drawn from what is known of each swimmer, again
and again; with the same --seed and --runs the answer is the same. Each piece of advice has been simulated too.
A coach watches the water, not the screen. Nobody swims where they cannot stop at the wall; lifeguards and the pool's rules
decide.")]
    Lane(LaneArgs),
    /// Measure tempo and count by tapping strokes, from the deck or from a film
    #[command(after_help = format!("Examples:
  lengthwise tap                                       tap along: every hand, and enter at the walls
  lengthwise tap --film-speed 0.5                      along with a film at half speed, which halves the hand's scatter
  lengthwise tap --json < taps.txt                     taps as lines: `0.00 wall`, `3.10`, `4.18 b`, `26.4 wall`
  lengthwise tap --profile ida.yaml                    count and tempo into a profile; asks before it writes
  lengthwise tap --log --swimmer Ida                   into the notebook, as a practice of its own
  lengthwise tap --log --into 2.3                      into repeat 3 of set 2 of today's practice, which was logged before
  lengthwise tap --tempo-for-play < taps.txt           the line that gives `play` this tempo: `tempo 1.08`

Keys:
{}
As lines on standard input: the seconds, then nothing, `b`, `left`, `right`, `wall` or `new`.

Tap each hand as it goes in, `b` in place of the space bar where the swimmer breathes. All keys can be found without looking.
A missed or a double tap is corrected in the tempo; in the count it is a question.
The coach watches the water, not the screen.", crate::display::taps::keys::help()))]
    Tap(TapArgs),
    /// Make, look at, check and share cue packs
    Pack(Pack),
    /// Record the texts of a cue pack in your own voice
    #[command(after_help = format!("Examples:
  lengthwise record my-pack                            what its scripts use and nobody has recorded
  lengthwise record my-pack --all                      every text of the pack that has no recording
  lengthwise record my-pack --only reach-forward,fist  these, whether recorded or not
  lengthwise record my-pack --microphone headset
  lengthwise record my-pack --no-screen < answers.txt
  lengthwise record my-pack --from reading.m4a         what was read from `pack sheet` into a telephone
  lengthwise record my-pack --for tuesday.yaml --from one.m4a two.m4a --no-playback

Each text is shown, counted in and recorded; silence ends the take. It is trimmed, its level is checked, it is played back,
and you decide. Keys, and the same as a line on standard input where there is no screen:
{}
What is kept is safe on the disk before the next text comes. A recording that is replaced moves to the folder `earlier`.

With --from the texts were read aloud in the order of `pack sheet`, with a pause after each. The files are parted at the pauses and
laid beside the texts by length and order; words are not understood. Each piece is told, played once, and asked about by a line:
{}
Nothing is kept that was not confirmed, unless --yes says so and nothing is in doubt. The files are not changed. A run that was ended
is taken up by the same command: what the pack holds already of these files is not asked again.", crate::recording::answer::help(), crate::recording::reading::answer::help()))]
    Record(Record),
    /// Keep what was swum in the notebook, and look at it
    #[command(after_help = "Examples:
  lengthwise log first-lengths/level-body              asks what you remember: six questions at most, Enter leaves one out
  lengthwise log level-body.yaml --swimmer Ida --day yesterday
  lengthwise log level-body.yaml --count 4=19 --time 5.4=31.5 --feel 4 --effort 5 --minutes 42 --pain no
  lengthwise log RECORD.jsonl                          a live session; of a lane each of its swimmers at once
  lengthwise log list
  lengthwise log undo                                  takes back whatever was changed last

Places are numbers: 4 is set 4, 4.8 its eighth repeat, 4.8.1 the first length of that. With any of the options that say what
was observed nothing is asked. The notebook is one file, yours alone to read; those of children need a guardian's consent.")]
    Log(Box<Log>),
    /// Say what the notebook's practices mean: what changed, what holds, what was left alone
    #[command(after_help = "Examples:
  lengthwise review                                    one screen: counts, focus, breaths, load
  lengthwise review --swimmer Ida --on counts          every tempo that was counted, now and four weeks ago
  lengthwise review --on splits                        times as swum against those planned
  lengthwise review --swimmer Ida --page ida.html      as charts, for any browser
  lengthwise review --json

What is within a miscount or within chance is called so: \"can't tell\". A guess never counts.")]
    Review(ReviewArgs),
    /// Write the next practice from the notebook
    #[command(after_help = "Examples:
  lengthwise next                                      the script on standard output, its reason on standard error
  lengthwise next -o friday.yaml --minutes 50
  lengthwise next --swimmer Ida --pool \"50 m\" --pack tempo-range
  lengthwise next --compare reach-forward,soft-hand    two phrases take turns from now on
  lengthwise next --json                               the choices with their reasons

One thing changes from last time. The script fits whoever it is for, and is yours to change; log it when it is swum, with the
counts that it asks for, and the next one follows from them. Where something hurts, see a professional before you go on.")]
    Next(Next),
    /// List the sound outputs and the microphones
    #[command(after_help = "Examples:
  lengthwise devices                                   what `--device` and `--microphone` can name
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

/// `check`
#[derive(Debug, ClapArgs)]
pub struct Check {
    /// A cue script: a YAML file, or PACK/NAME of one in a pack; absent with `--explain`
    #[arg(value_name = "SCRIPT")]
    pub script: Option<PathBuf>,
    /// The swimmer: a profile, or the time of 100 such as 1:50; without it somebody new to crawl is assumed, and every
    /// assumption named
    #[arg(long, value_name = "WHO", value_parser = reading::swimmer())]
    pub swimmer: Option<WhoSwims>,
    /// Who shares a lane
    #[command(flatten)]
    pub lanes: LaneChoice,
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

impl Check {
    /// What to read, if anything.
    pub fn input(&self) -> Option<ScriptArgs> {
        let (swimmer, reading) = (self.swimmer.clone(), self.reading.clone());
        self.script.clone().map(|script| ScriptArgs { script, swimmer, reading })
    }
}

/// `devices`
#[derive(Debug, ClapArgs)]
pub struct Devices {
    /// The outputs and the microphones as JSON
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
