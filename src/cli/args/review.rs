//! The arguments of `review`.

use super::log::NotebookArg;
use crate::units::calendar::Day;
use clap::{Args as ClapArgs, ValueEnum};
use std::path::PathBuf;

/// `review`
#[derive(Debug, ClapArgs)]
pub struct ReviewArgs {
    /// Whose; the notebook's only swimmer where not given, of several a table with a row each
    #[arg(long, value_name = "NAME")]
    pub swimmer: Option<String>,
    /// One topic in full
    #[arg(long, value_name = "TOPIC")]
    pub on: Option<ReviewTopic>,
    /// How many weeks the charts and tables by week have
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = clap::value_parser!(u8).range(2..=52))]
    pub weeks: u8,
    /// As it was seen on this day: 2026-11-28; today where not given
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub as_of: Option<Day>,
    /// As charts on a page for a browser: one HTML file that fetches nothing; an earlier page of the same swimmer gives way
    #[arg(long, value_name = "FILE.html", conflicts_with_all = ["json", "on"])]
    pub page: Option<PathBuf>,
    /// The page's numbers with decimal commas, 1,30 s
    #[arg(long, requires = "page")]
    pub decimal_comma: bool,
    /// Replace whatever has the page's name
    #[arg(long, requires = "page")]
    pub force: bool,
    /// All of it as JSON
    #[arg(long)]
    pub json: bool,
    /// Which notebook
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// What a review can be about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ReviewTopic {
    /// Strokes of a length at each tempo, now and four weeks ago
    Counts,
    /// Speed against tempo, and the critical speed
    Speed,
    /// Times as swum against those planned
    Splits,
    /// Strokes by focus phrase, and what its cue does
    Focus,
    /// Breaths by side, and the count by side
    Breaths,
    /// Effort times minutes by week
    Load,
}

fn day(text: &str) -> Result<Day, String> {
    Day::parse(text).ok_or_else(|| format!("`{text}` is no day; write it as 2026-11-28"))
}
