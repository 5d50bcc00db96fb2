//! Robust estimates from few records: a spread that wild values do not reach, weights that take their say, and means that
//! shrink to nothing where little stands behind them.

use super::{Formula, FormulaError, LARGEST};

/// Residuals up to so many spreads count in full: 95 % as good as the mean where errors are normal. Huber, Robust Estimation
/// of a Location Parameter, 1964, with the constant in general use since Holland and Welsch, 1977; from memory.
pub const HUBER: f64 = 1.345;
/// Makes the median of absolute deviations a standard deviation where errors are normal: 1 / 0.6745, the upper quartile of
/// the normal distribution. Huber, Robust Statistics, 1981; from memory.
const NORMAL: f64 = 1.4826;

/// The middle of some values: of an even number the mean of the middle two.
///
/// # Formula
/// The value at `(n + 1) / 2` in order of size.
///
/// # Valid for
/// One finite value or more.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Definition.
///
/// # Check
/// 3, 1, 2 and 10: 2.5.
pub fn median(values: &[f64]) -> Result<f64, FormulaError> {
    let f = Formula("median");
    f.within("number of values", values.len() as f64, 1.0, f64::INFINITY, "")?;
    for value in values {
        f.within("value", *value, -LARGEST, LARGEST, "")?;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    f.finite(match sorted.len() % 2 {
        1 => sorted[middle],
        _ => f64::midpoint(sorted[middle - 1], sorted[middle]),
    })
}

/// The spread of residuals about nought, as a standard deviation that up to half of wild values cannot carry away.
///
/// # Formula
/// `s = 1.4826 median(|r|)`.
///
/// # Valid for
/// One finite residual or more.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Median absolute deviation, Huber, Robust Statistics, 1981; from memory.
///
/// # Check
/// -0.1, 0.02, 0.05, -0.03 and 4: median 0.05, s = 0.07413.
pub fn spread(residuals: &[f64]) -> Result<f64, FormulaError> {
    let sizes: Vec<f64> = residuals.iter().map(|r| r.abs()).collect();
    Formula("robust spread").finite(NORMAL * median(&sizes)?)
}

/// A spread seen in `n` residuals together with the one that is expected before anything is seen, which counts like
/// `prior_records` of them; `fitted` are the values fitted to the residuals, which made them smaller.
///
/// # Formula
/// `s^2 = (n0 s0^2 + n s_n^2) / (n0 + n - p)`.
///
/// # Valid for
/// Spreads from 0, `n0` over 0, `p` from 0 up to `n`.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Mean of a scaled inverse chi-square prior and a sample variance in proportion to their degrees of freedom; Box and Tiao,
/// Bayesian Inference in Statistical Analysis, 1973; from memory.
///
/// # Check
/// n0 = 4, s0 = 0.2, n = 12, s_n = 0.1, p = 0: s^2 = (0.16 + 0.12) / 16 = 0.0175.
pub fn pooled_spread(
    prior: f64,
    prior_records: f64,
    seen: f64,
    records: f64,
    fitted: f64,
) -> Result<f64, FormulaError> {
    let f = Formula("pooled spread");
    let s0 = f.not_negative("expected spread", prior, "")?;
    let n0 = f.positive("weight of the expected spread", prior_records, "")?;
    let s = f.not_negative("spread seen", seen, "")?;
    let n = f.not_negative("records", records, "")?;
    let p = f.within("fitted values", fitted, 0.0, n, "")?;
    f.finite(libm::sqrt((n0 * s0 * s0 + n * s * s) / (n0 + n - p)))
}

/// How much a record counts whose residual is so large.
///
/// # Formula
/// `w = 1` up to `c s`, beyond it `c s / |r|`, with `c = 1.345`.
///
/// # Valid for
/// A finite residual, a spread over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Huber, Robust Estimation of a Location Parameter, Annals of Mathematical Statistics 35, 1964; from memory.
///
/// # Check
/// r = 0.1 and s = 0.1 count in full; r = 0.269 counts by 0.5.
pub fn huber_weight(residual: f64, spread: f64) -> Result<f64, FormulaError> {
    let f = Formula("Huber's weight");
    let size = f.within("residual", residual, -LARGEST, LARGEST, "")?.abs();
    let full = HUBER * f.positive("spread", spread, "")?;
    f.finite(if size <= full { 1.0 } else { full / size })
}

/// The mean of weighted values, shrunk towards nought: the fewer there are and the wider they scatter, the more.
///
/// # Formula
/// `m = sum(w y) / (sum(w) + k)`, `k = s^2 / t^2`: s the spread of one value, t the spread expected between true means. It is
/// the mean of the values times `B = n / (n + k)`.
///
/// # Valid for
/// A sum of weights from 0, s and t over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// James and Stein, 1961, as in Efron and Morris, Data Analysis Using Stein's Estimator and its Generalizations, Journal of
/// the American Statistical Association 70, 1975, with known variances; the weight is Buehlmann's credibility, 1967; from
/// memory.
///
/// # Check
/// Four values of mean 0.2, s = 0.2, t = 0.1: k = 4, m = 0.1. No value: 0.
pub fn shrunk_mean(weighted_sum: f64, weights: f64, spread: f64, between: f64) -> Result<f64, FormulaError> {
    let f = Formula("shrunk mean");
    let sum = f.within("weighted sum", weighted_sum, -LARGEST, LARGEST, "")?;
    let weights = f.not_negative("sum of weights", weights, "")?;
    let s = f.positive("spread", spread, "")?;
    let t = f.positive("spread between means", between, "")?;
    f.finite(sum / (weights + (s / t) * (s / t)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-12, "{a} against {b}");
    }

    #[test]
    fn hand_worked_numbers() {
        near(median(&[3.0, 1.0, 2.0, 10.0]).unwrap(), 2.5);
        near(median(&[5.0]).unwrap(), 5.0);
        near(spread(&[-0.1, 0.02, 0.05, -0.03, 4.0]).unwrap(), 0.07413);
        near(pooled_spread(0.2, 4.0, 0.1, 12.0, 0.0).unwrap(), 0.0175_f64.sqrt());
        near(pooled_spread(0.2, 4.0, 0.0, 0.0, 0.0).unwrap(), 0.2);
        near(huber_weight(-0.1, 0.1).unwrap(), 1.0);
        near(huber_weight(-0.269, 0.1).unwrap(), 0.5);
        near(shrunk_mean(0.8, 4.0, 0.2, 0.1).unwrap(), 0.1);
        near(shrunk_mean(0.0, 0.0, 0.2, 0.1).unwrap(), 0.0);
    }

    #[test]
    fn what_is_none_is_refused() {
        assert!(median(&[]).is_err() && median(&[f64::NAN]).is_err() && spread(&[f64::INFINITY]).is_err());
        assert!(pooled_spread(0.1, 0.0, 0.1, 1.0, 0.0).is_err() && pooled_spread(0.1, 1.0, 0.1, 1.0, 2.0).is_err());
        assert!(huber_weight(0.1, 0.0).is_err() && shrunk_mean(0.1, 1.0, 0.1, 0.0).is_err());
    }
}
