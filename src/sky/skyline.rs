//! What stands between the panel and the horizon: when it hides the sun, and how much of the sky's
//! light it takes.
//!
//! It is taken as black: trees and walls reflect about a tenth of the light, which is left out. Only of trees that are said to be some does
//! light pass through, by the season ([`foliage`](super::foliage)): a mean over sunflecks, on beam, glow and dome alike.

use super::CalendarDay;
use std::f64::consts::PI;

/// Radius of the glow around the sun, taken as an even disc, ° (10 to 25; common practice, no source).
const GLOW_RADIUS_DEG: f64 = 15.0;
/// Width of the sun's disc, °.
const SUN_WIDTH_DEG: f64 = 0.533;
/// Half of the 6.5° of brighter (or darker) sky above the horizon that Perez' third component
/// stands for (Perez 1987, Solar Energy 39:221; from memory): a skyline above it hides it.
const HORIZON_BAND_DEG: f64 = 3.25;
/// Sectors of the compass in which the hidden sky is added up.
const SECTORS: usize = 8;

/// A skyline: height above the horizon all round.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Skyline {
    /// Corners (azimuth °, height °) by rising azimuth.
    corners: Vec<(f64, f64)>,
    /// Whether each is the edge of trees; empty: none is.
    trees: Vec<bool>,
}

/// The sky a skyline leaves open, for an evenly bright dome.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenSky {
    /// Share of the dome's horizontal irradiance left, 0..=1.
    pub view: f64,
    /// Sum of the directions (east, north, up) of the hidden sky, each weighted by its solid angle over pi:
    /// its up component is the share of horizontal irradiance lost.
    pub hidden: [f64; 3],
    /// The same by part of the compass, where anything is hidden.
    pub hidden_sectors: Vec<[f64; 3]>,
    /// Share of the horizon not hidden, 0..=1.
    pub horizon: f64,
}

/// Share of an even disc (radius in °) that stands above a level edge, when its middle stands so many degrees above it.
pub fn glow_above_edge(above_deg: f64, radius_deg: f64) -> f64 {
    let x = (above_deg / radius_deg).clamp(-1.0, 1.0);
    0.5 + (libm::asin(x) + x * (1.0 - x * x).sqrt()) / PI
}

impl Skyline {
    /// From corners (azimuth 0..360 °, height 0..=89 °) by rising azimuth; straight between them in
    /// azimuth and height, through north too. None: open to the horizon.
    pub fn new(corners: &[(f64, f64)]) -> Skyline {
        Skyline { corners: corners.to_vec(), trees: Vec::new() }
    }

    /// The same where some corners are edges of trees: what stands between two of them is trees.
    pub fn with_trees(self, trees: &[bool]) -> Skyline {
        Skyline { trees: trees.to_vec(), ..self }
    }

    /// Whether any of it is trees.
    pub(crate) fn has_trees(&self) -> bool {
        self.trees.contains(&true)
    }

    /// Whether what stands at an azimuth in 0..360 ° is trees.
    pub fn is_tree(&self, azimuth_deg: f64) -> bool {
        let n = self.corners.len();
        if n == 0 || self.trees.len() != n {
            return false;
        }
        let after = self.corners.partition_point(|c| c.0 <= azimuth_deg);
        self.trees[(after + n - 1) % n] && self.trees[after % n]
    }

    /// Share of a glow around the sun that comes from above the skyline: an even disc, half of it behind an edge at the sun's height. 1
    /// above the open horizon.
    pub fn glow_share(&self, azimuth_deg: f64, elevation_deg: f64) -> f64 {
        let height = self.height_deg(azimuth_deg);
        if height <= 0.0 {
            return 1.0;
        }
        glow_above_edge(elevation_deg - height, GLOW_RADIUS_DEG)
    }

    /// Whether nothing stands in the way.
    pub(crate) fn is_open(&self) -> bool {
        self.corners.iter().all(|&(_, height)| height <= 0.0)
    }

    /// Height at an azimuth in 0..360, °.
    pub fn height_deg(&self, azimuth_deg: f64) -> f64 {
        let (Some(first), Some(last)) = (self.corners.first(), self.corners.last()) else { return 0.0 };
        let after = self.corners.partition_point(|c| c.0 <= azimuth_deg);
        let (a0, h0) = if after == 0 { (last.0 - 360.0, last.1) } else { self.corners[after - 1] };
        let (a1, h1) = self.corners.get(after).copied().unwrap_or((first.0 + 360.0, first.1));
        if a1 <= a0 { h0 } else { h0 + (h1 - h0) * (azimuth_deg - a0) / (a1 - a0) }
    }

    /// Share of the sun's disc that stands clear of the skyline, 0..=1.
    pub fn sun_share(&self, azimuth_deg: f64, elevation_deg: f64) -> f64 {
        let height = self.height_deg(azimuth_deg);
        if height <= 0.0 {
            return 1.0;
        }
        ((elevation_deg - height) / SUN_WIDTH_DEG + 0.5).clamp(0.0, 1.0)
    }

    /// Share of the sun's beam, and of the glow around it, that reach the panel in each minute of a day with the sun up. Through trees passes
    /// the share `through`; behind anything else the glow goes with the disc.
    pub(crate) fn sun_shares(&self, day: &CalendarDay, through: f64) -> Vec<[f64; 2]> {
        if self.is_open() {
            return vec![[1.0; 2]; day.minutes.len()];
        }
        let share = |m: &super::SunMinute| {
            let azimuth = libm::atan2(m.east, m.north).to_degrees();
            let azimuth = if azimuth < 0.0 { azimuth + 360.0 } else { azimuth };
            let elevation = 90.0 - m.zenith_rad.to_degrees();
            let clear = self.sun_share(azimuth, elevation);
            if !self.is_tree(azimuth) {
                return [clear; 2];
            }
            [clear, self.glow_share(azimuth, elevation)].map(|clear| clear + (1.0 - clear) * through)
        };
        day.minutes.iter().map(share).collect()
    }

