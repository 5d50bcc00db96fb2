//! Threads: sizes and limits by standard.

mod bone;
mod metric;
mod power_and_pipe;
mod unified;

pub use bone::{BoneForm, BoneRow, bone, bone_rows};
pub use metric::{MetricSize, metric, metric_coarse_pitch, metric_rows, metric_sizes};
pub use power_and_pipe::{
    AcmeRow, NptRow, PIPE_TAPER, PipeRow, ScrewLimits, TaperRow, TrapezoidalRow, acme, acme_limits_2g, acme_rows, npt,
    npt_rows, pipe_parallel, pipe_rows, pipe_taper, trapezoidal, trapezoidal_limits_7e, trapezoidal_rows,
};
pub use unified::{UnifiedRow, unified, unified_major, unified_rows, unified_size, unified_tpi};

use super::TableError;
use crate::quantity::Length;

/// A thread of a 60-degree series with its basic diameters.
#[derive(Clone, Debug, PartialEq)]
pub struct ThreadRow {
    /// As a drawing writes it: `M4 x 0.7`, `1/4-20 UNC`.
    pub designation: String,
    pub major: Length,
    pub pitch: Length,
    pub pitch_dia: Length,
    /// Basic minor diameter of the nut thread, D1.
    pub minor_internal: Length,
    /// Minor diameter of the bolt thread at its rounded root: d3 of the metric series, that of UNR for the Unified.
    pub minor_external: Length,
    pub source: &'static str,
}

/// The two series of 60-degree threads, which differ in how their limits are reckoned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sixty {
    /// ISO 965-1: 6g, 6h, 6H and their like.
    Metric,
    /// ASME B1.1: 1A to 3A, 1B to 3B. The length of engagement is the major diameter for a size of the coarse or fine
    /// series, nine pitches for any other.
    Unified,
}

/// The largest and the smallest allowed size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitPair {
    pub max: Length,
    pub min: Length,
}

/// Limits of a bolt thread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExternalLimits {
    pub major: LimitPair,
    pub pitch_dia: LimitPair,
    /// Greatest minor diameter: metric at the flat root, Unified at the rounded root (UNR).
    pub minor_max: Length,
    /// Least minor diameter at a root radius of 0.125 P, which ISO 965-1 gives for metric threads.
    pub minor_min: Option<Length>,
}

/// Limits of a nut thread. The minor diameter is that of the drilled or bored hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InternalLimits {
    pub minor: LimitPair,
    pub pitch_dia: LimitPair,
}

/// Limits of major and pitch diameter of a bolt thread.
///
/// # Errors
/// [`TableError::UnknownClass`] for a class that the series does not have, [`TableError::NotCovered`] where its table
/// has no value for this diameter and pitch.
pub fn external_limits(series: Sixty, major: Length, pitch: Length, class: &str) -> Result<ExternalLimits, TableError> {
    match series {
        Sixty::Metric => metric::external_limits(major, pitch, class),
        Sixty::Unified => unified::external_limits(major, pitch, class),
    }
}

/// Limits of minor and pitch diameter of a nut thread.
///
/// # Errors
/// As [`external_limits`].
pub fn internal_limits(series: Sixty, major: Length, pitch: Length, class: &str) -> Result<InternalLimits, TableError> {
    match series {
        Sixty::Metric => metric::internal_limits(major, pitch, class),
        Sixty::Unified => unified::internal_limits(major, pitch, class),
    }
}

/// Limits of the major diameter of a bolt thread: what its blank is turned to.
///
/// # Errors
/// As [`external_limits`].
pub fn external_major_limits(
    series: Sixty,
    major: Length,
    pitch: Length,
    class: &str,
) -> Result<LimitPair, TableError> {
    external_limits(series, major, pitch, class).map(|l| l.major)
}

/// Limits of the minor diameter of a nut thread: what a tap drill must keep.
///
/// # Errors
/// As [`external_limits`].
pub fn internal_minor_limits(
    series: Sixty,
    major: Length,
    pitch: Length,
    class: &str,
) -> Result<LimitPair, TableError> {
    internal_limits(series, major, pitch, class).map(|l| l.minor)
}

/// Drop of the pitch diameter below the major diameter, in pitches: 3/4 H of ISO 68-1.
const PITCH_DROP: f64 = 0.649_519_052_838_329;
/// Drop of the nut's minor diameter below the major diameter, in pitches: 5/4 H of ISO 68-1.
const MINOR_DROP: f64 = 1.082_531_754_730_548_3;

/// The number of a size as an inch drawing writes it: `1/4`, `1-1/8`, `1 1/8`, `.3125`, `0.25`, `10`.
fn inch_number(text: &str) -> Option<f64> {
    let text = text.trim();
    let (whole, fraction) = match text.split_once(['-', ' ']) {
        Some((whole, fraction)) => (whole.parse::<u32>().ok()?, fraction.trim()),
        None => (0, text),
    };
    let part = match fraction.split_once('/') {
        Some((a, b)) => {
            let (a, b): (u32, u32) = (a.trim().parse().ok()?, b.trim().parse().ok()?);
            if b == 0 || a >= b {
                return None;
            }
            f64::from(a) / f64::from(b)
        }
        None if whole == 0 => fraction.parse().ok().filter(|v: &f64| v.is_finite() && *v >= 0.0)?,
        None => return None,
    };
    Some(f64::from(whole) + part)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inch_sizes_as_drawings_write_them() {
        assert_eq!(inch_number("1/4"), Some(0.25));
        assert_eq!(inch_number("1-1/8"), Some(1.125));
        assert_eq!(inch_number("1 1/8"), Some(1.125));
        assert_eq!(inch_number(".3125"), Some(0.3125));
        assert_eq!(inch_number("10"), Some(10.0));
        for wrong in ["", "x", "1/0", "5/4", "1-0.5", "1-", "-1", "inf", "nan"] {
            assert_eq!(inch_number(wrong), None, "{wrong}");
        }
    }
}
