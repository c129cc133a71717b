//! A practice planned for the lanes that swim it: for a speaker at the poolside, to which all of a lane listen.
//!
//! Who swims where is read by `lanes`, what they hear laid by `timeline::lane`, again and again in `at_a_speaker`.

use super::Prepared;
use super::at_a_speaker::{AtASpeaker, planned};
use super::lanes::{self, PreparedLanes};
use super::opened::{Opened, in_order};
use super::planned::Planned;
use super::request::PracticeRequest;
use super::text::Unreadable;
use crate::audio::synth;
use crate::diag::{Code, Diagnostic, Sources, Span, has_errors};
use crate::lane::{self, Lane, LaneStart, first_of};
use crate::pack::library::Library;
use crate::practice::{Audience, Practice};
use crate::script::parse::parse_partly;
use crate::swimmer::lanes::WrittenLane;
use crate::timeline::built::Built;
use crate::timeline::lane::{LaneVoice, speaker};
use crate::units::time::Seconds;
use std::path::PathBuf;

/// Under so much predicted rest a swimmer may miss the next start.
const LITTLE_REST: Seconds = Seconds::from_secs(5);

/// Which lanes of a practice are wanted.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LaneRequest {
    /// A roster that says who swims where; without it `lane` of the script does.
    pub file: Option<PathBuf>,
    /// The one that is meant, where there are several.
    pub name: Option<String>,
}

/// What came of a practice and its lanes.
#[derive(Debug)]
pub struct PreparedTogether {
    /// The lanes that were asked for; none where an error is among the problems.
    pub lanes: Vec<LanePlanned>,
    /// Every problem found on the way.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that the problems point into.
    pub sources: Sources,
}

/// A lane with what it hears.
#[derive(Debug)]
pub struct LanePlanned {
    /// The lane.
    pub lane: Lane,
    /// What its swimmers are called.
    pub voice: LaneVoice,
    /// What its speaker says.
    pub planned: Planned,
}

impl PreparedTogether {
    /// The first of the lanes as a practice, and what was found on the way.
    pub fn first(self) -> Prepared {
        let planned = self.lanes.into_iter().next().map(|lane| lane.planned);
        Prepared { planned, diagnostics: self.diagnostics, sources: self.sources }
    }
}

/// Whether a script says who shares a lane. One that cannot be read says nothing.
pub fn says_lanes(request: &PracticeRequest) -> bool {
    let mut sources = Sources::new();
    let script = request.open(&mut sources).ok().and_then(|(script, _)| parse_partly(script, &sources).0);
    script.is_some_and(|script| script.lane.is_some())
}

/// The lanes that were asked for, read.
pub(super) struct AskedLanes {
    pub opened: Opened,
    /// Each as it is written, and as it is known.
    pub lanes: Vec<(WrittenLane, Lane)>,
    pub texts: Vec<PathBuf>,
    pub diagnostics: Vec<Diagnostic>,
    pub sources: Sources,
}

/// Reads a practice and its lanes. Without any of them an error is among the problems.
pub(super) fn asked(request: &PracticeRequest, lanes: &LaneRequest) -> Result<AskedLanes, Unreadable> {
    let PreparedLanes { lanes: known, written, opened, texts, mut diagnostics, sources, .. } =
        lanes::lanes(request, lanes.file.as_deref())?;
    let (known, written) = (known.unwrap_or_default(), written.map_or_else(Vec::new, |written| written.lanes));
    let named = |lane: &WrittenLane| lanes.name.as_ref().is_none_or(|name| lane.name == *name);
    if !has_errors(&diagnostics) && !written.iter().any(named) {
        let names: Vec<&str> = written.iter().map(|lane| lane.name.as_str()).collect();
        let message = format!("there is no lane `{}`", lanes.name.as_deref().unwrap_or_default());
        let problem = Diagnostic::whole(Code::UnknownName, message);
        diagnostics.push(problem.hint(format!("the lanes are {}", names.join(", "))));
    }
    let lanes = written.into_iter().zip(known).filter(|(written, _)| named(written)).collect();
    Ok(AskedLanes { opened, lanes, texts, diagnostics, sources })
}

/// Plans a practice for its lanes; for a speaker, whatever the request says of who hears it.
///
/// # Errors
/// Where the script or the roster cannot be read.
pub fn together(request: &PracticeRequest, lanes: &LaneRequest) -> Result<PreparedTogether, Unreadable> {
    let request = PracticeRequest { audience: Audience::Speaker, ..request.clone() };
    let AskedLanes { opened, lanes, texts, mut diagnostics, sources } = asked(&request, lanes)?;
    let mut all = Vec::new();
    for (written, known) in &lanes {
        let (lane, found) = of_lane(&opened, (written, known), &texts);
        diagnostics.extend(found);
        all.extend(lane);
    }
    in_order(&mut diagnostics);
    if has_errors(&diagnostics) {
        all.clear();
    }
    Ok(PreparedTogether { lanes: all, diagnostics, sources })
}

