//! Plans against numbers that nobody here made up: arithmetic of the trade, published measurements, definitions. Each
//! names its source; the sound's outside values are beside the code that makes sound.

use crate::material::script;
use crate::run::Run;
use serde_json::Value;

/// One number of every repeat of a plan.
fn each(plan: &Value, key: &str) -> Vec<f64> {
    let sets = plan["sets"].as_array().unwrap().iter();
    sets.flat_map(|set| set["repeats"].as_array().unwrap()).map(|repeat| repeat[key].as_f64().unwrap()).collect()
}

fn planned(practice: &str) -> Value {
    Run::new("check a.yaml --json").file("a.yaml", script(practice)).run().json()
}

#[test]
fn starts_fall_on_the_marks_of_the_pace_clock() {
    // The marks of a send-off on a sixty-second clock, 60/gcd(send-off, 60) of them: convention of pace clocks; the
    // sequences by arithmetic.
    let marks: [(&str, &[u32]); 3] = [
        ("1:35", &[60, 35, 10, 45, 20, 55, 30, 5, 40, 15, 50, 25]),
        ("1:10", &[60, 10, 20, 30, 40, 50]),
        ("1:20", &[60, 20, 40]),
    ];
    for (send_off, marks) in marks {
        let plan = planned(&format!("  - {{ set: Fifties, swim: 24 x 50 m on {send_off}, effort: fast }}\n"));
        let goes = each(&plan, "start_s");
        let found: Vec<u32> = goes.iter().map(|go| ((go - goes[0]) % 60.0) as u32).collect();
        let expected: Vec<u32> = marks.iter().map(|mark| mark % 60).cycle().take(24).collect();
        assert_eq!(found, expected, "on {send_off}");
    }
}

#[test]
fn tempos_are_exact() {
    // 60/52 = 15/13 s, and 1.30 to 0.95 s in eight even steps: arithmetic.
    let practice = "  - { set: Rate, swim: 50 m, tempo: 52 /min }\n";
    let ran = Run::new("check a.yaml --timeline").file("a.yaml", script(practice)).run();
    let row = |line: &str| line.split('\t').map(str::to_owned).collect::<Vec<_>>();
    let rows: Vec<Vec<String>> = ran.stdout.lines().map(row).collect();
    let go: u64 = rows.iter().find(|row| row[2] == "go").unwrap()[0].replace('.', "").parse().unwrap();
    let beats: Vec<u64> =
        rows.iter().filter(|row| row[2] == "beat").map(|row| row[0].replace('.', "").parse().unwrap()).collect();
    assert!(beats.len() > 40);
    for (k, beat) in (0..).zip(beats) {
        assert_eq!(beat - go, (k * 15_000_000_000 + 6) / 13, "beat {k}");
    }
    let plan = planned("  - { set: Down, swim: 8 x 25 m, rest: 30 s, tempo: { from: 1.30 s, to: 0.95 s } }\n");
    assert_eq!(each(&plan, "tempo_s"), [1.30, 1.25, 1.20, 1.15, 1.10, 1.05, 1.00, 0.95]);
}

#[test]
fn yards_are_converted_exactly() {
    // International yard: 0.9144 m exactly (agreement of 1959, from memory); 25 yd = 22.86 m.
    let text = script("  - { set: Yards, swim: 2 x 25 yd, rest: 30 s }\n  - { set: Mile, swim: 1650 yd }\n");
    let plan = Run::new("check a.yaml --json").file("a.yaml", text.replace("25 m\n", "25 yd\n")).run().json();
    assert_eq!(each(&plan, "distance_m"), [22.86, 22.86, 1508.76]);
    assert_eq!((plan["distance_m"].as_f64(), plan["pool"].as_str()), (Some(1554.48), Some("25 yd")));
    assert_eq!(each(&plan, "lengths"), [1.0, 1.0, 66.0]);
}

