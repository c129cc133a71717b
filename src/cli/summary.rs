//! What `render` says when it is done: the file, how it sounds, and how to take it to the pool.

use super::hearing::ExposureRecord;
use crate::diag::shown::{Shown, printable};
use crate::diag::{Diagnostic, Severity};
use crate::practice::Company;
use crate::prepare::Planned;
use crate::render::FileFigures;
use crate::render::exposure::Estimate;
use crate::units::time::Seconds;
use serde::Serialize;
use std::path::Path;

/// What there is to say.
pub struct Summary<'a> {
    /// The file.
    pub output: &'a Path,
    /// Its figures.
    pub figures: &'a FileFigures,
    /// Of what.
    pub planned: &'a Planned,
    /// What was found on the way.
    pub diagnostics: &'a [Diagnostic],
    /// What it does to the ears, if that was asked.
    pub exposure: Option<Estimate>,
}

/// A render in numbers.
#[derive(Debug, Serialize)]
pub struct RenderRecord {
    /// The file.
    pub output: String,
    title: String,
    /// How long it lasts, in seconds.
    pub duration_s: f64,
    frames: u64,
    rate: u32,
    /// Its integrated loudness.
    pub loudness_lufs: Option<f64>,
    true_peak_dbtp: Option<f64>,
    voices: usize,
    beats: usize,
    /// Cautions of its script.
    pub cautions: usize,
    dropped: usize,
    /// Texts that the built-in voice says.
    pub built_in_voice: usize,
    /// What it does to the ears, if that was asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub exposure: Option<ExposureRecord>,
}

impl Summary<'_> {
    /// All of it in numbers.
    pub fn record(&self) -> RenderRecord {
        let timeline = &self.planned.built.timeline;
        let cues = timeline.legs.iter().flat_map(|leg| &leg.cues);
        let tenth = |value: f64| libm::round(value * 10.0) / 10.0;
        RenderRecord {
            output: self.output.to_string_lossy().into_owned(),
            title: self.planned.plan.title.clone(),
            duration_s: self.figures.len().as_f64(),
            frames: self.figures.rendered.frames,
            rate: self.figures.rate.hertz(),
            loudness_lufs: self.figures.measured.loudness.map(tenth),
            true_peak_dbtp: self.figures.measured.true_peak.map(tenth),
            voices: cues.filter(|cue| cue.kind.is_voice()).count(),
            beats: timeline.legs.iter().flat_map(|leg| &leg.grids).map(|grid| grid.beats.len()).sum(),
            cautions: self.diagnostics.iter().filter(|d| d.severity() == Severity::Caution).count(),
            dropped: self.planned.plan.dropped.len(),
            built_in_voice: self.planned.plan.voiced.len(),
            exposure: self.exposure.as_ref().map(ExposureRecord::of),
        }
    }
}

/// For a person.
pub fn text(summary: &Summary<'_>) -> Shown {
    let record = summary.record();
    let level =
        |value: Option<f64>, unit: &str| value.map_or("silent".to_owned(), |value| format!("{value:.1} {unit}"));
    let length = Seconds::from_secs(libm::round(record.duration_s) as i64);
    let plural = |count: usize, what: &str| if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") };
    let voice = match record.built_in_voice {
        0 => String::new(),
        count => format!("{} spoken by the built-in voice: `check` lists what to record\n", plural(count, "text")),
    };
    let exposure = record.exposure.as_ref().map_or(String::new(), ExposureRecord::text);
    let to_the_pool = if summary.planned.practice.company == Company::Together {
        "To the pool: a speaker on its battery, away from the edge. Start it as the hand of the pace clock passes the top (60):\n\
         then its readings are right. The first leaves on the first long tone, each other one on the tone behind their call.\n\
         The coach watches the water. "
    } else {
        "To the pool: copy the file to a waterproof player, start it at the wall, leave on each long tone.\n"
    };
    let numbers = format!(
        "\n{length} · {} frames at {} Hz · loudness {} · true peak {}\n{} · {} · {} · {} not heard\n{voice}{exposure}{to_the_pool}\
         Set the level so that a whistle at the wall is still heard. Never swim alone; staff, whistle and alarm come first.\n",
        record.frames,
        record.rate,
        level(record.loudness_lufs, "LUFS"),
        level(record.true_peak_dbtp, "dBTP"),
        plural(record.voices, "spoken cue"),
        plural(record.beats, "beat"),
        plural(record.cautions, "caution"),
        record.dropped,
    );
    Shown::heading(&printable(&record.output)) + numbers
}

/// For a program.
pub fn json(summary: &Summary<'_>) -> Shown {
    Shown::json(&summary.record())
}
