//! The page of a batch: failures first, then every design, the best first.

use super::page::{self, Extra};
use super::parts::{Section, bullets, column_names, non_breaking, sections, untrusted};
use crate::report::chart::coordinate;
use crate::report::words::input;
use crate::report::{number, words};
use crate::study::batch::BatchSummary;
use crate::study::batch::batch_summary::{DesignRow, Task};
use crate::tally::summary::LifeEnd;
use crate::tally::{Meets, WishPart};
use maud::{Markup, html};

const STYLE: &str = include_str!("sort.css");
const SCRIPT: &str = include_str!("sort.js");

/// `index.html` of a batch.
pub fn batch(m: &BatchSummary) -> String {
    let title =
        if m.folder.is_empty() { "All designs".to_owned() } else { format!("The designs of {}", m.folder) };
    let header = html! {
        p class="file" { (effort(m)) " · seed " (m.seed) }
        p class="verdict" { (verdict(m)) }
        @if let Some(left) = left(m) { p class="lead" { (left) } }
        p class="small" { "± is the larger half of a 95 % interval: what more trials would settle. Below it, what 80 % of places see whose weather files look like these. Designs at one place get the same weather. Run compare to tell two close designs apart." }
        @if m.designs.iter().any(|d| d.weather_invented) {
            p class="small invented" { "Some of the weather is invented. Those figures show how the program works; they describe no real place." }
        }
    };
    let mut list = Vec::new();
    if !m.designs.is_empty() {
        let remark = html! {
            @if groups(m).len() > 1 { "Only designs at one place and with one wish are ranked against each other. " }
            "Fewest still days first. Click a heading to sort by it; click again to reverse the order."
        };
        list.push(Section::new("ranking", "Ranking", remark, rankings(m)).full_width());
    }
    if !m.failed.is_empty() {
        let remark = html! { "The batch went on without them." };
        list.push(Section::new("failed", "Failed", remark, failed(m)).full_width());
    }
    if !m.unfinished.is_empty() {
        let remark = html! { "Run the same command again to continue." };
        list.push(Section::new("unfinished", "Still to do", remark, unfinished(m)).full_width());
    }
    if !m.passed_over.is_empty() {
        let remark = html! { "These files are not designs." };
        list.push(Section::new("passed-over", "Skipped", remark, passed_over(m)).full_width());
    }
    let remark = html! { "For any fountain. The page of each design has those for its parts. Local codes and licensed practice take precedence." };
    let cautions = bullets("warn", &crate::design::general_cautions());
    list.push(Section::new("cautions", "Cautions", remark, cautions));
    let data = serde_json::to_vec(m).unwrap_or_default();
    page::page_with(&title, &header, &sections(&list), &data, Extra { style: STYLE, script: SCRIPT })
}

fn effort(m: &BatchSummary) -> String {
    match (m.trials, m.until_days) {
        (Some(n), _) => format!("{} for each design", words::trials(n)),
        (None, Some(days)) => format!("each until ± {days} still days a month"),
        (None, None) => String::new(),
    }
}

/// Designs that are named in the headline; more are counted.
const NAMED: usize = 4;

/// Which designs surely meet their wishes, and which is best where all can be ranked against each other.
fn verdict(m: &BatchSummary) -> Markup {
    let standing = |meets: Meets| m.designs.iter().filter(|d| d.wish_meets == meets).collect::<Vec<_>>();
    let (yes, unsure) = (standing(Meets::Yes), standing(Meets::Unsure).len());
    let of = words::count(m.designs.len(), "design");
    html! {
        @match (m.designs.len(), yes.as_slice()) {
            (0, _) => "No design is finished yet.",
            (1, [_]) => "The design surely meets its wish.",
            (_, []) => { "None of " (of) " surely meets its wish" @if unsure > 0 { "; " (unsure) " may" } "." },
            (_, [only]) => { b { "1" } " of " (of) " surely meets its wish: " (link(only)) @if unsure > 0 { "; " (unsure) " more may" } "." },
            (_, some) => {
                b { (some.len()) } " of " (of) " surely meet their wishes"
                @if some.len() <= NAMED { ": " @for (i, d) in some.iter().enumerate() { @if i > 0 { (if i + 1 == some.len() { " and " } else { ", " }) } (link(d)) } }
                @if unsure > 0 { "; " (unsure) " more may" }
                "."
            },
        }
        @if let Some(best) = m.designs.first().filter(|_| m.designs.len() > 1 && groups(m).len() == 1) {
            " Fewest still days: " (link(best))
            @match m.designs.iter().filter(|d| d.rank == best.rank).count() - 1 {
                0 => {},
                others => { " and " (words::count(others, "other")) },
            }
            ", with "
            b { (number::estimate(best.still_days_per_month, 2, "±")) } " a month."
        }
    }
}

