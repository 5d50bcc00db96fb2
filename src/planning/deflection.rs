//! One figure for each toleranced diameter: does the machine hold it, with what the piece bends under the cut?

use super::Task;
use super::blank::Blank;
use super::methods::{cutting_data, turned};
use super::operation::{Operation, Tool, Work};
use super::support;
use crate::formulas::beam::{self, BeamSegment};
use crate::formulas::{FormulaError, capability, cutting};
use crate::model::machine::Side;
use crate::model::part::{Bore, End, FeatureId, Kind, Part, Zone};
use crate::model::profile::{Segment, contour};
use crate::quantity::{Force, Length};
use crate::tables::iso286;

/// Modulus of elasticity of a steel boring bar and of a carbide one, in GPa (handbook values, from memory).
const STEEL_BAR_GPA: f64 = 210.0;
const CARBIDE_BAR_GPA: f64 = 600.0;

/// What gives a diameter its size, and so what may change it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SizedBy {
    /// A turning tool: the piece bends away from it.
    Turning,
    /// A turning tool whose slide swings in step with the spindle, about an axis beside the spindle's.
    InStep,
    /// A boring bar of this diameter: it springs itself.
    Boring { bar: Length },
    /// A drill or a reamer, which makes its own size: an IT grade by habit.
    Class { work: Work, grade: u8 },
}

/// The capability of one diameter, and the figures behind it.
#[derive(Clone, Debug, PartialEq)]
pub struct Capability {
    pub feature: FeatureId,
    pub sized_by: SizedBy,
    /// The drawing's; where it is ground afterwards, that of a grade which turning for grinding keeps.
    pub tolerance: Length,
    /// The diameter that it is turned to, where it is ground afterwards.
    pub for_grinding: Option<Length>,
    /// Passive force of the finishing pass.
    pub force: Force,
    /// Least and greatest deflection: of the piece along the segment; of a boring bar with a sharp and a worn edge.
    pub deflection: (Length, Length),
    /// What of their difference no program takes out.
    pub bend_left: Length,
    /// How far the far end of the segment stands out of what holds the bar; a boring bar's reach.
    pub overhang: Length,
    /// Six sigma: of the machine, with the bar's size step in a guide bushing; of the tool's class.
    pub spread: Option<Length>,
    /// The bar's size step in it.
    pub bar_step: Length,
    pub drift: Length,
    /// Nothing where the mode states no spread.
    pub cp: Option<f64>,
    /// The same without a taper in the program.
    pub cp_as_bent: Option<f64>,
}

/// The capability of every turned diameter and every bore that has a tolerance.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn capabilities(
    task: &Task,
    blank: &Blank,
    operations: &[Operation],
    tools: &[Tool],
) -> Result<Vec<Capability>, FormulaError> {
    let mut found = turned(task, blank)?;
    for (id, feature) in task.view.part.features.iter().enumerate() {
        let Kind::Bore(b) = &feature.kind else { continue };
        let Some(tolerance) = b.dia.tolerance().filter(|_| !task.view.part.is_ground(id)) else { continue };
        let sizes = |op: &&Operation| {
            op.feature == Some(id) && !matches!(op.work, Work::Centre | Work::Countersink | Work::Deburr)
        };
        let Some(last) = operations.iter().rfind(sizes) else { continue };
        found.extend(match last.work {
            Work::Bore => Some(bored(task, id, b, tolerance, last, tools[last.tool].dia)?),
            work => by_class(task, id, b, tolerance, work)?,
        });
    }
    Ok(found)
}

/// A bore by its boring bar. The bar stands out by the same length all along the bore, so that an offset takes its spring
/// out; what is left is what the spring grows by while the edge wears.
fn bored(
    task: &Task,
    feature: FeatureId,
    b: &Bore,
    tolerance: Length,
    op: &Operation,
    bar: Length,
) -> Result<Capability, FormulaError> {
    let t = task.thresholds;
    let zone = task.zone_from_first(b.zone);
    let reach = if op.side == Side::Main { zone.end } else { task.view.length - zone.start };
    let depth = if op.depth > Length::ZERO { op.depth } else { Length::mm(t.finish_depth_mm) };
    let worn = cutting_data::turning_force(task, depth, op.feed)?
        * cutting::passive_share(depth, cutting_data::nose_radius(b.dia.nominal));
    let modulus = if reach <= bar * t.boring_steel { STEEL_BAR_GPA } else { CARBIDE_BAR_GPA };
    let row = [BeamSegment { length: reach, dia: bar, bore: Length::ZERO }];
    let spring = beam::cantilever_deflection(&row, modulus, worn, reach)?;
    let deflection = (spring / t.worn_edge.max(1.0), spring);
    let own = task.mode.spread.map(|s| s.value);
    let bend_left = deflection.1 - deflection.0;
    let held = Held { for_grinding: None, deflection, bend_left, spread: own, bar_step: Length::ZERO };
    held.capability(task, feature, SizedBy::Boring { bar }, tolerance, worn, reach)
}

