//! Daily records as indices of the clear sky, and the typical years made from them.

use flate2::read::GzDecoder;
use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;
use stilldays::sky::{Calendar, Place};
use stilldays::units::dates::{day_of_year, month_of};
use stilldays::weather::DonorPool;
use stilldays::weather::days::pool::Donor;

pub const DAYS: usize = 365;

/// A record as indices of the clear sky.
pub struct Record {
    pub name: String,
    pub group: String,
    pub weight: f64,
    /// Years of daily indices.
    pub index: Vec<Vec<f64>>,
    /// Daily mean temperatures; NaN where missing.
    pub air_c: Vec<Vec<f64>>,
    pub clear_wh_m2: Vec<f64>,
    /// Sunshine-derived records hold no dark days.
    pub derived: bool,
    /// Level of each year's clear days: of 1.
    pub level: Vec<f64>,
    pub place: Place,
    /// Linke turbidity by month.
    pub turbidity: [f64; 12],
}

/// Month (0..12) of each day.
pub fn months() -> Vec<u8> {
    (0..DAYS as u16).map(|d| month_of(d) as u8).collect()
}

fn text(path: &Path) -> String {
    let mut text = String::new();
    let file = std::fs::File::open(path).expect("a record opens");
    GzDecoder::new(file).read_to_string(&mut text).expect("a record is gzipped text");
    text
}

/// Linke turbidity for which the month's 95th percentile of the daily index is 1.
fn clear_sky(place: Place, ghi: &[Vec<f64>]) -> [f64; 12] {
    let tried: Vec<f64> = (0..6).map(|k| 1.8 + 1.04 * f64::from(k)).collect();
    let sums: Vec<Vec<f64>> = tried
        .iter()
        .map(|&t| Calendar::new(place, [t; 12]).days.iter().map(|d| d.clear_wh_m2()).collect())
        .collect();
    let month = months();
    let mut of_month = [0.0; 12];
    for (m, best) in of_month.iter_mut().enumerate() {
        let p95 = |clear: &[f64]| {
            let mut k: Vec<f64> = ghi
                .iter()
                .flat_map(|y| {
                    (0..DAYS)
                        .filter(|&d| usize::from(month[d]) == m)
                        .map(|d| y[d] / clear[d])
                        .collect::<Vec<_>>()
                })
                .collect();
            k.sort_by(f64::total_cmp);
            k[(0.95 * k.len() as f64) as usize]
        };
        let at: Vec<f64> = sums.iter().map(|s| p95(s)).collect();
        // The index rises with turbidity.
        let i = at.partition_point(|&k| k < 1.0).clamp(1, at.len() - 1);
        *best = (i as f64 - 1.0 + ((1.0 - at[i - 1]) / (at[i] - at[i - 1])).clamp(0.0, 1.0)).clamp(0.0, 5.0);
    }
    of_month.map(|at| 1.8 + 1.04 * at)
}

