//! What a swimmer is held to, as it is heard: walls that are due, targets before a go. By hand, over short scripts.

use crate::run::Run;
use crate::steering::{self, Heard};
use lengthwise::conductor::command::{Command, CourseCommand, Unit};
use lengthwise::practice::Audience;
use lengthwise::timeline::CueKind;

/// What is heard: when it begins, its kind, its name, its words.
#[derive(Clone, Debug)]
struct Cue {
    at: f64,
    kind: String,
    id: String,
    text: String,
}

/// A script with these entries of a practice.
fn script(sets: &str) -> String {
    format!("lengthwise: 1\ntitle: A\npool: 25 m\npack: first-lengths\npractice:\n{sets}\n")
}

/// Every cue of a practice of these sets for a swimmer of 1:50, in order.
fn heard(sets: &str, more: &str) -> Vec<Cue> {
    let run = Run::new(&format!("check a.yaml --swimmer 1:50 --timeline{more}")).file("a.yaml", script(sets)).run();
    let cue = |line: &str| {
        let [at, _, kind, id, text] = line.split('\t').collect::<Vec<_>>()[..] else { panic!("{line}") };
        Cue { at: at.parse().unwrap(), kind: kind.to_owned(), id: id.to_owned(), text: text.to_owned() }
    };
    run.stdout.lines().map(cue).collect()
}

/// When cues of a kind begin after each go, in seconds, those before the first go left out.
fn after_gos(cues: &[Cue], kind: &str) -> Vec<Vec<f64>> {
    let gos: Vec<f64> = cues.iter().filter(|cue| cue.kind == "go").map(|cue| cue.at).collect();
    let ends = gos.iter().skip(1).copied().chain([f64::INFINITY]);
    let of = |(go, end): (&f64, f64)| {
        let own = cues.iter().filter(|cue| cue.kind == kind && (*go..end).contains(&cue.at));
        own.map(|cue| (cue.at - go) * 1000.0).map(|millis| millis.round() / 1000.0).collect()
    };
    gos.iter().zip(ends).map(of).collect()
}

fn texts<'c>(cues: &'c [Cue], id: &str) -> Vec<&'c str> {
    cues.iter().filter(|cue| cue.id == id).map(|cue| cue.text.as_str()).collect()
}

#[test]
fn walls_are_marked_when_they_are_due() {
    // 2:20 for 100 is 35 s a length; 4 s less for the second half is 1 s of each length. 2:00 is 30 s a length.
    let sets = "  - { set: A, swim: 3 x 100 m, rest: 30 s, pace: [2:20, 2:00, 2:00], second-half: 4 s faster }\n  \
                - { set: B, swim: 50 m, pace: 2:00 }\n  - { set: C, swim: 50 m, effort: easy }";
    let cues = heard(sets, "");
    let quick = vec![31.0, 62.0, 91.0, 120.0];
    let wanted = [vec![36.0, 72.0, 106.0, 140.0], quick.clone(), quick, vec![30.0, 60.0], vec![]];
    assert_eq!(after_gos(&cues, "wall"), wanted);
    // What it means is said once, and shown right behind.
    assert_eq!(texts(&cues, "marks-walls"), ["you are due at each wall when you hear this"]);
    let said = cues.iter().position(|cue| cue.id == "marks-walls").unwrap();
    assert_eq!((cues[said + 1].kind.as_str(), cues[said + 1].id.as_str()), ("wall", "wall"));
    assert_eq!(cues.iter().filter(|cue| cue.kind == "wall").count(), 4 * 3 + 2 + 1);
}

#[test]
fn walls_are_not_marked_where_nobody_would_hear_it_or_should() {
    let marks = |keys: &str, more: &str| {
        let cues = heard(&format!("  - {{ set: A, swim: 2 x 50 m, {keys} }}"), more);
        cues.iter().filter(|cue| cue.kind == "wall" || cue.id == "marks-walls").count()
    };
    assert_eq!(marks("rest: 30 s, pace: 2:00", ""), 2 + 4);
    assert_eq!(marks("rest: 30 s, pace: 2:00", " --for player"), 2 + 4);
    assert_eq!(marks("rest: 30 s, pace: 2:00, marks: none", ""), 0);
    assert_eq!(marks("rest: 30 s, pace: 2:00, test: time", ""), 0);
    assert_eq!(marks("rest: 30 s, effort: steady", ""), 0);
    assert_eq!(marks("rest: 30 s, pace: 2:00", " --for speaker"), 0);
    // The last wall of the first repeat is due at 60 s, the countdown begins there: 63 s less 3 s.
    assert_eq!(marks("send-off: 1:03, pace: 2:00", ""), 2 + 3);
}

