//! Rows held against the sun and against each other, hour by hour.
//!
//! What is wrong with a few rows is set right or left out with a warning that names them; what is
//! wrong with the whole file (clock, place, many impossible rows) refuses it.

use super::clock;
use super::closure::{self, MIDDLE_MIN};
use super::counted::Counted;
use super::fill;
use super::read::rows::{Quantity, Reading, Row, Table};
use super::turbidity::{self, By};
use super::year::{Closure, TypicalYear};
use super::year_sun::{SunOfHour, YearSun, i0_w_m2};
use crate::sky::calendar::{HOURS, REFERENCE_YEAR};
use crate::sky::decompose::erbs_below_clear;
use crate::source::Problem;
use std::path::Path;

/// Impossible rows above which the file is refused: one in a hundred.
const IMPOSSIBLE_MAX: usize = HOURS / 100;
/// Closure error that is mentioned, W/m².
const CLOSURE_MENTIONED_W_M2: f64 = 5.0;
/// Closure error up to which its offset is believed, W/m².
const CLOSURE_BELIEVED_W_M2: f64 = 25.0;
/// Sine of the sun's height below which it is down for certain: -2°, for refraction and small errors of place.
const SIN_DOWN: f64 = -0.034_9;
/// Light with the sun down that is still twilight, W/m².
const TWILIGHT_W_M2: f64 = 10.0;
/// Sine of 3°: hours in which an irradiance of exactly 0 is wrong.
const SIN_LIT: f64 = 0.052_3;
/// Sine of 10°: highest sun of a day on which a sensor that reads 0 all day is broken.
const SIN_BRIGHT_DAY: f64 = 0.173_6;

/// A row on its way to an hour.
pub(super) struct Work {
    pub line: usize,
    pub sun: SunOfHour,
    pub values: [Option<f64>; super::read::rows::QUANTITIES],
}

impl Work {
    pub fn get(&self, quantity: Quantity) -> Option<f64> {
        self.values[quantity as usize]
    }
    pub fn set(&mut self, quantity: Quantity, value: Option<f64>) {
        self.values[quantity as usize] = value;
    }
}

/// The hours of the year; `None` where there is no usable row.
pub(super) type Works = Vec<Option<Work>>;

/// The year, or `None` with the reasons in `reading`.
pub(super) fn judge(
    reading: &mut Reading,
    path: &Path,
    mut table: Table,
    rows: &[Option<Row>],
) -> Option<TypicalYear> {
    let sun =
        YearSun::of_years(&table.place, |slot| rows[slot].and_then(|row| row.year).unwrap_or(REFERENCE_YEAR));
    let mut works: Works = rows
        .iter()
        .enumerate()
        .map(|(slot, row)| {
            row.map(|row| Work { line: row.line, sun: sun.of_hour(slot, MIDDLE_MIN), values: row.values })
        })
        .collect();
    let mut notes = std::mem::take(&mut table.notes);
    zero_negative_light(&mut works, &mut notes);
    drop_without_ghi(&mut works, &mut notes);
    let closure = test_closure(&sun, &works, &mut notes);
    let offset_min = closure
        .filter(|c| c.rms_w_m2 <= CLOSURE_BELIEVED_W_M2 && c.offset_min.abs() < 60.0)
        .map_or(MIDDLE_MIN, |c| c.offset_min);
    check_clock(reading, &table, &sun, &works, offset_min, &mut notes)?;
    for (slot, work) in works.iter_mut().enumerate() {
        if let Some(work) = work {
            work.sun = sun.of_hour(slot, offset_min);
        }
    }
    darken_nights(reading, &mut works, &mut notes);
    drop_impossible(reading, &mut works, &mut notes);
    distrust_dead_sensors(&mut works, &mut notes);
    let measured_beam = split_light(&mut works, &table, &mut notes);
    let hours = fill::hours(reading, &mut works, &table, &mut notes)?;
    let by = if measured_beam { By::Dni } else { By::Ghi };
    let fitted = turbidity::by_month(&hours, &sun, table.place.elevation_m, offset_min, by);
    let turbidity = turbidity::fill(fitted);
    Some(TypicalYear {
        path: path.to_owned(),
        sha256: String::new(),
        format: table.format,
        origin: table.origin,
        invented: table.invented,
        place: table.place,
        hours,
        closure,
        turbidity,
        warnings: notes,
    })
}

