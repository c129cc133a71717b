use super::*;
#[cfg(feature = "speech")]
use crate::units::time::Seconds;

#[cfg(feature = "speech")]
fn texts(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}

#[test]
fn fnv_test_vectors() {
    // Published test vectors of FNV-1a 64 (from memory): "" and "a".
    assert_eq!(cache::hash(b""), 0xcbf2_9ce4_8422_2325);
    assert_eq!(cache::hash(b"a"), 0xaf63_dc4c_8601_ec8c);
}

#[test]
fn the_cache_lies_where_the_standard_says() {
    // XDG base directory specification: a relative or empty value is ignored.
    let folder = |cache: Option<&str>, home: &str| cache_folder(cache.map(Into::into), Some(home.into()));
    assert_eq!(folder(Some("/c"), "/h"), Some("/c/lengthwise/speech".into()));
    for ignored in [Some(""), Some("c"), None] {
        assert_eq!(folder(ignored, "/h"), Some("/h/.cache/lengthwise/speech".into()));
    }
    assert_eq!(folder(None, ""), None);
}

#[test]
fn a_sound_is_cut_to_what_is_heard() {
    let mut samples = vec![0_i16; 3_000];
    samples.extend((0..1_600).map(|i| if i % 20 < 10 { 4_000 } else { -4_000 }));
    samples.extend([3; 5_000]);
    let heard = clear(&samples);
    assert!((1_600..=1_600 + BEFORE + AFTER + 60).contains(&heard.len()), "{}", heard.len());
    assert_eq!(heard.iter().map(|x| x.unsigned_abs()).max(), Some(29_000));
    assert!(clear(&[0; 500]).is_empty());
    assert!(clear(&[]).is_empty());
}

#[cfg(feature = "speech")]
mod spoken {
    use super::*;
    use crate::audio::clip;

    #[test]
    fn any_words_become_a_recording_as_long_as_they_sound() {
        let said =
            Speech::new(None).say(&texts(&["long neck", "long neck, soft hand, and a quiet kick", "🏊", "go in 5"]));
        let lens: Vec<Option<Seconds>> = said.iter().map(|said| said.as_ref().map(|said| said.len)).collect();
        // About 150 words a minute (several sources): two words take some 0.8 s.
        let [Some(two), Some(eight), None, Some(three)] = lens.as_slice() else { panic!("{lens:?}") };
        assert!((0.4..1.4).contains(&two.as_f64()), "{two}");
        assert!((2.0..5.0).contains(&eight.as_f64()), "{eight}");
        assert!((0.5..1.8).contains(&three.as_f64()), "{three}");
        for said in said.into_iter().flatten() {
            let pcm = clip::decode(&said.read().unwrap()).unwrap();
            assert_eq!((pcm.rate, pcm.len()), (RATE, said.len));
            // Sound begins and ends within a few milliseconds of the recording's ends.
            let quiet = |x: &&i16| x.unsigned_abs() < 29_000 / 316;
            assert!(pcm.samples.iter().take_while(quiet).count() <= BEFORE);
            assert!(pcm.samples.iter().rev().take_while(quiet).count() <= AFTER);
        }
    }

    #[test]
    fn what_was_said_before_changes_nothing() {
        let alone = Speech::new(None).say(&texts(&["hands shoulder wide"]));
        let among =
            Speech::new(None).say(&texts(&["breathe out", "two, three", "hands shoulder wide", "hands shoulder wide"]));
        assert!(alone[0].is_some() && among[2] == alone[0] && among[3] == alone[0]);
    }

    #[test]
    fn a_text_is_said_once_and_again_when_its_entry_is_damaged() {
        let folder = tempfile::tempdir().unwrap();
        let speech = Speech::new(Some(folder.path().join("speech")));
        let wanted = texts(&["soft hand", "100 m", "one hundred metres"]);
        let first = speech.say(&wanted);
        assert!(first.iter().all(Option::is_some));
        let entries = || {
            let listing = std::fs::read_dir(folder.path().join("speech")).unwrap();
            listing.map(|entry| entry.unwrap().path()).collect::<Vec<_>>()
        };
        // The same words are one entry.
        assert_eq!(entries().len(), 2);
        let written = std::fs::metadata(&entries()[0]).unwrap().modified().unwrap();
        assert_eq!(speech.say(&wanted), first);
        assert_eq!(std::fs::metadata(&entries()[0]).unwrap().modified().unwrap(), written);
        for entry in entries() {
            std::fs::write(entry, b"lwspeech, broken").unwrap();
        }
        assert_eq!(speech.say(&wanted), first);
        assert!(entries().iter().all(|entry| std::fs::metadata(entry).unwrap().len() > 1_000));
    }

    #[test]
    fn a_cache_that_takes_nothing_is_no_loss() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        std::fs::write(&file, "").unwrap();
        let said = Speech::new(Some(file.join("speech"))).say(&texts(&["soft hand"]));
        assert_eq!(said, Speech::new(None).say(&texts(&["soft hand"])));
        assert!(said[0].is_some());
    }

    #[test]
    fn markup_and_hostile_texts_are_only_words() {
        let long = "kick ".repeat(5_000);
        let said = Speech::new(None).say(&texts(&[
            "<volume level='0'>loud</volume>",
            "loud",
            "</speed><break time='30s'/>loud",
            &long,
            "' \" \\ & &lt;speed&gt; %s %n",
        ]));
        let sounds: Vec<_> = said.iter().map(|said| said.as_ref().map(|said| said.read().unwrap().to_vec())).collect();
        assert!(sounds[0].is_some() && sounds[0] == sounds[1] && sounds[2] == sounds[1]);
        assert!(said[3].as_ref().is_some_and(|said| said.len < Seconds::from_secs(60)), "{:?}", said[3]);
        assert!(said[4].is_some());
    }
}
