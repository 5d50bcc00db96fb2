//! The operation sheet of a job: operations with tool, place and cutting data, the cycle laid out in time, the setup, the
//! ways not taken, and what an attachment is worth.

pub mod csv;
pub(in crate::report) mod pages;
pub mod text;
mod timeline;

use super::answer::{RankAnswer, RowAnswer};
use crate::matching::worth::Worth;
use crate::matching::{Row, Standing, Verdict};
use crate::model::machine::{Machine, Side};
use crate::model::part::{Kind, Part, Zone};
use crate::planning::choose::Alternative;
use crate::planning::cycle::{Doing, Slot};
use crate::planning::operation::{Operation, Shank, Work};
use crate::planning::re_grip::ReGrip;
use crate::planning::{Plan, places};
use crate::quantity::Length;
use schemars::JsonSchema;
use serde::Serialize;

/// One line of the sheet: a stretch of the cycle at one spindle. The times of a spindle's lines, with its waits, make the
/// cycle as programmed.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SheetLine {
    /// Counted from 1 over both spindles.
    pub number: usize,
    pub spindle: &'static str,
    /// Both spindles are busy with it.
    pub hand_over: bool,
    pub work: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub feature: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tool: Option<String>,
    /// `cross 2`, or nothing where the tool finds no place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// Nothing where the spindle stands, and for movements without a tool.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub speed_rpm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub feed_mm_per_rev: Option<f64>,
    /// The diameter that is worked: turned to, of a drill, of a bore.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dia_mm: Option<f64>,
    /// Where along the drawing's z, from and to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub z_mm: Option<(f64, f64)>,
    /// Radial depth of a pass; nothing for drills.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depth_mm: Option<f64>,
    pub passes: u32,
    pub count: u32,
    pub start_s: f64,
    /// Waiting before it for the other spindle's work of the same group of carriers.
    pub wait_s: f64,
    pub change_s: f64,
    pub spindle_s: f64,
    pub approach_s: f64,
    pub live_s: f64,
    pub cutting_s: f64,
    pub moving_s: f64,
    pub end_s: f64,
    /// What a setter sets besides: ring speed and lean of a whirling head, a taper, re-grips.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    /// Why it stands where it does, where something forces it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order_reason: Option<&'static str>,
}

/// What a piece takes beyond the programmed cycle.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Share {
    pub what: String,
    pub seconds: f64,
}

/// A tool in its place.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PlaceLine {
    pub place: String,
    pub tool: String,
    pub spindle: &'static str,
    /// The attachment that carries it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub attachment: Option<String>,
    pub features: Vec<String>,
}

/// A stretch of the timeline on a carrier or a spindle.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Stretch {
    /// The line of the sheet that it is.
    pub number: usize,
    pub from_s: f64,
    pub cut_from_s: f64,
    pub cut_to_s: f64,
    pub to_s: f64,
    pub spindle: &'static str,
    pub what: String,
}

/// A row of the timeline.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TimelineRow {
    pub name: String,
    pub stretches: Vec<Stretch>,
}

/// A way to make a feature, taken or not.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AlternativeLine {
    pub feature: String,
    pub way: &'static str,
    pub taken: bool,
    pub seconds: f64,
    #[serde(skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

/// A job without an attachment or with it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WorthSide {
    pub mode: &'static str,
    pub verdict: Verdict,
    /// With what the shop owns besides.
    pub possible: bool,
    pub cycle_s: f64,
    pub setup_min: f64,
    pub cost: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refused_because: Option<String>,
}

/// What an attachment is worth for the job.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WorthAnswer {
    pub option: String,
    pub used: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub without: Option<WorthSide>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub with: Option<WorthSide>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pays_back_after: Option<f64>,
}

/// The whole sheet.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SheetAnswer {
    pub schema: u32,
    pub part: String,
    pub title: String,
    pub material: String,
    pub shop: String,
    pub currency: String,
    pub quantity: u64,
    pub repeat: bool,
    /// The job as the ranking tells it.
    pub job: RowAnswer,
    pub lines: Vec<SheetLine>,
    /// From one piece to the next as programmed.
    pub programmed_s: f64,
    /// When the hand-over begins and ends; nothing without a sub-spindle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hand_over_s: Option<(f64, f64)>,
    /// What comes on top of the programmed cycle.
    pub shares: Vec<Share>,
    pub places: Vec<PlaceLine>,
    pub free_places: Vec<String>,
    pub timeline: Vec<TimelineRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub alternatives: Vec<AlternativeLine>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub worth: Vec<WorthAnswer>,
    /// What the specs say beside the figures, for setter, inspector and buyer.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<super::answer::RemarkAnswer>,
    pub cautions: Vec<super::answer::CautionAnswer>,
    pub notes: Vec<String>,
}

