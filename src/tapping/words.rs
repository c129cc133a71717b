//! What taps come to, in words: the same on the screen, in the report and in questions.

use super::breaths::TappedBreaths;
use super::length::{TappedLength, TappedTempo, TempoDrift};
use super::place::TapDoubt;

/// The scatter of a person's taps about a beat that is expected, as a standard deviation in seconds: 0.02 to 0.04 s in the
/// literature on tapping to a beat (from memory).
pub const HAND_SCATTER: (f64, f64) = (0.02, 0.04);

/// How far the tempo of so many strokes is off by the taps alone, at 95 %, in seconds: of a slope by least squares the standard
/// error is σ √(12 / (n (n² − 1))), since the squares of n even steps about their mean sum up to n (n² − 1) / 12 (any
/// textbook of linear regression).
pub fn tap_error(strokes: u32, scatter: f64) -> f64 {
    let n = f64::from(strokes.max(2));
    1.96 * scatter * libm::sqrt(12.0 / (n * (n * n - 1.0)))
}

/// What every report says of its own error; of a slowed film the same hand is so much more exact.
pub fn own_error(film_speed: f64) -> String {
    let (least, most) = (HAND_SCATTER.0 * film_speed, HAND_SCATTER.1 * film_speed);
    format!(
        "± holds in 95 of 100. A hand that taps {:.0} to {:.0} ms off makes {:.3} to {:.3} s of it over 19 strokes, a key on its way \
         far less.\nA first or last tap that is missing cannot be told: watch the walls",
        least * 1e3,
        most * 1e3,
        tap_error(19, least),
        tap_error(19, most)
    )
}

/// `19 strokes`, `19 tapped, or 20 with one missed tap`.
pub fn count(length: &TappedLength) -> String {
    match length.count {
        Some(count) => strokes(count),
        None => format!("{} tapped{}", length.tapped, or(length)),
    }
}

/// What asks for the count: `19, or 20 with one missed tap?`. None where there is nothing to ask.
pub fn question(length: &TappedLength) -> Option<String> {
    length.count.is_none().then(|| format!("{}{}?", length.tapped, or(length)))
}

fn or(length: &TappedLength) -> String {
    let (mut missed, mut double) = (0, 0);
    for doubt in &length.doubts {
        match doubt {
            TapDoubt::Missed { taps, .. } => missed += taps,
            TapDoubt::Double { .. } => double += 1,
            TapDoubt::Pause { gap, .. } => return format!(", with a gap of {gap:.1} s"),
        }
    }
    let number = |count: u32| if count == 1 { "one".to_owned() } else { count.to_string() };
    let taps = |count: u32| if count == 1 { "tap" } else { "taps" };
    let likely = length.likely.unwrap_or(length.tapped);
    match (missed, double) {
        (missed, 0) => format!(", or {likely} with {} missed {}", number(missed), taps(missed)),
        (0, double) => format!(", or {likely} without {} double {}", number(double), taps(double)),
        (missed, double) => format!(", or {likely} with {missed} missed and without {double} double {}", taps(double)),
    }
}

fn strokes(count: u32) -> String {
    format!("{count} {}", if count == 1 { "stroke" } else { "strokes" })
}

/// What is in doubt, and where.
pub fn doubt(doubt: &TapDoubt) -> String {
    match doubt {
        TapDoubt::Missed { after, taps: 1, gap } => format!("a tap may be missing after tap {after}: {gap:.2} s"),
        TapDoubt::Missed { after, taps, gap } => format!("{taps} taps may be missing after tap {after}: {gap:.2} s"),
        TapDoubt::Double { tap, gap } => format!("tap {tap} may be a double: {gap:.2} s after the one before"),
        TapDoubt::Pause { after, gap } => {
            format!("a gap of {gap:.1} s after tap {after}: a stop, or a wall that was not tapped")
        }
    }
}

/// `1.08 s ± 0.01`: the interval is rounded up, so that it never claims too much.
pub fn tempo(tempo: &TappedTempo) -> String {
    match tempo.within {
        Some(within) => format!("{:.2} s ± {:.2}", tempo.seconds, up(within)),
        None => format!("{:.2} s", tempo.seconds),
    }
}

/// Hundredths, rounded up, at least one.
fn up(seconds: f64) -> f64 {
    (libm::ceil(seconds * 100.0 - 1e-9) / 100.0).max(0.01)
}

/// `55.6 a minute`.
pub fn rate(seconds: f64) -> String {
    format!("{:.1} a minute", 60.0 / seconds)
}

/// How the tempo changed within the length.
pub fn drift(drift: &TempoDrift) -> String {
    let TempoDrift { first, second, within } = drift;
    let halves = format!("first half {first:.2} s, second {second:.2} s");
    let by = format!("{:.2} s ± {:.2}", drift.slower().abs(), up(*within));
    match (drift.is_seen(), drift.slower() > 0.0) {
        (true, true) => format!("it slows: {halves} ({by})"),
        (true, false) => format!("it quickens: {halves} ({by})"),
        (false, _) => format!("no drift to be seen: {halves} (± {:.2})", up(*within)),
    }
}

