use super::*;
use crate::script::lane::SwimShare;
use crate::script::parse as script_parse;
use crate::swimmer::roster::KnownSwimmer;

fn read(text: &str, form: RosterForm) -> (Option<WrittenLanes>, Vec<Diagnostic>, Sources) {
    let mut sources = Sources::new();
    let id = sources.add("lanes", text);
    let (lanes, problems) = parse(id, &sources, form);
    (lanes, problems, sources)
}

/// Code, the text marked, and the message of each problem.
fn marked(problems: &[Diagnostic], sources: &Sources) -> Vec<(&'static str, String)> {
    problems.iter().map(|p| (p.code.word(), p.span.map_or("", |span| sources.slice(span)).to_owned())).collect()
}

const YAML: &str = "lengthwise-roster: 1\npool: 25 m\ngap: 10 s\nlanes:\n  - { lane: 1 }\n  - { lane: by the wall, gap: 5 s, \
    order: as listed, circle: clockwise, send-off: 10 s more per 100 }\nswimmers:\n  - { name: Ida, hundred: 1:25, lane: 1 }\n  \
    - { name: Bo, profile: bo.yaml, lane: by the wall, swims: 3 of 4 }\n  - { name: Eve, lane: by the wall, distance: 3/4 }\n";

#[test]
fn lanes_are_read_with_what_each_says() {
    let (lanes, problems, _) = read(YAML, RosterForm::Yaml);
    assert_eq!(problems, []);
    let lanes = lanes.unwrap().lanes;
    let told: Vec<_> = lanes.iter().map(|lane| (lane.name.as_str(), lane.gap, lane.order, lane.circle)).collect();
    assert_eq!(
        told,
        [
            ("1", Seconds::from_secs(10), LaneOrder::FastestFirst, Circle::Anticlockwise),
            ("by the wall", Seconds::from_secs(5), LaneOrder::AsListed, Circle::Clockwise),
        ]
    );
    assert_eq!((lanes[0].send_off.0, lanes[1].send_off.0), (Seconds::ZERO, Seconds::from_secs(10)));
    let [bo, eve] = lanes[1].swimmers.as_slice() else { panic!() };
    assert_eq!((bo.share, eve.share), (SwimShare::Repeats { swum: 3, of: 4 }, SwimShare::Distance { parts: 3, of: 4 }));
    assert!(matches!(bo.known, KnownSwimmer::Profile(_)) && eve.known == KnownSwimmer::Noted);
}

#[test]
fn a_table_and_a_script_say_the_same() {
    let table =
        "name;pool;hundred;lane;swims;distance\nIda;25 m;1:25;1;;\nBo;25 m;1:32;1;3 of 4;\nEve;25 m;1:50;2;;3/4\n";
    let (table, problems, _) = read(table, RosterForm::Table);
    assert_eq!(problems, []);
    let script = "lengthwise: 1\ntitle: A\npool: 25 m\nlane:\n  swimmers:\n    - { name: Ida, hundred: 1:25, lane: 1 }\n    \
        - { name: Bo, hundred: 1:32, lane: 1, swims: 3 of 4 }\n    - { name: Eve, hundred: 1:50, lane: 2, distance: 3/4 }\n\
        practice: [{ set: A, swim: 50 m }]\n";
    let mut sources = Sources::new();
    let id = sources.add("a.yaml", script);
    let (lanes, problems) = of_script(&script_parse::parse(id, &sources).0.unwrap());
    assert_eq!(problems, []);
    let all = |lanes: WrittenLanes| -> Vec<_> {
        let of = |lane: WrittenLane| {
            let swimmers = lane.swimmers.into_iter().map(|member| (member.name, member.share, known(member.known)));
            (lane.name, lane.gap, swimmers.collect::<Vec<_>>())
        };
        lanes.lanes.into_iter().map(of).collect()
    };
    fn known(known: KnownSwimmer) -> String {
        let KnownSwimmer::Here(swimmer) = known else { panic!("{known:?}") };
        format!("{:?} {:?}", swimmer.model, swimmer.paces)
    }
    assert_eq!(all(table.unwrap()), all(lanes.unwrap()));
}

