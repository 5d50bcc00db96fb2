//! Unified inch threads: sizes, basic diameters, limits after ASME B1.1.

use super::{ExternalLimits, InternalLimits, LimitPair, MINOR_DROP, PITCH_DROP, ThreadRow, inch_number};
use crate::quantity::Length;
use crate::quantity::print::number;
use crate::tables::Access;
use crate::tables::{Sourced, TableError, cite, key, read};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

const NAME: &str = "ASME B1.1";

type Row = (String, String, f64, f64, f64, f64, f64);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Corrected {
    source: String,
    access: Access,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    basic: Sourced<Row>,
    corrected: Corrected,
    large: Sourced<Row>,
}

/// A Unified thread: its series and threads per inch beside its diameters.
#[derive(Clone, Debug, PartialEq)]
pub struct UnifiedRow {
    /// `UNC`, `UNF`, `UNEF`.
    pub series: String,
    pub tpi: f64,
    pub thread: ThreadRow,
}

struct Table {
    /// By major diameter and threads per inch, in ten-thousandths.
    rows: BTreeMap<(i64, i64), UnifiedRow>,
    source: String,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = read("Unified threads", include_str!("unified.yaml"));
    let mut rows = BTreeMap::new();
    for part in [&file.basic, &file.large] {
        // Kept for the life of the program, so that each row can point at it.
        let source: &'static str = Box::leak(part.cite().into_boxed_str());
        for (size, series, tpi, major, pitch_dia, minor_internal, minor_external) in &part.rows {
            let thread = ThreadRow {
                designation: format!("{}-{} {series}", size.trim_start_matches('#'), number(*tpi, 1)),
                major: Length::inch(*major),
                pitch: Length::inch(1.0 / tpi),
                pitch_dia: Length::inch(*pitch_dia),
                minor_internal: Length::inch(*minor_internal),
                minor_external: Length::inch(*minor_external),
                source,
            };
            rows.insert((key(thread.major), tpi_key(*tpi)), UnifiedRow { series: series.clone(), tpi: *tpi, thread });
        }
    }
    let source = format!("{}; {}", file.basic.cite(), cite(&file.corrected.source, file.corrected.access));
    Table { rows, source }
});

fn tpi_key(tpi: f64) -> i64 {
    (tpi * 1e4).round() as i64
}

/// The major diameter of a number size: 0.060 in and 0.013 in a number.
fn number_size(text: &str) -> Option<f64> {
    let n: u32 = text.trim().trim_start_matches('#').parse().ok()?;
    matches!(n, 0..=6 | 8 | 10 | 12).then(|| 0.06 + 0.013 * f64::from(n))
}

/// The major diameter of a size as a drawing writes it: `1/4`, `1-1/8`, `.3125`, `#10`, `10`. A bare whole number is a
/// number size, except `1`, which is one inch: 1-64 and 1-72 are written `#1` here, or found with their threads per inch
/// by [`unified_major`].
pub fn unified_size(text: &str) -> Option<Length> {
    let text = text.trim();
    if text != "1"
        && let Some(major) = number_size(text)
    {
        return Some(Length::inch(major));
    }
    inch_number(text).filter(|v| (0.05..=6.0).contains(v)).map(Length::inch)
}

/// The major diameter of a size with so many threads per inch: 24 and more on a bare whole number mean a number size,
/// fewer inches.
pub fn unified_major(size: &str, tpi: f64) -> Option<Length> {
    let size = size.trim();
    match number_size(size) {
        Some(major) if tpi >= 24.0 || size.starts_with('#') => Some(Length::inch(major)),
        Some(_) => inch_number(size).filter(|v| *v >= 1.0).map(Length::inch),
        None => unified_size(size),
    }
}

/// The row of a size and its threads per inch, where a series has it. A size outside the series (UN, UNS) has a
/// diameter by [`unified_major`] and no row.
pub fn unified(size_text: &str, tpi: f64) -> Option<&'static UnifiedRow> {
    TABLE.rows.get(&(key(unified_major(size_text, tpi)?), tpi_key(tpi)))
}

