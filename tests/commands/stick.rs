//! Players' sticks: disks without second names, modes and the newer renames; a stick's root as the folder; and what a FAT disk makes
//! of names and order. strace plays the disk that lacks things; mtools read and write FAT without mounting it.

#![cfg(target_os = "linux")]

use crate::material::{names, script};
use crate::run::{Ran, Run};
use std::path::Path;
use std::process::{Command, Output};

const ARGS: &str = "render a.yaml --rate 8000 --no-speech --format wav";

fn practice(sets: &[&str]) -> String {
    script(&sets.iter().map(|set| format!("  - {{ set: \"{set}\", swim: 25 m, effort: easy }}\n")).collect::<String>())
}

/// The output of another tool; `None`, told, where it is not there or may not do this. Where `CI` is set and it is a package that
/// the gate installs, it must.
#[expect(clippy::print_stderr, reason = "a test that skips says so")]
fn tool(command: &mut Command, must: bool) -> Option<Output> {
    let tool = command.get_program().to_owned();
    match command.output() {
        Ok(output) if output.status.success() => Some(output),
        found => {
            assert!(!must || std::env::var_os("CI").is_none(), "{} does not work: {found:?}", tool.display());
            eprintln!("skipped: {} is missing, or may not do this", tool.display());
            None
        }
    }
}

/// A run on a disk that lacks what FAT and its drivers lack: renames that exchange or spare, second names, modes.
fn on_a_poor_disk(run: &Run) -> Option<Output> {
    let plain = run.command();
    let mut poor = Command::new("strace");
    poor.args(["-f", "-qqq", "-o", "/dev/null"]);
    for (call, error) in [("renameat2", "EINVAL"), ("link,linkat", "EPERM"), ("chmod,fchmod,fchmodat", "EPERM")] {
        poor.args(["-e", &format!("inject={call}:error={error}")]);
    }
    poor.arg(plain.get_program()).args(plain.get_args()).current_dir(plain.get_current_dir()?).env_clear();
    poor.envs(plain.get_envs().filter_map(|(name, value)| Some((name, value?))));
    tool(&mut poor, true)
}

#[test]
fn a_disk_that_lacks_much_gets_the_same_files() {
    let ran = Run::new(&format!("{ARGS} --player rich")).file("a.yaml", practice(&["One", "Two"])).run();
    let poor = |args: &str| {
        let run = ran.then(args);
        on_a_poor_disk(&run).map(|output| run.judge(output))
    };
    let player = format!("{ARGS} --player poor");
    let same = |ran: &Ran| {
        let all = names(&ran.path("rich"));
        let read = |name: &String| ["rich", "poor"].map(|folder| std::fs::read(ran.path(folder).join(name)).unwrap());
        assert!(all.iter().map(read).all(|[rich, poor]| rich == poor));
        assert_eq!(names(&ran.path("poor")).into_iter().filter(|name| name != "mine.txt").collect::<Vec<_>>(), all);
    };
    // New, in the place of our own, and beside somebody's file.
    if poor(&player).is_none() {
        return;
    }
    same(&ran);
    let fewer = || ran.then(&format!("{ARGS} --player rich")).file("a.yaml", practice(&["One"])).run();
    fewer();
    poor(&player).unwrap();
    same(&ran);
    std::fs::write(ran.path("poor/mine.txt"), "mine").unwrap();
    ran.then(&format!("{ARGS} --player rich")).file("a.yaml", practice(&["One", "Three"])).run();
    poor(&player).unwrap();
    same(&ran);
    assert_eq!(std::fs::read_to_string(ran.path("poor/mine.txt")).unwrap(), "mine");
    // One file, new and replaced.
    for _ in 0..2 {
        poor(&format!("{ARGS} -o poor.wav")).unwrap();
    }
    ran.then(&format!("{ARGS} -o rich.wav")).run();
    assert!(std::fs::read(ran.path("poor.wav")).unwrap() == std::fs::read(ran.path("rich.wav")).unwrap());
    assert!(!ran.files().iter().any(|name| name.ends_with("-part")), "{:?}", ran.files());
}

#[test]
fn the_root_of_a_stick_is_a_folder_too() {
    let run = Run::new(&format!("{ARGS} --player stick")).file("a.yaml", practice(&["One", "Two"]));
    let plain = run.command();
    let folder = plain.get_current_dir().unwrap().to_owned();
    std::fs::create_dir(folder.join("stick")).unwrap();
    // In a space of its own, so that nobody else sees the mount: the first render, somebody's file, the second.
    let twice = "mount -t tmpfs none stick && \"$0\" \"$@\" && echo mine > stick/mine.txt && \"$0\" \"$@\" --json && cp -a stick seen";
    let mut mounted = Command::new("unshare");
    mounted.args(["--map-root-user", "--mount", "sh", "-c", twice]).arg(plain.get_program()).args(plain.get_args());
    mounted.current_dir(&folder).env("HOME", &folder);
    // Not every machine that runs the gate lets its users mount.
    if tool(&mut mounted, false).is_none() {
        return;
    }
    assert_eq!(
        names(&folder.join("seen")),
        ["00 Level and start.wav", "01 One.wav", "02 Two.wav", "Try.m3u8", "mine.txt"]
    );
}

