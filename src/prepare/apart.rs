//! A practice planned for each swimmer of its lanes: their own tempo, count, focus and name in their own ear, on one clock. If all
//! players are started together, everybody leaves as many seconds behind the one in front as the lane's gap.

use super::at_a_speaker::{as_listed, of_the_script};
use super::fill::{in_its_language, say, unspoken};
use super::opened::{Opened, Own, in_order};
use super::planned::Planned;
use super::request::PracticeRequest;
use super::text::Unreadable;
use super::together::{AskedLanes, LaneRequest, asked, is_named, starts_in_time};
use crate::diag::{Code, Diagnostic, Sources, Span, Spanned, has_errors};
use crate::lane::{self, Lane, LaneSwimmer};
use crate::pack::library::Library;
use crate::pack::manifest;
use crate::plan::Plan;
use crate::practice::{Audience, Company, Practice};
use crate::script::Script;
use crate::script::quantity::lane::GAPS;
use crate::swimmer::lanes::WrittenLane;
use crate::timeline::built::Built;
use crate::timeline::lane::{LaneEar, LaneVoice, first_gos, own};
use crate::timeline::speak::Announcer;
use crate::units::time::Seconds;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Thumbs on players that hear one signal: so far apart at most. Our assumption, no source.
const THUMBS: Seconds = Seconds::from_millis(300);
/// A player's clock is off by so many millionths at most, one way or the other. Common practice for quartz clocks, no source.
const OFF: i64 = 50;

/// What came of a practice and the swimmers of its lanes.
#[derive(Debug)]
pub struct PreparedApart {
    /// Each swimmer of the lanes that were asked for, in the order of leaving; none where an error is among the problems.
    pub swimmers: Vec<SwimmerPlanned>,
    /// The script with its packs.
    pub opened: Opened,
    /// Where it is written who swims.
    pub roster: PathBuf,
    /// How far apart their players may come to be.
    pub drift: Seconds,
    /// The smallest gap.
    pub gap: Seconds,
    /// Every problem found on the way.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that the problems point into.
    pub sources: Sources,
}

/// A swimmer of a lane with what they hear.
#[derive(Debug)]
pub struct SwimmerPlanned {
    /// Their name.
    pub name: String,
    /// Where they stand in the roster or the script.
    pub span: Span,
    /// The lane.
    pub lane: String,
    /// After the first go of each start of the lane.
    pub offset: Seconds,
    /// What they hear.
    pub planned: Planned,
}

/// Plans a practice for each swimmer of its lanes; for the ear, whatever the request says of who hears it.
///
/// # Errors
/// Where the script or the roster cannot be read.
pub fn apart(request: &PracticeRequest, lanes: &LaneRequest) -> Result<PreparedApart, Unreadable> {
    let request = PracticeRequest { audience: Audience::Headphones, ..request.clone() };
    let roster = lanes.file.clone().unwrap_or_else(|| request.script.clone());
    let AskedLanes { opened, lanes, texts, mut diagnostics, mut sources } = asked(&request, lanes)?;
    let mut swimmers = Vec::new();
    if let Some(script) = opened.script.as_ref().filter(|_| !has_errors(&diagnostics)) {
        let voices = voices(&opened, &lanes, &roster, &mut sources, &mut diagnostics);
        let mut laying = Laying { opened: &opened, script, lanes: &lanes, voices };
        swimmers = laying.all(&texts, &mut diagnostics);
    }
    let len = swimmers.iter().map(|who| who.planned.built.timeline.len()).max().unwrap_or(Seconds::ZERO);
    let drift = THUMBS + len.scaled(2 * OFF, 1_000_000);
    let gap = lanes.iter().filter(|(_, lane)| lane.swimmers.len() > 1).map(|(_, lane)| lane.gap).min();
    let gap = gap.unwrap_or(*GAPS.end());
    if gap - drift < *GAPS.start() && !swimmers.is_empty() {
        let left = (gap - drift).as_f64();
        let message = format!(
            "players may come to be {:.1} s apart, which leaves {left:.1} s of a gap of {} s",
            drift.as_f64(),
            gap.as_f64()
        );
        let hint = format!(
            "`gap: {} s`, or a speaker for the lane",
            (*GAPS.start() + drift).ceil_to(Seconds::from_secs(1)).as_f64()
        );
        diagnostics.push(Diagnostic::whole(Code::GapClose, message).hint(hint));
    }
    in_order(&mut diagnostics);
    if has_errors(&diagnostics) {
        swimmers.clear();
    }
    Ok(PreparedApart { swimmers, opened, roster, drift, gap, diagnostics, sources })
}

