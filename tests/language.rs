//! The language from the text on: every message stands beside the mistake that it is about, and what is sound is read
//! to the figures that the drawing means.

#![allow(clippy::disallowed_methods, reason = "tests read the files of the repository")]
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use turnwright::lang::diagnostic::CATALOGUE;
use turnwright::lang::{Diagnostic, Reading, Sources, read, thread_sizes};
use turnwright::model::Part;
use turnwright::model::figure::{Limits, Size, ToleranceSource};
use turnwright::model::part::{GrooveSide, Kind};

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
    let line = format!("{}[{}]: {} | underlined: {}", d.severity.word(), d.code, d.message, sources.words(d.place));
    line.replace('\n', " ").trim_end().to_owned()
}

fn expected(text: &str) -> Vec<String> {
    let mark = |line: &str| line.find("# error[").or_else(|| line.find("# warning["));
    text.lines().filter_map(|line| Some(line[mark(line)? + 2..].trim_end().to_owned())).collect()
}

fn told(text: &str) -> (Sources, Reading) {
    let mut sources = Sources::default();
    sources.add("probe.turn", text.to_owned());
    let reading = read(&sources);
    (sources, reading)
}

#[test]
fn every_message_of_the_language_stands_beside_its_mistake() {
    let files = files("tests/bad", "lang-", ".turn");
    assert!(files.len() >= 100, "{} files", files.len());
    let mut wrong = String::new();
    for path in files {
        let text = fs::read_to_string(&path).unwrap();
        let (sources, reading) = told(&text);
        for d in &reading.diagnostics {
            assert!(d.help.as_ref().is_some_and(|h| !h.is_empty()), "{}: no remedy: {}", path.display(), d.message);
        }
        let found: Vec<String> = reading.diagnostics.iter().map(|d| said(&sources, d)).collect();
        if found != expected(&text) || found.is_empty() {
            wrong += &format!("{}\n  expected {:#?}\n  found {found:#?}\n", path.display(), expected(&text));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// Codes in the sources of a folder, tests left out.
fn emitted(folder: &Path, codes: &mut BTreeSet<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            emitted(&path, codes);
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        let body = text.split("#[cfg(test)]").next().unwrap();
        for call in CALLS {
            for (at, _) in body.match_indices(call) {
                let code = body[at + call.len()..].trim_start();
                codes.extend(code.strip_prefix('"').and_then(|c| c.split('"').next()).map(str::to_owned));
            }
        }
    }
}

const CALLS: [&str; 2] = ["Diagnostic::error(", "Diagnostic::warning("];

#[test]
fn the_catalogue_is_what_the_sources_emit() {
    let mut codes = BTreeSet::new();
    emitted(Path::new("src/lang"), &mut codes);
    let catalogue: BTreeSet<String> = CATALOGUE.iter().map(|(code, _)| (*code).to_owned()).collect();
    assert_eq!(catalogue.len(), CATALOGUE.len(), "a code stands twice");
    let unlisted: Vec<_> = codes.difference(&catalogue).collect();
    assert!(unlisted.is_empty(), "not in the catalogue: {unlisted:?}");
    let idle: Vec<_> = catalogue.difference(&codes).collect();
    assert!(idle.is_empty(), "emitted nowhere: {idle:?}");
}

#[test]
fn every_code_has_a_bad_file() {
    let texts: Vec<String> = ["lang-", "geometry-", "shop-"]
        .iter()
        .flat_map(|begins| files("tests/bad", begins, ""))
        .map(|p| fs::read_to_string(p).unwrap())
        .collect();
    // A file over the limit is made below; long chains are in tests/hostile.rs; the grammar takes any text; the language itself asks for a datum; the
    // last three need the machines of a shop beside its file.
    let elsewhere = [
        "like-chain",
        "too-many-faults",
        "too-many-statements",
        "file-too-large",
        "unreadable",
        "datum-missing",
        "bar-out-of-range",
        "mode-not-there",
        "unknown-option",
        // In the tests of the mix's reader.
        "unknown-chance",
    ];
    let missing: Vec<&str> = CATALOGUE
        .iter()
        .map(|(code, _)| *code)
        .filter(|c| !elsewhere.contains(c) && !texts.iter().any(|t| t.contains(&format!("[{c}]"))))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
    let (_, reading) = told(&"# long\n".repeat(200_000));
    assert_eq!(reading.diagnostics.iter().map(|d| d.code).collect::<Vec<_>>(), ["file-too-large"]);
}

#[test]
fn messages_are_worded_alike() {
    let mut wrong = Vec::new();
    for path in files("tests/bad", "", ".turn") {
        let (_, reading) = told(&fs::read_to_string(&path).unwrap());
        for d in reading.diagnostics {
            // Standards keep their capitals.
            let capital = d.message.starts_with(char::is_uppercase) && !d.message.starts_with("ISO ");
            if capital || d.message.ends_with('.') || d.message.contains('\n') || d.message.is_empty() {
                wrong.push(d.message);
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn a_name_in_another_file_is_told_with_its_place() {
    let mut sources = Sources::default();
    sources.add("one.turn", "material own \"own\" {\n  like c45\n}\n".to_owned());
    sources.add("two.turn", "\nmaterial own \"own\" {\n  like c45\n}\n".to_owned());
    let found = read(&sources).diagnostics;
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].help.as_deref(), Some("give one of them another name; first here: one.turn line 1"));
}

/// A part of these lines in a file of this unit, which must be sound.
fn part(unit: &str, lines: &str) -> Part {
    let text = format!("units {unit}\nlet wall = 0.8 mm\npart probe \"probe\" {{\nmaterial c45\n{lines}\n}}\n");
    let (sources, mut reading) = told(&text);
    let found: Vec<String> = reading.diagnostics.iter().map(|d| said(&sources, d)).collect();
    assert!(found.is_empty(), "{lines}: {found:#?}");
    reading.parts.remove(0)
}

/// A diameter as the drawing writes it.
fn size(unit: &str, words: &str) -> Size {
    let general = if unit == "in" { "general two-place ±0.01, three-place ±0.005, angle ±1 deg\n" } else { "" };
    let p = part(unit, &format!("{general}length 20 mm\nturn body dia {words} z 0 mm .. 20 mm"));
    match &p.features[0].kind {
        Kind::Turn(turn) => turn.dia.clone(),
        other => panic!("{other:?}"),
    }
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 5e-5
}

#[test]
fn every_form_of_tolerance_is_read() {
    for (unit, words, nominal, lower, upper) in [
        ("mm", "20 ±0.1", 20.0, 19.9, 20.1),
        ("mm", "20 +-0.1", 20.0, 19.9, 20.1),
        ("mm", "20 +/-0.1", 20.0, 19.9, 20.1),
        ("mm", "20 ±100 um", 20.0, 19.9, 20.1),
        ("mm", "20 +0.02/-0.01", 20.0, 19.99, 20.02),
        ("mm", "20 -0.005/-0.014", 20.0, 19.986, 19.995),
        ("mm", "20 h8", 20.0, 19.967, 20.0),
        ("mm", "20h8", 20.0, 19.967, 20.0),
        ("mm", "20 H7", 20.0, 20.0, 20.021),
        ("mm", "20 js6", 20.0, 19.9935, 20.0065),
        ("mm", "7.986 | 7.995", 7.9905, 7.986, 7.995),
        ("mm", "20", 20.0, 19.8, 20.2),
        ("mm", "3/8 in", 9.525, 9.325, 9.725),
        ("mm", "1-1/4 in", 31.75, 31.45, 32.05),
        ("mm", "(3 * 12 mm + 2 mm)", 38.0, 37.7, 38.3),
        ("mm", "(wall * 10)", 8.0, 7.8, 8.2),
        ("in", "1.00", 25.4, 25.4 - 0.254, 25.4 + 0.254),
        ("in", "1.000", 25.4, 25.4 - 0.127, 25.4 + 0.127),
        ("in", ".3125", 7.9375, 7.9375 - 0.127, 7.9375 + 0.127),
        ("in", "1.000 +.002/-.001", 25.4, 25.4 - 0.0254, 25.4 + 0.0508),
    ] {
        let s = size(unit, words);
        let found = (s.nominal.to_mm(), s.lower().to_mm(), s.upper().to_mm());
        assert!(near(found.0, nominal) && near(found.1, lower) && near(found.2, upper), "{words}: {found:?}");
    }
    for (words, limits) in [
        ("max 20", Limits::AtMost),
        ("20 max", Limits::AtMost),
        ("min 20", Limits::AtLeast),
        ("20 min", Limits::AtLeast),
        ("[20]", Limits::Reference),
    ] {
        assert_eq!(size("mm", words).limits, limits, "{words}");
    }
    let source = |words| match size("mm", words).limits {
        Limits::Both { from, .. } => from,
        other => panic!("{other:?}"),
    };
    assert_eq!(source("20 ±0.1"), ToleranceSource::Written);
    assert_eq!(source("20h8"), ToleranceSource::Class("h8".to_owned()));
    assert_eq!(source("20"), ToleranceSource::General("ISO 2768-m".to_owned()));
}

#[test]
fn designations_of_threads_give_the_sizes_of_their_standards() {
    // Major, pitch, root of the external and crest of the internal thread in mm. From memory: ISO 68-1 (roots and crests
    // by 1.2269 and 1.0825 of the pitch), ASME B1.1 (roots by 1.1908) and B1.15, ISO 2904, ISO 228-1, ISO 7-1, ASME B1.20.1, ISO 5835.
    for (words, major, pitch, external, internal) in [
        ("M4 x 0.7 6H", 4.0, 0.7, 3.1412, 3.2422),
        ("M8x1", 8.0, 1.0, 6.7731, 6.9175),
        ("1-20 UNEF 2A", 25.4, 1.27, 23.8877, 24.0252),
        (".3125-24 UNJF-3A", 7.9375, 1.058_33, 6.7154, 6.7918),
        ("10-32 UNF", 4.826, 0.793_75, 3.8808, 3.9667),
        ("Tr 8x1.5", 8.0, 1.5, 6.2, 6.5),
        ("G 1/2 A", 20.955, 1.814_29, 18.631, 18.631),
        ("R 1/2", 20.955, 1.814_29, 18.631, 18.631),
        ("1/4-18 NPT", 13.2546, 1.411_11, 10.9968, 10.9968),
        ("HA 3.5", 3.5, 1.25, 2.4, 2.4),
    ] {
        let s = thread_sizes(words).unwrap();
        let found = [s.major, s.pitch, s.minor_external, s.minor_internal].map(|l| l.to_mm());
        let right = [major, pitch, external, internal];
        // Tables print inch roots to four decimals of an inch.
        assert!(found.iter().zip(right).all(|(f, r)| (f - r).abs() < 0.006), "{words}: {found:?}, not {right:?}");
    }
    assert_eq!(thread_sizes("M4 x 0.7 6H").unwrap().class.as_deref(), Some("6H"));
    assert_eq!(thread_sizes(".3125-24 UNJF-3A").unwrap().class.as_deref(), Some("3A"));
    assert_eq!(thread_sizes("G 1/2 A").unwrap().class.as_deref(), Some("A"));
    assert_eq!(thread_sizes("1/4-18 NPT").unwrap().taper, Some(1.0 / 16.0));
    assert_eq!(thread_sizes("R 1/2").unwrap().taper, Some(1.0 / 16.0));
    assert!(thread_sizes("M8x1 LH").unwrap().left);
}

#[test]
fn holes_bores_and_grooves_lie_where_the_drawing_says() {
    let p = part(
        "mm",
        "length 20\nturn body dia 14 z 0 .. 20\nbore core dia 4 through\nbore wide dia 6 H7 depth 5 from back\n\
         groove clip dia 12 z 3 .. 4.3\ngroove ring face front dia 9 outer 11 depth 1\n\
         hole pin dia 2 at 10 angle 90 deg into core count 2\nbore seat dia 5 z 0 .. 2 flat-bottom\n\
         due 2027-03-01\nnote \"pack in trays\"",
    );
    let kind = |name: &str| &p.features.iter().find(|f| f.name == name).unwrap().kind;
    let z = |zone: turnwright::model::part::Zone| (zone.start.to_mm(), zone.end.to_mm());
    let Kind::Bore(core) = kind("core") else { panic!() };
    assert!(core.through && z(core.zone) == (0.0, 20.0));
    let Kind::Bore(wide) = kind("wide") else { panic!() };
    assert!(!wide.through && z(wide.zone) == (15.0, 20.0) && near(wide.dia.upper().to_mm(), 6.012));
    let Kind::Bore(seat) = kind("seat") else { panic!() };
    assert!(seat.flat_bottom && z(seat.zone) == (0.0, 2.0));
    let Kind::Groove(clip) = kind("clip") else { panic!() };
    assert!(clip.side == GrooveSide::External && z(clip.zone) == (3.0, 4.3));
    let Kind::Groove(ring) = kind("ring") else { panic!() };
    assert!(matches!(ring.side, GrooveSide::Face(_)) && z(ring.zone) == (0.0, 1.0));
    let Kind::Hole(pin) = kind("pin") else { panic!() };
    assert_eq!((pin.count, pin.into.map(|i| p.features[i].name.as_str())), (2, Some("core")));
    let told: Vec<_> = p.remarks.iter().map(|r| (r.about.as_str(), r.words.as_str())).collect();
    assert_eq!((p.due.as_deref(), told), (Some("2027-03-01"), vec![("note", "pack in trays")]));
}

/// What nothing is reckoned from is told with the feature that it is about; nothing that is written is dropped.
#[test]
fn what_is_only_told_is_kept_as_written() {
    let p = part(
        "mm",
        "length 30\nturn body dia 20 z 0 .. 20\nhex grip across 15 z 20 .. 30 corners cut bevel 30 deg to 15.5\n\
         turn neck dia 16 z 20 .. 30\nbore core dia 5 depth 12\nthread M6 internal depth 8 relief DIN-76\n\
         socket drive hex 3 depth 2 from back bottom 120 deg\nsample \"AQL 0.65\"\nnote first\nnote \"and second\"\n\
         after heat-treat hardness 58 .. 62 HRC depth 0.6 note \"case only\"",
    );
    let told: Vec<_> = p.remarks.iter().map(|r| (r.about.as_str(), r.words.as_str())).collect();
    assert_eq!(
        told,
        [
            ("hex grip", "bevel 30 deg, to 15.5"),
            ("thread M6", "relief DIN-76"),
            ("socket drive", "bottom 120 deg"),
            ("sample", "AQL 0.65"),
            ("note", "first"),
            ("note", "and second"),
            ("after heat-treat", "hardness 58 .. 62 HRC, depth 0.6, note case only"),
        ]
    );
}

#[test]
fn a_frozen_process_says_where_and_what_moving_it_means() {
    use turnwright::model::machine::ModeKind::{Collet, Guided};
    let of = |line: &str| part("mm", &format!("length 20\nturn body dia 8 z 0 .. 20\n{line}")).validated;
    assert_eq!(of(""), None);
    let frozen = of("validated on a-32, b-20 mode guided").unwrap();
    assert_eq!((frozen.words().as_str(), frozen.moving), ("a-32 and b-20, guided", None));
    assert!(frozen.holds("b-20", Guided) && !frozen.holds("b-20", Collet) && !frozen.holds("c-20", Guided));
    let moved = of("validated on a-32 moving 12_000 EUR takes 16 weeks").unwrap();
    assert!(moved.holds("a-32", Collet));
    let (cost, time) = moved.moving.unwrap();
    assert_eq!((cost.to_units(), time.to_hours()), (12_000.0, 16.0 * 168.0));
}

#[test]
fn first_articles_and_supplied_bar() {
    let of = |line: &str| part("mm", &format!("length 20\nturn body dia 8 z 0 .. 20\n{line}"));
    let plain = of("").first_article;
    assert!(!plain.keys_only && !plain.report);
    let asked = of("first-article keys report").first_article;
    assert!(asked.keys_only && asked.report);
    let (_, r) = told("units mm\npart p {\nmaterial c45 supplied\nlength 20\nturn body dia 8 z 0 .. 20\n}\n");
    assert!(r.diagnostics.is_empty() && r.parts[0].supplied);
}

#[test]
fn families_own_materials_and_derived_machines() {
    let text = "units mm\nmaterial own \"own alloy\" {\n  like c45\n  density 7000\n}\n\
        family pin (long: 20, 24, 28) {\n  material own\n  length long\n  turn body dia 8 z 0 .. long\n}\n\
        machine a \"a\" {\n  headstock fixed\n  spindle main { speed .. 8_000 rpm bore 26 }\n  mode collet { bar 3 .. 20 stick-out 60 }\n\
        \x20 carrier gang { serves main fixed 6 angle .. 30 deg }\n}\nmachine b \"b\" like a with {\n  spindle main { speed 200 .. 10_000 rpm }\n}\n";
    let (sources, r) = told(text);
    assert!(r.diagnostics.is_empty(), "{:#?}", r.diagnostics.iter().map(|d| said(&sources, d)).collect::<Vec<_>>());
    let names: Vec<&str> = r.parts.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["pin-20", "pin-24", "pin-28"]);
    assert!(near(r.parts[2].length.nominal.to_mm(), 28.0));
    assert!(near(r.parts[0].material.density_kg_m3, 7000.0));
    let b = r.machines.iter().find(|m| m.name == "b").unwrap();
    let speed = b.main.speed.as_ref().unwrap();
    assert!(near(speed.low.unwrap().to_rpm(), 200.0) && near(speed.high.unwrap().to_rpm(), 10_000.0));
    assert!(near(b.main.bore.unwrap().value.to_mm(), 26.0));
    let a = r.machines.iter().find(|m| m.name == "a").unwrap();
    assert!(a.main.speed.as_ref().unwrap().low.is_none());
}
