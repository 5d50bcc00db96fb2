//! The charts of a purchase: cash flow, what matters, the hours of each machine, and the worth of each capability.

use super::timeline::{TEXT, WIDE, hatch};
use crate::quantity::print::{number, thousands};
use crate::report::buy::{BarAnswer, ChanceAnswer, CloseAnswer, LoadAnswer, StairAnswer};
use crate::report::svg::{Anchor, At, Canvas, bold_width, width};
use maud::{Markup, PreEscaped};

/// Height of the charts that have one, and of a bar that lies.
const HIGH: f64 = 58.0;
const LYING: f64 = 5.0;
const PITCH: f64 = 8.0;

/// A straight axis: from a value to a value, over a stretch of the chart.
#[derive(Clone, Copy)]
struct Axis {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
}

impl Axis {
    /// Over all of some values and nought, to round ends.
    fn over(values: impl Iterator<Item = f64>, from: f64, to: f64) -> Axis {
        let (low, high) = values.fold((0.0_f64, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
        let step = step(((high - low) / 6.0).max(1e-9));
        Axis { low: libm::floor(low / step) * step, high: (libm::ceil(high / step) * step).max(step), from, to }
    }

    fn at(&self, value: f64) -> f64 {
        self.from + (self.to - self.from) * (value - self.low) / (self.high - self.low)
    }

    fn ticks(&self) -> Vec<f64> {
        let step = step((self.high - self.low) / 7.0);
        let first = libm::ceil(self.low / step - 1e-9);
        (0..40).map(|i| (first + f64::from(i)) * step).take_while(|v| *v <= self.high + step * 1e-6).collect()
    }
}

/// The round step that is no smaller than this: 1, 2 or 5 of a decade.
fn step(rough: f64) -> f64 {
    let decade = libm::pow(10.0, libm::floor(libm::log10(rough)));
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|s| s * decade).find(|s| *s >= rough * (1.0 - 1e-9)).unwrap_or(rough)
}

/// Money on an axis, in thousands where all ticks are.
struct Unit {
    by: f64,
    words: String,
}

impl Unit {
    fn of(axis: &Axis, currency: &str) -> Unit {
        match axis.high - axis.low >= 10_000.0 {
            true => Unit { by: 1_000.0, words: format!("thousands of {currency}") },
            false => Unit { by: 1.0, words: currency.to_owned() },
        }
    }

