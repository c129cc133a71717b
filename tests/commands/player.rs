//! Files for a player: folders of tracks that are whole or not there, names that any player takes, and splits that are the
//! single render end to end.

use crate::cases::amount;
use crate::material::{names, samples, script};
use crate::run::{Ran, Run};
use lengthwise::practice::Audience;
use lengthwise::prepare::{self, PracticeRequest};
use lengthwise::progress::Progress;
use lengthwise::render::Target;
use lengthwise::render::player::{self, PlayerOrder};
use lengthwise::sink::output::Format;
use lengthwise::units::time::SampleRate;
use std::sync::atomic::AtomicBool;

/// Titles as hostile as people are, each on a set of one swim.
fn hostile() -> String {
    let titles =
        ["Über / die \\\\ 50er: *schnell*?", "🏊🏽‍♀️🌊", "CON", "nul.txt", "...", &"long ".repeat(23), "Twice", "Twice"];
    let sets = titles.iter().map(|title| format!("  - {{ set: \"{title}\", swim: 25 m, effort: easy }}\n"));
    script(&sets.collect::<String>()).replace("title: Try", "title: \"COM1.5 <sets>\"")
}

/// What a run left in its folder, but for the cache of spoken texts.
fn visible(ran: &Ran) -> Vec<String> {
    ran.files().into_iter().filter(|name| name != ".cache").collect()
}

#[test]
fn hostile_titles_become_names_that_any_player_takes() {
    let ran = Run::new("render try.yaml --player tracks --format wav --rate 8000 --no-speech")
        .file("try.yaml", hostile())
        .run();
    assert_eq!(
        names(&ran.path("tracks")),
        [
            "00 Level and start.wav",
            "01 Uber die 50er schnell.wav",
            "02 Track.wav",
            "03 CON.wav",
            "04 nul txt.wav",
            "05 Track.wav",
            "06 long long long long long long.wav",
            "07 Twice.wav",
            "08 Twice.wav",
            "COM1_.5 sets.m3u8",
        ]
    );
    assert_eq!(visible(&ran), ["tracks", "try.yaml"], "nothing else is left");
    // The playlist has them in their order, with whole seconds and the titles as written.
    let list = std::fs::read_to_string(ran.path("tracks/COM1_.5 sets.m3u8")).unwrap();
    let listed: Vec<&str> = list.lines().filter(|line| !line.starts_with('#')).collect();
    assert!(listed.iter().copied().eq(names(&ran.path("tracks")).iter().take(9).map(String::as_str)));
    assert!(list.starts_with("#EXTM3U\n#PLAYLIST:COM1.5 <sets>\n") && list.contains(",🏊🏽‍♀️🌊\n02 Track.wav\n"), "{list}");
    for (line, name) in list.lines().filter(|line| line.starts_with("#EXTINF:")).zip(listed) {
        let told: f64 = line["#EXTINF:".len()..].split(',').next().unwrap().parse().unwrap();
        let reader = hound::WavReader::open(ran.path("tracks").join(name)).unwrap();
        assert!((f64::from(reader.duration()) / 8000.0 - told).abs() <= 0.5, "{line}");
    }
}

