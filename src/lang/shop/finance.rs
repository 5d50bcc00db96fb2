//! What money costs, overtime, how sure the outlook is: the keys of a shop file that a purchase is judged by.

use super::group::Group;
use super::tree::Node;
use super::{Reader, values};
use crate::lang::Diagnostic;
use crate::model::finance::{Finance, Lease, Loan, Overtime, Risk};
use crate::quantity::{Money, Ratio, Time};

impl Reader {
    pub(super) fn finance(&mut self, node: &Node) -> Option<Finance> {
        let mut group = Group::of(node, "finance", &mut self.out)?;
        let discount = group.required("discount", "discount: 9 %").and_then(|n| self.percent(n, "9 %", 0.0, 1.0));
        let life = group.required("life", "life: 8 years").and_then(|n| self.life(n));
        let resale = group.required("resale", "resale: 15 %").and_then(|n| self.percent(n, "15 %", 0.0, 1.0));
        let tax = group.required("tax", "tax: 25 %").and_then(|n| self.percent(n, "25 %", 0.0, 0.99));
        let stock = group.optional("stock").and_then(|n| self.percent(n, "20 %", 0.0, 1.0));
        let ramp = group.optional("ramp").and_then(|n| self.ramp(n));
        let upkeep = group.optional("upkeep").and_then(|n| self.percent(n, "2 %", 0.0, 1.0));
        let written_off = group.optional("written off").and_then(|n| self.life(n));
        let loan = group.optional("loan").and_then(|n| self.loan(n));
        let lease = group.optional("lease").and_then(|n| self.lease(n));
        group.finish(&mut self.out);
        let (discount, life_years, resale, tax) = (discount?, life?, resale?, tax?);
        Some(Finance { discount, life_years, resale, tax, stock, ramp, upkeep, written_off, loan, lease })
    }

    fn life(&mut self, node: &Node) -> Option<f64> {
        let words = self.words(node)?;
        let life: Time = self.keep(values::quantity(words, "8 years"))?;
        let years = life.to_hours() / (365.25 * 24.0);
        self.keep(values::within(words, years, 0.5, 60.0, "half a year to 60 years"))?;
        Some(years)
    }

    /// `[40 %, 80 %]`: of the first and of the second quarter.
    fn ramp(&mut self, node: &Node) -> Option<[Ratio; 2]> {
        let items = self.items(node, "ramp: [40 %, 80 %]");
        if items.len() != 2 {
            if !items.is_empty() {
                let message = format!("a ramp has two quarters, not {}", items.len());
                self.out.push(
                    Diagnostic::error("wrong-shape", node.shown(), message).help("write it like `ramp: [40 %, 80 %]`"),
                );
            }
            return None;
        }
        Some([self.percent(&items[0], "40 %", 0.0, 1.0)?, self.percent(&items[1], "80 %", 0.0, 1.0)?])
    }

    fn loan(&mut self, node: &Node) -> Option<Loan> {
        let mut group = Group::of(node, "loan", &mut self.out)?;
        let share = group.required("share", "share: 80 %").and_then(|n| self.percent(n, "80 %", 0.0, 1.0));
        let interest = group.required("interest", "interest: 6 %").and_then(|n| self.percent(n, "6 %", 0.0, 1.0));
        let years = group.required("years", "years: 5").and_then(|n| self.whole(n, "5", 1, 60));
        group.finish(&mut self.out);
        Some(Loan { share: share?, interest: interest?, years: years? })
    }

    fn lease(&mut self, node: &Node) -> Option<Lease> {
        let mut group = Group::of(node, "lease", &mut self.out)?;
        let yearly = group.required("yearly", "yearly: 23 %").and_then(|n| self.percent(n, "23 %", 0.0, 1.0));
        let years = group.required("years", "years: 5").and_then(|n| self.whole(n, "5", 1, 60));
        let last = group.required("last", "last: 5 %").and_then(|n| self.percent(n, "5 %", 0.0, 1.0));
        group.finish(&mut self.out);
        Some(Lease { yearly: yearly?, years: years?, last: last? })
    }

    pub(super) fn overtime(&mut self, node: &Node) -> Option<Overtime> {
        let mut group = Group::of(node, "overtime", &mut self.out)?;
        let hours = group.required("hours", "hours: 10 %").and_then(|n| self.percent(n, "10 %", 0.0, 1.0));
        let extra = group.required("extra", "extra: 50 %").and_then(|n| self.percent(n, "50 %", 0.0, 5.0));
        group.finish(&mut self.out);
        Some(Overtime { hours: hours?, extra: extra? })
    }

    pub(super) fn risk(&mut self, node: &Node) -> Option<Risk> {
        let mut group = Group::of(node, "risk", &mut self.out)?;
        let volumes = group.required("volumes", "volumes: 15 %").and_then(|n| self.percent(n, "15 %", 0.0, 1.0));
        let prices = group.required("prices", "prices: 4 %").and_then(|n| self.percent(n, "4 %", 0.0, 1.0));
        let market = group.required("market", "market: 50 %").and_then(|n| self.percent(n, "50 %", 0.0, 1.0));
        let lost = group.required("customer lost", "customer lost: 20 %");
        let lost = lost.and_then(|n| self.percent(n, "20 %", 0.0, 1.0));
        group.finish(&mut self.out);
        Some(Risk { volumes: volumes?, prices: prices?, market: market?, customer_lost: lost? })
    }

    /// What a machine would bring if it were sold now.
    pub(super) fn sells(&mut self, node: &Node) -> Option<Money> {
        let words = self.words(node)?;
        let money: Money = self.keep(values::money(words, self.currency, "30_000 EUR"))?;
        self.keep(values::within(words, money.to_units(), 0.0, 1e9, "an amount no less than nothing"))?;
        Some(money)
    }
}
