//! A practice planned for several lanes that share a speaker: one file from which all of them hear their starts.
//!
//! What one lane hears is planned in `together`. Whether lanes can be called from one place at all is said here: they keep one clock,
//! and there is time for every call.

use super::Prepared;
use super::fill::{in_its_language, say, unspoken};
use super::opened::{Opened, in_order};
use super::planned::Planned;
use super::request::PracticeRequest;
use super::text::Unreadable;
use super::together::{
    AskedLanes, LaneRequest, as_listed, asked, beats_left_out, everybody, nameless, of_lane, of_the_script,
    starts_in_time,
};
use crate::diag::{Code, Diagnostic, has_errors};
use crate::lane::{self, ClocksDiffer, Lane, LaneSet, LaneStart, LanesOnOneClock};
use crate::plan::Plan;
use crate::practice::Audience;
use crate::swimmer::lanes::WrittenLane;
use crate::timeline::lane::LaneVoice;
use crate::timeline::lanes::{CallsCollide, LanesVoice, speaker_of_several};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Plans a practice for a speaker to which all lanes that are asked for listen, whatever the request says of who hears it.
///
/// # Errors
/// Where the script or the roster cannot be read.
pub fn for_one_speaker(request: &PracticeRequest, lanes: &LaneRequest) -> Result<Prepared, Unreadable> {
    let request = PracticeRequest { audience: Audience::Speaker, ..request.clone() };
    let AskedLanes { opened, lanes, texts, mut diagnostics, sources } = asked(&request, lanes)?;
    let (planned, found) = match lanes.as_slice() {
        [(written, known)] => {
            let (lane, found) = of_lane(&opened, written, known, &texts);
            (lane.map(|lane| lane.planned), found)
        }
        lanes => planned(&opened, lanes, &texts),
    };
    diagnostics.extend(found);
    in_order(&mut diagnostics);
    let planned = planned.filter(|_| !has_errors(&diagnostics));
    Ok(Prepared { planned, diagnostics, sources })
}

/// All lanes as one, laid out until nothing is left to be said by the built-in voice.
fn planned(opened: &Opened, lanes: &[(WrittenLane, Lane)], texts: &[PathBuf]) -> (Option<Planned>, Vec<Diagnostic>) {
    let Some(script) = &opened.script else { return (None, Vec::new()) };
    // Phrases of one's own are for one's own ear.
    let mut written: Vec<WrittenLane> = lanes.iter().map(|(written, _)| written.clone()).collect();
    written.iter_mut().flat_map(|lane| &mut lane.swimmers).for_each(|member| member.focus.clear());
    let members: Vec<_> = written.iter().flat_map(|lane| lane.swimmers.iter().cloned()).collect();
    let swimmers: Vec<_> = lanes.iter().map(|(_, known)| as_listed(known)).collect();
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
        let names: Vec<String> = all.iter().map(|lane| lane.name.clone()).collect();
        let gaps = all.iter().map(|lane| lane.gap).collect();
        let lanes = match lane::side_by_side(&all) {
            Ok(Some(lanes)) => lanes,
            Ok(None) => return (None, found),
            Err(differ) => {
                found.push(do_not_start_together(&all, &differ));
                return (None, found);
            }
        };
        let Some(practice) = lane::together(&lanes.all) else { return (None, found) };
        found.extend(starts_in_time(&lanes.all, Some(practice.settings.countdown)));
        if has_errors(&found) {
            return (None, found);
        }
        let called = LaneVoice::of(&lanes.all, false);
        let voice = LanesVoice { lanes: names, gaps, names: called.names.clone() };
        let (built, collide) = speaker_of_several(&lanes, &voice, &practice, &library);
        let wanted = unspoken(&practice, &built).into_iter().chain(voice.names.iter().cloned());
        if say(&mut library, speech, &mut tried, wanted.collect()) {
            continue;
        }
        found.extend(collide.iter().map(|collide| no_time(&lanes, &voice, collide)));
        found.extend(through_before(&lanes, &voice));
        found.extend(beats_left_out(&lanes.all));
        found.extend(nameless(&members, &lanes.all, &called, &library));
        let listed: Vec<_> = swimmers.concat();
        found.extend(of_the_script(opened, &library, &listed));
        found.extend(built.findings.diagnostics.iter().cloned());
        let whom = everybody(&lanes.all);
        let plan = Plan::of(&practice, &built, &whom);
        let planned = Planned { practice, library, built, plan, swimmer: whom, texts: texts.to_vec() };
        return (Some(planned), found);
    }
}

