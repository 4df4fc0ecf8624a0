//! The page of `years`: how a fountain fares as it ages, what can be promised, what it costs.

use super::compare::minus;
use super::page;
use super::parts::{Section, Table, bullets, figure, non_breaking, numbers_bold, sections, table};
use crate::report::chart::{Bar, Line, Plot, Scale, bars, line, svg};
use crate::report::number;
use crate::report::words::{self, years as say};
use crate::study::years::plans::Plans;
use crate::study::years::{LivedYear, YearsSummary};
use maud::{Markup, html};

/// `years.html`.
pub fn years(s: &YearsSummary, plans: Option<&Plans>) -> String {
    let first = &s.first_year;
    let header = html! {
        p class="file" {
            code { (words::escaped(&first.design.file)) } " · weather " code { (words::escaped(&first.weather.file)) }
            " · " (words::count(s.lives as usize, "life").replace("lifes", "lives")) " of " (words::count(s.years.len(), "year")) " · seed " (first.run.seed)
        }
        p class="verdict" { (numbers_bold(&say::verdict(s))) }
        p class="lead" { (numbers_bold(&say::promise(s))) }
        @if let Some(why) = say::without_care(s) { p class="lead" { (numbers_bold(&why)) } }
        p class="small" { "± is the larger half of a 95 % interval; a rare event shows the interval’s ends. Each life has its own parts, its own weather in every year, and its own luck with pump and mount." }
        @if first.weather.invented {
            p class="small invented" { "The weather is invented. The figures show how the program works; they describe no real place." }
        }
    };
    let mut list = vec![
        Section::new(
            "ageing",
            "Year by year",
            html! { "Bars are means, the line over each runs from P10 to P90 of lives. " "Year 1 is a season as run shows it." },
            ageing(s),
        ),
        Section::new(
            "promise",
            "Promise and price",
            html! { "The smallest number of still days that holds in at least " (say::span(&s.promise)) ": an order statistic of independent lives. Money is in constant prices; expenses of a year are paid at its end." },
            html! { div class="figs" { (promise(s)) (costs(s)) } },
        ),
        Section::new(
            "care",
            "What this rests on",
            html! { "Laws of ageing: cycles and age use up shares of the battery’s life, which add up (Miner); panels fade by the published spread of rates (Jordan et al. 2016); pumps and mounts fail by Weibull’s distribution of running hours." },
            rests_on(s),
        )
        .folded("Care, laws of ageing, what is left out"),
        Section::new(
            "cautions",
            "Cautions",
            html! { "Local codes and licensed practice take precedence over anything said here." },
            html! {
                @if !s.first_year.warnings.is_empty() { h3 { "Warnings" } (bullets("warn", &s.first_year.warnings)) h3 { "Cautions" } }
                (bullets("warn", &s.first_year.cautions))
            },
        ),
    ];
    if let Some(plans) = plans {
        let remark = html! { "Each plan lives through the same weather with the same luck." };
        list.insert(
            2,
            Section::new("plans", "Plans of care", remark, weighed(plans, first.design.currency.as_deref()))
                .full_width(),
        );
    }
    page::page(
        &format!("{}: {}", first.design.title, words::count(s.years.len(), "year")),
        &header,
        &sections(&list),
        &serde_json::to_vec(s).unwrap_or_default(),
    )
}

fn ageing(s: &YearsSummary) -> Markup {
    html! {
        div class="figs" { (still(s)) (wish(s)) }
        @if let Some(missed) = say::first_missed(s) { p { (non_breaking(&missed)) } }
    }
}

fn labels(s: &YearsSummary) -> Vec<(f64, String)> {
    let every = s.years.len().div_ceil(10).max(1);
    s.years.iter().step_by(every).map(|y| (f64::from(y.year) - 0.5, y.year.to_string())).collect()
}

