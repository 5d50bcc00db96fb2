//! Every rule by its own examples, its boundaries from both sides, and by what happens where a figure is not stated.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

use std::collections::BTreeSet;
use turnwright::lang::{self, Sources};
use turnwright::matching::rules::RULES;
use turnwright::matching::{By, Finding, Verdict, rank};

const BASE: &str = include_str!("../src/matching/rules/examples/example.turn");

/// The findings of an example on the machine and in the mode that its first line names, with what the shop owns.
fn judged(base: &str, text: &str) -> Vec<Finding> {
    let first = text.lines().next().unwrap();
    let (machine, mode) = first.strip_prefix("# ").and_then(|l| l.split_once(", ")).unwrap();
    let mut sources = Sources::default();
    sources.add("example.turn", base.to_owned());
    sources.add("inquiry.turn", text.to_owned());
    let reading = lang::read(&sources);
    let told: Vec<String> = errors(&reading).map(|d| lang::render::drawn(d, &sources, false)).collect();
    assert!(told.is_empty(), "{text}\n{}", told.join("\n"));
    let own = if text.contains("option whirling") { ", owned: { whirling: 1 }" } else { "" };
    let shop = format!(
        "shop: Example\ncurrency: EUR\npeople: {{ setters: 2, setter: 58 EUR/h, operator: 42 EUR/h, machines per operator: 4 }}\n\
         markup: 22 % of cost\nscrap: 2 %\nsetup pieces: 4\n\
         machines:\n  {machine}: {{ hourly: 80 EUR/h, available: 3_400 h/year{own} }}\n"
    );
    let number = sources.add("shop.yaml", shop.clone());
    let (shop, found) = lang::shop::read_shop_with(number, &shop, &reading.machines);
    assert!(found.is_empty(), "{found:#?}");
    let ranking = rank(&reading.parts[0], &reading.machines, &shop.unwrap(), None, By::Cost);
    let row = ranking.rows.iter().find(|r| reading.machines[r.machine].name == machine && r.mode.word() == mode);
    row.unwrap_or_else(|| panic!("{first}: not ranked")).judged.findings.clone()
}

fn errors(reading: &lang::Reading) -> impl Iterator<Item = &lang::Diagnostic> {
    reading.diagnostics.iter().filter(|d| d.severity == lang::Severity::Error)
}

/// The worst that a rule says.
fn worst(findings: &[Finding], rule: &str) -> Option<Verdict> {
    findings.iter().filter(|f| f.rule == rule).map(|f| f.verdict).max()
}

/// The example of a rule that fits, with each `from` written as `to`.
fn changed(rule: &str, changes: &[(&str, &str)]) -> String {
    let mut text = turnwright::matching::rules::find(rule).unwrap().doc().passes.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{rule}: no `{from}` in\n{text}");
        text = text.replace(from, to);
    }
    text
}

#[test]
fn every_rule_is_documented_and_named_once() {
    let names: BTreeSet<_> = RULES.iter().map(|r| r.name()).collect();
    assert_eq!(names.len(), RULES.len());
    for rule in RULES {
        let d = rule.doc();
        for words in [d.question, d.what, d.why, d.source, d.trips, d.passes] {
            assert!(!words.trim().is_empty(), "{}", rule.name());
        }
    }
}

#[test]
fn the_example_of_a_rule_trips_it_alone_and_its_counterpart_fits() {
    for rule in RULES {
        let d = rule.doc();
        let trips = judged(BASE, d.trips);
        let tripped: BTreeSet<_> = trips.iter().filter(|f| f.verdict != Verdict::Fits).map(|f| f.rule).collect();
        assert_eq!(tripped.into_iter().collect::<Vec<_>>(), [rule.name()], "{trips:#?}");
        let left: Vec<_> = judged(BASE, d.passes).into_iter().filter(|f| f.verdict != Verdict::Fits).collect();
        assert!(left.is_empty(), "{}: {left:#?}", rule.name());
    }
}

#[test]
fn what_does_not_fit_says_what_would() {
    for rule in RULES {
        for f in judged(BASE, rule.doc().trips).iter().filter(|f| f.verdict != Verdict::Fits) {
            assert!(f.remedy.as_ref().is_some_and(|r| !r.is_empty()), "{}: {}", f.rule, f.reason);
        }
    }
}

/// A rule, changes to its fitting example, and the verdict expected.
type Limit<'a> = (&'a str, &'a [(&'a str, &'a str)], Verdict);

