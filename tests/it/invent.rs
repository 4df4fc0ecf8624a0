//! Years made up from twelve monthly means.

use std::path::Path;
use stilldays::sky::clear::extraterrestrial_w_m2;
use stilldays::weather::file::year_sun::YearSun;
use stilldays::weather::invent::{Climate, STARTER, parse, read, year, years};
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

/// Three years together have the months' means; each by itself differs, in light and in temperature.
#[test]
fn years_of_a_pool_differ_about_the_months_means() {
    let climate = climate();
    let pool = years(&climate, 1, 3);
    let ghi: Vec<Vec<f64>> = pool.iter().map(|y| monthly(y, |h| h.ghi_w_m2)).collect();
    let air: Vec<Vec<f64>> = pool.iter().map(|y| monthly(y, |h| h.air_c)).collect();
    let (mut light, mut warmth) = (0.0, 0.0);
    for m in 0..12 {
        let mean = |of: &[Vec<f64>]| of.iter().map(|y| y[m]).sum::<f64>() / 3.0;
        let (g, t) = (mean(&ghi) / 1000.0, mean(&air) / 24.0);
        assert!((g / climate.insolation_kwh_m2[m] - 1.0).abs() < 0.01, "month {m}: {g}");
        assert!((t - climate.air_c[m]).abs() < 0.02, "month {m}: {t}");
        for y in 0..3 {
            light += (ghi[y][m] / 1000.0 / g - 1.0) * (ghi[y][m] / 1000.0 / g - 1.0) / 24.0;
            warmth += (air[y][m] / 24.0 - t) * (air[y][m] / 24.0 - t) / 24.0;
        }
    }
    let (light, warmth) = (light.sqrt(), warmth.sqrt());
    println!("between years: light of a month {light:.3}, temperature {warmth:.2} °C");
    // Records of such places: 0.10 to 0.15, and 1.5 °C. Over twelve months of three years the standard deviation itself is known to a
    // seventh (one sigma), so three sigma are given.
    assert!((0.06..0.20).contains(&light) && (0.6..2.6).contains(&warmth));
}

/// What six published typical years never have: an hour with the sun above 20° and less than 0.062 of the light above the
/// atmosphere, nor a day below 0.08 in months that are not darker themselves.
/// Tables round their means to 0.01 kWh/m²: what the polar night rounds to is taken, what no sky can give is refused with a limit that can be written.
#[test]
fn rounded_means_of_the_polar_night_are_taken() {
    let of = |latitude_deg: f64, insolation: &str| {
        let line = |key: &str| STARTER.lines().find(|l| l.starts_with(key)).unwrap().to_owned();
        let text = STARTER
            .replace(&line("latitude"), &format!("latitude = \"{latitude_deg} deg\""))
            .replace(&line("insolation"), &format!("insolation = \"{insolation} kWh/m2\""));
        parse("north.toml", &text)
    };
    let polar = "0.00 0.49 1.51 2.93 4.27 4.99 4.62 3.43 1.98 0.78 0.14 0.00";
    for latitude_deg in [66.0, 66.56, 66.6, 67.5] {
        let climate = of(latitude_deg, polar).unwrap_or_else(|p| panic!("{latitude_deg}: {p}"));
        assert!(climate.insolation_kwh_m2.iter().all(|mean| mean.is_finite() && *mean >= 0.0));
        assert_eq!(year(&climate, 1).hours.len(), 8760);
    }
    let told = of(66.0, &polar.replace("4.62", "0.00")).map(drop).unwrap_err().to_string();
    assert!(told.contains("0.00 kWh/m² a day in month 7") && !told.contains("at least 0.00"), "{told}");
}

