//! Who works in the shop: setters with their hours and skills, operators.

use super::group::Group;
use super::tree::Node;
use super::{Named, Reader, values};
use crate::model::shop::People;
use std::collections::BTreeMap;

impl Reader {
    pub(super) fn people(&mut self, node: &Node) -> Option<People> {
        let mut group = Group::of(node, "people", &mut self.out)?;
        let setters = group.required("setters", "setters: 2").and_then(|n| self.whole(n, "2", 1, 10_000));
        let hours = group.optional("hours").and_then(|n| self.hours(n, "1_650 h/year"));
        let setter = group.required("setter", "setter: 58 EUR/h").and_then(|n| self.rate(n, "58 EUR/h"));
        let operator = group.required("operator", "operator: 42 EUR/h").and_then(|n| self.rate(n, "42 EUR/h"));
        let tended = group.required("machines per operator", "machines per operator: 4");
        let tended = tended.and_then(|n| self.tended(n));
        let skills = group.optional("skills").map(|n| self.skills(n, setters)).unwrap_or_default();
        group.finish(&mut self.out);
        let machines_per_operator = tended?;
        Some(People { setters: setters?, hours, setter: setter?, operator: operator?, machines_per_operator, skills })
    }

    /// `{ tilt-32: 1 }`: one of the setters can set it.
    fn skills(&mut self, node: &Node, setters: Option<u32>) -> BTreeMap<String, u32> {
        let mut skills = BTreeMap::new();
        let Some(group) = Group::of(node, "skills", &mut self.out) else { return skills };
        for entry in group.entries() {
            self.named.push(Named::of(&entry.key, entry.key_place));
            if let Some(count) = self.whole(&entry.node, "1", 0, setters.unwrap_or(10_000)) {
                skills.insert(entry.key.clone(), count);
            }
        }
        skills
    }

    fn tended(&mut self, node: &Node) -> Option<f64> {
        let words = self.words(node)?;
        let value = self.keep(values::bare(words, "4"))?;
        self.keep(values::within(words, value, 0.1, 100.0, "0.1 to 100 machines"))?;
        Some(value)
    }
}
