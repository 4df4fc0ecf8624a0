//! The page of `weather` and `invent`: the light of a file month by month, and the years that a run draws from it.

use super::page;
use super::parts::{Section, Table, bullets, figure, non_breaking, numbers_bold, sections, table, untrusted};
use crate::report::chart::{Bar, Plot, Scale, bars, svg};
use crate::report::number;
use crate::report::weather::{Described, FileAndSampled};
use crate::report::words::{self, weather as say};
use crate::study::sampled_years::SampledVsFile;
use crate::units::letters::capital;
use crate::weather::file::describe::Description;
use maud::{Markup, html};

/// `weather.html`.
pub fn weather(d: &Described) -> String {
    let header = html! {
        p class="file" {
            @for (i, f) in d.files.iter().enumerate() { @if i > 0 { " · " } code { (words::escaped(&f.file.path)) } }
            @if let Some(f) = d.files.first() { " · seed " (f.sampled.seed) }
        }
        p class="verdict" { (numbers_bold(&say::headline(d))) }
        @if let Some(drawn) = say::drawn(d) { p class="lead" { (numbers_bold(&drawn)) } }
        @if let Some(kind) = kind_of_all(d) { p class="small" { (if d.files.len() == 1 { "The year is " } else { "Each year is " }) (kind) } }
        @if d.files.iter().any(|f| f.file.invented) {
            p class="small invented" { "This weather is invented or synthesised: nobody measured it. The figures describe no real place." }
        }
    };
    let mut list = Vec::new();
    if let Some(pool) = &d.pool {
        let remark = html! { "All " (pool.files) " files as years of one place. " (LIGHT) };
        let beside =
            html! { div { h3 { "The longest run of dull days, in days" } (table(&spells(&pool.sampled))) } };
        list.push(Section::new("pool", "The years together", remark, light(&pool.sampled, beside)));
    }
    // Of several years of one place each is folded away; one file alone is what the page is about.
    for (k, f) in d.files.iter().enumerate() {
        if d.pool.is_none() {
            list.push(of_file(k, d.files.len(), f));
        }
        let heading = named("What the file is", k, d.files.len());
        let body = html! {
            (what_it_is(&f.file))
            @if d.pool.is_some() { (light(&f.sampled, clearness(&f.file))) }
        };
        list.push(
            Section::new(&format!("file-{k}"), &heading, html! {}, body).folded("Place, hours, air, checks"),
        );
    }
    let sampled = d.pool.as_ref().map(|p| &p.sampled).or_else(|| d.files.first().map(|f| &f.sampled));
    if let Some(s) = sampled {
        let remark = html! { (s.minute_years) " years minute by minute, and " (number::grouped(s.daily_years)) " years day by day for spread and dull spells." };
        list.push(
            Section::new("sampled", "How drawn years compare", remark, compared(s))
                .folded("Dull spells, days, minutes"),
        );
    }
    let warnings: Vec<String> =
        d.files.iter().flat_map(|f| &f.file.warnings).cloned().chain([NOT_A_GARDEN.to_owned()]).collect();
    list.push(Section::new("warnings", "Before you rely on it", html! {}, bullets("warn", &warnings)));
    page::page("The weather", &header, &sections(&list), &serde_json::to_vec(d).unwrap_or_default())
}

const NOT_A_GARDEN: &str = "A weather file is not your garden: it does not know a wall, a tree or the fog of your valley. It says nothing of frost damage or storms.";
const LIGHT: &str = "Bars are what the files have, the line over each reaches one coefficient of variation to either side of the mean of drawn years.";

/// What the years are, if none is invented and all are of one kind; else each says so itself.
fn kind_of_all(d: &Described) -> Option<&'static str> {
    let first = &d.files.first()?.file;
    let alike = d.files.iter().all(|f| !f.file.invented && f.file.kind == first.kind);
    alike.then(|| say::kind(first.kind))
}

