//! A script as one swimmer of a lane swims it, before it is known how fast: send-offs and times to fill are the lane's, and are
//! taken out here; a share of the distance is cut.

use crate::diag::Spanned;
use crate::practice::CLOCK;
use crate::script::lane::{SendOffShift, SwimShare};
use crate::script::{Far, Rest, Script, Swim, Water, WrittenItem};
use crate::units::swim::{Distance, PoolLength};
use crate::units::time::Seconds;

/// What a send-off gives way to until the lane's is laid over all.
pub(super) const STAND_IN: Seconds = Seconds::from_secs(10);

/// What a line has that is the whole lane's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct LaneLine {
    /// The send-off of this lane, if one is written.
    pub send_off: Option<Seconds>,
    /// The time that its repeats fill.
    pub within: Option<Seconds>,
    /// The rest between rounds is taken instead after the last line of a round.
    pub between: bool,
}

/// The rules of a script's lines, set by set.
pub(super) fn lines(script: &Script, shift: SendOffShift) -> Vec<Vec<LaneLine>> {
    let sets = script.practice.iter().filter_map(|item| match item {
        WrittenItem::Set(set) => Some(set),
        WrittenItem::Say(_) | WrittenItem::Rest(_) => None,
    });
    let line = |swim: &Swim, between| LaneLine {
        send_off: swim.send_off.map(|send_off| shifted(send_off.value, &swim.far.value, shift)),
        within: swim.within.map(|within| within.value),
        between,
    };
    sets.map(|set| set.swims.iter().map(|swim| line(swim, set.between_rounds.is_some())).collect()).collect()
}

/// A send-off as a lane has it, on the clock; of several distances the longest counts.
fn shifted(send_off: Seconds, far: &Far, shift: SendOffShift) -> Seconds {
    let longest = match far {
        Far::Distances(each) => each.iter().map(|distance| distance.count()).max().unwrap_or(0),
        Far::Time(_) | Far::Course { .. } => 0,
    };
    if shift.0 == Seconds::ZERO || longest == 0 {
        return send_off;
    }
    (send_off + shift.0.scaled(i64::from(longest), 100)).ceil_to(CLOCK).max(CLOCK)
}

/// The script of one swimmer. `counts` has the number of repeats of each line that fills a time, where it is known; where not,
/// lines come with as many as there could be.
pub(super) fn shaped(
    script: &Script,
    lines: &[Vec<LaneLine>],
    share: SwimShare,
    counts: Option<&[Vec<u32>]>,
) -> Script {
    let mut script = script.clone();
    let water = script.water.value;
    let sets = script.practice.iter_mut().filter_map(|item| match item {
        WrittenItem::Set(set) => Some(set),
        WrittenItem::Say(_) | WrittenItem::Rest(_) => None,
    });
    for (ordinal, (set, lines)) in sets.zip(lines).enumerate() {
        for (index, (swim, line)) in set.swims.iter_mut().zip(lines).enumerate() {
            if let (SwimShare::Distance { parts, of }, Water::Pool(pool), Far::Distances(each)) =
                (share, water, &mut swim.far.value)
            {
                each.iter_mut().for_each(|distance| *distance = shortened(*distance, pool, parts, of));
            }
            if let Some(send_off) = swim.send_off.take() {
                swim.rest = Some(Spanned::new(Rest::Fixed(STAND_IN), send_off.span));
            }
            match (counts, line.within, line.send_off) {
                (Some(counts), Some(_), _) => {
                    let count = counts.get(ordinal).and_then(|counts| counts.get(index)).copied().unwrap_or(1);
                    (swim.repeats.value, swim.within) = (count.max(1), None);
                }
                (None, Some(within), Some(send_off)) => {
                    let most = within.nanos() / send_off.nanos().max(1) + 1;
                    (swim.repeats.value, swim.within) = (u32::try_from(most).unwrap_or(u32::MAX).min(10_000), None);
                }
                _ => {}
            }
        }
    }
    script
}

/// The part of a distance that ends at the same wall: whole lengths, at least one or two.
pub(super) fn shortened(distance: Distance, pool: PoolLength, parts: u32, of: u32) -> Distance {
    let Some(lengths) = pool.lengths(distance) else { return distance };
    let lengths = lengths_of(lengths, parts, of);
    Distance::new(pool.distance().count() * lengths, pool.unit()).unwrap_or(distance)
}

/// How many lengths such a part of some lengths has.
pub(super) fn lengths_of(lengths: u32, parts: u32, of: u32) -> u32 {
    let least = 2 - lengths % 2;
    let part = (u64::from(lengths) * u64::from(parts) / u64::from(of.max(1))) as u32;
    if part < least {
        return lengths.min(least);
    }
    part - (part - least) % 2
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_ends_where_the_whole_does() {
        // 200 m in 25 m: 150 m; 100 m: 75 m would end at the far wall, so 50 m; 50 m stays; 75 m and 25 m end far.
        let cases = [((8, 3, 4), 6), ((4, 3, 4), 2), ((2, 3, 4), 2), ((3, 3, 4), 1), ((1, 1, 2), 1), ((16, 2, 3), 10)];
        for ((lengths, parts, of), wanted) in cases {
            assert_eq!(lengths_of(lengths, parts, of), wanted, "{parts}/{of} of {lengths}");
        }
        for lengths in 1..60 {
            for of in 2..=8 {
                for parts in 1..of {
                    let part = lengths_of(lengths, parts, of);
                    assert!(
                        part >= 1 && part <= lengths && part % 2 == lengths % 2,
                        "{parts}/{of} of {lengths}: {part}"
                    );
                }
            }
        }
    }
}
