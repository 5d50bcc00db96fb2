//! Does the wall between two cuts stand?

use super::super::geometry::{self, Mouth};
use super::prelude::*;
use crate::quantity::Length;

/// Metal left between holes, and between a hole and an edge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ligament;

const WEB: &str = "w >= max(w_0, k x d)";

const DOC: Doc = Doc {
    question: "does the metal between two cuts stand?",
    what: "what is left between the mouths of holes, inside where they end in a bore, between a hole and a socket or bore that it passes, between them and shoulders, grooves and end faces, against max(0.3 mm, 0.1 d); a mouth is as long as d over the sine of its angle",
    formulas: &[WEB],
    why: "a thinner web tears out, folds over as a burr, or lets the drill run off",
    source: "common practice, no source; the length of a mouth is geometry",
    trips: include_str!("examples/ligament.trips.turn"),
    passes: include_str!("examples/ligament.passes.turn"),
};

impl Rule for Ligament {
    fn name(&self) -> &'static str {
        "ligament"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let mouths: Vec<Mouth> = geometry::mouths(case.task.view);
        let t = case.task.thresholds;
        let part = case.task.view.part;
        for (i, mouth) in mouths.iter().enumerate() {
            let least = Length::mm(t.ligament_least_mm).max(mouth.dia * t.ligament_share);
            let mut worst: Option<(Length, String)> = None;
            let mut found = |wall: Length, to: &dyn Fn() -> String| {
                if wall < least && worst.as_ref().is_none_or(|(w, _)| wall < *w) {
                    worst = Some((wall, to()));
                }
            };
            found(mouth.around, &|| "its neighbour around".to_owned());
            if let Some(inside) = mouth.inside {
                found(inside, &|| "its neighbour where they end".to_owned());
            }
            if let Some((wall, to)) = mouth.beside {
                found(wall, &|| format!("`{}`", part.features[to].name));
            }
            if let Some((wall, to)) = mouth.edge {
                found(wall, &|| {
                    to.map_or_else(|| "the end face".to_owned(), |f| format!("`{}`", part.features[f].name))
                });
            }
            for other in &mouths[..i] {
                found(mouth.between(other), &|| format!("`{}`", part.features[other.feature].name));
            }
            let Some((wall, to)) = worst else { continue };
            let words = if wall <= Length::ZERO {
                format!("the mouth of `{}` runs {} into {to}", name(case, mouth.feature), -wall)
            } else {
                format!("{wall} of metal between `{}` and {to}", name(case, mouth.feature))
            };
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Length(least), Figure::Length(wall))
                    .by(case, WEB, || {
                        vec![
                            Term::part("w", "metal left between the cuts", wall, place(case, mouth.feature)),
                            Term::threshold("w_0", Length::mm(t.ligament_least_mm), "ligament-least"),
                            Term::threshold("k", t.ligament_share, "ligament-share"),
                            Term::part("d", "diameter of the hole", mouth.dia, place(case, mouth.feature)),
                        ]
                    })
                    .about(mouth.feature)
                    .at([part.features[mouth.feature].place])
                    .because(words)
                    .unless(format!("{least} between them")),
            );
        }
    }
}
