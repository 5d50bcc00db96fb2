//! What must not change an answer, and what may change it in one direction only: units, order, the side from which a
//! drawing is seen, a stronger machine, a larger order.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(clippy::disallowed_methods, reason = "tests read files")]

mod common;

use common::{Demo, texts, turn_files};
use serde_json::Value;
use turnwright::matching::{By, Ranking, rank};
use turnwright::model::Place;
use turnwright::model::machine::{Headstock, Machine, ModeKind};
use turnwright::model::part::{End, GrooveSide, Kind, Part, Zone};
use turnwright::model::shop::{Mounted, Shop, State};
use turnwright::quantity::Time;
use turnwright::report::answer::answer;

/// The whole answer about a part as data.
fn told(part: &Part, machines: &[Machine], shop: &Shop) -> Value {
    let ranking = rank(part, machines, shop, None, By::Cost);
    serde_json::to_value(answer(part, machines, shop, &ranking, By::Cost)).unwrap()
}

/// Where two answers differ: numbers by more than a millionth of themselves, words and shape at all.
fn difference(a: &Value, b: &Value, path: &str) -> Option<String> {
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64().unwrap(), y.as_f64().unwrap());
            let near = (x - y).abs() <= 1e-6 * x.abs().max(y.abs()) + 1e-9;
            (!near).then(|| format!("{path}: {x} and {y}"))
        }
        (Value::Array(x), Value::Array(y)) if x.len() == y.len() => {
            x.iter().zip(y).enumerate().find_map(|(i, (a, b))| difference(a, b, &format!("{path}[{i}]")))
        }
        (Value::Object(x), Value::Object(y)) if x.keys().eq(y.keys()) => {
            x.iter().find_map(|(k, a)| difference(a, &y[k], &format!("{path}.{k}")))
        }
        _ => (a != b).then(|| format!("{path}: {a} and {b}")),
    }
}

// ---------------------------------------------------------------------------------------------------------------- units

/// Words after which a bare number is no length.
const COUNTS: &[&str] = &["count", "starts", "axes", "cpk", "hexalobe", "cross"];
/// Statements without a length.
const WITHOUT: &[&str] = &["part", "material", "order", "yearly", "use", "general", "after", "key", "units"];
const UNITS: &[&str] = &["mm", "um", "uin", "in", "deg", "mm2", "%"];

/// A part's text with every bare length told in another unit: `factor` of the new unit in one of the old.
fn in_other_units(text: &str, factor: f64) -> String {
    let mut out = String::new();
    for line in text.lines() {
        let code = line.split('#').next().unwrap();
        let first = code.split_whitespace().next().unwrap_or("");
        if first == "units" {
            out.push_str(if factor < 1.0 { "units in\n" } else { "units mm\n" });
            continue;
        }
        if WITHOUT.contains(&first) && !code.contains("leaving") {
            out.push_str(&format!("{code}\n"));
            continue;
        }
        let words: Vec<&str> = code.split_whitespace().collect();
        // The designation of a thread of a standard is kept as it is.
        let designation = first == "thread" && !words.contains(&"form");
        let mut zone_seen = false;
        for (i, word) in words.iter().enumerate() {
            zone_seen |= *word == "z" || *word == "depth";
            let unit = words.get(i + 1).is_some_and(|w| UNITS.contains(w));
            let counted = i > 0 && COUNTS.contains(&words[i - 1]);
            let kept = unit || counted || (designation && !zone_seen);
            out.push(' ');
            out.push_str(&if kept { (*word).to_owned() } else { length_in(word, factor) });
        }
        out.push('\n');
    }
    out
}

/// A word with its numbers converted, where it is made of numbers: `0.2`, `±0.1`, `+0.04/-0`, `1-1/4`.
fn length_in(word: &str, factor: f64) -> String {
    let told = |v: f64| format!("{:.14}", v * factor).trim_end_matches('0').trim_end_matches('.').to_owned();
    if let Some(v) = turnwright::lang::values::number(word) {
        return told(v);
    }
    if let Some(v) = word.strip_prefix('±').and_then(|w| w.parse::<f64>().ok()) {
        return format!("±{}", told(v));
    }
    if let Some((plus, minus)) = word.strip_prefix('+').and_then(|w| w.split_once("/-")) {
        return format!("+{}/-{}", told(plus.parse().unwrap()), told(minus.parse().unwrap()));
    }
    word.to_owned()
}

