//! The arguments of `log` and its commands.

use crate::units::calendar::Day;
use clap::{Args as ClapArgs, Subcommand};
use std::path::PathBuf;

/// Which notebook.
#[derive(Clone, Debug, ClapArgs)]
pub struct NotebookArg {
    /// The notebook; where not given LENGTHWISE_NOTEBOOK names it, else it is lengthwise/notebook.sqlite among the user's data
    #[arg(long, value_name = "FILE")]
    pub notebook: Option<PathBuf>,
}

/// `log`
#[derive(Debug, ClapArgs)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true, arg_required_else_help = true)]
pub struct Log {
    /// What to do; without a command a practice is kept
    #[command(subcommand)]
    pub command: Option<LogCommand>,
    /// The practice to keep
    #[command(flatten)]
    pub keep: Keep,
}

/// The commands of `log`.
#[derive(Debug, Subcommand)]
pub enum LogCommand {
    /// List the practices in the notebook
    #[command(after_help = "Examples:
  lengthwise log list                                  the last twenty
  lengthwise log list --swimmer Ida --last 60 --json")]
    List(ListPractices),
    /// Show one practice, set by set
    #[command(after_help = "Examples:
  lengthwise log show 12
  lengthwise log show 12 --json")]
    Show(ShowPractice),
    /// Mend or complete what was said of a practice; what is not said again stays
    #[command(after_help = "Examples:
  lengthwise log edit 12                               the same questions, with the present answers
  lengthwise log edit 12 --count 4.8=19 --pain no")]
    Edit(EditPractice),
    /// Take a practice out of the notebook
    #[command(after_help = "Examples:
  lengthwise log remove 12
  lengthwise log undo                                  and it is back")]
    Remove(RemovePractice),
    /// Take back the last change of the notebook, whatever it was
    #[command(after_help = "Examples:
  lengthwise log undo                                  again for the change before; up to 50 can be taken back")]
    Undo(UndoChange),
    /// Copy the notebook, also while it is in use
    #[command(after_help = "Examples:
  lengthwise log backup /mnt/stick/notebook-2026-11-29.sqlite")]
    Backup(BackupNotebook),
    /// Write the whole notebook as tables for a spreadsheet
    #[command(after_help = "Examples:
  lengthwise log export season                         practices.csv, sets.csv, repeats.csv, observations.csv, swimmers.csv,
                                                       the scripts and profiles as YAML, in the new folder season")]
    Export(ExportTables),
    /// Take such tables into the notebook
    #[command(after_help = "Examples:
  lengthwise log import season
  lengthwise log import season --notebook club.sqlite

A practice that is the same in everything is there already, so that importing twice doubles nothing. One of the same swimmer,
day, time and title that is not the same stops the import, unless --replace puts it in the place of the notebook's.")]
    Import(ImportTables),
    /// Make a sheet to fill in, for a squad or a phone
    #[command(after_help = "Examples:
  lengthwise log sheet monday.yaml --roster squad.yaml -o monday.csv
  lengthwise log sheet monday.yaml --swimmer Ida --swimmer Bo -o monday.csv

A row for each swimmer, the questions as columns; the second row says how to fill them in. `log take` reads it back.")]
    Sheet(MakeSheet),
    /// Take a sheet that was filled in
    #[command(after_help = "Examples:
  lengthwise log take monday.csv
  lengthwise log take monday.csv --roster squad.yaml   the squad's tempos, as when the sheet was made

Everything that is wrong is told at once, and then nothing is taken. A row without any answer is left out. The script is known
by its name and by a hash of its text: it must be as it was when the sheet was made. A name that neither the notebook nor the
roster knows is told, unless --new-swimmer takes it; a notebook in which nobody is yet takes all.")]
    Take(TakeSheet),
    /// Put a swimmer's profile into the notebook, or list the swimmers in it
    #[command(after_help = "Examples:
  lengthwise log swimmer                               who is in the notebook
  lengthwise log swimmer Ida --profile ida.yaml        practices of Ida are planned by it from now on")]
    Swimmer(NoteSwimmer),
}

