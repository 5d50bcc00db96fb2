//! What records say of the estimates: as data, for people, and as comma-separated values.

use super::csv::field;
use super::text::{self, Style, hanging, head, number, sentence, wrapped};
use crate::calibration::{Calibrated, Check, Found, Of, Off, Wild};
use crate::quantity::print;
use comfy_table::Cell;
use schemars::JsonSchema;
use serde::Serialize;

/// The answer of `calibrate`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CalibrationAnswer {
    pub schema: u32,
    pub shop: String,
    /// The sheet of records.
    pub sheet: String,
    /// Rows that were counted.
    pub records: usize,
    /// Rows that were told as faults.
    pub faults: usize,
    pub factors: Vec<FactorAnswer>,
    pub checks: Vec<CheckAnswer>,
    /// Records that hardly count, since they lie far from all others.
    pub wild: Vec<WildAnswer>,
    /// How many shares of the records were left out in turn.
    pub folds: usize,
    /// The factors as a block of the shop file.
    pub block: String,
    /// The shop file that it was written to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub written: Option<String>,
    pub notes: Vec<String>,
}

/// A correction factor.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FactorAnswer {
    /// `cycle`, `family`, `stoppages`, `setup` or `element`.
    pub of: &'static str,
    pub name: String,
    pub records: usize,
    /// Actual over estimated as the records say it, other factors taken out.
    pub said: f64,
    /// What is believed of it: actual over estimated.
    pub factor: f64,
    pub off: OffAnswer,
}

/// How well all factors of a kind hold.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CheckAnswer {
    pub of: &'static str,
    pub records: usize,
    pub off: OffAnswer,
    /// Records that were left out come nearer by factors from the others.
    pub helps: bool,
}

/// How far estimates are off.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OffAnswer {
    /// Spread of the logarithm of actual over estimated, as estimated.
    pub spread: f64,
    /// The same with factors from the other records.
    pub spread_left_out: f64,
    /// Half of the records are off by more, in percent, as estimated.
    pub half_percent: f64,
    /// The same with factors from the other records.
    pub half_percent_left_out: f64,
}

/// A record that hardly counts.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WildAnswer {
    pub row: usize,
    pub of: &'static str,
    pub name: String,
    /// Actual over estimated, all factors counted.
    pub ratio: f64,
}

/// Half of normal errors are larger than so many standard deviations: the upper quartile of the normal distribution.
const HALF: f64 = 0.6745;

impl From<Off> for OffAnswer {
    fn from(off: Off) -> OffAnswer {
        let half = |spread: f64| (libm::exp(spread * HALF) - 1.0) * 100.0;
        OffAnswer {
            spread: off.before,
            spread_left_out: off.left_out,
            half_percent: half(off.before),
            half_percent_left_out: half(off.left_out),
        }
    }
}

fn word(of: Of) -> &'static str {
    match of {
        Of::Cycle => "cycle",
        Of::Family => "family",
        Of::Stoppages => "stoppages",
        Of::Setup => "setup",
        Of::Element => "element",
    }
}

fn name(of: Of, name: &str) -> String {
    if of == Of::Element { name.replace('-', " ") } else { name.to_owned() }
}

/// What a calibration tells. `block` are its factors as the shop file keeps them.
pub fn answer(
    shop: &str,
    sheet: &str,
    found: &Calibrated,
    (records, faults): (usize, usize),
    block: String,
) -> CalibrationAnswer {
    let factor = |f: &Found| FactorAnswer {
        of: word(f.of),
        name: name(f.of, &f.name),
        records: f.records,
        said: f.said,
        factor: f.factor,
        off: f.off.into(),
    };
    let check = |c: &Check| CheckAnswer {
        of: word(c.of),
        records: c.records,
        off: c.off.into(),
        helps: c.off.left_out < c.off.before,
    };
    let wild = |w: &Wild| WildAnswer { row: w.row, of: word(w.of), name: name(w.of, &w.name), ratio: w.ratio };
    CalibrationAnswer {
        schema: super::SCHEMA,
        shop: shop.to_owned(),
        sheet: sheet.to_owned(),
        records,
        faults,
        factors: found.found.iter().map(factor).collect(),
        checks: found.checks.iter().map(check).collect(),
        wild: found.wild.iter().map(wild).collect(),
        folds: found.folds,
        block,
        written: None,
        notes: notes(found),
    }
}

