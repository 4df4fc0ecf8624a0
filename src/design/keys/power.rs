//! Rows of battery and electronics.

use super::key::Fallback::{Numbers, Required, Rule, Text as Is};
use super::key::Kind::{Exact, Flag, Named, Quantity, Words};
use super::key::{Key, row};
use super::words::WordList;
use crate::design::parts::{Charging, Chemistry, FedFirst, Usual};
use crate::design::rules::*;
use crate::units::Dimension::*;
use crate::units::{Uncertain, significant};

/// Something of each chemistry, in the order of the word list: `302, 692, 200, 500`.
fn by_chemistry(of: impl Fn(&Usual) -> String) -> String {
    Chemistry::ALL.iter().map(|c| of(&c.usual())).collect::<Vec<_>>().join(", ")
}

/// A number as it would be written.
fn number(value: f64) -> String {
    significant(value, 6)
}

/// `85 to 95`, of shares in %.
fn percent_range(q: &Uncertain) -> String {
    format!("{} to {}", number(100.0 * q.lowest()), number(100.0 * q.highest()))
}

/// `8 to 12`.
fn range((lo, hi): (f64, f64)) -> String {
    format!("{} to {}", number(lo), number(hi))
}

/// Ranges of c and k of the kinetic battery model of lead-acid.
fn kibam() -> ((f64, f64), (f64, f64)) {
    Chemistry::LeadAcid.usual().kibam.unwrap_or_default()
}

const LEAD: &[&str] = &["lead-acid"];
const LITHIUM: &[&str] = &["lithium ion", "lithium iron phosphate"];

pub(super) const BATTERY: &[Key] = &[
    row("battery.chemistry", Words(Chemistry::WORDS), Required, "cell chemistry"),
    row(
        "battery.voltage",
        Exact(Voltage, 1.0, 60.0),
        Required,
        "nominal voltage of the pack: a multiple of 3.6 or 3.7 V, 3.2 or 3.3 V, 2 V, 1.2 V by chemistry",
    ),
    row("battery.capacity", Quantity(Charge, 0.01, 1000.0), Required, "rated capacity"),
    row(
        "battery.capacity_left",
        Quantity(Share, 0.05, 1.0),
        Is("100 %"),
        "share of the rated capacity that remains at its age",
    ),
    row(
        "battery.resistance",
        Quantity(Resistance, 0.0001, 50.0),
        Numbers(|| {
            let each = by_chemistry(|u| range(u.resistance_ohm_ah));
            format!("{each} ohm Ah a cell by chemistry, over capacity")
        }),
        "resistance of the whole pack at 25 °C",
    ),
    row(
        "battery.coulombic_efficiency",
        Quantity(Share, 0.3, 1.0),
        Numbers(|| {
            by_chemistry(|u| format!("{} %", percent_range(&u.coulombic_efficiency))) + " by chemistry"
        }),
        "charge taken out over charge put in",
    ),
    row(
        "battery.self_discharge",
        Quantity(ShareAMonth, 0.0, 0.9),
        Numbers(|| by_chemistry(|u| percent_range(&u.self_discharge_month)) + " %/month by chemistry"),
        "self-discharge at 20 °C; doubles every 10 K",
    ),
    row(
        "battery.temperature_lag",
        Quantity(Hours, 0.0, 72.0),
        Is("2 to 6 h"),
        "time constant with which it follows the temperature of the air",
    ),
    row(
        "battery.box_absorptance",
        Quantity(Share, 0.0, 1.0),
        Is("0 %"),
        "share of the sun's light that its box takes in: some 90 % dark, 30 % white, 0 % in the shade; a dark box in full sun gets some 15 K warmer than the air",
    ),
    row(
        "battery.kept_above_freezing",
        Flag,
        Is("false"),
        "true: indoors, in a buried box, or heated by other means",
    ),
    row(
        "battery.frost_lock",
        Named(&[("none", NO_FROST_LOCK_C)], Temperature, NO_FROST_LOCK_C, 15.0),
        Is("0 degC"),
        "temperature below which the pack's electronics forbid charging; \"none\" for a pack without such a lock, whose cells frost harms if they are not made for it",
    )
    .only("battery.chemistry", LITHIUM),
    row(
        "battery.frost_unlock",
        Quantity(Temperature, NO_FROST_LOCK_C, 25.0),
        Numbers(|| format!("{FROST_UNLOCK_K} K above `frost_lock`")),
        "temperature from which they allow it again",
    )
    .only("battery.chemistry", LITHIUM),
    row(
        "battery.cycles_at_full_depth",
        Quantity(Number, 10.0, 100_000.0),
        Numbers(|| {
            let each = by_chemistry(|u| number(u.cycles_at_full_depth));
            format!("{each} by chemistry, ± {} %", number(2.0 * 100.0 * CYCLES_SD))
        }),
        "cycles to end of life at full depth of discharge",
    ),
    row(
        "battery.cycle_exponent",
        Quantity(Number, 0.5, 3.0),
        Numbers(|| by_chemistry(|u| number(u.cycle_exponent)) + " by chemistry"),
        "p of cycle life N(D) = N(full) D^-p at depth of discharge D",
    ),
    row(
        "battery.calendar_life",
        Quantity(Years, 0.5, 40.0),
        Numbers(|| by_chemistry(|u| range(u.calendar_life_y)) + " years by chemistry"),
        "calendar life at 25 °C (lithium: half charged); shorter when warm or full, longer when cool or empty, by the laws named in `src/plant/ageing`",
    ),
    row(
        "battery.kibam_c",
        Quantity(Number, 0.05, 1.0),
        Numbers(|| range(kibam().0) + " for lead-acid"),
        "share of the charge that is available at once (Manwell & McGowan 1993)",
    )
    .only("battery.chemistry", LEAD),
    row(
        "battery.kibam_k",
        Quantity(Rate, 0.01, 10.0),
        Numbers(|| range(kibam().1) + " /h for lead-acid"),
        "rate at which the bound charge becomes available (Manwell & McGowan 1993)",
    )
    .only("battery.chemistry", LEAD),
];

