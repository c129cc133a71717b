//! `record` through a microphone: known words are played into it, and what is kept is held against them.

use crate::program::Program;
use crate::server::Server;
use lengthwise::audio::clip;
use lengthwise::audio::resample::Resampler;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

pub const RATE: u32 = 44_100;
const PATIENCE: Duration = Duration::from_secs(20);

/// Texts that the shipped pack has said: full and short.
const PHRASES: [(&str, &str, &str); 4] = [
    ("breathe-out", "breathe out in the water", "breathe out"),
    ("soft-hand", "soft hand into the water", "soft hand"),
    ("hips-up", "hips up at the surface", "hips up"),
    ("quiet-kick", "a small, soft kick", "small kick"),
];

/// A pack without recordings, and a script that uses its first two phrases.
pub fn pack(folder: &Path) -> PathBuf {
    let pack = folder.join("mara");
    std::fs::create_dir(&pack).unwrap();
    let phrases: String =
        PHRASES.iter().map(|(id, full, short)| format!("  {id}: {{ full: \"{full}\", short: {short} }}\n")).collect();
    let manifest = format!(
        "lengthwise-pack: 1\ntitle: Mara's words\nlanguage: en-GB\nlicence: for the squad\n\
         speaker: {{ voice: Mara Quist, made-with: a headset, agreed: she said yes on 3 May }}\nphrases:\n{phrases}"
    );
    std::fs::write(pack.join("pack.yaml"), manifest).unwrap();
    let script = "lengthwise: 1\ntitle: Soft\npool: 25 m\npractice:\n  - { set: Easy start, swim: 4 x 50 m, rest: 20 s, \
                  focus: { phrases: [soft-hand, breathe-out], change: length } }\n";
    std::fs::write(pack.join("soft.yaml"), script).unwrap();
    pack
}

/// Noise of a peak amplitude.
fn noise(frames: usize, peak: f32, mut seed: u32) -> Vec<f32> {
    let next = |_| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        ((seed >> 8) as f32 / (1 << 23) as f32 - 1.0) * peak
    };
    (0..frames).map(next).collect()
}

/// A server whose microphone is in a quiet room: white noise at −71 dBFS.
pub fn server() -> Option<Server> {
    let mut server = Server::start(RATE)?;
    let murmur = server.path("murmur.raw");
    let noise = noise(RATE as usize * 200, 0.0005, 3);
    let bytes: Vec<u8> = noise.iter().flat_map(|x| ((x * 32_768.0).round() as i16).to_le_bytes().repeat(2)).collect();
    std::fs::write(&murmur, bytes).unwrap();
    server.microphone(RATE, &murmur);
    Some(server)
}

/// What a clip of the shipped pack says, from its first to its last sound above −26 dB of its peak: speech whose ends are
/// known to the frame, since nothing is before or behind them.
pub fn speech(stem: &str) -> Vec<f32> {
    let path = format!("{}/cue-packs/first-lengths/clips/phrases/{stem}.ogg", env!("CARGO_MANIFEST_DIR"));
    let pcm = clip::decode(&std::fs::read(path).unwrap()).unwrap();
    let samples: Vec<f32> = pcm.samples.iter().map(|x| f32::from(*x) / 32_768.0).collect();
    let samples = Resampler::new(pcm.rate, RATE).run(&samples);
    let peak = samples.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
    let loud = |x: &f32| x.abs() > 0.05 * peak;
    let (first, last) = (samples.iter().position(loud).unwrap(), samples.iter().rposition(loud).unwrap());
    // Brought to a peak of −8 dBFS.
    samples[first..=last].iter().map(|x| x * 0.4 / peak).collect()
}

/// A file of silence, the samples, silence.
pub fn written(server: &Server, samples: &[f32]) -> PathBuf {
    let path = server.path("said.wav");
    let spec =
        hound::WavSpec { channels: 1, sample_rate: RATE, bits_per_sample: 16, sample_format: hound::SampleFormat::Int };
    let mut writer = hound::WavWriter::create(&path, spec).unwrap();
    let silence = vec![0.0; RATE as usize / 4];
    for sample in silence.iter().chain(samples).chain(&silence) {
        writer.write_sample((sample * 32_767.0).round() as i16).unwrap();
    }
    writer.finalize().unwrap();
    path
}

