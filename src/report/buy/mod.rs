//! A purchase as data, and its printers.

mod close;
mod csv;
mod text;
pub(super) mod words;

pub use csv::csv;
pub use text::text;

use crate::fleet::buy::base::Variant;
use crate::fleet::buy::sets::{Judge, Judged};
use crate::fleet::buy::staircase::Capability;
use crate::fleet::buy::study::{Study, Wish};
use crate::fleet::buy::tornado::Moved;
use crate::fleet::buy::weigh::on_one;
use crate::fleet::buy::{Case, cash};
use crate::model::mix::Chance;
use crate::quantity::Money;
use crate::report::mix::stopped;
use schemars::JsonSchema;
use serde::Serialize;

/// A way to get along without buying.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct VariantAnswer {
    pub variant: Variant,
    /// A year.
    pub left_over: f64,
    /// Jobs that must be made and are not.
    pub unmet: usize,
}

/// Something to buy, alone or together.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SetAnswer {
    pub what: Vec<String>,
    /// Installed.
    pub price: f64,
    /// More left over a year than the best without buying.
    pub gain: f64,
    pub npv: f64,
    /// As a share, -0.9 to 10; none, one, or several where the sums change sign more than once.
    pub irr: Vec<f64>,
    /// Years until the sums have paid back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub payback: Option<f64>,
    /// The net present value as an equal sum a year.
    pub yearly: f64,
    /// The installed price from which on it does not pay; nothing where it does not pay even as a gift.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stops_paying_at: Option<f64>,
    /// Proven: no plan makes it worth more.
    pub npv_at_most: f64,
    pub pays: bool,
    pub within_budget: bool,
}

/// A year of the cash flow; money that comes in is positive.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct YearAnswer {
    /// 0 is now.
    pub year: usize,
    pub gain: f64,
    pub upkeep: f64,
    /// Price, resale, the machine that goes.
    pub price: f64,
    pub written_off: f64,
    pub tax: f64,
    pub sum: f64,
    /// With all years before.
    pub so_far: f64,
}

/// A way to pay.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WayAnswer {
    pub paid: &'static str,
    /// Own money at the start.
    pub at_once: f64,
    pub npv: f64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub irr: Vec<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub payback: Option<f64>,
}

/// Jobs at least as sure.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SureAnswer {
    pub chance: Chance,
    pub jobs: usize,
    pub gain: f64,
    pub npv: f64,
}

/// A job and what it has to do with the purchase.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PayerAnswer {
    pub job: String,
    pub chance: Chance,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub customer: Option<String>,
    /// More left over a year.
    pub gain: f64,
}

/// Pieces that are made here instead of bought.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HomeAnswer {
    pub job: String,
    /// A year.
    pub pieces: f64,
    /// What they cost to buy, a year.
    pub bought_for: f64,
}

/// One figure moved.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BarAnswer {
    pub moved: Moved,
    /// Net present value at 20 % and 10 % less, as planned, and at 10 % and 20 % more.
    pub npv: [f64; 5],
}

/// Over all draws.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChanceAnswer {
    pub draws: usize,
    pub seed: u64,
    /// Net present value below which a tenth, half and nine tenths of the draws lie.
    pub npv_10: f64,
    pub npv_50: f64,
    pub npv_90: f64,
    /// The share of draws in which it pays, 0 to 1.
    pub pays: f64,
}

/// One step of a capability.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StepAnswer {
    pub figure: f64,
    /// What the candidate has.
    pub own: bool,
    /// More left over a year than without buying.
    pub gain: f64,
    /// Jobs that it can make from here on.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub newly_able: Vec<String>,
    /// The job that gains most by this step, and how much a year.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<(String, f64)>,
    /// Why less is left over than at the figure below, where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub less: Option<LessAnswer>,
}

impl StepAnswer {
    /// Whether what is left over jumps here, up or down.
    pub fn jumps(&self) -> bool {
        self.by.is_some() || self.less.is_some()
    }
}

/// A job that a larger figure costs something.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LessAnswer {
    pub job: String,
    /// A year.
    pub money: f64,
    /// What a lot of it takes more at the setting, where it does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
}

/// A capability step by step.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StairAnswer {
    pub capability: Capability,
    pub steps: Vec<StepAnswer>,
}

/// What takes the hours of a machine over the horizon.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LoadAnswer {
    pub machine: String,
    /// Cutting, setting, promised before, free; nothing of any where the machine is not there.
    pub before: [f64; 4],
    pub now: [f64; 4],
}

