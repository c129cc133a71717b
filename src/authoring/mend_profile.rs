//! A counted length for a swimmer's profile: put into the text of one that is there, which stays as it is everywhere else, or the
//! text of a new one. Files are for others.

use crate::diag::{Sources, has_errors};
use crate::script::yaml::{self, Node, NodeKind};
use crate::swimmer::{Swimmer, profile};
use crate::units::swim::PoolLength;
use serde_json::Value;
use std::fmt;
use std::ops::Range;

/// Tempos nearer than this, in seconds, are one point measured twice: our choice, half of what a range of tempos spans at least.
const SAME_TEMPO: f64 = 0.05;

/// A length that was counted, and its tempo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CountedPoint {
    /// Strokes of a length, 4 to 200.
    pub count: u32,
    /// Hundredths of a second a stroke, 40 to 250.
    pub centis: u32,
}

impl fmt::Display for CountedPoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{{ count: {}, tempo: {}.{:02} s }}", self.count, self.centis / 100, self.centis % 100)
    }
}

/// A profile with a counted length more, or with another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProfileMend {
    /// All of the new text.
    pub text: String,
    /// The line of the text, from 1, where the two begin to differ.
    pub line: usize,
    /// The lines that go.
    pub old: Vec<String>,
    /// The lines that come.
    pub new: Vec<String>,
}

/// Why a profile cannot be mended: a sentence with what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unmendable(String);

impl fmt::Display for Unmendable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Unmendable {}

/// The bytes of a node.
fn range(node: &Node) -> Range<usize> {
    node.span.start as usize..node.span.end as usize
}

/// Puts a point into a profile's text: beside one that is at another tempo, else in the place of the one at the nearest.
///
/// # Errors
/// Where the text is no profile, or nothing that is known of this swimmer goes with the point.
pub fn mend(text: &str, point: CountedPoint) -> Result<ProfileMend, Unmendable> {
    let Some((root, swimmer)) = read(text) else {
        let why = "it has errors of its own: `lengthwise check SCRIPT --swimmer FILE` shows them";
        return Err(Unmendable(why.to_owned()));
    };
    let possible = changes(&root, &swimmer, text, point).into_iter().filter_map(|(place, put)| {
        let mut new = text.to_owned();
        new.replace_range(place, &put);
        read(&new).map(|_| new)
    });
    let made = possible.into_iter().next().ok_or_else(|| {
        Unmendable(format!(
            "{point} does not go with the rest of it: put it under `stroke:` by hand, and see what is wrong"
        ))
    })?;
    if made == text {
        return Err(Unmendable(format!("it has {point} already")));
    }
    Ok(differing(text, made))
}

/// The text of a new profile.
///
/// # Errors
/// Where nobody swims like that.
pub fn begin(point: CountedPoint, pool: PoolLength, name: Option<&str>) -> Result<String, Unmendable> {
    let name = name.map_or_else(String::new, |name| format!("name: {}\n", Value::from(name)));
    let text = format!(
        "# What is known of a swimmer, for `--swimmer`. Change it as you learn more.\nlengthwise-profile: 1\n{name}pool: {pool}\n\
         stroke:                        # strokes in one length: each hand that goes in\n  - {point}\n"
    );
    match read(&text) {
        Some(_) => Ok(text),
        None => Err(Unmendable(format!("nobody swims {point} in {pool}: is the pool as long as that?"))),
    }
}

/// A text that is a profile without errors.
fn read(text: &str) -> Option<(Node, Swimmer)> {
    let mut sources = Sources::new();
    let source = sources.add("profile", text);
    let (swimmer, problems) = profile::parse(source, &sources);
    let swimmer = swimmer.filter(|_| !has_errors(&problems))?;
    Some((yaml::read(source, text).0?, swimmer))
}

/// What could be put where, the best first.
fn changes(root: &Node, swimmer: &Swimmer, text: &str, point: CountedPoint) -> Vec<(Range<usize>, String)> {
    let NodeKind::Map(pairs) = &root.kind else { return Vec::new() };
    let value = |key: &str| pairs.iter().find(|(name, _)| name.value == key).map(|(_, node)| node);
    let Some(stroke) = value("stroke") else {
        let end = if text.ends_with('\n') { "" } else { "\n" };
        return vec![(text.len()..text.len(), format!("{end}stroke:\n  - {point}\n"))];
    };
    let NodeKind::List(items) = &stroke.kind else { return Vec::new() };
    // A count with its time has a tempo too, which is the usual one where it stands alone.
    let alone = (items.len() == 1 && value("usual").is_none()).then(|| swimmer.usual.as_f64());
    let own = f64::from(point.centis) / 100.0;
    let away = |item: &Node| tempo_of(item).or(alone).map_or(0.0, |tempo| (tempo - own).abs());
    let nearest = items.iter().min_by(|one, other| away(one).total_cmp(&away(other)));
    let Some(nearest) = nearest else { return Vec::new() };
    let put = |place: Range<usize>| {
        let there = text.get(place.clone()).filter(|there| !there.contains('#'))?;
        Some((place.start..place.start + there.trim_end().len(), point.to_string()))
    };
    let replaced = put(range(nearest)).into_iter();
    let added = items.last().filter(|_| items.len() == 1 && away(nearest) >= SAME_TEMPO);
    added.and_then(|item| beside(range(item), text, point)).into_iter().chain(replaced).collect()
}

/// A point behind an item of a list, written as that is.
fn beside(item: Range<usize>, text: &str, point: CountedPoint) -> Option<(Range<usize>, String)> {
    let line = text.get(..item.start)?.rfind('\n').map_or(0, |end| end + 1);
    let before = text.get(line..item.start)?;
    if before.trim() == "-" {
        let written = text.get(item.clone())?.trim_end().len();
        let end = item.start + written;
        // A comment behind the item stays with it.
        let end = text.get(end..)?.find('\n').map_or(text.len(), |rest| end + rest);
        return Some((end..end, format!("\n{before}{point}")));
    }
    Some((item.end..item.end, format!(", {point}")))
}

