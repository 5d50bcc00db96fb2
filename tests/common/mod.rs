//! The demo, read once for a test: parts, machines and the shop.
#![allow(clippy::disallowed_methods, reason = "tests read files")]
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(dead_code, reason = "each test file uses its share")]

use std::fs;
use std::path::PathBuf;
use turnwright::lang::{self, Sources};
use turnwright::matching::worth::with_owned;
use turnwright::matching::{By, Finding, Ranking, Row, Verdict, rank};
use turnwright::model::figure::{Limits, Size};
use turnwright::model::machine::ModeKind;
use turnwright::model::part::{End, Kind};
use turnwright::model::{Machine, Part, Shop};
use turnwright::planning::{PartView, Task};
use turnwright::quantity::Length;
use turnwright::tables::thresholds::Thresholds;

/// The spec files of a folder in order of name.
pub(crate) fn turn_files(folder: &str) -> Vec<PathBuf> {
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    files.retain(|p| p.extension().is_some_and(|e| e == "turn"));
    files.sort();
    files
}

/// The spec files of the demo in the order in which they are read.
pub(crate) fn demo_files() -> Vec<PathBuf> {
    turn_files("parts").into_iter().chain(turn_files("machines")).collect()
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
        read(texts(demo_files()))
    }

    /// The demo with the parts that its mix names beyond it, and the machines that the shop could buy.
    pub(crate) fn for_buying() -> Demo {
        let more = turn_files("parts/hoped").into_iter().chain(turn_files("machines/candidates"));
        read(texts(demo_files().into_iter().chain(more)))
    }

    /// The part that a job of the demo's mix names, by its name or by its file.
    pub(crate) fn part_of_job(&self, job: &str) -> &Part {
        let name = job.rsplit('/').next().unwrap();
        self.part(name.strip_suffix(".turn").unwrap_or(name))
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

/// Numbers that follow no rule and are the same on every run (SplitMix64).
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A whole number from nought, below `end`.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        (self.next() % end as u64) as usize
    }

    /// From `low` to `high`, each ratio as likely as its inverse.
    pub(crate) fn ratio(&mut self, low: f64, high: f64) -> f64 {
        let share = (self.next() >> 11) as f64 / (1u64 << 53) as f64;
        low * libm::pow(high / low, share)
    }
}

/// How a part differs from one of the demo: factors, and the part whose material it takes.
pub(crate) struct Variation<'a> {
    pub(crate) tolerance: f64,
    pub(crate) demand: f64,
    pub(crate) finish: f64,
    pub(crate) material: &'a Part,
}

impl Variation<'_> {
    /// A part nobody has thought of.
    pub(crate) fn of(&self, part: &Part) -> Part {
        let mut part = part.clone();
        part.material = self.material.material.clone();
        for feature in &mut part.features {
            if let Some(size) = size_of(&mut feature.kind) {
                set_tolerance(size, |t| t * self.tolerance);
            }
            if let Some(finish) = feature.kind.finish_mut() {
                finish.ra = finish.ra * self.finish;
            }
        }
        set_tolerance(&mut part.length, |t| t * self.tolerance);
        for d in &mut part.demands {
            d.value = (d.value * self.demand).max(Length::um(0.2));
        }
        part
    }
}

/// Parts that differ from those of the demo in tolerances, demands, finish, material and the end made first.
pub(crate) fn random_parts(demo: &Demo, count: usize, seed: u64) -> Vec<Part> {
    let mut dice = Dice(seed);
    let pick = |dice: &mut Dice| &demo.parts[dice.below(demo.parts.len())];
    (0..count)
        .map(|i| {
            let part = pick(&mut dice);
            let (tolerance, demand) = (dice.ratio(0.2, 3.0), dice.ratio(0.3, 3.0));
            let finish = dice.ratio(0.25, 4.0);
            let material = pick(&mut dice);
            let mut part = Variation { tolerance, demand, finish, material }.of(part);
            part.first_end = [None, Some(End::Front), Some(End::Back)][dice.below(3)];
            part.name = format!("{} no. {i}", part.name);
            part
        })
        .collect()
}

/// The diameter of a turned or bored feature.
pub(crate) fn size_of(kind: &mut Kind) -> Option<&mut Size> {
    match kind {
        Kind::Turn(t) if !t.as_stock => Some(&mut t.dia),
        Kind::Sphere(s) => Some(&mut s.dia),
        Kind::Bore(b) => Some(&mut b.dia),
        _ => None,
    }
}

/// Another width for a tolerance, about the same middle.
pub(crate) fn set_tolerance(size: &mut Size, to: impl Fn(Length) -> Length) {
    if let Limits::Both { upper, lower, .. } = &mut size.limits {
        let (middle, half) = ((*upper + *lower) / 2.0, to(*upper - *lower) / 2.0);
        (*upper, *lower) = (middle + half, middle - half);
    }
}

/// The machine that the examples of the rules are judged on.
pub(crate) const EXAMPLE: &str = include_str!("../../src/matching/rules/examples/example.turn");

/// An example of a rule: a part, and the machine and mode that its first line names.
pub(crate) struct Example {
    pub(crate) part: Part,
    pub(crate) machine: Machine,
    pub(crate) mode: ModeKind,
    pub(crate) shop: Shop,
}

impl Example {
    /// Reads the text of an example beside the machine that it is derived from; warnings are no fault here.
    pub(crate) fn read(base: &str, text: &str) -> Example {
        let first = text.lines().next().unwrap();
        let (name, mode) = first.strip_prefix("# ").and_then(|l| l.split_once(", ")).unwrap();
        let mut sources = Sources::default();
        sources.add("example.turn", base.to_owned());
        sources.add("inquiry.turn", text.to_owned());
        let reading = lang::read(&sources);
        let errors = reading.diagnostics.iter().filter(|d| d.severity == lang::Severity::Error);
        let told: Vec<String> = errors.map(|d| lang::render::drawn(d, &sources, false)).collect();
        assert!(told.is_empty(), "{text}\n{}", told.join("\n"));
        // What the shop file says of the machine stands in the second line where it matters.
        let said = text.lines().nth(1).and_then(|l| l.strip_prefix("# shop: ")).map(|l| format!(", {l}"));
        let whirling = if text.contains("option whirling") { ", owned: { whirling: 1 }" } else { "" };
        let own = whirling.to_owned() + &said.unwrap_or_default();
        let shop = format!(
            "shop: Example\ncurrency: EUR\n\
             people: {{ setters: 2, setter: 58 EUR/h, operator: 42 EUR/h, machines per operator: 4 }}\n\
             markup: 22 % of cost\nscrap: 2 %\nsetup pieces: 4\n\
             machines:\n  {name}: {{ hourly: 80 EUR/h, available: 3_400 h/year{own} }}\n"
        );
        let number = sources.add("shop.yaml", shop.clone());
        let (shop, found) = lang::shop::read_shop_with(number, &shop, &reading.machines);
        assert!(found.is_empty(), "{found:#?}");
        let machine = reading.machines.into_iter().find(|m| m.name == name).unwrap();
        let mode = machine.modes.iter().map(|m| m.kind).find(|k| k.word() == mode);
        let mode = mode.unwrap_or_else(|| panic!("{first}: no such mode"));
        Example { part: reading.parts.into_iter().next().unwrap(), machine, mode, shop: shop.unwrap() }
    }

    /// The row of its machine and mode.
    pub(crate) fn row(&self) -> Row {
        let ranking = rank(&self.part, std::slice::from_ref(&self.machine), &self.shop, None, By::Cost);
        ranking.rows.into_iter().find(|r| r.mode == self.mode).unwrap()
    }
}