/// A purchase looked at closely.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CloseAnswer {
    pub what: Vec<String>,
    /// With it, the best way to run the shop.
    pub variant: Variant,
    pub newly_possible: Vec<String>,
    pub brought_home: Vec<HomeAnswer>,
    /// Hours on what is bought over the horizon, and their share of its hours; nothing for an attachment.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub used: Option<f64>,
    /// Of them hours that other machines made before.
    pub moved: f64,
    /// Hours that other machines have less to do.
    pub freed: Vec<(String, f64)>,
    /// Every machine of the shop, without the purchase and with it.
    pub loads: Vec<LoadAnswer>,
    /// Hours at the setting of the jobs that are made with and without it.
    pub setting_before: f64,
    pub setting_now: f64,
    /// The three jobs that pay for it.
    pub payers: Vec<PayerAnswer>,
    /// Revenue that one machine alone can make, as a share, 0 to 1.
    pub on_one_before: f64,
    pub on_one_now: f64,
    pub years: Vec<YearAnswer>,
    pub ways: Vec<WayAnswer>,
    pub sure: Vec<SureAnswer>,
    /// Proven without a plan, with hours without end: it cannot be worth more.
    pub ceiling: f64,
    /// The widest first; left out, as all below, where even a fifth cheaper it is proven not to pay.
    pub tornado: Vec<BarAnswer>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chance: Option<ChanceAnswer>,
    pub stairs: Vec<StairAnswer>,
}

/// The whole answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BuyAnswer {
    pub schema: u32,
    pub shop: String,
    pub currency: String,
    pub jobs: usize,
    /// That the mix is planned over.
    pub horizon: f64,
    /// A year, as a share.
    pub discount: f64,
    pub life: usize,
    pub without: Vec<VariantAnswer>,
    /// The best of them, which everything is compared with.
    pub best_without: Variant,
    /// Revenue that one machine alone can make, as a share, 0 to 1.
    pub on_one: f64,
    /// One thing each, in the order given.
    pub single: Vec<SetAnswer>,
    /// Several things each, most worth first.
    pub together: Vec<SetAnswer>,
    /// Sets that were not planned: it is proven that they are worth no more than the best of the single ones.
    pub skipped: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub budget: Option<f64>,
    pub most_together: usize,
    /// What to buy within the budget; empty where nothing pays.
    pub buy: Vec<String>,
    pub buy_npv: f64,
    /// Proven: no set of these within the budget is worth more.
    pub npv_at_most: f64,
    pub close: Vec<CloseAnswer>,
    /// What is missing, since the search was cut.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cut: Option<String>,
    /// What is taken for granted.
    pub assumptions: Vec<String>,
}

impl CloseAnswer {
    /// Whether the plan makes nothing of it.
    pub fn is_idle(&self, a: &BuyAnswer) -> bool {
        a.set(self).is_some_and(|s| s.gain.abs() < 0.5) && self.hours.is_none_or(|h| h < 0.5)
    }
}

impl BuyAnswer {
    /// The set of a close look.
    pub fn set(&self, close: &CloseAnswer) -> Option<&SetAnswer> {
        self.single.iter().chain(&self.together).find(|s| s.what == close.what)
    }

    /// Single things that change something, and the names of those that do not.
    pub fn useful(&self) -> (Vec<&SetAnswer>, Vec<String>) {
        let (useful, idle): (Vec<&SetAnswer>, Vec<&SetAnswer>) =
            self.single.iter().partition(|s| s.gain.abs() >= 0.5 || self.close.iter().any(|c| c.what == s.what));
        (useful, idle.iter().map(|s| s.what.join(" + ")).collect())
    }

    /// Whether something pays.
    pub fn pays(&self) -> bool {
        !self.buy.is_empty()
    }
}

