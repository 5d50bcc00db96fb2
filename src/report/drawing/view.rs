//! The two halves of the view: above the axis the section, hatched where it is cut; below the axis the outside.

use super::profile::{NEAR, Span, points};
use super::scale::Axis;
use super::shape::{Shape, ends, lift};
use crate::model::part::{End, Groove, GrooveSide, Kind, Part, Thread};
use crate::model::profile::contour;
use crate::quantity::Length;
use crate::report::svg::{At, Canvas, path_of};

/// A part on the sheet.
pub(super) struct View<'a> {
    pub(super) part: &'a Part,
    pub(super) shape: Shape,
    pub(super) axis: Axis,
    /// Where the axis lies.
    pub(super) y: f64,
    /// Begins the names of what is defined once and used by name: unique in a page of several drawings.
    pub(super) prefix: String,
}

impl View<'_> {
    /// A place `z` along the axis and `r` above it.
    pub(super) fn above(&self, z: f64, r: f64) -> At {
        (self.axis.x(z), self.y - r * self.axis.scale)
    }
    /// A place `z` along the axis and `r` below it.
    pub(super) fn below(&self, z: f64, r: f64) -> At {
        (self.axis.x(z), self.y + r * self.axis.scale)
    }

    /// Draws both halves.
    pub(super) fn draw(&self, c: &mut Canvas) {
        self.define(c);
        self.hatching(c);
        self.outline(c);
        self.edges(c);
        for (id, f) in self.part.features.iter().enumerate() {
            c.open(&[("class", "shape"), ("data-feature", &f.name)]);
            match &f.kind {
                Kind::Thread(t) => self.thread(c, t),
                Kind::Turn(t) if t.offset.is_some() => {
                    let (z0, z1) = ends(t.zone);
                    let (a, b) = (self.above(z0, lift(t)), self.above(z1, lift(t)));
                    c.line("chain", (a.0 - 2.5, a.1), (b.0 + 2.5, b.1));
                }
                Kind::Groove(g) => self.face_groove(c, g),
                _ => self.milled(c, id),
            }
            c.close();
        }
        self.breaks(c);
        let (x0, x1) = (self.axis.x(0.0), self.axis.x(self.shape.length));
        c.line("chain", (x0 - 5.0, self.y), (x1 + 5.0, self.y));
    }

    fn define(&self, c: &mut Canvas) {
        // Hatching at 45 deg, wide enough apart to be told from a filled area when printed small.
        c.define(&format!(
            "<pattern id=\"{p}-hatch\" width=\"2\" height=\"2\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(45)\"><line class=\"hatch\" x1=\"1\" y1=\"0\" x2=\"1\" y2=\"2\"/></pattern>\
             <pattern id=\"{p}-knurl\" width=\"1.4\" height=\"1.4\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(30)\"><path class=\"hatch\" d=\"M0 0.7H1.4M0.7 0V1.4\"/></pattern>\
             <pattern id=\"{p}-knurl-straight\" width=\"1.2\" height=\"1.2\" patternUnits=\"userSpaceOnUse\">\
             <path class=\"hatch\" d=\"M0 0.6H1.2\"/></pattern>",
            p = self.prefix
        ));
    }

    /// What is metal in the section, window by window.
    fn hatching(&self, c: &mut Canvas) {
        let fill = format!("url(#{}-hatch)", self.prefix);
        c.open(&[("class", "section")]);
        for w in &self.axis.windows {
            let outside = points(&self.shape.above.slice(w.z0, w.z1));
            let inside = points(&self.shape.inner.slice(w.z0, w.z1));
            let ring: Vec<At> =
                outside.iter().chain(inside.iter().rev()).map(|(z, r)| self.in_window(w.z0, *z, *r)).collect();
            c.empty("path", &[("fill", &fill), ("d", &path_of(&ring, true))]);
        }
        c.close();
    }

    /// A place in the window that begins at a place: the end of one window is the start of a gap.
    fn in_window(&self, start: f64, z: f64, r: f64) -> At {
        let x = self.axis.x(start) + (z - start) * self.axis.scale;
        (x, self.y - r * self.axis.scale)
    }

    fn outline(&self, c: &mut Canvas) {
        c.open(&[("class", "outline")]);
        for w in &self.axis.windows {
            for (profile, sign) in [(&self.shape.above, 1.0), (&self.shape.below, -1.0)] {
                let line: Vec<At> = points(&profile.slice(w.z0, w.z1))
                    .into_iter()
                    .map(|(z, r)| self.in_window(w.z0, z, r * sign))
                    .collect();
                c.polyline("thick", &line);
            }
            for run in hollow_runs(&self.shape.inner.slice(w.z0, w.z1)) {
                let line: Vec<At> = run.into_iter().map(|(z, r)| self.in_window(w.z0, z, r)).collect();
                c.polyline("thick", &line);
            }
        }
        for (z, end) in [(0.0, End::Front), (self.shape.length, End::Back)] {
            let name = end.word();
            let (top, bottom) = (self.shape.above.at(z), self.shape.below.at(z));
            c.empty(
                "polyline",
                &[
                    ("class", "thick"),
                    ("data-face", name),
                    ("points", &crate::report::svg::joined(&[self.above(z, top), self.below(z, bottom)])),
                ],
            );
        }
        c.close();
    }

    /// Edges: in the section those of the bore, seen behind the cut; below the axis those of the contour.
    fn edges(&self, c: &mut Canvas) {
        c.open(&[("class", "edges")]);
        for e in self.shape.inner.edges() {
            let r = e.before.max(e.after);
            c.line("thick", self.above(e.z, 0.0), self.above(e.z, r));
        }
        for e in self.shape.below.edges() {
            c.line("thick", self.below(e.z, 0.0), self.below(e.z, e.before.max(e.after)));
        }
        // An eccentric's shoulder stands out beyond what lies beside it.
        for e in self.shape.above.edges().into_iter().filter(|e| (e.before - e.after).abs() > NEAR) {
            c.line("thick", self.above(e.z, e.before), self.above(e.z, e.after));
        }
        c.close();
    }

    /// A screw thread after ISO 6410-1 (read): crests thick, roots thin, its end a thick line.
    fn thread(&self, c: &mut Canvas, t: &Thread) {
        let (z0, z1) = ends(t.zone);
        if t.internal {
            let r = t.major.to_mm() / 2.0;
            self.along(c, "thin", (z0, z1), |_| r, 1.0);
            for z in [z0, z1] {
                let wall = self.shape.inner.at(z);
                if z > NEAR && z < self.shape.length - NEAR && wall < r {
                    c.line("thick", self.above(z, wall), self.above(z, r));
                }
            }
            return;
        }
        let depth = t.depth().to_mm();
        let middle = (t.zone.start + t.zone.end) / 2.0;
        let blank = contour(self.part).into_iter().find(|s| s.zone.start <= middle && s.zone.end >= middle);
        let crest = |z: f64| blank.map_or(t.major, |s| s.dia_at(Length::mm(z))).to_mm() / 2.0;
        let root = |z: f64| (crest(z) - depth).max(0.0);
        for (profile, sign) in [(&self.shape.above, 1.0), (&self.shape.below, -1.0)] {
            // A chamfer takes the roots at the end.
            let seen = |z: f64| profile.around(z).0.min(profile.around(z).1) >= root(z) - NEAR;
            let steps = 200;
            let places: Vec<f64> =
                (0..=steps).map(|i| z0 + (z1 - z0) * f64::from(i) / f64::from(steps)).filter(|z| seen(*z)).collect();
            if let (Some(a), Some(b)) = (places.first(), places.last()) {
                self.along(c, "thin", (*a, *b), root, sign);
            }
            for z in [z0, z1] {
                if z <= NEAR || z >= self.shape.length - NEAR {
                    continue;
                }
                let (before, after) = profile.around(z);
                let (own, other) = if z <= z0 + NEAR { (after, before) } else { (before, after) };
                // At a relief or a shoulder the contour ends the thread already.
                if (own - other).abs() <= NEAR {
                    let foot = if sign > 0.0 { root(z) } else { 0.0 };
                    c.line("thick", self.above(z, foot * sign), self.above(z, own * sign));
                }
            }
        }
    }

    /// A line at a radius along a stretch, left out where the view is broken.
    fn along(&self, c: &mut Canvas, class: &str, (z0, z1): (f64, f64), r: impl Fn(f64) -> f64, sign: f64) {
        for w in &self.axis.windows {
            let (a, b) = (z0.max(w.z0), z1.min(w.z1));
            if b - a > NEAR {
                let (from, to) = (r(a) * sign, r(b) * sign);
                c.line(class, self.in_window(w.z0, a, from), self.in_window(w.z0, b, to));
            }
        }
    }

    /// A groove in an end face, cut into the hatching.
    fn face_groove(&self, c: &mut Canvas, g: &Groove) {
        let (GrooveSide::Face(end), Some(larger)) = (g.side, &g.outer_dia) else { return };
        let (z0, z1) = ends(g.zone);
        let (low, high) = (g.dia.nominal.to_mm() / 2.0, larger.nominal.to_mm() / 2.0);
        // The face line is thicker than the groove's mouth: a little beyond it is wiped as well.
        let over = 0.3 / self.axis.scale;
        let (mouth, floor) = match end {
            End::Front => (z0 - over, z1),
            End::Back => (z1 + over, z0),
        };
        let x_mouth = self.axis.x(z0.max(0.0)) + (mouth - z0) * self.axis.scale;
        let (x_floor, y_low) = self.above(floor, low);
        let y_high = self.above(floor, high).1;
        c.polygon("paper", &[(x_mouth, y_low), (x_floor, y_low), (x_floor, y_high), (x_mouth, y_high)]);
        c.polyline("thick", &[(x_mouth, y_low), (x_floor, y_low), (x_floor, y_high), (x_mouth, y_high)]);
    }

    /// Break lines: thin, with a zigzag, ISO 128-2 type 01.1.19 (from memory).
    fn breaks(&self, c: &mut Canvas) {
        for pair in self.axis.windows.windows(2) {
            let (z_left, z_right) = (pair[0].z1, pair[1].z0);
            for (start, z) in [(pair[0].z0, z_left), (pair[1].z0, z_right)] {
                let x = self.in_window(start, z, 0.0).0;
                let top = self.in_window(start, z, self.shape.above.at(z)).1 - 2.0;
                let bottom = self.in_window(start, z, -self.shape.below.at(z)).1 + 2.0;
                // The zigzag stands off the axis, where the chain line runs.
                let middle = (top + self.y) / 2.0;
                c.polyline(
                    "thin break",
                    &[
                        (x, top),
                        (x, middle - 1.1),
                        (x - 0.8, middle - 0.5),
                        (x + 0.8, middle + 0.5),
                        (x, middle + 1.1),
                        (x, bottom),
                    ],
                );
            }
        }
    }
}

/// The runs of a hollow contour, each from wall to wall.
fn hollow_runs(spans: &[Span]) -> Vec<Vec<(f64, f64)>> {
    let mut runs: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut open: Vec<Span> = Vec::new();
    for s in spans {
        if s.r0 > NEAR || s.r1 > NEAR {
            open.push(*s);
        } else if !open.is_empty() {
            runs.push(points(&open));
            open.clear();
        }
    }
    if !open.is_empty() {
        runs.push(points(&open));
    }
    runs
}
