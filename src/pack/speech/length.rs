//! How long texts should take to say, by the built-in voice's own saying of them.

use super::rate::RATE;
use super::{AFTER, BEFORE, Speech, words};
use crate::audio::take::TextTime;
use crate::pack::recorded::Recording;
use crate::units::time::{NANOS, Seconds};

/// The silence that the voice's recordings have at their ends.
const AIR: Seconds = Seconds::from_nanos((BEFORE + AFTER) as i64 * NANOS / RATE as i64);

/// The time of each English text: as long as the voice takes, by its letters where there is no voice or it fails; none where there
/// is nothing to say.
pub fn text_times(speech: Option<&Speech>, texts: &[String]) -> Vec<Option<TextTime>> {
    // At a comma the voice stops for longer than people do in a phrase of a few words.
    let plain: Vec<String> = texts.iter().map(|text| text.replace([',', ';', ':'], " ")).collect();
    let said = speech.map_or_else(|| vec![None; texts.len()], |speech| speech.say(&plain));
    let time = |((text, plain), said): ((&String, &String), Option<Recording>)| match said {
        Some(said) => Some(TextTime::said(text, said.len - AIR)),
        None => {
            Some(words::of(plain)).filter(|words| !words.is_empty()).map(|words| TextTime::by_letters(text, &words))
        }
    };
    texts.iter().zip(&plain).zip(said).map(time).collect()
}
