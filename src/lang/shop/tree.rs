//! A YAML file as a tree of scalars with their places, so that every fault of a file is found in one reading and not
//! only its first.

use crate::lang::Diagnostic;
use crate::model::Place;
use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_yaml::{DuplicateKeyPolicy, Error, Location, MergeKeyPolicy, Options, Spanned};
use std::fmt;

/// Larger files are refused before they are read.
const LARGEST: usize = 1 << 20;

/// A value with its place.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) place: Place,
    /// What to point at where something is missing from it: its key, or the start of the file.
    pub(super) named_at: Place,
    pub(super) value: Value,
}

/// What a value is.
#[derive(Clone, Debug)]
pub(super) enum Value {
    /// As written, without quotes.
    Scalar(String),
    List(Vec<Node>),
    /// In the order of the file.
    Map(Vec<Entry>),
    Nothing,
}

/// One key with its value.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    pub(super) key: String,
    pub(super) key_place: Place,
    pub(super) node: Node,
}

impl Node {
    /// What to underline: a single value, or the key of what has many lines.
    pub(super) fn shown(&self) -> Place {
        match self.value {
            Value::Scalar(_) => self.place,
            _ if self.named_at.end > self.named_at.start => self.named_at,
            _ => self.place,
        }
    }
    /// What it is, in a reader's words.
    pub(super) fn word(&self) -> &'static str {
        match self.value {
            Value::Scalar(_) => "a single value",
            Value::List(_) => "a list",
            Value::Map(_) => "a group of keys",
            Value::Nothing => "nothing",
        }
    }
}

/// Reads a file.
///
/// # Errors
/// The fault that keeps it from being read as YAML at all.
pub(super) fn read(file: u32, text: &str) -> Result<Node, Diagnostic> {
    if text.len() > LARGEST {
        let place = Place { file, start: 0, end: 0 };
        return Err(Diagnostic::error("file-too-large", place, format!("the file has {} bytes", text.len()))
            .help(format!("a shop file may have {LARGEST} bytes")));
    }
    let options = serde_yaml::options! {
        strict_booleans: true,
        with_snippet: false,
        // Repeated keys come through, so that both places can be shown.
        duplicate_keys: DuplicateKeyPolicy::PassThrough,
        merge_keys: MergeKeyPolicy::Error,
    };
    let raw: Spanned<Raw> = from_str(text, options).map_err(|e| fault(file, text, &e))?;
    Ok(raw_node(file, text, raw))
}

fn from_str(text: &str, options: Options) -> Result<Spanned<Raw>, Error> {
    serde_yaml::from_str_with_options(text, options)
}

fn fault(file: u32, text: &str, error: &Error) -> Diagnostic {
    let place =
        error.location().map_or(Place { file, start: 0, end: 0 }, |l| one_word(text, line_place(file, text, l)));
    let said = error.without_snippet().to_string();
    // The library ends its text with line and column, which the diagnostic draws itself.
    let said = said.lines().next().unwrap_or_default();
    let said = said.split(" at line ").next().unwrap_or(said).trim_end_matches('.');
    let mut letters = said.chars();
    let said: String = letters.next().into_iter().flat_map(char::to_lowercase).chain(letters).collect();
    Diagnostic::error("not-yaml", place, format!("this cannot be read as YAML: {said}"))
        .help("a key, a colon and a space, then its value; what belongs to a key is indented below it, without tabs")
}

fn place_of(file: u32, text: &str, location: Location) -> Place {
    let span = location.span();
    let (Some(start), Some(length)) = (span.byte_offset(), span.byte_len()) else {
        return Place { file, start: 0, end: 0 };
    };
    let end = start.saturating_add(length).min(text.len() as u64);
    let small = |v: u64| u32::try_from(v.min(end)).unwrap_or(u32::MAX);
    Place { file, start: small(start), end: small(end) }
}

/// A fault in the syntax knows its line and column, but not always its bytes.
fn line_place(file: u32, text: &str, location: Location) -> Place {
    let line = usize::try_from(location.line().saturating_sub(1)).unwrap_or(0);
    let column = usize::try_from(location.column().saturating_sub(1)).unwrap_or(0);
    let before: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
    let rest = text.get(before..).unwrap_or_default();
    let within = rest.char_indices().nth(column).map_or(rest.len(), |(i, _)| i);
    let start = u32::try_from(before + within).unwrap_or(0);
    Place { file, start, end: start }
}

