//! Does the live tool turn fast enough?

use super::prelude::*;

/// Live tool speed against what the tool wants.
#[derive(Clone, Copy, Debug)]
pub(super) struct LiveSpeed;

const TURNS: &str = "n_max >= k x n";

const DOC: Doc = Doc {
    question: "does the live tool turn fast enough?",
    what: "the speed that the material asks of the tool's diameter against the live drive's own: below half of it warns, and below a fifth the tool rubs; it never refuses",
    formulas: &[TURNS],
    why: "nearly every shop runs small drills too slowly: it costs time and tool life, it is not a reason to say no",
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
            let finding = finding.by(case, TURNS, terms);
            let finding = match verdict {
                Verdict::Fits => finding.because(words),
                // A slow drill is time and tool life, never a reason to say no.
                _ => finding
                    .because(if share < t.live_speed_slow {
                        format!("{words}, less than a fifth: it rubs rather than cuts, counted in the time")
                    } else {
                        format!("{words}: longer and harder on the tool, counted in the time")
                    })
                    .unless(format!("a speeder of {}", wanted * t.live_speed_warns)),
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
