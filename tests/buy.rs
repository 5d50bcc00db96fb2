//! The purchase: cash flows against published values and by hand, proofs against plans, what must not change does not.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(clippy::disallowed_methods, reason = "tests read files")]

mod common;

use common::{Demo, near};
use proptest::prelude::*;
use std::ffi::OsString;
use std::num::NonZeroUsize;
use std::sync::atomic::AtomicBool;
use turnwright::cli::{self, Exit, World};
use turnwright::fleet::buy::base::Asked;
use turnwright::fleet::buy::cash::{Paid, break_even, npv, worth};
use turnwright::fleet::buy::sets::{Judge, Without};
use turnwright::fleet::buy::staircase::{Capability, staircases};
use turnwright::fleet::buy::steady::steady;
use turnwright::fleet::buy::study::{Wish, study};
use turnwright::fleet::buy::tornado::{Moved, tornado};
use turnwright::fleet::buy::{Case, Choices, Item, Outlook, Terms, Variant, outlook};
use turnwright::fleet::mix::routes;
use turnwright::fleet::solver::{Options, Stopped, Watch};
use turnwright::formulas::investment::capital_recovery_factor;
use turnwright::lang::Sources;
use turnwright::lang::shop::MixText;
use turnwright::model::Machine;
use turnwright::model::finance::{Lease, Loan, Overtime, Risk};
use turnwright::model::mix::{Mix, MixJob};
use turnwright::quantity::{Length, Money, Ratio};
use turnwright::report::buy as report;

/// A life of so many years with nothing but the price and what is gained.
fn bare(discount: f64, years: usize) -> Terms {
    Terms {
        discount: Ratio::percent(discount),
        years,
        resale: Ratio::ZERO,
        tax: Ratio::ZERO,
        stock: Ratio::percent(20.0),
        ramp: [Ratio::percent(100.0); 2],
        upkeep: Ratio::ZERO,
        written_off: years as f64,
        loan: None,
        lease: None,
        overtime: Overtime { hours: Ratio::percent(10.0), extra: Ratio::percent(50.0) },
        risk: Risk::NONE,
        assumed: Vec::new(),
    }
}

fn case(price: f64, gain: f64) -> Case {
    let price = Money::units(price);
    Case { price, list: price, gain: Money::units(gain), replaced: Money::ZERO, first_year: 1.0 }
}

/// R. Panneerselvam, Engineering Economics, examples 4.1 (net present value of three technologies) and 7.1 (rate of return;
/// the book interpolates between 15 and 18 %).
#[test]
fn plain_cash_flows_are_worth_what_a_textbook_says() {
    for (price, gain, expected) in [(1.2e6, 4e5, 476_989.0), (2e6, 6e5, 515_483.0), (1.8e6, 5e5, 296_236.0)] {
        near(npv(&case(price, gain), &bare(20.0, 10)).unwrap().to_units(), expected, 1.0);
    }
    let worth = worth(&case(1e5, 3e4), &bare(10.0, 5), Paid::Outright).unwrap();
    near(worth.irr[0].to_percent(), 15.25, 0.02);
    near(worth.payback.unwrap(), 10.0 / 3.0, 1e-9);
}

#[test]
fn tax_depreciation_and_resale_are_those_of_the_hand() {
    let terms = Terms { tax: Ratio::percent(25.0), resale: Ratio::percent(10.0), ..bare(10.0, 2) };
    let case = Case { list: Money::units(800.0), ..case(1_000.0, 400.0) };
    let years = worth(&case, &terms, Paid::Outright).unwrap().years;
    let sums: Vec<f64> = years.iter().map(|y| y.sum().to_units()).collect();
    // 400 less 500 written off: 25 of tax are saved. 400 and 80 of resale less 500: 5 are saved.
    for (sum, expected) in sums.iter().zip([-1_000.0, 425.0, 485.0]) {
        near(*sum, expected, 1e-9);
    }
    near(npv(&case, &terms).unwrap().to_units(), -1_000.0 + 425.0 / 1.1 + 485.0 / 1.21, 1e-9);
    // Written off over four years, the half that is left goes with the sale.
    let slower = Terms { written_off: 4.0, ..terms };
    let tax: Vec<f64> = worth(&case, &slower, Paid::Outright).unwrap().years.iter().map(|y| y.tax.to_units()).collect();
    near(tax[1], -0.25 * (400.0 - 250.0), 1e-9);
    near(tax[2], -0.25 * (400.0 + 80.0 - 750.0), 1e-9);
}

