//! A machine, or one derived from another.

use super::super::clauses::{self, Clauses};
use super::super::diagnostic::Diagnostic;
use super::super::schema::Context;
use super::super::syntax::{Declaration, Item, Kind};
use super::super::values::Scope;
use super::part::read_grade;
use super::{report, statements, title};
use crate::model::figure::Stated;
use crate::model::machine::{
    AddedMethod, Attachment, Axis, Bushing, Carrier, CarrierAngle, Catcher, Changeover, Coolant, CoolantMedium, Feeder,
    Headstock, Holder, Machine, Magazine, Mode, ModeKind, Occupies, Orient, Price, Range, Side, Spindle, Steady,
    SubSpindle, Swallow,
};
use crate::quantity::{Angle, Length, Mass, Pressure, Ratio, Time};
use std::cell::RefCell;
use std::collections::BTreeMap;

/// How many machines may stand on one another by `like`: a variant of a variant is common, sixteen is a mistake.
const LONGEST_CHAIN: usize = 16;

/// Resolves a machine with what it takes over from others.
pub(super) fn resolve(
    d: &Declaration,
    all: &BTreeMap<String, (usize, &Declaration)>,
    scopes: &[Scope],
    out: &RefCell<Vec<Diagnostic>>,
) -> Option<Machine> {
    let name = d.head.first().filter(|i| i.kind == Kind::Word)?;
    // Only the first of two declarations of a name counts; the second was reported.
    let first = all.get(name.text).is_some_and(|(_, o)| o.place == d.place);
    if !first {
        return None;
    }
    let mut chain: Vec<(usize, &Declaration)> = Vec::new();
    let mut at = Some((all.get(name.text)?.0, d));
    while let Some((file, declaration)) = at {
        if chain.iter().any(|(_, c)| c.place == declaration.place) {
            let place = declaration.head.first().map_or(declaration.place, |i| i.place);
            report(
                out,
                Diagnostic::error("like-circle", place, format!("`{}` is like itself by way of others", name.text))
                    .help("break the circle"),
            );
            return None;
        }
        if chain.len() >= LONGEST_CHAIN {
            let place = declaration.head.first().map_or(declaration.place, |i| i.place);
            let message = format!("machines are like one another more than {LONGEST_CHAIN} deep");
            report(
                out,
                Diagnostic::error("like-chain", place, message)
                    .help("derive the variant from the machine at the foot of the row"),
            );
            return None;
        }
        chain.push((file, declaration));
        at = match like(declaration) {
            None => None,
            Some(base) => match all.get(base.text) {
                Some(found) => Some(*found),
                None => {
                    let message = format!("no machine is named `{}`", base.text);
                    let d = Diagnostic::error("unknown-machine", base.place, message);
                    let near = clauses::suggestion(base.text, all.keys().map(String::as_str));
                    report(
                        out,
                        match near {
                            Some(near) => d.help(format!("did you mean `{near}`?")).fix(near),
                            None => d.help("read the file of that machine in the same run"),
                        },
                    );
                    return None;
                }
            },
        };
    }
    // Base first; what the derived machine says of the same thing stands in its place. Clauses that it does not give
    // are kept from the base.
    let silent = RefCell::new(Vec::new());
    let mut merged: Vec<Clauses> = Vec::new();
    for (i, (file, declaration)) in chain.iter().enumerate().rev() {
        let told = if i == 0 { out } else { &silent };
        for mut c in statements(&declaration.body, Context::Machine, &scopes[*file], told) {
            c.own = i == 0;
            merge(&mut merged, c, told);
        }
    }
    let builder = Builder { found: &merged, out, name: *name, has_body: d.has_body || like(d).is_some() };
    builder.machine(d)
}

/// The machine that a declaration is like: `machine NAME like OTHER with { … }`.
fn like<'s>(d: &Declaration<'s>) -> Option<Item<'s>> {
    let at = d.head.iter().position(|i| i.is_word("like"))?;
    d.head.get(at + 1).copied()
}

