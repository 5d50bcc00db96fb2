//! The operation sheet for people. Times are printed in tenths of a second off one clock, so that the printed lines make the
//! printed cycle.

use super::{SheetAnswer, SheetLine, WorthAnswer, pages, timeline};
use crate::matching::Verdict;
use crate::quantity::print;
use crate::report::text::{self, Style, head, number, seconds, wrapped};
use comfy_table::Cell;

/// The whole sheet as text.
pub fn text(sheet: &SheetAnswer, style: Style) -> String {
    let mut out = String::new();
    let width = usize::from(style.width);
    let job = &sheet.job;
    let title = format!("{}: {}, {}", sheet.part, sheet.title, sheet.material);
    out.push_str(&style.bold(&wrapped(&title, width, "")));
    out.push('\n');
    let order = if sheet.repeat { "repeat order" } else { "first order" };
    let count = print::thousands(sheet.quantity as f64);
    let on = format!("{} ({}), {}; {order} of {count}, at {}", job.machine, job.machine_title, job.mode, sheet.shop);
    out.push_str(&wrapped(&on, width, ""));
    out.push('\n');
    out.push_str(&verdict(sheet, style));
    out.push_str(&facts(sheet, style));
    let clock = pages::clock(sheet);
    for (name, spindle) in [("Main spindle", "main"), ("Sub-spindle, the piece before", "sub")] {
        let lines: Vec<&SheetLine> = sheet.lines.iter().filter(|l| l.spindle == spindle).collect();
        if lines.is_empty() {
            continue;
        }
        out.push_str(&format!("\n{}\n", style.bold(name)));
        out.push_str(&operations(sheet, &lines, &clock, style));
    }
    out.push_str(&order_reasons(sheet, style));
    out.push_str(&format!("\n{}\n", style.bold("The cycle of a piece")));
    out.push_str(&cycle(sheet, &clock, style));
    out.push_str(&format!("\n{}\n", style.bold("Timeline")));
    out.push_str(&timeline::bars(sheet, style));
    out.push_str(&format!("\n{}\n", style.bold("Tools and places")));
    out.push_str(&places(sheet, style));
    out.push_str(&format!("\n{}\n", style.bold("Setup")));
    out.push_str(&setup(sheet, style));
    if !sheet.alternatives.is_empty() {
        out.push_str(&format!("\n{}\n", style.bold("Other ways")));
        out.push_str(&alternatives(sheet, style));
    }
    for worth in &sheet.worth {
        out.push_str(&format!("\n{}\n", style.bold(&format!("Without and with `{}`", worth.option))));
        out.push_str(&worth_text(worth, sheet, style));
    }
    out.push_str(&remarks(sheet, style));
    out.push_str(&closing(sheet, style));
    out
}

/// Whether it can be made so, and what speaks against it.
fn verdict(sheet: &SheetAnswer, style: Style) -> String {
    let mut out = format!("{}\n", style.verdict(sheet.job.verdict));
    if sheet.job.verdict == Verdict::Refused {
        let words = "Not to be run as it stands: what follows shows how far the plan comes.";
        out.push_str(&style.bold(&wrapped(words, style.width.into(), "")));
        out.push('\n');
    }
    let told = sheet.job.reasons.iter().filter(|r| r.verdict != Verdict::Fits);
    for r in told {
        let remedy = r.remedy.as_ref().map(|m| format!(" → {m}")).unwrap_or_default();
        let words = format!("{} ({}): {}{remedy}", r.rule, r.verdict.word(), r.reason);
        out.push_str(&wrapped(&words, style.width.into(), "  "));
        out.push('\n');
    }
    out
}

/// Stock, first end, purchases.
fn facts(sheet: &SheetAnswer, style: Style) -> String {
    let lines = pages::facts(sheet);
    lines.iter().map(|l| format!("{}\n", wrapped(l, style.width.into(), ""))).collect()
}

/// The operations of one spindle: what is done, and with what and where beneath it.
fn operations(sheet: &SheetAnswer, lines: &[&SheetLine], clock: &pages::Clock, style: Style) -> String {
    let wide = style.width >= 96;
    let mut table = text::table(style);
    let mut titles = vec![head("", true), head("work", false)];
    if wide {
        titles.extend([head("dia", true), head("z", true)]);
    }
    for title in ["rpm", "mm/rev", "depth", "cut", "else", "until"] {
        titles.push(head(title, true));
    }
    table.set_header(titles);
    let reasons = pages::reasons(sheet);
    for line in lines {
        let times = clock.of(line.number);
        if times.wait > 0 {
            table.add_row(waiting(times, wide));
        }
        let mut work = line.work.to_owned();
        if let Some(feature) = &line.feature {
            work.push_str(&format!(" {feature}"));
        }
        if line.count > 1 {
            work.push_str(&format!(" x {}", line.count));
        }
        if let Some(letter) = line.order_reason.and_then(|r| pages::letter(&reasons, r)) {
            work.push_str(&format!(" ({letter})"));
        }
        if let Some(tool) = &line.tool {
            let place = line.place.as_deref().unwrap_or("no place");
            work.push_str(&format!("\n  {tool}, {place}"));
        }
        if let Some(detail) = &line.detail {
            work.push_str(&format!("\n  {detail}"));
        }
        let figure = |v: Option<f64>, places: usize| v.map(|v| print::number(v, places)).unwrap_or_default();
        let mut cells = vec![number(line.number), Cell::new(work)];
        if wide {
            cells.push(number(figure(line.dia_mm, 2)));
            cells.push(number(line.z_mm.map(pages::stretch).unwrap_or_default()));
        }
        cells.push(number(line.speed_rpm.map(|n| print::thousands(pages::round_speed(n))).unwrap_or_default()));
        cells.push(number(figure(line.feed_mm_per_rev, 3)));
        cells.push(number(pages::depth(line)));
        cells.push(number(pages::tenths(times.cut)));
        cells.push(number(pages::tenths(times.other)));
        cells.push(number(pages::tenths(times.until)));
        table.add_row(cells);
    }
    format!("{}\n", text::drawn(&table))
}

