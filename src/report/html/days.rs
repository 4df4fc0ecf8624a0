//! Single days, minute by minute.

use super::parts::{Key, Section, Table, figure, key};
use crate::plant::{Cause, DayTrace, TraceMinute};
use crate::report::chart::{Band, Hit, Line, Plot, Scale, area, coordinate, line, svg};
use crate::report::style::height as shown_height;
use crate::report::{number, words};
use crate::units::System;
use maud::{Markup, html};

const HEIGHT: f64 = 452.0;
/// Heights at which the panels of a trace begin, and how high they are.
const TOPS: [f64; 5] = [24.0, 106.0, 188.0, 270.0, 352.0];
const PANEL: f64 = 52.0;
/// Minutes from one place to the next one can point at.
const STEP: usize = 15;

/// `link`: the page on which these days can be watched, if there is one.
pub(super) fn section(traces: &[DayTrace], link: Option<&str>, units: System) -> Option<Section> {
    let traces: Vec<&DayTrace> = traces.iter().filter(|t| !t.minutes.is_empty()).collect();
    if traces.is_empty() {
        return None;
    }
    let keys = key(&[
        Key { class: "sun dash", line: true, text: "the sun".to_owned() },
        Key { class: "", line: true, text: "panel, battery, jet".to_owned() },
        Key { class: "wanted", line: false, text: "wanted hours".to_owned() },
    ]);
    // One scale for all days: a dull one shall look dull beside a bright one.
    let most = |value: fn(&TraceMinute) -> f64| traces.iter().map(|t| largest(t, value)).fold(0.0, f64::max);
    let tops = ScaleTops {
        power_w_m2: Scale::round_up(most(|m| m.plane_w_m2).max(most(|m| m.dni_w_m2)), 2),
        jet: Scale::round_up(most(|m| m.jet_m * m.duty) * shown_height(1.0, units).0, 2),
    };
    let body = html! { (keys) div class="figs three" { @for t in &traces { (trace(t, tops, units)) } } };
    let remark = html! {
        @if let Some(link) = link { a href=(link) { "Watch these days, and the worst of each cause" } ". " }
        "Days from single trials. Elevation and azimuth show where the sun is and where the panel points. Time is local standard time."
    };
    Some(Section::new("days", "Days minute by minute", remark, body))
}

/// Upper ends of the scales that depend on the days.
#[derive(Clone, Copy)]
struct ScaleTops {
    power_w_m2: f64,
    /// In the unit that is shown.
    jet: f64,
}

