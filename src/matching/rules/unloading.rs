//! How does the part leave the machine?

use super::prelude::*;
use crate::quantity::{Length, Mass};

/// Ejection, chute and catcher against length, mass and finish.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unloading;

const LONG: &str = "L <= L_max";
const HEAVY: &str = "m <= m_max";
const FINE: &str = "Ra >= Ra_min";

const DOC: Doc = Doc {
    question: "how does the finished part leave the machine?",
    what: "the length against what the sub-spindle ejects and the catcher takes; without a gripper 150 mm, 0.5 kg and nothing finer than Ra 0.4 um",
    formulas: &[LONG, HEAVY, FINE],
    why: "a part that is too long jams or stays in the collet; a heavy or fine one is bruised by its fall",
    source: "common practice, no source; lengths from the machine",
    trips: include_str!("examples/unloading.trips.turn"),
    passes: include_str!("examples/unloading.passes.turn"),
};

impl Rule for Unloading {
    fn name(&self) -> &'static str {
        "unloading"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let (view, machine, t) = (case.task.view, case.task.machine, case.task.thresholds);
        let length = view.length;
        let catcher = machine.catcher.as_ref();
        let gripper = catcher.is_some_and(|c| c.gripper);
        let eject = machine.sub.as_ref().filter(|_| case.plan.hand_over.is_some()).and_then(|s| s.eject);
        let caught = catcher.and_then(|c| c.length);
        let chute = (!gripper && caught.is_none()).then(|| Length::mm(t.drop_length_mm));
        let shortest = [
            eject.and_then(|r| Some((r.high?, "the sub-spindle ejects", Some(r.place)))),
            caught.and_then(|r| Some((r.high?, "the catcher takes", Some(r.place)))),
            chute.map(|longest| (longest, "without a gripper a chute takes", None)),
        ];
        if let Some((longest, what, at)) = shortest.into_iter().flatten().min_by(|a, b| a.0.total_cmp(&b.0))
            && length > longest
        {
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Length(length), Figure::Length(longest))
                    .by(case, LONG, || {
                        let limit = match at {
                            Some(at) => Term::machine("L_max", what, longest, at),
                            None => Term::threshold("L_max", longest, "drop-length"),
                        };
                        vec![Term::part("L", "length of the part", length, view.part.length.place), limit]
                    })
                    .at(at)
                    .because(format!("{length} of part; {what} {longest}"))
                    .unless("a device for long parts, or taking it out by hand with the machine stopped"),
            );
        }
        if gripper {
            return;
        }
        let (mass, heaviest) = (view.mass(), Mass::kg(t.drop_mass_kg));
        if mass > heaviest {
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Mass(mass), Figure::Mass(heaviest))
                    .by(case, HEAVY, || {
                        vec![
                            Term::part("m", "mass of the part", mass, None),
                            Term::threshold("m_max", heaviest, "drop-mass"),
                        ]
                    })
                    .because(format!(
                        "{mass} of part fall into the chute, {heaviest} is the habit; no gripper is stated"
                    ))
                    .unless("a gripper, 2 to 8 s a part"),
            );
        }
        let finest = view.part.features.iter().enumerate().filter_map(|(id, f)| match &f.kind {
            Kind::Turn(t) => t.finish.map(|f| (id, f.ra)),
            Kind::Taper(t) if !t.internal => t.finish.map(|f| (id, f.ra)),
            Kind::Sphere(s) => s.finish.map(|f| (id, f.ra)),
            _ => None,
        });
        let limit = Length::um(t.drop_finish_um);
        if let Some((id, ra)) = finest.min_by(|a, b| a.1.total_cmp(&b.1))
            && ra < limit
        {
            out.push(
                Finding::new(self.name(), Verdict::Warns, Figure::Length(limit), Figure::Length(ra))
                    .by(case, FINE, || {
                        vec![
                            Term::part("Ra", "finest surface outside", ra, place(case, id)),
                            Term::threshold("Ra_min", limit, "drop-finish"),
                        ]
                    })
                    .about(id)
                    .because(format!("`{}` of Ra {ra} falls into the chute; no gripper is stated", name(case, id)))
                    .unless("a gripper, 2 to 8 s a part, or a soft catcher"),
            );
        }
    }
}
