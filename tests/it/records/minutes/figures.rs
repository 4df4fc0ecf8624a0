//! What is compared of measured and sampled minutes.

/// Lags of the autocorrelation, min.
const LAGS: [usize; 4] = [1, 5, 15, 60];
/// A bright minute has more than this of the clear sky's light; a dip of a clear hour has less.
const BRIGHT: f64 = 0.8;
/// Shortest unbroken stretch of bright minutes that counts, min.
const STRETCH_MIN: usize = 240;
/// A clear hour has more than this on average.
const CLEAR: f64 = 0.9;
/// A broken hour has a mean index between these.
const BROKEN: std::ops::Range<f64> = 0.4..0.8;

/// Clear-sky indices and beam of days, gathered. Gaps (night, missing minutes) are NaN.
#[derive(Default)]
pub struct Minutes {
    steps: Vec<f64>,
    index: Vec<f64>,
    beam: usize,
    /// Minutes in long bright stretches.
    stretches: usize,
    /// Clear hours with a dip; all.
    dips: [usize; 2],
    /// Sum of the standard deviation within hours, and their number: broken ones; all.
    spread: [[f64; 2]; 2],
    /// Sums for the autocorrelation of the index about the mean of the day.
    cross: [[f64; 2]; 4],
}

/// Figures of [`Minutes`].
pub struct Figures {
    /// Share of steps above 0.1 and 0.3 of the index from minute to minute, and their 95th and 99th percentile.
    pub ramps: [f64; 4],
    /// Share of minutes with more than 120 W/m² of beam.
    pub beam: f64,
    /// Share of minutes in unbroken bright stretches of four hours or more.
    pub stretches: f64,
    /// Share of clear hours with a dip.
    pub dips: f64,
    /// Standard deviation within broken hours.
    pub spread: f64,
    /// Indices, sorted.
    pub index: Vec<f64>,
}

impl Minutes {
    /// Adds a day of whole hours, by minute.
    pub fn add_day(&mut self, index: &[f64], dni: &[f64]) {
        let steps = index.windows(2).map(|w| (w[1] - w[0]).abs());
        self.steps.extend(steps.filter(|s| s.is_finite()));
        let there: Vec<f64> = index.iter().copied().filter(|x| x.is_finite()).collect();
        let mean = there.iter().sum::<f64>() / there.len().max(1) as f64;
        for (lag, sums) in LAGS.iter().zip(&mut self.cross) {
            for (a, b) in index.iter().zip(index.iter().skip(*lag)) {
                if a.is_finite() && b.is_finite() {
                    sums[0] += (a - mean) * (b - mean);
                    sums[1] += 0.5 * ((a - mean) * (a - mean) + (b - mean) * (b - mean));
                }
            }
        }
        for hour in index.chunks(60) {
            self.add_hour(hour);
        }
        for stretch in index.split(|&k| k.is_nan() || k <= BRIGHT) {
            self.stretches += if stretch.len() >= STRETCH_MIN { stretch.len() } else { 0 };
        }
        self.beam += index.iter().zip(dni).filter(|(k, d)| k.is_finite() && **d > 120.0).count();
        self.index.extend(there);
    }

    fn add_hour(&mut self, hour: &[f64]) {
        if hour.len() < 60 || hour.iter().any(|k| k.is_nan()) {
            return;
        }
        let mean = hour.iter().sum::<f64>() / 60.0;
        let sd = (hour.iter().map(|k| (k - mean) * (k - mean)).sum::<f64>() / 60.0).sqrt();
        for (sums, counts) in self.spread.iter_mut().zip([BROKEN.contains(&mean), true]) {
            if counts {
                *sums = [sums[0] + sd, sums[1] + 1.0];
            }
        }
        if mean > CLEAR {
            self.dips[0] += usize::from(hour.iter().any(|&k| k < BRIGHT));
            self.dips[1] += 1;
        }
    }

    /// The figures; prints them.
    pub fn figures(mut self, name: &str) -> Figures {
        self.steps.sort_by(f64::total_cmp);
        self.index.sort_by(f64::total_cmp);
        let n = self.steps.len();
        let above = |x: f64| (n - self.steps.partition_point(|&s| s <= x)) as f64 / n as f64;
        let at = |p: f64| self.steps[(p * n as f64) as usize];
        let minutes = self.index.len() as f64;
        let [broken, all] = self.spread.map(|[sum, n]| sum / n);
        let out = Figures {
            ramps: [above(0.1), above(0.3), at(0.95), at(0.99)],
            beam: self.beam as f64 / minutes,
            stretches: self.stretches as f64 / minutes,
            dips: self.dips[0] as f64 / self.dips[1] as f64,
            spread: broken,
            index: self.index,
        };
        let [a, b, c, d] = self.cross.map(|c| c[0] / c[1]);
        println!(
            "{name:9} steps > 0.1 {:.2} %, > 0.3 {:.2} %, P80 {:.4}, P95 {:.3}, P99 {:.3}; beam {:.1} %; autocorrelation {a:.3} {b:.3} {c:.3} {d:.3}",
            100.0 * out.ramps[0],
            100.0 * out.ramps[1],
            at(0.8),
            out.ramps[2],
            out.ramps[3],
            100.0 * out.beam,
        );
        println!(
            "{:9} long bright stretches {:.1} %, clear hours with a dip {:.1} %, spread in broken hours {:.4}, in all {all:.4}",
            "",
            100.0 * out.stretches,
            100.0 * out.dips,
            out.spread
        );
        out
    }
}

/// Largest difference between the distributions of two sorted samples.
pub fn ks(a: &[f64], b: &[f64]) -> f64 {
    let share = |v: &[f64], x: f64| v.partition_point(|&y| y <= x) as f64 / v.len() as f64;
    (0..=300).map(|i| f64::from(i) / 200.0).map(|x| (share(a, x) - share(b, x)).abs()).fold(0.0, f64::max)
}
