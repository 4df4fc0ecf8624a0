//! Sentences on remedies: the best one, and how far their order can be relied on.

use super::difference;
use super::names::{escaped, trials};
use crate::report::number;
use crate::study::paired::Difference;
use crate::study::remedies::sequential_ranking::{ALIKE, ERROR_RATE};
use crate::study::remedies::{By, Remedies, Weighed};
use std::cmp::Ordering;

/// What remedies are ranked by: its figure, and words for it.
pub(crate) struct Measure {
    by: By,
    /// Head of its column on a terminal.
    pub column: &'static str,
    /// Largest number of decimals shown.
    pub decimals: usize,
    /// What is gained, with its unit.
    pub gained: &'static str,
    /// Beginning of a sentence.
    pub what: &'static str,
    /// Which way a difference must go to help.
    pub better: Ordering,
    /// What one remedy does, and several do.
    pub helps: (&'static str, &'static str),
}

impl Measure {
    pub(crate) fn of(by: By) -> Measure {
        match by {
            By::StillDays | By::Money => Measure {
                by,
                column: "d/month",
                decimals: 2,
                gained: "still days a month avoided",
                what: "Still days",
                better: Ordering::Less,
                helps: ("avoids still days", "avoid still days"),
            },
            By::DuskRun => Measure {
                by,
                column: "min",
                decimals: 1,
                gained: "min of dusk run gained",
                what: "Dusk run",
                better: Ordering::Greater,
                helps: ("lengthens the dusk run", "lengthen the dusk run"),
            },
            By::LowWater => Measure {
                by,
                column: "min/season",
                decimals: 0,
                gained: "min a season not lost to low water",
                what: "Low water",
                better: Ordering::Less,
                helps: ("makes the water last longer", "make the water last longer"),
            },
        }
    }

    /// The change by a remedy; `None` if it is not computable.
    pub(crate) fn change<'a>(&self, w: &'a Weighed) -> Option<&'a Difference> {
        match self.by {
            By::StillDays | By::Money => Some(&w.against.still_days_per_month),
            By::DuskRun => w.against.dusk_run_min.as_ref(),
            By::LowWater => w.low_water_min.as_ref(),
        }
    }

    /// Whether it is sure that a remedy helps.
    pub(crate) fn helped(&self, w: &Weighed) -> bool {
        self.change(w).and_then(Difference::told_apart) == Some(self.better)
    }
}

/// A remedy by its name; where the design's own and a built-in one are called alike, with whose it is.
pub(crate) fn name(r: &Remedies, w: &Weighed) -> String {
    let alike = r.ranked.iter().filter(|other| other.name == w.name).count() > 1;
    let whose = match (alike, w.own) {
        (false, _) => "",
        (true, true) => " (yours)",
        (true, false) => " (built in)",
    };
    format!("{}{whose}", escaped(&w.name))
}

/// How the design as it is stands, then the best remedy.
pub(crate) fn verdict(r: &Remedies, pm: &str) -> String {
    format!("{} {}", as_it_is(r, pm), best(r))
}

/// How the design stands as it is.
pub(crate) fn as_it_is(r: &Remedies, pm: &str) -> String {
    let places = super::input::input_verdict(&r.design).map_or(String::new(), |text| format!(" {text}"));
    let now = number::estimate(r.design.season.still_days_per_month, 2, pm);
    format!(
        "{} The design as it is has {now} still days a month in this weather.{places}",
        super::run::wish_verdict(&r.design)
    )
}

/// The best remedy, or that there is none.
pub(crate) fn best(r: &Remedies) -> String {
    let lead = if r.settled { "Best" } else { "Ahead so far" };
    let Some(best) = r.ranked.first() else { return "No remedy applies to it.".to_owned() };
    let name = escaped(&best.name);
    let measure = Measure::of(r.by);
    match r.by {
        By::DuskRun if !measure.helped(best) => "No remedy clearly lengthens the dusk run.".to_owned(),
        By::LowWater if !measure.helped(best) => "No remedy clearly makes the water last longer.".to_owned(),
        By::DuskRun => best.against.dusk_run_min.as_ref().map_or(String::new(), |d| {
            format!("{lead}: {name}, {} min of dusk run.", difference::mean(d, 1))
        }),
        By::LowWater => best.low_water_min.as_ref().map_or(String::new(), |d| {
            let hours = |minutes: f64| format!("{:.0}", -minutes / 60.0);
            let interval = d.low.zip(d.high).map_or(String::new(), |(low, high)| {
                format!(" (95 % interval {} to {})", hours(high), hours(low))
            });
            format!("{lead}: {name}. It loses {} h a season less to low water{interval}.", hours(d.mean))
        }),
        By::StillDays | By::Money if !measure.helped(best) => "No remedy is clearly better.".to_owned(),
        By::Money if best.against.price_per_still_day.is_none() => {
            "No remedy with a price is clearly better.".to_owned()
        }
        By::StillDays | By::Money => {
            format!(
                "{lead}: {name}. {}",
                difference::still_sentence("It", "the design as it is", &best.against)
            )
        }
    }
}

/// How far the order can be relied on.
pub(crate) fn settled(r: &Remedies) -> String {
    let rate = number::percent(ERROR_RATE);
    let ranked_by = match r.by {
        By::StillDays => "Ranked by still days avoided.",
        By::DuskRun => "Ranked by minutes of dusk run gained.",
        By::LowWater => "Ranked by wanted minutes no longer lost to low water.",
        By::Money => "Ranked by the price of each still day avoided.",
    };
    let order = match (r.settled, r.by) {
        (true, _) => format!(
            "The order of the first three is settled (chance of error at most {rate}; two that differ in at most {} \
             of seasons count as equal).",
            number::percent(ALIKE)
        ),
        (false, By::Money) => {
            "The order by price per still day avoided comes from these trials alone; it is not tested."
                .to_owned()
        }
        (false, _) => format!(
            "The order of the first three is not settled after {}: neighbours may be equal.",
            trials(r.trials)
        ),
    };
    format!("{ranked_by} {order}")
}
