//! Two chains that share carriers, and the work that either could do, held against slow twins that try everything.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

use proptest::prelude::*;
use turnwright::planning::chains::{Link, balance, interleave};

/// The earliest end over every order in which the links of both chains can start, each as soon as its chain and its group
/// are free.
fn by_trying_all(first: &[Link], second: &[Link]) -> f64 {
    fn go(first: &[Link], second: &[Link], at: (usize, usize), free: (f64, f64), groups: &mut Vec<(u32, f64)>) -> f64 {
        if at == (first.len(), second.len()) {
            return free.0.max(free.1);
        }
        let mut best = f64::INFINITY;
        for chain in [0, 1] {
            let (links, i, ready) = if chain == 0 { (first, at.0, free.0) } else { (second, at.1, free.1) };
            let Some(link) = links.get(i) else { continue };
            let taken = link.group.and_then(|g| groups.iter().find(|(h, _)| *h == g)).map_or(0.0, |(_, t)| *t);
            let end = ready.max(taken) + link.seconds;
            let kept = groups.clone();
            if let Some(g) = link.group {
                groups.retain(|(h, _)| *h != g);
                groups.push((g, end));
            }
            let (next, free) =
                if chain == 0 { ((at.0 + 1, at.1), (end, free.1)) } else { ((at.0, at.1 + 1), (free.0, end)) };
            best = best.min(go(first, second, next, free, groups));
            *groups = kept;
        }
        best
    }
    go(first, second, (0, 0), (0.0, 0.0), &mut Vec::new())
}

fn links(most: usize) -> impl Strategy<Value = Vec<Link>> {
    let link = (1u32..12, proptest::option::weighted(0.7, 1u32..4))
        .prop_map(|(t, group)| Link { seconds: f64::from(t) * 0.5, group });
    proptest::collection::vec(link, 0..=most)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_order_of_two_chains_ends_earlier(first in links(5), second in links(5)) {
        let found = interleave(&first, &second);
        prop_assert!((found.end - by_trying_all(&first, &second)).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn chains_keep_their_order_and_groups_their_peace(first in links(14), second in links(14)) {
        let found = interleave(&first, &second);
        for (links, starts) in [(&first, &found.first), (&second, &found.second)] {
            let mut at = 0.0;
            for (link, start) in links.iter().zip(starts) {
                prop_assert!(*start >= at - 1e-9, "{found:?}");
                at = start + link.seconds;
            }
            prop_assert!(found.end >= at - 1e-9);
        }
        for (a, from_a) in first.iter().zip(&found.first) {
            for (b, from_b) in second.iter().zip(&found.second) {
                let shared = a.group.is_some() && a.group == b.group;
                let both = (from_a + a.seconds).min(from_b + b.seconds) - from_a.max(*from_b);
                prop_assert!(!shared || both < 1e-9, "{a:?} at {from_a} and {b:?} at {from_b}");
            }
        }
        let sum = |links: &[Link]| links.iter().map(|l| l.seconds).sum::<f64>();
        prop_assert!(found.end >= sum(&first).max(sum(&second)) - 1e-9);
        prop_assert!(found.end <= sum(&first) + sum(&second) + 1e-9);
    }

    #[test]
    fn no_other_split_is_better(
        first in 0.0f64..40.0,
        second in 0.0f64..40.0,
        items in proptest::collection::vec((0.1f64..20.0, 0.1f64..20.0), 0..13),
    ) {
        let longer = |at_second: &dyn Fn(usize) -> bool| {
            let (mut a, mut b) = (first, second);
            for (i, item) in items.iter().enumerate() {
                if at_second(i) { b += item.1 } else { a += item.0 }
            }
            a.max(b)
        };
        let found = balance(first, second, &items);
        let best = (0u32..1 << items.len()).map(|m| longer(&|i| m & (1 << i) != 0)).fold(f64::INFINITY, f64::min);
        prop_assert!((longer(&|i| found[i]) - best).abs() < 1e-9, "{found:?}");
    }
}

/// Twenty-four pieces of work whose times are powers of two in hundredths of a second: only one split is even to the last,
/// and it is found.
#[test]
fn twenty_four_are_split_to_the_last() {
    let items: Vec<(f64, f64)> = (0..24).map(|i| f64::from(1u32 << i) * 0.01).map(|t| (t, t)).collect();
    let wanted: Vec<bool> = (0..24).map(|i| (0x5a_c3_96u32 >> i) & 1 == 1).collect();
    let sum = |side: bool| items.iter().zip(&wanted).filter(|(_, w)| **w == side).map(|(t, _)| t.0).sum::<f64>();
    // Fixed work makes exactly that split even.
    let (first, second) = (sum(true) + 1000.0, sum(false) + 1000.0);
    assert_eq!(balance(first, second, &items), wanted);
}
