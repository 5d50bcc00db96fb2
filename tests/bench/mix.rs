//! How large a mix may be: thousands of jobs on dozens of machines through `mix`, end to end. Makes its question from the demo:
//! the machines several times over, each with hours and rates of its own, and jobs of the demo's parts with yearly pieces, lots
//! and prices drawn from a seed, more than there are hours for. Several times: setters without end, and too few of them; with
//! the lots put in order; and with hundreds and thousands of parts, each the demo's with other lengths and of another material.
//!
//! `cargo bench --bench mix -- [JOBS] [MACHINES] [SETTERS]`. Results stand in DEVELOPERS.md.
#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a bench reads and writes files, reads the clock and prints"
)]

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::time::Instant;
use turnwright::cli::{self, World};
use turnwright::fleet::solver::Random;
use turnwright::lang::{self, Sources};
use turnwright::matching::{By, Standing, rank};
use turnwright::model::Part;

/// A row of the table.
struct Row {
    words: &'static str,
    setters: usize,
    /// Parts that differ; nothing for those of the demo.
    parts: Option<usize>,
    in_order: bool,
}

fn main() {
    let numbers: Vec<usize> = std::env::args().skip(1).filter_map(|word| word.parse().ok()).collect();
    let number = |at: usize, usual: usize| numbers.get(at).copied().unwrap_or(usual);
    let (jobs, machines, few) = (number(0, 5_000), number(1, 60), number(2, 10));
    let endless = 100 * machines;
    let row = |words, setters, parts, in_order| Row { words, setters, parts, in_order };
    let rows = [
        row("setters without end", endless, None, false),
        row("setters too few", few, None, false),
        row("setters without end, in order", endless, None, true),
        row("setters too few, in order", few, None, true),
        row("parts: a fifth of the jobs", endless, Some(jobs / 5), false),
        row("parts: three fifths of the jobs", endless, Some(3 * jobs / 5), false),
        row("the same, in order", endless, Some(3 * jobs / 5), true),
    ];
    println!("{jobs} jobs on {machines} machines");
    println!("{:<32} {:>7} {:>7} {:>12} {:>12} {:>7}  stopped", "question", "s", "MiB", "left over", "most", "gap %");
    for row in rows {
        let folder = std::env::temp_dir().join(format!("turnwright-mix-{}", std::process::id()));
        write_question(&folder, jobs, machines, &row);
        run(&folder, &row);
        std::fs::remove_dir_all(&folder).unwrap();
    }
}

fn run(folder: &Path, row: &Row) {
    let _ = std::fs::write("/proc/self/clear_refs", "5");
    let path = |name: &str| folder.join(name).into_os_string();
    let words_of = |word: &str| OsString::from(word);
    let mut args = vec![
        words_of("turnwright"),
        words_of("mix"),
        path("mix.csv"),
        words_of("--machines"),
        path("machines"),
        words_of("--format"),
        words_of("json"),
    ];
    args.extend(row.in_order.then(|| words_of("--sequence")));
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let start = Instant::now();
    let exit = cli::run(args, &mut World::new(&mut out, &mut err));
    let seconds = start.elapsed().as_secs_f64();
    let peak = peak().map_or_else(|| "-".to_owned(), |kib| (kib / 1024).to_string());
    let Ok(told) = serde_json::from_slice::<serde_json::Value>(&out) else {
        println!("{exit:?} {}", String::from_utf8_lossy(&err));
        return;
    };
    let (left_over, most) = (told["left_over"].as_f64().unwrap(), told["most"].as_f64().unwrap_or(f64::NAN));
    let gap = 100.0 * (most - left_over) / most;
    let stopped = told["stopped"].as_str().unwrap();
    let words = row.words;
    println!("{words:<32} {seconds:>7.1} {peak:>7} {left_over:>12.0} {most:>12.0} {gap:>7.2}  {stopped}");
    let of = |key: &str| -> f64 {
        let all = told["sequence"].as_array();
        all.map_or(0.0, |all| all.iter().map(|s| s[key].as_f64().unwrap()).sum())
    };
    if row.in_order {
        println!("  {:.0} h at the setting, {:.0} h anew, {:.0} lots late", of("setting_h"), of("anew_h"), of("late"));
    }
}

/// Most memory held since, in KiB, where the system tells.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status.lines().find_map(|line| line.strip_prefix("VmHWM:")?.split_whitespace().next()?.parse().ok())
}

/// Specs of a folder of the demo: name and text.
fn specs(folder: &str) -> Vec<(String, String)> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    paths.retain(|p| p.extension().is_some_and(|e| e == "turn"));
    paths.sort();
    let name = |p: &PathBuf| p.file_stem().unwrap().to_string_lossy().into_owned();
    paths.iter().map(|p| (name(p), std::fs::read_to_string(p).unwrap())).collect()
}

fn write_question(folder: &Path, jobs: usize, machines: usize, row: &Row) {
    let mut random = Random::new(1, 0);
    std::fs::create_dir_all(folder.join("machines")).unwrap();
    let kinds = specs("machines");
    let shop = std::fs::read_to_string("machines/shop.yaml").unwrap();
    let mut own = String::new();
    for i in 0..machines {
        let (kind, text) = &kinds[i % kinds.len()];
        let name = format!("{kind}-{i:02}");
        let text = text.replace(&format!("machine {kind} "), &format!("machine {name} "));
        std::fs::write(folder.join("machines").join(format!("{name}.turn")), text).unwrap();
        let _ = writeln!(own, "  {name}:");
        let _ = writeln!(own, "    hourly: {} EUR/h", 50 + random.below(70));
        let _ = writeln!(own, "    running: {} EUR/h", 5 + random.below(10));
        let _ = writeln!(own, "    available: {} h/year", 3_000 + random.below(1_000));
        let owned = match kind.as_str() {
            "gang-20" => "angle-head: 3",
            "turret-32" => "whirling: 1",
            "tilt-32" => "whirling: 2",
            "switch-36" => "angle-head: 2",
            _ => continue,
        };
        let _ = writeln!(own, "    owned: {{ {owned} }}");
    }
    std::fs::write(folder.join("machines/shop.yaml"), shop_text(&shop, &own, row.setters)).unwrap();
    let mut parts = parts();
    if let Some(count) = row.parts {
        parts = varied(&parts, count);
    }
    for (name, text) in &parts {
        std::fs::write(folder.join(format!("{name}.turn")), text).unwrap();
    }
    std::fs::write(folder.join("mix.csv"), sheet(&mut random, jobs, parts)).unwrap();
}

