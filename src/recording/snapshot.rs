//! What a screen shows of a recording, as it stands at a moment.

use super::answer::Answer;

/// How things stand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RecordingSnapshot {
    /// The pack's title.
    pub title: String,
    /// Whose voice it is.
    pub voice: String,
    /// The microphone; empty where there is none at the moment.
    pub microphone: String,
    /// The text in hand, from 1, and how many there are.
    pub of: (usize, usize),
    /// How many have been kept.
    pub kept: usize,
    /// What the text is for: `phrases/reach-forward.short`.
    pub name: String,
    /// The words to say.
    pub text: String,
    /// What happens.
    pub state: State,
    /// The level of the moment in dBFS: the largest sample of the last tenth of a second. None without a microphone.
    pub level: Option<f64>,
    /// The largest level of the last seconds in dBFS.
    pub peak: Option<f64>,
    /// The level of the room in dBFS.
    pub room: Option<f64>,
    /// The take that waits for a decision, in words; then what is wrong with it, each with what to change.
    pub take: Option<(String, Vec<(String, String)>)>,
    /// What was last said or went wrong.
    pub last: Option<String>,
}

/// What happens.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum State {
    /// Waiting for somebody to begin.
    #[default]
    Ready,
    /// Counting in: so many counts are left.
    Count(u32),
    /// Recording; whether speech has been heard.
    Recording(bool),
    /// Waiting for a decision; whether the take is being played.
    Decision(bool),
    /// Waiting for a microphone.
    Deaf,
    /// At the end.
    Over,
}

impl State {
    /// The answer that space and enter give.
    pub const fn natural(self) -> Option<Answer> {
        match self {
            Self::Ready => Some(Answer::Begin),
            Self::Recording(_) => Some(Answer::Done),
            Self::Decision(_) => Some(Answer::Keep),
            Self::Count(_) | Self::Deaf | Self::Over => None,
        }
    }
}
