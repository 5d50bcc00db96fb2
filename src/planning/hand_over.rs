//! The hand-over to the sub-spindle: where it grips, how long, and what pushes against the grip.

use super::methods::cross;
use super::operation::Operation;
use super::{PartView, Task};
use crate::model::machine::{Side, SubSpindle, Swallow};
use crate::model::part::{BarShape, End, FeatureId, GrooveSide, Kind, Polygon, Zone};
use crate::model::profile::Segment;
use crate::quantity::{Force, Length};
use std::f64::consts::PI;
use std::fmt;

/// The shape of the bore of a collet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bore {
    Round(Length),
    /// Six or four sides, and the width across flats.
    Polygon {
        sides: u32,
        across: Length,
    },
}

impl Bore {
    /// The size that is written on the collet: its diameter, or across flats.
    pub fn size(&self) -> Length {
        match self {
            Bore::Round(dia) => *dia,
            Bore::Polygon { across, .. } => *across,
        }
    }

    /// The shape of bar that it would hold.
    pub fn shape(&self) -> BarShape {
        match self {
            Bore::Round(_) => BarShape::Round,
            Bore::Polygon { sides: 4, .. } => BarShape::Square,
            Bore::Polygon { .. } => BarShape::Hex,
        }
    }
}

/// As a collet is ordered: `12 mm`, `hexagon 24 mm`.
impl fmt::Display for Bore {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Bore::Round(dia) => dia.fmt(f),
            Bore::Polygon { sides: 4, across } => write!(f, "square {across}"),
            Bore::Polygon { across, .. } => write!(f, "hexagon {across}"),
        }
    }
}

/// The grip of the sub-spindle on the end that was made first.
#[derive(Clone, Debug, PartialEq)]
pub struct HandOver {
    /// The segment, or the polygon milled on it, that it grips.
    pub feature: FeatureId,
    pub bore: Bore,
    /// The diameter that must pass into the collet: of a polygon over what is left of its corners.
    pub dia: Length,
    /// Length gripped: the plain stretch less what grooves, flats, keyways and mouths of holes take of its surface.
    pub grip: Length,
    /// The plain stretch as it stands.
    pub plain: Length,
    pub needed: Length,
    /// What a collet from stock still holds, a little less than it.
    pub enough: Length,
    pub wall: Length,
    /// It grips the crests of a thread: there is no plain stretch.
    pub on_thread: bool,
    /// It grips flats that were milled at the main spindle.
    pub on_milled_flats: bool,
    /// A larger diameter lies in front of the grip: the collet must open over it.
    pub over: Option<Length>,
    /// How far the part stands out of the sub-spindle's collet for the work there.
    pub overhang: Length,
    /// The greatest push of the work at the sub-spindle into the collet.
    pub push: Force,
}

impl HandOver {
    /// Whether only a collet made for the part holds it.
    pub fn is_special(&self) -> bool {
        self.special().is_some()
    }

    /// Why no collet from stock grips it, where none does.
    pub fn special(&self) -> Option<String> {
        if self.on_thread {
            Some("it grips the crests of a thread".to_owned())
        } else if self.on_milled_flats {
            Some("it grips milled flats".to_owned())
        } else if let Some(over) = self.over {
            Some(format!("it opens over {over}"))
        } else {
            (self.grip < self.enough).then(|| format!("{} of plain length, {} asked", self.grip, self.needed))
        }
    }
}

/// Whether a stop behind the part takes the push of the work at the sub-spindle: the rod of the ejector, drawn back, is
/// that stop, for parts no longer than it ejects (common practice, no source).
pub fn has_stop(sub: &SubSpindle, part: &PartView) -> bool {
    sub.eject.is_some_and(|range| range.contains(part.length))
}

