//! Writing factors into a shop file: only their block is touched, so that every other key and comment stays as it is.

use super::calibration::{LEAST, MOST};
use super::{in_words, read_shop};
use crate::model::calibration::{Calibration, Factor};
use crate::model::figure::Place;
use crate::model::shop::Shop;
use crate::quantity::print::number;
use std::collections::BTreeMap;

const HEAD: &str =
    "calibration:                    # factors from the shop's own records, written by `calibrate --write`";

/// Factors of one kind by the key that they stand under.
type Group<'a> = (&'a str, &'a BTreeMap<String, Factor>);

/// Why a shop file is left as it is.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WriteError {
    #[error("the shop file has faults; `check` tells them")]
    Faulty,
    #[error(
        "line {0} of the shop file is a comment within `calibration`, which would be lost; move it above the block"
    )]
    Comment(usize),
    #[error(
        "the factor of {0} in the shop file would be lost, since no record here speaks of it; add its records, or take its line out of the shop file first"
    )]
    Lost(String),
    #[error("the factor of {0} is {1}, beyond what a shop file takes (0.05 to 20); look at the units of its records")]
    Absurd(String, String),
    #[error("the block cannot be put into the shop file without changing other keys; add it by hand")]
    Entangled,
}

/// The factors as the block of a shop file, with a line end.
pub fn block(c: &Calibration) -> String {
    let mut out = format!("{HEAD}\n");
    let sections: [(&str, Vec<Group>); 3] = [
        ("cycle", vec![("machines", &c.cycle), ("families", &c.families)]),
        ("stoppages", vec![("machines", &c.stoppages)]),
        ("setup", vec![("machines", &c.setup), ("elements", &c.elements)]),
    ];
    for (section, groups) in sections {
        if groups.iter().all(|(_, factors)| factors.is_empty()) {
            continue;
        }
        out.push_str(&format!("  {section}:\n"));
        for (group, factors) in groups.into_iter().filter(|(_, factors)| !factors.is_empty()) {
            out.push_str(&format!("    {group}:\n"));
            for (name, f) in factors {
                let name = if group == "elements" { in_words(name) } else { key(name) };
                let (factor, spread) = (number(f.factor, 4), number(f.spread.to_fraction() * 100.0, 2));
                let records = f.records;
                out.push_str(&format!(
                    "      {name}: {{ factor: {factor}, records: {records}, spread: {spread} % }}\n"
                ));
            }
        }
    }
    out
}

/// A key, in quotes where it could be taken for something else than words.
fn key(name: &str) -> String {
    let plain = name.starts_with(|c: char| c.is_ascii_alphabetic())
        && name.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_'))
        && !["true", "false", "null", "yes", "no", "on", "off", "y", "n"].contains(&name.to_lowercase().as_str());
    if plain { name.to_owned() } else { format!("'{name}'") }
}

/// The text of a shop file with these factors instead of those that stand there.
///
/// # Errors
/// [`WriteError`] where anything else of the file would change or be lost.
pub fn with_calibration(text: &str, calibration: &Calibration) -> Result<String, WriteError> {
    let before = read_shop(0, text).0.ok_or(WriteError::Faulty)?;
    for ((of, old), (_, new)) in before.calibration.groups().zip(calibration.groups()) {
        if let Some(name) = old.keys().find(|name| !new.contains_key(*name)) {
            return Err(WriteError::Lost(format!("{of} `{name}`")));
        }
    }
    for (of, factors) in calibration.groups() {
        if let Some((name, f)) = factors.iter().find(|(_, f)| !(LEAST..=MOST).contains(&f.factor)) {
            return Err(WriteError::Absurd(format!("{of} `{name}`"), number(f.factor, 4)));
        }
    }
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let written = block(calibration).replace('\n', end);
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let first = lines.iter().position(|l| l.starts_with("calibration:"));
    let mut out = String::with_capacity(text.len() + written.len());
    match first {
        Some(first) => {
            let inside = |l: &str| l.starts_with([' ', '\t']) && !l.trim().is_empty();
            let rest = &lines[first + 1..];
            // Empty lines and comments at the margin belong to the block only where more of it follows them.
            let reach = rest.iter().take_while(|l| inside(l) || l.trim().is_empty() || l.starts_with('#')).count();
            let last = rest[..reach].iter().rposition(|l| inside(l)).map_or(first, |i| first + 1 + i);
            let own = |l: &str| l.trim_end() == HEAD;
            if let Some(i) = (first..=last).find(|i| lines[*i].contains('#') && !own(lines[*i])) {
                return Err(WriteError::Comment(i + 1));
            }
            out.extend(lines[..first].iter().copied());
            out.push_str(&written);
            out.extend(lines[last + 1..].iter().copied());
        }
        None => {
            out.push_str(text);
            if !text.is_empty() && !text.ends_with('\n') {
                out.push_str(end);
            }
            out.push_str(&written);
        }
    }
    // Read once more: the new factors, and nothing else new.
    let after = read_shop(0, &out).0.ok_or(WriteError::Entangled)?;
    let same = block(&after.calibration) == block(calibration) && without_places(after) == without_places(before);
    if same { Ok(out) } else { Err(WriteError::Entangled) }
}

/// A shop without its factors and without where its rates stand, which a longer block moves.
fn without_places(shop: Shop) -> Shop {
    let mut shop = Shop { calibration: Calibration::default(), ..shop };
    let all = shop.machines.values_mut().chain(shop.candidates.values_mut());
    for rate in all.filter_map(|m| m.hourly.as_mut()) {
        rate.place = Place { file: 0, start: 0, end: 0 };
    }
    shop
}
