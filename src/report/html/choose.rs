//! The page of `choose`: the cheapest build, its rivals, and the best builds for the money.

use super::page;
use super::parts::{
    Key, Section, Table, bullets, figure, key, non_breaking, numbers_bold, phrases_bold, sections, table,
    untrusted,
};
use crate::report::chart::{Hit, Line, Plot, Scale, WIDTH, coordinate, line, svg};
use crate::report::number;
use crate::report::words::{self, choice, input, over_years};
use crate::study::choose::Standing;
use crate::study::choose::{Candidate, Choice, OverYears, Verdict};
use maud::{Markup, html};

/// `choose.html`.
pub fn choose(c: &Choice) -> String {
    let s = &c.summary;
    let header = html! {
        p class="file" {
            code { (words::escaped(&s.design.file)) } " · shelf " code { (words::escaped(&c.shelf_file)) }
            " · at most " (words::trials(c.budget)) " a build · seed " (s.run.seed)
        }
        p class="verdict" { (phrases_bold(&choice::answer(c), &choice::named(c))) }
        @if let Some(shows) = choice::shows(c, "±") { p class="lead" { (numbers_bold(&shows)) } }
        p class="small" { (choice::wish(c)) " " (choice::settled(c)) " A year is good if no month of its season has more still days than wished. All builds get the same weather and the same drawn parts." }
        @if s.weather.invented || c.shelf_invented {
            p class="small invented" { (invented(s.weather.invented, c.shelf_invented)) " invented. The figures show how the program works; they describe no real place." }
        }
    };
    let money = html! { "Builds with fewer still days than any cheaper build." };
    let next = html! { "What each does, cheapest first. The limits hold after any number of trials." };
    let mut list = vec![
        Section::new("money", "Best for the money", money, frontier(c)),
        Section::new("next", "The build and its rivals", next, rivals(c)),
    ];
    if let Some(kept) = &c.over_years {
        let remark = html! { (over_years::rests_on(kept)) };
        list.push(Section::new("years", "What they cost over the years", remark, kept_over_years(c, kept)));
    }
    if !c.refused.is_empty() {
        let remark = html! { "Refused before any trial, from the labels alone." };
        let why = choice::incompatible(c);
        list.push(
            Section::new("refused", "Incompatible combinations", remark, refusals(c))
                .folded(why.trim_end_matches(':')),
        );
    }
    let all = html! {
        "Every compatible build, cheapest first. Clear cases stop early, so their figures are rough. Shelf: " (untrusted(&c.shelf)) "."
        @if c.builds.len() > BUILDS_LISTED { " The " (number::grouped(BUILDS_LISTED as u64)) " cheapest are listed; all are in choose.csv." }
        @if let Some(text) = choice::asterisk(c) { " " (text) }
    };
    list.push(
        Section::new("builds", "All builds", all, all_builds(c))
            .folded(&words::count(c.builds.len(), "build")),
    );
    let cautions: Vec<String> = c.notes.iter().chain(&s.cautions).cloned().collect();
    if !cautions.is_empty() {
        let remark = html! { "Local codes and licensed practice take precedence over anything said here." };
        list.push(Section::new("cautions", "Notes and cautions", remark, bullets("warn", &cautions)));
    }
    let title = format!("From the shelf: {}", s.design.title);
    page::page(&title, &header, &sections(&list), &data(c))
}

/// Builds that the page lists: a shelf may have thousands.
const BUILDS_LISTED: usize = 250;

/// What the page shows, for machines; all builds, and every number of the one named, are in choose.json.
fn data(c: &Choice) -> Vec<u8> {
    let mut data = serde_json::to_value(c).unwrap_or_default();
    if let Some(builds) = data["builds"].as_array_mut() {
        builds.truncate(BUILDS_LISTED);
    }
    if let Some(summary) = data["summary"].as_object_mut() {
        summary.retain(|key, _| {
            ["design", "run", "weather", "weather_input", "season", "cautions"].contains(&key.as_str())
        });
    }
    // The same builds stand in the list of all of them.
    data.as_object_mut().map(|all| all.remove("open"));
    serde_json::to_vec(&data).unwrap_or_default()
}

fn invented(weather: bool, shelf: bool) -> &'static str {
    match (weather, shelf) {
        (true, true) => "Weather, parts and prices are",
        (true, false) => "The weather is",
        (false, _) => "Parts and prices are",
    }
}

const COLUMNS: [&str; 9] = [
    "",
    "price",
    "good years",
    "95 % limits",
    "wish",
    "still days a month",
    "at such places, 80 %",
    "dusk run, min",
    "trials",
];

