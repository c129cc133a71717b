//! The program as its users meet it: exit codes, messages, formats, and files that are whole or not there.

use crate::material::{chunks, names, samples, script};
use crate::run::{Ran, Run};
use serde_json::Value;
use std::collections::BTreeSet;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const EASY: &str = "  - { set: Easy start, swim: 2 x 25 m, rest: 20 s, focus: head-still }\n";

fn easy(args: &str) -> Run {
    Run::new(args).file("a.yaml", script(EASY))
}

#[test]
fn usage_is_reported_with_2() {
    for args in [
        "",
        "check",
        "nonsense",
        "check a.yaml --json --timeline",
        "check a.yaml --colour never",
        "render a.yaml --rate 7999",
        "render a.yaml --rate 192001",
        "render a.yaml --rate fast",
        "render a.yaml -o a.ogg",
        "render a.yaml -o a",
        "play a.yaml --for player --dry-run",
        "play a.yaml -o a.wav",
    ] {
        let ran = easy(args).exit(2).no_stdout().run();
        assert!(!ran.stderr.is_empty() && ran.files() == ["a.yaml"], "{args}");
    }
    easy("render a.yaml -o a").exit(2).stderr("must end in .wav or .flac or .mp3").stderr("--format").run();
    easy("render a.yaml -o a.wav --format flac").exit(2).stderr("its name says WAV").run();
    easy("render a.yaml --quality 128").exit(2).stderr("--quality is of MP3").run();
    if cfg!(feature = "mp3") {
        easy("render a.yaml -o a.mp3 --rate 96000").exit(2).stderr("it knows 8000, 11025").stderr("--rate").run();
        easy("render a.yaml -o a.mp3 --quality 100").exit(2).stderr("it has 64, 80, 96, 112, 128").run();
    } else {
        easy("render a.yaml -o a.mp3").exit(2).stderr("made without the feature `mp3`").run();
    }
    easy("render a.yaml --rate 7999").exit(2).stderr("7999 is not in 8000..=192000").run();
    Run::new("--help").stdout("Exit codes: 0 ok, 1").stdout("check").stdout("render").run();
    Run::new("--version").stdout(env!("CARGO_PKG_VERSION")).run();
}

#[test]
fn mistakes_are_reported_with_their_place_and_a_hint() {
    let bad = script("  - { set: Easy start, swim: 2 x 60 m, rest: 20 s, focus: head-stil }\n");
    let ran = Run::new("check a.yaml").file("a.yaml", &bad).exit(1).no_stdout().run();
    assert_eq!(
        ran.stderr,
        "\
error[not-whole-lengths]: 60 m is no whole number of lengths of 25 m
 --> a.yaml:6:34
  |
6 |   - { set: Easy start, swim: 2 x 60 m, rest: 20 s, focus: head-stil }
  |                                  ^^^^
  |
  = help: swim 50 m or 75 m

error[unknown-name]: unknown focus phrase `head-stil`
 --> a.yaml:6:59
  |
6 |   - { set: Easy start, swim: 2 x 60 m, rest: 20 s, focus: head-stil }
  |                                                           ^^^^^^^^^
  |
  = help: did you mean `head-still`?

"
    );
    let ran = Run::new("render a.yaml").file("a.yaml", script(&EASY.replace("20 s", "20"))).exit(1).no_stdout().run();
    assert_eq!(
        ran.stderr,
        "\
error[unit-missing]: a rest needs a unit; found `20`
 --> a.yaml:6:46
  |
6 |   - { set: Easy start, swim: 2 x 25 m, rest: 20, focus: head-still }
  |                                              ^^
  |
  = help: `20 s`?

"
    );
    assert_eq!(ran.files(), ["a.yaml"]);
    let json = Run::new("check a.yaml --json").file("a.yaml", &bad).exit(1).run().json();
    let first = &json["diagnostics"][0];
    assert_eq!((&first["code"], &first["severity"]), (&"not-whole-lengths".into(), &"error".into()));
    assert_eq!((&first["file"], &first["line"], &first["column"]), (&"a.yaml".into(), &6.into(), &34.into()));
    assert_eq!(json["sets"], Value::Array(Vec::new()));
    let unknown = script(EASY).replace("first-lengths", "first-lenghts");
    let ran = Run::new("check a.yaml").file("a.yaml", unknown).exit(1);
    ran.stderr("there is no pack `first-lenghts`").stderr("a.yaml:4:7").stderr("Searched: ., ..,").run();
    let ran = Run::new("check a.yaml").file("a.yaml", "").exit(1).no_stdout().run();
    assert_eq!(
        ran.stderr,
        "\
error[empty]: the script is empty
 --> a.yaml:1:1
  |
1 |
  | ^
  |
  = help: it begins with `lengthwise: 1`, `title:`, `pool:` and `practice:`

"
    );
}

