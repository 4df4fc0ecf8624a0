//! The layout of a tally: the days of the season, the wish, and the uncertain quantities of a design. Also decides what makes
//! a day still or short ([`LayoutDay::is_still`]).

use super::life::CycleLife;
use super::sizing::SizingInputs;
use crate::design::{Design, TopUp};
use crate::plant::SceneDay;
use crate::sky::Calendar;
use crate::units::Uncertain;
use crate::weather::DULL_LEVELS;
use sha2::{Digest, Sha256};

/// Days in a row of the map of hours.
pub const DAYS_PER_ROW: usize = 5;

/// The layout of a tally. Two tallies can be added if their layouts have the same [`SeasonLayout::fingerprint`].
#[derive(Clone, Debug, PartialEq)]
pub struct SeasonLayout {
    /// Days of the season, in order.
    pub days: Vec<LayoutDay>,
    /// Months of the season (0..12), in its order.
    pub months: Vec<u8>,
    /// Local standard hour of hour slot 0.
    pub first_hour: i32,
    /// Keys of the uncertain quantities, in the order of [`Design::uncertain_keys`]; draws are given in the same order.
    pub unknown: Vec<String>,
    /// Whether the weather is drawn, so that the mean of its dull light is known.
    pub weather_drawn: bool,
    /// Whether each of the uncertain quantities is drawn by itself, not from learned units.
    pub parts_drawn: bool,
    /// Whether there is a battery.
    pub battery: bool,
    /// Whether the panel moves.
    pub moving: bool,
    /// A day with fewer jet minutes is still, min.
    pub still_below_min: f64,
    /// A day with less than this share of its wanted minutes is short.
    pub enough: f64,
    /// How long after sunset the jet should go on, min.
    pub dusk_run_min: f64,
    /// Acceptable still days a month.
    pub still_days_a_month: f64,
    /// Share of evenings that should reach the dusk run; `None` if no dusk run is wished.
    pub evenings_wished: Option<f64>,
    /// Whether the water should last between fillings: not where the basin is kept full.
    pub water_wished: bool,
    /// Share of years that must meet the wish.
    pub confidence: f64,
    /// First and last day of the season, 0-based days of the year.
    pub season: (u16, u16),
    /// Nominal cycle life, if there is a battery; a trial may have its own draw.
    pub life: Option<CycleLife>,
    /// Nominal calendar life, years.
    pub calendar_life_y: Option<f64>,
    /// Water above the low-water mark when full, L.
    pub usable_l: f64,
    /// Hours the pump is rated for, if it is.
    pub pump_rated_h: Option<f64>,
    /// The inputs of the handbook's worksheet.
    pub sizing: SizingInputs,
}

/// One day of the season.
#[derive(Clone, Debug, PartialEq)]
pub struct LayoutDay {
    /// Month, 0..12.
    pub month: u8,
    /// Day of the year, 0..365.
    pub day_of_year: u16,
    /// Start of the wanted hours, min from the start of the day.
    pub wanted_from: f64,
    /// End of the wanted hours, min.
    pub wanted_to: f64,
    /// With fewer jet minutes the day is still. If less than `still_below_min` is wanted, a day with a jet in all wanted
    /// minutes is not still; a day on which nothing is wanted never is.
    pub still_below: f64,
    /// With fewer jet minutes it is short.
    pub short_below: f64,
    /// Sunrise, min from the start of the day, if there is one.
    pub sunrise_min: Option<f64>,
    /// Sunset, if there is one.
    pub sunset_min: Option<f64>,
}

impl LayoutDay {
    /// Wanted minutes.
    pub(crate) fn wanted_min(&self) -> f64 {
        self.wanted_to - self.wanted_from
    }

    /// Whether a day with so many jet minutes is still. This is the only place that decides it.
    pub(crate) fn is_still(&self, jet_min: f64) -> bool {
        jet_min < self.still_below
    }

    /// Whether a day with so many jet minutes is short (or still).
    pub(crate) fn is_short(&self, jet_min: f64) -> bool {
        jet_min < self.short_below
    }
}

