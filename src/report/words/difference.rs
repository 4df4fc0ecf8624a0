//! Words and figures for one design compared with another, shared by terminal and page.

use super::names::{month_short, trials};
use crate::report::number::{self, NOT_COMPUTABLE};
use crate::study::compare::{Against, CONFIDENCE};
use crate::study::paired::Difference;
use std::cmp::Ordering;

/// Said of two designs whose interval of the difference contains zero.
pub(crate) const NO_CLEAR_DIFFERENCE: &str = "no clear difference";

/// One compared quantity, with the words for both directions.
#[derive(Clone, Debug)]
pub(crate) struct Item {
    /// Name with unit.
    pub name: String,
    /// The difference; `None` if it cannot be computed.
    pub difference: Option<Difference>,
    /// Decimals at most.
    pub decimals: usize,
    /// Words for below and above.
    pub words: [&'static str; 2],
}

/// Everything compared of two designs, the season first, then its months.
pub(crate) fn items(a: &Against) -> Vec<Item> {
    let days = ["fewer", "more"];
    let item =
        |name: &str, difference, decimals, words| Item { name: name.to_owned(), difference, decimals, words };
    let mut list = vec![
        item("still days a month", Some(a.still_days_per_month), 2, days),
        item("still days a season", Some(a.still_days), 1, days),
        item("dusk run, min", a.dusk_run_min, 1, ["shorter", "longer"]),
        item("jet, h a season", a.jet_min.map(|d| d.scaled(1.0 / 60.0)), 1, ["less", "more"]),
        item("battery life, years", a.life_years, 1, ["shorter", "longer"]),
    ];
    list.extend(
        a.months
            .iter()
            .map(|m| item(&format!("still days, {}", month_short(m.month)), Some(m.still_days), 2, days)),
    );
    list
}

impl Item {
    /// `-1.2`, to the place its interval supports.
    pub(crate) fn mean(&self) -> String {
        self.difference
            .as_ref()
            .map_or(NOT_COMPUTABLE.to_owned(), |d| signed(d.mean, decimals(d, self.decimals)))
    }

    /// `-1.5 to -0.9`.
    pub(crate) fn interval(&self) -> String {
        self.difference.as_ref().map_or(String::new(), |d| interval(d, self.decimals))
    }

    /// What is said in place of numbers where no trial differed.
    pub(crate) fn all_alike(&self) -> Option<String> {
        self.difference.as_ref().and_then(all_alike)
    }

    /// The direction, or that there is none to be seen.
    pub(crate) fn verdict(&self) -> &'static str {
        match self.difference.as_ref().map(Difference::told_apart) {
            None => "",
            Some(Some(Ordering::Less)) => self.words[0],
            Some(Some(_)) => self.words[1],
            Some(None) => NO_CLEAR_DIFFERENCE,
        }
    }
}

/// The mean alone, with its sign.
pub fn mean(d: &Difference, most: usize) -> String {
    signed(d.mean, decimals(d, most))
}

/// `same in all 48 trials (at most 6 % differ)`, if no trial differed: a width of 0 would claim too much.
pub(crate) fn all_alike(d: &Difference) -> Option<String> {
    let (n, most) = (d.trials?, d.differs_at_most?);
    Some(format!("same in all {} (at most {} differ)", trials(n), number::percent_up(most)))
}

/// The interval, `-1.5 to -0.9`; said so where there is none.
pub(crate) fn interval(d: &Difference, most: usize) -> String {
    match (d.low, d.high) {
        (Some(low), Some(high)) => {
            let n = decimals(d, most);
            format!("{} to {}", signed(low, n), signed(high, n))
        }
        _ => NOT_COMPUTABLE.to_owned(),
    }
}

/// Decimals that half the interval supports, one more than its first digit: ends must not round onto zero.
fn decimals(d: &Difference, most: usize) -> usize {
    let half = d.low.zip(d.high).map_or(1.0, |(low, high)| (high - low) / 2.0);
    let nearest = d.low.zip(d.high).map_or(1.0, |(low, high)| low.abs().min(high.abs()));
    let needed = if d.told_apart().is_some() { nearest.min(half) } else { half };
    if needed > 0.0 { number::decimals(needed, most + 1) } else { most }
}

fn signed(x: f64, decimals: usize) -> String {
    let text = number::fixed(x, decimals);
    let zero = text.chars().all(|c| c == '0' || c == '.');
    if x > 0.0 && !zero { format!("+{text}") } else { text }
}

/// What the still days of two come to, in a sentence.
pub(crate) fn still_sentence(other: &str, first: &str, a: &Against) -> String {
    let d = &a.still_days_per_month;
    let per_cent = number::percent(CONFIDENCE);
    match d.told_apart() {
        Some(way) => {
            let word = if way == Ordering::Less { "fewer" } else { "more" };
            let (low, high) = (d.low.unwrap_or(d.mean).abs(), d.high.unwrap_or(d.mean).abs());
            let n = decimals(d, 2);
            format!(
                "{other} has {word} still days than {first}: {} {word} a month ({per_cent} interval {} to {}).",
                number::fixed(d.mean.abs(), n),
                number::fixed(low.min(high), n),
                number::fixed(low.max(high), n)
            )
        }
        None if d.never_differed() => {
            format!("No difference: {other} has as many still days as {first} in every trial.")
        }
        None if d.low.is_none() => {
            format!("No clear difference: there are too few trials to compare {other} with {first}.")
        }
        None => format!(
            "No clear difference: {other} and {first} differ by {} still days a month \
             ({per_cent} interval {}), which may be chance.",
            mean(d, 2),
            interval(d, 2)
        ),
    }
}

/// What the price comes to, in a sentence.
pub(crate) fn price_sentence(a: &Against) -> String {
    let Some(price) = a.price else {
        return format!(
            "The difference in price is {NOT_COMPUTABLE}: a price is missing or in another currency."
        );
    };
    let currency = a.currency.as_deref();
    let costs = match price.total_cmp(&0.0) {
        Ordering::Less => format!("It costs {} less", super::money::price(-price, currency)),
        Ordering::Greater => format!("It costs {} more", super::money::price(price, currency)),
        Ordering::Equal => "It costs the same".to_owned(),
    };
    match a.price_per_still_day {
        Some(each) if each > 0.0 => {
            let each = super::money::amount(&number::two_digits(each), currency);
            format!("{costs}, which is {each} for each still day avoided per season.")
        }
        Some(_) => format!("{costs} and avoids still days."),
        None => format!("{costs}. It does not clearly avoid still days."),
    }
}

/// Price of a still day avoided, two digits as its error allows; a word where money is saved as well.
pub(crate) fn money_per_day(price: Option<f64>, none: &str) -> String {
    match price {
        None => none.to_owned(),
        Some(p) if p < 0.0 => "saves".to_owned(),
        Some(p) => number::two_digits(p),
    }
}

/// A price or a difference of prices in a column that names the currency; words where none is known.
pub(crate) fn money(price: Option<f64>) -> String {
    price.map_or("not given".to_owned(), |p| number::fixed(p, 2))
}
