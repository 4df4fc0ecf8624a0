//! `[panel]`: the temperature coefficients of the label, and the cable.

use crate::design::parts::{Cable, CellTechnology, Coefficients};
use crate::design::reader::DesignReader;
use crate::units::Uncertain;

const CURRENT: &str = "panel.current_coefficient";
const VOLTAGE: &str = "panel.voltage_coefficient";
const POWER: &str = "panel.power_coefficient";

/// A power that falls by less than current and voltage together is pointed out from here on, 1/K: rounded labels are that far off.
const TOO_MILD_PER_K: f64 = 0.000_5;

/// The coefficients; where the label has some, the others are usual ones.
pub(super) fn coefficients(
    r: &mut DesignReader<'_>,
    technology: CellTechnology,
) -> Option<Coefficients<Uncertain>> {
    let given = [CURRENT, VOLTAGE, POWER].iter().any(|key| r.given(key));
    let (lo, hi) = technology.limits().power_per_k;
    let current_per_k = r.quantity(CURRENT);
    let voltage_per_k = r.quantity(VOLTAGE);
    let power_per_k = r.quantity_or(POWER, given.then(|| Uncertain::between(lo, hi)));
    if !given {
        return Some(Coefficients::default());
    }
    let c = Coefficients {
        given,
        current_per_k: current_per_k?,
        voltage_per_k: voltage_per_k?,
        power_per_k: power_per_k?,
    };
    let together = c.current_per_k.nominal + c.voltage_per_k.nominal;
    if r.given(POWER)
        && r.given(VOLTAGE)
        && c.power_per_k.nominal > together + TOO_MILD_PER_K
        && let Some(span) = r.value(POWER).map(|v| v.span())
    {
        let title = "the power falls by less than current and voltage together";
        let help = "it usually falls by 0.05 to 0.15 %/K more than they do: check the three coefficients";
        r.warn(span, title, "unusual with this voltage", help);
    }
    Some(c)
}

/// The cable.
pub(super) fn cable(r: &mut DesignReader<'_>) -> Option<Cable<Uncertain>> {
    let (length, ohm) = (r.given("panel.cable_length"), r.given("panel.cable_resistance"));
    let section = r.quantity("panel.cable_section");
    let default = Cable::default();
    let length = if length { r.quantity("panel.cable_length") } else { Some(default.length_m) };
    let ohm = if ohm { r.quantity("panel.cable_resistance") } else { Some(default.resistance_ohm) };
    Some(Cable { length_m: length?, section_mm2: section?, resistance_ohm: ohm? })
}
