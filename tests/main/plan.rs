//! Whatever is written, what is heard keeps its promises: properties of plans and timelines over generated scripts.
//!
//! Every expectation is worked out here from the script as generated or from the timeline's dump, with arithmetic of its
//! own.

use crate::cases::cases;
use crate::generate::{Generated, Leave, PACK, script};
use crate::told::{known_from_before, reminds};
use lengthwise::diag::{Code, Sources, has_errors};
use lengthwise::pack::library::{Library, Role};
use lengthwise::pack::load::{Search, open};
use lengthwise::plan::Plan;
use lengthwise::practice::{self, Audience, FocusPoint, Practice, Repeat, Set, Text};
use lengthwise::script::Breathe;
use lengthwise::script::parse::parse;
use lengthwise::swimmer::{Swimmer, profile};
use lengthwise::timeline::build::build;
use lengthwise::timeline::built::Built;
use lengthwise::timeline::dump::dump;
use lengthwise::timeline::{Beat, Cue, CueKind, Grid, LegKind};
use lengthwise::units::time::Tempo;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestError, TestRunner};
use std::collections::BTreeMap;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};

pub const SECOND: i128 = 1_000_000_000;

/// A script that could be planned.
pub struct Planned {
    pub practice: Practice,
    pub built: Built,
    pub plan: Plan,
}

/// The shipped texts and the odd ones, read once.
pub fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("pack.yaml"), PACK).unwrap();
        let search = Search { script: Some(folder.path().join("script.yaml")), ..Search::default() };
        let mut sources = Sources::new();
        let (library, problems) = open(&search, None, &mut sources);
        assert!(!has_errors(&problems), "{problems:?}");
        library
    })
}

/// The profile of somebody counted: 19 strokes at 1.30 s and 22 at 1.00 s in 25 m, 4 s of each length without strokes.
pub const COUNTED: &str = include_str!("../scripts/deck/swimmers/steady.yaml");

/// All stages up to the plan; `None` where the script has errors.
fn plan(generated: &Generated) -> Result<Option<Planned>, TestCaseError> {
    plan_for(generated, Audience::Headphones)
}

/// The same for whoever hears it.
pub fn plan_for(generated: &Generated, audience: Audience) -> Result<Option<Planned>, TestCaseError> {
    let mut sources = Sources::new();
    let swimmer = match &generated.profile {
        None => Swimmer::assumed(),
        Some(text) => {
            let id = sources.add("profile", text.clone());
            let (swimmer, problems) = profile::parse(id, &sources);
            // Some profiles describe nobody; they are refused with a reason.
            prop_assert_eq!(swimmer.is_none(), has_errors(&problems));
            match swimmer {
                Some(swimmer) => swimmer,
                None => return Ok(None),
            }
        }
    };
    let id = sources.add("script", generated.yaml.clone());
    let (script, problems) = parse(id, &sources);
    prop_assert!(!has_errors(&problems), "a script of the language is not read: {problems:?}");
    let script = script.unwrap();
    let (practice, problems) = practice::expand(&script, library(), &swimmer, audience);
    prop_assert_eq!(practice.is_none(), has_errors(&problems), "{:?}", problems);
    let Some(practice) = practice else { return Ok(None) };
    let built = build(&practice, library());
    let plan = Plan::of(&practice, &built, &swimmer);
    Ok(Some(Planned { practice, built, plan }))
}

/// Runs a property over generated scripts that can be planned, and makes sure that many can. `yaml` is what is shown of
/// a script for which it does not hold.
pub fn hold_for<S: Strategy, P>(
    scripts: &S,
    yaml: impl Fn(&S::Value) -> &str,
    plan: impl Fn(&S::Value) -> Result<Option<P>, TestCaseError>,
    property: impl Fn(&S::Value, &P) -> Result<(), TestCaseError>,
) {
    let config = Config { max_shrink_iters: 4_000, ..cases(48) };
    let cases = config.cases;
    let planned = AtomicU32::new(0);
    let result = TestRunner::new(config).run(scripts, |script| {
        let Some(found) = plan(&script)? else { return Ok(()) };
        planned.fetch_add(1, Ordering::Relaxed);
        property(&script, &found)
    });
    if let Err(error) = result {
        panic!("{error}\n{}", if let TestError::Fail(_, value) = &error { yaml(value) } else { "" });
    }
    let planned = planned.into_inner();
    // About two of five can; of 48, fewer than a quarter came up by chance once.
    assert!(planned * 8 >= cases, "only {planned} of {cases} scripts could be planned");
}

