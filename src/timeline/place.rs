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

/// Places what fits among what is `busy` already, in order of (rank, latest, order); returns it sorted by time, and
/// the requests that found no room.
pub fn place(requests: Vec<VoiceRequest>, busy: &[Placed]) -> (Vec<Placed>, Vec<VoiceRequest>) {
    let mut taken: Vec<(Seconds, Seconds)> = busy.iter().map(|p| (p.at, p.at + p.said.len())).collect();
    let (mut placed, mut dropped) = (Vec::new(), Vec::new());
    let mut order = requests;
    order.sort_by_key(|request| (request.rank, request.latest));
    for request in order {
        let fits = request.forms.iter().find_map(|form| Some((room(&request, form.len(), &taken)?, form)));
        match fits {
            Some((at, form)) => {
                taken.push((at, at + form.len()));
                placed.push(Placed { kind: request.kind, at, said: form.clone() });
            }
            None => dropped.push(request),
        }
    }
    placed.sort_by_key(|placed| placed.at);
    (placed, dropped)
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
}
