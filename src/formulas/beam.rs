//! Bending of stepped round parts, and the speeds at which bars whirl.

use super::{Formula, FormulaError};
use crate::quantity::{Force, Length, RotationalSpeed};
use std::f64::consts::PI;

/// A stretch of one diameter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeamSegment {
    pub length: Length,
    pub dia: Length,
    /// Nothing for a solid stretch.
    pub bore: Length,
}

impl BeamSegment {
    /// A solid stretch.
    pub fn solid(length: Length, dia: Length) -> BeamSegment {
        BeamSegment { length, dia, bore: Length::ZERO }
    }

    /// The second moment of area, mm4: `pi (D^4 - d^4) / 64`.
    fn second_moment(&self, f: Formula) -> Result<f64, FormulaError> {
        let d_mm = f.positive("diameter", self.dia.to_mm(), "mm")?;
        let bore_mm = f.within("bore", self.bore.to_mm(), 0.0, 0.999 * d_mm, "mm")?;
        let fourth = |x: f64| x * x * x * x;
        Ok(PI / 64.0 * (fourth(d_mm) - fourth(bore_mm)))
    }
}

/// The moments of flexibility from the support outwards, from which every deflection follows in closed form:
/// `S_k = integral of x^k / (E I) dx`, with E in N/mm2, from 0 to the place reached.
#[derive(Clone, Copy, Default)]
struct Moments {
    reached: f64,
    s0: f64,
    s1: f64,
    s2: f64,
}

impl Moments {
    /// Further out to `x`, through a stretch of flexibility `1 / (E I)`.
    fn to(self, x: f64, flexibility: f64) -> Moments {
        let a = self.reached;
        Moments {
            reached: x,
            s0: self.s0 + flexibility * (x - a),
            s1: self.s1 + flexibility * (x * x - a * a) / 2.0,
            s2: self.s2 + flexibility * (x * x * x - a * a * a) / 3.0,
        }
    }

    /// Held at the support, the far end free: the deflection at the place reached under a unit load at `b`, at or beyond
    /// it; by reciprocity also that at `b` under a unit load here.
    fn coupled(&self, b: f64) -> f64 {
        let a = self.reached;
        a * b * self.s0 - (a + b) * self.s1 + self.s2
    }

    /// The same with both at the place reached.
    fn free(&self) -> f64 {
        self.coupled(self.reached)
    }

    /// The deflection under a unit load at the place reached, `end` being the moments to the far end.
    fn held(&self, end: &Moments, ends: Ends) -> f64 {
        let (a, l) = (self.reached, end.reached);
        let sag = match ends {
            Ends::Overhung => self.free(),
            // The prop's force makes the far end stay.
            Ends::HeldAndSupported => {
                let coupled = self.coupled(l);
                self.free() - coupled * coupled / end.free()
            }
            // By statics: the moment is (L - a) x / L before the load, a (L - x) / L behind it.
            Ends::Supported => {
                let before = self.s2 * (l - a) * (l - a);
                let behind = l * l * (end.s0 - self.s0) - 2.0 * l * (end.s1 - self.s1) + (end.s2 - self.s2);
                (before + behind * a * a) / (l * l)
            }
            // Force and moment at the far end make it neither move nor turn.
            Ends::Held => {
                let (force, turn) = (self.coupled(l), a * self.s0 - self.s1);
                let (ff, ft, tt) = (end.free(), l * end.s0 - end.s1, end.s0);
                self.free() - (force * force * tt - 2.0 * force * turn * ft + turn * turn * ff) / (ff * tt - ft * ft)
            }
        };
        // No length, no deflection; and at a support a rounding error may go below nothing. What is no number stays so.
        if l == 0.0 || sag < 0.0 { 0.0 } else { sag }
    }
}

