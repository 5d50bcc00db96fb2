//! Does the machine hold the tolerance, with what the piece or the boring bar bends?

use super::prelude::*;
use super::support;
use crate::planning::deflection::{Capability as Held, SizedBy};
use crate::planning::operation::Work;
use crate::quantity::Length;
use crate::quantity::print::number;
use crate::tables::thresholds::Thresholds;

/// The capability of every toleranced diameter and bore.
#[derive(Clone, Copy, Debug)]
pub(super) struct Capability;

const FREE: &str = "Cp = (T - 2 x (f_max - f_min) - d) / s >= Cp_min";
const WITH_TAPER: &str = "Cp = (T - 2 x k_t x (f_max - f_min) - d) / s >= Cp_min";
const IN_STEP: &str = "Cp = (T - 2 x (f_max - f_min) - d) / sqrt(s^2 + s_x^2) >= Cp_min";
const IN_STEP_WITH_TAPER: &str = "Cp = (T - 2 x k_t x (f_max - f_min) - d) / sqrt(s^2 + s_x^2) >= Cp_min";
const BUSHING: &str = "Cp = (T - d) / sqrt(s^2 + (k x t)^2) >= Cp_min";
const BY_CLASS: &str = "Cp = (T - d) / (IT / Cp_0) >= Cp_min";

const DOC: Doc = Doc {
    question: "does the machine hold every diameter and bore, with what the piece or the boring bar yields to the cut?",
    what: "Cp = (tolerance - 2 x bend - drift) / spread: the bend is half of what the deflection changes by along a turned diameter (a taper in the program takes out the rest), or what a boring bar springs by as its edge wears; the spread that of the mode, with the bar's size step beside a bushing and with what the slide misses where an eccentric is turned in step with the spindle, or that of a drill or reamer by its IT grade. Held from 1.33 without a taper in the program, with a warning from 1.0; a Cpk that the drawing asks for is held with a tenth of the tolerance left for centring, refused below its figure. What is ground afterwards is turned with its stock to IT 10",
    formulas: &[FREE, WITH_TAPER, BUSHING, IN_STEP, IN_STEP_WITH_TAPER, BY_CLASS],
    why: "a deflection that is the same everywhere is taken out by an offset; one that changes along the segment makes it conical and eats the tolerance",
    source: "capability after ISO 22514-2, from memory; deflection by exact integration over the steps of the blank; force after Kienzle, cautious end or worn edge",
    trips: include_str!("examples/capability.trips.turn"),
    passes: include_str!("examples/capability.passes.turn"),
};

impl Rule for Capability {
    fn name(&self) -> &'static str {
        "capability"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        for c in &case.plan.capabilities {
            let feature = &case.task.view.part.features[c.feature];
            // A key characteristic is the grinder's to hold where it is ground.
            let limits = Limits::of(t, feature.cpk.filter(|_| c.for_grinding.is_none()));
            let (Some(cp), Some(as_bent), Some(spread)) = (c.cp, c.cp_as_bent, c.spread) else {
                let finding = not_stated(self.name(), Figure::Number(limits.easy), "the spread of this mode");
                let (formula, terms) = (formula(c, case, false), || reckoned(case, c, false, limits));
                out.push(finding.by(case, formula, terms).about(c.feature));
                continue;
            };
            let verdict = if as_bent >= limits.easy - 1e-9 {
                Verdict::Fits
            } else if cp >= limits.least - 1e-9 {
                Verdict::Warns
            } else {
                Verdict::Refused
            };
            // Refused is what a taper in the program does not save either; a warning of what it saves is about the rest.
            let refused = verdict == Verdict::Refused;
            let tapered = refused || verdict == Verdict::Warns && cp - as_bent >= 0.005;
            let (asked, offered) = if tapered { (limits.least, cp) } else { (limits.easy, as_bent) };
            let of = match c.for_grinding {
                Some(dia) => format!("`{}`, turned to {dia} and ground afterwards", feature.name),
                None => format!("`{}`", feature.name),
            };
            let finding = Finding::new(self.name(), verdict, Figure::Number(asked), Figure::Number(offered))
                .margin(Figure::Number(cp - limits.least))
                .limit(Figure::Number(limits.least))
                .by(case, formula(c, case, tapered), || reckoned(case, c, tapered, limits))
                .about(c.feature)
                .at([feature.place])
                .because(format!("{of}: {}", words(case, c, tapered, offered, spread)));
            out.push(match verdict {
                Verdict::Fits => finding,
                _ => finding.unless(remedy(case, c, limits, cp, spread)),
            });
        }
    }
}

