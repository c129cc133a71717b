//! A practice planned for several lanes that share a speaker: one file from which all of them hear their starts.
//!
//! What one lane hears is planned in `together`. Whether lanes can be called from one place at all is said here: they keep one clock,
//! and there is time for every call.

use super::Prepared;
use super::at_a_speaker::{AtASpeaker, planned};
use super::opened::in_order;
use super::request::PracticeRequest;
use super::text::Unreadable;
use super::together::{AskedLanes, LaneRequest, asked, of_lane, starts_in_time};
use crate::diag::{Code, Diagnostic, has_errors};
use crate::lane::{self, ClocksDiffer, Lane, LaneSet, LaneStart, LanesOnOneClock};
use crate::pack::library::Library;
use crate::practice::{Audience, Practice};
use crate::swimmer::lanes::WrittenLane;
use crate::timeline::built::Built;
use crate::timeline::lane::LaneVoice;
use crate::timeline::lanes::{CallsCollide, LanesVoice, speaker_of_several};
use crate::units::time::Seconds;

/// Plans a practice for a speaker to which all lanes that are asked for listen, whatever the request says of who hears it.
///
/// # Errors
/// Where the script or the roster cannot be read.
pub fn for_one_speaker(request: &PracticeRequest, lanes: &LaneRequest) -> Result<Prepared, Unreadable> {
    let request = PracticeRequest { audience: Audience::Speaker, ..request.clone() };
    let AskedLanes { opened, lanes, texts, mut diagnostics, sources } = asked(&request, lanes)?;
    let lanes: Vec<(&WrittenLane, &Lane)> = lanes.iter().map(|(written, known)| (written, known)).collect();
    let (planned, found) = match lanes.as_slice() {
        [lane] => {
            let (lane, found) = of_lane(&opened, *lane, &texts);
            (lane.map(|lane| lane.planned), found)
        }
        lanes => {
            let (heard, found) = planned::<SideBySide>(&opened, lanes, &texts);
            (heard.map(|(_, planned)| planned), found)
        }
    };
    diagnostics.extend(found);
    in_order(&mut diagnostics);
    let planned = planned.filter(|_| !has_errors(&diagnostics));
    Ok(Prepared { planned, diagnostics, sources })
}

/// Lanes that share a speaker.
struct SideBySide {
    lanes: LanesOnOneClock,
    voice: LanesVoice,
}

impl AtASpeaker for SideBySide {
    fn of(_: &[WrittenLane], lanes: Vec<Lane>, found: &mut Vec<Diagnostic>) -> Option<Self> {
        let (names, gaps) = lanes.iter().map(|lane| (lane.name.clone(), lane.gap)).unzip();
        match lane::side_by_side(&lanes) {
            Ok(all) => {
                let lanes = all?;
                let called = LaneVoice::of(&lanes.all, false).names;
                Some(Self { voice: LanesVoice { lanes: names, gaps, names: called }, lanes })
            }
            Err(differ) => {
                found.push(do_not_start_together(&lanes, &differ));
                None
            }
        }
    }

    fn everybody(&self) -> &Lane {
        &self.lanes.all
    }

    fn names(&self) -> &[String] {
        &self.voice.names
    }

    fn in_time(&self, countdown: Seconds) -> Vec<Diagnostic> {
        starts_in_time(&self.lanes.all, Some(countdown))
    }

    fn lay(&self, practice: &Practice, library: &Library) -> (Built, Vec<Diagnostic>) {
        let Self { lanes, voice } = self;
        let (built, collide) = speaker_of_several(lanes, voice, practice, library);
        let collide = collide.iter().map(|collide| no_time(lanes, voice, collide));
        (built, collide.chain(through_before(lanes, voice)).collect())
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
