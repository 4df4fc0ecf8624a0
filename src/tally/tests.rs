//! Whole tallies: what days come to, merging, bytes.

use super::season_layout::LayoutDay;
use super::sizing::SizingInputs;
use super::*;
use crate::lanes::{BLOCK, Isa, RowF64};
use crate::plant::SceneDay;
use crate::plant::{Cause, DayBlock};
use crate::weather::DULL_LEVELS;
use crate::weather::input::{InputKind, WeatherInput};
use arbtest::arbitrary::{Result as Drawn, Unstructured};

/// Parts and a season's light as they are on average.
pub(super) const AVERAGE: Known<'static> = Known { unknowns_u: &[0.5, 0.5], dull_light: [0.0; DULL_LEVELS] };
const WANTED: (f64, f64) = (360.0, 1260.0);

/// April and May, 61 days, sunset at 18:00 after the start of the day, 900 wanted minutes.
pub(crate) fn layout() -> SeasonLayout {
    let days = (90..151u16)
        .map(|day_of_year| LayoutDay {
            month: if day_of_year < 120 { 3 } else { 4 },
            day_of_year,
            wanted_from: WANTED.0,
            wanted_to: WANTED.1,
            still_below: 30.0,
            short_below: 450.0,
            sunrise_min: Some(360.0),
            sunset_min: Some(1080.0),
        })
        .collect();
    SeasonLayout {
        days,
        months: vec![3, 4],
        first_hour: 2,
        unknown: vec!["battery.capacity".into(), "panel.rated_power".into()],
        weather_drawn: true,
        parts_drawn: true,
        battery: true,
        moving: false,
        still_below_min: 30.0,
        enough: 0.5,
        dusk_run_min: 60.0,
        still_days_a_month: 2.0,
        evenings_wished: Some(0.8),
        water_wished: true,
        confidence: 0.9,
        season: (90, 150),
        life: Some(CycleLife { at_full_depth: 500.0, exponent: 1.0 }),
        calendar_life_y: Some(8.0),
        usable_l: 40.0,
        pump_rated_h: None,
        sizing: SizingInputs { pump_w: 1.0, standby_w: 0.0, panel_w: 10.0, usable_wh: Some(30.0) },
    }
}

pub(super) fn scene(index: i32) -> SceneDay {
    SceneDay {
        day_of_year: (90 + index) as u16,
        month: if index < 30 { 3 } else { 4 },
        season_day: index,
        wanted_from: WANTED.0,
        wanted_to: WANTED.1,
        run_from: WANTED.0,
        run_to: WANTED.1,
        hold_to: 0.0,
        reserve_to: 0.0,
        dusk_from: WANTED.0,
        dusk_to: WANTED.1,
        taken_in: false,
        sunset_min: Some(1080.0),
        step_from: 300,
        step_to: 1300,
    }
}

/// A day with so many jet minutes, the battery going from full to `1 - depth` and back.
pub(super) fn day(jet: f64, dusk: f64, depth: f64) -> DayBlock {
    let mut d = DayBlock::new();
    d.jet_min = RowF64::splat(jet);
    d.dusk_run_min = RowF64::splat(dusk);
    d.cause_min[Cause::BatteryFlat as usize] = RowF64::splat(900.0 - jet);
    d.jet_by_hour_min[12] = RowF64::splat(jet.min(60.0));
    for (k, row) in d.soc.iter_mut().enumerate() {
        let there_and_back = if k <= 72 { k as f64 / 72.0 } else { (143 - k) as f64 / 71.0 };
        *row = RowF64::splat(1.0 - depth * there_and_back);
    }
    d.soc_low = RowF64::splat(1.0 - depth);
    d.soc_high = RowF64::splat(1.0);
    d.soc_at_sunset = RowF64::splat(0.9);
    d.ghi_wh_m2 = RowF64::splat(4000.0);
    d.evaporated_l = RowF64::splat(0.5);
    d.water_l = RowF64::splat(30.0);
    d
}

