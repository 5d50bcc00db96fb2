//! Printing quantities as a setter reads them: as many digits as mean something, trailing noughts dropped.

use super::*;
use std::fmt;

/// A number with at most `places` decimals and no trailing noughts; never `-0`.
pub fn number(value: f64, places: usize) -> String {
    // Every reason of a ranking is printed by this: whole numbers are written several times as fast as exact decimals.
    const TENS: [f64; 7] = [1.0, 10.0, 100.0, 1e3, 1e4, 1e5, 1e6];
    if let Some(ten) = TENS.get(places).filter(|_| value.abs() < 1e9) {
        return whole((value.abs() * ten).round() as u64, places, value < 0.0);
    }
    let mut text = format!("{value:.places$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// A number of the last decimal's units, without trailing noughts.
fn whole(mut units: u64, mut places: usize, negative: bool) -> String {
    while places > 0 && units.is_multiple_of(10) {
        units /= 10;
        places -= 1;
    }
    let sign = if negative && units > 0 { "-" } else { "" };
    if places == 0 {
        return format!("{sign}{units}");
    }
    let ten = 10u64.pow(places as u32);
    format!("{sign}{}.{:0places$}", units / ten, units % ten)
}

/// A whole number with thousands apart: `12_500` prints as `12,500`.
pub fn thousands(value: f64) -> String {
    let digits = format!("{:.0}", value.abs());
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            out.push(',');
        }
        out.push(c);
    }
    if value < 0.0 && digits != "0" { format!("-{out}") } else { out }
}

/// Rounded to the step that its size deserves: `(from, step)` pairs, the largest size first; as it is below all of them.
fn stepped(value: f64, steps: &[(f64, f64)]) -> f64 {
    let step = steps.iter().find(|(from, _)| value.abs() >= *from).map(|(_, step)| *step);
    step.map_or(value, |s| (value / s).round() * s)
}

impl fmt::Display for Length {
    /// In mm; below a tenth of a millimetre in um.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mm = self.to_mm();
        match mm.abs() {
            0.0 => f.write_str("0 mm"),
            a if a < 0.01 => write!(f, "{} um", number(mm * 1000.0, 1)),
            a if a < 0.1 => write!(f, "{} um", number(mm * 1000.0, 0)),
            a if a < 1.0 => write!(f, "{} mm", number(mm, 3)),
            a if a < 100.0 => write!(f, "{} mm", number(mm, 2)),
            _ => write!(f, "{} mm", number(mm, 1)),
        }
    }
}

impl fmt::Display for Time {
    /// In s below two minutes, in min below two hours, in h above.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.to_s() {
            s if s.abs() < 120.0 => write!(f, "{} s", number(s, 1)),
            s if s.abs() < 7200.0 => write!(f, "{} min", number(s / 60.0, 0)),
            s => write!(f, "{} h", number(s / 3600.0, 1)),
        }
    }
}

macro_rules! printed {
    ($($name:ident: $reader:ident, $unit:literal, $places:expr;)*) => {$(
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", number(self.$reader(), $places), $unit)
            }
        }
    )*};
}

printed! {
    Angle: to_deg, "deg", 2;
    Velocity: to_m_per_min, "m/min", 1;
    Feed: to_mm_per_rev, "mm/rev", 3;
    Power: to_kw, "kW", 2;
    Pressure: to_bar, "bar", 0;
    Flow: to_l_per_min, "l/min", 1;
    Frequency: to_hz, "Hz", 0;
    Area: to_mm2, "mm2", 1;
    Acceleration: to_m_per_s2, "m/s2", 1;
    Straightness: to_mm_per_m, "mm/m", 2;
    Ratio: to_percent, "%", 1;
    YearlyHours: to_h_per_year, "h/year", 0;
}

impl fmt::Display for RotationalSpeed {
    /// To 10 from 1,000 and to 50 from 10,000: nobody programs a spindle more finely.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} rpm", thousands(stepped(self.to_rpm(), &[(10_000.0, 50.0), (1_000.0, 10.0)])))
    }
}

impl fmt::Display for Torque {
    /// To three figures, at least to a thousandth: the torque of a small drill is no nought.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let places = match self.to_nm().abs() {
            m if m < 0.1 => 3,
            m if m < 10.0 => 2,
            _ => 1,
        };
        write!(f, "{} N.m", number(self.to_nm(), places))
    }
}

impl fmt::Display for Mass {
    /// To 10 g; below 100 g to the gram.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} kg", number(self.to_kg(), if self.to_kg().abs() < 0.1 { 3 } else { 2 }))
    }
}

impl fmt::Display for Force {
    /// In N below 2 kN, to 10 N from 1 kN.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match stepped(self.to_n(), &[(1_000.0, 10.0)]) {
            n if n.abs() < 2000.0 => write!(f, "{} N", number(n, 0)),
            n => write!(f, "{} kN", number(n / 1000.0, 1)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_print_as_they_are_read_aloud() {
        assert_eq!(Length::mm(8.0).to_string(), "8 mm");
        assert_eq!(Length::um(9.0).to_string(), "9 um");
        assert_eq!(Length::um(21.6).to_string(), "22 um");
        assert_eq!(Time::s(35.21).to_string(), "35.2 s");
        assert_eq!(Time::minutes(134.0).to_string(), "2.2 h");
        assert_eq!(RotationalSpeed::rpm(10_000.0).to_string(), "10,000 rpm");
        assert_eq!(RotationalSpeed::rpm(76_394.0).to_string(), "76,400 rpm");
        assert_eq!(RotationalSpeed::rpm(9_151.0).to_string(), "9,150 rpm");
        assert_eq!(RotationalSpeed::rpm(318.0).to_string(), "318 rpm");
        assert_eq!(Force::n(1_161.0).to_string(), "1160 N");
        assert_eq!(Torque::nm(0.0042).to_string(), "0.004 N.m");
        assert_eq!(Torque::nm(45.94).to_string(), "45.9 N.m");
        assert_eq!(Mass::kg(0.891).to_string(), "0.89 kg");
        assert_eq!(number(-0.001, 1), "0");
        assert_eq!(thousands(-1234.4), "-1,234");
    }
}
