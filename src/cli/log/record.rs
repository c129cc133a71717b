//! A practice of the notebook as JSON, for other programs.

use crate::notebook::KeptPractice;
use crate::notebook::entry::{LoggedPractice, LoggedRepeat, LoggedSet, Observation};
use serde_json::{Value, json};

/// A practice with its number.
pub(super) fn practice((id, practice): &KeptPractice) -> Value {
    let LoggedPractice { swimmer, script, title, day, begun, pool, minutes, said, record, sets } = practice;
    json!({
        "practice": id.number(),
        "swimmer": swimmer,
        "script": script.as_ref().map(|script| &script.name),
        "title": title,
        "day": day.to_string(),
        "begun": begun.map(|begun| begun.to_string()),
        "pool": pool,
        "metres": practice.metres(),
        "minutes": minutes,
        "feel": said.feel,
        "effort": said.effort,
        "load": practice.load(),
        "pain": said.pain,
        "note": said.note,
        "record": record,
        "sets": sets.iter().map(|set| self::set(practice, set)).collect::<Vec<_>>(),
    })
}

fn set(practice: &LoggedPractice, set: &LoggedSet) -> Value {
    let LoggedSet { number, title, apart, repeats } = set;
    let repeats: Vec<Value> = repeats.iter().map(repeat).collect();
    json!({ "set": number, "title": title, "apart": apart, "held": practice.held(set), "repeats": repeats })
}

fn repeat(repeat: &LoggedRepeat) -> Value {
    json!({
        "repeat": repeat.number,
        "round": repeat.round,
        "metres": repeat.metres,
        "lengths": repeat.lengths,
        "swim": repeat.swim,
        "plain_lengths": repeat.plain.to_string(),
        "test": repeat.test,
        "tempo_s": repeat.tempo,
        "predicted_s": repeat.predicted,
        "breaths_left": repeat.breaths.0,
        "breaths_right": repeat.breaths.1,
        "state": repeat.state.word(),
        "observations": repeat.observations.iter().map(observation).collect::<Vec<_>>(),
        "rehearsed": repeat.rehearsed.iter().map(|(phrase, strokes)| json!({ "phrase": phrase, "strokes": strokes })).collect::<Vec<_>>(),
    })
}

fn observation(observed: &Observation) -> Value {
    let Observation { measure, length, value, source } = observed;
    json!({ "measure": measure.word(), "length": length, "value": value, "source": source.word() })
}
