//! A summary and three traces with invented values, plausible in size and consistent where a
//! report relies on it. Nothing here is a measurement or a claim about any place.

use std::collections::BTreeMap;
use stilldays::tally::InputRange;
use stilldays::tally::Summary;
use stilldays::tally::summary::*;
use stilldays::tally::verdict::{PartVerdict, WishVerdict};
use stilldays::tally::{Meets, WishPart};
use stilldays::weather::input::InputKind;

const TRIALS: u64 = 2000;

/// A build with a battery and a light-seeking mount, April to October.
pub fn with_battery() -> Summary {
    let still = [3.6, 2.1, 1.0, 0.7, 1.2, 2.4, 5.1];
    let sun = [3.9, 5.0, 5.5, 5.4, 4.6, 3.3, 1.9];
    let days = [30, 31, 30, 31, 31, 30, 31];
    let dusk = [48.0, 71.0, 84.0, 82.0, 66.0, 41.0, 18.0];
    let months: Vec<Month> =
        (0..7).map(|i| month(4 + i as u8, days[i], still[i], sun[i], Some(dusk[i]))).collect();
    let mut causes = BTreeMap::new();
    for m in &months {
        for (k, v) in &m.causes_min {
            *causes.entry(k.clone()).or_insert(0.0) += v;
        }
    }
    let wanted: f64 = months.iter().map(|m| m.wanted_min).sum();
    let missing: f64 = causes.values().sum();
    Summary {
        schema: SCHEMA.to_owned(),
        run: run_info(),
        design: design(),
        weather: weather(),
        weather_input: Some(weather_input()),
        season: Season {
            from: "04-01".to_owned(),
            to: "10-31".to_owned(),
            days: 214,
            wanted_min: wanted,
            jet_min: est(wanted - missing, 120.0),
            still_days: count(16.1, 4.2, 60),
            still_days_per_month: est(2.29, 0.013),
            worst_month: count(6.3, 2.6, 32),
            short_days: count(38.4, 6.5, 80),
            dusk_run_min: Some(minutes(60.0)),
            longest_still_spell: count(3.8, 1.6, 32),
            causes_min_95: around(&causes, 0.02),
            causes_min: causes,
            bearable_years: est(0.31, 0.0103),
            bearable_years_95: Some([0.29, 0.33]),
            bearable_still_days: 4.0,
            wish_dusk_run_min: 60.0,
            wish: verdict(),
        },
        months,
        battery: Some(battery()),
        panel_surface: None,
        hours: hours(),
        water: water(),
        wear: wear(),
        shares: vec![
            share("weather", 0.52, 0.02, 0.18),
            share("pump.bench", 0.21, 0.02, 0.33),
            share("battery.capacity", 0.14, 0.02, 0.41),
            share("panel.rated_power", 0.09, 0.02, 0.05),
            share("electronics.standby", 0.01, 0.02, 0.01),
        ],
        shares_total: None,
        sizing: Some(sizing()),
        ledger: ledger(),
        sampled: (4..=10).map(|m| sampled(m, sun[usize::from(m) - 4])).collect(),
        inputs: inputs(),
        warnings: vec![
            "row 4123 of the weather file has more beam than the clear sky allows; it is used as it stands".to_owned(),
        ],
        cautions: vec![
            "Lithium cells must not be charged below 0 °C: use a battery board that refuses to, and check that it does."
                .to_owned(),
            "Water and electricity: keep joints out of the basin, fuse the battery, and follow the local code.".to_owned(),
        ],
    }
}

fn run_info() -> RunInfo {
    RunInfo {
        trials: TRIALS,
        days: 488_000,
        seed: 7,
        version: "0.1.0".to_owned(),
        command: "stilldays run scenarios/bell.toml --trials 2000 --seed 7".to_owned(),
    }
}

fn water() -> WaterUse {
    WaterUse {
        litres_per_week: est(23.4, 0.11),
        litres_per_week_spread: spread(),
        evaporated_l_per_week: 15.2,
        evaporated_l_per_week_95: Some([15.0, 15.4]),
        drifted_l_per_week: 8.2,
        drifted_l_per_week_95: Some([8.0, 8.4]),
        intake_iced_h_per_year: None,
        full_basin: Some(full_basin()),
    }
}