/// The demo's parts. One that is validated on a machine of the demo finds none of that name here.
fn parts() -> Vec<(String, String)> {
    let validated = |text: &str| text.lines().any(|l| l.trim_start().starts_with("validated"));
    specs("parts").into_iter().filter(|(_, text)| !validated(text)).collect()
}

/// So many parts: those of the demo in turn, each stretched and of the material of any of them, where that is a sound part.
fn varied(parts: &[(String, String)], count: usize) -> Vec<(String, String)> {
    let mut random = Random::new(2, 0);
    let material = |text: &str| {
        text.lines().find_map(|l| l.trim_start().strip_prefix("material")?.split_whitespace().next().map(str::to_owned))
    };
    let materials: Vec<String> = parts.iter().filter_map(|(_, text)| material(text)).collect();
    let mut found: Vec<(String, String)> = Vec::new();
    let mut tried = 0;
    while found.len() < count {
        let (name, text) = &parts[tried % parts.len()];
        tried += 1;
        let new_name = format!("{name}-{:04}", found.len());
        let text = text.replace(&format!("part {name} "), &format!("part {new_name} "));
        let text = match material(&text) {
            Some(old) => text.replace(&old, &materials[random.below(materials.len())]),
            None => text,
        };
        let text = stretched(&text, 0.85 + 0.35 * random.unit());
        let mut sources = Sources::default();
        sources.add(&new_name, text.clone());
        let reading = lang::read(&sources);
        if reading.diagnostics.iter().all(|d| !d.is_error()) && reading.parts.len() == 1 {
            found.push((new_name, text));
        }
        assert!(tried < 20 * count, "the demo's parts can be stretched");
    }
    found
}

/// A spec with all that lies along the axis longer or shorter.
fn stretched(text: &str, by: f64) -> String {
    let mut out = String::new();
    for line in text.lines() {
        let mut along = false;
        for word in line.split_inclusive(char::is_whitespace) {
            let bare = word.trim_end();
            match bare.parse::<f64>() {
                Ok(value) if along => {
                    let _ = write!(out, "{:.2}{}", value * by, &word[bare.len()..]);
                }
                _ => {
                    along = ["z", "..", "at", "length", "depth"].contains(&bare) || (along && bare.is_empty());
                    out.push_str(word);
                    continue;
                }
            }
            along = false;
        }
        out.push('\n');
    }
    out
}

/// The demo's shop with other machines and setters, and without what names its machines.
fn shop_text(demo: &str, machines: &str, setters: usize) -> String {
    let mut text = String::new();
    let mut skipped = false;
    for line in demo.lines() {
        let key = line.split(':').next().unwrap_or_default();
        if line.starts_with(|c: char| c.is_ascii_lowercase()) {
            skipped = ["machines", "candidates", "people"].contains(&key);
            if key == "machines" {
                let _ = write!(text, "machines:\n{machines}");
            }
        }
        if !skipped {
            let _ = writeln!(text, "{line}");
        }
    }
    let people = "hours: 1_650 h/year, setter: 58 EUR/h, operator: 42 EUR/h, machines per operator: 4";
    let _ = writeln!(text, "people: {{ setters: {setters}, {people} }}");
    text
}

/// Jobs at prices from what a part costs on the demo's best machine to two thirds more; a third of them could be bought out.
fn sheet(random: &mut Random, jobs: usize, parts: Vec<(String, String)>) -> String {
    let mut sources = Sources::default();
    for (name, text) in specs("machines").into_iter().chain(parts) {
        sources.add(&name, text);
    }
    let reading = lang::read(&sources);
    let shop = std::fs::read_to_string("machines/shop.yaml").unwrap();
    let shop = lang::shop::read_shop(0, &shop).0.unwrap();
    let cost = |part: &Part| {
        let ranking = rank(part, &reading.machines, &shop, Some(500), By::Cost);
        let owned = ranking.rows.iter().find(|r| r.standing == Standing::Owned)?;
        Some(owned.cost.cost.to_units())
    };
    let costs: BTreeMap<&str, f64> =
        reading.parts.iter().filter_map(|part| Some((part.name.as_str(), cost(part)?))).collect();
    let costs: Vec<(&str, f64)> = costs.into_iter().collect();
    let mut text = "part,yearly,lots,price,buy-out\n".to_owned();
    for job in 0..jobs {
        // Of many parts each is asked for.
        let at = if costs.len() < 100 { random.below(costs.len()) } else { job % costs.len() };
        let (part, cost) = costs[at];
        let (yearly, lots) = (300 + random.below(2_200), 1 + random.below(4));
        let price = cost * (1.0 + 0.66 * random.unit());
        let bought = match random.below(3) {
            0 => format!("{:.2} EUR", price * (0.9 + 0.1 * random.unit())),
            _ => String::new(),
        };
        let _ = writeln!(text, "{part},{yearly},{lots},{price:.2} EUR,{bought}");
    }
    text
}
