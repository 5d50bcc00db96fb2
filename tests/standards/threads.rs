//! Every thread of the tables: basic diameters and lead angles by formula, and the printed limits of their classes.

use serde::Deserialize;
use turnwright::formulas::drilling::oscillation_needed;
use turnwright::formulas::threads::{lead_angle, sixty_profile};
use turnwright::quantity::{Feed, Length};
use turnwright::tables::threads::{self, LimitPair, Sixty};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Printed<R> {
    source: String,
    rows: Vec<R>,
}

/// Size, threads an inch, allowance, major diameter, pitch diameter and minor diameter as the data names them.
type UnifiedBolt = (String, f64, f64, f64, f64, f64, f64, f64, bool);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    metric_6g: Printed<[f64; 8]>,
    metric_6h: Printed<[f64; 8]>,
    #[serde(rename = "metric_6H")]
    metric_nut: Printed<[f64; 6]>,
    #[serde(rename = "unified_2A")]
    unified_2a: Printed<UnifiedBolt>,
    #[serde(rename = "unified_2B")]
    unified_2b: Printed<(String, f64, f64, f64, f64, f64)>,
    unified_lead: Printed<(String, f64, f64)>,
    #[serde(rename = "acme_2G")]
    acme_2g: Printed<(String, f64, f64, f64, f64, f64, f64)>,
    acme_lead: Printed<(String, f64)>,
    trapezoidal: Printed<[f64; 6]>,
    bone: Printed<[f64; 5]>,
    oscillation: Printed<(f64, Option<f64>, Option<f64>)>,
}

fn file() -> File {
    serde_yaml::from_str(include_str!("threads.yaml")).unwrap()
}

/// Counts the rows that were checked, so that none is lost, and gathers what is off.
struct Sweep {
    faults: Vec<String>,
}

impl Sweep {
    fn new<R>(printed: &Printed<R>, rows: usize) -> Sweep {
        assert!(printed.source.len() > 10);
        assert_eq!(printed.rows.len(), rows);
        Sweep { faults: Vec::new() }
    }

    fn near(&mut self, what: impl std::fmt::Display, got: f64, printed: f64, width: f64) {
        if got.is_nan() || (got - printed).abs() > width {
            self.faults.push(format!("{what}: {got} against {printed}"));
        }
    }

    fn done(self) {
        assert!(self.faults.is_empty(), "{}", self.faults.join("\n"));
    }
}

/// A value and the same printed to a thousandth of a millimetre, either way at the half: some tables cut, some round.
const PRINTED_MM: f64 = 0.001_05;
/// To a ten-thousandth of an inch.
const PRINTED_IN: f64 = 0.000_105;

/// ISO 724: every size and pitch of the series, at the rounding of the table.
#[test]
fn every_metric_basic_diameter() {
    let mut sweep = Sweep { faults: Vec::new() };
    let mut rows = 0;
    for row in threads::metric_rows() {
        rows += 1;
        let p = sixty_profile(row.major, row.pitch).unwrap();
        let d = &row.designation;
        sweep.near(d, p.pitch_dia.to_mm(), row.pitch_dia.to_mm(), 0.000_51);
        sweep.near(d, p.minor_internal.to_mm(), row.minor_internal.to_mm(), 0.000_51);
        sweep.near(d, p.minor_external_d3.to_mm(), row.minor_external.to_mm(), 0.000_51);
    }
    sweep.done();
    let sizes = threads::metric_sizes();
    assert_eq!(rows, sizes.iter().map(|s| 1 + s.fine.len()).sum::<usize>());
    assert_eq!(sizes.iter().filter(|s| s.selected.is_some()).count(), 14, "ISO 262");
    for s in sizes {
        assert_eq!(threads::metric_coarse_pitch(Length::mm(s.major)), Some(Length::mm(s.coarse)));
        assert!(threads::metric(Length::mm(s.major), Length::mm(s.coarse)).is_some(), "M{}", s.major);
        assert!((1..=3).contains(&s.choice) && s.fine.iter().all(|f| *f < s.coarse));
        assert!(s.selected.is_none_or(|p| s.fine.contains(&p)), "M{}", s.major);
        assert!(s.fine.iter().all(|f| threads::metric(Length::mm(s.major), Length::mm(*f)).is_some()), "M{}", s.major);
    }
}