#[test]
fn every_track_is_exactly_its_timeline_and_silent_at_both_ends() {
    let folder = tempfile::tempdir().unwrap();
    let short = folder.path().join("short.yaml");
    std::fs::write(
        &short,
        script("  - { set: A, swim: 2 x 50 m on 1:30, tempo: 1.20 s }\n  - { set: B, swim: 50 m }\n"),
    )
    .unwrap();
    let script = amount(short, "tempo-range/up-and-back".into());
    let request = PracticeRequest { script, audience: Audience::Player, ..PracticeRequest::default() };
    let planned = prepare::plan(&request).unwrap().planned.unwrap();
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("tracks");
    let rate = SampleRate::new(8_000).unwrap();
    let wanted = PlayerOrder {
        folder: &target,
        target: Target::new(Format::Wav, rate, false, None).unwrap(),
        force: false,
        identity: "script a".into(),
        known: None,
    };
    struct Heard(Vec<(u64, u64)>);
    impl Progress for Heard {
        fn at(&mut self, done: u64, total: u64) {
            self.0.push((done, total));
        }
    }
    let mut heard = Heard(Vec::new());
    let made = player::render(&planned, &wanted, &mut heard, &AtomicBool::new(false)).unwrap();
    assert_eq!(made.len(), planned.plan.tracks.len());
    for (file, track) in made.iter().zip(&planned.plan.tracks) {
        let sound = samples(&target.join(&file.name));
        assert_eq!(sound.len() as u64, 2 * rate.frames(track.len), "{}", file.name);
        assert_eq!((file.figures.rendered.frames, file.figures.rendered.missed), (rate.frames(track.len), 0));
        let edge = 2 * 3 * 8_000;
        let (first, last) = (&sound[..edge], &sound[sound.len() - edge..]);
        assert!(first.iter().chain(last).all(|sample| *sample == 0), "{} is not silent at its ends", file.name);
        assert!(sound.iter().any(|sample| sample.unsigned_abs() > 1000));
    }
    assert!(
        heard.0.is_sorted() && heard.0.last().is_some_and(|(done, total)| total - done < 16),
        "{:?}",
        heard.0.last()
    );
    // Somebody else's folder, and one whose making is stopped, are as they were.
    let other = PlayerOrder { identity: "script b".into(), ..wanted.clone() };
    let before = names(&target);
    let error = player::render(&planned, &other, &mut heard, &AtomicBool::new(false)).unwrap_err().to_string();
    assert!(error.contains("tracks exists already") && error.contains("--force"), "{error}");
    let error = player::render(&planned, &wanted, &mut heard, &AtomicBool::new(true)).unwrap_err();
    assert!(matches!(error, lengthwise::render::NotRendered::Stopped), "{error}");
    assert_eq!((names(&target), names(folder.path())), (before, vec!["tracks".to_owned()]));
}

#[test]
fn only_our_own_folder_of_the_same_script_gives_way() {
    let one = script("  - { set: One, swim: 25 m, effort: easy }\n  - { set: Two, swim: 25 m, effort: easy }\n");
    let ran = Run::new("render a.yaml --player tracks --format wav --rate 8000").file("a.yaml", &one).run();
    let tracks = ran.path("tracks");
    std::fs::write(tracks.join("notes.txt"), "mine").unwrap();
    // Rendered again with a set less: the track that is not made any more goes, the notes stay.
    let less = one.lines().take(6).collect::<Vec<_>>().join("\n");
    ran.then("render a.yaml --player tracks --format wav --rate 8000").file("a.yaml", &less).run();
    let expected = ["00 Level and start.wav", "01 One.wav", "Try.m3u8", "notes.txt"];
    assert_eq!(names(&tracks), expected);
    let refused = |why: &str| {
        let other = ran.then("render b.yaml --player tracks --format wav --rate 8000").file("b.yaml", &one);
        other.exit(3).stderr(why).stderr("choose another name or replace it with --force").run();
    };
    refused("Try.m3u8 is a render of another script");
    assert_eq!(names(&tracks), expected);
    std::fs::remove_file(tracks.join("Try.m3u8")).unwrap();
    refused("exists already");
    ran.then("render b.yaml --player tracks --format wav --rate 8000 --force").run();
    assert_eq!(names(&tracks), ["00 Level and start.wav", "01 One.wav", "02 Two.wav", "Try.m3u8", "notes.txt"]);
    assert_eq!(std::fs::read_to_string(tracks.join("notes.txt")).unwrap(), "mine");
    assert_eq!(visible(&ran), ["a.yaml", "b.yaml", "tracks"]);
    // A file is in the way, or its folder is not there.
    ran.then("render b.yaml --player a.yaml --format wav").exit(3).stderr("a.yaml is not a folder").run();
    ran.then("render b.yaml --player gone/tracks").exit(3).stderr("make its folder first").run();
}

