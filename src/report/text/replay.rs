//! A season as it was, for a terminal.

use super::screen::Screen;
use super::wrap::{cut, right};
use crate::report::number;
use crate::report::style::Style;
use crate::report::words;
use crate::study::replay::Replay;

/// Share of the trials from which a day counts as still in the list.
const STILL: f64 = 0.5;

/// Months, and the days that stood still. Ends in a newline.
pub fn replay(r: &Replay, style: Style) -> String {
    let mut screen = Screen::new(style);
    let trials = format!("{}, seed {}", words::trials(r.trials), r.seed);
    let title =
        cut(&screen.encoded(&words::escaped(&r.design[0])), style.columns().saturating_sub(trials.len() + 2));
    screen.two_ends(&title, &trials);
    let source = format!("{}: {} days of the season", words::escaped(&r.days_from[0]), r.days.len());
    screen.wrapped("Days of", &source);
    if r.invented {
        screen.wrapped(
            "",
            "These days are invented. The figures show how the program works; they describe no real season.",
        );
    }
    screen.blank();
    screen.bold(&words::replay::headline(r, style.pm()));
    screen.blank();
    let row = |cells: [&str; 5]| {
        let [month, days, still, jet, dusk] = cells;
        format!("{month:11}{days:>5}{}{}{}", right(still, 13), right(jet, 15), right(dusk, 16))
    };
    let head = row(["", "days", "still days", "jet, h a day", "dusk run, min"]);
    screen.dim(&head);
    for m in words::replay::months(r) {
        let line = row([
            words::month(m.month),
            &m.days.to_string(),
            &number::fixed(m.still, 1),
            &number::fixed(m.jet_h, 1),
            &m.dusk_min.map_or("-".to_owned(), |d| number::fixed(d, 0)),
        ]);
        screen.line(&line);
    }
    screen.blank();
    let still: Vec<&str> = r.days.iter().filter(|d| d.still >= STILL).map(|d| d.date.as_str()).collect();
    let list = if still.is_empty() { "none".to_owned() } else { still.join(", ") };
    screen.wrapped("Still", &format!("{list}."));
    if !r.missing.is_empty() {
        let text = format!(
            "{} of the season; they are drawn and not counted.",
            words::count(r.missing.len(), "day")
        );
        screen.wrapped("Lacks", &text);
    }
    screen.wrapped("Left out", words::replay::LEFT_OUT);
    for note in &r.notes {
        screen.flagged("Note", note);
    }
    screen.out
}
