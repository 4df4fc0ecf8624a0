//! Which hours have clouds passing before the sun, and what their light is like.
//!
//! An hour whose beam falls short of the day's full sun need not have clouds: haze, a thin even veil or an error of the clear sky
//! dim it as well, and where the beam is derived from global irradiance, every change of the sun's height does. So hours are of two
//! kinds, unbroken and broken, as the distribution of minutes has two peaks (Suehrcke & McCormick 1988, Solar Energy
//! 40:413, from memory). Constants are fitted on the minutes of Graz, 2017 (SOLID / solar.nahwaerme.at, AEE INTEC, CC BY-SA 4.0).

use super::clouds::HIDDEN_BELOW;
use crate::lanes::{Lane, math};

/// Standard deviation of an unbroken hour over that drawn for hours at large.
pub const OF_UNBROKEN: f64 = 0.1;
/// Correlation of the normal number by which an hour is unbroken with that of the hour before: with it, neighbouring hours are
/// both unbroken as often as measured (420 pairs of hours with more than half the sun; 357 without).
pub(crate) const UNBROKEN_LAG_1_H: f64 = 0.7;

/// The sky of an hour is unbroken if a standard normal number is below this: a probit line, by σ₃ and the share f of the day's full sun in
/// the hour's beam.
///
/// An hour that is like its neighbours is seldom broken, even if haze, a veil or an error of the clear sky takes some of its
/// beam. Fitted on hours with more than half the sun, unbroken being
/// those without a step above 0.05 of the index from minute to minute. By σ₃ alone the line is the same with the measured beam
/// (1.17 - 6.1 √σ₃) and with one derived from GHI (1.19 - 6.0 √σ₃); a month of another place gives that slope too (-5.1). The weight of f
/// lies between those of the two beams (6.2 and 2.9). The constant is raised by 0.1, so that as many clear hours have a dip as measured.
#[inline(always)]
pub fn unbroken_below<V: Lane>(sigma_3: V, f: V) -> V {
    let c = V::splat;
    c(1.55) - c(5.1) * sigma_3.sqrt() - c(4.0) * (c(1.0) - f)
}

/// Standard deviation of a broken hour over that drawn for hours at large, by the share f of the day's full sun in its beam. Measured:
/// 0.92, 1.20, 1.29, 1.14, 1.01, 0.82 at shares of 0.06, 0.2, 0.45, 0.7, 0.85, 0.94.
#[inline(always)]
pub fn of_broken<V: Lane>(f: V) -> V {
    let c = V::splat;
    let f = f.min(c(1.0));
    c(0.75) + c(2.2) * f * (c(1.0) - f)
}

/// Share of a broken hour with the sun out, by the share f of the day's full sun in its beam: in the gaps of a sky that is nearly closed
/// the sun comes with 0.7 of its full beam, in others with all of it.
#[inline(always)]
pub fn sunlit_share<V: Lane>(f: V) -> V {
    let c = V::splat;
    (f / (c(0.75) + c(0.5) * f).min(c(1.0))).max(c(HIDDEN_BELOW))
}

/// How much more diffuse light there is while the sun is out than while it is hidden, share of the hour's mean, in an hour of
/// sunlit share f.
///
/// Under a sky that is nearly closed the gaps are bright, since the cloud about them is thin; under one that is nearly open the few
/// clouds are the bright part of it. Measured in broken hours: 0.77, 0.48, 0.17, -0.04, -0.20, -0.31 at
/// shares of 0.06, 0.15, 0.3, 0.5, 0.7, 0.85, of which the light beside clouds gives -0.05 to -0.25.
#[inline(always)]
pub fn diffuse_under_clouds<V: Lane>(f: V) -> V {
    let c = V::splat;
    c(-0.18) - c(0.33) * math::ln(f.max(c(HIDDEN_BELOW)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_like_their_neighbours_are_seldom_broken() {
        // Standard normal: 94 % below 1.55; half below 0.
        assert!(unbroken_below(0.0_f64, 1.0) > 1.5);
        assert!(unbroken_below(0.02_f64, 0.93) > 0.5);
        assert!(unbroken_below(0.1_f64, 0.93) < -0.2);
        assert!(unbroken_below(0.1_f64, 0.5) < -2.0);
    }

    #[test]
    fn shares_of_sun_are_shares_and_never_less_than_the_beam() {
        for i in 0..=100 {
            let f = f64::from(i) / 100.0;
            let share = sunlit_share(f);
            assert!((f..=1.0).contains(&share) && share <= (f / 0.75).max(HIDDEN_BELOW), "{f}: {share}");
            assert!(of_broken(f) >= 0.75);
        }
    }

    #[test]
    fn gaps_are_bright_in_a_closed_sky_and_clouds_in_an_open_one() {
        assert!(diffuse_under_clouds(0.06_f64) > 0.6 && diffuse_under_clouds(0.9_f64) < 0.0);
    }
}
