//! Reads each minute while it is stepped, for traces; without a probe this compiles to nothing.

use crate::lanes::{BLOCK, Lane};
use crate::plant::bus::OperatingPoint;
use crate::plant::mount::Direction;
use crate::plant::record::{Cause, TraceMinute};
use crate::sky::{SunMinute, angle_between};

/// Something that reads minutes.
pub(crate) trait Probe {
    /// Whether it reads them at all.
    const ON: bool;
    /// Reads a minute of some lanes.
    fn minute<V: Lane>(&mut self, at: usize, m: &MinuteView<'_, V>);
}

/// A minute at its end, before the mount turns.
pub(crate) struct MinuteView<'a, V: Lane> {
    pub minute: usize,
    pub sun: Option<&'a SunMinute>,
    pub dni_dhi_w_m2: Option<(V, V)>,
    pub aim: Direction<V>,
    pub target: Option<Direction<V>>,
    pub plane_w_m2: V,
    /// Voltage of the panel without load, at most, V.
    pub open_v: V,
    pub point: &'a OperatingPoint<V>,
    /// Terminal voltage, V, and state of charge.
    pub battery_v_soc: Option<(V, V)>,
    /// Wanted share of the minute.
    pub wanted: f64,
    pub counted_min: V,
    /// Number of the cause in [`Cause::ALL`], where minutes are missing.
    pub cause: V,
}

/// No probe.
pub(crate) struct NoProbe;

impl Probe for NoProbe {
    const ON: bool = false;
    #[inline(always)]
    fn minute<V: Lane>(&mut self, _at: usize, _m: &MinuteView<'_, V>) {}
}

/// Records the minutes of one lane.
pub(crate) struct TraceProbe {
    pub lane: usize,
    pub minutes: Vec<TraceMinute>,
}

impl Probe for TraceProbe {
    const ON: bool = true;

    fn minute<V: Lane>(&mut self, at: usize, m: &MinuteView<'_, V>) {
        if !(at..at + V::N).contains(&self.lane) {
            return;
        }
        let lane = self.lane - at;
        let get = |v: V| {
            let mut buffer = [0.0; BLOCK];
            v.store(&mut buffer);
            buffer[lane]
        };
        let degrees = |rad: f64| rad.to_degrees();
        let compass = |e: f64, n: f64| degrees(libm::atan2(e, n)).rem_euclid(360.0);
        let [e, n, u] = m.aim.map(get);
        let counted = get(m.counted_min) > 0.0;
        let missing = m.wanted > 0.0 && !counted;
        self.minutes.push(TraceMinute {
            minute: m.minute as u16,
            sun_elevation_deg: m.sun.map(|s| 90.0 - degrees(s.zenith_rad)),
            sun_azimuth_deg: m.sun.map(|s| compass(s.east, s.north)),
            dni_w_m2: m.dni_dhi_w_m2.map_or(0.0, |l| get(l.0)),
            dhi_w_m2: m.dni_dhi_w_m2.map_or(0.0, |l| get(l.1)),
            aim_tilt_deg: degrees(libm::acos(u.clamp(-1.0, 1.0))),
            aim_azimuth_deg: compass(e, n),
            off_aim_deg: m.target.map(|t| degrees(get(angle_between(m.aim, t)))),
            plane_w_m2: get(m.plane_w_m2),
            // A panel that gives nothing is not held at the bus: in the dark it has no voltage at all.
            panel_v: match get(m.point.panel_a) > 0.0 {
                true => get(m.point.panel_v),
                false => get(m.point.panel_v).min(get(m.open_v)),
            },
            panel_a: get(m.point.panel_a),
            battery_v: m.battery_v_soc.map(|b| get(b.0)),
            soc: m.battery_v_soc.map(|b| get(b.1)),
            pump_v: if get(m.point.duty) > 0.0 { get(m.point.pump_v) } else { 0.0 },
            duty: get(m.point.duty),
            jet_m: if get(m.point.duty) > 0.0 { get(m.point.jet_m) } else { 0.0 },
            wanted: m.wanted > 0.0,
            counted,
            cause: missing.then(|| Cause::ALL[get(m.cause) as usize]),
        });
    }
}