pub(super) const ELECTRONICS: &[Key] = &[
    row(
        "electronics.charging",
        Words(Charging::WORDS),
        Rule("pwm with a battery, direct without"),
        "direct: panel connected to the battery; pwm: the same, held at the charge voltage by pulses; mppt: a converter that keeps the panel at its maximum power point",
    )
    .with_battery(),
    row(
        "electronics.charge_efficiency",
        Quantity(Share, 0.3, 1.0),
        Is("88 to 96 %, likely 92 %"),
        "efficiency of the converter at small power, without its own draw",
    )
    .only("electronics.charging", &["mppt"]),
    row(
        "electronics.charge_loss_per_watt",
        Quantity(Number, 0.0, 0.5),
        // Common practice, no source: small buck converters.
        Is("0.002 to 0.01"),
        "further loss of the converter, as a share of the power it gives, for each W of it",
    )
    .only("electronics.charging", &["mppt"]),
    row(
        "electronics.tracking",
        Quantity(Share, 0.5, 1.0),
        // Common practice, no source.
        Is("95 to 99 %"),
        "share of the panel's largest power that the charger finds",
    )
    .only("electronics.charging", &["mppt"]),
    row(
        "electronics.charger_draw",
        Quantity(Current, 0.0, 1.0),
        // Common practice, no source.
        Is("1 to 15 mA, likely 5 mA"),
        "what a tracking charger takes from the battery for itself, day and night, beside `standby_current`",
    )
    .only("electronics.charging", &["mppt"]),
    row(
        "electronics.charge_voltage_drift",
        Quantity(TemperatureCoefficient, -0.005, 0.0),
        // 3 mV/K a cell in public text, 3 to 5 from memory, over 2.4 V a cell.
        Is("-0.21 to -0.12 %/K"),
        "how the charge voltage of lead-acid follows the battery's temperature from 25 degC on, between 0 and 40 degC; 0 %/K for a charger that does not measure it",
    )
    .only("battery.chemistry", LEAD),
    row(
        "electronics.charge_voltage",
        Quantity(Voltage, 1.0, 80.0),
        Numbers(|| by_chemistry(|u| format!("{:.2}", u.charge_v)) + " V a cell by chemistry"),
        "voltage at which charging is held, whole pack",
    )
    .with_battery(),
    row(
        "electronics.cut_off",
        Quantity(Voltage, 0.5, 80.0),
        Numbers(|| by_chemistry(|u| format!("{:.2}", u.cut_off_v)) + " V a cell by chemistry"),
        "battery voltage at which the pump is switched off",
    )
    .with_battery(),
    row(
        "electronics.reconnect",
        Quantity(Voltage, 0.5, 80.0),
        Numbers(|| {
            let each = by_chemistry(|u| format!("{:.2}", u.reconnect_v));
            format!("{each} V a cell by chemistry; with a higher `cut_off`, as far above it as usual")
        }),
        "battery voltage at which the pump is switched on again",
    )
    .with_battery(),
    row(
        "electronics.socket_voltage",
        Quantity(Voltage, 1.0, 60.0),
        Rule("no socket: pump and mount are on the battery itself"),
        "voltage of a converter behind which pump and mount are, like the 5 V socket of a panel with a battery inside",
    )
    .with_battery(),
    row(
        "electronics.socket_idle",
        Quantity(Current, 0.0, 0.5),
        // Common practice, no source, as for the loss: boost converters on one cell 0.3 to 5 mA, to 12 V up to 20 mA.
        Is("1 to 8 mA, likely 3 mA"),
        "what the socket's converter takes from the battery without load",
    )
    .beside(&["electronics.socket_voltage"]),
    row(
        "electronics.socket_loss",
        Quantity(Share, 0.0, 1.0),
        Is("5 to 10 %"),
        "its loss, as a share of the power it gives",
    )
    .beside(&["electronics.socket_voltage"]),
    row(
        "electronics.socket_loss_per_watt",
        Quantity(Number, 0.0, 1.0),
        Is("0.01 to 0.04"),
        "its further loss, as a share of the power it gives, for each W of it",
    )
    .beside(&["electronics.socket_voltage"]),
    row(
        "electronics.socket_lowest_input",
        Quantity(Voltage, 0.5, 80.0),
        Rule("`cut_off`"),
        "battery voltage below which the socket switches off",
    )
    .beside(&["electronics.socket_voltage"]),
    row(
        "electronics.socket_again",
        Quantity(Voltage, 0.5, 80.0),
        Rule("as far above `socket_lowest_input` as `reconnect` is above `cut_off`"),
        "battery voltage from which it works again",
    )
    .beside(&["electronics.socket_voltage"]),
    row(
        "electronics.socket_sleeps_below",
        Quantity(Current, 0.0, 1.0),
        Is("0 mA"),
        "current below which the socket falls asleep until the pump is switched on, so that a mount on standby loses its supply (builders report some dozen mA; 0 mA: never)",
    )
    .beside(&["electronics.socket_voltage"]),
    row(
        "electronics.standby_current",
        Quantity(Current, 0.0, 1.0),
        Numbers(|| format!("{STANDBY_WITH_BATTERY}, with a battery; 0 without")),
        "current of charger and timer, day and night",
    ),
    row(
        "electronics.fed_first",
        Words(FedFirst::WORDS),
        Is("pump"),
        "when the panel cannot feed both pump and mount: pump = both run together on what there is; mount = the pump is disconnected while the mount moves",
    ),
    row(
        "electronics.charge_current_max",
        Quantity(Current, 0.001, 200.0),
        Numbers(|| by_chemistry(|u| number(u.charge_rate)) + " A for each Ah by chemistry"),
        "largest charging current",
    )
    .with_battery(),
];
