//! The bar to buy: shape, size, grade, length, and how many pieces it yields.

use super::{Task, deflection};
use crate::formulas::{FormulaError, bar};
use crate::model::machine::ModeKind;
use crate::model::part::{BarShape, DemandKind, Kind};
use crate::quantity::{Length, Mass};
use crate::tables::{bars, cut_off, iso286};

/// The stock of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Blank {
    pub shape: BarShape,
    /// Diameter, or across flats.
    pub size: Length,
    /// What must pass bushing, collet and spindle: the diameter, or the corners.
    pub corners: Length,
    pub bore: Length,
    /// IT grade of the bar's size.
    pub grade: u8,
    /// The width of that grade at this size.
    pub size_tolerance: Length,
    /// How far the bar may be from round: half its size tolerance (common practice).
    pub roundness: Length,
    /// No stocked bar is large enough; the size is then what is needed.
    pub not_stocked: bool,
    /// A larger-than-common size that is seldom stocked but smaller than the one chosen.
    pub seldom_alternative: Option<Length>,
    /// Wire from a coil: no ends, no remnant, nothing that turns behind the spindle.
    pub coil: bool,
    /// Bar length that is fed, or of wire on a coil.
    pub length: Length,
    pub remnant: Length,
    /// The mode states no remnant; a usual one was taken.
    pub remnant_assumed: bool,
    pub cut_off_width: Length,
    /// Bar used up by one piece.
    pub pitch: Length,
    /// Pieces a bar; nought where none fits between trim and remnant.
    pub pieces: u32,
    /// Bar mass bought for one piece, with its share of remnant and trim.
    pub mass: Mass,
    /// Price of a kilogram over that of drawn bar.
    pub price_factor: f64,
    /// The stretch of bar that must stand out of the nose for one piece.
    pub reach: Length,
}

/// Chooses the stock of a task.
///
/// # Errors
/// [`FormulaError`] where a size lies outside what the formulas are valid for.
pub fn choose(task: &Task) -> Result<Blank, FormulaError> {
    let (part, t) = (task.view.part, task.thresholds);
    let wish = part.stock.as_ref();
    let shape = wish.map_or(BarShape::Round, |w| w.shape);
    let as_stock = part.features.iter().find_map(|f| match &f.kind {
        Kind::Turn(turn) if turn.as_stock => Some(turn.dia.nominal),
        Kind::Polygon(p) if p.as_stock => Some(p.across.nominal),
        _ => None,
    });
    // Hexagonal and square bar is drawn to h11 and not sold finer, whatever the mode would like.
    let usual = match shape {
        BarShape::Round => task.mode.stock.map_or(10, |s| s.value),
        _ => 11,
    };
    let mut grade = wish.and_then(|w| w.grade).unwrap_or(usual);
    let bore = wish.and_then(|w| w.bore).unwrap_or(Length::ZERO);
    let needed = clean_up(task.view.largest, t.clean_up_least_mm, t.clean_up_share);
    let mut seldom_alternative = None;
    let mut not_stocked = false;
    let size = match (wish.and_then(|w| w.size), as_stock) {
        (Some(size), _) | (None, Some(size)) => size,
        (None, None) => {
            let enough = |b: &&bars::BarSize| {
                let lowest = iso286::grade_tolerance(grade, b.dia).map_or(b.dia, |it| b.dia - it);
                lowest >= needed
            };
            let common = bars::metric().iter().filter(|b| b.stocked == bars::Stocked::Common).find(enough);
            let any = bars::for_drawing(part.inches).iter().find(enough);
            seldom_alternative = any.filter(|a| common.is_none_or(|c| a.dia < c.dia)).map(|a| a.dia);
            common.map_or_else(
                || {
                    not_stocked = true;
                    needed
                },
                |b| b.dia,
            )
        }
    };
    if wish.and_then(|w| w.grade).is_none() && task.guided() && shape == BarShape::Round {
        grade = grade_that_holds(task, size, grade);
    }
    let corners = match shape {
        BarShape::Hex => bar::hex_corners(size),
        BarShape::Square => bar::square_corners(size),
        _ => size,
    };
    let size_tolerance = iso286::grade_tolerance(grade, size).unwrap_or(Length::ZERO);
    let cut_off_width = cut_off::width(corners);
    let feeder = task.machine.feeder.as_ref();
    let coil = wish.is_some_and(|w| w.coil) && feeder.and_then(|f| f.coil).is_some_and(|wire| wire.contains(corners));
    let (remnant, remnant_assumed) = match task.mode.remnant {
        _ if coil => (Length::ZERO, false),
        Some(r) => (r.value, false),
        None if task.guided() => (Length::mm(200.0), true),
        None => (Length::mm(80.0), true),
    };
    let longest = feeder.and_then(|f| f.length).and_then(|r| r.high);
    // Bar is sold in 3 m lengths; a shorter feeder takes it cut, and every cut length leaves a remnant of its own.
    let length = match coil {
        true => Length::mm(t.coil_length_m * 1000.0),
        false => longest.map_or(Length::mm(3000.0), |l| l.min(Length::mm(3000.0))),
    };
    let pitch = task.view.length + cut_off_width + Length::mm(t.face_allowance_mm);
    let pieces = bar::pieces(length, remnant, Length::mm(t.first_trim_mm), pitch).unwrap_or(0);
    let density = part.material.density_kg_m3;
    let section = match shape {
        BarShape::Hex => bar::Section::Hex,
        BarShape::Square => bar::Section::Square,
        _ => bar::Section::Round,
    };
    let bar_mass = bar::mass(size, length, density, section)?;
    let hollow = if bore > Length::ZERO { bar::mass(bore, length, density, bar::Section::Round)? } else { Mass::ZERO };
    Ok(Blank {
        shape,
        size,
        corners,
        bore,
        grade,
        size_tolerance,
        roundness: size_tolerance * t.bar_roundness,
        not_stocked,
        seldom_alternative,
        coil,
        length,
        remnant,
        remnant_assumed,
        cut_off_width,
        pitch,
        pieces,
        mass: (bar_mass - hollow) / f64::from(pieces.max(1)),
        price_factor: bars::price_factor(grade),
        reach: task.view.length + cut_off_width + Length::mm(t.nose_gap_mm),
    })
}

