//! The temperature of a basin's water, and its ice: a lumped balance, stepped by the hour.
//!
//! `rho c h dT/dt = 0.92 G + e L - e s T^4 - f(u) [e_s(T) - e_a] - f(u) g (T - T_a) + U (T_g - T) + K_j (T_n - T)`, with the wind
//! function f of Sweers (1976) as de Bruin (1982), J. Hydrol. 59:261, uses it. Where de Bruin expands the balance about the wet bulb,
//! it is expanded here about the water's own temperature, which is exact enough for an hour of noon sun: within 0.013 K of an ODE
//! solver (`tests/it/computed/water_ice.rs`). The water is mixed throughout; real ponds are warmest at 4 °C at the bottom.

use crate::lanes::{Lane, Mask, math};
use crate::sky::air::saturation_kpa;

/// Heat capacity of water, J/(m³ K).
const WATER_J_M3_K: f64 = 4.186e6;
/// Heat of melting of a volume of ice, J/m³: 917 kg/m³ times 334 kJ/kg.
const ICE_J_M3: f64 = 917.0 * 334e3;
/// Conductivity of ice, W/(m K).
const ICE_W_M_K: f64 = 2.2;
/// Stefan and Boltzmann's constant, W/(m² K⁴).
const STEFAN_W_M2_K4: f64 = 5.670_374_419e-8;
/// Emissivity of water and ice.
const EMISSIVITY: f64 = 0.97;
/// Light that water and ice reflect, share (of ice: common practice, no source).
const WATER_ALBEDO: f64 = 0.08;
const ICE_ALBEDO: f64 = 0.3;
/// Psychrometric constant, kPa/K.
const GAMMA_KPA_K: f64 = 0.0665;
/// Clouds add this share of what a clear sky lacks to a black one (common practice, no source).
const CLOUD_FILLS: f64 = 0.84;

/// The air over a basin in an hour.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OverWater<V> {
    /// Temperature of the air, °C.
    pub air_c: V,
    /// Vapour pressure, kPa.
    pub vapour_kpa: V,
    /// Wind over the water, m/s.
    pub wind_m_s: V,
    /// Global irradiance, W/m².
    pub sun_w_m2: V,
    /// Long-wave radiation of the sky, W/m².
    pub sky_w_m2: V,
}

/// What else exchanges heat with the water.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Beside<V> {
    /// The ground: W/(m² K), and its temperature, °C.
    pub ground_w_m2_k: V,
    pub ground_c: V,
    /// The falling drops of the jet, which near the wet bulb: W/(m² K) of the surface, and the wet bulb, °C.
    pub jet_w_m2_k: V,
    pub wet_bulb_c: V,
}

/// Water and ice of a basin.
#[derive(Clone, Copy, Debug)]
pub(crate) struct WaterAndIce<V> {
    /// Temperature of the water, °C; 0 under ice.
    pub water_c: V,
    /// Thickness of the ice, m.
    pub ice_m: V,
}

/// Long-wave radiation of the sky, W/m²: clear after Brutsaert (1975), 1.24 (e/T)^(1/7) of a black body, and clouds.
/// `cloud` is the share of the sky they cover.
#[inline(always)]
pub(crate) fn sky_w_m2<V: Lane>(air_c: V, vapour_kpa: V, cloud: V) -> V {
    let c = V::splat;
    let kelvin = air_c + c(273.15);
    let hpa = c(10.0) * vapour_kpa.max(c(1e-3));
    let clear = (c(1.24) * math::pow(hpa / kelvin, c(1.0 / 7.0))).min(c(1.0));
    let emits = clear + c(CLOUD_FILLS) * cloud * (c(1.0) - clear);
    emits * c(STEFAN_W_M2_K4) * fourth(kelvin)
}

/// Temperature of the wet bulb, °C: where evaporation takes what the air gives. Three steps of Newton from a good start.
#[inline(always)]
pub(crate) fn wet_bulb_c<V: Lane>(air_c: V, vapour_kpa: V) -> V {
    let c = V::splat;
    let g = c(GAMMA_KPA_K);
    // On the tangent at the air's own temperature; the curve lies above it, so every later step comes from one side.
    let mut wet_c = air_c;
    for _ in 0..4 {
        let excess = saturation_kpa(wet_c) - vapour_kpa - g * (air_c - wet_c);
        wet_c = wet_c - excess / (saturation_slope(wet_c) + g);
    }
    wet_c
}

