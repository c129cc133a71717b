//! The notebook under SIGKILL, with two programs at once, and with as much in it as a squad has after five years.

#![cfg(target_os = "linux")]

use crate::cases::amount;
use crate::material::script;
use crate::run::{Ran, Run};
use lengthwise::notebook::entry::{
    Impressions, LoggedPractice, LoggedRepeat, LoggedSet, Measure, Observation, ScriptCopy, SwimState, ValueSource,
};
use lengthwise::notebook::exchange::write::tables;
use lengthwise::notebook::lengths::LengthRuns;
use lengthwise::notebook::{KeptPractice, Notebook, OpenFor, PracticeId, Wanted};
use lengthwise::units::calendar::Day;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A program under way in a folder, with what it has said so far going nowhere.
fn begin(folder: &Path, args: &str) -> Child {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lengthwise"));
    command.args(args.split_whitespace()).current_dir(folder).env_clear().env("HOME", folder);
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
}

/// A small generator (xorshift64*, Vigna 2016; from memory): the same moments in every run.
struct Moments(u64);

impl Moments {
    fn below(&mut self, most: u64) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) % most
    }
}

fn path(folder: &Path) -> PathBuf {
    folder.join("n.sqlite")
}

/// How many practices there are; nothing where there is no notebook, or one that is still being made.
fn practices(folder: &Path) -> usize {
    match Notebook::open_existing(&path(folder), OpenFor::Writing).unwrap() {
        None => 0,
        Some(notebook) => {
            assert_eq!(notebook.integrity().unwrap(), None);
            notebook.practices(&Wanted::default()).unwrap().len()
        }
    }
}

/// Runs a command again and again, killed at a random moment of the time that it takes, and looks after each: what was
/// acknowledged is there, nothing is half there, the file is sound. `adds` is how many practices one whole run adds.
fn killed_at_random(ran: &Ran, commands: &[&str], adds: usize, kills: usize, seed: u64) {
    let folder = ran.path("");
    let (mut moments, mut expected, mut killed) = (Moments(seed), practices(&folder), 0);
    let begun = Instant::now();
    let whole = begin(&folder, commands[0]).wait().unwrap();
    assert!(whole.success());
    let took = begun.elapsed().as_micros() as u64;
    expected += adds;
    assert_eq!(practices(&folder), expected);
    for round in 1.. {
        if killed == kills {
            break;
        }
        assert!(round < kills * 10 + 10, "only {killed} of {round} runs could be killed");
        let mut child = begin(&folder, commands[round % commands.len()]);
        std::thread::sleep(Duration::from_micros(moments.below(took + took / 4)));
        child.kill().unwrap();
        let acknowledged = child.wait().unwrap().success();
        killed += usize::from(!acknowledged);
        let found = practices(&folder);
        assert!(
            found == expected + adds || !acknowledged && found == expected,
            "{expected} became {found} in run {round}"
        );
        expected = found;
    }
}

fn two_sets() -> String {
    script("  - { set: One, swim: 4 x 50 m on 1:40, count: last length }\n  - { set: Two, swim: 100 m, test: time }\n")
}

#[test]
fn a_practice_that_is_kept() {
    let ran = Run::new("log swimmer --json --notebook n.sqlite").file("a.yaml", two_sets()).exit(3).run();
    let keep =
        "log a.yaml --notebook n.sqlite --swimmer Ida --count 1=19 --time 2=2:10 --missed no --feel 4 --effort 5";
    killed_at_random(&ran, &[keep], 1, amount(2, 80), 1);
}

