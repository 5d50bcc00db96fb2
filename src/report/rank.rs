//! The ranking for people.

use super::answer::{RankAnswer, Reason, RowAnswer};
use super::text::{self, Style, grams, head, minutes, money, number, seconds, wrapped};
use crate::matching::{Standing, Verdict};
use comfy_table::Cell;

/// How much of the reasons is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Detail {
    /// Refusals, warnings, and the nearest margins of what fits.
    Deciding,
    /// Every finding.
    All,
}

/// The whole ranking as text.
pub fn text(answer: &RankAnswer, detail: Detail, fit: bool, style: Style) -> String {
    let mut out = String::new();
    let order = if answer.repeat { "repeat order" } else { "first order" };
    let title = format!("{}: {}, {}", answer.part, answer.title, answer.material);
    out.push_str(&style.bold(&wrapped(&title, style.width.into(), "")));
    out.push('\n');
    let count = crate::quantity::print::thousands(answer.quantity as f64);
    let mut inquiry = format!("{order} of {count}, at {}", answer.shop);
    if let Some(due) = &answer.due {
        inquiry.push_str(&format!("; wanted {due}"));
    }
    if let Some(reference) = &answer.reference {
        inquiry.push_str(&format!("; reference {reference}"));
    }
    inquiry.push_str(&format!("; ranked by {}; costs a piece before markup", answer.ranked_by));
    out.push_str(&wrapped(&inquiry, style.width.into(), ""));
    out.push('\n');
    let groups = [
        (Standing::Owned, "With what the shop owns"),
        (Standing::NotStated, "Not stated: the machine spec leaves something unsaid that decides"),
        (Standing::WithPurchase, "Only with attachments to buy"),
        (Standing::Refused, "Refused"),
    ];
    for (standing, words) in groups {
        let rows: Vec<(usize, &RowAnswer)> =
            answer.rows.iter().enumerate().filter(|(_, r)| r.standing == standing).collect();
        if rows.is_empty() {
            continue;
        }
        out.push_str(&format!("\n{}\n", style.bold(words)));
        out.push_str(&match standing {
            Standing::Refused => refused(&rows, style),
            _ => possible(&rows, answer, style),
        });
    }
    if !answer.anything_fits() {
        out.push_str(&format!("\n{}\n", style.bold("No machine of the shop makes this part.")));
    }
    for (i, row) in answer.rows.iter().enumerate().filter(|(_, r)| r.standing != Standing::Refused) {
        out.push('\n');
        out.push_str(&reasons(i, row, answer, detail, style));
    }
    if detail == Detail::All {
        for (i, row) in answer.rows.iter().enumerate().filter(|(_, r)| r.standing == Standing::Refused) {
            out.push('\n');
            out.push_str(&reasons(i, row, answer, detail, style));
        }
    }
    if fit {
        out.push_str(&what_would_fit(answer, style));
    }
    for failed in &answer.failed {
        out.push_str(&format!("\ncould not be reckoned: {failed}\n"));
    }
    out.push_str(&closing(answer, style));
    out
}

/// How many ways to make a row fit are printed; the data holds all.
const SHOWN_FITS: usize = 3;

/// For each refused row what would make it fit, cheapest first.
fn what_would_fit(answer: &RankAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!("\n{}\n", style.bold("What would make it fit, planned again with the change"));
    for row in answer.rows.iter().filter(|r| r.standing == Standing::Refused) {
        out.push_str(&format!("  {}, {}\n", row.machine, row.mode));
        if row.fits.is_empty() {
            out.push_str("      no change that was searched, nor two or three together\n");
        }
        for f in row.fits.iter().take(SHOWN_FITS) {
            let changes: Vec<&str> = f.changes.iter().map(|c| c.change.as_str()).collect();
            let price = match f.price {
                Some(p) if p > 0.0 => format!(", {} {}", money(p), answer.currency),
                Some(_) => String::new(),
                None => ", a price that no spec states".to_owned(),
            };
            let then = format!(
                "then {}, {} and {} {} a piece",
                f.verdict.word(),
                seconds(f.cycle_s),
                money(f.cost),
                answer.currency
            );
            out.push_str(&wrapped(&format!("→ {}{price}: {then}", changes.join(" and ")), width, "      "));
            out.push('\n');
        }
        if row.fits.len() > SHOWN_FITS {
            out.push_str(&format!("      and {} more\n", row.fits.len() - SHOWN_FITS));
        }
    }
    out
}

