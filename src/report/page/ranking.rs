//! The ranking as a table, the reasons of each row, and refusals with what would turn them round.

use super::{Case, Section, bought, named, prose, sign, verdict};
use crate::matching::{Standing, Verdict};
use crate::quantity::print::{number, thousands};
use crate::report::answer::{Reason, RowAnswer};
use crate::report::mode::{LINES, break_evens, preference};
use crate::report::rank::nearest;
use crate::report::text::{grams, minutes, money, seconds, sentence};
use maud::{Markup, html};

/// The groups of the ranking, in order.
const GROUPS: &[(Standing, &str)] = &[
    (Standing::Owned, "With what the shop owns"),
    (Standing::NotStated, "Not stated: the machine spec leaves something unsaid that decides"),
    (Standing::WithPurchase, "Only with attachments to buy"),
];

pub(super) fn table(case: &Case) -> Option<Section> {
    let a = case.answer;
    let possible = case.possible();
    let (_, first) = possible.first()?;
    let quantities: Vec<u64> = first.costs.iter().map(|c| c.quantity).collect();
    let body = html! {
        table class="ranking stack" {
            thead {
                tr {
                    th class="number" { "#" }
                    th { "Machine" }
                    th { "Mode" }
                    th { "First end" }
                    th class="number" { "Setup" }
                    th class="number" { "Cycle" }
                    @for q in &quantities {
                        th class={ "number" @if *q == a.quantity { " asked" } } { (a.currency) " at " (thousands(*q as f64)) }
                    }
                    th { "Verdict" }
                }
            }
            @for (standing, words) in GROUPS {
                @let rows: Vec<_> = possible.iter().filter(|(_, r)| r.standing == *standing).collect();
                @if !rows.is_empty() {
                    tbody {
                        tr class="group" { th colspan=(7 + quantities.len()) scope="rowgroup" { (words) } }
                        @for (n, row) in rows { (ranked(*n, row, case, &quantities)) }
                    }
                }
            }
        }
        @for run in alike(&possible).iter().filter(|run| run.len() > 1) {
            p class="quiet" {
                "Rows " (listed(run)) " cannot be told apart at " (thousands(a.quantity as f64))
                ": each differs from the one above it by less than the estimates are good for."
            }
        }
    };
    Some(Section { key: "rows", title: "What can make it", body })
}

/// Rows that follow each other and cannot be told apart by their cost.
fn alike(rows: &[(usize, &RowAnswer)]) -> Vec<Vec<usize>> {
    let mut runs: Vec<Vec<usize>> = Vec::new();
    for (n, row) in rows {
        match runs.last_mut() {
            Some(run) if row.like_the_row_above => run.push(*n),
            _ => runs.push(vec![*n]),
        }
    }
    runs
}

/// `1, 2 and 3`.
fn listed(numbers: &[usize]) -> String {
    let words: Vec<String> = numbers.iter().map(usize::to_string).collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

fn ranked(n: usize, row: &RowAnswer, case: &Case, quantities: &[u64]) -> Markup {
    html! {
        tr {
            td class="number rank" { (n) }
            th scope="row" class="machine" {
                (row.machine) span class="under" { (row.machine_title) }
                @if !row.purchases.is_empty() {
                    span class="under buy" { "to buy: " (bought(row, &case.answer.currency)) }
                }
            }
            td data-label="Mode" { (row.mode) }
            td data-label="First end" { (row.first_end) }
            td class="number" data-label="Setup" { (minutes(row.setup_min)) }
            td class="number" data-label="Cycle" { (seconds(row.cycle.total_s)) }
            @for q in quantities {
                @let label = format!("{} at {}", case.answer.currency, thousands(*q as f64));
                td class={ "number" @if *q == case.answer.quantity { " asked" } } data-label=(label) {
                    (row.costs.iter().find(|c| c.quantity == *q).map_or_else(String::new, |c| money(c.cost)))
                }
            }
            td data-label="Verdict" { (verdict(row.verdict)) }
        }
    }
}

/// The facts of `mode`, each mode a column.
pub(super) fn modes(case: &Case) -> Option<Section> {
    let a = case.answer;
    let rows: Vec<&RowAnswer> = a.rows.iter().collect();
    let quantities: Vec<u64> = rows.first()?.costs.iter().map(|c| c.quantity).collect();
    let table = html! {
        table class="modes" {
            thead {
                tr { td {} @for (i, row) in rows.iter().enumerate() { th scope="col" { span class="rank" { (i + 1) } " " (row.mode) } } }
            }
            tbody {
                @for (name, value) in LINES {
                    tr {
                        th scope="row" { (name) }
                        @for row in &rows {
                            td { @if *name == "verdict" { (verdict(row.verdict)) } @else { (prose(&value(row))) } }
                        }
                    }
                }
                @for q in &quantities {
                    tr {
                        th scope="row" { (a.currency) " a piece at " (thousands(*q as f64)) }
                        @for row in &rows {
                            td { (row.costs.iter().find(|c| c.quantity == *q).map_or_else(String::new, |c| money(c.cost))) }
                        }
                    }
                }
            }
        }
    };
    let body = html! {
        (super::scrolled("The modes side by side", &table))
        @for words in break_evens(&rows) { p { (words) } }
        @if let Some(words) = preference(&rows, &a.currency) { p { (prose(&words)) } }
    };
    Some(Section { key: "rows", title: "The modes side by side", body })
}

pub(super) fn reasons(case: &Case) -> Option<Section> {
    let possible = case.possible();
    if possible.is_empty() {
        return None;
    }
    let body = html! {
        @for (n, row) in &possible {
            div class="of-row" {
                h3 { span class="rank" { (n) } " " (named(row)) " " (verdict(row.verdict)) }
                p class="facts-line" { (sentence(&facts(row, &case.answer.currency))) "." }
                @if !row.purchases.is_empty() {
                    p {
                        "To buy: " (bought(row, &case.answer.currency)) "."
                        @if let Some(without) = row.without_purchase.first() { " Without it: " (prose(&without.reason)) "." }
                    }
                }
                @if let Some(other) = &row.other_end {
                    p {
                        @match &other.reason {
                            Some(reason) => { "The " (other.end) " end first is refused: " (prose(reason)) "." }
                            None => {
                                "The " (other.end) " end first: cycle " (seconds(other.cycle_s)) ", " (money(other.cost)) " "
                                (case.answer.currency) " a piece" (other.with_collet()) "."
                            }
                        }
                    }
                }
                (doubts(row))
            }
        }
    };
    Some(Section { key: "reasons", title: "Why: what warns, and the narrowest margins", body })
}

/// What speaks against a row, and its narrowest margins.
fn doubts(row: &RowAnswer) -> Markup {
    let told = row.reasons.iter().filter(|r| r.verdict != Verdict::Fits).chain(nearest(row));
    findings(told)
}

/// Findings as a list, those of one rule together.
pub(super) fn findings<'a>(told: impl Iterator<Item = &'a Reason>) -> Markup {
    html! { ul class="findings" { @for group in grouped(told) { (finding(&group)) } } }
}