/// An empty place is widened to the word that stands there.
fn one_word(text: &str, place: Place) -> Place {
    if place.end > place.start {
        return place;
    }
    let rest = text.get(place.start as usize..).unwrap_or_default();
    let length = rest.find(|c: char| c.is_whitespace()).unwrap_or(rest.len());
    Place { end: place.start + u32::try_from(length).unwrap_or(0), ..place }
}

/// As the library hands it over.
enum Raw {
    Scalar,
    List(Vec<Spanned<Raw>>),
    Map(Vec<(Spanned<Key>, Spanned<Raw>)>),
    Nothing,
}

/// A key of any scalar type; its text is cut from the source.
struct Key;

fn raw_node(file: u32, text: &str, raw: Spanned<Raw>) -> Node {
    let mut place = place_of(file, text, raw.referenced);
    let value = match raw.value {
        Raw::Nothing => Value::Nothing,
        Raw::Scalar => {
            let (words, narrow) = written(text, place);
            place = narrow;
            Value::Scalar(words)
        }
        Raw::List(items) => Value::List(items.into_iter().map(|i| raw_node(file, text, i)).collect()),
        Raw::Map(entries) => {
            let entry = |(key, node): (Spanned<Key>, Spanned<Raw>)| {
                let (key, key_place) = written(text, place_of(file, text, key.referenced));
                let mut node = raw_node(file, text, node);
                node.named_at = key_place;
                Entry { key, key_place, node }
            };
            Value::Map(entries.into_iter().map(entry).collect())
        }
    };
    Node { place, named_at: Place { end: place.start, ..place }, value }
}

/// The words of the source without the quotes and the space around them, and their place.
fn written(text: &str, place: Place) -> (String, Place) {
    let words = text.get(place.start as usize..place.end as usize).unwrap_or_default();
    let trimmed = words.trim();
    let quoted = |q: char| trimmed.len() >= 2 && trimmed.starts_with(q) && trimmed.ends_with(q);
    let inner = if quoted('"') || quoted('\'') { &trimmed[1..trimmed.len() - 1] } else { trimmed };
    let before = words.find(inner).unwrap_or(0);
    let start = place.start + u32::try_from(before).unwrap_or(0);
    (inner.to_owned(), Place { start, end: start + u32::try_from(inner.len()).unwrap_or(0), ..place })
}

struct RawVisitor;

impl<'de> Visitor<'de> for RawVisitor {
    type Value = Raw;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a value, a list or a group of keys")
    }
    fn visit_bool<E>(self, _: bool) -> Result<Raw, E> {
        Ok(Raw::Scalar)
    }
    fn visit_i64<E>(self, _: i64) -> Result<Raw, E> {
        Ok(Raw::Scalar)
    }
    fn visit_u64<E>(self, _: u64) -> Result<Raw, E> {
        Ok(Raw::Scalar)
    }
    fn visit_i128<E>(self, _: i128) -> Result<Raw, E> {
        Ok(Raw::Scalar)
    }
    fn visit_u128<E>(self, _: u128) -> Result<Raw, E> {
        Ok(Raw::Scalar)
    }
    fn visit_f64<E>(self, _: f64) -> Result<Raw, E> {
        Ok(Raw::Scalar)
    }
    fn visit_str<E>(self, _: &str) -> Result<Raw, E> {
        Ok(Raw::Scalar)
    }
    fn visit_unit<E>(self) -> Result<Raw, E> {
        Ok(Raw::Nothing)
    }
    fn visit_none<E>(self) -> Result<Raw, E> {
        Ok(Raw::Nothing)
    }
    fn visit_some<D: Deserializer<'de>>(self, d: D) -> Result<Raw, D::Error> {
        Raw::deserialize(d)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Raw, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = seq.next_element()? {
            items.push(item);
        }
        Ok(Raw::List(items))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Raw, A::Error> {
        let mut entries = Vec::new();
        while let Some(key) = map.next_key()? {
            entries.push((key, map.next_value()?));
        }
        Ok(Raw::Map(entries))
    }
}

impl<'de> Deserialize<'de> for Raw {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Raw, D::Error> {
        d.deserialize_any(RawVisitor)
    }
}

impl<'de> Deserialize<'de> for Key {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Key, D::Error> {
        String::deserialize(d).map(|_| Key)
    }
}
