//! Threads against the cylinder or bore that they are cut into, and against the limits of their class.

use super::NEAR;
use super::solid::Solid;
use crate::lang::Diagnostic;
use crate::model::part::{Bore, Feature, FeatureId, Kind, Thread, ThreadForm};
use crate::quantity::Length;
use crate::tables::threads::LimitPair;

pub(super) fn check(solid: &Solid, out: &mut Vec<Diagnostic>) {
    for (id, feature) in solid.part.features.iter().enumerate() {
        let Kind::Thread(thread) = &feature.kind else { continue };
        twice(solid, id, feature, thread, out);
        if thread.zone.length() < thread.pitch - NEAR {
            let message = format!(
                "`{}` is {} long, less than its pitch of {}",
                feature.name,
                solid.say(thread.zone.length()),
                solid.say(thread.pitch)
            );
            out.push(
                Diagnostic::warning("thread-shorter-than-pitch", feature.place, message)
                    .help("lengthen it to at least one full turn"),
            );
        }
        if thread.internal {
            internal(solid, feature, thread, out);
        } else {
            external(solid, feature, thread, out);
        }
    }
}

/// Two threads cannot share a stretch of one surface.
fn twice(solid: &Solid, id: FeatureId, feature: &Feature, thread: &Thread, out: &mut Vec<Diagnostic>) {
    for f in &solid.part.features[..id] {
        let Kind::Thread(other) = &f.kind else { continue };
        if other.internal == thread.internal && other.zone.overlap(&thread.zone) > NEAR {
            let message = format!(
                "`{}` and `{}` are both cut at z {}",
                f.name,
                feature.name,
                solid.span(thread.zone.start.max(other.zone.start), thread.zone.end.min(other.zone.end))
            );
            out.push(
                Diagnostic::error("threads-overlap", feature.place, message)
                    .also(f.place, format!("`{}`", f.name))
                    .help("end one before the other begins; two starts of one thread are `starts 2`"),
            );
        }
    }
}

/// How far a taper thread's major diameter moves away from the one at its gauge plane.
fn cone(thread: &Thread) -> Length {
    thread.zone.length() * thread.taper.unwrap_or(0.0)
}

fn external(solid: &Solid, feature: &Feature, thread: &Thread, out: &mut Vec<Diagnostic>) {
    let class = thread.class.as_deref().unwrap_or("");
    for segment in solid.under(thread.zone) {
        let f = solid.feature(segment.feature);
        let (low, high, blank) = match &f.kind {
            // A general tolerance gives way to the limits of the thread's class.
            Kind::Turn(t) if t.thread_blank || !t.dia.is_toleranced() => (t.dia.nominal, t.dia.nominal, true),
            Kind::Turn(t) => (t.dia.lower(), t.dia.upper(), false),
            // A thread may run out over a cone, such as the tip of a screw, but not climb one.
            Kind::Taper(_) | Kind::Sphere(_) => (segment.smallest(), segment.smallest(), true),
            _ => continue,
        };
        if low > thread.major + cone(thread) + NEAR {
            let (at, end) = (thread.zone.start.max(segment.zone.start), thread.zone.end.min(segment.zone.end));
            let message = format!(
                "`{}` has a major diameter of {}, but `{}` beneath it is {low} at z {}",
                feature.name,
                solid.say(thread.major),
                f.name,
                solid.span(at, end),
                low = solid.say(low)
            );
            out.push(
                Diagnostic::error("thread-against-segment", feature.place, message)
                    .also(f.place, format!("dia {}", solid.span(low, high)))
                    .help(format!("turn it to {} there, or keep the thread off it", solid.say(thread.major))),
            );
            continue;
        }
        if high <= thread.minor + NEAR && !matches!(f.kind, Kind::Taper(_) | Kind::Sphere(_)) {
            let message = format!(
                "`{}` has a root diameter of {}, but `{}` beneath it is {high}: nothing to cut",
                feature.name,
                solid.say(thread.minor),
                f.name,
                high = solid.say(high)
            );
            out.push(
                Diagnostic::error("thread-against-segment", feature.place, message)
                    .also(f.place, format!("dia {}", solid.span(low, high)))
                    .help(format!("turn it to {} there, or take a smaller thread", solid.say(thread.major))),
            );
            continue;
        }
        let Some((least, most)) =
            thread.crest_limits().map(|l| printed(thread, l)).filter(|_| !thread.rolled && !blank)
        else {
            continue;
        };
        if high <= most + NEAR && low >= least - NEAR {
            continue;
        }
        out.push(
            Diagnostic::warning(
                "thread-blank-against-class",
                feature.place,
                format!(
                    "`{}` may be turned to {}, but the major diameter of `{}` is {} in class {class}",
                    f.name,
                    solid.span(low, high),
                    feature.name,
                    solid.span(least, most)
                ),
            )
            .also(f.place, format!("dia {}", solid.span(low, high)))
            .help(format!(
                "write `{}`, or leave the turn out and the thread makes its own blank",
                solid.limits(least, most)
            )),
        );
    }
}