/// A heading that tells files apart where there are several.
fn named(heading: &str, k: usize, of: usize) -> String {
    if of == 1 { heading.to_owned() } else { format!("{heading}: file {}", k + 1) }
}

fn of_file(k: usize, of: usize, f: &FileAndSampled) -> Section {
    let remark = html! { @if of > 1 { code { (untrusted(&f.file.path)) } ". " } (LIGHT) };
    Section::new(
        &format!("light-{k}"),
        &named("Light by month", k, of),
        remark,
        light(&f.sampled, clearness(&f.file)),
    )
}

/// Light by month, file and drawn years; something else beside it.
fn light(s: &SampledVsFile, beside: Markup) -> Markup {
    let ends = |m: &crate::study::sampled_years::MonthVsFile| {
        (m.sampled_ghi_kwh_m2_d * (1.0 - m.variation), m.sampled_ghi_kwh_m2_d * (1.0 + m.variation))
    };
    let top = s.months.iter().map(|m| ends(m).1.max(m.file_ghi_kwh_m2_d.unwrap_or(0.0))).fold(0.1, f64::max);
    let list: Vec<MonthBar> = s.months.iter().map(|m| Some((m.file_ghi_kwh_m2_d?, Some(ends(m))))).collect();
    let mut t = Table::new(&["", "file, kWh/m² a day", "drawn years", "differ by", "spread", "aimed at"]);
    for m in &s.months {
        t.row([
            words::month(m.month).to_owned(),
            m.file_ghi_kwh_m2_d.map_or("–".to_owned(), |v| number::fixed(v, 2)),
            number::fixed(m.sampled_ghi_kwh_m2_d, 2),
            say::difference(m.file_ghi_kwh_m2_d, m.sampled_ghi_kwh_m2_d),
            number::percent(m.variation),
            m.wanted_variation.map_or("–".to_owned(), number::percent),
        ]);
    }
    let said = |k: usize| {
        let m = &s.months[k];
        let file = m
            .file_ghi_kwh_m2_d
            .map_or("no whole day".to_owned(), |v| format!("{} kWh/m² a day", number::fixed(v, 2)));
        format!(
            "{}: {file}; drawn years {} ± {}",
            words::month(m.month),
            number::fixed(m.sampled_ghi_kwh_m2_d, 2),
            number::percent(m.variation)
        )
    };
    let values: Vec<Option<f64>> = s.months.iter().map(|m| m.file_ghi_kwh_m2_d).collect();
    let finding = least_and_most("Light", &values, " kWh/m² a day", |v| number::fixed(v, 1));
    let chart = by_month("light, kWh/m² a day", top, &list, &finding, said);
    html! {
        div class="figs" {
            (figure(&finding, &chart, None, &t))
            (beside)
        }
    }
}

/// Share of the light above the atmosphere that arrives, by month.
fn clearness(d: &Description) -> Markup {
    let list: Vec<MonthBar> = d.months.iter().map(|m| Some((m.clearness?, None))).collect();
    let mut t =
        Table::new(&["", "whole days", "beam, kWh/m² a day", "clearness", "air, °C", "turbidity (Linke)"]);
    for (m, turbidity) in d.months.iter().zip(d.turbidity) {
        let of = |x: Option<f64>, digits| x.map_or("–".to_owned(), |v| number::fixed(v, digits));
        t.row([
            words::month(m.month as u8).to_owned(),
            m.days.to_string(),
            of(m.dni_kwh_m2_day, 2),
            of(m.clearness, 2),
            of(m.air_c, 1),
            number::fixed(turbidity, 1),
        ]);
    }
    let values: Vec<Option<f64>> = d.months.iter().map(|m| m.clearness).collect();
    let finding = least_and_most("The sky lets through", &values, " of the light", number::percent);
    let said = |k: usize| {
        let share = d.months[k].clearness.map_or("no whole day".to_owned(), number::percent);
        format!("{}: {share}", words::month(d.months[k].month as u8))
    };
    figure(&finding, &by_month("arrives of the light above the air, %", 1.0, &list, &finding, said), None, &t)
}

