//! Kinds of cutting tools, as a setter names them: what the plan needs, and what a shop file says stands on a machine.

use crate::quantity::{Angle, Length};

/// What kind of tool it is, for setting times and for merging.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ToolKind {
    TurningTool,
    FinishingTool,
    BackTurningTool,
    GroovingTool,
    CutOffTool,
    ThreadingTool,
    KnurlingTool,
    CentreDrill,
    Countersink,
    Drill,
    DeepHoleDrill,
    PilotDrill,
    SingleLipDrill,
    Reamer,
    BoringBar,
    InternalGroovingTool,
    FaceGroovingTool,
    Tap,
    Broach,
    FormBroach,
    Die,
    LiveDrill,
    EndMill,
    ThreadMill,
    SlotMill,
    StraddleMill,
    BallMill,
    EngravingTool,
    WhirlingHead,
    RollingHead,
    PolygonHead,
    InternalThreadingTool,
}

impl ToolKind {
    /// Every kind, in the order of the list.
    pub const ALL: &'static [ToolKind] = &[
        ToolKind::TurningTool,
        ToolKind::FinishingTool,
        ToolKind::BackTurningTool,
        ToolKind::GroovingTool,
        ToolKind::CutOffTool,
        ToolKind::ThreadingTool,
        ToolKind::KnurlingTool,
        ToolKind::CentreDrill,
        ToolKind::Countersink,
        ToolKind::Drill,
        ToolKind::DeepHoleDrill,
        ToolKind::PilotDrill,
        ToolKind::SingleLipDrill,
        ToolKind::Reamer,
        ToolKind::BoringBar,
        ToolKind::InternalGroovingTool,
        ToolKind::FaceGroovingTool,
        ToolKind::Tap,
        ToolKind::Broach,
        ToolKind::FormBroach,
        ToolKind::Die,
        ToolKind::LiveDrill,
        ToolKind::EndMill,
        ToolKind::ThreadMill,
        ToolKind::SlotMill,
        ToolKind::StraddleMill,
        ToolKind::BallMill,
        ToolKind::EngravingTool,
        ToolKind::WhirlingHead,
        ToolKind::RollingHead,
        ToolKind::PolygonHead,
        ToolKind::InternalThreadingTool,
    ];

    /// The setter's word.
    pub fn word(self) -> &'static str {
        match self {
            ToolKind::TurningTool => "turning tool",
            ToolKind::FinishingTool => "finishing tool",
            ToolKind::BackTurningTool => "back-turning tool",
            ToolKind::GroovingTool => "grooving tool",
            ToolKind::CutOffTool => "cut-off tool",
            ToolKind::ThreadingTool => "threading tool",
            ToolKind::KnurlingTool => "knurling tool",
            ToolKind::CentreDrill => "centre drill",
            ToolKind::Countersink => "countersink",
            ToolKind::Drill => "drill",
            ToolKind::DeepHoleDrill => "deep-hole drill",
            ToolKind::PilotDrill => "pilot drill",
            ToolKind::SingleLipDrill => "single-lip drill",
            ToolKind::Reamer => "reamer",
            ToolKind::BoringBar => "boring bar",
            ToolKind::InternalGroovingTool => "internal grooving tool",
            ToolKind::FaceGroovingTool => "face-grooving tool",
            ToolKind::Tap => "tap",
            ToolKind::Broach => "broach",
            ToolKind::FormBroach => "form broach",
            ToolKind::Die => "die",
            ToolKind::LiveDrill => "live drill",
            ToolKind::EndMill => "end mill",
            ToolKind::ThreadMill => "thread mill",
            ToolKind::SlotMill => "slot mill",
            ToolKind::StraddleMill => "straddle mill",
            ToolKind::BallMill => "ball mill",
            ToolKind::EngravingTool => "engraving tool",
            ToolKind::WhirlingHead => "whirling head",
            ToolKind::RollingHead => "rolling head",
            ToolKind::PolygonHead => "polygon head",
            ToolKind::InternalThreadingTool => "internal threading tool",
        }
    }

    /// The setter's word with the form that it is ground for or else its size, and the angle of a driven tool that leans:
    /// `tap M4 x 0.7`, `broach hexalobe 15`, `live drill 1.5 mm at 35 deg`.
    pub fn named(self, form: Option<&str>, dia: Option<Length>, angle: Option<Angle>) -> String {
        let mut words = self.word().to_owned();
        match (form, dia.filter(|d| *d > Length::ZERO)) {
            (Some(form), _) => words += &format!(" {form}"),
            (None, Some(dia)) => words += &format!(" {dia}"),
            (None, None) => {}
        }
        let straight = |a: Angle| [0.0, 90.0, 180.0].iter().any(|s| (a.to_deg() - s).abs() < 1e-6);
        if let Some(angle) = angle.filter(|a| self.is_driven() && !straight(*a)) {
            words += &format!(" at {angle}");
        }
        words
    }

    /// Whether tools of this kind stand in driven places.
    pub fn is_driven(self) -> bool {
        matches!(
            self,
            ToolKind::LiveDrill
                | ToolKind::EndMill
                | ToolKind::ThreadMill
                | ToolKind::SlotMill
                | ToolKind::StraddleMill
                | ToolKind::BallMill
                | ToolKind::EngravingTool
                | ToolKind::WhirlingHead
                | ToolKind::PolygonHead
        )
    }

    /// The kind of a setter's word; nothing where it is none.
    pub fn from_word(word: &str) -> Option<ToolKind> {
        ToolKind::ALL.iter().copied().find(|kind| kind.word() == word)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_distinct_and_read_back() {
        for kind in ToolKind::ALL {
            assert_eq!(ToolKind::from_word(kind.word()), Some(*kind));
        }
    }
}
