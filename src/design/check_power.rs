//! Battery, electronics and pump: values held against one another, defaults that follow.

use super::chemistry::Usual;
use super::reader::DesignReader;
use super::{Battery, BenchPoint, Charging, Chemistry, Electronics, FedFirst, Nozzle, Pump, PumpKind, forms};
use crate::units::{Spread, Uncertain};

pub(super) fn battery(s: &mut DesignReader<'_>) -> Option<Battery<Uncertain>> {
    let chemistry = s.word("battery.chemistry", "").map(|word| match word {
        "lithium ion" => Chemistry::LithiumIon,
        "lithium iron phosphate" => Chemistry::LithiumIronPhosphate,
        "lead-acid" => Chemistry::LeadAcid,
        _ => Chemistry::NickelMetalHydride,
    });
    let voltage = s.exact("battery.voltage");
    let cells = chemistry.zip(voltage).and_then(|(chemistry, voltage)| cells(s, &chemistry.usual(), voltage));
    let capacity = s.quantity("battery.capacity");
    let capacity_left = s.quantity("battery.capacity_left");
    // Without a chemistry the rest is still read, against the values of any.
    let usual = chemistry.unwrap_or(Chemistry::LithiumIon).usual();
    let resistance_rule = cells.zip(capacity).map(|(n, q)| {
        let (lo, hi) = usual.resistance_ohm_ah;
        Uncertain::between(lo * f64::from(n) / q.nominal, hi * f64::from(n) / q.nominal)
    });
    let resistance = s.quantity_or("battery.resistance", resistance_rule);
    let coulombic = s.quantity_or("battery.coulombic_efficiency", Some(usual.coulombic_efficiency));
    let self_discharge = s.quantity_or("battery.self_discharge", Some(usual.self_discharge_month));
    let temperature_lag = s.quantity("battery.temperature_lag");
    let kept_above_freezing = s.flag("battery.kept_above_freezing");
    let n100 = usual.cycles_at_full_depth;
    let cycles_rule = Uncertain { nominal: n100, spread: Spread::Normal { sd: 0.15 * n100 } };
    let cycles = s.quantity_or("battery.cycles_at_full_depth", Some(cycles_rule));
    let exponent = s.quantity_or("battery.cycle_exponent", Some(Uncertain::exact(usual.cycle_exponent)));
    let (life_lo, life_hi) = usual.calendar_life_y;
    let life = s.quantity_or("battery.calendar_life", Some(Uncertain::between(life_lo, life_hi)));
    let (kibam_c, kibam_k) = match usual.kibam {
        Some((c, k)) => (
            s.quantity_or("battery.kibam_c", Some(Uncertain::between(c.0, c.1))),
            s.quantity_or("battery.kibam_k", Some(Uncertain::between(k.0, k.1))),
        ),
        // All the charge is at hand.
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
        kept_above_freezing: kept_above_freezing?,
        cycles_at_full_depth: cycles?,
        cycle_exponent: exponent?,
        calendar_life_y: life?,
        kibam_c: kibam_c?,
        kibam_k_per_h: kibam_k?,
    })
}

/// Cells in series, from the nominal voltage of the pack.
fn cells(s: &mut DesignReader<'_>, usual: &Usual, voltage: f64) -> Option<u32> {
    // Makers round: 7.4, 11.1 and 14.8 V, but also 14.4 V.
    for cell in std::iter::once(usual.cell_v).chain(usual.cell_v_also) {
        let n = (voltage / cell).round();
        if n >= 1.0 && (voltage - n * cell).abs() < 0.02 * voltage {
            return Some(n as u32);
        }
    }
    let cell = usual.cell_v;
    let below = (voltage / cell).floor().max(1.0);
    let span = s.value("battery.voltage")?.span();
    let title = format!("{voltage} V is no whole number of cells of {cell} V");
    let help = format!(
        "{below} cells make {:.1} V, {} make {:.1} V",
        below * cell,
        below + 1.0,
        (below + 1.0) * cell
    );
    s.error(span, title, "does not fit the chemistry", &help);
    None
}

/// How long a battery must last with the pump, min: the plant is stepped by the minute.
const LEAST_RUN_MIN: f64 = 2.0;