/// How well a jet's drops couple its water to the wet bulb, share of the way: own fit (within a tenth) through single drops by the law
/// of Ranz and Marshall, which near it by 31, 11 and 4 % (1, 2, 4 mm) from a jet of half a metre and by 45, 18 and 6 % from one of a metre.
#[inline(always)]
pub(crate) fn nears_wet_bulb<V: Lane>(drop_mm: V, jet_m: V) -> V {
    let c = V::splat;
    let by_drop = math::pow(c(2.0) / drop_mm.max(c(0.05)), c(1.6));
    let by_jet = math::pow((c(2.0) * jet_m).max(c(1e-3)), c(0.68));
    c(1.0) - math::exp(-(c(0.1165) * by_drop * by_jet))
}

/// Coupling of a basin to the wet bulb by a jet, W/m² for each kelvin and m² of surface.
#[inline(always)]
pub(crate) fn jet_w_m2_k<V: Lane>(flow_l_min: V, area_m2: V, nears: V) -> V {
    flow_l_min * V::splat(WATER_J_M3_K / 60e3) / area_m2 * nears
}

/// Gain of open water, W/m², and how it falls with its temperature, W/(m² K).
#[inline(always)]
fn gain<V: Lane>(water_c: V, albedo: f64, air: &OverWater<V>, beside: &Beside<V>) -> (V, V) {
    let c = V::splat;
    let wind = c(10.0) * (c(4.4) + c(1.82) * air.wind_m_s);
    let kelvin = water_c + c(273.15);
    let (squared, g) = (kelvin * kelvin, c(GAMMA_KPA_K));
    let emitted = c(EMISSIVITY * STEFAN_W_M2_K4) * squared * squared;
    let air_side = wind * (saturation_kpa(water_c) - air.vapour_kpa + g * (water_c - air.air_c));
    let ground = beside.ground_w_m2_k * (beside.ground_c - water_c);
    let jet = beside.jet_w_m2_k * (beside.wet_bulb_c - water_c);
    let q = c(1.0 - albedo) * air.sun_w_m2 + c(EMISSIVITY) * air.sky_w_m2 - emitted - air_side + ground + jet;
    let radiated = c(4.0 * EMISSIVITY * STEFAN_W_M2_K4) * squared * kelvin;
    let k = radiated + wind * (saturation_slope(water_c) + g) + beside.ground_w_m2_k + beside.jet_w_m2_k;
    (q, k)
}

/// Temperature of open water after some hours, °C (below 0: what would have to freeze).
#[inline(always)]
pub(crate) fn open_water_c<V: Lane>(
    water_c: V,
    depth_m: V,
    air: &OverWater<V>,
    beside: &Beside<V>,
    hours: f64,
) -> V {
    let (q, k) = gain(water_c, WATER_ALBEDO, air, beside);
    approached_c(water_c, q, k, depth_m, hours)
}

/// Temperature after some hours of water that gains `q` W/m² now, and `k` less for each kelvin that it is warmer, °C.
#[inline(always)]
pub(crate) fn approached_c<V: Lane>(water_c: V, q: V, k: V, depth_m: V, hours: f64) -> V {
    let c = V::splat;
    water_c + q / k * (c(1.0) - math::exp(-(k * c(3600.0 * hours / WATER_J_M3_K) / depth_m)))
}

/// Ice that grows under air that would bring its face to `face_c` (below 0), with `face_w_m2_k` between face and air, m: Stefan's
/// law with a resistance at the face (form of Ashton, from memory), exact for a constant air.
#[inline(always)]
pub(crate) fn grown_m<V: Lane>(ice_m: V, face_c: V, face_w_m2_k: V, hours: f64) -> V {
    let c = V::splat;
    let reach = ice_m + c(ICE_W_M_K) / face_w_m2_k;
    let more = c(2.0 * ICE_W_M_K * 3600.0 * hours / ICE_J_M3) * -face_c;
    // The difference of a root and what it is of, without taking two like numbers from one another.
    more / ((reach * reach + more).sqrt() + reach)
}

impl<V: Lane> WaterAndIce<V> {
    /// An hour of this air.
    #[inline(always)]
    pub(crate) fn hour(self, depth_m: V, air: &OverWater<V>, beside: &Beside<V>) -> Self {
        let c = V::splat;
        let zero = c(0.0);
        let frozen = self.ice_m.gt(zero);
        let open_c = open_water_c(self.water_c, depth_m, air, beside, 1.0);
        let heat = c(WATER_J_M3_K / ICE_J_M3) * depth_m;
        let mut next = WaterAndIce { water_c: open_c.max(zero), ice_m: (-open_c).max(zero) * heat };
        if frozen.any() {
            let alone = Beside { ground_w_m2_k: zero, jet_w_m2_k: zero, ..*beside };
            let (q, k) = gain(zero, ICE_ALBEDO, air, &alone);
            let face_c = q / k;
            let melted = c(3600.0 / ICE_J_M3) * q;
            let above = V::select(face_c.lt(zero), grown_m(self.ice_m, face_c, k, 1.0), -melted);
            // Ground and jet reach the water below, which is at 0 °C.
            let below = beside.ground_w_m2_k * beside.ground_c + beside.jet_w_m2_k * beside.wet_bulb_c;
            let ice_m = self.ice_m + above - c(3600.0 / ICE_J_M3) * below;
            let warmed_c = (-ice_m).max(zero) / heat;
            next.water_c = V::select(frozen, warmed_c, next.water_c);
            next.ice_m = V::select(frozen, ice_m.max(zero), next.ice_m);
        }
        next.ice_m = next.ice_m.min(depth_m);
        next
    }
}

