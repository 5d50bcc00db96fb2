//! Does the coolant suit the material?

use super::prelude::*;
use crate::model::machine::CoolantMedium;
use crate::tables::materials::Hazard;

/// Coolant medium against the material's hazards.
#[derive(Clone, Copy, Debug)]
pub(super) struct Coolant;

const DOC: Doc = Doc {
    question: "does the coolant suit the material, and who must be warned?",
    what: "oil with titanium, nickel or stainless: fire caution, and whether fire suppression is stated; water with magnesium: refused",
    formulas: &[],
    why: "a broken tool lights oil mist over titanium; water on magnesium gives hydrogen",
    source: "cautions table with its sources; follow the machine's manual and local codes",
    trips: include_str!("examples/coolant.trips.turn"),
    passes: include_str!("examples/coolant.passes.turn"),
};

impl Rule for Coolant {
    fn name(&self) -> &'static str {
        "coolant"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let material = &case.task.view.part.material;
        let Some(coolant) = &case.task.machine.coolant else {
            out.push(not_stated(self.name(), Figure::Words(material.name.clone().into()), "its coolant"));
            return;
        };
        let place = case.task.view.part.material_place;
        let oil = coolant.medium == CoolantMedium::Oil;
        if material.hazards.contains(&Hazard::MagnesiumChips) && !oil {
            out.push(
                Finding::new(
                    self.name(),
                    Verdict::Refused,
                    Figure::Words("no water".into()),
                    Figure::Words("emulsion".into()),
                )
                .at([coolant.place, place])
                .because("magnesium chips with water give hydrogen: no emulsion")
                .unless("mineral oil, or dry cutting with the cautions for magnesium"),
            );
            return;
        }
        let burns = material.hazards.contains(&Hazard::TitaniumChips) || material.iso_513 == 'S';
        if oil && burns {
            let finding = if coolant.fire_suppression {
                Finding::new(self.name(), Verdict::Warns, Figure::Words("fire suppression".into()), Figure::Words("stated".into()))
                    .because(format!("{} under oil can burn: the machine states fire suppression; keep it armed, watch tool breakage and oil flow", material.name))
            } else {
                let mut finding = not_stated(self.name(), Figure::Words("fire suppression".into()), "fire suppression");
                finding.reason =
                    format!("{} under oil can burn and the machine does not state fire suppression", material.name)
                        .into();
                finding.remedy = Some("fit automatic extinguishing before unattended running, or state it".to_owned());
                // A caution, not a reason to say no.
                finding.verdict = Verdict::Warns;
                finding
            };
            out.push(finding.at([coolant.place, place]));
            return;
        }
        let medium = if oil { "oil" } else { "emulsion" };
        out.push(
            Finding::new(
                self.name(),
                Verdict::Fits,
                Figure::Words(material.name.clone().into()),
                Figure::Words(medium.into()),
            )
            .because(format!("{} under {medium}", material.name)),
        );
    }
}
