//! Geometry checks from the text on: every kind of finding stands beside the mistake that it is about, and the demo,
//! which is sound, is left alone.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;
use turnwright::lang::{Diagnostic, Sources, read};

fn files(folder: &str, begins: &str, ends: &str) -> Vec<PathBuf> {
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    files.retain(|p| {
        let name = p.file_name().unwrap().to_string_lossy();
        name.starts_with(begins) && name.ends_with(ends)
    });
    files.sort();
    files
}

/// `error[code]: message | underlined: words`, as the bad files write it behind `#`.
fn said(sources: &Sources, d: &Diagnostic) -> String {
    format!("{}[{}]: {} | underlined: {}", d.severity.word(), d.code, d.message, sources.words(d.place))
}

fn expected(text: &str) -> Vec<String> {
    let mark = |line: &str| line.find("# error[").or_else(|| line.find("# warning["));
    text.lines().filter_map(|line| Some(line[mark(line)? + 2..].trim_end().to_owned())).collect()
}

#[test]
fn every_geometry_finding_stands_beside_its_mistake() {
    let files = files("tests/bad", "geometry-", ".turn");
    assert!(files.len() >= 60, "{} files", files.len());
    let mut wrong = String::new();
    for path in files {
        let text = fs::read_to_string(&path).unwrap();
        let mut sources = Sources::default();
        sources.add(&path.display().to_string(), text.clone());
        let found = read(&sources).diagnostics;
        for d in &found {
            assert!(d.help.as_ref().is_some_and(|h| !h.is_empty()), "no remedy: {}", d.message);
        }
        let found: Vec<String> = found.iter().map(|d| said(&sources, d)).collect();
        if found != expected(&text) || found.is_empty() {
            wrong += &format!("{}\n  expected {:#?}\n  found {found:#?}\n", path.display(), expected(&text));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn every_geometry_code_has_a_bad_file() {
    let mut codes = BTreeSet::new();
    for path in files("src/lang/geometry", "", ".rs") {
        let text = fs::read_to_string(path).unwrap();
        let body = text.split("#[cfg(test)]").next().unwrap();
        for call in ["Diagnostic::error(", "Diagnostic::warning("] {
            for (at, _) in body.match_indices(call) {
                let code = body[at + call.len()..].trim_start();
                codes.extend(code.strip_prefix('"').and_then(|c| c.split('"').next()).map(str::to_owned));
            }
        }
    }
    assert!(codes.len() >= 50, "{codes:?}");
    let texts: Vec<String> =
        files("tests/bad", "geometry-", ".turn").iter().map(|p| fs::read_to_string(p).unwrap()).collect();
    // The language itself asks for a datum, so this one cannot be written.
    codes.remove("datum-missing");
    let missing: Vec<&String> = codes.iter().filter(|c| !texts.iter().any(|t| t.contains(&format!("[{c}]")))).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[test]
fn the_demo_is_sound() {
    let mut sources = Sources::default();
    for folder in ["parts", "machines"] {
        for path in files(folder, "", ".turn") {
            sources.add(&path.display().to_string(), fs::read_to_string(&path).unwrap());
        }
    }
    let reading = read(&sources);
    let told: Vec<String> = reading.diagnostics.iter().map(|d| said(&sources, d)).collect();
    assert!(told.is_empty(), "{told:#?}");
    assert_eq!(reading.machines.len(), 7);
    assert!(reading.parts.len() >= 16 + 3, "{} parts", reading.parts.len());
    let shop = fs::read_to_string("machines/shop.yaml").unwrap();
    let (_, told) = turnwright::lang::shop::read_shop_with(0, &shop, &reading.machines);
    assert!(told.is_empty(), "{told:#?}");
}