/// A bore by what drills or reams it: such a tool holds its IT grade with the capability from which a tolerance is held.
/// Nothing where the table of grades has no such size.
fn by_class(
    task: &Task,
    feature: FeatureId,
    b: &Bore,
    tolerance: Length,
    work: Work,
) -> Result<Option<Capability>, FormulaError> {
    let t = task.thresholds;
    let grade = match work {
        Work::Ream => t.ream_grade,
        Work::Drill => t.drill_grade,
        Work::DeepDrill | Work::PeckDrill | Work::SingleLipDrill | Work::OscillatingDrill => t.deep_drill_grade,
        _ => return Ok(None),
    } as u8;
    let Ok(width) = iso286::grade_tolerance(grade, b.dia.nominal) else { return Ok(None) };
    let none = (Length::ZERO, Length::ZERO);
    let spread = Some(width / t.cp_fits);
    let held = Held { for_grinding: None, deflection: none, bend_left: Length::ZERO, spread, bar_step: Length::ZERO };
    let sized_by = SizedBy::Class { work, grade };
    held.capability(task, feature, sized_by, tolerance, Force::ZERO, Length::ZERO).map(Some)
}

/// What takes a share of a tolerance.
struct Held {
    for_grinding: Option<Length>,
    deflection: (Length, Length),
    bend_left: Length,
    spread: Option<Length>,
    bar_step: Length,
}

impl Held {
    fn capability(
        self,
        task: &Task,
        feature: FeatureId,
        sized_by: SizedBy,
        tolerance: Length,
        force: Force,
        overhang: Length,
    ) -> Result<Capability, FormulaError> {
        let Held { for_grinding, deflection, bend_left, spread, bar_step } = self;
        let drift = Length::um(task.thresholds.thermal_drift_um);
        let cp = |from: Length, to: Length| spread.map(|s| capability::cp(tolerance, from, to, drift, s)).transpose();
        Ok(Capability {
            feature,
            sized_by,
            tolerance,
            for_grinding,
            force,
            deflection,
            bend_left,
            overhang,
            spread,
            bar_step,
            drift,
            cp: cp(Length::ZERO, bend_left)?,
            cp_as_bent: cp(deflection.0, deflection.1)?,
        })
    }
}

