//! Rows of the panel: its label, its place, and what lies on it.

use super::key::Fallback::{Numbers, Required, Rule, Text as Is};
use super::key::Kind::{Count, Flag, Named, Quantity, Words};
use super::key::{Key, row};
use super::words::WordList;
use crate::design::label::CellLimits;
use crate::design::parts::{CellTechnology, Front};
use crate::units::Dimension::*;
use crate::units::significant;

/// Something of each cell technology, in the order of the word list.
fn by_technology_text(of: impl Fn(&CellLimits) -> String) -> String {
    CellTechnology::ALL.iter().map(|t| of(&t.limits())).collect::<Vec<_>>().join(", ")
}

/// `-0.46 to -0.36`, of shares in %.
fn percent_range((lo, hi): (f64, f64)) -> String {
    format!("{} to {}", significant(100.0 * lo, 3), significant(100.0 * hi, 3))
}

/// A number of each cell technology, in the order of the word list.
fn by_technology(of: impl Fn(&CellLimits) -> f64) -> String {
    CellTechnology::ALL.iter().map(|t| significant(of(&t.limits()), 6)).collect::<Vec<_>>().join(", ")
}

/// The temperature coefficients of a label; any of them makes all hold.
const COEFFICIENTS: &[&str] =
    &["panel.current_coefficient", "panel.voltage_coefficient", "panel.power_coefficient"];

/// What may cover cells.
const COVER: &[&str] = &["panel.covered_cells", "panel.leaves", "panel.droppings"];

