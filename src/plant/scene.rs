//! The season of a design at its site: which minutes are wanted, which are stepped.

use super::water::EvaporationDay;
use crate::design::{DayTime, Design, RunsWhen, Trees};
use crate::sky::calendar::MINUTES;
use crate::sky::{Calendar, CalendarDay, LeafYear, OpenSky, Skyline};
use crate::units::Uncertain;
use std::sync::Arc;

/// Minutes stepped after the last light, in which a mount with a battery returns to its waiting position.
const GO_HOME_MIN: usize = 5;

/// Temperature of the ground where the weather of the place is not known, °C.
const GROUND_C: f64 = 10.0;

/// One day of the season as the plant meets it.
#[derive(Clone, Debug, PartialEq)]
pub struct SceneDay {
    /// Day of the year, 0..365 (index into the calendar).
    pub day_of_year: u16,
    /// Month, 0..12.
    pub month: u8,
    /// Day counted in the season, negative during the run-in before it.
    pub season_day: i32,
    /// Start of the wanted hours, min from the start of the day; equal to `wanted_to` if none.
    pub wanted_from: f64,
    /// End of the wanted hours, min.
    pub wanted_to: f64,
    /// The time in which the clock lets the pump run, min from the start of the day: start ...
    pub run_from: f64,
    /// ... and end.
    pub run_to: f64,
    /// When the hold of the morning ends at the latest, and from when the reserve may be used, min; 0 without such a rule.
    pub hold_to: f64,
    /// See `hold_to`.
    pub reserve_to: f64,
    /// The time in which a dusk run is looked for, min: start ...
    pub dusk_from: f64,
    /// ... and end; a run that still goes on then is cut off by the hours.
    pub dusk_to: f64,
    /// The pump is taken in for the winter.
    pub taken_in: bool,
    /// Sunset, min, if there is one and an evening is asked for.
    pub sunset_min: Option<f64>,
    /// Minutes stepped one by one: from this one ...
    pub step_from: usize,
    /// ... up to this one; the rest of the day is closed form.
    pub step_to: usize,
}

impl SceneDay {
    /// Wanted minutes of the day.
    pub fn wanted_min(&self) -> f64 {
        self.wanted_to - self.wanted_from
    }

    /// Wanted part of a minute, 0..=1.
    #[inline]
    pub(crate) fn wanted_share(&self, minute: usize) -> f64 {
        share_of_minute(minute, self.wanted_from, self.wanted_to)
    }

    /// Part of a minute in which the clock lets the pump run, 0..=1.
    #[inline]
    pub(crate) fn run_share(&self, minute: usize) -> f64 {
        share_of_minute(minute, self.run_from, self.run_to)
    }

    /// Part of a minute that is wanted and in which the clock lets the pump run, 0..=1.
    #[inline]
    pub(crate) fn wanted_run_share(&self, minute: usize) -> f64 {
        share_of_minute(minute, self.wanted_from.max(self.run_from), self.wanted_to.min(self.run_to))
    }

    /// Part of a minute in which a dusk run is looked for, 0..=1.
    #[inline]
    pub(crate) fn dusk_share(&self, minute: usize) -> f64 {
        share_of_minute(minute, self.dusk_from, self.dusk_to)
    }
}

/// Part of a minute between two times, min, 0..=1.
#[inline]
fn share_of_minute(minute: usize, from_min: f64, to_min: f64) -> f64 {
    let from = minute as f64;
    // Nearly all minutes lie within or outside entirely.
    if from >= from_min && from + 1.0 <= to_min {
        return 1.0;
    }
    (to_min.min(from + 1.0) - from_min.max(from)).max(0.0)
}

/// A design's days at its site, with everything that is the same for all trials and all draws of its parts.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The sun and the clear sky of the place.
    pub calendar: Arc<Calendar>,
    skyline: Skyline,
    /// Run-in days, then the season, in order.
    pub days: Vec<SceneDay>,
    /// When the trees of the place are in leaf and when they shed them.
    pub leaf_year: LeafYear,
    /// What the skyline leaves of the sky, if trees are as black as walls.
    open: OpenSky,
    /// The same on each scene day, where trees let light through by the season; empty where there are none.
    through_trees: Vec<OpenSky>,
    /// Share of light that passes through trees, by day of the year; empty where there are none.
    tree_light: Vec<f64>,
    /// Share of the sun's beam and of its glow that the skyline leaves, by day of the year and minute with the sun up; empty where
    /// nothing stands in the way or the day is not in the season.
    pub(crate) sun_shares: Vec<Vec<[f64; 2]>>,
    /// For evaporation, by scene day.
    pub(crate) evaporation: Vec<EvaporationDay>,
    /// Temperature of the ground, °C: the mean of the year.
    pub ground_c: f64,
}

