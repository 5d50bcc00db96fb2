//! Drilling: thrust, torque, times, pecks, oscillation, coolant.

use super::{Formula, FormulaError, cutting, radians};
use crate::quantity::{Angle, Feed, Force, Length, Pressure, RotationalSpeed, Time, Torque, Velocity};
use std::f64::consts::PI;

/// The length of a drill's point.
///
/// # Formula
/// `A = D / (2 tan(theta / 2))`.
///
/// # Valid for
/// Point angles over 0 and up to 180 deg; outside of it a flat point, nothing.
///
/// # Source
/// Geometry. One open course page prints the tangent upside down.
///
/// # Check
/// 10 mm, 118 deg: 3.00 mm.
pub fn point_length(dia: Length, point_angle: Angle) -> Length {
    let half = point_angle.to_deg() / 2.0;
    if half > 0.0 && half < 90.0 { dia / (2.0 * libm::tan(radians(half))) } else { Length::ZERO }
}

/// The specific cutting force in drilling: the chip of one of two lips at 118 deg, which is thinner, and so harder to cut,
/// than that of any flatter point.
fn lip_force(f: Formula, kc11: f64, mc: f64, dia: Length, feed: Feed) -> Result<(f64, f64, f64), FormulaError> {
    let d_mm = f.within("drill diameter", dia.to_mm(), 0.05, 100.0, "mm")?;
    let f_mm = f.within("feed", feed.to_mm_per_rev(), super::ABOVE_ZERO, 2.0, "mm/rev")?;
    let h_mm = f_mm / 2.0 * libm::sin(radians(59.0));
    Ok((cutting::specific_cutting_force(kc11, mc, Length::mm(h_mm))?, d_mm, f_mm))
}

/// The axial force of a twist drill.
///
/// # Formula
/// `Ff = 0.7 D / 2 f kc K`, kc at `h = f / 2 sin 59 deg`.
///
/// # Valid for
/// Drills of 0.05 to 100 mm, feed over 0 and up to 2 mm/rev, factor 0.1 to 5; two lips, about 118 deg.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it, and as [`cutting::specific_cutting_force`].
///
/// # Source
/// Published page of common drilling formulas, read. An order of magnitude: a training page gives 20 % less.
///
/// # Check
/// 10 mm at 0.3 mm/rev, kc = 2,839: 2,981 N.
pub fn thrust(kc11_n_mm2: f64, mc: f64, dia: Length, feed: Feed, factor: f64) -> Result<Force, FormulaError> {
    let f = Formula("drilling thrust");
    let factor = f.within("factor", factor, 0.1, 5.0, "")?;
    let (kc, d_mm, f_mm) = lip_force(f, kc11_n_mm2, mc, dia, feed)?;
    f.finite(0.7 * d_mm / 2.0 * f_mm * kc * factor).map(Force::n)
}

/// The torque of a twist drill.
///
/// # Formula
/// `M = kc D^2 f / 8000 K`, kc at `h = f / 2 sin 59 deg`.
///
/// # Valid for
/// As [`thrust`].
///
/// # Errors
/// As [`thrust`].
///
/// # Source
/// Published page of common drilling formulas, its power form rearranged; read. A training page gives 15 to 40 % more:
/// a factor of 1.2 for the compression of the chip is usual.
///
/// # Check
/// 10 mm at 0.3 mm/rev, kc = 2,839: 10.65 N.m.
pub fn torque(kc11_n_mm2: f64, mc: f64, dia: Length, feed: Feed, factor: f64) -> Result<Torque, FormulaError> {
    let f = Formula("drilling torque");
    let factor = f.within("factor", factor, 0.1, 5.0, "")?;
    let (kc, d_mm, f_mm) = lip_force(f, kc11_n_mm2, mc, dia, feed)?;
    f.finite(kc * d_mm * d_mm * f_mm / 8000.0 * factor).map(Torque::nm)
}

/// The path and the pace that the drilling times share: mm and mm/min.
fn pace(f: Formula, feed: Feed, n: RotationalSpeed) -> Result<f64, FormulaError> {
    let f_mm = f.positive("feed", feed.to_mm_per_rev(), "mm/rev")?;
    Ok(f_mm * f.positive("spindle speed", n.to_rpm(), "rpm")?)
}

