//! Every key a design file may hold: one row each. Reading, range checks, "did you mean", the
//! unused-key warning and the reference page all come from this table.

use crate::units::Dimension;
use crate::units::Dimension::*;

/// One key of a design file.
#[derive(Debug)]
pub(super) struct Key {
    /// Table and name, e.g. `panel.rated_power`.
    pub path: &'static str,
    /// What may be written.
    pub kind: Kind,
    /// What holds if it is left out.
    pub default: Fallback,
    /// The key matters only if another key has one of these words.
    pub only: Option<(&'static str, &'static [&'static str])>,
    /// What it means; for the reference page.
    pub meaning: &'static str,
}

/// What may be written for a key. Ranges are in base units, ends included.
#[derive(Debug)]
pub(super) enum Kind {
    /// A quantity with or without uncertainty; the whole spread must lie in the range.
    Quantity(Dimension, f64, f64),
    /// A quantity that must be exact.
    Exact(Dimension, f64, f64),
    /// A whole number.
    Count(i64, i64),
    /// One of some words, each with other spellings that are understood.
    Words(&'static [(&'static str, &'static [&'static str])]),
    /// Any text.
    Text,
    /// true or false.
    Flag,
    /// A form of its own, read by a function of its own; how it is written.
    Form(&'static str),
}

/// What holds for a key that is left out.
#[derive(Debug)]
pub(super) enum Fallback {
    /// It must be given.
    Required,
    /// As if this were written.
    Text(&'static str),
    /// Follows from other keys; how.
    Rule(&'static str),
}

/// The row of a key.
pub(super) fn key(path: &str) -> Option<&'static Key> {
    TABLES.iter().flat_map(|t| t.1).find(|k| k.path == path)
}

/// All rows.
pub(super) fn all() -> impl Iterator<Item = &'static Key> {
    TABLES.iter().flat_map(|t| t.1)
}

/// Tables in the order of the reference page: name, rows, what the table is about.
pub(super) const TABLES: [(&str, &[Key], &str); 9] = [
    ("", TOP, "At the top of the file, before any table."),
    ("site", SITE, "The place and its weather."),
    ("wish", WISH, "What is wanted of the jet, and when a day counts as still."),
    ("panel", PANEL, "The solar panel, from its label (1000 W/m², cell at 25 °C)."),
    ("mount", MOUNT, "What carries the panel."),
    (
        "battery",
        BATTERY,
        "The store between panel and pump. Leave the table out and the pump hangs on the panel alone.",
    ),
    ("electronics", ELECTRONICS, "What sits between panel, battery, pump and mount."),
    ("pump", PUMP, "The pump, its motor and its jet."),
    ("water", WATER, "The basin, what leaves it and who fills it."),
];

const fn row(path: &'static str, kind: Kind, default: Fallback, meaning: &'static str) -> Key {
    Key { path, kind, default, only: None, meaning }
}

