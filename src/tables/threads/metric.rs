//! ISO metric threads: pitches, basic diameters, tolerances.

use super::{ExternalLimits, InternalLimits, LimitPair, MINOR_DROP, PITCH_DROP, ThreadRow};
use crate::quantity::Length;
use crate::quantity::print::number;
use crate::tables::{Sourced, TableError, key, read};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

const NAME: &str = "ISO 965-1";

/// From the least pitch diameter down to a root rounded with 0.125 P, in pitches: 0.71132 H.
const ROUND_ROOT_DROP: f64 = 0.616_025;

/// A nominal diameter of ISO 261 with its pitches.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MetricSize {
    /// mm.
    pub major: f64,
    /// mm.
    pub coarse: f64,
    /// mm, from coarse to fine.
    pub fine: Vec<f64>,
    /// First, second or third choice of ISO 261.
    pub choice: u8,
    /// mm: the fine pitch that ISO 262 selects for screws, bolts and nuts.
    pub selected: Option<f64>,
}

type Um = Option<f64>;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    series: Sourced<MetricSize>,
    basic: Sourced<[f64; 5]>,
    computed: Sourced<[f64; 5]>,
    deviations: Sourced<(f64, Um, Um, f64)>,
    crest: Sourced<[Um; 8]>,
    pitch: Sourced<[Um; 14]>,
}

/// Fundamental deviations of a pitch, um.
struct Deviations {
    e: Um,
    f: Um,
    g: f64,
}

/// Crest tolerances of a pitch, um: bolt major of grades 4, 6, 8, nut minor of grades 4 to 7.
struct Crest {
    external: [Um; 3],
    internal: [Um; 4],
}

/// Pitch-diameter tolerances of a diameter step and a pitch, um: bolt grades 3 to 8, nut grades 4 to 8.
struct PitchStep {
    over: f64,
    up_to: f64,
    external: [Um; 6],
    internal: [Um; 5],
}

struct Table {
    sizes: Vec<MetricSize>,
    coarse: BTreeMap<i64, Length>,
    rows: BTreeMap<(i64, i64), ThreadRow>,
    deviations: BTreeMap<i64, Deviations>,
    crest: BTreeMap<i64, Crest>,
    pitch: BTreeMap<i64, Vec<PitchStep>>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = read("metric threads", include_str!("metric.yaml"));
    let mm = |v: f64| key(Length::mm(v));
    let rows = [&file.basic, &file.computed].into_iter().flat_map(|part| {
        // Kept for the life of the program, so that each row can point at it.
        let source: &'static str = Box::leak(part.cite().into_boxed_str());
        part.rows.iter().map(move |&[major, pitch, pitch_dia, minor_internal, minor_external]| {
            let row = ThreadRow {
                designation: format!("M{} x {}", number(major, 2), number(pitch, 3)),
                major: Length::mm(major),
                pitch: Length::mm(pitch),
                pitch_dia: Length::mm(pitch_dia),
                minor_internal: Length::mm(minor_internal),
                minor_external: Length::mm(minor_external),
                source,
            };
            ((mm(major), mm(pitch)), row)
        })
    });
    let mut pitch: BTreeMap<i64, Vec<PitchStep>> = BTreeMap::new();
    for &[over, up_to, p, e3, e4, e5, e6, e7, e8, i4, i5, i6, i7, i8] in &file.pitch.rows {
        // A test asserts that no row lacks its first three figures.
        let (Some(over), Some(up_to), Some(p)) = (over, up_to, p) else { continue };
        let (external, internal) = ([e3, e4, e5, e6, e7, e8], [i4, i5, i6, i7, i8]);
        pitch.entry(mm(p)).or_default().push(PitchStep { over, up_to, external, internal });
    }
    let crest = |&[p, e4, e6, e8, i4, i5, i6, i7]: &[Um; 8]| {
        Some((mm(p?), Crest { external: [e4, e6, e8], internal: [i4, i5, i6, i7] }))
    };
    Table {
        coarse: file.series.rows.iter().map(|s| (mm(s.major), Length::mm(s.coarse))).collect(),
        rows: rows.collect(),
        deviations: file.deviations.rows.iter().map(|&(p, e, f, g)| (mm(p), Deviations { e, f, g })).collect(),
        crest: file.crest.rows.iter().filter_map(crest).collect(),
        pitch,
        sizes: file.series.rows,
    }
});

