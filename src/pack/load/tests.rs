//! Packs on disk and in the binary, found, followed and measured.

use super::*;
use crate::cases::amount;
use crate::units::time::Seconds;
use std::collections::HashSet;
use std::fs;

/// A folder of packs that goes away with the test.
struct Packs {
    root: tempfile::TempDir,
}

impl Packs {
    fn new() -> Self {
        Self { root: tempfile::tempdir().unwrap() }
    }

    fn add(&self, path: &str, uses: &str, rest: &str) -> PathBuf {
        let folder = self.root.path().join(path);
        fs::create_dir_all(&folder).unwrap();
        let head = "lengthwise-pack: 1\ntitle: Our lane\nlanguage: en-GB\nlicence: MIT\n\
                    speaker: { voice: Mara, made-with: a phone, agreed: in writing }\n";
        fs::write(folder.join("pack.yaml"), format!("{head}uses: {uses}\n{rest}")).unwrap();
        folder
    }

    fn search(&self, script: &str) -> Search {
        Search { script: Some(self.root.path().join(script)), ..Search::default() }
    }
}

fn wav(frames: u32) -> Vec<u8> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 8_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut bytes = io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    (0..frames).for_each(|i| writer.write_sample(i as i16).unwrap());
    writer.finalize().unwrap();
    bytes.into_inner()
}

fn put(folder: &Path, path: &str, bytes: &[u8]) {
    let path = folder.join(path);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, bytes).unwrap();
}

fn run(search: &Search, wanted: Option<&str>) -> (Library, Vec<String>) {
    let mut sources = Sources::new();
    let text = wanted.unwrap_or_default();
    let source = sources.add("practice.yaml", text);
    let wanted = wanted.map(|name| Spanned::new(name.to_owned(), Span::new(source, 0, name.len() as u32)));
    let (library, problems) = open(search, wanted.as_ref(), &mut sources);
    let shown = problems.iter().map(|p| {
        let hint = p.hint.as_deref().unwrap_or("");
        format!("{}: {} ({hint})", p.code.word(), p.message)
    });
    (library, shown.collect())
}

fn names(library: &Library) -> Vec<&str> {
    library.packs().iter().map(|pack| pack.name.as_str()).collect()
}

#[test]
fn the_script_s_own_pack_is_the_default_and_the_announcer_comes_last() {
    let packs = Packs::new();
    packs.add("mine", "[announcer, drills]", "phrases: { long: { full: long arms, short: long } }");
    packs.add("drills", "[]", "phrases: { long: { full: no, short: no }, calm: { full: calm hands } }");
    let (library, problems) = run(&packs.search("mine/practice.yaml"), None);
    assert!(problems.is_empty(), "{problems:?}");
    assert_eq!(names(&library), ["mine", "drills", "announcer"]);
    assert_eq!(library.entry(Role::Phrase, "long").unwrap().full.text, "long arms");
    assert_eq!(library.entry(Role::Phrase, "calm").unwrap().short, None);
    assert_eq!(library.packs()[0].voice, "Mara");
    // A script that lies in no pack hears the announcer alone.
    let (library, problems) = run(&packs.search("practice.yaml"), None);
    assert!(problems.is_empty());
    assert_eq!(names(&library), ["announcer"]);
}

#[test]
fn a_pack_is_found_by_path_then_by_option_then_in_the_data_folder() {
    let packs = Packs::new();
    for (place, text) in
        [("scripts/lane", "beside"), ("lane", "around"), ("given/lane", "option"), ("user/lane", "data")]
    {
        packs.add(place, "[]", &format!("says: {{ hello: {text} }}"));
    }
    let mut search = packs.search("scripts/practice.yaml");
    search.extra.push(packs.root.path().join("given"));
    search.user = Some(packs.root.path().join("user"));
    for (place, text) in
        [("scripts/lane", "beside"), ("lane", "around"), ("given/lane", "option"), ("user/lane", "data")]
    {
        let (library, problems) = run(&search, Some("lane"));
        assert!(problems.is_empty(), "{problems:?}");
        assert_eq!(library.entry(Role::Say, "hello").unwrap().full.text, text);
        fs::remove_dir_all(packs.root.path().join(place)).unwrap();
    }
    packs.add("elsewhere/lane-2", "[]", "says: { hello: path }");
    let (library, _) = run(&search, Some("../elsewhere/lane-2"));
    assert_eq!(library.entry(Role::Say, "hello").unwrap().full.text, "path");
    search.extra = vec![packs.root.path().join("elsewhere/lane-2")];
    assert_eq!(names(&run(&search, Some("lane-2")).0), ["lane-2", "announcer"]);
}

