//! What an order costs beside the machine: measuring, certificates, steps done outside afterwards.

use crate::model::part::Part;
use crate::model::shop::{Shop, Treatment};
use crate::planning::PartView;
use crate::planning::setup::dimensions;
use crate::quantity::{Mass, Money, Time};

/// One thing that an order is charged beside the machine; without a price where the shop file states none.
#[derive(Clone, Debug, PartialEq)]
pub struct Charge {
    /// `passivate`, `certificate EN 10204 3.1`.
    pub what: String,
    pub price: Option<Money>,
    /// Time away, by the calendar.
    pub takes: Option<Time>,
}

/// Everything beside the machine, for a whole order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Beside {
    /// Pieces measured and the dimensions of each; nothing where the shop file does not say how much is measured.
    pub measured: Option<(u64, usize)>,
    pub inspection: Money,
    pub certificates: Vec<Charge>,
    /// In the order of the spec.
    pub treatments: Vec<Charge>,
}

impl Beside {
    /// For an order of so many pieces.
    pub fn of(part: &Part, shop: &Shop, quantity: u64) -> Beside {
        let dimensions = dimensions(part);
        let measured = shop.quotes.inspection.map(|i| {
            let share = i.sample.to_fraction() * quantity as f64;
            ((share - 1e-9).ceil().max(0.0) as u64, dimensions)
        });
        let inspection = match (shop.quotes.inspection, measured) {
            (Some(i), Some((pieces, dimensions))) => {
                i.per_dimension * (pieces as f64 * dimensions as f64) * shop.people.operator
            }
            _ => Money::ZERO,
        };
        let mass = PartView::new(part).mass();
        let treatments = part.after.iter().map(|step| {
            let stated = shop.quotes.treatments.get(&step.process);
            let price = stated.and_then(|t| order_price(t, quantity, mass));
            Charge { what: step.process.clone(), price, takes: stated.and_then(|t| t.takes) }
        });
        let certificates = part.certificate.iter().map(|words| Charge {
            what: format!("certificate {}", in_words(words)),
            price: certificate_price(shop, words),
            takes: None,
        });
        Beside { measured, inspection, certificates: certificates.collect(), treatments: treatments.collect() }
    }

    /// What is asked for without a price in the shop file.
    pub fn without_price(&self) -> impl Iterator<Item = &Charge> {
        self.certificates.iter().chain(&self.treatments).filter(|c| c.price.is_none())
    }
}

/// What a supplier charges for an order; nothing where he states no price at all.
fn order_price(t: &Treatment, quantity: u64, each: Mass) -> Option<Money> {
    let pieces = quantity as f64;
    let parts = [t.piece.map(|p| p * pieces), t.mass.map(|p| each * pieces * p), t.order];
    if parts.iter().all(Option::is_none) {
        return t.least;
    }
    let sum: Money = parts.into_iter().flatten().sum();
    Some(sum.max(t.least.unwrap_or(Money::ZERO)))
}

/// A spec writes a certificate as one word or in quotes: `EN-10204-3.1`, `"EN 10204 3.1, by heat and lot"`.
fn in_words(certificate: &str) -> String {
    certificate.replace('-', " ")
}

fn certificate_price(shop: &Shop, certificate: &str) -> Option<Money> {
    let asked = in_words(certificate).to_lowercase();
    let begins = |stated: &str| asked.starts_with(&in_words(stated).to_lowercase());
    shop.quotes.certificates.iter().filter(|c| begins(&c.0)).max_by_key(|c| c.0.len()).map(|c| c.1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::MassPrice;

    #[test]
    fn the_least_of_a_supplier_holds_small_orders() {
        let t = Treatment {
            piece: Some(Money::units(0.1)),
            mass: Some(MassPrice::per_kg(5.0)),
            order: Some(Money::units(3.0)),
            least: Some(Money::units(60.0)),
            takes: None,
        };
        let price = |q| order_price(&t, q, Mass::kg(0.02)).map(Money::to_units);
        assert_eq!(price(100), Some(60.0));
        // 1,000 x 0.10 + 20 kg x 5 + 3
        assert!((price(1000).unwrap() - 203.0).abs() < 1e-9);
        assert_eq!(order_price(&Treatment::default(), 10, Mass::kg(1.0)), None);
    }
}
