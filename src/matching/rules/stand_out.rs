//! Does the piece reach out far enough, and how often must the headstock grip again?

use super::prelude::*;
use crate::model::machine::ModeKind;
use crate::planning::deflection::{Capability, SizedBy};
use crate::planning::re_grip::{self, ReGrip};
use crate::planning::support;
use crate::quantity::Length;

/// Stroke in a guide bushing, stick-out of a collet, against the length of the piece with its cut-off.
#[derive(Clone, Copy, Debug)]
pub(super) struct StandOut;

const STICK_OUT: &str = "L + w + g <= S";
const STROKE: &str = "L + w + g <= H";

const DOC: Doc = Doc {
    question: "does one stroke, or the stick-out of the collet, reach the whole piece?",
    what: "length + cut-off width + gap to the nose, against the stroke (guided, with re-grips) or the stick-out (collet, supported)",
    formulas: &[STICK_OUT, STROKE],
    why: "beyond a stroke the headstock must open, go back and grip again: it costs seconds and leaves a witness on the surface; out of a collet nothing reaches further",
    source: "geometry; a witness below 20 um of tolerance is common practice, no source",
    trips: include_str!("examples/stand-out.trips.turn"),
    passes: include_str!("examples/stand-out.passes.turn"),
};

impl Rule for StandOut {
    fn name(&self) -> &'static str {
        "stand-out"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let reach = case.plan.blank.reach;
        if case.task.mode.kind == ModeKind::Guided {
            guided(self.name(), case, reach, out);
            return;
        }
        let stated = case.task.mode.stick_out;
        let terms =
            || reach_terms(case, Term::machine("S", "stick-out", stated.map(|s| s.value), stated.map(|s| s.place)));
        let Some(limit) = stated else {
            let finding = not_stated(self.name(), Figure::Length(reach), "the stick-out of this mode");
            out.push(finding.by(case, STICK_OUT, terms));
            return;
        };
        let fits = reach <= limit.value;
        let verdict = if fits { Verdict::Fits } else { Verdict::Refused };
        let finding = Finding::new(self.name(), verdict, Figure::Length(reach), Figure::Length(limit.value))
            .by(case, STICK_OUT, terms);
        out.extend(join(self.name(), case));
        let words = format!(
            "{} of piece, {} of cut-off and the gap to the nose stand out {reach} of {}",
            case.task.view.length, case.plan.blank.cut_off_width, limit.value
        );
        out.push(if fits {
            finding.because(words).at([limit.place])
        } else {
            finding
                .because(words)
                .unless(format!("a stick-out of {reach}, or a guide bushing"))
                .at([limit.place, case.task.view.part.length.place])
        });
    }
}

/// A surface that is turned in part before the sub-spindle supports the piece and in part after, so tight that the join shows.
fn join(rule: &'static str, case: &Case) -> Option<Finding> {
    let at = support::of(case.task)?.worked;
    let is_tight = |c: &&Capability| c.tolerance < Length::um(case.task.thresholds.re_grip_witness_um);
    let is_cut = |c: &&Capability| {
        let zone = case.task.zone_from_first(case.task.view.part.stretch(&case.task.view.feature(c.feature).kind));
        c.sized_by == SizedBy::Turning && zone.start < at - Length::mm(1.0) && zone.end > at + Length::mm(1.0)
    };
    let joined = case.plan.capabilities.iter().filter(is_tight).find(is_cut)?;
    let (asked, offered) = (Figure::Words("turned in one grip".into()), Figure::Words("in two".into()));
    Some(
        Finding::new(rule, Verdict::Warns, asked, offered)
            .about(joined.feature)
            .at([place(case, joined.feature)])
            .because(format!(
                "`{}` holds {} and has a join at {at} from the end: the sub-spindle grips what is turned before",
                name(case, joined.feature),
                joined.tolerance
            ))
            .unless("a centre in the free end, grinding afterwards, or a shoulder at the join"),
    )
}

