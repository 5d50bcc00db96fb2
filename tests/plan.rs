//! What holds of every plan: order, time, places, and that more capability never lengthens a cycle.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod common;

use common::{Demo, near, with_task};
use turnwright::matching::worth::{with_owned, worth};
use turnwright::matching::{By, rank};
use turnwright::model::machine::{Machine, ModeKind, Side};
use turnwright::model::part::{End, Kind, Part};
use turnwright::model::shop::Shop;
use turnwright::planning::choose::{self, ENDLESS};
use turnwright::planning::cycle::Doing;
use turnwright::planning::operation::Work;
use turnwright::planning::{Plan, Task, bar_speed, plan, sequence, slender, support};
use turnwright::quantity::{Length, RotationalSpeed, Time};
use turnwright::report::answer::answer;
use turnwright::report::sheet::{self, text};
use turnwright::report::text::{Style, seconds};

/// Calls a closure with the task and the plan of every demo part on every machine in every mode, either end first.
fn every_plan(demo: &Demo, lot: u64, mut told: impl FnMut(&Task, &Plan, &str)) {
    for part in &demo.parts {
        for machine in &demo.machines {
            for (kind, first) in ways_to_hold(machine) {
                with_task(part, machine, kind, &demo.shop, first, lot, |task| {
                    let planned = plan(task).unwrap();
                    let at = format!("{} on {}, {}, {} first", part.name, machine.name, kind.word(), first.word());
                    told(task, &planned, &at);
                });
            }
        }
    }
}

fn ways_to_hold(machine: &Machine) -> Vec<(ModeKind, End)> {
    machine.modes.iter().flat_map(|m| [(m.kind, End::Front), (m.kind, End::Back)]).collect()
}

#[test]
fn every_order_keeps_what_a_setter_keeps() {
    let demo = Demo::whole();
    let mut pairs = 0;
    every_plan(&demo, 500, |task, planned, at| {
        for (before, after) in sequence::precedence(task, &planned.blank, &planned.operations) {
            assert!(before < after, "{at}: {:?} after {:?}", planned.operations[before], planned.operations[after]);
            pairs += 1;
        }
        let main: Vec<Work> = planned.operations.iter().filter(|o| o.side == Side::Main).map(|o| o.work).collect();
        assert_eq!(main.first(), Some(&Work::Face), "{at}");
        assert_eq!(main.last(), Some(&Work::CutOff), "{at}");
        let place = |work: Work| main.iter().position(|w| *w == work);
        if let (Some(centre), Some(drill)) = (place(Work::Centre), place(Work::Drill)) {
            assert!(centre < drill, "{at}");
        }
        let last_rough = main.iter().rposition(|w| *w == Work::RoughTurn);
        let first_finish = place(Work::FinishTurn);
        // Of a supported piece the end is finished before the rest is roughed.
        let in_two = support::of(task).is_some_and(|s| !s.is_worked_before(task.view.length));
        assert!(in_two || last_rough.zip(first_finish).is_none_or(|(r, f)| r < f), "{at}");
    });
    assert!(pairs > 10_000, "{pairs}");
}

#[test]
fn no_bar_and_no_free_end_turns_faster_than_it_stands() {
    let demo = Demo::whole();
    let (mut held, mut free) = (0, 0);
    every_plan(&demo, 500, |task, planned, at| {
        let bar = bar_speed::guidance(task, &planned.blank).map(|g| g.allowed);
        let whip = slender::free_end(task).map(|f| f.limit);
        for op in planned.operations.iter().filter(|o| o.side == Side::Main && !planned.tools[o.tool].live) {
            assert!(bar.is_none_or(|n| op.speed <= n * 1.000_001), "{at}: {op:?} on a bar good for {bar:?}");
            held += usize::from(bar.is_some_and(|n| op.speed >= n * 0.999));
            let turned = matches!(op.work, Work::Turn | Work::RoughTurn | Work::FinishTurn);
            let zone = op.zone.or(op.feature.map(|f| task.view.part.stretch(&task.view.feature(f).kind)));
            let last = turned && zone.is_some_and(|z| slender::is_turned_last(task, z));
            assert!(!last || whip.is_none_or(|n| op.speed <= n * 1.000_001), "{at}: {op:?}, free to {whip:?}");
            free += usize::from(last && whip.is_some());
        }
    });
    // How a free end slows the cut is in tests/practice/speed.rs: at the skin of its bar no part of the demo asks for as much.
    assert!(held > 100 && free > 0, "{held} held by the bar, {free} turned at a free end");
}