pub(super) fn meta() -> Meta {
    Meta {
        run: summary::RunInfo { trials: 0, days: 0, seed: 1, version: String::new(), command: String::new() },
        design: summary::DesignId {
            title: String::new(),
            file: String::new(),
            sha256: String::new(),
            price: None,
            currency: None,
        },
        weather: summary::WeatherId {
            file: String::new(),
            files: vec![],
            sha256: String::new(),
            origin: String::new(),
            invented: true,
            latitude_deg: 0.0,
            longitude_deg: 0.0,
            elevation_m: 0.0,
            utc_offset_h: 0.0,
            ghi_kwh_m2: 0.0,
            dni_kwh_m2: 0.0,
            closure_offset_min: None,
            closure_rms_w_m2: None,
            turbidity: vec![],
        },
        weather_input: WeatherInput { kind: InputKind::Invented, files: 1 },
        file_ghi_kwh_m2_day: [Some(4.0); 12],
        inputs: vec![],
        warnings: vec![],
        cautions: vec![],
    }
}

/// A trial whose first `still` days of April are still and whose other days run 600 min.
fn trial(layout: &SeasonLayout, still: i32) -> Trial {
    let mut t = Trial::new(layout, Isa::PLAIN);
    t.add_day(layout, &SceneDay { season_day: -1, ..scene(0) }, &day(0.0, 0.0, 1.0), 0);
    for k in 0..61 {
        let block = if k < still { day(10.0, 0.0, 0.5) } else { day(600.0, 90.0, 0.5) };
        t.add_day(layout, &scene(k), &block, (k as usize) % BLOCK);
    }
    t
}

#[test]
fn days_come_to_what_they_should() {
    let layout = layout();
    let mut tally = Tally::new(&layout);
    for still in [3, 5] {
        tally.add_trial(&layout, &trial(&layout, still), &AVERAGE);
    }
    let s = summarise(&tally, &layout, meta()).expect("some trials");
    assert_eq!((s.run.trials, s.months.len()), (2, 2));

    let april = &s.months[0];
    assert_eq!((april.month, april.days, april.wanted_min), (4, 30, 27_000.0));
    assert_eq!((april.still_days.mean, april.still_days.se), (4.0, Some(1.0)));
    assert_eq!((april.still_days.p10, april.still_days.p50, april.still_days.p90), (3.0, 3.0, 5.0));
    assert_eq!(april.still_days.at_least["3"], 1.0);
    assert_eq!(april.still_days.at_least["7"], 0.0);
    assert_eq!(april.still_days.histogram.len(), 32);
    assert_eq!(april.still_days_by_cause["battery_flat"], 4.0);
    // 4 still days of 890 min and 26 of 300.
    assert!((april.causes_min["battery_flat"] - (4.0 * 890.0 + 26.0 * 300.0)).abs() < 1e-6);
    let dusk = april.dusk_run_min.as_ref().unwrap();
    assert!((dusk.mean - 26.0 * 90.0 / 30.0).abs() < 1e-6);
    assert!((dusk.meets_wish - 26.0 / 30.0).abs() < 1e-6);
    assert_eq!((dusk.p10, dusk.p50), (0.0, 90.0));
    assert_eq!(dusk.histogram.iter().sum::<u64>(), 60);
    assert!((april.ghi_kwh_m2_day - 4.0).abs() < 1e-6);

    assert_eq!(s.months[1].still_days.mean, 0.0);
    assert_eq!((s.season.from.as_str(), s.season.to.as_str(), s.season.days), ("04-01", "05-31", 61));
    assert_eq!(s.season.still_days.mean, 4.0);
    assert!((s.season.still_days_per_month.mean - 4.0 / (61.0 * 12.0 / 365.0)).abs() < 1e-12);
    assert_eq!(s.season.longest_still_spell.mean, 4.0);
    assert_eq!(s.season.bearable_years.mean, 0.0);
    assert_eq!(s.sampled[0].sampled_cov, Some(0.0));

    // Depth 0.5 there and back every day, but the first fall and the last rise are half cycles.
    let b = s.battery.as_ref().unwrap();
    assert!((b.cycles_per_year - 61.0).abs() < 1e-6);
    assert!((b.equivalent_full_cycles_per_year.mean - 30.5).abs() < 1e-6);
    assert!((b.life_used_per_year.mean - 30.5 / 500.0).abs() < 1e-6);
    assert!((b.cycle_depth_histogram[9] - 61.0).abs() < 1e-9, "{:?}", b.cycle_depth_histogram);
    // Shares of life add up: 61 days of half depth at 500 full cycles, and a year of 8. In steps of a tenth of a year.
    let life = b.life.expect("it has a battery");
    assert_eq!((life.p10, life.p50, life.p90), (5.35, 5.35, 5.35));
    assert!((life.by_cycles.mean - 0.061 / 0.186).abs() < 1e-3, "{life:?}");
    assert_eq!((b.life_ends_by, b.empty_days_per_year.mean), (Some(super::summary::LifeEnd::Calendar), 0.0));
    assert_eq!(b.daily_depth.histogram[9], 122);
    assert_eq!((b.weeks.len(), b.weeks[0].low_p50, b.weeks[0].sunset_p50), (9, 0.5, 0.9));

    let row = &s.hours.rows[12];
    assert_eq!(
        (s.hours.first_hour, row.jet_share[12], row.wanted_share[12], row.wanted_share[5]),
        (2, 1.0, 1.0, 0.0)
    );
    assert_eq!((row.sunrise_h, row.sunset_h), (Some(8.0), Some(20.0)));
    assert!((s.water.litres_per_week.mean - 3.5).abs() < 1e-6);
    let spread = &s.water.litres_per_week_spread;
    assert!((spread.p10 - 3.5).abs() < 0.2 && (spread.p90 - 3.5).abs() < 0.2, "{spread:?}");
    // No trial was followed.
    assert!(s.water.full_basin.is_none());
    // Fewer trials than bins: no share can be told.
    assert_eq!(s.shares.len(), 3);
    assert!(s.shares.iter().all(|s| s.still_days.is_none()));
    serde_json::to_string(&s).unwrap();
}

