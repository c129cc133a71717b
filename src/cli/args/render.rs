//! The arguments of `render`.

use super::reading::{LaneChoice, Reading, ScriptArgs, in_words, swimmer};
use crate::prepare::WhoSwims;
use crate::render::squad::Shard;
use crate::script::quantity::level;
use crate::units::level::SoundLevel;
use clap::{ArgAction, Args as ClapArgs, ValueEnum};
use std::path::{Path, PathBuf};

/// `render`
#[derive(Debug, ClapArgs)]
pub struct Render {
    /// Cue scripts: YAML files, or PACK/NAME of those in packs
    #[arg(value_name = "SCRIPT", required = true)]
    pub scripts: Vec<PathBuf>,
    /// The swimmer: a profile, or the time of 100 such as 1:50; given again, every script is made for each of them
    #[arg(long = "swimmer", value_name = "WHO", value_parser = swimmer())]
    pub swimmers: Vec<WhoSwims>,
    /// A squad, as YAML or as a table (CSV): every script for each of its swimmers, in a folder of their own in -o DIR or
    /// --player DIR; what has not changed is not made again
    #[arg(long, value_name = "FILE", conflicts_with_all = ["swimmers", "split"])]
    pub roster: Option<PathBuf>,
    /// Of a roster's swimmers every N-th, from the I-th on: N such parts together are the whole, on as many machines
    #[arg(long, value_name = "I/N", requires = "roster")]
    pub shard: Option<Shard>,
    /// Who shares a lane
    #[command(flatten)]
    pub lanes: LaneChoice,
    /// How it is read
    #[command(flatten)]
    pub reading: Reading,
    /// Estimate the sound exposure: the level that a full-scale sine has at the ear at the volume in use, such as "94 dBA";
    /// the profile's `player: { loudest: 94 dBA }` where not given
    #[arg(long, value_name = "LEVEL", value_parser = sound_level)]
    pub max_level: Option<SoundLevel>,
    /// Hold the exposure against the weekly allowance of children and sensitive ears
    #[arg(long)]
    pub sensitive_ears: bool,
    /// Where to write; the script's name here where not given; its ending tells the format. Of several: their folder. `-`: standard output
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// The format, where the output's name does not tell it; WAV where nothing does
    #[arg(long, value_name = "FORMAT")]
    pub format: Option<Form>,
    /// Kilobits a second of MP3: 64, 80, 96, 112, 128, 160, 192, 224, 256 or 320; 128 where not given
    #[arg(long, value_name = "KBIT/S")]
    pub quality: Option<u32>,
    /// The spoken words too, as WebVTT: beside the output, its name with .vtt, where no FILE is given
    #[arg(long, value_name = "FILE", num_args = 0..=1, require_equals = true, action = ArgAction::Set)]
    captions: Option<Vec<PathBuf>>,
    /// Make numbered tracks for a small player, with a playlist, in this folder: each stands alone, whatever the player pauses
    #[arg(long, value_name = "DIR", conflicts_with_all = ["output", "split", "captions"])]
    pub player: Option<PathBuf>,
    /// A file for each swimmer of a lane, in a folder of their own in this one, all on one clock: all press start on one signal
    #[arg(long, value_name = "DIR", conflicts_with_all = ["output", "player", "split", "roster", "swimmers"])]
    pub lane_files: Option<PathBuf>,
    /// Make a file of each part; end to end they are the single file. With -o DIR: in a folder
    #[arg(long, value_name = "PART", conflicts_with = "captions")]
    pub split: Option<SplitAt>,
    /// Frames a second, 8000 to 192000
    #[arg(long, value_name = "HERTZ", default_value_t = 44_100, value_parser = clap::value_parser!(u32).range(8_000..=192_000))]
    pub rate: u32,
    /// One channel instead of two
    #[arg(long)]
    pub mono: bool,
    /// Replace whatever the output's name holds; of a roster, make all again
    #[arg(long)]
    pub force: bool,
    /// The summary as JSON
    #[arg(long)]
    pub json: bool,
}

/// Where captions are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CaptionsPlace<'a> {
    /// Nowhere.
    Nowhere,
    /// Beside the sound, its name with `.vtt`.
    Beside,
    /// In this file.
    In(&'a Path),
}

/// The formats of sound files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// Plays everywhere, 10 MB a minute; a marker at each repeat
    Wav,
    /// The same samples in a tenth of the room or less, with tags and chapters
    Flac,
    /// For small players: 1 MB a minute, gapless, with tags and chapters
    Mp3,
}

/// Where a render is split.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum SplitAt {
    /// Before the first word said of each set
    Set,
    /// And before the countdown of each repeat
    Repeat,
}

impl Render {
    /// Where the captions are to go.
    pub fn captions(&self) -> CaptionsPlace<'_> {
        match self.captions.as_deref() {
            None => CaptionsPlace::Nowhere,
            Some([]) => CaptionsPlace::Beside,
            Some([file, ..]) => CaptionsPlace::In(file),
        }
    }

    /// What is to be made: each script for each swimmer.
    pub fn inputs(&self) -> Vec<ScriptArgs> {
        let swimmers: Vec<_> = match self.swimmers.as_slice() {
            [] => vec![None],
            some => some.iter().cloned().map(Some).collect(),
        };
        let input = |script: &PathBuf, swimmer: &Option<WhoSwims>| ScriptArgs {
            script: script.clone(),
            swimmer: swimmer.clone(),
            reading: self.reading.clone(),
        };
        self.scripts.iter().flat_map(|script| swimmers.iter().map(move |swimmer| input(script, swimmer))).collect()
    }
}

fn sound_level(text: &str) -> Result<SoundLevel, String> {
    level::sound_level(text, "the loudest level").map_err(in_words)
}
