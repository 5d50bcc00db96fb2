//! A part or a family of parts.

use super::super::clauses::{self, Clauses};
use super::super::diagnostic::Diagnostic;
use super::super::schema::Context;
use super::super::syntax::{Declaration, Item, Kind};
use super::super::values::{self, Cursor, Scope};
use super::sizes::{General, Reader};
use super::{Shared, features, material, statements, title};
use crate::model::Part;
use crate::model::after::After;
use crate::model::figure::{Limits, Place, Size};
use crate::model::part::{
    BarFinish, BarShape, Demand, DemandKind, End, Feature, FeatureId, FirstArticle, StockWish, Use, Validated,
};
use crate::quantity::measure::Measure;
use crate::quantity::{Angle, Length, Money, Time};
use crate::tables::iso2768::GeneralClass;
use crate::tables::materials;

/// How many statements a part may have: a drawing has dozens, and every pair of features is held against each other.
const MOST_STATEMENTS: usize = 2_000;

/// Resolves a `part`, or each member of a `family`.
pub(super) fn resolve(d: &Declaration, scope: &Scope, shared: &Shared) -> Vec<Part> {
    if d.word.text == "part" {
        return one(d, scope, shared, None).into_iter().collect();
    }
    let Some((parameter, values)) = parameters(d, scope, shared) else { return Vec::new() };
    let mut parts = Vec::new();
    for (i, (text, value)) in values.into_iter().enumerate() {
        let mut inner = scope.clone();
        inner.named.insert(parameter.to_owned(), value);
        let before = shared.out.borrow().len();
        if let Some(mut part) = one(d, &inner, shared, Some((parameter, text.clone()))) {
            part.name = format!("{}-{text}", part.name);
            parts.push(part);
        }
        // One fault of the text is told once, not once a member.
        if i > 0 {
            let mut out = shared.out.borrow_mut();
            let fresh = out.split_off(before);
            for f in fresh {
                if !out.iter().any(|o| o.place == f.place && o.code == f.code) {
                    out.push(f);
                }
            }
        }
    }
    parts
}

/// The parameter of a family: `(length: 20, 24, 28)`.
fn parameters<'s>(d: &Declaration<'s>, scope: &Scope, shared: &Shared) -> Option<(&'s str, Vec<(String, Measure)>)> {
    let open = d.head.iter().position(|i| i.kind == Kind::OpenParen);
    let help = "write `family NAME (length: 20, 24, 28) {`";
    let Some(open) = open else {
        super::report(
            shared.out,
            Diagnostic::error("family-line", d.word.place, "a family names its parameter and the values of it")
                .help(help),
        );
        return None;
    };
    let mut c = Cursor::new(&d.head, d.word.place);
    c.at = open + 1;
    let name = c.take(Kind::Word);
    let colon = c.take(Kind::Colon);
    let (Some(name), Some(_)) = (name, colon) else {
        super::report(
            shared.out,
            Diagnostic::error("family-line", c.place(), "a family names its parameter and the values of it").help(help),
        );
        return None;
    };
    let mut values = Vec::new();
    loop {
        let from = c.at;
        match values::reading(&mut c, scope, "a value") {
            Ok(read) => {
                let words: Vec<&str> = c.items[from..c.at].iter().map(|i| i.text).collect();
                let text = words.concat();
                if values.iter().any(|(other, _)| *other == text) {
                    let d = Diagnostic::error("family-line", read.place, format!("the value `{text}` stands twice"));
                    super::report(shared.out, d.help("each value makes one part: take one out"));
                } else {
                    values.push((text, read.measure));
                }
            }
            Err(e) => {
                super::report(shared.out, e.help(help));
                return None;
            }
        }
        if c.take(Kind::Comma).is_none() {
            break;
        }
    }
    if c.take(Kind::CloseParen).is_none() {
        super::report(
            shared.out,
            Diagnostic::error("open-parenthesis", c.place(), "this parenthesis is not closed").help("add `)`"),
        );
    }
    Some((name.text, values))
}

