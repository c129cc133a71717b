use super::*;
use std::collections::BTreeSet;
use std::fs;

fn head() -> Head {
    Head {
        version: VERSION,
        program: "0.1.0".to_owned(),
        started: date_time(UNIX_EPOCH + Duration::from_secs(1_700_000_000)),
        script: "script a.yaml".to_owned(),
        title: "Up & down: the tempo range".to_owned(),
        pool: "25 m".to_owned(),
        swimmer: None,
        lane: None,
        device: "simulated".to_owned(),
        rate: 44_100,
    }
}

fn note() -> RepeatNote {
    RepeatNote {
        set: 1,
        repeat: 2,
        title: "Range".to_owned(),
        round: 1,
        distance: "50 m".to_owned(),
        swim: "50 m kick".to_owned(),
        swimmer: Some(3),
    }
}

/// One of each kind.
fn lines() -> Vec<RecordLine> {
    let (which, secs) = (note(), Seconds::from_secs);
    let events = [
        RecordEvent::Go { which: which.clone() },
        RecordEvent::Joined { which: which.clone() },
        RecordEvent::Touch {
            which: which.clone(),
            split: Seconds::from_millis(58_400),
            predicted: secs(60),
            repeats: 2,
        },
        RecordEvent::Missed { which: which.clone() },
        RecordEvent::Unheard { which: which.clone() },
        RecordEvent::Skipped { which: which.clone() },
        RecordEvent::Undone { command: "touch".to_owned() },
        RecordEvent::Tempo { set: 1, title: "Range".to_owned(), tempo: "1.1".to_owned() },
        RecordEvent::Command { id: 0, command: "faster 0.03".to_owned(), effect: 9, output: 8 },
        RecordEvent::Taken { id: 0, effect: 12, late: true },
        RecordEvent::Refused { command: "touch".to_owned(), why: "nobody is swimming yet".to_owned() },
        RecordEvent::Device { name: "Out".to_owned(), rate: 48_000, was: Some("In".to_owned()) },
        RecordEvent::Gap { from: secs(1), why: "the device is gone".to_owned() },
        RecordEvent::Behind { by: Seconds::from_millis(700) },
        RecordEvent::Underrun { blocks: 3 },
        RecordEvent::End { reason: "stopped".to_owned() },
        RecordEvent::Late { which, go: secs(90) },
    ];
    // Whoever adds one finds it missing above.
    let kinds = events.iter().map(|event| match event {
        RecordEvent::Go { .. } => 0,
        RecordEvent::Joined { .. } => 1,
        RecordEvent::Touch { .. } => 2,
        RecordEvent::Missed { .. } => 3,
        RecordEvent::Unheard { .. } => 4,
        RecordEvent::Skipped { .. } => 5,
        RecordEvent::Undone { .. } => 6,
        RecordEvent::Tempo { .. } => 7,
        RecordEvent::Command { .. } => 8,
        RecordEvent::Taken { .. } => 9,
        RecordEvent::Refused { .. } => 10,
        RecordEvent::Device { .. } => 11,
        RecordEvent::Gap { .. } => 12,
        RecordEvent::Behind { .. } => 13,
        RecordEvent::Underrun { .. } => 14,
        RecordEvent::End { .. } => 15,
        RecordEvent::Late { .. } => 16,
    });
    assert!(kinds.eq(0..17));
    let line =
        |(frame, event): (i64, _)| RecordLine { time: Seconds::from_nanos(frame * 10), frame: frame as u64, event };
    (0..).zip(events).map(line).collect()
}

#[test]
fn dates_are_those_of_the_calendar() {
    // Well-known moments of Unix time (from memory; `date -u -d @N` prints the same).
    for (seconds, text) in [
        (0, "1970-01-01T00:00:00Z"),
        (951_782_400, "2000-02-29T00:00:00Z"),
        (1_000_000_000, "2001-09-09T01:46:40Z"),
        (1_234_567_890, "2009-02-13T23:31:30Z"),
        (1_709_251_199, "2024-02-29T23:59:59Z"),
        (4_107_542_400, "2100-03-01T00:00:00Z"),
    ] {
        assert_eq!(date_time(UNIX_EPOCH + Duration::from_secs(seconds)), text);
    }
}

#[test]
fn what_is_written_is_read_back_and_a_torn_line_is_left_out() {
    let folder = tempfile::tempdir().unwrap();
    let place = RecordPlace::Folder(folder.path().join("sessions"));
    let mut recorder = Recorder::begin(&place, &head()).unwrap();
    lines().iter().for_each(|line| recorder.line(line));
    let path = recorder.path().unwrap();
    assert!(path.ends_with("2023-11-14T221320Z-up-down-the-tempo-range.jsonl"), "{path:?}");
    let text = fs::read_to_string(path).unwrap();
    assert_eq!(read(&text), Ok((head(), lines())));
    // Every place at which a power cut could tear it.
    let whole = text.find('\n').unwrap() + 1;
    for end in whole..text.len() {
        let kept = text[..end].matches('\n').count() - 1;
        let (_, read) = read(&text[..end]).unwrap();
        // The last line may be whole but for its end.
        assert!(read.len() == kept || read.len() == kept + 1 && text[end..].starts_with('\n'), "{end}");
        assert_eq!(read, lines()[..read.len()]);
    }
    // The second of a second gets a name of its own.
    let second = Recorder::begin(&place, &head()).unwrap();
    assert!(second.path().unwrap().ends_with("2023-11-14T221320Z-up-down-the-tempo-range-2.jsonl"));
    let again = Recorder::begin(&RecordPlace::File(path.to_owned()), &head());
    assert_eq!(again.unwrap_err().kind(), io::ErrorKind::AlreadyExists);
}

