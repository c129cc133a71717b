//! What holds of every practice of the whole language, in pools and open water, for headphones and a speaker: properties
//! over the scripts of `anything`, with arithmetic of their own.

use crate::anything::{Anything, Known, Leave, anything};
use crate::plan::{COUNTED, Planned, Row, SECOND, exact, grids, hold_for, library, nanos, rows, swims, voices_apart};
use lengthwise::diag::{Sources, has_errors};
use lengthwise::plan::Plan;
use lengthwise::practice::{self, Audience, Repeat};
use lengthwise::script::parse::parse;
use lengthwise::script::{Breathe, Timbre, Water};
use lengthwise::swimmer::{Swimmer, profile};
use lengthwise::timeline::build::build;
use lengthwise::timeline::{CueKind, Sound};
use lengthwise::units::swim::Side;
use lengthwise::units::time::Tempo;
use proptest::prelude::*;

fn hold(property: impl Fn(&Anything, &Planned) -> Result<(), TestCaseError>) {
    hold_for(&anything(), |any| &any.yaml, plan, property);
}

pub fn plan(any: &Anything) -> Result<Option<Planned>, TestCaseError> {
    plan_for(any, &Swimmer::assumed())
}

fn plan_for(any: &Anything, swimmer: &Swimmer) -> Result<Option<Planned>, TestCaseError> {
    let mut sources = Sources::new();
    let id = sources.add("script", any.yaml.clone());
    let (script, problems) = parse(id, &sources);
    prop_assert!(!has_errors(&problems), "a script of the language is not read: {problems:?}\n{}", any.yaml);
    let audience = if any.speaker { Audience::Speaker } else { Audience::Headphones };
    let (practice, problems) = practice::expand(&script.unwrap(), library(), swimmer, audience);
    prop_assert_eq!(practice.is_none(), has_errors(&problems), "{:?}", problems);
    let Some(practice) = practice else { return Ok(None) };
    let built = build(&practice, library());
    let plan = Plan::of(&practice, &built, swimmer);
    Ok(Some(Planned { practice, built, plan }))
}

fn known(any: &Anything) -> Vec<&Known> {
    any.sets.iter().flatten().collect()
}

#[test]
fn voices_never_overlap() {
    hold(|_, planned| voices_apart(planned));
}

#[test]
fn a_go_stands_alone_and_a_join_has_none() {
    hold(|_, planned| {
        let rows = rows(planned);
        let goes: Vec<_> = swims(planned).iter().filter(|(_, repeat, ..)| !repeat.joined).map(|swim| swim.2).collect();
        let of = |kind: &str| rows.iter().filter(|row| row.kind == kind).map(|row| row.at).collect::<Vec<_>>();
        prop_assert_eq!(&of("go"), &goes);
        let pips: Vec<_> = goes.iter().flat_map(|go| [3, 2, 1].map(|left| go - left * SECOND)).collect();
        prop_assert_eq!(of("pip"), pips);
        for row in rows.iter().filter(|row| row.kind != "pip") {
            if let Some(go) = goes.get(goes.partition_point(|go| *go <= row.at)) {
                prop_assert!(row.end() <= go - 3 * SECOND, "{row:?} reaches into the silence before the go at {go}");
            }
        }
        Ok(())
    });
}

