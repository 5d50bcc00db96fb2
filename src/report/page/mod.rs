//! The answer as a page: one file that needs nothing else, neither network nor script, to be read, printed or sent.
//!
//! A page is a row of articles, one a part, and an article is a row of sections. Each is a function from a case to what it
//! shows, or nothing where there is nothing to show; a new one is a file here and a line in [`RANKING`], [`MODES`], the
//! sections of a [`Job`] or those of an [`Offered`] part.

mod buy;
mod buy_charts;
mod chart;
mod costs;
mod customer;
mod job;
mod margins;
mod mix;
mod mix_charts;
mod offered;
mod operations;
mod ranking;
mod setting;
mod stacked;
mod timeline;

pub use buy::buy;
pub use job::{Job, jobs};
pub use mix::mix;
pub use offered::{Offered, quote};

use super::answer::{RankAnswer, RowAnswer};
use super::drawing::{self, Source};
use super::text::{minutes, money, seconds};
use crate::matching::{Standing, Verdict};
use crate::model::part::Part;
use crate::quantity::print::thousands;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// One part with its answer.
#[derive(Clone, Copy, Debug)]
pub struct Case<'a> {
    pub part: &'a Part,
    pub source: Source<'a>,
    pub answer: &'a RankAnswer,
}

impl<'a> Case<'a> {
    /// Rows that can be made, with the number that they carry everywhere on the page.
    fn possible(&self) -> Vec<(usize, &'a RowAnswer)> {
        let rows = self.answer.rows.iter().enumerate().map(|(i, r)| (i + 1, r));
        rows.filter(|(_, r)| r.standing != Standing::Refused).collect()
    }
    /// Rows that are refused, numbered on.
    fn refused(&self) -> Vec<(usize, &'a RowAnswer)> {
        let rows = self.answer.rows.iter().enumerate().map(|(i, r)| (i + 1, r));
        rows.filter(|(_, r)| r.standing == Standing::Refused).collect()
    }
}

/// Which question the page answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Which machine, in which mode.
    Ranking,
    /// The modes of one machine side by side.
    Modes,
}

/// A section of the page.
struct Section {
    /// Ends its address on the page.
    key: &'static str,
    title: &'static str,
    body: Markup,
}

/// Makes a section of a case.
type Build = fn(&Case) -> Option<Section>;

const RANKING: &[Build] = &[
    sheet,
    ranking::table,
    costs::curves,
    costs::kinds,
    margins::section,
    ranking::reasons,
    ranking::refusals,
    setting::setup,
    setting::bars,
    closing,
];

const MODES: &[Build] = &[
    sheet,
    ranking::modes,
    costs::curves,
    costs::kinds,
    margins::section,
    ranking::reasons,
    ranking::refusals,
    setting::setup,
    setting::bars,
    closing,
];

/// One part of the page, with a heading of its own.
struct Article {
    /// Its address on the page.
    id: String,
    head: Markup,
    /// Beside its name in the list of contents.
    outcome: Markup,
    sections: Vec<Section>,
}

/// The page of a ranking, or of the modes of a machine.
pub fn html(cases: &[Case], kind: Kind) -> String {
    let builders = match kind {
        Kind::Ranking => RANKING,
        Kind::Modes => MODES,
    };
    let article = |case: &Case| Article {
        id: case.part.name.clone(),
        head: head(case, kind),
        outcome: outcome(case),
        sections: builders.iter().filter_map(|build| build(case)).collect(),
    };
    let parts: Vec<&Part> = cases.iter().map(|c| c.part).collect();
    let articles: Vec<Article> = cases.iter().map(article).collect();
    let title = title(&parts);
    document(&title, "", &contents(&title, &parts, &articles), &articles)
}

/// What a page is called.
fn title(parts: &[&Part]) -> String {
    match parts {
        [one] => format!("{}: {}", one.name, one.title),
        _ => format!("{} parts", parts.len()),
    }
}