fn weather() -> WeatherId {
    WeatherId {
        file: "weather/fenholm.csv".to_owned(),
        files: vec!["weather/fenholm.csv".to_owned()],
        sha256: "91c0".repeat(16),
        origin: "invented climate, made by `stilldays invent`".to_owned(),
        invented: true,
        latitude_deg: 55.2,
        longitude_deg: 9.4,
        elevation_m: 12.0,
        utc_offset_h: 1.0,
        ghi_kwh_m2: 1003.4,
        dni_kwh_m2: 1010.2,
        closure_offset_min: Some(-2.0),
        closure_rms_w_m2: Some(11.3),
        turbidity: vec![2.4, 2.6, 2.9, 3.1, 3.3, 3.5, 3.6, 3.6, 3.3, 2.9, 2.5, 2.4],
    }
}

fn wear() -> Wear {
    Wear {
        pump_h_per_year: est(1630.0, 9.0),
        pump_life_years: Some(4.9),
        pump_life_years_95: Some([4.85, 4.95]),
        mount_moves_per_day: Some(46.0),
        mount_moves_per_day_95: Some([45.6, 46.4]),
        mount_travel_deg_per_day: Some(420.0),
        mount_travel_deg_per_day_95: Some([416.0, 424.0]),
        motor_wh_per_day: Some(0.31),
        motor_wh_per_day_95: Some([0.305, 0.315]),
        flows_wh_per_day_95: BTreeMap::new(),
        flows_wh_per_day: [
            ("panel", 21.3),
            ("pump", 14.2),
            ("motors", 0.31),
            ("standby", 1.1),
            ("diode", 1.0),
            ("charger", 2.3),
            ("battery", 2.4),
        ]
        .map(|(k, v)| (k.to_owned(), v))
        .into(),
    }
}

fn design() -> DesignId {
    DesignId {
        title: "Courtyard bell jet (invented)".to_owned(),
        file: "scenarios/bell.toml".to_owned(),
        sha256: "3f7a".repeat(16),
        price: Some(84.5),
        currency: Some("EUR".to_owned()),
    }
}

fn inputs() -> Vec<Input> {
    vec![
        input("panel.rated_power", "10 W ± 5 %", "given"),
        input("panel.open_circuit_voltage", "10.8 V", "given"),
        input("battery.capacity", "3 Ah ± 10 %", "given"),
        input("battery.chemistry", "lithium iron phosphate", "given"),
        input("electronics.standby", "8 mA", "default"),
        input("mount.kind", "light-seeking", "given"),
        input("wish.hours", "sunrise + 30 min to sunset + 2 h", "given"),
        input("water.area", "0.28 m²", "default"),
    ]
}

fn ledger() -> Ledger {
    Ledger {
        worst_residual_wh: 3.1e-5,
        worst_relative: 6.2e-7,
        worst_charge_residual_ah: 4.0e-8,
        worst_water_residual_l: 6.0e-8,
        worst_over_label_wh: 0.0,
    }
}

fn sizing() -> Sizing {
    Sizing {
        load_wh_day: 17.8,
        array_wh_day_worst_month: 11.0,
        worst_month: 10,
        array_to_load: 0.62,
        c_a: 0.71,
        c_s: Some(1.06),
        days_of_autonomy: Some(1.06),
        loss_of_load: Some(est(0.223, 0.0011)),
    }
}

/// The same place without a battery; there is hardly any dusk run.
pub fn without_battery() -> Summary {
    let mut s = with_battery();
    s.design.title = "Sill jet without a battery (invented)".to_owned();
    s.battery = None;
    s.shares.clear();
    s.sizing = None;
    s.warnings.clear();
    let evenings = zero_minutes();
    s.season.dusk_run_min = Some(evenings.clone());
    for m in &mut s.months {
        m.dusk_run_min = Some(evenings.clone());
    }
    s
}