#[test]
fn an_unknown_pack_names_the_nearest_and_where_it_was_sought() {
    let packs = Packs::new();
    packs.add("tempo-range", "[]", "");
    let (library, problems) = run(&packs.search("practice.yaml"), Some("temporange"));
    assert_eq!(names(&library), ["announcer"]);
    assert_eq!(problems.len(), 1);
    assert!(problems[0].starts_with("unknown-name: there is no pack `temporange` (did you mean `tempo-range`?"));
    assert!(problems[0].contains("built in") && problems[0].contains(&*packs.root.path().to_string_lossy()));
    let mut search = packs.search("practice.yaml");
    search.extra.push("/nowhere/at/all".into());
    assert!(run(&search, None).1[0].contains("/nowhere/at/all"));
}

#[test]
fn a_circle_of_packs_is_an_error_and_a_diamond_is_not() {
    let packs = Packs::new();
    packs.add("a", "[b, c]", "");
    packs.add("b", "[d]", "");
    packs.add("c", "[d]", "");
    packs.add("d", "[]", "");
    let (library, problems) = run(&packs.search("a/x.yaml"), None);
    assert!(problems.is_empty(), "{problems:?}");
    assert_eq!(names(&library), ["a", "b", "d", "c", "announcer"]);
    packs.add("d", "[b]", "");
    let (_, problems) = run(&packs.search("a/x.yaml"), None);
    assert_eq!(problems.len(), 1);
    assert!(problems[0].contains("b > d > b"), "{problems:?}");
}

#[test]
fn recordings_are_found_measured_and_refused_by_name() {
    let packs = Packs::new();
    let folder = packs.add(
        "mine",
        "[]",
        "phrases: { long: { full: long arms, short: long }, soft: { full: soft hand } }\nsays: { hello: hello all }\n",
    );
    put(&folder, "clips/phrases/long.wav", &wav(8_000));
    put(&folder, "clips/phrases/long.mp3", b"not looked at: wav comes first");
    put(&folder, "clips/phrases/long.short.WAV", &wav(4_001));
    put(&folder, "clips/phrases/soft.ogg", b"OggS and then nothing");
    put(&folder, "clips/phrases/soft.txt", b"notes");
    put(&folder, "clips/says/hello.wav", &wav(0));
    let (library, problems) = run(&packs.search("mine/x.yaml"), None);
    let long = library.entry(Role::Phrase, "long").unwrap();
    assert_eq!(long.full.len.nanos(), 1_000_000_000);
    assert_eq!(long.short.as_ref().unwrap().len.nanos(), 500_125_000);
    let recording = library.recording(long.full.clip.unwrap()).unwrap();
    assert_eq!(clip::decode(&recording.read().unwrap()).unwrap().samples.len(), 8_000);
    assert_eq!(library.entry(Role::Phrase, "soft").unwrap().full, Spoken::unrecorded("soft hand"));
    assert_eq!(problems.len(), 2, "{problems:?}");
    assert!(problems.iter().any(|p| p.contains("soft.ogg ends before")), "{problems:?}");
    assert!(problems.iter().any(|p| p.contains("hello.wav holds no sound")), "{problems:?}");
}

#[test]
fn a_recording_of_an_unread_kind_is_told_where_it_would_have_been_heard() {
    let packs = Packs::new();
    let folder =
        packs.add("mine", "[]", "phrases: { soft: { full: soft hand, short: soft }, long: { full: long arms } }\n");
    put(&folder, "clips/phrases/soft.amr", b"#!AMR");
    put(&folder, "clips/phrases/long.amr", b"not missed: there is another");
    put(&folder, "clips/phrases/long.wav", &wav(8_000));
    put(&folder, "clips/phrases/else.amr", b"no text has this id");
    let (library, problems) = run(&packs.search("mine/x.yaml"), None);
    assert!(problems.len() == 1 && problems[0].contains("soft.amr is none of what is read"), "{problems:?}");
    assert_eq!(library.entry(Role::Phrase, "soft").unwrap().full, Spoken::unrecorded("soft hand"));
}