pub fn read(path: &Path) -> Record {
    let text = text(path);
    let head = |key: &str| {
        let found = text.lines().find_map(|l| l.strip_prefix(&format!("# {key}: ")));
        found.unwrap_or_else(|| panic!("{}: no {key}", path.display())).to_owned()
    };
    let number = |key: &str| head(key).parse::<f64>().expect("a number");
    let (latitude_deg, longitude_deg) = (number("latitude_deg"), number("longitude_deg"));
    let utc_offset_h = (longitude_deg / 15.0).round();
    let place = Place { latitude_deg, longitude_deg, elevation_m: number("elevation_m"), utc_offset_h };
    let columns: Vec<&str> =
        text.lines().find(|l| l.starts_with("date,")).expect("columns").split(',').collect();
    let column = |name: &str| columns.iter().position(|c| *c == name);
    let (mean, low, high) = (column("t_mean_c"), column("t_min_c"), column("t_max_c"));
    let mut years: BTreeMap<i32, (Vec<f64>, Vec<f64>)> = BTreeMap::new();
    for line in text.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_digit())) {
        let cells: Vec<&str> = line.split(',').collect();
        let Some(day) = day_of_year(&cells[0][5..]) else { continue };
        let at = |k: Option<usize>| k.and_then(|k| cells.get(k)?.parse::<f64>().ok()).unwrap_or(f64::NAN);
        let mut air = at(mean);
        if air.is_nan() {
            air = 0.5 * (at(low) + at(high));
        }
        let year = years
            .entry(cells[0][..4].parse().expect("a year"))
            .or_insert_with(|| (vec![f64::NAN; DAYS], vec![f64::NAN; DAYS]));
        year.0[usize::from(day)] = cells[1].parse().unwrap_or(f64::NAN);
        year.1[usize::from(day)] = air;
    }
    let level_of = |year: i32| {
        let line = text.lines().find(|l| l.starts_with("# clear-day level per year"));
        let found = line.and_then(|l| l.split(&format!("{year}:")).nth(1)?.split(' ').next()?.parse().ok());
        found.unwrap_or(1.0)
    };
    years.retain(|_, y| y.0.iter().filter(|v| v.is_nan()).count() <= 10);
    let level: Vec<f64> = years.keys().map(|&y| level_of(y)).collect();
    let (mut ghi, air_c): (Vec<Vec<f64>>, Vec<Vec<f64>>) = years.into_values().unzip();
    for year in &mut ghi {
        for d in 0..DAYS {
            if year[d].is_nan() {
                year[d] =
                    if d > 0 { year[d - 1] } else { *year.iter().find(|v| v.is_finite()).expect("a day") };
            }
        }
    }
    let turbidity = clear_sky(place, &ghi);
    let clear_wh_m2: Vec<f64> =
        Calendar::new(place, turbidity).days.iter().map(|d| d.clear_wh_m2()).collect();
    let index = ghi.iter().map(|y| y.iter().zip(&clear_wh_m2).map(|(g, c)| g / c).collect()).collect();
    let name = path.file_stem().unwrap().to_string_lossy().trim_end_matches(".csv").to_owned();
    let derived = head("quality class").starts_with('S');
    let georgia = ["blairsville-ga", "griffin-ga", "tifton-ga", "watkinsville-ga"].contains(&name.as_str());
    let weight = if georgia {
        0.5
    } else if derived {
        2.0 / 3.0
    } else {
        1.0
    };
    Record {
        name,
        group: head("climate group"),
        weight,
        index,
        air_c,
        clear_wh_m2,
        derived,
        level,
        place,
        turbidity,
    }
}

/// Finkelstein-Schafer distance of a sample from a sorted population.
fn distance(sample: &[f64], all: &[f64]) -> f64 {
    let mut own = sample.to_vec();
    own.sort_by(f64::total_cmp);
    let share = |v: &[f64], x: f64| v.partition_point(|&y| y <= x) as f64 / v.len() as f64;
    all.iter().map(|&x| (share(&own, x) - share(all, x)).abs()).sum::<f64>() / all.len() as f64
}

/// The years from which each month of a typical year is taken.
pub fn typical(record: &Record, years: &[usize]) -> [usize; 12] {
    let month = months();
    std::array::from_fn(|m| {
        let of = |rows: &[Vec<f64>], y: usize| -> Vec<f64> {
            (0..DAYS)
                .filter(|&d| usize::from(month[d]) == m)
                .map(|d| rows[y][d])
                .filter(|v| v.is_finite())
                .collect()
        };
        let pooled = |rows: &[Vec<f64>]| {
            let mut all: Vec<f64> = years.iter().flat_map(|&y| of(rows, y)).collect();
            all.sort_by(f64::total_cmp);
            all
        };
        let (light, air) = (pooled(&record.index), pooled(&record.air_c));
        let mut ranked: Vec<(f64, usize)> = years
            .iter()
            .map(|&y| {
                let mut fs = 12.0 * distance(&of(&record.index, y), &light);
                let own = of(&record.air_c, y);
                if own.len() > 20 && !air.is_empty() {
                    fs += 6.0 * distance(&own, &air);
                }
                (fs, y)
            })
            .collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
        let middle = |v: &[f64]| {
            let mut v = v.to_vec();
            v.sort_by(f64::total_cmp);
            (v.iter().sum::<f64>() / v.len() as f64, v[v.len() / 2])
        };
        let (mean, median) = middle(&light);
        let off = |y: usize| {
            let (a, b) = middle(&of(&record.index, y));
            (a - mean).abs() + (b - median).abs()
        };
        ranked.truncate(5);
        ranked.iter().min_by(|a, b| off(a.1).total_cmp(&off(b.1))).expect("a year").1
    })
}

/// A pool of one typical year.
pub fn pool_of(record: &Record, from: &[usize; 12]) -> DonorPool {
    let month = months();
    let donors = (0..DAYS)
        .map(|d| {
            let y = from[usize::from(month[d])];
            let air_c = record.air_c[y][d];
            Donor {
                file: 0,
                day_of_year: d as u16,
                index: record.index[y][d],
                air_c: if air_c.is_finite() { air_c } else { 10.0 },
                wind_m_s: 2.0,
            }
        })
        .collect();
    DonorPool::from_daily(donors, record.clear_wh_m2.clone())
}
