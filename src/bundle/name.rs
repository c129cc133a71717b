//! Where the entries of a bundle may lie, and how their names are shown.
//!
//! A name is taken only if every system takes it and understands the same by it: nothing is mended, nothing is guessed.
//! What the entries hold is not looked at here.

use crate::diag::shown::printable;
use crate::pack::inventory::is_recording;
use crate::pack::manifest;
use crate::pack::place::LARGEST_MANIFEST;
use crate::pack::recorded::LARGEST_RECORDING;
use crate::pack::role::Role;
use crate::sink::names::is_device;
use std::borrow::Cow;
use std::fmt;

/// The largest script and the largest `SHA256SUMS`, in bytes, as large as the program reads a script.
pub(super) const LARGEST_TEXT: u64 = 1 << 20;

/// The file of checksums, as `sha256sum -c` reads it.
pub const SUMS: &str = "SHA256SUMS";

/// The longest name of an entry, in bytes.
const LONGEST: usize = 200;

/// The longest name shown, in characters.
const SHOWN: usize = 100;

/// Signs that a part of a name may hold beside ASCII letters and digits; every other is refused.
const SIGNS: [u8; 9] = *b" -_.,+()'";

/// What an entry is to a pack.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EntryKind {
    /// A folder on the way to the others.
    Folder,
    /// `pack.yaml`
    Manifest,
    /// `SHA256SUMS`
    Sums,
    /// A script beside the manifest.
    Script,
    /// A recording below `clips`.
    Clip,
}

impl EntryKind {
    /// The most bytes of such a file.
    pub const fn most(self) -> u64 {
        match self {
            Self::Folder => 0,
            Self::Manifest => LARGEST_MANIFEST,
            Self::Sums | Self::Script => LARGEST_TEXT,
            Self::Clip => LARGEST_RECORDING,
        }
    }
}

/// The name of an entry, taken apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EntryName {
    /// The pack: the top folder.
    pub pack: String,
    /// The path below it, without a slash at either end; empty for the top folder itself.
    pub path: String,
    /// What it is.
    pub kind: EntryKind,
}

impl EntryName {
    /// The whole name, as messages show it.
    pub fn whole(&self) -> String {
        format!("{}/{}", self.pack, self.path)
    }

    /// Reads the name of an entry.
    ///
    /// # Errors
    /// Why it is refused, as the end of a sentence that begins with the name.
    pub fn parse(bytes: &[u8]) -> Result<Self, EntryRefused> {
        if bytes.len() > LONGEST {
            return Err(format!("has a name of {} bytes; at most {LONGEST} are taken", bytes.len()).into());
        }
        let text = std::str::from_utf8(bytes).map_err(|_| "has a name that is no UTF-8 text")?;
        if text.starts_with('/') {
            return Err("begins at the root of the disk".into());
        }
        if text.contains('\\') {
            return Err("has a backslash in its name: some systems would take it for a folder".into());
        }
        if text.contains(':') {
            return Err("has a colon in its name, as drives and hidden streams have".into());
        }
        if text.chars().any(char::is_control) {
            return Err("has control characters in its name".into());
        }
        if !text.is_ascii() {
            return Err("has a letter beyond plain ASCII in its name, which not every system keeps as it is".into());
        }
        let (text, folder) = text.strip_suffix('/').map_or((text, false), |text| (text, true));
        let parts: Vec<&str> = text.split('/').collect();
        parts.iter().try_for_each(|part| check_part(part))?;
        let [pack, inner @ ..] = parts.as_slice() else { return Err("has no name".into()) };
        if !manifest::is_id(pack) {
            return Err(
                format!("lies in `{pack}`, which no pack can be called: lower-case letters, digits and `-`").into()
            );
        }
        let kind = match (inner, folder) {
            ([] | ["clips"], true) => Some(EntryKind::Folder),
            (["clips", role], true) if is_role(role) => Some(EntryKind::Folder),
            ([manifest::FILE], false) => Some(EntryKind::Manifest),
            ([SUMS], false) => Some(EntryKind::Sums),
            ([script], false) if script.ends_with(".yaml") => Some(EntryKind::Script),
            (["clips", role, clip], false) if is_role(role) && is_clip(clip) => Some(EntryKind::Clip),
            ([], false) => return Err("lies outside the pack's folder".into()),
            _ => None,
        };
        let kind = kind.ok_or("is no part of a pack: a manifest, scripts and `clips/ROLE/ID.wav` are")?;
        Ok(Self { pack: (*pack).to_owned(), path: inner.join("/"), kind })
    }
}

/// Why an entry of a bundle, or a file of a pack, is refused: the end of a sentence that begins with its name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EntryRefused(Cow<'static, str>);

impl From<&'static str> for EntryRefused {
    fn from(why: &'static str) -> Self {
        Self(Cow::Borrowed(why))
    }
}

impl From<String> for EntryRefused {
    fn from(why: String) -> Self {
        Self(Cow::Owned(why))
    }
}

impl From<EntryRefused> for String {
    fn from(refused: EntryRefused) -> Self {
        refused.0.into_owned()
    }
}

impl fmt::Display for EntryRefused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for EntryRefused {}

fn is_role(name: &str) -> bool {
    Role::ALL.iter().any(|(key, _)| *key == name)
}