/// What tells two statements of one word apart: the name of a carrier, the kind of a mode.
fn key<'s>(c: &Clauses<'s, '_>) -> Vec<&'s str> {
    match c.schema.word {
        "spindle" | "mode" | "carrier" | "option" => c.head.iter().take(1).map(|i| i.text).collect(),
        "changeover" => c.head.iter().take(3).map(|i| i.text).collect(),
        _ => Vec::new(),
    }
}

fn merge<'s, 'c>(merged: &mut Vec<Clauses<'s, 'c>>, mut c: Clauses<'s, 'c>, out: &RefCell<Vec<Diagnostic>>) {
    let same = merged.iter().position(|m| m.schema.word == c.schema.word && key(m) == key(&c));
    let Some(i) = same else {
        merged.push(c);
        return;
    };
    if merged[i].own && c.own {
        let message = format!("`{} {}` stands twice in this machine", c.schema.word, key(&c).join(" "));
        report(
            out,
            Diagnostic::error("repeated-statement", c.word, message)
                .also(merged[i].word, "first here")
                .help("take one out"),
        );
        return;
    }
    let before = merged.remove(i);
    for g in before.given {
        if !c.given.iter().any(|o| o.schema.word == g.schema.word) {
            c.given.push(g);
        }
    }
    if c.head.is_empty() {
        c.head = before.head;
    }
    merged.insert(i, c);
}

struct Builder<'a, 's, 'c> {
    found: &'a [Clauses<'s, 'c>],
    out: &'a RefCell<Vec<Diagnostic>>,
    name: Item<'s>,
    has_body: bool,
}

fn side(word: &str) -> Side {
    if word == "sub" { Side::Sub } else { Side::Main }
}

pub(super) fn mode_kind(word: &str) -> Option<ModeKind> {
    match word {
        "guided" => Some(ModeKind::Guided),
        "collet" => Some(ModeKind::Collet),
        "supported" => Some(ModeKind::Supported),
        _ => None,
    }
}