fn notes(found: &Calibrated) -> Vec<String> {
    let mut notes = Vec::new();
    if found.found.is_empty() {
        return vec!["No record can be counted: every estimate stays as it is.".to_owned()];
    }
    notes.push(
        "They say: actual over estimated, other factors taken out. The factor stays nearer to 1 the fewer records stand behind it and the wider they scatter. Off: half of the records are off by more, as estimated; left out: with all factors, from the other records only.".to_owned(),
    );
    let no_help: Vec<String> = found
        .found
        .iter()
        .filter(|f| f.off.left_out >= f.off.before)
        .map(|f| format!("{} of {}", word(f.of), name(f.of, &f.name)))
        .collect();
    if !no_help.is_empty() {
        notes.push(format!(
            "Left-out records come no nearer by these factors, which want more records: {}.",
            no_help.join(", ")
        ));
    }
    notes.push("Estimates are taken as uncorrected. Where the sheet leaves them out they are the program's own, without the shop file's factors; its setups then start from a machine of which nothing is known.".to_owned());
    notes
}

fn percent(value: f64) -> String {
    format!("{} %", print::number(value, if value < 9.95 { 1 } else { 0 }))
}

/// The answer for people.
pub fn text(a: &CalibrationAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = style.bold(&format!("Factors from {} records of {}", a.records, a.sheet));
    out.push('\n');
    if a.faults > 0 {
        let rows = if a.faults == 1 { "row" } else { "rows" };
        out.push_str(&format!("{} {rows} could not be counted; what is wrong is told apart.\n", a.faults));
    }
    if !a.factors.is_empty() {
        out.push_str(&format!("\n{}\n", table(a, style)));
    }
    if !a.wild.is_empty() {
        let each = |w: &WildAnswer| {
            format!("row {}, {} of {} ({} times the others)", w.row, w.of, w.name, print::number(w.ratio, 2))
        };
        let rows: Vec<String> = a.wild.iter().map(each).collect();
        let words = format!("Hardly counted, since they lie far from all others: {}.", rows.join("; "));
        out.push_str(&format!("\n{}\n", wrapped(&words, width, "")));
    }
    out.push('\n');
    for note in &a.notes {
        out.push_str(&wrapped(note, width, ""));
        out.push('\n');
    }
    if a.factors.is_empty() {
        return out;
    }
    match &a.written {
        Some(file) => out.push_str(&format!("\nWritten to {file}.\n")),
        None => out.push_str(&format!("\n--write puts this into the shop file:\n\n{}", style.dim(&a.block))),
    }
    out
}

fn table(a: &CalibrationAnswer, style: Style) -> String {
    let mut table = text::table(style);
    table.set_header(vec![
        head("corrects", false),
        head("of", false),
        head("records", true),
        head("they say", true),
        head("factor", true),
        head("off", true),
        head("left out", true),
    ]);
    let mut last = "";
    for f in &a.factors {
        let of = if f.of == last { "" } else { f.of };
        last = f.of;
        table.add_row(vec![
            Cell::new(of),
            Cell::new(&f.name),
            number(f.records),
            number(format!("{:.2}", f.said)),
            number(format!("{:.3}", f.factor)),
            number(percent(f.off.half_percent)),
            number(percent(f.off.half_percent_left_out)),
        ]);
    }
    let mut out = text::drawn(&table);
    out.push('\n');
    for c in &a.checks {
        let words = format!(
            "{} records, half of them off by more than {}; by more than {} with factors from the others.",
            c.records,
            percent(c.off.half_percent),
            percent(c.off.half_percent_left_out)
        );
        let begin = format!("\n{}: ", sentence(c.of));
        out.push_str(&hanging(&begin, "  ", &words, style.width.into()));
    }
    out
}

/// The factors as comma-separated values after RFC 4180.
pub fn csv(a: &CalibrationAnswer) -> String {
    let mut out = "of,name,records,said,factor,spread,spread_left_out\r\n".to_owned();
    for f in &a.factors {
        let fields = [
            f.of.to_owned(),
            f.name.clone(),
            f.records.to_string(),
            format!("{:.6}", f.said),
            format!("{:.6}", f.factor),
            format!("{:.6}", f.off.spread),
            format!("{:.6}", f.off.spread_left_out),
        ];
        out.push_str(&fields.map(|f| field(&f)).join(","));
        out.push_str("\r\n");
    }
    out
}
