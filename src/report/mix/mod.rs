//! A year's work on the machines of a shop as data, and its printers.

mod calendar;
mod csv;
mod order;
mod text;
pub(in crate::report) mod words;

pub use calendar::calendar;
pub use csv::csv;
pub use order::{RunAnswer, SequenceAnswer, sequenced};
pub use text::text;

pub(in crate::report) use order::words as order_words;

use crate::costing::Amount;
use crate::fleet::mix::plan::{HOUR, JobPlan, Made, SetterTime, Unit};
use crate::fleet::mix::{Fate, MixPlan, Routed, WhyNot, Work};
use crate::fleet::solver::Stopped;
use crate::matching::Verdict;
use crate::model::machine::Machine;
use crate::model::mix::Chance;
use crate::model::shop::Shop;
use crate::quantity::measure::Currency;
use schemars::JsonSchema;
use serde::Serialize;

/// Machines that are told where none can make a job.
const TOLD: usize = 3;

/// One machine of the shop with its hours.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct UnitAnswer {
    pub machine: String,
    /// From 1, of as many of its kind.
    pub number: usize,
    pub of: usize,
    pub hours: f64,
    /// Promised before this mix.
    pub promised: f64,
    /// Making pieces.
    pub cutting: f64,
    pub setting: f64,
    pub idle: f64,
    /// The share of the hours that is taken, 0 to 1.
    pub used: f64,
    /// What one more hour on it would bring: a first estimate, since jobs come whole.
    pub hour_brings: f64,
}

/// Setters with their hours.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SetterAnswer {
    /// The machine that only these can set; nothing for all setters on all machines.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub machine: Option<String>,
    pub setters: u32,
    pub hours: f64,
    pub setting: f64,
    /// What one more hour of theirs would bring.
    pub hour_brings: f64,
}

/// Lots of a job on one machine.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MadeAnswer {
    pub machine: String,
    pub number: usize,
    pub of: usize,
    pub mode: &'static str,
    pub verdict: Verdict,
    pub lots: usize,
    pub pieces: u64,
    pub cycle_s: f64,
    pub hours: f64,
    pub setting: f64,
    /// Out of pocket, and at the full hour rate.
    pub cash: f64,
    pub full: f64,
}

/// A machine that cannot make a job, and why.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CannotAnswer {
    pub machine: String,
    pub mode: &'static str,
    pub reason: String,
    /// Attachments that would lift it, with how many to buy.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<String>,
}

/// Lots of a job that are not made here.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OutAnswer {
    pub fate: Fate,
    pub lots: usize,
    pub pieces: u64,
    pub why: String,
    /// What buying them costs.
    pub cost: f64,
    /// The machines that come nearest, where none can make it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cannot: Vec<CannotAnswer>,
}

/// One job.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct JobAnswer {
    pub part: String,
    pub chance: Chance,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub customer: Option<String>,
    /// Over the horizon.
    pub pieces: u64,
    pub lots: u64,
    pub made: Vec<MadeAnswer>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub out: Option<OutAnswer>,
    /// What the customer pays for all that is made and bought out.
    pub revenue: f64,
    pub cash: f64,
    pub left_over: f64,
    /// Machines of the shop that can make it.
    pub machines: usize,
}

/// The whole answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MixAnswer {
    pub schema: u32,
    pub shop: String,
    pub currency: String,
    pub years: f64,
    pub units: Vec<UnitAnswer>,
    pub setters: Vec<SetterAnswer>,
    pub jobs: Vec<JobAnswer>,
    pub revenue: f64,
    /// Out of pocket: material, tools, wages, what is bought; no hour rates.
    pub cash: f64,
    pub left_over: f64,
    /// What is made here, at the full hour rates of the machines.
    pub full: f64,
    /// Revenue that only one machine of the shop can make, as a share, 0 to 1.
    pub on_one_machine: f64,
    /// Proven: no plan leaves more over; nothing where a job that must be made is not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most: Option<f64>,
    pub stopped: String,
    /// The lots of each machine in their order, where that was asked.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sequence: Vec<SequenceAnswer>,
    /// What is taken for granted.
    pub assumptions: Vec<String>,
}

