use super::csv::{CsvTable, guarded, rows, unguarded, write_row};
use super::{read, write};
use crate::notebook::entry::{
    Impressions, LoggedPractice, LoggedRepeat, LoggedSet, Measure, NotedSwimmer, Observation, ScriptCopy, SwimState,
    ValueSource,
};
use crate::notebook::lengths::LengthRuns;
use crate::notebook::sample;
use crate::notebook::{KeptComparison, KeptPractice, PhrasePair, PracticeId};
use crate::units::calendar::{Day, TimeOfDay};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// Texts as people and attackers write them.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[ -~]{0,12}",
        "[=+@'\t\r-][ -~]{0,6}",
        prop::sample::select(vec![
            "no",
            "No",
            "'no",
            "a\r\nb",
            "\"q\"",
            ";",
            " lead",
            "Zoë, Übung",
            "=1+1",
            "'",
            "''",
            ""
        ])
        .prop_map(str::to_owned),
    ]
}

fn name() -> impl Strategy<Value = String> {
    prop_oneof!["[A-Z][a-z]{1,8}", "[=+@'-][ -~]{0,6}[a-z]", Just("O'Dea, Zoë".to_owned())]
}

fn observation() -> impl Strategy<Value = Observation> {
    let measure = prop::sample::select(Measure::ALL.to_vec());
    let source = prop::sample::select(ValueSource::ALL.to_vec());
    (measure, prop::option::of(1_u32..9), 0.0..1.0_f64, source).prop_map(|(measure, length, share, source)| {
        let range = measure.range();
        Observation { measure, length, value: range.start() + share * (range.end() - range.start()), source }
    })
}

fn repeat() -> impl Strategy<Value = LoggedRepeat> {
    let plain = prop::collection::btree_set(1_u32..9, 0..8);
    let rehearsed = prop::collection::btree_map("[a-z]{1,5}(-[a-z]{1,4})?", 0_u32..99, 0..3);
    (
        (1_u32..4, 0.1..2_000.0_f64, 0_u32..9, text(), plain, any::<bool>()),
        (prop::option::of(0.4..2.5_f64), prop::option::of(0.1..5_000.0_f64), (0_u32..99, 0_u32..99)),
        (prop::sample::select(SwimState::ALL.to_vec()), prop::collection::vec(observation(), 0..4), rehearsed),
    )
        .prop_map(
            |((round, metres, lengths, swim, plain, test), (tempo, predicted, breaths), (state, seen, said))| {
                LoggedRepeat {
                    number: 0,
                    round,
                    metres,
                    lengths,
                    swim,
                    plain: LengthRuns::of(plain),
                    test,
                    tempo,
                    predicted,
                    breaths,
                    state,
                    observations: seen,
                    rehearsed: said.into_iter().collect(),
                }
            },
        )
}

fn set() -> impl Strategy<Value = LoggedSet> {
    (text(), prop::option::of(1_u32..9), prop::collection::vec(repeat(), 0..4)).prop_map(
        |(title, apart, mut repeats)| {
            (1..).zip(&mut repeats).for_each(|(number, repeat)| repeat.number = number);
            LoggedSet { number: 0, title, apart, repeats }
        },
    )
}

fn practice() -> impl Strategy<Value = LoggedPractice> {
    let day = (0_i32..20_000).prop_map(|days| Day::parse("1990-01-01").unwrap().plus_days(days).unwrap());
    let begun = prop::option::of(
        (0_u32..24, 0_u32..60).prop_map(|(hour, minute)| TimeOfDay::parse(&format!("{hour:02}:{minute:02}")).unwrap()),
    );
    let script = prop::option::of((name(), "[ -~\n]{0,40}").prop_map(|(name, text)| ScriptCopy { name, text }));
    let said =
        (prop::option::of(1_u8..6), prop::option::of(0_u8..11), prop::option::of(text()), prop::option::of(text()))
            .prop_map(|(feel, effort, pain, note)| Impressions { feel, effort, pain, note, held: false });
    let record = prop::option::of("[0-9a-f]{64}");
    let pool = prop::sample::select(vec!["25 m", "25 yd", "open water"]).prop_map(str::to_owned);
    (
        (name(), script, text(), day, begun, pool),
        (prop::option::of(0.1..1_439.0_f64), said, record, prop::collection::vec(set(), 0..4), any::<bool>()),
    )
        .prop_map(|((swimmer, script, title, day, begun, pool), (minutes, said, record, mut sets, held))| {
            (1..).zip(&mut sets).for_each(|(number, set)| set.number = number);
            let said = Impressions { held: held && sets.iter().all(|set| set.apart.is_none()), ..said };
            LoggedPractice { swimmer, script, title, day, begun, pool, minutes, said, record, sets }
        })
}

/// What a spreadsheet in another country makes of a table: semicolons, and a mark before the first letter.
fn saved_again(text: &str) -> String {
    let mut again = "\u{feff}".to_owned();
    rows(text).iter().for_each(|row| {
        let line: Vec<String> = row.iter().map(|cell| format!("\"{}\"", cell.replace('"', "\"\""))).collect();
        again.push_str(&line.join(";"));
        again.push('\n');
    });
    again
}