#[test]
fn distances_and_starts_are_those_written() {
    hold(|any, planned| {
        prop_assert_eq!(planned.plan.sets.len(), any.sets.len());
        for (known, set) in any.sets.iter().zip(&planned.plan.sets) {
            prop_assert_eq!(known.len(), set.repeats.len());
            // Starts after a rest keep to the clock of the last go, however much was swum since without a stop.
            let mut under_way = 0;
            // How late the slow swimmer is by now: 6.4 % of all swum by distance, and nothing of what is swum by time.
            let mut slow = 0;
            for (at, (now, repeat)) in known.iter().zip(&set.repeats).enumerate() {
                let predicted = nanos(repeat.predicted);
                match (now.metres, now.seconds) {
                    (Some(metres), _) => prop_assert_eq!(repeat.distance, metres),
                    (None, Some(seconds)) => {
                        prop_assert_eq!(predicted, i128::from(seconds) * SECOND);
                        prop_assert!(repeat.estimated && repeat.distance > 0);
                    }
                    (None, None) => unreachable!(),
                }
                slow += if repeat.estimated { 0 } else { predicted * 64 / 1000 };
                let Some(next) = set.repeats.get(at + 1) else { continue };
                let interval = nanos(next.start - repeat.start);
                let gear = if known[at + 1].gear == now.gear { 0 } else { i128::from(any.gear_change) * SECOND };
                let rest = match (now.between, now.leave) {
                    (Some(rest), _) | (None, Leave::Rest(rest)) => i128::from(rest) * SECOND,
                    (None, Leave::Per(rest)) => i128::from(rest) * SECOND * i128::from(repeat.distance) / 50,
                    (None, Leave::SendOff(time)) => {
                        prop_assert_eq!(interval, i128::from(time) * SECOND + gear);
                        (under_way, slow) = (0, 0);
                        continue;
                    }
                    (None, Leave::Join) => {
                        prop_assert_eq!(interval, predicted);
                        under_way += predicted;
                        continue;
                    }
                };
                let least = predicted + rest.max(slow + 10 * SECOND) + gear;
                prop_assert!(interval >= least, "{interval} after {repeat:?}, at least {least}");
                prop_assert_eq!((under_way + interval) % (5 * SECOND), 0, "a start off the clock");
                // And no more than that, rounded up to the clock.
                let most = predicted + rest.max(slow * 65 / 64 + 10 * SECOND) + gear + 5 * SECOND;
                prop_assert!(interval < most, "{interval} after {repeat:?}, less than {most}");
                (under_way, slow) = (0, 0);
            }
        }
        let distance: u32 = planned.plan.sets.iter().flat_map(|set| &set.repeats).map(|repeat| repeat.distance).sum();
        prop_assert_eq!(planned.plan.distance, distance);
        let strokes: u32 = planned.plan.sets.iter().flat_map(|set| &set.repeats).map(|repeat| repeat.strokes).sum();
        prop_assert_eq!(planned.plan.strokes, strokes);
        prop_assert!(planned.plan.breaths.left + planned.plan.breaths.right <= strokes);
        Ok(())
    });
}

/// The counted strokes of a repeat whose beats are heard: beat, length, number within the length.
fn strokes(repeat: &Repeat) -> Vec<(u32, usize, u32)> {
    let Some(tempo) = repeat.tempo else { return Vec::new() };
    let (num, den) = (i128::from(tempo.num()) * SECOND, i128::from(tempo.den()));
    let (mut begins, mut found, mut k) = (-nanos(repeat.offset), Vec::new(), 0_u32);
    for (index, length) in repeat.lengths.iter().enumerate() {
        let ends = begins + nanos(length.time);
        let mut number = 0;
        while i128::from(k) * num < ends * den {
            if length.count.is_some() && i128::from(k) * num >= (begins + nanos(length.wall)) * den {
                number += 1;
                found.push((k, index, number));
            }
            k += 1;
        }
        begins = ends;
    }
    found
}

/// Which of these strokes have a breath, and to which side: written anew from the rules.
fn breaths(strokes: &[(u32, usize, u32)], breathe: Breathe, ordinal: usize) -> Vec<Option<Side>> {
    let turned = |odd: bool, side: Side| if odd { side.other() } else { side };
    let mut before = None;
    let mut one = |(index, (_, length, number)): (usize, &(u32, usize, u32))| match breathe {
        Breathe::Every(n, side) => {
            (number % n == 0).then(|| turned(n % 2 == 1 && number / n % 2 == 0, side.unwrap_or(Side::Right)))
        }
        Breathe::ByLength => (number % 2 == 0).then(|| turned(length % 2 == 1, Side::Right)),
        Breathe::ByRepeat => (number % 2 == 0).then(|| turned(ordinal % 2 == 1, Side::Right)),
        Breathe::Sides { right, left } => {
            let side = if (index as u32) % (right + left) < right { Side::Right } else { Side::Left };
            // The right hand enters on even strokes, the left on odd ones; the first stroke has no breath, and a breath
            // leaves at least one stroke without.
            let hand = if index % 2 == 1 { Side::Right } else { Side::Left };
            let free = before.is_none_or(|before| index - before >= 2) && index > 0;
            (hand == side && free).then(|| {
                before = Some(index);
                side
            })
        }
    };
    strokes.iter().enumerate().map(&mut one).collect()
}

