//! What the shop file says of quotes: validity, deliveries, prices beside the machine, the seller.

use super::group::Group;
use super::tree::Node;
use super::values::{self, Words};
use super::{Reader, nearest};
use crate::lang::Diagnostic;
use crate::model::after::After;
use crate::model::shop::{Inspection, Party, Quotes, Treatment};
use crate::quantity::measure::Quantity;
use crate::quantity::{Money, Time};
use std::collections::BTreeMap;

/// Hours of a day by the calendar.
const DAY: f64 = 24.0;

impl Reader {
    pub(super) fn quotes(&mut self, node: &Node) -> Option<Quotes> {
        let mut group = Group::of(node, "quotes", &mut self.out)?;
        let quotes = Quotes {
            valid_days: group.optional("valid").and_then(|n| self.whole_days(n)),
            bar_delivery: group.optional("bar delivery").and_then(|n| self.delivery(n)),
            price_per: group.optional("price per").and_then(|n| self.price_per(n)),
            inspection: group.optional("inspection").and_then(|n| self.inspection(n)),
            certificates: group.optional("certificates").map(|n| self.certificates(n)).unwrap_or_default(),
            treatments: group.optional("treatments").map(|n| self.treatments(n)).unwrap_or_default(),
            seller: group.optional("seller").and_then(|n| self.party(n)),
        };
        group.finish(&mut self.out);
        Some(quotes)
    }

    fn whole_days(&mut self, node: &Node) -> Option<u32> {
        let words = self.words(node)?;
        let time: Time = self.keep(values::quantity(words, "30 days"))?;
        let days = time.to_hours() / DAY;
        let whole = if days.fract().abs() < 1e-9 { days } else { f64::NAN };
        self.keep(values::within(words, whole, 1.0, 3660.0, "whole days, 1 to 3,660"))?;
        Some(whole as u32)
    }

    fn price_per(&mut self, node: &Node) -> Option<u64> {
        let words = self.words(node)?;
        let pieces = self.keep(values::count(words, "100"))?;
        let known = [1, 10, 100, 1000].contains(&pieces);
        let value = if known { f64::from(pieces) } else { f64::NAN };
        self.keep(values::within(words, value, 1.0, 1000.0, "1, 10, 100 or 1_000 pieces"))?;
        Some(u64::from(pieces))
    }

    fn inspection(&mut self, node: &Node) -> Option<Inspection> {
        let mut group = Group::of(node, "inspection", &mut self.out)?;
        let time = group.required("per dimension", "per dimension: 20 s").and_then(|n| self.time(n, "20 s"));
        let sample = group.required("sample", "sample: 5 %").and_then(|n| self.percent(n, "5 %", 0.0, 1.0));
        group.finish(&mut self.out);
        Some(Inspection { per_dimension: time?, sample: sample? })
    }

    fn certificates(&mut self, node: &Node) -> Vec<(String, Money)> {
        let Some(group) = Group::of(node, "certificates", &mut self.out) else { return Vec::new() };
        group.entries().filter_map(|e| Some((e.key.clone(), self.amount(&e.node, "25 EUR")?))).collect()
    }

    fn treatments(&mut self, node: &Node) -> BTreeMap<String, Treatment> {
        let mut treatments = BTreeMap::new();
        let Some(group) = Group::of(node, "treatments", &mut self.out) else { return treatments };
        for entry in group.entries() {
            if !After::PROCESSES.contains(&entry.key.as_str()) {
                let message = format!("`{}` is no step after the machine", entry.key);
                let help = nearest(&entry.key, After::PROCESSES, "step");
                self.out.push(Diagnostic::error("unknown-treatment", entry.key_place, message).help(help));
                continue;
            }
            if let Some(treatment) = self.treatment(&entry.key, &entry.node) {
                treatments.insert(entry.key.clone(), treatment);
            }
        }
        treatments
    }

    fn treatment(&mut self, name: &str, node: &Node) -> Option<Treatment> {
        let mut group = Group::of(node, name, &mut self.out)?;
        let treatment = Treatment {
            piece: group.optional("piece").and_then(|n| self.amount(n, "0.12 EUR")),
            mass: group.optional("mass").and_then(|n| self.amount(n, "4.50 EUR/kg")),
            order: group.optional("order").and_then(|n| self.amount(n, "35 EUR")),
            least: group.optional("least").and_then(|n| self.amount(n, "60 EUR")),
            takes: group.optional("takes").and_then(|n| self.delivery(n)),
        };
        group.finish(&mut self.out);
        Some(treatment)
    }

    /// An amount of money, or money by something, no less than nothing.
    fn amount<Q: Quantity>(&mut self, node: &Node, example: &str) -> Option<Q> {
        let words = self.words(node)?;
        let measure = self.keep(values::measure(words, Q::DIMENSION, example))?;
        self.keep(values::within(words, measure.value, 0.0, 1e9, "no less than nothing"))?;
        self.keep(values::money(words, self.currency, example))
    }

    fn party(&mut self, node: &Node) -> Option<Party> {
        let mut group = Group::of(node, "seller", &mut self.out)?;
        let name = group.required("name", "name: Fernhollow Turned Parts").and_then(|n| self.text(n));
        let street = group.optional("street").and_then(|n| self.text(n));
        let city = group.optional("city").and_then(|n| self.text(n));
        let postcode = group.optional("postcode").and_then(|n| self.text(n));
        let country = group.optional("country").and_then(|n| self.country(n));
        let tax_number = group.optional("tax number").and_then(|n| self.text(n));
        let email = group.optional("email").and_then(|n| self.text(n));
        group.finish(&mut self.out);
        Some(Party { name: name?, street, city, postcode, country, tax_number, email })
    }

    fn country(&mut self, node: &Node) -> Option<String> {
        let Words { text, place } = self.words(node)?;
        if text.len() == 2 && text.bytes().all(|b| b.is_ascii_uppercase()) {
            return Some(text.to_owned());
        }
        let message = format!("`{text}` is no country code");
        self.out.push(
            Diagnostic::error("unknown-country", place, message)
                .help("write its two capital letters after ISO 3166-1, such as `CH`"),
        );
        None
    }

    /// Hours of work that a machine is promised to.
    pub(super) fn load(&mut self, node: &Node) -> Option<Time> {
        let words = self.words(node)?;
        let load: Time = self.keep(values::quantity(words, "160 h"))?;
        self.keep(values::within(words, load.to_hours(), 0.0, 100_000.0, "no less than nothing, up to 100_000 h"))?;
        Some(load)
    }
}
