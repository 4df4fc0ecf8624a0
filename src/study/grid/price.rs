//! What a cell costs, from the prices the design gives.

use crate::design::DesignFile;

/// What a change of a key does to the price.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Costs {
    /// The price of the part of this name grows with the multiple.
    Part(&'static str),
    /// Nothing: a setting, or a wish.
    Nothing,
    /// Nobody knows.
    Unknown,
}

/// Settings that anyone can change without buying anything.
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

/// Whether a key is the size of a part.
pub(super) fn is_size(key: &str) -> bool {
    matches!(costs(key), Costs::Part(_))
}

/// Price of a cell: that of the design, with panel and battery in proportion to their size; `None` if
/// that cannot be known. `cell`: the keys that vary, and what each holds as a multiple of what the design has.
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

/// How prices of cells were come by, or why there are none.
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
