//! A grid as a map of letters and lines.

use super::screen::Screen;
use super::wrap::{cut, right};
use crate::report::number;
use crate::report::style::Style;
use crate::report::words::{grid as words, money, over_years};
use crate::study::grid::{Cell, Grid, LEVELS};
use crate::tally::Meets;

/// Width of a column.
const WIDE: usize = 7;
/// Width of a row's name.
const NAME: usize = 10;

/// The map of still days with its lines, then dusk run and price. Ends in a newline.
pub fn grid(g: &Grid, style: Style) -> String {
    let mut screen = Screen::new(style);
    screen.heading(&g.design);
    screen.bold(&words::verdict(g, style.units));
    let wish = format!("The wish: {}.", words::wish(g));
    let places = words::at_places(g, style.units);
    let open = words::cheaper_unsettled(g, style.units);
    let sure = format!("{} {}", words::how_many(g), words::error_note());
    for text in [Some(wish), places, open, Some(sure)].into_iter().flatten() {
        screen.wrapped("", &text);
    }
    screen.blank();
    screen.wrapped("Across", &words::axis(&g.x, style.units));
    screen.wrapped("Upward", &words::axis(&g.y, style.units));

    screen.blank();
    screen.bold("Still days a month");
    screen.map(
        g,
        &|_, c| {
            let e = c.still_days_per_month?;
            Some(number::fixed(e.mean, usize::from(e.mean < 99.5)))
        },
        true,
    );
    screen.wrapped("", "= cheapest that meets the wish, + meets it, ? may meet it, x not a valid design. Lines separate cells on either side of 0.5, 1, 2 or 5 still days a month.");

    screen.blank();
    screen.bold(&format!(
        "Evenings on which the jet runs {} min after sunset, %",
        number::fixed(g.design.season.wish_dusk_run_min, 0)
    ));
    screen.map(g, &|_, c| Some(number::fixed(c.dusk_wish_met?.mean * 100.0, 0)), false);

    if g.cells.iter().any(|c| c.price.is_some()) {
        screen.blank();
        screen.bold(&money::column("Price", g.design.design.currency.as_deref()));
        screen.map(g, &|_, c| Some(number::fixed(c.price?, 0)), false);
    }
    screen.wrapped("", &g.pricing);

    if let Some(kept) = &g.over_years {
        screen.blank();
        let rows: Vec<_> =
            kept.builds.iter().map(|b| over_years::row_of_grid(g, b, style.units, style.pm())).collect();
        screen.kept(kept, &over_years::answer_of_grid(g, kept, style.units, style.pm()), &rows);
    }
    screen.crossings(g);

    screen.blank();
    screen.wrapped(
        "Trials",
        &format!(
            "{} {} trials in all for {} builds.",
            g.effort,
            number::grouped(g.cell_trials),
            g.cells.len()
        ),
    );
    let mut said = Vec::new();
    for c in &g.cells {
        // A reason is said once, with the first cell it holds for.
        if let Some(why) = c.refused.as_deref().filter(|w| !said.contains(w)) {
            let text = format!("{}: {why}", words::cell_name(g, c, style.units));
            screen.flagged("Refused", &text);
            said.push(why);
        }
    }
    for warning in g.warnings.iter().chain(&g.design.warnings) {
        screen.flagged("Warning", warning);
    }
    screen.cautions(&g.design.cautions);
    screen.out
}

