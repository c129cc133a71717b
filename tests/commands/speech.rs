//! The built-in voice through the program: what has no recording is spoken, and whose recordings come first.

use crate::material::{names, wav};
use crate::run::{Ran, Run};
use serde_json::Value;

const SCRIPT: &str = "lengthwise: 1\ntitle: Try\npool: 25 m\npractice:\n  - say: hello\n  - { set: Slow fifties, swim: 2 x 50 m \
                      on 1:40, focus: [float, tall] }\n";

fn manifest(title: &str) -> String {
    format!(
        "lengthwise-pack: 1\ntitle: {title}\nlanguage: en-GB\nspeaker: {{ voice: x, made-with: x, agreed: x }}\nlicence: MIT\n\
         phrases:\n  float: {{ full: float like a leaf, short: float }}\n  tall: {{ full: tall in the water, short: tall }}\n\
         says: {{ hello: good to see you }}\n"
    )
}

/// A recording of so many tenths of a second: a tone.
fn recording(tenths: u32) -> Vec<u8> {
    wav(8_000, (0..tenths * 800).map(|n| if n % 16 < 8 { 6_000 } else { -6_000 }))
}

/// Two packs of the same words: the script's has recorded `float` (1.5 s), the coach's `float` (2.1 s) and `hello` (1.2 s).
fn packs(args: &str) -> Run {
    Run::new(args)
        .file("own/a.yaml", SCRIPT)
        .file("own/pack.yaml", manifest("Own"))
        .file("own/clips/phrases/float.wav", recording(15))
        .file("coach/pack.yaml", manifest("Coach"))
        .file("coach/clips/phrases/float.wav", recording(21))
        .file("coach/clips/says/hello.wav", recording(12))
}

/// How long the cue with an id lasts, in milliseconds.
fn lasts(ran: &Ran, id: &str) -> Option<u32> {
    let rows = ran.stdout.lines().map(|row| row.split('\t').collect::<Vec<_>>());
    let row = rows.into_iter().find(|row| row.get(3) == Some(&id))?;
    Some((row[1].parse::<f64>().unwrap() * 1_000.0).round() as u32)
}

#[test]
fn the_chosen_voice_comes_before_the_pack_and_the_pack_before_a_tone() {
    let ran = packs("check own/a.yaml --timeline --no-speech").run();
    assert_eq!(lasts(&ran, "float"), Some(1_500));
    // 400 ms a word, of unrecorded texts.
    assert_eq!((lasts(&ran, "tall"), lasts(&ran, "hello")), (Some(1_600), Some(1_600)));
    assert_eq!(ran.stderr.matches("caution[no-recording]").count(), 2, "{}", ran.stderr);
    for voice in ["coach", "./coach"] {
        let ran = packs(&format!("check own/a.yaml --timeline --no-speech --packs . --voice-from {voice}")).run();
        assert_eq!((lasts(&ran, "float"), lasts(&ran, "hello")), (Some(2_100), Some(1_200)), "{voice}");
        assert_eq!(ran.stderr.matches("caution[no-recording]").count(), 1, "{}", ran.stderr);
    }
    packs("check own/a.yaml --voice-from coch --packs .").exit(1).stderr("no pack `coch`").stderr("`coach`").run();
    packs("check own/a.yaml --voice-from ./gone").exit(1).stderr("no pack `./gone`").run();
}

#[test]
fn what_nobody_recorded_is_spoken_and_listed() {
    let ran = packs("check own/a.yaml --timeline --packs . --voice-from coach").run();
    assert_eq!((lasts(&ran, "float"), lasts(&ran, "hello")), (Some(2_100), Some(1_200)));
    // Four words: not a tone's estimate, but about as long.
    assert!(lasts(&ran, "tall").is_some_and(|tall| (800..2_600).contains(&tall) && tall != 1_600), "{}", ran.stdout);
    assert!(ran.stdout.contains("\tSlow fifties\n"), "the title is spoken: {}", ran.stdout);
    assert_eq!(ran.stderr, "");
    let voiced = |json: &Value| json["built_in_voice"].clone();
    let json = ran.then("check own/a.yaml --json --packs . --voice-from coach").run().json();
    assert_eq!(voiced(&json), serde_json::json!(["Slow fifties", "tall in the water"]));
    ran.then("check own/a.yaml").stdout("Spoken by the built-in voice").stdout("\"good to see you\"").run();
    let rendered =
        ran.then("render own/a.yaml --rate 8000 -o a.wav").stdout("3 texts spoken by the built-in voice").run();
    // What the plan says is what is rendered: the title is heard where it stands, from its first to its last moment.
    let rows = ran.then("check own/a.yaml --timeline").run();
    let row = rows.stdout.lines().find(|row| row.ends_with("\tSlow fifties")).unwrap();
    let [at, len] = [0, 1].map(|column| row.split('\t').nth(column).unwrap().parse::<f64>().unwrap());
    let wav = hound::WavReader::open(rendered.path("a.wav")).unwrap();
    let samples: Vec<i16> = wav.into_samples().map(Result::unwrap).collect();
    let heard = |from: f64, to: f64| {
        samples[(from * 8_000.0) as usize * 2..(to * 8_000.0) as usize * 2].iter().map(|s| s.unsigned_abs()).max()
    };
    assert!(heard(at, at + 0.3) > Some(300) && heard(at + len - 0.3, at + len) > Some(100), "{row}");
    assert_eq!((heard(at - 0.1, at - 0.002), heard(at + len + 0.02, at + len + 0.1)), (Some(0), Some(0)), "{row}");
}

#[test]
fn the_cache_is_filled_once_and_its_loss_is_no_harm() {
    let ran = packs("check own/a.yaml --timeline").run();
    let cache = ran.path(".cache/lengthwise/speech");
    let entries = names(&cache);
    // The texts that the first lay-out lacks, and no short form that nobody hears.
    assert_eq!(entries.len(), 3, "{entries:?}");
    let again = ran.then("check own/a.yaml --timeline").run();
    assert_eq!((&again.stdout, names(&cache)), (&ran.stdout, entries.clone()));
    std::fs::write(cache.join(&entries[0]), "no sound").unwrap();
    std::fs::remove_file(cache.join(&entries[1])).unwrap();
    assert_eq!(ran.then("check own/a.yaml --timeline").run().stdout, ran.stdout);
    assert_eq!(names(&cache), entries);
    // A file where the folder would be: nothing can be kept, and everything is said all the same.
    std::fs::write(ran.path("taken"), "").unwrap();
    let taken: &'static str = Box::leak(ran.path("taken").display().to_string().into_boxed_str());
    let without = ran.then("check own/a.yaml --timeline").env("XDG_CACHE_HOME", taken).run();
    assert_eq!(without.stdout, ran.stdout);
}

#[test]
fn markup_in_a_text_is_never_obeyed() {
    let pack = "lengthwise-pack: 1\ntitle: Own\nlanguage: en-GB\nspeaker: { voice: x, made-with: x, agreed: x }\nlicence: MIT\n\
                says: { a: \"<volume level='0'><speed level='500'>quiet as can be</speed></volume>\", b: quiet as can be }\n";
    let text = "lengthwise: 1\ntitle: Try\npool: 25 m\npractice:\n  - say: a\n  - say: b\n  - { set: A, swim: 25 m }\n";
    let ran = Run::new("check own/a.yaml --timeline").file("own/a.yaml", text).file("own/pack.yaml", pack).run();
    assert!(lasts(&ran, "a").is_some() && lasts(&ran, "a") == lasts(&ran, "b"), "{}", ran.stdout);
}
