//! A small writer of vector drawings: strokes by class, so that the style sheet decides about colour and width; text by
//! size, so that its width can be reckoned; the space that everything takes, so that nothing is cut off.

use crate::quantity::print;

/// A place on the sheet: x to the right, y down, in mm of paper or units of a chart.
pub(crate) type At = (f64, f64);

/// Where a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// Advance widths of the letters from the blank to the tilde in thousandths of the size: of each letter the wider of two
/// common sans-serif faces, read from their font files, so that any of them has room.
const WIDTHS: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636, 636, 636, 636, 636,
    636, 636, 636, 337, 337, 838, 838, 838, 556, 1015, 684, 686, 722, 770, 667, 611, 778, 752, 295, 500, 667, 557, 863,
    748, 787, 667, 787, 722, 667, 611, 732, 684, 989, 685, 667, 685, 390, 337, 390, 838, 556, 500, 613, 635, 550, 635,
    615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636,
    337, 636, 838,
];

/// Bold letters are wider by up to this.
const BOLD: f64 = 1.12;

/// The width that a text takes at most, in the unit of its size.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    let letter = |c: char| {
        let known = (c as usize).checked_sub(32).and_then(|i| WIDTHS.get(i)).copied();
        f64::from(known.unwrap_or(match c {
            '°' => 500,
            '·' | '²' => 401,
            '–' => 556,
            'µ' | 'é' | 'ä' | 'ö' | 'ü' => 640,
            'Ø' | '±' | '×' | '−' | '≤' | '≥' => 840,
            _ => 1015,
        }))
    };
    text.chars().map(letter).sum::<f64>() * size / 1000.0 * 1.01
}

/// The width of a bold text.
pub(crate) fn bold_width(text: &str, size: f64) -> f64 {
    width(text, size) * BOLD
}

/// A text broken at blanks into lines of a width at most; a longer word stands alone.
pub(crate) fn broken(text: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(line, size) + width(" ", size) + width(word, size) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Values in their order, each as near to its wish as the widths between them allow; nothing where there is no room.
/// The least sum of squares: runs that collide share their mean.
pub(crate) fn spread(wishes: &[f64], widths: &[f64], (left, right): (f64, f64)) -> Option<Vec<f64>> {
    let mut offsets = Vec::with_capacity(wishes.len());
    let mut offset = 0.0;
    for (i, w) in widths.iter().enumerate() {
        if i > 0 {
            offset += (widths[i - 1] + w) / 2.0;
        }
        offsets.push(offset);
    }
    let low = left + widths.first().copied().unwrap_or(0.0) / 2.0;
    let high = right - offset - widths.last().copied().unwrap_or(0.0) / 2.0;
    if high < low - 1e-9 {
        return None;
    }
    // Blocks of a sum and a count, means ascending.
    let mut blocks: Vec<(f64, usize)> = Vec::new();
    for (wish, offset) in wishes.iter().zip(&offsets) {
        let mut block = (wish - offset, 1);
        while let Some(last) = blocks.last().copied().filter(|l| l.0 / l.1 as f64 > block.0 / block.1 as f64) {
            blocks.pop();
            block = (block.0 + last.0, block.1 + last.1);
        }
        blocks.push(block);
    }
    let means = blocks.iter().flat_map(|(sum, n)| std::iter::repeat_n((sum / *n as f64).clamp(low, high.max(low)), *n));
    Some(means.zip(offsets).map(|(m, o)| m + o).collect())
}

/// A coordinate: a hundredth is finer than any eye.
fn number(value: f64) -> String {
    debug_assert!(value.is_finite(), "a coordinate that is no number");
    print::number(value, 2)
}

/// Text that stands in XML.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// A drawing under way.
#[derive(Debug, Default)]
pub(crate) struct Canvas {
    out: String,
}

impl Canvas {
    /// The elements drawn so far, within a root element of a size, with a name and a description for readers that do
    /// not see it.
    pub(crate) fn finish(self, class: &str, (w, h): At, id: &str, (title, description): (&str, &str)) -> String {
        let (w, h) = (number(w), number(h));
        let (id, title, description) = (escaped(id), escaped(title), escaped(description));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"{class}\" viewBox=\"0 0 {w} {h}\" role=\"img\" \
             aria-labelledby=\"{id}-title {id}-words\"><title id=\"{id}-title\">{title}</title>\
             <desc id=\"{id}-words\">{description}</desc>\n{}</svg>",
            self.out
        )
    }

    /// Opens a group; the attributes are pairs of name and value.
    pub(crate) fn open(&mut self, attributes: &[(&str, &str)]) {
        self.element("g", attributes, false);
        self.out.push('\n');
    }

    /// Closes the group opened last.
    pub(crate) fn close(&mut self) {
        self.out.push_str("</g>\n");
    }

    /// An element of any kind without content.
    pub(crate) fn empty(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.element(name, attributes, true);
        self.out.push('\n');
    }

    /// A definition in the words of SVG: patterns and clip paths.
    pub(crate) fn define(&mut self, markup: &str) {
        self.out.push_str("<defs>");
        self.out.push_str(markup);
        self.out.push_str("</defs>\n");
    }

    fn element(&mut self, name: &str, attributes: &[(&str, &str)], end: bool) {
        self.out.push('<');
        self.out.push_str(name);
        for (key, value) in attributes {
            self.out.push_str(&format!(" {key}=\"{}\"", escaped(value)));
        }
        self.out.push_str(if end { "/>" } else { ">" });
    }

    pub(crate) fn line(&mut self, class: &str, (x1, y1): At, (x2, y2): At) {
        let (x1, y1, x2, y2) = (number(x1), number(y1), number(x2), number(y2));
        self.empty("line", &[("class", class), ("x1", &x1), ("y1", &y1), ("x2", &x2), ("y2", &y2)]);
    }

    pub(crate) fn polyline(&mut self, class: &str, points: &[At]) {
        if points.len() > 1 {
            self.empty("polyline", &[("class", class), ("points", &joined(points))]);
        }
    }

    pub(crate) fn polygon(&mut self, class: &str, points: &[At]) {
        if points.len() > 2 {
            self.empty("polygon", &[("class", class), ("points", &joined(points))]);
        }
    }

    pub(crate) fn rect(&mut self, class: &str, (x, y): At, (w, h): At) {
        let (x, y, w, h) = (number(x), number(y), number(w), number(h));
        self.empty("rect", &[("class", class), ("x", &x), ("y", &y), ("width", &w), ("height", &h)]);
    }

    /// A rectangle filled with a pattern.
    pub(crate) fn rect_filled(&mut self, fill: &str, (x, y): At, (w, h): At) {
        let (x, y, w, h) = (number(x), number(y), number(w), number(h));
        self.empty("rect", &[("fill", fill), ("x", &x), ("y", &y), ("width", &w), ("height", &h)]);
    }

    pub(crate) fn ellipse(&mut self, class: &str, (x, y): At, (rx, ry): At) {
        let (x, y, rx, ry) = (number(x), number(y), number(rx), number(ry));
        self.empty("ellipse", &[("class", class), ("cx", &x), ("cy", &y), ("rx", &rx), ("ry", &ry)]);
    }

    pub(crate) fn circle(&mut self, class: &str, at: At, r: f64) {
        self.ellipse(class, at, (r, r));
    }

    pub(crate) fn text(&mut self, class: &str, (x, y): At, size: f64, anchor: Anchor, text: &str) {
        let (x, y) = (number(x), number(y));
        self.words(class, &[("x", &x), ("y", &y)], size, anchor, text);
    }

    /// A text that reads upwards: its place is the start of its base line.
    pub(crate) fn upward(&mut self, class: &str, (x, y): At, size: f64, anchor: Anchor, text: &str) {
        let (x, y) = (number(x), number(y));
        let turn = format!("rotate(-90 {x} {y})");
        self.words(class, &[("x", &x), ("y", &y), ("transform", &turn)], size, anchor, text);
    }

    fn words(&mut self, class: &str, place: &[(&str, &str)], size: f64, anchor: Anchor, text: &str) {
        let size = number(size);
        let mut attributes = vec![("class", class)];
        attributes.extend_from_slice(place);
        attributes.push(("font-size", &size));
        match anchor {
            Anchor::Start => {}
            Anchor::Middle => attributes.push(("text-anchor", "middle")),
            Anchor::End => attributes.push(("text-anchor", "end")),
        }
        self.element("text", &attributes, false);
        self.out.push_str(&escaped(text));
        self.out.push_str("</text>\n");
    }

    /// A filled arrow head with its point at a place, pointing along a direction.
    pub(crate) fn arrow(&mut self, (x, y): At, (dx, dy): At, length: f64) {
        let norm = libm::hypot(dx, dy);
        if norm <= 0.0 {
            return;
        }
        let (dx, dy) = (dx / norm * length, dy / norm * length);
        // An included angle of about 20 deg.
        let half = 0.17;
        let (back_x, back_y) = (x - dx, y - dy);
        self.polygon(
            "arrow",
            &[(x, y), (back_x - dy * half, back_y + dx * half), (back_x + dy * half, back_y - dx * half)],
        );
    }
}

