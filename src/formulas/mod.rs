//! Formulas: pure functions, each with the range that it holds for, its source, and a check.
//!
//! Quantities come in and go out typed. Inside, numbers carry their unit in their name and are computed as the source
//! prints them. What lies outside the range of a formula's source is refused, and so is a result that is not a number.

pub mod bar;
pub mod beam;
pub mod capability;
pub mod cutting;
pub mod drilling;
pub mod finance;
pub mod investment;
pub mod power_feed;
pub mod robust;
pub mod threads;
pub mod time;
pub mod tool_life;

use crate::quantity::print::number;

/// Why a formula has no answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FormulaError {
    #[error("{formula}: {input} of {} lies outside {}", shown(.value, .unit), allowed(.low, .high, .unit))]
    OutOfRange { formula: &'static str, input: &'static str, value: f64, low: f64, high: f64, unit: &'static str },
    #[error("{formula}: the result is not a finite number")]
    NotFinite { formula: &'static str },
}

/// A number with its unit. Six decimals: a value just outside its range must not print as the border itself.
fn shown(value: &f64, unit: &str) -> String {
    let text = number(*value, 6);
    if unit.is_empty() { text } else { format!("{text} {unit}") }
}

fn allowed(low: &f64, high: &f64, unit: &str) -> String {
    match (low.is_finite(), high.is_finite()) {
        (true, true) => format!("{} to {}", number(*low, 6), shown(high, unit)),
        (true, false) => format!("{} and above", shown(low, unit)),
        (false, true) => format!("{} and below", shown(high, unit)),
        (false, false) => "all finite numbers".to_owned(),
    }
}

/// The smallest number that counts as above nothing: an input that is divided by must reach it.
const ABOVE_ZERO: f64 = 1e-9;

/// Results beyond it count as infinite: the change of a unit must not carry them there.
const LARGEST: f64 = 1e290;

/// The inputs of one formula, checked by its name.
#[derive(Clone, Copy)]
struct Formula(&'static str);

impl Formula {
    /// The value, where it is finite and within `low ..= high`.
    fn within(
        self,
        input: &'static str,
        value: f64,
        low: f64,
        high: f64,
        unit: &'static str,
    ) -> Result<f64, FormulaError> {
        if value.is_finite() && value >= low && value <= high {
            Ok(value)
        } else {
            Err(FormulaError::OutOfRange { formula: self.0, input, value, low, high, unit })
        }
    }

    /// The value, where it is finite and above nothing.
    fn positive(self, input: &'static str, value: f64, unit: &'static str) -> Result<f64, FormulaError> {
        self.within(input, value, ABOVE_ZERO, f64::INFINITY, unit)
    }

    /// The value, where it is finite and not negative.
    fn not_negative(self, input: &'static str, value: f64, unit: &'static str) -> Result<f64, FormulaError> {
        self.within(input, value, 0.0, f64::INFINITY, unit)
    }

    /// The result, where it is finite and stays so in any unit.
    fn finite(self, result: f64) -> Result<f64, FormulaError> {
        if result.abs() < LARGEST { Ok(result) } else { Err(FormulaError::NotFinite { formula: self.0 }) }
    }
}

/// Degrees as radians.
fn radians(degrees: f64) -> f64 {
    degrees.to_radians()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refusals_read_aloud() {
        let f = Formula("spindle speed");
        let e = f.positive("diameter", 0.0, "mm").unwrap_err();
        assert_eq!(e.to_string(), "spindle speed: diameter of 0 mm lies outside 0 mm and above");
        let e = f.within("point angle", 200.0, 60.0, 180.0, "deg").unwrap_err();
        assert_eq!(e.to_string(), "spindle speed: point angle of 200 deg lies outside 60 to 180 deg");
        assert_eq!(f.finite(f64::NAN).unwrap_err().to_string(), "spindle speed: the result is not a finite number");
        assert!(f.not_negative("x", f64::INFINITY, "").is_err());
    }
}