impl SheetAnswer {
    /// Whether the job can be made with what the shop owns or could buy.
    pub fn possible(&self) -> bool {
        self.job.standing != Standing::Refused
    }
}

/// The sheet of one row of a ranking; `answer` is the ranking's own answer, of which `index` is the row.
pub fn sheet(part: &Part, machine: &Machine, row: &Row, answer: &RankAnswer, index: usize) -> SheetAnswer {
    let plan = &row.judged.plan;
    let lines = lines(part, machine, plan);
    let c = &plan.cycle;
    let mut shares = vec![Share { what: "bar change, its share".to_owned(), seconds: c.bar_change.to_s() }];
    shares.push(Share { what: "worn tools changed, its share".to_owned(), seconds: c.wear.to_s() });
    if c.chips.to_s() > 0.0 {
        shares.push(Share { what: "long chips cleared".to_owned(), seconds: c.chips.to_s() });
    }
    shares.push(Share { what: "contingency".to_owned(), seconds: c.contingency.to_s() });
    if c.correction.to_s() != 0.0 {
        shares.push(Share { what: "corrected by the shop's own records".to_owned(), seconds: c.correction.to_s() });
    }
    let begins = c.programmed - c.tie;
    SheetAnswer {
        schema: super::SCHEMA,
        part: answer.part.clone(),
        title: answer.title.clone(),
        material: answer.material.clone(),
        shop: answer.shop.clone(),
        currency: answer.currency.clone(),
        quantity: answer.quantity,
        repeat: answer.repeat,
        job: answer.rows[index].clone(),
        timeline: timeline(machine, plan, &lines),
        lines,
        programmed_s: c.programmed.to_s(),
        hand_over_s: machine.sub.is_some().then(|| (begins.to_s(), c.programmed.to_s())),
        shares,
        places: place_lines(part, machine, plan),
        free_places: free_places(machine, plan),
        alternatives: Vec::new(),
        worth: Vec::new(),
        remarks: crate::matching::remarks::of(part, machine).iter().map(Into::into).collect(),
        cautions: answer.cautions.clone(),
        notes: answer.notes.clone(),
    }
}

/// The ways of each feature as data.
pub fn alternative_lines(part: &Part, found: &[Alternative]) -> Vec<AlternativeLine> {
    let line = |a: &Alternative| AlternativeLine {
        feature: part.features[a.feature].name.clone(),
        way: a.way,
        taken: a.taken,
        seconds: a.time.to_s(),
        reason: a.reason.clone(),
    };
    found.iter().map(line).collect()
}

/// What an attachment is worth as data.
pub fn worth_answer(found: &Worth) -> WorthAnswer {
    let side = |row: &Row| WorthSide {
        mode: row.mode.word(),
        verdict: row.judged.verdict,
        possible: matches!(row.standing, Standing::Owned | Standing::NotStated),
        cycle_s: row.judged.plan.cycle.total.to_s(),
        setup_min: row.judged.plan.setup.total.to_minutes(),
        cost: row.cost.cost.to_units(),
        refused_because: match row.standing {
            Standing::WithPurchase => row.without.first().map(|f| f.reason.clone().into_owned()),
            _ => row.judged.findings.iter().find(|f| f.verdict == Verdict::Refused).map(|f| f.reason.to_string()),
        },
    };
    WorthAnswer {
        option: found.option.clone(),
        used: found.used,
        price: found.price.map(|p| p.to_units()),
        without: found.without.as_ref().map(side),
        with: found.with.as_ref().map(side),
        pays_back_after: found.pays_back_after,
    }
}

/// The diameter that an operation works to, where it works to one.
fn worked_dia(part: &Part, op: &Operation) -> Option<Length> {
    let left = op.feature.and_then(|f| part.ground_after(f)).unwrap_or(Length::ZERO);
    match op.work {
        Work::Centre
        | Work::Countersink
        | Work::Drill
        | Work::DeepDrill
        | Work::PeckDrill
        | Work::SingleLipDrill
        | Work::OscillatingDrill
        | Work::CrossDrill
        | Work::EndDrill
        | Work::SpotFace
        | Work::Ream => Some(op.depth),
        _ => match &part.features[op.feature?].kind {
            Kind::Turn(t) => Some(t.dia.nominal + left),
            Kind::Sphere(s) => Some(s.dia.nominal + left),
            Kind::Groove(g) => Some(g.dia.nominal),
            Kind::Undercut(u) => Some(u.dia.nominal),
            Kind::Bore(b) => Some(b.dia.nominal),
            Kind::Thread(t) if op.work == Work::Groove => Some(t.minor),
            Kind::Thread(t) => Some(t.major),
            Kind::Polygon(p) => Some(p.across.nominal),
            _ => None,
        },
    }
}

