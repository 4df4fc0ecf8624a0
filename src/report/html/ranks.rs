//! Remedies in their order: each with its name, what it is worth as a bar on one scale, its price, and why.

use super::compare::minus;
use super::parts::{non_breaking, untrusted};
use crate::report::chart::{Scale, coordinate};
use crate::report::number;
use crate::report::words::remedies::Measure;
use crate::report::words::{self, difference};
use crate::study::paired::Difference;
use crate::study::remedies::{By, Remedies, Weighed};
use maud::{Markup, html};
use std::cmp::Ordering;

/// What a remedy is ranked by, so that more is better: minutes gained or still days avoided.
#[derive(Clone, Copy)]
struct Worth {
    mean: f64,
    interval: Option<(f64, f64)>,
}

fn worth(r: &Remedies, w: &Weighed) -> Option<Worth> {
    let d = Measure::of(r.by).change(w)?;
    let sign = sign(r.by);
    let interval = d.low.zip(d.high).map(|(a, b)| if sign > 0.0 { (a, b) } else { (-b, -a) });
    // Where no trial differed a width of nothing would claim too much.
    let interval = interval.filter(|_| difference::all_alike(d).is_none());
    Some(Worth { mean: sign * d.mean, interval })
}

/// Remedies that surely make it better and those that do not, in their order; none if no remedy can be compared.
pub(super) fn ranks(r: &Remedies) -> Option<Markup> {
    let worths: Vec<Worth> = r.ranked.iter().filter_map(|w| worth(r, w)).collect();
    if worths.is_empty() {
        return None;
    }
    let ends = || {
        worths.iter().flat_map(|w| [Some(w.mean), w.interval.map(|i| i.0), w.interval.map(|i| i.1)]).flatten()
    };
    let (lo, hi) = (ends().fold(0.0, f64::min), ends().fold(0.0, f64::max));
    let pad = (0.04 * (hi - lo)).max(1e-9);
    // All alike: zero stands in the middle.
    let x = if hi > lo {
        Scale::new(lo - pad, hi + pad, 0.0, 1000.0)
    } else {
        Scale::new(-1.0, 1.0, 0.0, 1000.0)
    };
    let marks = x.ticks(5);
    let digits = number::decimals(marks.get(1).map_or(1.0, |m| (m - marks[0]).abs()) * 1.000_001, 6);
    let unit = Measure::of(r.by).gained;
    let percent = |v: f64| format!("left:{}%", coordinate(x.at(v) / 10.0));
    Some(html! {
        ol class="ranks" {
            li class="rank-head" aria-hidden="true" {
                p class="sides" {
                    span class="worse" style=(format!("right:{}%", coordinate(100.0 - x.at(0.0) / 10.0 + 0.8))) { @if x.at(0.0) > 170.0 { "← worse" } }
                    span class="better" style=(format!("left:{}%", coordinate(x.at(0.0) / 10.0 + 0.8))) { "better →" }
                }
            }
            @for (k, w) in r.ranked.iter().enumerate() { (row(r, k, w, (x, &marks), unit)) }
            li class="rank-head" aria-hidden="true" {
                p class="scale" { @for m in &marks { span style=(percent(*m)) { (minus(&number::fixed(*m, digits))) } } }
                p class="unit" { (unit) }
            }
        }
    })
}

fn row(r: &Remedies, k: usize, w: &Weighed, (x, marks): (Scale, &[f64]), unit: &str) -> Markup {
    let worth = worth(r, w);
    let said = figure(r, w);
    let alternative = format!("{}: {said} {unit}", words::remedies::name(r, w));
    html! {
        li {
            p class="name" { b { span { (k + 1) } (untrusted(&words::remedies::name(r, w))) } }
            svg viewBox="0 0 1000 100" preserveAspectRatio="none" role="img" aria-label=(alternative) {
                @for m in marks { path class=(if *m == 0.0 { "base" } else { "grid" }) d=(format!("M{} 0V100", coordinate(x.at(*m)))) {} }
                @if let Some(v) = worth {
                    @let (from, to) = (x.at(0.0).min(x.at(v.mean)), x.at(0.0).max(x.at(v.mean)));
                    rect class=(if v.mean < 0.0 { "bar pale" } else { "bar" }) x=(coordinate(from)) y="30" width=(coordinate((to - from).max(2.0))) height="40" {}
                    @if let Some((a, b)) = v.interval { path class="spread" d=(format!("M{} 50H{}M{} 38V62M{} 38V62", coordinate(x.at(a)), coordinate(x.at(b)), coordinate(x.at(a)), coordinate(x.at(b)))) {} }
                }
            }
            p class="worth" { b { (said) } " " (unit) (money(w)) }
            p class="why" {
                (w.why)
                @if w.against.still_days.told_apart().is_none() { " There is no clear difference in still days from the design as it is." }
                @for note in &w.against.notes { " " (note) }
            }
        }
    }
}

/// The figure of a row with its interval.
fn figure(r: &Remedies, w: &Weighed) -> String {
    let said = |d: &Difference, most, sign: f64| {
        let (mean, text) = (sign * d.mean, difference::mean(d, most));
        let size = text.trim_start_matches(['-', '+']).to_owned();
        let zero = size.chars().all(|c| c == '0' || c == '.');
        if zero {
            "0".to_owned()
        } else if mean < 0.0 {
            format!("−{size}")
        } else {
            size
        }
    };
    let measure = Measure::of(r.by);
    measure.change(w).map_or(number::NOT_COMPUTABLE.to_owned(), |d| said(d, measure.decimals, sign(r.by)))
}

/// Which way a difference counts, so that more is better.
fn sign(by: By) -> f64 {
    if Measure::of(by).better == Ordering::Greater { 1.0 } else { -1.0 }
}

/// What it costs, and what each still day that it avoids costs.
fn money(w: &Weighed) -> Markup {
    let a = &w.against;
    let currency = a.currency.as_deref();
    let price = match a.price {
        None => "price not given".to_owned(),
        Some(0.0) => "costs nothing".to_owned(),
        Some(p) if p < 0.0 => format!("saves {}", words::money::price(-p, currency)),
        Some(p) => format!("costs {}", words::money::price(p, currency)),
    };
    let each = a.price_per_still_day.filter(|p| *p > 0.0);
    html! {
        span class="money" { (non_breaking(&price)) @if let Some(each) = each { ", " (words::money::amount(&number::two_digits(each), currency)) " for each still day avoided a season" } }
    }
}