#[test]
fn what_is_wrong_is_marked_where_it_stands() {
    let cases = [
        ("gap: 10 s", "gap: 2 s", ("out-of-range", "2 s")),
        ("gap: 5 s", "gap: 4 s", ("gap-close", "4 s")),
        ("order: as listed", "order: slowest first", ("bad-value", "slowest first")),
        ("10 s more per 100", "1:50", ("bad-value", "")),
        ("3 of 4", "4 of 4", ("out-of-range", "4 of 4")),
        ("distance: 3/4", "distance: 150 m", ("bad-value", "m")),
        ("distance: 3/4", "distance: 3/4, swims: 1 of 2", ("conflict", "distance")),
        ("hundred: 1:25, lane: 1", "hundred: 1:25, lane: 3", ("unknown-name", "3")),
        ("hundred: 1:25, lane: 1", "hundred: 1:25", ("missing-key", "{ name: Ida, hundred: 1:25 }")),
        ("- { lane: 1 }", "- { lane: 1 }\n  - { lane: 1 }", ("duplicate-key", "1")),
        ("- { lane: 1 }", "- { lane: 1 }\n  - { lane: 9 }", ("empty", "9")),
    ];
    for (right, wrong, (code, place)) in cases {
        let text = YAML.replacen(right, wrong, 1);
        assert_ne!(text, YAML);
        let (lanes, problems, sources) = read(&text, RosterForm::Yaml);
        assert_eq!(marked(&problems, &sources), [(code, place.to_owned())], "{wrong}");
        assert_eq!(lanes.is_some(), !has_errors(&problems), "{wrong}");
    }
}

#[test]
fn eight_share_a_lane_and_no_more() {
    let of = |count: usize| {
        let rows: String = (0..count).map(|n| format!("S{n},25 m,1:{}\n", 30 + n)).collect();
        read(&format!("name,pool,hundred\n{rows}"), RosterForm::Table)
    };
    let (lanes, problems, _) = of(MOST_IN_A_LANE);
    assert_eq!(problems, []);
    assert_eq!(lanes.unwrap().lanes[0].swimmers.len(), 8);
    let (lanes, problems, sources) = of(MOST_IN_A_LANE + 1);
    assert_eq!((lanes, marked(&problems, &sources)), (None, vec![("out-of-range", "S8,25 m,1:38".to_owned())]));
    let lanes: String = (0..11).map(|n| format!("S{n},25 m,1:30,{n}\n")).collect();
    let (_, problems, _) = read(&format!("name,pool,hundred,lane\n{lanes}"), RosterForm::Table);
    assert_eq!(problems.iter().map(|p| p.code).collect::<Vec<_>>(), [Code::OutOfRange]);
}

#[test]
fn a_lane_without_swimmers_is_told() {
    let (lanes, problems, sources) = read("lengthwise-roster: 1\nswimmers: []\n", RosterForm::Yaml);
    assert_eq!((lanes, marked(&problems, &sources)), (None, vec![("empty", "swimmers".to_owned())]));
    for text in ["", "name,hundred\n"] {
        let (lanes, problems, _) = read(text, RosterForm::Table);
        assert!(lanes.is_none() && has_errors(&problems), "{text:?}");
    }
}

#[test]
fn open_water_has_no_lanes() {
    let script = "lengthwise: 1\ntitle: A\npool: open water\nlane: { swimmers: [{ name: A, hundred: 1:50, pool: 25 m }] }\n\
        practice: [{ set: A, swim: 10 min }]\n";
    let mut sources = Sources::new();
    let id = sources.add("a.yaml", script);
    let (lanes, problems) = of_script(&script_parse::parse(id, &sources).0.unwrap());
    assert_eq!((lanes, problems.iter().map(|p| p.code).collect::<Vec<_>>()), (None, vec![Code::Conflict]));
}