fn one(d: &Declaration, scope: &Scope, shared: &Shared, family: Option<(&str, String)>) -> Option<Part> {
    let name = d.head.first().filter(|i| i.kind == Kind::Word)?;
    if d.body.len() > MOST_STATEMENTS {
        let message =
            format!("the part `{}` has {} statements; up to {MOST_STATEMENTS} are planned", name.text, d.body.len());
        super::report(
            shared.out,
            Diagnostic::error("too-many-statements", name.place, message).help("split it into parts of their own"),
        );
        return None;
    }
    let found = statements(&d.body, Context::Part, scope, shared.out);
    let get = |word: &str| found.iter().find(|c| c.schema.word == word);
    let general = get("general").and_then(|c| general(c, scope)).unwrap_or(General::Iso(GeneralClass::M));
    let reader = Reader { scope, general: &general };
    let mut complete = true;
    let mut missing = |word: &str, help: &str| {
        let message = format!("the part `{}` does not state its {word}", name.text);
        super::report(shared.out, Diagnostic::error("missing-statement", name.place, message).help(help));
        complete = false;
    };
    // Without braces there are no statements at all: that was told already.
    if get("material").is_none() && d.has_body {
        missing("material", "for example `material 42crmo4`");
    }
    if get("length").is_none() && d.has_body {
        missing("length", "for example `length 28 ±0.1`");
    }
    let material = get("material").and_then(|c| the_material(c, shared));
    let length = get("length").and_then(|c| c.read_head(|cursor| reader.size(cursor)));
    // Features are read even where the part cannot be whole, so that their faults are told in the same run.
    let stand_in = Size { nominal: Length::mm(1000.0), limits: Limits::Reference, place: name.place };
    let told = length.clone().unwrap_or(stand_in);
    let bar = get("stock").and_then(|c| stock(c, scope));
    let features::Resolved { mut features, broken } =
        features::resolve(&found, &reader, &told, bar.as_ref().and_then(|b| b.size), shared.out);
    let demands = demands(&found, &features, &broken, scope);
    keys(&found, &mut features, &broken);
    let after =
        found.iter().filter(|c| c.schema.word == "after").filter_map(|c| after(c, &features, &broken)).collect();
    let (orders, repeat) = get("order").map_or((vec![1], false), orders);
    let yearly = get("yearly").and_then(|c| {
        let pieces = c.read_head(clauses::count)?;
        Some((pieces, c.count("in").unwrap_or(1)))
    });
    let word = |w: &str| get(w).and_then(|c| c.read_head(|cursor| clauses::one_of(cursor, c.schema.head)));
    let text = |w: &str| get(w).and_then(|c| c.read_head(|cursor| Ok(clauses::text(cursor))));
    let certificate = text("certificate").or_else(|| get("material").and_then(|c| c.text("certificate")));
    let purpose = match word("use") {
        Some("implant") => Use::Implant,
        Some("aerospace") => Use::Aerospace,
        Some("food") => Use::Food,
        _ => Use::General,
    };
    let first_end = word("pin").map(end);
    let remarks = found.iter().flat_map(Clauses::remarks).collect();
    if let Some(c) = get("material")
        && get("certificate").is_some()
        && let Some(g) = c.find("certificate")
    {
        let d = Diagnostic::error("contradiction", g.word, "the certificate is stated twice");
        c.report(d.help("state it with the material or on a line of its own"));
    }
    let (material, length) = (material?, length?);
    let inches = scope.bare.is_some_and(|(_, unit)| unit == "in");
    if !complete {
        return None;
    }
    let part = Part {
        name: name.text.to_owned(),
        title: title(d),
        place: name.place,
        material: material.0,
        material_place: material.1,
        supplied: get("material").is_some_and(|c| c.has("supplied")),
        certificate,
        stock: bar,
        length,
        orders,
        repeat,
        yearly,
        purpose,
        first_article: FirstArticle {
            keys_only: word("first-article") == Some("keys"),
            report: get("first-article").is_some_and(|c| c.has("report")),
        },
        validated: get("validated").and_then(|c| validated(c, shared)),
        general: general.name(inches),
        inches,
        first_end,
        features,
        demands,
        after,
        family: family.map(|(p, v)| (p.to_owned(), v)),
        due: text("due"),
        remarks,
    };
    // A drawing that was not read whole has gaps that are none of the author's.
    if !broken.is_empty() {
        return Some(part);
    }
    let mut told = Vec::new();
    super::super::geometry::check(&part, &mut told);
    shared.out.borrow_mut().extend(told);
    Some(part.in_drawing_order())
}

/// The end of a word.
pub(super) fn end(word: &str) -> End {
    if word == "back" { End::Back } else { End::Front }
}

