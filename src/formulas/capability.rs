//! Whether a tolerance can be held.

use super::{Formula, FormulaError};
use crate::quantity::Length;

/// The capability of a turned diameter.
///
/// # Formula
/// `Cp = (T - 2 (delta max - delta min) - drift) / spread`: the part bends away from the tool by delta, which makes the
/// diameter larger by twice as much; only its change along the stretch cannot be set off. Negative where bending and drift
/// alone exceed the tolerance.
///
/// # Valid for
/// Tolerance, deflections and drift from 0, the greater deflection at least the lesser; spread (six sigma) over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// The index Cp of ISO 22514-2 with the systematic parts taken off the tolerance; the thresholds of 1.33 and 1.0 are common
/// practice, no source.
///
/// # Check
/// T = 22 um, 1 and 3 um, drift 5 um, spread 9 um: 1.44.
pub fn cp(
    tolerance: Length,
    deflection_min: Length,
    deflection_max: Length,
    drift: Length,
    spread: Length,
) -> Result<f64, FormulaError> {
    let f = Formula("capability");
    let t_um = f.not_negative("tolerance", tolerance.to_um(), "um")?;
    let low_um = f.not_negative("least deflection", deflection_min.to_um(), "um")?;
    let high_um = f.within("greatest deflection", deflection_max.to_um(), low_um, f64::INFINITY, "um")?;
    let drift_um = f.not_negative("drift", drift.to_um(), "um")?;
    let spread_um = f.positive("spread", spread.to_um(), "um")?;
    f.finite((t_um - 2.0 * (high_um - low_um) - drift_um) / spread_um)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_of_a_tolerance() {
        let um = Length::um;
        assert!((cp(um(22.0), um(1.0), um(3.0), um(5.0), um(9.0)).unwrap() - 13.0 / 9.0).abs() < 1e-9);
        assert!(cp(um(5.0), um(0.0), um(30.0), um(5.0), um(9.0)).unwrap() < 0.0);
        assert!(cp(um(5.0), um(3.0), um(1.0), um(5.0), um(9.0)).is_err());
        assert!(cp(um(5.0), um(0.0), um(1.0), um(5.0), um(0.0)).is_err());
    }
}
