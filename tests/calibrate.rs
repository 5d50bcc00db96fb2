//! Calibration: known factors come back from records with wild rows, few records say little, left-out spreads are as reckoned
//! by hand, and a shop file keeps what is not touched.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, reason = "tests read files, and a panic is their failure")]

use serde_json::Value;
use std::ffi::OsString;
use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;
use turnwright::calibration::{Calibrated, Of, calibrate};
use turnwright::cli::{self, Exit, World};
use turnwright::lang::inquiries::Kind;
use turnwright::lang::shop::{WriteError, block, read_shop, with_calibration};
use turnwright::lang::{self, Sources, records};
use turnwright::model::Machine;
use turnwright::model::calibration::{Calibration, Factor};
use turnwright::model::record::{Pair, Record};
use turnwright::quantity::Time;

struct Ran {
    exit: Exit,
    out: String,
    err: String,
}

fn run(args: &[&str]) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = ["turnwright"].iter().chain(args).map(OsString::from);
    let exit = cli::run(args, &mut World::new(&mut out, &mut err));
    Ran { exit, out: String::from_utf8(out).unwrap(), err: String::from_utf8(err).unwrap() }
}

/// A folder of this test alone, with a shop file in it.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("turnwright-calibrate-{name}-{}", std::process::id()));
        fs::create_dir_all(&path).unwrap();
        fs::copy("machines/shop.yaml", path.join("shop.yaml")).unwrap();
        Folder(path)
    }
    fn file(&self, name: &str, content: &str) -> String {
        let path = self.0.join(name);
        fs::write(&path, content).unwrap();
        path.display().to_string()
    }
    fn shop(&self) -> String {
        self.0.join("shop.yaml").display().to_string()
    }
    fn calibrate(&self, sheet: &str, more: &[&str]) -> Ran {
        let path = self.file("records.csv", sheet);
        let mut args = vec!["calibrate", &path, "--shop"];
        let shop = self.shop();
        args.push(&shop);
        args.extend(more);
        run(&args)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn pair(estimated: f64, actual: f64) -> Pair {
    Pair { estimated: Some(Time::s(estimated)), actual: Some(Time::s(actual)) }
}

fn record(row: usize, part: &str, machine: &str) -> Record {
    Record {
        row,
        part: part.to_owned(),
        member: None,
        family: None,
        machine: machine.to_owned(),
        mode: None,
        quantity: None,
        day: None,
        order: None,
        cycle: Pair::default(),
        stoppages: Pair::default(),
        setup: Pair::default(),
        elements: Default::default(),
    }
}

fn setups(logarithms: &[f64]) -> Vec<Record> {
    let each = |(i, y): (usize, &f64)| Record { setup: pair(6000.0, 6000.0 * y.exp()), ..record(i + 2, "a", "m") };
    logarithms.iter().enumerate().map(each).collect()
}

fn factor(c: &Calibrated, of: Of, name: &str) -> f64 {
    c.found.iter().find(|f| f.of == of && f.name == name).unwrap().factor
}

/// Numbers between -1 and 1 that are the same in every run.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }
}

const TRUE: [(&str, f64); 3] = [("gang-12", 0.92), ("gang-20", 1.10), ("tilt-32", 1.25)];

/// Sixty orders of twelve families on three machines with known factors, scattered by 5 %; every `wild`-th row is a slip.
fn known(wild: usize) -> Vec<Record> {
    let mut dice = Dice(11);
    let mut records = Vec::new();
    for i in 0..60 {
        let (machine, truth) = TRUE[i % 3];
        let estimated = 20.0 + 100.0 * (dice.next() + 1.0);
        let slip = match i % wild {
            // Minutes instead of seconds, a shift as a cycle, a second order in one row.
            0 => [1.0 / 60.0, 8.0, 2.5, 4.0][(i / wild) % 4],
            _ => 1.0,
        };
        let actual = estimated * truth * (1.0 + 0.05 * dice.next()) * slip;
        let part = format!("family-{}", (i / 3) % 12);
        records.push(Record { cycle: pair(estimated, actual), ..record(i + 2, &part, machine) });
    }
    records
}

