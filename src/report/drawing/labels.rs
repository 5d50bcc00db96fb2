//! What is said of each feature beside the view, and where its leader points.

use super::profile::NEAR;
use super::shape::ends;
use super::view::View;
use super::words::{Words, Writer};
use crate::model::part::{
    End, Feature, FeatureId, Finish, GrooveSide, Hole, Kind, Part, SocketShape, Thread, ThreadForm,
};
use crate::quantity::Length;

/// A piece of a line.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Run {
    Text(String),
    /// Upper over lower.
    Stack(String, String),
    /// With the sign of a finish before it.
    Finish(String),
    /// The letter of a datum in its frame.
    Datum(String),
}

/// A line of a label.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Line {
    pub(super) runs: Vec<Run>,
    pub(super) kind: LineKind,
}

/// What a line of a label is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum LineKind {
    Name,
    Size,
    Detail,
}

/// Where a leader ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Foot {
    /// On the contour, from outside.
    Contour,
    /// Across the whole diameter, with an arrow at both sides.
    Across,
    /// On the wall of the bore.
    Wall,
    /// At a radius.
    Radius(f64),
    /// On the end face.
    Face(End),
}

/// The label of a feature.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Label {
    pub(super) feature: FeatureId,
    pub(super) lines: Vec<Line>,
    pub(super) foot: Foot,
    /// Where along z its leader may end.
    pub(super) reach: (f64, f64),
    pub(super) best: f64,
}

fn line(kind: LineKind, runs: Vec<Run>) -> Line {
    Line { runs, kind }
}

fn text(t: impl Into<String>) -> Run {
    Run::Text(t.into())
}

/// Labels of all features that have a place of their own, in the order of the part.
pub(super) fn labels(view: &View, w: Writer, datums: &[(FeatureId, String)]) -> Vec<Label> {
    let part = view.part;
    let features = part.features.iter().enumerate();
    features
        .filter_map(|(id, f)| {
            let said = said(view, w, id, f)?;
            let mut lines = Vec::new();
            let letter = datums.iter().find(|(of, _)| *of == id).map(|(_, l)| l.clone());
            let mut head = Vec::new();
            if !is_made_up(&f.name) {
                head.push(text(f.name.clone()));
            }
            head.extend(letter.map(Run::Datum));
            head.extend(finish_of(&f.kind).map(|x| Run::Finish(w.finish(x))));
            if !head.is_empty() {
                lines.push(line(LineKind::Name, head));
            }
            lines.push(line(LineKind::Size, said.size));
            lines.extend(said.details.into_iter().map(|d| line(LineKind::Detail, vec![text(d)])));
            Some(Label { feature: id, lines, foot: said.foot, reach: said.reach, best: said.best })
        })
        .collect()
}

/// Whether a name was made from the statement, such as `chamfer-1`: it tells the reader nothing.
fn is_made_up(name: &str) -> bool {
    let kinds = [
        "face", "turn", "taper", "sphere", "radius", "chamfer", "groove", "undercut", "knurl", "thread", "bore",
        "hole", "slot", "keyway", "flat", "hex", "square", "socket", "contour", "engrave", "edges",
    ];
    name.rsplit_once('-').is_some_and(|(word, n)| kinds.contains(&word) && n.parse::<u32>().is_ok())
}

fn finish_of(kind: &Kind) -> Option<&Finish> {
    match kind {
        Kind::Face(x) => x.finish.as_ref(),
        Kind::Turn(x) => x.finish.as_ref(),
        Kind::Taper(x) => x.finish.as_ref(),
        Kind::Sphere(x) => x.finish.as_ref(),
        Kind::Groove(x) => x.finish.as_ref(),
        Kind::Bore(x) => x.finish.as_ref(),
        Kind::Hole(x) => x.finish.as_ref(),
        Kind::Slot(x) => x.finish.as_ref(),
        Kind::Flat(x) => x.finish.as_ref(),
        _ => None,
    }
}

/// What is said of one feature.
struct Said {
    size: Vec<Run>,
    details: Vec<String>,
    foot: Foot,
    reach: (f64, f64),
    best: f64,
}