/// A title that leads to the page of its design.
fn link(d: &DesignRow) -> Markup {
    html! { a href=(d.report) { (untrusted(&d.title)) } }
}

/// What was not finished; nothing if all was.
fn left(m: &BatchSummary) -> Option<Markup> {
    (!m.unfinished.is_empty() || !m.failed.is_empty()).then(|| {
        html! {
            (words::count(m.finished(), "design")) " finished"
            @if !m.unfinished.is_empty() { ", " (m.unfinished.len()) " still to do" }
            @if !m.failed.is_empty() { ", " (m.failed.len()) " failed (see below)" }
            "."
        }
    })
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

/// A table for each task that several designs share, then one for all designs that have theirs alone.
fn rankings(m: &BatchSummary) -> Markup {
    let (shared, alone): (Vec<_>, Vec<_>) = groups(m).into_iter().partition(|g| g.len() > 1);
    let alone: Vec<&DesignRow> = alone.into_iter().flatten().collect();
    html! {
        @for (k, g) in shared.iter().enumerate() {
            h3 { (words::count(g.len(), "design")) " at " (place(&g[0].task)) }
            p class="note" { (task(&g[0].task)) }
            (ranking(g, k, true))
        }
        @if !alone.is_empty() {
            @if !shared.is_empty() || alone.len() > 1 {
                h3 { "Designs that share neither place nor wish with another" }
            }
            (ranking(&alone, shared.len(), false))
        }
    }
}

/// Wish and weather of designs, in sentences.
fn task(t: &Task) -> Markup {
    html! {
        (non_breaking(&wish(t)))
        @if let [first, others @ ..] = t.weather.as_slice() {
            " Weather: " (untrusted(first))
            @if !others.is_empty() { " and " (words::count(others.len(), "more file")) }
            "."
        }
    }
}

/// Designs that can be ranked against each other: one place, one wish. Groups stand in the order of their best designs.
fn groups(m: &BatchSummary) -> Vec<Vec<&DesignRow>> {
    let mut groups: Vec<Vec<&DesignRow>> = Vec::new();
    for d in &m.designs {
        match groups.iter_mut().find(|g| g[0].task == d.task) {
            Some(group) => group.push(d),
            None => groups.push(vec![d]),
        }
    }
    groups
}

fn place(t: &Task) -> Markup {
    let [latitude, longitude] = t.place_deg;
    let side = |v: f64, plus: &str, minus: &str| {
        format!("{}°\u{a0}{}", number::fixed(v.abs(), 2), if v < 0.0 { minus } else { plus })
    };
    html! {
        (side(latitude, "N", "S")) ", " (side(longitude, "E", "W"))
    }
}

/// What is wished, in a sentence.
fn wish(t: &Task) -> String {
    let part = |p: &WishPart| match p {
        WishPart::StillDays => format!("at most {} still days in every month", number::given(t.still_days)),
        WishPart::DuskRun => format!(
            "a jet for {} min after sunset on {} of evenings",
            number::fixed(t.dusk_run_min, 0),
            number::percent(t.evenings.unwrap_or(1.0))
        ),
        WishPart::Water => "water that is never low between fillings".to_owned(),
    };
    let mut parts: Vec<String> = t.parts.iter().map(part).collect();
    if t.evenings.is_none() {
        parts.push("no dusk wish".to_owned());
    }
    let hours = t.hours.as_deref().map_or(String::new(), |h| format!(", wanted {}", words::escaped(h)));
    format!(
        "The wish: {}; in {} of years. Season {} to {}{hours}.",
        parts.join("; "),
        number::percent(t.confidence),
        t.season[0],
        t.season[1]
    )
}

/// Size of the picture of months in a row, drawing units.
const PICTURE: (f64, f64) = (96.0, 30.0);

/// Still days by month as a small picture; `most` fills its height.
fn picture(d: &DesignRow, most: f64) -> Markup {
    let (wide, high) = PICTURE;
    let step = wide / d.months.len().max(1) as f64;
    let bar = |mean: f64| high * (mean / most).clamp(0.0, 1.0);
    let said: Vec<String> = d
        .months
        .iter()
        .filter_map(|(m, mean)| Some(format!("{} {}", words::month_short(*m), number::fixed((*mean)?, 1))))
        .collect();
    html! {
        svg class="months-of" viewBox=(format!("0 0 {wide} {}", high + 1.0)) role="img" aria-label={ "Still days by month: " (said.join(", ")) } {
            @for (k, (_, mean)) in d.months.iter().enumerate() {
                @if let Some(h) = mean.map(bar) {
                    rect class="bar" x=(coordinate(k as f64 * step + 0.6)) y=(coordinate(high - h)) width=(coordinate((step - 1.2).max(0.8))) height=(coordinate(h)) {}
                }
            }
            path class="base" d=(format!("M0 {y}H{wide}", y = high + 0.5)) {}
        }
    }
}

/// Names of the columns, and whether they are words.
const COLUMNS: [(&str, bool); 10] = [
    ("rank", false),
    ("design", true),
    ("whole wish", true),
    ("by month", false),
    ("still days a month", false),
    ("worst month, 9 years in 10 at most", false),
    ("dusk run, min", false),
    ("battery, years", false),
    ("price", false),
    ("warnings", false),
];

/// The table of group `k`. Designs that are not ranked against each other have no rank, but each its own place and wish.
fn ranking(group: &[&DesignRow], k: usize, ranked: bool) -> Markup {
    let columns = &COLUMNS[usize::from(!ranked)..];
    // What is nearly nothing must look so.
    let most = group.iter().flat_map(|d| &d.months).filter_map(|m| m.1).fold(2.0, f64::max);
    let names = column_names(&columns.iter().map(|(name, _)| name).collect::<Vec<_>>());
    html! {
        div class="scroll" tabindex="0" role="region" aria-label=(format!("ranking {}", k + 1)) {
            table class="sortable ranking named" style=(names) {
                thead { tr {
                    @for (i, (name, is_words)) in columns.iter().enumerate() {
                        th scope="col" class=[is_words.then_some("t")] data-words=[is_words.then_some("1")]
                            aria-sort=[(i == 0 && ranked).then_some("ascending")] {
                            button type="button" { (name) }
                        }
                    }
                } }
                tbody { @for d in group { (row(d, ranked.then_some(group), most)) } }
            }
        }
    }
}

fn row(d: &DesignRow, ranked: Option<&[&DesignRow]>, most: f64) -> Markup {
    html! {
        tr {
            @if let Some(group) = ranked {
                @let rank = 1 + group.partition_point(|other| other.rank < d.rank);
                td data-key=(rank) { (rank) }
            }
            th scope="row" class="t w" data-key=(d.title) {
                a href=(d.report) { (untrusted(&d.title)) }
                small { (untrusted(&d.file)) }
                @if ranked.is_none() { small { (place(&d.task)) ". " (task(&d.task)) } }
            }
            td class="t" data-key=(key(Some(d.wish_years_met))) {
                (words::wish_short(d.wish_meets, d.wish_fails_most))
                @if d.weather_input.as_ref().is_some_and(|r| !r.verdict_holds) && d.wish_meets != Meets::Unsure { ", in this weather" }
                small { (words::years_share(d.wish_years_met, d.wish_years_met_95)) " of years" }
            }
            td data-key=(key(worst_month(d))) { (picture(d, most)) }
            td data-key=(key(Some(d.still_days_per_month.mean))) {
                (number::estimate(d.still_days_per_month, 2, "±"))
                @if let Some(r) = &d.weather_input { small { (input::range(r.still_days_per_month, 2)) " at such places" } }
            }
            td data-key=(key(Some(d.worst_month_p90))) { (number::whole_within(d.worst_month_p90, d.worst_month_p90_95)) }
            td data-key=(key(d.dusk_run_min.map(|e| e.mean))) {
                @if let Some(e) = d.dusk_run_min { (number::estimate(e, 1, "±")) } @else { "–" }
                @if d.task.evenings.is_none() { small { "no dusk wish" } }
                @else if let Some(share) = d.dusk_run_meets_wish { small { (number::percent_estimate(share, "±")) " reach the wish" } }
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
            td data-key=(key(d.price)) { @match d.price { Some(p) => (words::money::price(p, d.currency.as_deref())), None => "–" } }
            td data-key=(d.warnings.len()) {
                @if d.warnings.is_empty() { "0" } @else {
                    details { summary { (d.warnings.len()) } ul class="list" { @for w in &d.warnings { li { (untrusted(w)) } } } }
                }
            }
        }
    }
}

/// Still days of its worst month.
fn worst_month(d: &DesignRow) -> Option<f64> {
    d.months.iter().filter_map(|m| m.1).max_by(f64::total_cmp)
}

/// What a column is sorted by; empty for what is not known.
fn key(value: Option<f64>) -> String {
    value.filter(|v| v.is_finite()).map(|v| v.to_string()).unwrap_or_default()
}
