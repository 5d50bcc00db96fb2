//! The charts of a year's work: hours of each machine, and the lots on each one in their order.

use super::timeline::{BAR, PITCH, TEXT, WIDE, bar, hatch, legend, numbers};
use crate::quantity::print::thousands;
use crate::report::mix::{MixAnswer, SequenceAnswer, words};
use crate::report::svg::{Anchor, Canvas, bold_width, width};
use maud::{Markup, PreEscaped};

/// Height of a bar of hours and from bar to bar.
const HOURS_BAR: f64 = 5.4;
const HOURS_PITCH: f64 = 7.8;
/// Twelve months of the calendar.
const MONTHS: f64 = 12.0;
const YEAR: f64 = 365.25;

/// A stretch, where it has a length.
fn stretch(c: &mut Canvas, id: &str, class: &str, at: (f64, f64), size: (f64, f64)) {
    if size.0 > 0.0 {
        bar(c, id, class, at, size);
    }
}

/// Hours of every machine: what is promised, cutting, setting, and what is left.
pub(super) fn hours(a: &MixAnswer) -> Markup {
    let id = "mix-hours";
    let mut c = Canvas::default();
    hatch(&mut c, id);
    let name = |i: usize| words::unit(&a.units[i].machine, a.units[i].number, a.units[i].of);
    let said = |i: usize| {
        let u = &a.units[i];
        format!("{:.0} % of {} h", 100.0 * u.used, thousands(u.hours.round()))
    };
    let count = a.units.len();
    let left = (0..count).map(|i| width(&name(i), TEXT)).fold(0.0, f64::max) + 3.0;
    let room = (0..count).map(|i| bold_width(&said(i), TEXT)).fold(0.0, f64::max) + 3.0;
    let most = a.units.iter().map(|u| u.hours).fold(1e-9, f64::max);
    let span = WIDE - left - room;
    let kinds = [("cut sub", "promised before"), ("cut", "cutting"), ("around", "setting"), ("free", "free")];
    let mut y = legend(&mut c, id, &kinds) + 0.5;
    for (i, u) in a.units.iter().enumerate() {
        c.text("label", (left - 2.5, y + 3.8), TEXT, Anchor::End, &name(i));
        let mut x = left;
        for (class, hours) in [("cut sub", u.promised), ("cut", u.cutting), ("around", u.setting), ("free", u.idle)] {
            let w = hours / most * span;
            stretch(&mut c, id, class, (x, y), (w, HOURS_BAR));
            x += w;
        }
        c.text("total", (x + 1.5, y + 3.8), TEXT, Anchor::Start, &said(i));
        y += HOURS_PITCH;
    }
    let words = "Hours that each machine is planned for over the time of the mix.";
    PreEscaped(c.finish("chart timeline mix", (WIDE, y + 1.0), id, ("Hours of each machine", words)))
}

/// The lots of each machine from left to right over the calendar.
pub(super) fn order(a: &MixAnswer) -> Markup {
    let id = "mix-order";
    let mut c = Canvas::default();
    hatch(&mut c, id);
    let name = |s: &SequenceAnswer| words::unit(&s.machine, s.number, s.of);
    let left = a.sequence.iter().map(|s| width(&name(s), TEXT)).fold(0.0, f64::max) + 4.0;
    let right = WIDE - 4.0;
    let last = a.sequence.iter().flat_map(|s| &s.runs).map(|r| r.end_day).fold(a.years * YEAR, f64::max);
    let at = |day: f64| left + (right - left) * (day / last).clamp(0.0, 1.0);
    let top = legend(&mut c, id, &[("around", "setting"), ("cut", "cutting"), ("cut sub", "cutting, ends late")]) + 1.5;
    let bottom = top + PITCH * a.sequence.len() as f64 + 1.6;
    let month = a.years * YEAR / (MONTHS * a.years.max(1.0));
    let ticks: Vec<f64> = (0..).map(|i| f64::from(i) * month).take_while(|d| *d <= last + 1e-6).take(130).collect();
    for tick in &ticks {
        c.line("grid", (at(*tick), top), (at(*tick), bottom));
    }
    for (i, s) in a.sequence.iter().enumerate() {
        let y = top + PITCH * i as f64 + 4.0;
        c.line("lane", (left, y + BAR), (right, y + BAR));
        c.text("label", (left - 2.5, y + BAR / 2.0 + 0.95), TEXT, Anchor::End, &name(s));
        let mut marks = Vec::new();
        for r in &s.runs {
            let (begin, from, to) = (at(r.setup_day), at(r.start_day), at(r.end_day));
            let class = if r.late_days >= 0.5 { "cut sub" } else { "cut" };
            stretch(&mut c, id, "around", (begin, y), (from - begin, BAR));
            // A hair of light between lots that follow each other.
            stretch(&mut c, id, class, (from, y), ((to - from - 0.15).max(0.25), BAR));
            marks.push((r.job.to_string(), (begin + to) / 2.0, to - begin));
        }
        numbers(&mut c, (left, right + 2.0), marks, y - 0.8);
    }
    c.line("axis", (left, bottom), (right, bottom));
    let every = if ticks.len() > 14 { ticks.len() / 12 } else { 1 };
    for (i, tick) in ticks.iter().enumerate() {
        c.line("axis", (at(*tick), bottom), (at(*tick), bottom + 1.0));
        if i % every == 0 {
            c.text("tick", (at(*tick), bottom + 4.0), TEXT, Anchor::Middle, &i.to_string());
        }
    }
    let words = "months from the start; the numbers are those of the jobs";
    c.text("axis-words", (left, bottom + 8.2), TEXT, Anchor::Start, words);
    let title = format!("{} machines with their lots over the calendar.", a.sequence.len());
    PreEscaped(c.finish("chart timeline mix", (WIDE, bottom + 9.5), id, ("Order of the lots", &title)))
}
