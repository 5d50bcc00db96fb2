//! The ranking: every machine and mode, the better end first, what the shop owns apart from what it would have to buy.

use super::finding::{Finding, Verdict};
use super::rules::{Case, RULES};
use crate::costing::{self, CostBand, PieceCost};
use crate::formulas::FormulaError;
use crate::model::machine::{Machine, Mode, ModeKind};
use crate::model::part::{End, Part};
use crate::model::shop::Shop;
use crate::planning::bands::{self, Causes};
use crate::planning::choose::{self, Alternative};
use crate::planning::{PartView, Plan, Reach, Task, plan};
use crate::quantity::{Money, Time};
use crate::tables::thresholds::Thresholds;

/// What orders the rows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum By {
    #[default]
    Cost,
    Setup,
    Cycle,
}

/// Where a row stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// With what the shop owns.
    Owned,
    /// The machine spec leaves something unsaid that decides.
    NotStated,
    /// Only with attachments that the shop would have to buy.
    WithPurchase,
    Refused,
}

/// An attachment to buy.
#[derive(Clone, Debug, PartialEq)]
pub struct Purchase {
    pub name: String,
    pub count: u32,
    /// Of all of them, where the spec states a price.
    pub price: Option<Money>,
}

/// A plan with what the rules say and what it costs.
#[derive(Clone, Debug)]
pub struct Judged {
    pub plan: Plan,
    /// Worst first within the order of the rules.
    pub findings: Vec<Finding>,
    pub verdict: Verdict,
    /// One for each order quantity of the part, and the quantity asked for.
    pub costs: Vec<PieceCost>,
}

impl Judged {
    /// How many findings refuse it.
    pub fn refusals(&self) -> usize {
        self.findings.iter().filter(|f| f.verdict == Verdict::Refused).count()
    }

    /// The reasons of its refusals.
    fn refused_because(&self) -> Vec<&str> {
        self.findings.iter().filter(|f| f.verdict == Verdict::Refused).map(|f| f.reason.as_ref()).collect()
    }
}

/// The other end made first, in short.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherEnd {
    pub end: End,
    pub verdict: Verdict,
    pub cycle: Time,
    pub cost: Money,
    /// Why it wants a special collet, whose price is in its cost, where it does.
    pub collet: Option<String>,
    /// The first refusal, where it is one.
    pub reason: Option<String>,
}

/// One machine in one mode.
#[derive(Clone, Debug)]
pub struct Row {
    /// A number in the machines given.
    pub machine: usize,
    pub mode: ModeKind,
    pub standing: Standing,
    pub judged: Judged,
    pub other_end: Option<OtherEnd>,
    pub purchases: Vec<Purchase>,
    /// Of a row with purchases: what is refused without them.
    pub without: Vec<Finding>,
    /// Refused, and told with every attachment of the spec at hand: buying one is not enough.
    pub beyond_purchase: bool,
    /// Cost at the quantity asked for.
    pub cost: PieceCost,
    pub band: Band,
    pub rate_assumed: bool,
}

/// How far the estimates of a row may lie off.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Band {
    pub cycle: Causes,
    pub setup: Causes,
    /// At the quantity asked for.
    pub cost: CostBand,
}

impl Row {
    /// Whether the costs of two rows differ by less than the difference is known to.
    pub fn is_like(&self, o: &Row) -> bool {
        (self.cost.cost - o.cost.cost).abs() < self.band.cost.of_difference(&o.band.cost)
    }
}

/// The answer to an inquiry.
#[derive(Clone, Debug)]
pub struct Ranking {
    pub quantity: u64,
    pub rows: Vec<Row>,
    /// Machines that could not be reckoned with, and why.
    pub failed: Vec<(usize, ModeKind, FormulaError)>,
}

