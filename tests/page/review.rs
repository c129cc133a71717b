//! The charts of a review: their values are those of `review --json`, and each can be read without the picture.

use super::{Browser, is_for_all, printed, program};
use serde_json::{Value, json};
use std::path::Path;

const AS_OF: &str = "2026-11-29";

/// Two months of practices: counts at four tempos and two times every third, effort and minutes always.
fn keep(home: &Path, name: &str) {
    for week in 0..8_u32 {
        for (practice, weekday) in [1, 4].into_iter().enumerate() {
            let day = 28 + 7 * week + weekday;
            // From 28 September on.
            let (month, day) = [(9, 30), (10, 31), (11, 30)].into_iter().fold((9, day), |(month, day), (of, days)| {
                if month == of && day > days { (month + 1, day - days) } else { (month, day) }
            });
            let day = format!("2026-{month:02}-{day:02}");
            let mut args = vec!["log", "first-lengths/level-body", "--swimmer", name, "--new-swimmer", "--day", &day];
            let counts = [(1, 24), (4, 25), (7, 26), (8, 28)].map(|(at, count)| format!("4.{at}={}", count - week / 4));
            let time = format!("4.8=1:0{}", 9 - week % 4);
            if (week as usize + practice).is_multiple_of(2) {
                args[1] = "tempo-range/find-the-count";
                args.extend(counts.iter().flat_map(|count| ["--count", count]));
                args.extend(["--time", &time]);
            }
            let effort = (3 + week % 4).to_string();
            args.extend(["--effort", &effort, "--minutes", "45"]);
            printed(home, &args);
        }
    }
}

#[test]
fn charts_hold_the_values_of_the_review() {
    let Some(mut browser) = Browser::start() else { return };
    let home = tempfile::tempdir().unwrap();
    keep(home.path(), "Ida");
    let json: Value = serde_json::from_str(&printed(home.path(), &["review", "--as-of", AS_OF, "--json"])).unwrap();
    let path = home.path().join("ida.html");
    printed(home.path(), &["review", "--as-of", AS_OF, "--page", path.to_str().unwrap()]);
    assert!(is_for_all(&mut browser, &path) > 15);
    // By its heading: the values of a chart's marks, in their order.
    let marks = |browser: &mut Browser, heading: &str| {
        browser.value(&format!(
            "[...[...document.querySelectorAll('section')].find((one) => one.querySelector('h2').textContent.startsWith('{heading}'))\
             .querySelectorAll('.now, .other-side')].map((mark) => [+(mark.dataset.x ?? 0), +mark.dataset.y])"
        ))
    };
    let column = |values: &Value, column: usize| -> Vec<f64> {
        values.as_array().unwrap().iter().map(|pair| pair[column].as_f64().unwrap()).collect()
    };
    let of = |rows: &Value, field: &str| -> Vec<f64> {
        rows.as_array().unwrap().iter().map(|row| row[field].as_f64().unwrap()).collect()
    };
    let same = |what: &str, got: Vec<f64>, want: Vec<f64>| {
        assert!(!want.is_empty(), "{what}");
        assert!(
            got.len() == want.len() && got.iter().zip(&want).all(|(got, want)| (got - want).abs() < 1e-6),
            "{what}: {got:?}, {want:?}"
        );
    };
    let counts = marks(&mut browser, "Strokes of a length");
    same("tempo", column(&counts, 0), of(&json["counts"][0]["tempos"], "tempo_s"));
    same("count", column(&counts, 1), of(&json["counts"][0]["tempos"], "count"));
    let speeds = marks(&mut browser, "Speed");
    same("rate", column(&speeds, 0), of(&json["speeds"], "tempo_s").iter().map(|tempo| 60.0 / tempo).collect());
    same("speed", column(&speeds, 1), of(&json["speeds"], "speed_m_s"));
    let splits = json["splits"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| 100.0 * (row["swum_s"].as_f64().unwrap() / row["planned_s"].as_f64().unwrap() - 1.0));
    same("splits", column(&marks(&mut browser, "Times"), 1), splits.collect());
    let focus = json["focus"].as_array().unwrap().iter().flat_map(|row| row["strokes_by_week"].as_array().unwrap());
    same("focus", column(&marks(&mut browser, "Strokes for"), 1), focus.map(|week| week.as_f64().unwrap()).collect());
    same(
        "breaths",
        column(&marks(&mut browser, "Breaths"), 1),
        ["breaths_left", "breaths_right"].map(|side| json[side].as_f64().unwrap()).to_vec(),
    );
    same("load", column(&marks(&mut browser, "Load"), 1), of(&json["weeks"], "load"));
    // A height is where the axis says: the scale between two marks is that of two rules.
    let scale = browser.value(
        "(() => { const chart = [...document.querySelectorAll('section')].find((one) => one.querySelector('h2').textContent.startsWith('Strokes of')),\
         marks = [...chart.querySelectorAll('circle')], ticks = [...chart.querySelectorAll('text.tick.y')],\
         slope = (one, other, value, place) => (value(one) - value(other)) / (place(one) - place(other)), first = marks[0], last = marks.at(-1);\
         return [slope(first, last, (mark) => +mark.dataset.y, (mark) => +mark.getAttribute('cy')),\
         slope(ticks[0], ticks.at(-1), (tick) => +tick.textContent, (tick) => +tick.getAttribute('y'))]; })()",
    );
    let [marks, ticks] = [scale[0].as_f64().unwrap(), scale[1].as_f64().unwrap()];
    assert!((marks / ticks - 1.0).abs() < 0.01, "{marks} {ticks}");
}

#[test]
fn a_page_of_a_review_takes_the_place_of_its_own_alone() {
    let home = tempfile::tempdir().unwrap();
    let name = "<b>שלום</b> & 'Bo'";
    for name in [name, "Ulla"] {
        let log = [
            "log",
            "first-lengths/level-body",
            "--swimmer",
            name,
            "--new-swimmer",
            "--day",
            "2026-11-27",
            "--effort",
            "4",
            "--minutes",
            "40",
        ];
        printed(home.path(), &log);
    }
    let page = |name: &str| {
        let output = program(home.path())
            .args(["review", "--as-of", AS_OF, "--swimmer", name, "--page", "them.html"])
            .output()
            .unwrap();
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    assert_eq!(page(name).0, Some(0));
    assert_eq!(page(name).0, Some(0));
    let (code, said) = page("Ulla");
    assert!(code == Some(3) && said.contains("them.html exists already"), "{said}");
    let all = program(home.path()).args(["review", "--page", "them.html"]).output().unwrap();
    assert_eq!(all.status.code(), Some(2));
    let Some(mut browser) = Browser::start() else { return };
    browser.open(&home.path().join("them.html"));
    assert_eq!(browser.complaints(), [""; 0]);
    assert_eq!(browser.value("document.querySelector('h1 bdi').textContent"), json!(name));
    assert_eq!(browser.value("document.querySelectorAll('b').length"), json!(0));
}
