//! What a unit shows of an entry, from the readings of its simulated day.

use super::density::Shown;
use crate::design::Design;
use crate::logbook::{Entry, Test, What};
use crate::plant::single_unit::{self, Cells};
use crate::plant::{DayBlock, Noted, Scene, Watch};
use crate::sky::{SunMinute, SunTerms, on_plane};
use crate::weather::BlockDay;

/// A clock is read to about this many minutes: a jet seen at a time is looked for in the minutes around it.
const AROUND_MIN: usize = 2;
/// A stop of the jet up to this long is none, min.
const BRIDGE_MIN: usize = 5;
/// Share of the wanted minutes with a jet that "all day" begins at, and that it surely means.
const ALL_DAY: (f64, f64) = (0.85, 0.95);
/// Turn within a day up to which a mount did not turn, °.
const TURNED_DEG: f64 = 5.0;

/// One drawn unit, and what is needed of it to say what a meter would show.
pub struct UnitReadings<'u> {
    design: &'u Design<f64>,
    panel: Box<dyn Fn(f64, f64, f64) -> Cells<f64> + Send + Sync + 'u>,
}

/// A simulated day of a block, with its readings.
pub struct DayReadings<'d> {
    /// The season.
    pub scene: &'d Scene,
    /// Which day of it.
    pub index: usize,
    /// Its weather.
    pub weather: &'d BlockDay,
    /// Its outcome.
    pub out: &'d DayBlock,
    /// Its minutes.
    pub watch: &'d Watch,
}

impl<'d> DayReadings<'d> {
    /// The sun in a minute of the day, and its place among the minutes with the sun up; `None` while it is down.
    pub fn sun(&self, minute: usize) -> Option<(usize, &'d SunMinute)> {
        let calendar = &self.scene.calendar.days[usize::from(self.scene.days[self.index].day_of_year)];
        let k = minute.checked_sub(calendar.first)?;
        Some((k, calendar.minutes.get(k)?))
    }
}

impl<'u> UnitReadings<'u> {
    /// Of a drawn unit.
    pub fn new(design: &'u Design<f64>) -> Self {
        UnitReadings { design, panel: Box::new(single_unit::panel_in_light(&design.panel)) }
    }

    /// What it shows of an entry about a part alone, read after `days` days of the logbook.
    pub fn of_part(&self, entry: &Entry, days: usize) -> Shown {
        let supply = entry.tests.iter().find_map(|t| match t {
            Test::OnSupply(volts) => Some(*volts),
            Test::PumpUnplugged | Test::PanelToSun | Test::BatteryDisconnected | Test::FreshlyCharged => None,
        });
        if let Some(volts) = supply {
            if self.is_blocked(days) {
                return Shown::Nothing;
            }
            let (amps, jet_m, flow) = single_unit::pump(self.design, volts);
            return match entry.what {
                What::PumpCurrent => Shown::Value(amps),
                What::Flow => Shown::Value(flow),
                _ => Shown::Value(jet_m),
            };
        }
        match &entry.what {
            What::Quantity(key) => {
                let mut found = Shown::Nothing;
                let _ = self.design.map(&mut |k, value| {
                    if k == key {
                        found = Shown::Value(*value);
                    }
                });
                // Whoever measures a capacity finds what is left of it.
                match (&self.design.battery, key.as_str()) {
                    (Some(battery), "battery.capacity") => Shown::Value(battery.usable_capacity_ah()),
                    _ => found,
                }
            }
            _ => Shown::Value(self.design.electronics.own_current_a() + self.design.mount.standby_current_a),
        }
    }

    /// Whether the pump is blocked on a day of the logbook.
    fn is_blocked(&self, day: usize) -> bool {
        self.design.pump.blocked_from_day.is_some_and(|from| usize::from(from) <= day)
    }

