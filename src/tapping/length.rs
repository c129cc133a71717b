//! One length of taps: its count, its tempo and how far that may be off, its drift, its breaths.

use super::breaths::TappedBreaths;
use super::place::{PlacedTap, StrokeTap, TapDoubt, place};
use super::slope::{median, shares, slope, student};

/// The fewest taps of one stretch whose tempo has an interval: from here on the two halves have two intervals each, or one has more.
const LEAST_FOR_INTERVAL: usize = 7;
/// The fewest of which a drift is told: under five taps a half goes by two or three intervals.
const LEAST_FOR_DRIFT: usize = 9;
/// What the tempo of the moment is taken from, in taps.
const LAST: usize = 5;

/// What was tapped of one length.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TappedLength {
    /// Hands that were tapped.
    pub tapped: u32,
    /// Hands that went in by the intervals; none where a pause leaves that open.
    pub likely: Option<u32>,
    /// What is in doubt.
    pub doubts: Vec<TapDoubt>,
    /// The count, once it is beyond doubt.
    pub count: Option<u32>,
    /// The tempo.
    pub tempo: Option<TappedTempo>,
    /// Seconds a stroke of the last five taps.
    pub last: Option<f64>,
    /// How the tempo changed.
    pub drift: Option<TempoDrift>,
    /// The breaths.
    pub breaths: TappedBreaths,
    /// Seconds from wall to wall, where both were tapped.
    pub time: Option<f64>,
    /// Whether it ends at a tapped wall.
    pub closed: bool,
}

/// The tempo of a length: the mean time from one hand to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TappedTempo {
    /// Seconds a stroke.
    pub seconds: f64,
    /// How far off it may be, in seconds: the length's own mean lies that near with 95 % or more, whether the taps scatter or the
    /// strokes are uneven. None of few taps.
    pub within: Option<f64>,
    /// The median of the intervals that are one stroke, in seconds. Where a breath takes longer, most intervals are shorter than
    /// their mean, and so is this.
    pub median: f64,
    /// The standard deviation of these intervals, in seconds.
    pub spread: Option<f64>,
}

/// How the tempo changed within a length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TempoDrift {
    /// Seconds a stroke of the first half.
    pub first: f64,
    /// Seconds a stroke of the second half.
    pub second: f64,
    /// How large a difference comes from uneven taps and strokes alone, at 95 %, in seconds.
    pub within: f64,
}

impl TempoDrift {
    /// Seconds a stroke that the second half is slower; negative where it is quicker.
    pub fn slower(&self) -> f64 {
        self.second - self.first
    }

    /// Whether that is more than uneven taps and strokes make.
    pub fn is_seen(&self) -> bool {
        self.slower().abs() > self.within
    }
}

impl TappedLength {
    /// Of taps in rising time; `before` is the tempo of the length before, `walls` when it began and ended.
    pub(super) fn of(taps: &[StrokeTap], before: Option<f64>, walls: (Option<f64>, Option<f64>)) -> Self {
        let (placed, doubts) = place(taps, before);
        // A tempo is that of the longest stretch without a pause.
        let stretches = placed.chunk_by(|one, next| one.stretch == next.stretch);
        let longest = stretches.max_by_key(|stretch| stretch.len()).unwrap_or_default();
        let points: Vec<(f64, f64)> = longest.iter().map(|placed| (placed.stroke, placed.tap.at)).collect();
        let noise = Unevenness::of(longest);
        let tapped = taps.len() as u32;
        let recent = placed.chunk_by(|one, next| one.stretch == next.stretch).last().unwrap_or_default();
        let recent: Vec<_> = recent.iter().map(|placed| (placed.stroke, placed.tap.at)).collect();
        Self {
            tapped,
            likely: likely(tapped, &doubts),
            count: doubts.is_empty().then_some(tapped),
            doubts,
            tempo: tempo(&points, longest, noise),
            last: slope(recent.get(recent.len().saturating_sub(LAST)..).unwrap_or_default()),
            drift: noise.and_then(|noise| drift(&points, noise)),
            breaths: TappedBreaths::of(&placed),
            time: walls.1.zip(walls.0).map(|(end, begin)| end - begin),
            closed: walls.1.is_some(),
        }
    }

