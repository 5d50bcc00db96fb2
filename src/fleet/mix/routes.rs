//! What each job takes on each machine: its best way of holding there, planned and priced as a lot of the job's size.
//!
//! Jobs of one part are planned together. What a way to make a piece costs is a straight line in one over the size of the lot,
//! so the cheapest at two sizes is the cheapest at every size between them: only where two sizes are made in different ways is
//! one between them planned, and so on. Every lot is priced at its own size.
//!
//! Machines of one spec with the same attachments differ in what their hour costs. That too is a straight line at any size, so
//! what the cheapest and the dearest of them make in the same way the others make so as well.

use crate::costing::{Amount, Lot, LotError, Rates, Share, rate};
use crate::matching::{By, Finding, Row, Standing, Verdict, rank};
use crate::model::machine::{Machine, ModeKind};
use crate::model::mix::MixJob;
use crate::model::part::{End, Part, Validated};
use crate::model::shop::{Shop, ShopMachine, State};
use crate::planning::setup::{self, Job};
use crate::planning::{PartView, Plan, Task};
use crate::quantity::{HourRate, Time};
use crate::tables::thresholds::Thresholds;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

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
    /// The end that is made first.
    pub end: End,
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
    /// Shared by the jobs of a part, as is what follows.
    pub reason: Arc<str>,
    /// Names of attachments that would lift it, with how many to buy.
    pub with: Arc<[(String, u32)]>,
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
    let thresholds = Thresholds::with(&shop.thresholds);
    let lots = |(job, _): &(&MixJob, _)| Lots::of(job, years);
    let mut routed: Vec<Routed> =
        jobs.iter().map(|j| Routed { lots: lots(j), routes: Vec::new(), refused: Vec::new() }).collect();
    let groups = groups(jobs);
    let (kinds, each) = (kinds(machines, &shop), (0..machines.len()).map(|m| vec![m]).collect::<Vec<_>>());
    // A validated process is told by the names of its machines.
    let on = |group: &Group| if group.part.validated.is_none() { &kinds } else { &each };
    let pairs: Vec<(&Group, &[usize])> =
        groups.iter().flat_map(|group| on(group).iter().map(move |kind| (group, kind.as_slice()))).collect();
    let on = |(group, kind): &(&Group, &[usize])| {
        let lots: Vec<Lots> = group.jobs.iter().map(|job| routed[*job].lots).collect();
        let bench = |number: usize| Bench {
            first: &group.first,
            part: &group.part,
            number,
            machine: &machines[number],
            shop: &shop,
            thresholds: &thresholds,
        };
        let ends = [kind.first(), kind.last()].map(|machine| bench(machine.copied().unwrap_or_default()));
        let mut ends = Ends { benches: ends, known: Default::default() };
        kind.iter().map(|machine| (*machine, bench(*machine).jobs(&lots, &mut ends))).collect()
    };
    let found: Vec<Vec<(usize, Vec<OnMachine>)>> = pairs.par_iter().map(on).collect();
    for ((group, _), found) in pairs.iter().zip(found) {
        for (job, on) in found.into_iter().flat_map(|(_, found)| group.jobs.iter().zip(found)) {
            match on {
                OnMachine::Made(route) => routed[*job].routes.push(*route),
                OnMachine::Refused(why) => routed[*job].refused.extend(why.iter().cloned()),
                OnMachine::Unpriced => {}
            }
        }
    }
    for r in &mut routed {
        r.routes.sort_by_key(|r| r.machine);
        r.refused.sort_by_key(|r| (r.refusals, r.machine));
    }
    routed
}

/// Machines on which a part is planned alike whatever their hour costs, each kind by that cost.
fn kinds(machines: &[Machine], shop: &Shop) -> Vec<Vec<usize>> {
    let mut known: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (number, machine) in machines.iter().enumerate() {
        known.entry(likeness(machine, shop)).or_default().push(number);
    }
    let hour = |m: &usize| rate(shop, shop.machines.get(&machines[*m].name)).machine.to_per_hour();
    let mut kinds: Vec<Vec<usize>> = known.into_values().collect();
    kinds.iter_mut().for_each(|kind| kind.sort_by(|a, b| hour(a).total_cmp(&hour(b)).then(a.cmp(b))));
    kinds.sort();
    kinds
}

/// All that is said of a machine, but for its names, its price and where in the sources it stands.
fn likeness(machine: &Machine, shop: &Shop) -> String {
    let (name, calibration) = (&machine.name, &shop.calibration);
    let spec =
        Machine { name: String::new(), title: String::new(), price: None, remarks: Vec::new(), ..machine.clone() };
    let own = shop.machines.get(name).map(|own| (&own.owned, &own.holdings, own.now.len()));
    let factors = [&calibration.cycle, &calibration.stoppages, &calibration.setup].map(|of| of.get(name));
    let told = format!("{spec:?} {own:?} {factors:?}");
    let mut pieces = told.split("Place { ");
    let first = pieces.next().unwrap_or_default().to_owned();
    pieces.fold(first, |text, piece| text + piece.split_once('}').map_or(piece, |(_, rest)| rest))
}

