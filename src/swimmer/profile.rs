//! A swimmer's profile: a short YAML file of what is known of them.
//!
//! ```yaml
//! lengthwise-profile: 1
//! name: Ida
//! pool: 25 m                      # where they swim: what follows is of this pool, times are for 100 of its unit
//! hundred: 1:50                   # the steady time of 100; all that follows it is optional
//! stroke:                         # strokes in a length, one point or two: at its time, or at a tempo
//!   - { count: 18, time: 27.5 s }
//!   - { count: 20, tempo: 1.05 s }
//!                                 # or a count alone, `{ count: 18 }`, of a length at the time of `hundred`
//! usual: 1.25 s                   # the tempo by feel; the slowest of the points assumed
//! wall: 3.5 s                     # of each length without strokes; 4 s assumed
//! glide: 5 m                      # swum without strokes; 5 m assumed
//! pace: { easy: 2:15 }            # what is known of the efforts
//! critical: 1:50                  # the pace of the critical speed; the brisk pace assumed
//! drill: 2:45                     # 100 of drill; 1.25 of easy assumed
//! kick: 3:10                      # 100 of kick; 1.6 of easy assumed
//! side: left                      # of the first breath; right assumed
//! player: { loudest: 94 dBA }     # a sine of full scale at the ear, at the volume that is used; for the exposure
//! ```
//!
//! One of `hundred`, `stroke` and `pace` must be there; the rest follows, and what was assumed is told.

use super::hundred::{StrokesOfLength, hundred};
use super::model::StrokeModel;
use super::{Swimmer, UsualSource};
use crate::diag::{Code, Diagnostic, SourceId, Sources, Span, has_errors};
use crate::script::Effort;
use crate::script::parse::{settle, version};
use crate::script::quantity::{Read, count, level, swim, time};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml;
use crate::script::yaml::{Node, NodeKind};
use crate::units::swim::{Pace, PoolLength, Side};
use crate::units::time::{Seconds, Tempo};
use std::ops::RangeInclusive;

const KEYS: &[&str] = &[
    "lengthwise-profile",
    "name",
    "pool",
    "hundred",
    "stroke",
    "usual",
    "wall",
    "glide",
    "pace",
    "critical",
    "drill",
    "kick",
    "side",
    "player",
];
/// Those that tell how somebody swims.
pub(super) const KNOWN: &[&str] =
    &["pool", "hundred", "stroke", "usual", "wall", "glide", "pace", "critical", "drill", "kick", "side", "player"];
/// Of these one must be there: what is not known follows from it.
pub(super) const ENOUGH: [&str; 3] = ["hundred", "stroke", "pace"];
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
            let hint = "it begins with `lengthwise-profile: 1`, `pool: 25 m` and `hundred: 1:50`";
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
    let pool = match (fields.get("pool"), pool) {
        (None, Some(pool)) => Some(pool),
        _ => {
            let pool = fields.require("pool", "pool: 25 m", problems);
            pool.and_then(|node| tree::read(node, "pool", swim::pool, problems)).map(|pool| pool.value)
        }
    };
    let (walls, mut assumptions) = walls(fields, place, problems);
    let hundred = fields.read("hundred", hundred, problems).map(|hundred| hundred.value);
    let length =
        hundred.zip(pool).map(|(hundred, pool)| hundred.per_hundred().scaled(i64::from(pool.distance().count()), 100));
    let points = fields.get("stroke").map(|node| (node.span, points_of(node, walls.wall, length, problems)));
    let side = fields.word("side", &[("left", Side::Left), ("right", Side::Right)], problems).map(|side| side.value);
    if side.is_none() {
        assumptions.push(format!("not in {place}, assumed: the first breath is to the right"));
    }
    let mut paces = fields.get("pace").map_or_else(Vec::new, |paces| paces_of(paces, problems));
    if let Some(hundred) = hundred {
        steady(&mut paces, hundred, fields, problems);
    }
    let mut pace = |key| fields.read(key, time::pace, problems).map(|pace| pace.value);
    let (critical, drill, kick) = (pace("critical"), pace("drill"), pace("kick"));
    let usual = fields.read("usual", time::tempo, problems).map(|usual| usual.value.tempo);
    if paces.len() < Effort::ALL.len() || critical.is_none() || drill.is_none() || kick.is_none() {
        assumptions.push(Swimmer::effort_assumption());
    }
    let mut loudest = None;
    if let Some(player) = fields.get("player")
        && let Some(fields) = Fields::of(player, "the player", &["loudest"], problems)
    {
        let level = |text: &str| level::sound_level(text, "a loudest level");
        loudest = fields.read("loudest", level, problems).map(|loudest| loudest.value);
    }
    if ENOUGH.iter().all(|key| fields.get(key).is_none() && !fields.misspelt(key)) {
        fields.lacks("`hundred`, `stroke` or `pace`", "hundred: 1:50", problems);
    }
    let pool = pool?;
    let stated = match points {
        Some((span, points)) => StrokePoints::counted(span, points, usual)?,
        None => {
            let span = ENOUGH.iter().find_map(|key| fields.key(key))?;
            let (stated, assumed) = StrokePoints::of_pace(&paces, pool, walls, usual, span, problems)?;
            assumptions.extend(assumed.map(|assumed| format!("not in {place}, assumed: {assumed}")));
            stated
        }
    };
    Some(Swimmer {
        name: None,
        model: model(pool, &stated, walls, problems)?,
        usual: stated.usual,
        usual_source: stated.usual_source,
        paces,
        critical,
        drill,
        kick,
        pace_unit: pool.unit(),
        spread: stated.spread,
        side: side.unwrap_or(Side::Right),
        loudest,
        assumptions,
    })
}

