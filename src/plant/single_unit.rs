//! Each part of the plant alone, for one unit, in plain numbers.
//!
//! These are the kernels' own functions on a lane of one. Most are here for checks against published and computed values; a run
//! uses none of them.

use super::ageing::calendar::rate;
use super::ageing::wear::{Wear, capacity_left};
use super::battery::{Batteries, BatteryDay, BatteryRows, BatteryUnit, Kibam, KibamRows, RestCurve};
use super::bus::{
    BatteryPort, BusDemand, BusInputs, BusLoad, Converter, LoadUnit, OperatingPoint, SocketMinute,
    SocketUnit, Target, TrackingCharger, covered_current_a, on_battery, on_battery_dark, on_battery_mppt,
    on_panel, solve_diode_voltage,
};
use super::mount::{go, turn};
use super::panel::{CoverRows, CoverUnit, CoveredString, PanelUnit};
use super::pump::{Pumps, flow, hiccup_duty};
use super::record::RuleAtWork;
use super::rules::{RuleView, Rules};
use super::state::{StateLanes, StateRows};
use super::water::{
    Beside, DayAir, LostShare, OverWater, approached_c, grown_m, lost_shares, open_water_c, penman_mm,
    wet_bulb_c,
};
use crate::design::{Charging, Chemistry, Design, FedFirst, Panel};
use crate::lanes::Lane;
use crate::sky::air::saturation_kpa;

pub use super::panel::{Cells, Diode, Label};
pub use super::surface::{Dirt, DirtState};
use super::surface::{snow_after_hour, snow_covers};
pub use super::water::{EvaporationDay, Throwing, throw};
pub use crate::design::jet_height_m;

/// Share of its capacity when new that a battery loses on the shelf at a temperature, °C, and a state of charge, in so many days; with a
/// calendar life (at 25 °C, lithium half charged) of so many years.
pub fn shelf_loss(chemistry: Chemistry, (celsius, soc): (f64, f64), days: f64, calendar_life_y: f64) -> f64 {
    let calendar = rate::<f64>(chemistry, celsius, soc) * days / 365.25 / calendar_life_y;
    1.0 - capacity_left(chemistry, Wear { cycles: 0.0, calendar })
}

/// A panel of known diode, in light of `light_w_m2` on its cells at `cell_c` °C; `panel` says how its shunt
/// follows the light, `i_l_per_k` (A/K) how its light current follows the temperature.
pub fn cells(diode: &Diode, panel: &Panel<f64>, i_l_per_k: f64, light_w_m2: f64, cell_c: f64) -> Cells<f64> {
    PanelUnit::from_diode(diode, panel, i_l_per_k).under(light_w_m2, cell_c)
}

/// Covered cells of a string, for checks.
#[derive(Clone, Copy, Debug)]
pub struct CoveredCells {
    /// Cells in series.
    pub cells: u32,
    /// Those that are covered.
    pub covered: u32,
    /// Share of their light that they lose.
    pub share: f64,
    /// Dark shunt of a cell, S.
    pub leak_s: f64,
    /// Bypass diodes, each over an equal part of the string.
    pub bypass_diodes: u32,
}

impl CoveredCells {
    fn string<V: SingleLane>(&self, whole: &Cells<f64>) -> CoveredString<V> {
        let none = CoverUnit {
            cells: f64::from(self.cells),
            covered: 0.0,
            share: 0.0,
            leak_s: self.leak_s,
            beside: 0.0,
            bypass_v: 0.0,
        };
        let mut rows = CoverRows::default();
        rows.set(0, none.with(f64::from(self.covered), self.share, self.bypass_diodes));
        CoverUnit::<V>::of(&rows, 0).under(&whole.splat())
    }

    /// Current of the string at a terminal voltage, A, never negative, and whether the string says that it can supply nearly as much,
    /// and not more.
    pub fn current_at<V: SingleLane>(&self, whole: &Cells<f64>, volts: f64) -> (f64, bool) {
        let c = V::splat;
        let string = self.string::<V>(whole);
        let amps = covered_current_a(&string, c(0.0), (c(volts), c(0.0)));
        let near = c(2e-3 * whole.i_l);
        let (less, more) =
            (string.can_supply(c(volts), amps - near), string.can_supply(c(volts), amps + near));
        (amps.into(), (less || amps.le(c(0.0))) && !more)
    }