    /// Settles the count.
    pub fn settle(&mut self, count: u32) {
        self.count = Some(count);
    }
}

/// The strokes by the intervals.
fn likely(tapped: u32, doubts: &[TapDoubt]) -> Option<u32> {
    doubts.iter().try_fold(tapped, |count, doubt| match doubt {
        TapDoubt::Missed { taps, .. } => Some(count + taps),
        TapDoubt::Double { .. } => Some(count.saturating_sub(1)),
        TapDoubt::Pause { .. } => None,
    })
}

/// The intervals of one stroke each, in seconds.
fn intervals(stretch: &[PlacedTap]) -> Vec<f64> {
    let single = |pair: &[PlacedTap]| match pair {
        [one, next] if next.stroke - one.stroke < 1.5 => Some(next.tap.at - one.tap.at),
        _ => None,
    };
    stretch.windows(2).filter_map(single).collect()
}

/// How uneven the intervals are.
#[derive(Clone, Copy)]
struct Unevenness {
    /// Their standard deviation in seconds, about the mean of their half of the length, so that a drift is not in it.
    deviation: f64,
    /// Its degrees of freedom.
    freedom: f64,
}

impl Unevenness {
    fn of(stretch: &[PlacedTap]) -> Option<Self> {
        if stretch.len() < LEAST_FOR_INTERVAL {
            return None;
        }
        let (first, second) = stretch.split_at(stretch.len() / 2);
        let squares = |half: &[PlacedTap]| {
            let intervals = intervals(half);
            let mean = intervals.iter().sum::<f64>() / intervals.len().max(1) as f64;
            let squares: f64 = intervals.iter().map(|interval| (interval - mean) * (interval - mean)).sum();
            (squares, intervals.len().saturating_sub(1))
        };
        let ((one, here), (other, there)) = (squares(first), squares(second));
        let freedom = (here + there) as f64;
        (freedom >= 3.0).then(|| Self { deviation: libm::sqrt((one + other) / freedom), freedom })
    }

    /// The half width of an interval at 95 % for a sum of the steps' deviations with these shares.
    ///
    /// What makes intervals uneven is the swimmer, or the hand that taps. The swimmer's deviations add up along the length; a
    /// tap that is late makes one interval long and the next short, which moves a slope less. Which it is cannot be told from
    /// twenty taps, so all is taken for the swimmer's: the interval then holds at least 95 % in either case.
    fn within(self, shares: impl Iterator<Item = f64>) -> f64 {
        let squares: f64 = shares.map(|share| share * share).sum();
        student(self.freedom) * self.deviation * libm::sqrt(squares)
    }
}

fn tempo(points: &[(f64, f64)], stretch: &[PlacedTap], noise: Option<Unevenness>) -> Option<TappedTempo> {
    let seconds = slope(points)?;
    let strokes: Vec<f64> = points.iter().map(|(stroke, _)| *stroke).collect();
    let shares = shares(&strokes);
    // What is asked for is the mean of the length as it was swum, to which every step gives the same share.
    let even = 1.0 / shares.len().max(1) as f64;
    Some(TappedTempo {
        seconds,
        within: noise.map(|noise| noise.within(shares.iter().map(|share| share - even))),
        median: median(intervals(stretch)).unwrap_or(seconds),
        spread: noise.map(|noise| noise.deviation),
    })
}

fn drift(points: &[(f64, f64)], noise: Unevenness) -> Option<TempoDrift> {
    if points.len() < LEAST_FOR_DRIFT {
        return None;
    }
    let middle = points.len() / 2;
    let (first, second) = (points.get(..=middle)?, points.get(middle..)?);
    let of = |points: &[(f64, f64)]| shares(&points.iter().map(|(stroke, _)| *stroke).collect::<Vec<_>>());
    let both = of(first).into_iter().chain(of(second));
    Some(TempoDrift { first: slope(first)?, second: slope(second)?, within: noise.within(both) })
}
