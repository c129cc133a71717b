//! One text through a device: `pack say`.

use crate::player::raw;
use crate::server::{Server, signal};
use std::process::Stdio;
use std::time::{Duration, Instant};

#[test]
fn a_text_said_is_the_file_of_it_to_the_frame() {
    let Some(mut server) = Server::start(44_100) else { return };
    let program = env!("CARGO_BIN_EXE_lengthwise");
    let out = server.path("out.raw");
    server.record(&out, 44_100);
    let begun = Instant::now();
    let said = server.command(program).args(["pack", "say", "look-down"]).output().unwrap();
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let took = begun.elapsed();
    let file = server.path("say.wav");
    assert!(server.command(program).args(["pack", "say", "look-down", "-o"]).arg(&file).status().unwrap().success());
    let mut wav = hound::WavReader::open(&file).unwrap();
    let samples: Vec<i16> = wav.samples::<i16>().map(Result::unwrap).collect();
    let frames: Vec<[i16; 2]> = samples.chunks_exact(2).map(|frame| [frame[0], frame[1]]).collect();
    // It waits until the device has given out all of it.
    let len = Duration::from_secs_f64(frames.len() as f64 / 44_100.0);
    assert!(took >= len && took < len + Duration::from_secs(10), "{took:?} for {len:?}");
    // The recorder is half a second behind.
    std::thread::sleep(Duration::from_millis(1_500));
    let heard = raw(&out);
    let sounding = |frames: &[[i16; 2]]| {
        let first = frames.iter().position(|frame| *frame != [0, 0]).unwrap();
        let last = frames.iter().rposition(|frame| *frame != [0, 0]).unwrap();
        frames[first..=last].to_vec()
    };
    assert!(sounding(&heard) == sounding(&frames), "{} frames, wanted {}", heard.len(), frames.len());
}

#[test]
fn what_is_said_ends_when_it_is_asked_to_and_a_wrong_device_is_reported() {
    let Some(server) = Server::start(44_100) else { return };
    let program = env!("CARGO_BIN_EXE_lengthwise");
    let mut long = server.command(program);
    let mut long = long.args(["pack", "say", "eyes-closed"]).stderr(Stdio::null()).spawn().unwrap();
    std::thread::sleep(Duration::from_secs(2));
    let asked = Instant::now();
    signal(&long, "INT");
    assert_eq!(long.wait().unwrap().code(), Some(130));
    assert!(asked.elapsed() < Duration::from_secs(2), "{:?}", asked.elapsed());
    let wrong = server.command(program).args(["pack", "say", "look-down", "--device", "nowhere"]).output().unwrap();
    let told = String::from_utf8(wrong.stderr).unwrap();
    assert_eq!(wrong.status.code(), Some(3), "{told}");
    assert!(told.contains("`nowhere`") && told.contains("there are:"), "{told}");
}
