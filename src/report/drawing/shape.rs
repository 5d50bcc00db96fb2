//! The contour of a part and the contour of its bore, from its features.

use super::profile::{NEAR, Profile, Span};
use crate::model::part::{Chamfer, End, GrooveSide, Kind, Part, Radius, SocketShape, Sphere, Turn, Zone};
use crate::model::profile::contour;

/// Pieces of a quarter of a circle.
const PIECES: u32 = 10;

/// Half the included angle of a drill's point, 118 deg: common practice, no source.
const HALF_POINT: f64 = 59.0;

/// The side of the axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Above,
    Below,
}

/// A part as its surfaces of revolution.
#[derive(Debug)]
pub(super) struct Shape {
    pub(super) length: f64,
    /// Metal above the axis, in the section.
    pub(super) above: Profile,
    /// Metal below the axis, seen from outside; an eccentric makes it another one.
    pub(super) below: Profile,
    /// How far the section is hollow from the axis.
    pub(super) inner: Profile,
}

impl Shape {
    pub(super) fn of(part: &Part) -> Shape {
        let length = part.length.nominal.to_mm();
        Shape { length, above: outer(part, Side::Above), below: outer(part, Side::Below), inner: inner(part) }
    }

    /// The largest radius of all.
    pub(super) fn largest(&self) -> f64 {
        self.above.largest(0.0, self.length).max(self.below.largest(0.0, self.length))
    }
}

/// A zone in mm.
pub(super) fn ends(zone: Zone) -> (f64, f64) {
    (zone.start.to_mm(), zone.end.to_mm())
}

/// How far an eccentric's axis stands above the part's, seen square to the section.
pub(super) fn lift(turn: &Turn) -> f64 {
    turn.offset.as_ref().map_or(0.0, |(offset, clock)| offset.nominal.to_mm() * libm::cos(clock.to_deg().to_radians()))
}

fn outer(part: &Part, side: Side) -> Profile {
    let mut p = Profile::axis(part.length.nominal.to_mm());
    let row = contour(part);
    for segment in &row {
        let (z0, z1) = ends(segment.zone);
        let (r0, r1) = (segment.start_dia.to_mm() / 2.0, segment.end_dia.to_mm() / 2.0);
        match &part.features[segment.feature].kind {
            Kind::Sphere(_) => {}
            Kind::Turn(t) => {
                let lift = if side == Side::Above { lift(t) } else { -lift(t) };
                p.raise(Span::even(z0, z1, r0 + lift));
            }
            _ => p.raise(Span::new((z0, z1), (r0, r1))),
        }
    }
    // Where a sphere's centre lies follows from what it joins.
    for f in &part.features {
        if let Kind::Sphere(s) = &f.kind {
            sphere(&mut p, s);
        }
    }
    for f in &part.features {
        match &f.kind {
            Kind::Groove(g) if g.side == GrooveSide::External => {
                groove(&mut p, ends(g.zone), g.dia.nominal.to_mm() / 2.0, g.corner_radius.map(|r| r.to_mm()));
            }
            Kind::Groove(g) => {
                if let (GrooveSide::Face(_), Some(_)) = (g.side, &g.outer_dia) {
                    // Drawn over the hatching: a profile has one radius at a place.
                }
            }
            Kind::Undercut(u) if !u.inside => groove(&mut p, ends(u.zone), u.dia.nominal.to_mm() / 2.0, None),
            Kind::Polygon(g) if !g.as_stock => {
                let (z0, z1) = ends(g.zone);
                p.cut(Span::even(z0, z1, g.corners().to_mm() / 2.0));
            }
            _ => {}
        }
    }
    for f in &part.features {
        match &f.kind {
            Kind::Chamfer(c) if !c.inside => chamfer(&mut p, c),
            Kind::Radius(r) if !r.inside => radius(&mut p, r),
            _ => {}
        }
    }
    p
}

fn groove(p: &mut Profile, (z0, z1): (f64, f64), r: f64, corner: Option<f64>) {
    p.cut(Span::even(z0, z1, r));
    let Some(rho) = corner.filter(|rho| *rho > NEAR && *rho <= (z1 - z0) / 2.0) else { return };
    let height = (p.around(z0).0 - r).min(p.around(z1).1 - r);
    for (a, b) in quarter(rho) {
        let (ha, hb) = ((rho - a.1).min(height), (rho - b.1).min(height));
        if ha > 0.0 || hb > 0.0 {
            p.raise(Span { smooth: true, ..Span::new((z0 + a.0, z0 + b.0), (r + ha, r + hb)) });
            p.raise(Span { smooth: true, ..Span::new((z1 - b.0, z1 - a.0), (r + hb, r + ha)) });
        }
    }
}

