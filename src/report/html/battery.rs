//! The section on the battery: charge, depth, cycles.

use super::parts::{Key, Section, Table, figure, figure_noted, key, month_marks};
use crate::report::chart::{Band, Line, Plot, Scale, area, histogram, line, svg};
use crate::report::{number, words};
use crate::tally::Summary;
use crate::tally::summary::{BatteryUse, Estimate};
use maud::{Markup, html};

pub(super) fn section(s: &Summary) -> Option<Section> {
    let b = s.battery.as_ref()?;
    let body = html! {
        p { (words::battery_verdict(s, "±")) " A season takes " (number::estimate(b.equivalent_full_cycles_per_year, 1, "±")) " equivalent full cycles, which use "
            (number::percent_estimate(b.life_used_per_year, "±")) " of its cycle life."
            @if let Some(life) = &b.life {
                " Years of life, each with its 95 % interval: P10 " (number::years_within(life.p10, life.p10_95)) ", P50 " (number::years_within(life.p50, life.p50_95))
                ", P90 " (number::years_within(life.p90, life.p90_95)) "; share of the wear by cycling " (number::percent_estimate(life.by_cycles, "±")) "."
            }
            @if b.too_cold_h_per_year > 0.0 { " It is too cold to charge in " (number::estimate(b.too_cold_h(), 1, "±")) " hours of daylight." }
            @if b.spilled_ah_per_day > 0.0 { " On an average day it refuses " (number::estimate(b.spilled_ah(), 3, "±")) " Ah of charge because it is full." }
        }
        div class="figs" { (charge(b)) (depth(b)) (cycles(b)) }
    };
    let remark = html! {
        "Depths are shares of the usable capacity. Cycles are counted by rainflow (ASTM E1049); shares of life used by shallow cycles, deep cycles and age add up (Miner’s rule) over drawn parts, as if all the year were like the season. "
        "Cycle and calendar lives are from memory unless the design gives them. Age follows temperature and, of lithium, charge (Naumann et al. 2018 for iron phosphate, Schmalstieg et al. 2014 for others, "
        "held where they were not measured); other kinds age twice as fast for each 10 K, and lead-acid wears faster the longer it has not been full (Schiffer et al. 2007). "
        "Not counted: what lying empty or frozen does beside that."
    };
    Some(Section::new("battery", "Battery", remark, body))
}

fn charge(b: &BatteryUse) -> Markup {
    let n = b.weeks.len();
    let plot = Plot::new(250.0, (0.0, n.max(1) as f64), (0.0, 1.0));
    let x = |i: usize| i as f64 + 0.5;
    let sunset = b.weeks.iter().enumerate().map(|(i, w)| (x(i), w.sunset_p10, w.sunset_p90)).collect();
    let low = b.weeks.iter().enumerate().map(|(i, w)| (x(i), w.low_p10, w.low_p90)).collect();
    let days: Vec<u16> = b.weeks.iter().map(|w| w.day_of_year).collect();
    let drawing = html! {
        (plot.y_axis("state of charge, %", 5))
        (area(&plot, &Band { class: "sunfill", points: sunset }))
        (area(&plot, &Band { class: "wide", points: low }))
        (line(&plot, &Line { class: "sun", points: b.weeks.iter().enumerate().map(|(i, w)| (x(i), Some(w.sunset_p50))).collect() }))
        (line(&plot, &Line { class: "", points: b.weeks.iter().enumerate().map(|(i, w)| (x(i), Some(w.low_p50))).collect() }))
        (plot.x_axis("", month_marks(&days, 7.0)))
    };
    let p = number::percent;
    let hits: Vec<_> = b
        .weeks
        .iter()
        .enumerate()
        .map(|(i, w)| {
            let text = format!(
                "Week of {}: at sunset {} (P10 to P90 {} to {}), day’s low {} ({} to {})",
                words::date(w.day_of_year),
                p(w.sunset_p50),
                p(w.sunset_p10),
                p(w.sunset_p90),
                p(w.low_p50),
                p(w.low_p10),
                p(w.low_p90)
            );
            plot.strip(i as f64, i as f64 + 1.0, text)
        })
        .collect();
    let mut t = Table::new(&["week of", "sunset P10", "P50", "P90", "low P10", "P50", "P90"]);
    for w in &b.weeks {
        let cells = [w.sunset_p10, w.sunset_p50, w.sunset_p90, w.low_p10, w.low_p50, w.low_p90];
        let intervals = w.sunset_95.iter().chain(&w.low_95);
        let cells = cells.iter().zip(intervals).map(|(share, [lo, hi])| match lo == hi {
            true => p(*share),
            false => format!("{} ({:.0} to {})", p(*share), 100.0 * lo, p(*hi)),
        });
        t.row(std::iter::once(words::date(w.day_of_year)).chain(cells));
    }
    let finding = match b.weeks.iter().min_by(|a, b| a.low_p50.total_cmp(&b.low_p50)) {
        Some(w) if w.low_p50 <= 0.0 => {
            format!("In the week of {} the battery runs empty on half the days", words::date(w.day_of_year))
        }
        Some(w) if w.low_p50 >= 0.98 => {
            "The battery stays nearly full: its median daily low is at least 98 % in every week".to_owned()
        }
        Some(w) => format!(
            "The battery is lowest in the week of {}: down to {} or less on half the days",
            words::date(w.day_of_year),
            p(w.low_p50)
        ),
        None => "No week was simulated".to_owned(),
    };
    let keys = key(&[
        Key { class: "sun", line: true, text: "at sunset: median, P10 to P90".to_owned() },
        Key { class: "", line: true, text: "day’s low: median, P10 to P90".to_owned() },
    ]);
    let alternative =
        format!("State of charge by week, at sunset and at the day's low, with P10 to P90. {finding}");
    figure(&finding, &svg(250.0, &alternative, &drawing, &hits), Some(&keys), &t)
}

