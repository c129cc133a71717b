//! Lanes on a page: the lines end where `lane --json` has the touches, and a catch is marked.

use super::{Browser, is_for_all, printed};
use serde_json::Value;

const SCRIPT: &str = "lengthwise: 1\ntitle: Thursday\npool: 25 m\npack: first-lengths\npractice:\n  \
    - { set: Hundreds, swim: 4 x 100 m on 2:20 }\n";
/// Ida is quicker than Bo, in front of her.
const LANE: &str = "lengthwise-roster: 1\npool: 25 m\norder: as listed\nswimmers:\n  - { name: Bo, hundred: 1:40 }\n  \
    - { name: Ida, hundred: 1:28 }\n  - { name: Eve, hundred: 1:52 }\n";

#[test]
fn everybody_is_drawn_where_they_are() {
    let Some(mut browser) = Browser::start() else { return };
    let home = tempfile::tempdir().unwrap();
    let path = home.path().join("lanes.html");
    for (name, text) in [("thursday.yaml", SCRIPT), ("lane.yaml", LANE)] {
        std::fs::write(home.path().join(name), text).unwrap();
    }
    let lane = ["lane", "thursday.yaml", "--lane", "lane.yaml", "--runs", "50"];
    let json: Value = serde_json::from_str(&printed(home.path(), &[&lane[..], &["--json"]].concat())).unwrap();
    for _ in 0..2 {
        printed(home.path(), &[&lane[..], &["--page", path.to_str().unwrap()]].concat());
    }
    assert!(is_for_all(&mut browser, &path) > 15);
    // Where each line of a chart ends, in what its axis counts.
    let ends = |browser: &mut Browser, chart: usize| -> Vec<f64> {
        let ends = browser.value(&format!(
            "(() => {{ const chart = document.querySelectorAll('.chart svg')[{chart}], ticks = [...chart.querySelectorAll('text.tick.x')],\
             at = (tick) => +tick.getAttribute('x'), [one, other] = [ticks[0], ticks.at(-1)],\
             slope = (other.textContent - one.textContent) / (at(other) - at(one));\
             return [...chart.querySelectorAll('path[class^=who]')].map((path) => +one.textContent +\
             slope * (path.getAttribute('d').match(/[\\d.]+(?= [\\d.]+$)/)[0] - at(one))); }})()"
        ));
        ends.as_array().unwrap().iter().map(|end| end.as_f64().unwrap()).collect()
    };
    let starts = json["lanes"][0]["sets"][0]["starts"].as_array().unwrap();
    let touches = |start: &Value| -> Vec<f64> {
        start["touches_s"].as_array().unwrap().iter().map(|touch| touch.as_f64().unwrap()).collect()
    };
    let near = |got: &[f64], want: &[f64], within: f64| {
        got.len() == want.len() && got.iter().zip(want).all(|(got, want)| (got - want).abs() < within)
    };
    let (drawn, wanted) = (ends(&mut browser, 0), touches(&starts[0]));
    assert!(near(&drawn, &wanted, 0.3), "{drawn:?} {wanted:?}");
    let (drawn, wanted): (_, Vec<f64>) =
        (ends(&mut browser, 1), starts.iter().flat_map(touches).map(|touch| touch / 60.0).collect());
    assert!(near(&drawn, &wanted, 0.01), "{drawn:?} {wanted:?}");
    let caught =
        browser.value("[...document.querySelectorAll('.chart .contact title')].map((title) => title.textContent)");
    // Names stand apart from the words around them, between marks that nobody sees.
    assert!(
        caught
            .as_array()
            .unwrap()
            .iter()
            .any(|title| title.as_str().unwrap().starts_with("\u{2068}Ida\u{2069} comes up to \u{2068}Bo\u{2069}")),
        "{caught}"
    );
    let advice = browser.value("document.querySelector('.advice').textContent");
    assert!(advice.as_str().unwrap().contains("swap Bo and Ida"), "{advice}");
}
