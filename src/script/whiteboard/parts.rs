//! What was said of a swim becomes its keys and lengths: `(25 kick / 25 swim)` is one length of each.

use crate::diag::Span;
use crate::script::whiteboard::manner::{Draft, PER_LENGTH};
use crate::script::whiteboard::read::Reader;
use crate::script::whiteboard::{Key, Reach};

/// The most lengths that the language tells apart in one repeat.
const MOST: u32 = 64;

/// A part of a repeat; the first one of a draft is what holds for all of it.
pub(super) struct Part {
    /// How far, if said.
    pub distance: Option<u32>,
    /// What is special.
    pub keys: Vec<Key>,
    /// It began with a bracket.
    pub bracket: bool,
}

impl Draft {
    /// The keys and lengths of a swim; whether the lengths were named without distances.
    pub fn into_swim(self, reader: &mut Reader<'_>, reach: &Reach, span: Span) -> (Vec<Key>, Vec<Vec<Key>>, bool) {
        let Self { mut keys, parts, .. } = self;
        let mut parts = parts.into_iter();
        let base = parts.next().map_or_else(Vec::new, |base| base.keys);
        let mut parts: Vec<_> = parts.collect();
        let named = parts.iter().filter(|part| part.distance.is_some()).count();
        // "(easy)" is only a word in brackets, and "kick / swim" has its first part before the stroke.
        if let ([only], 0) = (parts.as_mut_slice(), named)
            && only.bracket
        {
            keys.extend(base.into_iter().filter(|key| !only.keys.iter().any(|other| other.name == key.name)));
            keys.append(&mut only.keys);
            return (keys, Vec::new(), false);
        }
        let bracketed = parts.iter().any(|part| part.bracket);
        if named == 0 && !parts.is_empty() && !bracketed {
            parts.insert(0, Part { distance: None, keys: base, bracket: false });
        } else {
            keys.extend(base);
        }
        if parts.is_empty() {
            return (keys, Vec::new(), false);
        }
        let lengths = lengths(reader, &parts, named, reach, span).unwrap_or_default();
        (keys, lengths, named == 0)
    }

    /// What holds for all swims of rounds, and the rest between them.
    pub fn into_shared(self, reader: &mut Reader<'_>, count: u32) -> (Vec<Key>, Option<Key>) {
        let Self { mut keys, parts, .. } = self;
        if parts.len() > 1 {
            let span = reader.here();
            reader.fault(span, "parts of a repeat behind rounds", "write them behind the distance they belong to");
        }
        keys.extend(parts.into_iter().next().map_or_else(Vec::new, |base| base.keys));
        let at = keys.iter().position(|key| key.name == "between-rounds");
        let between = at.map(|at| keys.remove(at));
        if let Some(between) = between.as_ref().filter(|_| count < 2) {
            reader.fault(between.span, "a rest between rounds, but there is one round", "say how many: `3x(...)`");
        }
        (keys, between)
    }
}

/// Each length's own keys.
fn lengths(reader: &mut Reader<'_>, parts: &[Part], named: usize, reach: &Reach, span: Span) -> Option<Vec<Vec<Key>>> {
    let sign = reader.known.water.unit.sign();
    let (Reach::Distances(each), Some(pool)) = (reach, reader.known.water.length) else {
        reader.fault(
            span,
            "parts of a swim are lengths of a pool",
            "write each part as a swim: `100 easy; 300 steady`",
        );
        return None;
    };
    let [repeat] = each.as_slice() else {
        reader.fault(span, "parts of a repeat need repeats of one distance", "write them as rounds");
        return None;
    };
    let own = |part: &Part| {
        let mut keys: Vec<Key> = part.keys.iter().filter(|key| PER_LENGTH.contains(&key.name)).cloned().collect();
        if keys.is_empty() {
            // The language wants a word for each length.
            keys.push(Key { name: "part", value: "swim".into(), words: "swim".into(), span, assumed: false });
        }
        keys
    };
    if named == 0 {
        let count = u32::try_from(parts.len()).unwrap_or(u32::MAX);
        if !(repeat / pool).is_multiple_of(count) {
            let message = format!("{count} parts in turn do not fit a repeat of {} lengths", repeat / pool);
            let hint = format!("write rounds, such as `2x({pool} kick + {pool} swim)`, or each part with its distance");
            reader.fault(span, message, hint);
            return None;
        }
        return Some(parts.iter().map(own).collect());
    }
    if named < parts.len() {
        reader.fault(span, "some parts have a distance, others none", "write `(25 kick / 25 swim)`");
        return None;
    }
    let sum: u32 = parts.iter().filter_map(|part| part.distance).fold(0, u32::saturating_add);
    if sum != *repeat {
        let message = format!("the parts make {sum} {sign}, the repeat is {repeat} {sign}");
        reader.fault(span, message, "mend the parts; if another swim begins, put `;` before it");
        return None;
    }
    if sum / pool > MOST {
        reader.fault(
            span,
            format!("parts over {} lengths; at most {MOST} are allowed", sum / pool),
            "write them as rounds",
        );
        return None;
    }
    let times = |part: &Part| (part.distance.unwrap_or(0) / pool) as usize;
    Some(parts.iter().flat_map(|part| std::iter::repeat_n(own(part), times(part))).collect())
}
