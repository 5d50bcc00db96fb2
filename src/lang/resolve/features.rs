//! The features of a part: one arm for each kind.

use super::super::clauses::{self, Clauses};
use super::super::diagnostic::Diagnostic;
use super::super::schema::{self, Shape};
use super::super::syntax::{Item, Kind as ItemKind};
use super::super::values;
use super::part::{end, unknown_feature};
use super::sizes::Reader;
use super::threads;
use crate::model::figure::{Limits, Size, Stated, ToleranceSource};
use crate::model::part::{
    Bore, Chamfer, Contour, EdgeKind, Edges, End, Engrave, Face, Feature, Finish, Flat, Groove, GrooveSide, Hole,
    Keyway, Kind, Knurl, Polygon, Radius, Slot, Socket, SocketShape, Sphere, Taper, Turn, Undercut, Zone,
};
use crate::quantity::measure::Dimension;
use crate::quantity::{Angle, Length};
use crate::tables::hexalobe;
use std::cell::RefCell;

/// The features of a part, and the names of those whose statements are broken (empty for one without a name).
pub(super) struct Resolved {
    pub(super) features: Vec<Feature>,
    pub(super) broken: Vec<String>,
}

/// Resolves all features in the order of their statements.
pub(super) fn resolve(
    found: &[Clauses],
    reader: &Reader,
    length: &Size,
    bar: Option<Length>,
    out: &RefCell<Vec<Diagnostic>>,
) -> Resolved {
    let mut broken: Vec<String> = Vec::new();
    let mut features: Vec<Feature> = Vec::new();
    let mut late: Vec<(usize, &Clauses)> = Vec::new();
    for c in found {
        let arm = Arm { c, reader, length: length.nominal, bar };
        let named = arm.name();
        let Some(kind) = arm.kind() else {
            if arm.is_feature() {
                // One broken clause must not hide the faults of the others.
                arm.verify();
                broken.push(named.map_or_else(String::new, |item| item.text.to_owned()));
            }
            continue;
        };
        let name = match named {
            Some(item) => {
                if let Some(first) = features.iter().find(|f| f.name == item.text) {
                    let d =
                        Diagnostic::error("name-twice", item.place, format!("two features are named `{}`", item.text));
                    out.borrow_mut().push(d.also(first.place, "first here").help("give one of them another name"));
                    numbered(&features, item.text)
                } else {
                    item.text.to_owned()
                }
            }
            None => numbered(&features, c.schema.word),
        };
        let made_from = arm.made_from();
        if matches!(kind, Kind::Hole(_) | Kind::Edges(_)) {
            late.push((features.len(), c));
        }
        features.push(Feature { name, kind, place: c.place, made_from, cpk: None });
    }
    references(&late, &mut features, &broken);
    blanks(&mut features);
    Resolved { features, broken }
}

/// A name from the statement and a number, unique in the part.
fn numbered(features: &[Feature], word: &str) -> String {
    (1..).map(|n| format!("{word}-{n}")).find(|n| features.iter().all(|f| f.name != *n)).unwrap_or_default()
}

/// Names of other features, looked up when all are known.
fn references(late: &[(usize, &Clauses)], features: &mut [Feature], broken: &[String]) {
    for (id, c) in late {
        let look_up = |item: Item, features: &[Feature]| {
            let found = features.iter().position(|f| f.name == item.text);
            if found.is_none() && !broken.iter().any(|b| b == item.text) {
                c.report(unknown_feature(item, features));
            }
            found
        };
        match c.schema.word {
            "hole" => {
                let Some(names) = c.read("into", clauses::names) else { continue };
                let into = names.first().and_then(|item| look_up(*item, features));
                if let Kind::Hole(h) = &mut features[*id].kind {
                    h.into = into;
                }
            }
            _ => {
                let Some(names) = c.read_head(clauses::names) else { continue };
                let of: Vec<usize> =
                    names.iter().filter(|i| i.text != "all").filter_map(|item| look_up(*item, features)).collect();
                if let Kind::Edges(e) = &mut features[*id].kind {
                    e.of = of;
                }
            }
        }
    }
}

