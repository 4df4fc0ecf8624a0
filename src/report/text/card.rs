//! The field card, for a terminal.

use super::screen::Screen;
use super::wrap::{cut, pad, right};
use crate::learn::FieldCard;
use crate::report::style::Style;
use crate::report::words::{self, card as said};

/// Readings by their worth. Ends in a newline.
pub fn card(c: &FieldCard, style: Style) -> String {
    let mut screen = Screen::new(style);
    let title = cut(&screen.encoded(&words::escaped(&c.design[0])), 58);
    screen.two_ends(&title, &format!("seed {}", c.seed));
    if c.invented {
        screen.wrapped(
            "",
            "The weather is invented. The figures show how the program works; they describe no real place.",
        );
    }
    screen.blank();
    screen.bold(&said::headline(c));
    if let Some(logbook) = &c.logbook {
        screen.wrapped("Logbook", &format!("{} was learned first.", words::escaped(logbook)));
    }
    screen.wrapped("", &said::spread(c));
    screen.blank();
    let row = |name: &str, cells: [&str; 3]| {
        format!(
            "{}{}{}{}",
            pad(&cut(name, 37), 38),
            right(cells[0], 15),
            right(cells[1], 15),
            right(cells[2], 8)
        )
    };
    let head = row("what to read", ["still days", "dusk run", "min"]);
    screen.dim(&head);
    let pm = style.pm();
    for r in &c.readings {
        let dusk = r.dusk_run.as_ref().map_or("-".to_owned(), |d| said::worth(d, pm));
        let line = row(&r.name, [&said::worth(&r.still_days, pm), &dusk, &r.minutes.to_string()]);
        let line = screen.encoded(&line);
        screen.line(&cut(&line, style.columns()));
        let expect = format!("   expect {}", said::expect(r, style.units));
        screen.dim(&expect);
    }
    screen.blank();
    screen.wrapped("", said::ORDER);
    screen.wrapped("Left out", said::LEFT_OUT);
    for caution in said::CAUTIONS {
        screen.flagged("Caution", caution);
    }
    for note in &c.notes {
        screen.flagged("Note", note);
    }
    screen.out
}
