//! Why one machine stands before another, and how far an estimate may lie off: the terms add up and the order turns where it
//! is said to.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod common;

use common::{Demo, near};
use turnwright::costing;
use turnwright::matching::{By, Standing, rank};
use turnwright::report::answer::answer;
use turnwright::report::text::Style;
use turnwright::report::why;
use turnwright::tables::thresholds::Thresholds;

#[test]
fn terms_add_up_and_the_order_turns_where_it_is_said_to() {
    let demo = Demo::whole();
    let t = Thresholds::with(&demo.shop.thresholds);
    let (mut turned, mut pairs) = (0, 0);
    for part in &demo.parts {
        let ranking = rank(part, &demo.machines, &demo.shop, None, By::Cost);
        let told = answer(part, &demo.machines, &demo.shop, &ranking, By::Cost);
        for i in 0..told.rows.len() {
            for j in i + 1..told.rows.len() {
                let (a, b) = (&told.rows[i], &told.rows[j]);
                let found = why::before(&told, a, b, false);
                let at = format!("{}: {} and {}", part.name, a.machine, b.machine);
                for terms in [&found.cost, &found.cycle] {
                    let (last, parts) = terms.split_last().unwrap();
                    near(parts.iter().map(|t| t.first).sum::<f64>(), last.first, 1e-6);
                    near(parts.iter().map(|t| t.second).sum::<f64>(), last.second, 1e-6);
                }
                let (last, lines) = found.setup.split_last().unwrap();
                // Lines that are alike to half a minute are left out.
                near(lines.iter().map(|l| l.2 - l.1).sum::<f64>(), last.2 - last.1, 0.5 * 24.0);
                pairs += 1;
                if a.standing != b.standing {
                    assert!(found.by_standing.is_some() && found.turns_above.is_none(), "{at}");
                    continue;
                }
                let cost = |row: usize, quantity: f64| {
                    let row = &ranking.rows[row];
                    let rates = costing::rate(&demo.shop, demo.shop.machines.get(&demo.machines[row.machine].name));
                    costing::piece(part, &row.judged.plan, &demo.shop, rates, &t, quantity as u64)
                };
                if let Some(n) = found.turns_above.filter(|n| *n < 1e9) {
                    assert!(cost(j, n).cost <= cost(i, n).cost * (1.0 + 1e-9), "{at}: at {n}");
                    assert!(cost(j, n * 4.0).cost < cost(i, n * 4.0).cost, "{at}: far above {n}");
                    turned += 1;
                }
                if let Some(n) = found.turns_below.filter(|n| *n >= 2.0) {
                    assert!(cost(j, n).cost <= cost(i, n).cost * (1.0 + 1e-9), "{at}: at {n}");
                    assert!(cost(j, 1.0).cost < cost(i, 1.0).cost, "{at}: far below {n}");
                    turned += 1;
                }
            }
        }
    }
    assert!(pairs > 500 && turned > 30, "{pairs} pairs, {turned} turn");
}

#[test]
fn no_nought_of_a_comparison_has_a_sign() {
    let demo = Demo::whole();
    for part in &demo.parts {
        let ranking = rank(part, &demo.machines, &demo.shop, None, By::Cost);
        let told = answer(part, &demo.machines, &demo.shop, &ranking, By::Cost);
        for pair in told.rows.windows(2) {
            let text =
                why::before_text(&why::before(&told, &pair[0], &pair[1], false), Style { color: false, width: 200 });
            let signed = |word: &&str| {
                word.strip_prefix(['-', '+']).is_some_and(|rest| rest.parse::<f64>().is_ok_and(|v| v == 0.0))
            };
            assert_eq!(text.split_whitespace().find(signed), None, "{text}");
        }
    }
}

#[test]
fn bands_enclose_the_estimate_and_come_from_the_tables() {
    let demo = Demo::whole();
    let mut alike = 0;
    for part in &demo.parts {
        let ranking = rank(part, &demo.machines, &demo.shop, None, By::Cost);
        let told = answer(part, &demo.machines, &demo.shop, &ranking, By::Cost);
        for (row, said) in ranking.rows.iter().zip(&told.rows) {
            let at = format!("{} on {}", part.name, said.machine);
            assert!(
                0.0 < said.cycle.low_s
                    && said.cycle.low_s < said.cycle.total_s
                    && said.cycle.total_s < said.cycle.high_s,
                "{at}"
            );
            assert!(said.setup_low_min <= said.setup_min && said.setup_min <= said.setup_high_min, "{at}");
            assert!(0.0 < said.cost_low && said.cost_low < said.cost.cost && said.cost.cost < said.cost_high, "{at}");
            // No cause is larger than the whole, and one machine against itself is known exactly.
            let (_, longer) = row.band.cycle.together();
            assert!(row.band.cycle.0.iter().all(|c| c.longer <= longer && c.shorter.to_s() >= 0.0), "{at}");
            near(row.band.cost.of_difference(&row.band.cost).to_units(), 0.0, 1e-12);
            alike += u32::from(said.like_the_row_above);
        }
        for pair in told.rows.windows(2) {
            let apart = pair[0].standing != pair[1].standing || pair[0].standing == Standing::Refused;
            assert!(!(apart && pair[1].like_the_row_above));
        }
    }
    assert!(alike > 3, "{alike}");
}

/// A shop that states its own times knows its setups exactly, but for what it leaves to the table.
#[test]
fn what_the_shop_states_has_no_range() {
    let demo = Demo::whole();
    let mut shop = demo.shop.clone();
    for key in turnwright::tables::shop_times::keys() {
        let typical = turnwright::tables::shop_times::band(key).unwrap().typical;
        shop.setup_times.entry(key.to_owned()).or_insert(typical);
    }
    let ranking = rank(demo.part("valve-spool"), &demo.machines, &shop, None, By::Cost);
    for row in &ranking.rows {
        let left: Vec<_> = row.band.setup.0.iter().map(|c| c.name).collect();
        assert!(left.iter().all(|name| *name == "setup-pieces" || *name == "mode-change"), "{left:?}");
    }
}