/// Cautions and notes at the end of every answer.
pub fn closing(answer: &RankAnswer, style: Style) -> String {
    let mut out = format!("\n{}\n", style.bold("Cautions"));
    for c in &answer.cautions {
        out.push_str(&wrapped(&format!("{}: {}", c.topic, c.text), style.width.into(), "  "));
        out.push('\n');
    }
    let manual = "The machine's manual, local codes and the competent person decide.";
    out.push_str(&wrapped(manual, style.width.into(), "  "));
    out.push('\n');
    out.push('\n');
    if !answer.unjudged.is_empty() {
        let words = format!("No rule judges, to be measured: {}.", answer.unjudged.join("; "));
        out.push_str(&wrapped(&words, style.width.into(), ""));
        out.push('\n');
    }
    for note in &answer.notes {
        out.push_str(&style.dim(&wrapped(note, style.width.into(), "")));
        out.push('\n');
    }
    out
}

fn possible(rows: &[(usize, &RowAnswer)], answer: &RankAnswer, style: Style) -> String {
    let mut table = text::table(style);
    let mut titles = vec![
        head("", true),
        head("machine", false),
        head("mode", false),
        head("first", false),
        head("setup", true),
        head("cycle", true),
    ];
    let quantities: Vec<u64> =
        rows.first().map(|(_, r)| r.costs.iter().map(|c| c.quantity).collect()).unwrap_or_default();
    // On a narrow screen only the quantity asked for.
    let shown: Vec<u64> = if style.width < 100 && quantities.len() > 2 { vec![answer.quantity] } else { quantities };
    for (i, q) in shown.iter().enumerate() {
        let count = crate::quantity::print::thousands(*q as f64);
        titles
            .push(head(&if i == 0 { format!("{} at {count}", answer.currency) } else { format!("at {count}") }, true));
    }
    titles.push(head("verdict", false));
    table.set_header(titles);
    for (i, row) in rows {
        let mark = if fragile(row).is_some() { "!" } else { "" };
        let mut cells = vec![
            number(format!("{mark}{}", i + 1)),
            Cell::new(&row.machine),
            Cell::new(row.mode),
            Cell::new(row.first_end),
            number(minutes(row.setup_min)),
            number(seconds(row.cycle.total_s)),
        ];
        for q in &shown {
            let cost = row.costs.iter().find(|c| c.quantity == *q);
            cells.push(number(cost.map_or_else(String::new, |c| money(c.cost))));
        }
        cells.push(text::verdict(row.verdict, style));
        table.add_row(cells);
    }
    let mut out = format!("{}\n", text::drawn(&table));
    out.push_str(&alike(rows, answer, style));
    let near = rows.iter().filter_map(|(i, row)| Some((i + 1, fragile(row)?)));
    let near: Vec<String> = near.map(|(number, r)| format!("{number} by {}", near_refusal(r))).collect();
    if !near.is_empty() {
        let words = format!("! near refusal: {}.", near.join("; "));
        out.push_str(&style.dim(&wrapped(&words, style.width.into(), "    ")));
        out.push('\n');
    }
    out
}

/// A margin below this share of what is asked is fragile: a worn edge, another bar, another setter take it.
const FRAGILE: f64 = 0.05;
/// Rules about what varies from piece to piece, bar to bar and day to day. The others are geometry, which stays, or limits
/// that the plan itself keeps to at the price of time.
const VARYING: &[&str] = &["capability", "roundness", "runout", "finish", "slenderness", "deep-hole", "angle"];

