//! Designs side by side, for a terminal.

use super::screen::Screen;
use super::wrap::{cut, right};
use crate::report::number;
use crate::report::style::Style;
use crate::report::words::{self, difference};
use crate::study::compare::{Against, Comparison};
use crate::tally::Summary;

/// Columns from which the chances fit beside the differences.
const ROOMY: usize = 78;

/// A comparison: each design alone, then each held against the first. Ends in a newline.
pub fn compare(c: &Comparison, style: Style) -> String {
    let mut screen = Screen::new(style);
    let Some(first) = c.designs.first() else { return screen.out };
    let title = if c.designs.len() == 1 { "One design" } else { "Side by side" };
    screen.heading_with(title, first);
    screen.bold(&words::comparison::best(&c.designs));
    screen.blank();
    for (i, s) in c.designs.iter().enumerate() {
        let name = format!("{}  {}", i + 1, screen.encoded(&words::escaped(&s.design.title)));
        screen.line(&cut(&name, style.columns()));
    }
    screen.blank();
    screen.alone(&c.designs);
    for a in &c.differences {
        screen.against(a, c.differences.len() == 1);
    }
    if c.differences.len() > 1 {
        screen.blank();
        screen.wrapped("", "Differences by month are on the page and in compare.csv.");
    }
    screen.cautions(&words::all_cautions(&c.designs));
    screen.out
}

impl Screen {
    fn alone(&mut self, designs: &[Summary]) {
        let pm = self.style.pm();
        let row = |cells: [&str; 6]| {
            let [i, still, worst, dusk, life, price] = cells;
            format!("{i:3}{}{worst:>13}{}{life:>13}{price:>11}", right(still, 19), right(dusk, 20))
        };
        let head = row(["", "still days a month", "worst month*", "dusk run, min", "battery, y", "price"]);
        self.dim(&head);
        for (i, s) in designs.iter().enumerate() {
            let dusk = s
                .season
                .dusk_run_min
                .as_ref()
                .map_or("no sunset".to_owned(), |m| number::estimate(words::mean_minutes(m), 1, pm));
            let life = match &s.battery {
                None => "none".to_owned(),
                Some(b) => b.life.as_ref().map_or("unknown".to_owned(), words::life_short),
            };
            let line = row([
                &(i + 1).to_string(),
                &number::estimate(s.season.still_days_per_month, 2, pm),
                &number::fixed(s.season.worst_month.p90, 0),
                &dusk,
                &life,
                &s.design
                    .price
                    .map_or("not given".to_owned(), |p| words::money::price(p, s.design.currency.as_deref())),
            ]);
            self.line(&cut(&line, self.style.columns()));
        }
        for (i, s) in designs.iter().enumerate() {
            let places = words::input_verdict(s).map_or(String::new(), |text| format!(" {text}"));
            self.wrapped("", &format!("{}: {}{places}", i + 1, words::wish_verdict(s)));
        }
        self.wrapped("", "* In nine years in ten, the worst month has at most this many still days.");
    }

    /// Design `a` held against the first; month by month, too, if asked for.
    fn against(&mut self, a: &Against, by_month: bool) {
        let other = (a.design + 1).to_string();
        self.blank();
        self.bold(&difference::still_sentence(&other, "1", a));
        self.wrapped("", &difference::price_sentence(a));
        if a.paired {
            self.wrapped("", "Paired: both get the same weather and the same drawn parts.");
        }
        for note in &a.notes {
            self.flagged("Note", note);
        }
        let roomy = self.style.columns() >= ROOMY;
        let row = |name: &str, mean: &str, interval: &str, chances: [&str; 2], verdict: &str| {
            let start = format!("{name:20}{mean:>9}{interval:>18}");
            match roomy {
                true => format!("{start}{:>8}{:>8}  {verdict}", chances[0], chances[1]),
                false => start,
            }
        };
        let head = row(&format!("{other} minus 1"), "mean", "95 % interval", ["lower", "higher"], "");
        self.dim(&head);
        let items = difference::items(a);
        let shown = if by_month { items.len() } else { items.len().saturating_sub(a.months.len()) };
        for item in items.into_iter().take(shown) {
            let Some(d) = item.difference else {
                self.line(&format!("{:20}{}", item.name, number::NOT_COMPUTABLE));
                continue;
            };
            if let Some(alike) = item.all_alike() {
                self.line(&cut(&format!("{:20}   {alike}", item.name), self.style.columns()));
                continue;
            }
            let chances =
                [d.chance_lower, d.chance_higher].map(|p| p.map_or("-".to_owned(), number::percent));
            let chances = [chances[0].as_str(), chances[1].as_str()];
            let line = row(&item.name, &item.mean(), &item.interval(), chances, item.verdict());
            self.line(&cut(&line, self.style.columns()));
        }
    }
}
