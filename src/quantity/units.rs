//! The units of the language: one list, the only place with conversion factors.

use super::measure::{Currency, Dimension, Measure};

/// One unit: how it is written, its dimension, and the exact factor into the unit that the dimension is kept in.
#[derive(Clone, Copy, Debug)]
pub struct Unit {
    pub symbol: &'static str,
    /// Other spellings that are read as this unit.
    pub aliases: &'static [&'static str],
    pub dimension: Dimension,
    /// The size of one unit in the unit that the dimension is kept in (mm, s, deg, rpm, m/min, kW, N, N.m, bar, ...).
    pub factor: f64,
    /// Where the factor comes from.
    pub source: &'static str,
}

const SI: &str = "SI Brochure, 9th edition";
const INCH: &str = "international inch of 1959, 25.4 mm exactly";
const POUND: &str = "international pound of 1959, 0.45359237 kg exactly, and standard gravity 9.80665 m/s2";
const TRADE: &str = "trade unit, common practice";

macro_rules! units {
    ($($symbol:literal $([$($alias:literal),*])? = $dimension:ident * $factor:expr, $source:expr;)*) => {
        /// Every unit of the language, those of one dimension together.
        pub static UNITS: &[Unit] = &[$(Unit {
            symbol: $symbol,
            aliases: &[$($($alias),*)?],
            dimension: Dimension::$dimension,
            factor: $factor,
            source: $source,
        }),*];
    };
}

units! {
    "mm" = LENGTH * 1.0, SI;
    "um" ["µm", "μm"] = LENGTH * 0.001, SI;
    "cm" = LENGTH * 10.0, SI;
    "m" = LENGTH * 1000.0, SI;
    "in" = LENGTH * 25.4, INCH;
    "thou" = LENGTH * 0.0254, INCH;
    "uin" ["µin", "μin"] = LENGTH * 0.000_025_4, INCH;
    "ft" = LENGTH * 304.8, INCH;
    "mm2" ["mm²"] = AREA * 1.0, SI;
    "in2" = AREA * 645.16, INCH;
    "deg" ["°"] = ANGLE * 1.0, SI;
    "rpm" ["rev/min"] = ROTATIONAL_SPEED * 1.0, TRADE;
    "m/min" = VELOCITY * 1.0, SI;
    "mm/min" = VELOCITY * 0.001, SI;
    "in/min" = VELOCITY * 0.0254, INCH;
    "ft/min" = VELOCITY * 0.3048, INCH;
    "mm/rev" = FEED * 1.0, SI;
    "in/rev" = FEED * 25.4, INCH;
    "mm/m" = SLOPE * 1.0, SI;
    "kW" = POWER * 1.0, SI;
    "W" = POWER * 0.001, SI;
    "hp" = POWER * 0.745_699_871_582_270_2, "mechanical horsepower, 550 ft lbf/s";
    "N" = FORCE * 1.0, SI;
    "kN" = FORCE * 1000.0, SI;
    "lbf" = FORCE * 4.448_221_615_260_5, POUND;
    "N.m" ["Nm"] = TORQUE * 1.0, SI;
    "lbf.ft" ["ft.lbf"] = TORQUE * 1.355_817_948_331_400_4, POUND;
    "bar" = PRESSURE * 1.0, SI;
    "MPa" = PRESSURE * 10.0, SI;
    "N/mm2" ["N/mm²"] = PRESSURE * 10.0, SI;
    "psi" = PRESSURE * 0.068_947_572_931_683_6, POUND;
    "l/min" ["L/min"] = FLOW * 1.0, SI;
    "Hz" = FREQUENCY * 1.0, SI;
    "m/s2" ["m/s²"] = ACCELERATION * 1.0, SI;
    "HRC" = HARDNESS_HRC * 1.0, "ISO 6508-1";
    "HB" ["HBW"] = HARDNESS_HB * 1.0, "ISO 6506-1";
    "s" = TIME * 1.0, SI;
    "min" = TIME * 60.0, SI;
    "h" = TIME * 3600.0, SI;
    "day" ["days"] = TIME * 86_400.0, SI;
    "week" ["weeks"] = TIME * 604_800.0, SI;
    "year" ["years"] = TIME * 31_557_600.0, "Julian year of 365.25 days, IAU";
    "h/year" = YEARLY_HOURS * 1.0, TRADE;
    "kg" = MASS * 1.0, SI;
    "lb" = MASS * 0.453_592_37, POUND;
    "%" = SHARE * 0.01, "one hundredth";
}

/// Slips that distance alone would not mend: what people write, and the unit they mean.
static SLIPS: &[(&str, &str)] = &[
    ("\"", "in"),
    ("inch", "in"),
    ("inches", "in"),
    ("mil", "thou"),
    ("mils", "thou"),
    ("micron", "um"),
    ("microns", "um"),
    ("uinch", "uin"),
    ("degree", "deg"),
    ("degrees", "deg"),
    ("rev", "rpm"),
    ("1/min", "rpm"),
    ("U/min", "rpm"),
    ("sfm", "ft/min"),
    ("ipm", "in/min"),
    ("ipr", "in/rev"),
    ("sec", "s"),
    ("secs", "s"),
    ("mins", "min"),
    ("minutes", "min"),
    ("hour", "h"),
    ("hours", "h"),
    ("hr", "h"),
    ("lpm", "l/min"),
    ("percent", "%"),
    ("lbs", "lb"),
    ("Pa", "MPa"),
];