    /// What lane `lane` shows of an entry about `day`; `noted` are the readings of its minute, if it has one.
    pub fn of_day(&self, entry: &Entry, day: &DayReadings<'_>, noted: Option<&Noted>, lane: usize) -> Shown {
        if let Some(noted) = noted {
            return self.at_minute(entry, day, noted, lane);
        }
        let scene_day = &day.scene.days[day.index];
        let wanted =
            scene_day.wanted_from as usize..(scene_day.wanted_to as usize).min(day.watch.jet_m.len());
        let jet = |minute: usize| day.watch.jet_m[minute].0[lane] > 0.0;
        let share = || wanted.clone().filter(|&m| jet(m)).count() as f64 / wanted.len().max(1) as f64;
        match entry.what {
            What::DidNotStop => {
                let last = wanted.end.saturating_sub(BRIDGE_MIN + 1).max(wanted.start)..wanted.end;
                Shown::Agrees(f64::from(u8::from(last.clone().any(jet))))
            }
            What::RanAllDay => {
                Shown::Agrees(((share() - ALL_DAY.0) / (ALL_DAY.1 - ALL_DAY.0)).clamp(0.0, 1.0))
            }
            What::RanHours => Shown::Value(share() * wanted.len() as f64 / 60.0),
            What::Still => {
                let still = day.out.jet_min.0[lane] < self.design.wish.still_below_min;
                Shown::Agrees(f64::from(u8::from(still)))
            }
            What::DidNotTurn => {
                let turned = day.out.travel_deg.0[lane] > TURNED_DEG;
                Shown::Agrees(f64::from(u8::from(!turned)))
            }
            What::WaterBelowFull => {
                let missing_l = (self.design.water.usable_l - day.out.water_l.0[lane]).max(0.0);
                // 1 mm on 1 m² is 1 L.
                Shown::Value(missing_l / self.design.water.area_m2.max(1e-6) * 1e-3)
            }
            _ => Shown::Nothing,
        }
    }

    fn at_minute(&self, entry: &Entry, day: &DayReadings<'_>, noted: &Noted, lane: usize) -> Shown {
        if entry.tests.contains(&Test::BatteryDisconnected) {
            return self.on_panel(entry, day, noted, lane);
        }
        let row = |row: &crate::lanes::RowF32| f64::from(row.0[lane]);
        let runs = row(&noted.duty) > 0.0;
        let while_running = |value: f64| if runs { Shown::Value(value) } else { Shown::Nothing };
        let unplugged = entry.tests.contains(&Test::PumpUnplugged);
        // What the pump takes goes to the battery if it is unplugged.
        let freed_a = if unplugged { row(&noted.pump_a) } else { 0.0 };
        match entry.what {
            What::Stopped | What::Started => event(entry, day, lane),
            What::Runs | What::DoesNotRun => {
                let share = around(day.watch, noted.minute, lane);
                Shown::Agrees(if entry.what == What::Runs { share } else { 1.0 - share })
            }
            What::JetHeight => while_running(row(&noted.jet_m)),
            What::Flow => {
                // Through one nozzle the flow follows the root of the height, which follows the voltage.
                while_running(single_unit::pump(self.design, row(&noted.pump_v)).2)
            }
            What::PumpVoltage => while_running(row(&noted.pump_v)),
            What::PumpCurrent => while_running(row(&noted.pump_a) / row(&noted.duty).max(1e-6)),
            What::BatteryVoltage => {
                let ohm = self.design.battery.as_ref().map_or(0.0, |b| b.resistance_ohm);
                let limit = self.design.electronics.charge_voltage_v.max(row(&noted.bus_v));
                Shown::Value((row(&noted.bus_v) + freed_a * ohm).min(limit))
            }
            What::PanelVoltage => Shown::Value(row(&noted.panel_v)),
            What::PanelCurrent => Shown::Value(row(&noted.panel_a)),
            What::ChargingCurrent => {
                let most = self.design.electronics.charge_current_max_a;
                Shown::Value((row(&noted.charge_a) + freed_a).min(most))
            }
            What::ShortCircuitCurrent => {
                Shown::Value(single_unit::current_at(&self.cells(entry, day, noted, lane), 0.0))
            }
            What::OpenCircuitVoltage => {
                let cells = self.cells(entry, day, noted, lane);
                if cells.i_l > 0.0 {
                    Shown::Value(single_unit::open_volts(&cells))
                } else {
                    Shown::Value(0.0)
                }
            }
            What::Azimuth | What::Tilt => {
                let [e, n, u] = [0, 1, 2].map(|k| row(&noted.aim[k]));
                Shown::Value(match entry.what {
                    What::Tilt => libm::acos(u.clamp(-1.0, 1.0)).to_degrees(),
                    _ => libm::atan2(e, n).to_degrees().rem_euclid(360.0),
                })
            }
            _ => Shown::Nothing,
        }
    }