#[test]
fn a_full_basin_lasts_as_long_as_its_losses_say() {
    // 0.5 L a day: 10 L last 20 days, and what is filled later than that outlasts the season.
    let layout = SeasonLayout { usable_l: 10.0, ..layout() };
    let mut tally = Tally::new(&layout);
    for _ in 0..3 {
        let t = trial(&layout, 3);
        assert!(!t.fell_low());
        tally.add_trial(&layout, &t, &AVERAGE);
        tally.add_full_basin(&layout, &t);
    }
    let full = summarise(&tally, &layout, meta()).and_then(|s| s.water.full_basin).expect("followed");
    assert_eq!((full.trials, full.months.len()), (3, 2));
    let april = full.months[0];
    assert_eq!([april.p10, april.p50, april.p90].map(|d| d.day), [Some(20); 3]);
    // Of May, 12 of 31 fillings are low before it ends.
    let may = full.months[1];
    assert_eq!([may.p10, may.p50, may.p90].map(|d| d.day), [Some(20), None, None]);
    assert!((full.litres_per_week.mean - 3.5).abs() < 1e-6);
    // A basin that was low says nothing.
    let mut dry = Trial::new(&layout, Isa::PLAIN);
    dry.add_day(&layout, &scene(0), &DayBlock { water_l: RowF64::splat(0.0), ..day(0.0, 0.0, 0.1) }, 0);
    assert!(dry.fell_low());
}

