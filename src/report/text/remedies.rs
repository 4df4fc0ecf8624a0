//! Remedies in their order, for a terminal.

use super::screen::Screen;
use super::wrap::{cut, right, width, wrap};
use crate::report::style::Style;
use crate::report::words::remedies::Measure;
use crate::report::words::{self, difference};
use crate::study::remedies::{Remedies, Weighed};

/// What each remedy is worth, best first. Ends in a newline.
pub fn remedies(r: &Remedies, style: Style) -> String {
    let mut screen = Screen::new(style);
    screen.heading(&r.design);
    screen.bold(&words::remedies::verdict(r, style.pm()));
    screen.wrapped("", &words::remedies::settled(r));
    screen.blank();
    let measure = Measure::of(r.by);
    let head = ranked_row([
        "",
        "remedy",
        measure.column,
        "95 % interval",
        &words::money::column("price", r.design.design.currency.as_deref()),
        "per day*",
    ]);
    screen.dim(&head);
    for (i, w) in r.ranked.iter().enumerate() {
        let (d, most) = (measure.change(w), measure.decimals);
        let (mean, interval) = match d {
            Some(d) if d.never_differed() => ("0".to_owned(), "same in all".to_owned()),
            Some(d) => (difference::mean(d, most), difference::interval(d, most)),
            None => ("unknown".to_owned(), String::new()),
        };
        let each = difference::money_per_day(w.against.price_per_still_day, "-");
        let name = screen.encoded(&words::remedies::name(r, w));
        let rank = (i + 1).to_string();
        // A long name has a line of its own above its figures.
        let long = width(&name) > NAME;
        if long {
            screen.line(&cut(&format!("{rank:3}{name}"), style.columns()));
        }
        let line = ranked_row([
            if long { "" } else { &rank },
            if long { "" } else { &name },
            &mean,
            &interval,
            &difference::money(w.against.price),
            &each,
        ]);
        screen.line(&cut(&line, style.columns()));
        for line in wrap(&screen.encoded(&behind(&measure, w)), style.columns().saturating_sub(3)) {
            screen.dim(&format!("   {line}"));
        }
    }
    screen.blank();
    screen.wrapped("", "* Price of each still day avoided per season; - where none is clearly avoided or the price is not given.");
    for refused in &r.refused {
        screen.flagged("Refused", &format!("{}: {}", refused.name, refused.why));
    }
    screen.cautions(&r.design.cautions);
    screen.out
}

/// Columns that a name has beside its figures.
const NAME: usize = 28;

fn ranked_row(cells: [&str; 6]) -> String {
    let [rank, name, mean, interval, price, each] = cells;
    format!("{rank:3}{name:28}{}{}{price:>11}{each:>10}", right(mean, 8), right(interval, 17))
}

/// What lies behind a rank: whether there is a clear difference, why, and notes.
fn behind(measure: &Measure, w: &Weighed) -> String {
    let mut text = String::new();
    let d = measure.change(w);
    match d.map(|d| d.told_apart()) {
        None => text.push_str("Not computable. "),
        Some(None) => match d.and_then(difference::all_alike) {
            Some(alike) => {
                text.push_str(&format!("{} {alike}. ", measure.what));
            }
            None => text.push_str("No clear difference from the design as it is. "),
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