impl Said {
    fn new(size: Vec<Run>, foot: Foot, reach: (f64, f64)) -> Said {
        Said { size, details: Vec::new(), foot, reach, best: (reach.0 + reach.1) / 2.0 }
    }
    fn with(mut self, details: impl IntoIterator<Item = String>) -> Said {
        self.details.extend(details);
        self
    }
    fn near(self, best: f64) -> Said {
        Said { best, ..self }
    }
}

fn runs(words: Words) -> Vec<Run> {
    let mut all = Vec::new();
    if !words.text.is_empty() {
        all.push(text(words.text));
    }
    all.extend(words.stack.map(|(a, b)| Run::Stack(a, b)));
    all
}

/// `2 × ` before what stands there several times.
fn times(count: u32, mut size: Vec<Run>) -> Vec<Run> {
    if count > 1 {
        size.insert(0, text(format!("{count} ×")));
    }
    size
}

fn said(view: &View, w: Writer, id: FeatureId, f: &Feature) -> Option<Said> {
    let length = view.shape.length;
    let dia = |size| runs(w.size("Ø", size));
    Some(match &f.kind {
        Kind::Edges(_) => return None,
        // Its thread says everything.
        Kind::Turn(t) if t.thread_blank => return None,
        Kind::Face(x) => {
            let at = if x.end == End::Front { 0.0 } else { length };
            Said::new(vec![text(format!("{} face", x.end.word()))], Foot::Face(x.end), (at, at))
        }
        Kind::Turn(t) => {
            let mut details = Vec::new();
            if t.as_stock {
                details.push("as stock".to_owned());
            }
            if let Some((offset, _)) = &t.offset {
                details.push(at_clock(view.part, &format!("{} off axis", w.size("", offset).text), &f.kind));
            }
            Said::new(dia(&t.dia), Foot::Across, plain_stretch(view, id, ends(t.zone))).with(details)
        }
        Kind::Taper(t) => {
            let mut size = dia(&t.start_dia);
            size.push(text("to"));
            size.extend(dia(&t.end_dia));
            let foot = if t.internal { Foot::Wall } else { Foot::Contour };
            let detail =
                if t.internal { format!("cone, z {}", span(w, t.zone.start, t.zone.end)) } else { "cone".to_owned() };
            Said::new(size, foot, ends(t.zone)).with([detail])
        }
        Kind::Sphere(s) => Said::new(runs(w.size("SØ", &s.dia)), Foot::Contour, plain_stretch(view, id, ends(s.zone))),
        Kind::Radius(r) => corner(view, r.at.to_mm(), r.radius.to_mm(), r.inside, format!("R{}", w.length(r.radius))),
        Kind::Chamfer(x) => {
            let words = format!("{} × {}", w.length(x.width), Writer::angle(x.angle));
            corner(view, x.at.to_mm(), x.width.to_mm(), x.inside, words)
        }
        Kind::Groove(g) => groove(view, w, g),
        Kind::Undercut(u) => {
            let foot = if u.inside { Foot::Wall } else { Foot::Contour };
            let form = u.form.as_ref().map(|f| format!("undercut form {f}"));
            let details = [form.unwrap_or_else(|| "undercut".to_owned())];
            Said::new(dia(&u.dia), foot, ends(u.zone)).with(details)
        }
        Kind::Knurl(k) => {
            let form = k.form.as_deref().map(|f| format!(" {f}")).unwrap_or_default();
            let size = vec![text(format!("knurl{form} {}", w.length(k.pitch)))];
            Said::new(size, Foot::Contour, ends(k.zone))
        }
        Kind::Thread(t) => thread(view, w, t),
        Kind::Bore(b) => {
            let (z0, z1) = ends(b.zone);
            let depth = if b.through {
                "through".to_owned()
            } else if z0 > NEAR && z1 < length - NEAR {
                format!("z {}", span(w, b.zone.start, b.zone.end))
            } else {
                let whole = Length::mm(length);
                let flat = if b.flat_bottom { ", flat bottom" } else { "" };
                format!("{} deep from {}{flat}", w.length(b.depth(whole)), b.from.word())
            };
            Said::new(dia(&b.dia), Foot::Wall, wall_stretch(view, (z0, z1), b.dia.nominal.to_mm() / 2.0)).with([depth])
        }
        Kind::Hole(h) => hole(view, w, h, clock_words(view.part, &f.kind)),
        Kind::Slot(s) => {
            let mut size = runs(w.size("", &s.width));
            size.push(text(format!("wide, {} deep", w.length(s.depth))));
            let foot = if s.end.is_some() { Foot::Wall } else { Foot::Contour };
            let what = if s.end.is_some() { "slot in the face" } else { "slot" };
            Said::new(times(s.count, size), foot, ends(s.zone)).with([at_clock(view.part, what, &f.kind)])
        }
        Kind::Keyway(k) => {
            let mut size = runs(w.size("", &k.width));
            size.push(text(format!("wide, {} deep", w.length(k.depth))));
            let r = view.shape.above.at((k.zone.start.to_mm() + k.zone.end.to_mm()) / 2.0) - k.depth.to_mm();
            Said::new(size, Foot::Radius(r), ends(k.zone)).with([at_clock(view.part, "keyway", &f.kind)])
        }
        Kind::Flat(x) => {
            let mut size = runs(w.size("", &x.from_axis));
            size.push(text("from axis"));
            let what = if x.count > 1 { "flats" } else { "flat" };
            Said::new(times(x.count, size), Foot::Contour, plain_stretch(view, id, ends(x.zone)))
                .with([at_clock(view.part, what, &f.kind)])
        }
        Kind::Polygon(p) => {
            let mut size = runs(w.size("", &p.across));
            size.push(text("across flats"));
            let what = if p.sides == 4 { "square" } else { "hexagon" };
            let how = match (p.as_stock, p.corners_cut) {
                (true, _) => format!("{what}, as stock"),
                (_, true) => format!("{what}, corners cut"),
                _ => what.to_owned(),
            };
            Said::new(size, Foot::Contour, plain_stretch(view, id, ends(p.zone))).with([how])
        }
        Kind::Socket(s) => {
            let words = match &s.shape {
                SocketShape::Hex(across) => {
                    let mut size = vec![text("hexagon")];
                    size.extend(runs(w.size("", across)));
                    size
                }
                SocketShape::Hexalobe { number, .. } => vec![text(format!("hexalobe {number}"))],
                SocketShape::Slot(width) => {
                    let mut size = vec![text("slot")];
                    size.extend(runs(w.size("", width)));
                    size
                }
                SocketShape::Cross(number) => vec![text(format!("cross recess {number}"))],
            };
            let depth = s.depth.to_mm();
            let zone = if s.from == End::Front { (0.0, depth) } else { (length - depth, length) };
            Said::new(words, Foot::Wall, zone).with([format!("{} deep from {}", w.length(s.depth), s.from.word())])
        }
        Kind::Contour(x) => {
            let area = if w.inches {
                format!("{} in²", crate::quantity::print::number(x.area.to_mm2() / 645.16, 3))
            } else {
                format!("{} mm²", crate::quantity::print::number(x.area.to_mm2(), 1))
            };
            let size = vec![text(format!("sculpted, {area}"))];
            let detail = format!("ridges to {}, {} axes, {} deep", x.scallop, x.axes, w.length(x.depth));
            Said::new(size, Foot::Contour, ends(x.zone)).with([detail])
        }
        Kind::Engrave(e) => {
            let size = vec![text(format!("“{}”", e.text))];
            let detail = format!("engraved {} high, {} deep", w.length(e.height), w.length(e.depth));
            let (z, half) = (e.at.to_mm(), e.height.to_mm() / 2.0);
            Said::new(size, Foot::Contour, (z - half, z + half)).with([detail])
        }
    })
}