#[test]
fn what_cannot_be_read_is_reported_with_3() {
    for (name, content) in [("gone.yaml", None), ("utf.yaml", Some(&b"title: \xff"[..]))] {
        let run = Run::new(&format!("check {name}")).exit(3).no_stdout().stderr(format!("cannot read {name}: "));
        let run =
            if let Some(content) = content { run.file(name, content).stderr("byte 7").stderr("UTF-8") } else { run };
        run.run();
    }
    Run::new("check dir").file("dir/a.yaml", "").exit(3).stderr("cannot read dir: it is a folder").run();
    easy("check a.yaml --swimmer gone.yaml").exit(3).no_stdout().stderr("cannot read gone.yaml").run();
    Run::new("check a.yaml").file("a.yaml", vec![b'#'; (1 << 20) + 1]).exit(3).stderr("larger than 1 MiB").run();
    let swimmer = easy("check a.yaml --swimmer p.yaml").file("p.yaml", "lengthwise-profile: 1\npool: 25 m\n");
    swimmer.exit(1).no_stdout().stderr("p.yaml").stderr("stroke").run();
}

#[test]
fn the_timeline_has_five_columns() {
    let ran = Run::new("check first-lengths/first-hundreds --timeline").run();
    let mut kinds = BTreeSet::new();
    for line in ran.stdout.lines() {
        let [at, len, kind, id, _] = line.split('\t').collect::<Vec<_>>().try_into().unwrap();
        for time in [at, len] {
            let (whole, decimals) = time.split_once('.').unwrap();
            let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
            assert!(digits(whole) && digits(decimals) && decimals.len() == 9, "{line}");
        }
        assert!(!id.is_empty(), "{line}");
        kinds.insert(kind.to_owned());
    }
    assert_eq!(
        kinds.iter().map(String::as_str).collect::<Vec<_>>(),
        ["beat", "breath", "go", "phrase", "pip", "preview", "say", "set", "timer"]
    );
}

#[test]
fn json_has_its_fields_and_no_other() {
    let practice = "  - { set: A, swim: 2 x 50 m on 1:30, tempo: 1.20 s, breathe: every 5, focus: { phrases: [head-still, look-down], change: length } }\n";
    let json = Run::new("check a.yaml --json").file("a.yaml", script(practice)).run().json();
    let keys = |value: &Value| value.as_object().unwrap().keys().cloned().collect::<BTreeSet<_>>();
    let wanted = |words: &str| words.split(' ').map(str::to_owned).collect::<BTreeSet<_>>();
    let all = "title pool duration_s distance_m strokes sets focus breaths assumptions cautions dropped built_in_voice diagnostics";
    assert_eq!(keys(&json), wanted(all));
    assert_eq!(keys(&json["sets"][0]), wanted("title repeats"));
    let repeat = &json["sets"][0]["repeats"][0];
    let fields = "start_s distance_m lengths tempo_s count strokes predicted_s send_off_s rest_s focus";
    assert_eq!(keys(repeat), wanted(fields));
    assert_eq!(
        (&repeat["send_off_s"], &repeat["focus"]),
        (&90.0.into(), &serde_json::json!(["head-still", "look-down"]))
    );
    assert_eq!(keys(&json["focus"][0]), wanted("phrase strokes"));
    assert_eq!(json["focus"][0]["phrase"], "head-still");
    assert_eq!(keys(&json["breaths"]), wanted("left right"));
    assert_eq!(keys(&json["diagnostics"][0]), wanted("code severity message file line column hint"));
    assert_eq!(
        (&json["diagnostics"][0]["severity"], &json["cautions"][0]),
        (&"caution".into(), &json["diagnostics"][0]["message"])
    );
}