#[test]
fn millimetres_and_inches_give_one_answer() {
    let demo = Demo::whole();
    let mut compared = 0;
    for (name, text) in texts(turn_files("parts")) {
        // A family's parameter is no clause, and a general tolerance by decimals belongs to the way that a size is written.
        if text.contains("\nfamily ") {
            continue;
        }
        let general = |l: &str| if l.contains("two-place") { "  general iso-2768-m".to_owned() } else { l.to_owned() };
        let text: String = text.lines().map(|l| general(l) + "\n").collect();
        let inches = text.contains("units in");
        let other = in_other_units(&text, if inches { 25.4 } else { 1.0 / 25.4 });
        let one = common::parts([(name.clone(), text)]);
        let two = common::parts([(name.clone(), other)]);
        let (mut a, mut b) = (told(&one[0], &demo.machines, &demo.shop), told(&two[0], &demo.machines, &demo.shop));
        // Of bars that are seldom kept, a drawing in inches is told of those in inches too.
        [&mut a, &mut b].into_iter().for_each(forget_seldom_bars);
        assert_eq!(difference(&a, &b, ""), None, "{name}");
        compared += 1;
    }
    assert!(compared >= 15, "{compared} parts");
}

/// Leaves out the remedy that names a bar which is seldom kept.
fn forget_seldom_bars(answer: &mut serde_json::Value) {
    for row in answer["rows"].as_array_mut().into_iter().flatten() {
        for reason in row["reasons"].as_array_mut().into_iter().flatten() {
            if reason["remedy"].as_str().is_some_and(|r| r.ends_with("seldom stocked")) {
                reason["remedy"] = serde_json::Value::Null;
            }
        }
    }
}

// ---------------------------------------------------------------------------------------------------------------- order

/// Statements that may go without a name and are then numbered in order of the file; steps follow each other in time.
const NUMBERED: &[&str] = &["chamfer", "edges", "undercut", "radius", "thread", "after"];

/// A text with the statements of its part turned round in order, and rotated; those without names among themselves as
/// they were.
fn reordered(text: &str, by: usize) -> String {
    let lines: Vec<&str> = text.lines().collect();
    let open = lines.iter().position(|l| l.starts_with("part ") || l.starts_with("family ")).unwrap();
    let close = lines.iter().rposition(|l| *l == "}").unwrap();
    let mut body: Vec<&str> = lines[open + 1..close].iter().rev().copied().collect();
    let turn = by % body.len();
    body.rotate_left(turn);
    let numbered = |l: &&str| l.split_whitespace().next().is_some_and(|w| NUMBERED.contains(&w));
    let mut kept = lines[open + 1..close].iter().copied().filter(numbered);
    body.iter_mut().filter(|l| numbered(l)).for_each(|l| *l = kept.next().unwrap());
    let all: Vec<&str> = lines[..=open].iter().copied().chain(body).chain(lines[close..].iter().copied()).collect();
    all.join("\n") + "\n"
}

#[test]
fn the_order_of_lines_files_and_machines_changes_no_byte() {
    let demo = Demo::whole();
    let mut machines = demo.machines.clone();
    machines.reverse();
    for (name, text) in texts(turn_files("parts")) {
        let one = common::parts([(name.clone(), text.clone())]);
        let bytes = |parts: &[Part], machines: &[Machine]| -> String {
            parts.iter().map(|p| serde_json::to_string_pretty(&told(p, machines, &demo.shop)).unwrap()).collect()
        };
        let kept = bytes(&one, &demo.machines);
        for by in [0, 3, 7] {
            let other = common::parts([(name.clone(), reordered(&text, by))]);
            let found = bytes(&other, &machines);
            if found != kept {
                let line = kept.lines().zip(found.lines()).find(|(a, b)| a != b);
                panic!("{name}, turned by {by}: {line:?}");
            }
        }
    }
}

// --------------------------------------------------------------------------------------------------------------- mirror

/// The part seen from its other end: z runs the other way, front and back change their names.
fn mirrored(part: &Part) -> Part {
    let mut part = part.clone();
    let length = part.length.nominal;
    let turned = |z: &mut Zone| *z = Zone { start: length - z.end, end: length - z.start };
    part.first_end = part.first_end.map(End::other);
    for feature in &mut part.features {
        feature.made_from = feature.made_from.map(End::other);
        match &mut feature.kind {
            Kind::Face(f) => f.end = f.end.other(),
            Kind::Turn(t) => turned(&mut t.zone),
            Kind::Taper(t) => {
                turned(&mut t.zone);
                std::mem::swap(&mut t.start_dia, &mut t.end_dia);
            }
            Kind::Sphere(s) => turned(&mut s.zone),
            Kind::Radius(r) => r.at = length - r.at,
            Kind::Chamfer(c) => c.at = length - c.at,
            Kind::Groove(g) => {
                turned(&mut g.zone);
                if let GrooveSide::Face(end) = &mut g.side {
                    *end = end.other();
                }
            }
            Kind::Undercut(u) => turned(&mut u.zone),
            Kind::Knurl(k) => turned(&mut k.zone),
            Kind::Thread(t) => {
                turned(&mut t.zone);
                t.from = t.from.other();
            }
            Kind::Bore(b) => {
                turned(&mut b.zone);
                b.from = b.from.other();
            }
            Kind::Hole(h) => {
                h.at = length - h.at;
                h.opens = h.opens.other();
            }
            Kind::Slot(s) => {
                turned(&mut s.zone);
                s.end = s.end.map(End::other);
            }
            Kind::Keyway(k) => turned(&mut k.zone),
            Kind::Flat(f) => turned(&mut f.zone),
            Kind::Polygon(p) => turned(&mut p.zone),
            Kind::Socket(s) => s.from = s.from.other(),
            Kind::Contour(c) => turned(&mut c.zone),
            Kind::Engrave(e) => e.at = length - e.at,
            Kind::Edges(_) => {}
        }
    }
    part
}