/// A voice that somebody of the lanes has, and what it can say.
struct OwnVoice {
    /// The pack whose recordings win; none for the script's own.
    name: Option<String>,
    library: Library,
    /// What the built-in voice was asked for.
    tried: BTreeSet<String>,
}

/// Opens each voice once.
fn voices(
    opened: &Opened,
    lanes: &[(WrittenLane, Lane)],
    roster: &Path,
    sources: &mut Sources,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<OwnVoice> {
    let members = || lanes.iter().flat_map(|(written, _)| &written.swimmers);
    let focus: Vec<Spanned<String>> = members().flat_map(|member| member.focus.iter().cloned()).collect();
    let mut voices: Vec<OwnVoice> = Vec::new();
    for member in members() {
        let name = member.voice.as_ref().map(|voice| voice.value.clone());
        if voices.iter().any(|known| known.name == name) {
            continue;
        }
        let own = member.voice.as_ref().and_then(|voice| {
            // A folder as seen from where it is written, else a name that is looked up as a script's packs are.
            let beside = Path::new(".").join(roster.parent().unwrap_or(Path::new(""))).join(&voice.value);
            let folder = beside.join(manifest::FILE).is_file().then(|| beside.to_string_lossy().into_owned());
            let (own, found) = opened.voice(folder.as_deref().unwrap_or(&voice.value), voice.span, sources);
            diagnostics.extend(found);
            own
        });
        let library = opened.spoken_with(Own { voice: own.as_ref(), focus: &focus, texts: &[] });
        voices.push(OwnVoice { name, library, tried: BTreeSet::new() });
    }
    voices
}

/// All swimmers being laid out.
struct Laying<'a> {
    opened: &'a Opened,
    script: &'a Script,
    lanes: &'a [(WrittenLane, Lane)],
    voices: Vec<OwnVoice>,
}

/// One swimmer, laid out with the words that there are.
struct LaidEar {
    lane: usize,
    who: usize,
    /// Which voice they have.
    voice: usize,
    practice: Practice,
}

