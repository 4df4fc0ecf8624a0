//! `[electronics]`: voltages that follow from the battery, and whether they suit it.

use crate::design::parts::{Battery, Charging, Chemistry, Electronics, Socket, Usual};
use crate::design::reader::DesignReader;
use crate::design::rules::STANDBY_WITH_BATTERY;
use crate::units::{Dimension, Uncertain, parse};

/// A voltage by its key and in words.
type Name = (&'static str, &'static str);

const CHARGE: Name = ("electronics.charge_voltage", "the charge voltage");
const CUT_OFF: Name = ("electronics.cut_off", "the cut-off");
const SOCKET: Name = ("electronics.socket_voltage", "the socket");
const LOWEST_INPUT: Name = ("electronics.socket_lowest_input", "the socket's lowest input");
const AGAIN: Name = ("electronics.socket_again", "the voltage at which the socket works again");
const RECONNECT: Name = ("electronics.reconnect", "the reconnect voltage");

/// Voltages of the whole pack that the electronics keep.
#[derive(Clone, Copy)]
struct Limits {
    charge_v: Uncertain,
    cut_off_v: Uncertain,
    reconnect_v: Uncertain,
}

/// How long a battery must last with the pump, min: the plant is stepped by the minute.
const LEAST_RUN_MIN: f64 = 2.0;

/// `draw_a`: the pump's current at its last bench row, A, if known.
pub(in crate::design) fn electronics(
    r: &mut DesignReader<'_>,
    battery: Option<&Battery<Uncertain>>,
    draw_a: Option<f64>,
) -> Option<Electronics<Uncertain>> {
    let has_battery = r.given("battery");
    let rule = if has_battery { Charging::Pwm } else { Charging::Direct };
    let charging = r.word("electronics.charging", Some(rule));
    let efficiency = r.quantity("electronics.charge_efficiency");
    let loss_per_watt = r.quantity("electronics.charge_loss_per_watt");
    let tracking = r.quantity("electronics.tracking");
    let charger_draw = r.quantity("electronics.charger_draw");
    let lead = battery.is_some_and(|b| b.chemistry == Chemistry::LeadAcid);
    let none = Uncertain::exact(0.0);
    let drift = match lead || r.given("electronics.charge_voltage_drift") {
        true => r.quantity("electronics.charge_voltage_drift"),
        false => Some(none),
    };
    let usual = battery.map_or(Chemistry::LithiumIon, |b| b.chemistry).usual();
    let limits = limits(r, &usual, battery.map_or(1.0, |b| f64::from(b.cells)));
    if let (Some(battery), Some(limits)) = (battery, limits) {
        limits_suit(r, &usual, f64::from(battery.cells), limits);
        if let Some(draw_a) = draw_a {
            lasts_without_chatter(r, battery, limits, draw_a);
        }
    }
    let standby_rule = match has_battery {
        true => parse(STANDBY_WITH_BATTERY, Dimension::Current).ok(),
        false => Some(Uncertain::exact(0.0)),
    };
    let standby = r.quantity_or("electronics.standby_current", standby_rule);
    let fed_first = r.word("electronics.fed_first", None);
    let rate = battery.map_or(1.0, |b| usual.charge_rate * b.capacity_ah.nominal);
    let current_max = r.quantity_or("electronics.charge_current_max", Some(Uncertain::exact(rate)));
    let socket = socket(r, limits);
    let limits = limits?;
    Some(Electronics {
        charging: if has_battery { charging? } else { Charging::Direct },
        charge_efficiency: efficiency?,
        charge_loss_per_watt: loss_per_watt?,
        tracking: tracking?,
        // Other chargers have no converter.
        charger_draw_a: if has_battery && charging? == Charging::Mppt { charger_draw? } else { none },
        charge_voltage_v: limits.charge_v,
        charge_voltage_drift_per_k: if lead { drift? } else { none },
        cut_off_v: limits.cut_off_v,
        reconnect_v: limits.reconnect_v,
        standby_current_a: standby?,
        fed_first: fed_first?,
        charge_current_max_a: current_max?,
        socket: if has_battery && r.given(SOCKET.0) { Some(socket?) } else { None },
    })
}

/// The converter to which pump and mount are connected.
fn socket(r: &mut DesignReader<'_>, limits: Option<Limits>) -> Option<Socket<Uncertain>> {
    let voltage = r.quantity(SOCKET.0);
    let idle = r.quantity("electronics.socket_idle");
    let loss = r.quantity("electronics.socket_loss");
    let loss_per_watt = r.quantity("electronics.socket_loss_per_watt");
    let lowest = r.quantity_or(LOWEST_INPUT.0, limits.map(|l| l.cut_off_v));
    let gap_v = limits.map(|l| l.reconnect_v.nominal - l.cut_off_v.nominal);
    let rule = lowest.zip(gap_v).map(|(v, gap)| Uncertain::exact(v.highest() + gap));
    let again = r.quantity_or(AGAIN.0, rule);
    let sleeps_below = r.quantity("electronics.socket_sleeps_below");
    let socket = Socket {
        voltage_v: voltage?,
        idle_a: idle?,
        loss: loss?,
        loss_per_watt: loss_per_watt?,
        lowest_input_v: lowest?,
        again_v: again?,
        sleeps_below_a: sleeps_below?,
    };
    if socket.again_v.lowest() <= socket.lowest_input_v.highest() {
        let title = "the socket must work again at a higher voltage than it switches off at";
        let places = [(AGAIN.0, "not above ..."), (LOWEST_INPUT.0, "... this")];
        r.contradiction(title, &places, "leave `socket_again` out, or raise it");
    }
    let charge_v = limits?.charge_v;
    if socket.again_v.highest() >= charge_v.lowest() {
        let title = "the battery never reaches the voltage at which the socket works again";
        let places = [(AGAIN.0, "not below ..."), (CHARGE.0, "... this")];
        r.contradiction(title, &places, "lower `socket_again` or `socket_lowest_input`");
    }
    Some(socket)
}