fn row(b: &Candidate) -> [String; 9] {
    let estimate = |e: Option<crate::tally::summary::Estimate>, most| {
        e.map_or(number::NOT_COMPUTABLE.to_owned(), |e| number::estimate(e, most, "±"))
    };
    [
        choice::build(b),
        number::fixed(b.price, 2),
        choice::good_years(b),
        choice::good_years_limits(b),
        choice::standing(b).to_owned(),
        estimate(b.still_days_per_month, 2),
        b.still_days_per_month_places_80.map_or(String::new(), |r| input::range(r, 2)),
        b.dusk_run_min.map_or("no sunset".to_owned(), |e| estimate(Some(e), 1)),
        number::grouped(b.trials),
    ]
}

fn rows<'c>(list: impl IntoIterator<Item = &'c Candidate>) -> Table {
    let mut t = Table { named: true, ..Table::new(&COLUMNS) };
    list.into_iter().for_each(|b| t.row(row(b)));
    t
}

/// Price against still days: all builds as specks, the frontier as steps, the named one ringed.
fn frontier(c: &Choice) -> Markup {
    let currency = c.summary.design.currency.as_deref();
    let mean = |b: &Candidate| b.still_days_per_month.map(|e| e.mean);
    let prices = || c.builds.iter().map(|b| b.price);
    let (lo, hi) = (prices().fold(f64::INFINITY, f64::min), prices().fold(0.0, f64::max));
    let most = c.builds.iter().filter_map(mean).fold(0.0, f64::max);
    let pad = 0.04 * (hi - lo).max(1.0);
    let plot = Plot::new(300.0, (lo - pad, hi + pad), (0.0, Scale::round_up(most, 5)));
    let speck = |b: &Candidate, class: &str, r: &str| {
        let Some(y) = mean(b) else { return html! {} };
        html! { circle class=(class) cx=(coordinate(plot.x.at(b.price))) cy=(coordinate(plot.y.at(y))) r=(r) {} }
    };
    // Steps: between two members of the frontier the cheaper one is the best that money buys.
    let mut steps: Vec<(f64, Option<f64>)> = Vec::new();
    for b in &c.frontier {
        if let Some((_, last)) = steps.last().copied() {
            steps.push((b.price, last));
        }
        steps.push((b.price, mean(b)));
    }
    if let Some((_, last)) = steps.last().copied() {
        steps.push((hi + pad, last));
    }
    let drawing = html! {
        (plot.y_axis("still days a month", 5))
        (plot.x_numbers(&words::money::column("price of the build", currency), 6, number::fixed))
        @for b in &c.builds { (speck(b, "speck", "2")) }
        (line(&plot, &Line { class: "", points: steps }))
        @for b in &c.frontier { (speck(b, "bar", "3.5")) }
        @if let Some(b) = &c.best { (speck(b, "ring", "7")) }
        @for (i, (x, y)) in labels(c, &plot) { text class="lab" x=(coordinate(x)) y=(coordinate(y)) { (i + 1) } }
    };
    // One place to point at for each member, halfway to its neighbours.
    let middle = |a: &Candidate, b: &Candidate| 0.5 * (a.price + b.price);
    let hits: Vec<Hit> = c
        .frontier
        .iter()
        .enumerate()
        .map(|(i, b)| {
            let from = if i == 0 { lo - pad } else { middle(&c.frontier[i - 1], b) };
            let to = c.frontier.get(i + 1).map_or(hi + pad, |next| middle(b, next));
            let still = b.still_days_per_month.map_or(String::new(), |e| number::estimate(e, 2, "±"));
            let words = format!(
                "{}, {}: {still} still days a month, {} good years",
                words::money::price(b.price, currency),
                choice::build(b),
                choice::good_years(b)
            );
            plot.strip(from, to, words)
        })
        .collect();
    let finding = finding(c);
    let alternative = format!("Still days a month against the price of each build. {finding}");
    let marks = key(&[
        Key { class: "speck", line: false, text: "a build".to_owned() },
        Key { class: "point", line: false, text: "best for the money".to_owned() },
        Key {
            class: "ring",
            line: false,
            text: if c.verdict == Verdict::Found { "the build named" } else { "the closest" }.to_owned(),
        },
    ]);
    debug_assert!(plot.right <= WIDTH);
    html! {
        div class="figs" {
            (figure(&finding, &svg(300.0, &alternative, &drawing, &hits), Some(&marks), &rows(&c.frontier)))
            (named_points(c))
        }
    }
}