impl Laying<'_> {
    /// Lays all of them out until nothing is left to be said by the built-in voice.
    fn all(&mut self, texts: &[PathBuf], diagnostics: &mut Vec<Diagnostic>) -> Vec<SwimmerPlanned> {
        let names: Vec<LaneVoice> =
            self.lanes.iter().map(|(written, lane)| LaneVoice::of(lane, is_named(written))).collect();
        loop {
            let (ears, found) = self.ears(&names);
            if has_errors(&found) {
                diagnostics.extend(found);
                return Vec::new();
            }
            let built = self.built(&ears, &names);
            if self.said(&ears, &built, &names) {
                continue;
            }
            diagnostics.extend(found);
            if let Some((voice, (_, lane))) = self.voices.first().zip(self.lanes.first()) {
                diagnostics.extend(of_the_script(self.opened, &voice.library, &as_listed(lane)));
            }
            let planned = |(ear, built): (LaidEar, Built)| self.planned(ear, built, texts, diagnostics);
            return ears.into_iter().zip(built).filter_map(planned).collect();
        }
    }

    /// What each swims, with the texts that their voice has by now.
    fn ears(&self, names: &[LaneVoice]) -> (Vec<LaidEar>, Vec<Diagnostic>) {
        let (mut ears, mut found) = (Vec::new(), Vec::new());
        for (index, (written, known)) in self.lanes.iter().enumerate() {
            let swimmers = as_listed(known);
            let voice_of =
                |who: &LaneSwimmer| written.swimmers.get(who.listed)?.voice.as_ref().map(|voice| &voice.value);
            for (voice, own) in self.voices.iter().enumerate() {
                let has = |(place, who)| (voice_of(who) == own.name.as_ref()).then_some(place);
                let whose: Vec<usize> = known.swimmers.iter().enumerate().filter_map(has).collect();
                if whose.is_empty() {
                    continue;
                }
                let (lane, problems) =
                    lane::expand(self.script, &own.library, written, &swimmers, self.opened.audience);
                found.extend(problems);
                let Some(lane) = lane else { continue };
                found.extend(starts_in_time(&lane, &|_| None));
                for who in whose {
                    let Some(mut practice) = lane.swimmers.get(who).map(|who| who.practice.clone()) else { continue };
                    practice.company = Company::InLane;
                    let name = names.get(index).and_then(|names| names.names.get(who));
                    let said = || Some(("name".to_owned(), Announcer::new(&own.library).named(name?)?));
                    practice.name = practice.name.or_else(said);
                    ears.push(LaidEar { lane: index, who, voice, practice });
                }
            }
        }
        ears.sort_by_key(|ear| (ear.lane, ear.who));
        (ears, found)
    }

    /// What each hears, on the clock that all of them have.
    fn built(&self, ears: &[LaidEar], names: &[LaneVoice]) -> Vec<Built> {
        let mut all: Vec<LaneEar<'_>> = Vec::with_capacity(ears.len());
        for LaidEar { lane, who, voice, practice } in ears {
            let known = self.lanes.get(*lane).zip(names.get(*lane)).zip(self.voices.get(*voice));
            all.extend(known.map(|(((_, lane), words), voice)| LaneEar {
                lane,
                voice: words,
                who: *who,
                practice,
                library: &voice.library,
            }));
        }
        let gos = first_gos(&all);
        all.into_iter().map(|ear| own(ear, &gos)).collect()
    }

    /// Has the built-in voice say what lacks a recording; whether that was anything.
    fn said(&mut self, ears: &[LaidEar], built: &[Built], names: &[LaneVoice]) -> bool {
        let speech = self.opened.speech.as_ref().filter(|_| in_its_language(&self.opened.library));
        let mut news = false;
        for (ear, built) in ears.iter().zip(built) {
            let name = names.get(ear.lane).and_then(|names| names.names.get(ear.who)).cloned();
            let wanted = unspoken(&ear.practice, built).into_iter().chain(name).collect();
            if let Some(voice) = self.voices.get_mut(ear.voice) {
                news |= say(&mut voice.library, speech, &mut voice.tried, wanted);
            }
        }
        news
    }

    fn planned(
        &self,
        ear: LaidEar,
        built: Built,
        texts: &[PathBuf],
        diagnostics: &mut Vec<Diagnostic>,
    ) -> Option<SwimmerPlanned> {
        let (written, lane) = self.lanes.get(ear.lane)?;
        let who = lane.swimmers.get(ear.who)?;
        let span = written.swimmers.get(who.listed)?.span;
        diagnostics.extend(built.findings.diagnostics.iter().cloned());
        let library = self.voices.get(ear.voice)?.library.clone();
        let swimmer = who.swimmer.clone();
        let plan = Plan::of(&ear.practice, &built, &swimmer);
        let planned = Planned { practice: ear.practice, library, built, plan, swimmer, texts: texts.to_vec() };
        Some(SwimmerPlanned { name: who.name.clone(), span, lane: lane.name.clone(), offset: who.offset, planned })
    }
}