fn trace(t: &DayTrace, tops: ScaleTops, units: System) -> Markup {
    let x = whole_hours(t);
    let unit = shown_height(1.0, units);
    let jet = move |m: &TraceMinute| m.jet_m * m.duty * unit.0;
    let plot = |i: usize, lo: f64, hi: f64| Plot::within(TOPS[i], TOPS[i] + PANEL, x, (lo, hi));
    let power = plot(0, 0.0, tops.power_w_m2);
    let elevation = plot(1, 0.0, 90.0);
    let azimuth = plot(2, 0.0, 360.0);
    let soc = plot(3, 0.0, 1.0);
    let height = plot(4, 0.0, tops.jet);
    let plane =
        Band { class: "area", points: every_nth(t, 2).map(|m| (minute_of(m), 0.0, m.plane_w_m2)).collect() };
    let has_soc = t.minutes.iter().any(|m| m.soc.is_some());
    let axis_h = format!("jet, {}", unit.1);
    let drawing = html! {
        @for p in [power, elevation, azimuth, soc, height] { (wanted(t, &p)) }
        (power.y_axis("beam and plane of the panel, W/m²", 2))
        (area(&power, &plane))
        (curve(t, &power, "sun thin dash", 3, |m| Some(m.dni_w_m2)))
        (degrees(&elevation, "elevation, °", &[0.0, 45.0, 90.0]))
        (curve(t, &elevation, "sun dash", 10, |m| m.sun_elevation_deg))
        (curve(t, &elevation, "thin", 2, |m| Some(90.0 - m.aim_tilt_deg)))
        (degrees(&azimuth, "azimuth, ° from north", &[0.0, 180.0, 360.0]))
        (curve(t, &azimuth, "sun dash", 10, |m| m.sun_azimuth_deg))
        (curve(t, &azimuth, "thin", 2, |m| Some(m.aim_azimuth_deg.rem_euclid(360.0))))
        @if has_soc {
            (soc.y_axis("state of charge, %", 2))
            (curve(t, &soc, "", 4, |m| m.soc))
        } @else {
            g class="ax" { text x="2" y=(coordinate(soc.top - 10.0)) { "no battery" } }
        }
        (height.y_axis(&axis_h, 2))
        (curve(t, &height, "thin", 1, |m| Some(jet(m))))
        (clock_axis(t, &height))
    };
    let counted = t.minutes.iter().filter(|m| m.counted && m.wanted).count();
    let asked = t.minutes.iter().filter(|m| m.wanted).count();
    let label = words::escaped(&t.label);
    let named = match label.as_ref() {
        kind @ ("bright" | "typical" | "still" | "dull") => format!("A {kind} day, "),
        "" => String::new(),
        other => format!("{other}, "),
    };
    let date = words::date(t.day_of_year);
    let finding = match (counted, asked) {
        (_, 0) => format!("{named}{date}: no minute was wanted"),
        (0, _) => format!("{named}{date}: no jet in {asked} wanted minutes"),
        (all, asked) if all == asked => format!("{named}{date}: a jet in all {asked} wanted minutes"),
        _ => format!("{named}{date}: a jet in {counted} of {asked} wanted minutes"),
    };
    let alternative =
        format!("Five curves over the day: irradiance, elevation, azimuth, state of charge, jet. {finding}");
    let chart = svg(HEIGHT, &alternative, &drawing, &hits(t, &height, units));
    figure(&finding, &chart, None, &numbers(t, units))
}

fn minute_of(m: &TraceMinute) -> f64 {
    f64::from(m.minute)
}

/// First and last minute, on whole hours.
fn whole_hours(t: &DayTrace) -> (f64, f64) {
    let shown = t.waking();
    let first = shown.first().map_or(0, |m| m.minute) / 60 * 60;
    let last = (shown.last().map_or(0, |m| m.minute) / 60 + 1) * 60;
    (f64::from(first), f64::from(last))
}

fn largest(t: &DayTrace, value: impl Fn(&TraceMinute) -> f64) -> f64 {
    t.minutes.iter().map(value).fold(0.0, f64::max)
}

fn every_nth(t: &DayTrace, every: usize) -> impl Iterator<Item = &TraceMinute> {
    t.waking().iter().step_by(every)
}

/// A line; a point in the midst of three alike is left out, which changes nothing one can see.
fn curve(
    t: &DayTrace,
    plot: &Plot,
    class: &str,
    every: usize,
    value: impl Fn(&TraceMinute) -> Option<f64>,
) -> Markup {
    let all: Vec<(f64, Option<f64>)> = every_nth(t, every).map(|m| (minute_of(m), value(m))).collect();
    let places: Vec<Option<String>> = all.iter().map(|p| p.1.map(|v| coordinate(plot.y.at(v)))).collect();
    let amidst =
        |i: usize| i > 0 && i + 1 < places.len() && places[i - 1..i + 2].windows(2).all(|w| w[0] == w[1]);
    let kept = |(i, p): (usize, (f64, Option<f64>))| (!amidst(i)).then_some(p);
    let points = all.into_iter().enumerate().filter_map(kept).collect();
    line(plot, &Line { class, points })
}

/// A band behind the wanted minutes.
fn wanted(t: &DayTrace, plot: &Plot) -> Markup {
    let first = t.minutes.iter().find(|m| m.wanted).map(minute_of);
    let last = t.minutes.iter().rev().find(|m| m.wanted).map(minute_of);
    html! {
        @if let (Some(first), Some(last)) = (first, last) {
            @let x = plot.x.at(first);
            rect class="wanted" x=(coordinate(x)) y=(coordinate(plot.top)) width=(coordinate(plot.x.at(last + 1.0) - x)) height=(PANEL) {}
        }
    }
}

