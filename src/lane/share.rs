//! Fewer repeats than the others: who swims three of four leaves out the fourth, and waits for the clock meanwhile.

use crate::practice::{Line, Repeat, Set};

/// Takes out what somebody leaves out who swims `swum` of every `of` repeats of a line; what they swim is numbered anew. Gives
/// the repeats that stay, by their places among all. Lines of fewer repeats than `of`, and swims that are joined to others,
/// are swum whole.
pub(super) fn leave_out(set: &mut Set, swum: u32, of: u32) -> Vec<usize> {
    let stays = |lines: &[Line], repeat: &Repeat| {
        let few = lines.get(repeat.line).is_none_or(|line| line.repeats < of);
        few || repeat.joins || repeat.joined || repeat.number % of < swum
    };
    let mut kept: Vec<Repeat> = Vec::with_capacity(set.repeats.len());
    let mut places = Vec::with_capacity(set.repeats.len());
    for (place, repeat) in set.repeats.drain(..).enumerate() {
        if stays(&set.lines, &repeat) {
            let number = kept.iter().filter(|other| (other.line, other.round) == (repeat.line, repeat.round)).count();
            kept.push(Repeat { number: number as u32, ..repeat });
            places.push(place);
        } else if let Some(before) = kept.last_mut() {
            // The lane goes on meanwhile.
            before.regroup = before.regroup.or(repeat.regroup);
            before.interval = before.interval.map(|interval| interval + repeat.interval.unwrap_or(repeat.predicted));
        }
    }
    for (index, line) in set.lines.iter_mut().enumerate() {
        let stay = kept.iter().filter(|repeat| repeat.line == index && repeat.round == 0).count() as u32;
        if stay < line.repeats {
            keep(&mut line.tempos, swum, of);
            keep(&mut line.paces, swum, of);
            line.repeats = stay;
        }
    }
    set.repeats = kept;
    places
}

/// Keeps the values of the repeats that are swum; one alone is that of all.
fn keep<T>(values: &mut Vec<T>, swum: u32, of: u32) {
    if values.len() > 1 {
        let mut number = 0;
        values.retain(|_| {
            number += 1;
            (number - 1) % of < swum
        });
    }
}
