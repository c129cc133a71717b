//! What the commands that read a script are given: which script, for whom, and how it is read.

use super::log::NotebookArg;
use crate::prepare::WhoSwims;
use crate::script::quantity::Misread;
use clap::builder::{OsStringValueParser, TypedValueParser, ValueParser};
use clap::{Args as ClapArgs, ValueEnum};
use std::ffi::OsString;
use std::path::PathBuf;

/// Reads who swims: a path that need not be UTF-8, or a time.
pub(super) fn swimmer() -> ValueParser {
    OsStringValueParser::new().try_map(|written: OsString| WhoSwims::of(&written).map_err(in_words)).into()
}

/// A fault of an argument, with the way out.
pub(super) fn in_words(fault: Misread) -> String {
    match fault.hint {
        Some(hint) => format!("{}; {hint}", fault.message),
        None => fault.message,
    }
}

/// What to read.
#[derive(Debug, ClapArgs)]
pub struct ScriptArgs {
    /// A cue script: a YAML file, or PACK/NAME of one in a pack
    #[arg(value_name = "SCRIPT")]
    pub script: PathBuf,
    /// The swimmer: a profile, the time of 100 such as 1:50, or a name of the notebook; without it the notebook's only swimmer,
    /// or somebody new to crawl, and every assumption is named
    #[arg(long, value_name = "WHO", value_parser = swimmer())]
    pub swimmer: Option<WhoSwims>,
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
    pub audience: AudienceArg,
    /// The pack whose recordings win wherever it has one, such as your own voice: its name, or its folder
    #[arg(long, value_name = "PACK")]
    pub voice_from: Option<String>,
    /// Leave what has no recording to a tone; without it the built-in voice says it
    #[arg(long)]
    pub no_speech: bool,
    /// Where it is known how somebody swims
    #[command(flatten)]
    pub notebook: NotebookArg,
}

/// Who shares a lane.
#[derive(Clone, Debug, Default, ClapArgs)]
pub struct LaneChoice {
    /// Who swims in which lane: a roster, YAML or CSV; where not given, `lane` of the script
    #[arg(long, value_name = "FILE")]
    pub lane: Option<PathBuf>,
    /// Of several lanes the one that is meant
    #[arg(long, value_name = "NAME")]
    pub lane_name: Option<String>,
}

/// What a practice is heard through.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum AudienceArg {
    /// In the ear, all the time
    Headphones,
    /// At the wall: phrases before the go, no beats while swimming unless the script names them
    Speaker,
    /// In the ear, from a small player: tracks that stand alone, played one after another
    Player,
}