/// What of each length has no strokes: seconds and metres.
#[derive(Clone, Copy)]
struct Walls {
    wall: f64,
    glide: f64,
}

/// Those stated, or those assumed and what is told of them.
fn walls(fields: &Fields<'_>, place: &str, problems: &mut Problems) -> (Walls, Vec<String>) {
    let duration = |text: &str| time::duration(text, "wall", Seconds::ZERO..=Seconds::from_secs(20));
    let wall = fields.read("wall", duration, problems).map(|wall| wall.value.as_f64());
    let glide = fields.read("glide", swim::distance, problems).map(|glide| glide.value.metres());
    let assumed = [
        (wall, format!("{:.1} s of each length without strokes", StrokeModel::ASSUMED_WALL)),
        (glide, format!("{:.0} m of each length without strokes", StrokeModel::ASSUMED_GLIDE)),
    ];
    let assumed = assumed.into_iter().filter(|(known, _)| known.is_none());
    let assumed = assumed.map(|(_, text)| format!("not in {place}, assumed: {text}")).collect();
    let (wall, glide) = (wall.unwrap_or(StrokeModel::ASSUMED_WALL), glide.unwrap_or(StrokeModel::ASSUMED_GLIDE));
    (Walls { wall, glide }, assumed)
}

/// Lays the time of 100 among the paces: it is the steady one.
fn steady(paces: &mut Vec<(Effort, Pace)>, hundred: Pace, fields: &Fields<'_>, problems: &mut Problems) {
    if paces.iter().any(|(effort, _)| *effort == Effort::Steady) {
        if let (Some(hundred), Some(pace)) = (fields.key("hundred"), fields.key("pace")) {
            let message = "the steady pace is given twice: `hundred` is one";
            let problem = Diagnostic::at(Code::Conflict, pace, message);
            problems.push(problem.label(hundred, "here too").hint("keep one of them"));
        }
    } else {
        paces.insert(0, (Effort::Steady, hundred));
    }
}

/// The strokes that a model goes through.
struct StrokePoints {
    /// Where they are stated, or what they follow from.
    span: Span,
    /// Seconds a stroke, and strokes in a length.
    points: Vec<(f64, f64)>,
    usual: Tempo,
    usual_source: UsualSource,
    spread: f64,
}

impl StrokePoints {
    fn counted(span: Span, points: Vec<(Tempo, u32)>, usual: Option<Tempo>) -> Option<Self> {
        let slowest = points.iter().map(|(tempo, _)| *tempo).max_by(|a, b| a.as_f64().total_cmp(&b.as_f64()));
        let points = points.iter().map(|(tempo, count)| (tempo.as_f64(), f64::from(*count))).collect();
        Some(Self { span, points, usual: usual.or(slowest)?, usual_source: UsualSource::Stated, spread: STATED_SPREAD })
    }

