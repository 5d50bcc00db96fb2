//! Beneath the view: demands of form and place in their frames, edges, limits of the fits, and the title block.

use super::words::Writer;
use crate::model::figure::{Limits, Size, ToleranceSource};
use crate::model::part::{DemandKind, EdgeKind, FeatureId, Kind, Part};
use crate::report::svg::{Anchor, At, Canvas, broken, width};
use crate::report::text::sentence;

const TEXT: f64 = 2.6;
const SMALL: f64 = 2.15;
const LINE: f64 = 3.7;
/// Height of a frame of a demand.
const FRAME: f64 = 5.0;
const PITCH: f64 = 6.4;

/// Letters of the datums, in the order in which the demands name them; I, O and Q are left out (ISO 5459, from memory).
pub(super) fn datums(part: &Part) -> Vec<(FeatureId, String)> {
    let mut found: Vec<(FeatureId, String)> = Vec::new();
    let mut letters = "ABCDEFGHJKLMNPRSTUVWXYZ".chars();
    for datum in part.demands.iter().filter_map(|d| d.datum) {
        if found.iter().all(|(f, _)| *f != datum)
            && let Some(letter) = letters.next()
        {
            found.push((datum, letter.to_string()));
        }
    }
    found
}

/// What stands beneath the view.
#[derive(Debug)]
pub(super) struct Block<'a> {
    part: &'a Part,
    writer: Writer<'a>,
    datums: Vec<(FeatureId, String)>,
    scale: String,
    /// Words beneath the demands, broken into lines; whether a line begins a note, and the feature that it speaks of.
    notes: Vec<(String, Option<FeatureId>)>,
    cells: Vec<[Cell; 2]>,
    left: f64,
    right: f64,
}

/// A cell of the title block: what it is, and its lines.
#[derive(Debug)]
struct Cell {
    what: &'static str,
    lines: Vec<String>,
    /// Share of the width.
    share: f64,
}

impl<'a> Block<'a> {
    pub(super) fn lay_out(part: &'a Part, writer: Writer<'a>, scale: &str, sheet: f64) -> Block<'a> {
        let left = sheet * 0.5 - 3.0;
        let right = sheet - left - 6.0;
        let mut notes = Vec::new();
        for (feature, words) in notes_of(part, writer) {
            for (i, line) in broken(&words, TEXT, left - 2.0).into_iter().enumerate() {
                notes.push((line, feature.filter(|_| i == 0)));
            }
        }
        let cell =
            |what, text: String, share: f64| Cell { what, lines: broken(&text, TEXT, right * share - 3.0), share };
        let units = if part.inches { "inches" } else { "millimetres" };
        let material = part.material.name.clone();
        let cells = vec![
            [cell("Part", part.name.clone(), 0.5), cell("Material", material, 0.5)],
            [cell("General tolerances", general(part), 0.72), cell("Scale", scale.to_owned(), 0.28)],
            [
                cell("Made by", format!("Turnwright from {}", writer.source.file), 0.72),
                cell("Sizes in", units.to_owned(), 0.28),
            ],
        ];
        let datums = datums(part);
        Block { part, writer, datums, scale: scale.to_owned(), notes, cells, left, right }
    }

    fn cell_height(row: &[Cell; 2]) -> f64 {
        let lines = row.iter().map(|c| c.lines.len()).max().unwrap_or(1).max(1);
        4.4 + lines as f64 * 3.3
    }

    fn title_lines(&self) -> Vec<String> {
        broken(&self.part.title, 4.0, self.right - 5.0)
    }

    fn title_height(&self) -> f64 {
        3.2 + self.title_lines().len().max(1) as f64 * 5.2
    }

    fn right_height(&self) -> f64 {
        self.title_height() + self.cells.iter().map(Block::cell_height).sum::<f64>()
    }

    fn left_height(&self) -> f64 {
        let demands = self.part.demands.len() as f64 * PITCH;
        demands + if self.notes.is_empty() { 0.0 } else { 2.0 + self.notes.len() as f64 * LINE }
    }

    pub(super) fn height(&self) -> f64 {
        self.right_height().max(self.left_height())
    }

    /// Draws it between a left edge and the bottom of the sheet.
    pub(super) fn draw(&self, c: &mut Canvas, left: f64, bottom: f64) {
        debug_assert!(!self.scale.is_empty());
        self.draw_notes(c, (left, bottom - self.left_height()));
        self.draw_title(c, (left + self.left + 6.0, bottom - self.right_height()));
    }

    fn draw_notes(&self, c: &mut Canvas, (x, top): At) {
        let mut y = top;
        for demand in &self.part.demands {
            let name = &self.part.features[demand.feature].name;
            c.open(&[("class", "demand"), ("data-demand", demand.kind.word())]);
            let base = y + FRAME / 2.0 + TEXT * 0.36;
            c.text("size", (x, base), TEXT, Anchor::Start, name);
            let mut at = x + width(name, TEXT) + 2.0;
            c.rect("frame", (at, y), (FRAME + 1.4, FRAME));
            sign(c, demand.kind, (at + 0.7, y));
            at += FRAME + 1.4;
            let datum = demand.datum.and_then(|d| self.datums.iter().find(|(f, _)| *f == d)).map(|(_, l)| l.clone());
            for words in [Some(self.writer.length(demand.value)), datum].into_iter().flatten() {
                let wide = (width(&words, TEXT) + 2.6).max(FRAME);
                c.rect("frame", (at, y), (wide, FRAME));
                c.text("size", (at + wide / 2.0, base), TEXT, Anchor::Middle, &words);
                at += wide;
            }
            c.text("detail", (at + 2.0, base), SMALL, Anchor::Start, said(demand.kind));
            c.close();
            y += PITCH;
        }
        y += 2.0;
        for (line, feature) in &self.notes {
            y += LINE;
            if let Some(f) = feature {
                c.open(&[("class", "note"), ("data-feature", &self.part.features[*f].name)]);
            }
            c.text("note", (x, y - 1.0), TEXT, Anchor::Start, line);
            if feature.is_some() {
                c.close();
            }
        }
    }

    fn draw_title(&self, c: &mut Canvas, (x, top): At) {
        c.open(&[("class", "title-block")]);
        let height = self.right_height();
        c.rect("block", (x, top), (self.right, height));
        let mut y = top;
        for (i, line) in self.title_lines().iter().enumerate() {
            c.text("title", (x + 2.0, y + 5.4 + i as f64 * 5.2), 4.0, Anchor::Start, line);
        }
        y += self.title_height();
        for row in &self.cells {
            c.line("rule", (x, y), (x + self.right, y));
            let mut at = x;
            for (i, cell) in row.iter().enumerate() {
                if i > 0 {
                    c.line("rule", (at, y), (at, y + Block::cell_height(row)));
                }
                c.text("what", (at + 1.5, y + 2.9), SMALL, Anchor::Start, cell.what);
                for (n, line) in cell.lines.iter().enumerate() {
                    // A long file name has no blank to be broken at.
                    let room = self.right * cell.share - 3.0;
                    let size = TEXT.min(TEXT * room / width(line, TEXT).max(0.1));
                    c.text("size", (at + 1.5, y + 6.3 + n as f64 * 3.3), size, Anchor::Start, line);
                }
                at += self.right * cell.share;
            }
            y += Block::cell_height(row);
        }
        c.close();
    }
}

