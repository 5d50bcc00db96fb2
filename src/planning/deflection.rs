//! One figure for each toleranced diameter: does the machine hold it, with what the piece bends under the cut?

use super::Task;
use super::blank::Blank;
use super::methods::cutting_data;
use crate::formulas::beam::{self, BeamSegment};
use crate::formulas::{FormulaError, capability, cutting};
use crate::model::machine::ModeKind;
use crate::model::part::{FeatureId, Kind, Part};
use crate::model::profile::{Segment, contour};
use crate::quantity::{Force, Length};
use crate::tables::iso286;

/// The capability of one diameter, and the figures behind it.
#[derive(Clone, Debug, PartialEq)]
pub struct Capability {
    pub feature: FeatureId,
    /// The drawing's; where it is ground afterwards, that of a grade which turning for grinding keeps.
    pub tolerance: Length,
    /// The diameter that it is turned to, where it is ground afterwards.
    pub for_grinding: Option<Length>,
    /// Passive force of the finishing pass.
    pub force: Force,
    /// Least and greatest deflection along the segment.
    pub deflection: (Length, Length),
    /// How far the far end of the segment stands out of what holds the bar.
    pub overhang: Length,
    /// Six sigma of the machine, with the bar's size step in a guide bushing.
    pub spread: Option<Length>,
    pub drift: Length,
    /// Nothing where the mode states no spread.
    pub cp: Option<f64>,
}

/// The capability of every turned diameter.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn capabilities(task: &Task, blank: &Blank) -> Result<Vec<Capability>, FormulaError> {
    let spread = effective_spread(task, blank);
    let drift = Length::um(task.thresholds.thermal_drift_um);
    let mut found = Vec::new();
    let mut beam_row: Vec<BeamSegment> = Vec::with_capacity(16);
    for segment in &task.view.contour {
        let feature = task.view.feature(segment.feature);
        let Some(tolerance) = held_tolerance(&feature.kind) else { continue };
        let finish = match &feature.kind {
            Kind::Turn(t) => t.finish,
            Kind::Sphere(s) => s.finish,
            _ => None,
        };
        let dia = segment.mean();
        let for_grinding = task.view.part.ground_after(segment.feature).map(|_| dia);
        let (tolerance, finish) = match for_grinding {
            Some(_) => (tolerance.max(turned_for_grinding(task, dia)), None),
            None => (tolerance, finish),
        };
        let radius = cutting_data::nose_radius(dia);
        let feed = cutting_data::finish_feed(task, dia, finish.map(|f| f.ra));
        let (force, range, overhang) = if task.guided() {
            // The tool cuts beside the bushing at the whole depth; what bends is the bar between bushing and tool.
            let depth = (blank.size - segment.smallest()).max(Length::mm(0.1)) / 2.0;
            let full = cutting_data::turning_force(task, depth, feed)?;
            let force = full * cutting::passive_share(depth, radius);
            let overhang = off_bushing(task);
            beam_row.clear();
            beam_row.push(BeamSegment { length: overhang, dia: blank.size, bore: Length::ZERO });
            let bend = beam::cantilever_deflection(&beam_row, task.view.part.material.modulus_gpa, force, overhang)?;
            // The same at every place along the part: an offset takes it out.
            (force, (bend, bend), overhang)
        } else {
            let depth = Length::mm(task.thresholds.finish_depth_mm);
            let full = cutting_data::turning_force(task, depth, feed)?;
            let force = full * cutting::passive_share(depth, radius);
            let (from, to) = stand_out(task, blank, segment, &mut beam_row);
            let propped = task.mode.kind == ModeKind::Supported;
            let modulus = task.view.part.material.modulus_gpa;
            let range = beam::deflection_range(&beam_row, modulus, force, from, to, propped)?;
            (force, range, to)
        };
        let cp = match spread {
            Some(s) => Some(capability::cp(tolerance, range.0, range.1, drift, s)?),
            None => None,
        };
        found.push(Capability {
            feature: segment.feature,
            tolerance,
            for_grinding,
            force,
            deflection: range,
            overhang,
            spread,
            drift,
            cp,
        });
    }
    Ok(found)
}

