//! Money of a shop: hour rates, order times, learning, lots, prices.

use super::{Formula, FormulaError};
use crate::quantity::{Area, HourRate, Money, Power, Ratio, Time, YearlyHours};

/// A span of up to 200 years.
fn span(f: Formula, years: f64) -> Result<f64, FormulaError> {
    f.within("years", years, super::ABOVE_ZERO, 200.0, "years")
}

/// What a machine hour rate is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HourRateInputs {
    pub running: YearlyHours,
    /// What buying it again would cost.
    pub replacement: Money,
    /// What it cost, for the interest.
    pub purchase: Money,
    pub life_years: f64,
    pub interest: Ratio,
    pub maintenance_a_year: Money,
    pub power: Power,
    /// Share of the installed power that is drawn on average, 0 to 1.
    pub load: f64,
    pub price_kwh: Money,
    pub space: Area,
    pub space_price_m2_year: Money,
    pub tooling: HourRate,
}

/// A machine hour rate by kind of cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HourRateParts {
    pub depreciation: HourRate,
    pub interest: HourRate,
    pub maintenance: HourRate,
    pub energy: HourRate,
    pub space: HourRate,
    pub tooling: HourRate,
}

impl HourRateParts {
    /// The sum.
    pub fn total(&self) -> HourRate {
        [self.depreciation, self.interest, self.maintenance, self.energy, self.space, self.tooling].into_iter().sum()
    }
}

/// The machine hour rate, without the operator.
///
/// # Formula
/// Depreciation `replacement / life / hours`, interest on half the purchase price `purchase i / 2 / hours`, maintenance,
/// energy `power load price`, space `area price / hours`, tooling.
///
/// # Valid for
/// Hours over 0 and up to 8,784 a year, life over 0 and up to 200 years, load 0 to 1, the others from 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// VDI 3258 sheet 1, read as quoted in a controlling handbook and in a university exercise with its solution.
///
/// # Check
/// That exercise: 70.81 an hour.
pub fn machine_hour_rate(i: &HourRateInputs) -> Result<HourRateParts, FormulaError> {
    let f = Formula("machine hour rate");
    let hours = f.within("running hours", i.running.to_h_per_year(), super::ABOVE_ZERO, 8784.0, "h/year")?;
    let life = span(f, i.life_years)?;
    let replacement = f.not_negative("replacement value", i.replacement.to_units(), "")?;
    let purchase = f.not_negative("purchase price", i.purchase.to_units(), "")?;
    let maintenance = f.not_negative("maintenance", i.maintenance_a_year.to_units(), "")?;
    let kw = f.not_negative("power", i.power.to_kw(), "kW")?;
    let load = f.within("load", i.load, 0.0, 1.0, "")?;
    let kwh = f.not_negative("price of energy", i.price_kwh.to_units(), "")?;
    let m2 = f.not_negative("space", i.space.to_mm2(), "mm2")? / 1e6;
    let rent = f.not_negative("price of space", i.space_price_m2_year.to_units(), "")?;
    let interest = f.within("interest", i.interest.to_fraction(), 0.0, 10.0, "")?;
    let rate = |units: f64| f.finite(units).map(HourRate::per_hour);
    Ok(HourRateParts {
        depreciation: rate(replacement / life / hours)?,
        interest: rate(purchase * interest / 2.0 / hours)?,
        maintenance: rate(maintenance / hours)?,
        energy: rate(kw * load * kwh)?,
        space: rate(m2 * rent / hours)?,
        tooling: rate(f.not_negative("tooling", i.tooling.to_per_hour(), "")?)?,
    })
}

/// The time of an order.
///
/// # Formula
/// `T = t_r + m t_e`.
///
/// # Valid for
/// Times from 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// REFA order time, read in a vocational textbook on production engineering.
///
/// # Check
/// 180 min and 500 pieces of 1.8 min: 1,080 min.
pub fn order_time(setup: Time, unit: Time, pieces: u32) -> Result<Time, FormulaError> {
    let f = Formula("order time");
    let setup = f.not_negative("setup time", setup.to_s(), "s")?;
    let unit = f.not_negative("time a unit", unit.to_s(), "s")?;
    f.finite(setup + f64::from(pieces) * unit).map(Time::s)
}

/// The exponent of a learning curve.
///
/// # Formula
/// `b = ln(R) / ln(2)`.
///
/// # Valid for
/// Learning rates of 50 to 100 %.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Wright's cumulative average curve, read in an accountancy course text.
///
/// # Check
/// 80 %: -0.3219.
pub fn learning_exponent(learning: Ratio) -> Result<f64, FormulaError> {
    let f = Formula("learning exponent");
    let r = f.within("learning rate", learning.to_fraction(), 0.5, 1.0, "")?;
    f.finite(libm::log(r) / std::f64::consts::LN_2)
}

/// The average time of the first units made, by a curve of cumulative averages; the total is as many times that.
///
/// # Formula
/// `a x^b` with [`learning_exponent`].
///
/// # Valid for
/// Learning rates of 50 to 100 %, at least one unit, first time from 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// As [`learning_exponent`].
///
/// # Check
/// 100 h, 80 %, 8 units: 51.2 h.
pub fn learning_average(first: Time, learning: Ratio, units: u32) -> Result<Time, FormulaError> {
    let f = Formula("learning curve");
    let first = f.not_negative("time of the first unit", first.to_s(), "s")?;
    let x = f.within("units", f64::from(units), 1.0, f64::INFINITY, "")?;
    f.finite(first * libm::pow(x, learning_exponent(learning)?)).map(Time::s)
}

