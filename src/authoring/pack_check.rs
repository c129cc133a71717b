//! A whole pack checked: its manifest, every script in it, every recording.
//!
//! What is wrong in a text is a diagnostic with its place, as ever; what is found in a recording has no place in a text and
//! is a finding with its file. Nothing is changed.

use crate::audio::clip::{self, DecodeError};
use crate::audio::take::{self, Take, TextTime};
use crate::cores;
use crate::diag::{Code, Diagnostic, Severity, Sources, has_errors};
use crate::pack::inventory::{Stray, recording_endings};
use crate::pack::library::Role;
use crate::pack::recorded::Recording;
use crate::pack::shelf::{HeardFrom, OpenedPack, PackLine, Shelf};
use crate::pack::speech::{Speech, text_times};
use crate::prepare::{PracticeRequest, Prepared, in_its_language, plan};
use crate::units::time::Seconds;
use std::collections::HashSet;
use std::path::Path;
use std::{fmt, io};

/// Silence at an end that is longer than this counts as a fault: it takes the place of words, and what is to be heard at a
/// stroke comes after it.
pub const MOST_SILENCE: Seconds = Seconds::from_millis(150);
/// How far in LU a recording may be from the pack's middle one: all are brought to one loudness, and the background with it.
pub const MOST_APART: f64 = 6.0;
/// The least rate in Hz: consonants lie up to 8 kHz (wideband telephony, ITU-T G.722, takes 7 kHz for them).
pub const LEAST_RATE: u32 = 16_000;

/// Something found in a recording, or about one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// The file, or where it would be.
    pub file: String,
    /// The text that it says, where there is one.
    pub text: Option<String>,
    /// Whether it can be used all the same.
    pub severity: Severity,
    /// One word for machines.
    pub word: &'static str,
    /// What was found, one sentence.
    pub message: String,
    /// What to do about it.
    pub advice: String,
}

/// A script of the pack, planned.
#[derive(Debug)]
pub struct CheckedScript {
    /// What it is called.
    pub name: String,
    /// How long the practice is; `None` where there are errors.
    pub len: Option<Seconds>,
    /// Its problems.
    pub problems: Vec<Diagnostic>,
    /// The texts that they point into.
    pub sources: Sources,
    /// Why it cannot even be read.
    pub unreadable: Option<String>,
}

/// What was found.
#[derive(Debug)]
pub struct Checked {
    /// The pack.
    pub opened: OpenedPack,
    /// Its scripts; of their problems those are left out that are the pack's own or that only say that a recording is missing.
    pub scripts: Vec<CheckedScript>,
    /// What is wrong with its recordings, by file.
    pub findings: Vec<Finding>,
    /// Whether they were compared with the length of their texts.
    pub compared: bool,
    /// The texts that are heard from nowhere.
    pub missing: Vec<PackLine>,
}

impl Checked {
    /// Whether anything cannot be used as it is.
    pub fn has_errors(&self) -> bool {
        has_errors(&self.opened.problems)
            || self.scripts.iter().any(|script| script.len.is_none())
            || self.findings.iter().any(|finding| finding.severity == Severity::Error)
    }
}

/// Checks a pack on all processors. Recordings are compared with their texts as `speech` says those, or else by their letters.
pub fn check(mut opened: OpenedPack, shelf: &Shelf, speech: Option<&Speech>) -> Checked {
    let scripts = cores::share(cores::count(), &opened.scripts, || (), |(), script| planned(script, &opened, shelf));
    let own: Vec<(&PackLine, &Recording)> = opened
        .lines
        .iter()
        .filter_map(|line| match &line.source {
            HeardFrom::Own(recording) => Some((line, recording)),
            _ => None,
        })
        .collect();
    let takes = cores::share(cores::count(), &own, || (), |(), (_, recording)| examined(recording));
    let mut findings: Vec<Finding> = Vec::new();
    let mut loud: Vec<f64> =
        takes.iter().filter_map(|take| take.as_ref().ok()).filter_map(|take| take.loudness).collect();
    loud.sort_by(f64::total_cmp);
    // Without any loudness nothing is held against it.
    let middle = loud.get(loud.len() / 2).copied().unwrap_or(0.0);
    let texts: Vec<String> = own.iter().map(|(line, _)| line.text.clone()).collect();
    let compared = in_its_language(&opened.library);
    let times = if compared { text_times(speech, &texts) } else { vec![None; texts.len()] };
    for (((line, recording), take), time) in own.iter().zip(&takes).zip(times) {
        findings.extend(of_recording(line, recording, take, time, middle));
    }
    findings.extend(opened.lines.iter().filter_map(|line| unread(line, &opened.problems)));
    // Told as findings, with their files.
    opened.problems.retain(|problem| problem.code != Code::RecordingUnread);
    findings.extend(opened.strays.iter().map(stray));
    findings.sort_by(|a, b| a.file.cmp(&b.file));
    let missing = opened.lines.iter().filter(|line| line.source == HeardFrom::Missing).cloned().collect();
    Checked { scripts, findings, compared, missing, opened }
}