#[test]
fn a_render_is_the_wav_that_was_planned() {
    for (flags, channels, rate) in [("--rate 8000", 2, 8_000), ("--rate 11025 --mono", 1, 11_025)] {
        let ran = easy(&format!("render a.yaml {flags}")).stdout("a.wav").stdout("Never swim alone").run();
        assert_eq!(ran.files(), ["a.wav", "a.yaml"]);
        let plan = ran.then("check a.yaml --json").run().json();
        let reader = hound::WavReader::open(ran.path("a.wav")).unwrap();
        let spec = reader.spec();
        assert_eq!((spec.channels, spec.sample_rate, spec.bits_per_sample), (channels, rate, 16));
        let frames = (plan["duration_s"].as_f64().unwrap() * f64::from(rate)).round();
        assert!((f64::from(reader.duration()) - frames).abs() <= 1.0, "{} frames, not {frames}", reader.duration());
        // A marker for each repeat: `cue ` holds its number and frame, `LIST/adtl` its label.
        let bytes = std::fs::read(ran.path("a.wav")).unwrap();
        let chunks = chunks(&bytes);
        let cue = &chunks.iter().find(|(name, _)| name == "cue ").unwrap().1;
        let word = |at: usize| u32::from_le_bytes(cue[at..at + 4].try_into().unwrap());
        let marks: Vec<u32> = (0..word(0) as usize).map(|n| word(4 + 24 * n + 4)).collect();
        let goes = plan["sets"][0]["repeats"].as_array().unwrap().iter();
        let goes: Vec<u32> =
            goes.map(|repeat| (repeat["start_s"].as_f64().unwrap() * f64::from(rate)).round() as u32).collect();
        assert_eq!(marks, goes);
        let labels = &chunks.iter().find(|(name, bytes)| name == "LIST" && bytes.starts_with(b"adtl")).unwrap().1;
        let labels = String::from_utf8_lossy(labels).into_owned();
        assert!(labels.contains("Easy start 1/2\0") && labels.contains("Easy start 2/2\0"), "{labels:?}");
    }
    let json = Run::new("render first-lengths/level-body --rate 8000 --mono --json").run();
    assert_eq!(
        (json.json()["output"].as_str(), json.files()),
        (Some("level-body.wav"), vec!["level-body.wav".to_owned()])
    );
}

const RENDER: &str = "render a.yaml --rate 8000 --mono";

#[test]
fn files_of_others_are_left_alone() {
    let ran =
        easy(RENDER).file("a.wav", "mine").exit(3).no_stdout().stderr("a.wav exists already").stderr("--force").run();
    let left = |ran: &Ran| std::fs::read(ran.path("a.wav")).unwrap();
    assert_eq!((left(&ran).as_slice(), ran.files()), (&b"mine"[..], vec!["a.wav".to_owned(), "a.yaml".to_owned()]));
    ran.then(&format!("{RENDER} --force")).run();
    let first = left(&ran);
    assert!(first.starts_with(b"RIFF"));
    // Its own render of the same script gives way, even when the script has changed.
    ran.then(RENDER).file("a.yaml", script(&EASY.replace("2 x", "3 x"))).run();
    let second = left(&ran);
    assert!(second.len() > first.len());
    let other = ran.then("render b.yaml -o a.wav --rate 8000 --mono").file("b.yaml", script(EASY));
    let other = other.exit(3).stderr("render of another script").stderr("--force").run();
    assert!(left(&other) == second && other.files() == ["a.wav", "a.yaml", "b.yaml"]);
}

#[test]
fn a_format_is_reported_by_the_name_or_asked_for() {
    let command = format!("{RENDER} --format flac");
    let ran = easy(&command).stdout("a.flac").run();
    assert_eq!(ran.files(), ["a.flac", "a.yaml"]);
    let flac = std::fs::read(ran.path("a.flac")).unwrap();
    assert!(flac.starts_with(b"fLaC"));
    // Its own render gives way whatever its format; another script's does not.
    ran.then(&command).run();
    ran.then(&format!("{RENDER} -o b --format flac")).run();
    assert!(std::fs::read(ran.path("b")).unwrap() == flac);
    let other = ran.then("render b.yaml -o a.flac --rate 8000").file("b.yaml", script(EASY));
    other.exit(3).stderr("render of another script").run();
    easy(&command).file("a.flac", "fLaCnonsense").exit(3).stderr("exists already").run();
}