impl MixAnswer {
    /// Whether all that must be made is.
    pub fn is_whole(&self) -> bool {
        self.jobs.iter().all(|j| j.out.as_ref().is_none_or(|o| o.fate != Fate::Unmet))
    }
}

struct Teller<'a> {
    machines: &'a [Machine],
    plan: &'a MixPlan,
    currency: Currency,
}

/// The answer of a plan.
pub fn answer(shop: &Shop, machines: &[Machine], years: f64, work: &[Work], plan: &MixPlan) -> MixAnswer {
    let teller = Teller { machines, plan, currency: shop.currency };
    let jobs: Vec<JobAnswer> = work.iter().zip(&plan.jobs).map(|(w, p)| teller.job(w, p)).collect();
    let sum = |f: fn(&JobAnswer) -> f64| jobs.iter().map(f).sum::<f64>();
    let revenue = sum(|j| j.revenue);
    let alone = jobs.iter().filter(|j| j.machines == 1 && !j.made.is_empty()).map(|j| j.revenue).sum::<f64>();
    MixAnswer {
        schema: crate::report::SCHEMA,
        shop: shop.name.clone(),
        currency: shop.currency.code().to_owned(),
        years,
        units: (0..plan.hours.units.len()).map(|u| teller.unit(u)).collect(),
        setters: plan.hours.setters.iter().enumerate().map(|(i, s)| teller.setters(i, s)).collect(),
        revenue,
        cash: sum(|j| j.cash),
        left_over: teller.units_of(plan.left_over()),
        full: jobs.iter().flat_map(|j| &j.made).map(|m| m.full).sum(),
        on_one_machine: if revenue > 0.0 { alone / revenue } else { 0.0 },
        most: plan.most.map(|m| teller.units_of(m)),
        stopped: stopped(plan.stopped),
        assumptions: assumptions(shop, machines),
        sequence: Vec::new(),
        jobs,
    }
}

/// Why the search ended, in words.
pub(super) fn stopped(stopped: Stopped) -> String {
    match stopped {
        Stopped::Proved => "proven best".to_owned(),
        Stopped::Gap => "as near as was asked".to_owned(),
        Stopped::Steps => "the steps are spent".to_owned(),
        Stopped::Time(after) => format!("cut by the clock after {:.0} s: another run may differ", after.as_secs_f64()),
        Stopped::Interrupted => "interrupted: the best so far".to_owned(),
    }
}

fn assumptions(shop: &Shop, machines: &[Machine]) -> Vec<String> {
    let mut told = vec![
        "each lot is set up anew, whatever ran before it; a sequence saves some of that".to_owned(),
        "out of pocket are material, tools, wages, what is bought and what an hour of running costs; the hour rates are not, \
         since the machines are there"
            .to_owned(),
    ];
    let silent: Vec<&str> = machines
        .iter()
        .filter(|m| shop.machines.get(&m.name).is_some_and(|own| own.running.is_none()))
        .map(|m| m.name.as_str())
        .collect();
    if !silent.is_empty() {
        told.push(format!(
            "an hour of running costs nothing on {}, where the shop file states no `running`",
            silent.join(", ")
        ));
    }
    if shop.people.hours.is_none() {
        told.push("setters have hours without end: the shop file states none".to_owned());
    }
    told
}

