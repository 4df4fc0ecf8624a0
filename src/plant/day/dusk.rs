//! How long the jet goes on after sunset.

use crate::lanes::{Lane, Mask};

/// A stop of the jet after sunset up to this long is bridged, min.
const BRIDGE_MIN: f64 = 5.0;

/// The run after sunset up to the current minute.
pub(super) struct DuskRun<V: Lane> {
    /// Sunset, min from the start of the day; infinite if there is none.
    sunset_min: f64,
    /// The run has not ended yet.
    going: V::Mask,
    /// Minutes without jet since it last counted, min.
    gap_min: V,
    /// Minutes of jet so far, with the gaps bridged.
    run_min: V,
}

impl<V: Lane> DuskRun<V> {
    /// Before sunset (min; `None` if the day has none).
    #[inline(always)]
    pub(crate) fn new(sunset_min: Option<f64>) -> Self {
        let zero = V::splat(0.0);
        let sunset_min = sunset_min.unwrap_or(f64::INFINITY);
        DuskRun { sunset_min, going: V::Mask::splat(false), gap_min: zero, run_min: zero }
    }

    /// Whether the sun sets in this minute.
    #[inline(always)]
    pub(crate) fn sets_in(&self, minute: usize) -> bool {
        minute as f64 <= self.sunset_min && self.sunset_min < minute as f64 + 1.0
    }

    /// A minute of which this share (0..=1) lies in the time in which a run is looked for, and whether its jet counts.
    #[inline(always)]
    pub(crate) fn minute(&mut self, minute: usize, wanted: f64, counts: V::Mask) {
        let c = V::splat;
        let zero = c(0.0);
        if wanted <= 0.0 || minute as f64 + 1.0 <= self.sunset_min {
            return;
        }
        if minute as f64 <= self.sunset_min {
            self.going = counts;
            let after = (minute as f64 + 1.0 - self.sunset_min).min(wanted);
            self.run_min = V::only(counts, c(after));
        } else {
            self.run_min = self.run_min + V::only(self.going & counts, self.gap_min + c(wanted));
            self.gap_min = V::select(counts, zero, self.gap_min + c(1.0));
            self.going = self.going & !self.gap_min.gt(c(BRIDGE_MIN));
        }
    }

    /// Minutes of jet after sunset until it first stops for longer than is bridged.
    #[inline(always)]
    pub(crate) fn minutes(&self) -> V {
        self.run_min
    }

    /// Whether the jet still ran at the end of the last minute in which a run was looked for.
    #[inline(always)]
    pub(crate) fn cut_off(&self) -> V::Mask {
        self.going & self.gap_min.le(V::splat(0.0))
    }
}
