//! A statement split into its clauses, and the typed values of each. Everything that the schema says is checked here:
//! unknown words, clauses twice, clauses that are missing, values of the wrong kind, words left over.

use super::diagnostic::Diagnostic;
use super::schema::{self, Shape};
use super::syntax::{Item, Kind, Statement};
use super::values::{self, Cursor, Reading, Scope};
use crate::model::figure::{Place, Remark, Stated};
use crate::model::machine::Range;
use crate::quantity::measure::Quantity;
use crate::quantity::units::edit_distance;
use std::cell::{Cell, RefCell};

/// One clause as it stands.
#[derive(Clone, Debug)]
pub struct Given<'s> {
    pub schema: &'static schema::Clause,
    pub word: Place,
    pub items: Vec<Item<'s>>,
}

/// A statement in its clauses.
#[derive(Debug)]
pub struct Clauses<'s, 'c> {
    pub schema: &'static schema::Statement,
    pub place: Place,
    pub word: Place,
    pub head: Vec<Item<'s>>,
    pub given: Vec<Given<'s>>,
    pub scope: &'c Scope,
    pub out: &'c RefCell<Vec<Diagnostic>>,
    /// It stands in the declaration itself, not in one that it is like.
    pub own: bool,
    /// One diagnostic says what is wrong with the whole statement; what follows from that is not told.
    alone: Cell<bool>,
}

/// The nearest of some words, where it is near enough to be meant: up to a third of the letters, at least one.
pub fn nearest<'w>(word: &str, words: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    let folded = word.to_lowercase();
    let limit = (word.chars().count() / 3).max(1);
    words
        .map(|w| (edit_distance(&folded, w), w))
        .filter(|(d, w)| *d <= limit && *d < w.chars().count())
        .min_by_key(|(d, _)| *d)
        .map(|(_, w)| w)
}

/// Words of other shops for words of the language.
static SYNONYMS: &[(&str, &str)] = &[
    ("diameter", "dia"),
    ("d", "dia"),
    ("od", "dia"),
    ("ra", "finish"),
    ("rz", "finish"),
    ("roughness", "finish"),
    ("surface", "finish"),
    ("qty", "order"),
    ("quantity", "order"),
    ("drill", "bore"),
    ("cone", "taper"),
    ("recess", "groove"),
    ("relief", "undercut"),
    ("flats", "flat"),
    ("hexagon", "hex"),
    ("run-out", "runout"),
    ("circularity", "roundness"),
    ("length", "z"),
    ("minor", "core"),
    ("root", "core"),
    ("tools", "fixed"),
    ("stations", "fixed"),
    ("driven", "live"),
    ("cpk", "key"),
    ("knurling", "knurl"),
    ("deburr", "edges"),
    ("magazin", "magazine"),
    ("cost", "price"),
];

/// What a wrong word was probably meant to be, among the words that may stand there.
pub fn suggestion<'w>(word: &str, words: impl Iterator<Item = &'w str> + Clone) -> Option<&'w str> {
    let folded = word.to_lowercase();
    if let Some(same) = words.clone().find(|w| *w == folded) {
        return Some(same);
    }
    let meant = SYNONYMS.iter().filter(|(w, _)| *w == folded).map(|(_, m)| *m);
    for m in meant {
        if let Some(found) = words.clone().find(|w| *w == m) {
            return Some(found);
        }
    }
    nearest(word, words)
}

/// A place from the first of some items to the last.
pub fn span(items: &[Item], otherwise: Place) -> Place {
    match (items.first(), items.last()) {
        (Some(a), Some(b)) => Place { end: b.place.end, ..a.place },
        _ => otherwise,
    }
}

