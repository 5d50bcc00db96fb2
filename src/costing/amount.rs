//! Amounts that are sent: whole cents, so that what is printed adds up to the digit.

use crate::quantity::Money;
use crate::quantity::measure::Currency;
use std::iter::Sum;
use std::ops::{Add, Sub};

/// Larger amounts are not exact any more as the number that a spreadsheet or JSON keeps.
const LARGEST: f64 = 9e15;

/// An amount in the smallest unit of its currency: cents of a euro.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Amount(i64);

impl Amount {
    pub const ZERO: Amount = Amount(0);

    /// From a number of smallest units.
    pub const fn minor(units: i64) -> Amount {
        Amount(units)
    }

    /// The number of smallest units.
    pub const fn to_minor(self) -> i64 {
        self.0
    }

    /// Rounded to the smallest unit, halves away from nought; nothing where it is no number or too large to be exact.
    pub fn of(money: Money, currency: Currency) -> Option<Amount> {
        let units = money.to_units() * units_of(currency) as f64;
        (units.abs() <= LARGEST).then(|| Amount(units.round() as i64))
    }

    /// The number nearest to it in the currency's own unit.
    pub fn to_units(self, currency: Currency) -> f64 {
        self.0 as f64 / units_of(currency) as f64
    }

    /// So many times a price that is for `per` pieces, halves away from nought; nothing where it is too large to be exact.
    pub fn of_pieces(self, pieces: u64, per: u64) -> Option<Amount> {
        let per = i128::from(per.max(1));
        let exact = i128::from(self.0) * i128::from(pieces);
        let half = if exact < 0 { -per } else { per };
        let rounded = (2 * exact + half) / (2 * per);
        i64::try_from(rounded).ok().filter(|r| (*r as f64).abs() <= LARGEST).map(Amount)
    }

    /// As a quote writes it: `1,234.50`.
    pub fn text(self, currency: Currency) -> String {
        let places = currency.decimals() as usize;
        let ten = units_of(currency).unsigned_abs();
        let (whole, rest) = (self.0.unsigned_abs() / ten, self.0.unsigned_abs() % ten);
        let sign = if self.0 < 0 { "-" } else { "" };
        let whole = crate::quantity::print::thousands(whole as f64);
        if places == 0 { format!("{sign}{whole}") } else { format!("{sign}{whole}.{rest:0places$}") }
    }

    /// As a file for programs writes it: `1234.50`.
    pub fn plain(self, currency: Currency) -> String {
        self.text(currency).replace(',', "")
    }
}

impl Add for Amount {
    type Output = Amount;
    fn add(self, o: Amount) -> Amount {
        Amount(self.0 + o.0)
    }
}

impl Sub for Amount {
    type Output = Amount;
    fn sub(self, o: Amount) -> Amount {
        Amount(self.0 - o.0)
    }
}

impl Sum for Amount {
    fn sum<I: Iterator<Item = Amount>>(it: I) -> Amount {
        it.fold(Amount::ZERO, Add::add)
    }
}

/// Smallest units in one unit of a currency.
fn units_of(currency: Currency) -> i64 {
    10i64.pow(currency.decimals())
}

#[cfg(test)]
mod tests {
    use super::*;

    const EUR: Currency = Currency(*b"EUR");

    #[test]
    fn halves_go_away_from_nought() {
        assert_eq!(Amount::of(Money::units(1.125), EUR), Some(Amount(113)));
        assert_eq!(Amount::of(Money::units(-1.125), EUR), Some(Amount(-113)));
        assert_eq!(Amount(125).of_pieces(1, 10), Some(Amount(13)));
        assert_eq!(Amount(-125).of_pieces(1, 10), Some(Amount(-13)));
        assert_eq!(Amount(1_999).of_pieces(250, 100), Some(Amount(4_998)));
    }

    #[test]
    fn each_currency_has_its_own_smallest_unit() {
        let one = |code: &[u8; 3]| Amount::of(Money::units(1234.5), Currency(*code)).map(|a| a.text(Currency(*code)));
        assert_eq!(one(b"CHF").as_deref(), Some("1,234.50"));
        assert_eq!(one(b"JPY").as_deref(), Some("1,235"));
        assert_eq!(one(b"KWD").as_deref(), Some("1,234.500"));
        assert_eq!(Amount(-5).text(EUR), "-0.05");
        assert_eq!(Amount(123_456).plain(EUR), "1234.56");
    }

    #[test]
    fn what_is_too_large_to_be_exact_is_none() {
        assert_eq!(Amount::of(Money::units(1e14), EUR), None);
        assert_eq!(Amount::of(Money::units(f64::NAN), EUR), None);
        assert_eq!(Amount(1_000_000_000).of_pieces(1_000_000_000, 1), None);
    }
}
