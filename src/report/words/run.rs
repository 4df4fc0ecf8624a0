//! Sentences on a run: still days, dusk run, battery.

use super::input;
use super::names::{cause, ranked};
use crate::report::number::{self, NOT_COMPUTABLE};
use crate::tally::summary::{BatteryLife, DayCount, Estimate, Minutes, Month};
use crate::tally::{Meets, Summary, WishPart};
use crate::units::dates::{self, MONTHS};
use std::collections::BTreeMap;

/// Why most of a month's still days were still; if none were, why minutes went missing.
pub fn chief_cause(month: &Month) -> Option<String> {
    let of_days = ranked(&month.still_days_by_cause);
    let list = if of_days.is_empty() { ranked(&month.causes_min) } else { of_days };
    list.first().map(|(key, _)| cause(key))
}

/// The mean of a count with its error.
pub fn mean_of(c: &DayCount) -> Estimate {
    c.estimate()
}

/// The mean of minutes with its error.
pub fn mean_minutes(m: &Minutes) -> Estimate {
    m.estimate()
}

/// `From April to October`, `From 15 April to 3 October`, `Over the year`.
pub fn season(s: &Summary) -> String {
    let (Some(first), Some(last)) = (dates::day_of_year(&s.season.from), dates::day_of_year(&s.season.to))
    else {
        return "Over the season".to_owned();
    };
    if s.season.days >= 365 {
        return "Over the year".to_owned();
    }
    let ((m1, d1), (m2, d2)) = (dates::month_and_day(first), dates::month_and_day(last));
    let (n1, n2) = (MONTHS[m1 - 1], MONTHS[m2 - 1]);
    let whole = d1 == 1 && last + 1 == dates::MONTH_STARTS[m2];
    match (whole, m1 == m2) {
        (true, true) => format!("In {n1}"),
        (true, false) => format!("From {n1} to {n2}"),
        (false, _) => format!("From {d1} {n1} to {d2} {n2}"),
    }
}

/// Q1 in one sentence: how many days a month will it not run.
pub fn still_verdict(s: &Summary, pm: &str) -> String {
    let season = season(s);
    let worst = &s.season.worst_month;
    let places = input::input_verdict(s).map_or(String::new(), |text| format!(" {text}"));
    if s.season.still_days.histogram.iter().skip(1).all(|n| *n == 0) && s.season.still_days.mean == 0.0 {
        let bound = number::estimate(s.season.still_days_per_month, 2, pm);
        return format!(
            "{season}, expect no still days in this weather: none occurred in {}, so that the mean is {bound} a month (95 %).{places}",
            super::trials(s.run.trials)
        );
    }
    let mean = number::estimate(s.season.still_days_per_month, 2, pm);
    let tail = if worst.p90 < 0.5 {
        "nine years in ten have none at all".to_owned()
    } else {
        format!("in nine years in ten, the worst month has at most {}", number::fixed(worst.p90, 0))
    };
    let noun = if mean == "1" || mean == "1.0" { "day" } else { "days" };
    format!("{season}, expect {mean} still {noun} a month in this weather; {tail}.{places}")
}

/// Q2 in one or two sentences: how long past sunset will it run.
pub fn dusk_verdict(s: &Summary, pm: &str) -> String {
    let Some(d) = &s.season.dusk_run_min else {
        return "No day of the season has a sunset, so there is no dusk run.".to_owned();
    };
    let run = match d.p50 {
        p if p < 0.5 && d.cut_by_hours > 0.5 => {
            "On most evenings the hours in which the pump is let run end by sunset".to_owned()
        }
        p if p < 0.5 => "On half of the evenings the jet has stopped by sunset".to_owned(),
        p => format!(
            "The jet runs for at least {} minutes after sunset on half of the evenings",
            number::fixed(p, 0)
        ),
    };
    let run = if s.season.wish_dusk_run_min > 0.0 {
        let meets = d.met();
        let wish = number::fixed(s.season.wish_dusk_run_min, 0);
        let asked = asked_for(s);
        match meets.mean {
            0.0 => format!(
                "{run}; no evening reaches {asked}{wish} minutes{} ({} do, with 95 % confidence).",
                asked_suffix(s),
                number::percent_estimate(meets, pm)
            ),
            _ => format!(
                "{run}; {} of evenings reach {asked}{wish} minutes{}.",
                number::percent_estimate(meets, pm),
                asked_suffix(s)
            ),
        }
    } else {
        format!("{run}.")
    };
    match dusk_cut(d) {
        Some(cut) => format!("{run} {cut}."),
        None => run,
    }
}

/// `the `, if a dusk run is part of the wish: then its minutes are asked for.
pub fn asked_for(s: &Summary) -> &'static str {
    if s.season.wish.evenings.is_some() { "the " } else { "" }
}

/// ` asked for`, if a dusk run is part of the wish.
pub fn asked_suffix(s: &Summary) -> &'static str {
    if s.season.wish.evenings.is_some() { " asked for" } else { "" }
}

/// Share of evenings from which dusk runs that the hours cut off are worth a word.
const MANY_CUT: f64 = 0.005;

/// On how many evenings the hours cut the dusk run off, so that it is at least as long as counted; none if on hardly any.
pub fn dusk_cut(d: &Minutes) -> Option<String> {
    (d.cut_by_hours >= MANY_CUT).then(|| {
        format!(
            "On {} of evenings the jet still runs when the hours of the pump end: it could run longer",
            number::percent(d.cut_by_hours)
        )
    })
}

