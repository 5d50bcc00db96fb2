//! Are the edges as the drawing asks?

use super::prelude::*;
use crate::model::machine::Side;
use crate::model::part::{EdgeKind, Edges, End};
use crate::planning::operation::{Operation, Work};
use crate::quantity::Length;

/// Edges that must be sharp and get a burr, edges that must be broken and are not reached.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge;

const DOC: Doc = Doc {
    question: "are sharp edges free of burrs, and the edges of the cut-off side and of what is milled broken?",
    what: "whether a groove, a hole or a flat is cut beside a sharp edge after its surface has had its last pass; whether anything works at the cut-off side where its edges are to be broken; whether anything takes the burr off what is milled or cross-drilled after its surface has had its last pass",
    formulas: &[],
    why: "a cut across a finished surface throws a burr over its edge, and a control edge with a burr leaks or sticks; what is cut off last has the edge of the blade",
    source: "common practice, no source",
    trips: include_str!("examples/edges.trips.turn"),
    passes: include_str!("examples/edges.passes.turn"),
};

impl Rule for Edge {
    fn name(&self) -> &'static str {
        "edges"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let part = case.task.view.part;
        for (id, feature) in part.features.iter().enumerate() {
            let Kind::Edges(edges) = &feature.kind else { continue };
            match edges.kind {
                EdgeKind::Sharp => {
                    let with_burr = edges.of.iter().filter_map(|f| burr_at(case, *f));
                    out.extend(with_burr.map(|(surface, cut)| sharp(self.name(), case, id, surface, cut)));
                }
                EdgeKind::Break | EdgeKind::Radius => {
                    out.extend(at_cut_off(self.name(), case, id, edges));
                    out.extend(milled(self.name(), case, id, edges));
                }
            }
        }
    }
}

/// The surface at a sharp edge and the first cut into it after its last pass; either of them is the feature that is named.
fn burr_at<'c>(case: &Case<'c>, sharp: FeatureId) -> Option<(FeatureId, &'c Operation)> {
    let (view, operations) = (case.task.view, &case.plan.operations);
    let zone = |f: FeatureId| view.part.stretch(&view.feature(f).kind);
    let finishes = |o: &Operation| matches!(o.work, Work::Turn | Work::FinishTurn | Work::Ream | Work::Bore);
    let is_inside = |f: FeatureId| matches!(view.feature(f).kind, Kind::Bore(_));
    for (i, cut) in operations.iter().enumerate() {
        let cuts_in = matches!(
            cut.work,
            Work::Groove | Work::InternalGroove | Work::CrossDrill | Work::MillFlats | Work::MillSlot
        );
        let Some(of) = cut.feature.filter(|_| cuts_in) else { continue };
        let surface =
            operations[..i].iter().filter(|o| finishes(o) && o.side == cut.side).filter_map(|o| o.feature).find(|f| {
                let inside = cut.work == Work::InternalGroove;
                let again = operations[i..].iter().any(|o| finishes(o) && o.feature == Some(*f));
                let beside = zone(*f).overlap(&zone(of)) >= -Length::um(1.0);
                (*f == sharp || of == sharp) && *f != of && is_inside(*f) == inside && beside && !again
            });
        if let Some(surface) = surface {
            return Some((surface, cut));
        }
    }
    None
}

fn sharp(rule: &'static str, case: &Case, edges: FeatureId, surface: FeatureId, cut: &Operation) -> Finding {
    let of = cut.feature.map_or("", |f| name(case, f));
    let on = name(case, surface);
    let (asked, offered) = (Figure::Words("before the last pass".into()), Figure::Words("after it".into()));
    Finding::new(rule, Verdict::Warns, asked, offered)
        .about(surface)
        .at([place(case, edges)])
        .because(format!(
            "`{of}` ({}) comes after the last pass of `{on}`: a burr on an edge that must be sharp",
            cut.work.word()
        ))
        .unless(format!("a last pass over `{on}` after it, or the edge brushed"))
}

