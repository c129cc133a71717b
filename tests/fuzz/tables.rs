//! Rosters, the notebook's tables and its sheets for the fuzzer, and what must hold of them. The first byte says which it is, so
//! that one target has them all.

use crate::feed;
use lengthwise::diag::Sources;
use lengthwise::notebook::entry::{LoggedPractice, Measure, ScriptCopy};
use lengthwise::notebook::exchange::csv::WrongCell;
use lengthwise::notebook::exchange::{read, write};
use lengthwise::notebook::outline::Outline;
use lengthwise::notebook::sheet::Sheet;
use lengthwise::notebook::{KeptPractice, PracticeId};
use lengthwise::pack::library::Library;
use lengthwise::practice::{self, Audience};
use lengthwise::script::parse::parse;
use lengthwise::swimmer::Swimmer;
use lengthwise::units::calendar::Day;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// Begins the tables of a folder; each file begins with `\u{1e}`, its name and a line's end.
pub const EXCHANGE: u8 = 1;
/// Begins a sheet.
pub const SHEET: u8 = 2;
/// What is said of one cell is no longer, in bytes.
const LONGEST_TOLD: usize = 2_000;

/// A practice with counts that the script asks for, tempos of its own, a timed swim and kick.
const SCRIPT: &str = "lengthwise: 1\ntitle: T\npool: 25 m\npractice:\n  - { set: A, swim: 2 x 50 m on 1:40, count: last length }\n  \
    - { set: B, swim: 3 x 50 m on 1:40, tempo: { from: 1.40 s, to: 1.30 s } }\n  - { set: C, swim: 200 m, test: time }\n  \
    - { set: D, swim: 50 m, part: kick, rest: 20 s }\n";

/// Bytes as what their first one says, else as a roster. Whether it was good.
pub fn roster_or_tables(bytes: &[u8]) -> bool {
    match bytes.split_first() {
        Some((&EXCHANGE, rest)) => exchange(rest),
        Some((&SHEET, rest)) => sheet(rest),
        _ => feed::roster(bytes),
    }
}

/// A folder of tables: what is read is written again and read the same.
fn exchange(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else { return false };
    let files: BTreeMap<&str, &str> = text.split('\u{1e}').filter_map(|file| file.split_once('\n')).collect();
    let get = |name: &str| files.get(name).map(|text| (*text).to_owned()).ok_or_else(|| "it is not there".to_owned());
    let found = match read::tables(&get) {
        Ok(found) => found,
        Err(wrong) => {
            told(&wrong);
            return false;
        }
    };
    found.practices.iter().for_each(possible);
    let kept: Vec<KeptPractice> = (1..).map(PracticeId::new).zip(found.practices.iter().cloned()).collect();
    let written: BTreeMap<String, String> =
        write::tables(&kept, &found.swimmers, &found.compared).into_iter().collect();
    let get = |name: &str| written.get(name).cloned().ok_or_else(|| format!("{name} was not written"));
    let again = read::tables(&get).unwrap_or_else(|wrong| panic!("what was written is refused: {wrong:?}"));
    assert_eq!(again, found, "what was written is read as another");
    true
}

/// A sheet: what is taken of a row enters its practice.
fn sheet(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else { return false };
    let sheet = match Sheet::read("sheet.csv", text) {
        Ok(sheet) => sheet,
        Err(wrong) => {
            told(&wrong);
            return false;
        }
    };
    let (rows, _) = match sheet.rows() {
        Ok(rows) => rows,
        Err(wrong) => {
            told(&wrong);
            return false;
        }
    };
    let mut good = !rows.is_empty();
    for row in &rows {
        match sheet.answers(row, outline()) {
            Ok(answers) => {
                let mut practice = outline().practice.clone();
                let done = answers.apply(&mut practice);
                assert!(done.is_ok(), "a row that was read enters its practice: {done:?}");
                possible(&practice);
            }
            Err(wrong) => {
                told(&wrong);
                good = false;
            }
        }
    }
    good
}

/// The planned practice that sheets are about.
fn outline() -> &'static Outline {
    static OUTLINE: OnceLock<Outline> = OnceLock::new();
    OUTLINE.get_or_init(|| {
        let mut sources = Sources::new();
        let source = sources.add("script.yaml", SCRIPT);
        let (script, _) = parse(source, &sources);
        let swimmer = Swimmer::assumed();
        let (practice, problems) = practice::expand(&script.unwrap(), &Library::new(), &swimmer, Audience::Headphones);
        let copy = ScriptCopy { name: "script.yaml".into(), text: SCRIPT.into() };
        let practice = practice.unwrap_or_else(|| panic!("{problems:?}"));
        Outline::of(&practice, copy, "Ida", Day::parse("2026-11-29").unwrap())
    })
}

/// Nothing that the notebook would refuse, or that cannot be true.
fn possible(practice: &LoggedPractice) {
    assert!((1..=60).contains(&practice.swimmer.chars().count()));
    assert!(practice.minutes.is_none_or(|minutes| minutes > 0.0 && minutes < 1440.0));
    assert!(practice.said.feel.is_none_or(|feel| (1..=5).contains(&feel)));
    assert!(practice.said.effort.is_none_or(|effort| effort <= 10));
    assert!(!practice.said.held || practice.sets.iter().all(|set| set.apart.is_none()));
    for (_, repeat) in practice.repeats() {
        assert!(repeat.metres > 0.0 && repeat.number >= 1 && repeat.round >= 1);
        assert!(repeat.tempo.is_none_or(|tempo| Measure::Tempo.range().contains(&tempo)));
        for observed in &repeat.observations {
            assert!(observed.measure.range().contains(&observed.value), "{observed:?}");
            assert!(observed.length.is_none_or(|length| length >= 1));
        }
    }
}

/// Everything that is wrong has a place and a short reason.
fn told(wrong: &[WrongCell]) {
    assert!(!wrong.is_empty(), "what is refused is explained");
    for cell in wrong {
        assert!(cell.row >= 1 && !cell.why.is_empty());
        let told = cell.to_string();
        assert!(told.len() <= LONGEST_TOLD, "{} bytes are told of one cell", told.len());
    }
}
