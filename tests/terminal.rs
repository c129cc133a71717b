//! The live screen in a real terminal: `tmux` gives one that can be typed into, resized, hung up and looked at. The screen
//! runs in this same binary, started again inside it, beside a stand-in for a session that writes down what it is asked.
//! The program itself is tapped into in `tap`. Without tmux it says aloud that it skips, which it must not do where `CI` is set.

#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stderr, reason = "tests, which say aloud that they skip")]

#[path = "terminal/tap.rs"]
mod tap;

use lengthwise::conductor::command::{Command as Steer, CourseCommand, DeskCommand};
use lengthwise::conductor::doubt::{Doubt, TouchQuestion};
use lengthwise::conductor::situation::{Activity, ComingStart};
use lengthwise::display::key_tables::KEYS;
use lengthwise::display::look::Look;
use lengthwise::display::{Screen, run};
use lengthwise::messages::Messages;
use lengthwise::session::input::Input;
use lengthwise::session::snapshot::{DeviceState, Fault, Snapshot};
use lengthwise::session::swim::{NumberOf, SwimFacts};
use lengthwise::units::time::{Seconds, Tempo};
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::thread::sleep;
use std::time::{Duration, Instant};

#[path = "terminal/questions.rs"]
mod questions;

/// How long anything may take before it counts as not coming.
const PATIENCE: Duration = Duration::from_secs(15);
const POLL: Duration = Duration::from_millis(20);
/// Names the file that the run inside the terminal writes; without it that test does nothing.
const LOG: &str = "LENGTHWISE_SCREEN_LOG";
/// Makes its session fail.
const FAULT: &str = "LENGTHWISE_SCREEN_FAULT";

/// Not a test of its own: what the others start in the terminal.
#[test]
fn inside_the_terminal() {
    let Some(log) = std::env::var_os(LOG) else { return };
    let mut log = fs::File::create(log).unwrap();
    let variable = |name: &str| std::env::var(name).ok();
    let look = Look::of(variable("NO_COLOR").is_none(), variable);
    let stop = Arc::new(AtomicBool::new(false));
    for signal in [2, 15, 1] {
        signal_hook::flag::register(signal, Arc::clone(&stop)).unwrap();
    }
    let screen = Screen::open(look, Messages::shared()).unwrap();
    let (to, snapshots) = crossbeam_channel::bounded(4);
    let (inputs, asked) = crossbeam_channel::bounded(32);
    let mut notes = log.try_clone().unwrap();
    std::thread::spawn(move || {
        let (begun, mut snapshot) = (Instant::now(), snapshot());
        let mut question = TouchQuestion::default();
        loop {
            match asked.recv_timeout(Duration::from_millis(50)) {
                Ok(Input::Do(command))
                    if question.hear(command, &snapshot.situation, snapshot.elapsed) != Doubt::Meant => {}
                Ok(input) => {
                    writeln!(notes, "{input:?}").unwrap();
                    snapshot.last = Some(format!("{input:?}"));
                    match input {
                        Input::Stop => return,
                        Input::Do(Steer::Desk(DeskCommand::Pause)) => snapshot.paused = true,
                        Input::Do(Steer::Desk(DeskCommand::Resume)) => snapshot.paused = false,
                        Input::Do(Steer::Desk(DeskCommand::Mute(muted))) => snapshot.situation.muted = muted,
                        Input::Do(Steer::Course(CourseCommand::Tempo(step))) => snapshot.situation.nudge += step,
                        Input::Do(_) => {}
                    }
                }
                Err(error) if error.is_disconnected() => return,
                Err(_) => {}
            }
            snapshot.elapsed = Seconds::from_secs(100 + begun.elapsed().as_secs() as i64);
            snapshot.clock = snapshot.elapsed;
            snapshot.doubt = question.stands(snapshot.elapsed);
            let _ = to.try_send(snapshot.clone());
            assert!(std::env::var_os(FAULT).is_none() || begun.elapsed().as_millis() < 700, "a fault on purpose");
        }
    });
    let ended = run(screen, &snapshots, &inputs, &stop);
    writeln!(log, "ended: {ended:?}").unwrap();
}

