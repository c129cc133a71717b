//! Bundles that mean harm, or are damaged: each is refused for its reason, and nothing anywhere is changed by it.

use crate::cases::amount;
use crate::honest::{SCRIPT, files, manifest};
use crate::material::snapshot;
use crate::zip::{Entry, Zip, crc, pack, sum, wav};
use lengthwise::bundle::BundleError;
use lengthwise::bundle::install::{InstallOutcome, InstallRequest, open};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tempfile::TempDir;

const NAME: &str = "lane-three";

fn honest() -> Zip {
    pack(NAME, &files(3))
}

/// A folder of packs deep in a tree, with version 2 of the pack in it, and other people's files around.
pub struct Tree {
    root: TempDir,
    pub packs: PathBuf,
}

impl Tree {
    pub fn new() -> Self {
        let root = tempfile::tempdir().unwrap();
        let packs = root.path().join("home/data/packs");
        fs::create_dir_all(packs.join("other-pack")).unwrap();
        for (name, text) in [("secret.txt", "root"), ("home/evil.yaml", "mine"), ("home/data/packs/x.wav", "mine too")]
        {
            fs::write(root.path().join(name), text).unwrap();
        }
        let tree = Self { root, packs };
        assert_eq!(tree.open(&pack(NAME, &files(2)).bytes(), false).unwrap(), InstallOutcome::New);
        tree
    }

    pub fn bundle(&self) -> PathBuf {
        self.root.path().join("sent.zip")
    }

    pub fn open(&self, bytes: &[u8], replace: bool) -> Result<InstallOutcome, BundleError> {
        fs::write(self.bundle(), bytes).unwrap();
        let request = InstallRequest {
            bundle: self.bundle(),
            folder: self.packs.clone(),
            chosen: true,
            replace,
            stop: Arc::default(),
        };
        open(&request).map(|opened| opened.outcome)
    }

    /// Opens a bundle that must be refused for this reason, and must change nothing.
    fn refuses(&self, what: &str, bytes: &[u8], reason: &str) {
        fs::write(self.bundle(), bytes).unwrap();
        let before = snapshot(self.root.path());
        let error = self.open(bytes, true).map(|outcome| panic!("{what} was taken: {outcome:?}")).unwrap_err();
        let BundleError::Refused(refusal) = &error else { panic!("{what}: {error}") };
        let told: Vec<_> = refusal.diagnostics.iter().map(|problem| problem.message.as_str()).collect();
        assert!(told.iter().any(|message| message.contains(reason)), "{what}: `{reason}` is not in {told:?}");
        assert!(!told.concat().contains(char::is_control), "{what}: {told:?}");
        assert!(snapshot(self.root.path()) == before, "{what} changed something");
    }
}

/// An honest bundle with one of its entries made different.
fn spoilt(end: &str, spoil: impl FnOnce(&mut Entry)) -> Zip {
    let mut zip = honest();
    spoil(zip.entry(end));
    zip
}

/// An honest bundle with one file more, listed in the sums under that name.
fn added(name: impl AsRef<[u8]>) -> Zip {
    honest().with(Entry::stored(name, SCRIPT))
}

/// A bundle of the files with one of them holding something else, and the sums right.
fn holding(path: &'static str, bytes: impl AsRef<[u8]>) -> Zip {
    let mut files = files(3);
    files.retain(|(name, _)| *name != path);
    files.push((path, bytes.as_ref().to_vec()));
    pack(NAME, &files)
}

/// An extra field.
fn field(id: u16, bytes: &[u8]) -> Vec<u8> {
    [&id.to_le_bytes()[..], &(bytes.len() as u16).to_le_bytes(), bytes].concat()
}

