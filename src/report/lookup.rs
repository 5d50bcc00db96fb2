//! What a table says: threads, fits, materials, bar, with the source of every figure.

use super::text::{Style, table, wrapped};
use crate::formulas::threads as formula;
use crate::model::part::ThreadForm;
use crate::quantity::{Length, print};
use crate::tables::materials::{Band, Material};
use crate::tables::threads::{self, LimitPair, Sixty};
use crate::tables::{TableError, bars, cut_off, iso286, thresholds};
use comfy_table::Cell;
use schemars::JsonSchema;
use serde::Serialize;

/// One fact of a table.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Fact {
    pub name: String,
    pub text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    pub unit: &'static str,
}

/// The answer to a look-up.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Answer {
    pub schema: u32,
    pub title: String,
    pub facts: Vec<Fact>,
    pub sources: Vec<String>,
}

impl Answer {
    fn new(title: String) -> Answer {
        Answer { schema: super::SCHEMA, title, facts: Vec::new(), sources: Vec::new() }
    }

    fn fact(&mut self, name: &str, value: f64, places: usize, unit: &'static str) {
        let text = format!("{} {unit}", print::number(value, places));
        self.facts.push(Fact { name: name.to_owned(), text: text.trim_end().to_owned(), value: Some(value), unit });
    }

    fn words(&mut self, name: &str, text: impl Into<String>) {
        self.facts.push(Fact { name: name.to_owned(), text: text.into(), value: None, unit: "" });
    }

    fn mm(&mut self, name: &str, length: Length) {
        self.fact(name, length.to_mm(), 4, "mm");
    }

    fn limits(&mut self, name: &str, pair: LimitPair) {
        let text = format!("{} to {} mm", print::number(pair.min.to_mm(), 4), print::number(pair.max.to_mm(), 4));
        self.facts.push(Fact { name: name.to_owned(), text, value: None, unit: "mm" });
    }

    fn band(&mut self, name: &str, band: Band<f64>, unit: &'static str) {
        let number = |v: f64| print::number(v, 2);
        let text = format!("{} ({} to {}) {unit}", number(band.typical), number(band.low), number(band.high));
        self.facts.push(Fact { name: name.to_owned(), text, value: Some(band.typical), unit });
    }
}

/// The sizes that a designation stands for, as the language reads them.
#[derive(Clone, Debug)]
pub struct ThreadAsked<'a> {
    pub designation: &'a str,
    pub form: &'a ThreadForm,
    pub class: Option<&'a str>,
    pub major: Length,
    pub minor_external: Length,
    pub minor_internal: Length,
    pub pitch: Length,
    pub provisional: bool,
}

/// A thread: basic sizes, lead angle, and the limits of its usual classes or of the one asked for.
///
/// # Errors
/// [`TableError`] where the class asked for has no limits.
pub fn thread(t: &ThreadAsked) -> Result<Answer, TableError> {
    let mut a = Answer::new(t.designation.to_owned());
    a.mm("major diameter", t.major);
    a.mm("pitch", t.pitch);
    if matches!(
        t.form,
        ThreadForm::Unified(_)
            | ThreadForm::UnifiedJ(_)
            | ThreadForm::Npt
            | ThreadForm::PipeParallel
            | ThreadForm::PipeTaper
            | ThreadForm::Acme
    ) {
        a.fact("threads per inch", 25.4 / t.pitch.to_mm(), 2, "");
    }
    a.mm("minor diameter, external", t.minor_external);
    a.mm("minor diameter, internal", t.minor_internal);
    if let Ok(angle) = formula::lead_angle(t.pitch, (t.major + t.minor_external) / 2.0) {
        a.fact("lead angle at the mean diameter, one start", angle.to_deg(), 2, "deg");
    }
    if t.provisional {
        a.words("caution", "provisional row: check it against the standard before use");
    }
    let series = match t.form {
        ThreadForm::Metric => Some((Sixty::Metric, ["6g", "6H"])),
        ThreadForm::Unified(_) => Some((Sixty::Unified, ["2A", "2B"])),
        _ => None,
    };
    if let Some((series, usual)) = series {
        match t.class {
            Some(class) => limits(&mut a, series, t, class)?,
            // A size outside the standard's diameters and pitches has basic sizes and no limits.
            None => {
                for class in usual {
                    if let Err(e) = limits(&mut a, series, t, class) {
                        a.words(&format!("limits {class}"), e.to_string());
                    }
                }
            }
        }
    }
    a.sources = thread_sources(t);
    Ok(a)
}

