//! Tool life after Taylor, and the speeds that follow from it.

use super::{Formula, FormulaError};
use crate::quantity::{Feed, Length, Money, Time, Velocity};

/// Taylor's law of one tool in one material: `v T^n = C`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taylor {
    n: f64,
    c_m_min: f64,
}

/// Ten years of minutes: no edge lasts longer, and the law was measured over hours.
const LONGEST_LIFE_MIN: f64 = 5e6;

impl Taylor {
    /// From the exponent and the speed for a life of one minute.
    ///
    /// # Formula
    /// `v T^n = C`, v in m/min, T in minutes.
    ///
    /// # Valid for
    /// n 0.05 to 1, C over 0 and up to 10,000 m/min.
    ///
    /// # Errors
    /// [`FormulaError::OutOfRange`] outside of it.
    ///
    /// # Source
    /// Groover, Fundamentals of Modern Manufacturing; Sharma, A Textbook of Production Engineering, example 14.1; read.
    ///
    /// # Check
    /// n = 0.25, C = 300, 200 m/min: 5.06 min.
    pub fn new(n: f64, c: Velocity) -> Result<Taylor, FormulaError> {
        let f = Formula("tool life");
        let n = f.within("exponent n", n, 0.05, 1.0, "")?;
        let c_m_min = f.within("constant C", c.to_m_per_min(), super::ABOVE_ZERO, 10_000.0, "m/min")?;
        Ok(Taylor { n, c_m_min })
    }

    /// Through one known life at one speed.
    ///
    /// # Formula
    /// `C = v T^n`.
    ///
    /// # Valid for
    /// As [`Taylor::new`]; speed and life over 0.
    ///
    /// # Errors
    /// [`FormulaError::OutOfRange`] outside of it.
    ///
    /// # Source
    /// As [`Taylor::new`].
    ///
    /// # Check
    /// 18 m/min for 180 min, n = 0.125: at 24 m/min 18 min.
    pub fn through(speed: Velocity, life: Time, n: f64) -> Result<Taylor, FormulaError> {
        let f = Formula("tool life");
        let v = f.positive("speed", speed.to_m_per_min(), "m/min")?;
        let t = f.within("life", life.to_minutes(), super::ABOVE_ZERO, LONGEST_LIFE_MIN, "min")?;
        let n = f.within("exponent n", n, 0.05, 1.0, "")?;
        Taylor::new(n, Velocity::m_per_min(f.finite(v * libm::pow(t, n))?))
    }

    /// Through two known lives at two speeds.
    ///
    /// # Formula
    /// `n = ln(v2 / v1) / ln(T1 / T2)`.
    ///
    /// # Valid for
    /// Speeds and lives over 0; the faster tool must last the shorter, and n come out at 0.05 to 1.
    ///
    /// # Errors
    /// [`FormulaError::OutOfRange`] outside of it.
    ///
    /// # Source
    /// Sharma, A Textbook of Production Engineering, example 14.7; read.
    ///
    /// # Check
    /// 25 m/min 90 min, 35 m/min 20 min: n = 0.224, C = 68.4.
    pub fn through_two(a: (Velocity, Time), b: (Velocity, Time)) -> Result<Taylor, FormulaError> {
        let f = Formula("tool life");
        for (speed, life) in [a, b] {
            f.positive("speed", speed.to_m_per_min(), "m/min")?;
            f.positive("life", life.to_minutes(), "min")?;
        }
        let n = f.finite(libm::log(b.0 / a.0) / libm::log(a.1 / b.1))?;
        Taylor::through(a.0, a.1, n)
    }

    /// The exponent.
    pub fn n(&self) -> f64 {
        self.n
    }

    /// The speed for a life of one minute.
    pub fn c(&self) -> Velocity {
        Velocity::m_per_min(self.c_m_min)
    }

    /// How long an edge lasts at a speed.
    ///
    /// # Formula
    /// `T = (C / v)^(1 / n)`.
    ///
    /// # Valid for
    /// Speeds over 0 at which it lasts no longer than ten years.
    ///
    /// # Errors
    /// [`FormulaError::OutOfRange`] outside of it.
    ///
    /// # Source
    /// As [`Taylor::new`].
    ///
    /// # Check
    /// As [`Taylor::new`].
    pub fn life(&self, speed: Velocity) -> Result<Time, FormulaError> {
        let f = Formula("tool life");
        let v = f.positive("speed", speed.to_m_per_min(), "m/min")?;
        let t = f.finite(libm::pow(self.c_m_min / v, 1.0 / self.n))?;
        f.within("life", t, 0.0, LONGEST_LIFE_MIN, "min").map(Time::minutes)
    }

