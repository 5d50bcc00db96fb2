//! Trapezoidal, Acme and pipe threads.

use super::{LimitPair, inch_number};
use crate::quantity::Length;
use crate::quantity::print::number;
use crate::tables::{Sourced, key, read};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// As the table's comment names them.
type Pipe = (String, f64, f64, f64, f64, f64, f64, f64);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    trapezoidal: Sourced<(f64, f64, f64)>,
    limits_7e: Sourced<[f64; 6]>,
    acme: Sourced<(String, f64, f64)>,
    pipe_parallel: Sourced<Pipe>,
    pipe_taper: Sourced<(String, f64)>,
    npt: Sourced<(String, f64, f64, f64, f64, f64)>,
}

/// A trapezoidal thread after ISO 2904.
#[derive(Clone, Debug, PartialEq)]
pub struct TrapezoidalRow {
    pub designation: String,
    pub major: Length,
    pub pitch: Length,
    /// The clearance a_c at crest and root.
    pub crest_clearance: Length,
    pub pitch_dia: Length,
    /// Minor diameter of the screw, d3.
    pub minor_external: Length,
    /// Minor diameter of the nut, D1.
    pub minor_internal: Length,
    /// Major diameter of the nut, D4.
    pub major_internal: Length,
    pub source: &'static str,
}

/// Limits of a screw's thread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScrewLimits {
    pub major: LimitPair,
    pub pitch_dia: LimitPair,
    pub minor: LimitPair,
    pub source: &'static str,
}

/// A general-purpose Acme thread after ASME B1.5.
#[derive(Clone, Debug, PartialEq)]
pub struct AcmeRow {
    pub designation: String,
    pub tpi: f64,
    pub major: Length,
    pub pitch: Length,
    pub pitch_dia: Length,
    /// Basic minor diameter.
    pub minor: Length,
    pub source: &'static str,
}

/// A parallel pipe thread after ISO 228-1.
#[derive(Clone, Debug, PartialEq)]
pub struct PipeRow {
    pub designation: String,
    pub tpi: f64,
    pub pitch: Length,
    pub major: Length,
    pub pitch_dia: Length,
    pub minor: Length,
    /// Tolerance of the pitch diameter, class A; class B is twice as wide.
    pub pitch_dia_tolerance: Length,
    /// Tolerance of the external thread's major diameter, downwards.
    pub major_tolerance: Length,
    /// Tolerance of the internal thread's minor diameter, upwards.
    pub minor_tolerance: Length,
    pub source: &'static str,
}

/// A taper pipe thread after ISO 7-1; the diameters are those at the gauge plane.
#[derive(Clone, Debug, PartialEq)]
pub struct TaperRow {
    pub designation: String,
    /// From the small end to the gauge plane.
    pub gauge_length: Length,
    pub gauge_plane: &'static PipeRow,
    pub source: &'static str,
}

/// An NPT thread after ASME B1.20.1.
#[derive(Clone, Debug, PartialEq)]
pub struct NptRow {
    pub designation: String,
    pub tpi: f64,
    pub pitch: Length,
    /// Outside diameter of the pipe.
    pub outside: Length,
    /// Pitch diameter at the small end, E0.
    pub pitch_dia_small_end: Length,
    /// L1.
    pub hand_tight: Length,
    /// L2.
    pub effective: Length,
    pub source: &'static str,
}

/// Taper of taper pipe threads, on the diameter.
pub const PIPE_TAPER: f64 = 1.0 / 16.0;

struct Table {
    trapezoidal: BTreeMap<(i64, i64), TrapezoidalRow>,
    limits_7e: BTreeMap<(i64, i64), ScrewLimits>,
    acme: BTreeMap<i64, AcmeRow>,
    pipe: BTreeMap<i64, PipeRow>,
    taper: BTreeMap<i64, (f64, String)>,
    taper_source: &'static str,
    npt: BTreeMap<i64, NptRow>,
}

