use super::*;
use crate::diag::Sources;
use crate::practice::Item;
use crate::swimmer::lanes;

/// The only lane of a script with these lines under `lane` and `practice`.
pub(crate) fn lane(lane: &str, practice: &str) -> Result<Lane, Vec<Diagnostic>> {
    let text = format!("lengthwise: 1\ntitle: A\npool: 25 m\nlane:\n{lane}practice:\n{practice}");
    let mut sources = Sources::new();
    let id = sources.add("a.yaml", text.as_str());
    let (script, problems) = crate::script::parse::parse(id, &sources);
    let script = script.unwrap_or_else(|| panic!("{text}\n{problems:?}"));
    let (written, problems) = lanes::of_script(&script);
    let written = &written.unwrap_or_else(|| panic!("{problems:?}")).lanes[0];
    let known = |member: &Member| match &member.known {
        crate::swimmer::roster::KnownSwimmer::Here(swimmer) => Swimmer::clone(swimmer),
        other => panic!("{other:?}"),
    };
    let swimmers: Vec<Swimmer> = written.swimmers.iter().map(known).collect();
    let (lane, problems) = expand(&script, &Library::new(), written, &swimmers, Audience::Speaker);
    lane.ok_or(problems)
}

const THREE: &str = "  gap: 5 s\n  swimmers: [{ name: Bo, hundred: 1:40 }, { name: Ida, hundred: 1:20 }, { name: Eve, hundred: 2:00 }]\n";

fn secs(seconds: i64) -> Seconds {
    Seconds::from_secs(seconds)
}

/// The intervals of somebody's repeats in a set, in seconds.
fn intervals(who: &LaneSwimmer, set: usize) -> Vec<f64> {
    let set = who.practice.sets().nth(set).unwrap();
    set.repeats.iter().map(|repeat| repeat.interval.map_or(0.0, Seconds::as_f64)).collect()
}

#[test]
fn all_keep_to_the_clock_of_the_slowest() {
    let lane = lane(THREE, "  - { set: A, swim: 4 x 50 m, rest: 15 s }\n").unwrap();
    let told: Vec<_> =
        lane.swimmers.iter().map(|who| (who.name.as_str(), who.number, who.offset, who.listed)).collect();
    assert_eq!(told, [("Ida", 1, secs(0), 1), ("Bo", 2, secs(5), 0), ("Eve", 3, secs(10), 2)]);
    // Eve swims 50 m in 1:00, of 5 % spread: 75 s, or the 90th percentile and 10 s, 73.8 s; rounded up to 75 s.
    for who in &lane.swimmers {
        assert_eq!(intervals(who, 0), [75.0; 4], "{}", who.name);
        assert!(who.practice.sets().all(|set| set.repeats.iter().all(|repeat| repeat.rest.is_none())));
    }
    let starts: Vec<_> = lane.sets[0].starts.iter().map(|start| (start.at, start.after)).collect();
    assert_eq!(starts, [0, 75, 150, 225].map(|at| (secs(at), Some(secs(75)))));
    assert_eq!(lane.touch(0, 3, 2), Some(secs(70)));
    assert_eq!(lane.set_len(0), secs(225 + 70));
}

#[test]
fn a_send_off_that_somebody_cannot_make_is_no_error() {
    let lane = lane(THREE, "  - { set: A, swim: 4 x 50 m on 0:50 }\n").unwrap();
    assert_eq!(intervals(&lane.swimmers[2], 0), [50.0; 4]);
    let set = lane.swimmers[0].practice.sets().next().unwrap();
    assert_eq!(set.lines[0].leave, Leave::SendOff(secs(50)));
}

#[test]
fn a_lane_has_its_own_send_off() {
    let practice = "  - { set: A, swim: 4 x 50 m on 1:10 }\n  - { set: B, swim: 2 x 200 m on 4:00 }\n";
    let own = format!("{}  lanes: [{{ lane: 1, send-off: 15 s more per 100 }}]\n", THREE.replace(" }", ", lane: 1 }"));
    let lane = lane(&own, practice).unwrap();
    // 7.5 s more are 10 s on the clock.
    assert_eq!((intervals(&lane.swimmers[0], 0)[0], intervals(&lane.swimmers[0], 1)[0]), (80.0, 270.0));
}

