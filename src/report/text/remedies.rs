//! Remedies in their order, for a terminal.

use super::{Page, cut, right, width, wrap};
use crate::report::style::Style;
use crate::report::{number, versus, words};
use crate::study::remedies::sequential_ranking::{ALIKE, ERROR_RATE};
use crate::study::remedies::{By, Remedies, Weighed};

/// What each remedy is worth, best first. Ends in a newline.
pub fn remedies(r: &Remedies, style: Style) -> String {
    let mut page = Page { style, out: String::new() };
    page.heading(&r.design);
    page.bold(&verdict(r, style.pm()));
    page.wrapped("", &settled(r));
    page.line("");
    let head = ranked_row(["", "remedy", column(r.by), "95 % interval", "price", "per day*"]);
    page.dim(&head);
    for (i, w) in r.ranked.iter().enumerate() {
        let d = if r.by == By::DuskRun {
            w.against.dusk_run_min.as_ref()
        } else {
            Some(&w.against.still_days_per_month)
        };
        let most = if r.by == By::DuskRun { 1 } else { 2 };
        let (mean, interval) = match d {
            Some(d) if d.never_differed() => ("0".to_owned(), "same in all".to_owned()),
            Some(d) => (versus::mean(d, most), versus::interval(d, most)),
            None => ("unknown".to_owned(), String::new()),
        };
        let each = versus::money_per_day(w.against.price_per_still_day, "-");
        let name = page.plain(&words::remedy(r, w));
        let rank = (i + 1).to_string();
        // A long name has a line of its own above its figures.
        let long = width(&name) > NAME;
        if long {
            page.line(&cut(&format!("{rank:3}{name}"), style.columns()));
        }
        let line = ranked_row([
            if long { "" } else { &rank },
            if long { "" } else { &name },
            &mean,
            &interval,
            &versus::money(w.against.price),
            &each,
        ]);
        page.line(&cut(&line, style.columns()));
        for line in wrap(&page.plain(&behind(r.by, w)), style.columns().saturating_sub(3)) {
            page.dim(&format!("   {line}"));
        }
    }
    page.line("");
    page.wrapped("", "* Price for each still day a season avoided; - where none is surely avoided or the price is not given.");
    for refused in &r.refused {
        page.flagged("Refused", &format!("{}: {}", refused.name, refused.why));
    }
    page.out
}

/// Columns that a name has beside its figures.
const NAME: usize = 28;

fn column(by: By) -> &'static str {
    if by == By::DuskRun { "min" } else { "d/month" }
}

fn ranked_row(cells: [&str; 6]) -> String {
    let [rank, name, mean, interval, price, each] = cells;
    format!("{rank:3}{name:28}{}{}{price:>11}{each:>10}", right(mean, 8), right(interval, 17))
}

/// What lies behind a rank: whether it is told from nothing, why, and a note.
fn behind(by: By, w: &Weighed) -> String {
    let mut text = String::new();
    let d = if by == By::DuskRun { w.against.dusk_run_min.as_ref() } else { Some(&w.against.still_days) };
    match d.map(|d| d.told_apart()) {
        None => text.push_str("Not computable. "),
        Some(None) => match d.and_then(versus::all_alike) {
            Some(alike) => {
                let what = if by == By::DuskRun { "Dusk run" } else { "Still days" };
                text.push_str(&format!("{what} {alike}. "));
            }
            None => text.push_str("Not told apart from the design as it is. "),
        },
        Some(_) => {}
    }
    text.push_str(&w.why);
    for note in &w.against.notes {
        text.push(' ');
        text.push_str(note);
    }
    text
}

/// The best remedy, or that there is none.
pub fn verdict(r: &Remedies, pm: &str) -> String {
    let now = number::estimate(r.design.season.still_days_per_month, 2, pm);
    let now = format!("As it is: {now} still days a month.");
    let Some(best) = r.ranked.first() else { return format!("{now} No remedy fits it.") };
    let name = words::escaped(&best.name);
    let better =
        |d: Option<&crate::study::paired::Difference>, wanted| d.and_then(|d| d.told_apart()) == Some(wanted);
    let less = std::cmp::Ordering::Less;
    match r.by {
        By::DuskRun if !better(best.against.dusk_run_min.as_ref(), less.reverse()) => {
            format!("{now} No remedy surely lengthens the dusk run.")
        }
        By::DuskRun => match &best.against.dusk_run_min {
            Some(d) => format!("{now} First: {name}, {} min of dusk run.", versus::mean(d, 1)),
            None => now,
        },
        By::StillDays | By::Money if !better(Some(&best.against.still_days), less) => {
            format!("{now} No remedy is surely better.")
        }
        By::Money if best.against.price_per_still_day.is_none() => {
            format!("{now} No remedy that has a price is surely better.")
        }
        By::StillDays | By::Money => {
            format!(
                "{now} First: {name}. {}",
                versus::still_sentence("It", "the design as it is", &best.against)
            )
        }
    }
}

/// How far the order can be relied on.
pub fn settled(r: &Remedies) -> String {
    let rate = number::percent(ERROR_RATE);
    match (r.settled, r.by) {
        (true, _) => format!(
            "The order of the first three is settled (chance of error at most {rate}; two that differ in no more than {} \
             of seasons count as alike).",
            number::percent(ALIKE)
        ),
        (false, By::Money) => "The order by money is that of these trials; it is not tested.".to_owned(),
        (false, _) => format!(
            "The order of the first three is not settled by {}: neighbours may be alike.",
            words::trials(r.trials)
        ),
    }
}
