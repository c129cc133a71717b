use super::*;
use std::fs;

const PACK: &str = "lengthwise-pack: 1\ntitle: Mine\nlanguage: en-GB\n\
    speaker: { voice: Ada, made-with: a phone, agreed: yes }\nlicence: MIT\nuses: [first-lengths]\nphrases:\n  \
    look-down: { full: look down at the tiles, short: eyes down }\n  tall-spine: { full: tall spine }\nsays:\n  \
    hello: Good to see you\n";

fn wav(path: &Path, seconds: f64) {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 24_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(path, spec).unwrap();
    for frame in 0..(seconds * 24_000.0) as i32 {
        writer.write_sample((frame % 50 * 200) as i16).unwrap();
    }
    writer.finalize().unwrap();
}

#[test]
fn each_text_knows_where_it_is_heard_from() {
    let folder = tempfile::tempdir().unwrap();
    let pack = folder.path().join("mine");
    let clips = pack.join("clips");
    wav(&clips.join("phrases/tall-spine.wav"), 1.5);
    fs::write(pack.join(manifest::FILE), PACK).unwrap();
    fs::write(pack.join("b.yaml"), "lengthwise: 1").unwrap();
    fs::write(pack.join("a.yaml"), "lengthwise: 1").unwrap();
    fs::write(clips.join("phrases/tall-spine.ogg"), "").unwrap();
    fs::write(clips.join("phrases/look-down.short.mp3"), "no sound").unwrap();
    fs::write(clips.join("phrases/gone.flac"), "").unwrap();
    fs::write(clips.join("phrases/memo.amr"), "").unwrap();
    fs::create_dir(clips.join("phrase")).unwrap();
    fs::write(clips.join("phrase/x.wav"), "").unwrap();
    fs::write(clips.join("made.tsv"), "").unwrap();
    // What is being opened is not a pack yet.
    fs::create_dir(folder.path().join(".mine.part")).unwrap();
    fs::write(folder.path().join(".mine.part/pack.yaml"), PACK).unwrap();
    let shelf = Shelf { extra: vec![folder.path().to_owned()], user: None };
    for wanted in ["mine", pack.to_str().unwrap()] {
        let opened = shelf.open(wanted).unwrap();
        assert_eq!(opened.name, "mine");
        let seen: Vec<(String, &HeardFrom)> =
            opened.lines.iter().map(|line| (line.key().to_string(), &line.source)).collect();
        assert_eq!(seen[0].0, "clips/phrases/look-down");
        assert!(matches!(seen[0].1, HeardFrom::Borrowed(pack, len) if pack == "first-lengths" && *len > Seconds::ZERO));
        assert_eq!(seen[1].0, "clips/phrases/look-down.short");
        assert!(matches!(seen[1].1, HeardFrom::Broken(file) if file.ends_with("look-down.short.mp3")));
        assert!(matches!(seen[2].1, HeardFrom::Own(own) if own.len == Seconds::from_millis(1_500)));
        assert_eq!(seen[3], ("clips/says/hello".to_owned(), &HeardFrom::Missing));
        assert_eq!(opened.scripts.iter().filter_map(|path| path.file_stem()).collect::<Vec<_>>(), ["a", "b"]);
        assert_eq!(opened.problems.len(), 1, "{:?}", opened.problems);
        let strays = [
            Stray::Folder("clips/phrase/x.wav".into()),
            Stray::NoText("clips/phrases/gone.flac".into()),
            Stray::Format("clips/phrases/memo.amr".into()),
            Stray::Twice { path: "clips/phrases/tall-spine.ogg".into(), taken: "clips/phrases/tall-spine.wav".into() },
        ];
        assert_eq!(opened.strays, strays);
    }
    let listed = shelf.list();
    assert_eq!(listed.iter().map(|one| one.name.as_str()).collect::<Vec<_>>()[..2], ["mine", "announcer"]);
    let mine = listed[0].says.as_ref().unwrap();
    assert_eq!((mine.texts, mine.recordings, mine.scripts, mine.voice.as_str()), (4, 2, 2, "Ada"));
    let unknown = shelf.open("mien").unwrap_err().to_string();
    assert!(unknown.contains("did you mean `mine`?"), "{unknown}");
}

#[test]
fn every_shipped_pack_is_whole() {
    for pack in builtin::packs() {
        let opened = Shelf::default().open(pack.name).unwrap();
        assert_eq!((&opened.problems, &opened.strays), (&Vec::new(), &Vec::new()), "{}", pack.name);
        let silent: Vec<_> = opened.lines.iter().filter(|line| line.source == HeardFrom::Missing).collect();
        assert!(silent.is_empty() && opened.lines.len() > 40, "{silent:?}");
    }
}

#[test]
fn a_broken_manifest_is_listed_too() {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("empty", ""), ("strange", "- 1\n- 2"), ("binary", "\u{0}\u{1}")] {
        fs::create_dir(folder.path().join(name)).unwrap();
        fs::write(folder.path().join(name).join(manifest::FILE), text).unwrap();
        let opened = Shelf::default().open(folder.path().join(name).to_str().unwrap()).unwrap();
        assert!(opened.manifest.is_none() && !opened.problems.is_empty() && opened.lines.is_empty());
    }
    let shelf = Shelf { extra: Vec::new(), user: Some(folder.path().to_owned()) };
    assert_eq!(shelf.list().iter().filter(|standing| standing.says.is_none()).count(), 3);
}