/// What is borrowed at the rate that sums are discounted with is worth nothing by itself.
#[test]
fn a_loan_or_lease_at_the_discount_changes_no_value() {
    let terms = bare(9.0, 8);
    let case = case(250_000.0, 60_000.0);
    let outright = npv(&case, &terms).unwrap().to_units();
    for years in [1, 5, 8, 12] {
        let loan = Paid::Loan(Loan { share: Ratio::percent(80.0), interest: terms.discount, years });
        near(worth(&case, &terms, loan).unwrap().npv.to_units(), outright, 1e-6);
    }
    let yearly = Ratio::fraction(capital_recovery_factor(terms.discount, 5.0).unwrap());
    let lease = Paid::Lease(Lease { yearly, years: 5, last: Ratio::ZERO });
    near(worth(&case, &terms, lease).unwrap().npv.to_units(), outright, 1e-6);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn at_the_price_at_which_it_stops_paying_it_is_worth_nothing(
        price in 1e3_f64..1e6, gain in -1e4_f64..4e5, installed in 0.0_f64..0.4, first_year in 0.2_f64..1.0,
        (discount, tax, resale, upkeep) in (0.0_f64..40.0, 0.0_f64..60.0, 0.0_f64..50.0, 0.0_f64..6.0),
        (years, written_off, replaced) in (1_usize..20, 1.0_f64..25.0, 0.0_f64..5e4),
    ) {
        let percent = Ratio::percent;
        let terms = Terms { tax: percent(tax), resale: percent(resale), upkeep: percent(upkeep), written_off, ..bare(discount, years) };
        let list = Money::units(price / (1.0 + installed));
        let case = Case { list, first_year, replaced: Money::units(replaced), ..case(price, gain) };
        match break_even(&case, &terms).unwrap() {
            Some(at) => {
                let share = at.to_units() / price;
                let there = Case { price: at, list: list * share, ..case };
                prop_assert!(npv(&there, &terms).unwrap().to_units().abs() < 1e-6 * at.to_units().max(1.0));
                prop_assert_eq!(npv(&case, &terms).unwrap() > Money::ZERO, price < at.to_units());
            }
            None => prop_assert!(npv(&case, &terms).unwrap() <= Money::ZERO || discount < 20.0),
        }
    }
}

fn demo_mix(demo: &Demo) -> Mix {
    let text = std::fs::read_to_string("parts/mix.yaml").unwrap();
    MixText::yaml(text).read("mix.yaml", demo.shop.currency, &mut Sources::default()).0.unwrap()
}

/// Jobs with little to search, among them one that nothing makes and one that is bought out.
const FEW: &[&str] =
    &["anchor-screw", "abutment", "valve-sleeve", "hex-fitting", "flange-45", "pump-spool", "valve-spool"];

/// Asks something of a judge over a few jobs of the demo.
fn judged<T>(
    demo: &Demo,
    machines: &[Machine],
    terms: &Terms,
    replaced: Option<usize>,
    then: impl FnOnce(&Judge, &Without) -> T,
) -> T {
    let mut mix = demo_mix(demo);
    mix.jobs.retain(|j| FEW.contains(&demo.part_of_job(&j.part.value).name.as_str()));
    assert_eq!(mix.jobs.len(), FEW.len());
    let jobs: Vec<_> = mix.jobs.iter().map(|j| (j, demo.part_of_job(&j.part.value))).collect();
    let choices = Choices::new(jobs, machines, &demo.shop, mix.years, replaced);
    let numbers: Vec<&MixJob> = choices.jobs();
    let options = Options { seed: 1, steps: 300, threads: NonZeroUsize::MIN, gap: 1e-5, watch: Watch::default() };
    let judge = Judge {
        choices: &choices,
        asked: Asked { jobs: &numbers, years: mix.years, terms, options: &options },
        outlook: Outlook::plain(numbers.len()),
    };
    let without = judge.without().unwrap();
    then(&judge, &without)
}