impl Scene {
    /// The days of a design's season with `run_in` days before it, in which charge, water and mount settle.
    ///
    /// In polar day, sunrise means the start of the day and sunset its end. In polar night, hours that are given by sunrise
    /// or sunset are not wanted at all.
    pub fn new(design: &Design<Uncertain>, calendar: &Arc<Calendar>, run_in: usize) -> Scene {
        let first = i64::from(design.wish.season.0);
        let season = design.wish.days().count() as i64;
        let date = |k: i64| (first + k).rem_euclid(365) as u16;
        Scene::of(design, calendar, (-(run_in as i64)..season).map(|k| (date(k), k as i32)))
    }

    /// Days of the year (0..365) one after the other, whatever the season of the design; each counts as one of the season.
    pub fn on_dates(design: &Design<Uncertain>, calendar: &Arc<Calendar>, dates: &[u16]) -> Scene {
        Scene::of(design, calendar, dates.iter().enumerate().map(|(k, &date)| (date % 365, k as i32)))
    }

    /// Days of the year, each with its day of the season, on which nothing is wanted and the pump is off.
    pub(crate) fn unwanted(
        design: &Design<Uncertain>,
        calendar: &Arc<Calendar>,
        dates: impl Iterator<Item = (u16, i32)>,
    ) -> Scene {
        let mut off = design.clone();
        off.water.taken_in = Some((0, 364));
        Scene::of(&off, calendar, dates)
    }

    /// Of days of the year, each with its day of the season.
    fn of(
        design: &Design<Uncertain>,
        calendar: &Arc<Calendar>,
        dates: impl Iterator<Item = (u16, i32)>,
    ) -> Scene {
        let days: Vec<SceneDay> = dates
            .map(|(date, k)| scene_day(design, calendar, &calendar.days[usize::from(date)], k))
            .collect();
        let trees = &design.site.trees;
        let skyline = Skyline::new(&design.site.skyline).with_trees(&trees.corners);
        let leaf_year = leaf_year(trees, calendar);
        let tree_light = if skyline.has_trees() { tree_light(trees, &leaf_year) } else { Vec::new() };
        let through = |date: u16| tree_light.get(usize::from(date)).copied().unwrap_or(0.0);
        let mut sun_shares = vec![Vec::new(); 365];
        if !skyline.is_open() {
            for d in &days {
                let shares = &mut sun_shares[usize::from(d.day_of_year)];
                if shares.is_empty() {
                    *shares = skyline
                        .sun_shares(&calendar.days[usize::from(d.day_of_year)], through(d.day_of_year));
                }
            }
        }
        let evaporation = days.iter().map(|d| EvaporationDay::new(&calendar.place, d.day_of_year)).collect();
        let open = skyline.open_sky();
        let through_trees = match skyline.has_trees() {
            true => days.iter().map(|d| skyline.open_sky_through(through(d.day_of_year))).collect(),
            false => Vec::new(),
        };
        Scene {
            calendar: Arc::clone(calendar),
            skyline,
            days,
            leaf_year,
            open,
            through_trees,
            tree_light,
            sun_shares,
            evaporation,
            ground_c: GROUND_C,
        }
    }

    /// What the skyline leaves of the sky on a scene day.
    pub fn open(&self, index: usize) -> &OpenSky {
        self.through_trees.get(index).unwrap_or(&self.open)
    }

    /// Share of the sun's beam and of its glow that the skyline leaves, in a minute of a day (counted from the first with the sun up).
    pub fn sun_share(&self, index: usize, k: usize) -> [f64; 2] {
        let shares = &self.sun_shares[usize::from(self.days[index].day_of_year)];
        shares.get(k).copied().unwrap_or([1.0; 2])
    }

    /// Whether both have the same place and the same skyline, whatever their seasons.
    pub(crate) fn shares_sky_with(&self, other: &Scene) -> bool {
        Arc::ptr_eq(&self.calendar, &other.calendar)
            && self.skyline == other.skyline
            && self.tree_light == other.tree_light
    }
}

/// When the trees of a place are in leaf.
fn leaf_year(trees: &Trees, calendar: &Calendar) -> LeafYear {
    let usual = LeafYear::usual(calendar.place.latitude_deg, calendar.place.elevation_m);
    LeafYear {
        leafing: trees.leafing.map_or(usual.leafing, f64::from),
        colouring: trees.colouring.map_or(usual.colouring, f64::from),
    }
}

