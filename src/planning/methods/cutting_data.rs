//! Speeds, feeds and depths: from the material table and the finish wanted, within what the machine can turn.
//!
//! The feeds and depths of roughing are common practice, no source; the finish feed follows the ideal roughness.

use super::super::{Task, hand_over};
use crate::formulas::{FormulaError, cutting, drilling, power_feed};
use crate::model::machine::Side;
use crate::quantity::{Angle, Feed, Force, Length, Power, RotationalSpeed, Torque, Velocity};

/// Speed that a drive without a stated limit is planned with; a rule reports what is not stated.
const UNSTATED_CAP: RotationalSpeed = RotationalSpeed::rpm(6000.0);

/// The cutting data of one turning cut.
#[derive(Clone, Copy, Debug)]
pub struct Cut {
    pub speed: Velocity,
    pub cap: RotationalSpeed,
    pub feed: Feed,
    /// Radial depth of a pass.
    pub depth: Length,
    pub passes: u32,
    pub force: Force,
    pub power: Power,
    pub torque: Torque,
}

/// The cap of a work spindle.
pub fn cap(task: &Task, side: Side) -> RotationalSpeed {
    let unstated =
        || if side == Side::Main { task.bar_speed.map_or(UNSTATED_CAP, |n| n.min(UNSTATED_CAP)) } else { UNSTATED_CAP };
    task.speed_cap(side).unwrap_or_else(unstated)
}

/// The nose radius of a tool on work of this diameter: 0.2 mm on small work, else 0.4 mm.
pub fn nose_radius(dia: Length) -> Length {
    if dia < Length::mm(6.0) { Length::mm(0.2) } else { Length::mm(0.4) }
}

/// Feed of roughing: 2 % of the diameter, 0.03 to 0.25 mm; a fifth less in heat-resistant and stainless material.
pub fn rough_feed(task: &Task, dia: Length) -> Feed {
    let tough = matches!(task.view.part.material.iso_513, 'M' | 'S');
    let feed = (0.02 * dia.to_mm()).clamp(0.03, 0.25);
    Feed::mm_per_rev(if tough { 0.8 * feed } else { feed })
}

/// Feed of finishing for a roughness, never above the roughing feed nor 0.2 mm, never below 0.01 mm (minimum chip).
pub fn finish_feed(task: &Task, dia: Length, ra: Option<Length>) -> Feed {
    let ra = ra.unwrap_or(Length::um(3.2));
    let by_finish = cutting::feed_for_ra(ra, nose_radius(dia));
    let most = rough_feed(task, dia).min(Feed::mm_per_rev(0.2));
    by_finish.min(most).max(Feed::mm_per_rev(0.01))
}

/// The specific force that decisions are made with: the material's typical one at a worn edge, or the highest of the sources
/// where that is more. Both at once would count the same caution twice.
pub fn cautious_kc11(task: &Task) -> f64 {
    let kc11 = task.view.part.material.kc11_n_mm2;
    kc11.high.max(kc11.typical * task.thresholds.worn_edge)
}

/// The cutting force of a turning pass, on the cautious side.
///
/// # Errors
/// [`FormulaError`] where depth or feed lies outside the formula's range.
pub fn turning_force(task: &Task, depth: Length, feed: Feed) -> Result<Force, FormulaError> {
    let mc = task.view.part.material.mc;
    cutting::cutting_force(cautious_kc11(task), mc, depth, feed, Angle::deg(90.0), 1.0)
}

/// The cut that takes a diameter down to another: as many passes as power, torque and the depth limit ask for.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn turning_cut(
    task: &Task,
    side: Side,
    from: Length,
    to: Length,
    feed: Feed,
    deepest: Length,
) -> Result<Cut, FormulaError> {
    let speed = task.view.part.material.turning_speed.typical;
    let spindle = match side {
        Side::Main => Some(&task.machine.main),
        Side::Sub => task.machine.sub.as_ref().map(|s| &s.spindle),
    };
    let total = ((from - to) / 2.0).max(Length::mm(0.01));
    let mut passes = libm::ceil(total / deepest - 1e-9).max(1.0);
    loop {
        let depth = total / passes;
        let force = turning_force(task, depth, feed)?;
        let power = cutting::cutting_power(force, speed) / task.thresholds.efficiency;
        let torque = cutting::turning_torque(force, from);
        let too_much = spindle
            .is_some_and(|s| s.power.is_some_and(|p| power > p.value) || s.torque.is_some_and(|t| torque > t.value));
        if !too_much || passes >= 40.0 {
            let passes = passes as u32;
            return Ok(Cut { speed, cap: cap(task, side), feed, depth, passes, force, power, torque });
        }
        passes += 1.0;
    }
}

