//! A design with a logbook: everything that is given before a unit is weighed.

use super::density::greatest_density;
use super::explanation::{Explanation, Unit};
use super::normal;
use super::schedule::Schedule;
use super::weather_law::WeatherLaw;
use crate::design::{Design, TopUp};
use crate::lanes::Isa;
use crate::logbook::{Entry, Logbook, What};
use crate::plant::{Scene, single_unit};
use crate::study::{Plan, SiteModel};
use crate::units::Uncertain;
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// A design with a logbook.
pub struct Case<'a> {
    /// What was believed.
    pub design: Design<Uncertain>,
    /// Its uncertain quantities, in the order of the numbers of a unit.
    pub keys: Vec<String>,
    /// The place.
    pub site: &'a SiteModel,
    /// The file of actual days, if there is one.
    pub actual: Option<&'a SiteModel>,
    /// The entries.
    pub entries: &'a [Entry],
    /// The days to simulate.
    pub schedule: Schedule,
    /// The same as the plant meets them.
    pub scene: Scene,
    /// Their weather.
    pub law: WeatherLaw,
    /// Range of wrong values of each entry, in its base unit.
    pub ranges: Vec<f64>,
    /// By day of the schedule: the greatest ln of the likelihood that its entries and those after it can have.
    pub best: Vec<f64>,
    /// Minute of the day at which each timed entry is read.
    pub minutes: Vec<Option<usize>>,
    /// Instruction set; results do not depend on it.
    pub isa: Isa,
    /// Seed of all chance.
    pub seed: u64,
    /// A hash of design, place, days and entries.
    pub name: [u8; 32],
}

impl<'a> Case<'a> {
    /// Of a plan and a logbook that fits it.
    pub fn new(
        plan: &'a Plan,
        logbook: &'a Logbook,
        actual: Option<&'a SiteModel>,
        isa: Isa,
        seed: u64,
    ) -> Case<'a> {
        let mut design = plan.file.design.clone();
        let entries = &logbook.entries[..];
        if entries.iter().any(|e| e.what == What::FilledUp) {
            // Who notes when it was filled up does not keep to the rhythm of the design.
            design.water.top_up = TopUp::Rain;
        }
        let calendar = &plan.site.calendar;
        let schedule = Schedule::new(entries, calendar);
        let dates: Vec<u16> = schedule.days.iter().map(|d| d.date.day_of_year()).collect();
        let scene = Scene::on_dates(&design, calendar, &dates);
        let law = WeatherLaw::new(&plan.site, actual, (&schedule, entries), seed);
        let minutes = read_at(&schedule, &scene);
        let mut name = Sha256::new();
        let of_days = actual.map_or("", |a| &a.sha256);
        for part in [&plan.file.sha256, &plan.site.sha256, of_days, &format!("{entries:?}")] {
            name.update(part);
            name.update([0]);
        }
        let nominal = design.nominal();
        let ranges: Vec<f64> = entries.iter().map(|e| range(e, &nominal)).collect();
        Case {
            keys: design.uncertain_keys(),
            best: best_from(&schedule, entries, &ranges),
            ranges,
            design,
            site: &plan.site,
            actual,
            entries,
            schedule,
            scene,
            law,
            minutes,
            isa,
            seed,
            name: name.finalize().into(),
        }
    }

    /// The calendar of the place.
    pub fn calendar(&self) -> &Arc<crate::sky::Calendar> {
        &self.site.calendar
    }

    /// The unit of some numbers: those of the uncertain quantities, then those of the explanation.
    pub fn unit(&self, explanation: Explanation, z: &[f64]) -> Unit {
        let u: Vec<f64> = z.iter().map(|z| normal::below(*z)).collect();
        let mut next = 0;
        let design = self.design.draw(&mut |key| {
            if self.keys.get(next).is_none_or(|k| k != key) {
                return 0.5;
            }
            next += 1;
            u[next - 1]
        });
        explanation.unit(design, &u[self.keys.len()..], self.schedule.days.len())
    }

    /// From minutes of the simulated day to minutes after midnight by the owner's clock.
    pub fn clock_shift(&self, entry: usize) -> f64 {
        let written = self.entries[entry].clock_minute.unwrap_or(0.0);
        written - self.schedule.minutes[entry].unwrap_or(0.0)
    }

    /// What was noted, as a number: a value, or the minute of the day.
    pub fn observed(&self, entry: usize) -> f64 {
        observed(&self.schedule, self.entries, entry)
    }
}

fn observed(schedule: &Schedule, entries: &[Entry], entry: usize) -> f64 {
    entries[entry].value.or(schedule.minutes[entry]).unwrap_or(0.0)
}

fn best_from(schedule: &Schedule, entries: &[Entry], ranges: &[f64]) -> Vec<f64> {
    let of_entry =
        |&k: &usize| libm::log(greatest_density(&entries[k], observed(schedule, entries, k), ranges[k]));
    let mut best: Vec<f64> =
        schedule.days.iter().map(|day| day.entries.iter().map(of_entry).sum::<f64>()).collect();
    for day in (1..best.len()).rev() {
        best[day - 1] += best[day];
    }
    best
}

/// The minutes of timed entries, moved into the part of the day that is stepped: at night nothing changes fast.
fn read_at(schedule: &Schedule, scene: &Scene) -> Vec<Option<usize>> {
    let mut minutes: Vec<Option<usize>> = vec![None; schedule.minutes.len()];
    for (index, day) in schedule.days.iter().enumerate() {
        let stepped = &scene.days[index];
        for &k in &day.entries {
            minutes[k] = schedule.minutes[k].map(|m| {
                (m as usize)
                    .clamp(stepped.step_from, stepped.step_to.saturating_sub(1).max(stepped.step_from))
            });
        }
    }
    minutes
}

/// Range over which a wrong value of an entry may lie.
fn range(entry: &Entry, nominal: &Design<f64>) -> f64 {
    let panel = &nominal.panel;
    let last_v = nominal.pump.bench.last().map_or(panel.open_circuit_voltage_v, |b| b.voltage_v);
    let (amps, jet_m, flow) = single_unit::pump(nominal, last_v);
    match &entry.what {
        What::Stopped | What::Started => 720.0,
        What::JetHeight => 1.5 * jet_m.max(0.1),
        What::Flow => 1.5 * flow.max(0.1),
        What::BatteryVoltage | What::PanelVoltage | What::OpenCircuitVoltage | What::PumpVoltage => {
            1.2 * panel.open_circuit_voltage_v
        }
        What::PumpCurrent => 2.0 * amps.max(0.01),
        What::PanelCurrent | What::ShortCircuitCurrent | What::ChargingCurrent => {
            1.5 * panel.short_circuit_current_a
        }
        What::StandbyCurrent => 0.2,
        What::Azimuth => 360.0,
        What::Tilt => 90.0,
        What::WaterBelowFull => (nominal.water.usable_l / nominal.water.area_m2.max(1e-6) * 1e-3).max(0.01),
        What::RanHours => 24.0,
        What::Quantity(key) => {
            let mut value = 0.0;
            let _ = nominal.map(&mut |k, v| {
                if k == key {
                    value = *v;
                }
            });
            2.0 * f64::max(value.abs(), 1e-6)
        }
        What::DidNotStop | What::Runs | What::DoesNotRun | What::DidNotTurn | What::FilledUp => 1.0,
        What::RanAllDay | What::Still => 1.0,
    }
}