/// ISO 4217 codes in use, so that a slip in one is told from a unit.
static CURRENCIES: &[&str] = &[
    "AED", "ARS", "AUD", "BAM", "BGN", "BRL", "CAD", "CHF", "CLP", "CNY", "COP", "CZK", "DKK", "EGP", "EUR", "GBP",
    "HKD", "HUF", "IDR", "ILS", "INR", "ISK", "JPY", "KRW", "KZT", "MAD", "MXN", "MYR", "NOK", "NZD", "PEN", "PHP",
    "PKR", "PLN", "RON", "RSD", "SAR", "SEK", "SGD", "THB", "TND", "TRY", "TWD", "UAH", "USD", "UYU", "VND", "ZAR",
];

/// What a unit word stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meaning {
    pub dimension: Dimension,
    pub factor: f64,
    pub currency: Option<Currency>,
}

impl Meaning {
    /// A number of this unit.
    pub fn of(self, number: f64) -> Measure {
        Measure { value: number * self.factor, dimension: self.dimension, currency: self.currency }
    }
}

/// The unit of a word, or nothing where the word is none. Money is a currency code, alone or a time (`EUR/h`) or a mass
/// (`EUR/kg`).
pub fn meaning(word: &str) -> Option<Meaning> {
    if let Some(unit) = UNITS.iter().find(|u| u.symbol == word || u.aliases.contains(&word)) {
        return Some(Meaning { dimension: unit.dimension, factor: unit.factor, currency: None });
    }
    let (code, per) = word.split_once('/').map_or((word, None), |(code, per)| (code, Some(per)));
    if !CURRENCIES.contains(&code) {
        return None;
    }
    let bytes = code.as_bytes();
    let currency = Some(Currency([bytes[0], bytes[1], bytes[2]]));
    let (dimension, factor) = match per {
        None => (Dimension::MONEY, 1.0),
        Some("h") => (Dimension::HOUR_RATE, 1.0),
        Some("min") => (Dimension::HOUR_RATE, 60.0),
        Some("kg") => (Dimension::MASS_PRICE, 1.0),
        Some("lb") => (Dimension::MASS_PRICE, 1.0 / 0.453_592_37),
        _ => return None,
    };
    Some(Meaning { dimension, factor, currency })
}

/// The unit that a wrong word was probably meant to be: the same letters in another case, a known slip, then the nearest
/// by edit distance. With a dimension wanted, only units of that dimension are offered.
pub fn suggestion(word: &str, wanted: Option<Dimension>) -> Option<&'static str> {
    let fits = |unit: &&Unit| wanted.is_none_or(|d| d == unit.dimension);
    let folded = word.to_lowercase();
    if let Some(unit) = UNITS.iter().filter(fits).find(|u| u.symbol.to_lowercase() == folded) {
        return Some(unit.symbol);
    }
    let slip = SLIPS.iter().find(|(slip, _)| slip.eq_ignore_ascii_case(word)).map(|(_, unit)| *unit);
    if let Some(unit) = slip.and_then(|symbol| UNITS.iter().filter(fits).find(|u| u.symbol == symbol)) {
        return Some(unit.symbol);
    }
    let near = UNITS.iter().filter(fits).filter(|u| u.symbol.len() > 1);
    near.map(|u| (edit_distance(word, u.symbol), u))
        .filter(|(d, _)| *d <= 1)
        .min_by_key(|(d, _)| *d)
        .map(|(_, u)| u.symbol)
}

/// The number of letters to insert, delete, replace or swap with their neighbour (optimal string alignment).
pub fn edit_distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().take(64).collect(), b.chars().take(64).collect());
    let mut rows = vec![vec![0; b.len() + 1]; a.len() + 1];
    for (i, row) in rows.iter_mut().enumerate() {
        row[0] = i;
    }
    for (j, cell) in rows[0].iter_mut().enumerate() {
        *cell = j;
    }
    for i in 1..=a.len() {
        for j in 1..=b.len() {
            let replace = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut best = replace.min(rows[i - 1][j] + 1).min(rows[i][j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = best;
        }
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_spelling_means_one_unit() {
        let mut seen = std::collections::BTreeSet::new();
        for unit in UNITS {
            assert!(seen.insert(unit.symbol), "{} twice", unit.symbol);
            for alias in unit.aliases {
                assert!(seen.insert(alias), "{alias} twice");
            }
            assert!(!unit.source.is_empty());
        }
        for (_, unit) in SLIPS {
            assert!(meaning(unit).is_some(), "{unit}");
        }
    }

    #[test]
    fn slips_are_mended_within_the_dimension() {
        assert_eq!(suggestion("MM", None), Some("mm"));
        assert_eq!(suggestion("inch", Some(Dimension::LENGTH)), Some("in"));
        assert_eq!(suggestion("inch", Some(Dimension::POWER)), None);
        assert_eq!(suggestion("kw", Some(Dimension::POWER)), Some("kW"));
    }
}
