//! The mix as it may come: more or fewer pieces, other prices, other costs of an hour, other times. Modes and plans of the
//! routes stay; a lot of another size lies on the straight line through the lot and twice the lot.

use super::base::Variant;
use super::terms::Terms;
use crate::costing::Amount;
use crate::fleet::mix::Hours;
use crate::fleet::mix::routes::{Lots, Route, Routed, Takes};
use crate::model::mix::MixJob;

/// Factors to what the mix says; all of them 1 is the mix itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// Pieces of each job, from 0: at 0 the job does not come.
    pub volumes: Vec<f64>,
    /// What the customer of each job pays a piece.
    pub prices: Vec<f64>,
    /// Wages and what an hour of running costs.
    pub by_hour: f64,
    /// Time at the setting.
    pub setting: f64,
    /// Hours of the machines, not of the setters.
    pub hours: f64,
}

impl Outlook {
    /// The mix as it is, for so many jobs.
    pub fn plain(jobs: usize) -> Outlook {
        Outlook { volumes: vec![1.0; jobs], prices: vec![1.0; jobs], by_hour: 1.0, setting: 1.0, hours: 1.0 }
    }
}

/// A job as it is looked at.
#[derive(Clone, Debug)]
pub struct Seen {
    /// A number in the jobs given.
    pub job: usize,
    pub as_job: MixJob,
    pub routed: Routed,
}

/// The jobs that come, with what they take and cost.
pub fn seen(
    jobs: &[&MixJob],
    routed: &[Routed],
    outlook: &Outlook,
    variant: Variant,
    terms: &Terms,
    years: f64,
) -> Vec<Seen> {
    let come = (0..jobs.len()).filter(|job| outlook.volumes[*job] > 0.0);
    come.map(|job| {
        let mut as_job = jobs[job].clone();
        as_job.price = as_job.price.map(|p| p * outlook.prices[job]);
        let grown = with_volume(&routed[job], outlook.volumes[job]);
        let timed = with_times(grown, outlook);
        let stock = terms.stock.to_fraction() * years;
        let routed = if variant.larger_lots() { with_larger_lots(timed, stock) } else { timed };
        Seen { job, as_job, routed }
    })
    .collect()
}

/// The hours of an outlook, with overtime where it is worked.
pub fn hours(hours: &Hours, outlook: &Outlook, variant: Variant, terms: &Terms) -> Hours {
    let more = if variant.overtime() { 1.0 + terms.overtime.hours.to_fraction() } else { 1.0 };
    let mut hours = hours.clone();
    for unit in &mut hours.units {
        unit.available = times(unit.available, outlook.hours * more);
    }
    for setters in &mut hours.setters {
        setters.seconds = times(setters.seconds, more);
    }
    hours
}

fn times(seconds: i64, factor: f64) -> i64 {
    (seconds as f64 * factor).round() as i64
}

fn scaled(amount: Amount, factor: f64) -> Amount {
    Amount::minor(times(amount.to_minor(), factor))
}

fn with_volume(routed: &Routed, factor: f64) -> Routed {
    let all = ((routed.lots.all() as f64 * factor).round() as u64).max(1);
    resized(routed, Lots::split(all, routed.lots.count))
}

fn with_times(mut routed: Routed, outlook: &Outlook) -> Routed {
    let timed = |t: &mut Takes| {
        let setting = times(t.setting, outlook.setting);
        let by_setting = scaled(t.by_setting, outlook.setting);
        let by_hour = scaled(t.by_hour - t.by_setting + by_setting, outlook.by_hour);
        t.seconds += setting - t.setting;
        t.cash = t.cash - t.by_hour + by_hour;
        (t.setting, t.by_hour, t.by_setting) = (setting, by_hour, scaled(by_setting, outlook.by_hour));
    };
    routed.routes.iter_mut().flat_map(all_of).for_each(timed);
    routed
}

fn all_of(route: &mut Route) -> impl Iterator<Item = &mut Takes> {
    route.first.iter_mut().chain(&mut route.later).chain(std::iter::once(&mut route.twice))
}

/// Half as many lots, where the setting that is saved is worth more than the stock that stands: half of what a lot grows by,
/// at what a piece costs out of pocket.
fn with_larger_lots(routed: Routed, stock: f64) -> Routed {
    let lots = Lots::split(routed.lots.all(), routed.lots.count.div_ceil(2));
    if lots == routed.lots {
        return routed;
    }
    let mut larger = resized(&routed, lots);
    let grown = (lots.all() as f64 / lots.count as f64 - routed.lots.all() as f64 / routed.lots.count as f64) / 2.0;
    for (route, now) in larger.routes.iter_mut().zip(&routed.routes) {
        let piece = (now.twice.cash - now.later[0].cash).to_minor() as f64 / routed.lots.pieces as f64;
        let a_lot = Amount::minor((grown * piece * stock / lots.count as f64).ceil() as i64);
        all_of(route).for_each(|t| t.cash = t.cash + a_lot);
    }
    let cheapest = |r: &Routed| r.routes.iter().map(|route| all_lots(route, &r.lots)).min();
    if cheapest(&larger) < cheapest(&routed) { larger } else { routed }
}

fn all_lots(route: &Route, lots: &Lots) -> Amount {
    (0..lots.count).map(|lot| route.lot(lots, lot).cash).sum()
}

fn resized(routed: &Routed, lots: Lots) -> Routed {
    if lots == routed.lots {
        return routed.clone();
    }
    let from = routed.lots.pieces;
    let on_line = |r: &Route, size: u64| match size {
        s if s == from => r.later[0],
        s if s == from + 1 => r.later[1],
        s => {
            let share = (s as f64 - from as f64) / from as f64;
            moved(r.later[0], r.later[0], r.twice, share)
        }
    };
    let sizes = [lots.pieces, lots.pieces + 1];
    let route = |r: &Route| {
        let later = sizes.map(|size| on_line(r, size));
        Route {
            first: later.map(|l| moved(l, r.later[0], r.first[0], 1.0)),
            later,
            twice: on_line(r, 2 * lots.pieces),
            ..r.clone()
        }
    };
    Routed { lots, routes: routed.routes.iter().map(route).collect(), refused: routed.refused.clone() }
}

/// `base`, and a share of the way from one to the other.
fn moved(base: Takes, from: Takes, to: Takes, share: f64) -> Takes {
    let seconds = |f: fn(&Takes) -> i64| f(&base) + times(f(&to) - f(&from), share);
    let amount = |f: fn(&Takes) -> Amount| f(&base) + scaled(f(&to) - f(&from), share);
    Takes {
        seconds: seconds(|t| t.seconds),
        setting: seconds(|t| t.setting),
        cash: amount(|t| t.cash),
        by_hour: amount(|t| t.by_hour),
        by_setting: amount(|t| t.by_setting),
        full: amount(|t| t.full),
    }
}
