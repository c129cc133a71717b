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
    /// Where to write; its name ends in .html; the script's name here where not given
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// The practice to be heard on the page, as MP3 in it: half a megabyte a minute
    #[arg(long)]
    pub sound: bool,
    /// Replace whatever has the output's name
    #[arg(long)]
    pub force: bool,
}
