//! Long lists as a person says them: equal neighbours once with their number, a list that comes again once with how often.

/// Equal neighbours, each with how many there are.
pub(super) fn runs<T: PartialEq>(items: impl IntoIterator<Item = T>) -> Vec<(T, u32)> {
    let mut runs: Vec<(T, u32)> = Vec::new();
    for item in items {
        match runs.last_mut() {
            Some((last, count)) if *last == item => *count += 1,
            _ => runs.push((item, 1)),
        }
    }
    runs
}

/// How a list goes round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Cycle {
    /// How many entries come before the first one comes again.
    pub(super) of: usize,
    /// How often they come; none where the last time is not whole.
    pub(super) times: Option<u32>,
}

/// The shortest beginning of a list that gives all of it by coming again.
pub(super) fn cycle<T: PartialEq>(items: &[T]) -> Cycle {
    let again = |of: &usize| items.iter().zip(items.iter().skip(*of)).all(|(one, later)| one == later);
    let of = (1..items.len()).find(again).unwrap_or(items.len());
    let whole = items.len().checked_rem(of).is_none_or(|rest| rest == 0);
    let times = items.len().checked_div(of).and_then(|times| u32::try_from(times).ok());
    Cycle { of, times: times.filter(|_| whole) }
}

/// Where a list of values turns: its ends, and each value between a rise and a fall.
pub(super) fn turns<T: PartialOrd + Copy>(values: &[T]) -> Vec<T> {
    let mut turns: Vec<T> = Vec::new();
    for value in values {
        if turns.last() == Some(value) {
            continue;
        }
        // What lies between two values on the same way is no turn.
        let passed = matches!(turns.as_slice(), [.., from, by] if (from < by) == (by < value));
        if passed {
            turns.pop();
        }
        turns.push(*value);
    }
    turns
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_are_one() {
        assert_eq!(runs("aabccc".chars()), [('a', 2), ('b', 1), ('c', 3)]);
        assert_eq!(runs(std::iter::empty::<u8>()), []);
    }

    #[test]
    fn lists_go_round() {
        let of = |text: &str| {
            let cycle = cycle(&text.chars().collect::<Vec<_>>());
            (cycle.of, cycle.times)
        };
        assert_eq!(of("abab"), (2, Some(2)));
        assert_eq!(of("aaaa"), (1, Some(4)));
        assert_eq!(of("abc"), (3, Some(1)));
        assert_eq!(of("ababa"), (2, None));
        assert_eq!(of("abcab"), (3, None));
        assert_eq!(of("aba"), (2, None));
        assert_eq!(of(""), (0, None));
    }

    #[test]
    fn pyramids_turn_once() {
        assert_eq!(turns(&[50, 100, 150, 100, 50]), [50, 150, 50]);
        assert_eq!(turns(&[50, 50, 100, 100]), [50, 100]);
        assert_eq!(turns(&[100, 50, 100, 50]), [100, 50, 100, 50]);
        assert_eq!(turns(&[100, 100]), [100]);
    }
}
