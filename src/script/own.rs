//! A script for one swimmer of many: their focus phrases in place of its own.

use super::{Focus, Script, WrittenItem};
use crate::diag::{Span, Spanned};

impl Script {
    /// The same practice with other phrases wherever it has a focus. What changes a focus, and in which order, stays.
    ///
    /// A focus of several phrases becomes all of `own`; where those are more than the script had, the next such focus begins
    /// with the first that the one before had no room for, so that none is left out of a whole practice. Where the script has one phrase alone, one of `own` stands alone: the
    /// script's first such phrase gives way to the first of them, its second to the second, and so on in turn, the same
    /// wherever it comes again.
    #[must_use]
    pub fn with_focus(&self, own: &[Spanned<String>]) -> Self {
        let mut script = self.clone();
        let mut alone: Vec<String> = Vec::new();
        let mut one = |phrase: &Spanned<String>| {
            let at = alone.iter().position(|known| *known == phrase.value).unwrap_or_else(|| {
                alone.push(phrase.value.clone());
                alone.len() - 1
            });
            own.iter().cycle().nth(at % own.len().max(1)).unwrap_or(phrase).clone()
        };
        // Where each focus of several begins in `own`; swims of a set may share one, which is known by its place.
        let (mut begun, mut next): (Vec<(Span, usize)>, usize) = (Vec::new(), 0);
        let mut several = |focus: &Spanned<Focus>| {
            let at = match begun.iter().find(|(span, _)| *span == focus.span) {
                Some((_, at)) => *at,
                None => {
                    let at = next;
                    next += focus.value.phrases.len().min(own.len());
                    begun.push((focus.span, at));
                    at
                }
            };
            own.iter().cycle().skip(at % own.len().max(1)).take(own.len()).cloned().collect()
        };
        let sets = script
            .practice
            .iter_mut()
            .filter_map(|item| if let WrittenItem::Set(set) = item { Some(set) } else { None });
        for swim in sets.flat_map(|set| &mut set.swims) {
            if let Some(focus) = &mut swim.focus {
                focus.value.phrases = match focus.value.phrases.as_slice() {
                    [phrase] => vec![one(phrase)],
                    _ => several(focus),
                };
            }
            for phrase in swim.lengths.iter_mut().filter_map(|length| length.focus.as_mut()) {
                *phrase = one(phrase);
            }
        }
        script
    }
}

#[cfg(test)]
mod tests {
    use crate::diag::{Sources, Span, Spanned};
    use crate::script::{Change, FocusOrder, WrittenItem, parse};

    #[test]
    fn phrases_change_and_the_shape_stays() {
        let text = "lengthwise: 1\ntitle: T\npool: 25 m\npractice:\n\
            \x20 - { set: A, swim: 4 x 25 m, rest: 9 s, focus: { phrases: [a, b], change: length, order: shuffled } }\n\
            \x20 - { set: B, swim: 4 x 25 m, rest: 9 s, focus: c }\n\
            \x20 - { set: C, swim: 4 x 50 m, rest: 9 s, focus: d, lengths: [{ drill: fist }, { focus: e }] }\n\
            \x20 - { set: D, swim: 4 x 25 m, rest: 9 s, focus: c }\n\
            \x20 - { set: E, swim: 4 x 25 m, rest: 9 s }\n\
            \x20 - { set: F, focus: [f, g], rest: 9 s, do: [{ swim: 25 m }, { swim: 25 m }] }\n";
        let mut sources = Sources::new();
        let id = sources.add("a.yaml", text);
        let script = parse::parse(id, &sources).0.unwrap();
        let with = |own: &[&str]| {
            let own: Vec<_> = own.iter().map(|id| Spanned::new((*id).to_owned(), Span::new(id_of(), 0, 1))).collect();
            let script = script.with_focus(&own);
            let mut found = Vec::new();
            for item in &script.practice {
                let WrittenItem::Set(set) = item else { continue };
                let swim = set.swims.last().unwrap();
                let focus = swim.focus.iter().flat_map(|focus| &focus.value.phrases);
                let lengths = swim.lengths.iter().filter_map(|length| length.focus.as_ref());
                found.push(focus.chain(lengths).map(|id| id.value.clone()).collect::<Vec<_>>().join(" "));
            }
            let WrittenItem::Set(first) = &script.practice[0] else { panic!() };
            let focus = &first.swims[0].focus.as_ref().unwrap().value;
            assert_eq!((focus.change.value, focus.order), (Change::Length, FocusOrder::Shuffled));
            found
        };
        fn id_of() -> crate::diag::SourceId {
            Sources::new().add("roster", "x")
        }
        assert_eq!(with(&["x"]), ["x", "x", "x x", "x", "", "x"]);
        assert_eq!(with(&["x", "y"]), ["x y", "x", "y x", "x", "", "x y"]);
        assert_eq!(with(&["x", "y", "z", "w"]), ["x y z w", "x", "y z", "x", "", "z w x y"]);
        assert_eq!(with(&[]), ["", "c", "d e", "c", "", ""]);
    }
}
