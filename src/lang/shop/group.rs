//! A group of keys: which are there, which are missing, which nobody knows.

use super::tree::{Entry, Node, Value};
use crate::lang::Diagnostic;
use crate::quantity::units::edit_distance;

/// A group on its way through the reader. Keys that were asked for are known; [`Group::finish`] tells of the others.
pub(super) struct Group<'n> {
    name: &'n str,
    node: &'n Node,
    entries: &'n [Entry],
    asked: Vec<&'static str>,
    missing: Vec<(&'static str, &'static str)>,
}

impl<'n> Group<'n> {
    /// The keys of a node; repeated ones are told at once.
    pub(super) fn of(node: &'n Node, name: &'n str, out: &mut Vec<Diagnostic>) -> Option<Group<'n>> {
        let Value::Map(entries) = &node.value else {
            let message = format!("a group of keys is expected for `{name}`, not {}", node.word());
            out.push(
                Diagnostic::error("wrong-shape", node.shown(), message)
                    .help("write each key with a colon, indented below, or all of them between braces"),
            );
            return None;
        };
        for (i, entry) in entries.iter().enumerate() {
            if let Some(first) = entries[..i].iter().find(|e| e.key == entry.key) {
                let message = format!("`{}` is stated twice", entry.key);
                out.push(
                    Diagnostic::error("duplicate-key", entry.key_place, message)
                        .also(first.key_place, "stated first here")
                        .help("keep one of them"),
                );
            }
        }
        Some(Group { name, node, entries, asked: Vec::new(), missing: Vec::new() })
    }

    /// All entries, in the order of the file.
    pub(super) fn entries(&self) -> impl Iterator<Item = &'n Entry> + use<'n> {
        self.entries.iter()
    }

    /// The value of a key that may be missing.
    pub(super) fn optional(&mut self, key: &'static str) -> Option<&'n Node> {
        self.asked.push(key);
        self.entries.iter().find(|e| e.key == key).map(|e| &e.node)
    }

    /// The value of a key that must be there.
    pub(super) fn required(&mut self, key: &'static str, example: &'static str) -> Option<&'n Node> {
        let found = self.optional(key);
        if found.is_none() {
            self.missing.push((key, example));
        }
        found
    }

    /// Tells of every key that nobody asked for, and of those that are missing.
    pub(super) fn finish(self, out: &mut Vec<Diagnostic>) {
        let unknown: Vec<&Entry> = self.entries.iter().filter(|e| !self.asked.contains(&e.key.as_str())).collect();
        for entry in &unknown {
            let message = format!("`{}` is not a key of `{}`", entry.key, self.name);
            out.push(Diagnostic::error("unknown-key", entry.key_place, message).help(super::nearest(
                &entry.key,
                &self.asked,
                "key",
            )));
        }
        for (key, example) in self.missing {
            // A slip in a key is told once, at the slip.
            if unknown.iter().any(|e| edit_distance(&e.key, key) <= 2) {
                continue;
            }
            out.push(
                Diagnostic::error("missing-key", self.node.named_at, format!("`{}` does not say `{key}`", self.name))
                    .help(format!("add `{example}`")),
            );
        }
    }
}