fn turned(task: &Task, blank: &Blank) -> Result<Vec<Capability>, FormulaError> {
    let bar_step = bar_step(task, blank.size_tolerance);
    let spread = spread_with(task, blank.size_tolerance);
    let mut found = Vec::new();
    let mut beam_row: Vec<BeamSegment> = Vec::with_capacity(16);
    for segment in &task.view.contour {
        let feature = task.view.feature(segment.feature);
        let of_thread = || thread_blank_tolerance(task, segment);
        let Some(tolerance) = held_tolerance(&feature.kind).or_else(of_thread) else { continue };
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
            let modulus = task.view.part.material.modulus_gpa;
            let mut worst: Option<((Length, Length), Length)> = None;
            for stretch in turned::stretches(task, blank.size, segment) {
                let (out, propped) = support::stands_out(task, stretch.zone);
                let (from, to) = stand_out(task, blank, &stretch, out, &mut beam_row);
                let range = beam::deflection_range(&beam_row, modulus, force, from, to, propped)?;
                if worst.is_none_or(|(w, _)| range.1 - range.0 > w.1 - w.0) {
                    worst = Some((range, to));
                }
            }
            let Some((range, to)) = worst else { continue };
            (force, range, to)
        };
        // Of a bend that repeats from piece to piece the program takes out a part.
        let bend_left = (range.1 - range.0) * task.thresholds.taper_left.clamp(0.0, 1.0);
        let in_step = matches!(&feature.kind, Kind::Turn(t) if t.offset.is_some());
        let (sized_by, spread, bar_step) = match in_step {
            true => (SizedBy::InStep, spread_in_step(task), Length::ZERO),
            false => (SizedBy::Turning, spread, bar_step),
        };
        let held = Held { for_grinding, deflection: range, bend_left, spread, bar_step };
        found.push(held.capability(task, segment.feature, sized_by, tolerance, force, overhang)?);
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

/// The tolerance over the crests of a thread that is turned out of the collet, where its blank may bend away from the tool: that
/// of its class, or of the blank itself. Beside a bushing the bend is the same all along, and an offset takes it out.
fn thread_blank_tolerance(task: &Task, segment: &Segment) -> Option<Length> {
    let part = task.view.part;
    let Kind::Turn(t) = &part.features[segment.feature].kind else { return None };
    if !t.thread_blank || task.guided() {
        return None;
    }
    let of_class = part.features.iter().find_map(|f| match &f.kind {
        Kind::Thread(thread) if thread.zone.overlap(&t.zone) > Length::um(1.0) => thread.crest_limits(),
        _ => None,
    });
    of_class.map(|l| l.max - l.min).or_else(|| t.dia.tolerance())
}

/// Six sigma of a diameter on bar of a size tolerance: in a guide bushing its step enters by a share, root of squares.
pub(super) fn spread_with(task: &Task, size_tolerance: Length) -> Option<Length> {
    let own = task.mode.spread?.value;
    Some(Length::mm(libm::hypot(own.to_mm(), bar_step(task, size_tolerance).to_mm())))
}

/// Six sigma of a diameter whose slide swings in step with the spindle: what the slide misses adds to the mode's.
fn spread_in_step(task: &Task) -> Option<Length> {
    let own = task.mode.spread?.value;
    Some(Length::mm(libm::hypot(own.to_mm(), task.thresholds.in_step_spread_um / 1000.0)))
}

/// What the bar's own size step adds to the spread in a guide bushing; nought without one.
fn bar_step(task: &Task, size_tolerance: Length) -> Length {
    if task.guided() { size_tolerance * task.thresholds.bar_step_share } else { Length::ZERO }
}

/// The blank as it stands when a stretch is finished out of the collet: between collet and stretch everything is still
/// at its roughed diameter, beyond it all is finished. `out` is what stands out of the collet, up to what holds the far end.
/// Gives where the stretch begins and ends from the collet, and fills the row of beam steps.
fn stand_out(
    task: &Task,
    blank: &Blank,
    finished: &Segment,
    out: Zone,
    row: &mut Vec<BeamSegment>,
) -> (Length, Length) {
    let allowance = Length::mm(task.thresholds.finish_depth_mm) * 2.0;
    row.clear();
    let stub = Length::mm(task.thresholds.nose_gap_mm) + blank.cut_off_width;
    row.push(BeamSegment { length: stub, dia: blank.size, bore: blank.bore });
    let mut contour: Vec<&Segment> = task.view.contour.iter().collect();
    if task.first == End::Front {
        contour.reverse();
    }
    let cut = task.zone_from_first(finished.zone);
    let mut at = stub;
    let mut passed = false;
    for segment in contour {
        let zone = task.zone_from_first(segment.zone);
        let length = zone.end.min(out.end) - zone.start.max(out.start);
        if length <= Length::ZERO {
            continue;
        }
        let is_it = segment.feature == finished.feature && zone.overlap(&cut) > Length::ZERO;
        let dia = if passed { segment.mean() } else { (segment.mean() + allowance).min(blank.size) };
        let middle = (segment.zone.start + segment.zone.end) / 2.0;
        let bore = task.view.bore_at(middle).min(dia * 0.9);
        row.push(BeamSegment { length, dia, bore });
        passed |= is_it;
        at += length;
    }
    // The far end lies at `out.start` from the end made first, the collet a stub behind `out.end`.
    let place = |z: Length| (at - (z - out.start)).max(stub).min(at);
    (place(cut.end), place(cut.start))
}

/// Length over diameter as the trade reckons it: the whole length over the smallest diameter that carries a tenth of it.
pub fn slenderness(part: &Part) -> f64 {
    let length = part.length.nominal;
    let row = contour(part);
    let carrying = row.iter().filter(|s| s.zone.length() > length * 0.1).map(Segment::mean).min_by(Length::total_cmp);
    length / carrying.unwrap_or_else(|| part.largest_dia()).max(Length::mm(0.01))
}
