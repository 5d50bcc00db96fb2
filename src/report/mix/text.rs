//! A year's work for people.

use super::{JobAnswer, MadeAnswer, MixAnswer, OutAnswer, words};
use crate::quantity::print::thousands;
use crate::report::text::{self, Style, hanging, head, number, unbroken, wrapped};
use comfy_table::{Cell, ColumnConstraint, Width};

/// The answer for a terminal.
pub fn text(a: &MixAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold(&wrapped(&words::title(a), width, "")));
    out.push_str(&wrapped(&words::outcome(a), width, ""));
    out.push_str(&format!("\n\n{}\n", jobs(a, style)));
    out.push_str(&not_made(a, style));
    out.push_str(&format!("\n{}\n{}\n", style.bold("Hours"), hours(a, style)));
    for s in &a.setters {
        out.push_str(&wrapped(&words::setters(s, &a.currency), width, ""));
        out.push('\n');
    }
    if !a.sequence.is_empty() {
        out.push_str(&super::order::text(a, style));
    }
    out.push_str(&format!("\n{}\n", style.bold("Taken for granted")));
    for words in &a.assumptions {
        out.push_str(&hanging(" - ", "   ", words, width));
        out.push('\n');
    }
    out
}

fn jobs(a: &MixAnswer, style: Style) -> String {
    let mut table = text::table(style);
    let broad = style.width >= 110;
    let mut heads = vec![head("job", false), head("", false), head("pieces", true), head("lots", true)];
    if broad {
        heads.extend([head("cycle", true), head("setting", true)]);
    }
    heads.extend([head("hours", true), head("comes in", true), head("left over", true), head("made on", false)]);
    let figures = heads.len() - 1;
    table.set_header(heads);
    for job in &a.jobs {
        let units = |amount: f64| number(thousands(amount.round()));
        let hours = |f: fn(&MadeAnswer) -> f64| match job.made.is_empty() {
            true => number("-"),
            false => number(thousands(job.made.iter().map(f).sum::<f64>().round())),
        };
        let mut row = vec![
            Cell::new(&job.part),
            Cell::new(job.chance.word()),
            number(thousands(job.pieces as f64)),
            number(job.lots),
        ];
        if broad {
            let cycle = job.made.first().map_or_else(|| "-".to_owned(), |m| text::seconds(m.cycle_s));
            row.extend([number(cycle), hours(|m| m.setting)]);
        }
        row.extend([hours(|m| m.hours), units(job.revenue), units(job.left_over), Cell::new(words::made_on(job))]);
        table.add_row(row);
    }
    // What is no sentence stays in one piece; the place alone is broken where room is short.
    for (i, column) in table.column_iter_mut().enumerate() {
        column.set_constraint(match i < figures {
            true => ColumnConstraint::ContentWidth,
            false => ColumnConstraint::LowerBoundary(Width::Fixed(12)),
        });
    }
    text::drawn(&table)
}

fn not_made(a: &MixAnswer, style: Style) -> String {
    let outs: Vec<(&JobAnswer, &OutAnswer)> = a.jobs.iter().filter_map(|j| Some((j, j.out.as_ref()?))).collect();
    if outs.is_empty() {
        return String::new();
    }
    let width = usize::from(style.width);
    let mut out = format!("\n{}\n", style.bold("Not made here"));
    for (job, o) in outs {
        let words = format!("{}: {}", job.part, words::not_made_words(o, &a.currency));
        out.push_str(&hanging(" - ", "   ", &words, width));
        out.push('\n');
        for c in &o.cannot {
            let words = unbroken(&words::cannot_words(c));
            out.push_str(&hanging("     ", "     ", &words, width));
            out.push('\n');
        }
    }
    out
}

fn hours(a: &MixAnswer, style: Style) -> String {
    let mut table = text::table(style);
    table.set_header(vec![
        head("machine", false),
        head("hours", true),
        head("promised", true),
        head("cutting", true),
        head("setting", true),
        head("idle", true),
        head("used", true),
        head("an hour more brings", true),
    ]);
    for u in &a.units {
        let hours = |h: f64| number(thousands(h.round()));
        table.add_row(vec![
            Cell::new(words::unit(&u.machine, u.number, u.of)),
            hours(u.hours),
            hours(u.promised),
            hours(u.cutting),
            hours(u.setting),
            hours(u.idle),
            number(format!("{:.0} %", 100.0 * u.used)),
            number(if u.hour_brings < 0.5 {
                String::new()
            } else {
                format!("{} {}", thousands(u.hour_brings.round()), a.currency)
            }),
        ]);
    }
    text::drawn(&table)
}
