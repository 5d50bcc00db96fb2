//! What may be bought, and the shop as it is once it has it.

use crate::fleet::mix::routes::{Lots, Refused, Route, Routed, between_jobs, routes};
use crate::fleet::mix::{Hours, NoHours};
use crate::matching::{By, Standing, rank};
use crate::model::machine::{Attachment, Machine};
use crate::model::mix::MixJob;
use crate::model::part::Part;
use crate::model::shop::{Shop, ShopMachine, State};
use crate::planning::setup::Setup;
use crate::quantity::{HourRate, Money, Ratio, YearlyHours};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// What may be bought.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Item {
    /// One of a kind: a new one, or one more.
    Machine { machine: usize },
    /// So many of an attachment.
    Option { machine: usize, option: usize, count: u32 },
}

impl Item {
    pub fn machine(self) -> usize {
        match self {
            Item::Machine { machine } | Item::Option { machine, .. } => machine,
        }
    }

    pub fn is_machine(self) -> bool {
        matches!(self, Item::Machine { .. })
    }
}

/// What a spec does not state about the price of what may be bought.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoPrice {
    #[error("the spec of `{0}` states no price: add `price 185_000 EUR installed +18 %` to it")]
    Machine(String),
    #[error("the spec of `{0}` states no price for its option `{1}`: add `price 4_000 EUR` to it")]
    Option(String, String),
}

/// A shop with its hours and what every job takes on its machines.
#[derive(Clone, Debug)]
pub struct Floor {
    pub shop: Shop,
    pub hours: Hours,
    pub routed: Vec<Routed>,
}

impl Floor {
    /// Machines, each of several of a kind by itself, that can make a job.
    pub fn able(&self, job: usize) -> usize {
        let can = |machine: usize| self.routed[job].routes.iter().any(|r| r.machine == machine);
        self.hours.units.iter().filter(|u| can(u.machine)).count()
    }
}

type Key = (usize, Vec<(String, u32)>);

/// All that may be bought, with the mix that it is for.
pub struct Choices<'a> {
    jobs: Vec<(&'a MixJob, &'a Part)>,
    /// Owned ones and candidates.
    machines: &'a [Machine],
    shop: &'a Shop,
    years: f64,
    /// A machine that goes when another one comes.
    replaced: Option<usize>,
    known: Mutex<BTreeMap<Key, Arc<Vec<Routed>>>>,
}