/// The members of the frontier by name, with what they cost and do. A part that all of them have is said once.
fn named_points(c: &Choice) -> Markup {
    let currency = c.summary.design.currency.as_deref();
    let shared = choice::in_all(&c.frontier);
    let beside = |b: &Candidate| {
        let still = b.still_days_per_month.map_or(number::NOT_COMPUTABLE.to_owned(), |e| number::mean(e, 2));
        let price = words::money::price(b.price, currency);
        format!("{price}, {still} still days a month, {} good years", choice::good_years(b))
    };
    let named = if c.verdict == Verdict::Found { "the build named" } else { "the closest" };
    html! {
        div {
            ol class="named-points" { @for b in &c.frontier { li {
                b { (untrusted(&choice::build_without(b, &shared))) } br; (non_breaking(&beside(b)))
                @if c.best.as_ref().is_some_and(|best| best.place == b.place) { " · " (named) }
            } } }
            @if !shared.is_empty() { p class="note" { "All of them with: " (untrusted(&choice::build_of(&shared))) "." } }
        }
    }
}

/// Places for the numbers of the frontier's members, right above their points; one that would cover the number before it is left
/// out.
fn labels(c: &Choice, plot: &Plot) -> Vec<(usize, (f64, f64))> {
    let mut list: Vec<(usize, (f64, f64))> = Vec::new();
    for (i, b) in c.frontier.iter().enumerate() {
        let Some(still) = b.still_days_per_month else { continue };
        let at = (plot.x.at(b.price) + 6.0, plot.y.at(still.mean) - 7.0);
        let covers = |(_, o): &(usize, (f64, f64))| (o.0 - at.0).abs() < 15.0 && (o.1 - at.1).abs() < 12.0;
        if !list.iter().any(covers) {
            list.push((i, at));
        }
    }
    list
}

fn finding(c: &Choice) -> String {
    let still = |b: &Candidate| b.still_days_per_month.map_or(f64::NAN, |e| e.mean);
    match (c.frontier.first(), c.frontier.last()) {
        (Some(first), Some(last)) if first.place != last.place => format!(
            "From {} still days a month, for {}, down to {}, for {}",
            number::fixed(still(first), 1),
            words::money::price(first.price, c.summary.design.currency.as_deref()),
            number::fixed(still(last), 1),
            words::money::price(last.price, c.summary.design.currency.as_deref())
        ),
        (Some(only), _) => {
            format!(
                "No build has fewer still days than the cheapest: {} a month",
                number::fixed(still(only), 1)
            )
        }
        _ => "No build was tried".to_owned(),
    }
}

fn rivals(c: &Choice) -> Markup {
    let named = if c.verdict == Verdict::Found { "The build named" } else { "The closest" };
    let open = choice::open_besides(c);
    let more = open.len().saturating_sub(choice::OPEN_LISTED);
    let next = choice::next_in_price(c);
    html! {
        h3 { (named) }
        (table(&rows(&c.best)))
        @if c.best.is_some() { p class="note" { "Its design is build.toml beside this page. Run it for the full report." } }
        @if !open.is_empty() {
            h3 { (choice::open_heading(c)) }
            (table(&rows(open.iter().copied().take(choice::OPEN_LISTED))))
            @if more > 0 { p class="note" { "And " (number::grouped(more as u64)) " more, marked “open” in the list of all builds below." } }
        }
        @if !next.is_empty() { h3 { "Next in price" } (table(&rows(next))) }
        @if let Some(text) = choice::asterisk(c) { p class="note" { (text) } }
    }
}

fn kept_over_years(c: &Choice, kept: &OverYears) -> Markup {
    let mut t = Table { named: true, ..Table::new(&over_years::COLUMNS) };
    kept.builds.iter().for_each(|b| t.row(over_years::row(c, b, "±")));
    html! {
        p { (numbers_bold(&over_years::answer(c, kept, "±"))) }
        (table(&t))
    }
}

fn refusals(c: &Choice) -> Markup {
    let mut t = Table {
        words: true,
        named: true,
        ..Table::new(&["parts", "reason, with the values of the first such build", "builds"])
    };
    for r in &c.refused {
        t.row([
            words::escaped(&r.parts.join(" + ")).into_owned(),
            words::escaped(&r.why).into_owned(),
            number::grouped(r.builds as u64),
        ]);
    }
    table(&t)
}

fn all_builds(c: &Choice) -> Markup {
    let head = [
        "",
        "price",
        "verdict",
        "good years",
        "95 % limits",
        "still days a month",
        "at such places, 80 %",
        "trials",
    ];
    let mut t = Table { named: true, ..Table::new(&head) };
    for b in c.builds.iter().take(BUILDS_LISTED) {
        let [name, price, good, limits, stands, still, places, _, trials] = row(b);
        let stands = match b.standing {
            Standing::Meets | Standing::Fails => stands,
            Standing::Open => "open".to_owned(),
            Standing::Dearer => "dearer".to_owned(),
        };
        t.row([name, price, stands, good, limits, still, places, trials]);
    }
    table(&t)
}
