//! Ways to make each feature. Where several work, the whole job decides: the fastest set of methods for which every tool
//! finds a place.

pub mod axial;
pub mod cross;
pub mod cutting_data;
pub mod milled;
pub mod threads;
pub mod turned;

use super::blank::Blank;
use super::operation::{Shank, Tool, ToolKind, Work, WorkList};
use super::places::{self, Assignment};
use super::{PartView, Task};
use crate::formulas::FormulaError;
use crate::model::machine::Side;
use crate::model::part::{End, FeatureId};
use crate::quantity::{Angle, Length, Torque};

/// How many combinations of methods are tried before the best found is kept. The demo's most complex part has four.
const MOST_COMBINATIONS: usize = 64;

/// The methods that the whole job decided for.
#[derive(Clone, Debug)]
pub struct Chosen {
    pub work: WorkList,
    pub assignment: Assignment,
    /// Choices that were not the fastest, in words.
    pub second_choices: Vec<String>,
    /// The tools and places of the fastest methods, where they do not all find a place.
    pub fastest: Option<(Vec<Tool>, Assignment)>,
}

/// The work list with its places: of the combinations of methods for which every tool finds a place the one that needs the
/// fewest attachments bought, of those the fastest; or the fastest of all with its competing tools where there is none.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside what a formula is valid for.
pub fn choose(task: &Task, blank: &Blank) -> Result<Chosen, FormulaError> {
    let mut base = WorkList::default();
    turned::plan(task, blank, &mut base)?;
    axial::plan(task, blank, &mut base)?;
    cross::plan(task, blank, &mut base)?;
    milled::plan(task, blank, &mut base)?;
    let choices = threads::choices(task, blank, &mut base)?;
    let mut combinations: Vec<Vec<usize>> = vec![Vec::new()];
    for options in &choices {
        let mut longer = Vec::new();
        for prefix in &combinations {
            for i in 0..options.len() {
                let mut next = prefix.clone();
                next.push(i);
                longer.push(next);
            }
        }
        combinations = longer;
        combinations.truncate(MOST_COMBINATIONS);
    }
    // The choices of each thread stand in order of preference: fewest second choices first, then the time.
    let second = |c: &Vec<usize>| c.iter().filter(|i| **i > 0).count();
    let time = |c: &Vec<usize>| c.iter().zip(&choices).map(|(i, options)| options[*i].total().to_s()).sum::<f64>();
    combinations
        .sort_by(|a, b| second(a).cmp(&second(b)).then_with(|| time(a).total_cmp(&time(b))).then_with(|| a.cmp(b)));
    let mut fastest: Option<(WorkList, Assignment)> = None;
    let mut best: Option<(u32, Chosen)> = None;
    for combination in &combinations {
        let mut work = base.clone();
        let mut words = Vec::new();
        for (i, options) in combination.iter().zip(&choices) {
            options[*i].add_to(&mut work);
            if *i != 0 {
                words.push(options[*i].against(&options[0], task));
            }
        }
        let assignment = places::assign(task, &work);
        if !assignment.is_complete() {
            if best.is_none() {
                fastest.get_or_insert((work, assignment));
            }
            continue;
        }
        // No head is bought for what another method makes with what is there.
        let bought = to_buy(task, &assignment);
        if best.as_ref().is_none_or(|(least, _)| bought < *least) {
            let fastest = fastest.as_ref().map(|(work, assignment)| (work.tools.clone(), assignment.clone()));
            let second_choices = if fastest.is_some() { words } else { Vec::new() };
            best = Some((bought, Chosen { work, assignment, second_choices, fastest }));
        }
        if bought == 0 {
            break;
        }
    }
    if let Some((_, chosen)) = best {
        return Ok(chosen);
    }
    let (work, assignment) = fastest.unwrap_or_else(|| {
        let assignment = places::assign(task, &base);
        (base, assignment)
    });
    Ok(Chosen { work, assignment, second_choices: Vec::new(), fastest: None })
}