/// The capability that is asked.
#[derive(Clone, Copy)]
struct Limits {
    /// Held without a second thought.
    easy: f64,
    /// Refused below it.
    least: f64,
    /// A Cpk of the drawing, which is a figure of the contract: nothing below it, and room for centring above it.
    of_drawing: bool,
}

impl Limits {
    fn of(t: &Thresholds, cpk: Option<f64>) -> Limits {
        match cpk {
            Some(cpk) => Limits { easy: cpk / (1.0 - t.centring.clamp(0.0, 0.5)), least: cpk, of_drawing: true },
            None => Limits { easy: t.cp_fits, least: t.cp_warns.min(t.cp_fits), of_drawing: false },
        }
    }
}

/// How the capability is reckoned.
fn formula(c: &Held, case: &Case, with_taper: bool) -> &'static str {
    match c.sized_by {
        SizedBy::Class { .. } => BY_CLASS,
        SizedBy::InStep if with_taper => IN_STEP_WITH_TAPER,
        SizedBy::InStep => IN_STEP,
        SizedBy::Turning if case.task.guided() => BUSHING,
        SizedBy::Turning if with_taper => WITH_TAPER,
        _ => FREE,
    }
}

fn reckoned(case: &Case, c: &Held, tapered: bool, limits: Limits) -> Vec<Term> {
    let feature = &case.task.view.part.features[c.feature];
    let (t, mode, blank) = (case.task.thresholds, case.task.mode, &case.plan.blank);
    let formula = formula(c, case, tapered);
    let mut terms = vec![
        match c.for_grinding {
            Some(_) => Term::table("T", "tolerance of turning for grinding", c.tolerance, "ISO 286 grades"),
            None => Term::part("T", "tolerance of the diameter", c.tolerance, feature.place),
        },
        Term::threshold("d", c.drift, "thermal-drift"),
    ];
    if [FREE, WITH_TAPER, IN_STEP, IN_STEP_WITH_TAPER].contains(&formula) {
        let (least, greatest, by) = match c.sized_by {
            SizedBy::Boring { .. } => (
                "spring of the boring bar with a sharp edge",
                "spring of the boring bar with a worn edge",
                "beam theory over the bar's reach, force after Kienzle",
            ),
            _ => (
                "least deflection along it",
                "greatest deflection along it",
                "beam theory over the steps that stand out, force after Kienzle",
            ),
        };
        terms.push(Term::plan("f_max", greatest, c.deflection.1, by));
        terms.push(Term::plan("f_min", least, c.deflection.0, by));
    }
    if [WITH_TAPER, IN_STEP_WITH_TAPER].contains(&formula) {
        terms.push(Term::threshold("k_t", t.taper_left, "taper-left"));
    }
    if formula == BY_CLASS {
        let width = c.spread.map(|s| s * t.cp_fits);
        terms.push(Term::table("IT", "width of the IT grade that the tool holds", width, "ISO 286 grades"));
        terms.push(Term::threshold("Cp_0", t.cp_fits, "cp-fits"));
    } else {
        let stated = mode.spread;
        terms.push(Term::machine("s", "spread of the mode", stated.map(|s| s.value), stated.map(|s| s.place)));
    }
    if c.sized_by == SizedBy::InStep {
        terms.push(Term::threshold("s_x", Length::um(t.in_step_spread_um), "in-step-spread"));
    }
    if formula == BUSHING {
        terms.push(Term::threshold("k", t.bar_step_share, "bar-step-share"));
        terms.push(Term::table("t", "width of the bar's IT grade", blank.size_tolerance, "ISO 286 grades"));
    }
    terms.push(match (limits.of_drawing, tapered) {
        (true, true) => Term::part("Cp_min", "asked of a key characteristic", limits.least, feature.place),
        (true, false) => {
            let meaning = "asked of a key characteristic, over what centring leaves of the tolerance";
            Term::part("Cp_min", meaning, limits.easy, feature.place)
        }
        (false, true) if limits.least < t.cp_fits => Term::threshold("Cp_min", limits.least, "cp-warns"),
        (false, _) => Term::threshold("Cp_min", t.cp_fits, "cp-fits"),
    });
    terms
}

