//! Cutting force, power, torque, speed, and the roughness that feed and nose radius leave.

use super::{Formula, FormulaError, radians};
use crate::quantity::{Angle, Feed, Force, Length, Power, RotationalSpeed, Torque, Velocity};
use std::f64::consts::PI;

/// Chip thickness below which the specific cutting force is held: the law was measured above it, and runs away below.
pub const THINNEST_CHIP_MM: f64 = 0.03;

/// The force on a square millimetre of chip, N/mm2.
///
/// # Formula
/// `kc = kc1.1 h^-mc`, with h held at 0.03 mm below that.
///
/// # Valid for
/// kc1.1 over 0 and up to 10,000 N/mm2, mc 0 to 0.5, h over 0 and up to 3 mm.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// VDI 3323 group tables and the Kienzle law as in Tschaetsch, Praxis der Zerspantechnik; read. The hold below 0.03 mm is
/// a cautious choice of this program.
///
/// # Check
/// kc1.1 = 1990, mc = 0.26, h = 0.4 sin 45 deg: 2,763 N/mm2, printed 2,750 in a clamping-force norm.
pub fn specific_cutting_force(kc11_n_mm2: f64, mc: f64, chip_thickness: Length) -> Result<f64, FormulaError> {
    let f = Formula("specific cutting force");
    let kc11 = f.within("kc1.1", kc11_n_mm2, 1.0, 10_000.0, "N/mm2")?;
    let mc = f.within("exponent mc", mc, 0.0, 0.5, "")?;
    let h_mm = f.within("chip thickness", chip_thickness.to_mm(), super::ABOVE_ZERO, 3.0, "mm")?;
    f.finite(kc11 * libm::pow(h_mm.max(THINNEST_CHIP_MM), -mc))
}

/// The main cutting force in turning.
///
/// # Formula
/// `Fc = kc b h K`, `h = f sin(kappa)`, `b = ap / sin(kappa)`, so that `b h = ap f`.
///
/// # Valid for
/// Depth over 0 and up to 20 mm, feed over 0 and up to 3 mm/rev, edge angle 10 to 170 deg, factor 0.1 to 5.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it, and as [`specific_cutting_force`].
///
/// # Source
/// Tschaetsch, Praxis der Zerspantechnik; the power law also in Ghosh and Mallik, Manufacturing Science, example 4.5; read.
///
/// # Check
/// 1500, 0.22, ap = 1, f = 0.1, 90 deg: 248.9 N.
pub fn cutting_force(
    kc11_n_mm2: f64,
    mc: f64,
    depth: Length,
    feed: Feed,
    edge_angle: Angle,
    factor: f64,
) -> Result<Force, FormulaError> {
    let f = Formula("cutting force");
    let ap_mm = f.within("depth of cut", depth.to_mm(), super::ABOVE_ZERO, 20.0, "mm")?;
    let f_mm = f.within("feed", feed.to_mm_per_rev(), super::ABOVE_ZERO, 3.0, "mm/rev")?;
    let kappa = f.within("edge angle", edge_angle.to_deg(), 10.0, 170.0, "deg")?;
    let factor = f.within("factor", factor, 0.1, 5.0, "")?;
    let kc = specific_cutting_force(kc11_n_mm2, mc, Length::mm(f_mm * libm::sin(radians(kappa))))?;
    f.finite(kc * ap_mm * f_mm * factor).map(Force::n)
}

/// The radial (passive) force as a share of the cutting force.
///
/// # Formula
/// 0.5 where the depth of cut is at least twice the nose radius, rising in a straight line to 1 where it is at most the
/// nose radius.
///
/// # Valid for
/// All depths and radii; a sharp nose counts as deep.
///
/// # Source
/// Common practice, no source.
///
/// # Check
/// ap = 0.6, r = 0.4: 0.75.
pub fn passive_share(depth: Length, nose_radius: Length) -> f64 {
    if nose_radius <= Length::ZERO {
        return 0.5;
    }
    let ratio = depth / nose_radius;
    if ratio.is_nan() { 1.0 } else { 1.0 - 0.5 * (ratio - 1.0).clamp(0.0, 1.0) }
}