/// Held full, a battery's charge turns by the last digit of single precision again and again: these are no cycles.
#[test]
fn rounding_of_a_full_battery_is_no_cycle() {
    let layout = layout();
    let mut t = Trial::new(&layout, Isa::detect());
    for k in 0..61 {
        let mut block = day(600.0, 90.0, 0.5);
        for (sample, row) in block.soc.iter_mut().enumerate().take(30) {
            *row = RowF64::splat(1.0 - f64::from(f32::EPSILON) * (sample % 3) as f64);
        }
        t.add_day(&layout, &scene(k), &block, 0);
    }
    let mut tally = Tally::new(&layout);
    tally.add_trial(&layout, &t, &AVERAGE);
    let cycles = summarise(&tally, &layout, meta())
        .and_then(|s| s.battery)
        .expect("it has a battery")
        .cycle_depth_histogram;
    assert_eq!(cycles[0], 0.0, "{cycles:?}");
    assert!(cycles.iter().sum::<f64>() > 30.0, "{cycles:?}");
}

#[test]
fn a_trial_tells_its_outcome() {
    let layout = layout();
    let o = trial(&layout, 5).outcome(&layout);
    assert_eq!((o.still_days, o.worst_month_still_days), (5, 5));
    assert_eq!(
        (o.still_days_by_month[3], o.still_days_by_month[4], o.still_days_by_month[5]),
        (Some(5), Some(0), None)
    );
    assert_eq!(o.dusk_run_min, Some(56.0 * 90.0 / 61.0));
    // 61 days of half depth at 500 cycles of full depth, and 8 years on the shelf: shares add up.
    let life = o.life_years.expect("it has a battery");
    assert!((1.0 / life - (61.0 * 0.5 / 500.0 + 1.0 / 8.0)).abs() < 1e-3, "{life}");
}

#[test]
fn no_trial_has_no_numbers() {
    let layout = layout();
    let tally = Tally::new(&layout);
    assert!(summarise(&tally, &layout, meta()).is_none());
    assert!(tally.still_days_per_month().is_none());
}

#[test]
fn what_is_not_a_number_is_told() {
    let layout = layout();
    let mut t = trial(&layout, 0);
    let mut broken = day(600.0, 90.0, 0.5);
    broken.evaporated_l = RowF64::splat(f64::NAN);
    broken.residual_wh = RowF64::splat(f64::NAN);
    t.add_day(&layout, &scene(60), &broken, 0);
    let mut tally = Tally::new(&layout);
    tally.add_trial(&layout, &t, &AVERAGE);
    let s = summarise(&tally, &layout, meta()).expect("some trials");
    assert!(s.warnings[0].starts_with("1 of 1 trials"), "{:?}", s.warnings);
    assert_eq!(s.ledger.worst_residual_wh, f64::INFINITY);
}

/// Some trials of arbitrary days.
fn arbitrary_trials(layout: &SeasonLayout, u: &mut Unstructured<'_>) -> Drawn<Vec<(Trial, [f64; 2])>> {
    let count = u.int_in_range(0..=6)?;
    let mut trials = Vec::new();
    for _ in 0..count {
        let mut t = Trial::new(layout, Isa::PLAIN);
        for k in 0..u.int_in_range(0..=61)? {
            let part = |u: &mut Unstructured<'_>| Ok(f64::from(u.arbitrary::<u16>()?) / 65_535.0);
            let mut block = day(900.0 * part(u)?, 700.0 * part(u)?, part(u)?);
            block.flow_wh[0] = RowF64::splat(1e4 * part(u)? - 5e3);
            block.residual_wh = RowF64::splat(1e-9 * part(u)?);
            t.add_day(layout, &scene(k), &block, 0);
        }
        trials.push((t, [f64::from(u.arbitrary::<u8>()?) / 256.0, 0.3]));
    }
    Ok(trials)
}

fn tally_of(layout: &SeasonLayout, trials: &[(Trial, [f64; 2])]) -> Tally {
    let mut tally = Tally::new(layout);
    for (t, u) in trials {
        tally.add_trial(layout, t, &Known { unknowns_u: u, ..AVERAGE });
    }
    tally
}