impl<'s, 'c> Clauses<'s, 'c> {
    /// Splits a statement by the words of its schema.
    pub fn split(
        statement: &Statement<'s>,
        schema: &'static schema::Statement,
        scope: &'c Scope,
        out: &'c RefCell<Vec<Diagnostic>>,
    ) -> Clauses<'s, 'c> {
        let mut clauses = Clauses {
            schema,
            place: statement.place,
            word: statement.word.place,
            head: Vec::new(),
            given: Vec::new(),
            scope,
            out,
            own: true,
            alone: Cell::new(false),
        };
        for item in statement.items() {
            let found = schema.clauses.iter().find(|c| item.is_word(c.word));
            let current =
                clauses.given.last().map_or((schema.head, clauses.head.len()), |g| (g.schema.shape, g.items.len()));
            // A name may be any word, even one that begins a clause elsewhere.
            let takes_words = match current.0 {
                Shape::Name | Shape::Text => current.1 == 0,
                Shape::Names => current.1 == 0 || clauses.last_item().is_some_and(|i| i.kind == Kind::Comma),
                Shape::Word(words) => current.1 == 0 && words.contains(&item.text),
                Shape::Own(_) => clauses.given.last().is_some_and(|g| own_word(g.schema.word, item.text)),
                _ => false,
            };
            match found {
                Some(c) if !takes_words => {
                    if let Some(before) = clauses.given.iter().find(|g| g.schema.word == c.word) {
                        let message = format!("`{}` stands twice in this statement", c.word);
                        clauses.report(
                            Diagnostic::error("repeated-clause", item.place, message)
                                .also(before.word, "first here")
                                .help("take one out"),
                        );
                    }
                    clauses.given.push(Given { schema: c, word: item.place, items: Vec::new() });
                }
                _ => match clauses.given.last_mut() {
                    Some(g) => g.items.push(item),
                    None => clauses.head.push(item),
                },
            }
        }
        clauses.check();
        clauses
    }