/// Whether beat `k` comes before a moment: exactly, since the nanosecond it is rounded to may be that moment.
fn earlier(origin: i128, tempo: Tempo, k: u32, at: i128) -> bool {
    i128::from(k) * i128::from(tempo.num()) * SECOND < (at - origin) * i128::from(tempo.den())
}

#[test]
fn beats_run_through_turns_and_joins() {
    hold(|any, planned| {
        let mut grids = grids(planned);
        let swims = swims(planned);
        let known = known(any);
        let open = planned.practice.water == Water::Open;
        let mut before = None;
        for (index, (set, repeat, go, touch)) in swims.iter().enumerate() {
            let ordinal = planned.built.strand.starts[index].ordinal;
            let line = &set.lines[repeat.line];
            if repeat.joined {
                let expected = before.map_or(*go, |(origin, tempo)| {
                    let k = (0..).find(|k| !earlier(origin, tempo, *k, *go)).unwrap();
                    exact(origin, tempo, k)
                });
                prop_assert_eq!(nanos(repeat.offset), expected - go, "the grid of repeat {}", index);
            }
            let origin = go + nanos(repeat.offset);
            before = repeat.tempo.filter(|_| repeat.joins).map(|tempo| (origin, tempo));
            let named = known[index].beats;
            let heard = repeat.tempo.is_some() && named != Some("none") && (!any.speaker || named.is_some());
            prop_assert!(!(heard && known[index].test), "beats in a test");
            if !heard {
                continue;
            }
            let Some((tempo, beats)) = grids.remove(&origin) else {
                // Swum within a beat of a join: nothing of its grid falls before the touch.
                prop_assert!(repeat.joins && origin >= *touch, "no beats for repeat {index}");
                continue;
            };
            prop_assert_eq!(Some(tempo), repeat.tempo);
            let strokes = strokes(repeat);
            let breaths = line.breathe.map_or_else(Vec::new, |breathe| breaths(&strokes, breathe, ordinal));
            let last = beats.last().unwrap().k;
            let (every, accent) = match named {
                Some("thirds") => (1, Some((3, Timbre::Bell))),
                Some("sparse") => (3, Some((4, Timbre::High))),
                _ => (1, None),
            };
            let mut expected = Vec::new();
            for k in 0..=last {
                let stroke = strokes.iter().position(|(beat, ..)| *beat == k);
                let sight = stroke.zip(known[index].every[0]).is_some_and(|(at, n)| (at as u32 + 1).is_multiple_of(n));
                let breath = stroke.and_then(|at| *breaths.get(at)?);
                let accent = stroke
                    .zip(accent)
                    .filter(|(at, (n, _))| strokes[*at].2.is_multiple_of(*n))
                    .map(|(_, (_, sound))| sound);
                if sight {
                    expected.push((k, CueKind::Sight, None, None));
                } else if let Some(side) = breath {
                    expected.push((k, CueKind::Breath, open.then_some(side), None));
                } else if accent.is_some() || k % every == 0 {
                    expected.push((k, CueKind::Beat, None, accent));
                }
            }
            let found = beats.iter().map(|beat| {
                let sound = &planned.built.timeline.sounds[beat.sound.index()];
                let side = if let Sound::Breath(side) = sound { *side } else { None };
                let accented = |sound: &Sound| match sound {
                    Sound::Beat(sound) => accent.map(|(_, timbre)| timbre).filter(|timbre| *timbre == sound.timbre),
                    _ => None,
                };
                (beat.k, beat.kind, side, accented(sound))
            });
            prop_assert_eq!(found.collect::<Vec<_>>(), expected, "repeat {}", index);
            let ends = exact(origin, tempo, last);
            if repeat.joins {
                let stops = earlier(origin, tempo, last, *touch) && !earlier(origin, tempo, last + every, *touch);
                prop_assert!(stops, "beats stop at {ends}, away from the join at {touch}");
            } else {
                let quiet = swims.get(index + 1).map_or(i128::MAX, |next| next.2 - 3 * SECOND);
                let reach = (touch + exact(0, tempo, 2)).min(quiet) - SECOND / 5;
                prop_assert!(ends >= reach - exact(0, tempo, every), "beats end at {ends}, not near {reach}");
            }
        }
        prop_assert!(grids.is_empty(), "beats that belong to no repeat: {:?}", grids.keys());
        Ok(())
    });
}

/// What sounds at some moment from `go` on and before `touch`.
fn during(rows: &[Row], go: i128, touch: i128) -> impl Iterator<Item = &Row> {
    rows.iter().filter(move |row| row.at < touch && row.end() > go && row.kind != "go")
}

