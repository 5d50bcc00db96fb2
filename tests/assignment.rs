//! The assignment of tools to places, held against a slow twin that tries every way.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod common;

use common::Demo;
use proptest::prelude::*;
use turnwright::model::machine::Side;
use turnwright::model::part::End;
use turnwright::planning::operation::{Shank, Tool, ToolKind, WorkList};
use turnwright::planning::places::{self, Seat, assign, seats_for};
use turnwright::planning::{PartView, Task};
use turnwright::quantity::{Angle, Length, Torque};
use turnwright::tables::thresholds::Thresholds;

/// Every way to seat the tools, tried one after the other: the least cost, where there is one.
fn by_trying_all(rows: &[places::Row], seats: &[Vec<Seat>], heads: &[u32]) -> Option<f64> {
    let ways: u64 = seats.iter().map(|s| s.len() as u64).product();
    let mut best: Option<f64> = None;
    for way in 0..ways {
        let mut left: Vec<i64> = rows.iter().map(|r| i64::from(r.places)).collect();
        let mut heads: Vec<i64> = heads.iter().map(|h| i64::from(*h)).collect();
        let (mut rest, mut cost) = (way, 0.0);
        for tool in seats {
            let seat = &tool[(rest % tool.len() as u64) as usize];
            rest /= tool.len() as u64;
            left[seat.row] -= i64::from(seat.width);
            if let Some(a) = seat.attachment {
                heads[a] -= 1;
            }
            cost += seat.cost;
        }
        let fits = left.iter().chain(&heads).all(|n| *n >= 0);
        if fits && best.is_none_or(|b| cost < b) {
            best = Some(cost);
        }
    }
    best
}

/// One tool of a random job: turning, boring, a live tool at an angle, or a whirling head.
fn tool(kind: u8, side: bool, angle: f64, dia: f64, whirling: Option<usize>) -> Tool {
    let side = if side { Side::Main } else { Side::Sub };
    let along = Angle::deg(if side == Side::Main { 0.0 } else { 180.0 });
    let (kind, angle, live, shank, attachment) = match (kind % 5, whirling) {
        (0 | 1, _) => (ToolKind::TurningTool, Angle::deg(90.0), false, Shank::Square, None),
        (2, _) => (ToolKind::Drill, along, false, Shank::Round(Length::mm(dia)), None),
        (3, Some(head)) => (ToolKind::WhirlingHead, Angle::deg(90.0), true, Shank::Round(Length::mm(3.0)), Some(head)),
        _ => (ToolKind::LiveDrill, Angle::deg(angle), true, Shank::Round(Length::mm(dia)), None),
    };
    Tool {
        kind,
        side: if attachment.is_some() { Side::Main } else { side },
        angle,
        angle_tolerance: None,
        live,
        shank,
        dia: Length::mm(dia),
        off_axis: None,
        contouring: false,
        speed_wanted: None,
        torque: Torque::ZERO,
        attachment,
        either_side: false,
        features: Vec::new(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_assignment_is_as_good_as_trying_all(
        which in 0usize..7,
        places in proptest::collection::vec((0u32..4, 0u32..4), 4),
        owned in 0u32..3,
        drawn in proptest::collection::vec((any::<u8>(), any::<bool>(), prop_oneof![Just(90.0), Just(35.0), Just(180.0)], 1.0f64..8.0), 1..7),
    ) {
        let demo = Demo::whole();
        let mut machine = demo.machines[which].clone();
        machine.carriers.truncate(4);
        for (c, (fixed, live)) in machine.carriers.iter_mut().zip(&places) {
            (c.fixed_places, c.live_places) = (c.fixed_places.min(*fixed), c.live_places.min(*live));
        }
        machine.magazine.iter_mut().for_each(|m| m.pockets = places[0].0 + 1);
        let mut shop = demo.shop.clone();
        let there = shop.machines.get_mut(&machine.name).unwrap();
        there.owned = machine.options.iter().map(|o| (o.name.clone(), owned)).collect();
        let whirling = machine.options.iter().position(|o| o.name == "whirling");
        let tools: Vec<Tool> = drawn.iter().map(|(k, s, a, d)| tool(*k, *s, *a, *d, whirling)).collect();

        let thresholds = Thresholds::with(&shop.thresholds);
        let view = PartView::new(demo.part("anchor-screw"));
        let task = Task::new(&view, &machine, &machine.modes[0], &shop, &thresholds, End::Front);
        let task = Task { lot: 100, ..task };
        let work = WorkList { tools: tools.clone(), ..WorkList::default() };
        let found = assign(&task, &work);
        let rows = places::rows(&machine);
        let mut seats = Vec::new();
        let mut numbers = Vec::new();
        for (i, t) in tools.iter().enumerate() {
            if let Ok(s) = seats_for(&task, &rows, t) {
                seats.push(s);
                numbers.push(i);
            } else {
                prop_assert!(found.obstacles.iter().any(|(at, _)| *at == i));
            }
        }
        let heads: Vec<u32> = machine.options.iter().map(|o| task.available(o)).collect();
        let least = by_trying_all(&rows, &seats, &heads);
        let placed: Vec<_> = numbers.iter().filter_map(|i| found.placed[*i].as_ref()).collect();
        match least {
            Some(least) => {
                prop_assert_eq!(placed.len(), numbers.len(), "a way was missed");
                let mut cost = 0.0;
                for (p, s) in placed.iter().zip(&seats) {
                    let seat = s.iter().find(|s| s.row == p.row && s.attachment == p.attachment);
                    cost += seat.expect("a seat that the tool has").cost;
                }
                prop_assert!((cost - least).abs() < 1e-6, "{} instead of {}", cost, least);
                // No place is taken twice.
                for (i, a) in placed.iter().enumerate() {
                    prop_assert!(a.place + a.width - 1 <= rows[a.row].places);
                    for b in &placed[i + 1..] {
                        prop_assert!(a.row != b.row || a.place + a.width <= b.place || b.place + b.width <= a.place);
                    }
                }
                prop_assert!(found.competition.is_none());
            }
            None => {
                prop_assert!(placed.is_empty());
                prop_assert!(found.competition.is_some() || found.short_of.is_some(), "refused without a reason");
            }
        }
        if let Some(c) = &found.competition {
            let at = |i: usize| numbers.iter().position(|n| *n == i).unwrap();
            let theirs: Vec<Vec<Seat>> = c.tools.iter().map(|t| seats[at(*t)].clone()).collect();
            prop_assert!(theirs.iter().flatten().all(|s| c.rows.contains(&s.row)));
            prop_assert!(c.wanted > c.there);
            prop_assert_eq!(by_trying_all(&rows, &theirs, &heads), None, "they do not compete");
            let plenty = vec![u32::MAX; heads.len()];
            prop_assert_eq!(by_trying_all(&rows, &theirs, &plenty), None, "heads are what is short");
            // Where one place is short, any one of them leaves room for the others.
            let single = theirs.iter().flatten().all(|s| s.width == 1) && c.wanted == c.there + 1;
            for gone in 0..if single { theirs.len() } else { 0 } {
                let mut rest = theirs.clone();
                rest.remove(gone);
                prop_assert!(by_trying_all(&rows, &rest, &plenty).is_some(), "not the smallest set");
            }
        }
        if let Some((head, wanted, there)) = found.short_of {
            prop_assert!(wanted > there && there == heads[head]);
        }
    }
}
