//! Can the surface be sculpted?

use super::prelude::*;

/// Simultaneous axes for sculpted surfaces.
#[derive(Clone, Copy, Debug)]
pub(super) struct Contouring;

const DOC: Doc = Doc {
    question: "can the machine sculpt the surface?",
    what: "whether a live carrier states that three or more axes move at once",
    formulas: &[],
    why: "a sculpted surface is milled in rows with all axes moving; positioning alone leaves facets",
    source: "the machine's own figures",
    trips: include_str!("examples/contouring.trips.turn"),
    passes: include_str!("examples/contouring.passes.turn"),
};

impl Rule for Contouring {
    fn name(&self) -> &'static str {
        "contouring"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let any = case.task.machine.carriers.iter().any(|c| c.contouring);
        for (id, feature) in case.task.view.part.features.iter().enumerate() {
            let Kind::Contour(contour) = &feature.kind else { continue };
            let axes = format!("{} axes at once", contour.axes);
            out.push(if any {
                Finding::new(
                    self.name(),
                    Verdict::Fits,
                    Figure::Words(axes.into()),
                    Figure::Words("contouring stated".into()),
                )
                .about(id)
                .because(format!("`{}` is milled with simultaneous axes", feature.name))
            } else {
                Finding::new(
                    self.name(),
                    Verdict::Refused,
                    Figure::Words(axes.into()),
                    Figure::Words("no contouring stated".into()),
                )
                .about(id)
                .at([feature.place])
                .because(format!(
                    "`{}` needs {} axes at once; no live carrier states `contouring`",
                    feature.name, contour.axes
                ))
                .unless("a carrier whose live tools move with simultaneous axes")
            });
        }
    }
}