#[test]
fn known_factors_come_back_from_records_with_wild_rows() {
    for wild in [5, 7, 10] {
        let records = known(wild);
        let found = calibrate(&records).unwrap();
        for (machine, truth) in TRUE {
            let got = factor(&found, Of::Cycle, machine);
            assert!((got / truth - 1.0).abs() < 0.04, "every {wild}th wild, {machine}: {got} against {truth}");
            let own: Vec<f64> = records
                .iter()
                .filter(|r| r.machine == machine)
                .map(|r| (r.cycle.actual.unwrap() / r.cycle.estimated.unwrap()).ln())
                .collect();
            let spread = own.iter().map(|y| (y - truth.ln()).abs()).fold(0.0, f64::max);
            assert!(spread > 0.9, "no wild row on {machine}");
        }
        let rows: Vec<usize> = found.wild.iter().map(|w| w.row).collect();
        let slips: Vec<usize> = (0..60).step_by(wild).map(|i| i + 2).collect();
        assert_eq!(rows, slips, "the wild rows are told");
        let check = found.checks[0];
        assert!(check.off.left_out < 0.6 * check.off.before, "{check:?}");
    }
}

#[test]
fn no_record_corrects_nothing_and_one_hardly_anything() {
    let none = calibrate(&[]).unwrap();
    assert!(none.found.is_empty() && none.factors().is_empty());
    let one = calibrate(&setups(&[0.3_f64])).unwrap();
    // s = 0.4, t = 0.2: k = 4, a fifth of what it says.
    assert!((factor(&one, Of::Setup, "m").ln() - 0.06).abs() < 1e-9);
    let cycle = Record { cycle: pair(100.0, 120.0), ..record(2, "a", "m") };
    let one = calibrate(&[cycle]).unwrap();
    let both = factor(&one, Of::Cycle, "m") * factor(&one, Of::Family, "a");
    assert!(both > 1.0 && both < 1.04, "{both}");
}

#[test]
fn the_more_records_the_more_is_believed() {
    let mut last = 0.0;
    for n in 1..60 {
        let found = calibrate(&setups(&vec![0.2; n])).unwrap();
        let f = &found.found[0];
        let believed = f.factor.ln();
        assert!(believed > last && believed < 0.2, "{n}: {believed} after {last}");
        assert!((f.said.ln() - 0.2).abs() < 1e-9);
        last = believed;
    }
    assert!(last > 0.19, "{last}");
    // The wider they scatter, the less.
    let narrow = calibrate(&setups(&[0.15, 0.2, 0.25, 0.18, 0.22])).unwrap();
    let wide = calibrate(&setups(&[-0.4, 0.2, 0.8, -0.2, 0.6])).unwrap();
    assert!(factor(&wide, Of::Setup, "m") < factor(&narrow, Of::Setup, "m"));
}

#[test]
fn left_out_spread_by_hand() {
    // Without 0.1: middle 0.25, residuals 0.05, spread 0.07413, s^2 = (0.64 + 2 0.0054953) / 5, k = 3.254953,
    // m = 0.5 / 5.254953 = 0.095148, left 0.004852. Without 0.2: spread 0.14826, k = 3.419810, m = 0.4 / 5.419810, left
    // 0.126197. Without 0.3: m = 0.3 / 5.254953, left 0.242911. The middle of the sizes is 0.126197.
    let found = calibrate(&setups(&[0.1, 0.2, 0.3])).unwrap();
    let off = found.checks[0].off;
    assert_eq!((found.folds, found.checks[0].records), (3, 3));
    assert!((off.before - 1.4826 * 0.2).abs() < 1e-9, "{off:?}");
    assert!((off.left_out - 1.4826 * 0.126_196_7).abs() < 1e-6, "{off:?}");
}

