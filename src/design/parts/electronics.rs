//! `[electronics]`: what sits between panel, battery, pump and mount.

/// What sits between panel, battery, pump and mount.
#[derive(Clone, Debug, PartialEq)]
pub struct Electronics<N> {
    /// How the panel feeds the battery (without a battery: always direct).
    pub charging: Charging,
    /// Share of the power an MPPT charger passes on, 0..=1.
    pub charge_efficiency: N,
    /// Further loss of an MPPT charger, as a share of what it gives, for each W, 1/W.
    pub charge_loss_per_watt: N,
    /// Share of the panel's largest power that an MPPT charger finds, 0..=1.
    pub tracking: N,
    /// What an MPPT charger takes from the battery, all day and night, A; 0 of others.
    pub charger_draw_a: N,
    /// Voltage at which charging is held (whole pack), V; lead-acid: at 25 °C.
    pub charge_voltage_v: N,
    /// Change of the charge voltage of lead-acid with temperature, 1/K; 0 of others.
    pub charge_voltage_drift_per_k: N,
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
    /// A converter to which pump and mount are connected; `None`: they are on the battery itself.
    pub socket: Option<Socket<N>>,
}

/// A converter with an outlet of its own voltage, like the 5 V socket of a panel with a battery inside.
#[derive(Clone, Debug, PartialEq)]
pub struct Socket<N> {
    /// Voltage that it gives, V.
    pub voltage_v: N,
    /// Current that it takes from the battery without load, A.
    pub idle_a: N,
    /// Loss as a share of the power it gives.
    pub loss: N,
    /// Further share for each W, 1/W.
    pub loss_per_watt: N,
    /// Battery voltage below which it switches off, V.
    pub lowest_input_v: N,
    /// Battery voltage from which it works again, V.
    pub again_v: N,
    /// Current on its outlet below which it falls asleep, A; 0: never.
    pub sleeps_below_a: N,
}

impl<N> Socket<N> {
    fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Socket<M> {
        Socket {
            voltage_v: f("electronics.socket_voltage", &self.voltage_v),
            idle_a: f("electronics.socket_idle", &self.idle_a),
            loss: f("electronics.socket_loss", &self.loss),
            loss_per_watt: f("electronics.socket_loss_per_watt", &self.loss_per_watt),
            lowest_input_v: f("electronics.socket_lowest_input", &self.lowest_input_v),
            again_v: f("electronics.socket_again", &self.again_v),
            sleeps_below_a: f("electronics.socket_sleeps_below", &self.sleeps_below_a),
        }
    }
}

impl Electronics<f64> {
    /// What charger and timer take, all day and night, A.
    pub fn own_current_a(&self) -> f64 {
        self.standby_current_a + self.charger_draw_a
    }
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
            charge_loss_per_watt: f("electronics.charge_loss_per_watt", &self.charge_loss_per_watt),
            tracking: f("electronics.tracking", &self.tracking),
            charger_draw_a: f("electronics.charger_draw", &self.charger_draw_a),
            charge_voltage_v: f("electronics.charge_voltage", &self.charge_voltage_v),
            charge_voltage_drift_per_k: f(
                "electronics.charge_voltage_drift",
                &self.charge_voltage_drift_per_k,
            ),
            cut_off_v: f("electronics.cut_off", &self.cut_off_v),
            reconnect_v: f("electronics.reconnect", &self.reconnect_v),
            standby_current_a: f("electronics.standby_current", &self.standby_current_a),
            fed_first: self.fed_first,
            charge_current_max_a: f("electronics.charge_current_max", &self.charge_current_max_a),
            socket: self.socket.as_ref().map(|s| s.map(f)),
        }
    }
}