fn number(machines: &[Machine], name: &str) -> usize {
    machines.iter().position(|m| m.name == name).unwrap()
}

/// A machine of a name; `idle` is one that takes wire only.
fn with_idle(demo: &Demo) -> Vec<Machine> {
    let mut idle = demo.machine("tilt-26").clone();
    idle.name = "idle".to_owned();
    for mode in &mut idle.modes {
        let bar = mode.bar.as_mut().unwrap();
        (bar.low, bar.high) = (Some(Length::mm(0.3)), Some(Length::mm(0.5)));
    }
    demo.machines.iter().cloned().chain([idle]).collect()
}

#[test]
fn a_candidate_that_can_do_nothing_is_worth_minus_its_price() {
    let demo = Demo::for_buying();
    let machines = with_idle(&demo);
    judged(&demo, &machines, &bare(9.0, 8), None, |judge, without| {
        let set = [Item::Machine { machine: number(&machines, "idle") }];
        let idle = judge.judged(&set, without).unwrap();
        assert_eq!(idle.case.gain, Money::ZERO);
        near(idle.worth.npv.to_units(), -392_000.0 * 1.2, 1e-6);
        near(idle.most.to_units(), -392_000.0 * 1.2, 400.0);
        assert_eq!(break_even(&idle.case, judge.asked.terms).unwrap(), None);
    });
}

#[test]
fn nothing_that_is_bought_leaves_less_over_and_no_plan_is_above_its_proof() {
    let demo = Demo::for_buying();
    let machines = with_idle(&demo);
    judged(&demo, &machines, &bare(9.0, 8), None, |judge, without| {
        let best = without.variants.iter().map(|v| v.left_over).max().unwrap();
        assert_eq!(without.best.left_over, best);
        let machine = |name| Item::Machine { machine: number(&machines, name) };
        let whirling = Item::Option { machine: number(&machines, "gang-20"), option: 1, count: 1 };
        let items = [machine("long-42"), machine("tilt-26"), machine("idle"), machine("gang-20"), whirling];
        let sets = judge.sets(&items, 2, None, without).unwrap();
        for one in sets.single.iter().chain(&sets.together) {
            assert!(one.best.left_over >= without.best.left_over, "{:?}", one.set);
            assert!(one.most >= one.worth.npv, "{:?}", one.set);
            let ceiling = judge.ceiling(&one.set, without, 1.0).unwrap();
            assert!(ceiling >= one.worth.npv, "{:?}: {ceiling:?} {:?}", one.set, one.worth.npv);
        }
        // What was skipped is planned after all: it is not better than what was found.
        let best = sets.best(None).unwrap().worth.npv;
        for skipped in &sets.skipped {
            let one = judge.judged(&skipped.set, without).unwrap();
            assert!(one.worth.npv <= skipped.most && one.worth.npv <= best, "{:?}", skipped.set);
        }
        assert!(!sets.skipped.is_empty() && sets.most(None) >= best);
        // Within a budget the best is that of all that can be paid.
        let budget = Money::units(100_000.0);
        let small = judge.sets(&items, 2, Some(budget), without).unwrap();
        assert!(small.best(Some(budget)).is_none_or(|j| j.case.price <= budget));
        assert_eq!(small.single.len(), 5);
    });
}

