//! Quotes: what must add up adds up to the cent, a whole quote reckoned by hand, and what a reader is told.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(clippy::disallowed_methods, reason = "tests read files")]

mod common;

use common::Demo;
use turnwright::costing::{self, Amount, Lot, LotError, Share, lead};
use turnwright::matching::quoting::{self, Priced, Scope};
use turnwright::matching::{Row, Standing};
use turnwright::model::after::After;
use turnwright::model::part::Part;
use turnwright::model::shop::{Inspection, Markup, Shop, Treatment};
use turnwright::quantity::print::thousands;
use turnwright::quantity::{HourRate, Mass, Money, Ratio, Time};
use turnwright::report::quote::{self as report, Heading, Reader};
use turnwright::report::text::Style;
use turnwright::tables::thresholds::Thresholds;

fn scope<'a>(demo: &'a Demo) -> Scope<'a> {
    Scope { machines: &demo.machines, shop: &demo.shop, mode: None }
}

fn priced(part: &Part, demo: &Demo, asked: &[u64]) -> Option<Priced> {
    quoting::offer(part, scope(demo), asked).outcome.ok()
}

#[test]
fn the_shares_of_a_price_sum_to_it_and_the_order_is_quantity_times_price() {
    let demo = Demo::whole();
    let mut orders = 0;
    for part in &demo.parts {
        for priced in [priced(part, &demo, &[]), priced(part, &demo, &[1, 7, 333, 1_000_000])].into_iter().flatten() {
            for route in priced.breaks.iter().flat_map(|b| &b.routes) {
                let lot = &route.lot;
                let sum: Amount = lot.shares.iter().map(|s| s.1).sum();
                assert_eq!(sum, lot.total, "{}: {:?}", part.name, lot.shares);
                // The same without the program's rounding: halves up, in whole numbers.
                let exact = i128::from(lot.price.to_minor()) * i128::from(lot.quantity);
                let per = i128::from(lot.per);
                assert_eq!(i128::from(lot.total.to_minor()), (exact * 2 + per) / (per * 2), "{}", part.name);
                assert!(lot.price > Amount::ZERO);
                orders += 1;
            }
        }
    }
    assert!(orders > 300, "{orders}");
}

#[test]
fn the_bars_bought_yield_the_order_with_its_scrap() {
    let demo = Demo::whole();
    for part in &demo.parts {
        let Some(priced) = priced(part, &demo, &[1, 49, 50, 12_345]) else { continue };
        for route in priced.breaks.iter().flat_map(|b| &b.routes) {
            let (lot, blank) = (&route.lot, &route.row.judged.plan.blank);
            let yielded = lot.bars.bars * u64::from(blank.pieces);
            assert!(yielded >= lot.bars.pieces && yielded < lot.bars.pieces + u64::from(blank.pieces), "{}", part.name);
            let good = (lot.bars.pieces - u64::from(demo.shop.setup_pieces)) as f64 * demo.shop.good_share();
            assert!(good >= lot.quantity as f64 - 1e-6, "{}: {good} of {}", part.name, lot.quantity);
            assert!(good < lot.quantity as f64 + 1.0, "{}: {good} of {}", part.name, lot.quantity);
            let bars_kg = lot.bars.mass.to_kg() / lot.bars.bars as f64;
            assert!((bars_kg - blank.mass.to_kg() * f64::from(blank.pieces)).abs() < 1e-9);
        }
    }
}

/// A ranking's cost and a quote's are one: they differ by what is charged beside the machine, and by rounding.
#[test]
fn a_quote_costs_what_the_ranking_said() {
    let demo = Demo::whole();
    for part in &demo.parts {
        let Some(priced) = priced(part, &demo, &[]) else { continue };
        for route in priced.breaks.iter().flat_map(|b| &b.routes) {
            let beside: i64 = [Share::Inspection, Share::Certificates, Share::Treatments]
                .map(|s| route.lot.share(s).to_minor())
                .iter()
                .sum();
            let ranked = route.row.cost.cost.to_units() * 100.0 * route.lot.quantity as f64;
            let apart = (route.lot.cost.to_minor() - beside) as f64 - ranked;
            assert!(apart.abs() < 6.0, "{}: {apart} cents", part.name);
        }
    }
}

