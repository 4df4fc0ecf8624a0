//! The basins of a block, and the account of their water through a day.

use super::drift::{LostShare, Throwing};
use super::evaporation::wind_2m_share;
use crate::design::{Design, TopUp, Water};
use crate::lanes::{BLOCK, Lane, RowF64};
use crate::plant::pump::highest_jet_m;
use crate::plant::record::DayBlock;
use crate::plant::record::rows::rows;
use crate::plant::state::StateLanes;

rows! {
    /// A basin.
    WaterRows / WaterUnit {
        /// Open surface, m² (1 mm on 1 m² is 1 L).
        area_m2,
        /// Water above the low-water mark when full, L.
        usable_l,
        /// Evaporation relative to Penman's.
        evaporation_factor,
        /// Extra evaporation while the jet runs, share.
        spray_share,
        /// From the jet to the rim, m.
        rim_m,
        /// Wind at the basin over wind at 10 m.
        wind_share,
        /// The same at 2 m above the basin, for its evaporation.
        wind_2m_share,
        /// Median diameter of the drops, mm.
        drop_mm,
        /// Depth of the water and of the pump's intake, m, and heat to the ground, W/(m² K); 0 where ice is not looked at.
        depth_m, intake_m, ground_w_m2_k,
    }
}

/// Basins of a block.
#[derive(Clone, Debug)]
pub(crate) struct Basins {
    pub rows: WaterRows,
    pub top_up: TopUp,
    pub wind_cut_off_m_s: Option<f64>,
    /// Whether ice is looked at.
    pub freezes: bool,
    pub lost: Vec<LostShare>,
}

impl Basins {
    pub(crate) fn new(designs: &[&Design<f64>]) -> Self {
        let mut rows = WaterRows::default();
        let mut lost: Vec<LostShare> = Vec::with_capacity(BLOCK);
        for (lane, d) in designs.iter().enumerate() {
            let w = &d.water;
            rows.set(
                lane,
                WaterUnit {
                    area_m2: w.area_m2,
                    usable_l: w.usable_l,
                    evaporation_factor: w.evaporation_factor,
                    spray_share: w.spray_evaporation,
                    rim_m: w.rim_m,
                    wind_share: w.wind_share,
                    wind_2m_share: wind_2m_share(w.wind_share),
                    drop_mm: w.drop_mm,
                    depth_m: w.ice.map_or(0.0, |ice| ice.depth_m),
                    intake_m: w.ice.map_or(0.0, |ice| ice.intake_m),
                    ground_w_m2_k: w.ice.map_or(0.0, |ice| ice.ground_w_m2_k),
                },
            );
            let of = |d: &Design<f64>| {
                let Water { rim_m, drop_mm, wind_turbulence: turbulence, .. } = d.water;
                (Throwing { rim_m, drop_mm, turbulence }, highest_jet_m(&d.pump))
            };
            // Parts taken as known are alike in all lanes.
            let table = match lost.last() {
                Some(last) if of(designs[lane - 1]) == of(d) => last.clone(),
                _ => {
                    let (throwing, jet_m) = of(d);
                    LostShare::new(&throwing, jet_m)
                }
            };
            lost.push(table);
        }
        let first = &designs[0].water;
        Basins {
            rows,
            top_up: first.top_up,
            wind_cut_off_m_s: first.wind_cut_off_m_s,
            freezes: first.ice.is_some(),
            lost,
        }
    }
}

/// The water of some lanes on one day: what was there, what came in.
pub(crate) struct WaterAccount {
    at: usize,
    start_l: RowF64,
    filled_l: RowF64,
}

impl WaterAccount {
    #[inline(always)]
    pub(crate) fn new<V: Lane>(now: &StateLanes<V>, at: usize) -> Self {
        WaterAccount { at, start_l: held_l(now, at), filled_l: RowF64::default() }
    }

    /// Water comes in, L.
    #[inline(always)]
    pub(crate) fn fill<V: Lane>(&mut self, now: &mut StateLanes<V>, litres: V) {
        self.filled_l.add(self.at, litres);
        now.pour(litres);
    }

    /// Water goes out, L; `out` adds up that kind of loss.
    #[inline(always)]
    pub(crate) fn lose<V: Lane>(&self, now: &mut StateLanes<V>, litres: V, out: &mut RowF64) {
        out.add(self.at, litres);
        now.pour(-litres);
    }

    /// Writes the water at the end of the day and the residual of the account.
    #[inline(always)]
    pub(crate) fn close<V: Lane>(&self, now: &StateLanes<V>, out: &mut DayBlock) {
        let end_l = held_l(now, self.at);
        for lane in self.at..self.at + V::N {
            let went = out.evaporated_l.0[lane] + out.drifted_l.0[lane];
            out.water_l.0[lane] = end_l.0[lane];
            out.water_residual_l.0[lane] =
                self.start_l.0[lane] + self.filled_l.0[lane] - went - end_l.0[lane];
        }
    }
}

/// Water in the basins of some lanes, L.
#[inline(always)]
fn held_l<V: Lane>(now: &StateLanes<V>, at: usize) -> RowF64 {
    let mut held = RowF64::default();
    now.water().put(&mut held, at);
    held
}
