//! Sentences on the years of a fountain: how long it stays as wished, what can be promised, what it costs.

use super::money;
use super::names::count;
use crate::report::number;
use crate::study::years::plans::{Plans, WeighedPlan};
use crate::study::years::{LivedYear, Money, Promise, Promised, YearsSummary};
use crate::tally::WishPart;

/// How the wish fares over the years, in one or two sentences.
pub fn verdict(s: &YearsSummary) -> String {
    let (Some(first), Some(last)) = (s.years.first(), s.years.last()) else { return String::new() };
    let share = |y: &LivedYear| number::percent_within(y.wish_met, y.wish_met_95);
    if s.years.len() == 1 {
        return format!("The whole wish is met in {} of first years.", share(first));
    }
    let so_far = number::percent_within(last.wish_met_so_far, last.wish_met_so_far_95);
    let n = last.year;
    format!(
        "Of fountains like this, {} meet the whole wish in year 1, {} in year {n}, and {so_far} in all {n} years.",
        share(first),
        share(last)
    )
}

/// For how many first years a number of still days can be promised that is less than all the season, and that number.
pub fn spans(s: &YearsSummary) -> Vec<(u16, u32)> {
    let season = s.first_year.season.days;
    let of = |f: &Promised| f.still_days_at_most.filter(|days| *days < season).map(|days| (f.years, days));
    s.promise.first_years.iter().filter_map(of).collect()
}

/// Why no number can be promised, for any span or for longer ones; empty where one can be for all years.
fn no_more(s: &YearsSummary) -> &'static str {
    let known = s.promise.first_years.iter().any(|f| f.still_days_at_most.is_some());
    match (known, spans(s).len()) {
        (false, _) => {
            "Too few lives were simulated to promise a number of still days: at least 29 are needed."
        }
        (true, 0) => {
            "No number of still days can be promised: the water may stand still all the season, in the first year already."
        }
        (true, n) if n < s.promise.first_years.len() => {
            "For more years no number can be promised: the water may stand still all the season."
        }
        (true, _) => "",
    }
}

/// `in the first year`, `in each of the first 5 years`.
fn in_first(years: u16) -> String {
    match years {
        1 => "in the first year".to_owned(),
        n => format!("in each of the first {n} years"),
    }
}

/// What can be promised, in a few sentences.
pub fn promise(s: &YearsSummary) -> String {
    let p = &s.promise;
    let of = format!("{} gardens of 10 like this", number::fixed(10.0 * p.share, 0));
    let wish = match p.wish_years {
        0 => "The whole wish cannot be promised, not even for the first year.".to_owned(),
        years => format!("In at least {of}, the whole wish is met {}.", in_first(years)),
    };
    let Some((years, days)) = spans(s).last().copied() else { return format!("{wish} {}", no_more(s)) };
    let text = format!(
        "{wish} In at least {of}, the water stands still on at most {} of a season {}. \
         This holds with {} confidence, if it is cared for as said, and if the model is right. {}",
        count(days as usize, "day"),
        in_first(years),
        number::percent(p.confidence),
        no_more(s)
    );
    text.trim_end().to_owned()
}

/// The promise on a client's sheet.
pub fn to_sign(s: &YearsSummary) -> String {
    let p = &s.promise;
    let Some((years, days)) = spans(s).last().copied() else { return no_more(s).to_owned() };
    let wish = match p.wish_years {
        0 => String::new(),
        years => format!(" All that was wished for is met {}.", in_first(years)),
    };
    let text = format!(
        "In at least {} gardens of 10 like this, the fountain hardly plays on at most {} of a season {}.{wish} The simulation says so with {} \
         confidence. {}",
        number::fixed(10.0 * p.share, 0),
        count(days as usize, "day"),
        in_first(years),
        number::percent(p.confidence),
        no_more(s)
    );
    text.trim_end().to_owned()
}

/// Why a fountain of which nothing is replaced stands still more and more; nothing where something is, or hardly any pump fails.
pub fn without_care(s: &YearsSummary) -> Option<String> {
    let last = s.years.last()?;
    (s.visits.mean == 0.0 && last.pump_broken >= 0.1).then(|| {
        format!(
            "Nothing is replaced in these years; by year {} the pump is broken in {} of fountains.",
            last.year,
            number::percent_within(last.pump_broken, last.pump_broken_95)
        )
    })
}

/// What is replaced and what it costs, in a few sentences.
pub fn costs(s: &YearsSummary, pm: &str) -> String {
    let years = count(s.years.len(), "year");
    let mut text = if s.visits.mean > 0.0 {
        let parts: Vec<String> = s
            .parts
            .iter()
            .map(|p| format!("{}: {}", plural(p.part), number::estimate(p.replaced, 2, pm)))
            .collect();
        format!("Replaced in {years}: {}; visits: {}.", parts.join(", "), number::estimate(s.visits, 2, pm))
    } else {
        format!("In {years} nothing is replaced.")
    };
    if let Some(m) = &s.money {
        text.push_str(&format!(" {}", spent(m, &years, pm, s.first_year.design.currency.as_deref())));
    }
    text
}

fn plural(part: &str) -> &'static str {
    match part {
        "battery" => "batteries",
        "mount" => "mounts",
        _ => "pumps",
    }
}

/// When the wish is missed for the first time, and what was broken then; nothing where no life misses it.
pub fn first_missed(s: &YearsSummary) -> Option<String> {
    if s.first_missed_with.is_empty() {
        return None;
    }
    let years: Vec<String> = s
        .years
        .iter()
        .filter(|y| y.first_missed > 0.0)
        .take(4)
        .map(|y| format!("year {} in {}", y.year, number::percent_within(y.first_missed, y.first_missed_95)))
        .collect();
    let with: Vec<String> = s
        .first_missed_with
        .iter()
        .filter(|m| m.share > 0.0)
        .map(|m| format!("{} in {}", broken(m.part), number::percent_within(m.share, m.share_95)))
        .collect();
    Some(format!(
        "The wish is missed for the first time in {} of lives. By then: {}.",
        years.join(", "),
        with.join("; ")
    ))
}

