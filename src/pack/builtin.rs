//! The packs in the binary, and their scripts.

use crate::pack::manifest;
use include_dir::{Dir, File, include_dir};
use std::fmt;

/// A pack in the binary.
pub struct BuiltInPack {
    /// Its name.
    pub name: &'static str,
    pub(in crate::pack) dir: Dir<'static>,
}

impl fmt::Debug for BuiltInPack {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("BuiltInPack").field(&self.name).finish()
    }
}

/// Every pack in the binary. Only manifests, scripts and clips lie in these folders.
static PACKS: [BuiltInPack; 4] = [
    BuiltInPack { name: "announcer", dir: include_dir!("$CARGO_MANIFEST_DIR/cue-packs/announcer") },
    BuiltInPack { name: "first-lengths", dir: include_dir!("$CARGO_MANIFEST_DIR/cue-packs/first-lengths") },
    BuiltInPack { name: "tempo-range", dir: include_dir!("$CARGO_MANIFEST_DIR/cue-packs/tempo-range") },
    BuiltInPack { name: "open-water", dir: include_dir!("$CARGO_MANIFEST_DIR/cue-packs/open-water") },
];

/// The packs in the binary.
pub fn packs() -> &'static [BuiltInPack] {
    &PACKS
}

/// A pack in the binary by its name.
pub fn pack(name: &str) -> Option<&'static BuiltInPack> {
    PACKS.iter().find(|pack| pack.name == name)
}

impl BuiltInPack {
    /// The text of its manifest.
    pub fn manifest(&self) -> &'static str {
        // A search by path would compare it with every clip of the pack.
        let mut files = self.dir.files();
        let manifest = files.find(|file| file.path().as_os_str() == manifest::FILE);
        manifest.and_then(File::contents_utf8).unwrap_or("")
    }

    /// Its scripts, by name: `level-body` for `level-body.yaml`.
    pub fn scripts(&'static self) -> impl Iterator<Item = BuiltInScript> {
        self.dir.files().filter_map(|file| {
            let name = file.path().to_str()?.strip_suffix(".yaml")?;
            let text = file.contents_utf8()?;
            (file.path().to_str() != Some(manifest::FILE)).then_some(BuiltInScript { pack: self.name, name, text })
        })
    }
}

/// A script in the binary.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BuiltInScript {
    /// The pack it lies in.
    pub pack: &'static str,
    /// Its name, without the extension.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

/// Every script in the binary.
pub fn scripts() -> impl Iterator<Item = BuiltInScript> {
    PACKS.iter().flat_map(BuiltInPack::scripts)
}

/// A script in the binary by `pack/name`, or by its name alone where no two packs have it.
pub fn script(wanted: &str) -> Option<BuiltInScript> {
    let mut found = scripts().filter(|script| match wanted.split_once('/') {
        Some((pack, name)) => script.pack == pack && script.name == name,
        None => script.name == wanted,
    });
    found.next().filter(|_| found.next().is_none())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shipped_scripts_are_found() {
        for name in ["breathing-out", "level-body", "first-hundreds"] {
            let found = script(&format!("first-lengths/{name}")).unwrap();
            assert!(found.text.starts_with('#') || found.text.starts_with("lengthwise: 1"), "{name}");
            assert_eq!(script(name), Some(found));
        }
        assert!(script("first-lengths/pack").is_none() && script("announcer/level-body").is_none());
    }
}