/// The voltages, given or by the chemistry of `n` cells.
fn limits(r: &mut DesignReader<'_>, usual: &Usual, n: f64) -> Option<Limits> {
    let charge_v = r.quantity_or(CHARGE.0, Some(Uncertain::exact(usual.charge_v * n)));
    let cut_off_v = r.quantity_or(CUT_OFF.0, Some(Uncertain::exact(usual.cut_off_v * n)));
    // A high cut-off raises the reconnect voltage, so that the usual gap stays.
    let gap = (usual.reconnect_v - usual.cut_off_v) * n;
    let rule = cut_off_v.map_or(usual.reconnect_v * n, |v| {
        if r.given(CUT_OFF.0) { (v.nominal + gap).max(usual.reconnect_v * n) } else { usual.reconnect_v * n }
    });
    let reconnect_v = r.quantity_or(RECONNECT.0, Some(Uncertain::exact(rule)));
    Some(Limits { charge_v: charge_v?, cut_off_v: cut_off_v?, reconnect_v: reconnect_v? })
}

/// Checks cut-off < reconnect < charge voltage, and that none harms `n` cells of the chemistry.
fn limits_suit(r: &mut DesignReader<'_>, usual: &Usual, n: f64, limits: Limits) {
    let Limits { charge_v: charge, cut_off_v: cut_off, reconnect_v: reconnect } = limits;
    let mut must_exceed = |upper: Name, lower: Name, hi: Uncertain, lo: Uncertain| {
        if hi.lowest() <= lo.highest() {
            let title = format!("{} must be above {}", upper.1, lower.1);
            let help = format!("{} is {:.2} V here, {} is {:.2} V", lower.1, lo.nominal, upper.1, hi.nominal);
            r.contradiction(title, &[(upper.0, "not above ..."), (lower.0, "... this")], &help);
        }
    };
    must_exceed(RECONNECT, CUT_OFF, reconnect, cut_off);
    must_exceed(CHARGE, RECONNECT, charge, reconnect);
    if charge.highest() > usual.charge_v_max * n + 1e-9
        && let Some(value) = r.value(CHARGE.0)
    {
        let title =
            format!("a charge voltage of {:.2} V a cell would damage this battery", charge.highest() / n);
        let help = format!(
            "{}: at most {:.2} V, usual is {:.2} V",
            of_cells(n),
            usual.charge_v_max * n,
            usual.charge_v * n
        );
        r.error(value.span(), title, "too high", &help);
    }
    if cut_off.lowest() < usual.empty_v * n - 1e-9
        && let Some(value) = r.value(CUT_OFF.0)
    {
        let title = format!(
            "a cut-off of {:.2} V a cell would damage this battery by deep discharge",
            cut_off.lowest() / n
        );
        let help = format!(
            "{}: at least {:.2} V, usual is {:.2} V",
            of_cells(n),
            usual.empty_v * n,
            usual.cut_off_v * n
        );
        r.error(value.span(), title, "too low", &help);
    }
}

/// `1 cell of this chemistry`, `2 cells of this chemistry`.
fn of_cells(n: f64) -> String {
    format!("{n} cell{} of this chemistry", if n == 1.0 { "" } else { "s" })
}

/// Checks that the battery lasts some minutes with the pump, and that the pump's draw does not make it chatter.
fn lasts_without_chatter(
    r: &mut DesignReader<'_>,
    battery: &Battery<Uncertain>,
    limits: Limits,
    draw_a: f64,
) {
    let at_hand_ah = battery.usable_capacity_ah() * battery.kibam_c.nominal;
    let least_ah = LEAST_RUN_MIN / 60.0 * draw_a;
    if at_hand_ah < least_ah {
        let span = r.value("battery.capacity").map_or(0..0, |v| v.span());
        let title = format!("the pump would empty this battery within {LEAST_RUN_MIN} minutes");
        let label = format!("{at_hand_ah:.3} Ah available");
        let help = format!(
            "days are simulated minute by minute, so at least {least_ah:.3} Ah must be available to this pump"
        );
        r.error(span, title, &label, &help);
    }
    let rebound_v = draw_a * battery.resistance_ohm.nominal;
    let Limits { cut_off_v, reconnect_v, .. } = limits;
    if reconnect_v.nominal - cut_off_v.nominal < rebound_v && reconnect_v.lowest() > cut_off_v.highest() {
        let span = r.value(RECONNECT.0).or(r.value(CUT_OFF.0)).map_or(0..0, |v| v.span());
        let title = "the pump will chatter: switch on and off again and again between cut-off and reconnect";
        let label = format!("the voltage rises by {rebound_v:.2} V when the pump stops");
        r.warn(span, title, &label, "raise `reconnect`, or take a pump that draws less");
    }
}