fn still(s: &YearsSummary) -> Markup {
    let n = s.years.len().max(1) as f64;
    let top = s.years.iter().map(|y| y.still_days.p90.max(y.still_days.mean)).fold(0.0, f64::max);
    let plot = Plot::new(250.0, (0.0, n), (0.0, Scale::round_up(top, 5)));
    let list: Vec<Bar> = s
        .years
        .iter()
        .map(|y| Bar {
            x: f64::from(y.year) - 0.5,
            mean: y.still_days.mean,
            spread: Some((y.still_days.p10, y.still_days.p90)),
        })
        .collect();
    let marks = labels(s);
    let drawing = html! {
        (plot.y_axis("still days a season", 5))
        (bars(&plot, "bar", &list, 0.56))
        (plot.x_axis("year", marks.iter().map(|(x, l)| (*x, l.as_str()))))
    };
    let mean = |y: &LivedYear| number::estimate(y.still_days.estimate(), 2, "±");
    let hits: Vec<_> = s
        .years
        .iter()
        .map(|y| {
            let text = format!(
                "Year {}: {} still days; P10 to P90 {} to {}",
                y.year,
                mean(y),
                number::fixed(y.still_days.p10, 0),
                number::fixed(y.still_days.p90, 0)
            );
            plot.strip(f64::from(y.year) - 1.0, f64::from(y.year), text)
        })
        .collect();
    let moves = s.years.iter().any(|y| y.mount_broken.is_some());
    let heads = ["year", "still days, mean", "P10", "P50", "P90", "jet, h", "pump broken", "mount broken"];
    let mut t = Table::new(&heads[..heads.len() - usize::from(!moves)]);
    for y in &s.years {
        let d = &y.still_days;
        let cells = [
            y.year.to_string(),
            mean(y),
            number::whole_within(d.p10, d.p10_95),
            number::whole_within(d.p50, d.p50_95),
            number::whole_within(d.p90, d.p90_95),
            number::estimate(y.jet_h, 0, "±"),
            number::percent_within(y.pump_broken, y.pump_broken_95),
        ];
        let stuck = y.mount_broken.zip(y.mount_broken_95);
        t.row(cells.into_iter().chain(stuck.map(|(share, ends)| number::percent_within(share, ends))));
    }
    let finding = match (s.years.first(), s.years.last()) {
        (Some(a), Some(b)) if a.year != b.year => {
            format!("From {} still days in the first year to {} in year {}", mean(a), mean(b), b.year)
        }
        (Some(a), _) => format!("{} still days in the first year", mean(a)),
        (None, _) => String::new(),
    };
    let alternative = format!("Bar chart of still days by year of age, with P10 to P90. {finding}");
    figure(&finding, &svg(250.0, &alternative, &drawing, &hits), None, &t)
}

fn wish(s: &YearsSummary) -> Markup {
    let n = s.years.len().max(1) as f64;
    let plot = Plot::new(250.0, (0.0, n), (0.0, 1.0));
    let points =
        |of: fn(&LivedYear) -> f64| s.years.iter().map(|y| (f64::from(y.year) - 0.5, Some(of(y)))).collect();
    let marks = labels(s);
    let drawing = html! {
        (plot.y_axis("lives that meet the whole wish, %", 5))
        (line(&plot, &Line { class: "", points: points(|y| y.wish_met) }))
        (line(&plot, &Line { class: "sun dash", points: points(|y| y.wish_met_so_far) }))
        (plot.x_axis("year", marks.iter().map(|(x, l)| (*x, l.as_str()))))
    };
    let this = |y: &LivedYear| number::percent_within(y.wish_met, y.wish_met_95);
    let so_far = |y: &LivedYear| number::percent_within(y.wish_met_so_far, y.wish_met_so_far_95);
    let hits: Vec<_> = s
        .years
        .iter()
        .map(|y| {
            let text =
                format!("Year {}: met by {}; in this year and all before by {}", y.year, this(y), so_far(y));
            plot.strip(f64::from(y.year) - 1.0, f64::from(y.year), text)
        })
        .collect();
    let mut t = Table::new(&[
        "year",
        "in this year",
        "in all so far",
        "missed for the first time",
        "missed most",
        "battery holds, P50 (P10 to P90)",
        "battery used up",
    ]);
    for y in &s.years {
        let worn = y.battery_worn_out.zip(y.battery_worn_out_95);
        t.row([
            y.year.to_string(),
            this(y),
            so_far(y),
            number::percent_within(y.first_missed, y.first_missed_95),
            say::part(y.misses_most).to_owned(),
            say::holds(y),
            worn.map_or(String::new(), |(share, ends)| number::percent_within(share, ends)),
        ]);
    }
    let keys = super::parts::key(&[
        super::parts::Key { class: "", line: true, text: "in this year".to_owned() },
        super::parts::Key { class: "sun dash", line: true, text: "in this year and all before".to_owned() },
    ]);
    let finding = s.years.last().map_or(String::new(), |y| {
        format!(
            "Lives that meet the whole wish: {} in year {}, {} in all years up to it",
            this(y),
            y.year,
            so_far(y)
        )
    });
    let alternative = format!("Lines of the share of lives that meet the whole wish, by year. {finding}");
    figure(&finding, &svg(250.0, &alternative, &drawing, &hits), Some(&keys), &t)
}

