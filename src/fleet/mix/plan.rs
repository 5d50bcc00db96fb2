//! A year's work on the machines of a shop: units with their hours, jobs with their routes, and who makes what.

use super::decide::{Decided, Item, Limit, Place, Question, Undecided, decide, mend};
use super::routes::{Route, Routed, Takes};
use crate::costing::Amount;
use crate::fleet::solver::{Options, Stopped};
use crate::model::machine::Machine;
use crate::model::mix::MixJob;
use crate::model::shop::Shop;
use crate::quantity::Money;
use crate::quantity::measure::Currency;

/// An hour in the unit of the decision.
pub const HOUR: i64 = 3600;
/// Steps of the search by default: for each job, or lot that may run apart, and in all at least.
const STEPS_FOR_EACH: u64 = 5;
const FEWEST_STEPS: u64 = 2_000;
/// A job that must be made and cannot weighs so many times all that the mix is worth.
const UNMET: i64 = 4;

/// One machine of the shop: one of several of its kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unit {
    /// A number in the machines given.
    pub machine: usize,
    /// From 1.
    pub number: usize,
    /// How many of its kind there are.
    pub of: usize,
    /// Seconds over the horizon, and those of them that are promised already.
    pub available: i64,
    pub promised: i64,
}

impl Unit {
    /// Seconds that the mix may take.
    pub fn free(&self) -> i64 {
        (self.available - self.promised).max(0)
    }
}

/// What the machines and the setters have.
#[derive(Clone, Debug, PartialEq)]
pub struct Hours {
    pub units: Vec<Unit>,
    /// Setters with their time, and the machine that only some can set; nothing for all machines together.
    pub setters: Vec<SetterTime>,
}

/// Time of setters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SetterTime {
    pub machine: Option<usize>,
    pub setters: u32,
    pub seconds: i64,
}

/// A machine without hours.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the shop file does not say how many hours a year `{0}` has: add `available: 3_400 h/year` to it")]
pub struct NoHours(pub String);

impl Hours {
    /// What a shop has over so many years.
    ///
    /// # Errors
    /// [`NoHours`] where a machine's hours are not stated.
    pub fn of(machines: &[Machine], shop: &Shop, years: f64) -> Result<Hours, NoHours> {
        let seconds = |hours: f64| (hours * HOUR as f64).round() as i64;
        let mut units = Vec::new();
        for (machine, spec) in machines.iter().enumerate() {
            let Some(own) = shop.machines.get(&spec.name) else { continue };
            let a_year = own.available.ok_or_else(|| NoHours(spec.name.clone()))?.to_h_per_year();
            let of = own.now.len().max(1);
            let promised = own.load.map_or(0.0, |l| l.to_hours()) / of as f64;
            let unit =
                |number| Unit { machine, number, of, available: seconds(a_year * years), promised: seconds(promised) };
            units.extend((1..=of).map(unit));
        }
        let mut setters = Vec::new();
        if let Some(each) = shop.people.hours {
            let time = |count: u32| seconds(each.to_h_per_year() * years * f64::from(count));
            let all = shop.people.setters;
            setters.push(SetterTime { machine: None, setters: all, seconds: time(all) });
            for (machine, spec) in machines.iter().enumerate() {
                let few = shop.people.skills.get(&spec.name).copied().filter(|few| *few < all);
                setters.extend(few.map(|few| SetterTime { machine: Some(machine), setters: few, seconds: time(few) }));
            }
        }
        Ok(Hours { units, setters })
    }
}

/// Some lots of a job on one unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Made {
    pub unit: usize,
    /// A number in the job's routes.
    pub route: usize,
    /// Numbers of the lots, ascending.
    pub lots: Vec<u64>,
    pub takes: Takes,
}

/// What becomes of lots that are not made here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Fate {
    BoughtOut,
    Lost,
    /// They must be made, and are not: no machine can, or none has the hours.
    Unmet,
}

/// Why lots are not made here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhyNot {
    /// No machine of the shop can.
    NoMachine,
    /// Making them costs as much as not making them.
    NotWorth,
    /// Other jobs take the hours.
    NoHours,
}

/// Lots that are not made here.
#[derive(Clone, Debug, PartialEq)]
pub struct Out {
    pub fate: Fate,
    pub why: WhyNot,
    pub lots: Vec<u64>,
    pub pieces: u64,
    /// What buying them costs.
    pub cost: Amount,
}