impl<'s, 'c> Builder<'_, 's, 'c> {
    fn get(&self, word: &str) -> Option<&Clauses<'s, 'c>> {
        self.found.iter().find(|c| c.schema.word == word)
    }

    fn each(&self, word: &'static str) -> impl Iterator<Item = &Clauses<'s, 'c>> {
        self.found.iter().filter(move |c| c.schema.word == word)
    }

    fn missing(&self, what: &str, help: &str) {
        // Without braces there are no statements at all: that was told already.
        if !self.has_body {
            return;
        }
        let message = format!("the machine `{}` does not state {what}", self.name.text);
        report(self.out, Diagnostic::error("missing-statement", self.name.place, message).help(help));
    }

    fn machine(&self, d: &Declaration) -> Option<Machine> {
        let headstock =
            self.get("headstock").and_then(|c| c.read_head(|cursor| clauses::one_of(cursor, c.schema.head)));
        if self.get("headstock").is_none() {
            self.missing("its headstock", "write `headstock sliding` or `headstock fixed`");
        }
        let main = self.spindles("main");
        if main.is_none() {
            self.missing(
                "its main spindle",
                "for example `spindle main { speed .. 8_000 rpm power 5.5 kW torque 30 N.m bore 26 }`",
            );
        }
        let modes: Vec<Mode> = self.each("mode").filter_map(mode).collect();
        if self.get("mode").is_none() {
            self.missing(
                "how it holds the bar",
                "for example `mode collet { bar 3 .. 20 stick-out 60 stock h11 remnant 70 }`",
            );
        }
        let carriers: Vec<Carrier> = self.each("carrier").filter_map(carrier).collect();
        if self.get("carrier").is_none() {
            self.missing(
                "any carrier of tools",
                "for example `carrier gang { group 1 serves main fixed 6 shank 12 x 12 angle 90 deg }`",
            );
        }
        let magazine = self.get("magazine").and_then(|c| self.magazine(c, &carriers));
        let options: Vec<Attachment> = self.each("option").filter_map(|c| self.option(c, &carriers)).collect();
        if modes.is_empty() || carriers.is_empty() {
            return None;
        }
        Some(Machine {
            name: self.name.text.to_owned(),
            title: title(d),
            place: d.place,
            headstock: if headstock? == "sliding" { Headstock::Sliding } else { Headstock::Fixed },
            main: main?,
            sub: self.sub(),
            feeder: self.get("feeder").map(feeder),
            modes,
            changeovers: self.each("changeover").filter_map(changeover).collect(),
            carriers,
            magazine,
            coolant: self.get("coolant").and_then(coolant),
            steady: self.get("steady").map(|c| Steady { dia: c.range("dia"), place: c.place }),
            tailstock: self.get("tailstock").is_some(),
            catcher: self.get("catcher").map(|c| Catcher {
                length: c.range("length"),
                gripper: c.has("gripper"),
                place: c.place,
            }),
            rapid: self.get("rapid").and_then(|c| c.read_head(|cursor| clauses::one(cursor, c.scope))),
            rapid_acceleration: self.get("rapid").and_then(|c| c.stated("acceleration")),
            options,
            price: self.get("price").and_then(price),
            remarks: self.found.iter().flat_map(Clauses::remarks).collect(),
        })
    }

    fn spindle_of(&self, which: &str) -> Option<&Clauses<'s, 'c>> {
        self.each("spindle").find(|c| c.head.first().is_some_and(|i| i.text == which))
    }

    fn spindles(&self, which: &str) -> Option<Spindle> {
        for c in self.each("spindle") {
            if which == "main" {
                let _ = c.read_head(|cursor| clauses::one_of(cursor, c.schema.head));
            }
        }
        let found = self.spindle_of(which)?;
        for g in ["grip", "swallow", "eject", "runout", "clamp"].iter().filter_map(|w| found.find(w)) {
            let message = format!("`{}` is stated of a sub-spindle, not of the main spindle", g.schema.word);
            let d = Diagnostic::error("contradiction", g.word, message);
            found.report(d.help("write it in `spindle sub`; what holds the bar is stated in its `mode`"));
        }
        Some(spindle(found))
    }

    fn sub(&self) -> Option<SubSpindle> {
        let c = self.spindle_of("sub")?;
        Some(SubSpindle {
            spindle: spindle(c),
            grip: c.range("grip"),
            swallow: c.read("swallow", |cursor| {
                if let Some(item) = cursor.take_word("through") {
                    return Ok(Stated { value: Swallow::Through, place: item.place });
                }
                clauses::one::<Length>(cursor, c.scope).map(|s| Stated { value: Swallow::Up(s.value), place: s.place })
            }),
            eject: c.range("eject"),
            runout: c.positive("runout"),
            clamp: c.positive("clamp"),
        })
    }

    fn carrier_named(&self, item: Item, carriers: &[Carrier], c: &Clauses) -> Option<String> {
        if carriers.iter().any(|k| k.name == item.text) {
            return Some(item.text.to_owned());
        }
        let d = Diagnostic::error("unknown-carrier", item.place, format!("no carrier is named `{}`", item.text));
        let near = clauses::suggestion(item.text, carriers.iter().map(|k| k.name.as_str()));
        c.report(match near {
            Some(near) => d.help(format!("did you mean `{near}`?")).fix(near),
            None => d.help(format!(
                "the machine has {}",
                carriers.iter().map(|k| k.name.as_str()).collect::<Vec<_>>().join(", ")
            )),
        });
        None
    }

    fn magazine(&self, c: &Clauses<'s, 'c>, carriers: &[Carrier]) -> Option<Magazine> {
        let feeds = c.read("feeds", clauses::names).and_then(|n| n.first().copied());
        let feeds = feeds.and_then(|item| self.carrier_named(item, carriers, c));
        if !c.has("feeds") || !c.has("pockets") {
            c.report(
                Diagnostic::error("missing-clause", c.word, "a magazine `feeds` a carrier and has `pockets`")
                    .help(format!("for example `{}`", c.schema.example)),
            );
        }
        let (mut dia, mut length, mut mass) = (None, None, None);
        if c.has("tool") {
            c.read("tool", |cursor| {
                loop {
                    let from = cursor.at;
                    let range_is_mass = cursor.items[from..]
                        .iter()
                        .take_while(|i| i.kind != Kind::Comma)
                        .any(|i| matches!(i.text, "kg" | "lb"));
                    if range_is_mass {
                        let r = clauses::range::<Mass>(cursor, c.scope)?;
                        mass = r.high.map(|v| Stated { value: v.to_kg(), place: r.place });
                    } else {
                        let r = clauses::range::<Length>(cursor, c.scope)?;
                        let stated = r.high.map(|value| Stated { value, place: r.place });
                        match cursor.take(Kind::Word).map(|i| (i.text, i.place)) {
                            Some(("dia", _)) => dia = stated,
                            Some(("long", _)) => length = stated,
                            other => {
                                let place = other.map_or(cursor.place(), |(_, p)| p);
                                return Err(Diagnostic::error(
                                    "unknown-word",
                                    place,
                                    "a tool's limit is `dia` or `long`",
                                )
                                .help(format!("for example `{}`", c.schema.example)));
                            }
                        }
                    }
                    if cursor.take(Kind::Comma).is_none() {
                        return Ok(());
                    }
                }
            });
        }
        Some(Magazine {
            feeds: feeds?,
            pockets: c.count("pockets")? as u32,
            change: c.positive("change"),
            tool_dia: dia,
            tool_length: length,
            tool_mass: mass,
            place: c.place,
        })
    }

    fn option(&self, c: &Clauses<'s, 'c>, carriers: &[Carrier]) -> Option<Attachment> {
        let name = carrier_name(c)?;
        let method = c.word("method").map(|m| match m {
            "whirling" => AddedMethod::Whirling,
            "oscillating-drilling" => AddedMethod::OscillatingDrilling,
            "polygon-turning" => AddedMethod::PolygonTurning,
            "thread-rolling" => AddedMethod::ThreadRolling,
            _ => AddedMethod::Hobbing,
        });
        let occupies = if c.has("occupies") { self.occupies(c, carriers) } else { None };
        Some(Attachment {
            name,
            method,
            occupies,
            mount: c.positive("mount"),
            price: c.positive("price"),
            angle: angle(c),
            by_hand: c.has("by-hand") || c.word("by").is_some(),
            holder: c
                .range::<Length>("collet")
                .and_then(|r| r.high.map(|d| Stated { value: Holder::Collet(d), place: r.place })),
            speed: c.range("speed"),
            lead_angle: c.range("lead-angle"),
            insert_width: c
                .range::<Length>("insert-width")
                .and_then(|r| r.high.map(|value| Stated { value, place: r.place })),
            ring_bore: c.positive("ring-bore"),
            ring_speed: c.range("ring-speed"),
            cutters: c.count("cutters").map(|n| n as u32),
            frequency: c.range("frequency"),
            stroke: c.range("stroke"),
            feed_override: c.range::<Ratio>("feed"),
            place: c.place,
        })
    }

    fn occupies(&self, c: &Clauses<'s, 'c>, carriers: &[Carrier]) -> Option<Occupies> {
        let place = c.find("occupies").map_or(c.word, |g| clauses::span(&g.items, g.word));
        let read = c.read("occupies", |cursor| {
            let Some(carrier) = cursor.take(Kind::Word) else {
                return Err(Diagnostic::error("missing-value", cursor.place(), "a carrier is missing here"));
            };
            let places =
                if cursor.peek().is_some_and(|i| i.kind == Kind::Number) { clauses::count(cursor)? as u32 } else { 0 };
            let neighbouring = cursor.take_word("neighbouring").is_some();
            let kind = cursor.take(Kind::Word);
            match kind.map(|k| k.text) {
                Some("pocket") => Ok((carrier, 0, false, true, neighbouring)),
                Some("live") if places > 0 => Ok((carrier, places, true, false, neighbouring)),
                Some("fixed") if places > 0 => Ok((carrier, places, false, false, neighbouring)),
                _ => Err(Diagnostic::error(
                    "unknown-word",
                    kind.map_or(cursor.place(), |k| k.place),
                    "an option occupies `N live`, `N neighbouring live`, `N fixed` or a `pocket`",
                )
                .help("for example `occupies cross 2 neighbouring live`")),
            }
        })?;
        let (carrier, places, live, pocket, neighbouring) = read;
        let carrier = self.carrier_named(carrier, carriers, c)?;
        Some(Occupies { carrier, places, live, neighbouring, pocket, place })
    }
}