#[test]
fn no_hour_is_darker_than_any_sky() {
    let demo = ["fenholm", "ochre-rise", "marrowdale"]
        .map(|name| read(Path::new(&format!("weather/{name}.toml"))).unwrap_or_else(|p| panic!("{p}")));
    let mut darkest: f64 = 1.0;
    for climate in demo.iter().chain([&climate()]) {
        let sun = YearSun::new(&climate.place);
        for seed in 1..=4 {
            for year in years(climate, seed, 3) {
                for (slot, hour) in year.hours.iter().enumerate() {
                    let up = sun.up(slot, -30.0);
                    if up > 0.342 {
                        let above = extraterrestrial_w_m2(slot as u32 / 24 + 1) * up;
                        darkest = darkest.min(hour.as_ref().unwrap().ghi_w_m2 / above);
                    }
                }
            }
        }
    }
    println!("darkest hour with the sun above 20°: clearness {darkest:.3}");
    assert!(darkest > 0.06, "{darkest}");
}

/// Records of 22 places: the hottest hour of decades is 6 to 22 °C above the mean of its month, the coldest 8 to 30 °C below.
#[test]
fn no_hour_is_hotter_or_colder_than_records_have_it() {
    for (climate, most) in [(climate(), 20.0), (read(Path::new("weather/fenholm.toml")).unwrap(), 18.0)] {
        for seed in 1..=2 {
            for year in years(&climate, seed, 3) {
                let mut first = 0;
                for (m, days) in MONTH_DAYS.iter().enumerate() {
                    for h in year.hours[first..first + 24 * days].iter().flatten() {
                        let off = h.air_c - climate.air_c[m];
                        assert!((-30.0..most).contains(&off), "month {m}, seed {seed}: {off}");
                    }
                    first += 24 * days;
                }
            }
        }
    }
}

/// Bright winter days are cold more often than not, but not always: where winters are cold, records have correlations of daily light and
/// temperature between -0.37 and 0.1.
#[test]
fn bright_winter_days_are_not_always_cold() {
    let climate = climate();
    let mut sums = [0.0; 5];
    let mut warm = 0;
    for year in years(&climate, 1, 20) {
        for d in (0..31).chain(334..365) {
            let hours: Vec<&Hour> = year.hours[24 * d..24 * d + 24].iter().flatten().collect();
            let light = hours.iter().map(|h| h.ghi_w_m2).sum::<f64>() / 24.0;
            let air = hours.iter().map(|h| h.air_c).sum::<f64>() / 24.0
                - climate.air_c[if d < 31 { 0 } else { 11 }];
            for (s, v) in sums.iter_mut().zip([light, air, light * light, air * air, light * air]) {
                *s += v / 1240.0;
            }
            warm += usize::from(light > 80.0 && air > 0.0);
        }
    }
    let [x, y, xx, yy, xy] = sums;
    let r = (xy - x * y) / ((xx - x * x) * (yy - y * y)).sqrt();
    println!("winter: correlation of light and temperature {r:.2}; {warm} bright and warm days of 1240");
    // One sigma of the correlation of 1240 days is 0.03, more since days follow one another: 0.06.
    assert!((-0.45..0.1).contains(&r) && warm > 30);
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
    assert_eq!(format!("{dni:.3} {rest:.1}"), "1315.868 116063.4");
}

/// The weather of the demo is what the command makes from the climate file next to it with the default seed.
#[test]
fn the_demo_weather_is_made_by_the_command() {
    for name in ["fenholm", "ochre-rise", "marrowdale"] {
        let climate = read(Path::new(&format!("weather/{name}.toml"))).unwrap_or_else(|p| panic!("{p}"));
        for (i, made) in years(&climate, 1, 3).into_iter().enumerate() {
            let file = if i == 0 {
                format!("weather/{name}.csv.gz")
            } else {
                format!("weather/{name}-{}.csv.gz", i + 1)
            };
            let stored = load(Path::new(&file)).unwrap_or_else(|p| panic!("{p}"));
            assert!(stored.invented && stored.origin == made.origin, "{}", stored.origin);
            assert_eq!(stored.hours, made.hours, "{file}: run `stilldays invent` again");
            println!("{file}: GHI {:.0}, DNI {:.0} kWh/m²", stored.ghi_kwh_m2(), stored.dni_kwh_m2());
        }
    }
}
