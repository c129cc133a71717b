//! From the tables to practices. Everything that is wrong is found at once.

use super::columns::{COMPARISONS, HELD, NO_PAIN, OBSERVATIONS, PRACTICES, REPEATS, SETS, SWIMMERS};
use super::csv::{CsvRow, CsvTable, WrongCell, number, unguarded};
use super::paths::is_within;
use crate::notebook::entry::{
    Impressions, LoggedPractice, LoggedRepeat, LoggedSet, Measure, NotedSwimmer, Observation, ScriptCopy, SwimState,
    ValueSource, is_name, is_same_name,
};
use crate::notebook::lengths::LengthRuns;
use crate::notebook::{KeptComparison, PhrasePair};
use crate::units::calendar::{Day, TimeOfDay};
use std::collections::{BTreeMap, BTreeSet};

/// Gives the text of a file by its path from the folder.
pub type ReadText<'a> = dyn Fn(&str) -> Result<String, String> + 'a;

/// What tables hold.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Exchanged {
    /// Swimmers with their profiles.
    pub swimmers: Vec<NotedSwimmer>,
    /// Comparisons of phrases.
    pub compared: Vec<KeptComparison>,
    /// Practices, in the order of the rows.
    pub practices: Vec<LoggedPractice>,
}

/// The key of a row: practice, set, repeat.
type Key = (i64, u32, u32);