#[test]
fn tables_that_are_taken_in() {
    let ran = Run::new("log swimmer --json --notebook n.sqlite").exit(3).run();
    // Each folder holds practices of a swimmer of its own, so that each whole run adds as many.
    let sources = amount(3, 120);
    for source in 0..sources {
        let kept: Vec<KeptPractice> =
            (1..).map(PracticeId::new).zip((0..3).map(|week| practice(source, week))).collect();
        for (name, text) in tables(&kept, &[], &[]) {
            let path = ran.path(&format!("t{source}/{name}"));
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, text).unwrap();
        }
    }
    let imports: Vec<String> = (0..sources).map(|source| format!("log import t{source} --notebook n.sqlite")).collect();
    let folder = ran.path("");
    let mut moments = Moments(2);
    let begun = Instant::now();
    assert!(begin(&folder, &imports[0]).wait().unwrap().success());
    let took = begun.elapsed().as_micros() as u64;
    let mut expected = 3;
    for import in &imports[1..] {
        let mut child = begin(&folder, import);
        std::thread::sleep(Duration::from_micros(moments.below(took)));
        child.kill().unwrap();
        let acknowledged = child.wait().unwrap().success();
        let found = practices(&folder);
        assert!(found == expected + 3 || !acknowledged && found == expected, "{import}: {expected} became {found}");
        // The next run ends what was stopped, and doubles nothing.
        assert!(begin(&folder, import).wait().unwrap().success());
        expected += 3;
        assert_eq!(practices(&folder), expected, "{import}");
    }
}

#[test]
fn a_sheet_that_is_taken() {
    let ran = Run::new("log swimmer --json --notebook n.sqlite").file("a.yaml", two_sets()).exit(3).run();
    let mut moments = Moments(3);
    let folder = ran.path("");
    let mut took = 1_000_000;
    for sheet in 0..amount(2, 60) {
        let names = format!("--swimmer A{sheet} --swimmer B{sheet}");
        ran.then(&format!("log sheet a.yaml {names} --day 2024-01-01 -o {sheet}.csv --notebook n.sqlite")).run();
        let file = ran.path(&format!("{sheet}.csv"));
        let text = std::fs::read_to_string(&file).unwrap().replace(",2024-01-01,,", ",2024-01-01,no,");
        std::fs::write(&file, text).unwrap();
        let before = practices(&folder);
        let take = format!("log take {sheet}.csv --new-swimmer --notebook n.sqlite");
        let begun = Instant::now();
        let mut child = begin(&folder, &take);
        if sheet > 0 {
            std::thread::sleep(Duration::from_micros(moments.below(took)));
            child.kill().unwrap();
        }
        let acknowledged = child.wait().unwrap().success();
        took = if sheet == 0 { begun.elapsed().as_micros() as u64 } else { took };
        let found = practices(&folder);
        assert!(found == before + 2 || !acknowledged && found == before, "{take}: {before} became {found}");
        assert!(begin(&folder, &take).wait().unwrap().success());
        assert_eq!(practices(&folder), before + 2, "{take}");
    }
}

#[test]
fn a_notebook_that_is_being_made() {
    let ran = Run::new("log swimmer --json --notebook n.sqlite").file("a.yaml", two_sets()).exit(3).run();
    let folder = ran.path("");
    let mut moments = Moments(4);
    let keep = "log a.yaml --notebook n.sqlite --swimmer Ida";
    let mut took = 1_000_000;
    for round in 0..amount(3, 60) {
        for name in ["n.sqlite", "n.sqlite-wal", "n.sqlite-shm"] {
            let _ = std::fs::remove_file(folder.join(name));
        }
        // Every second one is empty already, as a run leaves it that was killed between making and filling it: version 0.
        if round % 2 == 1 {
            std::fs::write(path(&folder), "").unwrap();
        }
        let begun = Instant::now();
        let mut child = begin(&folder, keep);
        if round > 0 {
            // The making is at the end of the run.
            std::thread::sleep(Duration::from_micros(took / 2 + moments.below(took / 2)));
            child.kill().unwrap();
        }
        let acknowledged = child.wait().unwrap().success();
        took = if round == 0 { begun.elapsed().as_micros() as u64 } else { took };
        let found = practices(&folder);
        assert!(found == 1 || !acknowledged && found == 0, "{found} practices in round {round}");
        assert!(begin(&folder, keep).wait().unwrap().success());
        assert_eq!(practices(&folder), found + 1);
    }
}

