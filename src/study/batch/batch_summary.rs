//! The summary of a batch: every design, the best first; what failed, and what is left to do.

use super::find::PassedOver;
use crate::tally::summary::{BatteryLife, Estimate, LifeEnd, Minutes};
use crate::tally::{InputRange, Meets, Summary, WishPart};
use serde::Serialize;

/// Schema name of the batch's `summary.json`.
pub const SCHEMA: &str = "stilldays.batch/1";

/// The summary of a folder of designs. It holds no path outside of the folder and no time, so that its bytes do not depend on
/// where the folder lies or how often the batch was interrupted.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct BatchSummary {
    /// [`SCHEMA`].
    pub schema: &'static str,
    pub version: &'static str,
    /// Name of the folder.
    pub folder: String,
    pub seed: u64,
    /// Trials of each design, if they were given.
    pub trials: Option<u64>,
    /// Half-width asked for, days a month, if one was.
    pub until_days: Option<f64>,
    /// Designs that failed, by file.
    pub failed: Vec<Failed>,
    /// Designs not finished yet, by file; empty in the end. Those gathered so far have a row in `designs`, too.
    pub unfinished: Vec<Unfinished>,
    /// Finished designs, fewest still days first; ties by file.
    pub designs: Vec<DesignRow>,
    pub passed_over: Vec<PassedOver>,
}

/// One finished design.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct DesignRow {
    /// From 1; ties share a rank.
    pub rank: usize,
    /// Relative to the folder.
    pub file: String,
    pub title: String,
    /// Link to its page, relative to this file.
    pub report: String,
    pub trials: u64,
    pub still_days_per_month: Estimate,
    /// Month (1..=12) and its mean still days; nothing where none are wanted.
    pub months: Vec<(u8, Option<f64>)>,
    /// Where it stands and what is wished of it.
    pub task: Task,
    /// What the weather files leave open.
    pub weather_input: Option<InputRange>,
    /// Still days of the worst month that nine years in ten do not exceed.
    pub worst_month_p90: f64,
    pub worst_month_p90_95: [f64; 2],
    pub dusk_run_min: Option<Estimate>,
    /// Share of evenings that meet the wish.
    pub dusk_run_meets_wish: Option<Estimate>,
    /// Whether the whole wish is met, in which share of years, and which part most years miss.
    pub wish_meets: Meets,
    pub wish_years_met: f64,
    pub wish_years_met_95: [f64; 2],
    pub wish_fails_most: Option<WishPart>,
    pub battery_life: Option<BatteryLife>,
    pub battery_life_ends_by: Option<LifeEnd>,
    pub price: Option<f64>,
    /// Currency of the price, if the design names one.
    pub currency: Option<String>,
    pub weather_invented: bool,
    pub warnings: Vec<String>,
}

/// Place and wish of a design: only designs that share them can be ranked.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Task {
    /// Latitude and longitude, °; north and east positive.
    pub place_deg: [f64; 2],
    /// Weather files, as the design names them.
    pub weather: Vec<String>,
    /// First and last day of the season, month-day.
    pub season: [String; 2],
    /// Wanted hours, as the design gives them.
    pub hours: Option<String>,
    /// Parts of the wish.
    pub parts: Vec<WishPart>,
    /// Bearable still days a month.
    pub still_days: f64,
    /// Wished dusk run, min; 0 where there is none.
    pub dusk_run_min: f64,
    /// Share of evenings that should reach it, if it is part of the wish.
    pub evenings: Option<f64>,
    /// Share of years that must meet the wish.
    pub confidence: f64,
}

impl Task {
    fn of(s: &Summary) -> Task {
        Task {
            place_deg: [s.weather.latitude_deg, s.weather.longitude_deg],
            weather: s.weather.files.clone(),
            season: [s.season.from.clone(), s.season.to.clone()],
            hours: s.inputs.iter().find(|i| i.key == "wish.hours").map(|i| i.value.clone()),
            parts: s.season.wish.parts.iter().map(|p| p.part).collect(),
            still_days: s.season.bearable_still_days,
            dusk_run_min: s.season.wish_dusk_run_min,
            evenings: s.season.wish.evenings,
            confidence: s.season.wish.confidence,
        }
    }
}

