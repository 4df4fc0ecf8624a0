//! The bus in a minute: what is demanded of it, and where it settles, with a battery or on the panel alone.

use super::lanes::{ChargeRange, DayLanes, Given, HourLanes};
use super::minute_parts::{BusMinute, MinuteLight, MinuteWish};
use crate::design::{Charging, FedFirst};
use crate::lanes::{Lane, Mask};
use crate::plant::battery::BatteryDay;
use crate::plant::bus::{
    BatteryPort, BusDemand, BusInputs, OperatingPoint, SocketMinute, covered_current_a, on_battery,
    on_battery_dark, on_battery_mppt, on_panel, on_panel_dark,
};
use crate::plant::panel::{Cells, CoveredString};
use crate::plant::pump::PumpUnit;
use crate::plant::record::DayBlock;
use crate::plant::rules::Ruled;
use crate::plant::state::StateLanes;

impl<V: Lane> DayLanes<'_, V> {
    /// The bus in this minute. A call by itself in each arm: the result is then made where it is wanted, and not copied.
    #[inline(always)]
    pub(super) fn bus(
        &mut self,
        hour: &mut HourLanes<V>,
        light: &MinuteLight<'_, V>,
        wish: &MinuteWish<V>,
    ) -> BusMinute<V> {
        let state = &mut self.state;
        match &mut self.battery {
            Some(battery) => self.given.bus_on_battery(battery, state, hour, light, wish),
            None => self.given.bus_on_panel(state, light, wish),
        }
    }

    /// What follows from the bus of this minute: the charge, whether the pump turns, and the account of what flowed.
    #[inline(always)]
    pub(super) fn book(
        &mut self,
        hour: &mut HourLanes<V>,
        (light, minute): (&MinuteLight<'_, V>, usize),
        bus: &BusMinute<V>,
        out: &mut DayBlock,
    ) {
        let (given, state) = (&self.given, &mut self.state);
        if let Some(battery) = &self.battery {
            let soc = battery.soc(state);
            self.charge.minute(soc, self.dusk.sets_in(minute));
            if minute.is_multiple_of(DayBlock::SOC_EVERY_MIN) {
                soc.put(&mut out.soc[minute / DayBlock::SOC_EVERY_MIN], given.at);
            }
        }
        state.running = bus.point.running;
        hour.sums.book(&bus.point, given.panel.drop_v, light.label_w, given.socket.is_some());
    }
}

impl<V: Lane> ChargeRange<V> {
    #[inline(always)]
    fn minute(&mut self, soc: V, sunset: bool) {
        self.low = self.low.min(soc);
        self.high = self.high.max(soc);
        if sunset {
            self.at_sunset = Some(soc);
        }
    }
}

