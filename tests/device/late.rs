//! The clock of the pool against what goes wrong on deck: every go that is heard is held against the first one, by the sound
//! itself and by the moments at which it came out of the server.

use crate::listener::Listener;
use crate::player::Player;
use crate::read;
use crate::server::{Server, signal};
use lengthwise::session::record::RecordEvent;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{sleep, spawn};
use std::time::{Duration, Instant};

/// Between two gos.
const INTERVAL: f64 = 30.0;
/// What the promise is.
pub const LATE: f64 = 0.1;

/// What happens on deck.
#[derive(Clone, Copy, Debug)]
enum Fault {
    /// The program stands still for so many seconds.
    Stop(f64),
    /// Every core is busy for so many seconds.
    Busy(f64),
    /// The server dies and is there again at once.
    Kill,
    /// The output goes and another comes.
    Replace,
}

/// After which go, how many seconds later, what.
const FAULTS: [(u32, f64, Fault); 11] = [
    (1, 4.0, Fault::Stop(0.7)),
    (1, 19.0, Fault::Stop(0.7)),
    (2, 5.0, Fault::Stop(0.7)),
    (3, 6.0, Fault::Stop(0.7)),
    (3, 18.0, Fault::Stop(0.7)),
    // In the countdown to the fifth.
    (4, 25.4, Fault::Stop(0.7)),
    (5, 3.0, Fault::Busy(20.0)),
    (7, 4.0, Fault::Stop(20.0)),
    (9, 5.0, Fault::Kill),
    (12, 17.0, Fault::Kill),
    (15, 5.0, Fault::Replace),
];

fn busy(seconds: f64) {
    let over = Arc::new(AtomicBool::new(false));
    let cores = std::thread::available_parallelism().map_or(2, usize::from);
    let spin = |over: Arc<AtomicBool>| spawn(move || while !over.load(Ordering::Relaxed) {});
    let threads: Vec<_> = (0..2 * cores).map(|_| spin(Arc::clone(&over))).collect();
    sleep(Duration::from_secs_f64(seconds));
    over.store(true, Ordering::Relaxed);
    threads.into_iter().for_each(|thread| thread.join().unwrap());
}

/// How many gos are waited for, 30 s each: with 20 all faults come, which takes ten minutes. The gate leaves it at 5.
fn asked() -> u32 {
    let asked = std::env::var("LENGTHWISE_GOS").ok();
    asked
        .map_or(5, |gos| gos.parse().unwrap_or_else(|_| panic!("LENGTHWISE_GOS is `{gos}`, which is no number of gos")))
}

#[test]
fn no_go_is_late_whatever_happens() {
    let Some(mut server) = Server::start(44_100) else { return };
    let gos = asked();
    let profile = server.path("quick.yaml");
    let text = "lengthwise-profile: 1\nname: Quick\npool: 25 m\nstroke: [{ tempo: 1.20 s, count: 10 }]\nwall: 3 s\n";
    std::fs::write(&profile, text).unwrap();
    let script = format!(
        "lengthwise: 1\ntitle: On time\npool: 25 m\npack: first-lengths\npractice:\n  \
         - {{ set: On time, swim: {} x 25 m on 0:30, tempo: 1.20 s, focus: head-still }}\n",
        gos + 1
    );
    let mut listeners = vec![Listener::start(&mut server, "out")];
    let began = Instant::now();
    let command = server.command(env!("CARGO_BIN_EXE_lengthwise"));
    let more = ["--swimmer", profile.to_str().unwrap()];
    let mut player = Player::play(command, server.path(""), &script, "late.jsonl", &more);
    player.wait_for("go: On time, 1 of", 120 * Duration::from_secs(1));
    let first = Instant::now();
    let until = |seconds: f64| {
        let at = first + Duration::from_secs_f64(seconds);
        sleep(at.saturating_duration_since(Instant::now()));
    };
    for (go, later, fault) in FAULTS.into_iter().filter(|(go, ..)| *go < gos) {
        until(f64::from(go - 1) * INTERVAL + later);
        match fault {
            Fault::Stop(seconds) => {
                signal(player.child(), "STOP");
                sleep(Duration::from_secs_f64(seconds));
                signal(player.child(), "CONT");
            }
            Fault::Busy(seconds) => busy(seconds),
            Fault::Kill => {
                server.down();
                server.up();
                server.tick("out");
                listeners.push(Listener::start(&mut server, "out"));
            }
            Fault::Replace => {
                server.load_sink("other", 44_100);
                assert!(server.pactl(&["set-default-sink", "other"]).0);
                server.tick("other");
                listeners.push(Listener::start(&mut server, "other"));
                server.unload_sink("out");
            }
        }
    }
    until(f64::from(gos - 1) * INTERVAL + 3.0);
    player.ask("stop");
    assert!(player.end(Duration::from_secs(5)).success());
    let mut heard: Vec<f64> = listeners.iter().flat_map(|listener| listener.gos(began)).collect();
    heard.sort_by(f64::total_cmp);
    heard.dedup_by(|later, earlier| *later - *earlier < 1.0);
    let lines = read(&player.record);
    player.heard.iter().filter(|line| !line.contains("go: ")).for_each(|line| println!("{line}"));
    let (mut worst, mut unheard) = (0.0_f64, Vec::<u32>::new());
    println!("go  due      heard    late");
    for go in 0..gos {
        let due = heard[0] + f64::from(go) * INTERVAL;
        match heard.iter().find(|heard| (**heard - due).abs() < INTERVAL / 2.0) {
            Some(heard) => {
                worst = worst.max((heard - due).abs());
                println!("{:>2}  {due:7.3}  {heard:7.3}  {:+.3}", go + 1, heard - due);
            }
            None => {
                println!("{:>2}  {due:7.3}  not heard", go + 1);
                unheard.push(go + 1);
            }
        }
    }
    assert!(worst <= LATE, "a go {worst:.3} s from where it was due");
    assert!(unheard.is_empty(), "gos that nobody heard: {unheard:?}");
    // Each is told: as time that was lost, or as sound that was away, where the program took the server for gone.
    let told = player.heard.iter().filter(|line| line.ends_with(" behind") || line.contains("no sound")).count();
    let faults = FAULTS.iter().filter(|(go, _, fault)| *go < gos && !matches!(fault, Fault::Busy(_))).count();
    assert!(told >= faults, "{faults} faults, {told} told: {:#?}", player.heard);
    let made_good = player.heard.iter().filter(|line| line.ends_with(" made good")).count();
    let behind = lines.iter().filter(|line| matches!(line.event, RecordEvent::Behind { .. })).count();
    assert!(behind == 0 || made_good > 0, "{behind} times behind, never made good");
}
