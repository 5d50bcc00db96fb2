//! Does the bar feeder guide the bar?

use super::prelude::*;
use crate::model::machine::Side;
use crate::planning::blank;
use crate::quantity::{Length, RotationalSpeed};
use crate::tables::thresholds::Thresholds;

/// The bar against the channels of the feeder, and its speed.
#[derive(Clone, Copy, Debug)]
pub(super) struct BarChannel;

const PASSES: &str = "b + a <= H";
const FITTING: &str = "n <= n_b";
const LOOSE: &str = "n <= k x n_b";
const WIDE: &str = "n <= min(n_b, n_g)";
const SLOWEST: &str = "1000 x v / (pi x d) <= min(n_b, n_g)";

const DOC: Doc = Doc {
    question: "is the bar guided well enough behind the spindle?",
    what: "the speed of the work against what a long bar stands: 8,000 rpm to 8 mm, 5,000 at 20 mm, 4,000 at 32 mm, straight lines between; with a gap of 2 to 4 mm between the bar's corners and the smallest channel that it passes 60 % of it, beyond 4 mm 3,000 rpm, and there the part is refused where even its slowest turning asks for more",
    formulas: &[PASSES, FITTING, LOOSE, WIDE, SLOWEST],
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
        // Wire from a coil has no channel and does not turn.
        if case.plan.blank.coil {
            return;
        }
        let t = case.task.thresholds;
        let bar = case.plan.blank.corners;
        let air = Length::mm(t.channel_air_mm);
        let Some(feeder) = &case.task.machine.feeder else {
            out.push(not_stated(self.name(), Figure::Length(bar), "a bar feeder"));
            return;
        };
        let Some(largest) = feeder.channels.last() else {
            out.push(not_stated(self.name(), Figure::Length(bar), "the feeder's channels"));
            return;
        };
        let Some(channel) = feeder.channel_for(bar, air) else {
            let finding =
                Finding::new(self.name(), Verdict::Refused, Figure::Length(bar + air), Figure::Length(*largest));
            out.push(
                finding
                    .by(case, PASSES, || {
                        vec![
                            Term::plan("b", "bar over its corners", bar, STOCK),
                            Term::threshold("a", air, "channel-air"),
                            Term::machine("H", "largest channel", *largest, feeder.place),
                        ]
                    })
                    .because(format!("a bar of {bar} does not pass the feeder's largest channel, {largest}"))
                    .unless(format!("a channel of {} or more", bar + Length::mm(1.0)))
                    .at([feeder.place]),
            );
            return;
        };
        let gap = channel - bar;
        let turned = case.plan.operations.iter().filter(|o| o.side == Side::Main && !case.plan.tools[o.tool].live);
        let fastest = turned.map(|o| o.speed).fold(RotationalSpeed::ZERO, RotationalSpeed::max);
        let cap = case.task.speed_cap(Side::Main);
        // A bar as long as the spindle stands what the spindle turns.
        let full = if feeder.short { cap.unwrap_or(fastest) } else { full_speed(t, bar) };
        // The plan itself holds a loose bar back: where that binds, it costs time.
        let share = blank::speed_share(case.task, &case.plan.blank);
        let held_back = share < 1.0 && cap.is_some_and(|cap| fastest >= cap * (share * 0.999));
        let wide = gap > Length::mm(t.bar_gap_most_mm);
        let allowed = match gap.to_mm() {
            g if g <= t.bar_gap_full_mm => full,
            g if g <= t.bar_gap_most_mm => full * t.bar_gap_share,
            _ => full.min(RotationalSpeed::rpm(t.bar_gap_speed_rpm)),
        };
        // The largest diameter at the slow end of the material's speeds: nothing useful turns slower than that.
        let least = cutting_least(case);
        // Whatever the spindle turns: a slow one would only hide what the bar does not stand.
        let stands = if feeder.short { RotationalSpeed::rpm(t.bar_gap_speed_rpm) } else { allowed };
        let verdict = match fastest {
            _ if wide && least > stands => Verdict::Refused,
            n if n <= allowed && !held_back => Verdict::Fits,
            _ => Verdict::Warns,
        };
        let asked = if verdict == Verdict::Refused { least } else { fastest };
        // Only a loose bar is refused. What the plan would turn without it is not known where it is held back already.
        let margin = match verdict {
            _ if wide => Some(stands - least),
            _ if held_back => None,
            _ => Some(allowed - fastest),
        };
        let formula = match gap.to_mm() {
            g if g <= t.bar_gap_full_mm => FITTING,
            g if g <= t.bar_gap_most_mm => LOOSE,
            _ if verdict == Verdict::Refused => SLOWEST,
            _ => WIDE,
        };
        let finding = Finding {
            margin: margin.map(Figure::Speed),
            ..Finding::new(self.name(), verdict, Figure::Speed(asked), Figure::Speed(allowed))
                .by(case, formula, || speed_terms(case, formula, fastest, full))
                .at([feeder.place])
        };
        let words = format!("{bar} bar in the {channel} channel leaves {gap}");
        let nearer = format!("a channel nearer to {}", bar + Length::mm(1.0));
        out.push(match verdict {
            Verdict::Fits => finding.because(format!("{words}, good for {allowed}; it turns at {fastest}")),
            Verdict::Warns if fastest <= allowed => finding
                .because(format!("{words}: it is planned with {:.0} % of the speed, {fastest}", 100.0 * share))
                .unless(nearer),
            Verdict::Warns if gap > Length::mm(t.bar_gap_full_mm) => finding
                .because(format!(
                    "{words}, good for {allowed}; the plan turns at {fastest}: reckon with a longer cycle"
                ))
                .unless(nearer),
            Verdict::Warns => finding
                .because(format!(
                    "{words}, a long bar is good for {allowed}; the plan turns at {fastest}: reckon with a longer cycle"
                ))
                .unless("shorter bars, or straighter ones tried out at speed"),
            _ => finding
                .because(format!("{words}, good for {allowed}; even slow turning of this part asks for {least}"))
                .unless(nearer),
        });
    }
}

