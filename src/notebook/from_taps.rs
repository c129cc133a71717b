//! What was tapped of a swim, as the notebook keeps it: observations of the lengths that are whole, in a practice of their own or
//! in a repeat of one that is there.

use super::entry::{
    Impressions, LoggedPractice, LoggedRepeat, LoggedSet, Measure, Observation, SwimState, ValueSource,
};
use super::lengths::LengthRuns;
use super::place::{WrittenPlace, counted};
use crate::tapping::{TappedLength, TappedSwim};
use crate::units::calendar::{Day, TimeOfDay};
use crate::units::swim::PoolLength;
use std::fmt;

/// What is kept of taps.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TappedNotes {
    /// The observations; lengths are counted from 1.
    pub observations: Vec<Observation>,
    /// How many lengths they are of.
    pub lengths: u32,
    /// What is not kept, and why, a sentence each.
    pub left_out: Vec<String>,
}

/// Why taps cannot be kept there: a sentence with what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoPlaceForTaps(String);

impl fmt::Display for NoPlaceForTaps {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NoPlaceForTaps {}

impl TappedNotes {
    /// Of the whole lengths, the first of which is `first` of its repeat. A count in doubt is not kept: what the model of the swimmer
    /// learns from must have been seen.
    pub fn of(swim: &TappedSwim, first: u32) -> Self {
        let mut notes = Self::default();
        let whole: Vec<u32> = swim.whole().map(|(number, _)| number).collect();
        for (number, length) in (1..).zip(&swim.lengths) {
            if !whole.contains(&number) {
                notes.left_out.push(format!("length {number}: no wall was tapped at its end"));
                continue;
            }
            if length.count.is_none() {
                notes.left_out.push(format!("the count of length {number}: it is in doubt; --counts settles it"));
            }
            let of = first + notes.lengths;
            notes.observations.extend(values(length).map(|(measure, value)| Observation {
                measure,
                length: Some(of),
                value,
                source: ValueSource::Tapped,
            }));
            notes.lengths += 1;
        }
        notes
    }
}

/// What was seen of a length, as far as it can be true.
fn values(length: &TappedLength) -> impl Iterator<Item = (Measure, f64)> {
    let thousandths = |seconds: f64| libm::round(seconds * 1e3) / 1e3;
    let breaths = length.breaths;
    // Where a side was not told, nobody knows how many were to the other.
    let sides = (breaths.count() > 0 && breaths.unsaid == 0).then_some((breaths.left, breaths.right));
    let values = [
        length.count.map(|count| (Measure::Count, f64::from(count))),
        length.tempo.map(|tempo| (Measure::Tempo, thousandths(tempo.seconds))),
        length.time.map(|time| (Measure::Time, thousandths(time))),
        sides.map(|(left, _)| (Measure::BreathsLeft, f64::from(left))),
        sides.map(|(_, right)| (Measure::BreathsRight, f64::from(right))),
    ];
    values.into_iter().flatten().filter(|(measure, value)| measure.range().contains(value))
}

/// A practice of nothing but what was tapped: what was `swum` in somebody's words, else crawl without gear, which alone tells of
/// the stroke.
///
/// # Errors
/// Where nothing can be kept.
pub fn practice(
    notes: &TappedNotes,
    swimmer: &str,
    (day, begun): (Day, TimeOfDay),
    pool: PoolLength,
    swum: Option<&str>,
) -> Result<LoggedPractice, NoPlaceForTaps> {
    if notes.observations.is_empty() {
        return Err(NoPlaceForTaps("there is nothing to keep: no whole length was tapped".to_owned()));
    }
    let far = pool.distance().count() * notes.lengths;
    let repeat = LoggedRepeat {
        number: 1,
        round: 1,
        metres: f64::from(notes.lengths) * pool.metres(),
        lengths: notes.lengths,
        swim: format!("{far} {}{}", pool.unit().sign(), swum.map_or_else(String::new, |swum| format!(" {swum}"))),
        plain: if swum.is_none() { LengthRuns::of(1..=notes.lengths) } else { LengthRuns::default() },
        test: false,
        tempo: None,
        predicted: None,
        breaths: (0, 0),
        state: SwimState::Swum,
        observations: notes.observations.clone(),
        rehearsed: Vec::new(),
    };
    Ok(LoggedPractice {
        swimmer: swimmer.to_owned(),
        script: None,
        title: "Strokes tapped".to_owned(),
        day,
        begun: Some(begun),
        pool: pool.to_string(),
        minutes: None,
        said: Impressions::default(),
        record: None,
        sets: vec![LoggedSet { number: 1, title: "Strokes tapped".to_owned(), apart: None, repeats: vec![repeat] }],
    })
}

/// The place of a practice that taps go to: a repeat, and the first of its lengths.
///
/// # Errors
/// Where the practice has no such place.
pub fn place(practice: &LoggedPractice, place: WrittenPlace) -> Result<(u32, u32, u32), NoPlaceForTaps> {
    let sets = counted(practice.sets.len(), "set");
    let set = practice.sets.iter().find(|set| set.number == place.set);
    let set =
        set.ok_or_else(|| NoPlaceForTaps(format!("there is no set {}: {} has {sets}", place.set, practice.title)))?;
    let number = match (place.repeat, &set.repeats[..]) {
        (Some(number), _) => number,
        (None, [only]) => only.number,
        (None, several) => {
            let there = counted(several.len(), "repeat");
            return Err(NoPlaceForTaps(format!("set {0} has {there}: name one, such as {0}.1", place.set)));
        }
    };
    let repeat = set.repeats.iter().find(|repeat| repeat.number == number).ok_or_else(|| {
        let there = counted(set.repeats.len(), "repeat");
        NoPlaceForTaps(format!("there is no repeat {number} of set {}: it has {there}", place.set))
    })?;
    let first = place.length.unwrap_or(1);
    if first > repeat.lengths.max(1) {
        let there = counted(repeat.lengths.max(1) as usize, "length");
        return Err(NoPlaceForTaps(format!("repeat {}.{number} has {there}, not {first}", place.set)));
    }
    Ok((place.set, number, first))
}

/// Enters taps into a repeat of a practice. What was tapped there before of the same lengths gives way; what somebody counted stays.
///
/// # Errors
/// Where they are of more lengths than it has, or nothing can be kept. The practice is then as it was.
pub fn enter(
    practice: &mut LoggedPractice,
    (set, repeat): (u32, u32),
    notes: &TappedNotes,
) -> Result<(), NoPlaceForTaps> {
    let none = || NoPlaceForTaps(format!("there is no repeat {set}.{repeat}"));
    let sets = practice.sets.iter_mut().filter(|other| other.number == set);
    let found = sets.flat_map(|set| &mut set.repeats).find(|other| other.number == repeat);
    let found = found.ok_or_else(none)?;
    let last = notes.observations.iter().filter_map(|observed| observed.length).max();
    let Some(last) = last else {
        return Err(NoPlaceForTaps("there is nothing to keep: no whole length was tapped".to_owned()));
    };
    if last > found.lengths.max(1) {
        let (tapped, there) =
            (counted(notes.lengths as usize, "length"), counted(found.lengths.max(1) as usize, "length"));
        return Err(NoPlaceForTaps(format!("{tapped} tapped, and repeat {set}.{repeat} has {there}")));
    }
    let again = |old: &Observation| {
        let same = |new: &Observation| (new.measure, new.length) == (old.measure, old.length);
        old.source == ValueSource::Tapped && notes.observations.iter().any(same)
    };
    found.observations.retain(|old| !again(old));
    found.observations.extend(&notes.observations);
    if found.state != SwimState::Missed {
        found.state = SwimState::Swum;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tapping::{Tapping, parse};

    /// Two lengths with walls, breaths to known sides in the first, and one that was not ended.
    fn swim() -> TappedSwim {
        let mut text = "0 w\n".to_owned();
        for length in 0..3 {
            for stroke in 0..10 {
                let side = if length == 0 && stroke % 3 == 2 { ["l", "r"][stroke % 2] } else { "" };
                text += &format!("{:.2} {side}\n", 3.0 + 16.0 * length as f64 + 1.1 * stroke as f64);
            }
            if length < 2 {
                text += &format!("{:.2} w\n", 16.0 * (length + 1) as f64);
            }
        }
        let mut tapping = Tapping::new(1.0);
        parse(&text).unwrap().into_iter().for_each(|tap| {
            tapping.hear(tap);
        });
        tapping.swim()
    }

    fn own(notes: &TappedNotes) -> LoggedPractice {
        let pool = crate::script::quantity::swim::pool("25 m").unwrap();
        let moment = (Day::parse("2026-11-29").unwrap(), TimeOfDay::parse("18:05").unwrap());
        practice(notes, "Ida", moment, pool, None).unwrap()
    }

    #[test]
    fn what_was_seen_is_kept_and_nothing_else() {
        let notes = TappedNotes::of(&swim(), 1);
        let of = |length: u32| {
            let own = notes.observations.iter().filter(move |observed| observed.length == Some(length));
            own.map(|observed| (observed.measure, observed.value)).collect::<Vec<_>>()
        };
        let (count, tempo, time) = ((Measure::Count, 10.0), (Measure::Tempo, 1.1), (Measure::Time, 16.0));
        assert_eq!(of(1), [count, tempo, time, (Measure::BreathsLeft, 2.0), (Measure::BreathsRight, 1.0)]);
        assert_eq!(of(2), [count, tempo, time]);
        assert_eq!((notes.lengths, notes.left_out.len()), (2, 1));
        assert!(notes.left_out[0].contains("length 3: no wall"));
        assert!(notes.observations.iter().all(|observed| observed.source == ValueSource::Tapped));
        // A count in doubt stays out, and says so; the tempo is known.
        let mut doubtful = swim();
        doubtful.lengths[0].count = None;
        let notes = TappedNotes::of(&doubtful, 1);
        let first = notes.observations.first().unwrap();
        assert_eq!((first.measure, notes.left_out.len()), (Measure::Tempo, 2));
    }

    #[test]
    fn a_practice_of_its_own_is_one_repeat() {
        let kept = own(&TappedNotes::of(&swim(), 1));
        let repeat = &kept.sets[0].repeats[0];
        assert_eq!((repeat.metres, repeat.lengths, repeat.swim.as_str()), (50.0, 2, "50 m"));
        assert_eq!((repeat.plain.to_string().as_str(), kept.pool.as_str()), ("1-2", "25 m"));
        let pool = crate::script::quantity::swim::pool("25 m").unwrap();
        // What is no plain crawl is kept and feeds no model.
        let moment = (kept.day, kept.begun.unwrap());
        let breast = practice(&TappedNotes::of(&swim(), 1), "Ida", moment, pool, Some("breast")).unwrap();
        let repeat = &breast.sets[0].repeats[0];
        assert_eq!((repeat.swim.as_str(), repeat.plain.count(), repeat.observations.len()), ("50 m breast", 0, 8));
        let nothing = TappedNotes::default();
        assert!(practice(&nothing, "Ida", (kept.day, kept.begun.unwrap()), pool, None).is_err());
    }

    #[test]
    fn taps_go_into_a_repeat_that_is_there() {
        let mut kept = own(&TappedNotes::of(&swim(), 1));
        let counted =
            Observation { measure: Measure::Count, length: Some(1), value: 11.0, source: ValueSource::Counted };
        kept.sets[0].repeats[0].observations.push(counted);
        let before = kept.sets[0].repeats[0].observations.len();
        // Again: what was tapped gives way, what was counted stays.
        enter(&mut kept, (1, 1), &TappedNotes::of(&swim(), 1)).unwrap();
        let observed = &kept.sets[0].repeats[0].observations;
        assert!(observed.len() == before && observed.contains(&counted), "{observed:?}");
        let as_it_was = kept.clone();
        let beyond = enter(&mut kept, (1, 1), &TappedNotes::of(&swim(), 2)).unwrap_err();
        assert_eq!(beyond.to_string(), "2 lengths tapped, and repeat 1.1 has 2 lengths");
        assert!(enter(&mut kept, (2, 1), &TappedNotes::of(&swim(), 1)).is_err() && kept == as_it_was);
        let at = |text: &str| place(&kept, WrittenPlace::parse(text).unwrap()).map_err(|why| why.to_string());
        assert_eq!((at("1"), at("1.1.2")), (Ok((1, 1, 1)), Ok((1, 1, 2))));
        for (wrong, words) in [("2", "no set 2"), ("1.3", "no repeat 3 of set 1"), ("1.1.3", "has 2 lengths, not 3")] {
            assert!(at(wrong).unwrap_err().contains(words), "{:?}", at(wrong));
        }
    }
}