/// Total length and the moments of flexibility to the end.
fn whole(f: Formula, segments: &[BeamSegment], modulus_gpa: f64) -> Result<Moments, FormulaError> {
    let modulus = f.within("modulus", modulus_gpa, 0.1, 1000.0, "GPa")? * 1000.0;
    let mut m = Moments::default();
    for s in segments {
        let length_mm = f.not_negative("length of a stretch", s.length.to_mm(), "mm")?;
        m = m.to(m.reached + length_mm, 1.0 / (modulus * s.second_moment(f)?));
    }
    Ok(m)
}

/// The moments of flexibility to a place along the beam, after those to its `end`.
fn up_to(
    f: Formula,
    segments: &[BeamSegment],
    modulus_gpa: f64,
    end: &Moments,
    at: Length,
) -> Result<Moments, FormulaError> {
    // A place given as a sum of lengths may miss the end by a rounding error.
    let at_mm = f.within("place of the load", at.to_mm(), 0.0, end.reached + 1e-6, "mm")?.min(end.reached);
    let mut m = Moments::default();
    for s in segments {
        let border = m.reached + s.length.to_mm();
        let flexibility = 1.0 / (modulus_gpa * 1000.0 * s.second_moment(f)?);
        if at_mm <= border {
            return Ok(m.to(at_mm, flexibility));
        }
        m = m.to(border, flexibility);
    }
    Ok(m)
}

/// The deflection under a radial load on a stepped part, by how its ends are held; the first end is the support that the
/// stretches are counted from.
///
/// # Formula
/// Unit-load and force method with `d_ab = integral of (a - x)(b - x) / (E I) dx` from 0 to the lesser of a and b, exact
/// over the steps. One diameter: free end `F a^3 / (3 E I)`; supported end `F a^3 b^2 (3 a + 4 b) / (12 E I L^3)`; between
/// supports `F a^2 b^2 / (3 E I L)`; both ends held `F a^3 b^3 / (3 E I L^3)`, `b = L - a`.
///
/// # Valid for
/// Diameters over 0, bores below 0.999 of them, modulus 0.1 to 1,000 GPa, force from 0; the load on the part.
/// Euler-Bernoulli: shear is left out, which would add half to a stub of L = D and 6 % at L = 3 D.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Bansal, Strength of Materials, chapter 13; Sarkar, Strength of Materials, problems 6.6 and 12.1; Hibbeler, Mechanics of
/// Materials, example 12.21; read in worked problems.
///
/// # Check
/// Held and supported, 6 mm, 24 mm, 60 N at the middle, 193 GPa: 0.616 um.
pub fn deflection(
    segments_from_support: &[BeamSegment],
    modulus_gpa: f64,
    force: Force,
    at: Length,
    ends: Ends,
) -> Result<Length, FormulaError> {
    let f = Formula("deflection");
    let force_n = f.not_negative("force", force.to_n(), "N")?;
    let end = whole(f, segments_from_support, modulus_gpa)?;
    let m = up_to(f, segments_from_support, modulus_gpa, &end, at)?;
    f.finite(force_n * m.held(&end, ends)).map(Length::mm)
}

/// The deflection under a radial load on a stepped part that is held at one end, the other end free.
///
/// # Formula
/// [`deflection`] with [`Ends::Overhung`].
///
/// # Valid for
/// As [`deflection`].
///
/// # Errors
/// As [`deflection`].
///
/// # Source
/// As [`deflection`].
///
/// # Check
/// 6 mm, 24 mm out, 60 N, 193 GPa: 22.52 um.
pub fn cantilever_deflection(
    segments_from_support: &[BeamSegment],
    modulus_gpa: f64,
    force: Force,
    at: Length,
) -> Result<Length, FormulaError> {
    deflection(segments_from_support, modulus_gpa, force, at, Ends::Overhung)
}

