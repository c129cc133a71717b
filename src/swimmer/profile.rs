//! A swimmer's profile: a short YAML file of what is known of them.
//!
//! ```yaml
//! lengthwise-profile: 1
//! name: Ida
//! pool: 25 m                      # where the strokes were counted
//! stroke:                         # one or two points: strokes in a length at a tempo
//!   - { tempo: 1.30 s, count: 18 }
//!   - { tempo: 1.05 s, count: 20 }
//!                                 # or by its time, `{ count: 18, time: 27.5 s }`, where the tempo is not known
//! usual: 1.25 s                   # the tempo by feel; the slowest of the points assumed
//! wall: 3.5 s                     # of each length without strokes; 4 s assumed
//! glide: 5 m                      # swum without strokes; 5 m assumed
//! pace: { easy: 2:15 }            # what is known of the efforts
//! critical: 1:50                  # the pace of the critical speed; the brisk pace assumed
//! side: left                      # of the first breath; right assumed
//! player: { loudest: 94 dBA }     # a sine of full scale at the ear, at the volume that is used; for the exposure
//! ```

use super::Swimmer;
use super::model::StrokeModel;
use crate::diag::{Code, Diagnostic, SourceId, Sources, Span, has_errors};
use crate::script::Effort;
use crate::script::parse::{settle, version};
use crate::script::quantity::{Read, count, level, swim, time};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml;
use crate::script::yaml::Node;
use crate::units::swim::{Pace, PoolLength, Side};
use crate::units::time::{Seconds, Tempo};
use std::ops::RangeInclusive;

const KEYS: &[&str] =
    &["lengthwise-profile", "name", "pool", "stroke", "usual", "wall", "glide", "pace", "critical", "side", "player"];
/// Those that tell how somebody swims.
pub(super) const KNOWN: &[&str] = &["pool", "stroke", "usual", "wall", "glide", "pace", "critical", "side", "player"];
/// The longest name, in characters.
pub(super) const LONGEST_NAME: usize = 60;
/// How long a length may take.
const LENGTH_TIME: RangeInclusive<Seconds> = Seconds::from_secs(5)..=Seconds::from_secs(600);
/// The standard deviation of times predicted from stated counts, as a share: an assumption, no source.
const STATED_SPREAD: f64 = 0.03;

/// Reads a profile. The swimmer is absent exactly where an error is among the problems.
pub fn parse(source: SourceId, sources: &Sources) -> (Option<Swimmer>, Vec<Diagnostic>) {
    let (root, mut problems) = yaml::read(source, sources.text(source));
    let swimmer = match &root {
        Some(root) => swimmer(root, &mut problems),
        None if problems.is_empty() => {
            let message = "the profile is empty";
            let hint = "it begins with `lengthwise-profile: 1`, `pool: 25 m` and `stroke:`";
            problems.push(Diagnostic::at(Code::Empty, Span::new(source, 0, 0), message).hint(hint));
            None
        }
        None => None,
    };
    settle(&mut problems);
    (swimmer.filter(|_| !has_errors(&problems)), problems)
}

fn swimmer(root: &Node, problems: &mut Problems) -> Option<Swimmer> {
    let fields = Fields::of(root, "the profile", KEYS, problems)?;
    if let Err(problem) = version(&fields, "lengthwise-profile", 1) {
        problems.push(problem);
    }
    let name = fields.text("name", LONGEST_NAME, problems).map(|name| name.value);
    let swimmer = known(&fields, None, "the profile", problems)?;
    Some(Swimmer { name, ..swimmer })
}

