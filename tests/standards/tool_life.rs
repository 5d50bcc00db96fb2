//! Tool life and the speeds that follow from it.

use crate::{Check, Numbers, numbers, run};
use turnwright::formulas::cutting::spindle_speed;
use turnwright::formulas::time::turning;
use turnwright::formulas::tool_life::{
    Taylor, change_time_per_piece, edge_cost_per_piece, extended_life, pieces_per_edge,
};
use turnwright::quantity::{Feed, Length, Money, Time, Velocity};

fn v(m_per_min: f64) -> Velocity {
    Velocity::m_per_min(m_per_min)
}

fn taylor(c: &Check) -> Taylor {
    Taylor::new(c.get("n"), v(c.get("C_m_min"))).unwrap()
}

fn minutes(c: &Check, name: &str) -> Time {
    Time::minutes(c.get(name))
}

fn compute(c: &Check) -> Numbers {
    match c.check.as_str() {
        "life-at-speed" => {
            let t = Taylor::through(v(c.get("speed_1_m_min")), minutes(c, "life_1_min"), c.get("n")).unwrap();
            numbers([("life_2_min", t.life(v(c.get("speed_2_m_min"))).unwrap().to_minutes())])
        }
        "two-tests" => {
            let a = (v(c.get("speed_1_m_min")), minutes(c, "life_1_min"));
            let b = (v(c.get("speed_2_m_min")), minutes(c, "life_2_min"));
            let t = Taylor::through_two(a, b).unwrap();
            let at_60 = t.speed(Time::minutes(60.0)).unwrap().to_m_per_min();
            numbers([("n", t.n()), ("C_m_min", t.c().to_m_per_min()), ("speed_for_60_min", at_60)])
        }
        "wear-curves" => {
            let life = |t1: &str, w1: &str, t2: &str, w2: &str| {
                let share = (c.get("criterion") - c.get(w1)) / (c.get(w2) - c.get(w1));
                Time::minutes(c.get(t1) + share * (c.get(t2) - c.get(t1)))
            };
            let (a, b) = (life("t11", "w11", "t12", "w12"), life("t21", "w21", "t22", "w22"));
            let t = Taylor::through_two((v(c.get("speed_1_m_min")), a), (v(c.get("speed_2_m_min")), b)).unwrap();
            numbers([
                ("life_1_min", a.to_minutes()),
                ("life_2_min", b.to_minutes()),
                ("n", t.n()),
                ("C_m_min", t.c().to_m_per_min()),
            ])
        }
        "extended" => {
            let base = (v(c.get("speed_m_min")), Feed::mm_per_rev(c.get("feed_mm_rev")), Length::mm(c.get("depth_mm")));
            let life = |to| {
                let t = extended_life(minutes(c, "life_min"), base, to, c.get("n"), c.get("a"), c.get("b")).unwrap();
                t.to_minutes()
            };
            // K itself: the speed at which an edge lasts a minute at unit feed and depth.
            let unit = (base.0, Feed::mm_per_rev(1.0), Length::mm(1.0));
            let t = Taylor::through(base.0, Time::minutes(life(unit)), c.get("n")).unwrap();
            numbers([
                ("K", t.c().to_m_per_min()),
                ("life_speed_plus_20", life((base.0 * 1.2, base.1, base.2))),
                ("life_feed_plus_20", life((base.0, base.1 * 1.2, base.2))),
                ("life_depth_plus_20", life((base.0, base.1, base.2 * 1.2))),
            ])
        }
        "life-ratio" => {
            let t = Taylor::new(c.get("n"), v(*c.inputs.get("C").unwrap_or(&100.0))).unwrap();
            let life = |speed| t.life(v(speed)).unwrap();
            let ratio = life(90.0 * c.get("speed_ratio")) / life(90.0);
            numbers([("life_ratio", ratio), ("increase_percent", (ratio - 1.0) * 100.0)])
        }
        "rule-of-thumb" => {
            let t = Taylor::new(c.get("n"), v(400.0)).unwrap();
            let ratio = |k: f64| t.life(v(100.0 * k)).unwrap() / t.life(v(100.0)).unwrap();
            numbers([("life_ratio_speed_plus_20", ratio(1.2)), ("life_ratio_speed_plus_50", ratio(1.5))])
        }
        "life" => numbers([("life_min", taylor(c).life(v(c.get("speed_m_min"))).unwrap().to_minutes())]),
        "fluid" => {
            let life = |name| {
                let t = Taylor::new(c.get("n"), v(c.get(name) * 60.0)).unwrap();
                t.life(v(c.get("speed_m_s") * 60.0)).unwrap().to_minutes()
            };
            numbers([("life_dry_min", life("C_dry_m_s")), ("life_fluid_min", life("C_fluid_m_s"))])
        }
        "productive" => {
            let t = taylor(c);
            let life = t.most_productive_life(minutes(c, "change_min")).unwrap();
            numbers([("speed_m_min", t.speed(life).unwrap().to_m_per_min())])
        }
        "economic" => economic(c, "change_min", c.get("tool_cost"), c.get("labour_cost_per_min")),
        "economic-part" => economic(c, "change_min", c.get("edge"), c.get("cost_per_min")),
        "economic-ratio" => economic(c, "change_min", c.get("cost_per_grind_edge"), c.get("machine_rate_per_min")),
        "economic-regrind" => {
            // The edge costs what its regrinding takes of the machine's time, and its wear.
            let per_min = c.get("machine_cost_per_hour") / 60.0;
            economic(c, "change_min", per_min * c.get("regrind_min") + c.get("depreciation_per_regrind"), per_min)
        }
        "production-part" => production_part(c),
        "change-share" => {
            let t =
                change_time_per_piece(minutes(c, "change_min"), minutes(c, "cycle_min"), minutes(c, "tool_life_min"));
            numbers([("min_per_piece", t.unwrap().to_minutes())])
        }
        other => panic!("{}: no calculation {other}", c.id),
    }
}

