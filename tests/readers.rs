//! What the program writes, read by programs that know nothing of it: ffmpeg, ffprobe and sox. Where one of them is
//! missing a test says so aloud and passes; where the environment has `CI` it fails instead, so that no gate is without.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stderr,
    reason = "tests, also in their helpers"
)]

use lengthwise::audio::clip;
use serde_json::Value;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

const SCRIPT: &str = "\
lengthwise: 1
title: Read & heard
pool: 25 m
pack: first-lengths
practice:
  - { set: Easy start, swim: 2 x 25 m, rest: 20 s, focus: head-still }
  - { set: \"Länge <two>\", swim: 3 x 25 m on 0:55, tempo: 1.20 s, breathe: every 3 }
";

/// Whether a program is there. Without it a test has nothing to say, which in CI is a failure.
fn has(tool: &str) -> bool {
    let there = Command::new(tool).arg(if tool == "sox" { "--version" } else { "-version" }).output().is_ok();
    if !there {
        assert!(std::env::var_os("CI").is_none(), "{tool} is missing: .ci/setup test installs it");
        eprintln!("SKIPPED: {tool} is missing, so nothing of what it would read was checked");
    }
    there
}

/// What a command writes to its standard output; it must succeed and complain of nothing.
fn output(program: &str, folder: &Path, args: &str) -> Vec<u8> {
    let output = Command::new(program).args(args.split_whitespace()).current_dir(folder).output().unwrap();
    let complaints = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && complaints.is_empty(), "{program} {args}: {complaints}");
    output.stdout
}

/// The results of the program, which may have messages for a person.
fn lengthwise(folder: &Path, args: &str) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lengthwise"));
    let output = command.args(args.split_whitespace()).current_dir(folder).env("HOME", folder).output().unwrap();
    assert!(output.status.success(), "{args}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.yaml"), SCRIPT).unwrap();
    folder
}

/// The names of the formats that this build writes.
fn formats() -> Vec<&'static str> {
    let mut formats = vec!["wav", "flac"];
    if cfg!(feature = "mp3") {
        formats.push("mp3");
    }
    formats
}

#[test]
fn ffmpeg_and_sox_find_the_timelines_frames() {
    let [ffmpeg, sox] = ["ffmpeg", "sox"].map(has);
    let folder = folder();
    let folder = folder.path();
    let plan = json(&lengthwise(folder, "check a.yaml --json"));
    for (rate, mono) in [(44_100, ""), (48_000, ""), (22_050, "--mono"), (11_025, ""), (8_000, "--mono")] {
        let frames = (plan["duration_s"].as_f64().unwrap() * f64::from(rate)).round() as usize;
        let size = if mono.is_empty() { 4 } else { 2 };
        let mut samples = Vec::new();
        for format in formats() {
            let name = format!("a-{rate}.{format}");
            let made = json(&lengthwise(folder, &format!("render a.yaml -o {name} --rate {rate} {mono} --json")));
            assert_eq!(made["frames"].as_u64().unwrap().abs_diff(frames as u64) / 2, 0, "{name}");
            let frames = made["frames"].as_u64().unwrap() as usize;
            if ffmpeg {
                samples.push(output("ffmpeg", folder, &format!("-v error -i {name} -f s16le -")));
                assert_eq!(samples.last().unwrap().len(), frames * size, "ffmpeg reads {name}");
            }
            if sox && format != "mp3" {
                samples.push(output("sox", folder, &format!("{name} -t raw -")));
                assert_eq!(samples.last().unwrap().len(), frames * size, "sox reads {name}");
            }
        }
        // Lossless: what either reads of the WAV and of the FLAC is the same bytes. MP3, the last, is not.
        let lossless = samples.len() - usize::from(ffmpeg && cfg!(feature = "mp3"));
        assert!(samples.iter().take(lossless).all(|other| *other == samples[0]), "{rate} Hz");
    }
}

