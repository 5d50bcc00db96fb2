//! What tells one quote from another: a hash over everything that decides it.

use crate::tables;
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// Letters of an identity: half of them would tell ten thousand quotes apart with a chance of mistake of one in six
/// million.
const LETTERS: usize = 12;

/// The identity of a quote: twelve hexadecimal digits in threes of four, of a SHA-256 over the program's version, its
/// tables, the texts read (whatever their files are called) and the words of what was asked.
pub fn identity<'a>(texts: impl Iterator<Item = &'a str>, asked: &[String]) -> String {
    let mut hash = Sha256::new();
    let mut add = |text: &str| {
        // With its length before it, so that no two lists of texts run together to the same letters.
        hash.update((text.len() as u64).to_le_bytes());
        hash.update(text.as_bytes());
    };
    add(env!("CARGO_PKG_VERSION"));
    tables::TEXTS.iter().for_each(|t| add(t.1));
    let mut texts: Vec<&str> = texts.collect();
    texts.sort_unstable();
    add(&texts.len().to_string());
    texts.into_iter().for_each(&mut add);
    asked.iter().for_each(|a| add(a));
    let mut out = String::new();
    for byte in hash.finalize().iter().take(LETTERS / 2) {
        if out.len() % 5 == 4 {
            out.push('-');
        }
        let _ = write!(out, "{byte:02x}");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(texts: &[&str], asked: &[&str]) -> String {
        let asked: Vec<String> = asked.iter().map(|a| (*a).to_owned()).collect();
        identity(texts.iter().copied(), &asked)
    }

    #[test]
    fn the_same_is_the_same_in_any_order_of_files_and_nothing_else_is() {
        let one = of(&["a", "bc"], &["500"]);
        assert_eq!(one.len(), 14);
        assert_eq!(one, of(&["bc", "a"], &["500"]));
        for other in [of(&["ab", "c"], &["500"]), of(&["a", "bc"], &["501"]), of(&["a"], &["bc", "500"])] {
            assert_ne!(one, other);
        }
    }
}
