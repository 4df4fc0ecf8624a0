//! `[care]`: who looks after the fountain, and what must be there for that.

use crate::design::parts::{Care, Mount, MountKind, SETTING_UP_DAYS, Winter, Wish};
use crate::design::reader::DesignReader;
use crate::units::Uncertain;

/// The plan of care.
pub(in crate::design) fn care(
    r: &mut DesignReader<'_>,
    mount: Option<&Mount<Uncertain>>,
    wish: Option<&Wish<Uncertain>>,
) -> Option<Care> {
    let care = Care {
        replace_pump_after_days: r.count("care.replace_pump_after").and_then(|days| u16::try_from(days).ok()),
        replace_mount_after_days: r
            .count("care.replace_mount_after")
            .and_then(|days| u16::try_from(days).ok()),
        replace_battery_below: r.exact("care.replace_battery_below"),
        replace_battery_every_years: r.exact("care.replace_battery_every"),
        clean_panel_every_days: r.count("care.clean_panel_every").and_then(|days| u16::try_from(days).ok()),
        winter: r.word("care.winter", None)?,
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
    let key = "care.replace_mount_after";
    if mount.is_some_and(|m| m.kind == MountKind::Fixed)
        && let Some(span) = r.value(key).map(|v| v.span())
    {
        let title = format!("`{key}` cares for a mount that moves, and this one is fixed");
        r.error(span, title, "no motors", "leave it out, or give the `kind` of the [mount]");
    }
    if care.winter == Winter::TakenIn
        && let Some(wish) = wish.filter(|w| w.days().count() + SETTING_UP_DAYS >= YEAR_DAYS)
    {
        let title = format!("`care.winter`: a season of {} days leaves no winter", wish.days().count());
        let places = [
            ("care.winter", "taken in for a winter ..."),
            ("wish.season", "... that this leaves no days for"),
        ];
        r.contradiction(&title, &places, "leave it out, or shorten the season");
    }
    Some(care)
}

/// Days of a year.
const YEAR_DAYS: usize = 365;
