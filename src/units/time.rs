//! Exact time: nanoseconds for where things happen, reduced ratios for tempo, frames only at the end.
//!
//! The one conversion from time to frames is [`onset`]; nothing else in the crate may round a time to
//! a frame. Wall clocks are not here: practice time is counted, never measured.

use std::fmt;
use std::ops::{Add, AddAssign, Sub};

/// Nanoseconds in a second.
pub const NANOS: i64 = 1_000_000_000;

/// The longest practice that is accepted.
pub const LONGEST: Seconds = Seconds(24 * 3600 * NANOS);

/// A time or a duration in exact integer nanoseconds. May be negative as an offset.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Seconds(i64);

impl Seconds {
    /// No time at all.
    pub const ZERO: Self = Self(0);

    /// A reckoned time. Nothing that is read may be so long that sums of it could pass the limit: time that is called exact
    /// would be wrong in silence.
    #[expect(clippy::panic, reason = "292 years are more than any sum of practices of a day")]
    const fn exactly(nanos: i128) -> Self {
        if nanos < i64::MIN as i128 || nanos > i64::MAX as i128 {
            panic!("a time of more than 292 years");
        }
        Self(nanos as i64)
    }

    /// From whole nanoseconds.
    pub const fn from_nanos(nanos: i64) -> Self {
        Self(nanos)
    }

    /// From whole milliseconds.
    pub const fn from_millis(millis: i64) -> Self {
        Self::exactly(millis as i128 * 1_000_000)
    }

    /// From whole seconds.
    pub const fn from_secs(secs: i64) -> Self {
        Self::exactly(secs as i128 * NANOS as i128)
    }

    /// A model's estimate in seconds, rounded to 1 ms: estimates enter exact time only here.
    /// Values that are not finite or beyond ±100 days are clamped.
    pub fn from_estimate(seconds: f64) -> Self {
        let millis = libm::round(seconds.clamp(-8.64e6, 8.64e6) * 1000.0);
        Self::from_millis(if millis.is_finite() { millis as i64 } else { 0 })
    }

    /// Whole nanoseconds.
    pub const fn nanos(self) -> i64 {
        self.0
    }

    /// As a floating-point number of seconds, for display and for models.
    pub fn as_f64(self) -> f64 {
        self.0 as f64 / NANOS as f64
    }

    /// This duration times `num/den`, rounded down to a nanosecond. `den` must not be 0.
    pub fn scaled(self, num: i64, den: i64) -> Self {
        Self::exactly(i128::from(self.0) * i128::from(num) / i128::from(den))
    }

    /// Rounded up to a multiple of `step` (which must be positive).
    pub fn ceil_to(self, step: Self) -> Self {
        let step = step.0.max(1);
        let rest = self.0.rem_euclid(step);
        if rest == 0 { self } else { Self(self.0 - rest + step) }
    }
}

impl Add for Seconds {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::exactly(i128::from(self.0) + i128::from(other.0))
    }
}

impl AddAssign for Seconds {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Seconds {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::exactly(i128::from(self.0) - i128::from(other.0))
    }
}

impl std::iter::Sum for Seconds {
    fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
        iter.fold(Self::ZERO, Add::add)
    }
}

impl fmt::Debug for Seconds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} s", Decimal(*self))
    }
}

/// Seconds with nine decimals, as the timeline's dump prints them.
pub struct Decimal(pub Seconds);

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let nanos = self.0.0.unsigned_abs();
        let sign = if self.0.0 < 0 { "-" } else { "" };
        write!(f, "{sign}{}.{:09}", nanos / NANOS as u64, nanos % NANOS as u64)
    }
}

/// A time as a swimmer reads it: `m:ss`, with tenths only where they are not zero, hours only where needed.
impl fmt::Display for Seconds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenths = (self.0.unsigned_abs() + 50_000_000) / 100_000_000;
        let (whole, tenth) = (tenths / 10, tenths % 10);
        let sign = if self.0 < 0 { "-" } else { "" };
        let text = if whole >= 3600 {
            format!("{sign}{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60)
        } else {
            format!("{sign}{}:{:02}", whole / 60, whole % 60)
        };
        let text = if tenth == 0 { text } else { format!("{text}.{tenth}") };
        f.pad(&text)
    }
}

/// Stroke tempo: seconds per stroke as an exact reduced ratio, 0.4 to 2.5 s.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Tempo {
    num: u64,
    den: u64,
}

impl Tempo {
    /// The largest numerator and denominator accepted, so that [`onset`] cannot overflow 128 bits.
    const LIMIT: u64 = 1 << 44;

    /// From a ratio of seconds. `None` outside 0.4 to 2.5 s or where the ratio is too fine to be exact.
    pub fn from_ratio(num: u64, den: u64) -> Option<Self> {
        let divisor = gcd(num, den);
        if divisor == 0 {
            return None;
        }
        let (num, den) = (num / divisor, den / divisor);
        let fits = den > 0 && num < Self::LIMIT && den < Self::LIMIT;
        (fits && num * 5 >= den * 2 && num * 2 <= den * 5).then_some(Self { num, den })
    }

