//! One pack by itself, as its folder has it: its manifest, its own recordings, its scripts. What other packs lend it is not
//! here.

use crate::diag::{Code, Diagnostic, Sources};
use crate::pack::library::Role;
use crate::pack::manifest::{self, Manifest};
use crate::pack::place::Place;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// A pack in a folder.
#[derive(Clone, Debug, PartialEq)]
pub struct Own {
    /// Its folder.
    pub folder: PathBuf,
    /// What it says of itself.
    pub manifest: Manifest,
    /// The recordings in it, by what they are for and their names without the ending, such as `reach-forward.short`.
    pub recorded: BTreeSet<(Role, String)>,
    /// Its scripts, sorted by name.
    pub scripts: Vec<PathBuf>,
}

/// Reads the pack in a folder: what could be read of it, and every problem of its manifest.
pub fn read(folder: &Path, sources: &mut Sources) -> (Option<Own>, Vec<Diagnostic>) {
    let broken = |message: String| vec![Diagnostic::whole(Code::PackBroken, message)];
    let Some(place) = Place::folder(folder) else {
        let message = format!("{} is no pack: there is no {} in it", folder.display(), manifest::FILE);
        return (None, broken(message));
    };
    let (name, text) = place.manifest();
    let text = match text {
        Ok(text) => text,
        Err(error) => return (None, broken(format!("{name} cannot be read: {error}"))),
    };
    let source = sources.add(name, text);
    let (manifest, mut problems) = manifest::parse(source, sources);
    let mut recorded = BTreeSet::new();
    for (key, role) in Role::ALL {
        match place.recordings(key) {
            Ok(found) => recorded.extend(found.into_keys().map(|name| (role, name))),
            Err(error) => {
                let message = format!("the recordings of {}/clips/{key} cannot be listed: {error}", folder.display());
                problems.extend(broken(message));
            }
        }
    }
    let scripts = match scripts(folder) {
        Ok(scripts) => scripts,
        Err(error) => {
            problems.extend(broken(format!("the folder {} cannot be listed: {error}", folder.display())));
            Vec::new()
        }
    };
    (manifest.map(|manifest| Own { folder: folder.to_owned(), manifest, recorded, scripts }), problems)
}

fn scripts(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in folder.read_dir()? {
        let path = entry?.path();
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        let yaml = path.extension().is_some_and(|ending| ending == "yaml");
        if yaml && !hidden && !path.ends_with(manifest::FILE) && path.is_file() {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn a_pack_is_its_manifest_its_recordings_and_its_scripts() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path();
        let mut sources = Sources::new();
        let (own, problems) = read(path, &mut sources);
        assert!(own.is_none() && problems[0].message.contains("no pack.yaml"), "{problems:?}");
        let text = "lengthwise-pack: 1\ntitle: Mine\nlanguage: en-GB\nspeaker: { voice: Mara, made-with: a headset, agreed: she said yes }\nlicence: MIT\n\
            phrases:\n  tall-spine: { full: tall spine, short: tall }\n";
        fs::create_dir_all(path.join("clips/phrases")).unwrap();
        for (name, text) in [
            ("pack.yaml", text),
            ("tuesday.yaml", ""),
            (".hidden.yaml", ""),
            ("notes.txt", ""),
            ("clips/phrases/tall-spine.short.wav", ""),
            ("clips/phrases/tall-spine.short.ogg", ""),
            ("clips/phrases/readme.txt", ""),
        ] {
            fs::write(path.join(name), text).unwrap();
        }
        let (own, problems) = read(path, &mut sources);
        let own = own.unwrap();
        assert_eq!(problems, []);
        assert_eq!(own.recorded, BTreeSet::from([(Role::Phrase, "tall-spine.short".to_owned())]));
        assert_eq!((own.scripts, own.manifest.voice.as_str()), (vec![path.join("tuesday.yaml")], "Mara"));
    }
}
