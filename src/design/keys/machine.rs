//! Rows of mount and pump.

use super::Fallback::{Required, Rule, Text as Is};
use super::Kind::{Count, Exact, Form, Quantity, Words};
use super::{Key, Kind, row};
use crate::units::Dimension::*;

const DAYS: Kind = Count(0, 364);

const FIXED: &[&str] = &["fixed"];
const MOVING: &[&str] = &["sun-following", "light-seeking"];
const SEEKING: &[&str] = &["light-seeking"];

pub(super) const MOUNT: &[Key] = &[
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

const BRUSHED: &[&str] = &["brushed"];

pub(super) const PUMP: &[Key] = &[
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
        "pump.nozzle_bore",
        Quantity(SmallLength, 0.5, 50.0),
        Rule("the bench rows give the height of the jet itself"),
        "bore of the nozzle; given, the third value of a bench row is the head before the nozzle, and the jet follows from it",
    ),
    row(
        "pump.nozzle_velocity",
        Quantity(Share, 0.3, 1.0),
        Is("85 to 97 %, likely 93 %"),
        "with `nozzle_bore`: speed of the water over that of a free fall from the head (smooth bore 95 to 98 %, small spray head 80 to 90 %)",
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
