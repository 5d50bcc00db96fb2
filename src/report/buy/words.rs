//! Purchases in words, for the terminal and the page.

use super::{BuyAnswer, ChanceAnswer, CloseAnswer, PayerAnswer, StepAnswer, SureAnswer};
use crate::quantity::print::{number as decimals, thousands};
use crate::report::text::unbroken;

pub(in crate::report) fn whole(amount: f64) -> String {
    // No minus before nothing.
    let rounded = amount.round();
    thousands(if rounded == 0.0 { 0.0 } else { rounded })
}

pub(in crate::report) fn percent(share: f64) -> String {
    format!("{} %", decimals(100.0 * share, 1))
}

pub(in crate::report) fn title(a: &BuyAnswer) -> String {
    let years = if a.life == 1 { "1 year".to_owned() } else { format!("{} years", a.life) };
    format!("{}: what to buy for {} jobs, at {} over {years}", a.shop, a.jobs, percent(a.discount))
}

pub(in crate::report) fn outcome(a: &BuyAnswer) -> String {
    let within = a.budget.map(|b| format!(" within {} {}", whole(b), a.currency)).unwrap_or_default();
    let best = match a.pays() {
        true => format!("Buy {}{within}: worth {} {} now.", a.buy.join(" and "), whole(a.buy_npv), a.currency),
        false => format!("Buy nothing{within}: nothing here pays."),
    };
    let short = a.npv_at_most - a.buy_npv;
    let proof = match short {
        _ if a.cut.is_some() => String::new(),
        s if s < 0.5 => " No set of these is worth more: that is proven.".to_owned(),
        s => format!(
            " No set of these is worth more than {}: that is proven, and leaves {} open.",
            whole(a.npv_at_most),
            whole(s)
        ),
    };
    let booked = a.close.iter().find(|c| c.what == a.buy).and_then(|c| c.sure.first()).filter(|s| s.npv <= 0.0);
    let booked = booked.map(|s| format!(" With the booked jobs alone it does not pay: {}.", whole(s.npv)));
    let cut = a.cut.as_ref().map(|cut| format!(" The search was {cut}.")).unwrap_or_default();
    unbroken(&format!("{best}{}{proof}{cut}", booked.unwrap_or_default()))
}

pub(in crate::report) fn told(a: &BuyAnswer, c: &CloseAnswer) -> Vec<String> {
    let mut told = Vec::new();
    if c.variant != a.best_without {
        told.push(format!("the best way to run the shop with it: {}", c.variant.words()));
    }
    if !c.newly_possible.is_empty() {
        told.push(format!("newly possible: {}", c.newly_possible.join(", ")));
    }
    for h in &c.brought_home {
        told.push(format!(
            "brought home: {} {} a year that are bought for {} {}",
            whole(h.pieces),
            h.job,
            whole(h.bought_for),
            a.currency
        ));
    }
    if let (Some(hours), Some(used)) = (c.hours, c.used) {
        told.push(format!(
            "it runs {} hours, {} of what it has; {} of them other machines ran before",
            whole(hours),
            percent(used),
            whole(c.moved)
        ));
    }
    if !c.freed.is_empty() {
        let freed: Vec<String> = c.freed.iter().map(|(m, h)| format!("{} h on {m}", whole(*h))).collect();
        told.push(format!("freed, and worth nothing unless work fills them: {}", freed.join(", ")));
    }
    let saved = c.setting_before - c.setting_now;
    if c.setting_before.round() != c.setting_now.round() {
        let word = if saved > 0.0 { "fewer" } else { "more" };
        let words = format!("hours at the setting for the same jobs: {} instead of", whole(c.setting_now));
        told.push(format!("{words} {}, {} {word}", whole(c.setting_before), whole(saved.abs())));
    }
    if !c.payers.is_empty() {
        let payer = |p: &PayerAnswer| {
            let whose = p.customer.as_ref().map(|c| format!(", {c}")).unwrap_or_default();
            format!("{} {} ({}{whose})", p.job, whole(p.gain), p.chance.word())
        };
        let payers: Vec<String> = c.payers.iter().map(payer).collect();
        told.push(format!("the jobs that pay for it, {} a year: {}", a.currency, payers.join(", ")));
    }
    if (c.on_one_before - c.on_one_now).abs() >= 0.0005 {
        told.push(format!(
            "one machine alone can make {} of what comes in, {} without it",
            percent(c.on_one_now),
            percent(c.on_one_before)
        ));
    }
    if c.ceiling <= 0.0 {
        told.push(format!(
            "paid outright it cannot pay: even with hours without end on every machine it is worth no more than {} {}, proven",
            whole(c.ceiling),
            a.currency
        ));
    }
    if c.is_idle(a) {
        told.push("nothing more is left over with it".to_owned());
    }
    told
}

pub(in crate::report) fn redundancy(a: &BuyAnswer) -> String {
    format!(
        "What is bought is compared with the best of these. {} of what comes in one machine alone can make.",
        percent(a.on_one)
    )
}

/// How sure the jobs are.
pub(in crate::report) fn sure(s: &SureAnswer) -> &'static str {
    match s.chance.word() {
        "booked" => "booked",
        "likely" => "booked and likely",
        _ => "all",
    }
}

pub(in crate::report) fn irr(rates: &[f64]) -> String {
    let told: Vec<String> = rates.iter().map(|r| percent(*r)).collect();
    if told.is_empty() { "-".to_owned() } else { told.join(", ") }
}

pub(in crate::report) fn payback(years: Option<f64>) -> String {
    years.map_or_else(|| "never".to_owned(), |p| format!("{} y", decimals(p, 1)))
}

pub(in crate::report) fn chance(d: &ChanceAnswer) -> String {
    unbroken(&format!(
        "Over {} draws of volumes and prices (seed {}) the NPV lies between {} and {} in eight of ten, {} in the middle; it \
         pays in {} of them.",
        d.draws,
        d.seed,
        whole(d.npv_10),
        whole(d.npv_90),
        whole(d.npv_50),
        percent(d.pays)
    ))
}

/// Single things of which the plan makes nothing.
pub(in crate::report) fn idle(names: &[String]) -> String {
    let held: Vec<String> = names.iter().map(|n| n.replace(' ', "\u{a0}")).collect();
    format!("Nothing more is left over with any of these alone: {}.", held.join(", "))
}

/// What a step of a capability brings.
pub(in crate::report) fn step(s: &StepAnswer) -> String {
    let mut words = String::new();
    if let Some((job, gained)) = &s.by {
        words.push_str(&format!(", by {job} ({} more)", whole(*gained)));
    }
    if let Some(l) = &s.less {
        words.push_str(&format!(", {} ({} less", l.job, whole(l.money)));
        match (&l.line, l.minutes) {
            (Some(line), Some(minutes)) => {
                words.push_str(&format!("; {} min more at each setting, {line})", decimals(minutes, 1)));
            }
            _ => words.push(')'),
        }
    }
    let able: Vec<&str> =
        s.newly_able.iter().filter(|j| s.by.as_ref().is_none_or(|b| b.0 != **j)).map(String::as_str).collect();
    if !able.is_empty() {
        words.push_str(&format!(", from here it can make {}", able.join(", ")));
    }
    words
}