#[test]
fn captions_lie_beside_the_sound() {
    let command = format!("{RENDER} --captions");
    let ran = easy(&command).run();
    assert_eq!(ran.files(), ["a.vtt", "a.wav", "a.yaml"]);
    let captions = std::fs::read_to_string(ran.path("a.vtt")).unwrap();
    assert!(captions.starts_with("WEBVTT\n\n") && captions.matches(" --> ").count() > 5, "{captions}");
    ran.then(&command).run();
    ran.then(&format!("{RENDER} --captions=words.vtt")).run();
    assert_eq!(std::fs::read_to_string(ran.path("words.vtt")).unwrap(), captions);
    let ran = easy(&command).file("a.vtt", "WEBVTT\n\nmine").exit(3).stderr("a.vtt exists already").run();
    assert_eq!(ran.files(), ["a.vtt", "a.yaml"]);
    easy(&format!("{RENDER} --captions=a.wav")).exit(2).stderr("both").run();
}

#[test]
fn folders_that_take_no_file_are_named() {
    easy(&format!("{RENDER} -o gone/a.wav")).exit(3).stderr("gone/a.wav").stderr("make its folder first").run();
    // A file as the folder stands for one that nobody may write to: the tests may run as root, who may write anywhere.
    let ran = easy(&format!("{RENDER} -o a.yaml/a.wav")).exit(3).stderr("cannot create a.yaml/a.wav").run();
    assert!(!ran.stderr.contains("exists already") && ran.files() == ["a.yaml"], "{}", ran.stderr);
    let ran = easy(&format!("{RENDER} -o dir.wav")).file("dir.wav/x", "").exit(3).stderr("dir.wav").run();
    assert_eq!(names(&ran.path("dir.wav")), ["x"]);
}

#[test]
#[cfg(unix)]
fn a_disk_that_is_full_leaves_no_half_file() {
    // A limit on the size of files stands for the full disk: writing fails in the middle either way.
    for old in [None, Some("mine")] {
        let run = easy(&format!("{RENDER} --force"));
        let run = if let Some(old) = old { run.file("a.wav", old) } else { run };
        let plain = run.command();
        let mut limited = Command::new("sh");
        limited
            .args(["-c", "trap '' XFSZ; ulimit -f 256; exec \"$0\" \"$@\""])
            .arg(plain.get_program())
            .args(plain.get_args());
        limited.current_dir(plain.get_current_dir().unwrap());
        let output = limited.output().unwrap();
        let ran = run.exit(3).no_stdout().stderr("cannot write").stderr("a.wav").judge(output);
        match old {
            None => assert_eq!(ran.files(), ["a.yaml"]),
            Some(old) => assert_eq!(std::fs::read_to_string(ran.path("a.wav")).unwrap(), old),
        }
        assert!(!ran.files().iter().any(|name| name.ends_with("-part")));
    }
}

#[test]
#[cfg(unix)]
fn an_interrupt_leaves_nothing_behind() {
    let practice = "  - { set: Ten hours, swim: 400 x 50 m on 1:30, tempo: 1.20 s }\n";
    for signal in ["INT", "TERM"] {
        let run = Run::new("render a.yaml --no-speech").file("a.yaml", script(practice));
        let mut command = run.command();
        let child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let folder = command.get_current_dir().unwrap().to_owned();
        // Until the file is under way there is nothing to leave behind.
        let begun = Instant::now();
        while !names(&folder).iter().any(|name| name.ends_with("-part")) {
            assert!(begun.elapsed() < Duration::from_secs(60), "no file under way");
            std::thread::yield_now();
        }
        let sent = Command::new("sh").args(["-c", &format!("kill -{signal} {}", child.id())]).status().unwrap();
        assert!(sent.success());
        let ran = run
            .exit(130)
            .no_stdout()
            .stderr("interrupted; a.wav was not written")
            .judge(child.wait_with_output().unwrap());
        assert_eq!(ran.files(), ["a.yaml"], "after SIG{signal}");
    }
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    for args in ["check first-lengths/first-hundreds --timeline", "check first-lengths/first-hundreds --json", "--help"]
    {
        let run = Run::new(args);
        let mut child = run.command().stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let ran = run.judge(child.wait_with_output().unwrap());
        assert!(!ran.stderr.contains("error"), "{args}: {}", ran.stderr);
    }
}

