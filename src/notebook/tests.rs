use super::entry::{
    Impressions, LoggedPractice, LoggedRepeat, LoggedSet, Measure, NotedSwimmer, Observation, ScriptCopy, SwimState,
    ValueSource,
};
use super::lengths::LengthRuns;
use super::*;
use crate::units::calendar::{Day, TimeOfDay};
use proptest::prelude::*;
use rusqlite::Connection;
use std::fs;
use std::path::Path;

const NOW: &str = "2026-11-29 18:05";

fn repeat(number: u32, count: f64) -> LoggedRepeat {
    LoggedRepeat {
        number,
        round: 1,
        metres: 50.0,
        lengths: 2,
        swim: "50 m crawl".into(),
        plain: LengthRuns::of([1, 2]),
        test: false,
        tempo: Some(1.1),
        predicted: Some(52.7),
        breaths: (6, 7),
        state: SwimState::Swum,
        observations: vec![
            Observation { measure: Measure::Count, length: Some(2), value: count, source: ValueSource::Counted },
            Observation { measure: Measure::Time, length: None, value: 53.1, source: ValueSource::Clock },
        ],
        rehearsed: vec![("head-still".into(), 20), ("reach-forward".into(), 18)],
    }
}

fn practice(swimmer: &str, day: &str, count: f64) -> LoggedPractice {
    LoggedPractice {
        swimmer: swimmer.into(),
        script: Some(ScriptCopy { name: "tuesday.yaml".into(), text: "lengthwise: 1\n".into() }),
        title: "It's Tuesday".into(),
        day: Day::parse(day).unwrap(),
        begun: TimeOfDay::parse("18:05"),
        pool: "25 m".into(),
        minutes: Some(42.5),
        said: Impressions {
            feel: Some(4),
            effort: Some(6),
            pain: Some(String::new()),
            note: Some("cold\nwater; 'ok'".into()),
            held: false,
        },
        record: None,
        sets: vec![
            LoggedSet {
                number: 1,
                title: "Range".into(),
                apart: Some(2),
                repeats: vec![repeat(1, count), repeat(2, count + 1.0)],
            },
            LoggedSet { number: 2, title: "Rest".into(), apart: None, repeats: vec![] },
        ],
    }
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

fn open(folder: &tempfile::TempDir) -> Notebook {
    Notebook::open(&folder.path().join("a.notebook"), OpenFor::Writing).unwrap()
}

fn all(notebook: &Notebook) -> Vec<LoggedPractice> {
    notebook.practices(&Wanted::default()).unwrap().into_iter().map(|(_, practice)| practice).collect()
}

#[test]
fn what_was_written_is_read_back() {
    let folder = folder();
    let mut notebook = open(&folder);
    assert!(notebook.made());
    let practices =
        [practice("Ida", "2026-11-29", 19.0), practice("Bo", "2026-11-27", 22.0), practice("ida", "2026-11-28", 18.0)];
    notebook.add(NOW, "three", &practices).unwrap();
    drop(notebook);
    let notebook = open(&folder);
    assert!(!notebook.made());
    // The oldest first; a name is known however it is written.
    let [ida, bo, earlier] = practices;
    let earlier = LoggedPractice { swimmer: "Ida".into(), ..earlier };
    assert_eq!(all(&notebook), [bo, earlier.clone(), ida.clone()]);
    let of = |wanted: Wanted| {
        notebook.practices(&wanted).unwrap().into_iter().map(|(_, practice)| practice).collect::<Vec<_>>()
    };
    assert_eq!(of(Wanted { swimmer: Some("IDA".into()), ..Wanted::default() }), [earlier, ida.clone()]);
    assert_eq!(of(Wanted { since: Day::parse("2026-11-29"), ..Wanted::default() }), std::slice::from_ref(&ida));
    assert_eq!(of(Wanted { last: Some(1), ..Wanted::default() }), [ida]);
    assert_eq!(notebook.swimmers().unwrap().iter().map(|swimmer| &swimmer.name[..]).collect::<Vec<_>>(), ["Bo", "Ida"]);
}

#[test]
fn a_name_is_one_in_every_alphabet() {
    let folder = folder();
    let mut notebook = open(&folder);
    let of = |name: &str| NotedSwimmer { name: name.into(), profile: Some(format!("{name}\n")) };
    for name in ["ÉVA", "éva", "Жанна", "жАННА"] {
        notebook.put_swimmer(NOW, name, &of(name)).unwrap();
    }
    notebook.add(NOW, "log", &[practice("Éva", "2026-11-29", 18.0)]).unwrap();
    let swimmers = notebook.swimmers().unwrap();
    assert_eq!(swimmers.iter().map(|swimmer| &swimmer.name[..]).collect::<Vec<_>>(), ["ÉVA", "Жанна"]);
    // As it was written first, with what was said last.
    assert_eq!(swimmers[0].profile.as_deref(), Some("éva\n"));
    let wanted = Wanted { swimmer: Some("éVa".into()), ..Wanted::default() };
    assert_eq!((notebook.practices(&wanted).unwrap().len(), notebook.summaries(&wanted).unwrap().len()), (1, 1));
    for _ in 0..5 {
        notebook.undo().unwrap();
    }
    assert_eq!(notebook.swimmers().unwrap(), []);
}

#[cfg(unix)]
#[test]
fn a_notebook_is_its_users_alone() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder();
    let path = folder.path().join("in/here/a.notebook");
    let mut notebook = Notebook::open(&path, OpenFor::Reading).unwrap();
    notebook.add(NOW, "one", &[practice("Ida", "2026-11-29", 19.0)]).unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!((mode(&path), mode(path.parent().unwrap())), (0o600, 0o700));
    for beside in fs::read_dir(path.parent().unwrap()).unwrap() {
        assert_eq!(mode(&beside.unwrap().path()), 0o600);
    }
}

