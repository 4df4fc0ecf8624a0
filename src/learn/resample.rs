//! Weights and systematic resampling (Kitagawa 1996, J. Comput. Graph. Statist. 5:1-25, from memory).

/// Effective sample size of weights (≥ 0, not all 0): (Σw)² / Σw².
pub fn effective_size(weights: &[f64]) -> f64 {
    let sum: f64 = weights.iter().sum();
    let square: f64 = weights.iter().map(|w| w * w).sum();
    if square > 0.0 { sum * sum / square } else { 0.0 }
}

/// `n` indices in proportion to the weights: points (i + u)/n, `u` in 0..1, against the cumulated weights. Each index occurs floor or
/// ceil of n w times, one without weight never.
pub fn systematic(weights: &[f64], n: usize, u: f64) -> Vec<usize> {
    let sum: f64 = weights.iter().sum();
    let last = weights.iter().rposition(|w| *w > 0.0).unwrap_or(0);
    let (mut at, mut below) = (0, 0.0);
    (0..n)
        .map(|i| {
            let point = (i as f64 + u) / n as f64 * sum;
            while at < last && below + weights[at] <= point {
                below += weights[at];
                at += 1;
            }
            at
        })
        .collect()
}

/// `n` of `rows`, evenly taken, in their order; all if there are no more.
pub(crate) fn evenly<T>(rows: &[T], n: usize) -> impl Iterator<Item = &T> {
    let n = n.min(rows.len());
    (0..n).map(move |k| &rows[k * rows.len() / n])
}

/// ln Σ exp(x), and its terms over that sum.
pub(crate) fn log_sum(logs: &[f64]) -> (f64, Vec<f64>) {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        return (top, vec![1.0 / logs.len().max(1) as f64; logs.len()]);
    }
    let terms: Vec<f64> = logs.iter().map(|l| libm::exp(l - top)).collect();
    let sum: f64 = terms.iter().sum();
    (top + libm::log(sum), terms.iter().map(|t| t / sum).collect())
}
