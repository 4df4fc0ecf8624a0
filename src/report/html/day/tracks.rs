//! The lines of a day over one scale of time. They stretch to any width; names and figures are text of the page.

use crate::plant::{Cause, DayTrace, TraceMinute};
use crate::report::chart::{Scale, coordinate};
use crate::report::number;
use crate::report::style::{height, volume};
use crate::report::words;
use crate::units::System;
use maud::{Markup, html};

/// A line of a track: how it is drawn, what it is, and its value.
struct Line {
    /// Class of the style sheet.
    class: &'static str,
    /// Its name beside its present value.
    name: &'static str,
    /// Column of the page's data that the present value is read from.
    column: &'static str,
    value: fn(&TraceMinute) -> Option<f64>,
    /// Whether the area below is filled.
    filled: bool,
}

/// A track: lines on one scale from 0.
struct Track {
    name: &'static str,
    unit: &'static str,
    /// What the values of the trace are multiplied by to be shown in that unit, and decimals.
    factor: f64,
    decimals: usize,
    lines: Vec<Line>,
    /// Least and greatest end of the scale, in the unit of the trace.
    at_least: f64,
    at_most: Option<f64>,
    /// A level that is marked.
    mark: Option<(f64, &'static str)>,
}

/// What the tracks of a page have in common.
#[derive(Clone, Copy)]
pub(super) struct Common {
    /// The highest jet of the days, m.
    pub highest_m: f64,
    /// The jet that is wished for, m.
    pub wish_m: f64,
    /// The strongest light, W/m².
    pub light_w_m2: f64,
    /// Units.
    pub units: System,
}

fn line(
    class: &'static str,
    name: &'static str,
    column: &'static str,
    value: fn(&TraceMinute) -> Option<f64>,
) -> Line {
    Line { class, name, column, value, filled: false }
}

fn list(t: &DayTrace, c: Common) -> Vec<Track> {
    let any = |value: fn(&TraceMinute) -> bool| t.minutes.iter().any(value);
    let plain = |name, unit, decimals, lines| Track {
        name,
        unit,
        factor: 1.0,
        decimals,
        lines,
        at_least: 0.0,
        at_most: None,
        mark: None,
    };
    let mut all = Vec::new();
    let panel = Line { filled: true, ..line("", "on the panel", "plane_w_m2", |m| Some(m.plane_w_m2)) };
    all.push(Track {
        at_least: c.light_w_m2,
        ..plain(
            "Light",
            "W/m²",
            0,
            vec![
                panel,
                line("sun dash", "beam", "dni_w_m2", |m| Some(m.dni_w_m2)),
                line("soft", "sky", "dhi_w_m2", |m| Some(m.dhi_w_m2)),
            ],
        )
    });
    all.push(Track {
        at_most: Some(90.0),
        ..plain(
            "Height above the horizon",
            "°",
            0,
            vec![
                line("sun dash", "sun", "sun_elevation_deg", |m| m.sun_elevation_deg),
                line("", "panel looks", "aim_elevation", |m| Some(90.0 - m.aim_tilt_deg)),
            ],
        )
    });
    let mut volts = vec![line("sun dash", "panel", "panel_v", |m| Some(m.panel_v))];
    if any(|m| m.battery_v.is_some()) {
        volts.push(line("soft", "battery", "battery_v", |m| m.battery_v));
    }
    volts.push(line("", "pump", "pump_v", |m| Some(m.pump_v)));
    all.push(plain("Voltage", "V", 1, volts));
    if any(|m| m.soc.is_some()) {
        let charge = Line { filled: true, ..line("", "", "state_of_charge", |m| m.soc) };
        all.push(Track {
            factor: 100.0,
            at_most: Some(1.0),
            ..plain("Charge of the battery", "%", 0, vec![charge])
        });
    }
    let (factor, unit) = height(1.0, c.units);
    let jet = Line { filled: true, ..line("", "", "jet_mean", |m| Some(m.jet_m * m.duty)) };
    let decimals = usize::from(c.units == System::Us);
    let mark = (c.wish_m > 0.0).then_some((c.wish_m, "wish"));
    all.push(Track { factor, at_least: c.highest_m, mark, ..plain("Jet", unit, decimals, vec![jet]) });
    let (factor, unit) = volume(1.0, c.units);
    let water = line("", "", "water_l", |m| Some(m.water_l));
    let room = Some(t.usable_l).filter(|l| *l > 0.0);
    all.push(Track {
        factor,
        at_most: room,
        ..plain("Water above the low-water mark", unit, 1, vec![water])
    });
    let wind = line("soft", "", "wind_m_s", |m| Some(m.wind_m_s));
    all.push(Track { at_least: 10.0, ..plain("Wind at 10 m", "m/s", 1, vec![wind]) });
    all
}

/// The tracks of a day, its hours below, and a line for the present minute.
pub(super) fn tracks(t: &DayTrace, minutes: &[TraceMinute], c: Common) -> Markup {
    let Some((first, last)) = minutes.first().zip(minutes.last()) else { return html! {} };
    let x = Scale::new(f64::from(first.minute), f64::from(last.minute) + 1.0, 0.0, 100.0);
    html! {
        div class="tracks" {
            @for track in list(t, c) { (one(t, minutes, &track, x)) }
            (band(t, minutes, x))
            (clock(t, x))
            div class="over" { div class="cursor" {} }
        }
    }
}

/// One track. Its drawing is 1000 by 100 units and stretched.
fn one(t: &DayTrace, minutes: &[TraceMinute], track: &Track, x: Scale) -> Markup {
    let values = || track.lines.iter().flat_map(|l| minutes.iter().filter_map(l.value));
    let most = values().fold(track.at_least, f64::max);
    let top = track.at_most.unwrap_or_else(|| Scale::round_up(most * track.factor, 4) / track.factor);
    let y = Scale::new(0.0, top, 100.0, 0.0);
    let paths: Vec<Vec<String>> = track.lines.iter().map(|l| runs(minutes, l.value, x, y)).collect();
    let lines = || track.lines.iter().zip(&paths);
    let name = format!("{} over the day", track.name);
    html! {
        div class="track" {
            p class="head" {
                b { (track.name) }
                @for l in &track.lines {
                    span { (swatch(l)) (l.name) " " data class="now" data-of=(l.column) data-factor=(track.factor) data-decimals=(track.decimals) {} "\u{a0}" (track.unit) }
                }
            }
            div class="plot" {
                span class="top" { (number::fixed(top * track.factor, usize::from(top * track.factor < 4.0))) }
                span class="zero" { "0" }
                svg viewBox="0 0 1000 100" preserveAspectRatio="none" role="img" aria-label=(name) {
                    (hours_lines(t, x))
                    @for (_, runs) in lines().filter(|(l, _)| l.filled) {
                        path class="fill" d=(filled(runs)) {}
                    }
                    @if let Some((level, _)) = track.mark {
                        path class="line mark" d=(format!("M0 {h}H1000", h = coordinate(y.at(level)))) {}
                    }
                    @for (l, runs) in lines() {
                        path class={ "line " (l.class) } d=(runs.concat()) {}
                    }
                }
                @if let Some((level, name)) = track.mark {
                    span class="level" style=(format!("top:{}%", coordinate(y.at(level)))) { (name) }
                }
            }
        }
    }
}

fn swatch(l: &Line) -> Markup {
    html! { @if !l.name.is_empty() { svg class="sw" viewBox="0 0 24 12" aria-hidden="true" { path class={ "line " (l.class) } d="M0 6H24" {} } } }
}

/// A point of a line.
struct Point {
    x: f64,
    y: f64,
}

impl Point {
    /// Whether both are drawn at the same height: places are written to a tenth of a unit.
    fn level_with(&self, other: &Point) -> bool {
        let tenths = |y: f64| libm::round(10.0 * y);
        tenths(self.y) == tenths(other.y)
    }
}

/// The stretches of a line, each a path. A point amidst three alike is left out.
fn runs(minutes: &[TraceMinute], value: fn(&TraceMinute) -> Option<f64>, x: Scale, y: Scale) -> Vec<String> {
    let mut runs: Vec<Vec<Point>> = Vec::new();
    let mut run: Vec<Point> = Vec::new();
    for m in minutes.iter().step_by(2) {
        let Some(v) = value(m).filter(|v| v.is_finite()) else {
            runs.push(std::mem::take(&mut run));
            continue;
        };
        let place = Point { x: 10.0 * x.at(f64::from(m.minute)), y: y.at(v) };
        if let [.., a, b] = &run[..]
            && a.level_with(&place)
            && b.level_with(&place)
        {
            run.pop();
        }
        run.push(place);
    }
    runs.push(run);
    let text = |p: &Point| format!("{} {}", coordinate(p.x), coordinate(p.y));
    let path = |run: Vec<Point>| format!("M{}", run.iter().map(text).collect::<Vec<_>>().join("L"));
    runs.into_iter().filter(|run| run.len() > 1).map(path).collect()
}

/// The area below stretches of a line.
fn filled(runs: &[String]) -> String {
    let closed = |run: &String| {
        let start = run.trim_start_matches('M').split(' ').next().unwrap_or("0").to_owned();
        let end = run.rsplit('L').next().and_then(|p| p.split(' ').next()).unwrap_or("0").to_owned();
        format!("{run}L{end} 100L{start} 100Z")
    };
    runs.iter().map(closed).collect()
}

/// Lines at every third hour, and at sunrise and sunset.
fn hours_lines(t: &DayTrace, x: Scale) -> Markup {
    let d: String = thirds(t, x).map(|(at, _)| format!("M{a} 0V100", a = coordinate(10.0 * at))).collect();
    let sun: String = [t.sunrise_min, t.sunset_min]
        .into_iter()
        .flatten()
        .map(|m| format!("M{a} 0V100", a = coordinate(10.0 * x.at(m))))
        .collect();
    html! { path class="hours" d=(d) {} path class="rise" d=(sun) {} path class="base" d="M0 100H1000" {} }
}

/// Every third hour: place, %, and the hour.
fn thirds(t: &DayTrace, x: Scale) -> impl Iterator<Item = (f64, i32)> {
    let start = t.day_start_h;
    (0..=24)
        .map(move |k| (f64::from(k) * 60.0, k + start))
        .filter(move |(m, hour)| *m >= x.lo && *m <= x.hi && hour.rem_euclid(3) == 0)
        .map(move |(m, hour)| (x.at(m), hour.rem_euclid(24)))
}

fn clock(t: &DayTrace, x: Scale) -> Markup {
    html! {
        div class="clockrow" aria-hidden="true" {
            @for (at, hour) in thirds(t, x) { span style=(format!("left:{}%", coordinate(at))) { (hour) " h" } }
        }
    }
}

/// What a stretch of the band of causes shows.
#[derive(Clone, Copy, PartialEq)]
enum State {
    Unwanted,
    Jet,
    Without(Option<Cause>),
}

/// Shortest stretch with a letter in it, % of the width.
const LETTERED: f64 = 2.2;

/// Wanted minutes: with a jet, or why not, by pattern and letter.
fn band(t: &DayTrace, minutes: &[TraceMinute], x: Scale) -> Markup {
    let state = |m: &TraceMinute| match (m.wanted, m.counted) {
        (false, _) => State::Unwanted,
        (true, true) => State::Jet,
        (true, false) => State::Without(m.cause),
    };
    let mut stretches: Vec<(State, u16, u16)> = Vec::new();
    for m in minutes {
        match stretches.last_mut() {
            Some((s, _, end)) if *s == state(m) => *end = m.minute + 1,
            _ => stretches.push((state(m), m.minute, m.minute + 1)),
        }
    }
    let mut used: Vec<Cause> =
        minutes.iter().filter(|m| m.wanted && !m.counted).filter_map(|m| m.cause).collect();
    used.sort_unstable();
    used.dedup();
    let place = |from: u16, to: u16| {
        let (a, b) = (x.at(f64::from(from)), x.at(f64::from(to)));
        (format!("left:{a:.3}%;width:{:.3}%", b - a), b - a)
    };
    let text = |from: u16, to: u16, what: &str| {
        format!("{what} from {} to {}", words::clock(t, f64::from(from)), words::clock(t, f64::from(to)))
    };
    html! {
        div class="track causes" {
            p class="head" {
                b { "Wanted hours" }
                span { i class="sw jet" {} "jet" }
                @for cause in &used { span { i class={ "sw " (pattern(*cause)) } { (words::letter(*cause)) } (cause.words()) } }
                data class="now" data-of="state" {}
            }
            div class="plot band" {
                @for (state, from, to) in &stretches {
                    @let (style, wide) = place(*from, *to);
                    @match state {
                        State::Unwanted => {},
                        State::Jet => i class="jet" style=(style) title=(text(*from, *to, "jet")) {},
                        State::Without(None) => i style=(style) {},
                        State::Without(Some(cause)) => i class=(pattern(*cause)) style=(style) title=(text(*from, *to, cause.words())) {
                            @if wide >= LETTERED { (words::letter(*cause)) }
                        },
                    }
                }
            }
        }
    }
}

/// Class of a cause's pattern.
fn pattern(cause: Cause) -> &'static str {
    match cause {
        Cause::Blocked => "k0",
        Cause::Frozen => "k12",
        Cause::LowWater => "k1",
        Cause::Wind => "k2",
        Cause::TooCold => "k3",
        Cause::BatteryFlat => "k4",
        Cause::HeldBack => "k5",
        Cause::MountStarved => "k6",
        Cause::BehindSkyline => "k7",
        Cause::Covered => "k11",
        Cause::Pulsing => "k8",
        Cause::TooLow => "k9",
        Cause::TooLittleSun => "k10",
    }
}