/// A convex quarter of a circle: how far along, and how high, from its foot to its crown.
fn quarter(rho: f64) -> impl Iterator<Item = ((f64, f64), (f64, f64))> {
    let point = move |i: u32| {
        let angle = f64::from(i) / f64::from(PIECES) * std::f64::consts::FRAC_PI_2;
        (rho * (1.0 - libm::cos(angle)), rho * libm::sin(angle))
    };
    (0..PIECES).map(move |i| (point(i), point(i + 1)))
}

fn sphere(p: &mut Profile, s: &Sphere) {
    let length = p.spans.last().map_or(0.0, |s| s.z1);
    let (z0, z1) = ends(s.zone);
    let r = s.dia.nominal.to_mm() / 2.0;
    let height = z1 - z0;
    let at_front = z0 <= NEAR;
    let at_back = z1 >= length - NEAR;
    // A ball that is more than a half, or that runs smoothly into what follows, has its pole at the face; otherwise its
    // largest circle is the face, and what is rounded is the under-surface.
    let joined = if at_front { p.around(z1).1 } else { p.around(z0).0 };
    let rim = libm::sqrt((2.0 * r * height - height * height).max(0.0));
    let ball = height > r * 1.02 || joined >= rim * 0.95;
    let centre = match (at_front, at_back) {
        (true, false) if ball => r,
        (true, false) => 0.0,
        (false, true) if ball => length - r,
        (false, true) => length,
        _ => (z0 + z1) / 2.0,
    };
    let pieces = PIECES * 4;
    // Even angles, so that the pole is as round as the rest.
    let angle = |z: f64| libm::acos(((z - centre) / r).clamp(-1.0, 1.0));
    let (from, to) = (angle(z0), angle(z1));
    let point = |i: u32| {
        let a = from + (to - from) * f64::from(i) / f64::from(pieces);
        (centre + r * libm::cos(a), r * libm::sin(a).max(0.0))
    };
    for i in 0..pieces {
        let (a, b) = (point(i), point(i + 1));
        p.raise(Span { smooth: true, ..Span::new((a.0, b.0), (a.1, b.1)) });
    }
}

fn chamfer(p: &mut Profile, c: &Chamfer) {
    let (at, w) = (c.at.to_mm(), c.width.to_mm());
    let drop = w * libm::tan(c.angle.to_deg().to_radians());
    let (before, after) = p.around(at);
    if at <= NEAR || after > before && at < p.spans.last().map_or(0.0, |s| s.z1) - NEAR {
        let top = p.around(at + w).0;
        p.cut(Span::new((at, at + w), ((after - drop).max(0.0), top)));
    } else {
        let top = p.around(at - w).1;
        p.cut(Span::new((at - w, at), (top, (before - drop).max(0.0))));
    }
}

fn radius(p: &mut Profile, c: &Radius) {
    let length = p.spans.last().map_or(0.0, |s| s.z1);
    let (at, rho) = (c.at.to_mm(), c.radius.to_mm());
    let (before, after) = p.around(at);
    let smooth = |z, r| Span { smooth: true, ..Span::new(z, r) };
    if at <= NEAR || at >= length - NEAR {
        let base = before - rho;
        for (a, b) in quarter(rho) {
            let radii = (base + a.1, base + b.1);
            if at <= NEAR {
                p.cut(smooth((a.0, b.0), radii));
            } else {
                p.cut(smooth((at - b.0, at - a.0), (radii.1, radii.0)));
            }
        }
        return;
    }
    // A shoulder: the fillet lies on the smaller side.
    let (low, high) = (before.min(after), before.max(after));
    for (a, b) in quarter(rho) {
        let radii = ((low + rho - a.1).min(high), (low + rho - b.1).min(high));
        if after < before {
            p.raise(smooth((at + a.0, at + b.0), radii));
        } else {
            p.raise(smooth((at - b.0, at - a.0), (radii.1, radii.0)));
        }
    }
}