fn snapshot() -> Snapshot {
    let mut snapshot = Snapshot {
        title: "Up the tempo range".into(),
        total: Seconds::from_secs(2_700),
        swum: Some(SwimFacts {
            title: "Range".into(),
            set: NumberOf { number: 3, of: 6 },
            round: NumberOf { number: 1, of: 1 },
            repeat: NumberOf { number: 3, of: 8 },
            far: "50 m".into(),
            ..SwimFacts::default()
        }),
        faults: vec![Fault { number: 1, short: "other output".into(), words: "now through Speakers".into() }],
        level: 0.5,
        device: DeviceState::Playing { name: "none".into(), rate: 48_000, buffer: 512 },
        ..Snapshot::default()
    };
    snapshot.situation.phase = Activity::Swim;
    snapshot.situation.go = Some(Seconds::from_secs(100));
    snapshot.situation.predicted_touch = Some(Seconds::from_secs(158));
    snapshot.situation.next_go = Some(Seconds::from_secs(180));
    snapshot.situation.coming = Some(ComingStart { set: 2, repeat: 3, go: snapshot.situation.next_go, joined: false });
    snapshot.next = snapshot.swum.clone();
    snapshot.situation.tempo = Some(Tempo::from_centis(110));
    snapshot.situation.focus = Some("head still".into());
    snapshot
}

/// A terminal of its own server, which goes with it.
struct Terminal {
    server: String,
    log: PathBuf,
    _folder: tempfile::TempDir,
}

impl Terminal {
    /// Runs the screen in a shell, so that what comes after it can be seen; none where there is no tmux.
    fn start(name: &str, environment: &str) -> Option<Self> {
        let program = std::env::current_exe().unwrap();
        let line = format!("{environment} {LOG}=LOGFILE {} --exact inside_the_terminal --nocapture", program.display());
        Self::run(name, &line, "Up the tempo range")
    }

    /// Runs a line with what it needs of the environment before it; `LOGFILE` in it is a file of this terminal. Waits for what it
    /// shows first.
    fn run(name: &str, line: &str, first: &str) -> Option<Self> {
        let terminal = Self::shell(name, |log| {
            let line = line.replace("LOGFILE", log.to_str().unwrap());
            format!("env LC_ALL=C.UTF-8 {line}; stty -a; echo AFTER; exec cat")
        })?;
        terminal.until("the title", || terminal.seen().contains(first));
        Some(terminal)
    }

    /// Runs a line of the shell, which is told the name of a file in a folder of its own.
    fn shell(name: &str, line: impl Fn(&Path) -> String) -> Option<Self> {
        if Command::new("tmux").arg("-V").output().is_err() {
            assert!(std::env::var_os("CI").is_none(), "CI must have tmux: see .ci/setup");
            eprintln!("SKIPPED: there is no tmux, so no terminal to type into");
            return None;
        }
        let folder = tempfile::tempdir().unwrap();
        let (server, log) = (format!("lengthwise-{name}-{}", std::process::id()), folder.path().join("log"));
        let line = line(&log);
        let terminal = Self { server, log, _folder: folder };
        terminal.tmux(&["-f", "/dev/null", "new-session", "-d", "-x", "80", "-y", "24", "sh", "-c", &line]);
        Some(terminal)
    }

    fn tmux(&self, arguments: &[&str]) -> String {
        let output = Command::new("tmux").args(["-L", &self.server]).args(arguments).output().unwrap();
        String::from_utf8_lossy(&output.stdout).into_owned()
    }

    fn seen(&self) -> String {
        self.tmux(&["capture-pane", "-p"])
    }

    fn log(&self) -> String {
        fs::read_to_string(&self.log).unwrap_or_default()
    }

    fn press(&self, key: &str) {
        self.tmux(&["send-keys", key]);
    }

    fn until(&self, what: &str, mut done: impl FnMut() -> bool) {
        let start = Instant::now();
        while !done() {
            assert!(start.elapsed() < PATIENCE, "{what} did not come; log:\n{}\nscreen:\n{}", self.log(), self.seen());
            sleep(POLL);
        }
    }