/// The answer of a study.
pub fn answer(judge: &Judge, wish: &Wish, study: &Study, left_out: &[String]) -> BuyAnswer {
    let shop = judge.choices.shop();
    let terms = judge.asked.terms;
    let without = &study.without;
    let a_year = |amount: crate::costing::Amount| amount.to_units(shop.currency) / judge.asked.years;
    let best = study.sets.best(wish.budget);
    BuyAnswer {
        schema: crate::report::SCHEMA,
        shop: shop.name.clone(),
        currency: shop.currency.code().to_owned(),
        jobs: judge.asked.jobs.len(),
        horizon: judge.asked.years,
        discount: terms.discount.to_fraction(),
        life: terms.years,
        without: without
            .variants
            .iter()
            .map(|v| VariantAnswer { variant: v.variant, left_over: a_year(v.left_over), unmet: v.plan.unmet() })
            .collect(),
        best_without: without.best.variant,
        on_one: on_one(&without.floor, &without.best),
        single: study.sets.single.iter().map(|j| set(judge, wish, j)).collect(),
        together: study.sets.together.iter().map(|j| set(judge, wish, j)).collect(),
        skipped: study.sets.skipped.len(),
        budget: wish.budget.map(Money::to_units),
        most_together: wish.most,
        buy: best.map(|j| words(judge, j)).unwrap_or_default(),
        buy_npv: best.map_or(0.0, |j| j.worth.npv.to_units()),
        npv_at_most: study.sets.most(wish.budget).to_units(),
        close: study.close.iter().map(|c| close::answer(judge, wish, c)).collect(),
        cut: cut(study, wish),
        assumptions: assumptions(judge, wish, study, left_out),
    }
}

/// Why the search was cut and what is missing for it.
fn cut(study: &Study, wish: &Wish) -> Option<String> {
    let why = study.cut.map(stopped)?;
    let mut missing = Vec::new();
    match study.sets.cut {
        0 => {}
        1 => missing.push("1 set is not planned".to_owned()),
        sets => missing.push(format!("{sets} sets are not planned")),
    }
    let drawn = study.close.iter().filter_map(|c| Some(c.chance.as_ref()?.npv.len())).max().unwrap_or(0);
    if drawn < wish.draws {
        missing.push(format!("{drawn} of {} draws are planned", wish.draws));
    }
    if study.close.iter().all(|c| c.bars.is_empty()) {
        missing.push("nothing is told of what matters".to_owned());
    }
    let missing = if missing.is_empty() { "the last plans are short".to_owned() } else { missing.join(", ") };
    Some(format!("{why}; {missing}"))
}

fn words(judge: &Judge, judged: &Judged) -> Vec<String> {
    judged.set.iter().map(|item| judge.choices.words(*item)).collect()
}

fn set(judge: &Judge, wish: &Wish, j: &Judged) -> SetAnswer {
    let Case { price, gain, .. } = j.case;
    let stops = cash::break_even(&j.case, judge.asked.terms).ok().flatten();
    SetAnswer {
        what: words(judge, j),
        price: price.to_units(),
        gain: gain.to_units(),
        npv: j.worth.npv.to_units(),
        irr: j.worth.irr.iter().map(|r| r.to_fraction()).collect(),
        payback: j.worth.payback,
        yearly: j.worth.yearly.to_units(),
        stops_paying_at: stops.map(Money::to_units),
        npv_at_most: j.most.to_units(),
        pays: j.pays(),
        within_budget: wish.budget.is_none_or(|b| price <= b),
    }
}

fn assumptions(judge: &Judge, wish: &Wish, study: &Study, left_out: &[String]) -> Vec<String> {
    let choices = judge.choices;
    let mut told = vec![
        "only money out of pocket counts: hours that are freed are worth nothing unless the plan fills them".to_owned(),
        "volumes and prices stay as the mix says for the whole life, nominal; what is lost in tax one year is saved on \
         other profit"
            .to_owned(),
        "a job's mode and attachments are those of the lot as it is; a lot of another size lies on the line through it and \
         twice it"
            .to_owned(),
    ];
    let plans = std::iter::once(&study.without.best).chain(study.close.iter().map(|c| &c.judged.best));
    let short = plans.filter_map(|b| Some(judge.gain(b.most?, b.left_over).to_units())).fold(0.0, f64::max);
    if short >= 0.5 {
        let short = crate::quantity::print::thousands(short.round());
        told.push(format!(
            "plans are searched: each is short of the best by at most {short} {} a year, proven; smaller differences say little",
            choices.shop().currency.code()
        ));
    }
    told.extend(choices.assumed(wish.items));
    told.extend(judge.asked.terms.assumed.iter().cloned());
    if let Some(goes) = choices.replaced() {
        let name = &choices.machines()[goes].name;
        let stated = choices.shop().machines.get(name).is_some_and(|own| own.sells.is_some());
        let said = if stated { "" } else { ", the share of resale of its list price" };
        let sold = crate::quantity::print::thousands(judge.sold(goes).to_units().round());
        told.push(format!("one {name} goes for {sold} {}{said}", choices.shop().currency.code()));
    }
    if judge.asked.terms.loan.is_some() || judge.asked.terms.lease.is_some() {
        told.push("a loan or lease that costs less than the discount looks better by that alone".to_owned());
    }
    told.extend(left_out.iter().cloned());
    told
}