#[test]
fn a_spindle_does_one_thing_at_a_time_and_a_group_of_carriers_too() {
    let demo = Demo::whole();
    every_plan(&demo, 500, |task, planned, at| {
        let slots = &planned.cycle.slots;
        for (i, a) in slots.iter().enumerate() {
            for b in &slots[i + 1..] {
                let both = a.end().min(b.end()) - a.start.max(b.start);
                let group = |s: &turnwright::planning::cycle::Slot| s.carrier.map(|c| task.machine.carriers[c].group);
                let apart = a.side == b.side || (group(a).is_some() && group(a) == group(b));
                assert!(!apart || both < Time::s(1e-6), "{at}: {a:?} and {b:?}");
            }
        }
        // Every operation is laid out once, for as long as it takes.
        for (i, op) in planned.operations.iter().enumerate() {
            let mine: Vec<_> = slots.iter().filter(|s| s.doing == Doing::Operation(i)).collect();
            assert_eq!(mine.len(), 1, "{at}: {op:?}");
            assert_eq!((mine[0].cutting, mine[0].moving, mine[0].side), (op.cutting, op.moving, op.side), "{at}");
        }
        let last = slots.iter().map(|s| s.end()).fold(Time::ZERO, Time::max);
        near(last.to_s(), planned.cycle.programmed.to_s(), 1e-6);
    });
}

/// The lines of either spindle, with its waits, make the programmed cycle; with the shares they make the cycle that the
/// ranking prints, to the printed digit.
#[test]
fn the_sheet_adds_up_to_the_cycle_of_the_ranking() {
    let demo = Demo::whole();
    let style = Style { width: 120, color: false };
    for part in &demo.parts {
        let ranking = rank(part, &demo.machines, &demo.shop, None, By::Cost);
        let told = answer(part, &demo.machines, &demo.shop, &ranking, By::Cost);
        for (i, row) in ranking.rows.iter().enumerate() {
            let at = format!("{} on {}, {}", part.name, demo.machines[row.machine].name, row.mode.word());
            let sheet = sheet::sheet(part, &demo.machines[row.machine], row, &told, i);
            let re_grip = sheet.lines.iter().any(|l| l.detail.as_ref().is_some_and(|d| d.contains("re-grip")));
            assert_eq!(re_grip, !row.judged.plan.cycle.re_grips.is_empty(), "{at}");
            let tapers =
                part.features.iter().filter(|f| matches!(&f.kind, Kind::Thread(t) if t.taper.is_some())).count();
            let on_taper =
                sheet.lines.iter().filter(|l| l.detail.as_ref().is_some_and(|d| d.contains("taper of 1:16")));
            assert_eq!(on_taper.count(), tapers, "{at}");
            for spindle in ["main", "sub"] {
                let lines: Vec<_> = sheet.lines.iter().filter(|l| l.spindle == spindle).collect();
                if lines.is_empty() {
                    continue;
                }
                let sum: f64 = lines
                    .iter()
                    .map(|l| l.wait_s + l.change_s + l.spindle_s + l.approach_s + l.live_s + l.cutting_s + l.moving_s)
                    .sum();
                assert!((sum - sheet.programmed_s).abs() < 1e-6, "{at}: {sum} of {}", sheet.programmed_s);
            }
            let all = sheet.programmed_s + sheet.shares.iter().map(|s| s.seconds).sum::<f64>();
            assert!((all - told.rows[i].cycle.total_s).abs() < 1e-6, "{at}");
            printed_lines_add_up(&text::text(&sheet, style), told.rows[i].cycle.total_s, &at);
        }
    }
}

/// The printed tenths: `cut` and `else` of each line run up to `until`, the lines of the cycle to its total, and the total is
/// the ranking's.
fn printed_lines_add_up(text: &str, cycle: f64, at: &str) {
    let tenths = |word: &str| word.parse::<f64>().ok().map(|v| (v * 10.0).round() as i64);
    let mut clock = 0;
    let mut lines = 0;
    for line in text.lines().skip_while(|l| *l != "Main spindle").take_while(|l| *l != "The cycle of a piece") {
        if line.ends_with("spindle") || line.starts_with("Sub-spindle") {
            clock = 0;
            continue;
        }
        let words: Vec<&str> = line.split_whitespace().collect();
        let wait = line.trim_start().starts_with("wait");
        let numbered = words.first().is_some_and(|w| w.parse::<u32>().is_ok());
        if !(numbered || wait) {
            continue;
        }
        let figures: Vec<i64> = words.iter().rev().map_while(|w| tenths(w)).collect();
        // A name broken over two lines may go on with a number.
        if figures.len() < 2 + usize::from(!wait) {
            continue;
        }
        let spent = if wait { figures[1] } else { figures[1] + figures[2] };
        clock += spent;
        assert_eq!(figures[0], clock, "{at}: {line}");
        lines += 1;
    }
    assert!(lines >= 4, "{at}");
    let shares: Vec<i64> = text
        .lines()
        .skip_while(|l| *l != "The cycle of a piece")
        .skip(1)
        .map_while(|l| l.strip_suffix('s').and_then(|l| l.split_whitespace().last().and_then(tenths)))
        .collect();
    let (total, parts) = shares.split_last().unwrap();
    assert_eq!(parts.iter().sum::<i64>(), *total, "{at}");
    assert!(text.contains(&format!("\n = {} a piece\n", seconds(cycle))), "{at}: {cycle}");
    assert_eq!(*total, (cycle * 10.0).round() as i64, "{at}");
}

