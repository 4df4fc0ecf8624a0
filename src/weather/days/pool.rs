//! Donor days: the days of the files, as indices of the clear sky.
//!
//! A donor gives its cloudiness, not its irradiance: its hourly indices of beam and of global irradiance (irradiance over
//! that of the clear sky) are applied to the clear sky of the actual date. Diffuse light is the global less the beam.
//! It has no index of its own: under clouds it has little to do with the diffuse light of a clear sky, and an index would
//! grow with the haze of the date (from a clear February to a March of turbidity 5.7, days came out 5 % too bright).
//! Near the horizon an hour's index is noise: a few watts over a few watts, where the clear sky is known least. Hours whose mean sun is lower than [`LOW_SUN_DEG`](super::clear_day::LOW_SUN_DEG) take the index of
//! the nearest hour above it, and a factor for each month restores the energy that the file has in low hours ([`Factors`]).

use super::clear_day::ClearDay;
use super::window::around;
use crate::sky::Calendar;
use crate::sky::calendar::DAYS;
use crate::weather::file::year::{Hour, TypicalYear};

/// Largest beam and diffuse index taken from a file; larger ones are errors of the file or of the clear sky.
const INDEX_MAX: [f64; 2] = [1.4, 8.0];
/// Least diffuse light of an hour over that of the clear sky: about what clean dry air scatters, over what very turbid air
/// (Linke 6) does. The beam is reduced to make room for it.
const DIFFUSE_INDEX_MIN: f64 = 0.3;
/// Range of the factor by which the hours of a day are scaled to add up to the GHI of the file.
const CLOSING_RANGE: (f64, f64) = (0.9, 1.1);

/// One day of a file, as the chain sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Donor {
    /// Which file, 0-based.
    pub file: u16,
    /// Day of the year, 0..365.
    pub day_of_year: u16,
    /// Daily clear-sky index: GHI of the day over that of the clear sky.
    pub index: f64,
    /// Mean air temperature, °C.
    pub air_c: f64,
    /// Mean wind speed, m/s.
    pub wind_m_s: f64,
}

/// The hours of a donor day, from the start of the day ([`Calendar::day_start_h`]).
#[derive(Clone, Debug)]
pub(crate) struct DonorHours {
    /// Beam index, DNI over clear-sky DNI, by hour slot.
    pub beam: [f64; 24],
    /// Global index: beam on the horizontal and diffuse light over those of the clear sky.
    pub global: [f64; 24],
    /// Air temperature, °C.
    pub air_c: [f64; 24],
    /// Relative humidity, share.
    pub humidity: [f64; 24],
    /// Wind speed at 10 m, m/s.
    pub wind_m_s: [f64; 24],
    /// Rain of the day, mm; 0 where the file has none.
    pub rain_mm: f64,
    /// Rain by hour slot, mm.
    pub rain_by_hour_mm: [f64; 24],
}

/// Factors on the indices in a month, so that its hours keep the energy of the file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Factors {
    /// On the beam and diffuse index of hours with a low sun.
    pub low: [f64; 2],
    /// On both indices of the others.
    pub all: f64,
}

impl Factors {
    /// Indices unchanged.
    pub(crate) const NONE: Factors = Factors { low: [1.0; 2], all: 1.0 };
}

impl DonorHours {
    /// Beam and diffuse index of an hour slot under the clear sky of a date, with the factors of its month. Without factors
    /// the global index is that of the donor.
    #[inline]
    pub(crate) fn carried(&self, slot: usize, clear: &ClearDay, factors: &Factors) -> [f64; 2] {
        let (b, d) = (clear.beam_horizontal_w_m2[slot], clear.dhi_w_m2[slot]);
        if d <= 0.0 {
            return [0.0; 2];
        }
        let global = self.global[slot] * (b + d);
        let beam = (self.beam[slot] * b).min(global - global.min(DIFFUSE_INDEX_MIN * d));
        let [of_beam, of_diffuse] = if clear.high[slot] { [factors.all; 2] } else { factors.low };
        [of_beam * if b > 0.0 { beam / b } else { self.beam[slot] }, of_diffuse * ((global - beam) / d)]
    }