/// Slope of the saturation pressure, kPa/K (Tetens, as in FAO-56 eq. 13).
#[inline(always)]
fn saturation_slope<V: Lane>(air_c: V) -> V {
    let past = air_c + V::splat(237.3);
    V::splat(4098.0) * saturation_kpa(air_c) / (past * past)
}

#[inline(always)]
fn fourth<V: Lane>(kelvin: V) -> V {
    let squared = kelvin * kelvin;
    squared * squared
}

#[cfg(test)]
mod tests {
    use super::*;

    const NO_GROUND: Beside<f64> =
        Beside { ground_w_m2_k: 0.0, ground_c: 10.0, jet_w_m2_k: 0.0, wet_bulb_c: 0.0 };

    fn calm(air_c: f64, sun_w_m2: f64) -> OverWater<f64> {
        let vapour_kpa = 0.8 * saturation_kpa(air_c);
        OverWater { air_c, vapour_kpa, wind_m_s: 1.0, sun_w_m2, sky_w_m2: sky_w_m2(air_c, vapour_kpa, 0.5) }
    }

    /// Single drops by Ranz and Marshall (1952), computed for this test: diameter in mm, jet in m, share.
    #[test]
    fn drops_near_the_wet_bulb_as_single_ones_do() {
        for (drop_mm, jet_m, share) in [
            (1.0, 0.5, 0.31),
            (1.0, 1.0, 0.45),
            (2.0, 0.5, 0.11),
            (2.0, 1.0, 0.18),
            (4.0, 0.5, 0.04),
            (4.0, 1.0, 0.06),
        ] {
            let ours = nears_wet_bulb(drop_mm, jet_m);
            assert!((ours - share).abs() < 0.1 * share, "{drop_mm} mm, {jet_m} m: {ours} for {share}");
        }
    }

    #[test]
    fn a_basin_freezes_and_thaws_and_keeps_its_heat() {
        let depth_m = 0.3;
        let mut now = WaterAndIce { water_c: 4.0, ice_m: 0.0 };
        let mut thickest: f64 = 0.0;
        for hour in 0..24 * 20 {
            let air = if hour < 24 * 10 { calm(-8.0, 0.0) } else { calm(8.0, 100.0) };
            now = now.hour(depth_m, &air, &NO_GROUND);
            assert!(now.ice_m == 0.0 || now.water_c == 0.0, "{now:?}");
            assert!((0.0..=depth_m).contains(&now.ice_m) && now.water_c < 25.0, "{now:?}");
            thickest = thickest.max(now.ice_m);
        }
        assert!((0.05..0.25).contains(&thickest), "{thickest}");
        assert!(now.ice_m == 0.0 && now.water_c > 5.0, "{now:?}");
    }

    #[test]
    fn ground_and_depth_keep_a_basin_open_longer() {
        let hours_to_ice = |depth_m: f64, ground_w_m2_k: f64| {
            let beside = Beside { ground_w_m2_k, ..NO_GROUND };
            let mut now = WaterAndIce { water_c: 6.0, ice_m: 0.0 };
            (0..2000)
                .take_while(|_| {
                    now = now.hour(depth_m, &calm(-3.0, 0.0), &beside);
                    now.ice_m == 0.0
                })
                .count()
        };
        assert!(hours_to_ice(0.6, 0.0) > hours_to_ice(0.2, 0.0));
        assert!(hours_to_ice(0.2, 3.0) > hours_to_ice(0.2, 0.0));
    }

    #[test]
    fn a_jet_draws_water_to_the_wet_bulb() {
        let air = calm(25.0, 0.0);
        let wet = wet_bulb_c(air.air_c, air.vapour_kpa);
        assert!(wet < 25.0 && wet > 20.0, "{wet}");
        let strong = Beside { jet_w_m2_k: 5000.0, wet_bulb_c: wet, ..NO_GROUND };
        let mut now = WaterAndIce { water_c: 25.0, ice_m: 0.0 };
        for _ in 0..48 {
            now = now.hour(0.2, &air, &strong);
        }
        assert!((now.water_c - wet).abs() < 0.3, "{} for {wet}", now.water_c);
    }
}
