//! What rules measure on a part: mouths of holes and what is left between them, slopes, mass.

use crate::model::part::{End, FeatureId, GrooveSide, Hole, Kind, Zone};
use crate::planning::PartView;
use crate::quantity::{Angle, Length};
use std::f64::consts::PI;

/// The mouths of a feature of holes on the outer surface.
#[derive(Clone, Debug)]
pub(super) struct Mouth {
    pub(super) feature: FeatureId,
    pub(super) dia: Length,
    /// Between one hole and the next of the same feature, at the surface; a part's length where there is one only.
    pub(super) around: Length,
    /// The same where they end in a bore.
    pub(super) inside: Option<Length>,
    /// From the mouth to the nearest edge along the part, negative where it runs across it: the feature that begins there,
    /// nothing for the end face.
    pub(super) edge: Option<(Length, Option<FeatureId>)>,
    /// From the wall of the hole to the nearest socket or bore that it passes.
    pub(super) beside: Option<(Length, FeatureId)>,
    at: Length,
    /// Half of what it takes along the part.
    half: Length,
    surface: Length,
    clock: f64,
    count: u32,
    /// Beside the plane of the axis, where clock positions do not tell how near two holes are.
    offset: bool,
}

impl Mouth {
    /// What is left between the nearest two mouths of two features, by the support of their ellipses along the line between
    /// their middles: never more than there is.
    pub(super) fn between(&self, o: &Mouth) -> Length {
        let along = (self.at - o.at).to_mm();
        let clear = along.abs() - self.half.to_mm() - o.half.to_mm();
        if clear > self.dia.to_mm().max(o.dia.to_mm()) + 1.0 || self.offset || o.offset {
            return Length::mm(clear.max(self.dia.to_mm() + o.dia.to_mm() + 1.0));
        }
        let radius = self.surface.min(o.surface).to_mm() / 2.0;
        let mut least = f64::INFINITY;
        for i in 0..self.count {
            for j in 0..o.count {
                let turn = |m: &Mouth, k: u32| m.clock + 360.0 * f64::from(k) / f64::from(m.count);
                let apart = (turn(self, i) - turn(o, j)).rem_euclid(360.0);
                let across = radius * apart.min(360.0 - apart).to_radians();
                let distance = libm::hypot(along, across);
                let (cosine, sine) = if distance > 0.0 { (along / distance, across / distance) } else { (1.0, 0.0) };
                let support = |m: &Mouth| libm::hypot(m.half.to_mm() * cosine, m.dia.to_mm() / 2.0 * sine);
                least = least.min(distance - support(self) - support(o));
            }
        }
        Length::mm(least)
    }
}

/// The chord between neighbours of a ring, less a hole.
fn ring(dia: Length, count: u32, hole: Length) -> Length {
    dia * libm::sin(PI / f64::from(count)) - hole
}

/// The mouths of all holes of a part, those of end faces without their place along it.
pub(super) fn mouths(view: &PartView) -> Vec<Mouth> {
    let mut found = Vec::new();
    for (feature, f) in view.part.features.iter().enumerate() {
        let Kind::Hole(hole) = &f.kind else { continue };
        let dia = hole.dia.nominal;
        let alone = view.length;
        let end_hole = hole.angle.value < Angle::deg(0.5);
        let surface = if end_hole { hole.circle.unwrap_or(Length::ZERO) } else { view.dia_at(hole.at) };
        let around = if hole.count > 1 { ring(surface, hole.count, dia) } else { alone };
        let inside =
            hole.into.filter(|_| hole.count > 1 && !end_hole).and_then(|f| match &view.part.features[f].kind {
                Kind::Bore(b) => Some(ring(b.dia.nominal, hole.count, dia)),
                _ => None,
            });
        let half = hole.mouth_half_length();
        let edge = if end_hole { end_edge(view, hole) } else { nearest_edge(view, hole.at, half) };
        found.push(Mouth {
            feature,
            dia,
            around,
            inside,
            edge,
            beside: beside(view, hole),
            at: hole.at,
            half: if end_hole { Length::ZERO } else { half },
            surface,
            clock: hole.clock.to_deg(),
            count: hole.count.max(1),
            offset: end_hole || hole.offset != Length::ZERO,
        });
    }
    found
}

/// Metal outside a circle of end holes, or between it and the bore that opens there.
fn end_edge(view: &PartView, hole: &Hole) -> Option<(Length, Option<FeatureId>)> {
    let circle = hole.circle?;
    let outside = (view.dia_at(hole.at) - circle - hole.dia.nominal) / 2.0;
    let bore = view.bore_at(hole.at);
    let inside = (circle - bore - hole.dia.nominal) / 2.0;
    Some((if bore > Length::ZERO { outside.min(inside) } else { outside }, None))
}