#[test]
fn an_honest_bundle_of_another_tool_is_taken() {
    let tree = Tree::new();
    let before = snapshot(&tree.packs.join(NAME));
    let mut zip = honest();
    for folder in ["lane-three/", "lane-three/clips/", "lane-three/clips/phrases/"] {
        let entry = Entry { attributes: 0o40_755 << 16 | 0x10, ..Entry::stored(folder, "") };
        zip.entries.insert(0, entry);
    }
    zip.entry("pack.yaml").extra = field(0x5455, &[1, 0, 0, 0, 0]);
    // Sizes that are known only behind the data, with and without a mark.
    for (end, mark) in [("tuesday.yaml", &b""[..]), ("look-down.wav", b"PK\x07\x08")] {
        let entry = zip.entry(end);
        entry.flags = 8;
        let numbers = [entry.crc, entry.packed.len() as u32, entry.size].map(u32::to_le_bytes).concat();
        entry.behind = [mark, &numbers].concat();
    }
    let InstallOutcome::Replaced { version, before: kept } = tree.open(&zip.bytes(), false).unwrap() else { panic!() };
    assert_eq!((version, kept.strip_prefix(&tree.packs).unwrap()), (Some(2), Path::new(".before/lane-three-v2")));
    let moved: Vec<_> = before.into_values().collect();
    assert!(snapshot(&kept).into_values().eq(moved), "what gave way is kept whole");
    assert_eq!(tree.open(&honest().bytes(), false).unwrap(), InstallOutcome::Same);
}

#[test]
fn names_that_lead_elsewhere_are_refused() {
    let tree = Tree::new();
    let cases: &[(&[u8], &str)] = &[
        (b"../evil.yaml", "`..`"),
        (b"lane-three/../../evil.yaml", "`..`"),
        (b"lane-three/clips/phrases/../../../../evil.wav", "`..`"),
        (b"lane-three/..", "`..`"),
        (b"/home/evil.yaml", "root of the disk"),
        (b"//host/share/evil.yaml", "root of the disk"),
        (b"lane-three\\..\\..\\evil.yaml", "backslash"),
        (b"lane-three/clips/phrases/..\\x.wav", "backslash"),
        (b"C:/evil.yaml", "colon"),
        (b"lane-three/x.yaml:stream", "colon"),
        (b"~/evil.yaml", "not plain"),
        (b"lane-three/./x.yaml", "full stop"),
        (b"lane-three//x.yaml", "empty part"),
        (b"", "empty part"),
        (b"lane-three/x.yaml\0.wav", "control"),
        (b"lane-three/\x1b]0;owned\x07x.yaml", "control"),
        (b"lane-three/\xc0\xae\xc0\xae/x.yaml", "UTF-8"),
        ("lane-three/\u{ff0e}\u{ff0e}/x.yaml".as_bytes(), "ASCII"),
        // One letter in two forms, which some file systems take for one name.
        ("lane-three/u\u{308}ber.yaml".as_bytes(), "ASCII"),
        ("lane-three/\u{fc}ber.yaml".as_bytes(), "ASCII"),
        ("lane-three/\u{202e}lmay.yaml".as_bytes(), "ASCII"),
        (b"lane-three/x.yaml.", "full stop"),
        (b"lane-three/x.yaml ", "blank"),
        (b"lane-three/con.yaml", "device"),
        (b"lane-three/.bashrc", "full stop"),
        (b"lane-three/run.sh", "no part of a pack"),
        (b"lane-three/earlier/x.wav", "no part of a pack"),
        (b"other-pack/pack.yaml", "as others do"),
        (b"x.wav", "no pack can be called"),
        (b"lane-three/tuesday.yaml", "twice"),
        (b"lane-three/Tuesday.yaml", "capital letters"),
        (b"lane-three/PACK.yaml", "capital letters"),
        (&[b'x'; 300], "300 bytes"),
    ];
    for (name, reason) in cases {
        tree.refuses(&String::from_utf8_lossy(name), &added(name).bytes(), reason);
    }
}

