//! Rows of the rules by which the pump runs.

use super::key::Fallback::{Rule, Text as Is};
use super::key::Kind::{Exact, Flag, Form, Quantity, Words};
use super::key::{Key, row};
use super::words::WordList;
use crate::design::parts::RunsWhen;
use crate::units::Dimension::*;

/// Below which state of charge a rule acts, and from which it ends.
macro_rules! by_charge {
    (below $name:literal, $acts:literal) => {
        row(
            concat!("running.", $name, "_below"),
            Quantity(Share, 0.05, 0.95),
            Rule("no such rule"),
            concat!("state of charge below which ", $acts),
        )
        .with_battery()
    };
    (ends $name:literal) => {
        row(
            concat!("running.", $name, "_ends"),
            Quantity(Share, 0.1, 1.0),
            Rule(concat!("10 percentage points above `", $name, "_below`")),
            "state of charge from which that ends, at least 5 percentage points higher",
        )
        .beside(&[concat!("running.", $name, "_below")])
    };
}

/// The same by voltage, which is what most small controllers measure.
macro_rules! by_voltage {
    (below $name:literal) => {
        row(
            concat!("running.", $name, "_below_voltage"),
            Quantity(Voltage, 0.5, 100.0),
            Rule("no such rule"),
            concat!(
                "instead of `",
                $name,
                "_below`: voltage of the battery, under its load, below which it acts"
            ),
        )
        .with_battery()
    };
    (ends $name:literal) => {
        row(
            concat!("running.", $name, "_ends_voltage"),
            Quantity(Voltage, 0.5, 100.0),
            Rule(concat!(
                "3 % above `",
                $name,
                "_below_voltage`, and at least 1.5 times what the voltage rises by when the pump stops"
            )),
            "voltage from which that ends",
        )
        .beside(&[concat!("running.", $name, "_below_voltage")])
    };
}

/// How slow a pump then runs.
macro_rules! speed {
    (share $name:literal, $given:expr, $default:literal) => {
        row(
            concat!("running.", $name, "_speed"),
            Quantity(Share, 0.1, 1.0),
            // Common practice, no source.
            Rule($default),
            "share of its voltage that the pump then gets from a chopper (pulse-width modulation, taken as lossless): the jet falls \
             with the square of it, the power with about the third power",
        )
        .beside($given)
    };
    (volts $name:literal, $given:expr) => {
        row(
            concat!("running.", $name, "_voltage"),
            Quantity(Voltage, 0.5, 100.0),
            Rule(concat!("by `", $name, "_speed`")),
            concat!(
                "instead of `",
                $name,
                "_speed`: highest voltage that the pump then gets from a linear regulator, which turns the rest to heat"
            ),
        )
        .beside($given)
    };
}

const SLOW_GIVEN: &[&str] = &["running.slow_below", "running.slow_below_voltage"];
const SLOWER_GIVEN: &[&str] = &["running.slower_below", "running.slower_below_voltage"];
const REST_GIVEN: &[&str] = &["running.rest_below", "running.rest_below_voltage"];
const RESERVE_GIVEN: &[&str] = &["running.reserve_below", "running.reserve_below_voltage"];
const HOLD_GIVEN: &[&str] = &["running.hold_until", "running.hold_until_voltage", "running.hold_for_mount"];

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
    by_charge!(below "slow", "the pump runs slower"),
    by_charge!(ends "slow"),
    by_voltage!(below "slow"),
    by_voltage!(ends "slow"),
    speed!(share "slow", SLOW_GIVEN, "70 %"),
    speed!(volts "slow", SLOW_GIVEN),
    by_charge!(below "slower", "it runs slower again (a third speed)"),
    by_charge!(ends "slower"),
    by_voltage!(below "slower"),
    by_voltage!(ends "slower"),
    speed!(share "slower", SLOWER_GIVEN, "50 %"),
    speed!(volts "slower", SLOWER_GIVEN),
    by_charge!(below "rest", "it runs and rests in turn"),
    by_charge!(ends "rest"),
    by_voltage!(below "rest"),
    by_voltage!(ends "rest"),
    row(
        "running.rest_on",
        Exact(Duration, 1.0, 240.0),
        // Common practice, no source.
        Is("5 min"),
        "whole minutes for which the pump then runs, first ...",
    )
    .beside(REST_GIVEN),
    row("running.rest_off", Exact(Duration, 1.0, 240.0), Is("10 min"), "... and rests, in turn")
        .beside(REST_GIVEN),
    row(
        "running.hold_until",
        Quantity(Share, 0.1, 1.0),
        Rule("no such rule"),
        "state of charge that the battery must have reached since first light before the pump is let run",
    )
    .with_battery(),
    row(
        "running.hold_until_voltage",
        Quantity(Voltage, 0.5, 100.0),
        Rule("no such rule"),
        "the same as a voltage of the battery",
    )
    .with_battery(),
    row(
        "running.hold_for_mount",
        Flag,
        Is("false"),
        "whether the pump is held from first light until the mount has stood within its dead band for 5 minutes",
    )
    .only("mount.kind", &["sun-following", "light-seeking"]),
    row(
        "running.hold_latest",
        Form("\"12:00\", \"sunrise + 4 h\""),
        Is("12:00"),
        "hour at which the hold of the morning ends at the latest",
    )
    .beside(HOLD_GIVEN),
    by_charge!(below "reserve", "it is held back before `reserve_until`"),
    by_charge!(ends "reserve"),
    by_voltage!(below "reserve"),
    by_voltage!(ends "reserve"),
    row(
        "running.reserve_until",
        Form("\"18:00\", \"sunset - 1 h\""),
        Is("sunset"),
        "hour from which on the reserve may be used, down to the cut-off",
    )
    .beside(RESERVE_GIVEN),
    row(
        "running.rain_off",
        Exact(SmallLength, 0.01, 100.0),
        Rule("rain does not stop it"),
        "rain of an hour of the weather file, mm, from which the pump is off in that hour",
    ),
];
