//! The part as its surfaces outside and inside, so that each check compares radii at a place along z.

use super::NEAR;
use crate::model::Part;
use crate::model::part::{Feature, FeatureId, GrooveSide, Kind, Zone};
use crate::model::profile::{Segment, contour};
use crate::quantity::Length;
use crate::quantity::print::number;

/// A surface of revolution, or the circle that a milled surface leaves standing: its radius at both ends of its zone.
#[derive(Clone, Copy, Debug)]
pub(super) struct Surface {
    pub(super) feature: FeatureId,
    pub(super) zone: Zone,
    pub(super) start_radius: Length,
    pub(super) end_radius: Length,
}

impl Surface {
    fn even(feature: FeatureId, zone: Zone, radius: Length) -> Surface {
        Surface { feature, zone, start_radius: radius, end_radius: radius }
    }
    /// Its radius at a place within its zone.
    pub(super) fn radius_at(&self, z: Length) -> Length {
        if self.zone.length() <= NEAR {
            return self.start_radius;
        }
        let share = (z - self.zone.start) / self.zone.length();
        self.start_radius + (self.end_radius - self.start_radius) * share
    }
}

/// A part with its surfaces.
pub(super) struct Solid<'a> {
    pub(super) part: &'a Part,
    /// The turned contour, front to back.
    pub(super) row: Vec<Segment>,
    /// How far metal stands out from the axis, for every surface that cuts it down.
    pub(super) outside: Vec<Surface>,
    /// How far the metal is hollowed out from the axis.
    pub(super) inside: Vec<Surface>,
}

impl<'a> Solid<'a> {
    pub(super) fn of(part: &'a Part) -> Solid<'a> {
        let row = contour(part);
        let mut solid = Solid { part, row, outside: Vec::new(), inside: Vec::new() };
        solid.outside = outside(part, &solid);
        solid.inside = inside(part);
        solid
    }

    /// A length in the unit of the drawing, with as many digits as tell two sizes apart.
    pub(super) fn say(&self, length: Length) -> String {
        match (self.part.inches, length.to_mm()) {
            (true, _) => format!("{} in", number(length.to_inch(), 5)),
            (false, mm) if mm != 0.0 && mm.abs() < 0.1 => format!("{} um", number(mm * 1000.0, 1)),
            (false, mm) => format!("{} mm", number(mm, 4)),
        }
    }

    /// A stretch of z, or of diameters, in the unit of the drawing.
    pub(super) fn span(&self, start: Length, end: Length) -> String {
        match self.part.inches {
            true => format!("{} .. {} in", number(start.to_inch(), 5), number(end.to_inch(), 5)),
            false => format!("{} .. {} mm", number(start.to_mm(), 4), number(end.to_mm(), 4)),
        }
    }

    /// A size by its limits, as the language writes it.
    pub(super) fn limits(&self, low: Length, high: Length) -> String {
        match self.part.inches {
            true => format!("dia {} | {} in", number(low.to_inch(), 5), number(high.to_inch(), 5)),
            false => format!("dia {} | {} mm", number(low.to_mm(), 4), number(high.to_mm(), 4)),
        }
    }

    /// A feature by its number.
    pub(super) fn feature(&self, id: FeatureId) -> &'a Feature {
        &self.part.features[id]
    }

    /// The segments that share a length with a zone.
    pub(super) fn under(&self, zone: Zone) -> impl Iterator<Item = &Segment> {
        self.row.iter().filter(move |s| s.zone.overlap(&zone) > NEAR)
    }

    /// The segments that a place lies in or on the border of.
    pub(super) fn at(&self, z: Length) -> impl Iterator<Item = &Segment> {
        self.row.iter().filter(move |s| s.zone.start <= z + NEAR && s.zone.end >= z - NEAR)
    }

    /// The segment with the largest diameter at a place.
    pub(super) fn largest_at(&self, z: Length) -> Option<&Segment> {
        self.at(z).max_by(|a, b| a.dia_at(z).total_cmp(&b.dia_at(z)))
    }

    /// The surfaces inside that share a length with a zone.
    pub(super) fn hollow(&self, zone: Zone) -> impl Iterator<Item = &Surface> {
        self.inside.iter().filter(move |s| s.zone.overlap(&zone) > NEAR)
    }
}

/// How far a segment's metal certainly reaches from the part's axis: an eccentric's thin side counts.
fn standing(part: &Part, segment: &Segment) -> (Length, Length) {
    let (start, end) = (segment.start_dia / 2.0, segment.end_dia / 2.0);
    match &part.features[segment.feature].kind {
        Kind::Turn(t) => match &t.offset {
            Some((offset, _)) => (start - offset.nominal, end - offset.nominal),
            None => (start, end),
        },
        Kind::Polygon(p) => (p.across.nominal / 2.0, p.across.nominal / 2.0),
        _ => (start, end),
    }
}

