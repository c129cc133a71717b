use super::*;
use std::fs;

fn head() -> Head {
    Head {
        version: VERSION,
        program: "0.1.0".to_owned(),
        started: date_time(UNIX_EPOCH + Duration::from_secs(1_700_000_000)),
        script: "script a.yaml".to_owned(),
        title: "Up & down: the tempo range".to_owned(),
        swimmer: None,
        device: "simulated".to_owned(),
        rate: 44_100,
    }
}

fn lines() -> Vec<RecordLine> {
    let events = [
        RecordEvent::Go { set: 1, repeat: 1 },
        RecordEvent::Touch { set: 1, repeat: 1, split: 58_400_000_000, predicted: 60_000_000_000 },
        RecordEvent::Command { id: 0, command: "faster 0.03".to_owned(), effect: 9, output: 8 },
        RecordEvent::Taken { id: 0, effect: 12, late: true },
        RecordEvent::Gap { from: 1, why: "the device is gone".to_owned() },
        RecordEvent::Device { name: "Out".to_owned(), rate: 48_000 },
        RecordEvent::End { reason: "stopped".to_owned() },
    ];
    (0..).zip(events).map(|(frame, event)| RecordLine { time: frame as i64 * 10, frame, event }).collect()
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