/// The median of a dusk run: `48`, or `127+` where the hours cut off the median evening.
pub fn dusk_median(d: &Minutes) -> String {
    let more = if d.cut_by_hours > 0.5 { "+" } else { "" };
    format!("{}{more}", number::fixed(d.p50, 0))
}

/// When the pump is let run, as the design says or by default.
pub fn let_run(s: &Summary) -> Option<String> {
    let value = |key: &str| s.inputs.iter().find(|i| i.key == key).map(|i| i.value.as_str());
    Some(match value("running.when")? {
        "wanted hours" => "The pump is let run in the wanted hours only, as by a timer.".to_owned(),
        "timer" => format!("A timer lets the pump run from {}.", value("running.hours")?),
        "light" => "A light switch lets the pump run while it is light.".to_owned(),
        _ => "No timer holds the pump back.".to_owned(),
    })
}

/// Whether the whole wish is met, and which part of it most years miss.
pub fn wish_verdict(s: &Summary) -> String {
    let w = &s.season.wish;
    let share = years_share(w.years_met, w.years_met_95);
    let asked = number::percent(w.confidence);
    let found = match w.meets {
        Meets::Yes => {
            format!("The whole wish is met: {share} of years keep to it, and {asked} are asked for")
        }
        Meets::No => {
            format!("The wish is not met: {share} of years keep to all of it, and {asked} are asked for")
        }
        Meets::Unsure => {
            format!(
                "Whether the wish is met is not settled: {share} of years keep to all of it, and {asked} are asked for"
            )
        }
    };
    let may_turn = input::may_turn(s).map_or(String::new(), |text| format!(" {text}"));
    match w.fails_most.and_then(|part| w.parts.iter().find(|p| p.part == part)) {
        Some(p) if w.parts.len() > 1 => format!(
            "{found}.{may_turn} Missed most is the {}: {} of years keep to it.",
            wish_part(s, p.part),
            number::percent(p.years_met)
        ),
        _ => format!("{found}.{may_turn}"),
    }
}

/// A share of years with its 95 % interval: `31 % (29 to 33 %)`.
pub fn years_share(share: f64, interval: [f64; 2]) -> String {
    number::percent_within(share, interval)
}

/// The mean of a cause with its interval.
pub fn within(means: &BTreeMap<String, f64>, intervals: &BTreeMap<String, [f64; 2]>, key: &str) -> Estimate {
    Estimate {
        mean: means.get(key).copied().unwrap_or(0.0),
        se: None,
        interval_95: intervals.get(key).copied(),
    }
}

/// A part of the wish with what is asked for.
pub fn wish_part(s: &Summary, part: WishPart) -> String {
    match part {
        WishPart::StillDays => {
            format!("limit of {} still days in every month", number::given(s.season.bearable_still_days))
        }
        WishPart::DuskRun => format!(
            "dusk run of {} minutes on {} of evenings",
            number::fixed(s.season.wish_dusk_run_min, 0),
            number::percent(s.season.wish.evenings.unwrap_or(1.0))
        ),
        WishPart::Water => "water, which should never be low between fillings".to_owned(),
    }
}

/// The verdict in a few words, for a table: `yes`, `no: dusk run`, `not settled`.
pub fn wish_short(meets: Meets, fails_most: Option<WishPart>) -> String {
    let why = fails_most.map_or(String::new(), |part| {
        let name = match part {
            WishPart::StillDays => "still days",
            WishPart::DuskRun => "dusk run",
            WishPart::Water => "water",
        };
        format!(": {name}")
    });
    match meets {
        Meets::Yes => "yes".to_owned(),
        Meets::No => format!("no{why}"),
        Meets::Unsure => format!("unsure{why}"),
    }
}

/// Q6 in one sentence: how long will the battery last.
pub fn battery_verdict(s: &Summary, pm: &str) -> String {
    let Some(b) = &s.battery else {
        return "There is no battery: the jet runs only while the sun drives it.".to_owned();
    };
    let Some(life) = b.life else {
        return format!("The life of the battery is {NOT_COMPUTABLE}.");
    };
    let by = number::percent(life.by_cycles.mean);
    let mut text = format!(
        "The battery should last {} ({}); {by} of its wear is by cycling, the rest by age.",
        years_text(life.p50),
        life_range(&life)
    );
    if b.empty_days_per_year.mean >= EMPTY_DAYS {
        let days = number::estimate(b.empty_days_per_year, 0, pm);
        text.push_str(&format!(" Not counted: harm from lying empty, on {days} days a season."));
    }
    text
}

/// Days a season on which a battery may lie empty without a word on it.
const EMPTY_DAYS: f64 = 3.0;

/// P10 and P90 of the life of a battery: `5 to 10 in eight cases of ten`.
pub fn life_range(life: &BatteryLife) -> String {
    let decimals = usize::from(life.p50 < 3.0);
    let (from, to) = (number::fixed(life.p10, decimals), number::fixed(life.p90, decimals));
    format!("{from} to {to} in eight cases of ten")
}

/// The life of a battery in a cell: `7 (5 to 10)`.
pub fn life_short(life: &BatteryLife) -> String {
    let decimals = usize::from(life.p50 < 3.0);
    let text = |years| number::fixed(years, decimals);
    format!("{} ({} to {})", text(life.p50), text(life.p10), text(life.p90))
}

/// `about 7 years`, `about 0.8 years`.
pub fn years_text(years: f64) -> String {
    let text = number::fixed(years, usize::from(years < 3.0));
    format!("about {text} year{}", if text == "1" { "" } else { "s" })
}
