//! Can the sub-spindle take the part?

use super::prelude::*;
use crate::model::machine::{Side, Swallow};
use crate::planning::hand_over::{Bore, HandOver as Grip};
use crate::planning::operation::Work;
use crate::quantity::Length;
use std::borrow::Cow;

/// Grip of the sub-spindle.
#[derive(Clone, Copy, Debug)]
pub(super) struct HandOver;

/// How the plan comes to a grip.
const GRIP_FOUND: &str = "the best plain stretch within reach";

const GRIP: &str = "g >= max(min(g_0, s x D), min(k x D, L / 3))";
const NOTHING: &str = "g >= g_0";
const LARGEST: &str = "D <= D_max";
const SMALLEST: &str = "D >= D_min";
const FAR: &str = "L <= k x D";

const DOC: Doc = Doc {
    question: "can the sub-spindle grip the part?",
    what: "the plain length at the grip, less what grooves, flats, keyways and mouths take of its surface, against the lesser of 0.8 D and a third of what stands out, and at least 4 mm or 3 D; where the sub-spindle only takes the part off, 0.3 D and 2.5 mm: shorter warns (special collet), under half of it refuses; milled flats that leave less than half the circumference want a collet of their shape; an eccentric is no grip; milling and cross-drilling no further out than 5 D; the diameter within the sub-spindle's range",
    formulas: &[GRIP, NOTHING, LARGEST, SMALLEST, FAR],
    why: "a short grip lets the part tilt or drop at cut-off; a collet on six narrow arcs marks and slips; on an eccentric the part turns about the wrong axis",
    source: "common practice, no source",
    trips: include_str!("examples/hand-over.trips.turn"),
    passes: include_str!("examples/hand-over.passes.turn"),
};

impl Rule for HandOver {
    fn name(&self) -> &'static str {
        "hand-over"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let Some(sub) = &case.task.machine.sub else { return };
        let t = case.task.thresholds;
        let works_there = case.plan.cycle.sides.contains(&Side::Sub);
        let Some(grip) = &case.plan.hand_over else {
            if !works_there {
                let finding = Finding::new(
                    self.name(),
                    Verdict::Warns,
                    Figure::Words("a grip".into()),
                    Figure::Words("none".into()),
                );
                out.push(
                    finding
                        .because("nothing plain to grip: the part is cut off into the catcher and keeps the pip of the cut-off")
                        .unless("a plain stretch at the end made first"),
                );
                return;
            }
            out.push(
                Finding::new(
                    self.name(),
                    Verdict::Refused,
                    Figure::Length(Length::mm(t.grip_least_mm)),
                    Figure::Length(Length::ZERO),
                )
                .by(case, NOTHING, || {
                    vec![
                        Term::plan("g", "plain length to grip", Length::ZERO, GRIP_FOUND),
                        Term::threshold("g_0", Length::mm(t.grip_least_mm), "grip-least"),
                    ]
                })
                .because(match sub.swallow.map(|s| s.value) {
                    Some(Swallow::Up(depth)) => Cow::Owned(format!(
                        "no plain diameter about the axis for the sub-spindle to grip within the {depth} that it takes in"
                    )),
                    _ => Cow::Borrowed("no plain diameter about the axis for the sub-spindle to grip"),
                })
                .unless("a plain stretch at the end made first, or the other end made first"),
            );
            return;
        };
        let of = name(case, grip.feature);
        let dia = || Term::part("D", "diameter that is gripped", grip.dia, place(case, grip.feature));
        let overhang = || Term::plan("L", "what stands out of the sub-spindle", grip.overhang, GRIP_FOUND);
        let verdict = if grip.grip < grip.needed * t.grip_limit {
            Verdict::Refused
        } else if grip.special().is_some() {
            Verdict::Warns
        } else {
            Verdict::Fits
        };
        let covered = if grip.plain - grip.grip > Length::um(1.0) {
            format!(" ({} less what is cut into it)", grip.plain)
        } else {
            String::new()
        };
        let placed = match (grip.on_thread, grip.on_milled_flats) {
            (true, _) => " on the crests of its thread",
            (_, true) => " on its milled flats, in phase",
            _ => "",
        };
        let over = grip.over.map(|d| format!(", reached over {d}")).unwrap_or_default();
        let words =
            format!("grips `{of}` {} on {}{covered} of {} needed{placed}{over}", grip.bore, grip.grip, grip.needed);
        let finding = Finding::new(self.name(), verdict, Figure::Length(grip.needed), Figure::Length(grip.grip))
            .down_to(Figure::Length(grip.needed * t.grip_limit))
            .by(case, GRIP, || {
                let (least, share) = if works_there {
                    (("g_0", Length::mm(t.grip_least_mm), "grip-least"), ("k", t.grip_share, "grip-share"))
                } else {
                    let least = Length::mm(t.grip_least_idle_mm);
                    (("g_0", least, "grip-least-idle"), ("k", t.grip_share_idle, "grip-share-idle"))
                };
                vec![
                    Term::plan("g", "length gripped, less what is cut into it", grip.grip, GRIP_FOUND),
                    Term::threshold(least.0, least.1, least.2),
                    Term::threshold("s", t.grip_small, "grip-small"),
                    Term::threshold(share.0, share.1, share.2),
                    dia(),
                    overhang(),
                ]
            })
            .about(grip.feature);
        out.push(match verdict {
            Verdict::Fits => finding.because(words),
            Verdict::Warns => {
                let price = crate::quantity::print::thousands(t.special_collet);
                let code = case.task.shop.currency.code();
                finding
                    .because(format!("{words}: a special collet, about {price} {code} (demo value) and its delivery"))
                    .unless(if grip.on_milled_flats {
                        "flats milled after the hand-over, the other end made first".to_owned()
                    } else {
                        format!("{} of plain length", grip.needed)
                    })
            }
            _ => finding
                .because(words)
                .unless(format!("{} of plain length, or the other end made first", grip.needed * t.grip_limit)),
        });
        match sub.grip {
            None => {
                let finding = not_stated(self.name(), Figure::Length(grip.dia), "what the sub-spindle grips");
                out.push(finding.by(case, LARGEST, || {
                    vec![dia(), Term::machine("D_max", "largest grip of the sub-spindle", None::<Length>, None)]
                }));
            }
            Some(range) if !range.contains(grip.dia) => {
                let above = range.high.filter(|h| grip.dia > *h);
                let limit = above.or(range.low).unwrap_or(grip.dia);
                // A smaller collet can be bought; a larger one does not go into the spindle.
                let (way, remedy) = match above {
                    Some(limit) => ("up to", format!("the other end made first, or {limit} to grip at the most")),
                    None => ("only from", format!("a sub-spindle collet for {}", grip.bore)),
                };
                let corners = match grip.bore {
                    Bore::Round(_) => String::new(),
                    Bore::Polygon { .. } => format!(", {} over its corners", grip.dia),
                };
                out.push(
                    Finding::new(self.name(), Verdict::Refused, Figure::Length(grip.dia), Figure::Length(limit))
                        .margin(Figure::Length(-(grip.dia - limit).abs()))
                        .by(case, if above.is_some() { LARGEST } else { SMALLEST }, || {
                            let (symbol, meaning) = match above {
                                Some(_) => ("D_max", "largest grip of the sub-spindle"),
                                None => ("D_min", "smallest grip of the sub-spindle"),
                            };
                            vec![dia(), Term::machine(symbol, meaning, limit, range.place)]
                        })
                        .about(grip.feature)
                        .at([range.place])
                        .because(format!("`{of}` is {}{corners}; the sub-spindle grips {way} {limit}", grip.bore))
                        .unless(remedy),
                );
            }
            Some(_) => {}
        }
        out.extend(far(self.name(), case, grip, works_there));
    }
}

