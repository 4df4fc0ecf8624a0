//! The drawn batteries of a block, and what temperature does to them.
//!
//! Voltage and resistance are those of the whole pack. Charge is counted at the terminals: of what goes in,
//! the share `coulombic_efficiency` is stored; what comes out counts in full. Cold puts the lowest part of the charge out of
//! reach and raises the resistance; no charge is lost by it.

use super::kibam::{KibamRows, at_hand};
use super::rest_curve::RestCurve;
use crate::design::{Chemistry, Design};
use crate::lanes::{Lane, math};
use crate::plant::ageing::calendar::self_discharge_per_h;
use crate::plant::bus::{Converter, TrackingCharger};
use crate::plant::pump::highest_current_a;
use crate::plant::record::rows::rows;

/// Temperatures between which a charger follows that of a lead-acid battery, °C (common practice, no source).
const DRIFT_C: (f64, f64) = (0.0, 40.0);
/// A battery kept above freezing stays at least this warm, °C.
const KEPT_C: f64 = 5.0;
/// Resistance at -20 and 0 °C over that at 25 °C; share of the capacity at -20 and 0 °C (common practice).
const fn cold(chemistry: Chemistry) -> ([f64; 2], [f64; 2]) {
    match chemistry {
        Chemistry::LithiumIon => ([5.0, 2.0], [0.65, 0.875]),
        Chemistry::LithiumIronPhosphate => ([6.0, 2.0], [0.55, 0.85]),
        Chemistry::LeadAcid => ([2.0, 1.4], [0.55, 0.825]),
        Chemistry::NickelMetalHydride => ([3.0, 1.5], [0.6, 0.85]),
    }
}

rows! {
    /// A battery and the limits its electronics keep.
    BatteryRows / BatteryUnit {
        /// Capacity left at its age, Ah.
        capacity_ah,
        /// Resistance at 25 °C, ohm.
        r_25_ohm,
        /// Coulombic efficiency.
        coulombic_efficiency,
        /// Self-discharge at 20 °C, 1/h.
        self_per_h,
        /// 1/time constant of its temperature, 1/h.
        lag_per_h,
        /// How far sun on its box lifts its temperature, K for each W/m² on the level.
        box_k_m2_w,
        /// Charge voltage, V.
        charge_v,
        /// Cut-off, V.
        cut_off_v,
        /// Reconnect, V.
        reconnect_v,
        /// Largest charging current of charger and chemistry, A.
        charge_max_a,
        /// Frost forbids charging below this temperature and allows it again from this one on, °C (lithium).
        frost_lock_c,
        frost_unlock_c,
        /// A tracking charger: share of the panel's power that it finds, its loss as a share of what it gives, and the further share for
        /// each W.
        charger_tracking, charger_loss, charger_loss_per_w,
        /// Change of the charge voltage with temperature, V/K.
        charge_v_per_k,
        /// The pump is cut off below this share of the charge at hand, so that no minute takes more than there is ...
        floor_share,
        /// ... and motors and electronics below this one.
        reserve_share,
    }
}

impl<V: Lane> BatteryUnit<V> {
    /// Its tracking charger.
    #[inline(always)]
    pub(crate) fn charger(&self) -> TrackingCharger<V> {
        let (share, share_per_w) = (self.charger_loss, self.charger_loss_per_w);
        TrackingCharger {
            tracking: self.charger_tracking,
            converter: Converter { idle_w: V::splat(0.0), share, share_per_w },
        }
    }
}

/// Warming of a box by the sun, K for each W/m² on the level: what its faces take in over what they give off (the sol-air temperature of
/// a surface, ASHRAE Handbook of Fundamentals; from memory). Of a box's faces a quarter looks up and a sixth to the sun, which meets
/// half of the level's light; they give off 12 to 20 W/m²K in light wind (common practice, no source).
fn box_k_m2_w(absorptance: f64) -> f64 {
    const UP: f64 = 29.0 / 120.0;
    const SUNWARD: f64 = 1.0 / 6.0;
    const GIVEN_OFF_W_M2_K: f64 = 17.0;
    absorptance * (UP + 0.5 * SUNWARD) / GIVEN_OFF_W_M2_K
}

/// Batteries of a block.
#[derive(Clone, Debug)]
pub(crate) struct Batteries {
    pub chemistry: Chemistry,
    pub kept_above_freezing: bool,
    /// The sun warms the box of one of them.
    pub box_in_sun: bool,
    pub rest: RestCurve,
    pub rows: BatteryRows,
    /// Two wells; lead-acid only.
    pub kibam: Option<KibamRows>,
}

/// What depends on the temperature of a battery.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Thermal<V> {
    /// Resistance, ohm.
    pub r_ohm: V,
    /// Share of the charge out of reach.
    pub out_of_reach_share: V,
    /// Self-discharge, 1/h.
    pub self_per_h: V,
    /// Voltage at which charging is held, V.
    pub charge_v: V,
}

