//! Sizes, tolerances and finishes in the words of the drawing: as they were written, in its unit.

use crate::model::figure::{Limits, Place, Size, ToleranceSource};
use crate::model::part::Finish;
use crate::quantity::{Angle, Length, print};

/// The spec that a part was read from.
#[derive(Clone, Copy, Debug)]
pub struct Source<'a> {
    /// Its name as the reader knows it.
    pub file: &'a str,
    /// Its text, in which the part's places count.
    pub text: &'a str,
}

/// A size in pieces: what stands in the line, and deviations or limits one above the other.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Words {
    pub(super) text: String,
    pub(super) stack: Option<(String, String)>,
}

/// How a drawing writes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Writer<'a> {
    pub(super) source: Source<'a>,
    pub(super) inches: bool,
}

impl Writer<'_> {
    fn unit(&self, length: Length) -> f64 {
        if self.inches { length.to_inch() } else { length.to_mm() }
    }

    fn written(&self, place: Place) -> &str {
        self.source.text.get(place.start as usize..place.end as usize).unwrap_or_default()
    }

    /// A length in the unit of the drawing.
    pub(super) fn length(&self, length: Length) -> String {
        print::number(self.unit(length), if self.inches { 5 } else { 4 })
    }

    /// An angle with its sign.
    pub(super) fn angle(angle: Angle) -> String {
        format!("{}°", print::number(angle.to_deg(), 2))
    }

    /// A size with its tolerance. `sign` stands before it: `Ø`, `SØ`, `R` or nothing.
    pub(super) fn size(&self, sign: &str, size: &Size) -> Words {
        let words = self.written(size.place);
        let number = self.as_written(words, size.nominal);
        let plain = |text: String| Words { text, stack: None };
        match &size.limits {
            Limits::AtMost => plain(format!("{sign}{number} max")),
            Limits::AtLeast => plain(format!("{sign}{number} min")),
            Limits::Reference => plain(format!("({sign}{number})")),
            Limits::Both { from: ToleranceSource::General(_), .. } => plain(format!("{sign}{number}")),
            Limits::Both { from: ToleranceSource::Class(class), .. } => plain(format!("{sign}{number} {class}")),
            Limits::Both { upper, lower, from: ToleranceSource::Written } => {
                if let Some((a, b)) = words.split_once('|') {
                    let (a, b) = (token(a), token(b));
                    let (high, low) = if value(&a) >= value(&b) { (a, b) } else { (b, a) };
                    return Words { text: sign.to_owned(), stack: Some((high, low)) };
                }
                if (*upper + *lower).abs() < Length::um(0.01) {
                    return plain(format!("{sign}{number} ±{}", self.length(*upper)));
                }
                let deviation = |l: Length| {
                    let text = self.length(l.abs());
                    match text.as_str() {
                        "0" => text,
                        _ if l < Length::ZERO => format!("−{text}"),
                        _ => format!("+{text}"),
                    }
                };
                Words { text: format!("{sign}{number}"), stack: Some((deviation(*upper), deviation(*lower))) }
            }
        }
    }

    /// The number as it stands in the spec, where it says the same: its decimals mean something on an inch drawing.
    fn as_written(&self, words: &str, nominal: Length) -> String {
        let own = token(words);
        match value(&own) {
            Some(v) if (v - self.unit(nominal)).abs() < 1e-9 => own,
            _ => self.length(nominal),
        }
    }

    /// The limits of a size, `7.986 – 7.995`.
    pub(super) fn limits(&self, size: &Size) -> String {
        format!("{} – {}", self.length(size.lower()), self.length(size.upper()))
    }

    /// A finish: `Ra 0.8`, in micrometres or, on an inch drawing, in microinches.
    pub(super) fn finish(&self, finish: &Finish) -> String {
        let um = finish.ra.to_um();
        let value = |um: f64| {
            if self.inches { print::number(um / 0.0254, 0) } else { print::number(um, 3) }
        };
        let before = self.source.text.get(..finish.place.start as usize).unwrap_or_default();
        if before.trim_end().ends_with("Rz") { format!("Rz {}", value(um * 4.0)) } else { format!("Ra {}", value(um)) }
    }
}

/// The number that words begin with, digit by digit as written; digits grouped by `_` stand together.
fn token(words: &str) -> String {
    words
        .trim()
        .chars()
        .take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '_' | '/' | '-'))
        .filter(|c| *c != '_')
        .collect::<String>()
        .trim_end_matches(['-', '/', '.'])
        .to_owned()
}

/// A number, a fraction or a mixed fraction.
fn value(token: &str) -> Option<f64> {
    let (whole, rest) = match token.split_once('-') {
        Some((whole, rest)) => (whole.parse::<f64>().ok()?, rest),
        None => (0.0, token),
    };
    let part = match rest.split_once('/') {
        Some((a, b)) => a.parse::<f64>().ok()? / b.parse::<f64>().ok()?,
        None => rest.parse::<f64>().ok()?,
    };
    (whole + part).is_finite().then_some(whole + part)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn size(nominal: f64, lower: f64, upper: f64, text: &str) -> Size {
        Size {
            nominal: Length::mm(nominal),
            limits: Limits::Both { upper: Length::mm(upper), lower: Length::mm(lower), from: ToleranceSource::Written },
            place: Place { file: 0, start: 0, end: text.len() as u32 },
        }
    }

    fn words(text: &str, inches: bool, size: &Size) -> Words {
        Writer { source: Source { file: "x", text }, inches }.size("Ø", size)
    }

    #[test]
    fn sizes_stand_as_written() {
        let plain = |t: &str| Words { text: t.to_owned(), stack: None };
        let two = |t: &str, a: &str, b: &str| Words { text: t.to_owned(), stack: Some((a.to_owned(), b.to_owned())) };
        let text = "1-1/4 ±0.002";
        assert_eq!(words(text, true, &size(31.75, -0.0508, 0.0508, text)), plain("Ø1-1/4 ±0.002"));
        let text = "0.3745 | 0.3750";
        let middle = 0.37475 * 25.4;
        assert_eq!(words(text, true, &size(middle, -0.00635, 0.00635, text)), two("Ø", "0.3750", "0.3745"));
        let text = "3.3 +0.1/-0";
        assert_eq!(words(text, false, &size(3.3, 0.0, 0.1, text)), two("Ø3.3", "+0.1", "0"));
        let text = "(base) ±0.2";
        assert_eq!(words(text, false, &size(20.0, -0.2, 0.2, text)), plain("Ø20 ±0.2"), "a value that was reckoned");
        let text = "1.0 ±0.1";
        assert_eq!(words(text, false, &size(1.0, -0.1, 0.1, text)), plain("Ø1.0 ±0.1"));
    }

    #[test]
    fn numbers_are_read_as_an_inch_drawing_writes_them() {
        assert_eq!(value("1-1/4"), Some(1.25));
        assert_eq!(value(".3125"), Some(0.3125));
        assert_eq!(value("3/0"), None);
        assert_eq!(token("10_000 mm"), "10000");
        assert_eq!(token("8g6"), "8");
    }
}
