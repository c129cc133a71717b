//! The repeats of a set: predicted, timed, and joined where nothing lies between.

use super::line::{Context, rest_after};
use super::{CLOCK, Leave, Length, Line, Repeat};
use crate::diag::{Code, Diagnostic};
use crate::script::{Effort, Far, Gear, Rest, Stroke, Water};
use crate::swimmer::{How, SpeedTarget, SwimStretch, Swimmer};
use crate::units::swim::{Distance, PoolUnit};
use crate::units::time::{Seconds, Tempo, beat_time};

/// Under so much predicted rest a swimmer may miss the next start.
const LITTLE_REST: Seconds = Seconds::from_secs(5);
/// What a file's rest keeps after the 90th percentile of the touch.
const LATE_REST: Seconds = Seconds::from_secs(10);

/// The repeats of one line in one round, predicted; when the next one starts is [`time`]'s job.
pub fn predict(line: &Line, index: usize, round: u32, context: &Context<'_>) -> Vec<Repeat> {
    let repeat = |number| {
        let tempo = nth(&line.tempos, number);
        let manner = match (nth(&line.paces, number), tempo) {
            (Some(pace), _) => SpeedTarget::Pace(pace),
            (None, Some(tempo)) => SpeedTarget::Tempo(tempo),
            (None, None) => SpeedTarget::Effort(line.effort.unwrap_or(Effort::Steady)),
        };
        let (distance, estimated, lengths) = lengths(line, number, manner, context);
        let predicted = lengths.iter().map(|length| length.time).sum();
        Repeat {
            line: index,
            round,
            number,
            distance,
            estimated,
            lengths,
            predicted,
            uncertainty: if estimated { Seconds::ZERO } else { context.swimmer.uncertainty(predicted) },
            behind: Seconds::ZERO,
            regroup: None,
            interval: None,
            rest: None,
            joins: false,
            joined: false,
            offset: Seconds::ZERO,
            tempo: tempo.filter(|_| line.test.is_none()),
            focus: Vec::new(),
        }
    };
    (0..line.repeats).map(repeat).collect()
}

/// How far a repeat goes and what its lengths are.
fn lengths(line: &Line, number: u32, manner: SpeedTarget, context: &Context<'_>) -> (Distance, bool, Vec<Length>) {
    let of = |stretch, how: &How| {
        let prediction = context.swimmer.predict(stretch, how);
        let wall = context.swimmer.wall(stretch);
        Length { time: prediction.time, wall, count: prediction.count, tempo: prediction.tempo }
    };
    let how = how(line, 0, manner);
    match (context.script.water.value, &line.far) {
        (Water::Pool(pool), Far::Distances(each)) => {
            let distance = nth_of(each, number).unwrap_or(pool.distance());
            let count = pool.lengths(distance).unwrap_or(1);
            let one = |length| of(SwimStretch::Length(pool), &self::how(line, length, manner));
            let mut lengths: Vec<Length> = (0..count).map(one).collect();
            second_half(&mut lengths, line.second_half);
            (distance, false, lengths)
        }
        (_, Far::Time(time)) => {
            let metres = context.swimmer.reach(*time, &how);
            let length = of(SwimStretch::Open(metres), &how);
            // Estimates are told in tens of metres; the time is what was asked for.
            let distance = metre(libm::round(metres / 10.0) * 10.0);
            (distance, true, vec![Length { time: *time, ..length }])
        }
        (_, Far::Course { lap, laps }) => {
            let distance = metre(lap.metres() * f64::from(*laps));
            (distance, false, open(of(SwimStretch::Open(distance.metres()), &how), line.second_half))
        }
        (Water::Open, Far::Distances(each)) => {
            let distance = nth_of(each, number).unwrap_or_else(|| metre(100.0));
            (distance, false, open(of(SwimStretch::Open(distance.metres()), &how), line.second_half))
        }
    }
}

/// In open water the halves show in the time of the whole only.
fn open(mut length: Length, faster: Option<Seconds>) -> Vec<Length> {
    length.time = length.time - faster.unwrap_or_default().scaled(1, 2);
    vec![length]
}

