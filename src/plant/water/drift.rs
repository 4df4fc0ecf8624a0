//! How far the wind carries drops that a jet throws straight up.
//!
//! Sphere drag after Schiller & Naumann (1933): C_d = 24/Re (1 + 0.15 Re^0.687), 0.44 above Re = 1000;
//! air at 20 °C. The drops of a jet differ: volume below diameter d follows Rosin & Rammler (1933) with
//! exponent 3 (common practice, no source); those whose drift passes the rim are lost.

use crate::lanes::{Lane, RowF64, math};
use std::sync::OnceLock;

const GRAVITY: f64 = 9.806_65;
const AIR_KG_M3: f64 = 1.204;
const AIR_PA_S: f64 = 1.81e-5;
const WATER_KG_M3: f64 = 998.0;
/// Exponent of the drop size distribution.
const SIZE_EXPONENT: f64 = 3.0;

/// Grids of the tables, all doubling: jet heights from 0.05 m, winds from 0.5 m/s, drops from 0.25 mm.
const HEIGHTS: usize = 8;
const WINDS: usize = 7;
const DROPS: usize = 7;
const HEIGHT_0: f64 = 0.05;
const WIND_0: f64 = 0.5;
const DROP_0: f64 = 0.25;

fn doubling(first: f64, k: usize) -> f64 {
    first * (1u32 << k) as f64
}

/// Downwind landing distance, m, of a drop of a diameter (mm) launched straight up at a speed (m/s)
/// into a wind (m/s); and its apex, m. Midpoint steps of a millisecond or less.
pub fn throw(speed_m_s: f64, drop_mm: f64, wind_m_s: f64) -> (f64, f64) {
    let d = drop_mm * 1e-3;
    let accelerate = |vx: f64, vz: f64| {
        let (rx, rz) = (vx - wind_m_s, vz);
        let relative = (rx * rx + rz * rz).sqrt();
        let re = AIR_KG_M3 * relative * d / AIR_PA_S;
        let cd = if re < 1e-9 {
            0.0
        } else if re < 1000.0 {
            24.0 / re * (1.0 + 0.15 * libm::pow(re, 0.687))
        } else {
            0.44
        };
        let k = 0.75 * cd * AIR_KG_M3 * relative / (WATER_KG_M3 * d);
        (-k * rx, -k * rz - GRAVITY)
    };
    let dt = (speed_m_s / GRAVITY / 400.0).min(1e-3);
    let (mut x, mut z, mut vx, mut vz, mut apex) = (0.0, 0.0, 0.0, speed_m_s, 0.0_f64);
    loop {
        let (ax, az) = accelerate(vx, vz);
        let (mx, mz) = (vx + 0.5 * dt * ax, vz + 0.5 * dt * az);
        let (ax, az) = accelerate(mx, mz);
        let (nx, nz) = (x + dt * mx, z + dt * mz);
        (vx, vz) = (vx + dt * ax, vz + dt * az);
        apex = apex.max(nz);
        if nz <= 0.0 {
            // The last step's part above the water.
            let part = if z > 0.0 { z / (z - nz) } else { 0.0 };
            return (x + part * (nx - x), apex);
        }
        (x, z) = (nx, nz);
    }
}

type Table = [[[f64; DROPS]; WINDS]; HEIGHTS];

/// Drift by height, wind and drop, m; made once.
fn drifts() -> &'static Table {
    static TABLE: OnceLock<Table> = OnceLock::new();
    TABLE.get_or_init(|| {
        let mut t = [[[0.0; DROPS]; WINDS]; HEIGHTS];
        for (h, plane) in t.iter_mut().enumerate() {
            let speed = (2.0 * GRAVITY * doubling(HEIGHT_0, h)).sqrt();
            for (w, row) in plane.iter_mut().enumerate() {
                for (d, cell) in row.iter_mut().enumerate() {
                    *cell = throw(speed, doubling(DROP_0, d), doubling(WIND_0, w)).0;
                }
            }
        }
        t
    })
}