/// Ranks machines and modes for a part.
pub fn rank(part: &Part, machines: &[Machine], shop: &Shop, quantity: Option<u64>, by: By) -> Ranking {
    let view = PartView::new(part);
    let thresholds = Thresholds::with(&shop.thresholds);
    let quantity = quantity.unwrap_or_else(|| part.orders.first().copied().unwrap_or(1));
    let mut quantities = part.orders.clone();
    if !quantities.contains(&quantity) {
        quantities.push(quantity);
        quantities.sort_unstable();
    }
    let mut ranking = Ranking { quantity, rows: Vec::new(), failed: Vec::new() };
    for (i, machine) in machines.iter().enumerate() {
        for mode in &machine.modes {
            let inquiry = Inquiry {
                view: &view,
                machine,
                mode,
                shop,
                thresholds: &thresholds,
                quantities: &quantities,
                quantity,
                lot: lot(by, quantity),
            };
            match inquiry.row(i) {
                Ok(row) => ranking.rows.push(row),
                Err(e) => ranking.failed.push((i, mode.kind, e)),
            }
        }
    }
    ranking.rows.sort_by(|a, b| {
        let key = |r: &Row| match by {
            By::Cost => r.cost.cost.to_units(),
            By::Setup => r.judged.plan.setup.total.to_s(),
            By::Cycle => r.judged.plan.cycle.total.to_s(),
        };
        a.standing
            .cmp(&b.standing)
            .then_with(|| match a.standing {
                Standing::Refused => a.judged.refusals().cmp(&b.judged.refusals()),
                _ => std::cmp::Ordering::Equal,
            })
            .then_with(|| key(a).total_cmp(&key(b)))
            .then_with(|| machines[a.machine].name.cmp(&machines[b.machine].name))
            .then_with(|| a.mode.cmp(&b.mode))
    });
    ranking
}

/// The pieces over which a plan spreads the mounting of its tools: the order's, where cost decides; where the setup or the
/// cycle alone does, one or no end of them.
fn lot(by: By, quantity: u64) -> u64 {
    match by {
        By::Cost => quantity,
        By::Setup => 1,
        By::Cycle => choose::ENDLESS,
    }
}

/// What the rules say about a plan, worst first within the order of the rules.
fn judged(case: &Case) -> Vec<Finding> {
    let mut findings = Vec::with_capacity(48);
    for rule in RULES {
        rule.check(case, &mut findings);
    }
    findings.sort_by_key(|f| std::cmp::Reverse(f.verdict));
    findings
}

/// The findings of a row once more, each with the terms of its formula: in the order of the row's own.
pub fn reckoned(part: &Part, machine: &Machine, shop: &Shop, row: &Row) -> Vec<Finding> {
    let Some(mode) = machine.mode(row.mode) else { return Vec::new() };
    let (view, thresholds) = (PartView::new(part), Thresholds::with(&shop.thresholds));
    let plan = &row.judged.plan;
    let task = Task { reach: plan.reach, ..Task::new(&view, machine, mode, shop, &thresholds, plan.first) };
    judged(&Case { task: &task, plan, with_terms: true })
}

/// For each feature of a row that could be made in several ways all of them, with what another would have meant.
///
/// # Errors
/// [`FormulaError`] where a figure lies outside what a formula is valid for.
pub fn alternatives(
    part: &Part,
    machine: &Machine,
    shop: &Shop,
    ranking: &Ranking,
    row: &Row,
    by: By,
) -> Result<Vec<Alternative>, FormulaError> {
    let Some(mode) = machine.mode(row.mode) else { return Ok(Vec::new()) };
    let (view, thresholds) = (PartView::new(part), Thresholds::with(&shop.thresholds));
    let plan = &row.judged.plan;
    let task = Task::new(&view, machine, mode, shop, &thresholds, plan.first);
    let task = Task { reach: plan.reach, lot: lot(by, ranking.quantity), ..task };
    choose::alternatives(&task, &plan.blank)
}

/// One machine and mode against a part.
struct Inquiry<'a> {
    view: &'a PartView<'a>,
    machine: &'a Machine,
    mode: &'a Mode,
    shop: &'a Shop,
    thresholds: &'a Thresholds,
    quantities: &'a [u64],
    quantity: u64,
    lot: u64,
}

