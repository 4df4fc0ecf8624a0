//! `[panel]`: what its label says, and what follows where the label is incomplete.

use super::coefficients::{cable, coefficients};
use super::cover::cover;
use super::dirt::{dirt, litter, soiling};
use crate::design::label::{Ideal, label_power_w};
use crate::design::parts::{CellTechnology, Front, Panel};
use crate::design::reader::{DesignReader, Input};
use crate::units::{Dimension, System, Uncertain, show};

const POWER: &str = "panel.rated_power";
const MAX_V: &str = "panel.max_power_voltage";
const OPEN_V: &str = "panel.open_circuit_voltage";
const SHORT_A: &str = "panel.short_circuit_current";
const CELLS: &str = "panel.cells";

/// Fill factors this far outside of the usual ones are pointed out.
const UNUSUAL: f64 = 0.05;

pub(in crate::design) fn panel(r: &mut DesignReader<'_>) -> Option<Panel<Uncertain>> {
    let technology = r.word("panel.technology", None);
    let front = r.word::<Front>("panel.front", None);
    let of = technology.unwrap_or(CellTechnology::Crystalline);
    let rated_power = r.quantity(POWER);
    let (max_v, open_v) = voltages(r, of);
    let max_a = rated_power.zip(max_v).map(|(p, v)| p.nominal / v.nominal);
    let short_rule = max_a.map(|a| Uncertain::exact(a * of.limits().short_over_max_power_a));
    let short_a = r.quantity_or(SHORT_A, short_rule);
    let cells = cells(r, of, max_v, open_v);
    let ideality = r.quantity("panel.ideality");
    let low_light = r.quantity("panel.low_light");
    let soiling = soiling(r);
    let blocking_drop = r.quantity("panel.blocking_drop");
    let heat_loss = r.quantity("panel.heat_loss");
    let heat_loss_wind = r.quantity("panel.heat_loss_wind");
    let incidence_loss = r.quantity("panel.incidence_loss");
    let coefficients = coefficients(r, of);
    let cable = cable(r);
    let cover = cover(r, cells);
    let dirt = dirt(r);
    let litter = litter(r);
    let snow = r.given("panel.snow") && r.flag("panel.snow")?;
    let panel = Panel {
        technology: technology?,
        front: front?,
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
        coefficients: coefficients?,
        cable: cable?,
        cover: cover?,
        dirt: dirt?,
        litter: litter?,
        snow,
    };
    let sound = voltages_agree(r, &panel) && fill_factor_agrees(r, &panel) && currents_agree(r, &panel);
    sound.then_some(panel)
}

/// Voltages at maximum power and without load; each follows from the other.
fn voltages(r: &mut DesignReader<'_>, technology: CellTechnology) -> (Option<Uncertain>, Option<Uncertain>) {
    let ratio = technology.limits().open_over_max_power_v;
    let given_open = if r.given(OPEN_V) { r.quantity(OPEN_V) } else { None };
    let from_open = given_open.map(|v| Uncertain::exact(v.nominal / ratio));
    let max_v = r.quantity_or(MAX_V, from_open);
    let from_max = max_v.map(|v| Uncertain::exact(v.nominal * ratio));
    let open_v = if r.given(OPEN_V) { given_open } else { r.quantity_or(OPEN_V, from_max) };
    if !r.given(MAX_V) && !r.given(OPEN_V) {
        let title = "the panel has no voltage";
        let help = "add `open_circuit_voltage` or `max_power_voltage` from its label to [panel]";
        r.contradiction(title, &[("panel", "missing in this table")], help);
    }
    (max_v, open_v)
}

