//! Water, wear and energy.

use super::parts::{Section, Table, table};
use crate::report::{number, style, words};
use crate::tally::Summary;
use crate::tally::summary::Estimate;
use crate::units::System;
use maud::html;

pub(super) fn section(s: &Summary, units: System) -> Section {
    let volume = |l: f64| style::volume(l, units);
    let (mean, unit) = volume(s.water.litres_per_week.mean);
    let week = Estimate { mean, se: s.water.litres_per_week.se.map(|se| volume(se).0) };
    let mut t = Table { words: true, ..Table::new(&["", "mean"]) };
    let mut row = |name: &str, value: String, unit: &str| {
        let gap = if unit.starts_with('°') { "" } else { " " };
        t.row([name.to_owned(), format!("{value}{gap}{unit}")]);
    };
    let unit_week = format!("{unit} a week");
    row("Water lost", number::estimate(week, 1, "±"), &unit_week);
    row("of that, evaporated", number::two_digits(volume(s.water.evaporated_l_per_week).0), &unit_week);
    row("of that, blown over the rim", number::two_digits(volume(s.water.drifted_l_per_week).0), &unit_week);
    let maybe = |v: Option<f64>| v.map_or(number::NOT_COMPUTABLE.to_owned(), number::two_digits);
    row("From full to low water, without rain", maybe(s.water.days_to_low_water), "days");
    row("Pump runs", number::estimate(s.wear.pump_h_per_year, 0, "±"), "h a season");
    if s.wear.pump_life_years.is_some() {
        row("Pump lasts, by its rated hours", maybe(s.wear.pump_life_years), "years");
    }
    if let Some(moves) = s.wear.mount_moves_per_day {
        row("Mount moves", number::two_digits(moves), "times a day");
        row("Mount travels", maybe(s.wear.mount_travel_deg_per_day), "° a day");
        row("Motors take", maybe(s.wear.motor_wh_per_day), "Wh a day");
    }
    for (flow, wh) in words::ranked(&s.wear.flows_wh_per_day) {
        let name = match flow {
            "panel" => "Energy given by the panel".to_owned(),
            "pump" => "Energy to the pump".to_owned(),
            "motors" => continue,
            "standby" => "Energy to the electronics".to_owned(),
            other => format!("Energy lost in the {}", words::escaped(other)),
        };
        row(&name, number::two_digits(wh), "Wh a day");
    }
    let low = match s.water.days_to_low_water {
        Some(days) => format!("A full basin reaches its low-water mark in {} days.", number::fixed(days, 0)),
        None => format!("The time to the low-water mark is {}.", number::NOT_COMPUTABLE),
    };
    let body = html! {
        p { "The basin loses " (number::estimate(week, 1, "±")) " " (unit) " a week in the season’s mean weather. " (low) " These figures leave rain out." }
        details open="" { summary { "Water, wear and energy in numbers" } (table(&t)) }
    };
    let remark = html! { "Evaporation from the basin, and drops that the wind carries over the rim." };
    Section::new("water", "Water and wear", remark, body)
}
