//! How long a text should take to say, and how far from it people who read that text may be.

use crate::units::time::Seconds;

/// The usual time of a text. Where no voice has said it, it is reckoned by its letters, and then only rough.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TextTime {
    usual: Seconds,
    rough: bool,
    breaks: bool,
}

/// Seconds of a text without letters, and of each letter. Fitted to the built-in voice's times of the 901 texts of the shipped
/// packs; half of the single words are beyond 25 % of it.
const BASE: Seconds = Seconds::from_millis(70);
const LETTER: Seconds = Seconds::from_millis(87);

impl TextTime {
    /// Of a text that a voice has said in this time.
    pub fn said(text: &str, time: Seconds) -> Self {
        Self { usual: time, rough: false, breaks: breaks(text) }
    }

    /// Of a text by its letters; `words` is the text with its numbers in letters.
    pub fn by_letters(text: &str, words: &str) -> Self {
        let letters = words.chars().filter(|c| c.is_alphabetic()).count() as i64;
        Self { usual: BASE + Seconds::from_nanos(LETTER.nanos() * letters), rough: true, breaks: breaks(text) }
    }

    /// The usual time.
    pub const fn usual(self) -> Seconds {
        self.usual
    }

    /// Whether it has marks inside at which people pause.
    pub const fn breaks(self) -> bool {
        self.breaks
    }

    /// What is shorter is not the whole text. The clips of the shipped packs, of another voice, take 0.64 to 1.48 of the built-in
    /// voice's time; half of a text takes about half of that.
    pub fn shortest(self) -> Seconds {
        let percent = if self.rough { 45 } else { 58 };
        Seconds::from_nanos(self.usual.nanos() / 100 * percent)
    }

    /// What is longer has more in it than the text, or pauses.
    pub fn longest(self) -> Seconds {
        let (percent, more) = if self.rough { (200, 700) } else { (150, 250) };
        Seconds::from_nanos(self.usual.nanos() / 100 * percent) + Seconds::from_millis(more)
    }

    /// The longest pause inside. The shipped clips have up to 0.83 s where a sentence ends, and under 0.3 s where no mark asks
    /// for one. A take ends by itself after 1.1 s (`recording/ending`).
    pub const fn longest_pause(self) -> Seconds {
        if self.breaks { Self::LONGEST_PAUSE } else { Seconds::from_millis(450) }
    }

    /// The longest pause in a text of which nothing is known.
    pub const LONGEST_PAUSE: Seconds = Seconds::from_millis(950);
}

/// Whether a text has marks inside at which people pause.
fn breaks(text: &str) -> bool {
    text.trim_end_matches(|c: char| !c.is_alphanumeric()).contains(['.', ',', ';', ':', '!', '?', '–', '—', '…', '\n'])
}
