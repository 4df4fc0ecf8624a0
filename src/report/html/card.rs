//! The field card as a page to print and fill in.

use super::page;
use super::parts::{Key, Section, Table, bullets, figure, key, numbers_bold, sections, with_code};
use crate::learn::{CardReading, FieldCard, Worth};
use crate::report::chart::{Dot, dots};
use crate::report::number;
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
        p class="lead" { (numbers_bold(&said::spread(c))) }
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
            with_code(said::LEFT_OUT),
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
    worths(c, &t)
}

/// Whether a reading surely tells something.
fn tells(r: &CardReading) -> bool {
    r.still_days.clear || r.dusk_run.is_some_and(|d| d.clear)
}

/// What readings are worth, for still days and for the dusk run.
fn worths(c: &FieldCard, numbers: &Table) -> Markup {
    let of = |what: &str, worth: &dyn Fn(&CardReading) -> Option<Worth>| {
        let marks: Vec<Dot> = c
            .readings
            .iter()
            .filter_map(|r| Some((r, worth(r).filter(|w| w.clear)?)))
            .map(|(r, w)| Dot {
                name: r.name.clone(),
                mean: 100.0 * w.share,
                interval: Some((
                    100.0 * (w.share - 2.0 * w.se).max(0.0),
                    100.0 * (w.share + 2.0 * w.se).min(1.0),
                )),
                text: format!(
                    "{}: {} of the variance, in {} minutes",
                    r.name,
                    said::worth(&w, "±"),
                    r.minutes
                ),
            })
            .collect();
        let finding = match marks.as_slice() {
            [] => {
                return html! { figure { figcaption { h3 { "No single reading tells anything clear about " (what) } } } };
            }
            [only] => format!("Only one reading tells about {what}: {} %", number::fixed(only.mean, 0)),
            many => format!(
                "{} readings tell about {what}; most {} %",
                many.len(),
                number::fixed(many[0].mean.max(many.iter().map(|m| m.mean).fold(0.0, f64::max)), 0)
            ),
        };
        let chart = dots(
            &format!("{finding}. Share of the variance that a reading removes."),
            "share of the variance removed, %",
            &marks,
        );
        let keys = key(&[
            Key { class: "point", line: false, text: "expected".to_owned() },
            Key { class: "", line: true, text: "± two standard errors".to_owned() },
        ]);
        figure(&finding, &chart, Some(&keys), numbers)
    };
    html! { div class="figs" { (of("still days", &|r| Some(r.still_days))) (of("the dusk run", &|r| r.dusk_run)) } }
}

fn how(c: &FieldCard) -> Markup {
    let (first, rest): (Vec<&CardReading>, Vec<&CardReading>) = c.readings.iter().partition(|r| tells(r));
    html! {
        @if !first.is_empty() { (instructions(&first)) }
        @if !rest.is_empty() {
            details open[first.is_empty()] {
                summary { "Readings that tell nothing clear by themselves: " (rest.len()) }
                (instructions(&rest))
            }
        }
    }
}

fn instructions(list: &[&CardReading]) -> Markup {
    html! {
        ol class="list" {
            @for r in list {
                li {
                    b { (r.name) } ". " (r.how)
                    @if let Some(caution) = r.caution { " Caution: " (caution) }
                    p class="fill" { "date\u{a0}____________ time\u{a0}________ value\u{a0}________________ sky\u{a0}____________" }
                }
            }
        }
    }
}
