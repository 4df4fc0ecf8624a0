//! The page of `replay`: a season as it was, day by day.

use super::page;
use super::parts::{Key, Section, Table, figure, figure_noted, key, numbers_bold, sections};
use crate::report::chart::{Bar, Plot, Scale, bars, coordinate, svg};
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
    let list = [Section::new(
        "days",
        "The season",
        html! { "Jet that counts and still days, means over builds of this design." },
        html! { div class="figs" { (days(r)) (months(r)) } },
    )];
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
    let list = said::months(r);
    let top = list.iter().map(|m| m.still).fold(2.0, f64::max);
    let plot = Plot::new(220.0, (0.0, list.len().max(1) as f64), (0.0, Scale::round_up(top, 5)));
    let drawn: Vec<Bar> =
        (0..).zip(&list).map(|(k, m)| Bar { x: f64::from(k) + 0.5, mean: m.still, spread: None }).collect();
    let names: Vec<(f64, &str)> =
        (0..).zip(&list).map(|(k, m)| (f64::from(k) + 0.5, words::month_short(m.month))).collect();
    let hits: Vec<_> = list
        .iter()
        .enumerate()
        .map(|(k, m)| {
            let text = format!("{}: {} still days", words::month(m.month), number::fixed(m.still, 1));
            plot.strip(k as f64, k as f64 + 1.0, text)
        })
        .collect();
    let drawing =
        html! { (plot.y_axis("still days", 5)) (bars(&plot, "bar", &drawn, 0.62)) (plot.x_axis("", names)) };
    let finding = match list.iter().max_by(|a, b| a.still.total_cmp(&b.still)) {
        Some(m) if m.still >= 0.05 => {
            format!("Most in {}: {} still days", words::month(m.month), number::fixed(m.still, 1))
        }
        _ => "Hardly a still day in any month".to_owned(),
    };
    figure(&finding, &svg(220.0, &format!("{finding}. Still days by month."), &drawing, &hits), None, &t)
}

/// Days whose dates are named below the chart.
const NAMED: usize = 12;

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
    let still: Vec<(usize, &_)> = r.days.iter().enumerate().filter(|(_, d)| d.still >= 0.5).collect();
    let drawing = html! {
        (plot.y_axis("jet, h a day", 4))
        // Behind the bars, which are short on such days.
        @for (k, _) in &still {
            rect class="c4" x=(coordinate(plot.x.at(*k as f64 + 0.5) - 1.2)) y=(coordinate(plot.top)) width="2.4" height=(coordinate(plot.bottom - plot.top)) {}
        }
        (bars(&plot, "bar", &list, 0.8)) (plot.x_axis("", labels))
    };
    let finding = format!("{} stood still in most builds", words::count(still.len(), "day"));
    let marks = key(&[
        Key { class: "bar", line: false, text: "jet".to_owned() },
        Key { class: "c4", line: false, text: "still in most builds".to_owned() },
    ]);
    let dates: Vec<String> = still.iter().take(NAMED).map(|(_, d)| words::date(d.day_of_year)).collect();
    let more = still.len().saturating_sub(NAMED);
    let note =
        html! { "Still: " (dates.join(", ")) @if more > 0 { " and " (words::count(more, "more day")) } "." };
    let chart = svg(220.0, &format!("{finding}. Jet by day."), &drawing, &hits);
    figure_noted(&finding, &chart, Some(&marks), &t, (!still.is_empty()).then_some(&note))
}