#[test]
fn metric_limits_of_6g_and_6h() {
    let file = file();
    for (printed, class, rows) in [(&file.metric_6g, "6g", 25), (&file.metric_6h, "6h", 7)] {
        let mut sweep = Sweep::new(printed, rows);
        for &[d, p, major_max, major_min, pitch_max, pitch_min, minor_max, minor_min] in &printed.rows {
            let l = threads::external_limits(Sixty::Metric, Length::mm(d), Length::mm(p), class).unwrap();
            let got = [l.major.max, l.major.min, l.pitch_dia.max, l.pitch_dia.min, l.minor_max, l.minor_min.unwrap()];
            for (got, want) in got.into_iter().zip([major_max, major_min, pitch_max, pitch_min, minor_max, minor_min]) {
                sweep.near(format!("M{d} x {p} {class}"), got.to_mm(), want, PRINTED_MM);
            }
        }
        sweep.done();
    }
}

#[test]
fn metric_limits_of_6h_nuts() {
    let file = file();
    let mut sweep = Sweep::new(&file.metric_nut, 25);
    for &[d, p, minor_min, minor_max, pitch_min, pitch_max] in &file.metric_nut.rows {
        let l = threads::internal_limits(Sixty::Metric, Length::mm(d), Length::mm(p), "6H").unwrap();
        let got = [l.minor.min, l.minor.max, l.pitch_dia.min, l.pitch_dia.max];
        for (got, want) in got.into_iter().zip([minor_min, minor_max, pitch_min, pitch_max]) {
            sweep.near(format!("M{d} x {p} 6H"), got.to_mm(), want, PRINTED_MM);
        }
    }
    sweep.done();
}

/// ASME B1.1: all rows at their own rounding.
#[test]
fn every_unified_basic_diameter() {
    let mut sweep = Sweep { faults: Vec::new() };
    let (rows, source) = threads::unified_rows();
    assert!(source.contains("0.6763"), "the corrected rows are named");
    let mut count = 0;
    for row in rows {
        count += 1;
        let t = &row.thread;
        let p = sixty_profile(t.major, t.pitch).unwrap();
        let d = &t.designation;
        sweep.near(d, p.pitch_dia.to_inch(), t.pitch_dia.to_inch(), 0.000_051);
        sweep.near(d, p.minor_internal.to_inch(), t.minor_internal.to_inch(), 0.000_051);
        // The handbook rounds the bolt's minor diameter in steps: the last digit may be one off.
        sweep.near(d, p.minor_external_unr.to_inch(), t.minor_external.to_inch(), PRINTED_IN);
    }
    assert_eq!(count, 71);
    sweep.done();
}

#[test]
fn unified_limits_of_2a() {
    let file = file();
    let mut sweep = Sweep::new(&file.unified_2a, 25);
    for (size, tpi, allowance, major_max, major_min, pitch_max, pitch_min, minor_max, _) in &file.unified_2a.rows {
        let major = threads::unified_major(size, *tpi).unwrap();
        let l = threads::external_limits(Sixty::Unified, major, Length::inch(1.0 / tpi), "2A").unwrap();
        let got = [major - l.major.max, l.major.max, l.major.min, l.pitch_dia.max, l.pitch_dia.min];
        for (got, want) in got.into_iter().zip([*allowance, *major_max, *major_min, *pitch_max, *pitch_min]) {
            sweep.near(format!("{size}-{tpi} 2A"), got.to_inch(), want, PRINTED_IN);
        }
        sweep.near(format!("{size}-{tpi} 2A minor"), l.minor_max.to_inch(), *minor_max, 2.0 * PRINTED_IN);
    }
    sweep.done();
}

#[test]
fn unified_limits_of_2b() {
    let file = file();
    let mut sweep = Sweep::new(&file.unified_2b, 11);
    for (size, tpi, minor_min, minor_max, pitch_min, pitch_max) in &file.unified_2b.rows {
        let major = threads::unified_major(size, *tpi).unwrap();
        let l = threads::internal_limits(Sixty::Unified, major, Length::inch(1.0 / tpi), "2B").unwrap();
        // Minor diameters are printed to a thousandth.
        for (got, want) in [(l.minor.min, minor_min), (l.minor.max, minor_max)] {
            sweep.near(format!("{size}-{tpi} 2B"), got.to_inch(), *want, 0.000_61);
        }
        for (got, want) in [(l.pitch_dia.min, pitch_min), (l.pitch_dia.max, pitch_max)] {
            sweep.near(format!("{size}-{tpi} 2B"), got.to_inch(), *want, PRINTED_IN);
        }
    }
    sweep.done();
}

