//! A lane through a device, its swimmers' touches keyed as they come: early, twice, taken back, late.

use crate::player::Player;
use crate::read;
use crate::server::Server;
use lengthwise::session::record::RecordEvent;
use std::collections::BTreeMap;
use std::thread::sleep;
use std::time::{Duration, Instant};

const NAMES: [&str; 6] = ["Bo", "Ida", "Cy", "Eve", "Mats", "Ulla"];
const PATIENCE: Duration = Duration::from_secs(90);

/// How many repeats. The gate leaves it at 1; ten are sixty touches.
fn repeats() -> usize {
    let asked = std::env::var("LENGTHWISE_LANE").ok();
    asked.map_or(1, |repeats| {
        repeats.parse().unwrap_or_else(|_| panic!("LENGTHWISE_LANE is `{repeats}`, which is no number of repeats"))
    })
}

fn script(repeats: usize) -> String {
    let swimmers: Vec<String> = NAMES.iter().map(|name| format!("{{ name: {name}, hundred: 1:05 }}")).collect();
    format!(
        "lengthwise: 1\ntitle: Lane\npool: 25 m\npack: first-lengths\n\
         lane: {{ gap: 3 s, order: as listed, swimmers: [{}] }}\nsettings: {{ opening: short }}\npractice:\n  \
         - {{ set: Lengths, swim: {repeats} x 25 m on 0:50, end: far }}\n",
        swimmers.join(", ")
    )
}

/// What is keyed, and when; for whose swim, and whether it is the touch that counts.
struct Key {
    at: Instant,
    line: String,
    swum: (usize, usize),
    counts: bool,
}

#[test]
fn every_touch_of_a_lane_is_in_the_record() {
    let Some(server) = Server::start(44_100) else { return };
    let repeats = repeats();
    let program = server.command(env!("CARGO_BIN_EXE_lengthwise"));
    let mut player = Player::play(program, server.path(""), &script(repeats), "lane.jsonl", &["--buffer", "4096"]);
    player.wait_for("playing through", PATIENCE);
    // The talk is left out.
    sleep(Duration::from_millis(500));
    player.ask("go");
    let (mut keys, mut told): (Vec<Key>, usize) = (Vec::new(), 0);
    let mut gos: BTreeMap<(usize, usize), Instant> = BTreeMap::new();
    let mut splits: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    let began = Instant::now();
    let most = PATIENCE + Duration::from_secs(50 * repeats as u64);
    while splits.len() < NAMES.len() * repeats {
        assert!(began.elapsed() < most, "{} of the touches; heard: {:#?}", splits.len(), player.heard);
        player.listen();
        let now = Instant::now();
        for line in player.heard.iter().skip(std::mem::replace(&mut told, player.heard.len())) {
            // The answer to the line `go` begins like one.
            let whose = |what: &str| NAMES.iter().position(|name| what.starts_with(name));
            let Some((who, what)) = line.split_once(" go: ").and_then(|(_, what)| Some((whose(what)?, what))) else {
                continue;
            };
            let repeat = what.split(' ').rev().nth(2).unwrap().parse::<usize>().unwrap() - 1;
            // Whoever was late leaves once more, last: what was to be keyed from the go that they missed is void.
            if gos.insert((who, repeat), now).is_some() {
                keys.retain(|key| key.swum != (who, repeat));
            }
            let touch = format!("touch {}", who + 1);
            let mut key = |after: f64, line: &str, counts| {
                let at = now + Duration::from_secs_f64(after);
                keys.push(Key { at, line: line.to_owned(), swum: (who, repeat), counts });
            };
            let swum = 15.0 + who as f64 * 0.2;
            // One keyed too early, one twice, one taken back, one far behind the next go of theirs.
            match (who + repeat) % 6 {
                0 => key(3.0, &touch, false),
                1 => key(swum + 0.8, &touch, false),
                2 => {
                    key(swum - 1.5, &touch, false);
                    key(swum - 1.2, "undo", false);
                }
                _ => {}
            }
            let late = repeats > repeat + 1 && (who, repeat % 4) == (5, 3);
            key(if late { 52.0 } else { swum }, &touch, true);
        }
        keys.sort_by_key(|key| key.at);
        while keys.first().is_some_and(|key| key.at <= Instant::now()) {
            let key = keys.remove(0);
            player.ask(&key.line);
            if key.counts {
                splits.insert(key.swum, gos[&key.swum].elapsed().as_secs_f64());
            }
        }
        sleep(Duration::from_millis(2));
    }
    sleep(Duration::from_secs(1));
    player.ask("stop");
    assert!(player.end(PATIENCE).success());
    let (mut recorded, mut away) = (Vec::new(), 0);
    for line in read(&player.record) {
        match line.event {
            RecordEvent::Touch { which, split, .. } => {
                recorded.push(((which.swimmer.unwrap() as usize - 1, which.repeat - 1), split.as_f64()));
            }
            RecordEvent::Undone { command } => {
                let (who, _) = recorded.pop().unwrap().0;
                assert_eq!(command, format!("touch {}", who + 1));
            }
            RecordEvent::Go { .. } => away += 1,
            RecordEvent::Unheard { which } => panic!("a go that nobody heard: {which:?}"),
            _ => {}
        }
    }
    // Whoever was late has left twice by the record: on the go that they missed, and last.
    let late = (1..repeats).filter(|repeat| repeat % 4 == 0).count();
    assert_eq!(away, NAMES.len() * repeats + late);
    recorded.sort_by_key(|(swum, _)| *swum);
    assert_eq!(recorded.iter().map(|(swum, _)| *swum).collect::<Vec<_>>(), splits.keys().copied().collect::<Vec<_>>());
    let off = recorded.iter().map(|(swum, split)| (split - splits[swum]).abs());
    let worst = off.fold(0.0, f64::max);
    println!("{} touches of a lane: at most {:.0} ms from the key's own time", recorded.len(), 1e3 * worst);
    // What the line of a go and that of a touch take to come and go, on a machine that runs thirty sound servers.
    assert!(worst < 0.4, "{worst}");
}
