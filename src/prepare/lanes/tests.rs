use super::*;
use std::fs;

const SCRIPT: &str = "lengthwise: 1\ntitle: Tuesday\npool: 25 m\npack: first-lengths\npractice:\n  - { set: Fifties, swim: 4 x 50 m, rest: 15 s }\n";
const BO: &str = "lengthwise-profile: 1\npool: 25 m\nhundred: 1:30\n";

fn prepared(script: &str, file: Option<(&str, &str)>) -> PreparedLanes {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    fs::write(path("a.yaml"), script).unwrap();
    fs::write(path("bo.yaml"), BO).unwrap();
    let request = PracticeRequest { script: path("a.yaml"), ..PracticeRequest::default() };
    let file = file.map(|(name, text)| {
        fs::write(path(name), text).unwrap();
        path(name)
    });
    lanes(&request, file.as_deref()).unwrap()
}

fn codes(prepared: &PreparedLanes) -> Vec<Code> {
    prepared.diagnostics.iter().map(|problem| problem.code).collect()
}

#[test]
fn a_script_or_a_file_says_who_swims() {
    let lane = "lane: { swimmers: [{ name: Ida, hundred: 1:40 }, { name: Bo, profile: bo.yaml }] }\n";
    let inside = prepared(&SCRIPT.replace("practice:", &format!("{lane}practice:")), None);
    let beside = prepared(SCRIPT, Some(("l.csv", "name,pool,hundred,profile\nIda,25 m,1:40,\nBo,,,bo.yaml\n")));
    for found in [&inside, &beside] {
        assert_eq!(found.diagnostics, []);
        let names: Vec<_> = found.lanes.as_ref().unwrap()[0].swimmers.iter().map(|who| who.name.as_str()).collect();
        assert_eq!(names, ["Bo", "Ida"]);
    }
    assert_eq!(codes(&prepared(SCRIPT, None)), [Code::MissingKey]);
}

#[test]
fn who_is_not_known_is_told_where_they_stand() {
    let found = prepared(SCRIPT, Some(("l.csv", "name,profile\nIda,\nBo,gone.yaml\n")));
    assert_eq!(codes(&found), [Code::UnknownName, Code::UnknownName]);
    assert!(found.lanes.is_none());
    let places: Vec<_> =
        found.diagnostics.iter().map(|problem| found.sources.slice(problem.span.unwrap()).trim()).collect();
    assert_eq!(places, ["Ida,", "gone.yaml"]);
}
