//! Every formula that a rule prints, reckoned out with the terms that it prints: it must come to the figures of the finding.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod common;

use common::{Demo, EXAMPLE, Example};
use std::collections::{BTreeMap, BTreeSet};
use turnwright::matching::algebra::{self, Comparison};
use turnwright::matching::ranking::reckoned;
use turnwright::matching::rules::{RULES, find};
use turnwright::matching::term::{Origin, Term};
use turnwright::matching::{By, Figure, Finding, Verdict, rank};
use turnwright::model::{Machine, Part, Shop};
use turnwright::tables::thresholds;

/// Rules that judge by what is there or is not, and why they reckon nothing.
const BY_PRESENCE: &[(&str, &str)] = &[
    ("validated", "the process was released on the machine, or was not"),
    ("coil", "the tools turn about the wire, or the spindle turns it"),
    ("collets", "it lies in the drawer, or does not"),
    ("bar-phase", "a bushing of the bar's shape turns, or stands still"),
    ("contouring", "a carrier moves its axes at once, or does not"),
    ("back-work", "a second spindle is there, or is not"),
    ("coolant", "a medium and a hazard"),
    ("edges", "what is cut before and what after"),
];

/// What a formula comes to on both sides.
fn sides(f: &Finding) -> Option<(Option<f64>, &'static str, Option<f64>)> {
    let formula = Comparison::of(f.formula?).unwrap_or_else(|| panic!("{}: compares nothing", f.rule));
    let relation = if formula.relation == "<=" { "<=" } else { ">=" };
    Some((algebra::value(formula.left, &f.terms), relation, algebra::value(formula.right, &f.terms)))
}

fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * a.abs().max(b.abs()).max(1e-3)
}

/// The limit that a margin is counted from, on either side.
fn limits(f: &Finding) -> Vec<f64> {
    let margin = f.margin.as_ref().and_then(Figure::value);
    let (Some(offered), Some(margin)) = (f.offered.value(), margin) else { return Vec::new() };
    vec![offered - margin, offered + margin]
}

/// What is wrong with the formula of a finding.
fn wrong(f: &Finding, shop: &Shop) -> Option<String> {
    let (asked, offered) = (f.asked.value(), f.offered.value());
    let Some((left, relation, right)) = sides(f) else {
        let numbers = asked.is_some() && offered.is_some();
        let presence = BY_PRESENCE.iter().any(|(rule, _)| *rule == f.rule);
        return (numbers && !presence).then(|| "two figures and no formula".to_owned());
    };
    let formula = f.formula?;
    if !find(f.rule)?.doc().formulas.contains(&formula) {
        return Some("a formula that its rule does not tell".to_owned());
    }
    for term in &f.terms {
        if !uses(formula, term.symbol) {
            return Some(format!("`{}` is not in the formula", term.symbol));
        }
        if term.meaning.is_empty() {
            return Some(format!("`{}` means nothing", term.symbol));
        }
        if let Origin::Threshold(name) = term.origin
            && !is_in_force(term, name, shop)
        {
            return Some(format!("`{}` is not the threshold `{name}` in force: {}", term.symbol, term.figure));
        }
    }
    let symbols: BTreeSet<_> = f.terms.iter().map(|t| t.symbol).collect();
    if symbols.len() != f.terms.len() {
        return Some("a symbol with two terms".to_owned());
    }
    let is = |side: Option<f64>, figure: Option<f64>| match (side, figure) {
        (Some(a), Some(b)) => alike(a, b),
        (a, b) => a.is_none() && b.is_none(),
    };
    let limit = |side: Option<f64>| side.is_some_and(|a| limits(f).into_iter().any(|l| alike(a, l)));
    let comes_to = |o: Option<f64>, a: Option<f64>| is(o, offered) && (is(a, asked) || limit(a));
    if !comes_to(left, right) && !comes_to(right, left) {
        return Some(format!("{left:?} {relation} {right:?}, the finding has asked {asked:?}, offered {offered:?}"));
    }
    // What fits holds by its formula, what does not misses it.
    let (Some(left), Some(right)) = (left, right) else { return None };
    let over = if relation == "<=" { left - right } else { right - left };
    let near = match f.rule {
        // Tables of thread limits are printed to a micrometre.
        "tap-drill" | "thread-blank" => 6.1e-4,
        _ => 1e-6 * left.abs().max(right.abs()).max(1e-3),
    };
    let fits = f.verdict == Verdict::Fits;
    if BESIDE_THE_FIGURES.iter().any(|(rule, verdict, _)| (*rule, *verdict) == (f.rule, f.verdict)) {
        return None;
    }
    let stands = if fits { over <= near } else { over >= -near };
    (!stands).then(|| format!("{} by {left} {relation} {right}", f.verdict.word()))
}

