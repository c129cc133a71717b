//! `play` and `record` in a real terminal: keys are typed, seen to be answered on the screen, and found in what is kept.

use crate::booth;
use crate::read;
use crate::server::Server;
use lengthwise::display::key_tables::KEYS;
use lengthwise::session::input;
use lengthwise::session::record::RecordEvent;
use std::path::Path;
use std::process::Command;
use std::thread::sleep;
use std::time::{Duration, Instant};

/// How long an answer may take before it counts as not coming.
const PATIENCE: Duration = Duration::from_secs(60);

/// A terminal, which ends with the value.
pub struct Terminal<'a> {
    server: &'a Server,
    name: String,
}

impl<'a> Terminal<'a> {
    /// Runs the program in it, and says how it ended. Says aloud where there is no terminal, and fails there in CI.
    pub fn run(server: &'a Server, name: &str, arguments: &str) -> Option<Self> {
        Self::run_after(server, name, "", arguments)
    }

    /// The same after other commands of the shell.
    fn run_after(server: &'a Server, name: &str, before: &str, arguments: &str) -> Option<Self> {
        if Command::new("tmux").arg("-V").output().is_err() {
            assert!(std::env::var_os("CI").is_none(), "CI must have tmux: see .ci/setup");
            eprintln!("SKIPPED: there is no tmux, so no terminal to type into");
            return None;
        }
        let terminal = Terminal { server, name: format!("lengthwise-{name}-{}", std::process::id()) };
        let program = env!("CARGO_BIN_EXE_lengthwise");
        let line = format!("{before}env LC_ALL=C.UTF-8 {program} {arguments}; echo ENDED $?; exec cat");
        terminal.tmux(&["-f", "/dev/null", "new-session", "-d", "-x", "80", "-y", "24", "sh", "-c", &line]);
        Some(terminal)
    }

    pub fn tmux(&self, args: &[&str]) -> String {
        let output = self.server.command("tmux").args(["-L", &self.name]).args(args).output().unwrap();
        String::from_utf8_lossy(&output.stdout).into_owned()
    }

    pub fn seen(&self) -> String {
        self.tmux(&["capture-pane", "-p"])
    }