/// The time of a hole drilled in one go.
///
/// # Formula
/// `t = (L + A + a) / (f n)`, A the point's length, a the approach.
///
/// # Valid for
/// Depth, diameter and approach from 0; feed and speed over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Groover, Fundamentals of Modern Manufacturing, drilling; from memory, confirmed by published worked problems, read.
///
/// # Check
/// 15 mm, 30 mm deep at 50 m/min and 0.15 mm/rev, without point and approach: 11.3 s.
pub fn steady_time(
    depth: Length,
    dia: Length,
    point_angle: Angle,
    approach: Length,
    feed: Feed,
    n: RotationalSpeed,
) -> Result<Time, FormulaError> {
    let f = Formula("drilling time");
    let depth_mm = f.not_negative("depth", depth.to_mm(), "mm")?;
    let d_mm = f.not_negative("drill diameter", dia.to_mm(), "mm")?;
    let approach_mm = f.not_negative("approach", approach.to_mm(), "mm")?;
    let point_mm = point_length(Length::mm(d_mm), point_angle).to_mm();
    f.finite((depth_mm + point_mm + approach_mm) / pace(f, feed, n)?).map(Time::minutes)
}

/// The depths at which a peck cycle draws the drill out, and how it does so.
#[derive(Clone, Debug, PartialEq)]
pub struct PeckPlan {
    /// Depths reached, ascending, the last the bottom.
    pub depths: Vec<Length>,
    /// How far before the bottom of the last peck the feed starts again.
    pub re_entry: Length,
    /// How far in front of the surface the tip stands when drawn out, and starts from.
    pub clearance: Length,
    pub rapid: Velocity,
    /// Lost at each way out and in.
    pub turnaround: Time,
}

impl PeckPlan {
    /// The time of the cycle.
    ///
    /// # Formula
    /// Over all pecks `(q + c) / (f n) + 2 (d + R) / v + t0`: q the peck, c the re-entry (for the first peck the clearance
    /// R), d the depth reached, v the rapid, t0 the turnaround.
    ///
    /// # Valid for
    /// Depths ascending from 0; clearances and turnaround from 0; feed, speed and rapid over 0.
    ///
    /// # Errors
    /// [`FormulaError::OutOfRange`] outside of it.
    ///
    /// # Source
    /// Kinematics.
    ///
    /// # Check
    /// 20 mm in ten pecks of 2 mm at 320 mm/min: 6.404 s.
    pub fn time(&self, feed: Feed, n: RotationalSpeed) -> Result<Time, FormulaError> {
        let f = Formula("peck drilling time");
        let pace = pace(f, feed, n)?;
        let rapid = f.positive("rapid", self.rapid.to_mm_per_min(), "mm/min")?;
        let clearance_mm = f.not_negative("clearance", self.clearance.to_mm(), "mm")?;
        let re_entry_mm = f.not_negative("re-entry clearance", self.re_entry.to_mm(), "mm")?;
        let turnaround = f.not_negative("turnaround", self.turnaround.to_minutes(), "min")?;
        let (mut minutes, mut reached, mut lead_in) = (0.0, 0.0, clearance_mm);
        for depth in &self.depths {
            let depth_mm = f.within("peck depth", depth.to_mm(), reached, f64::INFINITY, "mm")?;
            minutes += (depth_mm - reached + lead_in) / pace + 2.0 * (depth_mm + clearance_mm) / rapid + turnaround;
            (reached, lead_in) = (depth_mm, re_entry_mm);
        }
        f.finite(minutes).map(Time::minutes)
    }
}

/// The depths at which a drill is drawn out, ascending, the last the bottom itself.
///
/// # Formula
/// First 3 D, then every 1 D down to 5 D, then every 0.5 D; in tough material every 0.25 D below 5 D.
///
/// # Valid for
/// Depths up to 100 D; a deeper hole is pecked as if the rest were one peck, and no diameter gives one peck.
///
/// # Source
/// Common practice, no source; the first peck of 2 to 3 D read in a distributor's tip.
///
/// # Check
/// 2 mm, 12 mm deep: 6, 8, 10, 11, 12 mm.
pub fn peck_depths(dia: Length, depth: Length, tough: bool) -> Vec<Length> {
    let mut depths = Vec::new();
    if dia > Length::ZERO && depth.is_finite() {
        let fine = if tough { 0.25 } else { 0.5 };
        let mut reached = 3.0;
        while dia * reached < depth - Length::mm(1e-9) && reached < 100.0 {
            depths.push(dia * reached);
            reached += if reached < 5.0 { 1.0 } else { fine };
        }
    }
    depths.push(depth);
    depths
}

/// Re-entry clearance of a peck cycle, common practice, no source (0.2 to 1 mm).
pub const PECK_RE_ENTRY: Length = Length::mm(0.3);
/// Time lost at each way out and in of a peck cycle, common practice, no source (0.05 to 0.2 s).
pub const PECK_TURNAROUND: Time = Time::s(0.1);

