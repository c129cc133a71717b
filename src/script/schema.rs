//! The script language as a JSON Schema (draft 2020-12), for editors that complete and check YAML while it is written.
//!
//! The words come from the tables that the parser reads; the keys of each map are held against the parser's by a test.
//! A schema sees shapes and spellings only. Ranges, names, times and what fits together are the job of `check`, and so
//! are spellings that it reads out of kindness, such as capital letters.

use crate::script::lane::{Circle, LaneOrder};
use crate::script::{BodyPart, CountOn, Effort, Gear, OpeningTalk, PaceBase, PaceMarks, Phase, Stroke, Test, Timbre};
use serde_json::{Map, Value, json};

const NUMBER: &str = "[0-9]+([.,][0-9]+)?";
const DISTANCE: &str = "[0-9]+ *(m|metres?|meters?|yd|yds|yards?|y)";
const TIME: &str = "([0-9]+(:[0-9]{2}){1,2}([.,][0-9]+)?( *mins?)?\
                    |[0-9]+([.,][0-9]+)? *(h|hours?|mins?|minutes?|s|secs?|seconds?|ms)( *[0-9]+([.,][0-9]+)? *(mins?|minutes?|s|secs?|seconds?|ms))*)";

/// The schema as a text, ready to be written to a file.
pub fn schema() -> String {
    let mut text = format!("{:#}", value());
    text.push('\n');
    text
}

/// A text as a whole, of parts that are regular expressions.
fn pattern(parts: &[&str], example: &str) -> Value {
    json!({ "type": "string", "pattern": format!("^ *({}) *$", parts.concat()), "examples": [example] })
}

/// One of the words of a table.
fn words<T>(table: &[(&'static str, T)]) -> Value {
    json!({ "enum": table.iter().map(|(word, _)| *word).collect::<Vec<_>>() })
}

/// The same value with a sentence that editors show.
fn told(mut value: Value, about: &str) -> Value {
    if let Some(map) = value.as_object_mut() {
        map.insert("description".into(), about.into());
    }
    value
}

/// A map with these keys and no other.
fn map(required: &[&str], properties: Vec<(&str, Value)>) -> Value {
    let properties: Map<String, Value> = properties.into_iter().map(|(key, value)| (key.to_owned(), value)).collect();
    json!({ "type": "object", "additionalProperties": false, "required": required, "properties": properties })
}

fn list(items: &Value) -> Value {
    json!({ "type": "array", "minItems": 1, "items": items })
}

fn any(of: &[Value]) -> Value {
    json!({ "anyOf": of })
}

fn refer(name: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{name}") })
}

fn id() -> Value {
    json!({ "type": "string", "pattern": "^[\\p{L}\\p{N}_-]+$", "maxLength": 64 })
}

fn title() -> Value {
    json!({ "type": ["string", "number", "boolean"], "maxLength": 120 })
}

/// A count whose key says what is counted: a number, or a text such as `19 strokes`.
fn strokes(least: u32, most: u32) -> Value {
    let text = pattern(&["(every )? *[0-9]+( *strokes?)?"], "19 strokes");
    any(&[json!({ "type": "integer", "minimum": least, "maximum": most }), text])
}

fn value() -> Value {
    let time = pattern(&[TIME], "1:30");
    let level = |unit| pattern(&["[-+−–]? *", NUMBER, " *", unit], "-6 dB");
    let pool = any(&[json!({ "const": "open water" }), pattern(&[DISTANCE], "25 m")]);
    let settings = map(
        &[],
        vec![
            ("countdown", told(time.clone(), "Pips once a second before the go: 3 s to 10 s. Default 3 s.")),
            ("voice", told(level("[Ll][Uu][Ff][Ss]"), "Loudness of the voice, -40 to -8 LUFS. Default -16 LUFS.")),
            ("beats", told(level("[dD][bB]"), "Beats against the voice, -40 to 12 dB. Default -6 dB.")),
            ("ducking", told(level("[dD][bB]"), "How far beats step back under the voice, 0 to 40 dB. Default 12 dB.")),
            ("gear-change", told(time.clone(), "Time added where the gear changes, 0 s to 5:00. Default 30 s.")),
            (
                "seed",
                json!({ "type": "integer", "minimum": 0, "description": "Another number shuffles another way. Default 1." }),
            ),
            (
                "opening",
                told(words(&OpeningTalk::ALL), "`short`: the words of care alone, for those who know the rest."),
            ),
        ],
    );
    let say = map(&["say"], vec![("say", told(id(), "A text of the pack, spoken between sets."))]);
    let rest = map(&["rest"], vec![("rest", told(time.clone(), "Standing, at least so long: 1 s to an hour."))]);
    let script = map(
        &["lengthwise", "title", "pool", "practice"],
        vec![
            ("lengthwise", json!({ "const": 1, "description": "The version of the language; the first key." })),
            ("title", told(title(), "What the practice is called.")),
            ("pool", told(pool, "The length of the pool, 10 to 100 m or yd, or `open water`.")),
            ("pack", told(id(), "Whose phrases, drills and beats are used; default: the pack the script lies in.")),
            ("settings", told(settings, "How it sounds.")),
            (
                "beats",
                json!({ "type": "object", "additionalProperties": refer("beat-track"), "propertyNames": { "not": { "const": "none" } },
                              "description": "Beat tracks of this script, by name." }),
            ),
            ("lane", told(refer("lane"), "Who shares a lane.")),
            ("practice", told(list(&any(&[refer("set"), say, rest])), "What is swum and said, in order.")),
        ],
    );
    let mut schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Lengthwise cue script",
        "description": "A swim practice to be compiled into sound. Ranges, names and times are judged by `lengthwise check`.",
        "$defs": {
            "set": set(),
            "swim": swim(),
            "length": length(),
            "tempo": range(&tempo()),
            "pace": range(&pace()),
            "focus": focus(),
            "beat-track": beat_track(),
            "lane": lane(),
            "regroup": regroup(),
        },
    });
    if let (Some(schema), Value::Object(script)) = (schema.as_object_mut(), script) {
        schema.extend(script);
    }
    schema
}

