//! Sizes with their tolerance: written, by class, by limits, one-sided, for reference, or by the part's general tolerance.

use super::super::clauses::typed;
use super::super::diagnostic::Diagnostic;
use super::super::syntax::Kind;
use super::super::values::{self, Cursor, Scope};
use crate::model::figure::{Limits, Place, Size, Stated, ToleranceSource};
use crate::quantity::{Angle, Length, print};
use crate::tables::iso2768::GeneralClass;
use crate::tables::{iso286, iso2768};

/// The general tolerance of a part.
#[derive(Clone, Debug)]
pub(super) enum General {
    /// ISO 2768-1.
    Iso(GeneralClass),
    /// By the decimals written, as inch drawings do.
    Decimals { two: Option<Length>, three: Option<Length>, angle: Option<Angle> },
}

impl General {
    /// Its printed name, by decimals in the unit of the drawing.
    pub(super) fn name(&self, inches: bool) -> String {
        match self {
            General::Iso(class) => iso_name(*class).to_owned(),
            General::Decimals { two, three, angle } => {
                let length = |v: &Length| print::number(if inches { v.to_inch() } else { v.to_mm() }, 5);
                let two = two.as_ref().map(|v| format!("two-place ±{}", length(v)));
                let three = three.as_ref().map(|v| format!("three-place ±{}", length(v)));
                let angle = angle.map(|a| format!("angle ±{a}"));
                [two, three, angle].into_iter().flatten().collect::<Vec<_>>().join(", ")
            }
        }
    }

    /// The deviation of a size, to either side. Where decimals give none, ISO 2768-m does.
    fn linear(&self, size: Length, decimals: u8) -> (Length, String) {
        let medium = || iso2768::linear(GeneralClass::M, size);
        let (value, name) = match self {
            General::Iso(class) => (iso2768::linear(*class, size), iso_name(*class).to_owned()),
            General::Decimals { two, three, .. } => {
                let own = if decimals >= 3 { three.or(*two) } else { *two };
                match own {
                    Some(v) => {
                        let places = if decimals >= 3 { "three-place" } else { "two-place" };
                        (Some(v), format!("{places} ±{} mm", print::number(v.to_mm(), 4)))
                    }
                    None => (medium(), "ISO 2768-m".to_owned()),
                }
            }
        };
        // The standard leaves sizes below half a millimetre to the drawing: its smallest step is the cautious reading.
        (value.unwrap_or(Length::mm(0.1).min(size.abs() * 0.2)), name)
    }

    /// The deviation of an angle whose shorter leg is this long.
    pub(super) fn angle(&self, shorter_leg: Length) -> Angle {
        match self {
            General::Iso(class) => iso2768::angular(*class, shorter_leg),
            General::Decimals { angle: Some(a), .. } => *a,
            General::Decimals { .. } => iso2768::angular(GeneralClass::M, shorter_leg),
        }
    }
}

fn iso_name(class: GeneralClass) -> &'static str {
    match class {
        GeneralClass::F => "ISO 2768-f",
        GeneralClass::M => "ISO 2768-m",
        GeneralClass::C => "ISO 2768-c",
        GeneralClass::V => "ISO 2768-v",
    }
}

/// What else decides how a size is read.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reader<'a> {
    pub(super) scope: &'a Scope,
    pub(super) general: &'a General,
}

