//! A purchase as a page: the verdict, what could be bought, and for each purchase that is looked at closely why.

use super::{Article, Section, buy_charts, document, prose, scrolled};
use crate::report::buy::words::{self, percent, whole};
use crate::report::buy::{BuyAnswer, CloseAnswer, SetAnswer, StairAnswer, SureAnswer, WayAnswer};
use crate::report::text::unbroken;
use maud::{Markup, html};

/// Sets of several things that are told.
const TOGETHER: usize = 5;

/// One close look with the whole answer.
struct Look<'a> {
    a: &'a BuyAnswer,
    close: &'a CloseAnswer,
    /// Begins the names within its charts.
    id: String,
}

const SECTIONS: &[fn(&Look) -> Option<Section>] = &[changes, sureness, cash_flow, matters, hours, stairs];

/// The page.
pub fn buy(a: &BuyAnswer) -> String {
    let first = Article {
        id: "buy".to_owned(),
        head: head(a),
        outcome: html! {},
        sections: [without(a), choices(a), closing(a)].into(),
    };
    // What to buy stands before the others.
    let (mut looks, others): (Vec<&CloseAnswer>, Vec<&CloseAnswer>) =
        a.close.iter().filter(|c| !c.is_idle(a)).partition(|c| c.what == a.buy);
    looks.extend(others);
    let looks = looks.into_iter().enumerate().map(|(i, close)| Look { a, close, id: format!("look-{}", i + 1) });
    let articles = looks.map(|look| Article {
        head: close_head(&look),
        outcome: html! {},
        sections: SECTIONS.iter().filter_map(|build| build(&look)).collect(),
        id: look.id,
    });
    let articles: Vec<Article> = std::iter::once(first).chain(articles).collect();
    document(&words::title(a), include_str!("buy.css"), &html! {}, &articles)
}

fn fact(words: &str, value: &str, answer: bool) -> Markup {
    html! { div class=[answer.then_some("answer")] { dt { (words) } dd { (value) } } }
}

fn head(a: &BuyAnswer) -> Markup {
    html! {
        header class="head" {
            p class="kind" { "What to buy for a year's work" }
            h1 { (a.shop) }
            dl class="facts" {
                (fact("Jobs", &a.jobs.to_string(), false))
                (fact("Money costs", &format!("{} a year", percent(a.discount)), false))
                (fact("Judged over", &format!("{} years", a.life), false))
                (fact("Buy", &if a.pays() { a.buy.join(" and ") } else { "nothing".to_owned() }, true))
                (fact("Worth now", &format!("{} {}", whole(a.buy_npv), a.currency), true))
            }
            p class="lead" { (words::outcome(a)) }
        }
    }
}

fn without(a: &BuyAnswer) -> Section {
    let now = a.without.first().map_or(0.0, |v| v.left_over);
    let body = html! {
        table class="narrow" {
            thead { tr { th { "Way" } th class="number" { "Left over a year" } th class="number" { "More than now" } } }
            tbody {
                @for v in &a.without {
                    tr {
                        th scope="row" {
                            (v.variant.words())
                            @if v.variant == a.best_without { strong { ", the best" } }
                            @if v.unmet > 0 { ", " (v.unmet) " that must be made and cannot" }
                        }
                        td class="number" { (whole(v.left_over)) }
                        td class="number" { (whole(v.left_over - now)) }
                    }
                }
            }
        }
        p class="beneath" { (words::redundancy(a)) }
    };
    Section { key: "without", title: "Without buying", body }
}

fn choices(a: &BuyAnswer) -> Section {
    let (useful, idle) = a.useful();
    let together: Vec<&SetAnswer> = a.together.iter().take(TOGETHER).collect();
    let table = html! {
        table class="purchases" {
            thead {
                tr {
                    th { "What" }
                    th class="number" { "Price, installed" }
                    th class="number" { "More left over a year" }
                    th class="number" { "Net present value" }
                    th class="number" { "Internal rate of return" }
                    th class="number" { "Pays back" }
                    th class="number" { "Pays below" }
                    th { "Pays" }
                }
            }
            tbody { @for set in useful.into_iter().chain(together) { (row(a, set)) } }
        }
    };
    let body = html! {
        (scrolled("What could be bought", &table))
        @if !idle.is_empty() { p class="quiet" { (words::idle(&idle)) } }
    };
    Section { key: "choices", title: "What could be bought", body }
}

fn row(a: &BuyAnswer, s: &SetAnswer) -> Markup {
    html! {
        tr class=[(s.what == a.buy).then_some("best")] {
            th scope="row" {
                @for (i, part) in s.what.iter().enumerate() { @if i > 0 { " + " } span class="held" { (part) } }
            }
            td class="number" { (whole(s.price)) }
            td class="number" { (whole(s.gain)) }
            td class="number" { (whole(s.npv)) }
            td class="number" { (words::irr(&s.irr)) }
            td class="number" { (words::payback(s.payback)) }
            td class="number" { (s.stops_paying_at.map_or_else(|| "–".to_owned(), whole)) }
            td { @if !s.pays { "no" } @else if s.within_budget { "yes" } @else { "too dear" } }
        }
    }
}

fn closing(a: &BuyAnswer) -> Section {
    let body = html! {
        ul class="cautions" { @for words in &a.assumptions { li { (prose(&unbroken(words))) } } }
        div class="notes" {
            p { "Times and money are planning estimates; the owner decides." }
            p { "Made by Turnwright." }
        }
    };
    Section { key: "closing", title: "Taken for granted", body }
}

