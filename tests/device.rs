//! Playing through devices, with all that goes wrong with them: against a real sound server that is private to each test,
//! and against the system's own exact file device. Without those programs the tests say aloud that they skip; in CI they
//! fail.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, reason = "tests, also in their helpers")]
#![allow(clippy::print_stderr, clippy::print_stdout, reason = "they say aloud what they skip and what they measured")]
#![cfg(target_os = "linux")]

#[path = "device/booth.rs"]
mod booth;
#[path = "device/lane.rs"]
mod lane;
#[path = "device/late.rs"]
mod late;
#[path = "device/listener.rs"]
mod listener;
#[path = "device/player.rs"]
mod player;
#[path = "device/program.rs"]
mod program;
#[path = "device/say.rs"]
mod say;
#[path = "device/server.rs"]
mod server;
#[path = "device/soak.rs"]
mod soak;
#[path = "device/speed.rs"]
mod speed;
#[path = "device/terminal.rs"]
mod terminal;

use lengthwise::mixer::sample::to_i16;
use lengthwise::session::record::{self, RecordEvent, RecordLine};
use lengthwise::units::time::Seconds;
use player::{Player, raw, rendered};
use server::{Server, signal};
use std::process::Command;
use std::thread::sleep;
use std::time::{Duration, Instant};

const SECOND: Duration = Duration::from_secs(1);

fn read(path: &std::path::Path) -> Vec<RecordLine> {
    record::read(&std::fs::read_to_string(path).unwrap()).unwrap().1
}

/// Seconds that must be alike: the whole talk, a go and the beats behind it.
const MINUTE: f64 = 62.0;

/// When something sounds, and what it is, of a line of `check --timeline`.
fn cue(line: &str) -> (f64, &str) {
    let mut columns = line.split('\t');
    (columns.next().unwrap().parse().unwrap(), columns.nth(1).unwrap())
}

#[test]
fn a_minute_of_the_output_is_the_file_to_the_frame() {
    let Some(mut server) = Server::start(44_100) else { return };
    let (file, timeline) = rendered(&server.path(""), 44_100);
    let out = server.path("out.raw");
    server.record(&out, 44_100);
    // Where frames fall does not depend on the buffer: a large one lets other tests keep the machine busy.
    let program = server.command(env!("CARGO_BIN_EXE_lengthwise"));
    let mut player = Player::run(program, server.path(""), "record.jsonl", &["--buffer", "16384"]);
    player.wait_for("go: Easy start, 1 of 2", 60 * SECOND);
    // From the first cue on, in seconds.
    let cues: Vec<(f64, &str)> = timeline.lines().map(cue).collect();
    let after = |kind: &str| cues.iter().find(|cue| cue.1 == kind).unwrap().0 - cues[0].0;
    // A minute from the first sound on, and three seconds for what is still on its way.
    sleep(Duration::from_secs_f64(MINUTE + 3.0 - after("go")));
    player.ask("stop");
    assert!(player.end(5 * SECOND).success());
    let out = raw(&out);
    let sounds = |frames: &[[i16; 2]]| frames.iter().position(|frame| *frame != [0, 0]).unwrap();
    let (out, file) = (&out[sounds(&out)..], &file[sounds(&file)..]);
    let minute = (MINUTE * 44_100.0) as usize;
    let differs = out.iter().zip(file).position(|(out, file)| out != file).unwrap_or(out.len().min(file.len()));
    assert!(differs >= minute, "the first frame that differs is {differs}, at {:.3} s", differs as f64 / 44_100.0);
    // The first pip of the countdown comes after silence: there its onset can be seen, and held against the timeline.
    let onset = (after("pip") * 44_100.0).round() as usize;
    let silent = out[onset - 4_410..].iter().position(|frame| *frame != [0, 0]).unwrap();
    // A clip may open with a sample that rounds to 0.
    assert!((4_410..4_412).contains(&silent), "{silent}");
    let gos = read(&player.record).into_iter().filter(|line| matches!(line.event, RecordEvent::Go { .. })).count();
    assert_eq!(gos, 1);
}