    fn last_item(&self) -> Option<Item<'s>> {
        match self.given.last() {
            Some(g) => g.items.last().copied(),
            None => self.head.last().copied(),
        }
    }

    /// Adds a diagnostic.
    pub fn report(&self, d: Diagnostic) {
        if !self.alone.get() {
            self.out.borrow_mut().push(d);
        }
    }

    /// Adds the one diagnostic of a statement that is misread from there on, in place of what else was found in it.
    pub fn report_alone(&self, d: Diagnostic) {
        let own = |p: Place| p.file == self.place.file && p.start >= self.place.start && p.end <= self.place.end;
        self.out.borrow_mut().retain(|before| !own(before.place));
        self.report(d);
        self.alone.set(true);
    }

    fn check(&self) {
        for c in self.schema.clauses.iter().filter(|c| c.needed) {
            // A misspelt clause is told where it stands, not as a missing one besides.
            if !self.has(c.word) && !self.misspelt(c.word) {
                let message = format!("`{}` needs `{}`: {}", self.schema.word, c.word, c.doc);
                self.report(
                    Diagnostic::error("missing-clause", self.word, message)
                        .help(format!("for example `{}`", self.schema.example)),
                );
            }
        }
        for g in self.given.iter().filter(|g| g.schema.shape == Shape::Flag) {
            self.leftover(&g.items);
        }
        if matches!(self.schema.head, Shape::Own("nothing")) {
            self.leftover(&self.head);
        }
    }

    /// Whether some word of the statement was probably meant to be this clause.
    fn misspelt(&self, clause: &str) -> bool {
        let words = self.schema.clauses.iter().map(|c| c.word);
        let items = self.head.iter().skip(1).chain(self.given.iter().flat_map(|g| &g.items));
        items.filter(|i| i.kind == Kind::Word).any(|i| suggestion(i.text, words.clone()) == Some(clause))
    }

    /// Reports where more than one of some clauses is given.
    pub fn only_one_of(&self, words: &[&str]) {
        let given: Vec<&Given> = self.given.iter().filter(|g| words.contains(&g.schema.word)).collect();
        if let [first, .., last] = given.as_slice()
            && first.schema.word != last.schema.word
        {
            let (a, b) = (first.schema.word, last.schema.word);
            self.report(
                Diagnostic::error(
                    "contradiction",
                    last.word,
                    format!("`{}` takes `{a}` or `{b}`, not both", self.schema.word),
                )
                .also(first.word, "stated here already")
                .help("take one out"),
            );
        }
    }

    /// What nothing is reckoned from, for the reader: whole statements that the schema tells, and such clauses of others.
    pub fn remarks(&self) -> Vec<Remark> {
        if self.schema.head == Shape::Told {
            let words = self.read_head(|c| Ok(text(c)));
            return words.map(|words| self.remark(words)).into_iter().collect();
        }
        let told = self.given.iter().filter(|g| g.schema.told && !g.items.is_empty());
        let words = told.map(|g| {
            let items = g.items.iter().map(|i| unquoted(i.text));
            std::iter::once(g.schema.word).chain(items).collect::<Vec<_>>().join(" ")
        });
        let words = words.collect::<Vec<_>>().join(", ");
        if words.is_empty() { Vec::new() } else { vec![self.remark(words)] }
    }

    fn remark(&self, words: String) -> Remark {
        let named = matches!(self.schema.head, Shape::Own(_) | Shape::Word(_) | Shape::Name | Shape::MaybeName);
        let name = self.head.first().filter(|i| named && i.kind == Kind::Word);
        let about = name.map_or_else(|| self.schema.word.to_owned(), |n| format!("{} {}", self.schema.word, n.text));
        Remark { about, words, place: self.place }
    }

    /// Reports items that nothing takes.
    pub fn leftover(&self, items: &[Item<'s>]) {
        let Some(first) = items.first() else { return };
        let words = self.schema.clauses.iter().map(|c| c.word);
        let d = match first.kind {
            Kind::Word => {
                let message = format!("`{}` means nothing in `{}`", first.text, self.schema.word);
                let d = Diagnostic::error("unknown-clause", first.place, message);
                match suggestion(first.text, words.clone()) {
                    Some(near) => d.help(format!("did you mean `{near}`?")).fix(near),
                    None if self.schema.clauses.is_empty() => d.help(format!("for example `{}`", self.schema.example)),
                    None => d.help(format!("`{}` takes {}", self.schema.word, words.collect::<Vec<_>>().join(", "))),
                }
            }
            _ => Diagnostic::error("left-over", span(items, first.place), "nothing takes this")
                .help(format!("for example `{}`", self.schema.example)),
        };
        self.report(d);
    }

    /// Whether a clause is there.
    pub fn has(&self, word: &str) -> bool {
        self.find(word).is_some()
    }

    /// A clause as it stands.
    pub fn find(&self, word: &str) -> Option<&Given<'s>> {
        debug_assert!(self.schema.clauses.iter().any(|c| c.word == word), "{} has no clause {word}", self.schema.word);
        self.given.iter().find(|g| g.schema.word == word)
    }

    /// Reads a clause's value with a function; reports what is wrong and what is left over.
    pub fn read<T>(&self, word: &str, f: impl FnOnce(&mut Cursor<'_, 's>) -> Result<T, Diagnostic>) -> Option<T> {
        let given = self.find(word)?;
        self.read_items(&given.items, given.word, given.schema.shape, f)
    }

    /// Reads the head's value with a function.
    pub fn read_head<T>(&self, f: impl FnOnce(&mut Cursor<'_, 's>) -> Result<T, Diagnostic>) -> Option<T> {
        self.read_items(&self.head, self.word, self.schema.head, f)
    }

    fn read_items<T>(
        &self,
        items: &[Item<'s>],
        word: Place,
        shape: Shape,
        f: impl FnOnce(&mut Cursor<'_, 's>) -> Result<T, Diagnostic>,
    ) -> Option<T> {
        if items.is_empty() {
            let message = format!("{} is missing here", shape.words());
            self.report(
                Diagnostic::error("missing-value", word, message)
                    .help(format!("for example `{}`", self.schema.example)),
            );
            return None;
        }
        let mut c = Cursor::new(items, word);
        match f(&mut c) {
            Ok(value) => {
                self.leftover(&items[c.at.min(items.len())..]);
                Some(value)
            }
            Err(d) => {
                // Where no closer remedy is known, the statement's example shows how it is written.
                self.report(if d.help.is_some() {
                    d
                } else {
                    d.help(format!("for example `{}`", self.schema.example))
                });
                None
            }
        }
    }

    /// A quantity of a clause.
    pub fn quantity<Q: Quantity>(&self, word: &str) -> Option<Q> {
        self.stated(word).map(|s| s.value)
    }

    /// A quantity of a clause with its place.
    pub fn stated<Q: Quantity>(&self, word: &str) -> Option<Stated<Q>> {
        self.read(word, |c| one(c, self.scope))
    }

    /// A quantity that must be greater than nought.
    pub fn positive<Q: Quantity + PartialOrd + Default>(&self, word: &str) -> Option<Stated<Q>> {
        let read = self.stated::<Q>(word)?;
        self.above_zero(read, word)
    }

    /// Reports a value that is not greater than nought.
    pub fn above_zero<Q: Quantity + PartialOrd + Default>(&self, read: Stated<Q>, word: &str) -> Option<Stated<Q>> {
        if read.value > Q::default() {
            return Some(read);
        }
        self.report(
            Diagnostic::error("not-positive", read.place, format!("`{word}` must be greater than 0"))
                .help("give the size as the drawing or the machine's data sheet does"),
        );
        None
    }

    /// A range of a clause.
    pub fn range<Q: Quantity + PartialOrd>(&self, word: &str) -> Option<Range<Q>> {
        self.read(word, |c| range(c, self.scope))
    }

    /// A whole number of a clause.
    pub fn count(&self, word: &str) -> Option<u64> {
        self.read(word, count)
    }

    /// A number without a unit.
    pub fn number(&self, word: &str) -> Option<f64> {
        self.read(word, |c| plain_number(c, self.scope))
    }

    /// A word of a clause, one of those that the schema names.
    pub fn word(&self, word: &str) -> Option<&'static str> {
        let given = self.find(word)?;
        let shape = given.schema.shape;
        self.read(word, |c| one_of(c, shape))
    }

    /// A text: in quotes, or the words to the next clause.
    pub fn text(&self, word: &str) -> Option<String> {
        self.read(word, |c| Ok(text(c)))
    }
}

