//! The answer to an inquiry as data.

use super::corrections;
use crate::costing::PieceCost;
use crate::matching::fit::{Change, Fit, Where};
use crate::matching::ranking::{Judged, OtherEnd, Purchase};
use crate::matching::remarks;
use crate::matching::{By, Ranking, Row, Standing, Verdict};
use crate::model::Remark;
use crate::model::machine::{Machine, Side};
use crate::model::part::{BarShape, Part};
use crate::model::shop::Shop;
use crate::planning::bands::Causes;
use crate::planning::setup::Line;
use crate::planning::{Plan, blank::Blank, deflection};
use crate::quantity::{Money, Time};
use crate::tables::cautions;
use crate::tables::materials::Material;
use schemars::JsonSchema;
use serde::Serialize;

pub use super::reason::{FigureAnswer, Reason};

/// The cost of a piece at one quantity, by kind, in the shop's currency.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CostAnswer {
    pub quantity: u64,
    pub cost: f64,
    pub price: f64,
    pub material: f64,
    pub machine: f64,
    pub setting: f64,
    pub operator: f64,
    pub tools: f64,
    pub special_collet: f64,
    /// Collets and bushings that are not at hand.
    pub collets: f64,
    /// Moving a validated process here.
    pub moving: f64,
    pub scrap: f64,
    /// What the whole order costs whatever its size: setting, collets to buy, moving a process, setup pieces.
    pub fixed_order: f64,
    pub order_hours: f64,
}

impl CostAnswer {
    /// What each piece costs beside the order's fixed share.
    pub fn each(&self) -> f64 {
        self.cost - self.fixed_order / self.quantity.max(1) as f64
    }

    /// The order quantity at which this and another cost the same, where there is one.
    pub fn even_with(&self, o: &CostAnswer) -> Option<f64> {
        let quantity = (o.fixed_order - self.fixed_order) / (self.each() - o.each());
        (quantity.is_finite() && quantity > 1.0).then_some(quantity)
    }
}

impl From<&PieceCost> for CostAnswer {
    fn from(c: &PieceCost) -> CostAnswer {
        CostAnswer {
            quantity: c.quantity,
            cost: c.cost.to_units(),
            price: c.price.to_units(),
            material: c.material.to_units(),
            machine: c.machine.to_units(),
            setting: c.setting.to_units(),
            operator: c.operator.to_units(),
            tools: c.tools.to_units(),
            special_collet: c.collet.to_units(),
            collets: c.holding.to_units(),
            moving: c.moving.to_units(),
            scrap: c.scrap.to_units(),
            fixed_order: c.fixed.to_units(),
            order_hours: c.order_time.to_hours(),
        }
    }
}

/// One line of a setup.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SetupLine {
    /// The key of its standard time.
    pub kind: &'static str,
    pub what: String,
    pub minutes: f64,
    /// The weeks to be waited for by the calendar, from and to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weeks: Option<[f64; 2]>,
    pub reason: String,
}

impl From<&Line> for SetupLine {
    fn from(l: &Line) -> SetupLine {
        SetupLine {
            kind: l.kind,
            what: l.what.clone().into_owned(),
            minutes: l.time.to_minutes(),
            weeks: l.calendar.map(|b| [b.low, b.high].map(Time::to_weeks)),
            reason: l.reason.clone().into_owned(),
        }
    }
}

/// One operation of the plan.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OperationAnswer {
    pub work: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub feature: Option<String>,
    pub spindle: &'static str,
    pub tool: &'static str,
    /// `cross 2`, or nothing where the tool finds no place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    pub speed_rpm: f64,
    pub feed_mm_per_rev: f64,
    pub passes: u32,
    pub count: u32,
    pub cutting_s: f64,
    pub moving_s: f64,
}

/// The stock to buy.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StockAnswer {
    pub text: String,
    pub size_mm: f64,
    pub grade: u8,
    /// Wire from a coil, whose length stands for a bar's.
    pub coil: bool,
    pub bar_length_mm: f64,
    pub remnant_mm: f64,
    pub pieces_per_bar: u32,
    pub kg_per_piece: f64,
}

impl StockAnswer {
    /// What it comes as: a bar, or wire on a coil.
    pub fn unit(&self) -> &'static str {
        if self.coil { "coil" } else { "bar" }
    }

    /// The length of a bar or coil with its word: `3 m bar`, `500 m coil`.
    pub fn supply(&self) -> String {
        format!("{} m {}", crate::quantity::print::number(self.bar_length_mm / 1000.0, 2), self.unit())
    }

    pub(super) fn new(blank: &Blank) -> StockAnswer {
        let shape = match blank.shape {
            BarShape::Round => "round",
            BarShape::Hex => "hexagonal",
            BarShape::Square => "square",
            BarShape::Tube => "tube",
            BarShape::Profile => "profile",
        };
        StockAnswer {
            text: format!("{shape} {} h{}", crate::tables::bars::words(blank.size), blank.grade),
            size_mm: blank.size.to_mm(),
            grade: blank.grade,
            coil: blank.coil,
            bar_length_mm: blank.length.to_mm(),
            remnant_mm: blank.remnant.to_mm(),
            pieces_per_bar: blank.pieces,
            kg_per_piece: blank.mass.to_kg(),
        }
    }
}