#[test]
fn any_grouping_and_order_gives_the_same_bytes() {
    let layout = layout();
    arbtest::arbtest(|u| {
        let mut trials = arbitrary_trials(&layout, u)?;
        let whole = tally_of(&layout, &trials);
        let cut = if trials.is_empty() { 0 } else { u.choose_index(trials.len())? };
        let (a, b) = (tally_of(&layout, &trials[..cut]), tally_of(&layout, &trials[cut..]));
        let mut ab = a.clone();
        ab.merge(&b).unwrap();
        let mut ba = b.clone();
        ba.merge(&a).unwrap();
        trials.reverse();
        let backwards = tally_of(&layout, &trials);
        for other in [&ab, &ba, &backwards] {
            assert_eq!(other, &whole);
            assert_eq!(other.to_bytes(), whole.to_bytes());
        }
        // Nothing is added by nothing, and (a + b) + c = a + (b + c).
        let mut with_nothing = Tally::new(&layout);
        with_nothing.merge(&whole).unwrap();
        assert_eq!(with_nothing, whole);
        let (mut left, mut right) = (ab.clone(), b.clone());
        left.merge(&whole).unwrap();
        right.merge(&whole).unwrap();
        let mut a_right = a.clone();
        a_right.merge(&right).unwrap();
        assert_eq!(left.to_bytes(), a_right.to_bytes());
        Ok(())
    });
}

#[test]
fn bytes_bring_the_tally_back() {
    let layout = layout();
    arbtest::arbtest(|u| {
        let tally = tally_of(&layout, &arbitrary_trials(&layout, u)?);
        assert_eq!(Tally::from_bytes(&tally.to_bytes()).as_ref(), Ok(&tally));
        Ok(())
    });
}

#[test]
fn damaged_bytes_are_refused_and_never_panic() {
    let layout = layout();
    let mut tally = Tally::new(&layout);
    tally.add_trial(&layout, &trial(&layout, 3), &AVERAGE);
    let good = tally.to_bytes();
    arbtest::arbtest(|u| {
        let mut bytes = good.clone();
        let at = u.choose_index(bytes.len())?;
        bytes[at] ^= u.int_in_range(1..=255u8)?;
        assert!(Tally::from_bytes(&bytes).is_err());
        bytes.truncate(at);
        assert!(Tally::from_bytes(&bytes).is_err());
        // The same with a checksum that fits: whatever is read must be harmless.
        let mut forged = good.clone();
        let body = forged.len() - 32;
        for _ in 0..u.int_in_range(1..=8)? {
            let at = u.int_in_range(12..=body - 1)?;
            forged[at] = u.arbitrary()?;
        }
        let cut = u.int_in_range(0..=body)?;
        forged.truncate(if u.ratio(1, 4)? { cut } else { body });
        let sum: [u8; 32] = <sha2::Sha256 as sha2::Digest>::digest(&forged).into();
        forged.extend_from_slice(&sum);
        if let Ok(mut read) = Tally::from_bytes(&forged) {
            let _ = summarise(&read, &layout, meta());
            let _ = read.merge(&tally);
            let _ = read.merge(&read.clone());
            let _ = read.still_days_per_month();
        }
        let raw: Vec<u8> = u.arbitrary()?;
        assert!(Tally::from_bytes(&raw).is_err());
        Ok(())
    });
    assert_eq!(Tally::from_bytes(&vec![0; 5 << 20]), Err(Damage::TooLarge));
    assert_eq!(Tally::from_bytes(b"stltally\x01\0\0\0"), Err(Damage::Version(1)));
}

#[test]
fn tallies_of_other_designs_are_not_added() {
    let (one, mut other) = (layout(), layout());
    other.dusk_run_min = 61.0;
    let mut tally = Tally::new(&one);
    assert_eq!(tally.merge(&Tally::new(&other)), Err(Mismatch));
    other = layout();
    other.unknown.pop();
    assert_eq!(tally.merge(&Tally::new(&other)), Err(Mismatch));
    assert_eq!(tally.merge(&Tally::new(&layout())), Ok(()));
}