    fn told(&self, value: f64) -> String {
        let shown = value / self.by;
        if shown.abs() < 1e-9 { "0".to_owned() } else { thousands(shown.round()) }
    }
}

/// A bar in one of two looks: plain, or hatched as well as of another colour.
fn looked(c: &mut Canvas, id: &str, hatched: bool, at: At, size: At) {
    c.rect(if hatched { "part k2" } else { "part k1" }, at, size);
    if hatched {
        c.rect_filled(&format!("url(#{id}-sub)"), at, size);
    }
}

/// The key of two looks; gives the place behind it and the one beneath.
fn key(c: &mut Canvas, id: &str, looks: &[(bool, &str)]) -> At {
    let mut x = 0.0;
    for (hatched, words) in looks {
        looked(c, id, *hatched, (x, 1.0), (6.0, 3.4));
        c.text("label", (x + 7.5, 3.7), TEXT, Anchor::Start, words);
        x += 7.5 + width(words, TEXT) + 6.0;
    }
    (x, 7.0)
}

/// Money upwards with its lines across.
fn upright(c: &mut Canvas, axis: &Axis, unit: &Unit, (left, right): At) {
    for tick in axis.ticks() {
        c.line(if tick == 0.0 { "axis" } else { "grid" }, (left, axis.at(tick)), (right, axis.at(tick)));
        c.text("tick", (left - 1.5, axis.at(tick) + 0.95), TEXT, Anchor::End, &unit.told(tick));
    }
}

/// Each year what moves, and all so far.
pub(super) fn cash_flow(close: &CloseAnswer, currency: &str, id: &str) -> Markup {
    let mut c = Canvas::default();
    hatch(&mut c, id);
    let (x, beneath) = key(&mut c, id, &[(false, "comes in that year"), (true, "goes out that year")]);
    c.polyline("curve so-far", &[(x, 2.7), (x + 6.0, 2.7)]);
    c.circle("marker so-far", (x + 3.0, 2.7), 0.9);
    c.text("label", (x + 7.5, 3.7), TEXT, Anchor::Start, "all so far");
    let top = beneath + 2.0;
    let all = close.years.iter().flat_map(|y| [y.sum, y.so_far]);
    let axis = Axis::over(all, top + HIGH, top);
    let unit = Unit::of(&axis, currency);
    let left = axis.ticks().iter().map(|t| width(&unit.told(*t), TEXT)).fold(0.0, f64::max) + 3.0;
    let right = WIDE - 2.0;
    upright(&mut c, &axis, &unit, (left, right));
    let each = (right - left) / close.years.len().max(1) as f64;
    let middle = |i: usize| left + each * (i as f64 + 0.5);
    let wide = (each * 0.56).min(12.0);
    for (i, y) in close.years.iter().enumerate() {
        let (a, b) = (axis.at(0.0), axis.at(y.sum));
        if (a - b).abs() > 0.05 {
            looked(&mut c, id, y.sum < 0.0, (middle(i) - wide / 2.0, a.min(b)), (wide, (a - b).abs()));
        }
        c.text("tick", (middle(i), top + HIGH + 4.0), TEXT, Anchor::Middle, &y.year.to_string());
    }
    let points: Vec<At> = close.years.iter().enumerate().map(|(i, y)| (middle(i), axis.at(y.so_far))).collect();
    c.polyline("curve so-far", &points);
    for point in &points {
        c.circle("marker so-far", *point, 0.9);
    }
    let words = format!("end of year; bars and the line of all so far in {}", unit.words);
    c.text("axis-words", (left, top + HIGH + 8.2), TEXT, Anchor::Start, &words);
    let title = ("Cash flow by year", "What moves each year after tax, and the sum of all years so far.");
    PreEscaped(c.finish("chart buy", (WIDE, top + HIGH + 9.5), id, title))
}

/// Words of what is moved, and the ends that it moves to.
struct Row<'a> {
    words: &'a str,
    /// At 20 % and 10 % less, at 10 % and 20 % more.
    less: [f64; 2],
    more: [f64; 2],
}

/// Net present value with one figure moved, and over the draws, on one axis.
pub(super) fn tornado(close: &CloseAnswer, currency: &str, id: &str) -> Markup {
    let mut c = Canvas::default();
    hatch(&mut c, id);
    let looks = [(true, "a figure 10 % and 20 % lower"), (false, "10 % and 20 % higher")];
    let row = |b: &'_ BarAnswer| Row { words: b.moved.words(), less: [b.npv[0], b.npv[1]], more: [b.npv[4], b.npv[3]] };
    let rows: Vec<Row> = close.tornado.iter().map(row).collect();
    let plan = close.tornado.first().map_or(0.0, |b| b.npv[2]);
    let draws = close.chance.as_ref().map(|d| format!("{} draws", thousands(d.draws as f64)));
    let names = rows.iter().map(|r| r.words).chain(draws.as_deref());
    let left = names.map(|n| width(n, TEXT)).fold(0.0, f64::max) + 4.0;
    let ends = rows.iter().flat_map(|r| r.less.into_iter().chain(r.more));
    let band = close.chance.iter().flat_map(|d| [d.npv_10, d.npv_90]);
    let axis = Axis::over(ends.chain(band).chain([plan]), left, WIDE - 6.0);
    let unit = Unit::of(&axis, currency);
    let top = key(&mut c, id, &looks).1 + 5.0;
    let bottom = top + PITCH * (rows.len() + usize::from(draws.is_some())) as f64 + 1.0;
    for tick in axis.ticks() {
        c.line(if tick == 0.0 { "axis" } else { "grid" }, (axis.at(tick), top), (axis.at(tick), bottom));
        c.text("tick", (axis.at(tick), bottom + 4.0), TEXT, Anchor::Middle, &unit.told(tick));
    }
    for (i, row) in rows.iter().enumerate() {
        let y = top + PITCH * i as f64 + 1.5;
        c.text("label", (left - 2.5, y + 3.4), TEXT, Anchor::End, row.words);
        moved(&mut c, id, &axis, plan, row, y);
    }
    if let (Some(d), Some(words)) = (&close.chance, &draws) {
        let y = top + PITCH * rows.len() as f64 + 1.5;
        c.text("label", (left - 2.5, y + 3.4), TEXT, Anchor::End, words);
        spread(&mut c, &axis, d, y);
    }
    c.line("turn-line", (axis.at(plan), top - 1.0), (axis.at(plan), bottom));
    let words = format!("as planned, {}", unit.told(plan));
    let half = bold_width(&words, TEXT) / 2.0;
    let at = axis.at(plan).clamp(left + half, WIDE - half);
    c.text("total", (at, top - 2.2), TEXT, Anchor::Middle, &words);
    let words = format!("net present value in {}", unit.words);
    c.text("axis-words", (left, bottom + 8.2), TEXT, Anchor::Start, &words);
    let title = ("What matters", "Net present value with one figure moved at a time, the one that matters most first.");
    PreEscaped(c.finish("chart buy", (WIDE, bottom + 9.5), id, title))
}

