use super::*;
use crate::diag::Severity;
use crate::units::time::Tempo;
use proptest::prelude::*;

fn read(text: &str, form: RosterForm) -> (Option<Roster>, Vec<Diagnostic>, Sources) {
    let mut sources = Sources::new();
    let id = sources.add("squad", text);
    let (roster, problems) = parse(id, &sources, form);
    (roster, problems, sources)
}

/// Code, the text marked, and the message of each problem.
fn marked(problems: &[Diagnostic], sources: &Sources) -> Vec<(&'static str, String)> {
    problems.iter().map(|p| (p.code.word(), p.span.map_or("", |span| sources.slice(span)).to_owned())).collect()
}

const YAML: &str = "\
lengthwise-roster: 1
title: Tuesday lanes
pool: 25 m
swimmers:
  - { name: Ida Berg, profile: ida.yaml }
  - name: Bo Lind
    stroke: [{ tempo: 1.30 s, count: 21 }]
    side: left
    voice: bos-mother
    focus: [head-still, soft-hand]
  - { name: Cy, pool: 25 yd, stroke: [{ tempo: 1.30 s, count: 20 }, { tempo: 1.10 s, count: 22 }], focus: reach-forward }
";

const TABLE: &str = "\u{feff}Name;Profile;Pool;Tempo (s);Count;Tempo 2;Count 2;Voice;Focus;Side\r\n\
    Ida Berg;ida.yaml;;;;;;;;\r\n\
    Bo Lind;;25 m;1,30;21;;;bos-mother;head-still / soft-hand;left\r\n\
    \r\n;;;;;;;;;\r\n\
    \"Cy\";;25 yd;1,30 s;20;1.10;22;;reach-forward\r\n";

#[test]
fn both_forms_say_the_same() {
    let (yaml, problems, _) = read(YAML, RosterForm::Yaml);
    assert_eq!(problems, []);
    let (table, problems, sources) = read(TABLE, RosterForm::Table);
    assert_eq!(problems, []);
    let (yaml, table) = (yaml.unwrap(), table.unwrap());
    assert_eq!(yaml.title.as_deref(), Some("Tuesday lanes"));
    assert_eq!(table.members.len(), 3);
    for (a, b) in yaml.members.iter().zip(&table.members) {
        assert_eq!((&a.name, &a.problems, &b.problems), (&b.name, &vec![], &vec![]));
        let ids = |member: &Member| member.focus.iter().map(|id| id.value.clone()).collect::<Vec<_>>();
        assert_eq!(ids(a), ids(b));
        assert_eq!(a.voice.as_ref().map(|voice| &voice.value), b.voice.as_ref().map(|voice| &voice.value));
        match (&a.known, &b.known) {
            (KnownSwimmer::Here(a), KnownSwimmer::Here(b)) => assert_eq!(a, b),
            (KnownSwimmer::Profile(a), KnownSwimmer::Profile(b)) => assert_eq!(a.value, b.value),
            other => panic!("{other:?}"),
        }
    }
    let KnownSwimmer::Here(bo) = &yaml.members[1].known else { panic!() };
    assert_eq!((bo.name.as_deref(), bo.usual), (Some("Bo Lind"), Tempo::from_centis(130)));
    // 4 s assumed + 21 × 1.30 s, by arithmetic.
    assert!((bo.model.length_time(25.0, 1.30) - 31.3).abs() < 1e-9);
    assert!(bo.assumptions[0].starts_with("not in the roster, assumed: 4.0 s"), "{:?}", bo.assumptions);
    let spans: Vec<&str> = table.members[1].focus.iter().map(|id| sources.slice(id.span)).collect();
    assert_eq!(spans, ["head-still", "soft-hand"]);
    assert_eq!(sources.slice(table.members[1].voice.as_ref().unwrap().span), "bos-mother");
}

