//! Purchases for people.

use super::words::{self, whole};
use super::{BarAnswer, BuyAnswer, CloseAnswer, SetAnswer, StairAnswer, StepAnswer};
use crate::fleet::buy::staircase::Capability;
use crate::report::text::{self, Style, hanging, head, number, unbroken, wrapped};
use comfy_table::{Cell, ColumnConstraint, Width};

/// Sets of several things that are told.
const TOGETHER: usize = 5;

/// The answer for a terminal.
pub fn text(a: &BuyAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold(&wrapped(&words::title(a), width, "")));
    out.push_str(&wrapped(&words::outcome(a), width, ""));
    out.push_str(&format!("\n\n{}\n{}\n", style.bold("Without buying"), without(a, style)));
    out.push_str(&wrapped(&words::redundancy(a), width, ""));
    let (useful, idle) = a.useful();
    out.push_str(&format!("\n\n{}\n", style.bold("What could be bought")));
    if !useful.is_empty() {
        out.push_str(&format!("{}\n", sets(&useful, style)));
    }
    if !idle.is_empty() {
        out.push_str(&format!("{}\n", wrapped(&words::idle(&idle), width, "")));
    }
    if !a.together.is_empty() {
        let best: Vec<&SetAnswer> = a.together.iter().take(TOGETHER).collect();
        out.push_str(&format!("\n{}\n{}\n", style.bold("Together"), sets(&best, style)));
    }
    let less = a.together.len().saturating_sub(TOGETHER);
    let mut rest = Vec::new();
    if less > 0 {
        rest.push(format!("{less} more sets of up to {} things are worth less", a.most_together));
    }
    if a.skipped > 0 {
        rest.push(format!("{} more are proven to be worth no more without being planned", a.skipped));
    }
    if !rest.is_empty() {
        out.push_str(&wrapped(&format!("{}.", rest.join("; ")), width, ""));
        out.push('\n');
    }
    for c in a.close.iter().filter(|c| !c.is_idle(a)) {
        out.push_str(&format!("\n{}\n", closely(a, c, style)));
    }
    out.push_str(&format!("\n{}\n", style.bold("Taken for granted")));
    for words in &a.assumptions {
        out.push_str(&hanging(" - ", "   ", &unbroken(words), width));
        out.push('\n');
    }
    out
}

fn without(a: &BuyAnswer, style: Style) -> String {
    let mut table = text::table(style);
    table.set_header(vec![
        head("way", false),
        head("left over a year", true),
        head("more than now", true),
        head("", false),
    ]);
    let now = a.without.first().map_or(0.0, |v| v.left_over);
    for v in &a.without {
        let mut said = Vec::new();
        if v.unmet > 0 {
            said.push(format!("{} that must be made and cannot", v.unmet));
        }
        if v.variant == a.best_without {
            said.push("the best".to_owned());
        }
        table.add_row(vec![
            Cell::new(v.variant.words()),
            number(whole(v.left_over)),
            number(whole(v.left_over - now)),
            Cell::new(said.join("; ")),
        ]);
    }
    text::drawn(&table)
}

/// The width from which on every figure of a set has room beside its name.
const WIDE: u16 = 96;

fn sets(sets: &[&SetAnswer], style: Style) -> String {
    let mut table = text::table(style);
    let wide = style.width >= WIDE;
    table.set_header(vec![
        head("what", false),
        head("price", true),
        head("a year", true),
        head("NPV", true),
        head("IRR", true),
        head("pays back", true),
        head("pays below", true),
        head("pays", false),
    ]);
    let mut longest = 0;
    for s in sets {
        let said = match (s.pays, s.within_budget) {
            (true, true) => "yes",
            (true, false) => "too dear",
            (false, _) => "no",
        };
        let name = held(&s.what);
        longest = name.split(' ').map(|word| word.chars().count()).fold(longest, usize::max);
        table.add_row(vec![
            Cell::new(name),
            number(whole(s.price)),
            number(whole(s.gain)),
            number(whole(s.npv)),
            number(words::irr(&s.irr)),
            number(words::payback(s.payback)),
            number(s.stops_paying_at.map_or_else(|| "-".to_owned(), whole)),
            Cell::new(said),
        ]);
    }
    for (i, column) in table.column_iter_mut().enumerate() {
        column.set_constraint(match i {
            // Names are broken between their words.
            0 => ColumnConstraint::LowerBoundary(Width::Fixed(longest as u16 + 2)),
            4 if !wide => ColumnConstraint::Hidden,
            _ => ColumnConstraint::ContentWidth,
        });
    }
    text::drawn(&table)
}

