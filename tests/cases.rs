//! How much the tests try: what the quick loop has time for, or all that `LENGTHWISE_CASES` asks for, as the gate does.

use proptest::test_runner::Config;

/// The variable, if it is set: how many cases each property tries.
fn asked() -> Option<u32> {
    let text = std::env::var("LENGTHWISE_CASES").ok()?;
    Some(text.parse().unwrap_or_else(|_| panic!("LENGTHWISE_CASES is `{text}`, which is no number of cases")))
}

/// A property's settings: as many cases as are asked for, else `quick`. What fails is shown in full; no file is left.
pub fn cases(quick: u32) -> Config {
    Config { cases: asked().unwrap_or(quick), failure_persistence: None, ..Config::default() }
}

/// Of two amounts the one for the quick loop, or the one for runs that were asked for more.
pub fn amount<T>(quick: T, whole: T) -> T {
    if asked().is_some() { whole } else { quick }
}