/// The speed that a long bar stands in a fitting channel.
fn full_speed(t: &Thresholds, bar: Length) -> RotationalSpeed {
    let points = [(8.0, t.bar_speed_8_rpm), (20.0, t.bar_speed_20_rpm), (32.0, t.bar_speed_32_rpm)];
    let d = bar.to_mm();
    let rpm = match points {
        [(low, n), ..] if d <= low => n,
        [(a, n), (b, m), _] if d <= b => n + (m - n) * (d - a) / (b - a),
        [_, (a, n), (b, m)] if d <= b => n + (m - n) * (d - a) / (b - a),
        // Beyond it the surface speed of the bar stays.
        [.., (b, m)] => m * b / d,
    };
    RotationalSpeed::rpm(rpm)
}

/// What the largest turned diameter asks for at the slow end of the material's speeds.
fn cutting_least(case: &Case) -> RotationalSpeed {
    let speed = case.task.view.part.material.turning_speed.low;
    crate::formulas::cutting::spindle_speed(speed, case.task.view.largest).unwrap_or(RotationalSpeed::ZERO)
}

fn speed_terms(case: &Case, formula: &str, fastest: RotationalSpeed, full: RotationalSpeed) -> Vec<Term> {
    let t = case.task.thresholds;
    let material = &case.task.view.part.material;
    let mut terms = if formula == SLOWEST {
        vec![
            Term::table("v", "slow end of the material's turning speeds", material.turning_speed.low, "materials"),
            Term::part("d", "largest diameter of the part", case.task.view.largest, None),
        ]
    } else {
        vec![Term::plan("n", "fastest turning", fastest, "cutting speed, held to the caps of mode and spindle")]
    };
    let by =
        "straight lines between the thresholds bar-speed-8, bar-speed-20, bar-speed-32; a short bar: the spindle's cap";
    terms.push(Term::plan("n_b", "speed that the bar stands in a fitting channel", full, by));
    match formula {
        LOOSE => terms.push(Term::threshold("k", t.bar_gap_share, "bar-gap-share")),
        WIDE | SLOWEST => {
            terms.push(Term::threshold("n_g", RotationalSpeed::rpm(t.bar_gap_speed_rpm), "bar-gap-speed"));
        }
        _ => {}
    }
    terms
}
