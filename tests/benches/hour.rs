//! The hour, as a whole process: 10 minutes, 60 and 600 of practice rendered by the program itself, in turn with the floor
//! of the same work, and the memory each of them took.
//!
//! The floor adds clips to a block, clamps it and writes it: no script, no packs, no exact time, no ducking, no limiter,
//! no loudness. Memory and processor time are read where the system tells it (`/proc`). Files go to the folder that `LENGTHWISE_BENCH_DIR`
//! names; with a disk under it, it is the disk that is measured. The release binary is what `cargo bench` builds.

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark")]

use lengthwise::diag::Sources;
use lengthwise::pack::{builtin, library::Role, manifest};
use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Ticks of a processor's time in a second, as `/proc` counts on every Linux that is in use (from memory: `USER_HZ`).
const TICKS: f64 = 100.0;
const RATE: usize = 44_100;
const MANIFEST: &str = "\
lengthwise-pack: 1
title: The hour
language: en-GB
speaker: { voice: nobody, made-with: nothing, agreed: nobody speaks }
licence: MIT
uses: [";

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [word, minutes, path] = arguments.as_slice()
        && word == "floor"
    {
        return floor(minutes.parse().unwrap(), Path::new(path));
    }
    let folder = std::env::var_os("LENGTHWISE_BENCH_DIR").map_or_else(std::env::temp_dir, PathBuf::from);
    let folder = tempfile::tempdir_in(folder).unwrap();
    println!("          program            the floor          program to floor    program's");
    println!("minutes   clock    processor clock    processor clock    processor   peak");
    // In turn, so that what else the machine does falls on both alike; the medians count.
    for (minutes, swim, turns) in [(10, "10 min", 7), (60, "60 min", 7), (600, "10 x 60 min", 3)] {
        let script = write_script(folder.path(), swim);
        let wav = folder.path().join("out.wav");
        let program = || {
            let mut command = Command::new(env!("CARGO_BIN_EXE_lengthwise"));
            command.arg("render").arg(&script).arg("-o").arg(&wav);
            run(command, &wav)
        };
        let bare = || {
            let mut command = Command::new(std::env::current_exe().unwrap());
            command.args(["floor", &minutes.to_string()]).arg(&wav);
            run(command, &wav)
        };
        let (whole, least): (Vec<_>, Vec<_>) = (0..turns).map(|_| (program(), bare())).unzip();
        let [a, b] = [&whole, &least].map(|runs| {
            [median(runs.iter().map(|ran| ran.clock)), median(runs.iter().map(|ran| ran.processor.unwrap_or(f64::NAN)))]
        });
        let peak = whole.iter().filter_map(|ran| ran.peak).max();
        let peak = peak.map_or("unknown".to_owned(), |kib| format!("{:.1} MiB", kib as f64 / 1024.0));
        let columns = [a[0], a[1], b[0], b[1], a[0] / b[0], a[1] / b[1]].map(|column| format!("{column:<8.3}"));
        println!("{minutes:<9} {} {peak}", columns.join(" "));
    }
    formats(folder.path());
}

/// The hour in each format, beside a general encoder that is given the finished WAV: what it takes, and what it makes.
fn formats(folder: &Path) {
    println!("\nthe hour as      clock    processor peak, MiB  size, MB");
    let script = write_script(folder, "60 min");
    let wav = folder.join("finished.wav");
    let ours = |made: &Path| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_lengthwise"));
        command.arg("render").arg(&script).arg("-o").arg(made);
        command
    };
    assert!(ours(&wav).stdout(Stdio::null()).stderr(Stdio::null()).status().unwrap().success());
    for ending in ["flac", "mp3"] {
        let made = folder.join("out").with_extension(ending);
        let theirs = || {
            let mut command = Command::new("ffmpeg");
            command.args(["-v", "error", "-y", "-i"]).arg(&wav);
            if ending == "mp3" {
                command.args(["-b:a", "128k"]);
            }
            command.arg(&made);
            command
        };
        let there = theirs().output().is_ok();
        let (mut program, mut general) = (Vec::new(), Vec::new());
        for _ in 0..3 {
            program.push(sized(ours(&made), &made));
            if there {
                general.push(sized(theirs(), &made));
            }
        }
        for (name, runs) in [(format!("{ending}, program"), program), (format!("{ending}, ffmpeg"), general)] {
            if runs.is_empty() {
                println!("{name:<16} not there");
                continue;
            }
            let clock = median(runs.iter().map(|(ran, _)| ran.clock));
            let processor = median(runs.iter().map(|(ran, _)| ran.processor.unwrap_or(f64::NAN)));
            let peak = runs.iter().filter_map(|(ran, _)| ran.peak).max().unwrap_or_default() as f64 / 1024.0;
            let size = runs[0].1 as f64 / 1e6;
            println!("{name:<16} {clock:<8.3} {processor:<9.3} {peak:<10.1} {size:.1}");
        }
    }
}

/// What a process took, and the bytes it made.
fn sized(command: Command, made: &Path) -> (Ran, u64) {
    let mut size = 0;
    let ran = run_then(command, || {
        size = fs::metadata(made).unwrap().len();
        fs::remove_file(made).unwrap();
    });
    (ran, size)
}