    /// What a person finds who gets the terminal back: the page from before, a cursor, an echo.
    fn is_given_back(&self) {
        self.until("the shell", || self.seen().contains("AFTER"));
        assert_eq!(self.tmux(&["display-message", "-p", "#{alternate_on} #{cursor_flag}"]).trim(), "0 1");
        let seen = self.seen();
        for setting in [" echo ", " icanon ", " isig ", " opost "] {
            assert!(seen.replace(['\n', ';'], " ").contains(setting), "{setting} is off:\n{seen}");
        }
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        self.tmux(&["kill-server"]);
    }
}

#[test]
fn every_key_reaches_the_session_and_shows() {
    let Some(terminal) = Terminal::start("keys", "") else { return };
    let mut lines = 0;
    // What has gone wrong stays until somebody has seen it.
    terminal.until("the fault", || terminal.seen().contains("now through Speakers"));
    terminal.press("Enter");
    terminal.until("the fault seen", || !terminal.seen().contains("now through Speakers"));
    // The next start on the pool's pace clock.
    terminal.until("the practice's clock", || terminal.seen().contains("of this clock"));
    terminal.press("c");
    terminal.until("the pool's clock", || terminal.seen().contains("of the pool's clock"));
    assert_eq!(terminal.log(), "", "the session has no part in either");
    for row in KEYS.iter().filter(|row| !row.line.is_empty() && row.first() != "q") {
        for key in row.shown.split(", ") {
            let name = match key {
                "space" => "Space",
                "→" => "Right",
                "←" => "Left",
                other => other,
            };
            terminal.press(name);
            if key == "t" {
                // So soon after the go a touch is asked about.
                terminal.until("the question", || terminal.seen().contains("t again takes it"));
                terminal.press(name);
            }
            lines += 1;
            terminal.until(&format!("the effect of {key}"), || terminal.log().lines().count() == lines);
            let last = terminal.log().lines().last().unwrap().to_owned();
            terminal.until(&format!("{last} on the screen"), || {
                let seen = terminal.seen();
                last.chars().take(78).collect::<String>().split_whitespace().all(|word| seen.contains(word))
            });
        }
    }
    // A tempo by its number; what cannot be one is told, and can be mended or left.
    terminal.press("3");
    terminal.press("Enter");
    terminal.until("the refusal", || terminal.seen().contains("3 is no tempo: 0.40 to 2.50 s"));
    terminal.press("BSpace");
    terminal.until("nothing typed", || !terminal.seen().contains("0.40 to 2.50"));
    terminal.tmux(&["send-keys", "-l", "1.08"]);
    terminal.until("the tempo as it is typed", || terminal.seen().contains("Tempo 1.08_ s a stroke? Enter takes it"));
    terminal.press("Enter");
    lines += 1;
    terminal.until("the tempo", || terminal.log().lines().last().is_some_and(|line| line.contains("TempoTo")));
    // The keys of the levels are theirs again, and a touch is not lost to a number.
    terminal.press("1");
    terminal.press("a");
    lines += 1;
    terminal.until("a key in spite of it", || terminal.log().ends_with("Do(Course(Again))\n"));
    assert_eq!(terminal.log().lines().count(), lines);
    // `space` paused and `m` muted; both show, and mean the other now.
    assert!(terminal.seen().contains("space go on") && terminal.seen().contains("beats off"), "{}", terminal.seen());
    terminal.press("Space");
    terminal.until("going on", || {
        terminal.log().ends_with("Do(Desk(Resume))\n") && terminal.seen().contains("space pause")
    });
    terminal.press("?");
    terminal.until("all keys", || terminal.seen().contains("say the phrase again"));
    terminal.press("a");
    terminal.until("a key while they are shown", || terminal.log().ends_with("Do(Course(Again))\n"));
    terminal.press("?");
    terminal.until("the screen again", || !terminal.seen().contains("say the phrase again"));
    terminal.press("q");
    terminal.until("the question", || terminal.seen().contains("Stop here?"));
    terminal.press("t");
    terminal.until("the other question", || terminal.seen().contains("t again takes it"));
    terminal.press("t");
    terminal.until("a touch in spite of it", || terminal.log().ends_with("Do(Course(Touch))\n"));
    assert!(!terminal.log().contains("ended"));
    terminal.press("q");
    terminal.press("y");
    terminal.until("the end", || terminal.log().contains("Stop\n") && terminal.log().contains("ended: Stopped"));
    terminal.is_given_back();
}

