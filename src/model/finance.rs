//! What money costs a shop, and how it judges what it would buy.

use crate::quantity::Ratio;

/// What money costs. What is not stated is taken from common practice, and the answer says so.
#[derive(Clone, Debug, PartialEq)]
pub struct Finance {
    /// A year, nominal: volumes and prices of the mix are held as they are.
    pub discount: Ratio,
    pub life_years: f64,
    /// The share of the price, without what is paid to install it, that a machine brings at the end of its life.
    pub resale: Ratio,
    /// On what is left over after depreciation.
    pub tax: Ratio,
    /// What stock costs a year, as a share of its value.
    pub stock: Option<Ratio>,
    /// The share of the planned output that a new machine reaches in its first and in its second quarter.
    pub ramp: Option<[Ratio; 2]>,
    /// Maintenance, insurance and floor a year, as a share of the installed price.
    pub upkeep: Option<Ratio>,
    /// Years over which it is written off in equal parts.
    pub written_off: Option<f64>,
    pub loan: Option<Loan>,
    pub lease: Option<Lease>,
}

/// A loan that is paid back by equal yearly payments.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loan {
    /// Of the installed price.
    pub share: Ratio,
    pub interest: Ratio,
    /// Whole years, from 1.
    pub years: u32,
}

/// A lease: the machine is paid for while it is used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lease {
    /// A year, of the installed price.
    pub yearly: Ratio,
    /// Whole years, from 1.
    pub years: u32,
    /// Of the installed price, for which it is bought at the end.
    pub last: Ratio,
}

/// Hours beyond the usual ones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overtime {
    /// As a share of the usual hours, of machines and setters alike.
    pub hours: Ratio,
    /// What is paid on top of a wage for them.
    pub extra: Ratio,
}

/// How far the outlook may lie off, as standard deviations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Risk {
    pub volumes: Ratio,
    pub prices: Ratio,
    /// The share of both that is common to all customers (a correlation, 0 to 1).
    pub market: Ratio,
    /// The chance that one customer is lost with all jobs.
    pub customer_lost: Ratio,
}

impl Risk {
    /// Everything comes as planned.
    pub const NONE: Risk =
        Risk { volumes: Ratio::ZERO, prices: Ratio::ZERO, market: Ratio::ZERO, customer_lost: Ratio::ZERO };
}
