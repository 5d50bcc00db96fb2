//! Threads: profile, lead angle, passes, and the times of cutting them.

use super::{Formula, FormulaError};
use crate::quantity::{Angle, Length, RotationalSpeed, Time};
use std::f64::consts::PI;

/// The basic diameters of a 60-degree thread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SixtyProfile {
    pub pitch_dia: Length,
    /// Basic minor diameter of the nut, D1.
    pub minor_internal: Length,
    /// Minor diameter of the bolt with the rounded root of the metric series, d3.
    pub minor_external_d3: Length,
    /// Minor diameter of the bolt with the rounded root of the Unified series, UNR.
    pub minor_external_unr: Length,
}

/// The basic diameters of a metric or Unified thread.
///
/// # Formula
/// `H = sqrt(3) / 2 P`; pitch diameter `d - 3/4 H`, D1 `d - 5/4 H`, d3 `d - 17/12 H`, UNR `d - 11/8 H`.
///
/// # Valid for
/// Diameter over 0; pitch over 0 and less than 0.8 of the diameter, above which no root is left.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// ISO 68-1, ISO 724 and ASME B1.1; read in tables of their values.
///
/// # Check
/// M8: 7.188, 6.647, 6.466 mm.
pub fn sixty_profile(major: Length, pitch: Length) -> Result<SixtyProfile, FormulaError> {
    let f = Formula("basic thread diameters");
    let d_mm = f.positive("major diameter", major.to_mm(), "mm")?;
    let p_mm = f.within("pitch", pitch.to_mm(), super::ABOVE_ZERO, 0.8 * d_mm, "mm")?;
    let h_mm = 3f64.sqrt() / 2.0 * p_mm;
    Ok(SixtyProfile {
        pitch_dia: Length::mm(d_mm - 0.75 * h_mm),
        minor_internal: Length::mm(d_mm - 1.25 * h_mm),
        minor_external_d3: Length::mm(d_mm - 17.0 / 12.0 * h_mm),
        minor_external_unr: Length::mm(d_mm - 1.375 * h_mm),
    })
}

/// The angle of a thread's helix at a diameter.
///
/// # Formula
/// `tan(lead angle) = lead / (pi d)`.
///
/// # Valid for
/// Lead from 0, diameter over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Geometry; more than forty printed angles of the Unified and Acme tables of a machinery handbook, read.
///
/// # Check
/// M10: 3.03 deg.
pub fn lead_angle(lead: Length, mean_dia: Length) -> Result<Angle, FormulaError> {
    let f = Formula("lead angle");
    let lead_mm = f.not_negative("lead", lead.to_mm(), "mm")?;
    let d_mm = f.positive("mean diameter", mean_dia.to_mm(), "mm")?;
    f.finite(libm::atan2(lead_mm, PI * d_mm).to_degrees()).map(Angle::deg)
}

/// Radial depth (mm) and passes of external metric threads by insert: published general catalogue of 2019, guide to depth
/// of cut and number of passes; read.
const PASSES: [(f64, f64); 8] =
    [(0.48, 4.0), (0.64, 5.0), (0.80, 7.0), (0.92, 8.0), (1.10, 10.0), (1.26, 12.0), (1.57, 14.0), (1.87, 16.0)];
/// The same guide: no pass deeper than this.
const DEEPEST_PASS_MM: f64 = 0.5;

/// How many passes a single-point thread takes.
///
/// # Formula
/// The table of a pass guide between its rows in a straight line, rounded up, from 2 passes at no depth; above its last
/// row as its last step. Where the form is deeper for its pitch than a 60-degree thread (0.64 P), more in proportion; half
/// as many again in tough material; and never fewer than passes of equal chip area need to begin with 0.5 mm.
///
/// # Valid for
/// All depths and pitches; nothing, or no number, takes no pass.
///
/// # Source
/// Published general catalogue of 2019, external metric threads; read. Deep forms and tough material: common practice, no
/// source (a trade article counts 40 to 50 passes for a deep bone-screw thread; read).
///
/// # Check
/// Depth 0.92 mm, pitch 1.5: 8 passes.
pub fn single_point_passes(depth: Length, pitch: Length, tough: bool) -> u32 {
    let (depth_mm, p_mm) = (depth.to_mm(), pitch.to_mm());
    if !(depth_mm.is_finite() && depth_mm > 0.0) {
        return 0;
    }
    let (mut below, mut above) = ((0.0, 2.0), PASSES[0]);
    for row in &PASSES[1..] {
        if depth_mm > above.0 {
            (below, above) = (above, *row);
        }
    }
    let mut passes = below.1 + (depth_mm - below.0) * (above.1 - below.1) / (above.0 - below.0);
    if p_mm > 0.0 && depth_mm > 0.64 * p_mm {
        passes *= depth_mm / (0.64 * p_mm);
    }
    if tough {
        passes *= 1.5;
    }
    let equal_area = (depth_mm / DEEPEST_PASS_MM) * (depth_mm / DEEPEST_PASS_MM);
    // The rounding errors of the table's own rows must not cost a pass; the cast saturates.
    (passes.max(equal_area) - 1e-9).ceil() as u32
}

