//! The job mix: small questions against every plan there is, what must add up adds up, more hours never leave less over.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(clippy::disallowed_methods, reason = "tests read files")]

mod common;

use common::Demo;
use proptest::prelude::*;
use std::ffi::OsString;
use turnwright::cli::{self, Exit, World};
use turnwright::fleet::mix::changes::{Running, changes};
use turnwright::fleet::mix::decide::{Item, Limit, Place, Question, decide};
use turnwright::fleet::mix::routes::Route;
use turnwright::fleet::mix::sequence::{Ordered, sequence};
use turnwright::fleet::mix::{Fate, Hours, MixPlan, Routed, WhyNot, Work, plan, routes};
use turnwright::fleet::solver::Options;
use turnwright::lang::Sources;
use turnwright::lang::shop::MixText;
use turnwright::matching::setups::{Change, to_job};
use turnwright::matching::{By, rank};
use turnwright::model::figure::Stated;
use turnwright::model::mix::{Mix, MixJob};
use turnwright::model::shop::{Shop, ShopMachine, State};
use turnwright::model::{Machine, Part};
use turnwright::quantity::{HourRate, Money, YearlyHours};

/// The cheapest of all plans, by trying each one.
fn brute(question: &Question) -> Option<i64> {
    let mut least: Option<i64> = None;
    let mut plan = vec![None; question.items.len()];
    each(question, &mut plan, 0, &mut least);
    least
}

fn each(question: &Question, plan: &mut Vec<Option<usize>>, at: usize, least: &mut Option<i64>) {
    let Some(item) = question.items.get(at) else {
        // Cost and loads anew from the question's own figures.
        let mut cost = 0;
        let mut taken = vec![0; question.capacities.len()];
        let mut set = vec![0; question.limits.len()];
        for (item, unit) in question.items.iter().zip(plan.iter()) {
            match unit {
                None => cost += item.left_out.unwrap(),
                Some(unit) => {
                    let place = item.places.iter().find(|p| p.unit == *unit).unwrap();
                    cost += place.cost;
                    taken[*unit] += place.takes;
                    for (l, limit) in question.limits.iter().enumerate().filter(|(_, l)| l.on[*unit]) {
                        let _ = limit;
                        set[l] += place.setting;
                    }
                }
            }
        }
        let fits = taken.iter().zip(&question.capacities).all(|(t, c)| t <= c)
            && set.iter().zip(&question.limits).all(|(s, l)| *s <= l.most);
        if fits && least.is_none_or(|l| cost < l) {
            *least = Some(cost);
        }
        return;
    };
    if item.left_out.is_some() {
        plan[at] = None;
        each(question, plan, at + 1, least);
    }
    for place in &item.places {
        plan[at] = Some(place.unit);
        each(question, plan, at + 1, least);
    }
    plan[at] = None;
}