#[test]
fn calibrated_estimates_ask_for_no_more() {
    let mut records = known(7);
    let found = calibrate(&records).unwrap();
    for r in &mut records {
        let of = factor(&found, Of::Cycle, &r.machine) * factor(&found, Of::Family, &r.part);
        r.cycle.estimated = r.cycle.estimated.map(|t| t * of);
    }
    for f in calibrate(&records).unwrap().found {
        assert!((f.factor - 1.0).abs() < 0.015, "{f:?}");
    }
}

#[test]
fn elements_take_their_share_from_the_machine() {
    // Whole setups of 100 min with 20 min of bushing, which takes twice as long: nothing is left for the machine.
    let one = |i: usize| {
        let mut r = Record { setup: pair(6000.0, 7200.0), ..record(i + 2, "a", "m") };
        r.elements.insert("guide-bushing".to_owned(), pair(1200.0, 2400.0));
        r
    };
    let records: Vec<Record> = (0..40).map(one).collect();
    let found = calibrate(&records).unwrap();
    let (bushing, rest) = (factor(&found, Of::Element, "guide-bushing"), factor(&found, Of::Setup, "m"));
    assert!(bushing > 1.9 && bushing < 2.0, "{bushing}");
    assert!((rest - 1.0).abs() < 0.02, "{rest}");
}

#[test]
fn stoppages_are_apart_from_the_cycle() {
    // A programmed cycle as estimated, and twice the stoppages: 20 % instead of 10 % of the running time.
    let one = |i: usize| Record {
        quantity: Some(100),
        cycle: pair(60.0, 60.0),
        stoppages: pair(600.0, 1200.0),
        ..record(i + 2, "a", "m")
    };
    let found = calibrate(&(0..30).map(one).collect::<Vec<_>>()).unwrap();
    assert!((factor(&found, Of::Cycle, "m") - 1.0).abs() < 1e-9);
    let all = 1.2_f64 / 1.1;
    let got = factor(&found, Of::Stoppages, "m");
    assert!(got < all && got > all * 0.99, "{got} against {all}");
    // None at all is a record as well.
    let none = Record { stoppages: pair(600.0, 0.0), ..one(0) };
    assert!(factor(&calibrate(&[none]).unwrap(), Of::Stoppages, "m") < 1.0);
}

const HEAD: &str =
    "part,machine,mode,day,quantity,estimated cycle [s],actual cycle [s],estimated setup [min],actual setup [min]";

fn sheet(rows: usize, ratio: f64) -> String {
    let mut text = format!("{HEAD}\n");
    for i in 0..rows {
        let (day, cycle) = (i + 1, 40.0 + i as f64);
        writeln!(
            text,
            "stud-{},gang-20,guided,2026-03-{day:02},500,{cycle},{:.2},100,{}",
            i % 4,
            cycle * ratio,
            120 + i % 3
        )
        .unwrap();
    }
    text
}

#[test]
fn the_order_of_rows_changes_nothing() {
    let folder = Folder::new("order");
    let text = sheet(24, 1.08);
    let there = folder.calibrate(&text, &[]);
    assert_eq!(there.exit, Exit::Fine, "{}", there.err);
    let mut rows: Vec<&str> = text.lines().collect();
    rows[1..].reverse();
    rows[3..14].rotate_left(5);
    let back = folder.calibrate(&(rows.join("\n") + "\n"), &[]);
    assert_eq!(there.out, back.out);
}

