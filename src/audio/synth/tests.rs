//! The synthesised sounds against what was asked of them.

use super::*;

const RATES: [u32; 6] = [8_000, 11_025, 24_000, 44_100, 96_000, 192_000];

const INSTRUMENTS: [(&str, Instrument); 5] = [
    ("wood", Instrument::WOOD),
    ("bell", Instrument::BELL),
    ("tick", Instrument::TICK),
    ("low", Instrument::LOW),
    ("high", Instrument::HIGH),
];

/// A beat at the instrument's own pitch and length where none is given.
fn strike(instrument: &Instrument, pitch: Option<u32>, millis: Option<i64>, rate: SampleRate) -> Vec<f32> {
    let len = millis.map_or(instrument.len, Seconds::from_millis);
    beat(instrument, pitch.unwrap_or(instrument.pitch), len, rate)
}

/// Every sound, named, at a rate.
fn all(rate: SampleRate) -> Vec<(String, Vec<f32>)> {
    let mut all: Vec<_> = INSTRUMENTS
        .iter()
        .flat_map(|&(name, instrument)| {
            [(None, None), (Some(4_000), Some(20)), (Some(200), Some(200))]
                .map(|(pitch, len)| (format!("{name} {pitch:?} {len:?}"), strike(&instrument, pitch, len, rate)))
        })
        .collect();
    all.push(("breath".into(), breath(rate, [600.0, 900.0])));
    all.push(("wall".into(), wall(rate)));
    all.push(("pip".into(), pip(rate)));
    all.push(("go".into(), go(rate)));
    all
}

fn rates() -> impl Iterator<Item = SampleRate> {
    RATES.into_iter().filter_map(SampleRate::new)
}

/// Power of a frequency, by Goertzel's sum under a Hann window.
fn power(samples: &[f32], hertz: f64, rate: SampleRate) -> f64 {
    let (mut re, mut im) = (0.0, 0.0);
    for (i, &x) in samples.iter().enumerate() {
        let window = 0.5 - 0.5 * libm::cos(TAU * (i as f64 + 0.5) / samples.len() as f64);
        let angle = TAU * hertz * i as f64 / f64::from(rate.hertz());
        re += window * f64::from(x) * libm::cos(angle);
        im += window * f64::from(x) * libm::sin(angle);
    }
    re * re + im * im
}

#[test]
fn onsets_are_on_the_first_frame_and_full_within_5_ms() {
    for rate in rates() {
        for (name, samples) in all(rate) {
            let rounded = samples.first().map_or(0.0, |x| (x * 32_768.0).round().abs());
            assert!(rounded >= 64.0, "{name} at {rate:?} begins with {rounded}");
            let early = &samples[..samples.len().min(rate.hertz() as usize / 200)];
            let peak = early.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
            // The lowest pitch has a single period in 5 ms, in which its partials do not meet.
            let least = if name.contains("Some(200)") { 0.75 } else { 0.85 };
            assert!(peak > least, "{name} at {rate:?} reaches {peak} in 5 ms");
        }
    }
}

#[test]
fn nothing_clips_or_clicks_at_the_end() {
    for rate in rates() {
        for (name, samples) in all(rate).into_iter().chain([("placeholder".to_owned(), placeholder(rate))]) {
            let peak = samples.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
            assert!((0.97..0.98).contains(&peak), "{name}: {peak}");
            assert!(samples.last().unwrap().abs() < 1e-3, "{name} at {rate:?} ends on {:?}", samples.last());
            // The last millisecond is quiet: −20 dB.
            let end = &samples[samples.len() - rate.hertz() as usize / 1_000..];
            assert!(end.iter().all(|x| x.abs() < 0.1), "{name} at {rate:?}");
        }
    }
}

#[test]
fn lengths_are_those_asked_for() {
    for rate in rates() {
        for (_, instrument) in INSTRUMENTS {
            let own = instrument.len;
            assert!(own >= Seconds::from_millis(40) && own <= Seconds::from_millis(80));
            assert_eq!(strike(&instrument, None, None, rate).len() as u64, rate.frames(own));
            assert_eq!(strike(&instrument, None, Some(137), rate).len() as u64, rate.frames(Seconds::from_millis(137)));
        }
    }
}

#[test]
fn pitches_are_those_asked_for() {
    let rate = SampleRate::CD;
    for (_, instrument) in INSTRUMENTS {
        for pitch in [None, Some(400), Some(1_234), Some(3_000)] {
            let samples = strike(&instrument, pitch, Some(200), rate);
            let expected = f64::from(pitch.unwrap_or(instrument.pitch));
            let here = power(&samples, expected, rate);
            for beside in [0.5, 0.8, 0.93, 1.07, 1.25, 1.9] {
                assert!(here > 3.0 * power(&samples, beside * expected, rate), "{instrument:?} {pitch:?} at {beside}");
            }
        }
    }
}

#[test]
fn no_partial_lies_above_its_limit() {
    // 4 kHz at a rate of 8 kHz would be at the very edge: the pitch is brought down to 3.6 kHz.
    let rate = SampleRate::new(8_000).unwrap();
    for (_, instrument) in INSTRUMENTS {
        let samples = strike(&instrument, Some(4_000), Some(200), rate);
        assert!(power(&samples, 3_600.0, rate) > 100.0 * power(&samples, 3_950.0, rate), "{instrument:?}");
    }
}

#[test]
fn signals_are_unlike_beats() {
    let rate = SampleRate::CD;
    let quarter = |samples: &[f32], part: usize| -> f64 {
        let quarter = samples.len() / 4;
        samples[part * quarter..(part + 1) * quarter].iter().map(|&x| f64::from(x) * f64::from(x)).sum()
    };
    // Beats fall at once; pip and go hold their level; the go is higher and longer.
    for (_, instrument) in INSTRUMENTS {
        let samples = strike(&instrument, None, None, rate);
        assert!(quarter(&samples, 2) < 0.25 * quarter(&samples, 0), "{instrument:?}");
    }
    let (pip, go) = (pip(rate), go(rate));
    assert!(quarter(&pip, 2) > 0.8 * quarter(&pip, 0) && quarter(&go, 2) > 0.8 * quarter(&go, 0));
    assert!(go.len() >= 4 * pip.len());
    assert!(power(&pip, 587.33, rate) > 1e3 * power(&pip, 880.0, rate));
    assert!(power(&go, 880.0, rate) > 1e3 * power(&go, 587.33, rate));
    // The breath mark's two halves have each a pitch of their own.
    let breath = breath(rate, [600.0, 900.0]);
    let (first, second) = breath.split_at(breath.len() * 9 / 20);
    assert!(power(first, 600.0, rate) > 10.0 * power(first, 900.0, rate));
    assert!(power(second, 900.0, rate) > 10.0 * power(second, 600.0, rate));
}

#[test]
fn the_mark_of_a_wall_is_the_only_sound_that_falls() {
    let rate = SampleRate::CD;
    let wall = wall(rate);
    // In its first fifth it is near 720 Hz, in its fourth near 530: what is strong in one part is weak in the other.
    let fifth = wall.len() / 5;
    let (early, late) = (&wall[..fifth], &wall[3 * fifth..4 * fifth]);
    assert!(power(early, 696.0, rate) > 10.0 * power(early, 552.0, rate));
    assert!(power(late, 552.0, rate) > 10.0 * power(late, 696.0, rate));
    assert!(wall.len() > breath(rate, [600.0, 900.0]).len() && wall.len() > sight(rate).len());
    assert!(wall.len() < go(rate).len());
}
