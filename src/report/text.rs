//! Text for people: width, colour, and the one way to draw a table.

use super::answer::SetupLine;
use crate::matching::Verdict;
use crate::quantity::print;
use comfy_table::{Cell, CellAlignment, Color, ContentArrangement, Table, presets};

/// How text is printed: decided once by the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Columns of the terminal, or 100 where there is none.
    pub width: u16,
    pub color: bool,
}

impl Style {
    /// Bold text.
    pub fn bold(self, text: &str) -> String {
        self.paint("1", text)
    }
    /// Text that steps back.
    pub fn dim(self, text: &str) -> String {
        self.paint("2", text)
    }
    /// The word of a verdict in its colour; without colour the word alone speaks.
    pub fn verdict(self, verdict: Verdict) -> String {
        let code = match verdict {
            Verdict::Fits => "32",
            Verdict::Warns => "33",
            Verdict::NotStated => "35",
            Verdict::Refused => "31",
        };
        self.paint(code, verdict.word())
    }
    fn paint(self, code: &str, text: &str) -> String {
        if self.color { format!("\u{1b}[{code}m{text}\u{1b}[0m") } else { text.to_owned() }
    }
}

/// An empty table in the one style, as wide as the terminal at most.
pub fn table(style: Style) -> Table {
    let mut table = Table::new();
    table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(style.width);
    if style.color {
        table.enforce_styling();
    } else {
        table.force_no_tty();
    }
    table
}

/// A table as text: no blanks at the end of a line, with colour or without.
pub fn drawn(table: &Table) -> String {
    let lines: Vec<String> = table.lines().map(|line| without_end_blanks(&line)).collect();
    lines.join("\n")
}

/// A line without the blanks at its end; codes of colour among them are kept.
fn without_end_blanks(line: &str) -> String {
    let mut codes = Vec::new();
    let mut rest = line.trim_end();
    while let Some(at) = rest.rfind('\u{1b}').filter(|at| rest[*at..].find('m') == Some(rest.len() - at - 1)) {
        codes.push(&rest[at..]);
        rest = rest[..at].trim_end();
    }
    let mut out = rest.to_owned();
    out.extend(codes.into_iter().rev());
    out
}

/// A head cell.
pub fn head(text: &str, right: bool) -> Cell {
    let cell = Cell::new(text);
    if right { cell.set_alignment(CellAlignment::Right) } else { cell }
}

/// A cell with a number, to the right.
pub fn number(text: impl ToString) -> Cell {
    Cell::new(text.to_string()).set_alignment(CellAlignment::Right)
}

/// A verdict in its colour.
pub fn verdict(verdict: Verdict, style: Style) -> Cell {
    let cell = Cell::new(verdict.word());
    if !style.color {
        return cell;
    }
    cell.fg(match verdict {
        Verdict::Fits => Color::DarkGreen,
        Verdict::Warns => Color::DarkYellow,
        Verdict::NotStated => Color::DarkMagenta,
        Verdict::Refused => Color::DarkRed,
    })
}

/// Text broken at blanks to a width, each line after an indent; words longer than the width stand alone.
pub fn wrapped(text: &str, width: usize, indent: &str) -> String {
    hanging(indent, indent, text, width)
}