/// The name in the head of a carrier or an option.
fn carrier_name(c: &Clauses) -> Option<String> {
    c.read_head(|cursor| match cursor.take(Kind::Word) {
        Some(item) => Ok(item.text.to_owned()),
        None => Err(Diagnostic::error("missing-value", cursor.place(), "a name is missing here")),
    })
}

fn spindle(c: &Clauses) -> Spindle {
    let orient = c.read("orient", |cursor| {
        let place = cursor.place();
        match cursor.take(Kind::Word).map(|i| i.text) {
            Some("continuous") => Ok(Stated { value: Orient::Continuous, place }),
            Some("no") => Ok(Stated { value: Orient::No, place }),
            Some("every") => {
                let step = clauses::one::<Angle>(cursor, c.scope)?;
                if step.value <= Angle::ZERO {
                    return Err(Diagnostic::error("not-positive", step.place, "a step must be greater than 0"));
                }
                Ok(Stated { value: Orient::Every(step.value), place })
            }
            _ => {
                Err(Diagnostic::error("unknown-word", place, "a spindle orients `continuous`, `every 15 deg` or `no`"))
            }
        }
    });
    Spindle {
        speed: c.range("speed"),
        power: c.positive("power"),
        torque: c.positive("torque"),
        bore: c.positive("bore"),
        orient,
        orient_accuracy: c.positive("accuracy"),
        brake: c.positive("brake"),
        acceleration_time: c.positive::<Time>("acceleration"),
        place: c.place,
    }
}