/// The names that a run gives in a folder, in the order in which it makes or moves them there.
fn entered(log: &str, folder: &str) -> Vec<String> {
    let name = |line: &str| {
        let to = line.rsplit('"').nth(1)?;
        (line.contains("rename") && Path::new(to).parent()?.ends_with(folder) && line.ends_with("= 0"))
            .then(|| to.rsplit('/').next().unwrap().to_owned())
    };
    log.lines().filter_map(name).collect()
}

#[test]
fn tracks_are_entered_in_the_order_in_which_they_are_swum() {
    // Players that do not sort take the files as the directory has them: on FAT as they were entered. The longest track is made
    // first, so here the last.
    let text = practice(&["One", "Two"]).replace("\"Two\", swim: 25 m", "\"Two\", swim: 8 x 25 m, rest: 20 s");
    let run = Run::new(&format!("{ARGS} --player tracks")).file("a.yaml", text);
    let plain = run.command();
    let folder = plain.get_current_dir().unwrap().to_owned();
    let expected = ["00 Level and start.wav", "01 One.wav", "02 Two.wav", "Try.m3u8"];
    // New, then beside somebody's file.
    for (place, more) in [("ordered", None), ("tracks", Some("tracks/mine.txt"))] {
        if let Some(mine) = more {
            std::fs::remove_file(folder.join("tracks/02 Two.wav")).unwrap();
            std::fs::write(folder.join(mine), "mine").unwrap();
        }
        let mut traced = Command::new("strace");
        traced.args(["-f", "-qqq", "-s", "400", "-o", "log", "-e", "trace=rename,renameat,renameat2"]);
        traced.arg(plain.get_program()).args(plain.get_args()).current_dir(&folder).env("HOME", &folder);
        if tool(&mut traced, true).is_none() {
            return;
        }
        let log = std::fs::read_to_string(folder.join("log")).unwrap();
        assert_eq!(entered(&log, place), expected, "{log}");
    }
}

#[test]
fn a_fat_disk_keeps_names_and_order() {
    let titles = ["Über / die \\\\ 50er: *schnell*?", "CON", "nul.txt", &"long ".repeat(23)];
    let ran = Run::new(&format!("{ARGS} --player tracks")).file("a.yaml", practice(&titles)).run();
    let folder = ran.path("");
    let made = names(&ran.path("tracks"));
    let image = "mkfs.vfat -C stick.img 16384 && mcopy -s -i stick.img tracks ::/ && mdir -b -i stick.img ::/tracks && \
                 mkdir back && mcopy -s -i stick.img ::/tracks back && fsck.vfat -n stick.img";
    let Some(output) = tool(Command::new("sh").args(["-c", image]).env("PATH", path()).current_dir(&folder), true)
    else {
        return;
    };
    let said = String::from_utf8(output.stdout).unwrap();
    let mut listed: Vec<&str> = said.lines().filter_map(|line| line.strip_prefix("::/tracks/")).collect();
    listed.sort_unstable();
    assert_eq!(listed, made);
    for name in &made {
        assert!(
            std::fs::read(folder.join("tracks").join(name)).unwrap()
                == std::fs::read(folder.join("back/tracks").join(name)).unwrap(),
            "{name}"
        );
    }
    // By short names, which old players show, the order is the same: the number comes first.
    let short = Command::new("mdir").args(["-i", "stick.img", "::/tracks"]).current_dir(&folder).output().unwrap();
    let short = String::from_utf8(short.stdout).unwrap();
    let mut both: Vec<(String, String)> = short
        .lines()
        .filter_map(|line| Some((line.get(..8)?.trim().to_owned(), line.get(42..)?.trim().to_owned())))
        .filter(|(short, long)| !short.is_empty() && made.contains(long))
        .collect();
    assert_eq!(both.len(), made.len(), "{short}");
    both.sort();
    assert!(both.iter().map(|(_, long)| long).is_sorted(), "{both:?}");
}

/// Where system tools lie, which are not on everybody's path.
fn path() -> String {
    format!("{}:/usr/sbin:/sbin", std::env::var("PATH").unwrap_or_default())
}
