//! Setting up: from a state to itself is nothing, what stands is not mounted again, and each element comes when it should.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod common;

use common::{Demo, near};
use proptest::prelude::*;
use turnwright::matching::setups::{Change, matrix, to_job};
use turnwright::matching::{Standing, worth::with_owned};
use turnwright::model::Machine;
use turnwright::model::machine::ModeKind;
use turnwright::model::shop::{Mounted, Shop, State};
use turnwright::planning::operation::WorkList;
use turnwright::planning::places;
use turnwright::planning::{PartView, Reach, Task};
use turnwright::quantity::{Angle, Length, Time};
use turnwright::tables::thresholds::Thresholds;

/// Plenty of every head, so that every job that can find places does.
fn rich(shop: &Shop, machines: &[Machine]) -> Shop {
    let mut shop = shop.clone();
    for machine in machines {
        for option in &machine.options {
            shop = with_owned(&shop, machine, &option.name, 8);
        }
    }
    shop
}

fn kinds(change: &Change) -> Vec<&'static str> {
    change.setup.lines.iter().map(|l| l.kind).collect()
}

#[test]
fn from_a_state_to_itself_is_nothing() {
    let demo = Demo::whole();
    let shop = rich(&demo.shop, &demo.machines);
    let mut seen = 0;
    for part in &demo.parts {
        for machine in &demo.machines {
            for mode in &machine.modes {
                let Some(once) = to_job(part, machine, Some(mode.kind), &shop, &State::default()) else { continue };
                if !once.row.judged.plan.assignment.is_complete() {
                    continue;
                }
                let again = to_job(part, machine, Some(mode.kind), &shop, &once.after).unwrap();
                let at = format!("{} on {}, {}", part.name, machine.name, mode.kind.word());
                assert_eq!(again.setup.lines, Vec::new(), "{at}");
                assert_eq!(again.setup.total, Time::ZERO, "{at}");
                assert!(again.setup.off_machine.is_empty(), "{at}");
                assert!(once.setup.total > Time::minutes(30.0), "{at}");
                assert_eq!(again.after, once.after, "{at}");
                seen += 1;
            }
        }
    }
    assert!(seen > 100, "{seen}");
}

/// What the spool on the gang machine takes from its present state, added up by hand from the shop's standard times:
/// bushing 15, main collet 8, channel 15, sub collet 10, alignment 10 (table), four turning tools 5 each, a live tool 10,
/// three axial tools 7 each, a pressure line 5 (table), program 10, proving out again 20, ten dimensions 3 each, four setup
/// pieces of its cycle, tear-down 10 (table).
#[test]
fn a_setup_added_up_by_hand() {
    let demo = Demo::whole();
    let machine = demo.machine("gang-20");
    let state = State { mode: Some(ModeKind::Guided), bar: Some(Length::mm(12.0)), ..State::default() };
    let found = to_job(demo.part("valve-spool"), machine, None, &demo.shop, &state).unwrap();
    let pieces = found.row.judged.plan.cycle.total.to_minutes() * 4.0;
    let by_hand =
        15.0 + 8.0 + 15.0 + 10.0 + 10.0 + 4.0 * 5.0 + 10.0 + 3.0 * 7.0 + 5.0 + 10.0 + 20.0 + 10.0 * 3.0 + pieces + 10.0;
    near(found.setup.total.to_minutes(), by_hand, 1e-9);
    near((found.setup.own() + found.setup.change()).to_minutes(), by_hand, 1e-9);
}