/// The reckoning as a reader can follow it: `Cp 1.45 = (36 um tolerance - 2 x 10.5 um bend) / 10 um spread`.
fn words(case: &Case, c: &Held, tapered: bool, cp: f64, spread: Length) -> String {
    let bend = if tapered { c.bend_left } else { c.deflection.1 - c.deflection.0 };
    let bends = bend >= Length::um(0.05);
    let mut push = if bends { format!("; {}", bending(c)) } else { String::new() };
    if let Some(bent) = c.cp_as_bent.filter(|bent| bends && tapered && cp - bent >= 0.005) {
        push += &format!(", without it Cp is {bent:.2}");
    }
    if tapered && bend * 2.0 > c.tolerance {
        return format!("twice {} of bend are {}, its tolerance {}{push}", um(bend), um(bend * 2.0), um(c.tolerance));
    }
    let bent = if bends { format!(" - 2 x {} bend", um(bend)) } else { String::new() };
    let drift = if c.drift > Length::ZERO { format!(" - {} drift", um(c.drift)) } else { String::new() };
    let of = match (c.sized_by, case.task.mode.spread) {
        (SizedBy::Class { work, grade }, _) => {
            format!(" ({} holds IT {grade})", if work == Work::Ream { "a reamer" } else { "a drill" })
        }
        (SizedBy::InStep, Some(own)) => {
            let slide = Length::um(case.task.thresholds.in_step_spread_um);
            format!(" ({} of the mode, {} of the slide in step with the spindle)", um(own.value), um(slide))
        }
        (_, Some(own)) if c.bar_step > Length::ZERO => {
            format!(" ({} of the mode, {} of h{} bar)", um(own.value), um(c.bar_step), case.plan.blank.grade)
        }
        _ => String::new(),
    };
    format!("Cp {cp:.2} = ({} tolerance{bent}{drift}) / {} spread{of}{push}", um(c.tolerance), um(spread))
}

/// What bends, and under what.
fn bending(c: &Held) -> String {
    let change = um(c.deflection.1 - c.deflection.0);
    match c.sized_by {
        SizedBy::Boring { bar } => format!(
            "a bar of {bar} reaching {} springs by {change} more with a worn edge, at {} of push",
            c.overhang, c.force
        ),
        _ => format!(
            "{} push at {} overhang bends it by {change} more at one end than at the other, a taper in the \
             program leaves {}",
            c.force,
            c.overhang,
            um(c.bend_left)
        ),
    }
}

/// What would help, the nearest first. A tolerance is named only where a drawing could give it.
fn remedy(case: &Case, c: &Held, limits: Limits, cp: f64, spread: Length) -> String {
    let warns = cp >= limits.least;
    let bends = c.bend_left * 4.0 > spread;
    let mut ways: Vec<String> = Vec::new();
    match c.sized_by {
        SizedBy::Turning | SizedBy::InStep if bends => {
            if warns {
                ways.push("a taper in the program, proved on the first pieces".to_owned());
            }
            ways.extend(support::ways(case, case.task.view.dia_of(c.feature)));
            ways.push("a sharper nose and a spring pass".to_owned());
        }
        SizedBy::Boring { .. } if bends => ways.push("a stouter or carbide bar and a spring pass".to_owned()),
        SizedBy::Class { work: Work::Ream, .. } => ways.push("a boring bar where it reaches".to_owned()),
        SizedBy::Class { .. } => ways.push("a reamer or a boring bar".to_owned()),
        _ => {}
    }
    let wanted = if warns { limits.easy } else { limits.least };
    let bend = if warns { c.deflection.1 - c.deflection.0 } else { c.bend_left };
    let enough = spread * wanted + bend * 2.0 + c.drift;
    // Nobody opens the class of a thread for its blank, nor grinds it.
    let blank = matches!(&case.task.view.feature(c.feature).kind, Kind::Turn(t) if t.thread_blank);
    if enough <= c.tolerance * 2.0 && !blank {
        let before = if c.for_grinding.is_some() { " before grinding" } else { "" };
        ways.push(format!("a tolerance of {}{before}", round_up(enough)));
    }
    let over = (c.tolerance - bend * 2.0 - c.drift) / wanted;
    if over > Length::ZERO && !matches!(c.sized_by, SizedBy::Class { .. } | SizedBy::InStep) && !bends {
        ways.push(format!("a mode with a spread of {}", um(over)));
    }
    if (!warns || c.sized_by == SizedBy::InStep) && c.for_grinding.is_none() && !blank {
        let inside = matches!(case.task.view.feature(c.feature).kind, Kind::Bore(_));
        ways.push(if inside { "honing afterwards" } else { "grinding afterwards" }.to_owned());
    }
    ways.join(", or ")
}

/// In micrometres below a millimetre, to three figures, so that what is printed can be added up.
fn um(q: Length) -> String {
    match q.to_um().abs() {
        a if a < 10.0 => format!("{} um", number(q.to_um(), 2)),
        a if a < 1000.0 => format!("{} um", number(q.to_um(), 1)),
        _ => q.to_string(),
    }
}

/// Rounded up to a whole micrometre below a tenth, to a hundredth of a millimetre above.
fn round_up(q: Length) -> Length {
    let step = if q < Length::mm(0.1) { 0.001 } else { 0.01 };
    Length::mm(libm::ceil(q.to_mm() / step - 1e-9) * step)
}