#[test]
fn the_middle_of_the_tornado_and_draws_without_spread_are_the_plain_run() {
    let demo = Demo::for_buying();
    let terms = Terms { risk: Risk::NONE, ..Terms::of(&demo.shop).unwrap() };
    judged(&demo, &demo.machines, &terms, None, |judge, _| {
        let items = [Item::Machine { machine: number(&demo.machines, "long-42") }];
        let wish = Wish { items: &items, closely: &items, most: 1, budget: None, seed: 3, draws: 5 };
        let study = study(judge, &wish).unwrap();
        let close = &study.close[0];
        let plain = close.judged.worth.npv;
        assert!(plain > Money::ZERO);
        assert_eq!(close.bars.len(), 6);
        for bar in &close.bars {
            assert_eq!(bar.npv[2], plain, "{:?}", bar.moved);
        }
        assert!(close.bars.windows(2).all(|b| b[0].swing() >= b[1].swing()));
        let chance = close.chance.as_ref().unwrap();
        assert_eq!(chance.npv, vec![plain; 5]);
        assert_eq!((chance.below(0.1), chance.below(0.9), chance.pays()), (plain, plain, 1.0));
        // All jobs are all jobs, and fewer bring no more.
        assert_eq!(close.sure[2].npv, plain);
        assert!(close.sure[0].gain <= close.sure[2].gain);
        // What the jobs gain is what the purchase gains, overtime aside.
        let by_job: f64 = close.change.by_job.iter().map(|(_, a)| a.to_units(demo.shop.currency)).sum();
        if [study.without.best.variant, close.judged.best.variant].iter().all(|v| !v.overtime()) {
            near(by_job, close.judged.case.gain.to_units(), 0.02);
        }
        let possible: Vec<&str> =
            close.change.newly_possible.iter().map(|j| judge.asked.jobs[*j].part.value.as_str()).collect();
        assert_eq!(possible, ["hoped/pump-spool.turn"]);
    });
}

#[test]
fn a_dearer_price_is_never_better_and_no_figure_that_helps_leaves_less_over() {
    let demo = Demo::for_buying();
    let terms = Terms::of(&demo.shop).unwrap();
    judged(&demo, &demo.machines, &terms, None, |judge, without| {
        let set = [Item::Machine { machine: number(&demo.machines, "long-42") }];
        let one = judge.judged(&set, without).unwrap();
        let ways = [without.best.variant, one.best.variant];
        let before = steady(judge, &without.floor, &without.best, &ways, &[]).unwrap();
        let with = steady(judge, &one.floor, &one.best, &ways, &[]).unwrap();
        for (steady, best) in [(&before, &without.best), (&with, &one.best)] {
            assert!(steady.plain.left_over >= best.left_over);
            for (moved, left) in &steady.moved {
                assert_eq!(left[2], steady.plain.left_over, "{moved:?}");
                let falls = match moved {
                    Moved::HourCosts | Moved::SetupTimes => true,
                    Moved::Prices | Moved::Availability => false,
                    // More pieces may not fit.
                    Moved::Volumes | Moved::Price => continue,
                };
                for pair in left.windows(2) {
                    assert!(if falls { pair[0] >= pair[1] } else { pair[0] <= pair[1] }, "{moved:?}: {left:?}");
                }
            }
        }
        let bars = tornado(judge, &one, &before, &with).unwrap();
        let bar = |word: &str| bars.iter().find(|b| b.moved.words().contains(word)).unwrap().npv.map(Money::to_units);
        assert!(bar("bought").windows(2).all(|n| n[0] > n[1]));
        // A straight line: the steps are alike.
        let steps: Vec<f64> = bar("bought").windows(2).map(|n| n[0] - n[1]).collect();
        assert!(steps.iter().all(|s| (s - steps[0]).abs() < 1e-6));
        // A job that only the candidate makes brings more at a better price.
        assert!(bar("prices").windows(2).all(|n| n[0] < n[1]));
    });
}