    /// From strokes a minute given as `num/den`: 52 /min is 60/52 = 15/13 s.
    pub fn from_rate(num: u64, den: u64) -> Option<Self> {
        Self::from_ratio(den.checked_mul(60)?, num)
    }

    /// From hundredths of a second, clamped to 40 to 250: for constants and for models' answers.
    pub const fn from_centis(centis: u64) -> Self {
        Self::reduced(
            if centis < 40 {
                40
            } else if centis > 250 {
                250
            } else {
                centis
            },
            100,
        )
    }

    /// From whole milliseconds, clamped to 400 to 2,500.
    pub const fn from_millis(millis: u64) -> Self {
        Self::reduced(
            if millis < 400 {
                400
            } else if millis > 2500 {
                2500
            } else {
                millis
            },
            1000,
        )
    }

    const fn reduced(num: u64, den: u64) -> Self {
        let divisor = gcd(num, den);
        Self { num: num / divisor, den: den / divisor }
    }

    /// The numerator of the reduced ratio of seconds.
    pub const fn num(self) -> u64 {
        self.num
    }

    /// The denominator of the reduced ratio of seconds.
    pub const fn den(self) -> u64 {
        self.den
    }

    /// Seconds per stroke as a floating-point number, for display and for models.
    pub fn as_f64(self) -> f64 {
        self.num as f64 / self.den as f64
    }

    /// Hundredths of a second per stroke, to the nearest (half up): what is spoken and shown of it.
    pub const fn centis(self) -> u64 {
        (2 * self.num * 100 + self.den) / (2 * self.den)
    }

    /// Stroke rate in strokes a minute.
    pub fn rate(self) -> f64 {
        60.0 * self.den as f64 / self.num as f64
    }

    /// `k` strokes of this tempo, rounded to the nearest nanosecond (half up).
    pub fn strokes(self, k: u64) -> Seconds {
        let (num, den) = (u128::from(self.num) * u128::from(k) * NANOS as u128, u128::from(self.den));
        Seconds::exactly(((2 * num + den) / (2 * den)) as i128)
    }

    /// The first stroke index whose beat falls at or after `offset` from the grid's origin.
    pub fn first_at_or_after(self, offset: Seconds) -> u64 {
        if offset.0 <= 0 {
            return 0;
        }
        let per = u128::from(self.num) * NANOS as u128;
        (offset.0 as u128 * u128::from(self.den)).div_ceil(per) as u64
    }
}

impl fmt::Debug for Tempo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{} s", self.num, self.den)
    }
}

/// Seconds per stroke with two decimals, more only where the tempo is finer than that.
impl fmt::Display for Tempo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let exact_hundredths = (self.num * 100).is_multiple_of(self.den);
        f.pad(&if exact_hundredths { format!("{:.2} s", self.as_f64()) } else { format!("{:.3} s", self.as_f64()) })
    }
}