fn general(part: &Part) -> String {
    if part.general.is_empty() { "not stated".to_owned() } else { part.general.clone() }
}

/// Notes in the order in which a reader needs them, each with the feature that it stands for.
fn notes_of(part: &Part, w: Writer) -> Vec<(Option<FeatureId>, String)> {
    let mut notes = Vec::new();
    for (id, f) in part.features.iter().enumerate() {
        if let Kind::Edges(e) = &f.kind {
            let of = match e.of.as_slice() {
                [] => "All edges".to_owned(),
                of => {
                    let names: Vec<&str> = of.iter().map(|i| part.features[*i].name.as_str()).collect();
                    format!("Edges of {}", names.join(", "))
                }
            };
            let how = match e.kind {
                EdgeKind::Sharp => "sharp",
                EdgeKind::Break => "broken",
                EdgeKind::Radius => "rounded",
            };
            notes.push((Some(id), format!("{of} {how}, {} at most (ISO 13715).", w.length(e.at_most))));
        }
    }
    for f in part.features.iter() {
        if let Some(cpk) = f.cpk {
            notes.push((None, format!("Key characteristic: {}, Cpk {} or better.", f.name, cpk)));
        }
    }
    let fits = fits(part, w);
    if !fits.is_empty() {
        notes.push((None, format!("Limits: {}.", fits.join("; "))));
    }
    for a in &part.after {
        let of = a.feature.map(|f| format!(" {}", part.features[f].name)).unwrap_or_default();
        let leaving = a.leaving.map(|l| format!(", {} left for it", w.length(l))).unwrap_or_default();
        let when = if a.sizes_before { "; sizes hold before it" } else { "" };
        notes.push((None, format!("Afterwards: {}{of}{leaving}{when}.", a.process.replace('-', " "))));
    }
    for r in &part.remarks {
        notes.push((None, format!("{}: {}.", sentence(&r.about), r.words)));
    }
    if let Some(certificate) = &part.certificate {
        notes.push((None, format!("Material certificate {}.", certificate.replace('-', " "))));
    }
    notes
}

