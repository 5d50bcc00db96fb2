//! A year's work as a page: what comes in and is left over, who makes what, hours, and the order of the lots.

use super::{Article, Section, document, mix_charts, prose, scrolled};
use crate::fleet::mix::Fate;
use crate::quantity::print::thousands;
use crate::report::mix::{JobAnswer, MixAnswer, words};
use crate::report::text::{seconds, unbroken};
use maud::{Markup, html};

const SECTIONS: &[fn(&MixAnswer) -> Option<Section>] = &[jobs, not_made, hours, order, closing];

/// The page.
pub fn mix(a: &MixAnswer) -> String {
    let article = Article {
        id: "mix".to_owned(),
        head: head(a),
        outcome: html! {},
        sections: SECTIONS.iter().filter_map(|build| build(a)).collect(),
    };
    document(&words::title(a), include_str!("mix.css"), &html! {}, &[article])
}

fn units(amount: f64) -> String {
    thousands(amount.round())
}

fn head(a: &MixAnswer) -> Markup {
    let fate = |fate: Fate| a.jobs.iter().filter(|j| j.out.as_ref().is_some_and(|o| o.fate == fate)).count();
    html! {
        header class="head" {
            p class="kind" { "A year's work on the machines of the shop" }
            h1 { (a.shop) }
            dl class="facts" {
                div { dt { "Jobs" } dd { (a.jobs.len()) } }
                @for (kind, words) in [(Fate::BoughtOut, "Bought out"), (Fate::Lost, "Lost"), (Fate::Unmet, "Not made")] {
                    @if fate(kind) > 0 { div { dt { (words) } dd { (fate(kind)) } } }
                }
                div { dt { "Comes in" } dd { (units(a.revenue)) " " (a.currency) } }
                div { dt { "Out of pocket" } dd { (units(a.cash)) " " (a.currency) } }
                div class="answer" { dt { "Left over" } dd { (units(a.left_over)) " " (a.currency) } }
            }
            p class="lead" { (words::outcome(a)) }
        }
    }
}

/// Every job with the number that stands for it in the order of the lots.
fn jobs(a: &MixAnswer) -> Option<Section> {
    let table = html! {
        table class="mix-jobs" {
            thead {
                tr {
                    th class="number" { "#" }
                    th { "Job" }
                    th { "Made on" }
                    th class="number" { "Pieces" }
                    th class="number" { "Lots" }
                    th class="number" { "Cycle" }
                    th class="number" { "Setting, h" }
                    th class="number" { "Hours" }
                    th class="number" { "Comes in" }
                    th class="number" { "Left over" }
                }
            }
            tbody { @for (i, job) in a.jobs.iter().enumerate() { (row(i + 1, job)) } }
        }
    };
    Some(Section { key: "jobs", title: "Jobs", body: scrolled("Jobs", &table) })
}

fn row(number: usize, job: &JobAnswer) -> Markup {
    let sum = |f: fn(&crate::report::mix::MadeAnswer) -> f64| match job.made.is_empty() {
        true => "–".to_owned(),
        false => units(job.made.iter().map(f).sum()),
    };
    html! {
        tr {
            td class="number" { (number) }
            th scope="row" class="name" {
                (job.part) span class="quiet" { " " (job.chance.word()) @if let Some(c) = &job.customer { ", " (c) } }
            }
            td { (words::made_on(job)) }
            td class="number" { (thousands(job.pieces as f64)) }
            td class="number" { (job.lots) }
            td class="number" { @if let Some(m) = job.made.first() { (seconds(m.cycle_s)) } @else { "–" } }
            td class="number" { (sum(|m| m.setting)) }
            td class="number" { (sum(|m| m.hours)) }
            td class="number" { (units(job.revenue)) }
            td class="number" { (units(job.left_over)) }
        }
    }
}

fn not_made(a: &MixAnswer) -> Option<Section> {
    let outs = || a.jobs.iter().filter_map(|j| Some((j, j.out.as_ref()?)));
    outs().next()?;
    let body = html! {
        @for (job, out) in outs() {
            p { strong { (job.part) } ": " (words::not_made_words(out, &a.currency)) "." }
            @if !out.cannot.is_empty() {
                ul class="cautions" {
                    @for c in &out.cannot { li { (prose(&unbroken(&words::cannot_words(c)))) } }
                }
            }
        }
    };
    Some(Section { key: "out", title: "Not made here", body })
}

fn hours(a: &MixAnswer) -> Option<Section> {
    let body = html! {
        (scrolled("Hours of each machine", &mix_charts::hours(a)))
        @for s in &a.setters { p { (words::setters(s, &a.currency)) } }
    };
    Some(Section { key: "hours", title: "Hours of each machine", body })
}

fn order(a: &MixAnswer) -> Option<Section> {
    if a.sequence.is_empty() {
        return None;
    }
    let body = html! {
        p { (crate::report::mix::order_words(a)) }
        (scrolled("Order of the lots", &mix_charts::order(a)))
    };
    Some(Section { key: "order", title: "Order of the lots", body })
}

fn closing(a: &MixAnswer) -> Option<Section> {
    let body = html! {
        ul class="cautions" { @for words in &a.assumptions { li { (prose(words)) } } }
        div class="notes" {
            p { "Times are planning estimates; a person who knows machines and jobs decides." }
            p { "Made by Turnwright." }
        }
    };
    Some(Section { key: "closing", title: "Taken for granted", body })
}
