//! The operation sheet as a page: what a setter takes to the machine.

use super::{
    Article, Section, contents, document, drawn, margins, named, operations, prose, ranking, scrolled, setting, title,
    verdict,
};
use crate::matching::Verdict;
use crate::model::part::Part;
use crate::quantity::print::thousands;
use crate::report::drawing::Source;
use crate::report::sheet::pages::{self, worth_rows, worth_words};
use crate::report::sheet::{AlternativeLine, SheetAnswer};
use crate::report::text::{minutes, seconds};
use maud::{Markup, html};

/// A part with the sheet of its job.
#[derive(Clone, Copy, Debug)]
pub struct Job<'a> {
    pub part: &'a Part,
    pub source: Source<'a>,
    pub sheet: &'a SheetAnswer,
}

const SECTIONS: &[fn(&Job) -> Option<Section>] = &[
    |job| Some(drawn(job.part, job.source)),
    operations::operations,
    operations::timeline,
    operations::cycle,
    operations::places,
    |job| ranking::of_one(&job.sheet.job),
    |job| Some(setting::of_one(&job.sheet.job)),
    |job| Some(setting::bar_of_one(&job.sheet.job, job.part)),
    |job| Some(margins::of_one(&job.sheet.job)),
    ways,
    worth,
    remarks,
    closing,
];

/// The page of one job or several.
pub fn jobs(jobs: &[Job]) -> String {
    let article = |job: &Job| Article {
        id: job.part.name.clone(),
        head: head(job),
        outcome: html! { (named(&job.sheet.job)) ", " (seconds(job.sheet.job.cycle.total_s)) " " (verdict(job.sheet.job.verdict)) },
        sections: SECTIONS.iter().filter_map(|build| build(job)).collect(),
    };
    let parts: Vec<&Part> = jobs.iter().map(|j| j.part).collect();
    let articles: Vec<Article> = jobs.iter().map(article).collect();
    let title = title(&parts);
    document(&title, include_str!("job.css"), &contents(&title, &parts, &articles), &articles)
}

fn head(job: &Job) -> Markup {
    let sheet = job.sheet;
    let row = &sheet.job;
    let doubts: Vec<&str> = {
        let mut rules: Vec<&str> = row.reasons.iter().filter(|r| r.verdict != Verdict::Fits).map(|r| r.rule).collect();
        rules.dedup();
        rules
    };
    html! {
        header class="head" {
            p class="kind" { "Operation sheet, " (sheet.shop) }
            h1 { (sheet.part) }
            p class="title" { (sheet.title) ", " (sheet.material) }
            dl class="facts" {
                div class="answer" { dt { (row.machine_title) } dd { (named(row)) } }
                div { dt { "First end" } dd { (row.first_end) } }
                div { dt { @if sheet.repeat { "Repeat order" } @else { "First order" } } dd { (thousands(sheet.quantity as f64)) } }
                div { dt { "Setup" } dd { (minutes(row.setup_min)) } }
                div { dt { "Cycle" } dd { (seconds(row.cycle.total_s)) } }
                div { dt { "Verdict" } dd { (verdict(row.verdict)) } }
            }
            div class="lead" {
                @if row.verdict == Verdict::Refused {
                    p { strong { "Not to be run as it stands: what follows shows how far the plan comes." } }
                }
                @if !doubts.is_empty() { p { "Look at " strong { (doubts.join(", ")) } " first: the reasons stand beneath the tools." } }
                @for words in pages::facts(sheet) { p { (prose(&words)) } }
            }
        }
    }
}

fn ways(job: &Job) -> Option<Section> {
    let sheet = job.sheet;
    if sheet.alternatives.is_empty() {
        return None;
    }
    let same = |i: usize, a: &AlternativeLine| i > 0 && sheet.alternatives[i - 1].feature == a.feature;
    let table = html! {
        table class="ways" {
            thead { tr { th { "Feature" } th { "Way" } th class="number" { "Time" } th { "Why not" } } }
            tbody {
                @for (i, a) in sheet.alternatives.iter().enumerate() {
                    tr {
                        th scope="row" class="name" { @if !same(i, a) { (a.feature) } }
                        td { (a.way) }
                        td class="number" { @if a.seconds > 0.0 { (seconds(a.seconds)) } }
                        td { @if a.taken { strong { "taken" } } @else { (prose(&a.reason)) } }
                    }
                }
            }
        }
    };
    Some(Section { key: "ways", title: "Other ways", body: scrolled("Other ways", &table) })
}

fn worth(job: &Job) -> Option<Section> {
    if job.sheet.worth.is_empty() {
        return None;
    }
    let body = html! {
        @for w in &job.sheet.worth {
            h3 { (w.option) }
            table class="worth" {
                thead { tr { td {} th class="number" { "Without" } th class="number" { "With" } } }
                tbody {
                    @for (what, without, with) in worth_rows(w, job.sheet) {
                        tr { th scope="row" { (what) } td class="number" { (without) } td class="number" { (with) } }
                    }
                }
            }
            p { (prose(&worth_words(w, job.sheet))) }
        }
    };
    Some(Section { key: "worth", title: "Without and with an attachment", body })
}

fn remarks(job: &Job) -> Option<Section> {
    let remarks = &job.sheet.remarks;
    if remarks.is_empty() {
        return None;
    }
    let body =
        html! { ul class="cautions" { @for r in remarks { li { strong { (r.about) } ": " (prose(&r.words)) } } } };
    Some(Section { key: "remarks", title: "Beside the figures", body })
}

fn closing(job: &Job) -> Option<Section> {
    let body = html! {
        ul class="cautions" {
            @for c in &job.sheet.cautions { li { strong { (c.topic) } ": " (prose(&c.text)) } }
            li { (pages::MANUAL) }
        }
        div class="notes" {
            @for note in &job.sheet.notes { p { (prose(note)) } }
            p { "Made by Turnwright from " (job.source.file) "." }
        }
    };
    Some(Section { key: "closing", title: "Cautions and notes", body })
}