/// A job as it is decided.
#[derive(Clone, Debug, PartialEq)]
pub struct JobPlan {
    pub made: Vec<Made>,
    pub out: Option<Out>,
    /// What the customer pays for all that is made and bought out.
    pub revenue: Amount,
}

impl JobPlan {
    /// What all that is made here takes.
    pub fn takes(&self) -> Takes {
        self.made.iter().fold(Takes::default(), |sum, m| sum.and(m.takes))
    }

    /// The unit of each of so many lots; none where it is not made here.
    pub fn places(&self, lots: u64) -> Vec<Option<usize>> {
        let on = |lot: u64| self.made.iter().find(|m| m.lots.contains(&lot)).map(|m| m.unit);
        (0..lots).map(on).collect()
    }

    /// Out of pocket: made and bought out.
    pub fn cash(&self) -> Amount {
        self.takes().cash + self.out.as_ref().map_or(Amount::ZERO, |o| o.cost)
    }
}

/// The whole plan.
#[derive(Clone, Debug)]
pub struct MixPlan {
    pub hours: Hours,
    pub jobs: Vec<JobPlan>,
    /// Proven: no plan leaves more over. Nothing where a job that must be made is not.
    pub most: Option<Amount>,
    pub stopped: Stopped,
    /// What one more hour of setters would bring, in the order of [`Hours::setters`].
    pub setter_hours: Vec<Amount>,
    /// What one more hour of each machine would bring, in the order of [`Hours::units`]: a first estimate.
    pub unit_hours: Vec<Amount>,
}

impl MixPlan {
    /// What all jobs leave over: revenue less what is out of pocket.
    pub fn left_over(&self) -> Amount {
        self.jobs.iter().map(|j| j.revenue - j.cash()).sum()
    }

    /// Jobs that must be made and are not.
    pub fn unmet(&self) -> usize {
        self.jobs.iter().filter(|j| j.out.as_ref().is_some_and(|o| o.fate == Fate::Unmet)).count()
    }
}

/// An item of the decision: some lots of a job.
struct Part {
    job: usize,
    lots: Vec<u64>,
}

/// A job with its routes.
pub struct Work<'a> {
    pub job: &'a MixJob,
    pub routed: &'a Routed,
}

/// Steps that suit the size of a mix: few are enough for some hundred jobs, and thousands need some for each.
pub fn usual_steps(work: &[Work]) -> u64 {
    let items = |w: &Work| if w.job.split { w.routed.lots.count } else { 1 };
    (STEPS_FOR_EACH * work.iter().map(items).sum::<u64>()).max(FEWEST_STEPS)
}

/// Where each lot of each job runs: by job and lot the unit; none where it is not made here.
pub type Placing = Vec<Vec<Option<usize>>>;

/// Decides who makes what.
///
/// # Errors
/// [`Undecided`] where no plan is found.
pub fn plan(work: &[Work], hours: Hours, currency: Currency, options: &Options<'_>) -> Result<MixPlan, Undecided> {
    let desk = Desk { work, hours: &hours, currency };
    let parts = desk.parts();
    let question = desk.question(&parts);
    let mut decided = decide(&question, options)?;
    desk.interleave(&parts, &mut decided.plan);
    Ok(desk.told(&parts, &question, &decided))
}

/// The plans that come of plans known from elsewhere, each as it is where it keeps within the hours, and mended. Nothing is
/// searched and nothing proven.
pub fn placed(work: &[Work], hours: &Hours, currency: Currency, known: &[Placing]) -> Vec<MixPlan> {
    let desk = Desk { work, hours, currency };
    let parts = desk.parts();
    let question = desk.question(&parts);
    let told = |plan: Vec<Option<usize>>, cost: i64| {
        let none = |count: usize| vec![0.0; count];
        let (prices, room) = (none(question.limits.len()), none(question.capacities.len()));
        let decided = Decided { plan, cost, bound: 0, stopped: Stopped::Steps, prices, room };
        MixPlan { most: None, ..desk.told(&parts, &question, &decided) }
    };
    let mut plans = Vec::new();
    for placing in known {
        let unit = |(part, item): (&Part, &Item)| {
            let unit = placing.get(part.job)?.get(part.lots[0] as usize).copied().flatten()?;
            item.places.iter().any(|p| p.unit == unit).then_some(unit)
        };
        let mut plan: Vec<Option<usize>> = parts.iter().zip(&question.items).map(unit).collect();
        if let Some(used) = question.used(&plan).filter(|used| question.holds(used)) {
            plans.push(told(plan.clone(), used.cost));
        }
        if let Some(cost) = mend(&question, &mut plan) {
            plans.push(told(plan, cost));
        }
    }
    plans
}

