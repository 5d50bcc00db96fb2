//! The matrix of changes: nought on the diagonal, ways round told, and jobs whose tools find places together held against
//! trying all sets.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod common;

use common::{Demo, near, on_task, rich};
use std::borrow::Cow;
use turnwright::matching::Row;
use turnwright::matching::setups::{Change, explain, matrix, to_job};
use turnwright::model::Machine;
use turnwright::model::part::{Kind, Part, Use};
use turnwright::model::shop::{Shop, StandingTool, State};
use turnwright::model::tooling::ToolKind;
use turnwright::planning::operation::{Tool, WorkList};
use turnwright::planning::places;
use turnwright::planning::setup::{self, Job};
use turnwright::quantity::{Length, Time};

fn kinds(change: &Change) -> Vec<&'static str> {
    change.setup.lines.iter().map(|l| l.kind).collect()
}

/// The matrix over demo jobs of each machine: the diagonal is nought, and a detour is either no shorter or explained. What is
/// said to fit together does; it is the largest set that does, against trying all; and no tool is changed among its jobs.
#[test]
fn a_matrix_explains_itself() {
    let demo = Demo::whole();
    let shop = rich(&demo.shop, &demo.machines);
    let mut groups = 0;
    for machine in &demo.machines {
        let names =
            ["cortex-screw-20", "cortex-screw-32", "valve-spool", "drive-shaft", "sensor-body", "eccentric-shaft"];
        let parts: Vec<_> = names.iter().map(|n| demo.part(n).clone()).collect();
        let found = matrix(&parts, machine, None, &shop);
        let n = found.parts.len();
        assert_eq!(n + found.refused.len(), parts.len());
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
        let jobs: Vec<&Part> = found.parts.iter().map(|i| &parts[*i]).collect();
        let mut left: Vec<usize> = (0..n).collect();
        for together in &found.together {
            groups += 1;
            assert_eq!(largest(&jobs, machine, &shop, &found.rows, &left), together.jobs.len(), "{}", machine.name);
            let state = all_standing(&jobs, machine, &shop, &found.rows, &together.jobs);
            let state = state.unwrap_or_else(|| panic!("{}: {:?} do not fit", machine.name, together.jobs));
            assert_eq!(state.tools.len(), together.tools);
            for (from, to) in together.jobs.iter().flat_map(|i| together.jobs.iter().map(move |j| (*i, *j))) {
                let alone = to_job(jobs[from], machine, None, &shop, &State::default()).unwrap().left.state;
                let held = State { tools: state.tools.clone(), mounted: state.mounted.clone(), ..alone };
                let change = to_job(jobs[to], machine, None, &shop, &held).unwrap();
                let mounted = change.setup.lines.iter().any(|l| l.kind == "offset-tuning" || l.kind.ends_with("-tool"));
                assert!(!mounted, "{}: {from} to {to}: {:?}", machine.name, kinds(&change));
                assert!(change.setup.change() <= together.longest_change + Time::s(1e-6));
            }
            left.retain(|i| !together.jobs.contains(i));
        }
        assert!(largest(&jobs, machine, &shop, &found.rows, &left) < 2, "{}: {left:?} fit too", machine.name);
    }
    assert!(groups > 3, "{groups}");
}

/// The size of the largest set of some jobs whose tools find their places at once, all sets tried.
fn largest(jobs: &[&Part], machine: &Machine, shop: &Shop, rows: &[Row], of: &[usize]) -> usize {
    let sets = (0u32..1 << of.len())
        .map(|mask| of.iter().enumerate().filter(|(at, _)| mask & (1 << at) != 0).map(|(_, i)| *i).collect::<Vec<_>>());
    sets.filter(|s| s.len() > 1 && all_standing(jobs, machine, shop, rows, s).is_some())
        .map(|s| s.len())
        .max()
        .unwrap_or(0)
}

