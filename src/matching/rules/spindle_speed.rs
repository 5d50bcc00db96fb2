//! Does the spindle turn fast enough?

use super::prelude::*;
use crate::formulas::cutting;
use crate::model::machine::Side;
use crate::planning::operation::{Operation, Work};
use crate::quantity::{Length, RotationalSpeed};

/// The speed that the smallest skin to be turned off wants against the cap of mode and spindle.
#[derive(Clone, Copy, Debug)]
pub(super) struct SpindleSpeed;

const TURNS: &str = "n_max >= k x 1000 x v / (pi x d)";

const DOC: Doc = Doc {
    question: "does the spindle turn fast enough for the smallest cut?",
    what: "the speed that the material's typical cutting speed asks of the smallest skin that a turning pass takes off against the cap of spindle and mode",
    formulas: &[TURNS],
    why: "below it the cut is slower and its time longer; it is a cost, never a refusal",
    source: "cutting speed from the material table; n = 1000 v / (pi d)",
    trips: include_str!("examples/spindle-speed.trips.turn"),
    passes: include_str!("examples/spindle-speed.passes.turn"),
};

impl Rule for SpindleSpeed {
    fn name(&self) -> &'static str {
        "spindle-speed"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let v = case.task.view.part.material.turning_speed.typical;
        // The cut whose skin is the smallest; a surface left as bar is faced and cut off all the same.
        let turned = |o: &&Operation| matches!(o.work, Work::Turn | Work::FinishTurn | Work::RoughTurn);
        let fastest = case.plan.operations.iter().filter(turned).map(|o| o.wanted).max_by(RotationalSpeed::total_cmp);
        let Ok(wanted) = fastest.map_or_else(|| cutting::spindle_speed(v, case.plan.blank.size), Ok) else { return };
        let dia = Length::mm(1000.0 * v.to_m_per_min() / (std::f64::consts::PI * wanted.to_rpm()));
        let stated = case.task.speed_cap(Side::Main);
        let terms = || {
            let at = case.task.mode.speed.or(case.task.machine.main.speed).map(|r| r.place);
            vec![
                Term::machine("n_max", "cap of spindle and mode", stated, at),
                Term::threshold("k", case.task.thresholds.live_speed_warns, "live-speed-warns"),
                Term::table("v", "typical turning speed of the material", v, "materials"),
                Term::part("d", "smallest skin that a turning pass takes off", dia, None),
            ]
        };
        let Some(cap) = stated else {
            let finding = not_stated(self.name(), Figure::Speed(wanted), "the speed of the main spindle");
            out.push(finding.by(case, TURNS, terms));
            return;
        };
        let share: f64 = cap / wanted;
        let t = case.task.thresholds;
        let verdict = if share >= t.live_speed_warns { Verdict::Fits } else { Verdict::Warns };
        let reached = cutting::surface_speed(cap.min(wanted), dia);
        let finding = Finding::new(self.name(), verdict, Figure::Speed(wanted), Figure::Speed(cap))
            .down_to(Figure::Speed(wanted * t.live_speed_warns))
            .by(case, TURNS, terms)
            .because(format!("{dia} wants {wanted}; the cap of {cap} gives {reached} there"));
        out.push(if verdict == Verdict::Fits {
            finding
        } else {
            finding.unless("a faster spindle; the time already counts it")
        });
    }
}
