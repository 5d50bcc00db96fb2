//! The cycle as it runs: one lane a spindle and a carrier, seconds from left to right, the hand-over across all lanes.

use crate::quantity::print::number;
use crate::report::sheet::{SheetAnswer, Stretch, TimelineRow};
use crate::report::svg::{Anchor, Canvas, bold_width, spread, width};
use maud::{Markup, PreEscaped};

pub(super) const TEXT: f64 = 2.7;
/// Numbers above the stretches.
const SMALL: f64 = 2.4;
pub(super) const WIDE: f64 = 190.0;
/// From lane to lane; in each a number stands above a bar.
pub(super) const PITCH: f64 = 9.6;
pub(super) const BAR: f64 = 4.6;

/// Where seconds stand.
#[derive(Clone, Copy)]
struct Scale {
    left: f64,
    right: f64,
    whole: f64,
}

impl Scale {
    fn at(self, s: f64) -> f64 {
        self.left + (self.right - self.left) * (s / self.whole).clamp(0.0, 1.0)
    }

    /// Round seconds, about one for 14 mm.
    fn ticks(self) -> Vec<f64> {
        let rough = self.whole * 14.0 / (self.right - self.left);
        let steps = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0, 3600.0];
        let step = steps.into_iter().find(|s| *s >= rough).unwrap_or(7200.0);
        let count = (self.whole / step + 1e-9).floor() as u32;
        (0..=count).map(|i| f64::from(i) * step).collect()
    }
}

/// The chart. `id` begins the names within it.
pub(super) fn chart(sheet: &SheetAnswer, id: &str) -> Markup {
    let mut c = Canvas::default();
    hatch(&mut c, id);
    let names = sheet.timeline.iter().map(|r| width(&r.name, TEXT)).fold(0.0, f64::max);
    let scale = Scale { left: names + 4.0, right: WIDE - 5.0, whole: sheet.programmed_s.max(1e-9) };
    let kinds = [
        ("cut", "cutting at the main spindle"),
        ("cut sub", "cutting at the sub-spindle"),
        ("around", "tool change, approach, movements"),
    ];
    let key = legend(&mut c, id, &kinds);
    let top = key + if sheet.hand_over_s.is_some() { 6.0 } else { 2.0 };
    let bottom = top + PITCH * sheet.timeline.len() as f64 + 1.6;
    for tick in scale.ticks() {
        c.line("grid", (scale.at(tick), top), (scale.at(tick), bottom));
    }
    if let Some((from, to)) = sheet.hand_over_s.filter(|(from, to)| to > from) {
        hand_over(&mut c, scale, (from, to), (top, bottom));
    }
    for (i, row) in sheet.timeline.iter().enumerate() {
        lane(&mut c, id, scale, row, top + PITCH * i as f64);
    }
    axis(&mut c, scale, bottom);
    let words = format!(
        "{} lanes over {} s from one piece to the next; the operations above give the figures.",
        sheet.timeline.len(),
        number(sheet.programmed_s, 1)
    );
    PreEscaped(c.finish("chart timeline", (WIDE, bottom + 9.5), id, ("Timeline of the cycle", &words)))
}

/// What a bar of class `cut sub` is hatched with, so that it stands apart without colour.
pub(super) fn hatch(c: &mut Canvas, id: &str) {
    c.define(&format!(
        "<pattern id=\"{id}-sub\" width=\"1.3\" height=\"1.3\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><path class=\"pattern\" d=\"M0 0V2\"/></pattern>"
    ));
}

/// The key in a row above the lanes; gives the place beneath it.
pub(super) fn legend(c: &mut Canvas, id: &str, kinds: &[(&str, &str)]) -> f64 {
    let mut x = 0.0;
    for (class, words) in kinds {
        bar(c, id, class, (x, 1.0), (6.0, 3.4));
        c.text("label", (x + 7.5, 3.7), TEXT, Anchor::Start, words);
        x += 7.5 + width(words, TEXT) + 6.0;
    }
    7.0
}