fn the_material(c: &Clauses, shared: &Shared) -> Option<(std::sync::Arc<materials::Material>, Place)> {
    let key = c.read_head(|cursor| Ok(clauses::text(cursor)))?;
    let place = clauses::span(&c.head, c.word);
    if let Some(own) = shared.materials.get(&key) {
        return Some((own.clone(), place));
    }
    let found = materials::find(&key);
    if found.is_none() {
        c.report(material::unknown(&key, c));
    }
    found.map(|m| (as_written(m, &key), place))
}

/// A material under the word that the drawing has for it, with the table's name beside it where that is another.
fn as_written(m: std::sync::Arc<materials::Material>, word: &str) -> std::sync::Arc<materials::Material> {
    if materials::same_word(word, &m.name) {
        return m;
    }
    let name = format!("{word} ({})", m.name);
    std::sync::Arc::new(materials::Material { name, ..(*m).clone() })
}

fn general(c: &Clauses, scope: &Scope) -> Option<General> {
    c.read_head(|cursor| {
        let first = cursor.peek();
        if let Some(item) = first.filter(|i| i.text.starts_with("iso-2768-")) {
            cursor.advance();
            return match &item.text["iso-2768-".len()..] {
                "f" => Ok(General::Iso(GeneralClass::F)),
                "m" => Ok(General::Iso(GeneralClass::M)),
                "c" => Ok(General::Iso(GeneralClass::C)),
                "v" => Ok(General::Iso(GeneralClass::V)),
                other => {
                    Err(Diagnostic::error("unknown-word", item.place, format!("ISO 2768-1 has no class `{other}`"))
                        .help("its classes are f, m, c and v"))
                }
            };
        }
        let (mut two, mut three, mut angle) = (None, None, None);
        loop {
            let Some(word) = cursor.take(Kind::Word) else {
                return Err(Diagnostic::error("missing-value", cursor.place(), "a general tolerance is missing here")
                    .help("`iso-2768-m`, or `two-place ±0.01, three-place ±0.005, angle ±1 deg`"));
            };
            let _ = cursor.take(Kind::PlusMinus);
            match word.text {
                "two-place" => two = Some(clauses::one::<Length>(cursor, scope)?.value),
                "three-place" => three = Some(clauses::one::<Length>(cursor, scope)?.value),
                "angle" => angle = Some(clauses::one::<Angle>(cursor, scope)?.value),
                other => {
                    return Err(Diagnostic::error(
                        "unknown-word",
                        word.place,
                        format!("`{other}` is no general tolerance"),
                    )
                    .help("`iso-2768-m`, or `two-place ±0.01, three-place ±0.005, angle ±1 deg`"));
                }
            }
            if cursor.take(Kind::Comma).is_none() {
                return Ok(General::Decimals { two, three, angle });
            }
        }
    })
}

fn orders(c: &Clauses) -> (Vec<u64>, bool) {
    c.only_one_of(&["first", "repeat"]);
    let counts = c.read_head(|cursor| {
        let mut counts = vec![clauses::count(cursor)?];
        while cursor.take(Kind::Comma).is_some() {
            counts.push(clauses::count(cursor)?);
        }
        counts.sort_unstable();
        counts.dedup();
        Ok(counts)
    });
    (counts.unwrap_or_else(|| vec![1]), c.has("repeat"))
}