/// The feed a minute of a thread, mm/min.
fn lead_pace(f: Formula, lead: Length, n: RotationalSpeed) -> Result<f64, FormulaError> {
    Ok(f.positive("lead", lead.to_mm(), "mm")? * f.positive("spindle speed", n.to_rpm(), "rpm")?)
}

/// The length that a threading tool travels under feed, mm.
fn path(f: Formula, length: Length, run_in: Length, run_out: Length) -> Result<f64, FormulaError> {
    Ok(f.not_negative("length", length.to_mm(), "mm")?
        + f.not_negative("run-in", run_in.to_mm(), "mm")?
        + f.not_negative("run-out", run_out.to_mm(), "mm")?)
}

/// The time of a thread turned in passes.
///
/// # Formula
/// `t = passes ((L + run-in + run-out) / (lead n) + return)`.
///
/// # Valid for
/// Lengths and return from 0; lead and speed over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Sharma, A Textbook of Production Engineering, example 4.21; read.
///
/// # Check
/// Five cuts of 89 mm, lead 5 at 43.4 rpm: 2.05 min.
pub fn single_point_time(
    length: Length,
    run_in: Length,
    run_out: Length,
    lead: Length,
    n: RotationalSpeed,
    passes: u32,
    return_time: Time,
) -> Result<Time, FormulaError> {
    let f = Formula("single-point threading time");
    let minutes = path(f, length, run_in, run_out)? / lead_pace(f, lead, n)?;
    let back = f.not_negative("return time", return_time.to_minutes(), "min")?;
    f.finite(f64::from(passes) * (minutes + back)).map(Time::minutes)
}

/// The time of a tapped hole, in and out.
///
/// # Formula
/// `t = s / (P n_in) + s / (P n_out) + reversal`, `s = L + 3 P` for the start above the hole.
///
/// # Valid for
/// Depth and reversal from 0; pitch and both speeds over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Kinematics; the start of 2 to 3 pitches: common practice, no source.
///
/// # Check
/// 9 mm of pitch 1 at 600 rpm both ways and 0.5 s: 2.9 s.
pub fn tapping_time(
    depth: Length,
    pitch: Length,
    n_in: RotationalSpeed,
    n_out: RotationalSpeed,
    reversal: Time,
) -> Result<Time, FormulaError> {
    let f = Formula("tapping time");
    let path_mm = f.not_negative("depth", depth.to_mm(), "mm")? + 3.0 * pitch.to_mm();
    let reversal = f.not_negative("reversal time", reversal.to_minutes(), "min")?;
    f.finite(path_mm / lead_pace(f, pitch, n_in)? + path_mm / lead_pace(f, pitch, n_out)? + reversal).map(Time::minutes)
}

/// A thread-milling cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThreadMill {
    /// Thread length.
    pub length: Length,
    pub pitch: Length,
    /// Major diameter of the thread.
    pub major: Length,
    pub cutter_dia: Length,
    pub teeth: u32,
    /// Advance of the cutting edge a tooth.
    pub feed_per_tooth: Length,
    /// Cutter speed.
    pub n: RotationalSpeed,
    pub internal: bool,
    /// A cutter with one row of teeth winds along the whole thread; a full-form cutter makes one turn.
    pub single_row: bool,
    /// Radial passes.
    pub passes: u32,
}

/// Radial passes of internal metric threads by thread mill: published milling catalogue of 2021; read. Its row for pitch
/// 0.8 prints a depth of 0.68 P where all others have 0.577 P; its passes are kept.
const MILL_PASSES: [(f64, u32); 11] =
    [(0.5, 2), (0.7, 2), (0.75, 3), (0.8, 3), (1.0, 3), (1.25, 4), (1.5, 5), (1.75, 5), (2.0, 6), (2.5, 7), (3.0, 7)];

