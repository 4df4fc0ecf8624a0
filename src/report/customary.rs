//! Values of a design beside what they are in customary units.

use crate::design::dimension_of;
use crate::units::{Dimension, System, parse, show_uncertain};

/// `250 mm (9.84 in)`: the value of a key as given, and in customary units if those differ.
pub(crate) fn beside(key: &str, value: &str, units: System) -> String {
    let also = match (units, key) {
        (System::Si, _) => None,
        // Rows of voltage, current and height: the heights are what differs.
        (_, "pump.bench") => bench(value),
        _ => dimension_of(key).and_then(|dimension| customary(value, dimension)),
    };
    also.map_or(value.to_owned(), |also| format!("{value} ({also})"))
}

/// The quantity in customary units; none if it has no others.
fn customary(value: &str, dimension: Dimension) -> Option<String> {
    let quantity = parse(value, dimension).ok()?;
    let us = show_uncertain(&quantity, dimension, 3, System::Us);
    (us != show_uncertain(&quantity, dimension, 3, System::Si)).then_some(us)
}

fn bench(rows: &str) -> Option<String> {
    let heights: Vec<String> = rows
        .split([',', '[', ']'])
        .filter_map(|cell| customary(cell.trim(), Dimension::SmallLength))
        .collect();
    (!heights.is_empty()).then(|| heights.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_with_customary_units_are_shown_in_both() {
        let us = |key, value| beside(key, value, System::Us);
        assert_eq!(us("wish.jet", "250 mm"), "250 mm (9.84 in)");
        assert_eq!(us("water.usable", "40 L ± 10 %"), "40 L ± 10 % (10.6 gal ± 1.06 gal)");
        assert_eq!(us("water.area", "0.8 m2"), "0.8 m2 (8.61 ft²)");
        assert_eq!(
            us("pump.bench", "[[3 V, 62 mA ± 5 %, 140 mm], [6 V, 155 mA, 480 mm]]"),
            "[[3 V, 62 mA ± 5 %, 140 mm], [6 V, 155 mA, 480 mm]] (5.51 in, 18.9 in)"
        );
        // Already so, alike in both, or no quantity at all.
        for (key, value) in
            [("panel.rated_power", "5 W ± 5 %"), ("mount.kind", "fixed"), ("wish.jet", "tall")]
        {
            assert_eq!(us(key, value), value);
        }
        assert_eq!(beside("wish.jet", "250 mm", System::Si), "250 mm");
    }
}
