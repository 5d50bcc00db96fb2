//! The timeline as bars of text: one row a carrier, time from left to right, the hand-over as a bracket.

use super::SheetAnswer;
use crate::quantity::print;
use crate::report::text::Style;

/// Before a cut, and movements.
const AROUND: char = '░';
/// In the cut at the main spindle, and at the sub-spindle.
const CUT: [char; 2] = ['█', '▓'];

/// The bars, with a scale of seconds beneath.
pub(super) fn bars(sheet: &SheetAnswer, style: Style) -> String {
    let label = sheet.timeline.iter().map(|r| r.name.chars().count()).max().unwrap_or(0).max("hand-over".len()) + 2;
    let width = usize::from(style.width).saturating_sub(label + 2).clamp(20, 160);
    let whole = sheet.programmed_s.max(1e-9);
    let cell = |s: f64| ((s / whole * width as f64).round() as usize).min(width);
    let mut out = String::new();
    for row in &sheet.timeline {
        let mut line = vec![' '; width];
        let mut fill = |from: f64, to: f64, with: char, at_least_one: bool| {
            let (a, mut b) = (cell(from).min(width - 1), cell(to));
            if at_least_one && b <= a && to > from {
                b = a + 1;
            }
            line[a..b.max(a)].fill(with);
        };
        for s in &row.stretches {
            fill(s.from_s, s.to_s, AROUND, false);
        }
        for s in &row.stretches {
            fill(s.cut_from_s, s.cut_to_s, CUT[usize::from(s.spindle == "sub")], true);
        }
        let bar: String = line.into_iter().collect();
        out.push_str(format!("  {:<label$}{bar}", row.name).trim_end());
        out.push('\n');
    }
    if let Some((from, to)) = sheet.hand_over_s {
        let (a, b) = (cell(from), cell(to).max(cell(from) + 2).min(width));
        let mut line = vec![' '; width];
        line[a..b].fill('─');
        line[a] = '└';
        line[b - 1] = '┘';
        let bracket: String = line.into_iter().collect();
        out.push_str(format!("  {:<label$}{bracket}", "hand-over").trim_end());
        out.push('\n');
    }
    out.push_str(&scale(whole, width, label));
    let legend = format!("{} cut at the main spindle, {} at the sub-spindle, {AROUND} around it", CUT[0], CUT[1]);
    out.push_str(&style.dim(&crate::report::text::wrapped(&legend, style.width.into(), "  ")));
    out.push('\n');
    out
}

/// Ticks at round seconds, about one for twelve columns.
fn scale(whole: f64, width: usize, label: usize) -> String {
    let rough = whole / (width as f64 / 12.0).max(1.0);
    let steps = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0, 3600.0];
    let step = steps.into_iter().find(|s| *s >= rough).unwrap_or(7200.0);
    let mut line = vec![' '; width + 12];
    let mut at = 0.0;
    while at <= whole + 1e-9 {
        let column = (at / whole * width as f64).round() as usize;
        let text = print::number(at, 1);
        // A number that would be cut off at the edge says something else.
        if column + text.len() <= width {
            for (cell, c) in line[column..].iter_mut().zip(text.chars()) {
                *cell = c;
            }
        }
        at += step;
    }
    let ticks: String = line.into_iter().take(width).collect();
    format!("  {:<label$}{}\n", "s", ticks.trim_end())
}