/// Both directions of one figure. Where both lie on one side of the plan, each takes half of the height.
fn moved(c: &mut Canvas, id: &str, axis: &Axis, plan: f64, row: &Row, y: f64) {
    let same_side = (row.less[0] - plan) * (row.more[0] - plan) > 0.0;
    let high = if same_side { LYING / 2.0 } else { LYING };
    for (hatched, [far, near], y) in
        [(true, row.less, y), (false, row.more, if same_side { y + LYING / 2.0 } else { y })]
    {
        let (a, b) = (axis.at(plan), axis.at(far));
        if (a - b).abs() < 0.05 {
            continue;
        }
        looked(c, id, hatched, (a.min(b), y), ((a - b).abs(), high));
        c.line("half-way", (axis.at(near), y), (axis.at(near), y + high));
    }
}

/// From a tenth to nine tenths of the draws with the middle one.
fn spread(c: &mut Canvas, axis: &Axis, d: &ChanceAnswer, y: f64) {
    let (low, mid, high) = (axis.at(d.npv_10), axis.at(d.npv_50), axis.at(d.npv_90));
    c.rect("part k3", (low, y + 0.6), ((high - low).max(0.3), LYING - 1.2));
    c.line("middle", (mid, y), (mid, y + LYING));
}

/// Hours of every machine without the purchase and with it.
pub(super) fn hours(loads: &[LoadAnswer], id: &str) -> Markup {
    let mut c = Canvas::default();
    hatch(&mut c, id);
    let kinds = [("part k1", "cutting"), ("part k2", "setting"), ("part k0", "promised before"), ("unused", "free")];
    let mut x = 0.0;
    let filled = |c: &mut Canvas, class: &str, at: At, size: At| {
        if size.0 > 0.0 {
            c.rect(class, at, size);
            if class == "part k2" {
                c.rect_filled(&format!("url(#{id}-sub)"), at, size);
            }
        }
    };
    for (class, words) in kinds {
        filled(&mut c, class, (x, 1.0), (6.0, 3.4));
        c.text("label", (x + 7.5, 3.7), TEXT, Anchor::Start, words);
        x += 7.5 + width(words, TEXT) + 6.0;
    }
    let said =
        |l: &[f64; 4]| format!("{} h, of them setting {}", thousands((l[0] + l[1]).round()), thousands(l[1].round()));
    let names = loads.iter().map(|l| width(&l.machine, TEXT)).fold(0.0, f64::max) + 3.0;
    let side = ["without", "with"].map(|w| width(w, TEXT)).into_iter().fold(0.0, f64::max) + 3.0;
    let left = names + side;
    let room = loads.iter().flat_map(|l| [&l.before, &l.now]).map(|l| bold_width(&said(l), TEXT)).fold(0.0, f64::max);
    let most = loads.iter().flat_map(|l| [&l.before, &l.now]).map(|l| l.iter().sum::<f64>()).fold(1e-9, f64::max);
    let span = WIDE - left - room - 3.0;
    let mut y = 8.0;
    for load in loads {
        c.text("label", (names - 2.5, y + 5.6), TEXT, Anchor::End, &load.machine);
        for (words, hours) in [("without", &load.before), ("with", &load.now)] {
            c.text("tick", (left - 2.0, y + 2.9), TEXT, Anchor::End, words);
            let [cutting, setting, promised, free] = *hours;
            let mut x = left;
            for (class, hours) in [("part k0", promised), ("part k1", cutting), ("part k2", setting), ("unused", free)]
            {
                let w = hours / most * span;
                filled(&mut c, class, (x, y), (w, 3.6));
                x += w;
            }
            let words = if hours.iter().sum::<f64>() > 0.0 { said(hours) } else { "not there".to_owned() };
            c.text("total", (x + 1.5, y + 2.9), TEXT, Anchor::Start, &words);
            y += 4.4;
        }
        y += 2.0;
    }
    let title = ("Hours of each machine", "Hours over the time of the mix without the purchase and with it.");
    PreEscaped(c.finish("chart buy", (WIDE, y + 1.0), id, title))
}