/// The coarse pitch of a nominal diameter of ISO 261, 1 to 64 mm.
pub fn metric_coarse_pitch(major: Length) -> Option<Length> {
    TABLE.coarse.get(&key(major)).copied()
}

/// The row of a nominal diameter and a pitch of ISO 261, with its basic diameters after ISO 724.
pub fn metric(major: Length, pitch: Length) -> Option<&'static ThreadRow> {
    TABLE.rows.get(&(key(major), key(pitch)))
}

/// The nominal diameters and pitches of ISO 261, 1 to 64 mm.
pub fn metric_sizes() -> &'static [MetricSize] {
    &TABLE.sizes
}

/// All rows, by diameter and pitch.
pub fn metric_rows() -> impl Iterator<Item = &'static ThreadRow> {
    TABLE.rows.values()
}

/// A tolerance class taken apart: the grade and position of the pitch diameter, then those of the crest.
struct Class {
    pitch_grade: u8,
    crest_grade: u8,
    position: char,
}

/// `6g`, or `5g6g` where pitch and crest differ in grade.
fn class_of(class: &str) -> Option<Class> {
    let mut letters = class.chars();
    let pitch_grade = letters.next()?.to_digit(10)?;
    let position = letters.next()?;
    let crest_grade = match letters.next() {
        None => pitch_grade,
        Some(digit) => {
            if letters.next() != Some(position) || letters.next().is_some() {
                return None;
            }
            digit.to_digit(10)?
        }
    };
    Some(Class { pitch_grade: u8::try_from(pitch_grade).ok()?, crest_grade: u8::try_from(crest_grade).ok()?, position })
}

fn unknown(class: &str) -> TableError {
    TableError::UnknownClass { table: NAME, class: class.to_owned() }
}

fn not_covered(class: &str, major: Length, pitch: Length) -> TableError {
    TableError::NotCovered {
        table: NAME,
        class: format!("{class} with pitch {} mm", number(pitch.to_mm(), 3)),
        size: major,
    }
}

/// A value of a row by grade, the first of which is `first` and which go up by `by`.
fn of_grade(values: &[Um], grade: u8, first: u8, by: u8) -> Um {
    let offset = grade.checked_sub(first)?;
    if offset % by == 0 { values.get(usize::from(offset / by)).copied().flatten() } else { None }
}

fn pitch_step(major: Length, pitch: Length) -> Option<&'static PitchStep> {
    let major = major.to_mm();
    TABLE.pitch.get(&key(pitch))?.iter().find(|s| s.over < major && major <= s.up_to + 1e-9)
}

pub(super) fn external_limits(major: Length, pitch: Length, class: &str) -> Result<ExternalLimits, TableError> {
    let parsed = class_of(class).filter(|c| "efgh".contains(c.position)).ok_or_else(|| unknown(class))?;
    let figures = || {
        let crest = TABLE.crest.get(&key(pitch))?;
        let deviations = TABLE.deviations.get(&key(pitch))?;
        let es = match parsed.position {
            'e' => deviations.e?,
            'f' => deviations.f?,
            'g' => deviations.g,
            _ => 0.0,
        };
        let td = of_grade(&crest.external, parsed.crest_grade, 4, 2)?;
        let td2 = of_grade(&pitch_step(major, pitch)?.external, parsed.pitch_grade, 3, 1)?;
        Some((Length::um(es), Length::um(td), Length::um(td2)))
    };
    let (es, td, td2) = figures().ok_or_else(|| not_covered(class, major, pitch))?;
    let pitch_max = major - pitch * PITCH_DROP + es;
    Ok(ExternalLimits {
        major: LimitPair { max: major + es, min: major + es - td },
        pitch_dia: LimitPair { max: pitch_max, min: pitch_max - td2 },
        minor_max: major - pitch * MINOR_DROP + es,
        minor_min: Some(pitch_max - td2 - pitch * ROUND_ROOT_DROP),
    })
}