pub(super) fn bar(c: &mut Canvas, id: &str, class: &str, at: (f64, f64), size: (f64, f64)) {
    c.rect(class, at, size);
    if class == "cut sub" {
        c.rect_filled(&format!("url(#{id}-sub)"), at, size);
    }
}

/// Both spindles are busy: a band across all lanes.
fn hand_over(c: &mut Canvas, scale: Scale, (from, to): (f64, f64), (top, bottom): (f64, f64)) {
    let (x0, x1) = (scale.at(from), scale.at(to));
    c.rect("tied", (x0, top), (x1 - x0, bottom - top));
    for x in [x0, x1] {
        c.line("tied-edge", (x, top - 1.2), (x, bottom));
    }
    let words = format!("hand-over, {} s", number(to - from, 1));
    let half = width(&words, TEXT) / 2.0;
    let middle = ((x0 + x1) / 2.0).clamp(scale.left + half, WIDE - half - 0.5);
    c.text("label", (middle, top - 2.2), TEXT, Anchor::Middle, &words);
}

fn lane(c: &mut Canvas, id: &str, scale: Scale, row: &TimelineRow, top: f64) {
    let y = top + 4.0;
    c.line("lane", (scale.left, y + BAR), (scale.right, y + BAR));
    c.text("label", (scale.left - 2.5, y + BAR / 2.0 + 0.95), TEXT, Anchor::End, &row.name);
    for s in &row.stretches {
        let (from, to) = (scale.at(s.from_s), scale.at(s.to_s));
        if to > from {
            c.rect("around", (from, y), (to - from, BAR));
        }
        let (from, to) = (scale.at(s.cut_from_s), scale.at(s.cut_to_s));
        if to > from {
            let class = if s.spindle == "sub" { "cut sub" } else { "cut" };
            bar(c, id, class, (from, y), ((to - from).max(0.3), BAR));
        }
    }
    let middle = |s: &Stretch| (scale.at(s.from_s) + scale.at(s.to_s)) / 2.0;
    let marks = row.stretches.iter().map(|s| (s.number.to_string(), middle(s), s.to_s - s.from_s)).collect();
    numbers(c, (scale.left, scale.right + 2.0), marks, y - 0.8);
}

/// The numbers of stretches above them, apart from each other; where there is no room for all, those of the longest. Each is
/// its words, where it would stand and how long its stretch is.
pub(super) fn numbers(c: &mut Canvas, ends: (f64, f64), mut marks: Vec<(String, f64, f64)>, base: f64) {
    let places = loop {
        let widths: Vec<f64> = marks.iter().map(|m| width(&m.0, SMALL) + 1.0).collect();
        let wishes: Vec<f64> = marks.iter().map(|m| m.1).collect();
        if let Some(places) = spread(&wishes, &widths, ends) {
            break places;
        }
        let shortest = (0..marks.len()).min_by(|a, b| marks[*a].2.total_cmp(&marks[*b].2));
        marks.remove(shortest.unwrap_or(0));
    };
    for (mark, x) in marks.iter().zip(places) {
        c.text("tick", (x, base), SMALL, Anchor::Middle, &mark.0);
    }
}

fn axis(c: &mut Canvas, scale: Scale, bottom: f64) {
    c.line("axis", (scale.left, bottom), (scale.right, bottom));
    let end = number(scale.whole, 1);
    let room = bold_width(&end, TEXT) / 2.0 + 1.0;
    for tick in scale.ticks() {
        let words = number(tick, 1);
        c.line("axis", (scale.at(tick), bottom), (scale.at(tick), bottom + 1.0));
        // The end of the cycle is said in its own figure.
        if scale.at(tick) + width(&words, TEXT) / 2.0 < scale.right - room {
            c.text("tick", (scale.at(tick), bottom + 4.0), TEXT, Anchor::Middle, &words);
        }
    }
    c.line("axis", (scale.right, bottom), (scale.right, bottom + 1.0));
    c.text("total", (scale.right, bottom + 4.0), TEXT, Anchor::Middle, &end);
    let words = "seconds from one piece to the next, as programmed; the numbers are those of the operations";
    c.text("axis-words", (scale.left, bottom + 8.2), TEXT, Anchor::Start, words);
}
