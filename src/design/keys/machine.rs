//! Rows of mount and pump.

use super::key::Fallback::{Numbers, Required, Rule, Text as Is};
use super::key::Kind::{Count, Exact, Form, Quantity, Words};
use super::key::{Key, Kind, row};
use super::words::WordList;
use crate::design::parts::{Head, MountKind, PumpKind};
use crate::design::rules::*;
use crate::units::Dimension::*;
use crate::units::significant;

const DAYS: Kind = Count(0, 364);

const FIXED: &[&str] = &["fixed"];
const MOVING: &[&str] = &["sun-following", "light-seeking"];
const SEEKING: &[&str] = &["light-seeking"];

pub(super) const MOUNT: &[Key] = &[
    row(
        "mount.kind",
        Words(MountKind::WORDS),
        Is("fixed"),
        "whether it moves: not at all, to the computed position of the sun, or to the brightest light it senses",
    ),
    row("mount.tilt", Quantity(Angle, 0.0, 90.0), Is("35 deg"), "tilt from the horizontal")
        .only("mount.kind", FIXED),
    row(
        "mount.azimuth",
        Quantity(Angle, 0.0, 360.0),
        Is("180 deg"),
        "direction it faces: 90 east, 180 south, 0 or 360 north",
    )
    .only("mount.kind", FIXED),
    row("mount.rest_azimuth", Quantity(Angle, 0.0, 360.0), Is("90 deg"), "azimuth at which it waits for morning")
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
        "current of its sensor board or clock, day and night; a fixed mount draws none",
    )
    .only("mount.kind", MOVING),
    row(
        "mount.head",
        Words(Head::WORDS),
        Is("walls"),
        "sensor head: cross-shaped walls over flat cells (the usual kind), cells tilted outwards, or cells back to back",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.contrast",
        Quantity(Share, 0.001, 0.6),
        Is("3 to 8 %, likely 5 %"),
        "contrast between opposite cells below which it does not move",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.shadow",
        Quantity(Angle, 0.5, 80.0),
        Is("10 to 25 deg, likely 18 deg"),
        "off-axis angle at which the shadow of the walls covers a whole cell",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.overcast_glow",
        Quantity(Share, 0.0, 1.0),
        // Perez 1990 has a little glow under any cover, the overcast sky of the CIE has none.
        Is("0 to 100 %"),
        "share of the glow around the hidden sun that the head sees under a closed cover: 0 looks up, 100 % leans 20 to 40 deg toward the sun",
    )
    .only("mount.head", &["walls"]),
    row(
        "mount.mismatch_tilt",
        Quantity(Share, -0.6, 0.6),
        // Photoresistors taken at random differ by up to 23 %, picked ones by 0.06 % (Boukdir & El Omari, from an abstract); the spread between
        // them is common practice, no source.
        Is("0 ± 10 %"),
        "by how much the lower cells read more than the upper ones in the same light (negative: less): the head looks too low",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.mismatch_turn",
        Quantity(Share, -0.6, 0.6),
        Is("0 ± 10 %"),
        "by how much the cells on the clockwise side read more than those on the other: the head looks too far clockwise",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.cover_scatter",
        Quantity(Share, 0.0, 0.9),
        Is("0 %"),
        "share of the cells' light that a milky cover evens out: dead band and effect of unlike cells grow by 1/(1 - share)",
    )
    .only("mount.kind", SEEKING),
    row("mount.cell_tilt", Quantity(Angle, 5.0, 85.0), Is("45 deg"), "tilt of the cells from the axis")
        .only("mount.head", &["tilted"]),
    row(
        "mount.delay",
        Quantity(Duration, 0.0, 0.5),
        // Common practice, no source: photoresistors in good light; in dull light up to a second.
        Is("0.1 to 0.3 s"),
        "time from what the cells see to what the motors do, with the pause between two readings; if speed x delay + coast exceeds the whole dead band, the head hunts",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.coast",
        Quantity(Angle, 0.0, 20.0),
        // Common practice, no source.
        Is("0 to 0.3 deg"),
        "how far it goes on after the motors are switched off; of stepper or servo motors the smallest step",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.noise",
        Quantity(Share, 0.0, 0.2),
        // Common practice, no source.
        Is("0.2 to 0.5 %"),
        "standard deviation of the noise in the contrast in steady light, five times as much under passing clouds; near the dead band (`contrast`) the head hunts",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.dim",
        Quantity(Irradiance, 0.0, 500.0),
        Is("5 to 30 W/m2, likely 10 W/m2"),
        "irradiance on the head below which it does not move",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.pull",
        Quantity(Angle, 0.0, 45.0),
        Is("2 to 10 deg, likely 5 deg"),
        "aiming error under patchy cloud (standard deviation at half cloud cover)",
    )
    .only("mount.kind", SEEKING),
    row(
        "mount.rated_hours",
        Exact(Hours, 1.0, 1e6),
        Rule("not rated: half of all mounts of a make wear out within 500 h, of another make within 260 or 950 h"),
        "hours for which its motors run until its gears are worn out, if the maker states it",
    )
    .only("mount.kind", MOVING),
    row(
        "mount.rated_moves",
        Exact(Number, 1.0, 1e9),
        Rule("not rated"),
        "moves until its gears are worn out, if the maker states them instead of hours",
    )
    .only("mount.kind", MOVING),
    row(
        "mount.stuck_from_day",
        DAYS,
        Rule("never"),
        "simulated fault: day of the season (0 = first) from which it is stuck",
    )
    .only("mount.kind", MOVING),
];