/// Whether a file of `clips/ROLE` can be the recording of an entry.
fn is_clip(name: &str) -> bool {
    let Some((stem, _)) = name.rsplit_once('.') else { return false };
    is_recording(name) && manifest::is_id(stem.strip_suffix(".short").unwrap_or(stem))
}

/// One part between slashes.
fn check_part(part: &str) -> Result<(), &'static str> {
    if part.is_empty() {
        return Err("has an empty part in its name");
    }
    if part == ".." {
        return Err("leaves its folder by `..`");
    }
    if part.starts_with('.') {
        return Err("is hidden, or a way round in the folder: a part of its name begins with a full stop");
    }
    if part.ends_with(['.', ' ']) || part.starts_with(' ') {
        return Err(
            "has a part of its name that begins or ends in a blank or ends in a full stop, which some systems drop",
        );
    }
    if is_device(part) {
        return Err("is called as some systems call a device");
    }
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || SIGNS.contains(&byte);
    if !part.bytes().all(plain) || part.starts_with('-') {
        return Err("has a sign in its name that is not plain: letters, digits, blanks and -_.,+()' are");
    }
    Ok(())
}

/// The name of an entry for a message, and of a long one the beginning.
pub(super) fn shown(name: &str) -> String {
    let printable = printable(name);
    match printable.char_indices().nth(SHOWN) {
        Some((at, _)) => format!("{}...", printable.get(..at).unwrap_or_default()),
        None => printable.into_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_pack_is_made_of_is_taken() {
        let cases = [
            ("lane-3/", "", EntryKind::Folder),
            ("lane-3/clips/", "clips", EntryKind::Folder),
            ("lane-3/clips/says/", "clips/says", EntryKind::Folder),
            ("lane-3/pack.yaml", "pack.yaml", EntryKind::Manifest),
            ("lane-3/SHA256SUMS", "SHA256SUMS", EntryKind::Sums),
            ("lane-3/Up and back (2).yaml", "Up and back (2).yaml", EntryKind::Script),
            ("lane-3/clips/phrases/soft-hand.short.ogg", "clips/phrases/soft-hand.short.ogg", EntryKind::Clip),
            ("lane-3/clips/words/n-10.WAV", "clips/words/n-10.WAV", EntryKind::Clip),
        ];
        for (name, path, kind) in cases {
            let found = EntryName::parse(name.as_bytes()).unwrap();
            assert_eq!((found.pack.as_str(), found.path.as_str(), found.kind), ("lane-3", path, kind), "{name}");
        }
    }

    #[test]
    fn everything_else_is_refused_with_its_reason() {
        let cases: &[(&[u8], &str)] = &[
            (b"", "empty part"),
            (b"/lane/pack.yaml", "root of the disk"),
            (b"//lane/pack.yaml", "root of the disk"),
            (b"../pack.yaml", "`..`"),
            (b"lane/../pack.yaml", "`..`"),
            (b"lane/clips/phrases/../../../x.wav", "`..`"),
            (b"lane/./pack.yaml", "full stop"),
            (b"./lane/pack.yaml", "full stop"),
            (b"lane//pack.yaml", "empty part"),
            (b"lane\\pack.yaml", "backslash"),
            (b"lane/clips/phrases/..\\..\\x.wav", "backslash"),
            (b"C:lane/pack.yaml", "colon"),
            (b"lane/pack.yaml:hidden", "colon"),
            (b"lane/pack.yaml\0.txt", "control"),
            (b"lane/\x1b[2Jpack.yaml", "control"),
            (b"lane/\xff.yaml", "UTF-8"),
            ("lane/über.yaml".as_bytes(), "ASCII"),
            ("lane/．．/x.yaml".as_bytes(), "ASCII"),
            (b"lane/x.yaml.", "full stop"),
            (b"lane /x.yaml", "blank"),
            (b"lane/ x.yaml", "blank"),
            (b"lane/con.yaml", "device"),
            (b"lane/LPT1.yaml", "device"),
            (b"nul/pack.yaml", "device"),
            (b"lane/clips/phrases/aux.short.wav", "device"),
            (b"lane/.hidden.yaml", "full stop"),
            (b"lane/a|b.yaml", "not plain"),
            (b"lane/-rf.yaml", "not plain"),
            (b"Lane/pack.yaml", "no pack can be called"),
            (b"pack.yaml", "no pack can be called"),
            (b"lane", "outside the pack's folder"),
            (b"lane/notes.txt", "no part of a pack"),
            (b"lane/earlier/", "no part of a pack"),
            (b"lane/pack.yaml/", "no part of a pack"),
            (b"lane/clips", "no part of a pack"),
            (b"lane/clips/others/x.wav", "no part of a pack"),
            (b"lane/clips/phrases/x.exe", "no part of a pack"),
            (b"lane/clips/phrases/X.wav", "no part of a pack"),
            (b"lane/clips/phrases/deep/x.wav", "no part of a pack"),
            (&[b'a'; 201], "201 bytes"),
        ];
        for (name, reason) in cases {
            let why = EntryName::parse(name).unwrap_err().to_string();
            assert!(why.contains(reason), "{}: {why}", String::from_utf8_lossy(name));
        }
    }

    #[test]
    fn names_are_shown_without_harm() {
        assert_eq!(shown("a\u{1b}[2Jb"), "a\\u{1b}[2Jb");
        assert_eq!(shown("\u{202e}lmay"), "\\u{202e}lmay");
        assert_eq!(shown(&"x".repeat(300)).len(), SHOWN + 3);
    }
}