    /// Energy of a day under the clear sky of a date, Wh/m².
    fn energy(&self, clear: &ClearDay, factors: &Factors) -> f64 {
        let of_hour = |h: usize| {
            let [beam, diffuse] = self.carried(h, clear, factors);
            beam * clear.beam_horizontal_w_m2[h] + diffuse * clear.dhi_w_m2[h]
        };
        (0..24).map(of_hour).sum()
    }
}

/// A day that could not be a donor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct MissingDay {
    /// Which file, 0-based.
    pub file: u16,
    /// Day of the year, 0..365.
    pub day_of_year: u16,
    /// Hours of it that the file lacks.
    pub hours: u8,
}

/// All donor days of a site.
#[derive(Clone, Debug)]
pub struct DonorPool {
    donors: Vec<Donor>,
    hours: Vec<DonorHours>,
    successor: Vec<Option<u32>>,
    potential_wh_m2: Vec<f64>,
    missing: Vec<MissingDay>,
    factors: [Factors; 12],
    files: usize,
    rain_known: bool,
}

impl DonorPool {
    /// The donors of some years under one calendar. Days with a missing hour are left out and
    /// listed. The last day of a lone file is followed by its first; with several files 31 December
    /// has no successor, since nothing says which file comes next.
    pub fn new(years: &[TypicalYear], calendar: &Calendar) -> DonorPool {
        let clear: Vec<ClearDay> = calendar.days.iter().map(ClearDay::new).collect();
        let mut pool = DonorPool {
            donors: Vec::new(),
            hours: Vec::new(),
            successor: Vec::new(),
            potential_wh_m2: clear.iter().map(|c| c.ghi_sum_w_h_m2()).collect(),
            missing: Vec::new(),
            factors: low_sun_factors(years, calendar, &clear),
            files: years.len(),
            rain_known: years.iter().any(|y| y.hours.iter().flatten().any(|h| h.rain_mm.is_some())),
        };
        for (file, year) in years.iter().enumerate() {
            for (day, clear) in clear.iter().enumerate() {
                match hours_of_day(year, calendar, day) {
                    Ok(hours) => pool.add(file, day, &hours, clear),
                    Err(lacking) => pool.missing.push(MissingDay {
                        file: file as u16,
                        day_of_year: day as u16,
                        hours: lacking,
                    }),
                }
            }
        }
        pool.close_months(calendar, &clear);
        pool.link();
        pool
    }

    /// A pool of days of which only daily values are known, for records without hours. `potential_wh_m2` is the
    /// energy of a day of the year at index 1. [`DonorPool::hours`] is empty.
    pub fn from_daily(donors: Vec<Donor>, potential_wh_m2: Vec<f64>) -> DonorPool {
        assert_eq!(potential_wh_m2.len(), DAYS, "one potential for each day of the year");
        let files = donors.iter().map(|d| usize::from(d.file) + 1).max().unwrap_or(0);
        let mut pool = DonorPool {
            donors,
            hours: Vec::new(),
            successor: Vec::new(),
            potential_wh_m2,
            missing: Vec::new(),
            factors: [Factors::NONE; 12],
            files,
            rain_known: false,
        };
        pool.link();
        pool
    }

    fn add(&mut self, file: usize, day: usize, hours: &[Hour; 24], clear: &ClearDay) {
        let mean = |f: fn(&Hour) -> f64| hours.iter().map(f).sum::<f64>() / 24.0;
        let of = |f: fn(&Hour) -> f64| std::array::from_fn(|h| f(&hours[h]));
        let ghi: f64 = hours.iter().map(|h| h.ghi_w_m2.max(0.0)).sum();
        let potential = clear.ghi_sum_w_h_m2();
        let (beam, global) = indices(hours, clear);
        self.donors.push(Donor {
            file: file as u16,
            day_of_year: day as u16,
            index: if potential > 0.0 { ghi / potential } else { 0.0 },
            air_c: mean(|h| h.air_c),
            wind_m_s: mean(|h| h.wind_m_s),
        });
        let mut carried = DonorHours {
            beam,
            global,
            air_c: of(|h| h.air_c),
            humidity: of(|h| h.humidity),
            wind_m_s: of(|h| h.wind_m_s),
            rain_mm: hours.iter().map(|h| h.rain_mm.unwrap_or(0.0)).sum(),
            rain_by_hour_mm: of(|h| h.rain_mm.unwrap_or(0.0)),
        };
        // GHI, DNI and DHI of a file do not quite agree: scale the hours whose own index is used to its GHI.
        let high = || (0..24).filter(|&h| clear.high[h]);
        let clear_ghi = |h: usize| clear.beam_horizontal_w_m2[h] + clear.dhi_w_m2[h];
        let sum: f64 = high().map(|h| carried.global[h] * clear_ghi(h)).sum();
        if sum > 0.0 {
            let file: f64 = high().map(|h| hours[h].ghi_w_m2.max(0.0)).sum();
            let closing = (file / sum).clamp(CLOSING_RANGE.0, CLOSING_RANGE.1);
            carried.beam.iter_mut().chain(&mut carried.global).for_each(|k| *k *= closing);
        }
        self.hours.push(carried);
    }