fn hold(property: impl Fn(&Generated, &Planned) -> Result<(), TestCaseError>) {
    hold_for(&script(), |generated| &generated.yaml, plan, property);
}

/// A line of the dump, times in nanoseconds.
#[derive(Clone, Debug)]
pub struct Row {
    pub at: i128,
    pub len: i128,
    pub kind: String,
    pub id: String,
    pub text: String,
}

impl Row {
    pub fn end(&self) -> i128 {
        self.at + self.len
    }

    pub fn is_voice(&self) -> bool {
        ["call", "phrase", "timer", "set", "say"].contains(&self.kind.as_str())
    }
}

pub fn rows(planned: &Planned) -> Vec<Row> {
    let nanos = |text: &str| {
        let (whole, part) = text.split_once('.').unwrap();
        assert_eq!(part.len(), 9, "{text}");
        format!("{whole}{part}").parse::<i128>().unwrap()
    };
    let row = |line: &str| {
        let [at, len, kind, id, text] = line.split('\t').collect::<Vec<_>>().try_into().unwrap();
        Row { at: nanos(at), len: nanos(len), kind: kind.to_owned(), id: id.to_owned(), text: text.to_owned() }
    };
    dump(&planned.built.timeline, library()).lines().map(row).collect()
}

/// Each repeat with its set, its go and its predicted touch in nanoseconds.
pub fn swims(planned: &Planned) -> Vec<(&Set, &Repeat, i128, i128)> {
    let repeats = planned.practice.sets().flat_map(|set| set.repeats.iter().map(move |repeat| (set, repeat)));
    let times = planned.built.strand.starts.iter().map(|swum| (nanos(swum.go), nanos(swum.touch)));
    let all: Vec<_> = repeats.zip(times).map(|((set, repeat), (go, touch))| (set, repeat, go, touch)).collect();
    assert_eq!(all.len(), planned.built.strand.starts.len());
    all
}

pub fn nanos(time: lengthwise::units::time::Seconds) -> i128 {
    time.nanos().into()
}

/// What must hold of the order of everything heard, whoever wrote the script.
pub fn voices_apart(planned: &Planned) -> Result<(), TestCaseError> {
    let rows = rows(planned);
    prop_assert!(rows.is_sorted_by_key(|row| row.at));
    let voices: Vec<_> = rows.iter().filter(|row| row.is_voice() || row.kind == "preview").collect();
    for pair in voices.windows(2) {
        prop_assert!(pair[0].end() <= pair[1].at, "{:?} runs into {:?}", pair[0], pair[1]);
    }
    Ok(())
}

#[test]
fn onsets_are_sorted_and_voices_never_overlap() {
    hold(|_, planned| voices_apart(planned));
}

/// Before each go there are its pips and nothing else.
fn silence(generated: &Generated, planned: &Planned) -> Result<(), TestCaseError> {
    let rows = rows(planned);
    let countdown = i128::from(generated.countdown) * SECOND;
    let goes: Vec<_> = swims(planned).iter().map(|(_, _, go, _)| *go).collect();
    let heard: Vec<_> = rows.iter().filter(|row| row.kind == "go").map(|row| row.at).collect();
    prop_assert_eq!(&heard, &goes);
    let pips: Vec<_> = rows.iter().filter(|row| row.kind == "pip").map(|row| row.at).collect();
    let expected: Vec<_> =
        goes.iter().flat_map(|go| (1..=generated.countdown).rev().map(move |s| go - i128::from(s) * SECOND)).collect();
    prop_assert_eq!(pips, expected);
    for row in rows.iter().filter(|row| row.kind != "pip") {
        let next = goes.partition_point(|go| *go <= row.at);
        if let Some(go) = goes.get(next) {
            prop_assert!(row.end() <= go - countdown, "{row:?} reaches into the silence before the go at {go}");
        }
    }
    Ok(())
}

