//! Reads each minute while it is stepped: a trace of one lane, or notes of all.

use crate::lanes::{BLOCK, Lane, RowF32};
use crate::plant::bus::OperatingPoint;
use crate::plant::mount::{Direction, HUNTS_FROM};
use crate::plant::record::{Cause, RuleAtWork, TraceMinute};
use crate::sky::calendar::MINUTES;
use crate::sky::{SunMinute, angle_between};
use std::ops::Range;

/// Something that reads minutes.
pub(crate) trait Probe {
    /// Whether it reads the hours and the minutes that are not stepped, too.
    const WHOLE_DAY: bool;
    /// Whether it reads the minutes that are stepped.
    fn reads(&self) -> bool;
    /// Reads the air, battery and water of an hour that begins. Only called for a whole day.
    fn hour<V: Lane>(&mut self, at: usize, h: &HourView<V>);
    /// Reads a minute of some lanes. Only called if it [`reads`](Probe::reads).
    fn minute<V: Lane>(&mut self, at: usize, m: &MinuteView<'_, V>);
    /// Reads minutes that are not stepped, by what holds before and after them. Only called for a whole day.
    fn rest<V: Lane>(&mut self, at: usize, minutes: Range<usize>, before: &RestView<V>, after: &RestView<V>);
}

/// An hour at its beginning.
pub(crate) struct HourView<V> {
    pub air_c: V,
    pub wind_m_s: V,
    /// Water above the low-water mark, L.
    pub water_l: V,
    /// Temperature of the water, °C, and its ice, m, where ice is looked at.
    pub water_c_ice_m: Option<(V, V)>,
    /// Temperature of the battery, °C, and 1 if frost forbids charging.
    pub battery_c_frozen: Option<(V, V)>,
}

/// Either end of minutes that are not stepped.
pub(crate) struct RestView<V> {
    pub aim: Direction<V>,
    /// Terminal voltage, V, and state of charge.
    pub battery_v_soc: Option<(V, V)>,
}

/// A minute at its end, before the mount turns.
pub(crate) struct MinuteView<'a, V: Lane> {
    pub minute: usize,
    pub sun: Option<&'a SunMinute>,
    pub dni_dhi_w_m2: Option<(V, V)>,
    pub aim: Direction<V>,
    pub target: Option<Direction<V>>,
    /// Share of the minute in which the mount's motors turn and get nowhere.
    pub hunting: V,
    pub plane_w_m2: V,
    /// Voltage of the panel without load, at most, V.
    pub open_v: V,
    /// A copy: what is referred to would stay in memory in minutes that nobody reads, too.
    pub point: OperatingPoint<V>,
    /// Terminal voltage, V, and state of charge.
    pub battery_v_soc: Option<(V, V)>,
    /// Wanted share of the minute.
    pub wanted: f64,
    pub counted_min: V,
    /// Number of the cause in [`Cause::ALL`], where minutes are missing.
    pub cause: V,
    /// Share of its voltage that the pump gets.
    pub pump_speed: V,
    /// Number of the rule at work ([`RuleAtWork::of_number`]).
    pub rule: V,
}

/// The air, battery and water of an hour of one lane.
#[derive(Clone, Copy, Default)]
pub(crate) struct HourOfLane {
    air_c: f64,
    wind_m_s: f64,
    water_l: f64,
    water_c_ice_m: Option<(f64, f64)>,
    battery_c_frozen: Option<(f64, bool)>,
}

/// Readings of one minute, of all lanes.
#[derive(Clone, Debug, Default)]
pub struct Noted {
    /// Minute from the start of the day.
    pub minute: usize,
    /// Voltage of the bus (battery terminal), V.
    pub bus_v: RowF32,
    /// Panel voltage, V, and current, A.
    pub panel_v: RowF32,
    /// Panel current, A.
    pub panel_a: RowF32,
    /// Voltage at the pump while it runs, V.
    pub pump_v: RowF32,
    /// Current of the pump, A.
    pub pump_a: RowF32,
    /// Share of the minute that it runs.
    pub duty: RowF32,
    /// Height of its jet while it runs, m.
    pub jet_m: RowF32,
    /// Current into the battery, A.
    pub charge_a: RowF32,
    /// Irradiance on the panel, W/m².
    pub plane_w_m2: RowF32,
    /// Where the panel looks: east, north, up.
    pub aim: [RowF32; 3],
}