/// Where an operation works along the drawing.
fn worked_zone(part: &Part, op: &Operation) -> Option<Zone> {
    let of_feature = || op.feature.map(|f| part.stretch(&part.features[f].kind));
    // The zone of a chamfer says when its edge is there, not how wide it is.
    op.zone.filter(|_| op.work != Work::Chamfer).or_else(of_feature)
}

/// That the headstock goes back and grips the bar again while the piece is made, and where.
fn re_grip_words(part: &Part, re_grips: &[ReGrip]) -> Option<String> {
    let place = |grip: &ReGrip| match grip.on {
        Some(surface) => format!("{} on `{}`", grip.at, part.features[surface].name),
        None => format!("{} between surfaces", grip.at),
    };
    let places: Vec<String> = re_grips.iter().map(place).collect();
    let s = if re_grips.len() == 1 { "" } else { "s" };
    (!places.is_empty()).then(|| format!("with {} re-grip{s} on the way, at {}", re_grips.len(), places.join(" and ")))
}

/// That the blank of a taper thread is turned to the thread's taper; its size says the diameter only.
fn blank_words(part: &Part, op: &Operation) -> Option<String> {
    let feature = op.feature.filter(|_| matches!(op.work, Work::Turn | Work::FinishTurn))?;
    let Kind::Turn(blank) = &part.features[feature].kind else { return None };
    let taper = part.features.iter().find_map(|f| match &f.kind {
        Kind::Thread(t) if !t.internal && t.zone.overlap(&blank.zone) > Length::ZERO => t.taper,
        _ => None,
    })?;
    blank.thread_blank.then(|| format!("on the thread's taper of 1:{:.0}", 1.0 / taper))
}

/// Ring speed and lean of a whirling head.
fn whirl_words(plan: &Plan, op: &Operation) -> Option<String> {
    let thread = plan.threads.iter().find(|t| Some(t.feature) == op.feature && t.method == Work::Whirl)?;
    let ring = thread.whirl.filter(|_| op.work == Work::Whirl)?.ring_speed;
    let rpm = crate::quantity::print::thousands(pages::round_speed(ring.to_rpm()));
    Some(format!(
        "ring {rpm} rpm, leant {}",
        crate::quantity::Angle::deg((thread.lead_angle.to_deg() * 10.0).round() / 10.0)
    ))
}

/// The place of a tool: `cross 2`, `tilt pocket 3`, `cross 2-3`.
fn place_words(machine: &Machine, plan: &Plan, tool: usize) -> Option<String> {
    let placed = plan.assignment.placed.get(tool)?.as_ref()?;
    let row = &plan.assignment.rows[placed.row];
    let kind = match (row.pocket, row.live && has_both(machine, row)) {
        (true, _) => "pocket ",
        (false, true) => "live ",
        (false, false) => "",
    };
    let last = placed.place + placed.width - 1;
    let number = if placed.width > 1 { format!("{}-{last}", placed.place) } else { placed.place.to_string() };
    Some(format!("{} {kind}{number}", machine.carriers[row.carrier].name))
}

/// Whether a carrier has fixed and live places, so that a number alone would name two.
fn has_both(machine: &Machine, row: &places::Row) -> bool {
    let carrier = &machine.carriers[row.carrier];
    carrier.fixed_places > 0 && carrier.live_places > 0
}

fn lines(part: &Part, machine: &Machine, plan: &Plan) -> Vec<SheetLine> {
    let mut lines = Vec::with_capacity(plan.cycle.slots.len());
    let mut last: Option<&Slot> = None;
    for (i, slot) in plan.cycle.slots.iter().enumerate() {
        let before = last.filter(|l| l.side == slot.side).map_or(0.0, |l| l.end().to_s());
        lines.push(line(part, machine, plan, slot, i + 1, before));
        last = Some(slot);
    }
    lines
}