fn question() -> impl Strategy<Value = Question> {
    (2_usize..=4, 1_usize..=7).prop_flat_map(|(units, items)| {
        let place = (prop::bool::weighted(0.75), 5_i64..60, 0_i64..30, 10_i64..200);
        let item = (prop::collection::vec(place, units), 150_i64..400);
        let limit = (prop::collection::vec(any::<bool>(), units), 10_i64..90);
        (
            prop::collection::vec(40_i64..140, units),
            prop::collection::vec(limit, 0..=2),
            prop::collection::vec(item, items),
        )
            .prop_map(|(capacities, limits, items)| Question {
                capacities,
                limits: limits.into_iter().map(|(on, most)| Limit { on, most }).collect(),
                items: items
                    .into_iter()
                    .map(|(places, left_out)| Item {
                        places: places
                            .into_iter()
                            .enumerate()
                            .filter(|(_, p)| p.0)
                            .map(|(unit, (_, takes, setting, cost))| Place {
                                unit,
                                takes,
                                setting: setting.min(takes),
                                cost,
                            })
                            .collect(),
                        left_out: Some(left_out),
                    })
                    .collect(),
            })
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn without_limits_of_setters_the_answer_is_that_of_trying_all(question in question()) {
        let question = Question { limits: Vec::new(), ..question };
        let decided = decide(&question, &Options::with_steps(4_000)).unwrap();
        prop_assert_eq!(Some(decided.cost), brute(&question));
        prop_assert_eq!(decided.bound, decided.cost);
    }

    #[test]
    fn with_limits_no_plan_is_below_the_bound_and_the_answer_is_near(question in question()) {
        let least = brute(&question).unwrap();
        let decided = decide(&question, &Options { gap: 0.0, ..Options::with_steps(2_000) }).unwrap();
        let used = question.used(&decided.plan).unwrap();
        prop_assert!(question.holds(&used));
        prop_assert_eq!(used.cost, decided.cost);
        prop_assert!(decided.bound <= least && least <= decided.cost, "{} {} {}", decided.bound, least, decided.cost);
    }
}

/// How often the answer under limits of setters is the best there is: told, and held to what was reached.
#[test]
fn under_limits_of_setters_most_small_answers_are_the_best() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let (mut best, mut tried) = (0, 0);
    while tried < 200 {
        let question = question().new_tree(&mut runner).unwrap().current();
        if question.limits.is_empty() {
            continue;
        }
        tried += 1;
        let decided = decide(&question, &Options::with_steps(2_000)).unwrap();
        best += usize::from(Some(decided.cost) == brute(&question));
    }
    assert!(best >= 190, "{best} of {tried}");
}

fn demo_mix(demo: &Demo) -> Mix {
    let text = std::fs::read_to_string("parts/mix.yaml").unwrap();
    let (mix, faults) = MixText::yaml(text).read("mix.yaml", demo.shop.currency, &mut Sources::default());
    assert!(faults.is_empty(), "{faults:?}");
    mix.unwrap()
}

fn with_parts<'a>(mix: &'a Mix, demo: &'a Demo) -> Vec<(&'a MixJob, &'a Part)> {
    mix.jobs.iter().map(|j| (j, demo.part_of_job(&j.part.value))).collect()
}

fn planned(mix: &Mix, demo: &Demo, shop: &Shop) -> (Vec<Routed>, MixPlan) {
    let jobs = with_parts(mix, demo);
    let routed = routes(&jobs, &demo.machines, shop, mix.years);
    let work: Vec<Work> = jobs.iter().zip(&routed).map(|((job, _), routed)| Work { job, routed }).collect();
    let hours = Hours::of(&demo.machines, shop, mix.years).unwrap();
    let planned = plan(&work, hours, shop.currency, &Options { gap: 1e-4, ..Options::with_steps(2_000) }).unwrap();
    (routed, planned)
}

#[test]
fn every_lot_has_one_place_and_times_and_money_add_up() {
    let demo = Demo::for_buying();
    let mix = demo_mix(&demo);
    let (routed, planned) = planned(&mix, &demo, &demo.shop);
    let mut taken = vec![0; planned.hours.units.len()];
    let mut set = 0;
    for ((job, routed), plan) in mix.jobs.iter().zip(&routed).zip(&planned.jobs) {
        let mut lots: Vec<u64> = plan.made.iter().flat_map(|m| m.lots.clone()).collect();
        lots.extend(plan.out.iter().flat_map(|o| o.lots.clone()));
        lots.sort_unstable();
        assert_eq!(lots, (0..u64::from(job.lots)).collect::<Vec<_>>(), "{}", job.part.value);
        assert_eq!(routed.lots.all(), job.yearly);
        for made in &plan.made {
            let route = &routed.routes[made.route];
            assert_eq!(route.machine, planned.hours.units[made.unit].machine);
            let pieces: u64 = made.lots.iter().map(|l| routed.lots.size(*l)).sum();
            // Pieces with scrap at their cycle, and the setting, to the second a lot.
            let good = demo.shop.good_share();
            let seconds = route.cycle.to_s() * pieces as f64 / good + made.takes.setting as f64;
            assert!((seconds - made.takes.seconds as f64).abs() <= 2.0 * made.lots.len() as f64, "{seconds}");
            taken[made.unit] += made.takes.seconds;
            set += made.takes.setting;
        }
        let sold = match &plan.out {
            Some(o) if o.fate != Fate::BoughtOut => job.yearly - o.pieces,
            _ => job.yearly,
        };
        let revenue = job.price.unwrap_or(Money::ZERO).to_units() * sold as f64;
        assert!((plan.revenue.to_units(demo.shop.currency) - revenue).abs() < 0.006, "{}", job.part.value);
    }
    for (taken, unit) in taken.iter().zip(&planned.hours.units) {
        assert!(*taken <= unit.free());
    }
    assert!(set <= planned.hours.setters[0].seconds);
    assert!(planned.most.unwrap() >= planned.left_over());
}

