//! The speed that a bar stands behind the spindle: every bar runs far above its first critical speed, and what keeps it
//! quiet is a small free gap in the feeder's channel.

use super::Task;
use super::blank::Blank;
use crate::quantity::{Length, RotationalSpeed};
use crate::tables::thresholds::Thresholds;

/// How the air around a bar tells on its speed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fit {
    /// It runs as fast as its diameter allows.
    Close,
    /// It runs at a share of that.
    Loose,
    /// It runs at that share, and at one speed at most, whatever its diameter.
    Wide,
}

/// A bar in its channel.
#[derive(Clone, Copy, Debug)]
pub struct Guidance {
    /// The smallest channel that the bar passes.
    pub channel: Length,
    /// Its diameter less the bar over its corners.
    pub gap: Length,
    pub fit: Fit,
    /// What a bar of this size and length stands in a channel that fits.
    pub full: RotationalSpeed,
    /// What it stands in this channel.
    pub allowed: RotationalSpeed,
}

/// How the feeder guides the bar. None without a feeder, or where no channel takes the bar: rules tell of those. None for
/// wire from a coil, which does not turn.
pub fn guidance(task: &Task, blank: &Blank) -> Option<Guidance> {
    if blank.coil {
        return None;
    }
    let (t, feeder) = (task.thresholds, task.machine.feeder.as_ref()?);
    let channel = feeder.channel_for(blank.corners, Length::mm(t.channel_air_mm))?;
    let gap = channel - blank.corners;
    let full = full_speed(t, blank.corners, feeder.short);
    let fit = match gap.to_mm() {
        g if g <= t.bar_gap_full_mm => Fit::Close,
        g if g <= t.bar_gap_most_mm => Fit::Loose,
        _ => Fit::Wide,
    };
    // No bar is run faster for the air around it, and a share of nothing stops no spindle.
    let share = if t.bar_gap_share > 0.0 { t.bar_gap_share.min(1.0) } else { 1.0 };
    let allowed = match fit {
        Fit::Close => full,
        Fit::Loose => full * share,
        Fit::Wide => (full * share).min(RotationalSpeed::rpm(t.bar_gap_speed_rpm)),
    };
    Some(Guidance { channel, gap, fit, full, allowed })
}

/// The speed that a bar stands in a fitting channel: a long one by straight lines between the thresholds; one as short as
/// the spindle, which lies in it with its whole length, a multiple of that.
fn full_speed(t: &Thresholds, bar: Length, short: bool) -> RotationalSpeed {
    let points = [(8.0, t.bar_speed_8_rpm), (20.0, t.bar_speed_20_rpm), (32.0, t.bar_speed_32_rpm)];
    let d = bar.to_mm();
    let rpm = match points {
        [(low, n), ..] if d <= low => n,
        [(a, n), (b, m), _] if d <= b => n + (m - n) * (d - a) / (b - a),
        [_, (a, n), (b, m)] if d <= b => n + (m - n) * (d - a) / (b - a),
        // Beyond it the surface speed of the bar stays.
        [.., (b, m)] => m * b / d,
    };
    RotationalSpeed::rpm(if short { rpm * t.bar_short_factor } else { rpm })
}