/// Lanes that are through with a set before the others: the calls go on, and say to nobody that they are not theirs.
fn through_before(lanes: &LanesOnOneClock, voice: &LanesVoice) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for set in &lanes.all.sets {
        let leaves = |lane: usize, start: &LaneStart| {
            let own = start.swims.iter().zip(&lanes.lane_of).filter(|(_, of)| **of == lane);
            own.map(|(swim, _)| swim).any(Option::is_some)
        };
        for (lane, name) in voice.lanes.iter().enumerate() {
            let own = set.starts.iter().filter(|start| leaves(lane, start)).count();
            let last = set.starts.iter().rposition(|start| leaves(lane, start)).map_or(0, |last| last + 1);
            if last < set.starts.len() {
                let message = format!(
                    "lane {name} leaves {own} times in {}, other lanes {} times: nobody says so to it",
                    set.title,
                    set.starts.len()
                );
                found
                    .push(Diagnostic::at(Code::CueDropped, set.span, message).hint("tell the lane when it is through"));
            }
        }
    }
    found
}

/// Lanes of which one leaves when another does not.
fn do_not_start_together(lanes: &[Lane], differ: &ClocksDiffer) -> Diagnostic {
    let ClocksDiffer { set, start, lanes: (one, other), at: (at, other_at) } = *differ;
    let name = |lane: usize| lanes.get(lane).map_or("", |lane| lane.name.as_str());
    let own = lanes.get(one).and_then(|lane| lane.sets.get(set));
    let title = own.map_or("", |set| set.title.as_str());
    let leaves = match other_at {
        Some(other_at) => format!("lane {} {other_at} after it", name(other)),
        None => format!("lane {} does not leave again", name(other)),
    };
    let message = format!(
        "one speaker cannot call lanes that do not start together: for start {} of {title} lane {} leaves {at} after the first go, {leaves}",
        start + 1,
        name(one)
    );
    in_set(own, message)
        .hint("give all lanes one send-off, or one lane a file: `--lane-name`; `--lane-files DIR` is for the ear")
}

/// A call for which there is no time before its go.
fn no_time(lanes: &LanesOnOneClock, voice: &LanesVoice, collide: &CallsCollide) -> Diagnostic {
    let set = lanes.all.sets.get(collide.set);
    let whose = |who: &[usize]| {
        let one = |who: &usize| {
            let lane = lanes.lane_of.get(*who).and_then(|lane| voice.lanes.get(*lane));
            let name = lanes.all.swimmers.get(*who).map_or("", |who| who.name.as_str());
            format!("{name} in lane {}", lane.map_or("", String::as_str))
        };
        who.iter().map(one).collect::<Vec<_>>().join(", ")
    };
    let message = format!(
        "no time to call {} in start {} of {}: they leave {:.1} s behind {}, and the call takes {:.1} s",
        whose(&collide.who),
        collide.start + 1,
        set.map_or("", |set| set.title.as_str()),
        collide.after.as_f64(),
        whose(&collide.before),
        collide.call.as_f64()
    );
    let hint =
        "give all lanes one `gap`, so that one number is called for all of them; or a lane a file: `--lane-name`";
    in_set(set, message).hint(hint)
}

fn in_set(set: Option<&LaneSet>, message: String) -> Diagnostic {
    match set {
        Some(set) => Diagnostic::at(Code::Conflict, set.span, message),
        None => Diagnostic::whole(Code::Conflict, message),
    }
}