impl<'a> Choices<'a> {
    /// Machines that the shop file names are owned, all others may be bought.
    pub fn new(
        jobs: Vec<(&'a MixJob, &'a Part)>,
        machines: &'a [Machine],
        shop: &'a Shop,
        years: f64,
        replaced: Option<usize>,
    ) -> Choices<'a> {
        Choices { jobs, machines, shop, years, replaced, known: Mutex::default() }
    }

    pub fn machines(&self) -> &'a [Machine] {
        self.machines
    }

    pub fn shop(&self) -> &'a Shop {
        self.shop
    }

    pub fn replaced(&self) -> Option<usize> {
        self.replaced
    }

    pub fn jobs(&self) -> Vec<&'a MixJob> {
        self.jobs.iter().map(|(job, _)| *job).collect()
    }

    pub fn is_owned(&self, machine: usize) -> bool {
        self.shop.machines.contains_key(&self.machines[machine].name)
    }

    fn attachment(&self, machine: usize, option: usize) -> &'a Attachment {
        &self.machines[machine].options[option]
    }

    /// The owner's words for what is bought.
    pub fn words(&self, item: Item) -> String {
        let name = &self.machines[item.machine()].name;
        match item {
            Item::Machine { machine } if self.is_owned(machine) => format!("another {name}"),
            Item::Machine { .. } => name.clone(),
            Item::Option { machine, option, count } => {
                let option = &self.attachment(machine, option).name;
                let count = if count > 1 { format!("{count} x ") } else { String::new() };
                format!("{count}{option} on {name}")
            }
        }
    }

    /// The installed price and, of it, what can be sold again.
    ///
    /// # Errors
    /// [`NoPrice`].
    pub fn price(&self, item: Item) -> Result<(Money, Money), NoPrice> {
        let spec = &self.machines[item.machine()];
        match item {
            Item::Machine { .. } => {
                let price = spec.price.as_ref().ok_or_else(|| NoPrice::Machine(spec.name.clone()))?;
                let list = price.list.value;
                Ok((list * (1.0 + price.installed.map_or(0.0, Ratio::to_fraction)), list))
            }
            Item::Option { machine, option, count } => {
                let attachment = self.attachment(machine, option);
                let no_price = || NoPrice::Option(spec.name.clone(), attachment.name.clone());
                let price = attachment.price.as_ref().ok_or_else(no_price)?.value * f64::from(count);
                Ok((price, price))
            }
        }
    }

    /// Whether all of a set can be used: an attachment asks for its machine.
    pub fn makes_sense(&self, set: &[Item]) -> bool {
        set.iter().all(|item| {
            let machine = item.machine();
            item.is_machine() || self.is_owned(machine) || set.contains(&Item::Machine { machine })
        })
    }

    /// The shop once it has a set, without what it replaces.
    fn with(&self, set: &[Item]) -> Shop {
        let mut shop = self.shop.clone();
        for item in set {
            let name = &self.machines[item.machine()].name;
            if let Item::Machine { .. } = item {
                match shop.machines.get_mut(name) {
                    Some(own) => own.now.push(State::default()),
                    None => {
                        shop.machines.insert(name.clone(), self.candidate(name));
                    }
                }
            }
        }
        for item in set {
            let Item::Option { machine, option, count } = *item else { continue };
            if let Some(own) = shop.machines.get_mut(&self.machines[machine].name) {
                *own.owned.entry(self.attachment(machine, option).name.clone()).or_default() += count;
            }
        }
        if let Some(goes) = self.replaced.filter(|_| set.iter().any(|i| i.is_machine())) {
            let name = &self.machines[goes].name;
            if let Some(own) = shop.machines.get_mut(name) {
                own.now.pop();
                if own.now.is_empty() {
                    shop.machines.remove(name);
                }
            }
        }
        shop
    }

    /// What the shop would have for a candidate: as the shop file states it, else the most hours and the dearest hour of the
    /// machines that it has.
    fn candidate(&self, name: &str) -> ShopMachine {
        let stated = self.shop.candidates.get(name).cloned().unwrap_or_else(ShopMachine::unknown);
        let most = |of: fn(&ShopMachine) -> Option<f64>| self.shop.machines.values().filter_map(of).reduce(f64::max);
        let hours = most(|m| m.available.map(YearlyHours::to_h_per_year)).map(YearlyHours::h_per_year);
        let running = most(|m| m.running.map(HourRate::to_per_hour)).map(HourRate::per_hour);
        let (available, running) = (stated.available.or(hours), stated.running.or(running));
        ShopMachine { available, running, ..stated }
    }

    /// What is taken for granted of the candidates among some items.
    pub fn assumed(&self, items: &[Item]) -> Vec<String> {
        let mut told = Vec::new();
        let candidates = items.iter().filter(|i| i.is_machine() && !self.is_owned(i.machine()));
        for item in candidates {
            let name = &self.machines[item.machine()].name;
            let stated = self.shop.candidates.get(name);
            if stated.is_none_or(|s| s.available.is_none()) {
                told.push(format!("`{name}` runs as many hours a year as the machine of the shop that runs most"));
            }
            if stated.is_none_or(|s| s.running.is_none()) {
                told.push(format!("an hour of `{name}` costs what the dearest machine of the shop costs to run"));
            }
        }
        told
    }

    /// The shop once it has a set.
    ///
    /// # Errors
    /// [`NoHours`] where a machine's hours are not stated.
    pub fn floor(&self, set: &[Item]) -> Result<Floor, NoHours> {
        let shop = self.with(set);
        let hours = Hours::of(self.machines, &shop, self.years)?;
        let there = (0..self.machines.len()).filter(|m| shop.machines.contains_key(&self.machines[*m].name));
        let routed = there.map(|m| (m, self.on(m, &shop))).collect::<Vec<_>>();
        Ok(Floor { routed: self.together(&routed), shop, hours })
    }

    /// A floor on which one machine is another: a capability of it changed.
    pub fn with_changed(&self, floor: &Floor, machine: usize, changed: &Machine) -> Floor {
        let there = (0..self.machines.len()).filter(|m| floor.shop.machines.contains_key(&self.machines[*m].name));
        let on = |m: usize| match m == machine {
            true => Arc::new(self.routes(changed, &floor.shop)),
            false => self.on(m, &floor.shop),
        };
        let routed: Vec<_> = there.map(|m| (m, on(m))).collect();
        Floor { routed: self.together(&routed), ..floor.clone() }
    }

    /// The setup of a later lot of a job on a machine of a shop; nothing where it is not made there.
    pub fn setup(&self, job: usize, machine: &Machine, shop: &Shop) -> Option<Setup> {
        let (asked, part) = self.jobs[job];
        let size = Lots::of(asked, self.years).size(0);
        let part = Part { repeat: true, orders: vec![size], ..part.clone() };
        let rows = rank(&part, std::slice::from_ref(machine), &between_jobs(shop), None, By::Cost).rows;
        let made = rows.into_iter().next().filter(|row| row.standing == Standing::Owned);
        made.map(|row| row.judged.plan.setup)
    }

    fn routes(&self, machine: &Machine, shop: &Shop) -> Vec<Routed> {
        routes(&self.jobs, std::slice::from_ref(machine), shop, self.years)
    }

    /// All jobs on one machine with the attachments that a shop has for it; reckoned once.
    fn on(&self, machine: usize, shop: &Shop) -> Arc<Vec<Routed>> {
        let owned = shop.machines.get(&self.machines[machine].name).map(|own| &own.owned);
        let key = (machine, owned.into_iter().flatten().map(|(n, c)| (n.clone(), *c)).collect());
        if let Some(known) = self.known.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return known.clone();
        }
        let found = Arc::new(self.routes(&self.machines[machine], shop));
        self.known.lock().unwrap_or_else(PoisonError::into_inner).entry(key).or_insert(found).clone()
    }

    /// The jobs over several machines.
    fn together(&self, on: &[(usize, Arc<Vec<Routed>>)]) -> Vec<Routed> {
        let job = |job: usize| {
            let lots = Lots::of(self.jobs[job].0, self.years);
            let mut routed = Routed { lots, routes: Vec::new(), refused: Vec::new() };
            for (machine, all) in on {
                let machine = *machine;
                routed.routes.extend(all[job].routes.iter().map(|r| Route { machine, ..r.clone() }));
                let refused = all[job].refused.iter().cloned();
                routed.refused.extend(refused.map(|r| Refused { machine, ..r }));
            }
            routed.refused.sort_by_key(|r| (r.refusals, r.machine));
            routed
        };
        (0..self.jobs.len()).map(job).collect()
    }

    /// The attachments of owned machines that change what a job takes there, alone or beside all others of the machine, each in
    /// the numbers that jobs lack. Those that change nothing bring nothing, and those without a price are left out.
    pub fn useful_options(&self, base: &Floor) -> Vec<Item> {
        let owned = (0..self.machines.len()).filter(|m| self.is_owned(*m));
        owned.flat_map(|machine| self.useful_on(machine, base)).collect()
    }

    fn useful_on(&self, machine: usize, base: &Floor) -> Vec<Item> {
        let own = self.on(machine, &base.shop);
        let options = &self.machines[machine].options;
        // How many of each are lacked, and one in any case.
        let lacked = |option: usize| {
            let named = own.iter().flat_map(|r| &r.refused).flat_map(|r| r.with.iter());
            let counts = named.filter(|w| w.0 == options[option].name).map(|w| w.1);
            counts.chain([1]).collect::<std::collections::BTreeSet<u32>>()
        };
        let priced: Vec<usize> = (0..options.len()).filter(|o| options[*o].price.is_some()).collect();
        let most = |option: usize| lacked(option).last().copied().unwrap_or(1);
        let mut useful = Vec::new();
        for option in priced.iter().copied() {
            let others = priced.iter().filter(|o| **o != option);
            let others: Vec<Item> = others.map(|o| Item::Option { machine, option: *o, count: most(*o) }).collect();
            // What fewer of it do is known: more of it is worth its price only where it does more.
            let (mut alone, mut beside) = (own.clone(), self.on(machine, &self.with(&others)));
            for count in lacked(option) {
                let item = Item::Option { machine, option, count };
                let all: Vec<Item> = others.iter().copied().chain([item]).collect();
                let (alone_now, beside_now) =
                    (self.on(machine, &self.with(&[item])), self.on(machine, &self.with(&all)));
                if differ(&alone, &alone_now) || differ(&beside, &beside_now) {
                    useful.push(item);
                    (alone, beside) = (alone_now, beside_now);
                }
            }
        }
        useful
    }
}

fn differ(a: &[Routed], b: &[Routed]) -> bool {
    a.iter().zip(b).any(|(a, b)| a.routes != b.routes)
}