/// Edges that are to be broken at the cut-off side, where nothing works.
fn at_cut_off(rule: &'static str, case: &Case, id: FeatureId, edges: &Edges) -> Option<Finding> {
    let view = case.task.view;
    if case.plan.cycle.sides.contains(&Side::Sub) {
        return None;
    }
    let (last, end) = match case.task.first {
        End::Front => (view.length, End::Back),
        End::Back => (Length::ZERO, End::Front),
    };
    let meant = |f: FeatureId| edges.of.is_empty() || edges.of.contains(&f);
    let near = |z: Length| (z - last).abs() <= Length::um(1.0);
    let features = || view.part.features.iter().enumerate();
    let broken = |inside: bool| {
        features().any(|(_, f)| match &f.kind {
            Kind::Chamfer(c) => near(c.at) && c.inside == inside,
            _ => false,
        })
    };
    let outer = view.contour.iter().find(|s| near(s.zone.start) || near(s.zone.end)).filter(|s| meant(s.feature));
    let mut left: Vec<String> = Vec::new();
    if outer.is_some() && !broken(false) {
        left.push("the outer edge".to_owned());
    }
    let opens = |f: &Kind| matches!(f, Kind::Bore(b) if near(b.zone.start) || near(b.zone.end));
    if !broken(true) {
        left.extend(
            features().filter(|(f, x)| opens(&x.kind) && meant(*f)).map(|(_, x)| format!("the mouth of `{}`", x.name)),
        );
    }
    if left.is_empty() {
        return None;
    }
    let side = if end == End::Back { "back" } else { "front" };
    let (asked, offered) = (Figure::Words("broken".into()), Figure::Words("as cut off".into()));
    Some(
        Finding::new(rule, Verdict::Warns, asked, offered)
            .about(id)
            .at([place(case, id)])
            .because(format!("nothing works at the cut-off side ({side}): {} {} as cut off", left.join(" and "), if left.len() == 1 { "stays" } else { "stay" }))
            .unless("the edge chamfered before the cut-off where a tool reaches, work at a sub-spindle, or tumbling or deburring by hand"),
    )
}

/// Edges that are to be broken where a live tool cuts a surface after its last pass: no tool of the plan takes its burr off.
fn milled(rule: &'static str, case: &Case, id: FeatureId, edges: &Edges) -> Option<Finding> {
    let (part, operations) = (case.task.view.part, &case.plan.operations);
    if part.after.iter().any(|a| a.process == "deburr") {
        return None;
    }
    let mut burred: Vec<String> = Vec::new();
    for (i, cut) in operations.iter().enumerate() {
        let cuts = matches!(
            cut.work,
            Work::MillFlats
                | Work::StraddleMill
                | Work::PolygonTurn
                | Work::MillSlot
                | Work::MillKeyway
                | Work::CrossDrill
                | Work::EndDrill
        );
        let Some(feature) = cut.feature.filter(|f| cuts && (edges.of.is_empty() || edges.of.contains(f))) else {
            continue;
        };
        let zone = part.stretch(&part.features[feature].kind);
        let middle = (zone.start + zone.end) / 2.0;
        let passes = |o: &Operation| {
            let turned = o.zone.or_else(|| o.feature.map(|f| part.stretch(&part.features[f].kind)));
            matches!(o.work, Work::Turn | Work::FinishTurn)
                && o.side == cut.side
                && turned.is_some_and(|z| z.start < middle && z.end > middle)
        };
        let words = format!("`{}` ({})", name(case, feature), cut.work.word());
        if !operations[i + 1..].iter().any(passes) && !burred.contains(&words) {
            burred.push(words);
        }
    }
    if burred.is_empty() {
        return None;
    }
    let (asked, offered) = (Figure::Words("broken".into()), Figure::Words("as milled".into()));
    Some(
        Finding::new(rule, Verdict::Warns, asked, offered)
            .about(id)
            .at([place(case, id)])
            .because(format!("nothing follows {}: the burr stays on edges that are to be broken", burred.join(", ")))
            .unless("a chamfer mill or a countersink over them, 2 to 6 s each, or brushing or tumbling afterwards"),
    )
}
