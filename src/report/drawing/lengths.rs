//! Lengths: running dimensions from the front face after ISO 129-1, which is how the spec itself counts z, and the
//! overall length with its tolerance beneath.

use super::callouts::ARROW;
use super::profile::NEAR;
use super::shape::ends;
use super::view::View;
use super::words::Writer;
use crate::model::part::{GrooveSide, Kind, Part};
use crate::model::profile::contour;
use crate::quantity::Length;
use crate::report::svg::{Anchor, Canvas, spread, width};

const SIZE: f64 = 2.9;
/// Between two numbers that stand side by side and read upwards.
const APART: f64 = 3.7;
/// Between the view and the line of running dimensions.
const OFF: f64 = 7.0;

/// The dimensions beneath a view, laid out.
#[derive(Debug)]
pub(super) struct Lengths {
    /// Places along z with the number that stands there and where.
    marks: Vec<(f64, String, f64)>,
    /// The overall length has a line of its own.
    overall: Option<String>,
    deepest: f64,
}

/// Places along z at which something on the outside begins, ends or stands, ascending; the ends left out.
fn places(part: &Part) -> Vec<f64> {
    let length = part.length.nominal.to_mm();
    let mut all = Vec::new();
    for s in contour(part) {
        all.extend([s.zone.start.to_mm(), s.zone.end.to_mm()]);
    }
    for f in &part.features {
        let zone = match &f.kind {
            Kind::Thread(t) if !t.internal => t.zone,
            Kind::Groove(g) if g.side == GrooveSide::External => g.zone,
            Kind::Undercut(u) if !u.inside => u.zone,
            Kind::Knurl(k) => k.zone,
            Kind::Keyway(k) => k.zone,
            Kind::Slot(s) => s.zone,
            Kind::Flat(x) => x.zone,
            Kind::Polygon(p) => p.zone,
            Kind::Contour(x) => x.zone,
            Kind::Hole(h) if h.circle.is_none() => {
                all.push(h.at.to_mm());
                continue;
            }
            Kind::Engrave(e) => {
                all.push(e.at.to_mm());
                continue;
            }
            _ => continue,
        };
        let (a, b) = ends(zone);
        all.extend([a, b]);
    }
    all.retain(|z| *z > NEAR && *z < length - NEAR);
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < 1e-4);
    all
}

/// Places that must not be left out of a broken view: those of the outside, and of the bore.
pub(super) fn marks(part: &Part) -> Vec<f64> {
    let length = part.length.nominal.to_mm();
    let mut all = places(part);
    for f in &part.features {
        match &f.kind {
            Kind::Bore(b) => {
                let (z0, z1) = ends(b.zone);
                // With the point of its drill.
                let r = b.dia.nominal.to_mm() / 2.0;
                all.extend([z0, z1, z0 - r, z1 + r]);
            }
            Kind::Thread(t) if t.internal => all.extend([t.zone.start.to_mm(), t.zone.end.to_mm()]),
            Kind::Groove(g) => all.extend([g.zone.start.to_mm(), g.zone.end.to_mm()]),
            Kind::Undercut(u) => all.extend([u.zone.start.to_mm(), u.zone.end.to_mm()]),
            Kind::Taper(t) => all.extend([t.zone.start.to_mm(), t.zone.end.to_mm()]),
            Kind::Chamfer(c) => all.extend([c.at.to_mm() - c.width.to_mm(), c.at.to_mm() + c.width.to_mm()]),
            Kind::Radius(r) => all.extend([r.at.to_mm() - r.radius.to_mm(), r.at.to_mm() + r.radius.to_mm()]),
            Kind::Hole(h) => {
                let d = h.dia.nominal.to_mm();
                // As far as it leans.
                let lean =
                    d + 0.5 * part.largest_dia().to_mm() / libm::tan(h.angle.value.to_deg().to_radians()).max(0.2);
                let depth = h.depth.map_or(0.0, |d| d.to_mm());
                all.extend([h.at.to_mm() - lean.max(depth), h.at.to_mm() + lean.max(depth)]);
            }
            Kind::Socket(s) => all.extend([s.depth.to_mm(), length - s.depth.to_mm()]),
            _ => {}
        }
    }
    all.extend([0.0, length]);
    all.retain(|z| *z >= 0.0 && *z <= length);
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < 1e-4);
    all
}

