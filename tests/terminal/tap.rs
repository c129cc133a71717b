//! `tap` in a terminal, driven as somebody on deck would; and how late the times of keys are.

use crate::Terminal;
use serde_json::Value;
use std::io::Write;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Keys through one lasting connection, so that none waits for a program to start.
struct Fingers {
    tmux: Child,
    keys: ChildStdin,
}

impl Fingers {
    fn on(terminal: &Terminal) -> Self {
        let mut tmux = Command::new("tmux")
            .args(["-L", &terminal.server, "-C", "attach-session"])
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let keys = tmux.stdin.take().unwrap();
        Self { tmux, keys }
    }

    /// Presses a key and says when.
    fn press(&mut self, key: &str) -> Instant {
        let line = format!("send-keys {key}\n");
        let at = Instant::now();
        self.keys.write_all(line.as_bytes()).unwrap();
        at
    }
}

impl Drop for Fingers {
    fn drop(&mut self) {
        let _ = self.tmux.kill();
        let _ = self.tmux.wait();
    }
}

fn started(name: &str, args: &str) -> Option<Terminal> {
    let line = format!("{} tap {args}", env!("CARGO_BIN_EXE_lengthwise"));
    Terminal::run(name, &line, "tap at each hand")
}

#[test]
fn somebody_on_deck_taps_along() {
    let Some(terminal) = started("tap", "> LOGFILE") else { return };
    let mut fingers = Fingers::on(&terminal);
    let stroke = Duration::from_millis(700);
    let begun = fingers.press("Enter");
    // Ten strokes; the sixth is not tapped, the third and the ninth have breaths.
    for (number, key) in ["Space", "j", "Left", "Space", "Space", "", "Space", "k", "Right", "Space"].iter().enumerate()
    {
        sleep((stroke * (number as u32 + 2)).saturating_sub(begun.elapsed()));
        if !key.is_empty() {
            fingers.press(key);
        }
    }
    terminal.until("the count as it stands", || terminal.seen().contains("9 tapped, or 10 with one missed tap"));
    terminal.until("the breaths", || terminal.seen().contains("every 6, 1 left, 1 right"));
    fingers.press("Enter");
    terminal.until("the next length", || terminal.seen().contains("length 2"));
    // A key too many, and the end, which is asked for once.
    fingers.press("Space");
    fingers.press("BSpace");
    fingers.press("q");
    terminal.until("the question", || terminal.seen().contains("End here?"));
    fingers.press("q");
    terminal.until("the count asked for", || terminal.seen().contains("Length 1: 9, or 10 with one missed tap?"));
    fingers.press("many Enter");
    terminal.until("what is wrong with it", || terminal.seen().contains("a whole number from 1 to 2000"));
    fingers.press("10 Enter");
    terminal.is_given_back();
    let told = terminal.log();
    assert!(told.starts_with("length 1: 10 strokes, 0.7"), "{told}");
    assert!(told.contains("breaths: every 6, 1 left, 1 right") && !told.contains("length 2"), "{told}");
}

/// The median of values and what 95 of 100 stay under.
fn middle_and_most(mut values: Vec<f64>) -> (f64, f64) {
    values.sort_by(f64::total_cmp);
    (values[values.len() / 2], values[(values.len() * 95 / 100).min(values.len() - 1)])
}

#[test]
fn keys_keep_their_times() {
    let Some(terminal) = started("tap-times", "--json --counts tapped > LOGFILE") else { return };
    let mut fingers = Fingers::on(&terminal);
    // Uneven, so that no clock of the way keeps step with them.
    let gaps = (0..120_u64).map(|number| Duration::from_millis(60 + number * 37 % 83));
    let sent: Vec<Instant> = gaps
        .map(|gap| {
            sleep(gap);
            fingers.press("Space")
        })
        .collect();
    fingers.press("q");
    fingers.press("q");
    terminal.is_given_back();
    let begun = sent[0];
    let told: Value = serde_json::from_str(&terminal.log()).unwrap();
    let heard: Vec<f64> = told["taps"].as_array().unwrap().iter().map(|tap| tap["at_s"].as_f64().unwrap()).collect();
    assert_eq!(heard.len(), sent.len(), "a tap was lost");
    // What all keys are late by moves no interval, so it is left out.
    let late: Vec<f64> = heard.iter().zip(&sent).map(|(at, sent)| at - (*sent - begun).as_secs_f64()).collect();
    let (usual, _) = middle_and_most(late.clone());
    let (median, most) = middle_and_most(late.iter().map(|late| (late - usual).abs()).collect());
    println!("keys through a terminal: half within {:.2} ms, 95 % within {:.2} ms", median * 1e3, most * 1e3);
    // A busy machine is late now and then; a hand scatters by 20 to 40 ms.
    assert!(median < 0.01 && most < 0.04, "half within {median} s, 95 % within {most} s");
}
