//! The temperature of a basin's water, and its ice, against an ODE solver and closed forms.

use crate::check_file::Check;
use stilldays::plant::single_unit::{WaterHour, ice_after, water_hour, water_nearing};

#[test]
fn an_hour_of_open_water() {
    let over = |l: &crate::check_file::Line<'_>| WaterHour {
        air_c: l.number("Ta"),
        humidity: l.number("rh"),
        wind_m_s: l.number("u_ms"),
        sun_w_m2: l.number("G"),
        sky_w_m2: l.number("Ld"),
    };
    let ours = |l: crate::check_file::Line<'_>| water_hour(l.number("Tw0"), l.number("depth_m"), &over(&l));
    let mut same = Check::open("computed/09f_water_hour.csv").part("same form");
    same.compare(|l| vec![("step".to_owned(), ours(l).0 - l.number("T_own"))]);
    same.report(1e-3, "K");
    let mut solver = Check::open("computed/09f_water_hour.csv").part("solver");
    solver.compare(|l| vec![("solver".to_owned(), ours(l).0 - l.number("T_numeric"))]);
    solver.report(0.02, "K");
    let mut wet = Check::open("computed/09f_water_hour.csv").part("wet bulb");
    wet.compare(|l| vec![("wet bulb".to_owned(), ours(l).1 - l.number("wet_bulb"))]);
    wet.report(1e-3, "K");
}

#[test]
fn a_daily_wave() {
    let mut check = Check::open("computed/09g_water_sine.csv");
    check.compare(|l| {
        let (swing, k, depth_m) = (l.number("A_K"), l.number("K"), l.number("depth_m"));
        let mut water_c = 12.0;
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for hour in 0..24 * 30 {
            let middle = (f64::from(hour) + 0.5) / 24.0 * std::f64::consts::TAU;
            water_c = water_nearing(water_c, 12.0 + swing * libm::sin(middle), k, depth_m, 1.0);
            if hour >= 24 * 29 {
                (low, high) = (low.min(water_c), high.max(water_c));
            }
        }
        let stated = l.number("step_amplitude_K");
        vec![(format!("{depth_m} m"), (0.5 * (high - low) - stated) / stated)]
    });
    check.report(0.01, "of the amplitude");
}

#[test]
fn ice_under_even_frost() {
    let mut check = Check::open("computed/09h_ice_growth.csv");
    check.compare(|l| {
        let (air_c, h, days) = (l.number("Ta_C"), l.number("h_Wm2K"), l.number("days"));
        let at_once = ice_after(0.0, air_c, h, 24.0 * days);
        let mut hourly = 0.0;
        for _ in 0..(24.0 * days) as u32 {
            hourly = ice_after(hourly, air_c, h, 1.0);
        }
        let stated = l.number("closed_m");
        vec![("at once".to_owned(), at_once - stated), ("by the hour".to_owned(), hourly - stated)]
    });
    check.report(1e-6, "m");
}
