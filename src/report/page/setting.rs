//! The setup line by line, and how each bar is used.

use super::{Case, Section, named, prose};
use crate::model::part::Part;
use crate::quantity::print::number;
use crate::report::answer::{RowAnswer, SetupLine};
use crate::report::svg::Canvas;
use crate::report::text::{grams, minutes, weeks};
use maud::{Markup, PreEscaped, html};

pub(super) fn setup(case: &Case) -> Option<Section> {
    let possible = case.possible();
    let (n, row) = possible.first()?;
    let body = html! {
        p {
            "Row " (n) ", " (named(row)) ", from what is on the machine now: " (minutes(row.setup_min)) "."
            @if row.mode_change_min > 0.0 { " Changing its mode takes " (minutes(row.mode_change_min)) " of that." }
        }
        (steps(&row.setup, &row.off_machine, row.setup_min, Some((row.setup_low_min, row.setup_high_min))))
        @if possible.len() > 1 {
            p class="quiet" {
                "The others: "
                @for (i, (n, r)) in possible.iter().skip(1).enumerate() {
                    @if i > 0 { "; " }
                    "row " (n) ", " (named(r)) ", " (minutes(r.setup_min))
                }
                "."
            }
        }
    };
    Some(Section { key: "setup", title: "Setup", body })
}

/// The setup of a job that is looked at by itself.
pub(super) fn of_one(row: &RowAnswer) -> Section {
    let body = html! {
        p { "From what is on the machine now." }
        (steps(&row.setup, &row.off_machine, row.setup_min, Some((row.setup_low_min, row.setup_high_min))))
    };
    Section { key: "setup", title: "Setup", body }
}

/// The steps of a setup with their sum and its range, then what is done beside the machine.
pub(super) fn steps(on: &[SetupLine], beside: &[SetupLine], total: f64, range: Option<(f64, f64)>) -> Markup {
    html! {
        @if on.is_empty() { p { "Nothing to change: the job stands there as it is planned." } }
        table class="setup" {
            thead { tr { th { "Step" } th class="number" { "Time" } th { "Why" } } }
            tbody {
                @for line in on { (step(line)) }
            }
            tbody class="sum" {
                tr {
                    th scope="row" { "Setup" }
                    td class="number" { (minutes(total)) }
                    td { @if let Some((low, high)) = range { (minutes(low)) " to " (minutes(high)) " by the ranges of the tables" } }
                }
            }
            @if !beside.is_empty() {
                tbody {
                    tr class="group" { th colspan="3" scope="rowgroup" { "Beside the machine" } }
                    @for line in beside { (step(line)) }
                }
            }
        }
    }
}

fn step(line: &SetupLine) -> Markup {
    html! {
        tr {
            th scope="row" { (prose(&line.what)) }
            td class="number" { (line.weeks.map_or_else(|| minutes(line.minutes), weeks)) }
            td { (prose(&line.reason)) }
        }
    }
}

/// A bar as it is used: metres of pieces, of cut-off and facing, and of remnant.
struct Use {
    pieces: f64,
    between: f64,
    remnant: f64,
}

fn used(row: &RowAnswer, length_mm: f64) -> Use {
    let s = &row.stock;
    let pieces = f64::from(s.pieces_per_bar) * length_mm;
    let between = (s.bar_length_mm - s.remnant_mm - pieces).max(0.0);
    Use { pieces, between, remnant: s.remnant_mm }
}

pub(super) fn bars(case: &Case) -> Option<Section> {
    let possible = case.possible();
    if possible.is_empty() {
        return None;
    }
    let length = case.part.length.nominal.to_mm();
    let body = html! {
        table class="bars stack" {
            thead {
                tr {
                    th class="number" { "#" }
                    th { "Machine" }
                    th { "Bar to buy" }
                    th class="number" { "Pieces a bar" }
                    th class="number" { "A piece" }
                    th { "Of each bar" }
                }
            }
            tbody {
                @for (n, row) in &possible {
                    @let u = used(row, length);
                    tr {
                        td class="number rank" { (n) }
                        th scope="row" class="machine" { (named(row)) }
                        td data-label="Bar to buy" { (row.stock.text) ", " (row.stock.supply()) }
                        td class="number" data-label="Pieces a bar" { (row.stock.pieces_per_bar) }
                        td class="number" data-label="A piece" { (grams(row.stock.kg_per_piece)) }
                        td class="strip" data-label="Of each bar" { (of_bar(&u, &format!("{}-bar-{n}", case.part.name))) }
                    }
                }
            }
        }
    };
    Some(Section { key: "bars", title: "Bar", body })
}

/// The bar of a job that is looked at by itself.
pub(super) fn bar_of_one(row: &RowAnswer, part: &Part) -> Section {
    let stock = &row.stock;
    let body = html! {
        p {
            (stock.text) ", " (stock.supply()) ": " (stock.pieces_per_bar) " pieces a " (stock.unit()) ", "
            (grams(stock.kg_per_piece)) " a piece."
        }
        (of_bar(&used(row, part.length.nominal.to_mm()), &format!("{}-bar", part.name)))
    };
    Section { key: "bars", title: "Bar", body }
}

/// A bar as a strip with its shares in words.
fn of_bar(u: &Use, id: &str) -> Markup {
    html! {
        (strip(u, id))
        span class="under" {
            (share(u.pieces, u)) " % pieces, " (share(u.between, u)) " % cut-off and ends, "
            (share(u.remnant, u)) " % remnant (" (number(u.remnant, 0)) " mm)"
        }
    }
}

fn share(of: f64, u: &Use) -> String {
    let whole = u.pieces + u.between + u.remnant;
    number(if whole > 0.0 { of / whole * 100.0 } else { 0.0 }, 1)
}

fn strip(u: &Use, id: &str) -> Markup {
    let whole = (u.pieces + u.between + u.remnant).max(1e-9);
    let mut c = Canvas::default();
    let mut x = 0.0;
    for (class, length) in [("strip-pieces", u.pieces), ("strip-between", u.between), ("strip-remnant", u.remnant)] {
        let w = length / whole * 60.0;
        if w > 0.0 {
            c.rect(class, (x, 0.5), (w, 4.0));
        }
        x += w;
    }
    c.rect("strip-frame", (0.0, 0.5), (60.0, 4.0));
    let words = format!("{} % pieces, {} % remnant", share(u.pieces, u), share(u.remnant, u));
    PreEscaped(c.finish("strip", (60.0, 5.0), id, ("How a bar is used", &words)))
}