/// The tolerance that a diameter is turned to where the grinder makes its size.
fn turned_for_grinding(task: &Task, dia: Length) -> Length {
    let grade = libm::round(task.thresholds.ground_grade).clamp(1.0, 18.0) as u8;
    // Beyond the table's sizes it keeps the drawing's own.
    iso286::grade_tolerance(grade, dia).unwrap_or(Length::ZERO)
}

/// Distance of the nearest turning carrier off the guide bushing; 1 mm where none is stated (common practice).
fn off_bushing(task: &Task) -> Length {
    let stated = task.machine.carriers.iter().filter(|c| c.fixed_places > 0).filter_map(|c| c.off_bushing);
    stated.map(|o| o.value).min_by(Length::total_cmp).unwrap_or(Length::mm(1.0)).max(Length::mm(0.1))
}

/// The tolerance of a diameter that turning must hold.
pub(super) fn held_tolerance(kind: &Kind) -> Option<Length> {
    match kind {
        Kind::Turn(t) if !t.as_stock && !t.thread_blank => t.dia.tolerance(),
        Kind::Sphere(s) => s.dia.tolerance(),
        _ => None,
    }
}

/// Six sigma of a diameter on the bar of a blank.
pub fn effective_spread(task: &Task, blank: &Blank) -> Option<Length> {
    spread_with(task, blank.size_tolerance)
}

/// Six sigma of a diameter on bar of a size tolerance: in a guide bushing its step enters by a share, root of squares.
pub(super) fn spread_with(task: &Task, size_tolerance: Length) -> Option<Length> {
    let own = task.mode.spread?.value;
    if !task.guided() {
        return Some(own);
    }
    let step = size_tolerance * task.thresholds.bar_step_share;
    Some(Length::mm(libm::hypot(own.to_mm(), step.to_mm())))
}

/// The blank as it stands when a segment is finished out of the collet: between collet and segment everything is still
/// at its roughed diameter, beyond the segment it is finished. Gives the stretch of the segment from the collet, and
/// fills the row of beam steps.
fn stand_out(task: &Task, blank: &Blank, finished: &Segment, row: &mut Vec<BeamSegment>) -> (Length, Length) {
    let allowance = Length::mm(task.thresholds.finish_depth_mm) * 2.0;
    row.clear();
    let stub = Length::mm(task.thresholds.nose_gap_mm) + blank.cut_off_width;
    row.push(BeamSegment { length: stub, dia: blank.size, bore: blank.bore });
    let mut contour: Vec<&Segment> = task.view.contour.iter().collect();
    if task.first == crate::model::part::End::Front {
        contour.reverse();
    }
    let (mut at, mut from, mut to) = (stub, stub, stub);
    let mut passed = false;
    for segment in contour {
        let length = segment.zone.length();
        if length <= Length::ZERO {
            continue;
        }
        let is_it = segment.feature == finished.feature && segment.zone == finished.zone;
        let dia = if passed { segment.mean() } else { (segment.mean() + allowance).min(blank.size) };
        let middle = (segment.zone.start + segment.zone.end) / 2.0;
        let bore = task.view.bore_at(middle).min(dia * 0.9);
        row.push(BeamSegment { length, dia, bore });
        if is_it {
            from = at;
            to = at + length;
            passed = true;
        }
        at += length;
    }
    (from, to)
}

/// Length over diameter as the trade reckons it: the whole length over the smallest diameter that carries a tenth of it.
pub fn slenderness(part: &Part) -> f64 {
    let length = part.length.nominal;
    let row = contour(part);
    let carrying = row.iter().filter(|s| s.zone.length() > length * 0.1).map(Segment::mean).min_by(Length::total_cmp);
    length / carrying.unwrap_or_else(|| part.largest_dia()).max(Length::mm(0.01))
}