/// What a possible row is nearest to being refused by, where that is near.
fn fragile(row: &RowAnswer) -> Option<&Reason> {
    let near = row.reasons.iter().filter(|r| VARYING.contains(&r.rule)).filter_map(|r| Some((margin_share(r)?, r)));
    let near = near.filter(|(share, _)| (0.0..FRAGILE).contains(share));
    near.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, r)| r)
}

/// A near refusal in a few words: `capability of `body`, 0.01 left`.
fn near_refusal(r: &Reason) -> String {
    let of = r.feature.as_ref().map(|f| format!(" of `{f}`")).unwrap_or_default();
    let margin = r.margin.as_ref().map_or("0", |m| m.text.as_str());
    format!("{}{of}, {margin} left", r.rule)
}

/// Which rows that follow each other cannot be told apart by their cost.
fn alike(rows: &[(usize, &RowAnswer)], answer: &RankAnswer, style: Style) -> String {
    let mut runs: Vec<Vec<usize>> = Vec::new();
    for (i, row) in rows {
        match runs.last_mut() {
            Some(run) if row.like_the_row_above => run.push(i + 1),
            _ => runs.push(vec![i + 1]),
        }
    }
    let told = |run: &Vec<usize>| {
        let numbers: Vec<String> = run.iter().map(usize::to_string).collect();
        let count = crate::quantity::print::thousands(answer.quantity as f64);
        let words = format!(
            "{} cannot be told apart at {count}: each differs from the one above it by less than the estimates are good for.",
            numbers.join(", ")
        );
        format!("{}\n", style.dim(&wrapped(&words, style.width.into(), "    ")))
    };
    runs.iter().filter(|run| run.len() > 1).map(told).collect()
}

fn refused(rows: &[(usize, &RowAnswer)], style: Style) -> String {
    let mut out = String::new();
    for (_, row) in rows {
        let even = if row.beyond_purchase { ", even with every attachment of its spec" } else { "" };
        out.push_str(&wrapped(&format!("{}, {}{even}", row.machine, row.mode), style.width.into(), "  "));
        out.push('\n');
        let refusals: Vec<&Reason> = row.reasons.iter().filter(|r| r.verdict == Verdict::Refused).collect();
        for r in refusals.iter().take(3) {
            out.push_str(&wrapped(&format!("{}: {}", r.rule, r.reason), style.width.into(), "      "));
            out.push('\n');
            if let Some(remedy) = &r.remedy {
                out.push_str(&style.dim(&wrapped(&format!("→ {remedy}"), style.width.into(), "      ")));
                out.push('\n');
            }
        }
        if refusals.len() > 3 {
            out.push_str(&format!("      and {} more\n", refusals.len() - 3));
        }
    }
    out
}

