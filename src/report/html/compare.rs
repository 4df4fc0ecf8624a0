//! The page of `compare`: designs side by side.

use super::page;
use super::parts::{
    Key, Section, Table, figure, figure_noted, key, non_breaking, numbers_bold, sections, table, untrusted,
};
use crate::report::chart::{Bar, Dot, Plot, Scale, bars, dots, dots_on, reach, svg};
use crate::report::number;
use crate::report::words::{self, difference, input};
use crate::study::compare::{Against, Comparison};
use crate::study::paired::Difference;
use crate::tally::Summary;
use crate::tally::summary::Month;
use maud::{Markup, html};
use std::cmp::Ordering;

/// `compare.html`: each design alone, then each held against the first.
pub fn compare(c: &Comparison) -> String {
    let Some(first) = c.designs.first() else {
        return page::page("Side by side", &html! {}, &html! {}, b"{}");
    };
    let invented = c.designs.iter().any(|s| s.weather.invented);
    let header = html! {
        p class="file" { (words::trials(first.run.trials)) " · seed " (first.run.seed) }
        p class="verdict" { (numbers_bold(&words::comparison::best(&c.designs))) }
        p class="small" { "An interval contains the true difference in 95 of 100 such comparisons. If it contains zero, there is no clear difference; that is an answer too." }
        @if invented {
            p class="small invented" { "The weather is invented. The figures show how the program works; they describe no real place." }
        }
    };
    let alone_remark = html! { "± is the larger half of a 95 % interval. The paired differences below are more certain than these errors suggest." };
    let chart_remark =
        html! { "All on one scale. Bars are means by month; a day that hardly ever is still hardly shows." };
    let mut list = vec![
        Section::new("alone", "The designs", alone_remark, alone(c)),
        Section::new("months", "Still days by month", chart_remark, months(&c.designs)).full_width(),
    ];
    if !c.differences.is_empty() {
        let body = differences(c);
        let differences_remark = html! { "Paired where the place is the same: in each trial both designs get the same weather and the same drawn parts." };
        list.push(
            Section::new("differences", "Differences from design 1", differences_remark, body).full_width(),
        );
    }
    list.extend(super::inputs::cautions_of(&words::all_cautions(&c.designs)));
    page::page("Side by side", &header, &sections(&list), &data(c))
}

/// The sentence on still days, with minus signs.
fn sentence(other: &str, first: &str, a: &Against) -> String {
    difference::still_sentence(other, first, a).replace(" -", " −")
}

fn title(c: &Comparison, i: usize) -> String {
    words::quoted(&title_of(c, i))
}

/// The same as a name, without quotes.
fn title_of(c: &Comparison, i: usize) -> String {
    words::escaped(c.designs.get(i).map_or("", |s| s.design.title.as_str())).into_owned()
}

fn alone(c: &Comparison) -> Markup {
    let head = [
        "",
        "whole wish",
        "years that meet it",
        "still days a month",
        "at such places, 80 %",
        "worst month, 9 years in 10 at most",
        "dusk run, min",
        "battery, years",
        "price",
    ];
    let mut t = Table { named: true, ..Table::new(&head) };
    for (i, s) in c.designs.iter().enumerate() {
        let dusk = s.season.dusk_run_min.as_ref();
        t.row([
            format!("{} {}", i + 1, words::escaped(&s.design.title)),
            words::wish_short(s.season.wish.meets, s.season.wish.fails_most),
            words::years_share(s.season.wish.years_met, s.season.wish.years_met_95),
            number::estimate(s.season.still_days_per_month, 2, "±"),
            s.weather_input.as_ref().map_or(String::new(), |r| input::range(r.still_days_per_month, 2)),
            number::whole_within(s.season.worst_month.p90, s.season.worst_month.p90_95),
            dusk.map_or("no sunset".to_owned(), |m| number::estimate(words::mean_minutes(m), 1, "±")),
            match &s.battery {
                None => "no battery".to_owned(),
                Some(b) => b.life.as_ref().map_or(number::NOT_COMPUTABLE.to_owned(), words::life_short),
            },
            s.design
                .price
                .map_or("not given".to_owned(), |p| words::money::price(p, s.design.currency.as_deref())),
        ]);
    }
    html! {
        (table(&t))
        p class="note" { @for (i, s) in c.designs.iter().enumerate() { @if i > 0 { ", " } (i + 1) " is " code { (untrusted(&s.design.file)) } } "." }
    }
}

/// Least still days that the scale reaches: what is nearly nothing must look so.
const SCALE_MIN: f64 = 2.0;

