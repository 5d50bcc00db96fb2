//! Does the grooving blade stand?

use super::prelude::*;
use crate::model::part::GrooveSide;
use crate::quantity::Length;

/// Depth of grooves over their width, and the least face groove.
#[derive(Clone, Copy, Debug)]
pub(super) struct GrooveDepth;

const FACE: &str = "D >= D_min";
const DEEP: &str = "(D - d) / 2 / w <= k";
const DEEP_FACE: &str = "t / ((D - d) / 2) <= k";

const DOC: Doc = Doc {
    question: "does the grooving blade stand the depth?",
    what: "depth over width: 2, in steel 3, more warns; the outer diameter of a face groove against 6 mm, less refuses",
    formulas: &[FACE, DEEP, DEEP_FACE],
    why: "a deep narrow blade bends and catches its chip; a face-grooving blade rubs in a circle tighter than its own",
    source: "common practice, no source",
    trips: include_str!("examples/groove-depth.trips.turn"),
    passes: include_str!("examples/groove-depth.passes.turn"),
};

impl Rule for GrooveDepth {
    fn name(&self) -> &'static str {
        "groove-depth"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let (view, t) = (case.task.view, case.task.thresholds);
        let steel = view.part.material.iso_513 == 'P';
        let limit = if steel { t.groove_depth_steel } else { t.groove_depth };
        for (id, feature) in view.part.features.iter().enumerate() {
            let (depth, width, outer, inner) = match &feature.kind {
                Kind::Groove(g) if g.side == GrooveSide::External => {
                    let shore = view.dia_at(g.zone.start).min(view.dia_at(g.zone.end));
                    ((shore - g.dia.nominal) / 2.0, g.zone.length(), shore, g.dia.nominal)
                }
                Kind::Undercut(u) if !u.inside => {
                    let shore = view.dia_at(u.zone.start).min(view.dia_at(u.zone.end));
                    ((shore - u.dia.nominal) / 2.0, u.zone.length(), shore, u.dia.nominal)
                }
                Kind::Groove(g) if matches!(g.side, GrooveSide::Face(_)) => {
                    let outer = g.outer_dia.as_ref().map_or(g.dia.nominal, |d| d.nominal);
                    let least = Length::mm(t.face_groove_least_mm);
                    if outer < least {
                        out.push(
                            Finding::new(self.name(), Verdict::Refused, Figure::Length(least), Figure::Length(outer))
                                .by(case, FACE, || {
                                    vec![
                                        Term::part("D", "outer diameter of the groove", outer, feature.place),
                                        Term::threshold("D_min", least, "face-groove-least"),
                                    ]
                                })
                                .about(id)
                                .because(format!(
                                    "`{}` is {outer} outside: no face-grooving blade curves so tightly, from {least}",
                                    feature.name
                                ))
                                .unless(format!("a groove of {least} outside and more, or one that is milled")),
                        );
                    }
                    (g.zone.length(), (outer - g.dia.nominal) / 2.0, outer, g.dia.nominal)
                }
                _ => continue,
            };
            let face = matches!(&feature.kind, Kind::Groove(g) if matches!(g.side, GrooveSide::Face(_)));
            let ratio = depth / width.max(Length::um(1.0));
            if ratio > limit + 1e-9 {
                out.push(
                    Finding::new(self.name(), Verdict::Warns, Figure::Number(ratio), Figure::Number(limit))
                        .by(case, if face { DEEP_FACE } else { DEEP }, || {
                            let name = if steel { "groove-depth-steel" } else { "groove-depth" };
                            vec![
                                Term::part("D", "outer diameter of the groove", outer, feature.place),
                                Term::part("d", "inner diameter of the groove", inner, feature.place),
                                if face {
                                    Term::part("t", "depth of the groove", depth, feature.place)
                                } else {
                                    Term::part("w", "width of the groove", width, feature.place)
                                },
                                Term::threshold("k", limit, name),
                            ]
                        })
                        .about(id)
                        .because(format!(
                            "`{}` is {depth} deep and {width} wide, {ratio:.1} times; {limit} is usual in {}",
                            feature.name, view.part.material.name
                        ))
                        .unless(format!("{} of width, or plunging in pecks at a lower feed", depth / limit)),
                );
            }
        }
    }
}