#[test]
fn only_pips_break_the_silence_before_a_go() {
    hold(silence);
}

#[test]
fn beats_die_away_before_a_countdown_that_comes_early() {
    // Random scripts seldom rest so little that the countdown begins before the touch: here they all do.
    for centis in (80..170).step_by(3) {
        let tight = |send_off: i128| Generated {
            yaml: format!(
                "lengthwise: 1\ntitle: Tight\npool: 25 m\nbeats: {{ long: {{ sound: high, length: 200 ms }} }}\npractice:\n  \
                 - {{ set: Tight, swim: 3 x 25 m, send-off: {send_off} s, tempo: {centis}0 ms, beats: long }}\n"
            ),
            profile: None,
            countdown: 3,
            pool: 25,
            sets: Vec::new(),
        };
        let relaxed = plan(&tight(300)).unwrap().unwrap();
        let predicted = nanos(relaxed.plan.sets[0].repeats[0].predicted);
        let generated = tight(predicted / SECOND + 1);
        let planned = plan(&generated).unwrap().unwrap();
        silence(&generated, &planned).unwrap();
        let beats = &grids(&planned)[&nanos(planned.built.strand.starts[0].go)].1;
        assert!(beats.len() > 10, "{centis}: {} beats", beats.len());
    }
}

#[test]
fn sounds_last_no_longer_than_their_cues() {
    hold(|_, planned| {
        let timeline = &planned.built.timeline;
        for leg in &timeline.legs {
            for cue in &leg.cues {
                for part in &cue.parts {
                    let sound = &timeline.sounds[part.sound.index()];
                    let len = lengthwise::timeline::bank::sound_len(sound, library()).unwrap();
                    prop_assert!(part.after + len <= cue.len, "{sound:?} of {cue:?}");
                }
            }
        }
        Ok(())
    });
}

#[test]
fn starts_keep_to_the_script() {
    hold(|generated, planned| {
        let plan = &planned.plan;
        prop_assert_eq!(plan.sets.len(), generated.sets.len());
        let mut before: Option<(i128, i128)> = None;
        for (known, set) in generated.sets.iter().zip(&plan.sets) {
            prop_assert_eq!(known.repeats.len(), set.repeats.len());
            let first = nanos(set.repeats[0].start);
            prop_assert_eq!(first % (5 * SECOND), 0, "a set starts off the clock");
            if let Some((touch, earliest)) = before {
                let standing = touch + i128::from(known.standing) * SECOND;
                prop_assert!(first >= standing.max(earliest), "a standing rest or a send-off is cut short");
            }
            for (at, (known, repeat)) in known.repeats.iter().zip(&set.repeats).enumerate() {
                let (go, predicted) = (nanos(repeat.start), nanos(repeat.predicted));
                prop_assert_eq!((repeat.lengths, repeat.distance), (known.lengths, known.lengths * generated.pool));
                let least = match known.leave {
                    Leave::SendOff(time) => i128::from(time) * SECOND,
                    Leave::Rest(time) => predicted + i128::from(time) * SECOND,
                };
                before = Some((go + predicted, go + least));
                let Some(next) = set.repeats.get(at + 1) else { continue };
                let interval = nanos(next.start) - go;
                match known.leave {
                    Leave::SendOff(_) => prop_assert_eq!(interval, least),
                    Leave::Rest(_) => {
                        prop_assert!(interval >= least.max(predicted + 10 * SECOND) && interval % (5 * SECOND) == 0)
                    }
                }
                prop_assert!(interval > predicted, "a start before the touch");
                prop_assert_eq!(repeat.send_off.map(nanos), Some(interval));
                prop_assert_eq!(repeat.rest.map(nanos), Some(interval - predicted));
            }
        }
        Ok(())
    });
}

