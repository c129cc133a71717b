use super::*;
use crate::notebook::entry::{LoggedRepeat, LoggedSet};
use crate::notebook::sample;
use crate::session::record::read;

/// Four repeats, each quicker than the one before.
fn outline() -> Outline {
    let repeat = |(number, tempo): (u32, f64)| LoggedRepeat {
        tempo: Some(tempo),
        predicted: Some(60.0),
        ..sample::repeat(number, 2)
    };
    let repeats = (1..).zip([1.3, 1.2, 1.1, 1.0]).map(repeat).collect();
    let practice = sample::practice(vec![LoggedSet { number: 1, title: "Range".into(), apart: None, repeats }]);
    Outline { practice, counts: Vec::new(), times: Vec::new() }
}

/// Lines of a record, each with what a line of its kind has.
fn told(events: &[&str]) -> Result<Outline, OtherPractice> {
    let head = r#"{"lengthwise-session":2,"program":"0","started":"2026-11-29T18:05:00Z","script":"a","title":"b","pool":"25 m","device":"d","rate":44100}"#;
    let line = |(second, event): (usize, &&str)| {
        let (kind, rest) = event.split_once(' ').unwrap_or((event, ""));
        let which = format!(
            r#""set":1,"repeat":{},"set-title":"Range","round":1,"distance":"50 m","swim":"50 m swim""#,
            rest.split(' ').next().unwrap()
        );
        let more = match kind {
            "touch" => format!(r#"{which},"split":"{}","predicted":"60""#, rest.split(' ').nth(1).unwrap()),
            "command" => format!(r#""id":0,"command":"{rest}","effect":0,"output":0"#),
            "undone" => format!(r#""command":"{rest}""#),
            "tempo" => format!(r#""set":1,"set-title":"Range","tempo":"{rest}""#),
            "end" => r#""reason":"the end""#.to_owned(),
            _ => which,
        };
        format!("{{\"time\":\"{}\",\"frame\":0,\"event\":\"{kind}\",{more}}}", 60 * (second + 1))
    };
    let text: Vec<String> = std::iter::once(head.to_owned()).chain(events.iter().enumerate().map(line)).collect();
    let (_, lines) = read(&text.join("\n")).unwrap();
    take_over(outline(), &lines, None)
}

/// What became of each repeat, its tempo and its time.
fn fates(events: &[&str]) -> Vec<String> {
    let told = told(events).unwrap().practice;
    let one = |(_, repeat): (&LoggedSet, &LoggedRepeat)| {
        let times: Vec<String> = repeat.observations.iter().map(|o| format!(" {} {}", o.value, o.source)).collect();
        format!("{} {}{}", repeat.state, repeat.tempo.unwrap(), times.concat())
    };
    told.repeats().map(one).collect()
}

#[test]
fn a_go_a_touch_and_what_was_left_out() {
    assert_eq!(
        fates(&[
            "go 1",
            "command touch",
            "touch 1 58.4",
            "go 2",
            "go 3",
            "command touch",
            "missed 3",
            "touch 2 119",
            "unheard 4",
            "end"
        ]),
        ["swum 1.3 58.4 tapped", "swum 1.2 119 tapped", "missed 1.1", "unheard 1"]
    );
    // A go without a touch tells nothing; what comes after the end was never begun.
    assert_eq!(fates(&["go 1", "go 2", "end"]), ["unknown 1.3", "unknown 1.2", "skipped 1.1", "skipped 1"]);
    // A record in which nothing was begun, and one that tells of a go that was not heard after all.
    assert!(fates(&["end"]).iter().all(|fate| fate.starts_with("unknown")));
    assert_eq!(fates(&["go 1", "unheard 1", "go 2"])[0], "unheard 1.3");
    // Swum once more: the last time counts.
    let again = ["go 1", "command touch", "touch 1 58.4", "command back", "go 1", "command touch", "touch 1 60.1"];
    assert_eq!(fates(&again)[0], "swum 1.3 60.1 tapped");
    let minutes = told(&["go 1", "end"]).unwrap().practice.minutes;
    assert_eq!(minutes, Some(2.0));
}

#[test]
fn what_was_taken_back_never_was() {
    let undone = ["go 1", "command touch", "touch 1 20", "command undo", "undone touch"];
    assert_eq!(fates(&undone)[0], "unknown 1.3");
    let skipped = ["go 1", "command next", "skipped 1", "skipped 2", "command undo", "undone next", "go 2"];
    assert_eq!(fates(&skipped)[..2], ["unknown 1.3", "unknown 1.2"]);
    // Only the last command of these words.
    let two = ["go 1", "command touch", "touch 1 58", "go 2", "command touch", "touch 2 20", "undone touch"];
    assert_eq!(fates(&two)[..2], ["swum 1.3 58 tapped", "unknown 1.2"]);
    // A touch too late had made the next one missed.
    let late = ["go 1", "go 2", "command touch", "touch 1 70", "missed 2", "undone touch"];
    assert_eq!(fates(&late)[..2], ["unknown 1.3", "unknown 1.2"]);
}

#[test]
fn a_changed_tempo_holds_from_there_on() {
    let faster = ["go 1", "command touch", "touch 1 58", "command faster 0.05", "tempo 1.15", "go 2", "go 3"];
    assert_eq!(fates(&faster), ["swum 1.3 58 tapped", "unknown 1.15", "unknown 1.05", "skipped 0.95"]);
    // Under way it is heard at once.
    assert_eq!(fates(&["go 1", "command slower 0.1", "tempo 1.4"])[..2], ["unknown 1.4", "skipped 1.3"]);
    let back = ["go 1", "command slower 0.1", "tempo 1.4", "command undo", "undone slower 0.1"];
    assert_eq!(fates(&back)[..2], ["unknown 1.3", "skipped 1.2"]);
}

#[test]
fn a_record_of_another_practice_is_refused() {
    let other = told(&["go 5"]).unwrap_err();
    assert_eq!(other, OtherPractice::Unknown(AskedSwim { set: 1, repeat: 5 }));
    let mut planned = outline();
    planned.practice.sets[0].repeats[0].swim = "50 m kick".into();
    let text = r#"{"time":"1","frame":0,"event":"go","set":1,"repeat":1,"swim":"50 m swim"}"#;
    let lines = [serde_json::from_str(text).unwrap()];
    let other = take_over(planned.clone(), &lines, None).unwrap_err();
    assert_eq!(other.to_string(), "repeat 1 of set 1 is `50 m swim` in the record and `50 m kick` in the script");
    // Version 1 names only numbers.
    let lines = [serde_json::from_str(r#"{"time":"1","frame":0,"event":"go","set":1,"repeat":1}"#).unwrap()];
    assert!(take_over(planned, &lines, None).is_ok());
}

/// What became of each repeat of number two in a lane, the second and third repeat swum without a stop. An event begins with whose
/// it is.
fn fates_in_a_lane(events: &[&str]) -> Vec<String> {
    let line = |(second, event): (usize, &&str)| {
        let mut words = event.split(' ');
        let (kind, number) = (words.next().unwrap(), words.next().unwrap());
        let mut word = || words.next().unwrap();
        let which = |repeat: &str| format!(r#""set":1,"repeat":{repeat},"swim":"50 m swim","swimmer":{number}"#);
        let more = match kind {
            "touch" => {
                format!(r#"{},"split":"{}","predicted":"60","repeats":{}"#, which(word()), word(), word())
            }
            "late" => format!(r#"{},"go":"9""#, which(word())),
            "command" => format!(r#""id":0,"command":"touch {number}","effect":0,"output":0"#),
            "undone" => format!(r#""command":"touch {number}""#),
            _ => which(word()),
        };
        let text = format!("{{\"time\":\"{second}\",\"frame\":0,\"event\":\"{kind}\",{more}}}");
        serde_json::from_str::<RecordLine>(&text).unwrap()
    };
    let lines: Vec<RecordLine> = events.iter().enumerate().map(line).collect();
    let seat = LaneSeat { number: 2, joined: [AskedSwim { set: 1, repeat: 3 }].into() };
    let told = take_over(outline(), &lines, Some(seat)).unwrap().practice;
    let one = |(_, repeat): (&LoggedSet, &LoggedRepeat)| {
        let times: Vec<String> = repeat.observations.iter().map(|o| format!(" {}", o.value)).collect();
        format!("{}{}", repeat.state, times.concat())
    };
    told.repeats().map(one).collect()
}

#[test]
fn in_a_lane_each_has_lines_of_their_own() {
    // Those of another are not theirs, and tell no more than that the session began.
    assert_eq!(fates_in_a_lane(&["go 1 1", "command 1", "touch 1 1 40 1", "missed 1 2"]), ["skipped"; 4]);
    assert_eq!(fates_in_a_lane(&["command 1"]), ["unknown"; 4]);
    let own = ["go 1 1", "go 2 1", "command 2", "touch 2 1 50 1", "command 1", "touch 1 1 58 1", "undone 1"];
    assert_eq!(fates_in_a_lane(&own)[0], "swum 50");
    assert_eq!(fates_in_a_lane(&[&own[..], &["undone 2"]].concat())[0], "unknown");
    // Who sits out has no line.
    assert_eq!(fates_in_a_lane(&["go 2 1", "go 1 2", "go 2 4"]), ["unknown", "skipped", "skipped", "unknown"]);
}

#[test]
fn what_is_swum_without_a_stop_begins_with_one_go() {
    assert_eq!(fates_in_a_lane(&["go 2 2"])[1..], ["unknown", "unknown", "skipped"]);
    let both = ["go 2 2", "command 2", "touch 2 3 99 2"];
    assert_eq!(fates_in_a_lane(&both)[1..], ["swum", "swum", "skipped"]);
    assert_eq!(fates_in_a_lane(&[&both[..], &["undone 2"]].concat())[1..], ["unknown", "unknown", "skipped"]);
    assert_eq!(fates_in_a_lane(&["go 1 1", "unheard 2 2"])[1..], ["unheard", "unheard", "skipped"]);
    let missed = ["go 2 1", "go 2 2", "command 2", "touch 2 1 80 1", "missed 2 2"];
    assert_eq!(fates_in_a_lane(&missed), ["swum 80", "missed", "missed", "skipped"]);
    assert_eq!(fates_in_a_lane(&[&missed[..], &["undone 2"]].concat()), ["unknown", "unknown", "unknown", "skipped"]);
}

#[test]
fn who_is_late_counts_from_the_last_go() {
    let late = ["go 2 1", "go 2 4", "command 2", "touch 2 1 80 1", "late 2 4"];
    // The session ended before that go.
    assert_eq!(fates_in_a_lane(&late), ["swum 80", "skipped", "skipped", "skipped"]);
    let gone = [&late[..], &["go 2 4", "command 2", "touch 2 4 55 1"]].concat();
    assert_eq!(fates_in_a_lane(&gone)[3], "swum 55");
    // Their touch is taken back when they have left: they have left all the same.
    let back = [&late[..1], &late[2..], &["go 2 4", "undone 2"]].concat();
    assert_eq!(fates_in_a_lane(&back), ["unknown", "skipped", "skipped", "unknown"]);
}