#[test]
fn colour_only_where_it_is_wanted() {
    let bad = || Run::new("check a.yaml").file("a.yaml", script(&EASY.replace("head-still", "nobody"))).exit(1);
    let colored = |ran: &Ran| ran.stderr.contains('\u{1b}') || ran.stdout.contains('\u{1b}');
    assert!(!colored(&bad().run()), "no terminal, no colour");
    assert!(!colored(&bad().env("NO_COLOR", "1").run()));
    let with = |flag: &str| {
        let run = Run::new(&format!("check a.yaml --color {flag}"))
            .file("a.yaml", script(&EASY.replace("head-still", "nobody")));
        run.env("NO_COLOR", "1").exit(1).run()
    };
    assert!(colored(&with("always")) && !colored(&with("never")) && !colored(&with("auto")));
}

#[test]
fn a_phrase_without_recording_is_a_tone_and_a_caution() {
    let pack = "lengthwise-pack: 1\ntitle: Own\nlanguage: en-GB\nspeaker: { voice: x, made-with: x, agreed: x }\n\
                licence: MIT\nphrases: { float: { full: float like a leaf, short: float } }\n";
    let text = "lengthwise: 1\ntitle: Try\npool: 25 m\npractice:\n  - { set: Easy start, swim: 25 m, focus: float }\n";
    let run = Run::new("render own/a.yaml --rate 8000 -o a.wav --no-speech")
        .file("own/a.yaml", text)
        .file("own/pack.yaml", pack);
    let ran = run
        .stderr("caution[no-recording]")
        .stderr("no recording for \"float like a leaf\": a tone will be heard")
        .run();
    let rows = ran.then("check own/a.yaml --timeline --no-speech").run().stdout;
    let row = rows.lines().find(|row| row.contains("\tphrase\tfloat\t")).unwrap();
    let at: f64 = row.split('\t').next().unwrap().parse().unwrap();
    let samples = samples(&ran.path("a.wav"));
    let heard = |from: f64, to: f64| {
        samples[(from * 16_000.0) as usize..(to * 16_000.0) as usize].iter().map(|s| s.unsigned_abs()).max()
    };
    assert!(heard(at, at + 0.3) > Some(500) && heard(at - 0.2, at) == Some(0), "{row}");
}

#[test]
fn new_writes_a_template_once() {
    let ran = Run::new("new tuesday.yaml")
        .no_stdout()
        .stderr("wrote tuesday.yaml")
        .stderr("lengthwise check tuesday.yaml")
        .run();
    let first = std::fs::read(ran.path("tuesday.yaml")).unwrap();
    ran.then("check tuesday.yaml").stdout("My first practice").run();
    let again = ran.then("new tuesday.yaml --template ladder").exit(3).stderr("tuesday.yaml exists already").run();
    assert_eq!(std::fs::read(again.path("tuesday.yaml")).unwrap(), first);
    assert_eq!(again.files(), ["tuesday.yaml"]);
    Run::new("new tuesday").exit(2).stderr("tuesday.yaml").run();
    Run::new("new nowhere/tuesday.yaml").exit(3).stderr("folder").run();
    let schema = Run::new("new --schema").run();
    assert_eq!(schema.json()["$schema"], "https://json-schema.org/draft/2020-12/schema");
    Run::new("new").exit(2).stderr("NAME.yaml").run();
    Run::new("new - --template open-water").stdout("pool: open water").run();
    Run::new("new a.yaml --template laddr").exit(2).stderr("ladder").run();
    Run::new("new a.yaml --pool 50").exit(2).stderr("--from").run();
}

/// `new` with a whiteboard on standard input.
fn new_from(args: &str, board: &str) -> (Run, std::process::Output) {
    use std::io::Write;
    use std::process::Stdio;
    let run = Run::new(args);
    let mut command = run.command();
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // A run that is refused may end before it has read anything.
    let written = child.stdin.take().unwrap().write_all(board.as_bytes());
    let output = child.wait_with_output().unwrap();
    assert!(written.is_ok() || !output.status.success(), "the whiteboard was not read");
    (run, output)
}