#[test]
fn limits_hold_from_both_sides() {
    use Verdict::{Fits, Refused, Warns};
    // Rule, changes to the example that fits, verdict.
    let cases: &[Limit] = &[
        ("bar-range", &[("3 .. 20", "3 .. 19.99")], Refused),
        ("bar-channel", &[("8, 15, 33", "8, 15, 33")], Fits),
        ("bar-channel", &[("8, 15, 33", "8, 15.01, 33")], Warns),
        ("stock-grade", &[("13 h8", "13 h9")], Refused),
        ("capability", &[("±0.005", "±0.0044")], Fits),
        ("capability", &[("±0.005", "±0.0043")], Warns),
        ("capability", &[("±0.005", "±0.0032")], Refused),
        ("runout", &[("head 0.02", "head 0.005")], Fits),
        ("runout", &[("head 0.02", "head 0.0049")], Refused),
        ("off-axis", &[("-10 .. 10", "-9.5 .. 9.5")], Fits),
        ("off-axis", &[("-10 .. 10", "-9.49 .. 9.49")], Refused),
        ("holder-size", &[("dia 8", "dia 10")], Fits),
        ("holder-size", &[("dia 8", "dia 10.01")], Refused),
        ("angle", &[("40 .. 110", "45 .. 110")], Fits),
        ("angle", &[("40 .. 110", "45.01 .. 110")], Refused),
        ("angle", &[("±1 deg", "±0.001 deg")], Refused),
        ("orientation", &[("count 6", "count 8")], Fits),
        ("orientation", &[("count 6", "count 5")], Refused),
        ("hand-over", &[("4 .. 32", "12 .. 32")], Fits),
        ("hand-over", &[("4 .. 32", "12.01 .. 32")], Refused),
        ("deep-hole", &[("100 bar", "80 bar")], Fits),
        ("deep-hole", &[("100 bar", "79.9 bar")], Warns),
        ("deep-hole", &[("100 bar", "39.9 bar")], Refused),
        ("lead-angle", &[("-30 .. 30", "-15.5 .. 15.5")], Fits),
        ("lead-angle", &[("-30 .. 30", "-15.4 .. 15.4")], Refused),
        ("insert-width", &[("insert-width .. 6", "insert-width .. 4")], Fits),
        ("insert-width", &[("insert-width .. 6", "insert-width .. 3.99")], Warns),
        ("insert-width", &[("insert-width .. 6", "insert-width .. 1.99")], Refused),
        ("insert-width", &[("ring-bore 14", "ring-bore 7")], Refused),
    ];
    let mut wrong = Vec::new();
    for (rule, changes, expected) in cases {
        // A rule may have nothing to say about what fits.
        let found = worst(&judged(BASE, &changed(rule, changes)), rule).unwrap_or(Fits);
        if found != *expected {
            wrong.push(format!("{rule} {changes:?}: {found:?} instead of {expected:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_figure_that_is_not_stated_never_helps() {
    // Clause of the machine, the rule whose fitting example is judged without it, the rule that misses it.
    let cases = [
        ("stick-out 80", "stand-out", "stand-out"),
        ("stroke 220", "capability", "stand-out"),
        ("spread 6 um", "capability", "capability"),
        ("roundness 1 um", "roundness", "roundness"),
        ("runout 3 um", "roundness", ""),
        ("runout 5 um", "runout", "runout"),
        ("stock h8", "stock-grade", "stock-grade"),
        ("bushing rotary", "capability", "bushing-speed"),
        ("torque 30 N.m", "holder-size", "spindle-torque"),
        ("power 5.5 kW", "holder-size", "spindle-torque"),
        ("orient continuous accuracy 0.02 deg", "holder-size", "orientation"),
        ("channel 5, 7, 9, 11, 13, 15, 17, 19, 21, 23, 25, 27, 29, 31, 33", "capability", "bar-channel"),
        ("grip 2 .. 32", "capability", "hand-over"),
        // The other end made first pushes into the other spindle, whose clamping is stated.
        ("clamp 8 kN", "deep-hole", ""),
        ("accuracy 0.01 deg", "angle", "angle"),
        ("bar 2 .. 32", "capability", "bar-range"),
    ];
    let base = BASE.split(' ').filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ");
    let mut wrong = Vec::new();
    for (clause, example, misses) in cases {
        assert!(base.contains(clause), "{clause}");
        let text = changed(example, &[]);
        let (with, without) = (judged(BASE, &text), judged(&base.replace(clause, ""), &text));
        for r in RULES {
            let (before, after) = (worst(&with, r.name()), worst(&without, r.name()));
            if after < before {
                wrong.push(format!("without `{clause}` {} turns from {before:?} to {after:?}", r.name()));
            }
        }
        if !misses.is_empty() && worst(&without, misses) != Some(Verdict::NotStated) {
            wrong.push(format!("without `{clause}` {misses} says {:?}", worst(&without, misses)));
        }
    }
    // With the end pinned, nothing else can stand in for the grip that is not stated.
    let text = changed("axial-push", &[("clamp 12 kN", "")]);
    let without = judged(&base.replace("clamp 8 kN", ""), &text);
    if worst(&without, "axial-push") != Some(Verdict::NotStated) {
        wrong.push(format!("without any clamping stated axial-push says {:?}", worst(&without, "axial-push")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
