//! From text to a [`Script`], with every problem of the text in one run.
//!
//! Nothing is looked up and no value is checked against another set, the pool or a swimmer: that is the job
//! of `practice`. A script is given back only where no error was found.

mod beats;
mod focus;
mod lengths;
mod manner;
mod progression;
mod regroup;
mod set;
mod swim;
mod water;

pub use beats::parse_beat_track;
pub use focus::parse_phrases;
pub use regroup::parse_regroup;

use crate::diag::{Code, Diagnostic, SourceId, Sources, Span, Spanned, has_errors};
use crate::script::quantity::{self, Misread, count, level, rest, time};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::{self, Node};
use crate::script::{OpeningTalk, Script, Settings, WrittenItem};
use crate::units::time::Seconds;
use set::{LONGEST_TITLE, MOST_SWIMS};

const SCRIPT_KEYS: &[&str] = &["lengthwise", "title", "pool", "pack", "settings", "beats", "lane", "practice"];
const SETTINGS_KEYS: &[&str] = &["countdown", "voice", "beats", "ducking", "gear-change", "seed", "opening"];
/// The version of the script language that is read.
const VERSION: u64 = 1;
/// Reads a cue script. The problems are those of the whole text, in the order of their places; the script is absent
/// exactly where an error is among them.
pub fn parse(source: SourceId, sources: &Sources) -> (Option<Script>, Vec<Diagnostic>) {
    let (script, problems) = parse_partly(source, sources);
    (script.filter(|_| !has_errors(&problems)), problems)
}

/// The same, but what could be read is given back in spite of errors: names in it can be looked up, so that all problems
/// of a file come in one run. What could not be read is simply not there.
pub fn parse_partly(source: SourceId, sources: &Sources) -> (Option<Script>, Vec<Diagnostic>) {
    let (root, mut problems) = yaml::read(source, sources.text(source));
    let script = match &root {
        Some(root) => script(root, &mut problems),
        None => {
            if problems.is_empty() {
                let start = Span::new(source, 0, 0);
                let empty = Diagnostic::at(Code::Empty, start, "the script is empty");
                problems.push(empty.hint("it begins with `lengthwise: 1`, `title:`, `pool:` and `practice:`"));
            }
            None
        }
    };
    settle(&mut problems);
    (script, problems)
}

/// Sorts by place and drops what an alias made appear twice, and what was found inside a place that is no YAML anyway.
pub fn settle(problems: &mut Problems) {
    let spans = problems.iter().filter(|problem| problem.code == Code::Yaml).filter_map(|problem| problem.span);
    let broken: Vec<Span> = spans.collect();
    let inside = |span: Span| broken.iter().any(|whole| whole.holds(span) && *whole != span);
    problems.retain(|problem| !problem.span.is_some_and(inside));
    problems.sort_by(|a, b| {
        let place = |problem: &Diagnostic| (problem.span.is_none(), problem.span, problem.code);
        place(a).cmp(&place(b)).then_with(|| a.message.cmp(&b.message))
    });
    problems.dedup();
}

fn script(root: &Node, problems: &mut Problems) -> Option<Script> {
    tree::pairs(root, "the script", problems)?;
    let before = problems.len();
    let fields = Fields::of(root, "the script", SCRIPT_KEYS, problems)?;
    if let Err(problem) = version(&fields, "lengthwise", VERSION) {
        let other = fields.get("lengthwise").is_some() && fields.first().is_some_and(|key| key.value == "lengthwise");
        if other {
            // Written for another version: its keys may all be right there, so nothing else is judged.
            problems.truncate(before);
        }
        problems.push(problem);
        if other {
            return None;
        }
    }
    let title = fields.require("title", "title: Easy hundreds", problems);
    let title = title.and_then(|node| tree::text(node, "title", LONGEST_TITLE, problems));
    let pool = fields.require("pool", "pool: 25 m", problems);
    let pool = pool.and_then(|node| tree::read(node, "pool", quantity::swim::water, problems));
    let pack = fields.get("pack").and_then(|node| tree::id(node, "pack", problems));
    let settings = fields.get("settings").map_or_else(Settings::default, |node| settings(node, problems));
    let beats = fields.get("beats").map_or_else(Vec::new, |node| beats::parse_beat_tracks(node, problems));
    let practice = fields.require("practice", "practice: [{ set: Easy start, swim: 4 x 50 m, rest: 15 s }]", problems);
    let practice = practice.map(|node| items(node, problems));
    let title = title.unwrap_or_else(|| Spanned::new(String::new(), fields.span));
    let script =
        Script { title, water: pool?, pack, settings, beats, lane: fields.get("lane").cloned(), practice: practice? };
    water::check_water(&script, problems);
    Some(script)
}

