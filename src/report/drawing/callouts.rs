//! Labels in rows above the view, each with a leader to its feature. Labels keep the order of their feet, so that no two
//! leaders cross; a leader to a higher row passes the lower ones through a lane of its own.

use super::labels::{Foot, Label, Line, LineKind, Run};
use super::profile::NEAR;
use super::view::View;
use crate::model::part::End;
use crate::report::svg::{Anchor, At, Canvas, broken, spread, width};

/// Size of the main line of a label, mm: capitals of 2.2 mm.
const SIZE: f64 = 3.1;
/// Size of its other lines.
const SMALL: f64 = 2.45;
/// Size of stacked limits.
const STACKED: f64 = 2.3;
/// Between two labels of a row.
const APART: f64 = 3.0;
/// The lane of a leader between two labels.
const LANE: f64 = 1.6;
/// The least between two leaders on the view.
const LEADERS: f64 = 2.4;
/// A detail is broken into lines of about this width.
const DETAIL: f64 = 31.0;
/// Length of an arrow head.
pub(super) const ARROW: f64 = 2.2;

/// A label with its place in its row.
#[derive(Debug)]
struct Placed {
    label: Label,
    lines: Vec<Line>,
    width: f64,
    /// Where its leader leaves the view.
    x: f64,
    row: usize,
    centre: f64,
    /// Where its leader passes each row below its own.
    lanes: Vec<f64>,
}

/// The labels of a view, laid out.
#[derive(Debug)]
pub(super) struct Callouts {
    placed: Vec<Placed>,
    /// Heights of the rows, the lowest first.
    rows: Vec<f64>,
    /// Height between the view and the lowest row, and between rows.
    fans: Vec<f64>,
}

fn size_of(kind: LineKind) -> f64 {
    if kind == LineKind::Size { SIZE } else { SMALL }
}

fn run_width(run: &Run, size: f64) -> f64 {
    match run {
        Run::Text(t) => width(t, size),
        Run::Stack(a, b) => width(a, STACKED).max(width(b, STACKED)),
        Run::Finish(t) => 3.2 + width(t, size),
        Run::Datum(t) => width(t, size) + 1.6,
    }
}

fn line_width(line: &Line) -> f64 {
    let size = size_of(line.kind);
    let blanks = line.runs.len().saturating_sub(1) as f64 * blank(size);
    line.runs.iter().map(|r| run_width(r, size)).sum::<f64>() + blanks
}

fn blank(size: f64) -> f64 {
    size * 0.34
}

fn line_height(line: &Line) -> f64 {
    let stacked = line.runs.iter().any(|r| matches!(r, Run::Stack(..)));
    match line.kind {
        LineKind::Size if stacked => 5.2,
        LineKind::Size => 4.1,
        _ => 3.3,
    }
}

impl Callouts {
    /// Lays labels out between two margins.
    pub(super) fn lay_out(view: &View, labels: Vec<Label>, margins: (f64, f64)) -> Callouts {
        let feet = feet(view, &labels);
        let mut placed: Vec<Placed> = labels
            .into_iter()
            .zip(feet)
            .map(|(label, x)| {
                let lines = wrapped(&label.lines);
                let width = lines.iter().map(line_width).fold(0.0, f64::max);
                Placed { label, lines, width, x, row: 0, centre: x, lanes: Vec::new() }
            })
            .collect();
        placed.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.label.feature.cmp(&b.label.feature)));
        let mut rows = 1;
        while !place(&mut placed, rows, margins) && rows < placed.len() {
            rows += 1;
        }
        let height = |row: usize| {
            let of_row = placed.iter().filter(|p| p.row == row);
            of_row.map(|p| p.lines.iter().map(line_height).sum::<f64>()).fold(0.0, f64::max)
        };
        let heights: Vec<f64> = (0..rows).map(height).collect();
        let fans = (0..rows)
            .map(|row| {
                let shift = |p: &Placed| {
                    let before = if row == 0 { p.x } else { p.lanes[row - 1] };
                    let after = if p.row == row { p.attach(before) } else { p.lanes[row] };
                    (after - before).abs()
                };
                let far = placed.iter().filter(|p| p.row >= row).map(shift).fold(0.0, f64::max);
                (far * 0.3).clamp(if row == 0 { 4.0 } else { 3.0 }, 18.0)
            })
            .collect();
        Callouts { placed, rows: heights, fans }
    }

    /// Height of everything above the view.
    pub(super) fn height(&self) -> f64 {
        self.rows.iter().sum::<f64>() + self.fans.iter().sum::<f64>()
    }

    /// Draws labels and leaders; `bottom` is where the leaders leave the view.
    pub(super) fn draw(&self, c: &mut Canvas, view: &View, bottom: f64) {
        for p in &self.placed {
            let name = &view.part.features[p.label.feature].name;
            c.open(&[("class", "callout"), ("data-feature", name)]);
            let mut line = foot(c, view, p);
            line.push((p.x, bottom));
            let mut y = bottom;
            let mut x = p.x;
            for row in 0..=p.row {
                y -= self.fans[row];
                if row == p.row {
                    let (left, right) = (p.centre - p.width / 2.0, p.centre + p.width / 2.0);
                    let attach = p.attach(x);
                    line.push((attach, y));
                    c.polyline("thin", &line);
                    c.line("thin", (left, y), (right, y));
                    self.words(c, p, (left, y));
                } else {
                    x = p.lanes[row];
                    line.push((x, y));
                    y -= self.rows[row];
                    line.push((x, y));
                }
            }
            c.close();
        }
    }

    fn words(&self, c: &mut Canvas, p: &Placed, (left, bottom): At) {
        let mut y = bottom;
        for line in p.lines.iter().rev() {
            let size = size_of(line.kind);
            let class = match line.kind {
                LineKind::Name => "name",
                LineKind::Size => "size",
                LineKind::Detail => "detail",
            };
            let height = line_height(line);
            let base = y - if height > 5.0 { 1.9 } else { 0.95 };
            let mut x = left;
            for run in &line.runs {
                draw_run(c, class, run, (x, base), size);
                x += run_width(run, size) + blank(size);
            }
            y -= height;
        }
    }
}