/// The threads per inch of a size in a series: `UNC`, `UNF` or `UNEF`, or UNJ's `UNJC`, `UNJF`, `UNJEF`.
pub fn unified_tpi(size: &str, series: &str) -> Option<f64> {
    let major = key(unified_size(size)?);
    let series = series.to_uppercase().replace("UNJ", "UN");
    TABLE.rows.range((major, 0)..=(major, i64::MAX)).find(|(_, r)| r.series == series).map(|(_, r)| r.tpi)
}

/// All rows, by diameter and pitch, and where they come from.
pub fn unified_rows() -> (impl Iterator<Item = &'static UnifiedRow>, &'static str) {
    (TABLE.rows.values(), &TABLE.source)
}

/// Pitch-diameter tolerance of class 2A, in, after ASME B1.1: all lengths in inches.
fn pitch_tolerance_2a(major: f64, pitch: f64, engagement: f64) -> f64 {
    0.0015 * libm::cbrt(major) + 0.0015 * engagement.sqrt() + 0.015 * two_thirds(pitch)
}

fn two_thirds(x: f64) -> f64 {
    let root = libm::cbrt(x);
    root * root
}

/// The length of engagement that the tolerances are based on.
fn engagement(major: Length, pitch: Length) -> f64 {
    let tpi = 1.0 / pitch.to_inch();
    let standard = TABLE.rows.get(&(key(major), tpi_key(tpi))).is_some_and(|r| r.series != "UNEF");
    if standard { major.to_inch() } else { 9.0 * pitch.to_inch() }
}

/// Sizes that the formulas of the standard are written for.
fn checked(major: Length, pitch: Length, class: &str) -> Result<(f64, f64), TableError> {
    let (d, p) = (major.to_inch(), pitch.to_inch());
    let fits = (0.05..=6.0).contains(&d) && (1.0 / 100.0..=0.25).contains(&p) && p < d;
    if fits { Ok((d, p)) } else { Err(TableError::NotCovered { table: NAME, class: class.to_owned(), size: major }) }
}

fn unknown(class: &str) -> TableError {
    TableError::UnknownClass { table: NAME, class: class.to_owned() }
}

/// The standard prints its limits to a ten-thousandth.
fn printed(inch: f64) -> f64 {
    (inch * 1e4).round() / 1e4
}

pub(super) fn external_limits(major: Length, pitch: Length, class: &str) -> Result<ExternalLimits, TableError> {
    let (share, crest, allowed) = match class {
        "1A" => (1.5, 0.09, true),
        "2A" => (1.0, 0.06, true),
        "3A" => (0.75, 0.06, false),
        _ => return Err(unknown(class)),
    };
    let (d, p) = checked(major, pitch, class)?;
    let td2 = pitch_tolerance_2a(d, p, engagement(major, pitch));
    let allowance = if allowed { printed(0.3 * td2) } else { 0.0 };
    let major_max = d - allowance;
    let pitch_max = printed(d - p * PITCH_DROP) - allowance;
    Ok(ExternalLimits {
        major: LimitPair {
            max: Length::inch(major_max),
            min: Length::inch(printed(major_max - crest * two_thirds(p))),
        },
        pitch_dia: LimitPair { max: Length::inch(pitch_max), min: Length::inch(pitch_max - printed(share * td2)) },
        // The root of UNR stands 11/8 H below the major diameter.
        minor_max: Length::inch(printed(d - p * 1.1 * MINOR_DROP) - allowance),
        minor_min: None,
    })
}

