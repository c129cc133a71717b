//! A practice planned for the lanes that swim it: for a speaker at the poolside, to which all of a lane listen.
//!
//! Who swims where is read by `lanes`, what they hear laid by `timeline::lane`. Here a lane is laid out again and again until the
//! built-in voice has said what has no recording, as `fill` does it for one swimmer.

use super::Prepared;
use super::fill::{in_its_language, say, unspoken};
use super::lanes::{self, PreparedLanes};
use super::opened::{Opened, in_order};
use super::planned::Planned;
use super::request::PracticeRequest;
use super::text::Unreadable;
use crate::audio::synth;
use crate::diag::{Code, Diagnostic, Severity, Sources, Span, has_errors};
use crate::lane::{self, Lane, LaneStart, LaneSwimmer, first_of};
use crate::pack::library::Library;
use crate::pack::speech::Speech;
use crate::plan::Plan;
use crate::practice::{self, Audience};
use crate::script::parse::parse_partly;
use crate::swimmer::Swimmer;
use crate::swimmer::lanes::WrittenLane;
use crate::swimmer::roster::Member;
use crate::timeline::lane::{LaneVoice, speaker};
use crate::timeline::speak::Announcer;
use crate::units::time::Seconds;
use std::collections::BTreeSet;
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
    let mut planned = Vec::new();
    for (written, known) in &lanes {
        let (lane, found) = of_lane(&opened, written, known, &texts);
        diagnostics.extend(found);
        planned.extend(lane);
    }
    in_order(&mut diagnostics);
    if has_errors(&diagnostics) {
        planned.clear();
    }
    Ok(PreparedTogether { lanes: planned, diagnostics, sources })
}

/// One lane, laid out until nothing is left to be said by the built-in voice.
pub(super) fn of_lane(
    opened: &Opened,
    written: &WrittenLane,
    known: &Lane,
    texts: &[PathBuf],
) -> (Option<LanePlanned>, Vec<Diagnostic>) {
    let Some(script) = &opened.script else { return (None, Vec::new()) };
    let swimmers = as_listed(known);
    // Phrases of one's own are for one's own ear.
    let mut written = written.clone();
    written.swimmers.iter_mut().for_each(|member| member.focus.clear());
    let named = is_named(&written);
    let mut library = opened.library.clone();
    let speech: Option<&Speech> = opened.speech.as_ref().filter(|_| in_its_language(&library));
    let mut tried = BTreeSet::new();
    loop {
        let (lane, mut found) = lane::expand(script, &library, &written, &swimmers, opened.audience);
        let laid = lane.and_then(|lane| Some((lane::together(&lane)?, lane)));
        let Some((practice, lane)) = laid else { return (None, found) };
        found.extend(starts_in_time(&lane, Some(practice.settings.countdown)));
        if has_errors(&found) {
            return (None, found);
        }
        let voice = LaneVoice::of(&lane, named);
        let built = speaker(&lane, &voice, &practice, &library);
        let wanted = unspoken(&practice, &built).into_iter().chain(voice.names.iter().cloned());
        if say(&mut library, speech, &mut tried, wanted.collect()) {
            continue;
        }
        found.extend(beats_left_out(&lane));
        found.extend(nameless(&written.swimmers, &lane, &voice, &library));
        found.extend(of_the_script(opened, &library, &swimmers));
        found.extend(built.findings.diagnostics.iter().cloned());
        let whom = everybody(&lane);
        let plan = Plan::of(&practice, &built, &whom);
        let planned = Planned { practice, library, built, plan, swimmer: whom, texts: texts.to_vec() };
        return (Some(LanePlanned { lane, voice, planned }), found);
    }
}

/// Whoever is called by number since their name cannot be said: somebody has to tell them.
pub(super) fn nameless(written: &[Member], lane: &Lane, voice: &LaneVoice, library: &Library) -> Vec<Diagnostic> {
    let announcer = Announcer::new(library);
    let who = lane.swimmers.iter().zip(&voice.names).filter(|(who, _)| who.number > 1);
    let told = |(who, name): (&LaneSwimmer, &String)| {
        let span = written.get(who.listed)?.span;
        let message = format!("the name {name} cannot be said: they are called by their number, {}", who.number);
        let hint = "tell them their number, or record the name in a pack (`names`)";
        announcer.named(name).is_none().then(|| Diagnostic::at(Code::CueDropped, span, message).hint(hint))
    };
    who.filter_map(told).collect()
}

/// Beats that the script names and nobody hears from a speaker: they would be those of one swimmer.
pub(super) fn beats_left_out(lane: &Lane) -> Vec<Diagnostic> {
    let lines = lane.swimmers.first().into_iter().flat_map(|who| who.practice.sets()).flat_map(|set| &set.lines);
    let told = |line: &practice::Line| {
        let message = "a lane's speaker plays no beats: those of one swimmer would mislead the others";
        let hint = "`render --lane-files DIR` makes each a file with their own beats";
        Diagnostic::at(Code::CueDropped, line.span, message).hint(hint)
    };
    lines.filter(|line| line.beats.is_some() && line.beats_asked).map(told).collect()
}

/// Whether somebody gave a lane its name.
pub(super) fn is_named(lane: &WrittenLane) -> bool {
    lane.swimmers.iter().all(|member| member.lane.is_some())
}

/// The swimmers of a lane as they were listed.
pub(super) fn as_listed(lane: &Lane) -> Vec<Swimmer> {
    let mut swimmers: Vec<_> = lane.swimmers.iter().map(|who| (who.listed, who.swimmer.clone())).collect();
    swimmers.sort_by_key(|(listed, _)| *listed);
    swimmers.into_iter().map(|(_, swimmer)| swimmer).collect()
}

/// The cautions that a script deserves whoever swims it. What somebody alone could not swim is the lane's to say.
pub(super) fn of_the_script(opened: &Opened, library: &Library, swimmers: &[Swimmer]) -> Vec<Diagnostic> {
    let (Some(script), Some(first)) = (&opened.script, swimmers.first()) else { return Vec::new() };
    let (_, mut found) = practice::expand(script, library, first, opened.audience);
    found.retain(|problem| problem.severity() == Severity::Caution && problem.code != Code::LittleRest);
    found
}

/// Whom a lane's plan is for: nobody in particular, with what is assumed of each.
pub(super) fn everybody(lane: &Lane) -> Swimmer {
    let mut whom = lane.swimmers.first().map_or_else(Swimmer::assumed, |first| first.swimmer.clone());
    let mut assumed: Vec<(&str, Vec<&str>)> = Vec::new();
    for who in &lane.swimmers {
        for text in &who.swimmer.assumptions {
            match assumed.iter_mut().find(|(known, _)| known == text) {
                Some((_, whose)) => whose.push(&who.name),
                None => assumed.push((text, vec![&who.name])),
            }
        }
    }
    let told = |(text, whose): (&str, Vec<&str>)| match whose.len() == lane.swimmers.len() {
        true => text.to_owned(),
        false => format!("{}: {text}", whose.join(", ")),
    };
    (whom.name, whom.assumptions) = (None, assumed.into_iter().map(told).collect());
    whom
}

/// Reports whoever is predicted to touch behind their own next go; and starts that the lane is not through with when the next
/// countdown begins, where all hear one.
pub(super) fn starts_in_time(lane: &Lane, countdown: Option<Seconds>) -> Vec<Diagnostic> {
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
            if let Some((last, next)) = countdown.and_then(counted) {
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
