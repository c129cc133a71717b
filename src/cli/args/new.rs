//! The arguments of `new`.

use crate::prepare::WhoSwims;
use crate::swimmer::hundred;
use crate::units::swim::Pace;
use clap::{ArgGroup, Args as ClapArgs, ValueEnum};
use std::path::PathBuf;

/// `new`
#[derive(Debug, ClapArgs)]
#[command(group(ArgGroup::new("of_a_pool").args(["from", "profile"])))]
pub struct New {
    /// The script or profile to write, such as tuesday.yaml; `-` writes it to standard output
    #[arg(value_name = "NAME.yaml", required_unless_present = "schema")]
    pub name: Option<PathBuf>,
    /// Instead of a script: the JSON Schema of scripts on standard output, for editors
    #[arg(long, conflicts_with_all = ["name", "template", "from", "profile"])]
    pub schema: bool,
    /// Instead of a script: a swimmer's profile. What is not given is asked on a terminal
    #[arg(long, conflicts_with_all = ["template", "from"])]
    pub profile: bool,
    /// The time of the profile's swimmer for 100, swum steadily, such as 1:50
    #[arg(long, value_name = "TIME", requires = "profile", value_parser = read_hundred)]
    pub hundred: Option<Pace>,
    /// How many strokes the swimmer takes in one length: each hand that goes in
    #[arg(long, value_name = "STROKES", requires = "profile")]
    pub count: Option<String>,
    /// How long that length took, such as 27.5s
    #[arg(long, value_name = "TIME", requires = "count")]
    pub time: Option<String>,
    /// What the swimmer is called
    #[arg(long, value_name = "NAME", requires = "profile")]
    pub called: Option<String>,
    /// Which template
    #[arg(long, value_name = "TEMPLATE", default_value = "first-practice", conflicts_with = "from")]
    pub template: TemplateName,
    /// Read a whiteboard: its text, or `-` for standard input
    #[arg(long, value_name = "TEXT", allow_hyphen_values = true)]
    pub from: Option<String>,
    /// Where the whiteboard or the profile is swum: 25 m where not given; also "25 yd", "50 m", "open water"
    #[arg(long, value_name = "POOL", requires = "of_a_pool")]
    pub pool: Option<String>,
    /// The title of the whiteboard's practice
    #[arg(long, value_name = "TITLE", requires = "from")]
    pub title: Option<String>,
    /// The cue pack whose drills and phrases the whiteboard names; the first built-in one that has them where not given
    #[arg(long, value_name = "NAME", requires = "from")]
    pub pack: Option<String>,
    /// The swimmer for whom the whiteboard is tried: a profile, or the time of 100 such as 1:50; somebody new to crawl where
    /// not given
    #[arg(long, value_name = "WHO", requires = "from", value_parser = super::reading::swimmer())]
    pub swimmer: Option<WhoSwims>,
    /// A folder that holds cue packs; may be given again
    #[arg(long, value_name = "DIR", requires = "from")]
    pub packs: Vec<PathBuf>,
}

/// What a new script begins as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TemplateName {
    /// Drill, focus and a first beat
    FirstPractice,
    /// Distances and tempos up and down
    Ladder,
    /// A timed swim, then send-offs
    TimedSet,
    /// By time, both sides, looking ahead
    OpenWater,
    /// An hour for a group, who swims in which lane
    ThreeLanes,
}

fn read_hundred(text: &str) -> Result<Pace, String> {
    hundred(text).map_err(super::reading::in_words)
}