/// Sizes with a class of ISO 286 and what it means in figures, one of each.
fn fits(part: &Part, w: Writer) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut add = |size: &Size| {
        if let Limits::Both { from: ToleranceSource::Class(_), .. } = size.limits {
            let words = format!("{}: {}", w.size("Ø", size).text, w.limits(size));
            if !found.contains(&words) {
                found.push(words);
            }
        }
    };
    for f in &part.features {
        match &f.kind {
            Kind::Turn(t) => add(&t.dia),
            Kind::Taper(t) => {
                add(&t.start_dia);
                add(&t.end_dia);
            }
            Kind::Sphere(s) => add(&s.dia),
            Kind::Groove(g) => add(&g.dia),
            Kind::Undercut(u) => add(&u.dia),
            Kind::Bore(b) => add(&b.dia),
            Kind::Hole(h) => add(&h.dia),
            _ => {}
        }
    }
    // Widths are no diameters.
    for f in &part.features {
        let (size, word) = match &f.kind {
            Kind::Keyway(k) => (&k.width, "width"),
            Kind::Slot(s) => (&s.width, "width"),
            Kind::Polygon(p) => (&p.across, "across flats"),
            Kind::Flat(x) => (&x.from_axis, "from axis"),
            _ => continue,
        };
        if let Limits::Both { from: ToleranceSource::Class(_), .. } = size.limits {
            found.push(format!("{word} {}: {}", w.size("", size).text, w.limits(size)));
        }
    }
    found
}

fn said(kind: DemandKind) -> &'static str {
    match kind {
        DemandKind::TotalRunout => "total runout",
        DemandKind::SquareTo => "square",
        other => other.word(),
    }
}

/// The signs of ISO 1101 (from memory), drawn in a square of the frame's height.
fn sign(c: &mut Canvas, kind: DemandKind, (x, y): At) {
    let p = |dx: f64, dy: f64| (x + dx, y + dy);
    let arrow = |c: &mut Canvas, from: At, to: At| {
        c.line("thin", from, to);
        c.arrow(to, (to.0 - from.0, to.1 - from.1), 1.3);
    };
    match kind {
        DemandKind::Roundness => c.circle("sign", p(2.5, 2.5), 1.5),
        DemandKind::Cylindricity => {
            c.circle("sign", p(2.5, 2.5), 1.0);
            c.line("sign", p(0.7, 3.9), p(2.3, 1.1));
            c.line("sign", p(2.7, 3.9), p(4.3, 1.1));
        }
        DemandKind::Straightness => c.line("sign", p(0.7, 2.5), p(4.3, 2.5)),
        DemandKind::Flatness => c.polygon("sign", &[p(0.6, 3.7), p(1.8, 1.3), p(4.4, 1.3), p(3.2, 3.7)]),
        DemandKind::Runout => arrow(c, p(1.4, 4.0), p(3.7, 1.2)),
        DemandKind::TotalRunout => {
            c.line("sign", p(0.8, 4.0), p(3.0, 4.0));
            arrow(c, p(0.8, 4.0), p(2.5, 1.2));
            arrow(c, p(3.0, 4.0), p(4.6, 1.2));
        }
        DemandKind::Concentricity => {
            c.circle("sign", p(2.5, 2.5), 1.6);
            c.circle("sign", p(2.5, 2.5), 0.8);
        }
        DemandKind::Position => {
            c.circle("sign", p(2.5, 2.5), 1.1);
            c.line("sign", p(0.6, 2.5), p(4.4, 2.5));
            c.line("sign", p(2.5, 0.6), p(2.5, 4.4));
        }
        DemandKind::Parallel => {
            c.line("sign", p(1.2, 4.0), p(2.7, 1.0));
            c.line("sign", p(2.3, 4.0), p(3.8, 1.0));
        }
        DemandKind::SquareTo => {
            c.line("sign", p(0.9, 4.0), p(4.1, 4.0));
            c.line("sign", p(2.5, 4.0), p(2.5, 1.0));
        }
        DemandKind::Symmetry => {
            c.line("sign", p(1.4, 1.5), p(3.6, 1.5));
            c.line("sign", p(0.7, 2.5), p(4.3, 2.5));
            c.line("sign", p(1.4, 3.5), p(3.6, 3.5));
        }
        DemandKind::Profile => {
            let arc = [(0.9, 3.3), (1.11, 2.5), (1.7, 1.91), (2.5, 1.7), (3.3, 1.91), (3.89, 2.5), (4.1, 3.3)];
            c.polygon("sign", &arc.map(|(dx, dy)| p(dx, dy)));
        }
    }
}
