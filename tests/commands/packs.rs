//! Packs begun, listed, shown, checked and heard: what the commands say and write.

use crate::cases::amount;
use crate::material::{names, wav};
use crate::run::Run;
use lengthwise::audio::{clip, loudness};
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::Stdio;

const PACK: &str = "lengthwise-pack: 1\ntitle: Lane three\nlanguage: en-GB\n\
    speaker: { voice: Mara, made-with: a phone, agreed: \"on 3 May, for this club\" }\nlicence: for this club\n\
    uses: [first-lengths]\nphrases:\n  good: { full: soft hand, short: soft }\n  \
    hips-up: { full: hips up at the surface, short: hips up }\nsays:\n  hello: Good evening.\n";

/// A shipped phrase with silence around it, so loud, with noise so loud.
fn spoken(gain: f32, silence: f64, noise: f32) -> Vec<u8> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("cue-packs/first-lengths/clips/phrases/soft-hand.ogg");
    let pcm = clip::decode(&fs::read(root).unwrap()).unwrap();
    let around = vec![0.0; (f64::from(pcm.rate) * silence) as usize];
    let speech: Vec<f32> = pcm.samples.iter().map(|&x| f32::from(x) / 32_768.0).collect();
    let mut samples = [around.clone(), speech, around].concat();
    let mut state = 7_u64;
    for x in &mut samples {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        *x = *x * gain + noise * ((state >> 40) as f32 / (1_u64 << 23) as f32 - 1.0);
    }
    wav(pcm.rate, samples.iter().map(|x| (x.clamp(-1.0, 1.0) * 32_767.0).round() as i16))
}

#[test]
fn a_pack_is_begun_by_answers_and_checks() {
    let run = Run::new("pack new my-voice").stderr("Whose voice").stderr("made my-voice");
    let mut command = run.command();
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(b"Pim\nmaybe\nyes\nAda Quist\non 3 May, for this club\n").unwrap();
    let ran = run.judge(child.wait_with_output().unwrap());
    assert_eq!(names(&ran.path("my-voice")), ["first.yaml", "pack.yaml"]);
    let shown = ran.then("pack show my-voice --json").run().json();
    assert_eq!(shown["voice"], "Pim");
    assert_eq!(shown["agreed"], "Ada Quist agreed as the guardian of Pim, a child: on 3 May, for this club");
    let checked = ran.then("pack check my-voice --json").run().json();
    assert_eq!(
        (&checked["good"], &checked["diagnostics"], &checked["findings"]),
        (&true.into(), &serde_json::json!([]), &serde_json::json!([]))
    );
    assert_eq!(checked["scripts"][0]["diagnostics"], serde_json::json!([]));
    assert_eq!(checked["missing"].as_array().unwrap().len(), 6);
    // It is found from its own folder, and never made twice.
    let before = fs::read(ran.path("my-voice/pack.yaml")).unwrap();
    ran.then("pack new my-voice --voice Bo --agreed yes").exit(3).stderr("exists already and stays as it is").run();
    assert_eq!(fs::read(ran.path("my-voice/pack.yaml")).unwrap(), before);
    ran.then("check my-voice/first.yaml").stdout("One thing at a time").run();
}

#[test]
fn without_a_word_nothing_is_made() {
    for (answers, told) in [
        ("", "was not answered"),
        ("\n", "whose voice it is must be known"),
        ("Mara\nno\n\n", "without that person's word"),
        ("Mara\nno\nno\n", "without that person's word"),
        ("Pim\nyes\n\n", "without a guardian's word"),
        ("Pim\nyes\nAda\nnot yet\n", "ask Ada first"),
        ("Pim\nyes\nAda\n", "was not answered"),
    ] {
        let run = Run::new("pack new my-voice").exit(2).stderr("nothing was made").stderr(told).no_stdout();
        let mut command = run.command();
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        // It may have ended before it has read all.
        let _ = child.stdin.take().unwrap().write_all(answers.as_bytes());
        let ran = run.judge(child.wait_with_output().unwrap());
        assert_eq!(ran.files(), [""; 0], "{answers}");
    }
    Run::new("pack new my-voice --voice Pim --child --agreed yes --guardian no")
        .exit(2)
        .stderr("guardian's word")
        .run();
    Run::new("pack new My-Voice --voice Mara --agreed yes").exit(2).stderr("such as `my-voice`").run();
    Run::new("pack new gone/my-voice --voice Mara --agreed yes").exit(3).stderr("make its folder first").run();
}

