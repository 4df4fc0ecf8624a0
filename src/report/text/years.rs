//! The years of a fountain, for a terminal.

use super::screen::Screen;
use super::wrap::cut;
use crate::report::number;
use crate::report::style::Style;
use crate::report::words::{self, years as say};
use crate::study::years::YearsSummary;
use crate::study::years::plans::Plans;

/// The verdict, a row for each year of age, what can be promised, what it costs. Ends in a newline.
pub fn years(s: &YearsSummary, plans: Option<&Plans>, style: Style) -> String {
    let mut screen = Screen::new(style);
    let pm = style.pm();
    screen.heading(&s.first_year);
    screen.bold(&say::verdict(s));
    if let Some(why) = say::without_care(s) {
        screen.wrapped("", &why);
    }
    screen.blank();
    let moves = s.years.iter().any(|y| y.mount_broken.is_some());
    let row = |cells: [&str; 7]| {
        let [year, still, p90, wish, holds, broken, stuck] = cells;
        let line = format!("{year:>4} {still:>18} {p90:>8}  {wish:<22} {holds:>8} {broken:>8}");
        if moves { format!("{line} {stuck:>5}") } else { line }
    };
    let head = row(["year", "still days", "9 of 10", "meet the whole wish", "battery", "no pump", "stuck"]);
    screen.dim(&head);
    for y in &s.years {
        let line = row([
            &y.year.to_string(),
            &number::estimate(y.still_days.estimate(), 1, pm),
            &number::fixed(y.still_days.p90, 0),
            &number::percent_within(y.wish_met, y.wish_met_95),
            &y.battery_holds.map_or("-".to_owned(), |h| number::percent(h.p50)),
            &number::percent(y.pump_broken),
            &y.mount_broken.map_or(String::new(), number::percent),
        ]);
        let line = cut(&screen.encoded(&line), style.columns());
        screen.line(&line);
    }
    screen.wrapped("", "Still days of a season: mean, and what nine lives in ten do not exceed. Battery: what the median one still holds at the start of the year, of what it held when new. No pump, stuck: lives in which the pump does not work, or the mount does not turn, on some day. Errors of all are on the page.");
    screen.blank();
    if let Some(missed) = say::first_missed(s) {
        screen.wrapped("Missed", &missed);
    }
    screen.wrapped("Promise", &say::promise(s));
    screen.wrapped("Costs", &say::costs(s, pm));
    if let Some(plans) = plans {
        screen.plans(plans, s.first_year.design.currency.as_deref());
    }
    for line in s.care.iter().chain(&s.lives_of_parts) {
        screen.wrapped("Care", &words::escaped(line));
    }
    if let Some(life) = say::battery_life(s) {
        screen.wrapped("Battery", &life);
    }
    screen.wrapped("Check", &say::accounts(s));
    screen.wrapped("Left out", &s.not_counted.join(" "));
    for warning in &s.first_year.warnings {
        screen.flagged("Warning", warning);
    }
    screen.cautions(&s.first_year.cautions);
    screen.out
}

impl Screen {
    /// A plan of care a row.
    fn plans(&mut self, plans: &Plans, currency: Option<&str>) {
        self.blank();
        self.wrapped("Plans", &say::plans(plans, currency));
        let row = |cells: [&str; 5]| {
            let [plan, still, against, keep, cost] = cells;
            format!("{plan:<36}{still:>13}{against:>12}{keep:>10}{cost:>9}")
        };
        let head = row([
            "plan of care",
            "still/season",
            "against own",
            "keep wish",
            &words::money::column("cost", currency),
        ]);
        self.dim(&head);
        let pm = self.style.pm();
        for p in &plans.list {
            let mark = if p.on_frontier { "* " } else { "  " };
            let line = row([
                &format!("{mark}{}", p.name),
                &number::estimate(p.still_days, 1, pm),
                &say::against_own(p),
                &number::percent(p.wish_met),
                &p.cost.map_or("-".to_owned(), |c| number::fixed(c.mean, 0)),
            ]);
            let line = cut(&self.encoded(&line), self.style.columns());
            self.line(&line);
        }
        self.wrapped("", say::PLANS_NOTE);
        self.blank();
    }
}
