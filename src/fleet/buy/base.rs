//! The best that can be done with a given shop without buying: as it is, with larger lots, with overtime, with both. What is
//! bought out or left undone is decided by the plan each time.

use super::choices::Floor;
use super::outlook::{self, Outlook, Seen};
use super::terms::Terms;
use crate::costing::Amount;
use crate::fleet::mix::decide::Undecided;
use crate::fleet::mix::plan::{HOUR, JobPlan};
use crate::fleet::mix::{Hours, MixPlan, Placing, Work, placed, plan};
use crate::fleet::solver::Options;
use crate::model::mix::MixJob;
use crate::model::shop::Shop;
use crate::quantity::Money;
use crate::quantity::measure::Currency;
use std::collections::BTreeMap;

/// A way to get along with the machines that there are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Variant {
    AsNow,
    LargerLots,
    Overtime,
    LargerLotsAndOvertime,
}

impl Variant {
    /// All, the least trouble first.
    pub const ALL: [Variant; 4] =
        [Variant::AsNow, Variant::LargerLots, Variant::Overtime, Variant::LargerLotsAndOvertime];

    pub fn larger_lots(self) -> bool {
        matches!(self, Variant::LargerLots | Variant::LargerLotsAndOvertime)
    }

    pub fn overtime(self) -> bool {
        matches!(self, Variant::Overtime | Variant::LargerLotsAndOvertime)
    }

    /// The owner's words.
    pub fn words(self) -> &'static str {
        match self {
            Variant::AsNow => "as now",
            Variant::LargerLots => "larger lots",
            Variant::Overtime => "overtime",
            Variant::LargerLotsAndOvertime => "larger lots and overtime",
        }
    }
}

/// A plan for the jobs as they are seen.
#[derive(Clone, Debug)]
pub struct Best {
    pub variant: Variant,
    pub seen: Vec<Seen>,
    pub plan: MixPlan,
    /// What is left over once overtime is paid, over the horizon.
    pub left_over: Amount,
    /// Proven: no plan of this variant leaves more over; nothing where a job that must be made is not.
    pub most: Option<Amount>,
}

impl Best {
    /// Fewer jobs that must be made and are not, then more left over.
    pub fn is_better_than(&self, other: &Best) -> bool {
        (other.plan.unmet(), self.left_over) > (self.plan.unmet(), other.left_over)
    }

    /// Where each lot of each job runs.
    pub fn places(&self) -> Places {
        let of = |(seen, plan): (&Seen, &JobPlan)| (seen.job, plan.places(seen.routed.lots.count));
        self.seen.iter().zip(&self.plan.jobs).map(of).collect()
    }
}

/// By the number of a job the unit of each of its lots; none where it is not made here.
pub type Places = BTreeMap<usize, Vec<Option<usize>>>;

/// The jobs and hours of a shop as they are looked at.
struct View {
    variant: Variant,
    seen: Vec<Seen>,
    /// Without overtime.
    usual: Hours,
    hours: Hours,
}

impl View {
    fn work(&self) -> Vec<Work<'_>> {
        self.seen.iter().map(|s| Work { job: &s.as_job, routed: &s.routed }).collect()
    }

    /// Places of lots that may be more or fewer, and of jobs that may not come.
    fn placing(&self, places: &Places) -> Placing {
        let job = |s: &Seen| {
            let (count, known) = (s.routed.lots.count as usize, places.get(&s.job));
            let known = known.filter(|k| !k.is_empty());
            known.map_or_else(Vec::new, |k| (0..count).map(|lot| k[lot * k.len() / count]).collect())
        };
        self.seen.iter().map(job).collect()
    }
}

/// What is asked of a shop, whichever machines it has.
#[derive(Clone, Copy)]
pub struct Asked<'a> {
    pub jobs: &'a [&'a MixJob],
    pub years: f64,
    pub terms: &'a Terms,
    pub options: &'a Options<'a>,
}