#[test]
fn each_element_comes_when_it_should() {
    let demo = Demo::whole();
    let shop = rich(&demo.shop, &demo.machines);
    let go = |part: &str, machine: &str, mode: ModeKind, state: &State| {
        to_job(demo.part(part), demo.machine(machine), Some(mode), &shop, state).unwrap()
    };
    let guided = State { mode: Some(ModeKind::Guided), ..State::default() };
    let collet = State { mode: Some(ModeKind::Collet), ..State::default() };
    let cold = State { cold: true, ..State::default() };
    let has = |change: &Change, kind: &str| kinds(change).contains(&kind);
    for (part, machine, mode, state, kind, wanted) in [
        ("valve-spool", "gang-20", ModeKind::Guided, &guided, "guide-bushing", true),
        ("valve-spool", "gang-20", ModeKind::Guided, &guided, "mode-change", false),
        ("valve-spool", "switch-36", ModeKind::Guided, &collet, "mode-change", true),
        ("port-collar", "switch-36", ModeKind::Collet, &guided, "guide-bushing", false),
        ("port-collar", "switch-36", ModeKind::Collet, &guided, "mode-change", true),
        ("valve-spool", "gang-20", ModeKind::Guided, &guided, "high-pressure-line", true),
        ("drive-shaft", "turret-32", ModeKind::Guided, &guided, "high-pressure-line", false),
        ("anchor-screw", "tilt-32", ModeKind::Guided, &guided, "whirling-head", true),
        ("anchor-screw", "tilt-32", ModeKind::Guided, &guided, "clean-out", true),
        ("anchor-screw", "tilt-32", ModeKind::Guided, &guided, "first-article-report", true),
        ("anchor-screw", "tilt-32", ModeKind::Guided, &guided, "prove-out-new", true),
        ("valve-spool", "gang-20", ModeKind::Guided, &guided, "prove-out-repeat", true),
        ("valve-spool", "gang-20", ModeKind::Guided, &guided, "clean-out", false),
        ("valve-spool", "gang-20", ModeKind::Guided, &guided, "warm-up", false),
        ("valve-spool", "gang-20", ModeKind::Guided, &cold, "warm-up", true),
        ("valve-spool", "gang-20", ModeKind::Guided, &guided, "sub-align", true),
        ("flange-45", "fixed-65", ModeKind::Collet, &collet, "bar-liner", true),
        ("nozzle-3", "gang-20", ModeKind::Guided, &guided, "angle-head-align", true),
    ] {
        let found = go(part, machine, mode, state);
        assert_eq!(has(&found, kind), wanted, "{part} on {machine}: {kind} in {:?}", kinds(&found));
    }
    let beside = |part: &str, machine: &str, mode: ModeKind, kind: &str| {
        go(part, machine, mode, &guided).setup.off_machine.iter().any(|l| l.kind == kind)
    };
    assert!(beside("anchor-screw", "tilt-32", ModeKind::Guided, "program-new"));
    assert!(beside("anchor-screw", "tilt-32", ModeKind::Guided, "preset-tool"));
    assert!(beside("anchor-screw", "tilt-32", ModeKind::Guided, "special-collet"));
    assert!(!beside("valve-spool", "gang-20", ModeKind::Guided, "program-new"));
}

/// The same material leaves no chips to be cleaned out; a head set by hand serves at its own angle only.
#[test]
fn what_is_there_already_is_not_done_again() {
    let demo = Demo::whole();
    let machine = demo.machine("tilt-32");
    let known = |material: &str| State {
        mode: Some(ModeKind::Guided),
        material: Some(material.to_owned()),
        ..State::default()
    };
    let go =
        |state: &State| to_job(demo.part("anchor-screw"), machine, Some(ModeKind::Guided), &demo.shop, state).unwrap();
    assert!(!kinds(&go(&known("ti-6al-4v-eli"))).contains(&"clean-out"));
    assert!(kinds(&go(&known("42crmo4"))).contains(&"clean-out"));

    let switch = demo.machine("switch-36");
    let at = |deg: f64| State {
        mode: Some(ModeKind::Collet),
        mounted: vec![Mounted { name: "angle-head".to_owned(), angle: Some(Angle::deg(deg)) }],
        ..State::default()
    };
    let heads = |state: &State| {
        let found = to_job(demo.part("port-collar"), switch, Some(ModeKind::Collet), &demo.shop, state).unwrap();
        kinds(&found).iter().filter(|k| **k == "angle-head-align").count()
    };
    assert_eq!((heads(&at(47.0)), heads(&at(62.0)), heads(&at(50.0))), (1, 1, 2));
}