/// Share of light that passes through trees on each day of the year: between bare and in leaf as layers of leaves take it, each its share.
fn tree_light(trees: &Trees, year: &LeafYear) -> Vec<f64> {
    let of = |day: u16| {
        let leaf = year.in_leaf(f64::from(day));
        libm::pow(trees.bare, 1.0 - leaf) * libm::pow(trees.in_leaf, leaf)
    };
    (0..365).map(of).collect()
}

fn scene_day(
    design: &Design<Uncertain>,
    calendar: &Calendar,
    day: &CalendarDay,
    season_day: i32,
) -> SceneDay {
    let end = MINUTES as f64;
    let (up_from, up_to) = (day.first, day.first + day.minutes.len());
    let night = day.minutes.is_empty();
    let hours = |from: DayTime, to: DayTime| hours_of(day, calendar.day_start_h, from, to);
    let control = &design.running.control;
    let minute = |t: DayTime| minute_of(day, calendar.day_start_h, t);
    let hold_to = control.hold.as_ref().map_or(0.0, |h| minute(h.latest));
    let reserve_to = control.reserve.as_ref().map_or(0.0, |r| minute(r.until));
    // A pump that is taken in for the winter is not wanted at all, and its evenings are not asked for.
    let taken_in = design.water.is_taken_in(day.day_of_year);
    let hours = |from, to| if taken_in { (0.0, 0.0) } else { hours(from, to) };
    let (wanted_from, wanted_to) = hours(design.wish.from, design.wish.to);
    let battery = design.battery.is_some();
    let (run_from, run_to) = match design.running.when {
        RunsWhen::Wanted => (wanted_from, wanted_to),
        RunsWhen::Always | RunsWhen::Light if taken_in => (0.0, 0.0),
        RunsWhen::Always | RunsWhen::Light => (0.0, end),
        RunsWhen::Timer => hours(design.running.hours.0, design.running.hours.1),
    };
    // Without a battery nothing runs in the dark.
    let (dusk_from, dusk_to) = if battery { (run_from, run_to) } else { (wanted_from, wanted_to) };
    let mut step = if night { (MINUTES, 0) } else { (up_from, up_to + GO_HOME_MIN) };
    let mut widen = |from: f64, to: f64| {
        if to > from {
            step = (step.0.min(from as usize), step.1.max(libm::ceil(to) as usize));
        }
    };
    widen(wanted_from, wanted_to);
    if battery && design.running.when != RunsWhen::Light {
        widen(run_from, run_to);
    }
    let step_to = step.1.min(MINUTES);
    SceneDay {
        day_of_year: day.day_of_year,
        month: day.month,
        season_day,
        wanted_from,
        wanted_to,
        run_from,
        run_to,
        hold_to,
        reserve_to,
        dusk_from,
        dusk_to,
        taken_in,
        sunset_min: day.sunset_min.filter(|_| !taken_in),
        step_from: step.0.min(step_to),
        step_to,
    }
}

/// Start and end of hours on a day, min from its start; the same twice where there are none.
fn hours_of(day: &CalendarDay, day_start_h: i32, from: DayTime, to: DayTime) -> (f64, f64) {
    let end = MINUTES as f64;
    let hung_on_sun = |t: DayTime| !matches!(t, DayTime::Clock(_));
    let none = day.minutes.is_empty() && (hung_on_sun(from) || hung_on_sun(to));
    let starts = minute_of(day, day_start_h, from).clamp(0.0, end);
    let mut ends = minute_of(day, day_start_h, to).clamp(0.0, end);
    // A clock end at the very start of the day is the end of the day.
    if matches!(to, DayTime::Clock(_)) && ends == 0.0 {
        ends = end;
    }
    if none || ends <= starts { (starts, starts) } else { (starts, ends) }
}

/// A time on a day, min from its start; by the sun it may lie outside of the day.
fn minute_of(day: &CalendarDay, day_start_h: i32, time: DayTime) -> f64 {
    let end = MINUTES as f64;
    let (up_from, up_to) = (day.first, day.first + day.minutes.len());
    let night = day.minutes.is_empty();
    let rise = day.sunrise_min.unwrap_or(if night { end } else { up_from as f64 });
    let set = day.sunset_min.unwrap_or(if night { 0.0 } else { up_to as f64 });
    match time {
        DayTime::Sunrise(after) => rise + after,
        DayTime::Sunset(after) => set + after,
        DayTime::Clock(m) => (m - 60.0 * f64::from(day_start_h)).rem_euclid(end),
    }
}