#[test]
fn the_shop_file_keeps_its_comments_and_is_read_again() {
    let folder = Folder::new("write");
    let before = fs::read_to_string("machines/shop.yaml").unwrap();
    let ran = folder.calibrate(&sheet(24, 1.08), &["--write"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Fine, ""));
    assert!(ran.out.contains("Written to "), "{}", ran.out);
    let after = fs::read_to_string(folder.shop()).unwrap();
    assert!(after.starts_with(&before), "everything that was there stands as it stood");
    let (shop, found) = read_shop(0, &after);
    assert!(found.is_empty(), "{found:?}");
    let cycle = shop.unwrap().calibration.cycle["gang-20"];
    assert!(cycle.records == 24 && cycle.factor > 1.05 && cycle.factor < 1.08, "{cycle:?}");
    // Once more: the same bytes, in the middle of a file as well, and with line ends of another system.
    let factors = read_shop(0, &after).0.unwrap().calibration;
    assert_eq!(with_calibration(&after, &factors).unwrap(), after);
    let block_text = block(&factors);
    let middle = before.replace("markup:", &format!("{block_text}\n# what is earned\nmarkup:"));
    let more =
        Calibration { stoppages: [("gang-20".to_owned(), Factor::new(1.02, 3, 0.04))].into(), ..factors.clone() };
    let changed = with_calibration(&middle, &more).unwrap();
    assert_eq!(changed, middle.replace(&block_text, &block(&more)));
    let windows = after.replace('\n', "\r\n");
    assert_eq!(with_calibration(&windows, &factors).unwrap(), windows);
}

#[test]
fn a_shop_file_that_would_lose_something_is_left_as_it_is() {
    let before = fs::read_to_string("machines/shop.yaml").unwrap();
    let of = |name: &str| Calibration {
        cycle: [(name.to_owned(), Factor::new(1.08, 23, 0.05))].into(),
        ..Calibration::default()
    };
    let with = with_calibration(&before, &of("gang-20")).unwrap();
    let lost = with_calibration(&with, &of("gang-12"));
    assert_eq!(lost, Err(WriteError::Lost("cycle of machine `gang-20`".to_owned())));
    let commented =
        with.replace("    machines:\n      gang-20: {", "    machines: # checked by hand\n      gang-20: {");
    assert_ne!(commented, with);
    let line = commented.lines().position(|l| l.contains("checked by hand")).unwrap() + 1;
    assert_eq!(with_calibration(&commented, &of("gang-20")), Err(WriteError::Comment(line)));
    assert_eq!(with_calibration("shop: x\n", &of("gang-20")), Err(WriteError::Faulty));
    // A file in braces has no room for a block at its end.
    let flow = "{shop: A, currency: EUR, machines: {gang-20: {hourly: 64 EUR/h}}, people: {setters: 2, setter: 58 EUR/h, operator: 42 EUR/h, machines per operator: 4}, markup: 22 % of cost, scrap: 2 %, setup pieces: 4}\n";
    assert!(read_shop(0, flow).0.is_some());
    assert_eq!(with_calibration(flow, &of("gang-20")), Err(WriteError::Entangled));
    // The command says so and writes nothing.
    let folder = Folder::new("lost");
    fs::write(folder.shop(), with_calibration(&before, &of("gang-12")).unwrap()).unwrap();
    let kept = fs::read_to_string(folder.shop()).unwrap();
    let ran = folder.calibrate(&sheet(5, 1.1), &["--write"]);
    assert_eq!(ran.exit, Exit::Unable);
    assert!(ran.err.contains("the factor of cycle of machine `gang-12` in the shop file would be lost"), "{}", ran.err);
    assert_eq!(fs::read_to_string(folder.shop()).unwrap(), kept);
}

