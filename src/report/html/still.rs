//! Still days by month.

use super::parts::{Section, Table, figure, figure_noted};
use crate::report::chart::{Bar, Line, Plot, Scale, bars, coordinate, histogram, line, svg};
use crate::report::{number, words};
use crate::tally::Summary;
use crate::tally::summary::{DayCount, Month};
use maud::{Markup, html};

pub(super) fn section(s: &Summary) -> Section {
    let body = html! {
        div class="figs" { (months(s)) (worst(s)) }
        details {
            summary { "The full distribution of every month" }
            div class="months" { @for m in &s.months { (one_month(m)) } }
        }
    };
    let given = |key: &str| s.inputs.iter().find(|i| i.key == key).map(|i| words::escaped(&i.value));
    let (least, hours) = (given("wish.still_below"), given("wish.hours"));
    let remark = html! {
        "A day is still when its jet runs for less than " (least.as_deref().unwrap_or("the design’s minutes"))
        " within the wanted hours" @if let Some(hours) = hours { " (" (hours) ")" }
        ". Bars are means. The line over each bar runs from P10 to P90: at least one trial in ten has no more still days than its lower end, at least nine in ten no more than its upper end. "
        "In brackets: 95 % intervals, with whole years as the units, because still days come in spells. Where a trial has not shown any, the bound allows for a week of them in one year."
    };
    Section::new("still", "Still days by month", remark, body)
}

/// Still days that the scale of months reaches at least.
const LEAST_SCALE: f64 = 2.0;

fn months(s: &Summary) -> Markup {
    let n = s.months.len().max(1) as f64;
    let top = s.months.iter().map(|m| m.still_days.p90.max(m.still_days.mean)).fold(0.0, f64::max);
    // What is nearly nothing must look so.
    let plot = Plot::new(250.0, (0.0, n), (0.0, Scale::round_up(top.max(LEAST_SCALE), 5)));
    let middle = |i: usize| i as f64 + 0.5;
    let list: Vec<Bar> = (0..)
        .zip(&s.months)
        .map(|(i, m)| Bar {
            x: middle(i),
            mean: m.still_days.mean,
            spread: Some((m.still_days.p10, m.still_days.p90)),
        })
        .collect();
    let labels: Vec<(f64, &str)> =
        (0..).zip(&s.months).map(|(i, m)| (middle(i), words::month_short(m.month))).collect();
    let drawing = html! {
        (plot.y_axis("still days", 5))
        (bars(&plot, "bar", &list, 0.56))
        (plot.x_axis("", labels))
    };
    let hits: Vec<_> =
        (0..).zip(&s.months).map(|(i, m)| plot.strip(i as f64, (i + 1) as f64, point_text(m))).collect();
    let finding = finding(s);
    let alternative = format!("Bar chart of still days by month, with P10 to P90. {finding}");
    figure(&finding, &svg(250.0, &alternative, &drawing, &hits), None, &numbers(s))
}

fn mean(c: &DayCount) -> String {
    number::estimate(words::mean_of(c), 2, "±")
}

fn point_text(m: &Month) -> String {
    if m.wanted_min <= 0.0 {
        return format!("{}: nothing is wanted.", words::month(m.month));
    }
    format!(
        "{}: {} still days of {}; P10 to P90 {} to {}.",
        words::month(m.month),
        mean(&m.still_days),
        m.days,
        number::fixed(m.still_days.p10, 0),
        number::fixed(m.still_days.p90, 0)
    )
}

fn finding(s: &Summary) -> String {
    let wanted: Vec<&Month> = s.months.iter().filter(|m| m.wanted_min > 0.0).collect();
    let by_mean = |a: &&Month, b: &&Month| a.still_days.mean.total_cmp(&b.still_days.mean);
    let (Some(worst), Some(best)) =
        (wanted.iter().copied().max_by(by_mean), wanted.iter().copied().min_by(by_mean))
    else {
        return "Nothing is wanted in any month".to_owned();
    };
    let short = |m: &Month| match number::mean(words::mean_of(&m.still_days), 1) {
        _ if m.still_days.mean == 0.0 => "none".to_owned(),
        text if text.chars().all(|c| c == '0' || c == '.') => "hardly any".to_owned(),
        text => text,
    };
    if worst.still_days.mean == 0.0 {
        return "No month had a still day in any trial".to_owned();
    }
    if worst.month == best.month {
        return format!("{}: {} still days", words::month(worst.month), short(worst));
    }
    format!(
        "{} is the worst month with {} still days, {} the best with {}",
        words::month(worst.month),
        short(worst),
        words::month(best.month),
        short(best)
    )
}