/// The lot at which setting up and keeping stock together cost the least.
///
/// # Formula
/// `sqrt(2 demand setup / carrying)`.
///
/// # Valid for
/// Demand and setup cost from 0, cost of carrying a piece for a year over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Andler's lot; Sharma, A Textbook of Production Engineering, example 23.8; read.
///
/// # Check
/// 15,625 a year, 60 a lot, 1.2 a piece: 1,250.
pub fn economic_lot(yearly_pieces: f64, setup: Money, carrying: Money) -> Result<f64, FormulaError> {
    let f = Formula("economic lot");
    let demand = f.not_negative("yearly pieces", yearly_pieces, "")?;
    let setup = f.not_negative("cost of a lot", setup.to_units(), "")?;
    let carrying = f.positive("carrying cost", carrying.to_units(), "")?;
    f.finite((2.0 * demand * setup / carrying).sqrt())
}

/// The number of pieces from which the route with the dearer setup and the cheaper piece is the cheaper one. Nothing where
/// one route is cheaper at every number.
///
/// # Formula
/// `m = (S_b - S_a) / (u_a - u_b)`.
///
/// # Valid for
/// Finite costs.
///
/// # Errors
/// [`FormulaError::NotFinite`] otherwise.
///
/// # Source
/// Arithmetic.
///
/// # Check
/// 100 + 2.0 m against 400 + 1.4 m: 500.
pub fn break_even_lot(a: (Money, Money), b: (Money, Money)) -> Result<Option<f64>, FormulaError> {
    let f = Formula("break-even lot");
    let setup = f.finite((b.0 - a.0).to_units())?;
    let unit = f.finite((a.1 - b.1).to_units())?;
    if unit == 0.0 || setup / unit <= 0.0 { Ok(None) } else { f.finite(setup / unit).map(Some) }
}

/// What is left of a price after some years, written off in even parts.
///
/// # Formula
/// `P - t (P - S) / n`.
///
/// # Valid for
/// Life over 0 and up to 200 years, age from 0 to the life.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Sharma, A Textbook of Production Engineering, example 5.1; read.
///
/// # Check
/// 250,000, salvage 25,000, 10 of 20 years: 137,500.
pub fn book_value(price: Money, salvage: Money, life_years: f64, age_years: f64) -> Result<Money, FormulaError> {
    let f = Formula("book value");
    let n = span(f, life_years)?;
    let t = f.within("age", age_years, 0.0, n, "years")?;
    let (p, s) = (price.to_units(), salvage.to_units());
    f.finite(p - t * (p - s) / n).map(Money::units)
}

/// A price from a cost.
///
/// # Formula
/// Markup on cost `cost (1 + m)`.
///
/// # Valid for
/// Markups from 0 to 1,000 %.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Sharma, A Textbook of Production Engineering, example 4.1; read.
///
/// # Check
/// 13,225 with 12 %: 14,812.
pub fn price_with_markup(cost: Money, markup: Ratio) -> Result<Money, FormulaError> {
    let f = Formula("price with a markup on cost");
    let m = f.within("markup", markup.to_fraction(), 0.0, 10.0, "")?;
    f.finite(cost.to_units() * (1.0 + m)).map(Money::units)
}

/// A price from a cost and the share of the price that is to be left.
///
/// # Formula
/// Margin on price `cost / (1 - m)`.
///
/// # Valid for
/// Margins from 0 to 95 %.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Common practice, no source.
///
/// # Check
/// 78 with 22 %: 100.
pub fn price_with_margin(cost: Money, margin: Ratio) -> Result<Money, FormulaError> {
    let f = Formula("price with a margin on price");
    let m = f.within("margin", margin.to_fraction(), 0.0, 0.95, "")?;
    f.finite(cost.to_units() / (1.0 - m)).map(Money::units)
}

/// How many machines a yearly number takes.
///
/// # Formula
/// `N (1 + scrap) t / (efficiency hours)`.
///
/// # Valid for
/// Pieces, scrap and time from 0; efficiency over 0 and up to 1, hours over 0.
///
/// # Errors
/// [`FormulaError::OutOfRange`] outside of it.
///
/// # Source
/// Sharma, A Textbook of Production Engineering, example 26.1; read.
///
/// # Check
/// 100,000 of 105 s with 2 % scrap, 80 %, 2,300 h: 1.62.
pub fn machines_needed(
    yearly_pieces: f64,
    scrap: Ratio,
    unit: Time,
    efficiency: Ratio,
    hours: YearlyHours,
) -> Result<f64, FormulaError> {
    let f = Formula("machines needed");
    let pieces = f.not_negative("yearly pieces", yearly_pieces, "")?;
    let scrap = f.within("scrap", scrap.to_fraction(), 0.0, 1.0, "")?;
    let unit_h = f.not_negative("time a unit", unit.to_hours(), "h")?;
    let efficiency = f.within("efficiency", efficiency.to_fraction(), 0.01, 1.0, "")?;
    let hours = f.within("hours", hours.to_h_per_year(), super::ABOVE_ZERO, 8784.0, "h/year")?;
    f.finite(pieces * (1.0 + scrap) * unit_h / (efficiency * hours))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lots_and_prices() {
        let a = (Money::units(100.0), Money::units(2.0));
        let b = (Money::units(400.0), Money::units(1.4));
        assert!((break_even_lot(a, b).unwrap().unwrap() - 500.0).abs() < 1e-9);
        assert_eq!(break_even_lot(a, a), Ok(None));
        assert_eq!(break_even_lot(a, (Money::units(50.0), Money::units(1.0))), Ok(None));
        let price = price_with_margin(Money::units(78.0), Ratio::percent(22.0)).unwrap();
        assert!((price.to_units() - 100.0).abs() < 1e-9);
        assert!(price_with_margin(Money::units(78.0), Ratio::percent(99.0)).is_err());
    }
}