/// The power at the tool.
///
/// # Formula
/// `Pc = Fc vc / 60000`, kW from N and m/min.
///
/// # Valid for
/// Power at the tool; the motor draws more by the efficiency of 0.7 to 0.85.
///
/// # Source
/// Published technical page on turning power; Sharma, A Textbook of Production Engineering, example 14.17; read.
///
/// # Check
/// 1,860 N at 120 m/min: 3.72 kW.
pub fn cutting_power(force: Force, speed: Velocity) -> Power {
    Power::kw(force.to_n() * speed.to_m_per_min() / 60_000.0)
}

/// The torque that a cutting force makes about the spindle's axis.
///
/// # Formula
/// `M = Fc D / 2000`, N.m from N and mm.
///
/// # Valid for
/// All forces and diameters.
///
/// # Source
/// Statics.
///
/// # Check
/// 500 N on 12.25 mm: 3.06 N.m.
pub fn turning_torque(force: Force, dia: Length) -> Torque {
    Torque::nm(force.to_n() * dia.to_mm() / 2000.0)
}

/// The spindle speed that gives a cutting speed on a diameter.
///
/// # Formula
/// `n = 1000 vc / (pi D)`.
///
/// # Valid for
/// Speeds from 0 to 2,000 m/min, diameters over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it; on the axis itself no speed is enough.
///
/// # Source
/// Groover, Fundamentals of Modern Manufacturing, machining operations; read.
///
/// # Check
/// 138 m/min on 200 mm: 219.6 rpm.
pub fn spindle_speed(speed: Velocity, dia: Length) -> Result<RotationalSpeed, FormulaError> {
    let f = Formula("spindle speed");
    let vc = f.within("cutting speed", speed.to_m_per_min(), 0.0, 2000.0, "m/min")?;
    let d_mm = f.positive("diameter", dia.to_mm(), "mm")?;
    f.finite(1000.0 * vc / (PI * d_mm)).map(RotationalSpeed::rpm)
}

/// The speed of a surface that turns.
///
/// # Formula
/// `vc = pi D n / 1000`.
///
/// # Valid for
/// All speeds and diameters.
///
/// # Source
/// Groover, Fundamentals of Modern Manufacturing, machining operations; read.
///
/// # Check
/// 12 mm at 1,350 rpm: 50.9 m/min.
pub fn surface_speed(n: RotationalSpeed, dia: Length) -> Velocity {
    Velocity::m_per_min(PI * dia.to_mm() * n.to_rpm() / 1000.0)
}

/// The roughness Ra that a round nose leaves if nothing else does; real turning leaves 1.25 to 2 times as much.
///
/// # Formula
/// `Ra = f^2 / (32 r)`: a quarter of the peak-to-valley height of the cusps.
///
/// # Valid for
/// Feeds below the nose radius. Nothing is left by no feed; a sharp nose counts as 1 um.
///
/// # Source
/// Groover, Fundamentals of Modern Manufacturing, surface finish; from memory. The exact divisor for a parabola is
/// 31.18, 2.6 % more roughness.
///
/// # Check
/// f = 0.2, r = 0.8: 1.56 um.
pub fn ideal_ra(feed: Feed, nose_radius: Length) -> Length {
    let f_mm = feed.to_mm_per_rev();
    Length::mm(f_mm * f_mm / (32.0 * nose_radius.to_mm().max(1e-3)))
}

/// The feed at which a round nose leaves this Ra.
///
/// # Formula
/// `f = sqrt(32 r Ra)`.
///
/// # Valid for
/// As [`ideal_ra`]; no feed for no roughness.
///
/// # Source
/// The inverse of [`ideal_ra`].
///
/// # Check
/// 1.6 um with r = 0.8: 0.2024 mm/rev.
pub fn feed_for_ra(ra: Length, nose_radius: Length) -> Feed {
    let product = 32.0 * nose_radius.to_mm().max(1e-3) * ra.to_mm();
    Feed::mm_per_rev(product.max(0.0).sqrt())
}

