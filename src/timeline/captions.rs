//! The spoken words with their times as WebVTT (W3C), for those who read along.
//!
//! What does not speak (beats, pips, the go) is not in it. The file's source stands in a note, so that it is known again.

use super::{Cue, Timeline};
use crate::units::time::Seconds;
use std::fmt::Write;

/// What the first note begins with.
const NOTE: &str = "NOTE made by Lengthwise of ";

/// Every spoken cue, its text and its time rounded to the millisecond.
pub fn webvtt(timeline: &Timeline, source: &str) -> String {
    let mut out = format!("WEBVTT\n\n{NOTE}{}\n", note(source));
    for leg in &timeline.legs {
        for cue in leg.cues.iter().filter(|cue| cue.kind.is_voice() && !cue.text.trim().is_empty()) {
            let [start, end] = [leg.origin + cue.at, leg.origin + cue.at + cue.len].map(milliseconds);
            // Writing to a String cannot fail.
            let _ = write!(out, "\n{} --> {}\n{}\n", clock(start), clock(end.max(start + 1)), text(cue));
        }
    }
    out
}

/// The source of captions of ours, given their beginning.
pub fn source(captions: &str) -> Option<&str> {
    captions.strip_prefix("WEBVTT\n\n")?.strip_prefix(NOTE)?.lines().next()
}

/// What [`source`] gives back for a source: a note holds one line and no arrow.
pub fn note(source: &str) -> String {
    source.replace("-->", "->").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn text(cue: &Cue) -> String {
    let words = cue.text.split_whitespace().collect::<Vec<_>>().join(" ");
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

fn milliseconds(at: Seconds) -> i64 {
    (at.nanos() + 500_000) / 1_000_000
}

fn clock(milliseconds: i64) -> String {
    let (seconds, rest) = (milliseconds / 1000, milliseconds % 1000);
    format!("{:02}:{:02}:{:02}.{rest:03}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

#[cfg(test)]
mod tests {
    use super::super::{CueKind, Leg, LegKind};
    use super::*;
    use crate::units::level::Decibels;

    #[test]
    fn what_is_spoken_stands_in_it_and_nothing_else() {
        let cue = |kind, at, text: &str| Cue {
            kind,
            at: Seconds::from_millis(at),
            len: Seconds::from_nanos(1_499_600_000),
            id: String::new(),
            text: text.to_owned(),
            parts: Vec::new(),
        };
        let cues = vec![
            cue(CueKind::Phrase, 500, "reach & roll --> <b>now</b>\n\nnext"),
            cue(CueKind::Pip, 600, "pip"),
            cue(CueKind::Say, 700, "  "),
        ];
        let leg = Leg {
            kind: LegKind::Talk,
            origin: Seconds::from_secs(36_000),
            len: Seconds::from_secs(5),
            cues,
            grids: Vec::new(),
        };
        let timeline = Timeline { legs: vec![leg], sounds: Vec::new(), ducking: Decibels::of(12.0) };
        let text = webvtt(&timeline, "script a-->b.yaml\n1");
        assert_eq!(
            text,
            "WEBVTT\n\nNOTE made by Lengthwise of script a->b.yaml 1\n\n10:00:00.500 --> 10:00:02.000\n\
             reach &amp; roll --&gt; &lt;b&gt;now&lt;/b&gt; next\n"
        );
        assert_eq!(source(&text), Some("script a->b.yaml 1"));
        assert_eq!(note("script a-->b.yaml\n1"), "script a->b.yaml 1");
        assert_eq!(source("WEBVTT\n\n00:01.000 --> 00:02.000\nhello\n"), None);
    }
}