#[test]
fn bad_rows_are_told_with_a_remedy_and_the_rest_go_on() {
    let folder = Folder::new("bad");
    let head = "part,machine,mode,day,quantity,colour,estimated cycle [s],actual cycle,stoppages [min],estimated setup [min],actual setup [min]";
    let rows = [
        ("stud,gang-20,guided,2026-03-01,500,,40,42 s,,100,110", ""),
        (
            "stud,gang-20,guided,2026-03-02,500,,40,0 s,,,",
            "actual cycle: `0 s` is out of range; what was made took time",
        ),
        ("stud,gang-20,guided,2026-03-03,500,,40,-3 s,,,", "actual cycle: `-3 s` is out of range"),
        ("stud,gang-20,guided,2026-03-04,500,,40,42,,,", "actual cycle: `42` has no unit"),
        ("stud,gang-20,guided,2026-03-05,500,,40,fast,,,", "actual cycle: `fast` does not begin with a number"),
        ("stud,gang-20,guided,2026-03-06,500,,40,42 mm,,,", "`42 mm` is a length"),
        (
            "stud,turet-32,guided,2026-03-07,500,,40,42 s,,,",
            "no machine is called `turet-32`; did you mean `turret-32`?",
        ),
        ("stud,gang-20,collet,2026-03-08,500,,40,42 s,,,", "`gang-20` has no mode `collet`; it has guided"),
        (
            "stud,gang-20,guided,2026-03-01,500,,40,43 s,,,",
            "it repeats row 2: the same part, machine, mode, day and order",
        ),
        ("stud,gang-20,guided,2026-02-30,500,,40,42 s,,,", "`2026-02-30` is no day of the calendar"),
        ("stud,gang-20,guided,2026-03-11,1.5,,40,42 s,,,", "`1.5` is no number of pieces"),
        (",gang-20,guided,2026-03-12,500,,40,42 s,,,", "no part is named"),
        ("stud,,guided,2026-03-13,500,,40,42 s,,,", "no machine is named"),
        ("stud,gang-20,guided,2026-03-14,500,,40,,,,", "nothing was measured"),
        ("stud,gang-20,guided,2026-03-15,500,,,42 s,,,", "`stud` names no spec, and an estimate is missing"),
        ("lost.turn,gang-20,guided,2026-03-16,500,,,42 s,,,", "lost.turn` cannot be read"),
        ("stud,gang-20,guided,2026-03-17,,,40,42 s,12,,", "an estimate is missing"),
        ("a'b,gang-20,guided,2026-03-18,500,,40,42 s,,,", "which no name takes"),
        ("stud,gang-20,guided,2026-03-19,500,,40,42 s,,,,more", "`more` stands beyond the last column"),
        ("stud,gang-20,guided,2026-03-20,500,,40,1e400 s,,,", "actual cycle:"),
        ("stud,gang-20,guided,2026-03-21,500,,40,44 s,,100,0", "actual setup: `0` is out of range"),
        ("stud,gang-20,guided,2026-03-22,500,,40,NaN s,,,", "`NaN s` does not begin with a number"),
        ("stud,gang-20,guided,2026-03-23,500,,40,44 s,,100,130", ""),
    ];
    let text = rows.iter().fold(format!("{head}\n"), |text, (row, _)| text + row + "\n");
    let ran = folder.calibrate(&text, &["--format", "json"]);
    assert_eq!(ran.exit, Exit::Findings);
    for (i, (row, message)) in rows.iter().enumerate().filter(|(_, (_, m))| !m.is_empty()) {
        let place = format!("row {}: ", i + 2);
        let line = ran.err.lines().find(|l| l.contains(&place)).unwrap_or_else(|| panic!("{row}\n{}", ran.err));
        assert!(line.starts_with("error: ") && line.contains(message), "{row}\n{line}");
        assert!(line.split("; ").nth(1).is_some_and(|remedy| remedy.len() > 5), "no remedy: {line}");
    }
    assert!(ran.err.contains("warning:") && ran.err.contains("the column `colour` is not known"), "{}", ran.err);
    let told: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!((told["records"].as_u64(), told["faults"].as_u64()), (Some(2), Some(rows.len() as u64 - 2)));
    let setup = told["factors"].as_array().unwrap().iter().find(|f| f["of"] == "setup").unwrap();
    assert_eq!(setup["records"].as_u64(), Some(2));
}

