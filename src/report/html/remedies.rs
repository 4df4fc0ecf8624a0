//! What single changes are worth.

use super::compare::{dot, dot_key, minus};
use super::page;
use super::parts::{Section, Table, figure, sections, untrusted};
use crate::report::chart::{Dot, dots};
use crate::report::number;
use crate::report::words::{self, difference};
use crate::study::compare::Against;
use crate::study::paired::Difference;
use crate::study::remedies::{By, Remedies};
use maud::{Markup, html};

/// `remedies.html`: remedies in their order, and why.
pub fn remedies(r: &Remedies) -> String {
    let s = &r.design;
    let header = html! {
        p class="file" {
            code { (words::escaped(&s.design.file)) } " · at most " (words::trials(r.trials)) " · seed " (s.run.seed)
        }
        p class="verdict" { (words::remedies::verdict(r, "±")) }
        p class="small" { (words::remedies::settled(r)) " Each remedy is one change to the design, under the same weather and the same luck with parts. Where an interval holds zero it is not told apart from the design as it is." }
        @if s.weather.invented {
            p class="small invented" { "The weather is invented. The figures show how the tool works, not how a place is." }
        }
    };
    let ranked_remark = html! { "Best first. Those that could not come among the first three were dropped early; their intervals are wider." };
    let why_remark = html! { "The cause of lost minutes that shrank, or grew, the most." };
    let mut list = vec![
        Section::new("ranked", "What each is worth", ranked_remark, ranked(r)),
        Section::new("why", "Why", why_remark, reasons(r)),
    ];
    if !r.refused.is_empty() {
        let remark = html! { "Remedies of the design file that make no valid design." };
        let body = html! {
            ul class="list" { @for f in &r.refused { li class="warn" { (untrusted(&f.name)) ": " (untrusted(&f.why)) } } }
        };
        list.push(Section::new("refused", "Refused", remark, body));
    }
    page::page(
        &format!("Remedies: {}", s.design.title),
        &header,
        &sections(&list),
        &serde_json::to_vec(r).unwrap_or_default(),
    )
}

pub(super) fn ranked(r: &Remedies) -> Markup {
    let head = [
        "",
        "still days a month",
        "its 95 % interval",
        "dusk run, min",
        "its 95 % interval",
        "price",
        "for a still day avoided",
        "trials",
    ];
    let mut t = Table { named: true, ..Table::new(&head) };
    for (i, w) in r.ranked.iter().enumerate() {
        let a = &w.against;
        let dusk = a.dusk_run_min.as_ref();
        t.row([
            format!("{} {}", i + 1, words::remedies::name(r, w)),
            minus(&difference::mean(&a.still_days_per_month, 2)),
            interval(&a.still_days_per_month, 2),
            dusk.map_or(number::NOT_COMPUTABLE.to_owned(), |d| minus(&difference::mean(d, 1))),
            dusk.map_or(String::new(), |d| interval(d, 1)),
            minus(&difference::money(a.price)),
            difference::money_per_day(a.price_per_still_day, "–"),
            number::grouped(w.trials),
        ]);
    }
    let dusk = r.by == By::DuskRun;
    let list: Vec<Dot> = r
        .ranked
        .iter()
        .enumerate()
        .filter_map(|(i, w)| {
            let name = format!("{} {}", i + 1, words::remedies::name(r, w));
            match dusk {
                true => Some(dot(name, w.against.dusk_run_min.as_ref()?, "min", 1)),
                false => Some(dot(name, &w.against.still_days_per_month, "still days a month", 2)),
            }
        })
        .collect();
    let unit = match dusk {
        true => "minutes of dusk run more than as it is",
        false => "still days a month more than as it is",
    };
    let finding = finding(r);
    html! {
        @if list.is_empty() { p { "No remedy can be weighed by this." } }
        @else { (figure(&finding, &dots(&format!("{finding}. Differences by remedy."), unit, &list), Some(&dot_key()), &t)) }
    }
}

/// How many surely help, and which does most.
fn finding(r: &Remedies) -> String {
    use std::cmp::Ordering::{Greater, Less};
    let dusk = r.by == By::DuskRun;
    let helps = |a: &Against| match dusk {
        true => a.dusk_run_min.as_ref().and_then(Difference::told_apart) == Some(Greater),
        false => a.still_days_per_month.told_apart() == Some(Less),
    };
    let count = r.ranked.iter().filter(|w| helps(&w.against)).count();
    let what = if dusk { "lengthen the dusk run" } else { "avoid still days" };
    let of = r.ranked.len();
    match r.ranked.iter().find(|w| helps(&w.against)) {
        None => format!("None of {of} remedies can be said to {what}"),
        Some(best) => format!(
            "{count} of {of} remedies surely {what}; first by rank is “{}”",
            words::escaped(&best.name)
        ),
    }
}

fn interval(d: &Difference, most: usize) -> String {
    difference::all_alike(d).unwrap_or_else(|| minus(&difference::interval(d, most)))
}

pub(super) fn reasons(r: &Remedies) -> Markup {
    html! {
        ol class="list" {
            @for w in &r.ranked {
                li {
                    (untrusted(&w.name)) @if w.own { " (of the design file)" } ": " (w.why)
                    @if w.against.still_days.told_apart().is_none() { " Still days are not told apart from the design as it is." }
                    @for note in &w.against.notes { " " (note) }
                }
            }
        }
    }
}
