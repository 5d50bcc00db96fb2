//! Purchases for people.

use super::{BarAnswer, BuyAnswer, CloseAnswer, SetAnswer, StairAnswer};
use crate::fleet::buy::staircase::Capability;
use crate::quantity::print::{number as decimals, thousands};
use crate::report::text::{self, Style, hanging, head, number, unbroken, wrapped};
use comfy_table::{Cell, ColumnConstraint, Width};

/// Sets of several things that are told.
const TOGETHER: usize = 5;

/// The answer for a terminal.
pub fn text(a: &BuyAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold(&wrapped(&title(a), width, "")));
    out.push_str(&wrapped(&outcome(a), width, ""));
    out.push_str(&format!("\n\n{}\n{}\n", style.bold("Without buying"), without(a, style)));
    out.push_str(&wrapped(&redundancy(a), width, ""));
    out.push_str(&format!("\n\n{}\n{}\n", style.bold("What could be bought"), sets(&a.single, style)));
    if !a.together.is_empty() {
        let best = &a.together[..a.together.len().min(TOGETHER)];
        out.push_str(&format!("\n{}\n{}\n", style.bold("Together"), sets(best, style)));
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
    for c in &a.close {
        out.push_str(&format!("\n{}\n", closely(a, c, style)));
    }
    out.push_str(&format!("\n{}\n", style.bold("Taken for granted")));
    for words in &a.assumptions {
        out.push_str(&hanging(" - ", "   ", &unbroken(words), width));
        out.push('\n');
    }
    out
}

fn whole(amount: f64) -> String {
    // No minus before nothing.
    let rounded = amount.round();
    thousands(if rounded == 0.0 { 0.0 } else { rounded })
}

fn percent(share: f64) -> String {
    format!("{} %", decimals(100.0 * share, 1))
}

fn title(a: &BuyAnswer) -> String {
    let years = if a.life == 1 { "1 year".to_owned() } else { format!("{} years", a.life) };
    format!("{}: what to buy for {} jobs, at {} over {years}", a.shop, a.jobs, percent(a.discount))
}

fn outcome(a: &BuyAnswer) -> String {
    let within = a.budget.map(|b| format!(" within {} {}", whole(b), a.currency)).unwrap_or_default();
    let best = match a.pays() {
        true => format!("Buy {}{within}: worth {} {} now.", a.buy.join(" and "), whole(a.buy_npv), a.currency),
        false => format!("Buy nothing{within}: nothing here pays."),
    };
    let short = a.npv_at_most - a.buy_npv;
    let proof = match short {
        s if s < 0.5 => " No set of these is worth more: that is proven.".to_owned(),
        s => format!(
            " No set of these is worth more than {}: that is proven, and leaves {} open.",
            whole(a.npv_at_most),
            whole(s)
        ),
    };
    let booked = a.close.iter().find(|c| c.what == a.buy).and_then(|c| c.sure.first()).filter(|s| s.npv <= 0.0);
    let booked = booked.map(|s| format!(" With the booked jobs alone it does not pay: {}.", whole(s.npv)));
    unbroken(&format!("{best}{}{proof}", booked.unwrap_or_default()))
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
            said.push("the best: what is bought is compared with it".to_owned());
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

fn redundancy(a: &BuyAnswer) -> String {
    format!("{} of what comes in one machine alone can make.", percent(a.on_one))
}

fn sets(sets: &[SetAnswer], style: Style) -> String {
    let mut table = text::table(style);
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
    for s in sets {
        let irr: Vec<String> = s.irr.iter().map(|r| percent(*r)).collect();
        let said = match (s.pays, s.within_budget) {
            (true, true) => "yes",
            (true, false) => "too dear",
            (false, _) => "no",
        };
        table.add_row(vec![
            Cell::new(s.what.join(" + ")),
            number(whole(s.price)),
            number(whole(s.gain)),
            number(whole(s.npv)),
            number(if irr.is_empty() { "-".to_owned() } else { irr.join(", ") }),
            number(s.payback.map_or_else(|| "never".to_owned(), |p| format!("{} y", decimals(p, 1)))),
            number(s.stops_paying_at.map_or_else(|| "-".to_owned(), whole)),
            Cell::new(said),
        ]);
    }
    for (i, column) in table.column_iter_mut().enumerate() {
        column.set_constraint(match i {
            0 => ColumnConstraint::LowerBoundary(Width::Fixed(12)),
            _ => ColumnConstraint::ContentWidth,
        });
    }
    text::drawn(&table)
}

fn closely(a: &BuyAnswer, c: &CloseAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold(&c.what.join(" and ")));
    for words in told(a, c) {
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
        let words = format!(
            "Over {} draws of volumes and prices (seed {}) the NPV lies between {} and {} in eight of ten, {} in the middle; \
             it pays in {} of them.",
            d.draws,
            d.seed,
            whole(d.npv_10),
            whole(d.npv_90),
            whole(d.npv_50),
            percent(d.pays)
        );
        out.push_str(&format!("\n{}\n", wrapped(&unbroken(&words), width, "")));
    }
    for s in &c.stairs {
        out.push_str(&format!("\n{}", stairs(s, style)));
    }
    out.trim_end().to_owned()
}

