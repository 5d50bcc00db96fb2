//! Does every tool find a place?

use super::prelude::*;
use crate::planning::operation::Tool;
use crate::planning::places::{Assignment, Competition, Obstacle};
use crate::quantity::Money;

/// The exact assignment of tools to places; where it fails, the smallest set that competes.
#[derive(Clone, Copy, Debug)]
pub(super) struct ToolPlaces;

const PLACES: &str = "n <= N";

const DOC: Doc = Doc {
    question: "does every tool find a place?",
    what: "the tools that the job needs, merged where one serves several features, against the places of the carriers by direction, drive and holder; attachments by the places that they occupy and by how many are at hand",
    formulas: &[PLACES],
    why: "a tool without a place means a second operation or a changeover in the middle of the order",
    source: "exact assignment; the smallest competing set by Hall's condition",
    trips: include_str!("examples/tool-places.trips.turn"),
    passes: include_str!("examples/tool-places.passes.turn"),
};

impl Rule for ToolPlaces {
    fn name(&self) -> &'static str {
        "tool-places"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let a = &case.plan.assignment;
        let machine = case.task.machine;
        if let Some(c) = &a.competition {
            let features = c.tools.iter().flat_map(|t| case.plan.tools[*t].features.iter().copied()).next();
            let mut finding =
                Finding::new(self.name(), Verdict::Refused, Figure::Count(c.wanted), Figure::Count(c.there))
                    .by(case, PLACES, || {
                        terms(c.wanted, Term::machine("N", "places that would take them", c.there, None))
                    })
                    .because(competing(case, &case.plan.tools, a, c))
                    .unless(fewer(c.wanted - c.there));
            finding.feature = features;
            out.push(finding);
        }
        if let Some((attachment, wanted, there)) = a.short_of {
            let name = &machine.options[attachment].name;
            let price = machine.options[attachment].price.map(|p| p.value * f64::from(wanted - there));
            let cost = price.map(|p| format!(", {}", money(case, p))).unwrap_or_default();
            out.push(
                Finding::new(self.name(), Verdict::Refused, Figure::Count(wanted), Figure::Count(there))
                    .by(case, PLACES, || terms(wanted, Term::plan("N", "owned", there, "the shop's file")))
                    .because(format!("{wanted} of `{name}` needed, {there} owned"))
                    .unless(format!("{} more of `{name}`{cost}", wanted - there))
                    .at([machine.options[attachment].place]),
            );
        }
        // What has no place at all is told beside what competes for too few.
        for (tool, obstacle) in &a.obstacles {
            let feature = case.plan.tools[*tool].features.first().copied();
            let mut finding = match obstacle {
                Obstacle::NoCarrier { side, live } => {
                    let drive = if *live { "live" } else { "fixed" };
                    Finding::new(self.name(), Verdict::Refused, Figure::Count(1), Figure::Count(0))
                        .by(case, PLACES, || terms(1, Term::machine("N", "places that reach it so", 0, None)))
                        .because(format!(
                            "{}: no {drive} place works at the {} spindle that way",
                            describe(case, &case.plan.tools[*tool]),
                            side.word()
                        ))
                        .unless(format!("a {drive} place at the {} spindle", side.word()))
                }
                Obstacle::NoAttachment { attachment } => {
                    let option = &machine.options[*attachment];
                    let cost = option.price.map(|p| format!(", {}", money(case, p.value))).unwrap_or_default();
                    Finding::new(self.name(), Verdict::Refused, Figure::Count(1), Figure::Count(0))
                        .by(case, PLACES, || terms(1, Term::plan("N", "owned", 0, "the shop's file")))
                        .because(format!(
                            "{}: needs `{}`, which the shop does not own",
                            describe(case, &case.plan.tools[*tool]),
                            option.name
                        ))
                        .unless(format!("`{}`{cost}", option.name))
                        .at([option.place])
                }
                _ => continue,
            };
            finding.feature = feature;
            out.push(finding);
        }
        if a.is_complete() {
            let free: Vec<String> = (0..a.rows.len())
                .map(|r| {
                    format!(
                        "`{}` {} {}",
                        machine.carriers[a.rows[r].carrier].name,
                        a.free(r),
                        kind(a.rows[r].live, a.rows[r].pocket)
                    )
                })
                .collect();
            let least = (0..a.rows.len()).map(|r| a.free(r)).min().unwrap_or(0);
            let tools = case.plan.tools.len() as u32;
            let mut finding = Finding::new(self.name(), Verdict::Fits, Figure::Count(tools), Figure::Count(tools))
                .by(case, PLACES, || {
                    terms(tools, Term::plan("N", "tools with a place", tools, "the cheapest assignment"))
                })
                .because(format!("{tools} tools placed; free: {}", free.join(", ")));
            finding.margin = Some(Figure::Count(least));
            out.push(finding);
        }
        for choice in &case.plan.second_choices {
            let fastest = case.plan.usual.as_ref();
            let why = fastest.and_then(|(tools, a)| a.competition.as_ref().map(|c| competing(case, tools, a, c)));
            let why = why.map(|w| format!(" ({w})")).unwrap_or_default();
            // That a thread's method makes it less well the rule about methods says.
            let threaded = matches!(case.task.view.part.features[choice.feature].kind, Kind::Thread(_));
            let loss = case.plan.cycle.total * (case.task.thresholds.place_loss_percent / 100.0);
            let costs = choice.longer > loss || (choice.poorer && !threaded);
            let verdict = if costs { Verdict::Warns } else { Verdict::Fits };
            let (usual, taken) = (Figure::Words("the usual way".into()), Figure::Words("another way".into()));
            let finding = Finding::new(self.name(), verdict, usual, taken);
            out.push(finding.about(choice.feature).because(format!("{}{why}", choice.words)));
        }
    }
}

