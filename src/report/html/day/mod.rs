//! The page of days that one can watch: one time line for everything, and a picture that plays. All of it comes from the traces.

mod columns;
mod dome;
mod scene;
mod tracks;

use super::page::{self, Extra};
use super::parts::{Table, non_breaking, table, untrusted};
use crate::plant::{Cause, DayTrace, TraceMinute};
use crate::report::style::{height, volume};
use crate::report::{number, words};
use crate::sky::Skyline;
use crate::study::Plan;
use crate::study::traces::{Pick, PickedDay};
use crate::units::System;
use maud::{Markup, html};
use scene::Setting;
use serde_json::json;
use std::fmt::Write;

const STYLE: &str = include_str!("day.css");
const SCRIPT: &str = include_str!("day.js");

/// What a page of days says of the design beside what its traces hold.
#[derive(Clone, Debug)]
pub struct DayPage<'a> {
    /// The design's title and file.
    pub title: &'a str,
    /// The design's file.
    pub file: &'a str,
    /// The seed of the days' weather and parts.
    pub seed: u64,
    /// What hides the sun.
    pub skyline: Skyline,
    /// Whether the place is south of the equator.
    pub southern: bool,
    /// The jet that is wished for, m.
    pub wish_jet_m: f64,
    /// Whether the weather is invented.
    pub invented: bool,
    /// Cautions for the design.
    pub cautions: &'a [String],
    /// Units of what is shown.
    pub units: System,
}

impl<'a> DayPage<'a> {
    /// The page of a plan's days.
    pub fn of(plan: &'a Plan, seed: u64, cautions: &'a [String], units: System) -> Self {
        let design = &plan.file.design;
        DayPage {
            title: &design.title,
            file: plan.file.path.to_str().unwrap_or_default(),
            seed,
            skyline: Skyline::new(&design.site.skyline),
            southern: plan.site.calendar.place.latitude_deg < 0.0,
            wish_jet_m: design.wish.jet_m.nominal,
            invented: plan.site.years.iter().any(|y| y.invented),
            cautions,
            units,
        }
    }
}

/// `days.html`: these days, the first of them shown at first.
pub fn day(page: &DayPage<'_>, days: &[PickedDay]) -> String {
    let traces = || days.iter().map(|d| &d.trace);
    let largest =
        |value: fn(&TraceMinute) -> f64| traces().flat_map(|t| &t.minutes).map(value).fold(0.0, f64::max);
    // One scale for all days: a dull one shall look dull beside a bright one.
    let highest_m = largest(|m| m.jet_m).max(page.wish_jet_m).max(1e-3);
    let common = tracks::Common {
        highest_m,
        wish_m: page.wish_jet_m,
        light_w_m2: largest(|m| m.plane_w_m2.max(m.dni_w_m2)),
        units: page.units,
    };
    let setting = Setting {
        skyline: &page.skyline,
        southern: page.southern,
        battery: traces().any(|t| t.minutes.iter().any(|m| m.soc.is_some())),
        highest_m,
        wish_m: page.wish_jet_m,
    };
    let header = html! {
        p class="file" { code { (words::escaped(page.file)) } " · seed " (page.seed) }
        @if page.invented { p class="small invented" { "The weather is invented. The figures show how the program works; they describe no real place." } }
    };
    let body = html! {
        (picker(days))
        @for (k, d) in days.iter().enumerate() { div class="day finding" data-day=(k) { (finding(d)) } }
        div class="stage" {
            div class="window" {
                (scene::scene(setting))
                div class="compass" aria-hidden="true" {
                    @for name in if page.southern { ["W", "NW", "N", "NE", "E"] } else { ["E", "SE", "S", "SW", "W"] } { span { (name) } }
                }
            }
            div class="aside" { @for (k, d) in days.iter().enumerate() {
                div class="day" data-day=(k) { (dome::dome(&d.trace, shown(&d.trace), &page.skyline)) }
            } p class="note" { "The sky as a disc: zenith in the middle, horizon at the rim. ● the sun, ◆ where the panel looks." } }
        }
        (controls())
        @for (k, d) in days.iter().enumerate() {
            div class="day" data-day=(k) {
                (tracks::tracks(&d.trace, shown(&d.trace), common))
                details { summary { "Numbers, hour by hour" } (table(&numbers(&d.trace, page.units))) }
                p class="note" {
                    "Every minute as CSV: " code { "stilldays day " (untrusted(page.file)) " --date " (month_day(&d.trace)) " --trial " (d.trace.trial) " --seed " (page.seed) }
                }
            }
        }
        (remarks(page))
    };
    let data = json!({
        "days": days.iter().map(|d| columns::columns(&d.trace, shown(&d.trace))).collect::<Vec<_>>(),
        "places": setting.places(),
        "states": states(),
        "us": page.units == System::Us,
    });
    let extra = Extra { style: STYLE, script: SCRIPT };
    let title = format!("Days of {}", page.title);
    page::page_with(&title, &header, &body, &serde_json::to_vec(&data).unwrap_or_default(), extra)
}

