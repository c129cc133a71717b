//! Practices planned for a swimmer of the notebook.

use lengthwise::diag::Code;
use lengthwise::notebook::entry::{Measure, NotedSwimmer, Observation, SwimState, ValueSource};
use lengthwise::notebook::outline::Outline;
use lengthwise::notebook::{Notebook, OpenFor, entry::ScriptCopy};
use lengthwise::prepare::{self, KnownFrom, Planned, PracticeRequest, Prepared, WhoSwims};
use lengthwise::units::calendar::Day;
use std::path::Path;

const SCRIPT: &str = "\
lengthwise: 1
title: Known
pool: 25 m
pack: first-lengths
practice:
  - { set: Range, swim: 3 x 50 m on 1:40, tempo: { from: 1.30 s, to: 1.10 s }, count: last length }
";

fn day(text: &str) -> Day {
    Day::parse(text).unwrap()
}

fn plan(folder: &Path, swimmer: Option<WhoSwims>) -> Prepared {
    let (script, notebook) = (folder.join("known.yaml"), folder.join("notebook.sqlite"));
    std::fs::write(&script, SCRIPT).unwrap();
    let known = Some(KnownFrom { notebook, today: day("2026-11-29") });
    prepare::plan(&PracticeRequest { script, swimmer, known, ..PracticeRequest::default() }).unwrap()
}

fn planned(folder: &Path, swimmer: Option<WhoSwims>) -> Planned {
    let outcome = plan(folder, swimmer);
    outcome.planned.unwrap_or_else(|| panic!("{:?}", outcome.diagnostics))
}

/// Keeps the practice for somebody who counts these strokes in the last length of each repeat, four times.
fn swim(folder: &Path, name: &str, counts: [f64; 3]) {
    let practice = planned(folder, Some(WhoSwims::Hundred(lengthwise::swimmer::hundred("2:00").unwrap()))).practice;
    let script = ScriptCopy { name: "known.yaml".into(), text: SCRIPT.into() };
    let mut notebook = Notebook::open(&folder.join("notebook.sqlite"), OpenFor::Writing).unwrap();
    for on in ["2026-11-20", "2026-11-22", "2026-11-24", "2026-11-26"] {
        let mut kept = Outline::of(&practice, script.clone(), name, day(on)).practice;
        for (repeat, value) in kept.sets[0].repeats.iter_mut().zip(counts) {
            let counted = Observation { measure: Measure::Count, length: Some(2), value, source: ValueSource::Counted };
            repeat.observations.push(counted);
            repeat.state = SwimState::Swum;
        }
        notebook.add("2026-11-29 18:00", "swum", &[kept]).unwrap();
    }
}

fn counts(planned: &Planned) -> Vec<f64> {
    planned.plan.sets[0].repeats.iter().map(|repeat| repeat.count.unwrap()).collect()
}

#[test]
fn counts_of_the_notebook_make_the_plan() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    // No notebook: somebody new to crawl. Looking makes none.
    let nobody = planned(folder, None);
    assert!(nobody.plan.assumptions[0].contains("no swimmer given"), "{:?}", nobody.plan.assumptions);
    assert!(!folder.join("notebook.sqlite").exists());
    swim(folder, "Ida", [17.0, 18.0, 19.0]);
    // The only swimmer of a notebook need not be named; a name is known however it is written.
    for swimmer in [None, Some(WhoSwims::Named("Ida".into())), Some(WhoSwims::Named("iDA".into()))] {
        let ida = planned(folder, swimmer);
        for (found, counted) in counts(&ida).into_iter().zip([17.0, 18.0, 19.0]) {
            assert!((found - counted).abs() < 0.6, "{found} for {counted}");
        }
        let said = "by 12 counts in the notebook, the last of them 3 days ago";
        assert!(ida.plan.assumptions[0].contains(said), "{:?}", ida.plan.assumptions);
    }
    swim(folder, "Bo", [24.0, 25.0, 27.0]);
    let bo = planned(folder, Some(WhoSwims::Named("Bo".into())));
    assert!((counts(&bo)[2] - 27.0).abs() < 0.8, "{:?}", counts(&bo));
    // Of two nobody is meant who is not named.
    assert_eq!(counts(&planned(folder, None)), counts(&nobody));
}

#[test]
fn a_profile_is_where_counts_begin() {
    let folder = tempfile::tempdir().unwrap();
    let mut notebook = Notebook::open(&folder.path().join("notebook.sqlite"), OpenFor::Writing).unwrap();
    let profile = "lengthwise-profile: 1\npool: 25 m\nhundred: 1:30\n".to_owned();
    let swimmer = NotedSwimmer { name: "Ida".into(), profile: Some(profile.clone()) };
    notebook.put_swimmer("2026-11-29 18:00", "profile", &swimmer).unwrap();
    let noted = planned(folder.path(), None);
    let path = folder.path().join("ida.yaml");
    std::fs::write(&path, profile).unwrap();
    let of_file = planned(folder.path(), Some(WhoSwims::Profile(path)));
    assert_eq!(counts(&noted), counts(&of_file));
    assert!(noted.plan.assumptions[0].contains("no counts of Ida yet"), "{:?}", noted.plan.assumptions);
}

#[test]
fn a_stranger_is_told_who_is_known() {
    let folder = tempfile::tempdir().unwrap();
    let stranger = || plan(folder.path(), Some(WhoSwims::Named("Eve".into()))).diagnostics;
    assert!(stranger()[0].hint.as_ref().unwrap().contains("`lengthwise log` begins a notebook"));
    swim(folder.path(), "Ida", [17.0, 18.0, 19.0]);
    let problem = &stranger()[0];
    assert_eq!((problem.code, problem.hint.as_deref()), (Code::UnknownName, Some("it knows Ida")));
    // A file of that name goes first.
    let file = folder.path().join("Eve");
    std::fs::write(&file, "lengthwise-profile: 1\npool: 25 m\nhundred: 1:30\n").unwrap();
    let of_file = planned(folder.path(), Some(WhoSwims::Named(file.to_str().unwrap().into())));
    assert_eq!(of_file.swimmer.name, None);
}
