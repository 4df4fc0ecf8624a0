//! The weather of the days of a logbook: drawn so that it agrees with the owner's words for the sky, or as a file of actual hours has it.

use super::resample::{effective_size, systematic};
use super::schedule::Schedule;
use crate::logbook::{Entry, Sky, Test, What};
use crate::sky::{Calendar, SunMinute};
use crate::study::SiteModel;
use crate::weather::{SampledDay, Sampler};

/// Clear-sky index of a day from which it is clear, and below which it is overcast: global light over that of a clear day.
pub const DAY_LIMITS: (f64, f64) = (0.35, 0.75);
/// The same of an hour.
pub const HOUR_LIMITS: (f64, f64) = (0.4, 0.85);
/// The chance of a word under a sky: rows are clear, broken, overcast; columns the words. An owner names the sky rightly nine times of ten
/// (common practice, no source).
const WORD_CHANCE: [[f64; 3]; 3] = [[0.9, 0.09, 0.01], [0.05, 0.9, 0.05], [0.01, 0.09, 0.9]];
/// The same of whoever reads what depends on the light: they look at the sky first (common practice, no source).
const READING_CHANCE: [[f64; 3]; 3] = [[0.99, 0.009, 0.001], [0.005, 0.99, 0.005], [0.001, 0.009, 0.99]];
/// Height of the sun from which a word speaks of the hour and not of the day, °.
const HOUR_FROM_DEG: f64 = 5.0;
/// Chains of days from which candidates are taken.
const CHAINS: u64 = 1024;
/// Candidates kept for a day.
const CANDIDATES: usize = 256;
/// Candidates of which one is taken: those whose day before was most like the day before.
const NEAREST: usize = 24;
/// Different candidates below which the words ask for a rare day.
const FEW: f64 = 12.0;
/// First trial of the chains: far from those of any run.
const FIRST_TRIAL: u64 = 1 << 44;

/// The weather of a day, given the clear-sky index of the day before.
#[derive(Clone, Debug)]
pub struct DayLaw {
    /// Clear-sky index of the days before, rising.
    before: Vec<f32>,
    /// The days after them.
    days: Vec<SampledDay>,
    /// Places in `days`, by rising clear-sky index: of all, and of each window of neighbours of `before`.
    by_index: Vec<u16>,
    windows: Vec<Vec<u16>>,
    /// Whether the hours are the actual ones.
    pub actual: bool,
}

impl DayLaw {
    /// Of days before, rising, and the days after them; at least one, at most 65,536.
    fn new(before: Vec<f32>, days: Vec<SampledDay>, actual: bool) -> DayLaw {
        let sorted = |range: std::ops::Range<usize>| {
            let mut places: Vec<u16> = range.map(|k| k as u16).collect();
            places.sort_by(|a, b| {
                days[usize::from(*a)].index.total_cmp(&days[usize::from(*b)].index).then(a.cmp(b))
            });
            places
        };
        let near = NEAREST.min(days.len());
        let windows = (0..=days.len() - near).map(|first| sorted(first..first + near)).collect();
        DayLaw { by_index: sorted(0..days.len()), windows, before, days, actual }
    }

    /// A day after one of clear-sky index `before` (NaN: not known), by `u` in 0..1: the larger, the clearer.
    pub fn draw(&self, before: f32, u: f64) -> SampledDay {
        let places = match before.is_nan() {
            true => &self.by_index,
            false => {
                let at = self.before.partition_point(|b| *b < before);
                &self.windows[at.saturating_sub(NEAREST / 2).min(self.windows.len() - 1)]
            }
        };
        let k = ((u * places.len() as f64) as usize).min(places.len() - 1);
        self.days[usize::from(places[k])]
    }
}

/// The laws of all days of a schedule, and what the user should know about them.
pub struct WeatherLaw {
    /// By day of the schedule.
    pub days: Vec<DayLaw>,
    /// Days whose words hardly ever occur together there.
    pub warnings: Vec<String>,
}

/// A word, and what it speaks of.
#[derive(PartialEq)]
enum Word {
    Day(Sky),
    Hour(usize, Sky),
    /// Of the hour, beside a reading that depends on the light.
    Reading(usize, Sky),
}

impl Word {
    /// Of an entry in an hour with the sun up.
    fn of_hour(entry: &Entry, slot: usize, sky: Sky) -> Word {
        if depends_on_light(entry) { Word::Reading(slot, sky) } else { Word::Hour(slot, sky) }
    }

    /// The chance of it on a day.
    fn chance(&self, sampler: &Sampler, day: &SampledDay) -> f64 {
        let of_hour = |slot| class(hour_index(sampler, day, slot), HOUR_LIMITS);
        match *self {
            Word::Day(sky) => WORD_CHANCE[class(f64::from(day.index), DAY_LIMITS)][column(sky)],
            Word::Hour(slot, sky) => WORD_CHANCE[of_hour(slot)][column(sky)],
            Word::Reading(slot, sky) => READING_CHANCE[of_hour(slot)][column(sky)],
        }
    }
}

