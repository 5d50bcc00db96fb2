//! Does the boring bar reach, and enter?

use super::prelude::*;
use crate::model::machine::Side;
use crate::planning::operation::{Shank, Work};
use crate::quantity::Length;

/// Reach and least bore of boring, internal grooving and threading bars.
#[derive(Clone, Copy, Debug)]
pub(super) struct BoringReach;

const ENTERS: &str = "D >= D_min";
const ROOM: &str = "D - h - a >= 0";
const BAR: &str = "L / d <= k";
const BESIDE: &str = "L / (D - h - a) <= k";

const DOC: Doc = Doc {
    question: "does the boring bar enter the bore and reach its end?",
    what: "the reach into the bore over the bar's diameter: 4 in steel, 7 in carbide, to 10 damped or with light cuts, beyond refuses; the neck left beside an internal groove; a bore from 0.6 mm; an inner threading bar 4",
    formulas: &[ENTERS, ROOM, BAR, BESIDE],
    why: "the spring of a bar grows with the cube of its reach: it chatters, and the bore comes out tapered",
    source: "common practice, no source",
    trips: include_str!("examples/boring-reach.trips.turn"),
    passes: include_str!("examples/boring-reach.passes.turn"),
};

impl Rule for BoringReach {
    fn name(&self) -> &'static str {
        "boring-reach"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let (view, t) = (case.task.view, case.task.thresholds);
        // Of boring bars and of threading bars, whose limits differ.
        let mut worst: [Option<((Verdict, f64), Finding)>; 2] = [None, None];
        for op in &case.plan.operations {
            let Some(feature) = op.feature else { continue };
            let kind = &view.part.features[feature].kind;
            // A mouth that is bored true for a reamer is no longer than that.
            let zone = case.task.zone_from_first(op.zone.unwrap_or(view.part.stretch(kind)));
            let reach = if op.side == Side::Main { zone.end } else { view.length - zone.start };
            let middle = (view.part.stretch(kind).start + view.part.stretch(kind).end) / 2.0;
            let (bore, bar, cut) = match (op.work, kind) {
                (Work::Bore, Kind::Bore(b)) => (b.dia.nominal, case.plan.tools[op.tool].dia, None),
                (Work::InternalGroove, Kind::Groove(g)) => {
                    let bore = view.bore_at(middle);
                    let cut = (g.dia.nominal - bore) / 2.0;
                    (bore, bore - cut - Length::mm(t.boring_air_mm), Some(cut))
                }
                (Work::SinglePoint, Kind::Thread(th)) if th.internal => (th.minor, case.plan.tools[op.tool].dia, None),
                _ => continue,
            };
            let of = name(case, feature);
            // The neck of a bar beside what it cuts, or the bar itself where it cuts the bore.
            let neck = || match cut {
                None => vec![Term::plan("d", "diameter of the boring bar", bar, TOOL)],
                Some(cut) => vec![
                    Term::part("D", "bore that the bar enters", bore, place(case, feature)),
                    Term::part("h", "depth of the cut inside it", cut, place(case, feature)),
                    Term::threshold("a", Length::mm(t.boring_air_mm), "boring-air"),
                ],
            };
            if bore < Length::mm(t.boring_least_mm) || bar <= Length::ZERO {
                let least = Length::mm(t.boring_least_mm);
                let finding = if bore < least {
                    let finding =
                        Finding::new(self.name(), Verdict::Refused, Figure::Length(least), Figure::Length(bore));
                    finding.by(case, ENTERS, || {
                        vec![
                            Term::part("D", "bore that the bar enters", bore, place(case, feature)),
                            Term::threshold("D_min", least, "boring-least"),
                        ]
                    })
                } else {
                    Finding::new(self.name(), Verdict::Refused, Figure::Length(Length::ZERO), Figure::Length(bar))
                        .by(case, ROOM, neck)
                };
                out.push(
                    finding
                        .margin(Figure::Length((bore - least).min(bar.min(Length::ZERO))))
                        .about(feature)
                        .because(format!("`{of}`: no bar enters a bore of {bore} and cuts there"))
                        .unless(format!("a bore of {least} and more, and a shallower cut inside it")),
                );
                continue;
            }
            // A grooving bar may be slimmer than the neck that the bore leaves it: by its holder.
            let (bar, cut) = match (cut, &case.plan.tools[op.tool].shank) {
                (Some(_), Shank::Round(shank)) if *shank < bar => (*shank, None),
                (cut, _) => (bar, cut),
            };
            let ratio = reach / bar;
            let threading = op.work == Work::SinglePoint;
            let carbide = if threading { t.threading_bar } else { t.boring_carbide };
            let verdict = match ratio {
                r if r <= carbide + 1e-9 => Verdict::Fits,
                r if r <= t.boring_limit + 1e-9 => Verdict::Warns,
                _ => Verdict::Refused,
            };
            let worst = &mut worst[usize::from(threading)];
            if worst.as_ref().is_some_and(|(so_far, _)| *so_far >= (verdict, ratio)) {
                continue;
            }
            let material = match ratio <= t.boring_steel {
                _ if threading => "a threading bar reaches",
                true => "a steel bar does",
                false => "carbide reaches",
            };
            let limit = if ratio <= t.boring_steel && !threading { t.boring_steel } else { carbide };
            let finding = Finding::new(self.name(), verdict, Figure::Number(ratio), Figure::Number(limit))
                .up_to(Figure::Number(t.boring_limit))
                .by(case, if cut.is_some() { BESIDE } else { BAR }, || {
                    let name = match ratio <= t.boring_steel {
                        _ if threading => "threading-bar",
                        true => "boring-steel",
                        false => "boring-carbide",
                    };
                    let mut terms = vec![Term::plan("L", "reach into the bore", reach, "where the feature ends")];
                    terms.extend(neck());
                    terms.push(Term::threshold("k", limit, name));
                    terms
                })
                .about(feature)
                .because(format!("`{of}`: a bar of {bar} reaches {reach}, {ratio:.1} D; {material} {limit} D"));
            *worst = Some((
                (verdict, ratio),
                match verdict {
                    Verdict::Fits => finding,
                    Verdict::Warns if threading => finding.unless("a tap, or a thread mill"),
                    Verdict::Warns => finding.unless("a damped bar and light cuts, or a reamer"),
                    _ => finding.unless("a reamer, the bore made from both ends, or a larger diameter"),
                },
            ));
        }
        out.extend(worst.into_iter().flatten().map(|(_, f)| f));
    }
}