/// A thread without a turn beneath it makes its own blank: a cylinder of its major diameter.
fn blanks(features: &mut Vec<Feature>) {
    let mut added = Vec::new();
    for f in features.iter() {
        let Kind::Thread(t) = &f.kind else { continue };
        if t.internal {
            continue;
        }
        // Turned beneath even a stretch of it, the blank is the drawing's: over a shank and on into a tip, say.
        let beneath = features.iter().any(|o| {
            let turned = match &o.kind {
                Kind::Turn(o) => o.zone,
                Kind::Taper(o) if !o.internal => o.zone,
                Kind::Sphere(o) => o.zone,
                Kind::Polygon(o) if o.as_stock => o.zone,
                _ => return false,
            };
            turned.overlap(&t.zone) > Length::um(1.0)
        });
        if !beneath {
            added.push(Feature {
                name: format!("{}-blank", f.name),
                kind: Kind::Turn(Turn {
                    dia: Size {
                        nominal: t.major,
                        limits: Limits::Both {
                            upper: Length::ZERO,
                            lower: -t.pitch * 0.08,
                            from: ToleranceSource::General(format!("{} blank", t.designation)),
                        },
                        place: f.place,
                    },
                    zone: t.zone,
                    finish: None,
                    as_stock: false,
                    offset: None,
                    thread_blank: true,
                }),
                place: f.place,
                made_from: None,
                cpk: None,
            });
        }
    }
    features.extend(added);
}

struct Arm<'a, 's, 'c> {
    c: &'a Clauses<'s, 'c>,
    reader: &'a Reader<'a>,
    length: Length,
    /// The size of the bar, where a `stock` line states it.
    bar: Option<Length>,
}

impl<'s> Arm<'_, 's, '_> {
    /// Whether the statement is one of a feature at all.
    fn is_feature(&self) -> bool {
        schema::is_feature(self.c.schema)
    }

