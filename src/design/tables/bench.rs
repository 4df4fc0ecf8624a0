//! `pump.bench`: what was measured, or printed on the label.

use super::forms::{items, list};
use crate::design::parts::BenchPoint;
use crate::design::reader::DesignReader;
use crate::design::values::Value;
use crate::units::{Dimension, Uncertain};

/// Rows a bench may have.
const ROWS_MAX: usize = 32;

/// Rows of voltage, current and height of the jet, in order of increasing voltage.
pub(super) fn bench(r: &mut DesignReader<'_>) -> Option<Vec<BenchPoint<Uncertain>>> {
    let path = "pump.bench";
    let value = r.form(path)?;
    let rows = list(r, path, value, ROWS_MAX, "bench rows")?;
    if rows.is_empty() {
        r.error(
            value.span(),
            "the pump has no bench row",
            "an empty list",
            "one row from the label is enough",
        );
        return None;
    }
    let mut points: Vec<BenchPoint<Uncertain>> = Vec::new();
    let mut sound = true;
    for row in rows {
        let Some(point) = point(r, path, row) else {
            sound = false;
            continue;
        };
        sound &= points.last().is_none_or(|before| follows(r, row, before, &point));
        points.push(point);
    }
    if sound && points.iter().all(|p| p.jet_m.nominal <= 0.0) {
        r.error(value.span(), "no bench row has a jet", "all heights are 0", "");
        return None;
    }
    sound.then_some(points)
}

fn point<'a>(r: &mut DesignReader<'a>, path: &str, row: Value<'a>) -> Option<BenchPoint<Uncertain>> {
    let example = "[[\"3 V\", \"110 mA\", \"120 mm\"], [\"6 V\", \"290 mA\", \"430 mm\"]]";
    let cells = items(r, path, row, 3, example)?;
    let mut cell = |k: usize, name: &str, d: Dimension, lo: f64, hi: f64| {
        let q = r.quantity_at(name, cells[k], d)?;
        r.in_range(name, cells[k], q, (d, lo, hi))
    };
    let voltage_v = cell(0, "voltage", Dimension::Voltage, 0.3, 100.0);
    let current_a = cell(1, "current", Dimension::Current, 0.0005, 50.0);
    let jet_m = cell(2, "jet", Dimension::Length, 0.0, 20.0);
    Some(BenchPoint { voltage_v: voltage_v?, current_a: current_a?, jet_m: jet_m? })
}

/// Whether a row may stand after the one before it; says so if not, or if it looks odd.
fn follows<'a>(
    r: &mut DesignReader<'a>,
    row: Value<'a>,
    before: &BenchPoint<Uncertain>,
    point: &BenchPoint<Uncertain>,
) -> bool {
    if before.voltage_v.highest() >= point.voltage_v.lowest() {
        let help = "sort the rows by voltage; their uncertainty ranges must not overlap";
        let title = "bench rows must be in order of increasing voltage";
        r.error(row.span(), title, "not above the row before", help);
        return false;
    }
    let rises = Rises::between(before, point);
    if rises.current > Rises::REFUSED || rises.jet > Rises::REFUSED {
        let (what, unit) = match rises.current > Rises::REFUSED {
            true => ("current", "mA and A"),
            false => ("jet", "mm, cm and m"),
        };
        let title = format!("the {what} of the pump rises far more than its voltage");
        let help = format!(
            "current and jet follow the square of the voltage, or less (affinity laws): are {unit} mixed up in one of the rows?"
        );
        r.error(row.span(), title, "cannot follow the row before", &help);
        return false;
    }
    if before.jet_m.nominal > point.jet_m.nominal {
        let title = "the jet gets lower as the voltage rises";
        r.warn(row.span(), title, "lower than in the row before", "check this row");
    } else if before.current_a.nominal > point.current_a.nominal {
        let title = "the current of the pump falls as the voltage rises";
        r.warn(row.span(), title, "less than in the row before", "check this row");
    } else if rises.current > Rises::ODD || rises.jet > Rises::ODD {
        let what = if rises.current > Rises::ODD { "current" } else { "jet" };
        let title = format!("the {what} of the pump rises more than the square of its voltage");
        r.warn(row.span(), title, "much more than in the row before", "check both rows and their units");
    }
    true
}

/// By which power of the voltage current and jet rise from one row to the next. Affinity laws: by the second, friction aside; what is
/// odd is common practice, no source.
struct Rises {
    current: f64,
    jet: f64,
}

impl Rises {
    /// A slip in a unit is a power of ten: even over an octave of voltage that is a power of 3.3, and one of 1000 is 10.
    const REFUSED: f64 = 4.5;
    const ODD: f64 = 3.0;
    /// A jet of a few cm is a pump that has just begun to lift: heights are taken from so far below, m, and one that does not lift tells
    /// nothing.
    const LIFT_M: f64 = 0.02;
    const LEAST_M: f64 = 0.005;

    fn between(before: &BenchPoint<Uncertain>, point: &BenchPoint<Uncertain>) -> Rises {
        let octaves = libm::log(point.voltage_v.nominal / before.voltage_v.nominal);
        // Between rows close together the errors of measuring count more than the law.
        let power = |from: f64, to: f64| libm::log(to / from) / octaves.max(0.1);
        let lifts = before.jet_m.nominal >= Self::LEAST_M;
        let jet = power(before.jet_m.nominal + Self::LIFT_M, point.jet_m.nominal + Self::LIFT_M);
        Rises {
            current: power(before.current_a.nominal, point.current_a.nominal),
            jet: if lifts { jet } else { 0.0 },
        }
    }
}