/// The best place to grip for operations at these sides: the longest for its diameter, near the end that was made first.
pub fn find(task: &Task, operations: &[Operation], sides: &[Side]) -> Option<HandOver> {
    let at_sub = || operations.iter().zip(sides).filter(|(_, side)| **side == Side::Sub).map(|(o, _)| o.push);
    let push = at_sub().fold(Force::ZERO, Force::max);
    grip(task, at_sub().next().is_some()).map(|h| HandOver { push, ..h })
}

/// The best grip, for work at the sub-spindle or only to take the part off; on the crests of a thread where nothing plain is long enough.
fn grip(task: &Task, works_there: bool) -> Option<HandOver> {
    let plain = best_grip(task, works_there, false);
    if plain.as_ref().is_some_and(|h| h.grip >= h.needed * task.thresholds.grip_limit) {
        return plain;
    }
    // What is plain would not hold it: the crests may, in a collet made for them.
    let crests = best_grip(task, works_there, true).filter(|h| h.grip >= h.needed * task.thresholds.grip_limit);
    crests.or(plain)
}

/// The distance from the end that is made first beyond which the sub-spindle's tools reach the part: what lies nearer is
/// in its collet.
pub fn stands_out_from(task: &Task) -> Option<Length> {
    grip(task, true).map(|h| task.view.length - h.overhang)
}

/// Whether the piece stands still in the sub-spindle where work across the axis begins, counted from the end made first.
pub fn holds_for_milling(task: &Task, nearest: Length) -> bool {
    grip(task, true)
        .is_some_and(|h| nearest - (task.view.length - h.overhang) <= h.dia * task.thresholds.grip_overhang_limit)
}

/// How far from the end made first the collet of a sub-spindle covers a piece that it supports: the length that holds it, from
/// where its plain stretch nearest to that end begins; and whether it grips elsewhere for its own work afterwards.
pub(super) fn covers(task: &Task) -> Option<(Length, bool)> {
    // Support asks for no more than taking the part off does: any stretch that is long enough, the nearest first.
    let (held, later) = (grip(task, false)?, grip(task, true)?);
    let t = task.thresholds;
    let asked = (held.dia * t.grip_share).max(Length::mm(t.grip_least_mm).min(held.dia * t.grip_small));
    let covered = task.view.length - held.overhang - held.plain + held.plain.min(asked);
    Some((covered, later.overhang != held.overhang))
}

/// The length that holds a diameter: more where work at the sub-spindle tilts the part than where it is only taken off.
fn needed(task: &Task, dia: Length, overhang: Length, works_there: bool) -> Length {
    let t = task.thresholds;
    let (share, least) =
        if works_there { (t.grip_share, t.grip_least_mm) } else { (t.grip_share_idle, t.grip_least_idle_mm) };
    // A stubby part needs less than its share: a third of what stands out holds it against tilting. No pin asks for more
    // than a few of its own diameters.
    (dia * share).min(overhang / 3.0).max(Length::mm(least).min(dia * t.grip_small))
}

/// A stretch that a collet could grip.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    feature: FeatureId,
    zone: Zone,
    bore: Bore,
    /// Length that cuts take of its surface.
    taken: Length,
    on_milled_flats: bool,
}

