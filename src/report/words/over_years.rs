//! Sentences on what builds cost over some years.

use super::choice;
use super::grid;
use super::money;
use super::names::count;
use crate::report::number;
use crate::study::choose::{Choice, OverYears, Verdict};
use crate::study::grid::Grid;
use crate::study::years::kept::{self, Kept};
use crate::tally::summary::Estimate;
use crate::units::System;

/// How builds are called where they are listed side by side.
pub(crate) struct Called<'a, B> {
    /// One of them.
    pub build: &'a dyn Fn(&B) -> String,
    /// The one that all others are held against.
    pub named: &'static str,
    pub currency: Option<&'a str>,
}

/// The answer of `choose`: which build is the cheapest to keep, and how surely.
pub(crate) fn answer(c: &Choice, o: &OverYears, pm: &str) -> String {
    let called = Called {
        build: &|b: &crate::study::choose::ShelfBuild| choice::build_of(&b.parts),
        named: named_or_closest(c),
        currency: c.summary.design.currency.as_deref(),
    };
    cheapest_to_keep(o, &called, pm)
}

/// The same of a grid.
pub(crate) fn answer_of_grid(
    g: &Grid,
    o: &crate::study::grid::OverYears,
    system: System,
    pm: &str,
) -> String {
    let called = Called {
        build: &|b: &crate::study::grid::CellBuild| grid::cell_name(g, g.cell(b.x, b.y), system),
        named: if g.cheapest.is_some() { "the build named" } else { "the cheapest to buy" },
        currency: g.design.design.currency.as_deref(),
    };
    cheapest_to_keep(o, &called, pm)
}

fn cheapest_to_keep<B>(o: &kept::OverYears<B>, called: &Called<'_, B>, pm: &str) -> String {
    let years = count(usize::from(o.years), "year");
    let (Some(first), Some(named)) = (o.builds.first(), o.builds.iter().find(|b| b.named)) else {
        return format!("No build was kept over {years}.");
    };
    let costs = |b: &Kept<B>| money::amount(&cost(b.cost, pm), called.currency);
    let which = called.named;
    if o.builds.len() == 1 {
        return format!(
            "Over {years} {which} costs {}; none beside it seems to meet the wish.",
            costs(named)
        );
    }
    if first.named {
        return format!(
            "Over {years} {which} is also the cheapest to keep of the {} that seem to meet the wish: {}.",
            o.builds.len(),
            costs(named)
        );
    }
    let name = (called.build)(&first.build);
    let sure = match first.cost_against_named.and_then(|d| d.told_apart()) {
        Some(std::cmp::Ordering::Less) => "surely the cheaper one to keep",
        _ => "too close to tell apart",
    };
    format!("Over {years}, {name}, costs {}; {which} costs {}: {sure}.", costs(first), costs(named))
}

/// The build that the answer of `choose` names.
fn named_or_closest(c: &Choice) -> &'static str {
    if c.verdict == Verdict::Found { "the build named" } else { "the closest build" }
}

/// What the figures rest on.
pub(crate) fn rests_on<B>(o: &kept::OverYears<B>) -> String {
    let care = if o.care_assumed {
        "The design has no plan of care; this one was assumed: "
    } else {
        "The plan of care of the design: "
    };
    let interest = match o.interest {
        0.0 => "constant prices".to_owned(),
        rate => format!("later expenses at {} a year less", number::percent(rate)),
    };
    let unpriced: std::collections::BTreeSet<&str> =
        o.builds.iter().flat_map(|b| b.unpriced.iter().copied()).collect();
    let free = match unpriced.is_empty() {
        true => String::new(),
        false => format!(
            " Without a price, and so free here: {}.",
            unpriced.into_iter().collect::<Vec<_>>().join(", ")
        ),
    };
    format!("{care}{} {} lives of each build, {interest}.{free}", o.care.join(" "), o.lives)
}

/// An amount of money with its error.
pub(crate) fn cost(e: Estimate, pm: &str) -> String {
    number::estimate(e, 2, pm)
}

/// Heads of the table of builds.
pub(crate) const COLUMNS: [&str; 6] =
    ["", "to buy", "over all years", "a year", "batteries replaced", "wish met every year"];

/// A row of that table, of `choose`.
pub(crate) fn row(c: &Choice, b: &crate::study::choose::KeptBuild, pm: &str) -> [String; 6] {
    let named = if b.named { format!(" ({})", named_or_closest(c)) } else { String::new() };
    figures(format!("{}{named}", choice::build_of(&b.build.parts)), b, pm)
}

/// The same, of a grid.
pub(crate) fn row_of_grid(
    g: &Grid,
    b: &crate::study::grid::KeptCell,
    system: System,
    pm: &str,
) -> [String; 6] {
    let named = match (b.named, g.cheapest.is_some()) {
        (false, _) => "",
        (true, true) => " (the build named)",
        (true, false) => " (the cheapest to buy)",
    };
    figures(format!("{}{named}", grid::cell_name(g, g.cell(b.build.x, b.build.y), system)), b, pm)
}

fn figures<B>(name: String, b: &Kept<B>, pm: &str) -> [String; 6] {
    [
        name,
        number::fixed(b.price, 2),
        cost(b.cost, pm),
        cost(b.cost_per_year, pm),
        b.batteries.map_or("none in it".to_owned(), |e| number::mean(e, 1)),
        format!(
            "{} ({} to {})",
            number::percent(b.wish_met),
            number::percent(b.wish_met_95[0]),
            number::percent(b.wish_met_95[1])
        ),
    ]
}
