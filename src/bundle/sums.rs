//! `SHA256SUMS`: a line for each file of a pack, as the tool `sha256sum -c` reads them.
//!
//! Whether the sums are those of the files is for `unpack` to compare.

use super::name::EntryRefused;
use std::collections::BTreeMap;
use std::fmt::Write;

/// A SHA-256.
pub(super) type Sum = [u8; 32];

/// The lines of files with their paths below the pack's folder, in the order given.
pub(super) fn lines<'a>(files: impl Iterator<Item = (&'a str, &'a Sum)>) -> String {
    files.map(|(path, sum)| format!("{}  {path}\n", hex(sum))).collect()
}

/// A sum in the hexadecimal digits that the tool writes.
pub(super) fn hex(sum: &Sum) -> String {
    sum.iter().fold(String::with_capacity(64), |mut text, byte| {
        // Writing to a text cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// Reads the lines back.
///
/// # Errors
/// Why they cannot be, as the end of a sentence that begins with the file's name.
pub(super) fn parse(text: &[u8]) -> Result<BTreeMap<String, Sum>, EntryRefused> {
    let text = std::str::from_utf8(text).map_err(|_| "is no UTF-8 text")?;
    let text = text.strip_suffix('\n').ok_or("does not end with a whole line")?;
    let mut found = BTreeMap::new();
    for (number, line) in text.split('\n').enumerate() {
        let number = number + 1;
        let (sum, path) = line
            .split_once("  ")
            .and_then(|(sum, path)| Some((unhex(sum)?, path)))
            .ok_or_else(|| format!("has no sum and name in its line {number}"))?;
        if found.insert(path.to_owned(), sum).is_some() {
            return Err(format!("names a file twice, again in its line {number}").into());
        }
    }
    Ok(found)
}

fn unhex(text: &str) -> Option<Sum> {
    let digits: &[u8; 64] = text.as_bytes().try_into().ok()?;
    let mut sum = [0; 32];
    for (byte, pair) in sum.iter_mut().zip(digits.chunks_exact(2)) {
        for digit in pair {
            let value = match digit {
                b'0'..=b'9' => digit - b'0',
                b'a'..=b'f' => digit - b'a' + 10,
                _ => return None,
            };
            *byte = *byte << 4 | value;
        }
    }
    Some(sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_read_back() {
        let sums = [("clips/says/welcome.ogg", [0xa5; 32]), ("Up and back.yaml", [0x0f; 32])];
        let text = lines(sums.iter().map(|(path, sum)| (*path, sum)));
        assert!(text.starts_with(&format!("{}  clips/says/welcome.ogg\n", "a5".repeat(32))));
        assert!(
            parse(text.as_bytes())
                .unwrap()
                .into_iter()
                .eq([("Up and back.yaml".to_owned(), [0x0f; 32]), ("clips/says/welcome.ogg".to_owned(), [0xa5; 32])])
        );
    }

    #[test]
    fn other_lines_are_refused() {
        let line = |sum: &str| format!("{sum}  a.yaml\n");
        let good = line(&"0a".repeat(32));
        for (text, reason) in [
            (String::new(), "whole line"),
            (good.trim_end().to_owned(), "whole line"),
            (line(&"0A".repeat(32)), "line 1"),
            (line(&"0g".repeat(32)), "line 1"),
            (line(&"0a".repeat(31)), "line 1"),
            (good.replace("  ", " *"), "line 1"),
            (format!("{good}\n"), "line 2"),
            (format!("{good}{good}"), "twice"),
        ] {
            let why = parse(text.as_bytes()).unwrap_err();
            assert!(why.to_string().contains(reason), "{text:?}: {why}");
        }
        assert!(parse(b"\xff\n").unwrap_err().to_string().contains("UTF-8"));
    }
}