fn close_head(look: &Look) -> Markup {
    let Look { a, close, .. } = look;
    let Some(s) = a.set(close) else { return html! {} };
    let verdict = match (s.pays, s.stops_paying_at) {
        (true, Some(at)) => format!("It pays, up to a price of {} {}.", whole(at), a.currency),
        (true, None) => "It pays.".to_owned(),
        (false, Some(at)) => {
            format!("It does not pay; at a price below {} {} it would.", whole(at), a.currency)
        }
        (false, None) => "It does not pay, not even as a gift.".to_owned(),
    };
    let booked = close.sure.first().filter(|b| (b.npv > 0.0) != s.pays);
    html! {
        header class="head" {
            p class="kind" { "A purchase looked at closely" }
            h1 { (close.what.join(" and ")) }
            dl class="facts" {
                (fact("Price, installed", &format!("{} {}", whole(s.price), a.currency), false))
                (fact("More left over a year", &format!("{} {}", whole(s.gain), a.currency), false))
                (fact("Net present value", &format!("{} {}", whole(s.npv), a.currency), true))
                (fact("Internal rate of return", &words::irr(&s.irr), false))
                (fact("Pays back", &words::payback(s.payback), false))
                @if let Some(d) = &close.chance { (fact("Chance that it pays", &percent(d.pays), false)) }
            }
            p class="lead" {
                (unbroken(&verdict))
                @if let Some(b) = booked {
                    " With the booked jobs alone it is worth " (whole(b.npv)) " " (a.currency) "."
                }
            }
        }
    }
}

fn changes(look: &Look) -> Option<Section> {
    let told = words::told(look.a, look.close);
    let list = html! { ul class="cautions" { @for words in &told { li { (unbroken(words)) } } } };
    (!told.is_empty()).then_some(Section { key: "changes", title: "What changes", body: list })
}

/// A small table: a name and three figures in each row.
fn named(heads: [&str; 4], rows: impl Iterator<Item = (String, [String; 3])>) -> Markup {
    let [first, figures @ ..] = heads;
    html! {
        table class="narrow" {
            thead { tr { th { (first) } @for head in figures { th class="number" { (head) } } } }
            tbody {
                @for (name, figures) in rows {
                    tr { th scope="row" { (name) } @for figure in figures { td class="number" { (figure) } } }
                }
            }
        }
    }
}

fn cash_flow(look: &Look) -> Option<Section> {
    let id = format!("{}-cash", look.id);
    let chart = buy_charts::cash_flow(look.close, &look.a.currency, &id);
    let heads = ["Paid", "Own money at once", "Net present value", "Internal rate of return"];
    let row = |w: &WayAnswer| (w.paid.to_owned(), [whole(w.at_once), whole(w.npv), words::irr(&w.irr)]);
    let ways = named(heads, look.close.ways.iter().map(row));
    let body = html! {
        (scrolled("Cash flow by year", &html! { figure { (chart) } }))
        @if look.close.ways.len() > 1 { (scrolled("Ways to pay", &ways)) }
    };
    Some(Section { key: "cash", title: "Cash flow by year, paid outright", body })
}

fn matters(look: &Look) -> Option<Section> {
    if look.close.tornado.is_empty() {
        return None;
    }
    let id = format!("{}-tornado", look.id);
    let chart = buy_charts::tornado(look.close, &look.a.currency, &id);
    let body = html! {
        (scrolled("What matters", &html! { figure { (chart) } }))
        @if let Some(d) = &look.close.chance { p { (words::chance(d)) } }
    };
    Some(Section { key: "matters", title: "What matters", body })
}

fn sureness(look: &Look) -> Option<Section> {
    let heads = ["Jobs that are", "Jobs", "More left over a year", "Net present value"];
    let row = |s: &SureAnswer| (words::sure(s).to_owned(), [s.jobs.to_string(), whole(s.gain), whole(s.npv)]);
    let table = named(heads, look.close.sure.iter().map(row));
    Some(Section { key: "sure", title: "How sure the jobs are", body: scrolled("How sure the jobs are", &table) })
}

fn hours(look: &Look) -> Option<Section> {
    let chart = buy_charts::hours(&look.close.loads, &format!("{}-hours", look.id));
    let body = scrolled("Hours of each machine", &html! { figure { (chart) } });
    Some(Section { key: "hours", title: "Hours of each machine, without it and with it", body })
}

fn stairs(look: &Look) -> Option<Section> {
    let shown = |(i, s): (usize, &StairAnswer)| {
        let id = format!("{}-stair-{}", look.id, i + 1);
        let steps = s.steps.iter().filter(|step| step.jumps());
        html! {
            div class="of-stair" {
                h3 { (s.capability.question()) }
                (scrolled(s.capability.question(), &html! { figure { (buy_charts::staircase(s, &look.a.currency, &id)) } }))
                @if !s.steps.iter().any(|step| step.jumps()) {
                    p { "No step of it changes what is left over." }
                } @else {
                    ol {
                        @for step in steps {
                            li { (unbroken(&format!("{}: {}{}", s.capability.words(step.figure), whole(step.gain), words::step(step)))) }
                        }
                    }
                }
            }
        }
    };
    let body = html! { @for stair in look.close.stairs.iter().enumerate() { (shown(stair)) } };
    (!look.close.stairs.is_empty()).then_some(Section { key: "stairs", title: "What each capability is worth", body })
}
