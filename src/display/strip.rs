//! The swimmers of a lane side by side, as they leave: who is away and due, who leaves in how many seconds, who sits out. What
//! stands there is pure; what it means is the conductor's.

use super::page::Canvas;
use super::words::{clock, left, tenths};
use crate::conductor::situation::{LanePlace, SwimmerIs};
use crate::session::snapshot::Snapshot;
use crate::units::time::Seconds;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Columns that a swimmer needs.
const NARROWEST: u16 = 13;
/// Rows of one: the name, what they do, what is expected or was measured.
const ROWS: u16 = 3;
/// Whoever leaves so soon stands out.
const NEAR: Seconds = Seconds::from_secs(5);
/// So long behind the expected touch somebody is still due; then nobody has keyed it.
const DUE: Seconds = Seconds::from_secs(10);

/// What stands of one swimmer.
#[derive(Clone, Debug, PartialEq, Eq)]
struct StripCell {
    name: String,
    does: String,
    measured: String,
    near: bool,
}

fn cell(snapshot: &Snapshot, place: &LanePlace) -> StripCell {
    let now = snapshot.elapsed;
    let split = place.split.map_or_else(String::new, tenths);
    let leaves = place.next_go.map(|go| left(go - now));
    let (does, measured) = match (place.whereabouts, leaves) {
        (SwimmerIs::Out, _) => ("sits out".to_owned(), String::new()),
        (SwimmerIs::Swims { go, due }, _) => {
            let measured = match now {
                now if now < due => format!("due in {}", left(due - now)),
                now if now < due + DUE => "due now".to_owned(),
                _ => "no touch".to_owned(),
            };
            (format!("swims {}", clock(now - go)), measured)
        }
        (SwimmerIs::Late, Some(left)) => (format!("last, in {left}"), split),
        (SwimmerIs::Wall, Some(left)) => (format!("leaves in {left}"), split),
        (SwimmerIs::Late | SwimmerIs::Wall, None) => ("at the wall".to_owned(), split),
    };
    let waits = !matches!(place.whereabouts, SwimmerIs::Swims { .. } | SwimmerIs::Out);
    let near = waits && place.next_go.is_some_and(|go| go - now <= NEAR);
    StripCell { name: snapshot.called(place.number), does, measured, near }
}

/// How many stand in a row, and how many rows of them there are.
fn shape(count: u16, room: u16) -> (u16, u16) {
    let most = (room / NARROWEST).max(1);
    let lines = count.div_ceil(most).max(1);
    (count.div_ceil(lines).max(1), lines)
}

/// Rows that the strip takes in so many columns.
pub(super) fn rows(snapshot: &Snapshot, room: u16) -> u16 {
    let (_, lines) = shape(snapshot.situation.lane.len() as u16, room);
    lines * ROWS
}

/// Who leaves next, where there is room for one line.
pub(super) fn line(snapshot: &Snapshot) -> String {
    let waits = snapshot.situation.lane.iter().filter(|place| place.next_go.is_some());
    let next = waits.min_by_key(|place| place.next_go).map(|place| cell(snapshot, place));
    next.map_or_else(String::new, |cell| format!("{} {}", cell.name, cell.does))
}

impl Canvas<'_> {
    /// Draws the strip at the top of what is free.
    pub(super) fn strip(&mut self, snapshot: &Snapshot) {
        let lane = &snapshot.situation.lane;
        let inner = self.left.width.saturating_sub(2);
        let (across, _) = shape(lane.len() as u16, inner);
        let each = (inner / across).max(1);
        for line in lane.chunks(usize::from(across)) {
            let rows = self.take(ROWS);
            for (column, place) in (0_u16..).zip(line) {
                let cell = cell(snapshot, place);
                let area =
                    Rect { width: (1 + (column + 1) * each).saturating_sub(2).min(rows.width), height: 1, ..rows };
                self.cell(area, 1 + column * each, &cell);
            }
        }
    }

    fn cell(&mut self, row: Rect, column: u16, cell: &StripCell) {
        let does = if cell.near { self.look.alert() } else { Style::new() };
        let lines = [(&cell.name, self.look.strong()), (&cell.does, does), (&cell.measured, self.look.faint())];
        for ((text, style), below) in lines.into_iter().zip(0_u16..) {
            self.put(Rect { y: row.y + below, ..row }, column, text, style);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conductor::situation::Situation;

    fn place(number: u32, whereabouts: SwimmerIs, next_go: i64) -> LanePlace {
        let next_go = (next_go > 0).then(|| Seconds::from_secs(next_go));
        LanePlace { number, whereabouts, split: Some(Seconds::from_millis(47_600)), next_go, owes_touch: false }
    }

    #[test]
    fn each_swimmer_stands_with_what_they_do() {
        let secs = Seconds::from_secs;
        let swims = SwimmerIs::Swims { go: secs(60), due: secs(110) };
        let lane = vec![
            place(1, swims, 180),
            place(2, SwimmerIs::Wall, 105),
            place(3, SwimmerIs::Late, 115),
            place(4, SwimmerIs::Wall, 0),
            place(5, SwimmerIs::Out, 0),
        ];
        let names = ["Bo", "Ida", "Cy", "Eve"].map(str::to_owned).to_vec();
        let situation = Situation { lane, ..Situation::default() };
        let mut snapshot = Snapshot { elapsed: secs(100), situation, names, ..Snapshot::default() };
        let told = |snapshot: &Snapshot| -> Vec<String> {
            let cells = snapshot.situation.lane.iter().map(|place| cell(snapshot, place));
            cells.map(|cell| format!("{}: {}, {}, {}", cell.name, cell.does, cell.measured, cell.near)).collect()
        };
        let expected = [
            "1 Bo: swims 0:40, due in 10, false",
            "2 Ida: leaves in 5, 0:47.6, true",
            "3 Cy: last, in 15, 0:47.6, false",
            "4 Eve: at the wall, 0:47.6, false",
            "5: sits out, , false",
        ];
        assert_eq!(told(&snapshot), expected);
        assert_eq!(line(&snapshot), "2 Ida leaves in 5");
        for (now, measured) in [(110, "due now"), (119, "due now"), (120, "no touch")] {
            snapshot.elapsed = secs(now);
            assert_eq!(cell(&snapshot, &snapshot.situation.lane[0]).measured, measured);
        }
        // Six side by side on 80 columns, eight in two rows of four, on a narrow terminal below each other.
        assert_eq!([shape(6, 78), shape(8, 78), shape(8, 118), shape(3, 20)], [(6, 1), (4, 2), (8, 1), (1, 3)]);
    }
}