/// An attachment to buy.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PurchaseAnswer {
    pub attachment: String,
    pub count: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
}

impl From<&Purchase> for PurchaseAnswer {
    fn from(p: &Purchase) -> PurchaseAnswer {
        PurchaseAnswer { attachment: p.name.clone(), count: p.count, price: p.price.map(|m| m.to_units()) }
    }
}

/// The other end made first, in short.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OtherEndAnswer {
    pub end: &'static str,
    pub verdict: Verdict,
    pub cycle_s: f64,
    pub cost: f64,
    /// Why that end wants a special collet, whose price is in the cost.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub collet: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

impl OtherEndAnswer {
    /// What its cost holds beside its cycle: `, with a special collet (it opens over 12 mm)`; empty where nothing is special.
    pub fn with_collet(&self) -> String {
        self.collet.as_ref().map(|why| format!(", with a special collet ({why})")).unwrap_or_default()
    }
}

impl From<&OtherEnd> for OtherEndAnswer {
    fn from(o: &OtherEnd) -> OtherEndAnswer {
        OtherEndAnswer {
            end: o.end.word(),
            verdict: o.verdict,
            cycle_s: o.cycle.to_s(),
            cost: o.cost.to_units(),
            collet: o.collet.clone(),
            reason: o.reason.clone(),
        }
    }
}

/// One change that helps.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChangeAnswer {
    /// What is changed: the shop's plan, a purchase, the drawing, or a figure of another machine.
    pub at: Where,
    pub change: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
}

/// Changes that together make a row fit, verified by planning again.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FitAnswer {
    pub changes: Vec<ChangeAnswer>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    pub verdict: Verdict,
    pub cycle_s: f64,
    pub cost: f64,
}

impl From<&Fit> for FitAnswer {
    fn from(f: &Fit) -> FitAnswer {
        let bought = f.row.purchases.iter().map(|p| ChangeAnswer {
            at: Where::Purchase,
            change: format!("{} more of `{}`", p.count, p.name),
            price: p.price.map(|m| m.to_units()),
        });
        let change = |c: &Change| ChangeAnswer {
            at: c.at,
            change: c.words.clone(),
            price: c.price.filter(|p| *p > Money::ZERO).map(|p| p.to_units()),
        };
        FitAnswer {
            changes: f.changes.iter().map(change).chain(bought).collect(),
            price: f.price.map(|p| p.to_units()),
            verdict: f.row.judged.verdict,
            cycle_s: f.row.judged.plan.cycle.total.to_s(),
            cost: f.row.cost.cost.to_units(),
        }
    }
}

/// The parts of a cycle.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CycleAnswer {
    pub total_s: f64,
    pub low_s: f64,
    pub high_s: f64,
    pub main_s: f64,
    pub sub_s: f64,
    pub hand_over_s: f64,
    /// From one piece to the next as programmed.
    pub programmed_s: f64,
    pub bar_change_s: f64,
    /// Worn tools changed and long chips cleared, their share.
    pub wear_s: f64,
    pub re_grips: u32,
    pub contingency_s: f64,
    /// What the shop's own records add, or take off.
    pub correction_s: f64,
    pub cutting_s: f64,
}

/// One machine in one mode.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RowAnswer {
    pub machine: String,
    pub machine_title: String,
    pub mode: &'static str,
    /// What the mode states of itself, where it does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mode_roundness_um: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mode_runout_um: Option<f64>,
    pub first_end: &'static str,
    pub standing: Standing,
    pub verdict: Verdict,
    pub setup_min: f64,
    pub setup_low_min: f64,
    pub setup_high_min: f64,
    /// Of the cost at the quantity asked for.
    pub cost_low: f64,
    pub cost_high: f64,
    /// The difference of its cost to the row above is smaller than it is known.
    pub like_the_row_above: bool,
    pub setup: Vec<SetupLine>,
    /// What the shop's own records correct, and from how many.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<String>,
    /// What is done beside the machine, and what must be waited for.
    pub off_machine: Vec<SetupLine>,
    pub mode_change_min: f64,
    /// Which of several like machines, counted from 1, it starts from.
    pub machine_number: usize,
    pub cycle: CycleAnswer,
    pub cost: CostAnswer,
    pub costs: Vec<CostAnswer>,
    pub stock: StockAnswer,
    pub slenderness: f64,
    pub purchases: Vec<PurchaseAnswer>,
    /// Refused, and told with every attachment of the spec at hand: buying one is not enough.
    pub beyond_purchase: bool,
    /// Of a row with purchases: what is refused without them.
    pub without_purchase: Vec<Reason>,
    pub reasons: Vec<Reason>,
    /// What would make a refused row fit, cheapest first, where it was asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fits: Vec<FitAnswer>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub other_end: Option<OtherEndAnswer>,
    pub operations: Vec<OperationAnswer>,
    /// The hour rate is not stated in the shop file: the mean of the others was taken.
    pub rate_assumed: bool,
}

