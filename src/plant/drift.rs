//! How far the wind carries drops: a drop thrown straight up, falling back through moving air.
//!
//! Sphere drag after Schiller & Naumann (1933): C_d = 24/Re (1 + 0.15 Re^0.687), 0.44 above Re = 1000;
//! air at 20 °C. The drops of a jet differ: volume below diameter d follows Rosin & Rammler (1933) with
//! exponent 3 (common practice, no source); those whose drift passes the rim are lost.

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
pub struct LostShare([[f64; WINDS]; HEIGHTS]);

impl LostShare {
    /// For a rim (m from the jet) and a drop diameter below which half the volume lies (mm).
    pub fn new(rim_m: f64, drop_mm: f64) -> Self {
        let mut out = [[0.0; WINDS]; HEIGHTS];
        for (plane, drifts) in out.iter_mut().zip(drifts()) {
            for (share, drift) in plane.iter_mut().zip(drifts) {
                *share = beyond(critical_mm(drift, rim_m), drop_mm);
            }
        }
        LostShare(out)
    }

    /// Share lost at a jet height (m) and a wind at that height (m/s); straight lines between the table's points.
    pub fn at(&self, jet_m: f64, wind_m_s: f64) -> f64 {
        if jet_m <= 0.0 || wind_m_s <= 0.0 {
            return 0.0;
        }
        // Below the grids: none at no height and no wind.
        let place = |x: f64, first: f64, n: usize| -> (usize, f64, f64) {
            if x < first {
                return (0, 0.0, x / first);
            }
            let p = libm::log2(x / first).min((n - 1) as f64 - 1e-9);
            (p as usize, p - (p as usize) as f64, 1.0)
        };
        let (h, fh, sh) = place(jet_m, HEIGHT_0, HEIGHTS);
        let (w, fw, sw) = place(wind_m_s, WIND_0, WINDS);
        let mix = |k: usize| self.0[k][w] * (1.0 - fw) + self.0[k][w + 1] * fw;
        sh * sw * (mix(h) * (1.0 - fh) + mix(h + 1) * fh)
    }
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
