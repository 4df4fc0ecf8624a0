//! The page of a batch: failures first, then every design, the best first.

use super::page;
use super::parts::{Section, bullets, column_names, sections, untrusted};
use crate::report::words::input;
use crate::report::{number, words};
use crate::study::batch::BatchSummary;
use crate::study::batch::batch_summary::DesignRow;
use crate::tally::Meets;
use crate::tally::summary::LifeEnd;
use maud::{Markup, PreEscaped, html};

const STYLE: &str = include_str!("sort.css");
const SCRIPT: &str = include_str!("sort.js");

/// `index.html` of a batch.
pub fn batch(m: &BatchSummary) -> String {
    let title = if m.folder.is_empty() { "All designs" } else { &m.folder };
    let header = html! {
        p class="file" { (effort(m)) " · seed " (m.seed) }
        p class="verdict" { (verdict(m)) }
        p class="small" { "± is the larger half of a 95 % interval: what more trials would settle. Below it, what 80 % of places see whose weather files look like these. Designs at one place get the same weather. Run compare to tell two close designs apart." }
        @if m.designs.iter().any(|d| d.weather_invented) {
            p class="small invented" { "Some of the weather is invented. Those figures show how the program works; they describe no real place." }
        }
    };
    let mut list = Vec::new();
    if !m.failed.is_empty() {
        let remark = html! { "The batch went on without them." };
        list.push(Section::new("failed", "Failed", remark, failed(m)).full_width());
    }
    if !m.unfinished.is_empty() {
        let remark = html! { "Run the same command again to continue." };
        list.push(Section::new("unfinished", "Still to do", remark, unfinished(m)).full_width());
    }
    if !m.designs.is_empty() {
        let remark = html! { "Fewest still days first. Click a heading to sort by it; click again to reverse the order." };
        list.push(Section::new("ranking", "Ranking", remark, ranking(m)).full_width());
    }
    if !m.passed_over.is_empty() {
        let remark = html! { "These files are not designs." };
        list.push(Section::new("passed-over", "Skipped", remark, passed_over(m)).full_width());
    }
    let remark = html! { "For any fountain. The page of each design has those for its parts. Local codes and licensed practice take precedence." };
    let cautions = bullets("warn", &crate::design::general_cautions());
    list.push(Section::new("cautions", "Cautions", remark, cautions));
    let body = html! {
        style { (PreEscaped(STYLE)) }
        (sections(&list))
        script { (PreEscaped(SCRIPT)) }
    };
    page::page(title, &header, &body, &serde_json::to_vec(m).unwrap_or_default())
}

fn effort(m: &BatchSummary) -> String {
    match (m.trials, m.until_days) {
        (Some(n), _) => format!("{} for each design", words::trials(n)),
        (None, Some(days)) => format!("each until ± {days} still days a month"),
        (None, None) => String::new(),
    }
}

fn verdict(m: &BatchSummary) -> Markup {
    let count = |n: usize, what: &str| format!("{} {what}{}", n, if n == 1 { "" } else { "s" });
    html! {
        b { (count(m.finished(), "design")) } " finished"
        @if !m.unfinished.is_empty() { ", " b { (m.unfinished.len()) } " still to do" }
        @if !m.failed.is_empty() { ", " b { (m.failed.len()) } " failed (see below)" }
        "."
        @if let Some(best) = m.designs.first() {
            " Fewest still days: " a href=(best.report) { (untrusted(&best.title)) }
            @match m.designs.iter().filter(|d| d.rank == best.rank).count() - 1 {
                0 => {},
                others => { " and " (count(others, "other")) },
            }
            ", with "
            b { (number::estimate(best.still_days_per_month, 2, "±")) } " still days a month."
        }
    }
}

fn failed(m: &BatchSummary) -> Markup {
    html! {
        @for f in &m.failed {
            p { code { (untrusted(&f.file)) } }
            // Lines are kept, all else that could move the text around is shown.
            pre class="reason" { @for line in f.reason.lines() { (words::escaped(line)) "\n" } }
        }
    }
}

