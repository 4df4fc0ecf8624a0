//! Rows of panel, battery and electronics.

use super::Fallback::{Required, Rule, Text as Is};
use super::Kind::{Count, Exact, Flag, Named, Quantity, Words};
use super::{Key, row};
use crate::units::Dimension::*;

pub(super) const PANEL: &[Key] = &[
    row("panel.rated_power", Quantity(Power, 0.05, 2000.0), Required, "power at the maximum power point"),
    row(
        "panel.max_power_voltage",
        Quantity(Voltage, 0.4, 150.0),
        Rule("open-circuit voltage / 1.22; one of the two must be given"),
        "voltage at the maximum power point",
    ),
    row(
        "panel.open_circuit_voltage",
        Quantity(Voltage, 0.5, 200.0),
        Rule("1.22 x voltage at maximum power"),
        "voltage without load",
    ),
    row(
        "panel.short_circuit_current",
        Quantity(Current, 0.001, 100.0),
        Rule("1.07 x rated power / voltage at maximum power"),
        "current into a short circuit",
    ),
    row("panel.cells", Count(1, 288), Rule("voltage at maximum power / 0.49 V"), "cells in series"),
    row("panel.ideality", Quantity(Number, 1.0, 2.0), Is("1.1"), "diode ideality"),
    row(
        "panel.low_light",
        Named(&[("scaled shunt", 1.0), ("constant shunt", 0.0)], Number, 0.0, 1.0),
        Is("0.2 to 1, likely 0.6"),
        "weak light: 1 or \"scaled shunt\" = leaks less as light falls (good cells), 0 or \"constant shunt\" = leaks as in full sun (cheap cells)",
    ),
    row("panel.soiling", Quantity(Share, 0.0, 0.9), Is("0 to 6 %, likely 2 %"), "light lost to dirt"),
    row(
        "panel.blocking_drop",
        Quantity(Voltage, 0.0, 1.5),
        Is("0.3 to 0.4 V"),
        "forward drop of the blocking diode; 0 V without one",
    ),
    row(
        "panel.heat_loss",
        Quantity(HeatLoss, 5.0, 80.0),
        Is("20 to 29 W/(m2 K), likely 25"),
        "heat loss in still air (Faiman 2008); about 15 flat on a wall or box",
    ),
    row(
        "panel.heat_loss_wind",
        Quantity(HeatLossByWind, 0.0, 30.0),
        Is("6.84 W s/(m3 K)"),
        "heat loss for each m/s of wind (Faiman 2008); about 0 flat on a wall or box",
    ),
    row(
        "panel.incidence_loss",
        Quantity(Number, 0.0, 0.3),
        Is("0.05 to 0.1"),
        "loss at slanting light, b0 of ASHRAE 93: 0.05 glass, 0.10 textured plastic",
    ),
];

const LEAD: &[&str] = &["lead-acid"];

