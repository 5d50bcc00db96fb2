//! Collets and guide bushings owned for a machine: `collets: { main: [8 mm, 12 .. 13 mm, hex 24 mm], bushing: [12 mm] }`.

use super::group::Group;
use super::tree::Node;
use super::values::{self, Words};
use super::{Diagnostic, Named, Place, Reader};
use crate::model::part::BarShape;
use crate::model::shop::{Holding, HoldingSize};
use crate::quantity::Length;
use std::collections::BTreeMap;

/// The keys of a list, each with what it holds.
const KEYS: [(&str, Holding); 3] = [("main", Holding::Main), ("sub", Holding::Sub), ("bushing", Holding::Bushing)];

impl Reader {
    /// The list of a machine; a kind that it leaves out is not in the answer.
    pub(super) fn holdings(&mut self, node: &Node, named: &mut Named) -> BTreeMap<Holding, Vec<HoldingSize>> {
        let mut found = BTreeMap::new();
        let Some(mut group) = Group::of(node, "collets", &mut self.out) else { return found };
        for (key, holding) in KEYS {
            let Some(list) = group.optional(key) else { continue };
            let mut sizes = Vec::new();
            for item in self.items(list, "main: [8 mm, 12 .. 13 mm, hex 24 mm]") {
                let Some(words) = self.words(item) else { continue };
                sizes.extend(self.keep(size(words)));
            }
            named.holdings.push((holding, list.named_at));
            found.insert(holding, sizes);
        }
        group.finish(&mut self.out);
        found
    }
}

/// One collet or bushing.
fn size(words: Words) -> Result<HoldingSize, Diagnostic> {
    let shapes = [("hex ", BarShape::Hex), ("square ", BarShape::Square), ("round ", BarShape::Round)];
    let (shape, rest) = shapes
        .iter()
        .find_map(|(word, shape)| words.text.strip_prefix(word).map(|rest| (*shape, rest.trim_start())))
        .unwrap_or((BarShape::Round, words.text));
    let start = words.place.end - u32::try_from(rest.len()).unwrap_or(0);
    let rest = Words { text: rest, place: Place { start, ..words.place } };
    let Some((from, to)) = rest.text.split_once("..") else {
        let size = length(rest)?;
        return Ok(HoldingSize { shape, low: size, high: size });
    };
    let high = Words { text: to.trim(), place: Place { start: rest.place.end - to.trim().len() as u32, ..rest.place } };
    let from = from.trim();
    // `12 .. 13 mm`: the unit stands once, behind the upper end.
    let unit: String = to.chars().filter(|c| c.is_alphabetic()).collect();
    let low = if from.ends_with(char::is_alphabetic) { from.to_owned() } else { format!("{from} {unit}") };
    let place = Place { end: rest.place.start + from.len() as u32, ..rest.place };
    let (low, high) = (length(Words { text: &low, place })?, length(high)?);
    if low > high {
        let message = format!("`{}` runs backwards: its first end is greater than its second", rest.text);
        return Err(Diagnostic::error("backward-range", rest.place, message).help("the smaller end stands first"));
    }
    Ok(HoldingSize { shape, low, high })
}

fn length(words: Words) -> Result<Length, Diagnostic> {
    let size: Length = values::quantity(words, "12 mm")?;
    values::within(words, size.to_mm(), 0.05, 500.0, "a size of 0.05 to 500 mm")?;
    Ok(size)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<HoldingSize, Diagnostic> {
        size(Words { text, place: Place { file: 0, start: 100, end: 100 + text.len() as u32 } })
    }

    #[test]
    fn a_size_a_range_and_a_shape_are_read() {
        let mm = Length::mm;
        assert_eq!(read("12 mm").unwrap(), HoldingSize::round(mm(12.0)));
        let range = HoldingSize { shape: BarShape::Round, low: mm(12.0), high: mm(13.0) };
        assert_eq!(read("12 .. 13 mm").unwrap(), range);
        assert_eq!(read("12 mm .. 13 mm").unwrap(), range);
        assert_eq!(read("round 12..13 mm").unwrap(), range);
        let hex = read("hex 7/8 in").unwrap();
        assert!(hex.shape == BarShape::Hex && (hex.low - mm(22.225)).abs() < Length::um(0.001));
    }

    #[test]
    fn a_slip_is_told_at_its_place() {
        let fault = read("13 .. 12 mm").unwrap_err();
        assert_eq!((fault.code, fault.place.start, fault.place.end), ("backward-range", 100, 111));
        let fault = read("hex 24 kg").unwrap_err();
        assert_eq!((fault.code, fault.place.start), ("wrong-dimension", 104));
        let fault = read("12").unwrap_err();
        assert_eq!(fault.code, "missing-unit");
        let fault = read("6 .. 0 mm").unwrap_err();
        assert_eq!((fault.code, fault.place.start), ("out-of-range", 105));
    }
}