impl Screen {
    /// Where lines of equal still days cross the rows, or the columns; those that none crosses are left out.
    fn crossings(&mut self, g: &Grid) {
        let by_column = words::by_column(g);
        let (along, across) = if by_column { (&g.x, &g.y) } else { (&g.y, &g.x) };
        let crossed = |k: &usize| g.lines.iter().any(|l| !words::crossings(l, by_column, *k).is_empty());
        let mut rows: Vec<usize> = (0..along.len()).filter(crossed).collect();
        if rows.is_empty() {
            return;
        }
        if !by_column {
            rows.reverse();
        }
        let wide = ((self.style.columns() - NAME) / LEVELS.len()).min(17);
        let row = |name: &str, cells: &[String]| {
            let name = right(&cut(name, NAME - 1), NAME - 1);
            cells.iter().fold(name, |line, c| line + &right(&cut(c, wide - 1), wide))
        };
        self.blank();
        self.bold(&format!(
            "Lines of equal still days: {} where each line crosses, by {}",
            words::axis_name(across),
            words::axis_name(along)
        ));
        let head: Vec<String> =
            LEVELS.iter().rev().map(|l| format!("{} a month", number::given(*l))).collect();
        self.dim(&row("", &head));
        for k in rows {
            let cell = |level| self.encoded(&words::crossing(g, level, by_column, k, self.style.units));
            let cells: Vec<String> = g.lines.iter().rev().map(cell).collect();
            let line = row(&self.encoded(&along.label(k, self.style.units)), &cells);
            self.line(&line);
        }
        self.wrapped(
            "",
            "Interpolated between builds. \"above\", \"below\": the line does not cross; all still days are above or below it.",
        );
    }

    /// Rows from the top down, in strips of so many columns as fit; `marked`: with what each cell is, and lines
    /// between cells on different sides of a level.
    fn map(&mut self, g: &Grid, value: &dyn Fn(usize, &Cell) -> Option<String>, marked: bool) {
        let all: Vec<usize> = (0..g.x.len()).collect();
        for strip in all.chunks((self.style.columns() - NAME) / WIDE) {
            if strip[0] > 0 {
                self.blank();
            }
            for y in (0..g.y.len()).rev() {
                let mut line =
                    right(&cut(&self.encoded(&g.y.label(y, self.style.units)), NAME - 1), NAME - 1);
                line.push(' ');
                for &x in strip {
                    let k = y * g.x.len() + x;
                    let c = &g.cells[k];
                    let text = value(k, c).unwrap_or_else(|| "-".to_owned());
                    let (text, mark) = match (&c.refused, marked) {
                        (Some(_), _) => ("x".to_owned(), ' '),
                        (None, true) => (text, mark(g, k)),
                        (None, false) => (text, ' '),
                    };
                    let apart = marked && x > strip[0] && differ(g.cell(x - 1, y), c);
                    let bar = if apart { if self.style.unicode { '│' } else { '|' } } else { ' ' };
                    line += &format!("{bar}{}{mark}", right(&text, WIDE - 2));
                }
                self.line(&line);
                if marked && y > 0 && strip.iter().any(|&x| differ(g.cell(x, y), g.cell(x, y - 1))) {
                    let rule = if self.style.unicode { "─" } else { "-" };
                    let mut line = " ".repeat(NAME);
                    for &x in strip {
                        let apart = differ(g.cell(x, y), g.cell(x, y - 1));
                        line += " ";
                        line += &if apart { rule.repeat(WIDE - 1) } else { " ".repeat(WIDE - 1) };
                    }
                    self.line(&line);
                }
            }
            let (names, unit) = words::ticks(&g.x, self.style.units);
            let feet: String = strip
                .iter()
                .map(|&x| right(&cut(&self.encoded(&names[x]), WIDE - 2), WIDE - 1) + " ")
                .collect();
            self.dim(&format!("{:>width$} {feet}", self.encoded(&unit), width = NAME - 1));
        }
    }
}

/// How many of the levels a cell is above.
fn band(c: &Cell) -> Option<usize> {
    c.still_days_per_month.map(|e| LEVELS.iter().filter(|l| e.mean > **l).count())
}

fn differ(a: &Cell, b: &Cell) -> bool {
    band(a).zip(band(b)).is_some_and(|(p, q)| p != q)
}

fn mark(g: &Grid, k: usize) -> char {
    match g.cells[k].meets_wish {
        _ if g.cheapest == Some(k) => '=',
        Some(Meets::Yes) => '+',
        Some(Meets::Unsure) => '?',
        Some(Meets::No) | None => ' ',
    }
}
