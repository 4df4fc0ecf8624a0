//! `[panel]`: cells that are covered, and whether the string has so many.

use crate::design::parts::Cover;
use crate::design::reader::DesignReader;
use crate::units::Uncertain;

const COVERED: &str = "panel.covered_cells";
const DIODES: &str = "panel.bypass_diodes";

/// What covers cells of a string of so many.
pub(super) fn cover(r: &mut DesignReader<'_>, cells: Option<f64>) -> Option<Cover<Uncertain>> {
    let covered = if r.given(COVERED) { r.quantity(COVERED) } else { Some(Uncertain::exact(0.0)) };
    let share = r.quantity("panel.covered_share");
    let leak = r.quantity("panel.cell_leak");
    // What cannot be read is an error already.
    let diodes = r.count(DIODES).unwrap_or(0);
    let cells = cells?;
    let covered = covered?;
    if covered.highest() > cells {
        let title = format!("more cells are covered than the string has: it has {cells}");
        r.contradiction(
            title,
            &[(COVERED, "too many"), ("panel.cells", "for this string")],
            "count the cells again",
        );
        return None;
    }
    if diodes as f64 > cells {
        let title = format!("more bypass diodes than cells: the string has {cells}");
        let help = "a panel has one for each 12 to 24 cells, small ones often none";
        r.contradiction(title, &[(DIODES, "too many"), ("panel.cells", "for this string")], help);
        return None;
    }
    Some(Cover { cells: covered, share: share?, leak: leak?, bypass_diodes: diodes as u32 })
}