/// Each design as bars by month, all on one scale, with its dusk run and price.
fn months(designs: &[Summary]) -> Markup {
    let most = designs.iter().flat_map(|s| &s.months).map(|m| m.still_days.mean).fold(SCALE_MIN, f64::max);
    let top = Scale::round_up(most, 2);
    let mut t = Table::new(&["", "month", "still days"]);
    let said = |m: &Month| number::estimate(words::mean_of(&m.still_days), 2, "±");
    for (k, s) in designs.iter().enumerate() {
        for m in &s.months {
            t.row([format!("design {}", k + 1), words::month(m.month).to_owned(), said(m)]);
        }
    }
    let fewest = designs
        .iter()
        .enumerate()
        .min_by(|a, b| a.1.season.still_days_per_month.mean.total_cmp(&b.1.season.still_days_per_month.mean));
    let finding = fewest.map_or(String::new(), |(k, s)| {
        let days = number::estimate(s.season.still_days_per_month, 2, "±");
        format!("Design {} has the fewest still days: {days} a month", k + 1)
    });
    html! {
        h3 { (non_breaking(&finding)) }
        div class="figs three" { @for (k, s) in designs.iter().enumerate() { (of_design(k, s, top, &said)) } }
        details { summary { "Numbers" } (table(&t)) }
    }
}

/// The months of design `k`.
fn of_design(k: usize, s: &Summary, top: f64, said: &dyn Fn(&Month) -> String) -> Markup {
    const HEIGHT: f64 = 150.0;
    let plot = Plot::new(HEIGHT, (0.0, s.months.len().max(1) as f64), (0.0, top));
    let middle = |i: usize| i as f64 + 0.5;
    let list: Vec<Bar> = s
        .months
        .iter()
        .enumerate()
        .map(|(i, m)| Bar { x: middle(i), mean: m.still_days.mean, spread: None })
        .collect();
    let names: Vec<(f64, &str)> =
        s.months.iter().enumerate().map(|(i, m)| (middle(i), words::month_short(m.month))).collect();
    let hits: Vec<_> = s
        .months
        .iter()
        .enumerate()
        .map(|(i, m)| {
            let text = format!("{}: {} still days", words::month(m.month), said(m));
            plot.strip(i as f64, i as f64 + 1.0, text)
        })
        .collect();
    let drawing = html! {
        (plot.y_axis("still days", 2)) (bars(&plot, "bar", &list, 0.62)) (plot.x_axis("", names))
    };
    html! {
        figure {
            figcaption { b { (k + 1) " " (untrusted(&s.design.title)) } br; (non_breaking(&beside(s))) }
            div {
                (svg(HEIGHT, &format!("Still days by month of design {}", k + 1), &drawing, &hits))
                div class="say" { output aria-live="polite" {} }
            }
        }
    }
}

/// Dusk run and price, as far as they are known.
fn beside(s: &Summary) -> String {
    let dusk = s.season.dusk_run_min.as_ref().map(|m| format!("dusk run {} min", number::fixed(m.mean, 0)));
    let price =
        s.design.price.map(|p| format!("price {}", words::money::price(p, s.design.currency.as_deref())));
    dusk.into_iter().chain(price).collect::<Vec<_>>().join(", ")
}

/// What the page shows, for machines; the rest of each design is in compare.json.
fn data(c: &Comparison) -> Vec<u8> {
    const SHOWN: [&str; 6] = ["design", "run", "weather", "weather_input", "season", "months"];
    let mut data = serde_json::to_value(c).unwrap_or_default();
    for design in data["designs"].as_array_mut().into_iter().flatten().filter_map(|d| d.as_object_mut()) {
        let life = design.get("battery").map(|b| b["life"].clone());
        design.retain(|key, _| SHOWN.contains(&key.as_str()));
        design.extend(life.map(|life| ("battery_life".to_owned(), life)));
        let months = design.get_mut("months").and_then(|m| m.as_array_mut());
        for month in months.into_iter().flatten().filter_map(|m| m.as_object_mut()) {
            month.retain(|key, _| ["month", "still_days"].contains(&key.as_str()));
        }
    }
    serde_json::to_vec(&data).unwrap_or_default()
}

/// Pairs up to which each is shown month by month unasked.
const PAIRS_OPEN: usize = 3;

/// All designs against the first in one chart, then each month by month, all on one scale.
fn differences(c: &Comparison) -> Markup {
    let by_month: Vec<Vec<Dot>> = c.differences.iter().map(months_against).collect();
    let scale = reach(by_month.iter().flatten());
    let pairs = html! {
        div class="figs" { @for (a, dots) in c.differences.iter().zip(&by_month) { (against(c, a, dots, scale)) } }
    };
    match c.differences.len() {
        1 => pairs,
        n => html! {
            (all_against(c))
            @if n <= PAIRS_OPEN { h3 { "Month by month" } (pairs) }
            @else { details { summary { "Each design month by month, all on one scale" } (pairs) } }
        },
    }
}