    /// The speed at which an edge lasts so long.
    ///
    /// # Formula
    /// `v = C / T^n`.
    ///
    /// # Valid for
    /// Lives over 0 and up to ten years.
    ///
    /// # Errors
    /// [`FormulaError::OutOfRange`] outside of it.
    ///
    /// # Source
    /// As [`Taylor::new`].
    ///
    /// # Check
    /// C = 68.41, n = 0.2237, 60 min: 27.37 m/min.
    pub fn speed(&self, life: Time) -> Result<Velocity, FormulaError> {
        let f = Formula("speed for a tool life");
        let t = f.within("life", life.to_minutes(), super::ABOVE_ZERO, LONGEST_LIFE_MIN, "min")?;
        f.finite(self.c_m_min / libm::pow(t, self.n)).map(Velocity::m_per_min)
    }

    /// The life at which a piece takes the least time.
    ///
    /// # Formula
    /// `T = (1 / n - 1) t_change`.
    ///
    /// # Valid for
    /// Change times from 0; n below 1.
    ///
    /// # Errors
    /// [`FormulaError::OutOfRange`] outside of it.
    ///
    /// # Source
    /// Ghosh and Mallik, Manufacturing Science, example 4.28; read.
    ///
    /// # Check
    /// n = 0.25, 2 min: 6 min, with C = 75 47.92 m/min.
    pub fn most_productive_life(&self, change: Time) -> Result<Time, FormulaError> {
        let f = Formula("most productive tool life");
        let change = f.not_negative("change time", change.to_minutes(), "min")?;
        f.finite((1.0 / self.n - 1.0) * change).map(Time::minutes)
    }

    /// The life at which a piece costs the least.
    ///
    /// # Formula
    /// `T = (1 / n - 1) (t_change + edge cost / cost a minute)`.
    ///
    /// # Valid for
    /// Change time and edge cost from 0, cost a minute over 0; n below 1.
    ///
    /// # Errors
    /// [`FormulaError::OutOfRange`] outside of it.
    ///
    /// # Source
    /// Ghosh and Mallik, Manufacturing Science, example 4.26; Sharma, A Textbook of Production Engineering, example 14.2;
    /// read.
    ///
    /// # Check
    /// n = 0.25, 2 min, edge 2.5, 0.15 a minute: 56 min, with C = 75 27.42 m/min.
    pub fn economic_life(&self, change: Time, edge: Money, per_minute: Money) -> Result<Time, FormulaError> {
        let f = Formula("economic tool life");
        let change = f.not_negative("change time", change.to_minutes(), "min")?;
        let edge = f.not_negative("cost of an edge", edge.to_units(), "")?;
        let rate = f.positive("cost a minute", per_minute.to_units(), "")?;
        f.finite((1.0 / self.n - 1.0) * (change + edge / rate)).map(Time::minutes)
    }
}

/// The life of an edge from that at another speed, feed and depth.
///
/// # Formula
/// `v T^n f^a d^b = K`, so that `T2 = T1 ((v1 / v2) (f1 / f2)^a (d1 / d2)^b)^(1 / n)`.
///
/// # Valid for
/// Lives, speeds, feeds and depths over 0; n 0.05 to 1, a and b 0 to 1.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Sharma, A Textbook of Production Engineering, example 14.4; read.
///
/// # Check
/// 60 min, n = 0.13, feed exponent 0.77, feed a fifth up: 20.38 min.
pub fn extended_life(
    life: Time,
    from: (Velocity, Feed, Length),
    to: (Velocity, Feed, Length),
    n: f64,
    feed_exponent: f64,
    depth_exponent: f64,
) -> Result<Time, FormulaError> {
    let f = Formula("extended tool life");
    let t1 = f.within("life", life.to_minutes(), super::ABOVE_ZERO, LONGEST_LIFE_MIN, "min")?;
    for (v, feed, depth) in [from, to] {
        f.positive("speed", v.to_m_per_min(), "m/min")?;
        f.positive("feed", feed.to_mm_per_rev(), "mm/rev")?;
        f.positive("depth", depth.to_mm(), "mm")?;
    }
    let n = f.within("exponent n", n, 0.05, 1.0, "")?;
    let a = f.within("exponent of the feed", feed_exponent, 0.0, 1.0, "")?;
    let b = f.within("exponent of the depth", depth_exponent, 0.0, 1.0, "")?;
    let base = from.0 / to.0 * libm::pow(from.1 / to.1, a) * libm::pow(from.2 / to.2, b);
    f.finite(t1 * libm::pow(base, 1.0 / n)).map(Time::minutes)
}

