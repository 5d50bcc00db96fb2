//! Money over years: annuities, present values, rates of return, payback.

use super::{Formula, FormulaError};
use crate::quantity::{Money, Ratio};

/// A year's rate that sums are discounted with, -99 % to 1,000 %.
fn yearly_rate(f: Formula, rate: Ratio) -> Result<f64, FormulaError> {
    f.within("yearly rate", rate.to_fraction(), -0.99, 10.0, "")
}

/// A span of up to 200 years.
fn span(f: Formula, years: f64) -> Result<f64, FormulaError> {
    f.within("years", years, super::ABOVE_ZERO, 200.0, "years")
}

/// The share of a sum that a yearly payment has to be to return it with interest.
///
/// # Formula
/// `i (1 + i)^n / ((1 + i)^n - 1)`, `1 / n` without interest.
///
/// # Valid for
/// Rates from -99 % to 1,000 %, years over 0 and up to 200.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Panneerselvam, Engineering Economics, example 3.6; Sharma, A Textbook of Production Engineering, example 5.2; read.
///
/// # Check
/// 18 %, 15 years: 0.196403.
pub fn capital_recovery_factor(rate: Ratio, years: f64) -> Result<f64, FormulaError> {
    let f = Formula("capital recovery factor");
    let (i, n) = (yearly_rate(f, rate)?, span(f, years)?);
    // -expm1(-n ln(1 + i)) is 1 - (1 + i)^-n without the loss of digits at small rates.
    f.finite(if i == 0.0 { 1.0 / n } else { i / -libm::expm1(-n * libm::log1p(i)) })
}

/// The share of a sum that a yearly payment has to be to save it up with interest.
///
/// # Formula
/// `i / ((1 + i)^n - 1)`, `1 / n` without interest.
///
/// # Valid for
/// As [`capital_recovery_factor`].
///
/// # Errors
/// As [`capital_recovery_factor`].
///
/// # Source
/// Sharma, A Textbook of Production Engineering, example 5.2; read.
///
/// # Check
/// 10 %, 20 years: 0.01746.
pub fn sinking_fund_factor(rate: Ratio, years: f64) -> Result<f64, FormulaError> {
    let f = Formula("sinking fund factor");
    let (i, n) = (yearly_rate(f, rate)?, span(f, years)?);
    f.finite(if i == 0.0 { 1.0 / n } else { i / libm::expm1(n * libm::log1p(i)) })
}

/// The yearly payment that returns a sum with interest.
///
/// # Formula
/// The sum times [`capital_recovery_factor`].
///
/// # Valid for
/// As [`capital_recovery_factor`].
///
/// # Errors
/// As [`capital_recovery_factor`].
///
/// # Source
/// As [`capital_recovery_factor`].
///
/// # Check
/// 1,000,000 at 18 % over 15 years: 196,403.
pub fn annuity(principal: Money, rate: Ratio, years: f64) -> Result<Money, FormulaError> {
    let factor = capital_recovery_factor(rate, years)?;
    Formula("annuity").finite(principal.to_units() * factor).map(Money::units)
}

/// What a machine costs a year, its price spread over its life.
///
/// # Formula
/// `(P - S) CRF + S i + O`.
///
/// # Valid for
/// As [`capital_recovery_factor`].
///
/// # Errors
/// As [`capital_recovery_factor`].
///
/// # Source
/// Sharma, A Textbook of Production Engineering, examples 5.6 and 5.13; read.
///
/// # Check
/// 46,000, salvage 8,000, 10,000 a year, 10 years at 8 %: 16,303.
pub fn equivalent_annual_cost(
    price: Money,
    salvage: Money,
    operating: Money,
    rate: Ratio,
    years: f64,
) -> Result<Money, FormulaError> {
    let factor = capital_recovery_factor(rate, years)?;
    let (p, s) = (price.to_units(), salvage.to_units());
    let cost = (p - s) * factor + s * rate.to_fraction() + operating.to_units();
    Formula("equivalent annual cost").finite(cost).map(Money::units)
}

/// What yearly sums are worth now, the first at once, each further one a year later.
///
/// # Formula
/// `sum of CF_k / (1 + i)^k`, k from 0.
///
/// # Valid for
/// Rates from -99 % to 1,000 %, up to 200 years.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it, [`FormulaError::NotFinite`] where a sum is too large.
///
/// # Source
/// Panneerselvam, Engineering Economics, examples 4.1 and 4.3; read.
///
/// # Check
/// -10,000, 3,000, 3,000, 7,000, 6,000 at 18 %: 2,052.
pub fn net_present_value(rate: Ratio, flows: &[Money]) -> Result<Money, FormulaError> {
    let f = Formula("net present value");
    let i = yearly_rate(f, rate)?;
    f.within("years", flows.len() as f64, 0.0, 201.0, "years")?;
    f.finite(flows.iter().rev().fold(0.0, |sum, flow| sum / (1.0 + i) + flow.to_units())).map(Money::units)
}