/// The shop with nothing known to stand on its machines.
pub fn between_jobs(shop: &Shop) -> Shop {
    let mut shop = shop.clone();
    for machine in shop.machines.values_mut() {
        machine.now = vec![State::default(); machine.now.len()];
    }
    shop
}

/// Jobs that differ in their lots alone.
struct Group {
    /// As it is asked on its first order.
    first: Part,
    /// As a repeat order.
    part: Part,
    /// Numbers of jobs, ascending.
    jobs: Vec<usize>,
}

fn groups(jobs: &[(&MixJob, &Part)]) -> Vec<Group> {
    let on = |job: &MixJob| -> Vec<String> { job.validated_on.iter().map(|m| m.value.clone()).collect() };
    let alike = |a: usize, b: usize| {
        let ((a, part), (b, other)) = (jobs[a], jobs[b]);
        std::ptr::eq(part, other) && a.moving == b.moving && on(a) == on(b)
    };
    let mut groups: Vec<Group> = Vec::new();
    for (number, (job, part)) in jobs.iter().enumerate() {
        if let Some(group) = groups.iter_mut().find(|g| alike(g.jobs[0], number)) {
            group.jobs.push(number);
            continue;
        }
        let mut first = (*part).clone();
        if !job.validated_on.is_empty() {
            first.validated = Some(Validated { on: on(job), mode: None, moving: job.moving, place: job.place });
        }
        groups.push(Group { part: Part { repeat: true, ..first.clone() }, first, jobs: vec![number] });
    }
    groups
}

/// A job on a machine.
enum OnMachine {
    Made(Box<Route>),
    Refused(Arc<[Refused]>),
    /// No piece fits into a bar, or the order is worth more than can be reckoned.
    Unpriced,
}

/// What a lot of some size comes to on a machine.
#[derive(Clone)]
enum Found {
    Made(Arc<Way>),
    Refused(Arc<[Refused]>),
}

/// The best of the ways to make a part on a machine.
struct Way {
    mode: ModeKind,
    verdict: Verdict,
    plan: Plan,
    /// The same on the first order, which differs in its setup alone.
    anew: Plan,
}

impl Found {
    /// Whether lots of two sizes are made in the same way.
    fn is_like(&self, o: &Found) -> bool {
        match (self, o) {
            (Found::Made(a), Found::Made(b)) => {
                let (p, q) = (&a.plan, &b.plan);
                (a.mode, a.verdict, p.first) == (b.mode, b.verdict, q.first)
                    && (p.cycle.total, p.setup.total) == (q.cycle.total, q.setup.total)
                    && (&p.tools, &p.operations) == (&q.tools, &q.operations)
            }
            (Found::Refused(a), Found::Refused(b)) => {
                let machine = a.first().map_or(0, |r| r.machine);
                a.len() == b.len() && a.iter().zip(b.iter()).all(|(a, b)| *a == Refused { machine, ..b.clone() })
            }
            _ => false,
        }
    }

    /// The same on a machine that is alike.
    fn on(&self, machine: usize) -> Found {
        match self {
            Found::Made(way) => Found::Made(way.clone()),
            Found::Refused(why) => Found::Refused(why.iter().map(|r| Refused { machine, ..r.clone() }).collect()),
        }
    }
}

/// The machines of a kind whose hour costs least and most, with what is known of lots there.
struct Ends<'a> {
    benches: [Bench<'a>; 2],
    known: [BTreeMap<u64, Found>; 2],
}

impl Ends<'_> {
    fn at(&mut self, end: usize, size: u64) -> Found {
        let bench = &self.benches[end];
        self.known[end].entry(size).or_insert_with(|| bench.planned(size)).clone()
    }

    /// A lot on a machine of the kind.
    fn planned(&mut self, bench: &Bench, size: u64) -> Found {
        if let Some(end) = self.benches.iter().position(|b| b.number == bench.number) {
            return self.at(end, size);
        }
        let (cheapest, dearest) = (self.at(0, size), self.at(1, size));
        if cheapest.is_like(&dearest) { cheapest.on(bench.number) } else { bench.planned(size) }
    }
}

/// A part on a machine.
struct Bench<'a> {
    first: &'a Part,
    part: &'a Part,
    /// Of the machine.
    number: usize,
    machine: &'a Machine,
    shop: &'a Shop,
    thresholds: &'a Thresholds,
}