fn feeder(c: &Clauses) -> Feeder {
    let channels = c.read("channel", |cursor| {
        let mut channels = vec![clauses::one::<Length>(cursor, c.scope)?.value];
        while cursor.take(Kind::Comma).is_some() {
            channels.push(clauses::one::<Length>(cursor, c.scope)?.value);
        }
        channels.sort_by(Length::total_cmp);
        Ok(channels)
    });
    Feeder {
        length: c.range("length"),
        channels: channels.unwrap_or_default(),
        short: c.has("short"),
        coil: c.range("coil"),
        place: c.place,
    }
}

fn mode(c: &Clauses) -> Option<Mode> {
    let kind = mode_kind(c.read_head(|cursor| clauses::one_of(cursor, c.schema.head))?)?;
    let bushing = c.word("bushing").map(|b| Stated {
        value: match b {
            "fixed" => Bushing::Fixed,
            "rotary" => Bushing::Rotary,
            _ => Bushing::SelfAdjusting,
        },
        place: c.find("bushing").map_or(c.word, |g| clauses::span(&g.items, g.word)),
    });
    if kind != ModeKind::Guided
        && let Some(g) = c.find("bushing").or_else(|| c.find("stroke"))
    {
        let message = format!("{} work has no guide bushing: `{}` does not belong here", kind.word(), g.schema.word);
        c.report(
            Diagnostic::error("contradiction", g.word, message).help("state `stick-out` for work out of a collet"),
        );
    }
    Some(Mode {
        kind,
        bar: c.range("bar"),
        bushing,
        land: c.positive("land"),
        speed: c.range("speed"),
        stroke: c.positive("stroke"),
        stick_out: c.positive("stick-out"),
        stock: read_grade(c, "stock"),
        remnant: c.positive("remnant"),
        spread: c.positive("spread"),
        roundness: c.positive("roundness"),
        runout: c.positive("runout"),
        clamp: c.positive("clamp"),
        place: c.place,
    })
}

