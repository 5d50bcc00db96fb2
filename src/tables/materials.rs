//! Workpiece materials.

use super::read;
use crate::quantity::units::edit_distance;
use crate::quantity::{MassPrice, Velocity};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, LazyLock};

/// A figure with the range that its sources give.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band<T> {
    pub low: T,
    pub typical: T,
    pub high: T,
}

/// What a material can do to people or to the cut. The keys are those of the cautions table where one belongs to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
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

impl Hazard {
    /// Its key in the table of cautions.
    pub fn key(self) -> &'static str {
        match self {
            Hazard::TitaniumChips => "titanium-chips",
            Hazard::MagnesiumChips => "magnesium-chips",
            Hazard::AluminiumDust => "aluminium-dust",
            Hazard::Beryllium => "beryllium",
            Hazard::Lead => "lead",
            Hazard::CobaltChromium => "cobalt-chromium",
            Hazard::LongChips => "long-chips",
            Hazard::PlasticFire => "plastic-fire",
            Hazard::WorkHardening => "work-hardening",
        }
    }
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

impl Material {
    /// Whether the sources of its cutting force disagree by so much (a quarter) that a reader must know which one decides.
    pub fn force_is_disputed(&self) -> bool {
        self.kc11_n_mm2.high > self.kc11_n_mm2.low * 1.25
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    name: String,
    aliases: Vec<String>,
    family: String,
    iso_513: char,
    density: f64,
    modulus: f64,
    kc11: [f64; 3],
    mc: f64,
    turning: [f64; 3],
    drilling: [f64; 3],
    hazards: BTreeSet<Hazard>,
    price: f64,
    source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    materials: Vec<Row>,
}

struct Table {
    all: Vec<Arc<Material>>,
    /// Keys, names and aliases in lower case.
    by_word: BTreeMap<String, usize>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = read("materials", include_str!("materials.yaml"));
    let all: Vec<Arc<Material>> = file.materials.into_iter().map(|row| Arc::new(row.material())).collect();
    let mut by_word = BTreeMap::new();
    for (i, m) in all.iter().enumerate() {
        for word in m.aliases.iter().chain([&m.key]) {
            by_word.insert(fold(word), i);
        }
        by_word.entry(fold(&m.name)).or_insert(i);
    }
    Table { all, by_word }
});

impl Row {
    fn material(self) -> Material {
        let band = |[low, typical, high]: [f64; 3]| Band { low, typical, high };
        let speed = |[low, typical, high]: [f64; 3]| Band {
            low: Velocity::m_per_min(low),
            typical: Velocity::m_per_min(typical),
            high: Velocity::m_per_min(high),
        };
        Material {
            key: self.key,
            name: self.name,
            aliases: self.aliases,
            family: self.family,
            iso_513: self.iso_513,
            density_kg_m3: self.density,
            modulus_gpa: self.modulus,
            kc11_n_mm2: band(self.kc11),
            mc: self.mc,
            turning_speed: speed(self.turning),
            drilling_speed: speed(self.drilling),
            hazards: self.hazards,
            bar_price: MassPrice::per_kg(self.price),
            source: self.source,
        }
    }
}

/// Drawings part the words of a designation by spaces or hyphens, as it pleases them.
fn fold(word: &str) -> String {
    word.trim().to_lowercase().replace([' ', '_'], "-")
}

/// Whether two spellings are one word of a drawing.
pub fn same_word(a: &str, b: &str) -> bool {
    fold(a) == fold(b)
}

/// The material of a key, name, standard number or other spelling, in any case: `1.4305`, `303` and `X8CrNiS18-9` are
/// one.
pub fn find(key_or_alias: &str) -> Option<Arc<Material>> {
    TABLE.by_word.get(&fold(key_or_alias)).map(|&i| Arc::clone(&TABLE.all[i]))
}

/// All materials, in the order of the table: steels, stainless, titanium, cobalt and nickel, aluminium, copper, others.
pub fn all() -> &'static [Arc<Material>] {
    &TABLE.all
}

/// The spelling that a word without a material was probably meant to be, where one is near: at most a third of its
/// letters wrong.
pub fn nearest(word: &str) -> Option<&'static str> {
    let wanted = fold(word);
    let (distance, known) = TABLE.by_word.keys().map(|k| (edit_distance(&wanted, k), k)).min()?;
    (distance <= wanted.chars().count() / 3).then_some(known.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::cautions;

    #[test]
    fn every_spelling_finds_its_material() {
        for word in ["1.4305", "303", "x8crnis18-9", "X8CrNiS18-9"] {
            assert_eq!(find(word).unwrap().key, "303");
        }
        assert_eq!(find("al-6061-t6").unwrap().key, "6061");
        assert_eq!(find("42CrMo4").unwrap().key, "42crmo4");
        assert_eq!(find("Ti-6Al-4V ELI").unwrap().key, "ti-6al-4v-eli");
        assert!(find("unobtainium").is_none());
        assert!(all().len() >= 30);
    }

    #[test]
    fn no_spelling_means_two_materials() {
        let mut seen = BTreeMap::new();
        for m in all() {
            for word in m.aliases.iter().chain([&m.key]) {
                let before = seen.insert(fold(word), &m.key);
                assert!(before.is_none_or(|k| *k == m.key), "{word} is {before:?} and {}", m.key);
            }
        }
    }

    #[test]
    fn bands_are_ordered_and_sourced() {
        for m in all() {
            let kc = m.kc11_n_mm2;
            assert!(kc.low <= kc.typical && kc.typical <= kc.high, "{}", m.key);
            assert!(m.turning_speed.low <= m.turning_speed.typical && m.turning_speed.typical <= m.turning_speed.high);
            assert!(m.source.contains("read") || m.source.contains("memory"), "{}", m.key);
            assert!("PMKNSH".contains(m.iso_513));
            for h in &m.hazards {
                assert!(cautions::get(h.key()).is_some(), "{h:?}");
            }
        }
    }

    #[test]
    fn a_slip_is_mended() {
        assert_eq!(nearest("42crmo5"), Some("42crmo4"));
        assert_eq!(nearest("ti-6al4v"), Some("ti-6al-4v"));
        assert_eq!(nearest("unobtainium"), None);
    }
}