/// How many whole pieces an edge makes.
///
/// # Formula
/// `floor(T / t_cut)`.
///
/// # Valid for
/// Life from 0, cutting time over 0, at most a hundred million pieces.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Groover, Fundamentals of Modern Manufacturing, machining economics; from memory.
///
/// # Check
/// 23.42 min, 3.787 min a piece: 6.
pub fn pieces_per_edge(life: Time, cut_per_piece: Time) -> Result<u32, FormulaError> {
    let f = Formula("pieces an edge");
    let life = f.not_negative("life", life.to_s(), "s")?;
    let cut = f.positive("cutting time a piece", cut_per_piece.to_s(), "s")?;
    f.within("pieces", (life / cut + 1e-9).floor(), 0.0, 1e8, "").map(|n| n as u32)
}

/// What changing a tool adds to each piece.
///
/// # Formula
/// `t_change t_cut / T`.
///
/// # Valid for
/// Change and cutting time from 0, life over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Sharma, A Textbook of Production Engineering, example 4.7; read.
///
/// # Check
/// 2 min of cut, 10 min a change, life 240 min: 0.083 min.
pub fn change_time_per_piece(change: Time, cut_per_piece: Time, life: Time) -> Result<Time, FormulaError> {
    let f = Formula("tool change time a piece");
    let change = f.not_negative("change time", change.to_s(), "s")?;
    let cut = f.not_negative("cutting time a piece", cut_per_piece.to_s(), "s")?;
    f.finite(change * cut / f.positive("life", life.to_s(), "s")?).map(Time::s)
}

/// What wear costs each piece.
///
/// # Formula
/// `edge cost t_cut / T`.
///
/// # Valid for
/// Cost and cutting time from 0, life over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Groover, Fundamentals of Modern Manufacturing, machining economics; from memory.
///
/// # Check
/// An edge of 4.00 over 6 pieces: 0.67.
pub fn edge_cost_per_piece(edge: Money, cut_per_piece: Time, life: Time) -> Result<Money, FormulaError> {
    let f = Formula("tool cost a piece");
    let edge = f.not_negative("cost of an edge", edge.to_units(), "")?;
    let cut = f.not_negative("cutting time a piece", cut_per_piece.to_s(), "s")?;
    f.finite(edge * cut / f.positive("life", life.to_s(), "s")?).map(Money::units)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lives_and_speeds_are_inverse() {
        let t = Taylor::new(0.25, Velocity::m_per_min(300.0)).unwrap();
        let life = t.life(Velocity::m_per_min(200.0)).unwrap();
        assert!((life.to_minutes() - 5.0625).abs() < 1e-9);
        assert!((t.speed(life).unwrap().to_m_per_min() - 200.0).abs() < 1e-9);
        let two = Taylor::through_two(
            (Velocity::m_per_min(25.0), Time::minutes(90.0)),
            (Velocity::m_per_min(35.0), Time::minutes(20.0)),
        )
        .unwrap();
        assert!((two.n() - 0.223707).abs() < 1e-6 && (two.c().to_m_per_min() - 68.4096).abs() < 1e-4);
    }

    #[test]
    fn a_law_that_makes_no_sense_is_refused() {
        assert!(Taylor::new(0.0, Velocity::m_per_min(300.0)).is_err());
        let slow = (Velocity::m_per_min(25.0), Time::minutes(20.0));
        let fast = (Velocity::m_per_min(35.0), Time::minutes(90.0));
        assert!(Taylor::through_two(slow, fast).is_err());
        assert!(Taylor::through_two(slow, slow).is_err());
        let t = Taylor::new(0.1, Velocity::m_per_min(300.0)).unwrap();
        assert!(t.life(Velocity::m_per_min(0.001)).is_err());
    }
}
