//! The arguments of `tap`.

use super::NotebookArg;
use clap::{Args as ClapArgs, ValueEnum};
use std::path::PathBuf;

/// `tap`
#[derive(Debug, ClapArgs)]
pub struct TapArgs {
    /// How fast the film runs that is tapped along with: 0.5 for half speed. What is told is of the water
    #[arg(long, value_name = "SPEED", default_value = "1", value_parser = film_speed)]
    pub film_speed: f64,
    /// Which count to take where a tap may be missing or double; without it you are asked on a terminal, else it stays open
    #[arg(long, value_name = "WHICH")]
    pub counts: Option<CountsOf>,
    /// Put count and tempo into this swimmer's profile: the line is shown and you are asked. A file that is not there is made
    #[arg(long, value_name = "FILE")]
    pub profile: Option<PathBuf>,
    /// Write the profile without asking
    #[arg(long, requires = "profile")]
    pub yes: bool,
    /// The pool; 25 m where not given
    #[arg(long, value_name = "POOL")]
    pub pool: Option<String>,
    /// Put counts, tempos, times and breaths into the notebook, as a practice of their own; --into names another place
    #[arg(long)]
    pub log: bool,
    /// With --log: into a repeat of the swimmer's last practice of today: 2.3 is repeat 3 of set 2, 2.3.2 from its second length on
    #[arg(long, value_name = "PLACE", requires = "log")]
    pub into: Option<String>,
    /// With --into: the script that is swum. Where the swimmer's last practice of today is none of it, one is kept
    #[arg(long, value_name = "SCRIPT", requires = "into")]
    pub script: Option<PathBuf>,
    /// A folder that holds cue packs; may be given again
    #[arg(long, value_name = "DIR", requires = "script")]
    pub packs: Vec<PathBuf>,
    /// With --log: what is swum where it is not plain crawl: breast, "fist drill", "with paddles". It is kept, and tells nothing of the
    /// stroke
    #[arg(long, value_name = "WHAT", requires = "log", conflicts_with = "into")]
    pub swum: Option<String>,
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
    /// The swimmer's name, for the notebook or a new profile; the notebook's only swimmer where not given
    #[arg(long, value_name = "NAME")]
    pub swimmer: Option<String>,
    /// With --log: NAME is somebody new, even where it is near a name that the notebook knows
    #[arg(long, requires = "log")]
    pub new_swimmer: bool,
    /// Print the line that gives `play` this tempo, such as `tempo 1.08`, and nothing else
    #[arg(long, conflicts_with = "json")]
    pub tempo_for_play: bool,
    /// No screen: taps are lines on standard input even at a terminal
    #[arg(long)]
    pub no_screen: bool,
    /// The lengths and all taps as JSON
    #[arg(long)]
    pub json: bool,
}

/// Which count is taken where taps are in doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CountsOf {
    /// The taps as they came
    Tapped,
    /// The strokes that the intervals tell
    Likely,
}

/// A film's speed: from a twentieth to four times.
fn film_speed(text: &str) -> Result<f64, String> {
    let speed = text.parse().ok().filter(|speed| (0.05..=4.0).contains(speed));
    speed.ok_or_else(|| "a film's speed is a number from 0.05 to 4, such as 0.5 for half speed".to_owned())
}