    /// Whether the files have rain.
    pub(crate) fn rain_known(&self) -> bool {
        self.rain_known
    }

    /// Sets the factors so that donors on the dates around theirs have, by month, the energy of their daily index. Hours
    /// in which the sun is low on one date and not on the other would lose up to 1 % of it.
    fn close_months(&mut self, calendar: &Calendar, clear: &[ClearDay]) {
        // Of a pool of many years, some days are enough.
        let every = self.files.max(1);
        let (mut got, mut wanted) = ([0.0; 12], [0.0; 12]);
        for (donor, hours) in self.donors.iter().zip(&self.hours).step_by(every) {
            for date in around(donor.day_of_year) {
                let month = usize::from(calendar.days[date].month);
                got[month] += hours.energy(&clear[date], &self.factors[month]);
                wanted[month] += donor.index * self.potential_wh_m2[date];
            }
        }
        for (factors, (got, wanted)) in self.factors.iter_mut().zip(got.into_iter().zip(wanted)) {
            if got > 0.0 {
                let all = (wanted / got).clamp(CLOSING_RANGE.0, CLOSING_RANGE.1);
                *factors = Factors { low: factors.low.map(|f| f * all), all };
            }
        }
    }

    /// Finds each donor's successor: the next day of the same file.
    fn link(&mut self) {
        let lone = self.files == 1;
        let at: std::collections::BTreeMap<(u16, u16), u32> =
            self.donors.iter().enumerate().map(|(i, d)| ((d.file, d.day_of_year), i as u32)).collect();
        self.successor = self
            .donors
            .iter()
            .map(|d| {
                let next = d.day_of_year + 1;
                let next = if usize::from(next) == DAYS && lone { 0 } else { next };
                at.get(&(d.file, next)).copied()
            })
            .collect();
    }

    /// The donors, by file and day.
    pub fn donors(&self) -> &[Donor] {
        &self.donors
    }
    /// Their hours, in the same order; empty in a pool of daily values.
    pub(crate) fn hours(&self) -> &[DonorHours] {
        &self.hours
    }
    /// The day that truly followed a donor.
    pub(crate) fn successor(&self, donor: u32) -> Option<u32> {
        self.successor[donor as usize]
    }
    /// Energy of each day of the year at index 1, Wh/m².
    pub fn potential_wh_m2(&self) -> &[f64] {
        &self.potential_wh_m2
    }
    /// Days that could not be donors.
    pub(crate) fn missing(&self) -> &[MissingDay] {
        &self.missing
    }
    /// For each day of the year whether no file has a whole day within the calendar window around it: there days of
    /// another season stand in.
    pub(crate) fn bare_dates(&self) -> Vec<bool> {
        let mut bare = vec![true; DAYS];
        for donor in &self.donors {
            around(donor.day_of_year).for_each(|date| bare[date] = false);
        }
        bare
    }
    /// Mean temperature of the air over all days, °C.
    pub(crate) fn mean_air_c(&self) -> f64 {
        self.donors.iter().map(|d| d.air_c).sum::<f64>() / self.donors.len().max(1) as f64
    }
    /// Share of the days on these dates (0..365) whose mean is below a temperature, °C.
    pub(crate) fn share_colder(&self, than_c: f64, dates: &[u16]) -> f64 {
        let (mut days, mut colder) = (0_u32, 0_u32);
        for donor in self.donors.iter().filter(|d| dates.contains(&d.day_of_year)) {
            days += 1;
            colder += u32::from(donor.air_c < than_c);
        }
        f64::from(colder) / f64::from(days.max(1))
    }
    /// Files in the pool.
    pub(crate) fn files(&self) -> usize {
        self.files
    }
    /// Factors on the indices, by month.
    pub(crate) fn factors(&self) -> &[Factors; 12] {
        &self.factors
    }
}