/// With one end first, in one mode, for an order without end.
fn best_cycle(part: &Part, machine: &Machine, shop: &Shop, kind: ModeKind, first: End) -> Option<Time> {
    with_task(part, machine, kind, shop, first, ENDLESS, |task| {
        let planned = plan(task).unwrap();
        let possible = planned.assignment.is_complete() && planned.gaps.is_empty();
        possible.then_some(planned.cycle.total)
    })
}

#[test]
fn an_attachment_never_lengthens_the_best_cycle() {
    let demo = Demo::whole();
    let (mut made_possible, mut shortened) = (0, 0);
    for part in &demo.parts {
        for machine in &demo.machines {
            for option in &machine.options {
                for (kind, first) in ways_to_hold(machine) {
                    let without = with_owned(&demo.shop, machine, &option.name, 0);
                    let with = with_owned(&demo.shop, machine, &option.name, 20);
                    let before = best_cycle(part, machine, &without, kind, first);
                    let after = best_cycle(part, machine, &with, kind, first);
                    let at = format!("{} on {} with {}, {}", part.name, machine.name, option.name, kind.word());
                    match (before, after) {
                        (Some(a), Some(b)) => {
                            assert!(b <= a + Time::s(1e-6), "{at}, {} first: {a} and {b}", first.word());
                            shortened += u32::from(b < a - Time::s(0.05));
                        }
                        (Some(_), None) => panic!("{at}: possible without it alone"),
                        (None, Some(_)) => made_possible += 1,
                        (None, None) => {}
                    }
                }
            }
        }
    }
    assert!(made_possible > 3 && shortened > 3, "{made_possible} made possible, {shortened} shortened");
}

#[test]
fn a_place_less_never_shortens_the_best_cycle() {
    let demo = Demo::whole();
    let mut lost = 0;
    for part in &demo.parts {
        for machine in &demo.machines {
            for carrier in 0..machine.carriers.len() {
                let mut poorer = machine.clone();
                let c = &mut poorer.carriers[carrier];
                if c.fixed_places > 0 {
                    c.fixed_places -= 1;
                } else {
                    c.live_places = c.live_places.saturating_sub(1);
                }
                for (kind, first) in ways_to_hold(machine) {
                    let before = best_cycle(part, machine, &demo.shop, kind, first);
                    let after = best_cycle(part, &poorer, &demo.shop, kind, first);
                    let at =
                        format!("{} on {} less one of {}", part.name, machine.name, machine.carriers[carrier].name);
                    match (before, after) {
                        // A finishing tool of its own is changed to twice where a piece is worked in two holdings.
                        (Some(a), Some(b)) => {
                            let least = if kind == ModeKind::Supported { a * 0.97 } else { a };
                            assert!(b >= least - Time::s(1e-6), "{at}: {a} and {b}");
                        }
                        (None, Some(_)) => panic!("{at}: possible with less"),
                        (Some(_), None) => lost += 1,
                        (None, None) => {}
                    }
                }
            }
        }
    }
    assert!(lost > 5, "{lost}");
}

/// Of all combinations of ways none that finds its places takes less than the one that is taken.
#[test]
fn no_other_combination_of_ways_is_better() {
    let demo = Demo::whole();
    let mut tried = 0;
    every_plan(&demo, 500, |task, planned, at| {
        for a in choose::alternatives(task, &planned.blank).unwrap().iter().filter(|a| !a.taken) {
            assert!(!a.reason.is_empty(), "{at}: {a:?}");
            let usual = ["longer", "shorter", "not ", "needs", "no better"];
            assert!(usual.iter().any(|w| a.reason.contains(w)) || a.reason.len() > 20, "{at}: {a:?}");
            // A usual way that is shorter and costs no setup would have been taken.
            let shorter = a.reason.starts_with("cycle") && a.reason.contains("shorter") && !a.reason.contains("setup");
            assert!(!shorter, "{at}: {a:?}");
            tried += 1;
        }
    });
    assert!(tried > 100, "{tried}");
}

