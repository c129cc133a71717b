//! The files of a reading, parted into sounds, and what of them lies in the pack already.

use super::align::ReadSound;
use crate::audio::clip::Pcm;
use crate::audio::take;
use std::ops::Range;

/// What is looked at around a sound, in milliseconds: room to find where its first and its last consonant begin and end.
const ROOM: usize = 400;
/// How many samples of a recording are looked for in a file: more alike than any two of speech are.
const KNOWN: usize = 96;

/// A file that was decoded.
#[derive(Clone, Debug)]
pub struct ReadFile {
    /// Its name, as the user knows it.
    pub name: String,
    /// What is in it.
    pub pcm: Pcm,
}

/// A sound of a file.
#[derive(Clone, Debug)]
struct FileSound {
    file: usize,
    frames: Range<usize>,
    words: bool,
    /// Whether it lies in the pack already.
    known: bool,
}

/// All files and the sounds in them, in the order in which they were given.
#[derive(Clone, Debug, Default)]
pub struct AloudReading {
    files: Vec<ReadFile>,
    sounds: Vec<FileSound>,
}

impl AloudReading {
    /// Parts files at their pauses.
    pub fn of(files: Vec<ReadFile>) -> Self {
        let mut reading = Self { files, sounds: Vec::new() };
        let mut sounds = Vec::new();
        for (file, read) in reading.files.iter().enumerate() {
            let found = take::pieces(&samples(&read.pcm.samples), read.pcm.rate);
            sounds.extend(found.into_iter().map(|frames| FileSound { file, frames, words: false, known: false }));
        }
        reading.sounds = sounds;
        for at in 0..reading.sounds.len() {
            let (part, rate) = reading.part(at..at + 1);
            let words = take::examine(&part, rate).makeup.words;
            if let Some(sound) = reading.sounds.get_mut(at) {
                sound.words = words;
            }
        }
        reading
    }

    /// The sounds, for laying them beside texts.
    pub fn sounds(&self) -> Vec<ReadSound> {
        let seconds = |sound: &FileSound, at: usize| at as f64 / f64::from(self.rate(sound.file));
        // What is known already is no text, and parts those beside it as if it lay in another file.
        let of = |sound: &FileSound| ReadSound {
            file: if sound.known { usize::MAX } else { sound.file },
            time: seconds(sound, sound.frames.start)..seconds(sound, sound.frames.end),
            words: sound.words && !sound.known,
        };
        self.sounds.iter().map(of).collect()
    }

    /// Where some sounds begin: the file's name and the seconds from its beginning.
    pub fn place(&self, sounds: &Range<usize>) -> (&str, f64) {
        let Some(first) = self.sounds.get(sounds.start) else { return ("", 0.0) };
        let name = self.files.get(first.file).map_or("", |file| file.name.as_str());
        (name, first.frames.start as f64 / f64::from(self.rate(first.file)))
    }

    /// How many sounds are not known already.
    pub fn new_sounds(&self) -> usize {
        self.sounds.iter().filter(|sound| !sound.known).count()
    }

    /// How many files there are.
    pub fn files(&self) -> usize {
        self.files.len()
    }

    fn rate(&self, file: usize) -> u32 {
        self.files.get(file).map_or(1, |file| file.pcm.rate.max(1))
    }

    /// Some sounds with the silence around them, up to the sounds beside them; full scale ±1, with the frames a second.
    pub fn part(&self, sounds: Range<usize>) -> (Vec<f32>, u32) {
        let (Some(first), Some(last)) = (self.sounds.get(sounds.start), self.sounds.get(sounds.end.saturating_sub(1)))
        else {
            return (Vec::new(), 1);
        };
        let rate = self.rate(first.file);
        let room = rate as usize * ROOM / 1_000;
        let beside = |at: Option<usize>| at.and_then(|at| self.sounds.get(at)).filter(|sound| sound.file == first.file);
        let after = beside(sounds.start.checked_sub(1)).map_or(0, |sound| sound.frames.end);
        let before = beside(Some(sounds.end)).map_or(usize::MAX, |sound| sound.frames.start);
        let all = self.files.get(first.file).map(|file| file.pcm.samples.as_slice()).unwrap_or_default();
        let from = first.frames.start.saturating_sub(room).max(after);
        let to = (last.frames.end + room).min(before).min(all.len());
        (samples(all.get(from..to).unwrap_or_default()), rate)
    }

    /// Leaves out what was kept already: recordings that were cut out of these files hold the same samples. Says how many there
    /// were.
    pub fn without(&mut self, recordings: impl Iterator<Item = Pcm>) -> usize {
        let mut known = 0;
        for recording in recordings {
            for (file, read) in self.files.iter().enumerate() {
                if let Some(frames) = found(&recording, &read.pcm) {
                    let inside = |sound: &FileSound| {
                        sound.file == file && sound.frames.start < frames.end && frames.start < sound.frames.end
                    };
                    self.sounds.iter_mut().filter(|sound| inside(sound)).for_each(|sound| sound.known = true);
                    known += 1;
                    break;
                }
            }
        }
        known
    }
}

/// The frames of a file that a recording was cut out of.
fn found(recording: &Pcm, file: &Pcm) -> Option<Range<usize>> {
    let (loudest, _) = recording.samples.iter().enumerate().max_by_key(|(_, sample)| sample.unsigned_abs())?;
    let from = loudest.saturating_sub(KNOWN / 2);
    let known = recording.samples.get(from..from + KNOWN).filter(|_| recording.rate == file.rate)?;
    let alike = |part: &[i16]| part.iter().zip(known).all(|(a, b)| a.abs_diff(*b) <= 1);
    let at = file.samples.windows(KNOWN).position(alike)?;
    let begins = at.saturating_sub(from);
    Some(begins..begins + recording.samples.len())
}

fn samples(of: &[i16]) -> Vec<f32> {
    of.iter().map(|sample| f32::from(*sample) / 32_768.0).collect()
}