impl Lengths {
    pub(super) fn lay_out(view: &View, w: Writer, margins: (f64, f64)) -> Lengths {
        let part = view.part;
        let (x0, x1) = (view.axis.x(0.0), view.axis.x(view.shape.length));
        let mut zs = places(part);
        let overall = w.size("", &part.length);
        let overall = match overall.stack {
            Some((a, b)) => format!("{} {a}/{b}", overall.text).trim().to_owned(),
            None => overall.text,
        };
        let try_in = |zs: &[f64], bounds: (f64, f64)| {
            let wishes: Vec<f64> = zs.iter().map(|z| view.axis.x(*z)).collect();
            spread(&wishes, &vec![APART; zs.len()], bounds)
        };
        let number = |z: f64| w.length(Length::mm(z));
        let inside = try_in(&zs, (x0 + 0.4, x1 - 0.4));
        let (marks, overall) = match inside {
            Some(xs) => (zs.iter().zip(xs).map(|(z, x)| (*z, number(*z), x)).collect(), Some(overall)),
            None => {
                // No room between the ends: the numbers spread beyond them, the length is the last of the row.
                let length = view.shape.length;
                zs.push(length);
                let xs = try_in(&zs, margins).unwrap_or_else(|| zs.iter().map(|z| view.axis.x(*z)).collect());
                let words = |z: f64| if z >= length { overall.clone() } else { number(z) };
                (zs.iter().zip(xs).map(|(z, x)| (*z, words(*z), x)).collect::<Vec<_>>(), None)
            }
        };
        let deepest = marks.iter().map(|(_, t, _)| width(t, SIZE)).fold(0.0, f64::max);
        Lengths { marks, overall, deepest }
    }

    /// Height of everything beneath the view.
    pub(super) fn height(&self) -> f64 {
        OFF + self.running() + if self.overall.is_some() { 8.5 } else { 2.0 }
    }

    /// Draws them; `top` is the lower end of the view.
    pub(super) fn draw(&self, c: &mut Canvas, view: &View, top: f64) {
        let (x0, x1) = (view.axis.x(0.0), view.axis.x(view.shape.length));
        let y = top + OFF;
        let foot = |z: f64| foot_of(view, z);
        c.open(&[("class", "lengths")]);
        if !self.marks.is_empty() {
            self.draw_running(c, view, y);
        }
        if let Some(words) = &self.overall {
            let low = y + self.running() + 5.0;
            let above = if self.marks.is_empty() { foot(0.0) } else { y + 1.3 };
            c.line("thin", (x0, above), (x0, low + 1.3));
            c.line("thin", (x1, foot(view.shape.length)), (x1, low + 1.3));
            c.line("thin", (x0, low), (x1, low));
            c.arrow((x0, low), (-1.0, 0.0), ARROW);
            c.arrow((x1, low), (1.0, 0.0), ARROW);
            let wide = width(words, SIZE);
            if wide < x1 - x0 - 3.0 * ARROW {
                c.text("size", ((x0 + x1) / 2.0, low - 1.0), SIZE, Anchor::Middle, words);
            } else {
                // No room between the arrows: beside them.
                c.line("thin", (x1, low), (x1 + 2.0 + wide, low));
                c.text("size", (x1 + 2.0, low - 1.0), SIZE, Anchor::Start, words);
            }
        }
        c.close();
    }

    /// Height of the running dimensions below their line.
    fn running(&self) -> f64 {
        if self.marks.is_empty() { -2.0 } else { 4.5 + self.deepest }
    }

    fn draw_running(&self, c: &mut Canvas, view: &View, y: f64) {
        let foot = |z: f64| foot_of(view, z);
        let x0 = view.axis.x(0.0);
        let last = self.marks.last().map_or(x0, |m| view.axis.x(m.0));
        c.line("thin", (x0, y), (last, y));
        c.line("thin", (x0, foot(0.0)), (x0, y + 1.3));
        c.circle("origin", (x0, y), 0.9);
        c.text("size", (x0 - 2.0, y + 1.0), SIZE, Anchor::End, "0");
        let mut before = x0;
        for (z, words, x) in &self.marks {
            let own = view.axis.x(*z);
            c.polyline("thin", &[(own, foot(*z)), (own, y + 1.3), (*x, y + 3.6)]);
            if own - before > ARROW + 1.4 {
                c.arrow((own, y), (1.0, 0.0), ARROW);
            } else {
                c.circle("dot", (own, y), 0.45);
            }
            before = own;
            c.upward("size", (*x + 1.05, y + 4.3), SIZE, Anchor::End, words);
        }
    }
}

/// Where the auxiliary line of a place begins, beneath the contour.
fn foot_of(view: &View, z: f64) -> f64 {
    view.y + view.shape.below.at(z) * view.axis.scale + 1.0
}
