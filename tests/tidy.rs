//! The house in order: floors use only floors below, files stay readable, nothing is forgotten. Each failure names file
//! and line.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, reason = "tests read files, and a panic is their failure")]

use std::fs;
use std::path::{Path, PathBuf};
use turnwright::matching::rules::RULES;

/// The floors, lowest first.
const FLOORS: &[&str] = &[
    "quantity",
    "tables",
    "formulas",
    "model",
    "lang",
    "planning",
    "costing",
    "matching",
    "calibration",
    "fleet",
    "report",
    "register",
    "cli",
];

/// Floors that a floor may not use although they lie below it: plans, costs and rules know the model, not the language.
const SHUT: &[(&str, &str)] = &[
    ("planning", "lang"),
    ("costing", "lang"),
    ("matching", "lang"),
    ("calibration", "lang"),
    ("fleet", "lang"),
    ("report", "lang"),
];

/// Longest file without a reason.
const LONGEST: usize = 600;

/// Longer files, each with its reason.
const LONG: &[(&str, &str)] = &[
    ("src/lang/resolve/features.rs", "one arm for each kind of feature; to be split by kind"),
    ("src/lang/resolve/machine.rs", "one arm for each statement of a machine"),
];

fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn floor_of(path: &Path) -> Option<usize> {
    let name = path.components().nth(1)?.as_os_str().to_str()?;
    FLOORS.iter().position(|f| *f == name)
}

/// Words that follow `crate::` in a line of code, comments left out.
fn uses(line: &str) -> impl Iterator<Item = &str> {
    let code = if line.trim_start().starts_with("//") { "" } else { line };
    code.match_indices("crate::").map(|(i, m)| {
        let rest = &code[i + m.len()..];
        &rest[..rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len())]
    })
}

#[test]
fn floors_use_only_floors_below() {
    let mut faults = Vec::new();
    for path in files(Path::new("src"), "rs") {
        let Some(own) = floor_of(&path) else { continue };
        for (n, line) in fs::read_to_string(&path).unwrap().lines().enumerate() {
            for used in uses(line) {
                let Some(other) = FLOORS.iter().position(|f| *f == used) else { continue };
                let shut = SHUT.contains(&(FLOORS[own], used));
                if other > own || shut {
                    faults.push(format!("{}:{}: floor `{}` uses `{used}`", path.display(), n + 1, FLOORS[own]));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn only_the_command_line_touches_files_clock_and_environment() {
    let outside = ["std::fs", "std::env", "SystemTime", "Instant::now", "println!", "eprintln!"];
    let mut faults = Vec::new();
    for path in files(Path::new("src"), "rs") {
        if path.starts_with("src/cli") || path == Path::new("src/main.rs") {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        let code = text.split("#[cfg(test)]").next().unwrap();
        // A module that only tests compile may read the demo.
        let test_only = text.contains("//! Test") || path.file_stem().is_some_and(|s| s == "bench" || s == "tests");
        for (n, line) in code.lines().enumerate() {
            if !test_only && !line.trim_start().starts_with("//") && outside.iter().any(|o| line.contains(o)) {
                faults.push(format!("{}:{}: {}", path.display(), n + 1, line.trim()));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn no_file_is_too_long_without_a_reason() {
    let mut faults = Vec::new();
    for path in files(Path::new("src"), "rs") {
        let lines = fs::read_to_string(&path).unwrap().lines().count();
        let name = path.display().to_string();
        let reason = LONG.iter().find(|(file, _)| *file == name);
        if lines > LONGEST && reason.is_none() {
            faults.push(format!("{name}: {lines} lines; split it by meaning, or give a reason in tests/tidy.rs"));
        }
        if lines <= LONGEST && reason.is_some() {
            faults.push(format!("{name}: {lines} lines; take its entry out of tests/tidy.rs"));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_file_begins_with_what_it_is_for() {
    let without: Vec<String> = files(Path::new("src"), "rs")
        .into_iter()
        .filter(|p| !fs::read_to_string(p).unwrap().starts_with("//!"))
        .map(|p| p.display().to_string())
        .collect();
    assert!(without.is_empty(), "no `//!` at the head of {}", without.join(", "));
}

#[test]
fn every_rule_is_one_file_with_doc_and_source() {
    let rules: Vec<PathBuf> = files(Path::new("src/matching/rules"), "rs")
        .into_iter()
        .filter(|p| fs::read_to_string(p).unwrap().contains("impl Rule for"))
        .collect();
    assert_eq!(rules.len(), RULES.len(), "a rule file that is not in RULES, or a rule without a file");
    let mut names = std::collections::BTreeSet::new();
    for rule in RULES {
        let doc = rule.doc();
        assert!(names.insert(rule.name()), "{} twice", rule.name());
        for (what, text) in [("question", doc.question), ("what", doc.what), ("why", doc.why), ("source", doc.source)] {
            assert!(!text.is_empty(), "{}: no {what}", rule.name());
        }
    }
}

#[test]
fn every_test_file_runs() {
    let mut faults = Vec::new();
    for folder in fs::read_dir("tests").unwrap().map(|e| e.unwrap().path()).filter(|p| p.is_dir()) {
        let sources = files(&folder, "rs");
        // What several test files share stands in common/mod.rs and runs nothing by itself.
        if sources.is_empty() || folder.ends_with("bench") || folder.ends_with("common") {
            continue;
        }
        let Ok(main) = fs::read_to_string(folder.join("main.rs")) else {
            faults.push(format!("{}: holds tests but no main.rs, so none of them runs", folder.display()));
            continue;
        };
        for path in sources.iter().filter(|p| p.file_name().is_some_and(|n| n != "main.rs")) {
            let stem = path.file_stem().unwrap().to_string_lossy();
            if !main.contains(&format!("mod {stem};")) {
                faults.push(format!("{}: not named in main.rs", path.display()));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_top_level_is_as_it_was_laid_out() {
    let wanted = [
        "Cargo.lock",
        "Cargo.toml",
        "DEVELOPERS.md",
        "LICENSE",
        "README.md",
        "grammar",
        "machines",
        "parts",
        "src",
        "target",
        "tests",
    ];
    for entry in fs::read_dir(".").unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        assert!(name.starts_with('.') || wanted.contains(&name.as_str()), "`{name}` does not belong to the top level");
    }
}
