//! What has been spoken, kept in the user's cache folder so that it is spoken once. All of it can be made again: it may be
//! deleted at any time, and whatever fails here only costs time.

use crate::disk::part::{named_for, remove_left, work_file};
use crate::disk::{self, Access, FolderForFiles};
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The first bytes of an entry.
const MAGIC: &[u8; 8] = b"lwspeech";
/// The extension of an entry's name; nothing else in the folder is touched.
const EXTENSION: &str = "spoken";
/// The largest entry that is read: a minute at 16 kHz, its key, its head.
const LARGEST_ENTRY: u64 = 2 << 20;
/// When all entries together take more bytes than this, the oldest go until they take at most the second.
const MOST: u64 = 64 << 20;
const LEFT: u64 = 48 << 20;

/// A folder of entries. An entry is the magic, a hash of all that follows, the length of its key, the key, the sound.
#[derive(Clone, Debug)]
pub struct Cache(PathBuf);

impl Cache {
    /// The entries in a folder, which need not be there.
    pub const fn new(folder: PathBuf) -> Self {
        Self(folder)
    }

    fn path(&self, key: &str) -> PathBuf {
        self.0.join(format!("{:016x}.{EXTENSION}", hash(key.as_bytes())))
    }

    /// The sound kept under a key, if it is there and whole.
    pub fn get(&self, key: &str) -> Option<Vec<u8>> {
        let entry = disk::read(&self.path(key), LARGEST_ENTRY).ok()?;
        let (magic, rest) = entry.split_first_chunk::<8>()?;
        let (check, body) = rest.split_first_chunk::<8>()?;
        let (length, rest) = body.split_first_chunk::<4>()?;
        let (kept, sound) = rest.split_at_checked(u32::from_le_bytes(*length) as usize)?;
        // The key too: two texts may have one hash.
        let whole = magic == MAGIC && u64::from_le_bytes(*check) == hash(body) && kept == key.as_bytes();
        whole.then(|| sound.to_vec())
    }

    /// Keeps a sound, whole or not at all.
    ///
    /// # Errors
    /// Where the folder cannot be made or takes no file.
    pub fn put(&self, key: &str, sound: &[u8]) -> io::Result<()> {
        let _made = FolderForFiles::make(&self.0, Access::Private)?;
        let length = u32::try_from(key.len()).map_err(io::Error::other)?;
        let body = [&length.to_le_bytes(), key.as_bytes(), sound].concat();
        let path = self.path(key);
        let mut file = work_file(&self.0, path.file_name().unwrap_or_default(), Access::Private)?;
        file.write_all(MAGIC)?;
        file.write_all(&hash(&body).to_le_bytes())?;
        file.write_all(&body)?;
        file.persist(path)?;
        Ok(())
    }

    /// Takes away what runs that were stopped have left unfinished, and the oldest entries where there are too many. What cannot
    /// be deleted stays.
    pub fn prune(&self) {
        for entry in fs::read_dir(&self.0).into_iter().flatten().flatten() {
            if named_for(&entry.file_name()).is_some() {
                remove_left(&entry.path());
            }
        }
        self.prune_to(MOST, LEFT);
    }

    fn prune_to(&self, most: u64, left: u64) {
        let Ok(listing) = fs::read_dir(&self.0) else { return };
        let entries = listing.flatten().map(|entry| entry.path());
        let mut entries: Vec<(SystemTime, u64, PathBuf)> = entries.filter_map(|path| facts(&path)).collect();
        let mut total: u64 = entries.iter().map(|(_, size, _)| size).sum();
        if total <= most {
            return;
        }
        entries.sort();
        for (_, size, path) in entries {
            if total <= left {
                break;
            }
            if fs::remove_file(path).is_ok() {
                total -= size;
            }
        }
    }
}

/// When an entry was written, its size and its path; nothing for other files.
fn facts(path: &Path) -> Option<(SystemTime, u64, PathBuf)> {
    let ours = path.extension().is_some_and(|extension| extension == EXTENSION);
    let facts = fs::symlink_metadata(path).ok().filter(|facts| ours && facts.is_file())?;
    Some((facts.modified().ok()?, facts.len(), path.to_owned()))
}

/// FNV-1a, 64 bit (Fowler, Noll & Vo): stable for ever, which the standard library's hashes do not promise to be.
pub(super) fn hash(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entries(folder: &Path) -> usize {
        fs::read_dir(folder).map_or(0, Iterator::count)
    }

    #[test]
    fn what_was_kept_comes_back_whole_or_not_at_all() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::new(folder.path().join("deep/speech"));
        assert_eq!(cache.get("go"), None);
        cache.put("go", b"sound").unwrap();
        assert_eq!(cache.get("go").as_deref(), Some(&b"sound"[..]));
        assert_eq!(cache.get("stay"), None);
        let path = cache.path("go");
        let whole = fs::read(&path).unwrap();
        for at in 0..whole.len() {
            let mut broken = whole.clone();
            broken[at] ^= 1;
            fs::write(&path, &broken).unwrap();
            assert_eq!(cache.get("go"), None, "byte {at} changed");
            fs::write(&path, &whole[..at]).unwrap();
            assert_eq!(cache.get("go"), None, "cut at {at}");
        }
        cache.put("go", b"again").unwrap();
        assert_eq!(cache.get("go").as_deref(), Some(&b"again"[..]));
        // Another text that happens to have the same hash.
        fs::rename(&path, cache.path("stay")).unwrap();
        assert_eq!(cache.get("stay"), None);
        assert_eq!(entries(&folder.path().join("deep/speech")), 1);
    }

    #[test]
    fn a_folder_that_takes_nothing_is_no_harm() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a-file");
        fs::write(&file, "").unwrap();
        let cache = Cache::new(file.join("speech"));
        assert!(cache.put("go", b"sound").is_err());
        assert_eq!(cache.get("go"), None);
        cache.prune();
    }

    #[test]
    fn what_a_stopped_run_left_goes_and_work_in_hand_stays() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::new(folder.path().to_owned());
        let at_work = work_file(folder.path(), "1.spoken".as_ref(), Access::Private).unwrap();
        let (left, path) = work_file(folder.path(), "2.spoken".as_ref(), Access::Private).unwrap().keep().unwrap();
        cache.prune();
        assert!(path.exists(), "its owner lives");
        drop(left);
        let other = folder.path().join(".other.abcdef.part");
        fs::write(&other, "").unwrap();
        cache.prune();
        assert!(!path.exists() && other.exists() && at_work.path().exists());
    }

    #[test]
    fn the_oldest_go_first_and_only_entries() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::new(folder.path().to_owned());
        fs::write(folder.path().join("notes.txt"), [0; 4_000]).unwrap();
        let start = SystemTime::now() - std::time::Duration::from_secs(1_000);
        for (age, key) in ["first", "second", "third", "fourth"].into_iter().enumerate() {
            cache.put(key, &[0; 1_000]).unwrap();
            let file = fs::File::options().write(true).open(cache.path(key)).unwrap();
            file.set_modified(start + std::time::Duration::from_secs(age as u64)).unwrap();
        }
        cache.prune_to(5_000, 3_000);
        assert_eq!(entries(folder.path()), 5);
        cache.prune_to(4_000, 2_500);
        let kept = ["first", "second", "third", "fourth"].map(|key| cache.get(key).is_some());
        assert_eq!((kept, entries(folder.path())), ([false, false, true, true], 3));
    }
}
