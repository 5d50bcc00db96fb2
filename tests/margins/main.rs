//! A margin is what can be lost: a figure moved by a little less than the margin turns nothing, moved by a little more it
//! brings the refusal, or the warning of a rule that never refuses. For every rule, over random parts and its examples.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod bar;
#[path = "../common/mod.rs"]
mod common;
mod levers;
mod tools;
mod world;

use common::{Demo, EXAMPLE, Example, random_parts, rich};
use levers::{Lever, UNMOVED, levers};
use std::collections::BTreeMap;
use turnwright::matching::rules::{RULES, find};
use turnwright::matching::{By, Figure, Finding, Verdict, rank};
use turnwright::model::machine::Bushing;
use turnwright::tables::thresholds;
use world::World;

/// How many parts are ranked on all machines.
const PARTS: usize = 200;
/// How many margins of one figure are moved where each asks for another plan.
const MOST_PLANNED: usize = 400;

fn margin(f: &Finding) -> Option<f64> {
    f.margin.as_ref().and_then(Figure::value)
}

/// What became of the margins that a figure moves.
#[derive(Debug, Default)]
struct Tally {
    exceeded: usize,
    /// Planning chose another way, so that the finding is about something else.
    elsewhere: usize,
}

#[derive(Default)]
struct Book {
    tally: BTreeMap<(&'static str, &'static str), Tally>,
    wrong: Vec<String>,
}

impl Book {
    /// Ranks random parts and moves every margin of every row.
    fn rank(&mut self, demo: &Demo, parts: usize, seed: u64) {
        for part in random_parts(demo, parts, seed) {
            let ranking = rank(&part, &demo.machines, &demo.shop, None, By::Cost);
            for row in &ranking.rows {
                let machine = &demo.machines[row.machine];
                let world = World::of(&part, machine, &demo.shop, row, ranking.quantity);
                let at = format!("{} on {}, {}", part.name, machine.name, row.mode.word());
                self.judge(&world, &row.judged.findings, &at);
            }
        }
    }

    /// Moves the margin of every finding of a plan from both sides.
    fn judge(&mut self, world: &World, findings: &[Finding], at: &str) {
        for f in findings.iter().filter(|f| margin(f).is_some() && f.verdict != Verdict::NotStated) {
            let mut moved = UNMOVED.iter().any(|(rule, is, _)| *rule == f.rule && is(world, f));
            for lever in levers().filter(|l| l.rule == f.rule && (l.moves)(world, f)) {
                moved = true;
                let tally = self.tally.entry((lever.rule, lever.figure)).or_default();
                if lever.plans_again && tally.exceeded + tally.elsewhere >= MOST_PLANNED {
                    continue;
                }
                match exceed(lever, world, f) {
                    Ok(true) => tally.exceeded += 1,
                    Ok(false) => tally.elsewhere += 1,
                    Err(what) => {
                        self.wrong.push(format!("{at}: {}, {}: {what}\n    {}", f.rule, lever.figure, f.reason))
                    }
                }
            }
            if !moved {
                self.wrong.push(format!("{at}: no figure moves the margin of {}: {}", f.rule, f.reason));
            }
        }
    }
}

/// Moves a margin from both sides; says whether the finding was still about the same work.
fn exceed(lever: &Lever, world: &World, f: &Finding) -> Result<bool, String> {
    let m = margin(f).unwrap();
    let whole = matches!(f.asked, Figure::Count(_) | Figure::Grade(_));
    let size = f.asked.value().unwrap_or(1.0).abs().max(f.offered.value().unwrap_or(1.0).abs());
    // A tenth of the margin to either side; what stands on its limit is moved by the least that counts.
    // A capability far below nought is not moved by more than half: no tolerance is less than none.
    let most = if matches!(f.asked, Figure::Number(_)) { 0.5 } else { f64::INFINITY };
    let most = f.asked.value().map_or(most, |a| most.min(a.abs() * 0.1));
    let step = if whole { 1.0 } else { (m.abs() * 0.1).min(most).max(size * 1e-6).max(1e-6) };
    let within = if whole { m } else { m - step };
    for (by, is_beyond) in [(within, false), (m + step, true)] {
        let mut w = world.clone();
        (lever.worsen)(&mut w, f, by);
        if lever.plans_again && (!w.plan_again() || w.plan.blank != world.plan.blank && f.rule != "bar-length") {
            return Ok(false);
        }
        let found = w.judge(find(f.rule).unwrap());
        let same = alike(lever, world, f, &found);
        let says = same.iter().map(|g| g.verdict).max().unwrap_or(Verdict::Fits);
        if (says >= lever.beyond) != is_beyond {
            if lever.plans_again && w.way(f.feature) != world.way(f.feature) {
                return Ok(false);
            }
            let told: Vec<String> = same.iter().map(|g| format!("{:?} {}", g.verdict, g.reason)).collect();
            return Err(format!("{:?} with a margin of {m}; worse by {by} {told:?}", f.verdict));
        }
        if let (false, [g]) = (lever.plans_again, same.as_slice())
            && let Some(now) = margin(g).filter(|_| f.asked.unit() == g.asked.unit())
            && (now - (m - by)).abs() > 1e-6 * size.max(1.0)
        {
            return Err(format!("a margin of {m}, worse by {by}, becomes {now}: {}", g.reason));
        }
    }
    Ok(true)
}