#[test]
fn totals_are_the_sums_of_their_parts() {
    hold(|generated, planned| {
        let plan = &planned.plan;
        let lengths: u32 = generated.sets.iter().flat_map(|set| &set.repeats).map(|repeat| repeat.lengths).sum();
        prop_assert_eq!(plan.distance, lengths * generated.pool);
        prop_assert_eq!(plan.sets.iter().map(|set| set.distance).sum::<u32>(), plan.distance);
        let repeats = || plan.sets.iter().flat_map(|set| &set.repeats);
        prop_assert_eq!(repeats().map(|repeat| repeat.strokes).sum::<u32>(), plan.strokes);
        prop_assert_eq!(plan.sets.iter().map(|set| set.strokes).sum::<u32>(), plan.strokes);
        // Every counted stroke of a repeat with a focus is rehearsed with exactly one.
        let rehearsed: u32 = repeats().filter(|repeat| !repeat.focus.is_empty()).map(|repeat| repeat.strokes).sum();
        prop_assert_eq!(plan.focus.iter().map(|focus| focus.strokes).sum::<u32>(), rehearsed);
        prop_assert!(plan.breaths.left + plan.breaths.right <= plan.strokes);
        let last = planned.built.timeline.legs.last().unwrap();
        prop_assert_eq!(plan.duration, last.origin + last.len);
        let end = rows(planned).iter().map(Row::end).max().unwrap();
        prop_assert!(end <= nanos(plan.duration), "the end cuts off what is heard");
        Ok(())
    });
}

#[test]
fn legs_follow_each_other() {
    hold(|_, planned| {
        let (legs, swims) = (&planned.built.timeline.legs, swims(planned));
        let mut at = 0;
        for (index, leg) in legs.iter().enumerate() {
            prop_assert_eq!(nanos(leg.origin), at);
            prop_assert!(nanos(leg.len) >= 0);
            at += nanos(leg.len);
            let expected = match index.checked_sub(1).map(|index| (index / 2, index % 2)) {
                None => LegKind::Talk,
                Some((repeat, 0)) => LegKind::Swim { repeat },
                Some((repeat, _)) if repeat + 1 == swims.len() => LegKind::Talk,
                Some(_) => LegKind::Rest,
            };
            prop_assert_eq!(leg.kind, expected);
            if let LegKind::Swim { repeat } = leg.kind {
                let (_, _, go, touch) = swims[repeat];
                prop_assert_eq!((nanos(leg.origin), at), (go, touch));
            }
            let inside = |time: i128| (0..nanos(leg.len)).contains(&time);
            prop_assert!(leg.cues.iter().all(|cue: &Cue| inside(nanos(cue.at))));
            for grid in &leg.grids {
                prop_assert!(grid.beats.iter().all(|beat| inside(exact(nanos(grid.origin), grid.tempo, beat.k))));
            }
        }
        prop_assert_eq!(legs.len(), 2 * swims.len() + 1);
        Ok(())
    });
}

/// `origin + k × tempo` in nanoseconds, rounded half up.
pub fn exact(origin: i128, tempo: Tempo, k: u32) -> i128 {
    let (num, den) = (i128::from(tempo.num()) * SECOND * i128::from(k), i128::from(tempo.den()));
    origin + (2 * num + den).div_euclid(2 * den)
}

/// The beats of each grid put together from the legs, by the grid's beginning.
pub fn grids(planned: &Planned) -> BTreeMap<i128, (Tempo, Vec<Beat>)> {
    let mut grids = BTreeMap::new();
    for leg in &planned.built.timeline.legs {
        for Grid { origin, tempo, beats } in &leg.grids {
            let origin = nanos(leg.origin + *origin);
            grids.entry(origin).or_insert_with(|| (*tempo, Vec::new())).1.extend(beats.iter().copied());
        }
    }
    grids
}

