//! Threads: a designation of a standard, or a form with its sizes.

use super::super::clauses::{self, Clauses};
use super::super::diagnostic::Diagnostic;
use super::super::syntax::{Item, Kind};
use super::super::values::{self, Cursor};
use super::part::end;
use super::sizes::Reader;
use crate::model::figure::Place;
use crate::model::part::{End, Thread, ThreadForm, Zone};
use crate::quantity::{Angle, Length};
use crate::tables::threads as table;

/// The name of a thread: the first word of its head, unless that begins a designation.
pub(super) fn name<'s>(c: &Clauses<'s, '_>) -> Option<Item<'s>> {
    let first = c.head.first().copied()?;
    (first.kind == Kind::Word && !begins_designation(&c.head)).then_some(first)
}

fn begins_designation(head: &[Item]) -> bool {
    let Some(first) = head.first() else { return false };
    let numbered = |prefix: &str| {
        let rest = first.text.strip_prefix(prefix);
        let digit = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
        rest.is_some_and(|r| digit(r) || r.is_empty() && head.get(1).is_some_and(|n| digit(n.text)))
    };
    first.kind == Kind::Number
        || ["M", "Tr", "G", "R", "Rp", "Rc", "HA", "HB", "NPT", "ACME"].iter().any(|p| numbered(p))
        || first.text.starts_with(|ch: char| ch.is_ascii_digit() || ch == '.')
}

/// Sizes of a thread, from a designation or from clauses.
#[derive(Clone, Debug, PartialEq)]
pub struct Sizes {
    pub form: ThreadForm,
    /// As a drawing writes it.
    pub designation: String,
    pub class: Option<String>,
    pub major: Length,
    /// Root of the external thread.
    pub minor_external: Length,
    /// Bored or drilled diameter of the internal thread.
    pub minor_internal: Length,
    pub pitch: Length,
    pub starts: Option<u32>,
    pub left: bool,
    /// Included angle between the flanks.
    pub flank: Angle,
    pub taper: Option<f64>,
    /// From a row that is not checked against its standard yet.
    pub provisional: bool,
}

/// The sizes of a designation by itself, such as `M8x1 6g`.
///
/// # Errors
/// What is wrong with it.
pub fn sizes_of(text: &str) -> Result<Sizes, Diagnostic> {
    let mut faults = Vec::new();
    let file = super::super::syntax::parse(0, text, &mut faults);
    let items = file.lines.first().map(|l| l.items.as_slice()).unwrap_or_default();
    let place = clauses::span(items, Place::default());
    if let Some(fault) = faults.into_iter().next() {
        return Err(fault);
    }
    let mut cursor = Cursor::new(items, place);
    let mut sizes = designation(&mut cursor, place)?;
    while let Some(item) = cursor.advance() {
        match item.text {
            "LH" => sizes.left = true,
            "RH" => {}
            text if is_class(text) => sizes.class = Some(text.to_owned()),
            other => {
                return Err(Diagnostic::error(
                    "unknown-class",
                    item.place,
                    format!("`{other}` is no class of a thread"),
                )
                .help("classes are written like `6g`, `6H`, `2A`, `3B`"));
            }
        }
    }
    Ok(sizes)
}

