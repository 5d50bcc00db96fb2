//! Every rule by its own examples, its boundaries from both sides, and by what happens where a figure is not stated.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(clippy::disallowed_methods, reason = "tests read files")]

mod common;

use common::{EXAMPLE, Example};
use std::collections::BTreeSet;
use turnwright::matching::rules::RULES;
use turnwright::matching::{By, Finding, Verdict, rank};

/// The findings of an example on the machine and in the mode that its first line names, with what the shop owns.
fn judged(base: &str, text: &str) -> Vec<Finding> {
    Example::read(base, text).row().judged.findings
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
    let mut wrong = Vec::new();
    for rule in RULES {
        let d = rule.doc();
        for (text, expected) in [(d.trips, BTreeSet::from([rule.name()])), (d.passes, BTreeSet::new())] {
            let found = judged(EXAMPLE, text);
            let tripped: Vec<&Finding> = found.iter().filter(|f| f.verdict != Verdict::Fits).collect();
            if tripped.iter().map(|f| f.rule).collect::<BTreeSet<_>>() != expected {
                let told: Vec<String> = tripped.iter().map(|f| format!("    {}: {}", f.rule, f.reason)).collect();
                wrong.push(format!("{}, expected {expected:?}\n{}", rule.name(), told.join("\n")));
            }
        }
    }
    assert!(wrong.is_empty(), "{} wrong\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn what_does_not_fit_says_what_would() {
    for rule in RULES {
        for f in judged(EXAMPLE, rule.doc().trips).iter().filter(|f| f.verdict != Verdict::Fits) {
            assert!(f.remedy.as_ref().is_some_and(|r| !r.is_empty()), "{}: {}", f.rule, f.reason);
        }
    }
}

/// A machine whose guide bushing stands still.
const FIXED: &str = "units mm\nmachine small like example with { mode guided { bushing fixed } }";

/// A thread too small to be milled.
const SMALL_TAP: (&str, &str) = ("M4 x 0.7 6H  internal  depth 10", "M1.6 x 0.35 6H  internal  depth 3");

/// A taper behind a short plain end, and work at its far end.
const SHORT_GRIP: (&str, &str) = (
    "turn      body  dia 12 ±0.1  z 0 .. 30",
    "pin front first\n  turn      body  dia 12 ±0.1  z 0 .. 4.29\n  taper cone dia 12 .. 8 z 4.29 .. 30\n  bore tail dia 2 depth 4 from back",
);

/// The same with a grip of 10 mm and work at the far end of 46 mm.
const FAR_WORK: [(&str, &str); 3] = [("4.29", "10"), (".. 30", ".. 46"), ("30 ±0.2", "46 ±0.04")];

/// A machine that supports the free end.
const PROPPED: (&str, &str) = (
    "units mm",
    "units mm\nmachine propped like example with { mode supported { bar 2 .. 32 stick-out 200 stock h11 remnant 70 spread 6 um } }",
);

/// A rule, changes to its fitting example, and the verdict expected.
type Limit<'a> = (&'a str, &'a [(&'a str, &'a str)], Verdict);

/// A material that asks for all the speed that a bar stands.
const BRASS: (&str, &str) = ("11smn30", "cuzn39pb3");

#[test]
fn limits_hold_from_both_sides() {
    use Verdict::{Fits, Refused, Warns};
    // Rule, changes to the example that fits, verdict.
    let cases: &[Limit] = &[
        ("bar-range", &[("3 .. 20", "3 .. 19.99")], Refused),
        ("bar-channel", &[BRASS], Fits),
        ("bar-channel", &[("8, 15, 33", "8, 15.01, 33"), BRASS], Warns),
        ("stock-grade", &[("13 h8", "13 h9")], Refused),
        ("coil", &[("coil .. 6 }", "coil .. 5.99 }")], Warns),
        ("coil", &[("coil .. 6 }", "coil 6.01 .. 8 }")], Warns),
        ("coil", &[("h8 drawn coil", "h8 drawn"), ("coil .. 6 }", "coil .. 5 }")], Fits),
        ("collets", &[("12 .. 13 mm", "12.9 mm")], Fits),
        ("collets", &[("12 .. 13 mm", "12.89 mm")], Warns),
        ("collets", &[("12 .. 13 mm", "13.1 mm")], Fits),
        ("collets", &[("12 .. 13 mm", "13.11 mm")], Warns),
        ("collets", &[("12 .. 13 mm", "hex 13 mm")], Warns),
        ("collets", &[("8 mm, 13 mm", "8 mm")], Warns),
        ("collets", &[("main: [8 mm, 13 mm], ", "")], Fits),
        ("validated", &[("mode guided", "")], Fits),
        ("validated", &[("on example mode guided", "on other, example")], Fits),
        ("validated", &[("on example", "on other moving 12_000 EUR takes 16 weeks")], Warns),
        ("validated", &[("on example", "on other")], Refused),
        ("capability", &[("±0.005", "±0.0044")], Fits),
        ("capability", &[("±0.005", "±0.0043")], Warns),
        ("capability", &[("±0.005", "±0.0031")], Warns),
        ("capability", &[("±0.005", "±0.003")], Refused),
        ("runout", &[("head 0.02", "head 0.005")], Fits),
        ("runout", &[("head 0.02", "head 0.0049")], Refused),
        ("off-axis", &[("-10 .. 10", "-8.9 .. 8.9")], Fits),
        ("off-axis", &[("-10 .. 10", "-8.89 .. 8.89")], Refused),
        ("holder-size", &[("dia 8", "dia 10")], Fits),
        ("holder-size", &[("dia 8", "dia 10.01")], Refused),
        ("angle", &[("40 .. 110", "65 .. 110")], Fits),
        ("angle", &[("40 .. 110", "65.01 .. 110")], Refused),
        ("angle", &[("±1 deg", "±0.001 deg")], Refused),
        ("orientation", &[("count 6", "count 8")], Fits),
        ("orientation", &[("count 6", "count 5")], Refused),
        ("hand-over", &[("4 .. 32", "12 .. 32")], Fits),
        ("hand-over", &[("4 .. 32", "12.01 .. 32")], Refused),
        ("deep-hole", &[("100 bar", "80 bar")], Fits),
        ("deep-hole", &[("100 bar", "79.9 bar")], Warns),
        ("deep-hole", &[("100 bar", "40 bar")], Warns),
        ("deep-hole", &[("100 bar", "39.9 bar")], Refused),
        // 0.3 mm of air about the bar of 13 mm.
        ("bar-channel", &[("8, 15, 33", "13.3")], Fits),
        ("bar-channel", &[("8, 15, 33", "13.29")], Refused),
        // A third of what stands out is asked, half of that at the least: z = (30 - z) / 6 at 4.286 mm.
        ("hand-over", &[SHORT_GRIP], Warns),
        ("hand-over", &[SHORT_GRIP, ("4.29", "4.28")], Refused),
        // 8 D with the free end supported.
        ("slenderness", &[PROPPED, ("# example, collet", "# propped, supported"), ("36", "96")], Fits),
        ("slenderness", &[PROPPED, ("# example, collet", "# propped, supported"), ("36", "96.1")], Warns),
        ("lead-angle", &[("-30 .. 30", "-15.5 .. 15.5")], Fits),
        ("lead-angle", &[("-30 .. 30", "-15.4 .. 15.4")], Refused),
        ("insert-width", &[("insert-width .. 6", "insert-width .. 4")], Fits),
        ("insert-width", &[("insert-width .. 6", "insert-width .. 3.99")], Warns),
        ("insert-width", &[("insert-width .. 6", "insert-width .. 1.99")], Refused),
        ("insert-width", &[("ring-bore 14", "ring-bore 7")], Refused),
        ("stand-out", &[("70", "75.5")], Fits),
        ("stand-out", &[("70", "75.6")], Refused),
        ("slenderness", &[("36", "36.1")], Warns),
        ("roundness", &[("body 0.002", "body 0.001")], Fits),
        ("roundness", &[("body 0.002", "body 0.0009")], Refused),
        ("bushing-speed", &[("bushing rotary", "bushing fixed  speed .. 1_713 rpm")], Fits),
        ("bushing-speed", &[("bushing rotary", "bushing fixed  speed .. 1_715 rpm")], Refused),
        ("live-speed", &[("dia 6 ", "dia 3.49 ")], Fits),
        ("live-speed", &[("dia 6 ", "dia 3.47 ")], Warns),
        ("back-work", &[("30 ±0.2", "30 ±0.05")], Fits),
        ("back-work", &[("30 ±0.2", "30 ±0.049")], Refused),
        ("bar-phase", &[("# example, collet", "# example, guided")], Warns),
        ("bar-phase", &[("# example, collet", "# small, guided"), ("units mm", FIXED)], Refused),
        ("bar-channel", &[("8, 15, 33", "8, 17, 33"), BRASS], Warns),
        ("bar-channel", &[("8, 15, 33", "33"), ("dia 12", "dia 8.5")], Warns),
        ("bar-channel", &[("8, 15, 33", "33.01"), ("dia 12", "dia 8.5")], Refused),
        ("bar-straightness", &[("straightness 0.5", "straightness 0.51")], Warns),
        ("bar-straightness", &[("guided", "collet"), ("straightness 0.5", "straightness 1")], Fits),
        ("bar-straightness", &[("guided", "collet"), ("straightness 0.5", "straightness 1.01")], Warns),
        ("bar-length", &[("3_050", "1_245")], Fits),
        ("bar-length", &[("3_050", "1_230")], Warns),
        ("bar-length", &[("3_050", "274.3")], Warns),
        ("bar-length", &[("3_050", "274.1")], Refused),
        ("free-end", &[("155", "160")], Fits),
        ("free-end", &[("155", "160.1")], Warns),
        ("turn-down", &[("dia 3.5", "dia 3.25")], Fits),
        ("turn-down", &[("dia 3.5", "dia 3.24")], Warns),
        ("inspection", &[("±0.0025", "±0.0024")], Warns),
        ("finish", &[("0.4 um", "0.39 um")], Warns),
        ("finish", &[("0.4 um", "0.1 um")], Warns),
        ("finish", &[("0.4 um", "0.099 um")], Refused),
        ("chip-thickness", &[("12.3", "12.24")], Fits),
        ("chip-thickness", &[("12.3", "12.23")], Warns),
        ("thin-wall", &[("dia 9.4", "dia 9.6")], Fits),
        ("thin-wall", &[("dia 9.4", "dia 9.61")], Warns),
        ("thin-wall", &[("dia 9.4", "dia 10.81")], Warns),
        ("tip-wall", &[("dia 3.3", "dia 3.4")], Fits),
        ("tip-wall", &[("dia 3.3", "dia 3.41")], Warns),
        ("ligament", &[("at 1.9", "at 1.8")], Fits),
        ("ligament", &[("at 1.9", "at 1.79")], Warns),
        ("boring-reach", &[("depth 27", "depth 28")], Fits),
        ("boring-reach", &[("depth 27", "depth 28.1")], Warns),
        ("groove-depth", &[("dia 6", "dia 5.9")], Warns),
        ("parting", &[("turn      body", "stock     round 48 h11\n  turn      body")], Fits),
        ("parting", &[("turn      body", "stock     round 48.1 h11\n  turn      body")], Warns),
        ("spindle-speed", &[("round 5 ", "round 3.92 ")], Fits),
        ("spindle-speed", &[("round 5 ", "round 3.91 ")], Warns),
        ("drill-slope", &[("60 deg", "59.9 deg")], Warns),
        ("exit-burr", &[("  edges     duct  break .. 0.1\n", ""), ("dia 4", "dia 9"), ("70 deg", "82 deg")], Fits),
        ("exit-burr", &[("  edges     duct  break .. 0.1\n", ""), ("dia 4", "dia 9"), ("70 deg", "81.9 deg")], Warns),
        ("exit-burr", &[("  edges     duct  break .. 0.1\n", ""), ("dia 4", "dia 8.6"), ("70 deg", "89 deg")], Fits),
        ("exit-burr", &[("  edges     duct  break .. 0.1\n", ""), ("dia 4", "dia 8.5"), ("70 deg", "89 deg")], Warns),
        ("cut-off-face", &[("±0.2", "±0.15")], Fits),
        ("cut-off-face", &[("±0.2", "±0.149")], Warns),
        ("unloading", &[("110", "120")], Fits),
        ("unloading", &[("110", "120.1")], Warns),
        ("filter", &[("filter 20 um", "filter 20.1 um")], Warns),
        ("filter", &[("dia 2 ", "dia 3 "), ("filter 20 um", "filter 50 um")], Fits),
        ("filter", &[("dia 2 ", "dia 1.49 ")], Warns),
        ("filter", &[("dia 2 ", "dia 1.49 "), ("filter 20 um", "filter 10 um")], Fits),
        ("thread-blank", &[("dia 7.86 ±0.1 ", "dia 7.866 ±0.106 ")], Fits),
        ("thread-blank", &[("dia 7.86 ±0.1 ", "dia 7.866 ±0.107 ")], Warns),
        ("tap-drill", &[("dia 3.3 ", "dia 3.347 ")], Fits),
        ("tap-drill", &[("dia 3.3 ", "dia 3.348 ")], Warns),
        ("tap-depth", &[("depth 13 ", "depth 12.75 ")], Fits),
        ("tap-depth", &[("depth 13 ", "depth 12.7 ")], Warns),
        ("tap-depth", &[("depth 13 ", "depth 11 ")], Warns),
        ("tap-depth", &[SMALL_TAP, ("dia 3.3 ", "dia 1.25 "), ("depth 13 ", "depth 3.7 ")], Warns),
        ("tap-depth", &[SMALL_TAP, ("dia 3.3 ", "dia 1.25 "), ("depth 13 ", "depth 3.69 ")], Refused),
        ("pull-back", &[(".. 35", ".. 35.1")], Warns),
        ("chip-control", &[("100 bar", "70 bar")], Fits),
        ("chip-control", &[("100 bar", "69.9 bar")], Warns),
        ("tool-storage", &[("120 long", "54 long")], Fits),
        ("tool-storage", &[("120 long", "53.9 long")], Refused),
        ("tool-storage", &[("1.5 kg", "0.49 kg")], Refused),
    ];
    let mut wrong = Vec::new();
    for (rule, changes, expected) in cases {
        // A rule may have nothing to say about what fits.
        let found = worst(&judged(EXAMPLE, &changed(rule, changes)), rule).unwrap_or(Fits);
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
    let base = EXAMPLE.split(' ').filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ");
    let mut wrong = Vec::new();
    for (clause, example, misses) in cases {
        assert!(base.contains(clause), "{clause}");
        let text = changed(example, &[]);
        let (with, without) = (judged(EXAMPLE, &text), judged(&base.replace(clause, ""), &text));
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
    let without = judged(&base.replace("clamp 10 kN", ""), &text);
    if worst(&without, "axial-push") != Some(Verdict::NotStated) {
        wrong.push(format!("without any clamping stated axial-push says {:?}", worst(&without, "axial-push")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The same example in a shop with its own threshold.
fn row_with(rule: &str, changes: &[(&str, &str)], threshold: &str, value: f64) -> turnwright::matching::Row {
    let mut example = Example::read(EXAMPLE, &changed(rule, changes));
    assert!(turnwright::tables::thresholds::all().iter().any(|t| t.name == threshold), "{threshold}");
    example.shop.thresholds.insert(threshold.to_owned(), value);
    example.row()
}

/// A rule, changes to its fitting example, a threshold with the shop's value, and the verdict expected.
type Own<'a> = (&'a str, &'a [(&'a str, &'a str)], &'a str, f64, Verdict);

#[test]
fn numbers_of_a_shop_take_hold() {
    use Verdict::{Fits, Refused, Warns};
    let says = |rule: &str, changes: &[(&str, &str)], threshold: &str, value: f64| {
        worst(&row_with(rule, changes, threshold, value).judged.findings, rule).unwrap_or(Fits)
    };
    let cases: &[Own] = &[
        ("parting", &[("turn      body", "stock     round 48 h11\n  turn      body")], "parting-reach", 8.0, Fits),
        ("parting", &[("turn      body", "stock     round 48 h11\n  turn      body")], "parting-reach", 7.9, Warns),
        ("tap-depth", &[("depth 13 ", "depth 12.75 ")], "tap-lead", 2.5, Fits),
        ("tap-depth", &[("depth 13 ", "depth 12.75 ")], "tap-lead", 2.6, Warns),
        ("tap-depth", &[("depth 13 ", "depth 12.75 ")], "tap-chips", 1.0, Fits),
        ("tap-depth", &[("depth 13 ", "depth 12.75 ")], "tap-chips", 1.1, Warns),
        ("deep-hole", &[("100 bar", "40 bar")], "pressure-limit", 0.5, Warns),
        ("deep-hole", &[("100 bar", "40 bar")], "pressure-limit", 0.51, Refused),
        ("bar-channel", &[("8, 15, 33", "13.3")], "channel-air", 0.3, Fits),
        ("bar-channel", &[("8, 15, 33", "13.3")], "channel-air", 0.31, Refused),
        // 36 mm stand out of a grip of 12 mm.
        ("hand-over", &[SHORT_GRIP, FAR_WORK[0], FAR_WORK[1], FAR_WORK[2]], "grip-overhang", 3.0, Fits),
        ("hand-over", &[SHORT_GRIP, FAR_WORK[0], FAR_WORK[1], FAR_WORK[2]], "grip-overhang", 2.99, Warns),
        ("hand-over", &[SHORT_GRIP], "grip-limit", 0.5, Warns),
        ("hand-over", &[SHORT_GRIP], "grip-limit", 0.51, Refused),
        ("collets", &[("12 .. 13 mm", "12.8 mm")], "collet-reach", 0.2, Fits),
        ("collets", &[("12 .. 13 mm", "12.8 mm")], "collet-reach", 0.19, Warns),
    ];
    let mut wrong = Vec::new();
    for (rule, changes, threshold, value, expected) in cases {
        let found = says(rule, changes, threshold, *value);
        if found != *expected {
            wrong.push(format!("{rule} with {threshold} of {value}: {found:?} instead of {expected:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    // Numbers of the plan: a liner from the gap of 33 - 13 mm on, chips cleared in so much of an hour, bar as round as said.
    let liner = |gap| {
        let row = row_with("slenderness", &[], "liner-gap", gap);
        row.judged.plan.setup.lines.iter().any(|l| l.kind == "bar-liner")
    };
    assert!(liner(19.9) && !liner(20.0));
    let chips = |min| row_with("chip-control", &[], "chip-clearing", min).judged.plan.cycle;
    let (two, three) = (chips(2.0), chips(3.0));
    assert!((two.chips / two.programmed - 2.0 / 60.0).abs() < 1e-9 && (three.chips / two.chips - 1.5).abs() < 1e-9);
    let round = |share| row_with("roundness", &[], "bar-roundness", share).judged.plan.blank;
    let bar = round(0.25);
    assert!((bar.roundness / bar.size_tolerance - 0.25).abs() < 1e-9);
    let wire = row_with("coil", &[], "coil-length", 300.0).judged.plan.blank;
    // A pin of 19.375 D in front, all of it turned in one go.
    let long: &[(&str, &str)] = &[];
    let free = |threshold, value| worst(&row_with("free-end", long, threshold, value).judged.findings, "free-end");
    assert_eq!((free("stiff-end", 19.38), free("stiff-end", 19.37)), (None, Some(Fits)));
    let asked = |value| {
        let row = row_with("free-end", long, "whip-from", value);
        row.judged.findings.iter().find(|f| f.rule == "free-end").and_then(|f| f.asked.value()).unwrap()
    };
    assert!(asked(1.0) == 0.0 && asked(0.999) > 0.0);
    // A drill of 1 mm that turns too slowly: the time it loses buys a holder, or does not.
    let slow = |value| {
        let row = row_with("live-speed", &[("al-6061-t6", "11smn30"), ("dia 6", "dia 1")], "holder-worth", value);
        let op = row.judged.plan.operations.iter().find(|o| o.speed < o.wanted).unwrap();
        let finding = row.judged.findings.iter().find(|f| f.rule == "live-speed").unwrap();
        (op.cutting.to_s() * (1.0 - op.speed / op.wanted), finding.remedy.clone().unwrap().contains("worth no holder"))
    };
    let (lost, _) = slow(1.0);
    assert!(slow(lost * 1.001).1 && !slow(lost * 0.999).1, "{lost} s");
    assert!(wire.coil && (wire.length.to_mm() - 300_000.0).abs() < 1e-6 && wire.remnant.to_mm() == 0.0);
}

/// The finding of a rule about an example, by the rule's own figures.
fn figures(rule: &str, text: &str) -> (f64, f64) {
    let found = judged(EXAMPLE, text);
    let f = found.iter().find(|f| f.rule == rule).unwrap_or_else(|| panic!("{rule} says nothing"));
    (f.asked.value().unwrap(), f.offered.value().unwrap())
}

#[test]
fn limits_that_follow_from_forces_hold_from_both_sides() {
    use Verdict::{Fits, Refused, Warns};
    let says =
        |rule: &str, changes: &[(&str, &str)]| worst(&judged(EXAMPLE, &changed(rule, changes)), rule).unwrap_or(Fits);
    // The torque that milling asks of the brake, with its safety.
    let (asked, _) = figures("brake", &changed("brake", &[]));
    for (share, expected) in [(1.001, Fits), (0.999, Warns), (0.301, Warns), (0.299, Refused)] {
        let brake = format!("brake {:.6} N.m", asked * share);
        assert_eq!(says("brake", &[("brake 40 N.m", &brake)]), expected, "{brake}");
    }
    let (asked, _) = figures("live-torque", &changed("live-torque", &[]));
    for (share, expected) in [(1.001, Fits), (0.999, Warns), (0.301, Warns), (0.299, Refused)] {
        let torque = format!("torque {:.6} N.m", asked * share);
        assert_eq!(says("live-torque", &[("torque 10 N.m", &torque)]), expected, "{torque}");
    }
    // At the least feed of the drill, its push is what it is.
    let trips = turnwright::matching::rules::find("axial-push").unwrap().doc().trips;
    let (asked, _) = figures("axial-push", trips);
    for (share, expected) in [(1.001, Fits), (0.999, Refused)] {
        let clamp = format!("clamp {:.6} N", asked / 0.135 * share);
        assert_eq!(says("axial-push", &[("clamp 12 kN", &clamp)]), expected, "{clamp}");
    }
    // A hole nearer to the nose by the air that there is to spare.
    let (asked, offered) = figures("nose-clearance", &changed("nose-clearance", &[]));
    for (more, expected) in [(-0.001, Fits), (0.001, Refused)] {
        let at = format!("at {:.6} ", 20.0 + offered - asked + more);
        assert_eq!(says("nose-clearance", &[("at 20 ", &at)]), expected, "{at}");
    }
    // The bend grows with the cube of the distance from the bushing.
    let drilled = |off: f64| {
        let off = format!("off-bushing {off:.6}");
        let machine =
            format!("machine small like example with {{ carrier cross {{ {off} }} carrier tilt {{ {off} }} }}");
        let text = changed("push-off", &[("# example", "# small"), ("units mm", &format!("units mm\n{machine}"))]);
        judged(EXAMPLE, &text).into_iter().find(|f| f.rule == "push-off")
    };
    let bend = drilled(20.0).unwrap().offered.value().unwrap();
    let limit = 20.0 * libm::cbrt(0.05 / bend);
    assert_eq!(drilled(limit * 0.999).unwrap().verdict, Fits);
    assert_eq!(drilled(limit * 1.001).unwrap().verdict, Warns);
    // An order that the edge lasts asks nothing.
    let lasts = changed("tool-life", &[("order     50", "order     1_000")]);
    let reason = judged(EXAMPLE, &lasts).into_iter().find(|f| f.rule == "tool-life").unwrap().reason.into_owned();
    let pieces: u64 = reason.split(": ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    assert_eq!(says("tool-life", &[("order     50", &format!("order     {pieces}"))]), Fits);
    assert_eq!(says("tool-life", &[("order     50", &format!("order     {}", pieces + 1))]), Warns);
}

#[test]
fn margins_say_how_far_a_verdict_is_from_turning() {
    let mut wrong = Vec::new();
    let mut held = BTreeSet::new();
    let mut check = |f: &Finding, at: &str| {
        let Some(margin) = f.margin.as_ref().and_then(|m| m.value()) else { return };
        held.insert(f.rule);
        let right = match f.verdict {
            Verdict::Fits => margin >= -1e-9,
            Verdict::Refused => margin <= 1e-9,
            _ => true,
        };
        if !right || !margin.is_finite() {
            wrong.push(format!("{at}: {} {:?} with a margin of {margin}: {}", f.rule, f.verdict, f.reason));
        }
    };
    let demo = common::Demo::whole();
    for part in &demo.parts {
        for first in [None, Some(turnwright::model::part::End::Front), Some(turnwright::model::part::End::Back)] {
            let mut part = part.clone();
            part.first_end = first;
            for row in &rank(&part, &demo.machines, &demo.shop, None, By::Cost).rows {
                let at = format!("{} on {}, {}", part.name, demo.machines[row.machine].name, row.mode.word());
                row.judged.findings.iter().chain(&row.without).for_each(|f| check(f, &at));
            }
        }
    }
    for rule in RULES {
        for text in [rule.doc().trips, rule.doc().passes] {
            judged(EXAMPLE, text).iter().for_each(|f| check(f, rule.name()));
        }
    }
    assert!(wrong.is_empty(), "{} wrong\n{}", wrong.len(), wrong.join("\n"));
    // Rules that compare words have none.
    let without: Vec<&str> = RULES.iter().map(|r| r.name()).filter(|n| !held.contains(n)).collect();
    assert_eq!(without, ["validated", "bar-phase", "coil", "contouring", "edges", "back-work", "collets", "coolant"]);
}