/// What follows a base of the swimmer's own.
const OFFSET: &str = "( *[-+−–] *";

fn tempo() -> Value {
    let fixed = pattern(&[NUMBER, " *(s|secs?|seconds?|ms|spm|(strokes? *)?(/|per|a) *min(ute)?)"], "1.30 s");
    any(&[fixed, pattern(&["usual", OFFSET, TIME, ")?"], "usual - 0.05 s")])
}

fn pace() -> Value {
    let fixed = pattern(&[TIME, "( *(/|per) *100)?"], "2:05");
    let words = PaceBase::ALL.map(|(word, _)| word).join("|");
    any(&[fixed, pattern(&["(", &words, ")", OFFSET, TIME, ")?"], "brisk + 2 s")])
}

fn target() -> Value {
    any(&[strokes(4, 200), pattern(&["predicted", OFFSET, "[0-9]+( *strokes?)?)?"], "predicted + 1")])
}

/// One value, a list of them, or a range.
fn range(one: &Value) -> Value {
    let steps = vec![("from", one.clone()), ("to", one.clone()), ("step", one.clone())];
    any(&[one.clone(), list(one), map(&["from", "to"], steps)])
}

fn focus() -> Value {
    let phrases = any(&[id(), list(&id())]);
    let change =
        any(&[json!({ "enum": ["length", "repeat", "round", "set"] }), pattern(&["[0-9]+ *strokes?"], "12 strokes")]);
    let order = json!({ "enum": ["in turn", "blocked", "shuffled"] });
    let whole = map(&["phrases"], vec![("phrases", phrases.clone()), ("change", change), ("order", order)]);
    any(&[phrases, whole])
}

fn sound_keys() -> Vec<(&'static str, Value)> {
    vec![
        ("sound", words(&Timbre::ALL)),
        ("pitch", told(pattern(&["[0-9]+ *[hH][zZ]"], "850 Hz"), "200 to 4000 Hz.")),
        ("length", told(pattern(&[TIME], "60 ms"), "20 to 200 ms.")),
        ("level", told(pattern(&["[-+−–]? *", NUMBER, " *[dD][bB]"], "-3 dB"), "-40 to 6 dB.")),
    ]
}

fn beat_track() -> Value {
    let mut accent = sound_keys();
    accent.push(("every", told(strokes(2, 16), "Each so many strokes of a length, 2 to 16.")));
    let mut keys = sound_keys();
    keys.push(("every", told(pattern(&["stroke|[0-9]+ *strokes?"], "2 strokes"), "`stroke`, or up to `8 strokes`.")));
    keys.push(("accent", map(&["every"], accent)));
    map(&["sound"], keys)
}

fn length() -> Value {
    let keys = vec![
        ("drill", id()),
        ("focus", id()),
        ("part", words(&BodyPart::ALL)),
        ("stroke", words(&Stroke::ALL)),
        ("effort", words(&Effort::ALL)),
    ];
    let mut length = map(&[], keys);
    if let Some(length) = length.as_object_mut() {
        length.insert("minProperties".into(), 1.into());
    }
    length
}

/// What a lane says of itself.
fn lane_keys() -> Vec<(&'static str, Value)> {
    vec![
        ("gap", told(pattern(&[TIME], "5 s"), "From one swimmer's go to the next one's, 3 s to 1:00. Default 5 s.")),
        ("order", told(words(&LaneOrder::ALL), "Who leaves first. Default `fastest first`.")),
        ("circle", told(words(&Circle::ALL), "Which way round, from above. Default `anticlockwise`.")),
    ]
}

