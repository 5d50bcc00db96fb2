//! Figures that move the margins of the rules about spindles, tools, threads and what leaves the machine.

use super::levers::{
    Lever, any, asked, lacks_holder, least, length, lever, margin, near, number, offered, planned, up_to,
};
use super::world::{World, stated};
use turnwright::matching::Verdict::{Refused, Warns};
use turnwright::matching::rules::find;
use turnwright::matching::{Figure, Finding};
use turnwright::model::figure::{Limits, Size};
use turnwright::model::machine::Axis;
use turnwright::model::part::Kind;
use turnwright::quantity::{Angle, Force, Length, Power, Pressure, RotationalSpeed, Torque};

pub(crate) static TOOLS: &[Lever] = &[
    lever("spindle-speed", "the speed of the spindle", Warns, any, |w, f, by| {
        let cap = RotationalSpeed::rpm(offered(f) - by);
        up_to(&mut w.mode_mut().speed, cap);
        up_to(&mut w.machine_mut().main.speed, cap);
    }),
    lever("bushing-speed", "the speed that a fixed bushing stands", Refused, any, |w, _, by| {
        w.set(&["bushing-surface-speed"], |v| v - by);
    }),
    lever(
        "spindle-torque",
        "the torque of the spindle",
        Refused,
        |_, f| matches!(f.asked, Figure::Torque(_)),
        |w, f, by| {
            w.machine_mut().main.torque = stated(Torque::nm(offered(f) - by));
        },
    ),
    lever(
        "spindle-torque",
        "the power of the spindle",
        Refused,
        |_, f| matches!(f.asked, Figure::Power(_)),
        |w, f, by| {
            w.machine_mut().main.power = stated(Power::kw(offered(f) - by));
        },
    ),
    lever(
        "tool-storage",
        "the size of a pocket",
        Refused,
        |_, f| f.reason.contains("across"),
        |w, f, by| {
            w.machine_mut().magazine.as_mut().unwrap().tool_dia = stated(Length::mm(offered(f) - by));
        },
    ),
    lever(
        "tool-storage",
        "the length of a pocket",
        Refused,
        |_, f| f.reason.contains(" long "),
        |w, f, by| {
            w.machine_mut().magazine.as_mut().unwrap().tool_length = stated(Length::mm(offered(f) - by));
        },
    ),
    lever(
        "tool-storage",
        "the mass that a pocket takes",
        Refused,
        |_, f| f.reason.contains("heavy"),
        |w, f, by| {
            w.machine_mut().magazine.as_mut().unwrap().tool_mass = stated(offered(f) - by);
        },
    ),
    planned(
        "holder-size",
        "the holders",
        Refused,
        |w, f| f.verdict == Refused || !lacks_holder(w, f),
        |w, f, by| w.hold_up_to(Length::mm(offered(f) - by), by > 0.0),
    ),
    lever("boring-reach", "the reach of a damped bar", Refused, number, |w, _, by| {
        w.set(&["boring-limit"], |v| v - by);
        let limit = w.threshold("boring-limit");
        w.set(&["boring-carbide", "threading-bar"], |v| v.min(limit));
    }),
    lever(
        "boring-reach",
        "the least bore",
        Refused,
        |w, f| length(w, f) && least(f),
        |w, _, by| {
            w.set(&["boring-least"], |v| v + by);
        },
    ),
    lever("groove-depth", "the depth of a groove", Warns, number, |w, _, by| {
        w.set(&["groove-depth", "groove-depth-steel"], |v| v - by);
    }),
    lever("groove-depth", "the least face groove", Refused, length, |w, _, by| {
        w.set(&["face-groove-least"], |v| v + by);
    }),
    lever("parting", "the bar", Warns, any, |w, _, by| {
        let blank = &mut w.plan_mut().blank;
        blank.corners += Length::mm(2.0 * by);
    }),
    planned(
        "angle",
        "the angles of carriers and heads",
        Refused,
        |_, f| f.reason.contains("asks for a tool"),
        |w, f, by| {
            let (needed, nearest) = (asked(f), offered(f));
            for a in w.angles().filter(|a| near(a.low.to_deg(), nearest) || near(a.high.to_deg(), nearest)) {
                a.step = None;
                if needed > nearest {
                    a.high = Angle::deg(nearest - by);
                } else {
                    a.low = Angle::deg(nearest + by);
                }
            }
        },
    ),
    planned(
        "angle",
        "the accuracy of the angles",
        Refused,
        |_, f| f.reason.contains("accurate to"),
        |w, f, by| {
            let accuracy = Angle::deg(offered(f) + by);
            for a in w.angles().filter(|a| a.accuracy.is_some_and(|now| (now < accuracy) == (by > 0.0))) {
                a.accuracy = Some(accuracy);
            }
        },
    ),
    lever("nose-clearance", "the air beside the nose", Refused, any, |w, _, by| {
        w.set(&["nose-clearance"], |v| v + by);
    }),
    planned("off-axis", "the Y travel", Refused, any, |w, f, by| {
        let travel = Length::mm(offered(f) - by);
        for c in w.carriers().iter_mut().filter(|c| c.live_places > 0) {
            let now = c.y_travel.map_or(if c.has(Axis::Y) { Length::mm(f64::MAX) } else { Length::ZERO }, |y| y.value);
            if (now > travel) == (by > 0.0) {
                c.y_travel = stated(travel);
                if !c.has(Axis::Y) {
                    c.axes.push(Axis::Y);
                }
            }
        }
    }),
    lever("orientation", "the position on the drawing", Refused, length, |w, f, by| {
        let demand = w.demand(f);
        *demand -= Length::mm(by);
    }),
    lever("brake", "the brake", Refused, any, |w, f, by| {
        let brake = Torque::nm(offered(f) - by);
        let m = w.machine_mut();
        for spindle in [Some(&mut m.main), m.sub.as_mut().map(|s| &mut s.spindle)].into_iter().flatten() {
            spindle.brake = spindle.brake.and_then(|_| stated(brake));
        }
    }),
    lever("live-speed", "the speed of the live tools", Warns, any, |w, f, by| {
        // All by the same share, so that the slowest tool of a carrier stays the slowest.
        let share = (offered(f) - by) / offered(f);
        let m = w.machine_mut();
        let speeds = m.carriers.iter_mut().map(|c| &mut c.speed).chain(m.options.iter_mut().map(|o| &mut o.speed));
        for range in speeds.flatten() {
            range.high = range.high.map(|n| n * share);
        }
    }),
    lever("live-torque", "the torque of the live drive", Refused, any, |w, f, by| {
        let share = (offered(f) - by) / offered(f);
        for c in w.carriers() {
            c.torque = c.torque.and_then(|t| stated(t.value * share));
            c.power = c.power.and_then(|p| stated(p.value * share));
        }
    }),
    lever("drill-slope", "the slope that wants a milled start", Warns, any, |w, _, by| {
        w.set(&["milled-start"], |v| v - by);
    }),
    lever("push-off", "the bend that is allowed", Warns, any, |w, _, by| w.set(&["push-off-limit"], |v| v - by)),
    lever(
        "exit-burr",
        "the slope that leaves a burr",
        Warns,
        |w, f| !number(w, f),
        |w, _, by| {
            w.set(&["drill-slope"], |v| v - by);
        },
    ),
    lever("exit-burr", "the hole over its bore", Warns, number, |w, _, by| w.set(&["exit-burr-share"], |v| v - by)),
    lever(
        "cut-off-face",
        "the pip of the cut-off",
        Warns,
        |_, f| f.feature.is_none(),
        |w, _, by| {
            w.set(&["cut-off-pip"], |v| v + by);
        },
    ),
    lever(
        "cut-off-face",
        "the demand on the face",
        Refused,
        |_, f| f.feature.is_some(),
        |w, f, by| {
            let demand = w.demand(f);
            *demand -= Length::mm(by);
        },
    ),
    lever(
        "hand-over",
        "the plain length that is gripped",
        Refused,
        |_, f| f.reason.starts_with("grips"),
        |w, _, by| {
            let grip = w.plan_mut().hand_over.as_mut().unwrap();
            grip.grip -= Length::mm(by);
        },
    ),
    lever(
        "hand-over",
        "what the sub-spindle grips",
        Refused,
        |_, f| f.reason.contains("the sub-spindle grips "),
        |w, f, by| {
            let above = asked(f) > offered(f);
            let range = w.machine_mut().sub.as_mut().unwrap().grip.as_mut().unwrap();
            if above {
                range.high = Some(Length::mm(offered(f) - by));
            } else {
                range.low = Some(Length::mm(offered(f) + by));
            }
        },
    ),
    lever(
        "hand-over",
        "the overhang of the part",
        Warns,
        |_, f| f.reason.starts_with("the part stands"),
        |w, _, by| {
            let grip = w.plan_mut().hand_over.as_mut().unwrap();
            grip.overhang += Length::mm(by);
        },
    ),
    lever(
        "hand-over",
        "how far out of the grip is milled",
        Refused,
        |_, f| f.reason.contains("springs away"),
        |w, _, by| {
            let grip = w.plan_mut().hand_over.as_mut().unwrap();
            grip.overhang += Length::mm(by);
        },
    ),
    lever("axial-push", "the clamping force", Refused, any, |w, f, by| {
        let clamp = stated(Force::n((offered(f) - by) / w.threshold("clamp-friction")));
        if f.reason.contains("main spindle") {
            w.mode_mut().clamp = clamp;
        } else {
            w.machine_mut().sub.as_mut().unwrap().clamp = clamp;
        }
    }),
    lever(
        "unloading",
        "the length that can leave",
        Warns,
        |_, f| f.reason.contains("of part; "),
        |w, f, by| {
            let longest = offered(f) - by;
            let m = w.machine_mut();
            let ejects = m.sub.as_mut().map(|s| &mut s.eject);
            let catches = m.catcher.as_mut().map(|c| &mut c.length);
            for range in [ejects, catches].into_iter().flatten() {
                if range.as_ref().and_then(|r| r.high).is_some_and(|h| h.to_mm() < longest) {
                    up_to(range, Length::mm(longest));
                }
            }
            w.set(&["drop-length"], |v| v.max(longest));
            if longest < offered(f) {
                w.set(&["drop-length"], |_| longest);
            }
        },
    ),
    lever(
        "unloading",
        "the mass that falls",
        Warns,
        |_, f| matches!(f.asked, Figure::Mass(_)),
        |w, _, by| {
            w.set(&["drop-mass"], |v| v - by);
        },
    ),
    lever(
        "unloading",
        "the finish that falls",
        Warns,
        |_, f| f.feature.is_some(),
        |w, _, by| {
            w.set(&["drop-finish"], |v| v + by * 1000.0);
        },
    ),
    lever("deep-hole", "the coolant's pressure", Refused, |_, f| is_pressure(f) && !least(f), coolant),
    lever("deep-hole", "the coolant's pressure, oscillating", Warns, |_, f| is_pressure(f) && least(f), coolant),
    lever("filter", "the filter", Warns, any, |w, f, by| {
        w.machine_mut().coolant.as_mut().unwrap().filter = stated(Length::mm(offered(f) + by));
    }),
    planned("thread-method", "the depth that is single-pointed", Refused, length, |w, f, by| {
        let share = (offered(f) - by) / offered(f);
        w.set(&["shallow-thread", "deep-thread", "deep-thread-tough"], |v| v * share);
    }),
    lever("thread-blank", "the limits of the turn", Warns, length, |w, f, by| {
        move_limit(w, f, by, [raise_upper, lower_lower]);
    }),
    lever("thread-blank", "the spread of the mode", Refused, number, |w, f, by| {
        let spread = w.stated_mode().spread.unwrap().value;
        w.mode_mut().spread = stated(spread * (offered(f) / (offered(f) - by)));
    }),
    lever(
        "tap-drill",
        "the hole",
        Refused,
        |w, f| w.beneath(f.feature.unwrap()).is_some(),
        |w, f, by| {
            move_limit(w, f, by, [|s, by| s.nominal += by, |s, by| s.nominal -= by]);
        },
    ),
    lever("tap-depth", "the room below the thread", Refused, |w, f| !is_other(w, f), tap_room),
    lever("tap-depth", "the room below the thread, where another way is left", Warns, is_other, tap_room),
    planned("lead-angle", "how far the head tilts", Refused, any, |w, f, by| {
        point_nothing(w);
        let tilt = Angle::deg(offered(f) - by);
        for o in &mut w.machine_mut().options {
            if let Some(range) = &mut o.lead_angle {
                (range.low, range.high) = (Some(-tilt), Some(tilt));
            }
        }
    }),
    planned(
        "insert-width",
        "the widest insert",
        Refused,
        |_, f| !f.reason.contains("in bar of"),
        |w, f, by| {
            point_nothing(w);
            let width = Length::mm(offered(f) - by);
            w.machine_mut()
                .options
                .iter_mut()
                .for_each(|o| o.insert_width = o.insert_width.and_then(|_| stated(width)));
        },
    ),
    planned(
        "insert-width",
        "the bore of the ring",
        Refused,
        |_, f| f.reason.contains("in bar of"),
        |w, f, by| {
            let bore = Length::mm(offered(f) - by);
            w.machine_mut().options.iter_mut().for_each(|o| o.ring_bore = o.ring_bore.and_then(|_| stated(bore)));
        },
    ),
    planned(
        "run-out",
        "the room beside the thread that is whirled",
        Refused,
        |_, f| f.verdict == Refused,
        |w, f, by| {
            // The shoulder in front of the thread is moved, and with it where the neck begins.
            let Kind::Thread(thread) = &w.part.features[f.feature.unwrap()].kind else {
                unreachable!("it is a thread")
            };
            let shoulder = thread.zone.start - Length::mm(offered(f));
            for feature in &mut w.part_mut().features {
                let Kind::Turn(turn) = &mut feature.kind else { continue };
                for end in [&mut turn.zone.start, &mut turn.zone.end] {
                    if (*end - shoulder).abs() < Length::um(1.0) {
                        *end += Length::mm(by);
                    }
                }
            }
        },
    ),
    lever(
        "run-out",
        "the room beside the thread",
        Warns,
        |_, f| f.verdict != Refused,
        |w, f, by| {
            let threads = &mut w.plan_mut().threads;
            let room = threads.iter_mut().find(|t| Some(t.feature) == f.feature).unwrap().room.as_mut().unwrap();
            room.offered -= Length::mm(by);
        },
    ),
    lever("pull-back", "the land of the bushing", Warns, any, |w, f, by| {
        w.mode_mut().land = stated(Length::mm(offered(f) - by));
        w.set(&["land-usual"], |v| v * 1000.0);
    }),
    lever("chip-control", "the coolant's pressure", Warns, any, coolant),
    lever("tool-life", "the time alone", Warns, any, |w, _, by| w.set(&["unattended"], |v| v + by / 60.0)),
];

