//! A bus fed by a string with covered cells: the same root search as for any panel, out of line, because few scenes need it.

use super::diode_voltage::{BusLoad, Target, solve_diode_voltage};
use crate::lanes::{Aside, Lane};
use crate::plant::panel::{CoveredString, Curve};

/// Current of a string with covered cells on a line V = `open_v` + `ohm` I, A, behind a diode of fixed drop; lanes where nothing is
/// covered are left to the caller.
#[inline(always)]
pub(crate) fn covered_current_a<V: Lane>(string: &CoveredString<V>, drop_v: V, (open_v, ohm): (V, V)) -> V {
    let (target, load) = (Target::along(open_v, ohm), BusLoad::nothing());
    V::aside(Settle { string, drop_v, target, load: &load }).1.max(V::splat(0.0))
}

/// Voltage of a bus fed by a string with covered cells, V, and the string's current, A.
#[inline(always)]
pub(super) fn covered_bus_v<V: Lane>(
    string: &CoveredString<V>,
    drop_v: V,
    target: Target<V>,
    load: &BusLoad<'_, V>,
) -> (V, V) {
    V::aside(Settle { string, drop_v, target, load })
}

/// Where a bus settles.
struct Settle<'a, V: Lane> {
    string: &'a CoveredString<V>,
    drop_v: V,
    target: Target<V>,
    load: &'a BusLoad<'a, V>,
}

impl<V: Lane> Aside for Settle<'_, V> {
    /// Bus voltage, V, and current, A.
    type Out = (V, V);

    #[inline(always)]
    fn work(self) -> (V, V) {
        let Settle { string, drop_v, target, load } = self;
        let bound = string.whole.open_bound();
        let (vd, amps) = solve_diode_voltage(string, drop_v, target, (bound, bound), load);
        (string.terminal(vd).volts - drop_v, amps)
    }
}
