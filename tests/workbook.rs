//! Workbooks of a mix and of a purchase, read back: a sum of a column is the sum of the answer, and figures are numbers.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(clippy::disallowed_methods, reason = "tests read files")]

use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::io::Cursor;
use turnwright::cli::{self, Exit, World};

/// The answer as JSON, and the same as the sheets of a workbook: rows by title of column.
fn asked(args: &[&str]) -> (serde_json::Value, BTreeMap<String, Vec<BTreeMap<String, Data>>>) {
    let path = std::env::temp_dir().join(format!("turnwright-book-{}-{}.xlsx", args[0], std::process::id()));
    let run = || {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let words = ["turnwright"].iter().chain(args).map(OsString::from);
        let words =
            words.chain([OsString::from("--format"), "json".into(), "--xlsx".into(), path.clone().into_os_string()]);
        let exit = cli::run(words, &mut World::new(&mut out, &mut err));
        assert_ne!(exit, Exit::Unable, "{}", String::from_utf8_lossy(&err));
        (serde_json::from_slice(&out).unwrap(), std::fs::read(&path).unwrap())
    };
    let (told, bytes) = run();
    assert!(run().1 == bytes, "the same question gives the same bytes");
    std::fs::remove_file(&path).unwrap();
    let mut book: Xlsx<_> = open_workbook_from_rs(Cursor::new(bytes)).unwrap();
    let sheet = |(name, range): (String, calamine::Range<Data>)| {
        let mut rows = range.rows();
        let titles: Vec<String> = rows.next().unwrap().iter().map(ToString::to_string).collect();
        let row = |cells: &[Data]| titles.iter().cloned().zip(cells.iter().cloned()).collect();
        (name, rows.map(row).collect())
    };
    let sheets = book.worksheets().into_iter().map(sheet).collect();
    (told, sheets)
}

fn number(cell: &Data) -> f64 {
    match cell {
        Data::Float(value) => *value,
        Data::Int(value) => *value as f64,
        other => panic!("{other:?} is no number"),
    }
}

fn sum(rows: &[BTreeMap<String, Data>], column: &str) -> f64 {
    rows.iter().map(|row| number(&row[column])).sum()
}

/// A column of the workbook against figures of the answer: how many there are, and their sum.
#[track_caller]
fn same(rows: &[BTreeMap<String, Data>], column: &str, told: &[&serde_json::Value], key: &str) {
    assert_eq!(rows.len(), told.len(), "{column}");
    let expected: f64 = told.iter().map(|t| t[key].as_f64().unwrap()).sum();
    assert!((sum(rows, column) - expected).abs() < 1e-6 * expected.abs().max(1.0), "{column}: {expected}");
}

fn list(value: &serde_json::Value) -> Vec<&serde_json::Value> {
    value.as_array().unwrap().iter().collect()
}

#[test]
fn the_workbook_of_a_mix_adds_up_to_its_answer() {
    let (told, sheets) = asked(&["mix", "parts/mix.yaml", "--start", "2027-01-04", "--sequence"]);
    let jobs = list(&told["jobs"]);
    for (column, key) in
        [("pieces", "pieces"), ("revenue", "revenue"), ("out of pocket", "cash"), ("left over", "left_over")]
    {
        same(&sheets["jobs"], column, &jobs, key);
    }
    let made: Vec<&serde_json::Value> = jobs.iter().flat_map(|j| list(&j["made"])).collect();
    for (column, key) in
        [("hours", "hours"), ("setting, h", "setting"), ("at the full hour rate", "full"), ("cycle, s", "cycle_s")]
    {
        same(&sheets["made here"], column, &made, key);
    }
    let out: Vec<&serde_json::Value> = jobs.iter().map(|j| &j["out"]).filter(|o| o.is_object()).collect();
    let named: std::collections::BTreeSet<String> =
        sheets["not made here"].iter().map(|row| row["job"].to_string()).collect();
    assert_eq!(named.len(), out.len());
    same(&sheets["machines"], "cutting, h", &list(&told["units"]), "cutting");
    same(&sheets["setters"], "setting, h", &list(&told["setters"]), "setting");
    let runs: Vec<&serde_json::Value> = list(&told["sequence"]).iter().flat_map(|s| list(&s["runs"])).collect();
    same(&sheets["order of the lots"], "cutting, h", &runs, "cutting_h");
    assert_eq!(sheets["order of the lots"][0]["from"].to_string(), runs[0]["start"].as_str().unwrap());
    let left_over = sheets["sums"].iter().find(|row| row["what"] == "left over").unwrap();
    assert!((number(&left_over["amount"]) - told["left_over"].as_f64().unwrap()).abs() < 0.006);
    assert_eq!(sheets["taken for granted"].len(), list(&told["assumptions"]).len());
}

#[test]
fn the_workbook_of_a_purchase_adds_up_to_its_answer() {
    let args =
        ["buy", "parts/mix.yaml", "--candidate", "machines/candidates/tilt-26.turn", "--draws", "0", "--most", "1"];
    let (told, sheets) = asked(&args);
    let sets: Vec<&serde_json::Value> = list(&told["single"]).into_iter().chain(list(&told["together"])).collect();
    for (column, key) in [("price", "price"), ("NPV", "npv"), ("more left over a year", "gain")] {
        same(&sheets["what could be bought"], column, &sets, key);
    }
    let close = list(&told["close"]);
    let of = |key: &str| -> Vec<&serde_json::Value> { close.iter().flat_map(|c| list(&c[key])).collect() };
    assert!(!close.is_empty());
    for (sheet, column, key, of_key) in [
        ("cash flow", "sum", "years", "sum"),
        ("ways to pay", "NPV", "ways", "npv"),
        ("how sure", "NPV", "sure", "npv"),
        ("jobs that pay", "more left over a year", "payers", "gain"),
    ] {
        same(&sheets[sheet], column, &of(key), of_key);
    }
    assert_eq!(sheets["hours"].len(), of("loads").len());
    assert_eq!(sheets["what matters"].len(), of("tornado").len());
    let steps: Vec<&serde_json::Value> = of("stairs").iter().flat_map(|s| list(&s["steps"])).collect();
    same(&sheets["capabilities"], "more left over a year", &steps, "gain");
    assert_eq!(sheets["without buying"].len(), list(&told["without"]).len());
    assert_eq!(sheets["taken for granted"].len(), list(&told["assumptions"]).len());
}