#[test]
fn what_is_no_notebook_stays_as_it_is() {
    let folder = folder();
    let path = folder.path().join("a.notebook");
    let refused = |bytes: &[u8]| {
        fs::write(&path, bytes).unwrap();
        let fault = Notebook::open(&path, OpenFor::Writing).unwrap_err();
        assert_eq!(fs::read(&path).unwrap(), bytes, "{fault}");
        fault
    };
    assert!(matches!(refused(b"lengthwise: 1\n"), NotebookFault::Foreign(_)));
    assert!(matches!(refused(b"SQLite format 3\0 and then nonsense"), NotebookFault::Foreign(_)));
    // A database of somebody else.
    let other = folder.path().join("b");
    Connection::open(&other).unwrap().execute_batch("CREATE TABLE a (b)").unwrap();
    assert!(matches!(refused(&fs::read(&other).unwrap()), NotebookFault::Foreign(_)));
}

#[test]
fn a_notebook_whose_making_was_stopped_is_made_to_its_end() {
    let folder = folder();
    let path = folder.path().join("a.notebook");
    // As far as that call the file has SQLite's head, and neither tables nor our mark.
    Connection::open(&path).unwrap().pragma_update(None, "journal_mode", "WAL").unwrap();
    assert!(fs::read(&path).unwrap().starts_with(b"SQLite format 3\0"));
    let mut notebook = Notebook::open(&path, OpenFor::Writing).unwrap();
    notebook.add(NOW, "one", &[practice("Ida", "2026-11-29", 19.0)]).unwrap();
    drop(notebook);
    assert_eq!(all(&Notebook::open(&path, OpenFor::Writing).unwrap()).len(), 1);
}