/// The system's own library writes what the callback gave, faster than real time: exact, and without any server.
#[test]
fn the_exact_file_device_gets_what_the_file_has() {
    let Some(server) = Server::start(44_100) else { return };
    let folder = server.path("");
    let system = "/usr/share/alsa/alsa.conf";
    assert!(std::path::Path::new(system).exists(), "{system} is missing: apt install libasound2-data");
    let raw = folder.join("device.raw");
    let config = format!(
        "pcm.!default {{ type file slave.pcm \"n\" file \"{}\" format \"raw\" }}\npcm.n {{ type null }}\n",
        raw.display()
    );
    std::fs::write(folder.join("asound.conf"), config).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_lengthwise"));
    command.env("ALSA_CONFIG_PATH", format!("{system}:{}", folder.join("asound.conf").display()));
    command.env("PULSE_SERVER", "unix:/nowhere").env("XDG_RUNTIME_DIR", "/nowhere").env("HOME", &folder);
    let mut player = Player::run(command, folder.clone(), "record.jsonl", &[]);
    let status = player.end(60 * SECOND);
    assert!(status.success(), "{status} {:#?}", player.heard);
    let text = std::fs::read_to_string(&player.record).unwrap();
    let (head, lines) = record::read(&text).unwrap();
    assert!(matches!(&lines.last().unwrap().event, RecordEvent::End { reason } if reason == "the end"), "{lines:?}");
    let (file, _) = rendered(&folder, head.rate);
    let bytes = std::fs::read(&raw).unwrap();
    // Which format the device took is its own choice; 32-bit floats become 16 bits as the file renderer makes them.
    let floats: Vec<i16> =
        bytes.chunks_exact(4).map(|b| to_i16(f32::from_le_bytes([b[0], b[1], b[2], b[3]]))).collect();
    let shorts: Vec<i16> = bytes.chunks_exact(2).map(|b| i16::from_le_bytes([b[0], b[1]])).collect();
    let want: Vec<i16> = file.iter().flatten().copied().collect();
    let equal = |got: &[i16]| got.len() >= want.len() && got[..want.len()] == want[..];
    assert!(equal(&shorts) || equal(&floats), "{} bytes, {} frames wanted", bytes.len(), file.len());
}

/// A byte that is no text must not end the steering in silence.
#[test]
fn a_line_that_is_not_text_is_told_and_the_next_obeyed() {
    let Some(server) = Server::start(44_100) else { return };
    let told = server.path("told.txt");
    let mut shell = server.command("sh");
    shell.env("TOLD", &told).args(["-c", "exec \"$@\" 2> \"$TOLD\"", "sh", env!("CARGO_BIN_EXE_lengthwise")]);
    let mut player = Player::run(shell, server.path(""), "record.jsonl", &[]);
    player.ask("resume");
    player.wait_for("nothing is paused", 60 * SECOND);
    player.send(b"mute \xff\xfe\nbeats down 2\n");
    player.wait_for("beats down 2: taken", 10 * SECOND);
    player.ask("stop");
    assert!(player.end(10 * SECOND).success());
    let told = std::fs::read_to_string(&told).unwrap();
    assert_eq!(told.matches("a line that is not UTF-8 text is left out\n").count(), 1, "{told}");
    assert!(!player.heard.iter().any(|line| line.contains("mute")), "{:?}", player.heard);
}

/// What each fault has in common: sound again within `patience` of the cure, the practice's clock never stops, the record
/// knows of the gap, and no cue comes late.
fn survives(server: &mut Server, patience: Duration, fault: impl FnOnce(&mut Server), cure: impl FnOnce(&mut Server)) {
    let mut player = Player::start(server, "record.jsonl");
    // On a busy machine it takes its time to begin.
    player.ask("resume");
    player.wait_for("nothing is paused", 20 * SECOND);
    sleep(2 * SECOND);
    let begun = Instant::now();
    player.ask("mute");
    player.wait_for("mute: taken", 5 * SECOND);
    fault(server);
    let noticed = player.wait_for("no sound", 10 * SECOND);
    // Commands are taken all the same.
    player.ask("unmute");
    player.wait_for("unmute: taken", 5 * SECOND);
    sleep(SECOND);
    cure(server);
    let back = player.wait_for("sound again", patience);
    println!("noticed after {noticed:?}, sound again {back:?} after it could be");
    sleep(2 * SECOND);
    let clock = begun.elapsed().as_secs_f64();
    player.ask("mute");
    player.wait_for("mute: taken", 5 * SECOND);
    player.ask("stop");
    let asked = Instant::now();
    assert!(player.end(5 * SECOND).success());
    assert!(asked.elapsed() < 2 * SECOND, "the exit took {:?}", asked.elapsed());
    let lines = read(&player.record);
    assert!(lines.iter().any(|line| matches!(line.event, RecordEvent::Gap { .. })), "{lines:?}");
    assert!(lines.iter().any(|line| matches!(line.event, RecordEvent::Device { .. })), "{lines:?}");
    assert!(lines.windows(2).all(|pair| pair[0].time <= pair[1].time + Seconds::from_millis(200)), "{lines:?}");
    assert!(matches!(lines.last().unwrap().event, RecordEvent::End { .. }), "{lines:?}");
    // From the first key to the last the practice went on as the clock did, but for a block or two at each change.
    let pressed = |line: &&RecordLine| matches!(&line.event, RecordEvent::Command { command, .. } if command == "mute");
    let keys: Vec<Seconds> = lines.iter().filter(pressed).map(|line| line.time).collect();
    let practice = (keys[1] - keys[0]).as_f64();
    println!("practice {practice:.3} s, clock {clock:.3} s");
    assert!((practice - clock).abs() < 0.3, "practice {practice:.3} s, clock {clock:.3} s");
}

