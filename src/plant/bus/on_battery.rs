//! A bus held by a battery: where panel, loads and battery meet.
//!
//! The pump's current is taken as a tangent, so that battery and loads are a straight line over the panel's current
//! ([`load_line`](super::load_line)). The pump is then asked once more at the voltage found, and the battery's voltage is what
//! its own line says of the current it gets. So the energy balance closes to rounding, and the solver's error shows up in the curves of
//! panel and pump: a test states it for 0.005 to 300 ohm (the largest allowed, at -20 °C). A lane that has converged keeps its
//! value while its neighbours go on: lanes must not see one another.

use super::converter::TrackingCharger;
use super::covered::covered_current_a;
use super::load_line::{LoadLine, fixed_draw_a};
use super::point::{BatteryPort, BusDemand, BusInputs, OperatingPoint};
use super::socket::SocketMinute;
use crate::lanes::{Lane, Mask};
use crate::plant::panel::{Cells, CoveredString};
use crate::plant::pump::PumpPoint;

/// Most tangents of the pump's current. Usually one is enough.
const TANGENTS: usize = 40;
/// First tangents, which are followed without bounds.
const FREE_TANGENTS: usize = 2;
/// Another tangent is taken while battery and bus differ by more than this, V.
const TANGENT_V: f64 = 1e-4;

/// Most Newton steps. Usually two are enough.
const SOCKET_STEPS: usize = 20;
/// A step below this is the last, V.
const SOCKET_LAST_V: f64 = 1e-4;

/// Where a bus settles whose panel gives `fed` amperes on a line.
///
/// The first tangent of the pump is taken at the rest voltage, the next where the bus came out, if pump and tangent differ there. A pump
/// takes more at a higher voltage; therefore the bus comes out above a voltage that was tried exactly if it settles above it. From
/// the third tangent on this gives bounds. A tangent that leads out of them (across a knot of the bench curve, or across the hold
/// at the highest voltage) is replaced by their middle.
#[inline(always)]
fn operating_point<V: Lane>(
    inputs: &BusInputs<'_, V>,
    port: &BatteryPort<V>,
    fed: impl PanelFeed<V>,
) -> OperatingPoint<V> {
    let BusInputs { pumps, pump, at, demand, .. } = *inputs;
    let c = V::splat;
    let zero = c(0.0);
    if let Some(socket) = &inputs.socket {
        return behind_socket(inputs, socket, port, fed);
    }
    let fixed = fixed_draw_a(inputs.loads, demand);
    if !demand.pump.gt(zero).any() {
        let line = LoadLine { open_v: port.rest_v - port.ohm * fixed, ohm: port.ohm };
        return finish_point(fed.on(&line), (zero, zero), inputs, port, fed);
    }
    let full_v = port.rest_v + port.ohm * port.limit_a;
    let mut open = V::Mask::splat(true);
    let (mut amps, mut volts) = (zero, port.rest_v);
    let mut p = PumpPoint { amps: zero, slope_s: zero, jet_m: zero };
    let (mut low, mut high) = (zero, zero);
    for tangent in 0..TANGENTS {
        // Computed again rather than kept from below: usually there is only one tangent, and only its slope is needed.
        let line = LoadLine::at(volts, &pumps.at(pump, at, volts), inputs, port);
        amps = V::select(open, fed.on(&line), amps);
        let came_out = (line.open_v + line.ohm * amps).min(full_v);
        let mut tried = came_out;
        let mut astray = V::Mask::splat(false);
        if tangent >= FREE_TANGENTS {
            if tangent == FREE_TANGENTS {
                // A volt of margin on both sides: the bus may settle at the limit itself.
                low = (port.rest_v - port.ohm * fixed).min(zero) - c(1.0);
                high = full_v + c(1.0);
            }
            let (above, below) = (came_out.gt(volts), came_out.lt(volts));
            (low, high) = (V::select(above, volts.max(low), low), V::select(above, high, volts.min(high)));
            astray = (above | below) & (came_out.le(low) | came_out.ge(high));
            tried = V::select(astray, c(0.5) * (low + high), came_out);
        }
        volts = V::select(open, tried, volts);
        p = pumps.at(pump, at, volts);
        // The battery's voltage by its own line, at the current it gets.
        let charge = (amps - fixed - demand.pump * p.amps).min(port.limit_a);
        let off = port.rest_v + port.ohm * charge - volts;
        // The tolerance allows for the rounding of the voltage across the resistance.
        let told = c(4.0 * V::EPSILON) * port.ohm * (amps + demand.pump * p.amps);
        open = open & (astray | off.abs().ge(c(TANGENT_V) + told));
        if !open.any() {
            break;
        }
    }
    finish_point(amps, (demand.pump * p.amps, p.jet_m), inputs, port, fed)
}