    pub fn until(&self, what: &str, happens: impl Fn() -> bool) {
        let begun = Instant::now();
        while !happens() {
            assert!(begun.elapsed() < PATIENCE, "{what} did not come:\n{}", self.seen());
            sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Terminal<'_> {
    fn drop(&mut self) {
        self.tmux(&["kill-server"]);
    }
}

/// Every command that was asked for so far, and what the screen must say of it.
pub fn asked(record: &Path) -> Vec<(String, String)> {
    let lines = if record.exists() { read(record) } else { Vec::new() };
    let command = |event| match event {
        // What the session asks for itself no key stands for.
        RecordEvent::Command { command, .. } if input::parse(&command).is_err() => None,
        RecordEvent::Command { command, .. } => Some((command.clone(), format!("{command}, taken"))),
        RecordEvent::Refused { command, why } => Some((command, why)),
        _ => None,
    };
    lines.into_iter().filter_map(|line| command(line.event)).collect()
}

#[test]
fn every_key_is_answered_and_recorded() {
    let Some(server) = Server::start(44_100) else { return };
    let record = server.path("keys.jsonl");
    let arguments = format!("play first-lengths/level-body --record {}", record.display());
    let Some(terminal) = Terminal::run(&server, "keys", &arguments) else { return };
    terminal.until("the practice", || terminal.seen().contains("Level body") && record.exists());
    let mut count = 0;
    // A key that does one of two things is pressed twice; the last one, to stop, is for the end.
    for row in KEYS.iter().filter(|row| !row.line.is_empty() && row.line != "stop") {
        let shown = row.shown.split(", ").next().unwrap();
        for line in row.line.split(" | ") {
            terminal.tmux(&["send-keys", if shown == "space" { "Space" } else { shown }]);
            count += 1;
            terminal.until(line, || asked(&record).len() >= count);
            let found = asked(&record);
            let (command, told) = &found[count - 1];
            assert!(found.len() == count && command.starts_with(line), "{shown}: {found:?}, not `{line}`");
            terminal.until(told, || terminal.seen().contains(told));
        }
    }
    terminal.tmux(&["send-keys", "?"]);
    terminal.until("the keys", || terminal.seen().contains("show all keys, or hide them"));
    terminal.tmux(&["send-keys", "?"]);
    terminal.tmux(&["send-keys", "q"]);
    terminal.until("the question", || terminal.seen().contains("Stop here?"));
    terminal.tmux(&["send-keys", "q"]);
    terminal.until("the end", || terminal.seen().contains("ENDED 0"));
    assert!(matches!(read(&record).last().unwrap().event, RecordEvent::End { .. }));
}

/// Without its server a library looks for a device of its own each second, and has much to say of that.
#[test]
fn nothing_of_a_library_is_seen_when_the_server_dies() {
    let Some(server) = Server::start(44_100) else { return };
    std::fs::write(server.path("asound.conf"), "pcm.!default { type plug slave.pcm \"nowhere\" }\n").unwrap();
    let config = format!("export ALSA_CONFIG_PATH={}; ", server.path("asound.conf").display());
    let played = "play first-lengths/level-body --no-record";
    let Some(terminal) = Terminal::run_after(&server, "quiet", &config, played) else { return };
    terminal.until("the practice", || terminal.seen().contains("Level body"));
    server.signal("KILL");
    terminal.until("the loss", || terminal.seen().contains("NO SOUND"));
    // Long enough for some attempts.
    sleep(Duration::from_secs(5));
    let screen = terminal.seen();
    assert!(screen.contains("Level body") && !screen.contains("ALSA") && !screen.contains("PCM"), "{screen}");
    terminal.tmux(&["send-keys", "q"]);
    terminal.until("the question", || terminal.seen().contains("Stop here?"));
    terminal.tmux(&["send-keys", "q"]);
    terminal.until("the end", || terminal.seen().contains("ENDED 0"));
    let left = terminal.seen();
    assert!(!left.contains("ALSA") && !left.contains("PCM"), "{left}");
}

#[test]
fn a_full_disk_stands_on_the_screen_until_it_is_seen() {
    let Some(server) = Server::start(44_100) else { return };
    let (record, script) = (server.path("full.jsonl"), server.path("try.yaml"));
    std::fs::write(&script, crate::player::SCRIPT).unwrap();
    let arguments = format!("play {} --no-speech --record {}", script.display(), record.display());
    let Some(terminal) = Terminal::run_after(&server, "full", "trap '' XFSZ; ulimit -f 1; ", &arguments) else {
        return;
    };
    terminal.until("the practice", || terminal.seen().contains("Easy start") && record.exists());
    for key in ["m"; 20] {
        terminal.tmux(&["send-keys", key]);
    }
    terminal.until("the fault", || terminal.seen().contains("the session record is no longer written"));
    terminal.tmux(&["send-keys", "+"]);
    terminal.until("another answer", || terminal.seen().contains("voice up 1, taken"));
    assert!(terminal.seen().contains("no longer written"), "it stays:\n{}", terminal.seen());
    terminal.tmux(&["send-keys", "Enter"]);
    terminal.until("the fault seen", || !terminal.seen().contains("no longer written"));
    terminal.tmux(&["send-keys", "q", "q"]);
    terminal.until("the end", || terminal.seen().contains("ENDED 3"));
}

#[test]
fn a_text_is_recorded_by_keys_and_heard_again() {
    let Some(mut server) = booth::server() else { return };
    let pack = booth::pack(&server.path(""));
    let out = server.path("out.raw");
    server.record(&out, booth::RATE);
    let arguments = format!("record {} --only soft-hand", pack.display());
    let said = booth::speech("soft-hand");
    let file = booth::written(&server, &said);
    let kept = pack.join("clips/phrases/soft-hand.wav");
    {
        let Some(terminal) = Terminal::run(&server, "takes", &arguments) else { return };
        let sees = |what: &str| terminal.until(what, || terminal.seen().contains(what));
        let key = |key: &str| {
            terminal.tmux(&["send-keys", key]);
        };
        sees("space begin");
        sees("1 of 2");
        key("Enter");
        sees("space done");
        server.play("mic", &file);
        sees("space keep");
        assert!(terminal.seen().contains("dBFS, background"), "{}", terminal.seen());
        // It is heard by itself, and once more.
        sleep(Duration::from_millis(2_500));
        key("p");
        sleep(Duration::from_millis(2_500));
        key("q");
        sees("Stop here?");
        // A second press is not for the next take, which nobody has heard yet.
        terminal.tmux(&["send-keys", "k", "k"]);
        sees("2 of 2");
        sees("space done");
        server.play("mic", &file);
        sees("space keep");
        assert!(!pack.join("clips/phrases/soft-hand.short.wav").exists(), "{}", terminal.seen());
        key("b");
        sees("1 of 2");
        key("q");
        sees("ENDED 0");
        sees("1 kept, 1 without a recording");
    }
    let heard = crate::player::raw(&out);
    let sound = heard.iter().filter(|frame| frame[0].unsigned_abs() > 60).count() as f64 / f64::from(booth::RATE);
    let loud = said.iter().filter(|x| x.abs() > 0.004).count() as f64 / f64::from(booth::RATE);
    assert!((1.5..4.0).contains(&(sound / loud)), "twice {loud:.2} s of speech was heard as {sound:.2} s");
    assert!(booth::ends(&kept, &said).0.abs() < 0.02);
}
