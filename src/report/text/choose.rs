//! The cheapest build of a shelf, for a terminal.

use super::screen::Screen;
use super::wrap::{cut, right, wrap};
use crate::report::number;
use crate::report::style::Style;
use crate::report::words::{self, choice, input, over_years};
use crate::study::choose::{Candidate, Choice, Verdict};

/// Reasons of refusal that are listed.
const REASONS: usize = 6;

/// The answer, the builds next in price, the best for the money, and the incompatible combinations.
pub fn choose(c: &Choice, style: Style) -> String {
    let mut screen = Screen::new(style);
    screen.heading(&c.summary);
    screen.bold(&choice::answer(c));
    screen.blank();
    if let Some(shows) = choice::shows(c, style.pm()) {
        screen.wrapped("Shows", &shows);
    }
    screen.wrapped("Wish", choice::wish(c).trim_start_matches("The wish: "));
    screen.wrapped("Tried", &choice::settled(c));
    if c.shelf_invented {
        screen.wrapped("Shelf", "Its parts and prices are invented.");
    }
    screen.blank();
    let currency = c.summary.design.currency.as_deref();
    screen.builds(
        currency,
        if c.verdict == Verdict::Found { "Named" } else { "Closest" },
        c.best.as_ref(),
        1,
    );
    screen.builds(currency, choice::open_heading(c), choice::open_besides(c), choice::OPEN_LISTED);
    screen.builds(currency, "Next in price", choice::next_in_price(c), usize::MAX);
    screen.builds(
        currency,
        "Best for the money: no cheaper build has fewer still days",
        &c.frontier,
        usize::MAX,
    );
    if let Some(kept) = &c.over_years {
        let rows = kept.builds.iter().map(|b| over_years::row(c, b, style.pm())).collect::<Vec<_>>();
        screen.kept(kept, &over_years::answer(c, kept, style.pm()), &rows);
        screen.blank();
    }
    if let Some(text) = choice::asterisk(c) {
        screen.wrapped("", &text);
    }
    let fewer = c.combinations - c.builds.len();
    if fewer > 0 {
        screen.wrapped("", &choice::incompatible(c));
        for r in c.refused.iter().take(REASONS) {
            let text = format!("{}: {} ({})", r.parts.join(" + "), r.why, words::count(r.builds, "build"));
            for (i, line) in
                wrap(&screen.encoded(&words::escaped(&text)), style.columns() - 4).iter().enumerate()
            {
                screen.line(&format!("{}{line}", if i == 0 { "  - " } else { "    " }));
            }
        }
        if c.refused.len() > REASONS {
            screen.line(&format!(
                "    and {} more, in choose.csv",
                words::count(c.refused.len() - REASONS, "reason")
            ));
        }
    }
    for note in &c.notes {
        screen.flagged("Note", note);
    }
    screen.cautions(&c.summary.cautions);
    screen.out
}

impl Screen {
    fn builds<'c>(
        &mut self,
        currency: Option<&str>,
        heading: &str,
        list: impl IntoIterator<Item = &'c Candidate>,
        most: usize,
    ) {
        let list: Vec<&Candidate> = list.into_iter().collect();
        if list.is_empty() {
            return;
        }
        let row = |cells: [&str; 5]| {
            let [price, still, good, limits, trials] = cells;
            format!("{price:>11}{}{good:>13}{limits:>17}{trials:>8}", right(still, 20))
        };
        self.bold(heading);
        self.dim(&row([
            &words::money::column("price", currency),
            "still days a month",
            "good years",
            "95 % limits",
            "trials",
        ]));
        for b in list.iter().copied().take(most) {
            let still = b
                .still_days_per_month
                .map_or(number::NOT_COMPUTABLE.to_owned(), |e| number::estimate(e, 2, self.style.pm()));
            let mark = match choice::standing(b) {
                "" => String::new(),
                word => format!("  {word}"),
            };
            let line = row([
                &number::fixed(b.price, 2),
                &still,
                &choice::good_years(b),
                &choice::good_years_limits(b),
                &number::grouped(b.trials),
            ]);
            self.line(&cut(&format!("{line}{mark}"), self.style.columns()));
            let places = b
                .still_days_per_month_places_80
                .map_or(String::new(), |r| format!("; at such places {}", input::range(r, 2)));
            self.named(&format!("{}{places}", choice::build(b)));
        }
        if list.len() > most {
            self.line(&format!(
                "         and {} more, in choose.csv",
                number::grouped((list.len() - most) as u64)
            ));
        }
        self.blank();
    }
}