/// Factor on thresholds. Jet minutes and dusk runs are sums in single precision, so a jet that runs all the time may miss the
/// wanted minutes by rounding (up to 1e-7 of them).
pub(super) const ROUNDING: f64 = 1.0 - 1e-6;

impl SeasonLayout {
    /// The layout for a design. `scene_days` in order, with the run-in before the season.
    pub(crate) fn new(
        design: &Design<Uncertain>,
        scene_days: &[SceneDay],
        calendar: &Calendar,
    ) -> SeasonLayout {
        let wish = &design.wish;
        let days: Vec<LayoutDay> = scene_days
            .iter()
            .filter(|d| d.season_day >= 0)
            .map(|d| {
                let wanted = d.wanted_min();
                LayoutDay {
                    month: d.month,
                    day_of_year: d.day_of_year,
                    wanted_from: d.wanted_from,
                    wanted_to: d.wanted_to,
                    still_below: wish.still_below_min.min(wanted * ROUNDING),
                    short_below: wish.enough * wanted * ROUNDING,
                    sunrise_min: calendar.days.get(usize::from(d.day_of_year)).and_then(|c| c.sunrise_min),
                    sunset_min: d.sunset_min,
                }
            })
            .collect();
        let mut months: Vec<u8> = Vec::with_capacity(12);
        for day in &days {
            if !months.contains(&day.month) {
                months.push(day.month);
            }
        }
        SeasonLayout {
            days,
            months,
            first_hour: calendar.day_start_h,
            unknown: design.uncertain_keys(),
            weather_drawn: true,
            parts_drawn: true,
            battery: design.battery.is_some(),
            moving: design.mount.kind != crate::design::MountKind::Fixed,
            still_below_min: wish.still_below_min,
            enough: wish.enough,
            dusk_run_min: wish.dusk_run_min,
            still_days_a_month: wish.still_days_a_month,
            evenings_wished: wish.dusk_run_wished.then_some(wish.evenings),
            water_wished: design.water.top_up != TopUp::Always,
            confidence: wish.confidence,
            season: wish.season,
            life: design.battery.as_ref().map(|b| CycleLife {
                at_full_depth: b.cycles_at_full_depth.nominal,
                exponent: b.cycle_exponent.nominal,
            }),
            calendar_life_y: design.battery.as_ref().map(|b| b.calendar_life_y.nominal),
            usable_l: design.water.usable_l.nominal,
            pump_rated_h: design.pump.rated_hours,
            sizing: SizingInputs::of(design),
        }
    }

    /// Number of control variates of a trial.
    pub(super) fn controls(&self) -> usize {
        let weather = if self.weather_drawn { DULL_LEVELS } else { 0 };
        weather + if self.parts_drawn { self.unknown.len() } else { 0 }
    }

    /// Where the uncertain quantities that both designs have stand among the controls of each.
    pub(super) fn shared_parts(&self, other: &SeasonLayout) -> Vec<[usize; 2]> {
        let place = |of: &SeasonLayout, k: usize| of.controls() - of.unknown.len() + k;
        let own = self.unknown.iter().enumerate();
        own.filter_map(|(k, key)| {
            let there = other.unknown.iter().position(|theirs| theirs == key)?;
            Some([place(self, k), place(other, there)])
        })
        .filter(|_| self.parts_drawn && other.parts_drawn)
        .collect()
    }

    /// Number of rows of the map of hours.
    pub(crate) fn rows(&self) -> usize {
        self.days.len().div_ceil(DAYS_PER_ROW)
    }

    /// Number of weeks of the season; the last may be shorter.
    pub(crate) fn weeks(&self) -> usize {
        self.days.len().div_ceil(7)
    }

    /// Of a sum over the season, what falls on a week.
    pub(crate) fn of_a_week(&self) -> f64 {
        7.0 / self.days.len().max(1) as f64
    }

    /// Index of a month in [`SeasonLayout::months`].
    pub(crate) fn month_slot(&self, month: u8) -> Option<usize> {
        self.months.iter().position(|&m| m == month)
    }