fn reasons(i: usize, row: &RowAnswer, answer: &RankAnswer, detail: Detail, style: Style) -> String {
    let width = usize::from(style.width);
    let mut out = format!(
        "{} {}\n",
        style.bold(&format!("{}. {}, {}, {} made first:", i + 1, row.machine, row.mode, row.first_end)),
        style.verdict(row.verdict)
    );
    let stock = &row.stock;
    let facts = format!(
        "{}; {} pieces from a {}, {:.0} mm remnant, {} a piece; cycle {} to {}, setup {} to {}, cost {} to {}",
        stock.text,
        stock.pieces_per_bar,
        stock.supply(),
        stock.remnant_mm,
        grams(stock.kg_per_piece),
        seconds(row.cycle.low_s),
        seconds(row.cycle.high_s),
        minutes(row.setup_low_min),
        minutes(row.setup_high_min),
        money(row.cost_low),
        money(row.cost_high)
    );
    out.push_str(&wrapped(&facts, width, "   "));
    out.push('\n');
    if !row.purchases.is_empty() {
        let bought: Vec<String> = row
            .purchases
            .iter()
            .map(|p| {
                let price = p.price.map(|m| format!(", {} {}", money(m), answer.currency)).unwrap_or_default();
                format!("{} x `{}`{price}", p.count, p.attachment)
            })
            .collect();
        out.push_str(&wrapped(&format!("to buy: {}", bought.join("; ")), width, "   "));
        out.push('\n');
        if let Some(without) = row.without_purchase.first() {
            out.push_str(&wrapped(&format!("without it: {}", without.reason), width, "   "));
            out.push('\n');
        }
    }
    if let Some(other) = &row.other_end {
        let words = match &other.reason {
            Some(reason) => format!("{} made first is refused: {reason}", other.end),
            None => format!(
                "{} made first: cycle {}, {} {}{}",
                other.end,
                seconds(other.cycle_s),
                money(other.cost),
                answer.currency,
                other.with_collet()
            ),
        };
        out.push_str(&wrapped(&words, width, "   "));
        out.push('\n');
    }
    let deciding: Vec<&Reason> = match detail {
        Detail::All => row.reasons.iter().collect(),
        Detail::Deciding => row.reasons.iter().filter(|r| r.verdict != Verdict::Fits).chain(nearest(row)).collect(),
    };
    for r in deciding {
        out.push_str(&finding(r, style));
    }
    out
}

/// One finding: verdict, rule and figures on a line, the sentence and its remedy beneath.
fn finding(r: &Reason, style: Style) -> String {
    let width = usize::from(style.width);
    let pad = " ".repeat(10_usize.saturating_sub(r.verdict.word().len()) + 1);
    let figures = match (&r.asked.value, &r.offered.value) {
        (Some(_), Some(_)) => {
            format!("asked {}, offered {}{}", r.asked.text, r.offered.text, r.margin_words())
        }
        _ => String::new(),
    };
    let head = format!("   {}{pad}{:<16}  ", style.verdict(r.verdict), r.rule);
    let room = width.saturating_sub(3 + 11 + 18);
    let mut out = if figures.chars().count() <= room {
        format!("{head}{figures}").trim_end().to_owned()
    } else {
        // A narrow screen: the figures go beneath.
        format!("{}\n{}", head.trim_end(), wrapped(&figures, width, "              "))
    };
    out.push('\n');
    out.push_str(&wrapped(&r.reason, width, "              "));
    out.push('\n');
    if let Some(remedy) = &r.remedy {
        out.push_str(&style.dim(&wrapped(&format!("→ {remedy}"), width, "              ")));
        out.push('\n');
    }
    out
}

/// A margin as a share of what is asked.
fn margin_share(r: &Reason) -> Option<f64> {
    let (margin, asked) = (r.margin.as_ref()?.value?, r.asked.value?);
    (asked.abs() > 0.0).then(|| margin / asked.abs())
}

/// Rules whose margin is nought by the plan's own choice: it buys the grade that the mode takes, and fills what pockets it has.
const CHOSEN: &[&str] = &["stock-grade", "tool-storage"];

/// The fits nearest to refusal, by their margin over what was asked: the fragile ones. One a rule.
pub(super) fn nearest(row: &RowAnswer) -> Vec<&Reason> {
    let mut fits: Vec<(f64, &Reason)> = row
        .reasons
        .iter()
        .filter(|r| r.verdict == Verdict::Fits && !CHOSEN.contains(&r.rule))
        .filter_map(|r| Some((margin_share(r)?, r)))
        .collect();
    fits.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut seen = Vec::new();
    fits.retain(|(_, r)| {
        let new = !seen.contains(&r.rule);
        seen.push(r.rule);
        new
    });
    fits.into_iter().take(4).map(|(_, r)| r).collect()
}