#[test]
fn beats_run_from_the_go_through_the_turns() {
    hold(|generated, planned| {
        let mut grids = grids(planned);
        let heard = rows(planned);
        let heard: Vec<_> = heard.iter().filter(|row| ["beat", "breath"].contains(&row.kind.as_str())).collect();
        let mut expected = Vec::new();
        let swims = swims(planned);
        for (index, (set, repeat, go, touch)) in swims.iter().enumerate() {
            let line = &set.lines[repeat.line];
            let (Some(tempo), Some(track)) = (repeat.tempo, &line.beats) else { continue };
            let (found, beats) = grids.remove(go).unwrap();
            prop_assert_eq!(found, tempo);
            prop_assert!(beats.is_sorted_by_key(|beat| beat.k), "a beat is heard twice");
            let quiet = swims.get(index + 1).map(|next| next.2 - i128::from(generated.countdown) * SECOND);
            // To the touch and two beats on, where the next countdown leaves room.
            let last = exact(*go, tempo, beats.last().unwrap().k);
            let reach = (touch + exact(0, tempo, 2)).min(quiet.unwrap_or(i128::MAX)) - SECOND / 5;
            prop_assert!(last >= reach - exact(0, tempo, track.every), "beats end at {last}, not near {reach}");
            // Strokes are counted anew on each length, outside the wall windows, up to the touch.
            let mut on = BTreeMap::new();
            let (wall, time) = (nanos(repeat.lengths[0].wall), nanos(repeat.lengths[0].time));
            if repeat.lengths[0].count.is_some() {
                for length in 0..repeat.lengths.len() as i128 {
                    let within = |k: &u32| {
                        let at = i128::from(*k) * i128::from(tempo.num()) * SECOND;
                        let den = i128::from(tempo.den());
                        at >= (length * time + wall) * den && at < (length + 1) * time * den
                    };
                    let all = (0..=(touch - go) * i128::from(tempo.den()) / (SECOND * i128::from(tempo.num())) + 1)
                        .map(|k| k as u32);
                    on.extend(all.filter(within).zip(1_u32..));
                }
            }
            prop_assert_eq!(u32::try_from(on.len()).unwrap(), counted(planned, index));
            let every = line.breathe.map(|breathe| if let Breathe::Every(n, _) = breathe { n } else { unreachable!() });
            let marked = |k: &u32, n: Option<u32>| n.zip(on.get(k)).is_some_and(|(n, stroke)| stroke % n == 0);
            let sounding: Vec<_> = (0..=beats.last().unwrap().k)
                .filter(|k| k % track.every == 0 || marked(k, every) || marked(k, track.accent.map(|(n, _)| n)))
                .collect();
            prop_assert_eq!(beats.iter().map(|beat| beat.k).collect::<Vec<_>>(), sounding);
            for beat in &beats {
                let kind = if marked(&beat.k, every) { CueKind::Breath } else { CueKind::Beat };
                prop_assert_eq!(beat.kind, kind, "beat {} of the grid at {}", beat.k, go);
                expected.push(exact(*go, tempo, beat.k));
            }
        }
        prop_assert!(grids.is_empty(), "beats that belong to no repeat");
        expected.sort_unstable();
        prop_assert_eq!(heard.iter().map(|row| row.at).collect::<Vec<_>>(), expected);
        Ok(())
    });
}

/// Counted strokes of a repeat, counted over the whole practice.
fn counted(planned: &Planned, index: usize) -> u32 {
    planned.plan.sets.iter().flat_map(|set| &set.repeats).nth(index).unwrap().strokes
}