/// One lane at its speaker.
pub(super) fn of_lane(
    opened: &Opened,
    lane: (&WrittenLane, &Lane),
    texts: &[PathBuf],
) -> (Option<LanePlanned>, Vec<Diagnostic>) {
    let (heard, found) = planned::<OneLane>(opened, &[lane], texts);
    let lane = |(OneLane { lane, voice }, planned)| LanePlanned { lane, voice, planned };
    (heard.map(lane), found)
}

/// A lane that has a speaker for itself.
struct OneLane {
    lane: Lane,
    voice: LaneVoice,
}

impl AtASpeaker for OneLane {
    fn of(written: &[WrittenLane], lanes: Vec<Lane>, _: &mut Vec<Diagnostic>) -> Option<Self> {
        let (written, lane) = written.first().zip(lanes.into_iter().next())?;
        let voice = LaneVoice::of(&lane, is_named(written));
        Some(Self { lane, voice })
    }

    fn everybody(&self) -> &Lane {
        &self.lane
    }

    fn practice(&self) -> Option<Practice> {
        lane::together(&self.lane)
    }

    fn names(&self) -> &[String] {
        &self.voice.names
    }

    fn in_time(&self, countdown: Seconds) -> Vec<Diagnostic> {
        starts_in_time(&self.lane, &|_| Some(countdown))
    }

    fn lay(&self, practice: &Practice, library: &Library) -> (Built, Vec<Diagnostic>) {
        (speaker(&self.lane, &self.voice, practice, library), Vec::new())
    }
}

/// Whether somebody gave a lane its name.
pub(super) fn is_named(lane: &WrittenLane) -> bool {
    lane.swimmers.iter().all(|member| member.lane.is_some())
}

/// Reports whoever is predicted to touch behind their own next go; and starts that the lane is not through with when the next
/// countdown begins, where a set has one that all hear.
pub(super) fn starts_in_time(lane: &Lane, countdown: &dyn Fn(usize) -> Option<Seconds>) -> Vec<Diagnostic> {
    let mut found: Vec<Diagnostic> = Vec::new();
    let mut tell = |problem: Diagnostic, whose: &str| {
        let same = |other: &Diagnostic| other.span == problem.span && other.message.starts_with(whose);
        if !found.iter().any(same) {
            found.push(problem);
        }
    };
    for (ordinal, set) in lane.sets.iter().enumerate() {
        for (index, start) in set.starts.iter().enumerate() {
            let span = line_of(lane, ordinal, start).unwrap_or(set.span);
            let later = || set.starts.iter().skip(index + 1);
            let offset = |who: usize| lane.swimmers.get(who).map_or(Seconds::ZERO, |who| who.offset);
            let last = start.swims.iter().rposition(Option::is_some).map(offset);
            let next = later().find_map(|next| Some(next.at - start.at + offset(first_of(next)?)));
            let counted =
                |countdown: Seconds| last.zip(next).filter(|(last, next)| *last + synth::GO + countdown > *next);
            if let Some((last, next)) = countdown(ordinal).and_then(counted) {
                let message = format!(
                    "the last of the lane leaves {last} behind the first, and the next start is {next} behind it: its countdown would be in between"
                );
                let hint = "a longer send-off, a smaller `gap`, or fewer in the lane";
                tell(Diagnostic::at(Code::SendOffTooShort, span, message).hint(hint), "the last of the lane");
            }
            for (who, swimmer) in lane.swimmers.iter().enumerate() {
                let own = later().find(|next| next.swims.get(who).is_some_and(Option::is_some));
                let Some((touch, next)) = lane.touch(ordinal, index, who).zip(own) else { continue };
                let (swum, next) = (touch - swimmer.offset, next.at - start.at);
                let name = &swimmer.name;
                let message = match next - swum {
                    rest if rest <= Seconds::ZERO => {
                        format!(
                            "{name} touches {swum} after their go, as predicted, and should leave again after {next}"
                        )
                    }
                    rest if rest < LITTLE_REST => format!("{name} rests {:.1} s, as predicted", rest.as_f64()),
                    _ => continue,
                };
                let hint = "a longer send-off, or less for them: `distance: 3/4`, `swims: 3 of 4`";
                tell(Diagnostic::at(Code::LittleRest, span, message).hint(hint), name);
            }
        }
    }
    found
}

/// Where what is swum in a start stands in the script.
fn line_of(lane: &Lane, set: usize, start: &LaneStart) -> Option<Span> {
    Some(lane.swimmers.first()?.practice.sets().nth(set)?.lines.get(start.line)?.span)
}