fn changeover(c: &Clauses) -> Option<Changeover> {
    c.read_head(|cursor| {
        let mut kind = || {
            let item = cursor.take(Kind::Word);
            item.and_then(|i| mode_kind(i.text)).ok_or_else(|| {
                Diagnostic::error(
                    "unknown-word",
                    item.map_or(cursor.place(), |i| i.place),
                    "a changeover runs between `guided`, `collet` and `supported`",
                )
                .help("for example `changeover guided to collet 20 min`")
            })
        };
        let from = kind()?;
        if cursor.take_word("to").is_none() {
            return Err(Diagnostic::error("missing-value", cursor.place(), "`to` is missing here")
                .help("for example `changeover guided to collet 20 min`"));
        }
        let item = cursor.take(Kind::Word);
        let to = item.and_then(|i| mode_kind(i.text)).ok_or_else(|| {
            Diagnostic::error(
                "unknown-word",
                item.map_or(cursor.place(), |i| i.place),
                "a changeover runs between `guided`, `collet` and `supported`",
            )
            .help("for example `changeover guided to collet 20 min`")
        })?;
        Ok(Changeover { from, to, time: clauses::one(cursor, c.scope)? })
    })
}

/// Angle, step and accuracy of a carrier or an option.
fn angle(c: &Clauses) -> Option<CarrierAngle> {
    let range = c.range::<Angle>("angle")?;
    let high = range.high?;
    // One angle stands alone; a range has two ends.
    let low = match range.low {
        Some(low) => low,
        None if c.find("angle").is_some_and(|g| g.items.iter().any(|i| i.kind == Kind::Range)) => Angle::deg(0.0),
        None => high,
    };
    Some(CarrierAngle { low, high, step: c.quantity("step"), accuracy: c.quantity("accuracy"), place: range.place })
}