#[test]
fn entries_that_are_not_plain_files_are_refused() {
    let tree = Tree::new();
    let mode = |mode: u32| spoilt("tuesday.yaml", |entry| entry.attributes = mode << 16);
    tree.refuses("a link", &mode(0o120_777).bytes(), "symbolic link");
    tree.refuses("a device", &mode(0o060_644).bytes(), "a device");
    tree.refuses("a pipe", &mode(0o010_644).bytes(), "a pipe");
    tree.refuses("a folder by its mode", &mode(0o040_755).bytes(), "both a file and a folder");
    tree.refuses("rights of the owner", &mode(0o104_755).bytes(), "rights of somebody else");
    let dos = spoilt("tuesday.yaml", |entry| entry.attributes = 0x10);
    tree.refuses("a folder to DOS", &dos.bytes(), "attributes");
    let link = honest().with(Entry { attributes: 0o120_777 << 16, ..Entry::stored("lane-three/clips/", "../../..") });
    tree.refuses("a folder that is a link", &link.bytes(), "symbolic link");
    let full = honest().with(Entry { attributes: 0, ..Entry::stored("lane-three/clips/", "hidden") });
    tree.refuses("a folder with bytes", &full.bytes(), "such an entry has at most 0");
    for (flags, reason) in [(1, "encrypted"), (1 << 6 | 1, "encrypted"), (1 << 13, "encrypted"), (1 << 5, "flags")] {
        tree.refuses("flags", &spoilt("tuesday.yaml", |entry| entry.flags = flags).bytes(), reason);
    }
    for method in [12, 14, 93, 99, 9] {
        let zip = spoilt("tuesday.yaml", |entry| entry.method = method);
        tree.refuses("a method", &zip.bytes(), &format!("method {method}"));
    }
}

#[test]
fn files_that_readers_could_understand_differently_are_refused() {
    let tree = Tree::new();
    let spoilt = |end: &str, spoil: &dyn Fn(&mut Entry)| spoilt(end, spoil).bytes();
    let cases = [
        ("two names", spoilt("tuesday.yaml", &|e| e.local_name = b"lane-three/../x.yaml".to_vec()), "differently"),
        ("two sizes", spoilt("tuesday.yaml", &|e| e.local_size += 1), "differently"),
        ("another size behind", spoilt("tuesday.yaml", &|e| (e.flags, e.behind) = (8, vec![0; 16])), "differently"),
        ("no size behind", spoilt("tuesday.yaml", &|e| e.flags = 8), "differently"),
        ("bytes behind", spoilt("tuesday.yaml", &|e| e.behind = b"hidden".to_vec()), "belong to nothing"),
        ("a comment", spoilt("tuesday.yaml", &|e| e.comment = b"hidden".to_vec()), "comment"),
        ("a second name", spoilt("tuesday.yaml", &|e| e.extra = field(0x7075, b"\x01....x.yaml")), "second name"),
        ("zip64 sizes", spoilt("tuesday.yaml", &|e| e.extra = field(1, &[0; 16])), "ZIP64"),
        ("a secret", spoilt("tuesday.yaml", &|e| e.extra = field(0x9901, &[0; 7])), "0x9901"),
        ("a broken field", spoilt("tuesday.yaml", &|e| e.extra = vec![0x55, 0x54, 9, 0, 1]), "broken extra field"),
        ("two in one place", spoilt("tuesday.yaml", &|e| e.offset = Some(0)), "overlaps"),
        ("nowhere", spoilt("tuesday.yaml", &|e| e.offset = Some(0x7fff_0000)), "belong to nothing"),
        ("stored with two sizes", spoilt("SHA256SUMS", &|e| e.size += 1), "stored as it is"),
        ("overlapping", overlapping(), "overlaps"),
        ("in front, not counted", Zip { front: b"MZ".to_vec(), ..honest() }.bytes(), "in front of it"),
        ("in front, counted", Zip { front: b"MZ".to_vec(), shifted: true, ..honest() }.bytes(), "in front of it"),
        ("between", Zip { between: b"hidden".to_vec(), ..honest() }.bytes(), "belong to nothing"),
        ("before the end", Zip { before_end: b"hidden".to_vec(), ..honest() }.bytes(), "in front of it, or between"),
        ("a comment at the end", Zip { comment: b"hidden".to_vec(), ..honest() }.bytes(), "6 bytes behind its end"),
        ("behind the end", Zip { junk: b"hidden".to_vec(), ..honest() }.bytes(), "6 bytes behind its end"),
        ("another ZIP behind", [honest().bytes(), honest().bytes()].concat(), "in front of it, or between"),
        ("too few counted", Zip { count: Some(4), ..honest() }.bytes(), "between its entries, or behind"),
        ("too many counted", Zip { count: Some(6), ..honest() }.bytes(), "says that it has 6 entries"),
        ("many disks", Zip { disk: 1, ..honest() }.bytes(), "part of several"),
        ("zip64", Zip { before_end: [&b"PK\x06\x07"[..], &[0; 16]].concat(), ..honest() }.bytes(), "ZIP64"),
        ("zip64 count", Zip { count: Some(0xffff), ..honest() }.bytes(), "ZIP64"),
        ("nothing", Zip::default().bytes(), "holds nothing"),
    ];
    for (what, bytes, reason) in cases {
        tree.refuses(what, &bytes, reason);
    }
}

