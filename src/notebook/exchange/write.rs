//! From the notebook to the tables.

use super::columns::{COMPARISONS, NO_PAIN, OBSERVATIONS, PRACTICES, REPEATS, SETS, SWIMMERS};
use super::csv::{guarded, write_row};
use super::paths::plain;
use crate::notebook::entry::{LoggedPractice, LoggedRepeat, NotedSwimmer};
use crate::notebook::hash::sha256;
use crate::notebook::{KeptComparison, KeptPractice};
use std::collections::BTreeMap;

/// A file to be written: its path from the folder, and its text.
pub type TextFile = (String, String);

/// Everything of a notebook.
pub fn tables(practices: &[KeptPractice], swimmers: &[NotedSwimmer], compared: &[KeptComparison]) -> Vec<TextFile> {
    let begin = |(_, columns): (&str, &[&str])| {
        let mut table = String::new();
        write_row(&mut table, columns);
        table
    };
    let [mut of_swimmers, mut comparisons, mut of_practices, mut of_sets, mut of_repeats, mut observations] =
        [SWIMMERS, COMPARISONS, PRACTICES, SETS, REPEATS, OBSERVATIONS].map(begin);
    let mut files: BTreeMap<String, String> = BTreeMap::new();
    for (index, swimmer) in swimmers.iter().enumerate() {
        let path = swimmer.profile.as_ref().map(|profile| {
            let path = format!("profiles/{}-{}.yaml", index + 1, plain(&swimmer.name));
            files.insert(path.clone(), profile.clone());
            path
        });
        write_row(&mut of_swimmers, &[guarded(Some(&swimmer.name)), path.unwrap_or_default()]);
    }
    for KeptComparison { swimmer, pair, ended } in compared {
        let cells = [
            guarded(Some(swimmer)),
            guarded(Some(&pair.first)),
            guarded(Some(&pair.second)),
            pair.begun.to_string(),
            some(*ended),
        ];
        write_row(&mut comparisons, &cells);
    }
    for (id, practice) in practices {
        let id = id.number().to_string();
        let script = practice.script.as_ref().map(|script| {
            let hash = sha256(script.text.as_bytes());
            let path = format!("scripts/{}-{}.yaml", plain(&script.name), hash.get(..16).unwrap_or_default());
            files.insert(path.clone(), script.text.clone());
            (path, script.name.as_str())
        });
        write_row(&mut of_practices, &row(&id, practice, script));
        for set in &practice.sets {
            let number = set.number.to_string();
            let apart = some(set.apart);
            write_row(&mut of_sets, &[id.clone(), number.clone(), guarded(Some(&set.title)), apart]);
            for repeat in &set.repeats {
                write_row(&mut of_repeats, &of_repeat(&id, &number, repeat));
                for observed in &repeat.observations {
                    let cells = [
                        id.clone(),
                        number.clone(),
                        repeat.number.to_string(),
                        some(observed.length),
                        observed.measure.to_string(),
                        observed.value.to_string(),
                        observed.source.to_string(),
                    ];
                    write_row(&mut observations, &cells);
                }
            }
        }
    }
    let tables = [
        (SWIMMERS.0, of_swimmers),
        (COMPARISONS.0, comparisons),
        (PRACTICES.0, of_practices),
        (SETS.0, of_sets),
        (REPEATS.0, of_repeats),
        (OBSERVATIONS.0, observations),
    ];
    tables.into_iter().map(|(name, text)| (name.to_owned(), text)).chain(files).collect()
}

fn some<T: ToString>(value: Option<T>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

fn row(id: &str, practice: &LoggedPractice, script: Option<(String, &str)>) -> [String; 15] {
    let said = &practice.said;
    let pain = match said.pain.as_deref() {
        Some("") => NO_PAIN.to_owned(),
        // Somebody's own word is told from ours.
        Some(word) if word.eq_ignore_ascii_case(NO_PAIN) => format!("'{word}"),
        other => guarded(other),
    };
    let (path, name) = script.map_or((String::new(), None), |(path, name)| (path, Some(name)));
    [
        id.to_owned(),
        guarded(Some(&practice.swimmer)),
        practice.day.to_string(),
        some(practice.begun),
        guarded(Some(&practice.title)),
        guarded(Some(&practice.pool)),
        some(practice.minutes),
        some(said.feel),
        some(said.effort),
        pain,
        guarded(said.note.as_deref()),
        path,
        guarded(name),
        guarded(practice.record.as_deref()),
        if said.held { "yes" } else { "" }.to_owned(),
    ]
}

fn of_repeat(id: &str, set: &str, repeat: &LoggedRepeat) -> [String; 15] {
    let rehearsed: Vec<String> =
        repeat.rehearsed.iter().map(|(phrase, strokes)| format!("{phrase} {strokes}")).collect();
    [
        id.to_owned(),
        set.to_owned(),
        repeat.number.to_string(),
        repeat.round.to_string(),
        repeat.metres.to_string(),
        repeat.lengths.to_string(),
        guarded(Some(&repeat.swim)),
        // `1-4` would become the first of April.
        repeat.plain.to_string().replace('-', " to "),
        if repeat.test { "yes" } else { "no" }.to_owned(),
        some(repeat.tempo),
        some(repeat.predicted),
        repeat.breaths.0.to_string(),
        repeat.breaths.1.to_string(),
        repeat.state.to_string(),
        guarded(Some(rehearsed.join("; ").as_str()).filter(|list| !list.is_empty())),
    ]
}