/// The window in which a change of focus must be heard, and whether in its short form.
fn window(planned: &Planned, index: usize, from: FocusPoint) -> (i128, i128, bool) {
    let swims = swims(planned);
    let (_, repeat, go, _) = swims[index];
    let time = nanos(repeat.lengths[0].time);
    match from {
        FocusPoint::Length(0) => {
            let before = index.checked_sub(1).map_or(0, |before| swims[before].3);
            (before, go - nanos(planned.practice.settings.countdown), false)
        }
        FocusPoint::Length(length) => {
            let push_off = go + i128::from(length) * time;
            (push_off + 2 * SECOND, push_off + time * 2 / 5, true)
        }
        FocusPoint::Stroke(number) => {
            let (tempo, wall) = (repeat.lengths[0].tempo.unwrap(), nanos(repeat.lengths[0].wall));
            let (num, den) = (i128::from(tempo.num()) * SECOND, i128::from(tempo.den()));
            let mut strokes = (0..repeat.lengths.len() as i128).flat_map(|length| {
                (0_u32..)
                    .skip_while(move |k| i128::from(*k) * num < (length * time + wall) * den)
                    .take_while(move |k| i128::from(*k) * num < (length + 1) * time * den)
            });
            let at = exact(go, tempo, strokes.nth(number as usize).unwrap());
            (at, at + exact(0, tempo, 2) + 1, true)
        }
    }
}

#[test]
fn every_change_of_focus_is_heard_or_listed_as_dropped() {
    hold(|_, planned| {
        let rows = rows(planned);
        let mut heard: Vec<_> = rows.iter().filter(|row| row.kind == "phrase").collect();
        let mut dropped: Vec<_> = planned.built.findings.dropped.iter().collect();
        let phrases: Vec<&str> = library().of(Role::Phrase).map(|(id, _)| id).collect();
        dropped.retain(|drop| phrases.contains(&drop.id.as_str()));
        for (index, (set, repeat, ..)) in swims(planned).iter().enumerate() {
            for focus in &repeat.focus {
                let phrase: &Text = &set.lines[repeat.line].focus[focus.phrase];
                let (from, until, short) = window(planned, index, focus.from);
                let inside = |at: i128| (from..=until.max(from)).contains(&at);
                // What finds no room is told where it would have begun, which may be in the silence.
                let missed = |at: i128| inside(at) || (from..=from + SECOND).contains(&at);
                if let Some(place) = heard.iter().position(|row| row.id == *phrase.id && inside(row.at)) {
                    let row = heard.remove(place);
                    let forms = [Some(&phrase.full), phrase.short.as_ref()];
                    let allowed = if short && phrase.short.is_some() { &forms[1..] } else { &forms[..] };
                    let said = allowed.iter().flatten().any(|form| form.text == row.text);
                    prop_assert!(said, "{:?} says another form of {:?}", row, phrase.id);
                } else if let Some(place) =
                    dropped.iter().position(|drop| drop.id == *phrase.id && missed(nanos(drop.at)))
                {
                    let drop = dropped.remove(place);
                    // Between sets the go waits until there is room.
                    let opens = repeat.line == 0 && repeat.round == 0 && repeat.number == 0;
                    prop_assert!(!opens || focus.from != FocusPoint::Length(0), "{drop:?} though the go waits for it");
                    let told =
                        |d: &lengthwise::diag::Diagnostic| d.code == Code::CueDropped && d.message.contains(&drop.text);
                    prop_assert!(planned.built.findings.diagnostics.iter().any(told), "{drop:?} without a caution");
                } else if focus.from == FocusPoint::Length(0) && known_from_before(planned, index, phrase) {
                    // It may give way to what is new in a repeat.
                } else {
                    let message =
                        format!("`{}` from {:?} of repeat {index} is neither heard nor dropped", phrase.id, focus.from);
                    return Err(TestCaseError::fail(message));
                }
            }
        }
        // A phrase that has not changed for four lengths, or eight, is heard again in the glide, where there is room.
        heard.retain(|row| !swims(planned).iter().any(|swim| reminds(swim, row)));
        prop_assert!(heard.is_empty() && dropped.is_empty(), "phrases that no change asks for: {heard:?} {dropped:?}");
        Ok(())
    });
}
