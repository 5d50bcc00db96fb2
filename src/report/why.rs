//! Why a machine stands where it does: from the verdict to the numbers, how they are reckoned and where they come from; and
//! why one machine stands before another, term by term.

use super::answer::{RankAnswer, Reason, RowAnswer};
use super::reckoning::{self, At, Reckoning};
use super::text::{self, Style, fixed, hanging, head, money, number, sentence, unbroken, wrapped};
use crate::matching::{Finding, Standing, Verdict, rules};
use crate::model::Shop;
use crate::model::part::Part;
use crate::quantity::print;
use comfy_table::Cell;
use schemars::JsonSchema;
use serde::Serialize;

/// One reason down to its source.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Branch {
    #[serde(flatten)]
    pub reason: Reason,
    /// How its figures were reckoned, where the rule reckons.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reckoning: Option<Reckoning>,
    /// The question that the rule answers.
    pub question: &'static str,
    /// What is compared with what.
    pub how: &'static str,
    /// Why it matters at the machine.
    pub why: &'static str,
    pub source: &'static str,
}

/// Why a row stands where it does.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WhyAnswer {
    pub schema: u32,
    pub part: String,
    pub machine: String,
    pub mode: &'static str,
    pub first_end: &'static str,
    pub standing: Standing,
    pub verdict: Verdict,
    /// What the shop's own records correct, and from how many.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<String>,
    /// Which cutting force decides, where its sources disagree.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cutting_force: Option<String>,
    pub branches: Vec<Branch>,
}

/// The reasons of a row down to their sources, worst first. `findings` are those of the row with their terms, in its order.
pub fn why(part: &Part, row: &RowAnswer, findings: &[Finding], at: At, shop: &Shop) -> WhyAnswer {
    let branch = |(reason, finding): (&Reason, &Finding)| {
        let doc = rules::find(reason.rule).map(|r| r.doc());
        Branch {
            reason: reason.clone(),
            reckoning: reckoning::reckoning(finding, at, shop),
            question: doc.map_or("", |d| d.question),
            how: doc.map_or("", |d| d.what),
            why: doc.map_or("", |d| d.why),
            source: doc.map_or("", |d| d.source),
        }
    };
    WhyAnswer {
        schema: super::SCHEMA,
        part: part.name.clone(),
        machine: row.machine.clone(),
        mode: row.mode,
        first_end: row.first_end,
        standing: row.standing,
        verdict: row.verdict,
        corrections: row.corrections.clone(),
        cutting_force: super::answer::force(&part.material),
        branches: row.reasons.iter().zip(findings).map(branch).collect(),
    }
}

/// The tree as text: each rule once with its reasons beneath it, worst first, down to formula, numbers and source; of what
/// fits a line each.
pub fn text(a: &WhyAnswer, style: Style) -> String {
    let title = format!("{} on {}, {}, {} end first:", a.part, a.machine, a.mode, a.first_end);
    let mut out = format!("{} {}\n", style.bold(&title), style.verdict(a.verdict));
    for correction in a.corrections.iter().chain(&a.cutting_force) {
        out.push_str(&wrapped(correction, style.width.into(), "  "));
        out.push('\n');
    }
    for verdict in [Verdict::Refused, Verdict::NotStated, Verdict::Warns, Verdict::Fits] {
        let of: Vec<&Branch> = a.branches.iter().filter(|b| b.reason.verdict == verdict).collect();
        if of.is_empty() {
            continue;
        }
        out.push_str(&format!("\n{}\n", style.verdict(verdict)));
        if verdict == Verdict::Fits {
            out.push_str(&fits(&of, style));
            continue;
        }
        let mut told: Vec<&str> = Vec::new();
        for branch in &of {
            if told.contains(&branch.reason.rule) {
                continue;
            }
            told.push(branch.reason.rule);
            let same: Vec<&Branch> = of.iter().copied().filter(|b| b.reason.rule == branch.reason.rule).collect();
            out.push_str(&in_full(&same, style));
        }
    }
    out
}

/// What fits: the rule, its sentence and its margin.
fn fits(of: &[&Branch], style: Style) -> String {
    let names = of.iter().map(|b| b.reason.rule.chars().count()).max().unwrap_or(0);
    let mut out = String::new();
    let mut last = "";
    for b in of {
        let name = if b.reason.rule == last { "" } else { b.reason.rule };
        last = b.reason.rule;
        let margin = b.reason.margin_words();
        let figures = b.reckoning.as_ref().map(|r| format!(" [{}{margin}]", r.reckoned)).unwrap_or_default();
        let figures = unbroken(&figures);
        let rest = " ".repeat(names + 4);
        let words = format!("{}{figures}", b.reason.reason);
        let line = hanging(&format!("  {name:names$}  "), &rest, &words, style.width.into());
        // Paint changes no widths.
        out.push_str(&line.replacen(name, &style.bold(name), usize::from(!name.is_empty())));
        out.push('\n');
    }
    out
}