/// The same with a first line that begins differently from the others.
pub fn hanging(first: &str, indent: &str, text: &str, width: usize) -> String {
    let mut out = String::new();
    let mut column = 0;
    let mut begin = first;
    for word in text.split([' ', '\n']).filter(|w| !w.is_empty()) {
        let length = word.chars().count();
        let room = width.saturating_sub(begin.chars().count()).max(20);
        if column > 0 && column + 1 + length > room {
            out.push('\n');
            (column, begin) = (0, indent);
        }
        if column == 0 {
            out.push_str(begin);
        } else {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += length;
    }
    out.replace(UNBROKEN, " ")
}

/// A blank at which no line is broken.
const UNBROKEN: char = '\u{a0}';

/// Figures held together with their units where lines are broken: `9 um`, but not `2 x d`.
pub fn unbroken(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let at = |i: usize| letters.get(i).copied().unwrap_or(' ');
    let unit = |i: usize| at(i).is_ascii_alphabetic() && !(at(i) == 'x' && at(i + 1) == ' ');
    let held = |i: usize| i > 0 && at(i) == ' ' && at(i - 1).is_ascii_digit() && unit(i + 1);
    letters.iter().enumerate().map(|(i, c)| if held(i) { UNBROKEN } else { *c }).collect()
}

/// Minutes as a setter says them: `45 min`, `3 h 20`.
pub fn minutes(min: f64) -> String {
    let whole = min.round().max(0.0) as u64;
    if whole < 120 { format!("{whole} min") } else { format!("{} h {:02}", whole / 60, whole % 60) }
}

/// A span of weeks: `2 to 3 weeks`.
pub fn weeks([low, high]: [f64; 2]) -> String {
    let (low, high) = (print::number(low, 1), print::number(high, 1));
    if low == high { format!("{low} weeks") } else { format!("{low} to {high} weeks") }
}

/// The lines of a setup with their sum.
pub fn setup_lines(lines: &[SetupLine], total: f64, together: &str, style: Style) -> String {
    if lines.is_empty() {
        return format!(
            "{}\n",
            wrapped("Nothing to change: the job stands there as it is planned.", style.width.into(), " ")
        );
    }
    let mut table = table(style);
    for l in lines {
        let time = l.weeks.map_or_else(|| minutes(l.minutes), weeks);
        table.add_row(vec![number(time), Cell::new(&l.what), Cell::new(&l.reason)]);
    }
    // What is waited for by the calendar is nobody's work, and no sum of it is.
    if lines.iter().filter(|l| l.weeks.is_none()).count() > 1 {
        table.add_row(vec![number(minutes(total)), Cell::new(together), Cell::new("")]);
    }
    format!("{}\n", drawn(&table))
}

/// Seconds of a cycle: one decimal below a minute, then minutes and seconds.
pub fn seconds(s: f64) -> String {
    if s < 99.95 {
        return format!("{s:.1} s");
    }
    let whole = s.round() as u64;
    format!("{} min {:02} s", whole / 60, whole % 60)
}

/// The mass of a piece: milligrams below a gram.
pub fn grams(kg: f64) -> String {
    if kg < 0.001 { format!("{:.0} mg", kg * 1e6) } else { format!("{:.1} g", kg * 1000.0) }
}

/// A sentence begins with a capital.
pub fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A number with so many decimals; never `-0.0`.
pub fn fixed(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match text.strip_prefix('-') {
        Some(bare) if !bare.contains(|c: char| ('1'..='9').contains(&c)) => bare.to_owned(),
        _ => text,
    }
}

/// An amount of money with two decimals.
pub fn money(amount: f64) -> String {
    let cents = (amount.abs() * 100.0).round();
    let whole = crate::quantity::print::thousands((cents / 100.0).floor());
    let sign = if amount < 0.0 && cents > 0.0 { "-" } else { "" };
    format!("{sign}{whole}.{:02}", (cents % 100.0) as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_read_as_people_say_them() {
        assert_eq!(minutes(45.2), "45 min");
        assert_eq!(minutes(200.0), "3 h 20");
        assert_eq!((weeks([2.0, 3.0]), weeks([4.0, 4.0])), ("2 to 3 weeks".to_owned(), "4 weeks".to_owned()));
        assert_eq!(seconds(35.26), "35.3 s");
        assert_eq!(seconds(100.0), "1 min 40 s");
        assert_eq!(grams(0.0482), "48.2 g");
        assert_eq!(grams(0.000_045), "45 mg");
        assert_eq!(sentence("from 8 pieces"), "From 8 pieces");
        assert_eq!(without_end_blanks("a \u{1b}[33mwarns   \u{1b}[39m  "), "a \u{1b}[33mwarns\u{1b}[39m");
        assert_eq!(money(1234.5), "1,234.50");
        assert_eq!(money(2.999), "3.00");
        assert_eq!(hanging("- ", "  ", "one two three four five six", 22), "- one two three four\n  five six");
        assert_eq!(hanging("", "", &unbroken("12 um - 2 x 3 um / 0.5 mm"), 20), "12 um - 2 x 3 um /\n0.5 mm");
        assert_eq!(hanging("", "", &unbroken("1000 x 2 x 30 x 50 um"), 20), "1000 x 2 x 30 x\n50 um");
        assert_eq!(wrapped("one two three four five six", 24, "  "), "  one two three four\n  five six");
    }
}