pub(super) fn internal_limits(major: Length, pitch: Length, class: &str) -> Result<InternalLimits, TableError> {
    let parsed = class_of(class).filter(|c| "GH".contains(c.position)).ok_or_else(|| unknown(class))?;
    let figures = || {
        let crest = TABLE.crest.get(&key(pitch))?;
        let ei = match parsed.position {
            'G' => -TABLE.deviations.get(&key(pitch))?.g,
            _ => 0.0,
        };
        let td1 = of_grade(&crest.internal, parsed.crest_grade, 4, 1)?;
        let td2 = of_grade(&pitch_step(major, pitch)?.internal, parsed.pitch_grade, 4, 1)?;
        Some((Length::um(ei), Length::um(td1), Length::um(td2)))
    };
    let (ei, td1, td2) = figures().ok_or_else(|| not_covered(class, major, pitch))?;
    let minor_min = major - pitch * MINOR_DROP + ei;
    let pitch_min = major - pitch * PITCH_DROP + ei;
    Ok(InternalLimits {
        minor: LimitPair { max: minor_min + td1, min: minor_min },
        pitch_dia: LimitPair { max: pitch_min + td2, min: pitch_min },
    })
}

#[cfg(test)]
mod tests {
    use super::super::{Sixty, external_limits, internal_limits, internal_minor_limits};
    use super::*;

    fn close(a: Length, mm: f64) {
        assert!((a.to_mm() - mm).abs() < 0.0006, "{} against {mm}", a.to_mm());
    }

    #[test]
    fn pitches_and_basic_diameters() {
        assert_eq!(metric_coarse_pitch(Length::mm(4.0)), Some(Length::mm(0.7)));
        assert_eq!(metric_coarse_pitch(Length::mm(4.2)), None);
        let m8 = metric(Length::mm(8.0), Length::mm(1.25)).unwrap();
        assert_eq!(m8.designation, "M8 x 1.25");
        close(m8.minor_external, 6.466);
        assert!(metric(Length::mm(8.0), Length::mm(1.2)).is_none());
    }

    #[test]
    fn every_row_was_taken_in() {
        assert_eq!(TABLE.crest.len(), 24);
        assert_eq!(TABLE.pitch.values().map(Vec::len).sum::<usize>(), 38);
        assert_eq!(TABLE.deviations.len(), 24);
    }

    #[test]
    fn limits_of_common_classes() {
        let (d, p) = (Length::mm(6.0), Length::mm(1.0));
        let bolt = external_limits(Sixty::Metric, d, p, "6g").unwrap();
        close(bolt.major.max, 5.974);
        close(bolt.major.min, 5.794);
        close(bolt.pitch_dia.min, 5.212);
        let nut = internal_limits(Sixty::Metric, d, p, "6H").unwrap();
        close(nut.minor.max, 5.153);
        close(nut.pitch_dia.max, 5.5);
        assert!(external_limits(Sixty::Metric, d, p, "5g6g").unwrap().pitch_dia.min > bolt.pitch_dia.min);
        assert!(internal_minor_limits(Sixty::Metric, d, p, "6G").unwrap().min > nut.minor.min);
    }

    #[test]
    fn what_the_standard_does_not_give_is_refused() {
        let (d, p) = (Length::mm(6.0), Length::mm(1.0));
        for class in ["6z", "6H", "g6", "", "6g6h", "66", "6g6gg"] {
            assert!(
                matches!(external_limits(Sixty::Metric, d, p, class), Err(TableError::UnknownClass { .. })),
                "{class}"
            );
        }
        assert!(matches!(external_limits(Sixty::Metric, d, Length::mm(1.1), "6g"), Err(TableError::NotCovered { .. })));
        assert!(matches!(external_limits(Sixty::Metric, d, p, "9g"), Err(TableError::NotCovered { .. })));
    }
}