fn regroup() -> Value {
    let every = told(pattern(&["[0-9]+ *repeats?"], "4 repeats"), "After how many repeats, 2 to 100.");
    let pause = told(pattern(&[TIME], "45 s"), "How much longer it stands, 10 s to 5:00.");
    map(&["every", "for"], vec![("every", every), ("for", pause)])
}

fn lane() -> Value {
    let name = json!({ "type": ["string", "number"], "maxLength": 20 });
    let shift = pattern(&[TIME, " *(more|less) *per *100"], "10 s more per 100");
    let mut entry = lane_keys();
    entry.push(("lane", told(name.clone(), "What the lane is called.")));
    entry.push(("send-off", told(shift, "How its send-offs differ from the script's.")));
    let tempo = pattern(&[NUMBER, " *(s|secs?|seconds?|ms|spm|(strokes? *)?(/|per|a) *min(ute)?)"], "1.30 s");
    let point = vec![
        ("count", json!({ "type": "integer", "minimum": 4, "maximum": 200 })),
        ("time", pattern(&[TIME], "27.5 s")),
        ("tempo", tempo.clone()),
    ];
    let hundred = pattern(&[TIME, "( *(/|per) *100)?"], "1:50");
    let efforts = Effort::ALL.iter().map(|(word, _)| (*word, hundred.clone())).collect();
    let text = json!({ "type": ["string", "number"], "maxLength": 1000 });
    let swimmer = vec![
        ("name", told(json!({ "type": ["string", "number"], "maxLength": 60 }), "Who it is.")),
        ("lane", told(name, "In which of several lanes.")),
        ("swims", told(pattern(&["[0-9]+ *of *[0-9]+"], "3 of 4"), "Of so many repeats the last ones are left out.")),
        ("distance", told(pattern(&["[0-9]+ */ *[0-9]+"], "3/4"), "A part of each repeat.")),
        ("profile", told(text.clone(), "A file with their profile.")),
        ("hundred", told(hundred.clone(), "The steady time of 100.")),
        ("stroke", told(list(&map(&["count"], point)), "Strokes of a length, one point or two.")),
        ("pace", told(map(&[], efforts), "Paces of efforts.")),
        ("pool", pattern(&[DISTANCE], "25 m")),
        ("usual", tempo),
        ("critical", hundred.clone()),
        ("drill", hundred.clone()),
        ("kick", hundred),
        ("wall", pattern(&[TIME], "3.5 s")),
        ("glide", pattern(&[DISTANCE], "4 m")),
        ("side", json!({ "enum": ["left", "right"] })),
        ("player", map(&["loudest"], vec![("loudest", pattern(&[NUMBER, " *[dD][bB]( *\\(?[aA]\\)?)?"], "94 dBA"))])),
        ("voice", text),
        ("focus", any(&[id(), list(&id())])),
    ];
    let mut keys = lane_keys();
    keys.push(("regroup", told(refer("regroup"), "After so many repeats of a set all stand longer.")));
    keys.push(("lanes", told(list(&map(&["lane"], entry)), "Where there are several, what each of them says.")));
    keys.push(("swimmers", told(list(&map(&["name"], swimmer)), "Who swims; at most 8 in a lane.")));
    map(&["swimmers"], keys)
}

