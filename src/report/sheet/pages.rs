//! What every printed sheet needs besides the data: a clock in tenths of a second, letters for the reasons of the order, and
//! the words that text and page share.

use super::{SheetAnswer, SheetLine, WorthAnswer, WorthSide};
use crate::quantity::print;
use crate::report::text::{grams, minutes, money, seconds, sentence};

/// Who decides in the end.
pub(in crate::report) const MANUAL: &str = "The machine's manual, local codes and the competent person decide; speeds and \
                                            feeds are starting values that a setter proves.";

/// Letters of the reasons, in the order in which they come up.
pub(in crate::report) const LETTERS: [char; 26] = [
    'a', 'b', 'c', 'd', 'e', 'f', 'g', 'h', 'i', 'j', 'k', 'l', 'm', 'n', 'o', 'p', 'q', 'r', 's', 't', 'u', 'v', 'w',
    'x', 'y', 'z',
];

/// The distinct reasons of the order.
pub(in crate::report) fn reasons(sheet: &SheetAnswer) -> Vec<&'static str> {
    let mut found = Vec::new();
    for reason in sheet.lines.iter().filter_map(|l| l.order_reason) {
        if !found.contains(&reason) {
            found.push(reason);
        }
    }
    found
}

/// The letter of a reason.
pub(in crate::report) fn letter(reasons: &[&'static str], reason: &str) -> Option<char> {
    reasons.iter().position(|r| *r == reason).map(|i| LETTERS[i % 26])
}

/// A speed as a setter writes it: to 10 rpm, above 1,000 rpm to 50.
pub(in crate::report) fn round_speed(rpm: f64) -> f64 {
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
pub(in crate::report) struct Times {
    pub(in crate::report) cut: i64,
    /// Waiting for the other spindle before it.
    pub(in crate::report) wait: i64,
    /// Change, approach, speed, movements.
    pub(in crate::report) other: i64,
    /// On the clock of the cycle.
    pub(in crate::report) until: i64,
}

/// Everything that is printed in tenths, off one clock: ends are rounded, lengths are their differences.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::report) struct Clock {
    lines: Vec<Times>,
    pub(in crate::report) chains: i64,
    pub(in crate::report) hand_over: i64,
    pub(in crate::report) shares: Vec<i64>,
    pub(in crate::report) total: i64,
}

impl Clock {
    /// The times of the line of a number.
    pub(in crate::report) fn of(&self, number: usize) -> Times {
        self.lines.get(number - 1).copied().unwrap_or_default()
    }
}

/// The clock of a sheet.
pub(in crate::report) fn clock(sheet: &SheetAnswer) -> Clock {
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
pub(in crate::report) fn tenths(t: i64) -> String {
    format!("{}.{}", t / 10, t % 10)
}

/// Stock, first end and why, purchases: a sentence each.
pub(in crate::report) fn facts(sheet: &SheetAnswer) -> Vec<String> {
    let job = &sheet.job;
    let stock = &job.stock;
    let mut lines = vec![format!(
        "Stock: {}, {}, {} pieces a {} with {:.0} mm remnant; {} a piece.",
        stock.text,
        stock.supply(),
        stock.pieces_per_bar,
        stock.unit(),
        stock.remnant_mm,
        grams(stock.kg_per_piece)
    )];
    lines.push(match &job.other_end {
        None => format!("{} end first: the spec pins it.", sentence(job.first_end)),
        Some(o) => {
            let why = match &o.reason {
                Some(reason) => format!("the {} end first is refused: {reason}", o.end),
                None => format!(
                    "a piece costs {} {} so, {} with the {} end first (cycle {} against {}){}",
                    money(job.cost.cost),
                    sheet.currency,
                    money(o.cost),
                    o.end,
                    seconds(job.cycle.total_s),
                    seconds(o.cycle_s),
                    o.with_collet()
                ),
            };
            format!("{} end first: {why}.", sentence(job.first_end))
        }
    });
    for p in &job.purchases {
        let price = p.price.map(|m| format!(", {} {}", money(m), sheet.currency)).unwrap_or_default();
        lines.push(format!("To buy: {} x `{}`{price}.", p.count, p.attachment));
    }
    lines
}

/// A stretch along z, or a place.
pub(in crate::report) fn stretch((from, to): (f64, f64)) -> String {
    let (from, to) = (print::number(from, 2), print::number(to, 2));
    if from == to { from } else { format!("{from}..{to}") }
}

/// Radial depth with the number of passes.
pub(in crate::report) fn depth(line: &SheetLine) -> String {
    let depth = line.depth_mm.map(|v| print::number(v, 2)).unwrap_or_default();
    match (line.passes, depth.is_empty()) {
        (1, _) => depth,
        (n, true) => format!("{n} passes"),
        (n, false) => format!("{n} x {depth}"),
    }
}

/// From the programmed cycle to the cycle of the ranking: what takes how many tenths of a second, the cycle last.
pub(in crate::report) fn cycle(sheet: &SheetAnswer, clock: &Clock) -> Vec<(String, i64)> {
    let c = &sheet.job.cycle;
    let mut rows = Vec::new();
    if c.sub_s > 0.0 {
        let (main, sub) = (format!("{:.1}", c.main_s), format!("{:.1}", c.sub_s));
        let waiting = clock.chains - ((c.main_s.max(c.sub_s)) * 10.0).round() as i64;
        let words = if (sheet.programmed_s - c.hand_over_s - c.main_s - c.sub_s).abs() < 0.05 {
            format!("main spindle {main} s, then sub-spindle {sub} s")
        } else if waiting > 1 {
            let lost = tenths(waiting);
            format!("main spindle {main} s, sub-spindle {sub} s: the longer, and {lost} s of waiting")
        } else {
            format!("main spindle {main} s, sub-spindle {sub} s: the longer")
        };
        rows.push((words, clock.chains));
        if clock.hand_over > 0 {
            rows.push(("hand-over: pick off and cut off".to_owned(), clock.hand_over));
        }
    } else {
        rows.push(("one spindle, one after the other".to_owned(), clock.chains));
    }
    rows.extend(sheet.shares.iter().map(|s| s.what.clone()).zip(clock.shares.iter().copied()));
    rows.push((format!("cycle, {} to {}", seconds(c.low_s), seconds(c.high_s)), clock.total));
    rows
}

/// A job without an attachment and with it, figure by figure.
pub(in crate::report) fn worth_rows(worth: &WorthAnswer, sheet: &SheetAnswer) -> Vec<(String, String, String)> {
    let row = |name: String, figure: fn(&WorthSide) -> String| {
        let told = |side: &Option<WorthSide>| {
            side.as_ref().filter(|s| s.possible).map_or_else(|| "not possible".to_owned(), figure)
        };
        (name, told(&worth.without), told(&worth.with))
    };
    let count = print::thousands(sheet.quantity as f64);
    vec![
        row("mode".to_owned(), |s| s.mode.to_owned()),
        row("verdict".to_owned(), |s| s.verdict.word().to_owned()),
        row("cycle".to_owned(), |s| seconds(s.cycle_s)),
        row("setup".to_owned(), |s| minutes(s.setup_min)),
        row(format!("{} a piece at {count}", sheet.currency), |s| money(s.cost)),
    ]
}

/// The comparison in a sentence.
pub(in crate::report) fn worth_words(worth: &WorthAnswer, sheet: &SheetAnswer) -> String {
    let possible = |side: &Option<WorthSide>| side.as_ref().is_some_and(|s| s.possible);
    let price = worth.price.map(|p| format!("{} {}", money(p), sheet.currency));
    let price = price.unwrap_or_else(|| "a price that the spec does not state".to_owned());
    let because = |side: &Option<WorthSide>| {
        side.as_ref().and_then(|s| s.refused_because.clone()).map(|r| format!(": {r}")).unwrap_or_default()
    };
    match (possible(&worth.without), possible(&worth.with)) {
        (false, false) => format!("The job is not possible on this machine either way{}.", because(&worth.with)),
        (false, true) => format!(
            "Without it the job is not possible{}. With {} of it, for {price}, it is.",
            because(&worth.without),
            worth.used
        ),
        _ if worth.used == 0 || unchanged(worth) => "The plan has no use for it: nothing changes.".to_owned(),
        _ => match worth.pays_back_after {
            Some(n) => format!("{price} is saved after {} pieces of this job.", print::thousands(n)),
            None => "A piece costs no less with it: for this job it never pays.".to_owned(),
        },
    }
}

/// Neither time nor setup nor cost differ.
fn unchanged(worth: &WorthAnswer) -> bool {
    let figures = |s: &WorthSide| (s.mode, s.cycle_s, s.setup_min, s.cost);
    worth.without.as_ref().map(figures) == worth.with.as_ref().map(figures)
}