/// A build that never stands still, one trial only: no errors can be given.
pub fn never_still() -> Summary {
    let mut s = with_battery();
    s.run.trials = 1;
    s.season.still_days = certain(0, 60);
    s.season.still_days_per_month = Estimate { interval_95: Some([0.0, 0.98]), ..Estimate::alone(0.0) };
    s.season.worst_month = certain(0, 32);
    s.season.bearable_years = Estimate { interval_95: Some([0.025, 1.0]), ..Estimate::alone(1.0) };
    s.season.causes_min.clear();
    for m in &mut s.months {
        m.still_days = certain(0, 32);
        m.still_days_by_cause.clear();
        m.causes_min.clear();
    }
    s
}

fn est(mean: f64, se: f64) -> Estimate {
    Estimate::new(mean, Some(se))
}

fn input(key: &str, value: &str, origin: &str) -> Input {
    Input { key: key.to_owned(), value: value.to_owned(), origin: origin.to_owned() }
}

fn share(key: &str, still: f64, se: f64, dusk: f64) -> Share {
    Share { key: key.to_owned(), still_days: Some(est(still, se)), dusk_run: Some(est(dusk, se)) }
}

fn sampled(month: u8, sun: f64) -> SampledMonth {
    SampledMonth {
        month,
        file_ghi_kwh_m2_day: Some(sun),
        sampled_ghi_kwh_m2_day: est(sun * 1.004, 0.004),
        sampled_cov: Some(0.09),
        sampled_cov_95: Some([0.088, 0.092]),
    }
}

/// A histogram shaped like a bell over 0..n, and what follows from it.
fn count(mean: f64, sd: f64, n: usize) -> DayCount {
    let weights: Vec<f64> =
        (0..n).map(|k| libm::exp(-0.5 * ((k as f64 - mean) / sd) * ((k as f64 - mean) / sd))).collect();
    let total: f64 = weights.iter().sum();
    let mut histogram: Vec<u64> =
        weights.iter().map(|w| (w / total * TRIALS as f64).round() as u64).collect();
    let so_far: u64 = histogram.iter().sum();
    let top = mean as usize;
    histogram[top] = histogram[top] + TRIALS - so_far;
    from_histogram(histogram)
}

fn certain(value: usize, n: usize) -> DayCount {
    let mut histogram = vec![0; n];
    histogram[value] = 1;
    from_histogram(histogram)
}

fn from_histogram(histogram: Vec<u64>) -> DayCount {
    DayCount::of(&histogram, histogram.len() - 1).expect("trials")
}

/// Intervals of so much of each mean to either side.
fn around(means: &BTreeMap<String, f64>, share: f64) -> BTreeMap<String, [f64; 2]> {
    means.iter().map(|(k, v)| (k.clone(), [v * (1.0 - share), v * (1.0 + share)])).collect()
}

fn minutes(median: f64) -> Minutes {
    let step = 5.0;
    let histogram: Vec<u64> = (0..37)
        .map(|k| {
            let x = (k as f64 * step - median) / 30.0;
            let bell = 900.0 * libm::exp(-0.5 * x * x);
            if k == 0 { (bell + 1500.0 * 20.0 / (median + 20.0)) as u64 } else { bell as u64 }
        })
        .collect();
    let n: u64 = histogram.iter().sum();
    let above = histogram.iter().skip(12).sum::<u64>() as f64 / n as f64;
    Minutes {
        mean: median * 0.96,
        se: Some(0.32),
        mean_95: [median * 0.96 - 0.64, median * 0.96 + 0.64],
        p10: (median * 0.2).round(),
        p50: median,
        p90: median * 1.7,
        p10_95: [(median * 0.2).round(), (median * 0.2).round() + 1.0],
        p50_95: [median - 1.0, median + 1.0],
        p90_95: [median * 1.7 - 1.0, median * 1.7 + 1.0],
        meets_wish: above,
        meets_wish_se: Some(0.004),
        meets_wish_95: [above - 0.008, above + 0.008],
        cut_by_hours: 0.12,
        cut_by_hours_se: Some(0.004),
        cut_by_hours_95: [0.112, 0.128],
        step_min: step,
        histogram,
    }
}

