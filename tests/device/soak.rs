//! A practice played for as long as somebody asks: blocks that came late, time without sound, and how far each go is from
//! where the session's clock has it.

use crate::late::LATE;
use crate::listener::Listener;
use crate::player::Player;
use crate::read;
use crate::server::Server;
use lengthwise::session::record::RecordEvent;
use std::fmt::Write as _;
use std::thread::sleep;
use std::time::{Duration, Instant};

/// How many minutes. The gate leaves it at 2; a soak is 60.
fn asked() -> u32 {
    let asked = std::env::var("LENGTHWISE_SOAK").ok();
    asked.map_or(2, |minutes| {
        minutes.parse().unwrap_or_else(|_| panic!("LENGTHWISE_SOAK is `{minutes}`, which is no number of minutes"))
    })
}

/// A practice of at least so many minutes: beats, phrases that change, drills, talk between the sets.
fn script(minutes: u32) -> String {
    let mut script = "lengthwise: 1\ntitle: Soak\npool: 25 m\npack: first-lengths\npractice:\n".to_owned();
    // Each three take a little over ten minutes.
    for number in 1..=minutes.div_ceil(10) {
        let _ = write!(
            script,
            "  - {{ set: Steady {number}, swim: 4 x 25 m on 0:30, tempo: 1.20 s, focus: head-still }}\n  \
             - {{ set: Long {number}, swim: 4 x 50 m on 1:15, tempo: 1.25 s, breathe: every 3, \
             focus: {{ phrases: [soft-hand, breathe-out], change: length }} }}\n  \
             - {{ set: Quick {number}, swim: 6 x 25 m on 0:35, tempo: {{ from: 1.30 s, to: 1.10 s }}, focus: hips-up }}\n"
        );
    }
    script
}

#[test]
fn every_go_of_a_long_practice_is_on_time() {
    let Some(mut server) = Server::start(44_100) else { return };
    let minutes = asked();
    let profile = server.path("quick.yaml");
    let text = "lengthwise-profile: 1\nname: Quick\npool: 25 m\nstroke: [{ tempo: 1.20 s, count: 10 }]\nwall: 3 s\n";
    std::fs::write(&profile, text).unwrap();
    let swimmer = ["--swimmer", profile.to_str().unwrap()];
    let listener = Listener::start(&mut server, "out");
    let began = Instant::now();
    let command = server.command(env!("CARGO_BIN_EXE_lengthwise"));
    let mut player = Player::play(command, server.path(""), &script(minutes), "soak.jsonl", &swimmer);
    let mut check = server.command(env!("CARGO_BIN_EXE_lengthwise"));
    check.args(["check", "--timeline", "--no-speech"]).args(swimmer).arg(server.path("try.yaml"));
    let timeline = String::from_utf8(check.output().unwrap().stdout).unwrap();
    let cues = timeline.lines().map(|line| line.split('\t').collect::<Vec<_>>());
    let end = f64::from(60 * minutes);
    let due: Vec<f64> =
        cues.filter(|cue| cue[2] == "go").map(|cue| cue[0].parse().unwrap()).filter(|go| *go < end).collect();
    sleep((began + Duration::from_secs(u64::from(60 * minutes) + 3)).saturating_duration_since(Instant::now()));
    player.ask("stop");
    assert!(player.end(Duration::from_secs(5)).success());
    let heard = listener.gos(began);
    let lines = read(&player.record);
    // The session's clock begins where the first go puts it.
    let base = heard[0] - due[0];
    let late: Vec<Option<f64>> =
        due.iter().map(|go| heard.iter().map(|heard| heard - base - go).find(|late| late.abs() < 5.0)).collect();
    let mut found: Vec<f64> = late.iter().flatten().map(|late| late.abs()).collect();
    found.sort_by(f64::total_cmp);
    let blocks: u64 =
        lines.iter().map(|line| if let RecordEvent::Underrun { blocks } = line.event { blocks } else { 0 }).sum();
    let count = |which: fn(&RecordEvent) -> bool| lines.iter().filter(|line| which(&line.event)).count();
    let told = player.heard.iter().filter(|line| !line.contains("go: ") && !line.contains("straight on"));
    told.for_each(|line| println!("{line}"));
    println!(
        "{minutes} min, {} gos, {} of them heard: median {:.1} ms from the session's clock, 9 of 10 within {:.1} ms, at most \
         {:.1} ms; {blocks} blocks late, {} gaps, {} times behind",
        due.len(),
        found.len(),
        1e3 * found[found.len() / 2],
        1e3 * found[found.len() * 9 / 10],
        1e3 * found[found.len() - 1],
        count(|event| matches!(event, RecordEvent::Gap { .. })),
        count(|event| matches!(event, RecordEvent::Behind { .. })),
    );
    let lost: Vec<f64> = due.iter().zip(&late).filter(|(_, late)| late.is_none()).map(|(go, _)| *go).collect();
    assert!(lost.is_empty(), "gos that nobody heard, due at {lost:?}");
    assert!(found[found.len() - 1] <= LATE, "{late:?}");
}
