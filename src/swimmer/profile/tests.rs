use super::*;

fn read(text: &str) -> (Option<Swimmer>, Vec<Diagnostic>) {
    let mut sources = Sources::new();
    let id = sources.add("ida.yaml", text);
    parse(id, &sources)
}

#[test]
fn a_profile_becomes_a_swimmer() {
    let (swimmer, problems) = read(
        "lengthwise-profile: 1\nname: Ida\npool: 25 m\nstroke:\n  - { tempo: 1.30 s, count: 18 }\n  - { tempo: 1.05 s, count: 20 }\n\
         wall: 3.5 s\nglide: 6 m\npace: { easy: 2:15 }\nside: left\nplayer: { loudest: 94 dBA }\n",
    );
    assert_eq!(problems, []);
    let swimmer = swimmer.unwrap();
    assert_eq!(swimmer.side, Side::Left);
    assert_eq!(swimmer.loudest.map(|loudest| loudest.dba()), Some(94.0));
    assert_eq!(swimmer.usual, Tempo::from_centis(130));
    // 3.5 s + 18 × 1.30 s, by arithmetic.
    assert!((swimmer.model.length_time(25.0, 1.30) - 26.9).abs() < 1e-9);
    assert_eq!(swimmer.assumptions, [Swimmer::effort_assumption()]);
}

#[test]
fn a_count_and_a_time_make_the_tempo() {
    let one = |point: &str| read(&format!("lengthwise-profile: 1\npool: 25 m\nstroke: [{{ {point} }}]\n"));
    // (27.5 - 4.0 assumed at the wall) / 19 = 1.2368 s, to the millisecond.
    let swimmer = one("count: 19, time: 27.5 s").0.unwrap();
    assert_eq!(swimmer.usual, Tempo::from_millis(1237));
    assert!((swimmer.model.length_time(25.0, 1.237) - 27.5).abs() < 0.01);
    for (point, code) in [
        ("count: 19, time: 27.5 s, tempo: 1.2 s", Code::Conflict),
        ("count: 60, time: 27.5 s", Code::OutOfRange),
        ("count: 19, time: 3 s", Code::OutOfRange),
        ("time: 27.5 s", Code::MissingKey),
        ("count: 19", Code::MissingKey),
    ] {
        let (swimmer, problems) = one(point);
        assert!(swimmer.is_none() && problems.len() == 1 && problems[0].code == code, "{point}: {problems:?}");
    }
}

#[test]
fn one_time_is_enough() {
    let of = |keys: &str| read(&format!("lengthwise-profile: 1\npool: 25 m\n{keys}\n"));
    let (swimmer, problems) = of("hundred: 1:50\ndrill: 2:45\nkick: 3:10");
    assert_eq!(problems, []);
    let swimmer = swimmer.unwrap();
    // A quarter of 1:50; 19.4 strokes are assumed in the 23.5 s after the wall: 1.211 s each.
    assert!((swimmer.model.length_time(25.0, swimmer.usual.as_f64()) - 27.5).abs() < 1e-6);
    assert_eq!(swimmer.usual, Tempo::from_millis(1211));
    assert_eq!(swimmer.paces, [(Effort::Steady, Pace::new(Seconds::from_secs(110)).unwrap())]);
    let assumed = "not in the profile, assumed: about 19 strokes at 1.21 s in 25 m, from 1:50 for 100 m";
    assert!(swimmer.assumptions.iter().any(|assumption| assumption == assumed), "{:?}", swimmer.assumptions);
    // A pace alone stands for it: 2:06.5 easy is 1.15 of 1:50.
    assert_eq!(of("pace: { easy: 2:06.5 }").0.unwrap().usual, Tempo::from_millis(1211));
    // With a count the tempo follows, and with a tempo the count.
    assert_eq!(of("hundred: 1:50\nstroke: [{ count: 20 }]").0.unwrap().usual, Tempo::from_millis(1175));
    let counted = of("hundred: 1:50\nusual: 1.175 s").0.unwrap();
    assert!((counted.model.count(25.0, 1.175) - 20.0).abs() < 1e-9);
    for (keys, code) in [
        ("hundred: 1:50\npace: { steady: 1:52 }", Code::Conflict),
        ("pace: 1:50", Code::WrongShape),
        ("hundred: 20 s", Code::OutOfRange),
        ("side: left", Code::MissingKey),
        ("hundred: 0:50\nwall: 13 s", Code::OutOfRange),
    ] {
        let (swimmer, problems) = of(keys);
        assert!(swimmer.is_none() && problems.len() == 1 && problems[0].code == code, "{keys}: {problems:?}");
    }
}

#[test]
fn what_is_not_stated_is_named() {
    let swimmer = read("lengthwise-profile: 1\npool: 25 yd\nstroke: [{ tempo: 55 /min, count: 17 }]\n").0.unwrap();
    assert_eq!(swimmer.assumptions.len(), 4);
}

#[test]
fn mistakes_are_reported_together() {
    let (swimmer, problems) = read(
        "lengthwise-profile: 1\npool: 25\nstroke: [{ tempo: 1.3, count: 18 }, { temp: 1.1 s, count: 0 }]\nsied: left\nplayer: { loudest: 94 dB }\n",
    );
    assert!(swimmer.is_none());
    let codes: Vec<_> = problems.iter().map(|problem| problem.code).collect();
    for code in [Code::UnitMissing, Code::UnknownKey] {
        assert!(codes.contains(&code), "{codes:?}");
    }
    let (swimmer, problems) =
        read("lengthwise-profile: 1\npool: 25 m\nstroke: [{ tempo: 1.3 s, count: 18 }, { tempo: 1.0 s, count: 15 }]\n");
    assert!(swimmer.is_none() && problems[0].code == Code::RangeDisagrees);
}
