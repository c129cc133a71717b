//! The engine in a process of its own: the program itself, started again for this. The engine is C code that reads memory it never
//! wrote; here the worst that a text can do to it is to take its own phrase with it.
//!
//! The process gets a line of words after the other, and answers each with a count and so many samples. What comes back is
//! taken for what it claims to be, no more: a process that answers nonsense, nothing, or not in time is ended, and a new one
//! is asked for the next text.

use super::engine::{Engine, LONGEST, VoiceFiles};
use super::rate::SPEED;
use crossbeam_channel::{Receiver, bounded};
use std::ffi::OsString;
use std::io::{self, BufRead, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::time::Duration;

/// What tells the program that it is started as a worker; behind it comes the folder with the voice.
const MARK: &str = "lengthwise-speech-worker";
/// No text takes so long: a phrase takes 25 ms, and the longest text a minute of sound.
const PATIENCE: Duration = Duration::from_secs(10);

/// The folder with the voice, where these are a worker's arguments.
pub fn folder(arguments: impl IntoIterator<Item = OsString>) -> Option<PathBuf> {
    let mut arguments = arguments.into_iter().skip(1);
    let marked = arguments.next().is_some_and(|mark| mark == MARK);
    let folder = arguments.next().filter(|_| marked)?;
    arguments.next().is_none().then(|| PathBuf::from(folder))
}

/// The whole of a worker: says each line that comes in, until there are no more.
///
/// # Errors
/// Where nobody listens any more.
pub fn work(folder: &Path, words: impl BufRead, mut out: impl Write) -> io::Result<()> {
    let files = VoiceFiles::there(folder);
    for words in words.lines() {
        // An engine for each text: what was said before must not change how it sounds.
        let words = words?;
        let said = Engine::open(&files).and_then(|mut engine| engine.say(&words, SPEED));
        let samples = said.unwrap_or_default();
        // No text is so long; nothing that came of one is as good as no answer.
        let count = u32::try_from(samples.len()).unwrap_or(0);
        let bytes: Vec<u8> = samples.iter().flat_map(|sample| sample.to_le_bytes()).collect();
        out.write_all(&count.to_le_bytes())?;
        out.write_all(&bytes)?;
        out.flush()?;
    }
    Ok(())
}

/// Says words in a process that is started when it is needed, and again when it is lost.
#[derive(Debug)]
pub struct Workplace<'f> {
    program: &'f Path,
    files: &'f VoiceFiles,
    running: Option<Running>,
}

#[derive(Debug)]
struct Running {
    child: Child,
    words: ChildStdin,
    answers: Receiver<Vec<i16>>,
}

impl<'f> Workplace<'f> {
    /// One that starts `program`, which must be this one.
    pub fn new(program: &'f Path, files: &'f VoiceFiles) -> Self {
        Self { program, files, running: None }
    }

    /// Says words; nothing where the engine failed, or hung or took its process with it twice: once it may have been ended by
    /// somebody else.
    pub fn say(&mut self, words: &str) -> Option<Vec<i16>> {
        let said = self.ask(words).or_else(|| self.ask(words));
        said.filter(|samples| !samples.is_empty())
    }

    /// Asks a process that runs, or a new one. One that does not answer is not asked again.
    fn ask(&mut self, words: &str) -> Option<Vec<i16>> {
        let mut running = self.running.take().or_else(|| Running::start(self.program, self.files).ok())?;
        running.words.write_all(format!("{words}\n").as_bytes()).ok()?;
        let said = running.answers.recv_timeout(PATIENCE).ok()?;
        self.running = Some(running);
        Some(said)
    }
}

impl Running {
    fn start(program: &Path, files: &VoiceFiles) -> io::Result<Self> {
        let mut command = Command::new(program);
        command.arg(MARK).arg(files.folder());
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn()?;
        let (Some(words), Some(mut out)) = (child.stdin.take(), child.stdout.take()) else {
            return Err(io::ErrorKind::BrokenPipe.into());
        };
        let (to, answers) = bounded(1);
        // It ends with the process, whose end closes the pipe.
        std::thread::Builder::new().name("speech".into()).spawn(move || {
            while let Some(samples) = answer(&mut out) {
                if to.send(samples).is_err() {
                    break;
                }
            }
        })?;
        Ok(Self { child, words, answers })
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // It may be gone already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// One answer; nothing where none comes, or what comes is none.
fn answer(out: &mut impl Read) -> Option<Vec<i16>> {
    let mut count = [0; 4];
    out.read_exact(&mut count).ok()?;
    let count = usize::try_from(u32::from_le_bytes(count)).ok().filter(|count| *count <= LONGEST + 1024)?;
    let mut bytes = vec![0; 2 * count];
    out.read_exact(&mut bytes).ok()?;
    Some(bytes.as_chunks().0.iter().map(|sample| i16::from_le_bytes(*sample)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_worker_says_what_the_engine_says() {
        let files = VoiceFiles::write(None).unwrap();
        let mut own = Engine::open(&files).unwrap();
        let head = own.say("head still", SPEED).unwrap();
        let mut out = Vec::new();
        work(files.folder(), "head still\n\nhead still\n".as_bytes(), &mut out).unwrap();
        let mut out = out.as_slice();
        let answers: Vec<Vec<i16>> = std::iter::from_fn(|| answer(&mut out)).collect();
        assert_eq!(answers.len(), 3);
        assert!(head.len() > 8_000 && answers[0] == head && answers[2] == head);
    }

    #[test]
    fn a_process_that_answers_nonsense_costs_its_phrase_alone() {
        let files = VoiceFiles::write(None).unwrap();
        // One that ends at once, one that is not there, and one whose answer is what it was asked: a count beyond any text.
        for program in ["/bin/false", "/nowhere/at all", "/bin/cat"] {
            let mut workplace = Workplace::new(Path::new(program), &files);
            assert_eq!((workplace.say("head still"), workplace.say("long neck")), (None, None), "{program}");
        }
        assert_eq!(answer(&mut [255, 255, 255, 255, 0, 0].as_slice()), None);
        assert_eq!(answer(&mut [2, 0, 0, 0, 1, 0, 255].as_slice()), None);
        assert_eq!(answer(&mut [2, 0, 0, 0, 1, 0, 255, 255].as_slice()), Some(vec![1, -1]));
    }

    #[test]
    fn only_a_worker_is_started_as_one() {
        let asked = |arguments: &[&str]| folder(arguments.iter().map(OsString::from));
        assert_eq!(asked(&["lengthwise", MARK, "/tmp/voice"]), Some(PathBuf::from("/tmp/voice")));
        for other in [&["lengthwise"][..], &["lengthwise", MARK], &["lengthwise", "check", MARK], &[MARK, "a"]] {
            assert_eq!(asked(other), None, "{other:?}");
        }
        assert_eq!(asked(&["lengthwise", MARK, "a", "b"]), None);
    }
}
