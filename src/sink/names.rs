//! Names of files that any player, file system and sorter takes: plain ASCII, short, numbered with leading zeros.
//!
//! Titles are people's: in any script, with slashes, dots and emoji. What a name loses is still in the file's tags.

use any_ascii::any_ascii_char;
use std::collections::{HashMap, HashSet};

/// The longest name with its extension, in characters.
const LONGEST: usize = 40;

/// Lost at the end of a name, or ugly there.
const DROPPED: [char; 6] = [' ', '.', '-', ',', '_', '('];

/// A text in letters, digits and plain signs; nothing is left of one that has none of them.
pub fn plain(text: &str) -> String {
    let mut plain = String::new();
    for letter in text.chars() {
        match letter {
            letter if is_plain(letter) => plain.push(letter),
            // A full stop in a number; anywhere else it might begin an extension, or be lost at the end of a name.
            '.' if plain.ends_with(|c: char| c.is_ascii_digit()) => plain.push('.'),
            '&' => plain.push_str(" and "),
            '×' => plain.push('x'),
            // A picture's name would stand between colons, and would be in nobody's title.
            other if other.is_ascii() || !other.is_alphanumeric() && any_ascii_char(other).starts_with(':') => {
                plain.push(' ');
            }
            other => plain.extend(any_ascii_char(other).chars().map(|c| if is_plain(c) { c } else { ' ' })),
        }
    }
    // The dot that no digit follows.
    let mut kept = String::with_capacity(plain.len());
    let mut rest = plain.chars().peekable();
    while let Some(letter) = rest.next() {
        let ends = letter == '.' && !rest.peek().is_some_and(char::is_ascii_digit);
        kept.push(if ends { ' ' } else { letter });
    }
    kept.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

const fn is_plain(letter: char) -> bool {
    letter.is_ascii_alphanumeric() || matches!(letter, '-' | '_' | '\'' | '(' | ')' | '+' | ',')
}

/// As much of a text as has room, whole words where that leaves more than half of it. It begins with no sign that hides a
/// file or means something to a command line, and ends in none that some systems drop.
fn shorten(text: &str, room: usize) -> &str {
    let text = text.trim_start_matches(['-', '_', '+', ',', '\'', ' ']).trim_end_matches(DROPPED);
    // Plain texts are ASCII.
    let Some((head, tail)) = text.split_at_checked(room) else { return text };
    let whole = head.rfind(' ').filter(|at| !tail.is_empty() && !tail.starts_with(' ') && at * 2 > room);
    let head = whole.and_then(|at| head.get(..at)).unwrap_or(head);
    head.trim_end_matches(DROPPED)
}

/// The name of one file of several: "03 Up the tempos 2 of 3.mp3". `of` is the highest number; of a title that is too long
/// the end is left out, but not `part`.
pub fn numbered(number: usize, of: usize, title: &str, part: &str, extension: &str) -> String {
    let width = of.to_string().len().max(2);
    let (number, part) = (format!("{number:0width$}"), plain(part));
    let behind = if part.is_empty() { String::new() } else { format!(" {part}") };
    let room = LONGEST.saturating_sub(number.len() + 1 + behind.len() + 1 + extension.len());
    let title = plain(title);
    let title = shorten(&title, room);
    let title = if title.is_empty() { "Track" } else { title };
    format!("{number} {title}{behind}.{extension}")
}

/// The name of a file that stands alone.
pub fn alone(title: &str, extension: &str) -> String {
    let title = plain(title);
    let title = shorten(&title, LONGEST.saturating_sub(extension.len() + 2));
    if title.is_empty() {
        return format!("Practice.{extension}");
    }
    format!("{}.{extension}", apart(title))
}

/// Names of folders for people, in their order. Where two would be one, the first keeps it and the others are numbered;
/// capitals tell nobody apart, since many file systems do not.
pub fn folders<'a>(people: impl Iterator<Item = &'a str>) -> Vec<String> {
    /// Room for a number behind it.
    const ROOM: usize = LONGEST - 6;
    let base = |(number, name): (usize, &str)| {
        let name = plain(name);
        match shorten(&name, ROOM) {
            "" => format!("Swimmer {number}"),
            name => apart(name),
        }
    };
    let bases: Vec<String> = (1..).zip(people).map(base).collect();
    let mut taken: HashSet<String> = HashSet::new();
    let first: Vec<bool> = bases.iter().map(|base| taken.insert(base.to_lowercase())).collect();
    let mut next: HashMap<String, usize> = HashMap::new();
    let mut name = |(base, first): (String, bool)| {
        if first {
            return base;
        }
        let number = next.entry(base.to_lowercase()).or_insert(1);
        loop {
            *number += 1;
            let numbered = format!("{base} {number}");
            if taken.insert(numbered.to_lowercase()) {
                return numbered;
            }
        }
    };
    bases.into_iter().zip(first).map(&mut name).collect()
}