fn planned(script: &Path, opened: &OpenedPack, shelf: &Shelf) -> CheckedScript {
    let request = PracticeRequest {
        script: script.to_owned(),
        packs: shelf.extra.clone(),
        user_packs: shelf.user.clone(),
        ..PracticeRequest::default()
    };
    let known: HashSet<&str> = opened.problems.iter().map(|problem| problem.message.as_str()).collect();
    let name = script.to_string_lossy().into_owned();
    match plan(&request) {
        Ok(Prepared { planned, diagnostics: mut problems, sources }) => {
            problems.retain(|problem| problem.code != Code::NoRecording && !known.contains(&problem.message.as_str()));
            CheckedScript {
                name,
                len: planned.map(|planned| planned.plan.duration),
                problems,
                sources,
                unreadable: None,
            }
        }
        Err(error) => {
            let (problems, sources) = (Vec::new(), Sources::new());
            CheckedScript { name, len: None, problems, sources, unreadable: Some(error.to_string()) }
        }
    }
}

/// Why nothing can be said of a recording.
#[derive(Debug)]
enum UnusableTake {
    Read(io::Error),
    Decode(DecodeError),
}

impl fmt::Display for UnusableTake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Read(error) => write!(f, "cannot be read: {error}"),
            Self::Decode(error) => error.fmt(f),
        }
    }
}

fn examined(recording: &Recording) -> Result<Take, UnusableTake> {
    let bytes = recording.read().map_err(UnusableTake::Read)?;
    let pcm = clip::decode(&bytes).map_err(UnusableTake::Decode)?;
    let samples: Vec<f32> = pcm.samples.iter().map(|&x| f32::from(x) / 32_768.0).collect();
    Ok(take::examine(&samples, pcm.rate))
}

fn of_recording(
    line: &PackLine,
    recording: &Recording,
    take: &Result<Take, UnusableTake>,
    time: Option<TextTime>,
    middle: f64,
) -> Vec<Finding> {
    let finding = |severity, word, message: String, advice: String| Finding {
        file: recording.name.clone(),
        text: Some(line.text.clone()),
        severity,
        word,
        message,
        advice,
    };
    let caution = |word, message, advice: &str| finding(Severity::Caution, word, message, advice.to_owned());
    let take = match take {
        Ok(take) => take,
        Err(why) => {
            let advice = "record it again, or take the file away".to_owned();
            return vec![finding(Severity::Error, "unreadable", why.to_string(), advice)];
        }
    };
    let mut found: Vec<Finding> = Vec::new();
    for fault in take.faults(line.role.longest(line.short), time) {
        found.push(caution(fault.word(), fault.to_string(), fault.advice()));
    }
    if let Some(ends) = take.silence() {
        for (end, silence) in ["before", "after"].into_iter().zip(ends).filter(|(_, silence)| *silence > MOST_SILENCE) {
            let message = format!("{:.0} ms of silence {end} the speech", silence.as_f64() * 1_000.0);
            found.push(caution("silence", message, "cut it away, or record it again: `record` trims by itself"));
        }
    }
    if let Some(loudness) = take.loudness.filter(|loudness| (loudness - middle).abs() > MOST_APART) {
        let (apart, than) = ((loudness - middle).abs(), if loudness < middle { "softer" } else { "louder" });
        let message = format!("{apart:.0} LU {than} than the middle of the others");
        found.push(caution("loudness", message, "speak all of them in one evening, from the same place"));
    }
    if take.rate < LEAST_RATE {
        let message = format!("{} Hz, which leaves little of \"s\", \"f\" and \"t\"", take.rate);
        found.push(caution("rate", message, "record it at 44100 or 48000 Hz"));
    }
    found
}

/// What keeps a text from being heard by its own recording. A script must not ask whoever gets the pack for a phrase that it lacks.
fn unread(line: &PackLine, problems: &[Diagnostic]) -> Option<Finding> {
    let HeardFrom::Broken(file) = &line.source else { return None };
    let begins = format!("the recording {file} ");
    let message = problems.iter().find_map(|problem| problem.message.strip_prefix(&begins))?;
    Some(Finding {
        file: file.clone(),
        text: Some(line.text.clone()),
        severity: Severity::Error,
        word: "unreadable",
        message: message.to_owned(),
        advice: "record it again, or take the file away".to_owned(),
    })
}

fn stray(stray: &Stray) -> Finding {
    let (file, word, message, advice) = match stray {
        Stray::NoText(file) => {
            (file, "no-text", "no text has this id".to_owned(), "enter the text in pack.yaml, or take the file away")
        }
        Stray::Twice { path: file, taken } => {
            (file, "twice", format!("{taken} is used instead of it"), "keep the better one of the two")
        }
        Stray::Format(file) => (
            file,
            "format",
            format!("its name ends in none of: {}", recording_endings()),
            "convert it, for example to WAV, or take it away",
        ),
        Stray::Folder(file) => (
            file,
            "folder",
            format!("recordings lie in clips/{}", Role::ALL.map(|(folder, _)| folder).join(", clips/")),
            "move it there",
        ),
    };
    let advice = advice.to_owned();
    Finding { file: file.clone(), text: None, severity: Severity::Caution, word, message, advice }
}