#[test]
fn fewer_repeats_and_shorter_ones_keep_the_clock() {
    let text = THREE.replace("hundred: 1:40", "hundred: 1:40, swims: 3 of 4").replace("2:00", "2:00, distance: 3/4");
    let practice = "  - { set: A, swim: 6 x 100 m on 2:00, tempo: { from: 1.30 s, to: 1.05 s } }\n";
    let lane = lane(&text, practice).unwrap();
    let by_name = |name: &str| lane.swimmers.iter().position(|who| who.name == name).unwrap();
    let (bo, eve) = (by_name("Bo"), by_name("Eve"));
    let set = lane.swimmers[bo].practice.sets().next().unwrap();
    let tempos: Vec<_> = set.repeats.iter().map(|repeat| (repeat.number, repeat.tempo.unwrap().centis())).collect();
    // The fourth is left out with its tempo of 1.15 s, and the clock goes on.
    assert_eq!(tempos, [(0, 130), (1, 125), (2, 120), (3, 110), (4, 105)]);
    assert_eq!(intervals(&lane.swimmers[bo], 0), [120.0, 120.0, 240.0, 120.0, 120.0]);
    assert_eq!((set.lines[0].repeats, set.lines[0].tempos.len()), (5, 5));
    let swims: Vec<_> =
        lane.sets[0].starts.iter().map(|start| start.swims[bo].clone().map(|swim| swim.start)).collect();
    assert_eq!(swims, [Some(0), Some(1), Some(2), None, Some(3), Some(4)]);
    let far: Vec<_> =
        lane.swimmers[eve].practice.sets().flat_map(|set| &set.repeats).map(|r| r.distance.count()).collect();
    assert_eq!(far, [50; 6]);
    assert_eq!(lane.touch(0, 3, bo), None);
}

#[test]
fn a_time_is_filled_by_the_whole_lane() {
    let practice =
        "  - { set: A, swim: 50 m, for: 8 min, rest: 15 s }\n  - { set: B, swim: 50 m, for: 8 min, send-off: 1:10 }\n";
    let lane = lane(THREE, practice).unwrap();
    // Eve touches 70 s after a go. On 75 s: 5 × 75 + 70 = 445 s, 6 × 75 + 70 = 520 s; six. On 70 s: 5 × 70 + 70 = 420 s,
    // 6 × 70 + 70 = 490 s; six.
    for (set, count) in [(0, 6), (1, 6)] {
        let starts = &lane.sets[set].starts;
        assert_eq!(starts.len(), count);
        let last = starts.last().unwrap();
        assert_eq!((last.at + last.after.unwrap(), lane.set_len(set)), (secs(480), secs(480)));
        let line = &lane.swimmers[0].practice.sets().nth(set).unwrap().lines[0];
        assert_eq!((line.repeats, line.within), (u32::try_from(count).unwrap(), Some(secs(480))));
    }
}

#[test]
fn joined_swims_are_one_start() {
    let practice = "  - set: A\n    rounds: 2\n    between-rounds: 1:00\n    do:\n      - { swim: 50 m, rest: 0 s }\n      \
        - { swim: 50 m, rest: 10 s }\n";
    let lane = lane(THREE, practice).unwrap();
    let starts = &lane.sets[0].starts;
    assert_eq!(starts.iter().map(|start| start.swims[0].clone().unwrap()).collect::<Vec<_>>(), [0..2, 2..4]);
    for who in &lane.swimmers {
        let set = who.practice.sets().next().unwrap();
        let after: Seconds = set.repeats[..2].iter().filter_map(|repeat| repeat.interval).sum();
        assert_eq!(Some(after), starts[0].after, "{}", who.name);
        assert!(after >= set.repeats[..2].iter().map(|repeat| repeat.predicted).sum::<Seconds>() + secs(60));
    }
}

#[test]
fn the_sets_of_a_script_are_those_of_its_lane() {
    let practice = "  - { set: A, swim: 2 x 50 m, rest: 15 s }\n  - rest: 1:00\n  - { set: B, swim: 50 m }\n";
    let lane = lane(THREE, practice).unwrap();
    assert_eq!(lane.sets.iter().map(|set| set.title.as_str()).collect::<Vec<_>>(), ["A", "B"]);
    assert_eq!(lane.sets[1].starts[0].after, None);
    assert!(lane.swimmers[0].practice.items.iter().any(|item| matches!(item, Item::Rest(_))));
}