/// The reasons of a row that is looked at by itself.
pub(super) fn of_one(row: &RowAnswer) -> Option<Section> {
    let title = if row.verdict == Verdict::Fits {
        "The narrowest margins"
    } else {
        "What speaks against it, and the narrowest margins"
    };
    (!row.reasons.is_empty()).then(|| Section { key: "reasons", title, body: doubts(row) })
}

fn facts(row: &RowAnswer, currency: &str) -> String {
    format!(
        "{} end first; {}, {} pieces from a {} m bar, {} a piece; cycle {} to {}, setup {} to {}, cost {} to {} {currency}",
        row.first_end,
        row.stock.text,
        row.stock.pieces_per_bar,
        number(row.stock.bar_length_mm / 1000.0, 2),
        grams(row.stock.kg_per_piece),
        seconds(row.cycle.low_s),
        seconds(row.cycle.high_s),
        minutes(row.setup_low_min),
        minutes(row.setup_high_min),
        money(row.cost_low),
        money(row.cost_high)
    )
}

/// Findings of one rule with one verdict together, the one with the least margin first: what is said of three lands is
/// said once.
fn grouped<'a>(reasons: impl Iterator<Item = &'a Reason>) -> Vec<Vec<&'a Reason>> {
    let mut groups: Vec<Vec<&Reason>> = Vec::new();
    for r in reasons {
        // Without a feature each finding is about something of its own.
        let same = |g: &&mut Vec<&Reason>| {
            r.feature.is_some() && g[0].feature.is_some() && g[0].rule == r.rule && g[0].verdict == r.verdict
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(r),
            None => groups.push(vec![r]),
        }
    }
    let margin = |r: &Reason| r.margin.as_ref().and_then(|m| m.value).unwrap_or(f64::MAX);
    for group in &mut groups {
        group.sort_by(|a, b| margin(a).total_cmp(&margin(b)));
    }
    groups
}

/// The others of a group: `land-2 (margin -4 um), land-3`.
fn likewise(others: &[&Reason]) -> String {
    let told = |r: &&Reason| {
        let margin = r.margin.as_ref().filter(|m| m.value.is_some());
        let margin = margin.map(|m| format!(" (margin {})", m.text)).unwrap_or_default();
        format!("`{}`{margin}", r.feature.as_deref().unwrap_or_default())
    };
    others.iter().map(told).collect::<Vec<_>>().join(", ")
}

fn finding(group: &[&Reason]) -> Markup {
    let [r, others @ ..] = group else { return html! {} };
    let figures = match (&r.asked.value, &r.offered.value) {
        (Some(_), Some(_)) => {
            let margin = r.margin.as_ref().map(|m| format!(", margin {}", m.text)).unwrap_or_default();
            format!("asked {}, offered {}{margin}", r.asked.text, r.offered.text)
        }
        _ => String::new(),
    };
    html! {
        li class={ "finding " (super::key(r.verdict)) } {
            (sign(r.verdict))
            p class="figures" { strong { (r.rule) } @if !figures.is_empty() { span class="under" { (figures) } } }
            div {
                p { (prose(&sentence(&r.reason))) "." }
                @if let Some(remedy) = &r.remedy { p class="remedy" { "Remedy: " (prose(remedy)) "." } }
                @if !others.is_empty() { p class="quiet" { "Likewise " (prose(&likewise(others))) "." } }
            }
        }
    }
}

pub(super) fn refusals(case: &Case) -> Option<Section> {
    let refused = case.refused();
    if refused.is_empty() {
        return None;
    }
    let body = html! {
        @for (n, row) in &refused {
            div class="of-row" {
                h3 { span class="rank" { (n) } " " (named(row)) " " (verdict(Verdict::Refused)) }
                @if row.beyond_purchase { p class="facts-line" { "Even with every attachment of its spec." } }
                (findings(row.reasons.iter().filter(|r| r.verdict == Verdict::Refused)))
            }
        }
    };
    Some(Section { key: "refusals", title: "What is refused, and what would turn it round", body })
}