fn zero_minutes() -> Minutes {
    let mut histogram = vec![0; 37];
    histogram[0] = 5000;
    histogram[1] = 40;
    Minutes {
        mean: 0.02,
        se: Some(0.001),
        mean_95: [0.018, 0.022],
        p10: 0.0,
        p50: 0.0,
        p90: 0.0,
        p10_95: [0.0, 0.0],
        p50_95: [0.0, 0.0],
        p90_95: [0.0, 0.0],
        meets_wish: 0.0,
        meets_wish_se: Some(0.0),
        meets_wish_95: [0.0, 0.0001],
        cut_by_hours: 0.0,
        cut_by_hours_se: Some(0.0),
        cut_by_hours_95: [0.0, 0.0001],
        step_min: 5.0,
        histogram,
    }
}

fn month(number: u8, days: u32, still: f64, sun: f64, dusk: Option<f64>) -> Month {
    let wanted = f64::from(days) * (700.0 + 40.0 * sun);
    let missing = wanted * 0.9 / (1.0 + sun);
    let split = [
        ("battery_flat", 0.46),
        ("too_little_sun", 0.3),
        ("behind_skyline", 0.14),
        ("jet_too_low", 0.07),
        ("mount_starved", 0.03),
    ];
    let of = |total: f64| split.iter().map(|(k, s)| ((*k).to_owned(), s * total)).collect::<BTreeMap<_, _>>();
    let still_days = count(still, 1.0 + still * 0.4, 32);
    Month {
        month: number,
        days,
        wanted_min: wanted,
        jet_min: est(wanted - missing, 30.0),
        still_days_by_cause_95: around(&of(still_days.mean), 0.05),
        still_days_by_cause: of(still_days.mean),
        still_days,
        short_days: count(still * 1.9 + 1.0, 2.0, 32),
        dusk_run_min: dusk.map(minutes),
        causes_min_95: around(&of(missing), 0.03),
        causes_min: of(missing),
        ghi_kwh_m2_day: sun,
        ghi_kwh_m2_day_95: Some([sun * 0.998, sun * 1.002]),
        plane_kwh_m2_day: sun * 1.22,
        plane_kwh_m2_day_95: Some([sun * 1.217, sun * 1.223]),
    }
}

fn battery() -> BatteryUse {
    let depth: Vec<u64> = (0..20)
        .map(|k| (40_000.0 * libm::exp(-0.5 * ((k as f64 - 8.0) / 4.0) * ((k as f64 - 8.0) / 4.0))) as u64)
        .collect();
    let cycles: Vec<f64> = (0..20)
        .map(|k| {
            if k < 3 {
                240.0 / (1.0 + k as f64)
            } else {
                34.0 * libm::exp(-0.5 * ((k as f64 - 9.0) / 4.0) * ((k as f64 - 9.0) / 4.0))
            }
        })
        .collect();
    BatteryUse {
        daily_depth: ShareSpread {
            p10: 0.18,
            p50: 0.41,
            p90: 0.72,
            p10_95: [0.17, 0.19],
            p50_95: [0.4, 0.42],
            p90_95: [0.71, 0.73],
            histogram: depth,
        },
        cycles_per_year: cycles.iter().sum(),
        cycles_per_year_95: Some([cycles.iter().sum::<f64>() - 1.0, cycles.iter().sum::<f64>() + 1.0]),
        equivalent_full_cycles_per_year: est(88.2, 0.24),
        cycle_depth_histogram_95: cycles.iter().map(|c| [0.97 * c, 1.03 * c]).collect(),
        cycle_depth_histogram: cycles,
        life_used_per_year: est(0.061, 0.0002),
        life: Some(BatteryLife {
            p10: 7.1,
            p50: 9.6,
            p90: 12.5,
            p10_95: [6.8, 7.4],
            p50_95: [9.4, 9.8],
            p90_95: [12.1, 12.9],
            by_cycles: est(0.38, 0.002),
        }),
        empty_days_per_year: est(0.4, 0.02),
        life_ends_by: Some(LifeEnd::Calendar),
        weeks: (0..31)
            .map(|w| {
                let x = f64::from(w) / 30.0;
                let mid = 0.55 + 0.35 * libm::sin(3.1 * x) - 0.12 * x;
                WeekCharge {
                    day_of_year: 90 + 7 * w as u16,
                    sunset_p10: mid - 0.28,
                    sunset_p50: mid,
                    sunset_p90: (mid + 0.12).min(1.0),
                    low_p10: (mid - 0.5).max(0.05),
                    low_p50: (mid - 0.32).max(0.08),
                    low_p90: mid - 0.18,
                    sunset_95: [mid - 0.28, mid, (mid + 0.12).min(1.0)]
                        .map(|q| [q - 0.02, (q + 0.02).min(1.0)]),
                    low_95: [(mid - 0.5).max(0.05), (mid - 0.32).max(0.08), mid - 0.18]
                        .map(|q| [q - 0.02, q + 0.02]),
                }
            })
            .collect(),
        spilled_ah_per_day: 0.21,
        spilled_ah_per_day_95: Some([0.206, 0.214]),
        too_cold_h_per_year: 3.4,
        too_cold_h_per_year_95: Some([3.2, 3.6]),
    }
}