fn stock(c: &Clauses, scope: &Scope) -> Option<StockWish> {
    c.only_one_of(&["ground", "drawn", "peeled"]);
    let mut grade = None;
    let (shape, size) = c.read_head(|cursor| {
        let shape = match cursor.take(Kind::Word).map(|i| (i.text, i.place)) {
            Some(("round", _)) => BarShape::Round,
            Some(("hex", _)) => BarShape::Hex,
            Some(("square", _)) => BarShape::Square,
            Some(("tube", _)) => BarShape::Tube,
            Some(("profile", _)) => BarShape::Profile,
            Some((other, place)) => {
                let d = Diagnostic::error("unknown-word", place, format!("`{other}` is no shape of bar"));
                return Err(
                    match clauses::suggestion(other, ["round", "hex", "square", "tube", "profile"].into_iter()) {
                        Some(near) => d.help(format!("did you mean `{near}`?")).fix(near),
                        None => d.help("bar is round, hex, square, tube or profile"),
                    },
                );
            }
            None => {
                return Err(Diagnostic::error("missing-value", cursor.place(), "a shape of bar is missing here")
                    .help("for example `stock round 20`"));
            }
        };
        let mut size = None;
        if cursor.peek().is_some_and(|i| values::begins_number(i) || scope.named.contains_key(i.text)) {
            size = Some(clauses::one::<Length>(cursor, scope)?);
        }
        if let Some(item) = cursor.peek().filter(|i| values::is_fit_class(i.text)) {
            cursor.advance();
            grade = item.text.trim_start_matches(|ch: char| ch.is_alphabetic()).parse().ok();
        }
        Ok((shape, size))
    })?;
    let size = size.and_then(|s| c.above_zero(s, "stock")).map(|s| s.value);
    let grade = grade.or_else(|| read_grade(c, "grade").map(|g| g.value));
    let finish = if c.has("ground") {
        Some(BarFinish::Ground)
    } else if c.has("drawn") {
        Some(BarFinish::Drawn)
    } else if c.has("peeled") {
        Some(BarFinish::Peeled)
    } else {
        None
    };
    Some(StockWish {
        shape,
        size,
        bore: c.quantity("bore"),
        grade,
        finish,
        straightness: c.quantity("straightness"),
        coil: c.has("coil"),
        place: c.place,
    })
}

/// An IT grade of a clause: `h8`.
pub(super) fn read_grade(c: &Clauses, word: &str) -> Option<crate::model::figure::Stated<u8>> {
    c.read(word, |cursor| {
        let Some(item) = cursor.take(Kind::Word) else {
            return Err(Diagnostic::error("missing-value", cursor.place(), "a grade such as `h8` is missing here"));
        };
        let grade = item.text.strip_prefix('h').and_then(|g| g.parse::<u8>().ok()).filter(|g| (4..=16).contains(g));
        grade.map(|value| crate::model::figure::Stated { value, place: item.place }).ok_or_else(|| {
            Diagnostic::error("unknown-word", item.place, format!("`{}` is no bar grade", item.text))
                .help("bar grades run from h5 to h13")
        })
    })
}

fn feature_named(c: &Clauses, item: Item, features: &[Feature], broken: &[String]) -> Option<FeatureId> {
    let found = features.iter().position(|f| f.name == item.text);
    if found.is_none() && !broken.iter().any(|b| b == item.text) {
        c.report(unknown_feature(item, features));
    }
    found
}

/// The message for a name that no feature has.
pub(super) fn unknown_feature(item: Item, features: &[Feature]) -> Diagnostic {
    let d = Diagnostic::error("unknown-feature", item.place, format!("no feature is named `{}`", item.text));
    match clauses::suggestion(item.text, features.iter().map(|f| f.name.as_str())) {
        Some(near) => d.help(format!("did you mean `{near}`?")).fix(near.to_owned()),
        None => {
            let names: Vec<&str> = features.iter().map(|f| f.name.as_str()).take(8).collect();
            d.help(format!("the part has {}", names.join(", ")))
        }
    }
}

fn demands(found: &[Clauses], features: &[Feature], broken: &[String], scope: &Scope) -> Vec<Demand> {
    let mut demands = Vec::new();
    for c in found {
        let kind = match c.schema.word {
            "roundness" => DemandKind::Roundness,
            "cylindricity" => DemandKind::Cylindricity,
            "straightness" => DemandKind::Straightness,
            "flatness" => DemandKind::Flatness,
            "runout" => DemandKind::Runout,
            "total-runout" => DemandKind::TotalRunout,
            "concentricity" => DemandKind::Concentricity,
            "position" => DemandKind::Position,
            "parallel" => DemandKind::Parallel,
            "square-to" => DemandKind::SquareTo,
            "symmetry" => DemandKind::Symmetry,
            "profile" => DemandKind::Profile,
            _ => continue,
        };
        // `runout A to B 0.02`: the length may stand behind the datum.
        let mut datum = None;
        let mut value = None;
        if c.has("to") {
            let read = c.read("to", |cursor| {
                let Some(name) = cursor.take(Kind::Word) else {
                    return Err(Diagnostic::error("missing-value", cursor.place(), "a name is missing here"));
                };
                let value = if cursor.peek().is_some() { Some(clauses::one::<Length>(cursor, scope)?) } else { None };
                Ok((name, value))
            });
            let Some((name, behind)) = read else { continue };
            datum = feature_named(c, name, features, broken);
            value = behind;
            if datum.is_none() {
                continue;
            }
        }
        let head = c.read_head(|cursor| {
            let Some(name) = cursor.take(Kind::Word) else {
                return Err(Diagnostic::error("missing-value", cursor.place(), "a name is missing here"));
            };
            let own = if cursor.peek().is_some() { Some(clauses::one::<Length>(cursor, scope)?) } else { None };
            Ok((name, own))
        });
        let Some((name, own)) = head else { continue };
        let Some(feature) = feature_named(c, name, features, broken) else { continue };
        match own.or(value).and_then(|v| c.above_zero(v, c.schema.word)) {
            Some(v) => demands.push(Demand { kind, feature, datum, value: v.value, place: c.place }),
            None if own.or(value).is_none() => c.report(
                Diagnostic::error("missing-value", c.word, format!("`{}` has no size", c.schema.word))
                    .help(format!("for example `{}`", c.schema.example)),
            ),
            None => {}
        }
    }
    demands
}