/// The deflection under a radial load on a stepped part that is held at one end and supported, free to turn, at the other.
///
/// # Formula
/// [`deflection`] with [`Ends::HeldAndSupported`].
///
/// # Valid for
/// As [`deflection`].
///
/// # Errors
/// As [`deflection`].
///
/// # Source
/// As [`deflection`].
///
/// # Check
/// 6 mm, 24 mm, 60 N at the middle, 193 GPa: 0.616 um.
pub fn propped_deflection(
    segments_from_support: &[BeamSegment],
    modulus_gpa: f64,
    force: Force,
    at: Length,
) -> Result<Length, FormulaError> {
    deflection(segments_from_support, modulus_gpa, force, at, Ends::HeldAndSupported)
}

/// How far the free end of an overhung part moves under a radial load before it.
///
/// # Formula
/// `F d_aL`; `F a^2 (3 L - a) / (6 E I)` for one diameter.
///
/// # Valid for
/// As [`deflection`].
///
/// # Errors
/// As [`deflection`].
///
/// # Source
/// Bansal, Strength of Materials, problem 13.2; read.
///
/// # Check
/// 50 kN at 2 m of 3 m, 200 GPa, 1e8 mm4: 11.67 mm.
pub fn tip_deflection(
    segments_from_support: &[BeamSegment],
    modulus_gpa: f64,
    force: Force,
    load_at: Length,
) -> Result<Length, FormulaError> {
    let f = Formula("deflection of the free end");
    let force_n = f.not_negative("force", force.to_n(), "N")?;
    let end = whole(f, segments_from_support, modulus_gpa)?;
    let m = up_to(f, segments_from_support, modulus_gpa, &end, load_at)?;
    f.finite(force_n * m.coupled(end.reached)).map(Length::mm)
}

/// The force on the prop of a part that is held at one end and supported at the other.
///
/// # Formula
/// `R = F d_aL / d_LL`; `F a^2 (3 L - a) / (2 L^3)` for one diameter.
///
/// # Valid for
/// As [`deflection`], some length.
///
/// # Errors
/// As [`deflection`].
///
/// # Source
/// Hibbeler, Mechanics of Materials, example 12.21; Sarkar, Strength of Materials, problem 12.1; read.
///
/// # Check
/// At the middle of one diameter: 5/16 F.
pub fn prop_force(
    segments_from_support: &[BeamSegment],
    modulus_gpa: f64,
    force: Force,
    at: Length,
) -> Result<Force, FormulaError> {
    let f = Formula("force on the prop");
    let force_n = f.not_negative("force", force.to_n(), "N")?;
    let end = whole(f, segments_from_support, modulus_gpa)?;
    f.positive("length", end.reached, "mm")?;
    let m = up_to(f, segments_from_support, modulus_gpa, &end, at)?;
    f.finite(force_n * m.coupled(end.reached) / end.free()).map(Force::n)
}

/// Places in each stretch at which a supported part is tried before the largest deflection is closed in on.
const TRIALS: u32 = 8;

/// The least and the greatest deflection under a load that moves along a stretch: what a turned diameter gains and loses
/// from place to place.
///
/// # Formula
/// [`cantilever_deflection`] or [`propped_deflection`] at each place. With a free end it grows outwards, so the borders
/// give both. With a supported end each step is tried at nine places, and the greatest closed in on by parabolas; the
/// closed form at the place found is exact, and stays within 0.1 % of the true greatest.
///
/// # Valid for
/// As [`cantilever_deflection`]; `from` no further out than `to`.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// As the two functions.
///
/// # Check
/// One diameter, supported, whole length: greatest `F L^3 / (101.9 E I)` at 0.586 L.
pub fn deflection_range(
    segments: &[BeamSegment],
    modulus_gpa: f64,
    force: Force,
    from: Length,
    to: Length,
    propped: bool,
) -> Result<(Length, Length), FormulaError> {
    let f = Formula("deflection along a stretch");
    let force_n = f.not_negative("force", force.to_n(), "N")?;
    let end = whole(f, segments, modulus_gpa)?;
    let to_mm = f.within("end of the stretch", to.to_mm(), 0.0, end.reached + 1e-6, "mm")?.min(end.reached);
    let from_mm = f.within("start of the stretch", from.to_mm(), 0.0, to_mm + 1e-6, "mm")?.min(to_mm);
    let (low, high) = if propped {
        moving_propped(f, segments, modulus_gpa * 1000.0, from_mm, to_mm, end)?
    } else {
        let low = up_to(f, segments, modulus_gpa, &end, Length::mm(from_mm))?.free();
        (low, up_to(f, segments, modulus_gpa, &end, Length::mm(to_mm))?.free())
    };
    Ok((Length::mm(f.finite(force_n * low)?), Length::mm(f.finite(force_n * high)?)))
}