/// Reads the tables of a folder.
///
/// # Errors
/// All that is wrong in them.
pub fn tables(read: &ReadText<'_>) -> Result<Exchanged, Vec<WrongCell>> {
    let mut wrong = Vec::new();
    let open = |(file, columns): (&str, &[&str])| {
        let lacks = |why| vec![WrongCell { file: file.to_owned(), row: 1, column: None, why }];
        let (newer, wanted): (Vec<&str>, Vec<&str>) = columns.iter().partition(|column| **column == HELD);
        let table = read(file).map_err(lacks);
        let table = table.and_then(|text| CsvTable::read(file, &text, &wanted, |heading| newer.contains(&heading)));
        table.map_err(|found| wrong.extend(found)).ok()
    };
    let [swimmers, compared, practices, sets, repeats, observed] =
        [SWIMMERS, COMPARISONS, PRACTICES, SETS, REPEATS, OBSERVATIONS].map(open);
    let (Some(swimmers), Some(compared), Some(practices), Some(sets), Some(repeats), Some(observed)) =
        (swimmers, compared, practices, sets, repeats, observed)
    else {
        return Err(wrong);
    };
    let swimmers = of_swimmers(&swimmers, read, &mut wrong);
    let compared = of_comparisons(&compared, &mut wrong);
    let mut observations: BTreeMap<Key, Vec<Observation>> = BTreeMap::new();
    let mut places: Vec<(Key, CsvRow<'_>)> = Vec::new();
    for row in observed.rows() {
        let (key, observation) = (key(&row, true, &mut wrong), observation(&row, &mut wrong));
        let (Some(key), Some(observation)) = (key, observation) else { continue };
        observations.entry(key).or_default().push(observation);
        places.push((key, row));
    }
    let mut of_sets: BTreeMap<(i64, u32), Vec<LoggedRepeat>> = BTreeMap::new();
    let mut known = BTreeSet::new();
    let mut of_repeats = Vec::new();
    for row in repeats.rows() {
        let Some(key) = key(&row, true, &mut wrong) else { continue };
        if !known.insert(key) {
            wrong.push(row.wrong(Some("repeat"), "this repeat is there already"));
        }
        let Some(mut repeat) = repeat(&row, key.2, &mut wrong) else { continue };
        repeat.observations = observations.remove(&key).unwrap_or_default();
        of_sets.entry((key.0, key.1)).or_default().push(repeat);
        of_repeats.push((key, row));
    }
    wrong.extend(strays(&places, |key| known.contains(&key), "repeat", "repeats.csv"));
    let mut of_practices: BTreeMap<i64, Vec<LoggedSet>> = BTreeMap::new();
    let mut known = BTreeSet::new();
    let mut set_rows = Vec::new();
    for row in sets.rows() {
        let Some(key) = key(&row, false, &mut wrong) else { continue };
        if !known.insert((key.0, key.1)) {
            wrong.push(row.wrong(Some("set"), "this set is there already"));
        }
        let apart = row.maybe("apart", "the number of a repeat is allowed", &mut wrong, positive);
        let title = unguarded(row.cell("title")).unwrap_or_default();
        let mut repeats = of_sets.remove(&(key.0, key.1)).unwrap_or_default();
        repeats.sort_by_key(|repeat| repeat.number);
        of_practices.entry(key.0).or_default().push(LoggedSet { number: key.1, title, apart, repeats });
        set_rows.push((key, row));
    }
    wrong.extend(strays(&of_repeats, |key| known.contains(&(key.0, key.1)), "set", "sets.csv"));
    let mut known = BTreeSet::new();
    let mut found = Vec::new();
    for row in practices.rows() {
        let Some(id) = row.need("practice", "a number is allowed", &mut wrong, |cell| cell.parse::<i64>().ok()) else {
            continue;
        };
        if !known.insert(id) {
            wrong.push(row.wrong(Some("practice"), "this practice is there already"));
        }
        let mut sets = of_practices.remove(&id).unwrap_or_default();
        sets.sort_by_key(|set| set.number);
        found.extend(practice(&row, sets, read, &mut wrong));
    }
    wrong.extend(strays(&set_rows, |key| known.contains(&key.0), "practice", "practices.csv"));
    if wrong.is_empty() { Ok(Exchanged { swimmers, compared, practices: found }) } else { Err(wrong) }
}

/// Rows whose owner is in no other table.
fn strays(rows: &[(Key, CsvRow<'_>)], known: impl Fn(Key) -> bool, column: &str, table: &str) -> Vec<WrongCell> {
    let strays = rows.iter().filter(|(key, _)| !known(*key));
    strays.map(|(_, row)| row.wrong(Some(column), format!("there is no such {column} in {table}"))).collect()
}

fn yes_or_no(cell: &str) -> Option<bool> {
    match cell.to_lowercase().as_str() {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    }
}

fn positive(cell: &str) -> Option<u32> {
    cell.parse().ok().filter(|number| *number >= 1)
}

fn key(row: &CsvRow<'_>, repeats: bool, wrong: &mut Vec<WrongCell>) -> Option<Key> {
    let practice = row.need("practice", "a number is allowed", wrong, |cell| cell.parse::<i64>().ok());
    let set = row.need("set", "a number from 1 is allowed", wrong, positive);
    let repeat = if repeats { row.need("repeat", "a number from 1 is allowed", wrong, positive) } else { Some(0) };
    Some((practice?, set?, repeat?))
}

fn of_swimmers(table: &CsvTable, read: &ReadText<'_>, wrong: &mut Vec<WrongCell>) -> Vec<NotedSwimmer> {
    let mut swimmers: Vec<NotedSwimmer> = Vec::new();
    for row in table.rows() {
        let Some(name) = name(&row, wrong) else { continue };
        if swimmers.iter().any(|other| other.is_called(&name)) {
            wrong.push(row.wrong(Some("swimmer"), "this swimmer is there already"));
        }
        let profile = file(&row, "profile", read, wrong);
        swimmers.push(NotedSwimmer { name, profile });
    }
    swimmers
}

fn of_comparisons(table: &CsvTable, wrong: &mut Vec<WrongCell>) -> Vec<KeptComparison> {
    let mut compared: Vec<KeptComparison> = Vec::new();
    for row in table.rows() {
        let swimmer = name(&row, wrong);
        let day = "a day such as 2026-11-28 is allowed";
        let begun = row.need("begun", day, wrong, Day::parse);
        let ended = row.maybe("ended", day, wrong, Day::parse);
        let phrase = |column| unguarded(row.cell(column)).filter(|phrase| !phrase.is_empty());
        let (Some(first), Some(second)) = (phrase("phrase"), phrase("other phrase")) else {
            wrong.push(row.wrong(Some("phrase"), "two phrases are needed"));
            continue;
        };
        if first == second {
            wrong.push(row.wrong(Some("other phrase"), "it is the same phrase"));
        }
        let (Some(swimmer), Some(begun)) = (swimmer, begun) else { continue };
        let under_way = |other: &KeptComparison| other.ended.is_none() && is_same_name(&other.swimmer, &swimmer);
        if ended.is_none() && compared.iter().any(under_way) {
            wrong.push(row.wrong(Some("ended"), "another comparison of this swimmer has not ended"));
        }
        compared.push(KeptComparison { swimmer, pair: PhrasePair { first, second, begun }, ended });
    }
    compared
}

fn name(row: &CsvRow<'_>, wrong: &mut Vec<WrongCell>) -> Option<String> {
    let name = unguarded(row.cell("swimmer")).unwrap_or_default();
    if is_name(&name) {
        return Some(name);
    }
    wrong.push(row.wrong(Some("swimmer"), "a name of 1 to 60 letters that can be seen is allowed"));
    None
}

/// The text of the file that a cell names.
fn file(row: &CsvRow<'_>, column: &str, read: &ReadText<'_>, wrong: &mut Vec<WrongCell>) -> Option<String> {
    let path = row.cell(column);
    if path.is_empty() {
        return None;
    }
    let text = if is_within(path) { read(path) } else { Err("it must name a file in this folder".to_owned()) };
    text.map_err(|why| wrong.push(row.wrong(Some(column), format!("`{path}`: {why}")))).ok()
}

fn practice(
    row: &CsvRow<'_>,
    sets: Vec<LoggedSet>,
    read: &ReadText<'_>,
    wrong: &mut Vec<WrongCell>,
) -> Option<LoggedPractice> {
    let before = wrong.len();
    let swimmer = name(row, wrong);
    let day = row.need("day", "a day such as 2026-11-28 is allowed", wrong, Day::parse);
    let time =
        |cell: &str| TimeOfDay::parse(cell.strip_suffix(":00").filter(|cell| cell.contains(':')).unwrap_or(cell));
    let begun = row.maybe("begun", "a time such as 18:05 is allowed", wrong, time);
    let minutes = row.maybe("minutes", "more than 0 and less than 1440 is allowed", wrong, |cell| {
        number(cell).filter(|minutes| *minutes > 0.0 && *minutes < 1440.0)
    });
    let within = |most: u8, least: u8| move |cell: &str| cell.parse().ok().filter(|n: &u8| (least..=most).contains(n));
    let feel = row.maybe("feel", "1 to 5 is allowed", wrong, within(5, 1));
    let effort = row.maybe("effort", "0 to 10 is allowed", wrong, within(10, 0));
    let pain = match row.cell("pain") {
        cell if cell.eq_ignore_ascii_case(NO_PAIN) => Some(String::new()),
        cell => unguarded(cell),
    };
    let pool = unguarded(row.cell("pool"));
    if pool.is_none() {
        wrong.push(row.wrong(Some("pool"), "it is empty: 25 m, 50 m, 25 yd or open water is allowed"));
    }
    let text = file(row, "script", read, wrong);
    let called = unguarded(row.cell("script name"));
    if text.is_some() && called.is_none() {
        wrong.push(row.wrong(Some("script name"), "it is empty: what the script was called is allowed"));
    }
    let hexadecimal =
        |cell: &str| (cell.len() == 64 && cell.bytes().all(|c| c.is_ascii_hexdigit())).then(|| cell.to_owned());
    let held = row.maybe(HELD, "yes or no is allowed", wrong, yes_or_no).unwrap_or(false);
    if held && sets.iter().any(|set| set.apart.is_some()) {
        wrong.push(row.wrong(Some(HELD), "`yes`, and a set of it fell apart: one of the two is wrong"));
    }
    let record = row.maybe("record", "64 hexadecimal digits are allowed", wrong, hexadecimal);
    if wrong.len() > before {
        return None;
    }
    Some(LoggedPractice {
        swimmer: swimmer?,
        script: text.zip(called).map(|(text, name)| ScriptCopy { name, text }),
        title: unguarded(row.cell("title")).unwrap_or_default(),
        day: day?,
        begun,
        pool: pool?,
        minutes,
        said: Impressions { feel, effort, pain, note: unguarded(row.cell("note")), held },
        record,
        sets,
    })
}

fn repeat(row: &CsvRow<'_>, repeat: u32, wrong: &mut Vec<WrongCell>) -> Option<LoggedRepeat> {
    let whole = |cell: &str| cell.parse::<u32>().ok();
    let above_0 = |cell: &str| number(cell).filter(|number| *number > 0.0);
    let round = row.need("round", "a number from 1 is allowed", wrong, positive);
    let metres = row.need("metres", "a number above 0 is allowed", wrong, above_0);
    let lengths = row.need("lengths", "a whole number is allowed, 0 in open water", wrong, whole);
    let runs = |cell: &str| LengthRuns::parse(&cell.replace(" to ", "-"));
    let plain = row.maybe("plain lengths", "such as `1 to 4, 6` is allowed", wrong, runs);
    let test = row.need("test", "yes or no is allowed", wrong, yes_or_no);
    let tempo = row.maybe("tempo s", "0.4 to 2.5 seconds a stroke is allowed", wrong, |cell| {
        number(cell).filter(|tempo| Measure::Tempo.range().contains(tempo))
    });
    let predicted = row.maybe("predicted s", "seconds above 0 are allowed", wrong, above_0);
    let left = row.need("breaths left", "a whole number is allowed", wrong, whole);
    let right = row.need("breaths right", "a whole number is allowed", wrong, whole);
    let states = format!("{} is allowed", words(SwimState::ALL));
    let state = row.need("state", &states, wrong, SwimState::of);
    let phrases = |cell: &str| {
        let cell = unguarded(cell)?;
        let one = |item: &str| {
            let (phrase, strokes) = item.trim().rsplit_once(' ')?;
            Some((phrase.to_owned(), strokes.parse().ok()?))
        };
        cell.split(';').map(one).collect::<Option<Vec<(String, u32)>>>()
    };
    let rehearsed = row.maybe("rehearsed", "such as `reach-forward 20; head-still 18` is allowed", wrong, phrases);
    Some(LoggedRepeat {
        number: repeat,
        round: round?,
        metres: metres?,
        lengths: lengths?,
        swim: unguarded(row.cell("swim")).unwrap_or_default(),
        plain: plain.unwrap_or_default(),
        test: test?,
        tempo,
        predicted,
        breaths: (left?, right?),
        state: state?,
        observations: Vec::new(),
        rehearsed: rehearsed.unwrap_or_default(),
    })
}

fn words<T: ToString>(all: &[T]) -> String {
    all.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

fn observation(row: &CsvRow<'_>, wrong: &mut Vec<WrongCell>) -> Option<Observation> {
    let measures = format!("{} is allowed", words(Measure::ALL));
    let measure = row.need("measure", &measures, wrong, Measure::of);
    let sources = format!("{} is allowed", words(ValueSource::ALL));
    let source = row.need("source", &sources, wrong, ValueSource::of);
    let length = row.maybe("length", "a number from 1 is allowed", wrong, positive);
    let range = measure?.range();
    let allowed = format!("{} to {} is allowed", range.start(), range.end());
    let value = row.need("value", &allowed, wrong, |cell| number(cell).filter(|value| range.contains(value)));
    Some(Observation { measure: measure?, length, value: value?, source: source? })
}
