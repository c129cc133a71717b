//! The arguments of `page`.

use super::reading::{LaneChoice, ScriptArgs};
use clap::Args as ClapArgs;
use std::path::PathBuf;

/// `page`
#[derive(Debug, ClapArgs)]
pub struct PageArgs {
    /// What is shown, and for whom
    #[command(flatten)]
    pub input: ScriptArgs,
    /// Who shares a lane
    #[command(flatten)]
    pub lanes: LaneChoice,
    /// A squad, as YAML or as a table (CSV): a page for each of its swimmers, in -o DIR
    #[arg(long, value_name = "FILE", conflicts_with_all = ["swimmer", "lane", "lane_name"])]
    pub roster: Option<PathBuf>,
    /// Where to write; its name ends in .html; the script's name here where not given. Of a squad: their folder
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// The practice to be heard on the page, as MP3 in it: half a megabyte a minute
    #[arg(long)]
    pub sound: bool,
    /// The page's own numbers with decimal commas, 1,30 s; what scripts and packs say stays as typed
    #[arg(long)]
    pub decimal_comma: bool,
    /// Replace whatever has the output's name
    #[arg(long)]
    pub force: bool,
}