#[test]
fn the_only_output_goes_and_comes_back() {
    let Some(mut server) = Server::start(44_100) else { return };
    survives(
        &mut server,
        5 * SECOND,
        |server| server.unload_sink("out"),
        |server| {
            server.load_sink("out", 44_100);
            server.tick("out");
        },
    );
}

#[test]
fn the_server_is_killed_and_started_again() {
    let Some(mut server) = Server::start(44_100) else { return };
    survives(&mut server, 8 * SECOND, Server::down, |server| {
        server.up();
        server.tick("out");
    });
}

#[test]
fn the_server_stops_without_a_word() {
    let Some(mut server) = Server::start(44_100) else { return };
    survives(&mut server, 8 * SECOND, |server| server.signal("STOP"), |server| server.signal("CONT"));
}

#[test]
fn another_output_has_another_rate() {
    let Some(mut server) = Server::start(44_100) else { return };
    survives(&mut server, 8 * SECOND, Server::down, |server| {
        server.write_config(48_000);
        server.up();
        server.tick("out");
    });
    let lines = read(&server.path("record.jsonl"));
    assert!(lines.iter().any(|line| matches!(line.event, RecordEvent::Device { rate: 48_000, .. })), "{lines:?}");
}

#[test]
fn a_killed_session_loses_nothing_that_was_said() {
    let Some(server) = Server::start(44_100) else { return };
    let mut said = 0;
    for round in 0..20_u64 {
        let mut player = Player::start(&server, &format!("record-{round}.jsonl"));
        // Moments that have no pattern: the fraction of multiples of the golden ratio.
        let moment = Duration::from_millis(300 + round * 618_034 % 1_000);
        let until = Instant::now() + moment;
        let mut muted = false;
        while Instant::now() < until {
            muted = !muted;
            player.ask(if muted { "mute" } else { "unmute" });
            sleep(Duration::from_millis(7));
        }
        player.child().kill().unwrap();
        player.end(5 * SECOND);
        if !player.record.exists() {
            assert!(player.heard.is_empty(), "{:?}", player.heard);
            continue;
        }
        let lines = read(&player.record);
        for line in &player.heard {
            let frame = line.split("taken at frame ").nth(1).and_then(|rest| rest.split(',').next());
            let Some(frame) = frame.and_then(|frame| frame.parse::<u64>().ok()) else { continue };
            let kept =
                lines.iter().any(|line| matches!(line.event, RecordEvent::Taken { effect, .. } if effect == frame));
            assert!(kept, "round {round}: `{line}` is not in the record");
            said += 1;
        }
    }
    println!("{said} acknowledgements, all of them in the record");
    assert!(said > 200, "{said}");
}

#[test]
fn signals_end_it_cleanly() {
    let Some(server) = Server::start(44_100) else { return };
    for name in ["TERM", "INT", "HUP"] {
        let mut player = Player::start(&server, &format!("{name}.jsonl"));
        sleep(Duration::from_millis(1500));
        player.ask("mute");
        player.wait_for("mute: taken", 5 * SECOND);
        signal(player.child(), name);
        let asked = Instant::now();
        assert_eq!(player.end(5 * SECOND).code(), Some(130), "{name}");
        assert!(asked.elapsed() < 2 * SECOND, "{name} took {:?}", asked.elapsed());
        let lines = read(&player.record);
        assert!(
            matches!(&lines.last().unwrap().event, RecordEvent::End { reason } if reason.contains("signal")),
            "{lines:?}"
        );
        player.listen();
    }
}

