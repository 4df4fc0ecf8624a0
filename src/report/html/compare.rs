//! The page of `compare`: designs side by side.

use super::page;
use super::parts::{Key, Section, Table, bullets, figure, key, sections, table, untrusted};
use crate::report::chart::{Dot, dots};
use crate::report::number;
use crate::report::words::{self, difference, input};
use crate::study::compare::{Against, Comparison};
use crate::study::paired::Difference;
use maud::{Markup, html};

/// `compare.html`: each design alone, then each held against the first.
pub fn compare(c: &Comparison) -> String {
    let Some(first) = c.designs.first() else {
        return page::page("Side by side", &html! {}, &html! {}, b"{}");
    };
    let invented = c.designs.iter().any(|s| s.weather.invented);
    let header = html! {
        p class="file" { (words::trials(first.run.trials)) " · seed " (first.run.seed) }
        @for a in &c.differences {
            p class="verdict" { (sentence(&title(c, a.design), &title(c, 0), a)) }
        }
        p class="small" { "An interval contains the true difference in 95 of 100 such comparisons. If it contains zero, there is no clear difference; that is an answer too." }
        @if invented {
            p class="small invented" { "The weather is invented. The figures show how the program works; they describe no real place." }
        }
    };
    let alone_remark = html! { "± is the larger half of a 95 % interval. The paired differences below are more certain than these errors suggest." };
    let mut list = vec![Section::new("alone", "Each design alone", alone_remark, alone(c))];
    list.extend(c.differences.iter().map(|a| {
        let other = a.design + 1;
        let heading = format!("Design {other} against design 1");
        Section::new(&format!("against-{other}"), &heading, remark(a), against(c, a))
    }));
    list.extend(super::inputs::cautions_of(&words::all_cautions(&c.designs)));
    page::page("Side by side", &header, &sections(&list), &serde_json::to_vec(c).unwrap_or_default())
}

/// The sentence on still days, with minus signs.
fn sentence(other: &str, first: &str, a: &Against) -> String {
    difference::still_sentence(other, first, a).replace(" -", " −")
}

fn title(c: &Comparison, i: usize) -> String {
    let title = c.designs.get(i).map_or("", |s| s.design.title.as_str());
    words::quoted(title)
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
            difference::money(s.design.price),
        ]);
    }
    html! {
        (table(&t))
        p class="note" { @for (i, s) in c.designs.iter().enumerate() { @if i > 0 { ", " } (i + 1) " is " code { (untrusted(&s.design.file)) } } "." }
    }
}

fn remark(a: &Against) -> Markup {
    html! {
        @if a.paired { "Paired: in each trial both designs get the same weather and the same drawn parts. " }
        (difference::price_sentence(a))
    }
}

fn against(c: &Comparison, a: &Against) -> Markup {
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
    let months: Vec<Dot> = std::iter::once(("mean month".to_owned(), &a.still_days_per_month))
        .chain(a.months.iter().map(|m| (words::month(m.month).to_owned(), &m.still_days)))
        .map(|(name, d)| dot(name, d, "still days", 2))
        .collect();
    let finding = sentence(&(a.design + 1).to_string(), "1", a).trim_end_matches('.').to_owned();
    let name = format!("Still days a month of {} less those of 1, by month. {finding}", title(c, a.design));
    html! {
        (figure(&finding, &dots(&name, "change in still days a month from design 1", &months), Some(&dot_key()), &t))
        @if !a.notes.is_empty() { (bullets("warn", &a.notes)) }
    }
}

pub(super) fn dot_key() -> Markup {
    key(&[
        Key { class: "point", line: false, text: "mean difference".to_owned() },
        Key { class: "", line: true, text: "95 % interval".to_owned() },
    ])
}

/// A difference as a dot, and in words.
pub(super) fn dot(name: String, d: &Difference, unit: &str, most: usize) -> Dot {
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
