//! The field card as a page to print and fill in.

use super::page;
use super::parts::{Section, Table, bullets, numbers_bold, sections, table};
use crate::learn::FieldCard;
use crate::report::words::{self, card as said};
use crate::units::System;
use maud::{Markup, html};

/// `field-card.html`.
pub fn card(c: &FieldCard, units: System) -> String {
    let header = html! {
        p class="file" {
            code { (words::escaped(&c.design[1])) }
            @if let Some(logbook) = &c.logbook { " · after logbook " code { (words::escaped(logbook)) } }
            " · seed " (c.seed)
        }
        p class="verdict" { (numbers_bold(&said::headline(c))) }
        p class="small" { (said::spread(c)) }
        @if c.invented { p class="small invented" { "The weather is invented. The figures show how the program works; they describe no real place." } }
    };
    let mut list = vec![
        Section::new("readings", "What to read", html! { (said::ORDER) }, readings(c, units)),
        Section::new(
            "how",
            "How, and where to write it",
            html! { "What is filled in is a logbook: copy it into field-card.csv." },
            how(c),
        ),
        Section::new(
            "cautions",
            "With care",
            html! { (said::LEFT_OUT) },
            bullets("warn", &said::CAUTIONS.map(str::to_owned)),
        ),
    ];
    if !c.notes.is_empty() {
        list.push(Section::new("notes", "Notes", html! {}, bullets("warn", &c.notes)));
    }
    let title = format!("Field card: {}", c.design[0]);
    page::page(&title, &header, &sections(&list), &serde_json::to_vec(c).unwrap_or_default())
}

fn readings(c: &FieldCard, units: System) -> Markup {
    let mut t = Table {
        named: true,
        ..Table::new(&["", "still days", "dusk run", "minutes", "expect", "still days with the first"])
    };
    for (k, r) in c.readings.iter().enumerate() {
        t.row([
            format!("{} {}", k + 1, r.name),
            said::worth(&r.still_days, "±"),
            r.dusk_run.as_ref().map_or("–".to_owned(), |d| said::worth(d, "±")),
            r.minutes.to_string(),
            said::expect(r, units),
            r.with_first.as_ref().map_or(String::new(), |w| said::worth(w, "±")),
        ]);
    }
    table(&t)
}

fn how(c: &FieldCard) -> Markup {
    html! {
        ol class="list" {
            @for r in &c.readings {
                li {
                    b { (r.name) } ". " (r.how)
                    @if let Some(caution) = r.caution { " Caution: " (caution) }
                    p class="fill" { "date ____________ time ________ value ____________________ sky ____________" }
                }
            }
        }
    }
}