/// `log SCRIPT`, `log RECORD`
#[derive(Debug, ClapArgs)]
pub struct Keep {
    /// What was swum: a cue script, as a file or PACK/NAME, or the record of a live session (.jsonl)
    #[arg(value_name = "SCRIPT", required = true)]
    pub practice: Option<PathBuf>,
    /// Who swam; the notebook's only swimmer where not given
    #[arg(long, value_name = "NAME")]
    pub swimmer: Option<String>,
    /// NAME is somebody new, even where it is near a name that the notebook knows
    #[arg(long)]
    pub new_swimmer: bool,
    /// When: 2026-11-28, or `yesterday`; today where not given, of a record its own day
    #[arg(long, value_name = "DAY", value_parser = read_day)]
    pub day: Option<WrittenDay>,
    /// The script of a record; found by the record's own word where not given
    #[arg(long, value_name = "SCRIPT")]
    pub script: Option<PathBuf>,
    /// Who swam in which lane, where the record is a lane's and its script does not say: a roster, YAML or CSV
    #[arg(long, value_name = "FILE")]
    pub lane: Option<PathBuf>,
    /// A folder that holds cue packs; may be given again
    #[arg(long, value_name = "DIR")]
    pub packs: Vec<PathBuf>,
    /// What was observed
    #[command(flatten)]
    pub answers: AnswerArgs,
    /// What was kept as JSON; nothing is asked then
    #[arg(long)]
    pub json: bool,
    /// Where it is kept
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// What is said of a practice by options instead of at questions.
#[derive(Debug, ClapArgs)]
pub struct AnswerArgs {
    /// What was left out: `no`, 3.2 (repeat 2 of set 3), 3.2-4, 5 (all of set 5), "from 4.3"
    #[arg(long, value_name = "PLACES", allow_hyphen_values = true)]
    pub missed: Vec<String>,
    /// Strokes of one length: 2.3=18 in repeat 3 of set 2, 2.3.1=18 in its first length, 2=18 where the set has one tempo; 18? is
    /// a guess, 18at1.10 was swum at another tempo; 2.3=no takes a count back; may be given again
    #[arg(long, value_name = "PLACE=STROKES")]
    pub count: Vec<String>,
    /// A time by the clock: 4=5:52, 4.2=58.4; 5:52? is a guess; 4.2=no takes one back; may be given again
    #[arg(long, value_name = "PLACE=TIME")]
    pub time: Vec<String>,
    /// Where the stroke fell apart: 3.5 for repeat 5 of set 3, `no` if it held
    #[arg(long, value_name = "PLACE")]
    pub apart: Vec<String>,
    /// How good the stroke felt: 1 nothing worked, 3 as usual, 5 it flowed
    #[arg(long, value_name = "1-5")]
    pub feel: Option<String>,
    /// How hard the whole was (session RPE): 0 rest, 2 easy, 5 hard, 7 very hard, 10 all you had
    #[arg(long, value_name = "0-10")]
    pub effort: Option<String>,
    /// How many minutes the whole took
    #[arg(long, value_name = "MINUTES")]
    pub minutes: Option<String>,
    /// Where it hurt; `no` if nothing did
    #[arg(long, value_name = "WHERE")]
    pub pain: Option<String>,
    /// Anything else
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,
    /// A coach counted and timed
    #[arg(long)]
    pub coach: bool,
}

/// `log list`
#[derive(Debug, ClapArgs)]
pub struct ListPractices {
    /// Only of this swimmer
    #[arg(long, value_name = "NAME")]
    pub swimmer: Option<String>,
    /// So many of the last
    #[arg(long, value_name = "N", default_value_t = 20)]
    pub last: u32,
    /// As JSON
    #[arg(long)]
    pub json: bool,
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// `log show`
#[derive(Debug, ClapArgs)]
pub struct ShowPractice {
    /// The practice's number, as `log list` has it
    #[arg(value_name = "N")]
    pub number: i64,
    /// As JSON
    #[arg(long)]
    pub json: bool,
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// `log edit`
#[derive(Debug, ClapArgs)]
pub struct EditPractice {
    /// The practice's number, as `log list` has it
    #[arg(value_name = "N")]
    pub number: i64,
    /// When it was: 2026-11-28, or `yesterday`
    #[arg(long, value_name = "DAY", value_parser = read_day)]
    pub day: Option<WrittenDay>,
    /// What was observed
    #[command(flatten)]
    pub answers: AnswerArgs,
    /// What is kept now as JSON; nothing is asked then
    #[arg(long)]
    pub json: bool,
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// `log export`
#[derive(Debug, ClapArgs)]
pub struct ExportTables {
    /// The folder to make
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// `log import`
#[derive(Debug, ClapArgs)]
pub struct ImportTables {
    /// The folder with the tables
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Put practices and profiles that differ in the place of the notebook's
    #[arg(long)]
    pub replace: bool,
    /// What was taken in as JSON
    #[arg(long)]
    pub json: bool,
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// `log sheet`
#[derive(Debug, ClapArgs)]
pub struct MakeSheet {
    /// The cue script that is or was swum
    #[arg(value_name = "SCRIPT")]
    pub script: PathBuf,
    /// The squad, as for `render`
    #[arg(long, value_name = "FILE", conflicts_with = "swimmer", required_unless_present = "swimmer")]
    pub roster: Option<PathBuf>,
    /// A swimmer; may be given again
    #[arg(long, value_name = "NAME")]
    pub swimmer: Vec<String>,
    /// When it is swum; today where not given
    #[arg(long, value_name = "DAY", value_parser = read_day)]
    pub day: Option<WrittenDay>,
    /// A folder that holds cue packs; may be given again
    #[arg(long, value_name = "DIR")]
    pub packs: Vec<PathBuf>,
    /// The sheet to write
    #[arg(short, long, value_name = "FILE.csv")]
    pub output: PathBuf,
    /// Which notebook knows the swimmers
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// `log take`
#[derive(Debug, ClapArgs)]
pub struct TakeSheet {
    /// The sheet
    #[arg(value_name = "FILE.csv")]
    pub sheet: PathBuf,
    /// The squad for which it was made
    #[arg(long, value_name = "FILE")]
    pub roster: Option<PathBuf>,
    /// The script, where it does not lie where it did
    #[arg(long, value_name = "SCRIPT")]
    pub script: Option<PathBuf>,
    /// A folder that holds cue packs; may be given again
    #[arg(long, value_name = "DIR")]
    pub packs: Vec<PathBuf>,
    /// Take in swimmers too whom neither the notebook nor the roster knows
    #[arg(long)]
    pub new_swimmer: bool,
    /// Put practices that differ in the place of the notebook's
    #[arg(long)]
    pub replace: bool,
    /// What was taken in as JSON
    #[arg(long)]
    pub json: bool,
    /// Where it is kept
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// `log remove`
#[derive(Debug, ClapArgs)]
pub struct RemovePractice {
    /// The practice's number, as `log list` has it
    #[arg(value_name = "N")]
    pub number: i64,
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// `log undo`
#[derive(Debug, ClapArgs)]
pub struct UndoChange {
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// `log backup`
#[derive(Debug, ClapArgs)]
pub struct BackupNotebook {
    /// The copy: a new file
    #[arg(value_name = "FILE")]
    pub to: PathBuf,
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// `log swimmer`
#[derive(Debug, ClapArgs)]
pub struct NoteSwimmer {
    /// Who; without a name the swimmers are listed
    #[arg(value_name = "NAME")]
    pub name: Option<String>,
    /// A profile, as `new --profile` writes it
    #[arg(long, value_name = "PROFILE", requires = "name")]
    pub profile: Option<PathBuf>,
    /// NAME is somebody new, even where it is near a name that the notebook knows
    #[arg(long, requires = "profile")]
    pub new_swimmer: bool,
    /// The swimmers as JSON
    #[arg(long, conflicts_with = "profile")]
    pub json: bool,
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// A day as it is written on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WrittenDay {
    /// That one.
    Day(Day),
    /// The one before today.
    Yesterday,
    /// Today.
    Today,
}

fn read_day(text: &str) -> Result<WrittenDay, String> {
    match text.trim().to_lowercase().as_str() {
        "yesterday" => Ok(WrittenDay::Yesterday),
        "today" => Ok(WrittenDay::Today),
        day => {
            let found = Day::parse(day).map(WrittenDay::Day);
            found.ok_or_else(|| "write it as 2026-11-28, or `yesterday`".to_owned())
        }
    }
}
