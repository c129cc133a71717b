//! One recording heard by itself, as the swimmer hears it: treated and brought to its loudness, through the same mixer as a
//! practice, from a device; and the timeline of it, from which a file is rendered like any other.
//!
//! Nothing is steered or recorded here, and no second device is looked for.

use crate::audio::bank::Bank;
use crate::audio::clip::Pcm;
use crate::audio::resample::Resampler;
use crate::audio::voice;
use crate::conductor::{Conductor, Supply};
use crate::device::output::{FoundOutput, Playing};
use crate::device::{DeviceError, Pending};
use crate::mixer::{Controls, Mixer, ToMixer};
use crate::pack::ClipId;
use crate::timeline::bank::BankSettings;
use crate::timeline::lower::BankMismatch;
use crate::timeline::{Cue, CueKind, CuePart, Leg, LegKind, Sound, SoundId, Timeline};
use crate::units::frame::PracticeFrame;
use crate::units::level::Decibels;
use crate::units::time::{SampleRate, Seconds};
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Silence before the recording and after it: some devices swallow the first moment after they were opened.
const BEFORE: Seconds = Seconds::from_millis(200);
const AFTER: Seconds = Seconds::from_millis(200);
/// How long a device may take to be found and opened, and to give out what it has been given.
const PATIENCE: Duration = Duration::from_secs(5);
/// Between two looks at the device.
const TICK: Duration = Duration::from_millis(10);

/// Why a recording was not heard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotHeard {
    /// No device.
    Device(DeviceError),
    /// The device failed under way; why.
    Lost(&'static str),
    /// A mistake of this program.
    Internal(BankMismatch),
}

impl fmt::Display for NotHeard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Device(error) => error.fmt(f),
            Self::Lost(why) => write!(f, "the sound broke off: {why}"),
            Self::Internal(error) => write!(f, "a mistake of this program, please report it: {error}"),
        }
    }
}

impl std::error::Error for NotHeard {}

/// A timeline with one recording in it, of this length; its bank has one clip.
pub fn timeline(text: &str, len: Seconds) -> Timeline {
    let part = CuePart { after: Seconds::ZERO, sound: SoundId(0) };
    let cue = Cue { kind: CueKind::Say, at: BEFORE, len, id: String::new(), text: text.to_owned(), parts: vec![part] };
    let leg = Leg {
        kind: LegKind::Talk,
        origin: Seconds::ZERO,
        len: BEFORE + len + AFTER,
        cues: vec![cue],
        grids: Vec::new(),
    };
    Timeline { legs: vec![leg], sounds: vec![Sound::Clip(ClipId(0))], ducking: Decibels::ZERO }
}

/// The timeline of the one clip of a bank.
pub fn of(text: &str, bank: &Bank) -> Timeline {
    let clip = bank.clips.first().map_or(0, |clip| clip.samples.len());
    timeline(text, bank.rate.time(clip as u64))
}

/// A recording as the bank of a practice would hold it: mono samples, full scale ±1, at their own rate, made ready for
/// another.
pub fn bank(samples: &[f32], from: u32, rate: SampleRate, settings: &BankSettings) -> Bank {
    let sample = |x: &f32| libm::rintf(x.clamp(-1.0, 1.0) * 32_767.0) as i16;
    let pcm = Pcm { rate: from, samples: samples.iter().map(sample).collect() };
    let treated = voice::treat(&pcm, settings.output, &Resampler::new(from, rate.hertz()));
    Bank { rate, clips: vec![voice::level(&treated, rate, settings.voice.lufs(), false)] }
}

/// A recording that is being heard. Dropped, it breaks off.
#[derive(Debug)]
pub struct Audition {
    playing: Playing,
    controls: Controls,
    /// Frames of the device after which it has all been heard.
    last: u64,
    fade: Duration,
    until: Instant,
}

impl Audition {
    /// Begins to play mono samples, full scale ±1, at their rate, as the swimmer hears them.
    ///
    /// # Errors
    /// Where there is no device.
    pub fn start(
        samples: &[f32],
        rate: u32,
        settings: &BankSettings,
        finding: &Pending<FoundOutput>,
    ) -> Result<Self, NotHeard> {
        let found = finding.wait(PATIENCE).map_err(NotHeard::Device)?;
        Self::of(bank(samples, rate, found.rate(), settings), found)
    }

    /// Begins to play the one clip of a bank that was made for the device.
    ///
    /// # Errors
    /// Where the device cannot be opened.
    pub fn of(bank: Bank, found: FoundOutput) -> Result<Self, NotHeard> {
        let rate = bank.rate;
        let timeline = of("", &bank);
        let (mixer, controls) = ready(&timeline, bank).map_err(NotHeard::Internal)?;
        let buffer = u64::from(found.buffer());
        let (start, starts) = crossbeam_channel::bounded(1);
        // There is room for one, and nobody else has the sender.
        let _ = start.send(mixer);
        let playing = found.play(starts).wait(PATIENCE).map_err(NotHeard::Device)?;
        let time = |frames: u64| Duration::from_nanos(u64::try_from(rate.time(frames).nanos()).unwrap_or(0));
        let last = rate.frames(timeline.len()) + 2 * buffer;
        Ok(Self { playing, controls, last, fade: time(2 * buffer), until: Instant::now() + time(last) + PATIENCE })
    }

