//! The bus: the voltage at which panel, battery, pump, mount and electronics agree in one minute.
//!
//! `point` names what is connected and the operating point of a minute; `on_battery` (along a `load_line`) and `on_panel` (by its
//! `diode_voltage`) find it. What is demanded of the bus in a minute is decided in [`day`](super::day); what a minute does to the
//! battery, in [`battery`](super::battery). `covered` is for strings with covered cells.

mod converter;
mod covered;
mod diode_voltage;
mod load_line;
mod on_battery;
mod on_panel;
mod point;
mod socket;

pub(crate) use converter::{Converter, TrackingCharger};
pub(crate) use covered::covered_current_a;
pub(crate) use diode_voltage::{BusLoad, Target, solve_diode_voltage};
pub(crate) use on_battery::{on_battery, on_battery_dark, on_battery_mppt};
pub(crate) use on_panel::{on_panel, on_panel_dark};
pub(crate) use point::{BatteryPort, BusDemand, BusInputs, LoadRows, LoadUnit, OperatingPoint};
pub(crate) use socket::{SocketMinute, SocketRows, SocketUnit};
