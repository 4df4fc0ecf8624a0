//! The picture that plays: sky and skyline towards the equator, and before them panel, battery and fountain. What moves in it
//! the page's script moves; here is how things stand and where.

use crate::report::chart::coordinate;
use crate::sky::Skyline;
use maud::{Markup, html};
use serde_json::{Value, json};

/// Size of the picture, drawing units.
const WIDTH: f64 = 720.0;
const HEIGHT: f64 = 400.0;
/// Where the horizon lies.
const HORIZON: f64 = 270.0;
/// How far to either side of the equator's direction the picture reaches, °.
const SPAN_DEG: f64 = 135.0;
/// Drawing units for a degree of elevation.
const UP: f64 = 3.1;
/// The nozzle, and how high the highest jet of the page is drawn.
const NOZZLE: (f64, f64) = (478.0, 338.0);
const JET: f64 = 168.0;
/// The basin's water: left, right, surface when full, and low-water mark.
const WATER: (f64, f64, f64, f64) = (388.0, 568.0, 342.0, 374.0);
/// The battery's fill: left, top, width and height.
const CHARGE: (f64, f64, f64, f64) = (262.0, 312.0, 26.0, 44.0);
/// Middle of the panel, and half its width and height.
const PANEL: (f64, f64, f64, f64) = (150.0, 292.0, 50.0, 33.0);
/// Foot of the pole with the pennant, and its top.
const POLE: (f64, f64, f64) = (650.0, 352.0, 236.0);

/// What a page's pictures have in common.
#[derive(Clone, Copy)]
pub(super) struct Setting<'a> {
    /// The skyline.
    pub skyline: &'a Skyline,
    /// Whether the sun stands in the north at noon.
    pub southern: bool,
    /// Whether there is a battery.
    pub battery: bool,
    /// The jet that fills the picture, m.
    pub highest_m: f64,
    /// The jet that is wished for, m.
    pub wish_m: f64,
}

impl Setting<'_> {
    /// Azimuth of the middle of the picture, °.
    fn facing_deg(&self) -> f64 {
        if self.southern { 0.0 } else { 180.0 }
    }

    fn jet_units(&self, jet_m: f64) -> f64 {
        JET * jet_m / self.highest_m
    }

    /// The places of the picture, for the script.
    pub(super) fn places(&self) -> Value {
        json!({
            "facing": self.facing_deg(), "middle": WIDTH / 2.0, "per_deg": WIDTH / 2.0 / SPAN_DEG, "horizon": HORIZON, "up": UP,
            "nozzle": [NOZZLE.0, NOZZLE.1], "jet_per_m": JET / self.highest_m,
            "water": [WATER.0, WATER.1, WATER.2, WATER.3], "charge": [CHARGE.0, CHARGE.1, CHARGE.2, CHARGE.3],
            "panel": [PANEL.0, PANEL.1, PANEL.2, PANEL.3], "pole": [POLE.0, POLE.2],
        })
    }
}

/// Ground and sky, seen towards the equator.
fn skyline(s: Setting<'_>) -> String {
    let step = 2;
    let mut d = format!("M0 {}", coordinate(HORIZON + 3.0));
    for k in 0..=(2.0 * SPAN_DEG) as usize / step {
        let across = (k * step) as f64;
        let azimuth = (s.facing_deg() - SPAN_DEG + across).rem_euclid(360.0);
        let (x, y) = (across * WIDTH / 2.0 / SPAN_DEG, HORIZON - UP * s.skyline.height_deg(azimuth));
        d.push_str(&format!("L{} {}", coordinate(x), coordinate(y)));
    }
    format!("{d}V{}Z", coordinate(HORIZON + 3.0))
}

/// Clouds of three sizes: place and size; they drift as time goes by.
const CLOUDS: [(f64, f64, f64); 6] = [
    (40.0, 74.0, 1.15),
    (190.0, 128.0, 0.8),
    (330.0, 58.0, 1.0),
    (470.0, 142.0, 1.2),
    (590.0, 88.0, 0.9),
    (700.0, 178.0, 0.7),
];
const CLOUD: &str = "M-52 14C-66 14-68-6-50-8C-48-26-22-32-12-20C-2-36 30-34 32-14C50-20 66 12 46 14Z";