fn hours() -> HourMap {
    let rows = (0..31_u16)
        .map(|r| {
            let x = f64::from(r) / 30.0;
            let up = libm::sin(3.0 * x + 0.35);
            let (rise, set) = (6.6 - 2.6 * up, 17.9 + 2.9 * up);
            let overlap = |h: f64, from: f64, to: f64| ((h + 1.0).min(to) - h.max(from)).clamp(0.0, 1.0);
            let wanted: Vec<f64> =
                (0..24).map(|k| overlap(f64::from(k + 2), rise + 0.5, set + 2.0)).collect();
            let jet: Vec<f64> = wanted
                .iter()
                .enumerate()
                .map(|(k, w)| {
                    let h = k as f64 + 2.5;
                    let noon = (h - 12.4) / 5.0;
                    w * (0.35 + 0.6 * up * libm::exp(-0.35 * noon * noon)).clamp(0.0, 1.0)
                })
                .collect();
            HourRow {
                day_of_year: 90 + 7 * r,
                sunrise_h: Some(rise),
                sunset_h: Some(set),
                jet_share_95: jet.iter().map(|j| [(j - 0.01).max(0.0), (j + 0.01).min(1.0)]).collect(),
                jet_share: jet,
                wanted_share: wanted,
            }
        })
        .collect();
    HourMap { days_per_row: 7, first_hour: 2, rows }
}

fn verdict() -> WishVerdict {
    let part =
        |part, meets, years_met: f64, years_met_95| PartVerdict { part, meets, years_met, years_met_95 };
    WishVerdict {
        meets: Meets::No,
        confidence: 0.9,
        years_met: 0.3,
        years_met_95: [0.28, 0.32],
        parts: vec![
            part(WishPart::StillDays, Meets::No, 0.31, [0.29, 0.33]),
            part(WishPart::DuskRun, Meets::Yes, 0.97, [0.96, 0.98]),
            part(WishPart::Water, Meets::Unsure, 0.9, [0.88, 0.92]),
        ],
        fails_most: Some(WishPart::StillDays),
        evenings: Some(0.9),
    }
}

fn spread() -> LitreSpread {
    LitreSpread {
        p10: 12.1,
        p10_95: [11.6, 12.5],
        p50: 21.8,
        p50_95: [21.1, 22.6],
        p90: 37.9,
        p90_95: [36.2, 39.4],
    }
}

fn full_basin() -> FullBasin {
    let day = |day, earliest_95, latest_95| LowWaterDay { day, earliest_95, latest_95 };
    let months = (4..=10).map(|month: u8| {
        let early = u32::from(month.abs_diff(7));
        FullBasinMonth {
            month,
            p10: day(Some(6 + early), Some(6 + early), Some(7 + early)),
            p50: day(Some(11 + early), Some(11 + early), Some(11 + early)),
            p90: day((month < 10).then_some(19), Some(18), (month < 9).then_some(20)),
        }
    });
    FullBasin { trials: 128, most_days: 60, months: months.collect(), litres_per_week: est(23.6, 0.2) }
}

fn weather_input() -> InputRange {
    InputRange {
        kind: InputKind::Typical,
        files: 1,
        coverage: 0.8,
        still_days_per_month: [1.81, 2.83],
        still_days_per_month_from_real_years: [(3, [1.9, 2.72]), (10, [2.09, 2.5])].into(),
        dusk_run_min: Some([58.0, 62.0]),
        years_met: [0.1, 0.6],
        verdict_holds: true,
    }
}