/// How many radial passes a milled thread takes.
///
/// # Formula
/// The row of a catalogue for this pitch or the next coarser one.
///
/// # Valid for
/// Pitches over 0 and up to 3 mm.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Published milling catalogue of 2021, internal metric threads; read.
///
/// # Check
/// Pitch 1.5: 5.
pub fn thread_mill_passes(pitch: Length) -> Result<u32, FormulaError> {
    let f = Formula("thread milling passes");
    let p_mm = f.within("pitch", pitch.to_mm(), super::ABOVE_ZERO, 3.0, "mm")?;
    let row = MILL_PASSES.iter().find(|(up_to, _)| p_mm <= *up_to + 1e-9);
    row.map(|(_, passes)| *passes).ok_or(FormulaError::NotFinite { formula: f.0 })
}

/// Turns spent on the way in and out together, in thread milling: common practice, no source (1/4 to 1/2).
const MILL_LEAD_TURNS: f64 = 0.5;

/// The time of a milled thread.
///
/// # Formula
/// The cutter's centre runs on a circle of `D - dc` (internal) or `D + dc` (external) at
/// `v = fz z n (D -+ dc) / D`, so that a turn takes `pi D / (fz z n)`; turns: `1 + 1/2` for a full-form cutter,
/// `L / P + 1 + 1/2` for a single row; times the passes.
///
/// # Valid for
/// Sizes over 0, 1 to 12 teeth, 1 to 20 passes; an internal thread larger than its cutter.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Kinematics; from memory.
///
/// # Check
/// M12 with three teeth, 0.05 mm, 3,000 rpm, full form, one pass: 7.54 s.
pub fn thread_mill_time(mill: &ThreadMill) -> Result<Time, FormulaError> {
    let f = Formula("thread milling time");
    let d_mm = f.positive("major diameter", mill.major.to_mm(), "mm")?;
    let p_mm = f.positive("pitch", mill.pitch.to_mm(), "mm")?;
    let length_mm = f.not_negative("length", mill.length.to_mm(), "mm")?;
    let most = if mill.internal { 0.95 * d_mm } else { f64::INFINITY };
    f.within("cutter diameter", mill.cutter_dia.to_mm(), super::ABOVE_ZERO, most, "mm")?;
    let teeth = f.within("teeth", f64::from(mill.teeth), 1.0, 12.0, "")?;
    let passes = f.within("passes", f64::from(mill.passes), 1.0, 20.0, "")?;
    let fz_mm = f.positive("feed a tooth", mill.feed_per_tooth.to_mm(), "mm")?;
    let n = f.positive("cutter speed", mill.n.to_rpm(), "rpm")?;
    let turns = 1.0 + MILL_LEAD_TURNS + if mill.single_row { length_mm / p_mm } else { 0.0 };
    f.finite(passes * turns * PI * d_mm / (fz_mm * teeth * n)).map(Time::minutes)
}

/// The workpiece speed of whirling for a chip load.
///
/// # Formula
/// `n_w = fz z n_ring / (pi d)`: in the time between two inserts the surface moves on by one chip load.
///
/// # Valid for
/// Chip load 0.001 to 0.5 mm, 1 to 24 inserts, ring speed and diameter over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Kinematics; trade articles on thread whirling describe it, read.
///
/// # Check
/// 0.03 mm, 6 inserts, 3,000 rpm, 5 mm: 34.4 rpm.
pub fn whirl_work_speed(
    chip_load: Length,
    inserts: u32,
    ring: RotationalSpeed,
    major: Length,
) -> Result<RotationalSpeed, FormulaError> {
    let f = Formula("whirling workpiece speed");
    let fz_mm = f.within("chip load", chip_load.to_mm(), 0.001, 0.5, "mm")?;
    let inserts = f.within("inserts", f64::from(inserts), 1.0, 24.0, "")?;
    let ring = f.positive("ring speed", ring.to_rpm(), "rpm")?;
    let d_mm = f.positive("major diameter", major.to_mm(), "mm")?;
    f.finite(fz_mm * inserts * ring / (PI * d_mm)).map(RotationalSpeed::rpm)
}

/// The time of a whirled thread in one pass.
///
/// # Formula
/// `t = (L + run-in + run-out) / (lead n_w)`.
///
/// # Valid for
/// Lengths from 0; lead and speed over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Kinematics.
///
/// # Check
/// 30 mm of lead 1.75 at 34.38 rpm: 29.9 s.
pub fn whirl_time(
    length: Length,
    run_in: Length,
    run_out: Length,
    lead: Length,
    work_speed: RotationalSpeed,
) -> Result<Time, FormulaError> {
    let f = Formula("whirling time");
    f.finite(path(f, length, run_in, run_out)? / lead_pace(f, lead, work_speed)?).map(Time::minutes)
}

