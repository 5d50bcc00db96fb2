//! Sheets of inquiries: each line is answered in its order, and a broken one is told with its row.
#![allow(clippy::disallowed_methods, reason = "tests read and write files")]
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

use std::ffi::OsString;
use std::fs;
use std::path::PathBuf;
use turnwright::cli::{self, Exit, World};

/// A run of the program: how it ended, and both streams.
fn run(args: &[&str]) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = ["turnwright"].iter().chain(args).map(OsString::from);
    let exit = cli::run(args, &mut World::new(&mut out, &mut err));
    (exit, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

/// A sheet in a folder of its own.
struct Sheet(PathBuf);

impl Sheet {
    fn new(name: &str, content: &[u8]) -> Sheet {
        let folder = std::env::temp_dir().join(format!("turnwright-{}-{name}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join(name), content).unwrap();
        Sheet(folder.join(name))
    }

    fn path(&self) -> &str {
        self.0.to_str().unwrap()
    }
}

impl Drop for Sheet {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(self.0.parent().unwrap());
    }
}

fn part(name: &str) -> String {
    fs::canonicalize(format!("parts/{name}.turn")).unwrap().display().to_string()
}

#[test]
fn lines_are_answered_in_their_order_whatever_takes_longer() {
    let names = ["cortex-screw", "contact-pin", "valve-spool", "flange-45", "abutment"];
    let lines: String =
        (0..150).map(|i| format!("{},{},2027-01-{:02},R{i}\n", part(names[i % 5]), i + 1, i % 28 + 1)).collect();
    let sheet = Sheet::new("order.csv", format!("part,quantity,due,reference\n{lines}").as_bytes());
    let (exit, out, err) = run(&["rank", sheet.path(), "--format", "csv"]);
    assert_eq!((exit, err.as_str()), (Exit::Fine, ""));
    let mut references: Vec<&str> = out.lines().skip(1).map(|l| l.rsplit(',').next().unwrap()).collect();
    references.dedup();
    assert_eq!(references, (0..150).map(|i| format!("R{i}")).collect::<Vec<_>>());
    assert!(out.lines().nth(1).unwrap().contains("2027-01-01"));
    let (_, again, _) = run(&["rank", sheet.path(), "--format", "csv"]);
    assert_eq!(again, out);
}

#[test]
fn a_broken_line_takes_nothing_from_the_others() {
    let spool = part("valve-spool");
    let text = format!(
        "part;quantity;due\n{spool};5;\nnone.turn;5;\n{spool};few;\n{spool};5;2026-13-01\n{};1;\nbroken.turn;1;\n{spool};7;\n",
        fs::canonicalize("machines/gang-12.turn").unwrap().display()
    );
    let sheet = Sheet::new("broken.csv", text.as_bytes());
    fs::write(sheet.0.with_file_name("broken.turn"), "units mm\npart broken \"x\" {\n  lenght 5\n}\n").unwrap();
    let (exit, out, err) = run(&["quote", sheet.path(), "--format", "json"]);
    assert_eq!(exit, Exit::Findings);
    let quotes: serde_json::Value = serde_json::from_str(&out).unwrap();
    let quantities: Vec<u64> =
        quotes.as_array().unwrap().iter().map(|q| q["offers"][0]["quantity"].as_u64().unwrap()).collect();
    assert_eq!(quantities, [5, 7]);
    for said in [
        "row 3: `",
        "row 4: `few` is no number of pieces; write a whole number",
        "row 5: `2026-13-01` is no day of the calendar; write it like 2026-12-24",
        "row 6: `",
        "holds no part",
        "row 7: its spec has faults",
        "did you mean `length`?",
    ] {
        assert!(err.contains(said), "{said}\n{err}");
    }
}

#[test]
fn a_sheet_of_no_use_says_why() {
    for (name, text, said) in [
        ("empty.csv", "", "has no line"),
        ("columns.csv", "quantity,due\n5,2027-01-01\n", "no column is called `part`"),
        ("slip.csv", "part,quantty\n", "did you mean `quantity`?"),
        ("price.csv", "part,price\n", "`price` is no column; known are part, quantity, due, reference"),
        ("book.xlsx", "part,quantity\n", "it is no workbook"),
        ("bytes.csv", "part\n\u{fffd}\n", "cannot be read"),
    ] {
        let sheet = Sheet::new(name, text.as_bytes());
        let (exit, out, err) = run(&["rank", sheet.path()]);
        assert!(matches!(exit, Exit::Unable | Exit::Findings) && out.is_empty(), "{name}: {exit:?}\n{out}");
        assert!(err.contains(said), "{name}: {err}");
    }
    let (exit, _, err) = run(&["rank", "missing.csv"]);
    assert_eq!(exit, Exit::Unable);
    assert!(err.contains("`missing.csv` cannot be read"), "{err}");
    let sheet = Sheet::new("page.csv", format!("part\n{}\n", part("valve-spool")).as_bytes());
    let (exit, _, err) = run(&["rank", sheet.path(), "--html", "page.html"]);
    assert_eq!(exit, Exit::Unable);
    assert!(err.contains("name the specs instead of the sheet"), "{err}");
}

/// Lines that follow each other with one reference are one quote; others are quotes of their own.
#[test]
fn lines_of_one_reference_make_one_quote() {
    let (spool, pin) = (part("valve-spool"), part("contact-pin"));
    let text =
        format!("part,quantity,reference\n{spool},500,A\n{pin},1000,A\n{spool},500,B\n{pin},1000,\n{spool},500,\n");
    let sheet = Sheet::new("references.csv", text.as_bytes());
    let (exit, out, err) = run(&["quote", sheet.path(), "--format", "json", "--date", "2026-11-25"]);
    assert_eq!((exit, err.as_str()), (Exit::Fine, ""));
    let quotes: serde_json::Value = serde_json::from_str(&out).unwrap();
    let told: Vec<(Option<&str>, usize)> = quotes
        .as_array()
        .unwrap()
        .iter()
        .map(|q| (q["reference"].as_str(), q["offers"].as_array().unwrap().len()))
        .collect();
    assert_eq!(told, [(Some("A"), 2), (Some("B"), 1), (None, 1), (None, 1)]);
    let identities: std::collections::BTreeSet<&str> =
        quotes.as_array().unwrap().iter().map(|q| q["identity"].as_str().unwrap()).collect();
    assert_eq!(identities.len(), 4);
    let (exit, _, err) = run(&["quote", sheet.path(), "--date", "2026-11-25", "--ubl", "none.xml"]);
    let _ = fs::remove_file("none.xml");
    assert_eq!(exit, Exit::Unable);
    assert!(err.contains("holds one quote"), "{err}");
}

/// A full disk is told, and a device stays what it is.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told_and_a_device_is_not_replaced() {
    use std::os::unix::fs::FileTypeExt;
    let spool = part("valve-spool");
    for option in ["--html", "--xlsx", "--ubl"] {
        let args = ["quote", &spool, "--date", "2026-11-25", option, "/dev/full"];
        let (exit, _, told) = run(&args);
        assert_eq!(exit, Exit::Unable, "{option}: {told}");
        assert!(told.contains("`/dev/full` cannot be written") && told.contains("No space left"), "{option}: {told}");
        let there = std::fs::metadata("/dev/full").unwrap();
        assert!(there.file_type().is_char_device());
    }
}

/// A link to a file is followed, and what it leads to is replaced.
#[cfg(unix)]
#[test]
fn a_page_written_to_a_link_goes_where_the_link_leads() {
    let page = Sheet::new("page.html", b"old");
    let link = format!("{}.link", page.path());
    let _ = std::fs::remove_file(&link);
    std::os::unix::fs::symlink(page.path(), &link).unwrap();
    let (exit, _, told) = run(&["rank", &part("valve-spool"), "--html", &link]);
    let (linked, text) = (std::fs::symlink_metadata(&link).unwrap(), std::fs::read_to_string(page.path()).unwrap());
    std::fs::remove_file(&link).unwrap();
    assert_eq!(exit, Exit::Fine, "{told}");
    assert!(linked.file_type().is_symlink() && text.starts_with("<!DOCTYPE html>"));
}
