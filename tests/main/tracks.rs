//! A practice cut into tracks for a small player: what must hold of every generated script, beside the same script laid
//! out in one piece. Every expectation is worked out here, from the script or from that other layout.

use crate::generate::{Generated, Leave, script};
use crate::plan::{COUNTED, Planned, Row, SECOND, hold_for, library, nanos, plan_for, rows, swims};
use lengthwise::practice::{Audience, Repeat};
use lengthwise::timeline::built::Track;
use lengthwise::timeline::start::Start;
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU32, Ordering};

const MINUTE: i128 = 60 * SECOND;

/// Runs a property over scripts that can be planned: for a player, and in one piece.
fn hold(property: impl Fn(&Generated, &Planned, &Planned) -> Result<(), TestCaseError>) {
    let (planned, cut) = (AtomicU32::new(0), AtomicU32::new(0));
    let plan = |generated: &Generated| {
        let Some(whole) = plan_for(generated, Audience::Headphones)? else { return Ok(None) };
        let tracks = plan_for(generated, Audience::Player)?.unwrap();
        planned.fetch_add(1, Ordering::Relaxed);
        cut.fetch_add(tracks.built.tracks.iter().any(|track| track.part.1 > 1).into(), Ordering::Relaxed);
        Ok(Some((tracks, whole)))
    };
    hold_for(
        &script(),
        |generated| &generated.yaml,
        plan,
        |generated, (tracks, whole)| property(generated, tracks, whole),
    );
    let (planned, cut) = (planned.into_inner(), cut.into_inner());
    assert!(cut * 20 >= planned, "only {cut} of {planned} practices had a set that is cut");
}

/// What is heard in a track, on the clock of the whole.
fn heard<'r>(rows: &'r [Row], track: &Track) -> impl Iterator<Item = &'r Row> {
    let (from, until) = (nanos(track.begins), nanos(track.begins + track.len));
    rows.iter().filter(move |row| (from..until).contains(&row.at))
}

/// The repeats of a track.
fn swum<'p>(planned: &'p Planned, track: &Track) -> Vec<(&'p Repeat, &'p Start)> {
    let all = swims(planned).into_iter().zip(&planned.built.strand.starts);
    let own = all.filter(|(_, swum)| Some(swum.set) == track.set && track.repeats.contains(&swum.ordinal));
    own.map(|((_, repeat, ..), swum)| (repeat, swum)).collect()
}

#[test]
fn tracks_stand_end_to_end_and_hold_every_repeat_once() {
    hold(|_, tracks, _| {
        let built = &tracks.built;
        let (mut begins, mut leg, mut next) = (0, 0, Vec::new());
        for track in &built.tracks {
            prop_assert_eq!((nanos(track.begins), track.legs.start), (begins, leg));
            let alone = built.timeline.part(track.legs.clone());
            prop_assert_eq!(alone.len(), track.len);
            prop_assert_eq!(nanos(alone.legs[0].origin), 0);
            begins += nanos(track.len);
            leg = track.legs.end;
            next.extend(track.set.into_iter().flat_map(|set| track.repeats.clone().map(move |repeat| (set, repeat))));
        }
        prop_assert_eq!((nanos(built.timeline.len()), built.timeline.legs.len()), (begins, leg));
        prop_assert_eq!(next, built.strand.starts.iter().map(|swum| (swum.set, swum.ordinal)).collect::<Vec<_>>());
        Ok(())
    });
}

#[test]
fn nothing_is_cut_and_three_seconds_are_silent_on_both_sides() {
    hold(|generated, tracks, _| {
        let rows = rows(tracks);
        let mut count = 0;
        for track in &tracks.built.tracks {
            let (from, until) = (nanos(track.begins) + 3 * SECOND, nanos(track.begins + track.len) - 3 * SECOND);
            for row in heard(&rows, track) {
                prop_assert!(from <= row.at && row.end() <= until, "{row:?} not within {from}..{until} of {track:?}");
                count += 1;
            }
            for (repeat, swum) in swum(tracks, track) {
                prop_assert!(nanos(swum.touch + repeat.uncertainty) <= until, "who is a little late is still in it");
            }
        }
        prop_assert_eq!(count, rows.len());
        let voices: Vec<_> = rows.iter().filter(|row| row.is_voice() || row.kind == "preview").collect();
        for pair in voices.windows(2) {
            prop_assert!(pair[0].end() <= pair[1].at, "{:?} runs into {:?}", pair[0], pair[1]);
        }
        for go in rows.iter().filter(|row| row.kind == "go").map(|row| row.at) {
            let quiet = go - i128::from(generated.countdown) * SECOND;
            let broken = rows.iter().find(|row| row.kind != "pip" && row.at < go && row.end() > quiet);
            prop_assert!(broken.is_none(), "{broken:?} before the go at {go}");
        }
        Ok(())
    });
}