impl Placed {
    /// Where on its line a leader that comes from a place meets it.
    fn attach(&self, from: f64) -> f64 {
        let half = (self.width / 2.0 - 0.6).max(0.0);
        from.clamp(self.centre - half, self.centre + half)
    }
}

fn draw_run(c: &mut Canvas, class: &str, run: &Run, (x, base): At, size: f64) {
    match run {
        Run::Text(t) => c.text(class, (x, base), size, Anchor::Start, t),
        Run::Stack(a, b) => {
            let w = run_width(run, size);
            c.text(class, (x + w, base - 1.15), STACKED, Anchor::End, a);
            c.text(class, (x + w, base + 1.3), STACKED, Anchor::End, b);
        }
        Run::Finish(t) => {
            finish_sign(c, (x + 0.6, base));
            c.text(class, (x + 3.2, base), size, Anchor::Start, t);
        }
        Run::Datum(t) => {
            let w = run_width(run, size);
            c.rect("frame", (x, base - 2.2), (w, 2.8));
            c.text("datum", (x + w / 2.0, base), size, Anchor::Middle, t);
        }
    }
}

/// The sign of a finish with material removed, ISO 21920-1 (from memory).
pub(super) fn finish_sign(c: &mut Canvas, (x, base): At) {
    c.polyline("thin", &[(x, base - 1.1), (x + 0.7, base + 0.1), (x + 2.2, base - 2.4)]);
    c.line("thin", (x, base - 1.1), (x + 1.4, base - 1.1));
}

/// Lines with their details broken.
fn wrapped(lines: &[Line]) -> Vec<Line> {
    let main = lines.iter().filter(|l| l.kind != LineKind::Detail).map(line_width).fold(0.0, f64::max);
    let mut out = Vec::new();
    for line in lines {
        match (line.kind, line.runs.as_slice()) {
            (LineKind::Detail, [Run::Text(t)]) => {
                for piece in balanced(t, main.max(DETAIL)) {
                    out.push(Line { runs: vec![Run::Text(piece)], kind: LineKind::Detail });
                }
            }
            _ => out.push(line.clone()),
        }
    }
    out
}

/// A detail in as few lines as its room allows, none of them much longer than the others.
fn balanced(text: &str, room: f64) -> Vec<String> {
    let least = broken(text, SMALL, room);
    let mut best = least.clone();
    let mut narrower = room;
    while narrower > room * 0.4 {
        narrower -= 1.0;
        let lines = broken(text, SMALL, narrower);
        if lines.len() > least.len() {
            break;
        }
        best = lines;
    }
    best
}

