//! Quantity to text.

use super::{Dimension, Spread, Uncertain};

/// Which units a reader is used to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum System {
    /// Metres, litres, °C.
    #[default]
    Si,
    /// Feet, inches, gallons, °F.
    Us,
}

/// A value in a unit that suits its size, with `digits` significant digits: `"290 mA"`.
pub fn show(value: f64, dimension: Dimension, digits: usize, system: System) -> String {
    let unit = suitable_unit(value, dimension, system);
    with_unit(&significant(from_base(value, dimension, unit), digits), unit)
}

/// A value and its spread in a unit that suits its size: `"3 Ah ± 0.3 Ah"`, `"8 to 12 W"`.
pub fn show_uncertain(q: &Uncertain, dimension: Dimension, digits: usize, system: System) -> String {
    let unit = suitable_unit(q.nominal, dimension, system);
    write(q, dimension, unit, &|v| significant(v, digits))
}

/// A value and its spread such that [`super::parse`] gives the same quantity back (to the last bits
/// of the number).
pub fn text(q: &Uncertain, dimension: Dimension) -> String {
    write(q, dimension, dimension.base_unit(), &|v| significant(v, 15))
}

/// `digits` significant digits without exponent; zeros after the point are left out.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "-".into();
    }
    if value == 0.0 {
        return "0".into();
    }
    let digits = digits.clamp(1, 15);
    // The exponent form rounds to the digits asked for, and tells where they end.
    let scientific = format!("{value:.*e}", digits - 1);
    let exponent = scientific.split_once('e').and_then(|(_, e)| e.parse::<i32>().ok()).unwrap_or(0);
    let rounded: f64 = scientific.parse().unwrap_or(value);
    let decimals = usize::try_from(digits as i32 - 1 - exponent).unwrap_or(0);
    let shown = format!("{rounded:.decimals$}");
    if shown.contains('.') { shown.trim_end_matches('0').trim_end_matches('.').to_owned() } else { shown }
}

fn write(q: &Uncertain, dimension: Dimension, unit: &str, number: &dyn Fn(f64) -> String) -> String {
    let value = |v: f64| number(from_base(v, dimension, unit));
    let nominal = with_unit(&value(q.nominal), unit);
    match q.spread {
        Spread::Exact => nominal,
        Spread::Normal { sd } => {
            // A half-width is a difference: the offset of °F has no part in it.
            let factor = dimension.unit_named(unit).map_or(1.0, |u| u.factor);
            format!("{nominal} ± {}", with_unit(&number(2.0 * sd / factor), unit))
        }
        Spread::Rectangular { lo, hi } => format!("{} to {}", value(lo), with_unit(&value(hi), unit)),
        Spread::Triangular { lo, hi, .. } => {
            format!("{} to {}, likely {nominal}", value(lo), with_unit(&value(hi), unit))
        }
    }
}

fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "" => number.to_owned(),
        "°" => format!("{number}°"),
        _ => format!("{number} {unit}"),
    }
}

fn from_base(value: f64, dimension: Dimension, unit: &str) -> f64 {
    match dimension.unit_named(unit) {
        // Division keeps 0.3048 m at 12 in, where the product with 1/0.0254 would not.
        Some(unit) => (value - unit.offset) / unit.factor,
        None => value,
    }
}

/// The unit in which a value of this size is usually given.
fn suitable_unit(value: f64, dimension: Dimension, system: System) -> &'static str {
    let size = value.abs();
    let us = system == System::Us;
    match dimension {
        Dimension::Power if 0.0 < size && size < 0.1 => "mW",
        Dimension::Energy if size >= 2000.0 => "kWh",
        Dimension::Current if 0.0 < size && size < 1.0 => "mA",
        Dimension::Charge if 0.0 < size && size < 0.1 => "mAh",
        Dimension::Resistance if 0.0 < size && size < 0.1 => "mohm",
        Dimension::Length if us && size >= 3.0 => "ft",
        Dimension::Length if us => "in",
        Dimension::Length if size < 0.01 => "mm",
        Dimension::Length if size < 1.0 => "cm",
        Dimension::SmallLength if us => "in",
        Dimension::Area if us => "ft²",
        Dimension::Volume if us => "gal",
        Dimension::Flow if us => "gal/min",
        Dimension::Mass if us => "lb",
        Dimension::Speed if us => "mph",
        Dimension::Temperature if us => "°F",
        Dimension::Duration if size >= 180.0 => "h",
        Dimension::Duration if 0.0 < size && size < 1.0 => "s",
        _ => dimension.base_unit(),
    }
}