#[test]
fn the_texts_of_a_pack_are_taken_over() {
    let args = "pack new my-voice --voice Mara --agreed yes --texts-of first-lengths --texts-of announcer";
    let ran = Run::new(args).run();
    let checked = ran.then("pack check my-voice --json").run().json();
    let all = |pack: &str| {
        let shown = Run::new(&format!("pack show {pack} --json")).run().json();
        shown["texts"].as_array().unwrap().len()
    };
    let (phrases, words) = (all("first-lengths"), all("announcer"));
    assert!(phrases > 70 && words > 600, "{phrases} and {words} texts");
    assert_eq!((&checked["texts"], &checked["good"]), (&(phrases + words).into(), &true.into()));
    // Until they are recorded they are heard from the packs that have them.
    let shown = ran.then("pack show my-voice --json").run().json();
    let texts = shown["texts"].as_array().unwrap();
    let from = |pack: &str| texts.iter().filter(|text| text["heard_from"] == pack).count();
    assert_eq!((from("first-lengths"), from("announcer"), from("own")), (phrases, words, 0));
    ran.then("pack new other --voice Mara --agreed yes --texts-of first-lenths")
        .exit(2)
        .stderr("did you mean `first-lengths`?")
        .run();
    assert_eq!(ran.files(), ["my-voice"]);
}

#[test]
fn faults_of_recordings_are_found() {
    let ran = Run::new("pack check lane")
        .file("lane/pack.yaml", PACK)
        .file("lane/clips/phrases/good.wav", spoken(0.9, 0.02, 0.0))
        .file("lane/clips/phrases/good.short.wav", spoken(0.03, 0.3, 0.0))
        .file("lane/clips/phrases/hips-up.wav", spoken(7.0, 0.02, 0.0))
        .file("lane/clips/phrases/hips-up.flac", "")
        .file("lane/clips/says/hello.wav", spoken(0.8, 0.6, 0.02))
        .file("lane/clips/says/memo.amr", "")
        .file("lane/clips/says/old.wav", spoken(1.0, 0.0, 0.0))
        .stdout("5 texts: 4 recorded, 1 from packs that it uses")
        .stdout("caution[clipped] lane/clips/phrases/hips-up.wav \"hips up at the surface\"")
        .stdout("move back a hand's width, or turn the input down")
        .run();
    let found = ran.then("pack check lane --json").run().json();
    let mut seen: Vec<(String, String)> = found["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|finding| {
            let file = finding["file"].as_str().unwrap().rsplit('/').next().unwrap().to_owned();
            (file, finding["code"].as_str().unwrap().to_owned())
        })
        .collect();
    seen.sort();
    let seen: Vec<(&str, &str)> = seen.iter().map(|(file, code)| (file.as_str(), code.as_str())).collect();
    let expected = [
        ("good.short.wav", "loudness"),
        ("good.short.wav", "silence"),
        ("good.short.wav", "silence"),
        ("good.short.wav", "too-long"),
        // It says "soft hand" for "soft". By letters alone a single word's length is not known so well.
        #[cfg(feature = "speech")]
        ("good.short.wav", "too-much"),
        ("good.short.wav", "too-quiet"),
        ("hello.wav", "noisy"),
        ("hello.wav", "silence"),
        ("hello.wav", "silence"),
        ("hips-up.flac", "twice"),
        ("hips-up.wav", "clipped"),
        ("hips-up.wav", "loudness"),
        ("memo.amr", "format"),
        ("old.wav", "no-text"),
    ];
    assert_eq!(seen, expected);
}

#[test]
fn only_what_cannot_be_used_fails() {
    let script =
        "lengthwise: 1\ntitle: Try\npool: 25 m\npractice:\n  - { set: One, swim: 4 x 50 m, rest: 20 s, focus: godo }\n";
    let ran = Run::new("pack check lane").file("lane/pack.yaml", PACK).file("lane/tuesday.yaml", script).exit(1);
    let ran = ran.stderr("unknown-name").stdout("lane/tuesday.yaml  has errors").run();
    fs::write(ran.path("lane/tuesday.yaml"), script.replace("godo", "good")).unwrap();
    ran.then("pack check lane").stdout("missing: 3").run();
    // A recording whose header is whole, but not what follows; and one that is not sound.
    let mut flac = Vec::from(*b"fLaC");
    flac.extend([0; 60]);
    for bytes in [flac, b"no sound".to_vec(), spoken(1.0, 0.0, 0.0)[..4_000].to_vec()] {
        fs::create_dir_all(ran.path("lane/clips/says")).unwrap();
        fs::write(ran.path("lane/clips/says/hello.wav"), bytes).unwrap();
        ran.then("pack check lane").exit(1).run();
    }
    fs::write(ran.path("lane/pack.yaml"), "- 1").unwrap();
    ran.then("pack check lane").exit(1).stderr("pack.yaml").run();
    ran.then("pack show lane").exit(1).run();
    ran.then("pack check nowhere").exit(2).stderr("there is no pack `nowhere`").run();
    ran.then("pack check").exit(2).run();
}

