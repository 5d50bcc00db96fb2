//! Bars stacked of kinds of cost: a kind has one colour and one pattern on every page, told apart by either.

use crate::report::svg::{Anchor, Canvas, bold_width, width};
use maud::{Markup, PreEscaped};

const TEXT: f64 = 2.7;
const WIDE: f64 = 190.0;
/// Height of a bar and from bar to bar.
const BAR: f64 = 6.2;
const PITCH: f64 = 8.6;

/// Kinds of cost, in the order in which they are stacked. The place in this list is the number of colour and pattern.
const KINDS: &[&str] = &[
    "material",
    "machine",
    "operator",
    "setting",
    "tools",
    "special collet",
    "collets",
    "moving",
    "scrap",
    "setup pieces",
    "inspection",
    "certificates",
    "treatments after",
    "markup",
];

/// One bar.
pub(super) struct Stack {
    pub(super) label: String,
    /// Kinds and what they are of the total, in any order; amounts below nought are not drawn.
    pub(super) parts: Vec<(&'static str, f64)>,
    pub(super) total: f64,
    /// At the end of the bar.
    pub(super) words: String,
}

fn kind(word: &str) -> usize {
    let found = KINDS.iter().position(|k| *k == word);
    debug_assert!(found.is_some(), "a kind of cost without a pattern: {word}");
    found.unwrap_or(0)
}

/// The bars beneath a key of their kinds.
pub(super) fn stacked(id: &str, (title, words): (&str, &str), stacks: &[Stack]) -> Markup {
    let mut c = Canvas::default();
    c.define(&patterns(id));
    let mut kinds: Vec<usize> = stacks.iter().flat_map(|s| &s.parts).filter(|p| p.1 > 0.0).map(|p| kind(p.0)).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let left = stacks.iter().map(|s| width(&s.label, TEXT)).fold(0.0, f64::max) + 3.0;
    let room = stacks.iter().map(|s| bold_width(&s.words, TEXT)).fold(0.0, f64::max) + 3.0;
    let most = stacks.iter().map(|s| s.total).fold(0.0, f64::max).max(1e-9);
    let span = WIDE - left - room;
    let mut y = legend(&mut c, id, &kinds);
    for stack in stacks {
        c.text("label", (left - 2.5, y + 4.2), TEXT, Anchor::End, &stack.label);
        let mut x = left;
        for k in &kinds {
            let of_kind = stack.parts.iter().filter(|p| kind(p.0) == *k).map(|p| p.1.max(0.0)).sum::<f64>();
            let w = of_kind / most * span;
            if w > 0.0 {
                filled(&mut c, id, *k, (x, y), (w, BAR));
            }
            x += w;
        }
        c.text("total", (x + 1.5, y + 4.2), TEXT, Anchor::Start, &stack.words);
        y += PITCH;
    }
    PreEscaped(c.finish("chart", (WIDE, y + 1.0), id, (title, words)))
}

fn filled(c: &mut Canvas, id: &str, kind: usize, at: (f64, f64), size: (f64, f64)) {
    c.rect(&format!("part k{kind}"), at, size);
    // The first is plain.
    if kind > 0 {
        c.rect_filled(&format!("url(#{id}-p{kind})"), at, size);
    }
}

/// The key of the kinds, in one row or more; gives the place beneath it.
fn legend(c: &mut Canvas, id: &str, kinds: &[usize]) -> f64 {
    let (mut x, mut y) = (0.0, 1.0);
    for k in kinds {
        let wide = 7.0 + width(KINDS[*k], TEXT) + 5.0;
        if x + wide > WIDE {
            (x, y) = (0.0, y + 5.5);
        }
        filled(c, id, *k, (x, y), (5.0, 3.4));
        c.text("label", (x + 6.5, y + 2.7), TEXT, Anchor::Start, KINDS[*k]);
        x += wide;
    }
    y + 7.0
}

/// Lines at different angles and distances, dots and crosses: told apart without colour.
fn patterns(id: &str) -> String {
    let line = "<path class=\"pattern\" d=\"M0 0V3\"/>";
    let bold = "<path class=\"pattern bold\" d=\"M0 0V3\"/>";
    let dashes = "<path class=\"pattern\" d=\"M0.4 0V1.2M1.2 1.4V2.6\"/>";
    let cross = "<path class=\"pattern\" d=\"M0 0V3M0 0H3\"/>";
    let dots = "<circle class=\"pattern-dot\" cx=\"0.9\" cy=\"0.9\" r=\"0.35\"/>";
    let rings = "<circle class=\"pattern\" cx=\"1.3\" cy=\"1.3\" r=\"0.7\"/>";
    let zigzag = "<path class=\"pattern\" d=\"M0 0.4L1 1.4L2 0.4\"/>";
    let plus = "<path class=\"pattern\" d=\"M1.2 0.6V1.8M0.6 1.2H1.8\"/>";
    let one = |(k, (size, angle, inner)): (usize, (f64, f64, &str))| {
        format!(
            "<pattern id=\"{id}-p{}\" width=\"{size}\" height=\"{size}\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate({angle})\">{inner}</pattern>",
            k + 1
        )
    };
    let all = [
        (1.6, 45.0, line),
        (1.6, -45.0, line),
        (2.2, 45.0, cross),
        (1.8, 0.0, dots),
        (1.2, 90.0, line),
        (1.2, 0.0, line),
        (2.4, 30.0, line),
        (2.2, 0.0, cross),
        (2.6, 0.0, rings),
        (2.0, 0.0, zigzag),
        (2.4, 0.0, plus),
        (2.6, 60.0, dashes),
        (2.6, -45.0, bold),
    ];
    all.into_iter().enumerate().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_a_pattern_of_its_own() {
        let drawn = patterns("x");
        let inner: Vec<&str> =
            drawn.split("<pattern ").skip(1).filter_map(|p| p.split_once(" width=")).map(|p| p.1).collect();
        assert_eq!(inner.len(), KINDS.len() - 1);
        assert!(inner.iter().enumerate().all(|(i, p)| !inner[..i].contains(p)));
    }
}