fn promise(s: &YearsSummary) -> Markup {
    let mut t = Table::new(&["in each of the first years", "still days at most"]);
    for p in &s.promise.first_years {
        let days = p.still_days_at_most.map_or("too few lives".to_owned(), |d| d.to_string());
        t.row([p.years.to_string(), days]);
    }
    let known: Vec<(u32, u32)> =
        s.promise.first_years.iter().filter_map(|p| Some((p.years.into(), p.still_days_at_most?))).collect();
    let Some((last, most)) = known.last().copied() else {
        return html! { p class="note" { "Too few lives were simulated to promise a number of still days." } };
    };
    let n = s.promise.first_years.len().max(1) as f64;
    let top = known.iter().map(|k| f64::from(k.1)).fold(2.0, f64::max);
    let plot = Plot::new(230.0, (0.0, n), (0.0, Scale::round_up(top, 5)));
    let list: Vec<Bar> = known
        .iter()
        .map(|(years, days)| Bar { x: f64::from(*years) - 0.5, mean: f64::from(*days), spread: None })
        .collect();
    let names: Vec<(f64, String)> =
        known.iter().map(|(years, _)| (f64::from(*years) - 0.5, years.to_string())).collect();
    let hits: Vec<_> = known
        .iter()
        .map(|(years, days)| {
            let text = format!("In each of the first {years}: at most {days} still days a season");
            plot.strip(f64::from(*years) - 1.0, f64::from(*years), text)
        })
        .collect();
    let drawing = html! {
        (plot.y_axis("still days a season, at most", 5))
        (bars(&plot, "bar", &list, 0.56))
        (plot.x_axis("in each of the first … years", names.iter().map(|(x, l)| (*x, l.as_str()))))
    };
    let finding = match known.first() {
        Some((_, days)) if last > 1 => {
            format!("At most {days} still days in the first year, at most {most} in each of the first {last}")
        }
        _ => format!("At most {most} still days in the first year"),
    };
    let chart = svg(230.0, &format!("Bar chart. {finding}"), &drawing, &hits);
    figure(&finding, &chart, None, &t)
}

fn costs(s: &YearsSummary) -> Markup {
    let mut t = Table { words: true, ..Table::new(&["", "over all years"]) };
    for p in &s.parts {
        t.row([format!("{} replaced", p.part), number::estimate(p.replaced, 2, "±")]);
        t.row([format!("chance that a {} is replaced", p.part), number::percent_within(p.any, p.any_95)]);
    }
    t.row(["visits".to_owned(), number::estimate(s.visits, 2, "±")]);
    if let Some(m) = &s.money {
        let amount = |figure: String| words::money::amount(&figure, s.first_year.design.currency.as_deref());
        t.row(["price of the build".to_owned(), amount(number::fixed(m.first, 2))]);
        t.row(["cost, mean".to_owned(), amount(number::estimate(m.total_mean, 2, "±"))]);
        for (name, value, [lo, hi]) in [
            ("P10", m.total.p10, m.total.p10_95),
            ("P50", m.total.p50, m.total.p50_95),
            ("P90", m.total.p90, m.total.p90_95),
        ] {
            let text =
                if lo == hi { number::fixed(value, 2) } else { format!("{value:.2} ({lo:.2} to {hi:.2})") };
            t.row([format!("cost, {name}"), amount(text)]);
        }
        t.row(["cost for a year of use".to_owned(), amount(number::estimate(m.per_year, 2, "±"))]);
        if let Some(e) = m.per_jet_hour {
            t.row(["cost for an hour of jet".to_owned(), amount(number::estimate(e, 4, "±"))]);
        }
    }
    html! {
        div {
            h3 { "Parts, visits and money" }
            p { (non_breaking(&say::costs(s, "±"))) }
            details { summary { "Numbers" } (table(&t)) }
        }
    }
}

fn weighed(plans: &Plans, currency: Option<&str>) -> Markup {
    let mut t = Table {
        named: true,
        ..Table::new(&[
            "plan",
            "still days a season",
            "against own",
            "lives that keep the wish",
            "still days at most, 9 gardens of 10",
            "visits",
            &words::money::column("cost", currency),
        ])
    };
    for p in &plans.list {
        t.row([
            format!("{}{}", if p.on_frontier { "★ " } else { "" }, p.name),
            number::estimate(p.still_days, 1, "±"),
            minus(&say::against_own(p)),
            number::percent_within(p.wish_met, p.wish_met_95),
            p.still_days_at_most.map_or("too few lives".to_owned(), |d| d.to_string()),
            number::estimate(p.visits, 1, "±"),
            p.cost.map_or(number::NOT_COMPUTABLE.to_owned(), |c| number::estimate(c, 1, "±")),
        ]);
    }
    let mut keys = Table { words: true, ..Table::new(&["plan", "keys of [care]"]) };
    for p in plans.list.iter().filter(|p| !p.keys.is_empty()) {
        keys.row([p.name.clone(), p.keys.join(", ")]);
    }
    html! {
        p { (non_breaking(&say::plans(plans, currency))) }
        (table(&t))
        details { summary { "What to write into the design for each plan" } (table(&keys)) }
        p class="note" { (say::PLANS_NOTE.replace('*', "★")) }
    }
}

fn rests_on(s: &YearsSummary) -> Markup {
    let left_out: Vec<String> = s.not_counted.iter().map(|line| (*line).to_owned()).collect();
    html! {
        h3 { "Care" } (bullets("list", &s.care))
        h3 { "Lives of parts" } (bullets("list", &s.lives_of_parts))
        @if let Some(life) = say::battery_life(s) { h3 { "Life of the battery" } p { (non_breaking(&life)) } }
        h3 { "Check" } p { (non_breaking(&say::accounts(s))) }
        h3 { "Left out" } (bullets("list", &left_out))
    }
}