/// Words that belong to the value of a clause although they begin a clause elsewhere in the same statement.
fn own_word(clause: &str, word: &str) -> bool {
    match clause {
        "made" => matches!(word, "from" | "front" | "back"),
        "occupies" => matches!(word, "live" | "fixed" | "pocket"),
        _ => false,
    }
}

/// One quantity.
pub fn one<Q: Quantity>(c: &mut Cursor, scope: &Scope) -> Result<Stated<Q>, Diagnostic> {
    let from = c.at;
    let read = values::reading(c, scope, &Q::DIMENSION.to_string())?;
    typed(c, from, read, scope)
}

/// A reading as a quantity, its words taken from the items.
pub fn typed<Q: Quantity>(c: &Cursor, from: usize, read: Reading, scope: &Scope) -> Result<Stated<Q>, Diagnostic> {
    let words = c.items[from..c.at.max(from)].iter().map(|i| i.text).collect::<Vec<_>>().join(" ");
    // A unit that is not one stands behind a bare number: say so rather than that a unit is missing.
    if read.bare
        && let Some(next) = c.peek().filter(|i| i.kind == Kind::Word && i.text.len() <= 8)
        && let Some(near) = crate::quantity::units::suggestion(next.text, Some(Q::DIMENSION))
        && crate::quantity::units::meaning(next.text).is_none()
        && !values::is_fit_class(next.text)
        && next.text != "x"
    {
        return Err(Diagnostic::error("unknown-unit", next.place, format!("`{}` is not a unit", next.text))
            .help(format!("did you mean `{near}`?"))
            .fix(near));
    }
    let value = values::quantity(read, scope, &words)?;
    Ok(Stated { value, place: read.place })
}

/// A range: `3 .. 32`, `.. 32`, `3 ..`; one number alone is its upper end. A unit behind the upper end holds for both.
pub fn range<Q: Quantity + PartialOrd>(c: &mut Cursor, scope: &Scope) -> Result<Range<Q>, Diagnostic> {
    let place = c.place();
    let from = c.at;
    let low = if c.peek().is_some_and(|i| i.kind == Kind::Range) {
        None
    } else {
        Some((from, values::reading(c, scope, &Q::DIMENSION.to_string())?))
    };
    let Some(_) = c.take(Kind::Range) else {
        let Some((from, read)) = low else {
            return Err(Diagnostic::error("missing-value", place, "a range is missing here"));
        };
        let value = typed::<Q>(c, from, read, scope)?;
        return Ok(Range { low: None, high: Some(value.value), place: value.place });
    };
    let high_from = c.at;
    let high = match c.peek().filter(|i| values::begins_number(*i) || scope.named.contains_key(i.text)) {
        Some(_) => Some(values::reading(c, scope, &Q::DIMENSION.to_string())?),
        None => None,
    };
    let end = c.items.get(c.at.saturating_sub(1)).map_or(place.end, |i| i.place.end);
    let place = Place { end, ..place };
    let high_value = match high {
        Some(read) => Some(typed::<Q>(c, high_from, read, scope)?.value),
        None => None,
    };
    let low_value = match low {
        Some((from, mut read)) => {
            // `200 .. 10_000 rpm`: the unit stands once, behind the upper end.
            if read.bare && high.is_some_and(|h| !h.bare) {
                let unit = c.items[high_from..c.at].iter().rev().find_map(|i| crate::quantity::units::meaning(i.text));
                let glued = c.items[high_from..c.at]
                    .iter()
                    .find_map(|i| values::split_glued(i.text))
                    .and_then(|(_, t)| crate::quantity::units::meaning(t));
                if let Some(meaning) = unit.or(glued) {
                    read.measure = meaning.of(read.measure.value);
                    read.bare = false;
                }
            }
            Some(typed_low::<Q>(c, from, read, scope)?.value)
        }
        None => None,
    };
    if low_value.is_none() && high_value.is_none() {
        return Err(Diagnostic::error("missing-value", place, "this range has no end")
            .help("for example `.. 32`, or `3 .. 32`"));
    }
    if let (Some(a), Some(b)) = (low_value, high_value)
        && a > b
    {
        return Err(Diagnostic::error(
            "backward-range",
            place,
            "this range runs backwards: its first end is greater than its second",
        )
        .help("the smaller end stands first"));
    }
    Ok(Range { low: low_value, high: high_value, place })
}