fn kind(live: bool, pocket: bool) -> &'static str {
    match (pocket, live) {
        (true, _) => "pockets",
        (false, true) => "live",
        (false, false) => "fixed",
    }
}

/// What would make the tools fit: `1 more place there, or 1 tool fewer`.
fn fewer(n: u32) -> String {
    let s = if n == 1 { "" } else { "s" };
    format!("{n} more place{s} there, or {n} tool{s} fewer")
}

/// Tools that compete, in words: `5 places asked of 4 live places of cross: ...`.
fn competing(case: &Case, tools: &[Tool], a: &Assignment, c: &Competition) -> String {
    let names = c.tools.iter().map(|t| describe(case, &tools[*t])).collect::<Vec<_>>().join(", ");
    let rows = c.rows.iter().map(|r| a.rows[*r].words(case.task.machine)).collect::<Vec<_>>().join(" and ");
    format!("{} places asked of {rows}: {names}", c.wanted)
}

/// A tool in words: `whirling head for cortical (2 neighbouring places)`.
fn describe(case: &Case, t: &Tool) -> String {
    let features: Vec<&str> = t.features.iter().map(|f| name(case, *f)).collect();
    let of = if features.is_empty() { String::new() } else { format!(" for {}", features.join(", ")) };
    let width = t.attachment.and_then(|a| case.task.machine.options[a].occupies.as_ref()).filter(|o| o.places > 1);
    let wide = width.map(|o| format!(" ({} neighbouring places)", o.places)).unwrap_or_default();
    let head = by_head(case, t).map(|h| format!(" in `{h}`")).unwrap_or_default();
    format!("{}{of}{head}{wide}", t.kind.word())
}

/// The hand-set head that an angled tool would need, where only a head reaches its angle.
fn by_head<'a>(case: &Case<'a>, t: &Tool) -> Option<&'a str> {
    let square = [0.0, 90.0, 180.0].iter().any(|a| (t.angle.to_deg() - a).abs() < 1e-6);
    if square || !t.live {
        return None;
    }
    let head = case.task.machine.options.iter().find(|o| o.by_hand && o.angle.is_some());
    head.map(|h| h.name.as_str())
}

fn money(case: &Case, amount: Money) -> String {
    format!("{} {}", crate::quantity::print::thousands(amount.to_units()), case.task.shop.currency.code())
}

fn terms(wanted: u32, there: Term) -> Vec<Term> {
    vec![Term::plan("n", "wanted", wanted, "the tools of the plan"), there]
}