/// A cut that takes all there is at once over a width of its edge: a blade that plunges, or a turning tool beside a guide
/// bushing, which no second pass would hold. Where power or torque are short the feed falls, to a fifth at the least.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn whole_cut(
    task: &Task,
    side: Side,
    from: Length,
    to: Length,
    width: Length,
    feed: Feed,
) -> Result<Cut, FormulaError> {
    let speed = task.view.part.material.turning_speed.typical;
    let spindle = match side {
        Side::Main => Some(&task.machine.main),
        Side::Sub => task.machine.sub.as_ref().map(|s| &s.spindle),
    };
    let depth = ((from - to) / 2.0).max(Length::mm(0.01));
    let mut share = 1.0;
    loop {
        let feed = feed * share;
        let force = turning_force(task, width.max(Length::mm(0.05)), feed)?;
        let power = cutting::cutting_power(force, speed) / task.thresholds.efficiency;
        let torque = cutting::turning_torque(force, from);
        let too_much = spindle
            .is_some_and(|s| s.power.is_some_and(|p| power > p.value) || s.torque.is_some_and(|t| torque > t.value));
        if !too_much || share <= 0.2 {
            return Ok(Cut { speed, cap: cap(task, side), feed, depth, passes: 1, force, power, torque });
        }
        share *= 0.8;
    }
}

/// A roughing cut where the control holds the power: the feed rises as far as the spindle's power and torque, or the limit
/// of the override, allow; it falls where they are short. Nothing changes without that control.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside a formula's range.
pub fn at_constant_power(task: &Task, side: Side, from: Length, cut: Cut) -> Result<Cut, FormulaError> {
    let control = task.machine.options.iter().find(|o| o.feed_override.is_some() && task.owned(o) > 0);
    let limit = control.and_then(|o| o.feed_override).and_then(|r| r.high);
    let spindle = match side {
        Side::Main => Some(&task.machine.main),
        Side::Sub => task.machine.sub.as_ref().map(|s| &s.spindle),
    };
    let (Some(limit), Some(power)) = (limit, spindle.and_then(|s| s.power)) else { return Ok(cut) };
    let m = &task.view.part.material;
    let square = Angle::deg(90.0);
    let by_torque = spindle.and_then(|s| s.torque).filter(|_| cut.torque > Torque::ZERO);
    // A hair below it, since the feed is found by solving.
    let by_torque =
        by_torque.map(|t| cutting::cutting_power(cut.force * ((1.0 - 1e-6) * t.value / cut.torque), cut.speed));
    let at_cut = power.value * task.thresholds.efficiency;
    let at_cut = by_torque.map_or(at_cut, |p| at_cut.min(p));
    let kc11 = cautious_kc11(task);
    let at_power = power_feed::feed_at_power(kc11, m.mc, cut.depth, square, 1.0, cut.speed, at_cut)?;
    let (feed, _) = power_feed::limited_feed(cut.feed, at_power, None, limit.to_fraction().clamp(1.0, 3.0))?;
    let force = turning_force(task, cut.depth, feed)?;
    let power = cutting::cutting_power(force, cut.speed) / task.thresholds.efficiency;
    Ok(Cut { feed, force, power, torque: cutting::turning_torque(force, from), ..cut })
}

/// The drilling speed of a diameter, the feed a revolution, and the speed that the drive can turn.
#[derive(Clone, Copy, Debug)]
pub struct DrillCut {
    /// What the material wants.
    pub wanted: RotationalSpeed,
    pub speed: RotationalSpeed,
    pub feed: Feed,
    /// At the typical force and with a sharp edge: what holds against it has its safety for the rest.
    pub thrust: Force,
    pub torque: Torque,
}

/// What limits an axial drill at a work spindle: the grip against its thrust, torque and power of the spindle.
#[derive(Clone, Copy, Debug)]
pub struct DrillLimits {
    pub push: Option<Force>,
    pub torque: Option<Torque>,
    pub power: Option<Power>,
}

impl DrillLimits {
    /// The limits of a work spindle.
    pub fn of(task: &Task, side: Side) -> DrillLimits {
        let t = task.thresholds;
        let (clamp, spindle) = match side {
            Side::Main => (task.mode.clamp, Some(&task.machine.main)),
            Side::Sub => {
                let sub = task.machine.sub.as_ref();
                // A stop behind the part takes any push.
                let slips = sub.filter(|s| !hand_over::has_stop(s, task.view));
                (slips.and_then(|s| s.clamp), sub.map(|s| &s.spindle))
            }
        };
        DrillLimits {
            push: clamp.map(|c| c.value * t.clamp_friction / t.push_safety),
            torque: spindle.and_then(|s| s.torque).map(|q| q.value),
            power: spindle.and_then(|s| s.power).map(|p| p.value * t.efficiency),
        }
    }

    /// Whether grip and spindle stand a cut.
    fn hold(&self, cut: &DrillCut) -> bool {
        let power = Power::kw(cut.torque.to_nm() * cut.speed.to_rpm() / 9549.0);
        self.push.is_none_or(|p| cut.thrust <= p)
            && self.torque.is_none_or(|t| cut.torque <= t)
            && self.power.is_none_or(|p| power <= p)
    }
}