#[test]
fn a_larger_order_has_no_higher_price_and_the_route_turns_where_it_says() {
    let demo = Demo::whole();
    let mut turned = 0;
    for part in &demo.parts {
        let Some(priced) = priced(part, &demo, &[10, 100, 1_000, 10_000, 100_000]) else { continue };
        let price = |r: &quoting::Route| r.lot.total.to_minor() as f64 / r.lot.quantity as f64;
        let best: Vec<_> = priced.breaks.iter().map(|b| &b.routes[0]).collect();
        for pair in best.windows(2).filter(|p| p[0].row.standing == p[1].row.standing) {
            // Half a cent of rounding on both sides.
            assert!(
                price(pair[1]) <= price(pair[0]) + 1.0,
                "{}: {} then {}",
                part.name,
                price(pair[0]),
                price(pair[1])
            );
        }
        for turn in &priced.turns {
            let way = |q| {
                let b = quoting::offer(part, scope(&demo), &[q]).outcome.unwrap();
                let row = &b.at(q).unwrap().routes[0].row;
                (row.machine, row.mode)
            };
            assert_eq!(way(turn.quantity), turn.to, "{}", part.name);
            assert_ne!(way(turn.quantity - 1), turn.to, "{}", part.name);
            turned += 1;
        }
    }
    assert!(turned > 0);
}

/// A spool on a lathe, with round figures in place of the plan's.
fn example(demo: &Demo) -> (Part, Row, Shop) {
    let mut part = demo.part("valve-spool").clone();
    let place = part.place;
    part.certificate = Some("EN-10204-3.1".to_owned());
    part.after =
        vec![After { process: "passivate".to_owned(), feature: None, leaving: None, sizes_before: false, place }];
    let mut shop = demo.shop.clone();
    shop.markup = Markup::OfCost(Ratio::percent(22.0));
    shop.scrap = Ratio::percent(2.0);
    shop.setup_pieces = 4;
    shop.people.setter = HourRate::per_hour(58.0);
    shop.people.operator = HourRate::per_hour(42.0);
    shop.people.machines_per_operator = 4.0;
    shop.quotes.inspection = Some(Inspection { per_dimension: Time::s(20.0), sample: Ratio::percent(5.0) });
    shop.quotes.certificates = vec![("EN 10204 3.1".to_owned(), Money::units(25.0))];
    let passivate = Treatment {
        piece: Some(Money::units(0.12)),
        least: Some(Money::units(45.0)),
        takes: Some(Time::hours(168.0)),
        ..Treatment::default()
    };
    shop.quotes.treatments = [("passivate".to_owned(), passivate)].into();
    shop.quotes.bar_delivery = Some(Time::hours(168.0));
    let entry = shop.machines.get_mut("gang-20").unwrap();
    entry.load = Some(Time::hours(110.0));
    entry.available = Some(turnwright::quantity::YearlyHours::h_per_year(3400.0));
    let gang = demo.machines.iter().position(|m| m.name == "gang-20").unwrap();
    let ranking = demo.rank("valve-spool", Some(1000));
    let mut row = ranking.rows.into_iter().find(|r| r.machine == gang && r.standing == Standing::Owned).unwrap();
    let plan = &mut row.judged.plan;
    plan.cycle.total = Time::s(45.0);
    plan.cycle.cutting = Time::s(36.0);
    plan.setup.total = Time::minutes(200.0);
    plan.setup.off_machine.clear();
    plan.blank.pieces = 28;
    plan.blank.mass = Mass::kg(0.0535);
    plan.blank.price_factor = 2.2;
    plan.hand_over.iter_mut().for_each(|h| {
        (h.grip, h.needed, h.over, h.on_thread) = (h.grip.max(h.needed), h.needed, None, false);
    });
    (part, row, shop)
}

