//! Words and figures of a grid, shared by terminal, page and CSV.

use super::input;
use super::money;
use super::names::{escaped, key_in_words, trials};
use crate::report::number;
use crate::study::grid::{Axis, Cell, ERROR_RATE, Grid, Level};
use crate::tally::Meets;
use crate::units::System;

/// `yes`, `no` or `unsure`.
pub(crate) fn meets(m: Meets) -> &'static str {
    match m {
        Meets::Yes => "yes",
        Meets::No => "no",
        Meets::Unsure => "unsure",
    }
}

/// What an axis varies, as a client would call it: a part by its size is the part.
pub(crate) fn axis_name(a: &Axis) -> String {
    match a.key {
        "battery.capacity" => "battery".to_owned(),
        "panel.rated_power" => "panel".to_owned(),
        "water.usable" => "water".to_owned(),
        key => key_in_words(key),
    }
}

/// A cell by what it holds: `battery 3 Ah, panel 10 W`.
pub(crate) fn cell_name(g: &Grid, c: &Cell, system: System) -> String {
    let (x, y) = (axis_name(&g.x), axis_name(&g.y));
    format!("{x} {}, {y} {}", g.x.label(c.x, system), g.y.label(c.y, system))
}

/// What an axis runs over: `battery, 1.5 Ah to 9 Ah (1 to 6 times the design's value)`.
pub(crate) fn axis(a: &Axis, system: System) -> String {
    let (from, to) = (a.label(0, system), a.label(a.len() - 1, system));
    let beside = match (&a.multiples, a.design) {
        (Some(list), _) => format!(
            " ({} to {} times the design's value)",
            number::given(list[0]),
            number::given(list[list.len() - 1])
        ),
        (None, Some(has)) => format!(" (the design has {})", crate::units::show(has, a.dimension, 3, system)),
        (None, None) => String::new(),
    };
    format!("{}, {from} to {to}{beside}", axis_name(a))
}

/// What stands at each place of an axis, and the unit if one serves for all.
pub(crate) fn ticks(a: &Axis, system: System) -> (Vec<String>, String) {
    let labels: Vec<String> = (0..a.len()).map(|i| a.label(i, system)).collect();
    let units: Vec<&str> = labels.iter().map(|l| l.split_once(' ').map_or("", |(_, unit)| unit)).collect();
    let unit = units.first().copied().unwrap_or_default().to_owned();
    match !unit.is_empty() && units.iter().all(|u| *u == unit) {
        true => (labels.iter().map(|l| l.split(' ').next().unwrap_or_default().to_owned()).collect(), unit),
        false => (labels, String::new()),
    }
}

/// What is wished for, in a clause.
pub(crate) fn wish(g: &Grid) -> String {
    let parts: Vec<String> =
        g.design.season.wish.parts.iter().map(|p| super::run::wish_part(&g.design, p.part)).collect();
    format!("{}, in {} of years", parts.join("; "), number::percent(g.wish_confidence))
}

/// The answer: the cheapest build that meets the wish, or the one that comes closest to it.
pub(crate) fn verdict(g: &Grid, system: System) -> String {
    if let Some(c) = g.cheapest.and_then(|k| g.cells.get(k)) {
        return format!(
            "The cheapest of these builds that surely meets the wish in this weather: {}, for {}.",
            cell_name(g, c, system),
            price(g, c),
        );
    }
    let (yes, unsure) = (builds_that(g, Meets::Yes), builds_that(g, Meets::Unsure));
    let known = g.cells.iter().filter_map(|c| Some((c.years_met?, c)));
    let closest = known.fold(None, |best: Option<(f64, &Cell)>, this| match best {
        Some(best) if best.0 >= this.0 => Some(best),
        _ => Some(this),
    });
    let Some((share, c)) = closest else { return "None of these builds could be simulated.".to_owned() };
    let of_years = format!("{}, in {} of years", cell_name(g, c, system), number::percent(share));
    match (yes, unsure) {
        (0, 0) => format!("None of these builds meets the wish. Closest is {of_years}."),
        (0, _) => format!("None of these builds surely meets the wish. Closest is {of_years}."),
        _ => format!("The wish is met by {of_years}; without prices, no build is the cheapest."),
    }
}

/// The parts of the verdict that a reader looks for: the build, and its price.
pub(crate) fn named(g: &Grid, system: System) -> Vec<String> {
    let cheapest = g.cheapest.and_then(|k| g.cells.get(k));
    cheapest.map_or(Vec::new(), |c| vec![cell_name(g, c, system), price(g, c)])
}

/// How many builds stand so.
fn builds_that(g: &Grid, m: Meets) -> usize {
    g.cells.iter().filter(|c| c.meets_wish == Some(m)).count()
}

/// How many of the builds meet the wish.
pub(crate) fn how_many(g: &Grid) -> String {
    let all = g.cells.iter().filter(|c| c.refused.is_none()).count();
    let (yes, unsure) = (builds_that(g, Meets::Yes), builds_that(g, Meets::Unsure));
    if yes == 0 {
        let may = if unsure > 0 { format!("; {unsure} may") } else { String::new() };
        return format!("None of {all} builds surely meets the wish{may}.");
    }
    let may = if unsure > 0 { format!("; {unsure} more may") } else { String::new() };
    format!("{yes} of {all} builds surely {} the wish{may}.", if yes == 1 { "meets" } else { "meet" })
}

