//! `[care]`: who looks after the fountain, and what must be there for that.

use crate::design::parts::Care;
use crate::design::reader::DesignReader;

/// The plan of care.
pub(in crate::design) fn care(r: &mut DesignReader<'_>) -> Option<Care> {
    let care = Care {
        replace_pump_after_days: r.count("care.replace_pump_after").and_then(|days| u16::try_from(days).ok()),
        replace_battery_below: r.exact("care.replace_battery_below"),
        replace_battery_every_years: r.exact("care.replace_battery_every"),
        clean_panel_every_days: r.count("care.clean_panel_every").and_then(|days| u16::try_from(days).ok()),
        visit_price: r.exact("care.visit_price"),
        interest: r.exact("care.interest")?,
    };
    if !r.given("battery") {
        for key in ["care.replace_battery_below", "care.replace_battery_every"] {
            if let Some(span) = r.value(key).map(|v| v.span()) {
                let title = format!("`{key}` cares for a battery, and this design has none");
                r.error(span, title, "no battery", "leave it out, or add a [battery]");
            }
        }
    }
    Some(care)
}