#[test]
fn the_shops_own_times_replace_the_tables() {
    let demo = Demo::whole();
    let machine = demo.machine("gang-20");
    let state = State { mode: Some(ModeKind::Guided), ..State::default() };
    let total = |shop: &Shop| to_job(demo.part("valve-spool"), machine, None, shop, &state).unwrap().setup.total;
    let before = total(&demo.shop);
    for (kind, count) in [("turning-tool", 4.0), ("collet-main", 1.0), ("sub-align", 1.0), ("program-load", 1.0)] {
        let mut shop = demo.shop.clone();
        let own = shop.setup_times.get(kind).copied();
        let table = turnwright::tables::shop_times::band(kind).map(|b| b.typical);
        let was = own.or(table).unwrap();
        shop.setup_times.insert(kind.to_owned(), was + Time::minutes(7.0));
        near((total(&shop) - before).to_minutes(), 7.0 * count, 1e-9);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// Every tool and head more that stands already shortens the setup or changes nothing.
    #[test]
    fn more_that_stands_never_lengthens_a_setup(which in 0usize..14, machine in 0usize..7, kept in any::<u32>(), more in 0usize..12) {
        let demo = Demo::whole();
        let machine = &demo.machines[machine];
        let part = &demo.parts[which % demo.parts.len()];
        let shop = rich(&demo.shop, &demo.machines);
        let mode = machine.modes[0].kind;
        let Some(whole) = to_job(part, machine, Some(mode), &shop, &State::default()) else { return Ok(()) };
        if !whole.row.judged.plan.assignment.is_complete() || whole.after.tools.is_empty() {
            return Ok(());
        }
        let some = |mask: u32| State {
            tools: whole.after.tools.iter().enumerate().filter(|(i, _)| mask & (1 << (i % 32)) != 0).map(|(_, t)| t.clone()).collect(),
            job: Some("another job".to_owned()),
            ..whole.after.clone()
        };
        let total = |state: &State| to_job(part, machine, Some(mode), &shop, state).unwrap().setup.total;
        let richer = kept | 1 << (more % whole.after.tools.len());
        prop_assert!(total(&some(richer)) <= total(&some(kept)) + Time::s(1e-6));
    }
}

/// The matrix over demo jobs of each machine: the diagonal is nought, a detour is either no shorter or explained, and what is
/// said to fit together does, while nothing could be added to it.
#[test]
fn a_matrix_explains_itself() {
    let demo = Demo::whole();
    let shop = rich(&demo.shop, &demo.machines);
    let mut groups = 0;
    for machine in &demo.machines {
        let names =
            ["cortex-screw-20", "cortex-screw-32", "valve-spool", "drive-shaft", "sensor-body", "eccentric-shaft"];
        let parts: Vec<_> = names.iter().map(|n| demo.part(n).clone()).collect();
        let found = matrix(&parts, machine, None, &shop).unwrap();
        let n = parts.len();
        for i in 0..n {
            assert_eq!(found.change[i][i], Time::ZERO);
            for j in (0..n).filter(|j| *j != i) {
                assert!(found.change[i][j] >= Time::minutes(5.0), "{}: {i} to {j}", machine.name);
                for via in (0..n).filter(|v| *v != i && *v != j) {
                    let by_way = found.change[i][via] + found.change[via][j];
                    let told = found.detours.iter().any(|d| (d.from, d.by_way_of, d.to) == (i, via, j));
                    let shorter = by_way < found.change[i][j] - Time::s(1.0);
                    assert!(!shorter || told, "{}: {i} to {j} by way of {via}", machine.name);
                }
            }
        }
        assert!(found.detours.iter().all(|d| !d.reason.is_empty() && d.detour < d.direct));
        for together in &found.together {
            groups += 1;
            assert!(finds_places(&parts, machine, &shop, &found.rows, &together.jobs), "{}", machine.name);
            for more in (0..n).filter(|i| found.together.iter().all(|t| !t.jobs.contains(i))) {
                let mut set = together.jobs.clone();
                set.push(more);
                let refused = found.rows[more].standing == Standing::Refused;
                assert!(
                    refused || !finds_places(&parts, machine, &shop, &found.rows, &set),
                    "{}: {set:?}",
                    machine.name
                );
            }
        }
    }
    assert!(groups > 3, "{groups}");
}

/// Whether the tools of some jobs find their places at once.
fn finds_places(
    parts: &[turnwright::model::Part],
    machine: &Machine,
    shop: &Shop,
    rows: &[turnwright::matching::Row],
    set: &[usize],
) -> bool {
    let mut work = WorkList::default();
    for i in set {
        let plan = &rows[*i].judged.plan;
        if !plan.assignment.is_complete() {
            return false;
        }
        for tool in &plan.tools {
            work.tool(tool.clone());
        }
    }
    let (view, thresholds) = (PartView::new(&parts[set[0]]), Thresholds::with(&shop.thresholds));
    let (mode, first) = (machine.mode(rows[set[0]].mode).unwrap(), rows[set[0]].judged.plan.first);
    let task = Task {
        view: &view,
        machine,
        mode,
        shop,
        thresholds: &thresholds,
        first,
        reach: Reach::Owned,
        lot: 1,
        speed_share: 1.0,
    };
    places::assign(&task, &work).is_complete()
}