/// Says something into the microphone.
fn say(server: &mut Server, samples: &[f32]) {
    let path = written(server, samples);
    server.feed("mic", &path);
}

/// `record` with a pack.
fn record(server: &Server, pack: &Path, more: &[&str]) -> Program {
    let mut command = server.command(env!("CARGO_BIN_EXE_lengthwise"));
    command.arg("record").arg(pack).args(["--no-screen", "--no-playback"]).args(more);
    Program::start(command)
}

/// Says something at the next "now", and waits for the take; the lines that tell of it.
fn take(server: &mut Server, program: &mut Program, samples: &[f32]) -> String {
    program.wait_for("now", PATIENCE);
    say(server, samples);
    told(program)
}

/// Waits for a take; the lines that tell of it.
fn told(program: &mut Program) -> String {
    program.wait_for("take: ", PATIENCE);
    let from = program.heard.len() - 1;
    program.wait_for("stop?", PATIENCE);
    program.heard[from..].join("\n")
}

/// Where a take begins and ends against the speech that was played, in seconds: positive where it has air.
pub fn ends(kept: &Path, said: &[f32]) -> (f64, f64) {
    let mut reader = hound::WavReader::open(kept).unwrap();
    assert_eq!((reader.spec().channels, reader.spec().sample_rate, reader.spec().bits_per_sample), (1, RATE, 24));
    let kept: Vec<f32> = reader.samples::<i32>().map(|x| x.unwrap() as f32 / 8_388_608.0).collect();
    // Where the middle of the speech lies in the take: the shift at which they agree best.
    let middle = &said[said.len() / 4..said.len() * 3 / 4];
    let agree = |at: usize| kept[at..at + middle.len()].iter().zip(middle).map(|(a, b)| f64::from(a * b)).sum::<f64>();
    let best = (0..=kept.len() - middle.len()).max_by(|a, b| agree(*a).total_cmp(&agree(*b))).unwrap();
    let before = best as f64 - (said.len() / 4) as f64;
    let behind = kept.len() as f64 - before - said.len() as f64;
    (before / f64::from(RATE), behind / f64::from(RATE))
}

#[test]
fn known_phrases_are_kept_within_20_ms_of_their_speech() {
    let Some(mut server) = server() else { return };
    let pack = pack(&server.path(""));
    let mut program = record(&server, &pack, &["--all"]);
    program.ask("begin");
    let mut all = Vec::new();
    for (number, stem) in PHRASES.iter().flat_map(|(id, _, _)| [(*id).to_owned(), format!("{id}.short")]).enumerate() {
        let said = speech(&stem);
        program.wait_for(&format!("{} of 8: phrases/{stem}: ", number + 1), PATIENCE);
        let told = take(&mut server, &mut program, &said);
        assert!(!told.contains("fault"), "{told}");
        program.ask("keep");
        program.wait_for(&format!("kept: clips/phrases/{stem}.wav"), PATIENCE);
        all.push((stem, said));
    }
    assert!(program.end(PATIENCE).success());
    let mut worst = 0.0_f64;
    for (stem, said) in all {
        let (before, behind) = ends(&pack.join(format!("clips/phrases/{stem}.wav")), &said);
        println!("{stem}: {:.1} ms before, {:.1} ms behind", before * 1e3, behind * 1e3);
        worst = worst.max(before.abs()).max(behind.abs());
    }
    assert!(worst <= 0.020, "{:.1} ms", worst * 1e3);
    // They are used: nothing of the pack's own script is a tone any more, and nothing is left to record.
    let mut again = record(&server, &pack, &["--all"]);
    assert!(again.end(PATIENCE).success() && again.heard.is_empty(), "{:?}", again.heard);
}

