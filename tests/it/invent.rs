//! A typical year made up from twelve monthly means.

use std::path::Path;
use stilldays::weather::invent::{Climate, STARTER, parse, read, year};
use stilldays::weather::{Hour, TypicalYear, load};

const MONTH_DAYS: [usize; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

fn climate() -> Climate {
    parse("starter.toml", STARTER).unwrap_or_else(|p| panic!("{p}"))
}

fn monthly(year: &TypicalYear, of: impl Fn(&Hour) -> f64) -> Vec<f64> {
    let hours: Vec<f64> = year.hours.iter().map(|h| of(h.as_ref().unwrap())).collect();
    let mut first = 0;
    MONTH_DAYS
        .iter()
        .map(|days| {
            let sum: f64 = hours[first..first + 24 * days].iter().sum();
            first += 24 * days;
            sum / *days as f64
        })
        .collect()
}

#[test]
fn the_year_has_the_months_it_was_made_from() {
    let high_north = {
        let mut c = climate();
        c.place.latitude_deg = 63.0;
        c.insolation_kwh_m2 = [0.08, 0.5, 1.6, 3.2, 4.7, 5.2, 4.9, 3.6, 2.1, 0.8, 0.17, 0.03];
        c
    };
    let mut worst = [0f64; 4];
    for (climate, seed) in [(climate(), 1), (climate(), 2), (high_north, 1)] {
        let year = year(&climate, seed);
        assert!(year.invented && year.hours.len() == 8760);
        let ghi = monthly(&year, |h| h.ghi_w_m2);
        let air = monthly(&year, |h| h.air_c);
        let wind = monthly(&year, |h| h.wind_m_s);
        let rain = monthly(&year, |h| h.rain_mm.unwrap());
        for m in 0..12 {
            let rain_asked = climate.rain_mm.unwrap()[m] / MONTH_DAYS[m] as f64;
            let errors = [
                ghi[m] / 1000.0 / climate.insolation_kwh_m2[m] - 1.0,
                air[m] / 24.0 - climate.air_c[m],
                wind[m] / 24.0 / climate.wind_m_s[m] - 1.0,
                rain[m] / rain_asked - 1.0,
            ];
            for (w, e) in worst.iter_mut().zip(errors) {
                *w = w.max(e.abs());
            }
        }
    }
    println!(
        "largest error: ghi {:.1e}, air {:.1e} °C, wind {:.1e}, rain {:.1e}",
        worst[0], worst[1], worst[2], worst[3]
    );
    assert!(worst[0] < 0.01 && worst[1] < 0.02 && worst[2] < 0.01 && worst[3] < 0.01, "{worst:?}");
}

#[test]
fn hours_are_possible_and_close() {
    let year = year(&climate(), 1);
    for (i, h) in year.hours.iter().enumerate() {
        let h = h.unwrap();
        assert!(h.dhi_w_m2 >= 0.0 && h.dhi_w_m2 <= h.ghi_w_m2 + 0.1, "hour {i}: {h:?}");
        assert!(h.ghi_w_m2 <= 1200.0 && h.dni_w_m2 <= 1100.0, "hour {i}: {h:?}");
        assert!(
            (0.05..=1.0).contains(&h.humidity) && h.wind_m_s >= 0.0 && h.air_c.abs() < 50.0,
            "hour {i}: {h:?}"
        );
    }
    // Midnight is dark, and the light of a day is spread about noon.
    assert!(year.hours.iter().step_by(24).all(|h| h.unwrap().ghi_w_m2 == 0.0));
}

#[test]
fn the_same_seed_gives_the_same_year_and_another_another() {
    let sum = |seed| {
        let y = year(&climate(), seed);
        (y.dni_kwh_m2(), y.hours.iter().flatten().map(|h| h.air_c + h.wind_m_s).sum::<f64>())
    };
    assert_eq!(sum(1), sum(1));
    assert_ne!(sum(1), sum(2));
    // A change here is value-breaking: say so in CHANGELOG.md.
    let (dni, rest) = sum(1);
    assert_eq!(format!("{dni:.3} {rest:.1}"), "1255.852 116057.6");
}

/// The weather of the demo is what the command makes from the climate file next to it with the default seed.
#[test]
fn the_demo_weather_is_made_by_the_command() {
    for name in ["fenholm", "ochre-rise", "marrowdale"] {
        let climate = read(Path::new(&format!("weather/{name}.toml"))).unwrap_or_else(|p| panic!("{p}"));
        let stored = load(Path::new(&format!("weather/{name}.csv.gz"))).unwrap_or_else(|p| panic!("{p}"));
        let made = year(&climate, 1);
        assert!(stored.invented && stored.origin == made.origin, "{}", stored.origin);
        assert_eq!(stored.hours, made.hours, "{name}: run `stilldays invent` again");
        println!("{name}: GHI {:.0}, DNI {:.0} kWh/m²", stored.ghi_kwh_m2(), stored.dni_kwh_m2());
    }
}
