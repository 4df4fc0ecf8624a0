//! Mean of a daily quantity within the calendar window, for each day of the year.

use super::pool::DonorPool;
use super::window::around;
use crate::sky::calendar::DAYS;

/// Mean around each day of the year, from one value for each donor; days without any donor get the mean of all.
pub(crate) fn course(pool: &DonorPool, values: &[f64]) -> Vec<f64> {
    let mut sums = vec![[0.0; 2]; DAYS];
    for (donor, &v) in pool.donors().iter().zip(values) {
        let s = &mut sums[usize::from(donor.day_of_year)];
        *s = [s[0] + 1.0, s[1] + v];
    }
    let all = values.iter().sum::<f64>() / values.len().max(1) as f64;
    (0..DAYS as u16)
        .map(|date| {
            let [n, sum] = around(date).fold([0.0; 2], |s, d| [s[0] + sums[d][0], s[1] + sums[d][1]]);
            if n > 0.0 { sum / n } else { all }
        })
        .collect()
}
