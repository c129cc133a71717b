//! What a trade calls by two names: words of a pool deck that the language spells another way.
//!
//! Only hints are made of them; a script is read by its own words alone.

use crate::diag::nearest;

/// A word people write, and the word of the language.
const SYNONYMS: [(&str, &str); 45] = [
    ("all", "each length"),
    ("backstroke", "back"),
    ("band", "buoy"),
    ("beat", "beats"),
    ("breaststroke", "breast"),
    ("breath", "breathe"),
    ("breathing", "breathe"),
    ("butterfly", "fly"),
    ("cooldown", "cool-down"),
    ("distance", "swim"),
    ("dolphin", "fly"),
    ("drills", "drill"),
    ("equipment", "gear"),
    ("every length", "each length"),
    ("flippers", "fins"),
    ("flutter", "kick"),
    ("free", "crawl"),
    ("freestyle", "crawl"),
    ("front crawl", "crawl"),
    ("hard", "fast"),
    ("im", "medley"),
    ("individual medley", "medley"),
    ("intensity", "effort"),
    ("interval", "send-off"),
    ("kicking", "kick"),
    ("last", "last length"),
    ("leave", "send-off"),
    ("legs", "kick"),
    ("max", "at-most"),
    ("maximum", "at-most"),
    ("moderate", "steady"),
    ("name", "title"),
    ("pull buoy", "buoy"),
    ("pull-buoy", "buoy"),
    ("pullbuoy", "buoy"),
    ("repeats", "swim"),
    ("reps", "swim"),
    ("round", "rounds"),
    ("sculling", "scull"),
    ("sides", "breathe"),
    ("sprint", "fast"),
    ("stroke-count", "strokes"),
    ("stroke-rate", "tempo"),
    ("turnaround", "send-off"),
    ("warmup", "warm-up"),
];

/// The word among `known` that was most likely meant: by the trade's other name for it, else by its letters.
pub fn meant<'a>(found: &str, known: impl IntoIterator<Item = &'a str> + Clone) -> Option<&'a str> {
    let small = found.trim().to_lowercase();
    let other = SYNONYMS.iter().find(|(word, _)| *word == small).map(|(_, ours)| *ours);
    other.and_then(|ours| known.clone().into_iter().find(|name| *name == ours)).or_else(|| nearest(&small, known))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn other_names_come_before_near_letters() {
        assert!(SYNONYMS.is_sorted(), "sorted, so that a new word finds its place");
        assert_eq!(meant("IM", ["crawl", "medley"]), Some("medley"));
        assert_eq!(meant("interval", ["effort", "send-off", "tempo"]), Some("send-off"));
        assert_eq!(meant("interval", ["effort", "tempo"]), None, "only a word that may stand here");
        assert_eq!(meant("craul", ["crawl", "medley"]), Some("crawl"));
    }
}