/// The picture, before the script has set it to a minute.
pub(super) fn scene(s: Setting<'_>) -> Markup {
    let name = "A drawing of the fountain at the minute that the clock shows: sun and clouds over the skyline, panel, battery, jet and basin.";
    let (left, right, full, low) = WATER;
    let basin = format!(
        "M{l} {t}C{l} {b} {r} {b} {r} {t}",
        l = left - 8.0,
        r = right + 8.0,
        t = full - 10.0,
        b = low + 26.0
    );
    let wish_y = coordinate(NOZZLE.1 - s.jet_units(s.wish_m));
    let (cx, cy, cw, ch) = CHARGE;
    html! {
        svg class="scene" viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img" aria-label=(name) {
            clipPath id="frame" { rect width=(WIDTH) height=(HEIGHT) {} }
            clipPath id="bowl" { path d={ (basin) "Z" } {} }
            g clip-path="url(#frame)" {
                rect id="sky" class="p-sky" width=(WIDTH) height=(HORIZON + 4.0) {}
                circle id="glow" class="p-glow" r="46" {}
                circle id="sun" class="p-sun" r="15" {}
                @for (x, y, size) in CLOUDS {
                    path class="p-cloud" data-x=(x) data-y=(y) data-size=(size) d=(CLOUD) transform=(format!("translate({x} {y}) scale({size})")) {}
                }
                path class="p-skyline" d=(skyline(s)) {}
                rect class="p-ground" y=(HORIZON + 2.0) width=(WIDTH) height=(HEIGHT - HORIZON) {}
                path class="p-post" d=(format!("M{} {}V{}", PANEL.0, PANEL.1, 366)) {}
                ellipse class="p-foot" cx=(PANEL.0) cy="367" rx="17" ry="4" {}
                polygon id="panel" class="p-panel" points="" {}
                path id="cells" class="p-cells" d="" {}
                @if s.battery {
                    path class="p-wire" d=(format!("M{} 366C{} 380 {} 380 {} {}", PANEL.0 + 2.0, PANEL.0 + 40.0, cx - 20.0, cx + 2.0, cy + ch)) {}
                    rect class="p-box" x=(cx - 4.0) y=(cy - 4.0) width=(cw + 8.0) height=(ch + 8.0) rx="3" {}
                    rect class="p-box" x=(cx + cw / 2.0 - 5.0) y=(cy - 9.0) width="10" height="5" {}
                    rect id="charge" class="p-charge" x=(cx) y=(cy) width=(cw) height=(ch) {}
                }
                path class="p-wire" d=(format!("M{} 372C{} 392 {} 392 {} 384", if s.battery { cx + cw } else { PANEL.0 + 2.0 }, cx + 50.0, left - 10.0, left + 20.0)) {}
                path class="p-bowl" d={ (basin) "Z" } {}
                rect id="water" class="p-water" clip-path="url(#bowl)" x=(left - 10.0) y=(full) width=(right - left + 20.0) height="80" {}
                path class="p-rim" d=(basin) {}
                path class="p-nozzle" d=(format!("M{x} {y}V{b}", x = NOZZLE.0, y = NOZZLE.1, b = low + 8.0)) {}
                @if s.wish_m > 0.0 && s.wish_m <= s.highest_m {
                    path class="p-wish" d=(format!("M{} {wish_y}h-20M{} {wish_y}h20", NOZZLE.0 - 26.0, NOZZLE.0 + 26.0)) {}
                }
                path id="jet" class="p-jet" d="" {}
                path class="p-pole" d=(format!("M{} {}V{}", POLE.0, POLE.1, POLE.2)) {}
                path id="pennant" class="p-pennant" d="" {}
                rect id="night" class="p-night" width=(WIDTH) height=(HEIGHT) {}
            }
        }
    }
}