#[test]
fn a_clipped_a_faint_and_a_noisy_feed_are_found() {
    let Some(mut server) = server() else { return };
    let pack = pack(&server.path(""));
    let mut program = record(&server, &pack, &["--only", "breathe-out"]);
    program.wait_for("1 of 2: phrases/breathe-out: breathe out in the water", PATIENCE);
    program.ask("begin");
    let speech = speech("breathe-out");
    let scaled = |gain: f32| speech.iter().map(|x| (x * gain).clamp(-1.0, 1.0)).collect::<Vec<_>>();
    // Something that hums and hisses from the count-in on.
    let mut noisy = noise(speech.len() + RATE as usize * 7, 0.03, 9);
    noisy[RATE as usize * 4..].iter_mut().zip(&speech).for_each(|(noise, speech)| *noise += speech);
    for (feed, fault) in [(scaled(8.0), "too loud"), (scaled(0.015), "too quiet"), (noisy, "noisy")] {
        let told = if fault == "noisy" {
            program.wait_for("3", PATIENCE);
            say(&mut server, &feed);
            told(&mut program)
        } else {
            take(&mut server, &mut program, &feed)
        };
        let faults: Vec<&str> = told.lines().filter_map(|line| line.strip_prefix("fault: ")).collect();
        assert!(faults.iter().any(|line| line.starts_with(fault)), "{fault}: {told}");
        println!("{told}");
        // The noise is over before the room is heard again.
        sleep(Duration::from_secs(3));
        program.ask("again");
    }
    let told = take(&mut server, &mut program, &speech);
    assert!(!told.contains("fault"), "{told}");
    // Nobody who could decide is left: the take goes, and it ends.
    program.hang_up();
    assert!(program.end(PATIENCE).success());
    assert!(!pack.join("clips").exists());
}

/// What can hardly be the text is told, and may be kept all the same.
#[test]
fn a_take_that_is_not_its_text_is_told() {
    let Some(mut server) = server() else { return };
    let pack = pack(&server.path(""));
    let mut program = record(&server, &pack, &["--only", "breathe-out"]);
    program.wait_for("1 of 2: phrases/breathe-out: breathe out in the water", PATIENCE);
    program.ask("begin");
    let speech = speech("breathe-out");
    let silence = |seconds: f64| vec![0.0; (seconds * f64::from(RATE)) as usize];
    // A cough: a burst of air that dies away.
    let falls = |(at, x): (usize, f32)| x * libm::expf(-(at as f32) / (0.1 * RATE as f32));
    let cough: Vec<f32> = noise(RATE as usize * 3 / 10, 0.5, 5).into_iter().enumerate().map(falls).collect();
    // "Breathe out", and the rest too late: the take has ended by then.
    let late = [&half_of(&speech)[..], &silence(2.5), &speech[speech.len() / 2..]].concat();
    let before = [&cough[..], &silence(0.4), &speech].concat();
    for (feed, fault) in [(cough.clone(), "no words"), (late, "too short for its text"), (before, "a sound 0.")] {
        let told = take(&mut server, &mut program, &feed);
        let faults: Vec<&str> = told.lines().filter_map(|line| line.strip_prefix("fault: ")).collect();
        println!("{told}");
        assert!(faults.iter().any(|line| line.starts_with(fault)), "{fault}: {told}");
        // What was too late is over before the room is heard again.
        sleep(Duration::from_secs(3));
        program.ask("again");
    }
    let told = take(&mut server, &mut program, &half_of(&speech));
    assert!(told.contains("fault: too short for its text"), "{told}");
    program.ask("keep");
    program.wait_for("kept: clips/phrases/breathe-out.wav", PATIENCE);
    program.ask("stop");
    assert!(program.end(PATIENCE).success());
    assert_eq!(recordings(&pack).len(), 1);
}

/// The first half of it, dying away as somebody who stops.
fn half_of(speech: &[f32]) -> Vec<f32> {
    let (half, fade) = (speech.len() / 2, RATE as usize / 30);
    let gain = |at: usize| ((half - at) as f32 / fade as f32).min(1.0);
    speech[..half].iter().enumerate().map(|(at, x)| x * gain(at)).collect()
}

