//! A page that is heard: where it seeks to, what it lights meanwhile, and that both are true of the sound.

use super::{Browser, page, spans, timeline};

/// Where somebody might look: all over a practice.
const PLACES: usize = 20;

#[test]
fn what_sounds_is_lit_wherever_one_seeks() {
    let Some(mut browser) = Browser::start() else { return };
    let script = "tempo-range/up-and-back";
    let (_folder, path) = page(script, &["--sound"]);
    browser.resize(1200, 900);
    browser.open(&path);
    assert_eq!(browser.complaints(), [""; 0]);
    let length = browser.value("new Promise((done) => { const sound = document.querySelector('audio'); const wait = () => sound.readyState > 0 ? done(sound.duration) : setTimeout(wait, 20); wait(); })").as_f64().unwrap();
    let heard = timeline(script);
    let last = heard.iter().map(|(at, len, ..)| at + len).fold(0.0, f64::max);
    assert!(length >= last - 0.1 && length < last + 10.0, "{length} s of sound, {last} s of practice");
    // Between the last pip and the go nothing sounds.
    let gos: Vec<f64> = heard.iter().filter(|(.., kind, _)| kind == "go").map(|(at, ..)| *at).collect();
    // A key, a button, a time in the list and a place in the drawing go where they say.
    let now = |browser: &mut Browser| browser.value("document.querySelector('audio').currentTime").as_f64().unwrap();
    let key = |browser: &mut Browser, key: &str| {
        browser.value(&format!(
            "document.body.dispatchEvent(new KeyboardEvent('keydown', {{ key: '{key}', bubbles: true }}))"
        ))
    };
    let near = |what: &str, got: f64, want: f64| assert!((got - want).abs() < 0.3, "{what}: {got} s, wanted {want} s");
    key(&mut browser, "]");
    near("the first start", now(&mut browser), gos[0] - 5.0);
    browser.value("document.querySelector('[data-step=\"1\"]').click()");
    near("the second start", now(&mut browser), gos[1] - 5.0);
    key(&mut browser, "ArrowRight");
    near("five seconds on", now(&mut browser), gos[1]);
    key(&mut browser, "[");
    near("this start again", now(&mut browser), gos[1] - 5.0);
    key(&mut browser, "[");
    near("the one before", now(&mut browser), gos[0] - 5.0);
    browser.value("document.querySelectorAll('#said li.go button')[9].click()");
    near("a go in the list", now(&mut browser), gos[9]);
    browser.value(
        "(() => { const svg = document.querySelector('.strip svg'), box = svg.getBoundingClientRect();\
         svg.dispatchEvent(new MouseEvent('click', { bubbles: true, clientX: box.left + box.width / 2, clientY: box.top + 60 })); })()",
    );
    assert!((now(&mut browser) - last / 2.0).abs() < 3.0, "{}", now(&mut browser));
    browser.value(
        "window.listen = new AudioContext(); window.from = listen.createMediaElementSource(document.querySelector('audio'));\
         window.meter = listen.createAnalyser(); meter.fftSize = 256; from.connect(meter); meter.connect(listen.destination); 0",
    );
    let places = (0..PLACES).map(|place| gos[place * gos.len() / PLACES]);
    let (mut worst, mut worst_lit) = (0.0_f64, 0.0_f64);
    for place in places {
        let found = browser.value(&format!(
            "new Promise(async (done) => {{\
               const sound = document.querySelector('audio'), wave = new Float32Array(256);\
               sound.pause(); sound.currentTime = {place} - 0.7;\
               await new Promise((ready) => sound.addEventListener('seeked', ready, {{ once: true }}));\
               await listen.resume(); await sound.play();\
               let onset, lit; const begun = performance.now();\
               const look = () => {{\
                 meter.getFloatTimeDomainData(wave);\
                 const now = sound.currentTime;\
                 if (onset === undefined && now > {place} - 0.4 && wave.some((value) => Math.abs(value) > 0.02)) onset = now;\
                 if (lit === undefined && document.querySelector('rect.go.now')) lit = now;\
                 if ((onset !== undefined && lit !== undefined) || performance.now() - begun > 6000) {{ sound.pause(); done([onset ?? -1, lit ?? -1]); }}\
                 else setTimeout(look, 2);\
               }}; look(); }})"
        ));
        let [onset, lit] = spans(&serde_json::json!([found])).next().unwrap();
        println!("{place:9.3} s: heard at {:+.3} s, lit at {:+.3} s", onset - place, lit - place);
        worst = worst.max((onset - place).abs());
        worst_lit = worst_lit.max((lit - onset).abs());
    }
    println!("at most {:.0} ms from its place, lit at most {:.0} ms from its sound", 1e3 * worst, 1e3 * worst_lit);
    assert!(worst < 0.05 && worst_lit < 0.05, "{worst} s, {worst_lit} s");
}
