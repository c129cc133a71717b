use super::*;
use crate::sink::leftover::{Leftover, sweep};

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<_> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

fn batch(target: &Path, files: &[&str]) -> FilesUnderWay {
    let batch = FilesUnderWay::beside(target).unwrap();
    files.iter().for_each(|name| fs::write(batch.path().join(name), "new").unwrap());
    batch
}

fn old(ours: &[&str], force: bool) -> Old {
    Old { ours: ours.iter().map(Into::into).collect(), force, last: "list".into() }
}

#[test]
fn a_folder_appears_only_when_it_is_whole() {
    let root = tempfile::tempdir().unwrap();
    let target = root.path().join("tracks");
    let batch = batch(&target, &["00 a", "01 b"]);
    assert!(!target.exists());
    batch.into_folder(None).unwrap();
    assert_eq!((names(root.path()), names(&target)), (vec!["tracks".into()], vec!["00 a".into(), "01 b".into()]));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = fs::metadata(&target).unwrap().permissions().mode();
        assert_eq!(mode & 0o700, 0o700, "{mode:o}");
    }
    drop(FilesUnderWay::beside(&target).unwrap());
    assert_eq!(names(root.path()), ["tracks"], "what is given up leaves nothing");
    let error = FilesUnderWay::beside(&root.path().join("gone/tracks")).unwrap_err().to_string();
    assert!(error.contains("gone/tracks") && error.contains("make its folder"), "{error}");
}

#[test]
fn of_an_old_folder_only_our_files_go() {
    let root = tempfile::tempdir().unwrap();
    let target = root.path().join("tracks");
    fs::create_dir_all(target.join("photos")).unwrap();
    for name in ["00 a", "02 gone", "notes.txt", "photos/one.jpg"] {
        fs::write(target.join(name), "old").unwrap();
    }
    batch(&target, &["00 a", "01 b"]).into_folder(Some(&old(&["00 a", "02 gone"], false))).unwrap();
    assert_eq!(names(&target), ["00 a", "01 b", "notes.txt", "photos"]);
    assert_eq!(fs::read_to_string(target.join("00 a")).unwrap(), "new");
    assert_eq!(fs::read_to_string(target.join("photos/one.jpg")).unwrap(), "old");
    assert_eq!(names(root.path()), ["tracks"]);
}

#[test]
fn a_name_that_is_somebody_elses_is_replaced_by_force_only() {
    let root = tempfile::tempdir().unwrap();
    let target = root.path().join("tracks");
    fs::create_dir(&target).unwrap();
    fs::write(target.join("01 b"), "old").unwrap();
    let error = batch(&target, &["01 b"]).into_folder(Some(&old(&[], false))).unwrap_err();
    assert!(matches!(&error, FileError::Exists { path } if path.ends_with("01 b")), "{error}");
    assert_eq!(
        (names(root.path()), fs::read_to_string(target.join("01 b")).unwrap()),
        (vec!["tracks".into()], "old".into())
    );
    batch(&target, &["01 b"]).into_folder(Some(&old(&[], true))).unwrap();
    assert_eq!(fs::read_to_string(target.join("01 b")).unwrap(), "new");
    // Without leave nothing that holds something is replaced.
    assert!(batch(&target, &["02 c"]).into_folder(None).is_err());
    assert_eq!((names(root.path()), names(&target)), (vec!["tracks".into()], vec!["01 b".into()]));
}

#[test]
fn a_folder_that_gives_way_can_be_kept_whole() {
    let root = tempfile::tempdir().unwrap();
    let (target, before) = (root.path().join("pack"), root.path().join("before"));
    fs::create_dir_all(target.join("clips/deep")).unwrap();
    for name in ["a", "mine", "clips/b", "clips/deep/c"] {
        fs::write(target.join(name), "old").unwrap();
    }
    let new = batch(&target, &["a", "d"]);
    new.keep_old(&before).unwrap();
    new.into_folder(Some(&old(&["a", "clips/b", "clips/deep/c"], true))).unwrap();
    assert_eq!(names(&target), ["a", "d", "mine"]);
    assert_eq!(names(&before), ["a", "clips", "mine"]);
    assert_eq!(fs::read_to_string(target.join("a")).unwrap(), "new");
    for name in ["a", "mine", "clips/b", "clips/deep/c"] {
        assert_eq!(fs::read_to_string(before.join(name)).unwrap(), "old", "{name}");
    }
    // Where the old one cannot be kept, the new one does not come.
    let new = batch(&target, &["e"]);
    let error = new.keep_old(&root.path().join("gone/before")).unwrap_err();
    assert!(matches!(error, FileError::System { .. }), "{error}");
    drop(new);
    assert_eq!(names(root.path()), ["before", "pack"]);
}