/// The diameter from which a first drill of half of it is worth its time, and the share of the thrust that is left then: the
/// chisel edge pushes about half of it, the inner half of the lips a fifth (common practice, no source).
pub(super) const OPENED_FROM: Length = Length::mm(8.0);
const OPENED_SHARE: f64 = 0.3;

/// The cut of an axial drill: where grip, torque or power bind, the feed falls, to a fifth at the least.
///
/// # Errors
/// [`FormulaError`] where the diameter lies outside a formula's range.
pub fn axial_cut(task: &Task, dia: Length, side: Side) -> Result<DrillCut, FormulaError> {
    let full = drill_cut(task, dia, Some(cap(task, side)))?;
    within_limits(task, dia, side, full, 1.0)
}

/// The cut of a drill that opens a first hole of half its diameter: three tenths of the thrust are left.
///
/// # Errors
/// [`FormulaError`] where the diameter lies outside a formula's range.
pub fn opened_cut(task: &Task, dia: Length, side: Side, full: DrillCut) -> Result<DrillCut, FormulaError> {
    within_limits(task, dia, side, full, OPENED_SHARE)
}

/// Whether the grip holds a drill at its least feed, and the spindle turns it; from 8 mm on after a first drill of half the
/// diameter.
///
/// # Errors
/// [`FormulaError`] where the diameter lies outside a formula's range.
pub fn drill_holds(task: &Task, dia: Length, side: Side) -> Result<bool, FormulaError> {
    let limits = DrillLimits::of(task, side);
    let full = drill_cut(task, dia, Some(cap(task, side)))?;
    let share = if dia >= OPENED_FROM { OPENED_SHARE } else { 1.0 };
    Ok(limits.hold(&within_limits(task, dia, side, full, share)?))
}

/// The feed below which the edges of a drill rub: a share of what is usual for its diameter.
///
/// # Errors
/// [`FormulaError`] where the diameter lies outside a formula's range.
pub(crate) fn least_feed(task: &Task, dia: Length) -> Result<Feed, FormulaError> {
    Ok(drill_cut(task, dia, None)?.feed * task.thresholds.drill_feed)
}

fn within_limits(
    task: &Task,
    dia: Length,
    side: Side,
    full: DrillCut,
    thrust_share: f64,
) -> Result<DrillCut, FormulaError> {
    let limits = DrillLimits::of(task, side);
    let m = &task.view.part.material;
    let mut cut = full;
    for twentieths in (4..=20).rev() {
        let feed = full.feed * (f64::from(twentieths) / 20.0);
        cut = DrillCut {
            feed,
            thrust: drilling::thrust(m.kc11_n_mm2.typical, m.mc, dia, feed, 1.0)? * thrust_share,
            torque: drilling::torque(cautious_kc11(task), m.mc, dia, feed, 1.0)?,
            ..full
        };
        if limits.hold(&cut) {
            break;
        }
    }
    Ok(cut)
}

/// Feed of a solid-carbide drill: 1.5 % of the diameter, 0.8 % in heat-resistant material (common practice, no source).
///
/// # Errors
/// [`FormulaError`] where the diameter lies outside a formula's range.
pub fn drill_cut(task: &Task, dia: Length, drive: Option<RotationalSpeed>) -> Result<DrillCut, FormulaError> {
    let m = &task.view.part.material;
    let share = if m.iso_513 == 'S' { 0.008 } else { 0.015 };
    let feed = Feed::mm_per_rev((share * dia.to_mm()).clamp(0.004, 0.25));
    let wanted = cutting::spindle_speed(m.drilling_speed.typical, dia)?;
    let speed = drive.map_or(wanted, |cap| wanted.min(cap));
    let thrust = drilling::thrust(m.kc11_n_mm2.typical, m.mc, dia, feed, 1.0)?;
    let torque = drilling::torque(cautious_kc11(task), m.mc, dia, feed, 1.0)?;
    Ok(DrillCut { wanted, speed, feed, thrust, torque })
}

/// The share of a deep hole's coolant pressure that a hole of this depth over its diameter wants.
pub fn pressure_share(task: &Task, ratio: f64) -> f64 {
    let t = task.thresholds;
    drilling::pressure_share(ratio, t.pressure_share, t.pressure_shallow, t.pressure_deep)
}

/// Milling with a small end mill: feed a tooth 0.8 % of its diameter (common practice, no source), two or three teeth by
/// size; the removal rate that follows from a full-width cut of half the diameter.
pub fn milling_speed(task: &Task, dia: Length) -> Result<RotationalSpeed, FormulaError> {
    cutting::spindle_speed(task.view.part.material.drilling_speed.typical, dia)
}