fn outside(part: &Part, solid: &Solid) -> Vec<Surface> {
    let mut all: Vec<Surface> = solid
        .row
        .iter()
        .map(|s| {
            let (start_radius, end_radius) = standing(part, s);
            Surface { feature: s.feature, zone: s.zone, start_radius, end_radius }
        })
        .collect();
    let in_row = |id: FeatureId| solid.row.iter().any(|s| s.feature == id);
    for (id, feature) in part.features.iter().enumerate() {
        match &feature.kind {
            Kind::Groove(g) if g.side == GrooveSide::External && !in_row(id) => {
                all.push(Surface::even(id, g.zone, g.dia.nominal / 2.0));
            }
            Kind::Undercut(u) if !u.inside && !in_row(id) => all.push(Surface::even(id, u.zone, u.dia.nominal / 2.0)),
            Kind::Thread(t) if !t.internal => all.push(Surface::even(id, t.zone, t.minor / 2.0)),
            Kind::Flat(f) => all.push(Surface::even(id, f.zone, f.from_axis.nominal)),
            Kind::Polygon(p) if !in_row(id) => all.push(Surface::even(id, p.zone, p.across.nominal / 2.0)),
            Kind::Keyway(k) => all.extend(sunk(solid, id, k.zone, k.depth)),
            Kind::Contour(c) => all.extend(sunk(solid, id, c.zone, c.depth)),
            _ => {}
        }
    }
    all
}

/// What a cut of an even depth leaves of each segment beneath it.
fn sunk(solid: &Solid, id: FeatureId, zone: Zone, depth: Length) -> Vec<Surface> {
    let piece = |s: &Segment| {
        let cut = Zone { start: s.zone.start.max(zone.start), end: s.zone.end.min(zone.end) };
        let left = |z: Length| s.dia_at(z) / 2.0 - depth;
        Surface { feature: id, zone: cut, start_radius: left(cut.start), end_radius: left(cut.end) }
    };
    solid.under(zone).map(piece).collect()
}

fn inside(part: &Part) -> Vec<Surface> {
    let mut all = Vec::new();
    for (id, feature) in part.features.iter().enumerate() {
        match &feature.kind {
            Kind::Bore(b) => all.push(Surface::even(id, b.zone, b.dia.nominal / 2.0)),
            Kind::Groove(g) if g.side == GrooveSide::Internal => {
                all.push(Surface::even(id, g.zone, g.dia.nominal / 2.0));
            }
            Kind::Undercut(u) if u.inside => all.push(Surface::even(id, u.zone, u.dia.nominal / 2.0)),
            Kind::Taper(t) if t.internal => all.push(Surface {
                feature: id,
                zone: t.zone,
                start_radius: t.start_dia.nominal / 2.0,
                end_radius: t.end_dia.nominal / 2.0,
            }),
            Kind::Thread(t) if t.internal => all.push(Surface::even(id, t.zone, t.major / 2.0)),
            Kind::Socket(s) => {
                if let Some(outer) = s.shape.outer() {
                    all.push(Surface::even(id, s.zone(part.length.nominal), outer / 2.0));
                }
            }
            _ => {}
        }
    }
    all
}

/// The stretch of z that a feature takes up, where it has one.
pub(super) fn zone_of(part: &Part, feature: &Feature) -> Option<Zone> {
    match &feature.kind {
        Kind::Turn(f) => Some(f.zone),
        Kind::Taper(f) => Some(f.zone),
        Kind::Sphere(f) => Some(f.zone),
        Kind::Groove(f) => Some(f.zone),
        Kind::Undercut(f) => Some(f.zone),
        Kind::Knurl(f) => Some(f.zone),
        Kind::Thread(f) => Some(f.zone),
        Kind::Bore(f) => Some(f.zone),
        Kind::Slot(f) => Some(f.zone),
        Kind::Keyway(f) => Some(f.zone),
        Kind::Flat(f) => Some(f.zone),
        Kind::Polygon(f) => Some(f.zone),
        Kind::Contour(f) => Some(f.zone),
        Kind::Socket(f) => Some(f.zone(part.length.nominal)),
        Kind::Face(_) | Kind::Radius(_) | Kind::Chamfer(_) | Kind::Hole(_) | Kind::Engrave(_) | Kind::Edges(_) => None,
    }
}

/// The one place in z of a feature that has one.
pub(super) fn place_of(feature: &Feature) -> Option<Length> {
    match &feature.kind {
        Kind::Radius(f) => Some(f.at),
        Kind::Chamfer(f) => Some(f.at),
        Kind::Hole(f) => Some(f.at),
        Kind::Engrave(f) => Some(f.at),
        _ => None,
    }
}

/// What the language calls a feature of this kind.
pub(super) fn kind_word(kind: &Kind) -> &'static str {
    match kind {
        Kind::Face(_) => "face",
        Kind::Turn(_) => "turn",
        Kind::Taper(_) => "taper",
        Kind::Sphere(_) => "sphere",
        Kind::Radius(_) => "radius",
        Kind::Chamfer(_) => "chamfer",
        Kind::Groove(_) => "groove",
        Kind::Undercut(_) => "undercut",
        Kind::Knurl(_) => "knurl",
        Kind::Thread(_) => "thread",
        Kind::Bore(_) => "bore",
        Kind::Hole(_) => "hole",
        Kind::Slot(_) => "slot",
        Kind::Keyway(_) => "keyway",
        Kind::Flat(_) => "flat",
        Kind::Polygon(p) if p.sides == 4 => "square",
        Kind::Polygon(_) => "hex",
        Kind::Socket(_) => "socket",
        Kind::Contour(_) => "contour",
        Kind::Engrave(_) => "engraving",
        Kind::Edges(_) => "statement about edges",
    }
}
