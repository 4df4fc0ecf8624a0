//! What a reading would be worth: the expected drop of the variance of a figure when the reading is taken.
//!
//! By regression over drawn units (Strong, Oakley & Brennan 2014, Med. Decis. Making 34:311-326; with Breeze 2015, 35:570-583; both from
//! memory): the figure is regressed on a natural cubic spline of the simulated reading, errors of reading included; what the curve explains,
//! corrected for its own columns, is the gain.

/// Columns of a spline without its constant.
const COLUMNS: usize = 5;
/// Values of a column that are one pile if they are all alike.
const FLAT: f64 = 1e-12;

/// A gain and its error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gain {
    /// Expected drop of the variance, in the square of the figure's unit; at least 0.
    pub gain: f64,
    /// Its standard error.
    pub se: f64,
    /// Variance of the figure.
    pub variance: f64,
}

impl Gain {
    /// The drop as a share of the variance, 0..=1.
    pub fn share(&self) -> f64 {
        if self.variance > 0.0 { (self.gain / self.variance).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// Whether it is clearly more than nothing.
    pub fn is_clear(&self) -> bool {
        self.gain > 2.0 * self.se
    }
}

/// One simulated reading for each unit; `None` where there is nothing to read.
pub type Readings = Vec<Option<f64>>;

/// The gain of one or several readings taken together, for a figure of as many units (at least 32).
pub fn gain(figure: &[f64], readings: &[&Readings]) -> Gain {
    let n = figure.len() as f64;
    let mean = figure.iter().sum::<f64>() / n;
    let centred: Vec<f64> = figure.iter().map(|f| f - mean).collect();
    let variance = centred.iter().map(|f| f * f).sum::<f64>() / (n - 1.0);
    let mut columns: Vec<Vec<f64>> = Vec::new();
    for reading in readings {
        columns.extend(spline(reading));
    }
    // What two readings say only together.
    for (k, a) in readings.iter().enumerate() {
        for b in &readings[..k] {
            let (a, b) = (scaled(a), scaled(b));
            columns.push(a.iter().zip(&b).map(|(x, y)| x.unwrap_or(0.0) * y.unwrap_or(0.0)).collect());
        }
    }
    let (residuals, used) = residuals(&centred, columns);
    let rest = residuals.iter().map(|e| e * e).sum::<f64>() / (n - 1.0 - used as f64).max(1.0);
    let differences: Vec<f64> = centred.iter().zip(&residuals).map(|(f, e)| f * f - e * e).collect();
    let centre = differences.iter().sum::<f64>() / n;
    let spread = differences.iter().map(|d| (d - centre) * (d - centre)).sum::<f64>() / (n - 1.0);
    Gain { gain: (variance - rest).max(0.0), se: (spread / n).sqrt(), variance }
}

/// A reading less its mean, over its standard deviation.
fn scaled(reading: &Readings) -> Readings {
    let known: Vec<f64> = reading.iter().flatten().copied().collect();
    let n = known.len().max(1) as f64;
    let mean = known.iter().sum::<f64>() / n;
    let sd = (known.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n).sqrt();
    let flat = sd <= FLAT * mean.abs().max(1.0);
    reading.iter().map(|x| x.map(|x| if flat { 0.0 } else { (x - mean) / sd })).collect()
}

/// The columns of a natural cubic spline with knots at quantiles; where there is nothing to read, a column of its own.
fn spline(reading: &Readings) -> Vec<Vec<f64>> {
    let scaled = scaled(reading);
    let mut sorted: Vec<f64> = scaled.iter().flatten().copied().collect();
    sorted.sort_by(f64::total_cmp);
    let mut columns = Vec::new();
    if sorted.len() < scaled.len() {
        columns.push(scaled.iter().map(|x| f64::from(u8::from(x.is_none()))).collect());
    }
    let mut knots: Vec<f64> = (0..=COLUMNS)
        .filter_map(|k| {
            let share = (k as f64 + 0.5) / (COLUMNS as f64 + 1.0);
            sorted.get((share * sorted.len() as f64) as usize).copied()
        })
        .collect();
    knots.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    columns.push(scaled.iter().map(|x| x.unwrap_or(0.0)).collect());
    let [.., before_last, last] = knots[..] else { return columns };
    let cube = |x: f64| if x > 0.0 { x * x * x } else { 0.0 };
    let d = |x: f64, knot: f64| (cube(x - knot) - cube(x - last)) / (last - knot);
    for &knot in &knots[..knots.len() - 2] {
        columns.push(scaled.iter().map(|x| x.map_or(0.0, |x| d(x, knot) - d(x, before_last))).collect());
    }
    columns
}

/// What the columns leave of a centred figure, and how many columns count (modified Gram-Schmidt; columns that add nothing drop out).
fn residuals(centred: &[f64], columns: Vec<Vec<f64>>) -> (Vec<f64>, usize) {
    let n = centred.len() as f64;
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let mut rest = centred.to_vec();
    let mut basis: Vec<Vec<f64>> = Vec::new();
    for mut column in columns {
        let mean = column.iter().sum::<f64>() / n;
        column.iter_mut().for_each(|x| *x -= mean);
        let before = dot(&column, &column);
        for known in &basis {
            let along = dot(known, &column);
            column.iter_mut().zip(known).for_each(|(x, k)| *x -= along * k);
        }
        let left = dot(&column, &column);
        if left <= 1e-10 * before.max(1e-300) {
            continue;
        }
        let length = left.sqrt();
        column.iter_mut().for_each(|x| *x /= length);
        let along = dot(&column, &rest);
        rest.iter_mut().zip(&column).for_each(|(x, k)| *x -= along * k);
        basis.push(column);
    }
    (rest, basis.len())
}