/// Kept for the life of the program, so that each row can point at it.
fn leak(text: String) -> &'static str {
    Box::leak(text.into_boxed_str())
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = read("trapezoidal and pipe threads", include_str!("power_and_pipe.yaml"));
    let size = |text: &str| key(Length::inch(inch_number(text).unwrap_or(0.0)));
    let mm = Length::mm;
    let source = leak(file.trapezoidal.cite());
    let trapezoidal = file.trapezoidal.rows.iter().map(|&(d, p, ac)| {
        let row = TrapezoidalRow {
            designation: format!("Tr {}x{}", number(d, 1), number(p, 1)),
            major: mm(d),
            pitch: mm(p),
            crest_clearance: mm(ac),
            pitch_dia: mm(d - p / 2.0),
            minor_external: mm(d - p - 2.0 * ac),
            minor_internal: mm(d - p),
            major_internal: mm(d + 2.0 * ac),
            source,
        };
        ((key(mm(d)), key(mm(p))), row)
    });
    let trapezoidal: BTreeMap<(i64, i64), TrapezoidalRow> = trapezoidal.collect();
    let source = leak(file.limits_7e.cite());
    let limits_7e = file.limits_7e.rows.iter().map(|&[d, p, major_min, pitch_max, pitch_min, minor_min]| {
        let minor_max =
            trapezoidal.get(&(key(mm(d)), key(mm(p)))).map_or(mm(d - p), |r: &TrapezoidalRow| r.minor_external);
        let limits = ScrewLimits {
            major: LimitPair { max: mm(d), min: mm(major_min) },
            pitch_dia: LimitPair { max: mm(pitch_max), min: mm(pitch_min) },
            minor: LimitPair { max: minor_max, min: mm(minor_min) },
            source,
        };
        ((key(mm(d)), key(mm(p))), limits)
    });
    let limits_7e = limits_7e.collect();
    let source = leak(file.acme.cite());
    let acme = file.acme.rows.iter().map(|(text, tpi, d)| {
        let (pitch, major) = (Length::inch(1.0 / tpi), Length::inch(*d));
        let row = AcmeRow {
            designation: format!("{text}-{} ACME", number(*tpi, 1)),
            tpi: *tpi,
            major,
            pitch,
            pitch_dia: major - pitch / 2.0,
            minor: major - pitch,
            source,
        };
        (key(major), row)
    });
    let source = leak(file.pipe_parallel.cite());
    let pipe = file.pipe_parallel.rows.iter().map(|(text, tpi, major, pitch_dia, minor, td2, td, td1)| {
        let row = PipeRow {
            designation: format!("G {text}"),
            tpi: *tpi,
            pitch: Length::inch(1.0 / tpi),
            major: mm(*major),
            pitch_dia: mm(*pitch_dia),
            minor: mm(*minor),
            pitch_dia_tolerance: mm(*td2),
            major_tolerance: mm(*td),
            minor_tolerance: mm(*td1),
            source,
        };
        (size(text), row)
    });
    let source = leak(file.npt.cite());
    let npt = file.npt.rows.iter().map(|(text, tpi, outside, e0, l1, l2)| {
        let row = NptRow {
            designation: format!("{text} NPT"),
            tpi: *tpi,
            pitch: Length::inch(1.0 / tpi),
            outside: Length::inch(*outside),
            pitch_dia_small_end: Length::inch(*e0),
            hand_tight: Length::inch(*l1),
            effective: Length::inch(*l2),
            source,
        };
        (size(text), row)
    });
    Table {
        trapezoidal,
        limits_7e,
        acme: acme.collect(),
        pipe: pipe.collect(),
        taper: file.pipe_taper.rows.iter().map(|(t, l)| (size(t), (*l, format!("R {t}")))).collect(),
        taper_source: leak(file.pipe_taper.cite()),
        npt: npt.collect(),
    }
});

fn inch_key(size: &str) -> Option<i64> {
    inch_number(size).map(|v| key(Length::inch(v)))
}

/// The trapezoidal thread of a diameter and a pitch.
pub fn trapezoidal(major: Length, pitch: Length) -> Option<&'static TrapezoidalRow> {
    TABLE.trapezoidal.get(&(key(major), key(pitch)))
}

/// All trapezoidal threads of the table.
pub fn trapezoidal_rows() -> impl Iterator<Item = &'static TrapezoidalRow> {
    TABLE.trapezoidal.values()
}

