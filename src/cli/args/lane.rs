//! The arguments of `lane`.

use super::log::NotebookArg;
use clap::Args as ClapArgs;
use std::path::PathBuf;

/// `lane`
#[derive(Debug, ClapArgs)]
pub struct LaneArgs {
    /// A cue script: a YAML file, or PACK/NAME of one in a pack
    #[arg(value_name = "SCRIPT")]
    pub script: PathBuf,
    /// Who swims in which lane: a roster, YAML or CSV; where not given, `lane` of the script
    #[arg(long, value_name = "FILE")]
    pub lane: Option<PathBuf>,
    /// The rest that everybody should have between swims, in seconds
    #[arg(long, value_name = "SECONDS", default_value_t = 10, value_parser = clap::value_parser!(u32).range(0..=300))]
    pub rest: u32,
    /// How often each set is simulated
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub runs: u32,
    /// Another number draws other times
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// A folder that holds cue packs; may be given again
    #[arg(long, value_name = "DIR")]
    pub packs: Vec<PathBuf>,
    /// A distance-time picture of one start of each set, as SVG
    #[arg(long, value_name = "FILE.svg")]
    pub picture: Option<PathBuf>,
    /// A page for a browser: who is where when in a repeat and in each whole set, the figures, the advice
    #[arg(long, value_name = "FILE.html", conflicts_with = "json")]
    pub page: Option<PathBuf>,
    /// The page's numbers with decimal commas, 1,30 s
    #[arg(long, requires = "page")]
    pub decimal_comma: bool,
    /// Replace whatever has the name of the picture or of the page
    #[arg(long)]
    pub force: bool,
    /// The figures and the advice as JSON
    #[arg(long)]
    pub json: bool,
    /// Where swimmers are known of whom only the name is written
    #[command(flatten)]
    pub notebook: NotebookArg,
}
