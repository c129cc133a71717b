//! The words of a board: what each comes to in the language, and those that no cue script can hold, with what to write
//! instead. Abbreviations are those of the decks: common practice, no source.

use crate::script::Phase;

/// A key of the language with its value: `effort`, `easy`.
pub type Means = &'static [(&'static str, &'static str)];

/// Words that say how to swim, longer phrases before their beginnings.
const MANNER: &[(&[&str], Means)] = &[
    (&["all", "out"], &[("effort", "fast")]),
    (&["all-out"], &[("effort", "fast")]),
    (&["easy"], &[("effort", "easy")]),
    (&["ez"], &[("effort", "easy")]),
    (&["gentle"], &[("effort", "easy")]),
    (&["relaxed"], &[("effort", "easy")]),
    (&["loosen"], &[("effort", "easy")]),
    (&["steady"], &[("effort", "steady")]),
    (&["moderate"], &[("effort", "steady")]),
    (&["mod"], &[("effort", "steady")]),
    (&["brisk"], &[("effort", "brisk")]),
    (&["strong"], &[("effort", "brisk")]),
    (&["firm"], &[("effort", "brisk")]),
    (&["fast"], &[("effort", "fast")]),
    (&["max"], &[("effort", "fast")]),
    (&["maximum"], &[("effort", "fast")]),
    (&["hard"], &[("effort", "fast")]),
    (&["sprint"], &[("effort", "fast")]),
    (&["sprints"], &[("effort", "fast")]),
    (&["build"], &[("effort", "build")]),
    (&["building"], &[("effort", "build")]),
    (&["front", "crawl"], &[("stroke", "crawl")]),
    (&["crawl"], &[("stroke", "crawl")]),
    (&["free"], &[("stroke", "crawl")]),
    (&["freestyle"], &[("stroke", "crawl")]),
    (&["fr"], &[("stroke", "crawl")]),
    (&["fc"], &[("stroke", "crawl")]),
    (&["back", "crawl"], &[("stroke", "back")]),
    (&["backstroke"], &[("stroke", "back")]),
    (&["back"], &[("stroke", "back")]),
    (&["bk"], &[("stroke", "back")]),
    (&["breaststroke"], &[("stroke", "breast")]),
    (&["breast"], &[("stroke", "breast")]),
    (&["brst"], &[("stroke", "breast")]),
    (&["br"], &[("stroke", "breast")]),
    (&["butterfly"], &[("stroke", "fly")]),
    (&["fly"], &[("stroke", "fly")]),
    (&["fl"], &[("stroke", "fly")]),
    (&["individual", "medley"], &[("stroke", "medley")]),
    (&["medley"], &[("stroke", "medley")]),
    (&["im"], &[("stroke", "medley")]),
    (&["any", "stroke"], &[("stroke", "choice")]),
    (&["choice"], &[("stroke", "choice")]),
    (&["ch"], &[("stroke", "choice")]),
    (&["swim"], &[("part", "swim")]),
    (&["kick"], &[("part", "kick")]),
    (&["kicking"], &[("part", "kick")]),
    (&["k"], &[("part", "kick")]),
    (&["pull", "buoy"], &[("part", "pull"), ("gear", "buoy")]),
    (&["pull"], &[("part", "pull")]),
    (&["scull"], &[("part", "scull")]),
    (&["sculling"], &[("part", "scull")]),
    (&["fins"], &[("gear", "fins")]),
    (&["paddles"], &[("gear", "paddles")]),
    (&["pads"], &[("gear", "paddles")]),
    (&["buoy"], &[("gear", "buoy")]),
    (&["snorkel"], &[("gear", "snorkel")]),
    (&["no", "board"], &[]),
    (&["board"], &[("gear", "board")]),
    (&["kickboard"], &[("gear", "board")]),
    (&["time", "trial"], &[("test", "time")]),
    (&["for", "time"], &[("test", "time")]),
    (&["timed"], &[("test", "time")]),
    (&["tt"], &[("test", "time")]),
    (&["count", "strokes"], &[("count", "last length")]),
    (&["count"], &[("count", "last length")]),
    (&["bilateral"], &[("breathe", "every 3")]),
    (&["at", "css"], &[("pace", "critical")]),
    (&["css", "pace"], &[("pace", "critical")]),
    (&["css"], &[("pace", "critical")]),
];

/// Headings.
const LABELS: &[(&[&str], Phase)] = &[
    (&["warm", "up"], Phase::WarmUp),
    (&["warm-up"], Phase::WarmUp),
    (&["warmup"], Phase::WarmUp),
    (&["wu"], Phase::WarmUp),
    (&["pre-set"], Phase::Build),
    (&["preset"], Phase::Build),
    (&["main", "set"], Phase::Main),
    (&["main"], Phase::Main),
    (&["ms"], Phase::Main),
    (&["cool", "down"], Phase::CoolDown),
    (&["cool-down"], Phase::CoolDown),
    (&["cooldown"], Phase::CoolDown),
    (&["swim", "down"], Phase::CoolDown),
    (&["warm", "down"], Phase::CoolDown),
    (&["warm-down"], Phase::CoolDown),
    (&["cd"], Phase::CoolDown),
    (&["wd"], Phase::CoolDown),
];