/// Two entries that share their bytes: the second lies in the data of the first.
fn overlapping() -> Vec<u8> {
    let inner = Zip { entries: vec![Entry::stored("lane-three/b.yaml", SCRIPT)], ..Zip::default() }.bytes();
    let local = &inner[..30 + 17 + SCRIPT.len()];
    let mut zip = honest();
    zip.entries.insert(0, Entry::stored("lane-three/a.yaml", local));
    zip.entries.push(Entry { offset: Some(30 + 17), ..Entry::stored("lane-three/b.yaml", SCRIPT) });
    zip.bytes()
}

#[test]
fn sizes_beyond_reason_are_refused() {
    let tree = Tree::new();
    let many = (0..4_001).fold(honest(), |zip, n| zip.with(Entry::stored(format!("lane-three/{n}.yaml"), "")));
    tree.refuses("4,001 scripts", &many.bytes(), "at most 4000");
    let big = |path: &'static str, kib: usize| holding(path, vec![b'#'; kib << 10]).bytes();
    tree.refuses("a manifest above 1 MiB", &big("pack.yaml", 1_025), "at most 1048576");
    tree.refuses("a script above 1 MiB", &big("tuesday.yaml", 1_025), "at most 1048576");
    // Packing so much takes the quick loop too long.
    if amount(false, true) {
        tree.refuses("a recording of 101 MiB", &big("clips/phrases/long-neck.wav", 101 << 10), "at most 104857600");
    }
    tree.refuses(
        "a bomb that says so",
        &big("clips/phrases/long-neck.wav", amount(512, 50 << 10)),
        "100 times as large",
    );
    let lie = |size: u32| spoilt("look-down.wav", |entry| (entry.size, entry.local_size) = (size, size)).bytes();
    tree.refuses("more than stated", &lie(20_000), "more than the 20000 bytes stated");
    tree.refuses("less than stated", &lie(30_000), "instead of the 30000 stated");
    let mut bomb = holding("clips/phrases/long-neck.wav", vec![0; amount(256, 60 << 10) << 10]);
    (bomb.entry("long-neck.wav").size, bomb.entry("long-neck.wav").local_size) = (24_044, 24_044);
    tree.refuses("a bomb that lies", &bomb.bytes(), "more than the 24044 bytes stated");
    let total = (0..11).fold(honest(), |zip, n| {
        let mut entry = Entry::deflated(format!("lane-three/clips/says/n-{n}.wav"), "");
        (entry.size, entry.local_size) = (100 << 20, 100 << 20);
        zip.with(entry)
    });
    tree.refuses("1,100 MiB in all", &total.bytes(), "more than 1024 MiB");
}