/// The reasons of one rule in full.
fn in_full(same: &[&Branch], style: Style) -> String {
    let Some(first) = same.first() else { return String::new() };
    let width = usize::from(style.width);
    let name = first.reason.rule;
    let question = wrapped(&format!("{name}: {}", first.question), width, "  ");
    let mut out = format!("{}\n", question.replacen(name, &style.bold(name), 1));
    let mut before: Vec<&Reckoning> = Vec::new();
    for b in same {
        let r = &b.reason;
        out.push_str(&format!("{}\n", wrapped(&r.reason, width, "    ")));
        if let Some(reckoning) = &b.reckoning {
            out.push_str(&reckoning::text(reckoning, &before, "      ", style));
            before.push(reckoning);
        }
        if r.margin.is_some() {
            out.push_str(&format!("      {}\n", r.margin_words().trim_start_matches(", ")));
        }
        if let Some(remedy) = &r.remedy {
            out.push_str(&format!("{}\n", hanging("      → ", "        ", remedy, width)));
        }
    }
    let how = ("how", first.how);
    let told = same.iter().all(|b| b.reckoning.is_some());
    for (name, words) in (!told).then_some(how).into_iter().chain([("why", first.why), ("source", first.source)]) {
        let begin = format!("    {name:6}  ");
        out.push_str(&style.dim(&hanging(&begin, "            ", words, width)));
        out.push('\n');
    }
    out
}

/// One term of a cost on two machines.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Term {
    pub name: &'static str,
    pub first: f64,
    pub second: f64,
}

