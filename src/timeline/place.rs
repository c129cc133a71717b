//! Finding room for voices that must not overlap: greedily by rank, in windows.

use super::CueKind;
use super::speak::Utterance;
use crate::diag::Span;
use crate::units::time::Seconds;

/// Between two voices.
pub const GAP: Seconds = Seconds::from_millis(200);

/// Which end of its window a voice prefers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lean {
    /// As early as there is room.
    Early,
    /// As late as there is room.
    Late,
}

/// A wish to be heard.
#[derive(Clone, Debug)]
pub struct VoiceRequest {
    /// What for.
    pub kind: CueKind,
    /// Lower ranks choose first.
    pub rank: u8,
    /// Longest form first; a later one is taken only where an earlier has no room.
    pub forms: Vec<Utterance>,
    /// The earliest beginning.
    pub earliest: Seconds,
    /// The latest beginning.
    pub latest: Seconds,
    /// The latest end.
    pub end: Seconds,
    /// Which end of the window it prefers.
    pub lean: Lean,
    /// Where the script asks for it: what is dropped is told there. Without one it is dropped in silence.
    pub asked: Option<Span>,
    /// Its place among what is said of one swim: a higher one is heard later wherever there is room for that.
    pub turn: Option<usize>,
}

/// A voice that found room.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// What for.
    pub kind: CueKind,
    /// When it begins.
    pub at: Seconds,
    /// What is said.
    pub said: Utterance,
}

/// Places what fits among what is `busy` already, in order of (rank, latest, order), and puts what has a turn in its turn;
/// returns it sorted by time, and the requests that found no room.
pub fn place(requests: Vec<VoiceRequest>, busy: &[Placed]) -> (Vec<Placed>, Vec<VoiceRequest>) {
    let mut taken: Vec<(Seconds, Seconds)> = busy.iter().map(|p| (p.at, p.at + p.said.len())).collect();
    let (mut placed, mut dropped) = (Vec::new(), Vec::new());
    // What has a turn, each with its place in `placed`.
    let mut turns: Vec<(usize, VoiceRequest)> = Vec::new();
    let mut order = requests;
    order.sort_by_key(|request| (request.rank, request.latest));
    for request in order {
        let fits = request.forms.iter().find_map(|form| Some((room(&request, form.len(), &taken)?, form)));
        match fits {
            Some((at, form)) => {
                taken.push((at, at + form.len()));
                placed.push(Placed { kind: request.kind, at, said: form.clone() });
                if request.turn.is_some() {
                    turns.push((placed.len() - 1, request));
                }
            }
            None => dropped.push(request),
        }
    }
    in_turn(&mut placed, turns, busy);
    placed.sort_by_key(|placed| placed.at);
    (placed, dropped)
}

/// Puts what has a turn into its order, between the rest. Each was placed where it found room by its rank, so that nothing is
/// lost by it: where the room that is left does not allow the order, all stay where they are.
fn in_turn(placed: &mut [Placed], mut turns: Vec<(usize, VoiceRequest)>, busy: &[Placed]) {
    let mut taken: Vec<(Seconds, Seconds)> = busy.iter().map(|p| (p.at, p.at + p.said.len())).collect();
    let others = placed.iter().enumerate().filter(|(index, _)| turns.iter().all(|(turn, _)| turn != index));
    taken.extend(others.map(|(_, other)| (other.at, other.at + other.said.len())));
    turns.sort_by_key(|(_, request)| request.turn);
    // Those that go as late as they can are put from the last one on.
    let late = turns.iter().all(|(_, request)| request.lean == Lean::Late);
    if late {
        turns.reverse();
    }
    let mut beginnings: Vec<(usize, Seconds)> = Vec::new();
    let mut beside: Option<(Seconds, Seconds)> = None;
    for (index, mut request) in turns {
        let Some(len) = placed.get(index).map(|placed| placed.said.len()) else { return };
        match beside {
            Some((from, _)) if late => request.end = request.end.min(from - GAP),
            Some((_, to)) => request.earliest = request.earliest.max(to + GAP),
            None => {}
        }
        let Some(at) = room(&request, len, &taken) else { return };
        beside = Some((at, at + len));
        taken.push((at, at + len));
        beginnings.push((index, at));
    }
    for (index, at) in beginnings {
        if let Some(placed) = placed.get_mut(index) {
            placed.at = at;
        }
    }
}

