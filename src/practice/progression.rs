//! A tempo or a pace for each repeat, from one value, a list or a range.

use crate::diag::{Code, Diagnostic, Span, Spanned};
use crate::script::{Progression, Range, UsualTempo, Values, Written};
use crate::swimmer::Swimmer;
use crate::units::swim::Pace;
use crate::units::time::{NANOS, Seconds, Tempo};

/// The share by which neighbouring tempos must differ to be heard: Friberg & Sundberg 1995, for intervals over 240 ms.
const JUST_NOTICED: f64 = 0.025;

/// A quantity that can run in even steps: as a ratio of the unit written.
pub trait Steps: Sized + Copy + PartialEq {
    /// The value in the unit written.
    fn ratio(self, per_minute: bool) -> (u128, u128);
    /// Back from the unit written.
    fn from_ratio(num: u128, den: u128, per_minute: bool) -> Option<Self>;
}

impl Steps for Tempo {
    fn ratio(self, per_minute: bool) -> (u128, u128) {
        let (num, den) = (u128::from(self.num()), u128::from(self.den()));
        if per_minute { (60 * den, num) } else { (num, den) }
    }

    fn from_ratio(num: u128, den: u128, per_minute: bool) -> Option<Self> {
        let (num, den) = if per_minute { (60 * den, num) } else { (num, den) };
        let common = gcd(num, den).max(1);
        let exact = u64::try_from(num / common).ok().zip(u64::try_from(den / common).ok());
        // A step so fine that it has no small ratio is taken to the nanosecond.
        let nanos = || (num.checked_mul(NANOS as u128)? / den.max(1)).try_into().ok();
        exact.and_then(|(n, d)| Self::from_ratio(n, d)).or_else(|| Self::from_ratio(nanos()?, NANOS as u64))
    }
}

impl Steps for Pace {
    fn ratio(self, _: bool) -> (u128, u128) {
        (self.per_hundred().nanos().unsigned_abs().into(), NANOS as u128)
    }

    fn from_ratio(num: u128, den: u128, _: bool) -> Option<Self> {
        let nanos = num.checked_mul(NANOS as u128)? / den.max(1);
        Self::new(Seconds::from_nanos(nanos.try_into().ok()?))
    }
}

/// The tempo that lies so far from a swimmer's usual one; `None` outside what a tempo may be.
pub fn tempo_from(_: UsualTempo, plus: Seconds, swimmer: &Swimmer) -> Option<Tempo> {
    let (num, den) = (i128::from(swimmer.usual.num()), i128::from(swimmer.usual.den()));
    let num = num * i128::from(NANOS) + i128::from(plus.nanos()) * den;
    Steps::from_ratio(u128::try_from(num).ok()?, (den * i128::from(NANOS)).unsigned_abs(), false)
}