fn zero_negative_light(works: &mut Works, notes: &mut Vec<String>) {
    let mut negative = Counted::default();
    for work in works.iter_mut().flatten() {
        for quantity in [Quantity::Ghi, Quantity::Dni, Quantity::Dhi] {
            if let Some(v) = work.get(quantity).filter(|v| *v < 0.0) {
                negative.add_value(work.line, v);
                work.set(quantity, Some(0.0));
            }
        }
    }
    notes.extend(negative.sentence("irradiance below zero was set to 0", "W/m²"));
}

fn drop_without_ghi(works: &mut Works, notes: &mut Vec<String>) {
    let mut without = Counted::default();
    for slot in works.iter_mut() {
        if let Some(work) = slot.take_if(|work| work.get(Quantity::Ghi).is_none()) {
            without.add(work.line);
        }
    }
    notes.extend(without.sentence("no GHI; the hours count as missing", ""));
}

fn test_closure(sun: &YearSun, works: &Works, notes: &mut Vec<String>) -> Option<Closure> {
    let parts: Vec<closure::Parts> = works
        .iter()
        .enumerate()
        .filter_map(|(slot, work)| {
            let work = work.as_ref()?;
            Some((slot, [work.get(Quantity::Ghi)?, work.get(Quantity::Dni)?, work.get(Quantity::Dhi)?]))
        })
        .collect();
    let closure = closure::test(sun, &parts)?;
    if closure.rms_w_m2 > CLOSURE_MENTIONED_W_M2 {
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
    Some(closure)
}

fn check_clock(
    reading: &mut Reading,
    table: &Table,
    sun: &YearSun,
    works: &Works,
    offset_min: f64,
    notes: &mut Vec<String>,
) -> Option<()> {
    let ghi: Vec<(usize, f64)> = works
        .iter()
        .enumerate()
        .filter_map(|(slot, work)| Some((slot, work.as_ref()?.get(Quantity::Ghi)?)))
        .collect();
    if ghi.iter().all(|(_, v)| *v == 0.0) {
        let problem = Problem::error("GHI is 0 or missing in every row").in_file(reading.path);
        reading.problems.push(problem.help("a year without light cannot be used"));
        return None;
    }
    if let Some(late_min) = clock::light_late_min(sun, &ghi, offset_min) {
        let (title, help) = clock::disagreement(&table.place, late_min);
        if late_min.abs() >= clock::REFUSED_MIN {
            reading.problems.push(Problem::error(title).in_file(reading.path).help(help));
            return None;
        }
        if late_min.abs() >= clock::MENTIONED_MIN {
            notes.push(title);
        }
    }
    if clock::seasons_swapped(&table.place, &ghi) == Some(true) {
        let title = format!("winter is lighter than summer at latitude {}°", table.place.latitude_deg);
        let help =
            format!("latitude {}° would agree: it seems to have lost its sign", -table.place.latitude_deg);
        reading.problems.push(Problem::error(title).in_file(reading.path).help(help));
        return None;
    }
    Some(())
}

fn darken_nights(reading: &mut Reading, works: &mut Works, notes: &mut Vec<String>) {
    let (mut beam, mut light) = (Counted::default(), Counted::default());
    for work in works.iter_mut().flatten().filter(|work| work.sun.highest < SIN_DOWN) {
        if let Some(v) = work.get(Quantity::Dni).filter(|v| *v > 0.0) {
            beam.add_value(work.line, v);
            work.set(Quantity::Dni, Some(0.0));
        }
        if let Some(v) = work.get(Quantity::Ghi).filter(|v| *v > TWILIGHT_W_M2) {
            light.add_value(work.line, v);
            work.set(Quantity::Ghi, Some(0.0));
            work.set(Quantity::Dhi, Some(0.0));
        }
    }
    for (counted, what) in
        [(beam, "beam with the sun down was set to 0"), (light, "light with the sun down was set to 0")]
    {
        settle(reading, notes, &counted, what);
    }
}

/// A few rows are a warning, many an error.
fn settle(reading: &mut Reading, notes: &mut Vec<String>, counted: &Counted, what: &str) {
    let Some(sentence) = counted.sentence(what, "W/m²") else { return };
    if counted.count() > IMPOSSIBLE_MAX {
        let problem = Problem::error(format!("too many rows cannot be: {sentence}")).in_file(reading.path);
        reading
            .problems
            .push(problem.help(format!("up to {IMPOSSIBLE_MAX} rows are passed over with a warning")));
    } else {
        notes.push(sentence);
    }
}

/// Physically possible limits of the Baseline Surface Radiation Network (Long & Dutton 2002, BSRN
/// recommended QC tests V2.0), at the highest sun of the hour.
fn drop_impossible(reading: &mut Reading, works: &mut Works, notes: &mut Vec<String>) {
    let mut above: [Counted; 3] = Default::default();
    for (slot, entry) in works.iter_mut().enumerate() {
        let Some(work) = entry else { continue };
        let i0 = i0_w_m2(slot);
        let shape = libm::pow(work.sun.highest.max(0.0), 1.2);
        let limits = [
            (Quantity::Ghi, 1.5 * i0 * shape + 100.0),
            (Quantity::Dni, i0),
            (Quantity::Dhi, 0.95 * i0 * shape + 50.0),
        ];
        let mut possible = true;
        for (k, (quantity, limit)) in limits.into_iter().enumerate() {
            if let Some(v) = work.get(quantity).filter(|v| *v > limit) {
                above[k].add_value(work.line, v);
                possible = false;
            }
        }
        if !possible {
            *entry = None;
        }
    }
    for (counted, name) in above.iter().zip(["GHI", "DNI", "DHI"]) {
        settle(
            reading,
            notes,
            counted,
            &format!("{name} above what the sun can give; the hours count as missing"),
        );
    }
}

/// Days on which a sensor reads exactly 0 although it cannot be dark.
fn distrust_dead_sensors(works: &mut Works, notes: &mut Vec<String>) {
    let mut dead: [Counted; 3] = Default::default();
    let mut days = [0; 3];
    for day in works.chunks_mut(24) {
        let lit: Vec<&Work> = day.iter().flatten().filter(|w| w.sun.mid_up > SIN_LIT).collect();
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
                let Some(work) = slot else { continue };
                dead[k].add(work.line);
                match quantity {
                    Quantity::Ghi => *slot = None,
                    _ => work.set(quantity, None),
                }
            }
            if k == 0 {
                break;
            }
        }
    }
    for (k, (name, then)) in [
        ("GHI", "the days count as missing"),
        ("DNI", "it is derived on these days"),
        ("DHI", "it is derived on these days"),
    ]
    .into_iter()
    .enumerate()
    {
        let what = format!("{name} is exactly 0 for {} whole days although the sun is up; {then}", days[k]);
        notes.extend(dead[k].sentence(&what, ""));
    }
}