/// Reckoned by hand, step by step, for 1,000 pieces; the order time is REFA's T = t_r + m t_e, the rest arithmetic.
#[test]
fn a_whole_quote_reckoned_by_hand() {
    let demo = Demo::whole();
    let (part, row, shop) = example(&demo);
    assert_eq!(part.material.bar_price.to_per_kg(), 2.3);
    let rates = costing::Rates { machine: HourRate::per_hour(64.0), assumed: false };
    let t = Thresholds { tool_cost_per_hour: 14.0, ..Thresholds::with(&shop.thresholds) };
    let lot = Lot::of(&part, &row.judged.plan, &shop, rates, &t, 1000, &[]).unwrap();

    let by_hand = [
        (Share::Material, 27071),  // 1,000 x 0.0535 kg x 2.30 EUR/kg x 2.2 for ground bar
        (Share::Machine, 80000),   // 1,000 x 45 s x 64 EUR/h
        (Share::Operator, 13125),  // 1,000 x 45 s x 42 EUR/h / 4 machines
        (Share::Tools, 14000),     // 1,000 x 36 s x 14 EUR/h
        (Share::Setting, 40667),   // 200 min x (64 + 58) EUR/h
        (Share::SpecialCollet, 0), // a plain grip, long enough
        (Share::Collets, 0),       // of what is not listed nothing is missing
        (Share::Moving, 0),
        (Share::SetupPieces, 537),  // 4 x (0.27071 + 0.80 + 0.13125 + 0.14) = 4 x 1.34196
        (Share::Scrap, 2739),       // (1,000 / 0.98 - 1,000) x 1.34196 = 20.408 x 1.34196
        (Share::Inspection, 11667), // 5 % of 1,000 x 10 dimensions x 20 s x 42 EUR/h
        (Share::Certificates, 2500),
        (Share::Treatments, 12000), // 1,000 x 0.12, more than the least of 45
        (Share::Markup, 44694),     // to 2.49 a piece: 2,043.06 x 1.22 = 2,492.53, a piece 2.4925
    ];
    for (share, cents) in by_hand {
        assert_eq!(lot.share(share), Amount::minor(cents), "{}", share.word());
    }
    assert_eq!(lot.cost, Amount::minor(204306));
    assert_eq!((lot.per, lot.price, lot.total), (1, Amount::minor(249), Amount::minor(249000)));

    // 1,000 / 0.98 = 1,020.4, so 1,021 are begun, and 4 to set up; 28 come from a bar: 36.6 bars.
    assert_eq!((lot.bars.pieces, lot.bars.bars), (1025, 37));
    assert!((lot.bars.mass.to_kg() - 37.0 * 28.0 * 0.0535).abs() < 1e-9);
    // 200 min + 1,020.408 x 45 s
    assert!((lot.order_time.to_hours() - 16.0884).abs() < 1e-4);

    // 3,400 h a year are 65.385 h a week. The load of 110 h takes 1.6824 weeks, longer than the bar's one; the order
    // takes 0.2461, passivating one.
    let lead = lead(&row.judged.plan, &lot, &shop, "gang-20").unwrap();
    assert!((lead.total.to_hours() / 168.0 - 2.9284).abs() < 1e-4, "{lead:?}");

    // 22 % of the price instead: 2,043.06 / 0.78 = 2,619.31, a piece 2.6193.
    let of_price = Shop { markup: Markup::OfPrice(Ratio::percent(22.0)), ..shop };
    let lot = Lot::of(&part, &row.judged.plan, &of_price, rates, &t, 1000, &[]).unwrap();
    assert_eq!(
        (lot.price, lot.total, lot.share(Share::Markup)),
        (Amount::minor(262), Amount::minor(262000), Amount::minor(57694))
    );
}

#[test]
fn a_cheap_piece_is_priced_by_the_hundred_or_the_thousand() {
    let demo = Demo::whole();
    let per = |p: f64| costing::lot::price_per(&demo.shop, Money::units(p));
    assert_eq!([per(1.0), per(0.999), per(0.1), per(0.0999)], [1, 100, 100, 1000]);
    let mut own = demo.shop.clone();
    own.quotes.price_per = Some(10);
    assert_eq!(costing::lot::price_per(&own, Money::units(0.02)), 10);
}

#[test]
fn an_order_beyond_all_reckoning_is_refused() {
    let demo = Demo::whole();
    let (part, mut row, mut shop) = example(&demo);
    let rates = costing::Rates { machine: HourRate::per_hour(1e9), assumed: false };
    let t = Thresholds::with(&shop.thresholds);
    let lot = |row: &Row, shop: &Shop| Lot::of(&part, &row.judged.plan, shop, rates, &t, 1_000_000_000, &[]);
    assert_eq!(lot(&row, &shop), Err(LotError::TooLarge));
    row.judged.plan.blank.pieces = 0;
    shop.scrap = Ratio::ZERO;
    assert_eq!(lot(&row, &shop), Err(LotError::NoPieceInABar));
}

