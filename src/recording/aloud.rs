//! Takes played back, as the swimmer will hear them.

use crate::audio::voice::HeardThrough;
use crate::device::{Wish, output};
use crate::script::Settings;
use crate::session::audition::{Audition, NotHeard};
use crate::timeline::bank::BankSettings;

/// An output for takes, opened for each of them: it may be another one by then.
#[derive(Debug)]
pub(super) struct Aloud {
    wish: Wish,
    playing: Option<Audition>,
}

impl Aloud {
    pub const fn through(wish: Wish) -> Self {
        Self { wish, playing: None }
    }

    /// Begins to play samples of one channel at a rate; what plays already ends.
    pub fn play(&mut self, samples: &[f32], rate: u32) -> Result<(), NotHeard> {
        self.stop();
        let settings = BankSettings::of(&Settings::default(), HeardThrough::Headphones);
        self.playing = Some(Audition::start(samples, rate, &settings, &output::find(&self.wish))?);
        Ok(())
    }

    /// Whether something is being played; why not, where it broke off.
    pub fn is_playing(&mut self) -> Result<bool, NotHeard> {
        let over = self.playing.as_ref().map_or(Ok(true), Audition::is_over);
        if !matches!(over, Ok(false)) {
            self.playing = None;
        }
        Ok(!over?)
    }

    /// Ends it.
    pub fn stop(&mut self) {
        if let Some(playing) = self.playing.take() {
            playing.stop();
        }
    }
}
