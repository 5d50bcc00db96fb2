//! A part on a machine in a mode: which stock, which operations with which tools in which places, how the two spindles
//! share the work, how long a piece takes, and what must be set up.
//!
//! The plan decides nothing about fitness: it carries the numbers (evidence) that the rules of the floor above compare.

pub mod bands;
pub mod bar_speed;
pub mod blank;
pub mod chains;
pub mod choose;
pub mod cycle;
pub mod deflection;
pub mod hand_over;
pub mod holding;
pub mod land;
pub mod methods;
pub mod operation;
pub mod places;
pub mod re_grip;
pub mod second_choice;
pub mod sequence;
pub mod setup;
pub mod slender;
pub mod support;

use crate::formulas::FormulaError;
use crate::model::calibration::CycleCorrection;
use crate::model::machine::{Attachment, Machine, Mode, ModeKind, Side};
use crate::model::part::{End, Feature, FeatureId, Kind, Part, Zone};
use crate::model::profile::{Segment, contour};
use crate::model::shop::{Shop, ShopMachine};
use crate::quantity::{Length, Mass, Money, RotationalSpeed, Time, Velocity};
use crate::tables::thresholds::Thresholds;
use blank::Blank;
use cycle::Cycle;
use deflection::Capability;
use hand_over::HandOver;
use holding::Missing;
use operation::{Gap, Operation, ThreadWork, Tool};
use places::Assignment;
use setup::Setup;
use std::f64::consts::PI;

/// Everything about a part that no machine changes, worked out once.
#[derive(Clone, Debug)]
pub struct PartView<'a> {
    pub part: &'a Part,
    /// As it leaves the machine: with the stock that is left for grinding.
    pub contour: Vec<Segment>,
    pub length: Length,
    pub largest: Length,
}

impl<'a> PartView<'a> {
    /// Looks at a part.
    pub fn new(part: &'a Part) -> PartView<'a> {
        let mut contour = contour(part);
        for segment in &mut contour {
            let shaped =
                matches!(part.features[segment.feature].kind, Kind::Turn(_) | Kind::Taper(_) | Kind::Sphere(_));
            if let Some(stock) = part.ground_after(segment.feature).filter(|_| shaped) {
                segment.start_dia += stock;
                segment.end_dia += stock;
            }
        }
        PartView { part, contour, length: part.length.nominal, largest: part.largest_dia() }
    }

    /// The outer diameter at a place along z; at a shoulder the larger of the two, from whichever end it is looked at.
    pub fn dia_at(&self, z: Length) -> Length {
        let near = Length::um(0.01);
        let there = self.contour.iter().filter(|s| z >= s.zone.start - near && z <= s.zone.end + near);
        there.map(|s| s.dia_at(z)).max_by(Length::total_cmp).unwrap_or(self.largest)
    }

    /// The diameter of a turned feature; of any other the part's largest.
    pub fn dia_of(&self, id: FeatureId) -> Length {
        match &self.feature(id).kind {
            Kind::Turn(t) => t.dia.nominal,
            _ => self.largest,
        }
    }

    /// The largest axial bore at a place along z; nought where there is none.
    pub fn bore_at(&self, z: Length) -> Length {
        let mut bore = Length::ZERO;
        for f in &self.part.features {
            if let Kind::Bore(b) = &f.kind
                && z >= b.zone.start
                && z <= b.zone.end
            {
                bore = bore.max(b.dia.nominal);
            }
        }
        bore
    }

    /// The mass of the finished part: its contour less its axial bores. Cross holes, flats and threads are left in.
    pub fn mass(&self) -> Mass {
        let mut mm3 = 0.0;
        for s in &self.contour {
            let (a, b) = (s.start_dia.to_mm(), s.end_dia.to_mm());
            mm3 += PI / 12.0 * (a * a + a * b + b * b) * s.zone.length().to_mm();
        }
        // Bores by stretches between all their ends, each at its widest.
        let mut ends: Vec<Length> = Vec::new();
        for f in &self.part.features {
            if let Kind::Bore(b) = &f.kind {
                ends.extend([b.zone.start, b.zone.end]);
            }
        }
        ends.sort_by(Length::total_cmp);
        for pair in ends.windows(2) {
            let bore = self.bore_at((pair[0] + pair[1]) / 2.0).to_mm();
            mm3 -= PI / 4.0 * bore * bore * (pair[1] - pair[0]).to_mm();
        }
        Mass::kg(mm3.max(0.0) * 1e-9 * self.part.material.density_kg_m3)
    }

    /// Whether a feature is turned about an axis of its own.
    pub fn is_eccentric(&self, id: FeatureId) -> bool {
        matches!(&self.part.features[id].kind, Kind::Turn(t) if t.offset.is_some())
    }

    /// A feature by its number.
    pub fn feature(&self, id: FeatureId) -> &'a Feature {
        &self.part.features[id]
    }
}