/// What a row says, apart from the names of the ends and the order along z.
fn gist(ranking: &Ranking, machines: &[Machine], turned: bool) -> Vec<String> {
    let number = |v: f64| format!("{v:.5e}");
    let mut rows = Vec::new();
    for r in &ranking.rows {
        let plan = &r.judged.plan;
        let first = if turned { plan.first.other() } else { plan.first };
        let mut found: Vec<String> = r
            .judged
            .findings
            .iter()
            .map(|f| {
                let margin = f.margin.as_ref().and_then(|m| m.value()).map(|m| (m * 1e4).round() / 1e4 + 0.0);
                format!("{} {:?} {:?} {margin:?}", f.rule, f.verdict, f.feature)
            })
            .collect();
        found.sort();
        rows.push(format!(
            "{} {} {:?} {:?} {} setup {} cycle {} cost {} main {} sub {}\n  {}",
            machines[r.machine].name,
            r.mode.word(),
            r.standing,
            r.judged.verdict,
            first.word(),
            number(plan.setup.total.to_s()),
            number(plan.cycle.total.to_s()),
            number(r.cost.cost.to_units()),
            number(plan.cycle.main.to_s()),
            number(plan.cycle.sub.to_s()),
            found.join("\n  "),
        ));
    }
    rows
}

#[test]
fn a_part_seen_from_its_other_end_is_the_same_part() {
    let demo = Demo::whole();
    for part in &demo.parts {
        let other = mirrored(part);
        // The end made first is pinned: where both cost the same, the front is taken.
        for first in [End::Front, End::Back] {
            let (mut a, mut b) = (part.clone(), other.clone());
            (a.first_end, b.first_end) = (Some(first), Some(first.other()));
            let one = gist(&rank(&a, &demo.machines, &demo.shop, None, By::Cost), &demo.machines, false);
            let two = gist(&rank(&b, &demo.machines, &demo.shop, None, By::Cost), &demo.machines, true);
            for (x, y) in one.iter().zip(&two) {
                let line = x.lines().zip(y.lines()).find(|(p, q)| p != q);
                assert_eq!(x, y, "{}, {} first: {line:#?}", part.name, first.word());
            }
        }
        let best = |p: &Part| {
            let ranking = rank(p, &demo.machines, &demo.shop, None, By::Cost);
            let row = &ranking.rows[0];
            (row.machine, row.mode, row.standing, row.judged.verdict)
        };
        assert_eq!(best(part), best(&other), "{}", part.name);
    }
}

// ------------------------------------------------------------------------------------------------- setup, cycle and cost

#[test]
fn a_machine_that_stands_as_the_job_needs_it_changes_nothing_in_its_holding() {
    let demo = Demo::whole();
    for part in &demo.parts {
        let ranking = rank(part, &demo.machines, &demo.shop, None, By::Cost);
        for row in &ranking.rows {
            let machine = &demo.machines[row.machine];
            let plan = &row.judged.plan;
            let heads = plan.assignment.placed.iter().flatten().filter_map(|p| p.attachment);
            let head = |a: usize| Mounted { name: machine.options[a].name.clone(), angle: None };
            let mounted: Vec<Mounted> = heads.map(head).collect();
            let mut shop = demo.shop.clone();
            let there = shop.machines.get_mut(&machine.name).unwrap();
            let before = there.now[plan.setup.machine].clone();
            there.now = vec![State { mode: Some(row.mode), bar: Some(plan.blank.size), mounted, ..before }];
            let mut pinned = part.clone();
            pinned.first_end = Some(plan.first);
            let after = rank(&pinned, std::slice::from_ref(machine), &shop, None, By::Cost);
            let again = after.rows.iter().find(|r| r.mode == row.mode).unwrap();
            let lines = &again.judged.plan.setup.lines;
            for kind in
                ["mode-change", "guide-bushing", "collet-main", "bar-channel", "whirling-head", "oscillating-drill"]
            {
                let line = lines.iter().find(|l| l.kind == kind);
                assert!(line.is_none(), "{} on {}, {}: {line:?}", part.name, machine.name, row.mode.word());
            }
            let (now, before) = (again.judged.plan.setup.total, plan.setup.total);
            assert!(now <= before, "{} on {}, {}: {now} after {before}", part.name, machine.name, row.mode.word());
            assert_eq!(again.judged.plan.setup.mode_change(), Time::ZERO);
        }
    }
}