/// Share of the flow that one basin loses, by jet height and wind.
#[derive(Clone, Debug)]
pub(crate) struct LostShare([[f64; WINDS]; HEIGHTS]);

impl LostShare {
    /// For a rim (m from the jet) and a drop diameter below which half the volume lies (mm).
    pub(crate) fn new(rim_m: f64, drop_mm: f64) -> Self {
        let mut out = [[0.0; WINDS]; HEIGHTS];
        for (plane, drifts) in out.iter_mut().zip(drifts()) {
            for (share, drift) in plane.iter_mut().zip(drifts) {
                *share = beyond(critical_mm(drift, rim_m), drop_mm);
            }
        }
        LostShare(out)
    }

    /// Share lost at a jet height and a wind at that height; straight lines between the table's points.
    fn between(&self, [jet, jet_share]: [f64; 2], [wind, wind_share]: [f64; 2]) -> f64 {
        let (h, w) = (jet as usize, wind as usize);
        let (fh, fw) = (jet - h as f64, wind - w as f64);
        let mix = |k: usize| self.0[k][w] * (1.0 - fw) + self.0[k][w + 1] * fw;
        jet_share * wind_share * (mix(h) * (1.0 - fh) + mix(h + 1) * fh)
    }
}

/// Shares of the flow that the basins of some lanes lose, from place `at` on, at jet heights (m) and winds at those heights (m/s).
#[inline(always)]
pub(crate) fn lost_shares<V: Lane>(basins: &[LostShare], jet_m: V, wind_m_s: V, at: usize) -> V {
    let jet = in_grid(jet_m, HEIGHT_0, HEIGHTS, at);
    let wind = in_grid(wind_m_s, WIND_0, WINDS, at);
    let mut lost = RowF64::default();
    #[expect(clippy::needless_range_loop, reason = "rows side by side")]
    for lane in at..at + V::N {
        lost.0[lane] = basins[lane].between(jet.map(|row| row.0[lane]), wind.map(|row| row.0[lane]));
    }
    V::of(&lost, at)
}

/// Place in a doubling grid from `first` on, in points, below the last; and the share of the first point's value that counts: below
/// the grid it falls in proportion, to 0 at 0.
#[inline(always)]
fn in_grid<V: Lane>(x: V, first: f64, points: usize, at: usize) -> [RowF64; 2] {
    let c = V::splat;
    let ratio = x * c(1.0 / first);
    let doublings = math::ln(ratio.max(c(1.0))) * c(std::f64::consts::LOG2_E);
    let (mut place, mut share) = (RowF64::default(), RowF64::default());
    doublings.clamp(c(0.0), c((points - 1) as f64 - 1e-5)).put(&mut place, at);
    ratio.clamp(c(0.0), c(1.0)).put(&mut share, at);
    [place, share]
}

/// Diameter whose drift just reaches the rim, mm (drift falls with size); power law between table points.
fn critical_mm(drift: &[f64; DROPS], rim_m: f64) -> f64 {
    if rim_m >= drift[0] {
        // Goes on as between the first two drops.
        let slope = libm::log2(drift[1] / drift[0]).min(-0.1);
        return DROP_0 * libm::exp2(libm::log2(rim_m / drift[0]) / slope);
    }
    for d in 1..DROPS {
        if rim_m >= drift[d] {
            let part = libm::log2(drift[d - 1] / rim_m) / libm::log2(drift[d - 1] / drift[d]);
            return doubling(DROP_0, d - 1) * libm::exp2(part);
        }
    }
    doubling(DROP_0, DROPS)
}

fn beyond(critical_mm: f64, median_mm: f64) -> f64 {
    -libm::expm1(-std::f64::consts::LN_2 * libm::pow(critical_mm / median_mm, SIZE_EXPONENT))
}