#[test]
fn new_writes_a_profile() {
    let ran = Run::new("new ida.yaml --profile --hundred 1:50 --called Ida")
        .no_stdout()
        .stderr("check first-lengths/level-body --swimmer ida.yaml")
        .run();
    let text = std::fs::read_to_string(ran.path("ida.yaml")).unwrap();
    assert!(text.contains("hundred: 1:50") && text.contains("name: \"Ida\""), "{text}");
    // The plan is that of the same time without a file.
    let plan = |who: &str| ran.then(&format!("check first-lengths/level-body --json --swimmer {who}")).run().json();
    assert_eq!(plan("ida.yaml")["sets"], plan("1:50")["sets"]);
    ran.then("new - --profile --count 19 --time 27.5s --pool 25yd").stdout("count: 19, time: 27.5s").run();
    // Nobody can be asked here.
    ran.then("new bo.yaml --profile").exit(2).stderr("--hundred 1:50").run();
    ran.then("new bo.yaml --profile --hundred 0:40").exit(2).stderr("0:45 to 5:00").run();
    ran.then("new bo.yaml --profile --hundred 1:50 --count many").exit(2).stderr("nothing was made").run();
    ran.then("new ida.yaml --profile --hundred 1:40").exit(3).stderr("exists already").run();
    ran.then("new bo.yaml --hundred 1:50").exit(2).run();
}

#[test]
fn new_reads_a_whiteboard() {
    let (run, output) =
        new_from("new tuesday.yaml --from - --title Tuesday", "200 easy\n8x50 on 1:20 1.30-0.95\n100 easy\n");
    let ran = run
        .stderr("8 x 50 m, starting every 1:20, tempo 1.30 to 0.95 s a stroke")
        .stderr("assumed: warm-up, as it is first and easy")
        .stderr("In all 700 m")
        .judge(output);
    ran.then("check tuesday.yaml").stdout("Tuesday\n25 m pool").stdout("700 m").run();
    let (run, output) = new_from("new tuesday.yaml --from -", "200 easy\n4x50 @ 1:30\n8x50 on :30\n");
    // What can be written is there, and the command fails all the same: nobody takes the rest for the whole.
    let ran = run.exit(1).stderr("whiteboard:2:6").stderr("on 1:30").stderr("1 of the board's 3 parts is a comment");
    let text = std::fs::read_to_string(ran.judge(output).path("tuesday.yaml")).unwrap();
    assert!(text.contains("swim: 200 m") && text.contains("swim: 8 x 50 m"), "{text}");
    assert!(text.contains("# 4x50 @ 1:30\n  # Left out: `@` has two meanings"), "{text}");
    let (run, output) = new_from("new tuesday.yaml --from -", "200 eazy\n4x50 @ 1:30\n");
    let ran = run.exit(1).stderr("`easy`").stderr("nothing was written").judge(output);
    assert!(ran.files().is_empty());
    let (run, output) = new_from("new tuesday.yaml --from -", "200 easy\n8x50 on :30\n");
    // Nobody's own times are known: it is written, with the problem as a comment.
    let ran = run.stderr("whiteboard:2:1").stderr("send-off-too-short").stderr("give your own times").judge(output);
    let text = std::fs::read_to_string(ran.path("tuesday.yaml")).unwrap();
    assert!(text.contains("    # the send-off 0:30 is not above the"), "{text}");
    let found = |code: i32, who: &str| ran.then(&format!("check tuesday.yaml{who}")).exit(code).run().stderr;
    assert!(found(1, "").contains("send-off-too-short"));
    let (run, output) = new_from("new thursday.yaml --from - --swimmer 1:40", "200 easy\n8x50 on :30\n");
    let ran = run.exit(1).stderr("written all the same, with these problems as comments\n").judge(output);
    assert_eq!(ran.files(), ["thursday.yaml"]);
    let (run, output) = new_from("new - --from -", "100 easy\n4x60");
    run.exit(1).stdout("swim: 100 m").stdout("# Left out: 60 m").stderr("1 of the board's 2 parts").judge(output);
    let (run, output) = new_from("new - --from -", "100 easy");
    run.stdout("swim: 100 m").judge(output);
    let (run, output) = new_from("new - --from - --pool 7", "100 easy");
    run.exit(2).stderr("--pool").judge(output);
    let (run, output) = new_from("new - --from - --pack nowhere", "100 easy");
    run.exit(1).stderr("nowhere").judge(output);
}
