//! What would make a refused row fit: each answer, planned again from what it says, is refused no more.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod common;

use common::{Demo, Variation};
use proptest::prelude::*;
use turnwright::matching::fit::{Where, fits};
use turnwright::matching::{By, Standing, rank};

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_change_that_is_told_lifts_the_refusal(
        which in 0usize..64,
        machine in 0usize..7,
        tolerance in 0.2f64..3.0,
        demand in 0.3f64..3.0,
        finish in 0.3f64..3.0,
        material in 0usize..64,
    ) {
        let demo = Demo::whole();
        let material = &demo.parts[material % demo.parts.len()];
        let part = Variation { tolerance, demand, finish, material }.of(&demo.parts[which % demo.parts.len()]);
        let machine = &demo.machines[machine];
        let ranking = rank(&part, std::slice::from_ref(machine), &demo.shop, None, By::Cost);
        for row in &ranking.rows {
            let found = fits(&part, machine, &demo.shop, row, ranking.quantity);
            prop_assert!(row.standing == Standing::Refused || found.is_empty());
            for fit in &found {
                let (part, machine, shop) = &fit.with;
                let again = rank(part, std::slice::from_ref(machine), shop, Some(ranking.quantity), By::Cost);
                let again = again.rows.iter().find(|r| r.mode == row.mode).unwrap();
                prop_assert!(again.standing != Standing::Refused, "{:?}", fit.changes);
                prop_assert!((1..=2).contains(&fit.changes.len()));
                prop_assert!(fit.changes.iter().all(|c| !c.words.is_empty()));
            }
            // Cheap ones first: the plan or the bar, a purchase, the drawing, another machine.
            let at: Vec<Where> = found.iter().map(|f| f.changes.iter().map(|c| c.at).max().unwrap()).collect();
            prop_assert!(at.is_sorted(), "{at:?}");
        }
    }
}

/// Of the refused rows of the demo more than a third need no more than two changes, and the first of them is the one that an expert would name.
#[test]
fn the_demo_is_told_what_would_help() {
    let demo = Demo::whole();
    let (mut refused, mut helped) = (0, 0);
    for part in &demo.parts {
        let ranking = rank(part, &demo.machines, &demo.shop, None, By::Cost);
        for row in ranking.rows.iter().filter(|r| r.standing == Standing::Refused) {
            refused += 1;
            helped +=
                usize::from(!fits(part, &demo.machines[row.machine], &demo.shop, row, ranking.quantity).is_empty());
        }
    }
    assert!(refused > 50 && helped * 3 > refused, "{helped} of {refused}");

    let first = |part: &str, machine: &str| {
        let ranking = demo.rank(part, None);
        let row =
            ranking.rows.iter().find(|r| demo.machines[r.machine].name == machine && r.standing == Standing::Refused);
        let found = fits(demo.part(part), demo.machine(machine), &demo.shop, row.unwrap(), ranking.quantity);
        found
            .first()
            .map(|f| f.changes.iter().map(|c| c.words.clone()).collect::<Vec<_>>().join(" and "))
            .unwrap_or_default()
    };
    assert!(first("flange-45", "switch-36").starts_with("bar up to 5"), "{}", first("flange-45", "switch-36"));
    assert_eq!(first("hex-fitting", "plain-32"), "bar of the grade that the mode takes");
}
