//! What a customer reads of a quote: a head as of a letter, then each part with drawing, prices, delivery and what they take
//! for granted. Everything goes through [`Sold`], which holds nothing of the shop's own.

use super::{Article, Section, drawn, prose};
use crate::model::part::Part;
use crate::quantity::print::thousands;
use crate::report::answer::CautionAnswer;
use crate::report::drawing::Source;
use crate::report::quote::words;
use crate::report::quote::{OfferAnswer, PartyAnswer, QuoteAnswer, Reader};
use crate::report::text::sentence;
use maud::{Markup, html};

/// An order quantity at its price.
struct Price {
    quantity: u64,
    asked: bool,
    /// `2.32`, or `12.40 for 100`.
    each: String,
    order: String,
    weeks: Option<String>,
}

/// What is sold, without how it is made.
struct Sold<'a> {
    offer: &'a OfferFacts<'a>,
    prices: Vec<Price>,
    /// Head of the column of prices.
    per: String,
    delivery: Option<String>,
    assumptions: Vec<&'a str>,
    cautions: Vec<&'a CautionAnswer>,
    /// Why nothing is offered.
    refusal: Option<String>,
}

/// What the customer wrote himself.
struct OfferFacts<'a> {
    part: &'a str,
    title: &'a str,
    material: &'a str,
    quantity: u64,
    due: Option<&'a str>,
}

impl<'a> OfferFacts<'a> {
    fn of(o: &'a OfferAnswer) -> OfferFacts<'a> {
        OfferFacts {
            part: &o.part,
            title: &o.title,
            material: &o.material,
            quantity: o.quantity,
            due: o.due.as_deref(),
        }
    }
}

impl<'a> Sold<'a> {
    fn of(quote: &'a QuoteAnswer, o: &'a OfferAnswer, facts: &'a OfferFacts<'a>) -> Sold<'a> {
        let best = o.best();
        let per = best.map_or(1, |r| r.per);
        let price = |b: &crate::report::quote::BreakAnswer| {
            let route = b.routes.first()?;
            Some(Price {
                quantity: b.quantity,
                asked: b.quantity == o.quantity,
                each: words::price(quote, route, per),
                order: quote.money(route.total),
                weeks: route.lead.as_ref().map(|l| words::weeks(l.weeks)),
            })
        };
        Sold {
            offer: facts,
            prices: o.breaks.iter().filter_map(price).collect(),
            per: words::price_title(&quote.currency, per),
            delivery: best.and_then(|r| r.lead.as_ref()).map(|l| words::delivery(l, Reader::Customer)),
            assumptions: o.assumptions_for(Reader::Customer).collect(),
            cautions: o.cautions_for(Reader::Customer).collect(),
            refusal: o.refusal.as_ref().map(words::not_offered),
        }
    }
}

/// The head of the quote: who offers what to whom, and until when.
pub(super) fn letter(quote: &QuoteAnswer) -> Markup {
    let several = quote.offers.len() > 1;
    html! {
        header class={ "letter" @if several { " several" } } {
            div class="names" {
                div {
                    p class="kind" { "Quote" }
                    h1 { (quote.identity) }
                }
                (party(&quote.seller))
            }
            dl class="facts" {
                @if let Some(c) = &quote.customer { div { dt { "For" } dd { (c) } } }
                @if let Some(r) = &quote.reference { div { dt { "Your reference" } dd { (r) } } }
                @if let Some(d) = &quote.issued { div { dt { "Issued" } dd { (d) } } }
                @match (&quote.holds_to, quote.valid_days) {
                    (Some(day), _) => div { dt { "Holds to" } dd { (day) } },
                    (None, Some(days)) => div { dt { "Holds" } dd { (days) " days" } },
                    (None, None) => {}
                }
                div { dt { "Prices" } dd { (quote.currency) ", without tax" } }
            }
            @if several { (summary(quote)) }
        }
    }
}

fn party(p: &PartyAnswer) -> Markup {
    let place: Vec<&str> = [&p.postcode, &p.city, &p.country].into_iter().flatten().map(String::as_str).collect();
    html! {
        address {
            strong { (p.name) }
            @if let Some(street) = &p.street { span { (street) } }
            @if !place.is_empty() { span { (place.join(" ")) } }
            @if let Some(tax) = &p.tax_number { span { "Tax number " (tax) } }
            @if let Some(email) = &p.email { span { (email) } }
        }
    }
}

