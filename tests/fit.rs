//! What would make a refused row fit: each answer, planned again from what it says, is refused no more.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod common;

use common::{Demo, Variation, random_parts};
use proptest::prelude::*;
use turnwright::matching::fit::{Where, fits};
use turnwright::matching::{By, Standing, rank};
use turnwright::model::Part;

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
                let again = again.rows.iter().find(|r| r.mode == fit.row.mode).unwrap();
                prop_assert!(again.standing != Standing::Refused, "{:?}", fit.changes);
                prop_assert!((1..=3).contains(&fit.changes.len()));
                prop_assert!(fit.changes.iter().all(|c| !c.words.is_empty()));
            }
            // Cheap ones first: the plan or the bar, a purchase, the drawing, another machine.
            let at: Vec<Where> = found.iter().map(|f| f.changes.iter().map(|c| c.at).max().unwrap()).collect();
            prop_assert!(at.is_sorted(), "{at:?}");
        }
    }
}

/// How many refused rows of a ranking there are, and how many are told what would make them fit.
fn told(part: &Part, demo: &Demo) -> (usize, usize) {
    let ranking = rank(part, &demo.machines, &demo.shop, None, By::Cost);
    let refused: Vec<_> = ranking.rows.iter().filter(|r| r.standing == Standing::Refused).collect();
    let told = refused
        .iter()
        .filter(|row| !fits(part, &demo.machines[row.machine], &demo.shop, row, ranking.quantity).is_empty());
    (refused.len(), told.count())
}

/// Nine of ten refused rows need no more than three changes; a share that shrinks is a lever that is lost.
#[test]
fn few_refusals_are_left_without_a_remedy() {
    let demo = Demo::whole();
    for (parts, least) in [(demo.parts.clone(), 0.9), (random_parts(&demo, 20, 11), 0.8)] {
        let counts = parts.iter().map(|part| told(part, &demo));
        let (refused, told) = counts.fold((0, 0), |sum, n| (sum.0 + n.0, sum.1 + n.1));
        println!("{told} of {refused} refused rows are told what would make them fit");
        assert!(refused > 50 && told as f64 >= refused as f64 * least, "{told} of {refused}");
    }
}

/// The first that is told is the one that a practitioner would name.
#[test]
fn the_demo_is_told_what_would_help() {
    let demo = Demo::whole();
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
    assert_eq!(first("contact-pin", "gang-20"), "bar from 0.8 mm, with its channel and sub-spindle collet");
    assert_eq!(first("anchor-screw", "turret-32"), "worked in the guide bushing that the machine has");
    // Hexagonal bar is drawn: no finer grade of it is sold, so none is told.
    assert_eq!(first("hex-fitting", "plain-32"), "");
}