impl Teller<'_> {
    fn units_of(&self, amount: Amount) -> f64 {
        amount.to_units(self.currency)
    }

    fn all_made(&self) -> impl Iterator<Item = &Made> {
        self.plan.jobs.iter().flat_map(|j| &j.made)
    }

    fn unit(&self, number: usize) -> UnitAnswer {
        let unit = self.plan.hours.units[number];
        let hour_brings = self.plan.unit_hours.get(number).map_or(0.0, |a| self.units_of(*a));
        let on = || self.all_made().filter(|m| m.unit == number).map(|m| m.takes);
        let (all, setting): (i64, i64) = (on().map(|t| t.seconds).sum(), on().map(|t| t.setting).sum());
        let Unit { machine, number, of, available, promised } = unit;
        let hours = |seconds: i64| seconds as f64 / HOUR as f64;
        let taken = all + promised;
        UnitAnswer {
            machine: self.machines[machine].name.clone(),
            number,
            of,
            hours: hours(available),
            promised: hours(promised),
            cutting: hours(all - setting),
            setting: hours(setting),
            idle: hours((available - taken).max(0)),
            used: if available > 0 { taken as f64 / available as f64 } else { 0.0 },
            hour_brings,
        }
    }

    fn setters(&self, i: usize, s: &SetterTime) -> SetterAnswer {
        let on = |m: &&Made| s.machine.is_none_or(|machine| self.plan.hours.units[m.unit].machine == machine);
        let set: i64 = self.all_made().filter(on).map(|m| m.takes.setting).sum();
        SetterAnswer {
            machine: s.machine.map(|m| self.machines[m].name.clone()),
            setters: s.setters,
            hours: s.seconds as f64 / HOUR as f64,
            setting: set as f64 / HOUR as f64,
            hour_brings: self.plan.setter_hours.get(i).map_or(0.0, |a| self.units_of(*a)),
        }
    }

    fn job(&self, work: &Work, plan: &JobPlan) -> JobAnswer {
        let (job, routed) = (work.job, work.routed);
        let out = plan.out.as_ref().map(|out| OutAnswer {
            fate: out.fate,
            lots: out.lots.len(),
            pieces: out.pieces,
            why: why(out.why).to_owned(),
            cost: self.units_of(out.cost),
            cannot: if out.why == WhyNot::NoMachine { self.cannot(routed) } else { Vec::new() },
        });
        JobAnswer {
            part: job.part.value.clone(),
            chance: job.chance,
            customer: job.customer.clone(),
            pieces: routed.lots.all(),
            lots: routed.lots.count,
            made: plan.made.iter().map(|m| self.made(routed, m)).collect(),
            out,
            revenue: self.units_of(plan.revenue),
            cash: self.units_of(plan.cash()),
            left_over: self.units_of(plan.revenue - plan.cash()),
            machines: routed.routes.len(),
        }
    }

    fn made(&self, routed: &Routed, made: &Made) -> MadeAnswer {
        let (unit, route) = (self.plan.hours.units[made.unit], &routed.routes[made.route]);
        MadeAnswer {
            machine: self.machines[unit.machine].name.clone(),
            number: unit.number,
            of: unit.of,
            mode: route.mode.word(),
            verdict: route.verdict,
            lots: made.lots.len(),
            pieces: made.lots.iter().map(|lot| routed.lots.size(*lot)).sum(),
            cycle_s: route.cycle.to_s(),
            hours: made.takes.seconds as f64 / HOUR as f64,
            setting: made.takes.setting as f64 / HOUR as f64,
            cash: self.units_of(made.takes.cash),
            full: self.units_of(made.takes.full),
        }
    }

    fn cannot(&self, routed: &Routed) -> Vec<CannotAnswer> {
        let told = routed.refused.iter().take(TOLD);
        told.map(|r| CannotAnswer {
            machine: self.machines[r.machine].name.clone(),
            mode: r.mode.word(),
            reason: r.reason.to_string(),
            with: r.with.iter().map(|(name, count)| format!("{count} x {name}")).collect(),
        })
        .collect()
    }
}

fn why(why: WhyNot) -> &'static str {
    match why {
        WhyNot::NoMachine => "no machine of the shop can make it",
        WhyNot::NotWorth => "making it here costs more than that",
        WhyNot::NoHours => "other jobs bring more for the hours that it would take",
    }
}
