//! `[pump]`: what the bench rows do not say follows from them.

use super::bench::bench;
use crate::design::parts::{BenchPoint, Nozzle, Pump, PumpKind};
use crate::design::reader::DesignReader;
use crate::design::rules::{
    BREAK_AWAY_OVER_FRICTION_A, BRUSHED_STOP_OVER_START_V, HIGHEST_OVER_LAST_BENCH_V, JET_OVER_ELECTRIC_W,
    START_OVER_LAST_BENCH_V, STOP_OVER_START_V, WINDING_OVER_LAST_BENCH_OHM,
};
use crate::units::Uncertain;

const HIGHEST: &str = "pump.highest_voltage";
const START: &str = "pump.start_voltage";
const STOP: &str = "pump.stop_voltage";

/// First and last bench row.
type Ends = (BenchPoint<Uncertain>, BenchPoint<Uncertain>);

pub(in crate::design) fn pump(r: &mut DesignReader<'_>) -> Option<Pump<Uncertain>> {
    let kind = r.word("pump.kind", None);
    let brushed = kind == Some(PumpKind::Brushed);
    let bench = bench(r);
    let ends = bench.as_ref().and_then(|b| Some((b.first()?.clone(), b.last()?.clone())));
    let nozzle = nozzle(r);
    let highest_rule =
        ends.as_ref().map(|(_, last)| Uncertain::exact(HIGHEST_OVER_LAST_BENCH_V * last.voltage_v.nominal));
    let highest = r.quantity_or(HIGHEST, highest_rule);
    if let Some((highest, (_, last))) = highest.zip(ends.as_ref())
        && highest.highest() < last.voltage_v.nominal
    {
        let title = "a bench row is above the highest voltage that the pump tolerates";
        let places = [(HIGHEST, "below ..."), ("pump.bench", "... the last row of this")];
        r.contradiction(title, &places, "raise `highest_voltage` or remove the row");
    }
    let friction = bench.as_deref().map(friction_current_a);
    let (lo, hi) = BREAK_AWAY_OVER_FRICTION_A;
    let break_away =
        r.quantity_or("pump.break_away_current", friction.map(|a| Uncertain::between(lo * a, hi * a)));
    let winding_rule = ends.as_ref().map(|(_, last)| {
        let whole = last.voltage_v.nominal / last.current_a.nominal;
        let (lo, likely, hi) = WINDING_OVER_LAST_BENCH_OHM;
        Uncertain::likely(lo * whole, likely * whole, hi * whole)
    });
    let winding = r.quantity_or("pump.winding_resistance", winding_rule);
    let brushed_start_v =
        break_away.zip(winding).map(|(a, ohm)| Uncertain::exact(a.nominal * ohm.nominal)).filter(|_| brushed);
    let (start, stop) = start_and_stop(r, brushed, brushed_start_v, ends.as_ref());
    if let Some((start, highest)) = start.zip(highest)
        && start.nominal > highest.nominal
    {
        let places = [(START, "above ..."), (HIGHEST, "... this")];
        r.contradiction("the pump would start only above the highest voltage it tolerates", &places, "");
    }
    let flow = r.quantity_or("pump.flow", ends.as_ref().map(|(_, last)| flow_rule(last)));
    let rated_hours = r.exact("pump.rated_hours");
    let blocked_from_day = r.count("pump.blocked_from_day").and_then(|n| u16::try_from(n).ok());
    r.inputs.dedup_by(|a, b| a.key == b.key);
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

/// Start and stop voltage; each may follow from the other.
fn start_and_stop(
    r: &mut DesignReader<'_>,
    brushed: bool,
    brushed_start_v: Option<Uncertain>,
    ends: Option<&Ends>,
) -> (Option<Uncertain>, Option<Uncertain>) {
    let start_rule = if brushed {
        brushed_start_v
    } else if let Some(stop) = r.given(STOP).then(|| r.quantity(STOP)).flatten() {
        Some(Uncertain::exact(stop.nominal / STOP_OVER_START_V))
    } else {
        ends.map(|(first, last)| {
            let (lo, hi) = START_OVER_LAST_BENCH_V;
            let most = first.voltage_v.nominal.min(hi * last.voltage_v.nominal);
            Uncertain::between(lo / hi * most, most)
        })
    };
    let start = r.quantity_or(START, start_rule);
    let stop_rule = start.map(|v| {
        let share = if brushed { BRUSHED_STOP_OVER_START_V } else { STOP_OVER_START_V };
        Uncertain::exact((share * v.nominal).min(v.lowest()))
    });
    let stop = r.quantity_or(STOP, stop_rule);
    if let Some((start, stop)) = start.zip(stop)
        && stop.highest() > start.lowest() + 1e-12
    {
        let title = "the stop voltage must not be above the start voltage";
        let help = "if they are uncertain, their uncertainty ranges must not overlap";
        r.contradiction(title, &[(STOP, "above ..."), (START, "... this")], help);
    }
    (start, stop)
}

/// The nozzle behind a head measured on the bench, if its bore is given.
fn nozzle(r: &mut DesignReader<'_>) -> Option<Nozzle<Uncertain>> {
    const VELOCITY: &str = "pump.nozzle_velocity";
    if r.given("pump.nozzle_bore") {
        return Some(Nozzle { bore_mm: r.quantity("pump.nozzle_bore")?, velocity: r.quantity(VELOCITY)? });
    }
    if let Some(value) = r.value(VELOCITY) {
        let help =
            "add `nozzle_bore`, and give the head before the nozzle as the third value of each bench row";
        r.error(value.span(), "`nozzle_velocity` needs `nozzle_bore`", "", help);
    }
    None
}

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
        (None, _) => 0.0,
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
    let (lo, likely, hi) = JET_OVER_ELECTRIC_W;
    if flow(hi) <= flow(lo) {
        return Uncertain::exact(flow(likely));
    }
    Uncertain::likely(flow(lo), flow(likely), flow(hi))
}