fn inner(part: &Part) -> Profile {
    let length = part.length.nominal.to_mm();
    let mut p = Profile::axis(length);
    for f in &part.features {
        match &f.kind {
            Kind::Bore(b) => {
                let (z0, z1) = ends(b.zone);
                p.raise(Span::even(z0, z1, b.dia.nominal.to_mm() / 2.0));
            }
            Kind::Thread(t) if t.internal => {
                let (z0, z1) = ends(t.zone);
                p.raise(Span::even(z0, z1, t.minor.to_mm() / 2.0));
            }
            Kind::Taper(t) if t.internal => {
                let radii = (t.start_dia.nominal.to_mm() / 2.0, t.end_dia.nominal.to_mm() / 2.0);
                p.raise(Span::new(ends(t.zone), radii));
            }
            Kind::Groove(g) if g.side == GrooveSide::Internal => {
                let (z0, z1) = ends(g.zone);
                p.raise(Span::even(z0, z1, g.dia.nominal.to_mm() / 2.0));
            }
            Kind::Undercut(u) if u.inside => {
                let (z0, z1) = ends(u.zone);
                p.raise(Span::even(z0, z1, u.dia.nominal.to_mm() / 2.0));
            }
            Kind::Socket(s) => {
                let depth = s.depth.to_mm();
                let (r, floor) = socket_radii(&s.shape, depth);
                match s.from {
                    End::Front => p.raise(Span::new((0.0, depth), (r, floor))),
                    End::Back => p.raise(Span::new((length - depth, length), (floor, r))),
                }
            }
            Kind::Slot(s) if s.end.is_some() => {
                let (z0, z1) = ends(s.zone);
                p.raise(Span::even(z0, z1, s.width.nominal.to_mm() / 2.0));
            }
            _ => {}
        }
    }
    points_of_drills(&mut p, part, length);
    for f in &part.features {
        match &f.kind {
            Kind::Chamfer(c) if c.inside => mouth(&mut p, c, length),
            Kind::Radius(r) if r.inside => {
                let c = Chamfer { width: r.radius, angle: crate::quantity::Angle::deg(45.0), at: r.at, inside: true };
                mouth(&mut p, &c, length);
            }
            _ => {}
        }
    }
    p
}

/// Half the width of a drive at its mouth and at its floor.
pub(super) fn socket_radii(shape: &SocketShape, depth: f64) -> (f64, f64) {
    match shape {
        SocketShape::Hex(across) => (across.nominal.to_mm() / 2.0, across.nominal.to_mm() / 2.0),
        SocketShape::Hexalobe { outer, .. } => (outer.to_mm() / 2.0, outer.to_mm() / 2.0),
        SocketShape::Slot(width) => (width.nominal.to_mm() / 2.0, width.nominal.to_mm() / 2.0),
        // Wings under 26.5 deg, the flank of a cross recess; from memory.
        SocketShape::Cross(_) => (depth * 0.6, depth * 0.1),
    }
}

/// A blind bore ends in the cone of its drill, unless something goes on from there or its bottom is flat.
fn points_of_drills(p: &mut Profile, part: &Part, length: f64) {
    let mut cones = Vec::new();
    for f in &part.features {
        let Kind::Bore(b) = &f.kind else { continue };
        if b.through || b.flat_bottom {
            continue;
        }
        let (z0, z1) = ends(b.zone);
        let r = b.dia.nominal.to_mm() / 2.0;
        let height = r / libm::tan(HALF_POINT.to_radians());
        match b.from {
            End::Front if z1 < length - NEAR && p.around(z1).1 <= NEAR => {
                cones.push(Span::new((z1, (z1 + height).min(length)), (r, 0.0)));
            }
            End::Back if z0 > NEAR && p.around(z0).0 <= NEAR => {
                cones.push(Span::new(((z0 - height).max(0.0), z0), (0.0, r)));
            }
            _ => {}
        }
    }
    for cone in cones {
        p.raise(cone);
    }
}

/// A chamfer at the mouth of a bore, or at the step to a smaller one.
fn mouth(p: &mut Profile, c: &Chamfer, length: f64) {
    let (at, w) = (c.at.to_mm(), c.width.to_mm());
    let rise = w * libm::tan(c.angle.to_deg().to_radians());
    let (before, after) = p.around(at);
    if at <= NEAR || at < length - NEAR && after < before {
        p.raise(Span::new((at, (at + w).min(length)), (after + rise, after)));
    } else {
        p.raise(Span::new(((at - w).max(0.0), at), (before, before + rise)));
    }
}
