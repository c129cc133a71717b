mod practices;

use super::*;
use crate::cases::amount;
use crate::conductor::situation::{Activity, ComingStart, Situation};
use crate::display::big::Big;
use crate::display::entry::TypedTempo;
use crate::display::page::kept::{is_as_drawn, is_as_kept, text};
use crate::session::snapshot::{DeviceState, Fault, Split};
use crate::session::swim::{NumberOf, SwimFacts};
use crate::units::time::{Seconds, Tempo};
use ratatui::style::Color;

const COLOR: Look = Look { color: true, unicode: true };
const PLAIN: Look = Look { color: false, unicode: true };
const ASCII: Look = Look { color: false, unicode: false };

/// The third of eight.
fn range(number: usize) -> SwimFacts {
    SwimFacts {
        title: "Range".into(),
        set: NumberOf { number: 3, of: 6 },
        round: NumberOf { number: 1, of: 1 },
        repeat: NumberOf { number, of: 8 },
        far: "50 m".into(),
        manner: vec!["swim".into()],
        mind: vec!["breathe every 3".into(), "at most 19 strokes".into()],
        ..SwimFacts::default()
    }
}

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
            every: Some(secs(80)),
            coming: Some(ComingStart { set: 2, repeat: 3, go: Some(secs(880)), joined: false }),
            tempo: Some(Tempo::from_centis(110)),
            nudge: -2,
            focus: Some("reach forward".into()),
            length: Some((1, 2)),
            ..Situation::default()
        },
        swum: Some(range(3)),
        next: Some(range(4)),
        level: 0.35,
        device: DeviceState::Playing { name: "USB Headphones".into(), rate: 48_000, buffer: 512 },
        last: Some("faster 0.01, taken".into()),
        splits: vec![Split {
            set: 2,
            repeat: 1,
            split: Seconds::from_millis(58_700),
            predicted: secs(58),
            number: None,
        }],
        ..Snapshot::default()
    }
}

/// Touched after 58.7 s; 18 s to the next go, and no sound.
fn rest() -> Snapshot {
    let mut snapshot = swim();
    snapshot.elapsed = Seconds::from_millis(862_300);
    snapshot.situation.phase = Activity::Rest;
    snapshot.situation.length = Some((0, 2));
    snapshot.situation.coming = None;
    (snapshot.swum, snapshot.next) = (Some(range(4)), Some(range(5)));
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
    view(snapshot, Front { over, ..Front::default() }, look, &mut buffer);
    buffer
}

/// The sizes that a terminal on deck has.
const SIZES: [(u16, u16); 5] = [(60, 20), (80, 24), (100, 30), (140, 40), (200, 60)];

/// In how many rows a word is written large; the buffer must have exactly its cells, blank ones too.
fn letters(buffer: &Buffer, word: &str) -> Option<u16> {
    let grid: Vec<Vec<&str>> = buffer
        .content
        .chunks(usize::from(buffer.area.width))
        .map(|row| row.iter().map(|cell| cell.symbol()).collect())
        .collect();
    let (width, height) = (grid[0].len(), grid.len());
    (3..=buffer.area.height / 2).rev().find(|rows| {
        let Some(big) = Big::new(word, *rows).filter(|big| usize::from(big.width) <= width) else { return false };
        let mut own = Buffer::empty(Rect::new(0, 0, big.width, *rows));
        big.draw(own.area, &mut own, true, Style::new());
        let (wide, high) = (usize::from(big.width), usize::from(*rows));
        let mut cells: Vec<(usize, usize, &str)> =
            own.content.iter().enumerate().map(|(at, cell)| (at % wide, at / wide, cell.symbol())).collect();
        // Blank cells match almost everywhere: they come last.
        cells.sort_by_key(|(.., symbol)| *symbol == " ");
        let is_at = |left: usize, top: usize| cells.iter().all(|(x, y, symbol)| grid[top + y][left + x] == *symbol);
        (0..=width - wide).any(|left| (0..=height - high).any(|top| is_at(left, top)))
    })
}

/// Fails where a text cannot be read; from 80 x 24 on each word of it must be a tenth of the height. Letters leave half a row
/// free.
fn reads(buffer: &Buffer, text_of: &str, what: &str) {
    let (width, height) = (buffer.area.width, buffer.area.height);
    for word in text_of.split(' ') {
        let large = letters(buffer, word);
        let plain = text(buffer).to_lowercase().contains(&word.to_lowercase());
        let enough = if width >= 80 && height >= 24 {
            large.is_some_and(|rows| (2 * rows - 1) * 5 >= height)
        } else {
            large.is_some() || plain
        };
        assert!(enough, "{what} at {width} x {height}: `{word}` of `{text_of}` in {large:?} rows\n{}", text(buffer));
    }
}

#[test]
fn pictures_are_as_kept() {
    let mut paused = swim();
    paused.paused = true;
    let mut held = rest();
    (held.situation.phase, held.situation.next_go, held.situation.held) = (Activity::Hold, None, true);
    held.device = swim().device;
    let mut fault = swim();
    fault.faults = vec![Fault { number: 1, short: "no record".into(), words: "the disk is full".into() }];
    for (name, snapshot, over, look, width, height) in [
        ("swim-80x24", swim(), Over::Nothing, COLOR, 80, 24),
        ("rest-80x24-ascii", rest(), Over::Nothing, ASCII, 80, 24),
        ("held-200x60", held, Over::Nothing, PLAIN, 200, 60),
        ("paused-80x24", paused.clone(), Over::Nothing, PLAIN, 80, 24),
        ("paused-40x10", paused, Over::Nothing, PLAIN, 40, 10),
        ("fault-100x30", fault, Over::Nothing, PLAIN, 100, 30),
        ("keys-80x24", swim(), Over::Keys, PLAIN, 80, 24),
        ("keys-40x10", rest(), Over::Keys, PLAIN, 40, 10),
        ("stop-80x24", rest(), Over::Stop, PLAIN, 80, 24),
        ("tempo-80x24", swim(), Over::Tempo(TypedTempo::begun('1')), PLAIN, 80, 24),
    ] {
        is_as_kept(name, &drawn(&snapshot, over, look, width, height));
    }
    let about = "The screen of play: what is swum, the focus, the clock, the next go";
    is_as_drawn("play", about, &drawn(&swim(), Over::Nothing, COLOR, 80, 24));
}

#[test]
fn any_size_is_drawn() {
    for snapshot in [swim(), rest(), Snapshot::default()] {
        for over in [Over::Nothing, Over::Keys, Over::Stop, Over::Tempo(TypedTempo::begun('1'))] {
            for (width, height) in (0..64)
                .step_by(amount(13, 3))
                .flat_map(|w| (0..30).step_by(amount(2, 1)).map(move |h| (w, h)))
                .chain([(300, 100), (500, 2)])
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
    assert!(found.contains("GO IN 18 · ON :40"), "{found}");
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
        // All but the clock at the top, the lane and the time itself.
        let time = text.lines().position(|line| line.contains("every 1:20")).unwrap();
        text.lines().take(9).skip(1).chain(text.lines().skip(time)).map(str::to_owned).collect::<Vec<_>>()
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
    snapshot.swum = Some(SwimFacts { title: "\u{9b}31m".into(), ..range(3) });
    snapshot.situation.focus = Some("\u{1b}[31m still".into());
    let found = drawn(&snapshot, Over::Nothing, COLOR, 80, 24);
    assert!(found.content.iter().all(|cell| !cell.symbol().contains(char::is_control)), "{}", text(&found));
}
