use super::*;

#[test]
fn the_first_pack_wins() {
    let mut library = Library::new();
    for text in ["reach", "stretch"] {
        library.add(Role::Phrase, "reach", PackEntry { full: Spoken::unrecorded(text), short: None });
    }
    assert_eq!(library.entry(Role::Phrase, "reach").unwrap().full.text, "reach");
    assert!(library.entry(Role::Say, "reach").is_none());
    assert_eq!(library.by_text(Role::Phrase, "Reach").unwrap().0, "reach");
}

fn recorded(library: &mut Library, text: &str, from: &str, seconds: i64) -> Spoken {
    let len = Seconds::from_secs(seconds);
    let recording =
        Recording { name: from.to_owned(), bytes: Bytes::Static(&[]), len, provenance: Provenance::StandIn };
    Spoken { text: text.to_owned(), clip: Some(library.add_recording(recording)), len }
}

fn built_in(len: Seconds) -> Recording {
    let (name, bytes) = ("built in".to_owned(), Bytes::Static(&[]));
    Recording { name, bytes, len, provenance: Provenance::BuiltInVoice }
}

fn heard<'a>(library: &'a Library, spoken: &Spoken) -> Option<&'a str> {
    Some(&library.recording(spoken.clip?)?.name)
}

#[test]
fn the_chosen_voice_wins_then_packs_then_the_built_in_one() {
    let mut library = Library::new();
    let texts = ["reach", "soft hand", "long neck", "head still", "breathe out"];
    let add = |library: &mut Library, text: &str, full: Spoken| {
        let short = Some(Spoken::unrecorded(format!("{text}, short")));
        library.add(Role::Phrase, text.replace(' ', "-"), PackEntry { full, short });
    };
    // The first pack has recorded only the first text, the second all but the last.
    for text in texts {
        let full = if text == "reach" { recorded(&mut library, text, "first", 1) } else { Spoken::unrecorded(text) };
        add(&mut library, text, full);
    }
    for text in ["reach", "soft hand", "long neck"] {
        let full = recorded(&mut library, &text.to_uppercase(), "second", 2);
        add(&mut library, text, full);
    }
    // Another meaning under the same id is not borrowed.
    let other = recorded(&mut library, "something else", "second", 2);
    add(&mut library, "head still", other);
    let mut coach = Library::new();
    let long_neck = recorded(&mut coach, "Long neck", "coach", 3);
    let more = recorded(&mut coach, "seventeen", "coach", 1);
    coach.add(Role::Phrase, "of-my-own", PackEntry { full: long_neck, short: None });
    coach.add(Role::Word, "n-17", PackEntry { full: more, short: None });
    coach.add(Role::Say, "reach", PackEntry { full: Spoken::unrecorded("reach"), short: None });
    library.speak_with(coach);
    for text in ["head still", "long neck", "soft hand", "seventeen metres"] {
        let len = Seconds::from_millis(700);
        library.voice(text, built_in(len));
    }
    let of = |id: &str| heard(&library, &library.entry(Role::Phrase, id).unwrap().full);
    let expected = ["first", "second", "coach", "built in"].map(Some);
    assert_eq!(["reach", "soft-hand", "long-neck", "head-still"].map(of), expected);
    assert_eq!(of("breathe-out"), None);
    assert_eq!(heard(&library, &library.entry(Role::Word, "n-17").unwrap().full), Some("coach"));
    assert!(library.entry(Role::Say, "reach").is_none());
    let voiced = library.text("seventeen metres");
    assert!(library.is_voiced(voiced.clip.unwrap()) && voiced.len == Seconds::from_millis(700));
    let long_neck = &library.entry(Role::Phrase, "long-neck").unwrap().full;
    assert!(!library.is_voiced(long_neck.clip.unwrap()) && long_neck.len == Seconds::from_secs(3));
    assert_eq!(library.text("never said"), Spoken::unrecorded("never said"));
}

#[test]
fn a_name_is_found_whole_or_by_its_first_word_where_it_is_recorded() {
    let mut library = Library::new();
    for text in ["Ida", "Ida Berg", "Mary-Ann  Øst"] {
        let full = recorded(&mut library, text, text, 1);
        library.add(Role::Name, text.to_lowercase(), PackEntry { full, short: None });
    }
    for text in ["Bo Lind", "Cy"] {
        library.add(Role::Name, text.to_lowercase(), PackEntry { full: Spoken::unrecorded(text), short: None });
    }
    library.voice("Cy", built_in(Seconds::ZERO));
    let found = |name: &str| library.name(name).map(|(_, entry)| entry.full.text.as_str());
    assert_eq!(
        ["ida", "IDA  berg", "Ida Lind", "mary-ann øst"].map(found),
        [Some("Ida"), Some("Ida Berg"), Some("Ida"), Some("Mary-Ann  Øst")]
    );
    assert_eq!(["Bo Lind", "Bo", "Cy", "Berg", "Mary-Ann", ""].map(found), [None; 6]);
}

#[test]
fn a_phrase_of_one_recording_takes_no_words_out_of_a_coachs_mouth() {
    let mut library = Library::new();
    let built_in_place = PackPlace::BuiltIn(crate::pack::builtin::pack("announcer").unwrap());
    let folder = PackPlace::Folder { shown: "coach".into(), real: "/coach".into() };
    let [announcer, coach] = [built_in_place, folder].map(|place| {
        let text = String::new;
        let (name, title, language, voice, licence) = (text(), text(), text(), text(), text());
        library.add_pack(PackInfo { name, place, title, language, voice, licence })
    });
    let mut of = |pack: PackId| {
        let (name, bytes, len) = (String::new(), Bytes::Static(&[]), Seconds::from_secs(1));
        let clip = library.add_recording(Recording { name, bytes, len, provenance: Provenance::Pack(pack) });
        Spoken { text: "words".into(), clip: Some(clip), len }
    };
    let (ours, theirs, nobodys) = (of(announcer), of(coach), Spoken::unrecorded("words"));
    let stands = |whole: &Spoken, parts: [&Spoken; 2]| library.stands_for(whole, &parts.map(Clone::clone));
    assert!(stands(&ours, [&ours, &ours]) && stands(&theirs, [&ours, &theirs]) && stands(&ours, [&nobodys, &ours]));
    assert!(
        !stands(&ours, [&theirs, &theirs]) && !stands(&ours, [&ours, &theirs]) && !stands(&nobodys, [&ours, &ours])
    );
    assert!(stands(&nobodys, [&nobodys, &ours]));
}

#[test]
fn unrecorded_speech_takes_time() {
    // About 150 words a minute: several sources.
    assert_eq!(Spoken::unrecorded("go in ten").len, Seconds::from_millis(1200));
}