    /// Current on a line V = `open_v` + `ohm` I, A.
    pub fn current_on<V: SingleLane>(&self, whole: &Cells<f64>, open_v: f64, ohm: f64) -> f64 {
        let c = V::splat;
        covered_current_a(&self.string::<V>(whole), c(0.0), (c(open_v), c(ohm))).into()
    }

    /// Voltage (V) and current (A) of the string's maximum power behind a diode of fixed drop.
    pub fn max_power<V: SingleLane>(&self, whole: &Cells<f64>, drop_v: f64) -> (f64, f64) {
        let (volts, amps) = self.string::<V>(whole).max_power(V::splat(drop_v));
        (volts.into(), amps.into())
    }
}

/// A drawn panel in light of `plane_w_m2` on it, in air of a temperature (°C) and a wind (m/s).
pub fn panel_in_light(panel: &Panel<f64>) -> impl Fn(f64, f64, f64) -> Cells<f64> + use<> {
    let unit = PanelUnit::from_design(panel);
    move |plane_w_m2, air_c, wind_m_s| {
        unit.under(plane_w_m2 * unit.clean, air_c + unit.heating(wind_m_s) * plane_w_m2)
    }
}

/// A label's panel whose temperature coefficients (shares per K, of short-circuit current, open-circuit voltage and power) hold: the change
/// of its a, 1/K, and its largest power, W, in light of so many W/m² at a cell temperature, °C.
pub fn by_coefficients(
    label: &Label,
    ideality: f64,
    coefficients: [f64; 3],
) -> Option<(f64, impl Fn(f64, f64) -> f64 + use<>)> {
    let unit = PanelUnit::bare(&label.fit(ideality)?).with_coefficients(label.v_oc, coefficients);
    Some((unit.a_per_k, move |light_w_m2, cell_c| unit.max_power_w(light_w_m2, cell_c)))
}

/// Share of a panel's height under snow after an hour, from that before it: snowfall in cm, light on the panel in W/m², air in °C, tilt in degrees.
pub fn under_snow(covered: f64, snow_cm: f64, light_w_m2: f64, air_c: f64, tilt_deg: f64) -> f64 {
    match snow_covers(snow_cm) {
        true => 1.0,
        false => snow_after_hour(covered, light_w_m2, air_c, libm::sin(tilt_deg.to_radians())),
    }
}

/// Unit vector (east, north, up) of a tilt and an azimuth in degrees.
pub fn direction(tilt_deg: f64, azimuth_deg: f64) -> [f64; 3] {
    super::mount::direction(tilt_deg, azimuth_deg)
}

/// Share of the time the motors of a head run because it overshoots: speed (°/s), delay (s) and coasting (°), and dead band (± °).
pub fn overshoot_share((speed_deg_s, delay_s, coast_deg): (f64, f64, f64), band_deg: f64) -> f64 {
    super::mount::overshoot_share(band_deg, speed_deg_s * delay_s, coast_deg)
}

/// Share of the time the motors of a head run because of noise: contrast of its dead band, standard deviation of the noise in steady light,
/// and how patchy the sky is (0..=1).
pub fn noise_share(band: f64, noise: f64, patchy: f64) -> f64 {
    super::mount::noise_share(band, noise, patchy)
}

/// Cell temperature, °C (Faiman 2008).
pub fn cell_c(diode: &Diode, panel: &Panel<f64>, light_w_m2: f64, air_c: f64, wind_m_s: f64) -> f64 {
    air_c + PanelUnit::from_diode(diode, panel, 0.0).heating(wind_m_s) * light_w_m2
}