/// A design that failed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct Failed {
    pub file: String,
    /// Why; may have several lines.
    pub reason: String,
}

/// A design not finished yet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct Unfinished {
    pub file: String,
    /// Trials already simulated and saved.
    pub trials_done: u64,
}

impl DesignRow {
    /// The row of a finished design; `report` links to its page. Ranks are given by [`BatchSummary::arrange`].
    pub fn of(s: &Summary, report: String) -> DesignRow {
        let dusk = s.season.dusk_run_min.as_ref();
        DesignRow {
            rank: 0,
            file: s.design.file.clone(),
            title: s.design.title.clone(),
            report,
            trials: s.run.trials,
            still_days_per_month: s.season.still_days_per_month,
            months: s
                .months
                .iter()
                .map(|m| (m.month, (m.wanted_min > 0.0).then_some(m.still_days.mean)))
                .collect(),
            task: Task::of(s),
            weather_input: s.weather_input.clone(),
            worst_month_p90: s.season.worst_month.p90,
            worst_month_p90_95: s.season.worst_month.p90_95,
            dusk_run_min: dusk.map(Minutes::estimate),
            dusk_run_meets_wish: dusk.map(Minutes::met),
            wish_meets: s.season.wish.meets,
            wish_years_met: s.season.wish.years_met,
            wish_years_met_95: s.season.wish.years_met_95,
            wish_fails_most: s.season.wish.fails_most,
            battery_life: s.battery.as_ref().and_then(|b| b.life),
            battery_life_ends_by: s.battery.as_ref().and_then(|b| b.life_ends_by),
            price: s.design.price,
            currency: s.design.currency.clone(),
            weather_invented: s.weather.invented,
            warnings: s.warnings.clone(),
        }
    }
}

impl BatchSummary {
    /// How many designs have all their trials; others have a row from the trials that there are.
    pub fn finished(&self) -> usize {
        let whole = |d: &&DesignRow| self.unfinished.iter().all(|u| u.file != d.file);
        self.designs.iter().filter(whole).count()
    }

    /// Sorts all lists and gives the ranks.
    pub(crate) fn arrange(&mut self) {
        self.failed.sort_by(|a, b| a.file.cmp(&b.file));
        self.unfinished.sort_by(|a, b| a.file.cmp(&b.file));
        let mean = |r: &DesignRow| r.still_days_per_month.mean;
        self.designs.sort_by(|a, b| mean(a).total_cmp(&mean(b)).then_with(|| a.file.cmp(&b.file)));
        for k in 0..self.designs.len() {
            let as_before = k > 0 && mean(&self.designs[k]) == mean(&self.designs[k - 1]);
            self.designs[k].rank = if as_before { self.designs[k - 1].rank } else { k + 1 };
        }
    }
}

/// A relative path as a link: parts separated by `/`, unusual bytes as `%XX`.
pub fn link(path: &std::path::Path) -> String {
    let parts: Vec<String> = path
        .components()
        .map(|part| {
            part.as_os_str().as_encoded_bytes().iter().fold(String::new(), |mut out, &b| {
                if b.is_ascii_alphanumeric() || b"-_.~".contains(&b) {
                    out.push(char::from(b));
                } else {
                    out.push_str(&format!("%{b:02X}"));
                }
                out
            })
        })
        .collect();
    parts.join("/")
}

#[cfg(test)]
mod tests {
    #[test]
    fn links_hold_nothing_that_could_end_or_turn_them() {
        let link = |p: &str| super::link(p.as_ref());
        assert_eq!(link("sub/a b.x/report.html"), "sub/a%20b.x/report.html");
        assert_eq!(link("\"><script>/ä?#"), "%22%3E%3Cscript%3E/%C3%A4%3F%23");
        // No scheme: a folder `javascript:x` stays a folder.
        assert_eq!(link("javascript:x"), "javascript%3Ax");
    }
}