/// Whether a name is kept for a device by Windows, whatever follows the first full stop (Microsoft, "Naming Files, Paths,
/// and Namespaces", from memory).
pub fn is_device(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or(name).trim_end().to_ascii_lowercase();
    let port = |name: &str| {
        stem.strip_prefix(name).is_some_and(|digit| digit.len() == 1 && digit.bytes().all(|b| b.is_ascii_digit()))
    };
    ["con", "prn", "aux", "nul"].contains(&stem.as_str()) || port("com") || port("lpt")
}

/// A name that no system takes for a device.
fn apart(name: &str) -> String {
    if !is_device(name) {
        return name.to_owned();
    }
    let (first, rest) = name.split_at(name.find('.').unwrap_or(name.len()));
    format!("{first}_{rest}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn titles_of_people_become_plain_names() {
        let cases = [
            ("Easy start", "Easy start"),
            ("Über die 50er – schnell!", "Uber die 50er - schnell"),
            ("Łódź / Ærøskøbing", "Lodz Aeroskobing"),
            ("Cafe\u{301} 🏊🏽‍♀️ 4×50", "Cafe 4x50"),
            ("Плавание, щука", "Plavanie, shchuka"),
            ("κολύμπι", "kolympi"),
            ("../../etc/passwd", "etc passwd"),
            ("C:\\dir\\*?\"<>|", "C dir"),
            ("1.30 to 0.95 s...", "1.30 to 0.95 s"),
            ("a.mp3", "a mp3"),
            ("Arms & legs", "Arms and legs"),
            ("\u{202e}evil\u{0}\n\ttabs", "evil tabs"),
            ("水泳", "ShuiYong"),
            ("🏊", ""),
            ("½ mile", "1 2 mile"),
        ];
        for (title, expected) in cases {
            assert_eq!(plain(title), expected, "{title}");
        }
    }

    #[test]
    fn names_are_numbered_short_and_unmistakable() {
        assert_eq!(numbered(3, 12, "Range", "", "mp3"), "03 Range.mp3");
        assert_eq!(numbered(3, 120, "CON", "", "mp3"), "003 CON.mp3");
        assert_eq!(numbered(0, 9, "🏊", "", "flac"), "00 Track.flac");
        let long = numbered(7, 12, &"Down the tempos and up. ".repeat(9), "2 of 3", "flac");
        assert_eq!(long, "07 Down the tempos and up 2 of 3.flac");
        let names = [alone("CON", "m3u8"), alone("nul.txt", "m3u8"), alone("Lpt1", "m3u8"), alone("com1.5", "m3u8")];
        assert_eq!(names, ["CON_.m3u8", "nul txt.m3u8", "Lpt1_.m3u8", "com1_.5.m3u8"]);
        assert_eq!(alone("🏊", "m3u8"), "Practice.m3u8");
    }

    #[test]
    fn people_of_one_name_have_folders_of_their_own() {
        let people = ["Ida Berg", "ida berg", "Ida Berg 2", "水泳", "IDA BERG", "../Bo", "con", "Łucja Ø.", ""];
        assert_eq!(
            folders(people.into_iter()),
            ["Ida Berg", "ida berg 3", "Ida Berg 2", "ShuiYong", "IDA BERG 4", "Bo", "con_", "Lucja O", "Swimmer 9"]
        );
        let many = folders(std::iter::repeat_n("A name as long as they come, with everything in it", 10_000));
        assert!(many.iter().all(|name| name.len() <= LONGEST) && many.iter().collect::<HashSet<_>>().len() == 10_000);
    }

    /// What FAT with long names, NTFS and the file systems of other players have in common: Microsoft's "Naming Files,
    /// Paths, and Namespaces" (from memory): none of these signs, no control characters, no blank or full stop at the
    /// end, no device's name before the first full stop.
    fn taken_anywhere(name: &str) -> bool {
        let stem = name.split('.').next().unwrap().to_ascii_lowercase();
        let device = ["con", "prn", "aux", "nul"].contains(&&*stem)
            || (stem.len() == 4 && ["com", "lpt"].iter().any(|port| stem.starts_with(port)));
        let (front, _) = name.rsplit_once('.').unwrap();
        name.is_ascii()
            && name.len() <= LONGEST
            && !name.contains(|c: char| c.is_control() || "\"*/:<>?\\|".contains(c))
            && !front.ends_with(['.', ' '])
            && !name.starts_with(['.', ' ', '#', '-'])
            && !device
    }

    proptest! {
        #![proptest_config(crate::cases::cases(32))]
        #[test]
        fn whatever_the_title_the_name_is_taken_anywhere(
            titles in prop::collection::vec("\\PC{0,220}|[A-Za-z./\\\\ ]{0,60}|con|NUL|com1|LPT9[. ]?x", 1..30)
        ) {
            let names: Vec<String> =
                titles.iter().enumerate().map(|(n, title)| numbered(n, titles.len(), title, "", "mp3")).collect();
            let mut sorted = names.clone();
            sorted.sort_by_key(|name| name.to_ascii_lowercase());
            sorted.dedup_by_key(|name| name.to_ascii_lowercase());
            prop_assert_eq!(&sorted, &names, "they sort as they are played, and no two are one");
            for name in names.iter().chain(&[alone(&titles[0], "m3u8")]) {
                prop_assert!(taken_anywhere(name), "{:?}", name);
            }
        }
    }
}