/// `48 to 56 %`, of shares of 1.
fn percent(shares: &[f64]) -> String {
    let numbers: Vec<String> = shares.iter().map(|share| significant(100.0 * share, 4)).collect();
    format!("{} %", numbers.join(" to "))
}

const BRUSHED: &[&str] = &["brushed"];

pub(super) const PUMP: &[Key] = &[
    row(
        "pump.kind",
        Words(PumpKind::WORDS),
        Is("electronic"),
        "motor with brushes, or brushless with its own electronics",
    ),
    row(
        "pump.bench",
        Form("[[\"3 V\", \"110 mA\", \"120 mm\"], ...]"),
        Required,
        "voltage, current and height of the jet, in order of increasing voltage; measured, or one row from the label",
    ),
    row(
        "pump.nozzle_bore",
        Quantity(SmallLength, 0.5, 50.0),
        Rule("none: the bench rows give the height of the jet"),
        "bore of the nozzle; if given, the third value of a bench row is the head before the nozzle, and the jet is computed from it",
    ),
    row(
        "pump.nozzle_velocity",
        Quantity(Share, 0.3, 1.0),
        Is("85 to 97 %, likely 93 %"),
        "velocity coefficient of the nozzle: speed of the water over that of a free fall from the head (smooth bore 95 to 98 %, small spray head 80 to 90 %); only with `nozzle_bore`",
    ),
    row(
        "pump.highest_voltage",
        Quantity(Voltage, 0.5, 100.0),
        Numbers(|| format!("{HIGHEST_OVER_LAST_BENCH_V} x voltage of the last bench row")),
        "highest voltage it tolerates; the electronics limit the voltage to this",
    ),
    row(
        "pump.start_voltage",
        Quantity(Voltage, 0.01, 100.0),
        Numbers(|| {
            let (lo, hi) = START_OVER_LAST_BENCH_V;
            let share = percent(&[lo, hi]);
            format!(
                "electronic: {share} of the last bench voltage, not above the first; brushed: break-away current x winding resistance"
            )
        }),
        "voltage at which it starts",
    ),
    row(
        "pump.stop_voltage",
        Quantity(Voltage, 0.0, 100.0),
        Numbers(|| {
            let (electronic, brushed) =
                (percent(&[STOP_OVER_START_V]), percent(&[BRUSHED_STOP_OVER_START_V]));
            format!("electronic: {electronic} of the start voltage; brushed: {brushed}")
        }),
        "voltage below which it stops",
    ),
    row(
        "pump.break_away_current",
        Quantity(Current, 0.0005, 50.0),
        Numbers(|| {
            let (lo, hi) = BREAK_AWAY_OVER_FRICTION_A;
            format!("{lo} to {hi} x the friction current estimated from the bench rows")
        }),
        "current at which it starts turning from rest",
    )
    .only("pump.kind", BRUSHED),
    row(
        "pump.winding_resistance",
        Quantity(Resistance, 0.001, 2000.0),
        Numbers(|| {
            let (lo, _, hi) = WINDING_OVER_LAST_BENCH_OHM;
            format!("{} of voltage over current of the last bench row", percent(&[lo, hi]))
        }),
        "resistance of the winding",
    )
    .only("pump.kind", BRUSHED),
    row(
        "pump.flow",
        Quantity(Flow, 0.01, 1000.0),
        Numbers(|| {
            let (lo, _, hi) = JET_OVER_ELECTRIC_W;
            format!("power of the jet is {} of the electric power of the last bench row", percent(&[lo, hi]))
        }),
        "flow at the last bench row",
    ),
    row("pump.rated_hours", Exact(Hours, 1.0, 1e6), Rule("not rated"), "rated life, if the maker states it"),
    row(
        "pump.blocked_from_day",
        DAYS,
        Rule("never"),
        "simulated fault: day of the season (0 = first) from which it is blocked",
    ),
];
