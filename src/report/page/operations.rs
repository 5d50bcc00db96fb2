//! The operations of a job as a setter reads them, the reasons of their order, the cycle, and the tools in their places.

use super::job::Job;
use super::{Section, prose, scrolled, timeline};
use crate::quantity::print::{number, thousands};
use crate::report::sheet::SheetLine;
use crate::report::sheet::pages::{self, Clock, Times, tenths};
use crate::report::text::seconds;
use maud::{Markup, html};

pub(super) fn operations(job: &Job) -> Option<Section> {
    let sheet = job.sheet;
    let clock = pages::clock(sheet);
    let reasons = pages::reasons(sheet);
    let body = html! {
        @for (title, spindle) in [("Main spindle", "main"), ("Sub-spindle, the piece before", "sub")] {
            @let lines: Vec<&SheetLine> = sheet.lines.iter().filter(|l| l.spindle == spindle).collect();
            @if !lines.is_empty() {
                h3 { (title) }
                (table(&lines, &clock, &reasons))
            }
        }
        p class="quiet" {
            "Times in seconds: in the cut; else, which is change, approach and movements; and on the clock of the cycle when "
            "it is done. z and diameters in mm, z from the front face of the drawing."
        }
        @if !reasons.is_empty() {
            h3 { "Why in this order" }
            ul class="letters" {
                @for (i, reason) in reasons.iter().enumerate() {
                    li { span class="letter" { (pages::LETTERS[i % pages::LETTERS.len()]) } (prose(reason)) }
                }
            }
        }
    };
    Some(Section { key: "operations", title: "Operations", body })
}

fn table(lines: &[&SheetLine], clock: &Clock, reasons: &[&'static str]) -> Markup {
    html! {
        table class="operations" {
            thead {
                tr {
                    th class="number" { "#" }
                    th { "Work" }
                    th { "Tool" }
                    th { "Place" }
                    th class="number" { "Dia" }
                    th class="number" { "z" }
                    th class="number" { "rpm" }
                    th class="number" { "mm/rev" }
                    th class="number" { "Depth" }
                    th class="number" { "Cut" }
                    th class="number" { "Else" }
                    th class="number" { "Clock" }
                }
            }
            tbody {
                @for line in lines {
                    @let times = clock.of(line.number);
                    @if times.wait > 0 { (waiting(times)) }
                    (operation(line, times, reasons))
                }
            }
        }
    }
}

fn operation(line: &SheetLine, times: Times, reasons: &[&'static str]) -> Markup {
    let figure = |v: Option<f64>, places: usize| v.map(|v| number(v, places)).unwrap_or_default();
    let letter = line.order_reason.and_then(|r| pages::letter(reasons, r));
    html! {
        tr class=(if line.hand_over { "tie" } else { "" }) {
            td class="number rank" { (line.number) }
            th scope="row" {
                (line.work)
                @if let Some(feature) = &line.feature { " " span class="name" { (feature) } }
                @if line.count > 1 { " × " (line.count) }
                @if let Some(letter) = letter { " " span class="letter" { (letter) } }
                @if let Some(detail) = &line.detail { span class="under" { (detail) } }
            }
            td class="tool" { @if let Some(tool) = &line.tool { (tool) } }
            td class="place" { @if line.tool.is_some() { (line.place.as_deref().unwrap_or("no place")) } }
            td class="number" data-label="dia" { (figure(line.dia_mm, 2)) }
            td class="number" data-label="z" { (line.z_mm.map(pages::stretch).unwrap_or_default().replace("..", " .. ")) }
            td class="number" data-label="rpm" { (line.speed_rpm.map(|n| thousands(pages::round_speed(n))).unwrap_or_default()) }
            td class="number" data-label="mm/rev" { (figure(line.feed_mm_per_rev, 3)) }
            td class="number" data-label="depth" { (pages::depth(line).replace(" x ", " × ")) }
            td class="number" data-label="cut" { @if times.cut > 0 { (tenths(times.cut)) } }
            td class="number" data-label="else" { (tenths(times.other)) }
            td class="number clock" data-label="clock" { (tenths(times.until)) }
        }
    }
}

/// A line for the time in which a spindle waits for the other.
fn waiting(times: Times) -> Markup {
    html! {
        tr class="wait" {
            td class="rank" {}
            th scope="row" { "wait for the other spindle" }
            td {} td {} td {} td {} td {} td {} td {} td {}
            td class="number" data-label="else" { (tenths(times.wait)) }
            td class="number clock" data-label="clock" { (tenths(times.until - times.cut - times.other)) }
        }
    }
}

pub(super) fn timeline(job: &Job) -> Option<Section> {
    let chart = timeline::chart(job.sheet, &format!("{}-timeline", job.part.name));
    let body = scrolled("Timeline", &html! { figure { (chart) } });
    Some(Section { key: "timeline", title: "Timeline, lane by lane", body })
}

pub(super) fn cycle(job: &Job) -> Option<Section> {
    let rows = pages::cycle(job.sheet, &pages::clock(job.sheet));
    let (last, before) = rows.split_last()?;
    let line = |(what, time): &(String, i64)| html! { tr { th scope="row" { (what) } td class="number" { (tenths(*time)) " s" } } };
    let body = html! {
        table class="cycle" {
            tbody { @for row in before { (line(row)) } }
            tbody class="sum" { (line(last)) }
        }
        p { "A piece every " (seconds(job.sheet.job.cycle.total_s)) "." }
    };
    Some(Section { key: "cycle", title: "The cycle of a piece", body })
}

pub(super) fn places(job: &Job) -> Option<Section> {
    let sheet = job.sheet;
    let table = html! {
        table class="places" {
            thead { tr { th { "Place" } th { "Tool" } th { "Spindle" } th { "For" } } }
            tbody {
                @for p in &sheet.places {
                    tr {
                        th scope="row" { (p.place) }
                        td { (p.tool) @if let Some(a) = &p.attachment { ", in " span class="name" { (a) } } }
                        td { (p.spindle) }
                        td class="name" { (p.features.join(", ")) }
                    }
                }
            }
        }
    };
    let body = html! {
        (scrolled("Tools in their places", &table))
        @if !sheet.free_places.is_empty() { p { "Free: " (prose(&sheet.free_places.join(", "))) "." } }
    };
    Some(Section { key: "places", title: "Tools in their places", body })
}