#[test]
fn cuts_are_in_long_rests_only_and_twelve_minutes_are_cut_again() {
    hold(|_, tracks, _| {
        let all = swims(tracks);
        let place = |set: usize, repeat: usize| {
            tracks.built.strand.starts.iter().position(|swum| (swum.set, swum.ordinal) == (set, repeat)).unwrap()
        };
        let rest = |repeat: &Repeat| match repeat.interval {
            Some(interval) if !repeat.joins => nanos(interval - repeat.predicted),
            _ => 0,
        };
        for track in &tracks.built.tracks {
            let Some(set) = track.set else { continue };
            if track.repeats.start > 0 {
                let before = all[place(set, track.repeats.start - 1)].1;
                prop_assert!(rest(before) >= 20 * SECOND, "cut in a rest of {}: {track:?}", rest(before));
            }
            let inside = track.repeats.clone().take(track.repeats.len() - 1);
            let could = inside.filter(|repeat| rest(all[place(set, *repeat)].1) >= 20 * SECOND).count();
            prop_assert!(nanos(track.len) <= 12 * MINUTE || could == 0, "{could} more cuts could be made: {track:?}");
        }
        // A set that would do as one track is one.
        for (index, _) in tracks.practice.sets().enumerate() {
            let own: Vec<_> = tracks.built.tracks.iter().filter(|track| track.set == Some(index)).collect();
            let [first, .., last] = own.as_slice() else { continue };
            let swims = [place(index, first.repeats.start), place(index, last.repeats.end - 1)];
            let swum = swims.map(|at| &tracks.built.strand.starts[at]);
            let written: i128 = tracks
                .practice
                .sets()
                .nth(index)
                .unwrap()
                .repeats
                .iter()
                .rev()
                .skip(1)
                .fold(0, |sum, r| sum + nanos(r.interval.unwrap()));
            let head = nanos(swum[0].go - first.begins);
            let tail = nanos(last.begins + last.len - swum[1].go);
            prop_assert!(head + written + tail > 12 * MINUTE - 15 * SECOND, "cut though short: {own:?}");
        }
        Ok(())
    });
}

#[test]
fn nobody_rests_less_than_written_if_the_player_never_pauses() {
    hold(|generated, tracks, whole| {
        let known: Vec<_> = generated.sets.iter().flat_map(|set| &set.repeats).collect();
        for (index, pair) in tracks.built.strand.starts.windows(2).enumerate() {
            let [now, next] = pair else { unreachable!() };
            let one = tracks.built.track_of(now) == tracks.built.track_of(next);
            let before = &whole.built.strand.starts[index];
            let interval = nanos(next.go - now.go);
            if one {
                prop_assert_eq!(
                    interval,
                    nanos(whole.built.strand.starts[index + 1].go - before.go),
                    "the same within a track"
                );
                continue;
            }
            match known[index].leave {
                Leave::SendOff(on) => prop_assert!(interval >= i128::from(on) * SECOND, "{now:?} {next:?}"),
                Leave::Rest(rest) => prop_assert!(nanos(next.go - now.touch) >= i128::from(rest) * SECOND),
            }
            if next.set != now.set {
                let standing = i128::from(generated.sets[next.set].standing) * SECOND;
                prop_assert!(nanos(next.go - now.touch) >= standing, "{now:?} {next:?} rest {standing}");
            }
        }
        // Each track has a pace clock of its own.
        for track in &tracks.built.tracks {
            if let Some((_, first)) = swum(tracks, track).first() {
                prop_assert_eq!(nanos(first.go - track.begins) % (5 * SECOND), 0);
            }
        }
        Ok(())
    });
}

/// How often each cue is heard, beats and signals aside.
fn said(planned: &Planned) -> BTreeMap<(String, String), usize> {
    let mut said = BTreeMap::new();
    for row in rows(planned).iter().filter(|row| row.is_voice() && row.kind != "timer") {
        *said.entry((row.kind.clone(), row.id.clone())).or_insert(0) += 1;
    }
    said
}

