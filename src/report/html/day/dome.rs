//! The dome of the sky, seen from above: skyline, the way of the sun, and where the panel looks.

use crate::plant::{DayTrace, TraceMinute};
use crate::report::chart::coordinate;
use crate::report::words;
use crate::sky::Skyline;
use maud::{Markup, html};

/// Middle and radius of the horizon, drawing units.
const MIDDLE: f64 = 130.0;
const RADIUS: f64 = 106.0;
/// How far outside of the sun's way its hours stand.
const LABEL: f64 = 15.0;
/// Steps of the skyline, °.
const STEP: usize = 3;

/// Place of a direction: the zenith in the middle, north up, east at the right.
fn place(azimuth_deg: f64, elevation_deg: f64) -> (f64, f64) {
    let r = RADIUS * (90.0 - elevation_deg.clamp(0.0, 90.0)) / 90.0;
    let (sin, cos) = libm::sincos(azimuth_deg.to_radians());
    (MIDDLE + r * sin, MIDDLE - r * cos)
}

fn path(points: impl IntoIterator<Item = (f64, f64)>) -> String {
    let mut d = String::new();
    for (i, (x, y)) in points.into_iter().enumerate() {
        d.push(if i == 0 { 'M' } else { 'L' });
        d.push_str(&format!("{} {}", coordinate(x), coordinate(y)));
    }
    d
}

/// The dome of one day. The script moves the marks of the sun and of the panel.
pub(super) fn dome(t: &DayTrace, minutes: &[TraceMinute], skyline: &Skyline) -> Markup {
    let sun = minutes.iter().step_by(8).filter_map(|m| Some(place(m.sun_azimuth_deg?, m.sun_elevation_deg?)));
    // By night a panel may turn back across the sky, which would hide the way of the day.
    let lit = || minutes.iter().filter(|m| m.sun_elevation_deg.is_some());
    let aims = lit().step_by(4).map(|m| place(m.aim_azimuth_deg, 90.0 - m.aim_tilt_deg));
    let aims: Vec<(f64, f64)> = aims.collect();
    let moves = aims.windows(2).any(|w| w[0] != w[1]);
    let hours = minutes.iter().filter(|m| m.minute % 60 == 0);
    let hours: Vec<_> = hours
        .filter_map(|m| {
            let (azimuth, elevation) = (m.sun_azimuth_deg?, m.sun_elevation_deg?);
            let (x, y) = place(azimuth, elevation);
            let (sin, cos) = libm::sincos(azimuth.to_radians());
            let label = (x + LABEL * sin, y - LABEL * cos + 4.0);
            let hour = (i32::from(m.minute) / 60 + t.day_start_h).rem_euclid(24);
            Some(((x, y), label, hour))
        })
        .collect();
    let azimuths = || (0..=360 / STEP).map(|k| (k * STEP) as f64);
    let rim = path(azimuths().map(|a| place(a, 0.0)));
    let line = path(azimuths().map(|a| place(a, skyline.height_deg(a % 360.0))));
    let name = format!(
        "The sky on {} as a disc, north up: the way of the sun with its hours{}, and the skyline.",
        words::date(t.day_of_year),
        if moves { ", the way of the panel" } else { ", where the panel looks" }
    );
    html! {
        svg class="dome chart" viewBox="0 0 260 260" role="group" aria-label=(name) {
            g role="img" aria-label=(name) {
                @for r in [1.0 / 3.0, 2.0 / 3.0, 1.0] {
                    circle class=(if r < 1.0 { "ringline" } else { "rim" }) cx=(MIDDLE) cy=(MIDDLE) r=(coordinate(RADIUS * r)) {}
                }
                path class="skyline" fill-rule="evenodd" d={ (rim) "Z" (line) "Z" } {}
                path class="line sun" d=(path(sun)) {}
                @if moves { path class="line thin" d=(path(aims.iter().copied())) {} }
                @for ((x, y), label, hour) in &hours {
                    circle class="hour" cx=(coordinate(*x)) cy=(coordinate(*y)) r="2.2" {}
                    @if hour % 3 == 0 {
                        text class="lab" x=(coordinate(label.0)) y=(coordinate(label.1)) text-anchor="middle" { (hour) }
                    }
                }
                @for (mark, azimuth) in [("N", 0.0), ("E", 90.0), ("S", 180.0), ("W", 270.0)] {
                    @let (sin, cos) = libm::sincos(f64::to_radians(azimuth));
                    text x=(coordinate(MIDDLE + (RADIUS + 13.0) * sin)) y=(coordinate(MIDDLE - (RADIUS + 13.0) * cos + 4.0)) text-anchor="middle" { (mark) }
                }
                circle class="at-sun" r="6" cx=(MIDDLE) cy=(MIDDLE) {}
                rect class="at-panel" x="-5" y="-5" width="10" height="10" transform=(format!("translate({MIDDLE} {MIDDLE}) rotate(45)")) {}
            }
        }
    }
}