fn limits(a: &mut Answer, series: Sixty, t: &ThreadAsked, class: &str) -> Result<(), TableError> {
    if class.ends_with(['H', 'G', 'B']) {
        let l = threads::internal_limits(series, t.major, t.pitch, class)?;
        a.limits(&format!("minor diameter {class} (tap drill)"), l.minor);
        a.limits(&format!("pitch diameter {class}"), l.pitch_dia);
    } else {
        let l = threads::external_limits(series, t.major, t.pitch, class)?;
        a.limits(&format!("major diameter {class} (blank)"), l.major);
        a.limits(&format!("pitch diameter {class}"), l.pitch_dia);
    }
    Ok(())
}

fn thread_sources(t: &ThreadAsked) -> Vec<String> {
    let size = t.designation.split(' ').next().unwrap_or_default();
    let row = match t.form {
        ThreadForm::Metric => threads::metric(t.major, t.pitch).map(|r| r.source),
        ThreadForm::Unified(_) | ThreadForm::UnifiedJ(_) => {
            let size = size.rsplit_once('-').map_or(size, |(s, _)| s);
            threads::unified(size, 25.4 / t.pitch.to_mm()).map(|r| r.thread.source)
        }
        ThreadForm::Trapezoidal => threads::trapezoidal(t.major, t.pitch).map(|r| r.source),
        ThreadForm::BoneShallow => threads::bone("HA", t.major).map(|r| r.source),
        ThreadForm::BoneDeep => threads::bone("HB", t.major).map(|r| r.source),
        ThreadForm::PipeParallel => threads::pipe_parallel(t.designation.trim_start_matches("G ")).map(|r| r.source),
        ThreadForm::PipeTaper => {
            threads::pipe_taper(t.designation.trim_start_matches(['R', 'p', 'c', ' '])).map(|r| r.source)
        }
        ThreadForm::Npt => threads::npt(size.rsplit_once('-').map_or(size, |(s, _)| s)).map(|r| r.source),
        ThreadForm::Acme => threads::acme(size.rsplit_once('-').map_or(size, |(s, _)| s)).map(|r| r.source),
        ThreadForm::Profile => None,
    };
    let derived = "no row of a series: from the basic profile of ISO 68-1 (computed)".to_owned();
    vec![row.map_or(derived, str::to_owned)]
}

/// A size with a tolerance class: deviations, limits, grade.
///
/// # Errors
/// [`TableError`] where the tables do not cover it.
pub fn fit(size: Length, class: &str) -> Result<Answer, TableError> {
    let (upper, lower) = iso286::limits(size, class)?;
    let mut a = Answer::new(format!("{} {class}", print::number(size.to_mm(), 4)));
    a.fact("upper deviation", upper.to_um(), 1, "um");
    a.fact("lower deviation", lower.to_um(), 1, "um");
    a.mm("upper limit", size + upper);
    a.mm("lower limit", size + lower);
    a.fact("tolerance", (upper - lower).to_um(), 1, "um");
    a.sources = iso286::sources().into_iter().filter(|s| !s.is_empty()).collect();
    Ok(a)
}

