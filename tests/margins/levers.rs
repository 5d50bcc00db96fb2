//! For each rule the stated figure that moves its margin, and by how much it must be moved for a given change of the margin.

use super::bar::BAR;
use super::tools::TOOLS;
use super::world::World;
use turnwright::matching::Verdict::Refused;
use turnwright::matching::{Figure, Finding, Verdict};
use turnwright::model::machine::Range;
use turnwright::model::part::Kind;
use turnwright::planning::places::Obstacle;
use turnwright::quantity::Length;

/// A figure that moves the margin of a rule.
pub(crate) struct Lever {
    pub(crate) rule: &'static str,
    /// The figure, as a planner would name it.
    pub(crate) figure: &'static str,
    /// What the rule says beyond the margin.
    pub(crate) beyond: Verdict,
    /// The plan depends on the figure: it is made anew.
    pub(crate) plans_again: bool,
    /// Whether a finding is one whose margin this figure moves.
    pub(crate) moves: fn(&World, &Finding) -> bool,
    /// Makes it worse by so much of the margin's unit, or better where that is negative.
    pub(crate) worsen: fn(&mut World, &Finding, f64),
}

pub(crate) const fn lever(
    rule: &'static str,
    figure: &'static str,
    beyond: Verdict,
    moves: fn(&World, &Finding) -> bool,
    worsen: fn(&mut World, &Finding, f64),
) -> Lever {
    Lever { rule, figure, beyond, plans_again: false, moves, worsen }
}

/// The same where the plan depends on the figure.
pub(crate) const fn planned(
    rule: &'static str,
    figure: &'static str,
    beyond: Verdict,
    moves: fn(&World, &Finding) -> bool,
    worsen: fn(&mut World, &Finding, f64),
) -> Lever {
    Lever { plans_again: true, ..lever(rule, figure, beyond, moves, worsen) }
}

pub(crate) fn asked(f: &Finding) -> f64 {
    f.asked.value().unwrap_or(f64::NAN)
}

pub(crate) fn offered(f: &Finding) -> f64 {
    f.offered.value().unwrap_or(f64::NAN)
}

pub(crate) fn margin(f: &Finding) -> f64 {
    f.margin.as_ref().and_then(Figure::value).unwrap_or(f64::NAN)
}

pub(crate) fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1.0)
}

/// What is offered must not fall below what is asked.
pub(crate) fn least(f: &Finding) -> bool {
    near(margin(f), offered(f) - asked(f))
}

pub(crate) fn any(_: &World, _: &Finding) -> bool {
    true
}

/// The drawing's tolerance binds, and not that of turning for grinding.
fn not_ground(w: &World, f: &Finding) -> bool {
    f.feature.is_none_or(|id| w.part.ground_after(id).is_none())
}

/// The blank of a thread whose class has limits: no figure of the drawing opens them.
pub(crate) fn of_class(w: &World, f: &Finding) -> bool {
    let Some(Kind::Turn(blank)) = f.feature.map(|id| &w.part.features[id].kind) else { return false };
    let over = |kind: &Kind| match kind {
        Kind::Thread(t) => t.zone.overlap(&blank.zone) > Length::um(1.0) && t.crest_limits().is_some(),
        _ => false,
    };
    blank.thread_blank && w.part.features.iter().any(|other| over(&other.kind))
}

/// The drawing's tolerance binds: not that of turning for grinding, nor the class of a thread over its blank.
pub(crate) fn of_drawing(w: &World, f: &Finding) -> bool {
    not_ground(w, f) && !of_class(w, f)
}

pub(crate) fn length(_: &World, f: &Finding) -> bool {
    matches!(f.asked, Figure::Length(_))
}

pub(crate) fn number(_: &World, f: &Finding) -> bool {
    matches!(f.asked, Figure::Number(_))
}

pub(crate) fn speed(_: &World, f: &Finding) -> bool {
    matches!(f.asked, Figure::Speed(_))
}

/// A range of the machine up to another value.
pub(crate) fn up_to<T: Copy>(range: &mut Option<Range<T>>, high: T) {
    let (low, place) = range.as_ref().map_or((None, Default::default()), |r| (r.low, r.place));
    *range = Some(Range { low, high: Some(high), place });
}

/// Every lever.
pub(crate) fn levers() -> impl Iterator<Item = &'static Lever> {
    BAR.iter().chain(TOOLS)
}

/// Rules and findings whose margin no figure moves, each with its reason.
pub(crate) type Unmoved = (&'static str, fn(&World, &Finding) -> bool, &'static str);

pub(crate) static UNMOVED: &[Unmoved] = &[
    ("validated", any, "the process was released there or it was not"),
    ("coil", any, "the tools turn about the wire or the spindle turns it"),
    ("collets", any, "it lies in the drawer or it does not"),
    ("bar-phase", any, "a bushing turns or stands still"),
    ("contouring", any, "axes move at once or do not"),
    ("coolant", any, "oil or emulsion"),
    ("edges", any, "it is cut before or it is cut after"),
    ("back-work", any, "there is a sub-spindle or there is none"),
    ("tool-places", any, "what is short of a place takes another row, or another way: held by planning without it"),
    ("tool-storage", |_, f| matches!(f.asked, Figure::Count(_)), "a pocket less moves a tool or lacks a place"),
    (
        "holder-size",
        |w, f| f.verdict != Refused && lacks_holder(w, f),
        "another tool of that size has no holder already",
    ),
    ("hand-over", |_, f| f.reason.starts_with("no plain"), "the drawing has no plain diameter at all"),
    ("capability", |w, f| !not_ground(w, f), "the tolerance of turning for grinding is a grade of a table"),
    ("deep-hole", |_, f| f.reason.contains("no class of drill"), "the depth of a class of drills is no stated figure"),
    ("angle", |_, f| f.reason.contains("in steps of"), "a step is hit or missed"),
    ("boring-reach", |w, f| length(w, f) && !least(f), "a bar that has no thickness left"),
    ("tap-drill", |w, f| w.beneath(f.feature.unwrap()).is_none(), "the hole is drilled to the thread's own size"),
    ("thread-method", |w, f| !length(w, f), "a way is found or none"),
];

/// Whether a tool has no holder that is as large as the one of a finding.
pub(crate) fn lacks_holder(w: &World, f: &Finding) -> bool {
    let obstacles = w.plan.assignment.obstacles.iter();
    obstacles
        .filter_map(|(_, o)| if let Obstacle::Holder { needed, .. } = o { Some(needed.to_mm()) } else { None })
        .any(|needed| near(needed, asked(f)))
}