/// Why one machine stands before another.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BeforeAnswer {
    pub schema: u32,
    pub part: String,
    pub quantity: u64,
    pub currency: String,
    /// Machine and mode of the one that stands first, and of the other.
    pub first: (String, &'static str),
    pub second: (String, &'static str),
    /// Where not the cost but the standing decides.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by_standing: Option<String>,
    /// The cost of a piece, term by term; the last is their sum.
    pub cost: Vec<Term>,
    /// The cycle in seconds, part by part; the last is their sum.
    pub cycle: Vec<Term>,
    /// Lines of the setup that differ, in minutes; the last is the whole.
    pub setup: Vec<(String, f64, f64)>,
    /// The two costs differ by less than the difference is known to.
    pub alike: bool,
    /// From how many pieces on the other one costs less, where it ever does; and below how many.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turns_above: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turns_below: Option<f64>,
}

/// Why the better of two rows stands before the other; `alike` where their costs cannot be told apart.
pub fn before(answer: &RankAnswer, a: &RowAnswer, b: &RowAnswer, alike: bool) -> BeforeAnswer {
    let by_standing = (a.standing != b.standing).then(|| by_standing(a, b));
    let (ca, cb) = (&a.cost, &b.cost);
    let term = |name, first, second| Term { name, first, second };
    let mut cost = vec![
        term("material", ca.material, cb.material),
        term("machine", ca.machine, cb.machine),
        term("setting", ca.setting, cb.setting),
        term("operator", ca.operator, cb.operator),
        term("tools", ca.tools, cb.tools),
        term("special collet", ca.special_collet, cb.special_collet),
    ];
    // Seldom there: told only where they are.
    let seldom = [("collets, bushings", ca.collets, cb.collets), ("moving the process", ca.moving, cb.moving)];
    cost.extend(seldom.into_iter().filter(|t| t.1 > 0.0 || t.2 > 0.0).map(|(name, a, b)| term(name, a, b)));
    cost.extend([term("scrap", ca.scrap, cb.scrap), term("together", ca.cost, cb.cost)]);
    let chains = |r: &RowAnswer| r.cycle.programmed_s - r.cycle.hand_over_s;
    let mut cycle = vec![
        term("both spindles", chains(a), chains(b)),
        term("hand-over", a.cycle.hand_over_s, b.cycle.hand_over_s),
        term("bar change", a.cycle.bar_change_s, b.cycle.bar_change_s),
        term("worn tools, chips", a.cycle.wear_s, b.cycle.wear_s),
        term("contingency", a.cycle.contingency_s, b.cycle.contingency_s),
    ];
    if a.cycle.correction_s != 0.0 || b.cycle.correction_s != 0.0 {
        cycle.push(term("own records", a.cycle.correction_s, b.cycle.correction_s));
    }
    cycle.push(term("together", a.cycle.total_s, b.cycle.total_s));
    let mut setup = setups_apart(a, b);
    setup.push(("together".to_owned(), a.setup_min, b.setup_min));
    let even = a.cost.even_with(&b.cost).filter(|_| by_standing.is_none());
    let later_cheaper = b.cost.each() < a.cost.each();
    BeforeAnswer {
        schema: super::SCHEMA,
        part: answer.part.clone(),
        quantity: answer.quantity,
        currency: answer.currency.clone(),
        first: (a.machine.clone(), a.mode),
        second: (b.machine.clone(), b.mode),
        by_standing,
        cost,
        cycle,
        setup,
        alike,
        turns_above: even.filter(|_| later_cheaper).map(f64::ceil),
        turns_below: even.filter(|_| !later_cheaper).map(f64::floor),
    }
}

/// Lines of two setups that differ, kind by kind: five turning tools stand beside four.
fn setups_apart(a: &RowAnswer, b: &RowAnswer) -> Vec<(String, f64, f64)> {
    let mut kinds: Vec<&str> = Vec::new();
    for line in a.setup.iter().chain(&b.setup) {
        if !kinds.contains(&line.kind) {
            kinds.push(line.kind);
        }
    }
    let name = |kind: &str| {
        let mut words: Vec<&str> =
            a.setup.iter().chain(&b.setup).filter(|l| l.kind == kind).map(|l| l.what.as_str()).collect();
        words.dedup();
        match words.as_slice() {
            [one] => (*one).to_owned(),
            _ => kind.replace('-', " "),
        }
    };
    let of = |r: &RowAnswer, kind: &str| r.setup.iter().filter(|l| l.kind == kind).map(|l| l.minutes).sum::<f64>();
    let rows = kinds.iter().map(|kind| (name(kind), of(a, kind), of(b, kind)));
    rows.filter(|(_, x, y)| (x - y).abs() >= 0.5).collect()
}

fn by_standing(a: &RowAnswer, b: &RowAnswer) -> String {
    let words = |r: &RowAnswer| match r.standing {
        Standing::Owned => "makes it with what the shop owns".to_owned(),
        Standing::NotStated => "leaves something unsaid that decides".to_owned(),
        Standing::WithPurchase => {
            let bought: Vec<String> = r.purchases.iter().map(|p| format!("{} x `{}`", p.count, p.attachment)).collect();
            format!("needs {}", bought.join(", "))
        }
        Standing::Refused => {
            let reason = r.reasons.iter().find(|x| x.verdict == Verdict::Refused).map(|x| x.reason.as_str());
            format!("is refused: {}", reason.unwrap_or("it has no plan"))
        }
    };
    format!("{} {}; {} {}", a.machine, words(a), b.machine, words(b))
}

/// Why one machine stands before another, as text.
pub fn before_text(b: &BeforeAnswer, style: Style) -> String {
    let width = usize::from(style.width);
    let count = print::thousands(b.quantity as f64);
    let name = |m: &(String, &str)| format!("{}, {}", m.0, m.1);
    let title = format!("{}: {} before {} at {count}", b.part, name(&b.first), name(&b.second));
    let mut out = format!("{}\n", style.bold(&wrapped(&title, width, "")));
    if let Some(words) = &b.by_standing {
        out.push_str(&wrapped(&format!("{}.", sentence(words)), width, ""));
        out.push('\n');
    }
    let section = |title: &str, unit: &str, rows: Vec<(String, String, String, String)>| {
        let mut table = text::table(style);
        let titles = [title.to_owned(), b.first.0.clone(), b.second.0.clone(), format!("difference, {unit}")];
        table.set_header(titles.iter().enumerate().map(|(i, t)| head(t, i > 0)).collect::<Vec<Cell>>());
        for (name, x, y, d) in rows {
            table.add_row(vec![Cell::new(name), number(x), number(y), number(d)]);
        }
        format!("\n{}\n", text::drawn(&table))
    };
    let sign = |words: String| {
        let is_nought = !words.contains(|c: char| ('1'..='9').contains(&c));
        if is_nought || words.starts_with('-') { words } else { format!("+{words}") }
    };
    let terms = |terms: &[Term], f: &dyn Fn(f64) -> String| -> Vec<(String, String, String, String)> {
        let shown = terms.iter().filter(|t| t.first != 0.0 || t.second != 0.0);
        shown
            .map(|t| {
                let d = t.second - t.first;
                (t.name.to_owned(), f(t.first), f(t.second), sign(f(d)))
            })
            .collect()
    };
    out.push_str(&section("cost of a piece", &b.currency, terms(&b.cost, &money)));
    out.push_str(&section("cycle", "s", terms(&b.cycle, &|s| fixed(s, 1))));
    let lines = b.setup.iter().map(|(name, x, y)| {
        let d = y - x;
        (name.clone(), fixed(*x, 0), fixed(*y, 0), sign(fixed(d, 0)))
    });
    out.push_str(&section("setup, where it differs", "min", lines.collect()));
    let mut closing = Vec::new();
    if b.alike && b.by_standing.is_none() {
        closing
            .push("The two cannot be told apart: their costs differ by less than the estimates are known.".to_owned());
    }
    match (b.turns_above, b.turns_below, &b.by_standing) {
        (Some(n), _, _) => closing.push(format!("From {} pieces on {} costs less.", print::thousands(n), b.second.0)),
        (_, Some(n), _) => closing.push(format!("Up to {} pieces {} costs less.", print::thousands(n), b.second.0)),
        (None, None, None) => closing.push(format!("At every quantity {} costs less.", b.first.0)),
        _ => {}
    }
    for words in closing {
        out.push_str(&format!("\n{}\n", wrapped(&words, width, "")));
    }
    out
}