impl Key {
    const fn only(self, key: &'static str, words: &'static [&'static str]) -> Key {
        Key { only: Some((key, words)), ..self }
    }
}

use self::Fallback::{Required, Rule, Text as Is};
use self::Kind::{Count, Exact, Flag, Form, Quantity, Text, Words};

const DAYS: Kind = Count(0, 364);

const TOP: &[Key] = &[row("title", Text, Rule("the file's name"), "what the build is called")];

const SITE: &[Key] = &[
    row(
        "site.weather",
        Form("\"town.csv\" or [\"2019.csv\", \"2020.csv\"]"),
        Required,
        "weather files, relative to the design file: one typical year, or several real years as one pool",
    ),
    row(
        "site.skyline",
        Form("[[\"90 deg\", \"8 deg\"], ...]"),
        Rule("open to the horizon"),
        "what stands between panel and horizon: corners as azimuth (from north, clockwise) and height, by rising azimuth; straight lines between them",
    ),
    row("site.albedo", Quantity(Share, 0.0, 1.0), Is("15 to 25 %"), "share of light the ground throws back"),
    row(
        "site.year_spread",
        Form("\"published\", \"none\" or { monthly = \"12 %\", annual = \"4 %\" }"),
        Is("published"),
        "how far the sums of months and years differ between years (standard deviation over mean): published figures by climate, none at all, or given",
    ),
];

const WISH: &[Key] = &[
    row(
        "wish.season",
        Form("\"04-01 to 10-31\""),
        Is("01-01 to 12-31"),
        "first and last day, month-day; may run over the new year",
    ),
    row(
        "wish.hours",
        Form("\"sunrise + 30 min to sunset + 2 h\", \"08:00 to 22:00\""),
        Is("sunrise + 30 min to sunset"),
        "when the jet is wanted; clock times are local standard time",
    ),
    row("wish.jet", Quantity(Length, 0.005, 20.0), Is("5 cm"), "height the jet must reach to count"),
    row(
        "wish.still_below",
        Exact(Duration, 0.0, 1440.0),
        Is("30 min"),
        "a day with fewer jet minutes is still",
    ),
    row(
        "wish.enough",
        Exact(Share, 0.0, 1.0),
        Is("50 %"),
        "a day with less than this share of its wanted minutes is short",
    ),
    row(
        "wish.dusk_run",
        Exact(Duration, 0.0, 720.0),
        Rule("as long after sunset as `hours` asks; 60 min if they end at a clock time"),
        "how long after sunset the jet should go on",
    ),
    row(
        "wish.pulse_counts_from",
        Exact(Share, 0.0, 1.0),
        Is("50 %"),
        "a minute of pulsing counts if the pump runs at least this share of it",
    ),
    row("wish.still_days", Exact(Number, 0.0, 31.0), Is("2"), "still days a month that are bearable"),
    row("wish.confidence", Exact(Share, 0.01, 0.999), Is("90 %"), "share of years that must bear it out"),
];

const PANEL: &[Key] = &[
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
        Form("\"scaled shunt\", \"constant shunt\" or a number between 1 and 0"),
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

const FIXED: &[&str] = &["fixed"];
const MOVING: &[&str] = &["sun-following", "light-seeking"];
const SEEKING: &[&str] = &["light-seeking"];

const MOUNT: &[Key] = &[
    row(
        "mount.kind",
        Words(&[
            ("fixed", &[]),
            ("sun-following", &["sun following"]),
            ("light-seeking", &["light seeking"]),
        ]),
        Is("fixed"),
        "how it decides where to look",
    ),
    row("mount.tilt", Quantity(Angle, 0.0, 90.0), Is("35 deg"), "tilt from the horizontal")
        .only("mount.kind", FIXED),
    row(
        "mount.azimuth",
        Quantity(Angle, 0.0, 360.0),
        Is("180 deg"),
        "where it looks: 90 east, 180 south, 0 or 360 north",
    )
    .only("mount.kind", FIXED),
    row("mount.rest_azimuth", Quantity(Angle, 0.0, 360.0), Is("90 deg"), "where it waits for morning")
        .only("mount.kind", MOVING),
    row("mount.rest_tilt", Quantity(Angle, 0.0, 90.0), Is("45 deg"), "tilt at which it waits for morning")
        .only("mount.kind", MOVING),
    row("mount.tilt_max", Quantity(Angle, 5.0, 90.0), Is("80 deg"), "steepest tilt it reaches")
        .only("mount.kind", MOVING),
    row(
        "mount.azimuth_range",
        Form("[\"60 deg\", \"300 deg\"]"),
        Rule("all round"),
        "azimuths it reaches, from the first clockwise to the second",
    )
    .only("mount.kind", MOVING),
    row("mount.speed", Quantity(AngularSpeed, 0.01, 180.0), Is("1 to 4 deg/s"), "speed of its motors")
        .only("mount.kind", MOVING),
    row("mount.step", Quantity(Angle, 0.05, 45.0), Is("2 deg"), "smallest move")
        .only("mount.kind", &["sun-following"]),
    row(
        "mount.motor_current",
        Quantity(Current, 0.001, 10.0),
        Is("100 to 250 mA, likely 150 mA"),
        "current of its motors while they turn",
    )
    .only("mount.kind", MOVING),
    row(
        "mount.lowest_voltage",
        Quantity(Voltage, 0.5, 50.0),
        Is("3.8 to 5 V, likely 4.5 V"),
        "supply voltage below which its motors stall",
    )
    .only("mount.kind", MOVING),
    row(
        "mount.standby_current",
        Quantity(Current, 0.0, 1.0),
        Is("3 to 15 mA, likely 8 mA"),
        "draw of its sensor board or clock, day and night",
    )
    .only("mount.kind", MOVING),
    row(
        "mount.head",
        Words(&[("walls", &[]), ("tilted", &[]), ("back-to-back", &["back to back"])]),
        Is("walls"),
        "sensor head: cross-shaped walls over flat cells (the usual build), cells tilted outwards, cells back to back",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.contrast",
        Quantity(Share, 0.001, 0.6),
        Is("3 to 8 %, likely 5 %"),
        "contrast of opposed cells below which it stays put",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.shadow",
        Quantity(Angle, 0.5, 80.0),
        Is("10 to 25 deg, likely 18 deg"),
        "off-axis angle at which the walls' shadow covers a whole cell",
    )
    .only("mount.kind", SEEKING),
    row("mount.cell_tilt", Quantity(Angle, 5.0, 85.0), Is("45 deg"), "tilt of the cells from the axis")
        .only("mount.head", &["tilted"]),
    row(
        "mount.dim",
        Quantity(Irradiance, 0.0, 500.0),
        Is("5 to 30 W/m2, likely 10 W/m2"),
        "light on the head below which it does not seek",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.pull",
        Quantity(Angle, 0.0, 45.0),
        Is("2 to 10 deg, likely 5 deg"),
        "how far patchy cloud pulls it about (standard deviation at half cloud)",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.stuck_from_day",
        DAYS,
        Rule("it never sticks"),
        "a fault: from this day of the season on (0 = first) it stays where it is",
    )
    .only("mount.kind", MOVING),
];

const LEAD: &[&str] = &["lead-acid"];

const BATTERY: &[Key] = &[
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
        "life on the shelf at 25 °C",
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

const ELECTRONICS: &[Key] = &[
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

const BRUSHED: &[&str] = &["brushed"];

const PUMP: &[Key] = &[
    row(
        "pump.kind",
        Words(&[("brushed", &[]), ("electronic", &["brushless"])]),
        Is("electronic"),
        "motor with brushes, or brushless with electronics of its own",
    ),
    row(
        "pump.bench",
        Form("[[\"3 V\", \"110 mA\", \"120 mm\"], ...]"),
        Required,
        "what it draws and how high the jet goes at a voltage, by rising voltage; measured, or one row from the label",
    ),
    row(
        "pump.highest_voltage",
        Quantity(Voltage, 0.5, 100.0),
        Rule("1.2 x voltage of the last bench row"),
        "highest voltage it bears; held there by the electronics",
    ),
    row(
        "pump.start_voltage",
        Quantity(Voltage, 0.01, 100.0),
        Rule(
            "electronic: 48 to 56 % of the last bench voltage, not above the first; brushed: break-away current x winding resistance",
        ),
        "voltage at which it starts",
    ),
    row(
        "pump.stop_voltage",
        Quantity(Voltage, 0.0, 100.0),
        Rule("electronic: 85 % of the start voltage; brushed: half of it"),
        "voltage below which it stops",
    ),
    row(
        "pump.break_away_current",
        Quantity(Current, 0.0005, 50.0),
        Rule("1.3 to 2.1 x the friction current read from the bench rows"),
        "current at which it breaks away from rest",
    )
    .only("pump.kind", BRUSHED),
    row(
        "pump.winding_resistance",
        Quantity(Resistance, 0.001, 2000.0),
        Rule("10 to 30 % of voltage over current of the last bench row"),
        "resistance of the winding",
    )
    .only("pump.kind", BRUSHED),
    row(
        "pump.flow",
        Quantity(Flow, 0.01, 1000.0),
        Rule("8 to 25 % of the electric power of the last bench row as power of the jet"),
        "flow at the last bench row",
    ),
    row(
        "pump.rated_hours",
        Exact(Hours, 1.0, 1e6),
        Rule("not rated"),
        "hours of life, if the maker rates them",
    ),
    row(
        "pump.blocked_from_day",
        DAYS,
        Rule("it never blocks"),
        "a fault: from this day of the season on (0 = first) it is blocked",
    ),
];

const WATER: &[Key] = &[
    row("water.area", Quantity(Area, 0.001, 10_000.0), Is("0.5 m2"), "open surface"),
    row("water.usable", Quantity(Volume, 0.05, 1e6), Is("20 L"), "water above the low-water mark when full"),
    row(
        "water.rim",
        Quantity(Length, 0.01, 50.0),
        Rule("radius of a round basin of that area"),
        "from the jet to the rim: drops that drift farther are lost",
    ),
    row(
        "water.wind_share",
        Quantity(Share, 0.0, 1.0),
        // Over open grass the wind at 30 cm is 42 % of that at 10 m (FAO-56 eq. 47); walls and
        // hedges halve it again (common practice, no source).
        Is("10 to 50 %, likely 25 %"),
        "wind at the jet over the wind at 10 m that weather files give",
    ),
    row(
        "water.drop",
        Quantity(SmallLength, 0.2, 8.0),
        Is("1 to 4 mm, likely 2 mm"),
        "mean diameter of the drops",
    ),
    row(
        "water.evaporation_factor",
        Quantity(Number, 0.2, 3.0),
        Is("1.2 to 1.5"),
        "evaporation of a small basin in the open over Penman's open water",
    ),
    row(
        "water.spray_evaporation",
        Quantity(Share, 0.0, 2.0),
        Is("20 to 50 %"),
        "extra evaporation while the jet runs",
    ),
    row(
        "water.top_up",
        Form("\"always\", \"every 7 days\" or \"rain\""),
        Is("always"),
        "how it is filled up: a float valve or spring, by hand every so many days, by rain alone",
    ),
    row(
        "water.wind_cut_off",
        Exact(Speed, 0.5, 50.0),
        Rule("none"),
        "wind speed at which the pump is stopped",
    ),
];
