//! How large each part is, so that the practice fills its time and goes no further than it may.

use super::parts::{Distances, PartKind, PracticePart};
use crate::plan::Plan;

/// A practice ends at most so many seconds before its time is over, where no bound is in the way.
pub const WINDOW: f64 = 120.0;
/// Seconds that are left for what the announcements take more or less.
const SPARE: f64 = 5.0;
/// A rest is at most so many seconds longer than a part begins with. Our choice.
const MORE_REST: u32 = 15;
/// Rests grow in steps of so many seconds, as the clock of a file has them.
const REST_STEP: u32 = 5;

/// What a practice may take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PracticeRoom {
    /// Seconds.
    pub seconds: f64,
    /// Metres.
    pub metres: f64,
}

/// What a plan comes to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    /// Seconds.
    pub seconds: f64,
    /// Metres.
    pub metres: f64,
}

impl Extent {
    /// That of a plan.
    pub fn of(plan: &Plan) -> Self {
        Self { seconds: plan.duration.as_f64(), metres: f64::from(plan.distance) * plan.unit_metres }
    }

    /// Whether it is within the room.
    pub fn fits(self, room: PracticeRoom) -> bool {
        self.seconds <= room.seconds && self.metres <= room.metres + 1e-6
    }
}

/// Seconds that one more of each part takes, by the plan of what there is; a part that is not there takes what the easy start takes by
/// its distance.
fn seconds_each(parts: &[PracticePart], plan: &Plan, far: &Distances) -> Vec<f64> {
    let mut sets = plan.sets.iter();
    let by_set: Vec<Option<f64>> = parts
        .iter()
        .map(|part| {
            let set = part.is_swum().then(|| sets.next()).flatten()?;
            let swum = set.repeats.len() as f64;
            let rest = f64::from(part.rest) * swum;
            let whole: f64 =
                set.repeats.iter().map(|repeat| repeat.send_off.unwrap_or(repeat.predicted).as_f64()).sum();
            // The last repeat has the rest before the next set, not its own.
            let swims: f64 = set.repeats.iter().map(|repeat| repeat.predicted.as_f64()).sum();
            let distance = f64::from(set.distance).max(1.0);
            let (each, _) = part.distance(far);
            Some(whole.min(swims + rest + REST_STEP as f64 * swum) * f64::from(each) / distance)
        })
        .collect();
    let pace = parts
        .iter()
        .zip(&by_set)
        .find_map(|(part, seconds)| Some((*seconds)? / f64::from(part.distance(far).0.max(1))));
    let guess = |part: &PracticePart| pace.unwrap_or(1.5) * f64::from(part.distance(far).0);
    parts.iter().zip(by_set).map(|(part, seconds)| seconds.unwrap_or_else(|| guess(part))).collect()
}

/// How many repeats have the rest of a part.
fn repeats(part: &PracticePart, far: &Distances) -> f64 {
    let (each, none) = part.distance(far);
    f64::from(each * part.count + none) / f64::from(far.short.max(1))
}

/// The next sizes to try after a plan of these; none where they are as they should be. Where `only_less`, nothing grows any more.
pub fn resize(
    parts: &[PracticePart],
    plan: &Plan,
    (room, far): (PracticeRoom, &Distances),
    only_less: bool,
) -> Option<Vec<PracticePart>> {
    let each = seconds_each(parts, plan, far);
    let metre = plan.unit_metres;
    let now = Extent::of(plan);
    let (mut seconds, mut metres) = (now.seconds, now.metres);
    let mut sized = parts.to_vec();
    let share = |part: &PracticePart| f64::from(part.count) / f64::from(part.weight);
    let fits = |seconds: f64, metres: f64| seconds <= room.seconds - SPARE && metres <= room.metres + 1e-6;
    if now.fits(room) && !only_less {
        while let Some((at, added)) = sized
            .iter()
            .zip(&each)
            .enumerate()
            .filter(|(_, (part, added))| {
                let further = f64::from(part.distance(far).0) * metre;
                part.count < part.most && fits(seconds + **added, metres + further)
            })
            .min_by(|(_, (one, _)), (_, (other, _))| share(one).total_cmp(&share(other)))
            .map(|(at, (_, added))| (at, *added))
        {
            metres += f64::from(sized[at].distance(far).0) * metre;
            seconds += added;
            sized[at].count += 1;
        }
        // Time that is left over becomes rest, unless a bound keeps the practice short.
        let bounded = sized
            .iter()
            .any(|part| metres + f64::from(part.distance(far).0) * metre > room.metres && part.count < part.most);
        let base = |part: &PracticePart| if far.slow { 30 } else { 20 }.max(part.rest.min(20));
        while !bounded && room.seconds - SPARE - seconds > f64::from(REST_STEP) * 2.0 {
            let longer = |part: &PracticePart| f64::from(REST_STEP) * repeats(part, far);
            let can = |part: &&mut PracticePart| {
                part.is_swum()
                    && part.kind != PartKind::Timed
                    && part.rest < base(part) + MORE_REST
                    && fits(seconds + longer(part), metres)
            };
            let Some(part) = sized.iter_mut().filter(can).min_by_key(|part| part.rest) else { break };
            seconds += longer(part);
            part.rest += REST_STEP;
        }
    } else {
        while !(seconds <= room.seconds && metres <= room.metres + 1e-6) {
            let over = sized.iter().enumerate().filter(|(_, part)| part.count > part.least);
            let Some((at, _)) = over.max_by(|(_, one), (_, other)| share(one).total_cmp(&share(other))) else { break };
            metres -= f64::from(sized[at].distance(far).0) * metre;
            seconds -= each[at];
            sized[at].count -= 1;
        }
    }
    (sized != parts).then_some(sized)
}

/// The parts without the next one that can be left out, where the smallest practice is too large; none where nothing can.
pub fn fewer(parts: &[PracticePart]) -> Option<Vec<PracticePart>> {
    let order = [PartKind::Edge, PartKind::Ladder, PartKind::Fade, PartKind::Build, PartKind::Drill, PartKind::Relaxed];
    let out = order.into_iter().find(|kind| parts.iter().any(|part| part.kind == *kind) && parts.len() > 3)?;
    Some(parts.iter().filter(|part| part.kind != out).map(|part| PracticePart { count: part.least, ..*part }).collect())
}