#[cfg(unix)]
#[test]
fn links_out_of_a_pack_are_refused() {
    let packs = Packs::new();
    let folder = packs.add("mine", "[]", "says: { hello: hello all, there: there }\n");
    put(packs.root.path(), "secret.wav", &wav(100));
    put(&folder, "clips/says/there.wav", &wav(100));
    std::os::unix::fs::symlink(packs.root.path().join("secret.wav"), folder.join("clips/says/hello.wav")).unwrap();
    let (library, problems) = run(&packs.search("mine/x.yaml"), None);
    assert!(problems.len() == 1 && problems[0].contains("link out of the pack"), "{problems:?}");
    assert!(library.entry(Role::Say, "hello").unwrap().full.clip.is_none());
}

#[test]
fn shipped_packs_are_whole() {
    let (mut phrases, mut drills, mut decoded) = (HashSet::new(), HashSet::new(), HashSet::new());
    for pack in builtin::packs() {
        let search = Search { built_in: Some(pack.name.to_owned()), ..Search::default() };
        let (library, problems) = run(&search, None);
        assert!(problems.is_empty(), "{}: {problems:?}", pack.name);
        let packs = names(&library);
        assert!(packs.first() == Some(&pack.name) && packs.last() == Some(&ANNOUNCER), "{packs:?}");
        for (folder, role) in Role::ALL {
            for (id, entry) in library.of(role) {
                for spoken in std::iter::once(&entry.full).chain(&entry.short) {
                    let clip = spoken.clip.unwrap_or_else(|| panic!("{folder}/{id} has no recording"));
                    // What the header says is what is decoded; once for all packs that use it, and of some only in the quick
                    // loop, since decoding takes long.
                    let new = decoded.insert((folder, id.to_owned(), spoken.text.clone()));
                    if new && decoded.len() % amount(10, 1) == 0 {
                        let pcm = clip::decode(&library.recording(clip).unwrap().read().unwrap()).unwrap();
                        assert_eq!(pcm.len(), spoken.len, "{folder}/{id}");
                    }
                }
            }
        }
        // What swimmers hear fits where it goes: before the go, and into the glide.
        for (id, entry) in library.of(Role::Phrase) {
            let short = entry.short.as_ref().unwrap_or_else(|| panic!("{id} has no short form"));
            assert!(entry.full.len <= Seconds::from_millis(2500) && short.len <= Seconds::from_secs(1), "{id}");
            phrases.insert(id.to_owned());
        }
        drills.extend(library.of(Role::Drill).map(|(id, _)| id.to_owned()));
        assert!(library.of(Role::Word).count() > 600, "{}", pack.name);
    }
    assert!(phrases.len() >= 60 && drills.len() >= 25, "{} phrases, {} drills", phrases.len(), drills.len());
}

#[test]
fn the_data_folder_follows_the_environment() {
    let folder =
        |data: Option<&str>, home: Option<&str>| user_folder(data.map(OsString::from), home.map(OsString::from));
    assert_eq!(folder(Some("/d"), Some("/h")), Some("/d/lengthwise/packs".into()));
    assert_eq!(folder(Some("relative"), Some("/h")), Some("/h/.local/share/lengthwise/packs".into()));
    assert_eq!(folder(None, None), None);
}

#[test]
fn a_drill_is_for_a_phrase_of_any_pack_in_use() {
    let packs = Packs::new();
    packs.add("a", "[b]", "drills: { fist: { how: \"Fist.\", for: push }, wall: { how: \"Wall.\", for: pusch } }");
    packs.add("b", "[]", "phrases: { push: { full: push back } }\ndrills: { fist: { how: \"Fist.\", for: nothing } }");
    let (library, problems) = run(&packs.search("tuesday.yaml"), Some("a"));
    assert_eq!(library.pairs().collect::<Vec<_>>(), [("fist", "push")]);
    assert_eq!(problems.len(), 2, "{problems:?}");
    assert!(problems[0].contains("`wall` is for `pusch`"), "{problems:?}");
    for (pack, drill, phrase) in
        [("first-lengths", "fist", "push-back"), ("tempo-range", "fist-and-open", "still-water")]
    {
        let (library, problems) = run(&Search::default(), Some(pack));
        assert!(library.pairs().any(|pair| pair == (drill, phrase)) && problems.is_empty(), "{pack}: {problems:?}");
    }
}