#[test]
fn marks_of_a_set_are_for_those_of_its_swims_that_have_a_pace() {
    let sets =
        "  - { set: A, marks: walls, rest: 30 s, do: [{ swim: 50 m, pace: 2:00 }, { swim: 50 m, effort: easy }] }";
    assert_eq!(after_gos(&heard(sets, ""), "wall"), [vec![30.0, 60.0], vec![]]);
    for (keys, said) in [
        ("swim: 2 x 50 m, rest: 30 s, marks: walls", "without a pace no wall is due"),
        ("swim: 2 x 50 m, rest: 30 s, pace: 2:00, test: time, marks: walls", "nothing is heard while a test is swum"),
    ] {
        let run = Run::new("check a.yaml").file("a.yaml", script(&format!("  - {{ set: A, {keys} }}")));
        run.exit(1).no_stdout().stderr(said).run();
    }
    let open = "lengthwise: 1\ntitle: A\npool: open water\npack: first-lengths\npractice:\n  \
                - { set: A, swim: 400 m, pace: 2:00, marks: walls }\n";
    Run::new("check a.yaml").file("a.yaml", open).exit(1).no_stdout().stderr("open water has no walls").run();
}

#[test]
fn marks_follow_what_is_steered() {
    // 100 m at 2:00: a wall each 30 s.
    let yaml = script("  - { set: A, swim: 3 x 100 m, rest: 30 s, pace: 2:00, focus: reach-forward }");
    let stage = steering::stage(&yaml, Audience::Headphones).unwrap();
    let plan = &stage.planned.built.strand.starts;
    let key = |seconds: i64| plan[0].go + lengthwise::units::time::Seconds::from_secs(seconds);
    // A touch at 75 s of the first, then back to it from the rest.
    let commands = [
        (steering::at(key(75)), Command::Course(CourseCommand::Touch)),
        (steering::at(key(85)), Command::Course(CourseCommand::Back(Unit::Repeat))),
    ];
    let played = steering::play(&stage, &commands, 7, u64::MAX);
    steering::check(&stage, &played);
    let (cues, _) = steering::heard(&stage, &played);
    // What the mark means is shown again in the talk.
    let of = |kind| cues.iter().filter(move |cue: &&Heard| cue.kind == kind && cue.id != "wall").map(|cue| cue.from);
    let gos: Vec<u64> = of(CueKind::Go).collect();
    assert_eq!(gos.len(), 4, "the first twice, then the others");
    let seconds: Vec<Vec<u64>> = gos
        .iter()
        .zip(gos.iter().skip(1).copied().chain([u64::MAX]))
        .map(|(go, end)| {
            let own = of(CueKind::Wall).filter(|at| (*go..end).contains(at));
            own.map(|at| (at - go + steering::HERTZ / 2) / steering::HERTZ).collect()
        })
        .collect();
    let whole = vec![30, 60, 90, 120];
    assert_eq!(seconds, [vec![30, 60], whole.clone(), whole.clone(), whole]);
}

#[test]
fn a_target_without_room_is_told() {
    // 25 m at 2:00 takes 30 s, at 1:52 28 s: on 0:37 seven or nine are left, of which the countdown takes three, and "go in ten" is
    // said while swimming. What is left after 30 s is less than the phrase and the time take.
    let set = |on: &str| {
        format!("  - {{ set: A, swim: 6 x 25 m on {on}, pace: [2:00, 1:52], focus: [reach-forward, look-down] }}")
    };
    let run = |on: &str| Run::new("check a.yaml --swimmer 1:50").file("a.yaml", script(&set(on)));
    let ran = run("0:37").stderr("caution[cue-dropped]").stderr("\"due in twenty-eight\" is not heard at").run();
    assert_eq!(ran.stderr.matches("due in twenty-eight").count(), 1, "each text once: {}", ran.stderr);
    let listed = ran.stdout.split("Not heard").nth(1).unwrap();
    assert!(listed.matches("due in").count() == 3, "the plan has every time: {listed}");
    let ran = run("1:00").run();
    assert!(ran.stderr.is_empty() && !ran.stdout.contains("Not heard"), "{}", ran.stderr);
}

#[test]
fn what_is_new_at_a_join_comes_with_the_first_strokes() {
    let cues = heard(
        "  - { set: A, rest: 0 s, do: [{ swim: 50 m, pace: 2:00 }, { swim: 100 m, pace: 1:50, strokes: { at-most: 20 } }] }",
        "",
    );
    let go = cues.iter().find(|cue| cue.kind == "go").unwrap().at;
    let under: Vec<_> = cues.iter().filter(|cue| cue.kind == "set" && cue.at > go).collect();
    let ids: Vec<_> = under.iter().map(|cue| cue.id.as_str()).collect();
    assert_eq!(ids, ["swim", "at-most", "due"]);
    assert!(under.iter().all(|cue| (go + 60.3..go + 60.0 + 0.4 * 27.5).contains(&cue.at)), "{under:?}");
}
