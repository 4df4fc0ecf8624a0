//! Irradiance compared with the sun, hour by hour; beam and diffuse light where the file lacks them.

use super::clock;
use super::counted::Counted;
use super::draft::{DraftHour, DraftYear};
use crate::sky::Place;
use crate::sky::calendar::HOURS;
use crate::sky::decompose::erbs_below_clear;
use crate::source::Problem;
use crate::weather::file::closure::{self, MIDDLE_MIN};
use crate::weather::file::formats::rows::{Quantity, Reading, Table};
use crate::weather::file::year::Closure;
use crate::weather::file::year_sun::{YearSun, i0_w_m2};

/// Most impossible rows of a file that is accepted: one in a hundred.
const IMPOSSIBLE_MAX: usize = HOURS / 100;
/// Closure error above which the user is warned, W/m².
const CLOSURE_WARNED_W_M2: f64 = 5.0;
/// Closure error above which another order of the columns is tried, W/m²: measured data stay below.
const CLOSURE_SWAPPED_W_M2: f64 = 60.0;
/// Closure error up to which its offset is used, W/m².
const CLOSURE_TRUSTED_W_M2: f64 = 25.0;
/// Sine of the sun's height below which it is down for certain: -2°, for refraction and small errors of place.
const SIN_DOWN: f64 = -0.034_9;
/// Light with the sun down that is still twilight, W/m².
const TWILIGHT_W_M2: f64 = 10.0;
/// Sine of 3°: hours in which an irradiance of exactly 0 is wrong.
const SIN_LIT: f64 = 0.052_3;
/// Sine of 10°: highest sun of a day on which a sensor that reads 0 all day is broken.
const SIN_BRIGHT_DAY: f64 = 0.173_6;

pub(super) fn zero_negative(year: &mut DraftYear, notes: &mut Vec<String>) {
    let mut negative = Counted::default();
    for hour in year.iter_mut().flatten() {
        for quantity in [Quantity::Ghi, Quantity::Dni, Quantity::Dhi] {
            if let Some(v) = hour.get(quantity).filter(|v| *v < 0.0) {
                negative.add_value(hour.line, v);
                hour.set(quantity, Some(0.0));
            }
        }
    }
    notes.extend(negative.sentence("irradiance below zero was set to 0", "W/m²"));
}

pub(super) fn drop_without_ghi(year: &mut DraftYear, notes: &mut Vec<String>) {
    let mut without = Counted::default();
    for slot in year.iter_mut() {
        if let Some(hour) = slot.take_if(|hour| hour.get(Quantity::Ghi).is_none()) {
            without.add(hour.line);
        }
    }
    notes.extend(without.sentence("no GHI; the hours count as missing", ""));
}

/// Tests whether GHI, DNI and DHI add up; refuses a file whose columns are in the wrong order. The result is `None` inside if
/// too few hours are bright enough.
pub(super) fn test_closure(
    reading: &mut Reading,
    sun: &YearSun,
    year: &DraftYear,
    notes: &mut Vec<String>,
) -> Option<Option<Closure>> {
    let parts: Vec<closure::ClosureHour> = year
        .iter()
        .enumerate()
        .filter_map(|(slot, hour)| {
            let hour = hour.as_ref()?;
            Some((slot, [hour.get(Quantity::Ghi)?, hour.get(Quantity::Dni)?, hour.get(Quantity::Dhi)?]))
        })
        .collect();
    let closure = closure::test(sun, &parts);
    let worst = closure.map_or(0.0, |c| c.rms_w_m2);
    if (closure.is_none() || worst > CLOSURE_SWAPPED_W_M2)
        && let Some((meant, rms)) = columns_meant(sun, &parts, worst)
    {
        let found = match closure {
            Some(c) => format!("they differ by {:.0} W/m² as they stand", c.rms_w_m2),
            None => "they make no sense as they stand".to_owned(),
        };
        let title = "the columns of GHI, DNI and DHI are in the wrong order";
        let help = format!(
            "GHI = DHI + DNI cos Z holds to {rms:.1} W/m² (root mean square) if the columns called GHI, DNI and DHI hold {}; {found}",
            meant.join(", ")
        );
        reading.problems.push(Problem::error(title).in_file(reading.path).help(help));
        return None;
    }
    let Some(closure) = closure else { return Some(None) };
    if closure.rms_w_m2 > CLOSURE_WARNED_W_M2 {
        notes.push(format!(
            "GHI, DNI and DHI do not add up: GHI differs from DHI + DNI cos Z by {:.1} W/m² (root mean square) even at the best instant, {:+.0} min from the end of the hour",
            closure.rms_w_m2, closure.offset_min
        ));
    } else if !(-60.0..=0.0).contains(&closure.offset_min) {
        notes.push(format!(
            "the values fit the sun {:.0} min after the end of their hour, not its middle (rms {:.1} W/m² there, {:.1} at the middle); this offset is used",
            closure.offset_min, closure.rms_w_m2, closure.rms_at_middle_w_m2
        ));
    }
    Some(Some(closure))
}

