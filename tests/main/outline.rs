//! What the notebook keeps of a planned practice, and what the log is to ask of it.

use lengthwise::notebook::entry::ScriptCopy;
use lengthwise::notebook::outline::{AskedLength, AskedSwim, Outline};
use lengthwise::prepare::{self, PracticeRequest};
use lengthwise::units::calendar::Day;

const SCRIPT: &str = "\
lengthwise: 1
title: Kept
pool: 25 yd
pack: first-lengths
practice:
  - { set: Fist, swim: 2 x 50 yd on 1:30, lengths: [{ drill: fist }, { focus: soft-hand }], count: last length }
  - { set: Range, swim: 2 x 50 yd on 1:30, tempo: { from: 1.30 s, to: 1.20 s }, breathe: every 3, count: each length }
  - { set: Kick, rounds: 2, do: [{ swim: 50 yd, part: kick, gear: [fins], rest: 20 s }, { swim: 25 yd, rest: 20 s }] }
  - { set: Timed, swim: 200 yd, test: time }
";

fn outline() -> Outline {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("kept.yaml");
    std::fs::write(&path, SCRIPT).unwrap();
    let outcome = prepare::plan(&PracticeRequest { script: path, ..PracticeRequest::default() }).unwrap();
    let planned = outcome.planned.unwrap_or_else(|| panic!("{:?}", outcome.diagnostics));
    let script = ScriptCopy { name: "kept.yaml".into(), text: SCRIPT.into() };
    Outline::of(&planned.practice, script, "Ida", Day::parse("2026-11-29").unwrap())
}

#[test]
fn a_practice_is_kept_repeat_by_repeat() {
    let kept = outline().practice;
    assert_eq!((&kept.title[..], &kept.pool[..]), ("Kept", "25 yd"));
    let lines: Vec<String> = kept
        .repeats()
        .map(|(set, repeat)| {
            let tempo = repeat.tempo.map_or("-".into(), |tempo| format!("{tempo}"));
            let at = format!("{}.{} round {}", set.number, repeat.number, repeat.round);
            format!("{at}: {}, plain `{}`, {} lengths, {tempo}", repeat.swim, repeat.plain, repeat.lengths)
        })
        .collect();
    assert_eq!(
        lines,
        [
            "1.1 round 1: 50 yd fist drill / swim, plain `2`, 2 lengths, -",
            "1.2 round 1: 50 yd fist drill / swim, plain `2`, 2 lengths, -",
            "2.1 round 1: 50 yd swim, plain `1-2`, 2 lengths, 1.3",
            "2.2 round 1: 50 yd swim, plain `1-2`, 2 lengths, 1.2",
            "3.1 round 1: 50 yd kick, plain ``, 2 lengths, -",
            "3.2 round 1: 25 yd swim, plain `1`, 1 lengths, -",
            "3.3 round 2: 50 yd kick, plain ``, 2 lengths, -",
            "3.4 round 2: 25 yd swim, plain `1`, 1 lengths, -",
            "4.1 round 1: 200 yd timed test, plain `1-8`, 8 lengths, -",
        ]
    );
    // 25 yd = 22.86 m (international yard 1959, from memory); 100 + 100 + 150 + 200 yd.
    assert!((kept.metres() - 550.0 * 0.9144).abs() < 1e-9);
    // About 22 strokes a length, every third a breath, the first of each length to the right: 4 and 3 on each of two.
    assert_eq!(kept.sets[1].repeats[0].breaths, (6, 8));
    let fist = &kept.sets[0].repeats[0];
    assert!(matches!(&fist.rehearsed[..], [(phrase, 15..)] if phrase == "soft-hand"), "{:?}", fist.rehearsed);
}

#[test]
fn the_script_says_what_is_asked() {
    let outline = outline();
    let asked = |set, repeat, length| AskedLength { swim: AskedSwim { set, repeat }, length };
    let expected = [asked(1, 1, 2), asked(1, 2, 2), asked(2, 1, 1), asked(2, 1, 2), asked(2, 2, 1), asked(2, 2, 2)];
    assert_eq!(outline.counts, expected);
    assert_eq!(outline.times, [AskedSwim { set: 4, repeat: 1 }]);
}