fn best_grip(task: &Task, works_there: bool, on_thread: bool) -> Option<HandOver> {
    let swallow = task.machine.sub.as_ref()?.swallow.map(|s| s.value);
    let mut best: Option<(f64, HandOver)> = None;
    let mut largest_before = Length::ZERO;
    let mut row: Vec<&Segment> = task.view.contour.iter().collect();
    if task.first == End::Back {
        row.reverse();
    }
    for segment in row {
        let dia = segment.mean();
        let over = (largest_before > dia + Length::um(1.0)).then_some(largest_before);
        for stretch in stretches(task, segment, on_thread) {
            let zone = task.zone_from_first(stretch.zone);
            // A collet grips what lies beyond a small head only where it opens over it, and reaches only so deep.
            if matches!(swallow, Some(Swallow::Up(depth)) if zone.start > depth) {
                continue;
            }
            let plain = zone.length();
            let overhang = (task.view.length - zone.end).max(Length::ZERO);
            let middle = (stretch.zone.start + stretch.zone.end) / 2.0;
            let candidate = HandOver {
                feature: stretch.feature,
                bore: stretch.bore,
                dia,
                grip: plain - stretch.taken,
                plain,
                needed: needed(task, dia, overhang, works_there),
                enough: needed(task, dia, overhang, works_there) * task.thresholds.grip_easy,
                on_thread,
                on_milled_flats: stretch.on_milled_flats,
                wall: (stretch.bore.size() - task.view.bore_at(middle)) / 2.0,
                over,
                overhang,
                push: Force::ZERO,
            };
            // Judged by how much of the needed length is there, a collet that opens over a head or grips flats in
            // phase counting half. Work far out of the collet counts for less than a grip nearer to it.
            let awkward = over.is_some() || stretch.on_milled_flats;
            let far = works_there && overhang > dia * task.thresholds.grip_overhang;
            let worth = (candidate.grip / candidate.needed).min(1.5)
                * if awkward { 0.5 } else { 1.0 }
                * if far { 0.9 } else { 1.0 };
            if best.as_ref().is_none_or(|(w, _)| worth > *w + 1e-9) {
                best = Some((worth, candidate));
            }
        }
        // An eccentric swings past its own size.
        let swing = match &task.view.feature(segment.feature).kind {
            Kind::Turn(t) => t.offset.as_ref().map_or(Length::ZERO, |(e, _)| e.nominal.abs() * 2.0),
            _ => Length::ZERO,
        };
        largest_before = largest_before.max(segment.largest() + swing);
    }
    best.map(|(_, h)| h)
}

/// What a segment offers to a collet: its own plain stretches, nearest to the end made first, and flats milled on it. An
/// eccentric offers nothing, since its collet would turn the part about the wrong axis.
fn stretches(task: &Task, segment: &Segment, on_thread: bool) -> Vec<Stretch> {
    let part = task.view.part;
    let dia = segment.mean();
    let (bore, zone) = match &part.features[segment.feature].kind {
        Kind::Turn(t) if !task.view.is_eccentric(segment.feature) => (Bore::Round(dia), t.zone),
        Kind::Polygon(p) => (bore_for(p), p.zone),
        _ => return Vec::new(),
    };
    let cuts = Cuts::of(task, segment, zone, on_thread);
    let mut found = cuts.leave(zone, segment.feature, bore, false);
    for (id, f) in part.features.iter().enumerate() {
        match &f.kind {
            Kind::Polygon(p) if !p.as_stock && id != segment.feature && p.across.nominal < dia => {
                // The flats themselves do not stand in the way of a collet of their shape.
                let on_flats = Cuts { flats: Vec::new(), ..cuts.clone() };
                let start = p.zone.start.max(zone.start);
                let end = p.zone.end.min(zone.end);
                found.extend(on_flats.leave(Zone { start, end }, id, bore_for(p), true));
            }
            _ => {}
        }
    }
    if task.first == End::Back {
        found.reverse();
    }
    found
}

fn bore_for(p: &Polygon) -> Bore {
    Bore::Polygon { sides: p.sides, across: p.across.nominal }
}

/// What the cuts into a cylinder leave to a collet.
#[derive(Clone, Debug, Default)]
struct Cuts {
    /// Nothing bears there, and no collet spans it: threads, knurls, sculpted surfaces, chamfers at the ends.
    ends: Vec<Zone>,
    /// Milled flats that leave too little of the circumference to a round collet.
    flats: Vec<Zone>,
    /// What a collet spans, with the share of the circumference that it takes: grooves, flats, keyways, slots, mouths of
    /// holes. A collet bears on area.
    spanned: Vec<(Zone, f64)>,
}