/// A line for the time in which a spindle waits for the other.
fn waiting(times: pages::Times, wide: bool) -> Vec<Cell> {
    let mut cells = vec![Cell::new(""), Cell::new("wait for the other spindle")];
    cells.extend(std::iter::repeat_n(Cell::new(""), if wide { 6 } else { 4 }));
    cells.push(number(pages::tenths(times.wait)));
    cells.push(number(pages::tenths(times.until - times.cut - times.other)));
    cells
}

fn order_reasons(sheet: &SheetAnswer, style: Style) -> String {
    let reasons = pages::reasons(sheet);
    let line = |(i, reason): (usize, &&'static str)| {
        format!("{}\n", wrapped(&format!("({}) {reason}", pages::LETTERS[i % 26]), style.width.into(), "  "))
    };
    reasons.iter().enumerate().map(line).collect()
}

/// From the programmed cycle to the cycle of the ranking.
fn cycle(sheet: &SheetAnswer, clock: &pages::Clock, style: Style) -> String {
    let mut table = text::table(style);
    for (what, tenths) in pages::cycle(sheet, clock) {
        table.add_row(vec![Cell::new(what), number(pages::tenths(tenths)), Cell::new("s")]);
    }
    format!("{}\n = {} a piece\n", text::drawn(&table), seconds(sheet.job.cycle.total_s))
}

fn places(sheet: &SheetAnswer, style: Style) -> String {
    let mut table = text::table(style);
    table.set_header(vec![head("place", false), head("tool", false), head("spindle", false), head("for", false)]);
    for p in &sheet.places {
        let tool = p.attachment.as_ref().map_or_else(|| p.tool.clone(), |a| format!("{}, in `{a}`", p.tool));
        let row = [Cell::new(&p.place), Cell::new(tool), Cell::new(p.spindle), Cell::new(p.features.join(", "))];
        table.add_row(row.to_vec());
    }
    let mut out = format!("{}\n", text::drawn(&table));
    if !sheet.free_places.is_empty() {
        let free = format!("Free: {}.", sheet.free_places.join(", "));
        out.push_str(&wrapped(&free, style.width.into(), "  "));
        out.push('\n');
    }
    out
}

fn setup(sheet: &SheetAnswer, style: Style) -> String {
    let job = &sheet.job;
    let mut out = text::setup_lines(&job.setup, job.setup_min, "together", style);
    if !job.off_machine.is_empty() {
        let total = job.off_machine.iter().map(|l| l.minutes).sum();
        out.push_str(" beside the machine\n");
        out.push_str(&text::setup_lines(&job.off_machine, total, "together, while it runs", style));
    }
    out
}

fn alternatives(sheet: &SheetAnswer, style: Style) -> String {
    let mut table = text::table(style);
    table.set_header(vec![head("feature", false), head("way", false), head("time", true), head("", false)]);
    let mut last = "";
    for a in &sheet.alternatives {
        let feature = if a.feature == last { "" } else { a.feature.as_str() };
        last = &a.feature;
        let time = if a.seconds > 0.0 { seconds(a.seconds) } else { String::new() };
        let why = if a.taken { "taken" } else { a.reason.as_str() };
        table.add_row(vec![Cell::new(feature), Cell::new(a.way), number(time), Cell::new(why)]);
    }
    format!("{}\n", text::drawn(&table))
}

fn worth_text(worth: &WorthAnswer, sheet: &SheetAnswer, style: Style) -> String {
    let mut table = text::table(style);
    table.set_header(vec![head("", false), head("without", true), head("with", true)]);
    for (name, without, with) in pages::worth_rows(worth, sheet) {
        table.add_row(vec![Cell::new(name), number(without), number(with)]);
    }
    let mut out = format!("{}\n", text::drawn(&table));
    out.push_str(&wrapped(&pages::worth_words(worth, sheet), style.width.into(), ""));
    out.push('\n');
    out
}

/// What the specs say beside the figures.
fn remarks(sheet: &SheetAnswer, style: Style) -> String {
    if sheet.remarks.is_empty() {
        return String::new();
    }
    let mut out = format!("\n{}\n", style.bold("Beside the figures"));
    for r in &sheet.remarks {
        out.push_str(&wrapped(&format!("{}: {}", r.about, r.words), style.width.into(), "  "));
        out.push('\n');
    }
    out
}

fn closing(sheet: &SheetAnswer, style: Style) -> String {
    let mut out = format!("\n{}\n", style.bold("Cautions"));
    for c in &sheet.cautions {
        out.push_str(&wrapped(&format!("{}: {}", c.topic, c.text), style.width.into(), "  "));
        out.push('\n');
    }
    out.push_str(&wrapped(pages::MANUAL, style.width.into(), "  "));
    out.push_str("\n\n");
    for note in &sheet.notes {
        out.push_str(&style.dim(&wrapped(note, style.width.into(), "")));
        out.push('\n');
    }
    out
}
