use super::*;
use crate::conductor::situation::Situation;
use crate::display::page::kept::{is_as_kept, text};
use crate::session::snapshot::{DeviceState, Split};
use crate::units::time::{Seconds, Tempo};
use ratatui::style::Color;

const COLOR: Look = Look { color: true, unicode: true };
const PLAIN: Look = Look { color: false, unicode: true };
const ASCII: Look = Look { color: false, unicode: false };

/// In the third repeat of the set, 42 s after its go.
fn swim() -> Snapshot {
    let secs = Seconds::from_secs;
    Snapshot {
        title: "Up the tempo range".into(),
        elapsed: Seconds::from_millis(842_400),
        total: secs(2_700),
        situation: Situation {
            phase: Activity::Swim,
            set: 2,
            repeat: 2,
            go: Some(secs(800)),
            predicted_touch: Some(Seconds::from_millis(858_300)),
            next_go: Some(secs(880)),
            tempo: Some(Tempo::from_centis(110)),
            nudge: -2,
            focus: Some("reach forward".into()),
            length: Some((1, 2)),
            ..Situation::default()
        },
        now: "8 x 50 m on 1:20".into(),
        set_title: "Range".into(),
        set_of: (3, 6),
        repeat_of: (3, 8),
        next: Some("4 of 8, tempo 1.05 s, at 14:40".into()),
        level: 0.35,
        device: DeviceState::Playing { name: "USB Headphones".into(), rate: 48_000, buffer: 512 },
        last: Some("faster: tempo 1.10 s from 13:31".into()),
        splits: vec![Split { set: 2, repeat: 1, split: Seconds::from_millis(58_700), predicted: secs(58) }],
        ..Snapshot::default()
    }
}

/// Touched after 58.7 s; 18 s to the next go, and no sound.
fn rest() -> Snapshot {
    let mut snapshot = swim();
    snapshot.elapsed = Seconds::from_millis(862_300);
    snapshot.situation.phase = Activity::Rest;
    snapshot.situation.touched = Some(Seconds::from_millis(58_700));
    snapshot.situation.focus = Some("head still".into());
    snapshot.device = DeviceState::Lost { since: Seconds::from_secs(850), why: "the device was unplugged".into() };
    snapshot.missed_cues = 3;
    snapshot.situation.muted = true;
    snapshot.last = Some("touch 0:58.7, taken".into());
    snapshot
}

fn drawn(snapshot: &Snapshot, over: Over, look: Look, width: u16, height: u16) -> Buffer {
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    view(snapshot, over, look, &mut buffer);
    buffer
}

#[test]
fn pictures_are_as_kept() {
    let mut paused = swim();
    paused.paused = true;
    let mut held = rest();
    (held.situation.phase, held.situation.next_go) = (Activity::Hold, None);
    for (name, snapshot, over, look, width, height) in [
        ("swim-80x24", swim(), Over::Nothing, COLOR, 80, 24),
        ("rest-80x24-ascii", rest(), Over::Nothing, ASCII, 80, 24),
        ("held-200x60", held, Over::Nothing, PLAIN, 200, 60),
        ("paused-80x24", paused.clone(), Over::Nothing, PLAIN, 80, 24),
        ("paused-40x10", paused, Over::Nothing, PLAIN, 40, 10),
        ("keys-80x24", swim(), Over::Keys, PLAIN, 80, 24),
        ("keys-40x10", rest(), Over::Keys, PLAIN, 40, 10),
        ("stop-80x24", rest(), Over::Stop, PLAIN, 80, 24),
    ] {
        is_as_kept(name, &drawn(&snapshot, over, look, width, height));
    }
}

#[test]
fn any_size_is_drawn() {
    for snapshot in [swim(), rest(), Snapshot::default()] {
        for over in [Over::Nothing, Over::Keys, Over::Stop] {
            for (width, height) in
                (0..64).step_by(3).flat_map(|w| (0..30).map(move |h| (w, h))).chain([(300, 100), (500, 2)])
            {
                drawn(&snapshot, over, PLAIN, width, height);
            }
        }
    }
}

#[test]
fn the_count_and_the_trouble_are_there_at_every_size() {
    for (width, height) in [(80, 24), (200, 60), (60, 15), (40, 10), (40, 9)] {
        let found = text(&drawn(&rest(), Over::Nothing, ASCII, width, height));
        assert!(found.contains("NO SOUND"), "{width} x {height}:\n{found}");
        let found = drawn(&rest(), Over::Nothing, PLAIN, width, height);
        let blocks = found.content.iter().filter(|cell| "█▀▄".contains(cell.symbol())).count();
        assert!(blocks > 10, "{width} x {height}: no large count\n{}", text(&found));
    }
    let found = text(&drawn(&rest(), Over::Nothing, PLAIN, 30, 3));
    assert!(found.contains("REST  18"), "{found}");
}

#[test]
fn without_colour_there_is_none_and_nothing_is_lost() {
    for snapshot in [swim(), rest()] {
        let (color, plain) =
            (drawn(&snapshot, Over::Nothing, COLOR, 80, 24), drawn(&snapshot, Over::Nothing, PLAIN, 80, 24));
        assert_eq!(text(&color), text(&plain));
        assert!(plain.content.iter().all(|cell| cell.fg == Color::Reset && cell.bg == Color::Reset));
        assert!(color.content.iter().any(|cell| cell.fg != Color::Reset));
        assert!(text(&drawn(&snapshot, Over::Nothing, ASCII, 80, 24)).is_ascii());
    }
}

#[test]
fn the_picture_stands_still_while_the_count_goes_on() {
    let rows = |snapshot: &Snapshot| {
        let found = drawn(snapshot, Over::Nothing, PLAIN, 80, 24);
        let text = text(&found);
        text.lines().skip(12).map(str::to_owned).collect::<Vec<_>>()
    };
    let (mut one, mut two) = (swim(), swim());
    one.elapsed = Seconds::from_secs(811);
    two.elapsed = Seconds::from_secs(848);
    assert_eq!(rows(&one), rows(&two));
}

#[test]
fn text_cannot_command_the_terminal() {
    let mut snapshot = swim();
    snapshot.title = "\u{1b}[2J\u{7}gone\r\n".into();
    snapshot.set_title = "\u{9b}31m".into();
    let found = drawn(&snapshot, Over::Nothing, COLOR, 80, 24);
    assert!(found.content.iter().all(|cell| !cell.symbol().contains(char::is_control)), "{}", text(&found));
}
