//! A swimmer as the notebook knows them: by the profile in it, or by nothing.

use super::entry::NotedSwimmer;
use crate::diag::Sources;
use crate::swimmer::fit::lengths::StrokesBefore;
use crate::swimmer::{Swimmer, profile};

/// What is known without their counts. A profile was read before it was kept; where a newer program kept one that this one cannot
/// read, it is as if there were none, and that is among what is assumed.
pub fn without_counts(noted: &NotedSwimmer) -> Swimmer {
    let mut sources = Sources::new();
    let source = noted.profile.as_ref().map(|text| sources.add(format!("the profile of {}", noted.name), text.clone()));
    let read = source.map(|source| profile::parse(source, &sources).0);
    let (known, why) = match read {
        Some(Some(swimmer)) => (swimmer, None),
        Some(None) => {
            (Swimmer::assumed(), Some(format!("the profile of {} in the notebook cannot be read", noted.name)))
        }
        None => (Swimmer::assumed(), None),
    };
    let mut known = Swimmer { name: Some(noted.name.clone()), ..known };
    known.assumptions.extend(why);
    known
}

/// What is held of their strokes before their counts are looked at: a profile is surer than what is assumed of nobody in
/// particular. The widths, as shares of a stroke, are assumptions.
pub fn strokes_before(noted: &NotedSwimmer) -> StrokesBefore {
    let Swimmer { model, usual, .. } = without_counts(noted);
    StrokesBefore { model, usual, width: if noted.profile.is_some() { 0.06 } else { 0.15 } }
}