/// Notes, of all lanes, the jet of every minute, and everything a meter can read in some minutes.
#[derive(Clone, Debug, Default)]
pub struct Watch {
    /// Height of the jet by minute of the day, m; 0 while the pump rests.
    pub jet_m: Vec<RowF32>,
    /// The minutes asked for, in the order in which they were asked.
    pub noted: Vec<Noted>,
}

impl Watch {
    /// Begins a day of which these minutes are to be noted.
    pub fn begin(&mut self, minutes: impl Iterator<Item = usize>) {
        self.jet_m.clear();
        self.jet_m.resize(MINUTES, RowF32::default());
        self.noted.clear();
        self.noted.extend(minutes.map(|minute| Noted { minute, ..Noted::default() }));
    }
}

/// Whether anybody watches is asked once a minute: a second kernel without that question would double what has to be compiled, and is
/// no faster.
impl Probe for Option<&mut Watch> {
    const WHOLE_DAY: bool = false;

    #[inline(always)]
    fn reads(&self) -> bool {
        self.is_some()
    }

    #[inline(always)]
    fn hour<V: Lane>(&mut self, _at: usize, _h: &HourView<V>) {}

    #[inline(always)]
    fn rest<V: Lane>(
        &mut self,
        _at: usize,
        _minutes: Range<usize>,
        _before: &RestView<V>,
        _after: &RestView<V>,
    ) {
    }

    #[inline(always)]
    fn minute<V: Lane>(&mut self, at: usize, m: &MinuteView<'_, V>) {
        let Some(watch) = self else { return };
        let p = m.point;
        V::only(p.duty.gt(V::splat(0.0)), p.jet_m).put(&mut watch.jet_m[m.minute], at);
        for noted in watch.noted.iter_mut().filter(|n| n.minute == m.minute) {
            p.bus_v.put(&mut noted.bus_v, at);
            p.panel_v.put(&mut noted.panel_v, at);
            p.panel_a.put(&mut noted.panel_a, at);
            (p.pump_v * m.pump_speed).put(&mut noted.pump_v, at);
            p.pump_a.put(&mut noted.pump_a, at);
            p.duty.put(&mut noted.duty, at);
            p.jet_m.put(&mut noted.jet_m, at);
            p.charge_a.put(&mut noted.charge_a, at);
            m.plane_w_m2.put(&mut noted.plane_w_m2, at);
            for (axis, row) in noted.aim.iter_mut().enumerate() {
                m.aim[axis].put(row, at);
            }
        }
    }
}

/// Records the minutes of one lane.
pub(crate) struct TraceProbe {
    pub lane: usize,
    pub hour: HourOfLane,
    pub minutes: Vec<TraceMinute>,
}

impl TraceProbe {
    /// For this lane of the block.
    pub(crate) fn new(lane: usize) -> TraceProbe {
        TraceProbe { lane, hour: HourOfLane::default(), minutes: Vec::with_capacity(1440) }
    }

    /// The value of the lane, if it is among those from place `at` on.
    fn value<V: Lane>(&self, at: usize) -> Option<impl Fn(V) -> f64 + use<V>> {
        let lane = (at..at + V::N).contains(&self.lane).then(|| self.lane - at)?;
        Some(move |v: V| {
            let mut buffer = [0.0; BLOCK];
            v.store(&mut buffer);
            buffer[lane]
        })
    }
}

fn compass(east: f64, north: f64) -> f64 {
    libm::atan2(east, north).to_degrees().rem_euclid(360.0)
}

impl Probe for TraceProbe {
    const WHOLE_DAY: bool = true;

    fn reads(&self) -> bool {
        true
    }