#[test]
fn the_staircase_passes_through_the_candidate_and_a_step_down_has_its_reason() {
    let demo = Demo::for_buying();
    let terms = Terms::of(&demo.shop).unwrap();
    judged(&demo, &demo.machines, &terms, None, |judge, without| {
        let machine = number(&demo.machines, "long-42");
        let one = judge.judged(&[Item::Machine { machine }], without).unwrap();
        let ways = [without.best.variant, one.best.variant];
        let stairs = staircases(judge, without, &one, machine, &ways).unwrap();
        assert_eq!(stairs.iter().map(|s| s.capability).collect::<Vec<_>>(), [Capability::Bar, Capability::LivePlaces]);
        for stair in &stairs {
            let own: Vec<_> = stair.steps.iter().filter(|s| s.own).collect();
            assert_eq!(own.len(), 1);
            near(own[0].gain.to_units(), one.case.gain.to_units(), 1e-6);
            for s in stair.steps.windows(2) {
                let falls = s[0].gain.to_units() - s[1].gain.to_units();
                let told = s[1].less.as_ref().map_or(0.0, |l| l.money.to_units());
                assert!(falls <= told + 0.01, "{s:#?}");
            }
        }
        // The hexagon of 24 mm, 27.7 mm across its corners, fills a bore of 29 mm and rattles in one of 33 mm.
        let down: Vec<_> = stairs[0].steps.iter().filter_map(|s| Some((s.figure, s.less.as_ref()?))).collect();
        let [(figure, less)] = down[..] else { panic!("{down:?}") };
        near(figure, 32.0, 1e-9);
        assert_eq!(judge.asked.jobs[less.job].part.value, "hex-fitting");
        let (line, minutes) = less.line.clone().unwrap();
        assert!(line.starts_with("spindle liner: bar 24") && line.ends_with("in a bore of 33 mm"), "{line}");
        assert!((5.0..=10.0).contains(&minutes), "{minutes}");
        // The spool of 38 mm is cut from 40 mm bar.
        let spool = judge.asked.jobs.iter().position(|j| j.part.value.contains("pump-spool")).unwrap();
        let step = stairs[0].steps.iter().find(|s| s.newly_able.contains(&spool)).unwrap();
        near(step.figure, 42.0, 1e-9);
    });
}

#[test]
fn what_goes_is_sold_and_makes_nothing_more() {
    let demo = Demo::for_buying();
    let terms = Terms { tax: Ratio::percent(25.0), resale: Ratio::percent(15.0), ..bare(9.0, 8) };
    let goes = number(&demo.machines, "turret-32");
    judged(&demo, &demo.machines, &terms, Some(goes), |judge, without| {
        let set = [Item::Machine { machine: number(&demo.machines, "long-42") }];
        let one = judge.judged(&set, without).unwrap();
        assert!(one.best.plan.hours.units.iter().all(|u| u.machine != goes));
        assert!(without.best.plan.hours.units.iter().any(|u| u.machine == goes));
        let list = demo.machine("turret-32").price.as_ref().unwrap().list.value.to_units();
        near(one.worth.years[0].sum().to_units(), -238_000.0 * 1.2 + 0.15 * list * 0.75, 1e-6);
    });
}

/// A lot of another size against the same job planned and priced anew.
#[test]
fn a_lot_of_another_size_takes_and_costs_what_planning_it_anew_says() {
    let demo = Demo::for_buying();
    let mix = demo_mix(&demo);
    let terms = bare(9.0, 8);
    let mut compared = 0;
    for job in &mix.jobs {
        let part = demo.part_of_job(&job.part.value);
        let now = routes(&[(job, part)], &demo.machines, &demo.shop, 1.0);
        for factor in [0.8, 1.2] {
            let mut plain = Outlook::plain(1);
            plain.volumes[0] = factor;
            let seen = outlook::seen(&[job], &now, &plain, Variant::AsNow, &terms, 1.0).remove(0).routed;
            let grown = MixJob { yearly: (job.yearly as f64 * factor).round() as u64, ..job.clone() };
            let anew = routes(&[(&grown, part)], &demo.machines, &demo.shop, 1.0).remove(0);
            assert_eq!(seen.lots, anew.lots);
            for a in &seen.routes {
                let Some(b) = anew.routes.iter().find(|b| b.machine == a.machine && b.mode == a.mode) else { continue };
                // A lot of another size may be worth another way to make it: then the line is no line.
                if a.cycle != b.cycle || a.later[0].setting != b.later[0].setting {
                    continue;
                }
                compared += 1;
                near(a.later[0].seconds as f64, b.later[0].seconds as f64, 3.0);
                near(a.first[0].seconds as f64, b.first[0].seconds as f64, 3.0);
                let cash = b.later[0].cash.to_minor() as f64;
                near(a.later[0].cash.to_minor() as f64, cash, 0.002 * cash + 5.0);
            }
        }
    }
    assert!(compared > 50, "{compared}");
}