pub(super) fn electronics(
    s: &mut DesignReader<'_>,
    battery: Option<&Battery<Uncertain>>,
    draw_a: Option<f64>,
) -> Option<Electronics<Uncertain>> {
    const CHARGE: &str = "electronics.charge_voltage";
    const CUT_OFF: &str = "electronics.cut_off";
    const RECONNECT: &str = "electronics.reconnect";
    let has_battery = s.given("battery");
    let rule = if has_battery { "pwm" } else { "direct" };
    let charging = s.word("electronics.charging", rule).map(|word| match word {
        "mppt" => Charging::Mppt,
        "pwm" => Charging::Pwm,
        _ => Charging::Direct,
    });
    let efficiency = s.quantity("electronics.charge_efficiency");
    let usual = battery.map_or(Chemistry::LithiumIon, |b| b.chemistry).usual();
    let n = battery.map_or(1.0, |b| f64::from(b.cells));
    let charge = s.quantity_or(CHARGE, Some(Uncertain::exact(usual.charge_v * n)));
    let cut_off = s.quantity_or(CUT_OFF, Some(Uncertain::exact(usual.cut_off_v * n)));
    // A cut-off set high moves the reconnect along, so that the usual gap stays.
    let gap = (usual.reconnect_v - usual.cut_off_v) * n;
    let reconnect_rule = cut_off.map_or(usual.reconnect_v * n, |v| {
        if s.given(CUT_OFF) { (v.nominal + gap).max(usual.reconnect_v * n) } else { usual.reconnect_v * n }
    });
    let reconnect = s.quantity_or(RECONNECT, Some(Uncertain::exact(reconnect_rule)));
    if battery.is_some()
        && let (Some(charge), Some(cut_off), Some(reconnect)) = (charge, cut_off, reconnect)
    {
        limits(s, &usual, n, charge, cut_off, reconnect);
        if let Some((battery, draw_a)) = battery.zip(draw_a) {
            let at_hand_ah = battery.usable_capacity_ah() * battery.kibam_c.nominal;
            let least_ah = LEAST_RUN_MIN / 60.0 * draw_a;
            if at_hand_ah < least_ah {
                let span = s.value("battery.capacity").map_or(0..0, |v| v.span());
                let title = format!("the pump empties this battery within {LEAST_RUN_MIN} minutes");
                let label = format!("{at_hand_ah:.3} Ah at hand");
                let help =
                    format!("a day is simulated minute by minute: {least_ah:.3} Ah at hand are the least");
                s.error(span, title, &label, &help);
            }
            let rebound = draw_a * battery.resistance_ohm.nominal;
            if reconnect.nominal - cut_off.nominal < rebound && reconnect.lowest() > cut_off.highest() {
                let span = s.value(RECONNECT).or(s.value(CUT_OFF)).map_or(0..0, |v| v.span());
                let title = "the pump will chatter between cut-off and reconnect";
                let label = format!("without the pump the voltage jumps back by {rebound:.2} V");
                s.warn(span, title, &label, "raise `reconnect`, or lower the pump's draw");
            }
        }
    }
    let standby_rule =
        if has_battery { Uncertain::likely(0.001, 0.002, 0.005) } else { Uncertain::exact(0.0) };
    let standby = s.quantity_or("electronics.standby_current", Some(standby_rule));
    let fed_first = s.word("electronics.fed_first", "").map(|word| match word {
        "mount" => FedFirst::Mount,
        _ => FedFirst::Pump,
    });
    let rate = battery.map_or(1.0, |b| usual.charge_rate * b.capacity_ah.nominal);
    let current_max = s.quantity_or("electronics.charge_current_max", Some(Uncertain::exact(rate)));
    Some(Electronics {
        charging: if has_battery { charging? } else { Charging::Direct },
        charge_efficiency: efficiency?,
        charge_voltage_v: charge?,
        cut_off_v: cut_off?,
        reconnect_v: reconnect?,
        standby_current_a: standby?,
        fed_first: fed_first?,
        charge_current_max_a: current_max?,
    })
}

