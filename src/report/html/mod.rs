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

pub use batch::batch;
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
use parts::{bare, is_unit, outside, section};

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
            code { (words::escaped(&summary.design.file)) } " · weather " code { (words::escaped(&summary.weather.file)) }
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

/// Figures in bold, with `±` and unit, without the punctuation behind them.
fn numbers_bold(text: &str) -> Markup {
    let end = |word: &str| bare(word).len();
    let mut runs: Vec<(bool, String)> = Vec::new();
    for word in text.split(' ') {
        let goes_on = runs.last().is_some_and(|(bold, run)| *bold && end(run) == run.len());
        let bold = word.starts_with(|c: char| c.is_ascii_digit()) || goes_on && is_unit(word);
        match runs.last_mut() {
            Some((kind, run)) if *kind == bold && (goes_on || !bold) => {
                run.push(' ');
                run.push_str(word);
            }
            _ => runs.push((bold, word.to_owned())),
        }
    }
    html! {
        @for (i, (bold, run)) in runs.iter().enumerate() {
            @if i > 0 { " " }
            @if *bold { b { (run[..end(run)]) } (run[end(run)..]) } @else { (run) }
        }
    }
}

/// A list of sentences from outside.
fn list(class: &str, items: &[String]) -> Markup {
    html! { ul class="list" { @for i in items { li class=(class) { (outside(i)) } } } }
}