#[test]
fn a_sheet_of_no_use_says_why() {
    let folder = Folder::new("sheet");
    for (text, message) in [
        ("", "it has no line"),
        ("machine,actual cycle [s]\n", "no column is called `part`"),
        ("part,actual cycle [s]\n", "no column is called `machine`"),
        ("part,machine\n", "no column is called `actual cycle`"),
        ("part,machine,actual cycle [mm]\n", "`mm` is no unit of time"),
        ("part,machine,actual cycle [s],Actual Cycle\n", "stands twice"),
        ("\u{1}\u{2}PK not a sheet\n", "no column is called `part`"),
    ] {
        let ran = folder.calibrate(text, &[]);
        assert_eq!(ran.exit, Exit::Unable, "{text:?}");
        assert!(ran.err.contains(message), "{text:?}: {}", ran.err);
        assert_eq!(ran.out, "");
    }
    let path = folder.0.join("bytes.csv");
    fs::write(&path, b"part,machine,actual cycle [s]\n\xff\xfe,x,1\n").unwrap();
    let ran = run(&["calibrate", path.to_str().unwrap()]);
    assert!(ran.exit == Exit::Unable && ran.err.contains("no UTF-8 text"), "{}", ran.err);
    let ran = run(&["calibrate", folder.0.join("none.csv").to_str().unwrap()]);
    assert!(ran.exit == Exit::Unable && ran.err.contains("cannot be read"), "{}", ran.err);
    // Only bad rows: nothing to believe, and nothing is written.
    let ran = folder.calibrate(&format!("{HEAD}\nstud,none,guided,,,1,1,1,1\n"), &["--write"]);
    assert_eq!(ran.exit, Exit::Findings);
    assert_eq!(fs::read_to_string(folder.shop()).unwrap(), fs::read_to_string("machines/shop.yaml").unwrap());
}

#[test]
fn a_unit_mistaken_in_every_row_is_not_written() {
    let folder = Folder::new("absurd");
    let ran = folder.calibrate(&sheet(28, 60.0), &["--write"]);
    assert_eq!(ran.exit, Exit::Unable);
    assert!(ran.err.contains("look at the units of its records"), "{}", ran.err);
    assert_eq!(fs::read_to_string(folder.shop()).unwrap(), fs::read_to_string("machines/shop.yaml").unwrap());
}

#[test]
fn any_bytes_are_read_without_a_panic() {
    let text = fs::read("parts/records.csv").unwrap();
    let machines = machines();
    let mut dice = Dice(3);
    for _ in 0..400 {
        let mut bytes = text.clone();
        for _ in 0..6 {
            let at = ((dice.next() + 1.0) / 2.0 * (bytes.len() - 1) as f64) as usize;
            bytes[at] = b",;\"\n0-9e[]# .\xff\x00as:"[((dice.next() + 1.0) * 9.0) as usize];
        }
        let Ok(sheet) = records::read(Kind::Csv, &bytes, &machines) else { continue };
        calibrate(&sheet.records).unwrap();
    }
}

fn machines() -> Vec<Machine> {
    let mut sources = Sources::default();
    for name in ["gang-12", "gang-20", "fixed-65", "tilt-32"] {
        let path = format!("machines/{name}.turn");
        sources.add(&path, fs::read_to_string(&path).unwrap());
    }
    lang::read(&sources).machines
}

#[test]
fn semicolons_and_workbook_words_are_read_alike() {
    let folder = Folder::new("alike");
    let comma = folder.calibrate(&sheet(6, 1.1), &[]);
    let other = sheet(6, 1.1).replace(',', ";").replace('\n', "\r\n");
    assert_eq!(folder.calibrate(&format!("\u{feff}{other}"), &[]).out, comma.out);
}

