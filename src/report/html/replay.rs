//! The page of `replay`: a season as it was, day by day.

use super::page;
use super::parts::{Section, Table, figure, numbers_bold, sections, table};
use crate::report::chart::{Bar, Plot, bars, svg};
use crate::report::number;
use crate::report::words::{self, replay as said};
use crate::study::replay::Replay;
use maud::{Markup, html};

/// `replay.html`.
pub fn replay(r: &Replay) -> String {
    let header = html! {
        p class="file" { code { (words::escaped(&r.design[1])) } " · days of " code { (words::escaped(&r.days_from[0])) } " · " (words::trials(r.trials)) " · seed " (r.seed) }
        p class="verdict" { (numbers_bold(&said::headline(r, "±"))) }
        p class="small" { (said::LEFT_OUT) }
        @if r.invented { p class="small invented" { "These days are invented. The figures show how the program works; they describe no real season." } }
        @if !r.missing.is_empty() { p class="small" { "The file lacks " (words::count(r.missing.len(), "day")) " of the season; they are drawn and not counted." } }
    };
    let list = vec![
        Section::new(
            "days",
            "Each day",
            html! { "Jet that counts, mean over builds of this design." },
            days(r),
        ),
        Section::new("months", "By month", html! {}, months(r)),
    ];
    let title = format!("The season as it was: {}", r.design[0]);
    page::page(&title, &header, &sections(&list), &serde_json::to_vec(r).unwrap_or_default())
}

fn months(r: &Replay) -> Markup {
    let mut t = Table::new(&["", "days", "still days", "jet, h a day", "dusk run, min"]);
    for m in said::months(r) {
        t.row([
            words::month(m.month).to_owned(),
            m.days.to_string(),
            number::fixed(m.still, 1),
            number::fixed(m.jet_h, 1),
            m.dusk_min.map_or("–".to_owned(), |d| number::fixed(d, 0)),
        ]);
    }
    table(&t)
}

fn days(r: &Replay) -> Markup {
    let mut t = Table::new(&[
        "",
        "light, kWh/m²",
        "jet, h",
        "8 of 10 builds",
        "still in",
        "dusk run, min",
        "charge at sunset",
    ]);
    for d in &r.days {
        t.row([
            words::date(d.day_of_year),
            number::fixed(d.ghi_kwh_m2, 2),
            number::fixed(d.jet_min / 60.0, 1),
            format!(
                "{} to {}",
                number::fixed(d.jet_min_80[0] / 60.0, 1),
                number::fixed(d.jet_min_80[1] / 60.0, 1)
            ),
            number::percent(d.still),
            d.dusk_run_min.map_or("–".to_owned(), |m| number::fixed(m, 0)),
            d.soc_at_sunset.map_or("–".to_owned(), number::percent),
        ]);
    }
    let most = r.days.iter().map(|d| d.jet_min / 60.0).fold(1.0, f64::max);
    let n = r.days.len().max(1);
    let plot = Plot::new(220.0, (0.0, n as f64), (0.0, most));
    let list: Vec<Bar> = r
        .days
        .iter()
        .enumerate()
        .map(|(k, d)| Bar { x: k as f64 + 0.5, mean: d.jet_min / 60.0, spread: None })
        .collect();
    let labels: Vec<(f64, &str)> = r
        .days
        .iter()
        .enumerate()
        .filter(|(k, d)| *k == 0 || d.date.ends_with("-01"))
        .map(|(k, d)| (k as f64 + 0.5, words::month_short(d.date[..2].parse().unwrap_or(1))))
        .collect();
    let hits: Vec<_> = r
        .days
        .iter()
        .enumerate()
        .map(|(k, d)| {
            let text = format!(
                "{}: {} h of jet, still in {}",
                words::date(d.day_of_year),
                number::fixed(d.jet_min / 60.0, 1),
                number::percent(d.still)
            );
            plot.strip(k as f64, k as f64 + 1.0, text)
        })
        .collect();
    let drawing =
        html! { (plot.y_axis("jet, h a day", 4)) (bars(&plot, "bar", &list, 0.8)) (plot.x_axis("", labels)) };
    let still = r.days.iter().filter(|d| d.still >= 0.5).count();
    let finding = format!("{} stood still in most builds", words::count(still, "day"));
    figure(&finding, &svg(220.0, &format!("{finding}. Jet by day."), &drawing, &hits), None, &t)
}