#[test]
fn mp3_sounds_like_the_wav_at_the_same_place() {
    if !has("ffmpeg") || !cfg!(feature = "mp3") {
        return;
    }
    let folder = folder();
    let folder = folder.path();
    let [wav, mp3] = ["wav", "mp3"].map(|format| {
        lengthwise(folder, &format!("render a.yaml -o a.{format}"));
        let bytes = output("ffmpeg", folder, &format!("-v error -i a.{format} -f s16le -"));
        let samples = bytes.chunks_exact(4).map(|frame| f64::from(i16::from_le_bytes([frame[0], frame[1]])));
        samples.collect::<Vec<_>>()
    });
    let power: f64 = wav.iter().map(|sample| sample * sample).sum();
    let difference = |shift: usize| -> f64 {
        let pairs = wav.iter().zip(mp3.iter().skip(shift));
        pairs.map(|(a, b)| (a - b) * (a - b)).sum::<f64>() / power
    };
    // At least 10 dB below the sound, and one frame aside it fits less well.
    let here = difference(0);
    eprintln!("MP3 differs from the WAV by {:.1} dB", 10.0 * libm::log10(here));
    assert!(here < 0.1 && here < difference(1), "{here}");
    let [early, late] = [&wav[1..], &wav[..]];
    let back: f64 = early.iter().zip(&mp3).map(|(a, b)| (a - b) * (a - b)).sum::<f64>() / power;
    assert!(here < back && late.len() == mp3.len());
}

#[test]
fn ffprobe_reads_chapters_and_tags_as_the_plan_has_them() {
    if !has("ffprobe") {
        return;
    }
    let folder = folder();
    let folder = folder.path();
    let plan = json(&lengthwise(folder, "check a.yaml --json"));
    let mut goes = Vec::new();
    for set in plan["sets"].as_array().unwrap() {
        let repeats = set["repeats"].as_array().unwrap();
        for (repeat, number) in repeats.iter().zip(1..) {
            let title = format!("{} {number}/{}", set["title"].as_str().unwrap(), repeats.len());
            goes.push((repeat["start_s"].as_f64().unwrap(), title));
        }
    }
    assert_eq!(goes.len(), 5);
    for format in formats() {
        lengthwise(folder, &format!("render a.yaml -o a.{format}"));
        let args = format!("-v warning -show_chapters -show_format -of json a.{format}");
        let read = json(&String::from_utf8(output("ffprobe", folder, &args)).unwrap());
        let tags = &read["format"]["tags"];
        let tag =
            |name: &str| [name, &name.to_uppercase()].iter().find_map(|key| tags[*key].as_str().map(str::to_owned));
        assert_eq!(tag("title").as_deref(), Some("Read & heard"), "{format}: {tags}");
        assert_eq!(tag("album").as_deref(), Some("Read & heard"), "{format}: {tags}");
        assert!(tag("encoder").unwrap().starts_with("Lengthwise "), "{format}: {tags}");
        // A WAV's places are markers, which this reader does not show.
        if format == "wav" {
            continue;
        }
        let seconds = |value: &Value| value.as_str().unwrap().parse::<f64>().unwrap();
        let chapters = read["chapters"].as_array().unwrap();
        assert_eq!(chapters.len(), goes.len(), "{format}");
        for (chapter, (start, title)) in chapters.iter().zip(&goes) {
            assert!((seconds(&chapter["start_time"]) - start).abs() <= 0.001, "{format}: {chapter} at {start}");
            assert_eq!(chapter["tags"]["title"].as_str(), Some(title.as_str()), "{format}");
        }
        for (chapter, (next, _)) in chapters.iter().zip(goes.iter().skip(1)) {
            assert!((seconds(&chapter["end_time"]) - next).abs() <= 0.001, "{format}: {chapter} to {next}");
        }
        let duration = plan["duration_s"].as_f64().unwrap();
        let end = seconds(&chapters.last().unwrap()["end_time"]);
        // FLAC's chapters have no end: the reader takes the sound's.
        assert!((end - duration).abs() <= 0.1, "{format}: the last chapter ends at {end}, the sound at {duration}");
    }
}