#[test]
fn a_search_that_is_cut_gives_what_it_has_and_says_what_is_missing() {
    let demo = Demo::for_buying();
    let terms = Terms::of(&demo.shop).unwrap();
    judged(&demo, &demo.machines, &terms, None, |judge, _| {
        let interrupted = AtomicBool::new(true);
        let watch = Watch { interrupted: Some(&interrupted), ..Watch::default() };
        let options = Options { watch, ..*judge.asked.options };
        let asked = Asked { options: &options, ..judge.asked };
        let judge = Judge { choices: judge.choices, asked, outlook: judge.outlook.clone() };
        let items = [Item::Machine { machine: number(&demo.machines, "long-42") }];
        let wish = Wish { items: &items, closely: &items, most: 1, budget: None, seed: 3, draws: 5 };
        let study = study(&judge, &wish).unwrap();
        assert_eq!((study.sets.cut, study.close.len(), study.cut), (1, 0, Some(Stopped::Interrupted)));
        let told = report::answer(&judge, &wish, &study, &[]);
        let cut = told.cut.unwrap();
        assert!(
            cut.contains("interrupted") && cut.contains("1 set is not planned") && cut.contains("0 of 5 draws"),
            "{cut}"
        );
    });
}

#[test]
fn larger_lots_set_less_and_leave_no_less_over() {
    let demo = Demo::for_buying();
    let terms = Terms::of(&demo.shop).unwrap();
    judged(&demo, &demo.machines, &terms, None, |_, without| {
        let of = |variant: Variant| without.variants.iter().find(|v| v.variant == variant).unwrap();
        let (now, larger) = (of(Variant::AsNow), of(Variant::LargerLots));
        let slack = 1e-5 * now.left_over.to_minor() as f64;
        assert!(larger.left_over.to_minor() as f64 >= now.left_over.to_minor() as f64 - slack);
        let lots = |b: &turnwright::fleet::buy::Best| b.seen.iter().map(|s| s.routed.lots.count).sum::<u64>();
        assert!(lots(larger) < lots(now));
        let pieces = |b: &turnwright::fleet::buy::Best| b.seen.iter().map(|s| s.routed.lots.all()).sum::<u64>();
        assert_eq!(pieces(larger), pieces(now));
    });
}

fn run(args: &[&str]) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = std::iter::once("turnwright").chain(args.iter().copied()).map(OsString::from);
    let exit = cli::run(args, &mut World::new(&mut out, &mut err));
    (exit, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

#[test]
fn the_same_seed_gives_the_same_bytes_on_one_and_two_threads() {
    let asked = |threads: usize, seed: &str| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let args = [
            "buy",
            "parts/mix.yaml",
            "--candidate",
            "machines/candidates/long-42.turn",
            "--option",
            "gang-20:whirling",
        ];
        let args: Vec<&str> = args.into_iter().chain(["--draws", "6", "--seed", seed, "--format", "json"]).collect();
        pool.install(|| run(&args))
    };
    let one = asked(1, "5");
    assert!(matches!(one.0, Exit::Fine), "{}", one.2);
    assert_eq!(one.1, asked(2, "5").1);
}

struct File(std::path::PathBuf);

impl File {
    fn new(name: &str, text: &str) -> File {
        let path = std::env::temp_dir().join(format!("turnwright-buy-{}-{name}", std::process::id()));
        std::fs::write(&path, text).unwrap();
        File(path)
    }

    fn path(&self) -> &str {
        self.0.to_str().unwrap()
    }
}