/// A material.
pub fn material(m: &Material) -> Answer {
    let mut a = Answer::new(format!("{}, {}", m.name, m.family));
    a.words("key", m.key.clone());
    a.words("also called", m.aliases.join(", "));
    a.words("ISO 513 letter", m.iso_513.to_string());
    a.fact("density", m.density_kg_m3, 0, "kg/m3");
    a.fact("modulus of elasticity", m.modulus_gpa, 1, "GPa");
    a.band("specific cutting force kc1.1", m.kc11_n_mm2, "N/mm2");
    a.fact("exponent mc", m.mc, 3, "");
    let speed = |b: Band<crate::quantity::Velocity>| Band {
        low: b.low.to_m_per_min(),
        typical: b.typical.to_m_per_min(),
        high: b.high.to_m_per_min(),
    };
    a.band("turning, carbide", speed(m.turning_speed), "m/min");
    a.band("drilling, solid carbide", speed(m.drilling_speed), "m/min");
    a.fact("straightness of bar", bars::straightness(m).to_mm_per_m(), 2, "mm/m");
    a.fact("bar price (invented demo value)", m.bar_price.to_per_kg(), 2, "/kg");
    let hazards: Vec<&str> = m.hazards.iter().map(|h| h.key()).collect();
    a.words("hazards", if hazards.is_empty() { "none beyond hot sharp chips".to_owned() } else { hazards.join(", ") });
    a.words("decisions use", "the high end of the cutting force");
    a.sources = vec![m.source.clone()];
    a
}

/// Bar for a diameter: the stocked sizes around it, what a grade leaves, the cut-off blade.
///
/// # Errors
/// [`TableError`] where a grade has no tolerance at this size.
pub fn bar(dia: Length) -> Result<Answer, TableError> {
    let mut a = Answer::new(format!("bar for {}", dia));
    let common = |b: &&bars::BarSize| b.stocked == bars::Stocked::Common;
    if let Some(below) = bars::metric().iter().filter(common).rfind(|b| b.dia < dia) {
        a.mm("next stocked size below", below.dia);
    }
    let above = bars::metric().iter().filter(common).find(|b| b.dia >= dia);
    if let Some(above) = above {
        a.mm("smallest stocked size that is not smaller", above.dia);
    } else {
        a.words("smallest stocked size that is not smaller", "none: larger than the table");
    }
    if let Some(seldom) = bars::metric().iter().find(|b| b.dia >= dia).filter(|s| above.is_none_or(|b| s.dia < b.dia)) {
        a.mm("seldom stocked, but between", seldom.dia);
    }
    if let Some(inch) = bars::inch().iter().find(|b| b.dia >= dia) {
        a.mm("smallest inch size that is not smaller", inch.dia);
    }
    let size = above.map_or(dia, |b| b.dia);
    for grade in [6_u8, 7, 8, 9, 10, 11] {
        let lowest = size - iso286::grade_tolerance(grade, size)?;
        let factor = print::number(bars::price_factor(grade), 2);
        let text = format!(
            "{} to {} mm, price factor {factor}",
            print::number(lowest.to_mm(), 3),
            print::number(size.to_mm(), 3)
        );
        a.words(&format!("{} h{grade}", print::number(size.to_mm(), 3)), text);
    }
    let blade = cut_off::width(size);
    a.mm("cut-off blade", blade);
    let reach = thresholds::all().iter().find(|t| t.name == "parting-reach");
    if let Some(reach) = reach {
        a.mm("deepest cut of that blade", blade * reach.value);
    }
    a.words(
        "bar lengths",
        bars::lengths().iter().map(|l| format!("{} mm", print::number(l.to_mm(), 1))).collect::<Vec<_>>().join(", "),
    );
    a.sources = bars::sources().into_iter().chain([cut_off::source()]).chain(reach.map(|t| t.source.clone())).collect();
    a.sources.dedup();
    Ok(a)
}

/// An answer as text.
pub fn text(answer: &Answer, style: Style) -> String {
    let mut t = table(style);
    for f in &answer.facts {
        t.add_row(vec![Cell::new(&f.name), Cell::new(&f.text)]);
    }
    let mut out = format!("{}\n\n{}\n\n", style.bold(&answer.title), t.trim_fmt());
    for source in &answer.sources {
        out.push_str(&style.dim(&wrapped(&format!("source: {source}"), style.width.into(), " ")));
        out.push('\n');
    }
    out
}
