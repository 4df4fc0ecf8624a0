//! Correlations of quantities of days.

use super::pool::DonorPool;

/// Largest correlation of a month that is drawn by: beyond it a file has too few days to tell.
const LARGEST: f64 = 0.95;

/// Count, sums, sums of squares and of products of pairs.
type Sums = [f64; 6];

fn add(sums: &mut Sums, (x, y): (f64, f64)) {
    sums.iter_mut().zip([1.0, x, y, x * x, y * y, x * y]).for_each(|(s, v)| *s += v);
}

fn of_sums([n, x, y, xx, yy, xy]: Sums) -> f64 {
    let below = ((xx - x * x / n) * (yy - y * y / n)).sqrt();
    if below > 1e-9 { (xy - x * y / n) / below } else { 0.0 }
}

/// Of pairs; 0 where one of the two does not vary.
pub(super) fn of_pairs(pairs: impl Iterator<Item = (f64, f64)>) -> f64 {
    let mut sums = [0.0; 6];
    pairs.for_each(|pair| add(&mut sums, pair));
    of_sums(sums)
}

/// Of two quantities of the donors of a pool, by month: over the three months around each, within ±0.95. `month` (0..12) is that of each of
/// 365 days.
pub(super) fn by_month(pool: &DonorPool, month: &[u8], x: &[f64], y: &[f64]) -> [f64; 12] {
    let mut of_month = [[0.0; 6]; 12];
    for (donor, pair) in pool.donors().iter().zip(x.iter().copied().zip(y.iter().copied())) {
        add(&mut of_month[usize::from(month[usize::from(donor.day_of_year)])], pair);
    }
    std::array::from_fn(|m| {
        let mut sums = [0.0; 6];
        for at in [(m + 11) % 12, m, (m + 1) % 12] {
            sums.iter_mut().zip(of_month[at]).for_each(|(s, v)| *s += v);
        }
        of_sums(sums).clamp(-LARGEST, LARGEST)
    })
}