fn internal(solid: &Solid, feature: &Feature, thread: &Thread, out: &mut Vec<Diagnostic>) {
    let bores: Vec<(&Feature, &Bore)> = solid
        .part
        .features
        .iter()
        .filter_map(|f| match &f.kind {
            Kind::Bore(b) if b.zone.overlap(&thread.zone) > NEAR => Some((f, b)),
            _ => None,
        })
        .collect();
    // Without a bore the thread drills its own.
    let Some((f, bore)) = bores.iter().max_by(|a, b| a.1.dia.nominal.total_cmp(&b.1.dia.nominal)) else { return };
    // A general tolerance gives way to the limits of the thread's class.
    let (low, high) = match bore.dia.is_toleranced() {
        true => (bore.dia.lower(), bore.dia.upper()),
        false => (bore.dia.nominal, bore.dia.nominal),
    };
    if low >= thread.major - cone(thread) - NEAR {
        // Under a counterbore the rest of the thread may still have metal.
        let rest = bores.iter().any(|(_, b)| b.dia.nominal < thread.major - cone(thread) - NEAR);
        let kind = if rest { Diagnostic::warning } else { Diagnostic::error };
        let message = format!(
            "`{}` has a major diameter of {}, but `{}` is already bored to {}",
            feature.name,
            solid.say(thread.major),
            f.name,
            solid.say(bore.dia.nominal)
        );
        out.push(
            kind("thread-in-larger-bore", feature.place, message)
                .also(f.place, format!("dia {}", solid.say(bore.dia.nominal)))
                .help(format!(
                    "bore it to {}, or let the thread begin beyond z {}",
                    solid.say(thread.minor),
                    solid.span(bore.zone.start, bore.zone.end)
                )),
        );
        return;
    }
    let (start, end) =
        bores.iter().fold((bore.zone.start, bore.zone.end), |(s, e), (_, b)| (s.min(b.zone.start), e.max(b.zone.end)));
    if thread.zone.start < start - NEAR || thread.zone.end > end + NEAR {
        let message = format!(
            "`{}` runs z {}, deeper than `{}`, z {}",
            feature.name,
            solid.span(thread.zone.start, thread.zone.end),
            f.name,
            solid.span(start, end)
        );
        out.push(
            Diagnostic::error("thread-deeper-than-bore", feature.place, message)
                .also(f.place, format!("z {}", solid.span(start, end)))
                .help("bore deeper than the thread by the lead of the tap and a clearance, or shorten the thread"),
        );
    }
    let Some((least, most)) = thread.core_limits().map(|l| printed(thread, l)) else { return };
    let class = thread.class.as_deref().unwrap_or("");
    let limits = format!("the minor diameter of `{}` is {}", feature.name, solid.span(least, most));
    let finding = if low > most + NEAR {
        Diagnostic::error(
            "tap-drill-against-class",
            bore.dia.place,
            format!("`{}` is {}, too large: {limits} in class {class}", f.name, solid.say(low)),
        )
    } else if high < least - NEAR {
        Diagnostic::error(
            "tap-drill-against-class",
            bore.dia.place,
            format!("`{}` is {}, too small: {limits} in class {class}", f.name, solid.say(high)),
        )
    } else if low < least - NEAR || high > most + NEAR {
        Diagnostic::warning(
            "tap-drill-against-class",
            bore.dia.place,
            format!("`{}` may be {}, but {limits} in class {class}", f.name, solid.span(low, high)),
        )
    } else {
        return;
    };
    out.push(finding.also(feature.place, limits).help(format!("write `{}`", solid.limits(least, most))));
}

/// Limits as the standard's table prints them: to 1 um, or to 0.0001 in.
fn printed(thread: &Thread, limits: LimitPair) -> (Length, Length) {
    let round = |l: Length| match thread.form {
        ThreadForm::Metric => Length::um(libm::round(l.to_um())),
        _ => Length::inch(libm::round(l.to_inch() * 1e4) / 1e4),
    };
    (round(limits.min), round(limits.max))
}

#[cfg(test)]
mod tests {
    use super::super::bench::*;
    use crate::model::figure::Size;
    use crate::model::part::*;

