//! The terms that a purchase is judged by: the shop's own, and common practice where it states none.

use crate::model::finance::{Finance, Lease, Loan, Overtime, Risk};
use crate::model::shop::Shop;
use crate::quantity::Ratio;
use crate::quantity::print::number;

/// What stock costs a year: capital, room, what is scrapped or grows old. Common practice (18 to 25 %), no source.
const STOCK: f64 = 20.0;
/// First and second quarter of a new machine. Common practice (30 to 50 %, then 80 %), no source.
const RAMP: [f64; 2] = [40.0, 80.0];
/// Maintenance, insurance and floor a year, of the installed price. Common practice, no source.
const UPKEEP: f64 = 2.0;
/// Hours beyond the usual ones and what is paid on top. Common practice, no source.
const OVERTIME: [f64; 2] = [10.0, 50.0];
/// Spread of volumes and of prices, what is common to all customers, the chance of losing one. Common practice, no source.
const RISK: [f64; 4] = [15.0, 4.0, 50.0, 20.0];

/// Everything that turns a yearly gain into a judgement.
#[derive(Clone, Debug, PartialEq)]
pub struct Terms {
    pub discount: Ratio,
    /// Whole years, from 1.
    pub years: usize,
    pub resale: Ratio,
    pub tax: Ratio,
    pub stock: Ratio,
    pub ramp: [Ratio; 2],
    pub upkeep: Ratio,
    /// Years over which the price is written off in equal parts.
    pub written_off: f64,
    pub loan: Option<Loan>,
    pub lease: Option<Lease>,
    pub overtime: Overtime,
    pub risk: Risk,
    /// What the shop file does not state, each with what is taken for it.
    pub assumed: Vec<String>,
}

/// The shop file does not say what money costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "the shop file does not say what money costs: add `finance: {{ discount: 9 %, life: 8 years, resale: 15 %, tax: 25 % }}` \
     to it"
)]
pub struct NoFinance;

impl Terms {
    /// The terms of a shop.
    ///
    /// # Errors
    /// [`NoFinance`] where the shop states none of them.
    pub fn of(shop: &Shop) -> Result<Terms, NoFinance> {
        let f: &Finance = shop.finance.as_ref().ok_or(NoFinance)?;
        let mut assumed = Vec::new();
        let mut assume = |words: String| assumed.push(format!("{words} (common practice, no source)"));
        let percent = |r: f64| format!("{} %", number(r, 1));
        let stock = f.stock.unwrap_or_else(|| {
            assume(format!("stock costs {} of its value a year", percent(STOCK)));
            Ratio::percent(STOCK)
        });
        let ramp = f.ramp.unwrap_or_else(|| {
            let [first, second] = RAMP.map(percent);
            assume(format!("a new machine reaches {first} of its output in the first quarter, {second} in the second"));
            RAMP.map(Ratio::percent)
        });
        let upkeep = f.upkeep.unwrap_or_else(|| {
            assume(format!("maintenance, insurance and floor cost {} of the price a year", percent(UPKEEP)));
            Ratio::percent(UPKEEP)
        });
        let overtime = shop.overtime.unwrap_or_else(|| {
            let [hours, extra] = OVERTIME.map(percent);
            assume(format!("overtime gives {hours} more hours, with {extra} on top of the wages"));
            let [hours, extra] = OVERTIME.map(Ratio::percent);
            Overtime { hours, extra }
        });
        let risk = shop.risk.unwrap_or_else(|| {
            let [volumes, prices, market, lost] = RISK.map(percent);
            assume(format!(
                "volumes spread by {volumes}, prices by {prices}, {market} of both common to all customers; with a chance of \
                 {lost} one customer is lost"
            ));
            let [volumes, prices, market, customer_lost] = RISK.map(Ratio::percent);
            Risk { volumes, prices, market, customer_lost }
        });
        let years = f.life_years.round().clamp(1.0, 60.0) as usize;
        let written_off = f.written_off.unwrap_or(years as f64);
        let Finance { discount, resale, tax, loan, lease, .. } = *f;
        Ok(Terms {
            discount,
            years,
            resale,
            tax,
            stock,
            ramp,
            upkeep,
            written_off,
            loan,
            lease,
            overtime,
            risk,
            assumed,
        })
    }

    /// The share of a full year's gain that a new machine brings in its first year.
    pub fn first_year(&self) -> f64 {
        let [first, second] = self.ramp.map(Ratio::to_fraction);
        0.25 * first + 0.25 * second + 0.5
    }
}