/// The depth reached after a pass where all passes cut the same chip area.
///
/// # Formula
/// `depth sqrt(k / N)`.
///
/// # Valid for
/// `k` up to `N`; beyond, the full depth.
///
/// # Source
/// Open calculator pages on single-point threading; read.
///
/// # Check
/// The first of 4 passes of 0.64 mm: 0.32 mm.
pub fn depth_after_pass(depth: Length, pass: u32, passes: u32) -> Length {
    if pass >= passes { depth } else { depth * (f64::from(pass) / f64::from(passes)).sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn profile_of_m8() {
        let p = sixty_profile(Length::mm(8.0), Length::mm(1.25)).unwrap();
        let mm = [p.pitch_dia, p.minor_internal, p.minor_external_d3].map(|l| (l.to_mm() * 1e3).round() / 1e3);
        assert_eq!(mm, [7.188, 6.647, 6.466]);
        assert!(sixty_profile(Length::mm(1.0), Length::mm(0.9)).is_err());
        let a = lead_angle(Length::mm(1.5), Length::mm(9.026)).unwrap();
        assert!((a.to_deg() - 3.028).abs() < 0.001);
        assert!(lead_angle(Length::mm(1.5), Length::ZERO).is_err());
    }

    #[test]
    fn passes_follow_their_table() {
        for (depth, passes) in PASSES {
            assert_eq!(
                f64::from(single_point_passes(Length::mm(depth), Length::mm(depth / 0.6), false)),
                passes,
                "{depth}"
            );
        }
        assert_eq!(single_point_passes(Length::mm(0.24), Length::mm(0.4), false), 3);
        assert_eq!(single_point_passes(Length::mm(0.92), Length::mm(1.5), true), 12);
        assert!(single_point_passes(Length::mm(1.75), Length::mm(1.4), true) >= 40);
        assert_eq!(single_point_passes(Length::ZERO, Length::mm(1.0), false), 0);
        assert_eq!(single_point_passes(Length::mm(f64::NAN), Length::mm(1.0), false), 0);
    }

    #[test]
    fn times_of_threads() {
        let n = RotationalSpeed::rpm(6000.0 / (PI * 44.0));
        let z = Length::ZERO;
        let t = single_point_time(Length::mm(89.0), z, z, Length::mm(5.0), n, 5, Time::ZERO).unwrap();
        assert!((t.to_minutes() - 2.05041).abs() < 1e-4);
        let n = whirl_work_speed(Length::mm(0.03), 6, RotationalSpeed::rpm(3000.0), Length::mm(5.0)).unwrap();
        assert!((n.to_rpm() - 34.3775).abs() < 1e-4);
        let t = whirl_time(Length::mm(30.0), z, z, Length::mm(1.75), n).unwrap();
        assert!((t.to_s() - 29.9199).abs() < 1e-3);
        let n = RotationalSpeed::rpm(600.0);
        let t = tapping_time(Length::mm(9.0), Length::mm(1.0), n, n, Time::s(0.5)).unwrap();
        assert!((t.to_s() - 2.9).abs() < 1e-9);
    }

    #[test]
    fn a_milled_thread() {
        let mill = ThreadMill {
            length: Length::mm(18.0),
            pitch: Length::mm(1.75),
            major: Length::mm(12.0),
            cutter_dia: Length::mm(9.0),
            teeth: 3,
            feed_per_tooth: Length::mm(0.05),
            n: RotationalSpeed::rpm(3000.0),
            internal: true,
            single_row: false,
            passes: 1,
        };
        let full = thread_mill_time(&mill).unwrap();
        assert!((full.to_s() - 1.5 * PI * 12.0 / 450.0 * 60.0).abs() < 1e-9);
        let single = thread_mill_time(&ThreadMill { single_row: true, ..mill }).unwrap();
        assert!((single / full - (18.0 / 1.75 + 1.5) / 1.5).abs() < 1e-9);
        assert!(thread_mill_time(&ThreadMill { cutter_dia: Length::mm(12.0), ..mill }).is_err());
        assert_eq!(depth_after_pass(Length::mm(0.64), 1, 4), Length::mm(0.32));
        assert_eq!(thread_mill_passes(Length::mm(1.6)), Ok(5));
        assert!(thread_mill_passes(Length::mm(3.5)).is_err());
    }
}
