//! Every demand against every machine and mode: the margin, and the verdict by shape as well as by colour.

use super::{Case, Section, key, scrolled, sign};
use crate::matching::Verdict;
use crate::report::answer::{FigureAnswer, Reason, RowAnswer};
use maud::{Markup, html};

/// Columns of one table: more do not stand side by side on paper.
const COLUMNS: usize = 6;

/// A line of the table: a rule, and the feature that it asks about.
type Demand<'a> = (&'static str, Option<&'a str>);

pub(super) fn section(case: &Case) -> Option<Section> {
    let rows: Vec<(usize, &RowAnswer)> = case.answer.rows.iter().enumerate().map(|(i, r)| (i + 1, r)).collect();
    if rows.is_empty() {
        return None;
    }
    let body = html! {
        p class="legend" {
            @for v in [Verdict::Fits, Verdict::Warns, Verdict::NotStated, Verdict::Refused] { (super::verdict(v)) " " }
            span class="quiet" { "The figure is the margin between what is asked and what is offered; the sign tells the verdict." }
        }
        @for columns in rows.chunks(COLUMNS) {
            (scrolled("Margins", &table(columns)))
        }
    };
    Some(Section { key: "margins", title: "Margins, demand by demand", body })
}

fn table(columns: &[(usize, &RowAnswer)]) -> Markup {
    let mut demands: Vec<Demand> = Vec::new();
    for (_, row) in columns {
        for r in &row.reasons {
            let demand = (r.rule, r.feature.as_deref());
            if !demands.contains(&demand) {
                demands.push(demand);
            }
        }
    }
    // What decides anywhere stands before what fits everywhere.
    let decides = |d: &Demand| columns.iter().any(|(_, r)| found(r, d).is_some_and(|x| x.verdict != Verdict::Fits));
    let (deciding, fitting): (Vec<Demand>, Vec<Demand>) = demands.iter().partition(|d| decides(d));
    html! {
        table class="margins" {
            thead {
                tr {
                    td {}
                    @for (n, row) in columns {
                        th scope="col" {
                            span class="rank" { (n) } " " (row.machine) span class="under" { (row.mode) }
                        }
                    }
                }
            }
            @for (title, group) in [("Something decides", &deciding), ("Fits on all of these", &fitting)] {
                @if !group.is_empty() {
                    tbody {
                        tr class="group" { th colspan=(columns.len() + 1) scope="rowgroup" { (title) } }
                        @for d in group.iter() {
                            tr {
                                th scope="row" {
                                    (d.0) @if let Some(feature) = d.1 { " " span class="quiet name" { (feature) } }
                                }
                                @for (_, row) in columns { (cell(found(row, d))) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// All demands of a single row, the narrowest margin first: what is asked beside what is offered.
pub(super) fn of_one(row: &RowAnswer) -> Section {
    let share = |r: &Reason| {
        let margin = r.margin.as_ref().and_then(|m| m.value)?;
        r.asked.value.filter(|a| *a != 0.0).map(|a| margin / a.abs())
    };
    let mut reasons: Vec<&Reason> = row.reasons.iter().filter(|r| r.asked.value.is_some()).collect();
    reasons.sort_by(|a, b| {
        let narrow = |r: &Reason| share(r).unwrap_or(f64::MAX);
        b.verdict.cmp(&a.verdict).then(narrow(a).total_cmp(&narrow(b)))
    });
    let table = html! {
        table class="margins-of-one" {
            thead {
                tr {
                    th { "Demand" }
                    th { "On" }
                    th class="number" { "Asked" }
                    th class="number" { "Offered" }
                    th class="number" { "Margin" }
                }
            }
            tbody {
                @for r in &reasons {
                    tr {
                        th scope="row" { (sign(r.verdict)) " " (r.rule) }
                        td { @if let Some(f) = &r.feature { span class="name" { (f) } } }
                        td class="number" { (r.asked.text) }
                        td class="number" { (r.offered.text) }
                        td class="number" { @if let Some(m) = &r.margin { (signed(m)) } }
                    }
                }
            }
        }
    };
    let body = html! {
        p class="legend" {
            @for v in [Verdict::Fits, Verdict::Warns, Verdict::NotStated, Verdict::Refused] { (super::verdict(v)) " " }
            span class="quiet" { "The narrowest margin stands first." }
        }
        (scrolled("Margins", &table))
    };
    Section { key: "margins", title: "Margins, demand by demand", body }
}

/// A margin with its sign; nothing where it is no number.
fn signed(margin: &FigureAnswer) -> String {
    let plus = if margin.value.is_some_and(|v| v > 0.0) { "+" } else { "" };
    margin.value.map_or_else(String::new, |_| format!("{plus}{}", margin.text.replace('-', "−")))
}

/// The worst finding of a demand in a row.
fn found<'a>(row: &'a RowAnswer, (rule, feature): &Demand) -> Option<&'a Reason> {
    let all = row.reasons.iter().filter(|r| r.rule == *rule && r.feature.as_deref() == *feature);
    let margin = |r: &Reason| r.margin.as_ref().and_then(|m| m.value).unwrap_or(f64::MAX);
    all.min_by(|a, b| b.verdict.cmp(&a.verdict).then(margin(a).total_cmp(&margin(b))))
}

fn cell(reason: Option<&Reason>) -> Markup {
    let Some(r) = reason else {
        return html! { td class="none" { span aria-label="not asked" { "·" } } };
    };
    let margin = r.margin.as_ref().filter(|m| m.value.is_some()).map(signed);
    html! {
        td class=(key(r.verdict)) title=(r.reason.replace('`', "")) {
            (sign(r.verdict)) @if let Some(margin) = margin { " " (margin) }
        }
    }
}