impl Asked<'_> {
    fn view(&self, floor: &Floor, outlook: &Outlook, variant: Variant) -> View {
        View {
            variant,
            seen: outlook::seen(self.jobs, &floor.routed, outlook, variant, self.terms, self.years),
            usual: outlook::hours(&floor.hours, outlook, Variant::AsNow, self.terms),
            hours: outlook::hours(&floor.hours, outlook, variant, self.terms),
        }
    }

    /// What is left over once overtime is paid.
    fn told(&self, floor: &Floor, view: &View, plan: MixPlan) -> Best {
        let beyond = match view.variant.overtime() {
            true => overtime(&plan, &view.usual, &floor.shop, self.terms),
            false => Amount::ZERO,
        };
        let (left_over, most) = (plan.left_over() - beyond, plan.most);
        Best { variant: view.variant, seen: view.seen.clone(), plan, left_over, most }
    }

    /// The plan of one variant.
    ///
    /// # Errors
    /// [`Undecided`] where no plan is found.
    pub fn planned(&self, floor: &Floor, outlook: &Outlook, variant: Variant) -> Result<Best, Undecided> {
        let view = self.view(floor, outlook, variant);
        let plan = plan(&view.work(), view.hours.clone(), floor.shop.currency, self.options)?;
        Ok(self.told(floor, &view, plan))
    }

    /// The best that comes of plans known from elsewhere, as they are and mended; nothing where none fits.
    pub fn placed(&self, floor: &Floor, outlook: &Outlook, ways: &[Variant], known: &[Places]) -> Option<Best> {
        let found = ways.iter().filter_map(|variant| {
            let view = self.view(floor, outlook, *variant);
            let known: Vec<Placing> = known.iter().map(|places| view.placing(places)).collect();
            let plans = placed(&view.work(), &view.hours, floor.shop.currency, &known);
            best(plans.into_iter().map(|plan| self.told(floor, &view, plan)).collect())
        });
        best(found.collect())
    }

    /// The best of some ways, searched and from plans known from elsewhere.
    ///
    /// # Errors
    /// As [`Asked::planned`].
    pub fn best_from(
        &self,
        ways: &[Variant],
        floor: &Floor,
        outlook: &Outlook,
        known: &[Places],
    ) -> Result<Best, Undecided> {
        Ok(self.better(self.best_of(ways, floor, outlook)?, floor, outlook, ways, known))
    }

    /// The better of a plan and of what comes of plans known from elsewhere.
    pub fn better(&self, now: Best, floor: &Floor, outlook: &Outlook, ways: &[Variant], known: &[Places]) -> Best {
        let placed = self.placed(floor, outlook, ways, known);
        placed.filter(|p| p.is_better_than(&now)).unwrap_or(now)
    }

    /// Every variant, in the order of [`Variant::ALL`].
    ///
    /// # Errors
    /// As [`Asked::planned`].
    pub fn variants(&self, floor: &Floor, outlook: &Outlook) -> Result<Vec<Best>, Undecided> {
        Variant::ALL.into_iter().map(|variant| self.planned(floor, outlook, variant)).collect()
    }

    /// The best of some variants, at least one.
    ///
    /// # Errors
    /// As [`Asked::planned`].
    pub fn best_of(&self, ways: &[Variant], floor: &Floor, outlook: &Outlook) -> Result<Best, Undecided> {
        let (first, others) = ways.split_first().unwrap_or((&Variant::AsNow, &[]));
        let first = self.planned(floor, outlook, *first)?;
        others.iter().try_fold(first, |best, way| {
            let next = self.planned(floor, outlook, *way)?;
            Ok(if next.is_better_than(&best) { next } else { best })
        })
    }

    /// What would be left over if every job ran where it costs least, whatever hours there are: no plan leaves more over.
    pub fn unlimited(&self, floor: &Floor, outlook: &Outlook, variant: Variant) -> Amount {
        let seen = outlook::seen(self.jobs, &floor.routed, outlook, variant, self.terms, self.years);
        seen.iter().map(|s| most_of(s, floor.shop.currency)).sum()
    }
}

/// The most that a job can leave over: each lot where it costs least, or bought, or lost.
fn most_of(seen: &Seen, currency: Currency) -> Amount {
    let amount = |m: Money| Amount::of(m, currency).unwrap_or(Amount::ZERO);
    let (job, lots) = (&seen.as_job, &seen.routed.lots);
    let price = job.price.unwrap_or(Money::ZERO);
    let lot = |lot: u64| {
        let pieces = lots.size(lot) as f64;
        // A cent more, since what comes in is rounded once for all lots together.
        let comes_in = amount(price * pieces) + Amount::minor(1);
        let made = seen.routed.routes.iter().map(|r| comes_in - r.lot(lots, lot).cash);
        let bought = job.buy_out.map(|b| comes_in - amount(b.piece * pieces + b.lot) + Amount::minor(1));
        made.chain(bought).chain([Amount::ZERO]).max().unwrap_or(Amount::ZERO)
    };
    (0..lots.count).map(lot).sum()
}

/// The best of some plans: the first of those that are alike.
pub fn best(plans: Vec<Best>) -> Option<Best> {
    plans.into_iter().reduce(|best, next| if next.is_better_than(&best) { next } else { best })
}

/// What is paid on top of the wages for hours beyond the usual ones.
fn overtime(plan: &MixPlan, usual: &Hours, shop: &Shop, terms: &Terms) -> Amount {
    let hours = |seconds: i64| seconds.max(0) as f64 / HOUR as f64;
    let made = || plan.jobs.iter().flat_map(|j| &j.made);
    let on = |unit: usize| made().filter(|m| m.unit == unit).map(|m| m.takes.seconds).sum::<i64>();
    let tended: f64 = usual.units.iter().enumerate().map(|(i, u)| hours(on(i) - u.free())).sum();
    let all_setters = usual.setters.iter().find(|s| s.machine.is_none());
    let set: i64 = made().map(|m| m.takes.setting).sum();
    let set = all_setters.map_or(0.0, |s| hours(set - s.seconds));
    let people = &shop.people;
    let tending = people.operator.to_per_hour() / people.machines_per_operator.max(1.0);
    let extra = terms.overtime.extra.to_fraction() * (tended * tending + set * people.setter.to_per_hour());
    Amount::of(Money::units(extra), shop.currency).unwrap_or(Amount::ZERO)
}