fn span(w: Writer, a: Length, b: Length) -> String {
    format!("{} to {}", w.length(a), w.length(b))
}

/// The clock position of what lies to one side of the axis.
fn clock_of(kind: &Kind) -> Option<f64> {
    let clock = match kind {
        Kind::Turn(t) => t.offset.as_ref()?.1,
        Kind::Hole(h) if h.angle.value.to_deg() >= 0.5 || h.circle.is_some() => h.clock,
        Kind::Slot(s) => s.clock,
        Kind::Keyway(k) => k.clock,
        Kind::Flat(x) => x.clock,
        _ => return None,
    };
    Some(clock.to_deg())
}

/// The clock position of a feature in words: where every one of the part is 0, none tells anything.
fn clock_words(part: &Part, kind: &Kind) -> Option<String> {
    let clocks = part.features.iter().filter_map(|f| clock_of(&f.kind));
    let told = clocks.map(f64::abs).fold(0.0, f64::max) > 0.05;
    clock_of(kind).filter(|_| told).map(|c| format!("clock {}°", crate::quantity::print::number(c, 1)))
}

fn at_clock(part: &Part, what: &str, kind: &Kind) -> String {
    clock_words(part, kind).map_or_else(|| what.to_owned(), |clock| format!("{what}, {clock}"))
}

