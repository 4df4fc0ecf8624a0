//! The rules of `[running]` that slow the pump down or hold it back, and whether they contradict one another.

use super::hours::time;
use crate::design::parts::{
    Battery, BenchCurve, Control, DayTime, Electronics, HOLD_UNTIL, Hold, Measure, Pump, Reserve, Rest,
    SLOW_SPEED, SLOWER_SPEED, Slow, Speed, Threshold, ThresholdKeys, Wish,
};
use crate::design::reader::DesignReader;
use crate::design::rules::{
    ENDS_OVER_BELOW, ENDS_OVER_REBOUND, LEAST_GAP_SHARE, SLOW_SPEED_SHARE, SLOWER_SPEED_SHARE,
    USUAL_GAP_SHARE,
};
use crate::units::Uncertain;

const FOR_MOUNT: &str = "running.hold_for_mount";
const LATEST: &str = "running.hold_latest";
const RESERVE_UNTIL: &str = "running.reserve_until";

/// The parts that a controller watches and switches, as far as they are known.
#[derive(Clone, Copy)]
pub(in crate::design) struct Controlled<'a> {
    pub battery: Option<&'a Battery<Uncertain>>,
    pub electronics: Option<&'a Electronics<Uncertain>>,
    pub pump: Option<&'a Pump<Uncertain>>,
}

/// What the rules are compared with.
#[derive(Clone, Copy)]
pub(super) struct Beside<'a> {
    pub wish: &'a Wish<Uncertain>,
    pub parts: Controlled<'a>,
    /// Hours in which the pump is let run, if the clock or the sun says so.
    pub hours: Option<(DayTime, DayTime)>,
}

/// All rules; `None` if one of them cannot be read.
pub(super) fn control(r: &mut DesignReader<'_>, beside: &Beside<'_>) -> Option<Control<Uncertain>> {
    let slow = one(r, &ThresholdKeys::SLOW, beside)
        .and_then(|when| slow_to(r, when, (SLOW_SPEED, SLOW_SPEED_SHARE), beside));
    let slower = one(r, &ThresholdKeys::SLOWER, beside)
        .and_then(|when| slow_to(r, when, (SLOWER_SPEED, SLOWER_SPEED_SHARE), beside));
    if let Found::Is(_) = slower
        && let Found::No = slow
    {
        let [by_charge, by_voltage] = ThresholdKeys::SLOWER.below;
        r.contradiction(
            "a third speed needs a second one",
            &[(by_charge, "only this"), (by_voltage, "only this")],
            "rename `slower_...` to `slow_...`, or give `slow_below` as well",
        );
    }
    if let (Found::Is(a), Found::Is(b)) = (&slow, &slower) {
        third_is_slower(r, a, b);
    }
    let rest = one(r, &ThresholdKeys::REST, beside).and_then(|when| rest(r, when));
    let reserve = one(r, &ThresholdKeys::RESERVE, beside).and_then(|when| reserve(r, when, beside));
    let hold = hold(r, beside);
    let rain = match r.given("running.rain_off") {
        true => Found::of(r.exact("running.rain_off")),
        false => Found::No,
    };
    Some(Control {
        slow: slow.read()?,
        slower: slower.read()?,
        rest: rest.read()?,
        hold: hold.read()?,
        reserve: reserve.read()?,
        rain_off_mm: rain.read()?,
    })
}

/// A rule that may be left out.
enum Found<T> {
    /// It is left out.
    No,
    /// It is there and wrong; the problem is noted.
    Wrong,
    Is(T),
}

impl<T> Found<T> {
    fn of(read: Option<T>) -> Self {
        read.map_or(Found::Wrong, Found::Is)
    }

    fn and_then<U>(self, read: impl FnOnce(T) -> Option<U>) -> Found<U> {
        match self {
            Found::No => Found::No,
            Found::Wrong => Found::Wrong,
            Found::Is(value) => Found::of(read(value)),
        }
    }

    /// The outer `None`: it is wrong.
    fn read(self) -> Option<Option<T>> {
        match self {
            Found::No => Some(None),
            Found::Wrong => None,
            Found::Is(value) => Some(Some(value)),
        }
    }
}

