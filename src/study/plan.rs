//! A design together with its place, ready to be simulated.

use super::site::{SiteModel, Sites};
use crate::design::{Care, DesignFile, LearnedUnits, MountKind};
use crate::plant::Scene;
use crate::source::Problems;
use crate::tally::SeasonLayout;
use crate::units::dates;
use crate::weather::{HALF_WINDOW_DAYS, TypicalYear};
use std::sync::Arc;

/// Run-in: days simulated before the season begins and not counted, so that the weather decides the charge of the battery
/// at its start (10 to 30 days are common practice, no source). The one home of this number.
pub const RUN_IN_DAYS: usize = 20;

/// Day of the year (0-based) at which every chain of donor days starts, whatever the season:
/// [`RUN_IN_DAYS`] before 1 January. A calendar date thus meets the same weather in all designs.
pub const CHAIN_START: u16 = 365 - RUN_IN_DAYS as u16;

/// Latitude of the tropics, °: between them the sun stands north and south of a place by turns.
const TROPIC_DEG: f64 = 23.44;
/// Mean of a day, °C, below which still water freezes, and how many such days of a season are worth a warning (common practice, no
/// source).
const FREEZING_DAY_C: f64 = -2.0;
const FEW_FREEZING_DAYS: f64 = 5.0;
/// Tilt from which the direction of a panel matters, °.
const TILTED_DEG: f64 = 10.0;
/// How far from the direction of the equator a panel may face without a warning, °: a little beyond east and west.
const AWAY_DEG: f64 = 100.0;

/// A design together with its place, ready to be simulated.
pub struct Plan {
    /// The design as read.
    pub file: DesignFile,
    /// Its place.
    pub site: Arc<SiteModel>,
    /// Its season, minute windows and skyline; shared by builds with the same wish and place.
    pub scene: Arc<Scene>,
    /// How its tallies are laid out.
    pub layout: SeasonLayout,
}

impl Plan {
    /// Reads the place of the design, or takes it from `sites`.
    ///
    /// # Errors
    /// The problems of the design's weather files.
    pub fn new(file: DesignFile, sites: &Sites) -> Result<Plan, Problems> {
        let site = sites.of(&file)?;
        Ok(Plan::at(file, site))
    }

    /// A design at a place already read.
    pub fn at(file: DesignFile, site: Arc<SiteModel>) -> Plan {
        let mut scene = Scene::new(&file.design, &site.calendar, RUN_IN_DAYS);
        scene.ground_c = site.sampler.pool().mean_air_c();
        let scene = Arc::new(scene);
        Plan::in_scene(file, site, scene)
    }

    /// The same design at the same place with its parts drawn from learned units.
    #[must_use]
    pub fn with_units(&self, units: LearnedUnits) -> Plan {
        self.beside(self.file.clone().with_units(units))
    }

    /// The same build with another plan of care.
    pub(super) fn with_care(&self, care: Care) -> Plan {
        let mut file = self.file.clone();
        file.design.care = care;
        self.beside(file)
    }

    /// Another build at the same place. It shares the scene if the wish and the rules by which the pump runs are the same, too.
    pub(crate) fn beside(&self, file: DesignFile) -> Plan {
        let (own, other) = (&self.file.design, &file.design);
        let same = own.wish == other.wish
            && own.site == other.site
            && own.running == other.running
            && own.water.taken_in == other.water.taken_in
            && own.battery.is_some() == other.battery.is_some();
        match same {
            true => Plan::in_scene(file, Arc::clone(&self.site), Arc::clone(&self.scene)),
            false => Plan::at(file, Arc::clone(&self.site)),
        }
    }

    pub(super) fn in_scene(file: DesignFile, site: Arc<SiteModel>, scene: Arc<Scene>) -> Plan {
        let mut layout = SeasonLayout::new(&file.design, &scene.days, &site.calendar);
        layout.weather_drawn = !site.sampler.replays();
        layout.parts_drawn = file.learned.is_none();
        Plan { file, site, scene, layout }
    }

    /// Warnings about the weather files, about dates of the season for which they have no days, and about a panel that faces
    /// away from the sun.
    pub fn warnings(&self) -> Vec<String> {
        let mut all = self.site.warnings();
        all.extend(self.file.learned_note());
        all.extend(self.faces_away());
        all.extend(self.dusk_out_of_hours());
        all.extend(self.no_rain_to_stop_for());
        all.extend(self.rain_unknown());
        all.extend(self.frost_not_looked_at());
        let bare = self.site.sampler.pool().bare_dates();
        let season: Vec<_> = self.scene.days.iter().filter(|d| d.season_day >= 0).collect();
        let n = season.iter().filter(|d| bare[usize::from(d.day_of_year)]).count();
        if n > 0 {
            all.push(format!(
                "for {n} of the {} days of the season the weather files have no whole day within {HALF_WINDOW_DAYS} days of the date: days of another season stand in",
                season.len()
            ));
        }
        all
    }