    fn none() -> Vec<&'static str> {
        Vec::new()
    }

    fn on(dia: Size, t: Thread) -> Part {
        let mut blank = turn("a", 8.0, 0.0, 20.0);
        if let Kind::Turn(t) = &mut blank.kind {
            t.dia = dia;
        }
        part(20.0, vec![blank, feature("t", Kind::Thread(t))])
    }

    fn plain(major: f64) -> Thread {
        Thread { form: ThreadForm::Profile, class: None, ..thread(major, 1.25, 4.0, 16.0) }
    }

    #[test]
    fn a_thread_has_metal_beneath_it_and_not_above() {
        assert_eq!(codes(&on(size(8.0), plain(8.0))), none());
        assert_eq!(codes(&on(size(8.01), plain(8.0))), ["thread-against-segment"]);
        assert_eq!(codes(&on(between(8.01, -0.02, 0.0), plain(8.0))), none(), "it may be turned to 8");
        assert_eq!(codes(&on(size(6.4), plain(8.0))), ["thread-against-segment"], "root 6.4665");
        assert_eq!(codes(&on(size(6.5), plain(8.0))), none());
    }

    #[test]
    fn a_thread_runs_out_over_a_tip_but_not_over_a_shoulder() {
        let with = |end: f64| {
            let tip = Taper {
                start_dia: size(8.0),
                end_dia: size(3.0),
                zone: zone(15.0, 20.0),
                internal: false,
                finish: None,
            };
            part(
                20.0,
                vec![
                    turn("head", 12.0, 0.0, 4.0),
                    turn("a", 8.0, 4.0, 15.0),
                    feature("tip", Kind::Taper(tip)),
                    feature("t", Kind::Thread(Thread { zone: zone(end, 18.0), ..plain(8.0) })),
                ],
            )
        };
        assert_eq!(codes(&with(4.0)), none());
        assert_eq!(codes(&with(3.9)), ["thread-against-segment"]);
    }

    #[test]
    fn threads_do_not_share_a_stretch() {
        let with = |start| {
            let second = feature("u", Kind::Thread(Thread { zone: zone(start, 19.0), ..plain(8.0) }));
            let mut p = on(size(8.0), plain(8.0));
            p.features.push(second);
            p
        };
        assert_eq!(codes(&with(16.0)), none());
        assert_eq!(codes(&with(15.9)), ["threads-overlap"]);
    }

    #[test]
    fn a_thread_has_at_least_a_turn() {
        let with = |end| on(size(8.0), Thread { zone: zone(4.0, end), ..plain(8.0) });
        assert_eq!(codes(&with(5.25)), none());
        assert_eq!(codes(&with(5.2)), ["thread-shorter-than-pitch"]);
    }

    fn tapped(bored: Size, depth: f64) -> Part {
        let t = Thread { internal: true, form: ThreadForm::Profile, class: None, ..thread(4.0, 0.7, 0.0, 10.0) };
        let mut b = bore("b", 3.3, 0.0, depth);
        if let Kind::Bore(b) = &mut b.kind {
            b.dia = bored;
        }
        part(20.0, vec![turn("a", 8.0, 0.0, 20.0), b, feature("t", Kind::Thread(t))])
    }

    #[test]
    fn an_inner_thread_fits_its_bore() {
        assert_eq!(codes(&tapped(size(3.3), 12.0)), none());
        assert_eq!(codes(&tapped(size(4.0), 12.0)), ["thread-in-larger-bore"]);
        assert_eq!(codes(&tapped(size(3.3), 10.0)), none());
        assert_eq!(codes(&tapped(size(3.3), 9.9)), ["thread-deeper-than-bore"]);
    }

    #[test]
    fn a_blank_keeps_the_limits_of_the_class() {
        // M8 6g: major diameter 7.760 .. 7.972 (ISO 965-2)
        let classed = || Thread { class: Some("6g".to_owned()), ..thread(8.0, 1.25, 4.0, 16.0) };
        assert_eq!(codes(&on(between(7.95, -0.05, 0.02), classed())), none());
        assert_eq!(codes(&on(between(7.95, -0.05, 0.03), classed())), ["thread-blank-against-class"]);
        assert_eq!(codes(&on(between(7.95, -0.2, 0.0), classed())), ["thread-blank-against-class"]);
        let rolled = Thread { rolled: true, ..classed() };
        assert_eq!(codes(&on(between(7.19, -0.02, 0.0), rolled)), none(), "rolling lifts the metal");
    }

    #[test]
    fn a_tap_drill_keeps_the_limits_of_the_class() {
        // M4 6H: minor diameter 3.242 .. 3.422 (ISO 965-2)
        let classed = |dia, lower, upper| {
            let mut p = tapped(between(dia, lower, upper), 12.0);
            if let Some(Kind::Thread(t)) = p.features.last_mut().map(|f| &mut f.kind) {
                t.form = ThreadForm::Metric;
                t.class = Some("6H".to_owned());
            }
            found(&p).into_iter().map(|d| (d.is_error(), d.code)).collect::<Vec<_>>()
        };
        assert_eq!(classed(3.3, 0.0, 0.1), []);
        assert_eq!(classed(3.3, 0.0, 0.13), [(false, "tap-drill-against-class")]);
        assert_eq!(classed(3.43, 0.0, 0.1), [(true, "tap-drill-against-class")]);
        assert_eq!(classed(3.1, 0.0, 0.1), [(true, "tap-drill-against-class")]);
    }
}
