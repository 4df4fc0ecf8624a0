//! The socket of a panel with a battery inside: a converter behind which pump and mount are.

use super::converter::Converter;
use crate::design::Design;
use crate::lanes::Lane;
use crate::plant::record::rows::rows;

rows! {
    /// A socket and its converter.
    SocketRows / SocketUnit {
        /// Voltage of its outlet, V.
        volts,
        /// Its loss: W without load, share of the power it gives, and further share for each W.
        idle_w, loss, loss_per_w,
        /// Battery voltage below which it switches off, and from which it works again, V.
        lowest_v, again_v,
        /// Current below which it falls asleep, A.
        sleeps_below_a,
    }
}

impl SocketUnit<f64> {
    /// Of a drawn design with a battery and a socket.
    pub(crate) fn from_design(d: &Design<f64>) -> Option<Self> {
        let (battery, s) = (d.battery.as_ref()?, d.electronics.socket.as_ref()?);
        Some(SocketUnit {
            volts: s.voltage_v,
            idle_w: s.idle_a * battery.nominal_voltage_v(),
            loss: s.loss,
            loss_per_w: s.loss_per_watt,
            lowest_v: s.lowest_input_v,
            again_v: s.again_v.max(s.lowest_input_v),
            sleeps_below_a: s.sleeps_below_a,
        })
    }
}

impl<V: Lane> SocketUnit<V> {
    /// Its converter.
    #[inline(always)]
    pub(crate) fn converter(&self) -> Converter<V> {
        Converter { idle_w: self.idle_w, share: self.loss, share_per_w: self.loss_per_w }
    }
}

/// A socket in a minute.
#[derive(Clone, Copy)]
pub(crate) struct SocketMinute<'a, V: Lane> {
    pub unit: &'a SocketUnit<V>,
    /// It gives its voltage.
    pub on: V::Mask,
}
