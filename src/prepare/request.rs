//! What a practice is to be made of: the script, found in the folders of packs or in the binary, the swimmer, the packs.

use super::text::{self, Unreadable};
use crate::diag::shown::ShownPath;
use crate::diag::{SourceId, Sources};
use crate::pack::builtin;
use crate::pack::load::Search;
use crate::pack::manifest;
use crate::pack::speech::Speech;
use crate::practice::Audience;
use crate::script::quantity::Read;
use crate::swimmer::hundred;
use crate::units::calendar::Day;
use crate::units::swim::Pace;
use std::ffi::OsStr;
use std::fmt;
use std::path::{Path, PathBuf};

/// Who swims, as a command is told.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum WhoSwims {
    /// Somebody with a profile.
    Profile(PathBuf),
    /// Somebody of whom the time of 100, of the pool's unit, is known.
    Hundred(Pace),
    /// A swimmer of the notebook, by name; a file of that name, if there is one.
    Named(String),
}

impl WhoSwims {
    /// A time such as `1:50`, a file, or a name of the notebook: what consists of digits and signs of a time is meant as one,
    /// and only a file has a dot or a slash.
    ///
    /// # Errors
    /// Where such a time cannot be read.
    pub fn of(written: &OsStr) -> Read<Self> {
        let as_time = |c: char| c.is_ascii_digit() || matches!(c, ':' | '.' | ',' | ' ');
        match written.to_str() {
            Some(text) if !text.is_empty() && text.trim_end_matches([' ', 's']).chars().all(as_time) => {
                hundred(text).map(Self::Hundred)
            }
            Some(name) if !name.contains(['/', '\\', '.']) && name.contains(char::is_alphabetic) => {
                Ok(Self::Named(name.trim().to_owned()))
            }
            _ => Ok(Self::Profile(written.into())),
        }
    }

    /// What tells their files apart from those of others.
    pub fn stem(&self) -> String {
        match self {
            Self::Profile(path) => stem(path).to_string_lossy().into_owned(),
            // A colon has another meaning in the names of some systems.
            Self::Hundred(hundred) => hundred.per_hundred().to_string().replace(':', "-"),
            Self::Named(name) => name.clone(),
        }
    }
}

impl fmt::Display for WhoSwims {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Profile(path) => path.shown().fmt(f),
            Self::Hundred(hundred) => hundred.per_hundred().fmt(f),
            Self::Named(name) => name.fmt(f),
        }
    }
}

impl From<&str> for WhoSwims {
    /// A profile's path.
    fn from(path: &str) -> Self {
        Self::Profile(path.into())
    }
}

/// What to make a practice of.
#[derive(Clone, Debug, Default)]
pub struct PracticeRequest {
    /// The script: a file, or `pack/name` of one in the folders of packs or in the binary.
    pub script: PathBuf,
    /// Who swims; nobody in particular where not given.
    pub swimmer: Option<WhoSwims>,
    /// Folders of packs.
    pub packs: Vec<PathBuf>,
    /// The user's folder of packs.
    pub user_packs: Option<PathBuf>,
    /// Who hears it.
    pub audience: Audience,
    /// The pack whose recordings win, by its name or its folder.
    pub voice: Option<String>,
    /// The voice that says what has no recording; a tone stands for it where there is none.
    pub speech: Option<Speech>,
    /// What is known of swimmers from practices before.
    pub known: Option<KnownFrom>,
}

/// A notebook, and the day from which it is looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownFrom {
    /// The notebook; there need be none.
    pub notebook: PathBuf,
    /// Today.
    pub today: Day,
}

impl PracticeRequest {
    /// Reads the script's text: a file, else one of a pack in the folders of packs, else one in the binary.
    pub(crate) fn open(&self, sources: &mut Sources) -> Result<(SourceId, Search), Unreadable> {
        let found = self.in_pack();
        let path = found.as_deref().unwrap_or(&self.script);
        if found.is_none()
            && !path.exists()
            && let Some(script) = path.to_str().and_then(builtin::script)
        {
            let name = format!("{}/{}.yaml (built in)", script.pack, script.name);
            let search = Search { built_in: Some(script.pack.into()), ..Search::default() };
            return Ok((sources.add(name, script.text), search));
        }
        let text = text::read(path)?;
        let search = Search { script: Some(path.to_owned()), ..Search::default() };
        Ok((sources.add(path.to_string_lossy().into_owned(), text), search))
    }

