//! Bone-screw threads after ISO 5835. Every row is provisional: the standard itself was not read.

use crate::quantity::{Angle, Length};
use crate::tables::{Access, cite, key, read};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The two asymmetrical forms of ISO 5835.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
pub enum BoneForm {
    /// Shallow, for cortical bone.
    #[serde(rename = "HA")]
    Shallow,
    /// Deep, for cancellous bone.
    #[serde(rename = "HB")]
    Deep,
}

/// A bone-screw thread.
#[derive(Clone, Debug, PartialEq)]
pub struct BoneRow {
    /// `HA 3.5`.
    pub designation: String,
    pub form: BoneForm,
    pub major: Length,
    pub core: Length,
    pub pitch: Length,
    pub head_dia: Length,
    /// Flank angle on the leading side.
    pub leading_flank: Angle,
    /// Flank angle on the trailing side.
    pub trailing_flank: Angle,
    /// Not read in the standard: to be checked against it before use.
    pub provisional: bool,
    pub source: &'static str,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Flanks {
    #[serde(rename = "HA")]
    shallow: [f64; 2],
    #[serde(rename = "HB")]
    deep: [f64; 2],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Rows {
    source: String,
    access: Access,
    flanks: Flanks,
    rows: Vec<(BoneForm, f64, f64, f64, f64)>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    bone: Rows,
}

static TABLE: LazyLock<BTreeMap<(BoneForm, i64), BoneRow>> = LazyLock::new(|| {
    let table = read::<File>("bone-screw threads", include_str!("bone.yaml")).bone;
    let source: &'static str = Box::leak(cite(&table.source, table.access).into_boxed_str());
    let row = |&(form, size, core, pitch, head): &(BoneForm, f64, f64, f64, f64)| {
        let (letters, [leading, trailing]) = match form {
            BoneForm::Shallow => ("HA", table.flanks.shallow),
            BoneForm::Deep => ("HB", table.flanks.deep),
        };
        let row = BoneRow {
            designation: format!("{letters} {size}"),
            form,
            major: Length::mm(size),
            core: Length::mm(core),
            pitch: Length::mm(pitch),
            head_dia: Length::mm(head),
            leading_flank: Angle::deg(leading),
            trailing_flank: Angle::deg(trailing),
            provisional: table.access != Access::Read,
            source,
        };
        ((form, key(row.major)), row)
    };
    table.rows.iter().map(row).collect()
});

/// The bone-screw thread of a form (`HA`, `HB`) and a size.
pub fn bone(form: &str, size: Length) -> Option<&'static BoneRow> {
    let form = match form {
        "HA" | "ha" => BoneForm::Shallow,
        "HB" | "hb" => BoneForm::Deep,
        _ => return None,
    };
    TABLE.get(&(form, key(size)))
}

/// All bone-screw threads of the table.
pub fn bone_rows() -> impl Iterator<Item = &'static BoneRow> {
    TABLE.values()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_say_that_they_are_provisional() {
        let ha = bone("HA", Length::mm(3.5)).unwrap();
        assert_eq!((ha.core, ha.pitch), (Length::mm(2.4), Length::mm(1.25)));
        assert!(bone_rows().all(|r| r.provisional && r.source.contains("memory") && r.core < r.major));
        assert!(bone("HA", Length::mm(6.5)).is_none() && bone("HC", Length::mm(3.5)).is_none());
        assert_eq!(bone("HB", Length::mm(6.5)).unwrap().leading_flank, Angle::deg(25.0));
    }
}
