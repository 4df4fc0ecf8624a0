//! Sentences on remedies: the best one, and how far their order can be relied on.

use super::difference;
use super::names::{escaped, trials};
use crate::report::number;
use crate::study::paired::Difference;
use crate::study::remedies::sequential_ranking::{ALIKE, ERROR_RATE};
use crate::study::remedies::{By, Remedies, Weighed};

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

/// The best remedy, or that there is none.
pub(crate) fn verdict(r: &Remedies, pm: &str) -> String {
    let places = super::input::input_verdict(&r.design).map_or(String::new(), |text| format!(" {text}"));
    let now = number::estimate(r.design.season.still_days_per_month, 2, pm);
    let now = format!(
        "{} The design as it is has {now} still days a month in this weather.{places}",
        super::run::wish_verdict(&r.design)
    );
    let lead = if r.settled { "Best" } else { "Ahead so far" };
    let Some(best) = r.ranked.first() else { return format!("{now} No remedy applies to it.") };
    let name = escaped(&best.name);
    let better = |d: Option<&Difference>, wanted| d.and_then(|d| d.told_apart()) == Some(wanted);
    let less = std::cmp::Ordering::Less;
    match r.by {
        By::DuskRun if !better(best.against.dusk_run_min.as_ref(), less.reverse()) => {
            format!("{now} No remedy clearly lengthens the dusk run.")
        }
        By::DuskRun => match &best.against.dusk_run_min {
            Some(d) => format!("{now} {lead}: {name}, {} min of dusk run.", difference::mean(d, 1)),
            None => now,
        },
        By::StillDays | By::Money if !better(Some(&best.against.still_days), less) => {
            format!("{now} No remedy is clearly better.")
        }
        By::Money if best.against.price_per_still_day.is_none() => {
            format!("{now} No remedy with a price is clearly better.")
        }
        By::StillDays | By::Money => {
            format!(
                "{now} {lead}: {name}. {}",
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