fn told(a: &BuyAnswer, c: &CloseAnswer) -> Vec<String> {
    let mut told = Vec::new();
    if c.variant != a.best_without {
        told.push(format!("the best way to run the shop with it: {}", c.variant.words()));
    }
    if !c.newly_possible.is_empty() {
        told.push(format!("newly possible: {}", c.newly_possible.join(", ")));
    }
    for h in &c.brought_home {
        told.push(format!(
            "brought home: {} {} a year that are bought for {} {}",
            whole(h.pieces),
            h.job,
            whole(h.bought_for),
            a.currency
        ));
    }
    if let (Some(hours), Some(used)) = (c.hours, c.used) {
        told.push(format!(
            "it runs {} hours, {} of what it has; {} of them other machines ran before",
            whole(hours),
            percent(used),
            whole(c.moved)
        ));
    }
    if !c.freed.is_empty() {
        let freed: Vec<String> = c.freed.iter().map(|(m, h)| format!("{} h on {m}", whole(*h))).collect();
        told.push(format!("freed, and worth nothing unless work fills them: {}", freed.join(", ")));
    }
    let saved = c.setting_before - c.setting_now;
    if c.setting_before.round() != c.setting_now.round() {
        let word = if saved > 0.0 { "fewer" } else { "more" };
        let words = format!("hours at the setting for the same jobs: {} instead of", whole(c.setting_now));
        told.push(format!("{words} {}, {} {word}", whole(c.setting_before), whole(saved.abs())));
    }
    if !c.payers.is_empty() {
        let payer = |p: &super::PayerAnswer| {
            let whose = p.customer.as_ref().map(|c| format!(", {c}")).unwrap_or_default();
            format!("{} {} ({}{whose})", p.job, whole(p.gain), p.chance.word())
        };
        let payers: Vec<String> = c.payers.iter().map(payer).collect();
        told.push(format!("the jobs that pay for it, {} a year: {}", a.currency, payers.join(", ")));
    }
    if (c.on_one_before - c.on_one_now).abs() >= 0.0005 {
        told.push(format!(
            "one machine alone can make {} of what comes in, {} without it",
            percent(c.on_one_now),
            percent(c.on_one_before)
        ));
    }
    if c.ceiling <= 0.0 {
        told.push(format!(
            "paid outright it cannot pay: even with hours without end on every machine it is worth no more than {} {}, proven",
            whole(c.ceiling),
            a.currency
        ));
    }
    told
}

fn sure(c: &CloseAnswer, style: Style) -> String {
    let mut table = text::table(style);
    table.set_header(vec![head("jobs", false), head("", true), head("a year", true), head("NPV", true)]);
    for s in &c.sure {
        let words = match s.chance.word() {
            "booked" => "booked",
            "likely" => "booked and likely",
            _ => "all",
        };
        table.add_row(vec![Cell::new(words), number(s.jobs), number(whole(s.gain)), number(whole(s.npv))]);
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
        let irr: Vec<String> = w.irr.iter().map(|r| percent(*r)).collect();
        let irr = if irr.is_empty() { "-".to_owned() } else { irr.join(", ") };
        table.add_row(vec![Cell::new(w.paid), number(whole(w.at_once)), number(whole(w.npv)), number(irr)]);
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
    let title = match s.capability {
        Capability::Bar => "What the bar size is worth, more left over a year",
        Capability::LivePlaces => "What the live places are worth",
        Capability::Tilt => "What the tilt is worth",
        Capability::Pockets => "What the pockets are worth",
    };
    let mut out = format!("{title}\n");
    let first = s.steps.first().map(|f| f.figure);
    let level = s.steps.iter().all(|step| step.by.is_none());
    for step in &s.steps {
        if !(step.own || step.by.is_some() || !step.newly_able.is_empty() || Some(step.figure) == first) {
            continue;
        }
        let mut words = format!("{}: {}", s.capability.words(step.figure), whole(step.gain));
        if let Some((job, gained)) = &step.by {
            words.push_str(&format!(", by {job} ({} more)", whole(*gained)));
        }
        let able: Vec<&String> =
            step.newly_able.iter().filter(|j| step.by.as_ref().is_none_or(|b| b.0 != **j)).collect();
        if !able.is_empty() {
            let names: Vec<&str> = able.iter().map(|j| j.as_str()).collect();
            words.push_str(&format!(", from here it can make {}", names.join(", ")));
        }
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