/// A swimmer without a name, from the keys of [`KNOWN`]. `pool` is where the strokes were counted if the map does not say
/// so; `place` is where it stands, in words.
pub(super) fn known(
    fields: &Fields<'_>,
    pool: Option<PoolLength>,
    place: &str,
    problems: &mut Problems,
) -> Option<Swimmer> {
    let mut swimmer = Swimmer::assumed();
    let mut assumptions = Vec::new();
    let pool = match (fields.get("pool"), pool) {
        (None, Some(pool)) => Some(pool),
        _ => {
            let pool = fields.require("pool", "pool: 25 m", problems);
            pool.and_then(|node| tree::read(node, "pool", swim::pool, problems)).map(|pool| pool.value)
        }
    };
    let duration = |text: &str| time::duration(text, "wall", Seconds::ZERO..=Seconds::from_secs(20));
    let wall = fields.read("wall", duration, problems).map(|wall| wall.value.as_f64());
    let glide = fields.read("glide", swim::distance, problems).map(|glide| glide.value.metres());
    for (known, text) in [
        (wall.is_some(), format!("{:.1} s of each length without strokes", StrokeModel::ASSUMED_WALL)),
        (glide.is_some(), format!("{:.0} m of each length without strokes", StrokeModel::ASSUMED_GLIDE)),
    ] {
        if !known {
            assumptions.push(format!("not in {place}, assumed: {text}"));
        }
    }
    let points = fields.require("stroke", "stroke: [{ tempo: 1.30 s, count: 19 }]", problems);
    let points = points.map(|node| (node.span, points_of(node, wall.unwrap_or(StrokeModel::ASSUMED_WALL), problems)));
    if let Some(side) = fields.word("side", &[("left", Side::Left), ("right", Side::Right)], problems) {
        swimmer.side = side.value;
    } else {
        assumptions.push(format!("not in {place}, assumed: the first breath is to the right"));
    }
    if let Some(paces) = fields.get("pace") {
        swimmer.paces = paces_of(paces, problems);
    }
    swimmer.critical = fields.read("critical", time::pace, problems).map(|pace| pace.value);
    let usual = fields.read("usual", time::tempo, problems).map(|usual| usual.value.tempo);
    if swimmer.paces.len() < Effort::ALL.len() || swimmer.critical.is_none() {
        assumptions.push(Swimmer::effort_assumption());
    }
    if let Some(player) = fields.get("player")
        && let Some(fields) = Fields::of(player, "the player", &["loudest"], problems)
    {
        let loudest = |text: &str| level::sound_level(text, "a loudest level");
        swimmer.loudest = fields.read("loudest", loudest, problems).map(|loudest| loudest.value);
    }
    let (pool, (span, points)) = pool.zip(points)?;
    swimmer.pace_unit = pool.unit();
    let slowest = points.iter().map(|(tempo, _)| *tempo).max_by(|a, b| a.as_f64().total_cmp(&b.as_f64()));
    swimmer.usual = usual.or(slowest)?;
    swimmer.spread = STATED_SPREAD;
    swimmer.assumptions = assumptions;
    swimmer.model = model(pool, &points, wall, glide, span, problems)?;
    Some(swimmer)
}

fn model(
    pool: PoolLength,
    points: &[(Tempo, u32)],
    wall: Option<f64>,
    glide: Option<f64>,
    span: Span,
    problems: &mut Problems,
) -> Option<StrokeModel> {
    let points: Vec<(f64, f64)> = points.iter().map(|(tempo, count)| (tempo.as_f64(), f64::from(*count))).collect();
    let (wall, glide) = (wall.unwrap_or(StrokeModel::ASSUMED_WALL), glide.unwrap_or(StrokeModel::ASSUMED_GLIDE));
    let model = StrokeModel::through(pool.metres(), &points, wall, glide);
    if model.is_none() {
        let message = format!("no swimmer is like that: {} point(s), {glide:.0} m glide in {pool}", points.len());
        let hint = "give one or two points of different tempo; a quicker tempo takes as many strokes or more; the glide is shorter than the pool";
        problems.push(Diagnostic::at(Code::RangeDisagrees, span, message).hint(hint));
    }
    model
}

/// One or two points. Who has never heard a beat knows the count and the time of a length: what is left of the time after
/// the `wall`, in seconds, makes the tempo.
fn points_of(node: &Node, wall: f64, problems: &mut Problems) -> Vec<(Tempo, u32)> {
    let Some(items) = tree::list(node, "stroke", problems) else { return Vec::new() };
    let strokes = |text: &str| -> Read<u64> { count::whole(text, "count", 4..=200) };
    let mut point = |item: &Node| {
        let fields = Fields::of(item, "a point", &["tempo", "count", "time"], problems)?;
        let found = fields.require("count", "count: 19", problems);
        let found = found.and_then(|node| tree::read(node, "count", strokes, problems));
        let count = found.and_then(|found| u32::try_from(found.value).ok());
        if let (Some(time), Some(tempo)) = (fields.key("time"), fields.key("tempo")) {
            let problem =
                Diagnostic::at(Code::Conflict, time, "`time` and `tempo` exclude each other: each makes the other");
            problems.push(problem.label(tempo, "the tempo").hint("keep the one that was measured"));
            return None;
        }
        if fields.get("time").is_some() {
            let length = |text: &str| time::duration(text, "the time of a length", LENGTH_TIME);
            let time = fields.read("time", length, problems)?;
            let count = count?;
            let tempo = (time.value.as_f64() - wall) / f64::from(count);
            if !(0.4..=2.5).contains(&tempo) {
                let (time, spent) = (time.value, format!("{wall:.1} s of them without strokes"));
                let message =
                    format!("{count} strokes in {time}, {spent}, are {tempo:.2} s a stroke; 0.4 to 2.5 s is allowed");
                let problem = Diagnostic::at(Code::OutOfRange, item.span, message);
                problems.push(problem.hint("count each hand that goes in, and take the time of that one length"));
                return None;
            }
            // In range, so that it has no sign.
            return Some((Tempo::from_millis(libm::round(tempo * 1000.0) as u64), count));
        }
        let tempo = fields.require("tempo", "tempo: 1.30 s", problems)?;
        let tempo = tree::read(tempo, "tempo", time::tempo, problems)?;
        Some((tempo.value.tempo, count?))
    };
    items.iter().filter_map(&mut point).collect()
}