/// One item a lot where the lots may run apart, else one of all lots.
fn parts(job: usize, work: &Work) -> Vec<Part> {
    let count = work.routed.lots.count;
    match work.job.split {
        true => (0..count).map(|lot| Part { job, lots: vec![lot] }).collect(),
        false => vec![Part { job, lots: (0..count).collect() }],
    }
}

struct Desk<'a> {
    work: &'a [Work<'a>],
    hours: &'a Hours,
    currency: Currency,
}

impl Desk<'_> {
    fn parts(&self) -> Vec<Part> {
        self.work.iter().enumerate().flat_map(|(job, w)| parts(job, w)).collect()
    }

    fn question(&self, parts: &[Part]) -> Question {
        let items: Vec<Item> = parts.iter().map(|p| self.item(p)).collect();
        let worth: i64 = items.iter().map(|i| self.dearest(i)).sum();
        let unmet = worth.saturating_mul(UNMET).max(1);
        let items = items.into_iter().map(|i| Item { left_out: i.left_out.or(Some(unmet)), ..i }).collect();
        let limit = |s: &SetterTime| Limit {
            on: self.hours.units.iter().map(|u| s.machine.is_none_or(|m| m == u.machine)).collect(),
            most: s.seconds,
        };
        Question {
            capacities: self.hours.units.iter().map(Unit::free).collect(),
            limits: self.hours.setters.iter().map(limit).collect(),
            items,
        }
    }

    fn amount(&self, money: Money) -> Amount {
        Amount::of(money, self.currency).unwrap_or(Amount::ZERO)
    }

    fn pieces(&self, part: &Part) -> u64 {
        let lots = self.work[part.job].routed.lots;
        part.lots.iter().map(|lot| lots.size(*lot)).sum()
    }

    fn route(&self, job: usize, unit: usize) -> Option<(usize, &Route)> {
        let machine = self.hours.units[unit].machine;
        self.work[job].routed.routes.iter().enumerate().find(|(_, r)| r.machine == machine)
    }

    /// What an item takes; lots that run apart each pay what their number pays, the first what is paid once.
    fn takes(&self, route: &Route, part: &Part) -> Takes {
        let lots = self.work[part.job].routed.lots;
        part.lots.iter().fold(Takes::default(), |sum, lot| sum.and(route.lot(&lots, *lot)))
    }

    fn item(&self, part: &Part) -> Item {
        let place = |unit: usize| {
            let (_, route) = self.route(part.job, unit)?;
            let takes = self.takes(route, part);
            Some(Place { unit, takes: takes.seconds, setting: takes.setting, cost: takes.cash.to_minor() })
        };
        let places = (0..self.hours.units.len()).filter_map(place).collect();
        let fate = self.fate(part);
        Item { places, left_out: fate.map(|(_, cost)| cost.to_minor()) }
    }

    /// The cheaper of buying out and losing; nothing where neither is allowed.
    fn fate(&self, part: &Part) -> Option<(Fate, Amount)> {
        let job = self.work[part.job].job;
        let pieces = self.pieces(part) as f64;
        let bought = job.buy_out.map(|b| self.amount(b.piece * pieces + b.lot * part.lots.len() as f64));
        let lost = job.price.filter(|_| !job.must).map(|p| self.amount(p * pieces));
        let bought = bought.map(|a| (Fate::BoughtOut, a));
        let lost = lost.map(|a| (Fate::Lost, a));
        bought.into_iter().chain(lost).min_by_key(|f| f.1)
    }

    fn dearest(&self, item: &Item) -> i64 {
        item.places.iter().map(|p| p.cost.abs()).chain(item.left_out).max().unwrap_or(0)
    }

    /// Lots of a job that run apart come evenly from each machine, and not the first half of the year from one of them. Only
    /// lots that take the same change places, so that hours and cost stay.
    fn interleave(&self, parts: &[Part], plan: &mut [Option<usize>]) {
        for (job, work) in self.work.iter().enumerate().filter(|(_, w)| w.job.split) {
            let lots = work.routed.lots;
            for size in [lots.pieces, lots.pieces + 1] {
                let alike = |(_, p): &(usize, &Part)| p.job == job && p.lots[0] > 0 && lots.size(p.lots[0]) == size;
                let at: Vec<usize> = parts.iter().enumerate().filter(alike).map(|(i, _)| i).collect();
                let mut places: Vec<(Option<usize>, usize, usize)> = Vec::new();
                for place in at.iter().map(|i| plan[*i]) {
                    match places.iter_mut().find(|p| p.0 == place) {
                        Some(known) => known.1 += 1,
                        None => places.push((place, 1, 0)),
                    }
                }
                for (k, i) in at.iter().enumerate() {
                    // The place that is furthest behind its share of the lots so far.
                    let behind = |p: &(Option<usize>, usize, usize)| (p.1 * (k + 1)) as i64 - (p.2 * at.len()) as i64;
                    let Some(next) = places.iter_mut().filter(|p| p.2 < p.1).max_by_key(|p| behind(p)) else { break };
                    next.2 += 1;
                    plan[*i] = next.0;
                }
            }
        }
    }

    fn told(&self, parts: &[Part], question: &Question, decided: &Decided) -> MixPlan {
        let mut jobs: Vec<JobPlan> =
            self.work.iter().map(|_| JobPlan { made: Vec::new(), out: None, revenue: Amount::ZERO }).collect();
        for ((part, item), unit) in parts.iter().zip(&question.items).zip(&decided.plan) {
            let plan = &mut jobs[part.job];
            match unit.and_then(|unit| Some((unit, self.route(part.job, unit)?))) {
                Some((unit, (route, _))) => match plan.made.iter_mut().find(|m| m.unit == unit) {
                    Some(made) => made.lots.extend(&part.lots),
                    None => plan.made.push(Made { unit, route, lots: part.lots.clone(), takes: Takes::default() }),
                },
                None => {
                    let (fate, cost) = self.fate(part).unwrap_or((Fate::Unmet, Amount::ZERO));
                    let cost = if fate == Fate::BoughtOut { cost } else { Amount::ZERO };
                    let why = why_not(item);
                    let out =
                        plan.out.get_or_insert(Out { fate, why, lots: Vec::new(), pieces: 0, cost: Amount::ZERO });
                    out.lots.extend(&part.lots);
                    out.pieces += self.pieces(part);
                    out.cost = out.cost + cost;
                }
            }
        }
        for (job, plan) in jobs.iter_mut().enumerate() {
            self.settle(job, plan);
        }
        // The decision weighs what is lost as a cost: what all jobs could bring, less its bound, is the most that is left over.
        let could: Amount = (0..self.work.len()).map(|job| self.could_bring(job)).sum();
        let unmet = jobs.iter().any(|j| j.out.as_ref().is_some_and(|o| o.fate == Fate::Unmet));
        let most = (!unmet).then(|| could - Amount::minor(decided.bound));
        let an_hour = |of: &[f64]| of.iter().map(|p| Amount::minor((p * HOUR as f64).round() as i64)).collect();
        let (setter_hours, unit_hours) = (an_hour(&decided.prices), an_hour(&decided.room));
        MixPlan { hours: self.hours.clone(), jobs, most, stopped: decided.stopped, setter_hours, unit_hours }
    }

    /// What the customer would pay for all pieces of a job.
    fn could_bring(&self, job: usize) -> Amount {
        let work = &self.work[job];
        self.amount(work.job.price.unwrap_or(Money::ZERO) * work.routed.lots.all() as f64)
    }

    /// Times and money of what is made, from the routes alone; the first lot of a job pays what is paid once.
    fn settle(&self, job: usize, plan: &mut JobPlan) {
        let Work { job: asked, routed } = &self.work[job];
        for made in &mut plan.made {
            made.lots.sort_unstable();
            let route = &routed.routes[made.route];
            made.takes = made.lots.iter().fold(Takes::default(), |sum, lot| sum.and(route.lot(&routed.lots, *lot)));
        }
        let sold = match &plan.out {
            Some(out) if out.fate != Fate::BoughtOut => routed.lots.all() - out.pieces,
            _ => routed.lots.all(),
        };
        plan.revenue = self.amount(asked.price.unwrap_or(Money::ZERO) * sold as f64);
    }
}

/// Why an item is not made here.
fn why_not(item: &Item) -> WhyNot {
    let cheapest = item.places.iter().map(|p| p.cost).min();
    match (cheapest, item.left_out) {
        (None, _) => WhyNot::NoMachine,
        (Some(cost), Some(out)) if cost >= out => WhyNot::NotWorth,
        _ => WhyNot::NoHours,
    }
}
