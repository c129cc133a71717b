//! The tables' names and columns: what is written and what is read cannot differ.

pub(super) const SWIMMERS: (&str, &[&str]) = ("swimmers.csv", &["swimmer", "profile"]);
pub(super) const COMPARISONS: (&str, &[&str]) =
    ("comparisons.csv", &["swimmer", "phrase", "other phrase", "begun", "ended"]);
pub(super) const PRACTICES: (&str, &[&str]) = (
    "practices.csv",
    &[
        "practice",
        "swimmer",
        "day",
        "begun",
        "title",
        "pool",
        "minutes",
        "feel",
        "effort",
        "pain",
        "note",
        "script",
        "script name",
        "record",
        HELD,
    ],
);
/// A column that tables of older programs lack.
pub(super) const HELD: &str = "held";
pub(super) const SETS: (&str, &[&str]) = ("sets.csv", &["practice", "set", "title", "apart"]);
pub(super) const REPEATS: (&str, &[&str]) = (
    "repeats.csv",
    &[
        "practice",
        "set",
        "repeat",
        "round",
        "metres",
        "lengths",
        "swim",
        "plain lengths",
        "test",
        "tempo s",
        "predicted s",
        "breaths left",
        "breaths right",
        "state",
        "rehearsed",
    ],
);
pub(super) const OBSERVATIONS: (&str, &[&str]) =
    ("observations.csv", &["practice", "set", "repeat", "length", "measure", "value", "source"]);

/// What stands for the answer that nothing hurt.
pub(super) const NO_PAIN: &str = "no";
