//! What an output plays, heard from outside: where sounds begin after silence, and at which moments those were.

use crate::server::Server;
use std::io::Read;
use std::process::Stdio;
use std::sync::{Arc, Mutex};
use std::thread::spawn;
use std::time::Instant;

pub const RATE: f64 = 44_100.0;
/// So many silent frames make the next sound a new one.
const SILENT: usize = 4_410;
/// At and below this a sample is silence.
const FLOOR: u16 = 8;

/// What came out so far; small however long it lasts.
#[derive(Default)]
struct Heard {
    frames: usize,
    silent: usize,
    /// The first frame of each sound.
    onsets: Vec<usize>,
    /// The frames there were with each piece, and when it came.
    pieces: Vec<(usize, Instant)>,
}

impl Heard {
    fn take(&mut self, bytes: &[u8]) {
        for frame in bytes.chunks_exact(2) {
            if i16::from_le_bytes([frame[0], frame[1]]).unsigned_abs() > FLOOR {
                if self.silent > SILENT {
                    self.onsets.push(self.frames);
                }
                self.silent = 0;
            } else {
                self.silent += 1;
            }
            self.frames += 1;
        }
        self.pieces.push((self.frames, Instant::now()));
    }
}

/// Somebody who listens to an output.
pub struct Listener {
    heard: Arc<Mutex<Heard>>,
}

impl Listener {
    pub fn start(server: &mut Server, sink: &str) -> Self {
        let mut parec = server.command("parec");
        parec.args(["--raw", "--format=s16le", "--channels=1", "--rate=44100", "--latency-msec=20"]);
        parec.args(["-d", &format!("{sink}.monitor")]).stderr(Stdio::null());
        let mut stdout = server.run(parec);
        let heard = Arc::new(Mutex::new(Heard { silent: usize::MAX / 2, ..Heard::default() }));
        let to = Arc::clone(&heard);
        spawn(move || {
            let (mut bytes, mut kept) = ([0; 8192], 0);
            while let Ok(count) = stdout.read(&mut bytes[kept..]) {
                if count == 0 {
                    return;
                }
                // A piece can end within a sample.
                let whole = (kept + count) & !1;
                to.lock().unwrap().take(&bytes[..whole]);
                bytes.copy_within(whole..kept + count, 0);
                kept = kept + count - whole;
            }
        });
        Self { heard }
    }

    /// The moments at which sounds began after silence, counted from `since`.
    pub fn onsets(&self, since: Instant) -> Vec<f64> {
        let heard = self.heard.lock().unwrap();
        // The clock of this output is not that of the pool: of the pieces near a frame, the one that came with the least
        // delay tells when the frame was.
        let near = 2 * RATE as usize;
        let moment = |onset: &usize| {
            let from = heard.pieces.partition_point(|(end, _)| end + near < *onset);
            let pieces = heard.pieces[from..].iter().take_while(|(end, _)| *end < onset + near);
            let begins = pieces.map(|(end, at)| at.duration_since(since).as_secs_f64() - *end as f64 / RATE);
            *onset as f64 / RATE + begins.fold(f64::MAX, f64::min)
        };
        heard.onsets.iter().map(moment).collect()
    }

    /// The moments of the gos: four sounds a second apart, each after silence. A block that came too late may lie in
    /// between; no script here has beats that are a second apart.
    pub fn gos(&self, since: Instant) -> Vec<f64> {
        let onsets = self.onsets(since);
        let counts = |four: &&[f64]| four.windows(2).all(|pair| (pair[1] - pair[0] - 1.0).abs() < 0.12);
        onsets.windows(4).filter(counts).map(|four| four[3]).collect()
    }
}
