//! The rule of thumb, shown as one.

use super::prelude::*;
use super::support;
use crate::model::machine::ModeKind;
use crate::planning::slender::slender;

/// Length over diameter out of a collet.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slenderness;

const SLENDER: &str = "L / d <= k";

const DOC: Doc = Doc {
    question: "is the part slender for work out of a collet?",
    what: "length over diameter of the most slender stretch from the free end, as it bends (a thin tip on a stout body counts for itself): guide bushing preferred from 3, the rule from 4; with the sub-spindle's support to 8",
    formulas: &[SLENDER],
    why: "a long thin piece yields to the cut; the figure that decides is the capability with deflection, this one only warns",
    source: "trade articles on guide-bushing work (3:1) and on choosing a lathe for small parts (4:1), read; support to 8 common practice",
    trips: include_str!("examples/slenderness.trips.turn"),
    passes: include_str!("examples/slenderness.passes.turn"),
};

impl Rule for Slenderness {
    fn name(&self) -> &'static str {
        "slenderness"
    }
    fn doc(&self) -> &'static Doc {
        &DOC
    }
    fn check(&self, case: &Case, out: &mut Vec<Finding>) {
        let t = case.task.thresholds;
        let Some((_, slender)) = slender(case.task.view, case.task.first) else { return };
        let (ratio, stretch) = (slender.ratio(), slender.length);
        let (warns, limit, threshold) = match case.task.mode.kind {
            ModeKind::Guided => {
                out.push(
                    Finding::new(
                        self.name(),
                        Verdict::Fits,
                        Figure::Number(ratio),
                        Figure::Words("guide bushing".into()),
                    )
                    .because(format!("length over diameter {ratio:.1}: the bushing supports the cut")),
                );
                return;
            }
            ModeKind::Collet => (t.slenderness_warns, t.slenderness_limit, "slenderness-warns"),
            ModeKind::Supported => (t.support_warns, t.support_limit, "support-warns"),
        };
        let verdict = if ratio <= warns { Verdict::Fits } else { Verdict::Warns };
        let finding = Finding::new(self.name(), verdict, Figure::Number(ratio), Figure::Number(warns));
        let finding = finding.by(case, SLENDER, || {
            vec![
                Term::part("L", "most slender stretch from the free end", stretch, case.task.view.part.length.place),
                Term::plan("d", "plain bar that bends as much", slender.dia, "L^3 / d^4 as the sum over the steps"),
                Term::threshold("k", warns, threshold),
            ]
        });
        let strength = if ratio > limit { "well beyond" } else { "beyond" };
        out.push(if verdict == Verdict::Fits {
            finding.because(format!("length over diameter {ratio:.1} as it bends, up to {warns} is easy out of the collet"))
        } else {
            finding
                .because(format!("length over diameter {ratio:.1} as it bends ({stretch} from its free end), {strength} the {warns} of a rule of thumb"))
                .unless(support::ways(case, slender.dia).join(", or "))
        });
    }
}