/// Lots from one piece to tens of thousands, so that ways to make a part change between them.
#[test]
fn jobs_of_one_part_take_together_what_each_takes_alone() {
    let demo = Demo::for_buying();
    let model = demo_mix(&demo).jobs[0].clone();
    let lots = [1, 2, 3, 5, 9, 17, 40, 41, 100, 333, 1_000, 2_500, 2_501, 9_999, 40_000];
    let job = |n: u64| MixJob { yearly: n, lots: 1, validated_on: Vec::new(), moving: None, ..model.clone() };
    let jobs: Vec<MixJob> = lots.into_iter().map(job).collect();
    let all: Vec<(&MixJob, &Part)> = demo.parts.iter().flat_map(|p| jobs.iter().map(move |j| (j, p))).collect();
    let together = routes(&all, &demo.machines, &demo.shop, 1.0);
    let mut made = 0;
    for (one, found) in all.iter().zip(&together) {
        let alone = &routes(&[*one], &demo.machines, &demo.shop, 1.0)[0];
        assert_eq!((&found.routes, &found.refused), (&alone.routes, &alone.refused), "{} {}", one.1.name, one.0.yearly);
        made += found.routes.len();
    }
    assert!(made > 500, "{made}");
}

/// Each machine of the demo four times, of which the hours cost from next to nothing to a fortune, and one of the four owns
/// attachments that the others do not.
#[test]
fn machines_of_one_kind_take_together_what_each_takes_alone() {
    let demo = Demo::for_buying();
    let model = demo_mix(&demo).jobs[0].clone();
    let mut shop = demo.shop.clone();
    let mut machines = Vec::new();
    for (hour, machine) in [1.0, 90.0, 30.0, 900.0].iter().flat_map(|hour| demo.machines.iter().map(move |m| (hour, m)))
    {
        let name = format!("{}-at-{hour}", machine.name);
        let mut own = demo.shop.machines.get(&machine.name).cloned().unwrap_or_else(ShopMachine::unknown);
        own.hourly = Some(Stated { value: HourRate::per_hour(*hour), place: Default::default() });
        if *hour == 30.0 {
            own.owned = machine.options.iter().map(|o| (o.name.clone(), 4)).collect();
        }
        shop.machines.insert(name.clone(), own);
        machines.push(Machine { name, ..machine.clone() });
    }
    let lots = [1, 4, 33, 250, 2_500, 40_000];
    let job = |n: u64| MixJob { yearly: n, lots: 1, validated_on: Vec::new(), moving: None, ..model.clone() };
    let jobs: Vec<MixJob> = lots.into_iter().map(job).collect();
    let all: Vec<(&MixJob, &Part)> = demo.parts.iter().flat_map(|p| jobs.iter().map(move |j| (j, p))).collect();
    let together = routes(&all, &machines, &shop, 1.0);
    let (mut made, mut by_rate) = (0, 0);
    for number in 0..machines.len() {
        let alone = routes(&all, &machines[number..=number], &shop, 1.0);
        for ((one, found), alone) in all.iter().zip(&together).zip(&alone) {
            let found: Vec<Route> = found.routes.iter().filter(|r| r.machine == number).cloned().collect();
            let alone: Vec<Route> = alone.routes.iter().map(|r| Route { machine: number, ..r.clone() }).collect();
            assert_eq!(found, alone, "{} {} on {}", one.1.name, one.0.yearly, machines[number].name);
            made += found.len();
        }
    }
    // The hour decides the mode or the end here and there, else this would show little.
    let n = demo.machines.len();
    for found in &together {
        let on = |m: usize| found.routes.iter().find(|r| r.machine == m).map(|r| (r.mode, r.end));
        by_rate += (0..n).filter(|m| on(*m) != on(m + 3 * n)).count();
    }
    assert!(made > 500 && by_rate > 0, "{made} {by_rate}");
    let refused = |m: usize| together.iter().flat_map(|r| &r.refused).filter(|r| r.machine == m).count();
    assert!((0..machines.len()).any(|m| refused(m) > 0));
}