/// Derives beam and diffuse where the file lacks them; whether the beam is the file's own.
fn split_light(works: &mut Works, table: &Table, notes: &mut Vec<String>) -> bool {
    let (mut by_erbs, mut by_closure, mut own) = (Counted::default(), Counted::default(), 0);
    for (slot, work) in works.iter_mut().enumerate() {
        let Some(work) = work else { continue };
        let (Some(ghi), dni, dhi) =
            (work.get(Quantity::Ghi), work.get(Quantity::Dni), work.get(Quantity::Dhi))
        else {
            continue;
        };
        let up = work.sun.mid_up;
        let (dni, dhi) = match (dni, dhi) {
            (Some(dni), Some(dhi)) => {
                own += usize::from(dni > 0.0);
                (dni, dhi)
            }
            (Some(dni), None) => {
                by_closure.add(work.line);
                (dni, (ghi - dni * up.max(0.0)).max(0.0))
            }
            (None, _) => {
                by_erbs.add(work.line);
                let zenith = libm::acos(up.clamp(-1.0, 1.0));
                let split = erbs_below_clear(ghi, zenith, i0_w_m2(slot), table.place.elevation_m);
                (split.dni_w_m2, split.dhi_w_m2)
            }
        };
        work.set(Quantity::Dni, Some(dni));
        work.set(Quantity::Dhi, Some(dhi));
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