fn guided(rule: &'static str, case: &Case, reach: Length, out: &mut Vec<Finding>) {
    let stated = case.task.mode.stroke;
    let terms = || {
        reach_terms(
            case,
            Term::machine("H", "stroke of the headstock", stated.map(|s| s.value), stated.map(|s| s.place)),
        )
    };
    let Some(stroke) = stated else {
        out.push(not_stated(rule, Figure::Length(reach), "the headstock stroke").by(case, STROKE, terms));
        return;
    };
    let re_grips = re_grip::find(case.task, &case.plan.blank);
    // How long a stretch must be fed in one grip: a surface so tight that a re-grip would leave a witness on it.
    let stretch = |c: &Capability| match &case.task.view.part.features[c.feature].kind {
        Kind::Turn(t) => Some(t.zone.length() + case.plan.blank.cut_off_width),
        _ => None,
    };
    let is_tight = |c: &&Capability| c.tolerance < Length::um(case.task.thresholds.re_grip_witness_um);
    let tight = case.plan.capabilities.iter().filter(is_tight);
    let longest = tight.clone().filter_map(stretch).max_by(Length::total_cmp);
    // Refused below it; where nothing is so tight a re-grip only costs time.
    let least = longest.map_or(reach, |l| l.min(reach));
    let margin = Figure::Length(stroke.value - least);
    if re_grips.is_empty() {
        out.push(
            Finding::new(rule, Verdict::Fits, Figure::Length(reach), Figure::Length(stroke.value))
                .margin(margin)
                .by(case, STROKE, terms)
                .because(format!("{reach} within one stroke of {}", stroke.value))
                .at([stroke.place]),
        );
        return;
    }
    let tight = tight
        .filter(|c| stretch(c).is_some_and(|l| l > stroke.value))
        .min_by(|a, b| a.tolerance.total_cmp(&b.tolerance));
    let finding = Finding::new(rule, Verdict::Warns, Figure::Length(reach), Figure::Length(stroke.value))
        .margin(margin)
        .by(case, STROKE, terms)
        .at([stroke.place, case.task.view.part.length.place]);
    out.push(match tight {
        Some(c) => Finding { verdict: Verdict::Refused, ..finding }
            .about(c.feature)
            .because(format!(
                "`{}` holds {} and is longer than one stroke of {}: a re-grip leaves a witness on it",
                name(case, c.feature),
                c.tolerance,
                stroke.value
            ))
            .unless(format!("a stroke of {least}")),
        None => {
            finding.because(re_grip_words(case, &re_grips, reach, stroke.value)).unless(format!("a stroke of {reach}"))
        }
    });
}

/// How often the headstock grips again, and whether a surface shows it.
fn re_grip_words(case: &Case, re_grips: &[ReGrip], reach: Length, stroke: Length) -> String {
    let (s, it) = if re_grips.len() == 1 { ("", "it costs time and falls") } else { ("s", "they cost time and fall") };
    let mut surfaces: Vec<FeatureId> = re_grips.iter().filter_map(|grip| grip.on).collect();
    surfaces.dedup();
    let marked = |f: &FeatureId| {
        let held = case.plan.capabilities.iter().find(|c| c.feature == *f).map(|c| c.tolerance);
        let held = held.map_or(String::new(), |t| format!(", whose {t} stand it"));
        format!("on `{}`: a witness on it{held}", name(case, *f))
    };
    let place = match surfaces.iter().map(marked).collect::<Vec<_>>() {
        none if none.is_empty() => "between surfaces".to_owned(),
        on => on.join(", and "),
    };
    format!("{reach} needs {} re-grip{s} with a stroke of {stroke}: {it} {place}", re_grips.len())
}

fn reach_terms(case: &Case, limit: Term) -> Vec<Term> {
    let gap = Length::mm(case.task.thresholds.nose_gap_mm);
    vec![
        Term::part("L", "length of the part", case.task.view.length, case.task.view.part.length.place),
        Term::table("w", "width of the cut-off blade", case.plan.blank.cut_off_width, "cut-off widths by bar"),
        Term::threshold("g", gap, "nose-gap"),
        limit,
    ]
}