/// What the weather files leave open about the cheapest cell, and which is the cheapest of those they do not.
pub(crate) fn at_places(g: &Grid, system: System) -> Option<String> {
    let c = g.cheapest.and_then(|k| g.cells.get(k))?;
    let (Some(r), Some(still)) = (&g.design.weather_input, c.still_days_per_month_places_80) else {
        return None;
    };
    let see = format!(
        "From {}, gardens of such places see {} still days a month with it ({})",
        input::files(r),
        input::range(still, 2),
        input::coverage(r)
    );
    if c.holds_at_places != Some(false) {
        return Some(format!("{see}; it meets the wish there, too."));
    }
    let sure = |c: &&Cell| c.meets_wish == Some(Meets::Yes) && c.holds_at_places == Some(true);
    let best = g
        .cells
        .iter()
        .filter(sure)
        .filter(|c| c.price.is_some())
        .min_by(|a, b| a.price.unwrap_or(f64::INFINITY).total_cmp(&b.price.unwrap_or(f64::INFINITY)));
    let better = match best {
        Some(c) => format!(
            "the cheapest that meets it within both is {}, at {}",
            cell_name(g, c, system),
            price(g, c)
        ),
        None => "no build of known price surely meets it within both".to_owned(),
    };
    Some(format!(
        "{see}: it meets the wish within the error of the simulation, not within that of the weather files; {better}."
    ))
}

/// Price of a cell with its currency.
fn price(g: &Grid, c: &Cell) -> String {
    c.price.map_or("not given".to_owned(), |p| money::price(p, g.design.design.currency.as_deref()))
}

/// What remains open about the cheapest.
pub(crate) fn cheaper_unsettled(g: &Grid, system: System) -> Option<String> {
    let list: Vec<String> = g
        .may_be_cheaper
        .iter()
        .filter_map(|&k| g.cells.get(k))
        .take(3)
        .map(|c| format!("{} at {}", cell_name(g, c, system), price(g, c)))
        .collect();
    let more = g.may_be_cheaper.len().saturating_sub(list.len());
    let rest = if more > 0 { format!("; and {more} more") } else { String::new() };
    (!list.is_empty()).then(|| {
        format!(
            "Cheaper builds that may meet the wish: {}{rest}. More trials (--trials, --until) may settle them.",
            list.join("; ")
        )
    })
}

/// How sure the answer is.
pub(crate) fn error_note() -> String {
    format!(
        "The chance that any build is wrongly said to meet or to miss the wish is at most {}.",
        number::percent(ERROR_RATE)
    )
}

/// All numbers of a cell in a line.
pub(crate) fn cell_text(g: &Grid, c: &Cell, system: System, pm: &str) -> String {
    let name = cell_name(g, c, system);
    if let Some(why) = &c.refused {
        return format!("{name}: not a valid design, {}", escaped(why));
    }
    let mut parts = vec![match c.still_days_per_month {
        Some(e) => match c.still_days_per_month_places_80 {
            Some(r) => format!(
                "{} still days a month ({} at such places)",
                number::estimate(e, 2, pm),
                input::range(r, 2)
            ),
            None => format!("{} still days a month", number::estimate(e, 2, pm)),
        },
        None => format!("still days {}", number::NOT_COMPUTABLE),
    }];
    parts.push(match c.dusk_wish_met {
        Some(e) => format!(
            "{} of evenings reach {} min after sunset",
            number::percent_estimate(e, pm),
            number::fixed(g.design.season.wish_dusk_run_min, 0)
        ),
        None => "no sunset".to_owned(),
    });
    if let (Some(share), Some(m)) = (c.years_met, c.meets_wish) {
        let word = match m {
            Meets::Yes => "meets the wish",
            Meets::No => "does not meet the wish",
            Meets::Unsure => "may meet the wish",
        };
        let here = if c.holds_at_places == Some(false) { " in this weather" } else { "" };
        parts.push(format!("{word}{here} ({} of years keep to it)", number::percent(share)));
    }
    parts.push(c.price.map_or("price not known".to_owned(), |p| {
        format!("price {}", money::price(p, g.design.design.currency.as_deref()))
    }));
    parts.push(trials(c.trials));
    format!("{name}: {}", parts.join("; "))
}

/// Whether the lines run across the columns rather than across the rows, and are read column by column.
pub(crate) fn by_column(g: &Grid) -> bool {
    let points = || g.lines.iter().flat_map(|l| l.lines.iter().flatten());
    let whole = |axis: usize| points().filter(|p| p.at[axis].fract() == 0.0).count();
    whole(0) > whole(1)
}

/// Where the lines of a level cross row (or column) `k` of the map: values of the other axis, rising.
pub(crate) fn crossings(level: &Level, by_column: bool, k: usize) -> Vec<f64> {
    let (along, across) = if by_column { (0, 1) } else { (1, 0) };
    let on = level.lines.iter().flatten().filter(|p| p.at[along] == k as f64);
    let mut found: Vec<f64> = on.map(|p| p.value[across]).collect();
    found.sort_by(f64::total_cmp);
    found.dedup();
    found
}

/// The same in words: a value or several, or on which side of the level the whole row (or column) lies.
pub(crate) fn crossing(g: &Grid, level: &Level, by_column: bool, k: usize, system: System) -> String {
    let found = crossings(level, by_column, k);
    let across = if by_column { &g.y } else { &g.x };
    let show = |v: &f64| crate::units::show(*v, across.dimension, 2, system);
    match &found[..] {
        [] => {}
        [one] => return show(one),
        [a, b] => return format!("{}, {}", show(a), show(b)),
        [first, .., last] => return format!("{} .. {}", show(first), show(last)),
    }
    let cell = |i: usize| if by_column { g.cell(k, i) } else { g.cell(i, k) };
    let first = (0..across.len()).find_map(|i| cell(i).still_days_per_month);
    match first {
        None => "-".to_owned(),
        Some(e) if e.mean > level.still_days_per_month => "above".to_owned(),
        Some(_) => "below".to_owned(),
    }
}
