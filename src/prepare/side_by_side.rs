//! A practice planned for several lanes that share a speaker: one file from which all of them hear their starts.
//!
//! What one lane hears is planned in `together`. Whether lanes can be called from one place at all is said here, and what of their
//! calls has no room.

use super::Prepared;
use super::at_a_speaker::{AtASpeaker, planned};
use super::opened::in_order;
use super::request::PracticeRequest;
use super::text::Unreadable;
use super::together::{AskedLanes, LaneRequest, asked, of_lane, starts_in_time};
use crate::diag::{Code, Diagnostic, has_errors};
use crate::lane::{self, Lane, LanesOnOneClock, OffTheMarks};
use crate::pack::library::Library;
use crate::practice::{Audience, Practice};
use crate::swimmer::lanes::WrittenLane;
use crate::timeline::built::Built;
use crate::timeline::lane::LaneVoice;
use crate::timeline::lanes::{CalledAs, LanesVoice, LessCalled, speaker_of_several};
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
            Err(off) => {
                found.push(off_the_marks(&lanes, &off));
                None
            }
        }
    }

    fn everybody(&self) -> &Lane {
        &self.lanes.all
    }

    fn practice(&self) -> Option<Practice> {
        self.lanes.practice()
    }

    fn names(&self) -> &[String] {
        &self.voice.names
    }

    fn in_time(&self, countdown: Seconds) -> Vec<Diagnostic> {
        let apart = |set: usize| self.lanes.apart.get(set) == Some(&true);
        let mut found = starts_in_time(&self.lanes.all, &|set| (!apart(set)).then_some(countdown));
        // Of a set whose lanes leave at times of their own that one has no more than one lane's starts.
        for lane in &self.lanes.lanes {
            let own = starts_in_time(lane, &|set| apart(set).then_some(Seconds::ZERO));
            found.extend(own.into_iter().filter(|own| !found.contains(own)).collect::<Vec<_>>());
        }
        found
    }

    fn lay(&self, practice: &Practice, library: &Library) -> (Built, Vec<Diagnostic>) {
        let Self { lanes, voice } = self;
        let (built, less) = speaker_of_several(lanes, voice, practice, library);
        let sets = 0..lanes.all.sets.len();
        (built, sets.filter_map(|set| left_out(lanes, practice, set, &less)).collect())
    }
}

/// What is left out of a set for lack of room, in one line.
fn left_out(lanes: &LanesOnOneClock, practice: &Practice, set: usize, less: &[LessCalled]) -> Option<Diagnostic> {
    let known = lanes.all.sets.get(set)?;
    let own: Vec<&LessCalled> = less.iter().filter(|less| less.set == set).collect();
    let mut what: Vec<String> = Vec::new();
    let phrases = practice.sets().nth(set).is_some_and(|set| set.lines.iter().any(|line| !line.focus.is_empty()));
    if phrases && lanes.apart.get(set) == Some(&true) {
        what.push("phrases are said before its first start only".to_owned());
    }
    let count = |called: CalledAs| own.iter().filter(|less| less.called == called).count();
    let starts = |count: usize, what: &str| {
        (count > 0).then(|| format!("{count} {} {what}", if count == 1 { "start" } else { "starts" }))
    };
    what.extend(starts(count(CalledAs::NoPips), "without pips"));
    what.extend(starts(count(CalledAs::NoName), "called by lane, without a name"));
    let silent = own.iter().filter(|less| less.called == CalledAs::NotCalled).flat_map(|less| &less.who);
    let mut silent: Vec<&str> = silent.filter_map(|who| Some(lanes.all.swimmers.get(*who)?.name.as_str())).collect();
    silent.sort_unstable();
    silent.dedup();
    if !silent.is_empty() {
        what.push(format!("not always called: {}", silent.join(", ")));
    }
    let message = format!("not everything has room in {} with lanes side by side: {}", known.title, what.join("; "));
    let hint = "give all lanes one send-off and one `gap`, or a lane a file: `--lane-name`";
    (!what.is_empty()).then(|| Diagnostic::at(Code::CueDropped, known.span, message).hint(hint))
}

/// Lanes that do not leave together, and not on the marks of a pace clock either.
fn off_the_marks(lanes: &[Lane], off: &OffTheMarks) -> Diagnostic {
    let OffTheMarks { set, name, lane, at } = off;
    let own = lanes.first().and_then(|lane| lane.sets.get(*set));
    let title = own.map_or("", |set| set.title.as_str());
    let message = format!(
        "one speaker calls lanes that do not leave together on every fifth second only: in {title} {name} of lane {lane} leaves {at} \
         after the first go"
    );
    let hint =
        "a `gap` and a send-off of whole 5 s in every lane, the same ones for all, or one lane a file: `--lane-name`";
    match own {
        Some(set) => Diagnostic::at(Code::Conflict, set.span, message),
        None => Diagnostic::whole(Code::Conflict, message),
    }
    .hint(hint)
}
