//! Chance of the jet by day of year and hour of day.

use super::parts::{Key, Section, Table, figure, key, month_marks};
use crate::report::chart::{Line, Plot, heat, line, png, svg};
use crate::report::{number, words};
use crate::tally::Summary;
use crate::tally::summary::{HourMap, HourRow};
use maud::{Markup, html};

pub(super) fn section(s: &Summary) -> Option<Section> {
    let map = &s.hours;
    let (first, last) = wanted_slots(map)?;
    let cells: Vec<Vec<Option<f64>>> =
        map.rows.iter().map(|r| (first..=last).map(|k| chance(r, k)).collect()).collect();
    let picture = png(&cells)?;
    let start = f64::from(map.first_hour) + first as f64;
    let end = f64::from(map.first_hour) + last as f64 + 1.0;
    let (columns, rows) = (cells.len(), last - first + 1);
    // Hours run downward like a diary's day: the vertical scale is that of minus the hour.
    let plot = Plot::new(330.0, (0.0, columns as f64), (-end, -start));
    let days: Vec<u16> = map.rows.iter().map(|r| r.day_of_year).collect();
    let sun = |at: fn(&HourRow) -> Option<f64>| -> Vec<(f64, Option<f64>)> {
        map.rows
            .iter()
            .enumerate()
            .map(|(i, r)| (i as f64 + 0.5, at(r).and_then(|h| shifted_into(h, start, end)).map(|h| -h)))
            .collect()
    };
    let (rise, set) = (sun(|r| r.sunrise_h), sun(|r| r.sunset_h));
    let drawn = |points: &[(f64, Option<f64>)]| points.iter().any(|p| p.1.is_some());
    let lines = match (drawn(&rise), drawn(&set)) {
        (true, true) => "sunrise and sunset; ",
        (true, false) => "sunrise; ",
        (false, true) => "sunset; ",
        (false, false) => "",
    };
    let drawing = html! {
        image class="heatmap" href=(picture) x=(plot.left) y=(plot.top) width=(plot.right - plot.left) height=(plot.bottom - plot.top)
            preserveAspectRatio="none" {}
        g class="ax" {
            @for h in (start as i32)..=(end as i32) {
                @if h.rem_euclid(3) == 0 {
                    text x=(plot.left - 6.0) y=(plot.y.at(-f64::from(h)) + 4.0) text-anchor="end" { (format!("{:02}", h.rem_euclid(24))) }
                }
            }
            text x="2" y=(plot.top - 10.0) { "hour, standard time" }
        }
        @for points in [rise, set] {
            (line(&plot, &Line { class: "edge", points: points.clone() }))
            (line(&plot, &Line { class: "top", points }))
        }
        (plot.x_axis("", month_marks(&days, f64::from(map.days_per_row))))
    };
    let finding = finding(map, first, last);
    let alternative = format!("Map of the share of each hour with a jet, by date and hour. {finding}");
    let chart = html! {
        svg class="chart" viewBox="0 0 400 330" role="group" aria-label=(alternative) {
            g role="img" aria-label=(alternative) { (drawing) }
            rect class="hit" tabindex="0" role="application" aria-label="values by date and hour; use the arrow keys" data-columns=(columns) data-rows=(rows)
                x=(plot.left) y=(plot.top) width=(plot.right - plot.left) height=(plot.bottom - plot.top) {}
        }
        (scale())
    };
    let mut t = Table::new(&["from"]);
    t.head.extend((first..=last).map(|k| clock(map, k)));
    for (r, values) in map.rows.iter().zip(&cells) {
        let row = values.iter().map(|v| v.map_or("–".to_owned(), number::percent));
        t.row(std::iter::once(words::date(r.day_of_year)).chain(row));
    }
    let keys = key(&[Key {
        class: "soft",
        line: true,
        text: format!("{lines}outside the wanted hours nothing is drawn"),
    }]);
    let body = figure(&finding, &chart, (!lines.is_empty()).then_some(&keys), &t);
    let remark = html! { "Mean share of each hour with a jet that counts. An hour that is only partly wanted cannot reach 100 %." };
    Some(Section::new("hours", "Chance of the jet", remark, body))
}

/// First and last hour slot that is wanted on any day.
fn wanted_slots(map: &HourMap) -> Option<(usize, usize)> {
    let wanted = |k: &usize| map.rows.iter().any(|r| r.wanted_share.get(*k).is_some_and(|w| *w > 0.0));
    let slots: Vec<usize> = (0..24).filter(wanted).collect();
    Some((*slots.first()?, *slots.last()?))
}

fn chance(row: &HourRow, slot: usize) -> Option<f64> {
    let wanted = row.wanted_share.get(slot).copied().unwrap_or(0.0);
    (wanted > 0.0).then(|| row.jet_share.get(slot).copied()).flatten().filter(|p| p.is_finite())
}

/// The hour, a day earlier or later if that brings it into the picture; none outside of it.
fn shifted_into(hour: f64, start: f64, end: f64) -> Option<f64> {
    [hour, hour + 24.0, hour - 24.0].into_iter().find(|h| (start..=end).contains(h))
}

fn clock(map: &HourMap, slot: usize) -> String {
    format!("{:02} h", (map.first_hour + slot as i32).rem_euclid(24))
}

fn finding(map: &HourMap, first: usize, last: usize) -> String {
    let mut cells = Vec::new();
    for row in &map.rows {
        for slot in first..=last {
            if row.wanted_share.get(slot).is_some_and(|w| *w > 0.999)
                && let Some(p) = chance(row, slot)
            {
                cells.push((p, row.day_of_year, slot));
            }
        }
    }
    let by = |a: &&(f64, u16, usize), b: &&(f64, u16, usize)| a.0.total_cmp(&b.0);
    let hour = |slot: usize| (map.first_hour + slot as i32).rem_euclid(24);
    let place =
        |c: &(f64, u16, usize)| format!("around {}, {} to {} h", words::date(c.1), hour(c.2), hour(c.2 + 1));
    match (cells.iter().max_by(by), cells.iter().min_by(by)) {
        (Some(best), _) if best.0 <= 0.0 => "No wanted hour has a jet".to_owned(),
        (_, Some(worst)) if worst.0 >= 1.0 => "Every wanted hour has a jet throughout".to_owned(),
        (Some(best), Some(worst)) if best.0 - worst.0 < 0.005 => {
            format!("The chance of a jet is the same in every wanted hour: {}", number::percent(worst.0))
        }
        (Some(best), Some(worst)) => format!(
            "The jet is most likely {} ({}) and least likely {} ({})",
            place(best),
            number::percent(best.0),
            place(worst),
            number::percent(worst.0)
        ),
        _ => "No whole hour is wanted: chance of a jet by date and hour".to_owned(),
    }
}

/// The colour scale.
fn scale() -> Markup {
    let drawing = html! {
        defs { linearGradient id="share" { @for (at, colour) in heat::stops(8) { stop offset=(at) stop-color=(colour) {} } } }
        rect x="36" y="4" width="200" height="10" fill="url(#share)" {}
        g class="ax" {
            text x="36" y="28" { "never" }
            text x="236" y="28" text-anchor="end" { "always" }
        }
    };
    svg(32.0, "Colour scale from never, dark blue, to always, yellow", &drawing, &[])
}
