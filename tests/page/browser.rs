//! Pages looked at in a real browser, where there is one.

use crate::{Folder, LOOKED_AT, page};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;

/// A browser to look with, where there is one.
fn chromium() -> Option<PathBuf> {
    let places = ["/usr/bin/chromium", "/usr/bin/chromium-browser"];
    let found = places.iter().map(PathBuf::from).find(|p| p.is_file());
    if found.is_none() {
        // Not by a macro: the test runner keeps those lines to itself.
        let words =
            format!("skipped: no Chromium at {}; install it to have the pages looked at\n", places.join(" or "));
        std::io::stderr().write_all(words.as_bytes()).unwrap();
    }
    found
}

/// One browser at a time: it takes most of a small machine.
static BROWSER: Mutex<()> = Mutex::new(());

/// Runs the browser without a window and without a network; gives its standard output.
fn browse(browser: &Path, folder: &Folder, args: &[&str], page: &Path) -> String {
    let _one = BROWSER.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let out = Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"])
        .args(["--disable-background-networking", "--disable-component-update", "--enable-logging=stderr"])
        .args(["--host-resolver-rules=MAP * ~NOTFOUND", "--hide-scrollbars", "--window-size=1500,1000"])
        .arg(format!("--user-data-dir={}", folder.path("profile").display()))
        .args(args)
        .arg(format!("file://{}", page.display()))
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&out.stderr);
    let console: Vec<&str> = told.lines().filter(|l| l.contains("CONSOLE")).collect();
    assert!(console.is_empty(), "the page complains:\n{}", console.join("\n"));
    String::from_utf8_lossy(&out.stdout).into_owned()
}

#[test]
fn in_a_browser_no_text_overlaps_or_is_cut_off() {
    let Some(browser) = chromium() else { return };
    let folder = Folder::new("look");
    let mut commands: Vec<Vec<&str>> = Vec::new();
    for (part, machine) in LOOKED_AT {
        commands.push(vec!["rank", part]);
        commands.push(vec!["plan", part, "--machine", machine, "--alternatives", "--compare"]);
        commands.push(vec!["quote", part, "--date", "2026-11-25", "--customer", "Example Hydraulics"]);
    }
    commands.push(vec!["rank", "tests/page"]);
    commands.push(vec!["mode", "parts/port-collar.turn", "--machine", "switch-36"]);
    // Refused, and several with a sum before them.
    commands.push(vec!["quote", "parts/valve-spool.turn", "--machine", "fixed-65"]);
    commands.push(vec!["plan", "parts/valve-spool.turn", "--machine", "fixed-65"]);
    commands.push(vec!["quote", "parts/cortex-screw.turn", "parts/nozzle-3.turn", "--reader", "customer"]);
    commands.push(vec!["mix", "parts/mix.yaml", "--sequence"]);
    commands.push(vec!["buy", "parts/mix.yaml", "--candidate", "machines/candidates", "--most", "1", "--draws", "20"]);
    let mut faults = Vec::new();
    for command in commands {
        let html = page(&folder, &command).replace('&', "&amp;").replace('"', "&quot;");
        let frames: String = [360, 800, 1400]
            .iter()
            .map(|w| format!("<iframe width=\"{w}\" height=\"900\" style=\"border:0\" srcdoc=\"{html}\"></iframe>"))
            .collect();
        let script = std::fs::read_to_string("tests/page/look.js").unwrap();
        let harness = folder.path("harness.html");
        let text = format!(
            "<!doctype html><meta charset=\"utf-8\"><link rel=\"icon\" href=\"data:,\"><script>{script}</script>{frames}"
        );
        std::fs::write(&harness, text).unwrap();
        let dom = browse(&browser, &folder, &["--dump-dom"], &harness);
        let at = dom.find("<pre id=\"found\">").unwrap_or_else(|| panic!("{command:?}: the browser measured nothing"));
        let found = &dom[at + 16..];
        let found = &found[..found.find("</pre>").unwrap()];
        if found != "[]" {
            faults.push(format!("{}: {found}", command.join(" ")));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Pages of a PDF.
fn sheets(browser: &Path, folder: &Folder, page: &Path) -> usize {
    let pdf = folder.path("page.pdf");
    let print = format!("--print-to-pdf={}", pdf.display());
    browse(browser, folder, &[&print, "--no-pdf-header-footer"], page);
    let bytes = std::fs::read(&pdf).unwrap();
    let text = String::from_utf8_lossy(&bytes);
    text.match_indices("/Type /Page").filter(|(i, m)| !text[i + m.len()..].starts_with('s')).count()
}

/// Sheets of the page that a command writes.
fn printed(browser: &Path, folder: &Folder, paper: &str, command: &[&str]) -> usize {
    let html = page(folder, command);
    assert!(html.contains("@page {"));
    let path = folder.path("page.html");
    std::fs::write(&path, html.replace("@page {", &format!("@page {{ size: {paper};"))).unwrap();
    sheets(browser, folder, &path)
}

const PAPERS: [&str; 2] = ["A4", "letter"];

#[test]
fn on_paper_every_part_begins_a_sheet() {
    let Some(browser) = chromium() else { return };
    let folder = Folder::new("paper");
    let (spool, collar) = ("parts/valve-spool.turn", "parts/port-collar.turn");
    for paper in PAPERS {
        for (before, after, few) in
            [(vec!["rank"], vec![], 4..=12), (vec!["plan"], vec!["--machine", "tilt-32"], 4..=8)]
        {
            let print = |parts: &[&str]| {
                let command = [&before[..], parts, &after[..]].concat();
                printed(&browser, &folder, paper, &command)
            };
            let (one, other) = (print(&[spool]), print(&[collar]));
            assert!(few.contains(&one) && few.contains(&other), "{before:?} on {paper}: {one} and {other} sheets");
            let both = print(&[spool, collar]);
            assert_eq!(both, one + other + 1, "both parts on {paper}, after a sheet of contents");
        }
    }
}

#[test]
fn on_paper_the_shops_sheets_stand_after_those_of_the_customer() {
    let Some(browser) = chromium() else { return };
    let folder = Folder::new("quoted");
    for paper in PAPERS {
        let print = |parts: &[&str], reader: &str| {
            let command = [&["quote"], parts, &["--reader", reader, "--date", "2026-11-25"]].concat();
            printed(&browser, &folder, paper, &command)
        };
        let (mut alone, mut own) = (0, 0);
        for (part, _) in LOOKED_AT {
            let customer = print(&[part], "customer");
            // A drawing keeps its scale, and the tallest leave no room for the prices beneath them.
            let tall = ["parts/anchor-screw.turn", "parts/port-collar.turn", "parts/sensor-body.turn"].contains(part);
            assert!(customer == 1 || tall && customer == 2, "{part} on {paper}: {customer} sheets");
            alone += customer;
            own += print(&[part], "shop") - customer;
        }
        let all: Vec<&str> = LOOKED_AT.iter().map(|(part, _)| *part).collect();
        let (customer, shop) = (print(&all, "customer"), print(&all, "shop"));
        // After a sheet with their sum; a part without the head of a letter above it may need one sheet less.
        assert!((all.len() + 1..=alone + 1).contains(&customer), "all parts on {paper}: {customer} sheets");
        assert_eq!(shop, customer + own, "all parts on {paper}");
    }
}