/// The ranking of the demo spool with a shop file.
fn ranked(shop: &str) -> Vec<Value> {
    let ran = run(&["rank", "parts/valve-spool.turn", "--shop", shop, "--format", "json"]);
    let told: Vec<Value> = serde_json::from_str(&ran.out).unwrap();
    told[0]["rows"].as_array().unwrap().clone()
}

fn on<'a>(rows: &'a [Value], machine: &str) -> &'a Value {
    rows.iter().find(|r| r["machine"] == machine && r["mode"] == "guided").unwrap()
}

fn cycle(row: &Value, of: &str) -> f64 {
    row["cycle"][of].as_f64().unwrap()
}

#[test]
fn plans_are_corrected_in_one_place_and_say_so() {
    let folder = Folder::new("plans");
    let plain = ranked(&folder.shop());
    let text = fs::read_to_string("machines/shop.yaml").unwrap();
    let block = "calibration:\n  cycle:\n    machines:\n      gang-20: { factor: 1.08, records: 23, spread: 3 % }\n  setup:\n    machines:\n      gang-20: { factor: 1.25, records: 12, spread: 15 % }\n    elements:\n      guide bushing: { factor: 2, records: 9, spread: 20 % }\n";
    fs::write(folder.shop(), format!("{text}{block}")).unwrap();
    let corrected = ranked(&folder.shop());
    let (a, b) = (on(&plain, "gang-20"), on(&corrected, "gang-20"));
    assert!((cycle(b, "total_s") / cycle(a, "total_s") - 1.08).abs() < 1e-9);
    assert!((cycle(b, "correction_s") - 0.08 * cycle(a, "total_s")).abs() < 1e-9);
    assert_eq!(b["corrections"][0], "cycle corrected by 1.08 from 23 records");
    // The band follows the records: 23 of 3 % are narrower than the tables, but no narrower than they justify.
    let half = |r: &Value| (cycle(r, "high_s") - cycle(r, "low_s")) / 2.0 / cycle(r, "total_s");
    assert!(half(b) < 0.75 * half(a), "{} against {}", half(b), half(a));
    assert!(half(b) > 1.28 * 0.03, "{}", half(b));
    // Lines of the setup: the machine's factor on all, that of its kind beside it; the setup pieces carry the cycle's as well.
    let minutes = |r: &Value, what: &str| {
        let lines = r["setup"].as_array().unwrap();
        lines
            .iter()
            .filter(|l| l["what"].as_str().unwrap().contains(what))
            .map(|l| l["minutes"].as_f64().unwrap())
            .sum::<f64>()
    };
    for (what, by) in
        [("main collet", 1.25), ("guide bushing", 2.5), ("setup pieces", 1.25 * 1.08), ("first article", 1.25)]
    {
        let (was, is) = (minutes(a, what), minutes(b, what));
        assert!(was > 0.0 && (is / was - by).abs() < 1e-9, "{what}: {was} to {is}");
    }
    let sum: f64 = b["setup"].as_array().unwrap().iter().map(|l| l["minutes"].as_f64().unwrap()).sum();
    assert!((sum - b["setup_min"].as_f64().unwrap()).abs() < 1e-6);
    // Another machine is what it was, but for the shop's guide bushing.
    let (a, b) = (on(&plain, "turret-32"), on(&corrected, "turret-32"));
    assert_eq!(a["cycle"], b["cycle"]);
    let shop = folder.shop();
    let why = run(&["why", "parts/valve-spool.turn", "gang-20", "--shop", &shop]).out;
    assert!(why.contains("cycle corrected by 1.08 from 23 records"), "{why}");
    let plan = run(&["plan", "parts/valve-spool.turn", "--machine", "gang-20", "--shop", &shop]).out;
    assert!(plan.contains("corrected by the shop's own records"), "{plan}");
    let setup = run(&["setup", "now", "parts/valve-spool.turn", "--machine", "gang-20", "--shop", &shop]).out;
    assert!(setup.contains("setup corrected by 1.25 from 12 records"), "{setup}");
    let quote = run(&["quote", "parts/valve-spool.turn", "--machine", "gang-20", "--shop", &shop]).out;
    assert!(quote.contains("cycle corrected by 1.08 from 23"), "{quote}");
    let sold = ["quote", "parts/valve-spool.turn", "--machine", "gang-20", "--shop", &shop, "--reader", "customer"];
    assert!(!run(&sold).out.contains("corrected"));
}