impl Bench<'_> {
    /// The jobs with these lots.
    fn jobs(&self, lots: &[Lots], ends: &mut Ends) -> Vec<OnMachine> {
        let mut sizes: Vec<u64> = lots.iter().map(|l| l.size(0)).collect();
        sizes.sort_unstable();
        sizes.dedup();
        let found = all(&sizes, &mut |size| ends.planned(self, size));
        let on = |lots: &Lots| match sizes.binary_search(&lots.size(0)).map(|at| &found[at]) {
            Ok(Found::Made(way)) => {
                self.priced(way, lots).map_or(OnMachine::Unpriced, |route| OnMachine::Made(Box::new(route)))
            }
            Ok(Found::Refused(why)) => OnMachine::Refused(why.clone()),
            Err(_) => OnMachine::Unpriced,
        };
        lots.iter().map(on).collect()
    }

    fn planned(&self, size: u64) -> Found {
        let part = Part { orders: vec![size], ..self.part.clone() };
        let mut rows = rank(&part, std::slice::from_ref(self.machine), self.shop, None, By::Cost).rows;
        match rows.first().map(|row| row.standing) {
            Some(Standing::Owned) => Found::Made(Arc::new(self.way(rows.swap_remove(0)))),
            _ => Found::Refused(rows.iter().map(|row| self.why_not(row)).collect()),
        }
    }

    fn way(&self, row: Row) -> Way {
        let plan = row.judged.plan;
        let mut anew = plan.clone();
        let view = PartView::new(self.first);
        if let Some(mode) = self.machine.mode(row.mode) {
            let task =
                Task::new(&view, self.machine, mode, self.shop, self.thresholds, plan.first).with_bar(&plan.blank);
            anew.setup = setup::from_present_state(&task, &Job::of(&plan));
        }
        Way { mode: row.mode, verdict: row.judged.verdict, plan, anew }
    }

    fn why_not(&self, row: &Row) -> Refused {
        let deciding = |f: &&Finding| matches!(f.verdict, Verdict::Refused | Verdict::NotStated);
        let found = row.without.iter().chain(&row.judged.findings).find(deciding);
        Refused {
            machine: self.number,
            mode: row.mode,
            refusals: row.judged.refusals(),
            reason: found.map_or_else(String::new, |f| format!("{}: {}", f.rule, f.reason)).into(),
            with: row.purchases.iter().map(|p| (p.name.clone(), p.count)).collect(),
        }
    }

    fn priced(&self, way: &Way, lots: &Lots) -> Result<Route, LotError> {
        let own = self.shop.machines.get(&self.machine.name);
        let takes = |plan: &Plan, size: u64, paid: &[Share]| -> Result<Takes, LotError> {
            let cost = |rates: Rates| Lot::of(self.part, plan, self.shop, rates, self.thresholds, size.max(1), paid);
            let (cash, full) = (cost(pocket(own))?, cost(rate(self.shop, own))?);
            Ok(Takes {
                seconds: full.order_time.to_s().ceil() as i64,
                setting: plan.setup.total.to_s().ceil() as i64,
                cash: cash.cost,
                by_hour: cash.share(Share::Machine) + cash.share(Share::Operator) + cash.share(Share::Setting),
                by_setting: cash.share(Share::Setting),
                full: full.cost,
            })
        };
        let sizes = [lots.pieces, lots.pieces + 1];
        Ok(Route {
            machine: self.number,
            mode: way.mode,
            end: way.plan.first,
            verdict: way.verdict,
            cycle: way.plan.cycle.total,
            first: [takes(&way.anew, sizes[0], &[])?, takes(&way.anew, sizes[1], &[])?],
            later: [takes(&way.plan, sizes[0], &ONCE)?, takes(&way.plan, sizes[1], &ONCE)?],
            twice: takes(&way.plan, 2 * lots.pieces.max(1), &ONCE)?,
        })
    }
}

/// Lots of these sizes, ascending.
fn all(sizes: &[u64], planned: &mut dyn FnMut(u64) -> Found) -> Vec<Found> {
    match sizes {
        [] => Vec::new(),
        [size] => vec![planned(*size)],
        [least, between @ .., most] => {
            let (least, most) = (planned(*least), planned(*most));
            let mut found = vec![least.clone()];
            self::between(between, &least, &most, planned, &mut found);
            found.push(most);
            found
        }
    }
}

fn between(sizes: &[u64], below: &Found, above: &Found, planned: &mut dyn FnMut(u64) -> Found, found: &mut Vec<Found>) {
    if sizes.is_empty() || below.is_like(above) {
        found.extend(sizes.iter().map(|_| below.clone()));
        return;
    }
    let half = sizes.len() / 2;
    let middle = planned(sizes[half]);
    between(&sizes[..half], below, &middle, planned, found);
    found.push(middle.clone());
    between(&sizes[half + 1..], &middle, above, planned, found);
}

/// What an hour costs out of pocket.
fn pocket(machine: Option<&ShopMachine>) -> Rates {
    let none = HourRate::per_hour(0.0);
    Rates { machine: machine.and_then(|m| m.running).unwrap_or(none), assumed: false }
}