/// Findings that say more than their figures, and what.
const BESIDE_THE_FIGURES: &[(&str, Verdict, &str)] = &[
    ("exit-burr", Verdict::Fits, "what comes later takes the burr off"),
    ("hand-over", Verdict::Warns, "the collet opens over a head, or grips the crests of a thread or milled flats"),
    ("capability", Verdict::Warns, "it is held with a taper in the program, which the first pieces must prove"),
    ("stock-grade", Verdict::Warns, "rod of plastic is ground to order"),
];

/// Whether a symbol is a word of a formula.
fn uses(formula: &str, symbol: &str) -> bool {
    formula.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').any(|word| word == symbol)
}

/// Whether a term has the figure of a threshold in force, in the unit that its kind is kept in.
fn is_in_force(term: &Term, name: &str, shop: &Shop) -> bool {
    let Some(entry) = thresholds::all().iter().find(|e| e.name == name) else { return false };
    let factor = match entry.unit.as_str() {
        "um" => 1e-3,
        "min" => 60.0,
        _ => 1.0,
    };
    let in_force = shop.thresholds.get(name).copied().unwrap_or(entry.value) * factor;
    term.figure.value().is_some_and(|v| alike(v, in_force))
}

/// All findings of a part on machines with their terms, checked against the findings without.
fn findings(part: &Part, machines: &[Machine], shop: &Shop) -> Vec<(String, Finding, Option<String>)> {
    let ranking = rank(part, machines, shop, None, By::Cost);
    let mut found = Vec::new();
    for row in &ranking.rows {
        let machine = &machines[row.machine];
        let told = reckoned(part, machine, shop, row);
        let bare: Vec<Finding> =
            told.iter().map(|f| Finding { formula: None, terms: Vec::new(), ..f.clone() }).collect();
        assert_eq!(bare, row.judged.findings, "{} on {}", part.name, machine.name);
        let at = format!("{} on {}, {}", part.name, machine.name, row.mode.word());
        found.extend(told.into_iter().map(|f| {
            let fault = wrong(&f, shop);
            (at.clone(), f, fault)
        }));
    }
    found
}

