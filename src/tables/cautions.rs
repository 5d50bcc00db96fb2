//! What a report warns of where the work can hurt someone. Not a safety assessment: the machine's manual, local codes
//! and the competent person rule.

use super::{Access, read};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// One caution.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// `bar-whip`, `titanium-chips`.
    pub key: String,
    /// What it is about, in a few words.
    pub topic: String,
    pub text: String,
    /// Standards to read, by number.
    pub standards: Vec<String>,
    pub source: String,
    pub access: Access,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    cautions: Vec<Caution>,
}

static TABLE: LazyLock<BTreeMap<String, Caution>> = LazyLock::new(|| {
    let file: File = read("cautions", include_str!("cautions.yaml"));
    file.cautions.into_iter().map(|c| (c.key.clone(), c)).collect()
});

/// The caution of a key.
pub fn get(key: &str) -> Option<&'static Caution> {
    TABLE.get(key)
}

/// All cautions, by key.
pub fn all() -> impl Iterator<Item = &'static Caution> {
    TABLE.values()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_caution_is_complete() {
        assert!(all().count() >= 22);
        for c in all() {
            assert!(c.text.ends_with('.') && !c.source.is_empty() && !c.topic.is_empty(), "{}", c.key);
        }
        assert!(get("titanium-chips").unwrap().text.contains("class D"));
    }
}