/// The least and greatest deflection of a supported part under a unit load between two places, mm/N.
fn moving_propped(
    f: Formula,
    segments: &[BeamSegment],
    modulus_n_mm2: f64,
    from: f64,
    to: f64,
    end: Moments,
) -> Result<(f64, f64), FormulaError> {
    let (mut low, mut high) = (f64::INFINITY, 0.0_f64);
    let mut m = Moments::default();
    for s in segments {
        let flexibility = 1.0 / (modulus_n_mm2 * s.second_moment(f)?);
        let next = m.to(m.reached + s.length.to_mm(), flexibility);
        let (a, b) = (from.max(m.reached), to.min(next.reached));
        if a <= b {
            let at = |x: f64| m.to(x, flexibility).held(&end, Ends::HeldAndSupported);
            let step = (b - a) / f64::from(TRIALS);
            let mut trials = [0.0; TRIALS as usize + 1];
            for (i, y) in (0..=TRIALS).zip(trials.iter_mut()) {
                *y = f.finite(at(a + step * f64::from(i)))?;
                low = low.min(*y);
                high = high.max(*y);
            }
            if step > 0.0 {
                high = high.max(closed_in(&trials, a, b, at));
                low = low.min(-closed_in(&trials.map(|y| -y), a, b, |x| -at(x)));
            }
        }
        m = next;
    }
    Ok(if low.is_finite() { (low, high) } else { (0.0, 0.0) })
}

/// The greatest value of a curve near the greatest of its even trials between `a` and `b`: closed in on by parabolas, each
/// an eighth as wide as the one before. The curve is no parabola, but its own value is taken at the place found.
fn closed_in(trials: &[f64; TRIALS as usize + 1], a: f64, b: f64, at: impl Fn(f64) -> f64) -> f64 {
    let mut peak = 1;
    for i in 2..TRIALS as usize {
        if trials[i] > trials[peak] {
            peak = i;
        }
    }
    let mut step = (b - a) / f64::from(TRIALS);
    let mut place = a + step * (peak as f64 + vertex(trials[peak - 1], trials[peak], trials[peak + 1]));
    for _ in 0..2 {
        step /= 8.0;
        // The border itself was tried.
        place = place.clamp(a + step, b - step);
        place += step * vertex(at(place - step), at(place), at(place + step));
    }
    at(place)
}

/// Where the parabola through three values one step apart has its top, in steps from the middle one, at most one.
fn vertex(before: f64, middle: f64, after: f64) -> f64 {
    let bend = before - 2.0 * middle + after;
    if bend < 0.0 { ((before - after) / (2.0 * bend)).clamp(-1.0, 1.0) } else { 0.0 }
}

/// How the two ends of a part or bar are held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// Held at one end, the other free: bar behind a spindle.
    Overhung,
    /// Resting in two supports that let it tilt.
    Supported,
    /// Held at one end, supported at the other.
    HeldAndSupported,
    /// Held at both ends.
    Held,
}

impl Ends {
    /// The square of the first root of the frequency equation.
    fn factor(self) -> f64 {
        match self {
            Ends::Overhung => 3.516,
            Ends::Supported => PI * PI,
            Ends::HeldAndSupported => 15.4182,
            Ends::Held => 22.3733,
        }
    }
}