/// Printed lead angles are in whole minutes of arc.
#[test]
fn printed_lead_angles() {
    let file = file();
    let mut sweep = Sweep::new(&file.unified_lead, file.unified_lead.rows.len());
    assert!(file.unified_lead.rows.len() >= 40);
    for (size, tpi, minutes) in &file.unified_lead.rows {
        let row = &threads::unified(size, *tpi).unwrap().thread;
        let angle = lead_angle(row.pitch, row.pitch_dia).unwrap();
        sweep.near(format!("{size}-{tpi}"), angle.to_deg() * 60.0, *minutes, 0.8);
    }
    for (size, minutes) in &file.acme_lead.rows {
        let row = threads::acme(size).unwrap();
        sweep.near(size, lead_angle(row.pitch, row.pitch_dia).unwrap().to_deg() * 60.0, *minutes, 0.8);
    }
    for &[major, core, pitch, starts, degrees] in &file.bone.rows {
        let angle = lead_angle(Length::mm(pitch * starts), Length::mm((major + core) / 2.0)).unwrap();
        sweep.near(format!("{major} x {pitch}"), angle.to_deg(), degrees, 0.006);
    }
    sweep.done();
}

#[test]
fn acme_limits_of_2g() {
    let file = file();
    let mut sweep = Sweep::new(&file.acme_2g, 6);
    for (size, major_max, major_min, pitch_max, pitch_min, minor_max, minor_min) in &file.acme_2g.rows {
        let l = threads::acme_limits_2g(threads::acme(size).unwrap());
        let pair = |p: LimitPair| [p.max, p.min];
        let got = [pair(l.major), pair(l.pitch_dia), pair(l.minor)].concat();
        for (got, want) in got.into_iter().zip([major_max, major_min, pitch_max, pitch_min, minor_max, minor_min]) {
            sweep.near(size, got.to_inch(), *want, 0.000_21);
        }
    }
    sweep.done();
}

#[test]
fn trapezoidal_pipe_and_npt_sizes() {
    let file = file();
    let mut sweep = Sweep::new(&file.trapezoidal, file.trapezoidal.rows.len());
    for &[d, p, pitch_dia, major_internal, minor_external, minor_internal] in &file.trapezoidal.rows {
        let row = threads::trapezoidal(Length::mm(d), Length::mm(p)).unwrap();
        let got = [row.pitch_dia, row.major_internal, row.minor_external, row.minor_internal];
        for (got, want) in got.into_iter().zip([pitch_dia, major_internal, minor_external, minor_internal]) {
            sweep.near(&row.designation, got.to_mm(), want, 1e-9);
        }
    }
    // ISO 228-1: depth 0.640327 P, diameters printed to a thousandth from a rounded depth.
    for row in threads::pipe_rows() {
        let depth = 0.640_327 * row.pitch.to_mm();
        sweep.near(&row.designation, row.major.to_mm() - depth, row.pitch_dia.to_mm(), 0.0012);
        sweep.near(&row.designation, row.major.to_mm() - 2.0 * depth, row.minor.to_mm(), 0.0023);
    }
    // ASME B1.20.1: E0 = D - (0.05 D + 1.1) P, L2 = (0.80 D + 6.8) P.
    for row in threads::npt_rows() {
        let (d, p) = (row.outside.to_inch(), row.pitch.to_inch());
        sweep.near(&row.designation, d - (0.05 * d + 1.1) * p, row.pitch_dia_small_end.to_inch(), 0.000_011);
        sweep.near(&row.designation, (0.8 * d + 6.8) * p, row.effective.to_inch(), PRINTED_IN);
    }
    sweep.done();
}

/// The least stroke of an oscillation over the feed, for one and two edges; ratios at which the sine falls below 0.3 are
/// refused.
#[test]
fn strokes_that_break_chips() {
    let file = file();
    let mut sweep = Sweep::new(&file.oscillation, 11);
    for (ratio, one, two) in &file.oscillation.rows {
        for (edges, printed) in [(1, one), (2, two)] {
            let got = oscillation_needed(Feed::mm_per_rev(1.0), edges, *ratio).ok().map(Length::to_mm);
            match (got, printed) {
                (Some(got), Some(want)) => sweep.near(format!("{ratio} x {edges}"), got, *want, 6e-4),
                (None, None) => {}
                _ => sweep.faults.push(format!("{ratio} x {edges}: {got:?} against {printed:?}")),
            }
        }
    }
    sweep.done();
}
