//! What charts share: series told apart by dash, marker and colour, logarithmic axes, patterns.

use crate::report::svg::{At, Canvas};

/// Series that a reader still tells apart.
pub(super) const SERIES: usize = 5;

/// A logarithmic axis: from a value to a value, over a stretch of the chart.
#[derive(Clone, Copy, Debug)]
pub(super) struct Log {
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) from: f64,
    pub(super) to: f64,
}

impl Log {
    /// The place of a value above nought.
    pub(super) fn at(&self, value: f64) -> f64 {
        let share = libm::log(value / self.low) / libm::log(self.high / self.low);
        self.from + (self.to - self.from) * share
    }

    /// Round values within it: 1, 2 and 5 of each decade; only the decades where it spans more than three of them.
    pub(super) fn ticks(&self) -> Vec<f64> {
        let decades = libm::log10(self.high / self.low);
        let steps: &[f64] = if decades > 3.2 { &[1.0] } else { &[1.0, 2.0, 5.0] };
        let mut all = Vec::new();
        let mut decade = libm::pow(10.0, libm::floor(libm::log10(self.low) + 1e-9));
        while decade <= self.high * 1.0001 {
            all.extend(
                steps.iter().map(|s| s * decade).filter(|v| *v >= self.low * 0.9999 && *v <= self.high * 1.0001),
            );
            decade *= 10.0;
        }
        all
    }
}

/// A marker of a series: filled circle, square, triangle, diamond, ring.
pub(super) fn marker(c: &mut Canvas, series: usize, (x, y): At, r: f64) {
    let class = format!("marker s{series}");
    match series % SERIES {
        0 => c.circle(&class, (x, y), r),
        1 => c.rect(&class, (x - r * 0.9, y - r * 0.9), (r * 1.8, r * 1.8)),
        2 => c.polygon(&class, &[(x, y - r * 1.2), (x + r * 1.15, y + r * 0.9), (x - r * 1.15, y + r * 0.9)]),
        3 => c.polygon(&class, &[(x, y - r * 1.3), (x + r * 1.3, y), (x, y + r * 1.3), (x - r * 1.3, y)]),
        _ => c.circle(&format!("{class} hollow"), (x, y), r),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_logarithmic_axis_has_round_ticks() {
        let axis = Log { low: 10.0, high: 1000.0, from: 0.0, to: 100.0 };
        assert_eq!(axis.ticks(), [10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0]);
        assert!((axis.at(100.0) - 50.0).abs() < 1e-9);
        let wide = Log { low: 1.0, high: 1e5, ..axis };
        assert_eq!(wide.ticks().len(), 6);
    }
}