impl Inquiry<'_> {
    fn row(&self, machine: usize) -> Result<Row, FormulaError> {
        let owned = self.both_ends(Reach::Owned)?;
        let refused = owned.0.verdict == Verdict::Refused;
        let could_buy = refused && !self.machine.options.is_empty();
        let bought = if could_buy { Some(self.both_ends(Reach::Purchasable)?) } else { None };
        let mut beyond_purchase = false;
        let (standing, (judged, other), without) = match bought {
            Some(pair) if pair.0.verdict != Verdict::Refused && !pair.0.plan.to_buy.is_empty() => {
                let without = owned.0.findings.iter().filter(|f| f.verdict == Verdict::Refused).cloned().collect();
                (Standing::WithPurchase, pair, without)
            }
            // What even a purchase leaves is the reason to tell: a remedy that does not help would mislead.
            Some(pair)
                if pair.0.refused_because() != owned.0.refused_because() && pair.0.refusals() <= owned.0.refusals() =>
            {
                beyond_purchase = true;
                (Standing::Refused, pair, Vec::new())
            }
            Some(_) => (Standing::Refused, owned, Vec::new()),
            None => {
                let standing = match owned.0.verdict {
                    Verdict::Refused => Standing::Refused,
                    Verdict::NotStated => Standing::NotStated,
                    _ => Standing::Owned,
                };
                (standing, owned, Vec::new())
            }
        };
        let rates = costing::rate(self.shop, self.shop.machines.get(&self.machine.name));
        let purchases = judged
            .plan
            .to_buy
            .iter()
            .map(|(i, count)| {
                let option = &self.machine.options[*i];
                Purchase {
                    name: option.name.clone(),
                    count: *count,
                    price: option.price.map(|p| p.value * f64::from(*count)),
                }
            })
            .collect();
        let cost = costing::piece(self.view.part, &judged.plan, self.shop, rates, self.thresholds, self.quantity);
        let other_end = other.map(|o| OtherEnd {
            end: o.plan.first,
            verdict: o.verdict,
            cycle: o.plan.cycle.total,
            cost: costing::piece(self.view.part, &o.plan, self.shop, rates, self.thresholds, self.quantity).cost,
            collet: o.plan.hand_over.as_ref().and_then(|h| h.special()),
            reason: o.findings.iter().find(|f| f.verdict == Verdict::Refused).map(|f| f.reason.clone().into_owned()),
        });
        let task = self.task(judged.plan.first, judged.plan.reach).with_bar(&judged.plan.blank);
        let (cycle, setup) = (bands::of_cycle(&task, &judged.plan), bands::of_setup(&task, &judged.plan.setup));
        let band = Band { cost: CostBand::of(self.shop, rates, self.quantity, &cycle, &setup), cycle, setup };
        Ok(Row {
            machine,
            mode: self.mode.kind,
            standing,
            judged,
            other_end,
            purchases,
            without,
            beyond_purchase,
            cost,
            band,
            rate_assumed: rates.assumed,
        })
    }

    fn task(&self, first: End, reach: Reach) -> Task<'_> {
        let task = Task::new(self.view, self.machine, self.mode, self.shop, self.thresholds, first);
        Task { reach, lot: self.lot, ..task }
    }

    /// Both ends planned and judged; the better one, and the other.
    fn both_ends(&self, reach: Reach) -> Result<(Judged, Option<Judged>), FormulaError> {
        let ends: &[End] = match self.view.part.first_end {
            Some(End::Front) => &[End::Front],
            Some(End::Back) => &[End::Back],
            None => &[End::Front, End::Back],
        };
        let mut best: Option<Judged> = None;
        let mut other = None;
        for &first in ends {
            let judged = self.judge(first, reach)?;
            let better = best.as_ref().is_none_or(|b| self.better(&judged, b));
            if better {
                other = best.replace(judged);
            } else {
                other = Some(judged);
            }
        }
        match best {
            Some(best) => Ok((best, other)),
            None => unreachable!("at least one end is planned"),
        }
    }

    /// Possible before not stated before refused; fewer refusals; then cheaper.
    fn better(&self, a: &Judged, b: &Judged) -> bool {
        let class = |j: &Judged| match j.verdict {
            Verdict::Fits | Verdict::Warns => 0,
            Verdict::NotStated => 1,
            Verdict::Refused => 2,
        };
        let cost = |j: &Judged| j.costs.iter().find(|c| c.quantity == self.quantity).map_or(0.0, |c| c.cost.to_units());
        let key = |j: &Judged| (class(j), j.refusals());
        key(a).cmp(&key(b)).then_with(|| cost(a).total_cmp(&cost(b))).is_lt()
    }

    fn judge(&self, first: End, reach: Reach) -> Result<Judged, FormulaError> {
        let task = self.task(first, reach);
        let plan = plan(&task)?;
        let case = Case { task: &task, plan: &plan, with_terms: false };
        let findings = judged(&case);
        let verdict = findings.iter().map(|f| f.verdict).max().unwrap_or(Verdict::Fits);
        let rates = costing::rate(self.shop, self.shop.machines.get(&self.machine.name));
        let costs = self
            .quantities
            .iter()
            .map(|q| costing::piece(self.view.part, &plan, self.shop, rates, self.thresholds, *q))
            .collect();
        Ok(Judged { plan, findings, verdict, costs })
    }
}
