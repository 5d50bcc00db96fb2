//! Is the part still held when it is drawn back?

use super::prelude::*;
use crate::model::machine::Side;
use crate::planning::land::{self, LandLimit};
use crate::planning::operation::{Operation, Work};
use crate::quantity::Length;

/// Work that draws turned stretches back into the guide bushing.
#[derive(Clone, Copy, Debug)]
pub(super) struct PullBack;

const STATED: &str = "s <= min(l, k x d)";
const USUAL: &str = "s <= k x d";

const DOC: Doc = Doc {
    question: "is the part still held when a pass draws it back into the bushing?",
    what: "the stretch that threading in passes, or milling, draws back against the land of the guide bushing, at most four diameters of the work",
    formulas: &[STATED, USUAL],
    why: "what has been turned down no longer fills the bushing: only the bar behind it, within the land, is held, and what is turned down stands free",
    source: "common practice, no source",
    trips: include_str!("examples/pull-back.trips.turn"),
    passes: include_str!("examples/pull-back.passes.turn"),
};

impl Rule for PullBack {
    fn name(&self) -> &'static str {
        "pull-back"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let drawn = case.plan.operations.iter().filter_map(|op| Some((over_land(case, op)?, op.feature?, op.work)));
        let worst = drawn.max_by(|a, b| (a.0.length - a.0.most).total_cmp(&(b.0.length - b.0.most)));
        let Some((Drawn { length, most, by, dia }, feature, work)) = worst else { return };
        let land = case.task.mode.land.filter(|_| by == LandLimit::Land);
        let limit = match by {
            LandLimit::Land => format!("its land holds {most}"),
            LandLimit::Slender => {
                format!("beyond {most}, {} D of the work, it stands free there", case.task.thresholds.land_usual)
            }
        };
        let remedy = match work {
            Work::SinglePoint | Work::ThreadMill => {
                "one pass (a die, rolling), slices that are held, or support by the sub-spindle"
            }
            Work::Whirl => "the blank turned and whirled in slices that are held, or support by the sub-spindle",
            _ => "milled in slices as the bar comes out, or support by the sub-spindle",
        };
        out.push(
            Finding::new(self.name(), Verdict::Warns, Figure::Length(length), Figure::Length(most))
                .by(case, if case.task.mode.land.is_some() { STATED } else { USUAL }, || {
                    let stated =
                        case.task.mode.land.map(|l| Term::machine("l", "land of the guide bushing", l.value, l.place));
                    let mut terms = vec![
                        Term::part("s", "stretch that is drawn back", length, place(case, feature)),
                        Term::threshold("k", case.task.thresholds.land_usual, "land-usual"),
                        Term::part("d", "diameter of the work there", dia, place(case, feature)),
                    ];
                    terms.extend(stated);
                    terms
                })
                .about(feature)
                .at(land.map(|l| l.place))
                .because(format!(
                    "`{}`, {}: each pass draws {length} back into the bushing, {limit}",
                    name(case, feature),
                    work.word()
                ))
                .unless(remedy),
        );
    }
}

/// A stretch that is drawn back into the guide bushing, further than it may.
pub(super) struct Drawn {
    length: Length,
    most: Length,
    by: LandLimit,
    /// The work's diameter there.
    dia: Length,
}

/// What an operation draws back further than land and diameter of the work allow.
pub(super) fn over_land(case: &Case, op: &Operation) -> Option<Drawn> {
    if !case.task.guided() || op.side != Side::Main {
        return None;
    }
    let view = case.task.view;
    let kind = &view.part.features[op.feature?].kind;
    let again = match op.work {
        Work::SinglePoint | Work::ThreadMill => op.passes > 1 && !matches!(kind, Kind::Thread(t) if t.internal),
        // The blank is turned first, so even the one pass of the ring begins with all of it drawn back.
        Work::Whirl => true,
        Work::MillFlats | Work::MillSlot => op.passes > 1 || op.count > 1,
        Work::MillContour | Work::RoughContour => true,
        _ => false,
    };
    if !again {
        return None;
    }
    let stretch = view.part.stretch(kind);
    let dia = view.dia_at((stretch.start + stretch.end) / 2.0);
    // What keeps the bar's own diameter still fills the bushing.
    if case.plan.blank.size - dia <= case.plan.blank.size_tolerance {
        return None;
    }
    let (length, (most, by)) = (stretch.length(), land::drawn_back_to(case.task, dia));
    (length > most).then_some(Drawn { length, most, by, dia })
}
