//! The schema for editors, judged by a validator that knows nothing of the program: it takes what the parser takes, and
//! marks what is broken. The scripts are those that the tests in `tests/main/reference.rs` have left, as JSON.

#![allow(clippy::unwrap_used, clippy::panic, reason = "tests, also in their helpers")]

use boon::{Compiler, Schemas};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// Something that was left in the folder which cargo shares out among tests that build into the same place.
fn left(name: &str) -> Value {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("schema").join(name);
    let text = fs::read_to_string(&path).unwrap_or_else(|error| {
        panic!(
            "{}: {error}; run `cargo test --test main schema` first, and this with `--target-dir target`",
            path.display()
        )
    });
    serde_json::from_str(&text).unwrap()
}

/// What is wrong with each of the scripts in a file by the schema; nothing where it takes one.
fn judged(name: &str) -> Vec<(Value, Option<String>)> {
    let (mut schemas, mut compiler) = (Schemas::new(), Compiler::new());
    compiler.add_resource("cue-script.json", left("schema.json")).unwrap();
    let compiled = compiler.compile("cue-script.json", &mut schemas).unwrap();
    let scripts = left(name).as_array().unwrap().clone();
    let judge = |script: Value| {
        let wrong = schemas.validate(&script, compiled).err().map(|error| format!("{error:#}"));
        (script, wrong)
    };
    scripts.into_iter().map(judge).collect()
}

#[test]
fn it_takes_what_check_takes() {
    let judged = judged("good.json");
    assert!(judged.len() > 150, "only {} scripts", judged.len());
    for (script, wrong) in judged {
        assert_eq!(wrong, None, "{script:#}");
    }
}

#[test]
fn it_marks_what_is_broken() {
    let judged = judged("broken.json");
    assert!(judged.len() > 15, "only {} scripts", judged.len());
    for (script, wrong) in judged {
        assert!(wrong.is_some(), "{script:#}");
    }
}
