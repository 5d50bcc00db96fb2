//! A quote as data, and its printers.

mod assumptions;
mod csv;
mod identity;
mod sold;
mod text;
mod ubl;
pub(in crate::report) mod words;

pub use assumptions::Assumption;
pub use csv::{COLUMNS, SOLD_COLUMNS, csv, head};
pub use identity::identity;
pub use sold::SoldQuote;
pub use text::text;
pub use ubl::{UblError, ubl};

use super::answer::{CautionAnswer, CycleAnswer, FitAnswer, PurchaseAnswer, Reason, SetupLine, StockAnswer};
use crate::costing::Amount;
use crate::matching::quoting::{Break, Offer, Refusal, Route, Turn};
use crate::matching::{Standing, Verdict};
use crate::model::machine::Machine;
use crate::model::part::Part;
use crate::model::shop::{Party, Shop};
use crate::quantity::Money;
use crate::quantity::measure::Currency;
use crate::tables::cautions;
use schemars::JsonSchema;
use serde::Serialize;

/// Whom a quote is printed for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reader {
    /// Everything: shares of the price, routes, setup.
    Shop,
    /// What is sold, at which price, when, and under which assumptions.
    Customer,
}

/// What is said on a quote and reckoned by nobody.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Heading {
    /// The day of issue and the last day that it holds, as `2026-11-25`; nothing where no day is given.
    pub issued: Option<String>,
    pub holds_to: Option<String>,
    pub customer: Option<String>,
    pub reference: Option<String>,
}

/// An amount of money as it is printed and as a number.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(transparent)]
pub struct Cents(f64);

impl Cents {
    /// The number nearest to the exact amount, in the currency's own unit.
    pub fn to_units(self) -> f64 {
        self.0
    }
}

/// One share of a price.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ShareAnswer {
    pub share: &'static str,
    /// Of the whole order.
    pub order: Cents,
}

/// What must be bought, done or waited for until delivery.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LeadAnswer {
    pub weeks: f64,
    pub steps: Vec<LeadStep>,
    /// Steps after the machine whose time no shop file states: they come on top.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub on_top: Vec<String>,
}

/// One step to delivery.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LeadStep {
    pub what: String,
    pub weeks: f64,
    /// It runs beside the other waits; only the longest of them counts.
    pub waits: bool,
}

/// An order quantity on one route.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RouteAnswer {
    pub machine: String,
    pub machine_title: String,
    pub mode: &'static str,
    pub first_end: &'static str,
    pub standing: Standing,
    pub verdict: Verdict,
    pub purchases: Vec<PurchaseAnswer>,
    pub quantity: u64,
    /// Pieces that `price` is for.
    pub per: u64,
    pub price: Cents,
    /// Of the whole order: quantity x price / per, rounded once.
    pub total: Cents,
    /// Of the order's price, from the ranges that cycle and setup are known in.
    pub total_low: f64,
    pub total_high: f64,
    /// They sum to `total`.
    pub shares: Vec<ShareAnswer>,
    pub setup_min: f64,
    pub setup: Vec<SetupLine>,
    pub cycle: CycleAnswer,
    pub order_hours: f64,
    pub stock: StockAnswer,
    /// Good pieces, scrap and setup pieces.
    pub pieces_made: u64,
    pub bars: u64,
    pub bar_kg: f64,
    /// Nothing where the shop file does not say how many hours a year the machine runs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lead: Option<LeadAnswer>,
    /// What warns, or is not stated.
    pub reasons: Vec<Reason>,
}

/// An order quantity with its routes, best first.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BreakAnswer {
    pub quantity: u64,
    pub routes: Vec<RouteAnswer>,
}

/// From how many pieces on another route is the best.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TurnAnswer {
    pub quantity: u64,
    pub from: String,
    pub to: String,
}

/// One refused row and its first reason.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RefusedRow {
    pub machine: String,
    pub mode: &'static str,
    pub reasons: Vec<Reason>,
}

/// Why nothing is offered.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RefusalAnswer {
    pub rows: Vec<RefusedRow>,
    /// A route fits, but its order cannot be priced.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unpriced: Option<String>,
    /// Machine, mode and changes of what comes nearest, planned again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nearest: Option<Nearest>,
}

/// What comes nearest to fitting.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Nearest {
    pub machine: String,
    pub mode: &'static str,
    pub fit: FitAnswer,
}

