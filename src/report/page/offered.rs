//! A quote as a page: first what the customer reads, then, for the shop alone, how each part is made and what its price is made
//! of.

use super::stacked::{Stack, stacked};
use super::{Article, Case, Section, costs, customer, document, margins, prose, ranking, scrolled, setting, verdict};
use crate::matching::Standing;
use crate::model::part::Part;
use crate::quantity::print::{number, thousands};
use crate::report::answer::RankAnswer;
use crate::report::drawing::Source;
use crate::report::quote::words;
use crate::report::quote::{BreakAnswer, OfferAnswer, QuoteAnswer, Reader, RouteAnswer};
use crate::report::text::{minutes, seconds, sentence};
use maud::{Markup, html};

/// An offered part with what the shop knows of it.
#[derive(Clone, Copy, Debug)]
pub struct Offered<'a> {
    quote: &'a QuoteAnswer,
    offer: &'a OfferAnswer,
    /// The ranking at the quantity asked for.
    case: Case<'a>,
}

const SECTIONS: &[fn(&Offered) -> Option<Section>] = &[
    refused,
    routes,
    shares,
    others,
    |o| costs::curves(&o.case),
    |o| margins::section(&o.case),
    doubts,
    setup,
    |o| setting::bars(&o.case),
    closing,
];

/// The page of a quote. `rankings` are those of the parts at the quantities asked for, in the order of the parts: with them
/// the shop's own sheets follow; without, the page holds nothing but what a customer may read.
pub fn quote(quote: &QuoteAnswer, parts: &[(&Part, Source)], rankings: Option<&[RankAnswer]>) -> String {
    let both = || quote.offers.iter().zip(parts);
    let mut articles: Vec<Article> =
        both().map(|(offer, (part, source))| customer::article(quote, offer, part, *source)).collect();
    let mut style = include_str!("quote.css").to_owned();
    if let Some(rankings) = rankings {
        style.push_str(include_str!("offered.css"));
        let ordered: Vec<RankAnswer> = quote.offers.iter().zip(rankings).map(|(o, r)| in_order(r, o)).collect();
        articles.extend(both().zip(&ordered).map(|((offer, (part, source)), answer)| {
            shop_article(&Offered { quote, offer, case: Case { part, source: *source, answer } })
        }));
    }
    document(&format!("Quote {}", quote.identity), &style, &customer::letter(quote), &articles)
}

/// A ranking whose possible rows stand as the routes of the quote do, so that a number means one route on the whole page.
fn in_order(ranking: &RankAnswer, offer: &OfferAnswer) -> RankAnswer {
    let routes = offer.asked().map_or(&[][..], |b| &b.routes);
    let mut ordered = ranking.clone();
    ordered.rows.sort_by_key(|row| {
        let place = routes.iter().position(|r| r.machine == row.machine && r.mode == row.mode);
        (row.standing == Standing::Refused, place.unwrap_or(usize::MAX))
    });
    ordered
}

fn shop_article(o: &Offered) -> Article {
    Article {
        // No name of a part holds a full stop.
        id: format!("{}.shop", o.offer.part),
        head: head(o),
        outcome: html! {},
        sections: SECTIONS.iter().filter_map(|build| build(o)).collect(),
    }
}

fn way(r: &RouteAnswer) -> String {
    format!("{}, {}", r.machine, r.mode)
}

fn head(o: &Offered) -> Markup {
    html! {
        header class="head own" {
            p class="kind" { strong { "For the shop alone" } ", to quote " (o.quote.identity) }
            h1 { (o.offer.part) }
            p class="title" { (o.offer.title) ", " (o.offer.material) }
            @if let Some(best) = o.offer.best() {
                dl class="facts" {
                    div { dt { @if o.offer.repeat { "Repeat order" } @else { "First order" } } dd { (thousands(best.quantity as f64)) } }
                    div class="answer" { dt { "Route" } dd { (way(best)) } }
                    div { dt { "Setup" } dd { (minutes(best.setup_min)) } }
                    div { dt { "Cycle" } dd { (seconds(best.cycle.total_s)) } }
                    div { dt { (words::price_title(&o.quote.currency, best.per)) } dd { (o.quote.money(best.price)) } }
                    div { dt { "Known within" } dd { (words::band(best)) } }
                }
                @if !o.offer.after.is_empty() {
                    p class="lead" {
                        "Made after " (o.offer.after.join(", ")) ": only the change is set up. Curves, margins and bars below take "
                        "the part by itself, from what stands on each machine now."
                    }
                }
                @if let Some(w) = words::standing(best, &o.quote.currency) { p class="lead" { (prose(&w)) } }
            } @else {
                p class="lead" { "Not offered at " (thousands(o.offer.quantity as f64)) " pieces." }
            }
        }
    }
}

