//! Rows of `[care]`.

use super::key::Fallback::{Rule, Text as Is};
use super::key::Kind::{Count, Exact, Words};
use super::key::{Key, row};
use super::words::WordList;
use crate::design::parts::Winter;
use crate::units::Dimension::*;

pub(super) const CARE: &[Key] = &[
    row(
        "care.replace_pump_after",
        Count(0, 3650),
        Rule("never"),
        "days from the failure of the pump until a new one runs; meanwhile the fountain stands still",
    ),
    row(
        "care.replace_mount_after",
        Count(0, 3650),
        Rule("never"),
        "days from the failure of a mount that moves until a new one does; meanwhile the panel stays where it looks",
    ),
    row(
        "care.replace_battery_below",
        Exact(Share, 0.05, 0.95),
        Rule("never"),
        "before a season, the battery is replaced if it holds less than this share of what it held when new",
    ),
    row(
        "care.replace_battery_every",
        Exact(Years, 1.0, 50.0),
        Rule("never"),
        "before a season, the battery is replaced if it is so old",
    ),
    row(
        "care.clean_panel_every",
        Count(1, 3650),
        Rule("never"),
        "days from one cleaning of the panel by hand to the next, the first on the first day of the season; it takes what `panel.dirt_a_day`, \
         `panel.leaves` and `panel.droppings` brought",
    )
    .beside(&["panel.dirt_a_day", "panel.leaves", "panel.droppings"]),
    row(
        "care.winter",
        Words(Winter::WORDS),
        Is("left out"),
        "between two seasons: all stays out, with the pump off; or panel, mount, battery and pump are indoors at 15 degC, from the end of the \
         season to 20 days before the next one (two visits)",
    ),
    row(
        "care.visit_price",
        Exact(Number, 0.0, 1e9),
        Rule("not given"),
        "price of a visit to replace parts or to clean the panel, without the parts, in the currency of [prices]",
    ),
    row(
        "care.interest",
        Exact(Share, 0.0, 0.5),
        Is("0 %"),
        "real rate of interest a year for later expenses",
    ),
];