#[test]
fn ffprobe_reads_the_captions_as_the_timeline_has_them() {
    if !has("ffprobe") {
        return;
    }
    let folder = folder();
    let folder = folder.path();
    lengthwise(folder, "render a.yaml --rate 8000 --mono --captions");
    let timeline = lengthwise(folder, "check a.yaml --timeline");
    let spoken: Vec<(f64, f64)> = timeline
        .lines()
        .filter_map(|line| {
            let [at, len, kind, _, text] = line.split('\t').collect::<Vec<_>>().try_into().unwrap();
            let voice = ["call", "phrase", "timer", "set", "say"].contains(&kind) && !text.is_empty();
            voice.then(|| (at.parse().unwrap(), len.parse().unwrap()))
        })
        .collect();
    let read = output("ffprobe", folder, "-v warning -show_packets -of json a.vtt");
    let read = json(&String::from_utf8(read).unwrap());
    let packets = read["packets"].as_array().unwrap();
    assert!(packets.len() > 10 && packets.len() == spoken.len(), "{} packets, {} cues", packets.len(), spoken.len());
    for (packet, (at, len)) in packets.iter().zip(spoken) {
        let number = |name: &str| packet[name].as_str().unwrap().parse::<f64>().unwrap();
        assert!((number("pts_time") - at).abs() <= 0.001 && (number("duration_time") - len).abs() <= 0.001, "{packet}");
    }
}

/// The 16-bit samples that ffmpeg decodes of a file, both channels.
fn decoded(path: &Path) -> Vec<i16> {
    let mut command = Command::new("ffmpeg");
    let output = command.args(["-v", "error", "-i"]).arg(path).args(["-f", "s16le", "-"]).output().unwrap();
    let complaints = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && complaints.is_empty(), "{}: {complaints}", path.display());
    output.stdout.chunks_exact(2).map(|pair| i16::from_le_bytes([pair[0], pair[1]])).collect()
}

#[test]
fn ffmpeg_finds_every_track_of_a_playlist_whole() {
    if ![has("ffmpeg"), has("ffprobe")].iter().all(|there| *there) {
        return;
    }
    let folder = folder();
    for format in formats() {
        let made =
            json(&lengthwise(folder.path(), &format!("render a.yaml --json --player {format} --format {format}")));
        let tracks = folder.path().join(format);
        let list = std::fs::read_to_string(tracks.join("Read and heard.m3u8")).unwrap();
        let names: Vec<&str> = list.lines().filter(|line| !line.starts_with('#')).collect();
        assert_eq!(names.len(), 3, "level, and a track of each set: {list}");
        for (number, (name, file)) in names.iter().zip(made["files"].as_array().unwrap()).enumerate() {
            assert_eq!(file["file"], **name);
            let sound = decoded(&tracks.join(name));
            assert_eq!(sound.len() as u64, 2 * file["frames"].as_u64().unwrap(), "{name}");
            // Three seconds without a sound on both sides; MP3 smears what follows by less than a tenth.
            let (edge, most) = if format == "mp3" { (255_780, 2) } else { (264_600, 0) };
            let loudest = |part: &[i16]| part.iter().map(|sample| sample.unsigned_abs()).max().unwrap();
            let ends = [loudest(&sound[..edge]), loudest(&sound[sound.len() - edge..])];
            assert!(ends.iter().all(|loudest| *loudest <= most) && loudest(&sound) > 1000, "{name}: {ends:?}");
            let mut probe = Command::new("ffprobe");
            probe.args(["-v", "error", "-of", "json", "-show_entries", "format_tags"]).arg(tracks.join(name));
            let told = json(&String::from_utf8(probe.output().unwrap().stdout).unwrap())["format"]["tags"].clone();
            let tag = |key: &str| {
                let found = told.as_object().unwrap().iter().find(|(known, _)| known.eq_ignore_ascii_case(key));
                found.map_or("", |(_, text)| text.as_str().unwrap()).to_owned()
            };
            assert_eq!((tag("title"), tag("album")), (file["title"].as_str().unwrap().into(), "Read & heard".into()));
            assert_eq!(tag("track").split('/').next().unwrap(), number.to_string(), "{told}");
        }
    }
}

