//! Words of a year's work that the table and the page share.

use super::{CannotAnswer, JobAnswer, MadeAnswer, MixAnswer, OutAnswer, SetterAnswer};
use crate::fleet::mix::Fate;
use crate::quantity::print::{number as decimals, thousands};
use crate::report::text::unbroken;

pub(in crate::report) fn title(a: &MixAnswer) -> String {
    let years = if a.years == 1.0 { "a year".to_owned() } else { format!("{} years", decimals(a.years, 2)) };
    format!("{}: {} jobs over {years}", a.shop, a.jobs.len())
}

pub(in crate::report) fn outcome(a: &MixAnswer) -> String {
    let units = |amount: f64| thousands(amount.round());
    let count = |f: &dyn Fn(&JobAnswer) -> bool| a.jobs.iter().filter(|j| f(j)).count();
    let fate = |fate: Fate| count(&|j| j.out.as_ref().is_some_and(|o| o.fate == fate));
    let mut words = format!("{} made here", count(&|j| j.out.is_none()));
    for (kind, said) in
        [(Fate::BoughtOut, "bought out"), (Fate::Lost, "lost"), (Fate::Unmet, "that must be made and cannot")]
    {
        if fate(kind) > 0 {
            words.push_str(&format!(", {} {said}", fate(kind)));
        }
    }
    words.push_str(&format!(
        ". Of {} {} that come in {} go out of pocket and {} are left over; at the full hour rates what is made here costs {}.",
        units(a.revenue),
        a.currency,
        units(a.cash),
        units(a.left_over),
        units(a.full)
    ));
    match a.most {
        Some(most) if most - a.left_over < 0.005 => words.push_str(" No plan leaves more over: that is proven."),
        Some(most) => {
            let short = 100.0 * (most - a.left_over) / most.abs().max(1.0);
            let short =
                if short < 0.01 { "less than 0.01".to_owned() } else { format!("at most {}", decimals(short, 2)) };
            words.push_str(&format!(
                " No plan leaves more than {} over: that is proven, and this one is {short} % short of it ({}).",
                units(most),
                a.stopped
            ));
        }
        None => words.push_str(" What must be made and cannot stands below: there is no plan that makes all of it."),
    }
    unbroken(&words)
}

pub(in crate::report) fn made_on(job: &JobAnswer) -> String {
    let several = job.made.len() > 1;
    let of = |m: &MadeAnswer| {
        let lots = if several { format!(", {}", lots(m.lots)) } else { String::new() };
        format!("{}, {}{lots}", unit(&m.machine, m.number, m.of), m.mode)
    };
    let mut places: Vec<String> = job.made.iter().map(of).collect();
    places.extend(job.out.as_ref().map(|o| {
        let lots = if job.made.is_empty() { String::new() } else { format!(", {}", lots(o.lots)) };
        format!("{}{lots}", fate(o.fate))
    }));
    places.join("; ")
}

fn lots(count: usize) -> String {
    if count == 1 { "1 lot".to_owned() } else { format!("{count} lots") }
}

pub(in crate::report) fn unit(machine: &str, number: usize, of: usize) -> String {
    if of > 1 { format!("{machine} no {number}") } else { machine.to_owned() }
}

pub(in crate::report) fn fate(fate: Fate) -> &'static str {
    match fate {
        Fate::BoughtOut => "bought out",
        Fate::Lost => "lost",
        Fate::Unmet => "not made",
    }
}

/// What becomes of what is not made here, and why.
pub(in crate::report) fn not_made_words(o: &OutAnswer, currency: &str) -> String {
    let cost = match o.fate {
        Fate::BoughtOut => format!(" for {} {currency}", thousands(o.cost.round())),
        _ => String::new(),
    };
    format!("{} pieces {}{cost}; {}", thousands(o.pieces as f64), fate(o.fate), o.why)
}

/// Why a machine cannot make a job.
pub(in crate::report) fn cannot_words(c: &CannotAnswer) -> String {
    let with = match c.with.is_empty() {
        true => String::new(),
        false => format!(" (lifted by buying {})", c.with.join(" and ")),
    };
    format!("{}, {}: {}{with}", c.machine, c.mode, c.reason)
}

pub(in crate::report) fn setters(s: &SetterAnswer, currency: &str) -> String {
    let whom = match &s.machine {
        Some(machine) if s.setters == 1 => format!("On {machine} the one setter who can set it"),
        Some(machine) => format!("On {machine} the {} setters who can set it", s.setters),
        None if s.setters == 1 => "The one setter".to_owned(),
        None => format!("The {} setters", s.setters),
    };
    let worth = match s.hour_brings {
        w if w < 0.5 => "one more hour would bring nothing".to_owned(),
        w => format!("one more hour would bring about {} {currency}", thousands(w.round())),
    };
    unbroken(&format!(
        "{whom}: {} of {} hours at the setting; {worth}.",
        thousands(s.setting.round()),
        thousands(s.hours.round())
    ))
}