/// One setup and the changes between: a family costs less than its members one by one, and each later member is set up
/// from the one before.
#[test]
fn a_family_is_quoted_with_one_setup_and_its_changes() {
    let demo = Demo::whole();
    let first = demo.part("cortex-screw-20");
    let members: Vec<&Part> = demo.parts.iter().filter(|p| p.is_of_family(first)).collect();
    assert!(members.len() > 2);
    let together = quoting::family(&members, scope(&demo), &[200]);
    let (mut family, mut alone) = (Amount::ZERO, Amount::ZERO);
    let mut ways = Vec::new();
    for (i, (part, offer)) in members.iter().zip(&together).enumerate() {
        let priced = offer.outcome.as_ref().unwrap();
        assert_eq!(priced.after, members[..i].iter().map(|m| m.name.clone()).collect::<Vec<_>>());
        let route = &priced.at(200).unwrap().routes[0];
        let single = self::priced(part, &demo, &[200]).unwrap();
        let single = &single.at(200).unwrap().routes[0];
        if i > 0 {
            assert_eq!(
                route.lot.share(Share::SpecialCollet),
                Amount::ZERO,
                "{}: the collet was bought before",
                part.name
            );
            let (own, first) = (route.row.judged.plan.setup.total, single.row.judged.plan.setup.total);
            assert!(own < first, "{}: {own} after the one before, {first} by itself", part.name);
        }
        ways.push((route.row.machine, route.row.mode));
        family = family + route.lot.total;
        alone = alone + single.lot.total;
    }
    assert!(ways.iter().all(|w| *w == ways[0]), "{ways:?}");
    assert!(family < alone, "{family:?} {alone:?}");
}

/// A price that is for a hundred pieces never stands unmarked under one a piece.
#[test]
fn a_price_for_more_pieces_than_its_column_says_so() {
    let demo = Demo::whole();
    let mut both = 0;
    for part in &demo.parts {
        let offer = quoting::offer(part, scope(&demo), &[1, 100, 10_000, 1_000_000]);
        let told = report::offer(part, &demo.machines, &demo.shop, &offer);
        let quote = report::answer(&demo.shop, "0123".to_owned(), Heading::default(), vec![told]);
        let text = report::text(&quote, Reader::Customer, Style { width: 120, color: false });
        let offer = &quote.offers[0];
        let Some(per) = offer.best().map(|r| r.per) else { continue };
        for r in offer.breaks.iter().filter_map(|b| b.routes.first()).filter(|r| r.per != per) {
            let words = format!("{} for {}", quote.money(r.price), thousands(r.per as f64));
            assert!(text.contains(&words), "{}: {words}\n{text}", part.name);
            both += 1;
        }
    }
    assert!(both > 0);
}

/// Whatever form a customer's copy has, it tells nothing of machines, rates, shares or markup.
#[test]
fn a_copy_for_the_customer_holds_nothing_of_the_shops_own() {
    let demo = Demo::whole();
    let mut own: Vec<String> = demo.machines.iter().flat_map(|m| [m.name.clone(), m.title.clone()]).collect();
    let words = ["markup", "setup_min", "cycle", "guide bushing", "special collet", "/kg", "route"];
    own.extend(words.map(str::to_owned));
    let mut told_to_the_shop = 0;
    for part in &demo.parts {
        let offer = quoting::offer(part, scope(&demo), &[10, 1000]);
        let told = report::offer(part, &demo.machines, &demo.shop, &offer);
        let heading = Heading { issued: Some("2026-11-25".to_owned()), ..Heading::default() };
        let quote = report::answer(&demo.shop, "0123".to_owned(), heading, vec![told]);
        let mut copies = vec![
            report::text(&quote, Reader::Customer, Style { width: 100, color: false }),
            report::head(Reader::Customer) + &report::csv(&quote, Reader::Customer),
            serde_json::to_string(&report::SoldQuote::from(&quote)).unwrap(),
        ];
        copies.extend(report::ubl(&quote));
        for copy in &copies {
            for word in &own {
                assert!(!copy.contains(word.as_str()), "{}: `{word}` in\n{copy}", part.name);
            }
        }
        let shop = serde_json::to_string(&quote).unwrap();
        told_to_the_shop += own.iter().filter(|word| shop.contains(word.as_str())).count();
    }
    assert!(told_to_the_shop > demo.parts.len(), "the words looked for are none that the shop is told");
}
