//! `[battery]`: what the label says, and what follows from the chemistry.

use crate::design::parts::{Battery, Chemistry, Usual};
use crate::design::reader::DesignReader;
use crate::design::rules::{CYCLES_SD, FROST_UNLOCK_K, NO_FROST_LOCK_C};
use crate::units::{Spread, Uncertain};

pub(in crate::design) fn battery(r: &mut DesignReader<'_>) -> Option<Battery<Uncertain>> {
    let chemistry = r.word::<Chemistry>("battery.chemistry", None);
    let voltage = r.exact("battery.voltage");
    let cells = chemistry.zip(voltage).and_then(|(chemistry, voltage)| cells(r, &chemistry.usual(), voltage));
    let capacity = r.quantity("battery.capacity");
    let capacity_left = r.quantity("battery.capacity_left");
    // Without a chemistry the rest is still read, against the values of any.
    let usual = chemistry.unwrap_or(Chemistry::LithiumIon).usual();
    let resistance_rule = cells.zip(capacity).map(|(n, q)| {
        let (lo, hi) = usual.resistance_ohm_ah;
        Uncertain::between(lo * f64::from(n) / q.nominal, hi * f64::from(n) / q.nominal)
    });
    let resistance = r.quantity_or("battery.resistance", resistance_rule);
    let coulombic = r.quantity_or("battery.coulombic_efficiency", Some(usual.coulombic_efficiency));
    let self_discharge = r.quantity_or("battery.self_discharge", Some(usual.self_discharge_month));
    let temperature_lag = r.quantity("battery.temperature_lag");
    let box_absorptance = r.quantity("battery.box_absorptance");
    let kept_above_freezing = r.flag("battery.kept_above_freezing");
    let (frost_lock, frost_unlock) = frost_lock(r);
    let n100 = usual.cycles_at_full_depth;
    let cycles_rule = Uncertain { nominal: n100, spread: Spread::Normal { sd: CYCLES_SD * n100 } };
    let cycles = r.quantity_or("battery.cycles_at_full_depth", Some(cycles_rule));
    let exponent = r.quantity_or("battery.cycle_exponent", Some(Uncertain::exact(usual.cycle_exponent)));
    let (life_lo, life_hi) = usual.calendar_life_y;
    let life = r.quantity_or("battery.calendar_life", Some(Uncertain::between(life_lo, life_hi)));
    let (kibam_c, kibam_k) = match usual.kibam {
        Some((c, k)) => (
            r.quantity_or("battery.kibam_c", Some(Uncertain::between(c.0, c.1))),
            r.quantity_or("battery.kibam_k", Some(Uncertain::between(k.0, k.1))),
        ),
        // All the charge is available at once.
        None => (Some(Uncertain::exact(1.0)), Some(Uncertain::exact(0.0))),
    };
    Some(Battery {
        chemistry: chemistry?,
        cells: cells?,
        capacity_ah: capacity?,
        capacity_left: capacity_left?,
        resistance_ohm: resistance?,
        coulombic_efficiency: coulombic?,
        self_discharge_month: self_discharge?,
        temperature_lag_h: temperature_lag?,
        box_absorptance: box_absorptance?,
        kept_above_freezing: kept_above_freezing?,
        frost_lock_c: frost_lock?,
        frost_unlock_c: frost_unlock?,
        cycles_at_full_depth: cycles?,
        cycle_exponent: exponent?,
        calendar_life_y: life?,
        kibam_c: kibam_c?,
        kibam_k_per_h: kibam_k?,
    })
}

/// Temperatures at which frost locks and unlocks charging.
fn frost_lock(r: &mut DesignReader<'_>) -> (Option<Uncertain>, Option<Uncertain>) {
    const LOCK: &str = "battery.frost_lock";
    const UNLOCK: &str = "battery.frost_unlock";
    let lock = r.quantity(LOCK);
    let rule = lock.map(|c| Uncertain::exact(c.nominal + FROST_UNLOCK_K));
    let unlock = r.quantity_or(UNLOCK, rule);
    if let Some((lock, unlock)) = lock.zip(unlock)
        && unlock.nominal < lock.nominal
    {
        let title = "charging must not be allowed again at a lower temperature than it is forbidden at";
        r.contradiction(title, &[(UNLOCK, "below ..."), (LOCK, "... this")], "leave `frost_unlock` out");
    }
    if lock.is_some_and(|c| c.nominal <= NO_FROST_LOCK_C)
        && let Some(span) = r.value(LOCK).map(|v| v.span())
    {
        let title =
            "without a frost lock lithium cells are charged in frost, which harms most of them for good";
        let help = "only for cells whose data sheet allows it; else keep the battery above freezing";
        r.warn(span, title, "charged in any frost", help);
    }
    (lock, unlock)
}

/// Cells in series, from the nominal voltage of the pack.
fn cells(r: &mut DesignReader<'_>, usual: &Usual, voltage: f64) -> Option<u32> {
    // Makers round: 7.4, 11.1 and 14.8 V, but also 14.4 V.
    for cell in std::iter::once(usual.cell_v).chain(usual.cell_v_also) {
        let n = (voltage / cell).round();
        if n >= 1.0 && (voltage - n * cell).abs() < 0.02 * voltage {
            return Some(n as u32);
        }
    }
    let cell = usual.cell_v;
    let below = (voltage / cell).floor().max(1.0);
    let span = r.value("battery.voltage")?.span();
    let title = format!("{voltage} V is not a whole number of cells of {cell} V");
    let pack = |n: f64| format!("{n} cell{} = {:.1} V", if n == 1.0 { "" } else { "s" }, n * cell);
    let help = format!("{}, {}", pack(below), pack(below + 1.0));
    r.error(span, title, "does not fit the chemistry", &help);
    None
}