/// Resolves a thread.
pub(super) fn resolve(c: &Clauses, reader: &Reader, length: Length) -> Option<Thread> {
    let sizes = if c.has("form") { by_clauses(c)? } else { by_designation(c)? };
    let by_class = sizes.class.as_deref().is_some_and(|k| k.ends_with('H') || k.ends_with('G') || k.ends_with('B'));
    c.only_one_of(&["internal", "external"]);
    c.only_one_of(&["z", "depth"]);
    c.only_one_of(&["starts", "lead"]);
    let internal = c.has("internal") || (by_class && !c.has("external"));
    let from = c.word("from").map_or(End::Front, end);
    let zone = if c.has("z") {
        let range = c.range::<Length>("z")?;
        match (range.low, range.high) {
            (Some(start), Some(end)) if end > start => Zone { start, end },
            (Some(_), Some(_)) => {
                c.report(
                    Diagnostic::error("empty-stretch", range.place, "this stretch has no length")
                        .help("z runs from the drawing's left face to its right face; the smaller end stands first"),
                );
                return None;
            }
            _ => {
                c.report(
                    Diagnostic::error("open-stretch", range.place, "a stretch along z has two ends")
                        .help("for example `z 0 .. 12`"),
                );
                return None;
            }
        }
    } else if c.has("depth") {
        let depth: Length = c.positive("depth")?.value;
        match from {
            End::Front => Zone { start: Length::ZERO, end: depth },
            End::Back => Zone { start: length - depth, end: length },
        }
    } else {
        let d = Diagnostic::error("missing-clause", c.word, "a thread has a stretch `z`, or a `depth` from a face");
        c.report(d.help(format!("for example `{}`", c.schema.example)));
        return None;
    };
    let from = if c.has("from") || c.has("depth") || zone.start < length / 2.0 { from } else { End::Back };
    let starts = match (c.count("starts"), c.quantity::<Length>("lead"), sizes.starts) {
        (Some(n), _, _) => n as u32,
        (None, Some(lead), _) => {
            let starts = lead / sizes.pitch;
            if (starts - starts.round()).abs() > 1e-6 || starts < 0.999 {
                let place = c.find("lead").map_or(c.word, |g| clauses::span(&g.items, g.word));
                c.report(
                    Diagnostic::error(
                        "lead-and-pitch",
                        place,
                        format!("a lead of {lead} is no whole number of pitches of {}", sizes.pitch),
                    )
                    .help("the lead is the number of starts times the pitch"),
                );
                return None;
            }
            starts.round() as u32
        }
        (None, None, starts) => starts.unwrap_or(1),
    };
    let (_, _) = (c.text("relief"), c.has("gauge").then(|| c.read("gauge", |cursor| reader.size(cursor))));
    Some(Thread {
        form: sizes.form,
        designation: sizes.designation,
        class: sizes.class,
        major: sizes.major,
        minor: if internal { sizes.minor_internal } else { sizes.minor_external },
        pitch: sizes.pitch,
        starts,
        left_hand: c.word("hand").map_or(sizes.left, |h| h == "left"),
        internal,
        zone,
        from,
        flank_angle: sizes.flank,
        taper: sizes.taper,
        rolled: c.has("rolled"),
        provisional: sizes.provisional,
    })
}

fn by_clauses(c: &Clauses) -> Option<Sizes> {
    let beyond = &c.head[usize::from(name(c).is_some())..];
    if begins_designation(beyond) {
        let place = clauses::span(beyond, c.word);
        let d = Diagnostic::error("contradiction", place, "a thread has a designation or a `form`, not both");
        c.report(d.help("take one out"));
    } else {
        c.leftover(beyond);
    }
    let form = c.read("form", |cursor| {
        let Some(item) = cursor.take(Kind::Word) else {
            return Err(Diagnostic::error("missing-value", cursor.place(), "a form is missing here: `HA`, `HB` or `profile`"));
        };
        match item.text {
            "HA" => Ok((ThreadForm::BoneShallow, Angle::deg(38.0))),
            "HB" => Ok((ThreadForm::BoneDeep, Angle::deg(30.0))),
            "profile" => Ok((ThreadForm::Profile, Angle::deg(60.0))),
            other => Err(Diagnostic::error("unknown-word", item.place, format!("`{other}` is no thread form"))
                .help("`HA`, `HB` or `profile` with `major`, `core` and `pitch`; threads of a standard are written by their designation, such as `M8 x 1`")),
        }
    })?;
    let size = |word: &'static str| {
        if !c.has(word) {
            let d = Diagnostic::error("missing-clause", c.word, format!("a thread by its form needs `{word}`"));
            c.report(d.help("for example `form HA major 5.5 core 4.4 pitch 1.25`"));
            return None;
        }
        c.positive::<Length>(word).map(|s| s.value)
    };
    let (major, core, pitch) = (size("major"), size("core"), size("pitch"));
    let (major, core, pitch) = (major?, core?, pitch?);
    if core >= major {
        let place = c.find("core").map_or(c.word, |g| clauses::span(&g.items, g.word));
        c.report(
            Diagnostic::error(
                "core-over-major",
                place,
                format!("the core of {core} is not smaller than the major diameter of {major}"),
            )
            .help("the core is the root of an external thread"),
        );
        return None;
    }
    let word = match form.0 {
        ThreadForm::BoneShallow => "HA",
        ThreadForm::BoneDeep => "HB",
        _ => "profile",
    };
    let print = |l: Length| crate::quantity::print::number(l.to_mm(), 3);
    Some(Sizes {
        designation: format!("{word} {} x {}", print(major), print(pitch)),
        form: form.0,
        class: None,
        major,
        minor_external: core,
        minor_internal: core,
        pitch,
        starts: None,
        left: false,
        flank: c.quantity("flanks").unwrap_or(form.1),
        taper: None,
        provisional: false,
    })
}