/// The parts of the quote with their sum.
fn summary(quote: &QuoteAnswer) -> Markup {
    let facts: Vec<OfferFacts> = quote.offers.iter().map(OfferFacts::of).collect();
    let sold: Vec<Sold> = quote.offers.iter().zip(&facts).map(|(o, f)| Sold::of(quote, o, f)).collect();
    html! {
        table class="summary stack" {
            thead {
                tr {
                    th { "Part" } th class="number" { "Pieces" } th class="number" { "Price" }
                    th class="number" { (quote.currency) " the order" } th class="number" { "Weeks" }
                }
            }
            tbody {
                @for s in &sold {
                    @let asked = s.prices.iter().find(|p| p.asked);
                    tr {
                        th scope="row" { a href=(format!("#{}", s.offer.part)) { (s.offer.part) } span class="under" { (s.offer.title) } }
                        td class="number" data-label="pieces" { (thousands(s.offer.quantity as f64)) }
                        @match asked {
                            Some(p) => {
                                td class="number" data-label=(s.per) { (p.each) @if s.per.contains(" for ") { span class="under" { (s.per) } } }
                                td class="number" data-label="the order" { (p.order) }
                                td class="number" data-label="weeks" { (p.weeks.as_deref().unwrap_or("–")) }
                            }
                            None => td class="number" colspan="3" { "not offered" },
                        }
                    }
                }
            }
            tbody class="sum" {
                tr {
                    th scope="row" { "Together" } td {} td {}
                    td class="number" data-label=(format!("{} the order", quote.currency)) { (quote.money(quote.total())) } td {}
                }
            }
        }
    }
}

/// One part as it is sold.
pub(super) fn article(quote: &QuoteAnswer, offer: &OfferAnswer, part: &Part, source: Source) -> Article {
    let facts = OfferFacts::of(offer);
    let sold = Sold::of(quote, offer, &facts);
    let mut sections = vec![drawn(part, source)];
    match &sold.refusal {
        Some(words) => {
            let body = html! { p { (prose(words)) } };
            sections.push(Section { key: "prices", title: "Not offered", body });
        }
        None => {
            sections.push(prices(quote, &sold));
            sections.push(granted(&sold));
        }
    }
    sections.push(closing(quote, &sold, source));
    Article { id: part.name.clone(), head: head(&sold), outcome: html! {}, sections }
}

fn head(sold: &Sold) -> Markup {
    let o = sold.offer;
    html! {
        header class="head" {
            h1 { (o.part) }
            p class="title" { (o.title) ", " (o.material) }
            @if let Some(d) = o.due { p class="quiet" { "Wanted " (d) "." } }
        }
    }
}

fn prices(quote: &QuoteAnswer, sold: &Sold) -> Section {
    let several = sold.prices.len() > 1;
    let body = html! {
        table class="prices" {
            thead {
                tr {
                    th class="number" { "Pieces" }
                    th class="number" { (sold.per) }
                    th class="number" { (quote.currency) " the order" }
                    th class="number" { "Weeks" }
                    th {}
                }
            }
            tbody {
                @for p in &sold.prices {
                    tr class=(if p.asked && several { "asked" } else { "" }) {
                        th scope="row" class="number" { (thousands(p.quantity as f64)) }
                        td class="number" { (p.each) }
                        td class="number" { (p.order) }
                        td class="number" { (p.weeks.as_deref().unwrap_or("–")) }
                        td class="quiet" { @if p.asked && several { "asked for" } }
                    }
                }
            }
        }
        p { (prose(sold.delivery.as_deref().unwrap_or("Delivery as agreed"))) "." }
    };
    Section { key: "prices", title: "Prices and delivery", body }
}

fn granted(sold: &Sold) -> Section {
    let body = html! { ul class="granted" { @for a in &sold.assumptions { li { (sentence(a)) "." } } } };
    Section { key: "granted", title: "The price takes for granted", body }
}

fn closing(quote: &QuoteAnswer, sold: &Sold, source: Source) -> Section {
    let body = html! {
        @if !sold.cautions.is_empty() {
            ul class="cautions" { @for c in &sold.cautions { li { strong { (c.topic) } ": " (c.text) } } }
        }
        div class="notes" {
            p { "Reckoned from the sizes and tolerances of the drawing above, out of " (source.file) ". " (words::estimate(quote)) }
        }
    };
    let title = if sold.cautions.is_empty() { "Note" } else { "Cautions and note" };
    Section { key: "closing", title, body }
}
