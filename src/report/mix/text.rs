//! A year's work for people.

use super::{JobAnswer, MadeAnswer, MixAnswer, OutAnswer, SetterAnswer};
use crate::fleet::mix::Fate;
use crate::quantity::print::{number as decimals, thousands};
use crate::report::text::{self, Style, hanging, head, number, unbroken, wrapped};
use comfy_table::{Cell, ColumnConstraint, Width};

/// The answer for a terminal.
pub fn text(a: &MixAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("{}\n", style.bold(&wrapped(&title(a), width, "")));
    out.push_str(&wrapped(&outcome(a), width, ""));
    out.push_str(&format!("\n\n{}\n", jobs(a, style)));
    out.push_str(&not_made(a, style));
    out.push_str(&format!("\n{}\n{}\n", style.bold("Hours"), hours(a, style)));
    for s in &a.setters {
        out.push_str(&wrapped(&setters(s, &a.currency), width, ""));
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

fn title(a: &MixAnswer) -> String {
    let years = if a.years == 1.0 { "a year".to_owned() } else { format!("{} years", decimals(a.years, 2)) };
    format!("{}: {} jobs over {years}", a.shop, a.jobs.len())
}

fn outcome(a: &MixAnswer) -> String {
    let units = |amount: f64| thousands(amount.round());
    let count = |f: &dyn Fn(&JobAnswer) -> bool| a.jobs.iter().filter(|j| f(j)).count();
    let fate = |fate: Fate| count(&|j| j.out.as_ref().is_some_and(|o| o.fate == fate));
    let mut words = format!("{} made here", count(&|j| j.out.is_none()));
    for (kind, said) in
        [(Fate::BoughtOut, "bought out"), (Fate::Lost, "lost"), (Fate::Unmet, "that must be made and cannot")]
    {
        if fate(kind) > 0 {
            words.push_str(&format!(", {} {said}", fate(kind)));
        }
    }
    words.push_str(&format!(
        ". Of {} {} that come in {} go out of pocket and {} are left over; at the full hour rates what is made here costs {}.",
        units(a.revenue),
        a.currency,
        units(a.cash),
        units(a.left_over),
        units(a.full)
    ));
    match a.most {
        Some(most) if most - a.left_over < 0.005 => words.push_str(" No plan leaves more over: that is proven."),
        Some(most) => {
            let short = 100.0 * (most - a.left_over) / most.abs().max(1.0);
            let short =
                if short < 0.01 { "less than 0.01".to_owned() } else { format!("at most {}", decimals(short, 2)) };
            words.push_str(&format!(
                " No plan leaves more than {} over: that is proven, and this one is {short} % short of it ({}).",
                units(most),
                a.stopped
            ));
        }
        None => words.push_str(" What must be made and cannot stands below: there is no plan that makes all of it."),
    }
    unbroken(&words)
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
        row.extend([hours(|m| m.hours), units(job.revenue), units(job.left_over), Cell::new(made_on(job))]);
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

fn made_on(job: &JobAnswer) -> String {
    let several = job.made.len() > 1;
    let of = |m: &MadeAnswer| {
        let lots = if several { format!(", {}", lots(m.lots)) } else { String::new() };
        format!("{}, {}{lots}", unit(&m.machine, m.number, m.of), m.mode)
    };
    let mut places: Vec<String> = job.made.iter().map(of).collect();
    places.extend(job.out.as_ref().map(|o| {
        let lots = if job.made.is_empty() { String::new() } else { format!(", {}", lots(o.lots)) };
        format!("{}{lots}", fate(o.fate))
    }));
    places.join("; ")
}

fn lots(count: usize) -> String {
    if count == 1 { "1 lot".to_owned() } else { format!("{count} lots") }
}

pub(super) fn unit(machine: &str, number: usize, of: usize) -> String {
    if of > 1 { format!("{machine} no {number}") } else { machine.to_owned() }
}

fn fate(fate: Fate) -> &'static str {
    match fate {
        Fate::BoughtOut => "bought out",
        Fate::Lost => "lost",
        Fate::Unmet => "not made",
    }
}

fn not_made(a: &MixAnswer, style: Style) -> String {
    let outs: Vec<(&JobAnswer, &OutAnswer)> = a.jobs.iter().filter_map(|j| Some((j, j.out.as_ref()?))).collect();
    if outs.is_empty() {
        return String::new();
    }
    let width = usize::from(style.width);
    let mut out = format!("\n{}\n", style.bold("Not made here"));
    for (job, o) in outs {
        let cost = match o.fate {
            Fate::BoughtOut => format!(" for {} {}", thousands(o.cost.round()), a.currency),
            _ => String::new(),
        };
        let words = format!("{}: {} pieces {}{cost}; {}", job.part, thousands(o.pieces as f64), fate(o.fate), o.why);
        out.push_str(&hanging(" - ", "   ", &words, width));
        out.push('\n');
        for c in &o.cannot {
            let with = match c.with.is_empty() {
                true => String::new(),
                false => format!(" (lifted by buying {})", c.with.join(" and ")),
            };
            let words = unbroken(&format!("{}, {}: {}{with}", c.machine, c.mode, c.reason));
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
    ]);
    for u in &a.units {
        let hours = |h: f64| number(thousands(h.round()));
        table.add_row(vec![
            Cell::new(unit(&u.machine, u.number, u.of)),
            hours(u.hours),
            hours(u.promised),
            hours(u.cutting),
            hours(u.setting),
            hours(u.idle),
            number(format!("{:.0} %", 100.0 * u.used)),
        ]);
    }
    text::drawn(&table)
}

fn setters(s: &SetterAnswer, currency: &str) -> String {
    let whom = match &s.machine {
        Some(machine) if s.setters == 1 => format!("On {machine} the one setter who can set it"),
        Some(machine) => format!("On {machine} the {} setters who can set it", s.setters),
        None if s.setters == 1 => "The one setter".to_owned(),
        None => format!("The {} setters", s.setters),
    };
    let worth = match s.hour_brings {
        w if w < 0.5 => "one more hour would bring nothing".to_owned(),
        w => format!("one more hour would bring about {} {currency}", thousands(w.round())),
    };
    unbroken(&format!(
        "{whom}: {} of {} hours at the setting; {worth}.",
        thousands(s.setting.round()),
        thousands(s.hours.round())
    ))
}