/// A repeat of a line as it would be swum at another tempo, predicted again. Its own interval and joins stay; a swim by
/// time stays as long as it is.
pub fn at_tempo(repeat: &Repeat, line: &Line, water: Water, tempo: Tempo, swimmer: &Swimmer) -> Repeat {
    let manner = SpeedTarget::Tempo(tempo);
    let one = |(index, old): (u32, &Length)| {
        let stretch = match water {
            Water::Pool(pool) => SwimStretch::Length(pool),
            Water::Open => SwimStretch::Open(repeat.distance.metres()),
        };
        let prediction = swimmer.predict(stretch, &how(line, index, manner));
        let time = if repeat.estimated { old.time } else { prediction.time };
        Length { time, wall: old.wall, count: prediction.count, tempo: prediction.tempo }
    };
    let mut lengths: Vec<Length> = (0..).zip(&repeat.lengths).map(one).collect();
    if !repeat.estimated {
        match water {
            Water::Pool(_) => second_half(&mut lengths, line.second_half),
            Water::Open => lengths = lengths.into_iter().flat_map(|length| open(length, line.second_half)).collect(),
        }
    }
    let predicted = lengths.iter().map(|length| length.time).sum();
    let tempo = repeat.tempo.map(|_| tempo);
    let focus = repeat.focus.clone();
    Repeat { lengths, predicted, tempo, focus, ..*repeat }
}

/// Moves time from the second half to the first, evenly over the lengths.
fn second_half(lengths: &mut [Length], faster: Option<Seconds>) {
    let Some(faster) = faster else { return };
    let (count, half) = (lengths.len() as i64, lengths.len() / 2);
    let each = Seconds::from_estimate(faster.as_f64() / count.max(1) as f64);
    for (index, length) in lengths.iter_mut().enumerate() {
        let time = if index < half { length.time + each } else { length.time - each };
        length.time = time.max(length.wall + Seconds::from_secs(1));
    }
}

/// How one length of a line is swum.
fn how(line: &Line, length: u32, manner: SpeedTarget) -> How {
    let kind = line.kinds.get(length as usize % line.kinds.len().max(1));
    // A beat that is heard leads every length, whatever effort one of them asks for.
    let own = |effort: Option<Effort>| match manner {
        SpeedTarget::Tempo(_) => manner,
        _ => effort.map_or(manner, SpeedTarget::Effort),
    };
    How {
        manner: kind.map_or(manner, |kind| own(kind.effort)),
        part: kind.and_then(|kind| kind.part).unwrap_or(line.part),
        stroke: kind.and_then(|kind| kind.stroke).or(line.stroke).unwrap_or(Stroke::Crawl),
        drill: kind.and_then(|kind| kind.drill.as_ref()).or(line.drill.as_ref()).map(|drill| drill.movement),
        fins: line.gear.contains(&Gear::Fins),
    }
}

/// Sets when each repeat's successor starts. `between` is the rest between rounds.
pub fn time(repeats: &mut [Repeat], lines: &[Line], between: Option<Seconds>, gear_change: Seconds) {
    // How long the swimmer has been under way without a stop before this repeat: starts after a rest keep to the clock.
    let mut under_way = Seconds::ZERO;
    // Who is late at a join is late at the next touch too.
    let mut late_so_far = Seconds::ZERO;
    for index in 0..repeats.len() {
        let next = repeats.get(index + 1).map(|next| (next.round, gear(lines, next)));
        let Some(repeat) = repeats.get_mut(index) else { continue };
        repeat.uncertainty += std::mem::take(&mut late_so_far);
        let Some(line) = lines.get(repeat.line) else { continue };
        let ends_round = next.as_ref().is_some_and(|(round, _)| *round != repeat.round);
        let leave = match between {
            Some(rest) if ends_round => Leave::Rest(Rest::Fixed(rest)),
            _ => line.leave,
        };
        let changes = next.as_ref().is_some_and(|(_, worn)| *worn != line.gear.as_slice());
        let change = if changes { gear_change } else { Seconds::ZERO };
        match leave {
            Leave::Rest(rest) if rest_after(rest, repeat.distance) == Seconds::ZERO => {
                repeat.joins = next.is_some();
                repeat.interval = repeat.joins.then_some(repeat.predicted);
                under_way += repeat.predicted;
                late_so_far = repeat.uncertainty;
                continue;
            }
            // Rounded up to the clock, and never so short that a slow repeat runs into the next start.
            Leave::Rest(rest) => {
                repeat.rest = Some(rest_after(rest, repeat.distance) + change);
                let rested = repeat.predicted + rest_after(rest, repeat.distance);
                let late = repeat.predicted + repeat.uncertainty + LATE_REST;
                repeat.interval = Some((under_way + rested.max(late) + change).ceil_to(CLOCK) - under_way);
            }
            Leave::SendOff(send_off) => repeat.interval = Some(send_off + change),
            Leave::Open => {}
        }
        under_way = Seconds::ZERO;
    }
    join(repeats);
}