/// The keys that a swim has, and a set too.
fn swim_keys() -> Vec<(&'static str, Value)> {
    let times = "([0-9]+ *[xX×*] *)?";
    let unit = " *(m|metres?|meters?|yd|yds|yards?|y)";
    let entries = format!("\\[ *[0-9]+({unit})?( *, *[0-9]+({unit})?)* *\\]({unit})?");
    let swum = ["((", times, "(", DISTANCE, "|", TIME, "))|", &entries, ")( *on +", TIME, ")?"];
    let swim = any(&[pattern(&swum, "4 x 50 m on 1:30"), list(&pattern(&[DISTANCE], "50 m"))]);
    let laps = json!({ "type": "integer", "minimum": 1, "maximum": 100 });
    let course = map(&["lap"], vec![("lap", pattern(&[DISTANCE], "380 m")), ("laps", laps)]);
    let rest = pattern(&[TIME, "( *(/|per|for) *(every |each )? *", DISTANCE, ")?"], "15 s");
    let every = |example| pattern(&["every +[0-9]+( *strokes?)?"], example);
    let breaths = pattern(&["every +[0-9]+( *strokes?)?( +(right|left))?|by +length|by +repeat"], "every 3");
    let sides = map(&["right", "left"], vec![("right", strokes(2, 400)), ("left", strokes(2, 400))]);
    let worn = words(&Gear::ALL);
    let call = any(&[every("every 100 strokes"), json!({ "enum": ["lengths", "each repeat"] })]);
    let gear = any(&[
        worn.clone(),
        json!({ "const": "none" }),
        json!({ "type": "array", "uniqueItems": true, "items": worn }),
    ]);
    vec![
        (
            "swim",
            told(
                swim,
                "How many and how far: `4 x 50 m`, `4 x 50 m on 1:30`, `[50 m, 100 m]`; in open water also a time.",
            ),
        ),
        ("course", told(course, "Laps around marks in open water.")),
        ("for", told(pattern(&[TIME], "8 min"), "As many repeats of one distance as end within so long.")),
        ("send-off", told(pattern(&[TIME], "1:30"), "From one start to the next; the same as `on 1:30`.")),
        (
            "rest",
            told(rest, "From the touch to the next start: `15 s`, `10 s per 50 m`; `0 s` swims on without a stop."),
        ),
        ("lengths", told(list(&refer("length")), "What each length of a repeat is, in turn.")),
        ("pace", told(refer("pace"), "Time per 100 of the pool's unit: a value, a list or a range.")),
        ("tempo", told(refer("tempo"), "Seconds a stroke or strokes a minute: a value, a list or a range.")),
        ("effort", words(&Effort::ALL)),
        ("drill", told(id(), "A drill of the pack.")),
        ("focus", told(refer("focus"), "What the swimmer attends to.")),
        ("breathe", told(any(&[breaths, sides]), "Marks for breathing; breathe whenever you need to.")),
        ("beats", told(id(), "A beat track, or `none`.")),
        (
            "second-half",
            told(pattern(&[TIME, " *(faster|slower)"], "2 s faster"), "How the second half of a repeat differs."),
        ),
        ("part", words(&BodyPart::ALL)),
        ("stroke", words(&Stroke::ALL)),
        ("gear", told(gear, "What is worn; `none` takes off what the set wears.")),
        ("strokes", told(map(&["at-most"], vec![("at-most", target())]), "A target to hold in each length; spoken.")),
        ("count", told(words(&CountOn::ALL), "Which lengths the swimmer is asked to count.")),
        ("test", told(words(&Test::ALL), "A measured swim: nothing is heard while it is swum.")),
        ("sight", told(every("every 8 strokes"), "A mark to look ahead, every 4 to 100 strokes.")),
        (
            "call",
            told(
                any(&[call.clone(), list(&call)]),
                "The stroke count is spoken, every 20 to 1000 strokes; the lengths left; which repeat it is. One, or a list.",
            ),
        ),
        (
            "remind",
            told(
                any(&[
                    pattern(&["every +[0-9]+ *lengths?"], "every 4 lengths"),
                    pattern(&[&format!("every +{TIME}")], "every 90 s"),
                    json!({ "const": "never" }),
                ]),
                "A focus that does not change is said again: in a pool every 1 to 100 lengths, in open water every 30 s to 10 min. \
                 Default every 4 lengths, every 90 s.",
            ),
        ),
        ("marks", told(words(&PaceMarks::ALL), "A soft tone when each wall of a swim with a pace is due; or `none`.")),
        ("end", told(json!({ "enum": ["far", "near"] }), "At which end of the pool a repeat may end.")),
    ]
}

/// A map with `required`, exactly one of some keys, and no two keys that exclude each other.
fn one_of(mut map: Value, keys: &[&str]) -> Value {
    if let Some(map) = map.as_object_mut() {
        let one: Vec<_> = keys.iter().map(|key| json!({ "required": [key] })).collect();
        map.insert("oneOf".into(), one.into());
        map.insert("not".into(), json!({ "required": ["rest", "send-off"] }));
    }
    map
}

fn swim() -> Value {
    one_of(map(&[], swim_keys()), &["swim", "course"])
}

fn set() -> Value {
    let mut keys = vec![
        ("set", told(title(), "The title; spoken where the pack has it recorded.")),
        ("phase", words(&Phase::ALL)),
        (
            "rounds",
            json!({ "type": "integer", "minimum": 1, "maximum": 100, "description": "How often the list is swum." }),
        ),
        ("between-rounds", told(pattern(&[TIME], "1:00"), "The rest between rounds.")),
        ("regroup", told(refer("regroup"), "In a lane: after so many repeats it stands longer.")),
        ("do", told(list(&refer("swim")), "The swims of one round; keys of the set are their defaults.")),
    ];
    keys.extend(swim_keys());
    one_of(map(&["set"], keys), &["swim", "course", "do"])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reference_is_defined() {
        let (schema, text) = (value(), schema());
        let names: Vec<_> = text.split("#/$defs/").skip(1).filter_map(|rest| rest.split('"').next()).collect();
        assert!(names.len() >= 6, "{names:?}");
        for name in names {
            assert!(schema["$defs"][name].is_object(), "{name}");
        }
    }
}
