//! The hand-over to the sub-spindle: where it grips, how long, and what pushes against the grip.

use super::Task;
use super::operation::WorkList;
use crate::formulas::FormulaError;
use crate::model::machine::{Side, Swallow};
use crate::model::part::{End, FeatureId, GrooveSide, Kind, Zone};
use crate::quantity::{Force, Length};

/// The grip of the sub-spindle on the end that was made first.
#[derive(Clone, Debug, PartialEq)]
pub struct HandOver {
    /// The segment that it grips.
    pub feature: FeatureId,
    pub dia: Length,
    /// Length gripped: the plain stretch less the share of its surface that mouths and chamfers take away.
    pub grip: Length,
    /// The plain stretch as it stands.
    pub plain: Length,
    pub needed: Length,
    pub wall: Length,
    /// It grips the crests of a thread: there is no plain stretch.
    pub on_thread: bool,
    /// A larger diameter lies in front of the grip: the collet must open over it.
    pub over: Option<Length>,
    /// How far the part stands out of the sub-spindle's collet for the work there.
    pub overhang: Length,
    /// The greatest push of the work at the sub-spindle into the collet, and the friction that stands against it.
    pub push: Force,
    pub holds: Option<Force>,
}

impl HandOver {
    /// Whether only a collet made for the part holds it.
    pub fn is_special(&self) -> bool {
        self.grip < self.needed || self.over.is_some() || self.on_thread
    }
}

/// The best place to grip: the longest for its diameter, near the end that was made first.
///
/// # Errors
/// None at present; the signature leaves room for formulas with a range.
pub fn find(task: &Task, work: &WorkList) -> Result<Option<HandOver>, FormulaError> {
    let Some(sub) = &task.machine.sub else { return Ok(None) };
    let push = work.operations.iter().filter(|o| o.side == Side::Sub).map(|o| o.push).fold(Force::ZERO, Force::max);
    let works_there = work.operations.iter().any(|o| o.side == Side::Sub);
    let holds = sub.clamp.map(|c| c.value * task.thresholds.clamp_friction);
    let mut best = best_grip(task, works_there, push, holds, sub.swallow.map(|s| s.value), false);
    if best.is_none() {
        best = best_grip(task, works_there, push, holds, sub.swallow.map(|s| s.value), true);
    }
    Ok(best)
}

/// The distance from the end that is made first beyond which the sub-spindle's tools reach the part: what lies nearer is
/// in its collet.
pub fn stands_out_from(task: &Task) -> Option<Length> {
    let sub = task.machine.sub.as_ref()?;
    let swallow = sub.swallow.map(|s| s.value);
    let grip = |on_thread| best_grip(task, true, Force::ZERO, None, swallow, on_thread);
    grip(false).or_else(|| grip(true)).map(|h| task.view.length - h.overhang)
}

fn best_grip(
    task: &Task,
    works_there: bool,
    push: Force,
    holds: Option<Force>,
    swallow: Option<Swallow>,
    on_thread: bool,
) -> Option<HandOver> {
    let t = task.thresholds;
    let mut best: Option<(f64, HandOver)> = None;
    let mut largest_before = Length::ZERO;
    let mut row = task.view.contour.clone();
    if task.first == End::Back {
        row.reverse();
    }
    for segment in &row {
        let kind = &task.view.feature(segment.feature).kind;
        let cylinder = matches!(kind, Kind::Turn(_) | Kind::Polygon(_)) && segment.start_dia == segment.end_dia;
        if cylinder {
            let dia = segment.mean();
            let over = (largest_before > dia + Length::um(1.0)).then_some(largest_before);
            for (stretch, covered) in plain_stretches(task, segment.feature, dia, on_thread) {
                let zone = task.zone_from_first(stretch);
                let plain = zone.length();
                // A collet grips what lies beyond a small head only where it opens over it, and reaches only so deep.
                let swallow_ok = match swallow {
                    Some(Swallow::Up(depth)) => zone.start <= depth,
                    _ => true,
                };
                let grip = plain - covered;
                // A stubby part needs less than 0.8 D: a third of what stands out holds it against tilting.
                let overhang = (task.view.length - zone.end).max(Length::ZERO);
                let by_dia = (dia * t.grip_share).min(overhang / 3.0);
                let needed = by_dia.max(Length::mm(t.grip_least_mm));
                let middle = (stretch.start + stretch.end) / 2.0;
                let candidate = HandOver {
                    feature: segment.feature,
                    dia,
                    grip,
                    plain,
                    needed,
                    on_thread,
                    wall: (dia - task.view.bore_at(middle)) / 2.0,
                    over,
                    overhang,
                    push,
                    holds,
                };
                // Judged by how much of the needed length is there, a collet that opens over a head counting half.
                // Work far out of the collet counts for less than a grip nearer to it.
                let far = works_there && overhang > dia * t.grip_overhang;
                let worth =
                    (grip / needed).min(1.5) * if over.is_some() { 0.5 } else { 1.0 } * if far { 0.9 } else { 1.0 };
                if swallow_ok && best.as_ref().is_none_or(|(w, _)| worth > *w + 1e-9) {
                    best = Some((worth, candidate));
                }
            }
        }
        largest_before = largest_before.max(segment.largest());
    }
    best.map(|(_, h)| h)
}