    /// The sky it leaves open, if trees are as black as walls.
    pub fn open_sky(&self) -> OpenSky {
        self.open_sky_through(0.0)
    }

    /// The sky it leaves open; of what trees hide, the share `through` reaches the panel all the same.
    pub fn open_sky_through(&self, through: f64) -> OpenSky {
        let mut open = OpenSky::default();
        if self.is_open() {
            return open;
        }
        let mut sectors = [[0.0; 3]; SECTORS];
        // Half-degree slices of the compass.
        let slices = 720;
        let width = 2.0 * PI / f64::from(slices);
        let mut clear_slices = 0.0;
        for k in 0..slices {
            let azimuth = (f64::from(k) + 0.5) * width;
            let height_deg = self.height_deg(azimuth.to_degrees());
            let hides = if self.is_tree(azimuth.to_degrees()) { 1.0 - through } else { 1.0 };
            clear_slices += if height_deg < HORIZON_BAND_DEG { 1.0 } else { 1.0 - hides };
            let h = height_deg.to_radians();
            let (sin_h, cos_h) = libm::sincos(h);
            // Integrals of cos² and of cos·sin from the horizon up to h.
            let level = hides * (0.5 * (h + sin_h * cos_h) * width / PI);
            let up = hides * (0.5 * sin_h * sin_h * width / PI);
            let (sin_a, cos_a) = libm::sincos(azimuth);
            let hidden = &mut sectors[k as usize * SECTORS / slices as usize];
            *hidden = [hidden[0] + level * sin_a, hidden[1] + level * cos_a, hidden[2] + up];
        }
        for s in sectors {
            open.hidden = [open.hidden[0] + s[0], open.hidden[1] + s[1], open.hidden[2] + s[2]];
        }
        open.hidden_sectors = sectors.into_iter().filter(|s| s[2] > 0.0).collect();
        open.view = 1.0 - open.hidden[2];
        open.horizon = clear_slices / f64::from(slices);
        open
    }
}

impl Default for OpenSky {
    /// Open to the horizon.
    fn default() -> Self {
        OpenSky { view: 1.0, hidden: [0.0; 3], hidden_sectors: Vec::new(), horizon: 1.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heights_run_straight_and_through_north() {
        let s = Skyline::new(&[(90.0, 8.0), (130.0, 22.0), (180.0, 10.0)]);
        for (azimuth, height) in [(90.0, 8.0), (110.0, 15.0), (180.0, 10.0), (315.0, 9.0), (0.0, 26.0 / 3.0)]
        {
            assert!((s.height_deg(azimuth) - height).abs() < 1e-9, "{azimuth}: {}", s.height_deg(azimuth));
        }
        let step = Skyline::new(&[(100.0, 0.0), (100.0, 30.0), (150.0, 30.0), (150.0, 0.0)]);
        assert_eq!(
            (step.height_deg(99.0), step.height_deg(100.0), step.height_deg(120.0)),
            (0.0, 30.0, 30.0)
        );
        assert_eq!(Skyline::new(&[(200.0, 5.0)]).height_deg(10.0), 5.0);
        assert_eq!(Skyline::default().height_deg(10.0), 0.0);
    }

    #[test]
    fn trees_stand_between_two_corners_that_say_so() {
        let s = Skyline::new(&[(60.0, 10.0), (120.0, 20.0), (200.0, 15.0), (300.0, 5.0)]);
        assert!(!s.has_trees() && !s.is_tree(90.0));
        let some = s.clone().with_trees(&[true, true, false, false]);
        assert_eq!(
            [30.0, 60.0, 90.0, 119.9, 120.0, 250.0, 350.0].map(|a| some.is_tree(a)),
            [false, true, true, true, false, false, false]
        );
        let through_north = s.clone().with_trees(&[true, false, false, true]);
        assert_eq!(
            [300.0, 350.0, 0.0, 59.0, 61.0].map(|a| through_north.is_tree(a)),
            [true, true, true, true, false]
        );
        // Trees that let nothing through are as black as walls; those that let all through are not there.
        let all = s.with_trees(&[true; 4]);
        assert_eq!(
            all.open_sky_through(0.0),
            Skyline::new(&[(60.0, 10.0), (120.0, 20.0), (200.0, 15.0), (300.0, 5.0)]).open_sky()
        );
        let gone = all.open_sky_through(1.0);
        assert!(gone.view == 1.0 && gone.horizon == 1.0 && gone.hidden_sectors.is_empty());
        let half = all.open_sky_through(0.5);
        assert!((half.hidden[2] - 0.5 * all.open_sky().hidden[2]).abs() < 1e-12);
    }

    #[test]
    fn the_sun_passes_behind_gradually() {
        let s = Skyline::new(&[(180.0, 20.0)]);
        assert_eq!((s.sun_share(0.0, 19.0), s.sun_share(0.0, 20.0), s.sun_share(0.0, 21.0)), (0.0, 0.5, 1.0));
        assert_eq!(Skyline::default().sun_share(0.0, 0.01), 1.0);
    }

    #[test]
    fn an_even_ring_takes_the_square_of_its_sine() {
        let open = Skyline::new(&[(0.0, 30.0)]).open_sky();
        assert!((open.view - 0.75).abs() < 1e-12, "{open:?}");
        assert!(open.hidden[0].abs() < 1e-12 && open.hidden[1].abs() < 1e-12 && open.horizon == 0.0);
        assert_eq!(open.hidden_sectors.len(), SECTORS);
    }
}
