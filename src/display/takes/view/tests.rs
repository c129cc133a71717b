use super::*;
use crate::cases::amount;
use crate::display::page::kept::{is_as_kept, text};

const COLOR: Look = Look { color: true, unicode: true };
const ASCII: Look = Look { color: false, unicode: false };

fn ready() -> RecordingSnapshot {
    RecordingSnapshot {
        title: "Mara's words".into(),
        voice: "Mara Quist".into(),
        microphone: "USB Headset".into(),
        of: (3, 14),
        kept: 2,
        name: "phrases/reach-forward".into(),
        text: "reach towards the far wall".into(),
        state: State::Ready,
        level: Some(-38.0),
        peak: Some(-24.0),
        ..RecordingSnapshot::default()
    }
}

fn decision() -> RecordingSnapshot {
    let fault = |what: &str, advice: &str| (what.to_owned(), advice.to_owned());
    RecordingSnapshot {
        state: State::Decision(false),
        level: Some(-55.0),
        peak: Some(-0.2),
        room: Some(-47.0),
        take: Some((
            "1.42 s, speech -12 dBFS, peak 0 dBFS, background -47 dBFS".into(),
            vec![
                fault(
                    "too loud: the tops of 210 samples are cut off",
                    "move back a hand's width, or turn the input down",
                ),
                fault("too long: 2.7 s, at most 2.5 s are wanted", "say it in fewer words, without a pause"),
            ],
        )),
        last: Some("kept: clips/phrases/soft-hand.wav".into()),
        ..ready()
    }
}

fn drawn(snapshot: &RecordingSnapshot, asks: bool, look: Look, width: u16, height: u16) -> Buffer {
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    view(snapshot, asks, look, &mut buffer);
    buffer
}

#[test]
fn pictures_are_as_kept() {
    let with = |state| RecordingSnapshot { state, room: Some(-61.0), ..ready() };
    let deaf = RecordingSnapshot { microphone: String::new(), level: None, peak: None, ..with(State::Deaf) };
    let long = "Touch and leave if you are up to five seconds late, else rest, take the next go and lose one.";
    let long = RecordingSnapshot { text: long.into(), name: "says/late".into(), ..with(State::Recording(false)) };
    for (name, snapshot, asks, look, width, height) in [
        ("take-ready-80x24", ready(), false, COLOR, 80, 24),
        ("take-count-80x24", with(State::Count(2)), false, COLOR, 80, 24),
        ("take-decision-80x24", decision(), false, COLOR, 80, 24),
        ("take-asks-80x24-ascii", decision(), true, ASCII, 80, 24),
        ("take-long-80x24", long, false, COLOR, 80, 24),
        ("take-deaf-200x60", deaf, false, COLOR, 200, 60),
        ("take-decision-40x10", decision(), false, ASCII, 40, 10),
    ] {
        is_as_kept(name, &drawn(&snapshot, asks, look, width, height));
    }
}

#[test]
fn any_size_is_drawn_and_the_words_are_always_there() {
    for snapshot in [ready(), decision(), RecordingSnapshot::default()] {
        for (width, height) in
            (0..64).step_by(amount(9, 3)).flat_map(|w| (0..30).map(move |h| (w, h))).chain([(300, 100), (500, 2)])
        {
            drawn(&snapshot, false, COLOR, width, height);
        }
    }
    for height in [8, 10, 12] {
        let seen = text(&drawn(&decision(), false, ASCII, 60, height));
        assert!(seen.contains("reach towards the far wall") && seen.contains("space keep"), "{seen}");
    }
}

#[test]
fn lines_are_broken_where_they_come_out_shortest() {
    let words: Vec<&str> = "reach towards the far wall".split(' ').collect();
    assert_eq!(broken(&words, 1), ["reach towards the far wall"]);
    assert_eq!(broken(&words, 2), ["reach towards", "the far wall"]);
    assert_eq!(broken(&["one"], 3), ["one"]);
    assert!(broken(&[], 2).is_empty());
}
