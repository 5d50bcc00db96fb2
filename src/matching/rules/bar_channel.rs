//! Does the bar feeder guide the bar?

use super::bar_range;
use super::prelude::*;
use crate::model::machine::Side;
use crate::planning::bar_speed::{self, Fit, Guidance};
use crate::quantity::{Length, RotationalSpeed, Time};

/// The bar against the channels of the feeder, and its speed.
#[derive(Clone, Copy, Debug)]
pub(super) struct BarChannel;

const PASSES: &str = "b + a <= H";
const CLOSE: &str = "n <= n_b";
const LOOSE: &str = "n <= k x n_b";
const WIDE: &str = "H - b <= g_max";
const WIDE_SPEED: &str = "n <= min(k x n_b, n_w)";

const DOC: Doc = Doc {
    question: "is the bar guided well enough behind the spindle?",
    what: "the speed that the work asks for against what a long bar stands: 8,000 rpm to 8 mm, 5,000 at 20 mm, 4,000 at 32 mm, straight lines between; a bar as short as the spindle, which lies in it with its whole length, stands half as much again; with a gap of 2 to 4 mm between the bar's corners and the smallest channel that it passes 60 % of it, beyond 4 mm that and at most 3,000 rpm; the plan keeps to that and takes longer. Refused only where no channel takes the bar, or beyond a gap of 24 mm",
    formulas: &[PASSES, CLOSE, LOOSE, WIDE, WIDE_SPEED],
    why: "every bar runs far above its first critical speed; what keeps it quiet is a small free gap",
    source: "common practice, no source; the widest gap after beam theory, where a bar that whips across it bends for good",
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
        if case.plan.blank.coil || !bar_range::enters(case) {
            // Wire from a coil does not turn, and how a bar runs that does not enter is no question.
            return;
        }
        let Some(feeder) = &case.task.machine.feeder else {
            out.push(not_stated(self.name(), Figure::Length(bar), "a bar feeder"));
            return;
        };
        let Some(largest) = feeder.channels.last() else {
            out.push(not_stated(self.name(), Figure::Length(bar), "the feeder's channels"));
            return;
        };
        let Some(guidance) = bar_speed::guidance(case.task, &case.plan.blank) else {
            let air = Length::mm(case.task.thresholds.channel_air_mm);
            let asked = Figure::Length(bar + air);
            let finding = Finding::new(self.name(), Verdict::Refused, asked, Figure::Length(*largest));
            out.push(
                finding
                    .by(case, PASSES, || {
                        let air = Term::threshold("a", air, "channel-air");
                        vec![corners(bar), air, Term::machine("H", "largest channel", *largest, feeder.place)]
                    })
                    .because(format!("a bar of {bar} does not pass the feeder's largest channel, {largest}"))
                    .unless(format!("a channel of {} or more", standard_channel(bar)))
                    .at([feeder.place]),
            );
            return;
        };
        let Guidance { channel, gap, fit, allowed, .. } = guidance;
        let (wanted, lost) = asked(case, allowed);
        let limit = Length::mm(case.task.thresholds.bar_gap_limit_mm);
        let verdict = match wanted {
            _ if fit == Fit::Wide && gap > limit => Verdict::Refused,
            n if n <= allowed => Verdict::Fits,
            _ => Verdict::Warns,
        };
        let finding = match fit {
            // Only a gap is refused: speed is time.
            Fit::Wide if verdict != Verdict::Warns => {
                Finding::new(self.name(), verdict, Figure::Length(limit), Figure::Length(gap)).at_most()
            }
            _ => Finding::new(self.name(), verdict, Figure::Speed(wanted), Figure::Speed(allowed)),
        };
        let finding = match fit {
            Fit::Close => finding.by(case, CLOSE, || vec![asks(wanted), stands(&guidance)]),
            Fit::Loose => finding.by(case, LOOSE, || {
                let share = Term::threshold("k", case.task.thresholds.bar_gap_share, "bar-gap-share");
                vec![asks(wanted), share, stands(&guidance)]
            }),
            Fit::Wide if verdict == Verdict::Warns => finding.by(case, WIDE_SPEED, || {
                let most = RotationalSpeed::rpm(case.task.thresholds.bar_gap_speed_rpm);
                vec![
                    asks(wanted),
                    Term::threshold("k", case.task.thresholds.bar_gap_share, "bar-gap-share"),
                    stands(&guidance),
                    Term::threshold("n_w", most, "bar-gap-speed"),
                ]
            }),
            Fit::Wide => finding.by(case, WIDE, || {
                let there = Term::machine("H", "smallest channel that it passes", channel, feeder.place);
                vec![there, corners(bar), Term::threshold("g_max", limit, "bar-gap-limit")]
            }),
        };
        let length = if feeder.short { "a bar as short as the spindle" } else { "a long bar" };
        let words = match fit {
            Fit::Close => format!("{bar} bar in the {channel} channel: {length} is good for {allowed}"),
            _ => format!("{bar} bar in the {channel} channel leaves {gap}: good for {allowed}"),
        };
        let finding = finding.at([feeder.place]);
        let nearer = format!("a channel or reducing tube of {}", standard_channel(bar));
        out.push(match verdict {
            Verdict::Fits => finding.because(format!("{words}; the work asks for {wanted}")),
            Verdict::Warns => finding
                .because(format!("{words}, where the work asks for {wanted}; planned with that, about {lost} longer"))
                .unless(if fit == Fit::Close {
                    "shorter bars, or straighter ones tried out at speed".to_owned()
                } else {
                    nearer
                }),
            _ => finding
                .because(format!(
                    "{bar} bar in the {channel} channel leaves {gap}: beyond {limit} it bends itself crooked"
                ))
                .unless(nearer),
        });
    }
}

fn corners(bar: Length) -> Term {
    Term::plan("b", "bar over its corners", bar, STOCK)
}

fn asks(wanted: RotationalSpeed) -> Term {
    Term::plan("n", "fastest that the work asks for", wanted, "cutting speed, held to the caps of mode and spindle")
}

fn stands(guidance: &Guidance) -> Term {
    let by = "straight lines between the thresholds bar-speed-8, bar-speed-20, bar-speed-32; times bar-short where it is as \
              short as the spindle";
    Term::plan("n_b", "speed that the bar stands in a fitting channel", guidance.full, by)
}

/// The smallest channel that takes a bar with a millimetre of air: channels are sold in whole millimetres (common practice,
/// no source).
fn standard_channel(bar: Length) -> Length {
    Length::mm(libm::ceil(bar.to_mm() + 1.0 - 1e-9))
}

/// The fastest that work at the main spindle asks for within the spindle's own cap, and about how much longer a piece takes
/// where the bar holds it back.
fn asked(case: &Case, allowed: RotationalSpeed) -> (RotationalSpeed, Time) {
    let cap = case.task.speed_cap(Side::Main);
    let (mut fastest, mut lost) = (RotationalSpeed::ZERO, Time::ZERO);
    for op in case.plan.operations.iter().filter(|o| o.side == Side::Main && !case.plan.tools[o.tool].live) {
        let wanted = cap.map_or(op.wanted, |cap| op.wanted.min(cap));
        fastest = fastest.max(wanted);
        if wanted > allowed && op.speed >= allowed * 0.999 {
            lost += op.cutting * (1.0 - op.speed / wanted);
        }
    }
    (fastest, lost)
}