/// How many attachments beyond those owned an assignment uses.
fn to_buy(task: &Task, assignment: &Assignment) -> u32 {
    let options = task.machine.options.iter().enumerate();
    options.map(|(i, option)| assignment.attachments_used(i).saturating_sub(task.owned(option))).sum()
}

/// What is known once every tool has its place: live tools turn no faster than their drive, and the work stands in the
/// order in which a setter would do it.
pub fn settle(task: &Task, work: &mut WorkList, assignment: &Assignment) {
    for op in &mut work.operations {
        let tool = &work.tools[op.tool];
        if !tool.live || tool.kind == ToolKind::WhirlingHead {
            continue;
        }
        let Some(placed) = assignment.placed.get(op.tool).and_then(Option::as_ref) else { continue };
        let carrier = &task.machine.carriers[assignment.rows[placed.row].carrier];
        let own = placed.attachment.and_then(|a| task.machine.options[a].speed).or(carrier.speed);
        if let Some(cap) = own.and_then(|r| r.high).filter(|cap| op.speed > *cap) {
            // The feed a revolution stays, so the time grows as the speed falls.
            op.cutting = op.cutting * (op.speed / cap);
            op.power = op.power * (cap / op.speed);
            op.speed = cap;
        }
    }
    work.operations.sort_by_key(|op| (op.side, stage(op.work)));
}

/// The order of work at one spindle: face first, holes before finishing, cross work before the finish pass over it,
/// threads late, cut-off last.
fn stage(work: Work) -> u8 {
    match work {
        Work::Face | Work::BackFace => 0,
        Work::Centre => 1,
        Work::Drill | Work::DeepDrill | Work::OscillatingDrill => 2,
        Work::Bore | Work::Ream | Work::InternalGroove | Work::FaceGroove => 3,
        Work::Tap | Work::Broach => 4,
        Work::RoughTurn => 5,
        Work::MillFlats | Work::MillSlot | Work::MillContour | Work::EndDrill | Work::SpotFace | Work::CrossDrill => 6,
        Work::Turn | Work::FinishTurn | Work::Groove | Work::Chamfer => 7,
        Work::Knurl | Work::SinglePoint | Work::ThreadMill | Work::Whirl | Work::Die | Work::Engrave | Work::Deburr => {
            8
        }
        Work::CutOff => 9,
    }
}

/// The spindle at which work into this end of the part is done.
pub(crate) fn side_of_end(task: &Task, end: End) -> Side {
    if end == task.first { Side::Main } else { Side::Sub }
}

/// The angle of a tool along the axis at a spindle.
pub(crate) fn axial_angle(side: Side) -> Angle {
    match side {
        Side::Main => Angle::deg(0.0),
        Side::Sub => Angle::deg(180.0),
    }
}

/// A fixed tool with a square shank, square to the axis.
pub(crate) fn turning_tool(kind: ToolKind, side: Side, width: Length, feature: Option<FeatureId>) -> Tool {
    Tool {
        kind,
        side,
        angle: Angle::deg(90.0),
        angle_tolerance: None,
        live: false,
        shank: Shank::Square,
        dia: width,
        off_axis: None,
        contouring: false,
        speed_wanted: None,
        torque: Torque::ZERO,
        attachment: None,
        features: feature.into_iter().collect(),
    }
}

/// A fixed tool along the axis with a round shank.
pub(crate) fn axial_tool(kind: ToolKind, side: Side, dia: Length, feature: FeatureId) -> Tool {
    Tool {
        angle: axial_angle(side),
        shank: Shank::Round(round_shank(dia)),
        dia,
        ..turning_tool(kind, side, dia, Some(feature))
    }
}

/// The shank that a drill or mill of this diameter has: small ones stand on a 3 mm shank (common practice, no source).
pub(crate) fn round_shank(dia: Length) -> Length {
    dia.max(Length::mm(3.0))
}

/// The blank's outer diameter where work on the main spindle begins.
pub(crate) fn blank_dia(blank: &Blank, view: &PartView) -> Length {
    blank.corners.max(view.largest)
}