fn by_designation(c: &Clauses) -> Option<Sizes> {
    let skip = usize::from(name(c).is_some());
    let items = &c.head[skip..];
    let place = clauses::span(items, c.word);
    if items.is_empty() {
        let a_thread =
            |items: &[Item]| items.first().is_some_and(|i| i.kind == Kind::Word) && begins_designation(items);
        if let Some(word) = c.given.first().filter(|g| a_thread(&g.items)) {
            let clause = word.schema.word;
            let message = format!("`{clause}` begins a clause of `thread` and cannot be its name");
            c.report_alone(
                Diagnostic::error("reserved-word", word.word, message)
                    .help(format!("another name, for example `{clause}-thread`")),
            );
            return None;
        }
        let d = Diagnostic::error("missing-value", c.word, "a thread needs a designation or a form");
        c.report(d.help(format!("for example `{}`", c.schema.example)));
        return None;
    }
    for g in ["major", "core", "pitch", "flanks"].iter().filter_map(|w| c.find(w)) {
        let message = format!("the designation gives the thread's sizes: `{}` does not belong here", g.schema.word);
        c.report(
            Diagnostic::error("contradiction", g.word, message).help(
                "take it out, or write `form profile` with `major`, `core` and `pitch` instead of the designation",
            ),
        );
    }
    let mut cursor = Cursor::new(items, c.word);
    match designation(&mut cursor, place) {
        Ok(mut sizes) => {
            let class = tail(c, &mut cursor, &mut sizes.left);
            sizes.class = class.or(sizes.class);
            Some(sizes)
        }
        Err(d) => {
            c.report(d);
            None
        }
    }
}

/// Class and hand behind a designation.
fn tail(c: &Clauses, cursor: &mut Cursor, left: &mut bool) -> Option<String> {
    let mut class = None;
    while let Some(item) = cursor.advance() {
        match item.text {
            "LH" => *left = true,
            "RH" => {}
            text if is_class(text) => class = Some(text.to_owned()),
            _ => {
                let d =
                    Diagnostic::error("unknown-class", item.place, format!("`{}` is no class of a thread", item.text));
                c.report(d.help("classes are written like `6g`, `6H`, `2A`, `3B`"));
            }
        }
    }
    class
}

fn is_class(text: &str) -> bool {
    let metric = text.len() >= 2
        && text.chars().next().is_some_and(|ch| ('3'..='9').contains(&ch))
        && text.chars().all(|ch| ch.is_ascii_digit() || matches!(ch, 'e' | 'f' | 'g' | 'h' | 'G' | 'H'));
    let unified = text.len() == 2 && text.starts_with(['1', '2', '3']) && text.ends_with(['A', 'B']);
    metric || unified || matches!(text, "A" | "B")
}

fn unknown(place: Place, what: String) -> Diagnostic {
    Diagnostic::error("unknown-thread", place, what).help(
        "designations are written like `M8 x 1`, `1/4-20 UNC`, `Tr 8 x 1.5`, `G 1/2`, `R 1/2`, `1/4-18 NPT`, `HA 3.5`",
    )
}

fn designation(c: &mut Cursor, place: Place) -> Result<Sizes, Diagnostic> {
    let Some(first) = c.advance() else { return Err(unknown(place, "a designation is missing here".to_owned())) };
    let text = first.text;
    for prefix in ["M", "Tr", "HA", "HB", "Rp", "Rc", "G", "R"] {
        if let Some(rest) = text.strip_prefix(prefix)
            && (rest.is_empty() || rest.starts_with(|ch: char| ch.is_ascii_digit()))
        {
            let size = if rest.is_empty() { c.advance().map_or("", |i| i.text).to_owned() } else { rest.to_owned() };
            return prefixed(c, prefix, &size, place);
        }
    }
    inch(c, text, place)
}

