//! How good and how fast: the optimisation core on public research instances, against best-known values. Reads every
//! instance file of a folder as it is, and the tables `best_known.csv` that it finds there.
//!
//! `cargo bench --bench fleet -- FOLDER [SECONDS]`, or `tests/bench/fleet.sh`. Results stand in DEVELOPERS.md.
#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a bench reads files and the clock, and prints"
)]

mod instances;

use instances::{Read, read};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use turnwright::fleet::solver::{Options, Stopped, Watch, assignment, sequence};

/// Moves proposed to learn how many fit into the time.
const PROBE: u64 = 200_000;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let Some(folder) = words.first() else {
        eprintln!("cargo bench --bench fleet -- FOLDER [SECONDS]: folder of instance files and best_known.csv");
        return;
    };
    let seconds = words.get(1).map_or(10.0, |word| word.parse().expect("seconds as a number"));
    let files = files(Path::new(folder));
    let best_known = best_known(&files);
    println!(
        "{:<26} {:>8} {:>8} {:>8} {:>8} {:>8} {:>7} {:>7} {:>11}  stopped",
        "instance", "value", "best", "gap %", "bound", "below %", "s", "MiB", "steps"
    );
    for path in &files {
        let Some(instance) = std::fs::read_to_string(path).ok().as_deref().and_then(read) else { continue };
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        forget_peak();
        let row = measure(&instance, seconds);
        let best = best_known.get(&name).copied();
        let percent = |above: i64, b: i64| format!("{:.3}", 100.0 * above as f64 / (b as f64).max(1.0));
        println!(
            "{:<26} {:>8} {:>8} {:>8} {:>8} {:>8} {:>7.2} {:>7} {:>11}  {}",
            name,
            row.value,
            best.map_or_else(|| "-".to_owned(), |b| b.to_string()),
            best.map_or_else(|| "-".to_owned(), |b| percent(row.value - b, b)),
            row.bound,
            best.map_or_else(|| "-".to_owned(), |b| percent(b - row.bound, b)),
            row.seconds,
            peak().map_or_else(|| "-".to_owned(), |kib| (kib / 1024).to_string()),
            row.steps,
            match row.stopped {
                Stopped::Proved => "proved",
                Stopped::Gap => "gap",
                Stopped::Steps => "steps",
                Stopped::Time(_) => "time",
                Stopped::Interrupted => "interrupted",
            }
        );
    }
}

struct Row {
    value: i64,
    bound: i64,
    seconds: f64,
    steps: u64,
    stopped: Stopped,
}

/// Solves within the time: assignments are cut by the clock; cooling is laid out for as many steps as the time holds.
fn measure(instance: &Read, seconds: f64) -> Row {
    match instance {
        Read::Assignment(instance) => {
            let start = Instant::now();
            let elapsed = || start.elapsed();
            let watch =
                Watch { elapsed: Some(&elapsed), limit: Some(Duration::from_secs_f64(seconds)), ..Watch::default() };
            let answer = assignment::solve(instance, &Options { watch, ..Options::with_steps(u64::MAX) });
            let answer = answer.expect("the instances have a plan");
            Row {
                value: answer.cost,
                bound: answer.bound,
                seconds: start.elapsed().as_secs_f64(),
                steps: answer.steps,
                stopped: answer.stopped,
            }
        }
        Read::Sequence(instance) => {
            let probe = Instant::now();
            sequence::solve(instance, &Options::with_steps(PROBE)).expect("the check agrees");
            let rate = PROBE as f64 / probe.elapsed().as_secs_f64();
            let start = Instant::now();
            let elapsed = || start.elapsed();
            let watch =
                Watch { elapsed: Some(&elapsed), limit: Some(Duration::from_secs_f64(seconds)), ..Watch::default() };
            // Cold stages are faster than hot ones; the clock cuts what the probe misjudges.
            let steps = (rate * 0.9 * seconds) as u64;
            let answer = sequence::solve(instance, &Options { watch, ..Options::with_steps(steps) });
            let answer = answer.expect("the check agrees");
            Row {
                value: answer.value,
                bound: answer.bound,
                seconds: start.elapsed().as_secs_f64(),
                steps: answer.steps,
                stopped: answer.stopped,
            }
        }
    }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        let entries = std::fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
        for path in entries.map(|entry| entry.expect("an entry of the folder").path()) {
            if path.is_dir() { folders.push(path) } else { found.push(path) }
        }
    }
    found.sort();
    found
}

/// Last column of every table, by the last part of the path in the first.
fn best_known(files: &[PathBuf]) -> BTreeMap<String, i64> {
    let tables = files.iter().filter(|path| path.ends_with("best_known.csv"));
    let texts: Vec<String> = tables.filter_map(|path| std::fs::read_to_string(path).ok()).collect();
    let value = |line: &str| {
        let name = line.split(',').next()?.rsplit('/').next()?;
        Some((name.to_owned(), line.rsplit(',').next()?.trim().parse().ok()?))
    };
    texts.iter().flat_map(|text| text.lines().filter_map(value)).collect()
}

/// Sets the peak of the process back to what it holds now, where the system lets it.
fn forget_peak() {
    let _ = std::fs::write("/proc/self/clear_refs", "5");
}

/// Most memory held since, in KiB, where the system tells.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status.lines().find_map(|line| line.strip_prefix("VmHWM:")?.split_whitespace().next()?.parse().ok())
}