fn gear<'a>(lines: &'a [Line], repeat: &Repeat) -> &'a [Gear] {
    lines.get(repeat.line).map_or(&[], |line| &line.gear)
}

/// The grid of a joined repeat begins on the first beat of the old one at or after the join.
fn join(repeats: &mut [Repeat]) {
    let mut before: Option<(Seconds, Seconds, Option<Tempo>)> = None;
    for repeat in repeats {
        if let Some((offset, predicted, tempo)) = before {
            repeat.joined = true;
            repeat.offset = tempo.map_or(Seconds::ZERO, |tempo| {
                let k = tempo.first_at_or_after(predicted - offset);
                beat_time(offset, k, tempo) - predicted
            });
        }
        before = repeat.joins.then_some((repeat.offset, repeat.predicted, repeat.tempo));
    }
}

/// Reports a send-off that the slowest repeat cannot make, or makes with little rest, and one that its own countdown fills.
pub fn check_send_off(line: &Line, repeats: &[&Repeat], context: &Context<'_>) -> Option<Diagnostic> {
    let Leave::SendOff(send_off) = line.leave else { return None };
    let (swimmer, countdown) = (context.swimmer, context.script.settings.countdown);
    let slowest = repeats.iter().max_by_key(|repeat| repeat.predicted)?.predicted;
    let of = swimmer.called();
    let possible = (slowest + LATE_REST).ceil_to(CLOCK);
    if slowest >= send_off {
        let message = format!("the send-off {send_off} is not above the {slowest} predicted for {of}");
        let hint = format!("`on {possible}` can be made; or give a faster swimmer with --swimmer");
        Some(Diagnostic::at(Code::SendOffTooShort, line.span, message).hint(hint))
    } else if send_off <= countdown {
        // The pips would begin on the go before, or ahead of it.
        let message = format!("the countdown of {countdown} fills the whole send-off of {send_off}");
        let hint = format!(
            "`on {}` leaves room, or a shorter `countdown` in the settings",
            possible.max((countdown + LITTLE_REST).ceil_to(CLOCK))
        );
        Some(Diagnostic::at(Code::SendOffTooShort, line.span, message).hint(hint))
    } else if send_off - slowest < LITTLE_REST {
        let rest = (send_off - slowest).as_f64();
        let message = format!("{of} rests {rest:.1} s: touch predicted at {slowest}, next start at {send_off}");
        Some(Diagnostic::at(Code::LittleRest, line.span, message).hint(format!("`on {possible}` leaves at least 10 s")))
    } else {
        None
    }
}

fn nth<T: Copy>(values: &[T], number: u32) -> Option<T> {
    values.get(number as usize).or(values.last()).copied()
}

/// Distances of a list come in turn.
fn nth_of(each: &[Distance], number: u32) -> Option<Distance> {
    each.get(number as usize % each.len().max(1)).copied()
}

/// Whole metres, 1 to 100,000.
#[expect(clippy::expect_used, reason = "the count is clamped to what a distance may be")]
fn metre(metres: f64) -> Distance {
    Distance::new(libm::round(metres).clamp(1.0, 100_000.0) as u32, PoolUnit::Metre).expect("clamped")
}

#[cfg(test)]
mod tests {
    use super::super::strokes::tests::repeat;
    use super::*;

    #[test]
    fn halves_keep_the_whole() {
        let mut lengths = repeat(4, 30_000, Tempo::from_centis(120)).lengths;
        second_half(&mut lengths, Some(Seconds::from_secs(2)));
        let times: Vec<_> = lengths.iter().map(|length| length.time.as_f64()).collect();
        assert_eq!(times, [30.5, 30.5, 29.5, 29.5]);
    }

    #[test]
    fn joined_grids_begin_on_an_old_beat() {
        // 25 s at 0.95 s: beat 27 is at 25.65 s, 0.65 s into the joined swim. That one, 30 s at 1.15 s from there, has
        // beat 26 at 0.65 + 29.9 = 30.55 s, 0.55 s into the next.
        let mut repeats = [
            repeat(1, 25_000, Tempo::from_centis(95)),
            repeat(1, 30_000, Tempo::from_centis(115)),
            repeat(1, 25_000, Tempo::from_centis(95)),
        ];
        repeats[0].joins = true;
        repeats[1].joins = true;
        join(&mut repeats);
        let offsets = repeats.each_ref().map(|repeat| repeat.offset);
        assert_eq!(offsets, [Seconds::ZERO, Seconds::from_millis(650), Seconds::from_millis(550)]);
        assert_eq!(repeats.each_ref().map(|repeat| repeat.joined), [false, true, true]);
    }
}