fn degrees(plot: &Plot, name: &str, marks: &[f64]) -> Markup {
    html! {
        g class="ax" {
            @for (i, v) in marks.iter().enumerate() {
                @let y = coordinate(plot.y.at(*v));
                line class=(if i == 0 { "base" } else { "grid" }) x1=(coordinate(plot.left)) x2=(coordinate(plot.right)) y1=(y) y2=(y) {}
                text x=(coordinate(plot.left - 6.0)) y=(coordinate(plot.y.at(*v) + 4.0)) text-anchor="end" { (number::fixed(*v, 0)) }
            }
            text x="2" y=(coordinate(plot.top - 10.0)) { (name) }
        }
    }
}

fn clock_axis(t: &DayTrace, plot: &Plot) -> Markup {
    let hour = |minute: f64| (minute / 60.0) as i32 + t.day_start_h;
    let labels: Vec<(f64, String)> = (0..)
        .map(|k| plot.x.lo + f64::from(k) * 60.0)
        .take_while(|m| *m <= plot.x.hi)
        .filter(|m| hour(*m).rem_euclid(3) == 0)
        .map(|m| (m, format!("{:02}", hour(m).rem_euclid(24))))
        .collect();
    plot.x_axis("hour", labels.iter().map(|(m, l)| (*m, l.as_str())))
}

fn hits(t: &DayTrace, plot: &Plot, units: System) -> Vec<Hit> {
    every_nth(t, STEP)
        .map(|m| {
            let x = plot.x.at(minute_of(m));
            let w = plot.x.at(minute_of(m) + STEP as f64) - x;
            Hit { x, y: TOPS[0], w, h: plot.bottom - TOPS[0], text: point_text(t, m, units) }
        })
        .collect()
}

fn point_text(t: &DayTrace, m: &TraceMinute, units: System) -> String {
    let (h, unit) = shown_height(m.jet_m * m.duty, units);
    let mut text =
        format!("{}: {} W/m² on the panel", words::clock(t, minute_of(m)), number::fixed(m.plane_w_m2, 0));
    if let Some(off) = m.off_aim_deg {
        text.push_str(&format!(", {}° off its aim", number::fixed(off, 0)));
    }
    if m.hunts {
        text.push_str(", hunting to and fro");
    }
    if let Some(soc) = m.soc {
        text.push_str(&format!(", charge {}", number::percent(soc)));
    }
    text.push_str(&format!(", jet {} {unit}", number::fixed(h, usize::from(units == System::Us))));
    if let Some(cause) = m.cause {
        text.push_str(&format!(" ({})", cause_words(m, cause)));
    } else if let Some(rule) = m.rule.filter(|r| !r.holds() && m.duty > 0.0) {
        text.push_str(&format!(" ({})", rule.words()));
    }
    text
}

/// The cause of a minute, and the rule if it was one.
fn cause_words(m: &TraceMinute, cause: Cause) -> String {
    match m.rule.filter(|r| cause == Cause::HeldBack && r.holds()) {
        Some(rule) => format!("{}: {}", cause.words(), rule.words()),
        None => cause.words().to_owned(),
    }
}

fn numbers(t: &DayTrace, units: System) -> Table {
    let (_, unit) = shown_height(1.0, units);
    let mut table = Table::new(&[
        "time",
        "sun, °",
        "beam, W/m²",
        "on panel, W/m²",
        "off aim, °",
        "charge",
        "jet",
        "cause",
    ]);
    table.head[6] = format!("jet, {unit}");
    let whole = |v: Option<f64>| v.map_or("–".to_owned(), |v| number::fixed(v, 0));
    for m in every_nth(t, 2 * STEP) {
        let (h, _) = shown_height(m.jet_m * m.duty, units);
        table.row([
            words::clock(t, minute_of(m)),
            whole(m.sun_elevation_deg),
            number::fixed(m.dni_w_m2, 0),
            number::fixed(m.plane_w_m2, 0),
            whole(m.off_aim_deg),
            m.soc.map_or("–".to_owned(), number::percent),
            number::fixed(h, usize::from(units == System::Us)),
            m.cause.map_or(String::new(), |c| cause_words(m, c)),
        ]);
    }
    table
}