    fn minute<V: Lane>(&mut self, at: usize, m: &MinuteView<'_, V>) {
        let Some(get) = self.value::<V>(at) else { return };
        let degrees = |rad: f64| rad.to_degrees();
        let [e, n, u] = m.aim.map(&get);
        let now = self.hour;
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
            hunts: get(m.hunting) >= HUNTS_FROM,
            plane_w_m2: get(m.plane_w_m2),
            // A panel that gives nothing is not held at the bus: in the dark it has no voltage at all.
            panel_v: match get(m.point.panel_a) > 0.0 {
                true => get(m.point.panel_v),
                false => get(m.point.panel_v).min(get(m.open_v)),
            },
            panel_a: get(m.point.panel_a),
            battery_v: m.battery_v_soc.map(|b| get(b.0)),
            soc: m.battery_v_soc.map(|b| get(b.1)),
            pump_v: if get(m.point.duty) > 0.0 { get(m.point.pump_v * m.pump_speed) } else { 0.0 },
            duty: get(m.point.duty),
            jet_m: if get(m.point.duty) > 0.0 { get(m.point.jet_m) } else { 0.0 },
            wanted: m.wanted > 0.0,
            counted,
            cause: missing.then(|| Cause::ALL[get(m.cause) as usize]),
            rule: RuleAtWork::of_number(get(m.rule)),
            air_c: now.air_c,
            wind_m_s: now.wind_m_s,
            battery_c: now.battery_c_frozen.map(|b| b.0),
            frost_lock: now.battery_c_frozen.map(|b| b.1),
            water_l: now.water_l,
            water_c: now.water_c_ice_m.map(|w| w.0),
            ice_m: now.water_c_ice_m.map(|w| w.1),
        });
    }

    fn hour<V: Lane>(&mut self, at: usize, h: &HourView<V>) {
        let Some(get) = self.value::<V>(at) else { return };
        self.hour = HourOfLane {
            air_c: get(h.air_c),
            wind_m_s: get(h.wind_m_s),
            water_l: get(h.water_l),
            water_c_ice_m: h.water_c_ice_m.map(|(c, m)| (get(c), get(m))),
            battery_c_frozen: h.battery_c_frozen.map(|(c, frozen)| (get(c), get(frozen) > 0.5)),
        };
    }

    fn rest<V: Lane>(&mut self, at: usize, minutes: Range<usize>, before: &RestView<V>, after: &RestView<V>) {
        let Some(get) = self.value::<V>(at) else { return };
        let [e, n, u] = before.aim.map(&get);
        let (now, length) = (self.hour, minutes.len() as f64);
        for minute in minutes.clone() {
            let share = (minute - minutes.start + 1) as f64 / length;
            let between = |a: V, b: V| get(a) + share * (get(b) - get(a));
            self.minutes.push(TraceMinute {
                minute: minute as u16,
                sun_elevation_deg: None,
                sun_azimuth_deg: None,
                dni_w_m2: 0.0,
                dhi_w_m2: 0.0,
                aim_tilt_deg: libm::acos(u.clamp(-1.0, 1.0)).to_degrees(),
                aim_azimuth_deg: compass(e, n),
                off_aim_deg: None,
                hunts: false,
                plane_w_m2: 0.0,
                panel_v: 0.0,
                panel_a: 0.0,
                // The voltage at rest falls with the charge; what it was under load before does not belong here.
                battery_v: after.battery_v_soc.map(|b| get(b.0)),
                soc: before.battery_v_soc.zip(after.battery_v_soc).map(|(a, b)| between(a.1, b.1)),
                pump_v: 0.0,
                duty: 0.0,
                jet_m: 0.0,
                wanted: false,
                counted: false,
                cause: None,
                rule: None,
                air_c: now.air_c,
                wind_m_s: now.wind_m_s,
                battery_c: now.battery_c_frozen.map(|b| b.0),
                frost_lock: now.battery_c_frozen.map(|b| b.1),
                water_l: now.water_l,
                water_c: now.water_c_ice_m.map(|w| w.0),
                ice_m: now.water_c_ice_m.map(|w| w.1),
            });
        }
    }
}