pub(super) const BATTERY: &[Key] = &[
    row(
        "battery.chemistry",
        Words(&[
            ("lithium ion", &["lithium-ion", "li-ion", "NMC", "LCO"]),
            ("lithium iron phosphate", &["LiFePO4", "LFP"]),
            ("lead-acid", &["lead acid", "AGM", "gel"]),
            ("nickel-metal hydride", &["nickel metal hydride", "NiMH"]),
        ]),
        Required,
        "what it is made of",
    ),
    row(
        "battery.voltage",
        Exact(Voltage, 1.0, 60.0),
        Required,
        "nominal voltage of the pack: a multiple of 3.6 or 3.7 V, 3.2 V, 2 V, 1.2 V by chemistry",
    ),
    row("battery.capacity", Quantity(Charge, 0.01, 1000.0), Required, "rated capacity"),
    row(
        "battery.capacity_left",
        Quantity(Share, 0.05, 1.0),
        Is("100 %"),
        "share of the rated capacity that is left at its age",
    ),
    row(
        "battery.resistance",
        Quantity(Resistance, 0.0001, 50.0),
        Rule(
            "0.12 to 0.18, 0.07 to 0.12, 0.025 to 0.035, 0.05 to 0.08 ohm Ah a cell by chemistry, over capacity",
        ),
        "resistance of the whole pack at 25 °C",
    ),
    row(
        "battery.coulombic_efficiency",
        Quantity(Share, 0.3, 1.0),
        Rule("99 to 99.9 %, 99 to 99.9 %, 85 to 95 %, 70 to 90 % by chemistry"),
        "share of the charge put in that comes out",
    ),
    row(
        "battery.self_discharge",
        Quantity(ShareAMonth, 0.0, 0.9),
        Rule("1 to 3, 1 to 3, 3 to 6, 15 to 30 %/month by chemistry"),
        "charge lost by itself at 20 °C; doubles every 10 K",
    ),
    row(
        "battery.temperature_lag",
        Quantity(Hours, 0.0, 72.0),
        Is("2 to 6 h"),
        "how slowly it follows the air's temperature (time constant)",
    ),
    row(
        "battery.kept_above_freezing",
        Flag,
        Is("false"),
        "true: indoors, in a buried box, or heated by other means",
    ),
    row(
        "battery.cycles_at_full_depth",
        Quantity(Number, 10.0, 100_000.0),
        Rule("302, 692, 200, 500 by chemistry, ± 30 %"),
        "cycles to end of life at full depth",
    ),
    row(
        "battery.cycle_exponent",
        Quantity(Number, 0.5, 3.0),
        Rule("1.26, 1.44, 1.18, 1.2 by chemistry"),
        "p of cycle life N(D) = N(full) D^-p at depth D",
    ),
    row(
        "battery.calendar_life",
        Quantity(Years, 0.5, 40.0),
        Rule("lithium 8 to 12, others 3 to 5 years"),
        "life on the shelf at 25 °C; halves every 10 K warmer, doubles every 10 K colder",
    ),
    row(
        "battery.kibam_c",
        Quantity(Number, 0.05, 1.0),
        Rule("0.25 to 0.4 for lead-acid"),
        "share of the charge that is at hand (Manwell & McGowan 1993)",
    )
    .only("battery.chemistry", LEAD),
    row(
        "battery.kibam_k",
        Quantity(Rate, 0.01, 10.0),
        Rule("0.3 to 1.5 /h for lead-acid"),
        "rate at which the bound charge follows (Manwell & McGowan 1993)",
    )
    .only("battery.chemistry", LEAD),
];

pub(super) const ELECTRONICS: &[Key] = &[
    row(
        "electronics.charging",
        Words(&[("direct", &[]), ("pwm", &["PWM"]), ("mppt", &["MPPT"])]),
        Rule("pwm with a battery, direct without"),
        "panel straight on the battery, held at the charge voltage by pulses, or through a converter that keeps the panel at its best",
    ),
    row(
        "electronics.charge_efficiency",
        Quantity(Share, 0.3, 1.0),
        Is("88 to 96 %, likely 92 %"),
        "share of the power a converter passes on",
    )
    .only("electronics.charging", &["mppt"]),
    row(
        "electronics.charge_voltage",
        Quantity(Voltage, 1.0, 80.0),
        Rule("4.20, 3.60, 2.40, 1.45 V a cell by chemistry"),
        "voltage at which charging is held, whole pack",
    ),
    row(
        "electronics.cut_off",
        Quantity(Voltage, 0.5, 80.0),
        Rule("3.00, 2.90, 1.92, 1.00 V a cell by chemistry"),
        "terminal voltage at which the pump is cut off",
    ),
    row(
        "electronics.reconnect",
        Quantity(Voltage, 0.5, 80.0),
        Rule("3.35, 3.20, 2.10, 1.25 V a cell by chemistry"),
        "terminal voltage at which it is connected again",
    ),
    row(
        "electronics.standby_current",
        Quantity(Current, 0.0, 1.0),
        Rule("1 to 5 mA, likely 2 mA, with a battery; 0 without"),
        "draw of charger and timer, day and night",
    ),
    row(
        "electronics.fed_first",
        Words(&[("pump", &[]), ("mount", &[])]),
        Is("pump"),
        "who is fed when the panel cannot feed both: together with the pump, or mount first with the pump unplugged while it moves",
    ),
    row(
        "electronics.charge_current_max",
        Quantity(Current, 0.001, 200.0),
        Rule("1, 1, 0.25, 0.5 A for each Ah by chemistry"),
        "largest charging current",
    ),
];