#[test]
fn every_cue_of_the_plan_is_in_the_tracks_once() {
    hold(|_, tracks, whole| {
        // What is heard from a go to the touch is the same, to the nanosecond.
        let (own, other) = (rows(tracks), rows(whole));
        for (now, then) in tracks.built.strand.starts.iter().zip(&whole.built.strand.starts) {
            let during = |rows: &[Row], swum: &Start| -> Vec<_> {
                let (go, touch) = (nanos(swum.go), nanos(swum.touch));
                let within = rows.iter().filter(|row| (go..touch).contains(&row.at) && !row.is_voice());
                within.map(|row| (row.at - go, row.len, row.kind.clone(), row.id.clone())).collect()
            };
            prop_assert_eq!(during(&own, now), during(&other, then));
        }
        let goes = |rows: &[Row]| rows.iter().filter(|row| row.kind == "go" || row.kind == "pip").count();
        prop_assert_eq!(goes(&own), goes(&other));
        // Everything said in one piece is said in the tracks: but "next", which the number of the track stands for.
        let (in_tracks, in_one) = (said(tracks), said(whole));
        for ((kind, id), count) in &in_one {
            let nexts = other.iter().filter(|row| row.id == *id && row.text == "next").count();
            let found = in_tracks.get(&(kind.clone(), id.clone())).copied().unwrap_or_default();
            prop_assert!(found + nexts >= *count, "{kind} {id}: {found} of {count} times");
        }
        // And nothing twice: but what each track adds, and news and phrases that found no room in one piece.
        for ((kind, id), count) in &in_tracks {
            let once = in_one.get(&(kind.clone(), id.clone())).copied().unwrap_or_default();
            let added = match (kind.as_str(), id.as_str()) {
                ("say", "at-the-wall") => tracks.built.tracks.len() - 1,
                ("say", "level-and-start" | "level-pool" | "plays-on" | "tracks-follow" | "track-follows") => 1,
                ("set", "continued") => tracks.built.tracks.iter().filter(|track| track.part.0 > 1).count(),
                ("set", id) if id.starts_with("track-") => 1,
                // News within a set are left out in silence where there is no room.
                ("set", _) => {
                    tracks.built.tracks.iter().filter(|track| track.part.0 > 1).count() + usize::from(once > 0)
                }
                ("phrase", id) => 1 + whole.built.findings.dropped.iter().filter(|dropped| dropped.id == id).count(),
                _ => 0,
            };
            prop_assert!(*count <= once + added, "{kind} {id}: {count} times instead of {once} and {added}");
        }
        // What found no room is told at its place, on the clock of the whole.
        let end = nanos(tracks.built.timeline.len());
        prop_assert!(tracks.built.findings.dropped.iter().all(|dropped| (0..end).contains(&nanos(dropped.at))));
        Ok(())
    });
}

#[test]
fn every_track_opens_with_its_number_and_counts_down_from_fifteen() {
    hold(|_, tracks, _| {
        let rows = rows(tracks);
        for (number, track) in tracks.built.tracks.iter().enumerate().skip(1) {
            let first = heard(&rows, track).next().unwrap();
            prop_assert_eq!((first.at, &first.id), (nanos(track.begins) + 3 * SECOND, &format!("track-{number}")));
            let go = heard(&rows, track).find(|row| row.kind == "go").unwrap().at;
            let fifteen = heard(&rows, track).find(|row| row.id == "go-in-15").unwrap();
            prop_assert_eq!(fifteen.at, go - 15 * SECOND);
            let wall = heard(&rows, track).find(|row| row.id == "at-the-wall").unwrap();
            prop_assert!(wall.end() < fifteen.at && fifteen.at - wall.at < 5 * SECOND, "{wall:?} {fifteen:?}");
        }
        let level: Vec<_> = heard(&rows, &tracks.built.tracks[0]).collect();
        prop_assert!(level.iter().all(|row| row.kind != "go" && row.kind != "pip"));
        prop_assert_eq!(level[0].id.as_str(), "level-and-start");
        for rule in ["level-pool", "intro-late", "intro-care"] {
            prop_assert!(level.iter().any(|row| row.id == rule), "{rule}");
        }
        Ok(())
    });
}

/// The tracks of a script with these lines below `practice:`.
fn tracks(lines: &str) -> Planned {
    let yaml = format!("lengthwise: 1\ntitle: Long\npool: 25 m\npractice:\n{lines}");
    let generated = Generated { yaml, profile: Some(COUNTED.to_owned()), countdown: 3, pool: 25, sets: Vec::new() };
    plan_for(&generated, Audience::Player).unwrap().unwrap()
}

#[test]
fn a_long_set_is_cut_evenly() {
    // 20 times 1:20 are 26:40: three tracks of about nine minutes rather than two of twelve and a short one.
    let planned = tracks("  - { set: Long, swim: 20 x 50 m on 1:20, tempo: 1.10 s }\n");
    let parts: Vec<_> = planned.built.tracks.iter().map(|track| track.repeats.clone()).collect();
    assert_eq!(parts, [0..0, 0..7, 7..14, 14..20]);
    let titles: Vec<_> = planned.plan.tracks.iter().map(|track| track.title.as_str()).collect();
    assert_eq!(titles, ["Level and start", "Long 1 of 3", "Long 2 of 3", "Long 3 of 3"]);
    let of = |last: usize| planned.plan.sets[0].repeats[last].send_off;
    assert!(of(6).is_none() && of(5).is_some(), "nothing is said about the time across a gap");
}

#[test]
fn a_swim_that_never_rests_is_one_track_however_long() {
    let joined =
        "  - { set: On and on, do: [{ swim: 20 x 50 m, rest: 0 s, tempo: 1.2 s }, { swim: 1000 m, rest: 1:00 }] }\n";
    for lines in [joined, "  - { set: Short rests, swim: 20 x 50 m on 1:10, tempo: 1.10 s }\n"] {
        let planned = tracks(lines);
        assert_eq!(planned.built.tracks.len(), 2, "{:?}", planned.built.tracks);
        assert!(nanos(planned.built.tracks[1].len) > 12 * MINUTE);
    }
    assert!(library().entry(lengthwise::pack::library::Role::Word, "at-the-wall").is_some());
}
