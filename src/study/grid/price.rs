//! The price of a cell, from the prices given in the design.

use crate::design::DesignFile;

/// How a change of a key affects the price.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Costs {
    /// The price of this part scales with it.
    Part(&'static str),
    /// Not at all: a setting or a wish.
    Nothing,
    /// Unknown.
    Unknown,
}

/// Settings that cost nothing to change.
const SETTINGS: [&str; 9] = [
    "mount.tilt",
    "mount.azimuth",
    "mount.rest_tilt",
    "mount.rest_azimuth",
    "electronics.cut_off",
    "electronics.reconnect",
    "electronics.charge_voltage",
    "electronics.charge_current_max",
    "pump.highest_voltage",
];

fn costs(key: &str) -> Costs {
    match key {
        "panel.rated_power" => Costs::Part("panel"),
        "battery.capacity" => Costs::Part("battery"),
        _ if key.starts_with("wish.") || SETTINGS.contains(&key) => Costs::Nothing,
        _ => Costs::Unknown,
    }
}

/// Whether a key is the size of a part with a price.
pub(super) fn is_size(key: &str) -> bool {
    matches!(costs(key), Costs::Part(_))
}

/// Price of a cell: that of the design, with panel and battery in proportion to their size; `None` if it is unknown.
/// `cell`: the keys that vary, with their values as multiples of the design's.
pub(super) fn of(file: &DesignFile, cell: &[(&str, Option<f64>)]) -> Option<f64> {
    let mut price = file.design.price()?;
    for &(key, multiple) in cell {
        match costs(key) {
            Costs::Part(part) => price += file.design.price_of(part)? * (multiple? - 1.0),
            Costs::Nothing => {}
            Costs::Unknown => return None,
        }
    }
    Some(price)
}

/// The prices of a cell's parts, each in proportion to its size.
pub(super) fn of_parts(file: &DesignFile, cell: &[(&str, Option<f64>)]) -> Vec<(String, f64)> {
    let mut prices = file.design.prices.clone();
    for &(key, multiple) in cell {
        if let (Costs::Part(part), Some(multiple)) = (costs(key), multiple) {
            prices.iter_mut().filter(|(name, _)| name == part).for_each(|(_, price)| *price *= multiple);
        }
    }
    prices
}

/// How the prices of cells are computed, or why there are none.
pub(super) fn rule(file: &DesignFile, keys: [&str; 2]) -> String {
    if file.design.prices.is_empty() {
        return "Prices are not known: the design has no [prices].".to_owned();
    }
    let mut sized = Vec::new();
    for key in keys {
        match costs(key) {
            Costs::Part(part) if file.design.price_of(part).is_none() => {
                return format!("Prices are not known: [prices] has no `{part}`, whose size varies.");
            }
            Costs::Part(part) => sized.push(format!("the {part}")),
            Costs::Nothing => {}
            Costs::Unknown => {
                return format!("Prices are not known: nothing says what `{key}` costs.");
            }
        }
    }
    match sized.is_empty() {
        true => "Every cell costs what the design costs.".to_owned(),
        false => format!(
            "Prices: {} in proportion to size, from the price given; all else as given. Real parts come in steps.",
            sized.join(" and ")
        ),
    }
}
