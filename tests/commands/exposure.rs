//! The sound exposure that a render tells, against the file that it wrote.

#![expect(clippy::disallowed_methods, reason = "the platform's maths is the one that is not the program's own")]

use crate::cases::amount;
use crate::material::{samples, script};
use crate::run::Run;
use std::f64::consts::TAU;

const PRACTICE: &str = "  - { set: One, swim: 2 x 25 m on 0:50, tempo: 1.20 s, focus: [reach-forward, head-still] }\n";

/// A-weighting, squared, 1 at 1 kHz: the formula of IEC 61672-1 (secondary source).
fn weight(hertz: f64) -> f64 {
    let ra = |f: f64| {
        let f2 = f * f;
        let [a, b, c, d] = [20.6_f64, 107.7, 737.9, 12_194.0].map(|pole| f2 + pole * pole);
        12_194.0 * 12_194.0 * f2 * f2 / (a * (b * c).sqrt() * d)
    };
    (ra(hertz) / ra(1_000.0)).powi(2)
}

/// The weighted energy of samples of ±1 by a plain Fourier transform of each block, in samples.
fn energy(samples: &[f64]) -> f64 {
    const N: usize = 1_024;
    let table: Vec<(f64, f64)> = (0..N).map(|n| (TAU * n as f64 / N as f64).sin_cos()).collect();
    let mut sum = 0.0;
    for block in samples.chunks(N).filter(|block| block.iter().any(|x| *x != 0.0)) {
        for k in 1..N / 2 {
            let (mut re, mut im) = (0.0, 0.0);
            for (n, x) in block.iter().enumerate() {
                let (sin, cos) = table[n * k % N];
                re += x * cos;
                im += x * sin;
            }
            // Parseval: both halves of the spectrum.
            sum += 2.0 * (re * re + im * im) / N as f64 * weight(k as f64 * 44_100.0 / N as f64);
        }
    }
    sum
}

#[test]
fn the_level_reported_is_that_of_the_file() {
    let practice = PRACTICE.replace("2 x 25 m on 0:50", amount("25 m", "2 x 25 m on 0:50"));
    let run = Run::new("render a.yaml --json --max-level 94dBA").file("a.yaml", script(&practice));
    let ran = run.run();
    let told = ran.json()["exposure"].clone();
    let left: Vec<f64> = samples(&ran.path("a.wav")).into_iter().step_by(2).map(|x| f64::from(x) / 32_768.0).collect();
    // A sine of full scale has a mean square of one half, and is 94 dBA by what was asked.
    let laeq = 94.0 + 10.0 * (2.0 * energy(&left) / left.len() as f64).log10();
    let number = |name: &str| told[name].as_f64().unwrap();
    assert!((number("laeq_dba") - laeq).abs() < 0.3, "{told} {laeq}");
    // From the level and the time alone: NIOSH 98-126, ITU-T H.870 (1.6 Pa²h).
    let hours = left.len() as f64 / 44_100.0 / 3_600.0;
    let dose = 100.0 * hours / 8.0 * 2.0_f64.powf((laeq - 85.0) / 3.0);
    let week = 100.0 * 4e-10 * 10.0_f64.powf(laeq / 10.0) * hours / 1.6;
    assert!((number("niosh_dose_percent") - dose).abs() < 0.1 * dose + 0.01, "{told} {dose}");
    assert!((number("week_percent") - week).abs() < 0.1 * week + 0.01, "{told} {week}");
    assert!(told["how"].as_str().unwrap().contains("estimate") && told["caution"] == false);
}

#[test]
fn a_loud_player_is_a_caution_and_the_profile_knows_it() {
    let profile =
        "lengthwise-profile: 1\npool: 25 m\nstroke: [{ tempo: 1.30 s, count: 19 }]\nplayer: { loudest: 130 dBA }\n";
    // Long enough that the caution does not hang on how long the talk takes.
    let practice = script(&PRACTICE.replace("2 x 25 m", "6 x 25 m"));
    let run = Run::new("render a.yaml --swimmer p.yaml").file("a.yaml", practice).file("p.yaml", profile);
    let ran =
        run.stdout("At the ear, estimated: ").stdout("if a full-scale tone is 130.0 dBA").stdout("Caution: ").run();
    // The level of the command line comes before that of the profile; a child's week is 5 dB less.
    let softer = ran.then("render a.yaml --swimmer p.yaml --force --max-level 80dBA --sensitive-ears").run();
    assert!(softer.stdout.contains("80.0 dBA") && softer.stdout.contains("a child's"), "{}", softer.stdout);
    assert!(!softer.stdout.contains("Caution"), "{}", softer.stdout);
    ran.then("render a.yaml --swimmer p.yaml --force --max-level loud").exit(2).stderr("loudest level").run();
    ran.then("render a.yaml --force --max-level 140dBA").exit(2).stderr("40 to 130 dBA").run();
    let silent = ran.then("render a.yaml --force").run();
    assert!(!silent.stdout.contains("At the ear"), "unasked: {}", silent.stdout);
    ran.then("render a.yaml --force --sensitive-ears").exit(3).stderr("give --max-level").run();
}