#[test]
fn a_mistake_is_its_swimmers() {
    let text = "lengthwise-roster: 1\npool: 25 m\nswimmers:\n  - { name: Ida, stroke: [{ tempo: 1.30, count: 18 }], foucs: x }\n\
        \x20 - { name: Bo, stroke: [{ tempo: 1.30 s, count: 18 }] }\n  - { profile: cy.yaml, wall: 4 s }\n  - Dag\n  - { name: Eli }\n";
    let (roster, problems, sources) = read(text, RosterForm::Yaml);
    assert_eq!(problems, []);
    let members = roster.unwrap().members;
    let told: Vec<_> =
        members.iter().map(|member| (member.name.as_str(), marked(&member.problems, &sources))).collect();
    let own = |found: &[(&'static str, &str)]| found.iter().map(|(code, text)| (*code, (*text).to_owned())).collect();
    assert_eq!(
        told,
        [
            ("Ida", own(&[("unit-missing", "1.30"), ("unknown-key", "foucs")])),
            ("Bo", vec![]),
            ("swimmer 3", own(&[("missing-key", "profile"), ("conflict", "wall")])),
            ("swimmer 4", own(&[("wrong-shape", "Dag")])),
            ("Eli", own(&[("missing-key", "name")])),
        ]
    );
}

#[test]
fn cells_are_marked_where_they_stand() {
    let text = "name,pool,tempo,count,focus,voice\n\"Berg, Ida\",25 m,1.30,18,,\nBo,25m,1.30 s,3,soft-hand no$id,\n\
        \"Cy \"\"the fish\"\"\",25 m,1.30 s,,,,late\n";
    let (roster, problems, sources) = read(text, RosterForm::Table);
    assert_eq!(problems, []);
    let members = roster.unwrap().members;
    let names: Vec<&str> = members.iter().map(|member| member.name.as_str()).collect();
    assert_eq!(names, ["Berg, Ida", "Bo", "Cy \"the fish\""]);
    assert_eq!(marked(&members[0].problems, &sources), [("unit-missing", "1.30".to_owned())]);
    let bo = marked(&members[1].problems, &sources);
    assert_eq!(bo, [("out-of-range", "3".to_owned()), ("bad-value", "no$id".to_owned())]);
    let cy = marked(&members[2].problems, &sources);
    assert_eq!(cy, [("missing-key", "1.30 s".to_owned()), ("wrong-shape", "late".to_owned())]);
    // Quotes that close too early.
    let (roster, _, sources) = read("name,tempo,count,pool\n\"\"1a30 s\",1!30 s,é1,25 m\n", RosterForm::Table);
    let marked = marked(&roster.unwrap().members[0].problems, &sources);
    assert_eq!(marked, [("bad-value", "!30 s".to_owned()), ("bad-value", "é1".to_owned())]);
    // What a spreadsheet says of itself in a line of its own.
    let (roster, problems, _) = read("sep=;\nname;tempo;count;pool\nIda;1,30 s;18;25 m\n", RosterForm::Table);
    assert!(problems.is_empty() && roster.unwrap().members[0].problems.is_empty(), "{problems:?}");
}

#[test]
fn a_head_that_cannot_be_used_is_reported_alone() {
    for (text, form, code, place) in [
        ("name,tempi\nIda,1.30 s\n", RosterForm::Table, "unknown-key", "tempi"),
        ("name,tempo,count\nIda,1.30 s,18\nBo,1.20 s,18\n", RosterForm::Table, "missing-key", "tempo"),
        ("name,stroke\nIda,1.30 s\n", RosterForm::Table, "unknown-key", "stroke"),
        ("name,count,Count 1\nIda,1,1\n", RosterForm::Table, "duplicate-key", "Count 1"),
        ("profile;tempo\nIda;1.30 s\n", RosterForm::Table, "missing-key", "profile"),
        ("name,profile\n", RosterForm::Table, "empty", ""),
        ("", RosterForm::Table, "empty", ""),
        ("", RosterForm::Yaml, "empty", ""),
        ("swimmers: []\n", RosterForm::Yaml, "version", "swimmers"),
        ("lengthwise-roster: 1\nswimmers: []\n", RosterForm::Yaml, "empty", ""),
        ("lengthwise-roster: 1\nswimmers: 3\n", RosterForm::Yaml, "wrong-shape", "3"),
        ("lengthwise-roster: 1\nswimmers:\n  - { name: Ida, profile: [\n", RosterForm::Yaml, "yaml", "["),
    ] {
        let (roster, problems, sources) = read(text, form);
        assert!(roster.is_none(), "{text}");
        assert!(
            marked(&problems, &sources).contains(&(code, place.to_owned())),
            "{text}: {:?}",
            marked(&problems, &sources)
        );
    }
}

#[test]
fn a_roster_has_a_limit() {
    let many = |count: usize| "name,profile\n".to_owned() + &"Ida,ida.yaml\n".repeat(count);
    assert_eq!(read(&many(MOST), RosterForm::Table).0.unwrap().members.len(), MOST);
    let (roster, problems, _) = read(&many(MOST + 1), RosterForm::Table);
    assert!(roster.is_none() && problems[0].code == Code::OutOfRange);
    let (roster, problems, _) = read(&"x".repeat(yaml::LARGEST + 1), RosterForm::Table);
    assert!(roster.is_none() && problems[0].code == Code::OutOfRange);
}

#[test]
fn the_form_is_known_by_name_or_content() {
    let cases =
        [("YAML", ""), ("yml", ""), ("csv", "lengthwise-roster: 1"), ("txt", "lengthwise-roster: 1"), ("", "name\n")];
    let forms = cases.map(|(ending, text)| RosterForm::of(ending, text));
    assert_eq!(forms, [RosterForm::Yaml, RosterForm::Yaml, RosterForm::Table, RosterForm::Yaml, RosterForm::Table]);
}

proptest! {
    #![proptest_config(crate::cases::cases(64))]
    /// Whatever the bytes: no panic, every problem within the text, every swimmer usable or told.
    #[test]
    fn any_text_is_read(text in "(name[,;]tempo[,;]count[,;]focus\r?\n)?([a-zé\" ,;/\n0-9.]|1.30 s){0,80}", yaml: bool) {
        let (roster, problems, sources) = read(&text, if yaml { RosterForm::Yaml } else { RosterForm::Table });
        let of_members = roster.iter().flat_map(|roster| &roster.members);
        for member in of_members.clone() {
            let errors = member.problems.iter().any(|problem| problem.severity() == Severity::Error);
            prop_assert!(errors || member.known != KnownSwimmer::Unreadable);
        }
        prop_assert!(roster.is_some() || has_errors(&problems));
        for problem in problems.iter().chain(of_members.flat_map(|member| &member.problems)) {
            let span = problem.span.unwrap();
            let within = span.start <= span.end && span.end as usize <= text.len();
            prop_assert!(within && sources.text(span.source).is_char_boundary(span.start as usize), "{:?}", problem);
        }
    }
}
