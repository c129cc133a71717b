//! Answers as people write them: `2.8=18`, `18? at 1.10`, `5:52`, `from 4.3`. A sign after a value makes it a guess; a place
//! before `=` says what it is of.

use super::answers::SaidValue;
use super::entry::{LoggedRepeat, Measure, ValueSource};
use super::outline::{AskedLength, AskedSwim, Outline};
use super::place::{self, WrittenPlace, WrongAnswer};
use crate::script::quantity::{Misread, time as quantity};
use crate::units::time::Seconds;

/// The longest text of pain or of a note, in characters.
pub const LONGEST_TEXT: usize = 1_000;
/// Seconds for 100 m that somebody may have taken, kicking and sculling included. Our choice.
const PER_HUNDRED: std::ops::RangeInclusive<f64> = 30.0..=900.0;
/// Strokes in a metre of a pool's length that somebody may have taken: 25 m in 4 to 75. Our choice.
const PER_METRE: std::ops::RangeInclusive<f64> = 0.15..=3.0;

fn wrong<T>(message: impl Into<String>) -> Result<T, WrongAnswer> {
    Err(WrongAnswer(message.into()))
}

/// Whether an answer says that there is nothing to tell.
pub fn is_no(text: &str) -> bool {
    matches!(text.trim().to_lowercase().as_str(), "no" | "none" | "nothing" | "n")
}

/// What was left out: `no`, or places: `3.2`, `3.2-4`, `5` (all of set 5), `from 4.3`.
///
/// # Errors
/// Where a place is none of the practice.
pub fn missed(text: &str, outline: &Outline) -> Result<Vec<AskedSwim>, WrongAnswer> {
    let practice = &outline.practice;
    if is_no(text) {
        return Ok(Vec::new());
    }
    let all = || {
        practice.repeats().map(|(set, repeat)| AskedSwim { set: set.number, repeat: repeat.number }).collect::<Vec<_>>()
    };
    let mut missed = Vec::new();
    for item in items(text) {
        if let Some(from) = item.to_lowercase().strip_prefix("from ") {
            let from = WrittenPlace::parse(from)?;
            let from = AskedSwim { set: from.set, repeat: from.repeat.unwrap_or(1) };
            place::repeat(practice, from)?;
            missed.extend(all().into_iter().filter(|swim| *swim >= from));
            continue;
        }
        let (first, last) = item.split_once('-').map_or((&item[..], None), |(first, last)| (first, Some(last)));
        let first = WrittenPlace::parse(first)?;
        let set = place::set(practice, first.set)?;
        let repeats = match (first, last) {
            (WrittenPlace { length: Some(_), .. }, _) => {
                return wrong(format!(
                    "`{item}` is one length: only whole repeats are left out, such as {}",
                    first.set
                ));
            }
            (WrittenPlace { repeat: Some(repeat), .. }, Some(last)) => {
                let last = last.trim().parse().ok().filter(|last| *last >= repeat);
                let Some(last) = last else {
                    return wrong(format!("`{item}`: write 3.2-4 for repeats 2 to 4 of set 3"));
                };
                repeat..=last
            }
            (WrittenPlace { repeat: Some(repeat), .. }, None) => repeat..=repeat,
            (WrittenPlace { repeat: None, .. }, None) => 1..=set.repeats.len() as u32,
            (WrittenPlace { repeat: None, .. }, Some(_)) => {
                return wrong(format!("`{item}`: write each set by itself, or `from {}`", first.set));
            }
        };
        // The ends are looked for first, so that nobody can ask for a thousand million.
        for repeat in [*repeats.start(), *repeats.end()] {
            place::repeat(practice, AskedSwim { set: first.set, repeat })?;
        }
        missed.extend(repeats.map(|repeat| AskedSwim { set: first.set, repeat }));
    }
    missed.sort_unstable();
    missed.dedup();
    Ok(missed)
}

