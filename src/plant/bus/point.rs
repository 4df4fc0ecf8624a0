//! What is connected to a bus, and the operating point of a minute.
//!
//! [`on_battery`](super::on_battery) and [`on_panel`](super::on_panel) find it.

use super::socket::SocketMinute;
use crate::design::Design;
use crate::lanes::{Lane, Mask};
use crate::plant::panel::{Cells, CoveredString};
use crate::plant::pump::{PumpUnit, Pumps};
use crate::plant::record::rows::rows;

rows! {
    /// What is connected to the bus beside the pump.
    LoadRows / LoadUnit {
        /// Standby of electronics and sensor board on a battery, A.
        standby_a,
        /// The same on a panel alone: in proportion to the voltage, S.
        standby_s,
        /// Motors of the mount while they turn, A.
        motor_a,
        /// Voltage below which they stall, V.
        lowest_v,
        /// Standby of a sensor board behind a socket, A (without a socket it is in the standby on the battery).
        board_a,
    }
}

impl LoadUnit<f64> {
    /// From a drawn design. On a panel alone the standby draw is that of the label at the pump's last bench voltage.
    pub(crate) fn from_design(d: &Design<f64>) -> Self {
        let socket = d.battery.is_some() && d.electronics.socket.is_some();
        let board_a = if socket { d.mount.standby_current_a } else { 0.0 };
        let standby_a = d.electronics.own_current_a() + d.mount.standby_current_a - board_a;
        let rated_v = d.pump.bench.last().map_or(1.0, |p| p.voltage_v.max(0.1));
        LoadUnit {
            standby_a,
            standby_s: standby_a / rated_v,
            motor_a: d.mount.motor_current_a,
            lowest_v: d.mount.lowest_voltage_v,
            board_a,
        }
    }
}

/// The electrical side of one minute, as means over the minute.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OperatingPoint<V: Lane> {
    /// Voltage of bus (battery terminal), V.
    pub bus_v: V,
    /// Panel terminal voltage, V, and current, A.
    pub panel_v: V,
    pub panel_a: V,
    /// Current into the charger's output (the panel's own without a converter), A.
    pub fed_a: V,
    /// Lost in the converter, W.
    pub converter_w: V,
    /// Voltage at the pump while it runs, V; its current over the whole minute, A.
    pub pump_v: V,
    pub pump_a: V,
    /// Height of its jet while it runs, m.
    pub jet_m: V,
    /// Share of the minute the pump runs.
    pub duty: V,
    /// Motors' and standby current, A.
    pub motor_a: V,
    pub standby_a: V,
    /// Behind a socket: its voltage, V, the sensor board's current, A, and what the converter takes from the bus, A; else 0.
    pub socket_v: V,
    pub board_a: V,
    pub socket_a: V,
    /// Into the battery (negative: out), A.
    pub charge_a: V,
    /// Charge that panel and charger could have given and the battery refused: held at the charge voltage, full, or frozen; A.
    pub spilled_a: V,
    /// Share of the minute the mount moved.
    pub moved: V,
    /// Wanted to move and could not.
    pub starved: V::Mask,
    /// The pump turns at the end of the minute.
    pub running: V::Mask,
}

impl<V: Lane> OperatingPoint<V> {
    /// A bus without voltage, on which nothing runs.
    #[inline(always)]
    pub(crate) fn nothing() -> Self {
        let zero = V::splat(0.0);
        let no = V::Mask::splat(false);
        OperatingPoint {
            bus_v: zero,
            panel_v: zero,
            panel_a: zero,
            fed_a: zero,
            converter_w: zero,
            pump_v: zero,
            pump_a: zero,
            jet_m: zero,
            duty: zero,
            motor_a: zero,
            standby_a: zero,
            socket_v: zero,
            board_a: zero,
            socket_a: zero,
            charge_a: zero,
            spilled_a: zero,
            moved: zero,
            starved: no,
            running: no,
        }
    }

    /// A battery that is charged, with nothing else on the bus.
    pub(crate) fn charging(bus_v: V, amps: V) -> Self {
        OperatingPoint {
            bus_v,
            panel_v: bus_v,
            panel_a: amps,
            fed_a: amps,
            charge_a: amps,
            ..Self::nothing()
        }
    }
}

/// A battery as the bus meets it in one minute.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BatteryPort<V: Lane> {
    /// Rest voltage at the start of the minute, V.
    pub rest_v: V,
    /// Resistance, ohm, with half the minute's rise of the rest voltage in it: then V is that of mid-minute.
    pub ohm: V,
    /// Largest current it may be charged with, A.
    pub limit_a: V,
    /// Largest current charger and chemistry let through if the battery is empty and warm, A.
    pub rate_a: V,
}

/// What is wanted of the bus in this minute.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BusDemand<V: Lane> {
    /// Share of the minute the pump is switched on.
    pub pump: V,
    /// Share of the minute the mount would move.
    pub motion: V,
    /// The pump turned at the end of the last minute.
    pub running: V::Mask,
    /// Bus voltage of the last minute, V.
    pub last_v: V,
    /// The bus has a supply (the protection of an empty battery has not opened).
    pub alive: V::Mask,
}

/// Everything on one bus in one minute.
#[derive(Clone, Copy)]
pub(crate) struct BusInputs<'a, V: Lane> {
    /// The panel under its light, and the drop of its blocking diode, V.
    pub cells: &'a Cells<V>,
    pub drop_v: V,
    /// The same panel where cells of it are covered; `None`: nowhere.
    pub cover: Option<&'a CoveredString<V>>,
    /// Standby and motors.
    pub loads: &'a LoadUnit<V>,
    /// The pumps of the block, this lane group's, and where it stands in the block.
    pub pumps: &'a Pumps,
    pub pump: &'a PumpUnit<V>,
    pub at: usize,
    /// What is wanted.
    pub demand: &'a BusDemand<V>,
    /// The socket behind which pump and mount are, if there is one.
    pub socket: Option<SocketMinute<'a, V>>,
}

impl<V: Lane> BusInputs<'_, V> {
    /// Whether the panel can supply a current at a bus voltage.
    #[inline(always)]
    pub(super) fn can_supply(&self, volts: V, amps: V) -> V::Mask {
        match self.cover {
            None => self.cells.can_supply(volts + self.drop_v, amps),
            Some(string) => string.can_supply(volts + self.drop_v, amps),
        }
    }
}
