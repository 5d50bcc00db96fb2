//! Hexalobular sockets after ISO 10664.

use super::{Sourced, read};
use crate::quantity::Length;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    sizes: Sourced<(u32, f64)>,
}

struct Table {
    outer: BTreeMap<u32, Length>,
    source: String,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = read("hexalobe", include_str!("hexalobe.yaml"));
    let source = file.sizes.cite();
    Table { outer: file.sizes.rows.into_iter().map(|(n, a)| (n, Length::mm(a))).collect(), source }
});

/// The outer diameter A of a size number; nothing where there is no such size.
pub fn outer(number: u32) -> Option<Length> {
    TABLE.outer.get(&number).copied()
}

/// The size numbers of the table, ascending.
pub fn numbers() -> impl Iterator<Item = u32> {
    TABLE.outer.keys().copied()
}

/// Where the sizes come from.
pub fn source() -> &'static str {
    &TABLE.source
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_grow_with_their_number() {
        let outers: Vec<Length> = numbers().filter_map(outer).collect();
        assert!(outers.windows(2).all(|w| w[0] < w[1]));
        assert_eq!(outer(15), Some(Length::mm(3.35)));
        assert_eq!(outer(16), None);
        assert!(source().contains("from memory"));
    }
}