/// One part of a quote.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OfferAnswer {
    pub part: String,
    pub title: String,
    pub material: String,
    pub repeat: bool,
    /// The quantity asked for.
    pub quantity: u64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub due: Option<String>,
    /// Members of its family that are made just before it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub after: Vec<String>,
    pub breaks: Vec<BreakAnswer>,
    pub turns: Vec<TurnAnswer>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refusal: Option<RefusalAnswer>,
    pub assumptions: Vec<Assumption>,
    pub cautions: Vec<CautionAnswer>,
}

impl OfferAnswer {
    /// The break at the quantity asked for.
    pub fn asked(&self) -> Option<&BreakAnswer> {
        self.breaks.iter().find(|b| b.quantity == self.quantity)
    }

    /// What a reader is told that the price takes for granted.
    pub fn assumptions_for(&self, reader: Reader) -> impl Iterator<Item = &str> {
        let told = self.assumptions.iter().filter(move |a| reader == Reader::Shop || a.reader == Reader::Customer);
        told.map(|a| a.text.as_str())
    }

    /// The cautions that concern a reader.
    pub fn cautions_for(&self, reader: Reader) -> impl Iterator<Item = &CautionAnswer> {
        let of_parts =
            |c: &&CautionAnswer| OF_PARTS.iter().filter_map(|k| cautions::get(k)).any(|t| t.topic == c.topic);
        self.cautions.iter().filter(move |c| reader == Reader::Shop || of_parts(c))
    }

    /// The best route at the quantity asked for.
    pub fn best(&self) -> Option<&RouteAnswer> {
        self.asked()?.routes.first()
    }
}

/// Cautions about the part itself, which a customer must know of; the others are about the shop's work.
const OF_PARTS: &[&str] = &["lead", "medical-validation"];

/// A party as printed.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct PartyAnswer {
    pub name: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub street: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub city: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub postcode: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub country: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tax_number: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub email: Option<String>,
}

impl From<&Party> for PartyAnswer {
    fn from(p: &Party) -> PartyAnswer {
        let Party { name, street, city, postcode, country, tax_number, email } = p.clone();
        PartyAnswer { name, street, city, postcode, country, tax_number, email }
    }
}

/// A whole quote.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct QuoteAnswer {
    pub schema: u32,
    /// Twelve hexadecimal digits of a hash over specs, shop file, tables, program version and what was asked: the same
    /// identity is the same quote.
    pub identity: String,
    pub version: &'static str,
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
    /// Decimals of the currency's smallest unit.
    pub decimals: u32,
    pub offers: Vec<OfferAnswer>,
}

impl QuoteAnswer {
    /// Whether every part has an offer.
    pub fn is_whole(&self) -> bool {
        self.offers.iter().all(|o| o.refusal.is_none())
    }

    /// All offers at the quantities asked for.
    pub fn total(&self) -> Cents {
        Cents(self.offers.iter().filter_map(|o| Some(o.best()?.total.0)).sum())
    }

    /// An amount with its decimals and thousands apart.
    pub fn money(&self, amount: Cents) -> String {
        let ten = (0..self.decimals).fold(1.0, |p, _| p * 10.0);
        Amount::minor((amount.0 * ten).round() as i64).text(self.code())
    }

    /// The cautions of all parts that concern a reader, each once.
    pub fn cautions_for(&self, reader: Reader) -> Vec<&CautionAnswer> {
        let mut told: Vec<&CautionAnswer> = Vec::new();
        for c in self.offers.iter().flat_map(|o| o.cautions_for(reader)) {
            if told.iter().all(|t| t.topic != c.topic) {
                told.push(c);
            }
        }
        told
    }

    fn code(&self) -> Currency {
        let bytes = self.currency.as_bytes();
        Currency(bytes.try_into().unwrap_or(*b"XXX"))
    }
}

/// Puts offers together to a quote.
pub fn answer(shop: &Shop, identity: String, heading: Heading, offers: Vec<OfferAnswer>) -> QuoteAnswer {
    let seller = shop
        .quotes
        .seller
        .as_ref()
        .map_or_else(|| PartyAnswer { name: shop.name.clone(), ..PartyAnswer::default() }, PartyAnswer::from);
    QuoteAnswer {
        schema: super::SCHEMA,
        identity,
        version: env!("CARGO_PKG_VERSION"),
        seller,
        customer: heading.customer,
        reference: heading.reference,
        issued: heading.issued,
        valid_days: shop.quotes.valid_days,
        holds_to: heading.holds_to,
        currency: shop.currency.code().to_owned(),
        decimals: shop.currency.decimals(),
        offers,
    }
}

