//! What a purchase pays and brings year by year, after tax, and what that is worth.

use super::terms::Terms;
use crate::formulas::FormulaError;
use crate::formulas::finance::book_value;
use crate::formulas::investment::{annuity, capital_recovery_factor, internal_rates_of_return};
use crate::formulas::investment::{net_present_value, payback_years};
use crate::model::finance::{Lease, Loan};
use crate::quantity::{Money, Ratio};

/// A purchase as the owner's money sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Case {
    /// Installed.
    pub price: Money,
    /// Of it the part that can be sold again: without what is paid to install it.
    pub list: Money,
    /// More left over in a full year.
    pub gain: Money,
    /// What a machine that goes brings now; it stands in the books with nothing.
    pub replaced: Money,
    /// The share of a full year's gain in the first year, 0 to 1; a loss comes in full.
    pub first_year: f64,
}

/// How it is paid for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Paid {
    Outright,
    Loan(Loan),
    Lease(Lease),
}

impl Paid {
    /// The owner's word.
    pub fn word(self) -> &'static str {
        match self {
            Paid::Outright => "outright",
            Paid::Loan(_) => "by loan",
            Paid::Lease(_) => "by lease",
        }
    }
}

/// One year; money that comes in is positive.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Year {
    pub gain: Money,
    pub upkeep: Money,
    /// Price, resale, the machine that goes.
    pub price: Money,
    /// Loan or lease: received, paid back, interest, rates.
    pub paid: Money,
    /// Of the price what is written off this year; no money moves, but less is taxed.
    pub written_off: Money,
    pub tax: Money,
}

impl Year {
    /// Money that moves.
    pub fn sum(&self) -> Money {
        self.gain + self.upkeep + self.price + self.paid + self.tax
    }
}

/// What a purchase is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// This year, then one a year.
    pub years: Vec<Year>,
    pub npv: Money,
    /// None, one, or several where the sums change sign more than once.
    pub irr: Vec<Ratio>,
    /// Years until the sums, undiscounted, have paid back; none where they never do.
    pub payback: Option<f64>,
    /// The net present value as an equal sum a year.
    pub yearly: Money,
}

/// What a purchase pays and brings.
///
/// # Errors
/// [`FormulaError`] where a figure of the terms is outside of its range.
pub fn years(case: &Case, terms: &Terms, paid: Paid) -> Result<Vec<Year>, FormulaError> {
    let life = terms.years;
    let mut years = vec![Year::default(); life + 1];
    let tax = |taxed: Money| taxed * -terms.tax.to_fraction();
    let owned_from_start = !matches!(paid, Paid::Lease(_));
    // What goes stands in the books with nothing: all that it brings is taxed.
    years[0].price = case.replaced - if owned_from_start { case.price } else { Money::ZERO };
    years[0].tax = tax(case.replaced);
    if let Paid::Loan(loan) = paid {
        years[0].paid = case.price * loan.share.to_fraction();
    }
    let mut owed = years[0].paid;
    let book = |age: usize| match owned_from_start {
        true => book_value(case.price, Money::ZERO, terms.written_off, (age as f64).min(terms.written_off)),
        false => Ok(Money::ZERO),
    };
    for k in 1..=life {
        let full = k > 1 || case.gain < Money::ZERO;
        let gain = case.gain * if full { 1.0 } else { case.first_year };
        let upkeep = case.price * -terms.upkeep.to_fraction();
        let written_off = book(k - 1)? - book(k)?;
        let (mut moved, mut deducted) = (Money::ZERO, Money::ZERO);
        match paid {
            Paid::Outright => {}
            Paid::Loan(loan) if k <= loan.years as usize => {
                let rate = annuity(years[0].paid, loan.interest, f64::from(loan.years))?;
                let interest = owed * loan.interest.to_fraction();
                owed -= rate - interest;
                (moved, deducted) = (-rate, interest);
                // A loan that outlasts the machine is paid back with its resale.
                if k == life {
                    moved -= owed;
                }
            }
            Paid::Loan(_) => {}
            Paid::Lease(lease) => {
                if k <= lease.years as usize {
                    let rate = case.price * lease.yearly.to_fraction();
                    (moved, deducted) = (-rate, rate);
                }
                if k == lease.years as usize {
                    let last = case.price * lease.last.to_fraction();
                    (moved, deducted) = (moved - last, deducted + last);
                }
            }
        }
        // A leased machine is the shop's to sell only once its last rate is paid.
        let sold = match paid {
            Paid::Lease(lease) if (lease.years as usize) > life => false,
            _ => k == life,
        };
        let resale = if sold { case.list * terms.resale.to_fraction() } else { Money::ZERO };
        let left = if k == life { book(k)? } else { Money::ZERO };
        let taxed = gain + upkeep + resale - written_off - left - deducted;
        years[k] = Year { gain, upkeep, price: resale, paid: moved, written_off: written_off + left, tax: tax(taxed) };
    }
    Ok(years)
}

/// What a purchase is worth, paid in one way.
///
/// # Errors
/// As [`years`].
pub fn worth(case: &Case, terms: &Terms, paid: Paid) -> Result<Worth, FormulaError> {
    let years = years(case, terms, paid)?;
    let sums: Vec<Money> = years.iter().map(Year::sum).collect();
    let npv = net_present_value(terms.discount, &sums)?;
    Ok(Worth {
        npv,
        irr: internal_rates_of_return(&sums)?,
        payback: payback_years(Ratio::ZERO, &sums)?,
        yearly: npv * capital_recovery_factor(terms.discount, terms.years as f64)?,
        years,
    })
}

/// Net present value, paid outright.
///
/// # Errors
/// As [`years`].
pub fn npv(case: &Case, terms: &Terms) -> Result<Money, FormulaError> {
    let sums: Vec<Money> = years(case, terms, Paid::Outright)?.iter().map(Year::sum).collect();
    net_present_value(terms.discount, &sums)
}

/// The installed price at which a purchase is worth nothing, all else the same: above it, it does not pay. None where it does
/// not pay even as a gift.
///
/// Every sum is a straight line in the price, so that two prices give it.
///
/// # Errors
/// As [`years`].
pub fn break_even(case: &Case, terms: &Terms) -> Result<Option<Money>, FormulaError> {
    let resold = if case.price > Money::ZERO { case.list.to_units() / case.price.to_units() } else { 1.0 };
    let at = |price: f64| {
        let (price, list) = (Money::units(price), Money::units(price * resold));
        npv(&Case { price, list, ..*case }, terms).map(Money::to_units)
    };
    let (free, unit) = (at(0.0)?, case.price.to_units().max(1.0));
    let slope = (at(unit)? - free) / unit;
    Ok((slope < 0.0 && free > 0.0).then(|| Money::units(-free / slope)))
}