fn typed_low<Q: Quantity>(c: &Cursor, from: usize, read: Reading, scope: &Scope) -> Result<Stated<Q>, Diagnostic> {
    let words = c.items.get(from).map_or("", |i| i.text);
    Ok(Stated { value: values::quantity(read, scope, words)?, place: read.place })
}

/// A whole number greater than nought.
pub fn count(c: &mut Cursor) -> Result<u64, Diagnostic> {
    let Some(item) = c.take(Kind::Number) else {
        let place = c.place();
        return Err(Diagnostic::error("missing-value", place, "a whole number is missing here"));
    };
    let value = values::number(item.text).filter(|v| v.fract() == 0.0 && *v >= 1.0 && *v <= 1e12);
    value.map(|v| v as u64).ok_or_else(|| {
        Diagnostic::error("not-a-count", item.place, format!("`{}` is not a whole number from 1 up", item.text))
            .help("pieces, places and starts are counted in whole numbers")
    })
}

/// A number without a unit.
pub fn plain_number(c: &mut Cursor, scope: &Scope) -> Result<f64, Diagnostic> {
    let read = values::reading(c, scope, "a number")?;
    if read.bare {
        Ok(read.measure.value)
    } else {
        Err(Diagnostic::error(
            "wrong-dimension",
            read.place,
            format!("this is {}, but a bare number is wanted here", read.measure.dimension),
        )
        .help("take the unit out"))
    }
}

/// One of the words of a shape.
pub fn one_of(c: &mut Cursor, shape: Shape) -> Result<&'static str, Diagnostic> {
    let Shape::Word(words) = shape else { unreachable!("only shapes with words are read as words") };
    let Some(item) = c.take(Kind::Word) else {
        return Err(Diagnostic::error("missing-value", c.place(), format!("{} is missing here", shape.words())));
    };
    words.iter().copied().find(|w| *w == item.text).ok_or_else(|| {
        let d = Diagnostic::error("unknown-word", item.place, format!("`{}` is none of {}", item.text, shape.words()));
        match suggestion(item.text, words.iter().copied()) {
            Some(near) => d.help(format!("did you mean `{near}`?")).fix(near),
            None => d,
        }
    })
}

/// A text in quotes, or the words that follow.
pub fn text(c: &mut Cursor) -> String {
    if let Some(t) = c.take(Kind::Text) {
        return unquoted(t.text).to_owned();
    }
    let mut words = Vec::new();
    while let Some(item) = c.advance() {
        words.push(item.text);
    }
    words.join(" ")
}

/// What stands between the quotes.
pub fn unquoted(text: &str) -> &str {
    text.trim_start_matches('"').trim_end_matches('"')
}

/// Names with commas.
pub fn names<'s>(c: &mut Cursor<'_, 's>) -> Result<Vec<Item<'s>>, Diagnostic> {
    let mut found = Vec::new();
    loop {
        match c.take(Kind::Word) {
            Some(item) => found.push(item),
            None => return Err(Diagnostic::error("missing-value", c.place(), "a name is missing here")),
        }
        if c.take(Kind::Comma).is_none() {
            return Ok(found);
        }
    }
}
