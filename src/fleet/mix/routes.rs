//! What each job takes on each machine: its best way of holding there, planned and priced as a lot of the job's size.

use crate::costing::{Amount, Lot, LotError, Rates, Share, rate};
use crate::matching::{By, Ranking, Row, Standing, Verdict, rank};
use crate::model::machine::{Machine, ModeKind};
use crate::model::mix::MixJob;
use crate::model::part::{Part, Validated};
use crate::model::shop::{Shop, ShopMachine, State};
use crate::quantity::{HourRate, Time};
use crate::tables::thresholds::Thresholds;
use rayon::prelude::*;

/// Shares that are paid once, whatever the number of lots.
const ONCE: [Share; 3] = [Share::SpecialCollet, Share::Collets, Share::Moving];

/// A job's lots over the horizon: whole pieces that differ by one at most.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lots {
    pub count: u64,
    /// Pieces of the smaller lots.
    pub pieces: u64,
    /// So many lots have one piece more.
    pub larger: u64,
}

impl Lots {
    /// The lots of a job over so many years.
    pub fn of(job: &MixJob, years: f64) -> Lots {
        let all = ((job.yearly as f64 * years).round() as u64).max(1);
        Lots::split(all, (f64::from(job.lots) * years).round() as u64)
    }

    /// So many pieces, at least one, in so many lots, each of at least one piece.
    pub fn split(all: u64, count: u64) -> Lots {
        let count = count.clamp(1, all.max(1));
        Lots { count, pieces: all / count, larger: all % count }
    }

    /// Pieces of the lot of this number, from 0.
    pub fn size(&self, lot: u64) -> u64 {
        self.pieces + u64::from(lot < self.larger)
    }

    pub fn all(&self) -> u64 {
        self.count * self.pieces + self.larger
    }
}

/// What a lot takes and costs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Takes {
    /// Whole seconds, setup and pieces with scrap.
    pub seconds: i64,
    /// Of them at the setting.
    pub setting: i64,
    /// Out of pocket: material, tools, wages, what an hour of running costs, what is bought beside the machine.
    pub cash: Amount,
    /// Of it what grows with the hours: wages and what an hour of running costs.
    pub by_hour: Amount,
    /// Of that the setting.
    pub by_setting: Amount,
    /// With the hour rate of the machine.
    pub full: Amount,
}

impl Takes {
    /// Both together.
    pub fn and(self, o: Takes) -> Takes {
        Takes {
            seconds: self.seconds + o.seconds,
            setting: self.setting + o.setting,
            cash: self.cash + o.cash,
            by_hour: self.by_hour + o.by_hour,
            by_setting: self.by_setting + o.by_setting,
            full: self.full + o.full,
        }
    }
}

/// A job on one kind of machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Route {
    /// A number in the machines given.
    pub machine: usize,
    pub mode: ModeKind,
    pub verdict: Verdict,
    pub cycle: Time,
    /// The first lot: proved out anew where the part never ran, with what is paid once.
    pub first: [Takes; 2],
    /// A later lot.
    pub later: [Takes; 2],
    /// A later lot of twice the smaller size: a lot of any other size lies on the line through both.
    pub twice: Takes,
}

impl Route {
    /// What the lot of this number takes; each is kept for the smaller and for the larger size of a lot.
    pub fn lot(&self, lots: &Lots, number: u64) -> Takes {
        let size = usize::from(number < lots.larger);
        if number == 0 { self.first[size] } else { self.later[size] }
    }
}

/// Why a job does not run on a machine with what the shop owns.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    pub machine: usize,
    pub mode: ModeKind,
    pub refusals: usize,
    pub reason: String,
    /// Names of attachments that would lift it, with how many to buy.
    pub with: Vec<(String, u32)>,
}

/// A job with all that is known of it.
#[derive(Clone, Debug)]
pub struct Routed {
    pub lots: Lots,
    /// One for each machine that can make it, by the number of the machine.
    pub routes: Vec<Route>,
    /// The machines that cannot, fewest refusals first.
    pub refused: Vec<Refused>,
}

/// Every job on every machine of the shop. `parts` are those of the jobs, in their order. What stands on the machines now is
/// left aside: over a year a lot follows any other, and is set up anew.
pub fn routes(jobs: &[(&MixJob, &Part)], machines: &[Machine], shop: &Shop, years: f64) -> Vec<Routed> {
    let shop = between_jobs(shop);
    jobs.par_iter().map(|(job, part)| routed(job, part, machines, &shop, years)).collect()
}