fn broken(part: &str) -> &'static str {
    match part {
        "pump" => "the pump had failed",
        "mount" => "the mount had failed",
        "battery" => "the battery was used up",
        _ => "nothing was broken or used up",
    }
}

/// How well the accounts close.
pub fn accounts(s: &YearsSummary) -> String {
    let a = &s.accounts;
    format!(
        "The accounts of each day close, winters too: energy to {:.0e} Wh, charge to {:.0e} Ah, water to {:.0e} L.",
        a.worst_wh, a.worst_ah, a.worst_l
    )
}

/// The life of the battery by its first season, and in these lives; nothing without a battery.
pub fn battery_life(s: &YearsSummary) -> Option<String> {
    let life = s.first_year.battery.as_ref()?.life.as_ref()?;
    let by_season = number::years_within(life.p50, life.p50_95);
    let here = match s.years.iter().find(|y| y.battery_worn_out >= Some(0.5)) {
        Some(y) => format!("half of the batteries are used up in year {}", y.year),
        None => {
            let worn = s.years.last()?.battery_worn_out.zip(s.years.last()?.battery_worn_out_95)?;
            format!(
                "{} are used up at the end of year {}",
                number::percent_within(worn.0, worn.1),
                s.years.len()
            )
        }
    };
    let replaced = s.parts.iter().any(|p| p.part == "battery" && p.replaced.mean > 0.0);
    let note = if replaced { ", replaced ones counted anew" } else { "" };
    Some(format!(
        "By its first season alone, as run shows it, the median battery lasts {by_season} years: that takes the season’s warmth and charge for all the \
         year. Here its wear is added up day by day, through the winters and as it fades: {here}{note}."
    ))
}

fn spent(m: &Money, years: &str, pm: &str, currency: Option<&str>) -> String {
    let amount = |figure: String| money::amount(&figure, currency);
    let interest = match m.interest {
        0.0 => "at today's prices".to_owned(),
        rate => format!("at today's prices and {} interest", number::percent(rate)),
    };
    let hour = m
        .per_jet_hour
        .map_or(String::new(), |e| format!(", {} an hour of jet", amount(number::estimate(e, 3, pm))));
    let unpriced = match m.unpriced.as_slice() {
        [] => String::new(),
        list => format!(" Without a price, and not in this: {}.", list.join(", ")),
    };
    format!(
        "Build, parts and visits cost {} over {years} ({} to {} in eight cases of ten), {interest}: {} a year{hour}.{unpriced}",
        amount(number::estimate(m.total_mean, 2, pm)),
        number::fixed(m.total.p10, 0),
        number::fixed(m.total.p90, 0),
        amount(number::estimate(m.per_year, 2, pm))
    )
}

/// What the figures of plans are.
pub const PLANS_NOTE: &str = "Still days of a season, mean over the years. Against own: the difference from the design's own plan, under the same \
                              weather and with the same luck; = where it is not sure. * No other plan has fewer still days for less money.";

/// What the weighing of plans of care comes to.
pub fn plans(p: &Plans, currency: Option<&str>) -> String {
    let Some(own) = p.list.first() else { return String::new() };
    let years = count(p.years.into(), "year");
    let amount = |x: f64| money::amount(&number::fixed(x, 0), currency);
    let all = "all intervals and promises hold together with 95 % confidence";
    match p.cheapest_that_keeps.map(|k| &p.list[k]) {
        Some(best) => {
            let cost = best.cost.map_or(String::new(), |c| format!(", for {} over {years}", amount(c.mean)));
            format!(
                "The cheapest plan that keeps the whole wish in each of {years}: {}{cost} ({all}).",
                best.name
            )
        }
        None => {
            let best = p.list.get(p.cheapest_as_good).unwrap_or(own);
            let (cost, cheapest) = match best.cost {
                Some(c) => (format!(" for {} over {years}", amount(c.mean)), "The cheapest of those"),
                None => (String::new(), "One of those"),
            };
            format!(
                "No plan of care surely keeps the whole wish in each of {years} in 9 gardens of 10. {cheapest} that do not surely \
                 have more still days than the best: {}, with {} still days a season{cost} ({all}).",
                best.name,
                number::fixed(best.still_days.mean, 1)
            )
        }
    }
}

/// `-12.3`, or `=` where no difference is sure; empty for the own plan.
pub fn against_own(p: &WeighedPlan) -> String {
    match &p.still_days_against_own {
        None => String::new(),
        Some(d) if d.told_apart().is_none() => "=".to_owned(),
        Some(d) => super::difference::mean(d, 1),
    }
}

/// A part of the wish in two words.
pub fn part(part: Option<WishPart>) -> &'static str {
    match part {
        None => "",
        Some(WishPart::StillDays) => "still days",
        Some(WishPart::DuskRun) => "dusk run",
        Some(WishPart::Water) => "water",
    }
}

/// `82 % (74 to 88 %)`: median with P10 and P90.
pub fn holds(y: &LivedYear) -> String {
    y.battery_holds.map_or(String::new(), |h| {
        format!(
            "{} ({} to {})",
            number::percent(h.p50),
            number::percent(h.p10).trim_end_matches(" %"),
            number::percent(h.p90)
        )
    })
}

/// What a promise is about, for `Promise` shown elsewhere.
pub fn span(p: &Promise) -> String {
    format!("{} of gardens, {} confidence", number::percent(p.share), number::percent(p.confidence))
}
