//! ISO 286: standard tolerances and the limits of shafts and holes.

use super::{Access, Sourced, TableError, cite, read, step};
use crate::quantity::Length;
use serde::Deserialize;
use std::sync::LazyLock;

const TABLE_NAME: &str = "ISO 286";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ToleranceRow {
    up_to: f64,
    /// IT01, IT0, IT1 to IT18.
    it: [f64; 20],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Tolerances {
    source: String,
    access: Access,
    /// Of the two grades below IT1.
    sub_source: String,
    rows: Vec<ToleranceRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ShaftRow {
    up_to: f64,
    d: f64,
    e: f64,
    f: f64,
    g: f64,
    j5_j6: f64,
    j7: f64,
    k4_to_k7: f64,
    m: f64,
    n: f64,
    p: f64,
    r: f64,
    s: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(non_snake_case, reason = "letters of holes are capital in the standard")]
struct HoleRow {
    up_to: f64,
    D: f64,
    E: f64,
    F: f64,
    G: f64,
    J6: f64,
    J7: f64,
    J8: f64,
    K: f64,
    M: f64,
    N: f64,
    P: f64,
    R: f64,
    S: f64,
    /// Of grades 3 to 8.
    delta: [f64; 6],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    tolerances: Tolerances,
    shafts: Sourced<ShaftRow>,
    holes: Sourced<HoleRow>,
}

static TABLE: LazyLock<File> = LazyLock::new(|| read("iso286", include_str!("iso286.yaml")));

/// The two grades finer than IT1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FineGrade {
    It01,
    It0,
}

fn out_of_range(size: Length, high: f64) -> TableError {
    TableError::OutOfRange { table: TABLE_NAME, size, low: Length::ZERO, high: Length::mm(high) }
}

fn tolerance_um(column: usize, size: Length) -> Result<f64, TableError> {
    if size <= Length::ZERO || !size.is_finite() {
        return Err(out_of_range(size, 500.0));
    }
    step(&TABLE.tolerances.rows, size, |r| r.up_to).map(|r| r.it[column]).ok_or_else(|| out_of_range(size, 500.0))
}

/// The standard tolerance of grade IT1 to IT18 for a size over 0 and up to 500 mm.
///
/// # Errors
/// [`TableError::UnknownClass`] for another grade, [`TableError::OutOfRange`] for another size.
pub fn grade_tolerance(grade: u8, size: Length) -> Result<Length, TableError> {
    if !(1..=18).contains(&grade) {
        return Err(TableError::UnknownClass { table: TABLE_NAME, class: format!("IT{grade}") });
    }
    tolerance_um(usize::from(grade) + 1, size).map(Length::um)
}

/// The standard tolerance of IT01 or IT0 for a size over 0 and up to 500 mm.
///
/// # Errors
/// [`TableError::OutOfRange`] for another size.
pub fn fine_tolerance(grade: FineGrade, size: Length) -> Result<Length, TableError> {
    tolerance_um(usize::from(grade == FineGrade::It0), size).map(Length::um)
}

/// The coarsest standard grade, IT1 to IT18, whose tolerance at this size keeps within `tolerance`. Nothing where even
/// IT1 is wider.
///
/// # Errors
/// [`TableError::OutOfRange`] for a size outside 0 to 500 mm.
pub fn grade_within(tolerance: Length, size: Length) -> Result<Option<u8>, TableError> {
    for grade in (1..=18).rev() {
        if grade_tolerance(grade, size)? <= tolerance + Length::mm(1e-9) {
            return Ok(Some(grade));
        }
    }
    Ok(None)
}

/// The upper and lower deviation of a shaft or hole class at a size: `h9`, `js6`, `H7`. Classes h, H, js and JS hold up
/// to 500 mm, d to s and D to S up to 120 mm.
///
/// # Errors
/// [`TableError::UnknownClass`] where there is no such letter or grade, [`TableError::NotCovered`] where the letter has
/// no value for this grade, [`TableError::OutOfRange`] for a size outside the table.
pub fn limits(size: Length, class: &str) -> Result<(Length, Length), TableError> {
    let unknown = || TableError::UnknownClass { table: TABLE_NAME, class: class.to_owned() };
    let digits = class.find(|c: char| c.is_ascii_digit()).ok_or_else(unknown)?;
    let (letter, number) = class.split_at(digits);
    let grade: u8 = number.parse().map_err(|_| unknown())?;
    let it = grade_tolerance(grade, size).map_err(|e| match e {
        TableError::UnknownClass { .. } => unknown(),
        other => other,
    })?;
    let not_covered = || TableError::NotCovered { table: TABLE_NAME, class: class.to_owned(), size };
    match letter {
        "h" => Ok((Length::ZERO, -it)),
        "H" => Ok((it, Length::ZERO)),
        "js" | "JS" => Ok((it / 2.0, -(it / 2.0))),
        _ if letter.chars().all(char::is_lowercase) => shaft(letter, grade, size, it)?.ok_or_else(not_covered),
        _ => hole(letter, grade, size, it)?.ok_or_else(not_covered),
    }
    .map_err(|e| match e {
        TableError::UnknownClass { .. } => unknown(),
        other => other,
    })
}

type Deviations = Result<Option<(Length, Length)>, TableError>;

fn unknown_letter(letter: &str) -> TableError {
    TableError::UnknownClass { table: TABLE_NAME, class: letter.to_owned() }
}

/// d to g hang from their upper deviation, j to s stand on their lower one.
fn shaft(letter: &str, grade: u8, size: Length, it: Length) -> Deviations {
    let row = step(&TABLE.shafts.rows, size, |r| r.up_to).ok_or_else(|| out_of_range(size, 120.0))?;
    let below = |um: f64| Some((Length::um(um), Length::um(um) - it));
    let above = |um: f64| Some((Length::um(um) + it, Length::um(um)));
    Ok(match (letter, grade) {
        ("d", _) => below(row.d),
        ("e", _) => below(row.e),
        ("f", _) => below(row.f),
        ("g", _) => below(row.g),
        ("j", 5 | 6) => above(row.j5_j6),
        ("j", 7) => above(row.j7),
        ("j", _) => None,
        ("k", 4..=7) => above(row.k4_to_k7),
        ("k", _) => above(0.0),
        ("m", _) => above(row.m),
        ("n", _) => above(row.n),
        ("p", _) => above(row.p),
        ("r", _) => above(row.r),
        ("s", _) => above(row.s),
        _ => return Err(unknown_letter(letter)),
    })
}

/// D to G stand on their lower deviation, J to S hang from their upper one, which finer grades raise by delta.
fn hole(letter: &str, grade: u8, size: Length, it: Length) -> Deviations {
    let row = step(&TABLE.holes.rows, size, |r| r.up_to).ok_or_else(|| out_of_range(size, 120.0))?;
    let above = |um: f64| Some((Length::um(um) + it, Length::um(um)));
    let below = |um: f64| Some((Length::um(um), Length::um(um) - it));
    let delta = match grade {
        3..=8 => row.delta[usize::from(grade) - 3],
        _ => 0.0,
    };
    let to_3 = row.up_to <= 3.0;
    let up_to_7 = |um: f64| below(if grade <= 7 { um + delta } else { um });
    Ok(match (letter, grade) {
        ("D", _) => above(row.D),
        ("E", _) => above(row.E),
        ("F", _) => above(row.F),
        ("G", _) => above(row.G),
        ("J", 6) => below(row.J6),
        ("J", 7) => below(row.J7),
        ("J", 8) => below(row.J8),
        ("J", _) => None,
        ("K", 9..) => {
            if to_3 {
                below(row.K)
            } else {
                None
            }
        }
        ("K", _) => below(row.K + delta),
        ("M", _) => below(row.M + delta),
        ("N", 9..) => below(if to_3 { row.N } else { 0.0 }),
        ("N", _) => below(row.N + delta),
        ("P", _) => up_to_7(row.P),
        ("R", _) => up_to_7(row.R),
        ("S", _) => up_to_7(row.S),
        _ => return Err(unknown_letter(letter)),
    })
}

/// Where the tolerances, the two finest grades, the shafts and the holes come from.
pub fn sources() -> [String; 4] {
    let t = &TABLE.tolerances;
    [cite(&t.source, t.access), t.sub_source.clone(), TABLE.shafts.cite(), TABLE.holes.cite()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_at_their_borders() {
        let um = |mm: f64, class: &str| {
            limits(Length::mm(mm), class)
                .map(|(u, l)| ((u.to_mm() * 1e6).round() / 1e3, (l.to_mm() * 1e6).round() / 1e3))
        };
        assert_eq!(um(18.0, "H8"), Ok((27.0, 0.0)));
        assert_eq!(um(18.01, "H8"), Ok((33.0, 0.0)));
        assert_eq!(um(10.0, "g6"), Ok((-5.0, -14.0)));
        assert_eq!(um(400.0, "h7"), Ok((0.0, -57.0)));
        assert!(matches!(um(400.0, "g6"), Err(TableError::OutOfRange { .. })));
        assert!(matches!(um(10.0, "w6"), Err(TableError::UnknownClass { .. })));
        assert!(matches!(um(10.0, "h19"), Err(TableError::UnknownClass { .. })));
        assert!(matches!(um(10.0, "h"), Err(TableError::UnknownClass { .. })));
        assert!(matches!(um(10.0, "j9"), Err(TableError::NotCovered { .. })));
        assert!(matches!(um(0.0, "h7"), Err(TableError::OutOfRange { .. })));
        assert!(matches!(um(f64::NAN, "h7"), Err(TableError::OutOfRange { .. })));
    }

    #[test]
    fn a_tolerance_finds_its_grade() {
        assert_eq!(grade_within(Length::um(22.0), Length::mm(8.0)), Ok(Some(8)));
        assert_eq!(grade_within(Length::um(35.0), Length::mm(8.0)), Ok(Some(8)));
        assert_eq!(grade_within(Length::um(0.5), Length::mm(8.0)), Ok(None));
        assert_eq!(fine_tolerance(FineGrade::It01, Length::mm(2.0)), Ok(Length::um(0.3)));
    }
}