#[test]
fn every_key_is_described_and_no_other() {
    let mut keys = BTreeSet::new();
    let mut add = |kind: &str, value: serde_json::Value| {
        keys.extend(value.as_object().unwrap().keys().map(|key| format!("{kind} {key}")));
    };
    let lane = HeadLane { name: "3".to_owned(), swimmers: vec!["Bo".to_owned()], gap: Seconds::from_secs(5) };
    add("head", serde_json::to_value(Head { swimmer: Some("Ida".to_owned()), lane: Some(lane), ..head() }).unwrap());
    for line in lines() {
        let value = serde_json::to_value(&line).unwrap();
        let kind = value["event"].as_str().unwrap().to_owned();
        add(&kind, value);
    }
    // A row of the page: | line | `key`, `key` | what |; keys of every line stand under `every line`, those of a repeat
    // under `a repeat`.
    let page = include_str!("../../../cue-packs/RECORD.md");
    let quoted = |cell: &str| cell.split('`').skip(1).step_by(2).map(str::to_owned).collect::<Vec<_>>();
    let rows = page
        .lines()
        .filter(|line| line.starts_with("| "))
        .map(|line| line.split('|').map(str::trim).collect::<Vec<_>>());
    let mut described = BTreeSet::new();
    let (mut every, mut repeat) = (Vec::new(), Vec::new());
    let mut kinds = Vec::new();
    for row in rows.filter(|row| row.get(2).is_some_and(|cell| cell.contains('`'))) {
        let mut keys = quoted(row[2]);
        match row[1] {
            "every line" => every.extend(keys),
            "a repeat" => repeat.extend(keys),
            "head" => described.extend(keys.into_iter().map(|key| format!("head {key}"))),
            kind => {
                if keys.iter().any(|key| key == "a repeat") {
                    keys.retain(|key| key != "a repeat");
                    keys.extend(repeat.iter().cloned());
                }
                kinds.push(quoted(kind).concat());
                described.extend(
                    keys.into_iter().chain(every.iter().cloned()).map(|key| format!("{} {key}", quoted(kind).concat())),
                );
            }
        }
    }
    assert_eq!(kinds.len(), lines().len(), "{kinds:?}");
    let missing: Vec<_> = keys.difference(&described).collect();
    let too_many: Vec<_> = described.difference(&keys).collect();
    assert!(missing.is_empty() && too_many.is_empty(), "not described: {missing:?}; never written: {too_many:?}");
}

#[test]
fn a_record_of_version_1_is_read() {
    let text = "{\"lengthwise-session\":1,\"program\":\"0.1.0\",\"started\":\"2026-05-01T10:00:00Z\",\"script\":\"a\",\"title\":\"Try\",\"device\":\"simulated\",\"rate\":44100}
{\"time\":45000000000,\"frame\":1984500,\"event\":\"go\",\"set\":1,\"repeat\":1}
{\"time\":75000000000,\"frame\":3307500,\"event\":\"touch\",\"set\":1,\"repeat\":1,\"split\":30000000000,\"predicted\":31000000000}
{\"time\":80000000000,\"frame\":3528000,\"event\":\"command\",\"id\":0,\"command\":\"hold\",\"effect\":3530000,\"output\":3528000}
";
    let (head, lines) = read(text).unwrap();
    assert_eq!((head.version, head.pool.as_str(), lines.len()), (1, "", 3));
    assert_eq!(lines[0].time, Seconds::from_secs(45));
    let RecordEvent::Touch { which, split, .. } = &lines[1].event else { panic!("{:?}", lines[1]) };
    assert_eq!((which.set, which.repeat, *split), (1, 1, Seconds::from_secs(30)));
    assert!(matches!(&lines[2].event, RecordEvent::Command { command, .. } if command == "hold"));
}

#[test]
fn what_is_not_a_record_is_reported() {
    assert!(matches!(read(""), Err(UnreadableRecord::NoHead(_))));
    assert!(matches!(read("{}\n"), Err(UnreadableRecord::NoHead(_))));
    let mut other = head();
    other.version = 9;
    let text = serde_json::to_string(&other).unwrap();
    assert_eq!(read(&text), Err(UnreadableRecord::Version(9)));
    let text = serde_json::to_string(&head()).unwrap() + "\n{\"event\":\"go\"}\n";
    assert!(matches!(read(&text), Err(UnreadableRecord::Line { number: 2, .. })));
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_ends_the_record_and_nothing_else() {
    let mut recorder = Recorder {
        file: Some(OpenOptions::new().write(true).open("/dev/full").unwrap()),
        path: None,
        failed: None,
        unsynced: None,
    };
    recorder.line(&lines()[0]);
    assert!(recorder.failed().is_some_and(|why| why.contains("space")), "{:?}", recorder.failed());
    recorder.line(&lines()[1]);
    recorder.tick();
}