/// `M`, `Tr`, `HA`, `HB`, `G`, `R` and what follows.
fn prefixed(c: &mut Cursor, prefix: &str, size: &str, place: Place) -> Result<Sizes, Diagnostic> {
    let not_found = || unknown(place, format!("the tables have no thread `{prefix} {size}`"));
    match prefix {
        "M" | "Tr" => {
            let (major, pitch) = match size.split_once('x') {
                Some((a, b)) => (values::number(a), values::number(b)),
                None => (values::number(size), None),
            };
            let major = major.filter(|m| *m > 0.0).map(Length::mm).ok_or_else(not_found)?;
            let pitch = match pitch {
                Some(p) => Some(Length::mm(p)),
                None => pitch_behind(c)?,
            };
            if prefix == "Tr" { trapezoidal(major, pitch, place) } else { metric(major, pitch, place) }
        }
        "HA" | "HB" => {
            let major = values::number(size).map(Length::mm).ok_or_else(not_found)?;
            let row = table::bone(prefix, major).ok_or_else(not_found)?;
            let form = if prefix == "HA" { ThreadForm::BoneShallow } else { ThreadForm::BoneDeep };
            let flank = row.leading_flank + row.trailing_flank;
            Ok(Sizes {
                provisional: row.provisional,
                ..plain(form, row.designation.clone(), row.major, row.core, row.core, row.pitch, flank)
            })
        }
        "G" => {
            let row = table::pipe_parallel(size).ok_or_else(not_found)?;
            let designation = format!("G {size}");
            Ok(plain(
                ThreadForm::PipeParallel,
                designation,
                row.major,
                row.minor,
                row.minor,
                row.pitch,
                Angle::deg(55.0),
            ))
        }
        _ => {
            let row = table::pipe_taper(size).ok_or_else(not_found)?;
            let g = row.gauge_plane;
            let designation = format!("{prefix} {size}");
            let sizes = plain(ThreadForm::PipeTaper, designation, g.major, g.minor, g.minor, g.pitch, Angle::deg(55.0));
            Ok(Sizes { taper: (prefix != "Rp").then_some(1.0 / 16.0), ..sizes })
        }
    }
}

/// `x 0.7` behind a size.
fn pitch_behind(c: &mut Cursor) -> Result<Option<Length>, Diagnostic> {
    if c.take_word("x").is_none() {
        // `M8 x1`: glued to what follows.
        let Some(item) = c.peek().filter(|i| i.kind == Kind::Word && i.text.starts_with('x')) else { return Ok(None) };
        let Some(pitch) = values::number(&item.text[1..]) else { return Ok(None) };
        c.advance();
        return Ok(Some(Length::mm(pitch)));
    }
    match c.take(Kind::Number).and_then(|i| values::number(i.text)) {
        Some(p) if p > 0.0 => Ok(Some(Length::mm(p))),
        _ => {
            Err(Diagnostic::error("missing-value", c.place(), "the pitch is missing here").help("for example `M8 x 1`"))
        }
    }
}

fn plain(
    form: ThreadForm,
    designation: String,
    major: Length,
    minor_external: Length,
    minor_internal: Length,
    pitch: Length,
    flank: Angle,
) -> Sizes {
    Sizes {
        form,
        designation,
        class: None,
        major,
        minor_external,
        minor_internal,
        pitch,
        starts: None,
        left: false,
        flank,
        taper: None,
        provisional: false,
    }
}

fn metric(major: Length, pitch: Option<Length>, place: Place) -> Result<Sizes, Diagnostic> {
    let print = |l: Length| crate::quantity::print::number(l.to_mm(), 3);
    let coarse = table::metric_coarse_pitch(major);
    let Some(p) = pitch.or(coarse) else {
        return Err(unknown(place, format!("ISO 261 has no coarse pitch for M{}", print(major))));
    };
    if p >= major / 2.0 {
        return Err(Diagnostic::error("pitch-too-large", place, format!("a pitch of {p} is too large for {major}"))
            .help("the pitch of a thread is a fraction of its diameter"));
    }
    let designation = if pitch.is_none() || coarse == Some(p) && pitch.is_none() {
        format!("M{}", print(major))
    } else {
        format!("M{} x {}", print(major), print(p))
    };
    // Sizes outside the series are cut as well: their diameters follow from the basic profile of ISO 68-1.
    let (external, internal) = match table::metric(major, p) {
        Some(row) => (row.minor_external, row.minor_internal),
        None => (major - p * 1.226_869, major - p * 1.082_532),
    };
    Ok(plain(ThreadForm::Metric, designation, major, external, internal, p, Angle::deg(60.0)))
}

fn trapezoidal(major: Length, pitch: Option<Length>, place: Place) -> Result<Sizes, Diagnostic> {
    let Some(p) = pitch else {
        return Err(Diagnostic::error("missing-value", place, "a trapezoidal thread needs its pitch")
            .help("for example `Tr 8 x 1.5`"));
    };
    let print = |l: Length| crate::quantity::print::number(l.to_mm(), 3);
    let row = table::trapezoidal(major, p)
        .ok_or_else(|| unknown(place, format!("ISO 2904 has no Tr {} x {}", print(major), print(p))))?;
    Ok(plain(
        ThreadForm::Trapezoidal,
        row.designation.clone(),
        row.major,
        row.minor_external,
        row.minor_internal,
        row.pitch,
        Angle::deg(30.0),
    ))
}

