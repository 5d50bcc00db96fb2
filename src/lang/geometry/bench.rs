//! Parts built in code for the tests of the geometry checks: a drawing in a few lines.

use crate::lang::Diagnostic;
use crate::model::figure::{Limits, Place, Size, Stated, ToleranceSource};
use crate::model::part::*;
use crate::quantity::{Angle, Length, MassPrice, Velocity};
use crate::tables::materials::{Band, Material};
use std::collections::BTreeSet;
use std::sync::Arc;

pub(super) fn mm(value: f64) -> Length {
    Length::mm(value)
}

pub(super) fn zone(start: f64, end: f64) -> Zone {
    Zone { start: mm(start), end: mm(end) }
}

/// A size without width in its tolerance, so that a test stands exactly on the boundary.
pub(super) fn size(nominal: f64) -> Size {
    between(nominal, 0.0, 0.0)
}

pub(super) fn between(nominal: f64, lower: f64, upper: f64) -> Size {
    let limits = Limits::Both { upper: mm(upper), lower: mm(lower), from: ToleranceSource::Written };
    Size { nominal: mm(nominal), limits, place: Place::default() }
}

pub(super) fn feature(name: &str, kind: Kind) -> Feature {
    Feature { name: name.to_owned(), kind, place: Place::default(), made_from: None, cpk: None }
}

pub(super) fn turn(name: &str, dia: f64, start: f64, end: f64) -> Feature {
    let turn = Turn {
        dia: size(dia),
        zone: zone(start, end),
        finish: None,
        as_stock: false,
        offset: None,
        thread_blank: false,
    };
    feature(name, Kind::Turn(turn))
}

pub(super) fn groove(name: &str, dia: f64, start: f64, end: f64) -> Feature {
    let groove = Groove {
        side: GrooveSide::External,
        dia: size(dia),
        outer_dia: None,
        zone: zone(start, end),
        corner_radius: None,
        finish: None,
    };
    feature(name, Kind::Groove(groove))
}

pub(super) fn bore(name: &str, dia: f64, start: f64, end: f64) -> Feature {
    let bore = Bore {
        dia: size(dia),
        zone: zone(start, end),
        from: if start == 0.0 { End::Front } else { End::Back },
        through: false,
        flat_bottom: false,
        finish: None,
    };
    feature(name, Kind::Bore(bore))
}

pub(super) fn hole(dia: f64, at: f64, angle: f64) -> Hole {
    Hole {
        dia: size(dia),
        at: mm(at),
        angle: Stated { value: Angle::deg(angle), place: Place::default() },
        angle_tolerance: Angle::deg(0.5),
        opens: End::Front,
        clock: Angle::ZERO,
        count: 1,
        offset: Length::ZERO,
        into: None,
        through: true,
        depth: None,
        circle: None,
        finish: None,
    }
}

/// An external metric thread of 0.6134 pitch depth a side, without a class.
pub(super) fn thread(major: f64, pitch: f64, start: f64, end: f64) -> Thread {
    Thread {
        form: ThreadForm::Metric,
        designation: format!("M{major} x {pitch}"),
        class: None,
        major: mm(major),
        minor: mm(major - 1.2268 * pitch),
        pitch: mm(pitch),
        starts: 1,
        left_hand: false,
        internal: false,
        zone: zone(start, end),
        from: End::Front,
        flank_angle: Angle::deg(60.0),
        taper: None,
        rolled: false,
        provisional: false,
    }
}

pub(super) fn part(length: f64, features: Vec<Feature>) -> Part {
    let none = Band { low: Velocity::ZERO, typical: Velocity::ZERO, high: Velocity::ZERO };
    let material = Material {
        key: "steel".to_owned(),
        name: "steel".to_owned(),
        aliases: Vec::new(),
        family: String::new(),
        iso_513: 'P',
        density_kg_m3: 7850.0,
        modulus_gpa: 210.0,
        kc11_n_mm2: Band { low: 1.0, typical: 1.0, high: 1.0 },
        mc: 0.25,
        turning_speed: none,
        drilling_speed: none,
        hazards: BTreeSet::new(),
        bar_price: MassPrice::ZERO,
        source: String::new(),
    };
    Part {
        name: "probe".to_owned(),
        title: String::new(),
        place: Place::default(),
        material: Arc::new(material),
        material_place: Place::default(),
        supplied: false,
        certificate: None,
        stock: None,
        length: size(length),
        orders: vec![1],
        repeat: false,
        yearly: None,
        purpose: Use::General,
        first_article: FirstArticle::default(),
        validated: None,
        general: String::new(),
        inches: false,
        first_end: None,
        features,
        demands: Vec::new(),
        after: Vec::new(),
        family: None,
        due: None,
        remarks: Vec::new(),
    }
}

/// The codes that the checks find, in their order.
pub(super) fn codes(part: &Part) -> Vec<&'static str> {
    found(part).iter().map(|f| f.code).collect()
}

pub(super) fn found(part: &Part) -> Vec<Diagnostic> {
    let mut all = Vec::new();
    super::check(part, &mut all);
    for finding in &all {
        let remedy = finding.help.as_deref().unwrap_or_default();
        assert!(!remedy.is_empty(), "no remedy: {}", finding.message);
        assert!(!finding.message.ends_with('.') && !remedy.ends_with('.'), "full stop: {}", finding.message);
        let first = finding.message.chars().next().unwrap_or('A');
        assert!(!first.is_uppercase(), "capital: {}", finding.message);
    }
    all
}
