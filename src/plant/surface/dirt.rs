//! Dirt that grows day by day and that rain washes off.
//!
//! Kimber, Mitchell, Townsend & Collins (2006), IEEE WCPEC-4: a fixed growth a day, and nothing on the days after a strong rain.

/// How a panel gets dirty. All shares are of the light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dirt {
    /// Growth a day.
    pub per_day: f64,
    /// Rain of a day above which it is washed off, mm.
    pub washed_mm: f64,
    /// Days, with that of the rain, on which nothing grows; 0 counts as 1.
    pub grace_days: f64,
    /// The most that it takes.
    pub most: f64,
    /// Mean days from one washing rain to the next, where the weather file has no rain.
    pub rain_every_days: f64,
}

/// The dirt on a panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DirtState {
    /// What has grown, counted on beyond the most.
    share: f64,
    /// Days since the last washing rain.
    dry_days: f64,
    /// Whether the first day is still to come.
    fresh: bool,
}

impl Default for DirtState {
    /// Clean, and no rain remembered.
    fn default() -> Self {
        DirtState { share: 0.0, dry_days: 1e6, fresh: true }
    }
}

impl DirtState {
    /// With a share of dirt on it.
    pub fn with(share: f64) -> Self {
        DirtState { share, ..DirtState::default() }
    }

    /// Share of the light that dirt takes on a day of so much rain (mm), on which the panel may be cleaned by hand.
    pub fn day(&mut self, dirt: &Dirt, rain_mm: f64, cleaned: bool) -> f64 {
        if !self.fresh {
            self.share += dirt.per_day;
            self.dry_days += 1.0;
        }
        self.fresh = false;
        if rain_mm > dirt.washed_mm {
            self.dry_days = 0.0;
        }
        if self.dry_days < dirt.grace_days.max(1.0) || cleaned {
            self.share = 0.0;
        }
        self.share.min(dirt.most)
    }
}

impl Dirt {
    /// The mean share that it takes in the long run where washing rains come at random: `(r/l) e^{-l g} (1 - e^{-l c/r})` with l rains a
    /// day, growth r, g days of grace and at most c; and, if the panel is cleaned every so many days too, no more than that leaves.
    pub fn mean(&self, cleaned_every_days: Option<f64>) -> f64 {
        let (r, rains) = (self.per_day, 1.0 / self.rain_every_days);
        if r <= 0.0 {
            return 0.0;
        }
        let alone = r / rains * libm::exp(-rains * self.grace_days) * -libm::expm1(-rains * self.most / r);
        let Some(days) = cleaned_every_days else { return alone };
        // Age since the last of a rain at random (rate k, which alone would leave the same) and a cleaning every M days:
        // 1/k - (1 - e^{-k M})/(k² M).
        let k = r / alone.max(1e-12);
        r * (1.0 / k + libm::expm1(-k * days) / (k * k * days))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DIRT: Dirt =
        Dirt { per_day: 0.002, washed_mm: 5.0, grace_days: 2.0, most: 0.2, rain_every_days: 20.0 };

    #[test]
    fn cleaning_by_hand_bounds_the_mean() {
        let alone = DIRT.mean(None);
        assert!((DIRT.mean(Some(1e6)) - alone).abs() < 1e-4 * alone);
        // Cleaned often, rain hardly matters: half of what grows in between.
        assert!((DIRT.mean(Some(0.1)) - 0.002 * 0.05).abs() < 1e-6);
        let by_days: Vec<f64> = [2.0, 5.0, 15.0, 60.0].iter().map(|d| DIRT.mean(Some(*d))).collect();
        assert!(by_days.windows(2).all(|w| w[0] < w[1]) && by_days[3] < alone, "{by_days:?}");
        assert_eq!(Dirt { per_day: 0.0, ..DIRT }.mean(None), 0.0);
    }

    #[test]
    fn the_mean_is_that_of_many_days() {
        // One washing rain in twenty days on average, cleaned every 30 days.
        let mut state = DirtState::default();
        let (mut number, mut sum, days) = (1_u64, 0.0, 200_000);
        let dirt = Dirt { grace_days: 0.0, ..DIRT };
        for day in 0..days {
            number = number.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let rain_mm = if (number >> 33) as f64 / f64::from(1_u32 << 31) < 0.05 { 9.0 } else { 0.0 };
            sum += state.day(&dirt, rain_mm, day % 30 == 0);
        }
        let (found, law) = (sum / f64::from(days), dirt.mean(Some(30.0)));
        // Steps of days against continuous time: half a day of growth.
        assert!((found - law).abs() < 0.05 * law + 0.001, "{found} and {law}");
    }
}
