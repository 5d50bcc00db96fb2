//! One purchase looked at closely, as data.

use super::{
    BarAnswer, ChanceAnswer, CloseAnswer, HomeAnswer, LessAnswer, LoadAnswer, PayerAnswer, StairAnswer, StepAnswer,
    SureAnswer, WayAnswer, YearAnswer, words,
};
use crate::costing::Amount;
use crate::fleet::buy::cash::Worth;
use crate::fleet::buy::sets::Judge;
use crate::fleet::buy::staircase::Staircase;
use crate::fleet::buy::study::{Close, Wish};
use crate::fleet::buy::weigh::Load;
use crate::quantity::Money;

/// Jobs that are told.
const PAYERS: usize = 3;
/// A step down by less than this is no step.
const TOLD_LESS: f64 = 0.5;

pub(super) fn answer(judge: &Judge, wish: &Wish, c: &Close) -> CloseAnswer {
    let jobs = judge.asked.jobs;
    let name = |job: usize| jobs[job].part.value.clone();
    let a_year = |amount: Amount| amount.to_units(judge.choices.shop().currency) / judge.asked.years;
    let change = &c.change;
    let payer = |(job, more): &(usize, Amount)| PayerAnswer {
        job: name(*job),
        chance: jobs[*job].chance,
        customer: jobs[*job].customer.clone(),
        gain: a_year(*more),
    };
    let home = |(job, pieces, cost): &(usize, u64, Amount)| HomeAnswer {
        job: name(*job),
        pieces: *pieces as f64 / judge.asked.years,
        bought_for: a_year(*cost),
    };
    CloseAnswer {
        what: words(judge, &c.judged),
        variant: c.judged.best.variant,
        newly_possible: change.newly_possible.iter().map(|j| name(*j)).collect(),
        brought_home: change.brought_home.iter().map(home).collect(),
        hours: change.used.map(|u| u.0),
        used: change.used.map(|u| u.1),
        moved: change.moved,
        freed: change.freed.iter().map(|(m, h)| (judge.choices.machines()[*m].name.clone(), *h)).collect(),
        loads: change.loads.iter().map(|(m, l)| load(&judge.choices.machines()[*m].name, l)).collect(),
        setting_before: change.setting.0,
        setting_now: change.setting.1,
        payers: change.by_job.iter().filter(|(_, more)| *more > Amount::ZERO).take(PAYERS).map(payer).collect(),
        on_one_before: change.on_one.0,
        on_one_now: change.on_one.1,
        years: years(&c.judged.worth),
        ways: c.ways.iter().map(|(paid, w)| way(paid.word(), w)).collect(),
        sure: c
            .sure
            .iter()
            .map(|s| SureAnswer { chance: s.chance, jobs: s.jobs, gain: s.gain.to_units(), npv: s.npv.to_units() })
            .collect(),
        ceiling: c.ceiling.to_units(),
        tornado: c.bars.iter().map(|b| BarAnswer { moved: b.moved, npv: b.npv.map(Money::to_units) }).collect(),
        chance: c.chance.as_ref().map(|d| ChanceAnswer {
            draws: d.npv.len(),
            seed: wish.seed,
            npv_10: d.below(0.1).to_units(),
            npv_50: d.below(0.5).to_units(),
            npv_90: d.below(0.9).to_units(),
            pays: d.pays(),
        }),
        stairs: c.stairs.iter().map(|s| stair(s, &name)).collect(),
    }
}

fn load(machine: &str, [before, now]: &[Load; 2]) -> LoadAnswer {
    let hours = |l: &Load| [l.cutting, l.setting, l.promised, (l.has - l.cutting - l.setting - l.promised).max(0.0)];
    LoadAnswer { machine: machine.to_owned(), before: hours(before), now: hours(now) }
}

fn years(worth: &Worth) -> Vec<YearAnswer> {
    let mut so_far = Money::ZERO;
    let year = |(year, y): (usize, &crate::fleet::buy::cash::Year)| {
        so_far += y.sum();
        YearAnswer {
            year,
            gain: y.gain.to_units(),
            upkeep: y.upkeep.to_units(),
            price: y.price.to_units(),
            written_off: y.written_off.to_units(),
            tax: y.tax.to_units(),
            sum: y.sum().to_units(),
            so_far: so_far.to_units(),
        }
    };
    worth.years.iter().enumerate().map(year).collect()
}

fn way(paid: &'static str, w: &Worth) -> WayAnswer {
    WayAnswer {
        paid,
        at_once: -w.years[0].sum().to_units(),
        npv: w.npv.to_units(),
        irr: w.irr.iter().map(|r| r.to_fraction()).collect(),
        payback: w.payback,
    }
}

fn stair(s: &Staircase, name: &impl Fn(usize) -> String) -> StairAnswer {
    let step = |s: &crate::fleet::buy::staircase::Step| StepAnswer {
        figure: s.figure,
        own: s.own,
        gain: s.gain.to_units(),
        newly_able: s.newly_able.iter().map(|j| name(*j)).collect(),
        by: s.by.map(|(job, gained)| (name(job), gained.to_units())),
        less: s.less.as_ref().filter(|l| l.money.to_units() >= TOLD_LESS).map(|l| LessAnswer {
            job: name(l.job),
            money: l.money.to_units(),
            line: l.line.as_ref().map(|(words, _)| words.clone()),
            minutes: l.line.as_ref().map(|(_, minutes)| *minutes),
        }),
    };
    StairAnswer { capability: s.capability, steps: s.steps.iter().map(step).collect() }
}
