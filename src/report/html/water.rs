//! Water, wear and energy.

use super::parts::{Section, Table, figure_noted, table};
use crate::report::chart::{Plot, Scale, coordinate, svg};
use crate::report::{number, style, words};
use crate::tally::Summary;
use crate::tally::summary::{Estimate, FullBasin, FullBasinMonth, LowWaterDay};
use crate::units::System;
use maud::{Markup, html};

pub(super) fn section(s: &Summary, units: System) -> Section {
    let volume = |l: f64| style::volume(l, units);
    let (litre, unit) = volume(1.0);
    let week = s.water.litres_per_week.times(litre);
    let of_week = |mean: f64, interval_95| number::estimate(with(mean, interval_95).times(litre), 1, "±");
    let mut t = Table { words: true, ..Table::new(&["", "mean"]) };
    let mut row = |name: &str, value: String, unit: &str| {
        let gap = if unit.starts_with('°') { "" } else { " " };
        t.row([name.to_owned(), format!("{value}{gap}{unit}")]);
    };
    let unit_week = format!("{unit} a week");
    let spread = &s.water.litres_per_week_spread;
    row("Water lost", number::estimate(week, 1, "±"), &unit_week);
    for (name, l, ends) in [
        ("in one season of ten, at most", spread.p10, spread.p10_95),
        ("in half of the seasons, at most", spread.p50, spread.p50_95),
        ("in nine seasons of ten, at most", spread.p90, spread.p90_95),
    ] {
        let [lo, hi] = ends.map(|l| number::two_digits(volume(l).0));
        row(name, format!("{} ({lo} to {hi})", number::two_digits(volume(l).0)), &unit_week);
    }
    row(
        "of that, evaporated",
        of_week(s.water.evaporated_l_per_week, s.water.evaporated_l_per_week_95),
        &unit_week,
    );
    row(
        "of that, blown over the rim",
        of_week(s.water.drifted_l_per_week, s.water.drifted_l_per_week_95),
        &unit_week,
    );
    row("Pump runs", number::estimate(s.wear.pump_h_per_year, 0, "±"), "h a season");
    let w = &s.wear;
    let worn = |v: Option<f64>, interval_95, most| {
        v.map_or(number::NOT_COMPUTABLE.to_owned(), |v| number::estimate(with(v, interval_95), most, "±"))
    };
    if w.pump_life_years.is_some() {
        row("Pump lasts, by its rated hours", worn(w.pump_life_years, w.pump_life_years_95, 1), "years");
    }
    if w.mount_moves_per_day.is_some() {
        row("Mount moves", worn(w.mount_moves_per_day, w.mount_moves_per_day_95, 1), "times a day");
        row("Mount travels", worn(w.mount_travel_deg_per_day, w.mount_travel_deg_per_day_95, 0), "° a day");
        row("Motors take", worn(w.motor_wh_per_day, w.motor_wh_per_day_95, 3), "Wh a day");
    }
    for (flow, wh) in words::ranked(&s.wear.flows_wh_per_day) {
        let name = match flow {
            "panel" => "Energy given by the panel".to_owned(),
            "pump" => "Energy to the pump".to_owned(),
            "motors" => continue,
            "standby" => "Energy to the electronics".to_owned(),
            other => format!("Energy lost in the {}", words::escaped(other)),
        };
        let errors = s.wear.flows_wh_per_day_95.get(flow).copied();
        row(&name, number::estimate(with(wh, errors), 2, "±"), "Wh a day");
    }
    let body = html! {
        p { (words::water::lost(s, units, "±")) }
        @if let Some(full) = &s.water.full_basin {
            (lasting(s, full))
        }
        details { summary { "Water, wear and energy in numbers" } (table(&t)) }
    };
    let remark = html! { "Evaporation from the basin, and drops that the wind carries over the rim." };
    Section::new("water", "Water and wear", remark, body)
}

/// How long a full basin lasts, by month of filling.
fn lasting(s: &Summary, full: &FullBasin) -> Markup {
    let known = |d: LowWaterDay| d.day.map(f64::from);
    let days = full.months.iter().flat_map(|m| [m.p10, m.p50, m.p90]).filter_map(known);
    let top = Scale::round_up(days.fold(7.0, f64::max), 4);
    let plot = Plot::new(220.0, (0.0, full.months.len().max(1) as f64), (0.0, top));
    let middle = |i: usize| i as f64 + 0.5;
    let labels = full.months.iter().enumerate().map(|(i, m)| (middle(i), words::month_short(m.month)));
    let mark = |i: usize, m: &FullBasinMonth| {
        let x = coordinate(plot.x.at(middle(i)));
        let low = known(m.p10)?;
        // A line that leaves the picture has no end.
        let (upper, end) = known(m.p90).map_or((plot.top, ""), |d| (plot.y.at(d), "m-5 0h10"));
        let line = format!("M{x} {}m-5 0h10m-5 0V{}{end}", coordinate(plot.y.at(low)), coordinate(upper));
        Some(html! {
            path class="spread" d=(line) {}
            @if let Some(half) = known(m.p50) { circle class="bar" cx=(x) cy=(coordinate(plot.y.at(half))) r="5" {} }
        })
    };
    let drawing = html! {
        (plot.y_axis("days after filling", 4))
        @for (i, m) in full.months.iter().enumerate() { @if let Some(mark) = mark(i, m) { (mark) } }
        (plot.x_axis("filled in", labels))
    };
    let said = words::water::day_with_interval;
    let text = |m: &FullBasinMonth| {
        format!(
            "Filled in {}: one in ten is low by day {}, half by day {}, nine in ten by day {}",
            words::month(m.month),
            said(m.p10),
            said(m.p50),
            said(m.p90)
        )
    };
    let hits: Vec<_> =
        full.months.iter().enumerate().map(|(i, m)| plot.strip(i as f64, i as f64 + 1.0, text(m))).collect();
    let finding = words::water::low_water(s).trim_end_matches('.').to_owned();
    let alternative =
        format!("Days until a full basin is low, by month of filling: median, P10 and P90. {finding}");
    let note = html! {
        "Dots: half of the fillings are low by then; lines from P10 to P90, without an upper end where that is later than can be seen. "
        "Each day of the month is taken as the day of filling, in the first " (number::grouped(full.trials))
        " trials; then nobody fills it, and rain counts. Day 1 is the day of filling; "
        (words::water::LATER) " means more than " (full.most_days)
        " days, or not before the season ends. In brackets: the 95 % interval."
    };
    figure_noted(
        &finding,
        &svg(220.0, &alternative, &drawing, &hits),
        None,
        &low_water_days(full),
        Some(&note),
    )
}

/// By month of filling: the day on which a full basin is low.
fn low_water_days(full: &FullBasin) -> Table {
    let mut t = Table::new(&["filled in", "one in ten is low by day", "half by day", "nine in ten by day"]);
    for m in &full.months {
        t.row([
            words::month(m.month).to_owned(),
            words::water::day_with_interval(m.p10),
            words::water::day_with_interval(m.p50),
            words::water::day_with_interval(m.p90),
        ]);
    }
    t
}

/// A mean with its interval.
fn with(mean: f64, interval_95: Option<[f64; 2]>) -> Estimate {
    Estimate { mean, se: None, interval_95 }
}