/// cut-off < reconnect < charge voltage, and none beyond what the chemistry bears.
fn limits(
    s: &mut DesignReader<'_>,
    usual: &Usual,
    n: f64,
    charge: Uncertain,
    cut_off: Uncertain,
    reconnect: Uncertain,
) {
    const CHARGE: (&str, &str) = ("electronics.charge_voltage", "the charge voltage");
    const CUT_OFF: (&str, &str) = ("electronics.cut_off", "the cut-off");
    const RECONNECT: (&str, &str) = ("electronics.reconnect", "the reconnect voltage");
    let mut must_exceed = |upper: (&str, &str), lower: (&str, &str), hi: Uncertain, lo: Uncertain| {
        if hi.lowest() <= lo.highest() {
            let title = format!("{} must be above {}", upper.1, lower.1);
            let help = format!("{} is {:.2} V here, {} {:.2} V", lower.1, lo.nominal, upper.1, hi.nominal);
            s.contradiction(title, &[(upper.0, "not above ..."), (lower.0, "... this")], &help);
        }
    };
    must_exceed(RECONNECT, CUT_OFF, reconnect, cut_off);
    must_exceed(CHARGE, RECONNECT, charge, reconnect);
    if charge.highest() > usual.charge_v_max * n + 1e-9
        && let Some(value) = s.value(CHARGE.0)
    {
        let title = format!("{:.2} V a cell would harm this battery", charge.highest() / n);
        let help = format!(
            "{n} cells of this chemistry bear {:.2} V, usual is {:.2} V",
            usual.charge_v_max * n,
            usual.charge_v * n
        );
        s.error(value.span(), title, "too high", &help);
    }
    if cut_off.lowest() < usual.empty_v * n - 1e-9
        && let Some(value) = s.value(CUT_OFF.0)
    {
        let title =
            format!("a cut-off of {:.2} V a cell would empty this battery to its harm", cut_off.lowest() / n);
        let help =
            format!("{n} cells: not below {:.2} V, usual is {:.2} V", usual.empty_v * n, usual.cut_off_v * n);
        s.error(value.span(), title, "too low", &help);
    }
}

pub(super) fn pump(s: &mut DesignReader<'_>) -> Option<Pump<Uncertain>> {
    const START: &str = "pump.start_voltage";
    const STOP: &str = "pump.stop_voltage";
    let kind = s.word("pump.kind", "").map(|word| match word {
        "brushed" => PumpKind::Brushed,
        _ => PumpKind::Electronic,
    });
    let brushed = kind == Some(PumpKind::Brushed);
    let bench = forms::bench(s);
    let ends = bench.as_ref().and_then(|b| Some((b.first()?.clone(), b.last()?.clone())));
    let nozzle = nozzle(s);
    let highest_rule = ends.as_ref().map(|(_, last)| Uncertain::exact(1.2 * last.voltage_v.nominal));
    let highest = s.quantity_or("pump.highest_voltage", highest_rule);
    if let Some((highest, (_, last))) = highest.zip(ends.as_ref())
        && highest.highest() < last.voltage_v.nominal
    {
        let title = "the pump was measured above the highest voltage it bears";
        let places = [("pump.highest_voltage", "below ..."), ("pump.bench", "... the last row of this")];
        s.contradiction(title, &places, "raise `highest_voltage` or drop the row");
    }
    let friction = bench.as_deref().map(friction_current_a);
    let break_rule = friction.map(|a| Uncertain::between(1.3 * a, 2.1 * a));
    let winding_rule = ends.as_ref().map(|(_, last)| {
        let whole = last.voltage_v.nominal / last.current_a.nominal;
        Uncertain::likely(0.1 * whole, 0.2 * whole, 0.3 * whole)
    });
    let break_away = s.quantity_or("pump.break_away_current", break_rule);
    let winding = s.quantity_or("pump.winding_resistance", winding_rule);
    let start_rule = if brushed {
        break_away.zip(winding).map(|(a, r)| Uncertain::exact(a.nominal * r.nominal))
    } else if let Some(stop) = s.given(STOP).then(|| s.quantity(STOP)).flatten() {
        Some(Uncertain::exact(stop.nominal / STOP_OVER_START))
    } else {
        ends.as_ref().map(|(first, last)| {
            let half = last.voltage_v.nominal;
            let most = first.voltage_v.nominal.min(0.56 * half);
            Uncertain::between(0.48 / 0.56 * most, most)
        })
    };
    let start = s.quantity_or(START, start_rule);
    let stop_rule = start.map(|v| {
        let share = if brushed { 0.5 } else { STOP_OVER_START };
        Uncertain::exact((share * v.nominal).min(v.lowest()))
    });
    let stop = s.quantity_or(STOP, stop_rule);
    if let Some((start, stop)) = start.zip(stop)
        && stop.highest() > start.lowest() + 1e-12
    {
        let title = "the pump must not stop at a higher voltage than it starts at";
        s.contradiction(title, &[(STOP, "above ..."), (START, "... this")], "keep their spreads apart, too");
    }
    if let Some((start, highest)) = start.zip(highest)
        && start.nominal > highest.nominal
    {
        let places = [(START, "above ..."), ("pump.highest_voltage", "... this")];
        s.contradiction("the pump starts only above the highest voltage it bears", &places, "");
    }
    let flow = s.quantity_or("pump.flow", ends.as_ref().map(|(_, last)| flow_rule(last)));
    let rated_hours = s.exact("pump.rated_hours");
    let blocked_from_day = s.count("pump.blocked_from_day").and_then(|n| u16::try_from(n).ok());
    s.inputs.dedup_by(|a, b| a.key == b.key);
    Some(Pump {
        kind: kind?,
        bench: bench?,
        nozzle,
        highest_voltage_v: highest?,
        start_voltage_v: start?,
        stop_voltage_v: stop?,
        break_away_current_a: break_away?,
        winding_ohm: winding?,
        flow_l_min: flow?,
        rated_hours,
        blocked_from_day,
    })
}