fn corner(view: &View, at: f64, along: f64, inside: bool, words: String) -> Said {
    let length = view.shape.length;
    let profile = if inside { &view.shape.inner } else { &view.shape.above };
    let (before, after) = profile.around(at);
    // The corner lies on the side with more metal: outside the larger radius, inside the smaller.
    let to_the_right = at <= NEAR || at < length - NEAR && if inside { after <= before } else { after >= before };
    let zone = if to_the_right { (at, at + along) } else { (at - along, at) };
    let foot = if inside { Foot::Wall } else { Foot::Contour };
    Said::new(vec![text(words)], foot, zone)
}

fn groove(view: &View, w: Writer, g: &crate::model::part::Groove) -> Said {
    let (z0, z1) = ends(g.zone);
    let width = Length::mm(z1 - z0);
    let corner = g.corner_radius.map(|r| format!(", R{}", w.length(r))).unwrap_or_default();
    let mut size = runs(w.size("Ø", &g.dia));
    match g.side {
        GrooveSide::External => {
            let detail = format!("groove {} wide{corner}", w.length(width));
            Said::new(size, Foot::Contour, (z0, z1)).with([detail])
        }
        GrooveSide::Internal => {
            let detail = format!("groove inside, z {}{corner}", span(w, g.zone.start, g.zone.end));
            Said::new(size, Foot::Wall, (z0, z1)).with([detail])
        }
        GrooveSide::Face(end) => {
            if let Some(outer) = &g.outer_dia {
                size.push(text("to"));
                size.extend(runs(w.size("Ø", outer)));
            }
            let detail = format!("groove in the {} face, {} deep{corner}", end.word(), w.length(width));
            let r = g.outer_dia.as_ref().map_or(g.dia.nominal, |o| o.nominal).to_mm() / 2.0;
            let _ = view;
            Said::new(size, Foot::Radius(r), (z0, z1)).with([detail])
        }
    }
}

fn thread(view: &View, w: Writer, t: &Thread) -> Said {
    let length = view.shape.length;
    let class =
        t.class.as_deref().filter(|c| !t.designation.ends_with(*c)).map(|c| format!(" {c}")).unwrap_or_default();
    let mut details = Vec::new();
    let sizes = format!("Ø{} / Ø{}", w.length(t.major), w.length(t.minor));
    let pitch = format!("pitch {}", w.length(t.pitch));
    match t.form {
        ThreadForm::BoneDeep | ThreadForm::BoneShallow => details.push(format!("{sizes}, {pitch}")),
        ThreadForm::Profile => details.push(format!("{pitch}, flanks {}", Writer::angle(t.flank_angle))),
        _ => {}
    }
    let mut how = Vec::new();
    if t.starts > 1 {
        how.push(format!("{} starts", t.starts));
    }
    if t.left_hand {
        how.push("left hand".to_owned());
    }
    if t.rolled {
        how.push("rolled".to_owned());
    }
    let (z0, z1) = ends(t.zone);
    if t.internal {
        let depth = if t.from == End::Front { z1 } else { length - z0 };
        let through = z0 <= NEAR && z1 >= length - NEAR;
        how.push(if through {
            "through".to_owned()
        } else {
            format!("full thread {} deep from {}", w.length(Length::mm(depth)), t.from.word())
        });
    }
    if !how.is_empty() {
        details.push(how.join(", "));
    }
    let designation = match t.form {
        // Its own sizes say more than a name made of them.
        ThreadForm::Profile => sizes,
        _ if t.designation.trim().is_empty() => "thread".to_owned(),
        _ => t.designation.clone(),
    };
    let size = vec![text(format!("{designation}{class}"))];
    let foot = if t.internal { Foot::Radius(t.major.to_mm() / 2.0) } else { Foot::Contour };
    Said::new(size, foot, (z0, z1)).with(details)
}