/// No screw thread is single-pointed, so that whirling is the only way to make it.
fn point_nothing(w: &mut World) {
    w.set(&["shallow-thread", "deep-thread", "deep-thread-tough"], |v| v * 1e-3);
}

fn is_pressure(f: &Finding) -> bool {
    matches!(f.asked, Figure::Pressure(_))
}

fn coolant(w: &mut World, f: &Finding, by: f64) {
    w.machine_mut().coolant.as_mut().unwrap().pressure = stated(Pressure::bar(offered(f) - by));
}

/// Whether a thread that is tapped could be made in another way.
fn is_other(w: &World, f: &Finding) -> bool {
    w.plan.threads.iter().any(|t| Some(t.feature) == f.feature && !t.others.is_empty())
}

fn tap_room(w: &mut World, f: &Finding, by: f64) {
    let thread = w.plan_mut().threads.iter_mut().find(|t| Some(t.feature) == f.feature).unwrap();
    let room = thread.tap_room.as_mut().unwrap();
    room.1 -= Length::mm(by);
}

/// Moves that limit of a size which the margin of a rule depends on: the one of the two that changes the margin as wanted.
fn move_limit(w: &mut World, f: &Finding, by: f64, ways: [fn(&mut Size, Length); 2]) {
    let rule = find(f.rule).unwrap();
    let Some(size) = w.beneath(f.feature.unwrap()) else { return };
    for way in ways {
        let mut moved = w.clone();
        if let Some(size) = moved.size(size) {
            way(size, Length::mm(by));
        }
        let found = moved.judge(rule);
        if found.iter().any(|g| g.feature == f.feature && near(margin(g), margin(f) - by)) {
            *w = moved;
            return;
        }
    }
}

fn raise_upper(size: &mut Size, by: Length) {
    if let Limits::Both { upper, .. } = &mut size.limits {
        *upper += by;
    }
}

fn lower_lower(size: &mut Size, by: Length) {
    if let Limits::Both { lower, .. } = &mut size.limits {
        *lower -= by;
    }
}