    /// Whether rain should clean the panel, and the weather files have none.
    fn rain_unknown(&self) -> Option<String> {
        let panel = &self.file.design.panel;
        if self.site.sampler.pool().rain_known() {
            return None;
        }
        if panel.dirt.grows {
            return Some(
                "the weather files have no rain to wash the panel: the mean dirt is taken on every day, for a washing rain as often as \
                 `panel.dirt_rain_every` says"
                    .to_owned(),
            );
        }
        if panel.snow {
            return Some("the weather files have no rain, so no snow falls on the panel".to_owned());
        }
        panel.litter.falls.then(|| {
            "the weather files have no rain: only gusts and hands take leaves from the panel, and only hands droppings".to_owned()
        })
    }

    /// Whether a fixed panel faces away from the equator, where the sun is.
    fn faces_away(&self) -> Option<String> {
        let (mount, place) = (&self.file.design.mount, self.site.years.first()?.place);
        let (azimuth, latitude) = (mount.azimuth_deg.nominal, place.latitude_deg);
        let to_equator = if latitude > 0.0 { 180.0 } else { 0.0 };
        let away = ((azimuth - to_equator + 540.0).rem_euclid(360.0) - 180.0).abs();
        let odd = mount.kind == MountKind::Fixed
            && mount.tilt_deg.nominal >= TILTED_DEG
            && latitude.abs() >= TROPIC_DEG
            && away > AWAY_DEG;
        odd.then(|| {
            format!(
                "the panel faces {azimuth:.0} deg, away from the equator and the sun at latitude {latitude:.1}: is azimuth = \"{to_equator:.0} deg\" meant?"
            )
        })
    }

    /// Whether the pump is to be off in rain, and the weather files know of none.
    fn no_rain_to_stop_for(&self) -> Option<String> {
        let asked = self.file.design.running.control.rain_off_mm.is_some();
        let known = self.site.years.iter().any(TypicalYear::has_rain);
        (asked && !known)
            .then(|| "`running.rain_off` never acts: the weather files have no rain by the hour".to_owned())
    }

    /// Whether the season has frosts in which still water freezes, and ice is not looked at.
    fn frost_not_looked_at(&self) -> Option<String> {
        let design = &self.file.design;
        if design.water.ice.is_some() {
            return None;
        }
        let asked: Vec<u16> = self
            .scene
            .days
            .iter()
            .filter(|d| d.season_day >= 0 && d.wanted_min() > 0.0)
            .map(|d| d.day_of_year)
            .collect();
        let share = self.site.sampler.pool().share_colder(FREEZING_DAY_C, &asked);
        let days = share * asked.len() as f64;
        (days >= FEW_FREEZING_DAYS).then(|| {
            format!(
                "on {days:.0} of the {} days of the season the air stays below {FREEZING_DAY_C} °C in the mean, and still water freezes: ice is not looked \
                 at, so these days count as if there were none; give `depth` in [water], or the days on which the pump is \
                 taken in (`taken_in`)",
                asked.len()
            )
        })
    }

    /// Whether in some month no evening is long enough for the wished dusk run, because the hours end too soon after sunset.
    fn dusk_out_of_hours(&self) -> Option<String> {
        let wish = &self.file.design.wish;
        let asked = wish.dusk_run_min;
        if !wish.dusk_run_wished {
            return None;
        }
        // Longest run that the hours leave on each evening, min.
        let evenings: Vec<(u8, f64)> = self
            .scene
            .days
            .iter()
            .filter(|d| d.season_day >= 0)
            .filter_map(|d| Some((d.month, (d.dusk_to - d.sunset_min?).max(0.0))))
            .collect();
        let reached = |left: f64| left >= asked * (1.0 - 1e-6);
        let longest =
            |month: u8| evenings.iter().filter(|e| e.0 == month).map(|e| e.1).fold(f64::NAN, f64::max);
        let months: Vec<u8> = self
            .layout
            .months
            .iter()
            .copied()
            .filter(|m| longest(*m) < asked && !reached(longest(*m)))
            .collect();
        let first = *months.first()?;
        let names: Vec<&str> = months.iter().map(|m| dates::MONTHS[usize::from(*m)]).collect();
        let most = months.iter().map(|m| longest(*m)).fold(longest(first), f64::max);
        let possible = evenings.iter().filter(|e| reached(e.1)).count() as f64 / evenings.len() as f64;
        let never = match possible < wish.evenings {
            true => format!(
                " (they leave time for it on {:.0} % of the season's evenings, and {:.0} % are asked for)",
                100.0 * possible,
                100.0 * wish.evenings
            ),
            false => String::new(),
        };
        Some(format!(
            "the wished dusk run of {asked:.0} min cannot be reached in {}: the hours in which the pump is let run end at \
             most {most:.0} min after sunset{never}; let them end later (`hours` or `when` in [running]), or wish for less",
            listed(&names)
        ))
    }

    /// Index of the first day of the scene in the chain of donor days.
    pub fn chain_offset(&self) -> usize {
        let first = self.scene.days.first().map_or(CHAIN_START, |d| d.day_of_year);
        usize::from((365 + first - CHAIN_START) % 365)
    }

    /// Days of the chain that the season needs.
    pub fn chain_days(&self) -> usize {
        self.chain_offset() + self.scene.days.len()
    }
}

/// `May`, `May and June`, `May, June and July`.
fn listed(names: &[&str]) -> String {
    match names {
        [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
        _ => names.concat(),
    }
}