#[test]
fn damage_is_found() {
    let tree = Tree::new();
    let sums = |change: &dyn Fn(String) -> String| {
        let mut zip = honest();
        let old = String::from_utf8(zip.entry("SHA256SUMS").packed.clone()).unwrap();
        *zip.entry("SHA256SUMS") = Entry::stored("lane-three/SHA256SUMS", change(old));
        zip.bytes()
    };
    let wrong = sums(&|text| text.replace(&sum(SCRIPT.as_bytes()), &sum(b"")));
    tree.refuses("a wrong sum", &wrong, "tuesday.yaml` is not what SHA256SUMS says");
    let missing =
        sums(&|text| text.lines().filter(|line| !line.contains("tuesday")).map(|l| format!("{l}\n")).collect());
    tree.refuses("no sum", &missing, "is not in SHA256SUMS");
    tree.refuses("a sum of nothing", &sums(&|text| text + &sum(b"") + "  ../x.yaml\n"), "names `../x.yaml`");
    tree.refuses("a sum of itself", &sums(&|text| text + &sum(b"") + "  SHA256SUMS\n"), "names `SHA256SUMS`");
    tree.refuses("a sum twice", &sums(&|text| text.repeat(2)), "twice");
    tree.refuses("sums that are none", &sums(&|_| "hello\n".into()), "line 1");
    let without = |end: &str| {
        let mut zip = honest();
        zip.entries.retain(|entry| !entry.name.ends_with(end.as_bytes()));
        zip.bytes()
    };
    tree.refuses("no sums", &without("SHA256SUMS"), "lacks the checksums");
    tree.refuses("no manifest", &without("pack.yaml"), "lacks the manifest");
    tree.refuses("no script", &without("tuesday.yaml"), "names `tuesday.yaml`, which is not there");
    tree.refuses("a wrong CRC", &spoilt("tuesday.yaml", |entry| entry.crc ^= 1).bytes(), "CRC");
    let flipped = spoilt("look-down.wav", |entry| entry.packed[900] ^= 0x10).bytes();
    tree.refuses("a bit of data", &flipped, "look-down.wav`");
    tree.refuses("data cut", &spoilt("look-down.wav", |e| e.packed.truncate(900)).bytes(), "breaks off");
    tree.refuses("data behind data", &spoilt("look-down.wav", |e| e.packed.extend(b"more")).bytes(), "hides bytes");
    tree.refuses("data that is none", &spoilt("look-down.wav", |e| e.packed.fill(0xff)).bytes(), "damaged");
    let whole = honest().bytes();
    for len in (0..whole.len()).step_by(97).chain([whole.len() - 1, whole.len() - 22, whole.len() - 23]) {
        tree.refuses(&format!("{len} bytes"), &whole[..len], "is no ZIP file, or not the whole");
    }
    tree.refuses("a picture", &b"\x89PNG\r\n\x1a\n".repeat(40), "is no ZIP file");
}

#[test]
fn files_that_hold_something_else_are_refused() {
    let tree = Tree::new();
    let cases = [
        ("pack.yaml", &b"\x7fELF\x02\x01\x01\0\0\0"[..], "byte of value zero"),
        ("pack.yaml", b"lengthwise-pack: 1\ntitle: [", "not YAML"),
        ("pack.yaml", b"lengthwise-pack: 1\ntitle: T\n", "lacks"),
        ("pack.yaml", b"lengthwise-pack: 9\n", "format"),
        ("pack.yaml", b"\xff\xfe", "UTF-8"),
        ("tuesday.yaml", b"#!/bin/sh\nrm -rf ~\n", "map"),
        ("tuesday.yaml", b"\xff\xfe", "UTF-8"),
        ("look-down.yaml", b"lengthwise: 1\ntitle: T\n", "lacks"),
        (
            "clips/phrases/long-neck.wav",
            b"#!/bin/sh\n",
            "is none of what is read: WAV, FLAC, Ogg Vorbis, Opus, AAC or ALAC in MP4 (m4a), MP3",
        ),
        (
            "clips/phrases/long-neck.wav",
            b"",
            "is none of what is read: WAV, FLAC, Ogg Vorbis, Opus, AAC or ALAC in MP4 (m4a), MP3",
        ),
        ("clips/phrases/long-neck.wav", &wav(9_000, 200.0)[..12_000], "ends before the length"),
        ("clips/phrases/long-neck.mp3", b"ID3\x04\0\0\0\0\0\0", "cannot be decoded"),
        ("clips/phrases/long-neck.ogg", b"OggS\0\x02\0\0\0\0\0\0\0\0", "ends before the length"),
    ];
    for (path, bytes, reason) in cases {
        tree.refuses(path, &holding(path, bytes).bytes(), reason);
    }
}

