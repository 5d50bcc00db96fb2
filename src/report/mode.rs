//! The modes of one machine side by side, for the planner.

use super::answer::{RankAnswer, RowAnswer};
use super::text::{self, Style, grams, head, minutes, money, number, seconds, sentence, wrapped};
use crate::matching::Verdict;
use crate::quantity::print;
use comfy_table::Cell;

/// A fact of the comparison: its name, and what it is for a row.
pub(super) type Line = (&'static str, fn(&RowAnswer) -> String);

/// The tightest capability of a row, as `1.41 at land-1`.
fn capability(row: &RowAnswer) -> String {
    row.reasons
        .iter()
        .filter(|r| r.rule == "capability")
        .filter_map(|r| r.offered.value.map(|v| (v, r)))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or_else(|| "not stated".to_owned(), |(v, r)| format!("{v:.2} at {}", r.feature.as_deref().unwrap_or("")))
}

/// What a rule offers of what is asked, nearest to refusal first.
fn offered(row: &RowAnswer, rule: &str) -> Option<String> {
    let found = row.reasons.iter().find(|r| r.rule == rule)?;
    Some(format!("{} of {}", found.offered.text, found.asked.text))
}

/// What the plan leaves of what the drawing asks, or what the mode states where it asks nothing.
fn figure(row: &RowAnswer, rule: &str, stated_um: Option<f64>) -> String {
    let own = || stated_um.map_or_else(|| "not stated".to_owned(), |um| format!("{} um", print::number(um, 1)));
    offered(row, rule).unwrap_or_else(own)
}

/// How far the piece stands out, of how far it may.
fn stand_out(row: &RowAnswer) -> String {
    let found = row.reasons.iter().find(|r| r.rule == "stand-out");
    found.map_or_else(String::new, |r| format!("{} of {}", r.asked.text, r.offered.text))
}

pub(super) const LINES: &[Line] = &[
    ("verdict", |r| r.verdict.word().to_owned()),
    ("made first", |r| r.first_end.to_owned()),
    ("length / diameter", |r| format!("{:.1}", r.slenderness)),
    ("least Cp with deflection", capability),
    ("stock to buy", |r| r.stock.text.clone()),
    ("pieces a bar", |r| r.stock.pieces_per_bar.to_string()),
    ("remnant", |r| format!("{:.0} mm", r.stock.remnant_mm)),
    ("bar a piece", |r| grams(r.stock.kg_per_piece)),
    ("roundness", |r| figure(r, "roundness", r.mode_roundness_um)),
    ("runout", |r| figure(r, "runout", r.mode_runout_um)),
    ("stands out, of", stand_out),
    ("mode change from now", |r| minutes(r.mode_change_min)),
    ("setup", |r| minutes(r.setup_min)),
    ("cycle", |r| seconds(r.cycle.total_s)),
];

/// The modes of a machine side by side as text.
pub fn text(answer: &RankAnswer, machine: &str, style: Style) -> String {
    let rows: Vec<&RowAnswer> = answer.rows.iter().filter(|r| r.machine == machine).collect();
    let mut out = format!("{}\n\n", style.bold(&format!("{} on {machine}: its modes side by side", answer.part)));
    let mut table = text::table(style);
    let mut titles = vec![head("", false)];
    titles.extend(rows.iter().map(|r| head(r.mode, true)));
    table.set_header(titles);
    for (name, value) in LINES {
        let mut cells = vec![Cell::new(name)];
        cells.extend(rows.iter().map(|r| number(value(r))));
        table.add_row(cells);
    }
    let quantities: Vec<u64> = rows.first().map(|r| r.costs.iter().map(|c| c.quantity).collect()).unwrap_or_default();
    for q in quantities {
        let count = print::thousands(q as f64);
        let mut cells = vec![Cell::new(format!("{} a piece at {count}", answer.currency))];
        cells.extend(rows.iter().map(|r| {
            let cost = r.costs.iter().find(|c| c.quantity == q);
            number(cost.map_or_else(String::new, |c| money(c.cost)))
        }));
        table.add_row(cells);
    }
    out.push_str(&text::drawn(&table));
    out.push('\n');
    for words in break_evens(&rows) {
        out.push_str(&format!("\n{words}\n"));
    }
    if let Some(words) = preference(&rows, &answer.currency) {
        out.push_str(&format!("\n{}\n", wrapped(&words, style.width.into(), "")));
    }
    for row in &rows {
        out.push_str(&format!("\n{} {}\n", style.bold(&format!("{}:", row.mode)), style.verdict(row.verdict)));
        let told = row.reasons.iter().filter(|r| {
            let compares =
                ["capability", "roundness", "runout", "slenderness", "stock-grade", "bar-range", "stand-out"];
            r.verdict != Verdict::Fits || compares.contains(&r.rule)
        });
        for r in told {
            let remedy = r.remedy.as_ref().map(|m| format!(" → {m}")).unwrap_or_default();
            let words = format!("{} ({}): {}{remedy}", r.rule, r.verdict.word(), r.reason);
            out.push_str(&wrapped(&words, style.width.into(), "  "));
            out.push('\n');
        }
    }
    out.push_str(&super::rank::closing(answer, style));
    out
}

/// Why the first row stands before the second: stock, remnant and runout, as far as they differ.
pub(super) fn preference(rows: &[&RowAnswer], currency: &str) -> Option<String> {
    let possible: Vec<&&RowAnswer> = rows.iter().filter(|r| r.verdict != Verdict::Refused).collect();
    let (first, second) = match possible.as_slice() {
        [a, b, ..] if a.cost.cost <= b.cost.cost => (a, b),
        [a, b, ..] => (b, a),
        _ => return None,
    };
    let mut why = Vec::new();
    if first.stock.text != second.stock.text {
        why.push(format!("it takes {} bar instead of {}", first.stock.text, second.stock.text));
    }
    if first.stock.remnant_mm < second.stock.remnant_mm {
        why.push(format!(
            "it leaves {:.0} mm of each bar instead of {:.0} mm ({} a piece instead of {})",
            first.stock.remnant_mm,
            second.stock.remnant_mm,
            grams(first.stock.kg_per_piece),
            grams(second.stock.kg_per_piece)
        ));
    }
    if let (Some(a), Some(b)) = (first.mode_runout_um, second.mode_runout_um)
        && a < b
    {
        why.push(format!("it runs true to {} um instead of {} um", print::number(a, 1), print::number(b, 1)));
    }
    if first.cycle.total_s < second.cycle.total_s {
        why.push(format!("its cycle is {} instead of {}", seconds(first.cycle.total_s), seconds(second.cycle.total_s)));
    }
    if first.setup_min < second.setup_min {
        why.push(format!("its setup is {} instead of {}", minutes(first.setup_min), minutes(second.setup_min)));
    }
    let at = print::thousands(first.cost.quantity as f64);
    let mut words = format!(
        "At {at} pieces {} comes before {}, {} instead of {} {currency} a piece",
        first.mode,
        second.mode,
        money(first.cost.cost),
        money(second.cost.cost)
    );
    if !why.is_empty() {
        words.push_str(&format!(": {}", why.join("; ")));
    }
    Some(words + ".")
}

/// From which quantity which mode is cheaper.
pub(super) fn break_evens(rows: &[&RowAnswer]) -> Vec<String> {
    let mut out = Vec::new();
    for (i, a) in rows.iter().enumerate() {
        for b in rows.iter().skip(i + 1) {
            if a.verdict == Verdict::Refused || b.verdict == Verdict::Refused {
                continue;
            }
            let words = match break_even(a, b) {
                Some((q, cheaper)) => {
                    format!("from {} pieces {} costs less", print::thousands(q.ceil()), cheaper.mode)
                }
                None if a.cost.cost <= b.cost.cost => {
                    format!("{} costs less than {} at every quantity", a.mode, b.mode)
                }
                None => format!("{} costs less than {} at every quantity", b.mode, a.mode),
            };
            out.push(format!("{}.", sentence(&words)));
        }
    }
    out
}

/// The quantity from which one of two rows costs less, and that row.
fn break_even<'a>(a: &'a RowAnswer, b: &'a RowAnswer) -> Option<(f64, &'a RowAnswer)> {
    let cheaper = if a.cost.each() < b.cost.each() { a } else { b };
    a.cost.even_with(&b.cost).map(|quantity| (quantity, cheaper))
}