impl WeatherLaw {
    /// Of drawn days; those of which `actual` has all hours are taken from it.
    pub fn new(
        site: &SiteModel,
        actual: Option<&SiteModel>,
        (schedule, entries): (&Schedule, &[Entry]),
        seed: u64,
    ) -> WeatherLaw {
        let mut law = WeatherLaw { days: Vec::new(), warnings: Vec::new() };
        let mut missing = Vec::new();
        let mut from = 0;
        while from < schedule.days.len() {
            let more = schedule.days[from + 1..].iter().position(|d| d.after_gap);
            let upto = more.map_or(schedule.days.len(), |k| from + 1 + k);
            let first = schedule.days[from].date.previous().day_of_year();
            let chains: Vec<Vec<SampledDay>> = (0..CHAINS)
                .map(|c| {
                    let trial = FIRST_TRIAL + from as u64 * CHAINS + c;
                    site.sampler.chain(seed, trial, first, upto - from + 1)
                })
                .collect();
            for at in from..upto {
                let day = &schedule.days[at];
                if let Some(day) = actual.and_then(|a| a.sampler.day_as_it_was(day.date.day_of_year())) {
                    law.days.push(DayLaw::new(vec![day.index], vec![day], true));
                    continue;
                }
                if actual.is_some() && !day.entries.is_empty() {
                    missing.push(day.date.to_string());
                }
                let words = words_of(schedule, entries, at, &site.calendar);
                let pairs = chains.iter().map(|c| (c[at - from].index, c[at - from + 1])).collect();
                let (found, size) = candidates(pairs, &words, &site.sampler);
                if size < FEW {
                    law.warnings.push(format!(
                        "{}: a sky as noted is rare at that season there; the days drawn for it are few",
                        day.date
                    ));
                }
                law.days.push(found);
            }
            from = upto;
        }
        if !missing.is_empty() {
            law.warnings.push(format!(
                "the file of actual days lacks hours on {}: these days are drawn",
                missing.join(", ")
            ));
        }
        law
    }
}

fn words_of(schedule: &Schedule, entries: &[Entry], at: usize, calendar: &Calendar) -> Vec<Word> {
    let day = &schedule.days[at];
    let sun = &calendar.days[usize::from(day.date.day_of_year())];
    let mut words: Vec<Word> = Vec::new();
    for &k in &day.entries {
        let Some(sky) = entries[k].sky else { continue };
        let minute = schedule.minutes[k].map(|m| m as usize);
        let high = minute.filter(|m| {
            let up = m.checked_sub(sun.first).and_then(|k| sun.minutes.get(k));
            up.is_some_and(|s| 90.0 - s.zenith_rad.to_degrees() >= HOUR_FROM_DEG)
        });
        let word = match high {
            Some(minute) => Word::of_hour(&entries[k], minute / 60, sky),
            None => Word::Day(sky),
        };
        // The same word twice is one observation.
        if !words.contains(&word) {
            words.push(word);
        }
    }
    words
}

/// Whether an entry is a reading of the panel, of where it looks, or of what hangs on it alone.
fn depends_on_light(entry: &Entry) -> bool {
    let on_panel = matches!(
        entry.what,
        What::ShortCircuitCurrent | What::OpenCircuitVoltage | What::PanelCurrent | What::ChargingCurrent
    );
    let aim = matches!(entry.what, What::Azimuth | What::Tilt);
    on_panel || aim || [Test::PanelToSun, Test::BatteryDisconnected].iter().any(|t| entry.tests.contains(t))
}

/// The chance that whoever reads what depends on the light uses this word for the sky of its minute: the hour may be clear, and a cloud
/// before the sun. Beam and diffuse light of the minute in W/m². 1 for other entries, and while the sun is low.
pub(super) fn word_of_minute(entry: &Entry, sun: &SunMinute, (dni_w_m2, dhi_w_m2): (f64, f64)) -> f64 {
    let high = 90.0 - sun.zenith_rad.to_degrees() >= HOUR_FROM_DEG;
    let Some(sky) = entry.sky.filter(|_| high && depends_on_light(entry)) else { return 1.0 };
    let clear_w_m2 = sun.dni_clear_w_m2 * sun.up + sun.dhi_clear_w_m2;
    let index = (dni_w_m2 * sun.up + dhi_w_m2) / clear_w_m2.max(1e-9);
    READING_CHANCE[class(index, HOUR_LIMITS)][column(sky)]
}

/// The class of an index: 0 clear, 1 broken, 2 overcast.
fn class(index: f64, (dull, clear): (f64, f64)) -> usize {
    match index {
        i if i >= clear => 0,
        i if i >= dull => 1,
        _ => 2,
    }
}

fn column(sky: Sky) -> usize {
    match sky {
        Sky::Clear => 0,
        Sky::Broken => 1,
        Sky::Overcast => 2,
    }
}

/// Clear-sky index of an hour slot of a sampled day, by the hours of its donor.
fn hour_index(sampler: &Sampler, day: &SampledDay, slot: usize) -> f64 {
    let pool = sampler.pool();
    let (donor, hours) = (&pool.donors()[day.donor as usize], &pool.hours()[day.donor as usize]);
    let scale = if donor.index > 0.0 { f64::from(day.index) / donor.index } else { 1.0 };
    scale * hours.global[slot]
}

/// Candidates in proportion to how well they fit the words, and how many different ones count.
fn candidates(pairs: Vec<(f32, SampledDay)>, words: &[Word], sampler: &Sampler) -> (DayLaw, f64) {
    let weights: Vec<f64> =
        pairs.iter().map(|(_, day)| words.iter().map(|word| word.chance(sampler, day)).product()).collect();
    let size = effective_size(&weights);
    let mut taken: Vec<(f32, SampledDay)> =
        systematic(&weights, CANDIDATES, 0.5).into_iter().map(|k| pairs[k]).collect();
    taken.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (before, days) = taken.into_iter().unzip();
    (DayLaw::new(before, days, false), size)
}