    /// The name of the feature, where its statement may have one.
    fn name(&self) -> Option<Item<'s>> {
        if !self.is_feature() {
            return None;
        }
        match self.c.schema.word {
            "thread" => threads::name(self.c),
            "face" | "radius" | "chamfer" | "engrave" | "edges" => None,
            _ => {
                let first = self.c.head.first()?;
                if first.kind != ItemKind::Word {
                    self.c.leftover(&self.c.head);
                    return None;
                }
                self.c.leftover(&self.c.head[1..]);
                Some(*first)
            }
        }
    }

    fn made_from(&self) -> Option<End> {
        let has = self.c.schema.clauses.iter().any(|c| c.word == "made");
        if !has {
            return None;
        }
        self.c.read("made", |cursor| {
            let _ = cursor.take_word("from");
            match cursor.take(ItemKind::Word).map(|i| i.text) {
                Some(word @ ("front" | "back")) => Ok(end(word)),
                _ => Err(Diagnostic::error("missing-value", cursor.place(), "`made from` needs `front` or `back`")),
            }
        })
    }

    /// The kind of the feature; nothing where the statement is none, or where what it needs is broken.
    fn kind(&self) -> Option<Kind> {
        Some(match self.c.schema.word {
            "face" => Kind::Face(self.face()?),
            "turn" => Kind::Turn(self.turn()?),
            "taper" => Kind::Taper(self.taper()?),
            "sphere" => Kind::Sphere(self.sphere()?),
            "radius" => Kind::Radius(self.radius()?),
            "chamfer" => Kind::Chamfer(self.chamfer()?),
            "groove" => Kind::Groove(self.groove()?),
            "undercut" => Kind::Undercut(self.undercut()?),
            "knurl" => Kind::Knurl(Knurl {
                pitch: self.c.positive("pitch")?.value,
                zone: self.zone()?,
                form: self.c.text("form"),
            }),
            "thread" => Kind::Thread(threads::resolve(self.c, self.reader, self.length)?),
            "bore" => Kind::Bore(self.bore()?),
            "hole" => Kind::Hole(self.hole()?),
            "slot" => Kind::Slot(self.slot()?),
            "keyway" => Kind::Keyway(Keyway {
                width: self.size("width")?,
                depth: self.c.positive("depth")?.value,
                zone: self.zone()?,
                clock: self.clock(),
            }),
            "flat" => Kind::Flat(self.flat()?),
            "hex" => Kind::Polygon(self.polygon(6)?),
            "square" => Kind::Polygon(self.polygon(4)?),
            "socket" => Kind::Socket(self.socket()?),
            "contour" => Kind::Contour(Contour {
                area: self.c.positive("area")?.value,
                scallop: self.c.positive("scallop")?.value,
                axes: self.c.count("axes").unwrap_or(3) as u32,
                zone: self.zone()?,
                depth: self.c.quantity("depth").unwrap_or(Length::mm(1.0)),
            }),
            "engrave" => Kind::Engrave(Engrave {
                text: self.c.read_head(|cursor| Ok(clauses::text(cursor)))?,
                height: self.c.positive("height")?.value,
                depth: self.c.quantity("depth").unwrap_or(Length::mm(0.1)),
                at: self.c.quantity("at")?,
            }),
            "edges" => Kind::Edges(self.edges()?),
            _ => return None,
        })
    }

    /// Reads every clause by its shape alone, for its faults; what was told before is told once in the end.
    fn verify(&self) {
        for given in &self.c.given {
            let word = given.schema.word;
            match given.schema.shape {
                Shape::Size => drop(self.size(word)),
                Shape::Zone => drop(self.c.range::<Length>(word)),
                Shape::Word(_) => drop(self.c.word(word)),
                Shape::Count => drop(self.c.count(word)),
                Shape::Finish => drop(self.finish()),
                Shape::Quantity(Dimension::LENGTH) => drop(self.c.stated::<Length>(word)),
                Shape::Quantity(Dimension::ANGLE) => drop(self.c.stated::<Angle>(word)),
                _ => {}
            }
        }
    }

    fn size(&self, word: &str) -> Option<Size> {
        self.c.read(word, |cursor| self.reader.size(cursor))
    }

    fn zone(&self) -> Option<Zone> {
        self.zone_of("z")
    }

    fn zone_of(&self, word: &str) -> Option<Zone> {
        let range = self.c.range::<Length>(word)?;
        match (range.low, range.high) {
            (Some(start), Some(end)) if end > start => Some(Zone { start, end }),
            (Some(_), Some(_)) => {
                self.c.report(
                    Diagnostic::error("empty-stretch", range.place, "this stretch has no length")
                        .help("z runs from the drawing's left face to its right face; the smaller end stands first"),
                );
                None
            }
            _ => {
                self.c.report(
                    Diagnostic::error("open-stretch", range.place, "a stretch along z has two ends")
                        .help("for example `z 0 .. 12`"),
                );
                None
            }
        }
    }

    fn finish(&self) -> Option<Finish> {
        self.c.read("finish", |cursor| {
            let rz = cursor.take_word("Rz").is_some();
            let _ = cursor.take_word("Ra");
            let read = clauses::one::<Length>(cursor, self.reader.scope)?;
            if read.value <= Length::ZERO {
                return Err(Diagnostic::error("not-positive", read.place, "a roughness must be greater than 0"));
            }
            // A bare number after `finish` in a millimetre file would be millimetres: nobody means that.
            if read.value > Length::mm(0.1) {
                return Err(Diagnostic::error(
                    "coarse-finish",
                    read.place,
                    format!("a roughness of {} is coarser than any cut", read.value),
                )
                .help("roughness is written in `um` or `uin`"));
            }
            let ra = if rz { read.value / 4.0 } else { read.value };
            Ok(Finish { ra, place: read.place })
        })
    }

    fn clock(&self) -> Angle {
        self.c.quantity("clock").unwrap_or(Angle::ZERO)
    }

    fn end_of(&self, word: &str) -> Option<End> {
        self.c.word(word).map(end)
    }

    fn face(&self) -> Option<Face> {
        let word = self.c.read_head(|cursor| clauses::one_of(cursor, self.c.schema.head))?;
        Some(Face { end: end(word), finish: self.finish() })
    }

    // Every clause is read before the first that is broken ends the feature: all faults are told in one run.
    fn sphere(&self) -> Option<Sphere> {
        let (dia, zone, finish) = (self.size("dia"), self.zone(), self.finish());
        Some(Sphere { dia: dia?, zone: zone?, finish })
    }

    fn turn(&self) -> Option<Turn> {
        let offset = self.c.has("offset").then(|| self.size("offset")).flatten().map(|o| (o, self.clock()));
        let (dia, zone, finish) = (self.size("dia"), self.zone(), self.finish());
        Some(Turn { dia: dia?, zone: zone?, finish, as_stock: self.c.has("as-stock"), offset, thread_blank: false })
    }

    fn taper(&self) -> Option<Taper> {
        self.c.only_one_of(&["internal", "outside"]);
        let (dia, zone, finish) = (self.c.read("dia", |cursor| self.reader.pair(cursor)), self.zone(), self.finish());
        let (start_dia, end_dia) = dia?;
        Some(Taper { start_dia, end_dia, zone: zone?, internal: self.c.has("internal"), finish })
    }

    fn radius(&self) -> Option<Radius> {
        self.c.only_one_of(&["outside", "inside"]);
        let radius = self.c.read_head(|cursor| clauses::one::<Length>(cursor, self.reader.scope))?;
        let radius = self.c.above_zero(radius, "radius")?.value;
        Some(Radius { radius, at: self.c.quantity("at")?, inside: self.c.has("inside") })
    }

    fn chamfer(&self) -> Option<Chamfer> {
        self.c.only_one_of(&["outside", "inside"]);
        let (width, angle) = self.c.read_head(|cursor| {
            let width = clauses::one::<Length>(cursor, self.reader.scope)?;
            let angle = match cursor.take_word("x") {
                Some(_) => clauses::one::<Angle>(cursor, self.reader.scope)?.value,
                None => Angle::deg(45.0),
            };
            Ok((width, angle))
        })?;
        let width = self.c.above_zero(width, "chamfer")?.value;
        Some(Chamfer { width, angle, at: self.c.quantity("at")?, inside: self.c.has("inside") })
    }

    fn groove(&self) -> Option<Groove> {
        self.c.only_one_of(&["internal", "face"]);
        self.c.only_one_of(&["z", "at"]);
        let side = match self.end_of("face") {
            Some(end) => GrooveSide::Face(end),
            None if self.c.has("internal") => GrooveSide::Internal,
            None => GrooveSide::External,
        };
        let zone = if self.c.has("z") {
            self.zone()?
        } else if let GrooveSide::Face(end) = side {
            let depth: Length = self.needed("depth", "a face groove has a depth")?;
            match end {
                End::Front => Zone { start: Length::ZERO, end: depth },
                End::Back => Zone { start: self.length - depth, end: self.length },
            }
        } else {
            let at: Length = self.needed("at", "a groove lies at a stretch `z`, or `at` a place with a `width`")?;
            let width = self.size("width")?.nominal;
            Zone { start: at, end: at + width }
        };
        let dia = if self.c.has("dia") { self.size("dia")? } else { return self.missing("dia") };
        let outer_dia = if self.c.has("outer") { self.size("outer") } else { None };
        Some(Groove { side, dia, outer_dia, zone, corner_radius: self.c.quantity("radius"), finish: self.finish() })
    }

    fn needed(&self, word: &str, message: &'static str) -> Option<Length> {
        if !self.c.has(word) {
            self.c.report(
                Diagnostic::error("missing-clause", self.c.word, message)
                    .help(format!("for example `{}`", self.c.schema.example)),
            );
            return None;
        }
        self.c.quantity(word)
    }

    fn missing<T>(&self, word: &str) -> Option<T> {
        let message = format!("`{}` needs `{word}`", self.c.schema.word);
        self.c.report(
            Diagnostic::error("missing-clause", self.c.word, message)
                .help(format!("for example `{}`", self.c.schema.example)),
        );
        None
    }

    fn undercut(&self) -> Option<Undercut> {
        if !self.c.has("dia") {
            return self.missing("dia");
        }
        if !self.c.has("z") {
            return self.missing("z");
        }
        Some(Undercut {
            dia: self.size("dia")?,
            zone: self.zone()?,
            form: self.c.text("form"),
            inside: self.c.has("internal"),
        })
    }

    fn bore(&self) -> Option<Bore> {
        self.c.only_one_of(&["through", "depth", "z"]);
        let dia = self.size("dia")?;
        let from = self.end_of("from").unwrap_or(End::Front);
        let through = self.c.has("through");
        let whole = Zone { start: Length::ZERO, end: self.length };
        let zone = if self.c.has("z") {
            self.zone()?
        } else if self.c.has("depth") {
            let depth = self.size("depth")?.nominal;
            match from {
                End::Front => Zone { start: Length::ZERO, end: depth },
                End::Back => Zone { start: self.length - depth, end: self.length },
            }
        } else if through {
            whole
        } else {
            self.c.report(
                Diagnostic::error(
                    "missing-clause",
                    self.c.word,
                    "a bore is `through`, has a `depth`, or a stretch `z`",
                )
                .help(format!("for example `{}`", self.c.schema.example)),
            );
            return None;
        };
        // A step opens to the face that it reaches.
        let from = if self.c.has("from") || !self.c.has("z") {
            from
        } else if zone.end >= self.length - Length::um(1.0) && zone.start > Length::um(1.0) {
            End::Back
        } else {
            End::Front
        };
        let through = through || (zone.start <= Length::ZERO && zone.end >= self.length && self.c.has("z"));
        Some(Bore { dia, zone, from, through, flat_bottom: self.c.has("flat-bottom"), finish: self.finish() })
    }

    fn hole(&self) -> Option<Hole> {
        self.c.only_one_of(&["through", "depth"]);
        let dia = self.size("dia")?;
        let (angle, angle_tolerance): (Stated<Angle>, Angle) =
            self.c.read("angle", |cursor| self.reader.angle(cursor, dia.nominal))?;
        if angle.value < Angle::ZERO || angle.value > Angle::deg(90.0) {
            self.c.report(
                Diagnostic::error("hole-angle", angle.place, format!("a hole's angle is 0 to 90 deg, not {}", angle.value))
                    .help("it is measured between the hole's axis and the part's; `opens front` or `opens back` says where it leans"),
            );
            return None;
        }
        let square = (angle.value.to_deg() - 90.0).abs() < 1e-9;
        let end_hole = angle.value.to_deg() < 0.5;
        let opens = self.end_of("opens");
        if opens.is_none() && !square && !end_hole {
            let d = Diagnostic::error(
                "hole-leans",
                angle.place,
                format!("a hole at {} leans to one end: which one is not said", angle.value),
            );
            self.c.report(d.help("add `opens front` or `opens back`"));
            return None;
        }
        let opens = opens.unwrap_or(End::Front);
        let circle = self.c.read("on", |cursor| {
            if cursor.take_word("circle").is_none() {
                return Err(Diagnostic::error("missing-value", cursor.place(), "`on` needs `circle` and a diameter"));
            }
            clauses::one::<Length>(cursor, self.reader.scope).map(|s| s.value)
        });
        let at = if self.c.has("at") {
            self.c.read("at", |cursor| {
                // A place may be 0 and may carry a tolerance of its own.
                let from = cursor.at;
                let read = values::reading(cursor, self.reader.scope, "a length")?;
                let at: Stated<Length> = clauses::typed(cursor, from, read, self.reader.scope)?;
                if cursor.take(ItemKind::PlusMinus).is_some() {
                    clauses::one::<Length>(cursor, self.reader.scope)?;
                }
                Ok(at.value)
            })?
        } else if end_hole {
            match opens {
                End::Front => Length::ZERO,
                End::Back => self.length,
            }
        } else {
            return self.missing("at");
        };
        let depth = if self.c.has("depth") { Some(self.size("depth")?.nominal) } else { None };
        Some(Hole {
            dia,
            at,
            angle,
            angle_tolerance,
            opens,
            clock: self.clock(),
            count: self.c.count("count").unwrap_or(1) as u32,
            offset: self.c.quantity("offset").unwrap_or(Length::ZERO),
            into: None,
            through: self.c.has("through"),
            depth,
            circle,
            finish: self.finish(),
        })
    }

    fn slot(&self) -> Option<Slot> {
        let depth: Length = self.c.positive("depth")?.value;
        let end_face = self.end_of("end");
        let zone = match end_face {
            _ if self.c.has("z") => self.zone()?,
            Some(End::Front) => Zone { start: Length::ZERO, end: depth },
            Some(End::Back) => Zone { start: self.length - depth, end: self.length },
            None => return self.missing("z"),
        };
        Some(Slot {
            width: self.size("width")?,
            depth,
            zone,
            clock: self.clock(),
            count: self.c.count("count").unwrap_or(1) as u32,
            end: end_face,
            finish: self.finish(),
        })
    }

    fn flat(&self) -> Option<Flat> {
        self.c.only_one_of(&["from-axis", "across"]);
        let from_axis = if self.c.has("from-axis") {
            self.size("from-axis")?
        } else if self.c.has("across") {
            let across = self.size("across")?;
            let limits = match across.limits {
                Limits::Both { upper, lower, from } => Limits::Both { upper: upper / 2.0, lower: lower / 2.0, from },
                other => other,
            };
            Size { nominal: across.nominal / 2.0, limits, place: across.place }
        } else {
            return self.missing("from-axis");
        };
        Some(Flat {
            from_axis,
            zone: self.zone()?,
            clock: self.clock(),
            count: self.c.count("count").unwrap_or(1) as u32,
            finish: self.finish(),
        })
    }

    fn polygon(&self, sides: u32) -> Option<Polygon> {
        let as_stock = self.c.has("as-stock");
        if sides == 6 {
            let _ = self.c.quantity::<Angle>("bevel");
            if self.c.has("to") {
                let _ = self.size("to");
            }
        }
        let across = if self.c.has("across") {
            self.size("across")?
        } else if as_stock {
            Size { nominal: self.stock_size()?, limits: Limits::Reference, place: self.c.word }
        } else {
            return self.missing("across");
        };
        Some(Polygon {
            sides,
            across,
            zone: self.zone()?,
            as_stock,
            corners_cut: self.c.word("corners") == Some("cut"),
        })
    }

    /// The bar's size, for flats that are left as they were bought.
    fn stock_size(&self) -> Option<Length> {
        if self.bar.is_none() {
            self.c.report(
                Diagnostic::error(
                    "missing-clause",
                    self.c.word,
                    "flats left as stock take their size from the bar, and no bar is stated",
                )
                .help("write `stock hex 24`, or `across 24`"),
            );
        }
        self.bar
    }

    fn socket(&self) -> Option<Socket> {
        let given: Vec<&str> = ["hex", "hexalobe", "slot", "cross"].into_iter().filter(|w| self.c.has(w)).collect();
        let shape = match given.as_slice() {
            ["hex"] => SocketShape::Hex(self.size("hex")?),
            ["slot"] => SocketShape::Slot(self.size("slot")?),
            ["cross"] => SocketShape::Cross(self.c.count("cross")? as u32),
            ["hexalobe"] => {
                let number = self.c.count("hexalobe")? as u32;
                let Some(outer) = hexalobe::outer(number) else {
                    let place = self.c.find("hexalobe").map_or(self.c.word, |g| clauses::span(&g.items, g.word));
                    self.c.report(
                        Diagnostic::error("unknown-size", place, format!("the hexalobe table has no size {number}"))
                            .help("sizes after ISO 10664 are 6, 8, 10, 15, 20, 25, 27, 30, 40, 45 and 50"),
                    );
                    return None;
                };
                SocketShape::Hexalobe { number, outer }
            }
            [] => {
                let d = Diagnostic::error(
                    "missing-clause",
                    self.c.word,
                    "a socket has a shape: `hex`, `hexalobe`, `slot` or `cross`",
                );
                self.c.report(d.help(format!("for example `{}`", self.c.schema.example)));
                return None;
            }
            [.., second] => {
                let place = self.c.find(second).map_or(self.c.word, |g| g.word);
                self.c.report(Diagnostic::error("contradiction", place, "a socket has one shape").help("take one out"));
                return None;
            }
        };
        let _ = self.c.quantity::<Angle>("bottom");
        Some(Socket { shape, depth: self.c.positive("depth")?.value, from: self.end_of("from").unwrap_or(End::Front) })
    }

    fn edges(&self) -> Option<Edges> {
        let given: Vec<&str> = ["sharp", "break", "radius"].into_iter().filter(|w| self.c.has(w)).collect();
        let (kind, word) = match given.as_slice() {
            ["sharp"] => (EdgeKind::Sharp, "sharp"),
            ["break"] => (EdgeKind::Break, "break"),
            ["radius"] => (EdgeKind::Radius, "radius"),
            [] => {
                let d = Diagnostic::error(
                    "missing-clause",
                    self.c.word,
                    "edges are left `sharp`, get a `break` or a `radius`",
                );
                self.c.report(d.help(format!("for example `{}`", self.c.schema.example)));
                return None;
            }
            [.., second] => {
                let place = self.c.find(second).map_or(self.c.word, |g| g.word);
                self.c.report(
                    Diagnostic::error("contradiction", place, "edges are treated one way in one statement")
                        .help("write two `edges` lines"),
                );
                return None;
            }
        };
        let at_most = self.c.range::<Length>(word)?.high?;
        Some(Edges { of: Vec::new(), kind, at_most })
    }
}
