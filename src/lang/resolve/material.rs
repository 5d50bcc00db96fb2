//! A material declared in a spec.

use super::super::clauses::{self, Clauses};
use super::super::diagnostic::Diagnostic;
use super::super::schema::Context;
use super::super::syntax::{Declaration, Item};
use super::super::values::Scope;
use super::{report, statements};
use crate::quantity::{MassPrice, Velocity};
use crate::tables::materials::{self, Band, Hazard, Material};
use std::cell::RefCell;

/// The words of hazards.
const HAZARDS: &[(&str, Hazard)] = &[
    ("titanium-chips", Hazard::TitaniumChips),
    ("magnesium-chips", Hazard::MagnesiumChips),
    ("aluminium-dust", Hazard::AluminiumDust),
    ("beryllium", Hazard::Beryllium),
    ("lead", Hazard::Lead),
    ("cobalt-chromium", Hazard::CobaltChromium),
    ("long-chips", Hazard::LongChips),
    ("plastic-fire", Hazard::PlasticFire),
    ("work-hardening", Hazard::WorkHardening),
];

/// Resolves a `material` declaration.
pub(super) fn resolve(d: &Declaration, name: Item, scope: &Scope, out: &RefCell<Vec<Diagnostic>>) -> Option<Material> {
    let found = statements(&d.body, Context::Material, scope, out);
    let get = |word: &str| found.iter().find(|c| c.schema.word == word);
    let number = |word: &str| -> Option<f64> {
        let c = get(word)?;
        c.read_head(|cursor| clauses::plain_number(cursor, scope)).filter(|v| {
            if *v <= 0.0 {
                c.report(
                    Diagnostic::error("not-positive", c.place, format!("`{word}` must be greater than 0"))
                        .help(format!("for example `{}`", c.schema.example)),
                );
            }
            *v > 0.0
        })
    };
    let base = get("like").and_then(|c| {
        let key = c.read_head(|cursor| Ok(clauses::text(cursor)))?;
        let found = materials::find(&key);
        if found.is_none() {
            c.report(unknown(&key, c));
        }
        found
    });
    let cutting = get("cutting-force").map(|c| {
        let typical = c.read_head(|cursor| clauses::plain_number(cursor, scope));
        (typical, c.number("exponent"), c.number("high"))
    });
    let speed = |word: &str| -> Option<Band<Velocity>> {
        let c = get(word)?;
        let typical = c.read_head(|cursor| clauses::one::<Velocity>(cursor, scope))?.value;
        Some(Band { low: typical * 0.6, typical, high: typical * 1.4 })
    };
    let mut missing = Vec::new();
    let mut need = |word: &'static str, there: bool| {
        if !there && base.is_none() {
            missing.push(word);
        }
    };
    need("density", get("density").is_some());
    need("modulus", get("modulus").is_some());
    need("cutting-force", get("cutting-force").is_some());
    need("turning", get("turning").is_some());
    need("drilling", get("drilling").is_some());
    need("group", get("group").is_some());
    if !missing.is_empty() {
        let message = format!("the material `{}` does not state {}", name.text, missing.join(", "));
        report(
            out,
            Diagnostic::error("incomplete-material", name.place, message)
                .help("state them, or `like KEY` to take them from a material of the table"),
        );
        return None;
    }
    let (kc, mc) = match (cutting, &base) {
        (Some((Some(typical), Some(mc), high)), _) => {
            (Band { low: typical * 0.9, typical, high: high.unwrap_or(typical * 1.3) }, mc)
        }
        (_, Some(b)) => (b.kc11_n_mm2, b.mc),
        _ => return None,
    };
    let group = get("group").and_then(|c| c.read_head(|cursor| clauses::one_of(cursor, c.schema.head)));
    let hazards = get("hazard").map(|c| {
        let items = c.read_head(clauses::names).unwrap_or_default();
        items.into_iter().filter_map(|i| hazard(i, c)).collect()
    });
    Some(Material {
        key: name.text.to_owned(),
        name: super::title(d),
        aliases: Vec::new(),
        family: get("family")
            .and_then(|c| c.read_head(|cursor| Ok(clauses::text(cursor))))
            .or_else(|| base.as_ref().map(|b| b.family.clone()))
            .unwrap_or_else(|| "declared in a spec".to_owned()),
        iso_513: group.and_then(|g| g.chars().next()).or(base.as_ref().map(|b| b.iso_513))?,
        density_kg_m3: number("density").or(base.as_ref().map(|b| b.density_kg_m3))?,
        modulus_gpa: number("modulus").or(base.as_ref().map(|b| b.modulus_gpa))?,
        kc11_n_mm2: kc,
        mc,
        turning_speed: speed("turning").or(base.as_ref().map(|b| b.turning_speed))?,
        drilling_speed: speed("drilling").or(base.as_ref().map(|b| b.drilling_speed))?,
        hazards: hazards.or_else(|| base.as_ref().map(|b| b.hazards.clone())).unwrap_or_default(),
        bar_price: get("price")
            .and_then(|c| c.read_head(|cursor| clauses::one::<MassPrice>(cursor, scope)))
            .map(|p| p.value)
            .or(base.as_ref().map(|b| b.bar_price))
            .unwrap_or(MassPrice::per_kg(5.0)),
        source: "declared in a spec".to_owned(),
    })
}

fn hazard(item: Item, c: &Clauses) -> Option<Hazard> {
    let found = HAZARDS.iter().find(|(w, _)| *w == item.text).map(|(_, h)| *h);
    if found.is_none() {
        let d = Diagnostic::error("unknown-word", item.place, format!("`{}` is no hazard of the table", item.text));
        let near = clauses::suggestion(item.text, HAZARDS.iter().map(|(w, _)| *w));
        c.report(match near {
            Some(near) => d.help(format!("did you mean `{near}`?")).fix(near),
            None => d.help(format!("known are {}", HAZARDS.iter().map(|(w, _)| *w).collect::<Vec<_>>().join(", "))),
        });
    }
    found
}

/// The message for a material that nobody knows.
pub(super) fn unknown(key: &str, c: &Clauses) -> Diagnostic {
    let place = clauses::span(&c.head, c.word);
    let d = Diagnostic::error("unknown-material", place, format!("no material `{key}` in the table or in the specs"));
    match materials::nearest(key) {
        Some(near) => d.help(format!("did you mean `{near}`?")).fix(near),
        None => d.help("declare it with `material NAME \"title\" { … }`"),
    }
}