/// Which of two keys is given, that of charge or that of voltage; not both.
fn measure(r: &mut DesignReader<'_>, [charge, volts]: [&'static str; 2]) -> Found<Measure> {
    match (r.given(charge), r.given(volts)) {
        (false, false) => Found::No,
        (true, false) => Found::Is(Measure::Charge),
        (false, true) => Found::Is(Measure::Voltage),
        (true, true) => {
            let title = format!("`{charge}` and `{volts}` are two measures of the same");
            r.contradiction(
                title,
                &[(charge, "by charge ..."), (volts, "... or by voltage")],
                "keep one of them",
            );
            Found::Wrong
        }
    }
}

/// The threshold of a rule, if the battery it needs is there.
fn one(r: &mut DesignReader<'_>, keys: &ThresholdKeys, beside: &Beside<'_>) -> Found<Threshold<Uncertain>> {
    let by = match measure(r, keys.below) {
        Found::Is(by) => by,
        Found::Wrong => return Found::Wrong,
        Found::No => return Found::No,
    };
    let k = by.place();
    let Some(below) = r.quantity(keys.below[k]) else { return Found::Wrong };
    let rebound_v = beside.rebound_v();
    let usual = match by {
        Measure::Charge => (below.nominal + USUAL_GAP_SHARE).min(1.0),
        Measure::Voltage => {
            (below.nominal * ENDS_OVER_BELOW).max(below.nominal + ENDS_OVER_REBOUND * rebound_v)
        }
    };
    let Some(ends) = r.quantity_or(keys.ends[k], Some(Uncertain::exact(usual))) else { return Found::Wrong };
    if beside.parts.battery.is_none() {
        // Said by the warning of keys without effect.
        return Found::No;
    }
    let when = Threshold { by, below, ends };
    match ends_above(r, keys, &when, rebound_v) & beside.above_cut_off(r, keys.below[k], (by, below)) {
        true => Found::Is(when),
        false => Found::Wrong,
    }
}

/// A rule must end well above where it acts, or the pump is switched to and fro.
fn ends_above(
    r: &mut DesignReader<'_>,
    keys: &ThresholdKeys,
    when: &Threshold<Uncertain>,
    rebound_v: f64,
) -> bool {
    let k = when.by.place();
    let (below, ends) = (keys.below[k], keys.ends[k]);
    let gap = when.ends.lowest() - when.below.highest();
    let least = match when.by {
        Measure::Charge => LEAST_GAP_SHARE - 1e-9,
        Measure::Voltage => 1e-9,
    };
    if gap < least {
        let help = match when.by {
            Measure::Charge => {
                "let it end at least 5 percentage points above, or it would be switched to and fro"
            }
            Measure::Voltage => "let it end at a higher voltage than it acts at",
        };
        r.contradiction(
            "a rule ends too close to where it acts",
            &[(ends, "this end ..."), (below, "... for this")],
            help,
        );
        return false;
    }
    if when.by == Measure::Voltage && when.ends.nominal - when.below.nominal < rebound_v {
        let span = r.value(ends).or(r.value(below)).map_or(0..0, |v| v.span());
        let label = format!("the voltage rises by {rebound_v:.2} V when the pump stops");
        r.warn(
            span,
            "this rule will be switched to and fro by the pump's own draw",
            &label,
            "let it end at a higher voltage",
        );
    }
    true
}

impl Beside<'_> {
    /// By how much the voltage of the battery rises when the pump stops, V.
    fn rebound_v(&self) -> f64 {
        let draw_a = self.parts.pump.and_then(|p| p.bench.last()).map_or(0.0, |p| p.current_a.nominal);
        self.parts.battery.map_or(0.0, |b| draw_a * b.resistance_ohm.nominal)
    }

    /// Refuses a level at which the pump is cut off already.
    fn above_cut_off(&self, r: &mut DesignReader<'_>, key: &str, (by, level): (Measure, Uncertain)) -> bool {
        let (Some(battery), Some(electronics)) = (self.parts.battery, self.parts.electronics) else {
            return true;
        };
        let cut_off_v = electronics.cut_off_v.nominal;
        let cells = f64::from(battery.cells);
        let cut_off = match by {
            Measure::Voltage => cut_off_v,
            Measure::Charge => battery.chemistry.charge_at_rest((cut_off_v + self.rebound_v()) / cells),
        };
        if level.highest() > cut_off {
            return true;
        }
        let span = r.value(key).map_or(0..0, |v| v.span());
        let label = match by {
            Measure::Voltage => format!("the cut-off is at {cut_off_v:.2} V"),
            Measure::Charge => {
                format!("with the pump running, about {:.0} % are left at the cut-off", 100.0 * cut_off)
            }
        };
        r.error(
            span,
            "this rule never acts: the pump is cut off before",
            &label,
            "raise it, or lower the cut-off",
        );
        false
    }
}