fn numbers(s: &Summary) -> Table {
    let mut t =
        Table::new(&["", "days", "still, mean", "P10", "P50", "P90", "≥ 1", "≥ 3", "≥ 7", "short, mean"]);
    let mut row = |name: &str, days: u32, still: &DayCount, short: &DayCount| {
        let chance = |k: &str| match (still.at_least.get(k), still.at_least_95.get(k)) {
            (Some(share), Some(interval)) => number::percent_within(*share, *interval),
            _ => String::new(),
        };
        t.row([
            name.to_owned(),
            days.to_string(),
            mean(still),
            number::whole_within(still.p10, still.p10_95),
            number::whole_within(still.p50, still.p50_95),
            number::whole_within(still.p90, still.p90_95),
            chance("1"),
            chance("3"),
            chance("7"),
            mean(short),
        ]);
    };
    for m in &s.months {
        row(words::month(m.month), m.days, &m.still_days, &m.short_days);
    }
    row("Season", s.season.days, &s.season.still_days, &s.season.short_days);
    // Zeros would say that the jet runs.
    for (cells, m) in t.rows.iter_mut().zip(&s.months).filter(|(_, m)| m.wanted_min <= 0.0) {
        cells.truncate(2);
        cells.push("nothing wanted".to_owned());
        cells.resize(t.head.len(), String::new());
        debug_assert_eq!(cells[0], words::month(m.month));
    }
    t
}

/// The worst month of a year, and how long a still spell gets.
fn worst(s: &Summary) -> Markup {
    let worst = &s.season.worst_month;
    let years = s.season.bearable_years;
    let share = years.interval_95.map_or(number::percent(years.mean), |i| words::years_share(years.mean, i));
    let bearable = number::given(s.season.bearable_still_days);
    let finding = match s.season.bearable_years.mean {
        0.0 => format!("Every simulated year has a month of more than {bearable} still days"),
        1.0 => format!("No simulated year has a month of more than {bearable} still days"),
        _ => format!("In {share} of years no month has more than {bearable} still days"),
    };
    let chart = distribution(
        worst,
        250.0,
        ("years", "still days in the worst month"),
        "years in which the worst month has",
        Some(s.season.bearable_still_days),
    );
    let mut t = Table::new(&["days", "worst month, trials", "longest still spell, trials"]);
    let spell = &s.season.longest_still_spell;
    let last = last_used(worst).max(last_used(spell));
    for d in 0..=last {
        let n = |c: &DayCount| c.histogram.get(d).copied().unwrap_or(0);
        t.row([d.to_string(), number::grouped(n(worst)), number::grouped(n(spell))]);
    }
    let note = html! {
        "Longest still spell of a season: " (mean(spell)) " days; "
        @if spell.p90 < 0.5 { "nine years in ten have none. " }
        @else { "in nine years in ten at most " (number::whole_within(spell.p90, spell.p90_95)) ". " }
        "Short days, not still but with less jet than asked for: " (mean(&s.season.short_days)) " a season."
    };
    figure_noted(&finding, &chart, None, &t, Some(&note))
}

fn last_used(c: &DayCount) -> usize {
    c.histogram.iter().rposition(|n| *n > 0).unwrap_or(0)
}

/// Shares of trials by number of days; `wish`: so many days are bearable.
fn distribution(
    c: &DayCount,
    height: f64,
    (unit, axis): (&str, &str),
    said: &str,
    wish: Option<f64>,
) -> Markup {
    let total = c.histogram.iter().sum::<u64>().max(1) as f64;
    let last = (last_used(c) + 1).max(4);
    let shares: Vec<f64> = c.histogram.iter().take(last).map(|n| *n as f64 / total).collect();
    let top = Scale::round_up(shares.iter().copied().fold(0.0, f64::max), 4);
    let plot = Plot::new(height, (0.0, last as f64), (0.0, top));
    let every = last.div_ceil(10);
    let labels: Vec<(f64, String)> =
        (0..last).step_by(every).map(|d| (d as f64 + 0.5, d.to_string())).collect();
    let name = format!("{unit}, %");
    let drawing = html! {
        (plot.y_axis(&name, 4))
        (histogram(&plot, 1.0, &shares))
        @if let Some(x) = wish.map(|days| days.floor() + 1.0).filter(|x| *x < plot.x.hi && plot.x.at(*x) > 60.0) {
            (line(&plot, &Line { class: "mark", points: vec![(x, Some(0.0)), (x, Some(top))] }))
            // At the left stands the name of the axis.
            @if plot.x.at(x) > 130.0 { text class="lab" x=(coordinate(plot.x.at(x) - 4.0)) y=(coordinate(plot.top - 4.0)) text-anchor="end" { "bearable" } }
            text class="lab" x=(coordinate(plot.x.at(x) + 4.0)) y=(coordinate(plot.top - 4.0)) { "too many" }
        }
        (plot.x_axis(axis, labels.iter().map(|(x, l)| (*x, l.as_str()))))
    };
    let hits: Vec<_> = shares
        .iter()
        .enumerate()
        .map(|(d, p)| plot.strip(d as f64, d as f64 + 1.0, format!("{said} {d}: {}", number::percent(*p))))
        .collect();
    let alternative = format!(
        "Histogram, {axis}: half at most {}, nine in ten at most {}.",
        number::fixed(c.p50, 0),
        number::fixed(c.p90, 0)
    );
    svg(height, &alternative, &drawing, &hits)
}

fn one_month(m: &Month) -> Markup {
    let axis = format!("still days in {}", words::month(m.month));
    html! {
        figure {
            figcaption { (words::month(m.month)) ", " (mean(&m.still_days)) }
            (distribution(&m.still_days, 190.0, ("years", &axis), &format!("{}: years with", words::month(m.month)), None))
            div class="say" { output aria-live="polite" {} }
        }
    }
}
