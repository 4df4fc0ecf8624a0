//! Numbers to pages of our own.

mod batch;
mod battery;
mod causes;
mod choose;
mod compare;
mod days;
mod dusk;
mod grid;
mod hours;
mod inputs;
pub mod page;
pub mod parts;
mod remedies;
mod shares;
mod still;
mod trust;
mod water;

pub use batch::morning;
pub use choose::choose;
pub use compare::compare;
pub use grid::grid;
pub use remedies::remedies;

use super::words;
use crate::plant::DayTrace;
use crate::study::remedies::Remedies;
use crate::tally::Summary;
use crate::units::System;
use maud::{Markup, html};
use parts::{outside, section};

/// `report.html` of a run: the verdict, then what it rests on.
pub fn run(summary: &Summary, traces: &[DayTrace], units: System) -> String {
    run_weighed(summary, traces, None, units)
}

/// The same, with the remedies if they were weighed.
pub fn run_weighed(
    summary: &Summary,
    traces: &[DayTrace],
    remedies: Option<&Remedies>,
    units: System,
) -> String {
    let parts = run_parts(summary, traces, remedies, units);
    let header = html! {
        p class="file" {
            code { (words::visible(&summary.design.file)) } " · weather " code { (words::visible(&summary.weather.file)) }
            " · " (words::trials(summary.run.trials)) " · seed " (summary.run.seed)
        }
        p class="verdict" { (verdict(summary)) }
        p class="small" { "± is twice the standard error: about 95 % of such runs would land within it. It says how well the number is known from these trials, not how well the model fits your parts." }
        p class="small hint" { "Point at any chart for its values, or tab to it and use the arrow keys; its numbers stand below it." }
        @if summary.weather.invented {
            p class="small invented" { "The weather is invented. The figures show how the tool works, not how a place is." }
        }
        nav aria-label="Contents" { ol {
            @for (i, p) in parts.iter().enumerate() { li { a href={ "#" (p.id) } { (i + 1) " " (p.heading) } } }
        } }
    };
    let body = html! {
        @for (i, p) in parts.iter().enumerate() { (section(i + 1, p.id, p.id == "days", p.heading, &p.remark, &p.body)) }
    };
    page::page(&summary.design.title, &header, &body, &serde_json::to_vec(summary).unwrap_or_default())
}

/// What a section is made of.
struct Part {
    id: &'static str,
    heading: &'static str,
    remark: Markup,
    body: Markup,
}

fn run_parts(s: &Summary, traces: &[DayTrace], weighed: Option<&Remedies>, units: System) -> Vec<Part> {
    [
        Some(still::part(s)),
        dusk::part(s),
        hours::part(s),
        Some(causes::part(s)),
        battery::part(s),
        days::part(s, traces, units),
        shares::part(s, weighed),
        Some(water::part(s, units)),
        Some(trust::part(s)),
        Some(inputs::part(s, units)),
        inputs::cautions(s),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The verdict with its numbers set off.
fn verdict(s: &Summary) -> Markup {
    let sentences = [words::still_verdict(s, "±"), words::dusk_verdict(s, "±"), words::battery_verdict(s)];
    html! { @for t in &sentences { (numbers_bold(t)) " " } }
}

/// Runs of words that hold a digit or `±` in bold.
fn numbers_bold(text: &str) -> Markup {
    let numeric = |w: &str| w == "±" || w == "%" || w.starts_with(|c: char| c.is_ascii_digit());
    let mut runs: Vec<(bool, Vec<&str>)> = Vec::new();
    for word in text.split(' ') {
        match runs.last_mut() {
            Some((kind, words)) if *kind == numeric(word) => words.push(word),
            _ => runs.push((numeric(word), vec![word])),
        }
    }
    html! {
        @for (i, (bold, words)) in runs.iter().enumerate() {
            @if i > 0 { " " }
            @if *bold { b { (words.join(" ")) } } @else { (words.join(" ")) }
        }
    }
}

/// A list of sentences from outside.
fn list(class: &str, items: &[String]) -> Markup {
    html! { ul class="list" { @for i in items { li class=(class) { (outside(i)) } } } }
}
