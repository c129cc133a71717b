//! What is wrong with a take, and what to do about it in words for somebody who has never recorded.

use super::{CutOff, Makeup, Take, TextTime};
use crate::units::time::Seconds;
use std::fmt;

/// The least ratio of speech to background, in dB. WCAG 2.2 success criterion 1.4.7 and its technique G56 ask for background
/// sounds that are at least 20 dB lower than the speech; what is hard to follow on land is lost beside water.
pub const LEAST_SPEECH_TO_NOISE: f64 = 20.0;

/// The least level of speech in dBFS. Used, it is brought to about −20 dBFS: 18 dB more lift a telephone's or a headset's own
/// noise, some 60 dB below full scale, to where it is heard between words. Common practice, no source.
pub const LEAST_LEVEL: f64 = -38.0;

/// The longest a whole focus phrase should take: it is said between the talk of a rest and its countdown.
pub const LONGEST_PHRASE: Seconds = Seconds::from_millis(2_500);

/// The longest a short form should take: it is said in the glide, over the sound of the own bubbles.
pub const LONGEST_SHORT: Seconds = Seconds::from_millis(1_000);

/// Something wrong with a take.
#[derive(Clone, Debug, PartialEq)]
pub enum TakeFault {
    /// No speech was found.
    NothingSaid,
    /// So many samples lie on flat tops.
    Clipped(usize),
    /// Speech at this level in dBFS, under [`LEAST_LEVEL`].
    Quiet(f64),
    /// Speech so many dB over the background, fewer than [`LEAST_SPEECH_TO_NOISE`].
    Noisy(f64),
    /// It begins in the middle of speech.
    CutAtBeginning,
    /// It ends in the middle of speech.
    CutAtEnd,
    /// Sounds, but no words among them.
    NoWords,
    /// Speech of this length, too short for its text, which usually takes the second.
    NotAll(Seconds, Seconds),
    /// Speech of this length, too long for its text, which usually takes the second.
    TooMuch(Seconds, Seconds),
    /// Another sound, so long before the words.
    SoundBefore(Seconds),
    /// Another sound, that ends so long after the words.
    SoundAfter(Seconds),
    /// A silence of this length inside.
    Pause(Seconds),
    /// Speech of this length, longer than the limit.
    TooLong(Seconds, Seconds),
}

impl Take {
    /// What is wrong, the worst first. `limit` is how long the speech may last for its use; without `text` it is not compared with
    /// what it should say.
    pub fn faults(&self, limit: Option<Seconds>, text: Option<TextTime>) -> Vec<TakeFault> {
        let (Some(level), Some(spoken), Some(ratio)) = (self.level, self.spoken(), self.speech_to_noise()) else {
            return vec![TakeFault::NothingSaid];
        };
        let CutOff { begins, ends } = self.cut;
        let Makeup { words, before, after, pause } = self.makeup;
        // What is no speech has neither a length nor pauses.
        let text = text.filter(|_| words);
        let most = text.map_or(TextTime::LONGEST_PAUSE, TextTime::longest_pause);
        [
            (self.clipped > 0).then_some(TakeFault::Clipped(self.clipped)),
            begins.then_some(TakeFault::CutAtBeginning),
            ends.then_some(TakeFault::CutAtEnd),
            (!words).then_some(TakeFault::NoWords),
            text.filter(|text| spoken < text.shortest()).map(|text| TakeFault::NotAll(spoken, text.usual())),
            before.map(TakeFault::SoundBefore),
            (pause > most).then_some(TakeFault::Pause(pause)),
            text.filter(|text| spoken > text.longest()).map(|text| TakeFault::TooMuch(spoken, text.usual())),
            after.map(TakeFault::SoundAfter),
            (level < LEAST_LEVEL).then_some(TakeFault::Quiet(level)),
            (ratio < LEAST_SPEECH_TO_NOISE).then_some(TakeFault::Noisy(ratio)),
            limit.filter(|limit| spoken > *limit).map(|limit| TakeFault::TooLong(spoken, limit)),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl TakeFault {
    /// One word for machines.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::NothingSaid => "nothing-said",
            Self::Clipped(_) => "clipped",
            Self::Quiet(_) => "too-quiet",
            Self::Noisy(_) => "noisy",
            Self::CutAtBeginning => "cut-at-beginning",
            Self::CutAtEnd => "cut-at-end",
            Self::NoWords => "no-words",
            Self::NotAll(..) => "not-all",
            Self::TooMuch(..) => "too-much",
            Self::SoundBefore(_) => "sound-before",
            Self::SoundAfter(_) => "sound-after",
            Self::Pause(_) => "pause",
            Self::TooLong(..) => "too-long",
        }
    }

    /// What to change before the next take, one sentence.
    pub const fn advice(&self) -> &'static str {
        match self {
            Self::NothingSaid => "check that the right microphone is chosen and not muted, and come nearer",
            Self::Clipped(_) => "move back a hand's width, or turn the input down",
            Self::Quiet(_) => "come nearer, to a hand's width, or turn the input up",
            Self::Noisy(_) => "come nearer, and close windows and doors, or find what hums and switch it off",
            Self::CutAtBeginning => "wait for the count-in to end, then speak",
            Self::CutAtEnd => "leave a moment of silence before you stop",
            Self::NoWords => "say the words aloud; a whisper is not heard beside water",
            Self::NotAll(..) => "say all the words in one go; a silence of a second ends a take",
            Self::TooMuch(..) => "say these words and no others, without stopping",
            Self::SoundBefore(_) => "breathe in and sit still while it counts, then speak",
            Self::SoundAfter(_) => "sit still for a moment after the last word",
            Self::Pause(_) => "say it in one go",
            Self::TooLong(..) => "say it in fewer words, without a pause",
        }
    }
}

/// What was found, one sentence with its numbers.
impl fmt::Display for TakeFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NothingSaid => f.write_str("nothing was said"),
            Self::Clipped(samples) => write!(f, "too loud: the tops of {samples} samples are cut off"),
            Self::Quiet(level) => {
                write!(f, "too quiet: the speech is at {level:.0} dBFS, wanted are {LEAST_LEVEL:.0} or more")
            }
            Self::Noisy(ratio) => write!(
                f,
                "noisy: the speech is {ratio:.0} dB above the background, wanted are {LEAST_SPEECH_TO_NOISE:.0} or more"
            ),
            Self::CutAtBeginning => f.write_str("it begins in the middle of speech"),
            Self::CutAtEnd => f.write_str("it ends in the middle of speech"),
            Self::NoWords => f.write_str("no words were heard: a knock, a cough or a breath, or a whisper"),
            Self::NotAll(spoken, usual) => {
                write!(f, "too short for its text: {:.1} s, about {:.1} s is usual", spoken.as_f64(), usual.as_f64())
            }
            Self::TooMuch(spoken, usual) => {
                write!(f, "too long for its text: {:.1} s, about {:.1} s is usual", spoken.as_f64(), usual.as_f64())
            }
            Self::SoundBefore(time) => write!(f, "a sound {:.1} s before the words", time.as_f64()),
            Self::SoundAfter(time) => write!(f, "a sound {:.1} s after the words", time.as_f64()),
            Self::Pause(time) => write!(f, "a pause of {:.1} s inside", time.as_f64()),
            Self::TooLong(spoken, limit) => {
                write!(f, "too long: {:.1} s, at most {:.1} s are wanted", spoken.as_f64(), limit.as_f64())
            }
        }
    }
}
