//! Sessions without a device: what comes of commands at given times, records, and records played again.

use crate::material::{samples, script};
use crate::run::Run;
use lengthwise::session::record::{self, RecordEvent};

const TWO: &str = "  - { set: Easy start, swim: 2 x 25 m, tempo: 1.2 s, rest: 15 s, focus: head-still }\n";

/// A run that is given lines.
fn dry(args: &str, lines: &str) -> Run {
    Run::new("check a.yaml --no-speech").file("a.yaml", script(TWO)).file("lines.txt", lines).run().then(args)
}

/// With `lines.txt` on the standard input.
fn fed(run: Run, folder: &std::path::Path) -> crate::run::Ran {
    let mut command = run.command();
    command.stdin(std::fs::File::open(folder.join("lines.txt")).unwrap());
    let output = command.output().unwrap();
    run.judge(output)
}

fn run_in(lines: &str, args: &str) -> crate::run::Ran {
    let first =
        Run::new("render a.yaml --no-speech -o file.wav").file("a.yaml", script(TWO)).file("lines.txt", lines).run();
    let folder = first.path("");
    fed(first.then(args), &folder)
}

/// When things of [`TWO`] sound, from when to when in milliseconds, and their kinds. How long the talk takes hangs on the clips,
/// so times are taken from here.
fn planned() -> Vec<(std::ops::Range<u64>, String)> {
    let ran = Run::new("check a.yaml --no-speech --timeline").file("a.yaml", script(TWO)).run();
    let cue = |line: &str| {
        let [from, len, kind] = line.split('\t').collect::<Vec<_>>()[..3] else { panic!("{line}") };
        let millis = |seconds: &str| (seconds.parse::<f64>().unwrap() * 1_000.0).round() as u64;
        (millis(from)..millis(from) + millis(len), kind.to_owned())
    };
    ran.stdout.lines().map(cue).collect()
}

/// The starts of both repeats.
fn gos() -> [u64; 2] {
    let gos = planned().into_iter().filter(|(_, kind)| kind == "go").map(|(at, _)| at.start);
    gos.collect::<Vec<_>>().try_into().unwrap()
}

/// As lines and answers have it: `0:45.000`.
fn shown(millis: u64) -> String {
    format!("{}:{:02}.{:03}", millis / 60_000, millis / 1_000 % 60, millis % 1_000)
}

#[test]
fn without_commands_it_is_the_file() {
    let ran = run_in("", "play a.yaml --no-speech --dry-run -o dry.wav");
    assert!(samples(&ran.path("dry.wav")) == samples(&ran.path("file.wav")));
    let [first, second] = gos().map(shown);
    let told = format!("{first} go: Easy start, 1 of 2\n{second} go: Easy start, 2 of 2\n");
    assert!(ran.stdout.contains(&told), "no {told}{}", ran.stdout);
    assert_eq!(ran.files(), ["a.yaml", "dry.wav", "file.wav", "lines.txt"], "no record unasked");
}

#[test]
fn a_pause_is_silence_in_the_middle_and_what_follows_is_late_by_it() {
    // In the middle of the longest silence before the second go; what is put out in the pause is silence too.
    let mut until = 0;
    let silences = planned().into_iter().map(|(sounds, _)| {
        let silence = until..sounds.start.max(until);
        until = until.max(sounds.end);
        silence
    });
    let silence = silences.filter(|silence| silence.end < gos()[1]).max_by_key(|silence| silence.end - silence.start);
    let silence = silence.filter(|silence| silence.end - silence.start > 2_000).unwrap();
    let middle = silence.start.midpoint(silence.end);
    let lines = format!("{} pause # a coach calls\n{} resume\n", shown(middle), shown(middle + 5_500));
    let ran = run_in(&lines, "play a.yaml --no-speech --dry-run -o dry.wav");
    let (dry, file) = (samples(&ran.path("dry.wav")), samples(&ran.path("file.wav")));
    let frames = |text: &str| {
        let line = ran.stdout.lines().find(|line| line.contains(text)).unwrap();
        line.rsplit(' ').next().unwrap().parse::<usize>().unwrap()
    };
    // The pause begins at its frame of the practice and fades for 10 ms; the resume comes at its frame of the output. Both
    // are counted at the mixer, ahead of the output by the limiter's look-ahead, which drops out of the difference.
    let (pause, resume) = (frames("pause: taken at frame"), frames("resume: taken at frame"));
    assert_eq!(dry.len() - file.len(), 2 * (resume - pause - 441));
    // All that is heard before it, and all that is heard after it.
    let at = |millis: u64| 2 * (millis * 441 / 10) as usize;
    assert!(dry[..at(middle)] == file[..at(middle)]);
    let tail = file.len() - at(silence.end - 500);
    assert!(dry[dry.len() - tail..] == file[file.len() - tail..]);
    assert!(dry[at(middle)..dry.len() - tail].iter().all(|sample| *sample == 0));
}

