//! Bar as it is sold: sizes, lengths, straightness, and what a closer grade costs.

use super::{Access, Sourced, cite, read};
use crate::quantity::{Length, Straightness};
use crate::tables::materials::Material;
use serde::Deserialize;
use std::sync::LazyLock;

/// Whether an ordinary stockist carries a size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stocked {
    Common,
    Seldom,
}

/// A size of round bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BarSize {
    pub dia: Length,
    pub stocked: Stocked,
}

/// How a bar's surface is finished, and of what section it is, as far as its default grade depends on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BarFinishKey {
    /// Ground or polished.
    Ground,
    DrawnRound,
    /// Drawn hexagon, square or profile.
    DrawnOther,
    /// Turned or peeled.
    Peeled,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sizes {
    source: String,
    access: Access,
    common: Vec<f64>,
    seldom: Vec<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StraightnessRow {
    family: String,
    round: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PriceRow {
    grade: u8,
    factor: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Grades {
    source: String,
    access: Access,
    ground: u8,
    drawn_round: u8,
    drawn_other: u8,
    peeled: u8,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Lengths {
    source: String,
    access: Access,
    values: Vec<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    metric: Sizes,
    inch: Sizes,
    straightness: Sourced<StraightnessRow>,
    price_factor: Sourced<PriceRow>,
    default_grade: Grades,
    lengths: Lengths,
}

struct Table {
    file: File,
    metric: Vec<BarSize>,
    inch: Vec<BarSize>,
    both: Vec<BarSize>,
    lengths: Vec<Length>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = read("bars", include_str!("bars.yaml"));
    let (metric, inch) = (sizes(&file.metric, Length::mm), sizes(&file.inch, Length::inch));
    let mut both = [metric.as_slice(), inch.as_slice()].concat();
    both.sort_by(|a, b| a.dia.total_cmp(&b.dia));
    Table { metric, inch, both, lengths: file.lengths.values.iter().copied().map(Length::mm).collect(), file }
});

fn sizes(list: &Sizes, unit: impl Fn(f64) -> Length) -> Vec<BarSize> {
    let size = |stocked| {
        let unit = &unit;
        move |&d: &f64| BarSize { dia: unit(d), stocked }
    };
    let mut all: Vec<BarSize> = list.common.iter().map(size(Stocked::Common)).collect();
    all.extend(list.seldom.iter().map(size(Stocked::Seldom)));
    all.sort_by(|a, b| a.dia.total_cmp(&b.dia));
    all
}

/// Metric sizes, ascending.
pub fn metric() -> &'static [BarSize] {
    &TABLE.metric
}

/// Inch sizes, ascending.
pub fn inch() -> &'static [BarSize] {
    &TABLE.inch
}

/// The sizes that a drawing is made from, ascending: metric ones, for one in inches those too.
pub fn for_drawing(inches: bool) -> &'static [BarSize] {
    if inches { &TABLE.both } else { &TABLE.metric }
}

/// A size as a stockist writes it: in millimetres, of an inch size in sixteenths or thirty-seconds as well.
pub fn words(dia: Length) -> String {
    let is = |sizes: &[BarSize]| sizes.iter().any(|s| (s.dia - dia).abs() < Length::um(1.0));
    if is(metric()) || !is(inch()) {
        return dia.to_string();
    }
    let (mut parts, mut of) = ((dia.to_inch() * 32.0).round() as u32, 32);
    while parts.is_multiple_of(2) && of > 1 {
        (parts, of) = (parts / 2, of / 2);
    }
    let (whole, rest) = (parts / of, parts % of);
    let inches = match (whole, rest) {
        (whole, 0) => format!("{whole}"),
        (0, rest) => format!("{rest}/{of}"),
        (whole, rest) => format!("{whole} {rest}/{of}"),
    };
    format!("{dia} ({inches} in)")
}

/// How far from straight a bar of this material may be, by the family of its steel.
pub fn straightness(material: &Material) -> Straightness {
    let rows = &TABLE.file.straightness.rows;
    // The last row names no family and holds for all others.
    let row = rows.iter().find(|r| r.family == material.family).or(rows.last());
    Straightness::mm_per_m(row.map_or(1.0, |r| r.round))
}

/// What bar of an IT grade costs, as a multiple of drawn h11 bar; grades finer than the table as its finest, coarser as
/// its coarsest.
pub fn price_factor(grade: u8) -> f64 {
    let rows = &TABLE.file.price_factor.rows;
    rows.iter().find(|r| grade <= r.grade).or(rows.last()).map_or(1.0, |r| r.factor)
}

/// The IT grade of a bar's diameter where the order states none.
pub fn default_grade(finish: BarFinishKey) -> u8 {
    let g = &TABLE.file.default_grade;
    match finish {
        BarFinishKey::Ground => g.ground,
        BarFinishKey::DrawnRound => g.drawn_round,
        BarFinishKey::DrawnOther => g.drawn_other,
        BarFinishKey::Peeled => g.peeled,
    }
}

/// Lengths that bar is sold in, ascending.
pub fn lengths() -> &'static [Length] {
    &TABLE.lengths
}

/// Where the sizes (metric, inch), straightness, price factors, default grades and lengths come from.
pub fn sources() -> [String; 6] {
    let f = &TABLE.file;
    [
        cite(&f.metric.source, f.metric.access),
        cite(&f.inch.source, f.inch.access),
        f.straightness.cite(),
        f.price_factor.cite(),
        cite(&f.default_grade.source, f.default_grade.access),
        cite(&f.lengths.source, f.lengths.access),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::materials::find;

    #[test]
    fn sizes_are_sorted_and_told_apart() {
        for list in [metric(), inch()] {
            assert!(list.windows(2).all(|w| w[0].dia < w[1].dia));
        }
        let stocked = |mm| metric().iter().find(|s| s.dia == Length::mm(mm)).map(|s| s.stocked);
        assert_eq!(stocked(5.5), Some(Stocked::Common));
        assert_eq!(stocked(30.0), Some(Stocked::Common));
        assert_eq!(stocked(34.0), Some(Stocked::Seldom));
        assert_eq!(stocked(63.0), Some(Stocked::Seldom));
        assert_eq!(stocked(29.0), None);
        assert!(inch().iter().any(|s| s.dia == Length::inch(0.375) && s.stocked == Stocked::Common));
        let written = [20.0, 33.3375, 9.525, 25.4, 17.3].map(|mm| words(Length::mm(mm)));
        assert_eq!(written, ["20 mm", "33.34 mm (1 5/16 in)", "9.53 mm (3/8 in)", "25.4 mm (1 in)", "17.3 mm"]);
    }

    #[test]
    fn grades_prices_and_straightness() {
        assert_eq!(price_factor(11), 1.0);
        assert_eq!(price_factor(9), 1.15);
        assert_eq!(price_factor(6), 2.2);
        assert_eq!(price_factor(5), 2.2);
        assert_eq!(price_factor(14), 1.0);
        assert_eq!(default_grade(BarFinishKey::DrawnOther), 11);
        assert_eq!(straightness(&find("42crmo4").unwrap()), Straightness::mm_per_m(1.5));
        assert_eq!(straightness(&find("303").unwrap()), Straightness::mm_per_m(1.0));
        assert_eq!(lengths()[0], Length::mm(3000.0));
    }
}
