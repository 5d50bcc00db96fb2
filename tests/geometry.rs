//! Geometry checks from the text on: every kind of finding stands beside the mistake that it is about, and the demo,
//! which is sound, is left alone.

#![allow(clippy::disallowed_methods, reason = "tests read the files of the repository")]
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

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

/// Drawings that look odd and are sound.
#[test]
fn nothing_sound_is_refused() {
    let sound = [
        (
            "a thread over the shank and on into the tip",
            "20",
            "turn shank dia 5 z 0 .. 16\ntaper tip dia 5 .. 2 z 16 .. 20\nthread coarse form HA major 5 core 3.5 pitch 1.75 z 2 .. 18",
        ),
        (
            "a relief across the border of two turns",
            "20",
            "turn a dia 10 z 0 .. 10\nturn b dia 8 z 10 .. 20\nundercut dia 7.4 z 9.5 .. 12",
        ),
        (
            "a counterbored cross hole",
            "20",
            "turn a dia 12 z 0 .. 20\nhole seat dia 4 at 10 angle 90 deg depth 2\nhole pin dia 2 at 10 angle 90 deg through",
        ),
        (
            "a countersunk through bore",
            "20",
            "turn a dia 12 z 0 .. 20\nbore core dia 6 through\ntaper sink internal dia 9 .. 6 z 0 .. 1.5",
        ),
        (
            "bores of three steps",
            "30",
            "turn a dia 20 z 0 .. 30\nbore small dia 4 through\nbore middle dia 8 depth 20 from front\nbore wide dia 12 depth 5 from front",
        ),
        ("a hemispherical end", "20", "sphere ball dia 8 z 0 .. 4\nturn a dia 8 z 4 .. 20"),
        ("a keyway out over the end", "20", "turn a dia 12 z 0 .. 20\nkeyway key width 4 depth 2.5 z 8 .. 20"),
        (
            "a tapped hole that drills its own bore",
            "20",
            "turn a dia 12 z 0 .. 20\nthread M6 x 1 6H internal depth 10 from back",
        ),
        ("a thread on a blank with a general tolerance", "20", "turn a dia 8 z 0 .. 20\nthread M8 x 1.25 6g z 0 .. 12"),
        (
            "a rolled thread on its pitch diameter",
            "20",
            "turn a dia 7.1 ±0.01 z 0 .. 20\nthread M8 x 1.25 6g z 0 .. 12 rolled",
        ),
        (
            "a drive across a cannula",
            "20",
            "turn head dia 8 z 0 .. 4\nturn shank dia 5 z 4 .. 20\nbore core dia 1.6 through\nsocket drive hexalobe 20 depth 2.5 from front",
        ),
        (
            "two flats at their own heights",
            "20",
            "turn a dia 12 z 0 .. 20\nflat low from-axis 4 z 2 .. 8 clock 0 deg\nflat high from-axis 5 z 2 .. 12 clock 90 deg",
        ),
        (
            "an eccentric between two journals",
            "30",
            "turn a dia 8 z 0 .. 10\nturn cam dia 12 z 10 .. 20 offset 1.5\nturn b dia 8 z 20 .. 30",
        ),
        (
            "bolts through a flange beside its hub",
            "20",
            "turn rim dia 40 z 0 .. 6\nturn hub dia 20 z 6 .. 20\nhole bolts dia 4 angle 0 deg on circle 30 at 0 opens front through count 6",
        ),
        (
            "bolt holes from the back face",
            "20",
            "turn hub dia 20 z 0 .. 14\nturn rim dia 40 z 14 .. 20\nhole bolts dia 4 angle 0 deg on circle 30 at 20 opens back depth 5 count 6",
        ),
        (
            "a leaning hole into a blind bore from the other end",
            "30",
            "turn a dia 14 z 0 .. 30\nbore core dia 6 depth 20 from back\nhole jet dia 1 at 6 angle 45 deg opens front into core count 4",
        ),
        (
            "ports into an inner ring",
            "30",
            "turn a dia 20 z 0 .. 30\nbore core dia 10 through\ngroove ring internal dia 13 z 12 .. 16\nhole ports dia 2.5 at 14 angle 90 deg into ring count 8",
        ),
        (
            "a face groove around a bore",
            "20",
            "turn a dia 30 z 0 .. 20\nbore core dia 10 through\ngroove ring face front dia 15 outer 20 depth 2",
        ),
        (
            "a slot right across a head",
            "20",
            "turn head dia 8 z 0 .. 3\nturn shank dia 4 z 3 .. 20\nsocket drive slot 1.2 depth 1.5 from front",
        ),
    ];
    let mut wrong = String::new();
    for (name, length, body) in sound {
        let text = format!(
            "units mm\npart probe \"{name}\" {{\nmaterial c45\nlength {length}\norder 100\ngeneral iso-2768-m\n{body}\n}}\n"
        );
        let mut sources = Sources::default();
        sources.add("probe.turn", text);
        let reading = read(&sources);
        for d in &reading.diagnostics {
            wrong += &format!("{name}: {}\n", said(&sources, d));
        }
        assert!(!wrong.is_empty() || reading.parts.len() == 1, "{name}");
    }
    assert!(wrong.is_empty(), "{wrong}");
}