#[test]
fn a_record_played_again_is_the_same_sound() {
    let swims = gos()[0];
    let [mute, unmute, louder] = [5_000, 10_000, 17_123].map(|after| shown(swims + after));
    let lines = format!(
        "0:10 voice down 3\n0:12 pause\n0:13.3 resume\n{mute} mute\n{unmute} unmute\n{louder}456789 beats up 2\n"
    );
    let ran = run_in(&lines, "play a.yaml --no-speech --dry-run -o dry.wav --record was.jsonl");
    let again = ran.then("play a.yaml --no-speech --replay was.jsonl -o again.wav").run();
    assert!(samples(&ran.path("dry.wav")) == samples(&ran.path("again.wav")));
    assert!(samples(&ran.path("dry.wav")) != samples(&ran.path("file.wav")));
    assert_eq!(again.stdout, ran.stdout);
    let (head, lines) = record::read(&std::fs::read_to_string(ran.path("was.jsonl")).unwrap()).unwrap();
    assert_eq!((head.title.as_str(), head.device.as_str(), head.rate), ("Try", "simulated", 44_100));
    let taken = lines.iter().filter(|line| matches!(line.event, RecordEvent::Taken { late: false, .. })).count();
    let gos = lines.iter().filter(|line| matches!(line.event, RecordEvent::Go { .. })).count();
    assert_eq!((taken, gos), (6, 2));
    // A record is never overwritten.
    ran.then("play a.yaml --no-speech --replay was.jsonl --record was.jsonl").exit(3).stderr("cannot begin").run();
}

#[test]
fn a_record_is_played_again_with_its_own_script_and_swimmer() {
    let touch = format!("{} touch\n", shown(gos()[0] + 10_000));
    let ran = run_in(&touch, "play a.yaml --no-speech --dry-run --record was.jsonl");
    let profile = "lengthwise-profile: 1\nname: Ida\npool: 25 m\nstroke: [{ tempo: 1.30 s, count: 18 }]\n";
    std::fs::write(ran.path("ida.yaml"), profile).unwrap();
    let other = std::fs::read_to_string(ran.path("a.yaml")).unwrap().replace("2 x 25 m", "3 x 25 m");
    std::fs::write(ran.path("b.yaml"), other).unwrap();
    ran.then("play b.yaml --no-speech --replay was.jsonl").exit(3).stderr("another script").stderr("--anyway").run();
    let ida = ran.then("play a.yaml --no-speech --swimmer ida.yaml --replay was.jsonl");
    ida.exit(3).stderr("this is for Ida").stderr("--anyway").run();
    for anyway in ["b.yaml", "a.yaml --swimmer ida.yaml"] {
        let played = ran.then(&format!("play {anyway} --no-speech --replay was.jsonl --anyway")).run();
        assert!(played.stdout.contains("touch: "), "{}", played.stdout);
    }
    ran.then("play a.yaml --dry-run --anyway").exit(2).run();
}

#[test]
fn what_makes_no_sense_is_reported() {
    let ran = run_in("0:10 resume\n0:11 stop\n0:12 pause\n", "play a.yaml --no-speech --dry-run");
    assert!(ran.stdout.contains("resume: nothing is paused"), "{}", ran.stdout);
    assert!(ran.stdout.trim_end().ends_with("stopped") && !ran.stdout.contains("pause: taken"), "{}", ran.stdout);
    let first = dry("play a.yaml --no-speech --dry-run", "soon pause\n0:10 paws\n");
    let output = {
        let mut command = first.command();
        command.stdin(std::process::Stdio::piped()).stdout(std::process::Stdio::piped());
        command.stderr(std::process::Stdio::piped());
        let mut child = command.spawn().unwrap();
        std::io::Write::write_all(child.stdin.as_mut().unwrap(), b"soon pause\n0:10 paws\n").unwrap();
        child.wait_with_output().unwrap()
    };
    first.exit(2).no_stdout().stderr("line 1: `soon` is no time").stderr("line 2: `paws` is no command").judge(output);
    let torn = Run::new("play a.yaml --replay no.jsonl").file("a.yaml", script(TWO)).file("no.jsonl", "{}\n");
    torn.exit(3).stderr("it is no session record").run();
    Run::new("play a.yaml -o a.wav").file("a.yaml", script(TWO)).exit(2).stderr("--dry-run").run();
    Run::new("play a.yaml --dry-run --device x").file("a.yaml", script(TWO)).exit(2).run();
    Run::new("play a.yaml --buffer 8").file("a.yaml", script(TWO)).exit(2).stderr("16..=65536").run();
}