pub(super) fn internal_limits(major: Length, pitch: Length, class: &str) -> Result<InternalLimits, TableError> {
    let (share, close) = match class {
        "1B" => (1.95, false),
        "2B" => (1.3, false),
        "3B" => (0.975, true),
        _ => return Err(unknown(class)),
    };
    let (d, p) = checked(major, pitch, class)?;
    let td2 = pitch_tolerance_2a(d, p, engagement(major, pitch));
    // ASME B1.1 clause on the nut's minor diameter, from memory; it gives every 2B limit that was read to 0.0006 in.
    let by_size = 0.05 * two_thirds(p) + 0.03 * p / d - 0.002;
    let td1 = if close {
        let least = if p < 1.0 / 12.5 { 0.23 * p - 1.5 * p * p } else { 0.12 * p };
        by_size.clamp(least, 0.394 * p)
    } else if d < 0.25 {
        by_size.clamp(0.25 * p - 0.4 * p * p, 0.394 * p)
    } else {
        0.25 * p - 0.4 * p * p
    };
    let minor_min = d - p * MINOR_DROP;
    let pitch_min = printed(d - p * PITCH_DROP);
    Ok(InternalLimits {
        minor: LimitPair { max: Length::inch(printed(minor_min + td1)), min: Length::inch(printed(minor_min)) },
        pitch_dia: LimitPair { max: Length::inch(pitch_min + printed(share * td2)), min: Length::inch(pitch_min) },
    })
}

#[cfg(test)]
mod tests {
    use super::super::{Sixty, external_limits, internal_limits};
    use super::*;

    #[test]
    fn sizes_as_drawings_write_them() {
        let inch = |t: &str| unified_size(t).map(|l| (l.to_inch() * 1e5).round() / 1e5);
        assert_eq!(inch("1/4"), Some(0.25));
        assert_eq!(inch("10"), Some(0.19));
        assert_eq!(inch("#10"), Some(0.19));
        assert_eq!(inch("1"), Some(1.0));
        assert_eq!(inch("#1"), Some(0.073));
        assert_eq!(inch(".3125"), Some(0.3125));
        assert_eq!(inch("1-1/8"), Some(1.125));
        assert_eq!(inch("7"), None);
        assert_eq!(inch("99"), None);
    }

    #[test]
    fn rows_by_size_and_threads_per_inch() {
        assert_eq!(unified("1/4", 20.0).unwrap().thread.designation, "1/4-20 UNC");
        assert_eq!(unified(".25", 28.0).unwrap().series, "UNF");
        assert_eq!(unified("1", 20.0).unwrap().series, "UNEF");
        assert_eq!(unified("1", 64.0).unwrap().thread.designation, "1-64 UNC");
        assert_eq!(unified("2", 4.5).unwrap().thread.major, Length::inch(2.0));
        assert_eq!(unified("2", 56.0).unwrap().series, "UNC");
        assert!(unified("1", 14.0).is_none());
        assert_eq!(unified_tpi("10", "UNF"), Some(32.0));
        assert_eq!(unified_tpi("1", "UNEF"), Some(20.0));
        assert_eq!(unified_tpi("5/16", "UNJF"), Some(24.0));
        assert_eq!(unified_tpi("5/16", "UNS"), None);
    }

    #[test]
    fn limits_of_common_classes() {
        let (d, p) = (Length::inch(0.25), Length::inch(0.05));
        let bolt = external_limits(Sixty::Unified, d, p, "2A").unwrap();
        assert!((bolt.major.max.to_inch() - 0.2489).abs() < 1e-9);
        assert!((bolt.major.min.to_inch() - 0.2408).abs() < 1e-9);
        assert!((bolt.pitch_dia.min.to_inch() - 0.2127).abs() < 1e-9);
        let nut = internal_limits(Sixty::Unified, d, p, "2B").unwrap();
        assert!((nut.minor.max.to_inch() - 0.207).abs() < 6e-4);
        let closer = external_limits(Sixty::Unified, d, p, "3A").unwrap();
        assert_eq!(closer.major.max, d);
        assert!(matches!(external_limits(Sixty::Unified, d, p, "4A"), Err(TableError::UnknownClass { .. })));
        assert!(matches!(internal_limits(Sixty::Unified, d, d, "2B"), Err(TableError::NotCovered { .. })));
    }
}