impl Batteries {
    pub(crate) fn new(designs: &[&Design<f64>]) -> Option<Self> {
        let first = designs[0].battery.as_ref()?;
        let lead = first.chemistry == Chemistry::LeadAcid;
        let rest = RestCurve::new(first.chemistry, first.cells);
        let mut rows = BatteryRows::default();
        let mut kibam = KibamRows::default();
        for (lane, d) in designs.iter().enumerate() {
            let Some(b) = &d.battery else { continue };
            let e = &d.electronics;
            let capacity_ah = b.usable_capacity_ah();
            let (pump_a, mount_a) = match &e.socket {
                // What the converter takes at its lowest input.
                Some(s) => {
                    let at_battery = |amps: f64| {
                        let given_w = amps * s.voltage_v;
                        given_w * (1.0 + s.loss + s.loss_per_watt * given_w) / s.lowest_input_v.max(0.1)
                    };
                    let mount_a = d.mount.motor_current_a + d.mount.standby_current_a;
                    let pump_a = highest_current_a(&d.pump, s.voltage_v);
                    let all_a = at_battery(pump_a + mount_a) + s.idle_a;
                    let mount_a = at_battery(mount_a) + s.idle_a;
                    (all_a - mount_a, mount_a)
                }
                None => (
                    highest_current_a(&d.pump, e.charge_voltage_v.max(rest.full_v())),
                    d.mount.motor_current_a + d.mount.standby_current_a,
                ),
            };
            let others_a = mount_a + e.own_current_a();
            let head_ah = if lead { at_hand(b.kibam_c) * capacity_ah } else { capacity_ah };
            // A minute and a half of a current, as a share of the charge at hand.
            let share = |amps: f64| (1.5 * amps / 60.0 / head_ah).clamp(0.002, 0.9);
            let floor_share = share(pump_a + others_a);
            // Lead-acid takes at most a quarter of its capacity an hour (common practice).
            let acid_max_a = if lead { 0.25 * capacity_ah } else { f64::INFINITY };
            rows.set(
                lane,
                BatteryUnit {
                    capacity_ah,
                    r_25_ohm: b.resistance_ohm,
                    coulombic_efficiency: b.coulombic_efficiency,
                    self_per_h: self_discharge_per_h(b.self_discharge_month),
                    lag_per_h: 1.0 / b.temperature_lag_h.max(0.01),
                    box_k_m2_w: box_k_m2_w(b.box_absorptance),
                    charge_v: e.charge_voltage_v,
                    cut_off_v: e.cut_off_v,
                    reconnect_v: e.reconnect_v,
                    charge_max_a: e.charge_current_max_a.min(acid_max_a).min(1e6),
                    frost_lock_c: b.frost_lock_c,
                    frost_unlock_c: b.frost_unlock_c.max(b.frost_lock_c),
                    charger_tracking: e.tracking,
                    charger_loss: 1.0 / e.charge_efficiency - 1.0,
                    charger_loss_per_w: e.charge_loss_per_watt,
                    charge_v_per_k: e.charge_voltage_v * e.charge_voltage_drift_per_k,
                    floor_share,
                    reserve_share: (0.5 * floor_share).max(share(others_a)),
                },
            );
            kibam.set_from(lane, b.kibam_c, b.kibam_k_per_h, capacity_ah);
        }
        Some(Batteries {
            chemistry: first.chemistry,
            kept_above_freezing: first.kept_above_freezing,
            box_in_sun: rows.box_k_m2_w.0.iter().any(|&k| k > 0.0),
            rest,
            rows,
            kibam: lead.then_some(kibam),
        })
    }

    /// Whether frost forbids charging it.
    pub(crate) fn is_lithium(&self) -> bool {
        matches!(self.chemistry, Chemistry::LithiumIon | Chemistry::LithiumIronPhosphate)
    }

    /// Temperature after some hours in air of a temperature, °C: first-order lag, exact.
    #[inline(always)]
    pub(crate) fn follow<V: Lane>(&self, unit: &BatteryUnit<V>, battery_c: V, air_c: V, hours: f64) -> V {
        let kept = math::exp(-(unit.lag_per_h * V::splat(hours)));
        let now = air_c + (battery_c - air_c) * kept;
        if self.kept_above_freezing { now.max(V::splat(KEPT_C)) } else { now }
    }

    /// Resistance, reach and self-discharge at a temperature, °C. Straight lines between -20, 0 and 25 °C,
    /// going on below; self-discharge doubles every 10 K.
    #[inline(always)]
    pub(crate) fn at<V: Lane>(&self, unit: &BatteryUnit<V>, battery_c: V) -> Thermal<V> {
        let c = V::splat;
        let (r, q) = cold(self.chemistry);
        // Doubles every 10 K, 1 at 20 °C.
        let doubling = math::exp((battery_c - c(20.0)) * c(std::f64::consts::LN_2 / 10.0));
        let cool = (c(25.0) - battery_c).max(c(0.0));
        let frost = (-battery_c).max(c(0.0));
        Thermal {
            r_ohm: unit.r_25_ohm * cold_line(r, cool, frost),
            out_of_reach_share: (c(1.0) - cold_line(q, cool, frost))
                .clamp(c(0.0), c(0.9))
                .max(unit.floor_share),
            self_per_h: unit.self_per_h * doubling,
            charge_v: charge_v(unit.charge_v, unit.charge_v_per_k, battery_c),
        }
    }
}

/// Voltage at which charging is held at a temperature, °C, V.
#[inline(always)]
pub(crate) fn charge_v<V: Lane>(at_25_v: V, per_k_v: V, battery_c: V) -> V {
    let c = V::splat;
    at_25_v + per_k_v * (battery_c.clamp(c(DRIFT_C.0), c(DRIFT_C.1)) - c(25.0))
}

/// 1 at 25 °C and above, through the values at 0 and -20 °C, and on below. `cool` is K below 25 °C, `frost` below 0 °C.
#[inline(always)]
fn cold_line<V: Lane>(at: [f64; 2], cool: V, frost: V) -> V {
    let gentle = (at[1] - 1.0) / 25.0;
    let steep = (at[0] - at[1]) / 20.0;
    V::splat(1.0) + V::splat(gentle) * cool + V::splat(steep - gentle) * frost
}
