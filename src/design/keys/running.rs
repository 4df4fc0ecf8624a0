//! Rows of the rules by which the pump runs.

use super::key::Fallback::{Rule, Text as Is};
use super::key::Kind::{Form, Quantity, Words};
use super::key::{Key, row};
use super::words::WordList;
use crate::design::parts::RunsWhen;
use crate::units::Dimension::*;

pub(super) const RUNNING: &[Key] = &[
    row(
        "running.when",
        Words(RunsWhen::WORDS),
        Rule("timer if `hours` is given; else the wanted hours with a battery, and always without"),
        "when the pump is let run: in the wanted hours (a timer set to them), always, while it is light (a light switch), \
         or by a timer with `hours` of its own",
    ),
    row(
        "running.hours",
        Form("\"10:00 to 23:00\", \"sunrise to sunset + 3 h\""),
        Rule("`wish.hours`"),
        "hours a timer is set to; clock times are local standard time",
    )
    .only("running.when", &["timer"]),
    row(
        "running.light",
        Quantity(Irradiance, 1.0, 500.0),
        // Common practice, no source: small controllers take the panel as their eye.
        Is("5 to 30 W/m2, likely 10 W/m2"),
        "light on the panel from which a light switch lets the pump run; it stops it again below half of that",
    )
    .only("running.when", &["light"]),
];
