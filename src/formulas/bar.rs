//! Bar: pieces, mass, corners.

use super::{Formula, FormulaError};
use crate::quantity::{Area, Length, Mass};
use std::f64::consts::PI;

/// The cross-section of bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Section {
    Round,
    /// Hexagon by its width across flats.
    Hex,
    /// Square by its width across flats.
    Square,
    Tube {
        bore: Length,
    },
}

/// How many pieces a bar gives.
///
/// # Formula
/// `floor((bar - remnant - first trim) / piece)`, a piece being its length, the cut-off width and the face allowance.
///
/// # Valid for
/// Lengths from 0, piece over 0, at most a million pieces; none where the remnant leaves nothing.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Arithmetic.
///
/// # Check
/// 3,000 mm, remnant 200, trim 2, piece 38 + 2 + 0.2: 69.
pub fn pieces(bar: Length, remnant: Length, first_trim: Length, piece: Length) -> Result<u32, FormulaError> {
    let f = Formula("pieces a bar");
    let bar_mm = f.not_negative("bar length", bar.to_mm(), "mm")?;
    let remnant_mm = f.not_negative("remnant", remnant.to_mm(), "mm")?;
    let trim_mm = f.not_negative("first trim", first_trim.to_mm(), "mm")?;
    let piece_mm = f.positive("length of bar a piece", piece.to_mm(), "mm")?;
    let usable_mm = (bar_mm - remnant_mm - trim_mm).max(0.0);
    // A piece that fits exactly must not be lost to a rounding error.
    let count = f.within("pieces", (usable_mm / piece_mm + 1e-9).floor(), 0.0, 1e6, "")?;
    Ok(count as u32)
}

/// The area of a bar's cross-section.
///
/// # Formula
/// Round `pi d^2 / 4`, hexagon `sqrt(3) / 2 s^2`, square `s^2`, tube the difference of two rounds.
///
/// # Valid for
/// Sizes from 0, a bore no larger than its tube.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Geometry.
///
/// # Check
/// Hexagon 24: 498.8 mm2.
pub fn area(dia_or_across: Length, section: Section) -> Result<Area, FormulaError> {
    let f = Formula("area of a bar");
    let s_mm = f.not_negative("size of bar", dia_or_across.to_mm(), "mm")?;
    let mm2 = match section {
        Section::Round => PI / 4.0 * s_mm * s_mm,
        Section::Hex => 3f64.sqrt() / 2.0 * s_mm * s_mm,
        Section::Square => s_mm * s_mm,
        Section::Tube { bore } => {
            let bore_mm = f.within("bore of the tube", bore.to_mm(), 0.0, s_mm, "mm")?;
            PI / 4.0 * (s_mm - bore_mm) * (s_mm + bore_mm)
        }
    };
    f.finite(mm2).map(Area::mm2)
}

/// The mass of a length of bar.
///
/// # Formula
/// `m = rho A L`.
///
/// # Valid for
/// As [`area`]; length from 0, density 500 to 25,000 kg/m3.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Geometry.
///
/// # Check
/// A metre of round 50 at 7,950 kg/m3: 15.61 kg, printed in a stockist's table.
pub fn mass(dia_or_across: Length, length: Length, density_kg_m3: f64, section: Section) -> Result<Mass, FormulaError> {
    let f = Formula("mass of a bar");
    let length_mm = f.not_negative("length", length.to_mm(), "mm")?;
    let density = f.within("density", density_kg_m3, 500.0, 25_000.0, "kg/m3")?;
    f.finite(density * area(dia_or_across, section)?.to_mm2() * length_mm / 1e9).map(Mass::kg)
}

/// The width of a hexagon across its corners.
///
/// # Formula
/// `e = 2 / sqrt(3) s`.
///
/// # Valid for
/// Sharp corners; bar is drawn with corners a little rounded, so that it needs no more than this.
///
/// # Source
/// Geometry.
///
/// # Check
/// 24 mm: 27.71 mm.
pub fn hex_corners(across: Length) -> Length {
    across * (2.0 / 3f64.sqrt())
}

/// The width of a square across its corners.
///
/// # Formula
/// `e = sqrt(2) s`.
///
/// # Valid for
/// Sharp corners, as [`hex_corners`].
///
/// # Source
/// Geometry.
///
/// # Check
/// 10 mm: 14.14 mm.
pub fn square_corners(across: Length) -> Length {
    across * std::f64::consts::SQRT_2
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_of_a_bar() {
        let mm = Length::mm;
        assert_eq!(pieces(mm(3000.0), mm(200.0), mm(2.0), mm(40.2)), Ok(69));
        assert_eq!(pieces(mm(300.3), mm(0.0), mm(0.0), mm(100.1)), Ok(3));
        assert_eq!(pieces(mm(100.0), mm(200.0), mm(2.0), mm(40.2)), Ok(0));
        assert!(pieces(mm(100.0), mm(0.0), mm(2.0), mm(0.0)).is_err());
        assert!(pieces(mm(f64::INFINITY), mm(0.0), mm(2.0), mm(1.0)).is_err());
    }

    #[test]
    fn mass_of_sections() {
        let kg = |d, section| mass(Length::mm(d), Length::mm(1000.0), 7950.0, section).unwrap().to_kg();
        assert!((kg(50.0, Section::Round) - 15.61).abs() < 0.005);
        assert!((kg(24.0, Section::Hex) - 498.83 * 7.95e-3).abs() < 1e-3);
        assert!(kg(20.0, Section::Tube { bore: Length::mm(10.0) }) < kg(20.0, Section::Round));
        assert!(mass(Length::mm(5.0), Length::mm(1.0), 7950.0, Section::Tube { bore: Length::mm(6.0) }).is_err());
        assert!((hex_corners(Length::mm(24.0)).to_mm() - 27.713).abs() < 1e-3);
        assert!((square_corners(Length::mm(10.0)).to_mm() - 14.142).abs() < 1e-3);
    }
}