/// Where a bus settles whose pump and mount are behind a socket; the demand of the inputs is that on its outlet.
///
/// The converter holds the voltage of its outlet, so what it takes from the battery is a power, known before the bus voltage is. Battery,
/// panel and this power meet by Newton's method on the tangent of the current P/V: from the rest voltage down to
/// the upper root. Below the converter's lowest input it takes no more current than there: a battery that cannot give the power comes
/// out below that voltage, and the socket switches off with the next minute.
#[inline(always)]
fn behind_socket<V: Lane>(
    inputs: &BusInputs<'_, V>,
    socket: &SocketMinute<'_, V>,
    port: &BatteryPort<V>,
    fed: impl PanelFeed<V>,
) -> OperatingPoint<V> {
    let BusInputs { loads, pumps, pump, at, demand, .. } = *inputs;
    let c = V::splat;
    let zero = c(0.0);
    let unit = socket.unit;
    let taken = pumps.at(pump, at, unit.volts);
    let share = V::only(socket.on, demand.pump);
    let (pump_a, motor_a) = (share * taken.amps, V::only(socket.on, loads.motor_a * demand.motion));
    let board_a = V::only(socket.on, loads.board_a);
    let watts = V::only(socket.on, unit.converter().taken_w(unit.volts * (pump_a + motor_a + board_a)));
    let fixed = V::only(demand.alive, loads.standby_a);
    let full_v = port.rest_v + port.ohm * port.limit_a;
    let least_v = unit.lowest_v.max(c(0.1));
    let (mut volts, mut amps) = (port.rest_v, zero);
    let mut open = V::Mask::splat(true);
    for _ in 0..SOCKET_STEPS {
        let held = volts.max(least_v);
        let drawn = watts / held;
        let slope = V::only(volts.gt(least_v), drawn / held);
        let line_share = c(1.0) / (c(1.0) - port.ohm * slope).max(c(0.05));
        let line = LoadLine {
            open_v: line_share * (port.rest_v - port.ohm * (fixed + drawn + slope * volts)),
            ohm: line_share * port.ohm,
        };
        amps = V::select(open, fed.on(&line), amps);
        let next = (line.open_v + line.ohm * amps).min(full_v);
        let step = (next - volts).abs();
        volts = V::select(open, next, volts);
        open = open & step.ge(c(SOCKET_LAST_V));
        if !open.any() {
            break;
        }
    }
    let socket_a = watts / volts.max(least_v);
    // To the battery the socket is one current; nothing else of the mount is on the bus.
    let on_bus = BusDemand { motion: zero, ..*demand };
    let mut point =
        finish_point(amps, (socket_a, taken.jet_m), &BusInputs { demand: &on_bus, ..*inputs }, port, fed);
    point.pump_a = pump_a;
    point.pump_v = V::only(share.gt(zero), unit.volts.min(pump.highest_v));
    point.duty = share;
    point.running = share.gt(zero);
    (point.motor_a, point.board_a, point.socket_a) = (motor_a, board_a, socket_a);
    point.socket_v = unit.volts;
    point.moved = V::only(socket.on, demand.motion);
    point
}

/// How a panel feeds the bus. A trait and no closure: a closure that is not inlined would leave the vectors' instruction set.
trait PanelFeed<V: Lane>: Copy {
    /// Current on a load line, A.
    fn on(&self, line: &LoadLine<V>) -> V;
    /// Current at a bus voltage, A, refined from the current at a voltage that is not lower ([`Cells::current_refined`]).
    fn held_at(&self, volts: V, amps: V) -> V;
}

/// A panel behind a blocking diode.
#[derive(Clone, Copy)]
struct DiodeFeed<'a, V: Lane> {
    cells: &'a Cells<V>,
    cover: Option<&'a CoveredString<V>>,
    drop_v: V,
}

impl<V: Lane> PanelFeed<V> for DiodeFeed<'_, V> {
    #[inline(always)]
    fn on(&self, line: &LoadLine<V>) -> V {
        let clean = line.panel_current_a(self.cells, self.drop_v);
        match self.cover {
            None => clean,
            Some(string) => {
                V::select(string.any, covered_current_a(string, self.drop_v, (line.open_v, line.ohm)), clean)
            }
        }
    }
    #[inline(always)]
    fn held_at(&self, volts: V, amps: V) -> V {
        let clean = self.cells.current_refined(volts + self.drop_v, amps);
        match self.cover {
            None => clean,
            Some(string) => {
                V::select(string.any, covered_current_a(string, self.drop_v, (volts, V::splat(0.0))), clean)
            }
        }
    }
}

/// A panel behind a converter that passes on this power, W.
#[derive(Clone, Copy)]
struct ConverterFeed<V> {
    watts: V,
}