#[test]
fn ffmpeg_finds_splits_end_to_end_as_long_as_the_single_file_and_flac_the_same() {
    if !has("ffmpeg") {
        return;
    }
    let folder = folder();
    for format in formats() {
        lengthwise(folder.path(), &format!("render a.yaml -o one.{format}"));
        let whole = decoded(&folder.path().join(format!("one.{format}")));
        for by in ["set", "repeat"] {
            let args = format!("render a.yaml --json --split {by} -o {by}-{format} --format {format}");
            let made = json(&lengthwise(folder.path(), &args));
            let mut joined = Vec::new();
            for file in made["files"].as_array().unwrap() {
                let part = decoded(&folder.path().join(format!("{by}-{format}")).join(file["file"].as_str().unwrap()));
                assert_eq!(part.len() as u64, 2 * file["frames"].as_u64().unwrap(), "{file}");
                joined.extend(part);
            }
            assert_eq!(joined.len(), whole.len(), "{format} by {by}");
            assert!(format == "mp3" || joined == whole, "{format} by {by} is not the single file");
        }
    }
}

/// What telephones record, as ffmpeg writes it, decoded here and by ffmpeg itself. A sample of ffmpeg's AAC decoder is within
/// rounding of ours; Opus is compared with the reference decoder (libopus), which is bound to 16 bit in another order.
#[test]
fn what_telephones_record_is_decoded_as_ffmpeg_decodes_it() {
    if !has("ffmpeg") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let clip = |id: &str| format!("{}/cue-packs/first-lengths/clips/phrases/{id}.ogg", env!("CARGO_MANIFEST_DIR"));
    let input = format!("-v error -i {}", clip("look-down"));
    // Extension, how it is made, which decoder reads it, how many frames more ffmpeg may have: it keeps AAC's last block whole.
    let cases = [
        ("m4a", "-ar 44100 -c:a aac -b:a 48k", "aac", 1_024),
        ("mp4", "-ar 48000 -ac 2 -c:a aac -b:a 64k -movflags +faststart", "aac", 1_024),
        ("m4a", "-ar 44100 -c:a alac", "alac", 0),
        ("aac", "-ar 16000 -c:a aac -b:a 32k", "aac", 0),
        ("opus", "-ar 48000 -c:a libopus -b:a 16k -application voip", "libopus", 0),
        ("ogg", "-ar 48000 -ac 2 -c:a libopus -b:a 64k -frame_duration 60", "libopus", 0),
    ];
    for (at, (ending, how, decoder, more)) in cases.into_iter().enumerate() {
        let name = format!("{at}.{ending}");
        output("ffmpeg", folder, &format!("{input} {how} {name}"));
        let raw = output("ffmpeg", folder, &format!("-v error -c:a {decoder} -i {name} -f s16le -"));
        let channels = if how.contains("-ac 2") { 2 } else { 1 };
        let theirs: Vec<f64> = raw
            .chunks_exact(2 * channels)
            .map(|frame| {
                frame.chunks(2).map(|x| f64::from(i16::from_le_bytes([x[0], x[1]]))).sum::<f64>() / channels as f64
            })
            .collect();
        let ours = clip::decode(&std::fs::read(folder.join(&name)).unwrap()).unwrap().samples;
        assert!(
            (ours.len()..=ours.len() + more).contains(&theirs.len()),
            "{name}: {} and {}",
            ours.len(),
            theirs.len()
        );
        let power = |of: &dyn Fn(f64, f64) -> f64| -> f64 {
            ours.iter().zip(&theirs).map(|(a, b)| of(f64::from(*a), *b)).map(|x| x * x).sum()
        };
        let apart = 10.0 * libm::log10(power(&|_, b| b) / power(&|a, b| a - b).max(1.0));
        assert!(apart > 45.0, "{name}: {apart:.1} dB");
    }
}
