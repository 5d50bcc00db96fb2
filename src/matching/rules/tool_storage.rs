//! Does the magazine hold the tools?

use super::prelude::*;
use crate::model::figure::Place;
use crate::planning::methods::cross;
use crate::planning::operation::{Tool, ToolKind};
use crate::quantity::{Length, Mass};

/// Pockets of the magazine and the largest tool that they take.
#[derive(Clone, Copy, Debug)]
pub(super) struct ToolStorage;

const POCKETS: &str = "n <= N";
const ACROSS: &str = "d <= d_max";
const LONG: &str = "l <= l_max";
const HEAVY: &str = "m <= m_max";

const DOC: Doc = Doc {
    question: "does the magazine hold the tools that its carrier needs?",
    what: "tools that stand in the magazine against its pockets; the largest, the longest and the heaviest with its holder against what a pocket takes; a whirling ring is 44 mm larger than its bore",
    formulas: &[POCKETS, ACROSS, LONG, HEAVY],
    why: "a magazine saves changeovers only as long as the tools of the next job are in it too",
    source: "the machine's own figures; sizes of rings and holders common practice, no source",
    trips: include_str!("examples/tool-storage.trips.turn"),
    passes: include_str!("examples/tool-storage.passes.turn"),
};

impl Rule for ToolStorage {
    fn name(&self) -> &'static str {
        "tool-storage"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let Some(magazine) = &case.task.machine.magazine else { return };
        let a = &case.plan.assignment;
        for (i, row) in a.rows.iter().enumerate().filter(|(_, r)| r.pocket) {
            let used = row.places - a.free(i);
            if used == 0 {
                continue;
            }
            out.push(
                Finding::new(self.name(), Verdict::Fits, Figure::Count(used), Figure::Count(magazine.pockets))
                    .by(case, POCKETS, || {
                        vec![
                            Term::plan("n", "pockets used", used, "the cheapest assignment"),
                            Term::machine("N", "pockets of the magazine", magazine.pockets, magazine.place),
                        ]
                    })
                    .because(format!(
                        "{used} of {} pockets used; {} free for the next job",
                        magazine.pockets,
                        a.free(i)
                    ))
                    .at([magazine.place]),
            );
            // What stands in the pockets of this row: size, length and mass of each tool with its holder.
            let standing = case.plan.tools.iter().zip(&a.placed).filter_map(|(tool, p)| {
                let placed = p.as_ref().filter(|p| p.row == i)?;
                Some((measured(case, tool, placed.attachment), tool))
            });
            let mut largest: [Option<(f64, &Tool)>; 3] = [None; 3];
            for (sizes, tool) in standing {
                for (size, most) in sizes.into_iter().zip(&mut largest) {
                    if most.is_none_or(|(m, _)| size > m) {
                        *most = Some((size, tool));
                    }
                }
            }
            let figures: [Measure; 3] = [
                (
                    (ACROSS, "d", "d_max"),
                    "across",
                    "the largest tool that a pocket takes",
                    |v| Figure::Length(Length::mm(v)),
                    magazine.tool_dia.map(|d| (d.value.to_mm(), d.place)),
                ),
                (
                    (LONG, "l", "l_max"),
                    "long with its holder",
                    "the longest tool that a pocket takes",
                    |v| Figure::Length(Length::mm(v)),
                    magazine.tool_length.map(|d| (d.value.to_mm(), d.place)),
                ),
                (
                    (HEAVY, "m", "m_max"),
                    "heavy with its holder",
                    "the heaviest tool that a pocket takes",
                    |v| Figure::Mass(Mass::kg(v)),
                    magazine.tool_mass.map(|m| (m.value, m.place)),
                ),
            ];
            for (((formula, symbol, most_symbol), word, what, figure, limit), most) in figures.into_iter().zip(largest)
            {
                let Some((size, tool)) = most else { continue };
                let asked = figure(size);
                let terms = || {
                    vec![
                        Term::plan(symbol, "the largest so of the tools that stand there", figure(size), TOOL),
                        Term::machine(most_symbol, what, limit.map(|(l, _)| figure(l)), limit.map(|(_, at)| at)),
                    ]
                };
                let Some((limit, _)) = limit else {
                    out.push(not_stated(self.name(), asked, what).by(case, formula, terms));
                    continue;
                };
                let offered = figure(limit);
                let fits = size <= limit + 1e-9;
                let verdict = if fits { Verdict::Fits } else { Verdict::Refused };
                let words = format!("{}: {asked} {word}, a pocket takes {offered}", tool.kind.word());
                let mut finding =
                    Finding::new(self.name(), verdict, asked.clone(), offered).by(case, formula, terms).because(words);
                finding.feature = tool.features.first().copied();
                out.push(if fits {
                    finding
                } else {
                    finding.unless(format!("a pocket for {asked}, or a fixed place"))
                });
            }
        }
    }
}

/// A measure of a tool: its formula with the symbols of both sides, its word, the figure's name in a machine spec, how it is written, and what a pocket takes.
type Measure =
    ((&'static str, &'static str, &'static str), &'static str, &'static str, fn(f64) -> Figure, Option<(f64, Place)>);

/// Steel, kg for each mm3.
const STEEL: f64 = 7.85e-6;

/// The size across, the length and the mass of a tool with its holder, in mm and kg: a whirling ring by the bore that
/// passes the bar, a drill as long as what it drills and two diameters, a disc as thick as a quarter of itself (common
/// practice, no source).
fn measured(case: &Case, tool: &Tool, attachment: Option<usize>) -> [f64; 3] {
    let t = case.task.thresholds;
    let ring = attachment.and_then(|a| case.task.machine.options[a].ring_bore).map(|b| b.value.to_mm());
    let holder = (t.holder_length_mm, t.holder_mass_kg);
    if let (ToolKind::WhirlingHead, Some(bore)) = (tool.kind, ring) {
        let across = bore + 2.0 * t.ring_wall_mm;
        let area = std::f64::consts::PI / 4.0 * (across * across - bore * bore);
        return [across, holder.0 + 20.0, holder.1 + area * 20.0 * STEEL];
    }
    let dia = tool.dia.to_mm();
    if matches!(tool.kind, ToolKind::SlotMill | ToolKind::StraddleMill) {
        let disc = std::f64::consts::PI / 4.0 * dia * dia * (dia / 4.0);
        return [dia, holder.0 + dia / 4.0, holder.1 + disc * STEEL];
    }
    let deepest = tool.features.iter().map(|f| match &case.task.view.part.features[*f].kind {
        Kind::Hole(hole) => cross::path_length(case.task, hole).to_mm(),
        _ => dia,
    });
    let length = deepest.fold(0.0, f64::max) + 2.0 * dia;
    [dia, holder.0 + length, holder.1 + std::f64::consts::PI / 4.0 * dia * dia * length * STEEL]
}