/// Oscillating drilling spares the pecks: worth of an attachment, hand-reckoned from the plans themselves.
#[test]
fn the_worth_of_an_attachment_is_its_price_over_what_a_piece_saves() {
    let demo = Demo::whole();
    let mut paid = 0;
    for part in &demo.parts {
        for machine in &demo.machines {
            for option in 0..machine.options.len() {
                let found = worth(part, machine, None, &demo.shop, option, Some(1000));
                let (Some(without), Some(with)) = (&found.without, &found.with) else { continue };
                if let Some(after) = found.pays_back_after {
                    let saved = (without.cost.cost - with.cost.cost).to_units();
                    let price = machine.options[option].price.unwrap().value.to_units() * f64::from(found.used);
                    near(after, libm::ceil(price / saved), 1e-6);
                    assert!(saved > 0.0 && found.used > 0);
                    paid += 1;
                }
            }
        }
    }
    assert!(paid > 0);
}

/// A 5 mm bone screw of 1.75 mm lead, whirled end to end. By hand: the ring of 12 mm and six inserts turns
/// 113.1 m/min / (pi 12 mm) = 3,000 rpm; a chip of 0.03 mm an insert turns the work 0.03 * 6 * 3000 / (pi 5) = 34.4 rpm; 30 mm of
/// thread, a lead of run-in and half the insert of run-out, 1.75 / 2 mm for one start, make 32.6 mm of path. The ring is backed
/// off with its inserts and passes over the blank: its face asks for no path of its own. A lead a turn, 60.2 mm/min, is 32.5 s.
/// (Computed from the kinematics, not a published example.)
#[test]
fn a_bone_screw_of_5_mm_is_whirled_as_reckoned_by_hand() {
    let text = "units mm
material own-titanium \"own titanium\" {
  like     ti-6al-4v
  turning  113.1 m/min
}
part screw-5 \"bone screw 5\" {
  material  own-titanium
  length    44
  order     500
  turn      head  dia 8 h9  z 0 .. 5
  turn      neck  dia 3.6   z 5 .. 10
  thread    screw form HA major 5 core 3.5 pitch 1.75  z 10 .. 40
  taper     tip   dia 5 .. 2  z 40 .. 44
}
";
    let mut demo = Demo::whole();
    demo.parts.extend(common::parts([("screw.turn".to_owned(), text.to_owned())]));
    let mut machine = demo.machine("turret-32").clone();
    let head = machine.options.iter_mut().find(|o| o.name == "whirling").unwrap();
    head.cutters = Some(6);
    head.ring_bore.as_mut().unwrap().value = Length::mm(12.0);
    head.ring_speed.as_mut().unwrap().high = Some(RotationalSpeed::rpm(3000.0));
    let part = demo.part("screw-5");
    with_task(part, &machine, ModeKind::Guided, &demo.shop, End::Back, 500, |task| {
        let planned = plan(task).unwrap();
        let whirl = planned.operations.iter().find(|o| o.work == Work::Whirl).unwrap();
        let n = 0.03 * 6.0 * 3000.0 / (std::f64::consts::PI * 5.0);
        near(whirl.speed.to_rpm(), n, 0.02);
        near(whirl.cutting.to_s(), (30.0 + 1.75 + 1.75 / 2.0) / (1.75 * n) * 60.0, 0.05);
        assert_eq!((whirl.passes, whirl.count), (1, 1));
    });
}

#[test]
fn a_drill_into_an_end_face_is_as_long_as_what_it_goes_through() {
    let demo = Demo::whole();
    let longest = |f: &&turnwright::matching::Finding| f.rule == "tool-storage" && f.reason.contains(" long ");
    let mut judged = 0;
    for first in [End::Front, End::Back] {
        let part = Part { first_end: Some(first), ..demo.part("flange-45").clone() };
        // Its own holder of 45 mm, no more of the part than there is, and two diameters.
        let most = 45.0 + part.length.nominal.to_mm() + 2.0 * part.largest_dia().to_mm();
        for row in &rank(&part, &demo.machines, &demo.shop, None, By::Cost).rows {
            for f in row.judged.findings.iter().filter(longest) {
                assert!(f.asked.value().unwrap() < most, "{}", f.reason);
                judged += 1;
            }
        }
    }
    assert!(judged > 0);
}
