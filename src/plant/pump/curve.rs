//! The pump and its jet over lanes. The curve of one pump, and its laws: [`BenchCurve`].

use crate::design::{self, BenchCurve, PumpKind};
use crate::lanes::Lane;
use crate::plant::record::rows::rows;

rows! {
    /// One knot of the bench curve over V².
    KnotRows / Knot of RowF32 {
        /// V², from which on the slopes change.
        volts2,
        /// Change of dI/dV², A/V².
        current_a_v2,
        /// Change of dh/dV², m/V².
        jet_m_v2,
    }
}

rows! {
    /// A pump, without its bench curve.
    PumpRows / PumpUnit {
        /// Highest voltage it is given, V.
        highest_v,
        /// Voltage at which it starts, V.
        start_v,
        /// Voltage below which it stops, V.
        stop_v,
        /// Mean voltage while it pulses, V.
        pulse_v,
        /// Brushed: current at which it breaks away, A.
        break_away_a,
        /// Brushed: conductance at rest, S.
        rest_s,
        /// Flow over the square root of the jet's height, L/min/m^0.5.
        flow_per_root,
        /// Jet height wished for, m.
        wish_jet_m,
        /// Bus voltage at which a panel alone makes the jet count, V, and ...
        wish_v,
        /// ... the share of the minute the pump runs there.
        wish_duty,
        /// Share of its voltage that a chopper gives it; 1 without one.
        speed,
    }
}

/// Pumps of a block.
#[derive(Clone, Debug)]
pub(crate) struct Pumps {
    pub kind: PumpKind,
    pub rows: PumpRows,
    /// Whether a rule slows it down; otherwise no speed is looked at.
    pub slows: bool,
    pub knots: Vec<KnotRows>,
}

/// What a pump does at a voltage.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PumpPoint<V> {
    /// Current, A.
    pub amps: V,
    /// Its slope, S.
    pub slope_s: V,
    /// Height of the jet, m.
    pub jet_m: V,
}

/// Largest current of a pump on a bus of up to this voltage, A; at least that of its bench.
pub(crate) fn highest_current_a(p: &design::Pump<f64>, volts: f64) -> f64 {
    let there = BenchCurve::of(p).current_a(volts.min(p.highest_voltage_v));
    p.bench.iter().map(|b| b.current_a).fold(there, f64::max)
}

/// Height of the jet of a pump at the highest voltage it is let have, m.
pub(crate) fn highest_jet_m(p: &design::Pump<f64>) -> f64 {
    BenchCurve::of(p).jet_m(p.highest_voltage_v)
}

impl Pumps {
    pub(crate) fn new(designs: &[&design::Design<f64>]) -> Self {
        let kind = designs[0].pump.kind;
        let mut rows = PumpRows::default();
        let mut curve = vec![KnotRows::default(); designs[0].pump.bench.len() + 1];
        for (lane, d) in designs.iter().enumerate() {
            let p = &d.pump;
            let of_one = BenchCurve::of(p);
            for (row, k) in curve.iter_mut().zip(of_one.knots()) {
                let (volts2, current_a_v2, jet_m_v2) = (k.volts2, k.current_a_v2, k.jet_m_v2);
                row.set(lane, Knot { volts2, current_a_v2, jet_m_v2 });
            }
            let last = p.bench.last().map_or(1e-9, |b| p.bench_jet_m(b).max(1e-9));
            let hi = of_one.voltage_v(d.wish.jet_m, p.highest_voltage_v);
            let pulse_v = 0.5 * (p.start_voltage_v + p.stop_voltage_v);
            let (wish_v, wish_duty) = match kind {
                PumpKind::Electronic if hi <= pulse_v => (pulse_v, d.wish.pulse_counts_from),
                PumpKind::Electronic | PumpKind::Brushed => (hi.max(p.stop_voltage_v), 1.0),
            };
            rows.set(
                lane,
                PumpUnit {
                    highest_v: p.highest_voltage_v,
                    start_v: p.start_voltage_v,
                    stop_v: p.stop_voltage_v,
                    pulse_v,
                    break_away_a: p.break_away_current_a,
                    rest_s: 1.0 / p.winding_ohm.max(1e-3),
                    flow_per_root: p.flow_l_min / last.sqrt(),
                    wish_jet_m: d.wish.jet_m,
                    wish_v,
                    wish_duty,
                    speed: 1.0,
                },
            );
        }
        let slows = designs[0].battery.is_some() && designs[0].running.control.slow.is_some();
        Pumps { kind, rows, slows, knots: curve }
    }

    /// The pumps in lanes from place `at` on.
    #[inline(always)]
    pub(crate) fn lanes<V: Lane>(&self, at: usize) -> PumpUnit<V> {
        PumpUnit::of(&self.rows, at)
    }

    /// What a pump does at a voltage; above its highest voltage a linear regulator holds it there. A chopper that gives it a share k of
    /// the voltage takes k times its current, so that no power is lost.
    #[inline(always)]
    pub(crate) fn at<V: Lane>(&self, unit: &PumpUnit<V>, at: usize, volts: V) -> PumpPoint<V> {
        let c = V::splat;
        let mut v = volts.clamp(c(0.0), unit.highest_v);
        if self.slows {
            v = v * unit.speed;
        }
        let u = v * v;
        let (mut amps, mut per_u, mut jet_m) = (c(0.0), c(0.0), c(0.0));
        for k in &self.knots {
            let knot = Knot::<V>::of(k, at);
            let over = (u - knot.volts2).max(c(0.0));
            amps = amps + knot.current_a_v2 * over;
            jet_m = jet_m + knot.jet_m_v2 * over;
            per_u = per_u + V::only(u.gt(knot.volts2), knot.current_a_v2);
        }
        let held = volts.gt(unit.highest_v);
        let mut slope_s = V::select(held, c(0.0), c(2.0) * v * per_u);
        if self.slows {
            amps = amps * unit.speed;
            slope_s = slope_s * unit.speed * unit.speed;
        }
        PumpPoint { amps, slope_s, jet_m }
    }
}

/// Flow at a jet height, L/min: through one nozzle it follows the square root of the height.
#[inline(always)]
pub(crate) fn flow<V: Lane>(unit: &PumpUnit<V>, jet_m: V) -> V {
    unit.flow_per_root * jet_m.max(V::splat(0.0)).sqrt()
}

/// Share of the time an electronic pump runs when the panel gives less than it takes: the buffer
/// fills at I_pv and drains at I_load - I_pv between the on and off voltages, so I_pv/I_load exactly.
#[inline(always)]
pub(crate) fn hiccup_duty<V: Lane>(pv_a: V, load_a: V) -> V {
    (pv_a / load_a.max(V::splat(1e-9))).clamp(V::splat(0.0), V::splat(1.0))
}