impl<V: Lane> PanelFeed<V> for ConverterFeed<V> {
    #[inline(always)]
    fn on(&self, line: &LoadLine<V>) -> V {
        // V = E + R' P/V, a quadratic equation.
        let half = V::splat(0.5) * line.open_v;
        let volts = half + (half * half + line.ohm * self.watts).max(V::splat(0.0)).sqrt();
        self.watts / volts.max(V::splat(0.1))
    }
    #[inline(always)]
    fn held_at(&self, volts: V, _: V) -> V {
        self.watts / volts.max(V::splat(0.1))
    }
}

/// A panel in the dark: no current.
#[derive(Clone, Copy)]
struct NoFeed;

impl<V: Lane> PanelFeed<V> for NoFeed {
    #[inline(always)]
    fn on(&self, _: &LoadLine<V>) -> V {
        V::splat(0.0)
    }
    #[inline(always)]
    fn held_at(&self, _: V, _: V) -> V {
        V::splat(0.0)
    }
}

/// The operating point with a panel behind a blocking diode (direct or PWM charging).
#[inline(always)]
pub(crate) fn on_battery<V: Lane>(inputs: &BusInputs<'_, V>, port: &BatteryPort<V>) -> OperatingPoint<V> {
    let BusInputs { cells, cover, drop_v, .. } = *inputs;
    operating_point(inputs, port, DiodeFeed { cells, cover, drop_v })
}

/// The operating point with a converter that holds the panel at its maximum power point.
#[inline(always)]
pub(crate) fn on_battery_mppt<V: Lane>(
    inputs: &BusInputs<'_, V>,
    charger: &TrackingCharger<V>,
    port: &BatteryPort<V>,
) -> OperatingPoint<V> {
    let BusInputs { cells, cover, drop_v, .. } = *inputs;
    let c = V::splat;
    let (panel_v, panel_a) = match cover {
        None => cells.max_power(drop_v),
        Some(string) => string.max_power(drop_v),
    };
    let found_w = charger.tracking * ((panel_v - drop_v) * panel_a).max(c(0.0));
    let watts = charger.converter.given_w(found_w);
    let mut p = operating_point(inputs, port, ConverterFeed { watts });
    // What the converter takes from the panel: all it finds, or what it needs for what it may pass on.
    let out = p.fed_a * p.bus_v;
    let taken_w = V::only(watts.gt(c(0.0)), charger.converter.taken_w(out).min(found_w));
    p.panel_v = panel_v;
    p.panel_a = taken_w / (panel_v - drop_v).max(c(1e-3));
    p.converter_w = (panel_v - drop_v) * p.panel_a - out;
    p
}

/// The operating point in the dark: blocking diode and converter let no current back into the panel.
#[inline(always)]
pub(crate) fn on_battery_dark<V: Lane>(
    inputs: &BusInputs<'_, V>,
    port: &BatteryPort<V>,
) -> OperatingPoint<V> {
    operating_point(inputs, port, NoFeed)
}

/// The operating point for these currents of panel and pump, A, and this jet, m. Where the battery may not take all of it, the panel
/// gives less.
#[inline(always)]
fn finish_point<V: Lane>(
    amps: V,
    (pump_a, jet_m): (V, V),
    inputs: &BusInputs<'_, V>,
    port: &BatteryPort<V>,
    fed: impl PanelFeed<V>,
) -> OperatingPoint<V> {
    let BusInputs { drop_v, loads, pump, demand, .. } = *inputs;
    let zero = V::splat(0.0);
    let on = demand.pump.gt(zero);
    let fixed = fixed_draw_a(loads, demand);
    let charge = amps - fixed - pump_a;
    let over = charge.gt(port.limit_a);
    let charge_a = charge.min(port.limit_a);
    let bus_v = port.rest_v + port.ohm * charge_a;
    let fed_a = V::select(over, port.limit_a + fixed + pump_a, amps);
    let mut spilled_a = zero;
    if over.any() {
        // What the panel could give at the voltage the battery is held at. What the charger would not have passed on anyway, the
        // battery does not refuse.
        let could = (fed.held_at(bus_v, amps) - fixed - pump_a).min(port.rate_a);
        spilled_a = V::only(over, (could - port.limit_a).max(zero));
    }
    OperatingPoint {
        bus_v,
        panel_v: bus_v + drop_v,
        panel_a: fed_a,
        fed_a,
        pump_v: V::only(on, bus_v.min(pump.highest_v)),
        pump_a,
        jet_m,
        duty: demand.pump,
        motor_a: V::only(demand.alive, loads.motor_a * demand.motion),
        standby_a: V::only(demand.alive, loads.standby_a),
        charge_a,
        spilled_a,
        moved: demand.motion,
        running: on,
        ..OperatingPoint::nothing()
    }
}