/// Whether any cell can have the power, the voltage and the current of the label together: power over their product is the fill
/// factor. A label whose ranges leave room for what can be is drawn within that room.
fn fill_factor_agrees(r: &mut DesignReader<'_>, panel: &Panel<Uncertain>) -> bool {
    let (power, open, short) =
        (&panel.rated_power_w, &panel.open_circuit_voltage_v, &panel.short_circuit_current_a);
    let (least, most) = panel.technology.fill_factors(open.nominal / f64::from(panel.cells));
    let lowest = power.lowest() / (open.highest() * short.highest());
    let highest = power.highest() / (open.lowest() * short.lowest());
    let of_label = label_power_w(panel) / (open.nominal * short.nominal);
    let (usual_least, usual_most) = panel.technology.limits().usual;
    let shown = |value: f64, dimension: Dimension| show(value, dimension, 3, System::Si);
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    if lowest <= most + 1e-9 && highest >= least - 1e-9 {
        if of_label < usual_least - UNUSUAL || of_label > usual_most + UNUSUAL {
            let title = format!("a fill factor of {} is unusual", percent(of_label));
            let help = format!(
                "rated power over open-circuit voltage times short-circuit current is usually {} to {} %: check the three values",
                percent(usual_least).trim_end_matches(" %"),
                100.0 * usual_most,
            );
            let span = r.value(POWER).map_or(0..0, |v| v.span());
            r.warn(span, title, "unusual with this voltage and current", &help);
        }
        return true;
    }
    let title = format!(
        "no cell has a fill factor of {}: {} from {} and {}",
        percent(of_label),
        shown(label_power_w(panel), Dimension::Power),
        shown(open.nominal, Dimension::Voltage),
        shown(short.nominal, Dimension::Current),
    );
    let usual = 0.5 * (usual_least + usual_most);
    let fits_w = usual * open.nominal * short.nominal;
    let fits_v = power.nominal / (usual * short.nominal);
    let fits_a = power.nominal / (usual * open.nominal);
    let would = |value: f64, dimension: Dimension| format!("{} would be usual", shown(value, dimension));
    let places = [
        (POWER, would(fits_w, Dimension::Power)),
        (OPEN_V, format!("or {}", shown(fits_v, Dimension::Voltage))),
        (SHORT_A, format!("or {}", shown(fits_a, Dimension::Current))),
    ];
    let help = format!(
        "power over voltage times current is {} to {} for {} cells (Green 1982), usually {} to {}; {}",
        percent(least),
        percent(most),
        word_of(panel.technology),
        percent(usual_least),
        percent(usual_most),
        doubtful(r, panel),
    );
    let places: Vec<(&str, &str)> = places.iter().map(|(key, label)| (*key, label.as_str())).collect();
    r.contradiction(title, &places, &help);
    false
}

/// Which of power, voltage and current to doubt: the voltage has witnesses, the voltage at maximum power and the count of cells.
fn doubtful(r: &DesignReader<'_>, panel: &Panel<Uncertain>) -> &'static str {
    let open_v = panel.open_circuit_voltage_v.nominal;
    let (least_v, most_v) = panel.technology.limits().open_v;
    let by_voltage = r.given(MAX_V) && (0.65..0.90).contains(&(panel.max_power_voltage_v.nominal / open_v));
    let by_count = r.given(CELLS) && (least_v..=most_v).contains(&(open_v / f64::from(panel.cells)));
    match r.given(OPEN_V) && (by_voltage || by_count) {
        true => "the open-circuit voltage agrees with the rest of the label: doubt power or current",
        false => "read all three again",
    }
}

fn word_of(technology: CellTechnology) -> &'static str {
    match technology {
        CellTechnology::Crystalline => "crystalline",
        CellTechnology::Cigs => "CIGS",
        CellTechnology::Amorphous => "amorphous",
    }
}

