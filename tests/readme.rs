//! The README tells what the program prints: its ranking, its table of rules and its specs are held against it. With
//! `UPDATE=1` in the environment they are written anew.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, reason = "tests read files, and a panic is their failure")]

use std::fmt::Write as _;
use std::fs;
use turnwright::cli::{self, World};
use turnwright::lang::{self, Sources};
use turnwright::matching::rules::RULES;

fn printed(command: &str) -> String {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = std::iter::once("turnwright").chain(command.split_whitespace()).map(Into::into);
    cli::run(args, &mut World::new(&mut out, &mut err));
    String::from_utf8(out).unwrap()
}

fn rules() -> String {
    let mut table = String::from("| rule | asks |\n|---|---|\n");
    for rule in RULES {
        writeln!(table, "| `{}` | {} |", rule.name(), rule.doc().question).unwrap();
    }
    table
}

/// The README as it should be.
fn renewed(readme: &str) -> String {
    let mut out = String::new();
    let mut lines = readme.lines().peekable();
    while let Some(line) = lines.next() {
        out.push_str(line);
        out.push('\n');
        if let Some(command) = line.strip_prefix("<!-- printed: ").and_then(|l| l.strip_suffix(" -->")) {
            let (command, count) = command.rsplit_once(" | ").unwrap();
            let count: usize = count.parse().unwrap();
            // The old block is passed over up to its closing fence.
            assert_eq!(lines.next(), Some("```text"));
            while lines.next() != Some("```") {}
            let text = printed(command);
            let shown: Vec<&str> = text.lines().take(count).map(str::trim_end).collect();
            writeln!(out, "```text\n{}\n```", shown.join("\n")).unwrap();
        }
        if line == "<!-- rules -->" {
            while lines.peek().is_some_and(|l| l.starts_with('|') || l.is_empty()) {
                lines.next();
            }
            writeln!(out, "\n{}", rules()).unwrap();
        }
    }
    out
}

#[test]
fn the_readme_shows_what_is_printed() {
    let readme = fs::read_to_string("README.md").unwrap();
    let wanted = renewed(&readme);
    if std::env::var("UPDATE").is_ok() {
        fs::write("README.md", &wanted).unwrap();
    }
    assert!(
        readme == wanted || std::env::var("UPDATE").is_ok(),
        "README.md is stale: run `UPDATE=1 cargo test --test readme`"
    );
}

#[test]
fn the_specs_of_the_readme_are_sound_and_laid_out() {
    let readme = fs::read_to_string("README.md").unwrap();
    for block in readme.split("```turn\n").skip(1) {
        let text = block.split("```").next().unwrap();
        let mut sources = Sources::default();
        sources.add("README.md", text.to_owned());
        let reading = lang::read(&sources);
        assert!(reading.diagnostics.is_empty(), "{:#?}", reading.diagnostics);
        assert_eq!(reading.parts.len(), 1);
    }
}