/// The rates at which yearly sums are worth nothing now, ascending: none, one, or several where the sums change sign more
/// than once.
///
/// # Formula
/// The roots of the polynomial in `x = 1 / (1 + i)`. Between two neighbouring roots of its derivative a polynomial is
/// monotone, so that it has one root there or none; the roots of the derivatives are found first, from the last down.
///
/// # Valid for
/// 2 to 61 sums; rates from -90 % to 1,000 % are searched.
///
/// # Errors
/// [`FormulaError::OutOfRange`] for other numbers of sums or sums above 1e15, [`FormulaError::NotFinite`] for a sum that is
/// no number.
///
/// # Source
/// Panneerselvam, Engineering Economics, examples 7.1 and 7.2; read.
///
/// # Check
/// -100,000 and five times 30,000: 15.24 %.
pub fn internal_rates_of_return(flows: &[Money]) -> Result<Vec<Ratio>, FormulaError> {
    let f = Formula("internal rate of return");
    f.within("yearly sums", flows.len() as f64, 2.0, 61.0, "")?;
    let mut coefficients = Vec::with_capacity(flows.len());
    for flow in flows {
        coefficients.push(f.within("yearly sum", flow.to_units(), -1e15, 1e15, "")?);
    }
    if coefficients.iter().all(|c| *c >= 0.0) || coefficients.iter().all(|c| *c <= 0.0) {
        return Ok(Vec::new());
    }
    let roots = roots(&coefficients, 1.0 / 11.0, 10.0);
    // From the largest x down, the rates come ascending.
    Ok(roots.iter().rev().map(|x| Ratio::fraction(1.0 / x - 1.0)).collect())
}

/// The value of a polynomial, coefficients from the constant up.
fn value(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// The roots of a polynomial within an interval, ascending, each once.
fn roots(coefficients: &[f64], low: f64, high: f64) -> Vec<f64> {
    // Each derivative divided by the factorial that it gathers, which keeps the numbers from growing beyond all bounds.
    let degree = coefficients.len() - 1;
    let mut found: Vec<f64> = Vec::new();
    for order in (0..degree).rev() {
        let derivative: Vec<f64> = (order..=degree).map(|k| coefficients[k] * binomial(k, order)).collect();
        let mut borders = vec![low];
        borders.append(&mut found);
        borders.push(high);
        for pair in borders.windows(2) {
            let root = monotone_root(&derivative, pair[0], pair[1]);
            // Two stretches may share the place between them as their root.
            found.extend(root.filter(|r| found.last().is_none_or(|last| r - last > 1e-12)));
        }
    }
    found
}

fn binomial(n: usize, k: usize) -> f64 {
    (0..k).fold(1.0, |b, i| b * (n - i) as f64 / (i + 1) as f64)
}

/// The root between two places between which a polynomial is monotone: where its sign changes, or a place itself at which
/// it is nothing.
fn monotone_root(coefficients: &[f64], low: f64, high: f64) -> Option<f64> {
    let (at_low, at_high) = (value(coefficients, low), value(coefficients, high));
    let negligible = |x: f64| {
        let size = coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c.abs());
        value(coefficients, x).abs() <= 1e-13 * size
    };
    if negligible(low) {
        return Some(low);
    }
    if negligible(high) {
        return Some(high);
    }
    if (at_low < 0.0) == (at_high < 0.0) {
        return None;
    }
    let (mut low, mut high) = (low, high);
    // 200 halvings end at neighbouring numbers from any interval.
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if (value(coefficients, middle) < 0.0) == (at_low < 0.0) { low = middle } else { high = middle }
    }
    Some(f64::midpoint(low, high))
}

/// The years until yearly sums have paid back what was laid out, discounted; within a year the sum comes in evenly.
/// Nothing where they never do.
///
/// # Formula
/// The first `k + rest / CF_k` at which the running sum of `CF_j / (1 + i)^j` turns positive for good.
///
/// # Valid for
/// Rates from -99 % to 1,000 % (0 for the simple payback), up to 201 sums.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it, [`FormulaError::NotFinite`] where a sum is too large.
///
/// # Source
/// Common practice, no source.
///
/// # Check
/// -100,000 and 30,000 a year, undiscounted: 3.33 years.
pub fn payback_years(rate: Ratio, flows: &[Money]) -> Result<Option<f64>, FormulaError> {
    let f = Formula("payback");
    let i = yearly_rate(f, rate)?;
    f.within("years", flows.len() as f64, 0.0, 201.0, "years")?;
    let (mut sum, mut discount, mut years) = (0.0, 1.0, None);
    for (k, flow) in flows.iter().enumerate() {
        let before = sum;
        let flow = flow.to_units() * discount;
        sum = f.finite(sum + flow)?;
        if sum < -1e-9 {
            years = None;
        } else if years.is_none() {
            years =
                Some(if k == 0 || flow <= 0.0 { k as f64 } else { (k - 1) as f64 + (-before / flow).clamp(0.0, 1.0) });
        }
        discount /= 1.0 + i;
    }
    Ok(years)
}

