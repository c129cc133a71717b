//! The lanes of a practice: a script, and who swims it in which lane, from the script itself or from a roster beside it.

use super::noted;
use super::opened::{Opened, in_order};
use super::request::PracticeRequest;
use super::text::{self, Unreadable};
use crate::diag::{Code, Diagnostic, Sources, Span, has_errors};
use crate::lane::{self, Lane};
use crate::pack::library::Library;
use crate::practice::CLOCK;
use crate::swimmer::lanes::{self, WrittenLane, WrittenLanes};
use crate::swimmer::roster::{KnownSwimmer, Member, RosterForm};
use crate::swimmer::{Swimmer, profile};
use crate::timeline::build::build;
use crate::units::time::Seconds;
use std::path::{Path, PathBuf};

/// What came of a script and its lanes.
#[derive(Debug)]
pub struct PreparedLanes {
    /// The practice's title.
    pub title: String,
    /// The lanes, in the order written; absent exactly where an error is among the problems.
    pub lanes: Option<Vec<Lane>>,
    /// The lanes as they are written, where that can be read.
    pub written: Option<WrittenLanes>,
    /// The script with its packs.
    pub opened: Opened,
    /// The files that were read: the script, the lanes, profiles.
    pub texts: Vec<PathBuf>,
    /// Every problem found on the way.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that the problems point into.
    pub sources: Sources,
}

/// Reads the lanes of a practice. `file` is a roster that says who swims where; without it `lane` of the script does. Whoever
/// the request names as the swimmer is nobody's concern here.
///
/// # Errors
/// Where the script or `file` cannot be read.
pub fn lanes(request: &PracticeRequest, file: Option<&Path>) -> Result<PreparedLanes, Unreadable> {
    lanes_of(request, file, |sources| Opened::open(request, sources))
}

/// The same for a script that is opened in another way.
pub(super) fn lanes_of(
    request: &PracticeRequest,
    file: Option<&Path>,
    open: impl FnOnce(Sources) -> Result<Opened, Unreadable>,
) -> Result<PreparedLanes, Unreadable> {
    let mut sources = Sources::new();
    let beside = file.unwrap_or(&request.script).parent().unwrap_or(Path::new("")).to_owned();
    let from_file = match file {
        Some(file) => {
            let text = text::read(file)?;
            let form = RosterForm::of(&file.extension().unwrap_or_default().to_string_lossy(), &text);
            let id = sources.add(file.to_string_lossy().into_owned(), text);
            Some(lanes::parse(id, &sources, form))
        }
        None => None,
    };
    let opened = open(sources)?;
    let mut diagnostics = opened.diagnostics.clone();
    let written = match from_file {
        Some((written, found)) => {
            diagnostics.extend(found);
            written
        }
        None => opened.lanes.clone(),
    };
    if let Some(script) = opened.script.as_ref().filter(|script| file.is_none() && script.lane.is_none()) {
        let message = "this practice does not say who shares a lane";
        let problem = Diagnostic::at(Code::MissingKey, script.title.span, message);
        let hint = "add `lane: { swimmers: [{ name: Ida, hundred: 1:50 }] }`, or name a roster with --lane";
        diagnostics.push(problem.hint(hint));
    }
    let texts = file.into_iter().map(Path::to_owned).chain(request.script.exists().then(|| request.script.clone()));
    let mut reading = LaneReading { request, beside, opened, texts: texts.collect(), diagnostics };
    let lanes = written.as_ref().map(|written| reading.lanes(written));
    let LaneReading { opened, texts, mut diagnostics, .. } = reading;
    in_order(&mut diagnostics);
    let title = opened.script.as_ref().map_or_else(String::new, |script| script.title.value.clone());
    let lanes = lanes.transpose()?.filter(|_| !has_errors(&diagnostics));
    let sources = opened.sources.clone();
    Ok(PreparedLanes { title, lanes, written, opened, texts, diagnostics, sources })
}

impl PreparedLanes {
    /// The first go of each set on the practice's clock, the same for all lanes: the next set begins when the last swimmer of all
    /// has had the rest and the talk that they would have alone. A plan, not what is heard: what a speaker says may take longer.
    pub fn goes(&self) -> Vec<Seconds> {
        self.lanes.as_deref().map_or_else(Vec::new, |lanes| goes(lanes, &self.opened.library))
    }
}