#[test]
fn the_first_lot_is_set_up_as_a_first_order_and_the_others_as_repeats() {
    let demo = Demo::for_buying();
    let model =
        MixJob { yearly: 1_000, lots: 4, validated_on: Vec::new(), moving: None, ..demo_mix(&demo).jobs[0].clone() };
    // The state that the machines are in now is no matter of a year's.
    let mut shop = demo.shop.clone();
    shop.machines.values_mut().for_each(|m| m.now = vec![Default::default(); m.now.len()]);
    for part in &demo.parts {
        let routed = &routes(&[(&model, part)], &demo.machines, &demo.shop, 1.0)[0];
        for repeat in [part.repeat, true] {
            let asked = Part { orders: vec![250], repeat, ..part.clone() };
            let rows = rank(&asked, &demo.machines, &shop, None, By::Cost).rows;
            for route in &routed.routes {
                let row = rows.iter().find(|r| (r.machine, r.mode) == (route.machine, route.mode)).unwrap();
                let setting = row.judged.plan.setup.total.to_s().ceil() as i64;
                let lot = if repeat == part.repeat { route.first[0] } else { route.later[0] };
                assert_eq!(lot.setting, setting, "{} on {}", part.name, demo.machines[route.machine].name);
            }
        }
    }
}

#[test]
fn a_frozen_job_stays_where_it_was_validated() {
    let demo = Demo::for_buying();
    let mix = demo_mix(&demo);
    let (routed, planned) = planned(&mix, &demo, &demo.shop);
    let mut frozen = 0;
    for ((job, routed), plan) in mix.jobs.iter().zip(&routed).zip(&planned.jobs) {
        for on in &job.validated_on {
            frozen += 1;
            for made in &plan.made {
                assert_eq!(demo.machines[routed.routes[made.route].machine].name, on.value);
            }
        }
    }
    assert!(frozen > 0);
}

#[test]
fn more_hours_never_leave_less_over() {
    let demo = Demo::for_buying();
    let mix = demo_mix(&demo);
    let mut before = None;
    for share in [0.5, 0.7, 1.0, 1.4, 2.0] {
        let mut shop = demo.shop.clone();
        for machine in shop.machines.values_mut() {
            machine.load = None;
            machine.available = machine.available.map(|a| YearlyHours::h_per_year(a.to_h_per_year() * share));
        }
        let (_, planned) = planned(&mix, &demo, &shop);
        let now = (planned.left_over().to_minor(), planned.most.unwrap().to_minor());
        if let Some((left_over, _)) = before {
            // Both are within the gap that was asked for.
            assert!(now.1 >= left_over, "{now:?} {before:?}");
            assert!(now.0 as f64 >= left_over as f64 * (1.0 - 2e-4), "{now:?} {before:?}");
        }
        before = Some(now);
    }
}

#[test]
fn a_job_that_must_be_made_and_cannot_is_told() {
    let demo = Demo::for_buying();
    let mut mix = demo_mix(&demo);
    mix.jobs.truncate(1);
    let job = &mut mix.jobs[0];
    (job.must, job.buy_out) = (true, None);
    job.yearly = 10_000_000;
    let (_, planned) = planned(&mix, &demo, &demo.shop);
    let out = planned.jobs[0].out.as_ref().unwrap();
    assert_eq!((out.fate, out.why, planned.most), (Fate::Unmet, WhyNot::NoHours, None));
    assert_eq!(planned.unmet(), 1);
}

