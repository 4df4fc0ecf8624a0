//! The page of a run: the verdict, then what it rests on.

use super::parts::{Section, numbers_bold, sections};
use super::{battery, causes, days, dusk, hours, inputs, page, shares, still, trust, water};
use crate::plant::DayTrace;
use crate::report::words;
use crate::study::remedies::Remedies;
use crate::tally::Summary;
use crate::units::System;
use maud::{Markup, html};

/// `report.html` of a run: the verdict, then what it rests on.
pub fn run(summary: &Summary, traces: &[DayTrace], units: System) -> String {
    run_with_remedies(summary, traces, None, units)
}

/// The same, with the remedies if they were weighed.
pub fn run_with_remedies(
    summary: &Summary,
    traces: &[DayTrace],
    remedies: Option<&Remedies>,
    units: System,
) -> String {
    let list = run_sections(summary, traces, remedies, units);
    let header = html! {
        p class="file" {
            code { (words::escaped(&summary.design.file)) } " · weather " code { (words::escaped(&summary.weather.file)) }
            " · " (words::trials(summary.run.trials)) " · seed " (summary.run.seed)
        }
        p class="verdict" { (sentences([words::wish_verdict(summary), words::still_verdict(summary, "±")])) }
        p class="lead" { (sentences([words::dusk_verdict(summary, "±"), words::battery_verdict(summary, "±")])) }
        p class="small" { "± is the larger half of a 95 % interval; a rare event shows the interval’s ends, one that never occurred a bound. It tells how well these trials know the number." @if let Some(r) = &summary.weather_input { " What gardens see (" (words::input::coverage(r)) ") adds what " (words::input::files(r)) " cannot know of a place. Neither tells how well the model fits your parts." } }
        p class="small hint" { "Point at a chart to see its values, or tab to it and use the arrow keys. Its numbers are below it." }
        @if summary.weather.invented {
            p class="small invented" { "The weather is invented. The figures show how the program works; they describe no real place." }
        }
        nav aria-label="Contents" { ol {
            @for (i, s) in list.iter().enumerate() { li { a href={ "#" (s.id) } { (i + 1) " " (s.heading) } } }
        } }
    };
    page::page(
        &summary.design.title,
        &header,
        &sections(&list),
        &serde_json::to_vec(summary).unwrap_or_default(),
    )
}

fn run_sections(
    s: &Summary,
    traces: &[DayTrace],
    remedies: Option<&Remedies>,
    units: System,
) -> Vec<Section> {
    [
        Some(still::section(s)),
        dusk::section(s),
        hours::section(s),
        Some(causes::section(s)),
        battery::section(s),
        days::section(s, traces, units),
        shares::section(s, remedies),
        Some(water::section(s, units)),
        Some(trust::section(s)),
        Some(inputs::section(s, units)),
        inputs::cautions(s),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Sentences with their numbers set off.
fn sentences(list: [String; 2]) -> Markup {
    html! { @for t in &list { (numbers_bold(t)) " " } }
}