/// The list of parts before the first of several; nothing before a single one.
fn contents(title: &str, parts: &[&Part], articles: &[Article]) -> Markup {
    html! {
        @if parts.len() > 1 {
            nav class="contents" aria-label="Parts" {
                h1 { (title) }
                ol {
                    @for (part, article) in parts.iter().zip(articles) {
                        li {
                            a href=(format!("#{}", article.id)) { (part.name) }
                            " " span class="quiet" { (part.title) }
                            span class="outcome" { (article.outcome) }
                        }
                    }
                }
            }
        }
    }
}

/// The whole file: what stands first, then the articles. `style` comes after the style of every page.
fn document(title: &str, style: &str, first: &Markup, articles: &[Article]) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content="Turnwright";
                title { (title) }
                // An address that asks for nothing: a browser would look for an icon of its own accord.
                link rel="icon" href="data:,";
                style { (PreEscaped(include_str!("style.css"))) (PreEscaped(style)) }
            }
            body {
                (signs())
                (first)
                @for article in articles {
                    article class="part" id=(article.id) {
                        (article.head)
                        @for section in &article.sections {
                            section class={ "section of-" (section.key) }
                                aria-labelledby=(format!("{}-{}", article.id, section.key)) {
                                h2 id=(format!("{}-{}", article.id, section.key)) { (section.title) }
                                (section.body)
                            }
                        }
                    }
                }
            }
        }
    };
    page.into_string()
}

/// The signs of the verdicts, told by shape as well as by colour, drawn once and used by name.
fn signs() -> Markup {
    html! {
        svg class="signs" xmlns="http://www.w3.org/2000/svg" width="0" height="0" aria-hidden="true" {
            symbol id="sign-fits" viewBox="0 0 10 10" { circle cx="5" cy="5" r="3.4" {} }
            symbol id="sign-warns" viewBox="0 0 10 10" { path d="M5 1.2L9.2 8.6H0.8Z" {} }
            symbol id="sign-not-stated" viewBox="0 0 10 10" {
                path d="M5 1L9 5L5 9L1 5Z" fill="none" stroke-width="1.4" {}
            }
            symbol id="sign-refused" viewBox="0 0 10 10" {
                path d="M1.8 1.8L8.2 8.2M8.2 1.8L1.8 8.2" fill="none" stroke-width="2" {}
            }
        }
    }
}

/// The key of a verdict in names of classes and signs.
fn key(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fits => "fits",
        Verdict::Warns => "warns",
        Verdict::NotStated => "not-stated",
        Verdict::Refused => "refused",
    }
}

/// A verdict's sign, with its word for those who do not see it.
fn sign(verdict: Verdict) -> Markup {
    html! {
        svg class={ "sign " (key(verdict)) } role="img" aria-label=(verdict.word()) {
            use href={ "#sign-" (key(verdict)) } {}
        }
    }
}

/// A verdict's sign and word.
fn verdict(verdict: Verdict) -> Markup {
    html! {
        span class={ "verdict " (key(verdict)) } {
            svg class={ "sign " (key(verdict)) } aria-hidden="true" { use href={ "#sign-" (key(verdict)) } {} }
            (verdict.word())
        }
    }
}

/// Text with its words in backticks as names.
fn prose(text: &str) -> Markup {
    html! {
        @for (i, piece) in text.split('`').enumerate() {
            @if i % 2 == 1 { span class="name" { (piece) } } @else { (piece) }
        }
    }
}

/// What can be scrolled sideways where the screen is narrower than it.
fn scrolled(what: &str, content: &Markup) -> Markup {
    html! { div class="scroll" tabindex="0" role="region" aria-label=(what) { (content) } }
}

/// Machine and mode of a row.
fn named(row: &RowAnswer) -> String {
    format!("{}, {}", row.machine, row.mode)
}

fn outcome(case: &Case) -> Markup {
    match case.possible().first() {
        Some((_, row)) => html! {
            (named(row)) ", " (money(row.cost.cost)) " " (case.answer.currency) " " (verdict(row.verdict))
        },
        None => verdict(Verdict::Refused),
    }
}