impl Cuts {
    /// The cuts into a segment whose feature has a zone.
    fn of(task: &Task, segment: &Segment, zone: Zone, on_thread: bool) -> Cuts {
        let dia = segment.mean();
        let mut cuts = Cuts::default();
        // A chord at a distance from the axis takes this share of the circumference.
        let chord = |from_axis: Length| libm::acos((from_axis * 2.0 / dia).clamp(0.0, 1.0)) / PI;
        let around = |width: Length| width / (dia * PI);
        for (id, f) in task.view.part.features.iter().enumerate() {
            if id == segment.feature {
                continue;
            }
            match &f.kind {
                Kind::Thread(t) if !t.internal && !on_thread => cuts.ends.push(t.zone),
                Kind::Groove(g) if g.side == GrooveSide::External => cuts.spanned.push((g.zone, 1.0)),
                Kind::Undercut(u) if !u.inside => cuts.spanned.push((u.zone, 1.0)),
                Kind::Knurl(k) => cuts.ends.push(k.zone),
                Kind::Contour(c) => cuts.ends.push(c.zone),
                Kind::Slot(s) if s.end.is_none() => {
                    cuts.spanned.push((s.zone, around(s.width.nominal) * f64::from(s.count.max(1))));
                }
                Kind::Keyway(k) => cuts.spanned.push((k.zone, around(k.width.nominal))),
                Kind::Flat(f) => cuts.mill(task, f.zone, chord(f.from_axis.nominal) * f64::from(f.count.max(1))),
                Kind::Polygon(p) if !p.as_stock => {
                    cuts.mill(task, p.zone, chord(p.across.nominal / 2.0) * f64::from(p.sides));
                }
                // A chamfer at either end shortens the cylinder itself.
                Kind::Chamfer(c) if !c.inside => {
                    let at = c.at;
                    if (at - zone.start).abs() < Length::um(1.0) {
                        cuts.ends.push(Zone { start: at, end: at + c.width });
                    } else if (at - zone.end).abs() < Length::um(1.0) {
                        cuts.ends.push(Zone { start: at - c.width, end: at });
                    }
                }
                // What is drilled through a flange at the sub-spindle must not come out into its collet.
                Kind::Hole(h) if h.is_axial() && h.opens != task.first => {
                    cuts.ends.extend(cross::breaks_out(task, h));
                }
                Kind::Hole(h) if h.circle.is_none() && h.angle.value.to_deg() > 0.5 => {
                    let half = h.mouth_half_length();
                    // An ellipse fills pi/4 of the stretch that it spans.
                    let share = around(h.dia.nominal) * f64::from(h.count) * PI / 4.0;
                    cuts.spanned.push((Zone { start: h.at - half, end: h.at + half }, share));
                }
                _ => {}
            }
        }
        cuts
    }

    /// Flats that take a share of the circumference.
    fn mill(&mut self, task: &Task, zone: Zone, share: f64) {
        if 1.0 - share < task.thresholds.grip_bearing {
            self.flats.push(zone);
        } else {
            self.spanned.push((zone, share));
        }
    }

    /// The stretches of a zone that are left, front to back.
    fn leave(&self, zone: Zone, feature: FeatureId, bore: Bore, on_milled_flats: bool) -> Vec<Stretch> {
        let mut cuts: Vec<Zone> = self.ends.iter().chain(&self.flats).copied().collect();
        cuts.retain(|c| c.overlap(&zone) > Length::ZERO);
        cuts.sort_by(|a, b| a.start.total_cmp(&b.start));
        // A last cut without length closes the stretch behind the others.
        cuts.push(Zone { start: zone.end, end: zone.end });
        let mut stretches = Vec::new();
        let mut at = zone.start;
        for cut in cuts {
            let left = Zone { start: at, end: cut.start.min(zone.end) };
            if left.length() > Length::um(1.0) {
                let length = |cut: &Zone| cut.overlap(&left).max(Length::ZERO);
                let taken: Length = self.spanned.iter().map(|(cut, share)| length(cut) * share.min(1.0)).sum();
                let taken = taken.min(left.length());
                stretches.push(Stretch { feature, zone: left, bore, taken, on_milled_flats });
            }
            at = at.max(cut.end);
        }
        stretches
    }
}