/// Which attachments the plan may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reach {
    /// Only what the shop owns.
    Owned,
    /// What could be bought for the machine as well.
    Purchasable,
}

/// One question to the planner.
#[derive(Clone, Copy, Debug)]
pub struct Task<'a> {
    pub view: &'a PartView<'a>,
    pub machine: &'a Machine,
    pub mode: &'a Mode,
    pub shop: &'a Shop,
    pub thresholds: &'a Thresholds,
    /// The end that is made first, on the main spindle.
    pub first: End,
    pub reach: Reach,
    /// Pieces of the order that decides between ways to make a feature: mounting a tool is spread over them. With
    /// [`choose::ENDLESS`] the shortest cycle decides, in whatever way.
    pub lot: u64,
    /// What the bar behind the main spindle stands: nothing until the bar is known.
    pub bar_speed: Option<RotationalSpeed>,
    /// What the free end stands while the last of it is turned: nothing until the bar is known, or where it is stiff.
    pub whip_speed: Option<RotationalSpeed>,
}

impl<'a> Task<'a> {
    /// The question for one piece with what the shop owns, before a bar is chosen.
    pub fn new(
        view: &'a PartView<'a>,
        machine: &'a Machine,
        mode: &'a Mode,
        shop: &'a Shop,
        thresholds: &'a Thresholds,
        first: End,
    ) -> Task<'a> {
        let (reach, lot) = (Reach::Owned, 1);
        Task { view, machine, mode, shop, thresholds, first, reach, lot, bar_speed: None, whip_speed: None }
    }

    /// The same once the bar is known: behind the spindle and in front of it, it may have to be held back.
    #[must_use]
    pub fn with_bar(self, blank: &Blank) -> Task<'a> {
        let bar_speed = bar_speed::guidance(&self, blank).map(|g| g.allowed);
        Task { bar_speed, whip_speed: slender::free_end(&self).map(|f| f.limit), ..self }
    }

    /// What the shop file says about this machine.
    pub fn shop_machine(&self) -> Option<&'a ShopMachine> {
        self.shop.machines.get(&self.machine.name)
    }

    /// What the shop's own records correct the cycle by.
    pub fn cycle_correction(&self) -> CycleCorrection<'a> {
        self.shop.calibration.of_cycle(&self.machine.name, self.view.part)
    }

    /// How many of an attachment the plan may use.
    pub fn available(&self, attachment: &Attachment) -> u32 {
        match self.reach {
            Reach::Owned => self.owned(attachment),
            Reach::Purchasable => u32::MAX,
        }
    }

    /// How many of an attachment the shop owns for this machine.
    pub fn owned(&self, attachment: &Attachment) -> u32 {
        self.shop_machine().and_then(|m| m.owned.get(&attachment.name)).copied().unwrap_or(0)
    }

    /// Whether the work of a side is held by a guide bushing.
    pub fn guided(&self) -> bool {
        self.mode.kind == ModeKind::Guided
    }

    /// The highest speed of a work spindle that the spindle, the mode and, once it is known, the bar allow, where spindle or
    /// mode state one.
    pub fn speed_cap(&self, side: Side) -> Option<RotationalSpeed> {
        match side {
            Side::Main => {
                let mode = self.mode.speed.and_then(|r| r.high);
                let spindle = self.machine.main.speed.and_then(|r| r.high);
                let cap = match (mode, spindle) {
                    (Some(a), Some(b)) => Some(a.min(b)),
                    (a, b) => a.or(b),
                };
                cap.map(|n| self.bar_speed.map_or(n, |bar| n.min(bar)))
            }
            Side::Sub => self.machine.sub.as_ref().and_then(|s| s.spindle.speed).and_then(|r| r.high),
        }
    }

    /// Distance of a place on the part from the end that is made first.
    pub fn from_first(&self, z: Length) -> Length {
        match self.first {
            End::Front => z,
            End::Back => self.view.length - z,
        }
    }

    /// A zone seen from the end that is made first: `start` is nearer to it.
    pub fn zone_from_first(&self, zone: Zone) -> Zone {
        match self.first {
            End::Front => zone,
            End::Back => Zone { start: self.view.length - zone.end, end: self.view.length - zone.start },
        }
    }

    /// Rapid traverse; 30 m/min where the machine does not state it (common practice, no source).
    pub fn rapid(&self) -> Velocity {
        self.machine.rapid.map_or(Velocity::m_per_min(30.0), |r| r.value)
    }
}