fn carrier(c: &Clauses) -> Option<Carrier> {
    let name = carrier_name(c)?;
    let serves = c.read("serves", clauses::names).unwrap_or_default();
    let one_at_a_time =
        c.read("one", |cursor| match (cursor.take_word("at"), cursor.take_word("a"), cursor.take_word("time")) {
            (Some(_), Some(_), Some(_)) => Ok(true),
            _ => Err(Diagnostic::error("missing-value", cursor.place(), "`one` needs `at a time`")),
        });
    for item in &serves {
        if !matches!(item.text, "main" | "sub") {
            c.report(
                Diagnostic::error("unknown-word", item.place, format!("`{}` is no spindle", item.text))
                    .help("a carrier serves `main`, `sub` or both"),
            );
        }
    }
    if !c.has("serves") {
        c.report(
            Diagnostic::error(
                "missing-clause",
                c.word,
                format!("the carrier `{name}` does not say which spindle it `serves`"),
            )
            .help("write `serves main`, `serves sub` or `serves main, sub`"),
        );
    }
    let mut axes = Vec::new();
    for item in c.read("axes", clauses::names).unwrap_or_default() {
        match item.text {
            "x" => axes.push(Axis::X),
            "y" => axes.push(Axis::Y),
            "z" => axes.push(Axis::Z),
            "b" => axes.push(Axis::B),
            "c" => axes.push(Axis::C),
            other => c.report(
                Diagnostic::error("unknown-word", item.place, format!("`{other}` is no axis"))
                    .help("axes are x, y, z, b and c"),
            ),
        }
    }
    let y_travel = c.read("y", |cursor| {
        let place = cursor.place();
        if cursor.take(Kind::PlusMinus).is_some() {
            return clauses::one::<Length>(cursor, c.scope);
        }
        let r: Range<Length> = clauses::range(cursor, c.scope)?;
        let high = r.high.unwrap_or(Length::ZERO);
        // A travel that reaches further to one side counts by its shorter side.
        let reach = r.low.map_or(high, |low| high.min(low.abs()));
        Ok(Stated { value: reach, place })
    });
    let shank = c.read("shank", |cursor| {
        let a = clauses::one::<Length>(cursor, c.scope)?;
        if cursor.take_word("x").is_none() {
            return Err(Diagnostic::error("missing-value", cursor.place(), "a shank has two sizes")
                .help("for example `shank 12 x 12`"));
        }
        let b = clauses::one::<Length>(cursor, c.scope)?;
        Ok(Stated { value: Holder::Shank(a.value, b.value), place: a.place })
    });
    let round = |word: &str, make: fn(Length) -> Holder| {
        c.range::<Length>(word).and_then(|r| r.high.map(|d| Stated { value: make(d), place: r.place }))
    };
    let sleeve = round("sleeve", Holder::Sleeve);
    let collet = round("collet", Holder::Collet);
    let fixed_places = c.count("fixed").unwrap_or(0) as u32;
    let live_places = c.count("live").unwrap_or(0) as u32;
    if fixed_places + live_places == 0 {
        c.report(
            Diagnostic::error("no-places", c.word, format!("the carrier `{name}` has no places"))
                .help("write `fixed N`, `live N` or both"),
        );
    }
    Some(Carrier {
        name,
        group: c.count("group").unwrap_or(1) as u32,
        one_at_a_time: one_at_a_time.unwrap_or(false),
        serves: serves.iter().filter(|i| matches!(i.text, "main" | "sub")).map(|i| side(i.text)).collect(),
        axes,
        y_travel,
        fixed_places,
        live_places,
        fixed_holder: shank.or(sleeve).or(collet),
        live_holder: collet,
        speed: c.range("speed"),
        power: c.positive("power"),
        torque: c.positive("torque"),
        ratio: c.number("ratio"),
        angle: angle(c),
        contouring: c.has("contouring"),
        off_bushing: c.positive("off-bushing"),
        index: c.positive("index"),
        own_z: c.read("own", |cursor| {
            if cursor.take_word("z").is_none() {
                return Err(Diagnostic::error("missing-value", cursor.place(), "`own` needs `z` and a length")
                    .help("for example `own z 30`"));
            }
            clauses::one(cursor, c.scope)
        }),
        swing: c.positive("swing"),
        place: c.place,
    })
}

fn coolant(c: &Clauses) -> Option<Coolant> {
    let (medium, pressure) = c.read_head(|cursor| {
        let place = cursor.place();
        let medium = match cursor.take(Kind::Word).map(|i| i.text) {
            Some("oil") => CoolantMedium::Oil,
            Some("emulsion") => CoolantMedium::Emulsion,
            _ => {
                return Err(Diagnostic::error("unknown-word", place, "a coolant is `oil` or `emulsion`")
                    .help("for example `coolant oil 40 bar`"));
            }
        };
        let pressure = if cursor.peek().is_some() { Some(clauses::one::<Pressure>(cursor, c.scope)?) } else { None };
        Ok((medium, pressure))
    })?;
    Some(Coolant {
        medium,
        pressure: pressure.or_else(|| c.stated("pressure")),
        filter: c.positive("filter"),
        fire_suppression: c.has("fire-suppression"),
        place: c.place,
    })
}

fn price(c: &Clauses) -> Option<Price> {
    let list = c.above_zero(c.read_head(|cursor| clauses::one(cursor, c.scope))?, "price")?;
    let installed = c.read("installed", |cursor| {
        let _ = cursor.take(Kind::Plus);
        clauses::one::<Ratio>(cursor, c.scope).map(|s| s.value)
    });
    Some(Price { list, installed })
}
