//! The version in a manifest's text, one higher: that number alone is changed, every comment and blank stays.

use crate::diag::{Sources, has_errors};
use crate::pack::manifest::{self, DrillPair, Manifest};
use std::fmt;

/// The key behind whose line a version is put where there is none.
const FIRST: &str = "lengthwise-pack:";

/// Why a version cannot be raised.
#[derive(Debug)]
pub(super) enum NotRaised {
    /// The manifest has errors.
    Broken,
    /// It is written in such a way that this version has to be put into it by hand.
    ByHand(u32),
}

/// Why, and what to do.
impl fmt::Display for NotRaised {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Broken => f.write_str("the manifest has errors: `lengthwise pack check` shows them"),
            Self::ByHand(version) => {
                write!(f, "write `version: {version}` into it yourself, below `lengthwise-pack: 1`")
            }
        }
    }
}

/// The text with the version raised by one.
///
/// # Errors
/// Where the manifest is wrong, or would differ in more than its version.
pub(super) fn raised(text: &str) -> Result<String, NotRaised> {
    let old = parse(text).ok_or(NotRaised::Broken)?;
    let wanted = old.version().saturating_add(1);
    let raised = match old.version {
        Some(version) => {
            let (start, end) = (version.span.start as usize, version.span.end as usize);
            text.get(..start).zip(text.get(end..)).map(|(before, behind)| format!("{before}{wanted}{behind}"))
        }
        None => {
            let line = text.split_inclusive('\n').find(|line| line.starts_with(FIRST));
            line.and_then(|line| {
                let (before, behind) = text.split_once(line)?;
                let end = if line.ends_with("\r\n") { "\r\n" } else { "\n" };
                let whole = if line.ends_with('\n') { "" } else { end };
                Some(format!("{before}{line}{whole}version: {wanted}{end}{behind}"))
            })
        }
    };
    // Read again: whatever way the manifest is written, nothing but the version may differ.
    let pair = |pair: &DrillPair| (pair.drill.clone(), pair.phrase.value.clone());
    let same = |new: &Manifest| {
        new.version() == wanted
            && (&new.title, &new.language, &new.voice, &new.agreed, &new.licence)
                == (&old.title, &old.language, &old.voice, &old.agreed, &old.licence)
            && new.movements == old.movements
            && new.pairs.iter().map(pair).eq(old.pairs.iter().map(pair))
            && new.entries.iter().map(|e| (&e.id.value, &e.full)).eq(old.entries.iter().map(|e| (&e.id.value, &e.full)))
    };
    raised.filter(|text| parse(text).as_ref().is_some_and(same)).ok_or(NotRaised::ByHand(wanted))
}

fn parse(text: &str) -> Option<Manifest> {
    let mut sources = Sources::new();
    let source = sources.add(manifest::FILE, text);
    let (manifest, problems) = manifest::parse(source, &sources);
    manifest.filter(|_| !has_errors(&problems))
}

#[cfg(test)]
mod tests {
    use super::*;

    const REST: &str =
        "title: T # version: 7\nlanguage: en\nspeaker: {voice: synthetic, made-with: m, agreed: a}\nlicence: L\n";

    #[test]
    fn only_the_number_changes() {
        let with = |line: &str| format!("# mine\nlengthwise-pack: 1   # format\n{line}{REST}");
        for (line, expected) in [
            ("version: 1\n", "version: 2\n"),
            ("version:   9  # shared in May\n", "version:   10  # shared in May\n"),
            ("version: \"41\"\n", "version: 42\n"),
            ("", "version: 2\n"),
        ] {
            assert_eq!(raised(&with(line)).unwrap(), with(expected));
        }
        let windows = with("").replace('\n', "\r\n");
        assert_eq!(raised(&windows).unwrap(), with("version: 2\n").replace('\n', "\r\n"));
    }

    #[test]
    fn what_cannot_be_changed_safely_is_left_to_the_user() {
        let flow = "{ lengthwise-pack: 1, title: T, language: en, licence: L, speaker: {voice: v, made-with: m, agreed: a} }\n";
        assert!(raised(flow).unwrap_err().to_string().contains("`version: 2`"));
        assert!(raised("lengthwise-pack: 1\n").unwrap_err().to_string().contains("errors"));
        assert!(
            raised(&format!("lengthwise-pack: 1\nversion: 1000000\n{REST}"))
                .unwrap_err()
                .to_string()
                .contains("yourself")
        );
    }
}