/// The findings about the same thing: the same kind and feature; of several, those with one of the two figures as it was.
fn alike<'f>(lever: &Lever, world: &World, f: &Finding, found: &'f [Finding]) -> Vec<&'f Finding> {
    let kind = |g: &&Finding| f.asked.unit() == g.asked.unit() && (lever.plans_again || (lever.moves)(world, g));
    let there = |g: &&Finding| g.rule == f.rule && (f.feature.is_none() || g.feature == f.feature);
    let near = |a: &Figure, b: &Figure| match (a.value(), b.value()) {
        (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a.abs().max(1.0),
        _ => a == b,
    };
    let mut all: Vec<&Finding> = found.iter().filter(kind).filter(there).collect();
    // Of holders the finding names the tightest tool, which may become another.
    if all.len() > 1 || f.rule == "holder-size" {
        all.retain(|g| near(&f.asked, &g.asked) || near(&f.offered, &g.offered));
    }
    all
}

/// Thresholds of a shop that trusts nothing, by how much they differ from those of the table: rules that speak up only
/// where something is wrong then do.
const STRICT: &[(&str, f64)] = &[
    ("chip-depth", 8.0),
    ("cut-off-pip", 4.0),
    ("cut-off-hollow", 8.0),
    ("drop-mass", 0.01),
    ("face-groove-least", 4.0),
    ("boring-least", 12.0),
    ("groove-depth", 0.2),
    ("groove-depth-steel", 0.2),
    ("ligament-least", 6.0),
    ("ligament-share", 6.0),
    ("tip-wall", 6.0),
    ("turn-down", 3.0),
    ("nose-clearance", 10.0),
    ("bottoming-tap", 1.4),
    ("bar-loss", 0.1),
];

/// Changes to the fitting examples of rules that random parts seldom reach.
type More = (&'static str, &'static [(&'static str, &'static str)]);

/// A keyway at the sub-spindle, alone there, far out of a thin journal.
const AT_SUB: (&str, &str) =
    ("grip 4 .. 32 }", "grip 4 .. 32 } carrier cross { serves sub } carrier tilt { serves sub }");
const JOURNAL: (&str, &str) = (
    "turn      body  dia 12 ±0.1  z 0 .. 30",
    "pin front first\n  turn journal dia 6 ±0.1 z 0 .. 10\n  turn body dia 10 ±0.1 z 10 .. 80\n  thread lift M10 z 10 .. 78\n  \
     turn seat dia 9 ±0.1 z 80 .. 90\n  keyway key width 2 P9 depth 1 z 82 .. 88",
);
const LONG: (&str, &str) = ("30 ±0.2", "90 ±0.2");

/// A machine of the examples whose diameters come out as wide as a thread's crests.
const LOOSE: (&str, &str) = ("units mm", "units mm\nmachine small like example with { mode guided { spread 0.18 } }");
const PLAIN_STEM: (&str, &str) = ("dia 7.86 ±0.1 ", "dia 7.86 ");
const SMALL_TAP: (&str, &str) = ("M4 x 0.7 6H  internal  depth 10", "M1.6 x 0.35 6H  internal  depth 3");
const SMALL_HOLE: (&str, &str) = ("dia 3.3 ", "dia 1.25 ");