/// The hours of a day of a file, or how many are lacking. Hours before 1 January and after 31 December
/// are taken from the other end of the file: they are night.
fn hours_of_day(year: &TypicalYear, calendar: &Calendar, day: usize) -> Result<[Hour; 24], u8> {
    let n = year.hours.len() as i64;
    let at = |h: usize| {
        let hour = 24 * day as i64 + h as i64 + i64::from(calendar.day_start_h);
        year.hours[hour.rem_euclid(n) as usize]
    };
    let lacking = (0..24).filter(|&h| at(h).is_none()).count();
    let mut hours = [None; 24];
    for (h, slot) in hours.iter_mut().enumerate() {
        *slot = at(h);
    }
    if lacking > 0 { Err(lacking as u8) } else { Ok(hours.map(|h| h.expect("none is lacking"))) }
}

/// Beam and global index by slot; hours with a low sun and the night take those of the nearest hour above.
fn indices(hours: &[Hour; 24], clear: &ClearDay) -> ([f64; 24], [f64; 24]) {
    let over = |value: f64, clear_sky: f64, largest: f64| {
        if clear_sky > 0.0 { (value / clear_sky).clamp(0.0, largest) } else { 0.0 }
    };
    let (mut beam, mut global) = ([0.0; 24], [0.0; 24]);
    for h in 0..24 {
        let from = clear.nearest_high(h);
        let (b, d) = (clear.beam_horizontal_w_m2[from], clear.dhi_w_m2[from]);
        beam[h] = over(hours[from].dni_w_m2, clear.dni_w_m2[from], INDEX_MAX[0]);
        let diffuse = over(hours[from].dhi_w_m2, d, INDEX_MAX[1]);
        global[h] = if d > 0.0 { (beam[h] * b + diffuse * d) / (b + d) } else { 0.0 };
    }
    (beam, global)
}

/// Factors that give low hours the energy on the horizontal that they have in the files.
fn low_sun_factors(years: &[TypicalYear], calendar: &Calendar, clear: &[ClearDay]) -> [Factors; 12] {
    let mut file = [[0.0; 2]; 12];
    let mut carried = [[0.0; 2]; 12];
    for year in years {
        for (day, clear) in clear.iter().enumerate() {
            let Ok(hours) = hours_of_day(year, calendar, day) else { continue };
            let (beam, global) = indices(&hours, clear);
            let month = usize::from(calendar.days[day].month);
            for h in (0..24).filter(|&h| clear.dhi_w_m2[h] > 0.0 && !clear.high[h]) {
                // Beam of the hour on the horizontal: DNI times the DNI-weighted cosine.
                let cosine = clear.beam_horizontal_w_m2[h] / clear.dni_w_m2[h].max(1e-9);
                file[month][0] += hours[h].dni_w_m2.max(0.0) * cosine;
                file[month][1] += hours[h].dhi_w_m2.max(0.0);
                carried[month][0] += beam[h] * clear.beam_horizontal_w_m2[h];
                let all = clear.beam_horizontal_w_m2[h] + clear.dhi_w_m2[h];
                carried[month][1] += global[h] * all - beam[h] * clear.beam_horizontal_w_m2[h];
            }
        }
    }
    std::array::from_fn(|m| Factors {
        low: std::array::from_fn(|part| {
            // Bounded: a clock off by half an hour would ask for extreme factors.
            if carried[m][part] > 0.0 { (file[m][part] / carried[m][part]).clamp(0.25, 2.5) } else { 1.0 }
        }),
        all: 1.0,
    })
}
