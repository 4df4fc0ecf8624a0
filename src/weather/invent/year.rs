//! Makes a typical year from a climate.

use super::climate::Climate;
use super::{air, days, hours};
use crate::seed::{Purpose, stream};
use crate::weather::file::formats::plain_write;
use crate::weather::file::year::{Hour, TypicalYear, YearKind};
use std::io::Write;
use std::path::{Path, PathBuf};

/// What a random stream is for, so that a change in one quantity shifts no other.
#[derive(Clone, Copy)]
enum Draws {
    Days,
    Hours,
    Air,
    Wind,
    Rain,
}

/// A typical year of hours that reproduces the climate's monthly means: irradiation and
/// temperature within 1 %, wind and rain likewise. The same seed gives the same bytes.
pub fn year(climate: &Climate, seed: u64) -> TypicalYear {
    let rng_for = |what: Draws| stream(seed, Purpose::Invent, what as u64, 0);
    let sun = hours::sun_of_year(&climate.place);
    let suns = days::days_of(&sun);
    let wh = days::irradiation(&climate.insolation_kwh_m2, &suns, &mut rng_for(Draws::Days));
    let clearness: Vec<Option<f64>> = wh
        .iter()
        .zip(&suns)
        .map(|(wh, d)| (d.extraterrestrial_wh_m2 > 0.0).then(|| wh / d.extraterrestrial_wh_m2))
        .collect();

    let mut rng = rng_for(Draws::Hours);
    let mut noise = hours::HourlyNoise::new(&mut rng);
    let ghi: Vec<f64> = sun
        .chunks(24)
        .zip(&clearness)
        .flat_map(|(day, k)| hours::hours_of_day(day, k.unwrap_or(0.0), &mut noise, &mut rng))
        .collect();
    let air_c = air::temperature(climate, &clearness, &sun, &mut rng_for(Draws::Air));
    let humidity = air::humidity(&air_c, &clearness);
    let wind = air::wind(&climate.wind_m_s, &mut rng_for(Draws::Wind));
    let rain = climate.rain_mm.map(|mm| air::rain(&mm, &clearness, &mut rng_for(Draws::Rain)));

    let hours = (0..sun.len())
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
        .collect();
    TypicalYear {
        path: PathBuf::new(),
        sha256: String::new(),
        format: "plain CSV",
        origin: format!(
            "synthesised by stilldays invent (seed {seed}) from twelve monthly means of {}: {}",
            climate.title, climate.origin
        ),
        invented: true,
        kind: YearKind::Typical,
        place: climate.place,
        hours,
        closure: None,
        // An average sky; fitted when the file is read.
        turbidity: [3.0; 12],
        warnings: Vec::new(),
    }
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
