//! Sixteen drawn units side by side: their parts, and the state they start in.

use super::battery::Batteries;
use super::bus::{LoadRows, LoadUnit, SocketRows, SocketUnit};
use super::mount::Mounts;
use super::panel::{CoverRows, CoverUnit, PanelRows, PanelUnit};
use super::pump::Pumps;
use super::rules::Rules;
use super::state::{State, StateRows};
use super::surface::Surfaces;
use super::water::Basins;
use crate::design::{Charging, Design, FedFirst, MountKind};
use crate::lanes::{BLOCK, RowF64};

/// State of charge a battery starts the run-in with, share.
const START_SOC: f64 = 0.8;
/// Temperature the water starts the run-in with, °C.
const START_WATER_C: f64 = 8.0;
/// Temperature a battery starts the run-in with, °C.
const START_C: f64 = 15.0;

/// Sixteen units of one design, each from its own draw of the parts.
#[derive(Clone, Debug)]
pub struct UnitBlock {
    pub(crate) panel: PanelRows,
    /// What covers cells of the panels; `None` where nothing does.
    pub(crate) cover: Option<CoverRows>,
    /// Whether snow lies on them.
    pub(crate) snow: bool,
    /// What comes and goes on them; `None` where nothing does.
    pub(crate) surfaces: Option<Surfaces>,
    pub(crate) mounts: Mounts,
    pub(crate) loads: LoadRows,
    /// A converter behind which pump and mount are.
    pub(crate) socket: Option<SocketRows>,
    pub(crate) batteries: Option<Batteries>,
    pub(crate) charging: Charging,
    pub(crate) fed_first: FedFirst,
    pub(crate) pumps: Pumps,
    pub(crate) blocked_from_day: Option<u16>,
    pub(crate) pulse_counts_from: f64,
    pub(crate) rules: Rules,
    pub(crate) basins: Basins,
    pub(crate) albedo: RowF64,
}

impl UnitBlock {
    /// Packs 1 to 16 drawn designs of one structure (same kinds, same number of bench points, all or none with
    /// a battery); fewer than 16 repeat the last. Panics on none.
    pub fn new(designs: &[Design<f64>]) -> UnitBlock {
        let last = designs.len().min(BLOCK) - 1;
        let filled: Vec<&Design<f64>> = (0..BLOCK).map(|k| &designs[k.min(last)]).collect();
        let first = filled[0];
        let mut panel = PanelRows::default();
        let mut loads = LoadRows::default();
        let mut albedo = RowF64::default();
        let mut socket = None;
        let mut fitted = PanelUnit::from_design(&first.panel);
        for (lane, d) in filled.iter().enumerate() {
            // A label is fitted once if the draws are alike.
            if lane > 0 && d.panel != filled[lane - 1].panel {
                fitted = PanelUnit::from_design(&d.panel);
            }
            panel.set(lane, fitted);
            loads.set(lane, LoadUnit::from_design(d));
            if let Some(unit) = SocketUnit::from_design(d) {
                socket.get_or_insert_with(SocketRows::default).set(lane, unit);
            }
            albedo.0[lane] = d.site.albedo;
        }
        UnitBlock {
            panel,
            cover: covers(&filled),
            snow: first.panel.snow,
            surfaces: Surfaces::new(&filled),
            mounts: Mounts::new(&filled),
            loads,
            socket,
            batteries: Batteries::new(&filled),
            charging: first.electronics.charging,
            fed_first: first.electronics.fed_first,
            pumps: Pumps::new(&filled),
            blocked_from_day: first.pump.blocked_from_day,
            pulse_counts_from: first.wish.pulse_counts_from,
            rules: Rules::new(&filled),
            basins: Basins::new(&filled),
            albedo,
        }
    }

    /// Fills the batteries: all the charge they can hold, and the pumps connected.
    pub fn charge_fully(&self, state: &mut State) {
        let Some(b) = &self.batteries else { return };
        for lane in 0..BLOCK {
            let charge = b.rows.capacity_ah.0[lane];
            let at_hand = b.kibam.as_ref().map_or(1.0, |k| k.c.0[lane]);
            state.rows.q1_ah.0[lane] = charge * at_hand;
            state.rows.q2_ah.0[lane] = charge - charge * at_hand;
            (state.rows.q1_carry_ah.0[lane], state.rows.q2_carry_ah.0[lane]) = (0.0, 0.0);
        }
        state.rows.bus_v = b.rows.reconnect_v;
        state.rows.connected = RowF64::splat(1.0);
    }

    /// Puts a new battery into a unit, charged as it comes.
    pub fn new_battery(&self, state: &mut State, lane: usize) {
        self.charge_to(state, lane, START_SOC);
    }

    /// Charges a unit's battery to a state of charge (0..=1), and connects its pump.
    pub fn charge_to(&self, state: &mut State, lane: usize, soc: f64) {
        let Some(b) = &self.batteries else { return };
        let charge = soc * b.rows.capacity_ah.0[lane];
        let at_hand = b.kibam.as_ref().map_or(1.0, |k| k.c.0[lane]);
        state.rows.q1_ah.0[lane] = charge * at_hand;
        state.rows.q2_ah.0[lane] = charge - charge * at_hand;
        (state.rows.q1_carry_ah.0[lane], state.rows.q2_carry_ah.0[lane]) = (0.0, 0.0);
        state.rows.bus_v.0[lane] = b.rows.reconnect_v.0[lane];
        state.rows.connected.0[lane] = 1.0;
    }

    /// The same units where nobody cleans their panels.
    #[must_use]
    pub fn left_alone(&self) -> UnitBlock {
        let mut alone = self.clone();
        if let Some(surfaces) = &mut alone.surfaces {
            surfaces.clean_never();
        }
        alone
    }

    /// Capacity of a unit's battery, Ah; 0 without one.
    pub fn capacity_ah(&self, lane: usize) -> f64 {
        self.batteries.as_ref().map_or(0.0, |b| b.rows.capacity_ah.0[lane])
    }

    /// Fills the basins.
    pub fn fill_up(&self, state: &mut State) {
        state.rows.water_l = self.basins.rows.usable_l;
        state.rows.water_carry_l = RowF64::default();
    }

    /// The state before the run-in: battery at 80 %, basin full, mount in its waiting position.
    pub fn start_state(&self) -> State {
        let mut rows = StateRows {
            battery_c: RowF64::splat(START_C),
            water_c: RowF64::splat(START_WATER_C),
            ..StateRows::default()
        };
        let m = &self.mounts.rows;
        (rows.east, rows.north, rows.up) = match self.mounts.kind {
            MountKind::Fixed => (m.fixed_e, m.fixed_n, m.fixed_u),
            MountKind::SunFollowing | MountKind::LightSeeking => (m.rest_e, m.rest_n, m.rest_u),
        };
        rows.water_l = self.basins.rows.usable_l;
        let mut state = State { rows, surface: Default::default() };
        (0..BLOCK).for_each(|lane| self.new_battery(&mut state, lane));
        state
    }
}

/// What covers cells of the panels; `None` where nothing does.
fn covers(designs: &[&Design<f64>]) -> Option<CoverRows> {
    let mut rows = CoverRows::default();
    let mut any = false;
    for (lane, d) in designs.iter().enumerate() {
        let cover = &d.panel.cover;
        any |= cover.cells > 0.0;
        let unit = CoverUnit::of_panel(&d.panel);
        rows.set(lane, unit.with(cover.cells, cover.share, cover.bypass_diodes));
    }
    any.then_some(rows)
}