/// Every recording of a pack, and that each is whole.
fn recordings(pack: &Path) -> Vec<(String, Vec<u8>)> {
    let Ok(folder) = std::fs::read_dir(pack.join("clips/phrases")) else { return Vec::new() };
    let mut found: Vec<_> = folder
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "wav"))
        .map(|path| {
            let bytes = std::fs::read(&path).unwrap();
            clip::decode(&bytes).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
            (path.file_name().unwrap().to_str().unwrap().to_owned(), bytes)
        })
        .collect();
    found.sort();
    found
}

#[test]
fn a_killed_recording_loses_nothing_that_was_kept() {
    let Some(mut server) = server() else { return };
    let pack = pack(&server.path(""));
    let said = speech("hips-up.short");
    let mut kept: Vec<(String, Vec<u8>)> = Vec::new();
    for round in 0..8_u64 {
        let mut program = record(&server, &pack, &["--all"]);
        program.wait_for(&format!("1 of {}: ", 8 - kept.len()), PATIENCE);
        program.ask("begin");
        take(&mut server, &mut program, &said);
        match round {
            // Between takes: after one was kept, in the count-in of the next.
            0 => {
                program.ask("keep");
                program.wait_for("kept: ", PATIENCE);
                program.wait_for("2", PATIENCE);
            }
            // During a take.
            1 => {
                program.ask("keep");
                program.wait_for("kept: ", PATIENCE);
                program.wait_for("now", PATIENCE);
                say(&mut server, &said);
                sleep(Duration::from_millis(700));
            }
            // While a take waits for its decision.
            2 => {}
            // While it is being kept: moments without a pattern.
            _ => {
                program.ask("keep");
                let until = Instant::now() + Duration::from_micros(round * 618_034 % 70_000);
                while Instant::now() < until {}
            }
        }
        program.child().kill().unwrap();
        program.end(PATIENCE);
        let now = recordings(&pack);
        for old in &kept {
            assert!(now.contains(old), "round {round}: {} is lost or changed", old.0);
        }
        for line in program.heard.iter().filter_map(|line| line.strip_prefix("kept: clips/phrases/")) {
            assert!(now.iter().any(|(name, _)| name == line), "round {round}: {line} was told, and is not there");
        }
        println!("round {round}: {} kept", now.len());
        kept = now;
    }
    assert!(kept.len() >= 2);
}

#[test]
fn a_microphone_that_goes_is_waited_for() {
    let Some(mut server) = server() else { return };
    let pack = pack(&server.path(""));
    let mut program = record(&server, &pack, &[]);
    // The script uses two phrases, each with its short form.
    program.wait_for("1 of 4: phrases/breathe-out: ", PATIENCE);
    program.ask("begin");
    program.wait_for("now", PATIENCE);
    server.down();
    program.wait_for("the microphone is gone", PATIENCE);
    server.up();
    let murmur = server.path("murmur.raw");
    server.microphone(RATE, &murmur);
    program.wait_for("the microphone is back", PATIENCE);
    program.ask("begin");
    let told = take(&mut server, &mut program, &speech("breathe-out"));
    assert!(!told.contains("fault"), "{told}");
    program.ask("keep");
    program.wait_for("kept: ", PATIENCE);
    program.ask("stop");
    assert!(program.end(PATIENCE).success());
    assert_eq!(recordings(&pack).len(), 1);
}

/// A file that may grow no further stands for a disk that is full.
#[test]
fn a_take_that_finds_no_room_stays_in_hand() {
    let Some(mut server) = server() else { return };
    let pack = pack(&server.path(""));
    let mut shell = server.command("sh");
    let program = env!("CARGO_BIN_EXE_lengthwise");
    shell.args(["-c", "trap '' XFSZ; ulimit -f 8; exec \"$@\"", "sh", program, "record"]).arg(&pack);
    shell.args(["--no-screen", "--no-playback", "--only", "soft-hand.short"]);
    let mut program = Program::start(shell);
    program.ask("begin");
    take(&mut server, &mut program, &speech("soft-hand.short"));
    program.ask("keep");
    program.wait_for("not kept: cannot write", PATIENCE);
    program.ask("keep");
    program.wait_for("not kept: cannot write", PATIENCE);
    program.ask("stop");
    assert!(program.end(PATIENCE).success());
    assert_eq!(recordings(&pack), []);
    assert!(!pack.join("clips").exists(), "folders made for it are left");
}
