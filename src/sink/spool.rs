//! Sound whose length nobody knows yet: kept in a file without a name until it does, then given to a sink.
//!
//! Silence costs nothing: only its length is kept. The file goes with the process, however that ends.

use super::{Sink, file::FileError};
use crate::mixer::sample::Frame;
use std::fs::File;
use std::io::{self, BufReader, BufWriter, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Frames read back at a time.
const BLOCK: usize = 1 << 14;

/// A stretch of what was kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wound {
    Sound(u64),
    Silence(u64),
}

/// Takes sound and gives it back once.
#[derive(Debug)]
pub struct Spool {
    file: BufWriter<File>,
    /// The file that the sound is for, to be named where the system refuses.
    target: PathBuf,
    wound: Vec<Wound>,
}

impl Spool {
    /// An empty one on the disk of the file that the sound is for.
    ///
    /// # Errors
    /// Where the system refuses.
    pub fn beside(target: &Path) -> Result<Self, FileError> {
        let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let file = tempfile::tempfile_in(folder).map_err(|error| refused("create", target, error))?;
        Ok(Self { file: BufWriter::with_capacity(1 << 16, file), target: target.to_owned(), wound: Vec::new() })
    }

    /// Frames kept.
    pub fn frames(&self) -> u64 {
        self.wound.iter().map(|(Wound::Sound(frames) | Wound::Silence(frames))| *frames).sum()
    }

    /// Gives everything to a sink.
    ///
    /// # Errors
    /// Where it cannot be read back, or the sink fails.
    pub fn unwind(self, sink: &mut impl Sink<Error = FileError>) -> Result<(), FileError> {
        let Self { file, target, wound } = self;
        let refused = |error| refused("write", &target, error);
        let mut file = file.into_inner().map_err(|error| refused(error.into_error()))?;
        file.seek(SeekFrom::Start(0)).map_err(refused)?;
        let mut file = BufReader::with_capacity(1 << 16, file);
        let (mut bytes, mut frames) = (vec![0; 4 * BLOCK], Vec::with_capacity(BLOCK));
        for stretch in wound {
            let mut left = match stretch {
                Wound::Sound(frames) => frames,
                Wound::Silence(frames) => {
                    sink.silence(frames)?;
                    continue;
                }
            };
            while left > 0 {
                let count = left.min(BLOCK as u64);
                left -= count;
                let (bytes, _) = bytes.split_at_mut(4 * count as usize);
                file.read_exact(bytes).map_err(refused)?;
                frames.clear();
                frames.extend(bytes.chunks_exact(4).map(|bytes| match bytes {
                    [a, b, c, d] => [i16::from_le_bytes([*a, *b]), i16::from_le_bytes([*c, *d])],
                    _ => [0; 2],
                }));
                sink.sound(&frames)?;
            }
        }
        Ok(())
    }
}

fn refused(doing: &'static str, path: &Path, source: io::Error) -> FileError {
    FileError::System { doing, path: path.to_owned(), source }
}

impl Sink for Spool {
    type Error = FileError;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), FileError> {
        if frames.iter().all(|frame| *frame == [0; 2]) {
            return self.silence(frames.len() as u64);
        }
        for sample in frames.as_flattened() {
            self.file.write_all(&sample.to_le_bytes()).map_err(|error| refused("write", &self.target, error))?;
        }
        match self.wound.last_mut() {
            Some(Wound::Sound(count)) => *count += frames.len() as u64,
            _ => self.wound.push(Wound::Sound(frames.len() as u64)),
        }
        Ok(())
    }

    fn silence(&mut self, frames: u64) -> Result<(), FileError> {
        match self.wound.last_mut() {
            Some(Wound::Silence(count)) => *count += frames,
            _ if frames > 0 => self.wound.push(Wound::Silence(frames)),
            _ => {}
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Everything, silence as frames too.
    struct Flat(Vec<Frame>);

    impl Sink for Flat {
        type Error = FileError;

        fn sound(&mut self, frames: &[Frame]) -> Result<(), FileError> {
            self.0.extend(frames);
            Ok(())
        }

        fn silence(&mut self, frames: u64) -> Result<(), FileError> {
            self.0.resize(self.0.len() + frames as usize, [0; 2]);
            Ok(())
        }
    }

    #[test]
    fn what_goes_in_comes_out() {
        let folder = tempfile::tempdir().unwrap();
        let mut spool = Spool::beside(&folder.path().join("a.wav")).unwrap();
        let mut expected = Vec::new();
        for (index, count) in [1_usize, 0, 511, 40_000, 3].into_iter().enumerate() {
            let frames: Vec<Frame> = (0..count).map(|i| [(i % 600) as i16 - 300, (i % 4_000 * 7) as i16]).collect();
            spool.sound(&frames).unwrap();
            expected.extend(&frames);
            spool.silence(index as u64 * 5).unwrap();
            expected.resize(expected.len() + index * 5, [0; 2]);
            spool.sound(&[[0; 2]; 9]).unwrap();
            expected.resize(expected.len() + 9, [0; 2]);
        }
        assert_eq!(spool.frames(), expected.len() as u64);
        let mut flat = Flat(Vec::new());
        spool.unwind(&mut flat).unwrap();
        assert!(flat.0 == expected);
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "it leaves nothing behind");
    }
}