/// The time of a hole drilled in pecks after [`peck_depths`].
///
/// # Formula
/// [`PeckPlan::time`], with the point's length under the last peck and `approach` as clearance.
///
/// # Valid for
/// As [`steady_time`], rapid over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// As [`PeckPlan::time`] and [`peck_depths`].
///
/// # Check
/// Never less than [`steady_time`].
pub fn peck_time(
    depth: Length,
    dia: Length,
    point_angle: Angle,
    approach: Length,
    feed: Feed,
    n: RotationalSpeed,
    rapid: Velocity,
    tough: bool,
) -> Result<Time, FormulaError> {
    let f = Formula("peck drilling time");
    f.not_negative("depth", depth.to_mm(), "mm")?;
    f.positive("drill diameter", dia.to_mm(), "mm")?;
    let depths = peck_depths(dia, depth + point_length(dia, point_angle), tough);
    PeckPlan { depths, re_entry: PECK_RE_ENTRY, clearance: approach, rapid, turnaround: PECK_TURNAROUND }.time(feed, n)
}

/// The peak-to-peak stroke at which an axial oscillation breaks the chip.
///
/// # Formula
/// `pp = (f / k) / |sin(pi r / k)|`: f the feed, k edges that share it, r oscillations a revolution.
///
/// # Valid for
/// 1 to 8 edges, ratio over 0 and up to 20, and `|sin|` of at least 0.3: nearer to a whole multiple of the edges hardly any
/// stroke breaks chips, and at it none does.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Kinematics, confirmed by the abstract on superimposed low-frequency modulation in drilling, Precision Engineering 1998:
/// half the feed for two lips at an odd ratio, no effect at an even one; read.
///
/// # Check
/// 0.1 mm/rev, two edges, ratio 1.5: 0.0707 mm.
pub fn oscillation_needed(feed: Feed, edges: u32, ratio: f64) -> Result<Length, FormulaError> {
    let f = Formula("oscillation to break chips");
    let f_mm = f.not_negative("feed", feed.to_mm_per_rev(), "mm/rev")?;
    let k = f.within("edges", f64::from(edges), 1.0, 8.0, "")?;
    let ratio = f.within("oscillations a revolution", ratio, super::ABOVE_ZERO, 20.0, "")?;
    let sine = libm::sin(PI * ratio / k).abs();
    f.within("|sin(pi ratio / edges)|", sine, 0.3, 1.0, "")?;
    f.finite(f_mm / k / sine).map(Length::mm)
}

/// The coolant pressure that a through-coolant drill wants in a deep hole; nothing outside 1 to 20 mm.
///
/// # Formula
/// Steps by diameter: to 1.5 mm 100 bar (single-lip 180), 2 mm 80 (150), 3 mm 60 (110), 5 mm 40 (80), 10 mm 30 (60),
/// 20 mm 20 (40).
///
/// # Valid for
/// Holes of about 20 D and more, of a shallower one a share ([`pressure_share`]); solid carbide twist drills, or single-lip
/// drills.
///
/// # Source
/// Common practice, no source.
///
/// # Check
/// 4 mm: 40 bar, single-lip 80 bar.
pub fn coolant_pressure_needed(dia: Length, single_lip: bool) -> Option<Pressure> {
    const STEPS: [(f64, f64, f64); 6] = [
        (1.5, 100.0, 180.0),
        (2.0, 80.0, 150.0),
        (3.0, 60.0, 110.0),
        (5.0, 40.0, 80.0),
        (10.0, 30.0, 60.0),
        (20.0, 20.0, 40.0),
    ];
    let d_mm = dia.to_mm();
    if d_mm.is_nan() || d_mm < 1.0 {
        return None;
    }
    let (_, solid, lip) = STEPS.iter().find(|(up_to, _, _)| d_mm <= *up_to)?;
    Some(Pressure::bar(if single_lip { *lip } else { *solid }))
}

