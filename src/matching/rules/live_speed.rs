//! Does the live tool turn fast enough?

use super::prelude::*;
use crate::formulas::cutting;
use crate::quantity::{RotationalSpeed, Time};

/// Live tool speed against what the tool wants.
#[derive(Clone, Copy, Debug)]
pub(super) struct LiveSpeed;

const TURNS: &str = "n_max >= k x n";

const DOC: Doc = Doc {
    question: "does the live tool turn fast enough?",
    what: "the speed that the material asks of the tool's diameter against the live drive's own: below half of it warns, with what it costs a piece; it never refuses",
    formulas: &[TURNS],
    why: "nearly every shop runs small drills too slowly: a slow edge cuts as well, since its feed a revolution stays: it costs time and is no reason to say no",
    source: "common practice, no source",
    trips: include_str!("examples/live-speed.trips.turn"),
    passes: include_str!("examples/live-speed.passes.turn"),
};

impl Rule for LiveSpeed {
    fn name(&self) -> &'static str {
        "live-speed"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        // One finding a carrier: its tool with the least of what it wants.
        let mut worst: Vec<(usize, f64, Finding)> = Vec::new();
        for (i, tool) in case.plan.tools.iter().enumerate() {
            let (Some(wanted), Some(placed)) = (tool.speed_wanted, case.plan.assignment.placed[i].as_ref()) else {
                continue;
            };
            let carrier_number = case.plan.assignment.rows[placed.row].carrier;
            let carrier = &case.task.machine.carriers[carrier_number];
            let own = placed.attachment.and_then(|a| case.task.machine.options[a].speed).or(carrier.speed);
            let feature = tool.features.first().copied();
            let terms = || {
                vec![
                    Term::machine("n_max", "speed of the live drive", own.and_then(|r| r.high), own.map(|r| r.place)),
                    Term::threshold("k", t.live_speed_warns, "live-speed-warns"),
                    Term::plan(
                        "n",
                        "speed that the tool wants",
                        wanted,
                        "the material's cutting speed over the tool's diameter",
                    ),
                ]
            };
            let Some(cap) = own.and_then(|r| r.high) else {
                let mut finding = not_stated(self.name(), Figure::Speed(wanted), "the speed of its live tools")
                    .by(case, TURNS, terms);
                finding.feature = feature;
                worst.push((carrier_number, 0.0, finding));
                continue;
            };
            let share = cap / wanted;
            let verdict = if share >= t.live_speed_warns { Verdict::Fits } else { Verdict::Warns };
            let words = format!("{} of {} wants {wanted}; `{}` turns {cap}", tool.kind.word(), tool.dia, carrier.name);
            let mut finding = Finding::new(self.name(), verdict, Figure::Speed(wanted), Figure::Speed(cap));
            finding.margin = Some(Figure::Speed(cap - wanted * t.live_speed_warns));
            finding.feature = feature;
            let finding = finding.limit(Figure::Speed(wanted * t.live_speed_warns)).by(case, TURNS, terms);
            let finding = match verdict {
                Verdict::Fits => finding.because(words),
                // A slow drill is time, never a reason to say no.
                _ => {
                    let lost = lost(case, i, wanted);
                    let edge = cutting::surface_speed(cap, tool.dia);
                    finding
                        .because(format!(
                            "{words}, {edge} at its edge: about {lost} a piece longer, counted in the time"
                        ))
                        .unless(faster(wanted * t.live_speed_warns / cap, lost >= Time::s(t.holder_worth_s)))
                }
            };
            match worst.iter_mut().find(|(c, _, _)| *c == carrier_number) {
                Some(there) if share < there.1 => *there = (carrier_number, share, finding),
                Some(_) => {}
                None => worst.push((carrier_number, share, finding)),
            }
        }
        out.extend(worst.into_iter().map(|(_, _, finding)| finding));
    }
}

/// About how much longer a piece takes because a tool turns slower than it wants.
fn lost(case: &Case, tool: usize, wanted: RotationalSpeed) -> Time {
    let ops = case.plan.operations.iter().filter(|o| o.tool == tool && o.speed < wanted);
    ops.map(|o| o.cutting * (1.0 - o.speed / wanted)).fold(Time::ZERO, |sum, t| sum + t)
}

/// What would turn the tool faster: speed-increasing holders are geared 1:2 or 1:3 (common practice, no source).
fn faster(ratio: f64, is_worth_it: bool) -> &'static str {
    match ratio {
        _ if !is_worth_it => "nothing: so little time is worth no holder",
        r if r <= 2.0 => "a 1:2 speed-increasing holder",
        r if r <= 3.0 => "a 1:3 speed-increasing holder",
        _ => "nothing geared: a spindle of its own, driven by air or a motor",
    }
}

#[cfg(test)]
mod tests {
    use super::faster;

    #[test]
    fn a_holder_is_geared_far_enough_and_worth_its_price() {
        assert!(faster(1.5, false).starts_with("nothing"));
        assert!(faster(2.0, true).contains("1:2") && faster(2.01, true).contains("1:3"));
        assert!(faster(3.0, true).contains("1:3") && faster(3.01, true).starts_with("nothing geared"));
    }
}