fn paces_of(node: &Node, problems: &mut Problems) -> Vec<(Effort, Pace)> {
    let words: Vec<&str> = Effort::ALL.iter().map(|(word, _)| *word).collect();
    let Some(fields) = Fields::of(node, "the map of paces", &words, problems) else { return Vec::new() };
    let read = |(word, effort): &(&str, Effort)| Some((*effort, fields.read(word, time::pace, problems)?.value));
    Effort::ALL.iter().filter_map(read).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (Option<Swimmer>, Vec<Diagnostic>) {
        let mut sources = Sources::new();
        let id = sources.add("ida.yaml", text);
        parse(id, &sources)
    }

    #[test]
    fn a_profile_becomes_a_swimmer() {
        let (swimmer, problems) = read(
            "lengthwise-profile: 1\nname: Ida\npool: 25 m\nstroke:\n  - { tempo: 1.30 s, count: 18 }\n  - { tempo: 1.05 s, count: 20 }\n\
             wall: 3.5 s\nglide: 6 m\npace: { easy: 2:15 }\nside: left\nplayer: { loudest: 94 dBA }\n",
        );
        assert_eq!(problems, []);
        let swimmer = swimmer.unwrap();
        assert_eq!(swimmer.side, Side::Left);
        assert_eq!(swimmer.loudest.map(|loudest| loudest.dba()), Some(94.0));
        assert_eq!(swimmer.usual, Tempo::from_centis(130));
        // 3.5 s + 18 × 1.30 s, by arithmetic.
        assert!((swimmer.model.length_time(25.0, 1.30) - 26.9).abs() < 1e-9);
        assert_eq!(swimmer.assumptions, [Swimmer::effort_assumption()]);
    }

    #[test]
    fn a_count_and_a_time_make_the_tempo() {
        let one = |point: &str| read(&format!("lengthwise-profile: 1\npool: 25 m\nstroke: [{{ {point} }}]\n"));
        // (27.5 - 4.0 assumed at the wall) / 19 = 1.2368 s, to the millisecond.
        let swimmer = one("count: 19, time: 27.5 s").0.unwrap();
        assert_eq!(swimmer.usual, Tempo::from_millis(1237));
        assert!((swimmer.model.length_time(25.0, 1.237) - 27.5).abs() < 0.01);
        for (point, code) in [
            ("count: 19, time: 27.5 s, tempo: 1.2 s", Code::Conflict),
            ("count: 60, time: 27.5 s", Code::OutOfRange),
            ("count: 19, time: 3 s", Code::OutOfRange),
            ("time: 27.5 s", Code::MissingKey),
        ] {
            let (swimmer, problems) = one(point);
            assert!(swimmer.is_none() && problems.len() == 1 && problems[0].code == code, "{point}: {problems:?}");
        }
    }

    #[test]
    fn what_is_not_stated_is_named() {
        let swimmer = read("lengthwise-profile: 1\npool: 25 yd\nstroke: [{ tempo: 55 /min, count: 17 }]\n").0.unwrap();
        assert_eq!(swimmer.assumptions.len(), 4);
    }

    #[test]
    fn mistakes_are_told_together() {
        let (swimmer, problems) = read(
            "lengthwise-profile: 1\npool: 25\nstroke: [{ tempo: 1.3, count: 18 }, { temp: 1.1 s, count: 0 }]\nsied: left\nplayer: { loudest: 94 dB }\n",
        );
        assert!(swimmer.is_none());
        let codes: Vec<_> = problems.iter().map(|problem| problem.code).collect();
        for code in [Code::UnitMissing, Code::UnknownKey] {
            assert!(codes.contains(&code), "{codes:?}");
        }
        let (swimmer, problems) = read(
            "lengthwise-profile: 1\npool: 25 m\nstroke: [{ tempo: 1.3 s, count: 18 }, { tempo: 1.0 s, count: 15 }]\n",
        );
        assert!(swimmer.is_none() && problems[0].code == Code::RangeDisagrees);
    }
}