fn keys(found: &[Clauses], features: &mut [Feature], broken: &[String]) {
    for c in found.iter().filter(|c| c.schema.word == "key") {
        let Some(item) = c.head.first().copied() else {
            let _ = c.read_head(clauses::names);
            continue;
        };
        c.leftover(&c.head[1..]);
        let Some(id) = feature_named(c, item, features, broken) else { continue };
        features[id].cpk = c.number("cpk");
        if features[id].cpk.is_some_and(|v| v <= 0.0) {
            let place = c.find("cpk").map_or(c.word, |g| clauses::span(&g.items, g.word));
            let d = Diagnostic::error("not-positive", place, "`cpk` must be greater than 0");
            c.report(d.help(format!("for example `{}`", c.schema.example)));
        }
    }
}

fn after(c: &Clauses, features: &[Feature], broken: &[String]) -> Option<After> {
    let process = c.read_head(|cursor| {
        let word = clauses::one_of(cursor, c.schema.head)?;
        Ok((word, cursor.take(Kind::Word)))
    })?;
    let named = c.read("on", clauses::names).unwrap_or_default();
    let feature = process.1.or(named.first().copied()).and_then(|item| feature_named(c, item, features, broken));
    let _ = (c.range::<Hardness>("hardness"), c.text("note"), c.quantity::<Length>("depth"));
    Some(After {
        process: process.0.to_owned(),
        feature,
        leaving: c.quantity("leaving"),
        sizes_before: c.word("sizes") == Some("before"),
        place: c.place,
    })
}

/// Where the process is frozen. A name that no machine of the same reading has is told: a slip would refuse the part everywhere.
fn validated(c: &Clauses, shared: &Shared) -> Option<Validated> {
    let names = c.read("on", clauses::names)?;
    for item in names.iter().filter(|i| !shared.machines.is_empty() && !shared.machines.contains(i.text)) {
        let d = Diagnostic::warning("unknown-machine", item.place, format!("no machine is named `{}`", item.text));
        c.report(match clauses::suggestion(item.text, shared.machines.iter().map(String::as_str)) {
            Some(near) => d.help(format!("did you mean `{near}`?")).fix(near.to_owned()),
            None => d.help("the part is refused on every other machine"),
        });
    }
    let moving = (c.positive::<Money>("moving"), c.positive::<Time>("takes"));
    if c.has("moving") != c.has("takes") {
        let d = Diagnostic::error("missing-clause", c.word, "moving a validated process has a cost and a time");
        c.report(d.help("for example `moving 12_000 EUR takes 16 weeks`; with neither it stays where it is"));
    }
    Some(Validated {
        on: names.iter().map(|i| i.text.to_owned()).collect(),
        mode: c.word("mode").and_then(super::machine::mode_kind),
        moving: moving.0.zip(moving.1).map(|(cost, time)| (cost.value, time.value)),
        place: c.place,
    })
}

/// A Rockwell hardness: checked for its unit, told as a remark.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
struct Hardness;

impl crate::quantity::measure::Quantity for Hardness {
    const DIMENSION: crate::quantity::measure::Dimension = crate::quantity::measure::Dimension::HARDNESS_HRC;
    fn from_measure(m: Measure) -> Result<Self, crate::quantity::measure::Dimension> {
        if m.dimension == Self::DIMENSION { Ok(Hardness) } else { Err(m.dimension) }
    }
}
