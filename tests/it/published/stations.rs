//! The default spread of years, from the records of twelve stations.

use crate::check_file::Check;
use stilldays::weather::days::calibrate::RECORD_OVER_TYPICAL;
use stilldays::weather::days::variability;

#[test]
fn the_default_spread_is_the_mean_of_the_stations() {
    let mut check = Check::open("published/10i_interannual_cov.csv");
    let rows = check.lines();
    let mean = |column: &str| rows.iter().map(|r| r.number(column)).sum::<f64>() / rows.len() as f64;
    let months = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
    let mut errors: Vec<(String, f64)> = months
        .iter()
        .zip(variability::TEMPERATE.monthly)
        .map(|(m, ours)| ((*m).to_owned(), ours - mean(&format!("cov_{m}"))))
        .collect();
    errors.push(("year".into(), variability::TEMPERATE.annual - mean("cov_annual_detrended")));
    let mut errors = Some(errors);
    check.compare(|_| errors.take().unwrap_or_default());
    check.report(1e-4);

    let mut check = Check::open("published/10l_daily_persistence.csv");
    let rows = check.lines();
    let ratio = rows.iter().map(|r| r.number("r1_record")).sum::<f64>()
        / rows.iter().map(|r| r.number("r1_typical")).sum::<f64>();
    let mut errors = Some(vec![("ratio".to_owned(), RECORD_OVER_TYPICAL - ratio)]);
    check.compare(|_| errors.take().unwrap_or_default());
    check.report(0.01);
}