/// What is offered for one part.
pub fn offer(part: &Part, machines: &[Machine], shop: &Shop, offer: &Offer) -> OfferAnswer {
    let named = |(machine, mode): (usize, crate::model::machine::ModeKind)| {
        format!("{}, {}", machines[machine].name, mode.word())
    };
    let turn = |t: &Turn| TurnAnswer { quantity: t.quantity, from: named(t.from), to: named(t.to) };
    let mut told = OfferAnswer {
        part: part.name.clone(),
        title: part.title.clone(),
        material: part.material.name.clone(),
        repeat: part.repeat,
        quantity: offer.asked,
        due: part.due.clone(),
        after: Vec::new(),
        breaks: Vec::new(),
        turns: Vec::new(),
        refusal: None,
        assumptions: Vec::new(),
        cautions: Vec::new(),
    };
    match &offer.outcome {
        Ok(priced) => {
            let one = |b: &Break| BreakAnswer {
                quantity: b.quantity,
                routes: b.routes.iter().map(|r| route(part, machines, shop, r)).collect(),
            };
            told.after.clone_from(&priced.after);
            told.breaks = priced.breaks.iter().map(one).collect();
            told.turns = priced.turns.iter().map(turn).collect();
            if let Some(best) = priced.at(offer.asked).and_then(|b| b.routes.first()) {
                told.assumptions = assumptions::of(part, &machines[best.row.machine], shop, best);
                let keys = crate::matching::cautions::keys(part, machines, std::slice::from_ref(&best.row));
                told.cautions = keys.into_iter().filter_map(cautions::get).map(CautionAnswer::from).collect();
            }
        }
        Err(refusal) => told.refusal = Some(refused(part, machines, refusal)),
    }
    told
}

fn route(part: &Part, machines: &[Machine], shop: &Shop, r: &Route) -> RouteAnswer {
    let (row, lot) = (&r.row, &r.lot);
    let (machine, plan) = (&machines[row.machine], &row.judged.plan);
    let cents = |a: Amount| Cents(a.to_units(shop.currency));
    let (cheaper, dearer) = row.band.cost.together();
    // What the cost may be off, the price may be off with it.
    let sold = |piece: Money| (shop.markup.price_of(piece) * lot.quantity as f64).to_units();
    let total = lot.total.to_units(shop.currency);
    RouteAnswer {
        machine: machine.name.clone(),
        machine_title: machine.title.clone(),
        mode: row.mode.word(),
        first_end: plan.first.word(),
        standing: row.standing,
        verdict: row.judged.verdict,
        purchases: row.purchases.iter().map(PurchaseAnswer::from).collect(),
        quantity: lot.quantity,
        per: lot.per,
        price: cents(lot.price),
        total: cents(lot.total),
        total_low: total - sold(cheaper),
        total_high: total + sold(dearer),
        shares: lot.shares.iter().map(|(s, a)| ShareAnswer { share: s.word(), order: cents(*a) }).collect(),
        setup_min: plan.setup.total.to_minutes(),
        setup: plan.setup.lines.iter().map(SetupLine::from).collect(),
        cycle: super::answer::cycle(plan, &row.band.cycle),
        order_hours: lot.order_time.to_hours(),
        stock: StockAnswer::new(&plan.blank),
        pieces_made: lot.bars.pieces,
        bars: lot.bars.bars,
        bar_kg: lot.bars.mass.to_kg(),
        lead: r.lead.as_ref().map(|l| LeadAnswer {
            weeks: l.total.to_weeks(),
            steps: l
                .steps
                .iter()
                .map(|s| LeadStep { what: s.what.clone(), weeks: s.takes.to_weeks(), waits: s.waits })
                .collect(),
            on_top: l.unknown.clone(),
        }),
        reasons: row
            .judged
            .findings
            .iter()
            .filter(|f| f.verdict != Verdict::Fits)
            .map(|f| Reason::new(part, f))
            .collect(),
    }
}

fn refused(part: &Part, machines: &[Machine], r: &Refusal) -> RefusalAnswer {
    let of = |row: &crate::matching::Row| RefusedRow {
        machine: machines[row.machine].name.clone(),
        mode: row.mode.word(),
        reasons: row
            .judged
            .findings
            .iter()
            .filter(|f| f.verdict == Verdict::Refused)
            .map(|f| Reason::new(part, f))
            .collect(),
    };
    let nearest = r.nearest.as_ref().map(|(i, fit)| {
        let row = &r.ranking.rows[*i];
        Nearest { machine: machines[row.machine].name.clone(), mode: row.mode.word(), fit: FitAnswer::from(fit) }
    });
    RefusalAnswer {
        rows: r.ranking.rows.iter().filter(|r| r.standing == Standing::Refused).map(of).collect(),
        unpriced: r.unpriced.map(|e| e.to_string()),
        nearest,
    }
}