    /// The file of a script named as `PACK/NAME`, in the order in which packs are found. A file of that name comes first.
    fn in_pack(&self) -> Option<PathBuf> {
        let (pack, name) = self.script.to_str().filter(|_| !self.script.exists())?.split_once('/')?;
        // Not a way to anywhere else: a name is one part.
        if !manifest::is_id(pack) || name.contains(['/', '\\']) || name.starts_with('.') {
            return None;
        }
        let file = if name.ends_with(".yaml") { name.to_owned() } else { format!("{name}.yaml") };
        let folders = self.packs.iter().chain(&self.user_packs);
        let packs = folders.map(|folder| folder.join(pack)).filter(|pack| pack.join(manifest::FILE).is_file());
        packs.map(|pack| pack.join(&file)).find(|path| path.is_file())
    }
}

/// What files of a script are called, without an extension.
pub fn stem(script: &Path) -> &OsStr {
    script.file_stem().unwrap_or(script.as_os_str())
}

/// A name for a script that stays when its text changes, and wherever it lies, so that the same script gives the same bytes on any
/// machine: its file's name, and a hash of the title, which tells scripts of one name apart. Copies that were changed since are told
/// apart by what lies beside the bytes (`render/origin.rs`).
pub fn identity(script: &Path, title: &str) -> String {
    if !script.exists()
        && let Some(script) = script.to_str().and_then(builtin::script)
    {
        return format!("script {}/{} built in", script.pack, script.name);
    }
    let name = script.file_name().unwrap_or(script.as_os_str()).to_string_lossy();
    format!("script {name} {:016x}", fnv1a(title.as_bytes()))
}

/// FNV-1a, 64 bit (Fowler, Noll & Vo): stable for ever, which the standard library's hashes do not promise to be.
pub fn fnv1a(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::Code;

    #[test]
    fn a_swimmer_is_a_time_or_a_file() {
        let of = |text: &str| WhoSwims::of(OsStr::new(text));
        let time = of("1:50").unwrap();
        assert_eq!((time.to_string(), time.stem()), ("1:50".to_owned(), "1-50".to_owned()));
        assert_eq!(of("110 s"), Ok(time));
        for path in ["ida.yaml", "1/50", "2024-ida.yaml", "./1:50", "s.yaml", "-", "a/ida"] {
            assert_eq!(of(path), Ok(WhoSwims::from(path)));
        }
        for name in ["Ida", "ida", "Bo the 2nd"] {
            assert_eq!(of(name), Ok(WhoSwims::Named(name.into())));
        }
        // No file is called so: it is a time that lacks something.
        assert_eq!(of("110").unwrap_err().code, Code::UnitMissing);
        assert_eq!(of("0:20").unwrap_err().code, Code::OutOfRange);
    }

    #[test]
    fn fnv_test_vectors() {
        // Published test vectors of FNV-1a 64 (from memory): "" and "a".
        assert_eq!(fnv1a(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv1a(b"a"), 0xaf63_dc4c_8601_ec8c);
    }

    #[test]
    fn identities_are_those_of_names_and_titles_wherever_they_lie() {
        let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
        let paths = folders.each_ref().map(|folder| folder.path().join("a.yaml"));
        paths.iter().for_each(|path| std::fs::write(path, "").unwrap());
        let [a, b] = paths.each_ref().map(|path| identity(path, "Tuesday"));
        assert!(a == b && a.starts_with("script a.yaml "), "{a} and {b}");
        assert_ne!(a, identity(&paths[0], "Wednesday"));
        let built_in = identity(Path::new("first-lengths/level-body"), "Level body");
        assert_eq!(built_in, "script first-lengths/level-body built in");
    }
}
