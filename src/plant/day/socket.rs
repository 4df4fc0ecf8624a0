//! A socket through the minutes: when it gives its voltage, and what it takes while everything rests.

use super::lanes::Given;
use crate::lanes::{Lane, Mask};
use crate::plant::bus::SocketUnit;
use crate::plant::state::StateLanes;

impl<V: Lane> Given<'_, V> {
    /// Whether the socket is awake: its outlet carries enough current, the pump's if that is switched on, and the sensor board's. Motors
    /// alone do not wake it, for a board without supply cannot switch them on.
    #[inline(always)]
    pub(super) fn socket_awake(&self, socket: &SocketUnit<V>, pump_on: V::Mask) -> V::Mask {
        let pump_a = self.input.units.pumps.at(&self.pump, self.at, socket.volts).amps;
        (V::only(pump_on, pump_a) + self.loads.board_a).ge(socket.sleeps_below_a)
    }

    /// What electronics and sensor board take from a battery that rests, A.
    #[inline(always)]
    pub(super) fn resting_a(&self, state: &StateLanes<V>) -> V {
        let own_a = self.loads.standby_a;
        let Some(socket) = &self.socket else { return own_a };
        let on = self.socket_awake(socket, V::Mask::splat(false)) & !state.socket_off;
        let watts = socket.converter().taken_w(socket.volts * self.loads.board_a);
        own_a + V::only(on, watts / state.bus_v.max(V::splat(0.1)))
    }

    /// Switches the socket off below its lowest input, and on again.
    #[inline(always)]
    pub(super) fn switch_socket(&self, state: &mut StateLanes<V>, bus_v: V) {
        let Some(socket) = &self.socket else { return };
        let (low, again) = (bus_v.lt(socket.lowest_v), bus_v.ge(socket.again_v));
        state.socket_off = (state.socket_off | low) & !again;
    }
}