#[test]
fn a_newer_or_damaged_notebook_is_refused_untouched() {
    let folder = folder();
    let mut notebook = open(&folder);
    let many: Vec<_> = (1..=28).map(|day| practice("Ida", &format!("2026-11-{day:02}"), 19.0)).collect();
    notebook.add(NOW, "many", &many).unwrap();
    notebook.connection_mut().pragma_update(None, "user_version", 99).unwrap();
    let path = notebook.path().to_owned();
    drop(notebook);
    let whole = fs::read(&path).unwrap();
    let fault = Notebook::open(&path, OpenFor::Reading).unwrap_err();
    assert!(matches!(fault, NotebookFault::Newer { version: 99, known: 4, .. }), "{fault}");
    assert_eq!(fs::read(&path).unwrap(), whole);
    // The version stands at byte 60 (SQLite's file format); a page of the middle is lost.
    let mut broken = whole;
    broken[60..64].copy_from_slice(&1_u32.to_be_bytes());
    let middle = broken.len() / 2 / 4096 * 4096;
    broken[middle..middle + 4096].fill(0xff);
    fs::write(&path, &broken).unwrap();
    let fault = Notebook::open(&path, OpenFor::Writing).unwrap_err();
    assert!(matches!(fault, NotebookFault::Damaged { .. }), "{fault}");
    assert!(fault.to_string().contains("copy your last backup"), "{fault}");
    assert_eq!(fs::read(&path).unwrap(), broken);
}

#[test]
fn a_change_is_whole_or_not_there() {
    let folder = folder();
    let mut notebook = open(&folder);
    notebook.add(NOW, "one", &[practice("Ida", "2026-11-28", 19.0)]).unwrap();
    let before = all(&notebook);
    let mut wrong = practice("Bo", "2026-11-29", 19.0);
    wrong.said.effort = Some(11);
    let fault = notebook.add(NOW, "two", &[practice("Bo", "2026-11-29", 19.0), wrong]).unwrap_err();
    assert!(matches!(fault, NotebookFault::Refused(_)), "{fault}");
    assert_eq!((all(&notebook), notebook.swimmers().unwrap().len()), (before, 1));
    // A session record belongs to one practice.
    let recorded = LoggedPractice { record: Some("0".repeat(64)), ..practice("Ida", "2026-11-29", 19.0) };
    notebook.add(NOW, "three", std::slice::from_ref(&recorded)).unwrap();
    assert!(matches!(notebook.add(NOW, "again", &[recorded]).unwrap_err(), NotebookFault::Refused(_)));
    assert!(
        notebook.has_record("ida", &"0".repeat(64)).unwrap() && !notebook.has_record("Bo", &"0".repeat(64)).unwrap()
    );
}

#[test]
fn a_backup_is_whole_and_replaces_nothing() {
    let folder = folder();
    let mut notebook = open(&folder);
    notebook.add(NOW, "one", &[practice("Ida", "2026-11-28", 19.0)]).unwrap();
    let copy = folder.path().join("copy");
    let done = notebook.backup(&copy).unwrap();
    assert_eq!(done.bytes, fs::metadata(&copy).unwrap().len());
    assert_eq!(all(&Notebook::open(&copy, OpenFor::Writing).unwrap()), all(&notebook));
    let fault = notebook.backup(&copy).unwrap_err();
    assert!(fault.to_string().contains("stays as it is"), "{fault}");
}

#[test]
fn two_programs_at_once() {
    let folder = folder();
    let (mut one, mut two) = (open(&folder), open(&folder));
    std::thread::scope(|scope| {
        for (notebook, name) in [(&mut one, "Ida"), (&mut two, "Bo")] {
            scope.spawn(move || {
                for day in 1..=20 {
                    notebook.add(NOW, "one", &[practice(name, &format!("2026-11-{day:02}"), 19.0)]).unwrap();
                }
            });
        }
    });
    assert_eq!((all(&one).len(), one.integrity().unwrap()), (40, None));
}

/// Something that a command does to a notebook.
#[derive(Clone, Debug)]
enum Deed {
    Add(String, f64),
    Replace(usize, f64),
    Remove(usize),
    Profile(String),
}

fn deed() -> impl Strategy<Value = Deed> {
    let name = || prop::sample::select(vec!["Ida".to_owned(), "Bo".into(), "O'Dea".into()]);
    prop_oneof![
        (name(), 10.0..30.0).prop_map(|(name, count)| Deed::Add(name, count)),
        (0_usize..9, 10.0..30.0).prop_map(|(which, count)| Deed::Replace(which, count)),
        (0_usize..9).prop_map(Deed::Remove),
        name().prop_map(Deed::Profile),
    ]
}