/// The minutes that are shown: the waking ones, from full hour to full hour.
fn shown(t: &DayTrace) -> &[TraceMinute] {
    let waking = t.waking();
    let first = waking.first().map_or(0, |m| m.minute / 60 * 60);
    let last = waking.last().map_or(0, |m| (m.minute / 60 + 1) * 60);
    let place = |minute| t.minutes.partition_point(|m| m.minute < minute);
    &t.minutes[place(first)..place(last)]
}

/// Words for the states of [`columns`], by number.
fn states() -> Vec<&'static str> {
    ["nothing wanted", "jet", "jet, not wanted"].into_iter().chain(Cause::ALL.map(Cause::words)).collect()
}

fn month_day(t: &DayTrace) -> String {
    crate::units::dates::month_day(t.day_of_year)
}

/// What a day was picked for, in a word or two.
fn kind(pick: Pick) -> &'static str {
    match pick {
        Pick::Date(_) => "asked for",
        Pick::Bright => "bright",
        Pick::Typical => "typical",
        Pick::Dull => "dull",
        Pick::Still => "fewest minutes of jet",
        Pick::Worst(cause) => cause.words(),
    }
}

/// The name by which another page links to a day.
fn anchor(pick: Pick) -> &'static str {
    match pick {
        Pick::Date(_) => "asked",
        Pick::Bright => "bright",
        Pick::Typical => "typical",
        Pick::Dull => "dull",
        Pick::Still => "still",
        Pick::Worst(cause) => cause.key(),
    }
}

/// One entry for each day, under the date all that it was picked for.
fn picker(days: &[PickedDay]) -> Markup {
    html! {
        fieldset class="picker" {
            legend { "Which day" }
            @for (k, d) in days.iter().enumerate() {
                @let (causes, kinds): (Vec<Pick>, Vec<Pick>) = d.picks.iter().partition(|p| matches!(p, Pick::Worst(_)));
                label {
                    input type="radio" name="day" value=(k) checked[k == 0] data-names=(d.picks.iter().map(|p| anchor(*p)).collect::<Vec<_>>().join(" ")) {}
                    span {
                        b { (non_breaking(&words::date(d.trace.day_of_year))) }
                        @if !kinds.is_empty() { " " (kinds.iter().map(|p| kind(*p)).collect::<Vec<_>>().join(", ")) }
                        @if !causes.is_empty() { small { "worst for: " (causes.iter().map(|p| kind(*p)).collect::<Vec<_>>().join(", ")) } }
                    }
                }
            }
        }
    }
}