/// What is left over at each figure of a capability. The numbers are those of the steps told beneath.
pub(super) fn staircase(stair: &StairAnswer, currency: &str, id: &str) -> Markup {
    let mut c = Canvas::default();
    let (top, high) = (5.0, 40.0);
    let axis = Axis::over(stair.steps.iter().map(|s| s.gain), top + high, top);
    let unit = Unit::of(&axis, currency);
    let left = axis.ticks().iter().map(|t| width(&unit.told(*t), TEXT)).fold(0.0, f64::max) + 3.0;
    let right = WIDE - 2.0;
    upright(&mut c, &axis, &unit, (left, right));
    let each = (right - left) / stair.steps.len().max(1) as f64;
    let mut points = Vec::new();
    let mut jump = 0;
    for (i, s) in stair.steps.iter().enumerate() {
        let (from, to, y) = (left + each * i as f64, left + each * (i + 1) as f64, axis.at(s.gain));
        points.extend([(from, y), (to, y)]);
        let middle = (from + to) / 2.0;
        if s.own {
            c.rect("own", (from, top), (each, high));
        }
        let words = number(s.figure, 1);
        c.text(if s.own { "total" } else { "tick" }, (middle, top + high + 4.0), TEXT, Anchor::Middle, &words);
        if s.jumps() {
            jump += 1;
            c.text("total", (middle, y - 1.4), TEXT, Anchor::Middle, &jump.to_string());
        }
    }
    c.polyline("curve stair", &points);
    let words = format!(
        "{}; the candidate's own in bold; more left over a year in {}",
        stair.capability.figures_are(),
        unit.words
    );
    c.text("axis-words", (left, top + high + 8.2), TEXT, Anchor::Start, &words);
    let title = ("Worth of a capability", "What is left over more a year at each figure.");
    PreEscaped(c.finish("chart buy", (WIDE, top + high + 9.5), id, title))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_axis_holds_nought_and_has_round_ends_and_ticks() {
        let axis = Axis::over([-285_600.0, 300_785.0].into_iter(), 0.0, 60.0);
        assert_eq!((axis.low, axis.high), (-300_000.0, 400_000.0));
        assert_eq!(axis.ticks().len(), 8);
        assert!(axis.ticks().contains(&0.0));
        assert!((axis.at(-300_000.0)).abs() < 1e-9 && (axis.at(400_000.0) - 60.0).abs() < 1e-9);
        let none = Axis::over([0.0].into_iter(), 0.0, 60.0);
        assert!(none.high > none.low);
    }
}