/// A rule, changes to the machines of the examples, changes to its fitting example: what brings up the formulas that neither
/// demo nor examples do.
type Change = (&'static str, &'static [(&'static str, &'static str)], &'static [(&'static str, &'static str)]);

const CHANGES: &[Change] = &[
    ("bar-range", &[("bore 33", "")], &[]),
    ("bar-range", &[], &[("bar 3 .. 20", "bar 3 ..")]),
    ("bar-range", &[("bore 33", "bore 999")], &[("bar 3 .. 20", "bar 3 .. 999"), ("dia 19", "dia 700")]),
    ("bar-range", &[("bar 2 .. 32", "")], &[]),
    ("bar-channel", &[], &[("8, 15, 33", "8, 10")]),
    ("bar-channel", &[], &[("8, 15, 33", "8, 15.5")]),
    ("bar-length", &[], &[("3_050", "274.1")]),
    (
        "runout",
        &[],
        &[(
            "  runout    stem  to head 0.02",
            "  bore a dia 4 depth 5 from front flat-bottom\n  bore b dia 5 depth 5 from back flat-bottom\n  runout b to a 0.02",
        )],
    ),
    (
        "runout",
        &[("runout 10 um", "")],
        &[(
            "  runout    stem  to head 0.02",
            "  bore a dia 4 depth 5 from front\n  bore b dia 5 depth 5 from back\n  runout b to a 0.02",
        )],
    ),
    (
        "runout",
        &[],
        &[(
            "  runout    stem  to head 0.02",
            "  bore a dia 4 depth 5 from front flat-bottom\n  bore b dia 5 depth 5 from back flat-bottom\n  runout b to a 0.012",
        )],
    ),
    ("angle", &[], &[("opens front", "opens back")]),
    (
        "runout",
        &[],
        &[("  runout    stem  to head 0.02", "  bore a dia 4 depth 5 from front\n  runout head to a 0.008")],
    ),
    ("boring-reach", &[], &[("flat-bottom", "\n  groove ring internal dia 7 z 10 .. 12")]),
    ("boring-reach", &[], &[("dia 5 H7", "dia 3 H7"), ("flat-bottom", "\n  groove ring internal dia 11 z 10 .. 12")]),
    (
        "boring-reach",
        &[],
        &[(
            "dia 5 H7  depth 27  from front  flat-bottom",
            "dia 0.5 depth 5 from front\n  groove ring internal dia 0.6 z 2 .. 3",
        )],
    ),
    (
        "boring-reach",
        &[],
        &[
            ("dia 12 ±0.1", "dia 28 ±0.1"),
            (
                "seat  dia 5 H7  depth 27  from front  flat-bottom",
                "core  dia 12 H8  through\n  thread  Tr 16x4 7H  internal  depth 35  from front",
            ),
        ],
    ),
    ("groove-depth", &[], &[("groove    ring  dia 6  z 10 .. 11", "groove ring face front dia 4 outer 5 depth 4")]),
    ("live-torque", &[("power 2.2 kW", "")], &[]),
    ("live-torque", &[("torque 10 N.m", ""), ("power 2.2 kW", "")], &[("{ torque 10 N.m }", "{ speed .. 8_000 rpm }")]),
    (
        "cut-off-face",
        &[],
        &[(
            "  order     1_000  repeat",
            "  order     1_000  repeat\n  face front\n  face back\n  flatness face-1 0.01\n  flatness face-2 0.01",
        )],
    ),
    (
        "hand-over",
        &[],
        &[(
            "turn      body  dia 12 ±0.1  z 0 .. 30",
            "taper body dia 12 .. 10 z 0 .. 30\n  bore b dia 5 depth 5 from back\n  bore a dia 4 depth 5 from front",
        )],
    ),
    ("unloading", &[], &[("dia 12", "dia 31")]),
    ("unloading", &[], &[("z 0 .. 110", "z 0 .. 110  finish 0.3 um")]),
    (
        "deep-hole",
        &[],
        &[("dia 2  depth 44", "dia 2  depth 240"), ("length    60", "length    250"), ("0 .. 60", "0 .. 250")],
    ),
    (
        "thread-blank",
        &[("spread 6 um", "spread 200 um")],
        &[("  turn      stem  dia 7.86 ±0.1  z 10 .. 30\n", ""), ("z 14 .. 30", "z 10 .. 30")],
    ),
    ("insert-width", &[], &[("insert-width .. 6", "insert-width .. 1.99")]),
    ("insert-width", &[], &[("insert-width .. 6", "")]),
    ("insert-width", &[], &[("ring-bore 14", "ring-bore 7")]),
    ("pull-back", &[("land 30", "")], &[("length    50", "length    70"), (".. 50", ".. 70"), (".. 35", ".. 60")]),
];

/// Findings of the demo and of the examples of all rules.
fn every() -> Vec<(String, Finding, Option<String>)> {
    let demo = Demo::whole();
    let mut found: Vec<_> = demo.parts.iter().flat_map(|p| findings(p, &demo.machines, &demo.shop)).collect();
    for rule in RULES {
        for text in [rule.doc().trips, rule.doc().passes] {
            let example = Example::read(EXAMPLE, text);
            found.extend(findings(&example.part, std::slice::from_ref(&example.machine), &example.shop));
        }
    }
    for (rule, base, changes) in CHANGES {
        let machines = replaced(EXAMPLE, base);
        let text = replaced(find(rule).unwrap().doc().passes, changes);
        let example = Example::read(&machines, &text);
        found.extend(findings(&example.part, std::slice::from_ref(&example.machine), &example.shop));
    }
    found
}

/// A text with each `from` written as `to`.
fn replaced(text: &str, changes: &[(&str, &str)]) -> String {
    changes.iter().fold(text.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "no `{from}` in\n{text}");
        text.replace(from, to)
    })
}

