//! What a printed sheet needs besides the data: a clock in tenths of a second, letters for the reasons of the order.

use super::SheetAnswer;

/// Letters of the reasons, in the order in which they come up.
pub(super) const LETTERS: [char; 26] = [
    'a', 'b', 'c', 'd', 'e', 'f', 'g', 'h', 'i', 'j', 'k', 'l', 'm', 'n', 'o', 'p', 'q', 'r', 's', 't', 'u', 'v', 'w',
    'x', 'y', 'z',
];

/// The distinct reasons of the order.
pub(super) fn reasons(sheet: &SheetAnswer) -> Vec<&'static str> {
    let mut found = Vec::new();
    for reason in sheet.lines.iter().filter_map(|l| l.order_reason) {
        if !found.contains(&reason) {
            found.push(reason);
        }
    }
    found
}

/// The letter of a reason.
pub(super) fn letter(reasons: &[&'static str], reason: &str) -> Option<char> {
    reasons.iter().position(|r| *r == reason).map(|i| LETTERS[i % 26])
}

/// A speed as a setter writes it: to 10 rpm, above 1,000 rpm to 50.
pub(super) fn round_speed(rpm: f64) -> f64 {
    let step = match rpm {
        n if n < 100.0 => 1.0,
        n if n < 1000.0 => 10.0,
        _ => 50.0,
    };
    (rpm / step).round() * step
}

/// A line's times in tenths of a second. `wait + cut + other` of a spindle's lines, each from the end of the one before, run up to
/// `until`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Times {
    pub(super) cut: i64,
    /// Waiting for the other spindle before it.
    pub(super) wait: i64,
    /// Change, approach, speed, movements.
    pub(super) other: i64,
    /// On the clock of the cycle.
    pub(super) until: i64,
}

/// Everything that is printed in tenths, off one clock: ends are rounded, lengths are their differences.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Clock {
    lines: Vec<Times>,
    pub(super) chains: i64,
    pub(super) hand_over: i64,
    pub(super) shares: Vec<i64>,
    pub(super) total: i64,
}

impl Clock {
    /// The times of the line of a number.
    pub(super) fn of(&self, number: usize) -> Times {
        self.lines.get(number - 1).copied().unwrap_or_default()
    }
}

/// The clock of a sheet.
pub(super) fn clock(sheet: &SheetAnswer) -> Clock {
    let round = |s: f64| (s * 10.0).round() as i64;
    let mut clock = Clock::default();
    let mut at: Option<(&str, i64)> = None;
    for line in &sheet.lines {
        let from = at.filter(|(spindle, _)| *spindle == line.spindle).map_or(0, |(_, t)| t);
        let until = round(line.end_s);
        let wait = if line.wait_s < 0.05 { 0 } else { (round(line.start_s) - from).clamp(0, until - from) };
        let cut = round(line.cutting_s).min(until - from - wait).max(0);
        clock.lines.push(Times { wait, cut, other: until - from - wait - cut, until });
        at = Some((line.spindle, until));
    }
    let programmed = round(sheet.programmed_s);
    clock.chains = sheet.hand_over_s.map_or(programmed, |(from, _)| round(from));
    clock.hand_over = programmed - clock.chains;
    let (mut sum, mut rounded) = (sheet.programmed_s, programmed);
    for share in &sheet.shares {
        sum += share.seconds;
        clock.shares.push(round(sum) - rounded);
        rounded = round(sum);
    }
    clock.total = rounded;
    clock
}

/// Tenths of a second as `12.3`.
pub(super) fn tenths(t: i64) -> String {
    format!("{}.{}", t / 10, t % 10)
}
