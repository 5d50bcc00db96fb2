//! Does the magazine hold the tools?

use super::prelude::*;

/// Pockets of the magazine and the largest tool that they take.
#[derive(Clone, Copy, Debug)]
pub(super) struct ToolStorage;

const DOC: Doc = Doc {
    question: "does the magazine hold the tools that its carrier needs?",
    what: "tools that stand in the magazine against its pockets, and the largest against the largest tool that a pocket takes",
    why: "a magazine saves changeovers only as long as the tools of the next job are in it too",
    source: "the machine's own figures",
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
                    .because(format!(
                        "{used} of {} pockets used; {} free for the next job",
                        magazine.pockets,
                        a.free(i)
                    ))
                    .at([magazine.place]),
            );
            let largest = case
                .plan
                .tools
                .iter()
                .zip(&a.placed)
                .filter(|(_, p)| p.as_ref().is_some_and(|p| p.row == i && p.attachment.is_none()))
                .map(|(t, _)| t.dia)
                .max_by(|a, b| a.total_cmp(b));
            match (largest, magazine.tool_dia) {
                (Some(dia), Some(limit)) => out.push(
                    Finding::new(self.name(), Verdict::Fits, Figure::Length(dia), Figure::Length(limit.value))
                        .because(format!("the largest tool is {dia}, a pocket takes {}", limit.value)),
                ),
                (Some(dia), None) => {
                    out.push(not_stated(self.name(), Figure::Length(dia), "the largest tool that a pocket takes"));
                }
                _ => {}
            }
        }
    }
}