#[test]
fn in_order_no_two_lots_meet_and_setting_is_no_more_than_anew() {
    let demo = Demo::for_buying();
    let mix = demo_mix(&demo);
    let (routed, planned) = planned(&mix, &demo, &demo.shop);
    let jobs = with_parts(&mix, &demo);
    let ordered: Vec<Ordered> =
        jobs.iter().zip(&routed).map(|((job, part), routed)| Ordered { job, part, routed }).collect();
    let options = Options::with_steps(20_000);
    let found = sequence(&ordered, &demo.machines, &demo.shop, &planned, mix.years, &options);
    let again = sequence(&ordered, &demo.machines, &demo.shop, &planned, mix.years, &options);
    assert_eq!(found, again, "the same inputs give the same order");
    let mut lots = 0;
    for s in &found {
        let unit = planned.hours.units[s.unit];
        let mut clock = unit.promised;
        for r in &s.runs {
            assert!(r.start - r.setup >= clock && r.end > r.start, "{r:?} before {clock}");
            clock = r.end;
            lots += 1;
            // Nothing is made before its own share of the year begins.
            let share = unit.available / i64::from(mix.jobs[r.job].lots);
            assert!(r.start >= r.due - share - 1, "{r:?}");
        }
        assert!(s.setting() <= s.anew, "{} {}", s.setting(), s.anew);
    }
    let made: usize = planned.jobs.iter().flat_map(|j| &j.made).map(|m| m.lots.len()).sum();
    assert_eq!(lots, made);
}

/// Every job of the demo's mix on every machine that can make it, against asking for each change by itself.
#[test]
fn changes_are_what_each_takes_alone() {
    let demo = Demo::for_buying();
    let mix = demo_mix(&demo);
    let jobs = with_parts(&mix, &demo);
    let routed = routes(&jobs, &demo.machines, &demo.shop, mix.years);
    let (mut pairs, mut shorter) = (0, 0);
    for (number, machine) in demo.machines.iter().enumerate() {
        let on = |job: usize| Some((job, routed[job].routes.iter().position(|r| r.machine == number)?));
        let able: Vec<(usize, usize)> = (0..jobs.len()).filter_map(on).collect();
        let running: Vec<Running> = able.iter().map(|(job, r)| Running::of(jobs[*job].1, &routed[*job], *r)).collect();
        let states = demo.shop.machines.get(&machine.name).map(|m| m.now.clone()).unwrap_or_default();
        let now = states.first().cloned().unwrap_or_default();
        let found = changes(&running, machine, &demo.shop, &now);
        let alone = |(job, route): (usize, usize), from: &State| {
            let (part, mode) = (jobs[job].1, routed[job].routes[route].mode);
            let part = Part { repeat: true, orders: vec![routed[job].lots.size(0)], ..part.clone() };
            to_job(&part, machine, Some(mode), &demo.shop, from).unwrap()
        };
        let seconds = |change: &Change| change.setup.total.to_s().ceil() as i64;
        for (i, from) in able.iter().enumerate() {
            assert_eq!(found.first[i], seconds(&alone(*from, &now)));
            let left = alone(*from, &State::default()).left.state;
            for (j, to) in able.iter().enumerate() {
                assert_eq!(found.between[i][j], seconds(&alone(*to, &left)), "{from:?} to {to:?} on {}", machine.name);
                pairs += 1;
                shorter += usize::from(found.between[i][j] < routed[to.0].routes[to.1].later[0].setting);
            }
        }
    }
    assert!(pairs > 300 && shorter > pairs / 2, "{shorter} of {pairs}");
}

#[test]
fn the_calendar_has_an_event_for_each_lot_and_follows_the_standard() {
    let file = File::new("lots.ics", "");
    let path = file.0.to_str().unwrap();
    let (exit, out, err) = run(&["mix", "parts/mix.yaml", "--start", "2027-01-04", "--ics", path, "--format", "json"]);
    assert_eq!(exit, Exit::Fine, "{err}");
    let told: serde_json::Value = serde_json::from_str(&out).unwrap();
    let lots: usize = told["sequence"].as_array().unwrap().iter().map(|s| s["runs"].as_array().unwrap().len()).sum();
    let text = std::fs::read_to_string(path).unwrap();
    assert!(text.starts_with("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:") && text.ends_with("END:VCALENDAR\r\n"));
    assert!(text.split("\r\n").all(|line| line.len() <= 75), "RFC 5545, 3.1: lines of 75 octets at most");
    assert!(!text.replace("\r\n", "").contains('\n'));
    // RFC 5545, 3.6.1: each event has UID and DTSTAMP, once; the identifiers differ.
    let mut identifiers = std::collections::BTreeSet::new();
    for event in text.split("BEGIN:VEVENT\r\n").skip(1) {
        for key in ["UID:", "DTSTAMP:", "DTSTART:", "DTEND:", "SUMMARY:"] {
            assert_eq!(event.lines().filter(|l| l.starts_with(key)).count(), 1, "{event}");
        }
        let of = |key: &str| event.lines().find_map(|l| l.strip_prefix(key)).unwrap().to_owned();
        assert!(of("DTSTART:") < of("DTEND:"), "{event}");
        identifiers.insert(of("UID:"));
    }
    assert_eq!(identifiers.len(), lots);
}