    /// The panel in the light of the minute, turned to the sun if the test says so.
    fn cells(&self, entry: &Entry, day: &DayReadings<'_>, noted: &Noted, lane: usize) -> Cells<f64> {
        let hour = (noted.minute / 60).min(23);
        let (air_c, wind) = (day.weather.air_c[hour].0[lane], day.weather.wind_m_s[hour].0[lane]);
        let plane_w_m2 = match entry.tests.contains(&Test::PanelToSun) {
            true => self.facing_sun_w_m2(day, noted.minute, lane),
            false => f64::from(noted.plane_w_m2.0[lane]),
        };
        (self.panel)(plane_w_m2, air_c, wind)
    }

    /// Irradiance on the panel turned to the sun, through its cover, W/m².
    fn facing_sun_w_m2(&self, day: &DayReadings<'_>, minute: usize, lane: usize) -> f64 {
        let Some((k, sun)) = day.sun(minute) else { return 0.0 };
        let terms = SunTerms::from(sun);
        let (dni, dhi) = day.weather.light(k, lane);
        let sky = terms.behind_skyline::<f64>(
            dni,
            dhi,
            day.scene.open(day.index),
            day.scene.sun_share(day.index, k),
        );
        let (b0, albedo) = (self.design.panel.incidence_loss_b0, self.design.site.albedo);
        on_plane(&sky, terms.sun, terms.sun, b0, albedo, day.scene.open(day.index)).total_w_m2()
    }

    /// A reading with the pump hung on the panel.
    fn on_panel(&self, entry: &Entry, day: &DayReadings<'_>, noted: &Noted, lane: usize) -> Shown {
        let cells = self.cells(entry, day, noted, lane);
        let (volts, amps, runs) = match cells.i_l > 0.0 {
            // Whoever hangs it on waits until it turns, or gives it a push.
            true => single_unit::pump_on_panel::<f64>(self.design, &cells, true),
            false => (0.0, 0.0, false),
        };
        let jet_m = single_unit::pump(self.design, volts).1;
        let runs = runs && !self.is_blocked(day.index);
        let jet = runs && jet_m > 0.0;
        match entry.what {
            What::Runs => Shown::Agrees(f64::from(u8::from(jet))),
            What::DoesNotRun => Shown::Agrees(f64::from(u8::from(!jet))),
            _ if !runs => Shown::Nothing,
            What::JetHeight => Shown::Value(jet_m),
            What::Flow => Shown::Value(single_unit::pump(self.design, volts).2),
            What::PumpVoltage => Shown::Value(volts),
            What::PumpCurrent => Shown::Value(amps),
            _ => Shown::Nothing,
        }
    }
}

/// The first minute of the jet, or the end of the last one.
fn event(entry: &Entry, day: &DayReadings<'_>, lane: usize) -> Shown {
    let jet = |minute: &usize| day.watch.jet_m[*minute].0[lane] > 0.0;
    let mut minutes = 0..day.watch.jet_m.len();
    let found = match entry.what {
        What::Started => minutes.find(jet),
        _ => minutes.rev().find(jet).map(|m| m + 1),
    };
    found.map_or(Shown::Nothing, |m| Shown::Value(m as f64))
}

/// Share of the minutes around one in which there is a jet.
fn around(watch: &Watch, minute: usize, lane: usize) -> f64 {
    let span = minute.saturating_sub(AROUND_MIN)..(minute + AROUND_MIN + 1).min(watch.jet_m.len());
    let n = span.len().max(1) as f64;
    span.filter(|&m| watch.jet_m[m].0[lane] > 0.0).count() as f64 / n
}