/// The height of the cusps that a round nose leaves.
///
/// # Formula
/// `Rz = r - sqrt(r^2 - f^2 / 4)`.
///
/// # Valid for
/// Nose radius over 0, feed from 0 to twice the nose radius.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Geometry of the circle; `f^2 / (8 r)`, its first term, in Ghosh and Mallik, Manufacturing Science, example 4.24; read.
///
/// # Check
/// f = 0.2, r = 0.8: 6.275 um.
pub fn ideal_rz(feed: Feed, nose_radius: Length) -> Result<Length, FormulaError> {
    let f = Formula("ideal Rz");
    let r_mm = f.positive("nose radius", nose_radius.to_mm(), "mm")?;
    let f_mm = f.within("feed", feed.to_mm_per_rev(), 0.0, 2.0 * r_mm, "mm/rev")?;
    let root = (r_mm * r_mm - f_mm * f_mm / 4.0).max(0.0).sqrt();
    // The difference of two near numbers, written without the loss of digits.
    f.finite(f_mm * f_mm / 4.0 / (r_mm + root)).map(Length::mm)
}

/// The volume that a turning cut removes in a minute, cm3/min.
///
/// # Formula
/// `Q = vc ap f`, with the speed at the outside; `pi Dm ap f n` with the mean diameter is smaller by `Dm / D`.
///
/// # Valid for
/// A depth that is small against the diameter.
///
/// # Source
/// Kalpakjian and Schmid, Manufacturing Engineering and Technology, example 22.1; read.
///
/// # Check
/// 138 m/min, 1.8 mm, 0.32 mm/rev: 79.5 cm3/min.
pub fn removal_rate_cm3_min(speed: Velocity, depth: Length, feed: Feed) -> f64 {
    speed.to_m_per_min() * depth.to_mm() * feed.to_mm_per_rev()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn force_and_power_of_a_light_cut() {
        let force = cutting_force(1500.0, 0.22, Length::mm(1.0), Feed::mm_per_rev(0.1), Angle::deg(90.0), 1.0).unwrap();
        assert!((force.to_n() - 248.938).abs() < 0.001);
        assert!((cutting_power(force, Velocity::m_per_min(160.0)).to_kw() - 0.663835).abs() < 1e-5);
        let n = spindle_speed(Velocity::m_per_min(160.0), Length::mm(20.0)).unwrap();
        assert!((surface_speed(n, Length::mm(20.0)).to_m_per_min() - 160.0).abs() < 1e-9);
    }

    #[test]
    fn a_chip_thinner_than_the_law_is_held() {
        let at = |h| specific_cutting_force(2110.0, 0.22, Length::mm(h)).unwrap();
        assert_eq!(at(0.001), at(0.03));
        assert!(at(0.03) > at(0.031));
        assert!(specific_cutting_force(2110.0, 0.22, Length::ZERO).is_err());
        assert!(specific_cutting_force(2110.0, f64::NAN, Length::mm(0.1)).is_err());
    }

    #[test]
    fn passive_share_between_its_ends() {
        let share = |ap| passive_share(Length::mm(ap), Length::mm(0.4));
        assert_eq!((share(0.1), share(0.4), share(0.8), share(3.0)), (1.0, 1.0, 0.5, 0.5));
        assert!((share(0.6) - 0.75).abs() < 1e-12);
        assert_eq!(passive_share(Length::mm(1.0), Length::ZERO), 0.5);
    }

    #[test]
    fn roughness_and_its_feed_are_inverse() {
        let f = feed_for_ra(Length::um(1.6), Length::mm(0.8));
        assert!((f.to_mm_per_rev() - 0.2024).abs() < 1e-4);
        assert!((ideal_ra(f, Length::mm(0.8)).to_um() - 1.6).abs() < 1e-9);
        assert!((ideal_rz(Feed::mm_per_rev(0.2), Length::mm(0.8)).unwrap().to_um() - 6.2747).abs() < 1e-3);
        assert!(ideal_rz(Feed::mm_per_rev(2.0), Length::mm(0.8)).is_err());
    }
}