/// Checks the key that says which version of the format a text is in. It stands first.
///
/// # Errors
/// The diagnostic, where the key is missing, not first, or names another version than `wanted`.
pub fn version(fields: &Fields<'_>, key: &str, wanted: u64) -> Result<(), Diagnostic> {
    let hint = format!("begin the file with `{key}: {wanted}`");
    let first = fields.first().map_or(fields.span, |first| first.span);
    let Some(node) = fields.get(key) else {
        return Err(Diagnostic::at(Code::Version, first, format!("the first key must be `{key}: {wanted}`")).hint(hint));
    };
    let mut faults = Problems::new();
    let found = tree::read(node, key, |text| count::whole(text, "the version", 0..=u64::MAX), &mut faults);
    match found {
        Some(found) if found.value == wanted => match fields.key(key) {
            Some(span) if span != first => {
                let message = format!("`{key}: {wanted}` must be the first key");
                Err(Diagnostic::at(Code::Version, span, message).hint("move it to the top"))
            }
            _ => Ok(()),
        },
        Some(found) => {
            let message = format!("written for version {}; this program reads version {wanted}", found.value);
            let newer = found.value > wanted;
            Err(Diagnostic::at(Code::Version, node.span, message).hint(if newer {
                "a newer version of the program reads it".to_owned()
            } else {
                hint
            }))
        }
        None => {
            Err(Diagnostic::at(Code::Version, node.span, format!("the first key must be `{key}: {wanted}`")).hint(hint))
        }
    }
}

fn settings(node: &Node, problems: &mut Problems) -> Settings {
    let mut settings = Settings::default();
    let Some(fields) = Fields::of(node, "the map of settings", SETTINGS_KEYS, problems) else { return settings };
    if let Some(found) = fields.read("countdown", countdown, problems) {
        settings.countdown = found.value;
    }
    if let Some(found) = fields.read("voice", |text| level::lufs(text, "the voice", -40.0..=-8.0), problems) {
        settings.voice = found.value;
    }
    if let Some(found) = fields.read("beats", |text| level::decibels(text, "the beats", -40.0..=12.0), problems) {
        settings.beats = found.value;
    }
    if let Some(found) = fields.read("ducking", |text| level::decibels(text, "the ducking", 0.0..=40.0), problems) {
        settings.ducking = found.value;
    }
    let gear_changes = Seconds::ZERO..=Seconds::from_secs(300);
    let gear_change = |text: &str| time::duration(text, "a change of gear", gear_changes.clone());
    if let Some(found) = fields.read("gear-change", gear_change, problems) {
        settings.gear_change = found.value;
    }
    if let Some(found) = fields.read("seed", |text| count::whole(text, "the seed", 0..=u64::MAX), problems) {
        settings.seed = found.value;
    }
    if let Some(found) = fields.word("opening", &OpeningTalk::ALL, problems) {
        settings.opening = found.value;
    }
    settings
}

fn countdown(text: &str) -> Result<Seconds, Misread> {
    let found = time::duration(text, "a countdown", Seconds::from_secs(3)..=Seconds::from_secs(10))?;
    if found.nanos() % Seconds::from_secs(1).nanos() != 0 {
        return Err(Misread::new(Code::BadValue, text, "a countdown has whole seconds: a pip for each"));
    }
    Ok(found)
}

fn items(node: &Node, problems: &mut Problems) -> Vec<WrittenItem> {
    let Some(items) = tree::list(node, "practice", problems) else { return Vec::new() };
    if items.is_empty() && !node.cut {
        let problem = Diagnostic::at(Code::Empty, node.span, "the practice has no entries");
        problems.push(problem.hint("for example `- { set: Easy start, swim: 4 x 50 m, rest: 15 s }`"));
    }
    let mut found = Vec::new();
    let mut room = MOST_SWIMS;
    for node in items {
        if room == 0 {
            let problem =
                Diagnostic::at(Code::TooLong, node.span, format!("more than {MOST_SWIMS} swims in one script"));
            problems.push(problem.hint("`rounds` swims a list again; what is left is not checked yet"));
            break;
        }
        found.extend(item(node, &mut room, problems));
    }
    found
}

/// `room` is how many swims the script may still have.
fn item(node: &Node, room: &mut usize, problems: &mut Problems) -> Option<WrittenItem> {
    const WHAT: &str = "an entry of the practice";
    let keys = tree::pairs(node, WHAT, problems)?;
    let has = |wanted: &str| keys.iter().any(|(key, _)| key.value == wanted);
    if has("set") || has("swim") || has("course") || has("do") {
        return set::parse_set(node, room, problems).map(|set| WrittenItem::Set(Box::new(set)));
    }
    if has("say") {
        let fields = Fields::of(node, "a `say` entry", &["say"], problems)?;
        return tree::id(fields.get("say")?, "say", problems).map(WrittenItem::Say);
    }
    if has("rest") {
        let fields = Fields::of(node, "a standing rest", &["rest"], problems)?;
        let rest: Spanned<Seconds> = fields.read("rest", |text| rest::standing(text, "a standing rest"), problems)?;
        return Some(WrittenItem::Rest(rest));
    }
    // Keys that no entry has are reported; an empty map or one of a set's keys lacks its heading.
    let fields = Fields::of(node, WHAT, &set::SET_KEYS, problems)?;
    fields.lacks("`set`, `say` or `rest`", "set: Easy start", problems);
    None
}

#[cfg(test)]
mod tests;