/// A drawn panel fitted to its label: for light that reaches its cells (W/m²) and a cell temperature (°C) its largest power, and the most
/// that the account lets pass, W.
pub fn panel_powers_w(panel: &Panel<f64>) -> impl Fn(f64, f64) -> (f64, f64) {
    let unit = PanelUnit::from_design(panel);
    move |light_w_m2, cell_c| (unit.max_power_w(light_w_m2, cell_c), unit.label_w(light_w_m2, cell_c))
}

/// Current of a panel at a terminal voltage, A (negative above its open circuit).
pub fn current_at(cells: &Cells<f64>, volts: f64) -> f64 {
    let start = (volts + cells.i_l * cells.r_s).min(cells.open_bound().max(volts));
    solve_diode_voltage(cells, 0.0, Target::held_where(true, volts), (start, start), &BusLoad::nothing()).1
}

/// Open-circuit voltage, V.
pub fn open_volts(cells: &Cells<f64>) -> f64 {
    let (nothing, bound) = (BusLoad::nothing(), cells.open_bound());
    solve_diode_voltage(cells, 0.0, Target::loads(), (bound, bound), &nothing).0
}

/// Bus voltage of a panel on a resistance, V.
pub fn volts_on(cells: &Cells<f64>, ohm: f64) -> f64 {
    let load = BusLoad { ohmic_s: 1.0 / ohm, ..BusLoad::nothing() };
    let bound = cells.open_bound();
    let (vd, i) = solve_diode_voltage(cells, 0.0, Target::loads(), (bound, bound), &load);
    vd - i * cells.r_s
}

/// The two wells of a lead-acid battery.
#[derive(Clone, Copy, Debug)]
pub struct Wells {
    /// Capacity of both, Ah.
    pub capacity_ah: f64,
    /// Share of it at hand when full.
    pub c: f64,
    /// Rate at which they level out, 1/h.
    pub k_per_h: f64,
}

impl Wells {
    /// Charge at hand and bound, Ah, after some hours at a current (A, positive out).
    pub fn after(&self, (q1_ah, q2_ah): (f64, f64), amps: f64, hours: f64) -> (f64, f64) {
        let mut rows = KibamRows::default();
        rows.set_from(0, self.c, self.k_per_h, self.capacity_ah);
        let (d1, d2) = Kibam::<f64>::of(&rows, 0).hours(q1_ah, q2_ah, amps, hours);
        (q1_ah + d1, q2_ah + d2)
    }
}

/// Charging a battery of straight rest curve (V at empty and full), resistance (ohm) and capacity (Ah) with a largest current
/// (A) up to a charge voltage (V): current, A, and state of charge at the end of each minute.
pub fn charging(
    (empty_v, full_v): (f64, f64),
    ohm: f64,
    capacity_ah: f64,
    (amps, charge_v): (f64, f64),
    soc: f64,
    minutes: usize,
) -> Vec<(f64, f64)> {
    let mut rows = BatteryRows::default();
    let unit = BatteryUnit {
        capacity_ah,
        r_25_ohm: ohm,
        coulombic_efficiency: 1.0,
        self_per_h: 0.0,
        lag_per_h: 1.0,
        box_k_m2_w: 0.0,
        charge_v,
        cut_off_v: 0.0,
        reconnect_v: 0.0,
        charge_max_a: amps,
        frost_lock_c: 0.0,
        frost_unlock_c: 0.0,
        charger_tracking: 1.0,
        charger_loss: 0.0,
        charger_loss_per_w: 0.0,
        charge_v_per_k: 0.0,
        floor_share: 0.0,
        reserve_share: 0.0,
    };
    rows.set(0, unit);
    let all = Batteries {
        chemistry: Chemistry::NickelMetalHydride,
        kept_above_freezing: true,
        box_in_sun: false,
        rest: RestCurve::straight(empty_v, full_v),
        rows,
        kibam: None,
    };
    let mut now = StateLanes::<f64>::of(&StateRows::default(), 0);
    (now.q1_ah, now.battery_c) = (soc * capacity_ah, 25.0);
    let mut battery = BatteryDay::new(&all, 0, &now);
    (0..minutes)
        .map(|_| {
            let port = battery.port(&now);
            let point = OperatingPoint::charging(port.rest_v + port.ohm * port.limit_a, port.limit_a);
            battery.minute(&mut now, &point, &port, Charging::Pwm);
            (point.charge_a, battery.soc(&now))
        })
        .collect()
}

