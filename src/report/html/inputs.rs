//! The inputs of a run, and its cautions.

use super::parts::{Section, Table, bullets, table, untrusted};
use crate::report::{customary, number, words};
use crate::tally::Summary;
use crate::units::{Dimension, System};
use maud::html;

/// What stands in place of the inputs until somebody opens them.
pub(super) const FOLD: &str = "Files, seed, command, and every value of the design";

pub(super) fn section(s: &Summary, units: System) -> Section {
    let see = |t: &str| words::escaped(t).into_owned();
    let mut design = Table { words: true, ..Table::new(&["Key", "Value", "Origin"]) };
    for i in &s.inputs {
        design.row([see(&i.key), see(&customary::beside(&i.key, &i.value, units)), see(&i.origin)]);
    }
    let mut t = Table { words: true, ..Table::new(&["What", "Which"]) };
    let mut row = |name: &str, value: String| t.row([name.to_owned(), value]);
    row("Design", see(&s.design.file));
    row("SHA-256 of the design", see(&s.design.sha256));
    for (i, file) in s.weather.files.iter().enumerate() {
        row(if i == 0 { "Weather" } else { "and" }, see(file));
    }
    row("SHA-256 of the weather", see(&s.weather.sha256));
    row("Origin of the weather", see(&s.weather.origin));
    row("Place", place(s, units));
    row(
        "Sunshine in the file",
        format!(
            "{} kWh/m² a year on the horizontal, {} in the beam",
            number::fixed(s.weather.ghi_kwh_m2, 0),
            number::fixed(s.weather.dni_kwh_m2, 0)
        ),
    );
    row("Season", format!("{} to {}, {} days", see(&s.season.from), see(&s.season.to), s.season.days));
    if let Some(price) = s.design.price {
        row("Price of the parts", words::money::price(price, s.design.currency.as_deref()));
    }
    row("Program", format!("stilldays {}", see(&s.run.version)));
    row("Seed", s.run.seed.to_string());
    row("Trials", number::grouped(s.run.trials));
    let body = html! {
        p { "This command makes the page again:" br; code { (untrusted(&s.run.command)) } }
        (table(&t))
        details { summary { "Every value of the design" } (table(&design)) }
    };
    let remark = html! { "The same design, weather, seed, trials and version always give the same numbers, on any number of threads." };
    Section::new("inputs", "Inputs", remark, body)
}

fn place(s: &Summary, units: System) -> String {
    let w = &s.weather;
    let elevation = match units {
        System::Si => format!("{} m", number::fixed(w.elevation_m, 0)),
        System::Us => crate::units::show(w.elevation_m, Dimension::Length, 3, units),
    };
    let side = |v: f64, plus: &str, minus: &str| {
        format!("{}° {}", number::fixed(v.abs(), 2), if v < 0.0 { minus } else { plus })
    };
    format!(
        "{} {}, {elevation} above the sea, standard time UTC{}{}",
        side(w.latitude_deg, "N", "S"),
        side(w.longitude_deg, "E", "W"),
        if w.utc_offset_h < 0.0 { "−" } else { "+" },
        w.utc_offset_h.abs()
    )
}

pub(super) fn cautions(s: &Summary) -> Option<Section> {
    cautions_of(&s.cautions)
}

/// The same of a list: that of several designs, for example.
pub(super) fn cautions_of(list: &[String]) -> Option<Section> {
    if list.is_empty() {
        return None;
    }
    let body = bullets("warn", list);
    let remark = html! { "For what is shown here. Local codes and licensed practice take precedence over anything said here." };
    Some(Section::new("cautions", "Cautions", remark, body))
}