#[test]
fn files_beside_each_other_come_all_or_none() {
    let root = tempfile::tempdir().unwrap();
    let target = root.path().join("mine.wav");
    fs::write(root.path().join("mine 02.wav"), "old").unwrap();
    let both = |replace| [("mine 01.wav".to_owned(), Replace::Never), ("mine 02.wav".to_owned(), replace)];
    let new = || batch(&target, &["mine 01.wav", "mine 02.wav"]);
    assert!(matches!(new().spill(&both(Replace::Never)), Err(FileError::Exists { .. })));
    assert_eq!(names(root.path()), ["mine 02.wav"]);
    new().spill(&both(Replace::Yes)).unwrap();
    assert_eq!(names(root.path()), ["mine 01.wav", "mine 02.wav"]);
    assert_eq!(fs::read_to_string(root.path().join("mine 02.wav")).unwrap(), "new");
}

/// What tells a folder from another of the same name.
#[cfg(unix)]
fn number(folder: &Path) -> u64 {
    std::os::unix::fs::MetadataExt::ino(&fs::metadata(folder).unwrap())
}

#[cfg(target_os = "linux")]
#[test]
fn a_folder_of_ours_alone_changes_places_and_any_other_stays_itself() {
    use std::os::unix::fs::PermissionsExt;
    let root = tempfile::tempdir().unwrap();
    let target = root.path().join("tracks");
    fs::create_dir(&target).unwrap();
    fs::write(target.join("a"), "old").unwrap();
    fs::set_permissions(&target, fs::Permissions::from_mode(0o2751)).unwrap();
    fs::set_permissions(target.join("a"), fs::Permissions::from_mode(0o604)).unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o7777;
    let first = number(&target);
    batch(&target, &["a", "list"]).into_folder(Some(&old(&["a"], false))).unwrap();
    let second = number(&target);
    assert!(second != first, "they changed places");
    assert_eq!((mode(&target), mode(&target.join("a"))), (0o2751, 0o604));
    fs::write(target.join("mine"), "mine").unwrap();
    batch(&target, &["a", "b", "list"]).into_folder(Some(&old(&["a", "list"], false))).unwrap();
    assert_eq!((number(&target), mode(&target), mode(&target.join("a"))), (second, 0o2751, 0o604));
    assert_eq!(
        (names(&target), names(root.path())),
        (["a", "b", "list", "mine"].map(String::from).into(), vec!["tracks".into()])
    );
}

#[test]
fn what_a_stopped_run_left_is_finished_or_removed_and_what_lives_stays() {
    let root = tempfile::tempdir().unwrap();
    let target = root.path().join("tracks");
    fs::create_dir(&target).unwrap();
    for name in ["a", "gone", "mine"] {
        fs::write(target.join(name), "old").unwrap();
    }
    // As after a kill between the first file and the second: the list is there, and nobody holds the lock.
    let left = batch(&target, &["a", "b", "list"]);
    let work = left.work.path().to_owned();
    let put = ["a", "b", "list"].map(|name| (name.into(), if name == "a" { Replace::Yes } else { Replace::Never }));
    let moves = Moves::new(Some("tracks".into()), put.into(), vec!["gone".into()]);
    fs::write(work.join("moves"), serde_json::to_vec(&moves).unwrap()).unwrap();
    fs::rename(left.path().join("a"), target.join("a")).unwrap();
    assert_eq!(sweep(&target).unwrap(), [], "somebody is at work on it");
    left.work.leave();
    let found = sweep(&target).unwrap();
    assert_eq!(found, [Leftover::Finished(target.clone())]);
    assert!(found[0].to_string().starts_with("left by a run that was stopped: "), "{}", found[0]);
    assert_eq!(names(&target), ["a", "b", "list", "mine"]);
    assert_eq!(names(root.path()), ["tracks"]);
    // Without a list nothing had been whole. Others' files are not looked at, whatever they are called.
    batch(&target, &["a"]).work.leave();
    fs::write(root.path().join(".tracks.part"), "").unwrap();
    fs::write(root.path().join(".notes.Ab12.lengthwise-part"), "").unwrap();
    fs::write(root.path().join(".out.wav.Ab12Cd.lengthwise-part"), "").unwrap();
    let (removed, out) = (Leftover::Removed(target.clone()), Leftover::Removed(root.path().join("out.wav")));
    assert_eq!(sweep(&target).unwrap(), [out, removed]);
    assert_eq!(names(root.path()), [".notes.Ab12.lengthwise-part", ".tracks.part", "tracks"]);
}