/// A name whose parts stay together: `2 x angle-head` and `on gang-12`.
fn held(what: &[String]) -> String {
    let part = |words: &String| words.replace(" x ", "\u{a0}x\u{a0}").replace(" on ", " on\u{a0}");
    what.iter().map(part).collect::<Vec<_>>().join(" +\u{a0}")
}

fn closely(a: &BuyAnswer, c: &CloseAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold(&c.what.join(" and ")));
    for words in words::told(a, c) {
        out.push_str(&hanging(" - ", "   ", &unbroken(&words), width));
        out.push('\n');
    }
    out.push_str(&format!("\n{}\n", sure(c, style)));
    out.push_str(&format!("\n{}\n", years(c, style)));
    if c.ways.len() > 1 {
        out.push_str(&format!("\n{}\n", ways(c, style)));
    }
    if !c.tornado.is_empty() {
        out.push_str(&format!("\nNPV with one figure moved\n{}\n", tornado(&c.tornado, style)));
    }
    if let Some(d) = &c.chance {
        out.push_str(&format!("\n{}\n", wrapped(&words::chance(d), width, "")));
    }
    for s in &c.stairs {
        out.push_str(&format!("\n{}", stairs(s, style)));
    }
    out.trim_end().to_owned()
}

fn sure(c: &CloseAnswer, style: Style) -> String {
    let mut table = text::table(style);
    table.set_header(vec![head("jobs", false), head("", true), head("a year", true), head("NPV", true)]);
    for s in &c.sure {
        table.add_row(vec![Cell::new(words::sure(s)), number(s.jobs), number(whole(s.gain)), number(whole(s.npv))]);
    }
    text::drawn(&table)
}

fn years(c: &CloseAnswer, style: Style) -> String {
    let mut table = text::table(style);
    table.set_header(vec![
        head("year", true),
        head("more left over", true),
        head("upkeep", true),
        head("price, resale", true),
        head("written off", true),
        head("tax", true),
        head("sum", true),
        head("so far", true),
    ]);
    for y in &c.years {
        let mut row = vec![number(y.year)];
        row.extend([y.gain, y.upkeep, y.price, y.written_off, y.tax, y.sum, y.so_far].map(|m| number(whole(m))));
        table.add_row(row);
    }
    text::drawn(&table)
}

fn ways(c: &CloseAnswer, style: Style) -> String {
    let mut table = text::table(style);
    table.set_header(vec![head("paid", false), head("own money at once", true), head("NPV", true), head("IRR", true)]);
    for w in &c.ways {
        table.add_row(vec![
            Cell::new(w.paid),
            number(whole(w.at_once)),
            number(whole(w.npv)),
            number(words::irr(&w.irr)),
        ]);
    }
    text::drawn(&table)
}

fn tornado(bars: &[BarAnswer], style: Style) -> String {
    let mut table = text::table(style);
    let heads = ["-20 %", "-10 %", "as planned", "+10 %", "+20 %"];
    table.set_header(std::iter::once(head("", false)).chain(heads.map(|h| head(h, true))).collect::<Vec<_>>());
    for b in bars {
        let row = std::iter::once(Cell::new(b.moved.words())).chain(b.npv.map(|n| number(whole(n))));
        table.add_row(row.collect::<Vec<_>>());
    }
    text::drawn(&table)
}

/// The steps at which something jumps, and the candidate's own.
fn stairs(s: &StairAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let more = if s.capability == Capability::ALL[0] { ", more left over a year" } else { "" };
    let mut out = format!("{}{more}\n", s.capability.question());
    let first = s.steps.first().map(|f| f.figure);
    let level = !s.steps.iter().any(StepAnswer::jumps);
    for step in &s.steps {
        if !(step.own || step.jumps() || !step.newly_able.is_empty() || Some(step.figure) == first) {
            continue;
        }
        let mut words = format!("{}: {}{}", s.capability.words(step.figure), whole(step.gain), words::step(step));
        if step.own {
            words.push_str(" (the candidate's own)");
        }
        out.push_str(&hanging(" - ", "   ", &unbroken(&words), width));
        out.push('\n');
    }
    if level {
        out.push_str(" no step of it changes what is left over\n");
    }
    out
}
