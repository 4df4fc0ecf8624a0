//! The years of a fountain, for a terminal.

use super::screen::Screen;
use super::wrap::cut;
use crate::report::number;
use crate::report::style::Style;
use crate::report::words::{self, years as say};
use crate::study::years::YearsSummary;

/// The verdict, a row for each year of age, what can be promised, what it costs. Ends in a newline.
pub fn years(s: &YearsSummary, style: Style) -> String {
    let mut screen = Screen::new(style);
    let pm = style.pm();
    screen.heading(&s.first_year);
    screen.bold(&say::verdict(s));
    screen.blank();
    let row = |cells: [&str; 6]| {
        let [year, still, p90, wish, holds, misses] = cells;
        format!("{year:>4} {still:>14} {p90:>8}  {wish:<22} {holds:<20} {misses}")
    };
    let head = row(["year", "still days", "9 of 10", "meet the whole wish", "battery holds", "missed most"]);
    screen.dim(&head);
    for y in &s.years {
        let line = row([
            &y.year.to_string(),
            &number::estimate(y.still_days.estimate(), 1, pm),
            &number::fixed(y.still_days.p90, 0),
            &number::percent_within(y.wish_met, y.wish_met_95),
            &say::holds(y),
            say::part(y.misses_most),
        ]);
        let line = cut(&screen.encoded(&line), style.columns());
        screen.line(&line);
    }
    screen.wrapped("", "Still days of a season: mean, and what nine lives in ten do not exceed. Battery: share of what it held when new, median (P10 to P90), at the start of the year.");
    screen.blank();
    screen.wrapped("Promise", &say::promise(s));
    screen.wrapped("Costs", &say::costs(s, pm));
    for line in &s.care {
        screen.wrapped("Care", &words::escaped(line));
    }
    screen.wrapped("Left out", &s.not_counted.join(" "));
    for warning in &s.first_year.warnings {
        screen.flagged("Warning", warning);
    }
    for caution in &s.first_year.cautions {
        screen.flagged("Caution", caution);
    }
    screen.out
}