/// The tempo that an item states.
fn tempo_of(item: &Node) -> Option<f64> {
    let NodeKind::Map(pairs) = &item.kind else { return None };
    let (_, node) = pairs.iter().find(|(name, _)| name.value == "tempo")?;
    let NodeKind::Scalar(scalar) = &node.kind else { return None };
    crate::script::quantity::time::tempo(&scalar.text).ok().map(|written| written.tempo.as_f64())
}

/// The lines in which two texts differ.
fn differing(old: &str, text: String) -> ProfileMend {
    let (before, after): (Vec<&str>, Vec<&str>) = (old.lines().collect(), text.lines().collect());
    let same = before.iter().zip(&after).take_while(|(one, other)| one == other).count();
    let ends = before.iter().rev().zip(after.iter().rev()).take_while(|(one, other)| one == other).count();
    let ends = ends.min(before.len() - same).min(after.len() - same);
    let lines = |lines: &[&str]| {
        lines.get(same..lines.len() - ends).unwrap_or_default().iter().map(|line| (*line).to_owned()).collect()
    };
    let (line, old, new) = (same + 1, lines(&before), lines(&after));
    ProfileMend { text, line, old, new }
}

#[cfg(test)]
mod tests {
    use super::*;

    const POINT: CountedPoint = CountedPoint { count: 20, centis: 108 };

    /// The line and what comes for what goes.
    fn mended(text: &str) -> (usize, String, String) {
        let mend = mend(text, POINT).unwrap();
        assert!(read(&mend.text).is_some());
        // Everything else is as it was.
        let mut lines: Vec<&str> = text.lines().collect();
        lines.splice(mend.line - 1..mend.line - 1 + mend.old.len(), mend.new.iter().map(String::as_str));
        assert_eq!(lines.join("\n") + "\n", mend.text);
        (mend.line, mend.old.join("|"), mend.new.join("|"))
    }

    #[test]
    fn a_point_is_put_in_and_nothing_else_changes() {
        let head = "# of Ida\nlengthwise-profile: 1\npool: 25 m   # the old one\n";
        for (text, line, old, new) in [
            ("hundred: 1:50\n", 5, "", "stroke:|  - { count: 20, tempo: 1.08 s }"),
            (
                "stroke: [{ count: 19, tempo: 1.30 s }]   # in May\n",
                4,
                "stroke: [{ count: 19, tempo: 1.30 s }]   # in May",
                "stroke: [{ count: 19, tempo: 1.30 s }, { count: 20, tempo: 1.08 s }]   # in May",
            ),
            (
                "stroke: [{ count: 19, tempo: 1.10 s }]\n",
                4,
                "stroke: [{ count: 19, tempo: 1.10 s }]",
                "stroke: [{ count: 20, tempo: 1.08 s }]",
            ),
            (
                "stroke:\n  - { count: 18, tempo: 1.30 s }\n  - { count: 21, tempo: 1.05 s } # quick\nside: left\n",
                6,
                "  - { count: 21, tempo: 1.05 s } # quick",
                "  - { count: 20, tempo: 1.08 s } # quick",
            ),
            (
                "stroke:\n  - count: 18\n    tempo: 1.30 s   # slow\nside: left\n",
                7,
                "",
                "  - { count: 20, tempo: 1.08 s }",
            ),
            (
                "stroke:\n- count: 21\n  tempo: 1.05 s\nside: left\n",
                5,
                "- count: 21|  tempo: 1.05 s",
                "- { count: 20, tempo: 1.08 s }",
            ),
            // Its time makes it 1.31 s.
            ("stroke:\n  - { count: 18, time: 27.5 s }\n", 6, "", "  - { count: 20, tempo: 1.08 s }"),
        ] {
            assert_eq!(mended(&format!("{head}{text}")), (line, old.to_owned(), new.to_owned()), "{text}");
        }
        let same = format!("{head}stroke: [{POINT}]\n");
        assert!(mend(&same, POINT).unwrap_err().to_string().contains("already"));
    }

    #[test]
    fn what_cannot_be_mended_is_refused() {
        let refused = |text: &str| mend(text, POINT).unwrap_err().to_string();
        assert!(refused("lengthwise-profile: 1\npool: 25 m\n").contains("errors of its own"));
        assert!(refused("").contains("errors of its own"));
        // Fewer strokes at a quicker tempo than at both others: nobody is like that, wherever it is put.
        let text =
            "lengthwise-profile: 1\npool: 25 m\nstroke: [{ count: 24, tempo: 1.40 s }, { count: 25, tempo: 1.30 s }]\n";
        assert!(refused(text).contains("by hand"), "{}", refused(text));
        let comment = "lengthwise-profile: 1\npool: 25 m\nstroke:\n  - count: 19 # a good day\n    tempo: 1.10 s\n";
        assert!(refused(comment).contains("by hand"));
    }

    #[test]
    fn a_new_profile_is_one() {
        let pool = crate::script::quantity::swim::pool("25 m").unwrap();
        let text = begin(POINT, pool, Some("Ida: \"the\" quick")).unwrap();
        let (_, swimmer) = read(&text).unwrap();
        assert_eq!(swimmer.name.as_deref(), Some("Ida: \"the\" quick"));
        assert!((swimmer.usual.as_f64() - 1.08).abs() < 1e-9);
        assert!(begin(CountedPoint { count: 3, centis: 108 }, pool, None).is_err());
    }
}