/// A file of the program cannot grow beyond a kilobyte or half of one: what a full disk does to a record, without a disk.
fn with_little_room(run: &Run) -> std::process::Command {
    let own = run.command();
    let mut command = std::process::Command::new("sh");
    command.args(["-c", "trap '' XFSZ; ulimit -f 1; exec \"$0\" \"$@\""]).arg(own.get_program()).args(own.get_args());
    command.current_dir(own.get_current_dir().unwrap()).env_clear();
    command.envs(own.get_envs().filter_map(|(name, value)| Some((name, value?))));
    command
}

#[test]
fn a_full_disk_is_told_when_it_happens_and_the_practice_goes_on() {
    let lines: String =
        (10..30).map(|second| format!("0:{second} {}\n", if second % 2 == 0 { "mute" } else { "unmute" })).collect();
    let first = Run::new("check a.yaml --no-speech").file("a.yaml", script(TWO)).file("lines.txt", lines).run();
    let run = first.then("play a.yaml --no-speech --dry-run --record was.jsonl");
    let mut command = with_little_room(&run);
    command.stdin(std::fs::File::open(first.path("lines.txt")).unwrap());
    let output = command.output().unwrap();
    let ran = run.exit(3).stderr("the session record is not whole: ").judge(output);
    let told = ran.stdout.find("the session record is no longer written: ").expect("told");
    assert!(told < ran.stdout.find("go: Easy start, 1 of 2").unwrap(), "at once:\n{}", ran.stdout);
    assert!(
        ran.stdout.contains("go: Easy start, 2 of 2") && ran.stdout.trim_end().ends_with("the end"),
        "{}",
        ran.stdout
    );
    // What was written before can be read.
    let (_, lines) = record::read(&std::fs::read_to_string(ran.path("was.jsonl")).unwrap()).unwrap();
    assert!(lines.iter().any(|line| matches!(line.event, RecordEvent::Taken { .. })), "{lines:?}");
}

#[test]
fn a_record_says_what_was_swum_and_where_there_was_no_go() {
    let joined = "  - set: Out and back\n    do:\n      - { swim: 25 m, tempo: 1.2 s, rest: 0 s }\n      - { swim: 50 m, part: kick, rest: 15 s }\n";
    let ran = Run::new("play a.yaml --no-speech --dry-run --record was.jsonl").file("a.yaml", script(joined)).run();
    assert!(ran.stdout.contains("straight on: Out and back, 2 of 2"), "{}", ran.stdout);
    let (head, lines) = record::read(&std::fs::read_to_string(ran.path("was.jsonl")).unwrap()).unwrap();
    assert_eq!((head.version, head.pool.as_str()), (record::VERSION, "25 m"));
    let [RecordEvent::Go { which: go }, RecordEvent::Joined { which: on }, RecordEvent::End { .. }] =
        [&lines[0].event, &lines[1].event, &lines[2].event]
    else {
        panic!("{lines:?}")
    };
    assert_eq!(
        (go.set, go.repeat, go.title.as_str(), go.distance.as_str(), go.swim.as_str()),
        (1, 1, "Out and back", "25 m", "25 m swim")
    );
    assert_eq!((on.repeat, on.distance.as_str(), on.swim.as_str()), (2, "50 m", "50 m kick"));
}

#[test]
fn a_record_of_version_1_is_played_again() {
    // The pause of 1.3 s makes it later than planned.
    let touch = shown(gos()[0] + 26_300);
    let ran = run_in(
        &format!("0:12 pause\n0:13.3 resume\n{touch} touch\n"),
        "play a.yaml --no-speech --dry-run -o dry.wav --record was.jsonl",
    );
    // As version 1 wrote it: whole nanoseconds, numbers alone.
    let old = |(index, line): (usize, &str)| {
        let mut line: serde_json::Map<String, serde_json::Value> = serde_json::from_str(line).unwrap();
        for key in ["set-title", "round", "distance", "swim", "pool"] {
            line.remove(key);
        }
        for key in ["time", "split", "predicted"] {
            if let Some(text) = line.get(key).and_then(|value| value.as_str()) {
                let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
                let nanos: i64 = format!("{whole}{fraction:0<9}").parse().unwrap();
                line.insert(key.to_owned(), nanos.into());
            }
        }
        if index == 0 {
            line.insert("lengthwise-session".to_owned(), 1.into());
        }
        serde_json::to_string(&line).unwrap() + "\n"
    };
    let was = std::fs::read_to_string(ran.path("was.jsonl")).unwrap();
    assert!(was.contains("\"split\":\""), "{was}");
    std::fs::write(ran.path("old.jsonl"), was.lines().enumerate().map(old).collect::<String>()).unwrap();
    let again = ran.then("play a.yaml --no-speech --replay old.jsonl -o again.wav").run();
    assert!(samples(&ran.path("dry.wav")) == samples(&ran.path("again.wav")));
    assert_eq!(again.stdout, ran.stdout);
}