/// The stretches of a cylinder that are free of threads, grooves and flats, nearest to the end made first, each with the
/// length that mouths of holes and chamfers take from it: the area of a mouth over the circumference.
fn plain_stretches(task: &Task, feature: FeatureId, dia: Length, on_thread: bool) -> Vec<(Zone, Length)> {
    let part = task.view.part;
    let zone = match &part.features[feature].kind {
        Kind::Turn(t) => t.zone,
        Kind::Polygon(p) => p.zone,
        _ => return Vec::new(),
    };
    let mut cuts = Vec::new();
    let mut mouths = Vec::new();
    for (id, f) in part.features.iter().enumerate() {
        if id == feature {
            continue;
        }
        match &f.kind {
            Kind::Thread(t) if !t.internal && !on_thread => cuts.push(t.zone),
            Kind::Groove(g) if g.side == GrooveSide::External => cuts.push(g.zone),
            Kind::Undercut(u) if !u.inside => cuts.push(u.zone),
            Kind::Knurl(k) => cuts.push(k.zone),
            Kind::Contour(c) => cuts.push(c.zone),
            Kind::Slot(s) if s.end.is_none() => cuts.push(s.zone),
            Kind::Keyway(k) => cuts.push(k.zone),
            // A chamfer at either end shortens the cylinder itself.
            Kind::Chamfer(c) if !c.inside => {
                let at = c.at;
                if (at - zone.start).abs() < Length::um(1.0) {
                    cuts.push(Zone { start: at, end: at + c.width });
                } else if (at - zone.end).abs() < Length::um(1.0) {
                    cuts.push(Zone { start: at - c.width, end: at });
                }
            }
            Kind::Hole(h) if h.circle.is_none() && h.angle.value.to_deg() > 0.5 => {
                let half = h.mouth_half_length();
                let area = std::f64::consts::PI * h.dia.nominal.to_mm() / 2.0 * half.to_mm() * f64::from(h.count);
                mouths.push((h.at, half, Length::mm(area / (std::f64::consts::PI * dia.to_mm()))));
            }
            _ => {}
        }
    }
    cuts.sort_by(|a, b| a.start.total_cmp(&b.start));
    let mut stretches = Vec::new();
    let mut at = zone.start;
    let mut close = |start: Length, end: Length| {
        if end - start > Length::um(1.0) {
            let covered =
                mouths.iter().filter(|(z, half, _)| *z + *half > start && *z - *half < end).map(|m| m.2).sum();
            stretches.push((Zone { start, end }, covered));
        }
    };
    for cut in cuts.iter().filter(|c| c.overlap(&zone) > Length::ZERO) {
        close(at, cut.start.min(zone.end));
        at = at.max(cut.end);
    }
    close(at, zone.end);
    if task.first == End::Back {
        stretches.reverse();
    }
    stretches
}
