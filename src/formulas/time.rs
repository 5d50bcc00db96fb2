//! Cutting times of turning and facing.

use super::{Formula, FormulaError};
use crate::quantity::{Feed, Length, RotationalSpeed, Time, Velocity};
use std::f64::consts::PI;

/// The time of a pass at constant spindle speed.
///
/// # Formula
/// `t = L / (f n)`.
///
/// # Valid for
/// Length from 0, feed and speed over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Groover, Fundamentals of Modern Manufacturing, machining operations; read in a solution sheet.
///
/// # Check
/// 700 mm at 0.32 mm/rev and 219.6 rpm: 9.96 min.
pub fn turning(length: Length, feed: Feed, n: RotationalSpeed) -> Result<Time, FormulaError> {
    let f = Formula("turning time");
    let length_mm = f.not_negative("length", length.to_mm(), "mm")?;
    let f_mm = f.positive("feed", feed.to_mm_per_rev(), "mm/rev")?;
    let n = f.positive("spindle speed", n.to_rpm(), "rpm")?;
    f.finite(length_mm / (f_mm * n)).map(Time::minutes)
}

/// The time of a pass along a cylinder or a cone at constant surface speed, the spindle going no faster than `cap`.
///
/// # Formula
/// `t = integral of ds / (f n(d))`, `n = min(cap, 1000 vc / (pi d))`, s along the path. With d linear in s the integral
/// is exact: the part above the diameter where the cap binds, `dc = 1000 vc / (pi cap)`, runs at the mean diameter, the
/// part below at the cap.
///
/// # Valid for
/// Diameters and length from 0; feed, speed and cap over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Kinematics; the cylinder and the face as in published formula pages on turning time, read.
///
/// # Check
/// See [`facing`].
pub fn turning_at_surface_speed(
    start_dia: Length,
    end_dia: Length,
    length: Length,
    feed: Feed,
    speed: Velocity,
    cap: RotationalSpeed,
) -> Result<Time, FormulaError> {
    let f = Formula("turning time at constant surface speed");
    let d1_mm = f.not_negative("start diameter", start_dia.to_mm(), "mm")?;
    let d2_mm = f.not_negative("end diameter", end_dia.to_mm(), "mm")?;
    let length_mm = f.not_negative("length", length.to_mm(), "mm")?;
    let f_mm = f.positive("feed", feed.to_mm_per_rev(), "mm/rev")?;
    let vc = f.positive("cutting speed", speed.to_m_per_min(), "m/min")?;
    let cap = f.positive("speed cap", cap.to_rpm(), "rpm")?;
    let (small, large) = (d1_mm.min(d2_mm), d1_mm.max(d2_mm));
    let path_mm = libm::hypot(length_mm, (large - small) / 2.0);
    // Minutes a revolution: of the cap, and of a diameter a millimetre.
    let (at_cap, a_mm) = (1.0 / cap, PI / (1000.0 * vc));
    let mean = if large - small < 1e-9 {
        at_cap.max(large * a_mm)
    } else {
        let d_cap = (1000.0 * vc / (PI * cap)).clamp(small, large);
        let capped = (d_cap - small) * at_cap;
        let free = (large - d_cap) * (large + d_cap) / 2.0 * a_mm;
        (capped + free) / (large - small)
    };
    f.finite(path_mm / f_mm * mean).map(Time::minutes)
}

/// The time of facing, grooving or cutting off at constant surface speed, the spindle going no faster than `cap`.
///
/// # Formula
/// `t = pi (D1^2 - dc^2) / (4000 f vc) + (dc - D2) / (2 f cap)`, `dc = 1000 vc / (pi cap)`.
///
/// # Valid for
/// Diameters from 0, the outer at least the inner; feed, speed and cap over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Published formula pages on turning time, read; Sharma, A Textbook of Production Engineering, examples 4.13 and 4.22,
/// read.
///
/// # Check
/// 20 mm to the centre at 0.08 mm/rev, 150 m/min, cap 6,000 rpm: 1.819 s.
pub fn facing(
    outer_dia: Length,
    inner_dia: Length,
    feed: Feed,
    speed: Velocity,
    cap: RotationalSpeed,
) -> Result<Time, FormulaError> {
    Formula("facing time").within("inner diameter", inner_dia.to_mm(), 0.0, outer_dia.to_mm(), "mm")?;
    turning_at_surface_speed(outer_dia, inner_dia, Length::ZERO, feed, speed, cap)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FEED: Feed = Feed::mm_per_rev(0.08);
    const SPEED: Velocity = Velocity::m_per_min(150.0);
    const CAP: RotationalSpeed = RotationalSpeed::rpm(6000.0);

    #[test]
    fn a_face_to_the_centre_meets_the_cap() {
        let t = facing(Length::mm(20.0), Length::ZERO, FEED, SPEED, CAP).unwrap();
        assert!((t.to_s() - 1.81948).abs() < 1e-4, "{t}");
        let all_capped = facing(Length::mm(5.0), Length::ZERO, FEED, SPEED, CAP).unwrap();
        assert!((all_capped.to_minutes() - 2.5 / (0.08 * 6000.0)).abs() < 1e-12);
    }

    #[test]
    fn a_cylinder_is_a_cone_without_taper() {
        let at = |d2| {
            turning_at_surface_speed(Length::mm(20.0), Length::mm(d2), Length::mm(30.0), FEED, SPEED, CAP).unwrap()
        };
        assert!((at(20.0).to_s() - at(20.000001).to_s()).abs() < 1e-4);
        let n = 1000.0 * 150.0 / (PI * 20.0);
        assert!((at(20.0) / turning(Length::mm(30.0), FEED, RotationalSpeed::rpm(n)).unwrap() - 1.0).abs() < 1e-12);
        assert!(facing(Length::mm(5.0), Length::mm(6.0), FEED, SPEED, CAP).is_err());
        assert!(turning(Length::mm(5.0), Feed::ZERO, CAP).is_err());
    }
}