/// The first speed at which a bar or tube whirls.
///
/// # Formula
/// `n = 60 / (2 pi) K sqrt(E / rho) r / L^2`, `r = sqrt(D^2 + d^2) / 4` the radius of gyration, K from how it is held.
///
/// # Valid for
/// Free length and diameter over 0, bore below the diameter, modulus 0.1 to 1,000 GPa, density 500 to 50,000 kg/m3; a
/// slender bar, L at least 10 D.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Euler-Bernoulli first mode; factors from memory, 3.516 and 9.870 confirmed by worked problems of Sarkar, Theory of
/// Machines; read.
///
/// # Check
/// Steel 20 mm, 1 m between supports: 2,419 rpm.
pub fn critical_speed(
    length: Length,
    dia: Length,
    bore: Length,
    modulus_gpa: f64,
    density_kg_m3: f64,
    ends: Ends,
) -> Result<RotationalSpeed, FormulaError> {
    let f = Formula("first critical speed");
    let d_m = f.positive("diameter", dia.to_mm(), "mm")? / 1000.0;
    let bore_m = f.within("bore", bore.to_mm(), 0.0, 999.0 * d_m, "mm")? / 1000.0;
    let l_m = f.within("free length", length.to_mm(), 10_000.0 * d_m, f64::INFINITY, "mm")? / 1000.0;
    let e_pa = f.within("modulus", modulus_gpa, 0.1, 1000.0, "GPa")? * 1e9;
    let rho = f.within("density", density_kg_m3, 500.0, 50_000.0, "kg/m3")?;
    let gyration_m = (d_m * d_m + bore_m * bore_m).sqrt() / 4.0;
    f.finite(60.0 / (2.0 * PI) * ends.factor() * (e_pa / rho).sqrt() * gyration_m / (l_m * l_m))
        .map(RotationalSpeed::rpm)
}

/// The speed at which a shaft whirls that sags so far under the weight it carries.
///
/// # Formula
/// `n = 60 / (2 pi) sqrt(g / sag)`.
///
/// # Valid for
/// Sag over 0; the shaft light against the one mass.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Sarkar, Theory of Machines, illustration 11.13; read.
///
/// # Check
/// Shaft of 15 mm and 1 m held at both ends, 15 kg at the middle: 761.7 rpm.
pub fn critical_speed_of_sag(sag: Length) -> Result<RotationalSpeed, FormulaError> {
    let f = Formula("critical speed from the sag");
    let sag_m = f.positive("sag", sag.to_mm(), "mm")? / 1000.0;
    f.finite(60.0 / (2.0 * PI) * (STANDARD_GRAVITY / sag_m).sqrt()).map(RotationalSpeed::rpm)
}

/// m/s2, third General Conference on Weights and Measures, 1901.
const STANDARD_GRAVITY: f64 = 9.806_65;

#[cfg(test)]
mod tests {
    use super::*;

    const E: f64 = 193.0;
    const F: Force = Force::n(60.0);

    fn bar(length: f64, dia: f64) -> BeamSegment {
        BeamSegment::solid(Length::mm(length), Length::mm(dia))
    }

    #[test]
    fn one_diameter_by_the_handbook() {
        let s = [bar(24.0, 6.0)];
        let free = cantilever_deflection(&s, E, F, Length::mm(24.0)).unwrap();
        assert!((free.to_um() - 22.52).abs() < 0.01);
        let mid = propped_deflection(&s, E, F, Length::mm(12.0)).unwrap();
        assert!((mid / free - 7.0 / 256.0).abs() < 1e-12);
        assert_eq!(propped_deflection(&s, E, F, Length::mm(24.0)).unwrap().to_um().abs().round(), 0.0);
        assert_eq!(cantilever_deflection(&s, E, F, Length::ZERO), Ok(Length::ZERO));
    }