/// The limits of a trapezoidal screw of class 7e; nothing for a size whose limits were not read.
pub fn trapezoidal_limits_7e(major: Length, pitch: Length) -> Option<ScrewLimits> {
    TABLE.limits_7e.get(&(key(major), key(pitch))).copied()
}

/// The limits of an Acme screw of class 2G: allowance `0.008 sqrt(d)` and tolerance `0.030 sqrt(P) + 0.006 sqrt(d)` on the
/// pitch diameter, half as much again on the minor, `0.05 P` but at least 0.005 on the major, clearance 0.020 to 10 threads
/// an inch and 0.010 above; in inches, from memory, confirmed by six rows of a published limit table to 0.0002 in.
pub fn acme_limits_2g(row: &AcmeRow) -> ScrewLimits {
    let (d, p) = (row.major.to_inch(), row.pitch.to_inch());
    let tolerance = 0.03 * p.sqrt() + 0.006 * d.sqrt();
    let pair = |max: f64, width: f64| LimitPair { max: Length::inch(max), min: Length::inch(max - width) };
    let clearance = if row.tpi <= 10.0 { 0.02 } else { 0.01 };
    ScrewLimits {
        major: pair(d, (0.05 * p).max(0.005)),
        pitch_dia: pair(d - p / 2.0 - 0.008 * d.sqrt(), tolerance),
        minor: pair(d - p - clearance, 1.5 * tolerance),
        source: "ASME B1.5 class 2G, from memory, confirmed by a published limit table",
    }
}

/// The Acme thread of a size: `1/2`, `1`.
pub fn acme(size: &str) -> Option<&'static AcmeRow> {
    TABLE.acme.get(&inch_key(size)?)
}

/// All Acme threads of the table.
pub fn acme_rows() -> impl Iterator<Item = &'static AcmeRow> {
    TABLE.acme.values()
}

/// The parallel pipe thread of a size: `1/2`, `1-1/4`.
pub fn pipe_parallel(size: &str) -> Option<&'static PipeRow> {
    TABLE.pipe.get(&inch_key(size)?)
}

/// All parallel pipe threads of the table.
pub fn pipe_rows() -> impl Iterator<Item = &'static PipeRow> {
    TABLE.pipe.values()
}

/// The taper pipe thread of a size.
pub fn pipe_taper(size: &str) -> Option<TaperRow> {
    let at = inch_key(size)?;
    let (gauge, designation) = TABLE.taper.get(&at)?;
    Some(TaperRow {
        designation: designation.clone(),
        gauge_length: Length::mm(*gauge),
        gauge_plane: TABLE.pipe.get(&at)?,
        source: TABLE.taper_source,
    })
}

/// The NPT thread of a size.
pub fn npt(size: &str) -> Option<&'static NptRow> {
    TABLE.npt.get(&inch_key(size)?)
}

/// All NPT threads of the table.
pub fn npt_rows() -> impl Iterator<Item = &'static NptRow> {
    TABLE.npt.values()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_by_size() {
        let tr = trapezoidal(Length::mm(16.0), Length::mm(4.0)).unwrap();
        assert_eq!((tr.designation.as_str(), tr.minor_external), ("Tr 16x4", Length::mm(11.5)));
        let limits = trapezoidal_limits_7e(Length::mm(16.0), Length::mm(4.0)).unwrap();
        assert_eq!((limits.major.min, limits.minor.max), (Length::mm(15.7), Length::mm(11.5)));
        let acme = acme("1/2").unwrap();
        assert_eq!(acme.pitch_dia, Length::inch(0.45));
        assert!((acme_limits_2g(acme).pitch_dia.min.to_inch() - 0.4306).abs() < 2e-4);
        assert_eq!(pipe_parallel("1/2").unwrap().major, Length::mm(20.955));
        assert_eq!(pipe_parallel("1-1/4").unwrap().designation, "G 1-1/4");
        let r = pipe_taper("1/2").unwrap();
        assert_eq!((r.designation.as_str(), r.gauge_length), ("R 1/2", Length::mm(8.2)));
        assert!(r.source.contains("memory"));
        assert_eq!(npt("1/4").unwrap().tpi, 18.0);
        assert!(npt("1/3").is_none() && pipe_taper("7/8").is_none());
    }
}