static MORE: &[More] = &[
    ("bar-channel", &[("8, 15, 33", "8, 10")]),
    ("bar-channel", &[("8, 15, 33", "8, 13")]),
    ("bar-channel", &[("8, 15, 33", "37.5")]),
    ("bar-channel", &[("8, 15, 33", "37")]),
    ("hand-over", &[AT_SUB, LONG, JOURNAL]),
    ("hand-over", &[AT_SUB, LONG, JOURNAL, ("82 .. 88", "83 .. 88")]),
    ("run-out", &[("0 .. 8", "0 .. 12.8"), ("8 .. 14", "12.8 .. 14")]),
    ("bar-straightness", &[("straightness 0.5", "straightness 0.7")]),
    ("nose-clearance", &[("at 20 ", "at 19.5 ")]),
    ("groove-depth", &[("ring  dia 6  z 10 .. 11", "ring  face front  dia 2  outer 5  depth 1")]),
    ("groove-depth", &[("ring  dia 6  z 10 .. 11", "ring  face front  dia 3  outer 5.9  depth 1")]),
    ("parting", &[("turn      body", "stock     round 55 h11\n  turn      body")]),
    ("parting", &[("turn      body", "stock     round 60 h11\n  turn      body")]),
    (
        "cut-off-face",
        &[(
            "dia 19 ±0.1  z 0 .. 30",
            "dia 19 ±0.1  z 0 .. 30\n  face front\n  face back\n  flatness face-1 0.05\n  flatness face-2 0.05",
        )],
    ),
    (
        "cut-off-face",
        &[(
            "dia 19 ±0.1  z 0 .. 30",
            "dia 19 ±0.1  z 0 .. 30\n  face front\n  face back\n  flatness face-1 0.02\n  flatness face-2 0.02",
        )],
    ),
    ("thread-blank", &[("dia 7.86 ±0.1 ", "dia 7.86 +0.1/-0.12 ")]),
    ("thread-blank", &[LOOSE, ("# example", "# small"), PLAIN_STEM]),
    ("thread-blank", &[LOOSE, ("# example", "# small"), PLAIN_STEM, ("6g", "6h")]),
    ("tap-depth", &[SMALL_TAP, SMALL_HOLE, ("depth 13 ", "depth 3.65 ")]),
    ("tap-depth", &[SMALL_TAP, SMALL_HOLE, ("depth 13 ", "depth 3.75 ")]),
    (
        "boring-reach",
        &[
            ("dia 12 ±0.1", "dia 28 ±0.1"),
            (
                "seat  dia 5 H7  depth 27  from front  flat-bottom",
                "core  dia 12 H8  through\n  thread  Tr 16x4 7H  internal  depth 35  from front",
            ),
        ],
    ),
    ("insert-width", &[("ring-bore 14", "ring-bore 7")]),
    ("insert-width", &[("ring-bore 14", "ring-bore 6")]),
];

/// The demo as a strict shop sees it that owns every head, with machines whose bushings stand still, whose coolant is weak
/// and of which every other has no sub-spindle.
fn strict(mut demo: Demo) -> Demo {
    for (name, factor) in STRICT {
        let table = thresholds::all().iter().find(|t| t.name == *name).unwrap();
        demo.shop.thresholds.insert((*name).to_owned(), table.value * factor);
    }
    for (i, machine) in demo.machines.iter_mut().enumerate() {
        machine.modes.iter_mut().filter_map(|m| m.bushing.as_mut()).for_each(|b| b.value = Bushing::Fixed);
        machine.coolant.iter_mut().filter_map(|c| c.pressure.as_mut()).for_each(|p| p.value = p.value * 0.3);
        if i % 2 == 1 {
            machine.sub = None;
        }
    }
    demo.shop = rich(&demo.shop, &demo.machines);
    demo
}

#[test]
fn every_margin_exceeded_brings_the_refusal_and_none_short_of_it() {
    let mut book = Book::default();
    for rule in RULES {
        let (trips, passes) = (rule.doc().trips, rule.doc().passes);
        let more = MORE.iter().filter(|m| m.0 == rule.name()).map(|(_, changes)| {
            changes.iter().fold(passes.to_owned(), |text, (from, to)| {
                assert!(text.contains(from), "{}: no `{from}`", rule.name());
                text.replace(from, to)
            })
        });
        for text in [trips.to_owned(), passes.to_owned()].into_iter().chain(more) {
            let example = Example::read(EXAMPLE, &text);
            let row = example.row();
            book.judge(&World::of_example(&example), &row.judged.findings, rule.name());
        }
    }
    let demo = Demo::whole();
    book.rank(&demo, PARTS, 1);
    book.rank(&strict(demo), PARTS / 4, 2);
    let few: Vec<String> = levers()
        .map(|l| ((l.rule, l.figure), book.tally.get(&(l.rule, l.figure))))
        .filter(|(_, t)| t.is_none_or(|t| t.exceeded < 2 || t.elsewhere * 2 > t.exceeded))
        .map(|((rule, figure), t)| format!("{rule}, {figure}: {t:?}"))
        .collect();
    for ((rule, figure), t) in &book.tally {
        println!("{rule}, {figure}: {} exceeded, {} made another way", t.exceeded, t.elsewhere);
    }
    assert!(book.wrong.is_empty(), "{} wrong\n{}", book.wrong.len(), book.wrong.join("\n"));
    assert!(few.is_empty(), "too few margins moved:\n{}", few.join("\n"));
}

#[test]
fn every_rule_has_a_figure_that_moves_it_or_a_reason() {
    for rule in RULES {
        let known = levers().any(|l| l.rule == rule.name()) || UNMOVED.iter().any(|u| u.0 == rule.name());
        assert!(known, "{}: no figure moves its margin", rule.name());
    }
    assert!(levers().map(|l| l.rule).chain(UNMOVED.iter().map(|u| u.0)).all(|name| find(name).is_some()));
    assert!(UNMOVED.iter().all(|u| !u.2.is_empty()));
}