#[test]
fn it_follows_the_size() {
    let Some(terminal) = Terminal::start("size", "") else { return };
    for (width, height) in [("200", "60"), ("40", "10"), ("12", "3"), ("80", "24")] {
        terminal.tmux(&["resize-window", "-x", width, "-y", height]);
        terminal.until(&format!("a screen of {width} x {height}"), || {
            let seen = terminal.seen();
            let widest = seen.lines().map(|line| line.chars().count()).max().unwrap_or_default();
            let wide = width.parse::<usize>().unwrap();
            // The clock at the end of the first row tells how wide it is drawn.
            widest <= wide && seen.lines().next().is_some_and(|first| first.chars().count() + 2 >= wide)
        });
    }
    terminal.press("C-c");
    terminal.until("the question", || terminal.seen().contains("Stop here?"));
    terminal.press("C-c");
    terminal.until("the end", || terminal.log().contains("ended: Interrupted"));
    terminal.is_given_back();
}

#[test]
fn without_colour_none_is_sent() {
    for (environment, expected) in [("", true), ("NO_COLOR=1", false)] {
        let name = if expected { "color" } else { "plain" };
        let Some(terminal) = Terminal::start(name, environment) else { return };
        let seen = terminal.tmux(&["capture-pane", "-p", "-e"]);
        // 30 to 37 and 38 choose a colour, 39 gives the terminal's own back; 4x likewise behind letters.
        let codes =
            seen.split('\u{1b}').filter_map(|part| part.strip_prefix('[')?.split_once('m')).map(|(code, _)| code);
        let chooses = |code: &str| matches!(code.as_bytes(), [b'3' | b'4', b'0'..=b'8', ..]);
        let colored = codes.flat_map(|code| code.split(';').take(1)).any(chooses);
        assert_eq!(colored, expected, "{environment}\n{seen}");
        assert!(seen.contains('\u{1b}'), "weight is not colour:\n{seen}");
    }
}

#[test]
fn beyond_ascii_nothing_is_sent_where_it_cannot_be_read() {
    let Some(terminal) = Terminal::start("ascii", "LC_ALL=C") else { return };
    assert!(terminal.seen().is_ascii(), "{}", terminal.seen());
}

#[test]
fn a_signal_and_a_panic_give_the_terminal_back() {
    let Some(terminal) = Terminal::start("signal", "") else { return };
    let pane = terminal.tmux(&["display-message", "-p", "#{pane_pid}"]);
    let children = Command::new("pgrep").args(["-P", pane.trim()]).output().unwrap();
    let child = String::from_utf8_lossy(&children.stdout).trim().to_owned();
    assert!(Command::new("kill").args(["-TERM", &child]).status().unwrap().success());
    terminal.until("the end", || terminal.log().contains("ended: Interrupted"));
    terminal.is_given_back();

    let Some(terminal) = Terminal::start("panic", &format!("{FAULT}=1")) else { return };
    terminal.is_given_back();
    assert!(terminal.seen().contains("AFTER"));
    let seen = terminal.tmux(&["capture-pane", "-p", "-S", "-200"]);
    assert!(seen.contains("a fault on purpose"), "the panic cannot be read:\n{seen}");
}

#[test]
fn a_terminal_that_goes_away_ends_it() {
    let Some(terminal) = Terminal::start("gone", "") else { return };
    let log = terminal.log.clone();
    terminal.tmux(&["kill-server"]);
    let start = Instant::now();
    while !fs::read_to_string(&log).unwrap_or_default().contains("ended:") {
        assert!(start.elapsed() < PATIENCE, "it runs on without a terminal");
        sleep(POLL);
    }
}