fn line(part: &Part, machine: &Machine, plan: &Plan, slot: &Slot, number: usize, before: f64) -> SheetLine {
    let op = match slot.doing {
        Doing::Operation(i) => plan.operations.get(i),
        _ => None,
    };
    let tie =
        machine.sub.is_some() && slot.start >= plan.cycle.programmed - plan.cycle.tie - crate::quantity::Time::s(1e-9);
    let positive = |v: f64| (v > 0.0).then_some(v);
    // A pick-off begins the hand-over; before it the sub-spindle has waited for the main one, or the other way round.
    SheetLine {
        number,
        spindle: slot.side.word(),
        hand_over: tie,
        work: slot.doing.word(&plan.operations),
        feature: op.and_then(|o| o.feature).map(|f| part.features[f].name.clone()),
        tool: op.map(|o| plan.tools[o.tool].words(part)),
        place: op.and_then(|o| place_words(machine, plan, o.tool)),
        speed_rpm: op.and_then(|o| positive(o.speed.to_rpm())),
        feed_mm_per_rev: op.and_then(|o| positive(o.feed.to_mm_per_rev())),
        dia_mm: op.and_then(|o| worked_dia(part, o)).and_then(|d| positive(d.to_mm())),
        z_mm: op.and_then(|o| worked_zone(part, o)).map(|z| (z.start.to_mm(), z.end.to_mm())),
        depth_mm: op.filter(|o| worked_dia(part, o) != Some(o.depth)).and_then(|o| positive(o.depth.to_mm())),
        passes: op.map_or(1, |o| o.passes),
        count: op.map_or(1, |o| o.count),
        start_s: slot.start.to_s(),
        wait_s: (slot.start.to_s() - before).max(0.0),
        change_s: slot.before.change.to_s(),
        spindle_s: slot.before.spindle.to_s(),
        approach_s: slot.before.approach.to_s(),
        live_s: slot.before.live.to_s(),
        cutting_s: slot.cutting.to_s(),
        moving_s: slot.moving.to_s(),
        end_s: slot.end().to_s(),
        detail: match slot.doing {
            Doing::FeedOut => re_grip_words(part, &plan.cycle.re_grips),
            _ => op.and_then(|o| whirl_words(plan, o).or_else(|| blank_words(part, o))),
        },
        order_reason: op.and_then(|o| o.order_reason),
    }
}

fn place_lines(part: &Part, machine: &Machine, plan: &Plan) -> Vec<PlaceLine> {
    let mut order: Vec<usize> = (0..plan.tools.len()).collect();
    let key = |t: &usize| plan.assignment.placed[*t].as_ref().map_or((usize::MAX, 0), |p| (p.row, p.place));
    order.sort_by_key(key);
    let line = |t: usize| {
        let tool = &plan.tools[t];
        let placed = plan.assignment.placed[t].as_ref();
        let shank = match tool.shank {
            Shank::Square => "",
            Shank::Round(_) if tool.live => " (live)",
            Shank::Round(_) => "",
        };
        PlaceLine {
            place: place_words(machine, plan, t).unwrap_or_else(|| "no place".to_owned()),
            tool: format!("{}{shank}", tool.words(part)),
            spindle: match tool.side {
                Side::Main => "main",
                Side::Sub => "sub",
            },
            attachment: placed.and_then(|p| p.attachment).map(|a| machine.options[a].name.clone()),
            features: tool.features.iter().map(|f| part.features[*f].name.clone()).collect(),
        }
    };
    order.into_iter().map(line).collect()
}

fn free_places(machine: &Machine, plan: &Plan) -> Vec<String> {
    let rows = plan.assignment.rows.iter().enumerate();
    rows.filter_map(|(i, row)| {
        let free = plan.assignment.free(i);
        (free > 0).then(|| places::Row { places: free, ..row.clone() }.words(machine))
    })
    .collect()
}

/// One row for each spindle and each carrier that works in the cycle.
fn timeline(machine: &Machine, plan: &Plan, lines: &[SheetLine]) -> Vec<TimelineRow> {
    let stretch = |slot: &Slot, line: &SheetLine| {
        let cut_from = (slot.start + slot.before.all()).to_s();
        let feature = line.feature.as_deref().map(|f| format!(" {f}")).unwrap_or_default();
        Stretch {
            number: line.number,
            from_s: line.start_s,
            cut_from_s: cut_from,
            cut_to_s: cut_from + slot.cutting.to_s(),
            to_s: line.end_s,
            spindle: line.spindle,
            what: format!("{}{feature}", line.work),
        }
    };
    let of = |keep: &dyn Fn(&Slot) -> bool| -> Vec<Stretch> {
        let pairs = plan.cycle.slots.iter().zip(lines);
        let mut found: Vec<Stretch> = pairs.filter(|(s, _)| keep(s)).map(|(s, l)| stretch(s, l)).collect();
        found.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
        found
    };
    let mut rows = Vec::new();
    for (side, name) in [(Side::Main, "main spindle"), (Side::Sub, "sub-spindle")] {
        if side == Side::Main || machine.sub.is_some() {
            let stretches = of(&|s: &Slot| s.side == side && s.carrier.is_none());
            rows.push(TimelineRow { name: name.to_owned(), stretches });
        }
    }
    for (i, carrier) in machine.carriers.iter().enumerate() {
        let stretches = of(&|s: &Slot| s.carrier == Some(i));
        if !stretches.is_empty() {
            rows.push(TimelineRow { name: carrier.name.clone(), stretches });
        }
    }
    rows
}
