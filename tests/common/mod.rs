//! The demo, read once for a test: parts, machines and the shop.
#![allow(clippy::disallowed_methods, reason = "tests read files")]
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(dead_code, reason = "each test file uses its share")]

use std::fs;
use std::path::PathBuf;
use turnwright::lang::{self, Sources};
use turnwright::matching::worth::with_owned;
use turnwright::matching::{By, Finding, Ranking, Row, Verdict, rank};
use turnwright::model::machine::ModeKind;
use turnwright::model::part::End;
use turnwright::model::{Machine, Part, Shop};
use turnwright::planning::{PartView, Task};
use turnwright::tables::thresholds::Thresholds;

/// The spec files of a folder in order of name.
pub(crate) fn turn_files(folder: &str) -> Vec<PathBuf> {
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    files.retain(|p| p.extension().is_some_and(|e| e == "turn"));
    files.sort();
    files
}

/// What a set of texts declares, all of them sound.
pub(crate) struct Demo {
    pub(crate) parts: Vec<Part>,
    pub(crate) machines: Vec<Machine>,
    pub(crate) shop: Shop,
}

/// The parts that named texts declare; panics where anything is wrong with them.
pub(crate) fn parts(texts: impl IntoIterator<Item = (String, String)>) -> Vec<Part> {
    sound(texts).1.parts
}

fn sound(texts: impl IntoIterator<Item = (String, String)>) -> (Sources, lang::Reading) {
    let mut sources = Sources::default();
    for (name, text) in texts {
        sources.add(&name, text);
    }
    let reading = lang::read(&sources);
    let told: Vec<String> = reading.diagnostics.iter().map(|d| lang::render::drawn(d, &sources, false)).collect();
    assert!(told.is_empty(), "{}", told.join("\n"));
    (sources, reading)
}

/// Reads named texts and the demo's shop file; panics where anything is wrong with them.
pub(crate) fn read(texts: impl IntoIterator<Item = (String, String)>) -> Demo {
    let (mut sources, reading) = sound(texts);
    let shop_text = fs::read_to_string("machines/shop.yaml").unwrap();
    let number = sources.add("machines/shop.yaml", shop_text.clone());
    let (shop, found) = lang::shop::read_shop_with(number, &shop_text, &reading.machines);
    assert!(found.is_empty(), "{found:#?}");
    Demo { parts: reading.parts, machines: reading.machines, shop: shop.unwrap() }
}

/// The texts of files.
pub(crate) fn texts(files: impl IntoIterator<Item = PathBuf>) -> Vec<(String, String)> {
    files.into_iter().map(|p| (p.display().to_string(), fs::read_to_string(&p).unwrap())).collect()
}

impl Demo {
    /// All parts and machines of the demo.
    pub(crate) fn whole() -> Demo {
        read(texts(turn_files("parts").into_iter().chain(turn_files("machines"))))
    }

    pub(crate) fn part(&self, name: &str) -> &Part {
        self.parts.iter().find(|p| p.name == name).unwrap_or_else(|| panic!("no part `{name}`"))
    }

    pub(crate) fn machine(&self, name: &str) -> &Machine {
        self.machines.iter().find(|m| m.name == name).unwrap_or_else(|| panic!("no machine `{name}`"))
    }

    pub(crate) fn rank(&self, part: &str, quantity: Option<u64>) -> Ranking {
        rank(self.part(part), &self.machines, &self.shop, quantity, By::Cost)
    }

    /// The row of a machine and mode.
    pub(crate) fn row<'r>(&self, ranking: &'r Ranking, machine: &str, mode: ModeKind) -> &'r Row {
        let found = ranking.rows.iter().find(|r| self.machines[r.machine].name == machine && r.mode == mode);
        found.unwrap_or_else(|| panic!("no row for `{machine}` {}", mode.word()))
    }
}

/// The findings of a rule in a row.
pub(crate) fn of_rule<'r>(row: &'r Row, rule: &str) -> Vec<&'r Finding> {
    row.judged.findings.iter().filter(|f| f.rule == rule).collect()
}

/// The one refusal of a rule.
pub(crate) fn refusal<'r>(row: &'r Row, rule: &str) -> &'r Finding {
    let all = of_rule(row, rule);
    all.iter().find(|f| f.verdict == Verdict::Refused).unwrap_or_else(|| panic!("no refusal by `{rule}`: {all:#?}"))
}

/// The number that a finding compares.
pub(crate) fn value(figure: &turnwright::matching::Figure) -> f64 {
    figure.value().unwrap_or_else(|| panic!("no number: {figure}"))
}

#[track_caller]
pub(crate) fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} instead of {expected} ± {within}");
}

/// Plenty of every head, so that every job that can find places does.
pub(crate) fn rich(shop: &Shop, machines: &[Machine]) -> Shop {
    let mut shop = shop.clone();
    for machine in machines {
        for option in &machine.options {
            shop = with_owned(&shop, machine, &option.name, 8);
        }
    }
    shop
}

/// Asks something of a row's task, with what the shop owns.
pub(crate) fn on_task<T>(part: &Part, machine: &Machine, row: &Row, shop: &Shop, then: impl FnOnce(&Task) -> T) -> T {
    with_task(part, machine, row.mode, shop, row.judged.plan.first, 1, then)
}

/// Asks something of the task of a part on a machine in a mode with one end made first, with what the shop owns.
pub(crate) fn with_task<T>(
    part: &Part,
    machine: &Machine,
    kind: ModeKind,
    shop: &Shop,
    first: End,
    lot: u64,
    then: impl FnOnce(&Task) -> T,
) -> T {
    let (view, thresholds) = (PartView::new(part), Thresholds::with(&shop.thresholds));
    let task = Task::new(&view, machine, machine.mode(kind).unwrap(), shop, &thresholds, first);
    then(&Task { lot, ..task })
}