impl Reader<'_> {
    /// A size with its tolerance.
    ///
    /// # Errors
    /// A diagnostic that says what is wrong with it.
    pub(super) fn size(&self, c: &mut Cursor) -> Result<Size, Diagnostic> {
        if let Some(open) = c.take(Kind::OpenBracket) {
            let nominal = self.length(c)?;
            let Some(close) = c.take(Kind::CloseBracket) else {
                return Err(Diagnostic::error("open-bracket", open.place, "this bracket is not closed")
                    .help("a size for reference stands in brackets: `[12.5]`"));
            };
            let place = Place { end: close.place.end, ..open.place };
            return Ok(Size { nominal: nominal.0.value, limits: Limits::Reference, place });
        }
        let bound = c.take_word("max").map(|_| Limits::AtMost).or_else(|| c.take_word("min").map(|_| Limits::AtLeast));
        let start = c.at;
        let (nominal, decimals) = self.length(c)?;
        let mut place = nominal.place;
        let nominal_value = positive(nominal)?;
        let bound = bound
            .or_else(|| c.take_word("max").map(|_| Limits::AtMost))
            .or_else(|| c.take_word("min").map(|_| Limits::AtLeast));
        if let Some(limits) = bound {
            return Ok(Size { nominal: nominal_value, limits, place });
        }
        let glued = c.items.get(start).and_then(|i| values::split_glued(i.text)).map(|(_, tail)| tail);
        let (limits, nominal_value) = if let Some(class) = glued.filter(|t| values::is_fit_class(t)) {
            let whole = c.advance().map_or(place, |i| i.place);
            place = whole;
            let class_place = Place { start: whole.end - class.len() as u32, ..whole };
            (by_class(nominal_value, class, class_place)?, nominal_value)
        } else {
            self.limits(c, nominal_value, decimals, &mut place)?
        };
        Ok(Size { nominal: nominal_value, limits, place })
    }

    fn length(&self, c: &mut Cursor) -> Result<(Stated<Length>, u8), Diagnostic> {
        let from = c.at;
        let limit = c.items.get(from + 1).is_some_and(|i| i.is_word("min"));
        let read = if limit && c.peek().is_some_and(|i| i.kind == Kind::Number) {
            // Behind a bare size `min` is its limit, never a minute.
            let mut alone = Cursor { items: &c.items[..=from], ..*c };
            let read = values::reading(&mut alone, self.scope, "a length")?;
            c.at = alone.at;
            read
        } else {
            values::reading(c, self.scope, "a length")?
        };
        // A size glued to its class leaves the item to be taken with the class.
        let words_to = c.at.max(from);
        let value = if words_to == from {
            let words = c.items.get(from).map_or("", |i| i.text);
            Stated { value: values::quantity(read, self.scope, words)?, place: read.place }
        } else {
            typed(c, from, read, self.scope)?
        };
        Ok((value, read.decimals))
    }

    fn limits(
        &self,
        c: &mut Cursor,
        nominal: Length,
        decimals: u8,
        place: &mut Place,
    ) -> Result<(Limits, Length), Diagnostic> {
        if c.take(Kind::PlusMinus).is_some() {
            let from = c.at;
            let read = values::reading(c, self.scope, "a tolerance")?;
            let t: Stated<Length> = typed(c, from, read, self.scope)?;
            place.end = t.place.end;
            if t.value <= Length::ZERO {
                return Err(Diagnostic::error("not-positive", t.place, "a tolerance must be greater than 0"));
            }
            return Ok((written(t.value, -t.value), nominal));
        }
        if let Some(item) = c.take(Kind::Deviations) {
            place.end = item.place.end;
            let unit = c
                .peek()
                .and_then(|i| crate::quantity::units::meaning(i.text))
                .filter(|m| m.dimension == crate::quantity::measure::Dimension::LENGTH);
            if unit.is_some() {
                place.end = c.advance().map_or(place.end, |i| i.place.end);
            }
            let factor = unit.map(|m| m.factor).or(self.scope.bare.map(|b| b.0)).unwrap_or(1.0);
            let mut both = item.text.split('/').map(str::trim).map(|t| {
                let value = values::number(t.trim_start_matches(['+', '-'])).unwrap_or(0.0);
                Length::mm(factor * if t.starts_with('-') { -value } else { value })
            });
            let (upper, lower) = (both.next().unwrap_or_default(), both.next().unwrap_or_default());
            if upper < lower {
                return Err(Diagnostic::error(
                    "crossed-limits",
                    item.place,
                    "the upper deviation is below the lower one",
                )
                .help("the upper deviation stands first"));
            }
            return Ok((written(upper, lower), nominal));
        }
        if c.take(Kind::Bar).is_some() {
            let (other, _) = self.length(c)?;
            place.end = other.place.end;
            let (low, high) = (nominal.min(other.value), nominal.max(other.value));
            let middle = (low + high) / 2.0;
            return Ok((written(high - middle, low - middle), middle));
        }
        if let Some(item) = c.peek().filter(|i| i.kind == Kind::Word && values::is_fit_class(i.text)) {
            c.advance();
            place.end = item.place.end;
            return Ok((by_class(nominal, item.text, item.place)?, nominal));
        }
        let (deviation, name) = self.general.linear(nominal, decimals);
        Ok((Limits::Both { upper: deviation, lower: -deviation, from: ToleranceSource::General(name) }, nominal))
    }

    /// Two sizes with `..` between them.
    ///
    /// # Errors
    /// A diagnostic that says what is wrong with them.
    pub(super) fn pair(&self, c: &mut Cursor) -> Result<(Size, Size), Diagnostic> {
        let first = self.size(c)?;
        if c.take(Kind::Range).is_none() {
            return Err(Diagnostic::error("missing-value", c.place(), "the second diameter is missing here")
                .help("a cone has two: `dia 5.5 .. 2.6`"));
        }
        let second = self.size(c)?;
        Ok((first, second))
    }

    /// An angle with its tolerance; the general one where none is written.
    ///
    /// # Errors
    /// A diagnostic that says what is wrong with it.
    pub(super) fn angle(&self, c: &mut Cursor, shorter_leg: Length) -> Result<(Stated<Angle>, Angle), Diagnostic> {
        let from = c.at;
        let read = values::reading(c, self.scope, "an angle")?;
        let angle: Stated<Angle> = typed(c, from, read, self.scope)?;
        if c.take(Kind::PlusMinus).is_some() {
            let from = c.at;
            let read = values::reading(c, self.scope, "a tolerance")?;
            let t: Stated<Angle> = typed(c, from, read, self.scope)?;
            return Ok((angle, t.value.abs()));
        }
        Ok((angle, self.general.angle(shorter_leg)))
    }
}

fn written(upper: Length, lower: Length) -> Limits {
    Limits::Both { upper, lower, from: ToleranceSource::Written }
}

fn positive(read: Stated<Length>) -> Result<Length, Diagnostic> {
    if read.value > Length::ZERO {
        Ok(read.value)
    } else {
        Err(Diagnostic::error("not-positive", read.place, "a size must be greater than 0")
            .help("give the size as the drawing does"))
    }
}

fn by_class(nominal: Length, class: &str, place: Place) -> Result<Limits, Diagnostic> {
    match iso286::limits(nominal, class) {
        Ok((upper, lower)) => Ok(Limits::Both { upper, lower, from: ToleranceSource::Class(class.to_owned()) }),
        Err(e) => Err(Diagnostic::error("no-fit", place, format!("{nominal} {class}: {e}"))
            .help("write the limits instead: `+0.02/-0`")),
    }
}