impl<V: Lane> Given<'_, V> {
    /// What is connected to the bus in a minute, with these cells.
    #[inline(always)]
    fn inputs<'m>(
        &'m self,
        cells: &'m Cells<V>,
        (pump, cover): (&'m PumpUnit<V>, Option<&'m CoveredString<V>>),
        socket: Option<SocketMinute<'m, V>>,
        demand: &'m BusDemand<V>,
    ) -> BusInputs<'m, V> {
        BusInputs {
            cells,
            cover,
            drop_v: self.panel.drop_v,
            loads: &self.loads,
            pumps: &self.input.units.pumps,
            pump,
            at: self.at,
            demand,
            socket,
        }
    }

    /// The pump as the rules let it run.
    #[inline(always)]
    fn slowed(&self, ruled: &Ruled<V>) -> PumpUnit<V> {
        let highest_v = self.pump.highest_v.min(ruled.cap_v);
        PumpUnit { highest_v, speed: ruled.speed, ..self.pump }
    }

    #[inline(always)]
    fn bus_on_panel(
        &self,
        state: &mut StateLanes<V>,
        light: &MinuteLight<'_, V>,
        wish: &MinuteWish<V>,
    ) -> BusMinute<V> {
        let no = V::Mask::splat(false);
        let demand = BusDemand {
            pump: V::only(wish.pump_may_run, wish.let_run),
            motion: wish.motion,
            running: state.running,
            last_v: state.bus_v,
            alive: !no,
        };
        let string;
        let cover = match &self.cover {
            Some(cover) => {
                string = cover.under(&light.cells);
                Some(&string)
            }
            None => None,
        };
        let point = match light.sun {
            Some(_) => {
                let inputs = self.inputs(&light.cells, (&self.pump, cover), None, &demand);
                on_panel(&inputs, self.input.units.fed_first)
            }
            None => on_panel_dark(self.panel.drop_v, &demand),
        };
        state.bus_v = point.bus_v;
        BusMinute { point, switched_on: wish.let_run, battery_flat: no }
    }

    #[inline(always)]
    fn bus_on_battery(
        &self,
        battery: &mut BatteryDay<'_, V>,
        state: &mut StateLanes<V>,
        hour: &mut HourLanes<V>,
        light: &MinuteLight<'_, V>,
        wish: &MinuteWish<V>,
    ) -> BusMinute<V> {
        let units = self.input.units;
        let zero = V::splat(0.0);
        let alive = battery.alive(state);
        let (mut able, mut pump_v) = match &self.socket {
            Some(socket) => (alive & socket.volts.ge(self.loads.lowest_v), socket.volts),
            None => (alive & battery.holds(state, self.loads.motor_a, self.loads.lowest_v), state.bus_v),
        };
        let slowed;
        let mut pump_unit = &self.pump;
        if units.pumps.slows {
            slowed = self.slowed(&wish.ruled);
            pump_unit = &slowed;
            pump_v = pump_v.min(slowed.highest_v) * slowed.speed;
        }
        let spins = pump_v.ge(self.pump.start_v) | state.running & pump_v.ge(self.pump.stop_v);
        let mut fed = state.connected & alive & spins;
        let mut socket = None;
        if let Some(unit) = &self.socket {
            let there = alive & !state.socket_off;
            fed = fed & there;
            let on = there & self.socket_awake(unit, fed & wish.pump_may_run & wish.let_run.gt(zero));
            able = able & on;
            socket = Some(SocketMinute { unit, on });
        }
        let moved = V::only(able, wish.motion);
        let mut pump = V::only(fed & wish.pump_may_run, wish.let_run);
        if units.fed_first == FedFirst::Mount {
            pump = pump.min(V::splat(1.0) - moved);
        }
        let demand = BusDemand { pump, motion: moved, running: state.running, last_v: state.bus_v, alive };
        let port = battery.port(state);
        // Set only where needed and then referred to: what is copied each minute costs as much as what is computed.
        let (cut_off, string);
        let mut cells = &light.cells;
        if units.charging == Charging::Direct {
            cut_off = Cells { i_l: V::select(state.charged_full, zero, cells.i_l), ..light.cells };
            cells = &cut_off;
        }
        let cover = match &self.cover {
            Some(cover) => {
                string = cover.under(cells);
                Some(&string)
            }
            None => None,
        };
        let inputs = self.inputs(cells, (pump_unit, cover), socket, &demand);
        // Made where it stays: a point that is put together first is copied.
        let mut bus = BusMinute {
            point: match (light.sun, units.charging) {
                (None, _) => on_battery_dark(&inputs, &port),
                (Some(_), Charging::Mppt) => on_battery_mppt(&inputs, &battery.unit.charger(), &port),
                (Some(_), Charging::Direct | Charging::Pwm) => on_battery(&inputs, &port),
            },
            switched_on: wish.let_run,
            battery_flat: !fed,
        };
        let point = &mut bus.point;
        point.starved = wish.motion.gt(zero) & !able;
        if units.charging == Charging::Direct && state.charged_full.any() {
            let refused_a = self.refused_a(&light.cells, point, &port);
            point.spilled_a = V::select(state.charged_full, refused_a, point.spilled_a);
        }
        let sums = &mut hour.sums;
        sums.spilled_a_min = sums.spilled_a_min + V::select(state.frozen, zero, point.spilled_a);
        if light.sun.is_some() {
            sums.too_cold_min = sums.too_cold_min + V::one_if(state.frozen);
        }
        battery.minute(state, point, &port, units.charging);
        self.switch_socket(state, point.bus_v);
        bus
    }

    /// Current with which a panel that direct charging has cut off would have charged the battery beside the loads, A.
    #[inline(always)]
    fn refused_a(&self, cells: &Cells<V>, point: &OperatingPoint<V>, port: &BatteryPort<V>) -> V {
        let mut given_a = cells.current_estimate(point.bus_v + self.panel.drop_v);
        if let Some(cover) = &self.cover {
            let string = cover.under(cells);
            let held = (point.bus_v, V::splat(0.0));
            given_a = V::select(string.any, covered_current_a(&string, self.panel.drop_v, held), given_a);
        }
        (given_a + point.charge_a).clamp(V::splat(0.0), port.rate_a)
    }
}