#[test]
fn a_good_pack_gives_way_to_a_newer_one_only() {
    let tree = Tree::new();
    let older = pack(NAME, &files(1)).bytes();
    tree.refuses("an older one, even if asked for", &older, "version 1 of `lane-three`, and version 2 is here");
    let mut other = files(2);
    other[1].1.extend(b"# changed\n");
    let other = pack(NAME, &other).bytes();
    let before = snapshot(&tree.packs);
    let error = tree.open(&other, false).unwrap_err().to_string();
    assert!(error.contains("other content of version 2"), "{error}");
    assert!(snapshot(&tree.packs) == before);
    let InstallOutcome::Replaced { before: first, .. } = tree.open(&other, true).unwrap() else { panic!() };
    let InstallOutcome::Replaced { before: second, .. } = tree.open(&pack(NAME, &files(2)).bytes(), true).unwrap()
    else {
        panic!()
    };
    assert!(first.ends_with(".before/lane-three-v2") && second.ends_with(".before/lane-three-v2-2"));
    // A newer one in which something is unfinished is newer all the same.
    fs::write(tree.packs.join(NAME).join("draft.yaml"), "lengthwise: 1\n").unwrap();
    let error = tree.open(&older, true).unwrap_err().to_string();
    assert!(error.contains("version 2 is here"), "{error}");
    // Where nobody knows how old it is it gives way if that is asked for, and is kept too.
    fs::write(tree.packs.join(NAME).join("pack.yaml"), "broken").unwrap();
    let error = tree.open(&older, false).unwrap_err().to_string();
    assert!(error.contains("nobody knows which is newer"), "{error}");
    let InstallOutcome::Replaced { version: None, before } = tree.open(&older, true).unwrap() else { panic!() };
    assert_eq!(fs::read_to_string(before.join("pack.yaml")).unwrap(), "broken");
}

#[test]
fn asked_to_stop_it_changes_nothing() {
    let tree = Tree::new();
    fs::write(tree.bundle(), honest().bytes()).unwrap();
    let before = snapshot(tree.root.path());
    let stop = Arc::new(true.into());
    let request =
        InstallRequest { bundle: tree.bundle(), folder: tree.packs.clone(), chosen: true, replace: true, stop };
    assert!(matches!(open(&request), Err(BundleError::Stopped)));
    assert!(snapshot(tree.root.path()) == before);
}

#[test]
fn what_is_not_a_pack_stays() {
    let tree = Tree::new();
    let place = tree.packs.join(NAME);
    fs::remove_file(place.join("pack.yaml")).unwrap();
    let before = snapshot(&tree.packs);
    assert!(matches!(tree.open(&honest().bytes(), true), Err(BundleError::NotAPack { path }) if path == place));
    assert!(snapshot(&tree.packs) == before);
    #[cfg(unix)]
    {
        let elsewhere = tree.packs.join("../elsewhere");
        fs::rename(&place, &elsewhere).unwrap();
        fs::write(elsewhere.join("pack.yaml"), manifest(1)).unwrap();
        std::os::unix::fs::symlink(&elsewhere, &place).unwrap();
        assert!(matches!(tree.open(&honest().bytes(), true), Err(BundleError::NotAPack { .. })), "a link");
        fs::remove_file(&place).unwrap();
        std::os::unix::fs::symlink(elsewhere.join("gone"), &place).unwrap();
        assert!(matches!(tree.open(&honest().bytes(), true), Err(BundleError::NotAPack { .. })), "a link to nowhere");
    }
}

#[test]
fn any_byte_may_be_wrong() {
    let tree = Tree::new();
    let whole = honest().bytes();
    let new: Vec<_> = files(3);
    // Every byte of headers, directory and end, and every 61st of the rest, with one bit or all of them turned; in the quick
    // loop some of these.
    let data = 120..whole.len() - 700;
    let places = (0..whole.len()).filter(|at| !data.contains(at) || at % 61 == 0);
    for at in places.step_by(amount(37, 1)) {
        for turn in [0x01, 0xff] {
            let mut bytes = whole.clone();
            bytes[at] ^= turn;
            match tree.open(&bytes, false) {
                Err(BundleError::Refused(_)) => {}
                // A time, or who made it: nothing that comes out.
                Ok(_) => {
                    for (path, bytes) in &new {
                        assert_eq!(fs::read(tree.packs.join(NAME).join(path)).unwrap(), *bytes, "byte {at}");
                    }
                }
                Err(error) => panic!("byte {at}: {error}"),
            }
        }
    }
}

#[test]
fn the_crc_is_that_of_the_standard() {
    // The check value of CRC-32/ISO-HDLC, as every catalogue of CRCs has it (from memory).
    assert_eq!(crc(b"123456789"), 0xcbf4_3926);
}
