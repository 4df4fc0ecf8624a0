//! One sheet for the client: what to expect, when, and what to do, in plain words.

use super::page::{self, Extra};
use super::parts::{Table, non_breaking, table, untrusted};
use crate::plant::Cause;
use crate::report::chart::{Bar, Plot, Scale, bars, coordinate, svg};
use crate::report::style::volume;
use crate::report::words::years;
use crate::report::{number, words};
use crate::study::years::YearsSummary;
use crate::tally::Summary;
use crate::units::System;
use maud::{Markup, html};

const STYLE: &str = include_str!("client.css");

/// `client.html`: one sheet of paper, A4 or letter.
pub fn client(s: &Summary, units: System) -> String {
    sheet(s, units, None)
}

/// The same with what can be promised for the years to come.
pub fn client_of_years(y: &YearsSummary, units: System) -> String {
    sheet(&y.first_year, units, Some(&to_sign(y)))
}

/// A promise with its conditions, and lines to sign.
fn to_sign(y: &YearsSummary) -> Markup {
    let known = years::spans(y);
    let mut t = Table::new(&["in each of the first", "days at most"]);
    // The last year of each run of equal numbers says all.
    for (k, (years, most)) in known.iter().enumerate() {
        if known.get(k + 1).is_none_or(|next| next.1 != *most) {
            t.row([words::count(usize::from(*years), "year"), most.to_string()]);
        }
    }
    html! {
        section class="sheet" aria-labelledby="sign-h" {
            h2 id="sign-h" { "What can be promised" }
            p { (non_breaking(&years::to_sign(y))) }
            @if !known.is_empty() { (table(&t)) }
            @if !known.is_empty() { p { "It hangs on this care:" } ul class="list" { @for line in &y.care { li { (non_breaking(line)) } } } }
            p { (non_breaking(&years::costs(y, "±"))) }
            @if !known.is_empty() { p class="sign" { "Agreed, with date:" } }
        }
    }
}

fn sheet(s: &Summary, units: System, promised: Option<&Markup>) -> String {
    let header = html! {
        p class="verdict" { (non_breaking(&promise(s))) }
        p class="lead" { (non_breaking(&average(s))) " " (non_breaking(&evenings(s))) }
        @if s.weather.invented {
            p class="small invented" { "The weather behind these figures is invented. They show how the program works and describe no real garden." }
        }
    };
    let body = html! {
        @if let Some(promised) = promised { (promised) }
        section class="sheet" aria-labelledby="when-h" {
            h2 id="when-h" { "When it rests" }
            figure { (months(s)) figcaption { "Days of an average month on which the fountain hardly plays; above the bar, how many there may be in nine years of ten." } }
        }
        section class="sheet" aria-labelledby="care-h" {
            h2 id="care-h" { "What to do" }
            ul class="list" { @for line in care(s, units) { li { (non_breaking(&line)) } } }
        }
        section class="sheet" aria-labelledby="not-h" {
            h2 id="not-h" { "What this sheet is not" }
            p { "It is a forecast from simulated seasons, not a guarantee. It knows nothing of "
                @if promised.is_some() { "faults other than worn batteries, panels, pumps and mounts" } @else { "faults" } ", frost damage, visitors, trees that grow or buildings to come. "
                @if let Some(r) = &s.weather_input { "The weather of the garden itself is known only from records of such a place: the average may well be anywhere from "
                    (range(r.still_days_per_month)) " days a month." } }
        }
        section class="sheet small" aria-labelledby="safe-h" {
            h2 id="safe-h" { "For safety" }
            ul class="list" { @for line in &s.cautions { li { (untrusted(line)) } } }
        }
    };
    let title = format!("What to expect of {}", s.design.title);
    page::page_with(&title, &header, &body, b"{}", Extra { style: STYLE, script: "" })
}

/// A range without more digits than a reader wants.
fn range([lo, hi]: [f64; 2]) -> String {
    let text = |v: f64| number::fixed(v, usize::from(v < 3.0));
    format!("{} to {}", text(lo), text(hi))
}

/// `8 days`, `1 day`, `no day`.
fn days(n: f64) -> String {
    match number::fixed(n, 0).as_str() {
        "0" => "no day".to_owned(),
        "1" => "1 day".to_owned(),
        n => format!("{n} days"),
    }
}

/// What can be relied on in nine years of ten.
fn promise(s: &Summary) -> String {
    let season = words::season(s);
    match s.season.worst_month.p90 {
        p if p < 0.5 => format!("{season}, the fountain plays every day in nine years of ten."),
        p => format!(
            "{season}, in nine years of ten, no month has more than {} on which the fountain hardly plays.",
            days(p)
        ),
    }
}

fn average(s: &Summary) -> String {
    let mean = s.season.still_days_per_month.mean;
    let text = match mean {
        m if m < 0.05 => "On average there is hardly any such day.".to_owned(),
        m if m < 0.95 => format!(
            "On average there is one such day in {} months.",
            number::fixed((1.0 / m).max(1.1), usize::from(m > 0.4))
        ),
        m => format!("On average it is about {} a month.", days(m)),
    };
    let hours =
        s.inputs.iter().find(|i| i.key == "wish.hours").map(|i| words::escaped(&i.value).into_owned());
    match hours {
        Some(hours) => format!("{text} Only the hours in which it is wanted count: {hours}."),
        None => text,
    }
}

