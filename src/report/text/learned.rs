//! What a logbook taught, for a terminal.

use super::screen::Screen;
use super::wrap::{cut, pad, right, width};
use crate::learn::Findings;
use crate::report::number;
use crate::report::style::Style;
use crate::report::words::{self, learned};

/// Quantities that did not move are left to the files.
const NONE_MOVED: &str = "No quantity of the design moved by more than the computation's own error.";

/// Everything to be said of a learned logbook. Ends in a newline.
pub fn learned(f: &Findings, style: Style) -> String {
    let mut screen = Screen::new(style);
    screen.heading(&f.before);
    screen.bold(&learned::headline(f, style.pm()));
    for why in &f.refusals {
        screen.flagged("Refused", why);
    }
    screen.wrapped("Logbook", &format!("{}: {}.", words::escaped(&f.logbook[0]), learned::size(f)));
    screen.wrapped("Weather", &learned::weather(f));
    screen.wrapped("Verdict", &f.verdict);
    screen.blank();
    screen.before_and_now(f);
    screen.quantities(f);
    screen.entries(f);
    screen.explanations(f);
    screen.wrapped("Runs", &learned::sampler(f));
    screen.wrapped("Left out", learned::LEFT_OUT);
    for note in &f.notes {
        screen.flagged("Note", note);
    }
    screen.out
}

impl Screen {
    fn before_and_now(&mut self, f: &Findings) {
        let row = |name: &str, cells: [&str; 3]| {
            let [month, season, dusk] = cells;
            format!("{name:24}{}{}{}", right(month, 18), right(season, 15), right(dusk, 22))
        };
        let head = row("", ["still days a month", "a season", "dusk run, min"]);
        self.dim(&head);
        let pm = self.style.pm();
        let mut line = |name: &str, s: &crate::tally::Summary| {
            let cells = learned::figures(s, pm);
            let line = row(name, cells.each_ref().map(String::as_str));
            let line = self.encoded(&line);
            self.line(&cut(&line, self.style.columns()));
        };
        line("as the design says", &f.before);
        if let Some(now) = &f.now {
            line("by what was seen", now);
        }
        self.blank();
    }

    fn quantities(&mut self, f: &Findings) {
        let moved: Vec<_> = f.quantities.iter().filter(|q| q.moved).collect();
        if moved.is_empty() {
            self.wrapped("", NONE_MOVED);
        } else {
            let head = format!("{:28}{:>26}{:>26}", "what moved", "believed", "now");
            self.dim(&head);
        }
        for q in moved {
            let units = self.style.units;
            let name = learned::quantity(q);
            let cells = [q.before, q.now].map(|x| right(&learned::mean_sd(q, x, units), 26));
            let cells = cells.concat();
            // A long name, or long values, get a line of their own: rows that differ at their end alone must not look alike.
            let room = 80 - width(&cells).min(52);
            let lines = match width(&name) < room && width(&cells) <= 52 {
                true => vec![format!("{}{cells}", pad(&name, room))],
                false => vec![name, right(&cells, 80)],
            };
            for line in lines {
                let line = self.encoded(&line);
                self.line(&cut(&line, self.style.columns()));
            }
        }
        self.blank();
    }

    fn entries(&mut self, f: &Findings) {
        let head = format!("{:44}{:>24}{:>9}", "entry", "expected (80 %)", "wrong?");
        self.dim(&head);
        for (e, said) in f.entries.iter().zip(learned::entries(f, self.style.units)) {
            let kind = learned::entry_value(e, self.style.units);
            let text = self.encoded(&said);
            // A wide range takes its room from the entry, whose text stands in the logbook, too.
            let expected = learned::expected(e, kind);
            let wide = (width(&expected) + 1).max(24);
            let room = 68usize.saturating_sub(wide);
            let line = format!(
                "{}{}{}",
                pad(&cut(&text, room.saturating_sub(1)), room),
                right(&expected, wide),
                right(&number::percent(e.wrong), 9)
            );
            let line = self.encoded(&line);
            self.line(&cut(&line, self.style.columns()));
            if e.flagged {
                self.flagged(
                    "  Doubted",
                    "no unit of the design agrees: the entry is wrong, or something is broken",
                );
            }
        }
        self.blank();
    }

    fn explanations(&mut self, f: &Findings) {
        if f.explanations.is_empty() {
            return;
        }
        let head = format!("{:52}{:>8}{:>14}", "explanation", "weight", "ln evidence");
        self.dim(&head);
        for w in &f.explanations {
            let line = format!(
                "{:52}{}{}",
                w.explanation.words(),
                right(&number::percent(w.weight), 8),
                right(&number::fixed(w.log_evidence, 1), 14)
            );
            self.line(&line);
        }
        self.blank();
    }
}