proptest! {
    #![proptest_config(crate::cases::cases(16))]

    #[test]
    fn every_change_can_be_taken_back(acts in prop::collection::vec(deed(), 1..8)) {
        let folder = folder();
        let mut notebook = open(&folder);
        let seen = |notebook: &Notebook| (notebook.practices(&Wanted::default()).unwrap(), notebook.swimmers().unwrap());
        let mut states = vec![seen(&notebook)];
        for act in acts {
            let ids: Vec<_> = states.last().unwrap().0.iter().map(|(id, _)| *id).collect();
            let at = |which: usize| ids.get(which % ids.len().max(1)).copied();
            let touches = matches!(act, Deed::Add(..) | Deed::Profile(_)) || !ids.is_empty();
            match act {
                Deed::Add(name, count) => notebook.add(NOW, "add", &[practice(&name, "2026-11-29", count)]).map(drop),
                Deed::Replace(which, count) => at(which).map_or(Ok(()), |id| {
                    let read = notebook.practice(id).unwrap().unwrap();
                    let done =
                        notebook.replace(NOW, "replace", (id, &read), &practice("Ida", "2026-11-30", count));
                    done.map(Result::unwrap)
                }),
                Deed::Remove(which) => at(which).map_or(Ok(()), |id| notebook.remove(NOW, "remove", id)),
                Deed::Profile(name) => {
                    notebook.put_swimmer(NOW, "profile", &NotedSwimmer { name, profile: Some("it's: 1\n".into()) })
                }
            }
            .unwrap();
            // What finds no row to change is no step back.
            if touches {
                states.push(seen(&notebook));
            }
        }
        states.pop();
        while let Some(before) = states.pop() {
            prop_assert!(notebook.undo().unwrap().is_some());
            prop_assert_eq!(seen(&notebook), before);
        }
        prop_assert_eq!(notebook.undo().unwrap(), None);
        prop_assert_eq!(notebook.integrity().unwrap(), None);
    }
}

#[test]
fn an_older_notebook_becomes_a_newer_one_and_keeps_what_it_has() {
    let folder = folder();
    let path = folder.path().join("a.notebook");
    let mut notebook = open(&folder);
    notebook.add(NOW, "log", &[practice("Ida", "2026-11-29", 18.0)]).unwrap();
    let before = all(&notebook);
    drop(notebook);
    // As version 1 left it.
    let raw = Connection::open(&path).unwrap();
    raw.execute_batch(
        "DROP TABLE phrase_pair; DROP TRIGGER swimmer_insert; DROP TRIGGER swimmer_update; DROP TRIGGER swimmer_delete;
         DROP INDEX swimmer_folded; ALTER TABLE swimmer DROP COLUMN folded; DROP TRIGGER practice_insert; DROP TRIGGER practice_update; DROP TRIGGER practice_delete;
         ALTER TABLE practice DROP COLUMN held; PRAGMA user_version = 1;",
    )
    .unwrap();
    // What it wrote down to bring the practice back knows no later column.
    raw.execute_batch(
        "INSERT INTO change (moment, what) VALUES ('then', 'removed'); INSERT INTO way_back (step, sql) VALUES
         (2, 'INSERT INTO practice (id, swimmer, title, day, pool) VALUES (7, 1, ''Old'', ''2026-11-01'', ''25 m'')');",
    )
    .unwrap();
    // To version 1 these were two, and nobody knows whether they are.
    raw.execute_batch("INSERT INTO swimmer (name) VALUES ('ÉVA'), ('éva'), ('Éva (2)')").unwrap();
    raw.execute_batch(
        "INSERT INTO practice (swimmer, title, day, pool) SELECT id, name, '2026-11-02', '25 m' FROM swimmer WHERE id > 1",
    )
    .unwrap();
    drop(raw);
    let mut notebook = open(&folder);
    let names: Vec<String> = notebook.swimmers().unwrap().into_iter().map(|swimmer| swimmer.name).collect();
    assert_eq!(names, ["Ida", "ÉVA", "Éva (2)", "éva (3)"]);
    let swum = |name: &str| {
        let wanted = Wanted { swimmer: Some(name.into()), ..Wanted::default() };
        notebook.practices(&wanted).unwrap().into_iter().map(|(_, practice)| practice.title).collect::<Vec<_>>()
    };
    // Each keeps what it has.
    for (name, title) in [("éva", "ÉVA"), ("ÉVA (2)", "Éva (2)"), ("Éva (3)", "éva")] {
        assert_eq!(swum(name), [title], "{name}");
    }
    let kept = notebook.practices(&Wanted { swimmer: Some("Ida".into()), ..Wanted::default() }).unwrap();
    assert_eq!(kept.into_iter().map(|(_, practice)| practice).collect::<Vec<_>>(), before);
    assert_eq!(notebook.undo().unwrap().unwrap().what, "removed");
    let old = notebook.practice(PracticeId::new(7)).unwrap().unwrap();
    assert_eq!((&old.title[..], old.said.held), ("Old", false));
    notebook.compare(NOW, "Ida", Day::parse("2026-11-30").unwrap(), Some(("a", "b"))).unwrap();
    assert_eq!((notebook.integrity().unwrap(), notebook.compared("ida").unwrap().is_some()), (None, true));
}

