//! Sampled minutes against a measured year of them.
//!
//! One-minute GHI and DNI of Graz, 2017 (SOLID / solar.nahwaerme.at, AEE INTEC, CC BY-SA 4.0): columns `ghi,dni,…`, one row a
//! minute from 1 January 00:00 UTC+1, empty where missing. The split of hours was calibrated on the same record, so this
//! shows that it still fits, not that it fits elsewhere. The figures it gives are in `src/weather/minutes/split.rs`.

use std::sync::Arc;
use stilldays::design::YearSpread;
use stilldays::lanes::{BLOCK, Isa};
use stilldays::sky::{Calendar, Place};
use stilldays::weather::file::turbidity::{self, FittedTo};
use stilldays::weather::file::year_sun::YearSun;
use stilldays::weather::{BlockDay, BlockKey, Hour, SampledDay, Sampler, TypicalYear, YearKind};

const GRAZ: Place =
    Place { latitude_deg: 47.0473, longitude_deg: 15.4364, elevation_m: 344.0, utc_offset_h: 1.0 };
/// Sun above 10°.
const HIGH: f64 = 0.173_648;

/// GHI and DNI of each minute of 2017; NaN where missing.
fn read() -> Vec<[f64; 2]> {
    let text = super::record("minute/graz-2017-ghi-dni-gti.csv.gz");
    let rows: Vec<[f64; 2]> = text
        .lines()
        .filter(|l| l.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == ','))
        .map(|l| {
            let mut cells = l.split(',').map(|c| c.parse().unwrap_or(f64::NAN));
            [cells.next().unwrap_or(f64::NAN), cells.next().unwrap_or(f64::NAN)]
        })
        .collect();
    assert_eq!(rows.len(), 525_600, "a row for each minute of a year");
    rows
}

/// The minutes as a year of hours; an hour lacking a minute is missing.
fn hourly(minutes: &[[f64; 2]], calendar: &Calendar) -> TypicalYear {
    let mut up = vec![0.0; 525_600];
    for day in &calendar.days {
        for (k, m) in day.minutes.iter().enumerate() {
            up[minute_of_year(calendar, usize::from(day.day_of_year), day.first + k)] = m.up;
        }
    }
    let hours = (0..8760)
        .map(|h| {
            let range = 60 * h..60 * h + 60;
            let dark = up[range.clone()].iter().all(|&u| u == 0.0);
            let mut sums = [0.0; 3];
            for (i, &[ghi, dni]) in range.clone().zip(&minutes[range]) {
                if !(dark || ghi.is_finite() && dni.is_finite()) {
                    return None;
                }
                let (ghi, dni) = if dark { (0.0, 0.0) } else { (ghi.max(0.0), dni.max(0.0)) };
                sums[0] += ghi / 60.0;
                sums[1] += dni / 60.0;
                sums[2] += (ghi - dni * up[i]).max(0.0) / 60.0;
            }
            Some(Hour {
                ghi_w_m2: sums[0],
                dni_w_m2: sums[1],
                dhi_w_m2: sums[2],
                air_c: 10.0,
                humidity: 0.7,
                wind_m_s: 2.0,
                sky_cover: None,
                rain_mm: None,
            })
        })
        .collect();
    TypicalYear {
        kind: YearKind::Real,
        path: "minute data".into(),
        sha256: String::new(),
        format: "minutes",
        origin: "measured".into(),
        invented: false,
        place: GRAZ,
        hours,
        closure: None,
        turbidity: calendar.turbidity,
        warnings: Vec::new(),
    }
}

fn minute_of_year(calendar: &Calendar, day: usize, minute: usize) -> usize {
    60 * calendar.hour_index(day, minute / 60) + minute % 60
}

/// What is compared: of one series of clear-sky indices and beam, with gaps (NaN) at night and where
/// minutes are missing.
#[derive(Default)]
struct Figures {
    steps: Vec<f64>,
    bright: usize,
    minutes: usize,
    /// Sums for the autocorrelation of the index about the mean of the day, at 1, 5, 15, 60 min.
    cross: [[f64; 2]; 4],
    /// Of the index less the hour's mean.
    sd: [f64; 2],
}
const LAGS: [usize; 4] = [1, 5, 15, 60];