/// Points as SVG lists them.
pub(crate) fn joined(points: &[At]) -> String {
    points.iter().map(|(x, y)| format!("{},{}", number(*x), number(*y))).collect::<Vec<_>>().join(" ")
}

/// A path through points.
pub(crate) fn path_of(points: &[At], closed: bool) -> String {
    let mut d = String::new();
    for (i, (x, y)) in points.iter().enumerate() {
        d.push_str(&format!("{}{} {}", if i == 0 { "M" } else { "L" }, number(*x), number(*y)));
    }
    if closed {
        d.push('Z');
    }
    d
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_broken() {
        assert_eq!(escaped("a<b & \"c\""), "a&lt;b &amp; &quot;c&quot;");
        assert_eq!(broken("one two three", 10.0, width("one two", 10.0) + 0.1), ["one two", "three"]);
        assert_eq!(broken("", 10.0, 5.0), Vec::<String>::new());
    }

    #[test]
    fn labels_keep_order_and_distance() {
        let found = spread(&[20.0, 21.0, 22.0, 60.0], &[10.0; 4], (0.0, 100.0)).unwrap();
        assert_eq!(found, [11.0, 21.0, 31.0, 60.0]);
        assert_eq!(spread(&[10.0, 10.0], &[10.0, 10.0], (0.0, 19.0)), None);
        let tight = spread(&[90.0, 95.0, 99.0], &[10.0; 3], (0.0, 100.0)).unwrap();
        assert_eq!(tight, [75.0, 85.0, 95.0]);
    }

    #[test]
    fn coordinates_are_short() {
        let mut canvas = Canvas::default();
        canvas.line("thin", (0.0, -0.001), (1.005, 2.0));
        assert!(canvas.out.contains("y1=\"0\"") && canvas.out.contains("y2=\"2\""), "{}", canvas.out);
    }
}