fn economic(c: &Check, change: &str, edge: f64, per_min: f64) -> Numbers {
    let t = taylor(c);
    let life = t.economic_life(minutes(c, change), Money::units(edge), Money::units(per_min)).unwrap();
    numbers([("speed_m_min", t.speed(life).unwrap().to_m_per_min()), ("life_min", life.to_minutes())])
}

/// A turned part at the most productive speed, its tool changed every so many whole pieces.
fn production_part(c: &Check) -> Numbers {
    let t = taylor(c);
    let change = minutes(c, "tool_change_min");
    let life = t.most_productive_life(change).unwrap();
    let speed = t.speed(life).unwrap();
    let n = spindle_speed(speed, Length::mm(c.get("diameter_mm"))).unwrap();
    let cut = turning(Length::mm(c.get("length_mm")), Feed::mm_per_rev(c.get("feed_mm_rev")), n).unwrap();
    let pieces = pieces_per_edge(life, cut).unwrap();
    // What the edges of whole pieces last.
    let used = cut * f64::from(pieces);
    let cycle = minutes(c, "load_unload_min") + cut + change_time_per_piece(change, cut, used).unwrap();
    let edge = edge_cost_per_piece(Money::units(c.get("cost_per_edge")), cut, used).unwrap();
    numbers([
        ("speed_m_min", speed.to_m_per_min()),
        ("life_min", life.to_minutes()),
        ("cut_min", cut.to_minutes()),
        ("pieces_per_edge", f64::from(pieces)),
        ("cycle_min", cycle.to_minutes()),
        ("cost_per_piece", cycle.to_minutes() * c.get("rate_per_hour") / 60.0 + edge.to_units()),
    ])
}

#[test]
fn published_tool_life() {
    run(include_str!("tool_life.yaml"), 17, compute);
}