fn refused(o: &Offered) -> Option<Section> {
    let refusal = o.offer.refusal.as_ref()?;
    let body = html! {
        @if let Some(why) = &refusal.unpriced { p { "The order cannot be priced: " (prose(why)) "." } }
        p class="nearest" {
            @match &refusal.nearest {
                Some(n) => (prose(&words::nearest(n, &o.quote.currency))) ,
                None => "No change, and no two together or three, that were searched would make a route fit.",
            }
        }
        @for row in &refusal.rows {
            div class="of-row" {
                h3 { (row.machine) ", " (row.mode) " " (verdict(crate::matching::Verdict::Refused)) }
                (ranking::findings(row.reasons.iter()))
            }
        }
    };
    Some(Section { key: "refused", title: "Why it is not offered, and what comes nearest", body })
}

fn routes(o: &Offered) -> Option<Section> {
    o.offer.best()?;
    let best: Vec<&RouteAnswer> = o.offer.breaks.iter().filter_map(|b| b.routes.first()).collect();
    let body = html! {
        table class="routes stack" {
            thead {
                tr {
                    th class="number" { "Pieces" }
                    th { "Route" }
                    th class="number" { "Setup" }
                    th class="number" { "Cycle" }
                    th class="number" { "Price" }
                    th class="number" { (o.quote.currency) " the order" }
                    th class="number" { "Known within" }
                    th class="number" { "Machine hours" }
                    th class="number" { "Bars" }
                    th class="number" { "kg" }
                    th class="number" { "Weeks" }
                }
            }
            tbody {
                @for r in &best {
                    tr {
                        th scope="row" class={ "number" @if r.quantity == o.offer.quantity { " asked" } } { (thousands(r.quantity as f64)) }
                        td data-label="route" { (way(r)) }
                        td class="number" data-label="setup" { (minutes(r.setup_min)) }
                        td class="number" data-label="cycle" { (seconds(r.cycle.total_s)) }
                        td class="number" data-label=(words::price_title(&o.quote.currency, r.per)) {
                            (o.quote.money(r.price)) @if r.per > 1 { span class="under" { "for " (thousands(r.per as f64)) } }
                        }
                        td class="number" data-label="the order" { (o.quote.money(r.total)) }
                        td class="number" data-label="known within" { (words::band(r)) }
                        td class="number" data-label="machine hours" { (number(r.order_hours, 1)) }
                        td class="number" data-label="bars" { (thousands(r.bars as f64)) }
                        td class="number" data-label="kg" { (number(r.bar_kg, 1)) }
                        td class="number" data-label="weeks" { (r.lead.as_ref().map_or_else(|| "–".to_owned(), |l| words::weeks(l.weeks))) }
                    }
                }
            }
        }
        @for t in &o.offer.turns {
            p { "From " strong { (thousands(t.quantity as f64)) } " pieces on " (t.to) " costs less than " (t.from) "." }
        }
        @if o.offer.turns.is_empty() && best.len() > 1 { p { "The best route is the same at every quantity." } }
        @if let Some(lead) = o.offer.best().and_then(|b| b.lead.as_ref()) { p { (prose(&words::delivery(lead, Reader::Shop))) "." } }
    };
    Some(Section { key: "routes", title: "The route at each quantity", body })
}

fn each(r: &RouteAnswer, amount: f64) -> f64 {
    amount / r.quantity.max(1) as f64
}