/// Shares of a linear toy: y = 6 u + 3 v + 2 w (rectangular, so the variances are as 36 : 9 : 4), w unseen.
#[test]
fn shares_of_a_linear_toy_are_exact() {
    use crate::seed::{Purpose, open_unit, stream};
    use rand::RngExt;
    let trials = 20_000;
    let mut all = Moments::default();
    let mut parts = [variance_shares::Binned::default(); 3];
    for k in 0..trials {
        let mut rng = stream(5, Purpose::Resample, k, 0);
        let (u, v, w, idle) =
            (open_unit(&mut rng), open_unit(&mut rng), open_unit(&mut rng), rng.random::<f64>());
        let y = 6.0 * u + 3.0 * v + 2.0 * w;
        all.push(y);
        for (part, draw) in parts.iter_mut().zip([u, v, idle]) {
            part.push(draw, y, None);
        }
    }
    for (part, exact) in parts.iter().zip([36.0 / 49.0, 9.0 / 49.0, 0.0]) {
        let p = part.of_still_days(&all).unwrap();
        println!("share {:.4} ± {:.4}, exact {exact:.4}", p.share, p.se);
        // Bins hide about 1 % of a share; four standard errors beside (false alarm 1 in 16,000 each).
        assert!((p.share - exact).abs() < 4.0 * p.se + 0.01 * exact);
        assert!(p.se < 0.01);
        assert_eq!(part.of_dusk_run(&Moments::default()), None);
    }
}

/// The stated error of a share is its true one: 200 repetitions of 500 trials.
#[test]
fn the_error_of_a_share_is_what_it_says() {
    use crate::seed::{Purpose, stream};
    use rand_distr::{Distribution, StandardNormal};
    let (mut found, mut stated) = (Moments::default(), 0.0);
    for repetition in 0..200u64 {
        let (mut all, mut part) = (Moments::default(), variance_shares::Binned::default());
        for k in 0..500 {
            let mut rng = stream(6, Purpose::Resample, repetition, k);
            let z: [f64; 2] = std::array::from_fn(|_| StandardNormal.sample(&mut rng));
            let u = 0.5 * statrs::function::erf::erfc(-z[0] / std::f64::consts::SQRT_2);
            let y = 100.0 + z[0] + z[1];
            all.push(y);
            part.push(u, y, None);
        }
        let p = part.of_still_days(&all).unwrap();
        found.push(p.share);
        stated += p.se / 200.0;
    }
    let (mean, sd) = (found.mean().unwrap(), found.variance().unwrap().sqrt());
    println!("share {mean:.4} (exact 0.5), spread {sd:.4}, stated {stated:.4}");
    assert!((mean - 0.5).abs() < 0.005 + 4.0 * sd / 200f64.sqrt());
    // The spread of 200 values is known to 5 %.
    assert!((stated / sd - 1.0).abs() < 0.25);
}

const PINNED: [u8; 4] = [212, 8, 43, 188];

#[test]
fn a_tally_stays_small_and_its_bytes_are_pinned() {
    let layout = layout();
    let mut tally = Tally::new(&layout);
    tally.add_trial(&layout, &trial(&layout, 3), &AVERAGE);
    let bytes = tally.to_bytes();
    println!("{} bytes", bytes.len());
    // A change here is a change of the format or of what is counted: raise the format, say so in CHANGELOG.md.
    let sum: [u8; 32] = <sha2::Sha256 as sha2::Digest>::digest(&bytes).into();
    assert_eq!(sum[..4], PINNED);
    assert!(bytes.len() < 20_000);

    // In memory: a whole year with a battery and 64 unknowns.
    use std::mem::size_of;
    let months = 12 * (size_of::<tally::MonthTally>() + 8 * tally::DUSK_BINS);
    let weeks = size_of::<tally::BatteryTally>() + 2 * 53 * 8 * tally::CHARGE_BINS;
    let rest = 73 * 24 * 8 + 3 * 366 * 8 + 64 * size_of::<variance_shares::Binned>() + size_of::<Tally>();
    println!("{} bytes in memory", months + weeks + rest);
    assert!(months + weeks + rest < 250_000);
}
