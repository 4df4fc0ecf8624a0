//! What a pump does at a voltage: bench rows, and the affinity laws between and beyond them.
//!
//! Speed follows the voltage, flow the speed, head its square, power its cube (affinity laws), so current and jet height
//! are straight lines over V². Between bench rows the line joins them; below the first it runs to the origin, beyond the
//! last it goes on from the origin through the last. When the pump runs at all is decided in `plant`.

use super::nozzle::jet_height_m;
use super::pump::{BenchPoint, Pump};

/// One knot of the curve over V².
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BenchKnot {
    /// V², from which on the slopes change.
    pub volts2: f64,
    /// Change of dI/dV², A/V².
    pub current_a_v2: f64,
    /// Change of dh/dV², m/V².
    pub jet_m_v2: f64,
}

/// Current and height of the jet of one pump over its voltage.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchCurve {
    knots: Vec<BenchKnot>,
}

impl BenchCurve {
    /// That of a pump.
    pub fn of(pump: &Pump<f64>) -> BenchCurve {
        let mut knots = Vec::with_capacity(pump.bench.len() + 1);
        let (mut u0, mut i0, mut h0) = (0.0, 0.0, 0.0);
        let (mut di, mut dh) = (0.0, 0.0);
        for point in &pump.bench {
            let u = point.voltage_v * point.voltage_v;
            let width = (u - u0).max(1e-9);
            let jet_m = pump.bench_jet_m(point);
            let (si, sh) = ((point.current_a - i0) / width, (jet_m - h0) / width);
            knots.push(BenchKnot { volts2: u0, current_a_v2: si - di, jet_m_v2: sh - dh });
            (u0, i0, h0, di, dh) = (u, point.current_a, jet_m, si, sh);
        }
        let width = u0.max(1e-9);
        knots.push(BenchKnot { volts2: u0, current_a_v2: i0 / width - di, jet_m_v2: h0 / width - dh });
        BenchCurve { knots }
    }

    /// Its knots, one more than bench rows.
    pub fn knots(&self) -> &[BenchKnot] {
        &self.knots
    }

    /// Current at a voltage, A.
    pub fn current_a(&self, volts: f64) -> f64 {
        self.along(volts, |k| k.current_a_v2)
    }

    /// Height of the jet at a voltage, m.
    pub fn jet_m(&self, volts: f64) -> f64 {
        self.along(volts, |k| k.jet_m_v2)
    }

    /// Lowest voltage with a jet of this height, V, by bisection (heights rise with voltage); `most_v` if none up to there.
    pub fn voltage_v(&self, jet_m: f64, most_v: f64) -> f64 {
        let (mut lo, mut hi) = (0.0, most_v);
        for _ in 0..50 {
            let mid = 0.5 * (lo + hi);
            if self.jet_m(mid) < jet_m { lo = mid } else { hi = mid }
        }
        hi
    }

    fn along(&self, volts: f64, change: fn(&BenchKnot) -> f64) -> f64 {
        self.knots.iter().map(|k| change(k) * (volts * volts - k.volts2).max(0.0)).sum()
    }
}

impl Pump<f64> {
    /// Height of the jet at a bench point, m.
    pub fn bench_jet_m(&self, point: &BenchPoint<f64>) -> f64 {
        match &self.nozzle {
            Some(n) => jet_height_m(point.jet_m, n.bore_mm, n.velocity),
            None => point.jet_m,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::parts::PumpKind;

    #[test]
    fn it_goes_through_the_rows_and_on_by_the_square_of_the_voltage() {
        let row = |voltage_v, current_a, jet_m| BenchPoint { voltage_v, current_a, jet_m };
        let pump = Pump {
            kind: PumpKind::Electronic,
            bench: vec![row(3.0, 0.11, 0.12), row(6.0, 0.29, 0.43)],
            nozzle: None,
            highest_voltage_v: 7.2,
            start_voltage_v: 3.0,
            stop_voltage_v: 2.5,
            break_away_current_a: 0.1,
            winding_ohm: 4.0,
            flow_l_min: 2.0,
            rated_hours: None,
            blocked_from_day: None,
        };
        let curve = BenchCurve::of(&pump);
        for (volts, amps, jet_m) in [
            (3.0, 0.11, 0.12),
            (6.0, 0.29, 0.43),
            // Affinity laws: twice the last voltage, four times its current and height; half the first, a quarter.
            (12.0, 4.0 * 0.29, 4.0 * 0.43),
            (1.5, 0.25 * 0.11, 0.25 * 0.12),
        ] {
            assert!((curve.current_a(volts) - amps).abs() < 1e-12, "{volts}");
            assert!((curve.jet_m(volts) - jet_m).abs() < 1e-12, "{volts}");
        }
    }
}