#[test]
fn shipped_packs_are_good_and_listed() {
    let ran = Run::new("pack list").stdout("first-lengths").stdout("built in").run();
    let listed = ran.then("pack list --json").run().json();
    let packs = listed["packs"].as_array().unwrap();
    assert_eq!(packs.len(), 4);
    for pack in packs {
        let name = pack["name"].as_str().unwrap();
        assert_eq!(pack["texts"], pack["recordings"], "{name}");
        // The announcer has a test of its own. One pack is enough for the quick loop.
        if name == "announcer" || name != amount("open-water", name) {
            continue;
        }
        let checked = ran.then(&format!("pack check {name} --json")).run().json();
        assert_eq!(checked["findings"], serde_json::json!([]), "{name}");
    }
    ran.then("pack show first-lengths").stdout("look down at the tiles").stdout("thirds").stdout("level-body").run();
}

#[test]
fn the_announcer_has_no_fault() {
    // A thousand recordings are looked at.
    if amount(true, false) {
        eprintln!("skipped: it takes long; LENGTHWISE_CASES asks for it");
        return;
    }
    let checked = Run::new("pack check announcer --json").run().json();
    assert_eq!(checked["findings"], serde_json::json!([]));
}

#[test]
fn a_text_is_heard_as_a_practice_has_it() {
    let ran = Run::new("pack say look-down -o full.wav").stderr("recorded in first-lengths").run();
    ran.then("pack say look-down --short -o short.wav").run();
    ran.then("pack say look-down -o full.wav").exit(3).stderr("--force").run();
    ran.then("pack say look-down -o full.wav --force").run();
    ran.then("pack say look-down -o full.mp3").exit(2).stderr("must end in .wav").run();
    ran.then("pack say look-donw -o no.wav").exit(2).stderr("did you mean `look-down`").run();
    ran.then("pack say look-down --pack open-wat -o no.wav").exit(2).stderr("`open-water`").run();
    let loud = |name: &str| {
        let pcm = clip::decode(&fs::read(ran.path(name)).unwrap()).unwrap();
        let samples: Vec<f32> = pcm.samples.iter().map(|&x| f32::from(x) / 32_768.0).collect();
        let quiet = samples.iter().take(8_000).all(|x| *x == 0.0);
        assert!(quiet && pcm.rate == 44_100, "{name}");
        loudness::of_clip(&samples[8_820..samples.len() - 8_820], pcm.rate).unwrap()
    };
    // −16 LUFS is the voice of a practice that says nothing else.
    assert!((loud("full.wav") + 16.0).abs() < 0.3 && (loud("short.wav") + 16.0).abs() < 0.3);
    assert_eq!(ran.files(), ["full.wav", "short.wav"]);
}

#[test]
fn what_nobody_recorded_is_said_or_told() {
    let ran = Run::new("pack say hello --pack lane -o hello.wav").file("lane/pack.yaml", PACK);
    let ran =
        if cfg!(feature = "speech") { ran.stderr("said by the built-in voice") } else { ran.stderr("a tone") }.run();
    fs::write(ran.path("lane/pack.yaml"), PACK.replace("en-GB", "fi")).unwrap();
    ran.then("pack say hello --pack lane -o tone.wav").stderr("a tone stands for it").run();
    let pcm = clip::decode(&fs::read(ran.path("tone.wav")).unwrap()).unwrap();
    assert!(pcm.samples.iter().any(|x| x.abs() > 1_000));
}

#[test]
fn a_damaged_recording_is_told_in_our_words() {
    // A foreign decoder panics on some of these, and reads others as far as they go.
    let whole = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/clips/short.mp3")).unwrap();
    let mut caught = 0;
    for cut in (250..420).step_by(amount(10, 1)) {
        let run = Run::new("pack check mara")
            .file("mara/pack.yaml", PACK)
            .file("mara/clips/phrases/hips-up.mp3", &whole[..cut]);
        let output = run.command().output().unwrap();
        let said = String::from_utf8([output.stdout, output.stderr].concat()).unwrap();
        assert!(matches!(output.status.code(), Some(0 | 1)), "{cut} bytes: {said}");
        assert!(!said.contains("panicked"), "{cut} bytes: {said}");
        caught += usize::from(said.contains("it is damaged"));
    }
    assert!(caught > 0, "the decoder panics no more: look whether `unheard` is still needed");
}