#[test]
fn few_records_narrow_no_band() {
    let folder = Folder::new("bands");
    let text = fs::read_to_string("machines/shop.yaml").unwrap();
    let half = |records: u32, spread: &str| {
        let block = format!(
            "calibration: {{ cycle: {{ machines: {{ gang-20: {{ factor: 1, records: {records}, spread: {spread} }} }} }} }}\n"
        );
        fs::write(folder.shop(), format!("{text}{block}")).unwrap();
        let rows = ranked(&folder.shop());
        let row = on(&rows, "gang-20");
        (cycle(row, "high_s") - cycle(row, "low_s")) / 2.0 / cycle(row, "total_s")
    };
    let plain = {
        let rows = ranked("machines/shop.yaml");
        let row = on(&rows, "gang-20");
        (cycle(row, "high_s") - cycle(row, "low_s")) / 2.0 / cycle(row, "total_s")
    };
    let mut last = plain;
    for records in [1, 2, 5, 20, 100] {
        let next = half(records, "2 %");
        assert!(next < last, "{records}: {next} after {last}");
        last = next;
    }
    assert!(half(1, "2 %") > 0.85 * plain, "one record tells little of the spread");
    assert!(half(50, "40 %") > 1.2 * plain, "wide records widen the band");
}

#[test]
fn the_programs_own_plan_gives_what_is_left_out() {
    let ran = run(&["calibrate", "parts/records.csv", "--format", "json"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Fine, ""));
    let told: Value = serde_json::from_str(&ran.out).unwrap();
    let names: Vec<&str> = told["factors"].as_array().unwrap().iter().map(|f| f["name"].as_str().unwrap()).collect();
    for name in ["gang-20", "valve-spool", "guide bushing"] {
        assert!(names.contains(&name), "{names:?}");
    }
    let check = &told["checks"][0];
    assert!(check["helps"] == true && check["of"] == "cycle", "{check}");
    // Orders that ran exactly as planned ask for no factor.
    let folder = Folder::new("own");
    fs::copy("parts/valve-spool.turn", folder.0.join("valve-spool.turn")).unwrap();
    let programmed = cycle(on(&ranked("machines/shop.yaml"), "gang-20"), "programmed_s");
    let mut text = "part,machine,mode,order,actual cycle [s]\n".to_owned();
    for order in 0..12 {
        writeln!(text, "valve-spool.turn,gang-20,guided,{order},{programmed}").unwrap();
    }
    let ran = folder.calibrate(&text, &["--format", "json"]);
    let told: Value = serde_json::from_str(&ran.out).unwrap();
    for f in told["factors"].as_array().unwrap() {
        assert!((f["factor"].as_f64().unwrap() - 1.0).abs() < 1e-9, "{f}");
    }
}

#[test]
fn the_table_keeps_to_its_width() {
    for width in ["80", "120"] {
        for color in ["always", "never"] {
            let ran = run(&["calibrate", "parts/records.csv", "--width", width, "--color", color]);
            assert_eq!(ran.exit, Exit::Fine);
            let table = ran.out.split("--write").next().unwrap();
            for line in table.lines() {
                let plain = line.replace("\u{1b}[1m", "").replace("\u{1b}[0m", "").replace("\u{1b}[2m", "");
                assert!(plain.chars().count() <= width.parse().unwrap(), "{line}");
            }
            assert_eq!(ran.out.contains('\u{1b}'), color == "always");
        }
    }
}