/// A lane of one, in the precision of the minute step (`f32`) or in double.
pub trait SingleLane: Lane<Mask = bool> + Into<f64> {}
impl SingleLane for f32 {}
impl SingleLane for f64 {}

/// A design's pump alone on a panel, without diode drop: voltage (V), current (A), and whether it turns, given
/// whether it turned before.
pub fn pump_on_panel<V: SingleLane>(
    design: &Design<f64>,
    cells: &Cells<f64>,
    turning: bool,
) -> (f64, f64, bool) {
    let c = V::splat;
    let pumps = Pumps::new(&[design]);
    let unit = pumps.lanes::<V>(0);
    let (cells, zero) = (cells.splat::<V>(), c(0.0));
    let loads = LoadUnit { standby_a: zero, standby_s: zero, motor_a: zero, lowest_v: zero, board_a: zero };
    let demand = BusDemand { pump: c(1.0), motion: zero, running: turning, last_v: zero, alive: true };
    let inputs = BusInputs {
        cells: &cells,
        cover: None,
        drop_v: zero,
        loads: &loads,
        pumps: &pumps,
        pump: &unit,
        at: 0,
        demand: &demand,
        socket: None,
    };
    let p = on_panel(&inputs, FedFirst::Pump);
    (p.bus_v.into(), p.pump_a.into(), p.running)
}

/// A battery for [`pump_on_battery`], and what else hangs on it.
#[derive(Clone, Copy, Debug)]
pub struct BatteryBus {
    /// Rest voltage, V.
    pub rest_v: f64,
    /// Resistance, ohm.
    pub ohm: f64,
    /// Voltage up to which it may be charged, V; not below the rest voltage.
    pub full_v: f64,
    /// What electronics take, A.
    pub standby_a: f64,
    /// Efficiency of a converter that holds the panel at its maximum power point; without one a blocking diode stands there.
    pub converter: Option<f64>,
}

/// A design's pump, switched on, on a battery charged by a panel behind a diode of fixed drop (V): bus voltage (V), current fed
/// to the bus and current of the pump (A).
pub fn pump_on_battery<V: SingleLane>(
    design: &Design<f64>,
    cells: &Cells<f64>,
    drop_v: f64,
    held: &BatteryBus,
) -> (f64, f64, f64) {
    let c = V::splat;
    let BatteryBus { full_v, converter, .. } = *held;
    let (rest_v, ohm, standby_a) = (c(held.rest_v), c(held.ohm), c(held.standby_a));
    let pumps = Pumps::new(&[design]);
    let unit = pumps.lanes::<V>(0);
    let (cells, zero) = (cells.splat::<V>(), c(0.0));
    let loads = LoadUnit { standby_a, standby_s: zero, motor_a: zero, lowest_v: zero, board_a: zero };
    let demand = BusDemand { pump: c(1.0), motion: zero, running: true, last_v: rest_v, alive: true };
    let inputs = BusInputs {
        cells: &cells,
        cover: None,
        drop_v: c(drop_v),
        loads: &loads,
        pumps: &pumps,
        pump: &unit,
        at: 0,
        demand: &demand,
        socket: None,
    };
    let limit_a = ((c(full_v) - rest_v) / ohm).max(zero);
    let port = BatteryPort { rest_v, ohm, limit_a, rate_a: limit_a };
    let p = match converter {
        Some(efficiency) => {
            let (share, zero) = (c(1.0 / efficiency - 1.0), c(0.0));
            let converter = Converter { idle_w: zero, share, share_per_w: zero };
            on_battery_mppt(&inputs, &TrackingCharger { tracking: c(1.0), converter }, &port)
        }
        None => on_battery(&inputs, &port),
    };
    (p.bus_v.into(), p.fed_a.into(), p.pump_a.into())
}

