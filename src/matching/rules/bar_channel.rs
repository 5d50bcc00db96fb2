//! Does the bar feeder guide the bar?

use super::prelude::*;

/// The bar against the channels of the feeder.
#[derive(Clone, Copy, Debug)]
pub(super) struct BarChannel;

/// Gap between bar and channel up to which full speed is run, and beyond which high speed is refused (mm).
const FULL_SPEED_GAP: f64 = 2.0;
const LARGEST_GAP: f64 = 4.0;
const HIGH_SPEED: f64 = 3000.0;

const DOC: Doc = Doc {
    question: "is the bar guided well enough behind the spindle?",
    what: "the gap between the bar's corners and the smallest channel that it passes: up to 2 mm at full speed, to 4 mm at 60 % of it, more only below 3,000 rpm",
    why: "every bar runs far above its first critical speed; what keeps it quiet is a small free gap",
    source: "common practice, no source",
    trips: include_str!("examples/bar-channel.trips.turn"),
    passes: include_str!("examples/bar-channel.passes.turn"),
};

impl Rule for BarChannel {
    fn name(&self) -> &'static str {
        "bar-channel"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let bar = case.plan.blank.corners;
        let Some(feeder) = &case.task.machine.feeder else {
            out.push(not_stated(self.name(), Figure::Length(bar), "a bar feeder"));
            return;
        };
        let Some(largest) = feeder.channels.last() else {
            out.push(not_stated(self.name(), Figure::Length(bar), "the feeder's channels"));
            return;
        };
        let Some(channel) = feeder.channels.iter().find(|c| **c >= bar + crate::quantity::Length::mm(0.3)) else {
            let finding = Finding::new(self.name(), Verdict::Refused, Figure::Length(bar), Figure::Length(*largest));
            out.push(
                finding
                    .because(format!("a bar of {bar} does not pass the feeder's largest channel, {largest}"))
                    .unless(format!("a channel of {} or more", bar + crate::quantity::Length::mm(1.0)))
                    .at([feeder.place]),
            );
            return;
        };
        let gap = *channel - bar;
        let fastest = case
            .plan
            .operations
            .iter()
            .filter(|o| !case.plan.tools[o.tool].live)
            .map(|o| o.speed.to_rpm())
            .fold(0.0, f64::max);
        let finding = Finding::new(
            self.name(),
            if gap.to_mm() <= FULL_SPEED_GAP || fastest <= HIGH_SPEED { Verdict::Fits } else { Verdict::Warns },
            Figure::Length(crate::quantity::Length::mm(if fastest > HIGH_SPEED {
                FULL_SPEED_GAP
            } else {
                LARGEST_GAP
            })),
            Figure::Length(gap),
        )
        .at_most()
        .at([feeder.place]);
        let words = format!("{bar} bar in the {channel} channel leaves {gap}");
        out.push(if finding.verdict == Verdict::Fits {
            finding.because(words)
        } else {
            finding
                .because(format!("{words}: too much for full speed, planned with 60 % of it"))
                .unless(format!("a channel nearer to {}", bar + crate::quantity::Length::mm(1.0)))
        });
    }
}