fn goes(lanes: &[Lane], library: &Library) -> Vec<Seconds> {
    let count = lanes.iter().map(|lane| lane.sets.len()).min().unwrap_or(0);
    let mut goes = vec![Seconds::ZERO; count];
    let everybody = || lanes.iter().flat_map(|lane| &lane.swimmers);
    // First go and last touch of each set, as each would swim alone.
    let alone: Vec<Vec<(Seconds, Seconds)>> = everybody()
        .map(|who| {
            let starts = build(&who.practice, library).strand.starts;
            let of = |set: usize| {
                let own = || starts.iter().filter(|start| start.set == set);
                let touch = own().map(|start| start.touch).max();
                (own().map(|start| start.go).next().unwrap_or_default(), touch.unwrap_or_default())
            };
            (0..count).map(of).collect()
        })
        .collect();
    let first = alone.iter().filter_map(|sets| Some(sets.first()?.0)).max().unwrap_or_default();
    let mut go = first;
    for (set, slot) in goes.iter_mut().enumerate() {
        *slot = go;
        let end = go + lanes.iter().map(|lane| lane.set_len(set)).max().unwrap_or_default();
        let last = alone.iter().filter_map(|sets| {
            let ((go, touch), (next, _)) = (*sets.get(set)?, *sets.get(set + 1)?);
            Some((touch - go, next - touch))
        });
        go = (end + last.max().map_or(Seconds::ZERO, |(_, pause)| pause)).ceil_to(CLOCK);
    }
    goes
}

/// Lanes being read.
struct LaneReading<'r> {
    request: &'r PracticeRequest,
    /// Where what they name is found from.
    beside: PathBuf,
    opened: Opened,
    texts: Vec<PathBuf>,
    diagnostics: Vec<Diagnostic>,
}

impl LaneReading<'_> {
    fn lanes(&mut self, written: &WrittenLanes) -> Result<Vec<Lane>, Unreadable> {
        let mut lanes = Vec::with_capacity(written.lanes.len());
        for lane in &written.lanes {
            lanes.extend(self.lane(lane)?);
        }
        Ok(lanes)
    }

    fn lane(&mut self, written: &WrittenLane) -> Result<Option<Lane>, Unreadable> {
        let mut swimmers = Vec::with_capacity(written.swimmers.len());
        for member in &written.swimmers {
            let (swimmer, found) = self.swimmer(member)?;
            self.tell(found, member.span);
            swimmers.extend(swimmer.map(|swimmer| Swimmer { name: Some(member.name.clone()), ..swimmer }));
        }
        let Some(script) = self.opened.script.as_ref().filter(|_| swimmers.len() == written.swimmers.len()) else {
            return Ok(None);
        };
        if has_errors(&self.diagnostics) {
            return Ok(None);
        }
        let (lane, found) = lane::expand(script, &self.opened.library, written, &swimmers, self.opened.audience);
        self.diagnostics.extend(found);
        Ok(lane)
    }

    /// Somebody, as far as they are known.
    fn swimmer(&mut self, member: &Member) -> Result<(Option<Swimmer>, Vec<Diagnostic>), Unreadable> {
        match &member.known {
            KnownSwimmer::Here(swimmer) => Ok((Some(Swimmer::clone(swimmer)), Vec::new())),
            // Told with the roster.
            KnownSwimmer::Unreadable => Ok((None, Vec::new())),
            KnownSwimmer::Noted => {
                let (swimmer, _) = noted::named(self.request.known.as_ref(), &member.name, self.opened.pool())?;
                let unknown = || {
                    let message = format!("nothing is known of {}, in the notebook neither", member.name);
                    let hint = "say how fast: `hundred: 1:50`; or where it stands: `profile: FILE`";
                    Diagnostic::at(Code::UnknownName, member.span, message).hint(hint)
                };
                let problems = swimmer.is_none().then(unknown);
                Ok((swimmer, problems.into_iter().collect()))
            }
            KnownSwimmer::Profile(path) => {
                let file = self.beside.join(&path.value);
                match text::read(&file) {
                    Ok(text) => {
                        self.texts.push(file.clone());
                        let id = self.opened.sources.add(file.to_string_lossy().into_owned(), text);
                        Ok(profile::parse(id, &self.opened.sources))
                    }
                    Err(unreadable) => {
                        let problem = Diagnostic::at(Code::UnknownName, path.span, unreadable.to_string());
                        Ok((None, vec![problem.hint("a profile's path begins where the lane is written")]))
                    }
                }
            }
        }
    }

    /// Notes problems; what has no place of its own is told where the swimmer stands.
    fn tell(&mut self, found: Vec<Diagnostic>, row: Span) {
        for mut problem in found {
            problem.span.get_or_insert(row);
            self.diagnostics.push(problem);
        }
    }
}

#[cfg(test)]
mod tests;