/// The mean month of each design less that of the first.
fn all_against(c: &Comparison) -> Markup {
    let mut t = Table {
        named: true,
        ..Table::new(&["", "still days a month", "95 % interval", "dusk run, min", "price"])
    };
    let mut list = Vec::new();
    for a in &c.differences {
        let name = format!("{} {}", a.design + 1, title_of(c, a.design));
        let d = &a.still_days_per_month;
        let other = c.designs.get(a.design).and_then(|s| s.design.currency.as_deref());
        t.row([
            name.clone(),
            minus(&difference::mean(d, 2)),
            difference::all_alike(d).unwrap_or_else(|| minus(&difference::interval(d, 2))),
            a.dusk_run_min
                .as_ref()
                .map_or(number::NOT_COMPUTABLE.to_owned(), |d| minus(&difference::mean(d, 1))),
            a.price.map_or("not given".to_owned(), |p| {
                minus(&words::money::price(p, a.currency.as_deref().or(other)))
            }),
        ]);
        list.push(dot(name, d, "still days a month", 2));
    }
    let told =
        |way| c.differences.iter().filter(|a| a.still_days_per_month.told_apart() == Some(way)).count();
    let (fewer, more) = (told(Ordering::Less), told(Ordering::Greater));
    let open = c.differences.len() - fewer - more;
    let have = |n: usize, what: &str| format!("{n} {} {what}", if n == 1 { "has" } else { "have" });
    let mut parts = Vec::new();
    if fewer > 0 {
        parts.push(have(fewer, "surely fewer still days than design 1"));
    }
    if more > 0 {
        parts.push(have(more, "surely more still days than design 1"));
    }
    if open > 0 {
        parts.push(format!("{open} cannot be told apart from it"));
    }
    let finding = format!("Of the {} other designs, {}", c.differences.len(), parts.join(", "));
    let chart = dots(
        &format!("{finding}. Still days a month of each less those of design 1."),
        "change in still days a month from design 1",
        &list,
    );
    figure(&finding, &chart, Some(&dot_key()), &t)
}

/// The months of a design less those of the first, and their mean.
fn months_against(a: &Against) -> Vec<Dot> {
    std::iter::once(("mean month".to_owned(), &a.still_days_per_month))
        .chain(a.months.iter().map(|m| (words::month(m.month).to_owned(), &m.still_days)))
        .map(|(name, d)| dot(name, d, "still days", 2))
        .collect()
}

fn against(c: &Comparison, a: &Against, months: &[Dot], scale: (f64, f64)) -> Markup {
    let items = difference::items(a);
    let head = ["", "difference", "95 % interval", "lower in", "equal in", "higher in", "verdict"];
    let mut t = Table { named: true, ..Table::new(&head) };
    for item in &items {
        let share = |f: fn(&Difference) -> Option<f64>| match &item.difference {
            // The mean says already that there is nothing to compute.
            None => String::new(),
            Some(d) => f(d).map_or(number::NOT_COMPUTABLE.to_owned(), number::percent),
        };
        let alike = item.all_alike();
        t.row([
            item.name.clone(),
            minus(&item.mean()),
            alike.clone().unwrap_or_else(|| minus(&item.interval())),
            share(|d| d.chance_lower),
            share(|d| d.chance_same),
            share(|d| d.chance_higher),
            if alike.is_some() { String::new() } else { item.verdict().to_owned() },
        ]);
    }
    let finding = sentence(&(a.design + 1).to_string(), "1", a).trim_end_matches('.').to_owned();
    let name = format!("Still days a month of {} less those of 1, by month. {finding}", title(c, a.design));
    let note = html! {
        (difference::price_sentence(a))
        @for note in &a.notes { " " (untrusted(note)) }
    };
    let chart = dots_on(&name, "change in still days a month from design 1", months, scale);
    figure_noted(&finding, &chart, Some(&dot_key()), &t, Some(&note))
}

fn dot_key() -> Markup {
    key(&[
        Key { class: "point", line: false, text: "mean difference".to_owned() },
        Key { class: "", line: true, text: "95 % interval".to_owned() },
    ])
}

/// A difference as a dot, and in words.
fn dot(name: String, d: &Difference, unit: &str, most: usize) -> Dot {
    if let Some(alike) = difference::all_alike(d) {
        return Dot { text: format!("{name}: {alike}"), name, mean: 0.0, interval: None };
    }
    let apart = if d.told_apart().is_none() {
        format!(", {}", difference::NO_CLEAR_DIFFERENCE)
    } else {
        String::new()
    };
    let text = format!(
        "{name}: {} {unit} ({}){apart}",
        minus(&difference::mean(d, most)),
        minus(&difference::interval(d, most))
    );
    Dot { name, mean: d.mean, interval: d.low.zip(d.high), text }
}

/// Hyphens before digits as minus signs.
pub(super) fn minus(text: &str) -> String {
    text.replace('-', "−")
}