pub(super) const PANEL: &[Key] = &[
    row(
        "panel.technology",
        Words(CellTechnology::WORDS),
        Is("crystalline"),
        "what its cells are made of; small panels without a word on it are crystalline if one sees single cells",
    ),
    row("panel.rated_power", Quantity(Power, 0.05, 2000.0), Required, "power at the maximum power point"),
    row(
        "panel.max_power_voltage",
        Quantity(Voltage, 0.4, 150.0),
        Numbers(|| {
            format!(
                "open-circuit voltage / {} by technology; one of the two must be given",
                by_technology(|l| l.open_over_max_power_v)
            )
        }),
        "voltage at the maximum power point",
    ),
    row(
        "panel.open_circuit_voltage",
        Quantity(Voltage, 0.5, 200.0),
        Numbers(|| {
            format!("{} by technology x voltage at maximum power", by_technology(|l| l.open_over_max_power_v))
        }),
        "voltage without load",
    ),
    row(
        "panel.short_circuit_current",
        Quantity(Current, 0.001, 100.0),
        Numbers(|| {
            format!(
                "{} by technology x rated power / voltage at maximum power",
                by_technology(|l| l.short_over_max_power_a)
            )
        }),
        "current when short-circuited",
    ),
    row(
        "panel.cells",
        Count(1, 288),
        Numbers(|| {
            format!("voltage at maximum power / {} V by technology", by_technology(|l| l.max_power_v))
        }),
        "cells in series",
    ),
    row("panel.ideality", Quantity(Number, 1.0, 2.0), Is("1.1"), "diode ideality factor"),
    row(
        "panel.low_light",
        Named(&[("scaled shunt", 1.0), ("constant shunt", 0.0)], Number, 0.0, 1.0),
        Is("0.2 to 1, likely 0.6"),
        "weak light: 1 or \"scaled shunt\" = leakage falls with the light (good cells), 0 or \"constant shunt\" = leakage as in full sun (cheap cells)",
    ),
    row(
        "panel.front",
        Words(Front::WORDS),
        Is("glass"),
        "what lies before the cells: panels behind plastic fade faster over the years (`stilldays years`): half of them by more than 0.55, 2, 4, 8 % a year for glass, fluoropolymer, PET, resin",
    ),
    row(
        "panel.soiling",
        Quantity(Share, 0.0, 0.9),
        Is("0 to 6 %, likely 2 %"),
        "share of the light lost to dirt",
    ),
    row(
        "panel.blocking_drop",
        Quantity(Voltage, 0.0, 1.5),
        Is("0.3 to 0.4 V"),
        "forward voltage of the blocking diode; 0 V without one",
    ),
    row(
        "panel.heat_loss",
        Quantity(HeatLoss, 5.0, 80.0),
        Is("20 to 29 W/(m2 K), likely 25"),
        "heat loss coefficient in still air (Faiman 2008); about 15 flat on a wall or box",
    ),
    row(
        "panel.heat_loss_wind",
        Quantity(HeatLossByWind, 0.0, 30.0),
        Is("6.84 W s/(m3 K)"),
        "additional heat loss coefficient for each m/s of wind (Faiman 2008); about 0 flat on a wall or box",
    ),
    row(
        "panel.incidence_loss",
        Quantity(Number, 0.0, 0.3),
        Is("0.05 to 0.1"),
        "loss at oblique incidence, b0 of ASHRAE 93: 0.05 glass, 0.10 textured plastic",
    ),
    row(
        "panel.current_coefficient",
        Quantity(TemperatureCoefficient, -0.001, 0.003),
        // Common practice, no source.
        Is("0.05 %/K"),
        "change of the short-circuit current with the temperature, as on a data sheet; if none of the three coefficients is given, the diode's \
         ideality sets them (De Soto 2006), which loses more in the heat",
    )
    .beside(COEFFICIENTS),
    row(
        "panel.voltage_coefficient",
        Quantity(TemperatureCoefficient, -0.006, -0.0005),
        // Common practice, no source.
        Is("-0.34 to -0.28 %/K"),
        "change of the open-circuit voltage with the temperature",
    )
    .beside(COEFFICIENTS),
    row(
        "panel.power_coefficient",
        Quantity(TemperatureCoefficient, -0.008, -0.0005),
        Numbers(|| format!("{} %/K by technology", by_technology_text(|l| percent_range(l.power_per_k)))),
        "change of the maximum power with the temperature",
    )
    .beside(COEFFICIENTS),
    row(
        "panel.cable_length",
        Quantity(Length, 0.0, 200.0),
        Rule("none: the cable is left out"),
        "length of the cable from the panel, one way",
    ),
    row(
        "panel.cable_section",
        Quantity(CrossSection, 0.03, 50.0),
        // Common practice, no source: cables of small panels.
        Is("0.5 mm2"),
        "cross-section of each of its two copper wires: 0.22 to 1.5 mm2",
    )
    .beside(&["panel.cable_length"]),
    row(
        "panel.cable_resistance",
        Quantity(Resistance, 0.0, 100.0),
        Rule("2 x length x 0.0175 ohm mm2/m / section"),
        "resistance of both wires, where it has been measured; it takes the place of length and section",
    ),
    row(
        "panel.dirt_a_day",
        Quantity(Share, 0.0, 0.05),
        Rule("none: `soiling` stays as it is"),
        // Kimber et al. 2006, table: 0.11 % rural, 0.1 to 0.2 % in towns, 0.3 % in deserts (of dry California); moist climates 0.02 to 0.08 %
        // (common practice, no source).
        "share of the light that dirt takes more each day until rain washes it off: 0.02 to 0.1 % in moist climates, 0.1 to 0.2 % in dry \
         ones and in towns, 0.3 % in deserts",
    ),
    row(
        "panel.dirt_washed_by",
        Quantity(SmallLength, 0.0, 50.0),
        // Kimber et al. 2006: 6 mm; moist climates 1 to 5 mm (common practice, no source).
        Is("1 to 6 mm, likely 5 mm"),
        "rain of a day above which dirt is washed off",
    )
    .beside(&["panel.dirt_a_day"]),
    row(
        "panel.dirt_grace",
        Count(0, 60),
        // Kimber et al. 2006: 14 days, in California; moist climates 0 to 3 (common practice, no source).
        Is("3"),
        "days after a washing rain, that of the rain counted, on which no dirt grows",
    )
    .beside(&["panel.dirt_a_day"]),
    row(
        "panel.dirt_at_most",
        Quantity(Share, 0.0, 0.9),
        // Kimber et al. 2006.
        Is("30 %"),
        "the most light that this dirt takes",
    )
    .beside(&["panel.dirt_a_day"]),
    row(
        "panel.dirt_rain_every",
        Quantity(Duration, 1440.0, 525_600.0),
        // Common practice, no source.
        Is("7 to 30 d, likely 15 d"),
        "time from one washing rain to the next, where the weather file has no rain: the mean dirt is then taken on every day",
    )
    .beside(&["panel.dirt_a_day"]),
    row(
        "panel.leaves",
        Quantity(Number, 0.0, 200.0),
        Rule("none"),
        // Common practice, no source.
        "leaves that fall on a square metre a day in the weeks of leaf fall (from `site.colouring` on): 1 to 5 under trees, 0.02 far from any; one in \
         a hundred of it at other times. Each lies until gusts, rain of 5 mm on a tilted panel or a hand take it away",
    ),
    row(
        "panel.droppings",
        Quantity(Number, 0.0, 10.0),
        Rule("none"),
        // Common practice, no source.
        "bird droppings that fall on a square metre a day: 0.01 to 0.05; each lies until rain of 15 mm or a hand takes it away",
    ),
    row(
        "panel.snow",
        Flag,
        Rule("false: snow is left out"),
        "whether snow lies on the panel (Marion et al. 2013, fitted to large fixed arrays): any snow stops it until it has slid off. The \
         weather file must have rain; below 0 degC it falls as snow",
    ),
    row(
        "panel.covered_cells",
        Quantity(Number, 0.0, 288.0),
        Rule("none"),
        "cells of the string that something covers for good (a twig, a clip, a label), rounded to whole ones: they limit \
         the current of the whole string",
    ),
    row(
        "panel.covered_share",
        Quantity(Share, 0.0, 1.0),
        // Common practice, no source.
        Is("50 to 95 %, likely 80 %"),
        "share of their light that the covered cells lose",
    )
    .beside(&["panel.covered_cells"]),
    row(
        "panel.cell_leak",
        Quantity(Share, 0.001, 2.0),
        // Common practice, no source: good cells 0.01 to 0.05, cheap cut ones 0.05 to 0.5.
        Is("3 to 30 %, likely 10 %"),
        "current that a dark cell lets through at -10 V, as a share of the short-circuit current: 1 to 5 % good cells, \
         5 to 50 % cheap cut ones; it decides what is left in weak light when a cell is covered",
    )
    .beside(COVER),
    row(
        "panel.bypass_diodes",
        Count(0, 48),
        // Common practice, no source: small panels rarely have any.
        Is("0"),
        "bypass diodes, each over an equal part of the string (Schottky, 0.4 V); small panels rarely have any",
    )
    .beside(COVER),
];