/// The diameter that a bar must still have at its lower limit to clean up.
fn clean_up(largest: Length, least_mm: f64, share: f64) -> Length {
    largest + Length::mm(least_mm).max(largest * share)
}

/// The cheapest bar grade with which a guide bushing misses the fewest demands: the bar is the slideway, so that part of its
/// roundness is copied and part of its size step enters the spread. Root of squares, since the errors are independent; the
/// rule of roundness shows the plain sum as well.
fn grade_that_holds(task: &Task, size: Length, poorest: u8) -> u8 {
    let (part, t) = (task.view.part, task.thresholds);
    let round = part.demands.iter().filter(|d| matches!(d.kind, DemandKind::Roundness | DemandKind::Cylindricity));
    let round: Vec<Length> = round.filter(|d| !part.is_ground(d.feature)).map(|d| d.value).collect();
    // The tolerance of each size that is cut, less the drift, with the capability that it must have.
    let sizes: Vec<(Length, f64)> = part
        .features
        .iter()
        .enumerate()
        .filter(|(id, _)| !part.is_ground(*id))
        .filter_map(|(_, f)| {
            let held = deflection::held_tolerance(&f.kind)? - Length::um(t.thermal_drift_um);
            Some((held, f.cpk.unwrap_or(t.cp_warns.min(t.cp_fits))))
        })
        .collect();
    let missed = |grade: u8| {
        let tolerance = iso286::grade_tolerance(grade, size).unwrap_or(Length::ZERO);
        let spread = deflection::spread_with(task, tolerance);
        let oval = task.mode.roundness.map(|own| {
            let copied = tolerance * t.bar_roundness * t.bar_roundness_share;
            Length::mm(libm::hypot(own.value.to_mm(), copied.to_mm()))
        });
        round.iter().filter(|wanted| oval.is_some_and(|o| **wanted < o)).count()
            + sizes.iter().filter(|(held, least)| spread.is_some_and(|s| *held < s * *least)).count()
    };
    // From the poorest on, so that of grades that miss as much the cheapest is bought.
    (poorest.min(6)..=poorest).rev().min_by_key(|grade| missed(*grade)).unwrap_or(poorest)
}

/// Roundness that a mode leaves on the part, and the share that comes from the bar.
pub fn roundness(task: &Task, blank: &Blank) -> Option<(Length, Length)> {
    let own = task.mode.roundness?.value;
    let share = if task.mode.kind == ModeKind::Guided { task.thresholds.bar_roundness_share } else { 0.0 };
    Some((own, blank.roundness * share))
}
