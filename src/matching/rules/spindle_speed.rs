//! Does the spindle turn fast enough?

use super::prelude::*;
use crate::formulas::cutting;
use crate::model::machine::Side;
use crate::quantity::Length;

/// The speed that the smallest turned diameter wants against the cap of mode and spindle.
#[derive(Clone, Copy, Debug)]
pub(super) struct SpindleSpeed;

const TURNS: &str = "n_max >= k x 1000 x v / (pi x d)";

const DOC: Doc = Doc {
    question: "does the spindle turn fast enough for the smallest diameter?",
    what: "the speed that the material's typical cutting speed asks of the smallest turned diameter against the cap of spindle and mode",
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
        let smallest = case
            .task
            .view
            .contour
            .iter()
            .map(|s| s.smallest())
            .filter(|d| *d > Length::mm(0.1))
            .min_by(Length::total_cmp);
        let Some(dia) = smallest else { return };
        let Ok(wanted) = cutting::spindle_speed(case.task.view.part.material.turning_speed.typical, dia) else {
            return;
        };
        let stated = case.task.speed_cap(Side::Main);
        let terms = || {
            let speed = case.task.view.part.material.turning_speed.typical;
            let at = case.task.mode.speed.or(case.task.machine.main.speed).map(|r| r.place);
            vec![
                Term::machine("n_max", "cap of spindle and mode", stated, at),
                Term::threshold("k", case.task.thresholds.live_speed_warns, "live-speed-warns"),
                Term::table("v", "typical turning speed of the material", speed, "materials"),
                Term::part("d", "smallest turned diameter", dia, None),
            ]
        };
        let Some(cap) = stated else {
            let finding = not_stated(self.name(), Figure::Speed(wanted), "the speed of the main spindle");
            out.push(finding.by(case, TURNS, terms));
            return;
        };
        let share = cap / wanted;
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
