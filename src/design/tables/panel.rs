//! `[panel]`: what its label says, and what follows where the label is incomplete.

use crate::design::parts::Panel;
use crate::design::reader::{DesignReader, Input};
use crate::design::rules::{CELL_MAX_POWER_V, OPEN_OVER_MAX_POWER_V, SHORT_OVER_MAX_POWER_A};
use crate::units::Uncertain;

/// Open-circuit voltages that one silicon cell can have, V.
const CELL_OPEN_V: (f64, f64) = (0.45, 0.78);

const POWER: &str = "panel.rated_power";
const MAX_V: &str = "panel.max_power_voltage";
const OPEN_V: &str = "panel.open_circuit_voltage";
const SHORT_A: &str = "panel.short_circuit_current";
const CELLS: &str = "panel.cells";

pub(in crate::design) fn panel(r: &mut DesignReader<'_>) -> Option<Panel<Uncertain>> {
    let rated_power = r.quantity(POWER);
    let (max_v, open_v) = voltages(r);
    let max_a = rated_power.zip(max_v).map(|(p, v)| p.nominal / v.nominal);
    let short_a = r.quantity_or(SHORT_A, max_a.map(|a| Uncertain::exact(a * SHORT_OVER_MAX_POWER_A)));
    label_agrees(r, rated_power, (max_v, open_v), short_a);
    let cells = cells(r, max_v, open_v);
    let ideality = r.quantity("panel.ideality");
    let low_light = r.quantity("panel.low_light");
    let soiling = r.quantity("panel.soiling");
    let blocking_drop = r.quantity("panel.blocking_drop");
    let heat_loss = r.quantity("panel.heat_loss");
    let heat_loss_wind = r.quantity("panel.heat_loss_wind");
    let incidence_loss = r.quantity("panel.incidence_loss");
    Some(Panel {
        rated_power_w: rated_power?,
        open_circuit_voltage_v: open_v?,
        short_circuit_current_a: short_a?,
        max_power_voltage_v: max_v?,
        cells: cells? as u32,
        ideality: ideality?,
        low_light: low_light?,
        soiling: soiling?,
        blocking_drop_v: blocking_drop?,
        heat_loss_w_m2_k: heat_loss?,
        heat_loss_wind_w_s_m3_k: heat_loss_wind?,
        incidence_loss_b0: incidence_loss?,
    })
}

/// Voltages at maximum power and without load; each follows from the other.
fn voltages(r: &mut DesignReader<'_>) -> (Option<Uncertain>, Option<Uncertain>) {
    let given_open = if r.given(OPEN_V) { r.quantity(OPEN_V) } else { None };
    let from_open = given_open.map(|v| Uncertain::exact(v.nominal / OPEN_OVER_MAX_POWER_V));
    let max_v = r.quantity_or(MAX_V, from_open);
    let from_max = max_v.map(|v| Uncertain::exact(v.nominal * OPEN_OVER_MAX_POWER_V));
    let open_v = if r.given(OPEN_V) { given_open } else { r.quantity_or(OPEN_V, from_max) };
    if !r.given(MAX_V) && !r.given(OPEN_V) {
        let title = "the panel has no voltage";
        let help = "add `open_circuit_voltage` or `max_power_voltage` from its label to [panel]";
        r.contradiction(title, &[("panel", "missing in this table")], help);
    }
    (max_v, open_v)
}

/// Checks that maximum power lies below both the open-circuit voltage and the short-circuit current.
fn label_agrees(
    r: &mut DesignReader<'_>,
    power: Option<Uncertain>,
    (max_v, open_v): (Option<Uncertain>, Option<Uncertain>),
    short_a: Option<Uncertain>,
) {
    if let Some((max_v, open_v)) = max_v.zip(open_v)
        && max_v.highest() >= open_v.lowest()
    {
        let title = "the voltage at maximum power must be below the open-circuit voltage";
        let help = "it is usually 80 to 85 % of it; if both are uncertain, their uncertainty ranges must not overlap";
        r.contradiction(title, &[(MAX_V, "not below ..."), (OPEN_V, "... this")], help);
    }
    let (Some(power), Some(max_v), Some(short_a)) = (power, max_v, short_a) else { return };
    let max_a = power.nominal / max_v.nominal;
    if max_a >= short_a.nominal {
        let title = format!(
            "{} W at {:.4} V are {max_a:.3} A: more than the short-circuit current",
            power.nominal, max_v.nominal
        );
        let places = [(SHORT_A, "less than that"), (POWER, "this power"), (MAX_V, "at this voltage")];
        let help = "the current at maximum power is usually 90 to 95 % of the short-circuit current; check the three values";
        r.contradiction(title, &places, help);
    }
}

/// Cells in series, given or reckoned from the voltage at maximum power.
fn cells(r: &mut DesignReader<'_>, max_v: Option<Uncertain>, open_v: Option<Uncertain>) -> Option<f64> {
    let count = r.count(CELLS);
    let cells = match count {
        Some(cells) => Some(cells as f64),
        None => max_v.map(|v| (v.nominal / CELL_MAX_POWER_V).round().max(1.0)),
    };
    if let Some((cells, open_v)) = cells.zip(open_v) {
        let each = open_v.nominal / cells;
        let (lo, hi) = CELL_OPEN_V;
        if !(lo..=hi).contains(&each) {
            let title = format!(
                "{cells} cells in series would have an open-circuit voltage of {each:.2} V each: {lo} to {hi} V are possible"
            );
            let places = [(CELLS, "too many or too few"), (OPEN_V, "for this voltage")];
            r.contradiction(title, &places, "count the cells, or leave `cells` out");
        }
        if count.is_none() {
            r.inputs.push(Input { key: CELLS.into(), value: cells.to_string(), given: false });
        }
    }
    cells
}
