//! Makes years from a climate.

use super::climate::Climate;
use super::days::InventedDay;
use super::draws::Draws;
use super::hours::HourSun;
use super::{air, days, hours};
use crate::seed::{Purpose, stream};
use crate::weather::file::formats::plain_write;
use crate::weather::file::year::{Hour, TypicalYear, YearKind};
use std::io::Write;
use std::path::{Path, PathBuf};

/// A typical year of hours that reproduces the climate's monthly means: irradiation and
/// temperature within 1 %, wind and rain likewise. The same seed gives the same bytes.
pub fn year(climate: &Climate, seed: u64) -> TypicalYear {
    years(climate, seed, 1).swap_remove(0)
}

/// Several years, to be used as one pool: together they have the climate's monthly means, and they differ as the years of such
/// a place do. One alone is a typical year.
pub fn years(climate: &Climate, seed: u64, count: usize) -> Vec<TypicalYear> {
    let sun = hours::sun_of_year(&climate.place);
    let suns = days::days_of(&sun);
    let drawn = days::of_years(climate, &suns, seed, count);
    let clearness: Vec<Vec<Option<f64>>> = drawn
        .iter()
        .map(|year| {
            let of = |(day, sun): (&InventedDay, &days::DaySun)| {
                (sun.extraterrestrial_wh_m2 > 0.0).then(|| day.wh_m2 / sun.extraterrestrial_wh_m2)
            };
            year.iter().zip(&suns).map(of).collect()
        })
        .collect();
    let mut air_c: Vec<Vec<f64>> = drawn
        .iter()
        .zip(&clearness)
        .map(|(year, clearness)| {
            let means: Vec<f64> = year.iter().map(|day| day.air_c).collect();
            air::temperature(&means, clearness, climate.setting, &sun)
        })
        .collect();
    air::shift_to_means(&mut air_c, &climate.air_c);
    (0..count)
        .map(|i| {
            let luck = Luck { seed, year: i as u64 };
            let origin = format!(
                "synthesised by stilldays invent (seed {seed}{}) from twelve monthly means of {}: {}",
                if count == 1 { String::new() } else { format!(", year {} of {count}", i + 1) },
                climate.title,
                climate.origin
            );
            TypicalYear {
                path: PathBuf::new(),
                sha256: String::new(),
                format: "plain CSV",
                origin,
                invented: true,
                kind: if count == 1 { YearKind::Typical } else { YearKind::Real },
                place: climate.place,
                hours: hours_of(climate, &sun, &clearness[i], &air_c[i], &luck),
                closure: None,
                // An average sky; fitted when the file is read.
                turbidity: [3.0; 12],
                warnings: Vec::new(),
            }
        })
        .collect()
}

/// Which random numbers a year gets.
struct Luck {
    seed: u64,
    year: u64,
}

/// The hours of one year.
fn hours_of(
    climate: &Climate,
    sun: &[HourSun],
    clearness: &air::Clearness,
    air_c: &[f64],
    luck: &Luck,
) -> Vec<Option<Hour>> {
    let rng_for = |what: Draws| stream(luck.seed, Purpose::Invent, what as u64, luck.year);
    let mut rng = rng_for(Draws::Hours);
    let mut noise = hours::HourlyNoise::new(&mut rng);
    let ghi: Vec<f64> = sun
        .chunks(24)
        .zip(clearness)
        .flat_map(|(day, k)| hours::hours_of_day(day, k.unwrap_or(0.0), &mut noise, &mut rng))
        .collect();
    let humidity = air::humidity(air_c, clearness);
    let wind = air::wind(&climate.wind_m_s, &mut rng_for(Draws::Wind));
    let rain = climate.rain_mm.map(|mm| air::rain(&mm, clearness, &mut rng_for(Draws::Rain)));
    (0..sun.len())
        .map(|i| {
            let (dni, dhi) = hours::split(ghi[i], &sun[i], climate.place.elevation_m);
            Some(Hour {
                ghi_w_m2: tenths(ghi[i]),
                dni_w_m2: tenths(dni),
                dhi_w_m2: tenths(dhi),
                air_c: tenths(air_c[i]),
                humidity: rounded(humidity[i], 100.0),
                wind_m_s: tenths(wind[i]),
                sky_cover: None,
                rain_mm: rain.as_ref().map(|r| rounded(r[i], 100.0)),
            })
        })
        .collect()
}

/// Rounded to what the file shows, so that the year in memory and the year read back are one.
fn tenths(v: f64) -> f64 {
    rounded(v, 10.0)
}

fn rounded(v: f64, per_unit: f64) -> f64 {
    (v * per_unit).round() / per_unit
}

/// The file of a year: our plain CSV, gzipped if the file's name ends so. The same year gives the same
/// bytes.
pub fn file_bytes(year: &TypicalYear, name: &Path) -> Vec<u8> {
    let text = plain_write::write(year);
    if name.extension().is_none_or(|e| !e.eq_ignore_ascii_case("gz")) {
        return text;
    }
    let mut gz = flate2::GzBuilder::new().mtime(0).write(Vec::new(), flate2::Compression::best());
    // Writing to memory cannot fail.
    let _ = gz.write_all(&text);
    gz.finish().unwrap_or_default()
}
