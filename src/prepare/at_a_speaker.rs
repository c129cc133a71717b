//! What everybody at a speaker hears, one lane or several: laid out again and again until the built-in voice has said what has no
//! recording, as `fill` does it for one swimmer.
//!
//! How lanes are put together, and what is laid for them, their kinds say ([`AtASpeaker`]).

use super::fill::{in_its_language, say, unspoken};
use super::opened::Opened;
use super::planned::Planned;
use crate::diag::{Code, Diagnostic, Severity, has_errors};
use crate::lane::{self, Lane, LaneSwimmer};
use crate::pack::library::Library;
use crate::plan::Plan;
use crate::practice::{self, Practice};
use crate::swimmer::Swimmer;
use crate::swimmer::lanes::WrittenLane;
use crate::swimmer::roster::Member;
use crate::timeline::built::Built;
use crate::timeline::speak::Announcer;
use crate::units::time::Seconds;
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Those who hear one speaker.
pub(super) trait AtASpeaker: Sized {
    /// Puts the lanes together, each with how it is written. Where that cannot be, an error is among what was `found`.
    fn of(written: &[WrittenLane], lanes: Vec<Lane>, found: &mut Vec<Diagnostic>) -> Option<Self>;

    /// All of them as one lane.
    fn everybody(&self) -> &Lane;

    /// What all of them swim.
    fn practice(&self) -> Option<Practice>;

    /// What each is called, in the order of that lane.
    fn names(&self) -> &[String];

    /// Who cannot start as planned.
    fn in_time(&self, countdown: Seconds) -> Vec<Diagnostic>;

    /// What is heard, and what of it has no room. `practice` is that of all of them.
    fn lay(&self, practice: &Practice, library: &Library) -> (Built, Vec<Diagnostic>);
}

/// Plans for lanes, each as it is written and as it is known, what one speaker says to all of them.
pub(super) fn planned<L: AtASpeaker>(
    opened: &Opened,
    lanes: &[(&WrittenLane, &Lane)],
    texts: &[PathBuf],
) -> (Option<(L, Planned)>, Vec<Diagnostic>) {
    let Some(script) = &opened.script else { return (None, Vec::new()) };
    let written: Vec<WrittenLane> = lanes.iter().map(|(written, _)| written.for_a_speaker()).collect();
    let members: Vec<Member> = written.iter().flat_map(|lane| lane.swimmers.iter().cloned()).collect();
    let swimmers: Vec<Vec<Swimmer>> = lanes.iter().map(|(_, known)| as_listed(known)).collect();
    let mut library = opened.library.clone();
    let speech = opened.speech.as_ref().filter(|_| in_its_language(&library));
    let mut tried = BTreeSet::new();
    loop {
        let (mut all, mut found) = (Vec::with_capacity(lanes.len()), Vec::new());
        for (written, swimmers) in written.iter().zip(&swimmers) {
            let (lane, problems) = lane::expand(script, &library, written, swimmers, opened.audience);
            found.extend(problems);
            all.extend(lane);
        }
        if has_errors(&found) || all.len() < lanes.len() {
            return (None, found);
        }
        let Some(heard) = L::of(&written, all, &mut found) else { return (None, found) };
        let Some(practice) = heard.practice() else { return (None, found) };
        found.extend(heard.in_time(practice.settings.countdown));
        if has_errors(&found) {
            return (None, found);
        }
        let (built, roomless) = heard.lay(&practice, &library);
        let wanted = unspoken(&practice, &built).into_iter().chain(heard.names().iter().cloned());
        if say(&mut library, speech, &mut tried, wanted.collect()) {
            continue;
        }
        found.extend(roomless);
        found.extend(beats_left_out(heard.everybody()));
        found.extend(nameless(&members, heard.everybody(), heard.names(), &library));
        found.extend(of_the_script(opened, &library, &swimmers.concat()));
        found.extend(built.findings.diagnostics.iter().cloned());
        let swimmer = everybody(heard.everybody());
        let plan = Plan::of(&practice, &built, &swimmer);
        let planned = Planned { practice, library, built, plan, swimmer, texts: texts.to_vec() };
        return (Some((heard, planned)), found);
    }
}

/// Whoever is called by number since their name cannot be said: somebody has to tell them.
fn nameless(written: &[Member], lane: &Lane, names: &[String], library: &Library) -> Vec<Diagnostic> {
    let announcer = Announcer::new(library);
    let who = lane.swimmers.iter().zip(names).filter(|(who, _)| who.number > 1);
    let told = |(who, name): (&LaneSwimmer, &String)| {
        let span = written.get(who.listed)?.span;
        let message = format!("the name {name} cannot be said: they are called by their number, {}", who.number);
        let hint = "tell them their number, or record the name in a pack (`names`)";
        announcer.named(name).is_none().then(|| Diagnostic::at(Code::CueDropped, span, message).hint(hint))
    };
    who.filter_map(told).collect()
}

/// Beats that the script names and nobody hears from a speaker: they would be those of one swimmer.
fn beats_left_out(lane: &Lane) -> Vec<Diagnostic> {
    let lines = lane.swimmers.first().into_iter().flat_map(|who| who.practice.sets()).flat_map(|set| &set.lines);
    let told = |line: &practice::Line| {
        let message = "a lane's speaker plays no beats: those of one swimmer would mislead the others";
        let hint = "`render --lane-files DIR` makes each a file with their own beats";
        Diagnostic::at(Code::CueDropped, line.span, message).hint(hint)
    };
    lines.filter(|line| line.beats.is_some() && line.beats_asked).map(told).collect()
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
fn everybody(lane: &Lane) -> Swimmer {
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