/// Work too far from the grip: across the axis the piece springs away beyond a limit, all else warns.
fn far(rule: &'static str, case: &Case, grip: &Grip, works_there: bool) -> Option<Finding> {
    let t = case.task.thresholds;
    let (limit, most) = (grip.dia * t.grip_overhang, grip.dia * t.grip_overhang_limit);
    if !works_there || grip.overhang <= limit {
        return None;
    }
    let dia = || Term::part("D", "diameter that is gripped", grip.dia, place(case, grip.feature));
    let across = case.plan.operations.iter().filter(|o| o.side == Side::Sub && springs(o.work)).filter_map(|o| {
        let feature = o.feature?;
        let zone = o.zone.unwrap_or_else(|| case.task.view.part.stretch(&case.task.view.feature(feature).kind));
        let out = case.task.zone_from_first(zone).start - (case.task.view.length - grip.overhang);
        Some((out, feature, o.work))
    });
    if let Some((out, feature, work)) = across.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|(out, ..)| *out > most) {
        return Some(
            Finding::new(rule, Verdict::Refused, Figure::Length(most), Figure::Length(out))
                .at_most()
                .by(case, FAR, || {
                    vec![
                        Term::plan("L", "from the grip to where the work begins", out, GRIP_FOUND),
                        dia(),
                        Term::threshold("k", t.grip_overhang_limit, "grip-overhang-limit"),
                    ]
                })
                .about(feature)
                .because(format!(
                    "{} `{}` lies {out} out of the sub-spindle, {} times its grip diameter is {most}: the piece springs away",
                    work.word(),
                    name(case, feature),
                    t.grip_overhang_limit
                ))
                .unless(format!("a grip within {most} of it, or the work at the main spindle")),
        );
    }
    Some(
        Finding::new(rule, Verdict::Warns, Figure::Length(limit), Figure::Length(grip.overhang))
            .at_most()
            .by(case, FAR, || {
                vec![
                    Term::plan("L", "what stands out of the sub-spindle", grip.overhang, GRIP_FOUND),
                    dia(),
                    Term::threshold("k", t.grip_overhang, "grip-overhang"),
                ]
            })
            .about(grip.feature)
            .because(format!(
                "the part stands {} out of the sub-spindle, {} times its grip diameter is {limit}",
                grip.overhang, t.grip_overhang
            ))
            .unless("a grip nearer to the work"),
    )
}

/// Whether work pushes across the axis so hard that a slender piece springs away.
fn springs(work: Work) -> bool {
    matches!(
        work,
        Work::CrossDrill
            | Work::SpotFace
            | Work::MillFlats
            | Work::StraddleMill
            | Work::PolygonTurn
            | Work::MillSlot
            | Work::MillKeyway
            | Work::RoughContour
            | Work::MillContour
    )
}