fn shares(o: &Offered) -> Option<Section> {
    let asked = o.offer.best()?;
    let best: Vec<&RouteAnswer> = o.offer.breaks.iter().filter_map(|b| b.routes.first()).collect();
    let stack = |r: &&RouteAnswer| Stack {
        label: format!("{} pieces", thousands(r.quantity as f64)),
        parts: r.shares.iter().map(|s| (s.share, each(r, s.order.to_units()))).collect(),
        total: each(r, r.total.to_units()),
        words: number(each(r, r.total.to_units()), 4),
    };
    let stacks: Vec<Stack> = best.iter().map(stack).collect();
    let words = format!(
        "Price of a piece by kind in {}, at each quantity; the table beneath gives the figures.",
        o.quote.currency
    );
    let chart = stacked(&format!("{}-shares", o.offer.part), ("What the price is made of", &words), &stacks);
    let cost_of =
        |r: &RouteAnswer, name: &str| r.shares.iter().find(|s| s.share == name).map_or(0.0, |s| s.order.to_units());
    let kinds: Vec<&str> =
        asked.shares.iter().map(|s| s.share).filter(|k| best.iter().any(|r| cost_of(r, k) != 0.0)).collect();
    let total = asked.total.to_units().max(f64::MIN_POSITIVE);
    let table = html! {
        table class="shares" {
            thead {
                tr {
                    th { (o.quote.currency) }
                    @for r in &best { th class="number" { "a piece at " (thousands(r.quantity as f64)) } }
                    th class="number" { "order of " (thousands(asked.quantity as f64)) }
                    th class="number" { "%" }
                }
            }
            tbody {
                @for k in &kinds {
                    @let order = asked.shares.iter().find(|s| s.share == *k);
                    tr {
                        th scope="row" { (k) }
                        @for r in &best { td class="number" { (format!("{:.4}", each(r, cost_of(r, k)))) } }
                        td class="number" { @if let Some(s) = order { (o.quote.money(s.order)) } }
                        td class="number" { (format!("{:.1}", 100.0 * cost_of(asked, k) / total)) }
                    }
                }
            }
            tbody class="sum" {
                tr {
                    th scope="row" { "price" }
                    @for r in &best { td class="number" { (format!("{:.4}", each(r, r.total.to_units()))) } }
                    td class="number" { (o.quote.money(asked.total)) }
                    td class="number" { "100.0" }
                }
            }
        }
    };
    let body = html! {
        p class="quiet" { (o.quote.currency) " a piece, by kind" }
        (scrolled("Price by kind", &html! { figure { (chart) } }))
        (scrolled("Price by kind in figures", &table))
    };
    Some(Section { key: "shares", title: "What the price is made of", body })
}

fn others(o: &Offered) -> Option<Section> {
    let BreakAnswer { routes, .. } = o.offer.asked()?;
    let body = html! {
        table class="ranking stack" {
            thead {
                tr {
                    th class="number" { "#" }
                    th { "Route" }
                    th { "First end" }
                    th class="number" { "Setup" }
                    th class="number" { "Cycle" }
                    th class="number" { (o.quote.currency) " the order" }
                    th class="number" { "Known within" }
                    th class="number" { "Weeks" }
                    th { "Verdict" }
                }
            }
            tbody {
                @for (i, r) in routes.iter().enumerate() {
                    tr {
                        td class="number rank" { (i + 1) }
                        th scope="row" class="machine" {
                            (way(r))
                            @if let Some(w) = words::standing(r, &o.quote.currency) { span class="under" { (prose(&w)) } }
                        }
                        td data-label="first end" { (r.first_end) }
                        td class="number" data-label="setup" { (minutes(r.setup_min)) }
                        td class="number" data-label="cycle" { (seconds(r.cycle.total_s)) }
                        td class="number" data-label="the order" { (o.quote.money(r.total)) }
                        td class="number" data-label="known within" { (words::band(r)) }
                        td class="number" data-label="weeks" { (r.lead.as_ref().map_or_else(|| "–".to_owned(), |l| words::weeks(l.weeks))) }
                        td data-label="verdict" { (verdict(r.verdict)) }
                    }
                }
            }
        }
    };
    Some(Section { key: "others", title: "All routes at the quantity asked for", body })
}

fn doubts(o: &Offered) -> Option<Section> {
    let best = o.offer.best().filter(|b| !b.reasons.is_empty())?;
    let title = "What speaks against the route";
    Some(Section { key: "doubts", title, body: ranking::findings(best.reasons.iter()) })
}

fn setup(o: &Offered) -> Option<Section> {
    let best = o.offer.best()?;
    let from = if o.offer.after.is_empty() { "from what is on the machine now" } else { "from the part before" };
    let body = html! {
        p { (sentence(&way(best))) ", " (from) "." }
        (setting::steps(&best.setup, &[], best.setup_min, None))
    };
    Some(Section { key: "setup", title: "Setup", body })
}

fn closing(o: &Offered) -> Option<Section> {
    let granted: Vec<&str> = o.offer.assumptions_for(Reader::Shop).collect();
    let body = html! {
        @if !granted.is_empty() {
            h3 { "The price takes for granted" }
            ul class="granted" { @for a in granted { li { (prose(&sentence(a))) "." } } }
            h3 { "Cautions" }
        }
        ul class="cautions" {
            @for c in o.offer.cautions_for(Reader::Shop) { li { strong { (c.topic) } ": " (prose(&c.text)) } }
            li { (words::MANUAL) }
        }
        div class="notes" { @for note in &o.case.answer.notes { p { (prose(note)) } } }
    };
    Some(Section { key: "closing", title: "Assumptions and cautions", body })
}