#[test]
fn every_formula_comes_to_the_figures_of_its_finding() {
    let mut faults: BTreeMap<String, String> = BTreeMap::new();
    let mut used: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for (at, f, fault) in every() {
        if let Some(formula) = f.formula {
            *used.entry((f.rule, formula)).or_default() += 1;
        }
        if let Some(fault) = fault {
            faults
                .entry(format!("{}: {}", f.rule, f.formula.unwrap_or("none")))
                .or_insert(format!("{fault}\n    {at}: {}", f.reason));
        }
    }
    let told: Vec<String> = faults.iter().map(|(f, fault)| format!("{f}\n    {fault}")).collect();
    assert!(told.is_empty(), "{} wrong\n{}", told.len(), told.join("\n"));
    let unused: Vec<_> = RULES
        .iter()
        .flat_map(|r| r.doc().formulas.iter().map(|f| (r.name(), *f)))
        .filter(|f| !used.contains_key(f))
        .collect();
    assert!(unused.is_empty(), "never reckoned by: {unused:#?}");
}

/// A place that a term names says its number, in whatever unit.
#[test]
fn the_machine_says_the_number_at_the_place_that_is_named() {
    let (texts, demo) = (common::texts(common::demo_files()), Demo::whole());
    let (mut words, mut lines, mut wrong) = (0, 0, BTreeSet::new());
    for part in &demo.parts {
        for (_, f, _) in findings(part, &demo.machines, &demo.shop) {
            for t in &f.terms {
                let (Origin::Machine(Some(at)), Some(value)) = (t.origin, t.figure.value()) else { continue };
                let (file, text) = &texts[at.file as usize];
                assert!(file.starts_with("machines/"), "{}: `{}` at {file}", f.rule, t.symbol);
                let said = |words: &str| {
                    let words = words.replace('_', "");
                    let numbers =
                        words.split(|c: char| !c.is_ascii_digit() && c != '.').filter_map(|w| w.parse::<f64>().ok());
                    numbers.flat_map(|n| [n, n * 1e3, n * 1e-3]).any(|n| alike(n, value))
                };
                let (start, end) = (at.start as usize, at.end as usize);
                // An accuracy stands beside its angle, and a travel begins with a sign.
                let rest = text[end..].split('\n').next().unwrap();
                words += usize::from(said(&text[start..end]));
                lines += 1;
                if !said(&text[start..end + rest.len()]) {
                    wrong.insert((f.rule, t.symbol, t.figure.to_string(), text[start..end].to_owned()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(words * 20 > lines * 19 && lines > 3_000, "{words} of {lines}");
}

#[test]
fn every_rule_has_a_formula_or_judges_by_presence() {
    for rule in RULES {
        let presence = BY_PRESENCE.iter().any(|(name, _)| *name == rule.name());
        assert_eq!(rule.doc().formulas.is_empty(), presence, "{}", rule.name());
        for formula in rule.doc().formulas {
            assert!(Comparison::of(formula).is_some(), "{}: {formula}", rule.name());
        }
    }
}