/// Inch threads: `1/4-20 UNC 2A`, `.3125-24 UNJF-3A`, `10-32 UNF`, `1/4-18 NPT`, `1/2-10 ACME`.
fn inch(c: &mut Cursor, first: &str, place: Place) -> Result<Sizes, Diagnostic> {
    // `1-1/4-7`: the threads per inch stand behind the last hyphen.
    let Some((size, tpi)) = first.rsplit_once('-').and_then(|(s, t)| t.parse::<f64>().ok().map(|t| (s.to_owned(), t)))
    else {
        return Err(unknown(place, format!("`{first}` begins no designation of a thread")));
    };
    let Some(series) = c.take(Kind::Word) else {
        return Err(Diagnostic::error("missing-value", c.place(), "the series is missing here")
            .help("for example `1/4-20 UNC 2A`"));
    };
    let (series_word, glued_class) = match series.text.split_once('-') {
        Some((s, class)) => (s.to_owned(), Some(class.to_owned())),
        None => (series.text.to_owned(), None),
    };
    if tpi <= 0.0 || tpi > 200.0 {
        return Err(unknown(place, format!("{tpi} threads per inch make no thread")));
    }
    let designation = format!("{first} {series_word}");
    let not_found = || unknown(place, format!("the tables have no thread `{designation}`"));
    let pitch = Length::inch(1.0 / tpi);
    let mut sizes = match series_word.as_str() {
        "NPT" => {
            let row = table::npt(&size).filter(|r| (r.tpi - tpi).abs() < 1e-6).ok_or_else(not_found)?;
            // Height of the profile is 0.8 of the pitch (ASME B1.20.1); diameters at the small end.
            let height = row.pitch * 0.8;
            let major = row.pitch_dia_small_end + height;
            let minor = row.pitch_dia_small_end - height;
            let s = plain(ThreadForm::Npt, designation.clone(), major, minor, minor, row.pitch, Angle::deg(60.0));
            Sizes { taper: Some(1.0 / 16.0), ..s }
        }
        "ACME" => {
            let row = table::acme(&size).filter(|r| (r.tpi - tpi).abs() < 1e-6).ok_or_else(not_found)?;
            plain(ThreadForm::Acme, designation.clone(), row.major, row.minor, row.minor, row.pitch, Angle::deg(29.0))
        }
        "UN" | "UNC" | "UNF" | "UNEF" | "UNS" | "UNJ" | "UNJC" | "UNJF" | "UNJEF" => {
            let major = table::unified_major(&size, tpi).ok_or_else(not_found)?;
            let named = !matches!(series_word.as_str(), "UN" | "UNS" | "UNJ");
            let row = table::unified(&size, tpi);
            let fits = row.is_some_and(|r| r.series == series_word.replace("UNJ", "UN"));
            if named && !fits {
                let right = table::unified_tpi(&size, &series_word);
                let d = unknown(place, format!("{size} has no {tpi} threads per inch in {series_word}"));
                return Err(match right {
                    Some(t) => d.help(format!("did you mean `{size}-{t} {series_word}`?")),
                    None => d,
                });
            }
            let form = if series_word.contains('J') {
                ThreadForm::UnifiedJ(series_word.clone())
            } else {
                ThreadForm::Unified(series_word.clone())
            };
            // UNJ's controlled root leaves 0.5774 of the pitch as depth (ASME B1.15).
            let external = match (&form, row) {
                (ThreadForm::UnifiedJ(_), _) => major - pitch * 1.154_7,
                (_, Some(r)) => r.thread.minor_external,
                _ => major - pitch * 1.226_869,
            };
            let internal = row.map_or(major - pitch * 1.082_532, |r| r.thread.minor_internal);
            plain(form, designation.clone(), major, external, internal, pitch, Angle::deg(60.0))
        }
        _ => {
            let d = Diagnostic::error(
                "unknown-word",
                series.place,
                format!("`{series_word}` is no series of inch threads"),
            );
            let known = ["UN", "UNC", "UNF", "UNEF", "UNS", "UNJ", "UNJC", "UNJF", "NPT", "ACME"];
            return Err(
                match clauses::nearest(&series_word.to_lowercase(), known.iter().copied())
                    .or_else(|| known.iter().copied().find(|k| k.eq_ignore_ascii_case(&series_word)))
                {
                    Some(near) => d.help(format!("did you mean `{near}`?")).fix(near),
                    None => d.help("series are UN, UNC, UNF, UNEF, UNJ, NPT and ACME"),
                },
            );
        }
    };
    sizes.class = glued_class;
    Ok(sizes)
}