impl Figures {
    fn add_day(&mut self, index: &[f64], dni: &[f64]) {
        for w in index.windows(2) {
            let step = (w[1] - w[0]).abs();
            if step.is_finite() {
                self.steps.push(step);
            }
        }
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
            let n = hour.iter().filter(|x| x.is_finite()).count();
            if n == 60 {
                let mean = hour.iter().sum::<f64>() / 60.0;
                let var = hour.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 60.0;
                self.sd[0] += var.sqrt();
                self.sd[1] += 1.0;
            }
        }
        for (_, d) in index.iter().zip(dni).filter(|(i, _)| i.is_finite()) {
            self.minutes += 1;
            self.bright += usize::from(*d > 120.0);
        }
    }
    fn report(&mut self, name: &str) -> [f64; 9] {
        self.steps.sort_by(f64::total_cmp);
        let n = self.steps.len();
        let above = |x: f64| (n - self.steps.partition_point(|&s| s <= x)) as f64 / n as f64;
        let at = |p: f64| self.steps[(p * n as f64) as usize];
        let r = self.cross.map(|c| c[0] / c[1]);
        let out = [
            above(0.1),
            above(0.3),
            at(0.95),
            at(0.99),
            self.bright as f64 / self.minutes as f64,
            r[0],
            r[1],
            r[2],
            r[3],
        ];
        println!(
            "{name:9} steps > 0.1 {:.2} %, > 0.3 {:.2} %, P95 {:.3}, P99 {:.3}, bright {:.1} %, autocorrelation {:.4} {:.4} {:.4} {:.4}, sd in hour {:.4}, median step {:.4}, P80 {:.4}",
            100.0 * out[0],
            100.0 * out[1],
            out[2],
            out[3],
            100.0 * out[4],
            out[5],
            out[6],
            out[7],
            out[8],
            self.sd[0] / self.sd[1],
            at(0.5),
            at(0.8),
        );
        out
    }
}

#[test]
#[ignore = "needs measured records: STILLDAYS_RECORDS names their folder"]
fn sampled_minutes_are_like_measured_ones() {
    let minutes = read();
    let first = Calendar::new(GRAZ, [3.5; 12]);
    let fitted = hourly(&minutes, &first);
    let sun = YearSun::new(&GRAZ);
    let turbidity =
        turbidity::fill(turbidity::by_month(&fitted.hours, &sun, GRAZ.elevation_m, -30.0, FittedTo::Dni));
    println!("turbidity {turbidity:.2?}");
    let calendar = Arc::new(Calendar::new(GRAZ, turbidity));
    let year = hourly(&minutes, &calendar);
    let sampler = Sampler::new(&[year], calendar.clone(), YearSpread::None);

    let (mut measured, mut sampled) = (Figures::default(), Figures::default());
    let mut day = BlockDay::default();
    for (i, donor) in sampler.pool().donors().iter().enumerate() {
        let date = usize::from(donor.day_of_year);
        let sun = &calendar.days[date];
        let high = |k: usize| sun.minutes[k].up > HIGH;
        let clear =
            |k: usize| sun.minutes[k].dni_clear_w_m2 * sun.minutes[k].up + sun.minutes[k].dhi_clear_w_m2;
        let n = sun.minutes.len();
        let real: Vec<[f64; 2]> =
            (0..n).map(|k| minutes[minute_of_year(&calendar, date, sun.first + k)]).collect();
        let index: Vec<f64> =
            (0..n).map(|k| if high(k) { real[k][0] / clear(k) } else { f64::NAN }).collect();
        let dni: Vec<f64> = real.iter().map(|r| r[1]).collect();
        // Hours whole: align chunks of 60 to the clock.
        let pad = vec![f64::NAN; sun.first % 60];
        measured.add_day(&[&pad[..], &index].concat(), &[&pad[..], &dni].concat());
        let key = BlockKey { seed: 1, first_trial: 0, day_index: date };
        sampler.fill(
            Isa::detect(),
            key,
            donor.day_of_year,
            [SampledDay::of_donor(sampler.pool(), i as u32); BLOCK],
            &mut day,
        );
        for lane in 0..BLOCK {
            let (dni, dhi): (Vec<f64>, Vec<f64>) = (0..n).map(|k| day.light(k, lane)).unzip();
            let index: Vec<f64> = (0..n)
                .map(|k| if high(k) { (dni[k] * sun.minutes[k].up + dhi[k]) / clear(k) } else { f64::NAN })
                .collect();
            sampled.add_day(&[&pad[..], &index].concat(), &[&pad[..], &dni].concat());
        }
    }
    let (a, b) = (measured.report("measured"), sampled.report("sampled"));
    for (i, name) in ["steps > 0.1", "steps > 0.3", "P95", "P99"].iter().enumerate() {
        assert!((b[i] / a[i] - 1.0).abs() < 0.25, "{name}: {} against {}", b[i], a[i]);
        // Another count of the same record, which does not say what minutes it kept.
        let another = [0.097, 0.030, 0.205, 0.50][i];
        assert!((b[i] / another - 1.0).abs() < 0.25, "{name}: {} against {another}", b[i]);
    }
    assert!((b[4] - a[4]).abs() < 0.03, "bright sunshine: {} against {}", b[4], a[4]);
}