fn depth(b: &BatteryUse) -> Markup {
    let total = b.daily_depth.histogram.iter().sum::<u64>().max(1) as f64;
    let shares: Vec<f64> = b.daily_depth.histogram.iter().map(|n| *n as f64 / total).collect();
    let p = number::percent;
    let finding = match (p(b.daily_depth.p50), p(b.daily_depth.p90)) {
        (half, tenth) if half == tenth => {
            format!("On half of the days it gives up {half} of its capacity or more")
        }
        (half, tenth) => {
            format!(
                "On half of the days it gives up {half} of its capacity or more, on nine days in ten at most {tenth}"
            )
        }
    };
    let axis = "depth of discharge in a day, %";
    let (chart, numbers) = steps(&finding, "days, %", axis, &shares, 0, |_, share| p(share));
    figure(&finding, &chart, None, &numbers)
}

/// Shallower than this many steps of 5 %, cycles are left out of the drawing: passing clouds make hundreds that hide the others.
const SHALLOW: usize = 1;

fn cycles(b: &BatteryUse) -> Markup {
    let n = b.cycle_depth_histogram.len();
    let deep: f64 = b.cycle_depth_histogram.iter().skip(n / 2).sum();
    let all = number::fixed(b.cycles_per_year, 0);
    let finding = match number::fixed(deep, 0).as_str() {
        _ if n == 0 || b.cycles_per_year <= 0.0 => "No cycle was counted".to_owned(),
        "0" if deep > 0.0 => format!("Fewer than one of {all} cycles a season goes deeper than half"),
        "0" => format!("None of {all} cycles a season goes deeper than half"),
        deep => format!("{deep} of {all} cycles a season go deeper than half"),
    };
    let shallow: f64 = b.cycle_depth_histogram.iter().take(SHALLOW).sum();
    let list = &b.cycle_depth_histogram;
    let write = |i: usize, cycles: f64| {
        let interval_95 = b.cycle_depth_histogram_95.get(i).copied();
        number::estimate(Estimate { mean: cycles, se: None, interval_95 }, 2, "±")
    };
    let (chart, numbers) = steps(&finding, "cycles a season", "depth of cycle, %", list, SHALLOW, write);
    let note = html! { "Not drawn: " (number::two_digits(shallow)) " cycles a season shallower than 5 %." };
    figure_noted(&finding, &chart, None, &numbers, (shallow > 0.0).then_some(&note))
}

/// A histogram over equal steps of a share, and its numbers; the first `undrawn` stand in those only.
fn steps(
    finding: &str,
    unit: &str,
    axis: &str,
    heights: &[f64],
    undrawn: usize,
    write: impl Fn(usize, f64) -> String,
) -> (Markup, Table) {
    let step = 1.0 / heights.len().max(1) as f64;
    let drawn: Vec<f64> =
        heights.iter().enumerate().map(|(i, h)| if i < undrawn { 0.0 } else { *h }).collect();
    let top = Scale::round_up(drawn.iter().copied().fold(0.0, f64::max), 4);
    let plot = Plot::new(250.0, (0.0, 1.0), (0.0, top));
    let drawing = html! {
        (plot.y_axis(unit, 4))
        (histogram(&plot, step, &drawn))
        (plot.x_numbers(axis, 5, |v, _| number::fixed(v * 100.0, 0)))
    };
    let range = |i: usize| {
        format!(
            "{} to {} %",
            number::fixed(i as f64 * step * 100.0, 0),
            number::fixed((i + 1) as f64 * step * 100.0, 0)
        )
    };
    let unit_said = unit.trim_end_matches(", %");
    let hits: Vec<_> = heights
        .iter()
        .enumerate()
        .map(|(i, h)| {
            plot.strip(
                i as f64 * step,
                (i + 1) as f64 * step,
                format!("Depth {}: {} {}", range(i), write(i, *h), unit_said),
            )
        })
        .collect();
    let mut t = Table::new(&["depth", unit]);
    for (i, h) in heights.iter().enumerate() {
        t.row([range(i), write(i, *h)]);
    }
    let alternative = format!("Histogram of {axis}. {finding}");
    (svg(250.0, &alternative, &drawing, &hits), t)
}