#[test]
fn a_name_taken_meanwhile_stays_with_whoever_took_it() {
    let root = tempfile::tempdir().unwrap();
    let target = root.path().join("tracks");
    let left = batch(&root.path().join("tracks.wav"), &["a", "b"]);
    let put = ["a", "b"].map(|name| (name.into(), Replace::Never));
    let moves = Moves::new(None, put.into(), Vec::new());
    fs::write(left.work.path().join("moves"), serde_json::to_vec(&moves).unwrap()).unwrap();
    fs::write(root.path().join("b"), "mine").unwrap();
    left.work.leave();
    assert_eq!(sweep(&target).unwrap(), [Leftover::Finished(root.path().to_owned())]);
    assert_eq!(names(root.path()), ["a", "b"]);
    assert_eq!(fs::read_to_string(root.path().join("b")).unwrap(), "mine");
}

#[test]
fn a_list_that_leads_elsewhere_or_is_torn_counts_for_nothing() {
    let root = tempfile::tempdir().unwrap();
    let target = root.path().join("club/tracks");
    fs::create_dir_all(&target).unwrap();
    let mine = root.path().join("mine.txt");
    fs::write(&mine, "mine").unwrap();
    let put = |name: &str| vec![(PathBuf::from(name), Replace::Yes)];
    let absolute = mine.to_str().unwrap();
    for moves in [
        Moves::new(Some("..".into()), put("mine.txt"), Vec::new()),
        Moves::new(Some("../..".into()), put("mine.txt"), Vec::new()),
        Moves::new(Some("/".into()), put("mine.txt"), Vec::new()),
        Moves::new(Some("tracks".into()), put("../../mine.txt"), Vec::new()),
        Moves::new(None, put(absolute), Vec::new()),
        Moves::new(None, Vec::new(), vec!["../mine.txt".into()]),
        Moves::new(None, Vec::new(), vec![absolute.into()]),
    ] {
        let left = batch(&target, &["mine.txt"]);
        fs::write(left.work.path().join("moves"), serde_json::to_vec(&moves).unwrap()).unwrap();
        left.work.leave();
        assert_eq!(sweep(&target).unwrap(), [Leftover::Removed(target.clone())], "{moves:?}");
        assert_eq!(fs::read_to_string(&mine).unwrap(), "mine", "{moves:?}");
    }
    for torn in ["", "{", "[]", "\0\0\0"] {
        let left = batch(&target, &["a"]);
        fs::write(left.work.path().join("moves"), torn).unwrap();
        left.work.leave();
        assert_eq!(sweep(&target).unwrap(), [Leftover::Removed(target.clone())], "{torn}");
    }
    assert_eq!((names(&target), names(&root.path().join("club"))), (vec![], vec!["tracks".into()]));
}

/// Only root can make what is another user's.
#[cfg(unix)]
#[test]
fn what_another_user_left_is_not_touched() {
    let root = tempfile::tempdir().unwrap();
    let target = root.path().join("tracks");
    let left = batch(&target, &["a"]);
    let path = left.work.path().to_owned();
    let other = Some(12_345);
    if std::os::unix::fs::chown(&path, other, other).is_err() {
        return;
    }
    left.work.leave();
    assert_eq!(sweep(&target).unwrap(), []);
    assert!(path.exists());
}