fn median(times: impl Iterator<Item = f64>) -> f64 {
    let mut times: Vec<_> = times.collect();
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// What a process took.
struct Ran {
    /// Seconds from its start to its end.
    clock: f64,
    /// Seconds of all its threads, its own and the system's for it.
    processor: Option<f64>,
    /// The most memory it held, in KiB.
    peak: Option<u64>,
}

/// Runs a process to its end, and removes the file it made.
fn run(command: Command, made: &Path) -> Ran {
    run_then(command, || fs::remove_file(made).unwrap())
}

/// Runs a process to its end, and then looks at what it made.
fn run_then(mut command: Command, then: impl FnOnce()) -> Ran {
    let begin = Instant::now();
    let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    let of = PathBuf::from(format!("/proc/{}", child.id()));
    let (mut processor, mut peak) = (None, None);
    let ended = loop {
        // Both only rise: what is read last is what it came to, but for the last millisecond.
        processor = used(&of).or(processor);
        let text = fs::read_to_string(of.join("status")).unwrap_or_default();
        let mark = text.lines().find_map(|line| line.strip_prefix("VmHWM:")?.trim().strip_suffix(" kB")?.parse().ok());
        peak = mark.or(peak);
        if let Some(ended) = child.try_wait().unwrap() {
            break ended;
        }
        std::thread::sleep(Duration::from_millis(1));
    };
    let clock = begin.elapsed().as_secs_f64();
    assert!(ended.success(), "{command:?}: {ended}");
    then();
    Ran { clock, processor, peak }
}

/// Fields 14 and 15 of `stat` (proc(5)), counted from behind the name, which may hold blanks.
fn used(of: &Path) -> Option<f64> {
    let text = fs::read_to_string(of.join("stat")).ok()?;
    let fields: Vec<_> = text.rsplit(')').next()?.split_whitespace().collect();
    let ticks = |at: usize| fields.get(at)?.parse::<f64>().ok();
    Some((ticks(11)? + ticks(12)?) / TICKS)
}

/// A script with a beat every 1.10 s and some 240 phrases an hour from sixty recordings, in a pack of its own.
fn write_script(folder: &Path, swim: &str) -> PathBuf {
    let packs: Vec<_> = builtin::packs().iter().filter(|pack| pack.name != "announcer").collect();
    let mut phrases = Vec::new();
    for pack in &packs {
        let mut sources = Sources::new();
        let source = sources.add(pack.name, pack.manifest());
        let entries = manifest::parse(source, &sources).0.unwrap().entries;
        phrases.extend(entries.into_iter().filter(|entry| entry.role == Role::Phrase).map(|entry| entry.id.value));
    }
    phrases.sort();
    phrases.dedup();
    phrases.truncate(60);
    assert_eq!(phrases.len(), 60);
    let names: Vec<_> = packs.iter().map(|pack| pack.name).collect();
    fs::write(folder.join(manifest::FILE), format!("{MANIFEST}{}]\n", names.join(", "))).unwrap();
    let mut script = String::from("lengthwise: 1\ntitle: The hour\npool: open water\npractice:\n  - set: Steer\n");
    writeln!(script, "    swim: {swim}\n    rest: 30 s\n    tempo: 1.10 s").unwrap();
    writeln!(script, "    focus: {{ phrases: [{}], change: 14 strokes }}", phrases.join(", ")).unwrap();
    let path = folder.join("hour.yaml");
    fs::write(&path, script).unwrap();
    path
}

/// Noise, such as never is silent and never the same.
fn noise(frames: usize, level: f32) -> Vec<f32> {
    let mut state = frames as u32;
    let mut next = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 8) as f32 / 8_388_608.0 - 1.0
    };
    (0..frames).map(|_| next() * level).collect()
}

/// The same number of beats and phrases of the same lengths, added, clamped and written.
fn floor(minutes: usize, path: &Path) {
    const BLOCK: usize = 1 << 15;
    let beat = noise(RATE * 6 / 100, 0.3);
    let phrases: Vec<_> = (0..60).map(|i| noise(RATE * (70 + 2 * i) / 100, 0.5)).collect();
    let frames = minutes * 60 * RATE;
    let mut events: Vec<(usize, &[f32])> =
        (0..frames * 10 / (RATE * 11)).map(|k| (k * RATE * 11 / 10, &*beat)).collect();
    events.extend((0..minutes * 4).map(|k| (k * 15 * RATE + 4 * RATE, &*phrases[k % 60])));
    events.sort_by_key(|(at, _)| *at);
    let mut file = fs::File::create(path).unwrap();
    file.write_all(&[0; 44]).unwrap();
    let (mut mix, mut bytes) = (vec![[0.0_f32; 2]; BLOCK], vec![0_u8; 4 * BLOCK]);
    let (mut sounding, mut events) = (Vec::new(), events.into_iter().peekable());
    for start in (0..frames).step_by(BLOCK) {
        let len = BLOCK.min(frames - start);
        mix.fill([0.0; 2]);
        while let Some(event) = events.next_if(|(at, _)| *at < start + len) {
            sounding.push(event);
        }
        for (at, clip) in &sounding {
            let (ahead, skip) = (at.saturating_sub(start), start.saturating_sub(*at));
            let samples = clip.get(skip..).unwrap_or_default();
            mix[ahead..].iter_mut().zip(samples).for_each(|(mix, s)| *mix = mix.map(|side| side + s));
        }
        sounding.retain(|(at, clip)| at + clip.len() > start + len);
        for (bytes, frame) in bytes.chunks_exact_mut(4).zip(&mix) {
            let [left, right] = frame.map(|side| (side.clamp(-1.0, 1.0) * 32_767.0) as i16 as u16);
            bytes.copy_from_slice(&(u32::from(left) | u32::from(right) << 16).to_le_bytes());
        }
        file.write_all(&bytes[..4 * len]).unwrap();
    }
}