    /// Those that follow from a pace, and what was assumed for it.
    fn of_pace(
        paces: &[(Effort, Pace)],
        pool: PoolLength,
        walls: Walls,
        usual: Option<Tempo>,
        span: Span,
        problems: &mut Problems,
    ) -> Option<(Self, Option<String>)> {
        let (effort, pace) = paces.first()?;
        let steady = Seconds::from_estimate(pace.per_hundred().as_f64() / Swimmer::effort_factor(*effort));
        let strokes = Pace::new(steady).and_then(|steady| {
            let strokes = StrokesOfLength::of(steady, pool, walls.wall, walls.glide, usual)?;
            Some((strokes, strokes.assumption(steady, pool)))
        });
        let Some((strokes, assumption)) = strokes else {
            let message = format!(
                "{steady} for 100 in {pool}, {:.1} s of each length without strokes, leaves no strokes",
                walls.wall
            );
            let problem = Diagnostic::at(Code::OutOfRange, span, message);
            problems.push(problem.hint("state a counted length too: `stroke: [{ count: 19, time: 27.5 s }]`"));
            return None;
        };
        let points = vec![(strokes.tempo.as_f64(), strokes.count)];
        let usual_source = if usual.is_some() { UsualSource::Stated } else { UsualSource::Time };
        let stated = Self { span, points, usual: strokes.tempo, usual_source, spread: Swimmer::ASSUMED_SPREAD };
        Some((stated, usual.is_none().then_some(assumption)))
    }
}

fn model(pool: PoolLength, stated: &StrokePoints, walls: Walls, problems: &mut Problems) -> Option<StrokeModel> {
    let Walls { wall, glide } = walls;
    let model = StrokeModel::through(pool.metres(), &stated.points, wall, glide);
    if model.is_none() {
        let message =
            format!("no swimmer is like that: {} point(s), {glide:.0} m glide in {pool}", stated.points.len());
        let hint = "give one or two points of different tempo; a quicker tempo takes as many strokes or more; the glide is shorter than the pool";
        problems.push(Diagnostic::at(Code::RangeDisagrees, stated.span, message).hint(hint));
    }
    model
}

/// One or two points. Who has never heard a beat knows the count and the time of a length: what is left of the time after
/// the `wall`, in seconds, makes the tempo. A count alone is of a length that takes as long as those of `hundred`.
fn points_of(node: &Node, wall: f64, hundred: Option<Seconds>, problems: &mut Problems) -> Vec<(Tempo, u32)> {
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
        if fields.get("tempo").is_some() {
            let tempo = fields.read("tempo", time::tempo, problems)?;
            return Some((tempo.value.tempo, count?));
        }
        let length = |text: &str| time::duration(text, "the time of a length", LENGTH_TIME);
        let time = match fields.get("time") {
            Some(node) => tree::read(node, "time", length, problems)?.value,
            None => {
                if hundred.is_none() && !fields.misspelt("tempo") && !fields.misspelt("time") {
                    fields.lacks("the `time` of the length, or its `tempo`", "time: 27.5 s", problems);
                }
                hundred?
            }
        };
        let count = count?;
        let tempo = (time.as_f64() - wall) / f64::from(count);
        if !(0.4..=2.5).contains(&tempo) {
            let spent = format!("{wall:.1} s of them without strokes");
            let message =
                format!("{count} strokes in {time}, {spent}, are {tempo:.2} s a stroke; 0.4 to 2.5 s is allowed");
            let problem = Diagnostic::at(Code::OutOfRange, item.span, message);
            problems.push(problem.hint("count each hand that goes in, and take the time of that one length"));
            return None;
        }
        // In range, so that it has no sign.
        Some((Tempo::from_millis(libm::round(tempo * 1000.0) as u64), count))
    };
    items.iter().filter_map(&mut point).collect()
}

fn paces_of(node: &Node, problems: &mut Problems) -> Vec<(Effort, Pace)> {
    if let NodeKind::Scalar(scalar) = &node.kind
        && time::pace(&scalar.text).is_ok()
    {
        let problem = Diagnostic::at(Code::WrongShape, node.span, "`pace` is a map of efforts and their paces");
        problems.push(problem.hint(format!("one time of 100 is written `hundred: {}`", scalar.text.trim())));
        return Vec::new();
    }
    let words: Vec<&str> = Effort::ALL.iter().map(|(word, _)| *word).collect();
    let Some(fields) = Fields::of(node, "the map of paces", &words, problems) else { return Vec::new() };
    let read = |(word, effort): &(&str, Effort)| Some((*effort, fields.read(word, time::pace, problems)?.value));
    Effort::ALL.iter().filter_map(read).collect()
}

#[cfg(test)]
mod tests;
