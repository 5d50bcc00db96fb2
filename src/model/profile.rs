//! The part's outer contour as a row of cones and cylinders, front to back.

use super::part::{FeatureId, Kind, Part, Zone};
use crate::quantity::Length;

/// One stretch of the contour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    pub zone: Zone,
    /// Diameter at the start and at the end of the zone.
    pub start_dia: Length,
    pub end_dia: Length,
    pub feature: FeatureId,
}

impl Segment {
    /// The larger of its two diameters.
    pub fn largest(&self) -> Length {
        self.start_dia.max(self.end_dia)
    }
    /// The smaller of its two diameters.
    pub fn smallest(&self) -> Length {
        self.start_dia.min(self.end_dia)
    }
    /// The mean of its two diameters.
    pub fn mean(&self) -> Length {
        (self.start_dia + self.end_dia) / 2.0
    }
    /// Its diameter at a place within the zone.
    pub fn dia_at(&self, z: Length) -> Length {
        if self.zone.length() <= Length::ZERO {
            return self.start_dia;
        }
        self.start_dia + (self.end_dia - self.start_dia) * ((z - self.zone.start) / self.zone.length())
    }
}

/// The outer contour of a part, in order of z: turns, tapers, spheres and the undercuts and grooves that stand as
/// segments of their own. Grooves that lie within a segment are not cut out here.
pub fn contour(part: &Part) -> Vec<Segment> {
    let mut segments = Vec::new();
    for (feature, f) in part.features.iter().enumerate() {
        let (zone, start_dia, end_dia) = match &f.kind {
            Kind::Turn(t) => (t.zone, t.dia.nominal, t.dia.nominal),
            Kind::Taper(t) if !t.internal => (t.zone, t.start_dia.nominal, t.end_dia.nominal),
            Kind::Sphere(s) => (s.zone, s.dia.nominal, s.dia.nominal),
            Kind::Undercut(u) if !u.inside => (u.zone, u.dia.nominal, u.dia.nominal),
            Kind::Groove(g) if g.side == super::part::GrooveSide::External => (g.zone, g.dia.nominal, g.dia.nominal),
            Kind::Polygon(p) if p.as_stock => (p.zone, p.corners(), p.corners()),
            _ => continue,
        };
        segments.push(Segment { zone, start_dia, end_dia, feature });
    }
    let is_cut = |s: &Segment| matches!(part.features[s.feature].kind, Kind::Groove(_) | Kind::Undercut(_));
    let mut turned: Vec<Zone> = segments.iter().filter(|s| !is_cut(s)).map(|s| s.zone).collect();
    turned.sort_by(|a, b| a.start.total_cmp(&b.start));
    // A cut across the border of two turned segments lies within both together.
    let within_turned = |zone: Zone| {
        let near = Length::mm(1e-6);
        let mut reach = zone.start;
        for t in &turned {
            if t.start <= reach + near && t.end > reach {
                reach = t.end;
            }
        }
        reach >= zone.end - near
    };
    let inside_another = |s: &Segment| is_cut(s) && within_turned(s.zone);
    let mut row: Vec<Segment> = segments.iter().copied().filter(|s| !inside_another(s)).collect();
    row.sort_by(|a, b| a.zone.start.total_cmp(&b.zone.start).then(a.zone.end.total_cmp(&b.zone.end)));
    row
}
