//! Workpiece materials.

use crate::quantity::{MassPrice, Velocity};
use std::collections::BTreeSet;

/// A figure with the range that its sources give.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band<T> {
    pub low: T,
    pub typical: T,
    pub high: T,
}

/// What a material can do to people or to the cut. The keys are those of the cautions table where one belongs to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hazard {
    TitaniumChips,
    MagnesiumChips,
    AluminiumDust,
    Beryllium,
    Lead,
    CobaltChromium,
    LongChips,
    PlasticFire,
    WorkHardening,
}

/// A workpiece material, from the table or declared in a spec.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Its key in the table: `42crmo4`.
    pub key: String,
    /// As a drawing names it: `42CrMo4`.
    pub name: String,
    /// Standard numbers and other spellings, in lower case.
    pub aliases: Vec<String>,
    /// The family in words: `austenitic stainless`.
    pub family: String,
    /// ISO 513 letter: P, M, K, N, S or H.
    pub iso_513: char,
    pub density_kg_m3: f64,
    pub modulus_gpa: f64,
    /// Specific cutting force at b = h = 1 mm, N/mm2; feasibility uses the high end.
    pub kc11_n_mm2: Band<f64>,
    /// The exponent of Kienzle's law.
    pub mc: f64,
    /// Turning with coated carbide.
    pub turning_speed: Band<Velocity>,
    /// Drilling with solid carbide.
    pub drilling_speed: Band<Velocity>,
    pub hazards: BTreeSet<Hazard>,
    /// Per kilogram of drawn bar; an invented demo value unless a spec gives one.
    pub bar_price: MassPrice,
    /// One line for the reader: where the figures come from, and which are from memory.
    pub source: String,
}