/// What columns called GHI, DNI and DHI hold if they are in the wrong order, and how well that adds up, W/m²: the best other
/// order, if it is good and much better than the one of the file.
fn columns_meant(
    sun: &YearSun,
    parts: &[closure::ClosureHour],
    as_they_stand_w_m2: f64,
) -> Option<([&'static str; 3], f64)> {
    const NAMES: [&str; 3] = ["GHI", "DNI", "DHI"];
    // Where each quantity is found.
    const ORDERS: [[usize; 3]; 5] = [[1, 0, 2], [2, 1, 0], [0, 2, 1], [1, 2, 0], [2, 0, 1]];
    let tried = ORDERS.into_iter().filter_map(|order| {
        let other: Vec<_> = parts.iter().map(|(slot, v)| (*slot, order.map(|k| v[k]))).collect();
        Some((order, closure::test(sun, &other)?.rms_w_m2))
    });
    let (order, rms) = tried.min_by(|a, b| a.1.total_cmp(&b.1))?;
    let clear = rms <= CLOSURE_TRUSTED_W_M2 && (as_they_stand_w_m2 == 0.0 || rms < 0.2 * as_they_stand_w_m2);
    clear.then(|| {
        let mut meant = NAMES;
        for (quantity, column) in order.into_iter().enumerate() {
            meant[column] = NAMES[quantity];
        }
        (meant, rms)
    })
}

/// The instant that the hours' values stand for, min from the end of the hour: as tested, if the test can be trusted.
pub(super) fn trusted_offset_min(closure: Option<Closure>) -> f64 {
    closure
        .filter(|c| c.rms_w_m2 <= CLOSURE_TRUSTED_W_M2 && c.offset_min.abs() < 60.0)
        .map_or(MIDDLE_MIN, |c| c.offset_min)
}

/// Refuses a file whose light does not agree with the sun of its place.
pub(super) fn check_clock(
    reading: &mut Reading,
    place: &Place,
    sun: &YearSun,
    year: &DraftYear,
    offset_min: f64,
    notes: &mut Vec<String>,
) -> Option<()> {
    let ghi: Vec<(usize, f64)> = year
        .iter()
        .enumerate()
        .filter_map(|(slot, hour)| Some((slot, hour.as_ref()?.get(Quantity::Ghi)?)))
        .collect();
    if ghi.iter().all(|(_, v)| *v == 0.0) {
        let problem = Problem::error("GHI is 0 or missing in every row").in_file(reading.path);
        reading.problems.push(problem.help("check the GHI column: a year without light cannot be simulated"));
        return None;
    }
    if let Some(late_min) = clock::light_late_min(sun, &ghi, offset_min) {
        let (title, help) = clock::disagreement(place, late_min);
        if late_min.abs() >= clock::REFUSED_MIN {
            reading.problems.push(Problem::error(title).in_file(reading.path).help(help));
            return None;
        }
        if late_min.abs() >= clock::WARNED_MIN {
            notes.push(title);
        }
    }
    if clock::seasons_swapped(place, &ghi) == Some(true) {
        let title = format!("winter is brighter than summer at latitude {}°", place.latitude_deg);
        let help = format!("latitude {}° would fit: check the sign of the latitude", -place.latitude_deg);
        reading.problems.push(Problem::error(title).in_file(reading.path).help(help));
        return None;
    }
    Some(())
}

pub(super) fn darken_nights(reading: &mut Reading, year: &mut DraftYear, notes: &mut Vec<String>) {
    let (mut beam, mut light) = (Counted::default(), Counted::default());
    for hour in year.iter_mut().flatten().filter(|hour| hour.sun.highest < SIN_DOWN) {
        if let Some(v) = hour.get(Quantity::Dni).filter(|v| *v > 0.0) {
            beam.add_value(hour.line, v);
            hour.set(Quantity::Dni, Some(0.0));
        }
        if let Some(v) = hour.get(Quantity::Ghi).filter(|v| *v > TWILIGHT_W_M2) {
            light.add_value(hour.line, v);
            hour.set(Quantity::Ghi, Some(0.0));
            hour.set(Quantity::Dhi, Some(0.0));
        }
    }
    for (counted, what) in [
        (beam, "DNI above 0 while the sun is down; set to 0"),
        (light, "GHI above 10 W/m² while the sun is down; set to 0"),
    ] {
        warn_or_refuse(reading, notes, &counted, what);
    }
}

/// Warns of a few rows; refuses the file if there are many.
fn warn_or_refuse(reading: &mut Reading, notes: &mut Vec<String>, counted: &Counted, what: &str) {
    let Some(sentence) = counted.sentence(what, "W/m²") else { return };
    if counted.count() > IMPOSSIBLE_MAX {
        let problem = Problem::error(format!("too many impossible rows: {sentence}")).in_file(reading.path);
        reading.problems.push(problem.help(format!(
            "up to {IMPOSSIBLE_MAX} such rows are accepted with a warning; check columns, units and clock"
        )));
    } else {
        notes.push(sentence);
    }
}

/// Physically possible limits of the Baseline Surface Radiation Network (Long & Dutton 2002, BSRN
/// recommended QC tests V2.0), at the highest sun of the hour.
pub(super) fn drop_impossible(reading: &mut Reading, year: &mut DraftYear, notes: &mut Vec<String>) {
    let mut above: [Counted; 3] = Default::default();
    for (slot, entry) in year.iter_mut().enumerate() {
        let Some(hour) = entry else { continue };
        let i0 = i0_w_m2(slot);
        let shape = libm::pow(hour.sun.highest.max(0.0), 1.2);
        let limits = [
            (Quantity::Ghi, 1.5 * i0 * shape + 100.0),
            (Quantity::Dni, i0),
            (Quantity::Dhi, 0.95 * i0 * shape + 50.0),
        ];
        let mut possible = true;
        for (k, (quantity, limit)) in limits.into_iter().enumerate() {
            if let Some(v) = hour.get(quantity).filter(|v| *v > limit) {
                above[k].add_value(hour.line, v);
                possible = false;
            }
        }
        if !possible {
            *entry = None;
        }
    }
    for (counted, name) in above.iter().zip(["GHI", "DNI", "DHI"]) {
        warn_or_refuse(
            reading,
            notes,
            counted,
            &format!("{name} above the physical limit; the hours count as missing"),
        );
    }
}

/// Drops the values of days on which a sensor reads exactly 0 in full light.
pub(super) fn drop_dead_sensors(year: &mut DraftYear, notes: &mut Vec<String>) {
    let mut dead: [Counted; 3] = Default::default();
    let mut days = [0; 3];
    for day in year.chunks_mut(24) {
        let lit: Vec<&DraftHour> = day.iter().flatten().filter(|w| w.sun.mid_up > SIN_LIT).collect();
        if lit.len() < 3 || lit.iter().all(|w| w.sun.highest < SIN_BRIGHT_DAY) {
            continue;
        }
        let all_zero = |q: Quantity| lit.iter().all(|w| w.get(q) == Some(0.0));
        let ghi: f64 = lit.iter().filter_map(|w| w.get(Quantity::Ghi)).sum();
        // Without clouds GHI is about 1000 W/m² times the sine of the sun's height; a day with
        // three quarters of that has had beam, and any day with light has had diffuse light.
        let clear: f64 = lit.iter().map(|w| 1000.0 * w.sun.mid_up).sum();
        let broken = [
            all_zero(Quantity::Ghi),
            all_zero(Quantity::Dni) && ghi > 0.75 * clear,
            all_zero(Quantity::Dhi) && ghi > 0.1 * clear,
        ];
        for (k, quantity) in [Quantity::Ghi, Quantity::Dni, Quantity::Dhi].into_iter().enumerate() {
            if !broken[k] {
                continue;
            }
            days[k] += 1;
            for slot in day.iter_mut() {
                let Some(hour) = slot else { continue };
                dead[k].add(hour.line);
                if quantity == Quantity::Ghi {
                    *slot = None;
                } else {
                    hour.set(quantity, None);
                }
            }
            if quantity == Quantity::Ghi {
                break;
            }
        }
    }
    for (k, (name, then)) in [
        ("GHI", "the days count as missing"),
        ("DNI", "derived for these days"),
        ("DHI", "derived for these days"),
    ]
    .into_iter()
    .enumerate()
    {
        let what = format!("{name} is exactly 0 for {} whole days although the sun is up; {then}", days[k]);
        notes.extend(dead[k].sentence(&what, ""));
    }
}

/// Derives beam and diffuse where the file lacks them. Returns whether the beam is mostly the file's own.
pub(super) fn split_global(year: &mut DraftYear, table: &Table, notes: &mut Vec<String>) -> bool {
    let (mut by_erbs, mut by_closure, mut own) = (Counted::default(), Counted::default(), 0);
    for (slot, hour) in year.iter_mut().enumerate() {
        let Some(hour) = hour else { continue };
        let (Some(ghi), dni, dhi) =
            (hour.get(Quantity::Ghi), hour.get(Quantity::Dni), hour.get(Quantity::Dhi))
        else {
            continue;
        };
        let up = hour.sun.mid_up;
        let (dni, dhi) = match (dni, dhi) {
            (Some(dni), Some(dhi)) => {
                own += usize::from(dni > 0.0);
                (dni, dhi)
            }
            (Some(dni), None) => {
                by_closure.add(hour.line);
                (dni, (ghi - dni * up.max(0.0)).max(0.0))
            }
            (None, _) => {
                by_erbs.add(hour.line);
                let zenith = libm::acos(up.clamp(-1.0, 1.0));
                let split = erbs_below_clear(ghi, zenith, i0_w_m2(slot), table.place.elevation_m);
                (split.dni_w_m2, split.dhi_w_m2)
            }
        };
        hour.set(Quantity::Dni, Some(dni));
        hour.set(Quantity::Dhi, Some(dhi));
    }
    let derived = by_erbs.count();
    if !table.columns[Quantity::Dni as usize] {
        notes.push(
            "the file has no DNI: beam and diffuse were derived from GHI (Erbs, Klein & Duffie 1982)".into(),
        );
    } else {
        notes.extend(
            by_erbs
                .sentence("no DNI; beam and diffuse were derived from GHI (Erbs, Klein & Duffie 1982)", ""),
        );
    }
    if !table.columns[Quantity::Dhi as usize] && by_closure.count() > 0 {
        notes.push("the file has no DHI: it was derived as GHI - DNI cos Z".into());
    } else {
        notes.extend(by_closure.sentence("no DHI; it was derived as GHI - DNI cos Z", ""));
    }
    own > derived / 4
}