/// The nozzle behind a head measured on the bench, if its bore is given.
fn nozzle(s: &mut DesignReader<'_>) -> Option<Nozzle<Uncertain>> {
    const VELOCITY: &str = "pump.nozzle_velocity";
    if s.given("pump.nozzle_bore") {
        return Some(Nozzle { bore_mm: s.quantity("pump.nozzle_bore")?, velocity: s.quantity(VELOCITY)? });
    }
    if let Some(value) = s.value(VELOCITY) {
        let help =
            "give `nozzle_bore`, too, and the head before the nozzle as the third value of each bench row";
        s.error(value.span(), "`nozzle_velocity` has no use without `nozzle_bore`", "", help);
    }
    None
}

/// Stop voltage over start voltage of a pump with electronics (common practice, no source).
const STOP_OVER_START: f64 = 0.85;

/// Current that only overcomes friction: I = I0 + c V² through the first two rows, or 45 % of the
/// only row (common practice, no source).
fn friction_current_a(bench: &[BenchPoint<Uncertain>]) -> f64 {
    let at = |k: usize| bench.get(k).map(|p| (p.voltage_v.nominal, p.current_a.nominal));
    match (at(0), at(1)) {
        (Some((v1, a1)), Some((v2, a2))) => {
            let slope = (a2 - a1) / (v2 * v2 - v1 * v1);
            (a1 - slope * v1 * v1).clamp(0.2 * a1, 0.9 * a1)
        }
        (Some((_, a1)), None) => 0.45 * a1,
        _ => 0.0,
    }
}

/// Flow from the power of the jet, ρ g Q h, as a share of the electric power.
fn flow_rule(last: &BenchPoint<Uncertain>) -> Uncertain {
    const RHO_G_N_M3: f64 = 9_806.65;
    // A jet of a few mm on the bench must not make an ocean.
    let height_m = last.jet_m.nominal.max(0.05);
    let flow = |share: f64| {
        let electric_w = last.voltage_v.nominal * last.current_a.nominal;
        (share * electric_w / (RHO_G_N_M3 * height_m) * 60_000.0).clamp(0.01, 1000.0)
    };
    if flow(0.25) <= flow(0.08) {
        return Uncertain::exact(flow(0.15));
    }
    Uncertain::likely(flow(0.08), flow(0.15), flow(0.25))
}