/// The shop with nothing known to stand on its machines.
fn between_jobs(shop: &Shop) -> Shop {
    let mut shop = shop.clone();
    for machine in shop.machines.values_mut() {
        machine.now = vec![State::default(); machine.now.len()];
    }
    shop
}

fn routed(job: &MixJob, part: &Part, machines: &[Machine], shop: &Shop, years: f64) -> Routed {
    let lots = Lots::of(job, years);
    let mut asked = Part { orders: vec![lots.size(0)], repeat: true, ..part.clone() };
    if !job.validated_on.is_empty() {
        let on = job.validated_on.iter().map(|m| m.value.clone()).collect();
        asked.validated = Some(Validated { on, mode: None, moving: job.moving, place: job.place });
    }
    let again = rank(&asked, machines, shop, None, By::Cost);
    let anew = match part.repeat {
        true => again.clone(),
        false => rank(&Part { repeat: false, ..asked.clone() }, machines, shop, None, By::Cost),
    };
    let mut routes: Vec<Route> = Vec::new();
    let mut refused: Vec<Refused> = Vec::new();
    for row in &again.rows {
        let taken = routes.iter().any(|r| r.machine == row.machine);
        if !matches!(row.standing, Standing::Owned) {
            refused.push(why_not(row));
        } else if !taken && let Ok(route) = priced(&asked, row, &anew, machines, shop, &lots) {
            routes.push(route);
        }
    }
    routes.sort_by_key(|r| r.machine);
    refused.retain(|r| routes.iter().all(|made| made.machine != r.machine));
    refused.sort_by_key(|r| (r.refusals, r.machine));
    Routed { lots, routes, refused }
}

fn why_not(row: &Row) -> Refused {
    let deciding = |f: &&crate::matching::Finding| matches!(f.verdict, Verdict::Refused | Verdict::NotStated);
    let found = row.without.iter().chain(&row.judged.findings).find(deciding);
    Refused {
        machine: row.machine,
        mode: row.mode,
        refusals: row.judged.refusals(),
        reason: found.map_or_else(String::new, |f| format!("{}: {}", f.rule, f.reason)),
        with: row.purchases.iter().map(|p| (p.name.clone(), p.count)).collect(),
    }
}

/// What an hour costs out of pocket.
fn pocket(machine: Option<&ShopMachine>) -> Rates {
    let none = HourRate::per_hour(0.0);
    Rates { machine: machine.and_then(|m| m.running).unwrap_or(none), assumed: false }
}

fn priced(
    part: &Part,
    row: &Row,
    anew: &Ranking,
    machines: &[Machine],
    shop: &Shop,
    lots: &Lots,
) -> Result<Route, LotError> {
    let thresholds = Thresholds::with(&shop.thresholds);
    let own = shop.machines.get(&machines[row.machine].name);
    let takes = |row: &Row, size: u64, paid: &[Share]| -> Result<Takes, LotError> {
        let plan = &row.judged.plan;
        let cost = |rates: Rates| Lot::of(part, plan, shop, rates, &thresholds, size.max(1), paid);
        let (cash, full) = (cost(pocket(own))?, cost(rate(shop, own))?);
        Ok(Takes {
            seconds: full.order_time.to_s().ceil() as i64,
            setting: plan.setup.total.to_s().ceil() as i64,
            cash: cash.cost,
            by_hour: cash.share(Share::Machine) + cash.share(Share::Operator) + cash.share(Share::Setting),
            by_setting: cash.share(Share::Setting),
            full: full.cost,
        })
    };
    // A machine that makes it again makes it anew; the plan differs in its setup alone.
    let first = anew.rows.iter().find(|r| r.machine == row.machine && r.mode == row.mode).unwrap_or(row);
    let sizes = [lots.pieces, lots.pieces + 1];
    Ok(Route {
        machine: row.machine,
        mode: row.mode,
        verdict: row.judged.verdict,
        cycle: row.judged.plan.cycle.total,
        first: [takes(first, sizes[0], &[])?, takes(first, sizes[1], &[])?],
        later: [takes(row, sizes[0], &ONCE)?, takes(row, sizes[1], &ONCE)?],
        twice: takes(row, 2 * lots.pieces.max(1), &ONCE)?,
    })
}