fn hole(view: &View, w: Writer, h: &Hole, clock: Option<String>) -> Said {
    let part = view.part;
    let size = times(h.count, runs(w.size("Ø", &h.dia)));
    let mut details = Vec::new();
    let end_hole = h.angle.value.to_deg() < 0.5;
    if let Some(circle) = h.circle {
        details.push(format!("on circle Ø{}, from {}", w.length(circle), h.opens.word()));
    }
    let goes = match (h.into, h.depth) {
        (Some(into), _) => format!("into {}", part.features[into].name),
        _ if h.through => "through".to_owned(),
        (None, Some(depth)) => format!("{} deep", w.length(depth)),
        _ => String::new(),
    };
    if end_hole {
        details.push(goes);
        details.extend(clock);
        let r = h.circle.map_or(0.0, |d| d.to_mm() / 2.0) + h.dia.nominal.to_mm() / 2.0;
        let depth = h.depth.map_or(view.shape.length * 0.1, |d| d.to_mm());
        let at = h.at.to_mm();
        let reach = if h.opens == End::Front { (at, at + depth) } else { (at - depth, at) };
        return Said::new(size, Foot::Radius(r), reach).with(details.into_iter().filter(|d| !d.is_empty()));
    }
    let angle = Writer::angle(h.angle.value);
    let square = (h.angle.value.to_deg() - 90.0).abs() < 1e-9;
    let lean = if square { "square across".to_owned() } else { format!("{angle}, opens {}", h.opens.word()) };
    details.push(if goes.is_empty() { lean } else { format!("{lean}, {goes}") });
    let mut place = Vec::new();
    if h.offset.abs() > Length::um(0.1) {
        place.push(format!("{} off axis", w.length(h.offset)));
    }
    place.extend(clock);
    if !place.is_empty() {
        details.push(place.join(", "));
    }
    let at = h.at.to_mm();
    let half = h.dia.nominal.to_mm() / 2.0 / libm::sin(h.angle.value.to_deg().to_radians()).max(0.1);
    Said::new(size, Foot::Contour, (at - half * 0.8, at + half * 0.8)).with(details).near(at)
}

/// The longest stretch of a turned surface that no cut takes.
fn plain_stretch(view: &View, id: FeatureId, (z0, z1): (f64, f64)) -> (f64, f64) {
    let mut cuts: Vec<(f64, f64)> = view
        .part
        .features
        .iter()
        .enumerate()
        .filter(|(other, _)| *other != id)
        .filter_map(|(_, f)| match &f.kind {
            Kind::Groove(g) if g.side == GrooveSide::External => Some(ends(g.zone)),
            Kind::Undercut(u) if !u.inside => Some(ends(u.zone)),
            Kind::Keyway(k) => Some(ends(k.zone)),
            Kind::Slot(s) => Some(ends(s.zone)),
            Kind::Thread(t) if !t.internal => Some(ends(t.zone)),
            Kind::Hole(h) if h.circle.is_none() => {
                let half = h.dia.nominal.to_mm();
                Some((h.at.to_mm() - half, h.at.to_mm() + half))
            }
            _ => None,
        })
        .filter(|(a, b)| *b > z0 + NEAR && *a < z1 - NEAR)
        .collect();
    cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut best = (z0, z0);
    let mut from = z0;
    for (a, b) in cuts.into_iter().chain([(z1, z1)]) {
        if a - from > best.1 - best.0 {
            best = (from, a);
        }
        from = from.max(b);
    }
    if best.1 - best.0 <= NEAR { (z0, z1) } else { best }
}

/// The longest stretch in which a bore's own wall is to be seen.
fn wall_stretch(view: &View, (z0, z1): (f64, f64), r: f64) -> (f64, f64) {
    let own = view.shape.inner.slice(z0, z1);
    let (mut best, mut from) = ((z0, z0), None);
    for s in &own {
        if (s.r0 - r).abs() <= NEAR && (s.r1 - r).abs() <= NEAR {
            let start = *from.get_or_insert(s.z0);
            if s.z1 - start > best.1 - best.0 {
                best = (start, s.z1);
            }
        } else {
            from = None;
        }
    }
    if best.1 - best.0 <= NEAR { (z0, z1) } else { best }
}
