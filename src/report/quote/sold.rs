//! A quote as data for the customer: what is sold, at which price and when, and nothing of how it is made or what it costs the
//! shop.

use super::{Cents, OfferAnswer, PartyAnswer, QuoteAnswer, Reader, RouteAnswer, words};
use crate::report::answer::CautionAnswer;
use schemars::JsonSchema;
use serde::Serialize;

/// A quote as it may be sent.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SoldQuote {
    pub schema: u32,
    /// As of the shop's own copy: the same identity is the same quote.
    pub identity: String,
    pub seller: PartyAnswer,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub customer: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub issued: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub valid_days: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub holds_to: Option<String>,
    pub currency: String,
    pub decimals: u32,
    /// All parts at the quantities asked for.
    pub total: Cents,
    pub parts: Vec<SoldPart>,
    pub cautions: Vec<CautionAnswer>,
}

/// A part as it is sold.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SoldPart {
    pub part: String,
    pub title: String,
    pub material: String,
    /// The quantity asked for.
    pub quantity: u64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub due: Option<String>,
    pub prices: Vec<SoldPrice>,
    /// Why there is no price.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not_offered: Option<String>,
    pub assumptions: Vec<String>,
}

/// An order quantity at its price.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SoldPrice {
    pub quantity: u64,
    /// Pieces that `price` is for.
    pub per: u64,
    pub price: Cents,
    /// Of the whole order.
    pub total: Cents,
    /// Until delivery; nothing where the shop file gives no hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weeks: Option<f64>,
}

impl From<&RouteAnswer> for SoldPrice {
    fn from(r: &RouteAnswer) -> SoldPrice {
        let weeks = r.lead.as_ref().map(|l| words::half_weeks(l.weeks));
        SoldPrice { quantity: r.quantity, per: r.per, price: r.price, total: r.total, weeks }
    }
}

impl From<&OfferAnswer> for SoldPart {
    fn from(o: &OfferAnswer) -> SoldPart {
        SoldPart {
            part: o.part.clone(),
            title: o.title.clone(),
            material: o.material.clone(),
            quantity: o.quantity,
            due: o.due.clone(),
            prices: o.breaks.iter().filter_map(|b| b.routes.first()).map(SoldPrice::from).collect(),
            not_offered: o.refusal.as_ref().map(words::not_offered),
            assumptions: o.assumptions_for(Reader::Customer).map(str::to_owned).collect(),
        }
    }
}

impl From<&QuoteAnswer> for SoldQuote {
    fn from(q: &QuoteAnswer) -> SoldQuote {
        SoldQuote {
            schema: q.schema,
            identity: q.identity.clone(),
            seller: q.seller.clone(),
            customer: q.customer.clone(),
            reference: q.reference.clone(),
            issued: q.issued.clone(),
            valid_days: q.valid_days,
            holds_to: q.holds_to.clone(),
            currency: q.currency.clone(),
            decimals: q.decimals,
            total: q.total(),
            parts: q.offers.iter().map(SoldPart::from).collect(),
            cautions: q.cautions_for(Reader::Customer).into_iter().cloned().collect(),
        }
    }
}