/// The years until even yearly sums have paid back an outlay with interest.
///
/// # Formula
/// `n = -ln(1 - P i / A) / ln(1 + i)`, `P / A` without interest.
///
/// # Valid for
/// Outlay from 0, yearly sum over 0, rate from 0 to 1,000 %, and `P i` less than A: else it never does.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// The annuity, solved for its years.
///
/// # Check
/// 100,000 and 30,000 a year at 10 %: 4.254 years.
pub fn annuity_payback_years(outlay: Money, yearly: Money, rate: Ratio) -> Result<f64, FormulaError> {
    let f = Formula("payback of an annuity");
    let p = f.not_negative("outlay", outlay.to_units(), "")?;
    let a = f.positive("yearly sum", yearly.to_units(), "")?;
    let i = f.within("yearly rate", rate.to_fraction(), 0.0, 10.0, "")?;
    if i == 0.0 {
        return f.finite(p / a);
    }
    let share = f.within("interest on the outlay as a share of the yearly sum", p * i / a, 0.0, 1.0 - 1e-12, "")?;
    f.finite(-libm::log1p(-share) / libm::log1p(i))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn money(list: &[f64]) -> Vec<Money> {
        list.iter().copied().map(Money::units).collect()
    }

    fn percents(list: &[f64]) -> Vec<f64> {
        let rates = internal_rates_of_return(&money(list)).unwrap();
        rates.iter().map(|r| (r.to_percent() * 1e6).round() / 1e6).collect()
    }

    #[test]
    fn one_rate_several_or_none() {
        assert_eq!(percents(&[-100_000.0, 30e3, 30e3, 30e3, 30e3, 30e3]), [15.238237]);
        // (x - 1 / 1.1)(x - 1 / 1.2), and three rates.
        assert_eq!(percents(&[-100.0, 230.0, -132.0]), [10.0, 20.0]);
        assert_eq!(percents(&[-1000.0, 3600.0, -4310.0, 1716.0]), [10.0, 20.0, 30.0]);
        assert!(percents(&[100.0, 200.0]).is_empty());
        assert!(percents(&[-100.0, 150.0, -100.0]).is_empty());
        // A curve that only touches nothing.
        assert_eq!(percents(&[-100.0, 220.0, -121.0]).len(), 1);
        assert_eq!(percents(&[-100.0, 50.0]), [-50.0]);
        assert!(internal_rates_of_return(&money(&[1.0])).is_err());
        assert!(internal_rates_of_return(&money(&[-1.0, f64::NAN])).is_err());
    }

    #[test]
    fn long_flows_are_still_exact() {
        let mut flows = vec![-1000.0];
        flows.extend(std::iter::repeat_n(100.0, 40));
        let rate = internal_rates_of_return(&money(&flows)).unwrap();
        assert_eq!(rate.len(), 1);
        assert!(net_present_value(rate[0], &money(&flows)).unwrap().to_units().abs() < 1e-8);
    }

    #[test]
    fn paybacks() {
        let flows = money(&[-100_000.0, 30e3, 30e3, 30e3, 30e3, 30e3]);
        let years = payback_years(Ratio::ZERO, &flows).unwrap().unwrap();
        assert!((years - 10.0 / 3.0).abs() < 1e-12);
        assert_eq!(payback_years(Ratio::percent(30.0), &flows), Ok(None));
        assert_eq!(payback_years(Ratio::ZERO, &money(&[-100.0, 150.0, -100.0])), Ok(None));
        let n = annuity_payback_years(Money::units(100e3), Money::units(30e3), Ratio::percent(10.0)).unwrap();
        assert!((n - 4.25416).abs() < 1e-5);
        assert!(annuity_payback_years(Money::units(100e3), Money::units(10e3), Ratio::percent(10.0)).is_err());
    }

    #[test]
    fn factors_agree_with_each_other() {
        let (rate, years) = (Ratio::percent(7.0), 8.0);
        let crf = capital_recovery_factor(rate, years).unwrap();
        assert!((crf - sinking_fund_factor(rate, years).unwrap() - 0.07).abs() < 1e-12);
        assert_eq!(capital_recovery_factor(Ratio::ZERO, 8.0), Ok(0.125));
        assert!((annuity(Money::units(1e6), Ratio::percent(18.0), 15.0).unwrap().to_units() - 196_403.0).abs() < 1.0);
        assert!(capital_recovery_factor(Ratio::percent(-100.0), 8.0).is_err());
    }
}