/// Words that begin something with a value of its own, read elsewhere; here so that near misses find them.
const LEADS: &[&str] = &[
    "on",
    "off",
    "rest",
    "ri",
    "pace",
    "tempo",
    "rate",
    "drill",
    "focus",
    "breathe",
    "breathing",
    "sight",
    "call",
    "second",
    "between",
    "rounds",
    "round",
    "spm",
    "most",
];

/// Words that join others and mean nothing by themselves.
pub const FILLERS: &[&str] = &["with", "and", "of", "the", "in", "each", "effort"];
/// Words for a rest.
pub const REST: &[&str] = &["rest", "r", "ri"];
/// Words for a send-off.
pub const ON: &[&str] = &["on", "off"];
/// Seconds.
pub const SECONDS: &[&str] = &["s", "sec", "secs", "second", "seconds"];
/// Minutes.
pub const MINUTES: &[&str] = &["min", "mins", "minute", "minutes"];
/// Metres.
pub const METRES: &[&str] = &["m", "metre", "metres", "meter", "meters"];
/// Yards.
pub const YARDS: &[&str] = &["y", "yd", "yds", "yard", "yards"];

/// What cannot be written into a cue script, or has two meanings: why, and what to write.
const REFUSED: &[(&[&str], &str, &str)] = &[
    (
        &["hypoxic", "underwater", "underwaters", "breath-hold", "breath-holding", "lungbuster", "lungbusters"],
        "is not written here: swimmers faint from held breath without warning",
        "breathe whenever you need to; `breathe 3` marks every third stroke",
    ),
    (
        &["desc", "descend", "descending"],
        "does not say from what to what",
        "name it: `pace 2:05-1:50`, or a tempo `1.30-1.10`",
    ),
    (&["negative", "neg", "negative-split"], "does not say by how much", "name it: `second half 2 s faster`"),
    (
        &["odds", "evens", "odd", "even"],
        "goes by repeat, and this swim has one",
        "say how many: `8x50 odds easy evens fast`; by length: `100 (25 easy / 25 fast)`",
    ),
    (
        &["alternate", "alternating", "alt"],
        "goes by length or by repeat",
        "by repeat: `8x50 odds easy evens fast`; by length: `8x50 (25 easy / 25 fast)`",
    ),
    (
        &["every"],
        "goes by repeat, and this swim has one, or by length",
        "say how many: `12x25 every 4th fast`; by length: `300 (50 free / 25 breast)`",
    ),
    (
        &["hold", "holding"],
        "has two meanings: the time of each repeat or a pace",
        "write the pace for 100: `pace 1:35`",
    ),
    (&["ladder", "pyramid"], "does not say which distances", "write them with dashes: `50-100-150-100-50`"),
    (&["order", "reverse"], "is not known", "write the parts: `100 (25 fly / 25 back / 25 breast / 25 free)`"),
    (&["sr"], "has two meanings: seconds of rest or stroke rate", "write `rest 15` or `52/min`"),
    (
        &["threshold", "zone", "aerobic", "race"],
        "is not an effort of the language",
        "name a pace: `pace 1:50`, or say `steady`, `brisk` or `fast`",
    ),
    (&["broken"], "does not say where it is broken", "write the parts as rounds: `2x(50 rest 10 + 50 rest 10)`"),
];

/// Whether a phrase of a table stands at the beginning of some words.
fn begins(phrase: &[&str], words: &[&str]) -> bool {
    words.len() >= phrase.len() && phrase.iter().zip(words).all(|(a, b)| a == b)
}

/// What some words say of how to swim, and how many of them do.
pub fn manner(words: &[&str]) -> Option<(usize, Means)> {
    MANNER.iter().find(|(phrase, _)| begins(phrase, words)).map(|(phrase, means)| (phrase.len(), *means))
}

/// The part of a practice that some words head, and how many of them do.
pub fn label(words: &[&str]) -> Option<(usize, Phase)> {
    LABELS.iter().find(|(phrase, _)| begins(phrase, words)).map(|(phrase, phase)| (phrase.len(), *phase))
}

/// Why a word is refused, and what to write for it.
pub fn refused(word: &str) -> Option<(&'static str, &'static str)> {
    REFUSED.iter().find(|(words, ..)| words.contains(&word)).map(|(_, why, hint)| (*why, *hint))
}

/// Every word that a board may have.
pub fn all<'a>() -> impl Iterator<Item = &'a str> {
    let manner = MANNER.iter().map(|(phrase, _)| *phrase);
    let phrases = manner.chain(LABELS.iter().map(|(phrase, _)| *phrase));
    let single = phrases.filter_map(|phrase| <[&str; 1]>::try_from(phrase).ok().map(|[word]| word));
    // Two letters are near everything.
    single.chain(LEADS.iter().copied()).filter(|word| word.len() > 2)
}