/// The same progression with every value as it comes to for one swimmer. `at` finds it from a base; where there is none,
/// `none` says so.
pub fn resolve<T: Copy, B: Copy>(
    written: &Spanned<Progression<Written<T, B>>>,
    at: impl Fn(B, Seconds) -> Option<T>,
    none: impl Fn(B, Seconds) -> String,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<Spanned<Progression<T>>> {
    let mut one = |value: &Written<T, B>, span: Span| match *value {
        Written::Fixed(value) => Some(value),
        Written::Following { base, plus } => at(base, plus).or_else(|| {
            let problem = Diagnostic::at(Code::OutOfRange, span, none(base, plus));
            diagnostics.push(problem.hint("add or take away less, or write one value for everybody"));
            None
        }),
    };
    let shape = match &written.value.shape {
        Values::One(value) => Values::One(one(value, written.span)?),
        Values::List(list) => Values::List(list.iter().map(|value| one(value, written.span)).collect::<Option<_>>()?),
        Values::Range(range) => {
            let (from, to) = (one(&range.from.value, range.from.span), one(&range.to.value, range.to.span));
            let (from, to) = (Spanned::new(from?, range.from.span), Spanned::new(to?, range.to.span));
            Values::Range(Range { from, to, step: range.step })
        }
    };
    Some(Spanned::new(Progression { shape, per_minute: written.value.per_minute }, written.span))
}

/// The values of a round's `repeats`: one value where it never changes, else one for each.
pub fn values<T: Steps>(
    progression: &Spanned<Progression<T>>,
    repeats: u32,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<T> {
    match &progression.value.shape {
        Values::One(value) => vec![*value],
        Values::List(list) if list.len() > repeats as usize => {
            let message = format!("{} values for {repeats} repeats: the last would never be swum", list.len());
            diagnostics.push(Diagnostic::at(Code::RangeDisagrees, progression.span, message));
            Vec::new()
        }
        Values::List(list) => list.iter().copied().cycle().take(repeats as usize).collect(),
        Values::Range(range) => match steps(range, progression.value.per_minute, repeats, progression.span) {
            Ok(values) => values,
            Err(diagnostic) => {
                diagnostics.push(*diagnostic);
                Vec::new()
            }
        },
    }
}

/// Cautions where two neighbouring tempos differ by less than a swimmer can hear.
pub fn check_audible(tempos: &[Tempo], span: Span) -> Option<Diagnostic> {
    let share = |a: Tempo, b: Tempo| (b.as_f64() / a.as_f64() - 1.0).abs();
    let pairs = tempos.iter().zip(tempos.iter().skip(1));
    let (a, b) = pairs.filter(|(a, b)| a != b).find(|(a, b)| share(**a, **b) < JUST_NOTICED)?;
    let message = format!("a step from {a} to {b} is {:.1} %; under 2.5 % it is not heard", 100.0 * share(*a, *b));
    Some(Diagnostic::at(Code::StepTooSmall, span, message).hint("take larger steps, or fewer of them"))
}

fn steps<T: Steps>(range: &Range<T>, per_minute: bool, repeats: u32, span: Span) -> Result<Vec<T>, Box<Diagnostic>> {
    let disagree = |message: &str, hint: &str| Box::new(Diagnostic::at(Code::RangeDisagrees, span, message).hint(hint));
    if repeats < 2 {
        return Err(disagree("a range over one repeat", "give one value, or more repeats"));
    }
    let (a, b) = (range.from.value.ratio(per_minute), range.to.value.ratio(per_minute));
    let (low, high) = (a.0 * b.1, b.0 * a.1);
    if let Some(step) = &range.step {
        let (step_num, step_den) = (u128::from(step.value.0), u128::from(step.value.1));
        // |to − from| = (repeats − 1) × step, over the common denominator.
        let distance = low.abs_diff(high) * step_den;
        let one = step_num * a.1 * b.1;
        if one == 0 || distance != one * u128::from(repeats - 1) {
            let fits = if one > 0 && distance.is_multiple_of(one) {
                format!("it makes {} repeats, the set has {repeats}", distance / one + 1)
            } else {
                "the step does not lead from one to the other".into()
            };
            let message = format!("from, to and step disagree: {fits}");
            return Err(disagree(&message, "leave `step` out for even steps over the repeats"));
        }
    }
    let last = u128::from(repeats - 1);
    let value = |i: u128| {
        // from × (last − i) / last + to × i / last
        T::from_ratio(low * (last - i) + high * i, a.1 * b.1 * last, per_minute)
    };
    (0..=last)
        .map(value)
        .collect::<Option<Vec<T>>>()
        .ok_or_else(|| disagree("a step of this range is out of range", "keep tempos within 0.4 to 2.5 s"))
}

fn gcd(a: u128, b: u128) -> u128 {
    let (mut a, mut b) = (a, b);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::Sources;

    fn range<T>(from: T, to: T, step: Option<(u64, u64)>, per_minute: bool) -> Spanned<Progression<T>> {
        let span = Span::new(Sources::new().add("a", "b"), 0, 1);
        let at = |value| Spanned::new(value, span);
        let step = step.map(|step| Spanned::new(step, span));
        let shape = Values::Range(Range { from: at(from), to: at(to), step });
        Spanned::new(Progression { shape, per_minute }, span)
    }

    fn centis(tempos: &[u64]) -> Vec<Tempo> {
        tempos.iter().map(|t| Tempo::from_centis(*t)).collect()
    }

    #[test]
    fn even_steps_are_exact() {
        let mut found = Vec::new();
        let down = range(Tempo::from_centis(130), Tempo::from_centis(95), None, false);
        assert_eq!(values(&down, 8, &mut found), centis(&[130, 125, 120, 115, 110, 105, 100, 95]));
        let exact = range(Tempo::from_centis(130), Tempo::from_centis(100), None, false);
        assert_eq!(values(&exact, 8, &mut found)[1], Tempo::from_ratio(88, 70).unwrap());
        let rates = range(Tempo::from_rate(50, 1).unwrap(), Tempo::from_rate(60, 1).unwrap(), None, true);
        assert_eq!(values(&rates, 3, &mut found)[1], Tempo::from_rate(55, 1).unwrap());
        let paces = range(
            Pace::new(Seconds::from_secs(125)).unwrap(),
            Pace::new(Seconds::from_secs(110)).unwrap(),
            None,
            false,
        );
        assert_eq!(values(&paces, 4, &mut found)[1].per_hundred(), Seconds::from_secs(120));
        assert!(found.is_empty());
    }

    #[test]
    fn a_step_must_agree() {
        let ladder = |step| range(Tempo::from_centis(130), Tempo::from_centis(110), Some(step), false);
        let mut found = Vec::new();
        assert_eq!(values(&ladder((1, 20)), 5, &mut found).len(), 5);
        assert!(found.is_empty());
        for (step, repeats) in [((1, 20), 6), ((3, 100), 5), ((0, 1), 5)] {
            assert!(values(&ladder(step), repeats, &mut found).is_empty());
        }
        assert!(found.iter().all(|d| d.code == Code::RangeDisagrees) && found.len() == 3);
        assert!(found[0].message.contains("it makes 5 repeats, the set has 6"), "{}", found[0].message);
    }

    #[test]
    fn lists_cycle_and_are_used_up() {
        let list = |n: &[u64]| {
            Spanned::new(
                Progression { shape: Values::List(centis(n)), per_minute: false },
                range(Tempo::from_centis(1), Tempo::from_centis(1), None, false).span,
            )
        };
        let mut found = Vec::new();
        assert_eq!(values(&list(&[130, 110]), 5, &mut found), centis(&[130, 110, 130, 110, 130]));
        assert!(values(&list(&[130, 120, 110]), 2, &mut found).is_empty());
        assert_eq!(found.len(), 1);
    }

    #[test]
    fn small_steps_are_not_heard() {
        // Friberg & Sundberg 1995: 2.5 % for intervals over 240 ms.
        let span = range(Tempo::from_centis(1), Tempo::from_centis(1), None, false).span;
        assert!(check_audible(&centis(&[100, 98]), span).is_some());
        assert!(check_audible(&centis(&[100, 97, 97]), span).is_none());
    }
}