/// The greatest common divisor; `gcd(0, n)` is `n`.
pub const fn gcd(a: u64, b: u64) -> u64 {
    let (mut a, mut b) = (a, b);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// Frames a second of an output, 8,000 to 192,000.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SampleRate(u32);

impl SampleRate {
    /// 44,100 frames a second, the default of files.
    pub const CD: Self = Self(44_100);

    /// The lowest, in frames a second.
    pub const LOWEST: u32 = 8_000;
    /// The highest, in frames a second.
    pub const HIGHEST: u32 = 192_000;

    /// `None` outside 8,000 to 192,000.
    pub const fn new(hertz: u32) -> Option<Self> {
        if hertz >= Self::LOWEST && hertz <= Self::HIGHEST { Some(Self(hertz)) } else { None }
    }

    /// Frames a second.
    pub const fn hertz(self) -> u32 {
        self.0
    }

    /// The number of whole frames nearest to a duration; negative durations give 0.
    pub fn frames(self, duration: Seconds) -> u64 {
        round_frames(duration.0.max(0) as u128, 1, self)
    }

    /// The time of a frame, rounded down to a nanosecond.
    pub fn time(self, frame: u64) -> Seconds {
        Seconds::exactly(i128::from(frame) * i128::from(NANOS) / i128::from(self.0))
    }
}

/// Onset *k* of a beat grid in frames: `round((origin + k × tempo) × rate)`, half up, in 128-bit integers.
///
/// Nothing accumulates: the error is under half a frame for any `k`. A result before frame 0 gives 0.
pub fn onset(origin: Seconds, k: u64, tempo: Tempo, rate: SampleRate) -> u64 {
    let (num, den) = exact(origin, k, tempo);
    if num <= 0 { 0 } else { round_frames(num as u128, den as u128, rate) }
}

/// The time of beat *k* of a grid, rounded to the nearest nanosecond, for text and for placing voices.
pub fn beat_time(origin: Seconds, k: u64, tempo: Tempo) -> Seconds {
    let (num, den) = exact(origin, k, tempo);
    Seconds::exactly((2 * num + den).div_euclid(2 * den))
}

/// `origin + k × tempo` in nanoseconds as a ratio.
fn exact(origin: Seconds, k: u64, tempo: Tempo) -> (i128, i128) {
    let den = i128::from(tempo.den);
    (i128::from(origin.0) * den + i128::from(k) * i128::from(tempo.num) * i128::from(NANOS), den)
}

fn round_frames(nanos_num: u128, nanos_den: u128, rate: SampleRate) -> u64 {
    let num = nanos_num * u128::from(rate.0);
    let den = nanos_den * NANOS as u128;
    ((2 * num + den) / (2 * den)) as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tempos_are_told_in_hundredths() {
        // By hand: 1.545 and 1.555 s lie half way; 52 /min is 1.1538 s.
        let of = |num, den| Tempo::from_ratio(num, den).unwrap().centis();
        assert_eq!([of(1545, 1000), of(1555, 1000), of(1544, 1000), of(60, 52), of(2, 5)], [155, 156, 154, 115, 40]);
    }

    #[test]
    fn tempo_is_exact() {
        // Arithmetic: 60/52 = 15/13.
        assert_eq!(Tempo::from_rate(52, 1), Tempo::from_ratio(15, 13));
        assert_eq!(Tempo::from_rate(547, 10), Tempo::from_ratio(600, 547));
        assert!(Tempo::from_ratio(39, 100).is_none() && Tempo::from_ratio(4, 10).is_some());
        assert!(Tempo::from_ratio(251, 100).is_none() && Tempo::from_ratio(5, 2).is_some());
        assert!(Tempo::from_ratio(0, 0).is_none() && Tempo::from_ratio(1, 0).is_none());
    }

    #[test]
    fn stroke_rates_of_a_range() {
        // Stroke tempo 1.30 to 0.85 s is 46.15 to 70.59 strokes a minute (arithmetic; the range: common practice, no source).
        let rate = |n| (Tempo::from_ratio(n, 100).unwrap().rate() * 100.0).round() / 100.0;
        assert_eq!((rate(130), rate(85)), (46.15, 70.59));
    }

    #[test]
    fn onsets_do_not_drift_in_ten_hours() {
        let tempo = Tempo::from_ratio(10_968_921_389, 10_000_000_000).unwrap();
        let origin = Seconds::from_nanos(123_456_789);
        for hertz in [8_000, 11_025, 44_100, 48_000, 96_000, 192_000] {
            let rate = SampleRate::new(hertz).unwrap();
            for k in [0, 1, 2, 1_000, 32_821] {
                // By hand in integers: nanoseconds × 10 keep this tempo exact.
                let tenths = 1_234_567_890_u128 + u128::from(k) * 10_968_921_389;
                let expected = (tenths * u128::from(hertz) + 5_000_000_000) / 10_000_000_000;
                assert_eq!(u128::from(onset(origin, k, tempo, rate)), expected, "{hertz} Hz, beat {k}");
            }
        }
    }

    #[test]
    fn largest_values_stay_in_128_bits() {
        let tempo = Tempo::from_ratio((1 << 44) - 1, (1 << 43) - 1).unwrap();
        let rate = SampleRate::new(192_000).unwrap();
        let frame = onset(LONGEST, 216_000, tempo, rate);
        let expected = (86_400.0 + 216_000.0 * tempo.as_f64()) * 192_000.0;
        assert!((frame as f64 - expected).abs() < 1.0, "{frame} {expected}");
    }

    #[test]
    fn first_beat_at_or_after() {
        let tempo = Tempo::from_ratio(11, 10).unwrap();
        for (millis, k) in [(-5, 0), (0, 0), (1, 1), (1100, 1), (1101, 2), (2200, 2)] {
            assert_eq!(tempo.first_at_or_after(Seconds::from_millis(millis)), k, "{millis} ms");
        }
    }

    #[test]
    fn times_read_as_on_deck() {
        for (millis, text) in
            [(80_000, "1:20"), (5_000, "0:05"), (62_400, "1:02.4"), (3_661_000, "1:01:01"), (59_960, "1:00")]
        {
            assert_eq!(Seconds::from_millis(millis).to_string(), text);
        }
        assert_eq!(Decimal(Seconds::from_nanos(-1_500_000_000)).to_string(), "-1.500000000");
        assert_eq!(Seconds::from_millis(61_001).ceil_to(Seconds::from_secs(5)), Seconds::from_secs(65));
        assert_eq!(Seconds::from_secs(65).ceil_to(Seconds::from_secs(5)), Seconds::from_secs(65));
    }
}
