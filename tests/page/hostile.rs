//! Whatever stands in a script is shown as it was typed, and does nothing.

use super::{Browser, printed};
use serde_json::json;

/// Markup, entities, ends of elements, what scripts and styles would take, and letters that turn the line.
const HOSTILE: [&str; 44] = [
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
    "<ScRiPt>alert(1)</sCrIpT>",
    "<script src=http://localhost/x.js></script>",
    "<img src=\\\"x\\\" onerror=\\\"alert(1)\\\">",
    "<body onload=alert(1)>",
    "<details open ontoggle=alert(1)>",
    "<video><source onerror=alert(1)></video>",
    "<object data=javascript:alert(1)></object>",
    "<embed src=javascript:alert(1)>",
    "<math><mtext></mtext><mglyph><style><img src=x onerror=alert(1)>",
    "<noscript><p title='</noscript><img src=x onerror=alert(1)>'>",
    "<textarea><script>alert(1)</script></textarea>",
    "<plaintext>the rest",
    "<xmp><b>x</b></xmp>",
    "</p></li></ol><h1>x</h1>",
    "&#106;&#97;&#118;&#97;script:alert(1)",
    "expression(alert(1)) url(javascript:alert(1))",
    "*{display:none} @import 'http://localhost/x.css';",
    "]]> ?> %> */ // --",
    "%3Cscript%3Ealert(1)%3C/script%3E",
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
             foreign: document.querySelectorAll('img, iframe, base, link, form, template, input, b, video, object, embed, math, noscript, textarea, plaintext, xmp, body *[onload]').length })",
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

/// What is said comes from packs: all of it in one practice.
#[test]
fn whatever_a_pack_says_is_shown_and_does_nothing() {
    let Some(mut browser) = Browser::start() else { return };
    let folder = tempfile::tempdir().unwrap();
    let mut pack = "lengthwise-pack: 1\ntitle: \"<b>Mine</b>\"\nlanguage: en-GB\nspeaker: { voice: Ada, made-with: a phone, agreed: yes }\n\
        licence: MIT\nsays:\n"
        .to_owned();
    let mut practice = String::new();
    for (number, text) in HOSTILE.iter().enumerate() {
        pack.push_str(&format!("  text-{number}: \"{text}\"\n"));
        practice.push_str(&format!("  - say: text-{number}\n"));
    }
    std::fs::write(folder.path().join("pack.yaml"), pack).unwrap();
    let script = format!(
        "lengthwise: 1\ntitle: Own words\npool: 25 m\npractice:\n{practice}  - {{ set: Fifties, swim: 2 x 50 m on 2:30 }}\n"
    );
    std::fs::write(folder.path().join("own.yaml"), script).unwrap();
    let path = folder.path().join("own.html");
    printed(folder.path(), &["page", "own.yaml", "--no-speech", "-o", path.to_str().unwrap()]);
    browser.open(&path);
    assert_eq!(browser.complaints(), [""; 0]);
    let said = browser.value("[...document.querySelectorAll('#said q')].map((text) => text.textContent)");
    for text in HOSTILE.map(|text| text.replace("\\\"", "\"")) {
        assert!(said.as_array().unwrap().iter().any(|said| *said == json!(text)), "{text}: {said:#}");
    }
    let foreign = browser.value(
        "document.scripts.length - 1 + document.querySelectorAll('img, iframe, b, video, object, embed').length",
    );
    assert_eq!(foreign, json!(0));
}
