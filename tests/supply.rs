//! What the crates that Cargo.lock names bring with them: their licences, the Rust they ask for, and versions that are
//! there twice. Whether a crate is abandoned or known to be faulty is not looked at: that needs a database from elsewhere.

#![allow(clippy::unwrap_used, reason = "tests, also in their helpers")]

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// Terms on which a crate may be linked into the program or used to build and test it; LICENSE has the reasons.
const LICENCES: [&str; 11] = [
    "0BSD",
    "Apache-2.0",
    "BSD-1-Clause",
    "BSD-3-Clause",
    "ISC",
    "LGPL-3.0",
    "MIT",
    "MPL-2.0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Crates whose terms stand in a file instead of their manifest, with the terms as read there.
const IN_A_FILE: [(&str, &str); 1] = [("libyaml-safer", "MIT")];

/// The LGPL asks for more than the others, so it is allowed to the writer of MP3 alone.
const LGPL: [&str; 2] = ["mp3lame-encoder", "mp3lame-sys"];

/// Crates of which others want two versions. One more is a reason to look whether it can be helped. `glam` is only listed: for
/// nalgebra it is a choice that nobody here takes, and it is not built.
const TWICE: [&str; 9] =
    ["bitflags", "cpufeatures", "glam", "safe_arch", "signal-hook", "syn", "thiserror", "thiserror-impl", "wide"];

/// The crates of a build for this machine.
fn crates() -> Vec<Value> {
    let cargo = |args: &[&str]| {
        let output = Command::new(env!("CARGO")).args(args).current_dir(env!("CARGO_MANIFEST_DIR")).output().unwrap();
        assert!(output.status.success(), "cargo {args:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    let about = cargo(&["-vV"]);
    let host = about.lines().find_map(|line| line.strip_prefix("host: ")).unwrap();
    let args =
        ["metadata", "--locked", "--offline", "--all-features", "--format-version", "1", "--filter-platform", host];
    let metadata: Value = serde_json::from_str(&cargo(&args)).unwrap();
    let crates = metadata["packages"].as_array().unwrap().clone();
    assert!(crates.len() > 100, "only {} crates", crates.len());
    crates
}

fn text<'c>(crate_: &'c Value, key: &str) -> &'c str {
    crate_[key].as_str().unwrap_or_default()
}

/// Whether a licence expression of SPDX can be met with allowed terms: one side of an `OR`, both sides of an `AND`. An older
/// style has `/` for `OR`.
fn allowed(expression: &str) -> bool {
    let expression = expression.replace('/', " OR ");
    let part = |part: &str| {
        let choices = part.trim().trim_start_matches('(').trim_end_matches(')').split(" OR ");
        choices.map(str::trim).any(|name| LICENCES.contains(&name))
    };
    // No crate nests deeper than an `OR` in parentheses within an `AND`.
    expression.split(" AND ").all(part)
}

#[test]
fn every_licence_is_known() {
    let unknown: Vec<String> = crates()
        .iter()
        .filter(|found| {
            let stated = text(found, "license");
            let read = IN_A_FILE.iter().find(|(name, _)| stated.is_empty() && *name == text(found, "name"));
            let terms = read.map_or(stated, |(_, terms)| terms);
            !allowed(terms) || terms.contains("LGPL") && !LGPL.contains(&text(found, "name"))
        })
        .map(|found| format!("{} is under `{}`", text(found, "name"), text(found, "license")))
        .collect();
    assert!(unknown.is_empty(), "{}", unknown.join("\n"));
}

#[test]
fn a_licence_can_be_refused() {
    for good in ["MIT", "MIT/Apache-2.0", "GPL-3.0 OR MIT", "(MIT OR Apache-2.0) AND Unicode-3.0", "Apache-2.0 / MIT"] {
        assert!(allowed(good), "{good}");
    }
    for bad in ["", "GPL-3.0", "MIT AND GPL-3.0", "(MIT OR Apache-2.0) AND GPL-2.0", "AGPL-3.0 OR GPL-3.0"] {
        assert!(!allowed(bad), "{bad}");
    }
}

#[test]
fn no_crate_is_there_twice_but_those_known() {
    let mut versions: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for found in crates() {
        versions.entry(text(&found, "name").to_owned()).or_default().insert(text(&found, "version").to_owned());
    }
    versions.retain(|_, versions| versions.len() > 1);
    let unknown: Vec<_> = versions.iter().filter(|(name, _)| !TWICE.contains(&name.as_str())).collect();
    assert!(unknown.is_empty(), "{unknown:?}");
    let gone: Vec<_> = TWICE.iter().filter(|name| !versions.contains_key(**name)).collect();
    // Other systems have other crates.
    assert!(
        gone.is_empty() || cfg!(not(target_os = "linux")),
        "only one version is left of {gone:?}: strike them from the list"
    );
}

#[test]
fn no_crate_asks_for_a_newer_rust_than_we_do() {
    let number = |version: &str| {
        let mut parts = version.split('.').map(|part| part.parse::<u32>().unwrap());
        (parts.next().unwrap(), parts.next().unwrap_or(0), parts.next().unwrap_or(0))
    };
    let crates = crates();
    let ours = crates.iter().find(|found| text(found, "name") == "lengthwise").unwrap();
    let newest = number(text(ours, "rust_version"));
    let newer: Vec<String> = crates
        .iter()
        .filter(|found| found["rust_version"].as_str().is_some_and(|version| number(version) > newest))
        .map(|found| format!("{} needs Rust {}", text(found, "name"), text(found, "rust_version")))
        .collect();
    assert!(newer.is_empty(), "{}", newer.join("\n"));
}