    #[test]
    fn both_ends_by_the_handbook() {
        let s = [bar(24.0, 6.0)];
        let free = cantilever_deflection(&s, E, F, Length::mm(24.0)).unwrap();
        let (a, b) = (0.375, 0.625);
        let share = |ends| deflection(&s, E, F, Length::mm(24.0 * a), ends).unwrap() / free;
        assert!((share(Ends::Supported) - a * a * b * b).abs() < 1e-12);
        assert!((share(Ends::Held) - a * a * a * b * b * b).abs() < 1e-12);
        assert!((share(Ends::HeldAndSupported) - a * a * a * b * b * (3.0 * a + 4.0 * b) / 4.0).abs() < 1e-12);
        let prop = prop_force(&s, E, F, Length::mm(12.0)).unwrap();
        assert!((prop / F - 5.0 / 16.0).abs() < 1e-12);
        let tip = tip_deflection(&s, E, F, Length::mm(12.0)).unwrap();
        assert!((tip / free - 0.25 * 2.5 / 2.0).abs() < 1e-12);
    }

    #[test]
    fn cutting_a_stretch_in_two_changes_nothing() {
        let one = cantilever_deflection(&[bar(24.0, 6.0)], E, F, Length::mm(20.0)).unwrap();
        let two = [bar(7.0, 6.0), bar(0.0, 3.0), bar(17.0, 6.0)];
        assert!((one / cantilever_deflection(&two, E, F, Length::mm(20.0)).unwrap() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_range_of_a_moving_load() {
        let s = [bar(24.0, 6.0)];
        let tip = cantilever_deflection(&s, E, F, Length::mm(24.0)).unwrap();
        let (low, high) = deflection_range(&s, E, F, Length::ZERO, Length::mm(24.0), false).unwrap();
        assert_eq!((low, high), (Length::ZERO, tip));
        let (_, high) = deflection_range(&s, E, F, Length::ZERO, Length::mm(24.0), true).unwrap();
        // Greatest at a = (2 - sqrt 2) L, where the closed form gives F L^3 / (101.9 E I).
        let (a, b) = (2.0 - 2f64.sqrt(), 2f64.sqrt() - 1.0);
        assert!((high / tip - 3.0 * a * a * a * b * b * (3.0 * a + 4.0 * b) / 12.0).abs() < 1e-7);
        let (low, high) = deflection_range(&s, E, F, Length::mm(5.0), Length::mm(5.0), true).unwrap();
        assert_eq!(low, high);
    }

    #[test]
    fn what_is_no_beam_is_refused() {
        let s = [bar(24.0, 6.0)];
        assert!(cantilever_deflection(&s, E, F, Length::mm(25.0)).is_err());
        assert!(cantilever_deflection(&[bar(24.0, 0.0)], E, F, Length::mm(5.0)).is_err());
        assert!(cantilever_deflection(&s, f64::NAN, F, Length::mm(5.0)).is_err());
        let bored = [BeamSegment { bore: Length::mm(6.0), ..s[0] }];
        assert!(propped_deflection(&bored, E, F, Length::mm(5.0)).is_err());
        assert!(deflection_range(&s, E, F, Length::mm(9.0), Length::mm(5.0), true).is_err());
        assert_eq!(propped_deflection(&[], E, F, Length::ZERO), Ok(Length::ZERO));
    }

    #[test]
    fn steel_bars_whirl() {
        let n = |l: f64, d: f64, ends| {
            critical_speed(Length::m(l), Length::mm(d), Length::ZERO, 207.0, 7850.0, ends).unwrap().to_rpm()
        };
        assert!((n(1.0, 20.0, Ends::Supported) - 2419.0).abs() < 1.0);
        assert!((n(0.5, 20.0, Ends::Overhung) - 3448.0).abs() < 1.0);
        assert!((n(3.0, 65.0, Ends::Supported) - 873.0).abs() < 1.0);
        assert!(critical_speed(Length::mm(50.0), Length::mm(20.0), Length::ZERO, 207.0, 7850.0, Ends::Held).is_err());
    }
}
