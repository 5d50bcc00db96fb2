//! Which cautions belong under an answer: where the work can hurt someone, the output says so and defers to the machine's
//! manual, local codes and the competent person.

use super::ranking::Row;
use crate::model::machine::{CoolantMedium, Machine};
use crate::model::part::{Part, Use};
use crate::quantity::Pressure;
use crate::tables::materials::Hazard;

/// Keys of the table of cautions, in the order in which they are printed.
pub fn keys(part: &Part, machines: &[Machine], rows: &[Row]) -> Vec<&'static str> {
    let mut keys = vec!["planning-limits", "lockout", "bar-whip", "first-article"];
    let possible: Vec<&Machine> =
        rows.iter().filter(|r| r.standing != super::ranking::Standing::Refused).map(|r| &machines[r.machine]).collect();
    let hazards = &part.material.hazards;
    let under_oil = possible.iter().any(|m| m.coolant.as_ref().is_some_and(|c| c.medium == CoolantMedium::Oil));
    let high_pressure = possible
        .iter()
        .any(|m| m.coolant.as_ref().and_then(|c| c.pressure).is_some_and(|p| p.value > Pressure::bar(20.0)));
    if under_oil && (hazards.contains(&Hazard::TitaniumChips) || matches!(part.material.iso_513, 'S' | 'M')) {
        keys.push("oil-fire");
    }
    let by_hazard = [
        (Hazard::TitaniumChips, "titanium-chips"),
        (Hazard::MagnesiumChips, "magnesium-chips"),
        (Hazard::AluminiumDust, "aluminium-dust"),
        (Hazard::Beryllium, "beryllium"),
        (Hazard::Lead, "lead"),
        (Hazard::CobaltChromium, "cobalt-chromium"),
        (Hazard::LongChips, "long-chips"),
        (Hazard::PlasticFire, "plastic-fire"),
    ];
    keys.extend(by_hazard.iter().filter(|(h, _)| hazards.contains(h)).map(|(_, key)| *key));
    if high_pressure {
        keys.push("high-pressure-coolant");
    }
    if possible.iter().any(|m| m.sub.is_some()) {
        keys.push("second-spindle");
    }
    if part.purpose == Use::Implant {
        keys.push("medical-validation");
        if under_oil {
            keys.push("implant-coolant");
        }
    }
    keys
}