/// The pattern and the sides; none where nobody tapped a breath.
pub fn breaths(breaths: &TappedBreaths) -> Option<String> {
    if breaths.count() == 0 {
        return None;
    }
    let mut parts = Vec::new();
    match breaths.every {
        Some((every, times, all)) if times == all => parts.push(format!("every {every}")),
        Some((every, times, all)) => parts.push(format!("mostly every {every} ({times} of {all})")),
        None => {}
    }
    let side = |count: u32, side: &str| (count > 0).then(|| format!("{count} {side}"));
    let said = [side(breaths.left, "left"), side(breaths.right, "right")];
    parts.extend(said.into_iter().flatten());
    if breaths.unsaid > 0 && breaths.left + breaths.right > 0 {
        parts.push(format!("{} to a side not tapped", breaths.unsaid));
    } else if breaths.unsaid > 0 {
        let gaps = breaths.every.map_or(0, |(.., all)| all);
        let sides = match breaths.turned {
            _ if gaps == 0 => "a side not tapped",
            0 => "one side",
            turned if turned == gaps => "both sides in turn",
            _ => "both sides",
        };
        parts.push(format!("{} to {sides}", breaths.unsaid));
    }
    Some(format!("breaths: {}", parts.join(", ")))
}

/// A tempo that no swimmer has who is tapped at each hand.
pub fn odd_tempo(seconds: f64) -> Option<String> {
    // Tempos over 2 s are known of nobody who swims lengths; common practice, no source.
    let slow = format!("{seconds:.2} s is slow for a stroke: tap each hand that goes in, left and right");
    let quick = format!("{seconds:.2} s is quicker than anybody's stroke: is --film-speed right?");
    match seconds {
        slow_one if slow_one > 2.0 => Some(slow),
        quick_one if quick_one < 0.4 => Some(quick),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_count_asks_and_never_decides() {
        let length = |tapped, likely, doubts: Vec<TapDoubt>| {
            let count = doubts.is_empty().then_some(tapped);
            TappedLength { tapped, likely, doubts, count, ..TappedLength::default() }
        };
        let missed = |taps| TapDoubt::Missed { after: 7, taps, gap: 2.17 };
        let double = TapDoubt::Double { tap: 9, gap: 0.08 };
        for (length, words) in [
            (length(19, Some(20), vec![missed(1)]), Some("19, or 20 with one missed tap?")),
            (length(17, Some(20), vec![missed(1), missed(2)]), Some("17, or 20 with 3 missed taps?")),
            (length(21, Some(20), vec![double]), Some("21, or 20 without one double tap?")),
            (length(20, Some(20), vec![missed(1), double]), Some("20, or 20 with 1 missed and without 1 double tap?")),
            (length(12, None, vec![TapDoubt::Pause { after: 6, gap: 5.12 }]), Some("12, with a gap of 5.1 s?")),
            (length(19, Some(19), vec![]), None),
        ] {
            assert_eq!(question(&length).as_deref(), words);
        }
        assert_eq!(count(&length(1, Some(1), vec![])), "1 stroke");
    }

    #[test]
    fn intervals_are_rounded_up() {
        let of = |within| tempo(&TappedTempo { seconds: 1.0849, within, median: 1.08, spread: None });
        assert_eq!(
            (of(Some(0.0101)), of(Some(0.01)), of(Some(0.0))),
            ("1.08 s ± 0.02".into(), "1.08 s ± 0.01".into(), "1.08 s ± 0.01".into())
        );
        assert_eq!(of(None), "1.08 s");
        let of = |second, within| drift(&TempoDrift { first: 1.05, second, within });
        assert_eq!(of(1.12, 0.051), "it slows: first half 1.05 s, second 1.12 s (0.07 s ± 0.06)");
        assert_eq!(of(1.07, 0.05), "no drift to be seen: first half 1.05 s, second 1.07 s (± 0.05)");
        assert!(of(0.95, 0.05).starts_with("it quickens"));
    }

    #[test]
    fn breaths_in_words() {
        let of = |left, right, unsaid, every, turned| breaths(&TappedBreaths { left, right, unsaid, every, turned });
        assert_eq!(of(0, 0, 0, None, 0), None);
        for (breaths, words) in [
            (of(3, 2, 0, Some((3, 4, 4)), 4), "breaths: every 3, 3 left, 2 right"),
            (of(0, 0, 5, Some((3, 4, 4)), 4), "breaths: every 3, 5 to both sides in turn"),
            (of(0, 0, 5, Some((2, 3, 4)), 0), "breaths: mostly every 2 (3 of 4), 5 to one side"),
            (of(1, 0, 2, Some((2, 2, 2)), 0), "breaths: every 2, 1 left, 2 to a side not tapped"),
            (of(0, 0, 1, None, 0), "breaths: 1 to a side not tapped"),
        ] {
            assert_eq!(breaths.as_deref(), Some(words));
        }
    }

    #[test]
    fn the_error_of_taps_is_that_of_a_slope() {
        // 1.96 times the standard error of a slope through 19 points one step apart of standard deviation 0.03:
        // 0.03 / √570, numpy 2.4.6: 1.96 * 0.03 / numpy.sqrt(((numpy.arange(19) - 9) ** 2).sum()) = 0.0024628.
        assert!((tap_error(19, 0.03) - 0.002_462_84).abs() < 1e-6, "{}", tap_error(19, 0.03));
    }
}