#[test]
fn a_cycle_lies_between_its_longer_chain_and_the_sum() {
    let demo = Demo::whole();
    for part in &demo.parts {
        for row in &rank(part, &demo.machines, &demo.shop, None, By::Cost).rows {
            let c = &row.judged.plan.cycle;
            let at = format!("{} on {}, {}", part.name, demo.machines[row.machine].name, row.mode.word());
            let chain = c.programmed - c.tie;
            let (main, sub, group) = (c.main.to_s(), c.sub.to_s(), c.group.to_s());
            assert!(chain.to_s() >= main.max(sub) - 1e-9, "{at}");
            assert!(chain.to_s() <= main + sub + 1e-9, "{at}: {} over {main} + {sub}, group {group}", chain.to_s());
            assert!(c.cutting <= c.main + c.sub + c.tie, "{at}");
            let single = demo.machines[row.machine].sub.is_none() || row.mode == ModeKind::Supported;
            assert!(!single || (chain.to_s() - main - sub).abs() < 1e-9, "{at}");
        }
    }
}

#[test]
fn a_piece_costs_less_the_more_are_ordered_and_its_parts_make_the_sum() {
    let demo = Demo::whole();
    for part in &demo.parts {
        let mut part = part.clone();
        part.orders = vec![1, 2, 5, 10, 50, 200, 1_000, 10_000, 1_000_000];
        for row in &rank(&part, &demo.machines, &demo.shop, None, By::Cost).rows {
            let at = format!("{} on {}, {}", part.name, demo.machines[row.machine].name, row.mode.word());
            for c in &row.judged.costs {
                let kinds =
                    [c.material, c.machine, c.setting, c.operator, c.tools, c.collet, c.holding, c.moving, c.scrap];
                let sum: f64 = kinds.iter().map(|k| k.to_units()).sum();
                assert!(kinds.iter().all(|k| k.to_units() >= 0.0), "{at}: {c:?}");
                assert!((sum - c.cost.to_units()).abs() <= 1e-9 * sum, "{at}: {sum} and {:?}", c.cost);
                assert!(c.price >= c.cost, "{at}");
            }
            for pair in row.judged.costs.windows(2) {
                assert!(pair[1].cost < pair[0].cost, "{at}: {:?}", pair);
                assert!(pair[1].order_time > pair[0].order_time, "{at}");
            }
        }
    }
}

#[test]
fn a_re_grip_needs_a_stroke_that_is_too_short() {
    let demo = Demo::whole();
    for part in &demo.parts {
        for row in &rank(part, &demo.machines, &demo.shop, None, By::Cost).rows {
            let machine = &demo.machines[row.machine];
            let plan = &row.judged.plan;
            if machine.headstock == Headstock::Fixed {
                assert_eq!(plan.cycle.re_grips, []);
            }
            let stroke = machine.mode(row.mode).and_then(|m| m.stroke).map(|s| s.value);
            if row.mode == ModeKind::Guided && stroke.is_some_and(|s| s >= plan.blank.reach) {
                assert_eq!(plan.cycle.re_grips, [], "{}", part.name);
            }
        }
    }
}

/// Places in the sources do not enter an answer, nor does the layout.
#[test]
fn a_comment_and_the_layout_change_no_byte() {
    let demo = Demo::whole();
    for (name, text) in texts(turn_files("parts")) {
        let laid_out = turnwright::lang::format::format(&text).unwrap();
        for (a, b) in common::parts([(name.clone(), text)]).iter().zip(&common::parts([(name.clone(), laid_out)])) {
            assert_eq!(told(a, &demo.machines, &demo.shop), told(b, &demo.machines, &demo.shop), "{name}");
        }
    }
    let text = std::fs::read_to_string("parts/valve-spool.turn").unwrap();
    let moved = common::parts([("valve-spool.turn".to_owned(), format!("# moved down\n\n\n{text}"))]);
    assert_ne!(demo.part("valve-spool").place, Place { file: 0, start: 0, end: 0 });
    let (a, b) = (demo.part("valve-spool"), &moved[0]);
    assert_eq!(told(a, &demo.machines, &demo.shop), told(b, &demo.machines, &demo.shop));
}