/// A month's value and the ends of the line over it; nothing where there is no value.
type MonthBar = Option<(f64, Option<(f64, f64)>)>;

/// A bar for each month that has a value.
fn by_month(
    axis: &str,
    top: f64,
    list: &[MonthBar],
    finding: &str,
    said: impl Fn(usize) -> String,
) -> Markup {
    let plot = Plot::new(
        250.0,
        (0.0, list.len().max(1) as f64),
        (0.0, if top == 1.0 { 1.0 } else { Scale::round_up(top, 5) }),
    );
    let drawn: Vec<Bar> = (0..)
        .zip(list)
        .filter_map(|(k, b)| b.map(|(mean, spread)| Bar { x: f64::from(k) + 0.5, mean, spread }))
        .collect();
    let names: Vec<(f64, &str)> =
        (1_u8..).zip(list).map(|(m, _)| (f64::from(m) - 0.5, words::month_short(m))).collect();
    let hits: Vec<_> = (0..list.len()).map(|k| plot.strip(k as f64, k as f64 + 1.0, said(k))).collect();
    let drawing =
        html! { (plot.y_axis(axis, 5)) (bars(&plot, "bar", &drawn, 0.62)) (plot.x_axis("", names)) };
    svg(250.0, &format!("Bar chart by month: {finding}"), &drawing, &hits)
}

/// `Light: 0.3 kWh/m² a day in December, 5.4 in June`.
fn least_and_most(what: &str, values: &[Option<f64>], unit: &str, write: impl Fn(f64) -> String) -> String {
    let known = || (1_u8..).zip(values).filter_map(|(m, v)| Some((m, (*v)?)));
    let by = |a: &(u8, f64), b: &(u8, f64)| a.1.total_cmp(&b.1);
    match (known().min_by(by), known().max_by(by)) {
        (Some((l, least)), Some((m, most))) => format!(
            "{what}: {}{unit} in {}, {} in {}",
            write(least),
            words::month(l),
            write(most),
            words::month(m)
        ),
        _ => "No month has a whole day".to_owned(),
    }
}

fn what_it_is(d: &Description) -> Markup {
    let mut t = Table { words: true, ..Table::new(&["What", "Which"]) };
    let kind = if d.invented { "invented or synthesised: nobody measured it." } else { say::kind(d.kind) };
    for (what, which) in [
        ("File", d.path.clone()),
        ("SHA-256", d.sha256.clone()),
        ("Source", format!("{}; {}", d.format, d.origin)),
        ("Year", kind.to_owned()),
        ("Place", say::place(d)),
        ("Hours", say::hours(d)),
        ("Dull days", say::dull_days(d)),
        ("Air", say::air(d)),
        ("Clock", say::clock(d)),
        ("Clear sky", say::clear_sky(d)),
    ] {
        t.row([what.to_owned(), words::escaped(&which).into_owned()]);
    }
    table(&t)
}

/// Longest runs of dull days, in the files and in drawn years.
fn spells(s: &SampledVsFile) -> Table {
    let mut t = Table {
        named: true,
        ..Table::new(&["", "files", "median year", "9 years of 10", "10 years", "30 years"])
    };
    for spell in &s.spells {
        t.row([
            format!("clearness below {}", spell.clearness_below),
            spell.file_longest.to_string(),
            say::days(spell.median),
            format!("at most {}", say::days(spell.p90)),
            say::days(spell.longest_in_10_years),
            say::days(spell.longest_in_30_years),
        ]);
    }
    t
}

fn compared(s: &SampledVsFile) -> Markup {
    html! {
        h3 { "The longest run of dull days, in days" }
        (table(&spells(s)))
        p class="note" { "Files: as they are. The others are of drawn years: medians, and what nine in ten do not exceed." }
        // On a terminal a name stands before each sentence.
        ul class="list" { @for line in say::likeness(s) { li { (non_breaking(&capital(&line))) } } }
    }
}