#[test]
fn two_programs_at_once() {
    let ran = Run::new("log swimmer --json --notebook n.sqlite").file("a.yaml", two_sets()).exit(3).run();
    let folder = ran.path("");
    let each = amount(1, 10);
    for round in 0..each {
        // The first pair also makes the notebook at the same time.
        let pair =
            ["Ida", "Bo"].map(|name| begin(&folder, &format!("log a.yaml --notebook n.sqlite --swimmer {name}")));
        for mut child in pair {
            assert!(child.wait().unwrap().success(), "in round {round}");
        }
    }
    assert_eq!(practices(&folder), 2 * each);
}

/// One practice of twelve repeats, some of them counted and timed: with its sets about 20 rows.
fn practice(swimmer: usize, week: i32) -> LoggedPractice {
    let observed = |measure, length, value| Observation { measure, length, value, source: ValueSource::Counted };
    let repeat = |number: u32| LoggedRepeat {
        number,
        round: 1,
        metres: 50.0,
        lengths: 2,
        swim: "50 m swim".into(),
        plain: LengthRuns::of([1, 2]),
        test: false,
        tempo: Some(1.2),
        predicted: Some(60.0),
        breaths: (6, 6),
        state: SwimState::Swum,
        observations: if number.is_multiple_of(4) { vec![observed(Measure::Count, Some(2), 19.0)] } else { Vec::new() },
        rehearsed: if number.is_multiple_of(6) { vec![("head-still".into(), 30)] } else { Vec::new() },
    };
    let sets = (1..=3).map(|number| LoggedSet {
        number,
        title: "Range".into(),
        apart: None,
        repeats: (1..=4).map(repeat).collect(),
    });
    LoggedPractice {
        swimmer: format!("S{swimmer}"),
        script: Some(ScriptCopy { name: "a.yaml".into(), text: "lengthwise: 1\n".into() }),
        title: "Range".into(),
        day: Day::parse("2020-01-01").unwrap().plus_days(week * 7).unwrap(),
        begun: None,
        pool: "25 m".into(),
        minutes: Some(45.0),
        said: Impressions { feel: Some(3), effort: Some(5), ..Impressions::default() },
        record: None,
        sets: sets.collect(),
    }
}

/// Two hundred swimmers over five years, two practices in three weeks: half a million rows. The quick loop has one swimmer.
#[test]
fn a_squad_of_five_years() {
    let swimmers = amount(1, 200);
    let ran = Run::new("log swimmer --json --notebook n.sqlite").exit(3).run();
    let mut notebook = Notebook::open(&ran.path("n.sqlite"), OpenFor::Writing).unwrap();
    for swimmer in 0..swimmers {
        let practices: Vec<LoggedPractice> = (0..130).map(|week| practice(swimmer, week * 2)).collect();
        notebook.add("2024-01-01 10:00", "many", &practices).unwrap();
    }
    drop(notebook);
    let timed = |what: &str, args: &str| {
        let begun = Instant::now();
        ran.then(&format!("{args} --notebook n.sqlite")).run();
        let seconds = begun.elapsed().as_secs_f64();
        eprintln!("{what}: {seconds:.3} s");
        seconds
    };
    let megabytes = std::fs::metadata(ran.path("n.sqlite")).unwrap().len() as f64 / 1e6;
    eprintln!("{} practices, {megabytes:.0} MB", swimmers * 130);
    let list = timed("the last twenty", "log list");
    let one = timed("one swimmer's last sixty", "log list --swimmer S0 --last 60");
    let write = timed("a change, with the look at the whole file", "log remove 5");
    // An unoptimised program on a busy machine: what is slower than this reads everything.
    assert!(list < 3.0 && one < 3.0 && write < 20.0);
}
