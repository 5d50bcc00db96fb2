//! What is drilled and milled, in its place in the view: holes with their lean and centre lines, slots, keyways, flats,
//! polygons, knurls, drives, sculpted and engraved surfaces.

use super::profile::{NEAR, Profile};
use super::shape::ends;
use super::view::View;
use crate::model::part::{End, FeatureId, Hole, Kind, SocketShape};
use crate::report::svg::{At, Canvas};

/// How a hole is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shown {
    /// Cut in the section; a hole that lies elsewhere round the part is turned into its plane.
    Section,
    /// Hidden in the lower half: the section's place is taken by another hole.
    Hidden,
    /// By its axis and mouths alone: the lower half is taken as well.
    Axis,
}

/// The line of a hole's axis in the section: where it meets the contour, and the way inwards.
#[derive(Clone, Copy, Debug)]
struct Channel {
    z: f64,
    r: f64,
    dz: f64,
    dr: f64,
    half: f64,
    depth: Option<f64>,
}

impl View<'_> {
    pub(super) fn milled(&self, c: &mut Canvas, id: FeatureId) {
        match &self.part.features[id].kind {
            Kind::Hole(h) if h.angle.value.to_deg() < 0.5 => self.end_hole(c, h),
            Kind::Hole(h) => self.cross_hole(c, id, h),
            Kind::Keyway(k) => {
                let (z0, z1) = ends(k.zone);
                self.notch(c, z0, z1, k.depth.to_mm());
            }
            Kind::Slot(s) => {
                let (z0, z1) = ends(s.zone);
                match s.end {
                    None => self.notch(c, z0, z1, s.depth.to_mm()),
                    Some(_) => {
                        let half = s.width.nominal.to_mm() / 2.0;
                        let (a, b) = (self.below(z0, half), self.below(z1, half));
                        c.polygon("paper", &[self.below(z0, 0.0), a, b, self.below(z1, 0.0)]);
                        c.polyline("thick", &[a, b]);
                        let floor = if z0 <= NEAR { z1 } else { z0 };
                        c.line("thick", self.below(floor, 0.0), self.below(floor, half));
                    }
                }
            }
            Kind::Flat(f) => self.faces(c, ends(f.zone), f.from_axis.nominal.to_mm(), &[0.0]),
            Kind::Polygon(g) => {
                let turn = 360.0 / f64::from(g.sides.max(3));
                self.faces(c, ends(g.zone), g.across.nominal.to_mm() / 2.0, &[0.0, turn]);
            }
            Kind::Knurl(k) => {
                let (z0, z1) = ends(k.zone);
                let straight = k.form.as_deref().is_some_and(|f| f.starts_with("RA"));
                let fill = format!("url(#{}-knurl{})", self.prefix, if straight { "-straight" } else { "" });
                let r = self.shape.below.at((z0 + z1) / 2.0);
                let (a, b) = (self.below(z0, 0.0), self.below(z1, r));
                let points = crate::report::svg::joined(&[a, (b.0, a.1), b, (a.0, b.1)]);
                c.empty("polygon", &[("fill", &fill), ("points", &points)]);
            }
            Kind::Socket(s) => {
                // The wings and flats of a drive are seen as lines along the axis.
                let (z0, z1) = match s.from {
                    End::Front => (0.0, s.depth.to_mm()),
                    End::Back => (self.shape.length - s.depth.to_mm(), self.shape.length),
                };
                let (mouth, _) = super::shape::socket_radii(&s.shape, s.depth.to_mm());
                let lines: &[f64] = match s.shape {
                    SocketShape::Hex(_) => &[0.577],
                    SocketShape::Hexalobe { .. } => &[0.45, 0.75],
                    SocketShape::Slot(_) | SocketShape::Cross(_) => &[],
                };
                for share in lines {
                    c.line("edge", self.above(z0, mouth * share), self.above(z1, mouth * share));
                }
            }
            Kind::Contour(k) => {
                let (z0, z1) = ends(k.zone);
                for share in [0.3, 0.55, 0.8] {
                    self.wave(c, z0, z1, share);
                }
            }
            Kind::Engrave(e) => {
                let z = e.at.to_mm();
                let half = e.height.to_mm() / 2.0;
                let r = (self.shape.below.at(z) * 0.5).min(half * 4.0);
                let (a, b) = (self.below(z - half, r * 0.4), self.below(z + half, r));
                c.polygon("dashed", &[a, (b.0, a.1), b, (a.0, b.1)]);
            }
            _ => {}
        }
    }

    /// A curve that follows the contour at a share of its radius: a sculpted surface.
    fn wave(&self, c: &mut Canvas, z0: f64, z1: f64, share: f64) {
        let steps = 24;
        let line: Vec<At> = (0..=steps)
            .map(|i| {
                let t = f64::from(i) / f64::from(steps);
                let z = z0 + (z1 - z0) * t;
                let swing = 0.08 * libm::sin(t * std::f64::consts::TAU);
                self.below(z, self.shape.below.at(z) * (share + swing))
            })
            .collect();
        c.polyline("thin", &line);
    }

    /// A cut from above into the section: a keyway or a slot, turned into the plane of the section.
    fn notch(&self, c: &mut Canvas, z0: f64, z1: f64, depth: f64) {
        let top = self.shape.above.at((z0 + z1) / 2.0);
        let floor = (top - depth).max(self.shape.inner.at((z0 + z1) / 2.0));
        let over = 0.3 / self.axis.scale;
        let (a, b) = (self.above(z0, floor), self.above(z1, floor));
        let (top_a, top_b) = (self.above(z0, top + over), self.above(z1, top + over));
        c.polygon("paper", &[top_a, a, b, top_b]);
        c.polyline("thick", &[self.above(z0, top), a, b, self.above(z1, top)]);
        // The surface beyond the cut, seen behind it.
        c.line("edge", self.above(z0, top), self.above(z1, top));
    }

    /// Flats below the axis, the first of them facing the reader and crossed by thin diagonals; `turns` are their angles.
    fn faces(&self, c: &mut Canvas, (z0, z1): (f64, f64), apothem: f64, turns: &[f64]) {
        let r = self.shape.below.at((z0 + z1) / 2.0).min(self.shape.below.largest(z0, z1));
        if r <= apothem {
            return;
        }
        let half = libm::acos((apothem / r).clamp(-1.0, 1.0)).to_degrees();
        for turn in turns {
            let height = |deg: f64| (deg < 90.0).then(|| r * libm::sin(deg.to_radians()));
            let (low, high) = (height((turn - half).max(0.0)), height(turn + half).unwrap_or(r));
            let low = low.unwrap_or(r);
            c.line("edge", self.below(z0, high), self.below(z1, high));
            if *turn > 0.0 {
                c.line("edge", self.below(z0, low), self.below(z1, low));
                continue;
            }
            for z in [z0, z1] {
                c.line("edge", self.below(z, 0.0), self.below(z, high));
            }
            // The half of both diagonals that lies below the axis.
            let middle = self.below((z0 + z1) / 2.0, 0.0);
            let middle = ((self.axis.x(z0) + self.axis.x(z1)) / 2.0, middle.1);
            c.line("thin", middle, self.below(z0, high));
            c.line("thin", middle, self.below(z1, high));
        }
    }

    fn end_hole(&self, c: &mut Canvas, h: &Hole) {
        let length = self.shape.length;
        let (r, half) = (h.circle.map_or(0.0, |d| d.to_mm() / 2.0), h.dia.nominal.to_mm() / 2.0);
        let start = h.at.to_mm();
        let step = if h.opens == End::Front { 1.0 } else { -1.0 };
        let end = match h.depth {
            Some(depth) if !h.through => start + step * depth.to_mm(),
            _ => self.leaves(r, start, step),
        };
        let (z0, z1) = (start.min(end).max(0.0), start.max(end).min(length));
        let over = 0.3 / self.axis.scale;
        let x = |z: f64, beyond: f64| self.axis.x(z) + beyond * over * self.axis.scale;
        let (left, right) = match (h.through, h.opens) {
            (true, _) => (-1.0, 1.0),
            (false, End::Front) => (-1.0, 0.0),
            (false, End::Back) => (0.0, 1.0),
        };
        let (top, bottom) = (self.above(0.0, r + half).1, self.above(0.0, r - half).1);
        let (x0, x1) = (x(z0, left), x(z1, right));
        c.polygon("paper", &[(x0, top), (x1, top), (x1, bottom), (x0, bottom)]);
        c.line("thick", (self.axis.x(z0), top), (self.axis.x(z1), top));
        c.line("thick", (self.axis.x(z0), bottom), (self.axis.x(z1), bottom));
        if !h.through {
            // The floor, and the point of the drill.
            let z = if h.opens == End::Front { z1 } else { z0 };
            let tip = (z + step * half * 0.6).clamp(0.0, length);
            let apex = self.above(tip, r);
            c.polygon("paper", &[self.above(z, r + half), apex, self.above(z, r - half)]);
            c.polyline("thick", &[self.above(z, r + half), apex, self.above(z, r - half)]);
            c.line("thick", self.above(z, r + half), self.above(z, r - half));
        }
        // The face is seen behind the mouth.
        let face = self.axis.x(start);
        c.line("edge", (face, top), (face, bottom));
        let y = self.above(0.0, r).1;
        c.line("chain", (self.axis.x(z0) - 3.0, y), (self.axis.x(z1) + 3.0, y));
    }

    /// Where a line parallel to the axis leaves the metal.
    fn leaves(&self, r: f64, start: f64, step: f64) -> f64 {
        let mut end = start;
        let spans: Vec<_> = self.shape.above.spans.to_vec();
        let ordered: Vec<_> = if step > 0.0 { spans } else { spans.into_iter().rev().collect() };
        for s in ordered {
            let ahead = if step > 0.0 { s.z0 >= end - NEAR } else { s.z1 <= end + NEAR };
            if ahead {
                if s.r0.min(s.r1) <= r {
                    break;
                }
                end = if step > 0.0 { s.z1 } else { s.z0 };
            }
        }
        end
    }

    fn channel(&self, h: &Hole) -> Channel {
        let z = h.at.to_mm();
        let lean = h.angle.value.to_deg().to_radians();
        let way = if h.opens == End::Front { 1.0 } else { -1.0 };
        Channel {
            z,
            r: self.shape.above.at(z),
            dz: way * libm::cos(lean),
            dr: -libm::sin(lean),
            half: h.dia.nominal.to_mm() / 2.0,
            depth: h.depth.filter(|_| h.into.is_none() && !h.through).map(|d| d.to_mm()),
        }
    }

    /// How a hole is shown: in the section, unless one that stands before it takes the place there.
    fn shown(&self, id: FeatureId) -> Shown {
        let Kind::Hole(own) = &self.part.features[id].kind else { return Shown::Section };
        let reach = |h: &Hole| {
            let ch = self.channel(h);
            let end = self.pierced(&ch, 0.0).map_or(ch.z, |(_, z1, _)| z1);
            let wide = ch.half / ch.dr.abs().max(0.1);
            (ch.z.min(end) - wide, ch.z.max(end) + wide)
        };
        let (a0, a1) = reach(own);
        let taken = |place: Shown| {
            self.part.features.iter().take(id).enumerate().any(|(other, f)| match &f.kind {
                Kind::Hole(h) if h.angle.value.to_deg() >= 0.5 && self.shown(other) == place => {
                    let (b0, b1) = reach(h);
                    a0 < b1 && b0 < a1
                }
                Kind::Keyway(k) => place == Shown::Section && a0 < k.zone.end.to_mm() && k.zone.start.to_mm() < a1,
                _ => false,
            })
        };
        if !taken(Shown::Section) {
            Shown::Section
        } else if !taken(Shown::Hidden) {
            Shown::Hidden
        } else {
            Shown::Axis
        }
    }

    /// The stretch of a line parallel to a channel's axis that lies in metal: where it enters and where it leaves, as
    /// `(z0, z1)` with both radii.
    fn pierced(&self, ch: &Channel, aside: f64) -> Option<(f64, f64, (f64, f64))> {
        let (outer, inner) = (&self.shape.above, &self.shape.inner);
        // Square to the axis of the channel.
        let (oz, or) = (ch.z - ch.dr * aside, ch.r + ch.dz * aside);
        let far = 2.0 * self.shape.largest() + ch.half;
        let at = |t: f64| (oz + ch.dz * t, or + ch.dr * t);
        let radius = |p: &Profile, z: f64| {
            let inside = z >= -NEAR && z <= self.shape.length + NEAR;
            if inside { p.at(z.clamp(0.0, self.shape.length)) } else { 0.0 }
        };
        let metal = |t: f64| {
            let (z, r) = at(t);
            r < radius(outer, z) && r > radius(inner, z) && r > 0.0
        };
        let steps = 1200;
        let reach = ch.depth.unwrap_or(far);
        let place = |i: i32| -far * 0.25 + (reach + far * 0.25) * f64::from(i) / f64::from(steps);
        let first = (0..=steps).find(|i| metal(place(*i)))?;
        let last = (first..=steps).find(|i| !metal(place(*i))).unwrap_or(steps);
        let between = |mut a: f64, mut b: f64| {
            // `a` and `b` stand on two sides of the wall.
            let side = metal(a);
            for _ in 0..40 {
                let middle = (a + b) / 2.0;
                if metal(middle) == side { a = middle } else { b = middle }
            }
            (a + b) / 2.0
        };
        let enters = if first == 0 { place(0) } else { between(place(first - 1), place(first)) };
        let leaves = if metal(place(last)) { place(last) } else { between(place(last - 1), place(last)) };
        let ((z0, r0), (z1, r1)) = (at(enters), at(leaves));
        Some((z0, z1, (r0, r1)))
    }

    fn cross_hole(&self, c: &mut Canvas, id: FeatureId, h: &Hole) {
        let ch = self.channel(h);
        let shown = self.shown(id);
        let hidden = shown != Shown::Section;
        let walls: Vec<(At, At)> = [-1.0, 1.0]
            .iter()
            .filter_map(|side| self.pierced(&ch, side * ch.half))
            .map(|(z0, z1, (r0, r1))| {
                let put = |z, r| if hidden { self.below(z, r) } else { self.above(z, r) };
                (put(z0, r0), put(z1, r1))
            })
            .collect();
        if let [a, b] = walls.as_slice() {
            if shown == Shown::Axis {
                // Its walls would cross those of another.
            } else if hidden {
                c.line("dashed", a.0, a.1);
                c.line("dashed", b.0, b.1);
            } else {
                let beyond = |(from, to): (At, At), by: f64| {
                    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
                    let norm = libm::hypot(dx, dy).max(NEAR);
                    (from.0 - dx / norm * by, from.1 - dy / norm * by)
                };
                // A blind hole keeps its floor.
                let inner = if ch.depth.is_some() { 0.0 } else { 0.35 };
                c.polygon(
                    "paper",
                    &[beyond(*a, 0.35), beyond((a.1, a.0), inner), beyond((b.1, b.0), inner), beyond(*b, 0.35)],
                );
                c.line("thick", a.0, a.1);
                c.line("thick", b.0, b.1);
                if ch.depth.is_some() {
                    c.line("thick", a.1, b.1);
                }
                // The edges of mouth and wall, seen behind the cut.
                c.line("edge", a.0, b.0);
                if ch.depth.is_none() {
                    c.line("edge", a.1, b.1);
                }
            }
        }
        // The axis, a little beyond both ends.
        if let Some((z0, z1, (r0, r1))) = self.pierced(&ch, 0.0) {
            let put = |z, r| if hidden { self.below(z, r) } else { self.above(z, r) };
            let (from, to) = (put(z0, r0), put(z1, r1));
            let norm = libm::hypot(to.0 - from.0, to.1 - from.1).max(NEAR);
            let (ux, uy) = ((to.0 - from.0) / norm, (to.1 - from.1) / norm);
            c.line("chain", (from.0 - ux * 3.0, from.1 - uy * 3.0), (to.0 + ux * 2.0, to.1 + uy * 2.0));
        }
        self.mouths(c, h, &ch, hidden);
    }

    /// Mouths that face the reader, below the axis.
    fn mouths(&self, c: &mut Canvas, h: &Hole, ch: &Channel, hidden: bool) {
        if h.count < 2 && !hidden {
            return;
        }
        // A pattern is turned until one of its holes lies in the section.
        let first = if hidden { h.clock.to_deg() } else { 0.0 };
        for i in 0..h.count {
            let clock = first + 360.0 * f64::from(i) / f64::from(h.count.max(1));
            let (up, near) = (libm::cos(clock.to_radians()), libm::sin(clock.to_radians()));
            // Seen from the reader's side, below the axis, and not edge on.
            if near < 0.45 || up > 1e-9 {
                continue;
            }
            let at = self.below(ch.z, -up * self.shape.below.at(ch.z));
            let s = self.axis.scale;
            let radii = (ch.half / ch.dr.abs().max(0.1) * s, ch.half * near * s);
            if up.abs() < 1e-9 {
                // On the axis: only its lower half lies below.
                let steps = 16;
                let arc: Vec<At> = (0..=steps)
                    .map(|k| {
                        let a = std::f64::consts::PI * f64::from(k) / f64::from(steps);
                        (at.0 - radii.0 * libm::cos(a), at.1 + radii.1 * libm::sin(a))
                    })
                    .collect();
                c.polyline("thick", &arc);
            } else {
                c.ellipse("thick", at, radii);
            }
            c.line("chain", (at.0, at.1 - radii.1 - 1.5), (at.0, at.1 + radii.1 + 1.5));
        }
    }
}
