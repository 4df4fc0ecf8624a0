//! `[pump]`: the pump, its motor and its jet.

/// The pump, its motor and its jet.
#[derive(Clone, Debug, PartialEq)]
pub struct Pump<N> {
    /// Motor.
    pub kind: PumpKind,
    /// Bench points by rising voltage: at least one.
    pub bench: Vec<BenchPoint<N>>,
    /// The nozzle, if the bench measured the head before it rather than the jet.
    pub nozzle: Option<Nozzle<N>>,
    /// Highest voltage it tolerates, V; the electronics limit the voltage to it.
    pub highest_voltage_v: N,
    /// Electronic: voltage at which it starts, V. Brushed: the same, follows from break-away.
    pub start_voltage_v: N,
    /// Voltage below which it stops, V; not above `start_voltage_v`.
    pub stop_voltage_v: N,
    /// Brushed: current at which it breaks away from rest, A.
    pub break_away_current_a: N,
    /// Brushed: resistance of the winding, ohm.
    pub winding_ohm: N,
    /// Flow at the first bench point's voltage with the highest jet, L/min (of the last point).
    pub flow_l_min: N,
    /// Hours of life, if the maker rates them.
    pub rated_hours: Option<f64>,
    /// A fault: from this day of the season on (0-based) it is blocked.
    pub blocked_from_day: Option<u16>,
}

/// One bench measurement: current drawn and height of the jet at a voltage.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchPoint<N> {
    /// Voltage at the pump, V.
    pub voltage_v: N,
    /// Current drawn, A.
    pub current_a: N,
    /// Height of the jet, m; with a [`Nozzle`] the head before it, m.
    pub jet_m: N,
}

/// A nozzle behind a measured head.
#[derive(Clone, Debug, PartialEq)]
pub struct Nozzle<N> {
    /// Its bore, mm.
    pub bore_mm: N,
    /// Velocity coefficient, 0..=1: speed of the water over that of a fall from the head.
    pub velocity: N,
}

/// Motor of a pump.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PumpKind {
    /// Brushed permanent-magnet motor: starts at a higher current than it needs to keep turning.
    Brushed,
    /// Brushless with its own electronics: on and off at set voltages, pulses on a weak supply.
    Electronic,
}

impl<N> Pump<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Pump<M> {
        Pump {
            kind: self.kind,
            bench: self
                .bench
                .iter()
                .enumerate()
                .map(|(i, p)| BenchPoint {
                    voltage_v: f(&format!("pump.bench[{i}].voltage"), &p.voltage_v),
                    current_a: f(&format!("pump.bench[{i}].current"), &p.current_a),
                    jet_m: f(&format!("pump.bench[{i}].jet"), &p.jet_m),
                })
                .collect(),
            nozzle: self.nozzle.as_ref().map(|n| Nozzle {
                bore_mm: f("pump.nozzle_bore", &n.bore_mm),
                velocity: f("pump.nozzle_velocity", &n.velocity),
            }),
            highest_voltage_v: f("pump.highest_voltage", &self.highest_voltage_v),
            start_voltage_v: f("pump.start_voltage", &self.start_voltage_v),
            stop_voltage_v: f("pump.stop_voltage", &self.stop_voltage_v),
            break_away_current_a: f("pump.break_away_current", &self.break_away_current_a),
            winding_ohm: f("pump.winding_resistance", &self.winding_ohm),
            flow_l_min: f("pump.flow", &self.flow_l_min),
            rated_hours: self.rated_hours,
            blocked_from_day: self.blocked_from_day,
        }
    }
}