#[test]
fn breaths_fall_on_the_sides_of_their_pattern() {
    // Every 3 or 5 strokes alternates sides, every 2 or 4 stays on one: Sensors 2022, 22:2324.
    for (side, first, other) in [("right", "right", "left"), ("left", "left", "right")] {
        let profile = format!(
            "lengthwise-profile: 1\npool: 25 m\nside: {side}\nstroke: [{{ tempo: 1.30 s, count: 19 }}, {{ tempo: 1 s, count: 22 }}]\n"
        );
        for every in 2..=5 {
            let practice = format!("  - {{ set: Air, swim: 25 m, tempo: 1.10 s, breathe: every {every} }}\n");
            let run = Run::new("check a.yaml --json --swimmer p.yaml").file("a.yaml", script(&practice));
            let plan = run.file("p.yaml", &profile).run().json();
            let strokes = plan["strokes"].as_u64().unwrap();
            let mut counts = [0, 0];
            for breath in 1..=strokes / every {
                // The n-th breath is on stroke n × every; odd patterns meet the hands in turn.
                counts[usize::from(every % 2 == 1 && breath % 2 == 0)] += 1;
            }
            assert!(strokes > 15, "{strokes}");
            assert_eq!(plan["breaths"][first].as_u64(), Some(counts[0]), "every {every}, first {side}");
            assert_eq!(plan["breaths"][other].as_u64(), Some(counts[1]), "every {every}, first {side}");
        }
    }
}

#[test]
fn a_published_race_is_predicted_from_its_strokes() {
    // Chatard, Chollet & Millet 1998: 39.9 cycles a minute at 2.10 m a cycle; that 400 m took 4:47.69. Two strokes a
    // cycle make 79.8 strokes a minute and 50 m / 1.05 m = 47.6, so 48 whole strokes. Speed = rate × distance per stroke.
    let profile =
        "lengthwise-profile: 1\npool: 50 m\nwall: 0 s\nglide: 1 m\nstroke: [{ tempo: 79.8 /min, count: 48 }]\n";
    let text = script("  - { set: Race, swim: 400 m, tempo: 79.8 /min }\n").replace("pool: 25 m", "pool: 50 m");
    let run = Run::new("check a.yaml --json --swimmer p.yaml").file("a.yaml", text).file("p.yaml", profile);
    let time = each(&run.run().json(), "predicted_s")[0];
    assert!((time / 287.69 - 1.0).abs() < 0.015, "{time} s");
    // 8 × 48 strokes of 60/79.8 s: arithmetic.
    assert!((time - 8.0 * 48.0 * 60.0 / 79.8).abs() < 0.005, "{time} s");
}

#[test]
fn steps_that_nobody_hears_are_reported() {
    // Just noticed is a change of 2.5 % for intervals over 240 ms: Friberg & Sundberg 1995.
    for (second, told) in [("0.976 s", true), ("0.974 s", false), ("1.024 s", true), ("1.026 s", false)] {
        let practice = format!("  - {{ set: Steps, swim: 2 x 25 m, rest: 30 s, tempo: [1.000 s, {second}] }}\n");
        let plan = planned(&practice);
        let codes: Vec<_> = plan["diagnostics"].as_array().unwrap().iter().map(|d| d["code"].clone()).collect();
        assert_eq!(codes.contains(&"step-too-small".into()), told, "1.000 to {second}: {codes:?}");
    }
}

#[test]
fn unrecorded_words_take_the_time_of_speech() {
    // About 150 words a minute: several sources. Five words then take two seconds.
    let pack = "lengthwise-pack: 1\ntitle: Own\nlanguage: en-GB\nspeaker: { voice: x, made-with: x, agreed: x }\n\
                licence: MIT\nsays: { five: one two three four five }\n";
    let text = "lengthwise: 1\ntitle: Try\npool: 25 m\npractice:\n  - say: five\n  - { set: A, swim: 25 m }\n";
    let ran =
        Run::new("check own/a.yaml --timeline --no-speech").file("own/a.yaml", text).file("own/pack.yaml", pack).run();
    let row = ran.stdout.lines().find(|line| line.contains("\tfive\t")).unwrap();
    assert_eq!(row.split('\t').nth(1), Some("2.000000000"), "{row}");
}
