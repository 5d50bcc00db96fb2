//! What a price takes for granted, and whom it is told.

use super::Reader;
use crate::costing::{Amount, Share, bar_price};
use crate::matching::quoting::Route;
use crate::matching::remarks;
use crate::model::Machine;
use crate::model::part::Part;
use crate::model::shop::Shop;
use crate::planning::holding::Missing;
use crate::quantity::print::{number, thousands};
use schemars::JsonSchema;
use serde::Serialize;

/// One thing that a price takes for granted.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(transparent)]
pub struct Assumption {
    pub text: String,
    /// Whom it is told: what a customer may read, the shop reads as well.
    #[serde(skip)]
    pub reader: Reader,
}

/// What the price takes for granted, in the order in which a buyer would ask.
pub(super) fn of(part: &Part, machine: &Machine, shop: &Shop, best: &Route) -> Vec<Assumption> {
    let (plan, lot) = (&best.row.judged.plan, &best.lot);
    let mut out = Vec::new();
    let mut add = |reader: Reader, text: String| out.push(Assumption { text, reader });
    let bar = format!("bar of IT grade {}", plan.blank.grade);
    if part.supplied {
        add(Reader::Customer, format!("{}, supplied by the customer at no charge", part.material.name));
        add(Reader::Shop, bar);
    } else {
        let price = number(bar_price(part, plan).to_per_kg(), 2);
        add(Reader::Customer, format!("{}, bought by the shop", part.material.name));
        add(Reader::Shop, format!("{bar}, at {price} {}/kg (a table's figure)", shop.currency.code()));
    }
    add(Reader::Customer, format!("sizes without a tolerance after {}", part.general));
    match lot.beside.measured {
        Some((pieces, dimensions)) => add(
            Reader::Customer,
            format!(
                "{} of {} pieces measured in {dimensions} dimensions; every first article in full",
                thousands(pieces as f64),
                thousands(lot.quantity as f64)
            ),
        ),
        None => {
            add(Reader::Shop, "measuring at the machine by the operator; the shop file states no sample".to_owned());
        }
    }
    for charge in lot.beside.without_price() {
        add(Reader::Customer, format!("not in this price, since none is stated: {}", charge.what));
    }
    if lot.share(Share::SpecialCollet) > Amount::ZERO {
        add(Reader::Shop, "with a special collet, which stays with the shop".to_owned());
    }
    if lot.share(Share::Collets) > Amount::ZERO {
        let bought: Vec<String> = plan.missing.iter().map(Missing::words).collect();
        add(Reader::Shop, format!("with a {}, which stay with the shop", bought.join(", a ")));
    }
    if let Some(frozen) = part.validated.as_ref().filter(|_| plan.moving.is_some()) {
        add(Reader::Shop, format!("with moving the process that was validated on {}", frozen.words()));
    }
    for demand in remarks::unjudged(part) {
        add(Reader::Shop, format!("{}: to be measured, no rule judges it", demand.words));
    }
    for bought in &best.row.purchases {
        let price = bought
            .price
            .map_or_else(String::new, |p| format!(" for {} {}", number(p.to_units(), 0), shop.currency.code()));
        add(Reader::Shop, format!("the shop first buys {} x {}{price}: not in this price", bought.count, bought.name));
    }
    for correction in crate::report::corrections::of(part, machine, shop, plan) {
        add(Reader::Shop, correction);
    }
    if best.row.rate_assumed {
        add(Reader::Shop, "the machine has no hour rate in the shop file: the mean of the others was taken".to_owned());
    }
    if shop.quotes.valid_days.is_none() {
        add(Reader::Shop, "the shop file does not say how long a quote holds".to_owned());
    }
    match &best.lead {
        None => {
            let words = "no delivery: the shop file does not say how many hours a year the machine runs";
            add(Reader::Shop, words.to_owned());
        }
        Some(lead) if lead.taken_as_free => {
            add(Reader::Shop, "delivery counts from a free machine: the shop file states no load".to_owned());
        }
        Some(_) => {}
    }
    out
}