/// The items of a list with commas or semicolons between them; blanks too where nothing is in words.
fn items(text: &str) -> Vec<String> {
    let mut items = Vec::new();
    for part in text.split([',', ';']).map(str::trim).filter(|part| !part.is_empty()) {
        if part.contains(char::is_alphabetic) {
            items.push(part.to_owned());
        } else {
            items.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    items
}

/// A count with its place: `2=18`, `2.3=18`, `2.3.1=18?`, `2.3=18at1.10`. Gives the count, and the tempo where one is said.
///
/// # Errors
/// Where it cannot be read, or the place leaves open which length was counted.
pub fn count(text: &str, outline: &Outline, source: ValueSource) -> Result<Vec<SaidValue>, WrongAnswer> {
    let Some((at, value)) = text.split_once('=') else {
        return wrong(format!("`{text}`: write 2.3=18 for 18 strokes in repeat 3 of set 2"));
    };
    count_at(value, counted_length(WrittenPlace::parse(at)?, outline)?, outline, source)
}

/// A count of a length that is known: `18`, `18?`, `18 at 1.10`; `no` says that there is none.
///
/// # Errors
/// Where it cannot be read.
pub fn count_at(
    text: &str,
    asked: AskedLength,
    outline: &Outline,
    source: ValueSource,
) -> Result<Vec<SaidValue>, WrongAnswer> {
    let repeat = place::repeat(&outline.practice, asked.swim)?;
    let (swim, length) = (asked.swim, length_in_pool(repeat, asked.length));
    if is_no(text) {
        let none = |measure| SaidValue { swim, measure, length, value: None };
        return Ok(vec![none(Measure::Count), none(Measure::Tempo)]);
    }
    let (text, source) = guessed(text, source);
    let (count, tempo) = match text.to_lowercase().split_once("at") {
        Some((count, tempo)) => (count.trim().to_owned(), Some(self::tempo(tempo)?)),
        None => (text.clone(), None),
    };
    let Ok(strokes) = count.parse::<u32>() else {
        return wrong(format!("`{text}` is no count: a whole number such as 18, or 18? for a guess"));
    };
    let value = f64::from(strokes);
    if length.is_some() {
        let metres = repeat.metres / f64::from(repeat.lengths.max(1));
        if !PER_METRE.contains(&(value / metres)) {
            let (least, most) = (libm::ceil(PER_METRE.start() * metres), libm::floor(PER_METRE.end() * metres));
            return wrong(format!("{strokes} strokes in one length: {least} to {most} is allowed"));
        }
    } else if !Measure::Count.range().contains(&value) {
        return wrong(format!("{strokes} strokes: {} is allowed", range(Measure::Count)));
    }
    let said = |measure, value| SaidValue { swim, measure, length, value: Some((value, source)) };
    let mut values = vec![said(Measure::Count, value)];
    values.extend(tempo.map(|tempo| said(Measure::Tempo, tempo)));
    Ok(values)
}

/// In open water all of a repeat is one stretch, and a value is of that.
fn length_in_pool(repeat: &LoggedRepeat, length: u32) -> Option<u32> {
    (repeat.lengths > 0).then_some(length)
}

fn range(measure: Measure) -> String {
    let range = measure.range();
    format!("{} to {}", range.start(), range.end())
}

/// A value without the sign of a guess, and how it is known then.
fn guessed(text: &str, source: ValueSource) -> (String, ValueSource) {
    if text.contains('?') {
        (text.replace('?', "").trim().to_owned(), ValueSource::Guess)
    } else {
        (text.trim().to_owned(), source)
    }
}

/// Which length a place with a count means.
fn counted_length(at: WrittenPlace, outline: &Outline) -> Result<AskedLength, WrongAnswer> {
    let set = place::set(&outline.practice, at.set)?;
    let asked = || outline.counts.iter().filter(|asked| asked.swim.set == at.set).copied();
    let swim = match at.repeat {
        Some(repeat) => AskedSwim { set: at.set, repeat },
        None => {
            // The last that the script has counted, else the last; both only where it cannot be a matter of tempo.
            let repeats: Vec<u32> = match asked().map(|asked| asked.swim.repeat).collect::<Vec<_>>() {
                asked if asked.is_empty() => set.repeats.iter().map(|repeat| repeat.number).collect(),
                asked => asked,
            };
            let of = |number: &u32| set.repeats.iter().find(|repeat| repeat.number == *number);
            let mut tempos = repeats.iter().filter_map(of).map(|repeat| repeat.tempo);
            let first = tempos.next();
            let Some(last) = repeats.last().copied() else { return wrong(format!("nobody swims in set {}", at.set)) };
            if tempos.any(|tempo| Some(tempo) != first) {
                let example = format!("{}.{last}=18", at.set);
                return wrong(format!(
                    "the repeats of set {} have tempos of their own: say which, as {example}",
                    at.set
                ));
            }
            AskedSwim { set: at.set, repeat: last }
        }
    };
    let repeat = place::repeat(&outline.practice, swim)?;
    let lengths = repeat.lengths.max(1);
    let by_script = asked().filter(|asked| asked.swim == swim).map(|asked| asked.length).next_back();
    match at.length {
        Some(length) if length > lengths => wrong(format!("{swim} has {}", place::counted(lengths as usize, "length"))),
        Some(length) => Ok(AskedLength { swim, length }),
        None => Ok(AskedLength { swim, length: by_script.unwrap_or(lengths) }),
    }
}

/// Seconds a stroke: `1.10`, `1.10 s`, `52 /min`. A number alone can only be seconds.
fn tempo(text: &str) -> Result<f64, WrongAnswer> {
    let text = text.trim().replace(',', ".");
    if let Ok(seconds) = text.parse::<f64>() {
        if Measure::Tempo.range().contains(&seconds) {
            return Ok(seconds);
        }
        return wrong(format!(
            "a tempo of {text}: {} seconds a stroke is allowed, or write `52 /min`",
            range(Measure::Tempo)
        ));
    }
    quantity::tempo(&text).map(|written| written.tempo.as_f64()).map_err(misread)
}

fn misread(fault: Misread) -> WrongAnswer {
    WrongAnswer(fault.hint.map_or_else(|| fault.message.clone(), |hint| format!("{}; {hint}", fault.message)))
}

/// A time with its place: `4=5:52`, `4.2=58.4`, `4.2.1=28.9` for one length.
///
/// # Errors
/// Where it cannot be read, or the place leaves open which swim was timed.
pub fn time(text: &str, outline: &Outline, source: ValueSource) -> Result<SaidValue, WrongAnswer> {
    let Some((at, value)) = text.split_once('=') else {
        return wrong(format!("`{text}`: write 4=5:52 for the time of set 4, 4.2=58.4 for its second repeat"));
    };
    let at = WrittenPlace::parse(at)?;
    let set = place::set(&outline.practice, at.set)?;
    let asked: Vec<u32> = outline.times.iter().filter(|asked| asked.set == at.set).map(|asked| asked.repeat).collect();
    let number = match (at.repeat, &asked[..], &set.repeats[..]) {
        (Some(number), ..) => number,
        (None, [number], _) => *number,
        (None, _, [one]) => one.number,
        (None, _, repeats) => {
            let number = repeats.len();
            return wrong(format!("set {} has {number} repeats: say which, as {}.{number}={value}", at.set, at.set));
        }
    };
    let swim = AskedSwim { set: at.set, repeat: number };
    let repeat = place::repeat(&outline.practice, swim)?;
    match at.length {
        Some(length) if length > repeat.lengths => {
            wrong(format!("{swim} has {}", place::counted(repeat.lengths as usize, "length")))
        }
        length => time_at(value, swim, length, outline, source),
    }
}

/// The time of a swim that is known: `5:52`, `58.4`, `58.4?`; `no` says that there is none.
///
/// # Errors
/// Where it cannot be read, or nobody swims so fast or so slowly.
pub fn time_at(
    text: &str,
    swim: AskedSwim,
    length: Option<u32>,
    outline: &Outline,
    source: ValueSource,
) -> Result<SaidValue, WrongAnswer> {
    let repeat = place::repeat(&outline.practice, swim)?;
    if is_no(text) {
        return Ok(SaidValue { swim, measure: Measure::Time, length, value: None });
    }
    let (text, source) = guessed(text, source);
    let text = text.replace(',', ".");
    let value = match text.parse::<f64>() {
        Ok(seconds) => seconds,
        Err(_) => {
            let allowed = Seconds::from_secs(1)..=Seconds::from_secs(86_400);
            quantity::duration(&text, "a time", allowed).map_err(misread)?.as_f64()
        }
    };
    let metres = if length.is_some() { repeat.metres / f64::from(repeat.lengths.max(1)) } else { repeat.metres };
    let per_hundred = value / metres * 100.0;
    if !Measure::Time.range().contains(&value) || !PER_HUNDRED.contains(&per_hundred) {
        let clock = |per: f64| Seconds::from_secs(libm::round(per * metres / 100.0) as i64);
        let (least, most) = (clock(*PER_HUNDRED.start()), clock(*PER_HUNDRED.end()));
        return wrong(format!("`{text}` for {metres:.0} m: {least} to {most} is allowed, written as 5:52 or 58.4"));
    }
    Ok(SaidValue { swim, measure: Measure::Time, length, value: Some((value, source)) })
}

/// From where the stroke fell apart: `no`, or places such as `3.5`; `3` is from its first repeat on.
///
/// # Errors
/// Where a place is none of the practice, or a set is named twice.
pub fn apart(text: &str, outline: &Outline) -> Result<Vec<AskedSwim>, WrongAnswer> {
    if is_no(text) {
        return Ok(Vec::new());
    }
    let mut apart: Vec<AskedSwim> = Vec::new();
    for item in items(text) {
        let at = WrittenPlace::parse(&item)?;
        let swim = AskedSwim { set: at.set, repeat: at.repeat.unwrap_or(1) };
        place::repeat(&outline.practice, swim)?;
        if apart.iter().any(|other| other.set == swim.set) {
            return wrong(format!("set {} is named twice: say where it began", swim.set));
        }
        apart.push(swim);
    }
    Ok(apart)
}

/// How good the stroke felt.
///
/// # Errors
/// Where it is not 1 to 5.
pub fn feel(text: &str) -> Result<u8, WrongAnswer> {
    let feel = text.trim().parse().ok().filter(|feel| (1..=5).contains(feel));
    feel.ok_or_else(|| WrongAnswer(format!("feel `{}`: 1 to 5 is allowed", text.trim())))
}

/// Session RPE.
///
/// # Errors
/// Where it is not 0 to 10.
pub fn effort(text: &str) -> Result<u8, WrongAnswer> {
    let effort = text.trim().parse().ok().filter(|effort| (0..=10).contains(effort));
    effort.ok_or_else(|| WrongAnswer(format!("effort `{}`: 0 to 10 is allowed", text.trim())))
}

/// Minutes of the whole practice.
///
/// # Errors
/// Where it is none, or a day and more.
pub fn minutes(text: &str) -> Result<f64, WrongAnswer> {
    let text = text.trim().replace(',', ".");
    let minutes = text.trim_end_matches("min").trim_end().parse().ok().filter(|m: &f64| *m >= 1.0 && *m < 1440.0);
    minutes.ok_or_else(|| WrongAnswer(format!("`{text}` minutes: 1 to 1439 is allowed")))
}

/// Where it hurts; an empty text where it is said that nothing does.
///
/// # Errors
/// Where it is too long.
pub fn pain(text: &str) -> Result<String, WrongAnswer> {
    if is_no(text) { Ok(String::new()) } else { self::text(text) }
}

/// A text in somebody's own words.
///
/// # Errors
/// Where it is too long.
pub fn text(text: &str) -> Result<String, WrongAnswer> {
    let letters = text.chars().count();
    if letters > LONGEST_TEXT {
        return wrong(format!("a text of {letters} letters: at most {LONGEST_TEXT} are kept"));
    }
    Ok(text.trim().to_owned())
}

#[cfg(test)]
mod tests;