/// A free beginning for `len` in the request's window.
fn room(request: &VoiceRequest, len: Seconds, taken: &[(Seconds, Seconds)]) -> Option<Seconds> {
    let (low, high) = (request.earliest, request.latest.min(request.end - len));
    // A best beginning touches an end of the window or a neighbour.
    let beside = taken.iter().flat_map(|(from, to)| [*to + GAP, *from - GAP - len]);
    let free = |at: &Seconds| taken.iter().all(|(from, to)| *at + len + GAP <= *from || *at >= *to + GAP);
    let beginnings = beside.chain([low, high]).filter(|at| (low..=high).contains(at)).filter(free);
    match request.lean {
        Lean::Early => beginnings.min(),
        Lean::Late => beginnings.max(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pack::library::Spoken;

    fn request(rank: u8, words: &[&str], from: i64, to: i64, lean: Lean) -> VoiceRequest {
        let forms = words.iter().map(|text| Utterance::of(*text, [Spoken::unrecorded(*text)])).collect();
        let at = Seconds::from_millis;
        VoiceRequest {
            kind: CueKind::Phrase,
            rank,
            forms,
            earliest: at(from),
            latest: at(to),
            end: at(to),
            lean,
            asked: None,
            turn: None,
        }
    }

    fn summary(placed: &[Placed]) -> Vec<(String, i64)> {
        placed.iter().map(|p| (p.said.text(), p.at.nanos() / 1_000_000)).collect()
    }

    #[test]
    fn ranks_choose_first_and_nobody_overlaps() {
        // 400 ms a word.
        let (placed, dropped) = place(
            vec![
                request(2, &["late comer"], 0, 3000, Lean::Late),
                request(1, &["first choice"], 0, 3000, Lean::Late),
                request(3, &["early"], 0, 3000, Lean::Early),
            ],
            &[],
        );
        assert!(dropped.is_empty());
        let expected = [("early", 0), ("late comer", 1200), ("first choice", 2200)];
        assert_eq!(summary(&placed), expected.map(|(text, at)| (text.to_owned(), at)));
    }

    #[test]
    fn short_forms_and_drops() {
        let (placed, dropped) = place(
            vec![
                request(1, &["one two three"], 0, 1200, Lean::Early),
                request(2, &["too long to fit", "short"], 0, 1900, Lean::Early),
                request(3, &["no room"], 0, 1900, Lean::Early),
            ],
            &[],
        );
        assert_eq!(summary(&placed), [("one two three", 0), ("short", 1400)].map(|(t, a)| (t.to_owned(), a)));
        assert_eq!(dropped.len(), 1);
    }

    /// Three voices in turn from a moment on, parted by another one from 4000 to 4400; 400 ms a word. The last is heard up to
    /// 6000, and behind the other one there is room for one word beside it.
    fn before(from: i64) -> Vec<(String, i64)> {
        let timer = VoiceRequest { turn: None, ..request(0, &["timer"], 4000, 4400, Lean::Early) };
        let turn = |turn, words| VoiceRequest { turn: Some(turn), ..request(1, &[words], from, 6000, Lean::Late) };
        let (placed, dropped) = place(vec![timer, turn(2, "last"), turn(1, "second of three"), turn(0, "first")], &[]);
        assert!(dropped.is_empty());
        summary(&placed)
    }

    #[test]
    fn what_has_a_turn_is_heard_in_turn() {
        let heard = |wanted: [(&str, i64); 4]| wanted.map(|(text, at)| (text.to_owned(), at));
        // By its length the first would go behind the timer.
        let wanted = [("first", 2000), ("second of three", 2600), ("timer", 4000), ("last", 5600)];
        assert_eq!(before(0), heard(wanted));
        // Without room for the order nothing is lost.
        let wanted = [("second of three", 2600), ("timer", 4000), ("first", 5000), ("last", 5600)];
        assert_eq!(before(2600), heard(wanted));
    }
}