/// A lower speed.
fn slow_to(
    r: &mut DesignReader<'_>,
    when: Threshold<Uncertain>,
    (keys, usual): ([&'static str; 2], f64),
    beside: &Beside<'_>,
) -> Option<Slow<Uncertain>> {
    if r.given(keys[0]) && r.given(keys[1]) {
        let title = format!("`{}` and `{}` are two ways to the same", keys[0], keys[1]);
        r.contradiction(
            title,
            &[(keys[0], "by a chopper ..."), (keys[1], "... or by a regulator")],
            "keep one of them",
        );
        return None;
    }
    let speed = match r.given(keys[1]) {
        true => Speed::Voltage(r.quantity(keys[1])?),
        false => Speed::Share(r.quantity_or(keys[0], Some(Uncertain::exact(usual)))?),
    };
    turns(r, keys, &speed, beside).then_some(Slow { when, speed })
}

/// Refuses a speed at which the pump stands, and warns of one at which its jet is too low to count.
fn turns(
    r: &mut DesignReader<'_>,
    keys: [&'static str; 2],
    speed: &Speed<Uncertain>,
    beside: &Beside<'_>,
) -> bool {
    let (Some(battery), Some(pump)) = (beside.parts.battery, beside.parts.pump) else { return true };
    let full_v = battery.nominal_voltage_v().min(pump.highest_voltage_v.nominal);
    let (volts, lucky_v, key) = match speed {
        Speed::Share(k) => (k.nominal * full_v, k.highest() * full_v, keys[0]),
        Speed::Voltage(v) => (v.nominal.min(full_v), v.highest().min(full_v), keys[1]),
    };
    // Where the speed is left out, its rule is shown.
    let span = [key, ThresholdKeys::SLOW.below[0], ThresholdKeys::SLOW.below[1]]
        .into_iter()
        .find_map(|key| r.value(key))
        .map_or(0..0, |v| v.span());
    let label = format!("{volts:.1} V at the pump");
    if lucky_v < pump.stop_voltage_v.lowest() {
        let title =
            format!("the pump stands at this speed: it stops below {:.1} V", pump.stop_voltage_v.nominal);
        r.error(span, title, &label, "let it run faster");
        return false;
    }
    let jet_m = BenchCurve::of(&pump.map(&mut |_, q| q.nominal)).jet_m(volts);
    if jet_m < beside.wish.jet_m.nominal {
        let title = format!(
            "at this speed the jet is {:.0} cm high, and does not count: {:.0} cm are wished for",
            100.0 * jet_m,
            100.0 * beside.wish.jet_m.nominal
        );
        r.warn(span, title, &label, "let it run faster, or wish for a lower jet (`jet` in [wish])");
    }
    true
}

/// The third speed must come at a lower charge than the second, and be lower.
fn third_is_slower(r: &mut DesignReader<'_>, second: &Slow<Uncertain>, third: &Slow<Uncertain>) {
    let k = |by: Measure| by.place();
    if second.when.by == third.when.by && third.when.below.nominal >= second.when.below.nominal {
        let places = [
            (ThresholdKeys::SLOWER.below[k(third.when.by)], "not below ..."),
            (ThresholdKeys::SLOW.below[k(second.when.by)], "... this"),
        ];
        r.contradiction(
            "the third speed never gives way to the second",
            &places,
            "let `slower_below` be lower",
        );
    }
    let faster = match (second.speed, third.speed) {
        (Speed::Share(a), Speed::Share(b)) | (Speed::Voltage(a), Speed::Voltage(b)) => b.nominal >= a.nominal,
        _ => false,
    };
    if faster {
        let places = SLOWER_SPEED.map(|key| (key, "not below ...")).into_iter();
        let places: Vec<_> = places.chain(SLOW_SPEED.map(|key| (key, "... this"))).collect();
        r.contradiction("the third speed is not lower than the second", &places, "lower it");
    }
}

fn rest(r: &mut DesignReader<'_>, when: Threshold<Uncertain>) -> Option<Rest<Uncertain>> {
    let mut whole = |path: &str| {
        let minutes = r.exact(path)?;
        if minutes.fract() == 0.0 {
            return Some(minutes);
        }
        let span = r.value(path).map_or(0..0, |v| v.span());
        r.error(span, "intervals of rest are in whole minutes", "", "days are simulated minute by minute");
        None
    };
    let (on_min, off_min) = (whole("running.rest_on"), whole("running.rest_off"));
    Some(Rest { when, on_min: on_min?, off_min: off_min? })
}

fn reserve(
    r: &mut DesignReader<'_>,
    when: Threshold<Uncertain>,
    beside: &Beside<'_>,
) -> Option<Reserve<Uncertain>> {
    let until = time(r, RESERVE_UNTIL)?;
    if let Some((from, _)) = beside.hours
        && not_after(until, from)
    {
        let span = r.value(RESERVE_UNTIL).map_or(0..0, |v| v.span());
        r.error(
            span,
            "the reserve never holds: this is before the pump is let run",
            "",
            "choose a later hour",
        );
        return None;
    }
    Some(Reserve { when, until })
}

fn hold(r: &mut DesignReader<'_>, beside: &Beside<'_>) -> Found<Hold<Uncertain>> {
    let level = match measure(r, HOLD_UNTIL) {
        Found::Wrong => return Found::Wrong,
        Found::No => None,
        Found::Is(by) => {
            let key = HOLD_UNTIL[by.place()];
            let Some(level) = r.quantity(key) else { return Found::Wrong };
            if !beside.reached_by_charging(r, key, (by, level)) {
                return Found::Wrong;
            }
            beside.parts.battery.map(|_| (by, level))
        }
    };
    let for_mount = r.given(FOR_MOUNT) && r.flag(FOR_MOUNT) == Some(true);
    if level.is_none() && !for_mount {
        return Found::No;
    }
    let Some(latest) = time(r, LATEST) else { return Found::Wrong };
    if let Some((_, to)) = beside.hours
        && not_after(to, latest)
    {
        let places = [
            (LATEST, "so long it may be held"),
            (HOLD_UNTIL[0], "by this rule"),
            (HOLD_UNTIL[1], "by this rule"),
            (FOR_MOUNT, "by this rule"),
        ];
        let help = "let `hold_latest` be earlier than the end of the hours in which the pump is let run";
        r.contradiction("on a dull day this hold leaves the pump no minute", &places, help);
        return Found::Wrong;
    }
    Found::Is(Hold { until: level, for_mount, latest })
}

impl Beside<'_> {
    /// Refuses a level that charging never reaches: the hold would always last to its latest hour.
    fn reached_by_charging(
        &self,
        r: &mut DesignReader<'_>,
        key: &str,
        (by, level): (Measure, Uncertain),
    ) -> bool {
        let (Some(battery), Some(electronics)) = (self.parts.battery, self.parts.electronics) else {
            return true;
        };
        let charge_v = electronics.charge_voltage_v.nominal;
        let (reached, label) = match by {
            Measure::Voltage => (charge_v, format!("the battery is charged up to {charge_v:.2} V")),
            Measure::Charge => {
                let full = battery.chemistry.charge_at_rest(charge_v / f64::from(battery.cells));
                (full, format!("charging up to {charge_v:.2} V fills it to about {:.0} %", 100.0 * full))
            }
        };
        if level.lowest() <= reached {
            return true;
        }
        let span = r.value(key).map_or(0..0, |v| v.span());
        r.error(span, "charging never reaches what this hold waits for", &label, "let it wait for less");
        false
    }
}

/// Whether a time is surely not after another: known where both hang on the same.
fn not_after(a: DayTime, b: DayTime) -> bool {
    match (a, b) {
        (DayTime::Sunrise(a), DayTime::Sunrise(b))
        | (DayTime::Sunset(a), DayTime::Sunset(b))
        | (DayTime::Clock(a), DayTime::Clock(b)) => a <= b,
        _ => false,
    }
}