proptest! {
    #![proptest_config(crate::cases::cases(48))]

    #[test]
    fn what_is_written_is_read_back(
        practices in prop::collection::vec(practice(), 0..4),
        swimmers in prop::collection::btree_map("[a-z]{1,6}", prop::option::of("[ -~\n]{0,30}"), 0..4),
        compared in prop::collection::btree_map("[a-z]{1,6}", ("[a-m-]{1,9}", "[n-z-]{1,9}[x-z]", any::<bool>()), 0..4),
    ) {
        let day = |text: &str| Day::parse(text).unwrap();
        let compared: Vec<KeptComparison> = compared
            .into_iter()
            .map(|(swimmer, (first, second, ended))| KeptComparison {
                swimmer,
                pair: PhrasePair { first, second, begun: day("2024-02-29") },
                ended: ended.then(|| day("2024-03-01")),
            })
            .collect();
        let kept: Vec<KeptPractice> = (1..).map(PracticeId::new).zip(practices.clone()).collect();
        let swimmers: Vec<NotedSwimmer> =
            swimmers.into_iter().map(|(name, profile)| NotedSwimmer { name, profile }).collect();
        let files: BTreeMap<String, String> = write::tables(&kept, &swimmers, &compared).into_iter().collect();
        let get = |path: &str| files.get(path).cloned().ok_or_else(|| "there is no such file".to_owned());
        let exchanged = read::tables(&get).unwrap();
        prop_assert_eq!(&exchanged.practices, &practices);
        prop_assert_eq!(&exchanged.swimmers, &swimmers);
        prop_assert_eq!(&exchanged.compared, &compared);
        let again = |path: &str| get(path).map(|text| if path.ends_with(".csv") { saved_again(&text) } else { text });
        prop_assert_eq!(read::tables(&again).unwrap(), exchanged);
        // No cell is a formula to a spreadsheet.
        for (path, text) in files.iter().filter(|(path, _)| path.ends_with(".csv")) {
            for cell in rows(text).into_iter().flatten() {
                prop_assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{path}: {cell:?}");
            }
        }
    }

    #[test]
    fn cells_are_read_back(cells in prop::collection::vec(prop::option::of(text()), 1..6)) {
        let written: Vec<String> = cells.iter().map(|cell| guarded(cell.as_deref())).collect();
        let mut table = String::new();
        write_row(&mut table, &written);
        // A table of one column that is empty has an empty line.
        let read = rows(&table);
        prop_assert_eq!(read.len(), 1);
        prop_assert_eq!(read[0].iter().map(|cell| unguarded(cell)).collect::<Vec<_>>(), cells);
    }
}

#[test]
fn what_stands_in_quotes_separates_nothing() {
    assert_eq!(rows(",\";;\"\r\n"), [["", ";;"]]);
    assert_eq!(rows("\"a,b,c\";d\r\n"), [["a,b,c", "d"]]);
}

/// The tables of one practice, changed by hand.
fn spoiled(file: &str, from: &str, to: &str) -> Vec<String> {
    let count = Observation { measure: Measure::Count, length: Some(2), value: 18.0, source: ValueSource::Counted };
    let repeat = LoggedRepeat {
        tempo: Some(1.1),
        state: SwimState::Swum,
        observations: vec![count],
        rehearsed: vec![("head-still".into(), 20)],
        ..sample::repeat(1, 2)
    };
    let practice = LoggedPractice {
        script: Some(ScriptCopy { name: "tuesday.yaml".into(), text: "lengthwise: 1\n".into() }),
        day: Day::parse("2024-11-20").unwrap(),
        minutes: Some(42.0),
        said: Impressions { feel: Some(4), effort: Some(6), ..Impressions::default() },
        ..sample::practice(vec![LoggedSet { number: 1, title: "Range".into(), apart: None, repeats: vec![repeat] }])
    };
    let mut files: BTreeMap<String, String> =
        write::tables(&[(PracticeId::new(7), practice)], &[], &[]).into_iter().collect();
    let text = files.get_mut(file).unwrap();
    assert!(text.contains(from), "{text}");
    *text = text.replace(from, to);
    let get = |path: &str| files.get(path).cloned().ok_or_else(|| "there is no such file".to_owned());
    read::tables(&get).map_or_else(|wrong| wrong.iter().map(ToString::to_string).collect(), |_| Vec::new())
}