/// A caution.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CautionAnswer {
    pub topic: String,
    pub text: String,
}

impl From<&cautions::Caution> for CautionAnswer {
    fn from(c: &cautions::Caution) -> CautionAnswer {
        CautionAnswer { topic: c.topic.clone(), text: c.text.clone() }
    }
}

/// The whole answer about one part.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RankAnswer {
    pub schema: u32,
    pub part: String,
    pub title: String,
    pub material: String,
    pub shop: String,
    pub currency: String,
    pub quantity: u64,
    pub repeat: bool,
    pub ranked_by: &'static str,
    /// When it is wanted, and what the customer calls it, where that is said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub due: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
    pub rows: Vec<RowAnswer>,
    /// Machines that could not be reckoned with.
    pub failed: Vec<String>,
    pub cautions: Vec<CautionAnswer>,
    /// Demands that no rule judges, whatever machine is taken.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unjudged: Vec<String>,
    pub notes: Vec<String>,
}

/// What a spec says beside the figures that are reckoned with.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RemarkAnswer {
    pub about: String,
    pub words: String,
}

impl From<&Remark> for RemarkAnswer {
    fn from(r: &Remark) -> RemarkAnswer {
        RemarkAnswer { about: r.about.clone(), words: r.words.clone() }
    }
}

impl RankAnswer {
    /// Whether any row can be made with what the shop owns or could buy.
    pub fn anything_fits(&self) -> bool {
        self.rows.iter().any(|r| r.standing != Standing::Refused)
    }
}

/// Turns a ranking into an answer.
pub fn answer(part: &Part, machines: &[Machine], shop: &Shop, ranking: &Ranking, by: By) -> RankAnswer {
    let mut notes = vec![format!(
        "Bands come from the ranges of the tables, {}: cutting speeds of the material, movements, setting up; each cause off as a whole, causes together by root of squares. Rates, prices and the shop's own times come from the shop file.",
        corrections::of_bands(shop)
    )];
    notes.extend(force(&part.material));
    let rows = rows(part, machines, shop, ranking);
    notes.extend(corrections::notes(&rows));
    if ranking.rows.iter().any(|r| r.rate_assumed) {
        notes.push(
            "A machine without an hour rate in the shop file is reckoned with the mean of the others.".to_owned(),
        );
    }
    let cautions = crate::matching::cautions::keys(part, machines, &ranking.rows)
        .into_iter()
        .filter_map(cautions::get)
        .map(CautionAnswer::from)
        .collect();
    RankAnswer {
        schema: super::SCHEMA,
        part: part.name.clone(),
        title: part.title.clone(),
        material: part.material.name.clone(),
        shop: shop.name.clone(),
        currency: shop.currency.code().to_owned(),
        quantity: ranking.quantity,
        repeat: part.repeat,
        ranked_by: match by {
            By::Cost => "cost",
            By::Setup => "setup",
            By::Cycle => "cycle",
        },
        due: part.due.clone(),
        reference: None,
        rows,
        failed: ranking
            .failed
            .iter()
            .map(|(m, mode, e)| format!("{}, {}: {e}", machines[*m].name, mode.word()))
            .collect(),
        cautions,
        unjudged: remarks::unjudged(part).into_iter().map(|r| r.words).collect(),
        notes,
    }
}

/// Which cutting force decides, where its sources disagree.
pub(super) fn force(m: &Material) -> Option<String> {
    let band = m.kc11_n_mm2;
    m.force_is_disputed().then(|| {
        format!(
            "Specific cutting force of {}: the sources give {:.0} to {:.0} N/mm2; bend, torque and power are reckoned with the higher, the push of a drill into its collet with the usual one and a safety.",
            m.name, band.low, band.high
        )
    })
}