#[test]
fn usage_is_reported() {
    let ran = Run::new("render a.yaml --for player").file("a.yaml", "").exit(2).stderr("--player DIR").run();
    ran.then("render a.yaml --player x --for speaker").exit(2).stderr("leave one of them out").run();
    ran.then("render a.yaml b.yaml --player x").exit(2).stderr("one script").run();
    ran.then("render a.yaml --player x -o y.wav").exit(2).stderr("cannot be used with").run();
    ran.then("render a.yaml --split set -o y.ogg").exit(2).stderr(".ogg is no format").run();
}

/// Every file that a render was split into, end to end.
fn joined(ran: &Ran, folder: &str) -> Vec<i16> {
    let files = ran.json()["files"].as_array().unwrap().clone();
    files.iter().flat_map(|file| samples(&ran.path(folder).join(file["file"].as_str().unwrap()))).collect()
}

#[test]
fn splits_end_to_end_are_the_single_render_bit_for_bit() {
    let practice = script(
        "  - say: welcome\n  - { set: Easy, swim: 2 x 50 m on 1:40, effort: easy }\n  - rest: 30 s\n  \
         - { set: Mixed, rounds: 2, do: [{ swim: 25 m, tempo: 0.95 s, rest: 0 s }, { swim: 25 m, tempo: 1.15 s, rest: 20 s }] }\n  \
         - { set: \"Quick: 1/2\", swim: 3 x 25 m on 0:40, tempo: 1.10 s, beats: wood }\n",
    )
    .replace("beats: wood", "effort: fast");
    let practice = practice.replace(", effort: fast }", " }");
    {
        // A rate at which hardly a border falls on a whole frame.
        let rate = 11_025;
        let ran = Run::new(&format!("render a.yaml -o one.wav --rate {rate}")).file("a.yaml", &practice).run();
        let whole = samples(&ran.path("one.wav"));
        let run = |args: &str| ran.then(&format!("render a.yaml --json --rate {rate} {args}")).run();
        let sets = run("--split set -o mine.wav");
        assert!(joined(&sets, "") == whole, "by set at {rate} Hz");
        let repeats = run("--split repeat -o parts");
        assert!(joined(&repeats, "parts") == whole, "by repeat at {rate} Hz");
        let files: Vec<String> = ran.files().into_iter().filter(|name| name.starts_with("mine")).collect();
        assert_eq!(files, ["mine 01 Easy.wav", "mine 02 Mixed.wav", "mine 03 Quick 1 2.wav", "mine.m3u8"]);
        assert_eq!(names(&ran.path("parts")).len(), 2 + 4 + 3 + 1);
        // Borders: the first word said of a set; the countdown of a repeat; the join.
        let plan = ran.then("check a.yaml --json").run().json();
        let start = |set: usize, repeat: usize| plan["sets"][set]["repeats"][repeat]["start_s"].as_f64().unwrap();
        let begins: Vec<f64> = repeats.json()["files"]
            .as_array()
            .unwrap()
            .iter()
            .scan(0.0, |at, file| {
                let begins = *at;
                *at += file["duration_s"].as_f64().unwrap();
                Some(begins)
            })
            .collect();
        let near =
            |at: usize, expected: f64| assert!((begins[at] - expected).abs() < 0.001, "{at}: {begins:?}, {expected}");
        near(0, 0.0);
        near(1, start(0, 1) - 3.0);
        near(3, start(1, 1));
        near(4, start(1, 2) - 3.0);
        near(7, start(2, 1) - 3.0);
        let timeline = ran.then("check a.yaml --timeline").run().stdout;
        let next = timeline
            .lines()
            .filter(|line| line.ends_with("next") || line.contains("\tnext "))
            .map(|line| line.split('\t').next().unwrap().parse::<f64>().unwrap());
        next.zip([2, 6]).for_each(|(talk, at)| near(at, talk));
        // Again: ours are replaced; somebody else's are not.
        run("--split set -o mine.wav");
        std::fs::write(ran.path("mine 02 Mixed.wav"), "a song").unwrap();
        ran.then("render a.yaml --split set -o mine.wav").exit(3).stderr("mine 02 Mixed.wav exists already").run();
        assert_eq!(std::fs::read_to_string(ran.path("mine 02 Mixed.wav")).unwrap(), "a song");
    }
}
