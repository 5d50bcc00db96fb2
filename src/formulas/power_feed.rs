//! Feed at constant power.

use super::{ABOVE_ZERO, Formula, FormulaError, cutting, radians};
use crate::quantity::{Angle, Feed, Length, Power, Velocity};

/// The feed at which a turning cut takes this much power.
///
/// # Formula
/// From `P = kc1.1 ap f (f sin(kappa))^-mc K vc / 60000`:
/// `f = ((60000 P sin(kappa)) / (kc1.1 ap K vc))^(1 / (1 - mc)) / sin(kappa)`, and with the force of 0.03 mm held below
/// that chip thickness.
///
/// # Valid for
/// As [`cutting::cutting_force`]; power and speed over 0. The feed is not limited here: finish, edge and override are.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// The inverse of [`cutting::cutting_force`] and [`cutting::cutting_power`].
///
/// # Check
/// The power of the feed found is the power asked for.
pub fn feed_at_power(
    kc11_n_mm2: f64,
    mc: f64,
    depth: Length,
    edge_angle: Angle,
    factor: f64,
    speed: Velocity,
    power: Power,
) -> Result<Feed, FormulaError> {
    let f = Formula("feed at constant power");
    let kc11 = f.within("kc1.1", kc11_n_mm2, 1.0, 10_000.0, "N/mm2")?;
    let mc = f.within("exponent mc", mc, 0.0, 0.5, "")?;
    let ap_mm = f.within("depth of cut", depth.to_mm(), ABOVE_ZERO, 20.0, "mm")?;
    let sine = libm::sin(radians(f.within("edge angle", edge_angle.to_deg(), 10.0, 170.0, "deg")?));
    let factor = f.within("factor", factor, 0.1, 5.0, "")?;
    let vc = f.within("cutting speed", speed.to_m_per_min(), ABOVE_ZERO, 2000.0, "m/min")?;
    let p_kw = f.positive("power", power.to_kw(), "kW")?;
    // The force a millimetre of chip width and a unit of kc1.1 that the power allows: h^(1 - mc).
    let allowed = 60_000.0 * p_kw * sine / (kc11 * ap_mm * factor * vc);
    let mut h_mm = libm::pow(allowed, 1.0 / (1.0 - mc));
    if h_mm < cutting::THINNEST_CHIP_MM {
        h_mm = allowed * libm::pow(cutting::THINNEST_CHIP_MM, mc);
    }
    f.finite(h_mm / sine).map(Feed::mm_per_rev)
}

/// What keeps a feed from rising further.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Binding {
    /// The power that the spindle may draw.
    Power,
    /// The roughness that the pass must leave.
    Finish,
    /// The highest override of the programmed feed.
    Override,
}

/// The feed of one stretch of a roughing pass at constant power, and what binds it.
///
/// # Formula
/// The least of the feed at the power allowed, the feed for the finish, and the programmed feed times the override limit.
/// Where power is already short at the programmed feed it falls below it.
///
/// # Valid for
/// Feeds over 0, override limit 1 to 3.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Arithmetic; the gain is computed from the depth of each stretch, never taken as a flat percentage.
///
/// # Check
/// 0.1 programmed, 0.3 at power, limit 1.5: 0.15, by the override.
pub fn limited_feed(
    programmed: Feed,
    at_power: Feed,
    finish: Option<Feed>,
    override_limit: f64,
) -> Result<(Feed, Binding), FormulaError> {
    let f = Formula("feed at constant power");
    f.positive("programmed feed", programmed.to_mm_per_rev(), "mm/rev")?;
    f.positive("feed at constant power", at_power.to_mm_per_rev(), "mm/rev")?;
    let limit = f.within("override limit", override_limit, 1.0, 3.0, "")?;
    let mut best = (at_power, Binding::Power);
    if let Some(finish) = finish {
        f.positive("feed for the finish", finish.to_mm_per_rev(), "mm/rev")?;
        if finish < best.0 {
            best = (finish, Binding::Finish);
        }
    }
    let raised = programmed * limit;
    if raised < best.0 {
        best = (raised, Binding::Override);
    }
    f.finite(best.0.to_mm_per_rev())?;
    Ok(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_feed_takes_the_power_asked_for() {
        for (kw, ap) in [(0.01, 2.0), (0.5, 0.3), (2.0, 1.0), (3.7, 2.0)] {
            let (depth, edge, speed) = (Length::mm(ap), Angle::deg(75.0), Velocity::m_per_min(120.0));
            let feed = feed_at_power(2500.0, 0.26, depth, edge, 1.3, speed, Power::kw(kw)).unwrap();
            let force = cutting::cutting_force(2500.0, 0.26, depth, feed, edge, 1.3).unwrap();
            assert!((cutting::cutting_power(force, speed).to_kw() - kw).abs() < 1e-9, "{kw}");
        }
    }

    #[test]
    fn the_least_feed_binds() {
        let f = Feed::mm_per_rev;
        let of = |power, finish, limit| limited_feed(f(0.1), f(power), finish, limit).unwrap();
        assert_eq!(of(0.3, None, 1.5).1, Binding::Override);
        assert_eq!(of(0.12, None, 1.5), (f(0.12), Binding::Power));
        assert_eq!(of(0.3, Some(f(0.08)), 1.5), (f(0.08), Binding::Finish));
        assert!(limited_feed(f(0.1), f(0.3), None, 0.5).is_err());
    }
}
