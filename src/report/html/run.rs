//! The page of a run: the verdict, then what it rests on.

use super::parts::{Section, numbers_bold, sections};
use super::{at_a_glance, battery, causes, days, dusk, hours, inputs, page, shares, still, trust, water};
use crate::plant::DayTrace;
use crate::report::words;
use crate::study::remedies::Remedies;
use crate::tally::Summary;
use crate::units::System;
use maud::html;

/// What a run's page shows beside its summary.
#[derive(Clone, Copy, Debug, Default)]
pub struct RunExtras<'a> {
    /// Days minute by minute.
    pub traces: &'a [DayTrace],
    /// Where these days can be watched: a page beside this one, if there is one.
    pub days_page: Option<&'a str>,
    /// The remedies, if they were weighed.
    pub remedies: Option<&'a Remedies>,
    /// Units of what is shown.
    pub units: System,
}

/// `report.html` of a run: the verdict, then what it rests on.
pub fn run(summary: &Summary, traces: &[DayTrace], units: System) -> String {
    run_with(summary, RunExtras { traces, units, ..RunExtras::default() })
}

/// The same with more.
pub fn run_with(summary: &Summary, extras: RunExtras<'_>) -> String {
    let list = run_sections(summary, extras);
    let header = html! {
        p class="file" {
            code { (words::escaped(&summary.design.file)) } " · weather " code { (words::escaped(&summary.weather.file)) }
            " · " (words::trials(summary.run.trials)) " · seed " (summary.run.seed)
        }
        p class="verdict" { (numbers_bold(&words::wish_verdict(summary))) }
        p class="lead" { (numbers_bold(&words::still_verdict(summary, "±"))) }
        (at_a_glance::figures(summary, extras.units))
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

fn run_sections(s: &Summary, extras: RunExtras<'_>) -> Vec<Section> {
    let RunExtras { traces, days_page, remedies, units } = extras;
    [
        Some(still::section(s)),
        evening(s),
        Some(causes::section(s)),
        Some(water::section(s, units)),
        battery::section(s).map(|b| b.folded("Charge by week, depth, cycles and life")),
        days::section(traces, days_page, units).map(|d| d.folded("Days of single trials as curves")),
        shares::section(s, remedies).map(|u| u.folded(shares::fold(s, remedies))),
        Some(trust::section(s).folded("Checks, balances and what is not modelled")),
        Some(inputs::section(s, units).folded(inputs::FOLD)),
        inputs::cautions(s),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Dusk run and chance of the jet by hour side by side; the latter alone where no day has a sunset.
fn evening(s: &Summary) -> Option<Section> {
    let (dusk, hours) = (dusk::section(s), hours::section(s));
    match (dusk, hours) {
        (Some(dusk), Some(hours)) => {
            let body = html! { div class="figs" { (dusk.body) div id="hours" { (hours.body) p class="note" { (hours.remark) } } } (dusk::months(s)) };
            Some(Section { body, ..dusk })
        }
        (Some(dusk), None) => {
            let body = html! { div class="figs" { (dusk.body) } (dusk::months(s)) };
            Some(Section { body, ..dusk })
        }
        (None, hours) => hours,
    }
}
