//! The factors that the shop's own records gave.

use super::group::Group;
use super::tree::Node;
use super::{Named, Reader, in_words, nearest, setup_keys};
use crate::lang::Diagnostic;
use crate::model::calibration::{Calibration, Factor};
use std::collections::BTreeMap;

/// Factors that a shop file takes; beyond them a unit was mistaken.
pub(super) const LEAST: f64 = 0.05;
pub(super) const MOST: f64 = 20.0;

impl Reader {
    pub(super) fn calibration(&mut self, node: &Node) -> Option<Calibration> {
        let mut group = Group::of(node, "calibration", &mut self.out)?;
        let mut read = Calibration::default();
        if let Some(mut cycle) = group.optional("cycle").and_then(|n| Group::of(n, "cycle", &mut self.out)) {
            read.cycle = cycle.optional("machines").map(|n| self.of_machines(n)).unwrap_or_default();
            read.families = cycle.optional("families").map(|n| self.factors(n, "families")).unwrap_or_default();
            cycle.finish(&mut self.out);
        }
        if let Some(mut standing) = group.optional("stoppages").and_then(|n| Group::of(n, "stoppages", &mut self.out)) {
            read.stoppages = standing.optional("machines").map(|n| self.of_machines(n)).unwrap_or_default();
            standing.finish(&mut self.out);
        }
        if let Some(mut setup) = group.optional("setup").and_then(|n| Group::of(n, "setup", &mut self.out)) {
            read.setup = setup.optional("machines").map(|n| self.of_machines(n)).unwrap_or_default();
            read.elements = setup.optional("elements").map(|n| self.of_elements(n)).unwrap_or_default();
            setup.finish(&mut self.out);
        }
        group.finish(&mut self.out);
        Some(read)
    }

    fn of_machines(&mut self, node: &Node) -> BTreeMap<String, Factor> {
        if let Some(group) = Group::of(node, "machines", &mut Vec::new()) {
            self.named.extend(group.entries().map(|e| Named::of(&e.key, e.key_place)));
        }
        self.factors(node, "machines")
    }

    fn of_elements(&mut self, node: &Node) -> BTreeMap<String, Factor> {
        if let Some(group) = Group::of(node, "elements", &mut Vec::new()) {
            for entry in group.entries().filter(|e| !setup_keys().any(|k| in_words(k) == e.key)) {
                let words: Vec<String> = setup_keys().map(in_words).collect();
                let words: Vec<&str> = words.iter().map(String::as_str).collect();
                let message = format!("`{}` is not a standard time", entry.key);
                let help = nearest(&entry.key, &words, "standard time");
                self.out.push(Diagnostic::error("unknown-setup-time", entry.key_place, message).help(help));
            }
        }
        let factors = self.factors(node, "elements");
        factors.into_iter().map(|(name, factor)| (name.replace(' ', "-"), factor)).collect()
    }

    fn factors(&mut self, node: &Node, name: &str) -> BTreeMap<String, Factor> {
        let Some(group) = Group::of(node, name, &mut self.out) else { return BTreeMap::new() };
        group.entries().filter_map(|e| Some((e.key.clone(), self.factor(&e.key, &e.node)?))).collect()
    }

    fn factor(&mut self, name: &str, node: &Node) -> Option<Factor> {
        let mut group = Group::of(node, name, &mut self.out)?;
        let factor = group.required("factor", "factor: 1.08").and_then(|n| self.ratio(n));
        let records = group.required("records", "records: 23").and_then(|n| self.whole(n, "23", 1, 1_000_000));
        let spread = group.required("spread", "spread: 6 %").and_then(|n| self.percent(n, "6 %", 0.0, 10.0));
        group.finish(&mut self.out);
        Some(Factor { factor: factor?, records: records?, spread: spread? })
    }

    fn ratio(&mut self, node: &Node) -> Option<f64> {
        let words = self.words(node)?;
        let value = self.keep(super::values::bare(words, "1.08"))?;
        self.keep(super::values::within(words, value, LEAST, MOST, "a factor of 0.05 to 20"))?;
        Some(value)
    }
}