/// The first minute of a turn between two directions (unit vectors east, north, up) at a speed: angle to go and
/// angle gone, rad.
pub fn turned(from: [f64; 3], to: [f64; 3], speed_rad_min: f64) -> (f64, f64) {
    let t = turn(from, to, 0.0, speed_rad_min);
    (t.angle_rad, go(from, to, &t, t.share, speed_rad_min).1)
}

/// What a converter takes to give some power, and what it gives of some power, all W; its loss as idle power (W), share, and share
/// for each W.
pub fn converter(
    (idle_w, share, share_per_w): (f64, f64, f64),
) -> (impl Fn(f64) -> f64, impl Fn(f64) -> f64) {
    let converter = Converter { idle_w, share, share_per_w };
    (move |given_w| converter.taken_w(given_w), move |taken_w| converter.given_w(taken_w))
}

/// A battery with nothing but a socket that gives some power, W: its voltage, V, and what the socket takes of it, A. Loss of the converter
/// as for [`converter`]; the battery's rest voltage (V), resistance (ohm), and the socket's lowest input (V).
pub fn socket_on_battery(
    design: &Design<f64>,
    (idle_w, loss, loss_per_w): (f64, f64, f64),
    (rest_v, ohm, lowest_v): (f64, f64, f64),
    given_w: f64,
) -> (f64, f64) {
    let pumps = Pumps::new(&[design]);
    let pump = pumps.lanes::<f64>(0);
    let unit =
        SocketUnit { volts: 5.0, idle_w, loss, loss_per_w, lowest_v, again_v: lowest_v, sleeps_below_a: 0.0 };
    let loads = LoadUnit {
        standby_a: 0.0,
        standby_s: 0.0,
        motor_a: 0.0,
        lowest_v: 0.0,
        board_a: given_w / unit.volts,
    };
    let demand = BusDemand { pump: 0.0, motion: 0.0, running: false, last_v: rest_v, alive: true };
    let dark = PanelUnit::from_design(&design.panel).dark();
    let socket = Some(SocketMinute { unit: &unit, on: true });
    let inputs = BusInputs {
        cells: &dark,
        cover: None,
        drop_v: 0.0,
        loads: &loads,
        pumps: &pumps,
        pump: &pump,
        at: 0,
        demand: &demand,
        socket,
    };
    let point = on_battery_dark(&inputs, &BatteryPort { rest_v, ohm, limit_a: 0.0, rate_a: 0.0 });
    (point.bus_v, point.socket_a)
}

/// Voltage at which a lead-acid battery is charged, V: at 25 °C, its change with temperature (1/K), and the temperature, °C.
pub fn charge_volts(at_25_v: f64, drift_per_k: f64, battery_c: f64) -> f64 {
    super::battery::charge_v(at_25_v, at_25_v * drift_per_k, battery_c)
}

/// Rested open-circuit voltage of one cell at a state of charge, V.
pub fn rest_volts(chemistry: Chemistry, soc: f64) -> f64 {
    RestCurve::new(chemistry, 1).segment(soc).at(soc)
}

/// Current (A), jet height (m) and flow (L/min) of a design's pump at a voltage.
pub fn pump(design: &Design<f64>, volts: f64) -> (f64, f64, f64) {
    let pumps = Pumps::new(&[design]);
    let unit = pumps.lanes::<f64>(0);
    let p = pumps.at(&unit, 0, volts);
    (p.amps, p.jet_m, flow(&unit, p.jet_m))
}

/// Share of the time an electronic pump runs on a panel that gives less than it takes.
pub fn pulsing_duty(pv_a: f64, load_a: f64) -> f64 {
    hiccup_duty(pv_a, load_a)
}

/// Share of a jet's water (height in m) that a wind (m/s) carries past the rim.
pub fn lost_share(throwing: &Throwing, jet_m: f64, wind_m_s: f64) -> f64 {
    lost_shares(&[LostShare::new(throwing, jet_m)], throwing.rim_m, jet_m, wind_m_s, 0)
}

