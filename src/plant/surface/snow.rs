//! Snow on the panel.
//!
//! Marion, Schaefer, Caine & Sanchez (2013), Solar Energy 97:112, with the numbers that pvlib uses: a snowfall covers all of the panel, and the
//! snow slides off bit by bit once it is warm or bright enough. A single string of which any part is covered gives nothing. It was fitted
//! to large fixed arrays; a small panel that moves sheds its snow sooner.

use crate::lanes::Lane;

/// Snowfall of an hour above which all is covered, cm.
const COVERS_CM: f64 = 1.0;
/// Snow slides when the air (°C) is warmer than minus the light on the panel over this, W/(m² K).
const LIGHT_PER_K: f64 = 80.0;
/// Share of the panel's height that slides off in an hour, for each sine of the tilt.
const SLIDES: f64 = 0.197;

/// Whether the snowfall of an hour, cm, covers the panel.
#[inline(always)]
pub(crate) fn covers<V: Lane>(snow_cm: V) -> V::Mask {
    snow_cm.gt(V::splat(COVERS_CM))
}

/// Share of the panel's height under snow after an hour without new snow, from that before it; `light_w_m2` on the panel, air in °C.
#[inline(always)]
pub(crate) fn after_hour<V: Lane>(covered: V, light_w_m2: V, air_c: V, sin_tilt: V) -> V {
    let c = V::splat;
    let slides = air_c.gt(-(light_w_m2 * c(1.0 / LIGHT_PER_K)));
    (covered - V::only(slides, c(SLIDES) * sin_tilt)).max(c(0.0))
}
