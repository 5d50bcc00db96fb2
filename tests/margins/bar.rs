//! Figures that move the margins of the rules about the bar, its holding, form and walls.

use super::common::set_tolerance;
use super::levers::{
    Lever, any, asked, least, length, lever, number, of_class, of_drawing, offered, planned, speed, up_to,
};
use super::world::{World, stated};
use turnwright::matching::Finding;
use turnwright::matching::Verdict::{Refused, Warns};
use turnwright::model::machine::ModeKind;
use turnwright::model::part::Kind;
use turnwright::planning::deflection::{Capability, SizedBy};
use turnwright::quantity::Length;

pub(crate) static BAR: &[Lever] = &[
    lever(
        "bar-range",
        "the greatest bar of the mode and the spindle's bore",
        Refused,
        |_, f| least(f),
        |w, f, by| {
            let largest = Length::mm(offered(f) - by);
            up_to(&mut w.mode_mut().bar, largest);
            let bore = &mut w.machine_mut().main.bore;
            *bore = bore.map(|b| b.value.max(largest)).and_then(stated);
        },
    ),
    lever(
        "bar-range",
        "the least bar of the mode",
        Refused,
        |_, f| !least(f),
        |w, f, by| {
            let range = w.mode_mut().bar.as_mut().unwrap();
            range.low = Some(Length::mm(offered(f) + by));
        },
    ),
    lever(
        "bar-channel",
        "the feeder's largest channel",
        Refused,
        |w, f| length(w, f) && f.reason.contains("does not pass"),
        |w, f, by| w.machine_mut().feeder.as_mut().unwrap().channels = vec![Length::mm(offered(f) - by)],
    ),
    lever("bar-channel", "the speed that bars are good for", Warns, speed, |w, f, by| {
        let share = (offered(f) - by) / offered(f);
        w.set(&["bar-speed-8", "bar-speed-20", "bar-speed-32", "bar-gap-speed"], |v| v * share);
    }),
    lever(
        "bar-channel",
        "the widest gap",
        Refused,
        |w, f| length(w, f) && !f.reason.contains("does not pass"),
        |w, _, by| w.set(&["bar-gap-limit"], |v| v - by),
    ),
    planned("bar-length", "the feeder's longest bar", Refused, any, |w, _, by| {
        let longest = w.plan.blank.length.to_mm() - by;
        up_to(&mut w.machine_mut().feeder.as_mut().unwrap().length, Length::mm(longest));
    }),
    lever("bar-straightness", "the straightness that the mode asks for", Warns, any, |w, _, by| {
        w.set(&["straightness-guided", "straightness-collet"], |v| v - by);
    }),
    lever("stock-grade", "the poorest grade that the mode takes", Refused, any, |w, f, by| {
        w.mode_mut().stock = stated((offered(f) - by) as u8);
    }),
    lever(
        "stand-out",
        "the stick-out",
        Refused,
        |w, _| w.mode != ModeKind::Guided,
        |w, f, by| {
            w.mode_mut().stick_out = stated(Length::mm(offered(f) - by));
        },
    ),
    lever(
        "stand-out",
        "the stroke, where nothing is tight",
        Warns,
        |w, _| w.mode == ModeKind::Guided && !has_witness(w),
        |w, f, by| w.mode_mut().stroke = stated(Length::mm(offered(f) - by)),
    ),
    lever(
        "stand-out",
        "the stroke, where a diameter is tight",
        Refused,
        |w, _| w.mode == ModeKind::Guided && has_witness(w),
        |w, f, by| w.mode_mut().stroke = stated(Length::mm(offered(f) - by)),
    ),
    lever("slenderness", "the slenderness that is easy", Warns, number, |w, _, by| match w.mode {
        ModeKind::Supported => w.set(&["support-warns"], |v| v - by),
        _ => w.set(&["slenderness-warns"], |v| v - by),
    }),
    lever("free-end", "the share of the critical speed", Warns, speed, |w, f, by| {
        w.set(&["whip-share"], |v| v * (offered(f) - by) / offered(f));
    }),
    lever("free-end", "the free length", Warns, number, |w, _, by| w.set(&["free-end"], |v| v - by)),
    lever("turn-down", "the share of the bar's diameter", Warns, any, |w, f, by| {
        w.set(&["turn-down"], |v| v * (asked(f) + by) / asked(f));
    }),
    lever("hardening", "the tolerance of the drawing", Warns, any, |w, f, by| {
        set_tolerance(w.size(f.feature.unwrap()).unwrap(), |t| t - Length::mm(by));
    }),
    lever("capability", "the tolerance of the drawing", Refused, of_drawing, |w, f, by| {
        let spread = capability(w, f).spread.unwrap();
        set_tolerance(w.size(f.feature.unwrap()).unwrap(), |t| t - spread * by);
        w.bend_again();
    }),
    lever("capability", "what a taper in the program leaves of a bend", Refused, bends_away, |w, f, by| {
        let c = capability(w, f);
        let (spread, bend) = (c.spread.unwrap(), c.deflection.1 - c.deflection.0);
        w.set(&["taper-left"], |v| v + spread * by / (bend * 2.0));
        w.bend_again();
    }),
    lever(
        "capability",
        "the spread of the mode",
        Refused,
        |w, f| capability(w, f).cp.unwrap() > 0.0 && !matches!(capability(w, f).sized_by, SizedBy::Class { .. }),
        |w, f, by| {
            // The bar's step and a slide in step add to it: all by the same share.
            let cp = capability(w, f).cp.unwrap();
            let share = cp / (cp - by);
            let spread = w.stated_mode().spread.unwrap().value;
            w.mode_mut().spread = stated(spread * share);
            w.set(&["bar-step-share", "in-step-spread"], |v| v * share);
            w.bend_again();
        },
    ),
    lever("inspection", "the finest gauge", Warns, any, |w, f, by| {
        w.set(&["gauge-finest"], |v| v * (asked(f) + by) / asked(f));
    }),
    lever("roundness", "the demand", Refused, any, |w, f, by| {
        let demand = w.demand(f);
        *demand -= Length::mm(by);
    }),
    lever("runout", "the demand", Refused, any, |w, f, by| {
        let demand = w.demand(f);
        *demand -= Length::mm(by);
    }),
    lever("finish", "the finish of the drawing", Refused, any, |w, f, by| {
        let finish = w.part_mut().features[f.feature.unwrap()].kind.finish_mut().unwrap();
        finish.ra -= Length::mm(by);
    }),
    lever(
        "chip-thickness",
        "the least depth over the nose radius",
        Warns,
        |_, f| !f.reason.contains("held back"),
        |w, f, by| {
            w.set(&["chip-depth"], |v| v * (asked(f) + by) / asked(f));
        },
    ),
    lever(
        "chip-thickness",
        "the feed below which a drill rubs",
        Warns,
        |_, f| f.reason.contains("held back"),
        |w, f, by| {
            w.set(&["drill-feed"], |v| v * (asked(f) + by) / asked(f));
        },
    ),
    lever(
        "thin-wall",
        "the wall where it is gripped",
        Warns,
        |_, f| f.reason.starts_with("the sub"),
        |w, f, by| {
            w.set(&["grip-wall-share"], |v| v * (asked(f) + by) / asked(f));
        },
    ),
    lever(
        "thin-wall",
        "the wall that is turned",
        Warns,
        |_, f| !f.reason.starts_with("the sub"),
        |w, f, by| {
            w.set(&["wall-turned-share"], |v| v * (asked(f) + by) / asked(f));
        },
    ),
    lever("tip-wall", "the wall at the rim", Warns, any, |w, _, by| w.set(&["tip-wall"], |v| v + by)),
    lever("ligament", "the metal between two cuts", Warns, any, |w, f, by| {
        w.set(&["ligament-least", "ligament-share"], |v| v * (asked(f) + by) / asked(f));
    }),
];

/// Whether a tight diameter is longer than a stroke could be: a re-grip would leave a witness on it.
fn has_witness(w: &World) -> bool {
    let tight = w.threshold("re-grip-witness") / 1000.0;
    let turned = |f: usize| matches!(w.part.features[f].kind, Kind::Turn(_));
    w.plan.capabilities.iter().any(|c| c.tolerance.to_mm() < tight && turned(c.feature))
}

/// What is reckoned of the diameter that a finding is about.
fn capability<'w>(w: &'w World, f: &Finding) -> &'w Capability {
    w.plan.capabilities.iter().find(|c| Some(c.feature) == f.feature).unwrap()
}

/// A blank that bends by more than its class allows, whatever the spread.
fn bends_away(w: &World, f: &Finding) -> bool {
    of_class(w, f) && capability(w, f).cp.unwrap() <= 0.0
}