fn evenings(s: &Summary) -> String {
    let Some(d) = &s.season.dusk_run_min else { return String::new() };
    let minutes = |m: f64| number::fixed(m, 0);
    if d.p10 >= 5.0 {
        format!("On nine evenings of ten it plays for at least {} minutes after sunset.", minutes(d.p10))
    } else if d.p50 >= 5.0 {
        format!(
            "On half of the evenings it plays for at least {} minutes after sunset; on some it stops by sunset.",
            minutes(d.p50)
        )
    } else {
        "Do not count on it after sunset.".to_owned()
    }
}

/// One picture of the months.
fn months(s: &Summary) -> Markup {
    let list: Vec<_> = s.months.iter().filter(|m| m.wanted_min > 0.0).collect();
    let top = list.iter().map(|m| m.still_days.p90.max(m.still_days.mean)).fold(4.0, f64::max);
    let plot = Plot::new(190.0, (0.0, list.len().max(1) as f64), (0.0, Scale::round_up(top * 1.1, 4)));
    let middle = |i: usize| i as f64 + 0.5;
    let mean: Vec<Bar> = list
        .iter()
        .enumerate()
        .map(|(i, m)| Bar { x: middle(i), mean: m.still_days.mean, spread: None })
        .collect();
    let drawing = html! {
        (plot.y_axis("days", 4))
        (bars(&plot, "bar", &mean, 0.6))
        @for (i, m) in list.iter().enumerate() {
            @let (x, y) = (plot.x.at(middle(i)), plot.y.at(m.still_days.p90.max(m.still_days.mean)));
            path class="spread" d=(format!("M{} {}h24", coordinate(x - 12.0), coordinate(y))) {}
            text class="lab" x=(coordinate(x)) y=(coordinate(y - 5.0)) text-anchor="middle" { (number::fixed(m.still_days.p90, 0)) }
        }
        (plot.x_axis("", list.iter().enumerate().map(|(i, m)| (middle(i), words::month_short(m.month)))))
    };
    let said: Vec<String> =
        list.iter().map(|m| format!("{} up to {}", words::month(m.month), days(m.still_days.p90))).collect();
    svg(
        190.0,
        &format!("Days on which the fountain hardly plays, in nine years of ten: {}.", said.join(", ")),
        &drawing,
        &[],
    )
}

/// What whoever looks after it does, as far as the run tells.
fn care(s: &Summary, units: System) -> Vec<String> {
    let mut list = Vec::new();
    let (litres, unit) = (volume(s.water.litres_per_week.mean, units), volume(1.0, units).1);
    list.push(format!("Water: it loses about {} {unit} a week in the season.", number::two_digits(litres.0)));
    let soonest = s
        .water
        .full_basin
        .as_ref()
        .and_then(|full| full.months.iter().filter_map(|m| Some((m.p10.day?, m.month))).min());
    if let Some((day, month)) = soonest {
        let often = match day {
            0..=2 => "every day".to_owned(),
            n => format!("every {} days", n - 1),
        };
        list.push(format!(
            "Look at the basin {often} in {}, less often in other months, and fill it.",
            words::month(month)
        ));
    }
    list.push("Panel: wipe it clean when it is dusty or has leaves on it, and keep plants from growing into its sun.".to_owned());
    if let Some(life) = s.battery.as_ref().and_then(|b| b.life.as_ref()) {
        list.push(format!("Battery: expect to replace it after {}.", words::years_text(life.p50)));
    }
    if let Some(years) = s.wear.pump_life_years {
        list.push(format!(
            "Pump: by its rated hours it lasts {}; clean its strainer now and then.",
            words::years_text(years)
        ));
    }
    list.push("Before frost: take the pump out or drain it; ice cracks it.".to_owned());
    let chief = words::ranked(&s.season.causes_min).first().map(|(key, _)| *key);
    if let Some(cause) = chief.and_then(|key| Cause::ALL.into_iter().find(|c| c.key() == key)) {
        list.push(format!("If it rests, the usual reason: {}.", plain(cause)));
    }
    list
}

/// A cause in a client's words.
fn plain(cause: Cause) -> &'static str {
    match cause {
        Cause::Blocked => "the pump is blocked",
        Cause::Frozen => "the water or the nozzle is frozen",
        Cause::LowWater => "too little water in the basin",
        Cause::Wind => "it has been stopped because of wind",
        Cause::TooCold => "the battery is too cold to be charged",
        Cause::BatteryFlat => "the battery is empty after dull days",
        Cause::HeldBack => "its timer or switch holds it back",
        Cause::MountStarved => "the panel could not turn to the sun",
        Cause::BehindSkyline => "the sun stands behind trees or buildings",
        Cause::Covered => "snow, leaves or dirt lie on the panel",
        Cause::Pulsing => "there is too little sun for a steady jet",
        Cause::TooLow => "there is too little sun for a full jet",
        Cause::TooLittleSun => "there is too little sun",
    }
}
