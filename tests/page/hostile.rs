//! Whatever stands in a script is shown as it was typed, and does nothing.

use super::{Browser, printed};
use serde_json::json;

/// Markup, entities, ends of elements, what scripts and styles would take, and letters that turn the line.
const HOSTILE: [&str; 25] = [
    "<script>alert(1)</script>",
    "</title><script>alert(1)</script>",
    "</style><img src=x onerror=alert(1)>",
    "</script><script>alert(1)</script>",
    "<img src=http://localhost/x onerror=alert(1)>",
    "<svg/onload=alert(1)>",
    "\\\"><b onmouseover=alert(1)>x</b>",
    "' onfocus=alert(1) autofocus '",
    "<!-- a comment",
    "--><!-- -->",
    "<![CDATA[ x ]]>",
    "&lt;b&gt; &amp;amp; &#60;i&#62;",
    "&copy &notin; &#x0; &#128;",
    "<iframe src=javascript:alert(1)></iframe>",
    "<a href=javascript:alert(1)>go</a>",
    "<meta http-equiv=refresh content=0;url=http://localhost/>",
    "<base href=http://localhost/>",
    "<link rel=stylesheet href=http://localhost/x.css>",
    "<form action=http://localhost/><input autofocus>",
    "{{ 7 * 7 }} ${7 * 7} #{7 * 7} <%= 7 * 7 %>",
    "<template><slot>x</slot></template>",
    "</svg></div></main></body></html>",
    "שלום 50 m עולם",
    "مرحبا <b>5</b> متر",
    "a🏊b ﬃ ǅ é",
];

/// What steers a screen or turns letters round, as YAML writes it, and as it is shown.
const STEERING: [(&str, &str); 5] = [
    ("a\\u202Eb", "a\\u{202e}b"),
    ("a\\u2066b\\u2069", "a\\u{2066}b\\u{2069}"),
    ("a\\u200Eb", "a\\u{200e}b"),
    ("a\\uFEFFb", "a\\u{feff}b"),
    ("a\\u00ADb", "a\\u{ad}b"),
];

fn script(title: &str) -> String {
    format!(
        "lengthwise: 1\ntitle: \"{title}\"\npool: 25 m\npack: first-lengths\npractice:\n  - {{ set: \"{title}\", swim: 2 x 50 m on 2:30, tempo: 1.40 s, focus: head-still }}\n"
    )
}

#[test]
fn whatever_a_script_says_is_shown_and_does_nothing() {
    let Some(mut browser) = Browser::start() else { return };
    let folder = tempfile::tempdir().unwrap();
    let (written, path) = (folder.path().join("hostile.yaml"), folder.path().join("hostile.html"));
    // As long as a title may be.
    let long = "<b>".repeat(40);
    let typed = HOSTILE.iter().map(|text| ((*text).to_owned(), text.replace("\\\"", "\"")));
    let steering = STEERING.iter().map(|(typed, shown)| ((*typed).to_owned(), (*shown).to_owned()));
    let mut shown_whole = 0;
    for (typed, wanted) in typed.chain(steering).chain([(long.clone(), long.clone())]) {
        std::fs::write(&written, script(&typed)).unwrap();
        printed(
            folder.path(),
            &["page", written.to_str().unwrap(), "--no-speech", "--force", "-o", path.to_str().unwrap()],
        );
        browser.open(&path);
        assert_eq!(browser.complaints(), [""; 0], "{typed:.80}");
        let seen = browser.value(
            "({ heading: document.querySelector('h1').textContent, window: document.title,\
             set: document.querySelector('#sheet h2').textContent, scripts: document.scripts.length,\
             foreign: document.querySelectorAll('img, iframe, base, link, form, template, input, b').length })",
        );
        assert_eq!(seen["heading"].as_str().unwrap(), wanted, "{typed:.80}");
        // A window's title has its ends of lines and blanks joined.
        assert_eq!(seen["window"].as_str().unwrap(), wanted.split_whitespace().collect::<Vec<_>>().join(" "));
        assert!(seen["set"].as_str().unwrap().contains(&wanted), "{seen:.300}");
        assert_eq!((&seen["scripts"], &seen["foreign"]), (&json!(1), &json!(0)), "{typed:.80}");
        shown_whole += 1;
    }
    assert_eq!(shown_whole, HOSTILE.len() + STEERING.len() + 1);
}