#[test]
fn a_touch_too_soon_is_asked_about_by_lines_too() {
    let Some(server) = Server::start(44_100) else { return };
    let mut player = Player::start(&server, "record.jsonl");
    player.ask("resume");
    player.wait_for("nothing is paused", 20 * SECOND);
    // No talk: the first go comes at once.
    player.ask("go");
    player.wait_for("go: Easy start, 1 of 2", 30 * SECOND);
    sleep(2 * SECOND);
    player.ask("touch");
    player.wait_for("`touch` again takes it", 5 * SECOND);
    player.ask("undo");
    player.wait_for("no touch was taken", 5 * SECOND);
    player.ask("touch");
    player.wait_for("`touch` again takes it", 5 * SECOND);
    player.ask("touch");
    player.wait_for("touch: taken", 5 * SECOND);
    player.ask("stop");
    assert!(player.end(5 * SECOND).success());
    let touches: Vec<_> =
        read(&player.record).into_iter().filter(|line| matches!(line.event, RecordEvent::Touch { .. })).collect();
    assert_eq!(touches.len(), 1, "{touches:?}");
}

#[test]
fn a_full_disk_is_told_at_once_and_the_sound_goes_on() {
    let Some(server) = Server::start(44_100) else { return };
    let mut player = Player::run(program::with_little_room(&server), server.path(""), "record.jsonl", &[]);
    player.ask("resume");
    player.wait_for("nothing is paused", 20 * SECOND);
    for line in ["mute", "unmute"].iter().cycle().take(20) {
        player.ask(line);
    }
    let told = player.wait_for("the session record is no longer written: ", 5 * SECOND);
    println!("told {told:?} after the commands");
    player.ask("voice up");
    player.wait_for("voice up 2: taken", 5 * SECOND);
    player.ask("stop");
    assert_eq!(player.end(5 * SECOND).code(), Some(3));
    assert!(!read(&player.record).is_empty(), "what was written before can be read");
}

#[test]
fn sound_that_comes_out_elsewhere_is_told_and_recorded() {
    let Some(mut server) = Server::start(44_100) else { return };
    let mut player = Player::start(&server, "record.jsonl");
    player.ask("resume");
    player.wait_for("nothing is paused", 20 * SECOND);
    server.load_sink_called("other", "Poolside", 44_100);
    assert!(server.pactl(&["set-default-sink", "other"]).0);
    server.tick("other");
    // The server moves what plays, without a word and without a gap.
    server.unload_sink("out");
    player.wait_for("now through Poolside, no longer through ", 20 * SECOND);
    player.ask("stop");
    assert!(player.end(5 * SECOND).success());
    let lines = read(&player.record);
    let moved = lines.iter().find_map(|line| match &line.event {
        RecordEvent::Device { name, was: Some(was), .. } => Some((name.clone(), was.clone())),
        _ => None,
    });
    let (name, was) = moved.unwrap_or_else(|| panic!("{lines:?}"));
    assert!(name == "Poolside" && was != name && !was.is_empty(), "{name}, {was}");
}

#[test]
fn a_go_while_there_is_no_sound_is_recorded_as_unheard() {
    let Some(mut server) = Server::start(44_100) else { return };
    let mut player = Player::start(&server, "record.jsonl");
    player.ask("resume");
    player.wait_for("nothing is paused", 20 * SECOND);
    // The first go comes ten seconds later, into the silence.
    player.ask("go");
    player.wait_for("go: taken", 5 * SECOND);
    server.down();
    player.wait_for("no sound", 10 * SECOND);
    player.wait_for("go not heard: Easy start, 1 of 2", 20 * SECOND);
    server.up();
    server.tick("out");
    player.wait_for("sound again", 10 * SECOND);
    player.ask("stop");
    assert!(player.end(5 * SECOND).success());
    let lines = read(&player.record);
    let unheard = |line: &RecordLine| matches!(&line.event, RecordEvent::Unheard { which } if (which.set, which.repeat) == (1, 1));
    assert!(lines.iter().any(unheard), "{lines:?}");
    assert!(!lines.iter().any(|line| matches!(line.event, RecordEvent::Go { .. })), "{lines:?}");
}
