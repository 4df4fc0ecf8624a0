//! `[electronics]`: what sits between panel, battery, pump and mount.

/// What sits between panel, battery, pump and mount.
#[derive(Clone, Debug, PartialEq)]
pub struct Electronics<N> {
    /// How the panel feeds the battery (without a battery: always direct).
    pub charging: Charging,
    /// Share of the power an MPPT charger passes on, 0..=1.
    pub charge_efficiency: N,
    /// Voltage at which charging is held (whole pack), V.
    pub charge_voltage_v: N,
    /// Terminal voltage at which the pump is cut off, V.
    pub cut_off_v: N,
    /// Terminal voltage at which it is connected again, V; above the cut-off.
    pub reconnect_v: N,
    /// Draw of charger and timer, all day and night, A.
    pub standby_current_a: N,
    /// Which is fed when the panel cannot feed both pump and mount.
    pub fed_first: FedFirst,
    /// Largest charging current, A.
    pub charge_current_max_a: N,
}

/// How the panel feeds the battery.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Charging {
    /// Panel straight on the battery through the blocking diode, cut off at the limit.
    Direct,
    /// The same, held at the charge voltage by pulse-width modulation.
    Pwm,
    /// A converter that keeps the panel at its maximum power point.
    Mppt,
}

/// Which is fed when the panel cannot feed both pump and mount.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FedFirst {
    /// Pump and mount are on the bus together; the pump may pull it down.
    Pump,
    /// The mount moves first, with the pump unplugged while it does.
    Mount,
}

impl<N> Electronics<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Electronics<M> {
        Electronics {
            charging: self.charging,
            charge_efficiency: f("electronics.charge_efficiency", &self.charge_efficiency),
            charge_voltage_v: f("electronics.charge_voltage", &self.charge_voltage_v),
            cut_off_v: f("electronics.cut_off", &self.cut_off_v),
            reconnect_v: f("electronics.reconnect", &self.reconnect_v),
            standby_current_a: f("electronics.standby_current", &self.standby_current_a),
            fed_first: self.fed_first,
            charge_current_max_a: f("electronics.charge_current_max", &self.charge_current_max_a),
        }
    }
}