/// Fourteen orders of one part: more than the months that the chart counts.
#[test]
fn jobs_of_one_part_keep_numbers_and_identifiers_of_their_own() {
    let line = |i: u32| format!("valve-spool,{},2,6.20 EUR\n", 6_000 + i);
    let sheet = File::new("alike.csv", &format!("part,yearly,lots,price\n{}", (0..14).map(line).collect::<String>()));
    let (events, page) = (File::new("alike.ics", ""), File::new("alike.html", ""));
    let path = |f: &File| f.0.to_str().unwrap().to_owned();
    let args = ["mix", &path(&sheet), "--start", "2027-01-04", "--ics", &path(&events), "--html", &path(&page)];
    let (exit, _, err) = run(&args);
    assert_eq!(exit, Exit::Fine, "{err}");
    let text = std::fs::read_to_string(&events.0).unwrap().replace("\r\n ", "");
    let all: Vec<&str> = text.lines().filter(|l| l.starts_with("UID:")).collect();
    let apart: std::collections::BTreeSet<&&str> = all.iter().collect();
    assert_eq!((all.len(), apart.len()), (28, 28));
    let page = std::fs::read_to_string(&page.0).unwrap();
    let chart = page.rsplit("id=\"mix-order").next().unwrap();
    assert!(chart.contains(">13<") && chart.contains(">14<"));
}

fn run(args: &[&str]) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = std::iter::once("turnwright").chain(args.iter().copied()).map(OsString::from);
    let exit = cli::run(args, &mut World::new(&mut out, &mut err));
    (exit, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

struct File(std::path::PathBuf);

impl File {
    /// A file beside the demo's parts, gone with the test.
    fn new(name: &str, text: &str) -> File {
        let path = std::path::Path::new("parts").join(format!(".{}-{name}", std::process::id()));
        std::fs::write(&path, text).unwrap();
        File(path)
    }
}

impl Drop for File {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

#[test]
fn a_fault_is_told_with_its_place_and_the_other_jobs_are_planned() {
    let text =
        "part,yearly,lots,price\nvalve-spool,40_000,12,6.20 EUR\nvalve-spol,100,1,6.20 EUR\nworm-shaft,-5,1,4 EUR\n";
    let sheet = File::new("faults.csv", text);
    let (exit, out, err) = run(&["mix", sheet.0.to_str().unwrap()]);
    assert_eq!(exit, Exit::Findings, "{err}");
    assert!(out.contains("1 jobs over a year") && out.contains("valve-spool"), "{out}");
    assert!(err.contains(":3:1") && err.contains("did you mean `valve-spool`?"), "{err}");
    assert!(err.contains(":4:"), "{err}");
}

#[test]
fn what_is_no_mix_says_why() {
    for (name, text, words) in [
        ("empty.csv", "", "it has no line"),
        ("book.xlsx", "no book", "it is no workbook"),
        ("list.yaml", "- 1\n", "a group of keys is expected"),
        ("none.yaml", "jobs: []\n", "holds no job"),
        ("lost.yaml", "jobs: [{ part: nothing-like-it, yearly: 5 }]\n", "no part beside the mix is called"),
    ] {
        let file = File::new(name, text);
        let (exit, _, err) = run(&["mix", file.0.to_str().unwrap()]);
        assert_eq!(exit, Exit::Unable, "{name}: {err}");
        assert!(err.contains(words), "{name}: {err}");
    }
}

#[test]
fn a_machine_without_hours_is_asked_for_them() {
    let shop = std::fs::read_to_string("machines/shop.yaml").unwrap().replace("    available: 3_200 h/year\n", "");
    let file = File::new("shop.yaml", &shop);
    let (exit, _, err) = run(&["mix", "parts/mix.yaml", "--shop", file.0.to_str().unwrap()]);
    assert_eq!(exit, Exit::Unable);
    assert!(err.contains("`fixed-65`") && err.contains("add `available: 3_400 h/year`"), "{err}");
}