/// The share of a deep hole's coolant pressure that a hole of a depth wants: the chips of a short one come out by themselves.
///
/// # Formula
/// `k0` to the depth `a`, `1` from the depth `b` on, in a straight line between; depths over the diameter.
///
/// # Valid for
/// All depths; `b` over `a`, else 1 from `a` on.
///
/// # Source
/// Common practice, no source.
///
/// # Check
/// 0.4 to 5 D and all from 20 D: 0.7 at 12.5 D.
pub fn pressure_share(depth: f64, least: f64, shallow: f64, deep: f64) -> f64 {
    let way = if deep > shallow {
        ((depth - shallow) / (deep - shallow)).clamp(0.0, 1.0)
    } else {
        f64::from(u8::from(depth >= shallow))
    };
    least + (1.0 - least) * way
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pressure_grows_with_depth() {
        let share = |depth| pressure_share(depth, 0.4, 5.0, 20.0);
        assert!((share(12.5) - 0.7).abs() < 1e-12);
        assert_eq!((share(1.0), share(5.0), share(20.0), share(60.0)), (0.4, 0.4, 1.0, 1.0));
        assert_eq!((pressure_share(4.9, 0.4, 5.0, 5.0), pressure_share(5.0, 0.4, 5.0, 5.0)), (0.4, 1.0));
    }

    const N: RotationalSpeed = RotationalSpeed::rpm(8000.0);
    const FEED: Feed = Feed::mm_per_rev(0.04);
    const RAPID: Velocity = Velocity::mm_per_min(15_000.0);

    #[test]
    fn ten_even_pecks() {
        let depths = (1..=10).map(|i| Length::mm(2.0 * f64::from(i))).collect();
        let plan = PeckPlan {
            depths,
            re_entry: Length::mm(0.3),
            clearance: Length::mm(1.0),
            rapid: RAPID,
            turnaround: Time::s(0.1),
        };
        assert!((plan.time(FEED, N).unwrap().to_s() - 6.40375).abs() < 1e-4);
        let steady = steady_time(Length::mm(20.0), Length::ZERO, Angle::deg(118.0), Length::mm(1.0), FEED, N).unwrap();
        assert!((steady.to_s() - 3.9375).abs() < 1e-9);
    }

    #[test]
    fn pecks_grow_shorter_with_depth() {
        let mm = |tough| -> Vec<f64> {
            peck_depths(Length::mm(2.0), Length::mm(12.0), tough).iter().map(|l| l.to_mm()).collect()
        };
        assert_eq!(mm(false), [6.0, 8.0, 10.0, 11.0, 12.0]);
        assert_eq!(mm(true), [6.0, 8.0, 10.0, 10.5, 11.0, 11.5, 12.0]);
        assert_eq!(peck_depths(Length::mm(2.0), Length::mm(6.0), true).len(), 1);
        assert!(peck_depths(Length::mm(0.001), Length::mm(1000.0), true).len() < 500);
        let args = (Length::mm(12.0), Length::mm(2.0), Angle::deg(140.0), Length::mm(1.0));
        let pecked = peck_time(args.0, args.1, args.2, args.3, FEED, N, RAPID, false).unwrap();
        assert!(pecked > steady_time(args.0, args.1, args.2, args.3, FEED, N).unwrap());
    }

    #[test]
    fn a_useless_ratio_is_refused() {
        let pp = |edges, ratio| oscillation_needed(Feed::mm_per_rev(0.1), edges, ratio).map(Length::to_mm);
        assert!((pp(2, 1.5).unwrap() - 0.0707107).abs() < 1e-6);
        assert!((pp(2, 3.0).unwrap() - 0.05).abs() < 1e-9);
        assert!((pp(1, 2.5).unwrap() - 0.1).abs() < 1e-9);
        assert!(pp(2, 4.0).is_err() && pp(1, 1.0).is_err() && pp(2, 1.9).is_err() && pp(0, 1.5).is_err());
    }

    #[test]
    fn forces_of_a_drill() {
        // kc at h = 0.15 sin 59 deg.
        let m = torque(1990.0, 0.26, Length::mm(10.0), Feed::mm_per_rev(0.3), 1.0).unwrap();
        let t = thrust(1990.0, 0.26, Length::mm(10.0), Feed::mm_per_rev(0.3), 1.0).unwrap();
        assert!((t.to_n() / m.to_nm() - 0.7 / 2.0 * 10.0 * 8000.0 / 100.0).abs() < 1e-6);
        assert!(thrust(1990.0, 0.26, Length::ZERO, Feed::mm_per_rev(0.3), 1.0).is_err());
        assert!((point_length(Length::mm(10.0), Angle::deg(118.0)).to_mm() - 3.0043).abs() < 1e-4);
        assert_eq!(point_length(Length::mm(10.0), Angle::deg(180.0)), Length::ZERO);
        assert_eq!(coolant_pressure_needed(Length::mm(4.0), true), Some(Pressure::bar(80.0)));
        assert_eq!(coolant_pressure_needed(Length::mm(0.8), true), None);
    }
}
