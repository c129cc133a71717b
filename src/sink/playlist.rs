//! Playlists: M3U in UTF-8, the files by their names alone, so that a folder can be copied as a whole. A comment tells whose
//! they are, which is how a folder made before is known again.

use crate::disk;
use crate::units::time::Seconds;
use std::fmt::Write;
use std::io;
use std::path::Path;

/// What a playlist's name ends in.
pub const EXTENSION: &str = "m3u8";
/// Larger ones are not ours.
const LARGEST: u64 = 1 << 20;
/// Before the identity of what a folder was made of.
const MARK: &str = "#LENGTHWISE:";

/// One file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its name, without a folder.
    pub name: String,
    /// What a player shows.
    pub title: String,
    /// How long it plays.
    pub len: Seconds,
}

/// The text of a playlist.
pub fn write(title: &str, identity: &str, entries: &[Entry]) -> String {
    let mut text = format!("#EXTM3U\n#PLAYLIST:{}\n{MARK}{}\n", line(title), line(identity));
    for Entry { name, title, len } in entries {
        // Writing to a String cannot fail.
        let _ = writeln!(text, "#EXTINF:{},{}\n{name}", libm::round(len.as_f64()), line(title));
    }
    text
}

/// A text on one line.
fn line(text: &str) -> String {
    text.split(char::is_control).collect::<Vec<_>>().join(" ")
}

/// Whose a playlist is and what it lists; `None` for somebody else's.
pub fn read(text: &str) -> Option<(String, Vec<String>)> {
    let mut lines = text.lines();
    (lines.next()? == "#EXTM3U").then_some(())?;
    let identity = text.lines().find_map(|line| line.strip_prefix(MARK))?.to_owned();
    let names = lines.filter(|line| !line.is_empty() && !line.starts_with('#'));
    // A name with a folder in it was not written here.
    let names: Vec<String> = names.map(str::to_owned).collect();
    names.iter().all(|name| !name.contains(['/', '\\']) && name != "..").then_some((identity, names))
}

/// The first playlist of this program in a folder: its own name, whose it is, and what it lists.
///
/// # Errors
/// Where the folder cannot be read.
pub fn find(folder: &Path) -> io::Result<Option<(String, String, Vec<String>)>> {
    let mut names = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let name = entry?.file_name();
        names.extend(
            name.to_str().filter(|name| Path::new(name).extension().is_some_and(|e| e == EXTENSION)).map(str::to_owned),
        );
    }
    names.sort();
    let ours = |name: String| {
        let (identity, listed) = of_file(&folder.join(&name))?;
        Some((name, identity, listed))
    };
    Ok(names.into_iter().find_map(ours))
}

/// As [`read`], of a file.
pub fn of_file(path: &Path) -> Option<(String, Vec<String>)> {
    read(&String::from_utf8(disk::read(path, LARGEST).ok()?).ok()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_again() {
        let entry = |name: &str, title: &str, millis| Entry {
            name: name.into(),
            title: title.into(),
            len: Seconds::from_millis(millis),
        };
        let entries = [entry("00 Level.mp3", "Level", 52_340), entry("01 Uber.mp3", "Über\n50, 60", 600_500)];
        let text = write("Range\r\nof tempos", "script a.yaml 01", &entries);
        assert_eq!(
            text,
            "#EXTM3U\n#PLAYLIST:Range  of tempos\n#LENGTHWISE:script a.yaml 01\n#EXTINF:52,Level\n00 Level.mp3\n\
             #EXTINF:601,Über 50, 60\n01 Uber.mp3\n"
        );
        let (identity, names) = read(&text).unwrap();
        assert_eq!((identity.as_str(), names), ("script a.yaml 01", vec!["00 Level.mp3".into(), "01 Uber.mp3".into()]));
    }

    #[test]
    fn others_are_not_ours() {
        for text in ["", "#EXTM3U\na.mp3\n", "#LENGTHWISE:x\na.mp3\n", "#EXTM3U\n#LENGTHWISE:x\n../a.mp3\n"] {
            assert!(read(text).is_none(), "{text}");
        }
    }
}