/// From a mouth to the nearest shoulder, groove or end face.
fn nearest_edge(view: &PartView, at: Length, half: Length) -> Option<(Length, Option<FeatureId>)> {
    let mut nearest: Option<(Length, Option<FeatureId>)> = None;
    let mut edge = |z: Length, feature: Option<FeatureId>| {
        let wall = (z - at).abs() - half;
        if nearest.is_none_or(|(w, _)| wall < w) {
            nearest = Some((wall, feature));
        }
    };
    edge(Length::ZERO, None);
    edge(view.length, None);
    // A step that a hole's mouth would notice.
    let step = Length::mm(0.02);
    for pair in view.contour.windows(2) {
        if (pair[0].end_dia - pair[1].start_dia).abs() > step {
            let feature = if pair[0].zone.end <= at { pair[0].feature } else { pair[1].feature };
            edge(pair[0].zone.end, Some(feature));
        }
    }
    for (id, f) in view.part.features.iter().enumerate() {
        let zone: Zone = match &f.kind {
            Kind::Groove(g) if g.side == GrooveSide::External => g.zone,
            Kind::Undercut(u) if !u.inside => u.zone,
            _ => continue,
        };
        // A hole in the ground of a wide groove has its edges beside it as any other.
        edge(zone.start, Some(id));
        edge(zone.end, Some(id));
    }
    nearest
}

/// From the wall of a hole in the plane of the axis to the nearest socket or bore that it passes and does not break into,
/// a corner of a socket turned towards it: nothing says how a drive lies about the axis.
fn beside(view: &PartView, hole: &Hole) -> Option<(Length, FeatureId)> {
    if hole.is_axial() || hole.offset != Length::ZERO {
        return None;
    }
    let angle = hole.angle.value.to_deg().to_radians();
    let (sine, cosine) = (libm::sin(angle), libm::cos(angle));
    let lean = if hole.opens == End::Front { 1.0 } else { -1.0 };
    let mouth = (hole.at.to_mm(), view.dia_at(hole.at).to_mm() / 2.0);
    // The axis of the hole to its bottom, to the bore that it ends in, or to the part's own axis.
    let ground = hole.into.map_or(Length::ZERO, |f| match &view.part.features[f].kind {
        Kind::Bore(b) => b.dia.nominal / 2.0,
        _ => Length::ZERO,
    });
    let run = hole.depth.map_or((mouth.1 - ground.to_mm()) / sine.max(0.05), Length::to_mm);
    let bottom = (mouth.0 + lean * run * cosine, mouth.1 - run * sine);
    let radius = hole.dia.nominal.to_mm() / 2.0;
    let mut least: Option<(Length, FeatureId)> = None;
    for (feature, f) in view.part.features.iter().enumerate().filter(|(id, _)| hole.into != Some(*id)) {
        let (zone, dia) = match &f.kind {
            Kind::Socket(s) => match s.shape.outer() {
                Some(outer) => (s.zone(view.length), outer),
                None => continue,
            },
            Kind::Bore(b) => (b.zone, b.dia.nominal),
            _ => continue,
        };
        let (low, high, top) = (zone.start.to_mm(), zone.end.to_mm(), dia.to_mm() / 2.0);
        if passes(mouth, bottom, (low, high), top) {
            continue;
        }
        let corners = [(low, top), (high, top)].map(|corner| to_line(corner, mouth, bottom));
        // A wall beside a hole that ends above it.
        let under = if (low..=high).contains(&bottom.0) { bottom.1 - top } else { f64::INFINITY };
        let wall = Length::mm(corners[0].min(corners[1]).min(under) - radius);
        if least.is_none_or(|(w, _)| wall < w) {
            least = Some((wall, feature));
        }
    }
    least
}

/// Whether the line between two points, `(z, r)`, passes a cylinder about the axis: a hole that breaks into it.
fn passes(from: (f64, f64), to: (f64, f64), (low, high): (f64, f64), top: f64) -> bool {
    let at = |t: f64| (from.0 + t * (to.0 - from.0), from.1 + t * (to.1 - from.1));
    // Below the cylinder's wall from here on.
    let sunk = if from.1 > to.1 { ((from.1 - top) / (from.1 - to.1)).max(0.0) } else { 1.0 };
    if sunk >= 1.0 - 1e-9 {
        return false;
    }
    let (a, b) = (at(sunk).0, to.0);
    a.max(b) >= low && a.min(b) <= high
}

/// The distance of a point from a line between two.
fn to_line(p: (f64, f64), from: (f64, f64), to: (f64, f64)) -> f64 {
    let (dz, dr) = (to.0 - from.0, to.1 - from.1);
    let length = dz * dz + dr * dr;
    let t = if length > 0.0 { (((p.0 - from.0) * dz + (p.1 - from.1) * dr) / length).clamp(0.0, 1.0) } else { 0.0 };
    libm::hypot(p.0 - from.0 - t * dz, p.1 - from.1 - t * dr)
}

/// The angle between a cross hole's drill and the normal of the surface that it meets, with the slope of a cone.
pub(super) fn lean_on_surface(view: &PartView, hole: &Hole) -> Angle {
    let near = Length::um(0.01);
    let segment = view.contour.iter().find(|s| hole.at >= s.zone.start - near && hole.at <= s.zone.end + near);
    let slope = segment
        .filter(|s| s.zone.length() > Length::ZERO)
        .map_or(0.0, |s| libm::atan((s.end_dia - s.start_dia) / 2.0 / s.zone.length()).to_degrees());
    // A surface that grows towards the back looks to the front.
    let lean = 90.0 - hole.angle.value.to_deg();
    let lean = match hole.opens {
        End::Front => lean - slope,
        End::Back => lean + slope,
    };
    // Beside the plane of the axis it slopes away to the side as well.
    let radius = (view.dia_at(hole.at) / 2.0).max(Length::um(1.0));
    let aside = libm::asin((hole.offset.abs() / radius).min(1.0)).to_degrees();
    Angle::deg(lean.abs().max(aside))
}