impl Drop for File {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

#[test]
fn what_cannot_be_weighed_says_why_and_what_to_do() {
    let shop = std::fs::read_to_string("machines/shop.yaml").unwrap();
    let spec = std::fs::read_to_string("machines/candidates/long-42.turn").unwrap();
    let negative = File::new("negative.turn", &spec.replace("238_000 EUR", "-238_000 EUR"));
    let free = File::new("free.turn", &spec.replace("  price     238_000 EUR  installed +20 %\n", ""));
    let discount = File::new("discount.yaml", &shop.replace("discount: 9 %", "discount: -100 %"));
    let a = shop.find("finance:").unwrap();
    let b = shop.find("overtime:").unwrap();
    let broke = File::new("broke.yaml", &format!("{}{}", &shop[..a], &shop[b..]));
    let loan = File::new("loan.yaml", &shop.replace("years: 5 }\n  lease", "years: 0 }\n  lease"));
    let ramp = File::new("ramp.yaml", &shop.replace("[40 %, 80 %]", "[40 %]"));
    let lists = File::new("none.turn", "units mm\n");
    let cases: &[(&[&str], &str, &str)] = &[
        (&["--candidate", negative.path()], "`price` must be greater than 0", "-238_000 EUR"),
        (&["--candidate", free.path()], "`long-42` states no price", "add `price 185_000 EUR installed +18 %`"),
        (&["--candidate", "long-24"], "no machine is named `long-24`", "known are"),
        (&["--candidate", "machines/candidates/none.turn"], "cannot be read", "none.turn"),
        (&["--candidate", lists.path()], "no machine in", "a machine spec begins with"),
        (&["--option", "gang-20:whirlin"], "no attachment of `gang-20` is named `whirlin`", "did you mean `whirling`?"),
        (&["--option", "gang-21:whirling"], "no machine is named `gang-21`", "did you mean"),
        (&["--option", "whirling"], "names no attachment of a machine", "write `gang-20:angle-head`"),
        (&["--option", "gang-20:whirling:0"], "`0` is no number of attachments", "write `gang-20:whirling:2`"),
        (&["--replace", "gang-99"], "no machine is named `gang-99`", "did you mean"),
        (&["--budget", "-5"], "`-5` is no budget", "such as `300_000 EUR`"),
        (&["--budget", "300_000 USD"], "is no budget", "such as `300_000 EUR`"),
        (&["--shop", discount.path()], "`-100 %` is out of range", "expected 0 % to 100 %"),
        (&["--shop", broke.path()], "does not say what money costs", "add `finance:"),
        (&["--shop", loan.path()], "`0` is out of range", "expected 1 to 60"),
        (&["--shop", ramp.path()], "a ramp has two quarters, not 1", "ramp: [40 %, 80 %]"),
    ];
    for (args, words, remedy) in cases {
        let args: Vec<&str> = ["buy", "parts/mix.yaml", "--draws", "0"].iter().chain(*args).copied().collect();
        let (exit, out, err) = run(&args);
        assert_eq!(exit, Exit::Unable, "{args:?}: {out} {err}");
        assert!(err.contains(words) && err.contains(remedy), "{args:?}: {err}");
    }
}

#[test]
fn where_there_is_nothing_to_buy_that_is_told() {
    let alone = std::env::temp_dir().join(format!("turnwright-alone-{}", std::process::id()));
    std::fs::create_dir_all(&alone).unwrap();
    let spec = std::fs::read_to_string("machines/plain-32.turn").unwrap();
    let option = spec.lines().position(|l| l.contains("option angle-head")).unwrap();
    let spec: Vec<&str> = spec.lines().enumerate().filter(|(i, _)| *i != option).map(|(_, l)| l).collect();
    std::fs::write(alone.join("plain-32.turn"), spec.join("\n")).unwrap();
    let machines = alone.to_str().unwrap();
    let mix = File::new("mix.csv", "part,yearly,price\nbolt,100,5 EUR\n");
    let bolt = "units mm\npart bolt \"bolt\" {\n  material 11smn30\n  length 20\n  order 10\n  turn body dia 10 z 0 .. 20\n}\n";
    let folder = mix.0.parent().unwrap().join(format!("turnwright-mix-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("bolt.turn"), bolt).unwrap();
    std::fs::write(folder.join("mix.csv"), "part,yearly,price\nbolt,100,5 EUR\n").unwrap();
    let mix = folder.join("mix.csv");
    let (exit, _, err) = run(&["buy", mix.to_str().unwrap(), "--machines", machines, "--shop", "machines/shop.yaml"]);
    assert_eq!(exit, Exit::Unable, "{err}");
    assert!(err.contains("nothing to buy: name a machine by --candidate"), "{err}");
    let _ = (std::fs::remove_dir_all(&alone), std::fs::remove_dir_all(&folder));
}

#[test]
fn a_job_may_name_a_spec_in_a_folder_below_the_mix() {
    let (exit, out, err) = run(&["mix", "parts/mix.yaml", "--format", "csv", "--steps", "50"]);
    assert_eq!(exit, Exit::Fine, "{err}");
    assert!(out.contains("pump-spool,likely,Example Pumps,5000,16,lost"), "{out}");
}
