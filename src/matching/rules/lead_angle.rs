//! Does the whirling head tilt far enough?

use super::prelude::*;
use crate::model::figure::Place;
use crate::planning::operation::GapReason;
use crate::quantity::Angle;

/// Lead angle against the head.
#[derive(Clone, Copy, Debug)]
pub(super) struct LeadAngle;

const TILT: &str = "atan(z x P / (pi x d_2)) <= b_max";

const DOC: Doc = Doc {
    question: "does the whirling head tilt to the lead angle?",
    what: "atan(starts x pitch / (pi x mean diameter)) against the angle that the head states",
    formulas: &[TILT],
    why: "a ring that does not follow the lead cuts its flanks off",
    source: "geometry",
    trips: include_str!("examples/lead-angle.trips.turn"),
    passes: include_str!("examples/lead-angle.passes.turn"),
};

impl Rule for LeadAngle {
    fn name(&self) -> &'static str {
        "lead-angle"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        for gap in &case.plan.gaps {
            if let GapReason::LeadAngle { needed, offered } = gap.reason {
                out.push(
                    Finding::new(self.name(), Verdict::Refused, Figure::Angle(needed), Figure::Angle(offered))
                        .by(case, TILT, || terms(case, gap.feature, Some(offered), None))
                        .about(gap.feature)
                        .because(format!(
                            "`{}` leads at {needed}, the head tilts to {offered}",
                            name(case, gap.feature)
                        ))
                        .unless(format!("a head that tilts to {needed}")),
                );
            }
        }
        for thread in &case.plan.threads {
            let Some(fit) = &thread.whirl else { continue };
            let head = &case.task.machine.options[fit.attachment];
            let terms = || terms(case, thread.feature, fit.lead_angle_offered, head.lead_angle.map(|r| r.place));
            match fit.lead_angle_offered {
                None => out.push(
                    not_stated(self.name(), Figure::Angle(thread.lead_angle), "how far the whirling head tilts")
                        .by(case, TILT, terms)
                        .about(thread.feature),
                ),
                Some(offered) => out.push(
                    Finding::new(self.name(), Verdict::Fits, Figure::Angle(thread.lead_angle), Figure::Angle(offered))
                        .by(case, TILT, terms)
                        .about(thread.feature)
                        .because(format!(
                            "`{}` leads at {}, the head tilts to {offered}",
                            name(case, thread.feature),
                            thread.lead_angle
                        )),
                ),
            }
        }
    }
}

fn terms(case: &Case, feature: FeatureId, tilt: Option<Angle>, at: Option<Place>) -> Vec<Term> {
    let Kind::Thread(thread) = &case.task.view.part.features[feature].kind else { return Vec::new() };
    let here = place(case, feature);
    vec![
        Term::part("z", "starts of the thread", thread.starts, here),
        Term::part("P", "pitch of the thread", thread.pitch, here),
        Term::part("d_2", "mean of major and minor diameter", thread.mean_dia(), here),
        Term::machine("b_max", "tilt of the whirling head", tilt, at),
    ]
}
