//! What builds cost over the years, for `choose` and `grid`.

use super::screen::Screen;
use super::wrap::{cut, right, wrap};
use crate::report::words::{self, over_years};
use crate::study::years::kept::OverYears;

impl Screen {
    /// The answer, then two lines a build.
    pub(super) fn kept<B>(&mut self, kept: &OverYears<B>, answer: &str, rows: &[[String; 6]]) {
        self.bold(&format!("Over {}", words::count(usize::from(kept.years), "year")));
        self.wrapped("", answer);
        let cells = |[all, year, buy, batteries, wish]: [&str; 5]| {
            format!("{}{}{buy:>10}{batteries:>12}{wish:>24}", right(all, 15), right(year, 14))
        };
        self.dim(&cells(["in all", "a year", "to buy", "batteries", "wish met every year"]));
        for [name, buy, all, year, batteries, wish] in rows {
            let line = self.encoded(&cells([all, year, buy, batteries, wish]));
            self.line(&cut(&line, self.style.columns()));
            self.named(name);
        }
        self.wrapped("", &over_years::rests_on(kept));
    }

    /// The name of a build below its figures.
    pub(super) fn named(&mut self, name: &str) {
        for line in wrap(&self.encoded(name), self.style.columns() - 11) {
            self.dim(&format!("           {line}"));
        }
    }
}