    /// Whether all of it has been heard, or never will be.
    ///
    /// # Errors
    /// Where the device failed.
    pub fn is_over(&self) -> Result<bool, NotHeard> {
        let health = self.playing.health();
        match health.failure() {
            Some(reason) => Err(NotHeard::Lost(reason.words())),
            None if health.frames() >= self.last => Ok(true),
            None if Instant::now() > self.until => Err(NotHeard::Lost("the device takes nothing any more")),
            None => Ok(false),
        }
    }

    /// Waits until it is over, or until the flag is set; then it fades out.
    ///
    /// # Errors
    /// Where the device failed.
    pub fn wait(self, stop: &AtomicBool) -> Result<(), NotHeard> {
        while !self.is_over()? {
            // Only a flag: nothing else is read through it.
            if stop.load(Ordering::Relaxed) {
                self.stop();
                return Ok(());
            }
            std::thread::sleep(TICK);
        }
        Ok(())
    }

    /// Fades it out and closes the device, which takes two of its buffers.
    pub fn stop(self) {
        // Where the queue is full it breaks off instead.
        if self.controls.to.try_send(ToMixer::Pause { id: 0, at: PracticeFrame::ZERO }).is_ok() {
            std::thread::sleep(self.fade);
        }
    }
}

/// A mixer that knows all of a timeline of one leg, its look-ahead drained.
fn ready(timeline: &Timeline, bank: Bank) -> Result<(Mixer, Controls), BankMismatch> {
    let rate = bank.rate;
    let mut conductor = Conductor::new(timeline, Arc::new(bank), Supply::live(rate))?;
    let (mut mixer, controls) = Mixer::new(rate);
    conductor.prime(&mut mixer, &controls);
    Ok((mixer, controls))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::loudness;
    use crate::audio::voice::HeardThrough;
    use crate::mixer::sample::Frame;
    use crate::sink::{Sink, render};
    use crate::units::level::Lufs;

    struct Samples(Vec<f32>);

    impl Sink for Samples {
        type Error = std::convert::Infallible;

        fn sound(&mut self, frames: &[Frame]) -> Result<(), Self::Error> {
            self.0.extend(frames.iter().map(|frame| f32::from(frame[0]) / 32_768.0));
            Ok(())
        }

        fn silence(&mut self, frames: u64) -> Result<(), Self::Error> {
            self.0.resize(self.0.len() + frames as usize, 0.0);
            Ok(())
        }
    }

    fn tone(rate: u32) -> Vec<f32> {
        let at = |i: u32| (0.02 * libm::sin(f64::from(i) * 2_800.0 / f64::from(rate))) as f32;
        (0..rate * 3 / 2).map(at).collect()
    }

    #[test]
    fn what_a_device_gets_is_what_a_file_gets_and_as_loud_as_a_practice() {
        let settings = BankSettings { voice: Lufs::of(-16.0), beats: Decibels::ZERO, output: HeardThrough::Headphones };
        for (from, hertz) in [(48_000, 44_100), (16_000, 48_000), (44_100, 44_100)] {
            let rate = SampleRate::new(hertz).unwrap();
            let bank = bank(&tone(from), from, rate, &settings);
            let timeline = timeline("a tone", rate.time(bank.clips[0].samples.len() as u64));
            let mut file = Samples(Vec::new());
            render(&timeline, &Arc::new(bank.clone()), &mut file, &mut |_, _| {}, &AtomicBool::new(false)).unwrap();
            let (mut mixer, _controls) = ready(&timeline, bank).unwrap();
            let mut out = vec![0.0; 2 * file.0.len()];
            mixer.render(&mut out);
            let device: Vec<f32> =
                out.chunks_exact(2).map(|frame| libm::rintf(frame[0] * 32_768.0) / 32_768.0).collect();
            let apart = device.iter().zip(&file.0).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max);
            assert!(apart <= 1.0 / 32_000.0, "{apart}");
            let before = rate.frames(BEFORE) as usize;
            assert!(file.0[..before].iter().all(|x| *x == 0.0) && file.0[before..].iter().take(99).any(|x| *x != 0.0));
            let heard = &file.0[before..file.0.len() - rate.frames(AFTER) as usize];
            let lufs = loudness::of_clip(heard, hertz).unwrap();
            assert!((lufs + 16.0).abs() < 0.3, "{lufs}");
        }
    }
}