#[test]
fn nothing_is_heard_during_a_test() {
    hold(|any, planned| {
        let rows = rows(planned);
        for (known, (_, _, go, touch)) in known(any).iter().zip(swims(planned)).filter(|(known, _)| known.test) {
            // A beat of the swim before may die away within the first moments of a joined test.
            let heard: Vec<_> = during(&rows, go + SECOND / 5, touch).filter(|row| row.kind != "pip").collect();
            prop_assert!(heard.is_empty(), "{known:?}: {heard:?}");
        }
        Ok(())
    });
}

/// By hand: 50 m at 1.30 s have 38 strokes (19 in each 28.7 s), the last one at 57.2 s, 0.2 s before the test begins.
#[test]
fn no_last_word_runs_into_a_joined_test() {
    let mut sources = Sources::new();
    let profile = sources.add("profile", COUNTED);
    let swimmer = profile::parse(profile, &sources).0.unwrap();
    let heard = |test: &str| {
        let yaml = format!(
            "lengthwise: 1\ntitle: Joined\npool: 25 m\npractice:\n  - {{ set: Joined, do: [\n      \
             {{ swim: 50 m, tempo: 1.30 s, rest: 0 s, call: every 38 strokes }}, {{ swim: 50 m{test} }} ] }}\n"
        );
        let any = Anything { yaml, speaker: false, gear_change: 30, sets: Vec::new() };
        let planned = plan_for(&any, &swimmer).unwrap().unwrap();
        let dropped: Vec<_> = planned.built.findings.dropped.iter().map(|drop| drop.id.clone()).collect();
        let called = rows(&planned).iter().filter(|row| row.kind == "call").count();
        (called, dropped)
    };
    assert_eq!(heard(""), (1, vec![]));
    assert_eq!(heard(", test: time"), (0, vec!["call-38".to_owned()]));
}

#[test]
fn a_speaker_is_silent_while_somebody_swims() {
    hold(|any, planned| {
        if !any.speaker {
            return Ok(());
        }
        let rows = rows(planned);
        for (_, repeat, go, touch) in swims(planned) {
            let voices: Vec<_> = during(&rows, go, touch).filter(|row| row.is_voice()).collect();
            prop_assert!(voices.is_empty(), "{repeat:?}: {voices:?}");
        }
        Ok(())
    });
}

#[test]
fn the_count_is_called_on_its_stroke() {
    hold(|any, planned| {
        // Every call that is asked for: its words' id, its stroke, and until when it may begin: two strokes on, but not
        // after the touch or a join, where another count begins.
        let mut asked = Vec::new();
        for (known, (_, repeat, go, touch)) in known(any).iter().zip(swims(planned)) {
            let Some((every, tempo)) = known.every[1].zip(repeat.tempo) else { continue };
            for (number, (k, ..)) in (1_u32..).zip(strokes(repeat)).filter(|(number, _)| number % every == 0) {
                let at = exact(go + nanos(repeat.offset), tempo, k);
                asked.push((format!("call-{number}"), at, (at + exact(0, tempo, 2) + 1).min(touch)));
            }
        }
        let mut dropped: Vec<_> = planned.built.findings.dropped.iter().collect();
        let rows = rows(planned);
        let mut heard: Vec<_> = rows.iter().filter(|row| row.kind == "call").collect();
        prop_assert!(!any.speaker || heard.is_empty(), "{heard:?}");
        for (id, at, until) in asked.iter().filter(|_| !any.speaker) {
            let on = |row: &&Row| row.id == *id && (*at..=*until).contains(&row.at);
            if let Some(place) = heard.iter().position(on) {
                heard.remove(place);
            } else if let Some(place) = dropped.iter().position(|drop| drop.id == *id && nanos(drop.at) >= *at) {
                dropped.remove(place);
            } else {
                return Err(TestCaseError::fail(format!("{id} at {at} is neither heard nor told")));
            }
        }
        // What is left was called in a swim without a beat, on the strokes of an expected tempo.
        let swims = swims(planned);
        heard.retain(|row| {
            let here = swims.partition_point(|(.., go, _)| *go <= row.at).saturating_sub(1);
            swims[here].1.tempo.is_some()
        });
        prop_assert!(heard.is_empty(), "called on no stroke of theirs: {heard:?}");
        Ok(())
    });
}
