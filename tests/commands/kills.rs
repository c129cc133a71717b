//! Killed at any call that changes names, the program leaves everybody's files where they were, and its next run ends well.
//! strace kills; what the system calls promise is said in rename(2), link(2) and fsync(2).

#![cfg(target_os = "linux")]

use crate::cases::amount;
use crate::material::script;
use crate::material::snapshot;
use crate::zip::{pack, wav};
use lengthwise::audio::take::examine;
use lengthwise::pack::role::Role;
use lengthwise::recording::Prompt;
use lengthwise::recording::desk::FinishedTake;
use lengthwise::recording::store::Store;
use lengthwise::sink::take::TakeFormat;
use std::collections::BTreeMap;
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The calls that make, move or remove names, and that wait for the disk.
const CALLS: [&str; 10] =
    ["rename", "renameat", "renameat2", "link", "linkat", "unlink", "unlinkat", "mkdir", "rmdir", "fsync"];

/// Files of a folder: their paths from there, and their bytes. Notes hold the times of files, what is spoken is a cache.
type Files = BTreeMap<PathBuf, Vec<u8>>;

fn files(folder: &Path) -> Files {
    let within = |path: PathBuf| path.strip_prefix(folder).unwrap().to_owned();
    let all = snapshot(folder).into_iter().filter_map(|(path, bytes)| Some((within(path), bytes?)));
    all.filter(|(path, _)| !path.starts_with(".cache") && !path.ends_with(".lengthwise-made")).collect()
}

/// Names of work in hand below a folder.
fn in_hand(folder: &Path) -> Vec<PathBuf> {
    let all = snapshot(folder).into_keys();
    all.filter(|path| path.to_str().unwrap().ends_with(".lengthwise-part")).collect()
}

/// A program that is killed, in a folder.
struct Killed<'a> {
    program: &'a Path,
    args: &'a [&'a str],
}

impl Killed<'_> {
    fn command(&self, program: impl AsRef<std::ffi::OsStr>, folder: &Path) -> Command {
        let mut command = Command::new(program);
        command.current_dir(folder).env_clear().env("HOME", folder).env("KEEP_A_TAKE", "1");
        command
    }

    fn whole(&self, folder: &Path) -> Output {
        self.command(self.program, folder).args(self.args).output().unwrap()
    }

    /// Runs it in the folder and kills it before the `at`th such call of a thread. `false` where it came to its end before.
    fn at(&self, call: &str, at: usize, folder: &Path) -> bool {
        let mut strace = self.command("strace", folder);
        strace.args(["-f", "-qqq", "-o", "/dev/null", "-e", &format!("trace={call}")]);
        strace.args(["-e", &format!("inject={call}:signal=KILL:when={at}")]).arg(self.program).args(self.args);
        let output = strace.output().unwrap();
        // The tracer ends as the program ended.
        let killed = output.status.signal() == Some(9) || output.status.code() == Some(137);
        assert!(killed || output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        killed
    }
}

/// Whether programs can be killed here; where `CI` is set they must be.
#[expect(clippy::print_stderr, reason = "a test that skips says so")]
fn can_kill() -> bool {
    let works =
        Command::new("strace").args(["-qqq", "-o", "/dev/null", "true"]).status().is_ok_and(|end| end.success());
    assert!(works || std::env::var_os("CI").is_none(), "strace is missing, or may not trace");
    if !works {
        eprintln!("skipped: strace is missing, or may not trace");
    }
    works
}

/// Kills a run at each of its calls, each time in a copy of the folder that `prepare` fills.
fn killed_anywhere(killed: &Killed<'_>, prepare: impl Fn(&Path)) {
    if !can_kill() {
        return;
    }
    let root = tempfile::tempdir().unwrap();
    // Always the same path: a render knows its script by it.
    let (kept, folder) = (root.path().join("before"), root.path().join("folder"));
    std::fs::create_dir(&folder).unwrap();
    prepare(&folder);
    std::fs::rename(&folder, &kept).unwrap();
    let as_before = || {
        let _ = std::fs::remove_dir_all(&folder);
        assert!(Command::new("cp").arg("-a").args([&kept, &folder]).status().unwrap().success());
    };
    let before = files(&kept);
    as_before();
    let output = killed.whole(&folder);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let after = files(&folder);
    assert!(before != after, "nothing would be made");
    let mut kills = 0;
    // In the quick loop the first calls that put files in their places.
    for call in CALLS.iter().filter(|call| amount(call.starts_with("renam"), true)) {
        for at in 1..amount(3, 200) {
            as_before();
            if !killed.at(call, at, &folder) {
                break;
            }
            kills += 1;
            let place = format!("{:?} killed at {call} {at}", killed.args);
            let left = files(&folder);
            for (path, old) in &before {
                let Some(found) = left.get(path) else {
                    assert!(!after.contains_key(path), "{place}: {} is gone", path.display());
                    continue;
                };
                assert!(found == old || after.get(path) == Some(found), "{place}: {} is torn", path.display());
            }
            let in_hand_before = in_hand(&folder);
            let output = killed.whole(&folder);
            let said = String::from_utf8_lossy(&output.stderr);
            assert!(output.status.success(), "{place}, the next run: {said}");
            assert_eq!(in_hand(&folder), Vec::<PathBuf>::new(), "{place}: left for ever, after {in_hand_before:?}");
            if !killed.program.ends_with("lengthwise") {
                continue;
            }
            assert_eq!(said.contains("left by a run that was stopped"), !in_hand_before.is_empty(), "{place}: {said}");
            let again: Vec<_> = files(&folder).into_keys().collect();
            assert!(again.iter().eq(after.keys()), "{place}: {again:?}");
            assert!(files(&folder) == after, "{place}: another result");
        }
    }
    assert!(kills > 0, "nothing was killed");
}

