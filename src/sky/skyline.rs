//! What stands between the panel and the horizon: when it hides the sun, and how much of the sky's
//! light it takes.
//!
//! It is taken as black: trees and walls reflect about a tenth of the light, which is left out.

use super::CalendarDay;
use std::f64::consts::PI;

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

impl Skyline {
    /// From corners (azimuth 0..360 °, height 0..=89 °) by rising azimuth; straight between them in
    /// azimuth and height, through north too. None: open to the horizon.
    pub fn new(corners: &[(f64, f64)]) -> Skyline {
        Skyline { corners: corners.to_vec() }
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

    /// [`Skyline::sun_share`] for each minute of a day with the sun up.
    pub(crate) fn sun_shares(&self, day: &CalendarDay) -> Vec<f64> {
        if self.is_open() {
            return vec![1.0; day.minutes.len()];
        }
        let share = |m: &super::SunMinute| {
            let azimuth = libm::atan2(m.east, m.north).to_degrees();
            let azimuth = if azimuth < 0.0 { azimuth + 360.0 } else { azimuth };
            self.sun_share(azimuth, 90.0 - m.zenith_rad.to_degrees())
        };
        day.minutes.iter().map(share).collect()
    }

    /// The sky it leaves open.
    pub fn open_sky(&self) -> OpenSky {
        let mut open = OpenSky::default();
        if self.is_open() {
            return open;
        }
        let mut sectors = [[0.0; 3]; SECTORS];
        // Half-degree slices of the compass.
        let slices = 720;
        let width = 2.0 * PI / f64::from(slices);
        let mut clear_slices = 0;
        for k in 0..slices {
            let azimuth = (f64::from(k) + 0.5) * width;
            let height_deg = self.height_deg(azimuth.to_degrees());
            clear_slices += u32::from(height_deg < HORIZON_BAND_DEG);
            let h = height_deg.to_radians();
            let (sin_h, cos_h) = libm::sincos(h);
            // Integrals of cos² and of cos·sin from the horizon up to h.
            let level = 0.5 * (h + sin_h * cos_h) * width / PI;
            let up = 0.5 * sin_h * sin_h * width / PI;
            let (sin_a, cos_a) = libm::sincos(azimuth);
            let hidden = &mut sectors[k as usize * SECTORS / slices as usize];
            *hidden = [hidden[0] + level * sin_a, hidden[1] + level * cos_a, hidden[2] + up];
        }
        for s in sectors {
            open.hidden = [open.hidden[0] + s[0], open.hidden[1] + s[1], open.hidden[2] + s[2]];
        }
        open.hidden_sectors = sectors.into_iter().filter(|s| s[2] > 0.0).collect();
        open.view = 1.0 - open.hidden[2];
        open.horizon = f64::from(clear_slices) / f64::from(slices);
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
