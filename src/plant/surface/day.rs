//! The panels of a block on a day: what dirt takes of their light, and which of their cells are covered.

use super::dirt::{Dirt, DirtState};
use super::litter::{Covers, Litter, LitterDay, LitterState};
use crate::design::{Design, MountKind};
use crate::lanes::{BLOCK, RowF64};
use crate::plant::panel::{CoverRows, CoverUnit};
use crate::plant::record::DayBlock;
use crate::weather::BlockDay;

/// What may lie on the panels of a block.
#[derive(Clone, Debug)]
pub(crate) struct Surfaces {
    units: Vec<SurfaceUnit>,
}

/// What may lie on one panel.
#[derive(Clone, Copy, Debug)]
struct SurfaceUnit {
    /// Share of light that passes what rain does not wash off.
    clean: f64,
    dirt: Option<Dirt>,
    litter: Option<Litter>,
    /// Days from one cleaning by hand to the next.
    cleaned_every: Option<u16>,
    /// The string: leak of its cells, bypass diodes, and what covers it for good.
    string: CoverUnit<f64>,
    bypass_diodes: u32,
    for_good: Covers,
}

/// What lies on a panel and is carried from day to day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct SurfaceState {
    dirt: DirtState,
    litter: LitterState,
}

/// The panels of a block on one day.
#[derive(Clone, Debug)]
pub(crate) struct SurfaceDay {
    /// Share of light that gets through all dirt, and through what rain does not wash off.
    pub clean: RowF64,
    pub washed: RowF64,
    /// Covered cells; `None` if no panel has any.
    pub cover: Option<CoverRows>,
    /// 1 where litter lies on the panel.
    littered: RowF64,
}

impl Surfaces {
    /// Of 16 drawn designs of one structure; `None` if nothing ever lies on their panels but what is there for good.
    pub(crate) fn new(designs: &[&Design<f64>]) -> Option<Surfaces> {
        let of = |d: &&Design<f64>| {
            let p = &d.panel;
            let tilt_deg = if d.mount.kind == MountKind::Fixed { d.mount.tilt_deg } else { 90.0 };
            SurfaceUnit {
                clean: 1.0 - p.soiling,
                dirt: p.dirt.grows.then_some(Dirt {
                    per_day: p.dirt.per_day,
                    washed_mm: p.dirt.washed_mm,
                    grace_days: f64::from(p.dirt.grace_days),
                    most: p.dirt.most,
                    rain_every_days: p.dirt.rain_every_days,
                }),
                litter: p.litter.falls.then_some(Litter {
                    leaves: p.litter.leaves,
                    droppings: p.litter.droppings,
                    cells: f64::from(p.cells),
                    short_circuit_a: p.short_circuit_current_a,
                    tilt_deg,
                }),
                cleaned_every: d.care.clean_panel_every_days,
                string: CoverUnit::of_panel(p),
                bypass_diodes: p.cover.bypass_diodes,
                for_good: Covers { cells: libm::round(p.cover.cells), share: p.cover.share },
            }
        };
        let units: Vec<SurfaceUnit> = designs.iter().take(BLOCK).map(of).collect();
        units.iter().any(|u| u.dirt.is_some() || u.litter.is_some()).then_some(Surfaces { units })
    }

    /// Nobody cleans them any more.
    pub(crate) fn clean_never(&mut self) {
        self.units.iter_mut().for_each(|unit| unit.cleaned_every = None);
    }

    /// The morning of a day: the `season_day`-th of the season, on which leaves fall or not.
    pub(crate) fn morning(
        &self,
        states: &mut [SurfaceState; BLOCK],
        (season_day, fall): (i32, bool),
        weather: &BlockDay,
    ) -> SurfaceDay {
        let mut day = SurfaceDay {
            clean: RowF64::default(),
            washed: RowF64::default(),
            cover: None,
            littered: RowF64::default(),
        };
        let mut rows = CoverRows::default();
        let mut any = false;
        for (lane, (unit, state)) in self.units.iter().zip(states).enumerate() {
            let rain_mm = weather.rain_mm.0[lane];
            let cleaned =
                unit.cleaned_every.is_some_and(|every| season_day.rem_euclid(i32::from(every)) == 0);
            let lost = match unit.dirt {
                None => 0.0,
                Some(dirt) if weather.rain_known => state.dirt.day(&dirt, rain_mm, cleaned),
                Some(dirt) => dirt.mean(unit.cleaned_every.map(f64::from)),
            };
            let lies = unit.litter.map_or(Covers::default(), |litter| {
                let wind_m_s = weather.wind_m_s.iter().map(|hour| hour.0[lane]).fold(0.0, f64::max);
                let chance = std::array::from_fn(|k| weather.litter[k].0[lane]);
                state.litter.day(&litter, &LitterDay { fall, rain_mm, wind_m_s, cleaned, chance })
            });
            let covers = unit.for_good.or(lies);
            any |= covers.cells > 0.0;
            rows.set(lane, unit.string.with(covers.cells, covers.share, unit.bypass_diodes));
            day.washed.0[lane] = unit.clean;
            day.clean.0[lane] = unit.clean * (1.0 - lost);
            day.littered.0[lane] = f64::from(u8::from(lies.cells > 0.0));
        }
        day.cover = any.then_some(rows);
        day
    }
}

impl SurfaceDay {
    /// Books the day: light that dirt kept from the cells, Wh/m², and whether litter lay on the panel.
    pub(crate) fn book(&self, out: &mut DayBlock) {
        for lane in 0..BLOCK {
            let kept = self.washed.0[lane] - self.clean.0[lane];
            out.dirt_wh_m2.0[lane] = kept * out.plane_wh_m2.0[lane];
            out.littered.0[lane] = self.littered.0[lane];
        }
    }
}