/// What the day came to.
fn finding(d: &PickedDay) -> Markup {
    let t = &d.trace;
    let wanted = t.minutes.iter().filter(|m| m.wanted).count();
    let counted = t.minutes.iter().filter(|m| m.wanted && m.counted).count();
    let said = match (counted, wanted) {
        (_, 0) => "no minute was wanted.".to_owned(),
        (0, _) => format!("the jet did not run in any of {wanted} wanted minutes."),
        (all, wanted) if all == wanted => format!("the jet ran in all {wanted} wanted minutes."),
        _ => format!("the jet ran in {counted} of {wanted} wanted minutes."),
    };
    let mut lost: Vec<(usize, Cause)> =
        Cause::ALL.map(|c| (t.minutes.iter().filter(|m| m.wanted && m.cause == Some(c)).count(), c)).to_vec();
    lost.retain(|(minutes, _)| *minutes > 0);
    lost.sort_by_key(|(minutes, _)| std::cmp::Reverse(*minutes));
    let why: Vec<String> = lost.iter().map(|(n, c)| format!("{} for {n} min", c.words())).collect();
    let at = |m: Option<f64>| m.map(|m| words::clock(t, m));
    let mut more = String::new();
    if !why.is_empty() {
        let _ = write!(more, "Why not: {}. ", why.join(", "));
    }
    match (at(t.sunrise_min), at(t.sunset_min)) {
        (Some(rise), Some(set)) => {
            let _ = write!(more, "Sunrise {rise}, sunset {set} standard time. ");
        }
        _ => more.push_str("The sun does not rise and set on this day. "),
    }
    if t.rain_mm > 0.05 {
        let _ = write!(more, "Rain of the day: {} mm, poured in the morning. ", number::fixed(t.rain_mm, 1));
    }
    html! {
        p class="verdict" { "On " (non_breaking(&words::date(t.day_of_year))) " " (super::parts::numbers_bold(&said)) }
        p class="lead" { (non_breaking(more.trim_end())) }
    }
}

fn controls() -> Markup {
    html! {
        div class="controls" {
            div class="buttons" {
                button type="button" id="play" { "Play" }
                label class="speed" { "Speed "
                    select id="speed" {
                        @for (minutes, name) in [(8, "slow"), (30, "an hour in 2 s"), (90, "fast")] { option value=(minutes) selected[minutes == 30] { (name) } }
                    }
                }
                p class="clock" id="clock" { "–" }
            }
            input type="range" id="time" min="0" max="1" step="1" value="0" aria-label="Time of day";
            p class="small" id="still-note" hidden { "Your device asks for less motion: move through the day with the slider or the arrow keys." }
            noscript { p class="small" { "The picture and its clock need scripts; the lines below do not." } }
        }
    }
}

fn numbers(t: &DayTrace, units: System) -> Table {
    let (per_m, jet_unit) = height(1.0, units);
    let (per_l, water_unit) = volume(1.0, units);
    let mut table = Table::new(&[
        "time",
        "sun, °",
        "on panel, W/m²",
        "panel, V",
        "battery, V",
        "charge",
        "jet",
        "water",
        "wind, m/s",
        "cause",
    ]);
    table.head[6] = format!("jet, {jet_unit}");
    table.head[7] = format!("water, {water_unit}");
    let some = |v: Option<f64>, decimals| v.map_or("–".to_owned(), |v| number::fixed(v, decimals));
    for m in shown(t).iter().step_by(60) {
        table.row([
            words::clock(t, f64::from(m.minute)),
            some(m.sun_elevation_deg, 0),
            number::fixed(m.plane_w_m2, 0),
            number::fixed(m.panel_v, 1),
            some(m.battery_v, 1),
            m.soc.map_or("–".to_owned(), number::percent),
            number::fixed(m.jet_m * m.duty * per_m, usize::from(units == System::Us)),
            number::fixed(m.water_l * per_l, 1),
            number::fixed(m.wind_m_s, 1),
            m.cause.map_or(String::new(), |c| c.words().to_owned()),
        ]);
    }
    table
}

fn remarks(page: &DayPage<'_>) -> Markup {
    let side = if page.southern { "north" } else { "south" };
    html! {
        section aria-labelledby="about-h" {
            div { h2 id="about-h" { "What is drawn" } }
            div class="body" {
                p class="note" {
                    "Days of single simulated seasons: chance has its part in each. The picture looks " (side) ". Sun, skyline, panel, pennant, jet, basin and battery stand as the trace has them at that minute; "
                    "a pair of dashes beside the jet marks the height that is wished for. Clouds are as thick as the sky’s share of the light is large, and where they stand is drawn, not computed. Air, wind and water are those of the hour. All days of this page share their scales."
                }
                @if !page.cautions.is_empty() {
                    details class="printed" { summary { (words::count(page.cautions.len(), "caution")) " for this design" } (super::parts::bullets("warn", page.cautions)) }
                }
            }
        }
    }
}
