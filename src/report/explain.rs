//! A rule in words.

use super::text::{Style, hanging};
use crate::matching::rules::{RULES, Rule};
use schemars::JsonSchema;
use serde::Serialize;

/// A rule as data.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RuleAnswer {
    pub schema: u32,
    pub rule: &'static str,
    pub question: &'static str,
    pub what: &'static str,
    pub formulas: &'static [&'static str],
    pub why: &'static str,
    pub source: &'static str,
    pub trips: &'static str,
    pub passes: &'static str,
}

/// A rule as data.
pub fn answer(rule: &dyn Rule) -> RuleAnswer {
    let d = rule.doc();
    RuleAnswer {
        schema: super::SCHEMA,
        rule: rule.name(),
        question: d.question,
        what: d.what,
        formulas: d.formulas,
        why: d.why,
        source: d.source,
        trips: d.trips,
        passes: d.passes,
    }
}

/// A rule as text.
pub fn text(rule: &dyn Rule, style: Style) -> String {
    let d = rule.doc();
    let mut out = format!("{}: {}\n", style.bold(rule.name()), d.question);
    for (name, words) in
        [("compares", &[d.what][..]), ("reckons", d.formulas), ("why", &[d.why]), ("source", &[d.source])]
    {
        if words.is_empty() {
            continue;
        }
        out.push_str(&format!("\n{}\n", style.bold(name)));
        for line in words {
            out.push_str(&hanging("  ", if name == "reckons" { "    " } else { "  " }, line, style.width.into()));
            out.push('\n');
        }
    }
    for (name, spec) in [("a spec that trips it", d.trips), ("one that does not", d.passes)] {
        out.push_str(&format!("\n{}\n", style.bold(name)));
        for line in spec.trim_matches('\n').lines() {
            out.push_str(&format!("  {line}\n"));
        }
    }
    out
}

/// All rules, a line each.
pub fn list(style: Style) -> String {
    let width = RULES.iter().map(|r| r.name().len()).max().unwrap_or(0);
    let mut out = String::new();
    for rule in RULES {
        let pad = " ".repeat(width - rule.name().len());
        out.push_str(&format!("{}{pad}  {}\n", style.bold(rule.name()), rule.doc().question));
    }
    out
}