#[test]
fn of_two_who_change_a_practice_at_once_the_later_is_refused() {
    let folder = folder();
    let (mut one, mut other) = (open(&folder), open(&folder));
    let id = one.add(NOW, "log", &[practice("Ida", "2026-11-29", 18.0)]).unwrap()[0];
    let read = one.practice(id).unwrap().unwrap();
    let [mine, theirs] = [19.0, 20.0].map(|count| practice("Ida", "2026-11-29", count));
    assert_eq!(one.replace(NOW, "mine", (id, &read), &mine).unwrap(), Ok(()));
    assert_eq!(other.replace(NOW, "theirs", (id, &read), &theirs).unwrap(), Err(ChangedMeanwhile));
    assert_eq!(other.practice(id).unwrap(), Some(mine.clone()));
    assert_eq!(other.replace(NOW, "theirs", (id, &mine), &theirs).unwrap(), Ok(()));
    // Nor does one that is gone come back.
    one.remove(NOW, "gone", id).unwrap();
    assert_eq!(other.replace(NOW, "theirs", (id, &theirs), &mine).unwrap(), Err(ChangedMeanwhile));
    assert_eq!(other.undo().unwrap().unwrap().what, "gone");
}

#[test]
fn one_pair_of_phrases_is_compared_at_a_time() {
    let folder = folder();
    let mut notebook = open(&folder);
    let day = |day| Day::parse(day).unwrap();
    let pair = |first: &str, second: &str, begun| {
        Some(PhrasePair { first: first.into(), second: second.into(), begun: day(begun) })
    };
    assert!(notebook.compare(NOW, "Ida", day("2026-11-01"), Some(("a", "b"))).is_err(), "nobody of that name");
    let swimmer = NotedSwimmer { name: "Ida".into(), profile: None };
    notebook.put_swimmer(NOW, "a swimmer", &swimmer).unwrap();
    assert!(notebook.compare(NOW, "Ida", day("2026-11-01"), Some(("a", "a"))).is_err(), "one with itself");
    notebook.compare(NOW, "Ida", day("2026-11-01"), Some(("a", "b"))).unwrap();
    assert_eq!(notebook.compared("IDA").unwrap(), pair("a", "b", "2026-11-01"));
    assert_eq!(notebook.compared("Bo").unwrap(), None);
    notebook.compare(NOW, "Ida", day("2026-11-08"), Some(("c", "d"))).unwrap();
    assert_eq!(notebook.compared("Ida").unwrap(), pair("c", "d", "2026-11-08"));
    notebook.compare(NOW, "Ida", day("2026-11-09"), None).unwrap();
    assert_eq!(notebook.compared("Ida").unwrap(), None);
    notebook.undo().unwrap();
    assert_eq!(notebook.compared("Ida").unwrap(), pair("c", "d", "2026-11-08"));
}