/// What the rules of a controller go by in a minute.
#[derive(Clone, Copy, Debug)]
pub struct RuleMinute {
    /// State of charge, share, and voltage of the battery, V.
    pub charge: f64,
    /// See `charge`.
    pub volts: f64,
    /// The mount is within its dead band.
    pub on_target: bool,
    /// It is light, and not yet the hour at which the hold of the morning ends.
    pub morning: bool,
    /// It is not yet the hour from which the reserve may be used.
    pub before_evening: bool,
}

/// The rules of a drawn design alone, on a lane of one.
pub struct RuledPump {
    rules: Rules,
    now: StateLanes<f64>,
}

impl RuledPump {
    /// Before any rule acts.
    pub fn new(design: &Design<f64>) -> RuledPump {
        RuledPump { rules: Rules::new(&[design]), now: StateLanes::<f64>::of(&StateRows::default(), 0) }
    }

    /// A new day: the hold of the morning begins anew.
    pub fn day(&mut self) {
        (self.now.hold_done, self.now.settled_min) = (false, 0.0);
    }

    /// Steps a minute; gives the rule at work, and the share of its voltage that the pump gets.
    pub fn minute(&mut self, seen: &RuleMinute) -> (Option<RuleAtWork>, f64) {
        let Some(control) = &self.rules.control else { return (None, 1.0) };
        let RuleMinute { charge, volts, on_target, morning, before_evening } = *seen;
        let seen = RuleView { charge, volts, on_target, morning, before_evening };
        let ruled = control.minute(&mut self.now, &seen, 0);
        (RuleAtWork::of_number(ruled.by), ruled.speed)
    }
}

/// Evaporation of open water, mm a day: warmest and coldest °C, vapour pressure kPa, wind at 2 m m/s, global
/// radiation MJ/m².
pub fn penman(
    (max_c, min_c): (f64, f64),
    vapour_kpa: f64,
    wind_2m_m_s: f64,
    sun_mj_m2: f64,
    day: &EvaporationDay,
) -> f64 {
    penman_mm(&DayAir { max_c, min_c, vapour_kpa, wind_2m_m_s, sun_mj_m2 }, day)
}

/// Weather over open water for an hour.
#[derive(Clone, Copy, Debug)]
pub struct WaterHour {
    /// Air, °C, and its relative humidity, share.
    pub air_c: f64,
    /// See `air_c`.
    pub humidity: f64,
    /// Wind over the water, m/s.
    pub wind_m_s: f64,
    /// Global irradiance and long-wave radiation of the sky, W/m².
    pub sun_w_m2: f64,
    /// See `sun_w_m2`.
    pub sky_w_m2: f64,
}

/// Temperature of open water of a depth (m) after an hour, °C, and the wet bulb, °C.
pub fn water_hour(water_c: f64, depth_m: f64, over: &WaterHour) -> (f64, f64) {
    let WaterHour { air_c, humidity, wind_m_s, sun_w_m2, sky_w_m2 } = *over;
    let vapour_kpa = humidity * saturation_kpa(air_c);
    let wet_c = wet_bulb_c(air_c, vapour_kpa);
    let air = OverWater { air_c, vapour_kpa, wind_m_s, sun_w_m2, sky_w_m2 };
    let alone = Beside { ground_w_m2_k: 0.0, ground_c: 0.0, jet_w_m2_k: 0.0, wet_bulb_c: wet_c };
    (open_water_c(water_c, depth_m, &air, &alone, 1.0), wet_c)
}

/// Temperature of water after some hours under an equilibrium temperature, °C, with an exchange of `k` W/(m² K).
pub fn water_nearing(water_c: f64, equilibrium_c: f64, k: f64, depth_m: f64, hours: f64) -> f64 {
    approached_c(water_c, k * (equilibrium_c - water_c), k, depth_m, hours)
}

/// Thickness of ice after some hours under a face of `face_c` °C with `face_w_m2_k` between face and air, m.
pub fn ice_after(ice_m: f64, face_c: f64, face_w_m2_k: f64, hours: f64) -> f64 {
    ice_m + grown_m(ice_m, face_c, face_w_m2_k, hours)
}