/// Whether the voltage at maximum power lies below that without load, and above half of it.
fn voltages_agree(r: &mut DesignReader<'_>, panel: &Panel<Uncertain>) -> bool {
    let (max_v, open_v) = (&panel.max_power_voltage_v, &panel.open_circuit_voltage_v);
    // An exact one follows the other in each draw.
    let overlap = !max_v.is_exact() && max_v.highest() >= open_v.lowest();
    if max_v.nominal >= open_v.nominal || overlap {
        let title = "the voltage at maximum power must be below the open-circuit voltage";
        let help = "it is usually 80 to 85 % of it; if both are uncertain, their uncertainty ranges must not overlap";
        r.contradiction(title, &[(MAX_V, "not below ..."), (OPEN_V, "... this")], help);
        return false;
    }
    if 2.0 * max_v.nominal < open_v.nominal {
        let title = "the voltage at maximum power is less than half of the open-circuit voltage";
        let help = "the curve of a panel is bent outwards, so that its maximum power lies above half; usual are 80 to 85 %";
        r.contradiction(title, &[(MAX_V, "less than half of ..."), (OPEN_V, "... this")], help);
        return false;
    }
    let share = max_v.nominal / open_v.nominal;
    let ideal = Ideal::new(open_v.nominal / f64::from(panel.cells), 1.0);
    if share > ideal.max_power_v + 0.01
        && let Some(span) = r.value(MAX_V).map(|v| v.span())
    {
        let title = format!(
            "maximum power at {:.0} % of the open-circuit voltage is more than an ideal cell has",
            100.0 * share
        );
        let usual = 100.0 / panel.technology.limits().open_over_max_power_v;
        let help = format!("leave `max_power_voltage` out, and {usual:.0} % are taken");
        r.warn(span, title, "taken lower, at the same power", &help);
    }
    true
}

/// Whether the current at maximum power lies below that of a short circuit, and above half of it.
fn currents_agree(r: &mut DesignReader<'_>, panel: &Panel<Uncertain>) -> bool {
    let (max_v, short_a) = (&panel.max_power_voltage_v, &panel.short_circuit_current_a);
    let power_w = label_power_w(panel);
    let max_a = power_w / max_v.nominal;
    let which = if max_a >= short_a.nominal {
        "more than"
    } else if 2.0 * max_a < short_a.nominal {
        "less than half of"
    } else {
        return true;
    };
    let title = format!(
        "{power_w:.3} W at {:.4} V are {max_a:.3} A: {which} the short-circuit current",
        max_v.nominal
    );
    let places = [(SHORT_A, "this current"), (POWER, "this power"), (MAX_V, "at this voltage")];
    let help = "the current at maximum power is usually 90 to 95 % of the short-circuit current; check the three values";
    r.contradiction(title, &places, help);
    false
}

/// Cells in series, given or reckoned from the voltage at maximum power.
fn cells(
    r: &mut DesignReader<'_>,
    technology: CellTechnology,
    max_v: Option<Uncertain>,
    open_v: Option<Uncertain>,
) -> Option<f64> {
    let limits = technology.limits();
    let count = r.count(CELLS);
    let (lo, hi) = limits.open_v;
    let possible = |cells: f64, open_v: Uncertain| (lo..=hi).contains(&(open_v.nominal / cells));
    let cells = match count {
        Some(cells) => Some(cells as f64),
        None => max_v.map(|v| {
            let cells = (v.nominal / limits.max_power_v).round().max(1.0);
            // A voltage at maximum power that is off must not hide behind an impossible count.
            let by_open = open_v.filter(|open| !possible(cells, *open));
            by_open.map_or(cells, |open| (open.nominal / (0.5 * (lo + hi))).round().max(1.0))
        }),
    };
    if let Some((cells, open_v)) = cells.zip(open_v) {
        if !possible(cells, open_v) {
            let each = open_v.nominal / cells;
            let title = format!(
                "{cells} cells in series would have an open-circuit voltage of {each:.2} V each: {lo} to {hi} V are possible"
            );
            let places = [(CELLS, "too many or too few"), (OPEN_V, "for this voltage")];
            let witness = max_v.filter(|_| r.given(MAX_V)).map(|v| v.nominal / cells);
            let help = match witness.is_some_and(|v| (0.7 * lo..=0.9 * hi).contains(&v)) {
                true => "the count agrees with the voltage at maximum power: doubt the open-circuit voltage",
                false => "count the cells, or leave `cells` out",
            };
            r.contradiction(title, &places, help);
            return None;
        }
        if count.is_none() {
            r.inputs.push(Input { key: CELLS.into(), value: cells.to_string(), given: false });
        }
    }
    cells
}