/// Where each leader leaves the view: within the reach of its feature, apart from the others as far as there is room;
/// the narrowest feature chooses first.
fn feet(view: &View, labels: &[Label]) -> Vec<f64> {
    let stretch = |l: &Label| match l.foot {
        // The leader of a face comes from beside the part.
        Foot::Face(End::Front) => (view.axis.x(0.0) - 7.0, view.axis.x(0.0) - 3.0),
        Foot::Face(End::Back) => (view.axis.x(l.reach.1) + 3.0, view.axis.x(l.reach.1) + 7.0),
        _ => {
            let (a, b) = (view.axis.x(l.reach.0), view.axis.x(l.reach.1));
            let inset = (b - a) * 0.12;
            (a + inset, b - inset)
        }
    };
    let mut order: Vec<usize> = (0..labels.len()).collect();
    let wide = |i: usize| {
        let (a, b) = stretch(&labels[i]);
        b - a
    };
    order.sort_by(|a, b| wide(*a).total_cmp(&wide(*b)).then(a.cmp(b)));
    let mut taken: Vec<f64> = Vec::new();
    let mut feet = vec![0.0; labels.len()];
    for i in order {
        let (a, b) = stretch(&labels[i]);
        let best = match labels[i].foot {
            Foot::Face(_) => (a + b) / 2.0,
            _ => view.axis.x(labels[i].best).clamp(a.min(b), b.max(a)),
        };
        // A gap in the view is no place for a leader.
        let gap = |x: f64| view.axis.gaps().map(|(a, b)| (a - x).max(x - b).max(0.0)).fold(f64::MAX, f64::min);
        let room = |x: f64| taken.iter().map(|t| (t - x).abs()).fold(gap(x), f64::min);
        let steps = 60;
        let mut candidates: Vec<f64> = (0..=steps).map(|k| a + (b - a) * f64::from(k) / f64::from(steps)).collect();
        candidates.push(best);
        candidates.sort_by(|p, q| (p - best).abs().total_cmp(&(q - best).abs()));
        let free = candidates.iter().copied().find(|x| room(*x) >= LEADERS);
        let widest = || candidates.iter().copied().max_by(|p, q| room(*p).total_cmp(&room(*q)));
        // Two leaders never run on one line: where there is no room at all, the later one steps aside.
        let mut x = free.or_else(widest).unwrap_or(best);
        let mut tries = 0;
        while room(x) < 0.7 && tries < 40 {
            x += 0.35;
            tries += 1;
        }
        taken.push(x);
        feet[i] = x;
    }
    feet
}

/// Tries to place labels in a number of rows.
fn place(placed: &mut [Placed], rows: usize, (left, right): (f64, f64)) -> bool {
    for (i, p) in placed.iter_mut().enumerate() {
        p.row = i % rows;
        p.lanes.clear();
    }
    for row in 0..rows {
        let above: Vec<usize> = (0..placed.len()).filter(|i| placed[*i].row >= row).collect();
        let wishes: Vec<f64> = above
            .iter()
            .map(|i| {
                let p = &placed[*i];
                if row == 0 { p.x } else { p.lanes.get(row - 1).copied().unwrap_or(p.x) }
            })
            .collect();
        let widths: Vec<f64> =
            above.iter().map(|i| if placed[*i].row == row { placed[*i].width + APART } else { LANE }).collect();
        let Some(found) = spread(&wishes, &widths, (left - APART / 2.0, right + APART / 2.0)) else { return false };
        for (i, x) in above.into_iter().zip(found) {
            if placed[i].row == row {
                placed[i].centre = x;
            } else {
                placed[i].lanes.push(x);
            }
        }
    }
    true
}

/// Draws the foot of a leader; gives its first points, from the feature up.
fn foot(c: &mut Canvas, view: &View, p: &Placed) -> Vec<At> {
    let x = p.x;
    let s = view.axis.scale;
    let z = nearest_z(view, p);
    let top = view.y - view.shape.above.at(z) * s;
    let down = (0.0, 1.0);
    match p.label.foot {
        Foot::Across => {
            let bottom = view.y + view.shape.below.at(z) * s;
            let (a, b) = (view.axis.x(p.label.reach.0), view.axis.x(p.label.reach.1));
            // Too low or too narrow for arrows within: one from outside.
            if bottom - top < 4.0 * ARROW || (b - a) < 2.5 * ARROW {
                c.arrow((x, top), down, ARROW);
                return vec![(x, top)];
            }
            c.arrow((x, top), (0.0, -1.0), ARROW);
            c.arrow((x, bottom), down, ARROW);
            vec![(x, bottom), (x, top)]
        }
        Foot::Contour => {
            c.arrow((x, top), down, ARROW);
            vec![(x, top)]
        }
        Foot::Wall => {
            let wall = view.y - view.shape.inner.at(z) * s;
            c.arrow((x, wall), down, ARROW);
            vec![(x, wall)]
        }
        Foot::Radius(r) => {
            let y = view.y - r * s;
            c.arrow((x, y), down, ARROW);
            vec![(x, y)]
        }
        Foot::Face(end) => {
            let at = if end == End::Front { 0.0 } else { view.shape.length };
            let (low, high) = (view.shape.inner.at(at), view.shape.above.at(at));
            let tip = view.above(at, low + (high - low) * 0.6);
            let from = (x, tip.1 - (tip.0 - x).abs() * 0.6);
            c.arrow(tip, (tip.0 - from.0, tip.1 - from.1), ARROW);
            vec![tip, from]
        }
    }
}

/// The place along z under a leader.
fn nearest_z(view: &View, p: &Placed) -> f64 {
    let (a, b) = p.label.reach;
    let (xa, xb) = (view.axis.x(a), view.axis.x(b));
    if xb - xa <= NEAR {
        return a;
    }
    // Within a broken stretch the diameter is the same on both sides of the break.
    let share = ((p.x - xa) / (xb - xa)).clamp(0.0, 1.0);
    (a + (b - a) * share).clamp(a + (b - a) * 1e-4, b - (b - a) * 1e-4)
}