fn rows(part: &Part, machines: &[Machine], shop: &Shop, ranking: &Ranking) -> Vec<RowAnswer> {
    let mut rows: Vec<RowAnswer> = ranking.rows.iter().map(|r| row(part, &machines[r.machine], shop, r)).collect();
    // Costs order the rows of one standing; two whose difference is not known well are said to be alike.
    for (i, pair) in ranking.rows.windows(2).enumerate() {
        let together = pair[0].standing == pair[1].standing && pair[0].standing != Standing::Refused;
        rows[i + 1].like_the_row_above = together && pair[0].is_like(&pair[1]);
    }
    rows
}

fn row(part: &Part, machine: &Machine, shop: &Shop, r: &Row) -> RowAnswer {
    let Judged { plan, findings, verdict, costs } = &r.judged;
    let stated = machine.mode(r.mode);
    let (setup_shorter, setup_longer) = r.band.setup.together();
    let (cheaper, dearer) = r.band.cost.together();
    RowAnswer {
        machine: machine.name.clone(),
        machine_title: machine.title.clone(),
        mode: r.mode.word(),
        mode_roundness_um: stated.and_then(|m| m.roundness).map(|q| q.value.to_um()),
        mode_runout_um: stated.and_then(|m| m.runout).map(|q| q.value.to_um()),
        first_end: plan.first.word(),
        standing: r.standing,
        verdict: *verdict,
        setup_min: plan.setup.total.to_minutes(),
        setup: plan.setup.lines.iter().map(SetupLine::from).collect(),
        corrections: corrections::of(part, machine, shop, plan),
        off_machine: plan.setup.off_machine.iter().map(SetupLine::from).collect(),
        mode_change_min: plan.setup.mode_change().to_minutes(),
        machine_number: plan.setup.machine + 1,
        setup_low_min: (plan.setup.total - setup_shorter).to_minutes(),
        setup_high_min: (plan.setup.total + setup_longer).to_minutes(),
        cost_low: (r.cost.cost - cheaper).to_units(),
        cost_high: (r.cost.cost + dearer).to_units(),
        like_the_row_above: false,
        cycle: cycle(plan, &r.band.cycle),
        cost: (&r.cost).into(),
        costs: costs.iter().map(CostAnswer::from).collect(),
        stock: StockAnswer::new(&plan.blank),
        slenderness: deflection::slenderness(part),
        purchases: r.purchases.iter().map(PurchaseAnswer::from).collect(),
        beyond_purchase: r.beyond_purchase,
        without_purchase: r.without.iter().map(|f| Reason::new(part, f)).collect(),
        reasons: findings.iter().map(|f| Reason::new(part, f)).collect(),
        fits: Vec::new(),
        other_end: r.other_end.as_ref().map(OtherEndAnswer::from),
        operations: operations(part, machine, plan),
        rate_assumed: r.rate_assumed,
    }
}

pub(super) fn cycle(plan: &Plan, causes: &Causes) -> CycleAnswer {
    let c = &plan.cycle;
    let total = c.total.to_s();
    let (shorter, longer) = causes.together();
    CycleAnswer {
        total_s: total,
        low_s: total - shorter.to_s(),
        high_s: total + longer.to_s(),
        main_s: c.main.to_s(),
        sub_s: c.sub.to_s(),
        hand_over_s: c.tie.to_s(),
        programmed_s: c.programmed.to_s(),
        bar_change_s: c.bar_change.to_s(),
        wear_s: (c.wear + c.chips).to_s(),
        re_grips: u32::try_from(c.re_grips.len()).unwrap_or(u32::MAX),
        contingency_s: c.contingency.to_s(),
        correction_s: c.correction.to_s(),
        cutting_s: c.cutting.to_s(),
    }
}

fn operations(part: &Part, machine: &Machine, plan: &Plan) -> Vec<OperationAnswer> {
    plan.operations
        .iter()
        .zip(&plan.cycle.sides)
        .map(|(op, side)| {
            let placed = plan.assignment.placed.get(op.tool).and_then(Option::as_ref);
            let place = placed.map(|p| {
                let row = &plan.assignment.rows[p.row];
                let kind = if row.pocket { "pocket " } else { "" };
                format!("{} {kind}{}", machine.carriers[row.carrier].name, p.place)
            });
            OperationAnswer {
                work: op.work.word(),
                feature: op.feature.map(|f| part.features[f].name.clone()),
                spindle: match side {
                    Side::Main => "main",
                    Side::Sub => "sub",
                },
                tool: plan.tools[op.tool].kind.word(),
                place,
                speed_rpm: op.speed.to_rpm(),
                feed_mm_per_rev: op.feed.to_mm_per_rev(),
                passes: op.passes,
                count: op.count,
                cutting_s: op.cutting.to_s(),
                moving_s: op.moving.to_s(),
            }
        })
        .collect()
}