fn head(case: &Case, kind: Kind) -> Markup {
    let a = case.answer;
    let order = if a.repeat { "Repeat order" } else { "First order" };
    let family = case.part.family.as_ref().map(|(parameter, value)| format!("{parameter} {value}"));
    let best = case.possible();
    let cheapest = best.first();
    html! {
        header class="head" {
            p class="kind" {
                @match kind {
                    Kind::Ranking => "Machines and modes for a part",
                    Kind::Modes => { "The modes of " (a.rows.first().map_or("", |r| r.machine.as_str())) }
                }
            }
            h1 { (a.part) }
            p class="title" { (a.title) ", " (a.material) @if let Some(family) = family { ", " (family) } }
            dl class="facts" {
                div { dt { (order) } dd { (thousands(a.quantity as f64)) } }
                div { dt { "Shop" } dd { (a.shop) } }
                @if let Some((_, row)) = cheapest {
                    div class="answer" { dt { "First by " (a.ranked_by) } dd { (named(row)) } }
                    div { dt { "Setup" } dd { (minutes(row.setup_min)) } }
                    div { dt { "Cycle" } dd { (seconds(row.cycle.total_s)) } }
                    div { dt { "Cost a piece" } dd { (money(row.cost.cost)) " " (a.currency) } }
                }
            }
            p class="lead" { (lead(case)) }
        }
    }
}

/// The answer in a sentence or two.
fn lead(case: &Case) -> Markup {
    let a = case.answer;
    let count = thousands(a.quantity as f64);
    let possible = case.possible();
    let Some((_, first)) = possible.first() else {
        return html! { "No machine of the shop makes this part. Each refusal below names the least change that would turn it round." };
    };
    let with = match first.standing {
        Standing::WithPurchase => " with attachments to buy",
        Standing::NotStated => ", as far as its spec states what decides",
        Standing::Owned | Standing::Refused => " with what the shop owns",
    };
    let better = possible.iter().find(|(_, r)| r.standing != first.standing && r.cost.cost < first.cost.cost);
    html! {
        "Of " (a.rows.len()) " pairs of machine and mode, " (possible.len()) " can make it. " (first.machine) " in mode "
        (first.mode) ", " (first.first_end) " end first, stands first" (with) ": " (money(first.cost.cost)) " "
        (a.currency) " a piece at " (count) " pieces, before markup."
        @if let Some((n, r)) = better {
            " Row " (n) ", " (named(r)) ", would make it for " (money(r.cost.cost)) " " (a.currency)
            @if r.standing == Standing::WithPurchase { ", with " (bought(r, &a.currency)) " not counted" }
            "."
        }
    }
}

/// What a row would have to buy.
fn bought(row: &RowAnswer, currency: &str) -> String {
    let items: Vec<String> = row
        .purchases
        .iter()
        .map(|p| {
            let price = p.price.map(|m| format!(" ({} {currency})", money(m))).unwrap_or_default();
            format!("{} × {}{price}", p.count, p.attachment)
        })
        .collect();
    items.join(", ")
}

fn sheet(case: &Case) -> Option<Section> {
    Some(drawn(case.part, case.source))
}

/// The drawing of a part.
fn drawn(part: &Part, source: Source) -> Section {
    let svg = drawing::drawing(part, source, &format!("{}-drawing", part.name));
    Section {
        key: "sheet",
        title: "The part",
        body: scrolled("Drawing of the part", &html! { figure class="drawing" { (PreEscaped(svg)) } }),
    }
}

fn closing(case: &Case) -> Option<Section> {
    let a = case.answer;
    let body = html! {
        ul class="cautions" {
            @for c in &a.cautions { li { strong { (c.topic) } ": " (prose(&c.text)) } }
            li { "The machine’s manual, local codes and the competent person decide." }
        }
        @for failed in &a.failed { p { "Could not be reckoned: " (prose(failed)) } }
        div class="notes" {
            @if !a.unjudged.is_empty() { p { "No rule judges, to be measured: " (prose(&a.unjudged.join("; "))) "." } }
            @for note in &a.notes { p { (prose(note)) } }
            p { "Made by Turnwright from " (case.source.file) "." }
        }
    };
    Some(Section { key: "closing", title: "Cautions and notes", body })
}