/// What moving a validated process to the machine of a plan costs, and how long it takes by the calendar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moving {
    pub cost: Money,
    pub time: Time,
}

/// A plan and the numbers behind it.
#[derive(Clone, Debug)]
pub struct Plan {
    pub first: End,
    pub reach: Reach,
    pub blank: Blank,
    pub tools: Vec<Tool>,
    pub operations: Vec<Operation>,
    /// What no method on this machine can make, and why.
    pub gaps: Vec<Gap>,
    pub threads: Vec<ThreadWork>,
    pub assignment: Assignment,
    pub capabilities: Vec<Capability>,
    pub hand_over: Option<HandOver>,
    pub cycle: Cycle,
    pub setup: Setup,
    /// Collets and bushings that are not at hand.
    pub missing: Vec<Missing>,
    /// The process is frozen elsewhere and may be moved here.
    pub moving: Option<Moving>,
    /// Attachments beyond those owned: number in [`Machine::options`] and how many.
    pub to_buy: Vec<(usize, u32)>,
    /// Ways that are not the usual or fastest ones because places force them.
    pub second_choices: Vec<second_choice::SecondChoice>,
    /// The tools and places of the usual ways, where those do not all find a place and others were chosen.
    pub usual: Option<(Vec<Tool>, Assignment)>,
}

/// Plans a part on a machine in a mode with one end made first.
///
/// # Errors
/// [`FormulaError`] where a figure of the part or the machine lies outside what a formula is valid for.
pub fn plan(task: &Task) -> Result<Plan, FormulaError> {
    let blank = blank::choose(task)?;
    let task = &task.with_bar(&blank);
    let ways = methods::gather(task, &blank)?;
    let choose::Chosen { best, second_choices, usual, .. } = choose::choose(task, &blank, &ways)?;
    let choose::LaidOut { work, assignment, cycle, .. } = best;
    let capabilities = deflection::capabilities(task, &blank, &work.operations, &work.tools)?;
    let hand_over = hand_over::find(task, &work.operations, &cycle.sides);
    let missing = holding::missing(task, &blank, hand_over.as_ref());
    let frozen = task.view.part.validated.as_ref().filter(|v| !v.holds(&task.machine.name, task.mode.kind));
    let moving = frozen.and_then(|v| v.moving).map(|(cost, time)| Moving { cost, time });
    let job = setup::Job {
        blank: &blank,
        tools: &work.tools,
        operations: &work.operations,
        assignment: &assignment,
        cycle: &cycle,
        hand_over: hand_over.as_ref(),
        missing: &missing,
        moving,
    };
    let setup = setup::from_present_state(task, &job);
    let to_buy = task
        .machine
        .options
        .iter()
        .enumerate()
        .filter_map(|(i, option)| {
            let over = assignment.attachments_used(i).saturating_sub(task.owned(option));
            (over > 0).then_some((i, over))
        })
        .collect();
    Ok(Plan {
        first: task.first,
        reach: task.reach,
        blank,
        tools: work.tools,
        operations: work.operations,
        gaps: work.gaps,
        threads: work.threads,
        assignment,
        capabilities,
        hand_over,
        cycle,
        setup,
        missing,
        moving,
        to_buy,
        second_choices,
        usual,
    })
}