fn program() -> &'static Path {
    Path::new(env!("CARGO_BIN_EXE_lengthwise"))
}

/// What a practice is before, and what it becomes: another tempo, and a set less.
fn practices() -> [String; 2] {
    let sets = |tempo: &str| script(&format!("  - {{ set: One, swim: 25 m, tempo: {tempo} s }}\n"));
    [sets("1.20") + "  - { set: Two, swim: 25 m, effort: easy }\n", sets("1.10")]
}

fn write(folder: &Path, name: &str, bytes: impl AsRef<[u8]>) {
    let path = folder.join(name);
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(path, bytes).unwrap();
}

/// A render of what a practice was before; `mine` are files that somebody put there.
fn rendered(folder: &Path, args: &[&str], mine: &[&str]) {
    let [before, after] = practices();
    write(folder, "a.yaml", before);
    let roster = "lengthwise-roster: 1\ntitle: Lanes\npool: 25 m\nswimmers:\n  \
                  - { name: Ida, stroke: [{ tempo: 1.30 s, count: 18 }] }\n  - { name: Bo, stroke: [{ tempo: 1.30 s, count: 23 }] }\n";
    write(folder, "roster.yaml", roster);
    let output = Killed { program: program(), args }.whole(folder);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    mine.iter().for_each(|name| write(folder, name, "mine"));
    write(folder, "a.yaml", after);
}

fn renders(more: &str, mine: &[&str]) {
    let args = format!("render a.yaml --rate 8000 --no-speech --format wav {more}");
    let args: Vec<&str> = args.split_whitespace().collect();
    killed_anywhere(&Killed { program: program(), args: &args }, |folder| rendered(folder, &args, mine));
}

#[test]
fn a_file_and_its_captions() {
    renders("-o out.wav --captions", &["mine.txt"]);
}

#[test]
fn tracks_in_a_folder_of_their_own() {
    renders("--player tracks", &["mine.txt"]);
}

#[test]
fn tracks_beside_other_files() {
    renders("--player tracks", &["tracks/mine.txt", "tracks/songs/one.mp3"]);
}

#[test]
fn a_split_in_a_folder_and_beside_other_files() {
    renders("--split set -o parts", &["parts/mine.txt"]);
    renders("--split set -o mine.wav", &["mine.txt"]);
}

#[test]
fn a_squad() {
    renders("--roster roster.yaml -o squad", &["squad/Ida/mine.txt"]);
    renders("--roster roster.yaml --player squad", &["squad/Ida/mine.txt"]);
}

#[test]
fn a_pack_that_is_opened() {
    let version = |version| {
        let mut files = crate::honest::files(version);
        files[1].1.extend(format!("# version {version}\n").as_bytes());
        pack("lane-three", &files).bytes()
    };
    for mine in [&["packs/mine.txt"][..], &["packs/lane-three/mine.txt"]] {
        let args = ["pack", "open", "sent.zip", "--into", "packs"];
        killed_anywhere(&Killed { program: program(), args: &args }, |folder| {
            std::fs::create_dir(folder.join("packs")).unwrap();
            write(folder, "sent.zip", version(1));
            assert!(Killed { program: program(), args: &args }.whole(folder).status.success());
            mine.iter().for_each(|name| write(folder, name, "mine"));
            write(folder, "sent.zip", version(2));
        });
    }
}

/// Keeps a take in this folder, for the test below, which calls it in a process of its own.
#[test]
fn keeps_a_take() {
    if std::env::var_os("KEEP_A_TAKE").is_none() {
        return;
    }
    let store = Store::new(Path::new("."), TakeFormat::Wav);
    store.sweep().unwrap();
    let samples = vec![0.25; 400];
    let take = examine(&samples, 16_000);
    let heard = FinishedTake { samples, rate: 16_000, take, faults: Vec::new(), torn: false };
    let (id, text) = ("soft-hand".to_owned(), "soft hand".to_owned());
    store.keep(&Prompt { role: Role::Phrase, id, short: false, text, recorded: true }, &heard).unwrap();
}

#[test]
fn a_take_that_is_kept() {
    let itself = std::env::current_exe().unwrap();
    let args = ["--exact", "kills::keeps_a_take", "--test-threads=1"];
    killed_anywhere(&Killed { program: &itself, args: &args }, |folder| {
        write(folder, "clips/phrases/soft-hand.wav", wav(3_000, 200.0));
        write(folder, "clips/phrases/soft-hand.flac", "an older one");
        write(folder, "clips/phrases/mine.txt", "mine");
    });
}