/// The state with the tools of some jobs in their places at once; nothing where they do not find them.
fn all_standing(jobs: &[&Part], machine: &Machine, shop: &Shop, rows: &[Row], set: &[usize]) -> Option<State> {
    let mut work = WorkList::default();
    let mut forms: Vec<(Tool, Option<String>)> = Vec::new();
    for i in set {
        let plan = &rows[*i].judged.plan;
        if !plan.assignment.is_complete() {
            return None;
        }
        let mut own = Vec::new();
        for tool in &plan.tools {
            let form = on_task(jobs[*i], machine, &rows[*i], shop, |t| tool.form(t.view.part).map(Cow::into_owned));
            let alike = |(t, f): &(Tool, Option<String>)| {
                let bare = |t: &Tool| Tool { kind: ToolKind::TurningTool, ..t.clone() };
                *f == form && t.kind == tool.kind && bare(t).same_as(&bare(tool))
            };
            // Equal tools of one job are several; one of them serves one of another job.
            let known = (0..forms.len()).find(|at| !own.contains(at) && alike(&forms[*at]));
            let at = known.unwrap_or_else(|| {
                forms.push((tool.clone(), form.clone()));
                work.tools.push(tool.clone());
                forms.len() - 1
            });
            own.push(at);
            let there = &mut work.tools[at];
            there.off_axis = if there.off_axis > tool.off_axis { there.off_axis } else { tool.off_axis };
        }
    }
    let fits = |i: usize| {
        on_task(jobs[i], machine, &rows[i], shop, |task| {
            let assignment = places::assign(task, &work);
            let job = Job { tools: &work.tools, assignment: &assignment, ..Job::of(&rows[i].judged.plan) };
            assignment.is_complete().then(|| setup::left_behind(task, &job, &State::default()).state)
        })
    };
    let mut state = set.iter().map(|i| fits(*i)).reduce(|a, b| a.and_then(|a| b.map(|_| a)))??;
    for (tool, (_, form)) in state.tools.iter_mut().zip(forms) {
        tool.form = form;
    }
    Some(state)
}

/// A way round is explained by what stands after it.
#[test]
fn a_way_round_is_explained_by_what_it_leaves() {
    let demo = Demo::whole();
    let machine = demo.machine("gang-20");
    let go = |state: &State| to_job(demo.part("valve-spool"), machine, None, &demo.shop, state).unwrap();
    let direct = go(&State::default());
    let tools = vec![StandingTool {
        kind: ToolKind::DeepHoleDrill,
        dia: Some(Length::mm(3.3)),
        angle: None,
        carrier: None,
        side: None,
        form: None,
    }];
    assert_eq!(
        explain(&direct, &go(&State { tools, ..State::default() })),
        "deep-hole drill 3.3 mm (sub) then stands already"
    );
    let bar = State { bar: Some(Length::mm(9.0)), ..State::default() };
    assert_eq!(explain(&direct, &go(&bar)), "the way spares: main collet, bar channel and pusher collet");
}

/// Taps of one diameter and two pitches are two tools, beside the two drills of their hole.
#[test]
fn a_tap_cuts_one_thread() {
    let demo = Demo::whole();
    let machine = demo.machine("tilt-32");
    let coarse = demo.part("valve-spool").clone();
    let mut fine = Part { name: "fine-spool".to_owned(), ..coarse.clone() };
    for feature in &mut fine.features {
        match &mut feature.kind {
            Kind::Thread(t) => {
                t.designation = "M4 x 0.5".to_owned();
                (t.pitch, t.minor) = (Length::mm(0.5), Length::mm(3.459));
            }
            Kind::Bore(b) => b.dia.nominal = Length::mm(3.5),
            _ => {}
        }
    }
    let once = to_job(&coarse, machine, None, &demo.shop, &State::default()).unwrap();
    let next = to_job(&fine, machine, None, &demo.shop, &once.left.state).unwrap();
    let drills = next.setup.lines.iter().find(|l| l.kind == "drill-or-boring-tool").unwrap();
    assert!(drills.reason.ends_with("tap M4 x 0.5 (sub)"), "{}", drills.reason);
    let own = once.left.state.tools.len();
    assert_eq!(next.setup.staying.len(), own - 3);
    let found = matrix(&[coarse, fine], machine, None, &demo.shop);
    let together: Vec<_> = found.together.iter().map(|t| (t.jobs.len(), t.tools)).collect();
    assert_eq!(together, [(2, own + 3)]);
}

/// A matrix counts every job as a repeat order. Where a way round is shorter, it is told: here the job between is of the
/// material that the last one wants a clean machine for.
#[test]
fn a_matrix_counts_repeat_orders_and_tells_of_ways_round() {
    let demo = Demo::whole();
    let machine = demo.machine("gang-20");
    let spool = demo.part("valve-spool");
    let material = demo.part("sensor-body").material.clone();
    let like = |name: &str| Part { name: name.to_owned(), repeat: false, ..spool.clone() };
    let jobs = [
        like("steel"),
        Part { material: material.clone(), ..like("stainless") },
        Part { material, purpose: Use::Food, ..like("food") },
    ];
    let found = matrix(&jobs, machine, None, &demo.shop);
    let repeat = jobs.clone().map(|job| Part { repeat: true, ..job });
    assert_eq!(found.own, matrix(&repeat, machine, None, &demo.shop).own);
    let minutes = |from: usize, to: usize| found.change[from][to].to_minutes();
    near(minutes(0, 1), 15.0, 1e-9);
    near(minutes(1, 2), 10.0, 1e-9);
    near(minutes(0, 2), 35.0, 1e-9);
    let told: Vec<_> = found.detours.iter().map(|d| (d.from, d.by_way_of, d.to, d.reason.as_str())).collect();
    assert_eq!(told, [(0, 1, 2, "the way spares: clean out for the work, first bar")]);
}
