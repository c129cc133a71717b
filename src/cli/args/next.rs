//! The arguments of `next`.

use super::log::NotebookArg;
use clap::Args as ClapArgs;
use std::path::PathBuf;

/// `next`
#[derive(Debug, ClapArgs)]
pub struct Next {
    /// The script to write, such as tuesday.yaml; standard output where not given
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Replace the file if it is there
    #[arg(long, requires = "output")]
    pub force: bool,
    /// Who swims; the notebook's only swimmer where not given
    #[arg(long, value_name = "NAME")]
    pub swimmer: Option<String>,
    /// How long the practice may take, in minutes
    #[arg(long, value_name = "MINUTES", default_value_t = 40, value_parser = clap::value_parser!(u32).range(15..=180))]
    pub minutes: u32,
    /// Where it is swum, such as "50 m" or "25 yd"; where not given as last time, else 25 m
    #[arg(long, value_name = "POOL")]
    pub pool: Option<String>,
    /// The cue pack whose drills and phrases are used; where not given that of the last practice
    #[arg(long, value_name = "NAME")]
    pub pack: Option<String>,
    /// Two phrases for one focus that take turns by chance from now on, until it can be told which one works; `none` ends it
    #[arg(long, value_name = "PHRASE,PHRASE")]
    pub compare: Option<String>,
    /// Pass over the bound on the week's load
    #[arg(long)]
    pub any_load: bool,
    /// When it is swum: 2026-11-30, or `tomorrow`; today where not given
    #[arg(long, value_name = "DAY")]
    pub day: Option<String>,
    /// A folder that holds cue packs; may be given again
    #[arg(long, value_name = "DIR")]
    pub packs: Vec<PathBuf>,
    /// The choices with their reasons as JSON, and the script among them
    #[arg(long)]
    pub json: bool,
    /// What is known of the practices before
    #[command(flatten)]
    pub notebook: NotebookArg,
}
