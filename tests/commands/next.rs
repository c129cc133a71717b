//! `next`: from a notebook to a script, and back again by `log`.

use crate::run::{Ran, Run};
use serde_json::Value;

/// A first practice, written into a file.
fn first() -> Ran {
    let ran = Run::new("next --swimmer Ida --day 2024-11-18 -o monday.yaml").run();
    assert!(ran.path("monday.yaml").is_file());
    ran
}

/// The practice of a file logged with a count in each place.
fn log(ran: &Ran, file: &str, day: &str, more: &str) {
    ran.then(&format!("log {file} --swimmer Ida --day {day} --minutes 40 --effort 5 --feel 4 {more}")).run();
}

fn next(ran: &Ran, more: &str) -> Value {
    ran.then(&format!("next --swimmer Ida --json {more}")).run().json()
}

#[test]
fn a_first_practice_needs_no_notebook() {
    let ran = first();
    assert!(ran.stderr.contains("A first practice to find out where you are"), "{}", ran.stderr);
    assert!(ran.stderr.contains("wrote monday.yaml") && ran.stdout.is_empty(), "{}{}", ran.stderr, ran.stdout);
    assert!(!ran.path(".local/share/lengthwise/notebook.sqlite").exists(), "nothing was kept, so no notebook is made");
    let plan = ran.then("check monday.yaml --json").run().json();
    assert_eq!(plan["cautions"].as_array().map(Vec::len), Some(0), "{plan}");
    ran.then("next -o monday.yaml").exit(3).stderr("exists already and stays as it is").run();
    ran.then("next -o monday.yaml --force --minutes 30").run();
    ran.then("next -o monday").exit(2).stderr("must end in .yaml").run();
    ran.then("next --minutes 10").exit(2).stderr("10 is not in 15..=180").run();
}

#[test]
fn the_next_one_follows_from_what_was_logged() {
    let ran = first();
    log(&ran, "monday.yaml", "2024-11-18", "--pain no --count 3=24");
    let wednesday = next(&ran, "--day 2024-11-20");
    assert_eq!((&wednesday["kind"], &wednesday["practices"]), (&"ordinary".into(), &1.into()));
    assert_eq!(wednesday["tempo"]["relaxed-count"], 24.0, "{wednesday}");
    assert!(wednesday["tempo"]["why"].as_str().unwrap().contains("no counts at"), "{wednesday}");
    // The focus goes on, so it is taken up the tempos.
    assert_eq!(wednesday["shape"]["kind"], "tempos", "{wednesday}");
    // Two weeks later it is a way back.
    let later = next(&ran, "--day 2024-12-02");
    assert_eq!(later["kind"], "return", "{later}");
    assert!(later["metres"].as_f64() < wednesday["metres"].as_f64(), "{later}");
    // Nothing quick while something hurts.
    log(&ran, "monday.yaml", "2024-11-20", "--pain shoulder");
    let sore = next(&ran, "--day 2024-11-22");
    assert_eq!(sore["kind"], "sore", "{sore}");
    let script = sore["script"].as_str().unwrap();
    assert!(script.contains("See a professional before you go on") && !script.contains("tempo:"), "{script}");
    ran.then("next --day 2024-11-22").stderr("See a professional").stdout("stroke: choice").run();
    assert!(
        script.contains("part: kick") && script.contains("focus: "),
        "something to do, something to think of: {script}"
    );
    // Nobody is sent to swim with this.
    log(&ran, "monday.yaml", "2024-11-22", "--pain chest");
    ran.then("next --day 2024-11-24").exit(1).stderr("do not swim before a doctor has looked at it").run();
}

#[test]
fn any_pool_will_do_and_open_water_is_somebody_elses() {
    let ran = first();
    for (pool, file) in [("50m", "fifty.yaml"), ("25yd", "yards.yaml"), ("33m", "odd.yaml"), ("20yd", "short.yaml")] {
        ran.then(&format!("next --pool {pool} -o {file}")).run();
        let plan = ran.then(&format!("check {file} --json")).run().json();
        assert_eq!(plan["cautions"].as_array().map(Vec::len), Some(0), "{pool}: {plan}");
    }
    ran.then("next --pool open-water").exit(2).stderr("take a script such as open-water/quick-then-settle").run();
    log(&ran, "monday.yaml", "2024-11-18", "--pain no");
    log(&ran, "open-water/quick-then-settle", "2024-11-20", "--pain no");
    let after = ran.then("next --day 2024-11-22").stdout("pack: first-lengths");
    after.stderr("the last practice was in open water; this one is for a pool of 25 m").run();
}

#[test]
fn two_phrases_take_turns() {
    let ran = first();
    ran.then("next --compare reach-forward,soft-hand").exit(3).stderr("there is no notebook").run();
    log(&ran, "monday.yaml", "2024-11-18", "--pain no");
    for (wrong, why) in [("reach-forward", "takes two phrases"), ("fist,soft-hand", "there is no phrase `fist`")] {
        ran.then(&format!("next --compare {wrong}")).exit(2).stderr(why).run();
    }
    ran.then("next --day 2024-11-19 --compare reach-forward,soft-hand").stderr("take turns from now on").run();
    let phrase = |value: &Value| value["focus"]["phrase"].as_str().unwrap().to_owned();
    let mut phrases = Vec::new();
    for day in ["2024-11-20", "2024-11-22"] {
        let value = next(&ran, &format!("--day {day} -o {day}.yaml"));
        assert_eq!(value["compared"]["first"], "reach-forward", "{value}");
        phrases.push(phrase(&value));
        log(&ran, &format!("{day}.yaml"), day, "--pain no");
    }
    phrases.sort();
    assert_eq!(phrases, ["reach-forward", "soft-hand"]);
    ran.then("next --compare none --day 2024-11-25").stderr("nothing is compared any more").run();
    assert_eq!(next(&ran, "--day 2024-11-25")["compared"], Value::Null);
}