    /// Length of the season in months of 365/12 days.
    pub(crate) fn months_long(&self) -> f64 {
        self.days.len() as f64 * 12.0 / 365.0
    }

    /// SHA-256 over everything that decides what a tally counts.
    pub(crate) fn fingerprint(&self) -> [u8; 32] {
        let mut hash = Sha256::new();
        let mut number = |x: f64| hash.update(x.to_bits().to_le_bytes());
        for x in [self.enough, self.dusk_run_min, self.still_days_a_month, f64::from(self.first_hour)] {
            number(x);
        }
        // The confidence asks how many years, not which.
        number(self.evenings_wished.unwrap_or(-1.0));
        number(f64::from(u8::from(self.water_wished)));
        number(f64::from(u8::from(self.battery)));
        number(f64::from(u8::from(self.weather_drawn)));
        number(f64::from(u8::from(self.parts_drawn)));
        number(self.days.len() as f64);
        for day in &self.days {
            for x in [
                f64::from(day.month),
                f64::from(day.day_of_year),
                day.wanted_from,
                day.wanted_to,
                day.still_below,
                f64::from(u8::from(day.sunset_min.is_some())),
            ] {
                number(x);
            }
        }
        for key in &self.unknown {
            hash.update((key.len() as u64).to_le_bytes());
            hash.update(key.as_bytes());
        }
        hash.finalize().into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::Scene;
    use crate::sky::Place;
    use std::sync::Arc;

    #[test]
    fn a_season_over_the_new_year_keeps_its_order() {
        let text = "[site]\nweather = \"v.csv\"\n[wish]\nseason = \"11-15 to 02-10\"\n[panel]\nrated_power = \"8 to 12 W\"\n\
                    open_circuit_voltage = \"10.8 V\"\n[pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n";
        let design = crate::design::parse("d.toml".as_ref(), text.to_owned()).expect("a good design").design;
        let place = Place { latitude_deg: 55.0, longitude_deg: 0.0, elevation_m: 10.0, utc_offset_h: 0.0 };
        let calendar = Arc::new(Calendar::new(place, [3.0; 12]));
        let scene = Scene::new(&design, &calendar, 20);
        let layout = SeasonLayout::new(&design, &scene.days, &calendar);
        assert_eq!((layout.months.as_slice(), layout.days.len()), (&[10, 11, 0, 1][..], 16 + 31 + 31 + 10));
        assert_eq!((layout.days[0].day_of_year, layout.days[87].day_of_year), (318, 40));
        assert_eq!((layout.rows(), layout.weeks(), layout.first_hour), (18, 13, 2));
        assert!(layout.unknown.contains(&"panel.rated_power".to_owned()), "{:?}", layout.unknown);
        assert!(!layout.battery && layout.life.is_none() && layout.sizing.usable_wh.is_none());
        // One bench point of 1.74 W at 430 mm: less for a lower jet.
        assert!(layout.sizing.pump_w > 0.0 && layout.sizing.pump_w <= 1.74, "{}", layout.sizing.pump_w);
        let again = SeasonLayout::new(&design, &scene.days, &calendar);
        assert_eq!(again.fingerprint(), layout.fingerprint());
    }

    #[test]
    fn a_day_that_runs_all_its_few_wanted_minutes_is_not_still() {
        let text = "[site]\nweather = \"v.csv\"\n[wish]\nhours = \"12:00 to 12:20\"\n[panel]\nrated_power = \"10 W\"\n\
                    open_circuit_voltage = \"10.8 V\"\n[pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n";
        let design = crate::design::parse("d.toml".as_ref(), text.to_owned()).expect("a good design").design;
        let place = Place { latitude_deg: 34.0, longitude_deg: 0.0, elevation_m: 10.0, utc_offset_h: 0.0 };
        let calendar = Arc::new(Calendar::new(place, [3.0; 12]));
        let layout = SeasonLayout::new(&design, &Scene::new(&design, &calendar, 0).days, &calendar);
        let day = &layout.days[0];
        assert!((day.wanted_min() - 20.0).abs() < 1e-9);
        assert!(day.still_below < 20.0 && day.still_below > 19.99);
    }
}