#[test]
fn a_wrong_cell_is_told_with_its_place() {
    for (file, from, to, told) in [
        (
            "practices.csv",
            "7,Ida,2024-11-20,",
            "7,Ida,20.11.2024,",
            "practices.csv, row 2, column `day`: `20.11.2024`: a day such as 2026-11-28 is allowed",
        ),
        ("practices.csv", "42,4,6", "42,9,6", "practices.csv, row 2, column `feel`: `9`: 1 to 5 is allowed"),
        ("practices.csv", "scripts/", "../scripts/", "it must name a file in this folder"),
        ("practices.csv", "effort", "efort", "practices.csv, row 1: there is no column `effort`"),
        ("practices.csv", "effort", "feel", "practices.csv, row 1, column `feel`: there are two columns of this name"),
        ("sets.csv", "7,1,", "8,1,", "sets.csv, row 2, column `practice`: there is no such practice in practices.csv"),
        (
            "sets.csv",
            "7,1,Range",
            "7,1,Range,\r\n7,1,Range",
            "sets.csv, row 3, column `set`: this set is there already",
        ),
        ("repeats.csv", "7,1,1,", "7,2,1,", "repeats.csv, row 2, column `set`: there is no such set in sets.csv"),
        ("repeats.csv", "swum", "swam", "column `state`: `swam`: unknown, swum, missed, skipped, unheard is allowed"),
        ("repeats.csv", "1 to 2", "1. Feb", "column `plain lengths`: `1. Feb`: such as `1 to 4, 6` is allowed"),
        ("repeats.csv", "head-still 20", "head-still", "column `rehearsed`"),
        ("observations.csv", ",18,", ",1e9,", "observations.csv, row 2, column `value`: `1e9`: 1 to 2000 is allowed"),
        ("observations.csv", ",18,", ",,", "column `value`: it is empty: 1 to 2000 is allowed"),
        (
            "observations.csv",
            "7,1,1,",
            "7,1,2,",
            "observations.csv, row 2, column `repeat`: there is no such repeat in repeats.csv",
        ),
    ] {
        let found = spoiled(file, from, to);
        assert!(found.iter().any(|wrong| wrong.contains(told)), "{from} -> {to}: {found:?}");
    }
    assert_eq!(spoiled("practices.csv", "42,4,6", "\"42,5\",4,6"), [""; 0], "a decimal comma");
    let all = spoiled("practices.csv", "7,Ida,2024-11-20,,Tuesday,25 m,42,4,6", "x,,2024,,Tuesday,,-1,0,11");
    let own = all.iter().filter(|wrong| wrong.starts_with("practices.csv, row 2")).count();
    assert_eq!(own, 1, "a row without a number is told by that alone: {all:?}");
    let all = spoiled("practices.csv", "7,Ida,2024-11-20,,Tuesday,25 m,42,4,6", "7,,2024,99:99,Tuesday,,-1,0,11");
    let columns: BTreeSet<&str> = all.iter().filter_map(|wrong| wrong.split('`').nth(1)).collect();
    assert_eq!(columns, BTreeSet::from(["swimmer", "day", "begun", "pool", "minutes", "feel", "effort"]));
}

#[test]
fn what_separates_is_found() {
    for text in ["a;b\n1;2\n", "a,b\r\n1,2", "sep=;\na;b\n1;2\n", "a\tb\n1\t2\n", "\u{feff}\"a\";\"b\"\n1;2\n"] {
        let table = CsvTable::read("t.csv", text, &["a", "b"], |_| false).unwrap();
        let cells: Vec<_> = table.rows().map(|row| (row.cell("a"), row.cell("b"))).collect();
        assert_eq!(cells, [("1", "2")], "{text:?}");
    }
    assert!(CsvTable::read("t.csv", "", &["a"], |_| false).unwrap_err()[0].to_string().contains("it is empty"));
}

proptest! {
    #![proptest_config(crate::cases::cases(48))]

    /// Somebody's slip in a spreadsheet, or a table that was cut off.
    #[test]
    fn a_spoiled_table_is_read_or_refused(
        practices in prop::collection::vec(practice(), 1..3),
        table in prop::sample::select(vec!["practices.csv", "sets.csv", "repeats.csv", "observations.csv", "swimmers.csv"]),
        at in 0.0..1.0_f64,
        length in 0_usize..6,
        instead in "[0-9,;\"\r\nx'=-]{0,4}",
    ) {
        let kept: Vec<KeptPractice> = (1..).map(PracticeId::new).zip(practices).collect();
        let mut files: BTreeMap<String, String> = write::tables(&kept, &[], &[]).into_iter().collect();
        let text = files.get_mut(table).unwrap();
        let whole = |at: usize| (at..=text.len()).find(|at| text.is_char_boundary(*at)).unwrap();
        let from = whole((at * text.len() as f64) as usize);
        let to = whole((from + length).min(text.len()));
        text.replace_range(from..to, &instead);
        let get = |path: &str| files.get(path).cloned().ok_or_else(|| "there is no such file".to_owned());
        match read::tables(&get) {
            Err(wrong) => prop_assert!(!wrong.is_empty()),
            Ok(exchanged) => {
                // What is taken can go out and come in again.
                let kept: Vec<KeptPractice> =
                    (1..).map(PracticeId::new).zip(exchanged.practices.clone()).collect();
                let files: BTreeMap<String, String> =
                    write::tables(&kept, &exchanged.swimmers, &exchanged.compared).into_iter().collect();
                let get = |path: &str| files.get(path).cloned().ok_or_else(|| "there is no such file".to_owned());
                prop_assert_eq!(read::tables(&get).unwrap(), exchanged);
            }
        }
    }
}
