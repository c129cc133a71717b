//! The questions of `log` as somebody meets them who sees them for the first time.

use super::Terminal;

/// Seconds for a key, and for reading a question: slow fingers and wet eyes. Our choice.
const KEY: f64 = 0.3;
const QUESTION: f64 = 2.0;

/// What is typed into the shell.
const LINE: &str = "lengthwise log first-lengths/level-body";

/// The program asks in a terminal; its notebook and its home are the terminal's folder.
fn asked(name: &str) -> Option<Terminal> {
    let program = env!("CARGO_BIN_EXE_lengthwise");
    Terminal::shell(name, |log| {
        let home = log.parent().unwrap().display().to_string();
        let line = LINE.replacen("lengthwise", program, 1);
        format!("trap : INT; env -i TERM=$TERM LC_ALL=C.UTF-8 HOME={home} {line}; echo CODE $?; exec cat")
    })
}

impl Terminal {
    /// What is seen and what has gone out of sight above it.
    fn all(&self) -> String {
        self.tmux(&["capture-pane", "-p", "-S", "-200"])
    }

    /// Types an answer behind the question that is to stand, and gives the number of keys.
    fn type_answer(&self, question: &str, answer: &str) -> usize {
        self.until(question, || {
            let seen = self.seen();
            let last = seen.trim_end().rsplit("\n> ").next().map(str::len);
            seen.contains(question) && seen.trim_end().ends_with('>') && last.is_some()
        });
        if !answer.is_empty() {
            self.tmux(&["send-keys", "-l", answer]);
        }
        self.press("Enter");
        answer.chars().count() + 1
    }
}

#[test]
fn a_practice_is_kept_in_under_a_minute() {
    let Some(terminal) = asked("questions") else { return };
    let answers = [
        ("Who swam?", "Ida"),
        ("Did you leave anything out?", "no"),
        ("How many strokes? last length of 4.8", "24"),
        ("What time did you swim for 50 m easy (4.8)?", "1:12"),
        ("Where did the stroke fall apart?", "4.6"),
        ("Feel 1 to 5", "4 5 42"),
        ("Did anything hurt?", "no"),
    ];
    let typed: usize = answers.iter().map(|(question, answer)| terminal.type_answer(question, answer)).sum();
    terminal.until("the end", || terminal.seen().contains("CODE 0"));
    let seen = terminal.seen();
    for part in
        ["practice 1: Level body, Ida", "1 count · 1 time", "feel 4 · effort 5 · load 210", "`lengthwise log undo`"]
    {
        assert!(seen.replace('\n', " ").contains(part), "{part} is missing:\n{seen}");
    }
    let keys = LINE.chars().count() + 1 + typed;
    let seconds = keys as f64 * KEY + answers.len() as f64 * QUESTION;
    assert!(seconds < 60.0, "{keys} keys and {} questions: {seconds:.1} s", answers.len());
    eprintln!("{keys} keys and {} questions: {seconds:.1} s", answers.len());
}

#[test]
fn whoever_stops_has_nothing_kept() {
    for (name, key, code) in [("stop", "C-c", "CODE 130"), ("end", "C-d", "CODE 2")] {
        let Some(terminal) = asked(name) else { return };
        terminal.type_answer("Who swam?", "Ida");
        // A wrong answer is told, and `u` goes back.
        terminal.type_answer("Did you leave anything out?", "9");
        terminal.until("the fault", || terminal.seen().contains("there is no set 9"));
        terminal.type_answer("Did you leave anything out?", "no");
        terminal.type_answer("How many strokes?", "u");
        terminal.until("the question before", || terminal.all().matches("Did you leave anything out?").count() == 3);
        terminal.press(key);
        terminal.until("the end", || terminal.seen().contains(code));
        assert!(terminal.seen().contains("nothing was kept"), "{}", terminal.seen());
        let made: Vec<_> = std::fs::read_dir(terminal.log.parent().unwrap()).unwrap().flatten().collect();
        assert!(made.is_empty(), "{made:?}");
    }
}

#[test]
fn an_edit_shows_what_is_kept_and_gives_way_to_another() {
    let program = env!("CARGO_BIN_EXE_lengthwise");
    let terminal = Terminal::shell("edit", |log| {
        let home = log.parent().unwrap().display().to_string();
        let with = format!("env -i TERM=$TERM LC_ALL=C.UTF-8 HOME={home} {program}");
        let keep = format!("{with} log first-lengths/level-body --swimmer Ida --count 4.8=24 --apart no --feel 4");
        format!("{keep} > /dev/null 2>&1; clear; {with} log edit 1; echo CODE $?; exec cat")
    });
    let Some(terminal) = terminal else { return };
    let home = terminal.log.parent().unwrap().to_owned();
    terminal.type_answer("Did you leave anything out?", "");
    terminal.type_answer("so far: 24; Enter keeps it", "23");
    let quick = std::process::Command::new(program)
        .args(["log", "edit", "1", "--feel", "2"])
        .env_clear()
        .env("HOME", &home)
        .output()
        .unwrap();
    assert!(quick.status.success(), "{quick:?}");
    terminal.type_answer("What time did you swim", "");
    terminal.type_answer("Where did the stroke fall apart?", "");
    terminal.type_answer("so far: feel 4; Enter keeps it", "");
    terminal.type_answer("Did anything hurt?", "");
    terminal.until("the refusal", || terminal.seen().contains("CODE 3"));
    let seen = terminal.all().replace('\n', " ");
    assert!(seen.contains("nothing was changed: the practice was changed from elsewhere meanwhile"), "{seen}");
    let shown = std::process::Command::new(program).args(["log", "show", "1"]).env_clear().env("HOME", &home).output();
    let shown = String::from_utf8(shown.unwrap().stdout).unwrap();
    assert!(shown.contains("24 strokes") && shown.contains("feel 2"), "{shown}");
}