fn unfinished(m: &BatchSummary) -> Markup {
    html! {
        ul class="list" {
            @for u in &m.unfinished {
                li {
                    code { (untrusted(&u.file)) }
                    @if u.trials_done > 0 { ": " (words::trials(u.trials_done)) " done" }
                    @if m.designs.iter().any(|d| d.file == u.file) { "; its figures below are from these" }
                }
            }
        }
    }
}

fn passed_over(m: &BatchSummary) -> Markup {
    html! {
        ul class="list" { @for p in &m.passed_over { li { code { (untrusted(&p.file)) } ": " (p.reason) } } }
    }
}

/// Names of the columns, and whether they are words.
const COLUMNS: [(&str, bool); 9] = [
    ("rank", false),
    ("design", true),
    ("whole wish", true),
    ("still days a month", false),
    ("worst month, 9 years in 10 at most", false),
    ("dusk run, min", false),
    ("battery, years", false),
    ("price", false),
    ("warnings", false),
];

fn ranking(m: &BatchSummary) -> Markup {
    let most = m.designs.iter().map(|d| d.still_days_per_month.mean).fold(0.0, f64::max);
    html! {
        div class="scroll" tabindex="0" role="region" aria-label="ranking" {
            table class="sortable ranking named" style=(column_names(&COLUMNS.map(|(name, _)| name))) {
                thead { tr {
                    @for (i, (name, is_words)) in COLUMNS.iter().enumerate() {
                        th scope="col" class=[is_words.then_some("t")] data-words=[is_words.then_some("1")]
                            aria-sort=[(i == 0).then_some("ascending")] {
                            button type="button" { (name) }
                        }
                    }
                } }
                tbody { @for d in &m.designs { (row(d, most)) } }
            }
        }
    }
}

fn row(d: &DesignRow, most: f64) -> Markup {
    let share = if most > 0.0 { d.still_days_per_month.mean / most * 100.0 } else { 0.0 };
    html! {
        tr {
            td data-key=(d.rank) { (d.rank) }
            th scope="row" class="t w" data-key=(d.title) {
                a href=(d.report) { (untrusted(&d.title)) }
                small { (untrusted(&d.file)) }
            }
            td class="t" data-key=(key(Some(d.wish_years_met))) {
                (words::wish_short(d.wish_meets, d.wish_fails_most))
                @if d.weather_input.as_ref().is_some_and(|r| !r.verdict_holds) && d.wish_meets != Meets::Unsure { ", in this weather" }
                small { (words::years_share(d.wish_years_met, d.wish_years_met_95)) " of years" }
            }
            td data-key=(key(Some(d.still_days_per_month.mean))) {
                (number::estimate(d.still_days_per_month, 2, "±"))
                @if let Some(r) = &d.weather_input { small { (input::range(r.still_days_per_month, 2)) " at such places" } }
                span class="bar-of" style={ "width:" (number::fixed(share, 1)) "%" } {}
            }
            td data-key=(key(Some(d.worst_month_p90))) { (number::whole_within(d.worst_month_p90, d.worst_month_p90_95)) }
            td data-key=(key(d.dusk_run_min.map(|e| e.mean))) {
                @if let Some(e) = d.dusk_run_min { (number::estimate(e, 1, "±")) } @else { "–" }
                @if let Some(share) = d.dusk_run_meets_wish { small { (number::percent_estimate(share, "±")) " reach the wish" } }
            }
            td data-key=(key(d.battery_life.map(|l| l.p50))) {
                @match &d.battery_life {
                    Some(life) => (words::life_short(life)),
                    None => "–",
                }
                @match d.battery_life_ends_by {
                    Some(LifeEnd::Cycles) => small { "mostly by cycling" },
                    Some(LifeEnd::Calendar) => small { "mostly by age" },
                    None => {}
                }
            }
            td data-key=(key(d.price)) { @match d.price { Some(p) => (number::fixed(p, 2)), None => "–" } }
            td data-key=(d.warnings.len()) {
                @if d.warnings.is_empty() { "0" } @else {
                    details { summary { (d.warnings.len()) } ul class="list" { @for w in &d.warnings { li { (untrusted(w)) } } } }
                }
            }
        }
    }
}

/// What a column is sorted by; empty for what is not known.
fn key(value: Option<f64>) -> String {
    value.filter(|v| v.is_finite()).map(|v| v.to_string()).unwrap_or_default()
}
